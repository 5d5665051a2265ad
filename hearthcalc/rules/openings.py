"""The open area of a face: what the flue has to carry and what the hearth rules go by."""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction

from msgspec import Struct

from hearthcalc.findings import Step
from hearthcalc.many import by_float
from hearthcalc.rules.case import Case, NotKnown, Subject, in_unit, step
from hearthcalc.rules.reading import Reading, corners


def flat_area(width: Fraction, height: Fraction) -> Fraction:
    """Area of an opening under a straight lintel, in the square of the unit given."""
    return width * height


@by_float
def _segment(slope: float) -> float:
    """Area of the segment of a circle of radius 1. slope: of the chord from a springing to the crown."""
    half_angle = 2 * math.atan(slope)
    return half_angle - math.sin(half_angle) * math.cos(half_angle)


def segmental_area(width: Fraction, height: Fraction, rise: Fraction) -> Fraction:
    """Area of an opening under a segmental arch.

    height: floor to crown.  rise: springing to crown, above 0 and at most half the width.  All in one unit.
    Source: circular segment, elementary geometry.
    """
    if not rise:
        return flat_area(width, height)
    radius = (width * width / 4 + rise * rise) / (2 * rise)
    return width * (height - rise) + radius * radius * _segment(2 * rise / width)


def semicircular_area(width: Fraction, height: Fraction) -> Fraction:
    """Area of an opening under a half-round arch; height: floor to crown."""
    return width * (height - width / 2) + width * width * Fraction(math.pi) / 8


class Opening(Struct, frozen=True):
    """The opening of a face. area: in2, its true area with what the tape may be off.  step: its working."""

    width: Reading
    height: Reading
    area: Reading
    step: Step


def opening(case: Case, face: Subject) -> Opening:
    """The opening of a face, worked out once. Raises NotKnown."""
    return case.once(("opening", face.name), lambda mine: _opening(mine, face))


def least_open(case: Case, face: Subject) -> Fraction:
    """What a face is open at least, in2: that of an arch whose rise is not known as a half round, 0 where its sides are not known."""
    try:
        return opening(case, face).area.low
    except NotKnown:
        width, height = (case.number(face, side).known for side in ("width", "height"))
        if width is None or height is None:
            return Fraction(0)
        rise = min(width.low / 2, height.low)
        return segmental_area(width.low, height.low, rise)


def openings(case: Case, faces: Iterable[Subject]) -> list[Opening]:
    """The openings of some faces. Raises NotKnown, which names what is missing of all of them."""
    made: list[Opening] = []
    lacking: NotKnown | None = None
    for face in faces:
        try:
            made.append(opening(case, face))
        except NotKnown as err:  # the last one names what all of them lack
            lacking = err
    if lacking:
        raise lacking
    return made


def total_area(opened: Iterable[Opening]) -> Reading:
    """What is open in all, in2."""
    return sum((one.area for one in opened), start=Reading.exact(0))


def _opening(case: Case, face: Subject) -> Opening:
    arch = case.word(face, "arch", needed=False).known
    ask = (case.number(face, "width"), case.number(face, "height"))
    rise = case.number(face, "rise") if arch == "segmental" else None
    width, height = (entry.value for entry in ask)
    wide, high = case.length(width), case.length(height)
    if rise:
        area = corners(segmental_area, width, height, rise.value)
        expression = "width x (height - rise) + segment of the arch"
        numbers = f"{wide} x ({high} - {case.length(rise.value)}) + segment"
    elif arch == "semicircular":
        area = corners(semicircular_area, width, height)
        expression = "width x (height - width/2) + half circle"
        numbers = f"{wide} x ({high} - {case.length(width.value / 2)}) + half circle"
    else:
        area = width * height
        expression, numbers = "width x height", f"{wide} x {high}"
    made = step(
        "A_opening", expression, numbers, in_unit(area.value, case.area_unit), case.area_unit, case.area(area)
    )
    return Opening(width, height, area, made)
