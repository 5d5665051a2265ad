"""A laid-out drawing as plain shapes, in px: what SVG and paper both paint, each in its own way."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from hearthcalc.drawing.page import ASPECT, Page, Rule, Text
from hearthcalc.drawing.parts import Dimension, Drawing, Point, cells

ACROSS = 8.0  # px to a cell
DOWN = ACROSS * ASPECT
TEXT = 12.0  # px of the letters

Pen = Literal["solid", "dashed", "steel", "asked", "measure", "reach", "tick"]


class Hatch(Struct, frozen=True):
    """A filled part. pattern: of its material, or of the verdict it is marked with."""

    points: tuple[Point, ...]
    pattern: str


class Stroke(Struct, frozen=True):
    """A line."""

    points: tuple[Point, ...]
    pen: Pen


class Words(Struct, frozen=True):
    """A text round x, its letters standing on y, on a ground of its own. left, wide: of the ground.  verdict: it is marked with."""

    text: str
    x: float
    y: float
    left: float
    wide: float
    verdict: str = ""

    @property
    def top(self) -> float:
        """Of the ground, which is one cell high."""
        return self.y - TEXT


Shape = Hatch | Stroke | Words


def shapes(page: Page) -> Iterator[Shape]:
    """The shapes of a page in the order in which they are painted."""
    for area in page.drawing.areas:
        points = tuple(at(page, point) for point in area.points)
        for pattern in (area.fill, area.verdict):
            if pattern and pattern != "plain":
                yield Hatch(points, str(pattern))
    for line in page.drawing.lines:
        yield Stroke(tuple(at(page, point) for point in line.points), line.stroke)
    for rule in page.rules:
        yield from _rule(page, rule)
    for text in page.texts:
        if isinstance(text.item, Dimension) and text.item.place == "inside":
            yield from _bar(at(page, text.item.start), at(page, text.item.end))
    for text in page.texts:
        yield _words(text)


def at(page: Page, point: Point) -> Point:
    """A point of the drawing in px."""
    return (page.column(point[0]) + 0.5) * ACROSS, (page.row(point[1]) + 0.5) * DOWN


def rows(page: Page) -> int:
    """How many rows of the page are used."""
    low = [text.row for text in page.texts] + [rule.at for rule in page.rules if not rule.item.upright]
    return max(*low, page.cell(page.bounds[:2])[1], 0) + 1


def told_below(page: Page) -> list[str]:
    """What stands below a drawing: its marks that found no room in it, and its notes."""
    drawing: Drawing = page.drawing
    return [mark.line for mark in dict.fromkeys(page.unsaid)] + list(drawing.notes)


def _rule(page: Page, rule: Rule) -> Iterator[Stroke]:
    """A dimension beside the drawing, with thin lines to what it measures."""
    ends = []
    for x, y in (at(page, rule.item.start), at(page, rule.item.end)):
        end = ((rule.at + 0.5) * ACROSS, y) if rule.item.upright else (x, (rule.at + 0.5) * DOWN)
        ends.append(end)
        yield Stroke(((x, y), end), "reach")
    yield from _bar(*ends)


def _bar(start: Point, end: Point) -> Iterator[Stroke]:
    """The line of a dimension with a stroke across either end."""
    yield Stroke((start, end), "measure")
    for x, y in (start, end):
        yield Stroke(((x - 3, y + 3), (x + 3, y - 3)), "tick")


def _words(text: Text) -> Words:
    left, wide = (text.column + cells(text.lead)) * ACROSS, cells(text.text) * ACROSS
    verdict = str(text.item.verdict or "")
    return Words(text.text.strip(), left + wide / 2, text.row * DOWN + TEXT, left, wide, verdict)
