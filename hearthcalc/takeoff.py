"""What to buy for a fireplace: brick, mortar, hearths, liner, lintels and board, each with its working."""

from __future__ import annotations

import csv
import io
import json
import math
import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from fractions import Fraction
from typing import Any

from hearthcalc import __version__
from hearthcalc.findings import Step
from hearthcalc.job import Job, Stage
from hearthcalc.models.heat import METRE
from hearthcalc.models.lintel import find_angle
from hearthcalc.reference import Edition, Value, read_table
from hearthcalc.rules.agreement import with_conflicts
from hearthcalc.rules.case import Case, NotKnown, Subject, in_unit, label, tidy
from hearthcalc.rules.firebox import OPPOSITE, open_sides
from hearthcalc.rules.inputs import Layer, NotInTable, is_an_arch, layers_of

FORMAT = "hearthcalc-takeoff"
VERSION = 1

SQUARE_FOOT = 144  # in2
CUBIC_FOOT = 1728  # in3
FOOT = 12 * METRE  # m
POUNDS = Fraction("0.45359237")  # kg in a pound
PER_CUBIC_FOOT = POUNDS / FOOT**3  # kg/m3 in a lb/ft3
CARRIES = ("wood", "wood, insulated", "air gap")
FACE_BRICK = (Fraction(8), Fraction(9, 4), Fraction(15, 4))  # in; its column of the table is named by them
METRIC = ("mm", "cm", "m")

JOISTS = (
    "Joists sized for a room's load may not carry that on top of what the room carries: someone qualified to judge the "
    "structure decides before it is built."
)


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the shopping list. quantity: in unit, None where it cannot be told; missing: the entries it waits for."""

    name: str
    quantity: Fraction | None
    unit: str
    text: str
    working: tuple[Step, ...] = ()
    note: str = ""
    caution: str = ""
    missing: tuple[str, ...] = field(default=())


# Arithmetic


def bricks(amount: Fraction, rate: Fraction, waste: Fraction = Fraction(0)) -> int:
    """How many whole bricks an amount of work takes: a volume at so many for each ft3, an area at so many for each ft2, or courses."""
    return math.ceil(amount * rate * (1 + waste))


def per_square_foot(length: Fraction, height: Fraction, joint: Fraction) -> Fraction:
    """Bricks for a square foot of wall, by the face they show and the joint round it; all in inches."""
    return SQUARE_FOOT / ((length + joint) * (height + joint))


def joint_volume(length: Fraction, height: Fraction, depth: Fraction, joint: Fraction) -> Fraction:
    """Mortar in the joints that belong to one brick, in3."""
    return ((length + joint) * (height + joint) - length * height) * depth


def sections(height: Fraction, section: Fraction) -> int:
    """Whole liner sections that a height takes."""
    return math.ceil(height / section)


def slab_weight(thickness: Fraction, density: Fraction) -> Fraction:
    """Weight of a slab for each ft2, lb. thickness: in.  density: lb/ft3."""
    return thickness / 12 * density


# Telling


def take_off(job: Job, edition: Edition, stage: str | None = None) -> tuple[Item, ...]:
    """The shopping list of a stage, of the planned one where there is one. Raises KeyError where the job has no such stage."""
    stages = job.stages()
    chosen = stages[stage] if stage else stages.get("planned") or stages["found"]
    items = _items(chosen, stages["found"].job, edition)
    if chosen.name == "found":
        return items
    there = {_bought(item) for item in _items(stages["found"], stages["found"].job, edition)}
    return tuple(_stands(item) if _bought(item) in there else item for item in items)


def _bought(item: Item) -> tuple[str, Fraction | None, str]:
    return item.name, item.quantity, item.text


def _stands(item: Item) -> Item:
    if item.quantity is None:
        return item
    told = "It is the same as found: buy only what is replaced."
    return replace(item, note=f"{item.note} {told}".strip())


def _items(stage: Stage, found: Job, edition: Edition) -> tuple[Item, ...]:
    case = with_conflicts(Case(stage, found, edition))
    items: list[Item] = []
    of_masonry = {
        "Firebrick": _firebrick,
        "Refractory mortar": _refractory_mortar,
        "Brick of the firebox walls": _walls,
        "Flue liner": _liner,
    }
    if case.word("fireplace", "construction", needed=False).known != "factory-built":
        for name, tell in of_masonry.items():
            items += _told(name, tell, case)
    for face in case.faces:
        for name, tell_face in (
            ("Face brick over the opening", _face_brick),
            ("Hearth", _hearth),
            ("Lintel", _lintel),
        ):
            items += _told(f"{name}, {face.name}", tell_face, case, face)
    return tuple(items)


def _told(name: str, tell: Callable[..., Iterator[Item]], case: Case, *subject: Subject) -> list[Item]:
    """The items of one kind; one that says why, where a measure is missing or cannot be right together with another."""
    mine = case.fresh()
    try:
        items = list(tell(mine, *subject))
    except NotInTable as err:
        text = f"No material {err.name!r} is in the table of materials."
        return [Item(name, None, "", text, missing=err.missing)]
    except NotKnown as lacking:
        told = "; ".join(dict.fromkeys(label(address) for address in lacking.missing))
        return [Item(name, None, "", f"Not figured yet. Still needed: {told}.", missing=lacking.missing)]
    wrong = dict.fromkeys(one for here in mine.asked.read for one in mine.conflicts.get(here, ()))
    if wrong and items:
        text = f"Not figured, because entries cannot both be right; measure again: {' '.join(one.what for one in wrong)}"
        both = dict.fromkeys(address for one in wrong for address in one.addresses)
        return [Item(name, None, "", text, missing=tuple(both))]
    moved = tuple(case.stage.moved[here] for here in mine.asked.read if here in case.stage.moved)
    return [replace(item, working=(*moved, *item.working)) for item in items]


# Figures as they are bought: in the units of the job, rounded up


def _area(case: Case, square_inches: Fraction) -> tuple[Fraction, str, str]:
    if case.unit == "mm":
        return _amount(square_inches * METRE**2, "m2")
    return _amount(square_inches / SQUARE_FOOT, "ft2")


def _volume(case: Case, cubic_inches: Fraction, *, small: bool = False) -> tuple[Fraction, str, str]:
    if case.unit == "mm":
        return _amount(cubic_inches * METRE**3 * (1000 if small else 1), "L" if small else "m3")
    return _amount(cubic_inches / CUBIC_FOOT, "ft3")


def _joints(case: Case, cubic_inches: Fraction) -> tuple[Fraction, str, str]:
    if case.unit == "mm":
        return _amount(cubic_inches * (METRE * 100) ** 3, "cm3")
    return _amount(cubic_inches, "in3")


def _weight(case: Case, pounds: Fraction) -> tuple[Fraction, str, str]:
    return _amount(pounds * POUNDS, "kg") if case.unit == "mm" else _amount(pounds, "lb")


def _load(case: Case, pounds: Fraction) -> tuple[Fraction, str, str]:
    """A weight for each ft2, lb."""
    if case.unit == "mm":
        return _amount(pounds * POUNDS / FOOT**2, "kg/m2")
    return _amount(pounds, "lb/ft2")


def _density(case: Case, pounds: Fraction) -> str:
    """A weight for each ft3, lb."""
    if case.unit == "mm":
        return f"{tidy(pounds * PER_CUBIC_FOOT)} kg/m3"
    return f"{tidy(pounds)} lb/ft3"


def _for_each_area(case: Case, rate: Fraction, unit: str) -> tuple[Fraction, str, str]:
    """So many for each ft2."""
    if case.unit == "mm":
        return _amount(rate / FOOT**2, f"{unit}/m2")
    return _amount(rate, f"{unit}/ft2")


def _for_each_volume(case: Case, rate: Fraction, unit: str) -> tuple[Fraction, str, str]:
    """So many for each ft3."""
    if case.unit == "mm":
        return _amount(rate / FOOT**3, f"{unit}/m3")
    return _amount(rate, f"{unit}/ft3")


def _amount(value: Fraction, unit: str) -> tuple[Fraction, str, str]:
    return value, unit, f"{_up(value)} {unit}"


def _up(value: Fraction) -> str:
    """A number as it is bought: rounded up, to hundredths where it is small."""
    return tidy(Fraction(math.ceil(value * 100), 100) if value < 10 else value, ">=")


def _printed(case: Case, value: Value) -> str:
    """A length of the reference as its source prints it, or in the unit of the job where that is another system."""
    metric = value.quantity is not None and value.quantity.unit in METRIC
    return value.shown if metric == (case.unit == "mm") else case.length(value.number)


def _size(case: Case, *sides: Fraction) -> str:
    return " x ".join(case.length(side) for side in sides)


def _whole(expression: str, numbers: str, count: int, unit: str) -> Step:
    return Step("count", expression, numbers, Fraction(count), unit, f"{count} {unit}")


def _length_step(case: Case, symbol: str, expression: str, numbers: str, value: Fraction) -> Step:
    return Step(symbol, expression, numbers, in_unit(value, case.unit), case.unit, case.length(value))


# The firebox


@dataclass(frozen=True, slots=True)
class _Wall:
    """A closed side of the firebox, or its floor. width, height: in.  key: the entry of its thickness, "" of the floor."""

    name: str
    width: Fraction
    height: Fraction
    key: str

    @property
    def area(self) -> Fraction:
        return self.width * self.height


def _closed(case: Case) -> dict[str, str]:
    """The closed sides of the firebox, with the entry of their thickness; the side walls stand for a back that is not given."""
    given = case.job_has("firebox", "back_wall") or case.is_voided("firebox", "back_wall")
    back = "back_wall" if given else "wall"
    keys = {"back": back, "front": back, "left": "wall", "right": "wall"}
    return {side: key for side, key in keys.items() if side not in open_sides(case)}


def _box(case: Case) -> list[_Wall]:
    """The floor and the closed walls of the firebox, taken as a box up to the throat. Raises NotKnown."""
    closed = _closed(case)
    sides = {face.name: case.word(face, "side", needed=False).known or "front" for face in case.faces}
    near = sides[case.faces[0].name]
    across = (
        near,
        OPPOSITE[near],
    )  # the first opening and the wall behind the fire are as wide as the firebox
    widths = [case.number(face, "width") for face in case.faces if sides[face.name] in across]
    deep, high = case.number("firebox", "depth"), case.number("firebox", "throat_height")
    case.all_known()
    width, depth, height = max(entry.value.value for entry in widths), deep.value.value, high.value.value
    walls = [_Wall(side, width if side in across else depth, height, key) for side, key in closed.items()]
    return [_Wall("floor", width, depth, ""), *walls]


BOX_NOTE = "Figured as a box up to the throat, with nothing of a side that has an opening; splayed and leaning walls take a little less."


def _area_steps(case: Case, walls: Sequence[_Wall]) -> list[Step]:
    steps = [
        Step(
            f"A_{wall.name}",
            "width x height" if wall.key else "width x depth",
            _size(case, wall.width, wall.height),
            *_area(case, wall.area),
        )
        for wall in walls
    ]
    total = sum((wall.area for wall in walls), start=Fraction(0))
    numbers = " + ".join(step.text for step in steps)
    return [*steps, Step("A", "sum", numbers, *_area(case, total))]


@dataclass(frozen=True, slots=True)
class _Lining:
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


def _firebrick(case: Case) -> Iterator[Item]:
    laid = _lined(case)
    if laid is None:
        return
    waste = case.edition["takeoff.waste.brick"]
    count = bricks(laid.area, laid.rate, waste.number)
    how = (
        "laid on edge, the wide side to the fire" if laid.on_edge else "laid flat, the long edge to the fire"
    )
    area, rate = _area(case, laid.area * SQUARE_FOOT), _for_each_area(case, laid.rate, "brick")
    joint = case.length(laid.joint)
    one = "1 m2" if case.unit == "mm" else "1 ft2"
    numbers = f"{one} / (({case.length(laid.length)} + {joint}) x ({case.length(laid.height)} + {joint}))"
    yield Item(
        "Firebrick",
        Fraction(count),
        "brick",
        f"{count} firebrick {_size(case, laid.length, *sorted((laid.height, laid.depth), reverse=True))}, {how}",
        working=(
            *_area_steps(case, laid.walls),
            Step("rate", "brick for each area of wall", numbers, *rate),
            _whole("A x rate x (1 + waste)", f"{area[2]} x {rate[2]} x (1 + {waste.shown})", count, "brick"),
        ),
        note=BOX_NOTE,
    )


def _refractory_mortar(case: Case) -> Iterator[Item]:
    laid = _lined(case)
    if laid is None:
        return
    count = laid.area * laid.rate
    each = joint_volume(laid.length, laid.height, laid.depth, laid.joint)
    waste = case.edition["takeoff.waste.mortar"]
    value, unit, text = _volume(case, count * each * (1 + waste.number), small=True)
    one = _joints(case, each)
    yield Item(
        "Refractory mortar",
        value,
        unit,
        f"{text}, medium duty",
        working=(
            Step("each", "joints of one brick", f"{case.length(laid.joint)} wide, {case.length(laid.depth)} deep", *one),
            Step("V", "brick x each x (1 + waste)", f"{_up(count)} x {one[2]} x (1 + {waste.shown})", value, unit, text),
        ),
    )  # fmt: skip


def _walls(case: Case) -> Iterator[Item]:
    closed = _closed(case)
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
    yield _behind_the_firebrick(case, walls, behind, volume)


def _behind_the_firebrick(
    case: Case, walls: Sequence[_Wall], behind: Mapping[str, Fraction], volume: Fraction
) -> Item:
    """Brick and its mortar. behind: how thick the brick is, in, by the entry of its wall.  volume: of all of it, in3."""
    rate, waste = case.edition["takeoff.brick_per_volume"], case.edition["takeoff.waste.brick"]
    count = bricks(volume / CUBIC_FOOT, rate.number, waste.number)
    mix = {name: case.edition[f"takeoff.mortar.{name}"] for name in ("cement", "lime", "sand")}
    mortar, thousand = (
        ", ".join(f"{_mixed(case, value, value.number * bricks_laid / 1000)} of {name}" for name, value in mix.items())
        for bricks_laid in (count, 1000)
    )  # fmt: skip
    parts = [
        Step(
            f"V_{wall.name}", "width x height x (wall - lining)", _size(case, wall.width, wall.height, behind[wall.key]),
            *_volume(case, wall.area * behind[wall.key]),
        ) for wall in walls
    ]  # fmt: skip
    numbers = f"{_volume(case, volume)[2]} x {_for_each_volume(case, rate.number, 'brick')[2]} x (1 + {waste.shown})"
    stands_in = any(wall.name in ("back", "front") and wall.key == "wall" for wall in walls)
    note = "Figured as if the walls were built new; masonry that stays needs none."
    return Item(
        "Brick of the firebox walls",
        Fraction(count),
        "brick",
        f"{count} brick behind the firebrick; mortar of {mortar}",
        working=(
            *parts,
            _whole("V x rate x (1 + waste)", numbers, count, "brick"),
            Step("mortar", "for each thousand brick", thousand, None, "", mortar),
        ),
        note=f"{note} The back is figured as thick as the sides: its own thickness is not entered." if stands_in else note,
    )  # fmt: skip


def _mixed(case: Case, value: Value, amount: Fraction) -> str:
    """So much of a part of mortar: by volume in the unit of the job, else by the sack."""
    unit = value.quantity.unit if value.quantity else ""
    return _volume(case, amount * CUBIC_FOOT)[2] if unit == "ft3" else f"{_up(amount)} {unit}"


# Over and before an opening


def _face_brick(case: Case, face: Subject) -> Iterator[Item]:
    name = f"Face brick over the opening, {face.name}"
    if is_an_arch(case, face):
        yield Item(name, None, "", "Not figured over an arch: count it from the layout of the arch.")
        return
    span, height = case.number(face, "lintel.span"), case.number(face, "lintel.wall_height")
    area = span.value.value * height.value.value
    if not area:
        return
    joint, waste = case.edition["takeoff.face_brick.joint"], case.edition["takeoff.waste.brick"]
    rows = read_table(case.edition.folder, case.edition["takeoff.face_brick"].table).rows
    row = next((row for row in rows if Fraction(row["joint_in"]) == joint.number), None)
    if row is None:
        text = f"Not figured: the table of face brick has no joint of {_printed(case, joint)}."
        yield Item(name, None, "", text)
        return
    rate, mortar = Fraction(row["brick_8x2.25x3.75"]) / 100, Fraction(row["mortar_incl_20pct"]) / 100
    count = bricks(area / SQUARE_FOOT, rate, waste.number)
    value, unit, text = _volume(case, area * mortar * 12)
    shown, each = _area(case, area), _for_each_area(case, rate, "brick")
    numbers = f"{shown[2]} x {each[2]} (joint {_printed(case, joint)}) x (1 + {waste.shown})"
    yield Item(
        name,
        Fraction(count),
        "brick",
        f"{count} face brick, {_size(case, *FACE_BRICK)}, and {text} of mortar",
        working=(
            Step("A", "clear span x height of the wall", _size(case, span.value.value, height.value.value), *shown),
            _whole("A x rate x (1 + waste)", numbers, count, "brick"),
            Step("mortar", "A x rate, waste included", f"{shown[2]} x {_mortar_rate(case, mortar)}", value, unit, text),
        ),
        note="One wythe of the wall over the opening, the most that is taken out and laid again; add what you lay beside it.",
    )  # fmt: skip


def _mortar_rate(case: Case, feet: Fraction) -> str:
    """Mortar for each area: ft3 for each ft2."""
    if case.unit == "mm":
        return f"{tidy(feet * FOOT, '>=')} m3/m2"
    return f"{tidy(feet)} ft3/ft2"


def _hearth(case: Case, face: Subject) -> Iterator[Item]:
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
    plan = Step("A", "(width + left + right) x front", numbers, *_area(case, area))
    if layered:
        yield from _layers(case, face, area, plan, layers_of(case, face))
        return
    density, waste = case.edition["takeoff.concrete"], case.edition["takeoff.waste.concrete"]
    deep = case.length(thick.value)
    value, unit, text = _volume(case, area * thick.value.value * (1 + waste.number))
    yield Item(
        f"Hearth slab, {face.name}",
        value,
        unit,
        f"{text} of reinforced concrete, {deep} thick over {plan.text}",
        working=(
            plan,
            Step("V", "A x thickness x (1 + waste)", f"{plan.text} x {deep} x (1 + {waste.shown})", value, unit, text),
        ),
        note="Its layers are not entered: figured as if all of it were concrete.",
    )  # fmt: skip
    each = slab_weight(thick.value.value, density.number)
    numbers = f"{deep} x {_density(case, density.number)}"
    yield _burden(case, face, area, each, [Step("w", "thickness x density", numbers, *_load(case, each))])


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
            numbers = f"{case.length(thick)} x {_density(case, density)}"
            weights.append(Step("w", f"{material.title}: thickness x density", numbers, *_load(case, each)))
        if material.kind != "wood":
            yield _layer(case, face, area, plan, layer)
    yield _burden(case, face, area, total, weights, unknown)


def _layer(case: Case, face: Subject, area: Fraction, plan: Step, layer: Layer) -> Item:
    material, thick = layer.material, layer.thickness.value
    poured = material.kind in ("concrete", "mortar")
    waste = case.edition["takeoff.waste.concrete" if poured else "takeoff.waste.board"]
    bought = area * (1 + waste.number)
    value, unit, text = _volume(case, bought * thick) if poured else _area(case, bought)
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
    value, unit, text = _weight(case, each * area / SQUARE_FOOT)
    load = _load(case, each)[2]
    usual = case.edition["takeoff.floor"]
    lies = case.word(face, "hearth.below", needed=False).known
    more = "More than " if unknown else ""
    caution = (
        f"{more}{load} stays on the floor for good; a room's joists are usually sized for "
        f"{_load(case, usual.number)[2]}. {JOISTS}"
    )
    return Item(
        f"Weight of the hearth, {face.name}",
        value,
        unit,
        f"{more}{text}, {load}",
        working=(*steps, Step("W", "weight for each area x area", f"{load} x {_area(case, area)[2]}", value, unit, text)),
        note=f"Without {', '.join(unknown)}, whose density is not in the table." if unknown else "",
        caution=caution if lies in (*CARRIES, None) else "",
    )  # fmt: skip


def _lintel(case: Case, face: Subject) -> Iterator[Item]:
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
        _weight(case, angle.weight * length / 12 * count)[2] if angle else "its weight is not in the table"
    )
    unit = "angles" if count > 1 else "angle"
    yield Item(
        f"Lintel, {face.name}",
        Fraction(count),
        unit,
        f"{count} of {angle.name if angle else size.value}, {case.length(length)} long, {weight}",
        working=(
            _length_step(
                case, "length", "clear span + bearings", f"{case.length(span.value)} + 2 x {case.length(rests.value)}", length
            ),
            _whole("one under each wythe", case.length(thick.value), count, unit),
        ),
        note="Long leg upright. Whether it carries its load is told in the findings.",
    )  # fmt: skip


# The flue


def _liner(case: Case) -> Iterator[Item]:
    lining = case.word("flue", "lining")
    if lining.known == "unlined":
        return
    height = case.number("flue", "height")
    throat, chamber = case.number("firebox", "throat_height"), case.number("firebox", "smoke_chamber_height")
    case.all_known()
    parts = [entry.value.value for entry in (height, throat, chamber)]
    length = parts[0] - parts[1] - parts[2]
    run = _length_step(
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
    size, missing = _liner_size(case)
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
    each = _printed(case, section)
    unit = "sections" if count > 1 else "section"
    yield Item(
        "Flue liner",
        Fraction(count),
        "sections",
        f"{count} {unit}{size}, {each} each",
        working=(
            run,
            _whole("length / section, rounded up", f"{case.length(length)} / {each}", count, unit),
        ),
        note=note,
        missing=missing,
    )


def _liner_size(case: Case) -> tuple[str, tuple[str, ...]]:
    """What a liner is ordered by, and the entry that is missing where nothing tells it."""
    named = case.word("flue", "liner", needed=False).known
    across = case.number("flue", "diameter", needed=False).known
    inside = case.sides("flue", "inside", needed=False).known
    if named:
        return f" of {named}", ()
    if across or inside:
        sides = (across,) if across else inside or ()
        return f" of {_size(case, *(side.value for side in sides))} inside", ()
    return " of a size that is not entered", (case.address("flue", "liner"),)


def _offsets(case: Case) -> str:
    bends = case.listed("flue", "offsets", needed=False).known
    if bends is None:
        return "Whether the flue has offsets is not entered; each takes extra cut or bent pieces."
    return "Offsets take extra cut or bent pieces." if bends else ""


# Writing


COLUMNS = ("Item", "Quantity", "Note", "Working")


def rows(items: Sequence[Item]) -> tuple[tuple[str, ...], ...]:
    """The list as rows under COLUMNS."""
    return tuple(
        (
            item.name,
            item.text,
            " ".join(part for part in (item.caution, item.note) if part),
            "; ".join(step.line() for step in item.working),
        )
        for item in items
    )


def text(items: Sequence[Item], width: int = 80) -> str:
    """The list as plain text, with its working."""
    lines: list[str] = []
    for item in items:
        lines += textwrap.wrap(f"{item.name}: {item.text}", width, subsequent_indent="    ")
        for word, told in (("! ", item.caution), ("  ", item.note)):
            if told:
                lines += textwrap.wrap(told, width, initial_indent=f"  {word}", subsequent_indent="    ")
        for step in item.working:
            lines += textwrap.wrap(step.line(), width, initial_indent="    - ", subsequent_indent="      ")
        lines.append("")
    return "\n".join(lines)


def to_record(items: Sequence[Item], job: Job, edition: Edition, stage: str) -> dict[str, Any]:
    """The list as plain data, ready for json.dumps."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": __version__,
        "job": {"title": job.about.title or "", "fingerprint": job.fingerprint},
        "edition": {"id": edition.id, "fingerprint": edition.fingerprint},
        "stage": stage,
        "items": json.loads(json.dumps([asdict(item) for item in items], default=float)),
    }


def to_csv(items: Sequence[Item]) -> str:
    """The list as CSV: one line for each item, missing entries parted by spaces."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["item", "quantity", "unit", "text", "note", "caution", "working", "missing"])
    for item in items:
        number = "" if item.quantity is None else f"{float(item.quantity):.6g}"
        working = "; ".join(step.line() for step in item.working)
        writer.writerow(
            [
                item.name,
                number,
                item.unit,
                item.text,
                item.note,
                item.caution,
                working,
                " ".join(item.missing),
            ]
        )
    return out.getvalue()
