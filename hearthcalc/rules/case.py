"""What a rule is given, and how it turns an answer into a finding."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from fractions import Fraction
from functools import cache, lru_cache
from math import ceil, floor, inf, log10
from typing import Any, Generic, Literal, Protocol, Self, TypeVar, cast

from msgspec import Struct, field
from msgspec.structs import replace

from hearthcalc import lengths, quantities
from hearthcalc.asked import asked_of
from hearthcalc.findings import Band, Basis, Bound, Finding, Kind, Margin, State, Step, Verdict, worst
from hearthcalc.job import FIELDS, Amount, Fan, Job, Stage, join_address, parse_address, spec_of
from hearthcalc.lengths import Op
from hearthcalc.many import UNTOLD, Many, as_text, kept_text
from hearthcalc.models.results import Models
from hearthcalc.reference import Edition, Silent, Value
from hearthcalc.rules.reading import Comparison, Reading, agreed, at_least, at_most, reading

STATES, CONFLICTS = "(states)", "(conflicts)"  # what a run can look at beside entries
Named = Literal["face", "nearby", "roof"]
Each = Literal["job", "state"] | Named
Result = Finding | Iterable[Finding] | None
Path = tuple[str, ...]
NOT_READ = object()


class Subject(Struct, frozen=True):
    """A face, a thing nearby or a roof as rules know it: by its name. What is entered of it is asked of the case."""

    kind: Named
    name: str


Whose = Subject | Fan | str


class NotKnown(Exception):  # noqa: N818 - not a mistake: a measurement is still to be taken
    """Entries that a rule needs are missing or cannot be read. missing: their addresses."""

    def __init__(self, missing: Sequence[str]) -> None:
        super().__init__(", ".join(missing))
        self.missing = tuple(missing)


T = TypeVar("T")
MEASURE_FIRST = "Measure the rest before you build: what it takes goes by that too."


class Asked(Struct):
    """What one run of a rule has asked of the job. read: every entry it rests on.  missing: those it needs and does not have.

    settled: findings of its parts, which rest on what those parts asked alone.  looked: whatever the run looked at, its parts
    too: while all of that stays as it is, so does its answer.
    """

    read: dict[str, None] = field(default_factory=dict)
    missing: dict[str, None] = field(default_factory=dict)
    settled: set[int] = field(default_factory=set)
    looked: set[str] = field(default_factory=set)

    def __iadd__(self, other: Asked) -> Asked:
        self.read |= other.read
        self.missing |= other.missing
        self.looked |= other.looked
        return self


class Entry(Struct, Generic[T], frozen=True):
    """One entry as a rule asked for it. known: None where it is not known."""

    known: T | None
    asked: Asked

    @property
    def value(self) -> T:
        """The entry. Raises NotKnown, which names all that the rule has asked for so far and does not have."""
        if self.known is None:
            raise NotKnown(tuple(self.asked.missing))
        return self.known


Found = Reading | Entry[Reading] | Callable[[], Reading]


class Shared(Struct):
    """A figure that several rules rest on, worked out once for a stage: what came of it, and what it asked."""

    value: Any
    error: NotKnown | LinerElsewhere | Silent | None
    asked: Asked


class LinerElsewhere(Exception):  # noqa: N818 - the size is known, but not to this edition
    """A nominal flue size that only other editions' tables hold."""

    def __init__(self, size: str, editions: tuple[str, ...]) -> None:
        super().__init__(size)
        self.size = size
        self.editions = editions


class Rule(Struct, frozen=True):
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


RULES: dict[str, Rule] = {}  # those of models enter as they are loaded, in a thread: go through a copy


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


class Conflict(Struct, frozen=True):
    """Entries that cannot all be right. item: which, in a few words.  what: a sentence.  addresses: of them, as they are measured."""

    item: str
    what: str
    entries: tuple[str, ...]
    addresses: tuple[str, ...]


class Unsure(Struct, frozen=True):
    """What there is to say of a model's figure, which is a band: its reading's least and most.

    settles: what would make it one number, as the end of a sentence.  held: sentences on what is not known, which keep it from MEETS.
    fails: from where on the wrong side of the limit it is SHORT; the limit itself unless given.
    """

    settles: str
    held: tuple[str, ...] = ()
    fails: Fraction | float | None = None


class Case(Struct, frozen=True):
    """One stage of a job before one edition.

    A rule asks it for entries and never reads the records themselves (stage, found): what a run looked at is then known in full.
    found: the job as found, which a missing entry is named by.  models: what those of heat and steel made of it, for their rules.
    conflicts: by entry, what it cannot be right together with.  asked: of this run of a rule.  shared: see once.
    entries: as they were read, each once for the stage.  named: the faces, the things nearby and the roofs, by their lists.
    """

    stage: Stage
    found: Job
    edition: Edition
    every_state: tuple[State, ...] = ()
    unread: Mapping[str, str] = field(default_factory=dict)
    models: Models = field(default_factory=Models)
    rule: Rule | None = None
    conflicts: Mapping[str, tuple[Conflict, ...]] = field(default_factory=dict)
    asked: Asked = field(default_factory=Asked)
    shared: dict[Any, Shared] = field(default_factory=dict)
    entries: dict[tuple[str, str], Any] = field(default_factory=dict)
    named: dict[str, tuple[Subject, ...]] = field(default_factory=dict)

    @property
    def job(self) -> Job:
        return self.stage.job

    @property
    def faces(self) -> tuple[Subject, ...]:
        return self.subjects("face")

    @property
    def things(self) -> tuple[Subject, ...]:
        """What is entered near the fireplace."""
        return self.subjects("nearby")

    @property
    def roofs(self) -> tuple[Subject, ...]:
        return self.subjects("roof")

    def subjects(self, kind: Named) -> tuple[Subject, ...]:
        """What stands in a list of the job."""
        if kind not in self.named:
            self.named[kind] = tuple(Subject(kind, thing.name or "") for thing in getattr(self.job, kind))
        return self.named[kind]

    @property
    def states(self) -> tuple[State, ...]:
        """The ways in which the fireplace can be used."""
        self.asked.looked.add(STATES)
        return self.every_state

    @property
    def every_conflict(self) -> tuple[Conflict, ...]:
        """What cannot be right together, each once."""
        self.asked.looked.add(CONFLICTS)
        return tuple(dict.fromkeys(one for conflicts in self.conflicts.values() for one in conflicts))

    @property
    def measured(self) -> bool:
        """Is this a fireplace that stands, not a drawing."""
        self.asked.looked.add("about.measured")
        return self.job.about.measured

    @property
    def amendments_of(self) -> str:
        """The place whose amendments the job is to be judged with, "" for none."""
        self.asked.looked.add("about.amendments")
        return self.job.about.amendments or ""

    @property
    def questions(self) -> frozenset[str]:
        """The questions that the job asks."""
        self.asked.looked.add("asked.questions")
        return asked_of(self.found.asked.questions)

    @property
    def planned(self) -> bool:
        return self.stage.name == "planned"

    @property
    def unit(self) -> lengths.Unit:
        """The unit that this job is printed in."""
        unit: lengths.Unit = self.job.units
        return unit

    def face(self, name: str) -> Subject:
        return next(face for face in self.faces if face.name == name)

    def before(self) -> Case:
        """The fireplace as it stands, for a rule on what is planned; it keeps its own account of what it rests on."""
        return self.at(self.found.stages()["found"])

    def stood(self, whose: Subject) -> bool:
        """Was a face, a thing or a roof of this name there as found."""
        return any(thing.name == whose.name for thing in getattr(self.found, whose.kind))

    def planned_of(self, table: str) -> frozenset[str]:
        """What is planned anew of a table, by key."""
        self.asked.looked.add(f"planned.{table}")
        return frozenset(getattr(self.found.planned, table).entered)

    def says(self, whose: Whose, table: str) -> bool:
        """Is anything entered in a table of a face."""
        return bool(self.peek(whose, table).document())

    def peek(self, whose: Whose, name: str) -> Any:
        """An entry as the record holds it, "unknown" too, without resting on it."""
        path, here = _located(whose, name)
        self.asked.looked.add(here)
        value: Any = self.stage.job
        for part in path:
            value = _named(value, part) if type(value) is tuple else getattr(value, part)
        return value

    def tolerance(self) -> Fraction:
        """What a measured length may be off, inches."""
        return self.edition[f"tolerance.length.{self.unit}"].number

    def address(self, *path: str) -> str:
        """The address of an entry in the job file, in the planned part where only that holds it or has to restate it."""
        return self._address(path, join_address(path))

    def _address(self, path: Path, here: str) -> str:
        self.asked.looked.add(here)
        if not self.planned:
            return here
        tables = {"face": self.found.face, "nearby": self.found.nearby, "roof": self.found.roof}
        mine = tables.get(path[0])
        new = mine is not None and all(getattr(thing, "name", None) != path[1] for thing in mine)
        planned = join_address(("planned", *path))
        if here in self.stage.voided and planned not in self.unread:
            return self.stage.voided[here].ask or planned
        return planned if new or here in self.stage.voided or planned in self.unread else here

    # Reading the job: a rule asks for an entry once, by name

    def number(self, whose: Whose, name: str, *, needed: bool = True) -> Entry[Reading]:
        """A quantity, canonical: a length with what the tape may be off, anything else exact.

        whose: a face, a thing, a roof or a fan, or the name of a table ("firebox").  needed: it is named as missing where it is not known.
        """
        return self._entry(whose, name, needed, "number")

    def word(self, whose: Whose, name: str, *, needed: bool = True) -> Entry[str]:
        """A word or a text; "unknown" is not known."""
        return self._entry(whose, name, needed)

    def flag(self, whose: Whose, name: str, *, needed: bool = True) -> Entry[bool]:
        """A yes or no."""
        return self._entry(whose, name, needed)

    def sides(self, whose: Whose, name: str, *, needed: bool = True) -> Entry[tuple[Reading, Reading]]:
        """A size of two sides."""
        return self._entry(whose, name, needed, "sides")

    def listed(self, whose: Whose, name: str, *, needed: bool = True) -> Entry[tuple[Any, ...]]:
        """A list as it stands in the record; an empty one is known to be empty."""
        return self._entry(whose, name, needed)

    def entered(self, whose: Whose, name: str) -> Entry[Any]:
        """An entry as the record holds it, where it may be a word or a quantity."""
        return self._entry(whose, name, True)

    def rests_on(self, key: Any) -> None:
        """What was asked for a shared figure is asked by this run of the rule too."""
        if key in self.shared:
            self.asked.read |= self.shared[key].asked.read
            self.asked.looked |= self.shared[key].asked.looked

    def _entry(
        self, whose: Whose, name: str, needed: bool, kind: Literal["", "number", "sides"] = ""
    ) -> Entry[Any]:
        """An entry as a reading or as two, or as it stands."""
        path, here = _below(of(whose), name) if isinstance(whose, Fan) else _of(whose, name)
        asked, entries = self.asked, self.entries
        asked.read[here] = None
        asked.looked.add(here)
        as_read = (kind, here)
        known = entries.get(as_read, NOT_READ)
        if known is NOT_READ:
            raw = self._held(path)
            known = entries[as_read] = raw if raw is None or not kind else self._as(kind, path, raw)
        if known is None and needed:
            asked.missing[self._address(path, here)] = None
        return Entry(known, asked)

    def wants(self, whose: Whose, name: str) -> None:
        """Name an entry as missing though it has an answer: one that does not settle the question."""
        self.asked.missing[self._address(*_located(whose, name))] = None

    def unread_among(self, addresses: Iterable[str]) -> bool:
        """Is any of these entered and cannot be read."""
        addresses = tuple(addresses)
        self._look(addresses)
        return any(address in self.unread for address in addresses)

    def _look(self, addresses: Iterable[str]) -> None:
        """Whether these can be read, as found or as planned, is looked at."""
        looked = self.asked.looked
        for address in addresses:
            looked.add(address.removeprefix("planned."))

    def job_has(self, whose: Whose, name: str) -> bool:
        """Is an entry known, without resting on it."""
        path, here = _located(whose, name)
        self.asked.looked.add(here)
        return self._held(path) is not None

    def is_voided(self, whose: Whose, name: str) -> bool:
        """Was this entry found, and does the plan take the ground from it."""
        here = _located(whose, name)[1]
        self.asked.looked.add(here)
        return here in self.stage.voided and self.stage.voided[here].known

    def fresh(self) -> Self:
        """The case with nothing asked yet, for a part of a run."""
        return replace(self, asked=Asked(looked=self.asked.looked))

    def apart(self) -> Self:
        """The case with nothing asked or looked at yet, for a run of its own."""
        return replace(self, asked=Asked())

    def at(self, stage: Stage) -> Case:
        """The same job at another stage, where nothing has been read yet."""
        return replace(
            self, stage=stage, asked=Asked(looked=self.asked.looked), shared={}, entries={}, named={}
        )

    def here(self, *path: str) -> str:
        """The address of an entry in the record of the stage."""
        return join_address(path)

    def all_known(self) -> None:
        """Raise NotKnown where anything that this run of the rule needs is missing."""
        if self.asked.missing:
            raise NotKnown(tuple(self.asked.missing))

    def alone(self, work: Callable[[Case], Finding], **context: Any) -> Finding:
        """One finding of several of a rule, which rests on what it asks itself. context: its item, for where something is missing."""
        mine = self.fresh()
        try:
            made = work(mine)
        except NotKnown as lacking:
            made = mine.missing(lacking.missing, **context)
        finding = _settled(mine, made)
        self.asked.settled.add(id(finding))
        return finding

    def once(self, key: Any, work: Callable[[Case], T]) -> T:
        """A figure that several rules rest on, worked out once for the stage; each of them then rests on what it read."""
        made = self.shared.get(key)
        if made is None:
            mine = self.apart()
            try:
                made = Shared(work(mine), None, mine.asked)
            except (NotKnown, LinerElsewhere, Silent) as err:
                made = Shared(None, err, mine.asked)
                if isinstance(err, NotKnown):
                    mine.asked.missing |= dict.fromkeys(err.missing)
            self.shared[key] = made
        asked = self.asked
        asked += made.asked
        if isinstance(made.error, NotKnown):
            raise NotKnown(tuple(self.asked.missing))
        if made.error is not None:
            raise made.error
        return cast("T", made.value)

    def _held(self, path: Path) -> Any:
        """The value at a path of the record, None where it is not known."""
        value: Any = self.stage.job
        for part in path:
            value = _named(value, part) if type(value) is tuple else getattr(value, part)
            if value is None:
                return None
        return None if value == "unknown" else value

    def _as(self, kind: str, path: Path, value: Any) -> Any:
        """An entry as a reading or as two; a word that stands in the place of one as it is."""
        if kind == "sides":
            return self.reading(value.a), self.reading(value.b)
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
        """A length as this job prints it; one that is negative is so much below."""
        return lengths.show_height(value.value if isinstance(value, Reading) else value, self.unit)

    def least(self, limit: Fraction) -> str:
        """A length that is required, as this job prints it: rounded up where it has to be."""
        return lengths.show_limit(limit, self.unit, op=">=")

    def area(self, value: Fraction | Reading, op: Op | None = None, beside: Fraction | None = None) -> str:
        """An area as this job prints it: a limit rounded to its safe side where op is given."""
        return _area(value.value if isinstance(value, Reading) else value, self.area_unit, op, beside)

    @property
    def area_unit(self) -> str:
        return f"{self.unit}2"

    def finding(self, verdict: Verdict, text: str, **more: Any) -> Finding:
        """A finding of the rule in hand."""
        rule = self.rule
        assert rule is not None
        if rule.kind == "advice":
            more.setdefault("counts", False)
        kind = more.pop("kind", rule.kind)
        return Finding(rule.id, rule.title, kind, rule.subject, verdict, text, **more)

    def judge(
        self,
        op: Op,
        found: Found,
        limit: Reading | Fraction,
        *,
        what: str,
        after: str = "",
        over: str = "",
        others: Sequence[Reading | Fraction] = (),
        sure: Sequence[Verdict] = (),
        at_best: bool = False,
        unit: str = "length",
        allowance: Value | None = None,
        unsure: Unsure | None = None,
        build: Sequence[str] = (),
        remedy: Sequence[str] | Callable[[], Sequence[str]] = (),
        **more: Any,
    ) -> Finding:
        """Compare a figure with its limit and tell the outcome; without the figure, tell the limit and what to measure.

        found: the figure, the entry that gives it, or what works it out from entries.
        what, after: the sentence round the measure ("The firebox is", " deep").  over: what a height is taken over, in place of
        after; a figure under nothing is told as below it.  others: limits that the tolerance lets in.
        sure: limit and others are those that may apply, as long as something that the rule has asked for is missing; these verdicts
        hold whatever that is, any other waits for it.  at_best: the limit is the easiest that what is missing can make of it, and only
        SHORT holds.
        unit: "length" or "area" (canonical, printed in the job's own), a kind of _TOLD, else the unit that both are in.
        unsure: of a model's figure, whose verdict is one that its whole band agrees on, else REFER.
        allowance: how far masonry sold by a whole nominal size may be under it: within that it is CLOSE, not SHORT.
        build: remedies that need no figure, told also where it is missing.  remedy: those for one that is known.
        """
        limits = [reading(one) for one in (limit, *others)]
        measure = self.measure(unit)
        after = f" over {over}" if over else after
        try:
            have = found.value if isinstance(found, Entry) else found() if callable(found) else found
        except NotKnown as lacking:
            if at_best and len(lacking.missing) > 1:  # what the limit goes by may be among them
                limits, build = [], ()
            return self._waiting(op, limits, measure, after, lacking.missing, remedy=tuple(build), **more)
        if unsure is not None:
            return self._opinion(op, have, limits[0], unsure, measure, (what, after), remedy, **more)
        compare = at_least if op == ">=" else at_most
        outcome = compare(have, limits[0], limits[1:])
        if (sure or at_best) and self.asked.missing:
            missing, holds = tuple(self.asked.missing), (Verdict.SHORT,) if at_best else sure
            told = sorted(
                limits,
                key=lambda one: one.value,
                reverse=(op == ">=") is (outcome.verdict is Verdict.MEETS),
            )
            outcome = compare(have, told[0], told[1:])
            nominal = allowance and _is_nominal(outcome, told[0].value, allowance.number)
            if at_best:
                limits, build, remedy = [], (), (MEASURE_FIRST,)
            if outcome.verdict not in holds or nominal:
                return self._waiting(op, limits, measure, after, missing, remedy=tuple(build), **more)
            limits = told
        short_at_best = bool((sure or at_best) and self.asked.missing) and outcome.verdict is Verdict.SHORT
        nominal = allowance and _is_nominal(outcome, limits[0].value, allowance.number)
        if allowance and nominal:
            outcome = replace(outcome, verdict=Verdict.CLOSE, slack=allowance.number)
            more["basis"] = (*more.get("basis", ()), allowance.basis())
        asked, shown = measure.limit(limits[0].value, op, have.value), measure.show(have.value)
        if isinstance(outcome.margin, Many):
            text = UNTOLD
        else:
            if shown == asked and have.value != limits[0].value:
                shown = f"{_told_from(have.value, limits[0].value)} {measure.unit}"
            if unit == "area" and abs(have.value - limits[0].value) < limits[0].value / 100:
                shown = quantities.show(have.value, "area", self.area_unit)
            within = "minimum" if op == ">=" else "maximum"
            if over and have.value < 0:
                shown, after, within = f"{measure.show(-have.value)} below", f" {over}", f"over it {within}"
            end = (
                f": short by {measure.limit(-outcome.margin, '>=', None)}, as masonry sold as {asked} is by a joint: "
                "it may be the nominal size"
                if nominal
                else _outcome(outcome, op, limits, measure)
            )
            if short_at_best:
                within, end = f"{within} at {'least' if op == '>=' else 'most'}", f"{end} or more"
            text = f"{what} {shown}{after}; {asked} {within}{end}."
            if outcome.verdict is not Verdict.MEETS:
                more["remedy"] = (*build, *(remedy() if callable(remedy) else remedy))
        if outcome.verdict is Verdict.MEETS:
            more.pop("caution", None)
        return self.finding(
            outcome.verdict,
            text,
            required=Bound(op, measure.convert(limits[0].value), measure.unit, asked),
            found=Bound("=", measure.convert(have.value), measure.unit, shown),
            tolerance=Margin(measure.convert(outcome.slack), measure.unit, None) if outcome.slack else None,
            **more,
        )

    def figure(self, value: Fraction, unit: str) -> Bound:
        """A figure that nothing is held against. unit: as in judge."""
        measure = self.measure(unit)
        return Bound("=", measure.convert(value), measure.unit, measure.show(value))

    def _opinion(
        self,
        op: Op,
        have: Reading,
        limit: Reading,
        unsure: Unsure,
        measure: Measured,
        words: tuple[str, str],
        remedy: Sequence[str] | Callable[[], Sequence[str]],
        **more: Any,
    ) -> Finding:
        """A finding of a model: MEETS or SHORT where its whole band agrees, else for a person, with what would settle it."""
        verdict = agreed(op, have, limit, unsure.fails)
        asked, shown = measure.limit(limit.value, op, have.value), measure.show(have.value)
        text, band = f"{words[0]} {shown}{words[1]}", None
        ends = [measure.show(end) for end in (have.low, have.high)]
        if have.low != have.high:
            told = from_to(*ends)
            band = Band(measure.convert(have.low), measure.convert(have.high), measure.unit, told)
            text += f" ({told} by what is uncertain)" if ends[0] != ends[1] else ""
        if limit.low != limit.high:
            asked = f"about {asked} ({from_to(*(measure.limit(end, op, None) for end in (limit.low, limit.high)))})"
        text += f"; {asked} {'minimum' if op == '>=' else 'maximum'}"
        if verdict is not Verdict.MEETS and agreed(op, have, limit) is Verdict.SHORT:
            over = abs(have.value - limit.value)
            by = degrees(over, self.unit, apart=True) if measure.unit == "C" else measure.show(over)
            text += f": {'short' if op == '>=' else 'over'} by {by}"
        elif verdict is Verdict.REFER:
            text += f". The range does not settle it. What would: {unsure.settles}"
        if verdict is Verdict.MEETS and unsure.held:
            verdict = Verdict.REFER
        if verdict is not Verdict.MEETS:
            more["remedy"] = (*more.get("remedy", ()), *(remedy() if callable(remedy) else remedy))
        else:
            more.pop("caution", None)
        return self.finding(
            verdict,
            " ".join((f"{text}.", *unsure.held)),
            required=Bound(op, measure.convert(limit.value), measure.unit, asked),
            found=Bound("=", measure.convert(have.value), measure.unit, shown),
            band=band,
            **more,
        )

    def _waiting(
        self,
        op: Op,
        limits: list[Reading],
        measure: Measured,
        after: str,
        missing: Sequence[str],
        **more: Any,
    ) -> Finding:
        """A finding that waits for the measurement, and tells its limit where that is known."""
        if not limits:
            return self.missing(missing, **{key: value for key, value in more.items() if key != "working"})
        each = list(dict.fromkeys(measure.limit(one.value, op, None) for one in limits))
        asked = f"{' or '.join(each)} {'minimum' if op == '>=' else 'maximum'}{after}"
        bound = Bound(op, measure.convert(limits[0].value), measure.unit, each[0])
        return self.missing(missing, limit=f"{asked[0].upper()}{asked[1:]}.", **{**more, "required": bound})

    def measure(self, unit: str) -> Measured:
        """How figures of a unit are printed and kept: lengths and areas in the job's unit and the edition's, others as they are."""
        return _measured(unit, self.unit, self.edition.units)

    def referred(self, finding: Finding, why: str, **more: Any) -> Finding:
        """The finding as a person has to decide it: what was found, and why that does not settle it."""
        values = {"verdict": Verdict.REFER, "text": f"{finding.text} {why}", "missing": (), **more}
        return replace(finding, **values)

    def missing(self, missing: Sequence[str], *, limit: str = "", **more: Any) -> Finding:
        """A finding that waits for measurements, or says that an entry cannot be read or was moved by the plan.

        limit: a sentence that tells it, before what is missing and after what cannot be read.
        A second opinion that cannot be given yet is on the site list, but holds up no overall.
        """
        in_order, labels = _in_order(tuple(missing))
        self._look(in_order)
        unread = [f"{here}: {self.unread[here]}" for here in in_order if here in self.unread]
        voided = self.stage.voided
        causes = dict.fromkeys(
            cause for here in self.asked.read if here in voided for cause in voided[here].why
        )
        if unread:
            text = f"Cannot be read: {' '.join(unread)}"
        elif causes:
            changes = " and ".join(map(change, causes))
            text = f"The plan changes what this was measured from ({changes}). Still needed: {labels}."
        else:
            text = f"Not measured yet: {labels}."
        if limit:
            text = f"{text} {limit}" if unread else f"{limit} {text}"
        assert self.rule is not None
        if self.rule.kind == "model":
            more["counts"] = False
        return self.finding(Verdict.MEASURE, text, missing=in_order, **more)


class Measured(Struct, frozen=True):
    """A kind of figure. unit: it is kept in, made by convert.  show, limit: how a figure and a limit are printed."""

    unit: str
    convert: Callable[[Fraction], Fraction]
    show: Callable[[Fraction], str]
    limit: Callable[[Fraction, Op, Fraction | None], str]


def _area(value: Fraction, unit: str, op: Op | None = None, beside: Fraction | None = None) -> str:
    if op:
        return quantities.show_limit(value, "area", unit, op=op, beside=beside)
    return f"{tidy(in_unit(value, unit))} {unit}"


@cache
def _measured(unit: str, here: lengths.Unit, kept: lengths.Unit) -> Measured:
    """How figures of a unit are printed in a job in inches or millimeters, and kept by an edition in either."""
    if unit == "length":
        return Measured(
            kept,
            lambda v: in_unit(v, kept),
            lambda v: lengths.show_height(v, here),
            lambda v, op, beside: lengths.show_limit(v, here, op=op, beside=beside),
        )
    if unit == "area":
        own, shown = f"{kept}2", f"{here}2"
        return Measured(
            own,
            lambda v: in_unit(v, own),
            lambda v: _area(v, shown),
            lambda v, op, beside: _area(v, shown, op, beside),
        )
    if unit in ("speed", "temperature") and here == "mm":
        unit = f"metric {unit}"
    if unit in R_UNITS:
        factor = quantities.parse(f"1 {unit}", "resistance")
        return Measured(
            unit,
            lambda v: v / factor,
            lambda v: quantities.show_limit(v, "resistance", unit, op="<="),
            lambda v, op, beside: quantities.show_limit(v, "resistance", unit, op=op, beside=beside),
        )
    if unit in _TOLD:
        name, told, bound = _TOLD[unit]
        return Measured(name, lambda v: v, told, lambda v, op, beside: bound(v, op))
    tail = f" {unit}" if unit else ""
    return Measured(
        unit, lambda v: v, lambda v: f"{tidy(v)}{tail}", lambda v, op, beside: f"{tidy(v, op)}{tail}"
    )


R_UNITS = ("m2.K/W", "h.ft2.F/Btu")
FOOT = Fraction(3048, 10000)  # m
CFM = FOOT**3 / 60  # m3/s


@kept_text
def tidy(value: Fraction | float, op: str = "") -> str:
    """A number as a person reads it: exact where few digits do, else rounded; minimums up, maximums down."""
    exact = value if isinstance(value, Fraction) else Fraction(value)
    size = int(abs(exact))
    for places in range(4 if size < 10000 else 1):
        whole, rest = divmod(10**places, exact.denominator)
        if not rest:
            return _decimal(exact.numerator * whole, places)
    places = 4 if not size else 2 if size < 10 else 1 if size < 1000 else 0
    scaled = exact * 10**places
    return _decimal(ceil(scaled) if op == ">=" else floor(scaled) if op == "<=" else round(scaled), places)


def _told_from(value: Fraction, limit: Fraction) -> str:
    """A number with as many digits as tell it from a limit that it is not."""
    texts = (_decimal(round(value * 10**places), places) for places in range(1, 13))
    return next((text for text in texts if Fraction(text) != limit), tidy(value))


def _decimal(scaled: int, places: int) -> str:
    if not places:
        return str(scaled)
    sign = "-" if scaled < 0 else ""
    whole, rest = divmod(abs(scaled), 10**places)
    digits = f"{rest:0{places}d}".rstrip("0")
    return f"{sign}{whole}.{digits}" if digits else f"{sign}{whole}"


@as_text
def degrees(celsius: Fraction | float, unit: lengths.Unit, *, apart: bool = False) -> str:
    """A temperature as a job in inches or in millimeters tells it. apart: a difference, which is no temperature."""
    value = float(celsius)
    metric, other = f"{value:.0f} C", f"{value * 1.8 + 32 * (not apart):.0f} F"
    return f"{other} ({metric})" if unit == "in" else f"{metric} ({other})"


def from_to(low: str, high: str) -> str:
    """A range whose unit is told once."""
    (first, _, unit), (_, _, same) = low.rpartition(" "), high.rpartition(" ")
    return f"{first if unit == same and '(' not in low else low} to {high}"


@as_text
def flow(volume: Fraction | float) -> str:
    """A flow of air, from m3/s, as it is told."""
    return f"{float(volume / CFM):.0f} cfm"


@as_text
def _tenth(value: Fraction, op: str) -> str:
    """A number to a tenth, on the safe side of it."""
    return tidy(Fraction(ceil(value * 10) if op == ">=" else floor(value * 10), 10))


@as_text
def _one_digit(pressure: Fraction) -> str:
    """A pressure to the one digit that can be said of it."""
    places = max(0, -floor(log10(pressure))) if pressure > 0 else 0
    return f"{round(float(pressure), places):.{places}f} Pa"


_TOLD: Mapping[str, tuple[str, Callable[[Fraction], str], Callable[[Fraction, str], str]]] = {
    "speed": ("m/s", lambda v: f"{float(v / FOOT):.2f} ft/s", lambda v, op: f"{tidy(v / FOOT, op)} ft/s"),
    "metric speed": ("m/s", lambda v: f"{float(v):.2f} m/s", lambda v, op: f"{float(v):.3f} m/s"),
    "flow": ("m3/s", flow, lambda v, op: flow(v)),
    "pressure": ("Pa", lambda v: f"{float(v):.1f} Pa", lambda v, op: f"{_tenth(v, op)} Pa"),
    "slight pressure": ("Pa", lambda v: f"{float(v):.2f} Pa", lambda v, op: _one_digit(v)),
    "temperature": ("C", lambda v: degrees(v, "in"), lambda v, op: degrees(v, "in")),
    "metric temperature": ("C", lambda v: degrees(v, "mm"), lambda v, op: degrees(v, "mm")),
    "stress": ("ksi", lambda v: f"{float(v):.1f} ksi", lambda v, op: f"{float(v):.1f} ksi"),
    "load": ("lb", lambda v: f"{tidy(v, '>=')} lb", lambda v, op: f"{tidy(v, op)} lb"),
    "sag": ("in", lambda v: f"{float(v):.3f} in", lambda v, op: f"{float(v):.3f} in"),
}
"""Kinds of figures of the models: the unit that one is kept in, how it is told, and how a limit is."""


def _is_nominal(outcome: Comparison, limit: Fraction, allowance: Fraction) -> bool:
    """Is what falls short no more under a whole size than masonry sold by that size is."""
    return outcome.verdict is Verdict.SHORT and limit % 1 == 0 and -outcome.margin <= allowance


def _outcome(outcome: Comparison, op: Op, limits: Sequence[Reading], measure: Measured) -> str:
    """What follows from a comparison, as the end of its sentence."""
    if outcome.verdict is Verdict.MEETS:
        return ": exactly at the limit" if outcome.margin == 0 else ""
    if outcome.decides:
        rest = sorted(
            {measure.limit(one.value, op, None) for one in limits[1:] if one.value != limits[0].value}
        )
        return f"; the measuring tolerance decides whether it is that or {' or '.join(rest)}: measure again"
    short = measure.limit(abs(outcome.margin), ">=", None)
    over = "short by" if op == ">=" else "over by"
    close = ", within the measuring tolerance: measure again" if outcome.verdict is Verdict.CLOSE else ""
    return f": {over} {short}{close}"


NEVER = inf
"""Further off on the wrong side of a limit than any figure: a model that is never SHORT."""


def more(
    finding: Finding,
    verdict: Verdict,
    *sentences: str,
    remedy: tuple[str, ...] = (),
    caution: str | None = None,
) -> Finding:
    """The finding with more to say, and no better than a verdict; these remedies come first."""
    return replace(
        finding,
        verdict=worst([finding.verdict, verdict]) or verdict,
        text=" ".join((finding.text, *sentences)),
        remedy=(*remedy, *finding.remedy),
        caution=finding.caution or caution,
    )


def of(thing: Subject | Fan) -> Path:
    """The path of a face, a roof, a fan or a thing nearby."""
    return ("air", "fans", thing.name or "") if isinstance(thing, Fan) else (thing.kind, thing.name)


def _named(things: tuple[Any, ...], name: str) -> Any:
    """The thing of a list that is called so, None where none is."""
    for thing in things:
        if thing.name == name:
            return thing
    return None


def _located(whose: Whose, name: str) -> tuple[Path, str]:
    """The path of an entry, and its address."""
    return _below(of(whose), name) if isinstance(whose, Fan) else _of(whose, name)


@lru_cache(maxsize=4096)
def _of(whose: Subject | str, name: str) -> tuple[Path, str]:
    return _below(of(whose) if isinstance(whose, Subject) else tuple(whose.split(".")), name)


def _below(above: Path, name: str) -> tuple[Path, str]:
    path = (*above, *name.split("."))
    return path, join_address(path)


@cache
def is_length(path: Path) -> bool:
    """Does the record hold a length at this path?"""
    return spec_of(join_address(path)).kind == "length"


PLACES = ("what", "face", "at")  # of a thing: the rule for what it is, where it is, asks for them
_PLACES = {key: number for number, key in enumerate(FIELDS)}


@lru_cache(maxsize=4096)
def _place(address: str) -> tuple[int, ...]:
    """Where an entry stands in the file: layer by layer in a hearth."""
    key = spec_of(address).key
    if ".layers." not in key:
        return (_PLACES[key],)
    *_, layer, _ = parse_address(address)
    return (_PLACES[key.rpartition(".")[0]], int(layer), _PLACES[key])


@lru_cache(maxsize=4096)
def _in_order(missing: tuple[str, ...]) -> tuple[tuple[str, ...], str]:
    """Entries that are missing as they stand in the file, each once, and what they are called."""
    in_order = tuple(sorted(dict.fromkeys(missing), key=_place))
    return in_order, "; ".join(dict.fromkeys(map(label, in_order)))


@lru_cache(maxsize=4096)
def label(address: str) -> str:
    """What an entry is called, with the name of its face, thing or fan."""
    path = parse_address(address.removeprefix("planned."))
    place = 1 if path[0] in ("face", "nearby", "roof") else 2
    text = spec_of(address).label
    text = text if text[1] == " " else text[0].lower() + text[1:]
    return f"{text} ({path[place]})" if len(path) > place else text


def change(address: str) -> str:
    """A planned entry as the change that it makes."""
    *_, name, key = parse_address(address)
    if key == "side":
        return f"new opening {name}"
    return f"{name} taken out" if key == "remove" else label(address)


class Run(Struct, Generic[T], frozen=True):
    """One run of a rule, or of an agreement: what came of it, and all that it looked at."""

    made: tuple[T, ...]
    looked: Set[str]


def run(case: Case, rule: Rule, *subject: Any) -> Run[Finding]:
    """What one rule finds of one subject.

    What it lacks becomes MEASURE, what the edition lacks REFER; what it read from an entry that the plan moved is told in the
    working; and where an entry it read cannot be right together with others, it is MEASURE.
    """
    mine = replace(case, asked=Asked(), rule=rule)
    findings = _findings(mine, rule, *subject)
    return Run(tuple(findings), mine.asked.looked)


def _findings(mine: Case, rule: Rule, *subject: Any) -> list[Finding]:
    findings: list[Finding] = []
    try:
        told = rule.tell(mine, *subject)
        for finding in () if told is None else (told,) if isinstance(told, Finding) else told:
            findings.append(_settled(mine, finding))
    except (NotKnown, LinerElsewhere, Silent) as lacking:
        findings.append(_settled(mine, _unanswered(mine, lacking, _context(mine, rule, *subject))))
    if not findings and (lost := [here for here in _lost(mine) if parse_address(here)[-1] not in PLACES]):
        missing = [mine.address(*parse_address(here)) for here in lost]
        findings = [mine.missing(missing, **_context(mine, rule, *subject))]
    mine.asked.looked.add("fireplace.construction")
    if findings and rule.masonry and mine.stage.job.fireplace.construction == "factory-built":
        text = "A factory-built fireplace follows its listing and the maker's instructions, not the rules for masonry."
        return [mine.finding(Verdict.REFER, text, **_context(mine, rule, *subject))]
    return findings


def _lost(case: Case) -> list[str]:
    """The entries that this run of a rule read, and that the plan takes the ground from."""
    if not case.stage.voided:
        return []
    return [here for here in case.asked.read if here in case.stage.voided and case.stage.voided[here].known]


def _settled(case: Case, finding: Finding) -> Finding:
    """A finding with what the plan moved among the entries it read, and no better than the entries agree."""
    stage = case.stage
    if not (stage.moved or stage.voided or case.conflicts):
        return finding
    if id(finding) in case.asked.settled:
        return finding
    if stage.moved:
        moved = tuple(stage.moved[here] for here in case.asked.read if here in stage.moved)
        finding = replace(finding, working=(*moved, *finding.working)) if moved else finding
    missing = [case.address(*parse_address(here)) for here in _lost(case)]
    if finding.verdict is Verdict.SHORT:  # what it knows to be missing, it is SHORT without
        missing = [address for address in missing if address not in case.asked.missing]
    if missing and finding.kind != "advice" and finding.verdict is not Verdict.MEASURE:
        told = case.missing(missing)
        finding = replace(
            finding, verdict=told.verdict, text=told.text, missing=told.missing, found=None, tolerance=None
        )
    if not case.conflicts:
        return finding
    wrong = [conflict for here in case.asked.read for conflict in case.conflicts.get(here, ())]
    if not wrong or finding.kind == "advice" or finding.verdict in (Verdict.SHORT, Verdict.MEASURE):
        return finding
    why = " ".join(dict.fromkeys(f"{one.what[0].upper()}{one.what[1:]}" for one in wrong))
    both = dict.fromkeys(address for one in wrong for address in one.addresses)
    return replace(
        finding,
        verdict=Verdict.MEASURE,
        text=f"Not judged, because entries cannot both be right. {why} Measure them again.",
        missing=tuple(both),
        found=None,
        tolerance=None,
        counts=finding.counts and finding.kind != "model",
    )


def _unanswered(
    case: Case, lacking: NotKnown | LinerElsewhere | Silent, context: Mapping[str, Any]
) -> Finding:
    """What a rule finds that breaks off for what it lacks."""
    if isinstance(lacking, NotKnown):
        return case.missing(lacking.missing, **context)
    if isinstance(lacking, LinerElsewhere):
        text = (
            f"A liner {lacking.size} is in the tables of {', '.join(lacking.editions)} only: measure the inside of the "
            "flue, or choose such an edition."
        )
        return case.finding(Verdict.REFER, text, **context)
    text = f"{case.edition.title} says nothing on this here: ask the building department."
    return case.finding(Verdict.REFER, text, basis=(_silence(case.edition, lacking.key),), **context)


def _context(case: Case, rule: Rule, *subject: Any) -> dict[str, Any]:
    if not subject:
        return {}
    first = subject[0]
    if isinstance(first, State):
        return {"state": first.name, "counts": first.counts and rule.kind != "advice"}
    if first.kind == "face":
        return {"face": first.name}
    return {"item": first.name, "face": case.peek(first, "face") if first.kind == "nearby" else None}


def _silence(edition: Edition, key: str) -> Basis:
    return Basis(key, "Not in this edition", "silent", "", edition.title, "", edition.id, "published")


def basis(*values: Value | None) -> tuple[Basis, ...]:
    """The values a finding rests on, each once, in order."""
    return tuple({value.key: value.basis() for value in values if value}.values())


_FACTORS = {"mm": Fraction(254, 10), "mm2": Fraction(254, 10) ** 2}


def in_unit(value: Fraction, unit: str) -> Fraction:
    """A canonical length or area (inch, in2) in a printed unit."""
    return value if unit in ("in", "in2") else value * _FACTORS[unit]


def step(symbol: str, expression: str, numbers: str, value: Fraction, unit: str, text: str) -> Step:
    """A line of working. value: in unit.  text: the value as printed, with its unit."""
    return Step(symbol, expression, numbers, value, unit, text)
