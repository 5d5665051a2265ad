"""The report before it is written, page by page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.page import Page


class ReportPage(Page[str]):
    """A report to look through; "write" where the person wants it in a file. parts: title and text of each page."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("right,pagedown,space", "turn(1)", "Next page", show=False),
        Binding("left,pageup", "turn(-1)", "Page before", show=False),
        Binding("enter", "write", "Write it", show=False),
    ]

    def __init__(self, parts: Sequence[tuple[str, str]]) -> None:
        super().__init__(
            "", "PgUp and PgDn turn the page, Up and Down scroll, Enter writes it to a file, Esc leaves"
        )
        self._parts = parts
        self.at = 0

    def body(self) -> ComposeResult:
        with VerticalScroll(id="page-body"):
            yield Static(id="page-text")

    def on_mount(self) -> None:
        self.query_one("#page-body").focus()
        self._show()

    def _show(self) -> None:
        title, text = self._parts[self.at]
        head = f"{title}: page {self.at + 1} of {len(self._parts)}"
        self.query_one("#page-title", Static).update(safe(head, limit=200))
        lines = [safe(line, limit=400) for line in text.splitlines()]
        self.query_one("#page-text", Static).update(Content("\n").join(lines))
        self.query_one("#page-body", VerticalScroll).scroll_home(animate=False)

    def action_turn(self, by: int) -> None:
        self.at = min(max(self.at + by, 0), len(self._parts) - 1)
        self._show()

    def action_write(self) -> None:
        self.dismiss("write")
