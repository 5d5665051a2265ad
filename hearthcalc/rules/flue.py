"""The flue: does it carry the opening, and is it fit to be asked."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Literal

from hearthcalc.findings import Bound, Finding, State, Step, Verdict
from hearthcalc.job import Face
from hearthcalc.reference import Liner, Silent, Table, Value, find_liner, read_table
from hearthcalc.rules.case import Case, LinerElsewhere, NotKnown, basis, in_unit, of, rule, step, tidy
from hearthcalc.rules.openings import area_step, entries, opening_area
from hearthcalc.rules.reading import Reading, at_least, corners

FLUE = ("flue",)


def least_area(opening: Reading, share: Fraction) -> Reading:
    """The least flue area for an opening area, as a share of it (IRC R1003.15.1; USDA Farmers' Bulletin 1889)."""
    return opening * share


def greatest_opening(flue: Fraction, share: Fraction) -> Fraction:
    """The largest opening area that a flue area carries at a share of it."""
    return flue / share


def round_area(diameter: Fraction) -> Fraction:
    """Area of a circle."""
    return diameter * diameter * Fraction(math.pi) / 4


def rectangle_area(a: Fraction, b: Fraction) -> Fraction:
    """Area of a rectangle."""
    return a * b


def oval_area(a: Fraction, b: Fraction) -> Fraction:
    """Area of an ellipse of two diameters."""
    return a * b * Fraction(math.pi) / 4


@dataclass(frozen=True, slots=True)
class Flue:
    """The flue of a job as a rule needs it. area: in2 inside.  aspect: long over short side, None for a round or unknown one.

    aspect_low, aspect_high: what the tolerance makes of it.  others: what other entries of the size say, where they differ.
    """

    area: Reading
    shape: str
    how: str
    step: Step
    aspect: Reading | None = None
    least_side: Reading | None = None
    liner: Liner | None = None
    table: Value | None = None
    others: tuple[str, ...] = ()


def flue_of(case: Case) -> Flue:
    """The flue by the best entry: measured area, then inside size or diameter, then the liner's table. Raises NotKnown."""
    return case.once("flue", _flue_of)


def _flue_of(case: Case) -> Flue:
    across = _by_diameter(case) or _by_inside(case)
    ways = [way for way in (_by_area(case), _by_diameter(case), _by_inside(case)) if way]
    try:
        ways += [way for way in (_by_liner(case),) if way]
    except LinerElsewhere:
        if not ways:
            raise
    if not ways:
        raise NotKnown([case.address("flue", "liner")])
    first, *rest = ways
    differ = tuple(
        f"{case.area(way.area)} by {way.how}" for way in rest if way.area.value != first.area.value
    )
    return Flue(
        area=first.area,
        shape=(across or first).shape or ways[-1].shape,
        how=first.how,
        step=first.step,
        others=differ,
        aspect=next((way.aspect for way in ways if way.aspect), None),
        least_side=next((way.least_side for way in ways if way.least_side), None),
        liner=next((way.liner for way in ways if way.liner), None),
        table=first.table,
    )


def _by_area(case: Case) -> Flue | None:
    area = case.want(FLUE, "area")
    if area is None:
        return None
    return Flue(
        area,
        case.job.flue.shape or "",
        "the measured area",
        _flue_step(case, area.value, "as measured", ""),
    )


def _by_diameter(case: Case) -> Flue | None:
    if case.job.flue.diameter is None:
        return None
    across = case.reading(case.job.flue.diameter)
    area = corners(round_area, across)
    working = _flue_step(case, area.value, "pi d2 / 4", f"pi x ({case.length(across)})2 / 4")
    return Flue(area, "round", "the diameter", working, least_side=across)


def _by_inside(case: Case) -> Flue | None:
    flue = case.job.flue
    if flue.inside is None:
        return None
    a, b = case.reading(flue.inside.a), case.reading(flue.inside.b)
    short, long = sorted((a, b), key=lambda side: side.value)
    curved = flue.shape in ("round", "oval")
    straight, curve = ("square", "round") if a.value == b.value else ("rectangular", "oval")
    shape = curve if curved else straight
    area = corners(oval_area if curved else rectangle_area, a, b)
    expression = "pi a b / 4" if curved else "a x b"
    numbers = f"{case.length(a)} x {case.length(b)}" + (" x pi / 4" if curved else "")
    ratio = Reading(
        long.value / short.value,
        max(Fraction(1), long.low / short.high),
        long.high / (short.low or short.value),
    )
    aspect = ratio if shape == "rectangular" else None
    return Flue(
        area,
        shape,
        "the inside size",
        _flue_step(case, area.value, expression, numbers),
        aspect=aspect,
        least_side=short,
    )


def _by_liner(case: Case) -> Flue | None:
    size = case.job.flue.liner
    if size is None:
        return None
    liner, elsewhere = find_liner(case.edition, size)
    if liner is None:
        raise LinerElsewhere(size, elsewhere)
    table = case.edition["flue.liners.round" if liner.round else "flue.liners.rectangular"]
    aspect = None if liner.round else Reading.exact(liner.sides[1] / liner.sides[0])
    shape = "round" if liner.round else "square" if liner.sides[0] == liner.sides[1] else "rectangular"
    printed = f"{tidy(liner.area)} in2" if case.unit == "mm" else ""
    working = _flue_step(case, liner.area, f"{table.clause}, {liner.name}", printed)
    return Flue(
        Reading.exact(liner.area),
        shape,
        f"liner {liner.name} of the table",
        working,
        aspect=aspect,
        liner=liner,
        table=table,
    )


def by_liner(case: Case) -> Reading | None:
    """The inside area of the liner that is named, in2; None where none is. Raises LinerElsewhere."""
    made = _by_liner(case)
    return made.area if made else None


def measured_flue(case: Case) -> Reading | None:
    """The area as it was measured, in2: entered, by the diameter or by the inside sides; None where it was not."""
    made = _by_area(case) or _by_diameter(case) or _by_inside(case)
    return made.area if made else None


def _flue_step(case: Case, area: Fraction, expression: str, numbers: str) -> Step:
    return step("A_flue", expression, numbers, in_unit(area, case.area_unit), case.area_unit, case.area(area))


@dataclass(frozen=True, slots=True)
class Share:
    """A share of the opening that the flue must have, and the values that say so. reason: why this one applies."""

    share: Fraction
    reason: str
    values: tuple[Value, ...]


@rule("flue.area", "Flue area for the opening", each="state")
def area(case: Case, state: State) -> Finding:
    """The flue is large enough for all that is open at once; data picks the arithmetic."""
    tell = {
        "by_flue_shape": _by_share,
        "by_height": _by_share,
        "by_open_faces": _by_open_faces,
        "by_opening_and_height": _by_opening_and_height,
    }[case.edition["flue.area"].method]
    return tell(case, state)


def shares(case: Case, flue: Flue | None = None) -> list[Share]:
    """The share that applies, first, then those that a measurement off by its tolerance would bring in; of the job's flue unless given."""
    flue = flue or flue_of(case)
    edition = case.edition
    method = edition["flue.area"]
    if method.method == "by_height":
        return _shares_by_height(case, method)
    return _shares_by_shape(case, flue, method)


def _shares_by_shape(case: Case, flue: Flue, method: Value) -> list[Share]:
    """IRC R1003.15.1: by the shape of the flue."""
    edition = case.edition
    if not flue.shape:
        raise NotKnown([case.address("flue", "shape")])
    if flue.shape == "oval":
        raise Silent("flue.area.oval")
    if flue.shape in ("round", "square"):
        value = edition[f"flue.area.{flue.shape}"]
        return [Share(value.number, f"{flue.shape} flue", (method, value))]
    if flue.aspect is None:
        raise NotKnown([case.address("flue", "inside")])
    limit = edition["flue.area.oblong_from"]
    kinds = {end: getattr(flue.aspect, end) >= limit.number for end in ("value", "low", "high")}
    disputed = edition.get("flue.liners.disputed")
    named = bool(disputed and flue.liner and flue.liner.name in disputed.words)

    def share(oblong: bool) -> Share:
        value = edition["flue.area.oblong" if oblong else "flue.area.rectangular"]
        reason = f"sides {tidy(flue.aspect.value)} to 1" if flue.aspect else ""
        return Share(
            value.number, reason, (method, value, limit, *((disputed,) if named and disputed else ()))
        )

    order = [kinds["value"], *({*kinds.values(), *((True, False) if named else ())} - {kinds["value"]})]
    return [share(oblong) for oblong in order]


def _shares_by_height(case: Case, method: Value) -> list[Share]:
    """USDA Farmers' Bulletin 1889: a lined chimney of 22 ft takes the smaller share, a shorter or unlined one the larger."""
    edition = case.edition
    tall, short, limit = edition["flue.area.tall"], edition["flue.area.short"], edition["flue.area.tall_from"]
    lining = case.want(FLUE, "lining")
    if lining == "unlined":
        return [Share(short.number, "unlined chimney", (method, short))]
    (height,) = case.need(FLUE, "height")
    if lining is None and height.high >= limit.number:
        raise NotKnown([case.address("flue", "lining")])
    kinds = [height.value >= limit.number]
    kinds += [k for k in (height.low >= limit.number, height.high >= limit.number) if k not in kinds]
    return [
        Share(
            (tall if is_tall else short).number,
            f"{limit.shown} high or more, and lined" if is_tall else f"below {limit.shown} high",
            (method, tall if is_tall else short, limit),
        )
        for is_tall in kinds
    ]


def faces_open(case: Case, state: State) -> list[Face]:
    """The faces that are open in a state."""
    return [case.face(name) for name in state.open]


def _by_share(case: Case, state: State) -> Finding:
    faces = faces_open(case, state)
    opened = [path for face in faces for path in entries(face)]
    try:
        flue = flue_of(case)
        options = shares(case, flue)
    except NotKnown as lacking:
        missing = [*(case.address(*p) for p in opened if case.raw(p) is None), *lacking.missing]
        raise NotKnown(list(dict.fromkeys(missing))) from None
    case.require(*opened)
    openings = [opening_area(case, face) for face in faces]
    total = sum(openings, start=Reading.exact(0))
    limits = [least_area(total, option.share) for option in options]
    chosen = options[0]
    steps = [area_step(case, face, one, f"A_{face.name}") for face, one in zip(faces, openings, strict=True)]
    if len(faces) > 1:
        numbers = " + ".join(case.area(one) for one in openings)
        steps.append(
            step(
                "A_open",
                "sum of the open faces",
                numbers,
                in_unit(total.value, case.area_unit),
                case.area_unit,
                case.area(total),
            )
        )
    steps.append(flue.step)
    for option, limit in zip(options, limits, strict=True):
        steps.append(
            step(
                "A_needed",
                f"A_open x {tidy_share(option.share)} ({option.reason})",
                f"{case.area(total)} x {tidy_share(option.share)}",
                in_unit(limit.value, case.area_unit),
                case.area_unit,
                case.area(limit, ">="),
            )
        )
    rests = [value for option in options for value in option.values]
    if len(faces) > 1:
        rests.append(case.edition["policy.open_faces"])
    common: dict[str, Any] = {
        "state": state.name,
        "counts": state.counts,
        "working": tuple(steps),
        "basis": basis(*rests, flue.table),
    }
    what = _what(case, state, flue, total)
    finding = _with_others(
        case.judge(">=", flue.area, limits[0], what=what, others=limits[1:], unit="area", **common), flue
    )
    if finding.verdict is Verdict.MEETS:
        return finding
    by_figure = _by_figure(case, state, flue, common)
    if by_figure:
        return _with_others(by_figure, flue)
    disputed = any(value.key == "flue.liners.disputed" for value in chosen.values)
    if disputed and finding.verdict is Verdict.CLOSE:
        return case.finding(
            Verdict.REFER,
            f"{what} {case.area(flue.area)}; the code does not say whether {flue.liner.name if flue.liner else flue.how} counts "
            f"as oblong, so {' or '.join(case.area(limit, '>=') for limit in limits)} is asked for: ask the building official.",
            required=finding.required,
            found=finding.found,
            tolerance=finding.tolerance,
            **common,
        )
    remedy = tuple(_remedies(case, state, flue, chosen.share, total, faces))
    caution = "A flue too small for what is open sends smoke and carbon monoxide into the room."
    return replace(finding, remedy=remedy, caution=caution)


def _with_others(finding: Finding, flue: Flue) -> Finding:
    """The finding, and what the other entries of the flue's size say where they differ."""
    if not flue.others:
        return finding
    return replace(
        finding, text=f"{finding.text} Judged by {flue.how}; also entered: {', '.join(flue.others)}."
    )


def _what(case: Case, state: State, flue: Flue, total: Reading) -> str:
    opened = f"{case.area(total)} open" + (f" ({' and '.join(state.open)})" if len(state.open) > 1 else "")
    return f"{opened} against a flue of"


def _by_figure(case: Case, state: State, flue: Flue, common: dict[str, Any]) -> Finding | None:
    """IRC R1003.15.2: the code also takes what a person reads off its figure for the opening and the height."""
    figure = case.edition.get("flue.area.figure")
    read = case.want(FLUE, "figure_area")
    if figure is None or read is None:
        return None
    if at_least(flue.area, read).verdict is not Verdict.MEETS:
        return None
    more = dict(common)
    more["basis"] = (*common["basis"], figure.basis())
    finding = case.judge(
        ">=",
        flue.area,
        read,
        unit="area",
        what="Not by the shape of the flue, but by the code's figure as a person read it, a flue of",
        **more,
    )
    return replace(
        finding,
        text=f"{finding.text} The reading was taken as it was entered: have the building official read the figure too.",
    )


def _remedies(
    case: Case, state: State, flue: Flue, share: Fraction, total: Reading, faces: list[Face]
) -> Iterator[str]:
    """What would make the flue suffice, in numbers and sizes that can be built."""
    largest = greatest_opening(flue.area.value, share)
    yield f"The largest opening this flue carries is {case.area(largest, '<=')}."
    yield from _lower(case, faces, total, largest)
    yield from _larger_liners(case, total)
    if len(faces) > 1:
        for other in case.states:
            alone = [opening_area(case, case.face(name)) for name in other.open]
            shut_names = [name for name in state.open if name not in other.open]
            barred = any(case.face(name).burning_closed == "no" for name in shut_names)
            if len(other.open) == 1 and not barred and flue.area.value >= least_area(alone[0], share).value:
                shut = " and ".join(shut_names)
                yield f"With {shut} kept shut whenever there is fire, this flue carries {other.open[0]} alone."
    if case.edition.get("flue.area.figure") and case.job.flue.figure_area is None:
        clause = case.edition["flue.area.figure"].clause
        yield f"The code also takes its figure ({clause}): have it read for this opening and height and enter it as flue.figure_area."


def _lower(case: Case, faces: list[Face], total: Reading, largest: Fraction) -> Iterator[str]:
    """By how much the lintels come down, or the hearths come up, in courses and in small steps."""
    if any(face.arch not in (None, "flat") for face in faces):
        return
    widths = sum(case.need(of(face), "width")[0].value for face in faces)
    lowest = min(case.need(of(face), "height")[0].value for face in faces)
    drop = (total.value - largest) / widths
    course, small = case.edition["remedy.course"].number, case.edition["remedy.step"].number
    if drop >= lowest / 2:
        yield "Lowering the lintel alone would take half the opening or more: it is not a cure here."
        return
    exact, courses = -(-drop // small) * small, -(-drop // course)
    each = "each lintel" if len(faces) > 1 else "the lintel"
    yield (
        f"Lower {each}, or raise the firebox floor, by {case.length(exact)}; in brickwork by {courses} "
        f"course{'s' if courses > 1 else ''} ({case.least(courses * course)})."
    )


def _larger_liners(case: Case, total: Reading) -> Iterator[str]:
    names = []
    for shape in ("round", "rectangular"):
        for liner in case.edition.liners(shape):
            try:
                share = max(option.share for option in shares(case, _as_flue(case, liner)))
            except NotKnown:
                return
            if liner.area >= total.value * share:
                names.append(f"{liner.name} {'in round' if liner.round else 'in'} ({tidy(liner.area)} in2)")
                break
    if names:
        yield (
            f"The smallest flue of the tables that carries it: {' or '.join(names)}. "
            "A flue larger than the one that stands is a rebuild of the chimney, not a reline."
        )
    else:
        yield "No flue of this edition's tables carries it."


def _as_flue(case: Case, liner: Liner) -> Flue:
    aspect = None if liner.round else Reading.exact(liner.sides[1] / liner.sides[0])
    shape = "round" if liner.round else "square" if liner.sides[0] == liner.sides[1] else "rectangular"
    return Flue(
        Reading.exact(liner.area), shape, "", _flue_step(case, liner.area, "", ""), aspect=aspect, liner=liner
    )


def tidy_share(share: Fraction) -> str:
    """A share as the codes print it: 1/12, or 0.15."""
    return f"{share.numerator}/{share.denominator}" if share.numerator == 1 else tidy(share)


CONDITIONS = {"cracked": "cracked", "gaps": "open at its joints", "glazed": "glazed with creosote"}
KINDS = {"listed liner": "a listed liner", "poured": "poured in place"}


@rule("flue.lining", "Lining of the flue", masonry=True)
def lining(case: Case) -> Finding:
    """The flue is lined with a material that the code names (IRC R1003.11), and is sound."""
    named = case.edition["flue.lining"]
    (kind,) = case.need(FLUE, "lining")
    rests = basis(named)
    if kind == "unlined":
        return case.finding(
            Verdict.SHORT,
            "The flue is unlined; a lining is asked for.",
            basis=rests,
            remedy=(
                "Reline it: a listed liner, or clay liners in a chimney built to take them. Either makes the flue smaller: check it again.",
            ),
            caution="An unlined flue can leak fire and gas into the house.",
        )
    if kind not in named.words:
        return case.finding(
            Verdict.REFER,
            f"The lining is {KINDS.get(kind, kind)}, which the code does not name: the building official decides.",
            basis=rests,
        )
    condition = case.want(FLUE, "condition")
    if condition is None:
        raise NotKnown([case.address("flue", "condition")])
    if condition != "sound":
        return case.finding(
            Verdict.REFER,
            f"The lining is {KINDS.get(kind, kind)}, but {CONDITIONS[condition]}: a licensed mason or chimney inspector decides "
            "before any fire.",
            basis=rests,
            caution="A lining that is not sound can leak fire and gas into the house.",
        )
    return case.finding(
        Verdict.MEETS, f"The lining is {KINDS.get(kind, kind)}, entered as sound.", basis=rests
    )


@rule("flue.condition", "Condition of the flue", masonry=False)
def condition(case: Case) -> Finding:
    """A flue is asked to carry a fire only when its inside is known to be sound."""
    state = case.raw((*FLUE, "condition"))
    if state is None:
        raise NotKnown([case.address("flue", "condition")])
    value = case.edition["flue.condition"]
    if state == "sound":
        return case.finding(
            Verdict.MEETS,
            "Entered as sound; who looked inside, and when, is for the inspection to say.",
            basis=basis(value),
        )
    return case.finding(
        Verdict.SHORT,
        f"The flue is {CONDITIONS[state]}: no fire until that is put right.",
        basis=basis(value),
        remedy=(
            "Have it inspected inside by camera, then cleaned, repaired or relined by someone licensed for it.",
        ),
        caution="Glaze burns as a chimney fire; cracks and gaps let fire and carbon monoxide into the house.",
    )


@rule("flue.offsets", "Lean of the flue")
def offsets(case: Case) -> Finding | None:
    """The flue leans from the vertical no more than the code allows (IRC R1003.12)."""
    value = case.edition["flue.offsets"]
    leans = case.job.flue.offsets
    if leans is None:
        raise NotKnown([case.address("flue", "offsets")])
    if not leans:
        return case.finding(Verdict.MEETS, "The flue is entered as straight.", basis=basis(value))
    steepest = max(lean.value for lean in leans)
    finding = case.judge(
        "<=",
        Reading.exact(steepest),
        Reading.exact(value.number),
        what="The flue leans",
        unit="angle",
        basis=basis(value),
    )
    if len(leans) == 1 or finding.verdict is not Verdict.MEETS:
        return finding
    return replace(
        finding,
        text=f"{finding.text} Its bends are taken as an offset and its return; two that turn the same way add up.",
    )


@rule("flue.shared", "Anything else on the flue")
def shared(case: Case) -> Finding:
    """A fireplace has its flue to itself (IRC M1801.12)."""
    value = case.edition["flue.shared"]
    other = case.job.flue.shared_with
    if other is None:
        raise NotKnown([case.address("flue", "shared_with")])
    if not other.strip():
        return case.finding(
            Verdict.MEETS, "Nothing else is entered as vented into this flue.", basis=basis(value)
        )
    if value.method == "by_calculation":
        return case.finding(
            Verdict.REFER,
            f"The flue is shared with: {other}. That is allowed only where a calculation shows that both draw.",
            basis=basis(value),
            caution="One fire's fumes can come out at the other opening.",
        )
    return case.finding(
        Verdict.SHORT,
        f"The flue is shared with: {other}. A fireplace has its flue to itself.",
        basis=basis(value),
        remedy=("Give the other appliance a flue of its own.",),
        caution="One fire's fumes come out at the other opening.",
    )


@rule("flue.least_side", "Least side of the flue", each="state")
def least_side(case: Case, state: State) -> Finding | None:
    """A square or rectangular flue has a least side, by the size of the opening (ADJ Table 2.2)."""
    value = case.edition.get("flue.least_side")
    if value is None:
        return None
    small = case.edition["flue.least_side.small"]
    case.require(*(path for face in faces_open(case, state) for path in entries(face)))
    flue = _measured_flue(case)
    if flue.shape == "round":
        return None
    if flue.least_side is None:
        raise NotKnown([case.address("flue", "inside")])
    limit = small if is_small(case, state) else value
    return case.judge(
        ">=",
        flue.least_side,
        Reading.exact(limit.number),
        what="The shorter side of the flue is",
        basis=basis(value, small),
        state=state.name,
        counts=state.counts,
    )


@rule("flue.least_height", "Least height of the flue", each="state")
def least_height(case: Case, state: State) -> Finding | None:
    """The flue is high enough over the top of the opening (ADJ 2.8), where the edition sets a height."""
    value = case.edition.get("flue.least_height")
    if value is None:
        return None
    faces = faces_open(case, state)
    case.require((*FLUE, "height"), *((*of(face), "height") for face in faces))
    (high,) = case.need(FLUE, "height")
    top = max((case.need(of(face), "height")[0] for face in faces), key=lambda reading: reading.value)
    over = high - top
    work = step(
        "height",
        "flue height - opening height",
        f"{case.length(high)} - {case.length(top)}",
        in_unit(over.value, case.edition.units),
        case.edition.units,
        case.length(over),
    )
    return case.judge(
        ">=",
        over,
        Reading.exact(value.number),
        what="The flue rises",
        after=" over the opening",
        working=(work,),
        basis=basis(value),
        state=state.name,
        counts=state.counts,
    )


@rule("flue.specialist", "Ask a specialist", each="state", kind="advice", asks="flue.specialist.area")
def specialist(case: Case, state: State) -> Finding | None:
    """From some size of flue, or share of the opening, the edition advises to ask a specialist (ADJ 2.7)."""
    area_from, share_from = (
        case.edition.get("flue.specialist.area"),
        case.edition.get("flue.specialist.share"),
    )
    if area_from is None or share_from is None:
        return None
    case.require(*(path for face in faces_open(case, state) for path in entries(face)))
    opening = sum((opening_area(case, face) for face in faces_open(case, state)), start=Reading.exact(0))
    asked = required_area(case, state, opening)
    flue = flue_of(case)
    largest = max(asked.value, flue.area.value)
    over = [f"a flue of {case.area(largest)}"] if largest > area_from.number else []
    share = flue.area.value / opening.value if opening.value else Fraction(0)
    over += [f"{tidy(share * 100)} % of the opening"] if share > share_from.number else []
    if not over:
        return None
    return case.finding(
        Verdict.REFER,
        f"With {' and '.join(state.open)} open: {' and '.join(over)}; from {area_from.shown} or "
        f"{share_from.shown} of the opening ask a specialist.",
        basis=basis(area_from, share_from),
        state=state.name,
    )


def is_small(case: Case, state: State) -> bool:
    """Is what is open one recess opening within the small size of ADJ Table 2.2?"""
    faces = faces_open(case, state)
    wide, high = case.edition["flue.area.small_width"], case.edition["flue.area.small_height"]
    if len(faces) != 1:
        return False
    width, height = case.need(of(faces[0]), "width", "height")
    return bool(width.value <= wide.number and height.value <= high.number)


def required_area(case: Case, state: State, opening: Reading) -> Reading:
    """The flue area that ADJ Table 2.2 and 2.7 ask for: a fixed one for a small recess, else a share of all faces."""
    if is_small(case, state):
        return Reading.exact(case.edition["flue.area.small"].number)
    return opening * case.edition["flue.area.share"].number


def _by_open_faces(case: Case, state: State) -> Finding:
    """ADJ 2.7: one share of the area of all open faces; Table 2.2: a fixed area for a small recess."""
    faces = faces_open(case, state)
    opened = [path for face in faces for path in entries(face)]
    flue = _measured_flue(case, opened)
    case.require(*opened)
    openings = [opening_area(case, face) for face in faces]
    total = sum(openings, start=Reading.exact(0))
    small, share = case.edition["flue.area.small"], case.edition["flue.area.share"]
    asked = required_area(case, state, total)
    steps = [area_step(case, face, one, f"A_{face.name}") for face, one in zip(faces, openings, strict=True)]
    rule_text = f"{small.clause}, small recess" if is_small(case, state) else f"A_open x {share.shown}"
    numbers = small.shown if is_small(case, state) else f"{case.area(total)} x {share.shown}"
    steps += [
        flue.step,
        step(
            "A_needed",
            rule_text,
            numbers,
            in_unit(asked.value, case.area_unit),
            case.area_unit,
            case.area(asked, ">="),
        ),
    ]
    return case.judge(
        ">=",
        flue.area,
        asked,
        what=_what(case, state, flue, total),
        unit="area",
        working=tuple(steps),
        state=state.name,
        counts=state.counts,
        basis=basis(case.edition["flue.area"], small if is_small(case, state) else share, flue.table),
        caution="A flue too small for what is open sends smoke and carbon monoxide into the room.",
        remedy=(
            f"The largest opening this flue carries is {case.area(greatest_opening(flue.area.value, share.number), '<=')}.",
        ),
    )


def _measured_flue(case: Case, also: list[tuple[str, ...]] | None = None) -> Flue:
    """The flue. Raises NotKnown, which names what else is missing with it."""
    try:
        return flue_of(case)
    except NotKnown as lacking:
        missing = [*(case.address(*p) for p in also or () if case.raw(p) is None), *lacking.missing]
        raise NotKnown(list(dict.fromkeys(missing))) from None


@rule("flue.greatest_size", "Greatest size of the flue", each="state", asks="flue.bands.round")
def greatest_size(case: Case, state: State) -> Finding | None:
    """The flue is no larger than the table allows for the opening and the height (NBC Table 9.21.2.5)."""
    if case.edition["flue.area"].method != "by_opening_and_height":
        return None
    return _by_band(case, state, "most")


def _by_opening_and_height(case: Case, state: State) -> Finding:
    return _by_band(case, state, "least")


def _by_band(case: Case, state: State, end: Literal["least", "most"]) -> Finding:
    """NBC Table 9.21.2.5: least and greatest flue by the area of the opening and the height of the chimney."""
    faces = faces_open(case, state)
    opened = [path for face in faces for path in entries(face)]
    case.require(*opened, (*FLUE, "height"))
    (high,) = case.need(FLUE, "height")
    total = sum((opening_area(case, face) for face in faces), start=Reading.exact(0))
    flue = case.job.flue
    kind = "round" if flue.diameter is not None or flue.shape == "round" else "rectangular"
    table = case.edition[f"flue.bands.{kind}"]
    context: dict[str, Any] = {
        "state": state.name,
        "counts": state.counts,
        "basis": basis(case.edition["flue.area"], table),
    }
    shown = f"{case.area(total)} open and a chimney of {case.length(high)}"
    cells = [band(read_table(case.edition.folder, table.table), a, h) for a, h in _band_corners(total, high)]
    cell = cells[0]
    if cell == "outside":
        return case.finding(Verdict.REFER, f"{shown} are outside the table.", **context)
    if cell == "not permitted":
        return case.finding(
            Verdict.SHORT,
            f"For {shown} the table allows no {kind} flue.",
            remedy=("Make the opening smaller, or the chimney higher.",),
            **context,
        )
    column = 0 if end == "least" else 1
    others = [c[column] for c in cells[1:] if isinstance(c, tuple)]
    if kind == "round":
        if flue.diameter is None:
            raise NotKnown([case.address("flue", "diameter")])
        across = case.reading(flue.diameter)
        limits = [Reading.exact(Fraction(text) * 5 / 127) for text in (cell[column], *others)]
        op: Literal[">=", "<="] = ">=" if end == "least" else "<="
        return case.judge(
            op,
            across,
            limits[0],
            others=[o for o in limits[1:] if o.value != limits[0].value],
            what=f"For {shown} a round flue of",
            **context,
        )
    sizes = [row["size"] for row in read_table(case.edition.folder, case.edition["flue.sizes"].table).rows]
    allowed = f"{cell[0]} to {cell[1]} mm" if cell[0] != cell[1] else f"{cell[0]} mm alone"
    if flue.liner is None:
        if flue.inside is None and flue.area is None:
            raise NotKnown([case.address("flue", "liner")])
        return case.finding(
            Verdict.REFER,
            f"For {shown} the table allows {allowed}: nominal sizes, and only measured ones are entered.",
            **context,
        )
    if flue.liner not in sizes:
        return case.finding(
            Verdict.REFER,
            f"For {shown} the table allows {allowed}; {flue.liner} is not one of its nominal sizes.",
            **context,
        )
    rank, limit = sizes.index(flue.liner), sizes.index(cell[column])
    met = rank >= limit if end == "least" else rank <= limit
    doubt = {(rank >= sizes.index(o)) if end == "least" else (rank <= sizes.index(o)) for o in others} - {met}
    verdict = Verdict.CLOSE if doubt else Verdict.MEETS if met else Verdict.SHORT
    word = "at least" if end == "least" else "at most"
    return case.finding(
        verdict,
        f"For {shown} a flue of {flue.liner} mm; {word} {cell[column]} mm is asked for{': measure again' if doubt else ''}.",
        required=Bound(">=" if end == "least" else "<=", None, "mm", f"{cell[column]} mm nominal"),
        found=Bound("=", None, "mm", f"{flue.liner} mm nominal"),
        **context,
    )


def _band_corners(area: Reading, height: Reading) -> list[tuple[Fraction, Fraction]]:
    corner = [(a, h) for a in (area.low, area.high) for h in (height.low, height.high)]
    return [(area.value, height.value), *corner]


def band(table: Table, area: Fraction, height: Fraction) -> tuple[str, str] | str:
    """The least and the greatest size of a table for an opening, in2, and a chimney, inches.

    "outside" beyond its rows and columns; "not permitted" where it prints no size. An upper bound belongs to its band, and a
    gap between two bands to the upper one.
    """
    square_metres, metres = area * Fraction(254, 10000) ** 2, height * Fraction(254, 10000)
    columns = sorted({Fraction(name.split("_")[1]) for name in table.rows[0] if name.startswith("least_")})
    fits = [top for top in columns if metres <= top]
    rows = [row for row in table.rows if square_metres <= Fraction(row["opening_up_to_m2"])]
    if not fits or not rows or metres < Fraction(table.rows[0]["height_from_m"]):
        return "outside"
    top = f"{float(fits[0]):g}"
    least, most = rows[0][f"least_{top}"], rows[0][f"most_{top}"]
    return "not permitted" if least == "-" else (least, most)
