"""A view over the whole screen."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from hearthcalc_tui import commands
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.widgets.views import VIEWS, Shown, ViewBody

_CLOSING = ",".join(key for id in VIEWS for key in commands.BY_ID[id].keys)


class ViewPage(Page[str]):
    """One view, its parts a key apart. Answers the entry that a part of a drawing leads to, None where it is closed."""

    CSS_PATH = "pages.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(_CLOSING, "leave", "Close", show=False),
    ]

    def __init__(self, view: str, shown: Shown, part: int = 0, tried: frozenset[str] = frozenset()) -> None:
        several = "Left, Right: next; " if len(VIEWS[view].parts(shown)) > 1 else ""
        picture = "W: words; Tab: a part, Enter its field; Esc closes"
        scrolls = f"Up, Down scroll; {'1 to 9: try it; ' if VIEWS[view].buttons else ''}Esc or Enter closes"
        super().__init__("", several + (picture if VIEWS[view].words else scrolls))
        self.add_class("-whole")
        self._body = ViewBody(view, part, tried, id="view")
        self._shown = shown

    def body(self) -> ComposeResult:
        yield self._body

    def on_mount(self) -> None:
        self.query_one("#page-title").display = False
        self._body.focus()
        self.call_after_refresh(lambda: self._body.show(self._shown))

    def show(self, shown: Shown) -> None:
        """Show what the models have found since the page was opened."""
        self._shown = shown
        if self._body.is_attached:
            self._body.show(shown)

    def on_view_body_chosen(self) -> None:
        self.dismiss(None)

    def on_view_body_sought(self, event: ViewBody.Sought) -> None:
        self.dismiss(event.entry)
