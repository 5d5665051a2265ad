"""How sure each finding is: drawn in a thread that can be stopped, then listed, what holds least often first."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import BindingType
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc.job import Job
from hearthcalc.reference import Edition
from hearthcalc.whatif import sure
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.search import SearchPage
from hearthcalc_tui.widgets import telling

DRAWS = 2_000  # fewer than on the command line, so that it comes while one looks


class SurePage(SearchPage[None]):
    """Answers nothing. Esc stops the draws."""

    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, job: Job, edition: Edition) -> None:
        super().__init__("How sure: sizes, weather and constants off by chance", "Esc stops the draws")
        self.add_class("-whole")
        self._job, self._edition = job, edition
        self._told: list[tuple[Content, str]] = []

    def look(self, tell: Callable[[str], None]) -> sure.Answer:
        return sure.how_sure(self._job, self._edition, DRAWS, tell=tell, workers=1)

    def found(self, answer: sure.Answer) -> None:
        always = sum(one.holds == one.draws for one in answer.findings)
        self.progress(
            f"{answer.draws:,} draws: {always} of {len(answer.findings)} findings hold in every one. The others, and what has no number:"
        )
        room = max(24, self.size.width - 8)
        self._told = [(_line(one, room), sure.told(one)) for one in answer.findings if one.holds < one.draws]
        self._told += [
            (telling.line(finding, room), f"No number for it: {why}.") for finding, why in answer.untold
        ]
        options = self.query_one(OptionList)
        options.set_options(Option(line) for line, _ in self._told)
        if self._told:
            options.highlighted = 0
        self.query_one("#page-keys", Static).update("Up, Down choose; Esc closes")

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        self.query_one("#cure", Static).update(safe(self._told[event.option_index][1], "", 600))


def _line(one: sure.Sure, room: int) -> Content:
    """How often a finding holds, before what it is."""
    often = f"{sure.often(one.holds, one.draws):<30}"
    return Content.assemble((often, "bold"), telling.line(one.finding, max(24, room - len(often))))
