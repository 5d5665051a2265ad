"""Over the opening: what carries the brick above it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any, Literal

from hearthcalc import lengths, quantities
from hearthcalc.findings import Bound, Finding, Margin, Step, Verdict
from hearthcalc.job import Face
from hearthcalc.physics import beams
from hearthcalc.reference import Edition, read_table
from hearthcalc.rules.case import Case, NotKnown, basis, of, rule, tidy
from hearthcalc.rules.reading import Reading, at_most

PER_INCH = Fraction(1, 12)  # of a load per foot
PER_SQUARE_INCH = Fraction(1, 144)  # of a load per ft2
LIGHTEST = 3  # angles that are named

SHORE = "Shore the masonry before anything is cut, and keep it shored until lintel and mortar have their strength."
FALLS = "Masonry over an opening falls without warning once what carried it is cut."


@rule("lintel.bearing", "Bearing of the lintel", each="face")
def bearing(case: Case, face: Face) -> Finding | None:
    """A lintel bears far enough on the masonry at each end (IRC R1001.7)."""
    if face.arch in ("segmental", "semicircular") and face.lintel.bearing is None:
        return None
    value = case.edition["lintel.bearing"]
    (rests,) = case.need(of(face), "lintel.bearing")
    return case.judge(
        ">=",
        rests,
        Reading.exact(value.number),
        what=f"Over the {face.name} face the lintel bears",
        after=" at its shorter end",
        face=face.name,
        basis=basis(value),
        remedy=(f"Put in a lintel that bears {case.least(value.number)} at each end.",),
        caution="A lintel that slips off its bearing drops the brick above it.",
    )


@dataclass(frozen=True, slots=True)
class Angle:
    """A steel angle, its long leg upright. legs, thickness: in.  weight: lb/ft.  inertia: in4.  modulus: section modulus, in3."""

    name: str
    long_leg: Fraction
    short_leg: Fraction
    thickness: Fraction
    weight: Fraction
    inertia: Fraction
    modulus: Fraction


_NUMBER = lengths.NUMBER
_ANGLE = re.compile(rf"L?\s*({_NUMBER})\s*[x×]\s*({_NUMBER})\s*[x×]\s*({_NUMBER})", re.IGNORECASE)


def size_of(text: str) -> tuple[Fraction, Fraction, Fraction] | None:
    """Long leg, short leg and thickness of an angle as it is named, L3-1/2x3x1/4 or 3 1/2 x 3 x 1/4; None where it is no such name."""
    match = _ANGLE.fullmatch(text.strip())
    if match is None:
        return None
    a, b, thickness = (lengths.parse(part, "in") for part in match.groups())
    return max(a, b), min(a, b), thickness


@cache
def _angles(folder: Any, name: str) -> tuple[Angle, ...]:
    found = []
    for row in read_table(folder, name).rows:
        size = size_of(row["angle"])
        if size is None:
            raise ValueError(f"{name}: {row['angle']} is no size of an angle")
        numbers = (Fraction(row[key]) for key in ("weight", "Ix_long_leg_vertical", "Sx_long_leg_vertical"))
        found.append(Angle(row["angle"], *size, *numbers))
    return tuple(sorted(found, key=lambda angle: (angle.weight, angle.long_leg)))


def angles(edition: Edition) -> tuple[Angle, ...]:
    """The angles of the table, the lightest first."""
    return _angles(edition.folder, edition["steel.angles"].table)


def find_angle(edition: Edition, text: str) -> Angle | None:
    """The angle of the table that is named so, in whatever spelling."""
    size = size_of(text)
    return next((a for a in angles(edition) if size == (a.long_leg, a.short_leg, a.thickness)), None)


@dataclass(frozen=True, slots=True)
class Load:
    """What one angle carries over a span, lb and in. triangle: weight of the triangle under an arch; even: per length, without its own."""

    span: Fraction
    triangle: Fraction
    even: Fraction

    def stress(self, angle: Angle) -> Fraction:
        """Greatest bending stress with the angle's own weight, psi (elementary beam theory)."""
        even = self.even + angle.weight * PER_INCH
        bent: Fraction = beams.moment(span=self.span, triangle=self.triangle, even=even)
        return bent / angle.modulus

    def deflection(self, angle: Angle, modulus: Fraction) -> Fraction:
        """Greatest deflection with the angle's own weight, in. modulus: of elasticity, psi."""
        even = self.even + angle.weight * PER_INCH
        sag: Fraction = beams.deflection(
            span=self.span, triangle=self.triangle, even=even, modulus=modulus, inertia=angle.inertia
        )
        return sag


def arches(span: Fraction, wall_height: Fraction, above: Fraction, *, beside: bool) -> bool:
    """Does the wall carry itself over the opening as an arch, but for a triangle: half the span and more of it, and abutments?"""
    return beside and wall_height >= span / 2 + above


def load_of(
    span: Fraction, wall_height: Fraction, area_weight: Fraction, other: Fraction, *, arched: bool
) -> Load:
    """What comes on a lintel: the triangle under the arch, else the wall over its full height; and other loads evenly.

    span, wall_height: in.  area_weight: lb/in2.  other: lb/in.
    """
    if arched:
        return Load(span, beams.triangle_weight(area_weight, span), other)
    return Load(span, Fraction(0), area_weight * wall_height + other)


@dataclass(frozen=True, slots=True)
class Carried:
    """The load over a face as a lintel of one angle under each wythe shares it.

    load: nominal; loads: at each end of what the tape may be off, the nominal one first.  count: how many angles share it.
    flips: the tolerance decides whether it arches.  refer: why an engineer has to decide, "" where plain wall stands above.
    """

    load: Load
    loads: tuple[Load, ...]
    arched: bool
    why: str
    flips: bool
    count: int
    clear: Reading
    refer: str


def carried(case: Case, face: Face) -> Carried:
    """What bears on the lintel of a face. Raises NotKnown."""
    edition, mine = case.edition, of(face)
    names = ["above", "span", "wall_thickness", "wall_height", "wall_weight", "other_load"]
    if face.lintel.above == "unknown":
        names.remove("above")
    case.require(*((*mine, "lintel", name) for name in names))
    clear, thick, height = case.need(mine, "lintel.span", "lintel.wall_thickness", "lintel.wall_height")
    weight, other = (getattr(face.lintel, name) for name in ("wall_weight", "other_load"))
    assert weight is not None and other is not None
    added, above = edition["steel.span.added"].number, edition["steel.arching.above"].number
    count = max(1, round(thick.value / edition["steel.wythe"].number))
    ends = ("value", "low", "high")
    corners = [(getattr(clear, a) + added, getattr(height, b)) for a in ends for b in ends]
    high_enough = [arches(span, wall, above, beside=True) for span, wall in corners]
    beside = face.lintel.sound_beside
    if beside is None and any(high_enough):
        raise NotKnown([case.address(*mine, "lintel", "sound_beside")])
    arched = [enough and beside is True for enough in high_enough]
    loads = [
        load_of(
            span, wall, weight.value * PER_SQUARE_INCH / count, other.value * PER_INCH / count, arched=arch
        )
        for (span, wall), arch in zip(corners, arched, strict=True)
    ]
    needed = case.least(corners[0][0] / 2 + above)
    if arched[0]:
        why = (
            f"the wall arches over it: {case.length(height)} of it stand above, {needed} are enough, and "
            "sound masonry beside takes the thrust, as long as no flue, joint or opening lies in that part"
        )
    elif not high_enough[0]:
        why = f"the wall does not arch: {case.length(height)} of it stand above, and {needed} would be needed"
    else:
        why = "the wall does not arch: the masonry beside does not take the thrust"
    return Carried(
        load=loads[0],
        loads=tuple(loads),
        arched=arched[0],
        why=why,
        flips=len(set(arched)) > 1,
        count=count,
        clear=clear,
        refer=_refer(case, face, clear, other.value),
    )


def _refer(case: Case, face: Face, clear: Reading, other: Fraction) -> str:
    """Why an engineer has to decide, "" where nothing but plain wall stands above."""
    above, most = face.lintel.above, case.edition["steel.span.most"]
    if above in ("smoke chamber", "stack"):
        return f"the {above} rests on it"
    if above == "unknown":
        return "what rests on it is not known"
    if other:
        return "other loads than the wall come on it"
    if clear.value > most.number:
        return f"it spans more than the {case.length(most.number)} that angles are tabulated for"
    return ""


def lightest(case: Case, what: Carried) -> list[Angle]:
    """The lightest angles that carry it within all limits, at most three of them."""
    limits = _limits(case.edition, what.load.span)
    least = case.edition["steel.leg"].number
    fits = (
        angle
        for angle in angles(case.edition)
        if angle.short_leg >= least
        and all(
            load.stress(angle) <= limits.stress and load.deflection(angle, limits.modulus) <= limits.sag
            for load in what.loads
        )
    )
    return [angle for angle, _ in zip(fits, range(LIGHTEST), strict=False)]


@dataclass(frozen=True, slots=True)
class _Limits:
    """stress, modulus: psi.  sag: in, over the span in hand."""

    stress: Fraction
    modulus: Fraction
    sag: Fraction


def _limits(edition: Edition, span: Fraction) -> _Limits:
    share, most = edition["steel.deflection.share"].number, edition["steel.deflection.most"].number
    stress, modulus = (edition[f"steel.{name}"].number * 1000 for name in ("bending", "modulus"))
    return _Limits(stress, modulus, min(span * share, most))


def expansion(length: Fraction, warming: Fraction, coefficient: Fraction) -> Fraction:
    """How much a steel lintel grows, in the unit of its length. warming: K."""
    return length * warming * coefficient


def end_gap(case: Case, face: Face) -> str:
    """The room a lintel needs to grow, as it is told. Raises NotKnown."""
    (span,), rests = case.need(of(face), "lintel.span"), case.want(of(face), "lintel.bearing")
    whole = span.value + 2 * (rests.value if rests else case.edition["steel.span.added"].number)
    grows = expansion(whole, case.edition["steel.warming"].number, case.edition["steel.expansion"].number)
    return f"Leave {lengths.show_limit(grows, case.unit, op='>=')} of room at its ends for the steel to grow when hot."


def _does(case: Case, what: Carried) -> str:
    found = lightest(case, what)
    each = ", one under each wythe" if what.count > 1 else ""
    if not found:
        return "No angle of the table does: an engineer decides."
    return f"The lightest angles that do, long leg upright{each}: {', '.join(angle.name for angle in found)}."


STEEL = ("steel.span.added", "steel.arching.above", "steel.angles")


@rule("lintel.load", "Load on the lintel", each="face", kind="model")
def load(case: Case, face: Face) -> Finding | None:
    """Plain wall stands over the opening and nothing else; what it puts on the lintel, and whether it arches."""
    if _is_an_arch(face):
        return None
    if face.lintel.above in ("smoke chamber", "stack", "unknown"):
        text = f"Over the {face.name} face {_refer(case, face, Reading.exact(0), Fraction(0))}: what carries it is for an engineer to say."
        return case.finding(
            Verdict.REFER, text, face=face.name, remedy=(SHORE,), caution=FALLS, basis=basis(case.edition["steel.span.most"])
        )  # fmt: skip
    what = carried(case, face)
    weight = what.load.triangle + what.load.even * what.load.span
    text = f"Over the {face.name} face {what.why}."
    if what.refer:
        text += f" But {what.refer}: an engineer has to say what carries it."
    text += f" {_shared(what)} {tidy(weight, '>=')} lb of wall over a span of {case.length(what.load.span)}, and its own weight."
    if what.flips:
        text += " The measuring tolerance decides whether it arches: both loads are looked at."
    if not what.refer:
        text += f" {_does(case, what)} {end_gap(case, face)}"
    return case.finding(
        Verdict.REFER if what.refer else Verdict.MEETS,
        text,
        face=face.name,
        found=Bound("=", weight, "lb", f"{tidy(weight, '>=')} lb"),
        working=tuple(_load_steps(case, face, what)),
        basis=basis(*(case.edition[key] for key in (*STEEL, "steel.wythe", "steel.warming"))),
        remedy=(SHORE,) if what.refer else (),
        caution=FALLS,
    )


def _is_an_arch(face: Face) -> bool:
    """A masonry arch, and no lintel entered with it."""
    return face.arch in ("segmental", "semicircular") and not face.lintel.document()


def _shared(what: Carried) -> str:
    if what.count == 1:
        return "The lintel carries"
    return f"Each of {what.count} angles, one under each wythe, carries"


def _load_steps(case: Case, face: Face, what: Carried) -> list[Step]:
    span = what.load.span
    assert face.lintel.wall_weight is not None
    area_weight = quantities.show(face.lintel.wall_weight.value, "area_load", "lb/ft2")
    share = f" / {what.count} angles" if what.count > 1 else ""
    steps = [
        Step(
            "L", "clear span + half a bearing at each end",
            f"{case.length(what.clear)} + {case.length(case.edition['steel.span.added'].number)}",
            span, "in", case.length(span),
        )
    ]  # fmt: skip
    if what.arched:
        numbers = f"{area_weight} x ({case.length(span)})2 / 4{share}"
        steps.append(
            Step("W", "triangle of 45 deg: weight x L2 / 4", numbers, what.load.triangle, "lb", f"{tidy(what.load.triangle, '>=')} lb")
        )  # fmt: skip
    if what.load.even:
        per_foot = what.load.even / PER_INCH
        expression = "other loads" if what.arched else "weight x height of the wall + other loads"
        steps.append(
            Step(
                "w", expression, share.removeprefix(" / "), per_foot, "lb/ft", f"{tidy(per_foot, '>=')} lb/ft"
            )
        )
    return steps


@rule("lintel.bending", "Bending of the lintel", each="face", kind="model")
def bending(case: Case, face: Face) -> Finding | None:
    """The angle is not bent beyond what braced steel is allowed (BIA Technical Notes 31B, second-hand)."""
    return _strained(case, face, "bending")


@rule("lintel.deflection", "Deflection of the lintel", each="face", kind="model")
def deflection(case: Case, face: Face) -> Finding | None:
    """The angle does not sag so far that the brick on it cracks (ACI 530, as UFC 3-310-05A quotes it)."""
    return _strained(case, face, "deflection")


def _strained(case: Case, face: Face, how: Literal["bending", "deflection"]) -> Finding | None:
    if _is_an_arch(face):
        return None
    mine = of(face)
    try:
        what = carried(case, face)
    except NotKnown as lacking:
        if face.lintel.above in ("smoke chamber", "stack", "unknown"):
            return None
        wanted = [] if face.lintel.angle else [case.address(*mine, "lintel", "angle")]
        raise NotKnown([*lacking.missing, *wanted]) from None
    if face.lintel.angle is None:
        if what.refer:
            return None
        raise NotKnown([case.address(*mine, "lintel", "angle")])
    angle = find_angle(case.edition, face.lintel.angle)
    context: dict[str, Any] = {"face": face.name}
    if angle is None:
        return case.finding(
            Verdict.REFER,
            f"{face.lintel.angle} is in no table of angles here: an engineer decides.",
            basis=basis(case.edition["steel.angles"]),
            remedy=(_does(case, what), SHORE),
            **context,
        )
    return _judged(case, what, angle, how, context)


def _judged(case: Case, what: Carried, angle: Angle, how: str, context: dict[str, Any]) -> Finding:
    """Hold one angle against its limit, with what the tape may be off."""
    limits = _limits(case.edition, what.load.span)
    measure: Callable[[Load], Fraction]
    if how == "bending":
        measure, limit, unit = (lambda one: one.stress(angle) / 1000), limits.stress / 1000, "ksi"
        keys = ["steel.bending"]
    else:
        measure, limit, unit = (lambda one: one.deflection(angle, limits.modulus)), limits.sag, "in"
        keys = ["steel.deflection.share", "steel.deflection.most", "steel.modulus"]
    values = [measure(one) for one in what.loads]
    found = Reading(values[0], min(values), max(values))
    outcome = at_most(found, Reading.exact(limit))
    verdict = outcome.verdict
    if verdict is Verdict.MEETS and what.flips and found.high > limit:
        verdict = Verdict.CLOSE
    shown, most = (_figure(value, unit) for value in (found.value, limit))
    wall = "triangle of brick" if what.arched else "whole wall"
    text = f"Under the {wall} and its own weight {angle.name} {_HOW[how]} {shown}; {most} is the most"
    if verdict is not Verdict.MEETS:
        text += f": too much by {_figure(-outcome.margin, unit)}" if outcome.margin < 0 else ""
        text += ", within the measuring tolerance: measure again" if verdict is Verdict.CLOSE else ""
    elif outcome.margin == 0:
        text += ": exactly at the limit"
    narrow = angle.short_leg < case.edition["steel.leg"].number
    if narrow:
        text += f". Its level leg is narrower than the {case.length(case.edition['steel.leg'].number)} that a wythe of brick wants"
    if what.refer:
        text += f". But {what.refer}: an engineer decides, and this figure is of the wall alone"
    remedies = () if verdict is Verdict.MEETS and not narrow else (_does(case, what), SHORE)
    if (what.refer or narrow) and verdict is not Verdict.SHORT:
        verdict = Verdict.REFER
    return case.finding(
        verdict,
        f"{text}.",
        required=Bound("<=", limit, unit, most),
        found=Bound("=", found.value, unit, shown),
        tolerance=Margin(outcome.slack, unit, None) if outcome.slack else None,
        working=tuple(_strain_steps(case, what, angle, how, found.value, unit, shown)),
        basis=basis(*(case.edition[key] for key in (*keys, *STEEL, "steel.published_spans"))),
        remedy=remedies if not what.refer else (SHORE,),
        caution=None if verdict is Verdict.MEETS else FALLS,
        **context,
    )


_HOW = {"bending": "is bent to", "deflection": "sags"}


def _figure(value: Fraction, unit: str) -> str:
    return f"{float(value):.{1 if unit == 'ksi' else 3}f} {unit}"


def _strain_steps(
    case: Case, what: Carried, angle: Angle, how: str, value: Fraction, unit: str, shown: str
) -> list[Step]:
    own = angle.weight * PER_INCH
    bent: Fraction = beams.moment(span=what.load.span, triangle=what.load.triangle, even=what.load.even + own)
    steps = [Step(
        "published", f"{row['source']}, {row['standing']}", "", None, "",
        f"{row['under_one_storey']} under less than a storey, {row['one_storey']} under one, {row['two_storeys']} under two",
    ) for row in published_spans(case.edition, angle)]  # fmt: skip
    steps.append(
        Step("w_own", f"weight of {angle.name}", "", angle.weight, "lb/ft", f"{tidy(angle.weight)} lb/ft")
    )
    if how == "bending":
        foot_pounds = bent * PER_INCH
        steps += [
            Step("M", "W L / 6 + w L2 / 8", f"L {case.length(what.load.span)}", foot_pounds, "lb.ft", f"{tidy(foot_pounds, '>=')} lb.ft"),
            Step("f", "M / S", f"{tidy(foot_pounds, '>=')} lb.ft / {tidy(angle.modulus)} in3", value, unit, shown),
        ]  # fmt: skip
        return steps
    numbers = f"E {case.edition['steel.modulus'].shown}, I {tidy(angle.inertia)} in4"
    steps.append(Step("d", "W L3 / (60 E I) + 5 w L4 / (384 E I)", numbers, value, unit, shown))
    return steps


def published_spans(edition: Edition, angle: Angle) -> list[Mapping[str, str]]:
    """What published tables let this angle span over veneer."""
    rows = read_table(edition.folder, edition["steel.published_spans"].table).rows
    return [
        row for row in rows if size_of(row["angle"]) == (angle.long_leg, angle.short_leg, angle.thickness)
    ]
