"""What to buy for a fireplace: brick, mortar, hearths, liner, lintels and board, each with its working."""

from __future__ import annotations

import csv
import io
import json
import math
import textwrap
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from fractions import Fraction
from typing import Any

from hearthcalc import __version__
from hearthcalc.findings import Step
from hearthcalc.job import Face, Job, Stage
from hearthcalc.models.heat import METRE
from hearthcalc.models.lintel import find_angle
from hearthcalc.reference import Edition, read_table
from hearthcalc.rules.case import Case, NotKnown, label, tidy
from hearthcalc.rules.inputs import Layer, NotInTable, layers_of

FORMAT = "hearthcalc-takeoff"
VERSION = 1

SQUARE_FOOT = 144  # in2
CUBIC_FOOT = 1728  # in3
POUNDS = Fraction("0.45359237")  # kg in a pound
PER_CUBIC_FOOT = POUNDS / (12 * METRE) ** 3  # kg/m3 in a lb/ft3
CARRIES = ("wood", "wood, insulated", "air gap")

JOISTS = (
    "Joists laid for a room's load may not carry that beside what the room carries: someone who can judge structure "
    "decides, before it is built."
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
    there = {(item.name, item.quantity) for item in _items(stages["found"], stages["found"].job, edition)}
    return tuple(_stands(item) if (item.name, item.quantity) in there else item for item in items)


def _stands(item: Item) -> Item:
    if item.quantity is None:
        return item
    told = "It is the same as found: buy only what is replaced."
    return replace(item, note=f"{item.note} {told}".strip())


def _items(stage: Stage, found: Job, edition: Edition) -> tuple[Item, ...]:
    case = Case(stage, found, edition)
    items: list[Item] = []
    of_masonry = {
        "Firebrick": _firebrick,
        "Refractory mortar": _refractory_mortar,
        "Brick of the firebox walls": _walls,
        "Flue liner": _liner,
    }
    factory_built = case.word("fireplace", "construction", needed=False).known == "factory-built"
    for name, tell in () if factory_built else of_masonry.items():
        items += _told(name, tell, case.fresh())
    for face in case.job.face:
        for name, tell_face in (
            ("Face brick over the opening", _face_brick),
            ("Hearth", _hearth),
            ("Lintel", _lintel),
        ):
            items += _told(f"{name}, {face.name}", tell_face, case.fresh(), face)
    return tuple(items)


def _told(name: str, tell: Callable[..., Iterator[Item]], *subject: Case | Face) -> list[Item]:
    """The items of one kind; where a measure is missing, one item that says so."""
    try:
        return list(tell(*subject))
    except NotInTable as err:
        text = f"No material {err.name!r} is in the table of materials."
        return [Item(name, None, "", text, missing=err.missing)]
    except NotKnown as lacking:
        told = "; ".join(dict.fromkeys(label(address) for address in lacking.missing))
        return [Item(name, None, "", f"Not figured: {told} not measured yet.", missing=lacking.missing)]


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


def _box(case: Case) -> list[_Wall]:
    """The floor and the closed walls of the firebox, taken as a box up to the throat. Raises NotKnown."""
    sides = {face.side or "front" for face in case.job.face}
    across = next((f for f in case.job.face if (f.side or "front") in ("front", "back")), case.job.face[0])
    ask = (
        case.number(across, "width"),
        case.number("firebox", "depth"),
        case.number("firebox", "throat_height"),
    )
    width, depth, height = (entry.value for entry in ask)
    given = case.job_has("firebox", "back_wall") or case.is_voided("firebox", "back_wall")
    back = "back_wall" if given else "wall"
    walls = [_Wall("floor", width.value, depth.value, "")]
    for name, length, key in (
        ("back", width.value, back),
        ("front", width.value, back),
        ("left", depth.value, "wall"),
        ("right", depth.value, "wall"),
    ):
        if name not in sides and (name != "front" or "back" in sides):
            walls.append(_Wall(name, length, height.value, key))
    return walls


BOX_NOTE = "Figured as a box up to the throat; splayed and leaning walls take a little less."


def _area_steps(case: Case, walls: Sequence[_Wall]) -> list[Step]:
    steps = [
        Step(
            f"A_{wall.name}",
            "width x height" if wall.key else "width x depth",
            f"{case.length(wall.width)} x {case.length(wall.height)}",
            *_area(case, wall.area),
        )
        for wall in walls
    ]
    total = sum((wall.area for wall in walls), start=Fraction(0))
    numbers = " + ".join(step.text for step in steps)
    return [*steps, Step("A", "sum", numbers, *_area(case, total))]


def _area(case: Case, square_inches: Fraction) -> tuple[Fraction, str, str]:
    """An area as it is bought: its number, its unit and both as text."""
    if case.unit == "mm":
        return _amount(square_inches * METRE**2, "m2")
    return _amount(square_inches / SQUARE_FOOT, "ft2")


def _volume(case: Case, cubic_inches: Fraction, *, small: bool = False) -> tuple[Fraction, str, str]:
    if case.unit == "mm":
        return _amount(cubic_inches * METRE**3 * (1000 if small else 1), "L" if small else "m3")
    return _amount(cubic_inches / CUBIC_FOOT, "ft3")


def _weight(case: Case, pounds: Fraction) -> tuple[Fraction, str, str]:
    return _amount(pounds * POUNDS, "kg") if case.unit == "mm" else _amount(pounds, "lb")


def _amount(value: Fraction, unit: str) -> tuple[Fraction, str, str]:
    return value, unit, f"{_up(value)} {unit}"


def _up(value: Fraction) -> str:
    """A number as it is bought: rounded up, to hundredths where it is small."""
    return tidy(Fraction(math.ceil(value * 100), 100) if value < 10 else value, ">=")


def _whole(expression: str, numbers: str, count: int, unit: str) -> Step:
    return Step("count", expression, numbers, Fraction(count), unit, f"{count} {unit}")


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


def _lined(case: Case) -> _Lining | None:
    """The firebrick of the firebox; None where it has none. Raises NotKnown."""
    thick = case.number("firebox", "lining")
    if thick.known and not thick.known.value:
        return None
    wide = case.number("firebox", "joint")
    walls = _box(case)
    lining, joint = thick.value, wide.value
    length, width, thickness = (
        case.edition[f"takeoff.firebrick.{name}"].number for name in ("length", "width", "thickness")
    )
    on_edge = lining.value <= (width + thickness) / 2
    return _Lining(tuple(walls), length, width if on_edge else thickness, lining.value, joint.value)


def _firebrick(case: Case) -> Iterator[Item]:
    laid = _lined(case)
    if laid is None:
        return
    area, rate = laid.area, laid.rate
    waste = case.edition["takeoff.waste.brick"]
    count = bricks(area, rate, waste.number)
    on_edge = laid.height > laid.depth
    how = "laid on edge, the wide side to the fire" if on_edge else "laid flat, the long edge to the fire"
    joint = tidy(laid.joint)
    numbers = f"144 / (({tidy(laid.length)} + {joint}) x ({tidy(laid.height)} + {joint}))"
    yield Item(
        "Firebrick",
        Fraction(count),
        "brick",
        f"{count} firebrick, {how}",
        working=(
            *_area_steps(case, laid.walls),
            Step("rate", "brick for a ft2 of wall", numbers, rate, "brick/ft2", f"{_up(rate)} brick/ft2"),
            _whole("A x rate x (1 + waste)", f"{_up(area)} ft2 x {_up(rate)} x (1 + {waste.shown})", count, "brick"),
        ),
        note=BOX_NOTE,
    )  # fmt: skip


def _refractory_mortar(case: Case) -> Iterator[Item]:
    laid = _lined(case)
    if laid is None:
        return
    count = laid.area * laid.rate
    each = joint_volume(laid.length, laid.height, laid.depth, laid.joint)
    waste = case.edition["takeoff.waste.mortar"]
    volume = count * each * (1 + waste.number)
    value, unit, text = _volume(case, volume, small=True)
    yield Item(
        "Refractory mortar",
        value,
        unit,
        f"{text}, medium duty",
        working=(
            Step("each", "joints of one brick", f"{tidy(laid.joint)} in, {tidy(laid.depth)} in deep", each, "in3", f"{_up(each)} in3"),
            Step("V", "brick x each x (1 + waste)", f"{_up(count)} x {_up(each)} in3 x (1 + {waste.shown})", value, unit, text),
        ),
    )  # fmt: skip


def _walls(case: Case) -> Iterator[Item]:
    lining = case.number("firebox", "lining")
    walls = [wall for wall in _box(case) if wall.key]
    thick = {wall.name: case.number("firebox", wall.key) for wall in walls}
    behind = {name: max(Fraction(0), (one.value - lining.value).value) for name, one in thick.items()}
    volume = sum((wall.area * behind[wall.name] for wall in walls), start=Fraction(0)) / CUBIC_FOOT
    if not volume:
        return
    rate, waste = case.edition["takeoff.brick_per_volume"], case.edition["takeoff.waste.brick"]
    count = bricks(volume, rate.number, waste.number)
    mix = {name: case.edition[f"takeoff.mortar.{name}"] for name in ("cement", "lime", "sand")}
    mortar = ", ".join(
        f"{_up(value.number * count / 1000)} {value.quantity.unit if value.quantity else ''} of {name}"
        for name, value in mix.items()
    )
    per_thousand = ", ".join(f"{value.shown} of {name}" for name, value in mix.items())
    parts = [
        Step(
            f"V_{wall.name}", "width x height x (wall - lining)",
            f"{case.length(wall.width)} x {case.length(wall.height)} x {case.length(behind[wall.name])}",
            *_volume(case, wall.area * behind[wall.name]),
        ) for wall in walls
    ]  # fmt: skip
    yield Item(
        "Brick of the firebox walls",
        Fraction(count),
        "brick",
        f"{count} brick behind the firebrick; mortar of {mortar}",
        working=(
            *parts,
            _whole("V x rate x (1 + waste)", f"{_up(volume)} ft3 x {tidy(rate.number)} x (1 + {waste.shown})", count, "brick"),
            Step("mortar", "for each thousand brick", per_thousand, None, "", mortar),
        ),
        note="As if the walls were built new; what stands and stays needs none.",
    )  # fmt: skip


def _no_lintel(case: Case, face: Face) -> bool:
    """Does an arch carry the wall, and no lintel is entered beside it."""
    arch = case.word(face, "arch", needed=False).known
    return arch in ("segmental", "semicircular") and not face.lintel.document()


def _face_brick(case: Case, face: Face) -> Iterator[Item]:
    if _no_lintel(case, face):
        return
    ask = (case.number(face, "lintel.span"), case.number(face, "lintel.wall_height"))
    span, height = (entry.value for entry in ask)
    area = span.value * height.value / SQUARE_FOOT
    if not area:
        return
    joint, waste = case.edition["takeoff.face_brick.joint"], case.edition["takeoff.waste.brick"]
    row = next(
        (
            row
            for row in read_table(case.edition.folder, case.edition["takeoff.face_brick"].table).rows
            if Fraction(row["joint_in"]) == joint.number
        ),
        None,
    )
    if row is None:
        yield Item(
            f"Face brick over the opening, {face.name}",
            None,
            "",
            f"The brick table has no joint of {joint.shown}: take one of its own.",
        )
        return
    rate, mortar = Fraction(row["brick_8x2.25x3.75"]) / 100, Fraction(row["mortar_incl_20pct"]) / 100
    count = bricks(area, rate, waste.number)
    value, unit, text = _volume(case, area * mortar * CUBIC_FOOT)
    shown = _area(case, area * SQUARE_FOOT)
    yield Item(
        f"Face brick over the opening, {face.name}",
        Fraction(count),
        "brick",
        f"{count} face brick, 8 x 2 1/4 x 3 3/4 in, and {text} of mortar",
        working=(
            Step("A", "clear span x height of the wall", f"{case.length(span)} x {case.length(height)}", *shown),
            _whole("A x rate x (1 + waste)", f"{_up(area)} ft2 x {tidy(rate)} (joint {joint.shown}) x (1 + {waste.shown})", count, "brick"),
            Step("mortar", "A x rate, its waste within", f"{_up(area)} ft2 x {tidy(mortar)} ft3", value, unit, text),
        ),
        note="One wythe of the wall over the opening, which is the most that is taken out and laid again; add what you lay beside it.",
    )  # fmt: skip


def _hearth(case: Case, face: Face) -> Iterator[Item]:
    layered = bool(case.listed(face, "hearth.layers", needed=False).known)
    names = (
        "width",
        "hearth.front",
        "hearth.left",
        "hearth.right",
        *(() if layered else ("hearth.thickness",)),
    )
    ask = [case.number(face, name) for name in names]
    width, front, left, right, *thick = (entry.value for entry in ask)
    across = width.value + left.value + right.value
    area = across * front.value
    if not area:
        return
    plan = Step(
        "A", "(width + left + right) x front",
        f"({case.length(width)} + {case.length(left)} + {case.length(right)}) x {case.length(front)}", *_area(case, area),
    )  # fmt: skip
    if layered:
        yield from _layers(case, face, area, plan, layers_of(case, face))
        return
    density, waste = case.edition["takeoff.concrete"], case.edition["takeoff.waste.concrete"]
    volume = _volume(case, area * thick[0].value * (1 + waste.number))
    each = slab_weight(thick[0].value, density.number)
    yield Item(
        f"Hearth slab, {face.name}",
        volume[0],
        volume[1],
        f"{volume[2]} of reinforced concrete, {case.length(thick[0])} thick over {plan.text}",
        working=(
            plan,
            Step("V", "A x thickness x (1 + waste)", f"{plan.text} x {case.length(thick[0])} x (1 + {waste.shown})", *volume),
        ),
        note="Its layers are not entered: figured as concrete.",
    )  # fmt: skip
    numbers = f"{case.length(thick[0])} x {density.shown}"
    yield _burden(
        case, face, area, each, [Step("w", "thickness x density", numbers, each, "lb/ft2", _load(case, each))]
    )


def _layers(case: Case, face: Face, area: Fraction, plan: Step, layers: Sequence[Layer]) -> Iterator[Item]:
    """Each layer by what it is bought by: concrete and mortar by volume, the rest by area; then what it all weighs."""
    weights: list[Step] = []
    total, unknown = Fraction(0), []
    for layer in layers:
        material, thick = layer.material, layer.thickness.value
        if material.kind == "air":
            continue
        if material.density is None:
            unknown.append(material.title)
        else:
            each = slab_weight(thick, material.density / PER_CUBIC_FOOT)
            total += each
            numbers = f"{case.length(thick)} x {float(material.density):g} kg/m3"
            weights.append(
                Step(
                    "w", f"{material.title}: thickness x density", numbers, each, "lb/ft2", _load(case, each)
                )
            )
        if material.kind == "wood":
            continue
        poured = material.kind in ("concrete", "mortar")
        waste = case.edition["takeoff.waste.concrete" if poured else "takeoff.waste.board"]
        bought = area * (1 + waste.number)
        value, unit, text = _volume(case, bought * thick) if poured else _area(case, bought)
        name = "Board" if material.kind == "board" else "Hearth"
        expression = "A x thickness x (1 + waste)" if poured else "A x (1 + waste)"
        numbers = f"{plan.text}{f' x {case.length(thick)}' if poured else ''} x (1 + {waste.shown})"
        yield Item(
            f"{name}, {face.name}: {material.title.lower()}",
            value,
            unit,
            f"{text}, {case.length(thick)} thick",
            working=(plan, Step("V" if poured else "A_bought", expression, numbers, value, unit, text)),
        )
    item = _burden(case, face, area, total, weights)
    if unknown:
        item = replace(item, note=f"Without {', '.join(unknown).lower()}, whose density is not in the table.")
    yield item


def _load(case: Case, pounds: Fraction) -> str:
    if case.unit == "mm":
        return f"{_up(pounds * POUNDS / (12 * METRE) ** 2)} kg/m2"
    return f"{_up(pounds)} lb/ft2"


def _burden(case: Case, face: Face, area: Fraction, each: Fraction, steps: list[Step]) -> Item:
    """What a hearth weighs, with a word on what carries it."""
    value, unit, text = _weight(case, each * area / SQUARE_FOOT)
    usual = case.edition["takeoff.floor"]
    lies = case.word(face, "hearth.below", needed=False).known
    carried = lies in CARRIES or lies is None
    caution = f"{_load(case, each)} lie on it for good; a room's joists are usually laid for {usual.shown}. {JOISTS}"
    return Item(
        f"Weight of the hearth, {face.name}",
        value,
        unit,
        f"{text}, {_load(case, each)}",
        working=(*steps, Step("W", "weight for each area x area", f"{_load(case, each)} x {_area(case, area)[2]}", value, unit, text)),
        caution=caution if carried else "",
    )  # fmt: skip


def _liner(case: Case) -> Iterator[Item]:
    lining = case.word("flue", "lining").value
    if lining == "unlined":
        return
    ask = (
        case.number("flue", "height"),
        case.number("firebox", "throat_height"),
        case.number("firebox", "smoke_chamber_height"),
    )
    height, throat, chamber = (entry.value for entry in ask)
    length = height.value - throat.value - chamber.value
    run = Step(
        "length", "flue height - throat height - smoke chamber",
        f"{case.length(height)} - {case.length(throat)} - {case.length(chamber)}", length, "in", case.length(length),
    )  # fmt: skip
    if length <= 0:
        yield Item(
            "Flue liner", None, "", "The smoke chamber ends above the top of the flue: measure again.", (run,)
        )
        return
    size = case.word("flue", "liner", needed=False).known
    named = f" of {size}" if size else ""
    if lining != "clay":
        how = "poured in place around a form" if lining == "poured" else "a listed liner"
        yield Item(
            "Flue liner", length, "in", f"{case.length(length)}{named}, {how}: its maker says what belongs to it", (run,)
        )  # fmt: skip
        return
    section = case.edition["takeoff.liner.section"]
    count = sections(length, section.number)
    note = (
        "Offsets take cut or bent sections more."
        if case.listed("flue", "offsets", needed=False).known
        else ""
    )
    yield Item(
        "Flue liner",
        Fraction(count),
        "sections",
        f"{count} sections{named}, {section.shown} each",
        working=(
            run,
            _whole("length / section, rounded up", f"{case.length(length)} / {section.shown}", count, "sections"),
        ),
        note=note,
    )  # fmt: skip


def _lintel(case: Case, face: Face) -> Iterator[Item]:
    if _no_lintel(case, face):
        return
    angles = case.word(face, "lintel.angle")
    ask = [case.number(face, f"lintel.{key}") for key in ("span", "bearing", "wall_thickness")]
    name = angles.value
    span, rests, thick = (entry.value for entry in ask)
    length = span.value + 2 * rests.value
    count = max(1, round(thick.value / case.edition["steel.wythe"].number))
    angle = find_angle(case.edition, name)
    weight = f", {_weight(case, angle.weight * length / 12 * count)[2]}" if angle else ""
    yield Item(
        f"Lintel, {face.name}",
        Fraction(count),
        "angles" if count > 1 else "angle",
        f"{count} of {angle.name if angle else name}, {case.length(length)} long{weight}",
        working=(
            Step("length", "clear span + bearings", f"{case.length(span)} + 2 x {case.length(rests)}", length, "in", case.length(length)),
            _whole("one under each wythe", case.length(thick), count, "angles"),
        ),
        note="Long leg upright. What carries it, and whether it does, stands in the findings.",
    )  # fmt: skip


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
