"""A fault of the program while it runs: written down, told, and work goes on. The second in a row ends it."""

from __future__ import annotations

import asyncio
import datetime as dt
from collections.abc import Callable, Coroutine
from contextlib import suppress
from typing import TYPE_CHECKING, Any, cast

from textual import events
from textual._context import NoActiveAppError
from textual.await_complete import AwaitComplete
from textual.css.query import NoMatches
from textual.dom import DOMNode, NoScreen
from textual.message import Message
from textual.message_pump import MessagePump
from textual.widget import MountError

from hearthcalc.errors import FileError

if TYPE_CHECKING:
    from textual.geometry import Size
    from textual.screen import Screen

    from hearthcalc_tui.app import HearthcalcApp

NAME = "faults.log"
GROWS_TO = 1 << 18  # bytes; then it starts over
GONE = (MountError, NoMatches, NoScreen)
STOPPED = "That failed: a fault of the program. Your entries are kept; go on working."


def write_down(error: BaseException) -> None:
    """Add a fault with its traceback to the log, and note in it where that lies. A log that cannot be written holds up nothing."""
    import traceback

    from hearthcalc_tui import storage

    when, frames = dt.datetime.now().isoformat(timespec="seconds"), traceback.format_exception(error)
    path = storage.state_folder() / NAME
    with suppress(FileError, OSError):
        storage.make_folder(path.parent)
        if path.exists() and path.stat().st_size > GROWS_TO:
            path.unlink()
        storage.append(path, f"{when}\n{''.join(frames)}\n")
        error.add_note(str(path))


class Faults:
    """Counts them. keep: keeps the draft; say: tells the person; end: ends the program; ends: whether it is ending already."""

    def __init__(
        self,
        keep: Callable[[], None],
        say: Callable[[str], None],
        end: Callable[[Exception], None],
        ends: Callable[[], bool],
    ) -> None:
        self._keep = keep
        self._say = say
        self._end = end
        self._ends = ends
        self._again = False

    def met(self, error: Exception) -> None:
        """Something failed that a key began. That its part of the screen has gone is no fault while all of it goes."""
        if self._ends() and isinstance(error, GONE):
            return
        write_down(error)
        with suppress(Exception):  # whatever is broken: the entries before this one are in the draft already
            self._keep()
        if self._again:
            self._end(error)
        else:
            self._again = True
            self._say(STOPPED)

    def went_well(self) -> None:
        """A key has done its work."""
        self._again = False


class Guarded(MessagePump):
    """A part of the screen that outlives a fault in what it does. Textual would end the program."""

    async def _dispatch_message(self, message: Message) -> None:
        app = cast("HearthcalcApp", self.app)
        try:
            await super()._dispatch_message(message)
        except Exception as error:
            self._met(error)
        else:
            # The app hands most keys on, and knows of those alone that are commands.
            if isinstance(message, events.Key) and self is not app:
                app.faults.went_well()

    @property
    def _gone(self) -> bool:
        """Has it been taken from the screen, or is it going."""
        mine = cast(DOMNode, self)
        return mine is not self.app and not (mine.is_attached and mine.screen in self.app.screen_stack)

    def _met(self, error: Exception) -> None:
        if not (isinstance(error, GONE) and self._gone):
            cast("HearthcalcApp", self.app).faults.met(error)

    def start(self, work: Coroutine[Any, Any, Any]) -> None:
        """Begin work that waits, for a page or a file, while the screen goes on. A fault in it is one of the key that began it."""

        async def guarded() -> None:
            try:
                await work
            except Exception as error:
                self._met(error)

        cast(DOMNode, self).run_worker(guarded())

    def after(self, seconds: float, call: Callable[[], None]) -> asyncio.TimerHandle:
        """Call something in a while. Textual's clock leaves a call out where the machine is held up just as it sets out."""

        def guarded() -> None:
            if self._gone:
                return
            try:
                call()
            except Exception as error:
                self._met(error)

        def rings() -> None:
            if not cast("HearthcalcApp", self.app).ends:
                self.call_next(guarded)

        return asyncio.get_running_loop().call_later(seconds, rings)

    def start_thread(self, work: Callable[[], None], group: str) -> None:
        """Begin work that computes, away from the thread that draws; only the last of a group counts."""

        def guarded() -> None:
            try:
                work()
            except Exception as error:
                self.from_thread(self._met, error)

        cast(DOMNode, self).run_worker(guarded, thread=True, group=group, exclusive=True)

    def from_thread(self, call: Callable[..., object], *given: Any, **named: Any) -> None:
        """Call something in the thread that draws, from another one; nothing where this part of the screen has gone meanwhile."""
        try:
            app = cast("HearthcalcApp", self.app)
        except NoActiveAppError:  # it hangs on no app any more
            return

        def called() -> None:
            if app.is_running and self.is_attached:
                try:
                    call(*given, **named)
                except Exception as error:
                    self._met(error)

        app.call_from_thread(called)


class Once(MessagePump):
    """A page that heeds keys and closes while it stands on top.

    A key that was on its way as it closed, or as it opened, would else close another page, or look for text that is not there.
    """

    @property
    def _stands(self) -> bool:
        page = cast("Screen[Any]", self)
        return page.is_active and page.is_mounted

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool:
        return self._stands

    def dismiss(self, result: Any = None) -> AwaitComplete:
        if not self._stands:
            return AwaitComplete()
        cast("HearthcalcApp", self.app).page_closes(cast("Screen[Any]", self))
        return cast("Screen[Any]", super()).dismiss(result)


class Fits(MessagePump):
    """A screen laid out for the window as it is now.

    Textual's tells itself of each size that it has taken. With two sizes on their way it would go from one to the other without end.
    """

    def on_resize(self, event: events.Resize) -> None:
        if event.size != self.app.size:
            event.prevent_default()
            event.stop()

    def _screen_resized(self, size: Size) -> None:
        """Textual would lay out again what lies as it should, and all beneath a page that opens."""
        screen = cast("Screen[Any]", self)
        if screen._compositor.size != size:
            cast("Screen[Any]", super())._screen_resized(size)
