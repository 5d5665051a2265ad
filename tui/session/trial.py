"""Entries moved to see what becomes of the findings: a job beside the record, which is written only where it is kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from msgspec import Struct

from hearthcalc.errors import EntryError
from hearthcalc.job import Amount, FieldSpec, Job, Size, entries, parse_address, spec_of
from hearthcalc.whatif import levers
from hearthcalc_tui.entries import Document, name_of, text_of, value_of
from hearthcalc_tui.session.document import as_planned, entered, is_name, whole_list
from hearthcalc_tui.session.snapshot import Snapshot

STEPS_OF_RANGE = 100  # that the usual range of an entry is gone through in
ASIDE = 6  # values of a range to each side of where an entry stands
NO_PLACE = ("about.", "asked.", "judged.", "looked.", "signed.", "photo.")


class Movable(Struct, frozen=True):
    """An entry that can be moved. stands: what the record says, as typed.

    sides: its number, or the two of a size, canonical; none of a choice.  values: of a choice.  step: of a number, canonical.
    """

    address: str
    label: str
    spec: FieldSpec
    stands: str
    sides: tuple[Fraction, ...]
    values: tuple[str, ...]
    step: Fraction


class Trial:
    """The job of one stage with entries moved. Nothing of it is in the record.

    steps: how far each moved entry is from where it stands, by its address in the stage.
    """

    def __init__(self, base: Snapshot, stage: str) -> None:
        self._base = base
        self._stage = stage
        self._now = base.job_of(stage)
        self.entries = {entry.address: entry for entry in _movables(self._now)}
        self.steps: dict[str, int] = {}
        self.snapshot = base

    def at(self, entry: Movable, steps: int) -> str | None:
        """What an entry is so many steps from where it stands, as typed; None where it cannot be that."""
        if not steps:
            return entry.stands
        if entry.values:
            place = entry.values.index(entry.stands) + steps
            return entry.values[place] if 0 <= place < len(entry.values) else None
        sides = [side + steps * entry.step for side in entry.sides]
        low, high = entry.spec.hard or (Fraction(0), max(sides))
        if not all(low <= side <= high for side in sides):
            return None
        return " x ".join(entry.spec.show(side, self._now.units) for side in sides)

    def move(self, entry: Movable, by: int) -> bool:
        """Move an entry by so many steps, or as many of them as it can. False where it cannot move."""
        here, way = self.steps.get(entry.address, 0), 1 if by > 0 else -1
        to = next((here + way * n for n in range(abs(by), 0, -1) if self.at(entry, here + way * n)), None)
        if to is not None:
            self.put(entry, to)
        return to is not None

    def put(self, entry: Movable, steps: int) -> None:
        """Put an entry so many steps from where it stands; 0 takes the move back."""
        self.steps = {address: n for address, n in {**self.steps, entry.address: steps}.items() if n}
        self.snapshot = self.with_steps(self.steps)

    def with_steps(self, steps: Mapping[str, int]) -> Snapshot:
        """The job with entries moved, whatever is moved now."""
        document = self._base.document
        for address, n in steps.items():
            document = self._entered(document, address, self.at(self.entries[address], n) or "")
        return Snapshot(document) if steps else self._base

    def _entered(self, document: Document, address: str, text: str) -> Document:
        if self._stage == "found" or whole_list(address) or not _plannable(address):
            planned = self._stage != "found" and _plannable(address)
            return entered(document, as_planned(address) if planned else address, text)
        value = value_of(spec_of(address), text, self._now.units)
        beside = levers.beside(self._base.job, self._now, parse_address(address))
        return levers.planned(document, [{address: value, **beside}])


def _plannable(address: str) -> bool:
    try:
        spec_of(as_planned(address))
    except EntryError:
        return False
    return True


def _movables(job: Job) -> Iterator[Movable]:
    """The numbers and choices that a stage holds, in the order of the file."""
    for address, spec, value in entries(job):
        if "." not in address or address.startswith((*NO_PLACE, "planned.")) or is_name(address):
            continue
        stands, label = text_of(value), name_of(address)
        if isinstance(value, Amount | Size):
            sides = (value.a.value, value.b.value) if isinstance(value, Size) else (value.value,)
            step = step_of(spec, sides[0], metric=job.units == "mm")
            yield Movable(address, label, spec, stands, sides, (), step)
        elif spec.kind == "bool" or stands in spec.choices:
            values = ("no", "yes") if spec.kind == "bool" else spec.choices
            yield Movable(address, label, spec, stands, (), values, Fraction(1))


def span_of(job: Job, address: str) -> str:
    """FROM:TO:STEPS round where a number of a job stands, about a quarter of it to each side; "" where there is none."""
    entry = next((one for one in _movables(job) if one.address == address and len(one.sides) == 1), None)
    if entry is None:
        return ""
    (stands,) = entry.sides
    aside = ASIDE * max(1, round(abs(stands) / 4 / ASIDE / entry.step)) * entry.step
    low, high = entry.spec.hard or (Fraction(0), stands + aside)
    ends = max(low, stands - aside), min(high, stands + aside)
    first, last = (entry.spec.show(end, job.units) for end in ends)
    return f"{first} : {last} : {2 * ASIDE + 1}"


def step_of(spec: FieldSpec, now: Fraction, *, metric: bool) -> Fraction:
    """A round step for an entry, no longer than a share of its usual range: halves and doubles of an inch, else 1, 2 or 5 of ten."""
    low, high = spec.usual or (Fraction(0), abs(now) * 2 or Fraction(1))
    most = (high - low) / STEPS_OF_RANGE
    if spec.kind == "count":
        return Fraction(1)
    if spec.kind in ("length", "size") and not metric:
        step = Fraction(1, 16)
        while step * 2 <= most:
            step *= 2
        return step
    unit = Fraction(10, 254) if spec.kind in ("length", "size") else Fraction(1)
    step = unit * Fraction(1, 1000)
    for ten in range(-3, 7):
        for first in (1, 2, 5):
            if unit * first * Fraction(10) ** ten <= most:
                step = unit * first * Fraction(10) ** ten
    return step
