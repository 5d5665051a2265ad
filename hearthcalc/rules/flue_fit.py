"""Whether a new liner goes down the chimney that stands: how far it reaches, and the clear space for it."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from msgspec import Struct

from hearthcalc.findings import Finding
from hearthcalc.reference import find_liner
from hearthcalc.rules.case import Case
from hearthcalc.rules.reading import Reading, corners, root


def diagonal(a: Fraction, b: Fraction) -> Fraction:
    """Corner to corner of a rectangle."""
    return root(a * a + b * b)


class Extent(Struct, frozen=True):
    """How far a thing reaches, or the clear space for one: its narrower and its wider side, or one diameter.

    exact: False where it is only known to be at least that (a liner by its inside) or at most that (a space by what is round it).
    """

    sides: tuple[Reading, ...]
    exact: bool = True


def by_size(sides: Iterable[Reading]) -> tuple[Reading, ...]:
    return tuple(sorted(sides, key=lambda side: side.value))


def outside(case: Case, entered: Iterable[str]) -> Extent | None:
    """How far the planned liner reaches: as entered for it, by a nominal size that is the outside, or at least as its inside.

    entered: the entries of the flue that the plan makes; the outside of the liner that stands is not that of a new one.
    """
    diameter = case.number("flue", "diameter").known
    size = case.word("flue", "liner").known
    shape = case.word("flue", "shape").known
    liner = find_liner(case.edition, size)[0] if size else None
    around = case.sides("flue", "outside").known if "outside" in entered else None
    inside = case.sides("flue", "inside").known
    if around:
        is_round = diameter or shape == "round" or (liner and liner.round)
        return Extent(by_size(around)[1:] if is_round else by_size(around))
    if liner:
        return Extent(by_size(map(Reading.exact, liner.sides)), exact=not liner.round)
    if diameter:
        return Extent((diameter,), exact=False)
    if inside:
        curved = shape in ("round", "oval")
        return Extent(by_size(inside)[1:] if curved else by_size(inside), exact=False)
    return None


def clear_space(case: Case, standing: Case) -> Extent | None:
    """The clear space for a liner: as entered, else the inside of the flue that stands, or at most its nominal outside size."""
    shaft = case.sides("flue", "shaft").known
    if shaft:
        return Extent(by_size(shaft))
    diameter = standing.number("flue", "diameter").known
    inside = standing.sides("flue", "inside").known
    shape = standing.word("flue", "shape").known
    size = standing.word("flue", "liner").known
    liner = find_liner(case.edition, size)[0] if size else None
    if diameter:
        return Extent((diameter,))
    if inside and shape == "round":
        return Extent(by_size(inside)[:1])
    if inside:
        return Extent(by_size(inside), exact=shape != "oval")
    if liner:
        return Extent(by_size(map(Reading.exact, liner.sides)), exact=liner.round)
    return None


def _pairs(outside: Extent, space: Extent) -> list[tuple[Reading, Reading, str]]:
    """What has to go through what, with the liner turned as it goes in best; across what."""
    if len(outside.sides) == 1:
        return [(outside.sides[0], space.sides[0], "")]
    if len(space.sides) == 1:
        return [(corners(diagonal, *outside.sides), space.sides[0], ", from corner to corner")]
    across = (", across its narrower side", ", across its wider side")
    return list(zip(outside.sides, space.sides, across, strict=True))


def _goes_in(outside: Extent, space: Extent) -> bool:
    return all(need.value <= room.value for need, room, _ in _pairs(outside, space))


def tightest(case: Case, outside: Extent, space: Extent, **more: Any) -> Finding:
    """The finding on the way in which the liner fits worst."""
    need, room, across = min(_pairs(outside, space), key=lambda pair: pair[1].value - pair[0].value)
    return case.judge(
        "<=",
        need,
        room,
        what="The new liner is" if outside.exact else "The new liner is at least",
        after=f" outside{across}",
        remedy=lambda: smaller(case, space),
        **more,
    )


def smaller(case: Case, space: Extent | None) -> tuple[str, ...]:
    """A smaller liner, by name where the clear space is known and the tables hold one for it, or a rebuild."""
    fitting = [
        liner
        for liner in case.edition.liners("rectangular")
        if space and space.exact and _goes_in(Extent(by_size(map(Reading.exact, liner.sides))), space)
    ]
    known = f": {fitting[-1].name} in is the largest clay liner of the tables that goes in" if fitting else ""
    old = "Where the old liner comes out first, enter the clear space that leaves (flue.shaft)."
    return (
        f"Use a smaller liner{known}.",
        "Or rebuild the chimney around it: a liner larger than what stands is a rebuild, not a reline.",
        *(() if case.sides("flue", "shaft").known else (old,)),
    )


def undecided(case: Case, outside: Extent | None, space: Extent | None) -> str:
    """What is known of the liner and of the space for it, and what would decide."""

    def shown(extent: Extent) -> str:
        return " x ".join(map(case.length, extent.sides)) + (" across" if len(extent.sides) == 1 else "")

    told, decide = [], []
    if outside is None or not outside.exact:
        decide.append("the outside of the liner (flue.outside)")
    if outside is None:
        told.append("How far the new liner reaches outside is not known.")
    else:
        told.append(
            f"The new liner is {shown(outside)} {'outside' if outside.exact else 'inside, and more outside'}."
        )
    if space is None or not space.exact:
        decide.append("the clear inside of the chimney it goes into (flue.shaft)")
    if space is None:
        told.append("The clear space it has to go down is not known.")
    else:
        told.append(
            f"It has to go down {shown(space)}."
            if space.exact
            else f"What stands is {shown(space)} outside, and less inside."
        )
    return f"{' '.join(told)} Measure {' and '.join(decide)}: that decides whether it goes in."
