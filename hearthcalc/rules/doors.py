"""The doors: shutting a face is the cure for much, so may it be shut, and does it stay shut."""

from __future__ import annotations

from typing import Any

from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import Face
from hearthcalc.rules.case import Case, basis, of, rule

DOORS = ("glass doors", "steel doors", "panel")


def _doors(face: Face) -> str:
    verb = "are" if face.closure in ("glass doors", "steel doors") else "is"
    return f"The {face.closure} of the {face.name} face {verb}"


@rule("doors.burning_closed", "May they be shut on a burning fire", each="face")
def burning_closed(case: Case, face: Face) -> Finding | None:
    """Doors that a state relies on must be made to be shut on a burning fire; many glass doors are not."""
    if face.closure not in DOORS:
        return None
    value = case.edition["doors.burning_closed"]
    (may,) = case.need(of(face), "burning_closed")
    context: dict[str, Any] = {"face": face.name, "basis": basis(value)}
    if may == "yes":
        return case.finding(
            Verdict.MEETS,
            f"{_doors(face)} entered as made to be shut on a burning fire.",
            **context,
        )
    relied_on = len(case.job.face) > 1
    use = (
        "this side cannot be shut while the fire burns for another"
        if relied_on
        else "shut this side only when the fire is out"
    )
    return case.finding(
        Verdict.SHORT if relied_on else Verdict.REFER,
        f"{_doors(face)} entered as not to be shut on a burning fire: {use}.",
        remedy=("Fit doors that are listed to be closed on a burning fire.",),
        caution="Glass not made for it bursts in the heat." if face.closure == "glass doors" else None,
        **context,
    )


@rule("doors.seal", "Gaps round the shut doors", each="face")
def seal(case: Case, face: Face) -> Finding | None:
    """Shut doors leak through their gaps, and how much is for the draft to show; a bedroom or a garage may not take that leak."""
    if face.closure not in (*DOORS, "fixed glass"):
        return None
    value = case.edition["doors.seal"]
    (gaps,) = case.need(of(face), "gap_area")
    context: dict[str, Any] = {"face": face.name, "basis": basis(value)}
    if gaps.value == 0:
        return case.finding(
            Verdict.MEETS,
            f"{_doors(face)} entered as without gaps.",
            **context,
        )
    where = (
        " Behind it people sleep."
        if face.opens_to == "bedroom"
        else " Behind it fuel vapour may stand."
        if face.opens_to == "garage"
        else ""
    )
    return case.finding(
        Verdict.REFER,
        f"Round the {face.closure} of the {face.name} face {case.area(gaps)} stay open: smoke and gas can leave "
        f"there while the fire burns down.{where}",
        caution="Embers that burn down behind leaking doors give off carbon monoxide for hours: alarms on both sides.",
        **context,
    )
