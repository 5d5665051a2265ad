"""A sweep as an SVG picture: a field for each point, its verdict in gray and by its sign, and a line where the verdict turns."""

from __future__ import annotations

from html import escape

from hearthcalc.findings import Verdict
from hearthcalc.whatif.sweep import LETTERS, NOT_A_JOB, Sweep

WIDE, HIGH = 600, 400  # of the map at the most, in the picture's own units
LEAST, MOST = 2, 40  # side of a field
KEY = 110  # from one verdict of the legend to the next
ROOM = 14  # side of a field from which its sign is written in it
LEFT, TOP, FOOT = 110, 50, 60
GRAYS = {
    "MEETS": "#ffffff", "CLOSE": "#e4e4e4", "REFER": "#c8c8c8", "MEASURE": "#acacac", "SHORT": "#808080",
    NOT_A_JOB: "#404040",
}  # fmt: skip


def svg(swept: Sweep) -> str:
    """The first axis runs down and the second to the right; of one axis alone, to the right."""
    down, right = (swept.axes[0] if len(swept.axes) == 2 else None), swept.axes[-1]
    across = len(right.values)
    rows = [swept.points[n : n + across] for n in range(0, len(swept.points), across)]
    side = max(LEAST, min(MOST, WIDE // across, HIGH // len(rows)))
    wide, high = side * across, side * len(rows)
    fields, turns = [], []
    for y, row in enumerate(rows):
        for x, point in enumerate(row):
            at, over = LEFT + x * side, TOP + y * side
            gray = GRAYS.get(point.verdict, "#ffffff")
            fields.append(f'<rect x="{at}" y="{over}" width="{side}" height="{side}" fill="{gray}"/>')
            if side >= ROOM:
                fields.append(_text(LETTERS[point.verdict], at + side / 2, over + side / 2 + 4, "middle"))
            if x + 1 < across and row[x + 1].verdict != point.verdict:
                turns.append(f"M{at + side} {over}v{side}")
            if y + 1 < len(rows) and rows[y + 1][x].verdict != point.verdict:
                turns.append(f"M{at} {over + side}h{side}")
    seen = [word for word in (*map(str, Verdict), NOT_A_JOB) if any(p.verdict == word for p in swept.points)]
    for number, word in enumerate(seen):
        at = LEFT + KEY * number
        fields.append(f'<rect x="{at}" y="29" width="12" height="12" fill="{GRAYS[word]}" stroke="#000000"/>')
        fields.append(_text(f"{LETTERS[word]} {word}", at + 17, 40, "start"))
    words = [
        _text(swept.title, LEFT, 20, "start"),
        _text(right.values[0], LEFT, TOP + high + 18, "start"),
        _text(right.values[-1], LEFT + max(wide, KEY), TOP + high + 18, "end"),
        _text(
            f"To the right: {right.spec.label}" + (f"; down: {down.spec.label}" if down else ""),
            LEFT,
            TOP + high + 38,
            "start",
        ),
    ]
    if down is not None:
        words += [
            _text(down.values[0], LEFT - 8, TOP + 12, "end"),
            _text(down.values[-1], LEFT - 8, TOP + high, "end"),
        ]
    size = f"{LEFT + max(wide, WIDE) + 20} {TOP + high + FOOT}"
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {size}" font-family="sans-serif" font-size="12">',
            f"<title>{escape(swept.title)}</title>",
            '<g shape-rendering="crispEdges">',
            *fields,
            f'<path class="turns" d="{"".join(turns)}" fill="none" stroke="#000000" stroke-width="2"/>',
            f'<rect x="{LEFT}" y="{TOP}" width="{wide}" height="{high}" fill="none" stroke="#000000"/>',
            "</g>",
            *words,
            "</svg>\n",
        ]
    )


def _text(words: str, x: float, y: float, anchor: str) -> str:
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}">{escape(words)}</text>'
