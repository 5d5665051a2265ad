"""One line of the shopping list: its arithmetic, and its figures as they are bought."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from hearthcalc.findings import Step
from hearthcalc.models.heat import METRE
from hearthcalc.reference import Value
from hearthcalc.rules.case import Case, in_unit, tidy

SQUARE_FOOT = 144  # in2
CUBIC_FOOT = 1728  # in3
FOOT = 12 * METRE  # m
POUNDS = Fraction("0.45359237")  # kg in a pound
PER_CUBIC_FOOT = POUNDS / FOOT**3  # kg/m3 in a lb/ft3
METRIC = ("mm", "cm", "m")


class Item(Struct, frozen=True):
    """One line of the shopping list.

    quantity: in unit, None where it cannot be told.  missing: the entries it waits for.  trade: who buys it.
    """

    name: str
    quantity: Fraction | None
    unit: str
    text: str
    working: tuple[Step, ...] = ()
    note: str = ""
    caution: str = ""
    missing: tuple[str, ...] = ()
    trade: str = ""


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


# Figures as they are bought: in the units of the job, rounded up


def as_area(case: Case, square_inches: Fraction) -> tuple[Fraction, str, str]:
    if case.unit == "mm":
        return as_amount(square_inches * METRE**2, "m2")
    return as_amount(square_inches / SQUARE_FOOT, "ft2")


def as_volume(case: Case, cubic_inches: Fraction, *, small: bool = False) -> tuple[Fraction, str, str]:
    if case.unit == "mm":
        return as_amount(cubic_inches * METRE**3 * (1000 if small else 1), "L" if small else "m3")
    return as_amount(cubic_inches / CUBIC_FOOT, "ft3")


def as_joints(case: Case, cubic_inches: Fraction) -> tuple[Fraction, str, str]:
    if case.unit == "mm":
        return as_amount(cubic_inches * (METRE * 100) ** 3, "cm3")
    return as_amount(cubic_inches, "in3")


def as_weight(case: Case, pounds: Fraction) -> tuple[Fraction, str, str]:
    return as_amount(pounds * POUNDS, "kg") if case.unit == "mm" else as_amount(pounds, "lb")


def as_load(case: Case, pounds: Fraction) -> tuple[Fraction, str, str]:
    """A weight for each ft2, lb."""
    if case.unit == "mm":
        return as_amount(pounds * POUNDS / FOOT**2, "kg/m2")
    return as_amount(pounds, "lb/ft2")


def as_density(case: Case, pounds: Fraction) -> str:
    """A weight for each ft3, lb."""
    if case.unit == "mm":
        return f"{tidy(pounds * PER_CUBIC_FOOT)} kg/m3"
    return f"{tidy(pounds)} lb/ft3"


def per_area(case: Case, rate: Fraction, unit: str) -> tuple[Fraction, str, str]:
    """So many for each ft2."""
    if case.unit == "mm":
        return as_amount(rate / FOOT**2, f"{unit}/m2")
    return as_amount(rate, f"{unit}/ft2")


def per_volume(case: Case, rate: Fraction, unit: str) -> tuple[Fraction, str, str]:
    """So many for each ft3."""
    if case.unit == "mm":
        return as_amount(rate / FOOT**3, f"{unit}/m3")
    return as_amount(rate, f"{unit}/ft3")


def as_amount(value: Fraction, unit: str) -> tuple[Fraction, str, str]:
    return value, unit, f"{rounded_up(value)} {unit}"


def rounded_up(value: Fraction) -> str:
    """A number as it is bought: rounded up, to hundredths where it is small."""
    return tidy(Fraction(math.ceil(value * 100), 100) if value < 10 else value, ">=")


def printed(case: Case, value: Value) -> str:
    """A length of the reference as its source prints it, or in the unit of the job where that is another system: whole millimeters."""
    metric = value.quantity is not None and value.quantity.unit in METRIC
    if metric == (case.unit == "mm"):
        return value.shown
    return case.length(value.number) if metric else f"{round(in_unit(value.number, 'mm'))} mm"


def size_text(case: Case, *sides: Fraction) -> str:
    return " x ".join(case.length(side) for side in sides)


def whole(expression: str, numbers: str, count: int, unit: str) -> Step:
    return Step("count", expression, numbers, Fraction(count), unit, f"{count} {unit}")


def length_step(case: Case, symbol: str, expression: str, numbers: str, value: Fraction) -> Step:
    return Step(symbol, expression, numbers, in_unit(value, case.unit), case.unit, case.length(value))


# Brick, and the mortar between


FACE_BRICK = (Fraction(8), Fraction(9, 4), Fraction(15, 4))  # in; its column of the table is named by them


def own_brick(case: Case) -> tuple[Fraction, Fraction, Fraction, Fraction] | None:
    """Length, height and width of the brick of the edition's country, and its joint, in; None where the handbook's rates stand."""
    if "takeoff.brick.length" not in case.edition.values:
        return None
    length, height, width, joint = (
        case.edition[f"takeoff.brick.{name}"].number for name in ("length", "height", "width", "joint")
    )
    return length, height, width, joint


def laid_brick(
    length: Fraction, height: Fraction, width: Fraction, joint: Fraction
) -> tuple[Fraction, Fraction]:
    """Bricks for a ft3 of solid brickwork, and the part of it that is joints; all in inches."""
    with_joints = (length + joint) * (height + joint) * (width + joint)
    return CUBIC_FOOT / with_joints, 1 - length * height * width / with_joints


def brickwork(
    case: Case,
    name: str,
    what: str,
    volume: Fraction,
    parts: Sequence[Step],
    note: str = "",
    *,
    about: bool = False,
) -> Item:
    """Brick and its mortar for a volume of solid brickwork, in3. parts: how that volume came about.  about: only roughly."""
    waste, own = case.edition["takeoff.waste.brick"], own_brick(case)
    first: list[Step] = []
    if own is None:
        rate, sand = (
            case.edition["takeoff.brick_per_volume"].number,
            case.edition["takeoff.mortar.sand"].number,
        )
        count = bricks(volume / CUBIC_FOOT, rate, waste.number)
        mixed = mortar_parts(case, sand * count / 1000)
        last = Step("mortar", "for each thousand brick", mortar_parts(case, sand), None, "", mixed)
    else:
        rate, joints = laid_brick(*own)
        count = bricks(volume / CUBIC_FOOT, rate, waste.number)
        told = f"of {size_text(case, *own[:3])}, joints {case.length(own[3])}"
        first.append(Step("rate", "brick for each volume", told, *per_volume(case, rate, "brick")))
        wet = case.edition["takeoff.waste.mortar"]
        mixed = mortar_parts(case, volume * joints * (1 + wet.number) / CUBIC_FOOT)
        told = f"{as_volume(case, volume)[2]} x {tidy(joints * 100)} % of joints x (1 + {wet.shown}), sand as much as mortar"
        last = Step("mortar", "V x joints x (1 + waste)", told, None, "", mixed)
    numbers = f"{as_volume(case, volume)[2]} x {per_volume(case, rate, 'brick')[2]} x (1 + {waste.shown})"
    return Item(
        name, Fraction(count), "brick", f"{'about ' if about else ''}{count} brick {what}; mortar of {mixed}",
        working=(*parts, *first, whole("V x rate x (1 + waste)", numbers, count, "brick"), last),
        note=note,
    )  # fmt: skip


def mortar_parts(case: Case, sand: Fraction) -> str:
    """Cement, lime and sand of a mortar by its sand, ft3, in the proportion of the handbook; in bags of the country in a metric job."""
    handbook = {name: case.edition[f"takeoff.mortar.{name}"] for name in ("cement", "lime", "sand")}
    share = sand / handbook["sand"].number
    told = []
    for name in ("cement", "lime"):
        amount = handbook[name].number * share
        if case.unit == "mm":
            kilograms = amount * case.edition[f"takeoff.sack.{name}"].number * POUNDS
            bag = case.edition["takeoff.bag"]
            told.append(f"{rounded_up(kilograms / bag.number)} bags of {bag.shown} of {name}")
        else:
            told.append(f"{rounded_up(amount)} {_unit(handbook[name])} of {name}")
    return ", ".join([*told, f"{as_volume(case, sand * CUBIC_FOOT)[2]} of sand"])


def _unit(value: Value) -> str:
    return value.quantity.unit if value.quantity else ""
