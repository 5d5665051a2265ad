"""What ties a report to its job: fingerprints that every kind of report carries, read back and compared."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import json
import re
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from msgspec import Struct

from hearthcalc import __version__, files
from hearthcalc.entry import cut
from hearthcalc.errors import FileError
from hearthcalc.findings import Assessment
from hearthcalc.job import Job

MARK = "hearthcalc-report=1"
MOST_BYTES = 1 << 26
MOST_NAMES = 20  # of tables that have changed: a job has no more
SHORT = 12  # characters of a fingerprint as a person is shown it

SIGNED, PICTURES = "signed", "pictures"  # parts of a stamp: who signed; the files of the photographs
_PART = "of."
_TOKENS = r"(?:\s+[a-z_.]+=[\w.+-]+)+"
_IN = {
    ".html": re.compile(rf'data-hearthcalc="{MARK}({_TOKENS})"'),
    ".pdf": re.compile(rf"/Keywords \({MARK}({_TOKENS})\)"),
    ".txt": re.compile(rf"^{MARK}({_TOKENS})\s*\Z", re.MULTILINE),
    ".md": re.compile(rf"^{MARK}({_TOKENS})\s*```\s*\Z", re.MULTILINE),
    ".xlsx": re.compile(rf">{MARK}({_TOKENS})<"),
}


class Stamp(Struct, frozen=True):
    """Which program made a report, when, from which job and which values.

    values: fingerprint of the edition.  job: of all entries.  parts: of each table of the job.  answers: of the findings.
    """

    program: str
    date: dt.date
    edition: str
    values: str
    job: str
    answers: str
    parts: Mapping[str, str]

    def tokens(self) -> list[str]:
        """The stamp as words without blanks, ASCII, as every report holds it."""
        return [
            MARK, f"program={self.program}", f"date={self.date}", f"edition={self.edition}", f"values={self.values}",
            f"job={self.job}", f"answers={self.answers}", *(f"{_PART}{name}={mark}" for name, mark in self.parts.items()),
        ]  # fmt: skip

    @property
    def line(self) -> str:
        """What stands at the foot of every page."""
        return (
            f"hearthcalc {self.program} · {self.date} · {self.edition}, values {self.values[:SHORT]} · "
            f"job {self.job[:SHORT]}"
        )


def of(job: Job, assessment: Assessment, date: dt.date, pictures: str = "") -> Stamp:
    """The stamp of a job as it is judged. pictures: fingerprint of the files of its photographs, "" where it has none."""
    document = {
        key: value for key, value in job.document().items() if key not in ("judged", "format", "version")
    }
    parts = {key: _digest(value)[:8] for key, value in document.items()}
    if pictures:
        parts[PICTURES] = pictures[:8]
    return Stamp(
        __version__, date, assessment.edition_id, assessment.edition_fingerprint, job.fingerprint, _answers(assessment), parts
    )  # fmt: skip


def _digest(value: object) -> str:
    return hashlib.sha256(json.dumps(value, sort_keys=True, default=str).encode()).hexdigest()


def _answers(assessment: Assessment) -> str:
    return _digest(
        sorted(
            [stage, *finding.key, finding.verdict, finding.text, finding.caution or "", *finding.remedy]
            for stage, result in assessment.stages.items()
            for finding in result.findings
        )
    )


def read(path: Path) -> Stamp:
    """The stamp of a report. Raises FileError where it cannot be read, or is no report."""
    suffix = path.suffix.lower()
    if suffix not in _IN:
        raise _unread(path, f"Reports end in {', '.join(_IN)}.")
    try:
        data = files.read(path, MOST_BYTES)
    except OSError as err:
        raise _unread(path, f"{err.strerror or 'It cannot be opened'}.") from err
    except ValueError as err:
        raise _unread(path, "No file can have that name.") from err
    if len(data) > MOST_BYTES:
        raise _unread(path, "It is larger than any report.")
    found = list(
        _IN[suffix].finditer(_properties(path, data) if suffix == ".xlsx" else data.decode("latin-1"))
    )
    if not found:
        raise _unread(path, "It holds no fingerprints of this program.")
    try:
        return _stamp(dict(token.split("=", 1) for token in found[-1][1].split()))
    except (ValueError, KeyError) as err:
        raise _unread(path, "Its fingerprints are damaged.") from err


def _unread(path: Path, what: str) -> FileError:
    fix = "Give the file as hearthcalc report wrote it."
    return FileError("Cannot read the report", what, where=path.name[:80], fix=fix)


def _properties(path: Path, data: bytes) -> str:
    """Where a workbook holds what it says of itself. A damaged one breaks in many ways, as its bytes have it."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book, book.open("docProps/core.xml") as properties:
            return properties.read(1 << 20).decode("utf-8", "replace")
    except Exception as err:
        raise _unread(path, "It is not a workbook, or it is damaged.") from err


def _stamp(found: Mapping[str, str]) -> Stamp:
    parts = {key.removeprefix(_PART): mark for key, mark in found.items() if key.startswith(_PART)}
    return Stamp(
        found["program"], dt.date.fromisoformat(found["date"]), found["edition"], found["values"], found["job"],
        found["answers"], parts,
    )  # fmt: skip


def changes(then: Stamp, now: Stamp) -> Iterator[str]:
    """What keeps a report from telling of a job as it stands, a sentence each; none where it does."""
    other = {name for name in {**then.parts, **now.parts} if then.parts.get(name) != now.parts.get(name)}
    if then.job != now.job:
        names = [name for name in {**then.parts, **now.parts} if name in other - {SIGNED, PICTURES}]
        names = [cut(name) for name in names[:MOST_NAMES]]
        where = f" in: {', '.join(names)}" if names else ""
        yield f"The entries of the job have changed{where}."
    if SIGNED in other:
        yield "The sign-off has changed: somebody signed since, or a signature was taken out or changed."
    if PICTURES in other and PICTURES in then.parts and PICTURES in now.parts:
        yield "The picture files beside the job have changed."
    if then.edition != now.edition:
        yield f"The report was judged by {cut(then.edition)}, the job is judged by {now.edition}."
    elif then.values != now.values:
        yield f"The reference values of {now.edition} have changed."
    if then.job == now.job and then.values == now.values and then.answers != now.answers:
        yield f"The answers are different: version {cut(then.program)} made the report, this is {now.program}."


def same(then: Stamp) -> tuple[str, str]:
    """What can be said of a report that nothing keeps from telling of a job as it stands, and what not."""
    return (
        f"The fingerprints of the report of {then.date} are those of this job as it stands.",
        "The words of the report were not read: somebody may have changed them. Where that matters, make the report anew.",
    )
