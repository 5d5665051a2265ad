"""The user's own amendments: read anew, checked and written whole before each change, and told in a plain log beside them."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Collection, Iterable, Sequence
from contextlib import suppress
from pathlib import Path

from msgspec.structs import replace

from hearthcalc import amendments, reference
from hearthcalc.amendments import Change
from hearthcalc.errors import EntryError, FileError
from hearthcalc.reference import Edition, Value
from hearthcalc_tui import storage

TAKEN_BACK = "taken back"


def own_file() -> Path:
    """The user's own amendments file."""
    return amendments.files_for(None, storage.settings_folder())[0]


def log_file() -> Path:
    """The plain log beside it."""
    return own_file().with_name(amendments.LOG)


def own_changes(edition: str, place: str = "") -> tuple[Change, ...]:
    """The user's own changes that hold for an edition in a place, in the order in which they apply. FileError where they cannot be read."""
    return amendments.applied(amendments.read(own_file()), edition, place)


def beside_the_job(job: Path | None, edition: str, key: str, place: str = "") -> Path | None:
    """The amendments file beside a job where it holds a value there, and so comes after the user's own; else None."""
    for file in amendments.files_for(job, storage.settings_folder())[1:]:
        if any(change.key == key for change in amendments.applied(amendments.read(file), edition, place)):
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
    _keep(
        amendments.with_change(amendments.read(own_file()), change),
        [amendments.log_line(change, was, change.value)],
    )


def take_back(gone: Collection[Change], *, who: str, when: dt.date) -> int:
    """Take changes back; returns how many were there. FileError where that fails."""
    held = amendments.read(own_file())
    going = [change for change in held if change in gone]
    if not going:
        return 0
    kept = [change for change in held if change not in gone]
    lines = (
        amendments.log_line(
            replace(change, who=who, when=when, why=TAKEN_BACK),
            change.value,
            _stands(kept, change),
        )
        for change in going
    )
    _keep(kept, lines)
    return len(going)


def _stands(kept: Iterable[Change], gone: Change) -> str:
    """What stands of a value once its change is gone."""
    value = amendments.amend(reference.load(gone.edition), kept, gone.place).get(gone.key)
    return value.shown if value else "no value"


def _keep(changes: Sequence[Change], lines: Iterable[str]) -> None:
    """Log first: no change is kept that the log does not tell of, and the log tells of none that could not be kept."""
    amendments.check(changes)
    path, log, words = own_file(), log_file(), "".join(lines)
    storage.make_folder(path.parent)
    before = storage.append(log, words)
    try:
        storage.write(path, amendments.render(changes))
    except FileError:
        with suppress(OSError):
            if log.stat().st_size == before + len(words.encode()):  # else another window has told of more
                os.truncate(log, before)
        raise
