"""Files by the names that people give them: read and written where they are files, and nothing else is touched."""

from __future__ import annotations

import errno
import os
import stat
import sys
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
    target = path
    try:
        target = Path(os.path.realpath(path))
        look(target)
    except FileNotFoundError:  # nothing is there, or the folder that the path starts from has gone
        return target
    except ValueError as error:
        raise OSError(errno.EINVAL, "No file can have that name", str(path)) from error
    return target


def look(path: Path) -> None:
    """Raises OSError where it is none that can be read again and again, and ValueError for a name that no file can have."""
    _file_alone(path.stat().st_mode, path)


def _file_alone(kind: int, path: Path) -> None:
    if stat.S_ISDIR(kind):
        raise OSError(errno.EISDIR, "It is a folder", str(path))
    if not stat.S_ISREG(kind):
        raise OSError(errno.EINVAL, "It is a device or a pipe, not a file", str(path))
