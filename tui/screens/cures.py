"""The smallest changes that cure one finding: looked for in a thread that can be stopped, then listed to choose from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, ClassVar

from textual.binding import BindingType
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.reference import Edition
from hearthcalc.whatif import smallest
from hearthcalc.whatif.levers import rows
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.search import SearchPage
from hearthcalc_tui.widgets import telling

Plan = list[Mapping[str, Any]]


class CuresPage(SearchPage[Plan]):
    """Answers what to plan. Esc stops the search, and changes nothing."""

    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, finding: Finding, job: Job, edition: Edition) -> None:
        super().__init__(f"Smallest change: {finding.title}", "Esc stops the search")
        self.add_class("-whole")
        self._finding, self._job, self._edition = finding, job, edition
        self._answers: tuple[smallest.Answer, ...] = ()

    def look(self, tell: Callable[[str], None]) -> tuple[smallest.Short, ...]:
        return smallest.smallest(self._job, self._edition, tell, only=self._finding.key).shorts

    def found(self, shorts: tuple[smallest.Short, ...]) -> None:
        self._answers = shorts[0].answers if shorts else ()
        count = len(self._answers)
        told = (
            f"{smallest.NOTHING.capitalize()}." if not count else "1 way" if count == 1 else f"{count} ways"
        )
        each = "" if not count else ", the least disturbance first. Each was judged in full."
        self.progress(f"{told}{each}")
        options = self.query_one(OptionList)
        options.set_options(Option(_line(answer)) for answer in self._answers)
        if count:
            options.highlighted = 0
        keys = (
            "Up, Down choose; Enter puts it in the plan; Esc leaves all as it is" if count else "Esc closes"
        )
        self.query_one("#page-keys", Static).update(keys)

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        answer = self._answers[event.option_index]
        parts = [safe(f"Cost: {rows()[1][str(answer.cost)]}.", "bold")]
        for said, findings in (
            ("It cures", answer.cures),
            ("It makes SHORT", answer.breaks),
            ("Then to be measured or referred", answer.asks),
        ):
            if findings:
                parts.append(safe(f"{said}:", "bold"))
                parts += [telling.line(finding, max(24, self.size.width - 8)) for finding in findings]
        self.query_one("#cure", Static).update(Content("\n").join(parts))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss([move.planned for move in self._answers[event.option_index].moves])


def _line(answer: smallest.Answer) -> Content:
    moves = "; ".join(f"{move.label}: {move.was} {GLYPHS.arrow} {move.becomes}" for move in answer.moves)
    bad = Content.styled("  makes another SHORT", "$verdict-short") if answer.breaks else Content("")
    return Content.assemble(safe(moves, "bold", 160), bad)
