"""The user's own amendments: read anew, checked and written whole before each change, and told in a plain log beside them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from pathlib import Path

from hearthcalc import amendments, reference
from hearthcalc.amendments import Change
from hearthcalc.errors import EntryError
from hearthcalc.reference import Edition, Value
from hearthcalc_tui import storage

TAKEN_BACK = "taken back"


def own_file() -> Path:
    """The user's own amendments file."""
    return amendments.files_for(None, storage.settings_folder())[0]


def log_file() -> Path:
    """The plain log beside it."""
    return own_file().with_name(amendments.LOG)


def own_changes(edition: str) -> tuple[Change, ...]:
    """The user's own changes of an edition. FileError where the file cannot be read."""
    return tuple(change for change in amendments.read(own_file()) if change.edition == edition)


def beside_the_job(job: Path | None, edition: str, key: str) -> Path | None:
    """The amendments file beside a job where it holds a value, and so comes after the user's own; else None."""
    for file in amendments.files_for(job, storage.settings_folder())[1:]:
        if any((change.edition, change.key) == (edition, key) for change in amendments.read(file)):
            return file
    return None


def check(value: Value, text: str) -> tuple[str, str]:
    """What keeps a text from being the value, and what is unusual about it; "" for nothing.

    text: typed as `Value.shown` prints it.
    """
    if not text.strip():
        return "Type a value. Esc leaves it as it is.", ""
    try:
        held = amendments.parse(value, text)
    except EntryError as error:
        return f"{error.what.rstrip('.')}. {error.fix}", ""
    return "", f"{held.unusual}. Is that meant?" if held.unusual else ""


def put(edition: Edition, change: Change) -> None:
    """Keep a change. edition: as amended until now. FileError or EntryError where it cannot be kept; nothing is then written."""
    was = edition.values[change.key].shown
    kept = amendments.with_change(amendments.read(own_file()), change)
    _write(kept, change.edition)
    _log([amendments.log_line(change, was, change.value)])


def take_back(edition: str, key: str | None, *, who: str, when: dt.date) -> int:
    """Take one value back, or all of an edition where no key is given; returns how many. FileError where that fails."""
    held = amendments.read(own_file())
    kept = amendments.without(held, edition, key)
    gone = [change for change in held if change not in kept]
    if not gone:
        return 0
    _write(kept, edition)
    published = reference.load(edition).values
    _log(
        amendments.log_line(
            Change(edition, change.key, change.value, who, when, TAKEN_BACK),
            change.value,
            published[change.key].shown if change.key in published else "no value",
        )
        for change in gone
    )
    return len(gone)


def _write(changes: tuple[Change, ...], edition: str) -> None:
    amendments.amend(reference.load(edition), changes)
    path = own_file()
    storage.make_folder(path.parent)
    storage.write(path, amendments.render(changes))


def _log(lines: Iterable[str]) -> None:
    path = log_file()
    before = storage.read(path).decode("utf-8", errors="replace") if path.exists() else ""
    storage.write(path, before + "".join(lines))
