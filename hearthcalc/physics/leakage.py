"""What presses on a house and leaks through it: power law, warm air rising, wind."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from .air import GRAVITY
from .elementwise import Number, anywhere, larger, signed_power, signed_root, smaller, sqrt
from .search import falling_root

_TINY = 1e-300  # Pa^0.5; what an opening lets in rises without bound where nothing passes


class PowerLaw(Struct, frozen=True):
    """Leakage of an envelope, Q = c dp^n.

    coefficient: c, m3/(s.Pa^n).  exponent: n, 1.
    Source: ASHRAE Fundamentals 2021, chapter 16.
    """

    coefficient: Number
    exponent: Number

    def flow(self, drop: Number) -> Number:
        """Volume flow, m3/s, at a pressure drop, Pa, with its sign."""
        return self.coefficient * signed_power(drop, self.exponent)

    def drop(self, flow: Number) -> Number:
        """Pressure drop, Pa, at a volume flow, m3/s, with its sign; the coefficient must not be zero."""
        return signed_power(flow / self.coefficient, 1 / self.exponent)


def from_air_changes(air_changes: Number, volume: Number, exponent: Number) -> PowerLaw:
    """Leakage of a house from a blower-door test at 50 Pa.

    air_changes: ACH50, per hour.  volume: m3.  exponent: n, 1.
    """
    return PowerLaw(air_changes * volume / 3600 / 50**exponent, exponent)


def root_suction(law: PowerLaw, *, rest: Number, inlet: Number, flow: Number) -> Number:
    """Signed root of a house's suction, Pa^0.5, while a volume flow is drawn out of it, m3/s.

    Its leaks are spread over its height, so that they pass nothing at its resting pressure `rest`, Pa; an opening near
    the hearth passes nothing where the house is as outdoors.  inlet: flow by that opening at a drop of 1 Pa, m3/(s.Pa^0.5).
    Found by search for what leaks in, which with what the opening lets in makes up the flow: the pressure is smooth in the leak.
    """
    if not anywhere(inlet > 0):
        return signed_root(law.drop(flow) - rest)

    def lacking(leak: Number) -> tuple[Number, Number]:
        drop = law.drop(leak)
        root = signed_root(drop - rest)
        rise = abs(drop) / larger(law.exponent * abs(leak), _TINY)
        return flow - leak - inlet * root, -1 - inlet * rise / larger(2 * abs(root), _TINY)

    balanced = law.flow(rest)  # what leaks where the opening lets nothing in
    leak = falling_root(lacking, smaller(flow, balanced), larger(flow, balanced), flow)
    return signed_root(law.drop(leak) - rest)


def stack_pressure(
    outdoor_density: Number, indoor_temperature: Number, outdoor_temperature: Number, neutral_level: Number
) -> Number:
    """Pressure of warm indoor air at the hearth against outdoors: below zero with the neutral level above.

    outdoor_density: kg/m3.  temperatures: K.  neutral_level: m above the hearth.  Returns Pa.
    Source: ASHRAE Fundamentals 2021, chapter 16, stack pressure.
    """
    warmth = (indoor_temperature - outdoor_temperature) / indoor_temperature
    return -outdoor_density * GRAVITY * warmth * neutral_level


def wind_pressure(density: Number, speed: Number, shelter: Number, coefficient: Number) -> Number:
    """Pressure of the wind on a wall.

    density: kg/m3.  speed: m/s.  shelter: share of it that arrives, 1.  coefficient: Cp, 1.  Returns Pa.
    Source: ASHRAE Fundamentals 2021, chapter 16, equation 25.
    """
    return coefficient * density * (shelter * speed) ** 2 / 2


def wind_speed(density: Number, pressure: Number, shelter: Number, coefficient: Number) -> Number:
    """Wind that makes a pressure difference: `wind_pressure` turned round.

    density: kg/m3.  pressure: Pa, zero or above.  shelter, coefficient (a difference of Cp): above zero, 1.
    Returns m/s.
    """
    return sqrt(2 * pressure / (density * coefficient)) / shelter


def wind_exceeded(annual_mean: float, percent: Number, ratios: Mapping[float, float]) -> Number:
    """Hourly wind that a share of the year's hours exceeds.

    annual_mean: m/s.  percent: of hours, a number or an array.  ratios: by percent, wind over its annual mean.  Returns m/s.
    Source: ASHRAE Fundamentals 2021, chapter 24, table 2, which gives no rule between its rows: linear here, with no wind that all
    hours exceed, and beyond the windiest row no more than it says.
    """
    import numpy as np

    percents = sorted(ratios)
    shares = [ratios[row] for row in percents]
    return annual_mean * np.interp(percent, [*percents, 100.0], [*shares, 0.0])
