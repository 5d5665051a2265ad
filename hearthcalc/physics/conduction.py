"""Steady heat through the layers of a hearth or a floor: what its top takes up and gives off, and what goes down."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

from .elementwise import Number, everywhere, signed_power
from .radiation import STEFAN_BOLTZMANN

THIN_AIR_SPACE = 0.013
"""Thickness up to which `thin_air_resistance` holds, m."""


def thin_air_resistance(thickness: Number, mean_temperature: Number, emittance: Number) -> Number:
    """Resistance of a thin closed air space: conduction and radiation across it, no convection.

    thickness: m, above 0 and at most THIN_AIR_SPACE, else ValueError.  mean_temperature: C.  emittance: effective, 1.
    Returns m2.K/W.  Source: ASHRAE Fundamentals 2021, chapter 26, notes to Table 3.
    """
    if not everywhere((thickness > 0) & (thickness <= THIN_AIR_SPACE)):
        raise ValueError(f"an air space of {thickness} m is not within 0 to {THIN_AIR_SPACE} m")
    conduction = 21.8 * (1 + 0.00274 * mean_temperature) / (1000 * thickness)
    radiation = 0.227 * emittance * ((mean_temperature + 273) / 100) ** 3
    return 1 / (conduction + radiation)


def given_off(temperature: Number, surroundings: Number, *, convection: float, emissivity: float) -> Number:
    """Heat that a warm level surface gives to the air and the surfaces round it; negative where it takes it up.

    temperature, surroundings: K.  convection: factor on the 4/3 power of the difference, W/(m2.K^4/3).  Returns W/m2.
    Source: McAdams, warm plate facing up, turbulent; Stefan and Boltzmann.
    """
    return convection * signed_power(temperature - surroundings, 4 / 3) + emissivity * STEFAN_BOLTZMANN * (
        temperature**4 - surroundings**4
    )


def irradiance_at(
    temperature: Number,
    *,
    surroundings: Number,
    below: Number,
    resistance: Number,
    convection: float,
    emissivity: float,
) -> Number:
    """Irradiance that holds the top of a stack of layers at a temperature.

    temperature, surroundings, below: K.  resistance: from the top to what is below, its film included, m2.K/W.
    emissivity: and absorptivity, 1.  Returns W/m2.
    """
    lost = given_off(temperature, surroundings, convection=convection, emissivity=emissivity)
    return (lost + (temperature - below) / resistance) / emissivity


def surface_temperature(
    irradiance: Number,
    *,
    surroundings: float,
    below: float,
    resistance: Number,
    convection: float,
    emissivity: float,
) -> Number:
    """Temperature of the top of a stack of layers under an irradiance, at least 0; the inverse of `irradiance_at`.

    Newton's method from a surface that could only radiate, which is hotter than any answer: the balance curves upward.
    """
    hottest = max(surroundings, below)
    temperature = (irradiance / STEFAN_BOLTZMANN + hottest**4) ** 0.25
    for _ in range(60):
        excess = temperature - surroundings
        asked = irradiance_at(
            temperature,
            surroundings=surroundings,
            below=below,
            resistance=resistance,
            convection=convection,
            emissivity=emissivity,
        )
        slope = (
            4 / 3 * convection * abs(excess) ** (1 / 3)
            + 4 * emissivity * STEFAN_BOLTZMANN * temperature**3
            + 1 / resistance
        ) / emissivity
        change = (asked - irradiance) / slope
        temperature = temperature - change
        if everywhere(abs(change) < 1e-9):
            break
    return temperature


def interface_temperatures(top: Number, below: Number, resistances: Sequence[Number]) -> tuple[Number, ...]:
    """Temperatures from the top of a stack down to what is below it.

    top, below: K.  resistances: of each layer in order, with the film below as the last, m2.K/W.
    """
    through = (top - below) / sum(resistances)
    return tuple(top - through * passed for passed in accumulate(resistances, initial=0.0))
