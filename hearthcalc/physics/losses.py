"""What the parts of a flue take from the draft: friction, throat, bends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from .elementwise import Number, choose, larger, log10, smaller

_LAMINAR_UP_TO, _TURBULENT_FROM = 2000.0, 4000.0  # Reynolds numbers


def friction_factor(reynolds: Number, relative_roughness: Number) -> Number:
    """Darcy friction factor of a rough flue.

    reynolds: 1, above zero.  relative_roughness: roughness over hydraulic diameter, 1.
    Sources: Haaland, Journal of Fluids Engineering 105 (1983) 89, from Re 4000; Hagen and Poiseuille to Re 2000.
    Between them, where no law holds, a mean that goes from the one to the other, so that the friction does not jump.
    """
    turbulent = larger(reynolds, _LAMINAR_UP_TO)
    haaland = 1 / (1.8 * log10((relative_roughness / 3.7) ** 1.11 + 6.9 / turbulent)) ** 2
    share = smaller((turbulent - _LAMINAR_UP_TO) / (_TURBULENT_FROM - _LAMINAR_UP_TO), 1.0)
    return (1 - share) * 64 / reynolds + share * haaland


def throat_coefficient(area_ratio: Number, *, at_equal: Number, at_double: Number) -> Number:
    """Loss coefficient of entry, throat and smoke chamber, on the flue's velocity and the foot's density.

    area_ratio: throat area over flue area; at zero nothing passes, and the coefficient is infinite.
    at_equal, at_double: coefficients at ratios 1 and 2.
    Linear between them, the same above 2, and by the square of the velocity below 1.
    """
    between = at_equal + (at_double - at_equal) * (smaller(larger(area_ratio, 1.0), 2.0) - 1)
    passes = area_ratio > 0
    return choose(passes, between / choose(passes, smaller(area_ratio, 1.0), 1.0) ** 2, math.inf)


def bend_coefficient(angle: float, table: Sequence[tuple[float, float]]) -> float:
    """Loss coefficient of one mitred bend, linear between the rows of a table.

    angle: deg.  table: (deg, coefficient), rising.  Raises ValueError beyond the table.
    """
    for (low, low_value), (high, high_value) in pairwise(table):
        if low <= angle <= high:
            return low_value + (high_value - low_value) * (angle - low) / (high - low)
    raise ValueError(f"no bend of {angle:g} deg in the table: {table[0][0]:g} to {table[-1][0]:g} deg")
