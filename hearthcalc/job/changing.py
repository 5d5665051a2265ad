"""A document with one thing changed."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from hearthcalc import lengths
from hearthcalc.entry import FieldSpec, Size, bare, shown
from hearthcalc.errors import EntryError
from hearthcalc.job.addresses import FIELDS, join_address, names, no_entry, node_at, parse_address
from hearthcalc.job.record import FORMAT, VERSION, Job, T, with_values
from hearthcalc.lengths import Unit
from hearthcalc.tables import Document, Sub, Table


def blank(units: Unit = "in") -> Document:
    """The document of a new job: one face, nothing measured."""
    face = {"name": "room", "side": "front"}
    return {"format": FORMAT, "version": VERSION, "units": units, "face": [face]}


def set_entry(document: Mapping[str, Any], address: str, value: object | None) -> Document:
    """A new document with one entry changed, or taken out where the value is None; the old one is left as it is.

    address: of an entry, or of one thing of a list.  Tables and things on the way are made where they are missing;
    a table that is left empty goes, and so does a planned thing that says no more than the name of a found one.
    Layers go by their number from the top, and one beyond the last adds one at the end; an emptied layer keeps its
    place, but for the last, which goes.
    The name of a face, a thing nearby or a roof is changed wherever it is used.
    Raises EntryError where there is no such entry, or the new name is taken.
    """
    parts = parse_address(address)
    if node_at(parts) is None:
        raise no_entry(address)
    listed = parts[1:] if parts[0] == "planned" else parts
    if len(listed) == 3 and listed[0] in ("face", "nearby", "roof") and listed[2] == "name":
        return _renamed(document, listed[0], listed[1], value)
    changed = _set(dict(document), Job, parts, value)
    if value is None and parts[0] == "planned":
        _drop_idle(changed, listed[0])
    return changed


def with_amounts(table: T, values: Mapping[tuple[str, ...], Any]) -> T:
    """A record with other values at some entries that it has, by the parts of their addresses; sides of a size as a and b."""
    below: dict[str, dict[tuple[str, ...], Any]] = {}
    changed: dict[str, Any] = {}
    for (key, *rest), value in values.items():
        if rest:
            below.setdefault(key, {})[tuple(rest)] = value
        else:
            changed[key] = value
    for key, inside in below.items():
        old = getattr(table, key)
        if isinstance(old, Size):
            changed[key] = replace(old, **{side: value for (side,), value in inside.items()})
        else:
            changed[key] = _in_list(old, inside) if isinstance(old, tuple) else with_amounts(old, inside)
    return with_values(table, changed)


def _in_list(things: tuple[T, ...], values: Mapping[tuple[str, ...], Any]) -> tuple[T, ...]:
    mine: dict[str, dict[tuple[str, ...], Any]] = {}
    for (name, *rest), value in values.items():
        mine.setdefault(name, {})[tuple(rest)] = value
    called = names(things, type(things[0]))
    return tuple(
        with_amounts(thing, mine[name]) if name in mine else thing
        for name, thing in zip(called, things, strict=True)
    )


def _set(table: Mapping[str, Any], kind: type[Table], parts: Sequence[str], value: object | None) -> Document:
    key, *rest = parts
    node = kind.fields[key]
    changed = dict(table)
    new: Any = value
    if rest and isinstance(node, Sub):
        old = table.get(key)
        if node.many:
            new = _set_in_list(old if isinstance(old, list | tuple) else [], node, rest, value)
        else:
            new = _set(old if isinstance(old, Mapping) else {}, node.table, rest, value)
        new = new or None
    changed[key] = new
    if new is None:
        del changed[key]
    return changed


def _set_in_list(things: Sequence[Any], sub: Sub, parts: Sequence[str], value: object | None) -> list[Any]:
    name, *rest = parts
    changed = list(things)
    called = names(things, sub.table)
    if name not in called:
        if value is None:
            return changed
        if not sub.named and not _beyond(name, len(called)):
            raise EntryError(
                "Not a number", f"{shown(name)} is not the number of a layer.", fix="Count them from the top."
            )
        called.append(name)
        changed.append({"name": name} if sub.named else {})
    place = called.index(name)
    old = changed[place]
    if rest:
        changed[place] = _set(old if isinstance(old, Mapping) else {}, sub.table, rest, value)
        if not sub.named and not changed[place] and place == len(changed) - 1:
            del changed[place]
    elif value is None:
        del changed[place]
    else:
        changed[place] = value
    return changed


def _beyond(name: str, count: int) -> bool:
    """Is this the number of a thing after so many."""
    return re.fullmatch("[1-9][0-9]{0,5}", name) is not None and int(name) > count


def _drop_idle(document: Document, key: str) -> None:
    """Take planned things that say only the name of a found one out of a document of one's own."""
    planned, found = document.get("planned"), document.get(key)
    if (
        key not in ("face", "nearby", "roof")
        or not isinstance(planned, Mapping)
        or not isinstance(found, list)
    ):
        return
    said = [thing for thing in found if isinstance(thing, Mapping)]
    idle = [{"name": thing["name"]} for thing in said if "name" in thing]
    kept = [thing for thing in planned.get(key, ()) if thing not in idle]
    rest = {**planned, key: kept} if kept else {name: part for name, part in planned.items() if name != key}
    document["planned"] = rest
    if not rest:
        del document["planned"]


def _renamed(document: Mapping[str, Any], key: str, old: str, value: object | None) -> Document:
    """A document in which a face, a thing or a roof has another name wherever it is named."""
    kind: type[Table] = Job.fields[key].table  # type: ignore[union-attr]
    new = FIELDS[f"{key}.name"].read(value if value is not None else "", None)
    planned = document.get("planned")
    parts = [document, *([planned] if isinstance(planned, Mapping) else [])]
    lists = [part[key] if isinstance(part.get(key), list) else [] for part in parts]
    if new != old and any(new in names(things, kind) for things in lists):
        raise EntryError(
            "Taken", f"Another {key} is called {shown(new)}.", fix="Give each a name of its own."
        )
    if not any(old in names(things, kind) for things in lists):
        raise no_entry(join_address((key, old)))

    def refer(part: Mapping[str, Any]) -> Document:
        changed = dict(part)
        if isinstance(part.get(key), list):
            called = names(part[key], kind)
            changed[key] = [
                {**thing, "name": new} if name == old and isinstance(thing, Mapping) else thing
                for thing, name in zip(part[key], called, strict=True)
            ]
        if key == "face" and isinstance(part.get("nearby"), list):
            changed["nearby"] = [
                {**thing, "face": new} if isinstance(thing, Mapping) and thing.get("face") == old else thing
                for thing in part["nearby"]
            ]
        if isinstance(part.get("photo"), list):
            changed["photo"] = [
                {**photo, "shows": new} if isinstance(photo, Mapping) and photo.get("shows") == old else photo
                for photo in part["photo"]
            ]
        site = part.get("site")
        if key == "face" and isinstance(site, Mapping) and site.get("wind_on") == old:
            changed["site"] = {**site, "wind_on": new}
        return changed

    changed = refer(document)
    if isinstance(planned, Mapping):
        changed["planned"] = refer(planned)
    return changed


def with_units(document: Mapping[str, Any], unit: Unit, *, turned: bool = False) -> Document:
    """A document whose bare numbers mean another unit from now on; its lengths stay, each with its old unit written out.

    turned: as bare numbers of the new unit, where these say them exactly.
    """
    old = document.get("units", "in")
    if old not in ("in", "mm"):
        return {**document, "units": unit}

    def written(text: str) -> str:
        return lengths.in_other(text, old, unit) if turned and old != unit else lengths.with_unit(text, old)

    return {**_with_lengths(document, Job, written), "units": unit}


def _with_lengths(table: Mapping[str, Any], kind: type[Table], written: Callable[[str], str]) -> Document:
    changed = dict(table)
    for key, node in kind.fields.items():
        value = table.get(key)
        if isinstance(node, Sub) and node.many and isinstance(value, list | tuple):
            changed[key] = [
                _with_lengths(thing, node.table, written) if isinstance(thing, Mapping) else thing
                for thing in value
            ]
        elif isinstance(node, Sub) and isinstance(value, Mapping):
            changed[key] = _with_lengths(value, node.table, written)
        elif isinstance(node, FieldSpec) and node.kind in ("length", "size") and value is not None:
            try:
                changed[key] = written(bare(value, "a length"))
            except EntryError:
                continue
    return changed
