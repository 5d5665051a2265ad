"""The equations at the places where a sign, a bound or a digit shows: by closed forms, by hand, or by a general library, named beside each.

What they say of whole fireplaces, hearths and lintels is held beside those.
"""

import math
from typing import Any

import pytest
from scipy import constants, integrate, optimize

from hearthcalc.physics import conduction, search
from hearthcalc.physics.radiation import Panel

SIGMA = constants.Stefan_Boltzmann


# Heat through layers


@pytest.mark.parametrize("mean", [0.0, 32.2, 100.0])
@pytest.mark.parametrize("millimeters", [1.0, 10.0, 13.0])
def test_a_thin_air_space_conducts_and_radiates(millimeters: float, mean: float) -> None:
    """ASHRAE Fundamentals 2021, chapter 26, notes to Table 3: 21.8 (1 + 0.00274 t) / mm, 21.8 W/(m2.K) at 1 mm and 0 C and 27.773 at 100 C.

    Two black faces that are nearly as warm exchange 4 sigma T3 besides (Stefan and Boltzmann, the constant by scipy).
    """
    still, black = (
        1 / conduction.thin_air_resistance(millimeters / 1000, mean, emittance) for emittance in (0.0, 1.0)
    )
    at_zero, at_hundred = 21.8 / millimeters, 27.7732 / millimeters
    assert still == pytest.approx(at_zero + (at_hundred - at_zero) * mean / 100, rel=1e-6)
    assert black - still == pytest.approx(4 * SIGMA * (mean + 273.15) ** 3, rel=3e-3)


@pytest.mark.parametrize("below", [273.15, 293.15, 400.0])
@pytest.mark.parametrize("resistance", [0.05, 0.4, 3.0])
@pytest.mark.parametrize("falling", [50.0, 900.0, 12e3])
def test_the_top_is_found_in_the_steps_of_newtons_method(
    falling: float, resistance: float, below: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As many as scipy's takes, with the slope by hand, from a top that could only radiate, above the warmer of its two surroundings."""
    steps = []
    equation = conduction.irradiance_at

    def counted(temperature: float, **more: Any) -> float:
        steps.append(temperature)
        return float(equation(temperature, **more))

    monkeypatch.setattr(conduction, "irradiance_at", counted)
    at = {
        "surroundings": 293.15,
        "below": below,
        "resistance": resistance,
        "convection": 1.6,
        "emissivity": 0.9,
    }
    found = conduction.surface_temperature(falling, **at)

    def excess(top: float) -> float:
        warmer = top - 293.15
        lost = 1.6 * math.copysign(abs(warmer) ** (4 / 3), warmer) + 0.9 * SIGMA * (top**4 - 293.15**4)
        return (lost + (top - below) / resistance) / 0.9 - falling

    def slope(top: float) -> float:
        return (1.6 * 4 / 3 * abs(top - 293.15) ** (1 / 3) + 3.6 * SIGMA * top**3 + 1 / resistance) / 0.9

    start = (falling / SIGMA + max(below, 293.15) ** 4) ** 0.25
    root, told = optimize.newton(excess, start, slope, tol=1e-9, rtol=0, full_output=True)
    assert found == pytest.approx(root, abs=1e-8)
    assert len(steps) == told.iterations
    assert steps[0] == pytest.approx(start, rel=1e-9)


# Radiation


@pytest.mark.parametrize("foot", [0.1, 0.6])
@pytest.mark.parametrize("beside", [None, -0.2, 0.3])
def test_a_raised_opening_is_seen_over_its_own_height(foot: float, beside: float | None) -> None:
    """By scipy's dblquad over the rectangle: cos cos / (pi r2)."""
    width, height, out = 0.9, 0.7, 0.4
    left = -width / 2 if beside is None else -width - beside

    def part(up: float, across: float) -> float:
        return up * out / (math.pi * (across**2 + up**2 + out**2) ** 2)

    expected = integrate.dblquad(part, left, left + width, foot, foot + height, epsabs=1e-10)[0]
    assert Panel(width, height, foot).on_floor(out, beside) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize("foot", [0.0, 0.4])
def test_a_fire_that_just_brings_one_place_to_the_limit_reaches_nowhere(foot: float) -> None:
    """The most that any place sees (scipy's bounded search) is not passed anywhere, so it has no reach; a little less has one."""
    panel = Panel(0.9, 0.7, foot)
    most = panel.on_floor(search.peak(panel.on_floor, 1e-4, 10.0, within=1e-6))
    found = optimize.minimize_scalar(
        lambda out: -panel.on_floor(out), bounds=(1e-4, 10.0), options={"xatol": 1e-9}
    )
    assert most == pytest.approx(-found.fun, abs=1e-6)
    assert panel.reach_in_front(most, 10.0) == 0
    assert panel.reach_in_front(most * 0.999, 10.0) > 0
