"""A table's verdicts and figures without their words: rows that differ in quantities alone are judged together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from msgspec import Struct, field

from hearthcalc import assess, figures, lengths, table
from hearthcalc.entry import Amount, clean
from hearthcalc.errors import EntryError, HearthError
from hearthcalc.figures import RANKS
from hearthcalc.job import Job

if TYPE_CHECKING:
    from pandas import DataFrame

COLUMNS: Mapping[str, str] = {
    name: kind
    for name, kind in table.COLUMNS.items()
    if name not in ("required", "found", "remedy", "missing")
}
WORDS = tuple(name for name, kind in COLUMNS.items() if kind == "string" and name != "row")
UNITS: tuple[lengths.Unit, ...] = ("in", "mm")
Array = Any  # of numpy, which is loaded with pandas
Line = dict[str, Any]


def judge(frame: DataFrame, edition: str = "", files: Sequence[str] = ()) -> DataFrame:
    """What `table.judge` says by the rules of a table of jobs, without its words: many rows at once, so that it is fast.

    Returns COLUMNS.  A message has only a row that cannot be read.  The lines of a row may stand in another order.  Raises
    FileError for a heading that is not read here.
    """
    from numpy import array, flatnonzero

    columns = table.columns_of(list(frame.columns))
    heading = tuple(columns.values())
    called = frame[table.ROW] if table.ROW in frame.columns else frame.index
    names = [table.text_of(name) for name in called.tolist()]
    spoiled = frame[table.SPOILED].tolist() if table.SPOILED in frame.columns else [""] * len(frame)
    lines = _Lines([clean(name) for name in names])
    told = array([name != table.NOTE for name in names], dtype=bool)
    able = flatnonzero(told & array([not why for why in spoiled], dtype=bool))
    read = _read(frame, columns)
    group = _kinds([one.alike[able] for one in read.values()], len(able))
    alone = flatnonzero(told & array([bool(why) for why in spoiled], dtype=bool)).tolist()
    entries = frame.iloc[:, list(columns)]
    groups = [able[group == number] for number in range(group.max() + 1 if len(able) else 0)]
    for rows, cells in zip(
        groups, entries.iloc[[rows[0] for rows in groups]].itertuples(index=False, name=None), strict=True
    ):
        alone += _together(_Alike(heading, cells, read, rows), edition, tuple(files), lines)
    for row, cells in zip(alone, entries.iloc[alone].itertuples(index=False, name=None), strict=True):
        lines.one_by_one(row, table.answers_of(heading, cells, edition, tuple(files), False, spoiled[row]))
    return lines.frame()


def _kinds(columns: Iterable[Array], count: int) -> Array:
    """Rows that are alike in every column, each by the number of its kind."""
    from numpy import zeros
    from pandas import factorize

    kind = zeros(count, int)
    for column in columns:
        if column.any():
            kind, _ = factorize(kind * (int(column.max()) + 1) + column)
    return kind


def answered(
    part: table.Part, edition: str, files: tuple[str, ...], guard: bool
) -> tuple[int, bytes, table.Tally]:
    """As `table.answered`, without words."""
    answers = judge(part.frame(), edition, files)
    return len(part.rows), table.to_csv(answers, guard=guard).encode(), table.tally(answers)


class _Cells(Struct, frozen=True):
    """The cells of one column. which: of its different cells, row by row.  amounts: what those are, None where that is no quantity.

    alike: one number for rows that a group can hold: 0 of all quantities, another of each other cell.
    """

    which: Array
    amounts: list[Amount | None]
    alike: Array


def _read(frame: DataFrame, columns: Mapping[int, table.Column]) -> dict[tuple[str, ...], _Cells]:
    """The columns of a table by the parts of their addresses. Lengths are read in the unit that each row says."""
    from numpy import arange, array, where
    from pandas import factorize

    units = next((place for place, column in columns.items() if column.parts == ("units",)), None)
    metric = (
        array([False] * len(frame))
        if units is None
        else array([table.text_of(cell) == "mm" for cell in frame.iloc[:, units]], dtype=bool)
    )
    read = {}
    for place, column in columns.items():
        which, cells = factorize(frame.iloc[:, place], use_na_sentinel=False)
        texts = [table.text_of(cell) for cell in cells]
        entries = [_entry(column, text, unit) for unit in UNITS for text in texts]
        which = where(metric, which + len(texts), which)
        amounts = [entry if isinstance(entry, Amount) else None for entry in entries]
        told = [entry is None or (column.decides and not isinstance(entry, Amount)) for entry in entries]
        read[column.parts] = _Cells(which, amounts, (arange(1, len(told) + 1) * array(told))[which])
    return read


def _entry(column: table.Column, text: str, unit: lengths.Unit) -> object:
    """What a cell says; None where it is blank, a list or cannot be read."""
    if not text or column.spec.kind == "list":
        return None
    try:
        return column.spec.read(table.entry_of(column, text), unit)
    except EntryError:
        return None


class _Alike(Struct, frozen=True):
    """Rows that differ in quantities alone. cells: of the first of them.  rows: their places in the table."""

    heading: tuple[table.Column, ...]
    cells: Sequence[object]
    read: Mapping[tuple[str, ...], _Cells]
    rows: Array

    def job(self) -> Job:
        """The job of the first row. Raises HearthError."""
        cells = zip(self.heading, self.cells, strict=True)
        return table.job_of([(column, text) for column, cell in cells if (text := table.text_of(cell))])

    def columns(self) -> dict[tuple[str, ...], figures.Column]:
        """The quantities of the rows."""
        from numpy import bincount, flatnonzero

        columns = {}
        for path, cells in self.read.items():
            which = cells.which[self.rows]
            used = bincount(which, minlength=len(cells.amounts)) > 0
            amounts = [cells.amounts[number] for number in flatnonzero(used).tolist()]
            if all(amounts):
                columns[path] = figures.Column(tuple(filter(None, amounts)), (used.cumsum() - 1)[which])
        return columns


def _together(alike: _Alike, edition: str, files: tuple[str, ...], lines: _Lines) -> list[int]:
    """Judge rows that are alike. Returns those that have to be told one by one: they cannot be read, or the program fails."""
    rows = alike.rows
    try:
        job = alike.job()
        by = table.judge_by(edition or job.about.edition, job.about.amendments or "", files).edition
        if assess.problems(job, by):
            return [int(row) for row in rows]
    except HearthError:
        return [int(row) for row in rows]
    try:
        answers = figures.judge(job, alike.columns(), len(rows), by)
    except Exception:  # a fault of the program with one of them: row by row, it costs no other
        return [int(row) for row in rows]
    for stage, found in answers.stages.items():
        lines.overall(
            rows[answers.stands], edition or job.about.edition, stage, answers.overall(stage)[answers.stands]
        )
        for key, answer in found.items():
            lines.add(rows, edition or job.about.edition, stage, key, answer)
    return [int(row) for row in rows[~answers.stands]]


class _Lines(Struct):
    """The lines of the answers, in blocks. names: of the rows."""

    names: list[str]
    blocks: list[tuple[Array, Line]] = field(default_factory=list)

    def overall(self, rows: Array, edition: str, stage: str, ranks: Array) -> None:
        words = {"edition": edition, "stage": stage, "finding": table.OVERALL, "title": "Overall"}
        self.blocks.append((rows, {**words, "counts": True, "verdict": ranks}))

    def add(self, rows: Array, edition: str, stage: str, key: figures.Key, answer: figures.Answer) -> None:
        here = answer.verdict != figures.NONE
        finding, face, state, item, _ = key
        line = {
            "edition": edition, "stage": stage, "finding": finding, "title": answer.title, "kind": answer.kind, "face": face,
            "state": state, "item": item, "op": answer.op, "unit": answer.unit, "counts": answer.counts[here],
            "verdict": answer.verdict[here], "required_value": answer.required[here], "found_value": answer.found[here],
            "margin": answer.margin[here], "percent": answer.percent[here],
        }  # fmt: skip
        self.blocks.append((rows[here], line))

    def one_by_one(self, row: int, answers: Iterable[table.Answer]) -> None:
        """The lines of a row that were told by themselves."""
        from numpy import array

        names = [name for name in table.COLUMNS if name != "row"]
        for answer in answers:
            line = {name: value for name, value in zip(names, answer, strict=True) if name in COLUMNS}
            line["verdict"] = RANKS.get(line["verdict"], len(RANKS))
            self.blocks.append(
                (array([row]), {key: value for key, value in line.items() if value is not None})
            )

    def frame(self) -> DataFrame:
        """All lines, row by row."""
        from numpy import argsort, array, bool_, concatenate, float64, full, int8, int32, nan, zeros
        from pandas import Categorical, DataFrame, factorize

        sizes = [len(rows) for rows, _ in self.blocks]
        places = concatenate([zeros(0, int), *(rows for rows, _ in self.blocks)])
        order = argsort(places, kind="stable")

        def laid(values: Iterable[Any], kind: Any) -> Array:
            parts = [full(size, value, kind) for size, value in zip(sizes, values, strict=True)]
            return concatenate([zeros(0, kind), *parts])[order]

        which, names = factorize(array(self.names, dtype=object))
        made: dict[str, Any] = {"row": Categorical.from_codes(which[places[order]], categories=names)}
        for name, kind in COLUMNS.items():
            values = [line.get(name) for _, line in self.blocks]
            if name == "verdict":
                made[name] = Categorical.from_codes(laid(values, int8), categories=[*RANKS, table.NOT_READ])
            elif name in WORDS:
                words = list(dict.fromkeys(value or "" for value in values))
                codes = {word: number for number, word in enumerate(words)}
                made[name] = Categorical.from_codes(
                    laid((codes[value or ""] for value in values), int32), categories=words
                )
            elif kind == "bool":
                made[name] = laid(values, bool_)
            elif name != "row":
                made[name] = laid((nan if value is None else value for value in values), float64)
        return DataFrame(made, columns=list(COLUMNS), copy=False)
