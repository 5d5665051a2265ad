"""Readings with their tolerance, and how one stands to a limit."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hearthcalc.findings import Verdict
from hearthcalc.rules.reading import Reading, at_least, at_most, corners, reading, root

F = Fraction
NUMBERS = st.fractions(min_value=0, max_value=1000, max_denominator=64)
TAPE = F(1, 8)


def test_a_reading_spans_its_tolerance_and_never_goes_below_nothing() -> None:
    assert Reading.measured(F(20), TAPE) == Reading(F(20), F(159, 8), F(161, 8))
    assert Reading.measured(F(1, 16), TAPE) == Reading(F(1, 16), F(0), F(3, 16))
    assert Reading.measured(F(0), TAPE) == Reading.exact(0)
    assert reading(3) == Reading.exact(3)


@given(NUMBERS, NUMBERS, st.fractions(0, 1), st.fractions(0, 1))
def test_sums_and_products_hold_whatever_the_tape_was_off(a: F, b: F, s: F, t: F) -> None:
    one, two = Reading.measured(a, TAPE), Reading.measured(b, TAPE)
    x, y = one.low + s * (one.high - one.low), two.low + t * (two.high - two.low)
    for made, true in ((one + two, x + y), (one - two, x - y), (one * two, x * y)):
        assert made.low <= true <= made.high
    if two.low > 0:
        assert (one / two).low <= x / y <= (one / two).high


def test_one_exact_side_takes_no_tolerance_from_the_other() -> None:
    two, measured = Reading.exact(2), Reading.measured(F(20), TAPE)
    for whole in (measured + two, two + measured, measured - two, two - measured):
        assert whole.high - whole.low == 2 * TAPE
    assert (measured * two).high - (two * measured).low == 4 * TAPE


@given(NUMBERS, NUMBERS)
def test_corners_find_the_ends_of_what_rises_or_falls(a: F, b: F) -> None:
    one, two = Reading.measured(a, TAPE), Reading.measured(b, TAPE)
    assert corners(lambda x, y: x * y, one, two) == one * two
    assert corners(lambda x, y: x - y, one, two) == one - two


@given(NUMBERS)
def test_a_root_is_exact_where_it_can_be(a: F) -> None:
    assert root(a * a) == a
    assert float(root(a)) == pytest.approx(math.sqrt(a))


def test_no_root_below_nothing() -> None:
    with pytest.raises(ValueError, match="no root of -1"):
        root(F(-1))


FOUND = Reading.measured(F(20), TAPE)


@pytest.mark.parametrize(
    ("limit", "verdict"),
    [
        (F(319, 16), "MEETS"),
        (F(20), "MEETS"),
        (F(321, 16), "CLOSE"),
        (F(161, 8), "CLOSE"),
        (F(323, 16), "SHORT"),
    ],
)
def test_at_least(limit: F, verdict: str) -> None:
    outcome = at_least(FOUND, Reading.exact(limit))
    assert outcome.verdict == verdict
    assert outcome.margin == 20 - limit
    assert outcome.slack == TAPE
    assert not outcome.decides


@pytest.mark.parametrize(
    ("limit", "verdict"),
    [
        (F(321, 16), "MEETS"),
        (F(20), "MEETS"),
        (F(319, 16), "CLOSE"),
        (F(159, 8), "CLOSE"),
        (F(317, 16), "SHORT"),
    ],
)
def test_at_most(limit: F, verdict: str) -> None:
    outcome = at_most(FOUND, Reading.exact(limit))
    assert (outcome.verdict, outcome.margin) == (verdict, limit - 20)


@pytest.mark.parametrize(
    ("applies", "other", "verdict", "decides"),
    [
        (16, 20, "MEETS", False),
        (16, 21, "CLOSE", True),
        (21, 16, "CLOSE", True),
        (21, 22, "SHORT", False),
    ],
)
def test_where_another_limit_may_apply_the_stricter_has_to_be_met(
    applies: int, other: int, verdict: str, decides: bool
) -> None:
    outcome = at_least(FOUND, Reading.exact(applies), [Reading.exact(other)])
    assert (outcome.verdict, outcome.decides) == (verdict, decides)


@given(NUMBERS, NUMBERS)
def test_an_intention_is_never_close_to_one_limit(a: F, b: F) -> None:
    exact = at_least(Reading.exact(a), Reading.exact(b))
    assert exact.verdict is (Verdict.MEETS if a >= b else Verdict.SHORT)
    assert exact.slack == 0


@given(NUMBERS, NUMBERS)
def test_most_and_least_are_one_comparison_seen_from_two_sides(a: F, b: F) -> None:
    one, two = Reading.measured(a, TAPE), Reading.measured(b, TAPE)
    assert at_least(one, two) == at_most(two, one)
