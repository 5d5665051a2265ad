"""Files by the names that people give them: read and written where they are files, and nothing else is touched."""

from __future__ import annotations

import errno
import os
import stat
import sys
from contextlib import suppress
from pathlib import Path


def there(path: Path) -> bool:
    """Is there anything of that name. No, too, where it is longer than any can be, or lies where nobody may look."""
    try:
        return path.exists()
    except OSError:
        return False


def read(path: Path, most: int, *, pipes: bool = False) -> bytes:
    """What a file holds; of more than so many bytes, that many and one more.

    pipes: also what another program writes into a pipe. Raises OSError, and ValueError for a name that no file can have.
    """
    # Opened without waiting: a pipe that nobody writes to would hold the program up for good.
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    kind = os.fstat(handle).st_mode
    try:
        if not (pipes and stat.S_ISFIFO(kind)):
            _file_alone(kind, path)
    except OSError:
        os.close(handle)
        raise
    with os.fdopen(handle, "rb") as file:
        if sys.platform != "win32":
            os.set_blocking(handle, True)
        return file.read(most + 1)


def place(path: Path) -> Path:
    """Where a file of that name is to be put: links followed, so that a link stays one.

    Raises OSError where a folder, a device or a pipe is there: to write over it would do away with it.
    """
    try:
        target = real(path)
        with suppress(FileNotFoundError):  # nothing is there yet
            look(target)
    except ValueError as error:
        raise OSError(errno.EINVAL, "No file can have that name", str(path)) from error
    return target


def write(path: Path, data: bytes) -> None:
    """Put a file in its place, whole or not at all, and leave nothing beside it. Raises OSError."""
    target = place(path)
    part = target.with_name(f".{target.name}.hearthcalc-part")
    try:
        part.write_bytes(data)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def real(path: Path) -> Path:
    """Where a path leads, links followed; as it is, where the folder that it starts from has gone, with the stick that was pulled."""
    try:
        return Path(os.path.realpath(path))
    except FileNotFoundError:
        return path


def full(path: Path) -> Path:
    """A path from the root on; as it is, where the folder that it starts from has gone."""
    try:
        return path.absolute()
    except FileNotFoundError:
        return path


def look(path: Path) -> None:
    """Raises OSError where it is none that can be read again and again, and ValueError for a name that no file can have."""
    _file_alone(path.stat().st_mode, path)


def _file_alone(kind: int, path: Path) -> None:
    if stat.S_ISDIR(kind):
        raise OSError(errno.EISDIR, "It is a folder", str(path))
    if not stat.S_ISREG(kind):
        raise OSError(errno.EINVAL, "It is a device or a pipe, not a file", str(path))
