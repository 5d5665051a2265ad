"""Files by the names that people give them: read and written where they are files, and nothing else is touched."""

from __future__ import annotations

import errno
import os
import select
import stat
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

if sys.platform != "win32":
    import fcntl

WAIT = 5.0  # seconds for who writes into a pipe to open it
PART = ".part"  # of a file that is being written
BEYOND = 8 << 20  # bytes: behind the end of any file that is locked


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
        first = _first(handle, path) if stat.S_ISFIFO(kind) else b""
        if sys.platform != "win32":
            os.set_blocking(handle, True)
        return first + file.read(most + 1 - len(first))


def _first(handle: int, path: Path) -> bytes:
    """The first byte of a pipe, where it is there already. Who writes into it may take long, but has to open it soon. Raises OSError."""
    try:
        first = os.read(handle, 1)
    except BlockingIOError:  # it is open at the other end, and nothing is written yet
        return b""
    if not first and not select.select([handle], [], [], WAIT)[0]:
        raise OSError(errno.ETIMEDOUT, "Nothing writes into the pipe", str(path))
    return first


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
    """Put a file in its place, whole or not at all, and leave nothing beside it. What was there keeps its mode and owner. Raises OSError.

    It outlasts a loss of power. The part that is written first has a name that nobody can have laid a link under.
    """
    target = place(path)
    handle, name = tempfile.mkstemp(
        prefix=f".{target.name[:60]}.{os.getpid()}.", suffix=PART, dir=target.parent
    )
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        _like(part, target)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
    sync(target.parent)


def _like(part: Path, target: Path) -> None:
    """The mode, and where it may be given the owner, of what is there; of a new file those of any."""
    if not target.exists():
        part.chmod(0o666 & ~_umask())
        return
    held = target.stat()
    if sys.platform != "win32":
        with suppress(OSError):
            os.chown(part, held.st_uid, held.st_gid)
    part.chmod(held.st_mode & 0o7777)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def sync(path: Path) -> None:
    """Make a file, or the names in a folder, last through a loss of power, where the system lets it be synced."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)


def lock(handle: int) -> None:
    """Keep an open file for this program until it ends or closes it. Raises BlockingIOError where another one has it."""
    if sys.platform == "win32":
        import msvcrt

        # A byte that is locked cannot be read there: one behind the end.
        os.lseek(handle, BEYOND, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except PermissionError as err:
            raise BlockingIOError(errno.EAGAIN, "Another program has it") from err
        finally:
            os.lseek(handle, 0, os.SEEK_SET)
    else:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def is_at(handle: int, path: Path) -> bool:
    """Is this open file the one of that name, or has that been removed and made anew."""
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except OSError:
        return False


def let_go(handle: int, path: Path) -> None:
    """Remove a file that is locked here, and close it: while it is locked, but on Windows, where no open file can be removed."""
    if sys.platform == "win32":
        os.close(handle)
    with suppress(OSError):
        path.unlink()
    if sys.platform != "win32":
        os.close(handle)


@contextmanager
def held(path: Path) -> Iterator[None]:
    """Keep others out by a file of that name, which goes at the end; one that a killed program left keeps nobody out.

    Raises BlockingIOError, with the process that has it, where another one is in; else OSError where there can be no such file.
    """
    handle = os.open(path, os.O_CREAT | os.O_RDWR | getattr(os, "O_NOFOLLOW", 0), 0o666)
    try:
        lock(handle)
        if not is_at(handle, path):
            raise BlockingIOError(errno.EAGAIN, "Another run was ending just now")
        os.ftruncate(handle, 0)
        os.write(handle, str(os.getpid()).encode())
    except BlockingIOError as err:
        owner = os.read(handle, 20)
        os.close(handle)
        who = f"Process {owner.decode()}" if owner.isdigit() else "Another run"
        raise BlockingIOError(errno.EAGAIN, f"{who} has it in hand") from err
    except OSError:
        os.close(handle)
        raise
    try:
        yield
    finally:
        let_go(handle, path)


def real(path: Path) -> Path:
    """Where a path leads, links followed.

    As it is, where the folder that it starts from has gone, with the stick that was pulled, or no file can have such a name.
    """
    try:
        return Path(os.path.realpath(path))
    except (FileNotFoundError, ValueError):
        return path


def same_file(path: Path, other: Path) -> bool:
    """Do two paths lead to one file."""
    return real(path) == real(other)


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
