"""Over the opening: what carries the brick above it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from hearthcalc import lengths, quantities
from hearthcalc.findings import Band, Finding, Step, Verdict
from hearthcalc.models.lintel import PER_INCH, published_spans
from hearthcalc.models.results import Lacking, Lintel, Strain
from hearthcalc.rules.case import Case, NotKnown, Subject, Unsure, basis, from_to, more, of, rule, tidy
from hearthcalc.rules.firebox import OPPOSITE, new_faces
from hearthcalc.rules.inputs import OTHERS_DECIDE, is_an_arch, known
from hearthcalc.rules.reading import Reading

SHORE = "Shore the masonry before anything is cut, and keep it shored until lintel and mortar have their strength."
FALLS = "Masonry over an opening falls without warning once what carried it is cut."
STEEL = ("steel.span.added", "steel.arching.above", "steel.wall_weight", "steel.angles")
SETTLES = {
    "weight": "what the wall is built of through its whole thickness, or the weight of a piece of it",
    "span": "how far the steel bears at each end, measured",
    "arch": "how much sound wall stands over the opening, and an engineer's word on whether it arches",
}


@rule("lintel.bearing", "Bearing of the lintel", each="face")
def bearing(case: Case, face: Subject) -> Finding | None:
    """A lintel bears far enough on the masonry at each end (IRC R1001.7)."""
    if beside := corner_faces(case, face):
        return case.finding(
            Verdict.REFER,
            f"The lintels of the {face.name} face and the {' and '.join(beside)} face meet at a corner of the firebox. At a free corner "
            "there is nothing to bear on, and nothing takes the thrust of an arch: an engineer says what stands there.",
            face=face.name,
            basis=basis(case.edition["lintel.bearing"]),
            remedy=(SHORE,),
            caution=FALLS,
        )
    if _carries_itself(case, face):
        return None
    value = case.edition["lintel.bearing"]
    rests = case.number(face, "lintel.bearing")
    if len(case.faces) > 1:
        for one in case.faces:
            case.word(one, "side")

    def found() -> Reading:
        case.all_known()
        return rests.value

    return case.judge(
        ">=",
        found,
        value.number,
        what=f"Over the {face.name} face the lintel bears",
        after=" at its shorter end",
        face=face.name,
        basis=basis(value),
        remedy=(f"Put in a lintel that bears {case.least(value.number)} at each end.",),
        caution="A lintel that slips off its bearing drops the brick above it.",
    )


def _carries_itself(case: Case, face: Subject) -> bool:
    """Is it an arch with no bearing of a lintel entered, nor one that the plan only moves."""
    arch = case.peek(face, "arch")
    if arch not in ("segmental", "semicircular") or case.peek(face, "lintel.bearing") is not None:
        return False
    return not case.is_voided(face, "lintel.bearing") or case.before().peek(face, "arch") != arch


def corner_faces(case: Case, face: Subject) -> list[str]:
    """The faces that are open at the sides next to this one, so that both lintels run to one corner."""
    mine = case.word(face, "side", needed=False).known
    if mine is None:
        return []
    sides = {one.name: case.word(one, "side").known for one in case.faces if one != face}
    return [name for name, side in sides.items() if side and side not in (mine, OPPOSITE[mine])]


def behind(case: Case, face: Subject) -> str:
    """Why what stands behind the wall over a face may rest on its lintel, "" where that is said not to.

    The wall over the front is built up with the throat; over any other face, and over one that is newly cut, smoke chamber and flue
    stand behind it, out of sight.
    """
    first = len(case.faces) < 2 or case.word(face, "side").known == "front"
    if first and face not in new_faces(case):
        return ""
    stands = case.word(face, "lintel.behind").known
    if stands == "nothing":
        return ""
    return f"the {stands} stands behind that wall" if stands else "what stands behind that wall is not known"


# What is told of the model's result


def _has_more(case: Case, face: Subject) -> bool:
    """Whether other loads than the wall were entered: they are spread evenly."""
    other = case.peek(face, "lintel.other_load")
    return bool(other and other.value)


def _refer(case: Case, face: Subject) -> str:
    """Why an engineer has to decide, "" where nothing but plain wall stands above."""
    above, clear = (case.peek(face, f"lintel.{name}") for name in ("above", "span"))
    most = case.edition["steel.span.most"]
    if above in ("smoke chamber", "stack"):
        return f"the {above} rests on it"
    if above == "unknown":
        return "what rests on it is not known"
    if len(case.faces) > 1 and any(case.peek(one, "side") is None for one in case.faces):
        return "which sides the faces are on is not known: two that meet at a corner have no bearing there"
    if beside := corner_faces(case, face):
        return f"it meets the lintel of the {' and '.join(beside)} face at a free corner, with no bearing and no abutment there"
    if hidden := behind(case, face):
        return hidden
    if _has_more(case, face):
        return "other loads than the wall come on it"
    if clear and clear.value > most.number:
        return f"it spans more than the {case.length(most.number)} that angles are tabulated for"
    return ""


def _why(case: Case, face: Subject, what: Lintel) -> str:
    """Why the wall arches, or does not."""
    height = case.number(face, "lintel.wall_height").value
    needed = case.least(what.needed)
    if what.arched:
        return (
            f"the wall arches over it: {case.length(height)} of it stand above, {needed} are enough, and "
            "sound masonry beside takes the thrust, as long as no flue, joint or opening lies in that part"
        )
    if not what.high_enough:
        return (
            f"the wall does not arch: {case.length(height)} of it stand above, and {needed} would be needed"
        )
    return "the wall does not arch: the masonry beside does not take the thrust"


def _does(what: Lintel) -> str:
    each = ", one under each wythe" if what.count > 1 else ""
    if not what.lightest:
        return "No angle of the table does: an engineer decides."
    return f"The lightest angles that do, long leg upright{each}: {', '.join(angle.name for angle in what.lightest)}."


def _shared(what: Lintel) -> str:
    if what.count == 1:
        return "The lintel carries"
    return f"Each of {what.count} angles, one under each wythe, carries"


@rule("lintel.load", "Load on the lintel", each="face", kind="model")
def load(case: Case, face: Subject) -> Finding | None:
    """Plain wall stands over the opening and nothing else; what it puts on the lintel, and whether it arches."""
    if is_an_arch(case, face):
        return None
    refer = _refer(case, face)
    if case.peek(face, "lintel.above") in OTHERS_DECIDE:
        text = f"Over the {face.name} face {refer}: what carries it is for an engineer to say."
        return case.finding(
            Verdict.REFER, text, face=face.name, remedy=(SHORE,), caution=FALLS, basis=basis(case.edition["steel.span.most"])
        )  # fmt: skip
    what = known(case, "lintels", face.name, case.models.lintels.get(face.name))
    weights = [one.triangle + one.even * one.span for one in what.loads]
    weight, least, most = weights[0], min(weights), max(weights)
    text = f"Over the {face.name} face {_why(case, face, what)}."
    if refer:
        text += f" But {refer}: an engineer has to say what carries it."
    span = from_to(tidy(least), tidy(most, ">="))
    wall = "wall and other loads" if _has_more(case, face) else "wall"
    text += f" {_shared(what)} {tidy(weight, '>=')} lb of {wall} ({span} lb by what is uncertain)"
    text += f" over a span of {case.length(what.load.span)}, and its own weight."
    if what.flips:
        text += f" It is not sure whether it arches: both loads are looked at. What would settle it: {SETTLES['arch']}."
    if not refer:
        room = lengths.show_limit(what.grows, case.unit, op=">=")
        text += f" {_does(what)} Leave {room} of room at its ends for the steel to grow when hot."
    return case.finding(
        Verdict.REFER if refer else Verdict.MEETS,
        text,
        face=face.name,
        found=case.figure(weight, "load"),
        working=tuple(_load_steps(case, face, what)),
        basis=basis(*(case.edition[key] for key in (*STEEL, "steel.wythe", "steel.warming"))),
        band=Band(least, most, "lb", span),
        remedy=(SHORE,) if refer else (),
        caution=FALLS,
    )


def _load_steps(case: Case, face: Subject, what: Lintel) -> Iterator[Step]:
    span, load = what.load.span, what.load
    weight, clear = (case.number(face, f"lintel.{name}").value for name in ("wall_weight", "span"))
    area_weight = quantities.show(weight.value, "area_load", "lb/ft2")
    share = f"{what.count} angles" if what.count > 1 else ""
    yield Step(
        "L", "clear span + half a bearing at each end",
        f"{case.length(clear)} + {case.length(case.edition['steel.span.added'].number)}",
        span, "in", case.length(span),
    )  # fmt: skip
    if what.arched:
        numbers = f"{area_weight} x ({case.length(span)})2 / 4{f' / {share}' if share else ''}"
        triangle = f"{tidy(load.triangle, '>=')} lb"
        yield Step("W", "triangle of 45 deg: weight x L2 / 4", numbers, load.triangle, "lb", triangle)
    if load.even:
        per_foot = load.even / PER_INCH
        expression = "other loads" if what.arched else "weight x height of the wall + other loads"
        yield Step("w", expression, share, per_foot, "lb/ft", f"{tidy(per_foot, '>=')} lb/ft")


# The angle entered


@rule("lintel.bending", "Bending of the lintel", each="face", kind="model")
def bending(case: Case, face: Subject) -> Finding | None:
    """The angle is not bent beyond what braced steel is allowed (BIA Technical Notes 31B, second-hand)."""
    return _strained(case, face, "bending")


@rule("lintel.deflection", "Deflection of the lintel", each="face", kind="model")
def deflection(case: Case, face: Subject) -> Finding | None:
    """The angle does not sag so far that the brick on it cracks (ACI 530, as UFC 3-310-05A quotes it)."""
    return _strained(case, face, "deflection")


def _strained(case: Case, face: Subject, how: Literal["bending", "deflection"]) -> Finding | None:
    if is_an_arch(case, face):
        return None
    result = case.models.lintels.get(face.name)
    named, angle = case.peek(face, "lintel.angle"), case.address(*of(face), "lintel", "angle")
    if isinstance(result, Lacking):
        if case.peek(face, "lintel.above") in OTHERS_DECIDE:
            return None
        raise NotKnown([*result.missing, *([] if named else [angle])])
    what, refer = known(case, "lintels", face.name, result), _refer(case, face)
    if named is None:
        if refer:
            return None
        raise NotKnown([angle])
    if what.strain is None:
        return case.finding(
            Verdict.REFER,
            f"{named} is in no table of angles here: an engineer decides.",
            basis=basis(case.edition["steel.angles"]),
            remedy=(_does(what), SHORE),
            face=face.name,
        )
    return _judged(case, face, what, what.strain, how)


_KEYS = {
    "bending": ("steel.bending",),
    "deflection": ("steel.deflection.share", "steel.deflection.most", "steel.modulus"),
}
_HOW = {"bending": ("is bent to", "stress"), "deflection": ("sags", "sag")}


def _judged(case: Case, face: Subject, what: Lintel, strain: Strain, how: str) -> Finding:
    """Hold one angle against its limit, with what the tape may be off."""
    values, limit = (strain.stress, what.stress) if how == "bending" else (strain.sag, what.sag)
    found, (words, unit) = Reading(values[0], min(values), max(values)), _HOW[how]
    refer, leg = _refer(case, face), case.edition["steel.leg"].number
    wall = "triangle of brick" if what.arched else "whole wall"
    shown = case.figure(found.value, unit)
    told = case.judge(
        "<=",
        found,
        limit,
        what=f"Under the {wall} and its own weight {strain.angle.name} {words}",
        unit=unit,
        unsure=Unsure(SETTLES[what.settles]),
        working=tuple(
            _strain_steps(case, what, strain, how, Step("", "", "", found.value, shown.unit, shown.text))
        ),
        basis=basis(*(case.edition[key] for key in (*_KEYS[how], *STEEL, "steel.published_spans"))),
        remedy=() if refer else (_does(what), SHORE),
        caution=FALLS,
        face=face.name,
    )
    if strain.angle.short_leg < leg:
        text = f"Its level leg is narrower than the {case.length(leg)} that a wythe of brick wants."
        remedy = (_does(what), SHORE) if told.verdict is Verdict.MEETS and not refer else ()
        told = more(told, Verdict.REFER, text, remedy=remedy, caution=FALLS)
    if refer:
        carried = "the wall and the other loads, spread evenly" if _has_more(case, face) else "the wall alone"
        text = f"But {refer}: an engineer decides, and this figure is of {carried}."
        told = more(told, Verdict.REFER, text, remedy=(SHORE,), caution=FALLS)
    return told


def _strain_steps(case: Case, what: Lintel, strain: Strain, how: str, result: Step) -> Iterator[Step]:
    """The working of a stress or a sag. result: its value, unit and text."""
    angle = strain.angle
    for row in published_spans(case.edition, angle):
        yield Step(
            "published", f"{row['source']}, {row['standing']}", "", None, "",
            f"{row['under_one_storey']} under less than a story, {row['one_storey']} under one, {row['two_storeys']} under two",
        )  # fmt: skip
    yield Step("w_own", f"weight of {angle.name}", "", angle.weight, "lb/ft", f"{tidy(angle.weight)} lb/ft")
    if how == "bending":
        bent = f"{tidy(strain.moment, '>=')} lb.ft"
        yield Step(
            "M", "W L / 6 + w L2 / 8", f"L {case.length(what.load.span)}", strain.moment, "lb.ft", bent
        )
        numbers = f"{bent} / {tidy(angle.modulus)} in3"
        yield Step("f", "M / S", numbers, result.value, result.unit, result.text)
        return
    numbers = f"E {case.edition['steel.modulus'].shown}, I {tidy(angle.inertia)} in4"
    expression = "W L3 / (60 E I) + 5 w L4 / (384 E I)"
    yield Step("d", expression, numbers, result.value, result.unit, result.text)
