"""One entry of a job: its label, unit, ranges and how to measure it, and how what was typed becomes a value."""

from __future__ import annotations

import datetime as dt
import difflib
import math
import re
import unicodedata
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Literal

from msgspec import Struct

from hearthcalc import lengths, quantities
from hearthcalc.errors import EntryError
from hearthcalc.lengths import Unit

Kind = Literal[
    "length", "area", "volume", "flow", "power", "temperature", "speed", "pressure", "area_load", "line_load",
    "resistance", "leakage", "angle", "pitch", "ratio", "count", "size", "choice", "bool", "text", "date",
    "version", "list",
]  # fmt: skip
Form = Literal["prose", "notes", "name", "code", "liner"]
Range = tuple[Fraction, Fraction]

LARGEST_NUMBER = 10**12
MOST_ITEMS = 1000  # of one list: far more than a fireplace has
NOTHING = ("none", "no", "-", "nothing")  # what people write where there is nothing
WITH_ZERO = (
    "area",
    "flow",
    "power",
    "volume",
    "line_load",
    "area_load",
)  # of none of these, no unit is needed
NO_WORDS: Mapping[str, str] = MappingProxyType({})

_HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}
_PARTING = "\t\n\v\f\r\x85\u2028\u2029"
_FORMULA = re.compile(r"(?!-[0-9.]+(?:e[-+]?[0-9]+)?$)[=+\-@\t\r\n|＝＋－＠]")
_BY = re.compile(r"\s*(?:[x×]|\bby\b)\s*")


class Amount(Struct, frozen=True):
    """A quantity of the record. value: canonical (inch, in2, ...), exact.  text: as typed.

    intended: a planned dimension, or one of a job that is not measured: it carries no tolerance.
    unit: that it was typed in, by the name that `quantities` prints; "" for a length, a count and a plain number.
    """

    value: Fraction
    text: str
    intended: bool = False
    unit: str = ""


class Size(Struct, frozen=True):
    """Two sides of one thing, as typed together."""

    a: Amount
    b: Amount
    text: str


class Between(Struct, frozen=True):
    """The two parts of the house that a measurement runs between, from start up, out or to the right.

    moves: which of them a planned change of it moves.  told_by: the entry that tells where the other one then is; unless that is
    planned too, neither is known.  follows: where the other one moves and this is not planned anew, it is not known where the part
    that it moves, or its end, then is.
    past_zero: a reading of 0 also stands for a part that is past the other.
    """

    start: str
    end: str
    moves: Literal["start", "end", "neither"] = "end"
    told_by: str = ""
    follows: bool = False
    past_zero: bool = False


class FieldSpec(Struct, frozen=True, eq=False):
    """What a person has to know to fill in an entry.

    key: its place in the file without names ("face.hearth.front").  kind: what is read.
    hard: outside, refused.  usual: outside, asked about.  Both canonical; checks on entry that are common
    practice and have no source, on which no verdict rests.
    choices: the words it takes, with a few more in `words` where useful.  form: of a text.
    how: where to put the tape.
    between: the parts it was taken from, which gives it anew where they move.  rests_on: parts without which it says nothing any more
    when they move.  changes: parts that are others when it is planned anew.
    none_is_empty: of a text, "none" says that there is nothing, as an empty text does.
    """

    label: str
    kind: Kind
    how: str
    hard: Range | None = None
    usual: Range | None = None
    choices: tuple[str, ...] = ()
    words: Mapping[str, str] = NO_WORDS
    form: Form = "code"
    key: str = ""
    between: Between | None = None
    rests_on: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    none_is_empty: bool = False

    @property
    def unit(self) -> str:
        """The unit of its canonical value, "" where it has none."""
        return "in" if self.kind in ("length", "size") else quantities.DIMENSIONS.get(self.kind, "")

    def read(self, value: object, unit: Unit | None) -> Any:
        """The value of the record for an entry.

        unit: of bare lengths, None where that cannot be read.  Raises EntryError.
        """
        return _READERS.get(self.kind, _read_quantity)(self, value, unit)

    def show(self, value: Fraction, unit: Unit) -> str:
        """A canonical value as a person types it."""
        if self.kind in ("length", "size"):
            return lengths.show_height(value, unit)
        return str(value) if self.kind == "count" else quantities.show(value, self.kind)


def clean(text: str, *, keep: str = "") -> str:
    """Text without control and direction characters; those that part words become spaces.

    keep: characters that may stay.
    """
    return visible(text, keep=keep).strip()


def visible(text: str, *, keep: str = "") -> str:
    """The same with the blanks at its ends, as lines are set in."""
    if text.isprintable():
        return text
    plain = text.replace("\r\n", "\n")
    signs = (sign if sign in keep or not hidden(sign) else " " if sign in _PARTING else "" for sign in plain)
    return "".join(signs)


def hidden(sign: str) -> bool:
    """Is this a control, direction or other character that does not show?"""
    return unicodedata.category(sign) in _HIDDEN


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula: one that would start as such begins with an apostrophe, but not a number below 0."""
    return f"'{text}" if _FORMULA.match(text) else text


def shown(value: object) -> str:
    """Any value of a file, short, as a message quotes it."""
    if isinstance(value, Mapping):
        return "A table"
    if isinstance(value, list | tuple):
        return "A list"
    short = cut(str(value).lower() if isinstance(value, bool) else str(value))
    return f'"{short}"' if isinstance(value, str) else short


def cut(text: str, most: int = 40, end: int = 0) -> str:
    """What a person or a file gave, as a message names it: on one line, nothing hidden in it, and short. end: of it, how much to keep."""
    text = clean(text)
    return text if len(text) <= most + end else f"{text[:most]}...{text[len(text) - end :]}"


def bare(value: Any, asked: str) -> str:
    """An entry as text: what was typed, or the digits of a number. asked: what it should be. Raises EntryError."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool) or not isinstance(value, int | float | Fraction):
        raise EntryError(
            "Not readable", f"{shown(value)} is not {asked}.", fix="Write it in quotes, or as a plain number."
        )
    if isinstance(value, float) and not math.isfinite(value):
        raise EntryError(
            "Not a number",
            f"{value} is not a measurement.",
            fix="Write what was measured, or leave the key out.",
        )
    if abs(Fraction(value)) > LARGEST_NUMBER:
        raise EntryError(
            "Too large", "The number is too large to be a measurement.", fix="Write what was measured."
        )
    if not isinstance(value, Fraction):
        return str(value)
    places = next((p for p in range(19) if (value * 10**p).denominator == 1), None)
    return str(value) if places is None else lengths.decimal(value, places)


def _read_length(spec: FieldSpec, value: object, unit: Unit | None) -> Amount:
    return _parsed(spec, bare(value, "a length"), unit)


def _read_quantity(spec: FieldSpec, value: object, unit: Unit | None) -> Amount | str:
    if isinstance(value, str) and value in spec.choices:
        return value
    words = f" Or write one of: {', '.join(spec.choices)}." if spec.choices else ""
    if not isinstance(value, str) and spec.kind not in ("ratio", "count"):
        assert spec.usual is not None
        example = quantities.show(spec.usual[1], spec.kind)
        fix = f'Write it in quotes with its unit, as in "{example}".{words}'
        raise EntryError("No unit", f"{shown(value)} is not text with a unit.", fix=fix)
    try:
        return _parsed(spec, bare(value, "a number"), unit)
    except EntryError as err:
        raise EntryError(err.title, err.what, fix=err.fix + words) from None


@lru_cache(maxsize=8192)
def _parsed(spec: FieldSpec, text: str, unit: Unit | None) -> Amount:
    if (
        text.strip().lower() in (*NOTHING, "0")
        and spec.kind in ("length", *WITH_ZERO)
        and spec.hard
        and not spec.hard[0]
    ):
        value = Fraction(0)
    elif spec.kind == "length":
        plain, sign = _signed(text) if spec.hard and spec.hard[0] < 0 else (text, 1)
        value = sign * lengths.parse(plain, _unit_for(plain, unit))
    elif spec.kind == "count":
        if not re.fullmatch("[0-9]{1,6}", text):
            raise EntryError(
                "Not a whole number",
                f"{shown(text)} is not a whole number.",
                fix="Write digits alone, as in 2.",
            )
        value = Fraction(text)
    else:
        value, typed = quantities.parse_with_unit(text, spec.kind)
        return Amount(_within(spec, value, unit), text, unit=typed)
    return Amount(_within(spec, value, unit), text)


def _signed(text: str) -> tuple[str, int]:
    """A length that may be below, without what says so: "-54" and "54 in below" are both 54 in, downward."""
    plain = text.strip()
    if plain.endswith("below"):
        return plain.removesuffix("below").rstrip(), -1
    return (plain[1:].lstrip(), -1) if plain[:1] in ("-", "\u2212") else (plain, 1)


def _unit_for(text: str, unit: Unit | None) -> Unit:
    """The unit to read lengths in: a bare number is refused where the unit of bare numbers cannot be read."""
    if unit is None and lengths.with_unit(text, "in") != text:
        raise EntryError(
            "No unit",
            f"{shown(text)} has no unit, and units cannot be read.",
            fix='Write units = "in" or units = "mm" at the top.',
        )
    return unit or "in"


def _within(spec: FieldSpec, value: Fraction, unit: Unit | None) -> Fraction:
    if spec.hard and not spec.hard[0] <= value <= spec.hard[1]:
        low, high = (spec.show(bound, unit or "in") for bound in spec.hard)
        raise EntryError(
            "Out of range",
            f"{spec.show(value, unit or 'in')} is outside {low} to {high}.",
            fix="Measure it again, and look at its unit.",
        )
    return value


def _read_size(spec: FieldSpec, value: object, unit: Unit | None) -> Size:
    if not isinstance(value, str):
        raise EntryError(
            "Two sides are needed",
            f"{shown(value)} is not a size.",
            fix='Write two sides in quotes, as in "11 1/4 x 11 1/4".',
        )
    sides = lengths.parse_pair(value, _unit_for(value, unit))
    a, b = (Amount(_within(spec, side, unit), lengths.show(side, unit or "in")) for side in sides)
    return Size(a, b, value)


def _read_choice(spec: FieldSpec, value: object, unit: Unit | None) -> str:
    if isinstance(value, str) and value in spec.choices:
        return value
    near = difflib.get_close_matches(value, spec.choices, 1) if isinstance(value, str) else []
    hint = f'Did you mean "{near[0]}"? ' if near else ""
    raise EntryError(
        "Not a valid choice",
        f"{shown(value)} is not a valid choice.",
        fix=f"{hint}Write one of: {', '.join(spec.choices)}.",
    )


def _read_bool(spec: FieldSpec, value: object, unit: Unit | None) -> bool:
    if isinstance(value, bool):
        return value
    raise EntryError(
        "Not true or false",
        f"{shown(value)} is neither true nor false.",
        fix="Write true or false, without quotes.",
    )


def _read_text(spec: FieldSpec, value: object, unit: Unit | None) -> str:
    text = bare(value, "a size") if spec.form == "liner" else value
    if not isinstance(text, str):
        raise EntryError("Not text", f"{shown(value)} is not text.", fix="Write it in quotes.")
    if spec.form in ("code", "liner") and any(map(hidden, text)):
        raise EntryError(
            "A hidden character",
            f"{shown(text)} holds a character that does not show.",
            fix="Delete the entry and type it anew.",
        )
    text = clean(text, keep="\n" if spec.form == "notes" else "")
    if spec.none_is_empty and text.lower() in NOTHING:
        return ""
    if not text and spec.form not in ("prose", "notes"):
        raise EntryError(
            "Nothing typed", "The entry is empty.", fix="Leave the key out where it is not known."
        )
    return _BY.sub("x", text.lower()) if spec.form == "liner" else text


def _read_date(spec: FieldSpec, value: object, unit: Unit | None) -> dt.date:
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value
    if isinstance(value, str) and re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            pass
    raise EntryError(
        "Not a date", f"{shown(value)} is not a day.", fix="Write year-month-day, as in 2026-05-04."
    )


def _read_version(spec: FieldSpec, value: object, unit: Unit | None) -> int:
    if value == 1 and type(value) is int:
        return value
    said = "A number with a point" if isinstance(value, Fraction) else shown(value)
    raise EntryError(
        "Another version", f"{said} is not a version that is read here.", fix="Write version = 1."
    )


def read_list(value: object) -> tuple[object, ...]:
    """The items of a list, still unread. Raises EntryError."""
    if not isinstance(value, list | tuple):
        fix = "Write it as a list in square brackets, or as [[name]] tables."
        raise EntryError("Not a list", f"{shown(value)} is not a list.", fix=fix)
    if len(value) > MOST_ITEMS:
        what = f"{len(value)} entries stand in one list, and no more than {MOST_ITEMS} are read."
        raise EntryError("Too long a list", what, fix="Is it the right file?")
    return tuple(value)


_READERS: dict[str, Callable[[FieldSpec, Any, Unit | None], Any]] = {
    "length": _read_length,
    "size": _read_size,
    "choice": _read_choice,
    "bool": _read_bool,
    "text": _read_text,
    "date": _read_date,
    "version": _read_version,
}
