"""Lengths as people type them: what is read, what is refused and why; what is printed is read again."""

import subprocess
import sys
import time
import unicodedata
from fractions import Fraction
from typing import Literal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from hearthcalc import lengths
from hearthcalc.errors import EntryError

F = Fraction

READ = [
    # inches
    ("7 1/2", F(15, 2)),
    ("7-1/2", F(15, 2)),
    ("7½", F(15, 2)),
    ("7 ½", F(15, 2)),
    ("7-½", F(15, 2)),
    ("½", F(1, 2)),
    ("1/2", F(1, 2)),
    ("7.5", F(15, 2)),
    (".5", F(1, 2)),
    ("0", F(0)),
    ("0/8", F(0)),
    ("  36  ", F(36)),
    ("36\u00a0in", F(36)),
    ("7\u20091/2", F(15, 2)),
    ("7 1/2 in", F(15, 2)),
    ("7 1/2in.", F(15, 2)),
    ("7 1/2 IN", F(15, 2)),
    ("7 1/2 inches", F(15, 2)),
    ("1 inch", F(1)),
    ('7 1/2"', F(15, 2)),
    ("7 1/2''", F(15, 2)),
    ("7 1/2″", F(15, 2)),
    ("7 1/2′′", F(15, 2)),
    ("7 1/2”", F(15, 2)),
    ("7 1/2“", F(15, 2)),
    ("7 1/2’’", F(15, 2)),
    ("7 1⁄2", F(15, 2)),
    ("7‐1/2", F(15, 2)),
    ("7–1/2", F(15, 2)),
    ("1/3", F(1, 3)),
    ("11 63/64 in", F(767, 64)),
    # feet, and feet with inches
    ("2'", F(24)),
    ("2 ft", F(24)),
    ("2 ft.", F(24)),
    ("1 foot", F(12)),
    ("20 feet", F(240)),
    ("2.5 ft", F(30)),
    ("2 1/2 ft", F(30)),
    ("2½'", F(30)),
    ("2'6", F(30)),
    ("2'6\"", F(30)),
    ("2' 6\"", F(30)),
    ("2'-6\"", F(30)),
    ("2' - 6\"", F(30)),
    ("2'06\"", F(30)),
    ("2'6''", F(30)),
    ("2′6″", F(30)),
    ("2′ 6′′", F(30)),
    ("2’6”", F(30)),
    ("2‘6“", F(30)),
    ("2'-6 1/2\"", F(61, 2)),
    ("2'6½\"", F(61, 2)),
    ("2'-6-1/2\"", F(61, 2)),
    ("2 ft 6 1/2 in", F(61, 2)),
    ("2ft6in", F(30)),
    ("2 ft. 6 in.", F(30)),
    ("2 feet 6 inches", F(30)),
    ("2 ft 6", F(30)),
    ("2' 6.5\"", F(61, 2)),
    ("2' 1/2\"", F(49, 2)),
    ("2'.5", F(49, 2)),
    ("2' 100/128", 24 + F(25, 32)),
    ("2' 11 63/64\"", F(24) + F(767, 64)),
    ("0' 6\"", F(6)),
    # metric
    ("190.5 mm", F(15, 2)),
    ("190.5mm", F(15, 2)),
    ("190.5 MM", F(15, 2)),
    ("19.05 cm", F(15, 2)),
    ("0.1905 m", F(15, 2)),
    (".1905 m", F(15, 2)),
    ("254 millimeters", F(10)),
    ("254 millimeters", F(10)),
    ("25.4 centimetres", F(10)),
    ("25.4 centimeter", F(10)),
    ("0.254 metre", F(10)),
    ("0.254 meters", F(10)),
    ("1 mm", F(5, 127)),
]


@pytest.mark.parametrize(("text", "inches"), READ)
def test_reads(text: str, inches: Fraction) -> None:
    assert lengths.parse(text, "in") == inches


@pytest.mark.parametrize(
    ("text", "inches"),
    [("36", F(36) / F("25.4")), ("36.5", F("36.5") / F("25.4")), ("7 1/2 in", F(15, 2)), ("2'6", F(30))],
)
def test_a_bare_number_takes_the_unit_given(text: str, inches: Fraction) -> None:
    assert lengths.parse(text, "mm") == inches


def test_every_vulgar_fraction_of_unicode_that_names_a_value() -> None:
    """Unicode character data: the characters whose decomposition is digit, fraction slash, digit."""
    signs = {}
    for code in range(sys.maxunicode + 1):
        kind, _, parts = unicodedata.decomposition(chr(code)).partition(" ")
        numbers = "".join(chr(int(part, 16)) for part in parts.split()) if kind == "<fraction>" else ""
        if numbers and not numbers.endswith("⁄"):
            signs[chr(code)] = F(numbers.replace("⁄", "/"))
    assert len(signs) >= 19
    for sign, value in signs.items():
        assert lengths.parse(sign, "in") == value, sign
        assert lengths.parse(f"7{sign}", "in") == 7 + value, sign
        assert value == F(unicodedata.numeric(sign)).limit_denominator(10), sign


def test_definitions() -> None:
    """NIST SP 811 (2008), B.8: inch 2.54 E-02 m, foot 3.048 E-01 m, in bold, that is exact."""
    assert lengths.show(lengths.parse("1 in", "in"), "mm") == "25.4 mm"
    assert lengths.show(lengths.parse("1 ft", "in"), "mm") == "304.8 mm"
    assert lengths.parse("406.4 mm", "in") == 16


REFUSED = [
    ("", "The entry is empty. Type a measurement."),
    ("   ", "The entry is empty. Type a measurement."),
    ("1" * 65, "The entry has 65 characters, and no more than 64 are read. Type the measurement alone."),
    (" " * 65, "The entry has 65 characters"),
    ("7,5", "A comma is not read: .*Type a point for decimals, as in 7.5, and nothing between thousands"),
    ("1,200", "A comma is not read"),
    ("2 ft 6,5 in", "A comma is not read"),
    ("7٫5", "A comma is not read"),
    ("1 200", "A space stands inside a number. Type 1200 without a space"),
    ("1 200 mm", "A space stands inside a number"),
    ("1\u202f200", "A space stands inside a number"),
    ("2 6", "A space stands inside a number"),
    ("1'200", "The inches after feet are less than 12"),
    ("10'000", "The inches after feet are less than 12, in no more than two digits"),
    ("10'010.5", "The inches after feet are less than 12, in no more than two digits"),
    ("9/8", "The fraction 9/8 is not less than one. If it is meant so, type 1 1/8."),
    ("8/8", "The fraction 8/8 is not less than one. If it is meant so, type 1."),
    ("7 9/8", "The fraction 9/8 is not less than one. If it is meant so, type 8 1/8."),
    ("71/2", "The fraction 71/2 is not less than one. If it is meant so, type 35 1/2."),
    ("1/0", "The fraction 1/0 has a zero below"),
    ("7 0/0 in", "The fraction 0/0 has a zero below"),
    ("2' 12\"", "The inches after feet are less than 12.*Type 36 in, or 3 ft 0 in, if that is meant."),
    ("2 ft 14 1/2 in", "The inches after feet are less than 12.*Type 38 1/2 in, or 3 ft 2 1/2 in"),
    ("2.5' 6\"", "Feet with inches after them are whole feet. Type whole feet and inches, as in 2 ft 6 in"),
    ("2 1/2 ft 6 in", "Feet with inches after them are whole feet"),
    ("½'6", "Feet with inches after them are whole feet"),
    ("7 1/2 mm", "A fraction of mm is not read. Type 7.5 mm, or 7 1/2 in for inches."),
    ("7½ mm", "A fraction of mm is not read. Type 7.5 mm, or 7 1/2 in for inches."),
    ("1/2 cm", "A fraction of cm is not read. Type 0.5 cm, or 1/2 in for inches."),
    ("½ m", "A fraction of m is not read. Type 0.5 m, or 1/2 in for inches."),
    ("1/3 m", "A fraction of m is not read. Type decimals of m, or 1/3 in for inches."),
    ("-7", "A plus or minus sign is not read here. Type the number without a sign"),
    ("+7", "A plus or minus sign is not read here"),
    ("−7", "A plus or minus sign is not read here"),
    ("–7", "A plus or minus sign is not read here"),
    ("±7", "A plus or minus sign is not read here"),
    ("7 -1/2", "A plus or minus sign is not read here"),
    ("2' -6\"", "A plus or minus sign is not read here"),
    ("7 − 1/2", "A plus or minus sign is not read here"),
    ("7 + 1/2", "A plus or minus sign is not read here"),
    ("7 - 1/2", "A dash joins a whole number to its fraction, or feet to inches, and nothing else"),
    ("7-", "A dash joins a whole number to its fraction"),
    ("2-6", "A dash joins a whole number to its fraction"),
    ("36-38 in", "A dash joins a whole number to its fraction"),
    ("1e3", "A number with an exponent is not read. Write the number out, as in 1000."),
    ("1E-3 in", "A number with an exponent is not read"),
    ("1.5e+2", "A number with an exponent is not read"),
    ("nan", "This is a computer's word, not a measurement"),
    ("NaN in", "This is a computer's word, not a measurement"),
    ("inf", "This is a computer's word, not a measurement"),
    ("-Infinity", "This is a computer's word, not a measurement"),
    ("seven", "The word seven is not read as a length. Type a number and its unit"),
    ("about 7", "The word about is not read as a length"),
    ("7 1/2 in or so", "The word or is not read as a length"),
    ("12 x 8", "Two dimensions stand in one entry. Type one length here, and the other in its own entry."),
    ("12x8", "Two dimensions stand in one entry"),
    ("12 × 8 in", "Two dimensions stand in one entry"),
    ("12 by 8", "Two dimensions stand in one entry"),
    ("12*8", "Two dimensions stand in one entry"),
    ("12 in2", "This is an area or a volume, and a length belongs here. Type one length"),
    ("12 in²", "This is an area or a volume"),
    ("12 in^2", "This is an area or a volume"),
    ("12 sq in", "This is an area or a volume"),
    ("3 ft3", "This is an area or a volume"),
    ("12 ft2", "This is an area or a volume.* Type one length, as in 12 in or 2 ft 3 in."),
    ("12 feet²", "This is an area or a volume"),
    ("7 yd", "yd is not a unit of length that is read here. Use in, ft, mm, cm or m."),
    ("5 km", "km is not a unit of length"),
    ("7 kW", "kw is not a unit of length"),
    ("1_200", "An underscore is not read. Type the digits alone"),
    ("١٢", r"arabic-indic digit one \(U\+0661\) is not a digit that is read here. Type digits 0 to 9."),
    ("７ in", r"fullwidth digit seven \(U\+FF17\) is not a digit"),
    ("7²", r"superscript two \(U\+00B2\) is not a digit"),
    ("⅟8", r"fraction numerator one \(U\+215F\) is not a digit"),
    ("Ⅶ in", r"roman numeral seven \(U\+2166\) is not a digit|small roman numeral seven"),
    ("0." + "1" * 16, "A number has more than 15 digits on end. Round it to what was measured."),
    ("7\n", r"a control character \(U\+000A\), which does not show. Delete the entry and type it anew."),
    ("7\x1b[2J", r"a control character \(U\+001B\), which does not show"),
    ("\u202e7", r"right-to-left override \(U\+202E\), which does not show"),
    ("7\u200b", r"zero width space \(U\+200B\), which does not show"),
    ("7\ud800", r"\(U\+D800\), which does not show"),
    ("1/2/3", "More than one slash stands in one number. Type one fraction"),
    ("7 1/2 3/4", "More than one slash stands in one number"),
    ("/2", "A fraction is one whole number over another. Type it as in 1/2"),
    ("1/", "A fraction is one whole number over another"),
    ("1 / 2", "A fraction is one whole number over another"),
    ("1.5/2", "A fraction is one whole number over another"),
    ("½/2", "A fraction is one whole number over another"),
    ("7.5 1/2", "One number has both decimals and a fraction. Type one of them"),
    ("7.5½", "One number has both decimals and a fraction"),
    ("7.", "A point stands inside a number, with digits after it, and only once. Type 7.5, .5 or 7."),
    (".", "A point stands inside a number"),
    ("1.2.3", "A point stands inside a number"),
    ("2 ft.5", "A point stands inside a number"),
    ("6 in 2 ft", "Inches stand before feet. Type the feet first, as in 2 ft 6 in."),
    ("6\" 2'", "Inches stand before feet"),
    ("2 ft 6 mm", "Only feet and inches are read together, and each once"),
    ("2 m 50 cm", "Only feet and inches are read together, and each once"),
    ("2 ft 3 ft", "Only feet and inches are read together, and each once"),
    ("1'200 mm", "Only feet and inches are read together, and each once"),
    ("2 ft 6 in 1/2", "A number stands after the unit it should stand before. Type the unit last"),
    ("7\"6", "A number stands after the unit"),
    ("7 in.5", "A number stands after the unit"),
    ("in", "No number stands here. Type a number and its unit"),
    ("'", "No number stands here"),
    ("7°", r"degree sign \(U\+00B0\) is not read here. Take it out."),
    ("7 א", r"hebrew letter alef \(U\+05D0\) is not read here"),
    ("7½½", "No length can be read here. Type a number and its unit, as in 7 1/2 in."),
    ("7 ! in", "No length can be read here"),
    ("20001 ft", r"This is longer than 20000 ft \(6096 m\). Look at the digits and at the unit."),
    ("9" * 15, "This is longer than 20000 ft"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message"), REFUSED)
def test_refuses_and_says_why_and_what_to_type(text: str, message: str) -> None:
    with pytest.raises(EntryError, match=message) as caught:
        lengths.parse(text, "in")
    assert caught.value.title and caught.value.fix


def test_a_bare_fraction_where_millimeters_are_the_unit_says_in_which_unit_it_was_read() -> None:
    with pytest.raises(
        EntryError, match=r"A fraction of mm is not read. A bare number is read in mm here. Type 7.5 mm"
    ):
        lengths.parse("7 1/2", "mm")


def test_what_a_refusal_says_to_type_can_be_typed() -> None:
    assert lengths.parse("8 1/8", "in") == 7 + F(9, 8)
    assert lengths.parse("3 ft 0 in", "in") == lengths.parse("36 in", "in") == 36


def test_longest_length_and_both_neighbours() -> None:
    assert lengths.parse("20000 ft", "in") == lengths.LONGEST
    assert lengths.parse("19999 ft 11 63/64 in", "in") < lengths.LONGEST
    with pytest.raises(EntryError, match="longer than 20000 ft"):
        lengths.parse("20000 ft 0 1/64 in", "in")


def test_twelve_inches_after_feet_and_both_neighbours() -> None:
    assert lengths.parse("2' 11 63/64\"", "in") < 36
    for text in ("2' 12\"", "2' 12 1/64\""):
        with pytest.raises(EntryError, match="less than 12"):
            lengths.parse(text, "in")


def test_longest_text() -> None:
    assert lengths.parse("7" + " " * (lengths.MOST_CHARACTERS - 1), "in") == 7
    assert lengths.parse("0." + "1" * lengths.MOST_DIGITS, "in") > 0


@pytest.mark.parametrize(
    "piece", ["1", " ", "1 ", "1/", "½", "'", "1'", "-", "1-", ".", "2 ft 6 in ", "in", "1e", "x1", "\u0661"]
)
def test_no_text_takes_long(piece: str) -> None:
    text = (piece * 64)[:64]
    start = time.process_time()
    for tail in (text, text[:-1] + "!"):
        with pytest.raises(EntryError, match=r"."):
            lengths.parse(tail, "in")
    assert time.process_time() - start < 0.1


SHOWN: list[tuple[Fraction, Literal["in", "mm"], str]] = [
    (F(15, 2), "in", "7 1/2 in"),
    (F(1, 64), "in", "1/64 in"),
    (F(240), "in", "240 in"),
    (F(0), "in", "0 in"),
    (F(1, 128), "in", "0.0078125 in"),
    (F("7.3"), "in", "7.3 in"),
    (F(16, 3), "in", "5.3333 in"),
    (F(1), "mm", "25.4 mm"),
    (F(1, 64), "mm", "0.396875 mm"),
    (F(0), "mm", "0 mm"),
    (F(16, 3), "mm", "135.467 mm"),
    (F(190) / F("25.4"), "in", "7.4803 in"),
    (F(190) / F("25.4"), "mm", "190 mm"),
    (F(-15, 2), "in", "-7 1/2 in"),
    (F(-1, 2), "in", "-1/2 in"),
    (F(-1, 2), "mm", "-12.7 mm"),
]


@pytest.mark.parametrize(("value", "unit", "text"), SHOWN)
def test_shows(value: Fraction, unit: lengths.Unit, text: str) -> None:
    assert lengths.show(value, unit) == text


def test_a_length_off_a_mark_is_not_shown_as_if_on_it() -> None:
    assert lengths.show(lengths.parse("507.9999 mm", "in"), "in") == "19.999996 in"
    assert lengths.show(20 - F(1, 3 * 10**8), "in") == "19.999999997 in"
    assert lengths.show((F("508.1") - F(1, 300_000)) / F("25.4"), "mm") == "508.099997 mm"
    for near in (3 * 10**12, 3 * 10**15):
        assert lengths.show(20 - F(1, near), "in") == "20 in", "nearer than any decimals that are printed"


def test_a_height_below_zero_is_so_much_below() -> None:
    shown = [lengths.show_height(F(value), "in") for value in ("-0.5", "0", "0.5")]
    assert shown == ["1/2 in below", "0 in", "1/2 in"]


LIMITS: list[tuple[Fraction, Literal["in", "mm"], lengths.Op, Fraction | None, str]] = [
    (F(16, 3), "in", ">=", None, "5 3/8 in"),
    (F(16, 3), "in", "<=", None, "5 5/16 in"),
    (F(16, 3), "mm", ">=", None, "136 mm"),
    (F(16, 3), "mm", "<=", None, "135 mm"),
    (F(20), "in", ">=", None, "20 in"),
    (F(20), "in", "<=", F(20), "20 in"),
    # 19 31/32 is short of 19.98; 20 would do for both, but 19.99 meets and must not look short of 20
    (F("19.98"), "in", ">=", F("19.96875"), "20 in"),
    (F("19.98"), "in", ">=", F("19.99"), "19 63/64 in"),
    (F("19.98"), "in", ">=", F("19.981"), "19.98 in"),
    # 5.34 is over 5 1/3 and under 5 3/8; 5 5/16 is under both
    (F(16, 3), "in", "<=", F("5.33"), "5.333 in"),
    (F(16, 3), "in", "<=", F("5.34"), "5 5/16 in"),
    (F(16, 3), "in", ">=", F(43, 8), "5 11/32 in"),
    (F(16, 3), "in", ">=", F(16, 3), "5.3333 in"),
    (F("100.04") / F("25.4"), "mm", "<=", F("100") / F("25.4"), "100.04 mm"),
    (F("100.4") / F("25.4"), "mm", "<=", F("100") / F("25.4"), "100.4 mm"),
    (F("100.4") / F("25.4"), "mm", "<=", F("101") / F("25.4"), "100 mm"),
    # 7.01 up to 1/16 in is 7 1/16, past 7.05; up to 1/32 it is 7 1/32
    (F("7.01"), "in", ">=", F("7.05"), "7 1/32 in"),
    (F("100.05") / F("25.4"), "mm", ">=", F("100.5") / F("25.4"), "100.1 mm"),
    (F("100.005") / F("25.4"), "mm", ">=", F("100.05") / F("25.4"), "100.01 mm"),
    (F("100.055") / F("25.4"), "mm", ">=", F("100.09") / F("25.4"), "100.06 mm"),
    # 5.3333 is what 5 1/3 prints as, so it would look as if both were one
    (F("5.33328"), "in", ">=", F(16, 3), "5.33328 in"),
    # nearer than the last grid, 1e-12: the limit itself
    (F("1.00000000000037"), "in", "<=", F(1), "1.00000000000037 in"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "unit", "op", "beside", "text"), LIMITS)
def test_shows_limits(
    value: Fraction, unit: lengths.Unit, op: lengths.Op, beside: Fraction | None, text: str
) -> None:
    assert lengths.show_limit(value, unit, op=op, beside=beside) == text


ECHOED = [
    ("7 1/2 in", "7 1/2 in = 190.5 mm"),
    ("7-1/2", "7 1/2 in = 190.5 mm"),
    ("2'6", "30 in = 762 mm"),
    ("20 ft", "240 in = 6096 mm"),
    ("7 1/64 in", "7 1/64 in = 178.196875 mm"),
    ("190.5 mm", "190.5 mm = 7 1/2 in"),
    ("19 cm", "190 mm = about 7.4803 in"),
    ("1 m", "1000 mm = about 39.3701 in"),
    ("1/3", "1/3 in = about 8.467 mm"),
    ("1/7 ft", "1 5/7 in = about 43.543 mm"),
    ("0", "0 in = 0 mm"),
]


@pytest.mark.parametrize(("text", "echoed"), ECHOED)
def test_echoes_what_was_understood(text: str, echoed: str) -> None:
    assert lengths.echo(text, "in") == echoed


def test_echo_of_a_bare_number_in_millimeters() -> None:
    assert lengths.echo("190.5", "mm") == "190.5 mm = 7 1/2 in"
    with pytest.raises(EntryError, match="A comma is not read"):
        lengths.echo("190,5", "mm")


PAIRS = [
    ("11 1/4 x 11 1/4", F(45, 4), F(45, 4)),
    ("11x12", F(11), F(12)),
    ("11 X 12", F(11), F(12)),
    ("11 × 12", F(11), F(12)),
    ("11 by 12", F(11), F(12)),
    ("11 x 12 in", F(11), F(12)),
    ("254 x 508 mm", F(10), F(20)),
    ('11 1/4" x 12"', F(45, 4), F(12)),
    ("2'6 x 2'6", F(30), F(30)),
    ("254 mm x 20 in", F(10), F(20)),
]


@pytest.mark.parametrize(("text", "first", "second"), PAIRS)
def test_reads_pairs(text: str, first: Fraction, second: Fraction) -> None:
    assert lengths.parse_pair(text, "in") == (first, second)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("11", "Only one length was typed. Type two, as in 11 1/4 x 11 1/4."),
        ("11 x", "Only one length was typed"),
        ("x 11", "Only one length was typed"),
        ("8 x 8 x 8", "More than two lengths stand here"),
        ("11 in x 12", "One side names its unit and the second does not. Name the unit of both"),
        ("12 x 2 ft", "One side names its unit and the first does not"),
        ("12 x 2'6", "One side names its unit and the first does not"),
        ("7 1/2 x 200 mm", "A fraction of mm is not read"),
        ("11,5 x 12", "A comma is not read"),
        ("", "The entry is empty"),
    ],
)
def test_refuses_pairs(text: str, message: str) -> None:
    with pytest.raises(EntryError, match=message):
        lengths.parse_pair(text, "in")


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("36", "36 in"),
        (" 36 1/2 ", "36 1/2 in"),
        ("7½", "7½ in"),
        ("36 1/2 in", "36 1/2 in"),
        ("2'6", "2'6"),
        ("900 mm", "900 mm"),
        ("11 1/4 x 11 1/4", "11 1/4 in x 11 1/4 in"),
        ("11 x 12 in", "11 x 12 in"),
        ("7,5", "7,5"),
        ("1 x 2 x 3", "1 x 2 x 3"),
        ("", ""),
    ],
)
def test_names_the_unit_of_a_bare_number(text: str, named: str) -> None:
    assert lengths.with_unit(text, "in") == named


UNITS = st.sampled_from(["in", "mm"])
OPS = st.sampled_from([">=", "<="])
TAPE = st.integers(0, 64 * 12 * 1000).map(lambda n: F(n, 64))
LENGTHS = st.one_of(
    TAPE,
    st.integers(0, 10**9).map(lambda n: F(n, 1000) / F("25.4")),
    st.fractions(min_value=0, max_value=lengths.LONGEST, max_denominator=10**6),
)
NASTY = st.text(
    st.one_of(
        st.sampled_from("0123456789/.,-'\"′″’”½⅛⁄ xe+_−²ftinmc\u00a0\u202e\u0661\u0000\n"),
        st.characters(),
    ),
    max_size=80,
)


@given(NASTY, UNITS)
@example("2' 6\"" * 10, "in")
@example("İ ſ K", "mm")
def test_no_text_crashes(text: str, unit: lengths.Unit) -> None:
    for read in (lengths.parse, lengths.parse_pair, lengths.echo):
        try:
            read(text, unit)
        except EntryError as err:
            assert err.title and err.what and err.fix
            assert all(sign.isprintable() for sign in str(err))
    assert isinstance(lengths.with_unit(text, unit), str)


@given(LENGTHS, UNITS, UNITS)
def test_what_is_shown_is_read_again(value: Fraction, unit: lengths.Unit, bare: lengths.Unit) -> None:
    text = lengths.show(value, unit)
    half_a_step = F(1, 20000) if unit == "in" else F(1, 2000) / F("25.4")
    assert abs(lengths.parse(text, bare) - value) <= half_a_step


@given(TAPE, UNITS)
def test_marks_of_the_tape_are_read_again_exactly(value: Fraction, unit: lengths.Unit) -> None:
    assert lengths.parse(lengths.show(value, unit), "in") == value


@given(st.integers(0, 6_000_000).map(lambda n: F(n, 1000)))
def test_millimeters_are_read_again_exactly(mm: Fraction) -> None:
    assert lengths.parse(lengths.show(mm / F("25.4"), "mm"), "in") * F("25.4") == mm


@given(TAPE)
def test_inches_and_millimeters_agree(value: Fraction) -> None:
    """A length typed in either unit is one number: what flips a check at its limit where floats are used."""
    inches = lengths.parse(lengths.show(value, "in"), "mm")
    assert lengths.parse(lengths.show(inches, "mm"), "in") == inches == value


@given(LENGTHS, UNITS, OPS)
def test_a_limit_is_rounded_to_its_safe_side(value: Fraction, unit: lengths.Unit, op: lengths.Op) -> None:
    shown = lengths.parse(lengths.show_limit(value, unit, op=op), "in")
    step = F(1, 16) if unit == "in" else 1 / F("25.4")
    assert 0 <= (shown - value if op == ">=" else value - shown) < step


@given(LENGTHS, st.fractions(min_value=-1, max_value=1, max_denominator=10**6), UNITS, OPS)
def test_a_limit_never_looks_like_what_differs_from_it(
    limit: Fraction, difference: Fraction, unit: lengths.Unit, op: lengths.Op
) -> None:
    beside = max(F(0), limit + difference)
    text = lengths.show_limit(limit, unit, op=op, beside=beside)
    other = lengths.show(beside, unit)
    assert (text == other) == (beside == limit)
    if beside != limit:
        assert (lengths.parse(text, "in") > beside) == (limit > beside)


@given(LENGTHS, UNITS)
def test_both_sides_of_an_echo_are_read_again(value: Fraction, unit: lengths.Unit) -> None:
    typed = lengths.show(value, unit)
    understood, other = lengths.echo(typed, unit).split(" = ")
    assert lengths.parse(understood, "in") == lengths.parse(typed, "in")
    same = lengths.parse(other.removeprefix("about "), "in") == lengths.parse(typed, "in")
    assert same != other.startswith("about ")


@given(st.integers(0, 10**6), st.sampled_from([2, 4, 8, 16, 32, 64]), UNITS)
def test_naming_the_unit_changes_nothing(number: int, below: int, unit: lengths.Unit) -> None:
    text = f"{number} 1/{below}" if unit == "in" else f"{number}.5"
    if number >= lengths.LONGEST:
        return
    named = lengths.with_unit(text, unit)
    assert lengths.parse(named, "in") == lengths.parse(named, "mm") == lengths.parse(text, unit)
    assert lengths.with_unit(named, "mm") == named


def test_reads_without_pint() -> None:
    code = (
        "import sys; from hearthcalc.lengths import parse; parse('7 1/2', 'in'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


@pytest.mark.parametrize(
    ("text", "old", "new", "turned"),
    [
        ("36", "in", "mm", "914.4"), ("7 1/2", "in", "mm", "190.5"), ("1/16", "in", "mm", "1.5875"),
        ("1/32", "in", "mm", "1/32 in"), ("1/3", "in", "mm", "1/3 in"), ("11 1/4 x 11 1/4", "in", "mm", "285.75 x 285.75"),
        ("190.5", "mm", "in", "7 1/2"), ("190", "mm", "in", "190 mm"), ("7 1/2 in", "in", "mm", "7 1/2 in"),
        ("soon", "in", "mm", "soon"),
    ],
)  # fmt: skip
def test_bare_numbers_in_the_other_unit(text: str, old: lengths.Unit, new: lengths.Unit, turned: str) -> None:
    """An inch is 25.4 mm exactly (NIST SP 811): what is not said exactly in few digits keeps its unit."""
    assert lengths.in_other(text, old, new) == turned
