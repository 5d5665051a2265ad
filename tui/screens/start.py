"""The first page: the ways in. And the page on which a job says what it asks."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc.asked import EVERYTHING, QUESTIONS
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.session import RECOVERED, about_of, told
from hearthcalc_tui.storage import Draft
from hearthcalc_tui.widgets.options import Options

QUICK, NEW, OPEN = "quick", "new", "open"
DEMOS = {
    "demo:inn": "a mason opens an inn's fireplace to the dining room",
    "demo:schoolhouse": "a remodeler builds a raised hearth on an oak floor",
    "demo:stonehouse": "an inspector takes a quick look at a stone house",
}


def start_page(recent: Sequence[Path], left: Sequence[Draft]) -> ChoicePage:
    """The ways in. recent: job files opened last; left: unsaved work."""
    answers: list[tuple[str, str | Content]] = [
        (QUICK, _line("Quick check", "eight measurements, the verdicts that they decide")),
        (NEW, _line("New job", "measure a fireplace, found and planned")),
        *((RECOVERED + draft.box, _line("Unsaved work", told(draft.document.get("about")) or "no title")) for draft in left),
        *((str(path), _line("Recent", about_of(path))) for path in recent),
        (OPEN, _line("Open", "another job file")),
        *((id, _line("Demo", words)) for id, words in DEMOS.items()),
    ]  # fmt: skip
    return ChoicePage(
        "What do you want to do?", "", answers, keys="Up and Down choose, Enter opens it, Esc: an empty job"
    )


def _line(what: str, words: str) -> Content:
    return Content.assemble((f"{what:<14}", "bold"), safe(words, limit=100))


class QuestionsPage(Page[tuple[str, ...]]):
    """What a job asks. Answers the questions chosen; None where it was left."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("space", "mark", "Mark it", show=False)]

    def __init__(self, asked: Collection[str]) -> None:
        super().__init__(
            "What do you want to know?",
            "Space marks several; Enter takes those marked, or this one alone; Esc leaves it",
        )
        self._ids = [EVERYTHING, *(id for id in QUESTIONS if id != EVERYTHING)]
        self._marked = {id for id in asked if id != EVERYTHING}

    def body(self) -> ComposeResult:
        yield Static(
            safe("Only what these need is measured and judged. The rest is listed as left out."),
            id="page-question",
        )
        yield Options(*(Option(self._line(id)) for id in self._ids), id="page-answers")

    def _line(self, id: str) -> Content:
        mark = "   " if id == EVERYTHING else "[x]" if id in self._marked else "[ ]"
        return Content.assemble(safe(f"{mark} "), safe(f"{id:<12}", "bold"), safe(QUESTIONS[id]))

    def on_mount(self) -> None:
        answers = self.query_one(OptionList)
        answers.highlighted = next((at for at, id in enumerate(self._ids) if id in self._marked), 0)
        answers.focus()

    def action_mark(self) -> None:
        answers = self.query_one(OptionList)
        at = answers.highlighted or 0
        self._marked ^= {self._ids[at]} - {EVERYTHING}
        answers.replace_option_prompt_at_index(at, self._line(self._ids[at]))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        mine = self._ids[event.option_index]
        marked = tuple(id for id in self._ids if id in self._marked)
        self.dismiss((EVERYTHING,) if mine == EVERYTHING else marked or (mine,))
