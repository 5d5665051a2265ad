"""The equations at the places where a sign, a bound or a digit shows: by closed forms, by hand, or by a general library, named beside each.

What they say of whole fireplaces, hearths and lintels is held beside those.
"""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import scipy

from hearthcalc.physics import conduction, leakage, openings, search
from hearthcalc.physics.elementwise import choose, larger, signed_power, signed_root, smaller, with_sign
from hearthcalc.physics.radiation import Panel, brightest, level_view_factor

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
    assert black - still == pytest.approx(
        4 * scipy.constants.Stefan_Boltzmann * (mean + 273.15) ** 3, rel=3e-3
    )


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
        lost = 1.6 * math.copysign(
            abs(warmer) ** (4 / 3), warmer
        ) + 0.9 * scipy.constants.Stefan_Boltzmann * (top**4 - 293.15**4)
        return (lost + (top - below) / resistance) / 0.9 - falling

    def slope(top: float) -> float:
        return (
            1.6 * 4 / 3 * abs(top - 293.15) ** (1 / 3)
            + 3.6 * scipy.constants.Stefan_Boltzmann * top**3
            + 1 / resistance
        ) / 0.9

    start = (falling / scipy.constants.Stefan_Boltzmann + max(below, 293.15) ** 4) ** 0.25
    root, told = scipy.optimize.newton(excess, start, slope, tol=1e-9, rtol=0, full_output=True)
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

    expected = scipy.integrate.dblquad(part, left, left + width, foot, foot + height, epsabs=1e-10)[0]
    assert Panel(width, height, foot).on_floor(out, beside) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize(
    ("left", "right", "low", "high"),
    [(-0.45, 0.45, 0.3, 1.1), (-1.5, -0.6, 0.0, 0.8), (-0.2, 1.4, 0.05, 0.4), (-3.0, -2.0, 0.5, 2.0)],
)
def test_the_brightest_place_is_where_the_view_factor_stops_rising(
    left: float, right: float, low: float, high: float
) -> None:
    """Where scipy's brentq finds its derivative to be nothing, by differences of the closed form."""
    panel = {"left": left, "right": right, "low": low, "high": high}

    def slope(out: float) -> float:
        view = np.vectorize(lambda x: level_view_factor(**panel, distance=float(x)))
        return float(scipy.differentiate.derivative(view, out, initial_step=out / 10).df)

    expected = scipy.optimize.brentq(slope, 0.01, 10.0, xtol=1e-10)
    assert brightest(**panel, nearest=1e-4, farthest=10.0) == pytest.approx(expected, abs=3e-6)
    assert brightest(**panel, nearest=1e-4, farthest=expected / 2) == expected / 2
    assert brightest(**panel, nearest=expected * 2, farthest=10.0) == expected * 2


@pytest.mark.parametrize("foot", [0.0, 0.4])
def test_a_fire_that_just_brings_one_place_to_the_limit_reaches_nowhere(foot: float) -> None:
    """The most that any place sees (scipy's bounded search) is not passed anywhere, so it has no reach; a little less has one."""
    panel = Panel(0.9, 0.7, foot)
    at = brightest(left=-0.45, right=0.45, low=foot, high=foot + 0.7, nearest=1e-4, farthest=10.0)
    found = scipy.optimize.minimize_scalar(
        lambda out: -panel.on_floor(out), bounds=(1e-4, 10.0), options={"xatol": 1e-9}
    )
    assert panel.on_floor(at) == pytest.approx(-found.fun, abs=1e-6)
    assert panel.reach_in_front(panel.on_floor(at), 10.0) == 0
    assert panel.reach_in_front(panel.on_floor(at) * 0.999, 10.0) > 0


@pytest.mark.parametrize("foot", [0.0, 0.4])
@pytest.mark.parametrize("view", [0.02, 0.1])
def test_a_reach_ends_where_scipy_finds_the_limit(view: float, foot: float) -> None:
    """By brentq beyond the brightest place, in front of the opening and past its side; no limit at all is never come down to."""
    panel = Panel(0.9, 0.7, foot)

    def most(beside: float) -> float:
        seen = scipy.optimize.minimize_scalar(
            lambda out: -panel.on_floor(out, beside), bounds=(1e-4, 10.0), options={"xatol": 1e-7}
        )
        return float(-seen.fun)

    front = scipy.optimize.brentq(lambda out: panel.on_floor(out) - view, 0.4, 10.0)
    assert panel.reach_in_front(view, 10.0) == pytest.approx(front, abs=2e-6)
    side = scipy.optimize.brentq(lambda beside: most(beside) - view, 0.0, 10.0) if most(0.0) > view else 0.0
    assert panel.reach_beside(view, 10.0) == pytest.approx(side, abs=1e-5)
    assert panel.reach_in_front(0.0, 10.0) == panel.reach_beside(0.0, 10.0) == 10


# Searches

CURVES: dict[str, tuple[Callable[[float], float], float]] = {
    "steep": (lambda x: 3 - math.exp(x), -1.0),
    "cubic": (lambda x: 2 - x**3, -1.0),
    "bent": (lambda x: math.cos(x) - x, -2.0),
    "flat at zero": (lambda x: math.copysign(abs(1.2 - x) ** 3, 1.2 - x) * (1 + 0.5 * math.sin(x)), -1.0),
    "upright at zero": (lambda x: math.copysign(abs(0.3 - x) ** 0.5, 0.3 - x) * (2 + math.sin(x)), -1.0),
}


def as_far_below(curve: Callable[[float], float], low: float) -> float:
    """Where a falling curve is as far below zero as it is above it at the low end: there the chord crosses zero in the middle."""
    return float(scipy.optimize.brentq(lambda high: curve(high) + curve(low), low, 30.0, xtol=1e-15))


def noting(places: list[float], curve: Callable[[float], float]) -> Callable[[Any], Any]:
    """A curve, of numbers or of arrays of one, that notes where it is looked at."""

    def at(x: Any) -> Any:
        places.append(float(np.ravel(x)[0]))
        value = curve(places[-1])
        return value if np.ndim(x) == 0 else np.full(np.shape(x), value)

    return at


def same_way(ours: list[float], theirs: list[float]) -> None:
    """Two searches look at the same places in the same order, and the one is no longer than the other by more than a look or two."""
    assert ours == pytest.approx(theirs[: len(ours)] + ours[len(theirs) :], abs=1e-9)
    assert len(ours) <= len(theirs) + 2


@pytest.mark.parametrize("name", CURVES)
def test_crossings_are_searched_as_scipy_searches_them(name: str) -> None:
    """Chandrupatla's method, place by place, of one number and of arrays."""
    from scipy.optimize import elementwise

    curve, low = CURVES[name]
    high = as_far_below(curve, low)
    one: list[float] = []
    many: list[float] = []
    theirs: list[float] = []
    ends = np.array([low]), np.array([high])
    expected = elementwise.find_root(noting(theirs, curve), ends).x[0]
    near = 1e-12 if name == "flat at zero" else 1e-14
    assert search.root(noting(one, curve), low, high) == pytest.approx(expected, abs=near)
    assert search.roots(noting(many, curve), *ends, [])[0] == pytest.approx(expected, abs=1e-14)
    same_way(one, theirs)
    same_way(many, theirs)


def test_one_crossing_is_first_looked_for_on_the_chord() -> None:
    """By hand: from 7 at 0 to -21 at 4 a straight line is at zero at 1, and a number that is there is the answer."""
    looks: list[float] = []
    found = search.root(noting(looks, lambda x: 7 - 7 * x), 0.0, 4.0)
    assert (found, looks) == (1.0, [0.0, 4.0, 1.0])
    looks.clear()
    bent = noting(looks, lambda x: 7 - 7 * x if x <= 1.5 else 10.0 - 15.5 * (x - 0.5))
    assert search.root(bent, 0.0, 4.0, at_ends=(7.0, -21.0)) == 1.0
    assert looks == [1.0]


@pytest.mark.parametrize(
    ("curve", "end"),
    [
        (lambda x: -1.0 - x, 0.0),
        (lambda x: 0.0 - x, 0.0),
        (lambda x: 9.0 - x, 4.0),
        (lambda x: 4.0 - x, 4.0),
        (lambda x: 0.5 + 0 * x, 4.0),
        (lambda x: 0 * x - 0.5, 0.0),
        (lambda x: x - 2.0, 0.0),
    ],
    ids=["below zero", "zero at the low end", "above zero", "zero at the high end", "just above", "just below", "rising"],
)  # fmt: skip
def test_where_nothing_crosses_between_the_ends_an_end_is_told(
    curve: Callable[[float], float], end: float
) -> None:
    """The low end where the curve is not above zero there, else the high one; both searches say the same."""
    assert search.root(curve, 0.0, 4.0) == end
    assert search.roots(curve, np.array([0.0, 0.0]), np.array([4.0, 4.0]), []).tolist() == [end, end]


@pytest.mark.parametrize("within", [1e-2, 1e-4, 1e-6])
def test_a_rough_answer_is_near_enough_and_takes_fewer_looks(within: float) -> None:
    """x3 = 2, exact; a hundred times as near takes a few looks more."""
    looks: list[float] = []
    assert search.root(noting(looks, lambda x: 2 - x**3), 0.0, 5.0, within=within) == pytest.approx(
        2 ** (1 / 3), abs=within
    )
    assert len(looks) <= 6 - 2 * math.log10(within)


@pytest.mark.parametrize(
    ("curve", "slope", "low", "high"),
    [
        (lambda x: 2 - x**3, lambda x: -3 * x**2, 0.5, 2.5),
        (lambda x: math.exp(-x) - 0.2, lambda x: -math.exp(-x), 0.0, 3.0),
        (lambda x: 5 - x - x**5, lambda x: -1 - 5 * x**4, 0.0, 2.0),
    ],
    ids=["cubic", "steep", "fifth power"],
)  # fmt: skip
def test_newtons_steps_are_scipys(
    curve: Callable[[float], float], slope: Callable[[float], float], low: float, high: float
) -> None:
    """From the middle, where no step leaves the range; the answer itself is that of scipy's brentq."""
    ours: list[float] = []
    theirs: list[float] = []
    at = noting(ours, curve)
    found = search.falling_root(lambda x: (at(x), slope(x)), low, high, (low + high) / 2)
    scipy.optimize.newton(noting(theirs, curve), (low + high) / 2, slope, tol=1e-15, rtol=1e-15)
    assert found == pytest.approx(scipy.optimize.brentq(curve, low, high, xtol=1e-15), abs=2e-15)
    same_way(ours, theirs)


def test_a_step_that_leaves_the_range_halves_it() -> None:
    """By hand: 1 left of 0.7 and -1 right of it, with next to no slope to go by, so each look is the middle of what is left of 0 to 4."""
    looks: list[float] = []
    at = noting(looks, lambda x: 1.0 if x < 0.7 else -1.0)
    assert search.falling_root(lambda x: (at(x), -1e-30), 0.0, 4.0, 2.0) == pytest.approx(0.7, abs=1e-15)
    assert looks[:6] == [2.0, 1.0, 0.5, 0.75, 0.625, 0.6875]
    assert len(looks) < 60


def test_each_of_many_crossings_is_its_own() -> None:
    """x2 = a and b x = c side by side, by numpy; more of them than are searched at once, the last piece a short one."""
    random = np.random.default_rng(11)
    many = 60_001
    square, factor = random.uniform(0.01, 90, many), random.uniform(0.5, 2, many)
    found = search.roots(
        lambda x, a, b: b * (a - x * np.abs(x)), np.zeros(many), np.full(many, 10.0), [square, factor]
    )
    assert np.abs(found / np.sqrt(square) - 1).max() < 1e-14


# Leaks and openings


@pytest.mark.parametrize("drawn", [-0.02, 0.3])
@pytest.mark.parametrize("exponent", [0.5, 0.65, 1.0])
def test_the_search_for_a_houses_suction_is_told_the_slope_of_what_is_lacking(
    exponent: float, drawn: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The slope that scipy finds by differences, away from the kinks; what is lacking is the flow less leaks and inlet, by hand."""
    law, rest, inlet = leakage.PowerLaw(0.05, exponent), -2.5, 0.08

    def checked(
        lacking: Callable[[float], tuple[float, float]], low: float, high: float, start: float
    ) -> float:
        assert low <= start <= high
        for leak in (-0.21, -0.05, 0.03, 0.11, 0.4):
            by_differences = scipy.differentiate.derivative(
                np.vectorize(lambda x: lacking(float(x))[0]), leak, initial_step=0.002
            )
            assert lacking(leak)[1] == pytest.approx(float(by_differences.df), rel=1e-6)
            drop = math.copysign((abs(leak) / 0.05) ** (1 / exponent), leak) - rest
            assert lacking(leak)[0] == pytest.approx(
                drawn - leak - inlet * math.copysign(math.sqrt(abs(drop)), drop)
            )
        return search.falling_root(lacking, low, high, start)  # type: ignore[no-any-return]

    monkeypatch.setattr(leakage, "falling_root", checked)
    root = leakage.root_suction(law, rest=rest, inlet=inlet, flow=drawn)
    pressure = -math.copysign(root**2, root)
    leaks = 0.05 * math.copysign(abs(rest - pressure) ** exponent, rest - pressure)
    assert leaks + inlet * root == pytest.approx(drawn)


@pytest.mark.parametrize("exhaust", [-0.3, 0.0, 0.2])
@pytest.mark.parametrize("drop", [-4.0, -1.0, 0.0, 0.25, 3.0])
@pytest.mark.parametrize(("gaps", "opening"), [(0.2, 0.6), (0.6, 0.2), (0.4, 0.4), (0.0, 0.5), (0.5, 0.0)])
def test_the_air_of_a_room_with_a_fan_balances(
    gaps: float, opening: float, drop: float, exhaust: float
) -> None:
    """What scipy's brentq finds from air in is air out, the drop over the gaps being what the opening leaves of the whole."""

    def lacking(y: float) -> float:
        over_gaps = drop - y * abs(y)
        return gaps * math.copysign(math.sqrt(abs(over_gaps)), over_gaps) - exhaust - opening * y

    found = openings.root_drop_beyond_gaps(gaps, opening, exhaust, drop)
    in_arrays = openings.root_drop_beyond_gaps(
        np.array([gaps, 0.3]), np.array([opening, 0.3]), np.array([exhaust, 0.0]), np.array([drop, 0.5])
    )
    assert in_arrays.tolist() == pytest.approx([found, 0.5])
    assert found == pytest.approx(scipy.optimize.brentq(lacking, -20.0, 20.0, xtol=1e-13), abs=1e-9)


def test_a_room_without_gaps_or_openings_passes_nothing() -> None:
    """Whatever its fan and whatever the drop; there is nothing to divide by."""
    for exhaust, drop in ((0.0, 0.0), (0.1, 2.0), (-0.1, -2.0)):
        assert openings.root_drop_beyond_gaps(0.0, 0.0, exhaust, drop) == 0


def test_a_house_without_an_inlet_wants_no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand: ((flow / c)^(1/n) - rest)^0.5 of suction; beside other inlets, in an array, the search finds the same."""
    law = leakage.PowerLaw(0.05, 0.65)
    by_hand = math.sqrt((0.2 / 0.05) ** (1 / 0.65) + 3.0)
    both = leakage.root_suction(law, rest=-3.0, inlet=np.array([0.0, 0.0, 1e-9]), flow=0.2)
    assert both.tolist() == pytest.approx([by_hand] * 3)
    monkeypatch.delattr(leakage, "falling_root")
    assert leakage.root_suction(law, rest=-3.0, inlet=0.0, flow=0.2) == pytest.approx(by_hand)


def test_a_house_at_rest_that_nothing_is_drawn_from_has_no_suction() -> None:
    """With openings or without, and no step of the search divides by nothing."""
    law = leakage.PowerLaw(0.05, 0.65)
    with np.errstate(all="raise"):
        found = leakage.root_suction(law, rest=0.0, inlet=np.array([0.0, 0.1]), flow=0.0)
    assert found.tolist() == [0, 0]


def test_one_of_two_numbers_is_chosen_as_it_is() -> None:
    """By a truth of Python's or of numpy's a number stays a number; by an array of them it becomes one."""
    for truth in (True, np.True_):
        assert type(choose(truth, 1.0, 2.0)) is float
    assert choose(np.False_, 1.0, 2.0) == 2.0
    assert choose(np.array([True, False]), 1.0, 2.0).tolist() == [1.0, 2.0]


PAIRS = [
    (1.0, 2.0),
    (2.0, 1.0),
    (0.0, -0.0),
    (-0.0, 0.0),
    (3, 2.5),
    (2.5, 3),
    (np.float64(1.5), 1.0),
    (-7, -7.0),
]


@pytest.mark.parametrize(("a", "b"), PAIRS)
def test_the_larger_and_the_smaller_are_pythons_of_numbers_and_numpys_of_arrays(a: float, b: float) -> None:
    """Of two that are equal the first, down to the sign of zero."""
    for ours, theirs, many in ((larger, max, np.maximum), (smaller, min, np.minimum)):
        assert math.copysign(1, ours(a, b)) * ours(a, b) == math.copysign(1, theirs(a, b)) * theirs(a, b)
        assert math.copysign(1, ours(a, b)) == math.copysign(1, theirs(a, b))
        one, other = np.array([a, b, 5.0]), np.array([b, a, -5.0])
        for x, y in ((one, other), (one, b), (a, other)):
            np.testing.assert_array_equal(ours(x, y), many(x, y))


@pytest.mark.parametrize("x", [4.0, -4.0, 0.0, -0.0, 9, -9, np.float64(2.25)])
def test_a_sign_goes_along_with_a_root_and_a_power(x: float) -> None:
    """numpy: sign times the root, or the power, of the size."""
    many = np.array([x, 1.0, -16.0])
    for ours, theirs in (
        (signed_root, lambda x: np.copysign(np.sqrt(np.abs(x)), x)),
        (lambda x: signed_power(x, 0.65), lambda x: np.copysign(np.abs(x) ** 0.65, x)),
        (lambda x: signed_power(x, 0.65 + 0 * x), lambda x: np.copysign(np.abs(x) ** 0.65, x)),
        (lambda x: with_sign(3.0, x), lambda x: np.copysign(3.0, x)),
    ):
        assert ours(x) == pytest.approx(theirs(x), rel=1e-14)
        assert math.copysign(1, ours(x)) == math.copysign(1, x)
        np.testing.assert_allclose(ours(many), theirs(many), rtol=1e-14)
