"""The firebox: what it is built of, how deep, how thick, and the throat and the smoke chamber over it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Any

from hearthcalc import lengths
from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import Face
from hearthcalc.reference import Value
from hearthcalc.rules.case import Case, NotKnown, basis, in_unit, of, rule, step
from hearthcalc.rules.flue import flue_of
from hearthcalc.rules.hearth import WOOD
from hearthcalc.rules.openings import entries, opening_area
from hearthcalc.rules.reading import Reading, at_least

BOX = ("firebox",)
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}


def opposite_faces(case: Case) -> bool:
    """Do two faces of the fireplace look at one another, so that it has no back?"""
    sides = {face.side for face in case.job.face if face.side}
    return any(OPPOSITE[side] in sides for side in sides)


def new_faces(case: Case) -> list[Face]:
    """The faces that the planned work opens."""
    before = {face.name for face in case.found.face}
    return [face for face in case.job.face if face.name not in before] if case.planned else []


def cut_faces(case: Case) -> list[Face]:
    """The faces that masonry is cut for: new ones, and those made wider or higher."""
    before = {face.name: face for face in case.found.face}
    return [
        face
        for face in case.job.face
        if case.planned and (face.name not in before or _grows(before[face.name], face))
    ]


def _grows(old: Face, new: Face) -> bool:
    pairs = ((old.width, new.width), (old.height, new.height))
    return any(after and (before is None or after.value > before.value) for before, after in pairs)


@rule("firebox.construction", "Is it a masonry fireplace", masonry=False, asks="")
def construction(case: Case) -> Finding:
    """A site-built masonry fireplace may be judged and altered by the masonry rules; a listed unit may not."""
    kind = case.raw(("fireplace", "construction"))
    cut = cut_faces(case)
    caution = "Cutting a listed unit or its chimney destroys what keeps its fire from the house."
    if kind is None:
        finding = case.missing([case.address("fireplace", "construction")])
        return replace(
            finding,
            text="Not known. A factory-built unit behind brick looks like masonry: look for a metal firebox, a label, a metal chimney.",
            caution=caution,
        )
    if kind == "masonry":
        return case.finding(Verdict.MEETS, "Entered as site-built masonry: the masonry rules apply.")
    rests = basis(case.edition.get("firebox.wall.steel_lined")) if kind == "steel-lined masonry" else ()
    if cut:
        return case.finding(
            Verdict.SHORT,
            f"A {kind} fireplace is not to be cut open: its listing covers it as it was made. Do not alter it.",
            remedy=(
                "Take the unit out and build a masonry fireplace, or put in a unit that is listed as open on two sides.",
            ),
            caution=caution,
            basis=rests,
        )
    if kind == "factory-built":
        return case.finding(
            Verdict.REFER,
            "Factory-built: its listing and the maker's instructions govern, and the masonry rules do not.",
            caution=caution,
        )
    return case.finding(
        Verdict.REFER,
        "A steel unit inside masonry: its listing governs the unit, the code the masonry round it.",
        basis=rests,
    )


@rule("firebox.depth", "Depth of the firebox")
def depth(case: Case) -> Finding:
    """The firebox is deep enough (IRC R1001.6), by the pattern it is built to."""
    value = case.edition["firebox.depth"]
    deep_enough = _depth_limits(case)
    (deep,) = case.need(BOX, "depth")
    limit, values = deep_enough
    finding = case.judge(">=", deep, limit, what="The firebox is", after=" deep", basis=basis(*values))
    if not opposite_faces(case):
        return finding
    return case.finding(
        Verdict.REFER,
        f"{finding.text} But open on two opposite sides it has no back, and the code's depth is for one that has: "
        "how logs are kept in, and where a smoke shelf stands, is for a licensed mason and the building official.",
        required=finding.required,
        found=finding.found,
        basis=basis(value, *values),
        caution="Without a back, logs and embers can roll out on either side.",
    )


def _depth_limits(case: Case) -> tuple[Reading, list[Value]]:
    value = case.edition["firebox.depth"]
    rumford, share = (
        case.edition.get("firebox.depth.rumford"),
        case.edition.get("firebox.depth.rumford_share"),
    )
    if case.job.fireplace.pattern != "rumford" or rumford is None or share is None:
        return Reading.exact(value.number), [value]
    widths = [case.need(of(face), "width")[0] for face in case.job.face]
    by_width = max((width * share.number for width in widths), key=lambda reading: reading.value)
    return max(Reading.exact(rumford.number), by_width, key=lambda reading: reading.value), [rumford, share]


@rule("firebox.wall", "Walls of the firebox", asks="firebox.wall.lined")
def wall(case: Case) -> Iterator[Finding]:
    """The sides and the back are thick enough, lining included (IRC R1001.5)."""
    lined_from = case.edition.get("firebox.lining")
    lining = case.want(BOX, "lining")
    others: list[Reading] = []
    values: list[Value] = []
    if case.job.fireplace.construction == "steel-lined masonry":
        limit = case.edition["firebox.wall.steel_lined"]
    elif lined_from is None:
        limit = case.edition["firebox.wall.lined"]
    elif lining is None:
        yield case.missing([case.address("firebox", "lining"), *_missing_walls(case)])
        return
    else:
        limits = [case.edition["firebox.wall.unlined"], case.edition["firebox.wall.lined"]]
        limit, values = limits[lining.value >= lined_from.number], [lined_from]
        if lining.low < lined_from.number <= lining.high:
            others = [Reading.exact(other.number) for other in limits if other is not limit]
    if limit.method == "without_lining" and lining is None:
        yield case.missing([case.address("firebox", "lining"), *_missing_walls(case)])
        return
    for item, key, what in _walls(case):
        thick = case.want(BOX, key)
        if thick is None:
            yield case.missing([case.address("firebox", key)], item=item)
            continue
        if limit.method == "without_lining":
            thick, what = (
                thick - lining,
                what.replace(" are", ", lining left out, are").replace(" is", ", lining left out, is"),
            )
        yield nominal(
            case,
            case.judge(
                ">=",
                thick,
                Reading.exact(limit.number),
                others=others,
                what=what,
                after=" thick",
                item=item,
                basis=basis(limit, *values),
            ),
            thick,
            limit.number,
        )


def _walls(case: Case) -> list[tuple[str, str, str]]:
    rows = [("sides", "wall", "The side walls are")]
    opened_back = any(face.side == "back" for face in case.job.face)
    if opened_back:
        rows.append(
            ("beside the back opening", "back_wall", "The masonry left beside the opening in the back is")
        )
    elif case.raw((*BOX, "back_wall")) is not None:
        rows.append(("back", "back_wall", "The back wall is"))
    return rows


def _missing_walls(case: Case) -> list[str]:
    return [case.address("firebox", key) for _, key, _ in _walls(case) if case.raw((*BOX, key)) is None]


def nominal(case: Case, finding: Finding, thick: Reading, limit: Fraction) -> Finding:
    """Masonry is named by sizes it does not quite have: a little under a whole nominal thickness is CLOSE, not SHORT."""
    policy = case.edition["tolerance.nominal_masonry"]
    under = limit - thick.value
    if finding.verdict is not Verdict.SHORT or under > policy.number or limit.denominator != 1:
        return finding
    return replace(
        finding,
        verdict=Verdict.CLOSE,
        basis=(*finding.basis, policy.basis()),
        text=f"{finding.text} It may be the nominal size: masonry sold as {case.length(limit)} is a joint less.",
    )


@rule("firebox.lining", "Lining of the firebox")
def lining(case: Case) -> Finding:
    """The firebrick is thick enough to count as a lining (IRC R1001.5); without one the walls must be thicker."""
    value, unlined = case.edition["firebox.lining"], case.edition["firebox.wall.unlined"]
    (thick,) = case.need(BOX, "lining")
    if thick.value == 0 and value.method == "required":
        return case.finding(
            Verdict.SHORT,
            f"The firebox is unlined; firebrick of {case.least(value.number)} or more is asked for.",
            basis=basis(value),
            remedy=("Line the firebox with firebrick.",),
        )
    if thick.value == 0:
        walls = case.want(BOX, "wall")
        if walls is None:
            raise NotKnown([case.address("firebox", "wall")])
        finding = case.judge(
            ">=",
            walls,
            Reading.exact(unlined.number),
            what="Unlined, with walls of",
            basis=basis(value, unlined),
        )
        return nominal(case, finding, walls, unlined.number)
    finding = case.judge(
        ">=",
        thick,
        Reading.exact(value.number),
        what="The firebrick is",
        after=" thick",
        basis=basis(value, unlined),
        caution="Split firebrick of 1 1/4 in is too thin to count." if case.edition.units == "in" else None,
        remedy=(
            f"Line the firebox with firebrick of {case.least(value.number)} or more, or count it as unlined, which takes walls of "
            f"{case.least(unlined.number)}.",
        ),
    )
    walls = case.want(BOX, "wall")
    if finding.verdict is not Verdict.SHORT or walls is None or walls.value < unlined.number:
        return finding
    return case.judge(
        ">=",
        walls,
        Reading.exact(unlined.number),
        what=f"The firebrick is {case.length(thick)} thick, which does not count as a lining; without one, the walls are",
        after=" thick",
        basis=basis(value, unlined),
    )


@rule("firebox.joint", "Joints of the firebrick")
def joint(case: Case) -> Finding | None:
    """The joints between firebricks are narrow enough (IRC R1001.5)."""
    value = case.edition["firebox.joint"]
    thick = case.want(BOX, "lining")
    if thick is not None and thick.value == 0:
        return None
    (wide,) = case.need(BOX, "joint")
    return case.judge(
        "<=", wide, Reading.exact(value.number), what="The joints are", after=" wide", basis=basis(value)
    )


@rule("firebox.floor_slab", "Floor of the firebox")
def floor_slab(case: Case) -> Finding:
    """The firebox floor is thick enough (IRC R1001.9.1)."""
    value = case.edition["firebox.floor_slab"]
    (thick,) = case.need(BOX, "floor_slab")
    return nominal(
        case,
        case.judge(
            ">=", thick, Reading.exact(value.number), what="The floor is", after=" thick", basis=basis(value)
        ),
        thick,
        value.number,
    )


@rule("firebox.floor_below", "What lies below the firebox floor")
def floor_below(case: Case) -> Finding:
    """The firebox floor stands on noncombustible support (IRC R1001.9)."""
    value = case.edition["firebox.floor_below"]
    (lies,) = case.need(BOX, "floor_below")
    rests = basis(value)
    if value.method == "distance_to_combustible" and lies in WOOD:
        to_top = case.edition["hearth.below.to_top"]
        (thick,) = case.need(BOX, "floor_slab")
        return case.judge(
            ">=",
            thick,
            Reading.exact(to_top.number),
            what="The wood lies",
            after=" below the top of the firebox floor",
            basis=basis(value, to_top),
            caution="Wood below a firebox floor chars unseen and can take fire with no flame above.",
        )
    if value.method == "distance_to_combustible" and lies != "air gap":
        return case.finding(Verdict.MEETS, f"Below the firebox floor: {lies}.", basis=rests)
    if lies in value.words:
        return case.finding(Verdict.MEETS, f"Below the firebox floor: {lies}.", basis=rests)
    if lies in WOOD:
        return case.finding(
            Verdict.SHORT,
            "Wood lies below the firebox floor; noncombustible support is asked for.",
            basis=rests,
            remedy=(
                "Take the wood away from below the floor and carry it on masonry or reinforced concrete.",
            ),
            caution="Wood below a firebox floor chars unseen and can take fire with no flame above. No fire until it is out.",
        )
    told = (
        f"Below the firebox floor: {lies}." if lies != "air gap" else "Below the firebox floor is an air gap."
    )
    return case.finding(
        Verdict.REFER, f"{told} What carries the floor, and is it noncombustible?", basis=rests
    )


@rule("firebox.throat_height", "Throat over the opening", each="face")
def throat_height(case: Case, face: Face) -> Finding:
    """The throat stands high enough over the top of each face's opening (IRC R1001.6, R1001.7)."""
    rumford = case.job.fireplace.pattern == "rumford"
    value = (case.edition.get("firebox.throat_height.rumford") if rumford else None) or case.edition[
        "firebox.throat_height"
    ]
    case.require((*BOX, "throat_height"), (*of(face), "height"))
    (throat,) = case.need(BOX, "throat_height")
    (high,) = case.need(of(face), "height")
    over = throat - high
    work = step(
        "over the opening",
        "throat height - opening height",
        f"{case.length(throat)} - {case.length(high)}",
        in_unit(over.value, case.edition.units),
        case.edition.units,
        _signed(case, over.value),
    )
    common: dict[str, Any] = {"face": face.name, "working": (work,), "basis": basis(value)}
    top = throat.value - value.number
    remedy = (
        (
            f"Bring the top of the {face.name} opening down to "
            f"{lengths.show_limit(top, case.unit, op='<=')} above the firebox floor, or rebuild the throat higher.",
        )
        if top > 0
        else ("Rebuild the throat higher.",)
    )
    if over.value < 0:
        return case.finding(
            Verdict.SHORT,
            f"The throat is below the top of the {face.name} opening, by {case.length(-over.value)}: smoke leaves by that face.",
            remedy=remedy,
            caution="Smoke and carbon monoxide spill over a lintel that stands above the throat.",
            **common,
        )
    return case.judge(
        ">=",
        over,
        Reading.exact(value.number),
        what="The throat stands",
        after=f" over the {face.name} opening",
        remedy=remedy,
        **common,
        caution="Smoke and carbon monoxide spill over a lintel that stands too near the throat.",
    )


def _signed(case: Case, value: Fraction) -> str:
    return case.length(value) if value >= 0 else f"{case.length(-value)} below"


@rule("firebox.throat_depth", "Depth of the throat")
def throat_depth(case: Case) -> Finding:
    """The throat is deep enough front to back (IRC R1001.6)."""
    value = case.edition["firebox.throat_depth"]
    (deep,) = case.need(BOX, "throat_depth")
    return case.judge(
        ">=",
        deep,
        Reading.exact(value.number),
        what="The throat is",
        after=" front to back",
        basis=basis(value),
    )


@rule("firebox.passageway", "Throat, damper and flue: the narrowest way")
def passageway(case: Case) -> Iterator[Finding]:
    """The way above the firebox is nowhere smaller than the flue (IRC R1001.6), or of a Rumford's share of the opening."""
    value = case.edition["firebox.passageway"]
    kind = case.raw((*BOX, "damper"))
    ways: list[tuple[str, tuple[str, ...]]] = [("throat", ("throat_depth", "throat_width"))]
    if kind != "none":
        ways.append(("damper", ("damper_area",) if kind else ("damper", "damper_area")))
    try:
        flue = flue_of(case)
    except NotKnown as lacking:
        for item, names in ways:
            yield case.missing([*_unknown(case, names), *lacking.missing], item=item)
        return
    rumford = (
        case.edition.get("firebox.throat_area.rumford") if case.job.fireplace.pattern == "rumford" else None
    )
    for item, names in ways:
        if missing := _unknown(case, names):
            yield case.missing(missing, item=item)
            continue
        sizes = case.need(BOX, *names)
        passage = sizes[0] * sizes[1] if len(sizes) == 2 else sizes[0]
        limit, values = flue.area, [value]
        if rumford and item == "throat":
            case.require(*(path for face in case.job.face for path in entries(face)))
            openings = sum((opening_area(case, face) for face in case.job.face), start=Reading.exact(0))
            limit, values = openings * rumford.number, [rumford]
        yield case.judge(
            ">=",
            passage,
            limit,
            what=f"The {item} leaves",
            after=" free",
            unit="area",
            item=item,
            basis=basis(*values),
            caution="A throat or damper that is smaller than the flue starves it: smoke comes into the room.",
        )


def _unknown(case: Case, names: Iterable[str]) -> list[str]:
    return [case.address("firebox", name) for name in names if case.raw((*BOX, name)) is None]


@rule("firebox.damper", "Damper")
def damper(case: Case) -> Finding:
    """There is a damper, and it works (IRC R1001.7.1)."""
    value = case.edition["firebox.damper"]
    (kind,) = case.need(BOX, "damper")
    rests = basis(value)
    if kind == "none":
        return case.finding(
            Verdict.SHORT,
            "There is no damper; one is asked for.",
            basis=rests,
            remedy=("Fit a ferrous damper at the throat, or one at the top of the flue.",),
        )
    (works,) = case.need(BOX, "damper_works")
    if works == "no":
        return case.finding(
            Verdict.SHORT,
            "The damper does not work.",
            basis=rests,
            remedy=("Free it or replace it.",),
            caution="A damper that cannot be opened, or falls shut, fills the house with smoke and carbon monoxide.",
        )
    where = "at the throat" if kind == "throat" else "at the top of the flue"
    if kind not in value.words:
        return case.finding(
            Verdict.SHORT,
            f"The damper is {where}; one {' or '.join(f'at the {word}' for word in value.words)} is asked for.",
            basis=rests,
            remedy=(f"Fit one {' or '.join(f'at the {word}' for word in value.words)}.",),
        )
    return case.finding(Verdict.MEETS, f"There is a damper {where}, entered as working.", basis=rests)


@rule("smoke_chamber.height", "Height of the smoke chamber")
def chamber_height(case: Case) -> Finding:
    """From throat to flue the smoke chamber is no higher than the narrowest opening is wide (IRC R1001.8.1)."""
    value = case.edition["smoke_chamber.height"]
    case.require((*BOX, "smoke_chamber_height"), *((*of(face), "width") for face in case.job.face))
    (high,) = case.need(BOX, "smoke_chamber_height")
    narrow = min(
        (case.need(of(face), "width")[0] for face in case.job.face),
        key=lambda reading: reading.value,
    )
    return case.judge(
        "<=",
        high,
        narrow,
        what="The smoke chamber is",
        after=" high, against the width of the narrowest opening",
        basis=basis(value),
    )


@rule("smoke_chamber.slope", "Lean of the smoke chamber", asks="smoke_chamber.slope.smooth")
def chamber_slope(case: Case) -> Finding:
    """The walls of the smoke chamber lean no more than their form allows (IRC R1001.8.1)."""
    case.require((*BOX, "smoke_chamber_form"), (*BOX, "smoke_chamber_slope"))
    form, lean = case.need(BOX, "smoke_chamber_form", "smoke_chamber_slope")
    value = case.edition[
        "smoke_chamber.slope.corbelled" if form == "corbelled" else "smoke_chamber.slope.smooth"
    ]
    return case.judge(
        "<=",
        lean,
        Reading.exact(value.number),
        what=f"The {form} smoke chamber leans",
        unit="angle",
        basis=basis(value),
    )


@rule("smoke_chamber.wall", "Walls of the smoke chamber")
def chamber_wall(case: Case) -> Finding:
    """The walls of the smoke chamber are thick enough (IRC R1001.8)."""
    value, lined = case.edition["smoke_chamber.wall"], case.edition.get("smoke_chamber.wall.lined")
    (thick,) = case.need(BOX, "smoke_chamber_wall")
    finding = nominal(
        case,
        case.judge(
            ">=",
            thick,
            Reading.exact(value.number),
            what="The smoke chamber's walls are",
            after=" thick",
            basis=basis(value, lined),
        ),
        thick,
        value.number,
    )
    if (
        finding.verdict is Verdict.SHORT
        and lined
        and at_least(thick, Reading.exact(lined.number)).verdict is not Verdict.SHORT
    ):
        return case.finding(
            Verdict.REFER,
            f"{finding.text} {case.least(lined.number)} are enough where the chamber is lined with "
            "firebrick or vitrified clay: look whether it is.",
            required=finding.required,
            found=finding.found,
            basis=basis(value, lined),
        )
    return finding


@rule("smoke_chamber.parging", "Smoke chamber parged smooth")
def parging(case: Case) -> Finding:
    """The inside of the smoke chamber is parged smooth (IRC R1001.8)."""
    value = case.edition["smoke_chamber.parging"]
    (parged,) = case.need(BOX, "smoke_chamber_parged")
    if parged == "yes":
        return case.finding(Verdict.MEETS, "The smoke chamber is entered as parged.", basis=basis(value))
    return case.finding(
        Verdict.SHORT,
        "The smoke chamber is not parged.",
        basis=basis(value),
        remedy=("Parge it smooth with refractory mortar.",),
    )
