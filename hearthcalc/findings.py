"""What an assessment is made of: frozen, and unable to contradict itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from msgspec import Struct, field
from msgspec.structs import force_setattr

from hearthcalc.many import Many

if TYPE_CHECKING:
    from hearthcalc.models.results import Draft, Models

Number = Fraction | float | int

Kind = Literal["rule", "model", "advice"]

STANDINGS = (
    "published",
    "second-hand",
    "from memory",
    "common practice",
    "disputed",
    "policy",
    "assumption",
    "edited here",
)


class Verdict(StrEnum):
    """The five answers, from the best to the worst."""

    MEETS = "MEETS"
    CLOSE = "CLOSE"
    REFER = "REFER"
    MEASURE = "MEASURE"
    SHORT = "SHORT"

    @property
    def sign(self) -> str:
        """One character of plain text that stands for the verdict beside its word."""
        return {"MEETS": "+", "CLOSE": "~", "REFER": ">", "MEASURE": "?", "SHORT": "-"}[self.value]


_RANK = {verdict: rank for rank, verdict in enumerate(Verdict)}


def worst(verdicts: Iterable[Verdict]) -> Verdict | None:
    """The worst of some verdicts: SHORT, then MEASURE, REFER, CLOSE, MEETS; None of none."""
    return max(verdicts, key=_RANK.__getitem__, default=None)


class Bound(Struct, frozen=True):
    """One side of a comparison, in the unit of its source; value None where words alone can say it."""

    op: str
    value: Number | None
    unit: str
    text: str


class Margin(Struct, frozen=True):
    """By how much a limit is met (positive) or missed (negative), and that in percent of the limit."""

    value: Number
    unit: str
    percent: Number | None


class Band(Struct, frozen=True):
    """The range that the uncertain constants of a model make of its figure, in the figure's unit."""

    low: Number
    high: Number
    unit: str
    text: str


class Step(Struct, frozen=True):
    """One line of working: symbol = expression = numbers = value unit."""

    symbol: str
    expression: str
    numbers: str
    value: Number | None
    unit: str
    text: str = ""

    def line(self) -> str:
        """The step as a person reads it."""
        return " = ".join(part for part in (self.symbol, self.expression, self.numbers, self.text) if part)


class Basis(Struct, frozen=True):
    """One reference value that a finding rests on."""

    key: str
    title: str
    value: str
    unit: str
    source: str
    clause: str
    edition: str
    standing: str
    note: str = ""

    def __post_init__(self) -> None:
        if self.standing not in STANDINGS:
            raise ValueError(f"{self.key}: no such standing: {self.standing!r}")


class Finding(Struct, frozen=True):
    """The answer to one question, with all that it rests on.

    text: the answer in plain words.  missing: addresses of the entries it waits for.  margin: follows from required and found.
    band: of a model's figure.
    A verdict that contradicts its own figures cannot be built: ValueError.
    """

    id: str
    title: str
    kind: Kind
    subject: str
    verdict: Verdict
    text: str
    counts: bool = True
    face: str | None = None
    state: str | None = None
    item: str | None = None
    required: Bound | None = None
    found: Bound | None = None
    margin: Margin | None = None
    tolerance: Margin | None = None
    band: Band | None = None
    working: tuple[Step, ...] = ()
    basis: tuple[Basis, ...] = ()
    remedy: tuple[str, ...] = ()
    caution: str | None = None
    missing: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.kind == "advice" and self.counts:
            raise ValueError(f"{self.id}: advice never counts")
        if (self.verdict is Verdict.MEASURE) != bool(self.missing):
            raise ValueError(
                f"{self.id}: MEASURE names what is missing, and nothing else does: {self.missing}"
            )
        margin = _margin(self.required, self.found)
        force_setattr(self, "margin", margin)
        if margin is None:
            return
        if (
            (self.verdict is Verdict.MEETS and margin.value < 0)
            or (self.verdict is Verdict.SHORT and margin.value >= 0)
            or (
                self.verdict is Verdict.CLOSE
                and margin.value < (-self.tolerance.value if self.tolerance else 0)
            )
            or self.verdict is Verdict.MEASURE
        ):
            raise ValueError(f"{self.id}: {self.verdict} with a margin of {margin.value}")

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What tells this finding from the others of its stage."""
        return (self.id, self.face or "", self.state or "", self.item or "")


def _margin(required: Bound | None, found: Bound | None) -> Margin | None:
    """By how much a figure is on the right side of its limit."""
    if required is None or found is None or required.value is None or found.value is None:
        return None
    margin = found.value - required.value if required.op == ">=" else required.value - found.value
    return Margin(margin, required.unit, _percent(margin, required.value) if required.value else None)


def _percent(part: Number, whole: Number) -> Number:
    """The nearest float; of many rows one for each."""
    if (
        type(part) is Fraction and type(whole) is Fraction
    ):  # in whole numbers: the same, without a fraction on the way
        return part.numerator * whole.denominator * 100 / (part.denominator * whole.numerator)
    percent = part / whole * 100
    return percent if isinstance(percent, Many) else float(percent)


class State(Struct, frozen=True):
    """One way in which the fireplace can be used: which faces are open, and what then stands against the flue.

    Areas in in2, exact; None where they are not known.  draft: what the draft model makes of it, None before it was heard.
    """

    name: str
    open: tuple[str, ...]
    opening_area: Fraction | None
    flue_area: Fraction | None
    counts: bool
    overall: Verdict | None = None
    draft: Draft | None = None

    def __hash__(self) -> int:
        """By its name: a key for what was made of it, looked up for each rule."""
        return hash(self.name)

    @property
    def ratio(self) -> Fraction | None:
        """Opening over flue."""
        if self.opening_area is None or not self.flue_area:
            return None
        return self.opening_area / self.flue_area


class Measure(Struct, frozen=True):
    """One line of the site list: an entry still to be measured, how, and what waits for it."""

    address: str
    label: str
    how: str
    waits: tuple[str, ...]
    unread: str = ""


class Covered(Struct, frozen=True):
    """How many clauses of an edition are listed, and how many of them a stage was judged by."""

    listed: int
    judged: int


class StageResult(Struct, frozen=True):
    """All that is found of one stage, as found or as planned.

    resistances: of the layers of each hearth, m2.K/W, by face; None of a layer that is not known.
    models: what those of heat and steel say, None before they were heard.  left_out: questions that the job does not ask.
    covered: how much of the edition was judged, None where its clauses are not listed.
    """

    name: str
    findings: tuple[Finding, ...]
    states: tuple[State, ...]
    measure: tuple[Measure, ...]
    resistances: Mapping[str, tuple[Fraction | None, ...]] = field(default_factory=dict)
    models: Models | None = None
    left_out: tuple[str, ...] = ()
    covered: Covered | None = None

    @property
    def overall(self) -> Verdict:
        """The worst verdict of the findings that count; MEASURE where nothing could be judged."""
        return worst(f.verdict for f in self.findings if f.counts) or Verdict.MEASURE

    @property
    def counts(self) -> dict[str, int]:
        """How many of the findings that count have each verdict, the worst first; none left out of the sum."""
        tally = dict.fromkeys(reversed(Verdict), 0)
        for finding in self.findings:
            if finding.counts:
                tally[finding.verdict] += 1
        return {str(verdict): number for verdict, number in tally.items() if number}


class Assessment(Struct, frozen=True):
    """A job judged by an edition. stages: "found", and "planned" where work is planned.

    edited: keys of amended values.  amended_for: the place whose amendments are among them, "" for none.
    """

    title: str
    job_fingerprint: str
    edition_id: str
    edition_title: str
    edition_fingerprint: str
    edited: tuple[str, ...]
    cautions: tuple[str, ...]
    stages: Mapping[str, StageResult]
    notes: tuple[str, ...] = ()
    amended_for: str = ""

    @property
    def deciding(self) -> StageResult:
        """The stage whose verdict decides the exit code: planned, where there is one."""
        return self.stages.get("planned") or self.stages["found"]


class Pair(Struct, frozen=True):
    """One question answered twice: by two editions, before and after a change, as found and as planned."""

    first: Finding | None
    second: Finding | None

    @property
    def differs(self) -> bool:
        """Is the verdict or the limit another."""
        if self.first is None or self.second is None:
            return True
        asked = [(f.verdict, f.required.text if f.required else f.text) for f in (self.first, self.second)]
        return asked[0] != asked[1]

    @property
    def either(self) -> Finding:
        """The finding that names the question."""
        finding = self.first or self.second
        assert finding is not None
        return finding


def side_by_side(first: Iterable[Finding], second: Iterable[Finding]) -> list[Pair]:
    """The findings of two assessments, question by question: what differs first, in the order of the first."""
    left, right = ({finding.key: finding for finding in findings} for findings in (first, second))
    pairs = [Pair(left.get(key), right.get(key)) for key in dict.fromkeys([*left, *right])]
    return sorted(pairs, key=lambda pair: not pair.differs)
