"""A drawing as SVG."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from textwrap import wrap
from zlib import crc32

from hearthcalc.drawing.page import Page, Rule, Text, lay_out
from hearthcalc.drawing.parts import Dimension, Drawing, Point, cells
from hearthcalc.drawing.text import describe

PAGE = (112, 56)  # cells that a drawing is laid out on, px below
ACROSS, DOWN = 8.0, 16.0
MARGIN, NOTE = 16.0, 15.0
STYLE = """
.hearth-drawing .paper{fill:#fff}
.hearth-drawing line,.hearth-drawing polyline{fill:none;stroke:#1c2126;stroke-width:1.6;stroke-linecap:round;stroke-linejoin:round}
.hearth-drawing .dashed{stroke-width:1.2;stroke-dasharray:5 4}
.hearth-drawing .steel{stroke-width:4;stroke-linecap:butt}
.hearth-drawing .asked{stroke-width:2.4;stroke-dasharray:1.5 5}
.hearth-drawing .measure{stroke-width:.8}
.hearth-drawing .reach{stroke:#767d84;stroke-width:.5}
.hearth-drawing text{font:12px "DejaVu Sans Mono",Menlo,Consolas,monospace;fill:#1c2126}
.hearth-drawing .title{font-size:15px;font-weight:bold}
.hearth-drawing .note{font-size:11px}
.hearth-drawing .marked{font-weight:bold}
.hearth-drawing .tag{fill:#fff;stroke-width:1.4}
.hearth-drawing .hatch{fill:none;stroke-width:1.2}
.hearth-drawing .masonry{stroke:#a3521f}
.hearth-drawing .hearth{fill:#59636c}
.hearth-drawing .wood{stroke:#6f5a10}
.hearth-drawing .SHORT{stroke:#a01818}
.hearth-drawing .CLOSE{stroke:#7a4d00}
.hearth-drawing .MEASURE{stroke:#14488a}
.hearth-drawing text.SHORT{fill:#a01818;stroke:none}
.hearth-drawing text.CLOSE{fill:#7a4d00;stroke:none}
.hearth-drawing text.MEASURE{fill:#14488a;stroke:none}
"""
# One tile of each pattern, so that parts and marks differ in black and white too
HATCHES = {
    "masonry": '<path class="hatch masonry" d="M0 8 8 0" opacity=".55"/>',
    "hearth": '<circle class="hearth" cx="2" cy="2" r=".7"/><circle class="hearth" cx="6" cy="6" r=".7"/>',
    "wood": '<path class="hatch wood" d="M0 2H8M0 6H8" opacity=".6"/>',
    "SHORT": '<path class="hatch SHORT" d="M0 8 8 0M0 0 8 8"/>',
    "CLOSE": '<path class="hatch CLOSE" d="M2 0V8M6 0V8"/>',
    "MEASURE": '<path class="hatch MEASURE" d="M2 4H6M4 2V6"/>',
}


def as_svg(drawing: Drawing) -> str:
    """The drawing as an SVG document of its own, without scripts; what is marked has sign, word and hatching besides its colour."""
    page = lay_out(drawing, *PAGE)
    key = f"hearth{crc32(drawing.title.encode()):08x}"
    told = [mark.line for mark in dict.fromkeys(page.unsaid)] + list(drawing.notes)
    notes = [line for note in told for line in wrap(note, PAGE[0])]
    low = [text.row for text in page.texts] + [rule.at for rule in page.rules if not rule.item.upright]
    rows = max(*low, page.cell(page.bounds[:2])[1], 0) + 1
    width = PAGE[0] * ACROSS + 2 * MARGIN
    height = (rows + 2) * DOWN + len(notes) * NOTE + 2 * MARGIN
    first_note = height - MARGIN - NOTE * (len(notes) - 1)
    body = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="hearth-drawing" role="img" aria-labelledby="{key}t {key}d" '
        f'viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" height="{height:.0f}">',
        f'<title id="{key}t">{escape(drawing.title)}</title>',
        f'<desc id="{key}d">{escape(describe(drawing))}</desc>',
        f"<style>{STYLE}</style>",
        "<defs>",
        *(
            f'<pattern id="{key}{name}" width="8" height="8" patternUnits="userSpaceOnUse">{tile}</pattern>'
            for name, tile in HATCHES.items()
        ),
        "</defs>",
        f'<rect class="paper" width="{width:.0f}" height="{height:.0f}"/>',
        f'<text class="title" x="{MARGIN:.0f}" y="{MARGIN + 8:.0f}">{escape(drawing.title)}</text>',
        f'<g transform="translate({MARGIN:.0f} {MARGIN + DOWN:.0f})">',
        *_parts(page, key),
        "</g>",
        *(
            f'<text class="note" x="{MARGIN:.0f}" y="{first_note + NOTE * number:.0f}">{escape(line)}</text>'
            for number, line in enumerate(notes)
        ),
        "</svg>",
    ]
    return "\n".join(body) + "\n"


def _parts(page: Page, key: str) -> Iterator[str]:
    for area in page.drawing.areas:
        outline = _outline(page, area.points)
        for fill in (area.fill, area.verdict):
            if fill and fill != "plain":
                yield f'<polygon points="{outline}" fill="url(#{key}{fill})"/>'
    for line in page.drawing.lines:
        yield f'<polyline class="{line.stroke}" points="{_outline(page, line.points)}"/>'
    for rule in page.rules:
        yield from _rule(page, rule)
    for text in page.texts:
        if isinstance(text.item, Dimension) and text.item.place == "inside":
            yield from _bar(_at(page, text.item.start), _at(page, text.item.end))
    for text in page.texts:
        yield from _text(text, key)


def _at(page: Page, point: Point) -> Point:
    """A point of the drawing in px."""
    return (page.column(point[0]) + 0.5) * ACROSS, (page.row(point[1]) + 0.5) * DOWN


def _outline(page: Page, points: tuple[Point, ...]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in (_at(page, point) for point in points))


def _rule(page: Page, rule: Rule) -> Iterator[str]:
    """A dimension beside the drawing, with thin lines to what it measures."""
    ends = []
    for x, y in (_at(page, rule.item.start), _at(page, rule.item.end)):
        end = ((rule.at + 0.5) * ACROSS, y) if rule.item.upright else (x, (rule.at + 0.5) * DOWN)
        ends.append(end)
        yield f'<line class="reach" {_from_to((x, y), end)}/>'
    yield from _bar(*ends)


def _bar(start: Point, end: Point) -> Iterator[str]:
    """The line of a dimension with a stroke across either end."""
    yield f'<line class="measure" {_from_to(start, end)}/>'
    for x, y in (start, end):
        yield f"<line {_from_to((x - 3, y + 3), (x + 3, y - 3))}/>"


def _from_to(start: Point, end: Point) -> str:
    return f'x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}"'


def _text(text: Text, key: str) -> Iterator[str]:
    """A text on a ground of its own; a marked one in a frame, with a hatched end."""
    x, y, wide = (text.column + cells(text.lead)) * ACROSS, text.row * DOWN, cells(text.text) * ACROSS
    verdict = text.item.verdict
    if verdict:
        yield f'<rect class="tag {verdict}" x="{x - 7:.1f}" y="{y:.1f}" width="{wide + 10:.1f}" height="{DOWN:.0f}"/>'
        yield f'<rect x="{x - 7:.1f}" y="{y:.1f}" width="6" height="{DOWN:.0f}" fill="url(#{key}{verdict})"/>'
    else:
        yield f'<rect class="paper" x="{x:.1f}" y="{y + 1:.1f}" width="{wide:.1f}" height="{DOWN - 2:.0f}"/>'
    style = f' class="marked {verdict}"' if verdict else ""
    yield f'<text{style} x="{x + wide / 2:.1f}" y="{y + 12:.1f}" text-anchor="middle">{escape(text.text.strip())}</text>'
