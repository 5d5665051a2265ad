"""Searching a crossing of zero: of one number, or of every element of the arrays that a record holds."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from .elementwise import is_array

Record = TypeVar("Record")

_TOLERANCE = 1e-12  # of the range that is searched
_CACHED = 25_000  # elements whose working arrays stay close to the processor


def root(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that is above zero at `low` and below zero at `high` crosses zero.

    Source: Ridders, IEEE Transactions on Circuits and Systems 26 (1979) 979.
    """
    above, below = function(low), function(high)
    tolerance = _TOLERANCE * (high - low)
    last = high
    while high - low > tolerance:
        middle = (low + high) / 2
        at_middle = function(middle)
        found = middle + (middle - low) * at_middle / math.sqrt(at_middle**2 - above * below)
        if abs(found - last) <= tolerance:
            return found
        last = found
        for x, value in ((middle, at_middle), (found, function(found))):
            if low < x < high and value > 0:
                low, above = x, value
            elif low < x < high:
                high, below = x, value
    return low


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
    found = np.empty_like(high)
    places = np.arange(len(high))
    tolerance = _TOLERANCE * (high - low)
    near, far, share = high, low, np.full_like(high, 0.5)
    at_near, at_far = function(near, *arrays), function(far, *arrays)
    while True:
        x = near + share * (far - near)
        value = function(x, *arrays)
        stays = (value > 0) == (at_near > 0)
        old, at_old = np.where(stays, near, far), np.where(stays, at_near, at_far)
        far, at_far = np.where(stays, far, near), np.where(stays, at_far, at_near)
        near, at_near = x, value

        left = (abs(far - near) > 2 * tolerance) & (value != 0)
        found[places] = near
        if not left.any():
            return found
        places, tolerance = places[left], tolerance[left]
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
    if is_dataclass(part) and not isinstance(part, type):
        return replace(
            part, **{field.name: _changed(getattr(part, field.name), change) for field in fields(part)}
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
