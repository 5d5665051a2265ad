"""How sure: every length that a tape took is off by chance within the tape's tolerance, and the rules are asked each time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import sqrt
from random import Random
from typing import Any

from hearthcalc import assess, figures
from hearthcalc.entry import Amount, FieldSpec, Size
from hearthcalc.errors import UsageError
from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import Job, entries, parse_address
from hearthcalc.many import Array, arrays
from hearthcalc.reference import Edition
from hearthcalc.whatif.told import heading, lines

FORMAT, VERSION = "hearthcalc-sure", 1
DRAWS = 10_000  # unless asked for others
TOGETHER = 2_000  # draws
FINEST = 2**12  # parts of the tolerance that a draw is rounded to, so that it stays a short fraction
LEAST_SHARE = 0.02  # of the spread, below which an entry is not told
CHANCE = 12  # over the draws: no share by chance is larger, but once in two thousand times (chi2 of one degree of freedom)
MOST_TOLD = 3  # entries of one finding
Drawn = tuple[str, tuple[str, ...], FieldSpec, Amount]  # the address, its side, what it is, as measured
Key = tuple[str, ...]
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
    np = arrays()
    offs = np.array([_draw(seed, number, len(drawn)) for number in range(draws)])
    margins: dict[Key, Array] = {}
    holds: dict[Key, Array] = {}
    for first in range(0, draws, TOGETHER):
        here = slice(first, min(first + TOGETHER, draws))
        tell(f"{here.stop:,} of {draws:,} draws")
        columns = {
            (*parse_address(address), *side): _column(amount, off, tolerance)
            for (address, side, _, amount), off in zip(drawn, offs[here].T.tolist(), strict=True)
        }
        answers = figures.judge(job, columns, here.stop - first, edition)
        for (*key, _), answer in list(answers.stages.values())[-1].items():
            margins.setdefault(tuple(key), np.full(draws, np.nan))[here] = answer.margin
            holds.setdefault(tuple(key), np.zeros(draws, np.bool_))[here] = _holds(answer)
    found = [
        Sure(finding, int(holds[finding.key].sum()), tuple(_movers(margins[finding.key], offs, drawn)))
        for finding in base.findings
        if finding.kind == "rule" and finding.verdict in JUDGED
    ]
    found.sort(key=lambda one: one.holds)
    return Answer(base.name, draws, seed, len(drawn), tolerance, tuple(found))


def _draw(seed: int, number: int, entries: int) -> list[int]:
    """How far each entry is off in one draw, in parts of the tolerance."""
    rng = Random(f"{seed}/{number}")
    return [round(rng.uniform(-FINEST, FINEST)) for _ in range(entries)]


def _holds(answer: figures.Answer) -> Array:
    """Would the fireplace meet the rule if its sizes were just these? By draws."""
    np = arrays()
    ranks = [figures.RANKS[verdict] for verdict in JUDGED]
    by_margin = np.isin(answer.verdict, ranks) & ~np.isnan(answer.margin)
    return np.where(by_margin, answer.margin >= 0, answer.verdict == figures.RANKS[Verdict.MEETS])


def _measured(job: Job) -> Iterator[Drawn]:
    """The entries that a tape took: what was found, where it was measured, and is not 0; both sides of a size on their own."""
    if not job.about.measured:
        return
    for address, spec, value in entries(job):
        if address.startswith(("planned.", "site.")):
            continue
        if isinstance(value, Size):
            yield address, ("a",), spec, value.a
            yield address, ("b",), spec, value.b
        elif isinstance(value, Amount) and spec.kind == "length" and value.value:
            yield address, (), spec, value


def _column(amount: Amount, off: Sequence[int], tolerance: Fraction) -> figures.Column:
    """A length that is off by so many parts of the tolerance, draw by draw; one above 0 stays so, one below it too."""
    number = {part: place for place, part in enumerate(dict.fromkeys(off))}
    moved = (amount.value + Fraction(part, FINEST) * tolerance for part in number)
    amounts = tuple(
        replace(amount, value=value if (value > 0) == (amount.value > 0) else amount.value / 2)
        for value in moved
    )
    return figures.Column(amounts, arrays().array([number[part] for part in off]))


def _movers(margins: Array, offs: Array, drawn: Sequence[Drawn]) -> Iterator[Mover]:
    """What moves a margin: of each entry the square of its correlation with the margin, which is its share of the variance where
    the margin follows the entries in straight lines. Its error is that of a correlation, 2 r (1 - r2) / sqrt(n).
    """
    np = arrays()
    there = ~np.isnan(margins)
    count = int(there.sum())
    if count < 3:
        return
    mean = margins[there].mean()
    margin, off = margins[there] - mean, offs[there] - offs[there].mean(axis=0)
    spread = (margin**2).sum()
    if spread <= 1e-18 * (1 + mean * mean):
        return
    squares = (off**2).sum(axis=0)
    shares = np.where(squares, (margin @ off) ** 2 / (spread * np.where(squares, squares, 1)), 0.0)
    for place in np.argsort(-shares, kind="stable")[:MOST_TOLD].tolist():
        share = float(shares[place])
        if share > max(LEAST_SHARE, CHANCE / count):
            address, side, spec, _ = drawn[place]
            error = 2 * sqrt(share) * (1 - share) / sqrt(count)
            yield Mover(".".join((address, *side)), spec.label, share, error)


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
