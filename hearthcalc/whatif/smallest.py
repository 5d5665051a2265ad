"""The smallest change that cures what falls short: each candidate is a job of its own, judged in full."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import combinations
from typing import Any

from msgspec import Struct

from hearthcalc import assess
from hearthcalc.errors import HearthError
from hearthcalc.findings import Finding, StageResult, Verdict
from hearthcalc.job import Job
from hearthcalc.reference import Edition
from hearthcalc.whatif.levers import levers_of, with_changes
from hearthcalc.whatif.levers import rows as lever_rows
from hearthcalc.whatif.told import heading, lines

FORMAT, VERSION = "hearthcalc-whatif", 1
SHARES = 8  # of the way, at which two levers are moved together
MOST_NAMED = 4  # findings after a change, that are printed by name
LEAST_SHOWN = 5  # answers of a finding that are printed

Key = tuple[str, str, str, str]
Set = tuple[tuple[int, int], ...]  # lever and size, by number, the size from 1
BAD = (Verdict.SHORT, Verdict.MEASURE, Verdict.REFER)


class Move(Struct, frozen=True):
    """One lever moved."""

    lever: str
    label: str
    address: str
    was: str
    becomes: str
    planned: Mapping[str, Any]


class Answer(Struct, frozen=True):
    """A change that cures. cost: the class of its dearest lever.  share: of the way that its levers can go, the sum.

    cures, breaks, asks: findings that fall short no more, that fall short now, that have to be measured or referred now.
    """

    moves: tuple[Move, ...]
    cost: int
    share: float
    cures: tuple[Finding, ...]
    breaks: tuple[Finding, ...]
    asks: tuple[Finding, ...]


class Short(Struct, frozen=True):
    """A finding that falls short, and what cures it, the least disturbance first."""

    finding: Finding
    answers: tuple[Answer, ...]


class WhatIf(Struct, frozen=True):
    """What would cure a job. whole: what leaves nothing short of all that counts; None where nothing within the levers does.

    left: what then still falls short of it.
    """

    stage: str
    shorts: tuple[Short, ...]
    whole: Answer | None
    left: tuple[Finding, ...]


class _Search:
    """The candidates of one job, each judged once."""

    def __init__(self, job: Job, edition: Edition, tell: Callable[[str], None], *, models: bool) -> None:
        self.job, self.edition, self.models = job, edition, models
        self.looks_at = "What falls short now"
        self._tell = tell
        self._judge_of_all = assess.Judge(edition)
        self.levers = levers_of(job, edition)
        self._judged: dict[tuple[Set, bool], StageResult | None] = {}
        base = self.judged((), models=True)
        if base is None:
            raise AssertionError("a job that was read can be judged")
        self.base = base

    def judged(self, moved: Set, *, models: bool) -> StageResult | None:
        """The deciding stage of the job with levers moved, None where they cannot be moved so."""
        moved = tuple(sorted(moved))
        models = models and self.models
        if (moved, True) in self._judged:
            return self._judged[moved, True]
        if (moved, models) not in self._judged:
            self._judged[moved, models] = self._judge(moved, models)
        return self._judged[moved, models]

    def _judge(self, moved: Set, models: bool) -> StageResult | None:
        self._tell(f"{self.looks_at}: {len(self._judged)} changes tried")
        try:
            changes = [self.levers[lever].changes[size - 1] for lever, size in moved]
            job = with_changes(self.job, changes) if changes else self.job
        except HearthError:
            return None
        if assess.problems(job, self.edition):
            return None
        told = self._judge_of_all.assess(job)
        return (assess.assess_models(job, self.edition, told) if models else told).deciding

    def cured(self, finding: Finding, moved: Set) -> bool:
        result = self.judged(moved, models=finding.kind == "model")
        return result is not None and _cured(finding, result)

    def answer(self, moved: Set) -> Answer:
        """What a change does, by rules and models."""
        result = self.judged(moved, models=True)
        assert result is not None
        before = {finding.key: finding for finding in self.base.findings}

        def newly(*verdicts: Verdict) -> tuple[Finding, ...]:
            return tuple(
                now for now in result.findings
                if now.verdict in verdicts and now.kind != "advice"
                and ((was := before.get(now.key)) is None or was.verdict not in verdicts)
                and (now.counts or (was is not None and was.counts))  # a model that waits counts no more
            )  # fmt: skip

        return Answer(
            tuple(self._move(lever, size) for lever, size in moved),
            max(self.levers[lever].cost for lever, _ in moved),
            sum(size / len(self.levers[lever].sizes) for lever, size in moved),
            tuple(f for f in shorts_of(self.base) if _cured(f, result)),
            newly(Verdict.SHORT),
            newly(Verdict.MEASURE, Verdict.REFER),
        )

    def _move(self, lever: int, size: int) -> Move:
        one = self.levers[lever]
        return Move(one.id, one.label, one.address, one.was, one.sizes[size - 1], one.changes[size - 1])


def shorts_of(result: StageResult) -> list[Finding]:
    """The findings of rules and models that fall short."""
    return [f for f in result.findings if f.verdict is Verdict.SHORT and f.kind != "advice"]


def _cured(finding: Finding, result: StageResult) -> bool:
    """Is a finding that fell short met, or does it not count any more? One that waits for more is not cured, count it or not."""
    now = next((one for one in result.findings if one.key == finding.key), None)
    if now is None or now.verdict is Verdict.MEASURE:
        return False
    return now.verdict is Verdict.MEETS or (finding.counts and not now.counts)


def least(cured: Callable[[int], bool], most: int) -> int | None:
    """A size from 1 to most that cures, of which one less does not; None where neither all, half nor a quarter of the way does.

    cured: asked of sizes; 0 is what stands, and does not.
    """
    high = next((size for size in dict.fromkeys((most, most // 2, most // 4)) if size and cured(size)), 0)
    return _back(cured, high) if high else None


def smallest(
    job: Job,
    edition: Edition,
    tell: Callable[[str], None] = lambda text: None,
    *,
    models: bool = True,
    only: Key | None = None,
) -> WhatIf:
    """What would cure each finding of the deciding stage that falls short, and the whole job.

    tell: hears before each change that is tried what is being looked at; what it raises ends the search.  models: those of draft, heat
    and steel are asked too.  only: the key of the one finding to cure; the whole job is then not looked at.
    """
    search = _Search(job, edition, tell, models=models)
    shorts = []
    best: dict[Key, Set] = {}
    for finding in shorts_of(search.base):
        if only not in (None, finding.key):
            continue
        search.looks_at = _title(finding)
        sets = _sets(search, finding)
        answers = [(moved, search.answer(moved)) for moved in sets]
        answers.sort(key=lambda pair: (bool(pair[1].breaks), pair[1].cost, len(pair[0]), pair[1].share))
        shorts.append(Short(finding, tuple(answer for _, answer in answers)))
        if answers:
            best[finding.key] = answers[0][0]
    search.looks_at = "The whole job"
    whole, left = _whole(search, best) if only is None else (None, ())
    return WhatIf(search.base.name, tuple(shorts), whole, left)


def _sets(search: _Search, finding: Finding) -> list[Set]:
    """Each lever alone that cures a finding, and each pair of those that do not."""
    found: list[Set] = []
    able = [number for number, lever in enumerate(search.levers) if lever.may_cure(finding.id)]
    weak = []
    for lever in able:

        def cured(size: int, lever: int = lever) -> bool:
            return search.cured(finding, ((lever, size),))

        if size := least(cured, len(search.levers[lever].sizes)):
            found.append(((lever, size),))
        elif _moves(search, finding, lever):
            weak.append(lever)
    for pair in combinations(weak, 2):
        if moved := _pair(search, finding, pair):
            found.append(moved)
    return found


def _moves(search: _Search, finding: Finding, lever: int) -> bool:
    """Does a lever, moved as far as it goes, bring a finding nearer to its limit?"""
    result = search.judged(((lever, len(search.levers[lever].sizes)),), models=finding.kind == "model")
    now = next((one for one in result.findings if one.key == finding.key), None) if result else None
    return bool(now and now.margin and finding.margin and now.margin.value > finding.margin.value)


def _pair(search: _Search, finding: Finding, pair: tuple[int, int]) -> Set | None:
    """The least of two levers together that cures: moved by the same share of their ways, then each taken back as far as it can be."""
    most = [len(search.levers[lever].sizes) for lever in pair]

    def cured(sizes: Sequence[int]) -> bool:
        return search.cured(finding, tuple(zip(pair, sizes, strict=True)))

    def at(share: int) -> list[int]:
        return [max(1, n * share // SHARES) for n in most]

    share = least(lambda n: cured(at(n)), SHARES)
    if share is None:
        return None
    sizes = at(share)
    for which in (0, 1, 0):

        def with_other(size: int, which: int = which) -> bool:
            return cured([size, sizes[1]] if which == 0 else [sizes[0], size])

        sizes[which] = _back(with_other, sizes[which])
    return tuple(zip(pair, sizes, strict=True))


def _back(cured: Callable[[int], bool], high: int) -> int:
    """The least size from 1 that still cures, where `high` does."""
    low = 0
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if cured(middle) else (middle, high)
    return high


def _whole(search: _Search, best: Mapping[Key, Set]) -> tuple[Answer | None, tuple[Finding, ...]]:
    """The best cures of all that counts together, less those that it does without; and what then still falls short."""
    counted = [finding for finding in shorts_of(search.base) if finding.counts]
    if not counted:
        return None, ()
    sizes: dict[int, int] = {}
    for finding in counted:
        for lever, size in best.get(finding.key, ()):
            sizes[lever] = max(size, sizes.get(lever, 0))

    def left(moved: Mapping[int, int]) -> list[Finding] | None:
        result = search.judged(tuple(moved.items()), models=True) if moved else search.base
        return None if result is None else [f for f in shorts_of(result) if f.counts]

    still = left(sizes)
    if not sizes or still is None:
        return None, tuple(counted)
    if still:
        return None, tuple(still)
    for lever in sorted(sizes, key=lambda lever: -search.levers[lever].cost):
        fewer = {one: size for one, size in sizes.items() if one != lever}
        if fewer and left(fewer) == []:
            sizes = fewer
    return search.answer(tuple(sorted(sizes.items()))), ()


# Told


def to_record(found: WhatIf, job: Job, edition: Edition) -> dict[str, Any]:
    """What would cure, as plain data."""
    return {
        **heading(FORMAT, VERSION, job, edition),
        "stage": found.stage,
        "short": [
            {
                **_named(one.finding),
                "text": one.finding.text,
                "answers": [_answer(answer) for answer in one.answers],
            }
            for one in found.shorts
        ],
        "whole": None if found.whole is None else _answer(found.whole),
        "left": [_named(finding) for finding in found.left],
    }


def _named(finding: Finding) -> dict[str, Any]:
    return {
        "id": finding.id, "title": finding.title, "face": finding.face, "state": finding.state, "item": finding.item,
        "counts": finding.counts, "verdict": str(finding.verdict),
    }  # fmt: skip


def _answer(answer: Answer) -> dict[str, Any]:
    return {
        "moves": [
            {"lever": move.lever, "label": move.label, "was": move.was, "becomes": move.becomes, "planned": dict(move.planned)}
            for move in answer.moves
        ],
        "cost": answer.cost,
        "cures": [_named(finding) for finding in answer.cures],
        "breaks": [_named(finding) for finding in answer.breaks],
        "asks": [_named(finding) for finding in answer.asks],
    }  # fmt: skip


def to_csv(found: WhatIf) -> str:
    """A line for each answer, findings parted by semicolons."""
    rows: list[list[object]] = []
    for short in found.shorts:
        f = short.finding
        of = [f.id, f.face or "", f.state or "", f.item or ""]
        rows += [[*of, rank, *_cells(answer)] for rank, answer in enumerate(short.answers, 1)]
        if not short.answers:
            rows.append([*of, "", "", NOTHING, "", "", ""])
    if found.whole:
        rows.append(["overall", "", "", "", 1, *_cells(found.whole)])
    elif found.left:
        rows.append(["overall", "", "", "", "", "", NOTHING, "", "", ""])
    columns = ["finding", "face", "state", "item", "rank", "cost", "change", "cures", "breaks", "asks"]
    return lines(columns, rows)


NOTHING = "nothing within these levers does"


def _cells(answer: Answer) -> list[object]:
    each = [answer.cures, answer.breaks, answer.asks]
    return [answer.cost, _change(answer), *("; ".join(map(_title, findings)) for findings in each)]


def _title(finding: Finding) -> str:
    of = ", ".join(part for part in (finding.face, finding.item, finding.state) if part)
    return f"{finding.title} ({of})" if of else finding.title


def _change(answer: Answer) -> str:
    return "; ".join(f"{move.label}: {move.becomes} (now {move.was})" for move in answer.moves)


def text(found: WhatIf, width: int) -> str:
    """What would cure, for a page of so many columns."""
    from textwrap import fill

    classes = lever_rows()[1]

    def line(words: str, indent: int) -> str:
        return fill(words, width, initial_indent=" " * indent, subsequent_indent=" " * (indent + 3))

    def told(answer: Answer, label: str, of: Finding | None) -> Iterable[str]:
        yield line(f"{label} {_change(answer)}. Cost: {classes[str(answer.cost)]}.", 2)
        also = [finding for finding in answer.cures if of is None or finding.key != of.key]
        for said, findings in (
            ("It also cures", also),
            ("It makes SHORT", answer.breaks),
            ("Then to be measured or referred", answer.asks),
        ):
            if findings:
                more = f" and {len(findings) - MOST_NAMED} more" if len(findings) > MOST_NAMED else ""
                yield line(f"{said}: {', '.join(map(_title, findings[:MOST_NAMED]))}{more}.", 5)

    lines = []
    for short in found.shorts:
        counts = "" if short.finding.counts else ", does not count"
        lines += ["", line(f"SHORT  {_title(short.finding)}{counts}", 0)]
        for rank, answer in enumerate(short.answers[:LEAST_SHOWN], 1):
            lines += told(answer, f"{rank}.", short.finding)
        if not short.answers:
            lines.append(line(f"{NOTHING.capitalize()}.", 2))
    if not found.shorts:
        lines.append("Nothing falls short.")
    elif found.whole:
        lines += ["", "All that counts, together", *told(found.whole, "1.", None)]
    elif found.left:
        lines += [
            "",
            "All that counts, together",
            line(f"{NOTHING.capitalize()}. Still SHORT: {', '.join(map(_title, found.left))}.", 2),
        ]
    lines += [
        "",
        line(
            "Each answer was checked by judging the job with the change in its plan. A lever is no advice to build: ask the mason.",
            0,
        ),
    ]
    return "\n".join(lines).lstrip("\n") + "\n"
