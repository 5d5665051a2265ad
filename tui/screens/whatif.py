"""What if: an entry is moved by keys, all findings follow, and a chart shows the margin of one of them along the way."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option
from textual.worker import get_current_worker

from hearthcalc import assess
from hearthcalc.findings import Assessment, Finding, StageResult, Verdict
from hearthcalc.reference import Edition
from hearthcalc_tui.entries import Document
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.session import STAGES
from hearthcalc_tui.session.snapshot import Snapshot
from hearthcalc_tui.session.trial import Movable, Trial
from hearthcalc_tui.widgets import telling
from hearthcalc_tui.widgets.options import Options

FAR = 10  # steps, with Shift
MODELS_WAIT = 0.1  # seconds without a key before the models run, which take longer than the next key
EVERY = 4  # steps of the chart for one of a model's columns, which take as long as fifty of a rule's
SHOWN_AT_ONCE = 8  # columns of the chart, so that it grows while one looks

Key = tuple[str, str, str, str]
Column = Mapping[Key, tuple[Verdict, float | None]]


class WhatIfPage(Page[Document]):
    """Left and Right move the entry in hand. Answers the job with what was moved, where it is kept; nothing else writes it."""

    CSS_PATH = "pages.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "move(-1)", "Less", show=False, priority=True),
        Binding("right", "move(1)", "More", show=False, priority=True),
        Binding("shift+left", f"move(-{FAR})", "Much less", show=False, priority=True),
        Binding("shift+right", f"move({FAR})", "Much more", show=False, priority=True),
        Binding("backspace,delete", "back", "As it stands", show=False, priority=True),
        Binding("pageup", "entry(-1)", "Entry before", show=False, priority=True),
        Binding("pagedown", "entry(1)", "Next entry", show=False, priority=True),
    ]

    def __init__(
        self,
        trial: Trial,
        edition: Edition,
        stage: str,
        stands: Assessment,
        address: str,
        key: Key | None,
        *,
        modelled: bool,
    ) -> None:
        """stands: what is found as the record stands; modelled: by the models too.  address: of the entry to begin with.
        key: of the finding to begin with.
        """
        super().__init__(
            f"What if, {STAGES[stage]}: nothing is written until you keep it",
            "Left/Right move it, Shift far; PgUp/PgDn entry; Bksp back; Enter keeps; Esc",
        )
        self.add_class("-whole")
        self._trial, self._edition, self._stage = trial, edition, stage
        self._base, self._unheard = stands, not modelled
        self._addresses = list(trial.entries)
        numbers = (at for at, one in trial.entries.items() if one.sides)
        first = address if address in trial.entries else next(numbers, self._addresses[0])
        self._at = self._addresses.index(first)
        self._judge = assess.Judge(edition)
        base = self._of_stage(stands)
        self._order = [finding.key for finding in telling.ordered(base.findings)]
        self._first = self._order.index(key) if key in self._order else 0
        self._was = {finding.key: finding for finding in base.findings}
        self._now = self._was
        self._seen = dict(self._was)
        self._waits = False
        self._columns: dict[int, Column] = {}
        self._modelled: dict[int, Column] = {}
        self._middle = 0
        self._waiting: asyncio.TimerHandle | None = None

    def body(self) -> ComposeResult:
        yield Static(id="moved")
        yield Static(id="chart")
        yield Options(classes="page-list")

    def on_mount(self) -> None:
        self.query_one(OptionList).focus()
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        self._list()
        self.query_one(OptionList).highlighted = self._first
        self._draw()
        self._fill()
        if self._unheard:
            snapshot, rules = self._trial.snapshot, self._base
            self.start_thread(lambda: self._models(snapshot, rules, self._hear), "as it stands")

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        self.call_after_refresh(self._list)
        self.call_after_refresh(self._fill)

    @property
    def entry(self) -> Movable:
        """The one in hand."""
        return self._trial.entries[self._addresses[self._at]]

    @property
    def working(self) -> bool:
        """Have the models still to be heard, of the record or of what was moved."""
        return self._unheard or self._waits

    def _of_stage(self, assessment: Assessment) -> StageResult:
        return assessment.stages.get(self._stage, assessment.deciding)

    @property
    def _steps(self) -> int:
        return self._trial.steps.get(self.entry.address, 0)

    # Keys

    def action_move(self, by: int) -> None:
        if self._trial.move(self.entry, by):
            self._moved()

    def action_back(self) -> None:
        """The entry in hand as it stands in the record."""
        if self._steps:
            self._trial.put(self.entry, 0)
            self._moved()

    def action_entry(self, by: int) -> None:
        """On to another entry; those moved stay so."""
        self._at = (self._at + by) % len(self._addresses)
        self._columns, self._modelled, self._middle = {}, {}, self._steps
        self._draw()
        self._fill()

    def on_option_list_option_selected(self) -> None:
        """Keep what was moved."""
        self.dismiss(self._trial.snapshot.document if self._trial.steps else None)

    def on_option_list_option_highlighted(self) -> None:
        self._draw()
        self._fill_modelled()

    # Findings

    def _moved(self) -> None:
        """Rules at once, models from a worker."""
        snapshot = self._trial.snapshot
        rules = self._judge.assess(snapshot.job, snapshot.unread)
        self._waits = True
        self._now = {finding.key: finding for finding in self._of_stage(rules).findings}
        self._seen |= self._now
        self._show()
        if self._waiting is not None:
            self._waiting.cancel()
        self._waiting = self.after(
            MODELS_WAIT,
            lambda: self.start_thread(lambda: self._models(snapshot, rules, self._heard), "models"),
        )

    def _models(
        self, snapshot: Snapshot, rules: Assessment, hear: Callable[[Snapshot, StageResult], None]
    ) -> None:
        full = assess.assess_models(snapshot.job, self._edition, rules, snapshot.unread)
        if not get_current_worker().is_cancelled:
            self.from_thread(hear, snapshot, self._of_stage(full))

    def _hear(self, snapshot: Snapshot, result: StageResult) -> None:
        """What the models find of the record as it stands, where the page came before them. Each has the place it would have had."""
        self._unheard = False
        picked = self._picked
        self._was = {finding.key: finding for finding in result.findings}
        self._seen = self._was | self._seen
        if snapshot is self._trial.snapshot:
            self._now = self._was
        ordered = [finding.key for finding in telling.ordered(result.findings)]
        self._order = ordered + [key for key in self._order if key not in self._was]
        self._list()
        if picked is not None:
            self.query_one(OptionList).highlighted = self._order.index(picked.key)
        self._draw()

    def _heard(self, snapshot: Snapshot, result: StageResult) -> None:
        if snapshot is self._trial.snapshot:
            self._waits = False
            self._now = {finding.key: finding for finding in result.findings}
            self._seen |= self._now
            self._modelled[self._steps] = _margins(result)
            self._show()

    def _show(self) -> None:
        """The findings, each in its place, and the chart with them."""
        self._list()
        if abs(self._steps - self._middle) > self._half:
            self._middle = self._steps
            self._fill()
        self._draw()

    def _list(self) -> None:
        options, room = self.query_one(OptionList), max(24, self.size.width - 8)
        new = [key for key in self._now if key not in self._order]
        self._order += new
        rows = [self._row(key, room) for key in self._order]
        if len(rows) == options.option_count:
            for number, row in enumerate(rows):
                options.replace_option_prompt_at_index(number, row)
        else:
            at = options.highlighted
            options.set_options(map(Option, rows))
            options.highlighted = at

    def _row(self, key: Key, room: int) -> Content:
        was, now = self._was.get(key), self._now.get(key)
        if now is not None:
            new = was is None and not (self._unheard and now.kind == "model")
            turned = new or (was is not None and was.verdict is not now.verdict)
            return telling.line(now, room, turned=turned)
        if self._waits and self._seen[key].kind == "model":
            return telling.line(self._seen[key], room, pending=True)
        return safe(f"{GLYPHS.dot} not asked any more: {self._seen[key].title}", "$quiet", room)

    # The chart

    @property
    def _half(self) -> int:
        """Columns of the chart to each side of its middle."""
        return max(8, min(40, (self.size.width - 12) // 2))

    @property
    def _picked(self) -> Finding | None:
        at = self.query_one(OptionList).highlighted
        key = self._order[at] if at is not None and at < len(self._order) else None
        return None if key is None else self._now.get(key) or self._was.get(key)

    def _fill(self) -> None:
        """Judge the columns that are not there yet, from the middle outward, away from the thread that draws."""
        middle, half, entry = self._middle, self._half, self.entry
        missing = [n for n in range(middle - half, middle + half + 1) if n not in self._columns]
        missing.sort(key=lambda n: abs(n - middle))
        others = {address: n for address, n in self._trial.steps.items() if address != entry.address}
        self.start_thread(lambda: self._judged(entry, others, missing), "chart")
        self._fill_modelled()

    def _fill_modelled(self) -> None:
        """The same by the models, where the finding in hand is one of theirs: some of the columns, each shown as it comes."""
        finding, middle, half, entry = self._picked, self._middle, self._half, self.entry
        if finding is None or finding.kind != "model":
            return
        span = range(-(half // EVERY), half // EVERY + 1)
        missing = [
            middle + EVERY * n for n in sorted(span, key=abs) if middle + EVERY * n not in self._modelled
        ]
        others = {address: n for address, n in self._trial.steps.items() if address != entry.address}
        self.start_thread(lambda: self._judged(entry, others, missing, models=True), "slow chart")

    def _judged(
        self, entry: Movable, others: Mapping[str, int], missing: Sequence[int], *, models: bool = False
    ) -> None:
        worker, judge, made = get_current_worker(), assess.Judge(self._edition), {}
        for count, steps in enumerate(missing, 1):
            if worker.is_cancelled:
                return
            made[steps] = self._column(judge, entry, others, steps, models=models)
            if models or count % SHOWN_AT_ONCE == 0 or count == len(missing):
                self.from_thread(self._add, entry, dict(made), models=models)

    def _column(
        self, judge: assess.Judge, entry: Movable, others: Mapping[str, int], steps: int, *, models: bool
    ) -> Column:
        if self._trial.at(entry, steps) is None:
            return {}
        snapshot = self._trial.with_steps({**others, entry.address: steps})
        found = judge.assess(snapshot.job, snapshot.unread)
        if models:
            found = assess.assess_models(snapshot.job, self._edition, found, snapshot.unread)
        return _margins(self._of_stage(found))

    def _add(self, entry: Movable, made: Mapping[int, Column], *, models: bool) -> None:
        if entry is self.entry:
            (self._modelled if models else self._columns).update(made)
            self._draw()

    def _draw(self) -> None:
        entry, finding = self.entry, self._picked
        to = self._trial.at(entry, self._steps) or entry.stands
        moved = Content.assemble(
            (f"{GLYPHS.left} ", "bold $ember"), safe(entry.label, "bold", 60), (f" {GLYPHS.right}  ", "bold $ember"),
            safe(entry.stands, "", 24), *((f" {GLYPHS.arrow} ", safe(to, "bold", 24)) if self._steps else ()),
        )  # fmt: skip
        others = [address for address in self._trial.steps if address != entry.address]
        if others:
            moved = Content.assemble(moved, (f"  and {len(others)} more moved", "$quiet"))
        self.query_one("#moved", Static).update(moved)
        shown: list[tuple[Verdict, float | None] | None] = []
        if finding is not None:
            columns = self._modelled if finding.kind == "model" else self._columns
            span = range(self._middle - self._half, self._middle + self._half + 1)
            shown = [columns.get(n, {}).get(finding.key) for n in span]
        rows = 9 if self.size.height >= 36 else 5
        title = self._title(finding)
        chart = drawn(shown, self._steps - self._middle + self._half, rows)
        ends = (self._trial.at(entry, self._middle + way * self._half) or "" for way in (-1, 1))
        low, high = (plain(text, 20) for text in ends)
        foot = f"{low}{high:>{max(1, 2 * self._half + 1 - len(low))}}"
        self.query_one("#chart", Static).update(Content("\n").join([title, *chart, safe(foot, "$quiet")]))

    def _title(self, finding: Finding | None) -> Content:
        if finding is None:
            return Content("")
        margin = finding.margin
        by = f": margin {float(margin.value):+.4g} {margin.unit}" if margin else ": no margin as it stands"
        every = f", by the model, every {EVERY}th step" if finding.kind == "model" else ""
        return safe(f"{finding.title}{by}{every}", "$quiet", 100)


def _margins(result: StageResult) -> Column:
    """The verdict and the margin of each finding, for one column of the chart."""
    return {
        finding.key: (finding.verdict, float(finding.margin.value) if finding.margin else None)
        for finding in result.findings
    }


def drawn(columns: Sequence[tuple[Verdict, float | None] | None], here: int, rows: int) -> list[Content]:
    """A chart of margins, one column each: the sign of the verdict stands above the line of the limit where it is met, below
    where it is not, on it where there is no figure. here: the column in hand, which has a mark at the foot.
    """
    middle = rows // 2
    most = max((abs(one[1]) for one in columns if one and one[1] is not None), default=0.0) or 1.0
    line = "-" if GLYPHS.ascii else "─"
    grid = [[(line if row == middle else " ", "$quiet")] * len(columns) for row in range(rows)]
    for place, one in enumerate(columns):
        if one is None:
            continue
        verdict, margin = one
        height = round((margin or 0.0) / most * middle)
        style = telling.verdict_style(verdict)
        grid[middle - height][place] = (GLYPHS.sign(verdict), style)
    mark = "^" if GLYPHS.ascii else "▲"
    foot = [(mark if place == here else " ", "bold $ember") for place in range(len(columns))]
    return [Content.assemble(*row) for row in (*grid, foot)]
