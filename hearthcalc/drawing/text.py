"""A drawing in characters, and in words."""

from __future__ import annotations

import math
from itertools import pairwise
from textwrap import wrap

from hearthcalc.drawing.page import DOWN, JOINED, LEFT, RIGHT, RISING, ROUND, UP, Page, Text, lay_out
from hearthcalc.drawing.parts import NOT_KNOWN, Drawing, Fill, Mark, cells, cells_of_sign, cut, in_ascii
from hearthcalc.findings import Verdict

# By stroke, a glyph for what a cell is joined to: up 1, right 2, down 4, left 8
LIGHT = " │─└││┌├─┘─┴┐┤┬┼"
GLYPHS = ("", " ║═╚║║╔╠═╝═╩╗╣╦╬", " ╎╌└╎╎┌├╌┘╌┴┐┤┬┼", LIGHT, " ┃━┗┃┃┏┣━┛━┻┓┫┳╋", LIGHT)
ASCII_LIGHT = " |-+||++-+-+++++"
ASCII_GLYPHS = ("", " ***************", " :.:::::.:.:::::", ASCII_LIGHT, " |=+||++=+=+++++", ASCII_LIGHT)
ROUNDED = {RIGHT | DOWN: "╭", DOWN | LEFT: "╮", UP | RIGHT: "╰", UP | LEFT: "╯"}
ASCII_ROUNDED = {RIGHT | DOWN: ".", DOWN | LEFT: ".", UP | RIGHT: "'", UP | LEFT: "'"}
FILLS: dict[Fill, str] = {"plain": " ", "masonry": "░", "hearth": "▒", "wood": "▓"}
ASCII_FILLS: dict[Fill, str] = {"plain": " ", "masonry": " ", "hearth": "%", "wood": "#"}

LEAST = (24, 10)  # columns and rows: with less the marks are listed instead


def as_text(drawing: Drawing, width: int, height: int, *, ascii: bool = False) -> list[str]:
    """The drawing to scale in box-drawing characters, in cells twice as high as wide: at most so many rows of so many cells.

    What does not fit is left out, the least important first; what is marked and finds no room in it stands below it in words.
    """
    title = _fitted(drawing.title, width, ascii=ascii)
    if width < LEAST[0] or height < LEAST[1]:
        return [title, *_listed(drawing.marks, height - 1, width, ascii=ascii)][: max(height, 0)]
    page = lay_out(drawing, width, height - 1, ascii=ascii)
    below: list[str] = []
    if page.unsaid:
        room = min(max(1, height // 6), len(set(page.unsaid)))
        page = lay_out(drawing, width, height - 1 - room, ascii=ascii)
        below = _listed(tuple(dict.fromkeys(page.unsaid)), room, width, ascii=ascii)
    return [title, *_with_notes(page, _rows(page)), *below][:height]


def _listed(marks: tuple[Mark, ...], rows: int, width: int, *, ascii: bool) -> list[str]:
    """Marks in words, the worst first, and how many more there are than rows."""
    lines = [
        mark.line for mark in sorted(marks, key=lambda mark: list(Verdict).index(mark.verdict), reverse=True)
    ]
    if len(lines) > rows:
        lines[max(rows - 1, 0) :] = [f"and {len(lines) - rows + 1} more marked"]
    return [_fitted(line, width, ascii=ascii) for line in lines]


def _fitted(text: str, width: int, *, ascii: bool) -> str:
    return in_ascii(cut(in_ascii(text), width)) if ascii else cut(text, width)


def _with_notes(page: Page, rows: list[str]) -> list[str]:
    """Rows with as many of the notes as fit whole into the blank ones below the drawing."""
    used = len(rows)
    while used and not rows[used - 1]:
        used -= 1
    kept = rows[:used]
    for note in page.drawing.notes:
        lines = wrap(in_ascii(note), page.width) if page.ascii else _wrapped(note, page.width)
        if len(kept) + 1 + len(lines) <= len(rows):
            kept += [""] * (len(kept) == used) + lines
    return kept + [""] * (len(rows) - len(kept))


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


def _rows(page: Page) -> list[str]:
    """The page as rows of text."""
    grid = _filled(page)
    glyphs, rounded = (ASCII_GLYPHS, ASCII_ROUNDED) if page.ascii else (GLYPHS, ROUNDED)
    rising, falling = ("/", "\\") if page.ascii else ("╱", "╲")
    for cell, drawn in page.lines.items():
        stroke, bits = divmod(drawn, 256)
        joined = bits & JOINED
        if bits & ROUND and joined in rounded:
            grid[cell] = rounded[joined]
        elif joined:
            grid[cell] = glyphs[stroke][joined]
        else:
            grid[cell] = rising if bits & RISING else falling
    for text in page.texts:
        _write(page, grid, text)
    return ["".join(grid[start : start + page.width]).rstrip() for start in range(0, len(grid), page.width)]


def _filled(page: Page) -> list[str]:
    """The cells of a page with the fills of its areas."""
    grid = [" "] * (page.width * page.height)
    fills = ASCII_FILLS if page.ascii else FILLS
    for area in page.drawing.areas:
        sign = fills[area.fill]
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
                    at = row * page.width
                    grid[at + first : at + last + 1] = sign * (last + 1 - first)
    return grid


def _write(page: Page, grid: list[str], text: Text) -> None:
    """Write a text over fills, with a blank on either side of it."""
    at, written = text.row * page.width + text.column, text.lead + text.text
    after = at + cells(written)
    if text.column and at - 1 not in page.lines:
        grid[at - 1] = " "
    if after % page.width and after not in page.lines:
        grid[after] = " "
    for sign in written:
        wide = cells_of_sign(sign)
        if not wide:
            grid[at - 1] += sign
            continue
        grid[at : at + wide] = [sign, ""][:wide]
        at += wide


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
