"""The few functions that equations need, from `math` for a number and from numpy for an array.

numpy takes longer to import than a state takes to solve, so it is imported when the first array comes.
A search asks these of a float thousands of times, so that they answer a float first.
"""

from __future__ import annotations

import math
from typing import Any

Number = Any
"""A float, or an array of floats.  Any, since a type checker does not follow arithmetic on either."""

Truth = Any
"""A bool, or an array of them."""


def is_array(value: object) -> bool:
    """Whether this is an array of numbers, not one number."""
    return type(value) is not float and getattr(value, "ndim", 0) > 0


def sqrt(x: Number) -> Number:
    """Square root."""
    if type(x) is float:
        return math.sqrt(x)
    if is_array(x):
        import numpy

        return numpy.sqrt(x)
    return math.sqrt(x)


def expm1(x: Number) -> Number:
    """e^x - 1, exact near zero."""
    if is_array(x):
        import numpy

        return numpy.expm1(x)
    return math.expm1(x)


def log10(x: Number) -> Number:
    """Decimal logarithm."""
    if is_array(x):
        import numpy

        return numpy.log10(x)
    return math.log10(x)


def choose(condition: Truth, yes: Number, no: Number) -> Number:
    """`yes` where the condition holds, else `no`; both are worked out."""
    if type(condition) is not bool and is_array(condition):
        import numpy

        return numpy.where(condition, yes, no)
    return yes if condition else no


def everywhere(condition: Truth) -> bool:
    """Whether the condition holds, for every element."""
    return bool(condition.all() if is_array(condition) else condition)


def anywhere(condition: Truth) -> bool:
    """Whether the condition holds, for some element."""
    return bool(condition.any() if is_array(condition) else condition)


def larger(a: Number, b: Number) -> Number:
    """The larger of the two."""
    if type(a) is type(b) is float:
        return b if b > a else a
    if is_array(a) or is_array(b):
        import numpy

        return numpy.maximum(a, b)
    return max(a, b)


def smaller(a: Number, b: Number) -> Number:
    """The smaller of the two."""
    if type(a) is type(b) is float:
        return b if b < a else a
    if is_array(a) or is_array(b):
        import numpy

        return numpy.minimum(a, b)
    return min(a, b)


def with_sign(size: Number, x: Number) -> Number:
    """`size` with the sign of x."""
    if type(x) is type(size) is float:
        return math.copysign(size, x)
    if is_array(x) or is_array(size):
        import numpy

        return numpy.copysign(size, x)
    return math.copysign(size, x)


def signed_power(x: Number, exponent: Number) -> Number:
    """|x|^exponent with the sign of x: how a flow answers to a pressure difference of either sign."""
    if type(x) is type(exponent) is float:
        return math.copysign(abs(x) ** exponent, x)
    return with_sign(abs(x) ** exponent, x)


def signed_root(x: Number) -> Number:
    """sqrt(|x|) with the sign of x."""
    if type(x) is float:
        return math.copysign(math.sqrt(abs(x)), x)
    return with_sign(sqrt(abs(x)), x)
