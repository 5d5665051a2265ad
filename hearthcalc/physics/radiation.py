"""Radiation from an opening, taken as an even, diffuse panel in its plane, onto level surfaces before it."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

from msgspec import Struct

from .elementwise import Number, is_array, sqrt
from .search import root

STEFAN_BOLTZMANN = 5.670_374_419e-8
"""Stefan-Boltzmann constant, W/(m2.K4): CODATA 2018."""

_NEAREST = 1e-4  # m
_SAME_PLACE = 1e-6  # m
_TINY = 1e-300  # of a view factor that is lost in the digits
_KEPT = 256  # reaches: those of a few jobs


def level_view_factor(*, left: Number, right: Number, low: Number, high: Number, distance: Number) -> Number:
    """View factor from a small level surface to an upright rectangle: what lands on it over what the panel emits.

    left, right: the rectangle's ends along its plane, from the point straight across; low, high: its edges over
    (or, for a surface that faces down, under) the surface, at least 0; distance: to its plane, above 0.  All in m.
    Source: closed form for a small surface at right angles to a rectangle, its foot at a corner, added up over four corners.
    """

    def above(edge: Number) -> Number:
        slant = sqrt(distance**2 + edge**2)
        return distance / slant * (_angle(right, slant) - _angle(left, slant))

    return (above(low) - above(high)) / (2 * math.pi)


def brightest(
    *, left: float, right: float, low: float, high: float, nearest: float, farthest: float
) -> float:
    """The distance between two at which `level_view_factor` is highest, m: it rises once and then falls."""

    def slope(distance: float) -> float:
        def above(edge: float) -> float:
            square = distance**2 + edge**2
            slant = math.sqrt(square)
            turns = edge**2 / slant * (math.atan(right / slant) - math.atan(left / slant))
            return (turns - distance**2 * (right / (square + right**2) - left / (square + left**2))) / square

        return above(low) - above(high)

    return root(slope, nearest, farthest, within=_SAME_PLACE)


def _angle(opposite: Number, adjacent: Number) -> Number:
    if is_array(opposite) or is_array(adjacent):
        import numpy

        return numpy.arctan(opposite / adjacent)
    return math.atan(opposite / adjacent)


class Panel(Struct, frozen=True):
    """A glowing opening. width, height: of its rectangle; foot: its lower edge over the level looked at.  All in m."""

    width: float
    height: float
    foot: float

    def on_floor(self, out: Number, beside: Number | None = None) -> Number:
        """View factor from a place on the floor. out: from the plane, above 0.  beside: past the jamb; None: on the centre line."""
        return level_view_factor(**self._seen(self.foot, beside), distance=out)

    def under_shelf(self, out: Number, above: Number, beside: Number | None = None) -> Number:
        """View factor from a place on the underside of a shelf. above: over the top of the rectangle; the rest as on_floor."""
        return level_view_factor(**self._seen(above, beside), distance=out)

    def most_under_shelf(self, out: float, above: float, beside: float | None = None) -> float:
        """The highest of them under a shelf. out: from the plane to its edge; the rest as under_shelf."""
        at = brightest(**self._seen(above, beside), nearest=out * 1e-3, farthest=out)
        view: float = self.under_shelf(at, above, beside)
        return view

    def _seen(self, edge: float, beside: Number | None) -> dict[str, Number]:
        """The rectangle from a place. edge: its nearer one, over or under the place."""
        past = -self.width / 2 if beside is None else beside
        return {"left": -self.width - past, "right": -past, "low": edge, "high": edge + self.height}

    @lru_cache(maxsize=_KEPT)  # noqa: B019  a panel is three numbers
    def reach_in_front(self, view_factor: float, far: float) -> float:
        """How far out on the centre line the floor has more than a view factor: 0 where it nowhere has, at most far."""
        return _last_above(self.on_floor, view_factor, self._brightest(None, far), far)

    @lru_cache(maxsize=_KEPT)  # noqa: B019
    def reach_beside(self, view_factor: float, far: float) -> float:
        """How far past the jamb any place on the floor has more than a view factor: 0 where none has, at most far."""

        def most(beside: float) -> float:
            view: float = self.on_floor(self._brightest(beside, far), beside)
            return view

        return _last_above(most, view_factor, 0.0, far)

    def _brightest(self, beside: float | None, far: float) -> float:
        return brightest(**self._seen(self.foot, beside), nearest=_NEAREST, farthest=far)


def _last_above(view: Callable[[float], float], threshold: float, low: float, high: float) -> float:
    """Where a view factor that falls from low to high comes down to a threshold: 0 where it is nowhere above, at most high.

    Far off it falls with the cube of the distance, so that the cube root of its inverse runs almost straight, and is searched.
    """
    if view(low) <= threshold:
        return 0.0
    if threshold <= 0:
        return high
    return root(
        lambda place: 1 - (threshold / max(view(place), _TINY)) ** (1 / 3), low, high, within=_SAME_PLACE
    )
