"""The open area of a face: what the flue has to carry and what the hearth rules go by."""

from __future__ import annotations

import math
from fractions import Fraction

from hearthcalc.findings import Step
from hearthcalc.job import Face
from hearthcalc.rules.case import Case, Path, in_unit, of, step
from hearthcalc.rules.reading import Reading, corners


def flat_area(width: Fraction, height: Fraction) -> Fraction:
    """Area of an opening under a straight lintel, in the square of the unit given."""
    return width * height


def segmental_area(width: Fraction, height: Fraction, rise: Fraction) -> Fraction:
    """Area of an opening under a segmental arch.

    height: floor to crown.  rise: springing to crown, above 0 and at most half the width.  All in one unit.
    Source: circular segment, elementary geometry.
    """
    if not rise:
        return flat_area(width, height)
    radius = (width * width / 4 + rise * rise) / (2 * rise)
    half_angle = 2 * math.atan(2 * rise / width)
    segment = radius * radius * Fraction(half_angle - math.sin(half_angle) * math.cos(half_angle))
    return width * (height - rise) + segment


def semicircular_area(width: Fraction, height: Fraction) -> Fraction:
    """Area of an opening under a half-round arch; height: floor to crown."""
    return width * (height - width / 2) + width * width * Fraction(math.pi) / 8


def entries(face: Face) -> tuple[Path, ...]:
    """The entries that the area of a face needs."""
    names = ["width", "height", *(["rise"] if face.arch == "segmental" else [])]
    return tuple((*of(face), name) for name in names)


def opening_area(case: Case, face: Face) -> Reading:
    """The true area of a face's opening, in2, with what the tape may be off. Raises NotKnown."""
    case.require(*entries(face))
    width, height = case.need(of(face), "width", "height")
    if face.arch == "segmental":
        (rise,) = case.need(of(face), "rise")
        return corners(segmental_area, width, height, rise)
    if face.arch == "semicircular":
        return corners(semicircular_area, width, height)
    return corners(flat_area, width, height)


def area_step(case: Case, face: Face, area: Reading, symbol: str = "A_opening") -> Step:
    """The working of that area."""
    width, height = case.need(of(face), "width", "height")
    numbers = f"{case.length(width)} x {case.length(height)}"
    expression = "width x height"
    if face.arch == "segmental":
        (rise,) = case.need(of(face), "rise")
        expression = "width x (height - rise) + segment of the arch"
        numbers = f"{case.length(width)} x ({case.length(height)} - {case.length(rise)}) + segment"
    elif face.arch == "semicircular":
        expression = "width x (height - width/2) + half circle"
        numbers = (
            f"{case.length(width)} x ({case.length(height)} - {case.length(width.value / 2)}) + half circle"
        )
    return step(
        symbol, expression, numbers, in_unit(area.value, case.area_unit), case.area_unit, case.area(area)
    )
