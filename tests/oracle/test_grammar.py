"""What is read as a length or a quantity, beside a grammar that was written from what is promised, not from the reader."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from oracle import grammar

from hearthcalc import lengths, quantities
from hearthcalc.errors import EntryError

DIGITS = st.text("0123456789", min_size=1, max_size=4)
NUMBERS = st.one_of(
    DIGITS,
    st.builds("{}.{}".format, st.one_of(st.just(""), DIGITS), DIGITS),
    st.builds("{}{}{}/{}".format, DIGITS, st.sampled_from(" -"), DIGITS, DIGITS),
    st.builds("{}/{}".format, DIGITS, DIGITS),
    st.builds(
        "{}{}{}".format,
        st.one_of(st.just(""), DIGITS),
        st.sampled_from(["", " ", "-"]),
        st.sampled_from("½⅓⅔¼¾⅛⅜⅝⅞⅒↉"),
    ),
)
PARTED = st.sampled_from(["", "", " ", "-", " - ", "\u00a0", "  "])
NAMES = st.sampled_from([*grammar.LENGTHS, "", "′", "″", "’’", "IN", "Ft.", "ft2", "yd"])
ONE = st.builds("{}{}{}".format, NUMBERS, PARTED, NAMES)
TWO = st.builds("{}{}{}".format, ONE, PARTED, ONE)
ODD = st.text("0123456789/.-'\"½ x+ftinmc", max_size=12)
UNITS = [name for kinds in grammar.UNITS.values() for names in kinds for name in names.split()]
QUANTITIES = st.builds(
    "{}{}{}{}".format,
    st.sampled_from(["", "", "-", "+ ", "−"]),
    NUMBERS,
    PARTED,
    st.sampled_from([*UNITS, "sq ft", "ft²", "° F", "", "%"]),
)
PITCHES = st.builds("{}{}{}".format, NUMBERS, st.sampled_from([":", " : ", " in ", "/", " / "]), NUMBERS)


def length(text: str, unit: lengths.Unit) -> Fraction | None:
    try:
        return lengths.parse(text, unit)
    except EntryError:
        return None


def quantity(text: str, kind: str) -> Fraction | None:
    try:
        return quantities.parse(text, kind)
    except EntryError:
        return None


@given(st.one_of(ONE, TWO, ODD), st.sampled_from(["in", "mm"]))
def test_a_length_is_what_the_grammar_says(text: str, unit: lengths.Unit) -> None:
    assert length(text, unit) == grammar.length(text, unit)


@given(QUANTITIES, st.sampled_from(sorted(grammar.UNITS)))
def test_a_quantity_is_what_the_grammar_says(text: str, kind: str) -> None:
    assert quantity(text, kind) == grammar.quantity(text, kind)


@given(st.one_of(PITCHES, QUANTITIES))
def test_a_pitch_is_what_the_grammar_says(text: str) -> None:
    assert quantity(text, "pitch") == grammar.pitch(text)


@pytest.mark.parametrize("kind", sorted(grammar.UNITS))
def test_every_unit_of_the_grammar_is_read(kind: str) -> None:
    for names, factor in grammar.UNITS[kind].items():
        for name in names.split() or [""]:
            zero = quantity(f"0 {name}", kind)
            assert zero is not None, name
            assert quantity(f"3 {name}", kind) == zero + 3 * factor


def test_every_kind_is_in_the_grammar() -> None:
    assert {*grammar.UNITS, "pitch"} == set(quantities.DIMENSIONS)


@pytest.mark.parametrize("text", ["79 °W", "7 bt°u/h", "5 °ACH50", "9 in°ches2", "40 °psf"])
def test_a_degree_sign_belongs_to_a_temperature_or_an_angle(text: str) -> None:
    for kind in grammar.UNITS:
        assert quantity(text, kind) is None
