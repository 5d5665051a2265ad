"""The smallest changes that cure one finding: looked for in a thread that can be stopped, then listed to choose from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option
from textual.worker import get_current_worker

from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.reference import Edition
from hearthcalc.whatif import smallest
from hearthcalc.whatif.levers import rows
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.widgets import telling

Plan = list[Mapping[str, Any]]


class StoppedError(Exception):
    """The page was left while the search went on."""


class CuresPage(Page[Plan]):
    """Answers what to plan. Esc stops the search, and changes nothing."""

    CSS_PATH = "pages.tcss"
    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, finding: Finding, job: Job, edition: Edition) -> None:
        super().__init__(f"Smallest change: {finding.title}", "Esc stops the search")
        self.add_class("-whole")
        self._finding, self._job, self._edition = finding, job, edition
        self._answers: tuple[smallest.Answer, ...] = ()

    def body(self) -> ComposeResult:
        yield Static(id="progress")
        yield OptionList(classes="page-list")
        with VerticalScroll(classes="page-detail", can_focus=False):
            yield Static(id="cure")

    def on_mount(self) -> None:
        self.query_one(OptionList).focus()
        self.run_worker(self._search, thread=True)

    def _search(self) -> None:
        worker = get_current_worker()

        def tell(text: str) -> None:
            if worker.is_cancelled:
                raise StoppedError
            self.app.call_from_thread(self._progress, text)

        try:
            found = smallest.smallest(self._job, self._edition, tell, only=self._finding.key)
        except StoppedError:
            return
        if not worker.is_cancelled:
            self.app.call_from_thread(self._found, found.shorts)

    def _progress(self, text: str) -> None:
        self.query_one("#progress", Static).update(safe(text, "$quiet", 120))

    def _found(self, shorts: tuple[smallest.Short, ...]) -> None:
        self._answers = shorts[0].answers if shorts else ()
        count = len(self._answers)
        told = (
            f"{smallest.NOTHING.capitalize()}." if not count else "1 way" if count == 1 else f"{count} ways"
        )
        each = "" if not count else ", the least disturbance first. Each was judged in full."
        self._progress(f"{told}{each}")
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
