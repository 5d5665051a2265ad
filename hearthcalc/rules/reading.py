"""A measured number with what the tape may be off, and how it compares with a limit."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import product

from msgspec import Struct

from hearthcalc.findings import Verdict
from hearthcalc.lengths import Op
from hearthcalc.many import Many

NOTHING = Fraction(0)


class Reading(Struct, frozen=True):
    """A quantity: as measured, and the least and the most it can be within the measuring tolerance."""

    value: Fraction
    low: Fraction
    high: Fraction

    @classmethod
    def exact(cls, value: Fraction | int) -> Reading:
        """A number that carries no tolerance: an intention, or a printed figure."""
        number = value if isinstance(value, Fraction) else Fraction(value)
        return cls(number, number, number)

    @classmethod
    def measured(cls, value: Fraction, tolerance: Fraction) -> Reading:
        """A number read off a tape. A reading of nothing stays nothing: what is not there is not measured."""
        low = value - tolerance
        if low < 0 < value:
            low = NOTHING
        return cls(value, low, value + tolerance) if value else cls.exact(value)

    @property
    def is_exact(self) -> bool:
        """It carries no tolerance: then one figure does for all three."""
        return self.low is self.high

    def __add__(self, other: Reading | Fraction | int) -> Reading:
        o = reading(other)
        if self.is_exact and o.is_exact:
            return Reading.exact(self.value + o.value)
        return Reading(self.value + o.value, self.low + o.low, self.high + o.high)

    def __sub__(self, other: Reading | Fraction | int) -> Reading:
        o = reading(other)
        if self.is_exact and o.is_exact:
            return Reading.exact(self.value - o.value)
        return Reading(self.value - o.value, self.low - o.high, self.high - o.low)

    def __mul__(self, other: Reading | Fraction | int) -> Reading:
        o = reading(other)
        if self.is_exact and o.is_exact:
            return Reading.exact(self.value * o.value)
        return Reading(self.value * o.value, self.low * o.low, self.high * o.high)

    def __truediv__(self, other: Reading | Fraction | int) -> Reading:
        """The quotient; its most is unbounded as the divisor nears nothing, so a divisor keeps its nominal value there."""
        o = reading(other)
        return Reading(self.value / o.value, self.low / o.high, self.high / (o.low or o.value))

    __radd__ = __add__
    __rmul__ = __mul__


def reading(value: Reading | Fraction | int) -> Reading:
    """Any exact number as a reading."""
    return value if isinstance(value, Reading) else Reading.exact(value)


def corners(function: Callable[..., Fraction], *arguments: Reading) -> Reading:
    """A function of readings that is monotonic in each: its value, and its least and most over what each can be."""
    if all(argument.is_exact for argument in arguments):
        return Reading.exact(function(*(argument.value for argument in arguments)))
    ends = ((a.value,) if a.is_exact else (a.low, a.high) for a in arguments)
    values = [function(*corner) for corner in product(*ends)]
    return Reading(function(*(a.value for a in arguments)), min(values), max(values))


def root(value: Fraction) -> Fraction:
    """The square root: exact where it is rational, else to the precision of a float."""
    if isinstance(value, Many):
        return value.root()
    if value < 0:
        raise ValueError(f"no root of {value}")
    top, bottom = math.isqrt(value.numerator), math.isqrt(value.denominator)
    if top * top == value.numerator and bottom * bottom == value.denominator:
        return Fraction(top, bottom)
    return Fraction(math.sqrt(value))


class Comparison(Struct, frozen=True):
    """How a reading stands to a limit. margin: positive where met.  slack: what the tolerance can add to it, or to another limit's.

    decides: the tolerance can flip which of several limits applies, and the answer with it.
    """

    verdict: Verdict
    margin: Fraction
    slack: Fraction
    decides: bool


def at_least(found: Reading, limit: Reading, others: Sequence[Reading] = ()) -> Comparison:
    """Found against the least it may be.

    others: limits that would apply instead if a measurement were off by its tolerance.
    MEETS at or above the limit and every other; SHORT where it cannot reach any; CLOSE between.
    """
    limits = (limit, *others)
    margins = [found.value - one.value for one in limits]
    return _compare(
        margins, [found.high - one.low for one in limits] if _may_be_off(found, limits) else margins
    )


def at_most(found: Reading, limit: Reading, others: Sequence[Reading] = ()) -> Comparison:
    """Found against the most it may be; otherwise as at_least."""
    limits = (limit, *others)
    margins = [one.value - found.value for one in limits]
    return _compare(
        margins, [one.high - found.low for one in limits] if _may_be_off(found, limits) else margins
    )


def _may_be_off(found: Reading, limits: Sequence[Reading]) -> bool:
    """Does any of these carry a tolerance."""
    return not (found.is_exact and all(one.is_exact for one in limits))


def agreed(op: Op, found: Reading, limit: Reading, fails: Fraction | float | None = None) -> Verdict:
    """What the whole of two bands agrees on: MEETS, or SHORT where none reaches `fails`, the limit unless given; else REFER."""
    (low, high), (least, most) = (sorted((band.low, band.high)) for band in (found, limit))
    up = op == ">="
    if low >= most if up else high <= least:
        return Verdict.MEETS
    bar = fails if fails is not None else least if up else most
    return Verdict.SHORT if (high < bar if up else low > bar) else Verdict.REFER


def _compare(margins: list[Fraction], best: list[Fraction]) -> Comparison:
    first = margins[0]
    if best is margins and len(margins) == 1:
        return Comparison(Verdict.MEETS if first >= 0 else Verdict.SHORT, first, NOTHING, False)
    if min(margins) >= 0:
        verdict = Verdict.MEETS
    elif max(best) < 0:
        verdict = Verdict.SHORT
    else:
        verdict = Verdict.CLOSE
    decides = verdict is Verdict.CLOSE and (first >= 0 or best[0] < 0)
    return Comparison(verdict, first, max(max(best) - first, NOTHING), decides)
