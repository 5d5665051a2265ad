"""What is built in and seldom measured: the masonry of the chimney, footing, steel and anchors, and the passage for outdoor air.

What stands already may stay (IRC R102.7): what only the builder can know is asked of a job that is a drawing, of work that the plan
brings in, and judged wherever it is entered. A rule whose value an edition does not hold says nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import partial
from math import ceil
from typing import Any

from hearthcalc import lengths
from hearthcalc.findings import Finding, Verdict
from hearthcalc.reference import Value
from hearthcalc.rules.case import Case, Entry, basis, rule
from hearthcalc.rules.reading import Reading, corners

UNDER = "Under masonry that stands, an engineer says how."
TOPPLES = "Masonry that is not carried or tied can come down."
SOAKS = "Water in the masonry breaks it when it freezes, and rots what is beside it."


def greatest_corbel(wall: Fraction, share: Fraction) -> Fraction:
    """How far a chimney may be corbelled out in all, as a share of the wall it leans out from (IRC R1003.5)."""
    return wall * share


def least_bars(
    width: Fraction, flues: Fraction, first: Fraction, more: Fraction, each: Fraction
) -> tuple[Fraction, Fraction]:
    """How many upright bars a chimney has at least, by the mild and by the strict reading of the clause (IRC R1001.3.1).

    width, each: of the chimney, and of it that the first bars are for; one unit.  There are more for each flue more "or" for each
    such width more or part of it: of a wider chimney alone and by the larger of the two, or of any chimney and by both.
    """
    wider = Fraction(max(0, ceil((width - each) / each)))
    mild = max(flues - 1, wider) if wider else Fraction(0)
    return first + more * mild, first + more * (flues - 1 + wider)


def is_new(case: Case, *entries: tuple[str, str]) -> bool:
    """Is this work of a drawing, or is any of these entered, or was before the plan moved it."""
    return not case.measured or any(case.job_has(*entry) or case.is_voided(*entry) for entry in entries)


def _said(
    case: Case,
    key: str,
    table: str,
    name: str,
    good: str,
    bad: str,
    remedy: str,
    *,
    right: str = "yes",
    caution: str | None = None,
) -> Finding | None:
    """A finding on an answer in a word; None where the edition holds no such rule."""
    value = case.edition.get(key)
    if value is None:
        return None
    if case.word(table, name).value == right:
        return case.finding(Verdict.MEETS, good, basis=basis(value))
    return case.finding(Verdict.SHORT, bad, basis=basis(value), remedy=(remedy,), caution=caution)


# The masonry of the chimney


@rule("chimney.wall", "Walls of the chimney")
def wall(case: Case) -> Finding | None:
    """The masonry round the liner is thick enough (IRC R1003.10), and toward another home (NHBC 6.8.6)."""
    value, apart = case.edition.get("chimney.wall"), case.edition.get("chimney.wall.apart")
    if value is None:
        return None
    thick = case.number("chimney", "wall")
    finding = case.judge(
        ">=",
        thick,
        value.number,
        what="The chimney's walls are",
        after=" thick",
        allowance=case.edition["tolerance.nominal_masonry"],
        basis=basis(value, apart),
        caution="A thin chimney wall lets the heat of a chimney fire through.",
        remedy=(
            f"Rebuild them {case.least(value.number)} thick, of solid brick or of hollow units grouted solid.",
        ),
    )
    if finding.verdict is not Verdict.MEETS or apart is None or thick.value.value >= apart.number:
        return finding
    return case.referred(
        finding,
        f"Toward another home or another fire compartment it takes {case.least(apart.number)}: is there one on the other side?",
    )


@rule("chimney.corbel", "Corbel of the chimney")
def corbel(case: Case) -> Iterator[Finding]:
    """The chimney leans out no more than the wall it starts from allows, and no course more than its brick allows (IRC R1003.5)."""
    share, thick = case.edition.get("chimney.corbel"), case.edition.get("chimney.corbel.wall")
    if (
        share is None
        or thick is None
        or not is_new(case, ("chimney", "corbel"), ("chimney", "corbel_course"))
    ):
        return
    out = case.number("chimney", "corbel")
    if out.known and out.known.value == 0:
        yield case.finding(Verdict.MEETS, "The chimney is entered as going straight up.", basis=basis(share))
        return
    yield case.alone(partial(_in_all, share=share, thick=thick), item="in all")
    yield case.alone(_course, item="one course")


def _course(case: Case) -> Finding:
    """One course stands out past the one below by the lesser of two shares of its brick; what is not known only makes that less."""
    of_height, of_bed = (case.edition[f"chimney.corbel.course.{name}"] for name in ("height", "bed"))
    out, height, bed = (
        case.number("chimney", name) for name in ("corbel_course", "unit_height", "bed_depth")
    )
    shares = [size.known * share.number for size, share in ((height, of_height), (bed, of_bed)) if size.known]
    return case.judge(
        "<=",
        out,
        corners(lambda *each: min(each), *shares) if shares else height.value,
        at_best=True,
        what="One course stands out",
        after=" past the one below",
        item="one course",
        remedy=("Step it out over more courses, each by no more than that.",),
        basis=basis(of_height, of_bed),
        caution=TOPPLES,
    )


def _in_all(case: Case, share: Value, thick: Value) -> Finding:
    out = case.number("chimney", "corbel")
    from_wall = case.number("chimney", "wall")
    thin = from_wall.known is not None and from_wall.known.low < thick.number
    alike = case.flag("chimney", "corbel_alike", needed=thin)

    limit = corners(partial(greatest_corbel, share=share.number), from_wall.value)

    def found() -> Reading:
        if out.known is None or out.known.low <= limit.high:
            case.all_known()
        return out.value

    if thin and alike.known is False:
        return case.finding(
            Verdict.SHORT,
            f"The chimney is corbelled out on one side from a wall of {case.length(from_wall.value)}; that takes a wall of "
            f"{case.least(thick.number)} or more.",
            item="in all",
            basis=basis(thick),
            remedy=("Corbel it alike on both sides, or carry it up from the ground.",),
            caution=TOPPLES,
        )
    return case.judge(
        "<=",
        found,
        limit,
        what="The chimney is corbelled out",
        after=" in all",
        item="in all",
        basis=basis(share, thick),
        caution=TOPPLES,
        remedy=(
            f"Corbel it out {lengths.show_limit(limit.value, case.unit, op='<=')} at most, or begin from a thicker wall.",
        ),
    )


@rule("chimney.offset", "Offsets of the chimney")
def offset(case: Case) -> Finding | None:
    """At an offset the flue stays over the middle of the wall below, or masonry carries it (IRC R1003.7)."""
    if not case.listed("flue", "offsets").known:
        return None
    return _said(
        case,
        "chimney.offset",
        "chimney",
        "offset_carried",
        "At its offsets the chimney is entered as standing on masonry.",
        "At an offset the chimney leans out past the middle of the wall below, and nothing carries it.",
        "Carry it on masonry from below, or lean it out less.",
        caution=TOPPLES,
    )


@rule("chimney.wythe", "Masonry between flues")
def wythe(case: Case) -> Finding | None:
    """Masonry stands between two flues of one chimney (IRC R1003.13)."""
    value = case.edition.get("chimney.wythe")
    if value is None:
        return None
    flues = case.number("chimney", "flues")
    if flues.known and flues.known.value == 1:
        return case.finding(Verdict.MEETS, "There is one flue in the chimney.", basis=basis(value))
    between = case.number("chimney", "wythe", needed=flues.known is not None)
    finding = case.judge(
        ">=",
        _with(case, between),
        value.number,
        what="Between the flues the masonry is",
        after=" thick",
        basis=basis(value),
        remedy=(
            f"Build {case.least(value.number)} of masonry between them, bonded to the walls, or reline with smaller flues.",
        ),
        caution="Smoke that gets from one flue into the next comes out in another room.",
    )
    if finding.verdict is not Verdict.SHORT or between.value.value != 0:
        return finding
    return case.referred(
        finding,
        "Two flues may touch where both serve one fireplace and their joints are staggered 4 in or more: is that so here?",
    )


def _with(case: Case, entry: Entry[Reading]) -> Callable[[], Reading]:
    def found() -> Reading:
        case.all_known()
        return entry.value

    return found


@rule("chimney.crown", "Cap on the masonry")
def crown(case: Case) -> Finding | None:
    """The masonry of the chimney is capped (IRC R1003.9.1)."""
    return _said(
        case,
        "chimney.crown",
        "chimney",
        "crown",
        "The masonry is entered as capped.",
        "The masonry has no sound cap that sheds water.",
        "Cap it with concrete, metal or stone, sloped, with a drip edge, and a caulked joint around the liner.",
        caution=SOAKS,
    )


@rule("chimney.cleanout", "Cleanout of the flue")
def cleanout(case: Case) -> Finding | None:
    """The flue can be cleaned out at its base, unless that is done through the fireplace (IRC R1003.17)."""
    value = case.edition.get("chimney.cleanout")
    if value is None:
        return None
    how = case.word("chimney", "cleanout").value
    if how == "through the fireplace":
        return case.finding(Verdict.MEETS, "The flue is cleaned through the fireplace.", basis=basis(value))
    if how == "none":
        return case.finding(
            Verdict.SHORT,
            "Soot cannot be taken out at the base of the flue.",
            basis=basis(value),
            remedy=("Build in a cleanout door, or make the flue one that is cleaned through the fireplace.",),
        )
    finding = case.judge(
        ">=",
        case.number("chimney", "cleanout_height"),
        value.number,
        what="The cleanout is",
        after=" high",
        basis=basis(value),
    )
    if finding.verdict is not Verdict.MEETS:
        return finding
    return case.referred(
        finding,
        "Look whether it is within 6 in of the base of the flue, and its upper edge 6 in or more below the lowest inlet.",
    )


# Item, entry, what it is where it is right and where it is not, and what to do.
LAID = (
    (
        "run", "liner_runs", "runs from the smoke chamber to above the masonry", "does not run from the smoke chamber to above the masonry",
        "Lay it from the top of the smoke chamber to above the masonry.",
    ),
    (
        "mortar", "liner_mortar", "is laid in refractory mortar", "is not laid in refractory mortar",
        "Lay it in full joints of medium-duty refractory mortar that water does not dissolve.",
    ),
    (
        "space", "liner_space", "has a narrow space around it", "has a wide or filled space around it",
        "Keep the space around it empty, and no wider than the liner is thick.",
    ),
)  # fmt: skip


@rule("chimney.liner_installed", "How the clay liner is laid")
def liner_installed(case: Case) -> Iterator[Finding]:
    """A clay liner runs from the smoke chamber to above the masonry, in refractory mortar, with a narrow space (IRC R1003.12)."""
    value = case.edition.get("chimney.liner_installed")
    kind = case.word("flue", "lining").known
    planned = case.planned and bool(case.planned_of("flue"))
    if (
        value is None
        or kind != "clay"
        or not (planned or is_new(case, *(("chimney", row[1]) for row in LAID)))
    ):
        return
    for item, name, right, wrong, remedy in LAID:
        yield case.alone(
            partial(_laid, value=value, item=item, name=name, right=right, wrong=wrong, remedy=remedy),
            item=item,
        )


def _laid(case: Case, value: Value, item: str, name: str, right: str, wrong: str, remedy: str) -> Finding:
    if case.word("chimney", name).value == "yes":
        return case.finding(
            Verdict.MEETS, f"The clay liner is entered as one that {right}.", item=item, basis=basis(value)
        )
    return case.finding(
        Verdict.SHORT,
        f"The clay liner is entered as one that {wrong}.",
        item=item,
        basis=basis(value),
        remedy=(remedy,),
        caution="A liner with open joints lets fire and gas into the masonry.",
    )


@rule("chimney.label", "Label of the new lining")
def label(case: Case) -> Finding | None:
    """A chimney relined with a material that the code does not name bears a label that says so (IRC R1003.11.6)."""
    named, kind = case.edition.get("flue.lining"), case.word("flue", "lining").known
    relined = case.planned and "lining" in case.planned_of("flue")
    if named is None or kind in (None, "unlined", *named.words):
        return None
    if not (relined or is_new(case, ("chimney", "label"))):
        return None
    return _said(
        case,
        "chimney.label",
        "chimney",
        "label",
        "A label says with what the chimney is relined.",
        "No label says with what the chimney is relined.",
        "Fix a lasting label at the fireplace or the chimney.",
    )


@rule("chimney.arrestor_mesh", "Openings of the spark screen", asks="chimney.arrestor_mesh.most")
def arrestor_mesh(case: Case) -> Finding | None:
    """A spark screen holds sparks back and does not clog (IRC R1003.9.2)."""
    least, most = (
        case.edition.get("chimney.arrestor_mesh.least"),
        case.edition.get("chimney.arrestor_mesh.most"),
    )
    free = case.number("flue", "arrestor_area").known
    if least is None or most is None or free is None or free.value == 0:
        return None
    mesh = case.number("chimney", "arrestor_mesh")
    fine = mesh.known is not None and mesh.known.value <= least.number
    return case.judge(
        ">=" if fine else "<=",
        mesh,
        (least if fine else most).number,
        what="The openings of the spark screen are",
        after=" wide",
        basis=basis(least, most),
        build=(f"Fit a screen with openings of {case.length(least.number)} to {case.length(most.number)}.",),
        caution="A screen that is too fine clogs with soot; one that is too coarse lets sparks out.",
    )


@rule("chimney.fireblocking", "Fireblocking around the chimney")
def fireblocking(case: Case) -> Finding | None:
    """The space around the chimney is closed at floors and ceilings with what does not burn (IRC R1003.19)."""
    new_roof = case.planned and any(
        not case.stood(roof) and case.flag(roof, "passes_through", needed=False).known for roof in case.roofs
    )
    if not (new_roof or is_new(case, ("chimney", "fireblocking"))):
        return None
    return _said(
        case,
        "chimney.fireblocking",
        "chimney",
        "fireblocking",
        "The space around the chimney is entered as fireblocked.",
        "The space around the chimney is not fireblocked where it passes floors and ceilings.",
        "Close it with sheet metal or the like, fastened; fill it with nothing else.",
        caution="An open space around a chimney carries a fire from floor to floor.",
    )


# What is built in


@rule("structure.footing", "Footing", asks="structure.footing.thickness")
def footing(case: Case) -> Iterator[Finding]:
    """The fireplace stands on a footing that is thick and wide enough (IRC R1001.2)."""
    rows = (
        ("thickness", "The footing is", " thick"),
        ("beyond", "The footing stands out", " past the masonry"),
    )
    entries = ("footing_thickness", "footing_beyond", "footing_depth")
    if is_new(case, *(("structure", name) for name in entries)):
        for item, what, after in rows:
            if f"structure.footing.{item}" in case.edition.values:
                yield case.alone(partial(_footing, item=item, what=what, after=after), item=item)
        if "structure.footing.depth" in case.edition.values:
            yield case.alone(_footing_depth, item="depth")


def _footing(case: Case, item: str, what: str, after: str) -> Finding:
    value = case.edition[f"structure.footing.{item}"]
    return case.judge(
        ">=",
        case.number("structure", f"footing_{item}"),
        value.number,
        what=what,
        after=after,
        item=item,
        basis=basis(value),
        caution=TOPPLES,
        remedy=(f"Make that {case.least(value.number)}. {UNDER}",),
    )


def _footing_depth(case: Case) -> Finding:
    """Its depth in the ground: a least that holds everywhere, and the frost of the place, which the building department knows."""
    least = case.edition["structure.footing.depth"]
    deep, frost = case.number("structure", "footing_depth"), case.number("structure", "frost_depth")
    limit = Reading.exact(least.number)
    if frost.known:
        limit = corners(lambda freezes: max(least.number, freezes), frost.known)

    def found() -> Reading:
        if deep.known and deep.known.high < least.number:
            return deep.known
        case.all_known()
        return deep.value

    return case.judge(
        ">=",
        found,
        limit,
        what="The footing goes down",
        after=" below the ground",
        item="depth",
        basis=basis(least),
        caution="Frost under a footing lifts and cracks what stands on it.",
        remedy=(f"Take it down to {case.least(limit.value)}. {UNDER}",),
    )


@rule("structure.seismic", "Steel and anchors against earthquakes")
def seismic(case: Case) -> Iterator[Finding]:
    """In the higher seismic categories the masonry is reinforced, tied and anchored (IRC R1001.3, R1001.4)."""
    value = case.edition.get("structure.seismic")
    names = ("seismic", "bars", "ties", "anchored")
    if value is None or not is_new(case, *(("structure", name) for name in names)):
        return
    place = case.word("structure", "seismic").value
    if place in value.words:
        for item, work in {"bars": _bars, "ties": _ties, "anchors": _anchors}.items():
            yield case.alone(work, item=item)
        return
    higher = place == max(place, *value.words)
    yield case.finding(
        Verdict.REFER if higher else Verdict.MEETS,
        f"Seismic category {place}: "
        + (
            "the building code governs: ask an engineer."
            if higher
            else "the code asks for no steel or anchors."
        ),
        basis=basis(value),
    )


def _bars(case: Case) -> Finding:
    first, more, each = (case.edition[f"structure.bars{end}"] for end in ("", ".more", ".width"))
    bars, width = case.number("structure", "bars"), case.number("structure", "width")
    flues = case.number("chimney", "flues")
    case.word("structure", "seismic")
    wide, count = (entry.known.value if entry.known else Fraction(1) for entry in (width, flues))
    mild, needed = least_bars(wide, count, first.number, more.number, each.number)
    finding = case.judge(
        ">=",
        bars,
        needed if width.known and flues.known else mild,
        at_best=True,
        what="The chimney has",
        after=" upright No. 4 bars",
        unit="",
        item="bars",
        basis=basis(first, more, each),
        caution=TOPPLES,
        remedy=(f"Put in {needed} bars; into masonry that stands, an engineer says how.",),
    )
    if finding.verdict is not Verdict.SHORT or bars.value.value < mild:
        return finding
    return case.referred(
        finding,
        f"The clause can also be read to ask for {mild}: more for another flue, or for more width. The building official decides.",
    )


def _ties(case: Case) -> Finding:
    value = case.edition["structure.ties"]
    case.word("structure", "seismic")
    apart = case.number("structure", "ties")
    if apart.known and apart.known.value == 0:
        return case.finding(
            Verdict.SHORT,
            "The upright bars are entered as not tied.",
            item="ties",
            basis=basis(value),
            caution=TOPPLES,
            remedy=(f"Tie them every {lengths.show_limit(value.number, case.unit, op='<=')}. {UNDER}",),
        )
    return case.judge(
        "<=",
        apart,
        value.number,
        what="From tie to tie it is",
        item="ties",
        basis=basis(value),
        caution=TOPPLES,
        remedy=(
            f"Tie the bars every {lengths.show_limit(value.number, case.unit, op='<=')}; in masonry that stands, an engineer says how.",
        ),
    )


def _anchors(case: Case) -> Finding:
    value = case.edition["structure.anchored"]
    case.word("structure", "seismic")
    place = case.word("flue", "place", needed=False)
    if place.known == "inside":
        return case.finding(
            Verdict.MEETS,
            "The chimney stands wholly inside the outside walls: it needs no anchors.",
            item="anchors",
            basis=basis(value),
        )
    if case.word("structure", "anchored").value == "yes":
        return case.finding(
            Verdict.MEETS, "The chimney is entered as anchored.", item="anchors", basis=basis(value)
        )
    case.word("flue", "place")
    case.all_known()
    return case.finding(
        Verdict.SHORT,
        "The chimney is not anchored to floors and roof.",
        item="anchors",
        basis=basis(value),
        remedy=(
            "Anchor it at each floor, ceiling and roof more than 6 ft above the ground with two steel straps.",
        ),
        caution=TOPPLES,
    )


@rule("structure.ash_dump", "Ash dump")
def ash_dump(case: Case) -> Finding | None:
    """The cleanout of an ash dump has a tight door of metal or masonry (IRC R1001.2.1)."""
    value = case.edition.get("structure.ash_dump")
    if value is None:
        return None
    kind = case.word("structure", "ash_dump").value
    if kind in value.words:
        told = (
            "There is no ash dump."
            if kind == "none"
            else "The ash dump has a tight door of metal or masonry."
        )
        return case.finding(Verdict.MEETS, told, basis=basis(value))
    return case.finding(
        Verdict.SHORT,
        "The door of the ash dump is neither metal nor masonry, or does not shut tight.",
        basis=basis(value),
        remedy=(
            "Fit a tight door and frame of iron, steel or masonry, where ash can be taken out past nothing that burns.",
        ),
        caution="Embers live for days in an ash pit.",
    )


@rule("structure.unit", "Steel unit in masonry", asks="structure.unit_steel")
def unit(case: Case) -> Iterator[Finding]:
    """A steel fireplace unit is thick enough, and so is the masonry round it (IRC R1001.5.1)."""
    if case.word("fireplace", "construction").known != "steel-lined masonry":
        return
    for name, what in {
        "unit_steel": "The steel of the unit is",
        "unit_masonry": "Around the unit the masonry is",
    }.items():
        if f"structure.{name}" in case.edition.values:
            yield case.alone(partial(_unit, name=name, what=what), item=name.removeprefix("unit_"))


def _unit(case: Case, name: str, what: str) -> Finding:
    value = case.edition[f"structure.{name}"]
    case.word("fireplace", "construction")
    masonry: dict[str, Any] = (
        {"allowance": case.edition["tolerance.nominal_masonry"]} if name == "unit_masonry" else {}
    )
    return case.judge(
        ">=",
        case.number("structure", name),
        value.number,
        what=what,
        after=" thick",
        item=name.removeprefix("unit_"),
        basis=basis(value),
        **masonry,
    )


@rule("structure.slab_steel", "Reinforcement of the hearth slab")
def slab_steel(case: Case) -> Finding | None:
    """Hearth and hearth extension are reinforced to carry their load (IRC R1001.9)."""
    if not is_new(case, ("structure", "slab_steel")):
        return None
    return _said(
        case,
        "structure.slab_steel",
        "structure",
        "slab_steel",
        "The hearth slab is entered as reinforced.",
        "The hearth slab is not reinforced.",
        "Pour it anew with steel, as an engineer or the maker of the plan says.",
        caution="A slab without steel cracks over a span, and embers fall through.",
    )


@rule("firebox.tight", "Tight damper or doors")
def tight(case: Case) -> Finding | None:
    """A new wood-burning fireplace has a damper that shuts tight, or doors (IRC N1102)."""
    if not is_new(case, ("structure", "tight")) or case.word("air", "gas_logs", needed=False).known in (
        "listed",
        "vent-free",
    ):
        return None
    return _said(
        case,
        "firebox.tight",
        "structure",
        "tight",
        "A damper or doors are entered as shutting tight.",
        "Neither damper nor doors shut tight.",
        "Fit a damper with a seal, or doors.",
    )


# The passage for outdoor air


def _has_duct(case: Case) -> bool:
    duct = case.number("air", "exterior_duct").known
    return duct is not None and duct.value > 0


@rule("air.intake", "Where outdoor air is taken from")
def intake(case: Case) -> Finding | None:
    """The fire's air comes from outdoors, or from where outdoor air comes in by itself; never from a garage or a basement (IRC R1006.2)."""
    value = case.edition.get("air.intake")
    if value is None or not _has_duct(case):
        return None
    starts = case.word("air", "duct_from").value
    if starts in value.words:
        return case.finding(Verdict.MEETS, f"The air is taken from: {starts}.", basis=basis(value))
    return case.finding(
        Verdict.SHORT,
        f"The air is taken from: {starts}. It may come from: {' or '.join(value.words)}.",
        basis=basis(value),
        remedy=("Lead the duct outdoors.",),
        caution="Air from a garage can carry fumes of fuel to the fire." if starts == "garage" else None,
    )


@rule("air.intake_height", "Height of the air intake")
def intake_height(case: Case) -> Finding | None:
    """The intake is not above the firebox (IRC R1006.2)."""
    return (
        _said(
            case,
            "air.intake_height",
            "air",
            "duct_above",
            "The air is taken from no higher than the firebox.",
            "The air is taken from above the firebox.",
            "Take it from lower down.",
            right="no",
            caution="A duct that starts above the fire can become its chimney.",
        )
        if _has_duct(case)
        else None
    )


@rule("air.intake_screen", "Screen on the air intake")
def intake_screen(case: Case) -> Finding | None:
    """The intake has a screen that does not rust (IRC R1006.2)."""
    return (
        _said(
            case,
            "air.intake_screen",
            "air",
            "duct_screened",
            "The air intake is entered as screened.",
            "The air intake has no screen.",
            "Put a 1/4 in mesh over it, of metal that does not rust.",
        )
        if _has_duct(case)
        else None
    )


@rule("air.intake_outlet", "Where the air comes out")
def intake_outlet(case: Case) -> Finding | None:
    """The air comes out in the firebox, or near its opening (IRC R1006.5)."""
    value = case.edition.get("air.intake_outlet")
    if value is None or not _has_duct(case):
        return None
    within = lengths.show_limit(value.number, case.unit, op="<=")
    return case.judge(
        "<=",
        case.number("air", "duct_outlet"),
        value.number,
        what="The air comes out",
        after=" from the opening",
        basis=basis(value),
        remedy=(f"Bring it out within {within} of the opening, or in the back or a side of the firebox.",),
    )


@rule("air.duct_clear", "Air duct beside what burns")
def duct_clear(case: Case) -> Finding | None:
    """Near its outlet an unlisted air duct keeps clear of what burns (IRC R1006.3)."""
    value = case.edition.get("air.duct_clear")
    if value is None or not _has_duct(case):
        return None
    return case.judge(
        ">=",
        case.number("air", "duct_clear"),
        value.number,
        what="Near its outlet the air duct is",
        after=" clear of what burns",
        basis=basis(value),
        build=("A listed duct goes by its papers.",),
        caution="Embers that get into the duct heat it.",
    )
