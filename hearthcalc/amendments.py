"""Local amendments: values that those in charge have changed, kept apart from the shipped files, with who, when and why."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from hearthcalc import jobfile
from hearthcalc.entry import shown
from hearthcalc.errors import EntryError, FileError
from hearthcalc.reference import (
    MAX_BYTES,
    Edition,
    Quantity,
    StepLimit,
    Value,
    load,
    read_number,
    read_quantity,
)

FORMAT = "hearthcalc-amendments"
VERSION = 1
NAME = "amendments.toml"
LOG = "amendments.log"
MATERIALS = "materials.csv"
COLUMNS = ("material", "title", "conductivity", "density", "source")
LEAST, MOST = (
    Fraction(1, 100),
    Fraction(500),
)  # W/(m.K): outside, a slip of the unit is likelier than a material
EDITED = "edited here"
KEYS = ("edition", "key", "value", "who", "when", "why")


@dataclass(frozen=True, slots=True)
class Change:
    """One amended value. value: as `Value.shown` prints it, so that a stepped limit is one line too."""

    edition: str
    key: str
    value: str
    who: str
    when: dt.date
    why: str


def read(path: Path) -> tuple[Change, ...]:
    """The changes of an amendments file; none where there is no such file. Raises FileError naming file and line."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return ()
    except OSError as err:
        raise FileError(
            "Cannot read the amendments",
            str(err.strerror or err),
            where=str(path),
            fix="Look at its permissions.",
        ) from err
    if len(data) > MAX_BYTES:
        raise FileError(
            "The amendments are too large",
            f"The file has {len(data)} bytes.",
            where=str(path),
            fix="Is it the right file?",
        )
    return changes_in(data, path.name)


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


def _change(entry: Mapping[str, object], place: str) -> Change:
    for key in KEYS:
        wanted = dt.date if key == "when" else str
        if type(entry.get(key)) is not wanted or entry[key] == "":
            raise FileError(
                "The amendments are not valid",
                f"{key} is missing or is not {'a date' if key == 'when' else 'text'}.",
                where=place,
                fix=f"Add {key}.",
            )
    if unknown := entry.keys() - set(KEYS):
        raise FileError(
            "The amendments are not valid",
            f"{shown(min(unknown))} is not a key of a change.",
            where=place,
            fix=f"Use: {', '.join(KEYS)}.",
        )
    return Change(**entry)  # type: ignore[arg-type]


def read_materials(path: Path) -> tuple[Mapping[str, str], ...]:
    """A user's own materials beside an amendments file: name, title, conductivity in W/(m.K), density in kg/m3 or none, source.

    None where there is no such file. Raises FileError naming file and line.
    """
    file = path.with_name(MATERIALS)
    try:
        lines = file.read_text(encoding="utf-8-sig").splitlines()
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError) as err:
        raise FileError(
            "Cannot read the materials",
            str(err),
            where=str(file),
            fix="Look at its permissions, and that it is text.",
        ) from err
    head = f"Its first line is: {','.join(COLUMNS)}."
    if not lines or tuple(lines[0].split(",")) != COLUMNS:
        raise FileError(
            "The materials are not valid", "The columns are others.", where=f"{file.name}, line 1", fix=head
        )
    rows = tuple(csv.DictReader(lines))
    for number, row in enumerate(rows, 2):
        place = f"{file.name}, line {number}"
        if (
            None in row
            or None in row.values()
            or not row["material"]
            or not row["title"]
            or not row["source"]
        ):
            raise FileError(
                "The materials are not valid",
                "A cell is missing or there is one too many.",
                where=place,
                fix=head,
            )
        for key in ("conductivity", "density"):
            if row[key] or key == "conductivity":
                try:
                    value = read_quantity(row[key]).number
                except EntryError as err:
                    raise FileError(
                        "The materials are not valid", f"{key}: {err.what}", where=place, fix=err.fix
                    ) from err
                if key == "conductivity" and not LEAST <= value <= MOST:
                    what = f"A conductivity of {row[key]} W/(m.K) is outside {float(LEAST):g} to {float(MOST):g}."
                    raise FileError("The materials are not valid", what, where=place, fix="Is it in W/(m.K)?")
    return rows


def with_materials(edition: Edition, rows: Iterable[Mapping[str, str]]) -> Edition:
    """The edition with a user's own materials added; one of a known name takes its place."""
    return replace(edition, materials=(*edition.materials, *rows))


def files_for(job_path: Path | None, own_folder: Path) -> tuple[Path, ...]:
    """The amendments files that bear on a job, in the order they apply: the user's own, then the one beside the job."""
    beside = (job_path.parent / NAME,) if job_path else ()
    return (own_folder / NAME, *beside)


def edition_with(edition_id: str, files: Iterable[Path]) -> Edition:
    """An edition with what amendments files change in it, in their order. Raises EntryError, FileError."""
    edition = load(edition_id)
    for file in files:
        edition = with_materials(amend(edition, read(file)), read_materials(file))
    return edition


def amend(edition: Edition, changes: Iterable[Change]) -> Edition:
    """The edition with the changes that name it folded in, later ones over earlier.

    Raises EntryError where a change names no value of the edition or holds what the value cannot be.
    """
    values = dict(edition.values)
    for change in changes:
        if change.edition == edition.id:
            values[change.key] = amended(edition, values.get(change.key), change)
    return replace(edition, values=values)


def amended(edition: Edition, value: Value | None, change: Change) -> Value:
    """One value as a change makes it: marked as edited here, with what was published kept in its note. Raises EntryError."""
    if value is None:
        raise EntryError(
            "No such value",
            f"{edition.id} has no value {change.key}.",
            where=change.key,
            fix="See hearthcalc reference list.",
        )
    held = parse(value, change.value)
    published = (
        value.note
        if value.standing == EDITED
        else f"published: {value.shown} ({value.source}, {value.clause}; {value.standing})"
    )
    note = published.split("; changed by ")[0]
    return replace(
        held, standing=EDITED, note=f"{note}; changed by {change.who}, {change.when}: {change.why}"
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
                f"{text!r} is not a value of {value.key}.",
                where=value.key,
                fix=f"Use one of: {allowed}.",
            )
        return replace(value, words=words)
    if value.quantity:
        return replace(value, quantity=_within(value, _like(value, value.quantity, text)))
    rows = [row.strip() for row in text.split(";") if row.strip()]
    if len(rows) != len(value.steps):
        raise EntryError(
            "Not so many steps",
            f"{value.key} has {len(value.steps)} steps.",
            where=value.key,
            fix=f"Write it as: {value.shown}.",
        )
    return replace(
        value, steps=tuple(_step(value, old, row) for old, row in zip(value.steps, rows, strict=True))
    )


def _step(value: Value, old: StepLimit, row: str) -> StepLimit:
    head, _, limit = row.rpartition(":")
    if not limit or (old.below is None) != (head.strip() == "otherwise"):
        raise EntryError(
            "Not a step",
            f"{row!r} is not a step of {value.key}.",
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
            f"{text} is not of the kind of {old.text}.",
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
    """The changes with one added; an earlier one of the same value gives way."""
    return (*without(changes, change.edition, change.key), change)


def without(changes: Sequence[Change], edition: str, key: str | None = None) -> tuple[Change, ...]:
    """The changes with one value taken back, or all of an edition where no key is given."""
    return tuple(c for c in changes if c.edition != edition or (key is not None and c.key != key))


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
        rows.append(tomlkit.item({key: getattr(change, key) for key in KEYS}))
    document["change"] = rows
    return tomlkit.dumps(document)


def log_line(change: Change, was: str, now: str) -> str:
    """One line of the plain log: what a value was, what it became, who, when and why."""
    line = f"{change.when}  {change.edition}  {change.key}: {was} -> {now}  by {change.who}: {change.why}"
    return " ".join(line.splitlines()) + "\n"
