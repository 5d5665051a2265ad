"""What differs between two records of one job, by address."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from hearthcalc.job.addresses import join_address
from hearthcalc.job.record import Job, Stage
from hearthcalc.tables import Table

Path = tuple[str, ...]


class Reshaped(Exception):  # noqa: N818 - not a mistake: two jobs are too far apart
    """A list of one job does not hold things of the same names as that of another."""


def differences(old: Job, new: Job, compared: set[tuple[int, int]] | None = None) -> set[str]:
    """The addresses of all entries that differ between two jobs, and of the tables and things that they are in.

    compared: pairs of tables, by identity, that have been compared already and need no second look; grows by those of this call.
    Raises Reshaped where a list does not hold things of the same names, so that the addresses themselves are others.
    """
    return {
        join_address(path[:length])
        for path in _differing(old, new, (), set() if compared is None else compared)
        for length in range(1, len(path) + 1)
    }


def of_stages(old: Stage, new: Stage, compared: set[tuple[int, int]] | None = None) -> set[str]:
    """As differences, with the entries that the plan moves or takes the ground from otherwise than before."""
    return (
        differences(old.job, new.job, compared)
        | of_maps(old.voided, new.voided)
        | of_maps(old.moved, new.moved)
    )


def of_maps(old: Mapping[str, Any], new: Mapping[str, Any]) -> set[str]:
    """The keys under which two maps do not hold the same."""
    return {key for key in {*old, *new} if old.get(key) != new.get(key)}


def _differing(old: Any, new: Any, path: Path, compared: set[tuple[int, int]]) -> Iterator[Path]:
    if old is new or (id(old), id(new)) in compared:
        return
    if isinstance(old, Table) and isinstance(new, Table):
        compared.add((id(old), id(new)))
        for key, value in old.__dict__.items():
            other = new.__dict__[key]
            if value is not other:
                yield from _differing(value, other, (*path, key), compared)
        yield from ((*path, key) for key in old.entered ^ new.entered)
    elif _has_names(old) or _has_names(new):
        yield from _differing_things(old, new, path, compared)
    elif old != new:
        yield path


def _differing_things(old: Any, new: Any, path: Path, compared: set[tuple[int, int]]) -> Iterator[Path]:
    names = _names(old)
    if names != _names(new):
        raise Reshaped
    for name, one, other in zip(names, old, new, strict=True):
        yield from _differing(one, other, (*path, name), compared)


def _has_names(value: Any) -> bool:
    return isinstance(value, tuple) and bool(value) and hasattr(value[0], "name")


def _names(things: Iterable[Any] | None) -> tuple[str, ...]:
    return tuple(thing.name or "" for thing in things or ())
