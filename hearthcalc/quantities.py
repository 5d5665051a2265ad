"""What people type for areas, flows, heat and the other quantities that are not lengths <-> exact numbers."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any, NoReturn

from msgspec import Struct

from hearthcalc import lengths
from hearthcalc.errors import EntryError
from hearthcalc.lengths import NUMBER
from hearthcalc.many import each_row, kept_text

SHOWN_DIGITS = 7  # of a number that no decimals can say exactly
LIMIT_DIGITS = 4  # of a computed limit, where nothing near it asks for more
MOST_DECIMALS = 9  # printed because they say a number exactly


class _Unit(Struct, frozen=True):
    """A unit as it is printed, what units.txt calls it, and what else people type for it."""

    name: str
    pint: str
    also: tuple[str, ...] = ()


class _Dimension(Struct, frozen=True):
    """A kind of quantity. units: the first is the canonical one.  signed: whether it can be below zero."""

    label: str
    units: tuple[_Unit, ...]
    signed: bool = False
    example: str = ""

    @property
    def names(self) -> str:
        return ", ".join(unit.name for unit in self.units)

    @property
    def fix(self) -> str:
        one_of = "one of: " if len(self.units) > 1 else ""
        return self.example or f"Type a number and {one_of}{self.names}."


_R = "metre ** 2 * kelvin / watt"
_R_BTU = "hour * foot ** 2 * rankine / british_thermal_unit"

_DIMENSIONS: Mapping[str, _Dimension] = {
    "area": _Dimension(
        "an area",
        (
            _Unit("in2", "inch ** 2", ("sq in", "square inch", "square inches")),
            _Unit("ft2", "foot ** 2", ("sq ft", "square foot", "square feet")),
            _Unit("mm2", "millimetre ** 2", ("sq mm",)),
            _Unit("cm2", "centimetre ** 2", ("sq cm",)),
            _Unit("m2", "metre ** 2", ("sq m",)),
        ),
    ),
    "volume": _Dimension(
        "a volume",
        (
            _Unit("ft3", "foot ** 3", ("cu ft", "cubic foot", "cubic feet")),
            _Unit("m3", "metre ** 3", ("cu m",)),
        ),
    ),
    "flow": _Dimension(
        "a flow of air",
        (
            _Unit("cfm", "foot ** 3 / minute", ("ft3/min", "cu ft/min")),
            _Unit("m3/h", "metre ** 3 / hour", ("m3/hr",)),
            _Unit("m3/s", "metre ** 3 / second"),
            _Unit("L/s", "litre / second"),
        ),
    ),
    "power": _Dimension(
        "a power",
        (
            _Unit("W", "watt"),
            _Unit("kW", "kilowatt"),
            _Unit("Btu/h", "british_thermal_unit / hour", ("Btu/hr", "Btuh")),
        ),
    ),
    "temperature": _Dimension(
        "a temperature",
        (
            _Unit("C", "celsius", ("°C", "deg C", "celsius", "°celsius")),
            _Unit("F", "fahrenheit", ("°F", "deg F", "fahrenheit", "°fahrenheit")),
            _Unit("K", "kelvin", ("°K", "kelvin", "°kelvin")),
        ),
        signed=True,
    ),
    "speed": _Dimension(
        "a speed",
        (
            _Unit("m/s", "metre / second"),
            _Unit("mph", "mile / hour", ("mi/h",)),
            _Unit("km/h", "kilometre / hour", ("kph",)),
            _Unit("ft/s", "foot / second"),
            _Unit("ft/min", "foot / minute", ("fpm",)),
        ),
    ),
    "pressure": _Dimension(
        "a pressure",
        (
            _Unit("Pa", "pascal"),
            _Unit("in w.c.", "inch_of_water", ("in H2O", "in w.g.")),
        ),
        signed=True,
    ),
    "area_load": _Dimension(
        "a load on an area",
        (
            _Unit("lb/ft2", "pound_force / foot ** 2", ("psf", "lbf/ft2", "lb/sq ft")),
            _Unit("kg/m2", "kilogram_force / metre ** 2"),
            _Unit("kN/m2", "kilonewton / metre ** 2", ("kPa",)),
        ),
    ),
    "line_load": _Dimension(
        "a load along a line",
        (
            _Unit("lb/ft", "pound_force / foot", ("plf", "lbf/ft")),
            _Unit("kg/m", "kilogram_force / metre"),
            _Unit("kN/m", "kilonewton / metre"),
        ),
    ),
    "resistance": _Dimension(
        "a thermal resistance",
        (
            _Unit("m2.K/W", _R, ("K.m2/W",)),
            _Unit("h.ft2.F/Btu", _R_BTU, ("ft2.h.F/Btu", "ft2.F.h/Btu", "h.F.ft2/Btu", "hr.ft2.F/Btu")),
        ),
    ),
    "angle": _Dimension("an angle", (_Unit("deg", "degree", ("°", "degree", "degrees")),), signed=True),
    "leakage": _Dimension("a leakage of the house", (_Unit("ACH50", "air_change_at_50_Pa"),)),
    "pitch": _Dimension("a roof pitch", (), example="Type it as in 6:12 or 30 deg."),
    "ratio": _Dimension(
        "a plain number",
        (_Unit("", ""), _Unit("%", "percent")),
        example="Type a number alone, as in 0.7 or 1/12, or with %.",
    ),
}

DIMENSIONS: Mapping[str, str] = {
    name: dimension.units[0].name if dimension.units else "" for name, dimension in _DIMENSIONS.items()
}

_ENTRY = re.compile(rf"([-+−] ?)?({NUMBER})(?: ?([^\W\d_].*|[°%º].*))?")
_RUN = r"([0-9]*\.[0-9]+|[0-9]+)"
_RISE_OVER_RUN = re.compile(rf"({NUMBER}) ?(?::|in) ?{_RUN}|{_RUN} ?/ ?{_RUN}")
_BEFORE_UNIT = re.compile(r"[^A-Za-z°º%]*")
_TWO = re.compile(r"[0-9²] ?(?:[A-Za-z\"']+ ?)?(?:x|X|×|\*|by) ?[0-9]")
_POWERS = str.maketrans({"²": "2", "³": "3", "º": "°", **dict.fromkeys(" .^*·⋅")})


def parse(text: str, dimension: str) -> Fraction:
    """Read one quantity.

    text: as typed, with its unit.  dimension: a key of DIMENSIONS.  Returns it in the canonical unit of the
    dimension, exact; a roof pitch as rise over run, to a billionth where it was typed in degrees.
    Raises EntryError, with what is wrong and what to type instead.
    """
    return parse_with_unit(text, dimension)[0]


def parse_with_unit(text: str, dimension: str) -> tuple[Fraction, str]:
    """A quantity as `parse` reads it, and the name of the unit that it was typed in, "" for a roof pitch and a plain number."""
    plain = lengths.tidy(text)
    if dimension == "pitch":
        return _pitch(plain), ""
    kind = _DIMENSIONS[dimension]
    match = _ENTRY.fullmatch(plain)
    if match is None or (match[1] and not kind.signed):
        _explain(plain, kind)
    sign, typed, named = match.groups()
    value = lengths.number(typed)
    if sign and "+" not in sign:
        value = -value
    unit = _find(dimension, named or "")
    if unit is None:
        _explain(plain, kind, named or "")
    factor, offset = _conversion(dimension, unit)
    return value * factor + offset, unit.name


@kept_text
def show(value: Fraction, dimension: str, unit: str | None = None) -> str:
    """A quantity as text that `parse` reads: exact where nine decimals can say it, else to seven digits.

    value: in the canonical unit.  unit: the unit to print, by its name in DIMENSIONS or beside it.
    A negative value prints with a minus sign, which `parse` reads only where the quantity can be below zero.
    """
    number, tail = _shown(value, dimension, unit)
    return _write(number) + tail


@kept_text
def show_limit(
    value: Fraction,
    dimension: str,
    unit: str | None = None,
    *,
    op: lengths.Op,
    beside: Fraction | None = None,
) -> str:
    """A computed limit as text, rounded to its safe side, to four digits or, beside a quantity, finer.

    value: in the canonical unit.  op: ">=" for a minimum, rounded up; "<=" for a maximum, rounded down.
    beside: the quantity compared with it: the printed limit stands to it as the exact one does.
    """
    number, tail = _shown(value, dimension, unit)
    places = _places(number, LIMIT_DIGITS)
    text = lengths.safe_side(
        number,
        (Fraction(1, 10**more) for more in range(places, places + 12)),
        op=op,
        beside=None if beside is None else _shown(beside, dimension, unit)[0],
        write=_write,
    )
    return text + tail


def unit_name(unit: str, dimension: str) -> str:
    """The name by which a unit is printed, from how it was typed. Raises ValueError where it is none of the dimension."""
    found = _find(dimension, unit)
    if found is None:
        raise ValueError(f"{unit} is no unit of {dimension}")
    return found.name


def dimension_of(unit: str) -> str:
    """The dimension that a unit belongs to. Raises EntryError where it belongs to none that is read here."""
    for name in _DIMENSIONS:
        if _find(name, unit):
            return name
    raise EntryError(
        "Not a unit",
        "This is not a unit that is read here.",
        fix=f"Use one of: {', '.join(kind.names for kind in _DIMENSIONS.values() if not kind.example)}.",
    )


def _shown(value: Fraction, dimension: str, unit: str | None) -> tuple[Fraction, str]:
    """The number to print for a value, and what to print after it."""
    if dimension == "pitch":
        return value * 12, ":12"
    found = _find(dimension, unit or DIMENSIONS[dimension])
    if found is None:
        raise ValueError(f"{unit} is no unit of {dimension}")
    factor, offset = _conversion(dimension, found)
    return (value - offset) / factor, f" {found.name}".rstrip()


def _write(number: Fraction) -> str:
    if 10**MOST_DECIMALS % number.denominator == 0:
        return lengths.decimal(number, MOST_DECIMALS)
    text = ""
    for digits in (SHOWN_DIGITS, SHOWN_DIGITS + 3, SHOWN_DIGITS + 6):
        places = _places(number, digits)
        text = lengths.decimal(number, places)
        if text != lengths.decimal(number, max(0, places - 3)):  # else it would look rounder than it is
            break
    return text


def _places(number: Fraction, digits: int) -> int:
    """How many decimals show so many digits of a number, but no more than are read."""
    if not number:
        return digits
    before_point = 1 + math.floor(math.log10(abs(number.numerator)) - math.log10(number.denominator))
    return min(max(0, digits - before_point), lengths.MOST_DIGITS)


def _pitch(plain: str) -> Fraction:
    if match := _RISE_OVER_RUN.fullmatch(plain):
        rise = lengths.number(match[1] or match[3])
        run = lengths.number(match[2] or match[4])
        if run == 0:
            raise EntryError(
                "A run of zero", "The run of a roof is not zero.", fix=_DIMENSIONS["pitch"].example
            )
        return rise / run
    match = _ENTRY.fullmatch(plain)
    if match is None or match[1] or not match[3] or not _find("angle", match[3]):
        _explain(plain, _DIMENSIONS["pitch"])
    degrees = lengths.number(match[2])
    if degrees >= 90:
        raise EntryError("Too steep", "A roof is less steep than 90 deg.", fix=_DIMENSIONS["pitch"].example)
    return rise_over_run(degrees)


@each_row
def rise_over_run(degrees: Fraction) -> Fraction:
    """The pitch of a roof that leans so many degrees from level, to a billionth: 45 deg is 12:12, which the nearest float is not."""
    return Fraction(math.tan(math.radians(degrees))).limit_denominator(10**9)


def _key(unit: str) -> str:
    """A unit without what people write in many ways: capitals, raised figures, points, spaces."""
    return unit.translate(_POWERS).lower()


_KEYS = {
    name: {_key(typed): unit for unit in kind.units for typed in (unit.name, *unit.also)}
    for name, kind in _DIMENSIONS.items()
}


@lru_cache(maxsize=512)
def _find(dimension: str, unit: str) -> _Unit | None:
    return _KEYS[dimension].get(_key(unit))


@cache
def _registry() -> Any:
    from pint import UnitRegistry

    make: Any = UnitRegistry  # declared for floats and its own file, made for any number and none as well
    registry = make(None, non_int_type=Fraction)
    registry.load_definitions(files("hearthcalc").joinpath("units.txt").read_text("utf-8").splitlines())
    return registry


# What pint makes of the units that a start, a section or a rule meets, so that none of them waits for pint; a test holds them to it.
FREQUENT: Mapping[str, tuple[Fraction, Fraction]] = {
    "ft2": (Fraction(144), Fraction(0)),
    "mm2": (Fraction(25, 16129), Fraction(0)),
    "m2": (Fraction(25_000_000, 16129), Fraction(0)),
    "m3": (1 / Fraction("0.3048") ** 3, Fraction(0)),
    "m3/h": (1 / Fraction("0.3048") ** 3 / 60, Fraction(0)),
    "kW": (Fraction(1000), Fraction(0)),
    "Btu/h": (Fraction("1055.05585262") / 3600, Fraction(0)),
    "F": (Fraction(5, 9), Fraction(-160, 9)),
    "mph": (Fraction(1397, 3125), Fraction(0)),
    "ft/s": (Fraction(381, 1250), Fraction(0)),
    "h.ft2.F/Btu": (Fraction("0.3048") ** 2 * 3600 * Fraction(5, 9) / Fraction("1055.05585262"), Fraction(0)),
    "%": (Fraction(1, 100), Fraction(0)),
}


@cache
def _conversion(dimension: str, unit: _Unit) -> tuple[Fraction, Fraction]:
    """What to multiply a number of this unit with, and then to add, for the canonical unit."""
    canonical = _DIMENSIONS[dimension].units[0]
    if unit == canonical:
        return Fraction(1), Fraction(0)
    return FREQUENT.get(unit.name) or _by_pint(unit, canonical)


def _by_pint(unit: _Unit, canonical: _Unit) -> tuple[Fraction, Fraction]:
    registry = _registry()
    zero, one = (
        registry.Quantity(Fraction(n), registry.parse_units(unit.pint)).to(
            registry.parse_units(canonical.pint)
        )
        for n in (0, 1)
    )
    offset = Fraction(zero.magnitude)
    return Fraction(one.magnitude) - offset, offset


def _explain(plain: str, kind: _Dimension, named: str = "") -> NoReturn:
    """Say why no quantity of this kind can be read in a text. named: what stands where its unit should."""
    lengths.refuse_spelling(plain)
    if _TWO.search(plain):
        raise EntryError(
            "Two dimensions",
            "Two dimensions stand in one entry.",
            fix="Type one number; of an area the product, as in 96 in2.",
        )
    before = _BEFORE_UNIT.match(plain)
    number = before[0].strip() if before else ""
    lengths.refuse_marking(number.lstrip("-+− ") if kind.signed else number)
    lengths.refuse_character(plain.translate(_POWERS).replace("°", "").lstrip("−"))
    if not any(sign.isdecimal() or sign in lengths.VULGAR for sign in number):
        raise EntryError("No number", "The entry does not begin with a number.", fix=kind.fix)
    if _ENTRY.fullmatch(plain) and not named and kind.units:
        raise EntryError("No unit", f"{plain} has no unit, and {kind.label} belongs here.", fix=kind.fix)
    for other, units in _KEYS.items():
        if named and _key(named) in units:
            raise EntryError(
                "Another kind of quantity",
                f"{named} is a unit of {_DIMENSIONS[other].label}, and {kind.label} belongs here.",
                fix=kind.fix,
            )
    if named:
        raise EntryError("Not a unit", f"{named} is not read here as a unit of {kind.label}.", fix=kind.fix)
    raise EntryError("Not readable", f"This cannot be read as {kind.label}.", fix=kind.fix)
