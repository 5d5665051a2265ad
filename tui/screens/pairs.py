"""A page of questions answered twice: by two editions, as found and as planned, before and after a change."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar

from rich.cells import cell_len, set_cell_size
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc.findings import Finding, Pair
from hearthcalc.report.model import basis_line, where
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.screens.page import Page, TextPage
from hearthcalc_tui.widgets import telling
from hearthcalc_tui.widgets.options import Options

NOT_ASKED = "not asked"
COLUMN = 11
MOST_OF_A_NAME = 14

Group = tuple[str, Sequence[Pair]]


def by_difference(pairs: Iterable[Pair]) -> list[Group]:
    """Pairs under headings: what differs first, then what only one of the two answers, then what is the same."""
    both: list[Pair] = []
    one: list[Pair] = []
    same: list[Pair] = []
    for pair in pairs:
        silent = [
            finding is None or any(basis.value == "silent" for basis in finding.basis)
            for finding in (pair.first, pair.second)
        ]
        (same if not pair.differs else one if silent[0] != silent[1] else both).append(pair)
    return [
        ("The answers differ", both),
        ("Only one of the two says anything on it", one),
        ("The answers are the same", same),
    ]


def turned(pair: Pair) -> bool:
    """Is the answer another, or what it compares."""
    numbers = [f.found.text if f and f.found else "" for f in (pair.first, pair.second)]
    return pair.differs or numbers[0] != numbers[1]


class PairsPage(Page[None]):
    """A list of pairs under headings, and of the one in hand what is asked, what was found, and the clause."""

    CSS_PATH = "pages.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("tab,shift+tab", "other", "Between list and detail", show=False)
    ]

    def __init__(
        self, title: str, names: tuple[str, str], groups: Sequence[Group], *, note: str = ""
    ) -> None:
        """names: of the two columns; note: what has to be known of them."""
        super().__init__(title, "Up, Down choose; Tab: to the detail and back; Enter: all of it; Esc closes")
        self.add_class("-whole")
        self._names = names
        self._note = note
        self._rows: list[tuple[str, Pair | None]] = []
        for heading, pairs in groups:
            if pairs:
                self._rows += [(f"{heading} ({len(pairs)})", None), *(("", pair) for pair in pairs)]
        self._width = max(COLUMN, *(min(MOST_OF_A_NAME, cell_len(name)) + 2 for name in names))

    def body(self) -> ComposeResult:
        if self._note:
            yield Static(safe(self._note), classes="page-note")
        head = "".join(set_cell_size(plain(name), self._width - 1) + " " for name in self._names)
        yield Static(safe(f"{head} question", "$quiet"), classes="page-line")
        yield Options(*(self._option(*row) for row in self._rows), classes="page-list", id="pairs")
        with VerticalScroll(classes="page-detail"), Vertical(id="pair-columns"):
            yield Static(id="pair-first")
            yield Static(id="pair-second")

    def on_mount(self) -> None:
        pairs = self.query_one(OptionList)
        if len(self._rows) > 1:
            pairs.highlighted = 1
        pairs.focus()

    def _option(self, heading: str, pair: Pair | None) -> Option:
        if pair is None:
            return Option(safe(heading), disabled=True)
        subject = where(pair.either)
        return Option(
            Content.assemble(
                self._verdict(pair.first), self._verdict(pair.second), " ", safe(pair.either.title, "", 120),
                safe(f"  {subject}" if subject else "", "$quiet", 120),
            )
        )  # fmt: skip

    def _verdict(self, finding: Finding | None) -> Content:
        """Sign and word, filled to the width of a column."""
        if finding is None:
            return Content.styled(f"{NOT_ASKED:<{self._width}}", "$quiet")
        mark = telling.verdict_mark(finding.verdict)
        return Content.assemble(mark, " " * (self._width - mark.cell_length))

    @property
    def _pair(self) -> Pair | None:
        at = self.query_one(OptionList).highlighted
        return None if at is None else self._rows[at][1]

    def on_option_list_option_highlighted(self) -> None:
        pair = self._pair
        if pair is None:
            return
        for place, name, finding in (
            ("#pair-first", self._names[0], pair.first),
            ("#pair-second", self._names[1], pair.second),
        ):
            self.query_one(place, Static).update(_column(name, finding))
        self.query_one(VerticalScroll).scroll_home(animate=False)

    def on_option_list_option_selected(self) -> None:
        pair = self._pair
        if pair is not None:
            both = [
                Content.assemble(
                    safe(name, "bold $brick"), "\n",
                    telling.full(finding) if finding else Content(_silent()), "\n",
                )
                for name, finding in zip(self._names, (pair.first, pair.second), strict=True)
            ]  # fmt: skip
            self.app.push_screen(TextPage(pair.either.title, Content("\n").join(both)))

    def action_other(self) -> None:
        pairs, detail = self.query_one(OptionList), self.query_one(VerticalScroll)
        self.set_focus(detail if pairs.has_focus else pairs)


def _silent() -> str:
    return "This question is not asked here."


def _column(name: str, finding: Finding | None) -> Content:
    """One answer: verdict, words, what is required and found, and the clauses behind it."""
    rows = [
        Content.assemble(
            safe(name, "bold $brick"), "  ", telling.verdict_mark(finding.verdict if finding else None)
        )
    ]
    if finding is None:
        return Content("\n").join([*rows, Content(_silent())])
    rows.append(safe(finding.text))
    if finding.required:
        rows.append(
            Content.assemble(("asked  ", "$quiet"), safe(f"{finding.required.op} {finding.required.text}"))
        )
    if finding.found:
        rows.append(Content.assemble(("found  ", "$quiet"), safe(finding.found.text)))
    if finding.caution and finding.verdict != "MEETS":
        rows.append(
            Content.assemble(
                (" CAUTION ", "bold $caution-ink on $caution-ground"), " ", safe(finding.caution, "bold")
            )
        )
    rows += [
        Content.assemble((f"{GLYPHS.dot} ", "$quiet"), safe(basis_line(basis), "$quiet"))
        for basis in finding.basis
    ]
    return Content("\n").join(rows)
