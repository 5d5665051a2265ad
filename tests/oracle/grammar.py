"""What a person may type for a length or another quantity, and what it is then: a second opinion, read sign by sign without a pattern.

Written from what the README, the help of the fields and the refusals say is read:

- A number is whole, or has a point with digits after it, or is a fraction less than one, alone or behind a whole number that a space or a
  dash parts from it. A fraction may be one character. No more than 15 digits stand on end.
- A length is a number and a unit, with one space between them or none; without a unit it is in the unit of the job. Fractions are of inches
  and feet only. Or it is whole feet and less than twelve inches, parted by nothing, a space, a dash, or a dash between spaces.
- Another quantity is a number and a unit of its kind. Temperatures, pressures and angles may have a sign.
- Spaces of any kind count as one, at the ends as none. Capitals do not count. No more than 64 characters are read, and none that is hidden.

A degree sign belongs to a temperature or an angle alone.

Factors: NIST SP 811 (2008), appendix B.8 and B.9, where they stand in bold, which means exact; and what follows from those. The British
thermal unit is the one of the International Table, 1055.05585262 J. An inch of water is 249.08891 Pa: from memory, water at 4 C.
"""

from __future__ import annotations

import math
import unicodedata
from fractions import Fraction

MOST_SIGNS = 64
MOST_DIGITS = 15
LONGEST_FEET = 20_000
DIGITS = "0123456789"
HIDDEN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
DASHES = {"‐": "-", "‑": "-", "–": "-", "⁄": "/"}
MARKS = {"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"'}

INCH = Fraction(1)
MM = Fraction(10, 254)
FOOT_NAMES = ("ft", "ft.", "foot", "feet", "'")
INCH_NAMES = ("in", "in.", "inch", "inches", '"')
LENGTHS: dict[str, Fraction] = dict.fromkeys(FOOT_NAMES, Fraction(12)) | dict.fromkeys(INCH_NAMES, INCH)
for short, long, size in (("mm", "millimet", MM), ("cm", "centimet", 10 * MM), ("m", "met", 1000 * MM)):
    LENGTHS |= dict.fromkeys(
        (short, f"{short}.", *(f"{long}{end}" for end in ("re", "res", "er", "ers"))), size
    )
METRIC = frozenset(name for name in LENGTHS if name[0] in "cm")

FT = Fraction(3048, 10_000)  # m
LB = Fraction("0.45359237")  # kg
G = Fraction("9.80665")  # m/s2
BTU = Fraction("1055.05585262")  # J
RANKINE = Fraction(5, 9)  # K
# Names, and what one of them is in the first of its kind. Capitals, spaces, points, raised figures and carets do not count.
UNITS: dict[str, dict[str, Fraction]] = {
    "area": {
        "in2 sqin squareinch squareinches": Fraction(1),
        "ft2 sqft squarefoot squarefeet": Fraction(144),
        "mm2 sqmm": MM**2,
        "cm2 sqcm": (10 * MM) ** 2,
        "m2 sqm": (1000 * MM) ** 2,
    },
    "volume": {"ft3 cuft cubicfoot cubicfeet": Fraction(1), "m3 cum": 1 / FT**3},
    "flow": {
        "cfm ft3/min cuft/min": Fraction(1),
        "m3/h m3/hr": 1 / FT**3 / 60,
        "m3/s": 60 / FT**3,
        "l/s": 60 / FT**3 / 1000,
    },
    "power": {"w": Fraction(1), "kw": Fraction(1000), "btu/h btu/hr btuh": BTU / 3600},
    "temperature": {
        "c degc celsius °c °celsius": Fraction(1),
        "f degf fahrenheit °f °fahrenheit": RANKINE,
        "k kelvin °k °kelvin": Fraction(1),
    },
    "speed": {
        "m/s": Fraction(1),
        "mph mi/h": 5280 * FT / 3600,
        "km/h kph": Fraction(1000, 3600),
        "ft/s": FT,
        "ft/min fpm": FT / 60,
    },
    "pressure": {"pa": Fraction(1), "inwc inh2o inwg": Fraction("249.08891")},
    "area_load": {
        "lb/ft2 psf lbf/ft2 lb/sqft": Fraction(1),
        "kg/m2": 1 / (LB / FT**2),
        "kn/m2 kpa": 1000 / (LB * G / FT**2),
    },
    "line_load": {"lb/ft plf lbf/ft": Fraction(1), "kg/m": 1 / (LB / FT), "kn/m": 1000 / (LB * G / FT)},
    "resistance": {
        "m2k/w km2/w": Fraction(1),
        "hft2f/btu ft2hf/btu ft2fh/btu hfft2/btu hrft2f/btu": 3600 * FT**2 * RANKINE / BTU,
    },
    "angle": {"deg ° degree degrees": Fraction(1)},
    "leakage": {"ach50": Fraction(1)},
    "ratio": {" ": Fraction(1), "%": Fraction(1, 100)},
}  # fmt: skip
SIGNED = ("temperature", "pressure", "angle")
ZERO = {"f": Fraction(-160, 9), "k": Fraction("-273.15")}  # what 0 of it is in C


def length(text: str, unit: str) -> Fraction | None:
    """Inches; None where it is no length. unit: "in" or "mm", of a bare number."""
    plain = _plain(text)
    if plain is None:
        return None
    for sign, meant in MARKS.items():
        plain = plain.replace(sign, meant)
    plain = plain.lower().replace("''", '"')
    value = _one_length(plain, unit)
    if value is None:
        value = _feet_and_inches(plain)
    return value if value is not None and value <= LONGEST_FEET * 12 else None


def _one_length(plain: str, unit: str) -> Fraction | None:
    for end in range(len(plain), 0, -1):
        name = plain[end:].removeprefix(" ")
        number = _number(plain[:end])
        if number is None or (name not in LENGTHS and plain[end:]):
            continue
        value, broken = number
        if broken and (name or unit) in METRIC:
            return None
        return value * LENGTHS[name or unit]
    return None


def _feet_and_inches(plain: str) -> Fraction | None:
    at = 0
    while at < len(plain) and plain[at] in DIGITS:
        at += 1
    feet, rest = plain[:at], plain[at:].removeprefix(" ")
    if not feet or len(feet) > MOST_DIGITS:
        return None
    for name in sorted(FOOT_NAMES, key=len, reverse=True):
        if not rest.startswith(name):
            continue
        behind = rest[len(name) :]
        if (name[-1] == "." and behind[:1] in DIGITS and behind) or (
            name[-1].isalpha() and behind[:1] == "."
        ):
            return None  # 2 ft.5: 5 inches for some, half an inch for others
        for parted in (" - ", " ", "-", ""):
            if behind.startswith(parted):
                inches = _inches(behind[len(parted) :])
                # 3 ft2 and 3 ft.3 are an area and a volume.
                if inches is None or (name[-1].isalpha() and behind in ("2", "3")):
                    return None
                return int(feet) * 12 + inches
    return None


def _inches(text: str) -> Fraction | None:
    """Less than twelve, in no more than two digits."""
    if text.endswith((".2", ".3")) and any(sign.isalpha() for sign in text):
        return None
    for name in ("inches", "inch", "in.", "in", '"', ""):
        if text.endswith(name):
            bare = text.removesuffix(name)
            number = _number(bare.removesuffix(" ") if name else bare)
            if number is None:
                continue
            whole = bare.split(".")[0].split("-")[0].split(" ")[0]
            if number[0] >= 12 or (whole.isdecimal() and len(whole) > 2):
                return None
            return number[0]
    return None


def quantity(text: str, kind: str) -> Fraction | None:
    """In the first unit of its kind; None where it is none. kind: as in UNITS."""
    plain = _plain(text)
    if plain is None:
        return None
    sign = 1
    if kind in SIGNED and plain[0] in "-+−":
        sign = 1 if plain[0] == "+" else -1
        plain = plain[1:].removeprefix(" ")
    for end in range(len(plain), 0, -1):
        number = _number(plain[:end])
        if number is None:
            continue
        named = plain[end:].removeprefix(" ")
        if named and not (named[0].isalpha() or named[0] in "°º%"):
            continue
        factor = _factor(named, kind)
        if factor is not None:
            return sign * number[0] * factor[0] + factor[1]
    return None


def _factor(named: str, kind: str) -> tuple[Fraction, Fraction] | None:
    """What to multiply with, and then to add."""
    key = "".join(
        {"²": "2", "³": "3", "º": "°"}.get(sign, sign) for sign in named.lower() if sign not in " .^*·⋅"
    )
    for names, factor in UNITS[kind].items():
        if key in (names.split() or [""]):
            zero = ZERO.get(names.split()[0], Fraction(0)) if kind == "temperature" else Fraction(0)
            return factor, zero
    return None


def pitch(text: str) -> Fraction | None:
    """Rise over run, to a billionth where it is an angle; None where it is no pitch."""
    plain = _plain(text)
    if plain is None:
        return None
    for joint in (":", "in", "/"):
        before, found, behind = plain.partition(joint)
        rise, run = _number(before.removesuffix(" ")), _number(behind.removeprefix(" "))
        if found and rise and run and run[0] and not run[1] and not (joint == "/" and rise[1]):
            return rise[0] / run[0]
    degrees = None if plain[0] in "+-−" else quantity(text, "angle")
    if degrees is None or degrees >= 90:
        return None
    return Fraction(math.tan(math.radians(degrees))).limit_denominator(10**9)


def _plain(text: str) -> str | None:
    """With single spaces and plain dashes; None where nothing can be read."""
    if len(text) > MOST_SIGNS or any(unicodedata.category(sign) in HIDDEN for sign in text):
        return None
    return " ".join("".join(DASHES.get(sign, sign) for sign in text).split()) or None


def _number(text: str) -> tuple[Fraction, bool] | None:
    """A number, and whether it has a fraction; None where it is none."""
    if not text:
        return None
    sign = unicodedata.normalize("NFKC", text[-1])
    if len(sign) > 1 and "⁄" in sign and sign[-1] != "⁄":
        whole = text[:-1]
        if whole[-1:] in (" ", "-"):
            whole = whole[:-1]
            if not whole:
                return None
        return _with_fraction(whole, *sign.split("⁄"))
    if "/" in text:
        before, _, below = text.partition("/")
        whole, parted, above = before.rpartition(" ") if " " in before else before.rpartition("-")
        return None if parted and not whole else _with_fraction(whole, above, below)
    whole, point, part = text.partition(".")
    if point and not _digits(part):
        return None
    if (whole or not point) and not _digits(whole):
        return None
    return Fraction(text), False


def _with_fraction(whole: str, above: str, below: str) -> tuple[Fraction, bool] | None:
    if (whole and not _digits(whole)) or not _digits(above) or not _digits(below):
        return None
    if int(below) == 0 or int(above) >= int(below):
        return None
    return int(whole or 0) + Fraction(int(above), int(below)), True


def _digits(text: str) -> bool:
    return bool(text) and len(text) <= MOST_DIGITS and all(sign in DIGITS for sign in text)
