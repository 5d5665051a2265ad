"""Radiation from an opening, taken as an even, diffuse panel in its plane, onto level surfaces before it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from .elementwise import Number, is_array, sqrt
from .search import peak, root

STEFAN_BOLTZMANN = 5.670_374_419e-8
"""Stefan-Boltzmann constant, W/(m2.K4): CODATA 2018."""

_NEAREST = 1e-4  # m
SAME_PLACE = 1e-6  # m
_FLAT = 1e-3  # m: a view factor is flat where it is highest, so that there it is off by some millionths
_KEPT = 256  # reaches: those of a few jobs


def level_view_factor(*, left: Number, right: Number, low: Number, high: Number, distance: Number) -> Number:
    """View factor from a small level surface to an upright rectangle: what lands on it over what the panel emits.

    left, right: the rectangle's ends along its plane, from the point straight across; low, high: its edges over
    (or, for a surface that faces down, under) the surface, at least 0; distance: to its plane, above 0.  All in m.
    Source: closed form for a small surface at right angles to a rectangle, its foot at a corner, added up over four corners.
    """

    def corner(across: Number, up: Number) -> Number:
        slant = sqrt(distance**2 + up**2)
        return (_angle(across, distance) - distance / slant * _angle(across, slant)) / (2 * math.pi)

    return corner(right, high) - corner(left, high) - corner(right, low) + corner(left, low)


def _angle(opposite: Number, adjacent: Number) -> Number:
    if is_array(opposite) or is_array(adjacent):
        import numpy

        return numpy.arctan(opposite / adjacent)
    return math.atan(opposite / adjacent)


@dataclass(frozen=True, slots=True)
class Panel:
    """A glowing opening. width, height: of its rectangle; foot: its lower edge over the level looked at.  All in m."""

    width: float
    height: float
    foot: float

    def on_floor(self, out: Number, beside: Number | None = None) -> Number:
        """View factor from a place on the floor. out: from the plane, above 0.  beside: past the jamb; None: on the centre line."""
        past = -self.width / 2 if beside is None else beside
        return level_view_factor(
            left=-self.width - past, right=-past, low=self.foot, high=self.foot + self.height, distance=out
        )

    def under_shelf(self, out: Number, above: Number, beside: Number | None = None) -> Number:
        """View factor from a place on the underside of a shelf. above: over the top of the rectangle; the rest as on_floor."""
        past = -self.width / 2 if beside is None else beside
        return level_view_factor(
            left=-self.width - past, right=-past, low=above, high=above + self.height, distance=out
        )

    @lru_cache(maxsize=_KEPT)  # noqa: B019  a panel is three numbers
    def reach_in_front(self, view_factor: float, far: float) -> float:
        """How far out on the centre line the floor has more than a view factor: 0 where it nowhere has, at most far."""
        return _last_above(
            self.on_floor, view_factor, peak(self.on_floor, _NEAREST, far, within=SAME_PLACE), far
        )

    @lru_cache(maxsize=_KEPT)  # noqa: B019
    def reach_beside(self, view_factor: float, far: float) -> float:
        """How far past the jamb any place on the floor has more than a view factor: 0 where none has, at most far."""

        def most(beside: float) -> float:
            def along(out: float) -> float:
                view: float = self.on_floor(out, beside)
                return view

            return along(peak(along, _NEAREST, far, within=_FLAT))

        return _last_above(most, view_factor, 0.0, far)


def _last_above(function: Callable[[float], float], threshold: float, low: float, high: float) -> float:
    """Where a function that falls from low to high comes down to a threshold: 0 where it is nowhere above, at most high."""
    if function(low) <= threshold:
        return 0.0
    return root(lambda place: function(place) - threshold, low, high, within=SAME_PLACE)
