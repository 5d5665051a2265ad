"""One or two entries over a range: each point is the job with them typed in, judged as `check` judges it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from difflib import get_close_matches
from fractions import Fraction
from itertools import product
from math import isnan
from typing import Any

from msgspec import Struct

from hearthcalc import assess, figures
from hearthcalc.entry import Amount, FieldSpec, cut, shown
from hearthcalc.errors import EntryError, UsageError
from hearthcalc.findings import Finding, StageResult, Verdict, worst
from hearthcalc.job import (
    Document,
    Job,
    JobError,
    get,
    join_address,
    names,
    node_at,
    parse_address,
    set_entry,
    spec_of,
)
from hearthcalc.many import arrays
from hearthcalc.reference import Edition
from hearthcalc.whatif.told import heading, lines

FORMAT, VERSION = "hearthcalc-sweep", 1
MOST_POINTS = 250_000  # of one rule
MOST_NAMED = 8  # things in a message
WORDED = 1_000  # up to so many points are told in words too, each judged on its own
MOST_IN_FULL = 2_500  # of the whole job or of a model, which each asks everything: as long
NOT_A_JOB = "NOT READ"
VERDICTS = tuple(Verdict)


class Axis(Struct, frozen=True):
    """An entry and the values that it is given, as they would be typed."""

    address: str
    spec: FieldSpec
    values: tuple[str, ...]


class Point(Struct, frozen=True):
    """What is found with the entries at some values. margin: the least, None where there is none.

    verdict: the worst of the finding that was chosen, else the overall; NOT READ where entries cannot stand together.
    """

    values: tuple[str, ...]
    verdict: str
    margin: float | None
    unit: str
    message: str


class Sweep(Struct, frozen=True):
    """The points of one or two axes, the second axis running fastest. title: of what was chosen."""

    axes: tuple[Axis, ...]
    finding: str
    title: str
    points: tuple[Point, ...]


def axis(text: str, job: Job) -> Axis:
    """An axis from how it is written: ADDRESS=FROM:TO:STEPS. Raises UsageError."""
    address, _, rest = text.partition("=")
    try:
        spec = spec_of(address.strip())
        _ask_for_thing(parse_address(address.strip()), job)
        ends, count = _ends(rest, spec)
        first, last = (_value(spec, end, job) for end in ends)
    except EntryError as err:
        raise UsageError("A sweep cannot be read", f"{shown(text)}: {err.what}", fix=err.fix) from None
    if not re.fullmatch("[0-9]{1,7}", count.strip()) or not 2 <= int(count) <= MOST_POINTS:
        raise UsageError(
            "A sweep cannot be read",
            f"{shown(count)} is not a number of values from 2 to {MOST_POINTS:,}.",
            fix=EXAMPLE,
        )
    parts = int(count) - 1
    values = [first + (last - first) * Fraction(number, parts) for number in range(parts + 1)]
    return Axis(address.strip(), spec, tuple(spec.show(value, job.units) for value in values))


def _ask_for_thing(parts: Sequence[str], job: Job) -> None:
    """Raises EntryError where an address names a face, a thing or a layer that the job does not have: the sweep would invent it."""
    for place in range(1, len(parts)):
        if not isinstance(node_at(parts[:place]), FieldSpec):  # else of a list, and a name comes next
            continue
        lists = [parts[:place]]
        if parts[0] == "planned" and place == 2:  # what is there can be planned
            lists.append(parts[1:place])
        things = [get(job, join_address(one)) or () for one in lists]
        there = {name: None for some in things if some for name in names(some, type(some[0]))}
        if parts[place] not in there:
            fix = (
                f"It has: {', '.join(map(shown, list(there)[:MOST_NAMED]))}." if there else "Enter it first."
            )
            raise EntryError(
                "No such thing", f"This job has no {cut(join_address(parts[: place + 1]), 80)}.", fix=fix
            )


EXAMPLE = "Write it as in face.study.width=24:36:13."


def _ends(rest: str, spec: FieldSpec) -> tuple[tuple[str, str], str]:
    """Both ends of a range and the number of values; a pitch has a colon of its own."""
    parts = rest.split(":")
    if spec.kind == "pitch" and len(parts) == 5:
        parts = [":".join(parts[:2]), ":".join(parts[2:4]), parts[4]]
    if len(parts) != 3:
        raise EntryError("Not a range", "A range is FROM:TO:STEPS.", fix=EXAMPLE)
    return (parts[0].strip(), parts[1].strip()), parts[2]


def _value(spec: FieldSpec, text: str, job: Job) -> Fraction:
    read = None if spec.kind == "list" else spec.read(text, job.units)
    if not isinstance(read, Amount):
        raise EntryError(
            "Not a quantity", f'"{spec.label}" has no range.', fix="Sweep a length or another quantity."
        )
    return read.value


def sweep(
    job: Job,
    edition: Edition,
    axes: Sequence[Axis],
    finding: str = "",
    tell: Callable[[str], None] = lambda text: None,
    *,
    models: bool = True,
) -> Sweep:
    """What is found over one or two axes, of a finding by its id, else of the job. models: the job's overall is also by them.

    Raises UsageError.
    """
    count = 1
    for one in axes:
        count *= len(one.values)
    judge = assess.Judge(edition)
    base = judge.assess(job)
    base = assess.assess_models(job, edition, base) if models else base
    asked = _asked(base.deciding, finding)
    in_full = models and (asked is None or asked.kind == "model")
    most = MOST_IN_FULL if in_full else MOST_POINTS
    if count > most:
        raise UsageError(
            "Too many points",
            f"{count:,} points are more than the {most:,} that are judged here.",
            fix=f"Take fewer steps, or name the finding of a rule, or use --rules-only: of that up to {MOST_POINTS:,} points are judged."
            if in_full
            else "Take fewer steps.",
        )
    document, points = job.document(), []
    if not in_full and count > WORDED:
        tell(f"{count:,} points")
        points = _together(document, edition, axes, finding)
    for number, values in enumerate(product(*(one.values for one in axes)) if not points else (), 1):
        tell(f"{number:,} of {count:,}")
        points.append(_point(document, judge, axes, values, finding, in_full))
    return Sweep(tuple(axes), finding, asked.title if asked else "Overall", tuple(points))


def _together(document: Document, edition: Edition, axes: Sequence[Axis], finding: str) -> list[Point]:
    """The points of a rule's finding, judged together; none where no values of the axes make a job."""
    np = arrays()
    every = list(product(*(one.values for one in axes)))
    job = next((job for values in every if (job := _job(document, axes, values))), None)
    if job is None:
        return []
    columns, readable = {}, np.ones(len(every), np.bool_)
    places = np.unravel_index(np.arange(len(every)), [len(one.values) for one in axes])
    for one, place in zip(axes, places, strict=True):
        amounts = [_amount(one.spec, value, job) for value in one.values]
        readable &= np.array([amount is not None for amount in amounts])[place]
        kept = tuple(filter(None, amounts))
        number = np.cumsum([amount is not None for amount in amounts]) - 1
        columns[parse_address(one.address)] = figures.Column(kept, number[place])
    rows = np.flatnonzero(readable)
    columns = {path: figures.Column(one.amounts, one.which[rows]) for path, one in columns.items()}
    answers = figures.judge(job, columns, len(rows), edition, finding)
    stage, mine = list(answers.stages.items())[-1]
    overall = answers.overall(stage)
    told = {
        int(row): _figure(every[row], list(mine.values()), place)
        if finding
        else Point(every[row], str(VERDICTS[overall[place]]), None, "", "")
        for place, row in enumerate(rows)
        if answers.stands[place]
    }
    return [told.get(row) or Point(values, NOT_A_JOB, None, "", "") for row, values in enumerate(every)]


def _amount(spec: FieldSpec, text: str, job: Job) -> Amount | None:
    """A value as it would be entered; None where the entry cannot be that."""
    try:
        read = spec.read(text, job.units)
    except EntryError:
        return None
    return read if isinstance(read, Amount) else None


def _job(document: Document, axes: Sequence[Axis], values: Sequence[str]) -> Job | None:
    for one, value in zip(axes, values, strict=True):
        document = set_entry(document, one.address, value)
    try:
        return Job.from_document(document)
    except JobError:
        return None


def _figure(values: tuple[str, ...], answers: Sequence[figures.Answer], row: int) -> Point:
    """The worst and the tightest of the findings of one rule in a row of figures: as of findings, without words."""
    verdict = worst(VERDICTS[one.verdict[row]] for one in answers if one.verdict[row] != figures.NONE)
    margins = [one for one in answers if not isnan(one.margin[row])]
    tightest = min(
        margins, key=lambda one: 0.0 if isnan(one.percent[row]) else float(one.percent[row]), default=None
    )
    margin = float(tightest.margin[row]) if tightest else None
    return Point(values, str(verdict or ""), margin, tightest.unit if tightest else "", "")


def _asked(result: StageResult, finding: str) -> Finding | None:
    if not finding:
        return None
    ids = {one.id: one for one in result.findings}
    if finding not in ids:
        near = get_close_matches(finding, ids, 1)
        fix = f"Did you mean {near[0]}?" if near else "See hearthcalc check JOB --json."
        raise UsageError("No such finding", f"This job has no finding {shown(finding)}.", fix=fix)
    return ids[finding]


def _point(
    document: Document,
    judge: assess.Judge,
    axes: Sequence[Axis],
    values: tuple[str, ...],
    finding: str,
    in_full: bool,
) -> Point:
    for one, value in zip(axes, values, strict=True):
        document = set_entry(document, one.address, value)
    try:
        here = Job.from_document(document)
    except JobError as err:
        return Point(values, NOT_A_JOB, None, "", str(err))
    if finding and not in_full:
        return _pointed(values, judge.of_rule(here, finding))
    found = judge.assess(here)
    result = (assess.assess_models(here, judge.edition, found) if in_full else found).deciding
    if not finding:
        counted = ", ".join(f"{number} {verdict}" for verdict, number in result.counts.items())
        return Point(values, str(result.overall), None, "", counted)
    return _pointed(values, [one for one in result.findings if one.id == finding])


def _pointed(values: tuple[str, ...], mine: Sequence[Finding]) -> Point:
    """The worst and the tightest of the findings of one rule."""
    verdict = worst(one.verdict for one in mine)
    margins = [one for one in mine if one.margin]
    tightest = min(
        margins, key=lambda one: float(one.margin.percent or 0) if one.margin else 0.0, default=None
    )
    margin = tightest.margin if tightest else None
    worded = next((one.text for one in mine if one.verdict is verdict), "")
    return Point(
        values,
        str(verdict or ""),
        float(margin.value) if margin else None,
        margin.unit if margin else "",
        worded,
    )


# Told


def to_record(swept: Sweep, job: Job, edition: Edition) -> dict[str, Any]:
    """A sweep as plain data."""
    return {
        **heading(FORMAT, VERSION, job, edition),
        "finding": swept.finding,
        "title": swept.title,
        "axes": [
            {"address": one.address, "label": one.spec.label, "values": list(one.values)}
            for one in swept.axes
        ],
        "points": [
            {
                "values": list(p.values),
                "verdict": p.verdict,
                "margin": p.margin,
                "unit": p.unit,
                "text": p.message,
            }
            for p in swept.points
        ],
    }


def to_csv(swept: Sweep) -> str:
    """A line for each point."""
    return lines([*(one.address for one in swept.axes), "verdict", "margin", "unit", "message"], cells(swept))


def cells(swept: Sweep) -> list[tuple[str, ...]]:
    """Each point as text: its values, verdict, margin with its unit, and message."""
    return [
        (*p.values, p.verdict, "" if p.margin is None else f"{p.margin:.6g}", p.unit, p.message)
        for p in swept.points
    ]


def text(swept: Sweep) -> str:
    """A table of one axis, or a map of two, and where the verdict turns."""
    return _map(swept) if len(swept.axes) == 2 else _table(swept)


def _table(swept: Sweep) -> str:
    first = swept.axes[0]
    width = max(map(len, (*first.values, first.spec.label)))
    lines = [f"{first.spec.label:>{width}}  {swept.title}"]
    for point in swept.points:
        margin = f"  {point.margin:+.4g} {point.unit}" if point.margin is not None else ""
        lines.append(f"{point.values[0]:>{width}}  {point.verdict:<8}{margin or f'  {point.message}'}")
    return "\n".join([*lines, *turns(swept)]) + "\n"


def turns(swept: Sweep) -> list[str]:
    """Where the verdict turns along one axis, in sentences."""
    return [
        f"It turns from {one.verdict} to {other.verdict} between {one.values[0]} and {other.values[0]}."
        for one, other in zip(swept.points, swept.points[1:], strict=False)
        if one.verdict != other.verdict
    ] or ["The verdict is the same all the way."]


def _map(swept: Sweep) -> str:
    """The first axis runs down, the second to the right; a line stands where the verdict turns."""
    down, right = swept.axes
    across = len(right.values)
    rows = [swept.points[n : n + across] for n in range(0, len(swept.points), across)]
    width = max(map(len, (*down.values, down.spec.label)))
    lines = [
        swept.title,
        f"{down.spec.label:>{width}}  {right.spec.label}: {right.values[0]} to {right.values[-1]}",
    ]
    for number, row in enumerate(rows):
        cells = [
            _sign(point) + ("|" if place + 1 < across and row[place + 1].verdict != point.verdict else " ")
            for place, point in enumerate(row)
        ]
        lines.append(f"{down.values[number]:>{width}}  {''.join(cells).rstrip()}")
        below = rows[number + 1] if number + 1 < len(rows) else row
        turns = "".join("- " if below[p].verdict != row[p].verdict else "  " for p in range(across)).rstrip()
        if turns:
            lines.append(f"{'':>{width}}  {turns}")
    seen = [verdict for verdict in Verdict if any(point.verdict == verdict for point in swept.points)]
    words = [f"{LETTERS[verdict]} {verdict}" for verdict in map(str, seen)]
    if any(point.verdict == NOT_A_JOB for point in swept.points):
        words.append(f"{LETTERS[NOT_A_JOB]} {NOT_A_JOB}")
    lines.append(f"{', '.join(words)}; | and - where it turns.")
    return "\n".join(lines) + "\n"


LETTERS = {"MEETS": "+", "CLOSE": "~", "REFER": ">", "MEASURE": "?", "SHORT": "x", NOT_A_JOB: "!", "": " "}


def _sign(point: Point) -> str:
    return LETTERS[point.verdict]
