"""What a rule is given, and how it turns an answer into a finding."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache
from typing import Any, Literal, Protocol

from hearthcalc import lengths, quantities
from hearthcalc.findings import Basis, Bound, Finding, Kind, Margin, State, Step, Verdict
from hearthcalc.job import Amount, Face, Job, Nearby, Roof, Stage, join_address, parse_address, spec_of
from hearthcalc.lengths import Op
from hearthcalc.models.results import Models
from hearthcalc.reference import Edition, Silent, Value
from hearthcalc.rules.reading import Comparison, Reading, at_least, at_most

Each = Literal["job", "face", "state", "nearby", "roof"]
Result = Finding | Iterable[Finding] | None
Path = tuple[str, ...]
Printer = Callable[..., str]


class NotKnown(Exception):  # noqa: N818 - not a mistake: a measurement is still to be taken
    """Entries that a rule needs are missing or cannot be read. missing: their addresses."""

    def __init__(self, missing: Sequence[str]) -> None:
        super().__init__(", ".join(missing))
        self.missing = tuple(missing)


class LinerElsewhere(Exception):  # noqa: N818 - the size is known, but not to this edition
    """A nominal flue size that only other editions' tables hold."""

    def __init__(self, size: str, editions: tuple[str, ...]) -> None:
        super().__init__(size)
        self.size = size
        self.editions = editions


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule as the registry holds it.

    masonry: it speaks of site-built masonry, so a listing overrides it.  asks: the reference value without which an edition
    has no answer to it, "" where it needs none.
    """

    id: str
    title: str
    subject: str
    each: Each
    kind: Kind
    masonry: bool
    asks: str
    tell: Callable[..., Result]


class Telling(Protocol):
    def __call__(self, case: Case, /, *args: Any) -> Result: ...


RULES: dict[str, Rule] = {}


def rule(
    id: str,
    title: str,
    *,
    each: Each = "job",
    kind: Kind = "rule",
    masonry: bool = True,
    asks: str | None = None,
) -> Callable[[Callable[..., Result]], Callable[..., Result]]:
    """Enter a telling function in the registry under its finding id.

    Its subject is the id's first word, and the value it asks for is that of the same name, unless asks names another.
    """

    def enter(tell: Callable[..., Result]) -> Callable[..., Result]:
        RULES[id] = Rule(id, title, id.split(".")[0], each, kind, masonry, id if asks is None else asks, tell)
        return tell

    return enter


@dataclass(frozen=True)
class Case:
    """One stage of a job before one edition.

    found: the job as found, which a missing entry is named by.  models: what those of heat and steel made of it, for their rules.
    """

    stage: Stage
    found: Job
    edition: Edition
    states: tuple[State, ...] = ()
    unread: Mapping[str, str] = field(default_factory=dict)
    models: Models = field(default_factory=Models)
    rule: Rule | None = None

    @property
    def job(self) -> Job:
        return self.stage.job

    @property
    def planned(self) -> bool:
        return self.stage.name == "planned"

    @property
    def unit(self) -> lengths.Unit:
        """The unit that this job is printed in."""
        unit: lengths.Unit = self.job.units
        return unit

    def face(self, name: str) -> Face:
        return next(face for face in self.job.face if face.name == name)

    def tolerance(self) -> Fraction:
        """What a measured length may be off, inches."""
        return self.edition[f"tolerance.length.{self.unit}"].number

    def address(self, *path: str) -> str:
        """The address of an entry in the job file, in the planned part where only that holds it or has to restate it."""
        here = join_address(path)
        if not self.planned:
            return here
        tables = {"face": self.found.face, "nearby": self.found.nearby, "roof": self.found.roof}
        mine = tables.get(path[0])
        new = mine is not None and all(getattr(thing, "name", None) != path[1] for thing in mine)
        planned = join_address(("planned", *path))
        return planned if new or here in self.stage.voided or planned in self.unread else here

    def raw(self, path: Path) -> Any:
        """The value at a path of the record, None where it is not known."""
        value: Any = self.job
        for part in path:
            value = (
                next((t for t in value if t.name == part), None)
                if isinstance(value, tuple)
                else getattr(value, part)
            )
            if value is None or value == "unknown":
                return None
        return value

    def require(self, *paths: Path) -> None:
        """Raise NotKnown, naming every one of these that is not known."""
        missing = [self.address(*path) for path in paths if self.raw(path) is None]
        if missing:
            raise NotKnown(missing)

    def need(self, prefix: Path, *names: str) -> list[Any]:
        """Values under a prefix ("face", "study"): quantities as readings, words as they are. Raises NotKnown for all that are missing."""
        paths = [(*prefix, *name.split(".")) for name in names]
        self.require(*paths)
        return [self._reading(path, self.raw(path)) for path in paths]

    def want(self, prefix: Path, name: str) -> Any:
        """As need for one value, None where it is not known."""
        path = (*prefix, *name.split("."))
        value = self.raw(path)
        return None if value is None else self._reading(path, value)

    def _reading(self, path: Path, value: Any) -> Any:
        if not isinstance(value, Amount):
            return value
        return self.reading(value) if is_length(path) else Reading.exact(value.value)

    def reading(self, amount: Amount) -> Reading:
        """A length with the tolerance that belongs to it: none where it is an intention."""
        return (
            Reading.exact(amount.value)
            if amount.intended
            else Reading.measured(amount.value, self.tolerance())
        )

    def length(self, value: Fraction | Reading) -> str:
        """A length as this job prints it."""
        return lengths.show(value.value if isinstance(value, Reading) else value, self.unit)

    def least(self, limit: Fraction) -> str:
        """A length that is asked for, as this job prints it: rounded up where it has to be."""
        return lengths.show_limit(limit, self.unit, op=">=")

    def area(self, value: Fraction | Reading, op: Op | None = None, beside: Fraction | None = None) -> str:
        """An area as this job prints it: a limit rounded to its safe side where op is given."""
        number = value.value if isinstance(value, Reading) else value
        if op:
            return quantities.show_limit(number, "area", self.area_unit, op=op, beside=beside)
        return f"{tidy(in_unit(number, self.area_unit))} {self.area_unit}"

    @property
    def area_unit(self) -> str:
        return f"{self.unit}2"

    def finding(self, verdict: Verdict, text: str, **more: Any) -> Finding:
        """A finding of the rule in hand."""
        assert self.rule is not None
        values: dict[str, Any] = {
            "id": self.rule.id,
            "title": self.rule.title,
            "kind": self.rule.kind,
            "subject": self.rule.subject,
        }
        if self.rule.kind == "advice":
            values["counts"] = False
        return Finding(verdict=verdict, text=text, **values | more)

    def judge(
        self,
        op: Op,
        found: Reading,
        limit: Reading,
        *,
        what: str,
        after: str = "",
        others: Sequence[Reading] = (),
        unit: Literal["length", "area", "angle", "ratio"] = "length",
        **more: Any,
    ) -> Finding:
        """Compare a reading with its limit and tell the outcome.

        what, after: the sentence round the measure ("The firebox is", " deep").  others: limits that the tolerance lets in.
        """
        compare = at_least if op == ">=" else at_most
        outcome = compare(found, limit, others)
        shown = self._printer(unit)
        asked, have = shown(limit.value, op, found.value), shown(found.value)
        if unit == "area" and abs(found.value - limit.value) < limit.value / 100:
            have = quantities.show(found.value, "area", self.area_unit)
        text = f"{what} {have}{after}; {f'at least {asked} is asked for' if op == '>=' else f'at most {asked} is allowed'}"
        text += self._outcome(outcome, op, others, limit, shown)
        source_unit = {
            "length": self.edition.units,
            "area": self.edition.area_unit,
            "angle": "deg",
            "ratio": "",
        }[unit]
        convert = (lambda v: in_unit(v, source_unit)) if unit in ("length", "area") else (lambda v: v)
        percent = float(outcome.margin / limit.value * 100) if limit.value else None
        if outcome.verdict is Verdict.MEETS:
            more.pop("remedy", None)
        return self.finding(
            outcome.verdict,
            text + ".",
            required=Bound(op, convert(limit.value), source_unit, asked),
            found=Bound("=", convert(found.value), source_unit, have),
            margin=Margin(convert(outcome.margin), source_unit, percent),
            tolerance=Margin(convert(outcome.slack), source_unit, None) if outcome.slack else None,
            **more,
        )

    def _printer(self, unit: str) -> Printer:
        if unit == "length":
            return lambda v, op=None, beside=None: (
                lengths.show_limit(v, self.unit, op=op, beside=beside) if op else self.length(v)
            )
        if unit == "area":
            return self.area
        return lambda v, op=None, beside=None: f"{tidy(v, op or '')}{' deg' if unit == 'angle' else ''}"

    def _outcome(
        self, outcome: Comparison, op: Op, others: Sequence[Reading], limit: Reading, shown: Printer
    ) -> str:
        if outcome.verdict is Verdict.MEETS:
            return ": exactly at the limit" if outcome.margin == 0 else ""
        if outcome.decides:
            rest = sorted({shown(o.value, op) for o in others if o.value != limit.value})
            return (
                f"; the measuring tolerance decides whether it is that or {' or '.join(rest)}: measure again"
            )
        short = shown(abs(outcome.margin), ">=")
        over = "short by" if op == ">=" else "too much by"
        if outcome.verdict is Verdict.CLOSE:
            return f": {over} {short}, within the measuring tolerance: measure again"
        return f": {over} {short}"

    def missing(self, missing: Sequence[str], **more: Any) -> Finding:
        """A finding that waits for measurements, or says that an entry cannot be read.

        A second opinion that cannot be given yet is on the site list, but holds up no overall.
        """
        told = [f"{address}: {self.unread[address]}" for address in missing if address in self.unread]
        lost = [
            address
            for address in missing
            if address in self.stage.voided or address.removeprefix("planned.") in self.stage.voided
        ]
        labels = "; ".join(dict.fromkeys(label(address) for address in missing))
        text = "Cannot be read: " + " ".join(told) if told else f"Not judged until it is known: {labels}."
        if lost and not told:
            text = f"Not judged: the cut takes away what stood here. Plan it, or measure it when it is built: {labels}."
        if self.rule and self.rule.kind == "model":
            more["counts"] = False
        return self.finding(Verdict.MEASURE, text, missing=tuple(missing), **more)


def of(thing: Face | Nearby | Roof) -> Path:
    """The path of a face, a roof or a thing nearby."""
    kind = "face" if isinstance(thing, Face) else "roof" if isinstance(thing, Roof) else "nearby"
    return (kind, thing.name or "")


@cache
def is_length(path: Path) -> bool:
    """Does the record hold a length at this path?"""
    return spec_of(join_address(path)).kind == "length"


def label(address: str) -> str:
    """What an entry is called, with the name of its face, thing or fan."""
    path = parse_address(address.removeprefix("planned."))
    whose = path[1:2] if path[0] in ("face", "nearby", "roof") else path[2:3]
    text = spec_of(address).label
    text = text if text[1] == " " else text[0].lower() + text[1:]
    return f"{text} ({whose[0]})" if whose else text


def run(case: Case, rule: Rule, *subject: Any) -> list[Finding]:
    """The findings of one rule on one subject; what it lacks becomes MEASURE, what the edition lacks REFER."""
    mine = replace(case, rule=rule)
    context = _context(rule, *subject)
    told = _told(mine, rule, context, *subject)
    if told and rule.masonry and case.job.fireplace.construction == "factory-built":
        return [
            mine.finding(
                Verdict.REFER,
                "A factory-built fireplace follows its listing and the maker's instructions, not the rules for masonry.",
                **context,
            )
        ]
    return told


def _told(case: Case, rule: Rule, context: dict[str, Any], *subject: Any) -> list[Finding]:
    try:
        result = rule.tell(case, *subject)
        if result is None:
            return []
        return [result] if isinstance(result, Finding) else list(result)
    except NotKnown as lacking:
        return [case.missing(lacking.missing, **context)]
    except LinerElsewhere as err:
        text = (
            f"A liner {err.size} is in the tables of {', '.join(err.editions)} only: measure the inside of the flue, "
            "or choose such an edition."
        )
        return [case.finding(Verdict.REFER, text, **context)]
    except Silent as silent:
        return [
            case.finding(
                Verdict.REFER,
                f"{case.edition.title} says nothing on this here: ask the building department.",
                basis=(_silence(case.edition, silent.key),),
                **context,
            )
        ]


def _context(rule: Rule, *subject: Any) -> dict[str, Any]:
    if not subject:
        return {}
    first = subject[0]
    if isinstance(first, State):
        return {"state": first.name, "counts": first.counts and rule.kind != "advice"}
    if isinstance(first, Face):
        return {"face": first.name}
    if isinstance(first, Nearby | Roof):
        return {"item": first.name, "face": getattr(first, "face", None)}
    return {}


def _silence(edition: Edition, key: str) -> Basis:
    return Basis(key, "Not in this edition", "silent", "", edition.title, "", edition.id, "published")


def basis(*values: Value | None) -> tuple[Basis, ...]:
    """The values a finding rests on, each once, in order."""
    return tuple({value.key: value.basis() for value in values if value}.values())


_FACTORS = {"mm": Fraction(254, 10), "mm2": Fraction(254, 10) ** 2}


def in_unit(value: Fraction, unit: str) -> Fraction:
    """A canonical length or area (inch, in2) in a printed unit."""
    return value if unit in ("in", "in2") else value * _FACTORS[unit]


def tidy(value: Fraction | float, op: str = "") -> str:
    """A number as a person reads it: exact where few digits do, else rounded; minimums up, maximums down."""
    exact = Fraction(value)
    for places in range(4 if abs(exact) < 10000 else 1):
        scaled = exact * 10**places
        if scaled.denominator == 1:
            return _decimal(int(scaled), places)
    places = 0 if abs(exact) >= 1000 else 1 if abs(exact) >= 10 else 2 if abs(exact) >= 1 else 4
    scaled = exact * 10**places
    whole = -(-scaled // 1) if op == ">=" else scaled // 1 if op == "<=" else Fraction(round(scaled))
    return _decimal(int(whole), places)


def _decimal(scaled: int, places: int) -> str:
    if not places:
        return str(scaled)
    sign = "-" if scaled < 0 else ""
    whole, rest = divmod(abs(scaled), 10**places)
    digits = f"{rest:0{places}d}".rstrip("0")
    return f"{sign}{whole}.{digits}" if digits else f"{sign}{whole}"


def step(symbol: str, expression: str, numbers: str, value: Fraction, unit: str, text: str) -> Step:
    """A line of working. value: in unit.  text: the value as printed, with its unit."""
    return Step(symbol, expression, numbers, value, unit, text)
