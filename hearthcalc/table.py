"""Many jobs as one table: a row in, its answers out. The one module that knows pandas."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from hearthcalc import amendments, assess, files, lengths, quantities
from hearthcalc.entry import FieldSpec, bare, clean, cut, guarded, shown
from hearthcalc.errors import EntryError, FileError, HearthError, UsageError
from hearthcalc.findings import Bound, StageResult, Verdict
from hearthcalc.job import (
    FORMAT,
    VERSION,
    Document,
    Job,
    JobError,
    Table,
    join_address,
    parse_address,
    spec_of,
)
from hearthcalc.many import arrays
from hearthcalc.tables import Sub

if TYPE_CHECKING:
    from pandas import DataFrame

ROW = "row"  # the column with a person's own number or name of the row
SPOILED = "not read"  # the column that says why a row as a whole cannot be read
NOTE = "#"  # in that column: the row is a note
UNKNOWN = ("<NA>", "NaT", "nan")  # what pandas holds for a blank cell
NONE = "none"  # a cell: looked, and there is none
NOT_READ = "NOT READ"
OVERALL = "overall"
WORSE = (*map(str, Verdict), NOT_READ)
COLUMNS: Mapping[str, str] = {
    "row": "string", "edition": "string", "stage": "string", "finding": "string", "title": "string", "kind": "string",
    "counts": "bool", "face": "string", "state": "string", "item": "string", "verdict": "string", "required": "string",
    "found": "string", "op": "string", "required_value": "float64", "found_value": "float64", "margin": "float64",
    "unit": "string", "percent": "float64", "message": "string", "remedy": "string", "missing": "string",
}  # fmt: skip
ALSO = ("about", "title", "place", "measured_by", "date", "notes")  # what of a job decides nothing
NOT_IN_A_TABLE = ("format", "version", "judged", "photo", "signed")  # what belongs to a file of its own
PLACE = "NAME"  # where an address has the name of a thing
MOST_TOLD = 5  # mistakes of one row
KEPT = 512  # rows whose answers are kept, for others that say the same
IN_A_CELL = ("flue.offsets", "asked.questions")  # lists of plain entries, parted by semicolons
NOT_CSV = {  # what a file begins with
    b"PK\x03\x04": "a spreadsheet or an archive, not text",
    b"\xd0\xcf\x11\xe0": "a spreadsheet or a document, not text",
    b"PAR1": "a Parquet file under another name",
    b"\xff\xfe": "text in UTF-16",
    b"\xfe\xff": "text in UTF-16",
}
FEW_TEXTS = 8  # lines for each different text, from which it pays to put columns together
LENGTH_UNITS = ("in", "ft", "mm", "cm", "m")

COUNTED = ("edition", "stage", "finding", "title")  # what rows are counted by

Answer = tuple[Any, ...]
Tally = dict[str, dict[str, int]]

_QUOTED = re.compile(r'[",\r\n]')
_HEADER = re.compile(r"\s*(.*?)\s*(?:\[\s*([^\[\]]*?)\s*\]\s*)?", re.DOTALL)
_BARE = re.compile(rf"[-+\u2212]?\s*{lengths.NUMBER}(?:\s*(?:[x×]|by)\s*{lengths.NUMBER})?")


class Column(Struct, frozen=True):
    """One entry of the job as a column. unit: of its bare numbers, "" where the cells or the job say it."""

    parts: tuple[str, ...]
    spec: FieldSpec
    unit: str = ""

    @property
    def decides(self) -> bool:
        """Can it change an answer?"""
        return self.parts[0] != ALSO[0] or self.parts[1] not in ALSO


# Reading


def columns_of(header: Sequence[object]) -> dict[int, Column]:
    """The entries that a header names, by the place of their column; `row` and `not read` are none. Raises FileError."""
    columns: dict[int, Column] = {}
    seen: set[tuple[str, ...]] = set()
    for place, name in enumerate(header):
        if name in (ROW, SPOILED):
            parts: tuple[str, ...] = (str(name),)
        else:
            columns[place] = column = _column(str(name))
            parts = column.parts
        if parts in seen:
            raise _refused(f"The column {shown(join_address(parts))} stands twice.", "Keep one of the two.")
        seen.add(parts)
    return columns


def _column(name: str) -> Column:
    match = _HEADER.fullmatch(name)
    assert match is not None
    address, unit = match[1], match[2] or ""
    try:
        parts = parse_address(address)
    except EntryError:
        parts = tuple(part.strip() for part in address.split("."))
    try:
        spec = spec_of(join_address(parts)) if all(parts) else None
    except EntryError:
        spec = None
    if spec is None or parts[0] in NOT_IN_A_TABLE:
        raise _refused(f"{shown(address)} is not a column that is read here.", _nearest(parts))
    if parts[-1] == "name":
        what = "A name stands in the heading of its columns, as in face.study.width."
        raise _refused(f"{shown(address)} has no column of its own.", what)
    return Column(parts, spec, _unit(spec, unit, address))


def _refused(what: str, fix: str) -> FileError:
    return FileError("The table's heading cannot be read", what, where="heading", fix=fix)


def _nearest(parts: Sequence[str]) -> str:
    near = get_close_matches(join_address(parts), list(_addresses(Job, parts)), 1, 0.5)
    return f"Did you mean {cut(near[0], 80)}?" if near else "See hearthcalc batch --template."


def _addresses(table: type[Table], parts: Sequence[str], above: tuple[str, ...] = ()) -> Iterator[str]:
    """Every address that could have been meant, things called by the words of the one that was written."""
    for key, node in table.fields.items():
        here = (*above, key)
        if not isinstance(node, Sub):
            if key != "name" and here[0] not in NOT_IN_A_TABLE:
                yield join_address(here)
        elif not node.many:
            yield from _addresses(node.table, parts, here)
        else:
            depth = len(here)
            called = parts[depth] if len(parts) > depth and parts[depth] else PLACE
            yield from _addresses(node.table, parts, (*here, called))


def _unit(spec: FieldSpec, unit: str, address: str) -> str:
    """The unit of a heading, where its entry can have it. Raises FileError."""
    if not unit:
        return ""
    kind = "angle" if spec.key == "flue.offsets" or spec.kind == "pitch" else spec.kind
    try:
        if kind in ("length", "size"):
            if unit not in LENGTH_UNITS:
                raise ValueError(f"use one of: {', '.join(LENGTH_UNITS)}")
            return unit
        if kind not in quantities.DIMENSIONS:
            raise ValueError("it has no unit")
        return quantities.unit_name(unit, kind)
    except ValueError as err:
        raise _refused(
            f"{shown(unit)} is not a unit of {cut(address, 80)}: {cut(str(err), 80)}.",
            "Correct the heading.",
        ) from None


def document_of(columns: Iterable[Column], cells: Iterable[object]) -> Document:
    """The document of a job that one row says. Faces stand in it front first, other things by name. Raises EntryError.

    cells: as they stand in the table, beside their columns.  A blank one is not known.
    """
    tree: Document = {}
    for column, cell in zip(columns, cells, strict=True):
        text = text_of(cell)
        if not text:
            continue
        here = tree
        for part in column.parts[:-1]:
            here = here.setdefault(part, {})
            if not isinstance(here, dict):
                raise EntryError(
                    "Said twice",
                    f"{join_address(column.parts)} is entered, and a cell says that there is none.",
                    fix="Keep one of the two.",
                )
        try:
            here[column.parts[-1]] = entry_of(column, text)
        except EntryError as err:
            raise EntryError(err.title, err.what, where=join_address(column.parts), fix=err.fix) from None
    return {"format": FORMAT, "version": VERSION, **_listed(tree, Job)}


def text_of(cell: object) -> str:
    """A cell as text, "" where it is blank."""
    if isinstance(cell, str):
        return cell.strip()
    if cell is None or str(cell) in UNKNOWN:
        return ""
    plain: object = getattr(cell, "item", lambda: cell)()  # numpy's numbers as Python's
    if isinstance(plain, float) and plain.is_integer():
        plain = int(plain)
    if isinstance(plain, bool) or not isinstance(plain, int | float):
        return str(plain)
    return bare(plain, "a number")


def entry_of(column: Column, text: str) -> Any:
    """What the document holds for a cell. Raises EntryError where the cell cannot be that."""
    spec = column.spec
    if spec.kind == "bool":
        said = {"yes": True, "true": True, "no": False, "false": False}.get(text.lower())
        if said is None:
            raise EntryError("Not yes or no", f"{shown(text)} is neither yes nor no.", fix="Write yes or no.")
        return said
    if spec.kind == "list":
        if text.lower() == NONE:
            return []
        if spec.key not in IN_A_CELL:
            fix = f"Write {NONE}, or a column for each entry, as in {spec.key}.NAME."
            raise EntryError("A list", f"{shown(text)} does not fill a list.", fix=fix)
        return [_with_unit(part.strip(), column.unit) for part in text.split(";")]
    if spec.form == "prose" and text.lower() == NONE:
        return ""
    return _with_unit(text, column.unit)


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def _listed(tree: Mapping[str, Any], table: type[Table]) -> Document:
    """A tree in which things stand under their names, with lists of things in their place."""
    made: Document = {}
    for key, value in tree.items():
        node = table.fields.get(key)
        if not isinstance(node, Sub) or not isinstance(value, dict):
            made[key] = value
        elif not node.many:
            made[key] = _listed(value, node.table)
        elif node.named:
            rows = [{"name": name, **_listed(thing, node.table)} for name, thing in value.items()]
            made[key] = sorted(rows, key=lambda row: (row.get("side") != "front", row["name"]))
        else:
            numbers = [int(name) if re.fullmatch("[1-9][0-9]?", name) else 0 for name in value]
            if 0 in numbers:
                raise EntryError(
                    "Not a number", "A layer goes by its number.", fix="Count them from the top, from 1."
                )
            things = dict(zip(numbers, value.values(), strict=True))
            made[key] = [_listed(things.get(number, {}), node.table) for number in range(1, max(numbers) + 1)]
    return made


class Part(Struct, frozen=True):
    """Some rows of a table in a file. first: the number of the first of them, from 1."""

    heading: list[str]
    rows: list[Sequence[object]]
    first: int

    def frame(self) -> DataFrame:
        """The same for pandas, with the numbers as the index. Raises UsageError where it is not installed."""
        try:
            from pandas import DataFrame, RangeIndex
        except ImportError as err:
            raise UsageError(
                "A library is missing",
                f"A table of many fireplaces needs {err.name}, which is not installed.",
                fix="Install the extra: python3 -m pip install 'hearthcalc[tables]'.",
            ) from err
        index = RangeIndex(self.first, self.first + len(self.rows))
        return DataFrame(self.rows, columns=self.heading, index=index)


def parts(path: Path, size: int, skip: int = 0) -> Iterator[Part]:
    """The rows of a table, so many at a time; first its heading, without any. skip: so many rows at its beginning.

    path: of a CSV file, or of a Parquet file where pyarrow is installed.  Raises FileError where it cannot be read, and
    for a heading that is not read here.
    """
    try:
        files.look(path)
        read = _parquet(path, size) if path.suffix.lower() == ".parquet" else _csv(path, size)
        number = 0
        for heading, rows in read:
            columns_of(heading)
            begin = min(max(skip - number, 0), len(rows))
            if begin < len(rows) or not rows:
                yield Part(heading, rows[begin:], number + begin + 1)
            number += len(rows)
    except (OSError, ValueError) as err:
        reason = err.strerror if isinstance(err, OSError) and err.strerror else str(err)
        fix = "Look at the name and whether you may read it."
        raise FileError("The table cannot be read", f"{reason}.", where=str(path), fix=fix) from err


Rows = tuple[list[str], list[Sequence[object]]]


def _csv(path: Path, size: int) -> Iterator[Rows]:
    import csv

    _csv_alone(path)
    with path.open(encoding="utf-8-sig", errors="replace", newline="") as file:
        reader = csv.reader(file, strict=True)
        line = 1  # in which a row begins
        try:
            heading = [cell.strip() for cell in next(reader, [])]
            while heading and not heading[-1]:
                heading.pop()
            if not heading:
                raise FileError(
                    "The table is empty",
                    "It has no heading.",
                    where=str(path),
                    fix="See hearthcalc batch --template.",
                )
            told = [*heading, SPOILED]
            rows: list[Sequence[object]] = []
            if reader.line_num > line:
                raise csv.Error("a cell goes on in the next line")
            yield told, []
            line = 2
            for cells in reader:
                if (
                    reader.line_num > line
                ):  # that is how a mark that was not closed takes in the rows below it
                    raise csv.Error("a cell goes on in the next line")
                if any(map(str.strip, cells)):
                    rows.append(_fitted(cells, len(heading)))
                line += 1
                if len(rows) == size:
                    yield told, rows
                    rows = []
            if rows:
                yield told, rows
        except csv.Error as err:
            raise FileError(
                "The table cannot be read",
                f"In the row that begins there, {err}.",
                where=f"{path}, line {line}",
                fix="Look for a quotation mark that is not closed, and write each row on one line. A mark inside a cell in quotes is "
                'written twice, as in "36""".',
            ) from None


def _csv_alone(path: Path) -> None:
    """Raises FileError where a file is plainly of another kind."""
    with path.open("rb") as file:
        begin = file.read(4)
    kind = next((kind for sign, kind in NOT_CSV.items() if begin.startswith(sign)), "")
    if kind:
        raise FileError(
            "The table cannot be read", f"It is {kind}.", where=str(path), fix="Save the table as CSV, UTF-8."
        )


def _fitted(cells: list[str], count: int) -> list[str]:
    """The cells of a row and why they cannot be read, "" where they can: more of them than the heading has columns."""
    if len(cells) == count:
        return [*cells, ""]
    why = ""
    if any(cell.strip() for cell in cells[count:]):
        why = f"The row has {len(cells)} cells, and the heading {count}: is a quotation mark missing, or a comma too many?"
    return [*cells[:count], *[""] * (count - len(cells)), why]


def _parquet(path: Path, size: int) -> Iterator[Rows]:
    ask_for_arrow(path)
    from pyarrow import ArrowException
    from pyarrow.parquet import ParquetFile

    try:
        with ParquetFile(path) as file:
            heading = list(file.schema_arrow.names)
            yield heading, []
            for batch in file.iter_batches(size):
                yield heading, list(zip(*(column.to_pylist() for column in batch.columns), strict=True))
    except ArrowException as err:
        raise FileError(
            "The table cannot be read",
            f"{clean(str(err))[:200]}.",
            where=str(path),
            fix="Is it a Parquet file?",
        ) from None


def ask_for_arrow(path: Path) -> None:
    """Raises UsageError where a file is a Parquet file, and pyarrow is not installed."""
    from importlib.util import find_spec

    if path.suffix.lower() == ".parquet" and find_spec("pyarrow") is None:
        raise UsageError(
            "A library is missing",
            "A Parquet file needs pyarrow, which is not installed.",
            where=str(path),
            fix="Install the extra: python3 -m pip install 'hearthcalc[parquet]', or use a .csv file.",
        )


def template(unit: lengths.Unit) -> str:
    """A table with a column for each entry of a fireplace with one face, a mantel, a fan and a roof, and what to write into each.

    unit: of its lengths.  The two lines below the heading are notes, which are not judged.
    """
    import csv
    import io

    called = {"face": "room", "layers": "1", "nearby": "mantel", "roof": "main", "fans": "hood"}
    heading, labels, how = [ROW], [NOTE], [NOTE]
    for address in _addresses(Job, ()):
        parts = parse_address(address)
        if parts[0] == "planned":
            continue
        column = join_address(
            called[above] if part == PLACE else part for above, part in zip(("", *parts), parts, strict=False)
        )
        spec = spec_of(column)
        heading.append(f"{column} [{unit}]" if spec.kind in ("length", "size") else column)
        labels.append(spec.label)
        words = (
            f" One of: {', '.join(spec.choices)}."
            if spec.choices
            else " yes or no."
            if spec.kind == "bool"
            else ""
        )
        how.append(spec.how + words)
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([heading, labels, how])
    return out.getvalue()


# Judging


def judge(
    frame: DataFrame, edition: str = "", files: Sequence[str] = (), *, models: bool = True
) -> DataFrame:
    """The answers to a table of jobs, a line for each finding and one for the overall of each stage.

    frame: a job a row, each column an entry by its address, as in "flue.height [ft]"; a column `row` is kept, else the index is.
    edition: judges every row, else each row's own about.edition does.  files: of amendments.  models: also of draft, heat and steel.
    What cannot be read is told in its row, with NOT READ for a verdict. The answers rest on the row alone: any part of a table
    may be judged anywhere, and again.  Returns COLUMNS.  Raises FileError for a heading that is not read here.
    """
    from pandas import DataFrame, array

    rows = frame.itertuples(index=False, name=None)
    lines = list(_told(list(frame.columns), frame.index, rows, edition, tuple(files), models))
    told = zip(*lines, strict=True) if lines else ([] for _ in COLUMNS)
    made = zip(COLUMNS.items(), told, strict=True)
    return DataFrame({name: array(cells, dtype=kind) for (name, kind), cells in made}, copy=False)


def answered(
    part: Part, edition: str, files: tuple[str, ...], models: bool, guard: bool
) -> tuple[int, bytes, Tally]:
    """Some rows judged: how many they are, their answers as CSV, and what is counted of them; for a process of its own.

    It does without pandas, which takes longer to load than a house to judge. guard: no text is a formula.
    """
    import csv
    import io

    numbers = range(part.first, part.first + len(part.rows))
    lines = list(_told(part.heading, numbers, part.rows, edition, files, models))
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(
        [guarded(cell) if guard and isinstance(cell, str) else cell for cell in line] for line in lines
    )
    return len(part.rows), out.getvalue().encode(), _counted(lines)


def _told(
    heading: Sequence[object],
    numbers: Iterable[object],
    rows: Iterable[Sequence[Any]],
    edition: str,
    files: tuple[str, ...],
    models: bool,
) -> Iterator[Answer]:
    """The lines of all rows, in the order of COLUMNS. numbers: of the rows where the heading has none."""
    columns = columns_of(heading)
    named, spoiled = (heading.index(name) if name in heading else None for name in (ROW, SPOILED))
    for number, cells in zip(numbers, rows, strict=True):
        name = text_of(number if named is None else cells[named])
        if name != NOTE:
            why = "" if spoiled is None else cells[spoiled]
            entered = (cells[place] for place in columns)
            for line in answers_of(tuple(columns.values()), entered, edition, files, models, why):
                yield clean(name), *line


def answers_of(
    heading: tuple[Column, ...],
    cells: Iterable[object],
    edition: str,
    files: tuple[str, ...],
    models: bool,
    why: str = "",
) -> tuple[Answer, ...]:
    """The lines of one row, in the order of COLUMNS, but for its own number or name. why: it cannot be read, if so."""
    if why:
        return (_mistake(edition, why),)
    try:
        said = [
            (column, text) for column, cell in zip(heading, cells, strict=True) if (text := text_of(cell))
        ]
        deciding = tuple((column, text) for column, text in said if column.decides)
        if len(deciding) < len(said):  # also what decides nothing has to be readable
            job_of(said)
        return _judged(deciding, edition, files, models)
    except JobError as err:
        told = [f"{clean(one.address)}: {one.what} {one.fix}" for one in err.problems[:MOST_TOLD]]
        more = len(err.problems) - len(told)
        return (_mistake(edition, " ".join([*told, *([f"And {more} more."] if more else [])])),)
    except HearthError as err:
        return (_mistake(edition, str(err)),)
    except Exception as err:  # one row costs no other
        return (_mistake(edition, f"A fault of the program, not of the row: {type(err).__name__}: {err}."),)


def _mistake(edition: str, message: str) -> Answer:
    return _line(
        edition=edition,
        finding=OVERALL,
        title="Overall",
        kind="mistake",
        counts=True,
        verdict=NOT_READ,
        message=message,
    )


def job_of(said: Sequence[tuple[Column, str]]) -> Job:
    """The job that cells say. Raises HearthError."""
    return Job.from_document(document_of(*zip(*said, strict=True)) if said else document_of((), ()))


@lru_cache(maxsize=KEPT)
def _judged(
    said: tuple[tuple[Column, str], ...], edition_id: str, files: tuple[str, ...], models: bool
) -> tuple[Answer, ...]:
    """What is found of a job. edition_id: "" for its own.  Kept: rows often say the same."""
    job = job_of(said)
    judge = judge_by(edition_id or job.about.edition, job.about.amendments or "", files)
    edition = judge.edition
    wrong = assess.problems(job, edition)
    if wrong:
        address, why = next(iter(wrong.items()))
        raise EntryError("Not in the tables", why, where=address)
    assessment = judge.assess(job)
    if models:
        assessment = assess.assess_models(job, edition, assessment)
    return tuple(line for stage in assessment.stages.values() for line in _lines(stage, edition.id))


@lru_cache(maxsize=32)
def judge_by(edition_id: str, place: str, files: tuple[str, ...]) -> assess.Judge:
    """Who judges by an edition with amendments, those of a place too where one is named."""
    return assess.Judge(amendments.edition_with(edition_id, [Path(file) for file in files], place))


def _lines(stage: StageResult, edition: str) -> Iterator[Answer]:
    counted = ", ".join(f"{number} {verdict}" for verdict, number in stage.counts.items())
    missing = " ".join(measure.address for measure in stage.measure)
    yield _line(
        edition=edition, stage=stage.name, finding=OVERALL, title="Overall", counts=True, verdict=str(stage.overall),
        message=counted or "nothing could be judged", missing=missing,
    )  # fmt: skip
    for finding in stage.findings:
        margin, required, found = finding.margin, finding.required, finding.found
        yield _line(
            edition=edition, stage=stage.name, finding=finding.id, title=finding.title, kind=finding.kind,
            counts=finding.counts, face=finding.face or "", state=finding.state or "", item=finding.item or "",
            verdict=str(finding.verdict), required=required.text if required else "",
            found=found.text if found else "", op=required.op if required else "",
            required_value=_float(required), found_value=_float(found),
            margin=float(margin.value) if margin else None, unit=required.unit if required else "",
            percent=margin.percent if margin else None, message=finding.text, remedy=" ".join(finding.remedy),
            missing=" ".join(finding.missing),
        )  # fmt: skip


def _line(**values: Any) -> Answer:
    """One line of the answers but for its row, in the order of COLUMNS; text that is not given is blank, a number unknown."""
    return tuple(
        values.get(name, "" if kind == "string" else None) for name, kind in COLUMNS.items() if name != ROW
    )


def _float(bound: Bound | None) -> float | None:
    return None if bound is None or bound.value is None else float(bound.value)


def _counted(lines: Iterable[Answer]) -> Tally:
    """What `tally` counts, of lines in the order of COLUMNS."""
    place = {name: at for at, name in enumerate(COLUMNS)}
    number, worst = 0, dict[tuple[int, str], int]()
    for line in lines:
        said = {name: line[at] for name, at in place.items()}
        number += said["finding"] == OVERALL and said["stage"] != "planned"  # with which each row begins
        key = number, "\t".join(said[name] for name in COUNTED)
        worst[key] = max(worst.get(key, 0), WORSE.index(said["verdict"]))
    counted: Tally = {}
    for (_, name), rank in worst.items():
        verdicts = counted.setdefault(name, {})
        verdicts[WORSE[rank]] = verdicts.get(WORSE[rank], 0) + 1
    return counted


def tally(answers: DataFrame) -> Tally:
    """How many rows have each verdict, by edition, stage and finding; several answers of one row count as the worst of them.

    answers: with words or without.  Keys are joined by tabs, so that they can stand in a file.
    """
    of = list(COUNTED)
    first = (answers["finding"] == OVERALL) & (answers["stage"] != "planned")  # with which each row begins
    lines = answers[of].assign(
        number=first.astype(int).cumsum(), rank=answers["verdict"].map(WORSE.index).astype(int)
    )
    lines["key"] = lines.groupby(of, sort=False, observed=True).ngroup()
    keys = lines.drop_duplicates("key")[of]
    worst = lines.sort_values("rank").drop_duplicates(["number", "key"], keep="last")
    names = ["\t".join(map(str, key)) for key in keys.itertuples(index=False)]
    counted: dict[str, dict[str, int]] = {name: {} for name in names}
    for key, rank, count in worst.value_counts(["key", "rank"]).reset_index().itertuples(index=False):
        counted[names[key]][WORSE[rank]] = int(count)
    return counted


# Writing


def to_csv(answers: DataFrame, *, guard: bool = True) -> str:
    """The answers as lines of CSV, without the heading. guard: no text of them is a formula.

    What a cell says is written once for each different one, and columns that say few things between them are put together first.
    """
    groups: list[_Written] = []
    for name in answers.columns:
        column = _written(answers[name], guard=guard and COLUMNS[name] == "string")
        groups.append(groups.pop().beside(column) if groups and groups[-1].fits(column) else column)
    cells = [map(group.texts.__getitem__, group.which.tolist()) for group in groups]
    lines = "\n".join(map(",".join, zip(*cells, strict=True)))
    return f"{lines}\n" if lines else ""


class _Written(Struct, frozen=True):
    """Cells of CSV. which: of the texts, line by line."""

    which: Any
    texts: list[str]

    def fits(self, other: _Written) -> bool:
        """Can another column be put beside it, without making as many texts as there are lines."""
        return len(self.texts) * len(other.texts) <= len(self.which) // FEW_TEXTS

    def beside(self, other: _Written) -> _Written:
        np = arrays()
        many = len(other.texts)
        pair = self.which * many + other.which
        there = np.bincount(pair, minlength=1) > 0
        pairs = np.flatnonzero(there).tolist()
        texts = [f"{self.texts[one // many]},{other.texts[one % many]}" for one in pairs]
        return _Written((there.cumsum() - 1)[pair], texts)


def _written(column: Any, *, guard: bool) -> _Written:
    """A column as cells of CSV, blank where there is nothing."""
    from pandas import factorize

    which, values = factorize(column, use_na_sentinel=False)
    texts = [
        "" if value != value or value is None else _cell(value, guard=guard) for value in values.tolist()
    ]
    return _Written(which, texts)


def _cell(value: object, *, guard: bool) -> str:
    """A cell as CSV has it: quoted where it has to be."""
    import csv
    import io

    if not isinstance(value, str):
        return repr(value)
    text = guarded(value) if guard else value
    if not _QUOTED.search(text):
        return text
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow([text])
    return out.getvalue()[:-1]


def to_parquet(part: Path, out: Path) -> None:
    """The answers of a CSV file, with their heading, as a Parquet file; some at a time."""
    from pandas import read_csv
    from pyarrow import Table as Arrow
    from pyarrow import schema
    from pyarrow.parquet import ParquetWriter

    kinds = {"string": "string", "float64": "double", "bool": "bool"}
    columns = {name: COLUMNS[name] for name in read_csv(part, nrows=0).columns}
    shape = schema([(name, kinds[kind]) for name, kind in columns.items()])
    blank = {name: [""] for name, kind in columns.items() if kind == "float64"}
    how: dict[str, Any] = {"dtype": columns, "keep_default_na": False, "na_values": blank}
    frames = read_csv(part, chunksize=20_000, **how)
    with ParquetWriter(out, shape) as writer:
        for frame in frames:
            writer.write_table(Arrow.from_pandas(frame, schema=shape, preserve_index=False))
