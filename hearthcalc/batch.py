"""A table of jobs from file to file: in chunks, on several processors, and on from where it was stopped."""

from __future__ import annotations

import csv
import errno
import hashlib
import io
import os
import time
from collections.abc import Callable, Generator, Mapping
from contextlib import closing, suppress
from functools import partial
from pathlib import Path
from typing import Annotated

from msgspec import Meta, MsgspecError, Struct, field, json

from hearthcalc import __version__, alike, files, reference, table
from hearthcalc.entry import guarded
from hearthcalc.errors import FileError, StoppedError
from hearthcalc.workers import AHEAD, each_of

KINDS = (".csv", ".parquet")
CHUNK = 32  # rows
CHUNK_OF_FIGURES = 20_000
MOST_OF_A_MARK = 8 << 20
MOST_OF_A_NAME = 200  # bytes
MOST_SHORT = 12  # findings in the summary that is printed


class Task(Struct, frozen=True):
    """What is to be judged. edition: "" for each row's own.  files: of amendments.  words: False for verdicts and figures alone."""

    source: Path
    out: Path
    edition: str
    files: tuple[str, ...]
    models: bool = True
    words: bool = True

    @property
    def columns(self) -> Mapping[str, str]:
        return table.COLUMNS if self.words else alike.COLUMNS

    @property
    def in_parquet(self) -> bool:
        return self.out.suffix.lower() == ".parquet"

    @property
    def chunk(self) -> int:
        """Rows that are judged at a time: a few seconds of work."""
        return CHUNK if self.words else CHUNK_OF_FIGURES

    def mark(self) -> str:
        """Changes when any answer could: table, values, amendments, program and what was asked."""
        digest = hashlib.sha256(repr((__version__, self.edition, self.models, self.words)).encode())
        shipped = sorted(path for path in reference.shipped().rglob("*") if path.suffix in (".toml", ".csv"))
        for path in (*map(Path, self.files), *shipped, self.source):
            digest.update(b"\0")
            with suppress(FileNotFoundError), path.open("rb") as file:
                while block := file.read(1 << 20):
                    digest.update(block)
        return digest.hexdigest()


class State(Struct):
    """How far a run has come. rows: of the table.  size: bytes of the part file up to there."""

    mark: str
    rows: Annotated[int, Meta(ge=0)] = 0
    size: Annotated[int, Meta(ge=0)] = 0
    tally: table.Tally = field(default_factory=dict)


class Progress(Struct, frozen=True):
    """What stands on standard error meanwhile. rows: so far.  rate: rows a second of this run."""

    rows: int
    rate: float

    def __str__(self) -> str:
        return f"{count_of(self.rows)} judged, {self.rate:.3g} a second"


class Done(Struct, frozen=True):
    """What a run has come to. seconds: that it took.  judged: rows of this run."""

    tally: table.Tally
    rows: int
    judged: int
    seconds: float


def run(
    task: Task, tell: Callable[[Progress], None], *, resume: bool = False, workers: int | None = None
) -> Done:
    """Judge a table into a file, and a summary beside it. What is stopped can go on: equal to a run that was not.

    Raises FileError where the table or its heading cannot be read, or the answers cannot be written.
    """
    try:
        out = files.place(task.out)
        with files.held(_beside(summary_of(out), "lock")):  # answers of both kinds have one summary
            return _run(task, out, tell, resume, workers or os.cpu_count() or 1)
    except BrokenPipeError:  # nobody hears what is told meanwhile
        raise
    except OSError as err:
        raise FileError(
            "Cannot write the answers",
            f"{err.strerror or err}.",
            where=str(task.out),
            fix="Wait until that run has ended, or choose another name."
            if isinstance(err, BlockingIOError)
            else "Choose a shorter name: that of its summary is longer still."
            if err.errno == errno.ENAMETOOLONG
            else "Choose another place.",
        ) from err


def _run(task: Task, out: Path, tell: Callable[[Progress], None], resume: bool, workers: int) -> Done:
    part, marks, made = (_beside(out, kind) for kind in ("part", "mark", "made"))
    state = _begun(task, part, marks, resume=resume)
    begin, before = time.monotonic(), state.rows
    try:
        with part.open("r+b") as file, closing(_judged(task, state.rows, workers)) as chunks:
            file.seek(state.size)
            for rows, lines, counts in chunks:
                file.write(lines)
                file.flush()
                os.fsync(file.fileno())
                state.rows, state.size = state.rows + rows, file.tell()
                _add(state.tally, counts)
                _keep(marks, state)
                tell(Progress(state.rows, (state.rows - before) / max(time.monotonic() - begin, 1e-3)))
    except BaseException as err:
        bad_table = isinstance(err, FileError) and not isinstance(err.__cause__, OSError)
        if not state.rows or bad_table:  # with nothing in them to go on with
            part.unlink(missing_ok=True)
            marks.unlink(missing_ok=True)
        if isinstance(err, StoppedError):
            raise _stopped(task, err, state.rows, AHEAD * workers * task.chunk) from err
        raise
    files.write(summary_of(task.out), _summary(state.tally).encode())
    if task.in_parquet:
        table.to_parquet(part, made)
        made.replace(out)
        part.unlink()
    else:
        part.replace(out)
    marks.unlink()
    return Done(state.tally, state.rows, state.rows - before, time.monotonic() - begin)


def _stopped(task: Task, err: StoppedError, kept: int, ahead: int) -> StoppedError:
    """What is told of a run that lost one of its processes. kept: rows.  ahead: rows that it may have been at."""
    return StoppedError(
        err.title,
        f"{err.what} It was at row {kept + 1:,} of the table, or at one of the {ahead - 1:,} after it. None of those is judged. "
        f"{f'The answers of {count_of(kept)} are kept' if kept else 'No answers are kept'}.",
        where=str(task.source),
        fix=f"{err.fix} With --resume it goes on after row {kept:,}." if kept else err.fix,
    )


def _beside(out: Path, kind: str) -> Path:
    """A file of a run beside its answers. A name that leaves no room for more goes by what tells it from others."""
    name = os.fsencode(out.name)
    called = out.name if len(name) <= MOST_OF_A_NAME else hashlib.sha256(name).hexdigest()[:24]
    return out.with_name(f".{called}.hearthcalc-{kind}")


def is_begun(task: Task) -> bool:
    """Are answers of a run that was stopped kept, from which --resume goes on."""
    return files.there(_beside(files.place(task.out), "mark"))


def count_of(rows: int) -> str:
    """How many rows, in words."""
    return f"{rows:,} row{'s' * (rows != 1)}"


def summary_of(out: Path) -> Path:
    """The file beside the answers that counts them."""
    return out.with_name(f"{out.stem}.summary.csv")


def _begun(task: Task, part: Path, marks: Path, *, resume: bool) -> State:
    """Where to begin: at the first row with an empty part file, or behind the last chunk that was kept."""
    table.ask_for_arrow(task.out)
    first = next(table.parts(task.source, 1))
    if not task.words or task.in_parquet:  # told before the work if pandas is not there
        first.frame()
    if files.place(task.source) in (files.place(task.out), files.place(summary_of(task.out))):
        raise FileError(
            "Cannot write the answers",
            "The table itself would be lost.",
            where=str(task.out),
            fix="Choose another name.",
        )
    mark = task.mark()
    if resume and marks.exists() and part.exists() and not part.is_symlink():
        try:
            state = json.decode(files.read(marks, MOST_OF_A_MARK), type=State)
        except (MsgspecError, RecursionError):
            state = State("")
        if state.mark != mark or part.stat().st_size < state.size:
            raise FileError(
                "Cannot go on",
                "The table, the values, the program or what is asked has changed since."
                if state.mark
                else "The note of how far it had come cannot be read.",
                where=str(task.out),
                fix="Start again without --resume.",
            )
        os.truncate(part, state.size)
        return state
    heading = ",".join(task.columns).encode() + b"\n"
    part.unlink(missing_ok=True)  # a link or a pipe of that name would be written through
    with part.open("xb") as file:
        file.write(heading)
    state = State(mark, size=len(heading))
    _keep(marks, state)
    return state


def _keep(marks: Path, state: State) -> None:
    files.write(marks, json.encode(state))


Chunk = tuple[int, bytes, table.Tally]


def _judged(task: Task, skip: int, workers: int) -> Generator[Chunk]:
    """The answers chunk by chunk, in the order of the table."""
    parts = (part for part in table.parts(task.source, task.chunk, skip) if part.rows)
    return each_of(partial(_answered, task), parts, workers)


def _answered(task: Task, part: table.Part) -> Chunk:
    """The answers of one chunk of a table."""
    guard = not task.in_parquet
    if task.words:
        return table.answered(part, task.edition, task.files, task.models, guard)
    return alike.answered(part, task.edition, task.files, guard)


def _add(tally: table.Tally, more: table.Tally) -> None:
    for key, counts in more.items():
        mine = tally.setdefault(key, {})
        for verdict, number in counts.items():
            mine[verdict] = mine.get(verdict, 0) + number


def _rows(tally: table.Tally) -> list[tuple[list[str], dict[str, int]]]:
    """What is counted: editions and stages together, the overall first, then what is most often SHORT."""
    rows = [(key.split("\t"), counts) for key, counts in tally.items()]
    return sorted(
        rows, key=lambda row: (*row[0][:2], row[0][2] != table.OVERALL, -row[1].get("SHORT", 0), row[0][2])
    )


def _summary(tally: table.Tally) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    verdicts = table.WORSE[::-1]
    writer.writerow(["edition", "stage", "finding", "title", *verdicts])
    for key, counts in _rows(tally):
        writer.writerow([*map(guarded, key), *(counts.get(verdict, 0) for verdict in verdicts)])
    return out.getvalue()


def told(done: Done) -> str:
    """The summary of a run in a few lines."""
    rate = done.judged / max(done.seconds, 1e-3)
    lines = [
        f"{count_of(done.rows)} judged, {done.judged:,} of them now in {done.seconds:.3g} s: {rate:.3g} a second."
    ]
    shown = 0
    for (edition, stage, finding, title), counts in _rows(done.tally):
        if finding == table.OVERALL:
            shown = 0
            each = ", ".join(
                f"{counts[verdict]:,} {verdict}" for verdict in table.WORSE[::-1] if verdict in counts
            )
            lines.append(f"{' '.join(filter(None, (edition, stage))) or 'Not read'}: {each}")
        elif counts.get("SHORT") and shown < MOST_SHORT:
            shown += 1
            lines.append(f"  {counts['SHORT']:,} SHORT  {title} ({finding})")
    return "\n".join(lines)
