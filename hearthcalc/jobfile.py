"""Job files: TOML <-> Job, strictly; comments and order survive a save."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hearthcalc.entry import bare, clean, shown
from hearthcalc.errors import EntryError, FileError
from hearthcalc.job import FORMAT, VERSION, Document, Job, JobError, Problem, Sub, Table, fields_of, names

if TYPE_CHECKING:
    from tomlkit.container import Container
    from tomlkit.items import AoT

MAX_BYTES = 1 << 20
MAX_DEPTH = 20
MOST_SHOWN = 20  # mistakes told at once
LONGEST_NUMBER = 40  # characters

Place = tuple[str | int, ...]

# Reading


def load(source: Path | str | bytes, name: str | None = None) -> Job:
    """The job of a file, by its path or its bytes. name: what messages call it. Raises FileError."""
    called = name or ("standard input" if isinstance(source, bytes) else str(source))
    return parse_text(text_of(source, called), called)


def text_of(source: Path | str | bytes, name: str) -> str:
    """The text of a file, by its path or its bytes. Raises FileError where it cannot be read or is not text."""
    if isinstance(source, bytes):
        data = source
    else:
        try:
            with Path(source).open("rb") as file:
                data = file.read(MAX_BYTES + 1)
        except (OSError, ValueError) as err:
            reason = err.strerror if isinstance(err, OSError) and err.strerror else str(err)
            fix = "Look at the name and whether you may read it."
            raise FileError("The file cannot be read", f"{reason}.", where=name, fix=fix) from None
    if len(data) > MAX_BYTES:
        what = f"The file is larger than {MAX_BYTES:,} bytes."
        raise FileError("The file is too large", what, where=name, fix="A job is a few thousand: is it the right file?")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        what = f"Byte {err.start + 1} is not UTF-8 text."
        raise FileError("The file is not text", what, where=name, fix="Save it as UTF-8 text.") from None
    if "\0" in text:
        what = f"Byte {data.index(0) + 1} is zero, which no text holds."
        raise FileError("The file is not text", what, where=name, fix="Is it the right file?")
    return text.replace("\r\n", "\n")


def parse_text(text: str, name: str) -> Job:
    """The job that a text says. name: what messages call it. Raises FileError."""
    raw = document(text, name)
    try:
        return Job.from_document(raw)
    except JobError as err:
        raise _refused(text, name, err.problems) from None


def document(text: str, name: str) -> Document:
    """What a text says, read as TOML and no further but that it is a job. name: what messages call it. Raises FileError."""
    if len(text) > MAX_BYTES:
        what = f"The text is longer than {MAX_BYTES:,} characters."
        raise FileError("The file is too large", what, where=name, fix="A job is a few thousand: is it the right file?")
    try:
        raw = tomllib.loads(text, parse_float=_number)
    except RecursionError:
        raise _too_deep(name) from None
    except ValueError as err:
        raise _not_toml(name, str(err)) from None
    if _deeper_than(raw, MAX_DEPTH):
        raise _too_deep(name)
    if raw.get("format") != FORMAT:
        what = f"{shown(raw['format'])} is another format." if "format" in raw else "It does not say that it is a job."
        fix = f'A job file begins with format = "{FORMAT}" and version = {VERSION}.'
        raise FileError("Not a job file", what, where=f"{name}, format", fix=fix)
    version = raw.get("version")
    if type(version) is int and version > VERSION:
        what = f"It was written as version {version}, and this program reads version {VERSION}."
        fix = "Open it with a newer hearthcalc. Nothing was changed."
        raise FileError("The job file is newer than the program", what, where=f"{name}, version", fix=fix)
    return raw


@dataclass(frozen=True, slots=True)
class _Odd:
    """A number that is legal TOML and no measurement."""

    text: str

    def __str__(self) -> str:
        return self.text


def _number(text: str) -> Fraction | _Odd:
    """A decimal, exact; what has an exponent, or is not finite, is left for the entry to refuse."""
    plain = text.replace("_", "")
    if len(plain) > LONGEST_NUMBER or not re.fullmatch(r"[-+]?[0-9]+\.[0-9]+", plain):
        return _Odd(text)
    return Fraction(plain)


def _deeper_than(document: Document, limit: int) -> bool:
    level: list[Any] = [document]
    for _ in range(limit):
        level = [
            item
            for table in level
            for item in (table.values() if isinstance(table, dict) else table)
            if isinstance(item, dict | list)
        ]
    return bool(level)


def _too_deep(name: str) -> FileError:
    what = f"Tables or lists stand more than {MAX_DEPTH} deep in one another."
    return FileError("The file is nested too deeply", what, where=name, fix="A job needs five levels: is it the right file?")


_AT = re.compile(r"(.*?) \(at (?:line (\d+), column (\d+)|end of document)\)", re.DOTALL)
_TOML_WORDS = {
    "Cannot overwrite a value": ("A key stands twice.", "Keep one of the two."),
    "Invalid value": ("What stands after = is not a value.", 'Write text and lengths in quotes, as in width = "36".'),
    "Expected '=' after a key in a key/value pair": ("A key has no = after it.", 'Write it as in width = "36".'),
    "Illegal character '\\n'": ("A text is not closed before the end of its line.", "Close it with a quotation mark."),
}


def _not_toml(name: str, message: str) -> FileError:
    match = _AT.fullmatch(message)
    said, line, column = match.groups() if match else (message, None, None)
    what, fix = _TOML_WORDS.get(said, (f"This is not TOML: {clean(said)[:200]}.", "Mend it there, or look one line above."))
    if said.startswith("Cannot declare"):
        what, fix = "A table stands twice, or as a table and as a list.", "Keep one [table], or write [[face]] for each face."
    if said.startswith("Exceeds the limit"):
        what, fix = "A number has thousands of digits.", "Write what was measured."
    place = f", line {line}, column {column}" if line else ", at its end" if match else ""
    return FileError("The file is not valid TOML", what, where=name + place, fix=fix)


def _refused(text: str, name: str, problems: tuple[Problem, ...]) -> FileError:
    """What is wrong with a job, each mistake with its line."""
    lines = _lines(text)

    def line(problem: Problem) -> int:
        place = problem.path
        while place and place not in lines:
            place = place[:-1]
        return lines.get(place, 0)

    first, *rest = sorted(problems, key=line)
    more = [f"{_where(line(p), p.address)}: {p.what} {p.fix}" for p in rest[: MOST_SHOWN - 1]]
    if len(rest) >= MOST_SHOWN:
        more.append("And more.")
    return FileError(
        f"The job file has {len(problems)} mistakes" if rest else "The job file has a mistake",
        first.what,
        where=f"{name}, {_where(line(first), first.address)}",
        fix="\n".join([first.fix, *more]),
    )


def _where(line: int, address: str) -> str:
    return f"line {line}, {address}" if line else address


_TOKEN = re.compile(
    r'"""(?:[^\\]|\\.)*?"""|\'\'\'.*?\'\'\'|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|\#[^\n]*|[^"\'#\[\]{}\n]+|.', re.DOTALL
)
_KEY = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')"""
_KEYS = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_LINE = re.compile(rf"\s*(?:(\[\[?)\s*({_KEYS})\s*\]|({_KEYS})\s*=)")


def _lines(text: str) -> dict[Place, int]:
    """The line on which each key and each table of a valid text begins."""
    lines: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    table: Place = ()
    for number, statement in _statements(text):
        match = _LINE.match(statement)
        if match is None:
            continue
        bracket, header, key = match.groups()
        parts = [part.strip("\"'") for part in re.findall(_KEY, header or key)]
        if key:
            place = (*table, *parts)
        else:
            place = ()
            for step, part in enumerate(parts, 1):
                place = (*place, part)
                if bracket == "[[" and step == len(parts):
                    counts[place] = counts.get(place, -1) + 1
                if place in counts:
                    place = (*place, counts[place])
            table = place
        lines.setdefault(place, number)
    return lines


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """The statements of a text, each with the number of its first line; one may run over several."""
    depth, line, start, parts = 0, 1, 1, list[str]()
    for token in _TOKEN.findall(text):
        parts.append(token)
        depth += (token in "[{") - (token in "]}") if len(token) == 1 else 0
        line += token.count("\n")
        if token == "\n" and depth <= 0:
            yield start, "".join(parts)
            start, parts = line, []
    yield start, "".join(parts)


# Writing


def render(job: Job | Mapping[str, Any], original_text: str | None = None) -> str:
    """The text of a job, or of a document that may not be one yet.

    original_text: what it was read from: its comments, its order and its way of writing survive where nothing changed.
    Raises FileError where the original is not TOML.
    """
    import tomlkit  # slow, and only a save needs it

    new = job.document() if isinstance(job, Job) else _plain(job)
    if original_text is not None:
        old = document(original_text, "the file as it was")
        text = tomlkit.parse(original_text)
        _update(text, Job, new, old)
        rendered = text.as_string()
        if _same(tomllib.loads(rendered, parse_float=_number), new):
            return rendered
    fresh = tomlkit.document()
    _update(fresh, Job, new, {})
    return fresh.as_string()
