"""The firebox: what it is built of, how deep, how thick, and the throat and the smoke chamber over it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import partial

from msgspec.structs import replace

from hearthcalc import lengths
from hearthcalc.findings import Bound, Finding, Step, Verdict
from hearthcalc.reference import Value
from hearthcalc.rules.case import Case, Subject, basis, in_unit, rule, step
from hearthcalc.rules.flue import flue_of
from hearthcalc.rules.hearth import WOOD
from hearthcalc.rules.openings import openings
from hearthcalc.rules.reading import Reading, at_least, corners

OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}


def open_sides(case: Case) -> set[str]:
    """The sides of the firebox that are open, as far as they are known. One face alone is the front; each of several has to say."""
    if len(case.faces) < 2:
        return {case.word(face, "side", needed=False).known or "front" for face in case.faces}
    return {side for face in case.faces if (side := case.word(face, "side").known)}


def opposite_faces(case: Case) -> bool:
    """Do two faces of the fireplace look at one another, so that it has no back?"""
    sides = open_sides(case)
    return any(OPPOSITE[side] in sides for side in sides)


def new_faces(case: Case) -> list[Subject]:
    """The faces that the planned work opens."""
    return [face for face in case.faces if not case.stood(face)]


def cut_faces(case: Case) -> list[Subject]:
    """The faces that masonry is cut for: new ones, and those made wider or higher; worked out once."""
    return case.once("cut faces", _cut_faces)


def _cut_faces(case: Case) -> list[Subject]:
    before = case.before()
    return [face for face in case.faces if not case.stood(face) or _grows(before, case, face)]


def _grows(old: Case, new: Case, face: Subject) -> bool:
    pairs = ((old.peek(face, side), new.peek(face, side)) for side in ("width", "height"))
    if any(after and (before is None or after.value > before.value) for before, after in pairs):
        return True
    before, after = _corner_drop(old, face), _corner_drop(new, face)
    return before is not None and after is not None and after < before


def _corner_drop(case: Case, face: Subject) -> Fraction | None:
    """How far the corners of an opening are below its crown, in; None where that is not known."""
    arch, width, rise = (case.peek(face, name) for name in ("arch", "width", "rise"))
    if arch == "semicircular":
        return width.value / 2 if width else None
    if arch == "segmental":
        return rise.value if rise else None
    return Fraction(0) if arch == "flat" else None


def rumford_depth(width: Fraction, least: Fraction, share: Fraction) -> Fraction:
    """How deep a Rumford firebox is at least: a share of the width of its opening, never under a least (IRC R1001.6 exception)."""
    return max(least, width * share)


def wall_thickness(lining: Fraction, lined_from: Fraction, lined: Fraction, unlined: Fraction) -> Fraction:
    """How thick the walls of a firebox are at least, by the firebrick that lines them (IRC R1001.5)."""
    return lined if lining >= lined_from else unlined


def is_rumford(case: Case) -> bool:
    """Is it entered as a Rumford."""
    return case.word("fireplace", "pattern", needed=False).known == "rumford"


@rule("firebox.construction", "Is it a masonry fireplace", masonry=False, asks="")
def construction(case: Case) -> Finding:
    """A site-built masonry fireplace may be judged and altered by the masonry rules; a listed unit may not."""
    kind = case.word("fireplace", "construction")
    cut = cut_faces(case)
    caution = "Cutting a listed unit or its chimney destroys what keeps its fire from the house."
    if kind.known is None:
        finding = case.missing([case.address("fireplace", "construction")], caution=caution)
        if case.unread_among(finding.missing):
            return finding
        return replace(
            finding,
            text="Not known. A factory-built unit behind brick looks like masonry: look for a metal firebox, a label, a metal chimney.",
        )
    if kind.known == "masonry":
        return case.finding(Verdict.MEETS, "Entered as site-built masonry: the masonry rules apply.")
    rests = basis(case.edition.get("firebox.wall.steel_lined")) if kind.known == "steel-lined masonry" else ()
    if cut:
        return case.finding(
            Verdict.SHORT,
            f"Do not cut a {kind.known} fireplace open: its listing covers it only as it was made.",
            remedy=(
                "Take the unit out and build a masonry fireplace, or put in a unit that is listed as open on two sides.",
            ),
            caution=caution,
            basis=rests,
        )
    if kind.known == "factory-built":
        return case.finding(
            Verdict.REFER,
            "Factory-built: its listing and the maker's instructions govern, and the masonry rules do not.",
            caution=caution,
        )
    return case.finding(
        Verdict.REFER,
        "A steel unit inside masonry: its listing governs the unit, the code the masonry around it.",
        basis=rests,
    )


@rule("firebox.depth", "Depth of the firebox")
def depth(case: Case) -> Finding:
    """The firebox is deep enough (IRC R1001.6), by the pattern it is built to."""
    value = case.edition["firebox.depth"]
    least, share = (
        case.edition.get("firebox.depth.rumford"),
        case.edition.get("firebox.depth.rumford_share"),
    )
    deep = case.number("firebox", "depth")
    no_back = opposite_faces(case)
    sides_known = len(case.faces) < 2 or len(open_sides(case)) == len(case.faces)
    limit, rests = Reading.exact(value.number), basis(value)
    if is_rumford(case) and least and share:
        widths = [case.number(face, "width").known for face in case.faces]
        limits = [
            corners(partial(rumford_depth, least=least.number, share=share.number), width)
            for width in widths
            if width
        ]
        limit = max((Reading.exact(least.number), *limits), key=lambda one: one.value)
        rests = basis(least, share)

    def found() -> Reading:
        if no_back or not sides_known:
            case.all_known()
        return deep.value

    finding = case.judge(
        ">=",
        found,
        limit,
        at_best=True,
        what="The firebox is",
        after=" deep",
        basis=rests,
        remedy=(f"Rebuild it {case.least(limit.value)} deep.",),
    )
    if not no_back or finding.verdict is Verdict.MEASURE:
        return finding
    return case.referred(
        finding,
        "But open on two opposite sides it has no back, and the code's depth is for one that has: how logs are kept in, "
        "and where a smoke shelf goes, is for a licensed mason and the building official.",
        caution="Without a back, logs and embers can roll out on either side.",
    )


@rule("firebox.wall", "Walls of the firebox", asks="firebox.wall.lined")
def wall(case: Case) -> Iterator[Finding]:
    """The sides and the back are thick enough, lining included (IRC R1001.5)."""
    for item, key, what in _walls(case.fresh()):
        yield case.alone(partial(_wall, item=item, key=key, what=what), item=item)


def _wall(case: Case, item: str, key: str, what: str) -> Finding:
    thick = case.number("firebox", key)
    if item in ("back", "front"):
        open_sides(case)
    limits, values = _wall_limits(case)
    without = values[0].method == "without_lining"
    lining = case.number("firebox", "lining") if without else None

    def found() -> Reading:
        if item == "front":
            case.all_known()  # there is no such wall where a face is open in front
        return thick.value - lining.value if lining else thick.value

    finding = case.judge(
        ">=",
        found,
        limits[0],
        others=limits[1:],
        sure=(Verdict.SHORT,),
        what=what,
        after=" thick without the lining" if without else " thick",
        item=item,
        allowance=case.edition["tolerance.nominal_masonry"],
        basis=basis(*values),
        remedy=(
            f"Rebuild to {case.least(limits[0])} thick{', the firebrick not counted' if without else ''}.",
        ),
    )
    thin = case.edition.get("firebox.wall.back_least") if item == "back" else None
    if thin is None or finding.verdict is not Verdict.SHORT or found().value < thin.number:
        return finding
    return case.referred(
        finding,
        f"{case.least(thin.number)} is enough where two recesses of one home stand back to back, where it is a leaf of a cavity wall, "
        "or where it is an outside wall with nothing on it that burns: is this one of them?",
        basis=(*finding.basis, thin.basis()),
    )


def _wall_limits(case: Case) -> tuple[list[Fraction], list[Value]]:
    """How thick the walls are at least, then what the tolerance would make of it; both limits where the lining is not known."""
    edition = case.edition
    if _is_steel_lined(case):
        steel = edition["firebox.wall.steel_lined"]
        return [steel.number], [steel]
    lined, lined_from = edition["firebox.wall.lined"], edition.get("firebox.lining")
    unlined = edition["firebox.wall.unlined"] if lined_from else lined
    if lined_from is None or lined.number == unlined.number:
        return [lined.number], [lined]
    lining = case.number("firebox", "lining").known
    if lining is None:
        return sorted((lined.number, unlined.number), reverse=True), [lined, unlined, lined_from]
    ends = (lining.value, lining.low, lining.high)
    limits = [wall_thickness(end, lined_from.number, lined.number, unlined.number) for end in ends]
    return list(dict.fromkeys(limits)), [lined if limits[0] == lined.number else unlined, lined_from]


def _is_steel_lined(case: Case) -> bool:
    return case.word("fireplace", "construction", needed=False).known == "steel-lined masonry"


def _walls(case: Case) -> Iterator[tuple[str, str, str]]:
    """The walls there are: item, entry, the start of the sentence."""
    yield "sides", "wall", "The side walls are"
    if "back" in open_sides(case):
        yield "beside the back opening", "back_wall", "The masonry left beside the opening in the back is"
    else:
        yield "back", "back_wall", "The back wall is"
    if "front" not in open_sides(case):
        yield "front", "front_wall", "The front wall is"


@rule("firebox.lining", "Lining of the firebox")
def lining(case: Case) -> Finding:
    """The firebrick is thick enough to count as a lining (IRC R1001.5); without one the walls must be thicker."""
    value, unlined = case.edition["firebox.lining"], case.edition["firebox.wall.unlined"]
    if _is_steel_lined(case):
        return case.finding(
            Verdict.REFER,
            "The steel unit takes the place of the firebrick: its listing governs.",
            basis=basis(case.edition.get("firebox.wall.steel_lined")),
        )
    thick = case.number("firebox", "lining")
    none = thick.known is not None and thick.known.value == 0
    optional = value.method != "required"
    nominal = case.edition["tolerance.nominal_masonry"]
    rests = basis(value, unlined) if optional else basis(value)
    line = f"Line the firebox with firebrick of {case.least(value.number)} or more"
    if none and optional:
        return case.judge(
            ">=",
            case.number("firebox", "wall"),
            unlined.number,
            what="Unlined, with walls of",
            basis=rests,
            allowance=nominal,
            remedy=(f"{line}.",),
        )
    unless = (
        f", or count it as unlined, which takes walls of {case.least(unlined.number)}" if optional else ""
    )
    finding = case.judge(
        ">=",
        thick,
        value.number,
        what="The firebrick is",
        after=" thick",
        basis=rests,
        caution="Split firebrick of 1 1/4 in is too thin to count." if case.edition.units == "in" else None,
        remedy=(f"{line}{unless}.",),
    )
    if not optional or finding.verdict is not Verdict.SHORT:
        return finding
    without = case.judge(
        ">=",
        case.number("firebox", "wall"),
        unlined.number,
        what=f"The firebrick is {case.length(thick.value)} thick, which does not count as a lining; without one, the walls are",
        after=" thick",
        basis=rests,
        allowance=nominal,
        remedy=(f"{line}.",),
    )
    return finding if without.verdict is Verdict.SHORT else without


@rule("firebox.joint", "Joints of the firebrick")
def joint(case: Case) -> Finding | None:
    """The joints between firebricks are narrow enough (IRC R1001.5)."""
    value = case.edition["firebox.joint"]
    thick, wide = case.number("firebox", "lining", needed=False).known, case.number("firebox", "joint")
    no_firebrick = _is_steel_lined(case) or (thick is not None and thick.value == 0)
    if no_firebrick and wide.known is None:
        return None
    return case.judge(
        "<=",
        wide,
        value.number,
        what="The joints are",
        after=" wide",
        basis=basis(value),
        remedy=(
            f"Lay the firebrick again with joints of {lengths.show_limit(value.number, case.unit, op='<=')} or less.",
        ),
    )


@rule("firebox.floor_slab", "Floor of the firebox")
def floor_slab(case: Case) -> Finding:
    """The firebox floor is thick enough (IRC R1001.9.1)."""
    value = case.edition["firebox.floor_slab"]
    return case.judge(
        ">=",
        case.number("firebox", "floor_slab"),
        value.number,
        what="The floor is",
        after=" thick",
        basis=basis(value),
        allowance=case.edition["tolerance.nominal_masonry"],
        remedy=(
            f"Pour or lay it {case.least(value.number)} thick; raising its top lowers opening and throat.",
        ),
    )


@rule("firebox.floor_below", "What is under the firebox floor")
def floor_below(case: Case) -> Finding:
    """The firebox floor rests on noncombustible support (IRC R1001.9)."""
    value = case.edition["firebox.floor_below"]
    by_distance = value.method == "distance_to_combustible"
    to_top = case.edition["hearth.below.to_top"] if by_distance else None
    entry = case.word("firebox", "floor_below")
    if entry.known is None:
        return _waits(
            case,
            f"{case.least(to_top.number)} from any wood up to the top of the firebox floor"
            if to_top
            else f"noncombustible support: {_or(value.words)}",
        )
    lies = entry.known
    caution = "Wood under a firebox floor chars unseen and can take fire with no flame above."
    if to_top and lies in WOOD:
        return case.judge(
            ">=",
            case.number("firebox", "floor_slab"),
            to_top.number,
            what="The wood is",
            after=" below the top of the firebox floor",
            basis=basis(value, to_top),
            remedy=(
                f"Take the wood out, or lay the floor so that none is within {case.least(to_top.number)} of its top.",
            ),
            caution=caution,
        )
    if lies in value.words or (by_distance and lies != "air gap"):
        return case.finding(Verdict.MEETS, f"Under the firebox floor: {lies}.", basis=basis(value))
    if lies in WOOD:
        return case.finding(
            Verdict.SHORT,
            "There is wood under the firebox floor; it takes noncombustible support.",
            basis=basis(value),
            remedy=("Take the wood out and carry the floor on masonry or reinforced concrete.",),
            caution=f"{caution} No fire until it is out.",
        )
    told = (
        f"Under the firebox floor: {lies}."
        if lies != "air gap"
        else "There is an air gap under the firebox floor."
    )
    return case.finding(
        Verdict.REFER, f"{told} What carries the floor, and is it noncombustible?", basis=basis(value)
    )


def _waits(case: Case, asked: str) -> Finding:
    """A finding that waits for a word, and says what it has to be."""
    finding = case.missing(tuple(case.asked.missing), required=Bound("=", None, "", asked))
    told = [f"{asked[0].upper()}{asked[1:]}.", finding.text]
    if case.unread_among(finding.missing):
        told.reverse()
    return replace(finding, text=" ".join(told))


def _or(words: Sequence[str]) -> str:
    return " or ".join((", ".join(words[:-1]), words[-1])) if len(words) > 1 else words[0]


@rule("firebox.throat_height", "Throat over the opening", each="face")
def throat_height(case: Case, face: Subject) -> Finding:
    """The throat stands high enough over the top of each face's opening (IRC R1001.6, R1001.7)."""
    rumford = case.edition.get("firebox.throat_height.rumford") if is_rumford(case) else None
    value = rumford or case.edition["firebox.throat_height"]
    throat, high = case.number("firebox", "throat_height"), case.number(face, "height")
    work: list[Step] = []
    where = " above"
    if throat.known and high.known:
        over = throat.known - high.known
        where = " above" if over.value >= 0 else ""
        work = [
            step(
                "over the opening",
                "throat height - opening height",
                f"{case.length(throat.known)} - {case.length(high.known)}",
                in_unit(over.value, case.edition.units),
                case.edition.units,
                case.length(over),
            )
        ]

    def remedy() -> tuple[str, ...]:
        top = throat.value.value - value.number
        if top <= 0:
            return ("Rebuild the throat higher.",)
        return (
            f"Bring the top of the {face.name} opening down to {lengths.show_limit(top, case.unit, op='<=')} above the firebox "
            "floor, or rebuild the throat higher.",
        )

    return case.judge(
        ">=",
        lambda: throat.value - high.value,
        value.number,
        what="The throat is",
        after=f"{where} the top of the {face.name} opening",
        remedy=remedy,
        face=face.name,
        working=tuple(work),
        basis=basis(value),
        caution="Smoke and carbon monoxide spill over a lintel that is too near the throat, or above it.",
    )


@rule("firebox.throat_depth", "Depth of the throat")
def throat_depth(case: Case) -> Finding | None:
    """The throat is deep enough front to back (IRC R1001.6); that of a Rumford goes by its area alone (the exception)."""
    if _rumford_throat(case):
        return None
    value = case.edition["firebox.throat_depth"]
    deep = case.number("firebox", "throat_depth")
    return case.judge(
        ">=",
        deep,
        value.number,
        what="The throat is",
        after=" front to back",
        basis=basis(value),
        remedy=(f"Rebuild the throat {case.least(value.number)} or more front to back.",),
    )


def _rumford_throat(case: Case) -> Value | None:
    """The throat that the exception for Rumford fireplaces gives, where it is one."""
    return case.edition.get("firebox.throat_area.rumford") if is_rumford(case) else None


@rule("firebox.passageway", "Throat, damper and flue: the narrowest way")
def passageway(case: Case) -> Iterator[Finding]:
    """The way above the firebox is nowhere smaller than the flue (IRC R1001.6), or of a Rumford's share of the opening."""
    kind = case.word("firebox", "damper", needed=False).known
    ways: list[tuple[str, tuple[str, ...]]] = [("throat", ("throat_depth", "throat_width"))]
    if kind != "none":
        ways.append(("damper", ("damper_area",)))
    for item, names in ways:
        yield case.alone(partial(_way, item=item, names=names), item=item)


def _way(case: Case, item: str, names: tuple[str, ...]) -> Finding:
    if item == "damper":
        case.word("firebox", "damper")
    sizes = [case.number("firebox", name) for name in names]
    value, rumford = case.edition["firebox.passageway"], _rumford_throat(case)
    if rumford:
        total = sum((made.area for made in openings(case, case.faces)), start=Reading.exact(0))
        limit, values = total * rumford.number, [rumford]
    else:
        limit, values = flue_of(case).area, [value]

    def passage() -> Reading:
        case.all_known()
        return sizes[0].value * sizes[1].value if len(sizes) == 2 else sizes[0].value

    return case.judge(
        ">=",
        passage,
        limit,
        what=f"The {item} leaves",
        after=" free",
        unit="area",
        item=item,
        basis=basis(*values),
        caution="A throat or damper smaller than the flue starves it: smoke comes into the room.",
        remedy=lambda: (
            f"{'Fit a damper' if item == 'damper' else 'Rebuild the throat'} that leaves {case.area(limit, '>=')} free.",
        ),
    )


@rule("firebox.damper", "Damper")
def damper(case: Case) -> Finding:
    """There is a damper, and it works (IRC R1001.7.1)."""
    value = case.edition["firebox.damper"]
    kind, works = case.word("firebox", "damper"), case.word("firebox", "damper_works")
    allowed = _or([_damper_at(word) for word in value.words])
    rests = basis(value)
    if kind.known == "none":
        return case.finding(
            Verdict.SHORT,
            "There is no damper; a fireplace needs one.",
            basis=rests,
            remedy=(f"Fit a ferrous damper {allowed}.",),
        )
    if works.known == "no":
        return case.finding(
            Verdict.SHORT,
            "The damper does not work.",
            basis=rests,
            remedy=("Free it or replace it.",),
            caution="A damper that cannot be opened, or falls shut, fills the house with smoke and carbon monoxide.",
        )
    if kind.known and kind.known not in value.words:
        return case.finding(
            Verdict.SHORT,
            f"The damper is {_damper_at(kind.known)}; it belongs {allowed}.",
            basis=rests,
            remedy=(f"Fit one {allowed}.",),
        )
    if case.asked.missing:
        return _waits(case, f"a damper {allowed}, worked from the room")
    told = f"There is a damper {_damper_at(kind.value)}, entered as working."
    return case.finding(Verdict.MEETS, told, basis=rests)


def _damper_at(word: str) -> str:
    return "at the top of the flue" if word == "top" else f"at the {word}"


@rule("smoke_chamber.height", "Height of the smoke chamber")
def chamber_height(case: Case) -> Finding | None:
    """From throat to flue the smoke chamber is no higher than the narrowest opening is wide (IRC R1001.8.1)."""
    if not case.faces:
        return None
    value = case.edition["smoke_chamber.height"]
    high = case.number("firebox", "smoke_chamber_height")
    widths = [case.number(face, "width") for face in case.faces]
    known = [width.known for width in widths if width.known] or [width.value for width in widths]
    narrow = min(known, key=lambda one: one.value)
    over = "an opening" if len(widths) == 1 or len(known) < len(widths) else "the narrowest opening,"
    return case.judge(
        "<=",
        high,
        narrow,
        at_best=True,
        what=f"Over {over} {case.length(narrow)} wide, the smoke chamber is",
        after=" high",
        basis=basis(value),
        remedy=lambda: (
            f"Begin the flue {lengths.show_limit(narrow.value, case.unit, op='<=')} over the throat or lower.",
        ),
    )


@rule("smoke_chamber.slope", "Slope of the smoke chamber", asks="smoke_chamber.slope.smooth")
def chamber_slope(case: Case) -> Finding:
    """The walls of the smoke chamber lean no more than their form allows (IRC R1001.8.1)."""
    smooth, corbelled = (case.edition[f"smoke_chamber.slope.{kind}"] for kind in ("smooth", "corbelled"))
    form = case.word("firebox", "smoke_chamber_form", needed=smooth.number != corbelled.number)
    lean = case.number("firebox", "smoke_chamber_slope")
    values = [corbelled if form.known == "corbelled" else smooth]
    if form.known is None and smooth.number != corbelled.number:
        values = sorted((smooth, corbelled), key=lambda value: value.number)

    limits = [value.number for value in values]
    if form.known is None and lean.known and lean.known.low > limits[-1]:
        limits = limits[-1:]
    decided = form.known is None and lean.known and (lean.known.high <= limits[0] or len(limits) == 1)

    def found() -> Reading:
        if not decided:
            case.all_known()
        return lean.value

    return case.judge(
        "<=",
        found,
        limits[0],
        others=limits[1:],
        what=f"The {form.known} smoke chamber leans" if form.known else "The smoke chamber leans",
        unit="deg",
        basis=basis(*values),
        remedy=(f"Rebuild its sides within {values[0].shown} of the vertical.",),
    )


@rule("smoke_chamber.wall", "Walls of the smoke chamber")
def chamber_wall(case: Case) -> Finding:
    """The walls of the smoke chamber are thick enough (IRC R1001.8)."""
    value, lined = case.edition["smoke_chamber.wall"], case.edition.get("smoke_chamber.wall.lined")
    thick = case.number("firebox", "smoke_chamber_wall")
    inside = case.word("structure", "chamber_lining", needed=False).known if lined else None
    if lined and inside in ("firebrick", "vitrified clay"):
        return case.judge(
            ">=",
            thick,
            lined.number,
            what=f"Lined with {inside}, the smoke chamber's walls are",
            after=" thick",
            basis=basis(lined),
            allowance=case.edition["tolerance.nominal_masonry"],
            remedy=(f"Rebuild its walls {case.least(lined.number)} thick.",),
        )
    finding = case.judge(
        ">=",
        thick,
        value.number,
        what="The smoke chamber's walls are",
        after=" thick",
        basis=basis(value, lined),
        allowance=case.edition["tolerance.nominal_masonry"],
        remedy=(f"Rebuild its walls {case.least(value.number)} thick.",),
    )
    if finding.verdict is not Verdict.SHORT or lined is None or inside == "none":
        return finding
    if at_least(thick.value, Reading.exact(lined.number)).verdict is Verdict.SHORT:
        return finding
    told = f"{case.least(lined.number)} is enough where the chamber is lined with firebrick or vitrified clay: look whether it is."
    waits = case.missing([case.address("structure", "chamber_lining")], required=finding.required)
    return replace(waits, text=f"{finding.text} {told}", basis=finding.basis)


@rule("smoke_chamber.parging", "Smoke chamber parged smooth")
def parging(case: Case) -> Finding:
    """The inside of the smoke chamber is parged smooth (IRC R1001.8)."""
    value, lined = case.edition["smoke_chamber.parging"], case.edition.get("smoke_chamber.wall.lined")
    parged = case.word("firebox", "smoke_chamber_parged")
    form = case.word("firebox", "smoke_chamber_form", needed=False).known
    if parged.known is None:
        return _waits(case, "the inside of the smoke chamber parged smooth")
    if parged.known == "yes":
        return case.finding(Verdict.MEETS, "The smoke chamber is entered as parged.", basis=basis(value))
    if form == "prefabricated" and lined:
        return case.finding(
            Verdict.REFER,
            "The smoke chamber has a prefabricated lining and is not parged. The clause parges the masonry, and does not say whether "
            "a lining of firebrick or vitrified clay is parged too: ask the building official.",
            basis=basis(value, lined),
        )
    return case.finding(
        Verdict.SHORT,
        "The smoke chamber is not parged.",
        basis=basis(value),
        remedy=("Parge it smooth with refractory mortar.",),
    )
