"""The hearth in front of each face: how far, how thick, and what may lie below."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Literal

from hearthcalc.findings import Finding, Step, Verdict
from hearthcalc.job import Face
from hearthcalc.reference import Silent, Value
from hearthcalc.rules.case import Case, NotKnown, Path, basis, in_unit, of, rule, step
from hearthcalc.rules.openings import area_step, entries, opening_area
from hearthcalc.rules.reading import Reading, corners, root

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


@dataclass(frozen=True, slots=True)
class Asked:
    """How far hearth must reach: the limit that applies, first, then those that the tolerance lets in; why; on what."""

    limits: tuple[Reading, ...]
    steps: tuple[Step, ...]
    values: tuple[Value, ...]


def asked(case: Case, face: Face, key: HearthKey) -> Asked:
    """What the edition asks of the hearth at a face, "hearth.front" or "hearth.side". Raises NotKnown, Silent."""
    value = case.edition[key]
    return {
        "by_opening_area": _by_opening_area,
        "single": _single,
        "raised_step": _raised_step,
        "radius": _radius,
        "constructional_and_superimposed": _constructional,
    }[value.method](case, face, key, value)


def needed(face: Face, value: Value) -> tuple[Path, ...]:
    """The entries that the edition's way of asking needs, besides the hearth's own."""
    mine = of(face)
    if value.method == "by_opening_area":
        return entries(face)
    if value.method == "raised_step":
        return ((*mine, "opening_above_hearth"),)
    if value.method == "radius":
        return (
            (*mine, "width"),
            ("firebox", "depth"),
            (*mine, "opening_above_hearth"),
            (*mine, "hearth", "above_floor"),
        )
    return ()


def _limit_step(case: Case, value: Value, limit: Fraction, numbers: str = "") -> Step:
    shown = case.least(limit)
    return step("reach", value.clause, numbers, in_unit(limit, case.edition.units), case.edition.units, shown)


def _single(case: Case, face: Face, key: HearthKey, value: Value) -> Asked:
    return Asked((Reading.exact(value.number),), (_limit_step(case, value, value.number),), (value,))


def _by_opening_area(case: Case, face: Face, key: HearthKey, value: Value) -> Asked:
    """IRC R1001.10: a short reach for an opening below 6 ft2, a longer one from there."""
    area = opening_area(case, face)
    limits = reaches(area, value)
    rows = [area_step(case, face, area)]
    for edge in (row.below for row in value.steps if row.below):
        sign = ">=" if area.value >= edge.number else "<"
        rows.append(
            step(
                f"A_opening {sign} {edge.text} ({case.area(edge.number)})",
                "",
                "",
                in_unit(area.value, case.area_unit),
                case.area_unit,
                "",
            )
        )
    rows.append(_limit_step(case, value, limits[0].value))
    return Asked(tuple(limits), tuple(rows), (value,))


def _raised_step(case: Case, face: Face, key: HearthKey, value: Value) -> Asked:
    """NBC 9.22.5.1: a base, and more in front of a raised fire-chamber floor."""
    keys = ("from", "first", "first_to", "each", "add")
    steps = [case.edition[f"hearth.raised.{name}"] for name in keys]
    (raised,) = case.need(of(face), "opening_above_hearth")
    numbers = [v.number for v in steps]
    limits = [
        value.number + raised_addition(getattr(raised, end), *numbers) for end in ("value", "low", "high")
    ]
    note = f"{value.shown} and what {case.length(raised)} of rise adds"
    return Asked(
        tuple(Reading.exact(limit) for limit in dict.fromkeys(limits)),
        (_limit_step(case, value, limits[0], note),),
        (value, *steps),
    )


def _radius(case: Case, face: Face, key: HearthKey, value: Value) -> Asked:
    """Swedish guidance: a circle round the centre of the hearth, wider for a raised one, as it reaches past the opening."""
    radius = clear_radius(case, face, value)
    (depth,) = case.need(("firebox",), "depth")
    (width,) = case.need(of(face), "width")
    if key == "hearth.front":
        limit, way = corners(lambda r, d: max(Fraction(0), r - d / 2), radius, depth), "radius - depth/2"
    else:
        limit, way = corners(beside_radius, radius, depth, width), "circle in the plane of the opening"
    numbers = f"{way}, radius {case.length(radius)}"
    extra = (case.edition["clearance.radius.raised_from"], case.edition["clearance.radius.raised_share"])
    return Asked((limit,), (_limit_step(case, value, limit.value, numbers),), (value, *extra))


def _constructional(case: Case, face: Face, key: HearthKey, value: Value) -> Asked:
    """ADJ Diagrams 24 and 26: the constructional hearth, and on it the clear surface that the superimposed one marks; the larger rules."""
    marked = case.edition[f"{key}.superimposed"]
    limit = max(value.number, marked.number)
    rows = tuple(
        step(name, v.clause, "", in_unit(v.number, case.edition.units), case.edition.units, v.shown)
        for name, v in (("constructional", value), ("superimposed", marked))
    )
    return Asked((Reading.exact(limit),), rows, (value, marked))


def radius_from_centre(base: Fraction, raised: Fraction, above: Fraction, share: Fraction) -> Fraction:
    """Clear radius round the centre of an open hearth whose bottom is so high over the floor (Swedish guidance)."""
    return base + max(Fraction(0), raised - above) * share


def clear_radius(case: Case, face: Face, value: Value) -> Reading:
    """The clear radius of a face's hearth, by the height of the firebox floor over the room's floor. Raises NotKnown."""
    from_height, share = (
        case.edition["clearance.radius.raised_from"],
        case.edition["clearance.radius.raised_share"],
    )
    over, stands = case.need(of(face), "opening_above_hearth", "hearth.above_floor")
    return corners(
        lambda height: radius_from_centre(value.number, height, from_height.number, share.number),
        over + stands,
    )


def plan(case: Case, face: Face) -> str:
    """The hearth to lay out before this face, as a mason marks it on the floor. Raises NotKnown, Silent."""
    (width,) = case.need(of(face), "width")
    front = max(limit.value for limit in asked(case, face, "hearth.front").limits)
    side = max(limit.value for limit in asked(case, face, "hearth.side").limits)
    if case.edition["hearth.datum"].words[0] == "facing":
        front += (case.want(of(face), "hearth.facing") or Reading.exact(0)).value

    def shown(value: Fraction) -> str:
        return case.least(value)

    across = width.value + 2 * side
    return (
        f"Lay out, before the {face.name} face, {shown(across)} along the wall ({shown(side)} past each side of the opening) "
        f"by {shown(front)} out from the plane of the opening."
    )


@rule("hearth.front", "Hearth in front of the opening", each="face")
def front(case: Case, face: Face) -> Iterator[Finding]:
    """The hearth extension reaches far enough out, from the line the edition measures from (IRC R1001.10)."""
    value, datum = case.edition["hearth.front"], case.edition["hearth.datum"]
    mine = of(face)
    from_facing = datum.words[0] == "facing"
    case.require(
        *needed(face, value),
        (*mine, "hearth", "front"),
        *([(*mine, "hearth", "facing")] if from_facing else []),
    )
    ask = asked(case, face, "hearth.front")
    (out,) = case.need(mine, "hearth.front")
    if from_facing:
        out = out - case.need(mine, "hearth.facing")[0]
    finding = case.judge(
        ">=",
        out,
        ask.limits[0],
        others=ask.limits[1:],
        what=f"At the {face.name} face the hearth reaches",
        after=" out from the facing" if from_facing else " out from the opening",
        face=face.name,
        working=ask.steps,
        basis=basis(*ask.values, datum),
        caution="Embers roll and spit: what lies beyond the hearth must not be what burns.",
    )
    yield _with_plan(case, face, finding)
    yield from _together(case, face, value, out, "in front")


@rule("hearth.left", "Hearth past the left side", each="face", asks="hearth.side")
def left(case: Case, face: Face) -> Iterator[Finding]:
    """The hearth extension reaches far enough past the left side of the opening."""
    yield from _side(case, face, "left")


@rule("hearth.right", "Hearth past the right side", each="face", asks="hearth.side")
def right(case: Case, face: Face) -> Iterator[Finding]:
    """The hearth extension reaches far enough past the right side of the opening."""
    yield from _side(case, face, "right")


def _side(case: Case, face: Face, side: Side) -> Iterator[Finding]:
    mine, value = of(face), case.edition["hearth.side"]
    case.require(*needed(face, value), (*mine, "hearth", side))
    ask = asked(case, face, "hearth.side")
    (past,) = case.need(mine, f"hearth.{side}")
    finding = case.judge(
        ">=",
        past,
        ask.limits[0],
        others=ask.limits[1:],
        what=f"At the {face.name} face the hearth reaches",
        after=f" past the {side} side of the opening",
        face=face.name,
        working=ask.steps,
        basis=basis(*ask.values),
    )
    yield _with_plan(case, face, finding)
    yield from _together(case, face, value, past, f"past the {side} side")


def _with_plan(case: Case, face: Face, finding: Finding) -> Finding:
    if finding.verdict is Verdict.MEETS:
        return finding
    try:
        return replace(finding, remedy=(plan(case, face),))
    except (NotKnown, Silent):
        return finding


def _together(case: Case, face: Face, value: Value, out: Reading, where: str) -> Iterator[Finding]:
    """Faces that open together and pass the step only in sum: which hearth is asked for, the code does not say."""
    both = next((state for state in case.states if len(state.open) > 1 and face.name in state.open), None)
    if both is None or not value.steps:
        return
    try:
        total = sum((opening_area(case, case.face(name)) for name in both.open), start=Reading.exact(0))
    except NotKnown:
        return
    alone, larger = reach(opening_area(case, face).value, value), reach(total.value, value)
    if larger == alone:
        return
    shown = case.least(larger)
    met = out.value >= larger
    yield case.finding(
        Verdict.MEETS if met else Verdict.REFER,
        f"With {' and '.join(both.open)} open together {case.area(total)} are open, which would ask for {shown} {where}; "
        f"the code does not say whether openings are added up for the hearth: {'that is met too' if met else 'ask the building official'}.",
        face=face.name,
        state=both.name,
        counts=both.counts,
        basis=basis(value, case.edition["policy.open_faces"]),
    )


@rule("hearth.thickness", "Thickness of the hearth", each="face")
def thickness(case: Case, face: Face) -> Finding:
    """The hearth extension is thick enough, or thin below a raised opening where the code allows it (IRC R1001.9.2)."""
    full = case.edition["hearth.thickness"]
    thin, raised_from = (
        case.edition.get("hearth.thickness.raised"),
        case.edition.get("hearth.thickness.raised_from"),
    )
    mine = of(face)
    (thick,) = case.need(mine, "hearth.thickness")
    what = f"At the {face.name} face the hearth is"
    common: dict[str, Any] = {"what": what, "after": " thick", "face": face.name}
    thicken = f"Thicken it to {case.least(full.number)}"
    if thin is None or raised_from is None or thick.value >= full.number or thick.high < thin.number:
        return case.judge(
            ">=", thick, Reading.exact(full.number), basis=basis(full), remedy=(f"{thicken}.",), **common
        )
    (raised,) = case.need(mine, "opening_above_hearth")
    if raised.value >= raised_from.number:
        others = [] if raised.low >= raised_from.number else [Reading.exact(full.number)]
        return case.judge(
            ">=",
            thick,
            Reading.exact(thin.number),
            others=others,
            basis=basis(full, thin, raised_from),
            **common,
        )
    others = [Reading.exact(thin.number)] if raised.high >= raised_from.number else []
    return case.judge(
        ">=",
        thick,
        Reading.exact(full.number),
        others=others,
        basis=basis(full, thin, raised_from),
        **common,
        remedy=(
            f"{thicken}; {case.least(thin.number)} is enough only where the bottom of the opening "
            f"stands {case.least(raised_from.number)} or more above it.",
        ),
    )


@rule("hearth.below", "What lies below the hearth", each="face")
def below(case: Case, face: Face) -> Finding:
    """What may lie below hearth and extension: by support, by distance, or by how high the opening stands."""
    value = case.edition["hearth.below"]
    (lies,) = case.need(of(face), "hearth.below")
    tell = {
        "noncombustible_support": _on_support,
        "distance_to_combustible": _by_distance,
        "raised_over_wood": _raised_over_wood,
        "covering_on_any_floor": _covering,
    }[value.method]
    return tell(case, face, value, lies)


CHARS = "Wood below a hearth chars unseen for years and can take fire with no flame above."
SUPPORT = (
    "Carry a reinforced slab out from the masonry as a cantilever, and take the wood away below it.",
    "Or build a brick trimmer arch from the masonry to a headed-off joist.",
    "Take out the form boards once the slab has cured, and head off the joists clear of it.",
    "An insulation value counts only for listed units, by their listing.",
)


def _on_support(case: Case, face: Face, value: Value, lies: str) -> Finding:
    """IRC R1001.9: noncombustible support, no wood left against the underside."""
    common: dict[str, Any] = {"face": face.name, "basis": basis(value)}
    where = f"below the hearth at the {face.name} face"
    if lies in value.words:
        return case.finding(Verdict.MEETS, f"{where[0].upper()}{where[1:]}: {lies}.", **common)
    if lies not in WOOD:
        return case.finding(
            Verdict.REFER,
            f"{where[0].upper()}{where[1:]}: {lies}. What carries the hearth there, and is that noncombustible?",
            **common,
        )
    if _thin_and_raised(case, face):
        return case.finding(
            Verdict.REFER,
            f"Wood lies {where}, thin under a raised opening; the exception that allows the thin hearth does not speak of what lies below "
            "it: ask the building official.",
            **common,
        )
    return case.finding(
        Verdict.SHORT,
        f"Wood lies {where}; noncombustible support is asked for, with no wood left against the underside, whatever the layers insulate.",
        remedy=SUPPORT,
        caution=CHARS,
        **common,
    )


def _by_distance(case: Case, face: Face, value: Value, lies: str) -> Finding:
    """ADJ Diagram 25 and the like: what burns keeps a distance below the top of the hearth, or an air gap below it."""
    to_top, gap = case.edition["hearth.below.to_top"], case.edition.get("hearth.below.gap")
    rests = basis(value, to_top, gap)
    if lies in WOOD:
        (thick,) = case.need(of(face), "hearth.thickness")
        return case.judge(
            ">=",
            thick,
            Reading.exact(to_top.number),
            what=f"At the {face.name} face the wood lies",
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
            f"Below the hearth at the {face.name} face is an air gap{asks}: measure it, and see what is under it.",
            face=face.name,
            basis=rests,
        )
    return case.finding(
        Verdict.MEETS,
        f"Below the hearth at the {face.name} face: {lies}.",
        face=face.name,
        basis=rests,
    )


def _covering(case: Case, face: Face, value: Value, lies: str) -> Finding:
    """German FeuVO 4(8): the floor before an open fireplace is covered with what does not burn, whatever lies below."""
    return case.finding(
        Verdict.MEETS,
        f"At the {face.name} face the clause asks for a noncombustible covering and leaves open what lies below: {lies}.",
        face=face.name,
        basis=basis(value),
        caution=CHARS if lies in WOOD else None,
    )


def _raised_over_wood(case: Case, face: Face, value: Value, lies: str) -> Finding:
    """NBC 9.22.5.2: a hearth may lie on a floor that burns where the opening is raised, built as CSA A405 says."""
    raised_from = case.edition["hearth.below.raised_from"]
    common: dict[str, Any] = {"face": face.name, "basis": basis(value, raised_from)}
    if lies not in WOOD:
        return _on_support(case, face, value, lies)
    (raised,) = case.need(of(face), "opening_above_hearth")
    finding = case.judge(
        ">=",
        raised,
        Reading.exact(raised_from.number),
        what=f"Wood lies below the hearth at the {face.name} face; the opening stands",
        after=" over the hearth",
        caution=CHARS,
        remedy=SUPPORT[:3],
        **common,
    )
    if finding.verdict is not Verdict.MEETS:
        return finding
    return replace(
        finding,
        text=f"{finding.text} How the hearth is built then follows CSA A405, which this tool does not hold.",
    )


def _thin_and_raised(case: Case, face: Face) -> bool:
    full, raised_from = case.edition.get("hearth.thickness"), case.edition.get("hearth.thickness.raised_from")
    thick = case.want(of(face), "hearth.thickness")
    raised = case.want(of(face), "opening_above_hearth")
    return bool(
        full
        and raised_from
        and thick
        and raised
        and thick.value < full.number
        and raised.value >= raised_from.number
    )
