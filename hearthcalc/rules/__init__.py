"""What the clauses ask: one module per subject, one function per clause.

They enter themselves in `case.RULES` as they are imported: here, so that their order is always the same.
"""

from hearthcalc.rules import (
    agreement,
    air,
    built,
    change,
    chimney_top,
    clearances,
    doors,
    firebox,
    flue,
    hearth,
    heat,
    lintel,
    looked,
)

__all__ = [
    "agreement", "air", "built", "change", "chimney_top", "clearances", "doors", "firebox", "flue", "hearth", "heat", "lintel", "looked",
]  # fmt: skip
