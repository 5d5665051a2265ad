"""A page over the desk: a title, text that scrolls, and its keys. The desk stays as it is beneath."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from hearthcalc import caution
from hearthcalc_tui.faults import Fits, Guarded, Once
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe
from hearthcalc_tui.widgets.frame import CautionLine

if TYPE_CHECKING:
    from hearthcalc_tui.app import HearthcalcApp

Answer = TypeVar("Answer")


class Page(Guarded, Once, Fits, ModalScreen[Answer]):
    """What all pages share. The keys of the desk rest while one is open."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,ctrl+q", "leave", "Close", show=False)]

    def __init__(self, title: str, keys: str = "Esc closes") -> None:
        super().__init__(classes="-ascii-signs" if GLYPHS.ascii else "")
        self._heading = title
        self._keys = keys

    def compose(self) -> ComposeResult:
        yield CautionLine(read=self._caution_read)
        with Vertical(id="page"):
            yield Static(safe(self._heading, limit=200), id="page-title")
            yield from self.body()
            yield Static(safe(self._keys), id="page-keys")

    def body(self) -> ComposeResult:
        """What stands between the title and the keys."""
        yield from ()

    def on_resize(self, event: events.Resize) -> None:
        """Leave the rows of the masthead and of the caution free."""
        told = caution.SHORT if self._caution_read else caution.LINE
        rows = 1 + len(wrap(told, max(event.size.width - 2, 10)))
        self.query("#page").set_styles(margin=(rows, 0, 0, 0))

    @property
    def _caution_read(self) -> bool:
        return cast("HearthcalcApp", self.app).caution_read

    def action_leave(self) -> None:
        self.dismiss(None)


class TextPage(Page[str]):
    """Text to read. Enter closes too; goes_on, cures: what F3 and F4 lead to, where the page leads somewhere."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,space", "leave", "Close", show=False),
        Binding("f3", "go_on", "Go there", show=False),
        Binding("f4", "cure", "What would cure it", show=False),
    ]

    def __init__(self, title: str, text: Content, *, goes_on: str = "", cures: str = "") -> None:
        leads = "".join(f"; {key}: {to}" for key, to in (("F3", goes_on), ("F4", cures)) if to)
        scroll = "arrows scroll" if goes_on and cures else "arrows and PgUp, PgDn scroll"
        super().__init__(title, f"Enter or Esc closes{leads}; {scroll}")
        self._text = text
        self._goes_on = goes_on
        self._cures = cures

    def body(self) -> ComposeResult:
        with VerticalScroll(id="page-body"):
            yield Static(self._text)

    def on_mount(self) -> None:
        self.query_one("#page-body").focus()

    def action_go_on(self) -> None:
        if self._goes_on:
            self.dismiss("go")

    def action_cure(self) -> None:
        if self._cures:
            self.dismiss("cure")
