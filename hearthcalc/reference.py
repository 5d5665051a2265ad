"""The reference values: editions that extend one another, their tables and sources, read strictly."""

import csv
import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cache, cached_property, lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar, get_args, get_origin

import tomli
from msgspec import Meta, Struct, ValidationError, convert
from msgspec.structs import fields

from hearthcalc import lengths, quantities
from hearthcalc.entry import shown
from hearthcalc.errors import EntryError, FileError
from hearthcalc.findings import STANDINGS, Basis
from hearthcalc.many import floats_of

DEFAULT_EDITION = "irc-2021"
BASES = (
    "policy",
    "draft_model",
    "heat_model",
    "steel",
    "takeoff",
)  # under every edition: what codes leave open, and the models
LENGTH_UNITS = ("in", "ft", "mm", "cm", "m")
MAX_BYTES = 1 << 20

_FIGURE = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")
_NUMBER = re.compile(rf"[-+]?{lengths.NUMBER}")


Text = Annotated[str, Meta(min_length=1)]
Pair = tuple[str, str]


class Part(Struct, forbid_unknown_fields=True):
    """A part of a reference file as it stands there."""


class _Row(Part, kw_only=True):
    """A step as it stands in a file."""

    below: str | None = None
    value: str


class Entry(Part):
    """A [[value]] as it stands in a file."""

    key: Text
    title: Text
    source: Text
    clause: Text
    standing: Text
    method: str = ""
    value: str | tuple[Text, ...] | None = None
    unit: str = ""
    steps: tuple[_Row, ...] = ()
    table: str = ""
    note: str = ""
    hard: Pair | None = None
    usual: Pair | None = None
    choices: tuple[Text, ...] = ()


class _Head(Part):
    """An edition file as it stands, its values still unread."""

    id: Text
    title: Text
    applies: Text
    extends: str | None = None
    units: Literal["in", "mm"] | None = None
    silent: tuple[Text, ...] = ()
    history: bool = False
    value: tuple[dict[str, Any], ...] = ()


class _Source(Part):
    """A source as it stands in sources.toml."""

    title: Text


class Quantity(Struct, frozen=True):
    """A reference number as its source prints it. number: canonical (inch, in2, ...), exact."""

    text: str
    number: Fraction
    dimension: str
    unit: str


class OwnMaterial(Struct, frozen=True):
    """A material of the user. cells: as its file prints them; conductivity: W/(m.K); density: kg/m3, None where it is not known."""

    cells: Mapping[str, str]
    conductivity: Fraction
    density: Fraction | None


class StepLimit(Struct, frozen=True):
    """One row of a stepped limit: it holds below `below`, or to the end where that is None."""

    below: Quantity | None
    value: Quantity


class Value(Struct, frozen=True, dict=True):
    """One value of an edition, with what it rests on.

    method: the arithmetic it picks.  quantity, words, steps, table: what it holds; one of them, or none for a bare method.
    edition: where it is stated, which may be an edition that this one extends.
    """

    key: str
    title: str
    source: str
    clause: str
    standing: str
    edition: str
    place: str
    method: str = ""
    quantity: Quantity | None = None
    words: tuple[str, ...] = ()
    steps: tuple[StepLimit, ...] = ()
    table: str = ""
    note: str = ""
    hard: tuple[Quantity, Quantity] | None = None
    usual: tuple[Quantity, Quantity] | None = None
    choices: tuple[str, ...] = ()

    @property
    def number(self) -> Fraction:
        """The number, canonical and exact; ValueError where the value is not a number."""
        if self.quantity is None:
            raise ValueError(f"{self.key} holds no single number")
        return self.quantity.number

    @cached_property
    def floats(self) -> Any:
        """The number as a float; that of many rows as an array of them. Raises ValueError as the number does."""
        return floats_of(self.number)

    @property
    def shown(self) -> str:
        """The value as its source prints it."""
        if self.quantity:
            return self.quantity.text
        if self.steps:
            return "; ".join(
                f"below {s.below.text}: {s.value.text}" if s.below else f"otherwise: {s.value.text}"
                for s in self.steps
            )
        return ", ".join(self.words) or self.table or self.method

    @property
    def unusual(self) -> str:
        """A warning where the value is outside its usual range, else ""."""
        if self.usual is None:
            return ""
        low, high = self.usual
        for quantity in self.quantities():
            if not low.number <= quantity.number <= high.number:
                return f"{quantity.text} is outside the usual {low.text} to {high.text}"
        return ""

    def quantities(self) -> Iterator[Quantity]:
        """Every number that the ranges apply to."""
        if self.quantity:
            yield self.quantity
        yield from (step.value for step in self.steps)

    def basis(self) -> Basis:
        """This value as a finding quotes it."""
        return self._basis

    @cached_property
    def _basis(self) -> Basis:
        unit = self.quantity.unit if self.quantity else self.steps[0].value.unit if self.steps else ""
        notes = (self.note, self.unusual)
        return Basis(
            key=self.key,
            title=self.title,
            value=self.shown,
            unit=unit,
            source=self.source,
            clause=self.clause,
            edition=self.edition,
            standing=self.standing,
            note="; ".join(n for n in notes if n),
        )


class Table(Struct, frozen=True):
    """A printed table: its rows by column name, and the first line of its file, which names the source."""

    name: str
    source: str
    rows: tuple[Mapping[str, str], ...]


class Liner(Struct, frozen=True):
    """One nominal flue size of a table. sides: as named, inches, one for a round flue; area: in2 inside."""

    name: str
    sides: tuple[Fraction, ...]
    area: Fraction

    @property
    def round(self) -> bool:
        return len(self.sides) == 1


class Silent(Exception):  # noqa: N818 - not a mistake: the edition has nothing to say
    """The edition says nothing on this key."""

    def __init__(self, key: str) -> None:
        super().__init__(key)
        self.key = key


class Edition(Struct, frozen=True, eq=False, dict=True):
    """A code or a handbook of one year, with what it extends folded in. materials: those that a user adds to the table of them.

    One is the same as itself alone, so that what was worked out with it can be kept by it.

    amended_for: the place whose amendments are in it, "" for none.
    """

    id: str
    title: str
    applies: str
    units: lengths.Unit
    history: bool
    values: Mapping[str, Value]
    sources: Mapping[str, str]
    folder: Any
    materials: tuple[OwnMaterial, ...] = ()
    amended_for: str = ""

    def __getitem__(self, key: str) -> Value:
        """The value of a key; Silent where this edition has none."""
        try:
            return self.values[key]
        except KeyError:
            raise Silent(key) from None

    def get(self, key: str) -> Value | None:
        """The value of a key, or None where this edition has none."""
        return self.values.get(key)

    @property
    def area_unit(self) -> str:
        return f"{self.units}2"

    @cached_property
    def fingerprint(self) -> str:
        """Changes when any value, source or table behind this edition does."""
        digest = hashlib.sha256()
        for key in sorted(self.values):
            value = self.values[key]
            digest.update(
                repr((key, value.method, value.shown, value.source, value.clause, value.standing)).encode()
            )
            if value.table:
                digest.update(_bytes(self.folder / "tables" / f"{value.table}.csv"))
        digest.update(
            repr([sorted(own.cells.items()) for own in self.materials]).encode() if self.materials else b""
        )
        return digest.hexdigest()

    @cached_property
    def edited(self) -> tuple[str, ...]:
        """Keys whose value an amendment changed."""
        return tuple(sorted(key for key, value in self.values.items() if value.standing == "edited here"))

    def liners(self, shape: str) -> tuple[Liner, ...]:
        """The flue sizes of this edition's table for "round" or "rectangular" flues, by area."""
        value = self.get(f"flue.liners.{shape}")
        return read_liners(self.folder, value.table) if value else ()

    def sizes(self) -> tuple[str, ...]:
        """The nominal sizes of a table that names sizes without their areas."""
        value = self.get("flue.sizes")
        return tuple(row["size"] for row in read_table(self.folder, value.table).rows) if value else ()


@cache
def shipped() -> Path:
    """The folder of reference files that came with the program."""
    return Path(str(files("hearthcalc_reference") / f"{BASES[0]}.toml")).parent


def editions(folder: Any = None) -> list[Edition]:
    """Every shipped edition, by id."""
    return [load(edition_id, folder) for edition_id in edition_ids(folder)]


def edition_ids(folder: Any = None) -> list[str]:
    """The ids of the shipped editions."""
    return list(_edition_ids(folder or shipped()))


@cache
def _edition_ids(root: Any) -> tuple[str, ...]:
    return tuple(sorted(p.name[:-5] for p in (root / "editions").iterdir() if p.name.endswith(".toml")))


def silent_on(edition: Edition) -> list[str]:
    """The keys that other shipped editions have a value for, and this one has none."""
    known = {key for other in editions(edition.folder) for key in other.values}
    return sorted(known - edition.values.keys())


def load(edition_id: str = DEFAULT_EDITION, folder: Any = None) -> Edition:
    """Read an edition with all that it extends.

    folder: where the reference files lie, the shipped ones unless given.
    Raises FileError naming file, key and line where something is wrong; EntryError where there is no such edition.
    """
    root = folder or shipped()
    known = _edition_ids(root)
    if edition_id not in known:
        raise EntryError(
            "No such edition",
            f"There is no edition {shown(edition_id)}.",
            where="about.edition",
            fix=f"Choose one of: {', '.join(known)}.",
        )
    return _load(edition_id, root)


@cache
def _load(edition_id: str, root: Any) -> Edition:
    sources = _sources(root)
    chain = [_File(root, root / "editions" / f"{edition_id}.toml", sources)]
    while (last := chain[-1]).head.extends:
        name = last.head.extends
        if any(name == earlier.head.id for earlier in chain):
            raise last.error(
                "extends", "makes editions extend one another in a circle", "Take one of them out."
            )
        path = root / "editions" / f"{name}.toml"
        if not path.is_file():
            raise last.error("extends", f"names {name!r}, and there is no such edition", "Name one that is.")
        chain.append(_File(root, path, sources))
    bases = [
        _File(root, root / f"{name}.toml", sources) for name in BASES if (root / f"{name}.toml").is_file()
    ]
    values: dict[str, Value] = {}
    for file in (*bases, *reversed(chain)):
        stated = {value.key: value for value in file.values()}
        quiet = set(file.head.silent)
        if both := quiet & stated.keys():
            raise file.error("silent", f"{sorted(both)[0]} is both stated and silent", "Keep one of the two.")
        values |= stated
        for key in quiet:
            values.pop(key, None)
    head = chain[0].head
    units: lengths.Unit | None = next((file.head.units for file in chain if file.head.units), None)
    if units is None:
        raise chain[-1].error("units", "is missing", 'Add units = "in" or units = "mm".')
    return Edition(
        id=edition_id,
        title=head.title,
        applies=head.applies,
        units=units,
        history=head.history,
        values=values,
        sources=sources,
        folder=root,
    )


def _bytes(path: Any) -> bytes:
    try:
        data: bytes = path.read_bytes()
    except OSError as err:
        raise FileError(
            "Cannot read a reference file",
            str(err.strerror or err),
            where=str(path),
            fix="Install the program again.",
        ) from err
    if len(data) > MAX_BYTES:
        raise FileError(
            "A reference file is too large",
            f"It has {len(data)} bytes.",
            where=str(path),
            fix=f"Keep it below {MAX_BYTES} bytes.",
        )
    return data


def _sources(root: Any) -> dict[str, str]:
    path = root / "sources.toml"
    try:
        data = tomli.loads(_bytes(path).decode())
    except (tomli.TOMLDecodeError, UnicodeDecodeError) as err:
        raise FileError(
            "A reference file is not valid TOML", str(err), where=path.name, fix="Fix that line."
        ) from err
    try:
        return {key: shaped(_Source, entry).title for key, entry in data.items()}
    except Misshapen as err:
        what = f"A source's {err.key} {err.what}."
        raise FileError(
            "A reference file is not sound", what, where=path.name, fix='Write [NAME] and title = "...".'
        ) from err


P = TypeVar("P", bound=Part)
_TOLD: Mapping[Any, str] = {
    bool: "is neither true nor false",
    tuple[_Row, ...]: "takes rows of below and value",
    tuple[dict[str, Any], ...]: "is not a list of tables",
    Pair | None: "takes two values, each text in quotes",
}


class Misshapen(Exception):  # noqa: N818 - raised on, with its line
    """A part of a file that is not what it must be. key: the first that is wrong.  what: how."""

    def __init__(self, key: str, what: str) -> None:
        super().__init__(f"{key} {what}")
        self.key = key
        self.what = what


def shaped(part: type[P], data: Any) -> P:
    """A part of a file, as what it must be; nothing is converted. Raises Misshapen."""
    try:
        return convert(data, part)
    except ValidationError as err:
        raise _misshapen(part, data) from err


def _misshapen(part: type[P], data: Any) -> Misshapen:
    if not isinstance(data, Mapping):
        return Misshapen("entry", "is not a table")
    for field in fields(part):
        if field.name in data:
            try:
                convert(data[field.name], field.type)
            except ValidationError:
                return Misshapen(field.name, _TOLD.get(field.type) or _told(data[field.name], field.type))
        elif field.required:
            return Misshapen(field.name, "is missing")
    return Misshapen(next(key for key in data if key not in part.__struct_fields__), "is not a key here")


def _told(value: Any, kind: Any) -> str:
    """What is wrong with a text, a list of texts, or one of some words."""
    if get_origin(kind) is tuple and not isinstance(value, list):
        return "is not a list"
    text = (
        next((each for each in value if not isinstance(each, str)), "") if isinstance(value, list) else value
    )
    if not isinstance(text, str):
        return "is not text in quotes"
    words = [
        word for part in (kind, *get_args(kind)) for word in get_args(part) if get_origin(part) is Literal
    ]
    return f"is none of {', '.join(words)}" if words else "is empty"


class _File:
    """One edition or policy file: strict, and able to say where a mistake stands."""

    def __init__(self, root: Any, path: Any, sources: Mapping[str, str]) -> None:
        self.root = root
        self.path = path
        text = _bytes(path).decode("utf-8", errors="replace")
        self.lines = text.splitlines()
        heads = (number for number, line in enumerate(self.lines) if line.strip().startswith("[[value]]"))
        self.starts = [*heads, len(self.lines)]
        self.sources = sources
        try:
            data = tomli.loads(text)
        except (tomli.TOMLDecodeError, RecursionError) as err:
            raise FileError(
                "A reference file is not valid TOML", str(err), where=str(path.name), fix="Fix that line."
            ) from err
        self.head = self.shaped(_Head, data)
        if f"{self.head.id}.toml" != path.name:
            raise self.error("id", f"says {self.head.id!r} in a file named {path.name}", "Let the two agree.")

    def shaped(self, part: type[P], data: Mapping[str, Any], block: int | None = None) -> P:
        """A part of the file as what it must be."""
        try:
            return shaped(part, data)
        except Misshapen as err:
            keys = f"Keys here: {', '.join(part.__struct_fields__)}."
            raise self.error(err.key, err.what, keys, block) from None

    def error(self, key: str, what: str, fix: str, block: int | None = None) -> FileError:
        line = self.line(key, block)
        return FileError(
            "A reference file is not sound", f"{key} {what}.", where=f"{self.path.name}, line {line}", fix=fix
        )

    def line(self, key: str, block: int | None) -> int:
        """The line of a key: in the block-th [[value]], or above the first one."""
        first, last = (0, self.starts[0]) if block is None else (self.starts[block], self.starts[block + 1])
        for number in range(first, last):
            if self.lines[number].split("=")[0].strip() == key:
                return number + 1
        return first + 1

    def values(self) -> Iterator[Value]:
        seen: set[str] = set()
        for block, data in enumerate(self.head.value):
            value = self.value(self.shaped(Entry, data, block), block)
            if value.key in seen:
                raise self.error("key", f"{value.key} is stated twice", "Take one of them out.", block)
            seen.add(value.key)
            yield value

    def value(self, entry: Entry, block: int) -> Value:
        return _Block(self, entry, block).value()


class _Block(Struct, frozen=True):
    """One [[value]] of a file, on its way to a value. Raises FileError with its line where it is not sound."""

    file: _File
    entry: Entry
    number: int

    def refuse(self, key: str, what: str, fix: str) -> FileError:
        return self.file.error(key, what, fix, self.number)

    def read(self, key: str, text: str) -> Quantity:
        unit = self.entry.unit
        try:
            return read_number(text, unit) if unit else read_quantity(text)
        except EntryError as err:
            raise self.refuse(key, f"{text!r} cannot be read: {err.what.rstrip('.')}", err.fix) from None

    def value(self) -> Value:
        entry, file = self.entry, self.file
        self.is_sourced()
        self.holds_one_thing()
        words = self.words()
        value = Value(
            key=entry.key,
            title=entry.title,
            source=entry.source,
            clause=entry.clause,
            standing=entry.standing,
            edition=file.head.id,
            place=f"{file.path.name}, line {file.line('key', self.number)}",
            method=entry.method,
            quantity=self.read("value", str(entry.value)) if entry.value and not words else None,
            words=words,
            steps=self.steps(),
            table=entry.table,
            note=entry.note,
            hard=self.range("hard", entry.hard),
            usual=self.range("usual", entry.usual),
            choices=entry.choices,
        )
        self.is_within(value)
        return value

    def is_sourced(self) -> None:
        standings = [standing for standing in STANDINGS if standing != "edited here"]
        standing, source = self.entry.standing, self.entry.source
        if standing not in standings:
            raise self.refuse("standing", f"cannot be {standing!r}", f"Use one of: {', '.join(standings)}.")
        if source not in self.file.sources:
            what = f"{source!r} is not in sources.toml"
            raise self.refuse("source", what, "Add it there, or name one that is.")

    def holds_one_thing(self) -> None:
        entry = self.entry
        held = [key for key in ("value", "steps", "table") if getattr(entry, key)]
        if len(held) > 1:
            raise self.refuse(held[1], f"stands beside {held[0]}", "Keep one of them.")
        if not held and not entry.method:
            raise self.refuse("key", f"{entry.key} holds nothing", "Add value, steps, table or method.")
        if entry.table and not (self.file.root / "tables" / f"{entry.table}.csv").is_file():
            what = f"names {entry.table!r}, and there is no such table"
            raise self.refuse("table", what, "Name one that is in the folder tables.")

    def words(self) -> tuple[str, ...]:
        entry = self.entry
        if not isinstance(entry.value, tuple) and not (entry.value and entry.choices):
            return ()
        words = entry.value if isinstance(entry.value, tuple) else (entry.value,)
        if odd := [word for word in words if entry.choices and word not in entry.choices]:
            what = f"cannot be {odd[0]!r}"
            raise self.refuse("value", what, f"Use one of: {', '.join(entry.choices)}.")
        return words

    def steps(self) -> tuple[StepLimit, ...]:
        steps = [
            StepLimit(self.read("steps", row.below) if row.below else None, self.read("steps", row.value))
            for row in self.entry.steps
        ]
        edges = [step.below.number for step in steps if step.below]
        if steps and (steps[-1].below is not None or len(edges) != len(steps) - 1):
            what = "must end with one row that has no below, and only there"
            raise self.refuse("steps", what, "Order the rows.")
        if edges != sorted(edges) or len({step.value.dimension for step in steps}) > 1:
            raise self.refuse("steps", "must rise, and be of one kind", "Order the rows.")
        return tuple(steps)

    def range(self, name: str, bounds: Sequence[str] | None) -> tuple[Quantity, Quantity] | None:
        if not bounds:
            return None
        low, high = (self.read(name, text) for text in bounds)
        if low.dimension != high.dimension or low.number > high.number:
            what = "must go from the least to the most, of one kind"
            raise self.refuse(name, what, f'Write {name} = ["least", "most"].')
        return low, high

    def is_within(self, value: Value) -> None:
        for number in value.quantities():
            for name, ends in (("hard", value.hard), ("usual", value.usual)):
                if ends and ends[0].dimension != number.dimension:
                    what = f"is not of the kind of {number.text}"
                    raise self.refuse(name, what, "Give both in like units.")
            if value.hard and not value.hard[0].number <= number.number <= value.hard[1].number:
                low, high = value.hard
                what = f"{number.text} is outside {low.text} to {high.text}"
                raise self.refuse("value", what, "Nothing was changed.")


def read_quantity(text: object) -> Quantity:
    """A reference number: a length, another quantity with its unit, or a bare ratio such as 1/12. Raises EntryError."""
    if not isinstance(text, str):
        raise EntryError("Not text", "a value is text with its unit", fix='Write it in quotes, as in "8 in".')
    return _quantity(text)


@lru_cache(maxsize=1024)
def _quantity(text: str) -> Quantity:
    _, unit = split_unit(text)
    if unit in LENGTH_UNITS:
        return Quantity(text, lengths.parse(text, "in"), "length", unit)
    dimension = quantities.dimension_of(unit) if unit else "ratio"
    return Quantity(text, quantities.parse(text, dimension), dimension, unit)


def read_number(text: object, unit: str) -> Quantity:
    """A constant of a model: a bare number, in a unit that people do not type. Raises EntryError."""
    bare = read_quantity(text)
    if bare.unit:
        raise EntryError(
            "Two units", f"{bare.text} has a unit of its own", fix=f"Write the number alone; it is in {unit}."
        )
    return Quantity(f"{bare.text} {unit}", bare.number, unit, unit)


def read_figure(text: str) -> Fraction:
    """A figure of a table: a number alone, whose unit the table's column has. Raises EntryError."""
    plain = text.strip()
    if not plain:
        raise EntryError("No figure", "It is empty.", fix="Write a number alone, as in 0.12.")
    if not _FIGURE.fullmatch(plain):
        raise EntryError(
            "Not a plain number",
            f"{shown(plain)} is not a plain number.",
            fix="Write a number alone, as in 0.12.",
        )
    return lengths.number(plain)


def split_unit(text: str) -> tuple[str, str]:
    """The number of a text, and its unit, "" where it has none."""
    match = _NUMBER.match(text.strip())
    return (match[0], text.strip()[match.end() :].strip()) if match else ("", text.strip())


@cache
def read_table(folder: Any, name: str) -> Table:
    """A table by its name. Its first line, a comment, names the source. Raises FileError."""
    path = folder / "tables" / f"{name}.csv"
    lines = _bytes(path).decode().splitlines()
    if not lines or not lines[0].startswith("# "):
        raise FileError(
            "A table does not name its source",
            "The first line is not a comment.",
            where=f"{name}.csv, line 1",
            fix="Add it.",
        )
    rows = tuple(csv.DictReader(lines[1:]))
    for number, row in enumerate(rows, 3):
        if None in row or None in row.values():
            raise FileError(
                "A table is not sound",
                "A row has too many or too few cells.",
                where=f"{name}.csv, line {number}",
                fix="Fix it.",
            )
    return Table(name, lines[0][2:].strip(), rows)


@cache
def read_liners(folder: Any, name: str) -> tuple[Liner, ...]:
    """The flue sizes of a table whose first two columns are the nominal size and the inside area in in2, by area."""
    table = read_table(folder, name)
    liners = []
    for row in table.rows:
        size, area, *_ = row.values()
        liners.append(Liner(size, liner_sides(size), Fraction(area)))
    return tuple(sorted(liners, key=lambda liner: (liner.area, liner.sides)))


@lru_cache(maxsize=256)
def liner_sides(size: str) -> tuple[Fraction, ...]:
    """The sides that a nominal size names, inches, the shorter first: "8.5x13" two, "12" one. Raises EntryError."""
    bare = size.lower().replace("round", "").strip()
    if "x" in bare or "×" in bare:
        return tuple(sorted(lengths.parse_pair(bare, "in")))
    return (lengths.parse(bare, "in"),)


def find_liner(edition: Edition, size: str) -> tuple[Liner | None, tuple[str, ...]]:
    """A nominal size in this edition's tables, or None, and the other shipped editions whose tables hold it. Raises EntryError."""
    if here := _liner(edition, size):
        return here, ()
    return None, _holders(size, edition.folder)


@lru_cache(maxsize=256)
def _liner(edition: Edition, size: str) -> Liner | None:
    sides = liner_sides(size)
    liners = (liner for shape in ("round", "rectangular") for liner in edition.liners(shape))
    return next((liner for liner in liners if liner.sides == sides), None)


@lru_cache(maxsize=256)
def _holders(size: str, folder: Any) -> tuple[str, ...]:
    """The editions of a folder whose tables hold a nominal size."""
    return tuple(one.id for one in editions(folder) if _liner(one, size) or size in one.sizes())
