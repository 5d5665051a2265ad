"""How sure: every length that a tape took is off by chance within the tape's tolerance, and the rules are asked each time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from math import sqrt
from random import Random
from typing import Any

from hearthcalc import assess
from hearthcalc.entry import Amount, FieldSpec, Size
from hearthcalc.errors import UsageError
from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import Job, Table, entries, join_address, names
from hearthcalc.job.record import T, with_values
from hearthcalc.reference import Edition
from hearthcalc.whatif.told import heading, lines

FORMAT, VERSION = "hearthcalc-sure", 1
DRAWS = 1_000  # unless asked for others: about a quarter of a minute
FINEST = 2**20  # parts of an inch that a draw is rounded to, so that it stays a short fraction
LEAST_SHARE = 0.02  # of the spread, below which an entry is not told
CHANCE = 12  # over the draws: no share by chance is larger, but once in two thousand times (chi2 of one degree of freedom)
MOST_TOLD = 3  # entries of one finding
JUDGED = (Verdict.MEETS, Verdict.CLOSE, Verdict.SHORT)


@dataclass(frozen=True, slots=True)
class Mover:
    """An entry that moves a margin. share: of the margin's variance, 0 to 1.  error: of that share, one standard error."""

    address: str
    label: str
    share: float
    error: float


@dataclass(frozen=True, slots=True)
class Sure:
    """How often a finding holds. finding: as it is without chance.  holds: of all draws.  movers: the strongest first."""

    finding: Finding
    holds: int
    movers: tuple[Mover, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What so many draws say of the deciding stage. entries: how many were drawn.  tolerance: of each, inches."""

    stage: str
    draws: int
    seed: int
    entries: int
    tolerance: Fraction
    findings: tuple[Sure, ...]


def how_sure(
    job: Job,
    edition: Edition,
    draws: int = DRAWS,
    seed: int = 1,
    tell: Callable[[str], None] = lambda text: None,
) -> Answer:
    """How often each finding of the rules holds, where each measured length is off evenly within its tolerance.

    A draw rests on the seed and its own number alone. A 0 stays one: it is seen, not measured.  Raises UsageError where nothing
    was measured.
    """
    base = assess.assess(job, edition).deciding
    tolerance = edition[f"tolerance.length.{job.units}"].number
    drawn = list(_measured(job))
    if not drawn:
        raise UsageError(
            "Nothing was measured",
            "No length of this job comes from a tape.",
            fix="Enter what was measured, or leave out --sure.",
        )
    offs: list[list[float]] = []
    margins: dict[tuple[str, str, str, str], list[float | None]] = {}
    held: dict[tuple[str, str, str, str], int] = {}
    judge = assess.Judge(edition)
    for number in range(draws):
        tell(f"{number + 1:,} of {draws:,} draws")
        rng = Random(f"{seed}/{number}")
        off = {address: _even(rng, tolerance) for address, _ in drawn}
        offs.append([float(value) for value in off.values()])
        for finding in judge.assess(_moved(job, off, ())).deciding.findings:
            margins.setdefault(finding.key, [None] * draws)[number] = (
                float(finding.margin.value) if finding.margin else None
            )
            held[finding.key] = held.get(finding.key, 0) + _holds(finding)
    findings = [
        Sure(finding, held.get(finding.key, 0), tuple(_movers(margins.get(finding.key, []), offs, drawn)))
        for finding in base.findings
        if finding.kind == "rule" and finding.verdict in JUDGED
    ]
    findings.sort(key=lambda one: one.holds)
    return Answer(base.name, draws, seed, len(drawn), tolerance, tuple(findings))


def _even(rng: Random, tolerance: Fraction) -> Fraction:
    return Fraction(round(rng.uniform(-1, 1) * FINEST), FINEST) * tolerance


def _holds(finding: Finding) -> bool:
    """Would the fireplace meet the rule if its sizes were just these?"""
    if finding.verdict in JUDGED and finding.margin is not None:
        return finding.margin.value >= 0
    return finding.verdict is Verdict.MEETS


def _measured(job: Job) -> Iterator[tuple[str, FieldSpec]]:
    """The entries that a tape took: what was found, where it was measured, and is not 0; both sides of a size on their own."""
    if not job.about.measured:
        return
    for address, spec, value in entries(job):
        if address.startswith(("planned.", "site.")):
            continue
        if isinstance(value, Size):
            yield f"{address}.a", spec
            yield f"{address}.b", spec
        elif isinstance(value, Amount) and spec.kind == "length" and value.value:
            yield address, spec


def _moved(table: T, off: Mapping[str, Fraction], above: tuple[str, ...]) -> T:
    """A table of the record with lengths moved, by their addresses."""
    values: dict[str, Any] = {}
    for key in table.model_fields_set:
        value = getattr(table, key)
        here = (*above, key)
        if isinstance(value, Table):
            values[key] = _moved(value, off, here)
        elif isinstance(value, tuple) and value and isinstance(value[0], Table):
            called = names(value, type(value[0]))
            values[key] = tuple(
                _moved(thing, off, (*here, name)) for thing, name in zip(value, called, strict=True)
            )
        elif isinstance(value, Size):
            at = join_address(here)
            if f"{at}.a" in off:
                values[key] = replace(value, a=_off(value.a, off[f"{at}.a"]), b=_off(value.b, off[f"{at}.b"]))
        elif isinstance(value, Amount) and (by := off.get(join_address(here))) is not None:
            values[key] = _off(value, by)
    return with_values(table, values) if values else table


def _off(amount: Amount, by: Fraction) -> Amount:
    """A length that is off; one above 0 stays so, one below it too."""
    value = amount.value + by
    return replace(amount, value=value if (value > 0) == (amount.value > 0) else amount.value / 2)


def _movers(
    margins: list[float | None], offs: list[list[float]], drawn: list[tuple[str, FieldSpec]]
) -> Iterator[Mover]:
    """What moves a margin: of each entry the square of its correlation with the margin, which is its share of the variance where
    the margin follows the entries in straight lines. Its error is that of a correlation, 2 r (1 - r2) / sqrt(n).
    """
    rows = [(margin, off) for margin, off in zip(margins, offs, strict=False) if margin is not None]
    count = len(rows)
    if count < 3:
        return
    mean = sum(margin for margin, _ in rows) / count
    spread = sum((margin - mean) ** 2 for margin, _ in rows)
    if spread <= 1e-18 * (1 + mean * mean):
        return
    movers = []
    for place, (address, spec) in enumerate(drawn):
        middle = sum(off[place] for _, off in rows) / count
        square = sum((off[place] - middle) ** 2 for _, off in rows)
        both = sum((margin - mean) * (off[place] - middle) for margin, off in rows)
        share = both * both / (spread * square) if square else 0.0
        movers.append(Mover(address, spec.label, share, 2 * sqrt(share) * (1 - share) / sqrt(count)))
    movers.sort(key=lambda mover: -mover.share)
    yield from (mover for mover in movers[:MOST_TOLD] if mover.share > max(LEAST_SHARE, CHANCE / count))


# Told


def to_record(answer: Answer, job: Job, edition: Edition) -> dict[str, Any]:
    """How sure, as plain data."""
    return {
        **heading(FORMAT, VERSION, job, edition),
        "stage": answer.stage,
        "draws": answer.draws,
        "seed": answer.seed,
        "entries": answer.entries,
        "tolerance": {"value": float(answer.tolerance), "unit": "in"},
        "findings": [
            {
                "id": one.finding.id, "title": one.finding.title, "face": one.finding.face, "state": one.finding.state,
                "item": one.finding.item, "verdict": str(one.finding.verdict), "holds": one.holds,
                "movers": [
                    {"address": mover.address, "label": mover.label, "share": mover.share, "error": mover.error}
                    for mover in one.movers
                ],
            }
            for one in answer.findings
        ],
    }  # fmt: skip


def to_csv(answer: Answer) -> str:
    """A line for each finding and entry that moves it."""
    rows = []
    for one in answer.findings:
        f = one.finding
        of = [f.id, f.face or "", f.state or "", f.item or "", str(f.verdict), one.holds, answer.draws]
        moved = [[mover.address, f"{mover.share:.4f}", f"{mover.error:.4f}"] for mover in one.movers]
        rows += [[*of, *mover] for mover in moved or [["", "", ""]]]
    columns = ["finding", "face", "state", "item", "verdict", "holds", "draws", "entry", "share", "error"]
    return lines(columns, rows)


def text(answer: Answer, width: int, tolerance: str) -> str:
    """How sure, in words, what holds least often first. tolerance: as it is printed."""
    from textwrap import fill

    def line(words: str) -> str:
        return fill(words, width, subsequent_indent="   ")

    lines = [
        line(
            f"{answer.draws:,} draws of the {answer.stage} stage, each of the {answer.entries} measured lengths off by up to "
            f"{tolerance} either way, seed {answer.seed}. By the rules alone; weather and the models' constants are not drawn."
        ),
        "",
    ]
    always = [one for one in answer.findings if one.holds == answer.draws]
    for one in answer.findings:
        if one.holds < answer.draws:
            lines.append(line(_told(one, answer.draws)))
    lines.append(f"{len(always)} of {len(answer.findings)} findings hold in every draw.")
    return "\n".join(lines) + "\n"


def _told(one: Sure, draws: int) -> str:
    f = one.finding
    of = ", ".join(part for part in (f.face, f.item, f.state) if part)
    title = f"{f.title} ({of})" if of else f.title
    holds = f"{f.verdict}  {title} {_often(one.holds, draws)}"
    if not one.movers or not one.holds:
        return f"{holds}."
    first = one.movers[0]
    percent = round(first.share * 100)
    share = (
        f"{percent} % of the spread, give or take {max(1, round(first.error * 100))}"
        if percent < 100
        else "all of the spread"
    )
    name = f"{first.label[0].lower()}{first.label[1:]}"
    return (
        f"{holds}; the entry that matters most ({share}) is the {name}: measure it again ({first.address})."
    )


def _often(holds: int, draws: int) -> str:
    """So many of a hundred, never rounded to none or all."""
    if not holds:
        return "holds in no draw"
    if holds == draws:
        return "holds in every draw"
    share = holds * 100 / draws
    if share < 1:
        return "holds in fewer than 1 of 100"
    return "holds in more than 99 of 100" if share > 99 else f"holds in {round(share)} of 100"
