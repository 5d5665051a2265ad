"""How sure: every length that a tape took is off by chance within the tape's tolerance, and what rules and models say is asked each time.

For the models the weather of an hour and their constants are drawn too: what a person can measure again, and what nobody can.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from math import sqrt
from random import Random
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc import assess, figures
from hearthcalc.entry import Amount, Size
from hearthcalc.errors import UsageError
from hearthcalc.findings import Finding, StageResult, State, Verdict
from hearthcalc.job import Job, entries, parse_address, spec_of, with_amounts
from hearthcalc.many import Array, Many, arrays
from hearthcalc.models import draws as drafts
from hearthcalc.models import heat, lintel
from hearthcalc.models.ends import end_of
from hearthcalc.physics.leakage import wind_exceeded
from hearthcalc.physics.search import arrays_of, with_arrays
from hearthcalc.reference import Edition, Value, read_table
from hearthcalc.rules.case import Case, LinerElsewhere, NotKnown
from hearthcalc.rules.draft import UNKNOWN
from hearthcalc.rules.draft_inputs import draft_inputs
from hearthcalc.whatif.told import heading, lines
from hearthcalc.workers import each_of

FORMAT, VERSION = "hearthcalc-sure", 2
DRAWS = 10_000  # unless asked for others
MOST_DRAWS = 100_000  # which settle a share to a sixth of a percent, in ten times as long
TOGETHER = 2_000  # draws
DRAWS_BY_ONE = 250  # of the models of heat and steel, which take one fireplace at a time
FEW_BY_ONE = 25  # of them together
FINEST = 2**12  # parts of a range to either side that a draw is rounded to, so that it stays a short fraction
SHORT_FRACTION = 2**20  # parts of a wind, for the same
LEAST_SHARE = 0.02  # of the spread, below which an entry is not told
BEND = 3  # degree of the curve by which a margin may follow an input
CHANCE = 18  # over the draws: no share by chance is larger, but once in two thousand times (chi2 of three degrees of freedom)
MOST_TOLD = 3  # inputs of one kind and finding
MEASURED, WEATHER, CONSTANT = "measured", "weather", "constant"
KINDS = (MEASURED, WEATHER, CONSTANT)
Key = tuple[str, ...]
JUDGED = (Verdict.MEETS, Verdict.CLOSE, Verdict.SHORT)
DRAFTED = (
    "draft.face_velocity",
    "draft.no_flow",
    "draft.die_down",
    "draft.crossflow",
    "house.suction",
    "air.demand",
)
BY_ONE = ("heat.", "lintel.")
STANDS_STILL = ("draft.no_flow", "house.suction")  # no flow up the flue is in them
OF_THE_SIDES = ("garage", "house", "beyond_gaps")  # of what is not known, what those rest on
INSTEAD = {
    "draft.indoor": "site.indoor", "draft.outdoor": "site.outdoor", "draft.shelter": "site.shelter", "draft.fire.steady": "fire.power",
    "draft.neutral_per_storey": "air.neutral_level", "draft.ach50.tight": "air.airtightness",
    "draft.ach50.average": "air.airtightness", "draft.ach50.leaky": "air.airtightness",
}  # fmt: skip
"""Constants that stand in for an entry."""


class Input(Struct, frozen=True):
    """What is drawn. kind: of KINDS.  address: of the entry, or the key of the constant.  instead: an entry that would take its place.

    side: of a size.  amount: as entered; None of a constant.
    """

    kind: str
    address: str
    label: str
    side: tuple[str, ...] = ()
    amount: Amount | None = None
    instead: str = ""

    @property
    def path(self) -> tuple[str, ...]:
        return (*parse_address(self.address), *self.side)

    @property
    def name(self) -> str:
        return ".".join((self.address, *self.side))


class Mover(Struct, frozen=True):
    """An input that moves a margin. share: of the margin's variance, 0 to 1.  error: of that share, one standard error."""

    input: Input
    share: float
    error: float


class Sure(Struct, frozen=True):
    """How often a finding holds. finding: as it is without chance.  holds: of so many draws.  movers: the strongest first."""

    finding: Finding
    draws: int
    holds: int
    movers: tuple[Mover, ...]

    @property
    def error(self) -> float:
        """Of the share of draws in which it holds, one standard error."""
        share = self.holds / self.draws
        return sqrt(share * (1 - share) / self.draws)


class Answer(Struct, frozen=True):
    """What so many draws say of the deciding stage. inputs: what was drawn.  tolerance: of the lengths, inches.

    untold: findings of models that rest on more than is known, each with why; none gets a number.
    """

    stage: str
    draws: int
    seed: int
    inputs: tuple[Input, ...]
    tolerance: Fraction
    findings: tuple[Sure, ...]
    untold: tuple[tuple[Finding, str], ...]

    def count(self, kind: str) -> int:
        return sum(one.kind == kind for one in self.inputs)


def how_sure(
    job: Job,
    edition: Edition,
    draws: int = DRAWS,
    seed: int = 1,
    tell: Callable[[str], None] = lambda text: None,
    *,
    models: bool = True,
    workers: int | None = None,
) -> Answer:
    """How often each finding holds, where each measured length is off evenly within its tolerance.

    models: theirs too, for which the weather and the constants are drawn as well.  workers: processes that share the work, as many as the
    machine has unless given; the answer is the same.  A draw rests on the seed and its own number alone. A 0 stays one: it is seen,
    not measured.  Raises UsageError where nothing was measured.
    """
    base = assess.assess(job, edition)
    result = (assess.assess_models(job, edition, base) if models else base).deciding
    measured = list(_measured(job))
    if not measured:
        raise UsageError(
            "Nothing was measured",
            "No length of this job comes from a tape.",
            fix="Enter what was measured, or leave out --sure.",
        )
    told = [f for f in result.findings if f.kind == "rule" and f.verdict in JUDGED]
    judged, untold = _of_models(result)
    others = [*_weather(job), *_constants(job, edition, result, judged)] if judged else []
    inputs = (*measured, *others)
    work = _Work(job, edition, seed, tuple(measured), tuple(others), tuple(judged))
    found = work.done(draws, tell, workers)
    moving = _Movers(inputs, work.draws(0, draws))
    sure = []
    for finding in [*told, *judged]:
        margins = found[finding.key]
        movers = moving.of(margins, len(measured) if finding.kind == "rule" else len(inputs))
        sure.append(Sure(finding, len(margins), int((margins >= 0).sum()), tuple(movers)))
    sure.sort(key=lambda one: one.holds / one.draws)
    tolerance = edition[f"tolerance.length.{job.units}"].number
    return Answer(result.name, draws, seed, inputs, tolerance, tuple(sure), tuple(untold))


# What is drawn


def _measured(job: Job) -> Iterator[Input]:
    """The entries that a tape took: what was found, where it was measured, and is not 0; both sides of a size on their own."""
    if not job.about.measured:
        return
    for address, spec, value in entries(job):
        if address.startswith(("planned.", "site.")):
            continue
        if isinstance(value, Size):
            yield Input(MEASURED, address, spec.label, ("a",), value.a)
            yield Input(MEASURED, address, spec.label, ("b",), value.b)
        elif isinstance(value, Amount) and spec.kind == "length" and value.value:
            yield Input(MEASURED, address, spec.label, (), value)


def _weather(job: Job) -> Iterator[Input]:
    """The wind of an hour, where a mean is entered, and how cold it is outdoors."""
    site = job.site
    if site.wind is not None and site.wind.value:
        yield Input(WEATHER, "site.wind", spec_of("site.wind").label, amount=site.wind)
    if site.outdoor is not None:
        yield Input(WEATHER, "site.outdoor", spec_of("site.outdoor").label, amount=site.outdoor)
    else:
        yield Input(WEATHER, "draft.outdoor", spec_of("site.outdoor").label, instead="site.outdoor")


class _Noted(dict[str, Value]):
    """The values of an edition, which remember what was asked for."""

    def __init__(self, values: Mapping[str, Value]) -> None:
        super().__init__(values)
        self.asked: set[str] = set()

    def __getitem__(self, key: str) -> Value:
        self.asked.add(key)
        return super().__getitem__(key)


def _constants(job: Job, edition: Edition, result: StageResult, judged: Sequence[Finding]) -> Iterator[Input]:
    """The constants that the figures of some findings follow from and that have a range."""
    noted = _Noted(edition.values)
    heard = replace(edition, values=noted)
    case = assess.case_of(job, heard)
    if any(one.id in DRAFTED for one in judged):
        inputs = draft_inputs(case)
        noted.asked.clear()
        for state in result.states:
            if state.open:
                drafts.margins(inputs, state.open, heard, 1)
    own = {*heat.HOTTER, *(key for group in lintel.WORSE.values() for key in group)}
    asked = {key for key in noted.asked if key.startswith("draft.")} - {"draft.outdoor", *drafts.HELD_AGAINST}
    if any(one.id.startswith(BY_ONE) for one in judged):
        noted.asked.clear()
        assess.of_models(case, *BY_ONE)
        asked |= {key for key in noted.asked if key in own or key.startswith("draft.fire.")}
    for key in sorted(asked):
        value = edition[key]
        if value.quantity is not None and end_of(value, "low") < end_of(value, "high"):
            yield Input(CONSTANT, key, value.title, instead=INSTEAD.get(key, ""))


def _of_models(result: StageResult) -> tuple[list[Finding], list[tuple[Finding, str]]]:
    """The findings of models whose figure follows from what is known, and those that rest on more, with why."""
    states = {state.name: state for state in result.states}
    no_wall = {f.face for f in result.findings if f.id == "lintel.load" and f.verdict is Verdict.REFER}
    judged, untold = [], []
    for finding in result.findings:
        if (
            finding.kind != "model"
            or finding.margin is None
            or not finding.id.startswith((*DRAFTED, *BY_ONE))
        ):
            continue
        if finding.id in DRAFTED:
            why = _not_known(finding, states[finding.state or ""])
        elif finding.id.startswith("lintel.") and (finding.face in no_wall or _held(finding)):
            why = "what carries it is for an engineer to say"
        else:
            why = ""
        if why:
            untold.append((finding, why))
        else:
            judged.append(finding)
    return judged, untold


def _not_known(finding: Finding, state: State) -> str:
    """What of a state's draft is not known that a finding rests on."""
    assert state.draft is not None
    names = [*state.draft.unknown]
    if finding.id == "draft.no_flow" and not state.draft.main.house_known and "house" not in names:
        names.append("house")
    return "; ".join(
        UNKNOWN[name] for name in names if finding.id not in STANDS_STILL or name in OF_THE_SIDES
    )


def _held(finding: Finding) -> bool:
    """Is a finding of the most that may be referred although the whole of its band is within it?"""
    assert finding.required is not None and finding.found is not None
    most = finding.band.high if finding.band else finding.found.value
    return most <= finding.required.value and finding.verdict is not Verdict.MEETS  # type: ignore[operator]


# The draws


class _Work(Struct, frozen=True):
    """All that the draws of one job follow from. models: the findings that are drawn of them."""

    job: Job
    edition: Edition
    seed: int
    measured: tuple[Input, ...]
    others: tuple[Input, ...]
    models: tuple[Finding, ...]

    def done(self, draws: int, tell: Callable[[str], None], workers: int | None) -> dict[Key, Array]:
        """The margins of each finding, draw by draw, NaN or below 0 where it does not hold."""
        np = arrays()
        tasks = [(self._together, first, min(first + TOGETHER, draws)) for first in range(0, draws, TOGETHER)]
        if any(one.id.startswith(BY_ONE) for one in self.models):
            last = min(draws, DRAWS_BY_ONE)
            tasks += [
                (self._one_by_one, first, min(first + FEW_BY_ONE, last))
                for first in range(0, last, FEW_BY_ONE)
            ]
        many = workers or (os.cpu_count() or 1 if self.models else 1)
        parts: dict[Key, list[Array]] = {}
        for number, made in enumerate(each_of(_call, tasks, many), 1):
            tell(f"{number:,} of {len(tasks):,} parts of {draws:,} draws")
            for key, margin in made.items():
                parts.setdefault(key, []).append(margin)
        return {key: np.concatenate(each) for key, each in parts.items()}

    def draws(self, first: int, stop: int) -> Array:
        """How far each input is off in some draws, in parts of its range."""
        count = len(self.measured) + len(self.others)
        return arrays().array([_draw(self.seed, number, count) for number in range(first, stop)])

    def _columns(self, offs: Array, inputs: Sequence[Input]) -> dict[tuple[str, ...], figures.Column]:
        """The entries of some draws. offs: of these inputs."""
        return {
            one.path: _column(one.amount, off, self._moved(one, one.amount))
            for one, off in zip(inputs, offs.T.tolist(), strict=True)
            if one.amount is not None
        }

    def _moved(self, one: Input, amount: Amount) -> Callable[[int], Fraction]:
        """What an entry is by how many parts of its range it is off."""
        if one.kind == MEASURED:
            return _taped(amount.value, self.edition[f"tolerance.length.{self.job.units}"].number)
        if one.address == "site.outdoor":
            far = self.edition["draft.season"].number
            return lambda part: amount.value + far * Fraction(part, FINEST)
        return self._wind(float(amount.value))

    def _wind(self, mean: float) -> Callable[[int], Fraction]:
        table = read_table(self.edition.folder, self.edition["draft.wind"].table)
        ratios = {float(row["percent_of_hours"]): float(row["wind_over_mean"]) for row in table.rows}

        def wind(part: int) -> Fraction:
            exceeded = 50 * (1 - part / FINEST)
            return Fraction(
                round(float(wind_exceeded(mean, exceeded, ratios)) * SHORT_FRACTION), SHORT_FRACTION
            )

        return wind

    def _edition(self, parts: Mapping[str, Any]) -> Edition:
        """The edition with its constants off by parts of their ranges. parts: by key, a number or many."""
        values = {}
        for key, part in parts.items():
            value = self.edition[key]
            low, high = end_of(value, "low"), end_of(value, "high")
            assert value.quantity is not None
            number = (part + FINEST) * ((high - low) / (2 * FINEST)) + low
            values[key] = replace(value, quantity=replace(value.quantity, number=number))
        return replace(self.edition, values={**self.edition.values, **values})

    def _parts(self, offs: Array) -> dict[str, Array]:
        """How far the constants are off, by key."""
        each = zip(self.others, offs.T[len(self.measured) :], strict=False)
        return {one.address: off for one, off in each if one.amount is None}

    def _together(self, first: int, stop: int) -> dict[Key, Array]:
        """What rules and the draft say of some draws, by arrays."""
        np = arrays()
        offs, count = self.draws(first, stop), stop - first
        ends = len(self.measured)
        columns = self._columns(offs[:, :ends], self.measured)
        answers = figures.judge(self.job, columns, count, self.edition)
        made: dict[Key, Array] = {}
        for (*key, _), answer in list(answers.stages.values())[-1].items():
            made.setdefault(tuple(key), _margin(answer))
        if not any(one.id in DRAFTED for one in self.models):
            return made
        for one in self.models:
            if one.id in DRAFTED:
                made[one.key] = np.full(count, np.nan)
        columns |= self._columns(offs[:, ends:], self.others)
        parts = self._parts(offs)
        for rows, theirs, inputs in figures.worked_out(self.job, columns, count, self.edition, _inputs):
            if inputs is None:
                continue
            of_rows, states = inputs
            of_rows = with_arrays(of_rows, [array[theirs] for array in arrays_of(of_rows)])
            edition = self._edition({key: Many(part[rows]) for key, part in parts.items()})
            for state in states:
                for (of, face), margin in drafts.margins(of_rows, state.open, edition, len(rows)).items():
                    mine = (of, face, state.name, "")
                    if mine in made:
                        made[mine][rows] = margin
        return made

    def _one_by_one(self, first: int, stop: int) -> dict[Key, Array]:
        """What the models of heat and steel say of some draws."""
        np = arrays()
        offs = self.draws(first, stop)
        made: dict[Key, Array] = {}
        for one in self.models:
            if one.id.startswith(BY_ONE):
                made[one.key] = np.full(stop - first, np.nan)
        columns, parts = self._columns(offs, (*self.measured, *self.others)), self._parts(offs)
        for row in range(stop - first):
            job = with_amounts(self.job, {path: one.amounts[one.which[row]] for path, one in columns.items()})
            edition = self._edition({key: int(part[row]) for key, part in parts.items()})
            for finding in assess.of_models(assess.case_of(job, edition), *BY_ONE):
                if finding.key in made and finding.margin is not None:
                    made[finding.key][row] = float(finding.margin.value)
        return made


def _call(task: tuple[Callable[[int, int], dict[Key, Array]], int, int]) -> dict[Key, Array]:
    work, first, stop = task
    return work(first, stop)


def _inputs(case: Case) -> tuple[Any, tuple[State, ...]] | None:
    """What the draft model needs of a case, and the states that are drawn; None where that is not known."""
    try:
        return draft_inputs(case), tuple(state for state in case.states if state.open)
    except (NotKnown, LinerElsewhere):
        return None


def _draw(seed: int, number: int, inputs: int) -> list[int]:
    """How far each input is off in one draw, in parts of its range."""
    rng = Random(f"{seed}/{number}")
    return [int(rng.random() * (2 * FINEST + 1)) - FINEST for _ in range(inputs)]


def _margin(answer: figures.Answer) -> Array:
    """How far the fireplace would be on the right side of a rule if its sizes were just these, by draws; NaN where that is no number."""
    np = arrays()
    ranks = [figures.RANKS[verdict] for verdict in JUDGED]
    by_margin = np.isin(answer.verdict, ranks) & ~np.isnan(answer.margin)
    return np.where(
        by_margin, answer.margin, np.where(answer.verdict == figures.RANKS[Verdict.MEETS], np.inf, -np.inf)
    )


def _column(amount: Amount, off: Sequence[int], moved: Callable[[int], Fraction]) -> figures.Column:
    """An entry that is off by so many parts of its range, draw by draw. moved: what it then is."""
    number = {part: place for place, part in enumerate(dict.fromkeys(off))}
    amounts = tuple(replace(amount, value=moved(part)) for part in number)
    return figures.Column(amounts, arrays().array([number[part] for part in off]))


def _taped(value: Fraction, tolerance: Fraction) -> Callable[[int], Fraction]:
    """A length by how many parts of the tolerance it is off; one above 0 stays so, one below it too."""

    def taped(part: int) -> Fraction:
        moved = value + Fraction(part, FINEST) * tolerance
        return moved if (moved > 0) == (value > 0) else value / 2

    return taped


class _Movers:
    """What moves margins. offs: of the inputs, draw by draw, in parts of their ranges."""

    def __init__(self, inputs: Sequence[Input], offs: Array) -> None:
        self._inputs = inputs
        self._offs = offs
        self._whole: dict[int, list[Array]] = {}

    def of(self, margins: Array, among: int) -> Iterator[Mover]:
        """The strongest first, so many of each kind. among: so many of the inputs, from the first one.

        The share of an input is what a curve of a low degree in it alone takes up of the variance of the margins, which are those of
        the first draws. Its error is that of a squared correlation, 2 r (1 - r2) / sqrt(n).
        """
        np = arrays()
        there = np.isfinite(margins)
        count = int(there.sum())
        if count <= CHANCE:
            return
        margin = margins[there] - margins[there].mean()
        spread = (margin**2).sum()
        if spread <= 1e-18 * (count + (margins[there] ** 2).sum()):
            return
        curves = self._curves(there)[:among]
        shares = np.array([((curve.T @ margin) ** 2).sum() / spread for curve in curves])
        left = dict.fromkeys(KINDS, MOST_TOLD)
        for place in np.argsort(-shares, kind="stable").tolist():
            share, one = min(float(shares[place]), 1.0), self._inputs[place]
            if share > max(LEAST_SHARE, CHANCE / count) and left[one.kind]:
                left[one.kind] -= 1
                yield Mover(one, share, 2 * sqrt(share) * (1 - share) / sqrt(count))

    def _curves(self, there: Array) -> list[Array]:
        """Of each input, curves that have nothing of each other and of a constant in them, over some of the draws."""
        count = len(there)
        if not there.all():
            return self._made(self._offs[:count][there])
        if count not in self._whole:
            self._whole[count] = self._made(self._offs[:count])
        return self._whole[count]

    def _made(self, offs: Array) -> list[Array]:
        np = arrays()
        powers = (np.polynomial.legendre.legvander(off / FINEST, BEND) for off in offs.T)
        return [np.linalg.qr(power)[0][:, 1:] for power in powers]


# Told


def to_record(answer: Answer, job: Job, edition: Edition) -> dict[str, Any]:
    """How sure, as plain data."""
    return {
        **heading(FORMAT, VERSION, job, edition),
        "stage": answer.stage,
        "draws": answer.draws,
        "seed": answer.seed,
        "inputs": {kind: answer.count(kind) for kind in KINDS},
        "tolerance": {"value": float(answer.tolerance), "unit": "in"},
        "findings": [
            {
                **_named(one.finding), "draws": one.draws, "holds": one.holds, "error": one.error,
                "movers": [
                    {
                        "kind": mover.input.kind, "address": mover.input.name, "label": mover.input.label,
                        "instead": mover.input.instead or None, "share": mover.share, "error": mover.error,
                    }
                    for mover in one.movers
                ],
            }
            for one in answer.findings
        ],
        "untold": [{**_named(finding), "why": why} for finding, why in answer.untold],
    }  # fmt: skip


def _named(finding: Finding) -> dict[str, Any]:
    return {
        "id": finding.id, "title": finding.title, "kind": finding.kind, "face": finding.face, "state": finding.state,
        "item": finding.item, "verdict": str(finding.verdict),
    }  # fmt: skip


def to_csv(answer: Answer) -> str:
    """A line for each finding and input that moves it."""
    rows = []
    for one in answer.findings:
        f = one.finding
        of = [f.id, f.face or "", f.state or "", f.item or "", str(f.verdict), one.holds, one.draws]
        moved = [
            [mover.input.name, mover.input.kind, f"{mover.share:.4f}", f"{mover.error:.4f}"]
            for mover in one.movers
        ]
        rows += [[*of, *mover] for mover in moved or [["", "", "", ""]]]
    columns = [
        "finding",
        "face",
        "state",
        "item",
        "verdict",
        "holds",
        "draws",
        "entry",
        "kind",
        "share",
        "error",
    ]
    return lines(columns, rows)


def text(answer: Answer, width: int, tolerance: str) -> str:
    """How sure, in words, what holds least often first. tolerance: as it is printed."""
    from textwrap import fill

    def line(words: str) -> str:
        return fill(words, width, subsequent_indent="   ")

    lines = [*map(line, _drawn(answer, tolerance)), ""]
    always = sum(one.holds == one.draws for one in answer.findings)
    lines += [line(told(one)) for one in answer.findings if one.holds < one.draws]
    lines.append(f"{always} of {len(answer.findings)} findings hold in every draw.")
    if answer.untold:
        lines += ["", "No number for what rests on more than is known:"]
        lines += [line(f"{finding.verdict}  {_title(finding)}: {why}.") for finding, why in answer.untold]
    return "\n".join(lines) + "\n"


def _drawn(answer: Answer, tolerance: str) -> Iterator[str]:
    """What the draws are of, in sentences."""
    yield (
        f"{answer.draws:,} draws of the {answer.stage} stage, each of the {answer.count(MEASURED)} measured lengths off by up to "
        f"{tolerance} either way, seed {answer.seed}."
    )
    if not answer.count(WEATHER):
        yield "By the rules alone: weather and the models' constants are not drawn."
        return
    drawn = {one.address for one in answer.inputs}
    wind = (
        "the wind of any hour of the year, around the mean entered"
        if "site.wind" in drawn
        else "no wind, as no mean is entered (site.wind)"
    )
    cold = (
        "warmer and colder days than the one entered"
        if "site.outdoor" in drawn
        else "outdoors as cold as is usual"
    )
    yield (
        f"For the models, the weather too: {wind}, and {cold}. And {answer.count(CONSTANT)} constants of the models, "
        "each anywhere in its usual range."
    )
    fewer = min((one.draws for one in answer.findings), default=answer.draws)
    if fewer < answer.draws:
        yield f"The models of heat and steel get {fewer} draws, as they are slow."


def told(one: Sure) -> str:
    """How often a finding holds and what matters most to it, in a sentence."""
    error = round(one.error * 100)
    give = f", give or take {error}" if error and 0 < one.holds < one.draws else ""
    holds = f"{one.finding.verdict}  {_title(one.finding)} {often(one.holds, one.draws)}{give}"
    if not one.movers or not one.holds:
        return f"{holds}."
    first = one.movers[0]
    said = f"{holds}; what matters most is the {_label(first)} ({_share(first)}): {_todo(first.input)}."
    again = next((mover for mover in one.movers if mover.input.kind == MEASURED), None)
    if again is not None and again is not first:
        said += f" Of what a tape can settle, that is the {_label(again)} ({_share(again)}): {_todo(again.input)}."
    return said


def _label(mover: Mover) -> str:
    label = mover.input.label
    return f"{label[0].lower()}{label[1:]}"


def _share(mover: Mover) -> str:
    percent = round(mover.share * 100)
    if percent == 100:
        return "all of the spread"
    return f"{percent} % of the spread, give or take {max(1, round(mover.error * 100))}"


def _todo(one: Input) -> str:
    """What a person can do about an input."""
    if one.kind == MEASURED:
        return f"measure it again ({one.name})"
    if one.instead:
        return f"enter it if you can find it out ({one.instead})"
    if one.kind == WEATHER:
        return "no tape settles the weather"
    return f"no tape settles it, it is a constant of the model ({one.address})"


def _title(finding: Finding) -> str:
    of = ", ".join(part for part in (finding.face, finding.item, finding.state) if part)
    return f"{finding.title} ({of})" if of else finding.title


def often(holds: int, draws: int) -> str:
    """So many of a hundred, never rounded to none or all."""
    if not holds:
        return "holds in no draw"
    if holds == draws:
        return "holds in every draw"
    share = holds * 100 / draws
    if share < 1:
        return "holds in fewer than 1 of 100"
    return "holds in more than 99 of 100" if share > 99 else f"holds in {round(share)} of 100"
