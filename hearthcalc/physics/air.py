"""Air: its density, its viscosity, and the pressure of the standard atmosphere."""

from __future__ import annotations

from .elementwise import Number, sqrt

GRAVITY = 9.80665
"""Standard gravity, m/s2."""

_SEA_LEVEL_PRESSURE = 101_325.0  # Pa
_SEA_LEVEL_TEMPERATURE = 288.15  # K
_LAPSE_RATE = 0.0065  # K/m
_PRESSURE_EXPONENT = 5.255_877  # gravity / (gas constant of the standard air x lapse rate)
_EARTH_RADIUS = 6_356_766.0  # m
_SUTHERLAND_FACTOR = 1.458e-6  # Pa.s/K^0.5
_SUTHERLAND_TEMPERATURE = 110.4  # K


def standard_pressure(altitude: Number) -> Number:
    """Barometric pressure at an altitude.

    altitude: m above sea level, up to 11 000.  Returns Pa.  Source: US Standard Atmosphere 1976.
    """
    geopotential = _EARTH_RADIUS * altitude / (_EARTH_RADIUS + altitude)
    return (
        _SEA_LEVEL_PRESSURE * (1 - _LAPSE_RATE * geopotential / _SEA_LEVEL_TEMPERATURE) ** _PRESSURE_EXPONENT
    )


def density(pressure: Number, temperature: Number, gas_constant: Number) -> Number:
    """Density of an ideal gas.

    pressure: Pa, absolute.  temperature: K.  gas_constant: J/(kg.K).  Returns kg/m3.
    """
    return pressure / (gas_constant * temperature)


def viscosity(temperature: Number) -> Number:
    """Dynamic viscosity of air by Sutherland's formula.

    temperature: K.  Returns Pa.s.  Source: US Standard Atmosphere 1976.
    """
    return _SUTHERLAND_FACTOR * temperature * sqrt(temperature) / (temperature + _SUTHERLAND_TEMPERATURE)
