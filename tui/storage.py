"""Where the user's own files live, and the only way to write one: whole, or not at all."""

from __future__ import annotations

import errno
import glob
import hashlib
import json
import os
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import date
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from msgspec import Struct

from hearthcalc import files
from hearthcalc.errors import FileError
from hearthcalc_tui import journal

MAX_BYTES = 1 << 20
RECENT = 8
BACKUPS = 10  # of each file
ABANDONED = 86_400  # seconds after which nobody is still writing a part
MOST_OF_A_DRAFT = 8 << 20
NEW = "new"  # the box of a job that has no file yet; further ones are numbered
MOST_BOXES = 100
JOURNAL = ".keys"
LOCK = ".lock"
TRIES, MOMENT = 4, 0.025  # more, to claim a draft; seconds before each
DRAFT_GROWS_TO = 1 << 19  # bytes; then it starts over with the last line

_REASONS = {
    errno.EACCES: (
        "you may not write there",
        "Choose another folder, or change what you may do in this one.",
    ),
    errno.EPERM: ("you may not write there", "Choose another folder, or change what you may do in this one."),
    errno.EROFS: ("the disk can only be read", "Save it on another disk."),
    errno.ENOSPC: ("the disk is full", "Free some room, or save it on another disk."),
    errno.EDQUOT: ("your share of the disk is used up", "Free some room, or save it on another disk."),
    errno.ENOENT: ("there is no such file or folder", "Check the name, or make the folder first."),
    errno.ENOTDIR: ("a part of its path is a file, not a folder", "Check the path."),
    errno.EISDIR: ("it is a folder", "Add a file name."),
    errno.ENAMETOOLONG: ("the name is too long", "Choose a shorter one."),
    errno.EIO: ("the disk reports a fault", "Save it on another disk."),
}


def reason(error: OSError) -> tuple[str, str]:
    """What an error of the system means in words, and what to do about it."""
    words = error.strerror or type(error).__name__
    return _REASONS.get(error.errno or 0, (words[:1].lower() + words[1:], "Try another name or folder."))


@cache
def state_folder() -> Path:
    """Where drafts and what the screen remembers are kept."""
    from platformdirs import user_state_path

    return user_state_path("hearthcalc")


@cache
def settings_folder() -> Path:
    """Where the user's own settings and amendments are kept."""
    from platformdirs import user_config_path

    return user_config_path("hearthcalc")


def read(path: Path, most: int = MAX_BYTES) -> bytes:
    """The bytes of a file of at most 1 MiB, or of so many; FileError in words where it cannot be read."""
    try:
        data = files.read(path, most)
    except OSError as error:
        what, fix = reason(error)
        raise FileError(
            "Cannot read the file", f"It cannot be read: {what}.", where=str(path), fix=fix
        ) from error
    if len(data) > most:
        raise FileError(
            "File too large",
            "A job file holds at most 1 MiB.",
            where=str(path),
            fix="Check that it is a job file.",
        )
    return data


def mark(data: bytes | None) -> str:
    """What tells two contents of a file apart; "" for no file."""
    return "" if data is None else hashlib.sha256(data).hexdigest()


def mark_on_disk(path: Path) -> str:
    """The mark of what stands in a file now; "" where there is none that can be read."""
    try:
        return mark(files.read(path, MAX_BYTES))
    except OSError:
        return ""


def write(path: Path, text: str) -> str:
    """Write a file whole or not at all, keep its mode, and return the mark of what was written.

    A link is followed, so that it stays one. FileError in words where it fails; the old file then stands as it was.
    """
    return write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, data: bytes) -> str:
    """The same, of bytes."""
    try:
        files.write(path, data)
    except OSError as error:
        raise _not_saved(path, error) from error
    return mark(data)


def append(path: Path, text: str) -> int:
    """Put a text at the end of a file at once, and return how long that was before; FileError in words where that fails.

    It outlives the program, whatever ends it. What outlives a loss of power is what `sync` has reached.
    """
    data = text.encode("utf-8")
    try:
        with suppress(FileNotFoundError):
            files.look(path)
        handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        try:
            before, done = os.fstat(handle).st_size, 0
            try:
                while done < len(data):
                    done += os.write(handle, data[done:])
            except OSError:
                if os.fstat(handle).st_size == before + done:  # else another window has added to it
                    os.ftruncate(handle, before)
                raise
        finally:
            os.close(handle)
    except OSError as error:
        raise _not_saved(path, error) from error
    return before


def sync(path: Path) -> None:
    """Make what a file holds last through a loss of power, where the system lets it be synced. Slow."""
    files.sync(path)
    files.sync(path.parent)


def _not_saved(path: Path, error: OSError) -> FileError:
    what, fix = reason(error)
    words = f"It cannot be written: {what}. The file there stands as it was."
    return FileError("Not saved", words, where=str(path), fix=fix)


def sweep(folder: Path, name: str = "") -> None:
    """Remove parts of files that a program left when it was killed while it wrote. name: only of this file."""
    for part in folder.glob(f".{glob.escape(name[:60]) or '*'}.*{files.PART}"):
        if not _writing(part):
            with suppress(OSError):
                part.unlink()


def _writing(part: Path) -> bool:
    """Is the program that began a part still there, as far as can be known."""
    number = part.name.split(".")[-3]
    try:
        if os.name == "posix" and number.isdecimal():
            os.kill(int(number), 0)
            return True
        return time.time() - part.stat().st_mtime < ABANDONED
    except PermissionError:
        return True
    except (OSError, OverflowError):
        return False


def back_up(path: Path) -> Path | None:
    """Keep what a file holds before it is written over, the newest few of each file; None where there is nothing to keep.

    A copy that cannot be made holds up no saving: the file itself is written whole or not at all.
    """
    try:
        files.look(path)
        data = path.read_bytes()
        folder = state_folder() / "backups"
        folder.mkdir(parents=True, exist_ok=True)
        whose = f"{path.name[:60]}.{hashlib.sha256(os.fsencode(files.real(path))).hexdigest()[:12]}"
        older = sorted(folder.glob(f"{glob.escape(whose)}.*"))
        if older and older[-1].read_bytes() == data:
            return older[-1]
        number = int(older[-1].name.rpartition(".")[2]) + 1 if older else 1
        kept = folder / f"{whose}.{number:06}"
        kept.write_bytes(data)
        for old in [*older, kept][:-BACKUPS]:
            old.unlink(missing_ok=True)
    except (OSError, ValueError):
        return None
    return kept


def make_folder(folder: Path) -> None:
    """A folder and those above it; FileError in words where it cannot be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        what, fix = reason(error)
        raise FileError(
            "Not saved", f"The folder cannot be made: {what}.", where=str(folder), fix=fix
        ) from error


class Draft(Struct, frozen=True):
    """A job as it stood when the program ended without saving. base: the mark of the file it grew from."""

    document: dict[str, Any]
    base: str
    of: str = ""  # what to open for it: a path or a demo, "" for a job that never had a file
    box: str = ""  # the name of the box it lies in


class DraftBox:
    """The one draft of a job, and the claim on it that tells a second window of the first.

    Its file is a list of lines, each the whole job; the last that can be read stands.
    """

    def __init__(self, path: Path | None, *, demo: str = "", box: str = "", of: str = "") -> None:
        """path: the job's file, or None for a demo and for a new job, which takes a box that holds no other.

        box: one by its name.  of: what to open for what lies there, where path and demo do not say so.
        """
        name = hashlib.sha256(os.fsencode(files.real(path))).hexdigest()[:24] if path else box
        self._new = not (name or demo)
        self._of = str(files.full(path)) if path else f"demo:{demo}" if demo else of
        self._file = _box(name or (f"demo-{demo}" if demo else NEW))
        self._claim: int | None = None

    @property
    def name(self) -> str:
        """What tells it from the others."""
        return self._file.stem

    def claim(self, *, patient: bool = False) -> bool:
        """Take the draft for this window; False where another window has it. A new job looks for a box that nobody has or left work in.

        patient: try some more times, for a tenth of a second: a program that starts has each claim for a moment.
        """
        if not self._new:
            return self._take() or (patient and any(self._take_later() for _ in range(TRIES)))
        for number in range(1, MOST_BOXES):
            self._file = _box(NEW if number == 1 else f"{NEW}-{number}")
            if not self._file.exists() and not journals_left(self.name) and self._take():
                return True
        return False

    def _take(self) -> bool:
        path = self._file.with_suffix(LOCK)
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            handle = os.open(path, os.O_CREAT | os.O_RDWR, 0o600)
        except OSError:
            return True
        with suppress(OSError):
            files.lock(handle)
            if files.is_at(handle, path):  # else the window before gave it back, and removed it, in between
                self._claim = handle
                return True
        os.close(handle)
        return False

    def _take_later(self) -> bool:
        time.sleep(MOMENT)
        return self._take()

    def release(self) -> None:
        """Give the claim back."""
        if self._claim is not None:
            files.let_go(self._claim, self._file.with_suffix(LOCK))
            self._claim = None

    def keep(self, document: Any, base: str) -> None:
        """Write the draft, quick enough for every entry; FileError where that fails."""
        held = {"format": "hearthcalc-draft", "version": 1, "base": base, "of": self._of, "job": document}
        line = json.dumps(held, default=_pack)
        make_folder(self._file.parent)
        try:
            grown = self._file.stat().st_size + len(line) > DRAFT_GROWS_TO
        except OSError:
            grown = False
        if grown:
            write(self._file, line)
        else:
            append(self._file, f"\n{line}")

    def sync(self) -> None:
        """Make the draft last through a loss of power. Slow."""
        sync(self._file)

    def find(self) -> Draft | None:
        """The draft that was left, or None; what cannot be read is no draft."""
        try:
            lines = read(self._file, MOST_OF_A_DRAFT).splitlines()
        except FileError:
            return None
        for line in reversed(lines):
            with suppress(ValueError, KeyError, TypeError, RecursionError):
                data = json.loads(line, object_hook=_unpack)
                return Draft(dict(data["job"]), str(data["base"]), str(data.get("of", "")), self._file.stem)
        return None

    def drop(self) -> None:
        """Forget the draft."""
        try:
            self._file.unlink(missing_ok=True)
        except OSError:
            return


def sweep_locks() -> None:
    """Remove the locks that ended programs left: those that nobody holds."""
    for path in (state_folder() / "drafts").glob(f"*{LOCK}"):
        box = DraftBox(None, box=path.stem)
        if box.claim():
            box.release()


def _box(name: str) -> Path:
    return state_folder() / "drafts" / f"{name}.json"


def typed_path(text: str) -> Path:
    """A path as a person types it: ~ and ~name are homes. Where there is none, it is a name like any other."""
    path = Path(text)
    with suppress(RuntimeError):
        return path.expanduser()
    return path


def box_of(wanted: str) -> str:
    """The name of the box that a job will most likely have, before it is opened. wanted: as for the screen; "" for a demo."""
    if wanted.partition(":")[0] == "demo" and not files.there(Path(wanted)):
        return ""
    return DraftBox(typed_path(wanted) if wanted else None).name


def new_journal(box: str) -> tuple[int, Path]:
    """A file for the keys of this program that are not entered yet, beside the draft of a box, opened. OSError where there can be none."""
    folder = state_folder() / "drafts"
    folder.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f"{box}.", suffix=JOURNAL, dir=folder)
    files.lock(handle)
    return handle, Path(name)


def journals_left(box: str = "*") -> dict[Path, journal.Left]:
    """The keys that a killed program had not entered, the oldest first. One without any is removed. box: only of this one."""
    left: dict[Path, journal.Left] = {}
    for path in sorted((state_folder() / "drafts").glob(f"{box}.*{JOURNAL}"), key=_age):
        if _in_hand(path):
            continue
        try:
            held = journal.read(read(path, journal.SIZE))
        except (FileError, ValueError, TypeError, RecursionError):
            held = journal.Left((), "")
        # Of a job that never had a file, keys that wrote nothing are no work: up and down on the first page.
        if held.lines or (held.keys and not _is_new(path.name.partition(".")[0])):
            left[path] = held
        else:
            with suppress(OSError):
                path.unlink()
    return left


def forget_journals(box: str) -> None:
    """Remove the keys that killed programs left beside the draft of a box."""
    for path in journals_left(box):
        with suppress(OSError):
            path.unlink()


def _in_hand(path: Path) -> bool:
    """Is a program still writing its keys there."""
    try:
        handle = os.open(path, os.O_RDWR)
    except OSError:
        return True
    try:
        files.lock(handle)
    except OSError:
        return True
    finally:
        os.close(handle)
    return False


def _age(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except OSError:
        return 0.0


def drafts_left() -> list[Draft]:
    """The work that was left unsaved and that no window has in hand, the latest first."""
    try:
        files = sorted((state_folder() / "drafts").glob("*.json"), key=_age, reverse=True)
    except OSError:
        return []
    left = []
    for file in files:
        box = DraftBox(None, box=file.stem)
        if box.claim():
            box.release()
            draft = box.find()
            if draft is not None:
                left.append(draft)
    known = {file.stem for file in files}
    named = (path.name.split(".")[0] for path in journals_left())
    # Of a job that has a file the keys are shown with it.
    return left + [
        Draft({}, "", box=name) for name in dict.fromkeys(named) if name not in known and _is_new(name)
    ]


def _is_new(box: str) -> bool:
    """Is this the box of a job that never had a file."""
    return box == NEW or box.startswith(f"{NEW}-")


def _pack(value: object) -> dict[str, str]:
    """What JSON lacks, by name."""
    if isinstance(value, Fraction):
        return {"$number": str(value)}
    if isinstance(value, date):
        return {"$date": value.isoformat()}
    raise TypeError(f"a draft cannot hold {type(value).__name__}")


_UNPACK: dict[str, Callable[[str], object]] = {"$number": Fraction, "$date": date.fromisoformat}


def _unpack(value: dict[str, Any]) -> Any:
    """The other way round."""
    if len(value) == 1:
        ((key, held),) = value.items()
        if key in _UNPACK:
            return _UNPACK[key](held)
    return value


class Memory:
    """What the screen remembers from one time to the next. Losing it loses no work, so a failure to write is let pass."""

    def __init__(self) -> None:
        self._file = state_folder() / "screen.json"
        try:
            held = json.loads(read(self._file))
        except (FileError, ValueError, RecursionError):
            held = {}
        self._held: dict[str, Any] = held if isinstance(held, dict) else {}

    @property
    def caution_read(self) -> bool:
        return self._held.get("caution_read") is True

    @property
    def who(self) -> str:
        """Who amended a reference value last."""
        return str(self._held.get("who", ""))

    @property
    def theme(self) -> str:
        return str(self._held.get("theme", ""))

    @property
    def recent(self) -> tuple[Path, ...]:
        """The job files opened last, the latest first."""
        held = self._held.get("recent", [])
        return tuple(Path(name) for name in held if isinstance(name, str)) if isinstance(held, list) else ()

    def remember(self, **changes: object) -> None:
        """Keep what changed: caution_read, theme, recent, reports, who."""
        self._held = {**self._held, **changes}
        try:
            make_folder(self._file.parent)
            write(self._file, json.dumps(self._held))
        except FileError:
            return

    @property
    def reports(self) -> tuple[Path, ...]:
        """The reports written last, the latest first."""
        held = self._held.get("reports", [])
        return tuple(Path(name) for name in held if isinstance(name, str)) if isinstance(held, list) else ()

    def wrote(self, path: Path) -> None:
        """Put a report at the head of the recent ones."""
        name = str(files.full(path))
        self.remember(reports=[name, *(str(p) for p in self.reports if str(p) != name)][:RECENT])

    def opened(self, path: Path) -> None:
        """Put a file at the head of the recent ones."""
        name = str(files.full(path))
        self.remember(recent=[name, *(str(p) for p in self.recent if str(p) != name)][:RECENT])
