"""What burns, and how near the fire and its masonry it may come."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc import lengths
from hearthcalc.findings import Finding, Step, Verdict
from hearthcalc.reference import Silent, Table, Value, read_table
from hearthcalc.rules.case import Case, Entry, Found, NotKnown, Subject, basis, in_unit, rule, step
from hearthcalc.rules.hearth import HearthKey, clear_radius, limit_of, reach, reaches
from hearthcalc.rules.openings import least_open, openings
from hearthcalc.rules.reading import Reading, corners, root

ON_FRONT = ("mantel", "trim")
IN_GAP = ("framing", "sheathing", "siding", "decking", "insulation")
CHARS = "Wood against warm masonry dries out over the years and catches fire at lower and lower temperatures."
DRIES = "Wood near the opening dries and chars, and can catch fire from heat nobody feels."
RADIANT = "What is too close to an open fire can catch fire from its heat alone."

Tell = Callable[[Case, Subject], Finding | None]


def straight_line(above: Fraction, beside: Fraction) -> Fraction:
    """Distance from the nearest corner of the opening to a thing that is above and beside it."""
    return root(above * above + beside * beside)


def greatest_projection(distance: Fraction, share: Fraction) -> Fraction:
    """How far wood may stand out at a distance from the opening (IRC R1001.11 exception 4)."""
    return distance * share


def least_distance(projection: Fraction, least: Fraction, share: Fraction, zone: Fraction) -> Fraction:
    """How far from the opening wood that stands out so far has to stay; all in one unit (IRC R1001.11 exception 4).

    The clause limits the projection by the distance within the zone; this is the same, said the other way.
    """
    return max(least, min(projection / share, zone))


def burns(case: Case, thing: Subject) -> bool:
    """Does it count as combustible. It does unless entered as not, which is the stricter way."""
    return case.flag(thing, "combustible", needed=False).known is not False


def _is(case: Case, thing: Subject, name: str) -> str | None:
    """What a thing is, or where it is: the words that decide which rule speaks of it."""
    return case.word(thing, name, needed=False).known


def _about(case: Case, thing: Subject) -> dict[str, Any]:
    return {"item": thing.name, "face": _is(case, thing, "face")}


def _harmless(case: Case, thing: Subject, *values: Value | None) -> Finding:
    text = f"The {thing.name} is entered as not combustible; the clause is about what burns."
    return case.finding(Verdict.MEETS, text, basis=basis(*values), **_about(case, thing))


def _aside(case: Case, tell: Tell, thing: Subject) -> Finding | None:
    """What another clause makes of a thing, None where it has nothing to say. The rule in hand rests on what that one read."""
    mine = case.fresh()
    try:
        return tell(mine, thing)
    except NotKnown as lacking:
        return mine.missing(lacking.missing)
    except Silent:
        return None
    finally:
        case.asked.read.update(mine.asked.read)


# On the front of the fireplace


@rule("clearance.mantel", "Mantel", each="nearby")
def mantel(case: Case, thing: Subject) -> Finding | None:
    """A wood mantel is far enough from the opening for how far it stands out (IRC R1001.11 exception 4)."""
    return _on_front(case, thing) if _is(case, thing, "what") == "mantel" else None


@rule("clearance.trim", "Trim on the fireplace front", each="nearby", asks="clearance.mantel")
def trim(case: Case, thing: Subject) -> Finding | None:
    """Wood trim is far enough from the opening for how far it stands out (IRC R1001.11 exception 4)."""
    return _on_front(case, thing) if _is(case, thing, "what") == "trim" else None


class Spot(Struct, frozen=True, dict=True):
    """Where a thing is at an opening, as far as it is known."""

    above: Reading | None
    beside: Reading | None

    @cached_property
    def distance(self) -> Reading | None:
        """The straight line to the nearest edge of the opening."""
        if self.above and self.beside:
            return corners(straight_line, self.above, self.beside)
        return self.above or self.beside

    @property
    def is_above(self) -> bool:
        """Is it higher than the opening, or can it be."""
        return self.above.value > 0 if self.above else self.beside is None

    @property
    def is_beside(self) -> bool:
        return self.beside is not None and self.beside.value > 0

    def steps(self, case: Case) -> tuple[Step, ...]:
        if self.distance is None:
            return ()
        if self.above and self.beside and self.is_above and self.is_beside:
            way = "straight line to the nearest corner"
            numbers = f"root of ({case.length(self.above)})2 + ({case.length(self.beside)})2"
        else:
            way, numbers = "beside" if self.is_beside else "above", ""
        return (_length_step(case, "distance", way, numbers, self.distance),)


def _length_step(case: Case, symbol: str, expression: str, numbers: str, value: Reading) -> Step:
    units = case.edition.units
    return step(symbol, expression, numbers, in_unit(value.value, units), units, case.length(value))


class Front(Struct, frozen=True):
    """How far from the opening a thing has to stay: the limit that applies first, then those that may come in.

    allowed: how far a thing may stand out at a distance, None where that is no matter.
    """

    limits: Sequence[Reading]
    values: tuple[Value, ...]
    allowed: Callable[[Fraction], Fraction] | None = None
    steps: tuple[Step, ...] = ()


def _on_front(case: Case, thing: Subject) -> Finding | None:
    if _is(case, thing, "at") not in (None, "firebox front"):
        return None
    face = case.word(thing, "face")
    method, least = case.edition["clearance.mantel"], case.edition["clearance.mantel.least"]
    if not burns(case, thing):
        return _harmless(case, thing, method)
    beside = case.number(thing, "beside", needed=False)
    above = case.number(thing, "above", needed=beside.known is None)
    spot = Spot(above.known, beside.known)
    if face.known and spot.distance is None and _may_touch(case, thing):
        return None
    far_too_near = spot.distance is not None and spot.distance.high < least.number
    asks = {"single": False, "by_projection": spot.is_above}.get(method.method, True)
    out = case.number(thing, "projection", needed=asks and not far_too_near)
    front = {
        "single": _single,
        "by_projection": _by_projection,
        "sliding_projection": _sliding,
    }[method.method](case, spot, out, (method, least))

    def distance() -> Reading:
        case.all_known()
        assert spot.distance is not None
        return spot.distance

    standing = f", standing out {case.length(out.known)}" if front.allowed and out.known else ""
    return case.judge(
        ">=",
        distance,
        front.limits[0],
        others=front.limits[1:],
        what=f"The {thing.name}{standing}:",
        after=" from the opening",
        working=(*spot.steps(case), *front.steps),
        basis=basis(*front.values),
        caution=DRIES,
        build=_room_for(case, spot, out, front),
        remedy=lambda: _move_or_cut(case, thing, spot, front, least),
        item=thing.name,
        face=face.known,
    )


def _may_touch(case: Case, thing: Subject) -> bool:
    """Does the clause on what touches the masonry let it be where it is."""
    touching = _aside(case, _touching, thing)
    return touching is not None and touching.verdict is Verdict.MEETS


def _single(case: Case, spot: Spot, out: Entry[Reading], values: tuple[Value, Value]) -> Front:
    return Front([Reading.exact(values[1].number)], values)


def _sliding(case: Case, spot: Spot, out: Entry[Reading], values: tuple[Value, Value]) -> Front:
    """IRC R1001.11 exception 4: within the zone, so much projection for each inch of distance."""
    side_from = case.edition.get("clearance.mantel.side_from")
    if side_from and spot.is_beside:
        return _at_side(spot, out, (*values, side_from))
    zone, share = case.edition["clearance.mantel.zone"], case.edition["clearance.mantel.projection"]
    least, rests = values[1].number, (*values, zone, share)

    def allowed(distance: Fraction) -> Fraction:
        return greatest_projection(distance, share.number)

    if out.known is None:
        return Front([Reading.exact(least), Reading.exact(zone.number)], rests, allowed)
    limit = corners(
        lambda projection: least_distance(projection, least, share.number, zone.number), out.known
    )
    numbers = f"{case.length(out.known)} / ({share.shown}), {case.least(least)} to {case.least(zone.number)}"
    steps = (_length_step(case, "least distance", f"projection / ({share.shown})", numbers, limit),)
    distance, outside = spot.distance, allowed(zone.number) < out.known.value
    if distance and outside and distance.low < zone.number <= distance.value:
        # only what is outside the zone for sure may stand out as far as it likes
        sure = Reading.exact(zone.number + distance.value - distance.low)
        return Front([limit, sure], rests, allowed, steps)
    return Front([limit], rests, allowed, steps)


def _at_side(spot: Spot, out: Entry[Reading], values: tuple[Value, Value, Value]) -> Front:
    """IBC 2111.12 exception 4: beside the opening, wood that stands out far keeps away by as much more as it stands out."""
    least, side_from = values[1].number, values[2].number

    def allowed(distance: Fraction) -> Fraction:
        return max(side_from, distance - least)

    if out.known is None:
        return Front([Reading.exact(least)], values, allowed)
    near, far = Reading.exact(least), out.known + least
    limits = [far, near] if out.known.value > side_from else [near, far]
    in_doubt = out.known.low <= side_from < out.known.high
    return Front(limits if in_doubt else limits[:1], values, allowed)


def _by_projection(case: Case, spot: Spot, out: Entry[Reading], values: tuple[Value, Value]) -> Front:
    """NBC 9.22.9.1: one distance from the opening, and a larger one above it for what stands out further."""
    flat, far = case.edition["clearance.mantel.flat"], case.edition["clearance.mantel.projecting"]
    rests = (*values, flat, far)
    near, further = Reading.exact(values[1].number), Reading.exact(far.number)
    if not spot.is_above:
        return Front([near], rests)
    if out.known is None:
        return Front([near, further], rests, lambda _: flat.number)
    asked = [
        further if end > flat.number else near for end in (out.known.value, out.known.low, out.known.high)
    ]
    return Front(list(dict.fromkeys(asked)), rests, lambda _: flat.number)


def _room_for(case: Case, spot: Spot, out: Entry[Reading], front: Front) -> tuple[str, ...]:
    """How far a thing may stand out where it is, while that is not measured."""
    if out.known or front.allowed is None or spot.distance is None:
        return ()
    if len(front.limits) > 1 and spot.distance.value >= front.limits[1].value:
        return ()
    most = lengths.show_limit(front.allowed(spot.distance.value), case.unit, op="<=")
    return (f"Where it is, let it stand out no more than {most}.",)


def _move_or_cut(case: Case, thing: Subject, spot: Spot, front: Front, least: Value) -> tuple[str, ...]:
    move = _move(case, thing, max(limit.value for limit in front.limits))
    if front.allowed is None or spot.distance is None or spot.distance.value < least.number:
        return (move,)
    most = lengths.show_limit(front.allowed(spot.distance.value), case.unit, op="<=")
    return (move, f"Or cut its projection to {most} where it is.")


def _move(case: Case, thing: Subject, distance: Fraction) -> str:
    return (
        f"Move the {thing.name} to {case.least(distance)} or more from the opening, "
        "or make it of something that does not burn."
    )


# Beside the masonry: a clear space, or contact where the code allows it


@rule("clearance.framing", "Clearance to the firebox", each="nearby", asks="clearance.framing.back")
def framing(case: Case, thing: Subject) -> Finding | None:
    """What burns keeps clear of the fireplace's front, sides and back, the space left empty (IRC R1001.11)."""
    what, at = _is(case, thing, "what"), _is(case, thing, "at")
    if what is None or at == "chimney" or (at is None and what not in IN_GAP):
        return None
    if at == "firebox front" and what in ON_FRONT:
        return None
    return _unless_touching(case, thing)


@rule("clearance.chimney", "Clearance to the chimney", each="nearby", asks="clearance.chimney.inside")
def chimney(case: Case, thing: Subject) -> Finding | None:
    """What burns keeps clear of the chimney, by where the chimney stands, the space left empty (IRC R1003.18)."""
    what = _is(case, thing, "what")
    if what is None or _is(case, thing, "at") != "chimney" or _finish(case, thing):
        return None
    return _unless_touching(case, thing)


def _unless_touching(case: Case, thing: Subject) -> Finding | None:
    """The finding on the clear space, where it is that and not the contact that decides."""
    touching = _aside(case, _touching, thing)
    gap = case.number(thing, "gap")
    if touching and (gap.known is None or touching.verdict in (Verdict.MEETS, Verdict.MEASURE)):
        finding = _aside(case, _beside, thing)
        return finding if finding and finding.verdict is Verdict.MEETS else None
    return _beside(case, thing)


def _beside(case: Case, thing: Subject) -> Finding:
    """What the clause on the clear space makes of a thing beside the masonry."""
    at = case.word(thing, "at")
    if at.known == "chimney":
        return _beside_chimney(case, thing)
    if at.known is None:
        return _beside_somewhere(case, thing)
    where = at.known.removeprefix("firebox ")
    limit = case.edition[f"clearance.framing.{where}"]
    in_wall = case.edition.get("clearance.framing.exterior_wall")
    by_place = dict.fromkeys(PLACES, limit)
    if in_wall and where != "front":
        by_place["in the outside wall"] = in_wall
    fill = case.edition.get("clearance.framing.fill")
    finding = _gap(case, thing, by_place, fill, f"the {where} of the fireplace")
    return _excused(case, thing, finding, "firebox")


def _beside_somewhere(case: Case, thing: Subject) -> Finding:
    """A thing that is somewhere at the masonry: what can be asked of it, until it is said where."""
    stated = [case.edition.get(f"clearance.framing.{where}") for where in ("back", "side", "front")]
    values = [value for value in stated if value] or [case.edition["clearance.framing.back"]]
    if not burns(case, thing):
        return _harmless(case, thing, *values)
    numbers = sorted({value.number for value in values}, reverse=True)
    case.number(thing, "gap")

    def clear() -> Reading:
        raise NotKnown(tuple(case.asked.missing))  # where it is, whatever else is known

    return case.judge(
        ">=",
        clear,
        numbers[0],
        others=numbers[1:],
        what=f"The {thing.name}:",
        after=" clear of the masonry",
        basis=basis(*values),
        build=("Say which masonry it is beside. For a thing at the masonry, enter that in place of a face.",)
        if _is(case, thing, "face")
        else (),
        **_about(case, thing),
    )


PLACES = {"inside": "inside", "in the outside wall": "in_wall", "outside": "outside"}


def by_chimney_place(case: Case) -> dict[str, Value]:
    """What has to be clear beside a chimney, by where it stands. A chimney that only passes a soffit or a cornice stands outside."""
    return {place: case.edition[f"clearance.chimney.{key}"] for place, key in PLACES.items()}


def _beside_chimney(case: Case, thing: Subject) -> Finding:
    by_place = by_chimney_place(case)
    place = case.word("flue", "place", needed=False).known
    where = {
        "inside": "the chimney inside the house",
        "outside": "the chimney outside the house",
        "in the outside wall": "the chimney in the outside wall",
    }.get(place or "", "the chimney, wherever that stands,")
    finding = _gap(case, thing, by_place, case.edition.get("clearance.chimney.fill"), where)
    inside = by_place["inside"]
    gap = case.number(thing, "gap").known
    close = finding.verdict is Verdict.MEETS and gap is not None and gap.value < inside.number
    if place == "outside" and close and enclosed(case):
        return no_longer_outside(case, finding, by_place)
    return _excused(case, thing, finding, "chimney")


def no_longer_outside(case: Case, finding: Finding, by_place: Mapping[str, Value]) -> Finding:
    """A clear space that is enough outside only, beside a chimney that the plan may close in: a person decides."""
    outside, inside = by_place["outside"], by_place["inside"]
    return case.referred(
        finding,
        "The plan puts a roof around the chimney. A chimney that only passes a soffit or cornice is still outside, with "
        f"{case.least(outside.number)}; one that a room closes in is no longer entirely outside, and takes "
        f"{case.least(inside.number)}. The building official decides.",
        basis=basis(outside, inside),
    )


def enclosed(case: Case) -> bool:
    """Can a roof that is planned round the chimney close it in."""
    if not case.planned:
        return False
    before = case.before()
    return any(
        case.flag(roof, "passes_through").known is not False
        for roof in case.roofs
        if not (case.stood(roof) and before.peek(roof, "passes_through"))
    )


def standing(case: Case, gap: Reading | None, by_place: Mapping[str, Value]) -> list[Value]:
    """The clear space that applies, first, then those that apply if the chimney stands elsewhere, the largest first."""
    values = sorted(
        {value.number: value for value in by_place.values()}.values(), key=lambda v: v.number, reverse=True
    )
    if len(values) == 1:
        return values
    most, *_, least = values
    enough = gap is not None and gap.value >= most.number
    too_little = gap is not None and gap.high < least.number
    place = case.word("flue", "place", needed=not (enough or too_little))
    if place.known:
        return [by_place[place.known]]
    return [most] if enough else [least] if too_little else values


def _gap(
    case: Case, thing: Subject, by_place: Mapping[str, Value], fill: Value | None, where: str
) -> Finding:
    """The clear space between a thing and the masonry, and that it is empty."""
    gap = case.number(thing, "gap")
    if not burns(case, thing):
        return _harmless(case, thing, next(iter(by_place.values())))
    limits = standing(case, gap.known, by_place)
    short = gap.known is not None and gap.known.high < limits[0].number
    filled = case.flag(thing, "filled", needed=fill is not None and not short)
    need = case.least(limits[0].number)
    move = "Head the framing off" if _is(case, thing, "what") == "framing" else f"Cut the {thing.name} back"

    def clear() -> Reading:
        case.all_known()
        return gap.value

    common: dict[str, Any] = {"basis": basis(*limits, fill), "caution": CHARS, **_about(case, thing)}
    finding = case.judge(
        ">=",
        clear,
        limits[0].number,
        others=[limit.number for limit in limits[1:]],
        what=f"From {where} to the {thing.name} it is",
        after=" clear",
        build=(f"{move} to {need} clear of the masonry, and keep the space empty.",),
        **common,
    )
    return _filled(case, finding, fill, common) if fill and filled.known else finding


def _filled(case: Case, finding: Finding, fill: Value, common: Mapping[str, Any]) -> Finding:
    """The same where something is in the space."""
    if fill.words[0] == "noncombustible":
        if finding.verdict in (Verdict.SHORT, Verdict.MEASURE):
            return finding
        return case.referred(
            finding,
            "The space is filled: with what? Only noncombustible material may be in it.",
            caution=CHARS,
        )
    text = f"{finding.text} The space is filled, and {fill.words[0]} may be in it."
    empty = "Clear the space out, and close it only with fireblocking at the floors and ceilings."
    if finding.verdict is Verdict.SHORT:
        return replace(finding, text=text, remedy=(*finding.remedy, empty))
    return case.finding(
        Verdict.SHORT, text, required=finding.required, remedy=(*finding.remedy, empty), **common
    )


def _excused(case: Case, thing: Subject, finding: Finding, part: str) -> Finding:
    """A clear space that is too small, where another clause may allow it: a person decides on that."""
    if finding.verdict is not Verdict.SHORT:
        return finding
    exempt, what = case.edition.get("clearance.exempt"), _is(case, thing, "what")
    if exempt and what in exempt.words:
        return case.referred(
            finding,
            "The clause leaves out floorboards, skirtings, dado and picture rails, mantel shelves and architraves: "
            "is this one of them?",
            basis=(*finding.basis, exempt.basis()),
        )
    beam, gap = case.edition.get("clearance.chimney.beam"), case.number(thing, "gap").known
    if beam and part == "chimney" and what == "framing" and gap and gap.value >= beam.number:
        return case.referred(
            finding,
            f"A single beam needs only {case.least(beam.number)}: is this one?",
            basis=(*finding.basis, beam.basis()),
        )
    listed = case.word("flue", "lining", needed=False).known not in ("clay", "unlined")
    if part == "chimney" and listed and case.flag("chimney", "contact_listed", needed=False).known:
        return case.referred(
            finding,
            "But the liner is entered as listed for a chimney that wood may touch: its papers say which, and what it takes.",
        )
    if part != "chimney" and case.flag("fireplace", "contact_listed", needed=False).known:
        return case.referred(
            finding,
            "But the fireplace is entered as a listed unit that wood may touch: its papers say where, and with what.",
        )
    return _in_masonry_wall(case, thing, finding, part)


def _in_masonry_wall(case: Case, thing: Subject, finding: Finding, part: str) -> Finding:
    """IRC R1001.11 and R1003.18, exceptions 2: fireplace and chimney as part of a masonry wall, which wood may touch further off."""
    wall = case.edition.get(f"clearance.masonry_wall.{part}")
    if wall is None:
        return finding
    away, gap = case.number(thing, "from_lining", needed=False).known, case.number(thing, "gap").known
    lining, whole = ("flue", "chimney") if part == "chimney" else ("firebox", "fireplace")
    need = case.least(wall.number)
    rests = (*finding.basis, wall.basis())
    touches = case.flag(thing, "masonry_wall").known
    if touches is False:
        return finding
    if touches and away:
        return case.judge(
            ">=",
            away,
            wall.number,
            what=f"The {thing.name} touches a masonry wall that the {whole} is part of; to the inside of the {lining} lining it is",
            basis=rests,
            caution=CHARS,
            remedy=(f"Cut the {thing.name} back to {need} or more from the inside of the {lining} lining.",),
            **_about(case, thing),
        )
    if touches and gap and gap.value == 0:
        case.number(thing, "from_lining")
        case.all_known()
    if away and away.value >= wall.number:
        return case.referred(
            finding,
            f"But a {whole} can be part of a masonry or concrete wall, and wood may touch that wall {need} or more from the "
            f"inside of the {lining} lining; this is {case.length(away)} away. Is it that wall it touches, or the {whole}'s "
            "own masonry? The building official decides.",
            basis=rests,
        )
    if away is None and gap and gap.value == 0:
        note = (
            f"If the {whole} is part of a masonry or concrete wall, and it is that wall the {thing.name} touches, "
            f"{need} to the inside of the {lining} lining counts instead: measure that."
        )
        return replace(finding, text=f"{finding.text} {note}", basis=rests)
    return finding


@rule("clearance.abutting", "Contact with the masonry", each="nearby", asks="clearance.abutting.firebox")
def abutting(case: Case, thing: Subject) -> Finding | None:
    """The code names what may touch the masonry, and how far from the lining (IRC R1001.11 exception 3, R1003.18 exception 3)."""
    beside = _aside(case, _beside, thing) if _is(case, thing, "at") else None
    if beside and beside.verdict is Verdict.MEETS:
        finding = _aside(case, _touching, thing)
        return finding if finding and finding.verdict is Verdict.MEETS else None
    return _touching(case, thing)


def _touching(case: Case, thing: Subject) -> Finding | None:
    """What the clause on contact makes of a thing, None where it does not touch or is not said to."""
    what, at = _is(case, thing, "what"), _is(case, thing, "at")
    if what is None or (at is None and _is(case, thing, "face") is None):
        return None
    if at == "firebox front" and what in ON_FRONT:
        return None
    part = "chimney" if at == "chimney" else "firebox"
    refused = _refused(case, thing, part)
    gap = case.number(thing, "gap", needed=False).known
    stated = f"clearance.abutting.{part}" in case.edition.values
    touches = stated and not refused and at is not None and gap is not None and gap.value == 0
    away = case.number(thing, "from_lining", needed=touches)
    if away.known is None and not (touches and burns(case, thing)):
        return None
    limit = case.edition[f"clearance.abutting.{part}"]
    names = case.edition.get(f"clearance.abutting.{part}.names")
    if not burns(case, thing):
        return _harmless(case, thing, limit)
    if refused:
        return _may_not_touch(case, thing, part, refused, (limit, names))
    limits = _abutting_limits(case, thing, limit)
    lining = "flue" if part == "chimney" else "firebox"
    need = case.least(max(one.value for one in limits))
    return case.judge(
        ">=",
        away,
        limits[0],
        others=limits[1:],
        at_best=True,
        what=f"The {thing.name} touches the masonry; to the inside of the {lining} lining it is",
        after=f" to the inside of the {lining} lining" if away.known is None else "",
        basis=basis(limit, names),
        caution=CHARS,
        remedy=(f"Cut the {thing.name} back to {need} or more from the inside of the {lining} lining.",),
        **_about(case, thing),
    )


def _abutting_limits(case: Case, thing: Subject, limit: Value) -> Sequence[Reading]:
    """What a value gives for the opening, then what the tolerance lets in; the least that it can give where the opening is not known."""
    if len(limit.steps) < 2:
        return reaches(Reading.exact(0), limit)
    try:
        return reaches(_governing(case, thing), limit)
    except NotKnown:
        return [Reading.exact(reach(max(least_open(case, face) for face in _faces_of(case, thing)), limit))]


def _refused(case: Case, thing: Subject, part: str) -> str:
    """Why a thing may not touch the masonry, "" where the clause lets it."""
    names = case.edition.get(f"clearance.abutting.{part}.names")
    where = case.edition.get("clearance.abutting.firebox.where")
    what, at = _is(case, thing, "what"), _is(case, thing, "at")
    whole = {"chimney": "chimney", "firebox": "fireplace"}[part]
    if names and what not in names.words:
        return f"Only {', '.join(names.words)} may touch the {whole}; the {thing.name} is {what}."
    if where and part == "firebox" and at and at not in where.words:
        side = at.removeprefix("firebox ")
        return f"Trim and the edges of sheathing may touch the sides of the fireplace and the hearth, not its {side}."
    return ""


def _may_not_touch(
    case: Case, thing: Subject, part: str, refused: str, values: tuple[Value, Value | None]
) -> Finding:
    common: dict[str, Any] = {"basis": basis(*values), **_about(case, thing)}
    if values[0].method == "named_only":
        return case.finding(Verdict.REFER, f"{refused} Ask the building official.", **common)
    beside = _aside(case, _beside, thing) if _is(case, thing, "at") else None
    finding = case.finding(
        Verdict.SHORT,
        refused,
        caution=CHARS,
        required=beside.required if beside else None,
        remedy=(beside.remedy if beside else ()) or (f"Cut the {thing.name} back clear of the masonry.",),
        **common,
    )
    if part != "chimney" and case.flag("fireplace", "contact_listed").known:
        return case.referred(
            finding,
            "But the fireplace is entered as a listed unit that wood may touch: its papers say where, and with what.",
        )
    return _in_masonry_wall(case, thing, finding, part)


def _governing(case: Case, thing: Subject) -> Reading:
    """The opening area that a thing is judged by: its face's, or the largest of all."""
    return max((made.area for made in openings(case, _faces_of(case, thing))), key=lambda area: area.value)


def _faces_of(case: Case, thing: Subject) -> list[Subject]:
    """The face that a thing is at, or all of them."""
    name = _is(case, thing, "face")
    return [case.face(name)] if name else list(case.faces)


# In front of the opening and round it


def _finish(case: Case, thing: Subject) -> Value | None:
    """What a floor or a ceiling keeps clear of the chimney, where the edition has a figure of its own for that."""
    finish = case.edition.get("clearance.chimney.finish")
    at_chimney = _is(case, thing, "at") == "chimney" and _is(case, thing, "what") in ("floor", "ceiling")
    return finish if at_chimney else None


def _elsewhere(case: Case, thing: Subject) -> Finding | None:
    """Walls, floors, ceilings, furniture: by distance from the opening or from the center of the hearth, where the edition speaks."""
    assert case.rule is not None
    mine = case.rule.id.removeprefix("clearance.")
    what = case.word(thing, "what", needed=mine == "other")
    case.all_known()
    if what.known != mine and not (mine == "other" and _by_other(case, thing)):
        return None
    finish = _finish(case, thing)
    if finish:
        return _gap(case, thing, dict.fromkeys(PLACES, finish), None, "the chimney")
    if _is(case, thing, "at") or _may_touch(case, thing):
        return None
    protection = case.word(thing, "protection", needed=False).known
    if case.rule.id not in case.edition.values and protection not in (None, "none"):
        return _behind_protection(case, thing, str(protection))
    if mine == "floor" and case.rule.id not in case.edition.values and "hearth.front" in case.edition.values:
        return _past_the_hearth(case, thing)
    value = case.edition[case.rule.id]
    if not burns(case, thing):
        return _harmless(case, thing, value)
    return (_from_center if value.method == "from_hearth_centre" else _from_opening)(case, thing, value)


def _past_the_hearth(case: Case, thing: Subject) -> Finding:
    """Floor that burns before an opening begins where the hearth may end, in front or beside (IRC R1001.10)."""
    front, datum = case.edition["hearth.front"], case.edition["hearth.datum"]
    if not burns(case, thing):
        return _harmless(case, thing, front)
    face = case.face(case.word(thing, "face").value)
    beside = case.number(thing, "beside", needed=False)
    ahead = case.number(thing, "ahead", needed=beside.known is None)
    facing = case.number(face, "hearth.facing") if datum.words[0] == "facing" and ahead.known else None

    def past(key: HearthKey, found: Found, where: str, *more: Value) -> Finding:
        made = limit_of(case, face, key)
        return case.judge(
            ">=",
            found,
            made.limits[0],
            others=made.limits[1:],
            at_best=made.at_best,
            what=f"{where} it is",
            after=f" to the {thing.name}",
            working=made.steps,
            basis=basis(*made.values, *more),
            caution="Embers roll and spit: nothing past the hearth may burn.",
            build=(f"{where} take it back to {case.least(max(limit.value for limit in made.limits))}.",),
            item=thing.name,
            face=face.name,
        )

    told = [past("hearth.side", beside, "Past the side of the opening")] if beside.known else []
    if ahead.known or not told:
        line = "In front of the facing" if facing else "In front of the opening"
        told.append(
            past("hearth.front", lambda: ahead.value - facing.value if facing else ahead.value, line, datum)
        )
    return min(told, key=lambda finding: list(Verdict).index(finding.verdict))


def _by_other(case: Case, thing: Subject) -> bool:
    """Framing and the like before an opening, where the edition has one figure for whatever burns there."""
    return (
        _is(case, thing, "what") in IN_GAP
        and _is(case, thing, "face") is not None
        and "clearance.other" in case.edition.values
    )


def _from_opening(case: Case, thing: Subject, value: Value) -> Finding:
    """FeuVO 4(9): so far from the opening, upward or to the sides."""
    face = case.word(thing, "face")
    above = case.number(thing, "above", needed=False)
    ahead = case.number(thing, "ahead", needed=False)
    beside = case.number(thing, "beside", needed=above.known is None and ahead.known is None)
    reach = [reading for reading in (above.known, beside.known) if reading]
    context: dict[str, Any] = {"item": thing.name, "face": face.known}
    if face.known and ahead.known and not reach:
        return case.finding(
            Verdict.REFER,
            f"The {thing.name} is ahead of the opening; the clause gives {case.least(value.number)} above and beside it.",
            basis=basis(value),
            **context,
        )

    def distance() -> Reading:
        case.all_known()
        return max(reach, key=lambda reading: reading.value)

    finding = case.judge(
        ">=",
        distance,
        value.number,
        what=f"The {thing.name}:",
        after=" from the opening",
        basis=basis(value),
        caution=RADIANT,
        remedy=(_move(case, thing, value.number),),
        **context,
    )
    return _shielded(case, thing, finding, reach)


def _shielded(case: Case, thing: Subject, finding: Finding, reach: Sequence[Reading]) -> Finding:
    shielded = case.edition.get("clearance.shielded")
    protection = case.word(thing, "protection").known
    if finding.verdict is not Verdict.SHORT or not shielded or protection in (None, "none"):
        return finding
    if max(reading.value for reading in reach) < shielded.number:
        return finding
    return case.referred(
        finding,
        f"Behind a shield that is open to air on both sides, {case.least(shielded.number)} is enough: is this one?",
        basis=(*finding.basis, shielded.basis()),
    )


def reduced_clearance(
    table: Table, unprotected: int, protection: str, place: Literal["above", "sides"]
) -> Fraction | None:
    """The clearance of an appliance behind a protection, inches; None where the table allows none (IRC Table M1306.2).

    unprotected: 36, 18, 12, 9 or 6 in.  Raises KeyError for a protection or a clearance that is not in the table.
    """
    rows = {row["protection"]: row for row in table.rows}
    cell = rows[protection][f"{unprotected}_{place}"]
    return None if cell == "none" else Fraction(cell)


def _behind_protection(case: Case, thing: Subject, protection: str) -> Finding:
    """The table of reduced clearances is for appliances: told beside an open fireplace, but not applied to it."""
    assert case.rule is not None
    value, least = case.edition.get("clearance.reduction"), case.edition.get("clearance.reduction.solid_fuel")
    if value is None or least is None:
        raise Silent(case.rule.id)
    common: dict[str, Any] = {"basis": basis(value, least), **_about(case, thing)}
    table = read_table(case.edition.folder, value.table)
    known = [row["protection"] for row in table.rows]
    if protection not in known:
        return case.finding(
            Verdict.REFER,
            f"The protection entered is not a row of {value.clause}. Rows: {', '.join(known)}.",
            **common,
        )
    place: Literal["above", "sides"] = "above" if _is(case, thing, "what") == "ceiling" else "sides"
    reduced = reduced_clearance(table, 36, protection, place)
    told = (
        "allows no less than 36 in"
        if reduced is None
        else f"brings 36 in down to {case.length(max(reduced, least.number))}"
    )
    return case.finding(
        Verdict.REFER,
        f"For an appliance such a shield {told} ({value.clause}), and for solid fuel never below "
        f"{case.least(least.number)}. That table is for appliances; on an open fireplace the code says nothing here. "
        "Ask the building official.",
        **common,
    )


def _from_center(case: Case, thing: Subject, value: Value) -> Finding:
    """Swedish guidance: outside a circle around the center of the hearth."""
    face = case.face(case.word(thing, "face").value)
    deep, width = case.number("firebox", "depth"), case.number(face, "width")
    ahead = case.number(thing, "ahead", needed=False)
    beside = case.number(thing, "beside", needed=ahead.known is None)
    radius = clear_radius(case, face, value)

    def away() -> Reading:
        if not (ahead.known or beside.known):
            case.all_known()
        forward = deep.value * Fraction(1, 2) + (ahead.known or Reading.exact(0))
        sideways = width.value * Fraction(1, 2) + beside.known if beside.known else Reading.exact(0)
        return corners(straight_line, forward, sideways)

    return case.judge(
        ">=",
        away,
        radius,
        at_best=True,
        what=f"The {thing.name}:",
        after=" from the center of the hearth",
        basis=basis(value),
        caution=RADIANT,
        remedy=(
            f"Move the {thing.name} to {case.least(radius.value)} or more from the center of the hearth.",
        ),
        item=thing.name,
        face=face.name,
    )


for _what, _title in {
    "wall": "Walls near the fire",
    "floor": "Combustible floor near the fire",
    "ceiling": "Ceiling near the fire",
    "furniture": "Furniture near the fire",
    "other": "Other things near the fire",
}.items():
    rule(f"clearance.{_what}", _title, each="nearby")(_elsewhere)
