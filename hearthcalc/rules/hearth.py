"""The hearth in front of each face: how far, how thick, and what may lie below."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any, Literal

from msgspec import Struct

from hearthcalc.findings import Finding, Step, Verdict
from hearthcalc.reference import Silent, Value
from hearthcalc.rules.case import Case, Entry, NotKnown, Subject, basis, in_unit, rule, step
from hearthcalc.rules.openings import least_open, opening, openings
from hearthcalc.rules.reading import Reading, at_least, corners, root

Side = Literal["left", "right"]
HearthKey = Literal["hearth.front", "hearth.side"]

WOOD = ("wood", "wood, insulated")


def reach(opening: Fraction, value: Value) -> Fraction:
    """How far hearth must reach for an opening area, in2, by the steps of a value; inches (IRC R1001.10)."""
    for row in value.steps:
        if row.below is None or opening < row.below.number:
            return row.value.number
    return value.number


def reaches(area: Reading, value: Value) -> list[Reading]:
    """The reach that applies, first, then those that the measuring tolerance would bring in."""
    found = [reach(getattr(area, end), value) for end in ("value", "low", "high")]
    return [Reading.exact(limit) for limit in dict.fromkeys(found)]


def raised_addition(
    raised: Fraction, above: Fraction, first: Fraction, first_to: Fraction, each: Fraction, add: Fraction
) -> Fraction:
    """What a raised fire-chamber floor adds to the front of the hearth; all in one unit (NBC 9.22.5.1.(2)).

    Nothing up to `above`; `first` up to `first_to`; then `add` for each further `each`, a part of one counted whole (our reading).
    """
    if raised <= above:
        return Fraction(0)
    return first + max(0, math.ceil((raised - first_to) / each)) * add


def beside_radius(radius: Fraction, depth: Fraction, width: Fraction) -> Fraction:
    """How far past the side of the opening, in its plane, a circle round the centre of the hearth reaches."""
    inside = radius * radius - depth * depth / 4
    return max(Fraction(0), root(inside) - width / 2) if inside > 0 else Fraction(0)


class Limit(Struct, frozen=True):
    """How far hearth must reach: the limit that applies, first, then those that the tolerance lets in; why; on what.

    at_best: what the limit goes by is not known, and these are the easiest ones that it can be.
    """

    limits: tuple[Reading, ...]
    steps: tuple[Step, ...]
    values: tuple[Value, ...]
    at_best: bool = False


def limit_of(case: Case, face: Subject, key: HearthKey) -> Limit:
    """The edition's limit for the hearth at a face, "hearth.front" or "hearth.side", worked out once. Raises NotKnown, Silent."""
    return case.once((key, face.name), lambda mine: _limit(mine, face, key))


def _limit(case: Case, face: Subject, key: HearthKey) -> Limit:
    value = case.edition[key]
    return {
        "by_opening_area": _by_opening_area,
        "single": _single,
        "raised_step": _raised_step,
        "radius": _radius,
        "constructional_and_superimposed": _constructional,
    }[value.method](case, face, key, value)


def _limit_step(case: Case, value: Value, limit: Fraction, numbers: str = "") -> Step:
    shown = case.least(limit)
    return step("reach", value.clause, numbers, in_unit(limit, case.edition.units), case.edition.units, shown)


def _single(case: Case, face: Subject, key: HearthKey, value: Value) -> Limit:
    return Limit((Reading.exact(value.number),), (_limit_step(case, value, value.number),), (value,))


def _by_opening_area(case: Case, face: Subject, key: HearthKey, value: Value) -> Limit:
    """IRC R1001.10: a short reach for an opening below 6 ft2, a longer one from there."""
    try:
        made = opening(case, face)
    except NotKnown:
        least = reach(least_open(case, face), value)
        return Limit((Reading.exact(least),), (), (value,), at_best=True)
    limits = reaches(made.area, value)
    rows = [made.step]
    for edge in (row.below for row in value.steps if row.below):
        sign = ">=" if made.area.value >= edge.number else "<"
        rows.append(
            step(
                f"A_opening {sign} {edge.text} ({case.area(edge.number)})",
                "",
                "",
                in_unit(made.area.value, case.area_unit),
                case.area_unit,
                "",
            )
        )
    rows.append(_limit_step(case, value, limits[0].value))
    return Limit(tuple(limits), tuple(rows), (value,))


def _raised_step(case: Case, face: Subject, key: HearthKey, value: Value) -> Limit:
    """NBC 9.22.5.1: a base, and more in front of a raised fire-chamber floor."""
    keys = ("from", "first", "first_to", "each", "add")
    steps = [case.edition[f"hearth.raised.{name}"] for name in keys]
    raised = case.number(face, "opening_above_hearth").known
    if raised is None:
        rows = (_limit_step(case, value, value.number),)
        return Limit((Reading.exact(value.number),), rows, (value, *steps), at_best=True)
    numbers = [v.number for v in steps]
    limits = [
        value.number + raised_addition(getattr(raised, end), *numbers) for end in ("value", "low", "high")
    ]
    note = f"{value.shown} and what {case.length(raised)} of rise adds"
    return Limit(
        tuple(Reading.exact(limit) for limit in dict.fromkeys(limits)),
        (_limit_step(case, value, limits[0], note),),
        (value, *steps),
    )


def _radius(case: Case, face: Subject, key: HearthKey, value: Value) -> Limit:
    """Swedish guidance: a circle round the centre of the hearth, wider for a raised one, as it reaches past the opening."""
    radius, deep = clear_radius(case, face, value), case.number("firebox", "depth")
    if key == "hearth.front":
        limit, way = corners(lambda r, d: max(Fraction(0), r - d / 2), radius, deep.value), "radius - depth/2"
    else:
        wide = case.number(face, "width")
        limit = corners(beside_radius, radius, deep.value, wide.value)
        way = "circle in the plane of the opening"
    numbers = f"{way}, radius {case.length(radius)}"
    extra = (case.edition["clearance.radius.raised_from"], case.edition["clearance.radius.raised_share"])
    rows = (_limit_step(case, value, limit.value, numbers),)
    return Limit((limit,), rows, (value, *extra), at_best=bool(case.asked.missing))


def _constructional(case: Case, face: Subject, key: HearthKey, value: Value) -> Limit:
    """ADJ Diagrams 24 and 26: the constructional hearth, and on it the clear surface that the superimposed one marks; the larger rules."""
    marked = case.edition[f"{key}.superimposed"]
    limit = max(value.number, marked.number)
    rows = tuple(
        step(name, v.clause, "", in_unit(v.number, case.edition.units), case.edition.units, v.shown)
        for name, v in (("constructional", value), ("superimposed", marked))
    )
    return Limit((Reading.exact(limit),), rows, (value, marked))


def radius_from_centre(base: Fraction, raised: Fraction, above: Fraction, share: Fraction) -> Fraction:
    """Clear radius round the centre of an open hearth whose bottom is so high over the floor (Swedish guidance)."""
    return base + max(Fraction(0), raised - above) * share


def clear_radius(case: Case, face: Subject, value: Value) -> Reading:
    """The clear radius of a face's hearth, by the height of the firebox floor over the room's floor; of one on it where that is missing."""
    above, share = (
        case.edition["clearance.radius.raised_from"],
        case.edition["clearance.radius.raised_share"],
    )
    over, stands = case.number(face, "opening_above_hearth"), case.number(face, "hearth.above_floor")
    if over.known is None or stands.known is None:
        return Reading.exact(value.number)
    return corners(
        lambda height: radius_from_centre(value.number, height, above.number, share.number),
        over.value + stands.value,
    )


def plan(case: Case, face: Subject) -> tuple[str, ...]:
    """The hearth to lay out before this face, as a mason marks it on the floor; nothing where its limits are not known."""
    mine = case.fresh()
    try:
        width = mine.number(face, "width").value
        both = limit_of(mine, face, "hearth.front"), limit_of(mine, face, "hearth.side")
        front, side = (max(limit.value for limit in made.limits) for made in both)
        from_facing = case.edition["hearth.datum"].words[0] == "facing"
        facing = mine.number(face, "hearth.facing").value if from_facing else Reading.exact(0)
    except (NotKnown, Silent):
        return ()
    if any(made.at_best for made in both):
        return ()
    across = width.value + 2 * side
    return (
        f"Lay out a hearth at the {face.name} face {case.least(across)} along the wall ({case.least(side)} past each side "
        f"of the opening) and {case.least(front + facing.value)} out from the opening.",
    )


@rule("hearth.front", "Hearth in front of the opening", each="face")
def front(case: Case, face: Subject) -> Iterator[Finding]:
    """The hearth extension reaches far enough out, from the line the edition measures from (IRC R1001.10)."""
    value, datum = case.edition["hearth.front"], case.edition["hearth.datum"]
    out = case.number(face, "hearth.front")
    made = limit_of(case, face, "hearth.front")
    facing = case.number(face, "hearth.facing") if datum.words[0] == "facing" else None
    short = out.known and at_least(out.known, made.limits[0], made.limits[1:]).verdict is Verdict.SHORT
    if facing and facing.known is None and short:
        facing = None  # too short from the opening is too short from any facing

    def reach_out() -> Reading:
        return out.value - facing.value if facing else out.value

    yield case.judge(
        ">=",
        reach_out,
        made.limits[0],
        others=made.limits[1:],
        at_best=made.at_best,
        what=f"At the {face.name} face the hearth reaches",
        after=" out from the facing" if facing else " out from the opening",
        face=face.name,
        working=made.steps,
        basis=basis(*made.values, datum),
        build=plan(case, face),
        caution="Embers roll and spit: nothing past the hearth may burn.",
    )
    if out.known and (facing is None or facing.known):
        yield from _together(case, face, value, reach_out(), "in front")


@rule("hearth.left", "Hearth past the left side", each="face", asks="hearth.side")
def left(case: Case, face: Subject) -> Iterator[Finding]:
    """The hearth extension reaches far enough past the left side of the opening."""
    yield from _side(case, face, "left")


@rule("hearth.right", "Hearth past the right side", each="face", asks="hearth.side")
def right(case: Case, face: Subject) -> Iterator[Finding]:
    """The hearth extension reaches far enough past the right side of the opening."""
    yield from _side(case, face, "right")


def _side(case: Case, face: Subject, side: Side) -> Iterator[Finding]:
    value = case.edition["hearth.side"]
    past = case.number(face, f"hearth.{side}")
    made = limit_of(case, face, "hearth.side")
    yield case.judge(
        ">=",
        past,
        made.limits[0],
        others=made.limits[1:],
        at_best=made.at_best,
        what=f"At the {face.name} face the hearth reaches",
        after=f" past the {side} side of the opening",
        face=face.name,
        working=made.steps,
        basis=basis(*made.values),
        build=plan(case, face)
        or (
            f"Lay it {case.least(max(limit.value for limit in made.limits))} or more past each side of the opening.",
        ),
    )
    if past.known:
        yield from _together(case, face, value, past.known, f"past the {side} side")


def _together(case: Case, face: Subject, value: Value, out: Reading, where: str) -> Iterator[Finding]:
    """Faces that open together and pass the step only in sum: which hearth that takes, the code does not say."""
    both = next((state for state in case.states if len(state.open) > 1 and face.name in state.open), None)
    if both is None or not value.steps:
        return
    try:
        total = sum((made.area for made in openings(case, map(case.face, both.open))), start=Reading.exact(0))
    except NotKnown:
        return
    alone, larger = reach(opening(case, face).area.value, value), reach(total.value, value)
    if larger == alone:
        return
    met = out.value >= larger
    yield case.finding(
        Verdict.MEETS if met else Verdict.REFER,
        f"With {' and '.join(both.open)} open together, {case.area(total)} is open; added up, that takes {case.least(larger)} {where}. "
        "The code does not say whether openings add up for the hearth: "
        f"{'this one meets that too' if met else 'ask the building official'}.",
        face=face.name,
        state=both.name,
        counts=both.counts,
        basis=basis(value, case.edition["policy.open_faces"]),
    )


@rule("hearth.thickness", "Thickness of the hearth", each="face")
def thickness(case: Case, face: Subject) -> Finding:
    """The hearth extension is thick enough, or thin below a raised opening where the code allows it (IRC R1001.9.2)."""
    full = case.edition["hearth.thickness"]
    thin, raised_from = (
        case.edition.get("hearth.thickness.raised"),
        case.edition.get("hearth.thickness.raised_from"),
    )
    thick = case.number(face, "hearth.thickness")
    common: dict[str, Any] = {
        "what": f"At the {face.name} face the hearth is",
        "after": " thick",
        "face": face.name,
    }
    if supported := case.edition.get("hearth.thickness.supported"):
        return _edge_and_support(case, face, thick, full, supported, common)
    thicken = f"Thicken it to {case.least(full.number)}"
    if thin is None or raised_from is None or (thick.known and thick.known.value >= full.number):
        return case.judge(">=", thick, full.number, basis=basis(full), remedy=(f"{thicken}.",), **common)
    common["basis"] = basis(full, thin, raised_from)
    too_thin = thick.known is not None and thick.known.high < thin.number
    raised = case.number(face, "opening_above_hearth", needed=thick.known is not None and not too_thin)
    if raised.known is None and not too_thin:
        return case.judge(">=", raised if thick.known else thick, full.number, **common)
    if raised.known and raised.known.value >= raised_from.number:
        others = [] if raised.known.low >= raised_from.number else [full.number]
        remedy = (f"Thicken it to {case.least(thin.number)}.",)
        return case.judge(">=", thick, thin.number, others=others, remedy=remedy, **common)
    return case.judge(
        ">=",
        thick,
        full.number,
        others=[thin.number] if raised.known and raised.known.high >= raised_from.number else [],
        remedy=(
            f"{thicken}; {case.least(thin.number)} is enough only where the bottom of the opening "
            f"is {case.least(raised_from.number)} or more above it.",
        ),
        **common,
    )


def _edge_and_support(
    case: Case, face: Subject, thick: Entry[Reading], edge: Value, supported: Value, common: dict[str, Any]
) -> Finding:
    """NBC 9.22.5.2.(1): thick at the supports, thinner at the free edge of a cantilever. One thickness is entered."""
    common["basis"] = basis(edge, supported)
    if thick.known is None or thick.known.high < edge.number:
        remedy = (
            f"Thicken it to {case.least(supported.number)}, or to {case.least(edge.number)} at a free edge.",
        )
        return case.judge(
            ">=", thick, edge.number if thick.known else supported.number, remedy=remedy, **common
        )
    if thick.known.low >= supported.number:
        return case.judge(">=", thick, supported.number, **common)
    lies = case.word(face, "hearth.below").value
    words = case.edition["hearth.below"].words
    if lies in words:
        thicken = f"Thicken it to {case.least(supported.number)} where it is supported."
        return case.judge(">=", thick, supported.number, remedy=(thicken,), **common)
    return case.referred(
        case.judge(">=", thick, edge.number, **common),
        f"That is enough at the free edge of a cantilever; at its supports it takes {case.least(supported.number)}: look there.",
    )


@rule("hearth.below", "What is under the hearth", each="face")
def below(case: Case, face: Subject) -> Finding:
    """What may lie below hearth and extension: by support, by distance, or by how high the opening stands."""
    value = case.edition["hearth.below"]
    lies = case.word(face, "hearth.below").value
    tell = {
        "noncombustible_support": _on_support,
        "distance_to_combustible": _by_distance,
        "raised_over_wood": _raised_over_wood,
        "covering_on_any_floor": _covering,
    }[value.method]
    return tell(case, face, value, lies)


CHARS = "Wood under a hearth chars unseen for years and can take fire with no flame above."
SUPPORT = (
    "Carry a reinforced slab out from the masonry as a cantilever, and take the wood away below it.",
    "Or build a brick trimmer arch from the masonry to a headed-off joist.",
    "Take out the form boards once the slab has cured, and head off the joists clear of it.",
    "An insulation value counts only for listed units, by their listing.",
)


def _on_support(case: Case, face: Subject, value: Value, lies: str) -> Finding:
    """IRC R1001.9: noncombustible support, no wood left against the underside."""
    common: dict[str, Any] = {"face": face.name, "basis": basis(value)}
    where = f"under the hearth at the {face.name} face"
    if lies in value.words:
        return case.finding(Verdict.MEETS, f"{where[0].upper()}{where[1:]}: {lies}.", **common)
    if lies not in WOOD:
        return case.finding(
            Verdict.REFER,
            f"{where[0].upper()}{where[1:]}: {lies}. What carries the hearth there, and is it noncombustible?",
            **common,
        )
    if _thin_and_raised(case, face):
        return case.finding(
            Verdict.REFER,
            f"There is wood {where}, a thin one under a raised opening. The exception that allows the thin hearth does not say what may "
            "be under it: ask the building official.",
            **common,
        )
    return case.finding(
        Verdict.SHORT,
        f"There is wood {where}; it takes noncombustible support and no wood left against the underside, however well it is insulated.",
        remedy=SUPPORT,
        caution=CHARS,
        **common,
    )


def _by_distance(case: Case, face: Subject, value: Value, lies: str) -> Finding:
    """ADJ Diagram 25 and the like: what burns keeps a distance below the top of the hearth, or an air gap below it."""
    to_top, gap = case.edition["hearth.below.to_top"], case.edition.get("hearth.below.gap")
    rests = basis(value, to_top, gap)
    if lies in WOOD:
        return case.judge(
            ">=",
            case.number(face, "hearth.thickness"),
            to_top.number,
            what=f"At the {face.name} face the wood is",
            after=" below the top of the hearth",
            face=face.name,
            basis=rests,
            caution=CHARS,
            remedy=SUPPORT[:3],
        )
    if lies == "air gap":
        asks = (
            f" of at least {gap.shown}"
            if gap
            else f"; what burns below it keeps {to_top.shown} from the top of the hearth"
        )
        return case.finding(
            Verdict.REFER,
            f"There is an air gap under the hearth at the {face.name} face{asks}: measure it, and see what is under it.",
            face=face.name,
            basis=rests,
        )
    return case.finding(
        Verdict.MEETS,
        f"Under the hearth at the {face.name} face: {lies}.",
        face=face.name,
        basis=rests,
    )


def _covering(case: Case, face: Subject, value: Value, lies: str) -> Finding:
    """German FeuVO 4(8): the floor before an open fireplace is covered with what does not burn, whatever lies below."""
    return case.finding(
        Verdict.REFER if lies in WOOD else Verdict.MEETS,
        f"At the {face.name} face the clause takes a noncombustible covering and says nothing about what is under it: {lies}."
        f"{' Whether that covering keeps the wood cool enough is for the building department.' if lies in WOOD else ''}",
        face=face.name,
        basis=basis(value),
        caution=CHARS if lies in WOOD else None,
    )


def _raised_over_wood(case: Case, face: Subject, value: Value, lies: str) -> Finding:
    """NBC 9.22.5.2: a hearth may lie on a floor that burns where the opening is raised, built as CSA A405 says."""
    raised_from = case.edition["hearth.below.raised_from"]
    common: dict[str, Any] = {"face": face.name, "basis": basis(value, raised_from)}
    if lies not in WOOD:
        return _on_support(case, face, value, lies)
    finding = case.judge(
        ">=",
        case.number(face, "opening_above_hearth"),
        raised_from.number,
        what=f"There is wood under the hearth at the {face.name} face; the opening is",
        after=" above the hearth",
        caution=CHARS,
        remedy=SUPPORT[:3],
        **common,
    )
    if finding.verdict is not Verdict.MEETS:
        return finding
    return case.referred(
        finding, "How the hearth is built then follows CSA A405, which this tool does not hold."
    )


def _thin_and_raised(case: Case, face: Subject) -> bool:
    full, raised_from = case.edition.get("hearth.thickness"), case.edition.get("hearth.thickness.raised_from")
    thick = case.number(face, "hearth.thickness", needed=False).known
    raised = case.number(face, "opening_above_hearth", needed=False).known
    return bool(
        full
        and raised_from
        and thick
        and raised
        and thick.value < full.number
        and raised.value >= raised_from.number
    )
