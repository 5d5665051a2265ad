"""The program on the screen: the frame at once, the desk when the engine has loaded, and how it all ends."""

from __future__ import annotations

import asyncio
import gc
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from functools import partial
from time import monotonic
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from textual import events
from textual.app import App, ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.driver import Driver
from textual.errors import NoWidget
from textual.message_pump import MessagePump
from textual.reactive import Reactive
from textual.screen import Screen
from textual.theme import Theme
from textual.widget import Widget
from textual.widgets import Static

from hearthcalc.errors import HearthError
from hearthcalc_tui import commands, themes
from hearthcalc_tui.arriving import recording
from hearthcalc_tui.ending import Ending, give_back
from hearthcalc_tui.faults import Faults, Fits, Guarded, write_down
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.journal import Journal
from hearthcalc_tui.widgets.frame import CautionLine, KeyLine, Masthead

if TYPE_CHECKING:
    from textual.command import Provider

    from hearthcalc_tui.desk.desk import Desk
    from hearthcalc_tui.storage import Memory

SMALLEST = (60, 18)
WIDTHS: list[tuple[int, str]] | None = [(0, "-thin"), (SMALLEST[0], "-narrow"), (110, "-wide")]
HEIGHTS: list[tuple[int, str]] | None = [(0, "-flat"), (SMALLEST[1], "-low"), (30, "-tall")]
FAULT = 70
Answer = TypeVar("Answer")


def _by_any_name() -> type[Provider]:
    """Where the palette looks; loaded when it is first opened."""
    from hearthcalc_tui.screens.palette import ByAnyName

    return ByAnyName


class Ground(Fits, Screen[None]):
    """What all lies on. A step of the cursor draws the two fields that it concerns, not all of the screen."""

    focused: Reactive[Widget | None] = Reactive(None, repaint=False)


class HearthcalcApp(Guarded, App[None], inherit_bindings=False):
    """The screen on one job at a time. wanted: a path, "demo" or "demo:NAME", or "" for a new job."""

    CSS_PATH = "app.tcss"
    TITLE = "hearthcalc"
    AUTO_FOCUS = None  # the desk sets the focus itself, in the field where the walk begins
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(keys, action, title, show=False, priority=True)
        for keys, action, title in commands.bindings("anywhere")
    ]
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {_by_any_name}
    HORIZONTAL_BREAKPOINTS = WIDTHS
    VERTICAL_BREAKPOINTS = HEIGHTS

    theme = Reactive(themes.SOOT.name)
    memory: Memory
    caution_read = False

    def __init__(
        self, wanted: str, wrong: Sequence[str] = (), ending: Ending | None = None, *, start: bool = False
    ) -> None:
        """wrong: what is wrong with the settings.  ending: what watches for the end from outside.  start: with the first page."""
        super().__init__()
        self._ending = ending
        self._start = start
        self.cut_off = False  # ended, and not by a key
        self._early: list[tuple[int, events.Event]] = []  # keys that wait, each with its number
        self._come = self._taken = 0  # the numbers of the last key that came, and of the last that was taken
        self.journal = Journal()
        self._stands = False
        self._between = True  # one page, or the frame, has gone and the next has not come
        self._asked: set[Screen[Any]] = set()
        self._heard: object | None = None  # what the key stands for that a page is still hearing
        self.last_key = 0.0
        self.faults = Faults(self._keep_all, self._say_fault, self._end_with, lambda: self.ends)
        self._wrong = wrong
        self.animation_level = "none"  # over a slow line each step of a motion is a screen sent for nothing
        self.wanted = wanted
        self.desk: Desk | None = None
        self.fault: Exception | None = None
        self.masthead = Masthead()
        self._key_line = KeyLine()

    @property
    def available_themes(self) -> dict[str, Theme]:
        return themes.BY_NAME

    def get_driver_class(self) -> type[Driver]:
        return recording(super().get_driver_class())

    def get_default_screen(self) -> Ground:
        return Ground(id="_default")

    def compose(self) -> ComposeResult:
        yield self.masthead
        yield CautionLine()
        yield Static(Content("Reading the reference values ..."), id="waiting")
        yield self._key_line
        yield Static(_too_small(), id="too-small")

    def on_mount(self) -> None:
        self.screen.set_class(GLYPHS.ascii, "-ascii-signs")
        self.masthead.show(
            "the demo" if self.wanted.partition(":")[0] == "demo" else self.wanted or "new job"
        )
        if self._ending is not None:
            loop = asyncio.get_running_loop()
            self._ending.watch(self._keep_all, lambda code: loop.call_soon_threadsafe(self._end, code))
        # The engine loads only after the frame and its caution are on the screen.
        self.call_after_refresh(self.run_worker, self._load, thread=True)

    def _load(self) -> None:
        """Load the engine and the job, away from the thread that draws."""
        try:
            from hearthcalc_tui.storage import Memory, box_of

            self.journal.open(box_of(self.wanted))
            from hearthcalc_tui.desk.desk import Desk
            from hearthcalc_tui.session import open_session

            self.memory = Memory()
            session = open_session(self.wanted)
            self.journal.open(session.file.box)
            session.assess()
        except HearthError as error:
            self.call_from_thread(self._give_up, error)
            return
        self.call_from_thread(self.call_later, self._open, Desk(self, session))

    def _give_up(self, error: HearthError) -> None:
        self.fault = error
        self.exit(return_code=error.exit_code)

    async def _open(self, desk: Desk) -> None:
        """Put the desk in its place."""
        if self.memory.theme in themes.BY_NAME:
            self.theme = self.memory.theme
        self.desk = desk
        if self.memory.caution_read:
            self._caution_was_read()
        with self.batch_update():
            await self.query_one("#waiting").remove()
            await self.mount(desk, after="#caution")
        gc.enable()
        gc.freeze()
        self.start(self._greet(desk))

    async def _greet(self, desk: Desk) -> None:
        try:
            await self._welcome(desk)
        finally:
            self.goes_on()

    async def _welcome(self, desk: Desk) -> None:
        from hearthcalc_tui.desk.pages import caution_page

        if not self.memory.caution_read:
            await self.ask(caution_page())
            self.memory.remember(caution_read=True)
            self._caution_was_read()
        await desk.files.greet()
        if self._start:
            await desk.files.begin()
        if self._wrong:
            more = f" ({len(self._wrong) - 1} more in the settings)" if len(self._wrong) > 1 else ""
            self.say(f"{self._wrong[0]}{more}", bad=True)

    def _caution_was_read(self) -> None:
        self.caution_read = True
        self.query_one(CautionLine).was_read()

    # Keys

    async def on_event(self, event: events.Event) -> None:
        """Keys keep their order: they wait for the first field, and while one page gives way to the next. None is taken at the end."""
        if not isinstance(event, events.Key | events.Paste) or event.is_forwarded:
            if not (isinstance(event, events.MouseDown | events.MouseMove) and self._gone_at(*event.offset)):
                await super().on_event(event)
            return
        self._come += 1
        quits = isinstance(event, events.Key) and event.key in commands.BY_ID["quit"].keys
        if self.ends:
            return
        if quits and not self._stands:
            await super().on_event(event)
            return
        self._early.append((self._come, event))
        await self._take_keys()

    def _gone_at(self, x: int, y: int) -> bool:
        """Has what is still drawn there been taken away, or is that no place on the screen."""
        try:
            return not self.get_widget_at(x, y)[0].is_attached
        except NoWidget:
            return True

    async def _take_keys(self) -> None:
        while self._early and self._stands and not self._between and self._heard is None and not self.ends:
            self._taken, event = self._early.pop(0)
            self.last_key = monotonic()
            if len(self.screen_stack) > 1 or not (self.desk and self.desk.in_field):
                self._heard = key = object()
                path = (self.focused or self.screen).ancestors_with_self
                await super().on_event(event)
                # Once up for the key, and once more for what the key has made.
                self._listen(key, [*path, *path])
            else:
                await super().on_event(event)

    def _listen(self, key: object, path: Sequence[MessagePump]) -> None:
        """Take the next key when all on the path have done what is before them: a page may open or close on this one."""
        for at, part in enumerate(path):
            if part.call_later(self._listen, key, path[at + 1 :]):
                return
        if self._heard is key:
            self._heard = None
            self.call_later(self._take_keys)

    def page_closes(self, page: Screen[Any]) -> None:
        """Keys go on beneath; where the page was asked something, when who asked has gone on."""
        self._heard = None
        self._between = page in self._asked
        self._asked.discard(page)
        self.call_later(self._take_keys)

    def holds(self) -> None:
        """Work has begun that may open a page: keys wait until it has, or until the work is done."""
        self._between = True

    def goes_on(self) -> None:
        """The next page is there, or the work that asked is done: keys are taken again."""
        self._between = False
        self.call_later(self._take_keys)

    def desk_stands(self) -> None:
        """The first field has the cursor."""
        self._stands = True
        self.call_later(self._take_keys)

    def entered(self, after: str) -> None:
        """All that was typed up to here is in the draft, but for what a field has not heard yet. after: the entry taken last."""
        waits = self.focused.message_queue_size if self.focused is not None else 0
        self.journal.entered(self._taken - waits, after)

    async def ask(self, page: Screen[Answer]) -> Answer | None:
        """Open a page and wait for its answer; None where it was left."""
        self._asked.add(page)
        answer = self.push_screen(page, wait_for_dismiss=True)
        page.call_later(self.goes_on)
        return await asyncio.shield(answer)

    # Commands

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Commands rest while a page lies over the desk, and until there is a desk."""
        if action == "command":
            return len(self.screen_stack) == 1 and (self.desk is not None or parameters == ("quit",))
        return True

    async def action_command(self, id: str) -> None:
        """Run a command of the table."""
        if self.desk is None:
            self.leave()
        else:
            await self.desk.run(id)
        self.faults.went_well()

    def action_command_palette(self) -> None:
        """Show all commands."""
        from hearthcalc_tui.screens.palette import Palette  # few open it, and none at the start

        if not isinstance(self.screen, Palette):
            self.push_screen(Palette(id="--command-palette"))

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """What the palette offers: the table of commands, and nothing of its own."""
        for command in commands.in_palette():
            yield SystemCommand(
                f"{command.title}  ({commands.key_name(command.keys[0])})",
                command.help,
                partial(self.action_command, command.id),
            )

    def say(self, message: str, *, bad: bool = False) -> None:
        """A message in the key line, until the next command; "" brings the keys back."""
        self._key_line.say(message, bad=bad)

    def wear(self, theme: str) -> None:
        """Put a theme on, by its name."""
        self.theme = theme

    # How it ends

    @property
    def ends(self) -> bool:
        """It was told to end, by a key or from outside: the screen is going down."""
        return self.return_code is not None

    def exit(self, *given: Any, **named: Any) -> None:
        """Every end comes by here."""
        give_back()
        super().exit(*given, **named)

    def leave(self) -> None:
        """End; the demo ends with its verdict, as on the command line."""
        code = 0
        if self.desk is not None and self.desk.place.session.file.demo:
            code = self.desk.place.session.exit_code()
        self.exit(return_code=code)

    def _keep_all(self) -> None:
        """Into the draft with all that was entered."""
        if self.desk is not None:
            self.desk.keep_all()

    def _end(self, code: int) -> None:
        """End soon: what was typed is kept, and keys that wait are not taken any more."""
        with suppress(HearthError):
            self._keep_all()
        self.cut_off = True
        self.exit(return_code=code)

    def _end_with(self, error: Exception) -> None:
        self.fault = error
        self._end(FAULT)

    def _say_fault(self, message: str) -> None:
        self.say(message, bad=True)
        if len(self.screen_stack) > 1:  # the page hides the line
            self.notify(message, severity="error", markup=False)

    def _fatal_error(self) -> None:
        # Textual would print the frames with their locals, which hold the job; what happened is told by the launcher.
        if self._exception is not None:
            write_down(self._exception)
            self._end_with(self._exception)
        self._close_messages_no_wait()


def _too_small() -> Content:
    width, height = SMALLEST
    return Content(
        f"This needs {width} columns and {height} rows. Make the window larger; nothing is lost.\n"
        "CAUTION: fire and carbon monoxide kill. No check here is an approval."
    )


def run_screen(wanted: str, wrong: Sequence[str] = ()) -> int:
    """Open the screen, and return the exit code. wrong: what is wrong with the settings."""
    app = HearthcalcApp(wanted, wrong, Ending(), start=not wanted)
    app.run()
    if app.desk is not None:
        app.desk.close()
    broke_off = app.return_code is None  # what reads the keys failed, which Textual has told of
    app.journal.close(keep=app.cut_off or broke_off)
    if app.fault is not None:
        raise app.fault
    return FAULT if broke_off else app.return_code or 0
