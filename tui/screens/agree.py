"""A page that shows what would be done, and does it only where a person agrees."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from hearthcalc_tui.screens.page import Page


class AgreePage(Page[bool]):
    """Text to read before Enter takes it. Esc answers None, which changes nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "agree", "Take it", show=False)]

    def __init__(self, title: str, text: Content) -> None:
        super().__init__(
            title, "Enter takes it, Esc leaves everything as it is; arrows and PgUp, PgDn scroll"
        )
        self._text = text

    def body(self) -> ComposeResult:
        with VerticalScroll(id="page-body"):
            yield Static(self._text)

    def on_mount(self) -> None:
        self.query_one("#page-body").focus()

    def action_agree(self) -> None:
        self.dismiss(True)
