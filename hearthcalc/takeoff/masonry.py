"""Firebrick, brick, hearths, lintels and liner."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from hearthcalc.findings import Step
from hearthcalc.models.lintel import find_angle
from hearthcalc.reference import read_table
from hearthcalc.rules.case import Case, Subject, in_unit, tidy
from hearthcalc.rules.firebox import OPPOSITE, open_sides
from hearthcalc.rules.inputs import Layer, is_an_arch, layers_of
from hearthcalc.takeoff.lines import (
    CUBIC_FOOT,
    FACE_BRICK,
    FOOT,
    PER_CUBIC_FOOT,
    SQUARE_FOOT,
    Item,
    as_area,
    as_density,
    as_joints,
    as_load,
    as_volume,
    as_weight,
    bricks,
    brickwork,
    joint_volume,
    length_step,
    own_brick,
    per_area,
    per_square_foot,
    printed,
    rounded_up,
    sections,
    size_text,
    slab_weight,
    whole,
)

CARRIES = ("wood", "wood, insulated", "air gap")
NEW = "Figured as if it were built new; masonry that stays needs none."
PART = "Figured as if all of it were laid anew; what stays needs none."
JOISTS = (
    "Joists sized for a room's load may not carry that on top of what the room carries: someone qualified to judge the "
    "structure decides before it is built."
)

# The firebox


class _Wall(Struct, frozen=True):
    """A closed side of the firebox, or its floor. width, height: in.  key: the entry of its thickness, "" of the floor."""

    name: str
    width: Fraction
    height: Fraction
    key: str

    @property
    def area(self) -> Fraction:
        return self.width * self.height


def closed_sides(case: Case) -> dict[str, str]:
    """The closed sides of the firebox, with the entry of their thickness; the side walls stand for a back that is not given."""
    given = case.job_has("firebox", "back_wall") or case.is_voided("firebox", "back_wall")
    back = "back_wall" if given else "wall"
    keys = {"back": back, "front": "front_wall", "left": "wall", "right": "wall"}
    return {side: key for side, key in keys.items() if side not in open_sides(case)}


def across_and_deep(case: Case) -> tuple[Fraction, Fraction, tuple[str, str]]:
    """Width and depth of the firebox, in, and the sides that are as wide as it is. Raises NotKnown."""
    sides = {face.name: case.word(face, "side", needed=False).known or "front" for face in case.faces}
    near = sides[case.faces[0].name]
    across = (near, OPPOSITE[near])  # the first opening, and the wall behind the fire
    widths = [case.number(face, "width") for face in case.faces if sides[face.name] in across]
    deep = case.number("firebox", "depth")
    case.all_known()
    return max(entry.value.value for entry in widths), deep.value.value, across


def _box(case: Case) -> list[_Wall]:
    """The floor and the closed walls of the firebox, taken as a box up to the throat. Raises NotKnown."""
    closed = closed_sides(case)
    high = case.number("firebox", "throat_height")
    width, depth, across = across_and_deep(case)
    height = high.value.value
    walls = [_Wall(side, width if side in across else depth, height, key) for side, key in closed.items()]
    return [_Wall("floor", width, depth, ""), *walls]


BOX_NOTE = "Figured as a box up to the throat, with nothing of a side that has an opening; splayed and leaning walls take a little less."


def _area_steps(case: Case, walls: Sequence[_Wall]) -> list[Step]:
    steps = [
        Step(
            f"A_{wall.name}",
            "width x height" if wall.key else "width x depth",
            size_text(case, wall.width, wall.height),
            *as_area(case, wall.area),
        )
        for wall in walls
    ]
    total = sum((wall.area for wall in walls), start=Fraction(0))
    numbers = " + ".join(step.text for step in steps)
    return [*steps, Step("A", "sum", numbers, *as_area(case, total))]


class _Lining(Struct, frozen=True):
    """Firebrick as it is laid. area: of what it lines, ft2.  length, height: of the face that a brick shows; depth; joint: in."""

    walls: tuple[_Wall, ...]
    length: Fraction
    height: Fraction
    depth: Fraction
    joint: Fraction

    @property
    def area(self) -> Fraction:
        return sum((wall.area for wall in self.walls), start=Fraction(0)) / SQUARE_FOOT

    @property
    def rate(self) -> Fraction:
        return per_square_foot(self.length, self.height, self.joint)

    @property
    def on_edge(self) -> bool:
        return self.height > self.depth


def _lined(case: Case) -> _Lining | None:
    """The firebrick of the firebox; None where it has none. Raises NotKnown."""
    thick = case.number("firebox", "lining")
    if thick.known is not None and not thick.known.value:
        return None
    wide = case.number("firebox", "joint")
    walls = _box(case)
    length, width, thickness = (
        case.edition[f"takeoff.firebrick.{name}"].number for name in ("length", "width", "thickness")
    )
    depth = thick.value.value
    on_edge = depth <= (width + thickness) / 2
    return _Lining(tuple(walls), length, width if on_edge else thickness, depth, wide.value.value)


def firebrick(case: Case) -> Iterator[Item]:
    laid = _lined(case)
    if laid is None:
        return
    waste = case.edition["takeoff.waste.firebrick"]
    count = bricks(laid.area, laid.rate, waste.number)
    how = (
        "laid on edge, the wide side to the fire" if laid.on_edge else "laid flat, the long edge to the fire"
    )
    area, rate = as_area(case, laid.area * SQUARE_FOOT), per_area(case, laid.rate, "brick")
    joint = case.length(laid.joint)
    one = "1 m2" if case.unit == "mm" else "1 ft2"
    numbers = f"{one} / (({case.length(laid.length)} + {joint}) x ({case.length(laid.height)} + {joint}))"
    yield Item(
        "Firebrick",
        Fraction(count),
        "brick",
        f"{count} firebrick {size_text(case, laid.length, *sorted((laid.height, laid.depth), reverse=True))}, {how}",
        working=(
            *_area_steps(case, laid.walls),
            Step("rate", "brick for each area of wall", numbers, *rate),
            whole("A x rate x (1 + waste)", f"{area[2]} x {rate[2]} x (1 + {waste.shown})", count, "brick"),
        ),
        note=BOX_NOTE,
    )


def refractory_mortar(case: Case) -> Iterator[Item]:
    laid = _lined(case)
    if laid is None:
        return
    count = laid.area * laid.rate
    each = joint_volume(laid.length, laid.height, laid.depth, laid.joint)
    waste = case.edition["takeoff.waste.mortar"]
    value, unit, text = as_volume(case, count * each * (1 + waste.number), small=True)
    one = as_joints(case, each)
    yield Item(
        "Refractory mortar",
        value,
        unit,
        f"{text}, medium duty",
        working=(
            Step("each", "joints of one brick", f"{case.length(laid.joint)} wide, {case.length(laid.depth)} deep", *one),
            Step("V", "brick x each x (1 + waste)", f"{rounded_up(count)} x {one[2]} x (1 + {waste.shown})", value, unit, text),
        ),
    )  # fmt: skip


def walls_brick(case: Case) -> Iterator[Item]:
    closed = closed_sides(case)
    lining = case.number("firebox", "lining")
    thick = {key: case.number("firebox", key) for key in dict.fromkeys(closed.values())}
    walls = [wall for wall in _box(case) if wall.key]
    behind = {key: entry.value.value - lining.value.value for key, entry in thick.items()}
    thin = [key for key, rest in behind.items() if rest < 0]
    if thin:
        text = (
            f"Not figured: {case.length(thick[thin[0]].value)} of wall is less than the {case.length(lining.value)} of firebrick "
            "in it; measure again."
        )
        missing = tuple(case.address("firebox", key) for key in (*thin, "lining"))
        yield Item("Brick of the firebox walls", None, "", text, missing=missing)
        return
    volume = sum((wall.area * behind[wall.key] for wall in walls), start=Fraction(0))
    if not volume:
        return
    parts = [
        Step(
            f"V_{wall.name}", "width x height x (wall - lining)", size_text(case, wall.width, wall.height, behind[wall.key]),
            *as_volume(case, wall.area * behind[wall.key]),
        ) for wall in walls
    ]  # fmt: skip
    stands_in = any(wall.name == "back" and wall.key == "wall" for wall in walls)
    more = (
        " The back is figured as thick as the sides: its own thickness is not entered." if stands_in else ""
    )
    yield brickwork(case, "Brick of the firebox walls", "behind the firebrick", volume, parts, f"{NEW}{more}")


# Over and before an opening


def face_brick(case: Case, face: Subject) -> Iterator[Item]:
    name = f"Face brick over the opening, {face.name}"
    if is_an_arch(case, face):
        yield Item(name, None, "", "Not figured over an arch: count it from the layout of the arch.")
        return
    span, height = case.number(face, "lintel.span"), case.number(face, "lintel.wall_height")
    area = span.value.value * height.value.value
    if not area:
        return
    waste = case.edition["takeoff.waste.brick"]
    own = own_brick(case)
    if own is None:
        joint = case.edition["takeoff.face_brick.joint"]
        rows = read_table(case.edition.folder, case.edition["takeoff.face_brick"].table).rows
        row = next((row for row in rows if Fraction(row["joint_in"]) == joint.number), None)
        if row is None:
            text = f"Not figured: the table of face brick has no joint of {printed(case, joint)}."
            yield Item(name, None, "", text)
            return
        rate, mortar = Fraction(row["brick_8x2.25x3.75"]) / 100, Fraction(row["mortar_incl_20pct"]) / 100
        size, wide = FACE_BRICK, printed(case, joint)
    else:
        length, high, deep, between = own
        rate = per_square_foot(length, high, between)
        wet = case.edition["takeoff.waste.mortar"].number
        mortar = rate * joint_volume(length, high, deep, between) / CUBIC_FOOT * (1 + wet)
        size, wide = (length, high, deep), case.length(between)
    count = bricks(area / SQUARE_FOOT, rate, waste.number)
    value, unit, text = as_volume(case, area * mortar * 12)
    shown, each = as_area(case, area), per_area(case, rate, "brick")
    numbers = f"{shown[2]} x {each[2]} (joint {wide}) x (1 + {waste.shown})"
    yield Item(
        name,
        Fraction(count),
        "brick",
        f"{count} face brick, {size_text(case, *size)}, and {text} of mortar",
        working=(
            Step("A", "clear span x height of the wall", size_text(case, span.value.value, height.value.value), *shown),
            whole("A x rate x (1 + waste)", numbers, count, "brick"),
            Step("mortar", "A x rate, waste included", f"{shown[2]} x {_mortar_rate(case, mortar)}", value, unit, text),
        ),
        note="One wythe of the wall over the opening, the most that is taken out and laid again; add what you lay beside it.",
    )  # fmt: skip


def _mortar_rate(case: Case, feet: Fraction) -> str:
    """Mortar for each area: ft3 for each ft2."""
    if case.unit == "mm":
        return f"{tidy(feet * FOOT, '>=')} m3/m2"
    return f"{tidy(feet)} ft3/ft2"


def hearth(case: Case, face: Subject) -> Iterator[Item]:
    width, front, left, right = (
        case.number(face, name) for name in ("width", "hearth.front", "hearth.left", "hearth.right")
    )
    layered = bool(case.listed(face, "hearth.layers", needed=False).known)
    thick = case.number(face, "hearth.thickness", needed=not layered)
    case.all_known()
    across = width.value + left.value + right.value
    area = across.value * front.value.value
    if not area:
        return
    numbers = f"({' + '.join(case.length(entry.value) for entry in (width, left, right))}) x {case.length(front.value)}"
    plan = Step("A", "(width + left + right) x front", numbers, *as_area(case, area))
    if layered:
        yield from _layers(case, face, area, plan, layers_of(case, face))
        return
    density, waste = case.edition["takeoff.concrete"], case.edition["takeoff.waste.concrete"]
    deep = case.length(thick.value)
    value, unit, text = as_volume(case, area * thick.value.value * (1 + waste.number))
    yield Item(
        f"Hearth slab, {face.name}",
        value,
        unit,
        f"{text} of reinforced concrete, {deep} thick over {plan.text}",
        working=(
            plan,
            Step("V", "A x thickness x (1 + waste)", f"{plan.text} x {deep} x (1 + {waste.shown})", value, unit, text),
        ),
        note=f"Its layers are not entered: figured as if all of it were concrete.{' ' + PART if case.planned and case.stood(face) else ''}",
    )  # fmt: skip
    each = slab_weight(thick.value.value, density.number)
    numbers = f"{deep} x {as_density(case, density.number)}"
    yield _burden(case, face, area, each, [Step("w", "thickness x density", numbers, *as_load(case, each))])


def _layers(case: Case, face: Subject, area: Fraction, plan: Step, layers: Sequence[Layer]) -> Iterator[Item]:
    """Each layer by what it is bought by: concrete and mortar by volume, the rest by area; then what it all weighs."""
    weights: list[Step] = []
    total, unknown = Fraction(0), []
    for layer in layers:
        material, thick = layer.material, layer.thickness.value
        if material.kind == "air":
            continue
        if material.density is None:
            unknown.append(material.title.lower())
        else:
            density = material.density / PER_CUBIC_FOOT
            each = slab_weight(thick, density)
            total += each
            numbers = f"{case.length(thick)} x {as_density(case, density)}"
            weights.append(Step("w", f"{material.title}: thickness x density", numbers, *as_load(case, each)))
        if material.kind != "wood":
            yield _layer(case, face, area, plan, layer)
    yield _burden(case, face, area, total, weights, unknown)


def _layer(case: Case, face: Subject, area: Fraction, plan: Step, layer: Layer) -> Item:
    material, thick = layer.material, layer.thickness.value
    poured = material.kind in ("concrete", "mortar")
    waste = case.edition["takeoff.waste.concrete" if poured else "takeoff.waste.board"]
    bought = area * (1 + waste.number)
    value, unit, text = as_volume(case, bought * thick) if poured else as_area(case, bought)
    name = "Board" if material.kind == "board" else "Hearth"
    expression = "A x thickness x (1 + waste)" if poured else "A x (1 + waste)"
    numbers = f"{plan.text}{f' x {case.length(thick)}' if poured else ''} x (1 + {waste.shown})"
    return Item(
        f"{name}, {face.name}: {material.title.lower()}",
        value,
        unit,
        f"{text}, {case.length(thick)} thick",
        working=(plan, Step("V" if poured else "A_bought", expression, numbers, value, unit, text)),
    )


def _burden(
    case: Case, face: Subject, area: Fraction, each: Fraction, steps: list[Step], unknown: Sequence[str] = ()
) -> Item:
    """What a hearth weighs, with a word on what carries it. each: lb for each ft2, without layers whose density is unknown."""
    value, unit, text = as_weight(case, each * area / SQUARE_FOOT)
    load = as_load(case, each)[2]
    usual = case.edition["takeoff.floor"]
    lies = case.word(face, "hearth.below", needed=False).known
    more = "More than " if unknown else ""
    caution = (
        f"{more}{load} stays on the floor for good; a room's joists are usually sized for "
        f"{as_load(case, usual.number)[2]}. {JOISTS}"
    )
    return Item(
        f"Weight of the hearth, {face.name}",
        value,
        unit,
        f"{more}{text}, {load}",
        working=(*steps, Step("W", "weight for each area x area", f"{load} x {as_area(case, area)[2]}", value, unit, text)),
        note=f"Without {', '.join(unknown)}, whose density is not in the table." if unknown else "",
        caution=caution if lies in (*CARRIES, None) else "",
    )  # fmt: skip


def lintel(case: Case, face: Subject) -> Iterator[Item]:
    if is_an_arch(case, face):
        return
    size = case.word(face, "lintel.angle")
    span, rests, thick = (
        case.number(face, f"lintel.{name}") for name in ("span", "bearing", "wall_thickness")
    )
    case.all_known()
    length = span.value.value + 2 * rests.value.value
    count = max(1, round(thick.value.value / case.edition["steel.wythe"].number))
    angle = find_angle(case.edition, size.value)
    weight = (
        as_weight(case, angle.weight * length / 12 * count)[2] if angle else "its weight is not in the table"
    )
    unit = "angles" if count > 1 else "angle"
    yield Item(
        f"Lintel, {face.name}",
        Fraction(count),
        unit,
        f"{count} of {angle.name if angle else size.value}, {case.length(length)} long, {weight}",
        working=(
            length_step(
                case, "length", "clear span + bearings", f"{case.length(span.value)} + 2 x {case.length(rests.value)}", length
            ),
            whole("one under each wythe", case.length(thick.value), count, unit),
        ),
        note="Long leg upright. Whether it carries its load is told in the findings.",
    )  # fmt: skip


# The flue


def liner(case: Case) -> Iterator[Item]:
    lining = case.word("flue", "lining")
    if lining.known == "unlined":
        return
    height = case.number("flue", "height")
    throat, chamber = case.number("firebox", "throat_height"), case.number("firebox", "smoke_chamber_height")
    case.all_known()
    parts = [entry.value.value for entry in (height, throat, chamber)]
    length = parts[0] - parts[1] - parts[2]
    run = length_step(
        case,
        "length",
        "flue height - throat height - smoke chamber",
        " - ".join(case.length(part) for part in parts),
        length,
    )
    if length <= 0:
        text = "Not figured: the smoke chamber ends above the top of the flue; measure again."
        yield Item("Flue liner", None, "", text, (run,))
        return
    size, missing = liner_size(case)
    note = _offsets(case)
    if lining.value != "clay":
        how = "cast in place around a form" if lining.value == "poured" else "a listed liner"
        text = f"{case.length(length)}{size}, {how}: its maker says what goes with it"
        yield Item(
            "Flue liner", in_unit(length, case.unit), case.unit, text, (run,), note=note, missing=missing
        )
        return
    section = case.edition["takeoff.liner.section"]
    count = sections(length, section.number)
    each = printed(case, section)
    unit = "sections" if count > 1 else "section"
    yield Item(
        "Flue liner",
        Fraction(count),
        "sections",
        f"{count} {unit}{size}, {each} each",
        working=(
            run,
            whole("length / section, rounded up", f"{case.length(length)} / {each}", count, unit),
        ),
        note=note,
        missing=missing,
    )


def liner_size(case: Case) -> tuple[str, tuple[str, ...]]:
    """What a liner is ordered by, and the entry that is missing where nothing tells it."""
    named = case.word("flue", "liner", needed=False).known
    across = case.number("flue", "diameter", needed=False).known
    inside = case.sides("flue", "inside", needed=False).known
    if named:
        return f" of {named}", ()
    if across or inside:
        sides = (across,) if across else inside or ()
        return f" of {size_text(case, *(side.value for side in sides))} inside", ()
    return " of a size that is not entered", (case.address("flue", "liner"),)


def _offsets(case: Case) -> str:
    bends = case.listed("flue", "offsets", needed=False).known
    if bends is None:
        return "Whether the flue has offsets is not entered; each takes extra cut or bent pieces."
    return "Offsets take extra cut or bent pieces." if bends else ""
