"""What the draft model costs: one state without numpy, and a hundred thousand with it."""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np
import pytest

from hearthcalc.physics import draft
from hearthcalc.physics.fireplace import Constants, Face, Fireplace, Flue, House, Outdoors
from hearthcalc.physics.leakage import PowerLaw

pytestmark = pytest.mark.benchmark

Within = Callable[[str, float], bool]
ALONE = """
import statistics, sys, time
from hearthcalc.physics.draft import solve
from hearthcalc.physics.fireplace import Constants, Face, Fireplace, Flue, House, Outdoors
from hearthcalc.physics.leakage import PowerLaw
porch = Outdoors((Face("porch", True, 0.7, 0.76, 0.8),), 273.15, 0.5)
house = House((Face("study", True, 0.7, 0.76, 0.8),), 293.15, -1.0, 0.1, PowerLaw(0.07, 0.65))
flue = Flue(0.078, 1.12, 6.1, 0.003, 4.0, 273.15, 2.5, 0.0, 0.5, 0.0)
constants = Constants(287.05, 1030.0, 15.5e6, 0.6, 1.0, 6.0)
place = Fireplace(constants, house, (porch,), flue, 22e3, 101325.0, 273.15)
times = []
for _ in range(200):
    start = time.perf_counter()
    flow = solve(place)
    times.append(time.perf_counter() - start)
assert not {"numpy", "scipy"} & set(sys.modules), "a number needs neither numpy nor scipy"
print(statistics.median(times))
"""


def test_one_state_is_solved_within_two_milliseconds(within: Within) -> None:
    """In an interpreter of its own, which loads neither numpy nor scipy."""
    run = subprocess.run([sys.executable, "-c", ALONE], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    assert within("draft_state", float(run.stdout))


PORCH = Outdoors((Face("porch", True, 0.7, 0.76, 0.8),), 273.15, 0.0)


@pytest.mark.parametrize("beyond", [(), (PORCH,)], ids=["house", "house and porch"])
def test_a_hundred_thousand_states_cost_thirty_evaluations(
    beyond: tuple[Outdoors, ...], within: Within
) -> None:
    """Against one evaluation of the same equations on the same arrays, turn and turn about in one run."""
    count = 100_000
    random = np.random.default_rng(1)
    places = Fireplace(
        constants=Constants(287.05, 1030.0, 15.5e6, 0.6, 1.0, 6.0),
        house=House(
            (Face("study", True, 0.7, 0.76, 0.8),),
            293.15,
            -1.0,
            random.uniform(0, 0.1, count),
            PowerLaw(0.07, 0.65),
        ),
        beyond=beyond,
        flue=Flue(0.078, 1.12, random.uniform(4, 9, count), 0.003, 4.0, 273.15, 2.5, 0.0, 0.5, 0.0),
        power=random.uniform(10e3, 50e3, count),
        barometric_pressure=101_325.0,
        outdoor_temperature=273.15,
    )
    guess, spilling = random.uniform(0.4, 0.6, count), np.full(count, 273.15)
    once: list[float] = []
    solved: list[float] = []
    for _ in range(7):
        start = time.perf_counter()
        draft._answer(places, draft._balance(places, 0.0, guess, spilling))
        between = time.perf_counter()
        many = draft.solve_many(places)
        solved.append(time.perf_counter() - between)
        once.append(between - start)
        assert many.flow is not None
    assert within("draft_states", statistics.median(solved) / statistics.median(once))
