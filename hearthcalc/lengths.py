"""What people type for a length <-> an exact length; every length printed here can be typed back in."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from fractions import Fraction
from math import ceil, floor
from typing import Literal, NamedTuple, NoReturn

from hearthcalc.errors import EntryError
from hearthcalc.many import kept_text

Unit = Literal["in", "mm"]
Op = Literal[">=", "<="]

MM_PER_INCH = Fraction("25.4")  # exact: the international inch of 1959, NIST SP 811, appendix B.6
LONGEST = Fraction(20_000 * 12)  # inches; above any town, so that altitudes can still be typed
MOST_CHARACTERS = 64
MOST_DIGITS = 15  # on end, before a point or after it: what a spreadsheet writes
TAPE = Fraction(1, 64)  # inches: the finest mark that is printed as a fraction

VULGAR = {sign: unicodedata.normalize("NFKC", sign).replace("⁄", "/") for sign in "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒↉"}
_VULGAR = "".join(VULGAR)
NUMBER = rf"(?:[0-9]*\.[0-9]+|(?:[0-9]+[ -])?[0-9]+/[0-9]+|(?:[0-9]+[ -]?)?[{_VULGAR}]|[0-9]+)"
_TOO_MANY_DIGITS = re.compile(rf"[0-9]{{{MOST_DIGITS + 1}}}")
_FRACTION = re.compile(r"(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)")

_NAMES = {
    "ft": ("ft", "ft.", "foot", "feet", "'"),
    "in": ("in", "in.", "inch", "inches", '"'),
    "mm": ("mm", "mm.", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "cm.", "centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("m", "m.", "metre", "metres", "meter", "meters"),
}
_UNIT_OF = {name: unit for unit, names in _NAMES.items() for name in names}
_INCHES = {
    "ft": Fraction(12),
    "in": Fraction(1),
    "mm": 1 / MM_PER_INCH,
    "cm": 10 / MM_PER_INCH,
    "m": 1000 / MM_PER_INCH,
}
_METRIC = ("mm", "cm", "m")


def _any(names: Iterable[str]) -> str:
    return "|".join(map(re.escape, names))


_SINGLE = re.compile(rf"({NUMBER})(?: ?({_any(_UNIT_OF)}))?")
_FEET = re.compile(
    # 2 ft.5 is 2 ft 5 for some and 2 ft 1/2 for others; 3 ft2 is an area
    r"(?!.*[a-z]\.[0-9]|.*[a-z]\.?[23]$)"
    rf"({NUMBER}) ?(?:{_any(_NAMES['ft'])})(?: - |-| )?({NUMBER})(?: ?(?:{_any(_NAMES['in'])}))?"
)
_BY = re.compile(r" ?(?:x|×|by) ?")

_JOINING = str.maketrans({"⁄": "/", "‐": "-", "‑": "-", "–": "-"})
_MARKS = str.maketrans({**dict.fromkeys("′’‘", "'"), **dict.fromkeys("″”“", '"')})
_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_PLAIN_LENGTH = "Type a number and its unit, as in 7 1/2 in."


class _Reason(NamedTuple):
    """Why a text that holds this pattern is refused, and what to type instead."""

    pattern: re.Pattern[str]
    title: str
    what: str
    fix: str


_SPELLING = (
    _Reason(
        re.compile(r"^[-+−]? ?(?:nan|inf|infinity)\b", re.IGNORECASE),
        "Not a number",
        "This is a computer's word, not a measurement.",
        "Type the number that was measured, or leave the entry empty.",
    ),
    _Reason(
        re.compile(r"[0-9.] ?e ?[-+−]?[0-9]", re.IGNORECASE),
        "An exponent",
        "A number with an exponent is not read.",
        "Write the number out, as in 1000.",
    ),
)
_PUNCTUATION = (
    _Reason(
        re.compile(r"[,،٬٫，‚、]"),
        "A comma",
        "A comma is not read: it parts thousands for some and decimals for others.",
        "Type a point for decimals, as in 7.5, and nothing between thousands, as in 1200.",
    ),
    _Reason(
        re.compile("_"), "An underscore", "An underscore is not read.", "Type the digits alone, as in 1200."
    ),
)
_SIGN = _Reason(
    re.compile(r"[+−±∓＋－﹣➖➕⁺⁻]|^-|(?<= )-(?! )"),
    "A sign",
    "A plus or minus sign is not read here.",
    "Type the number without a sign; a dash may only join a whole number to its fraction, as in 7-1/2.",
)
_FORM = (
    _Reason(
        re.compile(r"/.*/"),
        "Several slashes",
        "More than one slash stands in one number.",
        "Type one fraction, as in 7 1/2.",
    ),
    _Reason(
        re.compile(r"\.[0-9]*\.|[0-9]\.(?![0-9])|(?<![0-9a-z])\.(?![0-9])|[a-z]\.[0-9]"),
        "A stray point",
        "A point stands inside a number, with digits after it, and only once.",
        "Type 7.5, .5 or 7.",
    ),
    _Reason(
        re.compile(rf"\.[0-9]+[ -]?(?:[0-9]+/|[{_VULGAR}])"),
        "Decimals and a fraction",
        "One number has both decimals and a fraction.",
        "Type one of them: 7.5 or 7 1/2.",
    ),
    _Reason(
        re.compile(r"- |-$|[0-9]-[0-9]+(?![0-9/])"),
        "A stray dash",
        "A dash joins a whole number to its fraction, or feet to inches, and nothing else.",
        "Type one number, as in 7-1/2.",
    ),
    _Reason(
        re.compile(rf"[0-9{_VULGAR}] \.?[0-9]+(?![0-9/])"),
        "A space inside a number",
        "A space stands inside a number.",
        "Type 1200 without a space; 7 1/2 and 2' 6 are read.",
    ),
    _Reason(
        re.compile(r"(?<![0-9])/|/(?![0-9])|\.[0-9]+/|/[0-9]+\."),
        "A fraction that is not whole",
        "A fraction is one whole number over another.",
        "Type it as in 1/2 or 7 1/2.",
    ),
)
_LENGTH = (
    _Reason(
        re.compile(
            r"^[^a-z]*(?:in|ft|mm|cm|m|inch|inches|foot|feet|metres?|meters?)\^?[23²³]$|[\"']\^?[²³]"
            r"|\b(?:sq|square|cu|cubic)\b"
        ),
        "An area or a volume",
        "This is an area or a volume, and a length belongs here.",
        "Type one length, as in 12 in or 2 ft 3 in.",
    ),
    _Reason(
        re.compile(r"(?<![a-z])(?:x|×|\*|by)(?![a-z])"),
        "Two dimensions",
        "Two dimensions stand in one entry.",
        "Type one length here, and the other in its own entry.",
    ),
    _Reason(
        re.compile(r"(?:(?<![a-z])(?:in|inch|inches)|\")[-. ]*[0-9].*(?:ft|foot|feet|')"),
        "Inches before feet",
        "Inches stand before feet.",
        "Type the feet first, as in 2 ft 6 in.",
    ),
)
_AFTER_UNIT = _Reason(
    re.compile(rf"(?:(?<![a-z])(?:in|inch|inches|mm|cm|m)|\")[-. ]*[0-9{_VULGAR}]"),
    "A number after the unit",
    "A number stands after the unit it should stand before.",
    "Type the unit last, as in 2 ft 6 1/2 in.",
)


def parse(text: str, unit: Unit) -> Fraction:
    """Read one length.

    text: as typed.  unit: the unit of a bare number.  Returns inches, exact.
    Raises EntryError, with what is wrong and what to type instead.
    """
    return _read(text, unit)[0]


def parse_pair(text: str, unit: Unit) -> tuple[Fraction, Fraction]:
    """Read two lengths parted by x, × or by. A unit after the second alone is the unit of both, but for feet.

    text: as typed.  unit: the unit of bare numbers.  Returns inches, exact, as ordered.  Raises EntryError.
    """
    sides = _sides(tidy(text))
    if len(sides) != 2 or not all(sides):
        raise EntryError(
            "Two sides are needed",
            "More than two lengths stand here." if len(sides) > 2 else "Only one length was typed.",
            fix="Type two, as in 11 1/4 x 11 1/4.",
        )
    (first, first_unit), (second, second_unit) = (_read(side, unit) for side in sides)
    if first_unit and not second_unit:
        raise _half_named("second")
    if second_unit and not first_unit:
        if second_unit == "ft":
            raise _half_named("first")
        first, _ = _read(f"{sides[0]} {second_unit}", unit)
    return first, second


READABLE = 4  # decimals: a sixteenth of an inch is 1.5875 mm


def with_unit(text: str, unit: Unit) -> str:
    """The text with its unit written out, so that it says the same when the unit of bare numbers changes.

    text: one length or a pair; comes back as it is where it names its unit or cannot be read.
    """
    try:
        sides = _sides(tidy(text))
        if len(sides) > 2 or any(_read(side, unit)[1] for side in sides):
            return text
    except EntryError:
        return text
    return " x ".join(f"{side} {unit}" for side in sides)


def in_other(text: str, old: Unit, new: Unit) -> str:
    """Bare numbers of one unit in another, exactly; with the old unit where it takes more digits than a person would read.

    text: one length or a pair; comes back as it is where it names its unit or cannot be read.
    """
    written = with_unit(text, old)
    if written == text:
        return text
    values = [parse(side, old) for side in _sides(tidy(text))]
    numbers = [_number(value, new) for value in values]
    exact = all(parse(number, new) == value for number, value in zip(numbers, values, strict=True))
    readable = all(len(number.partition(".")[2]) <= READABLE for number in numbers)
    return " x ".join(numbers) if exact and readable else written


@kept_text
def show(value: Fraction, unit: Unit) -> str:
    """A length as text: exact where 64ths of an inch or decimals can say it, else to 0.0001 in or 0.001 mm.

    value: inches.  Where that would print a mark of the tape that the value is off, more decimals, down to
    1e-12, are printed.  A negative difference prints with a minus sign, which `parse` refuses.
    """
    return f"{_number(value, unit)} {unit}"


@kept_text
def show_height(value: Fraction, unit: Unit) -> str:
    """A length as text; one below 0 is so much below."""
    return show(value, unit) if value >= 0 else f"{show(-value, unit)} below"


@kept_text
def show_limit(value: Fraction, unit: Unit, *, op: Op, beside: Fraction | None = None) -> str:
    """A computed limit as text, rounded to its safe side, to 1/16 in or 1 mm or, beside a length, finer.

    value: inches.  op: ">=" for a minimum, rounded up; "<=" for a maximum, rounded down.
    beside: the length, inches, compared with it: the printed limit stands to it as the exact one does.
    """
    scale = _scale(unit)
    text = safe_side(
        value * scale,
        _GRIDS[unit],
        op=op,
        beside=None if beside is None else beside * scale,
        write=lambda n: _number(n / scale, unit),
    )
    return f"{text} {unit}"


def echo(text: str, unit: Unit) -> str:
    """What is read in a text, in the unit it was typed in and in the other: '7 1/2 in = 190.5 mm'.

    The first is exact; the second says "about" where it is not.  unit: of a bare number.  Raises EntryError.
    """
    value, name = _read(text, unit)
    typed: Unit = "in" if (name or unit) in ("in", "ft") else "mm"
    other: Unit = "mm" if typed == "in" else "in"
    first = show(value, typed) if typed == "mm" or _terminates(value) else f"{_mixed(value)} in"
    about = "" if _terminates(value * _scale(other)) else "about "
    return f"{first} = {about}{show(value, other)}"


def tidy(text: str) -> str:
    """The text with single spaces, "/" for the fraction slash and "-" for the dashes that join.

    Raises EntryError where it is empty, too long, or holds a character that does not show.
    """
    if len(text) > MOST_CHARACTERS:
        raise EntryError(
            "Too long",
            f"The entry has {len(text)} characters, and no more than {MOST_CHARACTERS} are read.",
            fix="Type the measurement alone.",
        )
    for sign in text:
        if unicodedata.category(sign) in _HIDDEN:
            raise EntryError(
                "A hidden character",
                f"The entry holds {_name(sign)}, which does not show.",
                fix="Delete the entry and type it anew.",
            )
    plain = " ".join(text.translate(_JOINING).split())
    if not plain:
        raise EntryError("Nothing typed", "The entry is empty.", fix="Type a measurement.")
    return plain


def number(text: str) -> Fraction:
    """The value of a text that matches NUMBER, exact.

    Raises EntryError for a zero denominator, an improper fraction, or too many digits.
    """
    if _TOO_MANY_DIGITS.search(text):
        raise EntryError(
            "Too many digits",
            f"A number has more than {MOST_DIGITS} digits on end.",
            fix="Round it to what was measured.",
        )
    if text[-1] in VULGAR:
        text = f"{text[:-1].rstrip(' -')} {VULGAR[text[-1]]}".strip()
    match = _FRACTION.fullmatch(text)
    if match is None:
        return Fraction(text)
    whole, top, bottom = (int(part or 0) for part in match.groups())
    if bottom == 0:
        raise EntryError(
            "A zero denominator",
            f"The fraction {top}/{bottom} has a zero below.",
            fix="Type what the tape shows, as in 1/2.",
        )
    if top >= bottom:
        raise EntryError(
            "An improper fraction",
            f"The fraction {top}/{bottom} is not less than one.",
            fix=f"If it is meant so, type {_mixed(whole + Fraction(top, bottom))}.",
        )
    return whole + Fraction(top, bottom)


def refuse_spelling(text: str) -> None:
    """Raise EntryError where a number is spelled as a computer does: nan, inf, or with an exponent."""
    _refuse(text, _SPELLING)


def refuse_marking(text: str) -> None:
    """Raise EntryError for what can be wrong with any number: commas, signs, digits, slashes, spaces."""
    _refuse(text, (*_PUNCTUATION, _SIGN))
    for sign in text:
        if sign.isnumeric() and not sign.isascii() and sign not in VULGAR:
            raise EntryError(
                "Other digits", f"{_name(sign)} is not a digit that is read here.", fix="Type digits 0 to 9."
            )
    _refuse(text, _FORM)


def refuse_character(text: str) -> None:
    """Raise EntryError for a character that no entry has a use for."""
    for sign in text:
        if not sign.isascii() and sign not in VULGAR:
            raise EntryError(
                "A character that is not read", f"{_name(sign)} is not read here.", fix="Take it out."
            )


def decimal(value: Fraction, places: int) -> str:
    """A number rounded to some decimals, without the zeros at its end."""
    scaled = round(value * 10**places)
    digits = f"{abs(scaled):0{places + 1}d}"
    text = f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".") if places else digits
    return f"-{text}" if scaled < 0 else text


def safe_side(
    value: Fraction,
    grids: Iterable[Fraction],
    *,
    op: Op,
    beside: Fraction | None,
    write: Callable[[Fraction], str],
) -> str:
    """A limit rounded up (">=") or down ("<="), on the first grid that keeps it on its side of `beside`.

    value, beside, grids: in the unit that `write` writes.  The text of a different `beside` is not repeated.
    """
    snap = {">=": ceil, "<=": floor}[op]
    for grid in grids:
        rounded = snap(value / grid) * grid
        if beside is None or (
            _order(rounded, beside) == _order(value, beside)
            and (value == beside or write(rounded) != write(beside))
        ):
            return write(rounded)
    return write(value)


_DECIMAL_GRIDS = tuple(Fraction(1, 10**places) for places in range(3, 13))
_GRIDS: dict[Unit, tuple[Fraction, ...]] = {
    "in": (Fraction(1, 16), Fraction(1, 32), TAPE, *_DECIMAL_GRIDS),
    "mm": (Fraction(1), Fraction(1, 10), Fraction(1, 100), *_DECIMAL_GRIDS),
}


def _order(value: Fraction, beside: Fraction) -> int:
    return (value > beside) - (value < beside)


def _scale(unit: Unit) -> Fraction:
    return MM_PER_INCH if unit == "mm" else Fraction(1)


def _terminates(value: Fraction) -> bool:
    return bool(10**MOST_DIGITS % value.denominator == 0)


def _number(value: Fraction, unit: Unit) -> str:
    scaled = value * _scale(unit)
    if unit == "in" and (scaled / TAPE).denominator == 1:
        return _mixed(scaled)
    if _terminates(scaled):
        return decimal(scaled, MOST_DIGITS)
    mark = TAPE if unit == "in" else Fraction(1, 10)
    text = ""
    for places in (4 if unit == "in" else 3, 6, 9, 12):
        text = decimal(scaled, places)
        if (Fraction(text) / mark).denominator != 1:
            break
    return text


def _mixed(value: Fraction) -> str:
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value), 1)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"


def _sides(plain: str) -> list[str]:
    return _BY.split(plain.lower())


def _read(text: str, unit: Unit) -> tuple[Fraction, str]:
    """The length in inches, and the unit that the text names, "" where it names none."""
    plain = tidy(text).lower().translate(_MARKS).replace("''", '"')
    if match := _SINGLE.fullmatch(plain):
        name = _UNIT_OF.get(match[2], "")
        value = _single(match[1], name, unit)
    elif match := _FEET.fullmatch(plain):
        name = "ft"
        value = _feet_and_inches(match[1], match[2])
    else:
        _explain(plain)
    if value > LONGEST:
        raise EntryError(
            "Too long a length",
            f"This is longer than {LONGEST // 12} ft ({decimal(LONGEST * MM_PER_INCH / 1000, 3)} m).",
            fix="Look at the digits and at the unit.",
        )
    return value, name


def _single(typed: str, name: str, unit: Unit) -> Fraction:
    value = number(typed)
    read_in = name or unit
    if read_in in _METRIC and (typed[-1] in VULGAR or "/" in typed):
        bare = "" if name else " A bare number is read in mm here."
        way = f"{decimal(value, 3)} {read_in}" if 1000 % value.denominator == 0 else f"decimals of {read_in}"
        raise EntryError(
            "A fraction of a metric unit",
            f"A fraction of {read_in} is not read.{bare}",
            fix=f"Type {way}, or {_mixed(value)} in for inches.",
        )
    return value * _INCHES[read_in]


def _feet_and_inches(feet_typed: str, inches_typed: str) -> Fraction:
    feet, inches = number(feet_typed), number(inches_typed)
    if not feet_typed.isdecimal():
        raise EntryError(
            "Part of a foot beside inches",
            "Feet with inches after them are whole feet.",
            fix="Type whole feet and inches, as in 2 ft 6 in, or feet alone, as in 2.5 ft.",
        )
    if inches >= 12 or re.match("[0-9]{3,}(?![0-9/])", inches_typed):
        total = feet * 12 + inches
        raise EntryError(
            "Twelve inches or more after feet",
            "The inches after feet are less than 12, in no more than two digits.",
            fix=f"Type {show(total, 'in')}, or {total // 12} ft {show(total % 12, 'in')}, if that is meant.",
        )
    return feet * 12 + inches


def _half_named(which: str) -> EntryError:
    return EntryError(
        "A side without a unit",
        f"One side names its unit and the {which} does not.",
        fix="Name the unit of both, as in 11 in x 11 in.",
    )


def _refuse(text: str, reasons: Iterable[_Reason]) -> None:
    for pattern, title, what, fix in reasons:
        if pattern.search(text):
            raise EntryError(title, what, fix=fix)


def _explain(plain: str) -> NoReturn:
    """Say why no length can be read in a text."""
    refuse_spelling(plain)
    _refuse(plain, (*_PUNCTUATION, *_LENGTH))
    words = re.findall(r"[a-z]+|['\"]", plain)
    strange = [word for word in words if word not in _UNIT_OF]
    units = [_UNIT_OF[word] for word in words if word in _UNIT_OF]
    if len(units) > 1 and units != ["ft", "in"]:
        raise EntryError(
            "More than one unit",
            "Only feet and inches are read together, and each once.",
            fix="Type one number with one unit, or feet and inches, as in 2 ft 6 in.",
        )
    _refuse(plain, (_AFTER_UNIT,))
    refuse_marking(plain)
    refuse_character(plain)
    if strange and re.fullmatch(rf"{NUMBER} ?[a-z]+\.?", plain):
        raise EntryError(
            "Not a unit of length",
            f"{strange[0]} is not a unit of length that is read here.",
            fix="Use in, ft, mm, cm or m.",
        )
    if strange:
        raise EntryError("Words", f"The word {strange[0]} is not read as a length.", fix=_PLAIN_LENGTH)
    if not any(sign in "0123456789" or sign in VULGAR for sign in plain):
        raise EntryError("No number", "No number stands here.", fix=_PLAIN_LENGTH)
    raise EntryError("Not a length", "No length can be read here.", fix=_PLAIN_LENGTH)


def _name(sign: str) -> str:
    return f"{unicodedata.name(sign, 'a control character').lower()} (U+{ord(sign):04X})"
