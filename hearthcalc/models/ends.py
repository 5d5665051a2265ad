"""What the constants of the models may be off: an edition in which some stand at an end of their usual range."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from msgspec.structs import replace

from hearthcalc.reference import Edition, Value

End = Literal["low", "high"]
_KEPT = 64  # editions at their ends: all that the models ask of a few
OTHER: Mapping[End, End] = {"low": "high", "high": "low"}


def at_ends(edition: Edition, ends: Mapping[str, End]) -> Edition:
    """The edition with these constants at that end of their usual range, or where they stand, if that is beyond it."""
    return _at_ends(edition, tuple(ends.items()))


@lru_cache(maxsize=_KEPT)
def _at_ends(edition: Edition, ends: tuple[tuple[str, End], ...]) -> Edition:
    moved = {key: _moved(edition[key], end) for key, end in ends}
    return replace(edition, values={**edition.values, **moved})


def turned(ends: Mapping[str, End]) -> Mapping[str, End]:
    """The other ends."""
    return {key: OTHER[end] for key, end in ends.items()}


def end_of(value: Value, end: End) -> Fraction:
    """How low, or how high, a value may be; where it is no range of its own, as it stands."""
    if value.usual is None:
        return value.number
    low, high = (quantity.number for quantity in value.usual)
    return min(low, value.number) if end == "low" else max(high, value.number)


def _moved(value: Value, end: End) -> Value:
    assert value.quantity is not None
    return replace(value, quantity=replace(value.quantity, number=end_of(value, end)))
