"""Where keys arrive: each is written down before anything else is done with it."""

from __future__ import annotations

import asyncio
import codecs
import sys
from collections import deque
from collections.abc import Callable, Iterable
from functools import partial
from time import monotonic
from typing import TYPE_CHECKING, Any, cast

from textual import events
from textual._xterm_parser import BRACKETED_PASTE_END, BRACKETED_PASTE_START, XTermParser
from textual.driver import Driver
from textual.keys import Keys
from textual.message import Message

from hearthcalc_tui.ending import read_at_once

if TYPE_CHECKING:
    from hearthcalc_tui.app import HearthcalcApp


PASTE_PAUSES = 5.0  # seconds without a sign after which a paste whose end never came is over
LARGEST = (2000, 1000)  # columns and rows of any window; a terminal that reports more is garbled


class Reading(XTermParser):
    """What a terminal sends, as keys. What no terminal should send is passed over, and a paste that loses its end comes to one.

    Its end may only be late: what comes after that in one piece is pasted too, until the end has come or a key by itself.
    """

    def __init__(self, debug: bool = False) -> None:
        self._paste_open = False
        self._end_owed = False
        self._tail = ""  # of what came last, where half a mark may stand
        self._came = monotonic()
        super().__init__(debug)

    def feed(self, data: str) -> Iterable[Message]:
        if self._end_owed and not self._paste_open:
            end = data.find(BRACKETED_PASTE_END)
            if end > 0 or (end < 0 and len(data) > 1 and not data.startswith("\x1b")):
                data = BRACKETED_PASTE_START + data
            else:
                self._end_owed = False
        self._came, text = monotonic(), self._tail + data
        begun, ended = text.rfind(BRACKETED_PASTE_START), text.rfind(BRACKETED_PASTE_END)
        if begun != ended:
            self._paste_open = begun > ended
            self._end_owed = False
        self._tail = text[1 - len(BRACKETED_PASTE_START) :]
        return super().feed(data)

    def tick(self) -> Iterable[Message]:
        yield from super().tick()
        if self._paste_open and monotonic() - self._came > PASTE_PAUSES:
            yield from self.feed(BRACKETED_PASTE_END)
            self._end_owed = True

    def parse_mouse_code(self, code: str) -> Message | None:
        try:
            return super().parse_mouse_code(code)
        except ZeroDivisionError:
            return None

    def _sequence_to_key_events(self, sequence: str, alt: bool = False) -> Iterable[events.Key]:
        try:
            return list(super()._sequence_to_key_events(sequence, alt))
        except (ValueError, OverflowError):
            return [events.Key(Keys.Ignore, sequence)]


class Recording(Driver):
    """Writes each key down as it comes, then hands on all that came in one go: the thread that reads waits for no other in between."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self._come: deque[Message] = deque()
        self._lent = False  # the terminal is the shell's for a while

    def start_application_mode(self) -> None:
        super().start_application_mode()  # type: ignore[safe-super]
        read_at_once()

    # A signal comes between any two steps of the thread that draws. It may hold the lock of what goes to the terminal, and would wait for
    # itself for ever: the terminal is lent and taken back in a turn of its own.

    def _sigtstp_application(self, *_: object) -> None:
        self._loop.call_soon_threadsafe(super()._sigtstp_application)  # type: ignore[misc]

    def _sigcont_application(self, *_: object) -> None:
        self._loop.call_soon_threadsafe(super()._sigcont_application)  # type: ignore[misc]

    def suspend_application_mode(self) -> None:
        self._lent = True
        super().suspend_application_mode()

    def resume_application_mode(self) -> None:
        """Only what was stopped is gone on with: a second thread would else read every other key."""
        if self._lent:
            self._lent = False
            super().resume_application_mode()

    def process_message(self, message: Message) -> None:
        if isinstance(message, events.Resize) and not fits(message):
            return
        journal = cast("HearthcalcApp", self._app).journal
        if isinstance(message, events.Paste):
            journal.came("paste", message.text)
        elif isinstance(message, events.Key):
            sign = message.character if message.is_printable and not message.key.startswith("alt+") else None
            journal.came("sign" if sign else "key", sign or message.key)
        super().process_message(message)

    def send_message(self, message: Message) -> None:
        self._come.append(message)
        if len(self._come) == 1:
            asyncio.run_coroutine_threadsafe(self._hand_on(), self._loop)

    async def _hand_on(self) -> None:
        while self._come:
            self._app.post_message(self._come[0])
            self._come.popleft()


def fits(size: events.Resize) -> bool:
    """Is this the size of a window."""
    return 0 < size.size.width <= LARGEST[0] and 0 < size.size.height <= LARGEST[1]


def _tolerant(encoding: str) -> Callable[[], codecs.IncrementalDecoder]:
    """A decoder that reads a byte that is none of the encoding as a sign of its own, where another would end the program."""
    return partial(codecs.getincrementaldecoder(encoding), errors="replace")


def recording(driver: type[Driver]) -> type[Driver]:
    """A driver that writes down the keys that it reads, whatever bytes come."""
    own: Any = sys.modules[driver.__module__]
    # On Windows the thread that reads has a module of its own. Both have their own names for what they read with.
    for reads in (own, getattr(own, "win32", own)):
        if hasattr(reads, "getincrementaldecoder"):
            reads.getincrementaldecoder = _tolerant
        if hasattr(reads, "XTermParser"):
            reads.XTermParser = Reading
    return type(f"Recording{driver.__name__}", (Recording, driver), {})
