"""Quantities with named units: what is read, what is refused and why; factors against an outside table."""

import subprocess
import sys
import time
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from hearthcalc import lengths, quantities
from hearthcalc.errors import EntryError

F = Fraction

READ = [
    ("127 in2", "area", F(127)),
    ("127in2", "area", F(127)),
    ("127 in^2", "area", F(127)),
    ("127 in²", "area", F(127)),
    ("127 sq in", "area", F(127)),
    ("127 Sq. In.", "area", F(127)),
    ("127 square inches", "area", F(127)),
    ("127 1/2 in2", "area", F(255, 2)),
    ("7½ in2", "area", F(15, 2)),
    (".5 in2", "area", F(1, 2)),
    ("0 in2", "area", F(0)),
    ("6 ft2", "area", F(864)),
    ("6 sq ft", "area", F(864)),
    ("645.16 mm2", "area", F(1)),
    ("6.4516 cm2", "area", F(1)),
    ("0.00064516 m²", "area", F(1)),
    ("2400 ft3", "volume", F(2400)),
    ("2400 cu ft", "volume", F(2400)),
    ("0.028316846592 m3", "volume", F(1)),
    ("350 cfm", "flow", F(350)),
    ("350 CFM", "flow", F(350)),
    ("350 ft3/min", "flow", F(350)),
    ("0.4719474432 L/s", "flow", F(1)),
    ("0.4719474432 l/s", "flow", F(1)),
    ("1.69901079552 m³/h", "flow", F(1)),
    ("18 kW", "power", F(18000)),
    ("18 kw", "power", F(18000)),
    ("18000 W", "power", F(18000)),
    ("3600 Btu/h", "power", F("1055.05585262")),
    ("3600 BTU/hr", "power", F("1055.05585262")),
    ("-5 C", "temperature", F(-5)),
    ("−5 °C", "temperature", F(-5)),
    ("–5 C", "temperature", F(-5)),
    ("+5 C", "temperature", F(5)),
    ("5 deg C", "temperature", F(5)),
    ("32 F", "temperature", F(0)),
    ("68°F", "temperature", F(20)),
    ("-40 F", "temperature", F(-40)),
    ("273.15 K", "temperature", F(0)),
    ("3 m/s", "speed", F(3)),
    ("36 km/h", "speed", F(10)),
    ("10 ft/s", "speed", F("3.048")),
    ("25 mph", "speed", F("11.176")),
    ("5 Pa", "pressure", F(5)),
    ("-5 Pa", "pressure", F(-5)),
    ("-1/2 Pa", "pressure", F(-1, 2)),
    ("1 in w.c.", "pressure", F("249.08891")),
    ("1 inH2O", "pressure", F("249.08891")),
    ("1 in. wc", "pressure", F("249.08891")),
    ("40 lb/ft2", "area_load", F(40)),
    ("40 psf", "area_load", F(40)),
    ("100 lb/ft", "line_load", F(100)),
    ("100 plf", "line_load", F(100)),
    ("0.18 m2.K/W", "resistance", F("0.18")),
    ("0.18 m²·K/W", "resistance", F("0.18")),
    ("0.18 m2 K / W", "resistance", F("0.18")),
    ("30 deg", "angle", F(30)),
    ("30°", "angle", F(30)),
    ("30 degrees", "angle", F(30)),
    ("7 ACH50", "leakage", F(7)),
    ("7 ach50", "leakage", F(7)),
    ("6:12", "pitch", F(1, 2)),
    ("6 : 12", "pitch", F(1, 2)),
    ("6/12", "pitch", F(1, 2)),
    ("6 in 12", "pitch", F(1, 2)),
    ("6 1/2:12", "pitch", F(13, 24)),
    ("14/12", "pitch", F(7, 6)),
    ("1:2.5", "pitch", F(2, 5)),
    ("0:12", "pitch", F(0)),
    ("0 deg", "pitch", F(0)),
    ("45 deg", "pitch", F(1)),
    ("45°", "pitch", F(1)),
    ("0.7", "ratio", F(7, 10)),
    ("12", "ratio", F(12)),
    ("1/12", "ratio", F(1, 12)),
    ("½", "ratio", F(1, 2)),
    ("15 %", "ratio", F(3, 20)),
]


@pytest.mark.parametrize(("text", "dimension", "value"), READ)
def test_reads(text: str, dimension: str, value: Fraction) -> None:
    assert quantities.parse(text, dimension) == value


def test_a_pitch_in_degrees() -> None:
    """tan 30 deg = 1/sqrt 3, to a billionth."""
    assert 3 * quantities.parse("30 deg", "pitch") ** 2 == pytest.approx(1, abs=1e-8)
    assert quantities.parse("89.99 deg", "pitch") > 5000


# NIST SP 811 (2008), appendix B.8, by its entry, to the seven digits printed there; fewer are exact.
# The entries are second-hand: carried over from tables that quote them.
NIST = [
    ("square inch (in2) to square meter", "1 in2", "area", "m2", 6.4516e-4),
    ("square foot (ft2) to square meter", "1 ft2", "area", "m2", 9.290304e-2),
    ("cubic foot (ft3) to cubic meter", "1 ft3", "volume", "m3", 2.831685e-2),
    ("cubic foot per minute (ft3/min) to liter per second", "1 ft3/min", "flow", "L/s", 4.719474e-1),
    ("cubic foot per minute (ft3/min) to cubic meter per second", "1 cfm", "flow", "m3/s", 4.719474e-4),
    ("Btu_IT per hour (Btu_IT/h) to watt", "1 Btu/h", "power", "W", 2.930711e-1),
    ("mile per hour (mi/h) to meter per second", "1 mph", "speed", "m/s", 4.4704e-1),
    ("mile per hour (mi/h) to kilometer per hour", "1 mph", "speed", "km/h", 1.609344),
    ("foot per second (ft/s) to meter per second", "1 ft/s", "speed", "m/s", 3.048e-1),
    ("foot per minute (ft/min) to meter per second", "1 ft/min", "speed", "m/s", 5.08e-3),
    ("kilometer per hour (km/h) to meter per second", "1 km/h", "speed", "m/s", 2.777778e-1),
    ("inch of water, conventional (inH2O) to pascal", "1 in w.c.", "pressure", "Pa", 2.490889e2),
    ("pound-force per square foot (lbf/ft2) to pascal", "1 lb/ft2", "area_load", "kN/m2", 4.788026e-2),
    ("pound per square foot (lb/ft2) to kg/m2", "1 lb/ft2", "area_load", "kg/m2", 4.882428),
    ("pound-force per foot (lbf/ft) to newton per meter", "1 lb/ft", "line_load", "kN/m", 1.459390e-2),
    ("pound per foot (lb/ft) to kilogram per meter", "1 lb/ft", "line_load", "kg/m", 1.488164),
    ("deg F hour square foot per Btu_IT to m2 K/W", "1 h.ft2.F/Btu", "resistance", "m2.K/W", 1.761102e-1),
    ("degree Fahrenheit: t/C = (t/F - 32)/1.8", "212 F", "temperature", "C", 100.0),
    ("degree Fahrenheit to kelvin: T/K = (t/F + 459.67)/1.8", "-459.67 F", "temperature", "K", 0.0),
]  # fmt: skip


@pytest.mark.parametrize(("entry", "text", "dimension", "unit", "printed"), NIST)
def test_factors_against_nist(entry: str, text: str, dimension: str, unit: str, printed: float) -> None:
    shown = quantities.show(quantities.parse(text, dimension), dimension, unit)
    assert float(shown.removesuffix(f" {unit}")) == pytest.approx(printed, rel=2e-7), entry


def test_exact_definitions() -> None:
    """NIST SP 811, B.8 and its footnotes: lb 0.45359237 kg, Btu_IT 1055.05585262 J, gn 9.80665 m/s2."""
    assert quantities.parse("1 kg/m", "line_load") * F("0.45359237") == F("0.3048")
    assert quantities.parse("1 kN/m", "line_load") * F("0.45359237") * F("9.80665") == 1000 * F("0.3048")
    r = F("0.3048") ** 2 * 3600 / (F("1.8") * F("1055.05585262"))
    assert quantities.parse("1 h.ft2.F/Btu", "resistance") == r


ALL_UNITS = [
    (name, unit) for name, kind in quantities._DIMENSIONS.items() for unit in kind.units if unit.name
]


@pytest.mark.parametrize(("dimension", "unit"), ALL_UNITS)
def test_every_name_of_a_unit_is_read_as_that_unit(dimension: str, unit: quantities._Unit) -> None:
    value = quantities.parse(f"3 {unit.name}", dimension)
    assert quantities.show(value, dimension, unit.name) == f"3 {unit.name}"
    assert quantities.dimension_of(unit.name) == dimension
    for name in unit.also:
        assert quantities.parse(f"3 {name}", dimension) == value


def test_no_two_units_of_a_dimension_share_a_name() -> None:
    for name, kind in quantities._DIMENSIONS.items():
        names = {quantities._key(typed) for unit in kind.units for typed in (unit.name, *unit.also)}
        assert len(names) == sum(1 + len(unit.also) for unit in kind.units), name


def test_canonical_units() -> None:
    assert quantities.DIMENSIONS == {
        "area": "in2", "volume": "ft3", "flow": "cfm", "power": "W", "temperature": "C", "speed": "m/s",
        "pressure": "Pa", "area_load": "lb/ft2", "line_load": "lb/ft", "resistance": "m2.K/W", "angle": "deg",
        "leakage": "ACH50", "pitch": "", "ratio": "",
    }  # fmt: skip


REFUSED = [
    ("", "area", "The entry is empty"),
    ("1" * 62 + " in2", "area", "The entry has 66 characters, and no more than 64 are read"),
    ("127", "area", "127 has no unit, and an area belongs here. Type a number and one of: in2, ft2"),
    ("200", "flow", "200 has no unit, and a flow of air belongs here. .* one of: cfm, m3/h, m3/s, L/s."),
    ("7", "leakage", "7 has no unit, and a leakage of the house belongs here. Type a number and ACH50."),
    ("-5", "temperature", "-5 has no unit, and a temperature belongs here. .* one of: C, F, K."),
    ("6", "pitch", "This cannot be read as a roof pitch. Type it as in 6:12 or 30 deg."),
    ("1,200 in2", "area", "A comma is not read"),
    ("7,5 kW", "power", "A comma is not read"),
    ("6,5:12", "pitch", "A comma is not read"),
    ("1 200 cfm", "flow", "A space stands inside a number"),
    ("1e3 W", "power", "A number with an exponent is not read"),
    ("1E+3 W", "power", "A number with an exponent is not read"),
    ("nan", "ratio", "This is a computer's word"),
    ("nan kW", "power", "This is a computer's word"),
    ("-inf C", "temperature", "This is a computer's word"),
    ("1_000 W", "power", "An underscore is not read"),
    ("١٢ kW", "power", r"arabic-indic digit one \(U\+0661\) is not a digit"),
    ("５ Pa", "pressure", r"fullwidth digit five \(U\+FF15\) is not a digit"),
    ("5² in2", "area", r"superscript two \(U\+00B2\) is not a digit"),
    ("-5 in2", "area", "A plus or minus sign is not read here"),
    ("−5 kW", "power", "A plus or minus sign is not read here"),
    ("+5 mph", "speed", "A plus or minus sign is not read here"),
    ("-0.1", "ratio", "A plus or minus sign is not read here"),
    ("-6:12", "pitch", "A plus or minus sign is not read here"),
    ("--5 C", "temperature", "This cannot be read as a temperature"),
    ("5 - C", "temperature", "A plus or minus sign is not read here"),
    ("9/8 in2", "area", "The fraction 9/8 is not less than one. If it is meant so, type 1 1/8."),
    ("9/8", "ratio", "The fraction 9/8 is not less than one"),
    ("1/0 in2", "area", "The fraction 1/0 has a zero below"),
    ("6:0", "pitch", "The run of a roof is not zero. Type it as in 6:12 or 30 deg."),
    ("6/0", "pitch", "The run of a roof is not zero"),
    ("6:0.0", "pitch", "The run of a roof is not zero"),
    ("90 deg", "pitch", "A roof is less steep than 90 deg. Type it as in 6:12 or 30 deg."),
    ("6:12:1", "pitch", "This cannot be read as a roof pitch"),
    ("1/2/3 in2", "area", "More than one slash stands in one number"),
    ("1.2.3 kW", "power", "A point stands inside a number"),
    ("5. kW", "power", "A point stands inside a number"),
    ("1.5 1/2 kW", "power", "One number has both decimals and a fraction"),
    ("12 x 8", "area", "Two dimensions stand in one entry. .* of an area the product, as in 96 in2."),
    ("12 in x 8 in", "area", "Two dimensions stand in one entry"),
    ("12 by 8 in2", "area", "Two dimensions stand in one entry"),
    ("in2", "area", "The entry does not begin with a number. Type a number and one of: in2"),
    ("about 5 kW", "power", "The entry does not begin with a number"),
    ("5 yd2", "area", "yd2 is not read here as a unit of an area. Type a number and one of: in2, ft2"),
    ("5 in", "area", "in is not read here as a unit of an area"),
    ("7 1/2 foo", "area", "foo is not read here as a unit of an area"),
    ("5 kW", "area", "kW is a unit of a power, and an area belongs here. Type a number and one of: in2"),
    ("5 C", "ratio", "C is a unit of a temperature, and a plain number belongs here. Type a number alone"),
    ("5 kW", "pitch", "This cannot be read as a roof pitch"),
    ("5 in2!", "area", "in2! is not read here as a unit of an area"),
    ("5 א", "area", r"hebrew letter alef \(U\+05D0\) is not read here"),
    ("5 ! in2", "area", "This cannot be read as an area"),
    ("1" * 16 + " W", "power", "A number has more than 15 digits on end"),
    ("5 W\u202e", "power", r"right-to-left override \(U\+202E\), which does not show"),
    ("9**9**9 W", "power", "This cannot be read as a power"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "dimension", "message"), REFUSED)
def test_refuses_and_says_why_and_what_to_type(text: str, dimension: str, message: str) -> None:
    with pytest.raises(EntryError, match=message) as caught:
        quantities.parse(text, dimension)
    assert caught.value.title and caught.value.fix


def test_refuses_a_unit_of_nothing_that_is_read() -> None:
    with pytest.raises(EntryError, match=r"This is not a unit that is read here\. Use one of: in2, ft2"):
        quantities.dimension_of("furlong")
    with pytest.raises(ValueError, match="kW is no unit of area"):
        quantities.show(F(1), "area", "kW")


SHOWN = [
    (F(127), "area", None, "127 in2"),
    (F(1296, 10), "area", None, "129.6 in2"),
    (F(380, 3), "area", None, "126.6667 in2"),
    (F(864), "area", "ft2", "6 ft2"),
    (F(1), "area", "mm2", "645.16 mm2"),
    (F(0), "temperature", "F", "32 F"),
    (F(-5), "temperature", None, "-5 C"),
    (F(1, 2), "pitch", None, "6:12"),
    (F(1, 12), "ratio", None, "0.08333333"),
    (F(3, 20), "ratio", "%", "15 %"),
    (F("249.08891"), "pressure", "in w.c.", "1 in w.c."),
    (F(7), "leakage", None, "7 ACH50"),
    (108 - F(1, 3 * 10**6), "area", None, "107.9999997 in2"),
]


@pytest.mark.parametrize(("value", "dimension", "unit", "text"), SHOWN)
def test_shows(value: Fraction, dimension: str, unit: str | None, text: str) -> None:
    assert quantities.show(value, dimension, unit) == text


def test_shows_limits_rounded_to_their_safe_side() -> None:
    limit = F(380, 3)
    assert quantities.show_limit(limit, "area", op=">=") == "126.7 in2"
    assert quantities.show_limit(limit, "area", op="<=") == "126.6 in2"
    assert quantities.show_limit(limit, "area", "mm2", op=">=") == "81721 mm2"
    assert quantities.show_limit(limit, "area", op=">=", beside=F("126.68")) == "126.67 in2"
    assert quantities.show_limit(limit, "area", op=">=", beside=F("126.7")) == "126.67 in2"
    assert quantities.show_limit(F(108), "area", op=">=", beside=F("107.9999999")) == "108 in2"
    assert quantities.show_limit(F(0), "pressure", op=">=") == "0 Pa"


DIMENSION = st.sampled_from(sorted(quantities.DIMENSIONS))
VALUES = st.one_of(
    st.fractions(min_value=0, max_value=10**6, max_denominator=10**6),
    st.integers(0, 10**9).map(lambda n: F(n, 1000)),
)
NASTY = st.text(
    st.one_of(
        st.sampled_from("0123456789/.,:-−+eE°º%½²³·^*x_ inftmkWPaBthCFKACH\u00a0\u202e\u0661\u0000\n"),
        st.characters(),
    ),
    max_size=80,
)
UNIT_NAMES = st.sampled_from(["in2", "kW", "C", "Pa", "", "h.ft2.F/Btu", "in w.c.", "deg", "%", ":12"])


@given(NASTY, UNIT_NAMES, DIMENSION)
@example("9**9**9", "in2", "area")
@example("7 K", "", "temperature")
def test_no_text_crashes(text: str, unit: str, dimension: str) -> None:
    for typed in (text, f"{text} {unit}", f"7 {text}"):
        try:
            quantities.parse(typed, dimension)
        except EntryError as err:
            assert err.title and err.what and err.fix
            assert all(sign.isprintable() for sign in str(err))


@given(VALUES, st.sampled_from(ALL_UNITS))
def test_what_is_shown_is_read_again(number: Fraction, unit: tuple[str, quantities._Unit]) -> None:
    dimension, named = unit
    text = f"{lengths.decimal(number, 9)} {named.name}"
    value = quantities.parse(text, dimension)
    assert quantities.show(value, dimension, named.name) == text
    again = quantities.parse(quantities.show(value, dimension), dimension)
    assert abs(again - value) <= max(abs(value) / 10**6, F(1, 10**15))


@given(VALUES)
def test_pitches_and_ratios_are_read_again(number: Fraction) -> None:
    for dimension in ("pitch", "ratio"):
        again = quantities.parse(quantities.show(number, dimension), dimension)
        assert abs(again - number) <= max(number / 10**6, F(1, 10**15))


@given(st.integers(-10_000, 10_000).map(lambda n: F(n, 10)))
def test_signed_quantities_are_read_again(number: Fraction) -> None:
    for dimension in ("temperature", "pressure"):
        assert quantities.parse(quantities.show(number, dimension), dimension) == number


@given(VALUES, VALUES, st.sampled_from([">=", "<="]), st.sampled_from(["in2", "ft2", "mm2"]))
def test_a_limit_never_looks_like_what_differs_from_it(
    limit: Fraction, beside: Fraction, op: lengths.Op, unit: str
) -> None:
    text = quantities.show_limit(limit, "area", unit, op=op, beside=beside)
    assert (text == quantities.show(beside, "area", unit)) == (limit == beside)


@given(VALUES, st.sampled_from([">=", "<="]))
def test_a_limit_is_rounded_to_its_safe_side(limit: Fraction, op: lengths.Op) -> None:
    shown = quantities.parse(quantities.show_limit(limit, "area", op=op), "area")
    assert 0 <= (shown - limit if op == ">=" else limit - shown) <= max(limit / 1000, F(1, 10**12))


def test_units_are_read_fast_once_known() -> None:
    """Rules run on every key. The best of many, so that what else the machine does is left out."""
    quantities.parse("60000 Btu/h", "power")
    best = 1.0
    for _ in range(200):
        start = time.perf_counter()
        quantities.parse("60000 Btu/h", "power")
        best = min(best, time.perf_counter() - start)
    assert best < 50e-6


def test_pint_is_loaded_only_where_a_unit_is_to_be_converted() -> None:
    code = (
        "import sys; from hearthcalc import quantities as q;"
        "q.parse('127 in2', 'area'); q.parse('1/2', 'ratio'); q.parse('6 ft2', 'area');"
        "print('pint' in sys.modules); q.parse('5 L/s', 'flow'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]


ROUNDS = """
import sys
from hearthcalc.reference import edition_ids
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.session import open_session
for wanted in ("", "demo:inn", "demo:schoolhouse", "demo:stonehouse"):
    session = open_session(wanted)
    for edition in ["irc-2021", "england-adj"] if wanted else edition_ids():
        session.take([("about.edition", edition)])
        session.turn_units()
        place = Place(session)
        for section in place.sections:
            place.turn_to(section)
            place.rows()
    session.judge.with_models(session.now, session.assess())
print("pint" in sys.modules)
"""


def test_no_section_and_no_rule_waits_for_pint(tmp_path: Path) -> None:
    """It takes a third of a second to load, and longer where what it can work with is installed too."""
    told = subprocess.run(
        [sys.executable, "-c", ROUNDS], capture_output=True, text=True, cwd=tmp_path, timeout=60
    )
    assert told.stdout == "False\n", told.stderr


def test_the_unit_file_lies_beside_the_module() -> None:
    assert "metre = [length]" in files("hearthcalc").joinpath("units.txt").read_text("utf-8")


@pytest.mark.parametrize("name", sorted(quantities.FREQUENT))
def test_what_is_known_beforehand_is_what_pint_makes_of_it(name: str) -> None:
    dimension = quantities.dimension_of(name)
    canonical, *others = quantities._DIMENSIONS[dimension].units
    unit = next(unit for unit in others if unit.name == name)
    assert quantities.FREQUENT[name] == quantities._by_pint(unit, canonical)
