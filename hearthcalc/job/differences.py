"""What differs between two records of one job, by address."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from hearthcalc.job.addresses import join_address
from hearthcalc.job.record import Job, Stage
from hearthcalc.tables import Table

Path = tuple[str, ...]


def shape(job: Job) -> tuple[Any, ...]:
    """What all addresses of a job go by: its units, and the names in its lists."""
    lists = (job.face, job.nearby, job.roof, job.air.fans or (), *_planned_lists(job))
    return (job.units, *(_names(things) for things in lists))


def _planned_lists(job: Job) -> Iterator[tuple[Any, ...]]:
    yield from (job.planned.face, job.planned.nearby, job.planned.roof, job.planned.air.fans or ())


def differences(old: Job, new: Job) -> set[str]:
    """The addresses of all entries that differ between two jobs of one shape, and of the tables and things that they are in."""
    return {
        join_address(path[:length]) for path in _differing(old, new, ()) for length in range(1, len(path) + 1)
    }


def of_stages(old: Stage, new: Stage) -> set[str]:
    """As differences, with the entries that the plan moves or takes the ground from otherwise than before."""
    return differences(old.job, new.job) | of_maps(old.voided, new.voided) | of_maps(old.moved, new.moved)


def of_maps(old: Mapping[str, Any], new: Mapping[str, Any]) -> set[str]:
    """The keys under which two maps do not hold the same."""
    return {key for key in {*old, *new} if old.get(key) != new.get(key)}


def _differing(old: Any, new: Any, path: Path) -> Iterator[Path]:
    if isinstance(old, Table) and isinstance(new, Table):
        for key, value in old.__dict__.items():
            other = new.__dict__[key]
            if value is not other:
                yield from _differing(value, other, (*path, key))
        yield from ((*path, key) for key in old.model_fields_set ^ new.model_fields_set)
    elif _by_name(old) and _by_name(new):
        for name, one, other in zip(_names(old), old, new, strict=True):
            yield from _differing(one, other, (*path, name))
    elif old != new:
        yield path


def _by_name(value: Any) -> bool:
    return isinstance(value, tuple) and bool(value) and hasattr(value[0], "name")


def _names(things: Iterable[Any]) -> tuple[str, ...]:
    return tuple(thing.name or "" for thing in things)
