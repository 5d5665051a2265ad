"""The doors: closing a face is the cure for a lot, so may it be closed, does it stay closed, and what is behind it."""

from __future__ import annotations

from typing import Any

from hearthcalc.findings import Finding, Verdict
from hearthcalc.rules.case import Case, Subject, basis, rule

PANEL = "panel"
DOORS = ("glass doors", "steel doors", PANEL)
NONE = "none"
FIXED = "fixed glass"


def _doors(closure: str, face: Subject) -> str:
    verb = "are" if closure in ("glass doors", "steel doors") else "is"
    return f"The {closure} of the {face.name} face {verb}"


@rule("doors.burning_closed", "Doors rated for closing over a fire", each="face")
def burning_closed(case: Case, face: Subject) -> Finding | None:
    """What closes a face while a fire burns has to be made for that; many glass doors are not."""
    closure = case.word(face, "closure")
    if closure.known == NONE:
        return None
    value = case.edition["doors.burning_closed"]
    may = case.word(face, "burning_closed", needed=closure.known is not None)
    common: dict[str, Any] = {"face": face.name, "basis": basis(value)}
    case.all_known()
    if may.value == "yes":
        text = f"{_doors(closure.value, face)} entered as rated for closing over a fire."
        return case.finding(Verdict.MEETS, text, **common)
    fixed, others = closure.value == FIXED, len(case.faces) > 1
    if fixed:
        use = "a pane that never opens is closed over every fire, so count this side as open"
    elif others:
        use = "leave this side open while the fire burns for another"
    else:
        use = "close it only when the fire is out"
    glass = closure.value in ("glass doors", FIXED)
    return case.finding(
        Verdict.SHORT if fixed or others else Verdict.REFER,
        f"{_doors(closure.value, face)} entered as not rated for closing over a fire: {use}.",
        remedy=(f"Fit {'glass' if fixed else 'doors'} listed for closing over a fire.",),
        caution="Glass not made for it shatters in the heat." if glass else None,
        **common,
    )


@rule("doors.seal", "Gaps around the closed doors", each="face")
def seal(case: Case, face: Subject) -> Finding | None:
    """Closed doors leak at their gaps, and how much is for the draft to show; a bedroom or a garage is no place for that leak."""
    closure = case.word(face, "closure")
    if closure.known == NONE:
        return None
    value = case.edition["doors.seal"]
    gaps = case.number(face, "gap_area", needed=closure.known is not None)
    opens_to = case.word(face, "opens_to", needed=False).known
    case.all_known()
    common: dict[str, Any] = {"face": face.name, "basis": basis(value)}
    if gaps.value.value == 0:
        text = f"{_doors(closure.value, face)} entered as without gaps."
        return case.finding(Verdict.MEETS, text, **common)
    where = {"bedroom": " People sleep behind it.", "garage": " Fuel vapor can collect behind it."}
    return case.finding(
        Verdict.REFER,
        f"Around the {closure.value} of the {face.name} face {case.area(gaps.value)} stays open. Smoke and gas can get out "
        f"there while the fire burns down.{where.get(opens_to or '', '')}",
        caution="Embers burning down behind leaky doors give off carbon monoxide for hours: put alarms on both sides.",
        **common,
    )


@rule("doors.garage", "Opening to a garage", each="face", masonry=False)
def garage(case: Case, face: Subject) -> Finding | None:
    """A fire open to a garage is a hole in its separation, and a flame where fuel vapor collects (IRC R302.5, M1307.3)."""
    opens_to = case.word(face, "opens_to")
    if opens_to.value != "garage":
        return None
    value = case.edition["doors.garage"]
    rooms = {other.name: case.word(other, "opens_to").known for other in case.faces}
    bedrooms = [name for name, room in rooms.items() if room == "bedroom"]
    common: dict[str, Any] = {
        "face": face.name,
        "basis": basis(value),
        "remedy": ("Leave the wall to the garage closed, or put the fire where the garage is not.",),
        "caution": "Gasoline vapor lies on a garage floor and catches fire from a flame across the room.",
    }
    if bedrooms:
        return case.finding(
            Verdict.SHORT,
            f"The {face.name} face opens to a garage and the {' and '.join(bedrooms)} face to a bedroom: no opening may lead "
            "straight from a garage into a bedroom.",
            **common,
        )
    return case.finding(
        Verdict.REFER,
        f"The {face.name} face opens to a garage. The code keeps a garage separated from the house, and flames and sparks "
        "18 in above its floor; it does not speak of a fireplace there. The building official decides.",
        **common,
    )
