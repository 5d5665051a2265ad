"""A drawing in characters, and in words."""

from __future__ import annotations

import math
from collections.abc import Set
from itertools import pairwise
from textwrap import wrap
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc.drawing.page import (
    DOWN,
    JOINED,
    LEFT,
    RIGHT,
    RISING,
    ROUND,
    STROKES,
    UP,
    Page,
    Pen,
    Text,
    lay_out,
)
from hearthcalc.drawing.parts import (
    DASHED,
    NOT_KNOWN,
    Drawing,
    Fill,
    Mark,
    cells,
    cells_of_sign,
    cut,
    in_ascii,
)
from hearthcalc.findings import Verdict

# By stroke, a glyph for what a cell is joined to: up 1, right 2, down 4, left 8
LIGHT = " │─└││┌├─┘─┴┐┤┬┼"
GLYPHS = ("", " ║═╚║║╔╠═╝═╩╗╣╦╬", " ╎╌└╎╎┌├╌┘╌┴┐┤┬┼", LIGHT, " ┃━┗┃┃┏┣━┛━┻┓┫┳╋", LIGHT)
ASCII_LIGHT = " |-+||++-+-+++++"
ASCII_GLYPHS = ("", " ***************", " :.:::::.:.:::::", ASCII_LIGHT, " |=+||++=+=+++++", ASCII_LIGHT)
ROUNDED = {RIGHT | DOWN: "╭", DOWN | LEFT: "╮", UP | RIGHT: "╰", UP | LEFT: "╯"}
ASCII_ROUNDED = {RIGHT | DOWN: ".", DOWN | LEFT: ".", UP | RIGHT: "'", UP | LEFT: "'"}
FILLS: dict[Fill, str] = {"plain": " ", "masonry": "░", "hearth": "▒", "wood": "▓"}
ASCII_FILLS: dict[Fill, str] = {"plain": " ", "masonry": "&", "hearth": "%", "wood": "#"}

LEAST = (24, 10)  # columns and rows: with less the marks are listed instead

Ink = Literal[Fill, Pen, "words"]
CAPTION: tuple[tuple[Fill | Literal["dashed", "asked"], str], ...] = (
    ("dashed", "not measured: place is schematic"), ("asked", "required"),
    ("masonry", "masonry"), ("hearth", "hearth"), ("wood", "can burn"),
)  # fmt: skip


class Run(Struct, frozen=True):
    """Cells of one row that are drawn alike. ink: what they show.  entry: the address that it is told by, "" for none."""

    text: str
    ink: Ink = "words"
    verdict: Verdict | None = None
    entry: str = ""


Row = list[Run]
PLAIN = Run("")
DRAWN = {number: Run("", pen) for pen, number in STROKES.items()}


def as_text(drawing: Drawing, width: int, height: int, *, ascii: bool = False) -> list[str]:
    """The drawing to scale in box-drawing characters, in cells twice as high as wide: at most so many rows of so many cells.

    What does not fit is left out, the least important first; what is marked and finds no room in it stands below it in words.
    """
    return ["".join(run.text for run in row) for row in as_rows(drawing, width, height, ascii=ascii)]


def as_rows(drawing: Drawing, width: int, height: int, *, ascii: bool = False) -> list[Row]:
    """The drawing as `as_text` writes it, with what each run of cells shows. The first row is its title."""
    title = [Run(_fitted(drawing.title, width, ascii=ascii))]
    if width < LEAST[0] or height < LEAST[1]:
        return [title, *_listed(drawing.marks, height - 1, width, ascii=ascii)][: max(height, 0)]
    height -= len(_caption({ink for ink, _ in CAPTION if _may_show(drawing, ink)}, width, ascii=ascii))
    page = lay_out(drawing, width, height - 1, ascii=ascii)
    below: list[Row] = []
    if page.unsaid:
        room = min(max(1, height // 6), len(set(page.unsaid)))
        page = lay_out(drawing, width, height - 1 - room, ascii=ascii)
        below = _listed(tuple(dict.fromkeys(page.unsaid)), room, width, ascii=ascii)
    rows = _rows(page)
    caption = _caption({run.ink for row in rows for run in row}, width, ascii=ascii)
    return [title, *_with_notes(page, rows), *below, *caption][: height + len(caption)]


def _may_show(drawing: Drawing, ink: Ink) -> bool:
    """Is anything of a drawing drawn so."""
    return any(line.stroke == ink for line in drawing.lines) or any(
        area.fill == ink for area in drawing.areas
    )


def _caption(shown: Set[Ink], width: int, *, ascii: bool) -> list[Row]:
    """What the lines and fills that are shown stand for, in as few rows as it takes."""
    fills, glyphs = (ASCII_FILLS, ASCII_GLYPHS) if ascii else (FILLS, GLYPHS)
    rows: list[Row] = []
    room = 0
    for ink, words in CAPTION:
        sign = glyphs[STROKES[ink]][LEFT | RIGHT] if ink == "dashed" or ink == "asked" else fills[ink]
        if ink not in shown:
            continue
        words = _fitted(words, width - 3, ascii=ascii)
        wide = len(words) + 3 + 2 * bool(room)
        if wide > room:
            rows.append([])
            room, wide = width, len(words) + 3
        rows[-1] += [Run("  " if rows[-1] else ""), Run(sign * 2, ink), Run(f" {words}")]
        room -= wide
    return rows


def _listed(marks: tuple[Mark, ...], rows: int, width: int, *, ascii: bool) -> list[Row]:
    """Marks in words, the worst first, and how many more there are than rows."""
    ranked = sorted(marks, key=lambda mark: list(Verdict).index(mark.verdict), reverse=True)
    lines: list[tuple[str, Verdict | None]] = [(mark.line, mark.verdict) for mark in ranked]
    if len(lines) > rows:
        lines[max(rows - 1, 0) :] = [(f"and {len(lines) - rows + 1} more marked", None)]
    return [[Run(_fitted(line, width, ascii=ascii), verdict=verdict)] for line, verdict in lines]


def _fitted(text: str, width: int, *, ascii: bool) -> str:
    return in_ascii(cut(in_ascii(text), width)) if ascii else cut(text, width)


def _with_notes(page: Page, rows: list[Row]) -> list[Row]:
    """Rows with as many of the notes as fit whole into the blank ones below the drawing."""
    used = len(rows)
    while used and not rows[used - 1]:
        used -= 1
    kept = rows[:used]
    for note in page.drawing.notes:
        if note == DASHED:  # the caption says it
            continue
        lines = wrap(in_ascii(note), page.width) if page.ascii else _wrapped(note, page.width)
        if len(kept) + 1 + len(lines) <= len(rows):
            kept += [[] for _ in range(len(kept) == used)] + [[Run(line)] for line in lines]
    return kept + [[] for _ in range(len(rows) - len(kept))]


def _wrapped(text: str, width: int) -> list[str]:
    """Text in lines of so many cells, parted between words."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".lstrip()
        if cells(longer) <= width:
            lines[-1] = longer
        else:
            lines.append(cut(word, width))
    return lines


class _Grid:
    """The cells of a page: in each a sign, and what it is drawn with."""

    def __init__(self, page: Page) -> None:
        self.width = page.width
        self.signs = [" "] * (page.width * page.height)
        self.runs = [PLAIN] * len(self.signs)

    def put(self, at: int, sign: str, run: Run) -> None:
        """Put a sign in a cell; a wide one takes the next one too."""
        wide = cells_of_sign(sign)
        if not wide:
            self.signs[at - 1] += sign
            return
        self.signs[at : at + wide] = [sign, ""][:wide]
        self.runs[at : at + wide] = [run] * wide

    def rows(self) -> list[Row]:
        """The cells row by row, those that are drawn alike together, without the blank ones at the end."""
        made = []
        for start in range(0, len(self.signs), self.width):
            signs, runs = self.signs[start : start + self.width], self.runs[start : start + self.width]
            end = next((at for at in range(len(signs), 0, -1) if signs[at - 1].strip()), 0)
            row, first = [], 0
            for at in range(1, end + 1):
                if at == end or runs[at] is not runs[first]:
                    row.append(replace(runs[first], text="".join(signs[first:at])))
                    first = at
            made.append(row)
        return made


def _rows(page: Page) -> list[Row]:
    """The page as rows of runs."""
    grid = _Grid(page)
    _fill(grid, page)
    glyphs, rounded = (ASCII_GLYPHS, ASCII_ROUNDED) if page.ascii else (GLYPHS, ROUNDED)
    rising, falling = ("/", "\\") if page.ascii else ("╱", "╲")
    for cell, drawn in page.lines.items():
        stroke, bits = divmod(drawn, 256)
        joined = bits & JOINED
        if bits & ROUND and joined in rounded:
            sign = rounded[joined]
        elif joined:
            sign = glyphs[stroke][joined]
        else:
            sign = rising if bits & RISING else falling
        grid.signs[cell], grid.runs[cell] = sign, DRAWN[stroke]
    for text in page.texts:
        _write(grid, page, text)
    return grid.rows()


def _fill(grid: _Grid, page: Page) -> None:
    """Fill the areas of a page."""
    fills = ASCII_FILLS if page.ascii else FILLS
    for area in page.drawing.areas:
        run = Run("", area.fill, area.verdict, area.entry)
        corners = [(page.column(x), page.row(y)) for x, y in area.points]
        edges = list(pairwise([*corners, corners[0]]))
        top, bottom = min(y for _, y in corners), max(y for _, y in corners)
        for row in range(max(math.ceil(top), 0), min(math.floor(bottom), page.height - 1) + 1):
            crossed = sorted(
                x0 + (x1 - x0) * (row - y0) / (y1 - y0)
                for (x0, y0), (x1, y1) in edges
                if (y0 <= row) != (y1 <= row)
            )
            for start, end in zip(crossed[::2], crossed[1::2], strict=True):
                first, last = max(math.ceil(start), 0), min(math.floor(end), page.width - 1)
                if first <= last:
                    cells_of_it = slice(row * page.width + first, row * page.width + last + 1)
                    grid.signs[cells_of_it] = fills[area.fill] * (last + 1 - first)
                    grid.runs[cells_of_it] = [run] * (last + 1 - first)


def _write(grid: _Grid, page: Page, text: Text) -> None:
    """Write a text over fills, with a blank on either side of it."""
    at, written = text.row * page.width + text.column, text.lead + text.text
    after = at + cells(written)
    if text.column and at - 1 not in page.lines:
        grid.put(at - 1, " ", PLAIN)
    if after % page.width and after not in page.lines:
        grid.put(after, " ", PLAIN)
    run = Run("", "words", text.item.verdict, text.item.entry)
    for sign in written:
        grid.put(at, sign, run)
        at += cells_of_sign(sign)


def describe(drawing: Drawing) -> str:
    """The drawing in words, for who does not see it, a line each: what is marked, the dimensions, what is not known, parts, notes."""
    marks = [f"  {mark.line}" for mark in drawing.marks]
    ranked = sorted(drawing.dimensions, key=lambda item: item.rank)
    known = [f"{item.what}: {item.text}" for item in ranked if item.text != NOT_KNOWN]
    lacking = [item.what for item in ranked if item.text == NOT_KNOWN]
    parts = [label.full for label in drawing.labels if not label.verdict]
    return "\n".join(
        [
            drawing.title,
            *(["Marked:", *marks] if marks else ["Nothing is marked."]),
            *dict.fromkeys(known),
            *([f"Not known: {'; '.join(dict.fromkeys(lacking))}"] if lacking else []),
            *([f"Named: {'; '.join(dict.fromkeys(parts))}"] if parts else []),
            *drawing.notes,
        ]
    )
