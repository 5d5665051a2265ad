"""A page that asks which of several things is meant."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.widgets.options import Options


class ChoicePage(Page[str]):
    """One question and its answers, by their ids. Esc answers None, which always changes nothing."""

    def __init__(
        self,
        title: str,
        question: str,
        answers: Sequence[tuple[str, str | Content]],
        *,
        first: str = "",
        chosen: bool = True,
        keys: str = "Up and Down choose, Enter takes it, Esc leaves everything as it is",
    ) -> None:
        """answers: id and text of each.  first: the id that the cursor starts on.  chosen: False where none is until it is moved."""
        super().__init__(title, keys)
        self._chosen = chosen
        self._question = question
        self._answers = [(id, text if isinstance(text, Content) else safe(text)) for id, text in answers]
        self._first = first

    def body(self) -> ComposeResult:
        if self._question:
            with VerticalScroll(id="page-question", can_focus=False):
                yield Static(Content("\n").join(safe(line) for line in self._question.splitlines()))
        yield Options(*(Option(text) for _, text in self._answers), id="page-answers")

    def on_mount(self) -> None:
        answers = self.query_one(OptionList)
        ids = [id for id, _ in self._answers]
        answers.highlighted = ids.index(self._first) if self._first in ids else 0 if self._chosen else None
        answers.focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self._answers[event.option_index][0])
