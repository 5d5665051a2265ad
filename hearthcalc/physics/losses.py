"""What the parts of a flue take from the draft: friction, throat, bends."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from .elementwise import Number, choose, larger, log10, smaller

_LAMINAR_UP_TO = 2300.0


def friction_factor(reynolds: Number, relative_roughness: Number) -> Number:
    """Darcy friction factor of a rough flue.

    reynolds: 1, above zero.  relative_roughness: roughness over hydraulic diameter, 1.
    Sources: Haaland, Journal of Fluids Engineering 105 (1983) 89, above Re 2300; Hagen and Poiseuille below.
    """
    turbulent = larger(reynolds, _LAMINAR_UP_TO)
    haaland = 1 / (1.8 * log10((relative_roughness / 3.7) ** 1.11 + 6.9 / turbulent)) ** 2
    return choose(reynolds > _LAMINAR_UP_TO, haaland, 64 / reynolds)


def throat_coefficient(area_ratio: Number, *, at_equal: Number, at_double: Number) -> Number:
    """Loss coefficient of entry, throat and smoke chamber, on the flue's velocity and the foot's density.

    area_ratio: throat area over flue area, above zero.  at_equal, at_double: coefficients at ratios 1 and 2.
    Linear between them, the same above 2, and by the square of the velocity below 1.
    """
    between = at_equal + (at_double - at_equal) * (smaller(larger(area_ratio, 1.0), 2.0) - 1)
    return between / smaller(area_ratio, 1.0) ** 2


def bend_coefficient(angle: float, table: Sequence[tuple[float, float]]) -> float:
    """Loss coefficient of one mitred bend, linear between the rows of a table.

    angle: deg.  table: (deg, coefficient), rising.  Raises ValueError beyond the table.
    """
    for (low, low_value), (high, high_value) in pairwise(table):
        if low <= angle <= high:
            return low_value + (high_value - low_value) * (angle - low) / (high - low)
    raise ValueError(f"no bend of {angle:g} deg in the table: {table[0][0]:g} to {table[-1][0]:g} deg")
