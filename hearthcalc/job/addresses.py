"""Addresses of entries: keys parted by points, things of a list by their name, quoted where it is not one bare word."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import chain
from typing import Any, get_args

from msgspec.structs import replace

from hearthcalc.entry import FieldSpec, clean, shown
from hearthcalc.errors import EntryError
from hearthcalc.job.record import Job
from hearthcalc.tables import Planned, Sub, Table, What

Path = tuple[str | int, ...]


def _specs(table: type[Table], prefix: str = "") -> Iterator[tuple[str, FieldSpec]]:
    for key, node in table.fields.items():
        if isinstance(node, FieldSpec):
            yield prefix + key, node
        elif key != "planned":
            if node.spec:
                yield prefix + key, node.spec
            yield from _specs(node.table, f"{prefix}{key}.")


FIELDS: Mapping[str, FieldSpec] = {
    key: replace(spec, key=key) for key, spec in dict(chain(_specs(Planned), _specs(Job))).items()
}

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PART = re.compile(r'([A-Za-z0-9_-]+)|"((?:[^"\\]|\\.)*)"')


def join_address(parts: Iterable[str]) -> str:
    """An address from its parts: ("face", "east room", "width") is face."east room".width."""
    return _joined(tuple(parts))


@lru_cache(maxsize=4096)
def _joined(parts: tuple[str, ...]) -> str:
    return ".".join(part if _BARE.fullmatch(part) else f'"{_escaped(part)}"' for part in parts)


def _escaped(part: str) -> str:
    return part.replace("\\", "\\\\").replace('"', '\\"')


@lru_cache(maxsize=4096)
def parse_address(address: str) -> tuple[str, ...]:
    """The parts of an address. Raises EntryError where it is not one."""
    parts = []
    place = 0
    while match := _PART.match(address, place):
        bare, quoted = match.groups()
        parts.append(bare if quoted is None else re.sub(r"\\(.)", r"\1", quoted))
        if match.end() == len(address):
            return tuple(parts)
        if address[match.end()] != ".":
            break
        place = match.end() + 1
    raise EntryError(
        "Not an address", f"{shown(address)} is not an address.", fix="Write it as in face.study.width."
    )


@lru_cache(maxsize=4096)
def spec_of(address: str) -> FieldSpec:
    """What there is to know of the entry at an address, found or planned. Raises EntryError where there is no such entry."""
    parts = parse_address(address)
    node = node_at(parts)
    if isinstance(node, Sub) or node is None:
        raise no_entry(address)
    return node


def no_entry(address: str) -> EntryError:
    return EntryError(
        "No such entry", f"{shown(address)} is not an entry of a job.", fix="Write it as in face.study.width."
    )


def node_at(parts: Sequence[str]) -> FieldSpec | Sub | None:
    """What stands at an address: an entry (with its key), a table or one thing of a list, or nothing."""
    table: type[Table] = Job
    keys: list[str] = []
    node: FieldSpec | Sub | None = None
    rest = list(parts)
    while rest:
        key = rest.pop(0)
        node = table.fields.get(key)
        if key != "planned":
            keys.append(key)
        if isinstance(node, Sub):
            table = node.table
            if node.many and not rest:
                return FIELDS[".".join(keys)]
            if node.many:
                rest.pop(0)
        elif node is None or rest:
            return None
        else:
            return FIELDS[".".join(keys)]
    return node


def names(things: Iterable[Any], kind: type[Table]) -> list[str]:
    """What the things of a list are called in addresses: by name, else by what they are; by number where they have none.

    things: tables of a document, or of the record.
    """
    rows = [
        thing if isinstance(thing, Mapping) else thing.__dict__ if isinstance(thing, Table) else {}
        for thing in things
    ]
    if "name" not in kind.fields:
        return [str(number) for number in range(1, len(rows) + 1)]
    given = [clean(row["name"]) if isinstance(row.get("name"), str) else "" for row in rows]
    taken = set(given)
    counts: dict[str, int] = {}
    called = []
    for row, name in zip(rows, given, strict=True):
        what = row.get("what")
        word = what if isinstance(what, str) and what in get_args(What) else kind.DEFAULT_NAME
        while not name:
            counts[word] = counts.get(word, 0) + 1
            default = word if counts[word] == 1 else f"{word} {counts[word]}"
            name = "" if default in taken else default
        called.append(name)
    return called


def address_of(document: Mapping[str, Any], path: Path) -> str:
    """The address of a place in a document."""
    parts: list[str] = []
    table: type[Table] = Job
    here: Any = document
    node: FieldSpec | Sub | None = None
    for step in path:
        if isinstance(step, int):
            if not isinstance(node, Sub):
                break
            parts.append(names(here, node.table)[step])
        else:
            node = table.fields.get(step)
            table = node.table if isinstance(node, Sub) else table
            parts.append(step)
        here = item_at(here, step)
    return join_address(parts)


def item_at(here: Any, step: str | int) -> Any:
    if isinstance(here, Mapping):
        return here.get(step)
    return (
        here[step] if isinstance(here, list | tuple) and isinstance(step, int) and step < len(here) else None
    )


def locate(document: Mapping[str, Any], address: str) -> Path:
    """The place of an address in a document, lists by index; as much of it as is there."""
    path: list[str | int] = []
    table: type[Table] = Job
    here: Any = document
    rest = list(parse_address(address))
    while rest and isinstance(here, Mapping) and rest[0] in here:
        key = rest.pop(0)
        path.append(key)
        here = here[key]
        node = table.fields.get(key)
        if not isinstance(node, Sub):
            break
        table = node.table
        if node.many and rest and isinstance(here, list | tuple):
            called = names(here, table)
            name = rest.pop(0)
            if name not in called:
                break
            path.append(called.index(name))
            here = here[called.index(name)]
    return tuple(path)


def get(job: Job, address: str) -> Any:
    """The value of the record at an address, None where it is not known."""
    value: Any = job
    for part in parse_address(address):
        if isinstance(value, tuple):
            called = names(value, type(value[0])) if value and isinstance(value[0], Table) else []
            value = value[called.index(part)] if part in called else None
        else:
            value = getattr(value, part, None)
        if value is None:
            return None
    return value


def typed(document: Mapping[str, Any], address: str) -> Any:
    """What a document holds at an address, also where it cannot be read; None where it holds nothing."""
    path = locate(document, address)
    here: Any = document if len(path) == len(parse_address(address)) else None
    for step in path:
        here = item_at(here, step)
    return here


def entries(job: Job) -> Iterator[tuple[str, FieldSpec, Any]]:
    """Every entry that is known: its address, what there is to know of it, its value; in the order of the file."""
    return _entries(job, (), "")


def _entries(table: Table, parts: tuple[str, ...], key: str) -> Iterator[tuple[str, FieldSpec, Any]]:
    for name, node in type(table).fields.items():
        value = getattr(table, name)
        if name not in table.entered or value is None:
            continue
        under = f"{key}{name}"
        if isinstance(node, FieldSpec):
            yield join_address((*parts, name)), FIELDS[under], value
        elif not node.many:
            yield from _entries(value, (*parts, name), "" if name == "planned" else f"{under}.")
        else:
            for thing, called in zip(value, names(value, node.table), strict=True):
                yield from _entries(thing, (*parts, name, called), f"{under}.")
