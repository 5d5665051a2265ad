"""What the rules find of many jobs at once, as arrays: of jobs that differ in quantities alone, each rule runs once for all that
go its way. Verdicts and figures are those of `assess`, job by job; their words are left to it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hearthcalc import assess
from hearthcalc.findings import Bound, Finding, State, Verdict
from hearthcalc.job import Amount, Job, stands, with_amounts
from hearthcalc.many import UNTOLD, Many, Outcome, of, ways
from hearthcalc.reference import Edition
from hearthcalc.rules import agreement
from hearthcalc.rules.case import RULES, Case, Conflict, Rule, Run, Subject, run

Path = tuple[str, ...]
Rows = NDArray[np.intp]
Key = tuple[str, str, str, str, int]
RANKS = {verdict: rank for rank, verdict in enumerate(Verdict)}
NONE = -1  # in place of a verdict's rank: the finding is not there


@dataclass(frozen=True, slots=True)
class Column:
    """One entry of the jobs. amounts: that it takes, each once, alike but for their value and text.  which: of them, row by row."""

    amounts: tuple[Amount, ...]
    which: Rows


@dataclass(slots=True)
class Answer:
    """One finding, row by row. verdict: by rank, -1 where there is no such finding.  Figures are NaN where there are none.

    counts: towards the overall.  required, found, margin: in unit.
    """

    title: str
    verdict: NDArray[np.int8]
    counts: NDArray[np.bool_]
    required: NDArray[np.float64]
    found: NDArray[np.float64]
    margin: NDArray[np.float64]
    op: str = ""
    unit: str = ""


@dataclass(slots=True)
class Answers:
    """What is found of the jobs of some rows. stands: False where entries of a row cannot be together.

    stages: the findings by their keys, the last part of which counts those of one key.  singly: how many rows, for one rule or
    more, had to be judged one by one.
    """

    stands: NDArray[np.bool_]
    stages: dict[str, dict[Key, Answer]] = field(default_factory=dict)
    singly: int = 0

    def overall(self, stage: str) -> NDArray[np.int8]:
        """The worst verdict of the findings that count, by rank: as StageResult.overall."""
        rank = np.full(len(self.stands), NONE, np.int8)
        for answer in self.stages[stage].values():
            rank = np.maximum(rank, np.where(answer.counts, answer.verdict, NONE))
        return np.where(rank == NONE, RANKS[Verdict.MEASURE], rank).astype(np.int8)


def judge(job: Job, columns: Mapping[Path, Column], edition: Edition, rule: str = "") -> Answers:
    """What the rules, or the one that is named by its id, find of a job with its entries at some addresses changed row by row.

    columns: by the parts of the address, at which the job has an entry.
    """
    return _Rows(job, columns, edition, rule).judged()


class _Rows:
    """The rows of one job. alone: those that have to be judged one by one, for one rule or more."""

    def __init__(self, job: Job, columns: Mapping[Path, Column], edition: Edition, rule: str) -> None:
        self.unread = assess.problems(job, edition)
        self.job = assess.readable(job, edition)
        self.edition = edition
        self.rule = rule
        self.columns = columns
        self.figures = {path: of([one.value for one in column.amounts]) for path, column in columns.items()}
        count = len(next(iter(columns.values())).which)
        self.alone = np.zeros(count, np.bool_)
        self.answers = Answers(np.ones(count, np.bool_))

    def judged(self) -> Answers:
        rows = self._standing(np.arange(len(self.alone)))
        for name in self.job.stages():
            self.answers.stages[name] = {}
            for planned in self._planned(name, rows):
                for conflicts, group in self._in_conflict(name, planned):
                    self._run_rules(name, group, conflicts)
        self._judge_alone()
        return self.answers

    def _at(self, rows: Rows) -> Job:
        """The job of some rows."""
        values = {}
        for path, column in self.columns.items():
            which = column.which[rows]
            amount = column.amounts[which[0]]
            if not bool((which == which[0]).all()):
                figure = self.figures[path]
                many = Many(figure.parts[which], figure.scale, None, figure.most)
                amount = replace(amount, value=many, text=UNTOLD)
            values[path] = amount
        return with_amounts(self.job, values)

    def _case(self, name: str, rows: Rows, conflicts: Mapping[str, tuple[Conflict, ...]]) -> Case:
        job = self._at(rows)
        stage = job.stages()[name]
        states = assess.states_of(stage.job)
        return Case(stage, job, self.edition, states, self.unread, conflicts=conflicts)

    def _ways(self, rows: Rows, work: Any) -> Iterable[Outcome[Any]]:
        """The outcomes of some work; rows that have none are judged one by one."""
        for outcome in ways(rows, work) if len(rows) else ():
            if outcome.made is None:
                self.alone[outcome.rows] = True
            else:
                yield outcome

    def _standing(self, rows: Rows) -> Rows:
        """The rows whose entries can all be right."""
        fit = [rows[:0]]
        for outcome in self._ways(rows, lambda mine: stands(self._at(mine))):
            if outcome.made:
                fit.append(outcome.rows)
            else:
                self.answers.stands[outcome.rows] = False
        return np.concatenate(fit)

    def _planned(self, name: str, rows: Rows) -> list[Rows]:
        """The rows in groups for which the plan moves the same."""
        return [outcome.rows for outcome in self._ways(rows, lambda mine: self._at(mine).stages()[name])]

    def _in_conflict(
        self, name: str, rows: Rows
    ) -> list[tuple[Mapping[str, tuple[Conflict, ...]], Rows]]:
        """The rows in groups that have the same entries that cannot all be right, with these."""
        groups: dict[tuple[Run[Conflict], ...], Rows] = {(): rows}
        for check in agreement.AGREEMENTS:
            parted: dict[tuple[Run[Conflict], ...], list[Rows]] = {}
            for before, group in groups.items():
                for outcome in self._ways(
                    group, lambda mine, check=check: agreement.checked(self._case(name, mine, {}), check)
                ):
                    runs = (*before, outcome.made) if outcome.made.made else before
                    parted.setdefault(runs, []).append(outcome.rows)
            groups = {runs: np.concatenate(rows) for runs, rows in parted.items()}
        return [(agreement.conflicts_of(runs), group) for runs, group in groups.items()]

    def _run_rules(self, name: str, rows: Rows, conflicts: Mapping[str, tuple[Conflict, ...]]) -> None:
        case = self._case(name, rows[:1], conflicts)
        for rule in assess.rules_of(case, self.rule):
            if rule.kind == "model":
                continue
            for subject in assess.subjects(case, rule):
                self._run_rule(name, rows, conflicts, rule, subject)

    def _run_rule(
        self,
        name: str,
        rows: Rows,
        conflicts: Mapping[str, tuple[Conflict, ...]],
        rule: Rule,
        subject: tuple[Subject | State, ...],
    ) -> None:
        def work(mine: Rows) -> Run[Finding]:
            return run(self._case(name, mine, conflicts), rule, *subject)

        for outcome in self._ways(rows, work):
            self._write(name, outcome.rows, outcome.made.made, outcome.active)

    def _write(self, name: str, rows: Rows, findings: Iterable[Finding], active: Any) -> None:
        told: dict[tuple[str, str, str, str], int] = {}
        for finding in findings:
            told[finding.key] = told.get(finding.key, 0) + 1
            answer = self._answer(name, finding, (*finding.key, told[finding.key]))
            answer.verdict[rows] = RANKS[finding.verdict]
            answer.counts[rows] = finding.counts
            for into, figure in (
                (answer.required, finding.required),
                (answer.found, finding.found),
                (answer.margin, finding.margin),
            ):
                value = figure.value if figure else None
                if isinstance(value, Many):
                    into[rows] = value.floats()[active]
                else:
                    into[rows] = np.nan if value is None else float(value)
            answer.op = finding.required.op if finding.required else answer.op
            answer.unit = finding.required.unit if finding.required else answer.unit

    def _answer(self, name: str, finding: Finding, key: Key) -> Answer:
        answers, count = self.answers.stages[name], len(self.alone)
        if key not in answers:
            empty = [np.full(count, np.nan) for _ in range(3)]
            verdict, counts = np.full(count, NONE, np.int8), np.zeros(count, np.bool_)
            answers[key] = Answer(finding.title, verdict, counts, *empty)
        return answers[key]

    def _judge_alone(self) -> None:
        """The rows that no run could take with others, one by one."""
        rows = np.flatnonzero(self.alone)
        self.answers.singly = len(rows)
        judge = assess.Judge(self.edition)
        for row in rows:
            here = rows[rows == row]
            job = self._at(here)
            for answers in self.answers.stages.values():
                for answer in answers.values():
                    answer.verdict[row] = NONE
                    answer.counts[row] = False
                    answer.required[row] = answer.found[row] = answer.margin[row] = np.nan
            self.answers.stands[row] = stands(job)
            if not self.answers.stands[row]:
                continue
            for name, result in judge.assess(job).stages.items():
                mine = [one for one in result.findings if not self.rule or one.id == self.rule]
                self._write(name, here, mine, None)
