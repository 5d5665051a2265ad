"""What a concern of the desk may do to the screen beyond its own widgets."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from contextlib import AbstractContextManager, ExitStack
from time import monotonic
from typing import TYPE_CHECKING, Any, TypeVar, cast

from textual.screen import ModalScreen
from textual.widget import Widget

from hearthcalc_tui.field import Field

if TYPE_CHECKING:
    from hearthcalc_tui.app import HearthcalcApp
    from hearthcalc_tui.desk.desk import Desk

Answer = TypeVar("Answer")
QUIET = 0.04  # seconds without a key that end a burst


class Surface:
    """Say something, ask on a page, start slow work, move the cursor."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    @property
    def _app(self) -> HearthcalcApp:
        return cast("HearthcalcApp", self._desk.app)

    def say(self, message: str, *, bad: bool = False) -> None:
        """A message in the key line, until the next command."""
        self._app.say(message, bad=bad)

    def head(self, title: str, *, unsaved: bool, kept: bool, tail: str) -> None:
        """Whose job this is, in the first row. kept: is its unsaved work on disk; tail: what stands to the right and is never cut."""
        self._app.masthead.show(title, unsaved=unsaved, kept=kept, tail=tail)

    # The cursor

    @property
    def focused(self) -> Widget | None:
        """What the cursor is in."""
        return self._app.focused

    @property
    def field(self) -> Field | None:
        """The field that the cursor is in, if it is in one."""
        focused = self.focused
        return focused if isinstance(focused, Field) else None

    def focus(self, widget: Widget) -> None:
        """Put the cursor there."""
        self._desk.screen.set_focus(widget)

    # Drawing

    @property
    def keys_wait(self) -> bool:
        """Are there keys that came and have not been taken yet."""
        return self._app.message_queue_size > 0

    @property
    def covered(self) -> bool:
        """Does a page stand over the job."""
        return len(self._app.screen_stack) > 1

    def entered(self, after: str = "") -> None:
        """What was typed up to here has done its work, and is in the draft. after: the entry taken last."""
        self._app.entered(after)

    def beside(self, *boxes: str) -> None:
        """What is typed from now on is for the job of this draft; of two while it moves from one to the other."""
        self._app.journal.open(*boxes)

    def paste_waits(self) -> AbstractContextManager[None]:
        """Meanwhile a page asks about what was pasted, and it is not entered."""
        return self._app.journal.paste_waits()

    @property
    def keys_come(self) -> bool:
        """Is this a burst: do keys wait, or did the last one come just now."""
        return self.keys_wait or monotonic() - self._app.last_key < QUIET

    def hold(self) -> ExitStack:
        """Draw nothing until the stack is closed."""
        held = ExitStack()
        held.enter_context(self._app.batch_update())
        return held

    # Pages and slow work

    async def ask(self, page: ModalScreen[Answer]) -> Answer | None:
        """Open a page and wait for its answer; None where it was left. Only in work that was started."""
        return await self._app.ask(page)

    def open(self, page: ModalScreen[Any]) -> None:
        """Open a page that answers nothing."""
        self._app.push_screen(page)

    def start(self, work: Coroutine[Any, Any, Any]) -> None:
        """Begin work that waits, for a page or a file, while the screen goes on."""
        self._app.holds()
        self._desk.start(self._then_keys(work))

    async def _then_keys(self, work: Coroutine[Any, Any, Any]) -> None:
        try:
            await work
        finally:
            self._app.goes_on()

    def start_thread(self, work: Callable[[], None], group: str) -> None:
        """Begin work that computes, away from the thread that draws; only the last of a group counts."""
        self._desk.start_thread(work, group)

    def from_thread(self, call: Callable[..., object], *given: Any, **named: Any) -> None:
        """Call something in the thread that draws, from another one."""
        self._desk.from_thread(call, *given, **named)

    def later(self, call: Callable[..., Any], **named: Any) -> None:
        """Call something after what is at hand."""
        self._desk.call_later(call, **named)

    def after(self, seconds: float, call: Callable[[], None]) -> asyncio.TimerHandle:
        """Call something in a while."""
        return self._desk.after(seconds, call)
