"""What comes on the steel over an opening, when brick arches over it, and which angles carry it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any

from msgspec import Struct

from hearthcalc import lengths
from hearthcalc.models.ends import End, at_ends, turned
from hearthcalc.models.results import Angle, Lintel, Load, Strain
from hearthcalc.physics import beams
from hearthcalc.reference import Edition, read_table

PER_INCH = Fraction(1, 12)  # of a load per foot
PER_SQUARE_INCH = Fraction(1, 144)  # of a load per ft2
_KEPT = 64  # faces: those of a few jobs
LIGHTEST = 3  # angles that are named

WORSE: Mapping[str, Mapping[str, End]] = {
    "weight": {"steel.wall_weight": "high"},
    "span": {"steel.span.added": "high"},
    "arch": {"steel.arching.above": "high"},
}
"""The uncertain constants, by what would settle them, and the end of each at which the steel is strained more."""

_NUMBER = lengths.NUMBER
_ANGLE = re.compile(rf"L?\s*({_NUMBER})\s*[x×]\s*({_NUMBER})\s*[x×]\s*({_NUMBER})", re.IGNORECASE)


def size_of(text: str) -> tuple[Fraction, Fraction, Fraction] | None:
    """Long leg, short leg and thickness of an angle as it is named, L3-1/2x3x1/4 or 3 1/2 x 3 x 1/4; None where it is no such name."""
    match = _ANGLE.fullmatch(text.strip())
    if match is None:
        return None
    a, b, thickness = (lengths.parse(part, "in") for part in match.groups())
    return max(a, b), min(a, b), thickness


@cache
def _angles(folder: Any, name: str) -> tuple[Angle, ...]:
    found = []
    for row in read_table(folder, name).rows:
        size = size_of(row["angle"])
        if size is None:
            raise ValueError(f"{name}: {row['angle']} is no size of an angle")
        numbers = (Fraction(row[key]) for key in ("weight", "Ix_long_leg_vertical", "Sx_long_leg_vertical"))
        found.append(Angle(row["angle"], *size, *numbers))
    return tuple(sorted(found, key=lambda angle: (angle.weight, angle.long_leg)))


def angles(edition: Edition) -> tuple[Angle, ...]:
    """The angles of the table, the lightest first."""
    return _angles(edition.folder, edition["steel.angles"].table)


def find_angle(edition: Edition, text: str) -> Angle | None:
    """The angle of the table that is named so, in whatever spelling."""
    size = size_of(text)
    return next((a for a in angles(edition) if size == (a.long_leg, a.short_leg, a.thickness)), None)


@cache
def _published(folder: Any, name: str) -> Mapping[object, list[Mapping[str, str]]]:
    """The rows of a table of spans, by the size of the angle."""
    found: dict[object, list[Mapping[str, str]]] = {}
    for row in read_table(folder, name).rows:
        found.setdefault(size_of(row["angle"]), []).append(row)
    return found


def published_spans(edition: Edition, angle: Angle) -> list[Mapping[str, str]]:
    """What published tables let this angle span over veneer."""
    by_size = _published(edition.folder, edition["steel.published_spans"].table)
    return by_size.get((angle.long_leg, angle.short_leg, angle.thickness), [])


# The arithmetic


def stress(load: Load, angle: Angle) -> Fraction:
    """Greatest bending stress under a load and the angle's own weight, psi (elementary beam theory)."""
    return moment(load, angle) / angle.modulus


def moment(load: Load, angle: Angle) -> Fraction:
    """Greatest bending moment under a load and the angle's own weight, lb.in."""
    even = load.even + angle.weight * PER_INCH
    bent: Fraction = beams.moment(span=load.span, triangle=load.triangle, even=even)
    return bent


def deflection(load: Load, angle: Angle, modulus: Fraction) -> Fraction:
    """Greatest deflection under a load and the angle's own weight, in. modulus: of elasticity, psi."""
    even = load.even + angle.weight * PER_INCH
    sag: Fraction = beams.deflection(
        span=load.span, triangle=load.triangle, even=even, modulus=modulus, inertia=angle.inertia
    )
    return sag


def to_arch(span: Fraction, above: Fraction) -> Fraction:
    """The height of wall that arches over a span: half of it, and so much above the triangle."""
    return span / 2 + above


def load_of(
    span: Fraction, wall_height: Fraction, area_weight: Fraction, other: Fraction, *, arched: bool
) -> Load:
    """What comes on a lintel: the triangle under the arch, else the wall over its full height; and other loads evenly.

    span, wall_height: in.  area_weight: lb/in2.  other: lb/in.
    """
    if arched:
        return Load(span, beams.triangle_weight(area_weight, span), other)
    return Load(span, Fraction(0), area_weight * wall_height + other)


def expansion(length: Fraction, warming: Fraction, coefficient: Fraction) -> Fraction:
    """How much a steel lintel grows, in the unit of its length. warming: K."""
    return length * warming * coefficient


# The model


class Inputs(Struct, frozen=True):
    """The numbers of a record that the model needs at one face; in, lb/ft2, lb/ft.

    spans: clear, and heights: of the wall; each as measured, then the least and the most it can be.
    thickness: of the wall.  beside: does the masonry beside take a thrust.  angle: as entered.  bearing: None where it is not known.
    """

    spans: tuple[Fraction, ...]
    heights: tuple[Fraction, ...]
    thickness: Fraction
    weight: Fraction
    other: Fraction
    beside: bool
    angle: str | None
    bearing: Fraction | None


def could_arch(spans: Sequence[Fraction], heights: Sequence[Fraction], edition: Edition) -> bool:
    """Whether at any end of what the tape may be off there is wall enough to arch. spans: clear, in."""
    best = at_ends(edition, turned(_ends(*WORSE)))
    return any(height >= _to_arch(span, best) for span in spans for height in heights)


def _ends(*groups: str) -> dict[str, End]:
    return {key: end for group in groups for key, end in WORSE[group].items()}


def _to_arch(clear: Fraction, edition: Edition) -> Fraction:
    return to_arch(clear + edition["steel.span.added"].number, edition["steel.arching.above"].number)


@lru_cache(maxsize=_KEPT)
def lintel(inputs: Inputs, edition: Edition) -> Lintel:
    """The load over a face, and what carries it."""
    count = max(1, round(inputs.thickness / edition["steel.wythe"].number))
    worse = _ends(*WORSE)
    loads = _loads(inputs, edition, count)
    ends = [_loads(inputs, at_ends(edition, some), count) for some in (worse, turned(worse))]
    every = tuple(dict.fromkeys((*loads, *ends[0], *ends[1])))
    enough = inputs.heights[0] >= _to_arch(inputs.spans[0], edition)
    allowed, modulus = (edition[f"steel.{name}"].number * 1000 for name in ("bending", "modulus"))
    sag = min(
        loads[0].span * edition["steel.deflection.share"].number, edition["steel.deflection.most"].number
    )
    angle = find_angle(edition, inputs.angle) if inputs.angle is not None else None
    return Lintel(
        load=loads[0],
        loads=every,
        high_enough=enough,
        needed=_to_arch(inputs.spans[0], edition),
        arched=enough and inputs.beside,
        flips=len({load.triangle > 0 for load in every}) > 1,
        count=count,
        stress=allowed / 1000,
        sag=sag,
        lightest=_lightest(every, allowed, sag, modulus, edition),
        strain=None if angle is None else _strain(every, angle, modulus),
        grows=_grows(inputs, edition),
        settles=_settles(inputs, edition, count),
    )


def _loads(inputs: Inputs, edition: Edition, count: int) -> tuple[Load, ...]:
    """What one of so many angles carries, at each end of what the tape may be off, the nominal first."""
    weight = inputs.weight * edition["steel.wall_weight"].number * PER_SQUARE_INCH
    return tuple(
        load_of(
            span + edition["steel.span.added"].number,
            height,
            weight / count,
            inputs.other * PER_INCH / count,
            arched=inputs.beside and height >= _to_arch(span, edition),
        )
        for span in inputs.spans
        for height in inputs.heights
    )


def _settles(inputs: Inputs, edition: Edition, count: int) -> str:
    """The group of constants that alone bends the steel most."""

    def bends(group: str) -> Fraction:
        load = _loads(inputs, at_ends(edition, _ends(group)), count)[0]
        bent: Fraction = beams.moment(span=load.span, triangle=load.triangle, even=load.even)
        return bent

    return max(WORSE, key=bends)


def _lightest(
    loads: Sequence[Load], allowed: Fraction, sag: Fraction, modulus: Fraction, edition: Edition
) -> tuple[Angle, ...]:
    """The lightest angles that carry every load within all limits, at most three of them. allowed, modulus: psi.  sag: in."""
    least = edition["steel.leg"].number
    fits = (
        angle
        for angle in angles(edition)
        if angle.short_leg >= least
        and all(stress(load, angle) <= allowed and deflection(load, angle, modulus) <= sag for load in loads)
    )
    return tuple(angle for angle, _ in zip(fits, range(LIGHTEST), strict=False))


def _strain(loads: Sequence[Load], angle: Angle, modulus: Fraction) -> Strain:
    return Strain(
        angle,
        tuple(stress(load, angle) / 1000 for load in loads),
        tuple(deflection(load, angle, modulus) for load in loads),
        moment(loads[0], angle) * PER_INCH,
    )


def _grows(inputs: Inputs, edition: Edition) -> Fraction:
    """How much the steel over a face grows when it is hot, in."""
    rests = edition["steel.span.added"].number if inputs.bearing is None else inputs.bearing
    whole = inputs.spans[0] + 2 * rests
    return expansion(whole, edition["steel.warming"].number, edition["steel.expansion"].number)
