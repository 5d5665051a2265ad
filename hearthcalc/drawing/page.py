"""Where lines and texts come to stand on a page of cells: the same for text and for SVG."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal, get_args

from msgspec import Struct

from hearthcalc.drawing.parts import (
    Dimension,
    Drawing,
    Label,
    Line,
    Mark,
    Place,
    Point,
    cells,
    in_ascii,
    mark_of,
)

ASPECT = 2.0  # height over width of a cell of a terminal

# What a cell of a line is joined to, and how it is drawn
UP, RIGHT, DOWN, LEFT = 1, 2, 4, 8
JOINED = UP | RIGHT | DOWN | LEFT
ROUND, RISING, FALLING = 16, 32, 64
Pen = Literal["asked", "dashed", "solid", "steel", "dimension"]  # each hides those before it
PENS: tuple[Pen, ...] = get_args(Pen)
STROKES: dict[Pen, int] = {pen: number for number, pen in enumerate(PENS, 1)}
ASKED = STROKES["asked"]

SHIFTS = (0, -1, 1, -2, 2, -3, 3)
FARTHEST_ARROW = 40  # cells
MOST_PASSED = 3  # lines that an arrow may cross

Tiers = list[list[Dimension]]
SIDEWAYS: tuple[tuple[Place, int], ...] = (("left", -1), ("right", 1))
UP_AND_DOWN: tuple[tuple[Place, int], ...] = (("above", -1), ("below", 1))


class Text(Struct, frozen=True):
    """A text on the page. lead: the arrow before a dimension within the drawing."""

    column: int
    row: int
    text: str
    item: Label | Dimension
    lead: str = ""


class Rule(Struct, frozen=True):
    """The line of a dimension beside the drawing: along a column where upright, else along a row."""

    at: int
    start: float
    end: float
    item: Dimension


class Page:
    """A drawing in cells. lines: by cell, a stroke and what it is joined to.  unsaid: marks whose words found no room.

    scale: inches to a column.  left, top: the cell of the drawing's upper left corner.
    """

    def __init__(self, drawing: Drawing, width: int, height: int, *, ascii: bool) -> None:
        self.drawing = drawing
        self.width = width
        self.height = height
        self.ascii = ascii
        self.scale = 1.0
        self.left = self.top = 0.0
        self.lines: dict[int, int] = {}
        self.texts: list[Text] = []
        self.rules: list[Rule] = []
        self.unsaid: list[Mark] = list(drawing.apart)
        self.bounds = drawing.bounds
        self._taken = bytearray(width * height)

    def column(self, x: float) -> float:
        return self.left + (x - self.bounds[0]) / self.scale

    def row(self, y: float) -> float:
        return self.top + (self.bounds[3] - y) / (self.scale * ASPECT)

    def cell(self, point: Point) -> tuple[int, int]:
        """The column and row of a point."""
        return nearest(self.column(point[0])), nearest(self.row(point[1]))

    def free(self, column: int, row: int, wide: int) -> bool:
        """Is there room for a text so wide, with a blank on either side."""
        if column < 0 or not 0 <= row < self.height or column + wide > self.width:
            return False
        start = row * self.width + column
        return self._taken.find(1, start - (column > 0), start + wide + (column + wide < self.width)) < 0

    def has_room(self, row: int, first: int, last: int, wide: int) -> bool:
        """Can a text so wide stand anywhere between two columns of a row; where it can, a blank beside it may still lack."""
        start = row * self.width
        end = start + min(last + 1, self.width)
        return self._taken.find(b"\0" * wide, start + max(first, 0), end) >= 0

    def covered(self, column: int, row: int) -> bool:
        """Is a cell taken by a line or a text, or off the page."""
        inside = 0 <= column < self.width and 0 <= row < self.height
        return not inside or self._taken[row * self.width + column] == 1

    def put(self, column: int, row: int, text: str, item: Label | Dimension, lead: str = "") -> None:
        """Set a text; where it is too short to say what is marked, that is told elsewhere."""
        wide = cells(lead + text)
        start = row * self.width + column
        self._taken[start : start + wide] = b"\1" * wide
        for cell in range(start, start + wide):
            self.lines.pop(cell, None)
        self.texts.append(Text(column, row, text, item, lead))
        said = self.ways(item)[0] if isinstance(item, Label) else str(item.verdict)
        if item.verdict and said not in text:
            self.drop(item)

    def drop(self, item: Label | Dimension) -> None:
        """Leave a text out; what it marks is told elsewhere."""
        if mark := mark_of(item):
            self.unsaid.append(mark)

    def ways(self, item: Label | Dimension) -> list[str]:
        """The texts that an item may have, the longest first."""
        text = in_ascii(item.text) if self.ascii else item.text
        if item.verdict is None:
            return [text]
        sign = item.verdict.sign
        ways = [f"{sign} {item.verdict} {text}", f"{sign} {item.verdict}", sign]
        if isinstance(item, Dimension) and item.asked:
            ways.insert(0, ways[0] + (in_ascii(item.asked) if self.ascii else item.asked))
        return ways

    def join(self, column: int, row: int, ways: Sequence[int], stroke: Pen, *, upright: bool = False) -> None:
        """Draw cells of a line over what is there, one after the other: an outline that is only asked for never runs into others."""
        new, lines, width = STROKES[stroke], self.lines, self.width
        for bits in ways:
            if 0 <= column < width and 0 <= row < self.height:
                cell = row * width + column
                drawn = lines.get(cell)
                if drawn is None:
                    lines[cell] = new * 256 + bits
                else:
                    old, before = divmod(drawn, 256)
                    if old == new or (old != ASKED and new != ASKED):
                        lines[cell] = max(old, new) * 256 | bits | before
                    elif old < new:
                        lines[cell] = new * 256 + bits
                self._taken[cell] = 1
            if upright:
                row += 1
            else:
                column += 1


def along(count: int, forward: int, back: int, ends: int = 0) -> list[int]:
    """What the cells of a line are joined to: each to the next and to the one before. ends: what its ends have besides."""
    ways = [forward | back] * count
    if ways:
        ways[0] = ways[0] & ~back | ends
        ways[-1] = ways[-1] & ~forward | ends
    return ways


def nearest(place: float) -> int:
    """The cell that a place on the page is in; halves go up, so that equal lengths do not differ by how they fall."""
    return math.floor(place + 0.5)


def lay_out(drawing: Drawing, width: int, height: int, *, ascii: bool = False, least: float = 0.0) -> Page:
    """The drawing on a page of so many cells, as large as what stands beside it leaves room for.

    least: inches to a column that it is drawn at, where there is room for more.
    """
    page, whole = _framed(drawing, width, height, 1, ascii=ascii, least=least)
    if not whole:
        page, _ = _framed(drawing, width, height, 2, ascii=ascii, least=least)
    for line in drawing.lines:
        _trace(page, line)
    inside = (item for item in drawing.dimensions if item.place == "inside")
    items: list[Label | Dimension] = [*drawing.labels, *inside]
    for item in sorted(items, key=lambda item: item.rank):
        if isinstance(item, Label):
            _set_label(page, item)
        else:
            _set_inside(page, item)
    return page


# Dimensions beside the drawing


def _framed(
    drawing: Drawing, width: int, height: int, rows_each: int, *, ascii: bool, least: float
) -> tuple[Page, bool]:
    """A page with the dimensions beside the drawing, and whether all of them have found room.

    rows_each: rows of cells to a row of level dimensions: one, or a second for texts wider than what they measure.
    """
    page = Page(drawing, width, height, ascii=ascii)
    most: dict[Place, int] = {
        "above": max(1, height // 12),
        "below": max(1, height // 9),
        "left": 2,
        "right": 2,
    }
    tiers: dict[Place, Tiers] = {}
    left_out: list[Dimension] = []
    for place, number in most.items():
        tiers[place], beyond = _tiers(drawing, place, number)
        left_out += beyond
    while True:
        wide = {place: [_widest(page, tier) for tier in tiers[place]] for place in ("left", "right")}
        left, right = (sum(wide[place]) + 3 * len(wide[place]) for place in ("left", "right"))
        if width - left - right >= max(8, width * 2 // 5) or not (tiers["left"] or tiers["right"]):
            break
        left_out += tiers["left" if left > right else "right"].pop()
    above, below = (rows_each * len(tiers[place]) for place in ("above", "below"))
    room = _room_for_labels(page, width - left - right, height - above - below)
    _scale(page, left + room[0], right + room[1], above, below, least)
    for item in left_out:
        page.drop(item)
    whole = not left_out
    x0, y0, x1, y1 = page.bounds
    for place, step in SIDEWAYS:
        column = page.cell((x0 if step < 0 else x1, y0))[0] + step * room[step > 0]
        for tier, columns in zip(tiers[place], wide[place], strict=True):
            column += 2 * step
            whole &= _set_upright(page, tier, column, step)
            column += step * (columns + 1)
    for place, step in UP_AND_DOWN:
        row = page.cell((x0, y1 if step < 0 else y0))[1] + step
        for tier in tiers[place]:
            whole &= _set_level(page, tier, row, row + step if rows_each > 1 else None)
            row += step * rows_each
    return page, whole


def _tiers(drawing: Drawing, place: Place, most: int) -> tuple[Tiers, list[Dimension]]:
    """The dimensions on one side in rows without overlap, the most important next to the drawing; those beyond the last row."""
    tiers: Tiers = []
    beyond = []
    axis = 1 if place in ("left", "right") else 0
    here = (item for item in drawing.dimensions if item.place == place)
    for item in sorted(here, key=lambda item: item.rank):
        start, end = item.start[axis], item.end[axis]
        fits = (tier for tier in tiers if all(end <= o.start[axis] or o.end[axis] <= start for o in tier))
        tier = next(fits, None)
        if tier is not None:
            tier.append(item)
        elif len(tiers) < most:
            tiers.append([item])
        else:
            beyond.append(item)
    return tiers, beyond


def _scale(page: Page, left: int, right: int, above: int, below: int, least: float) -> None:
    """Set how large the drawing is, between so many columns and rows to either side of it."""
    x0, y0, x1, y1 = page.bounds
    columns, rows = max(page.width - left - right, 2), max(page.height - above - below, 2)
    page.scale = max((x1 - x0) / (columns - 1), (y1 - y0) / (ASPECT * (rows - 1)), least)
    page.left = left + (columns - 1 - (x1 - x0) / page.scale) / 2
    page.top = float(above)


def _room_for_labels(page: Page, columns: int, rows: int) -> tuple[int, int]:
    """Columns to keep free on the left and on the right for the names of things at the edges, of those the drawing can spare."""
    x0, y0, x1, y1 = page.bounds
    spare = max(columns - nearest((x1 - x0) / (y1 - y0) * ASPECT * rows), columns // 5)
    room = [0, 0]
    for label in page.drawing.labels:
        share = (label.at[0] - x0) / (x1 - x0)
        wide = cells(page.ways(label)[0]) + 4
        if not 0.12 < share < 0.88 and wide <= spare - room[share < 0.5]:
            room[share > 0.5] = max(room[share > 0.5], wide)
    return room[0], room[1]


def _narrow(page: Page, item: Dimension) -> list[str]:
    """The texts of an upright dimension that leave room for the drawing."""
    ways = page.ways(item)
    most = max(9, page.width * 3 // 10)
    return [way for way in ways if cells(way) <= most] or ways[-1:]


def _widest(page: Page, tier: Sequence[Dimension]) -> int:
    return max(cells(_narrow(page, item)[0]) for item in tier)


def _set_upright(page: Page, tier: Sequence[Dimension], column: int, step: int) -> bool:
    """Set dimensions along a column, texts on the side away from the drawing; whether all have found room."""
    for item in tier:
        _bar(page, Rule(column, page.row(item.end[1]), page.row(item.start[1]), item))
    whole = True
    for item in tier:
        middle = nearest(page.row((item.start[1] + item.end[1]) / 2))
        for text in _narrow(page, item):
            at = column + 2 if step > 0 else column - 1 - cells(text)
            row = next((middle + s for s in SHIFTS if page.free(at, middle + s, cells(text))), None)
            if row is not None:
                page.put(at, row, text, item)
                break
        else:
            whole = False
            page.drop(item)
    return whole


def _set_level(page: Page, tier: Sequence[Dimension], row: int, other: int | None) -> bool:
    """Set dimensions along a row, texts in their line where they fit, else beside it or on the other row; whether all have found room."""
    if not 0 <= row < page.height:
        for item in tier:
            page.drop(item)
        return False
    for item in tier:
        _bar(page, Rule(row, page.column(item.start[0]), page.column(item.end[0]), item))
    whole = True
    for item in tier:
        first, last = nearest(page.column(item.start[0])), nearest(page.column(item.end[0]))
        number = in_ascii(item.text)
        for text in page.ways(item):
            wide = cells(text)
            centre = (first + last + 1 - wide) // 2
            if wide + 3 <= last - first:
                page.put(centre - 1, row, f" {text} ", item)
                whole &= number in text
                break
            spots = [(last + 2, row), (first - 1 - wide, row)]
            if other is not None:
                spots += [(column, other) for column in (centre, first, last + 1 - wide, max(centre, 0))]
            spot = next((spot for spot in spots if page.free(*spot, wide)), None)
            if spot:
                page.put(*spot, text, item)
                whole &= number in text
                break
        else:
            whole = False
            page.drop(item)
    return whole


def _bar(page: Page, rule: Rule) -> None:
    """Draw the line of a dimension with a tick at either end."""
    page.rules.append(rule)
    first, last, upright = nearest(rule.start), nearest(rule.end), rule.item.upright
    ticks, forward, back = (LEFT | RIGHT, DOWN, UP) if upright else (UP | DOWN, RIGHT, LEFT)
    ways = along(last - first + 1, forward, back, ticks)
    page.join(*((rule.at, first) if upright else (first, rule.at)), ways, "dimension", upright=upright)


# Lines


def _trace(page: Page, line: Line) -> None:
    """Draw a line from cell to cell."""
    for start, end in pairwise(line.points):
        (c0, r0), (c1, r1) = page.cell(start), page.cell(end)
        if c0 == c1 or r0 == r1:
            _straight(page, c0, r0, c1, r1, line.stroke)
        elif len(line.points) == 2 and abs(c1 - c0) <= 2 * abs(r1 - r0):
            _slant(page, c0, r0, c1, r1, line.stroke)
        else:
            _stairs(page, c0, r0, c1, r1, line.stroke)


def _straight(page: Page, c0: int, r0: int, c1: int, r1: int, stroke: Pen, bits: int = 0) -> None:
    upright = c0 == c1
    first, last = sorted((r0, r1) if upright else (c0, c1))
    forward, back = (DOWN, UP) if upright else (RIGHT, LEFT)
    ways = along(last - first + 1, forward, back)
    if bits:
        ways = [way | bits for way in ways]
    page.join(*((c0, first) if upright else (first, r0)), ways, stroke, upright=upright)


def _slant(page: Page, c0: int, r0: int, c1: int, r1: int, stroke: Pen) -> None:
    """A steep line: one slanting stroke to a row."""
    bits = RISING if (c1 > c0) == (r1 < r0) else FALLING
    for row in range(min(r0, r1), max(r0, r1) + 1):
        page.join(nearest(c0 + (c1 - c0) * (row - r0) / (r1 - r0)), row, [bits], stroke)


def _stairs(page: Page, c0: int, r0: int, c1: int, r1: int, stroke: Pen) -> None:
    """A shallow line: level runs with rounded steps between."""
    down = 1 if r1 > r0 else -1
    column = c0
    for row in range(r0, r1, down):
        turn = nearest(c0 + (c1 - c0) * (row + down / 2 - r0) / (r1 - r0))
        _straight(page, column, row, turn, row, stroke, ROUND)
        _straight(page, turn, row, turn, row + down, stroke, ROUND)
        column = turn
    _straight(page, column, r1, c1, r1, stroke, ROUND)


# Labels and dimensions within the drawing


def _set_label(page: Page, item: Label) -> None:
    """Set a label on what it names, else beside it with an arrow; else leave it out."""
    for number, text in enumerate(page.ways(item)):
        for column, row, written, wide in _spots(page, item, text, 2 if item.verdict and not number else 1):
            if page.free(column, row, wide):
                page.put(column, row, written, item)
                return
    page.drop(item)


def _spots(page: Page, item: Label, text: str, most: int) -> Iterator[tuple[int, int, str, int]]:
    """Where a label may stand, the best first: its column and row, how it is written there, and how wide that is.

    most: rows away from its anchor.  A label that only says what lies where it stands keeps to its side of every line.
    """
    to_left, to_right = ("<- ", " ->") if page.ascii else ("← ", " →")
    wide, (column, row) = cells(text), page.cell(item.at)
    middle = column - wide // 2
    nearer = 1 if page.row(item.at[1]) >= row else -1
    for down in (0, nearer, -nearer, 2 * nearer, -2 * nearer)[: 1 + 2 * most]:
        if not 0 <= row + down < page.height or (item.part and _crosses(page, column, row, down, nearer)):
            continue
        most_shift = wide // 2 + 1
        if not page.has_room(row + down, middle - most_shift, middle + most_shift + wide - 1, wide):
            continue
        for shift in range(most_shift + 1):
            yield middle - shift, row + down, text, wide
            yield middle + shift, row + down, text, wide
    outward = -1 if 2 * item.at[0] < page.bounds[0] + page.bounds[2] else 1
    for step in (outward, -outward):
        for shift in range(2, _reach(page, column, row, step) + 1):
            at = column + 1 + shift if step > 0 else column - wide - len(to_right) - shift
            written = to_left + text if step > 0 else text + to_right
            yield at, row, written, wide + len(to_right)


def _reach(page: Page, column: int, row: int, step: int) -> int:
    """How many cells an arrow may pass before it would mislead: over a few lines, never over a dimension's or over a text."""
    passed = drawn = 0
    for away in range(1, FARTHEST_ARROW):
        at = column + step * away
        before, drawn = drawn, page.lines.get(row * page.width + at, 0)
        passed += bool(drawn and not before)
        in_the_way = drawn // 256 == STROKES["dimension"] or (not drawn and page.covered(at, row))
        if in_the_way or passed > MOST_PASSED:
            return away - 1
    return FARTHEST_ARROW


def _crosses(page: Page, column: int, row: int, down: int, nearer: int) -> bool:
    """Does a line lie between a row and another so far down. nearer: the side of its own row that counts as before the line."""
    step = 1 if down > 0 else -1
    first = row + step * (step == nearer)
    return any(at * page.width + column in page.lines for at in range(first, row + down + step, step) if down)


def _set_inside(page: Page, item: Dimension) -> None:
    """Set a dimension within the drawing: its text with an arrow, between what it measures or next to it; else leave it out."""
    (c0, r0), (c1, r1) = page.cell(item.start), page.cell(item.end)
    lead = ("| " if page.ascii else "↕ ") if item.upright else ("" if page.ascii else "↔ ")
    for text in page.ways(item):
        wide = cells(lead + text)
        if item.upright:
            middle = (r0 + r1) // 2
            spots = [(c0, middle + shift) for shift in SHIFTS if r1 < middle + shift < r0]
        else:
            centre = (c0 + c1 + 1 - wide) // 2
            spots = [
                (centre + right, r0 + down)
                for down in (0, -1, 1, -2, 2)
                for right in (0, -wide // 2, wide // 2)
            ]
        spot = next((spot for spot in spots if page.free(*spot, wide)), None)
        if spot:
            page.put(*spot, text, item, lead)
            return
    page.drop(item)
