"""Entries as the screen shows and takes them: text to what a document holds, and back; what was understood of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from hearthcalc import lengths
from hearthcalc.errors import EntryError
from hearthcalc.job import Amount, FieldSpec, Size, Table
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain

Document = dict[str, Any]

NONE = "none"
NEW_LINE = "¶"  # stands for one in the notes, which are typed in one row
DIFFERENCES_SHOWN = 12


def value_of(spec: FieldSpec, text: str) -> object | None:
    """What the document holds for a text; None for nothing."""
    typed = text.strip()
    if not typed:
        return None
    if spec.kind == "bool":
        return {"yes": True, "no": False}.get(typed, typed)
    if spec.kind == "list":
        if typed == NONE:
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
        return spec.show(value.value, unit)
    return text_of(value)


def usual_of(spec: FieldSpec, unit: lengths.Unit) -> str:
    if spec.usual is None:
        return ""
    low, high = (spec.show(bound, unit) for bound in spec.usual)
    return f"Usual: {low} to {high}"


def differences(one: Document, other: Document) -> Iterator[str]:
    """What differs between two documents, one line an entry."""
    before, after = dict(_leaves(one)), dict(_leaves(other))
    changed = [key for key in dict.fromkeys([*before, *after]) if before.get(key) != after.get(key)]
    for key in changed[:DIFFERENCES_SHOWN]:
        yield f"{plain(key, 60)}: {plain(before.get(key, 'nothing'), 30)} {GLYPHS.arrow} {plain(after.get(key, 'nothing'), 30)}"
    if len(changed) > DIFFERENCES_SHOWN:
        yield f"and {len(changed) - DIFFERENCES_SHOWN} more"


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
        yield ".".join(path), text_of(value)
