"""Local amendments: values that those in charge have changed, kept apart from the shipped files, with who, when and why.

One that names a place holds for the jobs that use the amendments of that place; the others hold for every job.
"""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc import files, jobfile
from hearthcalc.entry import clean, cut, shown
from hearthcalc.errors import EntryError, FileError
from hearthcalc.reference import (
    MAX_BYTES,
    Edition,
    OwnMaterial,
    Quantity,
    StepLimit,
    Value,
    edition_ids,
    load,
    read_figure,
    read_number,
    read_quantity,
)

FORMAT = "hearthcalc-amendments"
VERSION = 1
NAME = "amendments.toml"
LOG = "amendments.log"
MATERIALS = "materials.csv"
COLUMNS = ("material", "title", "conductivity", "density", "source")
FIRST_LINE = f"Its first line is: {','.join(COLUMNS)}."
# Outside, a slip of the unit is likelier than a material. From memory: silica aerogel 0.013, silver 420 W/(m.K); osmium 22,600 kg/m3.
FIGURES = {
    "conductivity": ("W/(m.K)", Fraction(1, 100), Fraction(500)),
    "density": ("kg/m3", Fraction(5), Fraction(23_000)),
}
MOST_TYPED = 500  # characters of a name, a title or a source
EDITED = "edited here"
KEYS = ("edition", "key", "value", "who", "when", "why")
PLACE = "place"  # the one key that may be left out


class Change(Struct, frozen=True):
    """One amended value. value: as `Value.shown` prints it, so that a stepped limit is one line too.

    place: the town or county where it holds, "" for everywhere.
    """

    edition: str
    key: str
    value: str
    who: str
    when: dt.date
    why: str
    place: str = ""

    def holds(self, edition: str, place: str) -> bool:
        """Does it change an edition for a job that uses the amendments of a place."""
        return self.edition == edition and (not self.place or same_place(self.place, place))


def same_place(one: str, other: str) -> bool:
    """Are two names those of one place."""
    return one.strip().casefold() == other.strip().casefold()


def places(changes: Iterable[Change], edition: str) -> tuple[str, ...]:
    """The places that have amendments of an edition, by name."""
    named = {
        change.place.strip().casefold(): change.place.strip()
        for change in changes
        if change.edition == edition
    }
    return tuple(sorted(place for place in named.values() if place))


def read(path: Path) -> tuple[Change, ...]:
    """The changes of an amendments file; none where there is no such file. Raises FileError naming file and line."""
    data = _data(path, "amendments")
    return () if data is None else changes_in(data, path.name)


def _data(path: Path, called: str) -> bytes | None:
    """What a file holds, None where there is no such file. Raises FileError."""
    try:
        data = files.read(path, MAX_BYTES)
    except FileNotFoundError:
        return None
    except OSError as err:
        raise FileError(
            f"Cannot read the {called}",
            f"{err.strerror or err}.",
            where=str(path),
            fix="Look at the name and whether you may read it.",
        ) from err
    if len(data) > MAX_BYTES:
        raise FileError(
            f"The {called} are too large",
            f"The file has more than {MAX_BYTES:,} bytes.",
            where=str(path),
            fix="Is it the right file?",
        )
    return data


def changes_in(data: bytes, name: str) -> tuple[Change, ...]:
    """The changes that the bytes of an amendments file say. name: what messages call it. Raises FileError."""
    text = jobfile.text_of(data, name)
    document = jobfile.toml(text, name)
    if document.get("format") != FORMAT or document.get("version") != VERSION:
        raise FileError(
            "Not an amendments file",
            f'It does not say format = "{FORMAT}", version = {VERSION}.',
            where=name,
            fix="Write both at the top.",
        )
    if unknown := document.keys() - {"format", "version", "change"}:
        raise FileError(
            "The amendments are not valid",
            f"{shown(min(unknown))} is not a key here.",
            where=name,
            fix="Take it out.",
        )
    changes = document.get("change", [])
    if not isinstance(changes, list) or not all(isinstance(entry, dict) for entry in changes):
        raise FileError(
            "The amendments are not valid",
            "change is not a list of tables.",
            where=name,
            fix="Write [[change]] above each change.",
        )
    lines = jobfile.lines_of(text)
    return tuple(
        _change(entry, f"{name}, line {_line(lines, number)}, change {number + 1}")
        for number, entry in enumerate(changes)
    )


def _line(lines: Mapping[jobfile.Place, int], number: int) -> int:
    """Where a change begins: at its own heading, or at the list that it stands in."""
    return lines.get(("change", number)) or lines[("change",)]


def _change(given: Mapping[str, object], place: str) -> Change:
    entry = {key: clean(value) if isinstance(value, str) else value for key, value in given.items()}
    for key in KEYS:
        wanted = dt.date if key == "when" else str
        if type(entry.get(key)) is not wanted or entry[key] == "":
            raise FileError(
                "The amendments are not valid",
                f"{key} is missing or is not {'a date' if key == 'when' else 'text'}.",
                where=place,
                fix=f"Add {key}.",
            )
    if PLACE in entry and not (isinstance(entry[PLACE], str) and str(entry[PLACE]).strip()):
        raise FileError(
            "The amendments are not valid",
            "place is not the name of a town or county.",
            where=place,
            fix="Name it, or take the line out: the change then holds for every job.",
        )
    if unknown := entry.keys() - {*KEYS, PLACE}:
        raise FileError(
            "The amendments are not valid",
            f"{shown(min(unknown))} is not a key of a change.",
            where=place,
            fix=f"Use: {', '.join((*KEYS, PLACE))}.",
        )
    if entry["edition"] not in edition_ids():
        raise FileError(
            "The amendments are not valid",
            f"There is no edition {shown(str(entry['edition']))}, so this changes nothing.",
            where=place,
            fix=f"Use one of: {', '.join(edition_ids())}.",
        )
    return Change(**entry)  # type: ignore[arg-type]


def read_materials(path: Path) -> tuple[OwnMaterial, ...]:
    """A user's own materials beside an amendments file; none where there is no such file. Raises FileError naming file and line."""
    file = path.with_name(MATERIALS)
    data = _data(file, "materials")
    if data is None:
        return ()
    head, *lines = jobfile.text_of(data, file.name).split("\n")
    if tuple(head.rstrip(",").split(",")) != COLUMNS:
        raise _bad_material(f"{file}, line 1", "The first line names other columns.", FIRST_LINE)
    return tuple(
        _material(line, f"{file}, line {number}") for number, line in enumerate(lines, 2) if line.strip()
    )


def _material(line: str, place: str) -> OwnMaterial:
    try:
        cells = [clean(cell) for cell in next(csv.reader([line], strict=True))]
    except csv.Error as err:
        what = "A quotation mark is not closed, or a cell is far too long."
        raise _bad_material(place, what, "Write a material on one line.") from err
    if len(cells) != len(COLUMNS):
        raise _bad_material(place, "A cell is missing or there is one too many.", FIRST_LINE)
    row: dict[str, str] = dict(zip(COLUMNS, cells, strict=True))
    for key in ("material", "title", "source"):
        if not row[key]:
            raise _bad_material(f"{place}, {key}", "It is empty.", "Write what it is.")
        if len(row[key]) > MOST_TYPED:
            what = f"It has more than {MOST_TYPED} characters."
            raise _bad_material(f"{place}, {key}", what, "Write it shorter.")
    density = _figure(row, "density", place) if row["density"] else None
    return OwnMaterial(row, _figure(row, "conductivity", place), density)


def _figure(row: Mapping[str, str], key: str, place: str) -> Fraction:
    unit, least, most = FIGURES[key]
    try:
        figure = read_figure(row[key])
    except EntryError as err:
        raise _bad_material(f"{place}, {key}", err.what, f"{err.fix} It is in {unit}.") from err
    if not least <= figure <= most:
        what = f"{row[key]} {unit} is outside {float(least):g} to {float(most):g} {unit}."
        raise _bad_material(f"{place}, {key}", what, f"Is it in {unit}?")
    return figure


def _bad_material(where: str, what: str, fix: str) -> FileError:
    return FileError("The materials are not valid", what, where=where, fix=fix)


def with_materials(edition: Edition, rows: Iterable[OwnMaterial]) -> Edition:
    """The edition with a user's own materials added; one of a known name takes its place."""
    return replace(edition, materials=(*edition.materials, *rows))


def files_for(job_path: Path | None, own_folder: Path) -> tuple[Path, ...]:
    """The amendments files that bear on a job, in the order they apply: the user's own, then the one beside the job.

    Of a job that is opened by a link, also the one beside the file that it leads to.
    """
    if job_path is None:
        return (own_folder / NAME,)
    there = files.real(job_path).parent
    linked = () if there == files.real(job_path.parent) else (there / NAME,)
    return (own_folder / NAME, *linked, job_path.parent / NAME)


def edition_with(edition_id: str, files: Iterable[Path], place: str = "") -> Edition:
    """An edition with what amendments files change in it, in their order. Raises EntryError where there is none, FileError.

    place: the one whose amendments are used, besides those that hold everywhere.
    """
    edition = load(edition_id)
    for file in files:
        try:
            edition = with_materials(amend(edition, read(file), place), read_materials(file))
        except EntryError as err:
            raise FileError(err.title, err.what, where=f"{file}, {err.where}", fix=err.fix) from err
    return edition


def amend(edition: Edition, changes: Iterable[Change], place: str = "") -> Edition:
    """The edition with the changes that hold for it in a place folded in: later ones over earlier, those of the place over all others.

    Raises EntryError where a change names no value of the edition or holds what the value cannot be.
    """
    values, amended_for = dict(edition.values), edition.amended_for
    for change in applied(changes, edition.id, place):
        values[change.key] = amended(edition, values.get(change.key), change)
        amended_for = change.place.strip() or amended_for
    return replace(edition, values=values, amended_for=amended_for)


def check(changes: Sequence[Change]) -> None:
    """Raises EntryError where one of the changes cannot stand, in any edition and place."""
    for edition in sorted({change.edition for change in changes}):
        for place in ("", *places(changes, edition)):
            amend(load(edition), changes, place)


def applied(changes: Iterable[Change], edition: str, place: str) -> tuple[Change, ...]:
    """The changes that hold for an edition in a place, in the order in which they apply."""
    return tuple(
        sorted((c for c in changes if c.holds(edition, place)), key=lambda change: bool(change.place))
    )


def amended(edition: Edition, value: Value | None, change: Change) -> Value:
    """One value as a change makes it: marked as edited here, with what was published kept in its note. Raises EntryError."""
    if value is None:
        raise EntryError(
            "No such value",
            f"{edition.id} has no value {cut(change.key)}.",
            where=cut(change.key),
            fix="See hearthcalc reference list.",
        )
    try:
        held = parse(value, change.value)
    except EntryError as err:
        raise EntryError(err.title, err.what, where=value.key, fix=err.fix) from err
    published = (
        value.note
        if value.standing == EDITED
        else f"published: {value.shown} ({value.source}, {value.clause}; {value.standing})"
    )
    note = published.split("; changed ")[0]
    where = f"for {change.place} " if change.place else ""
    return replace(
        held, standing=EDITED, note=f"{note}; changed {where}by {change.who}, {change.when}: {change.why}"
    )


def parse(value: Value, text: str) -> Value:
    """The value with another content, typed as it is shown. Raises EntryError where it is of another kind or outside the hard range."""
    if value.table or (value.quantity is None and not value.steps and not value.words):
        raise EntryError(
            "Not to be edited here",
            f"{value.key} holds a {'table' if value.table else 'method'}.",
            where=value.key,
            fix="Edit the edition's file.",
        )
    if value.words:
        words = tuple(word.strip() for word in text.split(",") if word.strip())
        wrong = [word for word in words if value.choices and word not in value.choices]
        if wrong or not words:
            allowed = ", ".join(value.choices)
            raise EntryError(
                "Not a valid choice",
                f"{shown(text)} is not a value of {value.key}.",
                where=value.key,
                fix=f"Use one of: {allowed}.",
            )
        return replace(value, words=words)
    if value.quantity:
        return replace(value, quantity=_within(value, _like(value, value.quantity, text)))
    rows = [row.strip() for row in text.split(";") if row.strip()]
    if len(rows) != len(value.steps):
        raise EntryError(
            "Too few or too many steps",
            f"{value.key} has {len(value.steps)} steps.",
            where=value.key,
            fix=f"Write it as: {value.shown}.",
        )
    return replace(
        value, steps=tuple(_step(value, old, row) for old, row in zip(value.steps, rows, strict=True))
    )


def _step(value: Value, old: StepLimit, row: str) -> StepLimit:
    head, _, limit = row.rpartition(":")
    if not head or not limit or (old.below is None) != (head.strip() == "otherwise"):
        raise EntryError(
            "Not a step",
            f"{shown(row)} is not a step of {value.key}.",
            where=value.key,
            fix=f"Write it as: {value.shown}.",
        )
    below = None if old.below is None else _like(value, old.below, head.strip().removeprefix("below").strip())
    return StepLimit(below, _within(value, _like(value, old.value, limit.strip())))


def _like(value: Value, old: Quantity, text: str) -> Quantity:
    model_constant = old.dimension == old.unit != ""
    bare = text.strip().removesuffix(old.unit).strip()
    new = read_number(bare, old.unit) if model_constant else read_quantity(text)
    if new.dimension != old.dimension:
        raise EntryError(
            "Another kind of quantity",
            f"{cut(text)} is not of the kind of {old.text}.",
            where=value.key,
            fix=f"Write it like {old.text}.",
        )
    return new


def _within(value: Value, quantity: Quantity) -> Quantity:
    if value.hard and not value.hard[0].number <= quantity.number <= value.hard[1].number:
        low, high = value.hard
        raise EntryError(
            "Out of range",
            f"{quantity.text} is outside {low.text} to {high.text}.",
            where=value.key,
            fix="Nothing was changed.",
        )
    return quantity


def with_change(changes: Sequence[Change], change: Change) -> tuple[Change, ...]:
    """The changes with one added; an earlier one of the same value and place gives way."""
    kept = (
        old for old in changes
        if (old.edition, old.key) != (change.edition, change.key) or not same_place(old.place, change.place)
    )  # fmt: skip
    return (*kept, change)


def render(changes: Sequence[Change]) -> str:
    """The amendments as their file."""
    import tomlkit

    document = tomlkit.document()
    document.add(
        tomlkit.comment(
            "Local amendments to the reference values. Each change names who made it, when and why."
        )
    )
    document["format"], document["version"] = FORMAT, VERSION
    rows = tomlkit.aot()
    for change in changes:
        keys = (*KEYS, PLACE) if change.place else KEYS
        rows.append(tomlkit.item({key: getattr(change, key) for key in keys}))
    document["change"] = rows
    return tomlkit.dumps(document)


def log_line(change: Change, was: str, now: str) -> str:
    """One line of the plain log: what a value was, what it became, who, when and why."""
    where = f"  for {change.place}" if change.place else ""
    line = (
        f"{change.when}  {change.edition}{where}  {change.key}: {was} -> {now}  by {change.who}: {change.why}"
    )
    return " ".join(line.splitlines()) + "\n"
