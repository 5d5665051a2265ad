"""What a person has to do when a fireplace is changed: advice, which never counts in the overall."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from hearthcalc.findings import Finding, Verdict
from hearthcalc.rules.case import Case, Subject, basis, rule
from hearthcalc.rules.firebox import cut_faces, new_faces


@rule("change.inspection", "Inspection of the flue before the change", kind="advice", masonry=False)
def inspection(case: Case) -> Finding | None:
    """A change of the fireplace or its flue calls for an inspection of the flue's inside, by camera (NFPA 211)."""
    value = case.edition.get("change.inspection")
    if not case.planned or not _touches_the_flue(case):
        return None
    return case.finding(
        Verdict.REFER,
        "Before anyone cuts masonry, have the inside of the flue inspected by camera, with its lining, size and "
        "clearances (a level II inspection).",
        basis=basis(value),
        caution="Cracks and gaps in a flue let fire and carbon monoxide into the house, and you cannot see them from below.",
    )


def _touches_the_flue(case: Case) -> bool:
    """Does the plan change an opening, the firebox, the flue or what burns in it, or the roof around it: not a hearth alone."""
    if any(case.planned_of(table) for table in ("fireplace", "firebox", "flue", "fire", "chimney")):
        return True
    before = case.before()
    if "gas_logs" in case.planned_of("air") or {*before.faces, *before.roofs} != {*case.faces, *case.roofs}:
        return True
    return any(
        before.peek(face, name) != case.peek(face, name)
        for face in case.faces
        for name in ("width", "height", "arch", "rise", "side", "closure")
    )


@rule("change.existing", "What stands already", kind="advice", masonry=False, asks="change.permit")
def existing(case: Case) -> Finding | None:
    """What was lawfully built may stay as it is; the rules for new work are for the alteration (IRC R102.7, R102.7.1)."""
    value = case.edition.get("change.existing")
    if value is None or case.planned or not case.measured:
        return None
    return case.finding(
        Verdict.REFER,
        "What was lawfully built to the code of its day may stay, unless it endangers someone. SHORT here tells how it stands by this "
        "edition, not that it breaks the law by standing there. What the work changes has to meet the rules for new work: "
        "that is judged as planned. The building official decides where one ends and the other begins.",
        basis=basis(value),
    )


@rule("change.permit", "Permit", kind="advice", masonry=False)
def permit(case: Case) -> Finding | None:
    """An alteration needs a permit, and may leave the building no worse than it was."""
    if not case.planned:
        return None
    return case.finding(
        Verdict.REFER,
        "Take the drawings and these figures to the building department before work starts."
        + (
            " Where the code says nothing on a fireplace open on two sides, the building official decides."
            if len(case.faces) > 1
            else ""
        ),
        basis=basis(case.edition.get("change.permit")),
    )


@rule("change.hold_points", "Stop and have it looked at", kind="advice", masonry=False)
def hold_points(case: Case) -> Finding | None:
    """The points at which work waits for an inspection, before it is covered."""
    if not case.planned:
        return None
    return case.finding(
        Verdict.REFER,
        f"Agree with the building department where work stops for inspection: {'; '.join(_stops(case))}.",
        basis=basis(case.edition.get("change.permit")),
    )


def _stops(case: Case) -> list[str]:
    """Where the planned work stops to be looked at, in its order."""
    cut, flue, firebox = bool(cut_faces(case)), case.planned_of("flue"), case.planned_of("firebox")
    stops = ["before the cut", "with the lintel in"] if cut else []
    if cut or any(name.startswith(("throat", "smoke_chamber")) for name in firebox):
        stops.append("the smoke chamber before the liner")
    if flue & {"liner", "lining", "diameter", "inside", "area"}:
        stops.append("the liner from both ends")
    if any(_laid(case, face) for face in case.faces):
        stops.append("what carries the hearth before it is covered")
    return [*stops, "the finished work before any fire"]


@rule("change.alarms", "Alarms", kind="advice", masonry=False)
def alarms(case: Case) -> Finding | None:
    """Work inside the house on a fireplace calls for carbon-monoxide and smoke alarms."""
    if not case.planned:
        return None
    return case.finding(
        Verdict.REFER,
        "Put up carbon-monoxide and smoke alarms before the first fire, in every room a face opens to and where people sleep.",
        basis=basis(case.edition.get("change.alarms")),
        caution="Carbon monoxide kills without a smell or a sound.",
    )


@rule("change.shoring", "Shoring before the cut", kind="advice", masonry=False)
def shoring(case: Case) -> Finding | None:
    """Masonry over a new opening is carried before any of it is cut."""
    cut = cut_faces(case)
    if not cut:
        return None
    return case.finding(
        Verdict.REFER,
        f"Cutting the opening of {_named('the', [face.name for face in cut])} takes away what carries the masonry above "
        "it, maybe the smoke chamber or the chimney. Needle and shore it first, and leave the shoring in until lintel and "
        "mortar have their strength. An engineer decides on anything that carries a chimney.",
        basis=basis(case.edition.get("change.lintel")),
        caution="Masonry over a cut comes down without warning unless it is shored.",
    )


@rule("change.envelope", "What the cut opens and removes", kind="advice", masonry=False)
def envelope(case: Case) -> Finding | None:
    """A hole through the house wall lets in weather, animals and people, and buries or removes what was there."""
    if not cut_faces(case):
        return None
    opens = {face.name: case.word(face, "opens_to").known for face in new_faces(case)}
    outside = [name for name, place in opens.items() if place in ("screened", "glazed", "outdoors")]
    unsaid = [name for name, place in opens.items() if place is None]
    told = [
        "Look for what the cut removes or buries: ash dump, cleanout, air inlet, wall ties, wiring, a second flue."
    ]
    if outside:
        told.append(f"{_named('The', outside)} {'makes' if len(outside) == 1 else 'make'} {HOLE}")
    if unsaid:
        one = len(unsaid) == 1
        told.append(
            f"If {_named('the', unsaid)} {'opens' if one else 'open'} to a porch or outdoors, {'it makes' if one else 'they make'} {HOLE}"
        )
    return case.finding(Verdict.REFER, " ".join(told))


HOLE = (
    "the fireplace a hole in the house wall: plan for rain and snow, frost at the inner hearth, a lock, small animals, and "
    "children who can reach the fire from the other side."
)


def _laid(case: Case, face: Subject) -> bool:
    """Does the plan lay a hearth here, or make the one that is there thicker, larger or of other layers."""
    if not case.stood(face):
        return True
    before = case.before()
    for name in ("front", "left", "right", "thickness"):
        old, new = before.peek(face, f"hearth.{name}"), case.peek(face, f"hearth.{name}")
        if new and new.value != 0 and (old is None or new.value > old.value):
            return True
    layers = _layers(case, face)
    return bool(layers) and layers != _layers(before, face)


def _layers(case: Case, face: Subject) -> list[tuple[str | None, Fraction | None]]:
    """Of what and how thick the layers of a hearth are, however they were typed."""
    layers = case.peek(face, "hearth.layers") or ()
    return [(layer.material, layer.thickness and layer.thickness.value) for layer in layers]


def _named(start: str, names: Sequence[str]) -> str:
    return f"{start} {' and '.join(names)} face{'s' if len(names) > 1 else ''}"


@rule("change.structure", "Weight of the new hearth", kind="advice", masonry=False)
def structure(case: Case) -> Finding | None:
    """A masonry hearth laid on a floor is a load that the floor may not have been built for."""
    if not case.planned:
        return None
    laid = [face for face in case.faces if _laid(case, face)]
    below = {face.name: case.word(face, "hearth.below").known for face in laid}
    heavy = [name for name, lies in below.items() if lies in (None, "wood", "wood, insulated", "air gap")]
    if not heavy:
        return None
    return case.finding(
        Verdict.REFER,
        f"Have someone who can judge structure look at what carries the hearth{'s' if len(heavy) > 1 else ''} at "
        f"{_named('the', heavy)}: joists sized for a room may not carry masonry, and neither may a deck.",
    )
