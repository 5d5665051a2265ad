"""What a drawing is made of, in inches, and text of people as it may stand in one."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal
from unicodedata import category, east_asian_width, normalize

from msgspec import Struct

from hearthcalc.entry import clean
from hearthcalc.findings import Verdict

Point = tuple[float, float]
View = Literal["elevation", "section", "plan"]
Stroke = Literal["solid", "dashed", "steel", "asked"]
Fill = Literal["plain", "masonry", "hearth", "wood"]
Place = Literal["above", "below", "left", "right", "inside"]

NOT_KNOWN = "not known"
DASHED = "Dashed parts were not measured: their position is schematic."
ELLIPSIS = "…"


class Area(Struct, frozen=True):
    """A filled part of a drawing. points: its outline.  verdict: of what it shows, where that is to be marked.  entry: it is told by."""

    points: tuple[Point, ...]
    fill: Fill
    verdict: Verdict | None = None
    entry: str = ""


class Line(Struct, frozen=True):
    """A line of a drawing. Dashed where it was not measured; "asked" is the outline that the reference values ask for."""

    points: tuple[Point, ...]
    stroke: Stroke = "solid"


class Dimension(Struct, frozen=True):
    """A length with its text, level or upright. start, end: what it spans.  place: beside the drawing, or in it.

    what: it measures.  rank: the lower, the longer it stays where there is little room.
    asked: what is required, where that is not met.  address: of the entry that it waits for, where it is not known.
    entry: the address of what it shows.
    """

    what: str
    text: str
    start: Point
    end: Point
    place: Place
    rank: int
    verdict: Verdict | None = None
    asked: str = ""
    address: str = ""
    entry: str = ""

    @property
    def upright(self) -> bool:
        """Does it run up and down."""
        return self.place in ("left", "right") or (self.place == "inside" and self.start[0] == self.end[0])

    @property
    def full(self) -> str:
        """The dimension as it reads away from the drawing."""
        return f"{self.what}: {self.text}{self.asked}"


class Label(Struct, frozen=True):
    """The name of a part or a thing. at: the middle of what it names.  part: what it is said of, where it does not say so.

    entry: the address of what tells most of it.
    """

    text: str
    at: Point
    rank: int
    verdict: Verdict | None = None
    part: str = ""
    entry: str = ""

    @property
    def full(self) -> str:
        """The label as it reads away from the drawing."""
        return f"{self.part}: {self.text}" if self.part else self.text


class Mark(Struct, frozen=True):
    """Something that is too close, too small, to be measured again or still to be measured."""

    verdict: Verdict
    text: str

    @property
    def line(self) -> str:
        """The mark as a person reads it: sign, word, thing."""
        return f"{self.verdict.sign} {self.verdict} {self.text}"


class Drawing(Struct, frozen=True):
    """One view of the fireplace, x to the right and y upward; in a plan, y away from the first face.

    face: whose elevation it is.  apart: marks of what is not drawn.  notes: what the drawing leaves out, or takes as is usual.
    """

    title: str
    view: View
    face: str | None
    areas: tuple[Area, ...]
    lines: tuple[Line, ...]
    dimensions: tuple[Dimension, ...]
    labels: tuple[Label, ...]
    apart: tuple[Mark, ...]
    notes: tuple[str, ...]

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All that is marked on it, each once."""
        items: tuple[Label | Dimension, ...] = (*self.labels, *self.dimensions)
        on_it = (mark for item in items if (mark := mark_of(item)))
        return tuple(dict.fromkeys((*on_it, *self.apart)))

    @property
    def shown(self) -> tuple[tuple[str, str], ...]:
        """Each entry that the drawing shows, by its address, with what it says there: what is marked first, then by rank."""
        items: list[Label | Dimension] = sorted((*self.dimensions, *self.labels), key=lambda item: item.rank)
        said: dict[str, str] = {}
        for item in items:
            if item.entry:
                said.setdefault(item.entry, item.full)
        return tuple(said.items())

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of what is drawn."""
        parts: tuple[Area | Line, ...] = (*self.areas, *self.lines)
        points = [point for part in parts for point in part.points]
        across, up = [x for x, _ in points], [y for _, y in points]
        return min(across), min(up), max(across), max(up)


def mark_of(item: Label | Dimension) -> Mark | None:
    """The mark on a part of a drawing, None where it has none."""
    return Mark(item.verdict, item.full) if item.verdict else None


def named(text: str | None, most: int = 24) -> str:
    """Text of a person as it may stand in a drawing: what shows of it, on one line, cut with an ellipsis."""
    return cut(_plain(text or ""), most)


def _plain(text: str) -> str:
    if text.isascii() and text.isprintable():
        return text.strip()
    kept: list[str] = []
    marks = 0
    for sign in clean(text):
        kind = category(sign)
        marks = marks + 1 if kind in ("Mn", "Me") else 0
        if kind not in ("Cn", "Co") and marks <= 2:
            kept.append(sign)
    return "".join(kept)


def cut(text: str, most: int) -> str:
    """Text in no more than so many cells of a terminal, an ellipsis standing for the rest."""
    if cells(text) <= most:
        return text
    if most < 1:
        return ""
    kept, used = [], len(ELLIPSIS)
    for sign in text:
        used += cells_of_sign(sign)
        if used > most:
            break
        kept.append(sign)
    return "".join(kept).rstrip() + ELLIPSIS


@lru_cache(maxsize=4096)
def cells(text: str) -> int:
    """How many cells of a terminal a text takes."""
    return len(text) if text.isascii() else sum(map(cells_of_sign, text))


@lru_cache(maxsize=4096)
def cells_of_sign(sign: str) -> int:
    """How many cells of a terminal a sign takes: none for a mark on the one before it, two for a wide one."""
    if category(sign) in ("Mn", "Me"):
        return 0
    return 2 if east_asian_width(sign) in "WF" else 1


_WRITTEN_OUT = str.maketrans({ELLIPSIS: "~", "×": "x", "°": " deg", "–": "-", "—": "-", "‘": "'", "’": "'"})


def in_ascii(text: str) -> str:
    """Text in ASCII: letters without their marks, and a question mark for what has no such letter."""
    if text.isascii():
        return text
    letters = normalize("NFKD", text.translate(_WRITTEN_OUT)).replace("⁄", "/")
    return "".join(sign if sign.isascii() else "?" for sign in letters if category(sign) != "Mn")
