"""The levers of a job: what can be changed at it, on which sizes, and the job that holds a change."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor
from typing import Any

from msgspec import Struct

from hearthcalc.assess import can_shut
from hearthcalc.entry import Amount
from hearthcalc.errors import EntryError
from hearthcalc.job import (
    Document,
    Fan,
    Job,
    Nearby,
    Roof,
    entries,
    get,
    join_address,
    names,
    parse_address,
    set_entry,
    spec_of,
    typed,
)
from hearthcalc.reference import Edition, Silent, find_liner, read_quantity, shipped
from hearthcalc.tables import Sub, Table

MOST_STEPS = 200  # of one lever
TAPE = 16  # marks to an inch that everybody reads


class Lever(Struct, frozen=True):
    """One thing that can be changed. sizes: what it can be, from the smallest change to the largest; changes: what each one plans.

    was: what stands now.  cures: the beginnings of the ids of findings that it may cure.  cost: a class of reference/whatif.toml.
    """

    id: str
    label: str
    address: str
    was: str
    sizes: tuple[str, ...]
    changes: tuple[Mapping[str, Any], ...]
    cures: tuple[str, ...]
    cost: int

    def may_cure(self, finding: str) -> bool:
        return finding.startswith(self.cures)


def rows() -> tuple[Mapping[str, Any], Mapping[str, str]]:
    """The levers of reference/whatif.toml by their ids, and the classes of cost."""
    data = tomllib.loads((shipped() / "whatif.toml").read_text(encoding="utf-8"))
    return {row["id"]: row for row in data["lever"]}, data["cost"]


def levers_of(job: Job, edition: Edition) -> tuple[Lever, ...]:
    """What can be changed at a job, in the order of reference/whatif.toml, from how it is planned, else found."""
    stages = job.stages()
    now = list(stages.values())[-1].job
    return tuple(
        lever for row in rows()[0].values() for lever in _levers(row, job, now, edition) if lever.sizes
    )


def _levers(row: Mapping[str, Any], job: Job, now: Job, edition: Edition) -> Iterator[Lever]:
    def made(
        address: str, was: str, sizes: Sequence[str], changes: Sequence[Mapping[str, Any]], name: str = ""
    ) -> Lever:
        label = row["label"].format(name=name)
        return Lever(
            row["id"], label, address, was, tuple(sizes), tuple(changes), tuple(row["cures"]), row["cost"]
        )

    way = row["way"]
    if way == "no":
        if len(now.face) > 1 and now.use.open_together is not False and all(map(can_shut, now.face)):
            yield made(row["entry"], "yes", ["no"], [{row["entry"]: False}])
    elif way == "table":
        larger = _larger(now, edition)
        yield made(row["entry"], _flue_now(now), larger, [{row["entry"]: name} for name in larger])
    elif way == "floor":
        yield from _floor(row, now, edition, made)
    else:
        for address, spec, value in entries(now):
            if _general(address) == row["entry"] and isinstance(value, Amount):
                values = list(_values(value.value, row, edition))
                low, high = spec.hard or (min(values, default=0), max(values, default=0))
                shown = [spec.show(one, job.units) for one in values if low <= one <= high]
                parts = parse_address(address)
                changes = [{address: size, **beside(job, now, parts)} for size in shown]
                name = next(
                    (part for part, star in zip(parts, row["entry"].split("."), strict=True) if star == "*"),
                    "",
                )
                yield made(address, spec.show(value.value, job.units), shown, changes, name)


def _general(address: str) -> str:
    """An address with * for the names of things."""
    table: type[Table] = Job
    parts = list(parse_address(address))
    place = 0
    while place < len(parts):
        node = table.fields.get(parts[place])
        if not isinstance(node, Sub):
            break
        table = node.table
        if node.many and place + 1 < len(parts):
            place += 1
            parts[place] = "*"
        place += 1
    return ".".join(parts)


def _values(now: Fraction, row: Mapping[str, Any], edition: Edition) -> Iterator[Fraction]:
    """The sizes of a lever: courses from what stands, to the nearest sixteenth; else the marks of a tape, or round figures, beyond it."""
    course = row["step"] == "course"
    step = edition["remedy.course"].number if course else read_quantity(row["step"]).number
    most = _most(row, now, edition)
    less = row["way"] == "less"
    first = (
        now + (-step if less else step)
        if course
        else step * (ceil(now / step) - 1 if less else floor(now / step) + 1)
    )
    for number in range(MOST_STEPS):
        value = first + (-step if less else step) * number
        if abs(value - now) > most:
            return
        yield Fraction(round(value * TAPE), TAPE) if course else value


def _most(row: Mapping[str, Any], now: Fraction, edition: Edition) -> Fraction:
    """How far something may move from what stands: no further than is still a cure, as the remedies of the findings have it."""
    most = read_quantity(row["most"]).number
    return min(most, now * edition[row["share"]].number) if "share" in row else most


def beside(job: Job, now: Job, parts: Sequence[str]) -> dict[str, Any]:
    """What has to be planned with an entry, so that it says which part of the house moves."""
    if parts[0] != "face" or parts[1] not in {face.name for face in job.face}:
        return {}
    planned = next((face for face in job.planned.face if face.name == parts[1]), None)
    if parts[2] == "width":
        moved = planned.jamb_moved if planned else None
        return {join_address(("face", parts[1], "jamb_moved")): moved or "both"}
    if parts[2] == "height":
        address = join_address(("face", parts[1], "opening_above_hearth"))
        over = get(now, address)
        return {address: over.text} if isinstance(over, Amount) else {}
    return {}


def _floor(row: Mapping[str, Any], now: Job, edition: Edition, made: Any) -> Iterator[Lever]:
    """The firebox floor comes up for all faces: each opening is lower by as much, and starts as much higher over its hearth."""
    step = read_quantity(row["step"]).number
    known = [
        (f.name, f.height.value, f.opening_above_hearth.value)
        for f in now.face
        if f.height and f.opening_above_hearth
    ]
    if len(known) < len(now.face):
        return
    sizes, changes = [], []
    most = min((_most(row, height, edition) for _, height, _ in known), default=Fraction(0))
    for number in range(1, int(most / step) + 1):
        up = number * step
        if any(height <= up + 1 for _, height, _ in known):
            break
        change = {}
        for name, height, over in known:
            for key, value in (("height", height - up), ("opening_above_hearth", over + up)):
                address = join_address(("face", name, key))
                change[address] = spec_of(address).show(value, now.units)
        sizes.append(f"by {spec_of('flue.height').show(up, now.units)}")
        changes.append(change)
    yield made("face", "as it is", sizes, changes)


def _flue_now(now: Job) -> str:
    flue = now.flue
    sized = flue.area or flue.inside or flue.diameter
    return sized.text if sized else flue.liner or "not known"


def _larger(now: Job, edition: Edition) -> list[str]:
    """The liners of the edition's tables that are larger than the flue, by area."""
    flue = now.flue
    try:
        here = find_liner(edition, flue.liner)[0] if flue.liner else None
    except (EntryError, Silent):
        here = None
    area = flue.area.value if flue.area else here.area if here else None
    if flue.inside and not flue.area:
        area = flue.inside.a.value * flue.inside.b.value
    if area is None:
        return []
    liners = {liner.name: liner.area for shape in ("round", "rectangular") for liner in edition.liners(shape)}
    return sorted((name for name in liners if liners[name] > area), key=lambda name: liners[name])


def with_changes(job: Job, changes: Sequence[Mapping[str, Any]]) -> Job:
    """The job with changes planned. Raises JobError where they cannot stand together."""
    return Job.from_document(planned(job.document(), changes))


def planned(document: Document, changes: Sequence[Mapping[str, Any]]) -> Document:
    """A job's document with changes in its plan: addresses without `planned`, and what is typed there."""
    document = _named(document)
    for change in changes:
        for address, value in change.items():
            if address.startswith("air.fans.") and not document.get("planned", {}).get("air", {}).get("fans"):
                document = set_entry(document, "planned.air.fans", document["air"]["fans"])
            if address == "flue.liner":
                for size in ("shape", "diameter", "inside", "area", "outside"):
                    document = set_entry(document, f"planned.flue.{size}", None)
            document = set_entry(document, f"planned.{address}", value)
    return document


def _named(document: Document) -> Document:
    """A job's document with a name on every thing, so that a plan can name it."""
    for address, kind in (("nearby", Nearby), ("roof", Roof), ("air.fans", Fan)):
        if things := typed(document, address):
            called = names(things, kind)
            numbered = [{"name": name, **thing} for name, thing in zip(called, things, strict=True)]
            document = set_entry(document, address, numbered)
    return document
