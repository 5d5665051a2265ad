"""The measuring sheet typed in: a letter and a reading to a line, each told with what was understood of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from hearthcalc_tui.field import Field
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.page import Page


class LetteredPage(Page[None]):
    """Takes a line at a time. take: enters one; whether it was taken, and what there is to say of it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "take", "Take it", show=False)]

    def __init__(self, title: str, question: str, take: Callable[[str], tuple[bool, Content]]) -> None:
        super().__init__(title, "Enter takes the line, Enter on an empty line or Esc goes back to the fields")
        self._question = question
        self._take = take
        self._told: list[Content] = []

    def body(self) -> ComposeResult:
        yield Static(safe(self._question), id="page-question")
        yield Field("", "Letter, reading", label_width=17, id="page-name")
        with VerticalScroll(id="page-body"):
            yield Static(id="page-text")

    def on_mount(self) -> None:
        self.query_one(Field).focus()

    def action_take(self) -> None:
        field = self.query_one(Field)
        if not field.text.strip():
            self.dismiss(None)
            return
        taken, said = self._take(field.text)
        if taken:
            field.fill("")
        self._told.insert(0, said)
        self.query_one("#page-text", Static).update(Content("\n").join(self._told))
