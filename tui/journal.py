"""What was typed and is not entered yet, on disk from the moment it comes: a kill loses no key, however fast they come."""

from __future__ import annotations

import json
import mmap
import os
import struct
from collections import deque
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from threading import Lock
from typing import NamedTuple

HEAD = struct.Struct("<II120s")  # where what is not entered begins and ends in the file; the entry taken last
SIZE = 1 << 16  # bytes of the file
MOST = 24_000  # bytes of what is not entered: with one more it is less than half of the file
LONGEST_ADDRESS = 120  # bytes, as HEAD has room for
LONGEST = 1 << 11  # letters kept of one paste, of at most four bytes
STEPS = frozenset({"tab", "enter", "down", "ctrl+j"})  # keys that end an entry


class Left(NamedTuple):
    """Keys that were typed and not entered when the program was killed. after: the address of the entry taken last, "" for none.

    keys: kind and text of each. A kind is "sign", "key" or "paste".
    """

    keys: tuple[tuple[str, str], ...]
    after: str

    @property
    def words(self) -> str:
        """All of them in one line: signs as they are, other keys by name."""
        from hearthcalc_tui.commands import key_name

        words: list[str] = []
        spelling = False
        for kind, text in self.keys:
            if kind == "sign" and spelling:
                words[-1] += text
            else:
                words.append(key_name(text) if kind == "key" else text)
            spelling = kind == "sign"
        return " ".join(" ".join(words).split())

    @property
    def lines(self) -> tuple[str, ...]:
        """As a list to paste: one entry to a line, less what was rubbed out; "" where a field between two was passed over."""
        lines = [""]
        for kind, text in self.keys:
            if kind == "sign":
                lines[-1] += text
            elif kind == "paste":
                first, *more = text.strip().splitlines() or [""]
                lines[-1] += first
                lines += more
            elif text == "backspace":
                lines[-1] = lines[-1][:-1]
            elif text in STEPS or lines[-1]:
                lines.append("")
        return tuple("\n".join(lines).strip("\n").splitlines())


def read(data: bytes) -> Left:
    """What a journal's file holds. ValueError where it is none."""
    try:
        start, end, after = HEAD.unpack_from(data)
    except struct.error as error:
        raise ValueError("too short for a journal") from error
    keys = [json.loads(line) for line in data[start:end].splitlines()]
    return Left(
        tuple((str(kind), str(text)) for kind, text in keys), after.rstrip(b"\0").decode(errors="ignore")
    )


class Journal:
    """Keys by their number; the first is 1. They come in the thread that reads them, and are entered in the one that draws."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._files: dict[str, _File] = {}  # by box: two while a job is saved under another name
        self._waiting: deque[bytes] = deque()  # what is not entered, oldest first
        self._size = 0
        self._entered = 0
        self._last_paste = 0
        self._held: int | None = None

    def open(self, *boxes: str) -> None:
        """Keep them beside the drafts of these boxes from now on, and of no other; "" for none, as where another window has the draft."""
        with self._lock:
            for box in boxes:
                if box and box not in self._files:
                    with suppress(OSError):  # no draft can be written there either, which is told of
                        self._files[box] = _File(box, self._waiting)
            for box in self._files.keys() - set(boxes):
                self._files.pop(box).close(keep=False)

    def came(self, kind: str, text: str) -> None:
        """A key has come. Takes some millionths of a second, and gives way to no other thread."""
        line = json.dumps((kind, text[:LONGEST]), ensure_ascii=False).encode("utf-8", "replace") + b"\n"
        with self._lock:
            self._waiting.append(line)
            self._size += len(line)
            if kind == "paste":
                self._last_paste = self._entered + len(self._waiting)
            for file in self._files.values():
                file.add(line, self._waiting)
            if self._size > MOST:  # nobody reads through so much: the oldest go
                self._pass_over(self._entered + 1)

    def entered(self, number: int, after: str = "") -> None:
        """All up to this number have done their work, and what they entered is in the draft. after: the entry taken last, "" for none."""
        with self._lock:
            self._pass_over(number if self._held is None else min(number, self._held), after)

    def _pass_over(self, number: int, after: str = "") -> None:
        length = 0
        while self._waiting and (self._entered < number or self._size > MOST):
            gone = len(self._waiting.popleft())
            length += gone
            self._size -= gone
            self._entered += 1
        for file in self._files.values():
            file.pass_over(length, after)

    @contextmanager
    def paste_waits(self) -> Iterator[None]:
        """Meanwhile the last paste is not entered, whatever else is: a page asks about it."""
        self._held = max(0, self._last_paste - 1)
        try:
            yield
        finally:
            self._held = None

    def close(self, *, keep: bool) -> None:
        """The program ends. keep: what is not entered stays for the next start."""
        with self._lock:
            while self._files:
                _, file = self._files.popitem()
                file.close(keep=keep and bool(self._waiting))


class _File:
    """The file of a journal, in memory that the system writes to disk, whatever ends the program."""

    def __init__(self, box: str, waiting: Collection[bytes]) -> None:
        """box: the name of the draft it lies beside. OSError where it cannot be made."""
        from hearthcalc_tui import storage

        self._handle, self._path = storage.new_journal(box)
        try:
            # All of its room is taken now: a disk that is full when it is written to would end the program.
            os.write(self._handle, bytes(SIZE))
            self._map = mmap.mmap(self._handle, SIZE)
        except OSError:
            os.close(self._handle)
            self._path.unlink(missing_ok=True)
            raise
        self._after = b""
        self._begin_again(waiting)

    def _point(self) -> None:
        self._map[: HEAD.size] = HEAD.pack(self._start, self._end, self._after)

    def _begin_again(self, waiting: Collection[bytes]) -> None:
        # What counts until now lies in the other half: a kill in between spoils nothing.
        lines = b"".join(waiting)
        self._start, self._end = HEAD.size, HEAD.size + len(lines)
        self._map[self._start : self._end] = lines
        self._point()

    def add(self, line: bytes, waiting: Collection[bytes]) -> None:
        """One key more. waiting: all that is not entered, with this one, for when there is no room behind the last."""
        if self._end + len(line) > SIZE:
            self._begin_again(waiting)
            return
        self._map[self._end : self._end + len(line)] = line
        self._end += len(line)
        self._point()

    def pass_over(self, length: int, after: str) -> None:
        """So many bytes are entered."""
        self._start += length
        if self._start == self._end:
            self._start = self._end = HEAD.size
        if after:
            address = after.encode()
            self._after = address if len(address) <= LONGEST_ADDRESS else b""  # half of one leads nowhere
        self._point()

    def close(self, *, keep: bool) -> None:
        self._map.close()
        os.close(self._handle)
        if not keep:
            with suppress(OSError):  # its folder has gone, or can only be read
                self._path.unlink(missing_ok=True)
