"""A drawing as SVG."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from textwrap import wrap
from zlib import crc32

from hearthcalc.drawing.page import Page, lay_out
from hearthcalc.drawing.parts import Drawing, Point
from hearthcalc.drawing.shapes import ACROSS, DOWN, Hatch, Stroke, Words, rows, shapes, told_below
from hearthcalc.drawing.text import describe

PAGE = (112, 56)  # cells that a drawing is laid out on
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
    "masonry": '<path class="hatch masonry" d="M0 8 8 0" opacity=".75"/>',
    "hearth": '<circle class="hearth" cx="2" cy="2" r=".7"/><circle class="hearth" cx="6" cy="6" r=".7"/>',
    "wood": '<path class="hatch wood" d="M0 2H8M0 6H8" opacity=".75"/>',
    "SHORT": '<path class="hatch SHORT" d="M0 8 8 0M0 0 8 8"/>',
    "CLOSE": '<path class="hatch CLOSE" d="M2 0V8M6 0V8"/>',
    "MEASURE": '<path class="hatch MEASURE" d="M2 4H6M4 2V6"/>',
}


def as_svg(
    drawing: Drawing, size: tuple[int, int] = PAGE, *, inline: bool = False, key: str = "", whole: bool = True
) -> str:
    """The drawing as an SVG document of its own, without scripts; what is marked has sign, word and hatching besides its colour.

    size: cells that it is laid out on, fewer for a small one.  inline: for a page of HTML, which has the style once and needs no name
    for what SVG is.  key: tells its ids from those of other drawings on the same page.  whole: with title and notes.
    """
    page = lay_out(drawing, *size)
    key = key or f"hearth{crc32(drawing.title.encode()):08x}"
    notes = [line for note in told_below(page) for line in wrap(note, size[0])] if whole else []
    width = size[0] * ACROSS + 2 * MARGIN
    above = MARGIN + DOWN if whole else MARGIN
    height = (rows(page) + whole) * DOWN + len(notes) * NOTE + 2 * MARGIN + (DOWN if whole else 0)
    first_note = height - MARGIN - NOTE * (len(notes) - 1)
    name = "" if inline else 'xmlns="http://www.w3.org/2000/svg" '
    title = f'<text class="title" x="{MARGIN:.0f}" y="{MARGIN + 8:.0f}">{escape(drawing.title)}</text>'
    body = [
        f'<svg {name}class="hearth-drawing" role="img" aria-labelledby="{key}t {key}d" '
        f'viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" height="{height:.0f}">',
        f'<title id="{key}t">{escape(drawing.title)}</title>',
        f'<desc id="{key}d">{escape(describe(drawing))}</desc>',
        *([] if inline else [f"<style>{STYLE}</style>"]),
        "<defs>",
        *(
            f'<pattern id="{key}{name}" width="8" height="8" patternUnits="userSpaceOnUse">{tile}</pattern>'
            for name, tile in HATCHES.items()
        ),
        "</defs>",
        f'<rect class="paper" width="{width:.0f}" height="{height:.0f}"/>',
        *([title] if whole else []),
        f'<g transform="translate({MARGIN:.0f} {above:.0f})">',
        *painted(page, key),
        "</g>",
        *(
            f'<text class="note" x="{MARGIN:.0f}" y="{first_note + NOTE * number:.0f}">{escape(line)}</text>'
            for number, line in enumerate(notes)
        ),
        "</svg>",
    ]
    return "\n".join(body) + "\n"


def painted(page: Page, key: str) -> Iterator[str]:
    """The shapes of a page as elements. key: of its patterns."""
    for shape in shapes(page):
        match shape:
            case Hatch(points, pattern):
                yield f'<polygon points="{_outline(points)}" fill="url(#{key}{pattern})"/>'
            case Stroke(points, "solid" | "dashed" | "steel" | "asked" as pen):
                yield f'<polyline class="{pen}" points="{_outline(points)}"/>'
            case Stroke((start, end), pen):
                style = "" if pen == "tick" else f'class="{pen}" '
                yield f"<line {style}{_from_to(start, end)}/>"
            case Words():
                yield from _text(shape, key)


def _outline(points: tuple[Point, ...]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _from_to(start: Point, end: Point) -> str:
    return f'x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}"'


def _text(words: Words, key: str) -> Iterator[str]:
    """A text on its ground; a marked one in a frame, with a hatched end."""
    left, top, wide, verdict = words.left, words.top, words.wide, words.verdict
    if verdict:
        yield f'<rect class="tag {verdict}" x="{left - 7:.1f}" y="{top:.1f}" width="{wide + 10:.1f}" height="{DOWN:.0f}"/>'
        yield f'<rect x="{left - 7:.1f}" y="{top:.1f}" width="6" height="{DOWN:.0f}" fill="url(#{key}{verdict})"/>'
    else:
        yield f'<rect class="paper" x="{left:.1f}" y="{top + 1:.1f}" width="{wide:.1f}" height="{DOWN - 2:.0f}"/>'
    style = f' class="marked {verdict}"' if verdict else ""
    yield f'<text{style} x="{words.x:.1f}" y="{words.y:.1f}" text-anchor="middle">{escape(words.text)}</text>'
