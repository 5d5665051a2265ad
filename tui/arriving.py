"""Where keys arrive: each is written down before anything else is done with it."""

from __future__ import annotations

import asyncio
import codecs
import sys
from collections import deque
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any, cast

from textual import events
from textual.driver import Driver
from textual.message import Message

from hearthcalc_tui.ending import read_at_once

if TYPE_CHECKING:
    from hearthcalc_tui.app import HearthcalcApp


class Recording(Driver):
    """Writes each key down as it comes, then hands on all that came in one go: the thread that reads waits for no other in between."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self._come: deque[Message] = deque()
        self._lent = False  # the terminal is the shell's for a while

    def start_application_mode(self) -> None:
        super().start_application_mode()  # type: ignore[safe-super]
        read_at_once()

    def suspend_application_mode(self) -> None:
        self._lent = True
        super().suspend_application_mode()

    def resume_application_mode(self) -> None:
        """Only what was stopped is gone on with: a second thread would else read every other key."""
        if self._lent:
            self._lent = False
            super().resume_application_mode()

    def process_message(self, message: Message) -> None:
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


def _tolerant(encoding: str) -> Callable[[], codecs.IncrementalDecoder]:
    """A decoder that reads a byte that is none of the encoding as a sign of its own, where another would end the program."""
    return partial(codecs.getincrementaldecoder(encoding), errors="replace")


def recording(driver: type[Driver]) -> type[Driver]:
    """A driver that writes down the keys that it reads, whatever bytes come."""
    reads = sys.modules[driver.__module__]
    if hasattr(reads, "getincrementaldecoder"):
        reads.getincrementaldecoder = _tolerant  # type: ignore[attr-defined]  # its own name for that of codecs
    return type(f"Recording{driver.__name__}", (Recording, driver), {})
