"""Job files: TOML <-> Job, strictly; comments and order survive a save."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from hearthcalc import files
from hearthcalc.entry import bare, clean, cut, shown
from hearthcalc.errors import EntryError, FileError, UsageError
from hearthcalc.job import FORMAT, VERSION, Document, Job, JobError, Problem, Table, names
from hearthcalc.reference import shipped
from hearthcalc.tables import Sub

if TYPE_CHECKING:
    from tomlkit.container import Container
    from tomlkit.items import AoT

MAX_BYTES = 1 << 20
MAX_DEPTH = 20
MOST_SHOWN = 20  # mistakes told at once
LONGEST_NUMBER = 40  # characters
DEMOS = ("inn", "schoolhouse", "stonehouse")  # invented houses; the first is the one that "demo" alone means
# Keys that earlier files have and no rule asks for, by their table. What took their place has to be looked at anew.
RETIRED = (("chimney", "liner_installed"),)

Place = tuple[str | int, ...]

_KEY = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')"""
_KEYS = rf"{_KEY}(?:[ \t]*\.[ \t]*{_KEY})*"
_LONG_KEY = re.compile(rf"(?:^|[\[{{,])[ \t]*(?:{_KEY}[ \t]*\.[ \t]*){{{MAX_DEPTH}}}", re.MULTILINE)

# Reading


def load(source: Path | str | bytes, name: str | None = None) -> Job:
    """The job of a file, by its path or its bytes. name: what messages call it. Raises FileError."""
    called = clean(name or ("standard input" if isinstance(source, bytes) else str(source)))
    return parse_text(text_of(source, called), called)


def text_of(source: Path | str | bytes, name: str) -> str:
    """The text of a file, by its path or its bytes. Raises FileError where it cannot be read or is not text."""
    if isinstance(source, bytes):
        data = source
    else:
        try:
            data = files.read(Path(source), MAX_BYTES, pipes=True)
        except (OSError, ValueError) as err:
            reason = (
                (err.strerror or "It cannot be opened")
                if isinstance(err, OSError)
                else "No file can have that name"
            )
            fix = "Look at the name and whether you may read it."
            raise FileError("The file cannot be read", f"{reason}.", where=name, fix=fix) from None
    if len(data) > MAX_BYTES:
        what = f"The file is larger than {MAX_BYTES:,} bytes."
        raise FileError(
            "The file is too large", what, where=name, fix="A job is a few thousand: is it the right file?"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        what = f"Byte {err.start + 1} is not UTF-8 text."
        raise FileError("The file is not text", what, where=name, fix="Save it as UTF-8 text.") from None
    if "\0" in text:
        what = f"Byte {data.index(0) + 1} is zero, which no text holds."
        raise FileError("The file is not text", what, where=name, fix="Is it the right file?")
    return text.replace("\r\n", "\n")


def demo_of(wanted: str) -> str:
    """The name of the shipped demo that a person means by "demo" or "demo:inn", "" for none. Raises UsageError for an unknown one."""
    word, _, name = wanted.partition(":")
    if word != "demo" or files.there(Path(wanted)):
        return ""
    if (name or DEMOS[0]) not in DEMOS:
        fix = f"There are: {', '.join(DEMOS)}."
        raise UsageError("No such demo", f"There is no demo called {shown(name)}.", fix=fix)
    return name or DEMOS[0]


def demo(name: str) -> str:
    """The text of a shipped demo, by its name."""
    return text_of((shipped() / "demos" / f"{name}.hearth.toml").read_bytes(), f"the demo {name}")


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
        raise FileError(
            "The file is too large", what, where=name, fix="A job is a few thousand: is it the right file?"
        )
    raw = toml(text, name)
    for table, key in RETIRED:
        for stage in (raw, raw.get("planned")):
            if isinstance(stage, dict) and isinstance(stage.get(table), dict):
                stage[table].pop(key, None)
    if raw.get("format") != FORMAT:
        what = (
            f"{shown(raw['format'])} is another format."
            if "format" in raw
            else "It does not say that it is a job."
            if text.strip()
            else "It is empty, so it does not say that it is a job."
        )
        fix = f'A job file begins with format = "{FORMAT}" and version = {VERSION}.'
        raise FileError("Not a job file", what, where=f"{name}, format", fix=fix)
    version = raw.get("version")
    if type(version) is int and version > VERSION:
        what = f"It was written as version {version}, and this program reads version {VERSION}."
        fix = "Open it with a newer hearthcalc. Nothing was changed."
        raise FileError("The job file is newer than the program", what, where=f"{name}, version", fix=fix)
    return raw


def toml(text: str, name: str) -> Document:
    """What a text says, read as TOML, its decimals exact. name: what messages call it. Raises FileError, with the line of the mistake."""
    if _LONG_KEY.search(text):  # tomllib takes the square of its length in time
        raise _too_deep(name)
    try:
        raw = tomllib.loads(text, parse_float=_number)
    except RecursionError:
        raise _too_deep(name) from None
    except ValueError as err:
        raise _not_toml(name, str(err)) from None
    if _deeper_than(raw, MAX_DEPTH):
        raise _too_deep(name)
    return raw


class _Odd(Struct, frozen=True):
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
    return FileError(
        "The file is nested too deeply",
        what,
        where=name,
        fix="A job needs five levels: is it the right file?",
    )


_AT = re.compile(r"(.*?) \(at (?:line (\d+), column (\d+)|end of document)\)", re.DOTALL)
_TOML_WORDS = {
    "Expected newline or end of document after a statement": (
        "Something follows the value.",
        'Write text and lengths in quotes, as in width = "3 ft".',
    ),
    "Expected ']' at the end of a table declaration": ("A heading is not closed.", "Write it as in [flue]."),
    "Expected ']]' at the end of an array declaration": (
        "A heading of a list is not closed.",
        "Write it as in [[face]].",
    ),
    "Cannot overwrite a value": ("A key stands twice.", "Keep one of the two."),
    "Invalid value": (
        "What stands after = is not a value.",
        'Write text and lengths in quotes, as in width = "36".',
    ),
    "Expected '=' after a key in a key/value pair": (
        "A key has no = after it.",
        'Write it as in width = "36".',
    ),
    "Illegal character '\\n'": (
        "A text is not closed before the end of its line.",
        "Close it with a quotation mark.",
    ),
}


def _not_toml(name: str, message: str) -> FileError:
    match = _AT.fullmatch(message)
    said, line, column = match.groups() if match else (message, None, None)
    what, fix = _TOML_WORDS.get(said, (f"{clean(said)[:200]}.", "Fix it there, or look one line above."))
    if said.startswith("Cannot declare"):
        what, fix = (
            "A table stands twice, or as a table and as a list.",
            "Keep one [table], or write [[face]] for each face.",
        )
    if said.startswith("Exceeds the limit"):
        what, fix = "A number has thousands of digits.", "Write what was measured."
    place = f", line {line}, column {column}" if line else ", at its end" if match else ""
    return FileError("The file is not valid TOML", what, where=name + place, fix=fix)


def _refused(text: str, name: str, problems: tuple[Problem, ...]) -> FileError:
    """What is wrong with a job, each mistake with its line."""
    lines = lines_of(text)

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
    address = cut(address, 100, 60)
    return f"line {line}, {address}" if line else address


_TOKEN = re.compile(
    r'"""(?:[^\\]|\\.)*?"""|\'\'\'.*?\'\'\'|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|\#[^\n]*|[^"\'#\[\]{}\n]+|.',
    re.DOTALL,
)
_LINE = re.compile(rf"\s*(?:(\[\[?)\s*({_KEYS})\s*\]|({_KEYS})\s*=)")


def lines_of(text: str) -> dict[Place, int]:
    """The line on which each key and each table of a valid text begins."""
    lines: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    table: Place = ()
    for number, statement in _statements(text):
        match = _LINE.match(statement)
        if match is None:
            continue
        bracket, header, key = match.groups()
        parts = [next(iter(tomllib.loads(f"{part} = 0"))) for part in re.findall(_KEY, header or key)]
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

    original_text: what it was read from. Its comments, its order and its way of writing survive where nothing
    changed; where its layout cannot take the changes, the job is written anew.  Raises FileError where the original
    is not a job file.
    """
    import tomlkit  # slow, and only a save needs it
    from tomlkit.exceptions import TOMLKitError

    new = job.document() if isinstance(job, Job) else dict(job)
    if original_text is not None:
        document(original_text, "the file as it was")
        old = toml(original_text, "the file as it was")  # with the keys that are read no more, which go
        text = tomlkit.parse(original_text)
        with suppress(TOMLKitError):
            _update(text, Job, new, old)
        rendered = text.as_string()
        if _reads_as(rendered, new):
            return rendered
    fresh = tomlkit.document()
    _update(fresh, Job, new, {})
    return fresh.as_string()


def _reads_as(text: str, document: Mapping[str, Any]) -> bool:
    try:
        return _same(tomllib.loads(text, parse_float=_number), document)
    except tomllib.TOMLDecodeError:
        return False


def _same(old: Any, new: Any) -> bool:
    """Do two values of documents say the same? A number and the text of it do."""
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return old.keys() == new.keys() and all(_same(old[key], new[key]) for key in old)
    if isinstance(old, list | tuple) and isinstance(new, list | tuple):
        return len(old) == len(new) and all(map(_same, old, new))
    if isinstance(old, bool) or isinstance(new, bool):
        return old is new
    return bool(_as_text(old) == _as_text(new))


def _as_text(value: Any) -> Any:
    if isinstance(value, _Odd):
        return value.text
    try:
        return bare(value, "") if isinstance(value, int | float | Fraction) else value
    except EntryError:
        return str(value)


def _update(table: Any, kind: type[Table] | None, new: Mapping[str, Any], old: Mapping[str, Any]) -> None:
    """Change a tomlkit table that says `old` so that it says `new`, new keys in the order of the file format."""
    nodes = kind.fields if kind else {}
    for key in old.keys() - new.keys():
        del table[key]
    order = [*(key for key in nodes if key in new), *(key for key in new if key not in nodes)]
    for key in order:
        value, node = new[key], nodes.get(key)
        below = node.table if isinstance(node, Sub) else None
        if key not in old:
            _insert(table, key, value, below, order)
        elif _same(old[key], value):
            continue
        elif isinstance(value, Mapping) and isinstance(old[key], dict):
            _update(table[key], below, value, old[key])
        elif below and _is_aot(table[key]) and _is_tables(value):
            _update_list(table[key], below, value, old[key])
        else:
            table[key] = _entry(value, key)


def _is_aot(item: Any) -> bool:
    from tomlkit.items import AoT

    return isinstance(item, AoT)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(thing, Mapping) for thing in value)


def _update_list(tables: AoT, kind: type[Table], new: Any, old: Any) -> None:
    """Change an array of tables: things keep their text by name, or by place where only the name is another."""
    called, before = names(new, kind), names(old, kind)
    places = [before.index(name) if name in before else None for name in called]
    for number, place in enumerate(places):
        if place is None and number < len(before) and number not in places:
            places[number] = number
    kept = [tables[place] if place is not None else None for place in places]
    moved = places[: len(old)] != [*range(len(old))]
    if moved:
        while len(tables):
            del tables[-1]
    for thing, table, place in zip(new, kept, places, strict=True):
        if place is not None:
            _update(table, kind, thing, old[place])
        if moved or place is None:
            tables.append(_item(thing, kind, "") if table is None else table)


def _insert(table: Any, key: str, value: Any, kind: type[Table] | None, order: list[str]) -> None:
    """Put a new key into a tomlkit table: an entry beside its neighbours, a table before the next one that is there."""
    from tomlkit.container import Container
    from tomlkit.items import AoT, InlineTable
    from tomlkit.items import Table as TomlTable

    if isinstance(table, InlineTable):
        table[key] = _inline(value)
        return
    item = _item(value, kind, key)
    inner = table if isinstance(table, Container) else getattr(table, "value", None)
    if not isinstance(inner, Container):
        table[key] = item
        return
    is_table = isinstance(item, AoT | TomlTable)
    rows = [(name.key, row) for name, row in inner.body if name is not None and not name.is_dotted()]
    there = {name for name, row in rows if name in order and isinstance(row, AoT | TomlTable) == is_table}
    place = order.index(key)
    before = [name for name in order[:place] if name in there]
    after = [name for name in order[place:] if name in there]
    if before and not is_table:
        inner._insert_after(before[-1], key, item)
    elif after:
        inner._insert_at(_index(inner, after[0]), key, item)
    else:
        table.append(key, item)


def _index(container: Container, key: str) -> int:
    return next(
        number for number, (name, _) in enumerate(container.body) if name is not None and name.key == key
    )


def _item(value: Any, kind: type[Table] | None, key: str) -> Any:
    """A value of a document as a tomlkit item."""
    import tomlkit

    if isinstance(value, Mapping):
        table = tomlkit.table()
        _update(table, kind, value, {})
        return table
    if (
        key in ("face", "nearby", "roof", "photo", "signed")
        and isinstance(value, list)
        and all(isinstance(v, Mapping) for v in value)
    ):
        tables = tomlkit.aot()
        for thing in value:
            tables.append(_item(thing, kind, ""))
        return tables
    return _entry(value, key)


def _entry(value: Any, key: str) -> Any:
    """A value of a document as a tomlkit item; the verdicts, which are many, each on a line of its own."""
    item = _inline(value)
    return item.multiline(True) if key == "verdicts" and value else item


def _inline(value: Any) -> Any:
    """A value of a document as a tomlkit item that stands on one line."""
    import tomlkit

    if isinstance(value, list | tuple):
        array = tomlkit.array()
        for entry in value:
            array.append(_inline(entry))
        return array
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, entry in value.items():
            table.append(key, _inline(entry))
        return table
    return tomlkit.value(_as_text(value)) if isinstance(value, Fraction | _Odd) else tomlkit.item(value)
