"""Photographs beside a job, made ready for paper: scaled down, without what a camera writes into them, none from elsewhere."""

from __future__ import annotations

import hashlib
import io
import os
import stat
import warnings
from collections.abc import Iterable, Sequence
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from msgspec import Struct

from hearthcalc.job import Job, Photo
from hearthcalc.report.plain import plain

LONGEST = 1200  # px of the longer side as shown
QUALITY = 82
MOST_BYTES = 40 << 20  # of one file
MOST_PIXELS = 80_000_000  # of one picture: what a good camera makes, and no bomb
MOST_SHOWN = 60
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "GIF", "BMP")


class Picture(Struct, frozen=True):
    """A photograph of the job as it goes into a report.

    jpeg: the picture, b"" where it cannot be shown; then why says so.  wide, high: px.  digest: of the file as it lies there.
    """

    name: str
    file: str
    caption: str
    shows: str
    jpeg: bytes = b""
    wide: int = 0
    high: int = 0
    why: str = ""
    digest: str = ""

    @property
    def line(self) -> str:
        """What stands under it."""
        shows = f" ({self.shows})" if self.shows and self.shows != self.caption else ""
        return f"{self.caption or self.name}{shows}"


def load(job: Job, folder: Path | None) -> tuple[Picture, ...]:
    """The photographs that a job names, in its order. folder: of the job file, None where it has none. Never raises for a picture."""
    things: list[Any] = [
        *job.face,
        *job.planned.face,
        *job.nearby,
        *job.planned.nearby,
        *job.roof,
        *job.planned.roof,
    ]
    known = {thing.name for thing in things}
    pictures = []
    for number, photo in enumerate(job.photo):
        shows = photo.shows or ""
        if shows and shows not in known:
            shows = f"{shows}, which the job does not have"
        named = Picture(photo.name or "photo", photo.file or "", photo.caption or "", shows)
        pictures.append(
            _told(named, f"only {MOST_SHOWN} pictures fit")
            if number >= MOST_SHOWN
            else _read(named, photo, folder)
        )
    return tuple(pictures)


def digest(pictures: Sequence[Picture]) -> str:
    """Changes when any file of the photographs does, "" where there are none."""
    if not pictures:
        return ""
    return hashlib.sha256("\n".join(picture.digest for picture in pictures).encode()).hexdigest()


def told(pictures: Iterable[Picture]) -> list[str]:
    """What is said of those that cannot be shown, a sentence each."""
    return [
        f"{picture.file or picture.name}: not shown, {picture.why}." for picture in pictures if picture.why
    ]


def _told(picture: Picture, why: str, data: bytes = b"") -> Picture:
    return Picture(
        picture.name, picture.file, picture.caption, picture.shows, why=why,
        digest=hashlib.sha256(data).hexdigest() if data else why,
    )  # fmt: skip


def _read(picture: Picture, photo: Photo, folder: Path | None) -> Picture:
    if not photo.file:
        return _told(picture, "no file is named")
    if folder is None:
        return _told(picture, "the job was not read from a file, so it has no folder to look in")
    try:
        data = _bytes(photo.file, folder)
    except (OSError, ValueError) as error:
        return _told(picture, _reason(error))
    try:
        jpeg, wide, high = _scaled(data)
    except ImportError:
        return _told(
            picture,
            "it needs the package pillow; python3 -m pip install 'hearthcalc[report]' brings it",
            data,
        )
    except Exception as error:  # a decoder meets bytes of strangers, and has faults of many kinds
        return _told(picture, _unreadable(error), data)
    return Picture(
        picture.name, picture.file, picture.caption, picture.shows, jpeg, wide, high, digest=hashlib.sha256(data).hexdigest()
    )  # fmt: skip


def _bytes(name: str, folder: Path) -> bytes:
    """What a file of the job's folder holds. Raises OSError, and ValueError with the reason where it may not be read."""
    if PurePosixPath(name).is_absolute() or PureWindowsPath(name).anchor or PureWindowsPath(name).drive:
        raise ValueError("the path has to start in the job's own folder")
    home = folder.resolve(strict=True)
    target = Path(
        os.path.realpath(home / name)
    )  # links followed, before anything is asked of what it leads to
    if not target.is_relative_to(home):
        raise ValueError("it lies outside the job's own folder")
    # Opened without waiting, and asked what it is once it is open: a pipe would hang, a device never end.
    flags = (
        os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    )
    with os.fdopen(os.open(target, flags), "rb") as file:
        about = os.fstat(file.fileno())
        if not stat.S_ISREG(about.st_mode):
            raise ValueError("it is not a file")
        if about.st_size > MOST_BYTES:
            raise ValueError(f"the file is larger than {MOST_BYTES >> 20} MB")
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise ValueError(f"the file is larger than {MOST_BYTES >> 20} MB")
    return data


def _reason(error: Exception) -> str:
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    if isinstance(error, IsADirectoryError):
        return "it is not a file"
    if isinstance(error, PermissionError):
        return "it cannot be opened: permission denied"
    if isinstance(error, OSError):
        return f"it cannot be opened: {plain(error.strerror or 'the system refuses', 80).lower()}"
    text = str(error)
    return "its path is not one" if "null" in text else text


def _scaled(data: bytes) -> tuple[bytes, int, int]:
    """A picture as a small JPEG of its pixels alone, turned upright: no place, no time, no serial number of a camera."""
    from PIL import Image, ImageOps

    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with Image.open(io.BytesIO(data), formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise Image.DecompressionBombError
            opened.draft("RGB", (LONGEST, LONGEST))
            opened.load()
            upright = ImageOps.exif_transpose(opened)
    upright.thumbnail((LONGEST, LONGEST))
    shown = Image.new("RGB", upright.size, "white")  # a new one holds nothing but pixels
    if upright.has_transparency_data:
        upright = upright.convert("RGBA")
        shown.paste(upright, mask=upright)
    else:
        shown.paste(upright.convert("RGB"))
    out = io.BytesIO()
    shown.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue(), shown.width, shown.height


def _unreadable(error: Exception) -> str:
    from PIL import Image, UnidentifiedImageError

    if isinstance(error, Image.DecompressionBombError | Image.DecompressionBombWarning):
        return f"it has more than {MOST_PIXELS // 1_000_000} million pixels"
    if isinstance(error, UnidentifiedImageError):
        return "it is not a picture that can be read here; save it as JPEG or PNG"
    return "the picture is damaged or cut off"
