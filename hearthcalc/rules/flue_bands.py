"""Flues by a table of least and greatest sizes, by the opening and the height of the chimney (NBC Table 9.21.2.5)."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any, Literal

from hearthcalc.findings import Bound, Finding, Verdict
from hearthcalc.reference import Table, read_table
from hearthcalc.rules.case import Case, NotKnown, basis
from hearthcalc.rules.openings import Opening, total_area
from hearthcalc.rules.reading import Reading

End = Literal["least", "most"]
Cell = tuple[str, str] | str
METRE = Fraction(10000, 254)  # in


def by_band(case: Case, end: End, opened: Sequence[Opening] | None, **common: Any) -> Finding:
    """A flue against the least or the greatest size of the table. opened: the openings, None where they are not known."""
    high = case.number("flue", "height")
    kind = _kind_of_flue(case)
    if opened is None or high.known is None:
        raise NotKnown(tuple(case.asked.missing))
    area, height = total_area(opened), high.known
    table = case.edition[f"flue.bands.{kind}"]
    rows = read_table(case.edition.folder, table.table)
    common["basis"] = basis(case.edition["flue.area"], table)
    shown = f"{case.area(area)} open and a chimney of {case.length(height)}"
    cell, *others = (band(rows, a, h) for a, h in _corners(area, height))
    if cell == "outside":
        return case.finding(Verdict.REFER, f"{shown} are outside the table.", **common)
    if isinstance(cell, str):
        return _no_flue(case, kind, rows, area, height, common)
    tell = _round if kind == "round" else _nominal
    cells = [cell, *(one for one in others if isinstance(one, tuple))]
    finding = tell(case, end, cells, f"For {shown}", _to_build(case, kind, area.value, height.value), common)
    if finding.verdict in (Verdict.MEETS, Verdict.CLOSE) and any(isinstance(one, str) for one in others):
        return case.referred(finding, "Within the measuring tolerance it is beyond the table: measure again.")
    return finding


def _kind_of_flue(case: Case) -> Literal["round", "rectangular"]:
    """Which of the two tables a flue belongs to; what its size lacks is then asked for. Tile where nothing is known."""
    diameter = case.number("flue", "diameter", needed=False).known
    shape = case.word("flue", "shape", needed=False).known
    liner = case.word("flue", "liner", needed=False).known
    inside = case.sides("flue", "inside", needed=False).known
    area = case.number("flue", "area", needed=False).known
    if diameter or shape == "round":
        case.number("flue", "diameter")
        return "round"
    if liner is None and inside is None and (area is None or shape is None):
        case.word("flue", "liner")
    return "rectangular"


def _to_build(case: Case, kind: str, area: Fraction, height: Fraction) -> tuple[str, ...]:
    """What the tables let a mason build: of the kind of flue that there is, of either where that is not known."""
    made = []
    for one, words in (("round", "mm inside"), ("rectangular", "mm nominal")):
        cell = band(read_table(case.edition.folder, case.edition[f"flue.bands.{one}"].table), area, height)
        if isinstance(cell, tuple) and (one == kind or case.asked.missing):
            made.append(f"Build a {one} flue of {_allowed(cell)} {words}.")
    return tuple(made)


def _allowed(cell: tuple[str, str]) -> str:
    return " to ".join(dict.fromkeys(cell))


def _no_flue(
    case: Case, kind: str, rows: Table, area: Reading, height: Reading, common: dict[str, Any]
) -> Finding:
    """The table prints no size: the opening is too large for the height."""
    ends = (height.value, height.low, height.high)
    limit, *others = dict.fromkeys(largest_opening(rows, end) for end in ends)
    return case.judge(
        "<=",
        area,
        limit,
        others=others,
        unit="area",
        what=f"For a chimney of {case.length(height)} the table has no {kind} flue for",
        after=" open",
        remedy=(f"Make the opening {case.area(limit, '<=')} or less in all, or build the chimney higher.",),
        **common,
    )


def _round(
    case: Case,
    end: End,
    cells: Sequence[tuple[str, str]],
    what: str,
    build: tuple[str, ...],
    common: dict[str, Any],
) -> Finding:
    limit, *others = dict.fromkeys(Fraction(cell[0 if end == "least" else 1]) * 5 / 127 for cell in cells)
    return case.judge(
        ">=" if end == "least" else "<=",
        case.number("flue", "diameter"),
        limit,
        others=others,
        what=f"{what} a round flue of",
        build=build,
        **common,
    )


def _nominal(
    case: Case,
    end: End,
    cells: Sequence[tuple[str, str]],
    what: str,
    build: tuple[str, ...],
    common: dict[str, Any],
) -> Finding:
    """A rectangular flue, by the place of its nominal size among those that the table names."""
    limits = [cell[0 if end == "least" else 1] for cell in cells]
    op: Literal[">=", "<="] = ">=" if end == "least" else "<="
    required = Bound(op, None, "mm", f"{limits[0]} mm nominal")
    if case.asked.missing:
        return case.missing(tuple(case.asked.missing), required=required, remedy=build, **common)
    liner = case.word("flue", "liner").known
    sizes = [row["size"] for row in read_table(case.edition.folder, case.edition["flue.sizes"].table).rows]
    if liner not in sizes:
        what = f"{what} the table allows {_allowed(cells[0])} mm"
        why = (
            f"{liner} is not one of its nominal sizes"
            if liner
            else "nominal sizes, and only measured ones are entered"
        )
        return case.finding(Verdict.REFER, f"{what}; {why}.", **common)
    rank = sizes.index(liner)
    met = [rank >= sizes.index(one) if end == "least" else rank <= sizes.index(one) for one in limits]
    verdict = Verdict.MEETS if all(met) else Verdict.CLOSE if any(met) else Verdict.SHORT
    again = "; the measuring tolerance decides: measure again" if verdict is Verdict.CLOSE else ""
    return case.finding(
        verdict,
        f"{what} a flue of {liner} mm; {limits[0]} mm {'minimum' if end == 'least' else 'maximum'}{again}.",
        required=required,
        found=Bound("=", None, "mm", f"{liner} mm nominal"),
        remedy=() if verdict is Verdict.MEETS else build,
        **common,
    )


def _corners(area: Reading, height: Reading) -> list[tuple[Fraction, Fraction]]:
    corner = [(a, h) for a in (area.low, area.high) for h in (height.low, height.high)]
    return [(area.value, height.value), *corner]


def _heights(table: Table) -> tuple[Fraction, ...]:
    """The heights, m, up to which the columns of a table go, rising."""
    return _heights_of(tuple(next(iter(table.rows), ())))  # each row has the same columns


@lru_cache(maxsize=64)
def _heights_of(columns: tuple[str, ...]) -> tuple[Fraction, ...]:
    return tuple(sorted({Fraction(name.split("_")[1]) for name in columns if name.startswith("least_")}))


@lru_cache(maxsize=1024)
def _figure(cell: str) -> Fraction:
    return Fraction(cell)


def band(table: Table, area: Fraction, height: Fraction) -> Cell:
    """The least and the greatest size of a table for an opening, in2, and a chimney, inches.

    "outside" beyond its rows and columns; "not permitted" where it prints no size. An upper bound belongs to its band, and a
    gap between two bands to the upper one.
    """
    square_metres, metres = area / METRE**2, height / METRE
    fits = [top for top in _heights(table) if metres <= top]
    rows = [
        row
        for row in table.rows
        if square_metres <= _figure(row["opening_up_to_m2"]) and metres >= _figure(row["height_from_m"])
    ]
    if not fits or not rows:
        return "outside"
    top = f"{float(fits[0]):g}"
    least, most = rows[0][f"least_{top}"], rows[0][f"most_{top}"]
    return "not permitted" if least == "-" else (least, most)


def largest_opening(table: Table, height: Fraction) -> Fraction:
    """The largest opening, in2, that a table has a flue for at the height of a chimney, inches; 0 beyond its columns."""
    tops = [top for top in _heights(table) if height / METRE <= top]
    column = f"least_{float(tops[0]):g}" if tops else ""
    rows = [row for row in table.rows if row.get(column, "-") != "-"]
    return max((_figure(row["opening_up_to_m2"]) for row in rows), default=Fraction(0)) * METRE**2
