"""A simply supported beam under a triangle of masonry and an even load, in one system of units throughout (SI: m, N, Pa).

On floats, arrays or exact fractions.  Source: elementary beam theory; for the triangle, its weight greatest at mid-span.
"""

from __future__ import annotations

from .elementwise import Number


def triangle_weight(area_weight: Number, span: Number) -> Number:
    """Weight of the masonry in a triangle of 45 degrees over a span. area_weight: of the wall's face, per area."""
    return area_weight * span * span / 4


def moment(*, span: Number, triangle: Number, even: Number) -> Number:
    """Greatest bending moment. triangle: the weight of a triangle over the span.  even: load per length."""
    return triangle * span / 6 + even * span * span / 8


def deflection(*, span: Number, triangle: Number, even: Number, modulus: Number, inertia: Number) -> Number:
    """Greatest deflection. modulus: of elasticity.  inertia: second moment of area about the axis of bending."""
    return (triangle / 60 + 5 * even * span / 384) * span**3 / (modulus * inertia)
