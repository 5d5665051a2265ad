"""Over the opening: what carries the brick above it."""

from __future__ import annotations

from hearthcalc import lengths
from hearthcalc.findings import Finding
from hearthcalc.job import Face
from hearthcalc.rules.case import Case, basis, of, rule
from hearthcalc.rules.reading import Reading


@rule("lintel.bearing", "Bearing of the lintel", each="face")
def bearing(case: Case, face: Face) -> Finding | None:
    """A lintel bears far enough on the masonry at each end (IRC R1001.7)."""
    if face.arch in ("segmental", "semicircular") and face.lintel is None:
        return None
    value = case.edition["lintel.bearing"]
    (rests,) = case.need(of(face), "lintel.bearing")
    return case.judge(
        ">=",
        rests,
        Reading.exact(value.number),
        what=f"Over the {face.name} face the lintel bears at its shorter end",
        face=face.name,
        basis=basis(value),
        remedy=(f"A lintel that bears {lengths.show_limit(value.number, case.unit, op='>=')} at each end.",),
        caution="A lintel that slips off its bearing drops the brick above it.",
    )
