"""A figure of many rows: each of them is what the Fraction of that row alone would be."""

import operator
from collections.abc import Callable
from fractions import Fraction
from math import ceil, floor

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hearthcalc import many
from hearthcalc.many import Many, OneByOne, by_float, each_row, ways
from hearthcalc.rules.reading import root


def between(low: int, high: int, finest: int) -> st.SearchStrategy[Fraction]:
    """All fractions from low to high in parts no finer than one of so many; the library's way to them takes three times as long."""
    sizes = st.integers(low * finest, high * finest)
    return st.builds(lambda size, part: Fraction(size * part // finest, part), sizes, st.integers(1, finest))


FIGURES = between(-300, 300, 640)
ROWS = st.lists(FIGURES, min_size=1, max_size=12)
SUM = {"+": operator.add, "-": operator.sub, "x": operator.mul}


def row_by_row(count: int, work: Callable[[np.ndarray], object]) -> list[object]:
    """What comes of a piece of work, for each row."""
    made: list[object] = [OneByOne] * count
    for outcome in ways(np.arange(count), work):
        for row, place in zip(outcome.rows.tolist(), np.flatnonzero(outcome.active).tolist(), strict=True):
            result = outcome.made
            made[row] = result.fractions()[place] if isinstance(result, Many) else result
    return made


def some(figures: list[Fraction], rows: np.ndarray) -> Fraction:
    """The figures of some rows, as one."""
    return many.of([figures[row] for row in rows.tolist()])


@pytest.mark.parametrize("sign", SUM)
@settings(max_examples=40)
@given(
    pairs=st.lists(st.tuples(FIGURES, FIGURES), min_size=1, max_size=12),
    times=between(-9, 9, 99),
)
def test_sums_and_products_are_those_of_each_row(
    sign: str, pairs: list[tuple[Fraction, Fraction]], times: Fraction
) -> None:
    """Source: the arithmetic of fractions.Fraction, of the standard library."""
    one, other = ([pair[place] for pair in pairs] for place in (0, 1))
    work = SUM[sign]

    def both(rows: np.ndarray) -> Fraction:
        result: Fraction = work(work(some(one, rows), some(other, rows)), times) * some(one, rows)
        return result

    assert row_by_row(len(pairs), both) == [work(work(a, b), times) * a for a, b in pairs]
    assert row_by_row(len(pairs), lambda rows: work(times, some(one, rows))) == [work(times, a) for a in one]


@settings(max_examples=40)
@given(
    pairs=st.lists(st.tuples(FIGURES, FIGURES.filter(bool)), min_size=1, max_size=12),
    times=between(1, 9, 99),
)
def test_quotients_and_whole_parts_are_those_of_each_row(
    pairs: list[tuple[Fraction, Fraction]], times: Fraction
) -> None:
    """Source: the arithmetic of fractions.Fraction, of the standard library."""
    one, other = ([pair[place] for pair in pairs] for place in (0, 1))

    def share(rows: np.ndarray) -> Fraction:
        return some(one, rows) / some(other, rows) + times

    assert row_by_row(len(pairs), share) == [a / b + times for a, b in pairs]
    assert row_by_row(len(pairs), lambda rows: times / some(other, rows)) == [times / b for b in other]
    assert row_by_row(len(pairs), lambda rows: some(one, rows) // some(other, rows)) == [
        a // b for a, b in pairs
    ]
    assert row_by_row(len(pairs), lambda rows: some(one, rows) % times) == [a % times for a in one]
    assert row_by_row(len(pairs), lambda rows: ceil(some(one, rows) / times)) == [
        ceil(a / times) for a in one
    ]
    assert row_by_row(len(pairs), lambda rows: floor(-some(one, rows))) == [floor(-a) for a in one]
    assert row_by_row(len(pairs), lambda rows: abs(some(one, rows)) ** 3) == [abs(a) ** 3 for a in one]


@settings(max_examples=40)
@given(pairs=st.lists(st.tuples(FIGURES, FIGURES), min_size=1, max_size=12))
def test_rows_part_where_they_answer_otherwise(pairs: list[tuple[Fraction, Fraction]]) -> None:
    one, other = ([pair[place] for pair in pairs] for place in (0, 1))

    def asked(a: Fraction, b: Fraction) -> str:
        order = "less" if a < b else "same" if a == b else "more"
        return f"{order} {a <= 2} {b >= a} {bool(a)} {max(a, b) is a} {a != 3} {b < 4}"

    assert row_by_row(len(pairs), lambda rows: asked(some(one, rows), some(other, rows))) == [
        asked(a, b) for a, b in pairs
    ]


@settings(max_examples=40)
@given(rows=st.lists(between(0, 3000, 64), min_size=1, max_size=12))
def test_roots_are_those_of_each_row(rows: list[Fraction]) -> None:
    rows = [*rows, Fraction(9, 16), Fraction(2), Fraction(0)]
    assert row_by_row(len(rows), lambda mine: root(some(rows, mine))) == [root(one) for one in rows]
    large = [*rows, Fraction(10**9) ** 2 + 1]
    assert row_by_row(len(large), lambda mine: root(some(large, mine))) == [root(one) for one in large]


def test_no_row_has_the_root_of_less_than_nothing() -> None:
    with pytest.raises(ValueError, match="below 0"):
        row_by_row(2, lambda rows: root(some([Fraction(4), Fraction(-1)], rows)))


def test_a_function_of_floats_or_of_rows_asks_none_that_left() -> None:
    """A row that left may hold what the function has no answer to."""
    rows = [Fraction(4), Fraction(0), Fraction(1, 3), Fraction(-2)]

    @by_float
    def over(figure: float) -> float:
        return 1 / figure

    @each_row
    def under(figure: Fraction, other: Fraction) -> Fraction:
        return other / figure

    def work(mine: np.ndarray) -> Fraction:
        figures = some(rows, mine)
        return over(figures) + under(figures, Fraction(5)) if figures else Fraction(-1)

    assert row_by_row(4, work) == [Fraction(1 / float(a)) + 5 / a if a else Fraction(-1) for a in rows]


@settings(max_examples=40)
@given(rows=st.lists(st.fractions(max_denominator=10**6), min_size=1, max_size=8))
def test_each_float_is_the_nearest(rows: list[Fraction]) -> None:
    assert many.of(rows).floats().tolist() == [float(one) for one in rows]


def test_numbers_too_large_for_an_array_stay_exact() -> None:
    rows = [Fraction(3**30, 7), Fraction(-5, 11)]
    assert row_by_row(2, lambda mine: some(rows, mine) ** 3 + Fraction(1, 13)) == [
        one**3 + Fraction(1, 13) for one in rows
    ]


def test_what_has_an_answer_for_one_row_only_is_left_to_it() -> None:
    """Rows whose run wants a float or a key are told as such; others that parted before are not."""
    rows = [Fraction(1), Fraction(5), Fraction(9)]
    asked = row_by_row(3, lambda mine: "few" if (it := some(rows, mine)) < 2 else float(it))
    assert asked == ["few", None, None]
    assert row_by_row(3, lambda mine: {some(rows, mine): 1}) == [None] * 3
    assert row_by_row(3, lambda mine: 1 / (some(rows, mine) - 5)) == [None] * 3
    with pytest.raises(OneByOne, match=r"^$"):
        bool(many.of(rows))
