"""Entries as the screen shows and takes them: text to what a document holds, and back; what was understood of it."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from hearthcalc import lengths, quantities
from hearthcalc.entry import NOTHING
from hearthcalc.errors import EntryError
from hearthcalc.job import Amount, FieldSpec, Size, Table, join_address
from hearthcalc.rules.case import label
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain

Document = dict[str, Any]

NONE = "none"
NEW_LINE = "¶"  # stands for one in the notes, which are typed in one row
DIFFERENCES_SHOWN = 12


# The unit of a bare number where only one makes sense, by the unit of the job.
BARE: Mapping[tuple[str, str], str] = MappingProxyType({
    ("area", "in"): "in2", ("volume", "in"): "ft3", ("volume", "mm"): "m3", ("flow", "in"): "cfm", ("power", "in"): "Btu/h",
    ("temperature", "in"): "F", ("temperature", "mm"): "C", ("speed", "in"): "mph", ("pressure", "in"): "Pa",
    ("pressure", "mm"): "Pa", ("area_load", "in"): "lb/ft2", ("line_load", "in"): "lb/ft", ("leakage", "in"): "ACH50",
    ("leakage", "mm"): "ACH50", ("angle", "in"): "deg", ("angle", "mm"): "deg",
})  # fmt: skip
# The unit that a job prints in, where it is another than the record keeps.
PRINTED: Mapping[tuple[str, str], str] = MappingProxyType({
    ("temperature", "in"): "F", ("speed", "in"): "mph", ("power", "in"): "Btu/h", ("resistance", "in"): "h.ft2.F/Btu",
    ("area", "mm"): "mm2", ("volume", "mm"): "m3", ("flow", "mm"): "m3/h",
})  # fmt: skip
_BARE_NUMBER = re.compile(r"-?[0-9]+([.][0-9]+)?")
_LONG = {"in": ("ft", 12), "mm": ("m", 1000)}
_DATE = re.compile(r"([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{4})")


def meant(spec: FieldSpec, text: str, unit: lengths.Unit) -> str:
    """What a bare entry is taken as, with its unit, where only one makes sense; "" where it stands as it is typed."""
    typed = text.strip()
    if spec.kind == "date":
        days = days_of(typed)
        return days[0] if len(days) == 1 else ""
    if not _BARE_NUMBER.fullmatch(typed) or typed == "0":
        return ""
    if spec.kind == "pitch":
        return f"{typed}:12" if unit == "in" else ""
    if spec.kind == "length" and spec.hard and spec.usual:
        long, times = _LONG[unit]
        inches = Fraction(typed) * (1 if unit == "in" else Fraction(10, 254))
        never = inches < spec.hard[0] or spec.key == "site.altitude"
        return f"{typed} {long}" if never and spec.usual[0] <= inches * times <= spec.hard[1] else ""
    bare = BARE.get((spec.kind, unit))
    return f"{typed} {bare}" if bare else ""


def days_of(text: str) -> list[str]:
    """The days that a date may mean: today's, or month first and day first where both can be."""
    if text.lower() == "today":
        return [dt.date.today().isoformat()]
    match = _DATE.fullmatch(text)
    if match is None:
        return []
    one, other, year = map(int, match.groups())
    days = []
    for month, day in dict.fromkeys([(one, other), (other, one)]):
        with suppress(ValueError):
            days.append(dt.date(year, month, day).isoformat())
    return days


def value_of(spec: FieldSpec, text: str, unit: lengths.Unit = "in") -> object | None:
    """What the document holds for a text; None for nothing. unit: of the job, whose bare numbers are lengths."""
    typed = meant(spec, text, unit) or text.strip()
    if not typed:
        return None
    if spec.kind == "bool":
        return {"yes": True, "no": False}.get(typed, typed)
    if spec.kind == "list":
        if typed.lower() in (*NOTHING, "0"):
            return []
        return [part.strip() for part in typed.split(",") if part.strip()]
    return typed.replace(NEW_LINE, "\n") if spec.form == "notes" else typed


def text_of(value: object) -> str:
    """An entry as a person types it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Amount | Size):
        return value.text
    if isinstance(value, list | tuple):
        if not value:
            return NONE
        tables = any(isinstance(item, Mapping | Table) for item in value)
        return ("; " if tables else ", ").join(text_of(item) for item in value)
    if isinstance(value, Table):
        return text_of(value.document())
    if isinstance(value, Mapping):
        return " ".join(text_of(item) for item in value.values())
    return NEW_LINE.join(plain(row) for row in str(value).split("\n"))


def echo_of(spec: FieldSpec, value: object, text: str, unit: lengths.Unit) -> str:
    """What was understood of an entry, "" where nothing was."""
    if value is None or not text:
        return ""
    if spec.kind == "length":
        try:
            return lengths.echo(text, unit)
        except EntryError:
            return ""
    if isinstance(value, Size):
        return f"{lengths.show(value.a.value, unit)} x {lengths.show(value.b.value, unit)}"
    if isinstance(value, Amount):
        own = PRINTED.get((spec.kind, unit))
        return quantities.show(value.value, spec.kind, own) if own else spec.show(value.value, unit)
    return text_of(value)


def usual_of(spec: FieldSpec, unit: lengths.Unit) -> str:
    if spec.usual is None:
        return ""
    own = PRINTED.get((spec.kind, unit))
    low, high = (
        quantities.show_limit(bound, spec.kind, own, op="<=") if own else spec.show(bound, unit)
        for bound in spec.usual
    )
    return f"Usual: {low} to {high}"


def differences(one: Document, other: Document) -> Iterator[str]:
    """What differs between two documents, one line an entry."""
    before, after = dict(_leaves(one)), dict(_leaves(other))
    changed = [key for key in dict.fromkeys([*before, *after]) if before.get(key) != after.get(key)]
    for key in changed[:DIFFERENCES_SHOWN]:
        yield f"{plain(name_of(key), 60)}: {plain(before.get(key, 'nothing'), 30)} {GLYPHS.arrow} {plain(after.get(key, 'nothing'), 30)}"
    if len(changed) > DIFFERENCES_SHOWN:
        yield f"and {len(changed) - DIFFERENCES_SHOWN} more"


def name_of(address: str) -> str:
    """An entry by its label, as planned where it is; by its address where it is none."""
    try:
        named = label(address)
    except EntryError:
        return address
    return f"{named[:1].upper()}{named[1:]}{', as planned' if address.startswith('planned.') else ''}"


def _leaves(value: object, path: Sequence[str] = ()) -> Iterator[tuple[str, str]]:
    """Every entry of a document with its place."""
    if isinstance(value, Mapping):
        for key, held in value.items():
            yield from _leaves(held, (*path, str(key)))
    elif isinstance(value, list | tuple) and any(isinstance(item, Mapping) for item in value):
        for number, item in enumerate(value, 1):
            name = item.get("name", number) if isinstance(item, Mapping) else number
            yield from _leaves(item, (*path, str(name)))
    else:
        yield join_address(path), text_of(value)
