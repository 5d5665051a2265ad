"""Searching a crossing of zero: of one number, or of every element of the arrays that a record holds."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from .elementwise import choose, everywhere, is_array, larger

Record = TypeVar("Record")

_ROUNDING = 1e-15  # of what is found: a flow through a wide opening hangs on the last digits of its drop
_NOTHING = 1e-20  # of the range that is searched
_HALVINGS = 120  # more than the digits of a number
_CACHED = 25_000  # elements whose working arrays stay close to the processor


def root(
    function: Callable[[float], float],
    low: float,
    high: float,
    *,
    at_ends: tuple[float, float] | None = None,
    within: float = 0.0,
) -> float:
    """Where a function that is above zero at `low` and below zero at `high` crosses zero; an end where it is not so.

    at_ends: its values there, where they are known.  within: how near it is near enough; 0 for as near as numbers go.
    Source: Chandrupatla, Advances in Engineering Software 28 (1997) 145.
    """
    at_far, at_near = at_ends or (function(low), function(high))
    if at_far <= 0 or at_near >= 0:
        return low if at_far <= 0 else high
    near, far, nothing = high, low, within or _NOTHING * (high - low)
    share = at_near / (at_near - at_far)
    while True:
        tolerance = _ROUNDING * max(abs(near), abs(far)) + nothing
        if abs(far - near) <= tolerance:
            return near
        least = min(tolerance / abs(far - near), 0.5)
        x = near + min(max(share, least), 1 - least) * (far - near)
        value = function(x)
        if not value:
            return x
        if (value > 0) == (at_near > 0):
            old, at_old = near, at_near
        else:
            old, at_old, far, at_far = far, at_far, near, at_near
        near, at_near = x, value
        # The inverse of a parabola through three points, wherever it can be trusted; else the middle.
        along, rise = (near - far) / (old - far), (at_near - at_far) / (at_old - at_far)
        share = 0.5
        if rise**2 < along and (1 - rise) ** 2 < 1 - along:
            share = at_near / (at_far - at_near) * at_old / (at_far - at_old) + (old - near) / (
                far - near
            ) * (at_near / (at_old - at_near) * at_far / (at_old - at_far))
            if share * abs(far - near) <= tolerance:
                return near + share * (far - near)


def falling_root(function: Callable[[Any], tuple[Any, Any]], low: Any, high: Any, start: Any) -> Any:
    """Where a function that falls from low to high crosses zero, of a number or of every element; an end where it does not cross.

    function: gives its value and its slope.  start: from low to high.
    Newton's method, and halving wherever that leaves the range.
    """
    x = start
    for _ in range(_HALVINGS):
        value, slope = function(x)
        low, high = choose(value > 0, x, low), choose(value > 0, high, x)
        step = x - value / slope
        settled = abs(step - x) <= _ROUNDING * abs(x)
        if everywhere(settled | (high - low <= _ROUNDING * abs(x))):
            return choose(settled, step, x)
        x = choose(settled | ((step > low) & (step < high)), step, (low + high) / 2)
    return x


def roots(function: Callable[..., Any], low: Any, high: Any, arrays: Sequence[Any]) -> Any:
    """The same for every element of arrays: function(x, *arrays) works element by element.

    An element leaves the search as soon as it is found, and the other arrays are cut down with it. scipy's
    elementwise root finder goes the same way, but its bookkeeping costs as much as the equations of a fireplace.
    Source: Chandrupatla, Advances in Engineering Software 28 (1997) 145.
    """
    import numpy as np

    if len(high) > _CACHED:
        pieces = [slice(start, start + _CACHED) for start in range(0, len(high), _CACHED)]
        return np.concatenate(
            [roots(function, low[p], high[p], [array[p] for array in arrays]) for p in pieces]
        )
    at_low, at_high = function(low, *arrays), function(high, *arrays)
    crosses = (at_low > 0) & (at_high < 0)
    found = np.where(at_low > 0, high, low)
    places = np.flatnonzero(crosses)
    near, far, at_near, at_far = (array[crosses] for array in (high, low, at_high, at_low))
    arrays, nothing, share = (
        [array[crosses] for array in arrays],
        _NOTHING * (near - far),
        np.full_like(near, 0.5),
    )
    while True:
        x = near + share * (far - near)
        value = function(x, *arrays)
        stays = (value > 0) == (at_near > 0)
        old, at_old = np.where(stays, near, far), np.where(stays, at_near, at_far)
        far, at_far = np.where(stays, far, near), np.where(stays, at_far, at_near)
        near, at_near = x, value

        tolerance = _ROUNDING * larger(abs(near), abs(far)) + nothing
        left = (abs(far - near) > 2 * tolerance) & (value != 0)
        found[places] = near
        if not left.any():
            return found
        places, tolerance, nothing = places[left], tolerance[left], nothing[left]
        near, far, old = near[left], far[left], old[left]
        at_near, at_far, at_old = at_near[left], at_far[left], at_old[left]
        arrays = [array[left] for array in arrays]

        # The inverse of a parabola through three points, wherever it can be trusted; else the middle.
        along, rise = (near - far) / (old - far), (at_near - at_far) / (at_old - at_far)
        trusted = (rise**2 < along) & ((1 - rise) ** 2 < 1 - along) & (at_old != at_near)
        at_old = np.where(trusted, at_old, 2 * at_far)
        curved = at_near / (at_far - at_near) * at_old / (at_far - at_old) + (old - near) / (far - near) * (
            at_near / (at_old - at_near) * at_far / (at_old - at_far)
        )
        least = tolerance / abs(far - near)
        share = np.clip(np.where(trusted, curved, 0.5), least, 1 - least)


def change_numbers(record: Record, change: Callable[[Any], Any]) -> Record:
    """The same record with every number and every array in it changed."""
    return _changed(record, change)  # type: ignore[no-any-return]


def _changed(part: Any, change: Callable[[Any], Any]) -> Any:
    if isinstance(part, Struct):
        return replace(
            part, **{name: _changed(getattr(part, name), change) for name in part.__struct_fields__}
        )
    if isinstance(part, tuple):
        return tuple(_changed(each, change) for each in part)
    if isinstance(part, dict):
        return {name: _changed(each, change) for name, each in part.items()}
    if is_array(part) or (isinstance(part, float | int) and not isinstance(part, bool)):
        return change(part)
    return part


def arrays_of(record: Any) -> list[Any]:
    """Every array in a record, in the order in which `with_arrays` puts others in their place."""
    arrays: list[Any] = []
    _changed(record, lambda number: arrays.append(number) if is_array(number) else None)
    return arrays


def with_arrays(record: Record, arrays: Iterable[Any]) -> Record:
    """The same record with other arrays."""
    others = iter(arrays)
    return change_numbers(record, lambda number: next(others) if is_array(number) else number)
