"""The models held against what was published: each figure beside the model's, within or not, and why not."""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content

from hearthcalc import validation
from hearthcalc.validation import Held
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe

STYLES = {"within": "$verdict-meets", "known miss": "$verdict-close", "miss": "$verdict-short"}


def text(held: Iterable[Held]) -> Content:
    """Every row, one below the other."""
    rows = list(held)
    lines = [safe(validation.summary(rows), "bold"), safe(validation.LEVEL, "$quiet"), Content("")]
    for one in rows:
        row = one.row
        lines.append(
            Content.assemble(
                (f"{GLYPHS.dot} {one.outcome}", f"bold {STYLES[one.outcome]}"), "  ", safe(row.name, "bold")
            )
        )
        lines.append(safe(f"  published {row.published}; model {one.shown}; {one.off}"))
        if one.outcome != "within":
            lines.append(safe(f"  {row.miss or 'No reason is known.'}"))
        lines.append(safe(f"  {row.source}, {row.clause}; {row.standing}. {row.scatter}.", "$quiet"))
    return Content("\n").join(lines)
