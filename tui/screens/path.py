"""A page that asks for the name of a file, or for another line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc_tui.field import Field
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.widgets.options import Options


class PathPage(Page[str]):
    """A line, typed or chosen from files that are there. label: of the field."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "take", "Take it", show=False),
        Binding("tab,shift+tab", "other", "Between name and list", show=False),
    ]

    def __init__(
        self, title: str, question: str, *, name: str = "", files: Sequence[Path] = (), label: str = "File"
    ) -> None:
        super().__init__(
            title,
            "Enter takes it, Tab goes between name and list, Esc leaves"
            if files
            else "Enter takes it, Esc leaves",
        )
        self._question = question
        self._start = name
        self._files = tuple(files)
        self._label = label

    def body(self) -> ComposeResult:
        yield Static(safe(self._question), id="page-question")
        yield Field("", self._label, text=self._start, label_width=6, id="page-name")
        if self._files:
            yield Options(*(Option(safe(str(path))) for path in self._files), id="page-answers")

    def on_mount(self) -> None:
        field = self.query_one(Field)
        field.focus()

    def on_key(self, event: events.Key) -> None:
        if event.key == "down" and self._files and self.query_one(Field).has_focus:
            event.stop()
            self.action_other()

    def action_other(self) -> None:
        if self._files:
            field, files = self.query_one(Field), self.query_one(OptionList)
            self.set_focus(files if field.has_focus else field)
            if files.highlighted is None:
                files.highlighted = 0

    def action_take(self) -> None:
        self.dismiss(self.query_one(Field).text.strip() or None)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(str(self._files[event.option_index]))
