"""What cannot both be true: entries held against one another before anything rests on them. Each agreement is one function."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from itertools import combinations

from msgspec.structs import replace

from hearthcalc.amendments import same_place
from hearthcalc.findings import Finding, Verdict
from hearthcalc.quantities import rise_over_run
from hearthcalc.reference import Silent, find_liner
from hearthcalc.rules.case import Case, Conflict, LinerElsewhere, NotKnown, Run, Whose, of, rule, tidy
from hearthcalc.rules.flue import flue_of, measured_area, measured_areas, named_area, shares
from hearthcalc.rules.openings import openings
from hearthcalc.rules.reading import Reading

Pair = tuple[Whose, str]
Agreement = Callable[[Case], Iterator[Conflict]]
AGREEMENTS: list[Agreement] = []
ACROSS = ("front", "back")
BESIDE = ("left", "right")
SIZES_OF_FLUE = {"area": "area as measured", "diameter": "diameter", "inside": "inside size"}


def agreement(check: Agreement) -> Agreement:
    """Enter an agreement in the list."""
    AGREEMENTS.append(check)
    return check


def checked(case: Case, check: Agreement) -> Run[Conflict]:
    """What one agreement finds of a stage."""
    mine = case.apart()
    return Run(tuple(check(mine)), mine.asked.looked)


def with_conflicts(case: Case) -> Case:
    """The case with what cannot be right together in it."""
    return replace(case, conflicts=conflicts_of(checked(case, check) for check in AGREEMENTS))


def conflicts_of(every: Iterable[Run[Conflict]]) -> Mapping[str, tuple[Conflict, ...]]:
    """The entries of a stage that cannot be right together, each with its conflicts."""
    found: dict[str, tuple[Conflict, ...]] = {}
    for conflict in (conflict for run in every for conflict in run.made):
        for here in conflict.entries:
            found[here] = (*found.get(here, ()), conflict)
    return found


@rule("record.agreement", "Entries that cannot both be right", masonry=False, asks="")
def told(case: Case) -> Iterator[Finding]:
    """Where two entries cannot both be true, neither is relied on until both are measured again."""
    for conflict in case.every_conflict:
        yield case.finding(
            Verdict.MEASURE,
            f"Cannot both be right: {conflict.what} Measure both again.",
            item=conflict.item,
            missing=conflict.addresses,
        )


@rule("record.amendments", "Amendments of the place", masonry=False, asks="")
def not_here(case: Case) -> Iterator[Finding]:
    """A job that uses the amendments of a place is not judged in full where they are not kept."""
    place = case.amendments_of
    if place and not same_place(place, case.edition.amended_for):
        yield case.finding(
            Verdict.REFER,
            f"The job uses the amendments of {place}, and none of {case.edition.id} are kept here: the values are as published.",
            remedy=("Get them from the building department and enter them, or clear the entry.",),
        )


def _number(case: Case, whose: Whose, name: str) -> Reading | None:
    return case.number(whose, name, needed=False).known


def _word(case: Case, whose: Whose, name: str) -> str | None:
    return case.word(whose, name, needed=False).known


def _conflict(case: Case, item: str, what: str, *pairs: Pair) -> Conflict:
    paths = [
        (*(whose.split(".") if isinstance(whose, str) else of(whose)), *name.split("."))
        for whose, name in pairs
    ]
    return Conflict(
        item, what, tuple(case.here(*path) for path in paths), tuple(case.address(*path) for path in paths)
    )


@agreement
def span_and_opening(case: Case) -> Iterator[Conflict]:
    """A lintel spans at least the opening under it."""
    for face in case.faces:
        span, width = _number(case, face, "lintel.span"), _number(case, face, "width")
        if span and width and span.high < width.low:
            what = f"at the {face.name} face the lintel spans {case.length(span)} and the opening is {case.length(width)} wide."
            yield _conflict(
                case, f"{face.name}: span and width", what, (face, "lintel.span"), (face, "width")
            )


def _widest(case: Case) -> tuple[Reading, Pair] | None:
    """The widest opening in front or back, which is as wide as the firebox; None where any of them is not known."""
    faces = [face for face in case.faces if _word(case, face, "side") not in BESIDE]
    widths = [(_number(case, face, "width"), face) for face in faces]
    known = [(width, (face, "width")) for width, face in widths if width]
    return max(known, key=lambda pair: pair[0].value) if known and len(known) == len(widths) else None


@agreement
def throat_and_firebox(case: Case) -> Iterator[Conflict]:
    """A throat is no wider and no deeper than the firebox under it, and neither is a damper."""
    widest, depth = _widest(case), _number(case, "firebox", "depth")
    throat, deep = _number(case, "firebox", "throat_width"), _number(case, "firebox", "throat_depth")
    damper = _number(case, "firebox", "damper_area")
    if widest and throat and throat.low > widest[0].high:
        what = f"the throat is {case.length(throat)} wide and the firebox under it {case.length(widest[0])}."
        yield _conflict(case, "throat and firebox width", what, ("firebox", "throat_width"), widest[1])
    if depth and deep and deep.low > depth.high:
        what = f"the throat is {case.length(deep)} front to back and the firebox {case.length(depth)} deep."
        yield _conflict(
            case, "throat and firebox depth", what, ("firebox", "throat_depth"), ("firebox", "depth")
        )
    if widest and depth and damper and damper.low > (widest[0] * depth).high:
        what = f"the damper opens {case.area(damper)}, more than the whole firebox under it."
        yield _conflict(
            case, "damper and firebox", what, ("firebox", "damper_area"), ("firebox", "depth"), widest[1]
        )


@agreement
def side_opening_and_depth(case: Case) -> Iterator[Conflict]:
    """An opening in the side of a firebox is no wider than the firebox is deep."""
    depth = _number(case, "firebox", "depth")
    for face in case.faces:
        width = _number(case, face, "width")
        if _word(case, face, "side") in BESIDE and width and depth and width.low > depth.high:
            what = f"the {face.name} opening in the side is {case.length(width)} wide and the firebox {case.length(depth)} deep."
            yield _conflict(
                case, f"{face.name}: width and depth", what, (face, "width"), ("firebox", "depth")
            )


@agreement
def faces_on_sides(case: Case) -> Iterator[Conflict]:
    """Each side of a firebox has one face."""
    for one, other in combinations(case.faces, 2):
        side = _word(case, one, "side")
        if side and side == _word(case, other, "side"):
            what = f"{one.name} and {other.name} are both on the {side} side."
            yield _conflict(case, f"{one.name} and {other.name}", what, (one, "side"), (other, "side"))


@agreement
def throat_and_lintels(case: Case) -> Iterator[Conflict]:
    """The throat is above the lintel of every opening."""
    throat = _number(case, "firebox", "throat_height")
    for face in case.faces:
        height = _number(case, face, "height")
        if throat and height and throat.high < height.low:
            what = f"the throat is {case.length(throat)} up and the {face.name} opening {case.length(height)} high."
            yield _conflict(
                case, f"{face.name}: throat and lintel", what, ("firebox", "throat_height"), (face, "height")
            )


@agreement
def chamber_and_flue(case: Case) -> Iterator[Conflict]:
    """The smoke chamber ends below the top of the flue, and the flue stands over the firebox."""
    throat, chamber = (
        _number(case, "firebox", "throat_height"),
        _number(case, "firebox", "smoke_chamber_height"),
    )
    flue = _number(case, "flue", "height")
    if throat and chamber and flue and (throat + chamber).low >= flue.high:
        what = f"the smoke chamber ends {case.length(throat + chamber)} over the firebox floor and the flue {case.length(flue)}."
        pairs = (("firebox", "throat_height"), ("firebox", "smoke_chamber_height"), ("flue", "height"))
        yield _conflict(case, "smoke chamber and flue", what, *pairs)
    for face in case.faces:
        height = _number(case, face, "height")
        if flue and height and flue.high <= height.low:
            what = f"the flue is {case.length(flue)} high from the firebox floor and the {face.name} opening {case.length(height)}."
            yield _conflict(
                case, f"{face.name}: flue and opening", what, ("flue", "height"), (face, "height")
            )


@agreement
def roof_and_ridge(case: Case) -> Iterator[Conflict]:
    """A roof rises from where the chimney passes it to its highest part by its pitch times the level distance."""
    share, least = case.edition["agreement.roof.share"], case.edition["agreement.roof.least"]
    for roof in case.roofs:
        pitch, away = _number(case, roof, "pitch"), _number(case, roof, "distance")
        over, above = _number(case, roof, "above_penetration"), _number(case, roof, "above_highest")
        if not (pitch and away and over and above):
            continue
        rise, by_pitch = over.value - above.value, pitch.value * away.value
        if abs(rise - by_pitch) > max(least.number, by_pitch * share.number):
            what = (
                f"by its heights the {roof.name} rises {case.length(rise)} from the chimney to its highest part, by pitch and "
                f"distance {case.length(by_pitch)}."
            )
            names = ("pitch", "distance", "above_penetration", "above_highest")
            yield _conflict(case, f"{roof.name}: pitch and heights", what, *((roof, name) for name in names))


@agreement
def ridge_and_distance(case: Case) -> Iterator[Conflict]:
    """A ridge that runs into the chimney is at the chimney."""
    least = case.edition["agreement.roof.least"]
    for roof in case.roofs:
        away = _number(case, roof, "distance")
        if away and away.low > least.number and case.flag(roof, "crosses_ridge", needed=False).known:
            what = (
                f"the ridge of the {roof.name} runs into the chimney and is {case.length(away)} away from it."
            )
            yield _conflict(
                case, f"{roof.name}: ridge and distance", what, (roof, "crosses_ridge"), (roof, "distance")
            )


@agreement
def chamber_and_lean(case: Case) -> Iterator[Conflict]:
    """A smoke chamber leans at least as it has to from the width of the throat to that of the flue, half on each side."""
    throat, height, lean = (
        _number(case, "firebox", name)
        for name in ("throat_width", "smoke_chamber_height", "smoke_chamber_slope")
    )
    across = _across(case)
    if not (throat and height and lean and across):
        return
    most = lean.high + case.edition["agreement.chamber"].number
    if most < 89 and (throat.low - across) / 2 > height.high * rise_over_run(most):
        what = (
            f"from a throat {case.length(throat)} wide the smoke chamber narrows to the flue over {case.length(height)} of height, "
            f"which is flatter than {tidy(lean.value)} deg."
        )
        names = ("throat_width", "smoke_chamber_height", "smoke_chamber_slope")
        yield _conflict(case, "smoke chamber and lean", what, *(("firebox", name) for name in names))


def _across(case: Case) -> Fraction | None:
    """The most that a flue is across, by what is known of it."""
    inside = case.sides("flue", "inside", needed=False).known
    round_one = _number(case, "flue", "diameter")
    named = _word(case, "flue", "liner")
    liner = find_liner(case.edition, named)[0] if named else None
    sizes = [
        *(side.high for side in inside or ()),
        *([round_one.high] if round_one else []),
        *(liner.sides if liner else ()),
    ]
    return max(sizes) if sizes else None


@agreement
def logs_and_input(case: Case) -> Iterator[Conflict]:
    """Gas logs burn gas."""
    logs, power = _word(case, "air", "gas_logs"), _number(case, "air", "gas_input")
    if logs not in (None, "none") and power and power.value == 0:
        what = f"there are gas logs ({logs}) and the gas input is 0."
        yield _conflict(case, "gas logs and input", what, ("air", "gas_logs"), ("air", "gas_input"))


@agreement
def liner_and_inside(case: Case) -> Iterator[Conflict]:
    """A flue named by its liner and measured inside has about one area."""
    share = case.edition["agreement.flue.share"].number
    entry = next((n for n in ("area", "diameter", "inside") if case.job_has("flue", n)), None)
    try:
        named = named_area(case)
        measured = measured_area(case)
    except (NotKnown, LinerElsewhere):
        return
    if entry and named and measured and abs(measured.value - named.value) > share * named.value:
        what = f"the liner named has {case.area(named)} inside and the flue measures {case.area(measured)}."
        yield _conflict(case, "liner and inside of the flue", what, ("flue", "liner"), ("flue", entry))


@agreement
def liner_and_shape(case: Case) -> Iterator[Conflict]:
    """A flue has the shape of the liner that is named."""
    shape = _word(case, "flue", "shape")
    named = _word(case, "flue", "liner")
    liner = find_liner(case.edition, named)[0] if named else None
    if liner is None or shape is None:
        return
    sides = "" if liner.round else "square" if liner.sides[0] == liner.sides[1] else "rectangular"
    if shape not in ({"round"} if liner.round else {sides, "rectangular"}):
        what = f"the liner named is {sides or 'round'} and the flue {shape}."
        yield _conflict(case, "liner and shape of the flue", what, ("flue", "liner"), ("flue", "shape"))


@agreement
def shape_and_diameter(case: Case) -> Iterator[Conflict]:
    """Only a round flue has a diameter."""
    shape = _word(case, "flue", "shape")
    across = _number(case, "flue", "diameter")
    if across and shape not in (None, "round"):
        what = f"a diameter is entered and the flue is {shape}."
        yield _conflict(case, "shape and diameter of the flue", what, ("flue", "shape"), ("flue", "diameter"))


@agreement
def sizes_of_flue(case: Case) -> Iterator[Conflict]:
    """What was measured of one flue in two ways gives about one area."""
    share = case.edition["agreement.flue.share"].number
    for (one, first), (other, second) in combinations(measured_areas(case).items(), 2):
        if abs(first - second) > share * max(first, second):
            what = f"by its {SIZES_OF_FLUE[one]} the flue has {case.area(first)}, by its {SIZES_OF_FLUE[other]} {case.area(second)}."
            yield _conflict(case, f"{one} and {other} of the flue", what, ("flue", one), ("flue", other))


@agreement
def hearth_and_layers(case: Case) -> Iterator[Conflict]:
    """A hearth is as thick as its layers together."""
    allowance = case.edition["agreement.layers"].number
    for face in case.faces:
        thick = _number(case, face, "hearth.thickness")
        layers = case.listed(face, "hearth.layers", needed=False).known or ()
        if thick is None or not layers or any(layer.thickness is None for layer in layers):
            continue
        total = sum((layer.thickness.value for layer in layers), start=Fraction(0))
        if abs(total - thick.value) > allowance:
            what = f"the hearth at the {face.name} face is {case.length(thick)} thick and its layers {case.length(total)}."
            yield _conflict(
                case,
                f"{face.name}: hearth and layers",
                what,
                (face, "hearth.thickness"),
                (face, "hearth.layers"),
            )


@agreement
def figure_and_opening(case: Case) -> Iterator[Conflict]:
    """A flue area read off the code's figure is between half of what the code's share gives and twice that."""
    read = _number(case, "flue", "figure_area")
    state = next((one for one in case.states if one.open), None)
    if read is None or state is None:
        return
    try:
        total = sum(
            (made.area.value for made in openings(case, map(case.face, state.open))), start=Fraction(0)
        )
        share = shares(case, flue_of(case)).options[0].share
    except (NotKnown, LinerElsewhere, Silent):
        return
    wanted = total * share
    if not wanted / 2 <= read.value <= wanted * 2:
        what = (
            f"the code's figure was read as {case.area(read)}, and the share for this flue, {tidy(share)} of {case.area(total)}, "
            f"is {case.area(wanted)}."
        )
        faces = ((case.face(name), "height") for name in state.open)
        yield _conflict(case, "figure and opening", what, ("flue", "figure_area"), *faces)
