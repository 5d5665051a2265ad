"""What the rules find of many jobs at once, as arrays: of jobs that differ in quantities alone, each rule runs once for all that
go its way. Verdicts and figures are those of `assess`, job by job; their words are left to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import nan
from typing import Any, TypeVar

from msgspec import Struct, field
from msgspec.structs import replace

from hearthcalc import assess
from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import Amount, Job, Size, Stage, Table, stands, with_amounts
from hearthcalc.job.record import with_values
from hearthcalc.many import UNTOLD, Array, Many, arrays, hold, of, parted, ways
from hearthcalc.reference import Edition
from hearthcalc.rules import agreement
from hearthcalc.rules.case import Asked, Case, Conflict, Rule, Whose, run

Path = tuple[str, ...]
T = TypeVar("T")
Rows = Array  # numbers of rows, or of their places
Key = tuple[str, str, str, str, int]
RANKS = {verdict: rank for rank, verdict in enumerate(Verdict)}
FEW = 12  # rows, below which each is judged on its own: together they would take longer
NONE = -1  # in place of a verdict's rank: the finding is not there


class Column(Struct, frozen=True):
    """One entry of the jobs. amounts: that it takes, each once, alike but for value, text and unit.  which: of them, row by row."""

    amounts: tuple[Amount, ...]
    which: Rows


class Answer(Struct):
    """One finding, row by row. verdict: by rank, -1 where there is no such finding.  Figures are NaN where there are none.

    counts: towards the overall.  required, found, margin: in unit.  percent: the margin, of the limit.
    """

    title: str
    kind: str
    verdict: Array
    counts: Array
    required: Array
    found: Array
    margin: Array
    percent: Array
    op: str = ""
    unit: str = ""


class Answers(Struct):
    """What is found of the jobs of some rows. stands: False where entries of a row cannot be together.

    stages: the findings by their keys, the last part of which counts those of one key.  singly: how many rows, for one rule or
    more, had to be judged one by one.
    """

    stands: Array
    stages: dict[str, dict[Key, Answer]] = field(default_factory=dict)
    singly: int = 0

    def overall(self, stage: str) -> Array:
        """The worst verdict of the findings that count, by rank: as StageResult.overall."""
        np = arrays()
        rank = np.full(len(self.stands), NONE, np.int8)
        for answer in self.stages[stage].values():
            rank = np.maximum(rank, np.where(answer.counts, answer.verdict, NONE))
        return np.where(rank == NONE, RANKS[Verdict.MEASURE], rank).astype(np.int8)


def judge(job: Job, columns: Mapping[Path, Column], count: int, edition: Edition, rule: str = "") -> Answers:
    """What the rules, or the one that is named by its id, find of a job with its entries at some addresses changed row by row.

    columns: by the parts of the address, at which the job has an entry.  count: of the rows.
    """
    return _Rows(job, columns, count, edition, rule).judged()


def worked_out(
    job: Job, columns: Mapping[Path, Column], count: int, edition: Edition, work: Callable[[Case], T]
) -> Iterator[tuple[Rows, Rows, T]]:
    """What a piece of work makes of the deciding stage of the rows that can stand, as `judge` takes them.

    Yields the rows, which of the figures of what was made are theirs, and what was made: figures of all of them, or of one row.
    """
    return _Rows(job, columns, count, edition, "").worked_out(work)


class _Case(Case, frozen=True):
    """The case of some of the rows of a group. places: theirs, None for all.  as_found: the stage before the work."""

    places: Rows | None = None
    as_found: Stage | None = None

    def before(self) -> Case:
        assert self.as_found is not None
        return self.at(self.as_found)

    def peek(self, whose: Whose, name: str) -> Any:
        return self._mine(super().peek(whose, name))

    def _held(self, path: Path) -> Any:
        return self._mine(super()._held(path))

    def _mine(self, value: Any) -> Any:
        return value if self.places is None else _taken(value, self.places)


def _taken(value: Any, places: Any) -> Any:
    """An entry, a thing or a whole job of some of the rows."""
    if isinstance(value, Amount):
        figure = value.value
        return replace(value, value=figure.taken(places)) if isinstance(figure, Many) else value
    if isinstance(value, Size):
        return replace(value, a=_taken(value.a, places), b=_taken(value.b, places))
    if isinstance(value, tuple):
        return tuple(_taken(one, places) for one in value)
    if isinstance(value, Table):
        taken = {key: _taken(one, places) for key, one in value.__dict__.items()}
        return with_values(value, taken)
    return value


class _Group:
    """Rows for which the plan moves the same. places: of its rows, from 0.  whole: the case of all of them."""

    def __init__(self, every: _Rows, name: str, rows: Rows, active: Array, wide: Mapping[str, Stage]) -> None:
        """wide: the stages of the run that the rows came from, of which active are theirs."""
        np = arrays()
        self.name = name
        self.rows = rows
        self.places = np.arange(len(rows))
        stages = {key: replace(stage, job=_taken(stage.job, active)) for key, stage in wide.items()}
        states = assess.states_of(stages[name].job)
        self.whole = _Case(
            stages[name], every.at(self.rows), every.edition, states, every.unread, as_found=stages["found"]
        )
        self.wrong: list[tuple[tuple[Conflict, ...], Array]] = []

    def case(self, places: Rows) -> Case:
        """The case of some of the rows, in which nothing is asked yet."""
        conflicts = _Conflicts([(made, rows[places]) for made, rows in self.wrong])
        if len(places) < len(self.places):
            return replace(self.whole, conflicts=conflicts, shared={}, entries={}, places=places)
        shared, read = _OfAll(self.whole.shared), _OfAll(self.whole.entries)
        return replace(self.whole, conflicts=conflicts, shared=shared, entries=read, asked=Asked())


class _OfAll(dict[Any, Any]):
    """What has been worked out or read for all rows. whole: there all runs of them find it; what comes after rows left is not."""

    def __init__(self, whole: dict[Any, Any]) -> None:
        super().__init__(whole)
        self.whole = whole

    def __setitem__(self, key: Any, value: Any) -> None:
        super().__setitem__(key, value)
        if not parted():
            self.whole[key] = value


class _Conflicts(Mapping[str, tuple[Conflict, ...]]):
    """The entries of some rows that cannot be right together: at each the rows may part. wrong: conflicts, and the rows that have them."""

    def __init__(self, wrong: Sequence[tuple[tuple[Conflict, ...], Array]]) -> None:
        self.wrong = wrong
        self.entries = {here for conflicts, _ in wrong for one in conflicts for here in one.entries}

    def __getitem__(self, here: str) -> tuple[Conflict, ...]:
        if here not in self.entries:
            raise KeyError(here)
        return tuple(
            one for conflicts, rows in self.wrong for one in conflicts if here in one.entries and hold(rows)
        )

    def __iter__(self) -> Iterator[str]:
        return iter(sorted(self.entries))

    def __len__(self) -> int:
        return len(self.entries)


class _Rows:
    """The rows of one job. alone: those that have to be judged one by one, for one rule or more."""

    def __init__(
        self, job: Job, columns: Mapping[Path, Column], count: int, edition: Edition, rule: str
    ) -> None:
        np = arrays()
        self.unread = assess.problems(job, edition)
        self.job = assess.readable(job, edition)
        self.edition = edition
        self.rule = rule
        self.columns = columns
        self.figures = {path: of([one.value for one in column.amounts]) for path, column in columns.items()}
        self.every = np.arange(count)
        self.alone = np.full(count, count < FEW)
        self.answers = Answers(np.ones(count, np.bool_))

    def judged(self) -> Answers:
        rows = self._standing(self.every[~self.alone])
        for name in self.job.stages():
            self.answers.stages[name] = {}
            for mine, active, stages in self.ways(self.every, rows, lambda mine: self.at(mine).stages()):
                self._judge_group(_Group(self, name, mine, active, stages))
        self._judge_alone()
        return self.answers

    def at(self, rows: Rows) -> Job:
        """The job of some rows."""
        values = {}
        for path, column in self.columns.items():
            which = column.which[rows]
            amount = column.amounts[which[0]]
            if not bool((which == which[0]).all()):
                amount = replace(amount, value=self.figures[path].taken(which), text=UNTOLD)
            values[path] = amount
        return with_amounts(self.job, values)

    def ways(self, rows: Rows, places: Rows, work: Callable[[Rows], T]) -> Iterator[tuple[Rows, Array, T]]:
        """The outcomes of some work for places among rows: (places, which figures are theirs, what was made).

        Rows that have none are judged one by one.
        """
        for outcome in ways(places, work) if len(places) else ():
            if outcome.made is None:
                self.alone[rows[outcome.rows]] = True
            else:
                yield outcome.rows, outcome.active, outcome.made

    def _standing(self, rows: Rows) -> Rows:
        """The rows whose entries can all be right."""
        fit = [rows[:0]]
        for mine, _, fits in self.ways(self.every, rows, lambda mine: stands(self.at(mine))):
            if fits:
                fit.append(mine)
            else:
                self.answers.stands[mine] = False
        return arrays().concatenate(fit)

    def worked_out(self, work: Callable[[Case], T]) -> Iterator[tuple[Rows, Rows, T]]:
        rows = self._standing(self.every[~self.alone])
        *_, name = self.job.stages()
        for mine, active, stages in self.ways(self.every, rows, lambda mine: self.at(mine).stages()):
            group = _Group(self, name, mine, active, stages)
            self._find_conflicts(group)

            def of_case(places: Rows, group: _Group = group) -> T:
                return work(group.case(places))

            for places, theirs, made in self.ways(group.rows, group.places, of_case):
                yield group.rows[places], theirs, made
        for row in self.every[self.alone]:
            job = self.at(self.every[row : row + 1])
            if stands(job):
                yield self.every[row : row + 1], self.every[:1] == 0, work(assess.case_of(job, self.edition))

    def _judge_group(self, group: _Group) -> None:
        self._find_conflicts(group)
        for rule in assess.rules_of(group.whole, self.rule):
            for subject in assess.subjects(group.whole, rule) if rule.kind != "model" else ():

                def findings(places: Rows, rule: Rule = rule, subject: Any = subject) -> tuple[Finding, ...]:
                    return run(group.case(places), rule, *subject).made

                for places, active, found in self.ways(group.rows, group.places, findings):
                    self._write(group.name, group.rows[places], found, active)

    def _find_conflicts(self, group: _Group) -> None:
        for check in agreement.AGREEMENTS:

            def conflicts(places: Rows, check: agreement.Agreement = check) -> tuple[Conflict, ...]:
                return agreement.checked(group.case(places), check).made

            for places, _, wrong in self.ways(group.rows, group.places, conflicts):
                if wrong:
                    group.wrong.append((wrong, arrays().isin(group.places, places)))

    def _write(self, name: str, rows: Rows, findings: Iterable[Finding], active: Any) -> None:
        told: dict[tuple[str, str, str, str], int] = {}
        for finding in findings:
            told[finding.key] = told.get(finding.key, 0) + 1
            answer = self._answer(name, finding, (*finding.key, told[finding.key]))
            answer.verdict[rows] = RANKS[finding.verdict]
            answer.counts[rows] = finding.counts
            required, found, margin = finding.required, finding.found, finding.margin
            for into, value in (
                (answer.required, required.value if required else None),
                (answer.found, found.value if found else None),
                (answer.margin, margin.value if margin else None),
                (answer.percent, margin.percent if margin else None),
            ):
                if isinstance(value, Many):
                    into[rows] = value.floats()[active]
                else:
                    into[rows] = nan if value is None else float(value)
            answer.op = finding.required.op if finding.required else answer.op
            answer.unit = finding.required.unit if finding.required else answer.unit

    def _answer(self, name: str, finding: Finding, key: Key) -> Answer:
        np, answers, count = arrays(), self.answers.stages[name], len(self.alone)
        if key not in answers:
            verdict, counts = np.full(count, NONE, np.int8), np.zeros(count, np.bool_)
            required, found, margin, percent = (np.full(count, np.nan) for _ in range(4))
            answers[key] = Answer(
                finding.title, finding.kind, verdict, counts, required, found, margin, percent
            )
        return answers[key]

    def _judge_alone(self) -> None:
        """The rows that no run could take with others, one by one."""
        rows = self.every[self.alone]
        self.answers.singly = len(rows)
        judge = assess.Judge(self.edition)
        for row in rows:
            here = rows[rows == row]
            job = self.at(here)
            for answers in self.answers.stages.values():
                for answer in answers.values():
                    answer.verdict[row] = NONE
                    answer.counts[row] = False
                    for figure in (answer.required, answer.found, answer.margin, answer.percent):
                        figure[row] = nan
            self.answers.stands[row] = stands(job)
            if not self.answers.stands[row]:
                continue
            for name, result in judge.assess(job).stages.items():
                mine = [one for one in result.findings if not self.rule or one.id == self.rule]
                self._write(name, here, mine, None)
