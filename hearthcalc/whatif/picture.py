"""A sweep as a picture: a field for each point, its verdict in gray and by its sign, and a line where the verdict turns.

SVG and paper both paint its parts, each in its own way.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from itertools import groupby
from typing import Literal

from msgspec import Struct

from hearthcalc.findings import Verdict
from hearthcalc.whatif.sweep import LETTERS, NOT_A_JOB, Point, Sweep

WIDE, HIGH = 600, 400  # of the map at the most, in the picture's own units
LEAST, MOST = 2, 40  # side of a field
KEY = 110  # from one verdict of the legend to the next
ROOM = 14  # side of a field from which its sign is written in it
LEFT, TOP, FOOT = 110, 50, 60
LETTER = 12  # height of the words
LINE = 2  # width of the line where the verdict turns
GRAYS = {
    "MEETS": 0xFF, "CLOSE": 0xE4, "REFER": 0xC8, "MEASURE": 0xAC, "SHORT": 0x80, NOT_A_JOB: 0x40,
}  # fmt: skip

Anchor = Literal["start", "middle", "end"]


class Field(Struct, frozen=True):
    """A gray rectangle, from its upper left corner. gray: 0 black to 255 white; None of a frame alone."""

    x: float
    y: float
    wide: float
    high: float
    gray: int | None
    framed: bool = False


class Turn(Struct, frozen=True):
    """A piece of the line where the verdict turns, from a point to the right or down."""

    x: float
    y: float
    across: float
    down: float


class Words(Struct, frozen=True):
    """A text that stands on y; anchor: where x is in it."""

    text: str
    x: float
    y: float
    anchor: Anchor


class Picture(Struct, frozen=True):
    """The parts of a picture, in units from its upper left corner."""

    title: str
    wide: float
    high: float
    fields: tuple[Field, ...]
    turns: tuple[Turn, ...]
    words: tuple[Words, ...]


def picture(swept: Sweep) -> Picture:
    """The first axis runs down and the second to the right; of one axis alone, to the right."""
    down, right = (swept.axes[0] if len(swept.axes) == 2 else None), swept.axes[-1]
    across = len(right.values)
    rows = [swept.points[n : n + across] for n in range(0, len(swept.points), across)]
    side = max(LEAST, min(MOST, WIDE // across, HIGH // len(rows)))
    wide, high = side * across, side * len(rows)
    fields, words = list(_fields(rows, side)), list(_signs(rows, side))
    seen = [word for word in (*map(str, Verdict), NOT_A_JOB) if any(p.verdict == word for p in swept.points)]
    for number, word in enumerate(seen):
        at = LEFT + KEY * number
        fields.append(Field(at, 29, LETTER, LETTER, GRAYS[word], framed=True))
        words.append(Words(f"{LETTERS[word]} {word}", at + 17, 40, "start"))
    fields.append(Field(LEFT, TOP, wide, high, None, framed=True))
    words += [
        Words(swept.title, LEFT, 20, "start"),
        Words(right.values[0], LEFT, TOP + high + 18, "start"),
        Words(right.values[-1], LEFT + max(wide, KEY), TOP + high + 18, "end"),
        Words(
            f"To the right: {right.spec.label}" + (f"; down: {down.spec.label}" if down else ""),
            LEFT,
            TOP + high + 38,
            "start",
        ),
    ]
    if down is not None:
        words += [
            Words(down.values[0], LEFT - 8, TOP + 12, "end"),
            Words(down.values[-1], LEFT - 8, TOP + high, "end"),
        ]
    size = LEFT + max(wide, WIDE) + 20, TOP + high + FOOT
    return Picture(swept.title, *size, tuple(fields), tuple(_turns(rows, side)), tuple(words))


def _fields(rows: list[tuple[Point, ...]], side: int) -> Iterator[Field]:
    """The map, points of one verdict beside each other as one field."""
    for y, row in enumerate(rows):
        x = 0
        for verdict, run in groupby(row, key=lambda point: point.verdict):
            count = len(list(run))
            gray = GRAYS.get(verdict, 0xFF)
            yield Field(LEFT + x * side, TOP + y * side, count * side, side, gray)
            x += count


def _signs(rows: list[tuple[Point, ...]], side: int) -> Iterator[Words]:
    for y, row in enumerate(rows) if side >= ROOM else ():
        for x, point in enumerate(row):
            middle = LEFT + (x + 0.5) * side, TOP + (y + 0.5) * side + 4
            yield Words(LETTERS[point.verdict], *middle, "middle")


def _turns(rows: list[tuple[Point, ...]], side: int) -> Iterator[Turn]:
    for y, row in enumerate(rows):
        for x, point in enumerate(row):
            at, over = LEFT + x * side, TOP + y * side
            if x + 1 < len(row) and row[x + 1].verdict != point.verdict:
                yield Turn(at + side, over, 0, side)
            if y + 1 < len(rows) and rows[y + 1][x].verdict != point.verdict:
                yield Turn(at, over + side, side, 0)


def svg(swept: Sweep, *, inline: bool = False) -> str:
    """The picture as SVG. inline: for a page of HTML, which needs no name for what SVG is."""
    made = picture(swept)
    turns = "".join(
        f"M{turn.x:g} {turn.y:g}" + (f"h{turn.across:g}" if turn.across else f"v{turn.down:g}")
        for turn in made.turns
    )
    name = "" if inline else 'xmlns="http://www.w3.org/2000/svg" '
    return "\n".join(
        [
            f'<svg {name}role="img" viewBox="0 0 {made.wide:g} {made.high:g}" width="{made.wide:g}" height="{made.high:g}" '
            f'font-family="sans-serif" font-size="{LETTER}">',
            f"<title>{escape(made.title)}</title>",
            '<g shape-rendering="crispEdges">',
            *map(_rectangle, made.fields),
            f'<path class="turns" d="{turns}" fill="none" stroke="#000000" stroke-width="{LINE}"/>',
            "</g>",
            *(
                f'<text x="{one.x:g}" y="{one.y:g}" text-anchor="{one.anchor}">{escape(one.text)}</text>'
                for one in made.words
            ),
            "</svg>\n",
        ]
    )


def _rectangle(field: Field) -> str:
    fill = "none" if field.gray is None else f"#{field.gray:02x}{field.gray:02x}{field.gray:02x}"
    stroke = ' stroke="#000000"' if field.framed else ""
    return f'<rect x="{field.x:g}" y="{field.y:g}" width="{field.wide:g}" height="{field.high:g}" fill="{fill}"{stroke}/>'
