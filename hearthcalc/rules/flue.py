"""The flue: does it carry the opening, does a new liner go in, and is it fit for a fire."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc.entry import Amount
from hearthcalc.findings import Finding, State, Step, Verdict
from hearthcalc.job import SIZES
from hearthcalc.reference import Edition, Liner, Silent, Value, find_liner
from hearthcalc.rules import flue_fit
from hearthcalc.rules.case import (
    Case,
    Entry,
    LinerElsewhere,
    NotKnown,
    Subject,
    basis,
    in_unit,
    rule,
    step,
    tidy,
)
from hearthcalc.rules.flue_bands import End, by_band
from hearthcalc.rules.openings import Opening, opening, openings, total_area
from hearthcalc.rules.reading import Reading, at_least, corners

T = TypeVar("T")
Carried = Sequence[Sequence[tuple[Liner, Fraction]]]
TABLES = ("round", "rectangular")  # of liners
MOST_WAYS = 4096  # for bends to turn, which a flue with a dozen of them has


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


def steepest(turns: Sequence[Fraction]) -> tuple[Fraction, Fraction]:
    """The least and the most that the steepest leg of a flue can lean, by how far each bend turns it; deg.

    The flue starts upright.  A bend with a minus turns the other way from one without, and then both figures are one.  Without
    any, which way each of them turns is not known: at worst all turn the same way, at best each turns back where that helps. Of
    more ways than can be walked, the least is that of the sharpest bend alone, which has half of it on one side at least.
    """
    if any(turn < 0 for turn in turns):
        leans = [abs(sum(turns[: count + 1], start=Fraction(0))) for count in range(len(turns))]
        return max(leans), max(leans)
    ways = {
        Fraction(0): Fraction(0)
    }  # where the flue can lean now: the steepest it has to have leaned on the way
    for turn in turns:
        onward: dict[Fraction, Fraction] = {}
        for lean, so_far in ways.items():
            for now in (lean + turn, abs(lean - turn)):
                steep = max(so_far, now)
                onward[now] = min(onward.get(now, steep), steep)
        ways = onward
        if len(ways) > MOST_WAYS:
            return max(turns) / 2, sum(turns, start=Fraction(0))
    return min(ways.values()), sum(turns, start=Fraction(0))


class Flue(Struct, frozen=True):
    """The flue of a job as a rule needs it. area: in2 inside.  aspect: long over short side, None for a round or unknown one.

    others: what other entries of the size say, where they differ.
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
    """The flue by the best entry: measured area, then inside size or diameter, then the liner's table; worked out once.

    Raises NotKnown, LinerElsewhere.
    """
    return case.once("flue", _flue_of)


def _flue_of(case: Case) -> Flue:
    by_area, by_diameter, by_inside = _by_area(case), _by_diameter(case), _by_inside(case)
    ways = [way for way in (by_area, by_diameter, by_inside) if way]
    try:
        by_liner = _by_liner(case)
    except LinerElsewhere:
        if not ways:
            raise
        by_liner = None
    if by_liner:
        ways.append(by_liner)
    if not ways:
        raise NotKnown((case.address("flue", "liner"),))
    first, *rest = ways
    differ = tuple(
        f"{case.area(way.area)} by {way.how}" for way in rest if way.area.value != first.area.value
    )
    return Flue(
        area=first.area,
        shape=next((way.shape for way in (by_diameter, by_inside, *ways) if way and way.shape), ""),
        how=first.how,
        step=first.step,
        others=differ,
        aspect=next((way.aspect for way in ways if way.aspect), None),
        least_side=next((way.least_side for way in ways if way.least_side), None),
        liner=by_liner.liner if by_liner else None,
        table=first.table,
    )


def _by_area(case: Case) -> Flue | None:
    area = case.number("flue", "area", needed=False).known
    if area is None:
        return None
    shape = case.word("flue", "shape", needed=False).known or ""
    return Flue(area, shape, "the measured area", _flue_step(case, area.value, "as measured", ""))


def _by_diameter(case: Case) -> Flue | None:
    across = case.number("flue", "diameter", needed=False).known
    if across is None:
        return None
    area = corners(round_area, across)
    working = _flue_step(case, area.value, "pi d2 / 4", f"pi x ({case.length(across)})2 / 4")
    return Flue(area, "round", "the diameter", working, least_side=across)


def _by_inside(case: Case) -> Flue | None:
    sides = case.sides("flue", "inside", needed=False).known
    if sides is None:
        return None
    a, b = sides
    short, long = sorted(sides, key=lambda side: side.value)
    curved = case.word("flue", "shape", needed=False).known in ("round", "oval")
    straight, curve = ("square", "round") if a.value == b.value else ("rectangular", "oval")
    shape = curve if curved else straight
    area = corners(oval_area if curved else rectangle_area, a, b)
    expression = "pi a b / 4" if curved else "a x b"
    numbers = f"{case.length(a)} x {case.length(b)}" + (" x pi / 4" if curved else "")
    ratio = long / short
    return Flue(
        area,
        shape,
        "the inside size",
        _flue_step(case, area.value, expression, numbers),
        aspect=replace(ratio, low=max(Fraction(1), ratio.low)) if shape == "rectangular" else None,
        least_side=short,
    )


def _by_liner(case: Case) -> Flue | None:
    size = case.word("flue", "liner", needed=False).known
    if size is None:
        return None
    liner, elsewhere = find_liner(case.edition, size)
    if liner is None:
        raise LinerElsewhere(size, elsewhere)
    return _of_table(case, liner)


def named_area(case: Case) -> Reading | None:
    """The inside area of the liner that is named, in2; None where none is. Raises LinerElsewhere."""
    made = _by_liner(case)
    return made.area if made else None


def measured_area(case: Case) -> Reading | None:
    """The area as it was measured, in2: entered, by the diameter or by the inside sides; None where it was not."""
    made = _by_area(case) or _by_diameter(case) or _by_inside(case)
    return made.area if made else None


def measured_areas(case: Case) -> dict[str, Fraction]:
    """The area by each entry of the flue's size that was measured, in2, by the key of the entry."""
    ways = {"area": _by_area(case), "diameter": _by_diameter(case), "inside": _by_inside(case)}
    return {name: way.area.value for name, way in ways.items() if way}


def _of_table(case: Case, liner: Liner) -> Flue:
    table = case.edition["flue.liners.round" if liner.round else "flue.liners.rectangular"]
    shape, aspect = _shape_of(liner)
    printed = f"{tidy(liner.area)} in2" if case.unit == "mm" else ""
    return Flue(
        Reading.exact(liner.area),
        shape,
        f"liner {liner.name} of the table",
        _flue_step(case, liner.area, f"{table.clause}, {liner.name}", printed),
        aspect=aspect,
        liner=liner,
        table=table,
    )


def _shape_of(liner: Liner) -> tuple[str, Reading | None]:
    """The shape of a liner, and its long side over its short one, None of a round one."""
    if liner.round:
        return "round", None
    short, long = liner.sides
    return "square" if short == long else "rectangular", Reading.exact(long / short)


def _flue_step(case: Case, area: Fraction, expression: str, numbers: str) -> Step:
    return step("A_flue", expression, numbers, in_unit(area, case.area_unit), case.area_unit, case.area(area))


def _known(case: Case, work: Callable[[Case], T]) -> T | None:
    """What a piece of work makes of the entries, None where some are missing; they then count among what the rule lacks."""
    try:
        return work(case)
    except NotKnown:
        return None


def _lacking(case: Case) -> Callable[[], Reading]:
    """A figure that cannot be worked out, for what this run of the rule has asked for and not found."""

    def found() -> Reading:
        raise NotKnown(tuple(case.asked.missing))

    return found


class Share(Struct, frozen=True):
    """A share of the opening that the flue must have, and the values that say so. reason: why this one applies."""

    share: Fraction
    reason: str
    values: tuple[Value, ...]


class Shares(Struct, frozen=True):
    """The share that applies, first, then those that a measurement off by its tolerance would bring in.

    known: False where it is not known which of them applies.
    """

    options: tuple[Share, ...]
    known: bool = True

    @property
    def largest(self) -> Fraction:
        return max(option.share for option in self.options)


@rule("flue.area", "Flue area for the opening", each="state")
def area(case: Case, state: State) -> Finding:
    """The flue is large enough for all that is open at once; data picks the arithmetic."""
    tell = {
        "by_flue_shape": _by_share,
        "by_height": _by_share,
        "by_open_faces": _by_open_faces,
        "by_opening_and_height": _by_opening_and_height,
    }[case.edition["flue.area"].method]
    try:
        finding = tell(case, state)
    except NotKnown as lacking:
        finding = case.missing(lacking.missing, state=state.name, counts=state.counts)
    if finding.verdict is Verdict.MEASURE:
        return _short_already(case, state, tell) or finding
    if finding.verdict is not Verdict.MEETS or tell is not _by_share:
        return finding
    aspect, slot = flue_of(case).aspect, case.edition["flue.slot"]
    if aspect is None or aspect.value <= slot.number:
        return finding
    return case.referred(
        finding,
        f"But its sides are {tidy(aspect.value)} to 1, flatter than any flue of the tables: smoke drags in a slot. Measure both sides "
        "again, or ask the building official.",
        basis=(*finding.basis, slot.basis()),
    )


def _short_already(case: Case, state: State, tell: Callable[[Case, State], Finding]) -> Finding | None:
    """The openings that are measured may be too much for the flue by themselves, whatever comes on top."""
    opened = {name: _known(case, partial(opening, face=case.face(name))) for name in state.open}
    known = [name for name, one in opened.items() if one]
    if len(known) in (0, len(opened)):
        return None
    if tell is _by_open_faces and _small_kinds(case, [one for one in opened.values() if one]) != (False,):
        return None  # the figure of a small recess is for one that is open alone
    mine = case.fresh()
    finding = tell(mine, replace(state, open=tuple(known)))
    if finding.verdict is not Verdict.SHORT:
        return None
    case.asked.read |= mine.asked.read
    rest = " and ".join(name for name in opened if name not in known)
    by_table = tell is _by_opening_and_height  # it tells what to build for this much alone
    return replace(
        finding,
        text=f"{finding.text} That leaves out {rest}, which is open too and not measured yet.",
        remedy=() if by_table else finding.remedy[:1],
    )


def shares(case: Case, flue: Flue | None) -> Shares:
    """The shares of the opening that a flue may have to be; all of the edition's where the flue is not known. Raises Silent."""
    method = case.edition["flue.area"]
    if method.method == "by_height":
        return _shares_by_height(case, method)
    if flue is None:
        return _shares_by_shape(case.edition, "", None, None)
    made = _shares_by_shape(case.edition, flue.shape, flue.aspect, flue.liner)
    if not made.known and flue.shape:
        case.sides("flue", "inside")
    elif not made.known:
        case.word("flue", "shape")
    return made


def _shares_by_shape(edition: Edition, shape: str, aspect: Reading | None, liner: Liner | None) -> Shares:
    """IRC R1003.15.1: by the shape of the flue, "" where it is not known."""
    method = edition["flue.area"]

    def share(kind: str, reason: str, *more: Value) -> Share:
        value = edition[f"flue.area.{kind}"]
        return Share(value.number, reason, (method, value, *more))

    limit = edition["flue.area.oblong_from"]
    straight = (
        share("rectangular", f"sides below {tidy(limit.number)} to 1", limit),
        share("oblong", f"sides {tidy(limit.number)} to 1 or more", limit),
    )
    if shape == "oval":
        raise Silent("flue.area.oval")
    if shape in ("round", "square"):
        return Shares((share(shape, f"{shape} flue"),))
    if not shape:
        return Shares((share("round", "round flue"), share("square", "square flue"), *straight), known=False)
    if aspect is None:
        return Shares(straight, known=False)
    return _shares_by_aspect(edition, aspect, liner, straight, limit)


def _shares_by_aspect(
    edition: Edition, aspect: Reading, liner: Liner | None, straight: tuple[Share, Share], limit: Value
) -> Shares:
    """Below 2 to 1, or from there: by the sides as measured, then what the tape or a disputed size lets in."""
    kinds = [getattr(aspect, end) >= limit.number for end in ("value", "low", "high")]
    disputed = edition.get("flue.liners.disputed")
    named = bool(disputed and liner and liner.name in disputed.words)
    more = (disputed,) if named and disputed else ()
    order = dict.fromkeys([*kinds, *((True, False) if named else ())])
    reason = f"sides {tidy(aspect.value)} to 1"
    return Shares(
        tuple(
            replace(straight[oblong], reason=reason, values=(*straight[oblong].values, *more))
            for oblong in order
        )
    )


def _shares_by_height(case: Case, method: Value) -> Shares:
    """USDA Farmers' Bulletin 1889: a lined chimney of 22 ft takes the smaller share, a shorter or unlined one the larger."""
    edition = case.edition
    tall, short, limit = edition["flue.area.tall"], edition["flue.area.short"], edition["flue.area.tall_from"]
    is_tall = Share(tall.number, f"{limit.shown} high or more, and lined", (method, tall, limit))
    is_short = Share(short.number, f"below {limit.shown} high, or unlined", (method, short, limit))
    lining = case.word("flue", "lining", needed=False).known
    if lining == "unlined":
        return Shares((Share(short.number, "unlined chimney", (method, short)),))
    height = case.number("flue", "height").known
    if height and height.high < limit.number:
        return Shares((is_short,))
    if lining is None:
        case.word("flue", "lining")
    if height is None or lining is None:
        return Shares((is_tall, is_short), known=False)
    kinds = dict.fromkeys(getattr(height, end) >= limit.number for end in ("value", "low", "high"))
    return Shares(tuple(is_tall if kind else is_short for kind in kinds))


def faces_open(case: Case, state: State) -> list[Subject]:
    """The faces that are open in a state."""
    return [case.face(name) for name in state.open]


EITHER_WAY = (Verdict.MEETS, Verdict.SHORT)  # may hold whichever of several limits applies


SMOKE = "A flue too small for what is open sends smoke and carbon monoxide into the room."


def _by_share(case: Case, state: State) -> Finding:
    opened = _known(case, lambda mine: openings(mine, faces_open(mine, state)))
    flue = _known(case, flue_of)
    options = shares(case, flue)
    if opened is None:
        carried = (_carries(case, flue, options),) if flue and options.known else ()
        return case.missing(tuple(case.asked.missing), state=state.name, counts=state.counts, remedy=carried)
    total = total_area(opened)
    limits = [least_area(total, option.share) for option in options.options]
    values = [value for option in options.options for value in option.values]
    if len(opened) > 1:
        values.append(case.edition["policy.open_faces"])
    steps = [*_open_steps(case, state, opened, total), *([flue.step] if flue else [])]
    for option, limit in zip(options.options, limits, strict=True):
        share = tidy_share(option.share)
        steps.append(
            _needed_step(case, f"A_open x {share} ({option.reason})", f"{case.area(total)} x {share}", limit)
        )
    common: dict[str, Any] = {
        "state": state.name,
        "counts": state.counts,
        "working": tuple(steps),
        "basis": basis(*values, flue.table if flue else None),
    }
    what = _what(case, state, flue, total)
    finding = case.judge(
        ">=",
        flue.area if flue else _lacking(case),
        limits[0],
        others=limits[1:],
        sure=EITHER_WAY,
        what=what,
        unit="area",
        build=() if flue else tuple(_liners_for(case, total)),
        # what a remedy looks at does not decide the verdict
        remedy=lambda: tuple(_remedies(case.fresh(), state, flue, options, opened)) if flue else (),
        caution=SMOKE,
        **common,
    )
    if flue is None:
        return finding
    finding = _relying_on_doors(case, state, flue, options, finding)
    if finding.verdict in (Verdict.MEETS, Verdict.REFER):
        return finding
    return (
        _by_figure(case, flue, common) or _if_disputed(case, flue, finding, options, limits, what) or finding
    )


def _relying_on_doors(case: Case, state: State, flue: Flue, options: Shares, finding: Finding) -> Finding:
    """A state whose flue is enough only with a face shut: whether that takes it out of the opening, the official decides."""
    shut = [face for face in case.faces if face.name not in state.open]
    if not shut or finding.verdict not in (Verdict.MEETS, Verdict.CLOSE):
        return finding
    every = _known(case.fresh(), lambda mine: openings(mine, case.faces))
    if every and at_least(flue.area, least_area(total_area(every), options.largest)).verdict is Verdict.MEETS:
        return finding
    names = " and ".join(str(face.name) for face in shut)
    sums = f" {case.area(total_area(every))} in all." if every else " not all of them measured."
    return case.referred(
        finding,
        f"That leaves out {names}, shut: all faces together are{sums} The code says nothing on counting a shut face out; "
        "that a listed door or pane does so is this program's reading, and the building official decides.",
        basis=(*finding.basis, case.edition["policy.shut_faces"].basis()),
    )


def _open_steps(case: Case, state: State, opened: Sequence[Opening], total: Reading) -> list[Step]:
    steps = [replace(one.step, symbol=f"A_{name}") for name, one in zip(state.open, opened, strict=True)]
    if len(opened) > 1:
        numbers = " + ".join(case.area(one.area) for one in opened)
        made = in_unit(total.value, case.area_unit)
        steps.append(step("A_open", "sum of the open faces", numbers, made, case.area_unit, case.area(total)))
    return steps


def _needed_step(case: Case, expression: str, numbers: str, limit: Reading) -> Step:
    made = in_unit(limit.value, case.area_unit)
    return step("A_needed", expression, numbers, made, case.area_unit, case.area(limit, ">="))


def _what(case: Case, state: State, flue: Flue | None, total: Reading) -> str:
    opened = f"{case.area(total)} open" + (f" ({' and '.join(state.open)})" if len(state.open) > 1 else "")
    if flue and flue.others:
        return f"{opened}; by {flue.how} (also entered: {', '.join(flue.others)}) the flue has"
    return f"{opened} against a flue of"


def _by_figure(case: Case, flue: Flue, common: dict[str, Any]) -> Finding | None:
    """IRC R1003.15.2: the code also takes what a person reads off its figure for the opening and the height."""
    figure = case.edition.get("flue.area.figure")
    read = case.number("flue", "figure_area", needed=False).known
    if figure is None or read is None or at_least(flue.area, read).verdict is not Verdict.MEETS:
        return None
    read_off: dict[str, Any] = {**common, "basis": (*common["basis"], figure.basis())}
    return case.judge(
        ">=",
        flue.area,
        read,
        unit="area",
        what="By the code's figure as a person read it, not by its shape, the flue has enough (have the building official read "
        "the figure too):",
        **read_off,
    )


def _if_disputed(
    case: Case, flue: Flue, finding: Finding, options: Shares, limits: Sequence[Reading], what: str
) -> Finding | None:
    """A size that the code may count either way, where that decides."""
    named = any(value.key == "flue.liners.disputed" for value in options.options[0].values)
    if not named or flue.liner is None or finding.verdict is not Verdict.CLOSE:
        return None
    either = " or ".join(case.area(limit, ">=") for limit in limits)
    return case.referred(
        finding,
        "",
        text=f"{what} {case.area(flue.area)}; the code does not say whether {flue.liner.name} counts as oblong, so the minimum is "
        f"{either}: ask the building official.",
    )


def _carries(case: Case, flue: Flue, options: Shares) -> str:
    largest = greatest_opening(flue.area.value, options.largest)
    return f"The largest opening this flue carries is {case.area(largest, '<=')}."


def _remedies(
    case: Case, state: State, flue: Flue, options: Shares, opened: Sequence[Opening]
) -> Iterator[str]:
    """What would make the flue suffice, in numbers and sizes that can be built."""
    yield _carries(case, flue, options)
    yield from _lower(case, state, opened, greatest_opening(flue.area.value, options.largest))
    yield from _liners_for(case, total_area(opened))
    if len(opened) > 1:
        yield from _one_at_a_time(case, state, flue, options)
    figure = case.edition.get("flue.area.figure")
    if figure and case.number("flue", "figure_area", needed=False).known is None:
        yield (
            f"The code also takes its figure ({figure.clause}): have it read for this opening and height and enter it as "
            "flue.figure_area."
        )


def _one_at_a_time(case: Case, state: State, flue: Flue, options: Shares) -> Iterator[str]:
    """The faces that this flue carries with the others shut, where doors may be shut on a fire."""
    for other in case.states:
        shut = [case.face(name) for name in state.open if name not in other.open]
        rated = {case.word(face, "burning_closed", needed=False).known for face in shut}
        if len(other.open) != 1 or "no" in rated:
            continue
        alone = opening(case, case.face(other.open[0])).area
        if flue.area.value >= least_area(alone, options.largest).value:
            names = " and ".join(str(face.name) for face in shut)
            where = "" if rated == {"yes"} else ", if its doors are rated for closing over a fire"
            yield f"With {names} kept shut whenever there is fire, this flue carries {other.open[0]} alone{where}."


def lintel_drop(too_much: Fraction, widths: Fraction, increment: Fraction) -> Fraction:
    """How far lintels come down to take so much off the openings below them, up to a whole increment."""
    return -(-too_much / widths // increment) * increment


def _lower(case: Case, state: State, opened: Sequence[Opening], largest: Fraction) -> Iterator[str]:
    """By how much the lintels come down, or the hearths come up, in small steps and in courses."""
    arches = {case.word(face, "arch", needed=False).known for face in faces_open(case, state)}
    if not arches <= {None, "flat"}:
        return
    edition = case.edition
    too_much = total_area(opened).value - largest
    widths = sum((one.width.value for one in opened), start=Fraction(0))
    lowest = min(one.height.value for one in opened)
    drop, courses = (
        lintel_drop(too_much, widths, edition[key].number) for key in ("remedy.step", "remedy.course")
    )
    most = lowest * edition["remedy.most_drop"].number
    if drop > most:
        yield (
            f"Lowering the lintel alone would take {case.least(drop)} off an opening {case.length(lowest)} high: "
            "that is not a cure here."
        )
        return
    each = "each lintel" if len(opened) > 1 else "the lintel"
    count = courses / edition["remedy.course"].number
    brick = f"; in brickwork by {count} course{'s' if count > 1 else ''} ({case.least(courses)})"
    yield f"Lower {each}, or raise the firebox floor, by {case.least(drop)}{brick if courses <= most else ''}."
    yield "Raising the floor takes as much off the height of throat and flue, and lifts the opening off the hearth."


def _liners_for(case: Case, total: Reading) -> Iterator[str]:
    """The smallest liners of the edition's tables that carry an opening."""
    by_shape = case.once("what liners carry", _liners)
    fitting = (next((one for one, carries in liners if carries >= total.value), None) for liners in by_shape)
    enough = [liner for liner in fitting if liner]
    if not enough:
        yield "No flue of this edition's tables carries it."
        return
    names = (f"{one.name} {'in round' if one.round else 'in'} ({case.area(one.area)})" for one in enough)
    stands = case.once("standing flue", _standing_area)
    rebuild = ""
    if stands is None or any(one.area > stands.value for one in enough):
        rebuild = (
            " A flue larger than the one that stands is a rebuild of the chimney, not a reline; throat, damper, spark screen and cap "
            "then go by its area."
        )
    yield f"The smallest flue of the tables that carries it: {' or '.join(names)}.{rebuild}"


def _liners(case: Case) -> Carried:
    """The liners of the edition's tables, round ones first, each with the largest opening that it carries."""
    if case.edition["flue.area"].method != "by_height":
        return _liners_by_shape(case.edition)
    return [
        [(one, greatest_opening(one.area, shares(case, None).largest)) for one in case.edition.liners(shape)]
        for shape in TABLES
    ]


@lru_cache(maxsize=16)
def _liners_by_shape(edition: Edition) -> Carried:
    return [
        [
            (one, greatest_opening(one.area, _shares_by_shape(edition, *_shape_of(one), one).largest))
            for one in edition.liners(shape)
        ]
        for shape in TABLES
    ]


def _standing_area(case: Case) -> Reading | None:
    return _of_flue(case.before())


def _of_flue(case: Case) -> Reading | None:
    """The area of the flue, None where it is not known to this edition."""
    try:
        return flue_of(case).area
    except (NotKnown, LinerElsewhere):
        return None


def tidy_share(share: Fraction) -> str:
    """A share as the codes print it: 1/12, or 0.15."""
    return f"{share.numerator}/{share.denominator}" if share.numerator == 1 else tidy(share)


CONDITIONS = {"cracked": "cracked", "gaps": "open at its joints", "glazed": "glazed with creosote"}
KINDS = {"listed liner": "a listed liner", "poured": "poured in place"}
LEAKS = "A lining that is not sound can leak fire and gas into the house."


@rule("flue.lining", "Lining of the flue", masonry=True)
def lining(case: Case) -> Finding:
    """The flue is lined with a material that the code names (IRC R1003.11), and is sound."""
    named = case.edition["flue.lining"]
    rests = basis(named)
    kind = case.word("flue", "lining").value
    if kind == "unlined":
        return case.finding(
            Verdict.SHORT,
            f"The flue is unlined; the code wants a lining: {' or '.join(KINDS.get(word, word) for word in named.words)}.",
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
    state = case.word("flue", "condition").value
    if state != "sound":
        return case.finding(
            Verdict.REFER,
            f"The lining is {KINDS.get(kind, kind)}, but {CONDITIONS[state]}: a licensed mason or chimney inspector decides "
            "before any fire.",
            basis=rests,
            caution=LEAKS,
        )
    return case.finding(
        Verdict.MEETS, f"The lining is {KINDS.get(kind, kind)}, entered as sound.", basis=rests
    )


@rule("flue.condition", "Condition of the flue", masonry=False)
def condition(case: Case) -> Finding:
    """A flue carries a fire only when its inside is known to be sound."""
    value = case.edition["flue.condition"]
    state = case.word("flue", "condition").value
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


@rule("flue.fit", "Does the new liner go in")
def fit(case: Case) -> Finding | None:
    """A liner that the plan changes can go down the chimney, one way round or the other."""
    entered = case.planned_of("flue")
    names = [name for name in SIZES if name in entered]
    if not case.planned or not names:
        return None
    standing = case.before()
    if all(_size(case, name) == _size(standing, name) is not None for name in names):
        return None
    liner, space = flue_fit.outside(case, entered), flue_fit.clear_space(case, standing)
    case.asked.read.update(standing.asked.read)
    rests = basis(case.edition["flue.fit"])
    if liner and space:
        worse = flue_fit.tightest(case, liner, space, basis=rests)
        if worse.verdict is Verdict.SHORT or (liner.exact and space.exact):
            return worse
    larger = _larger_than_stands(case, basis=rests)
    return larger or case.finding(Verdict.REFER, flue_fit.undecided(case, liner, space), basis=rests)


def _larger_than_stands(case: Case, **more: Any) -> Finding | None:
    """A liner with more area inside than the flue that stands cannot go into it, whatever either is outside."""
    stands = case.once("standing flue", _standing_area)
    new = _of_flue(case)
    if new is None or stands is None or case.sides("flue", "shaft", needed=False).known:
        return None
    finding = case.judge(
        "<=",
        new,
        stands,
        unit="area",
        what="The new liner has",
        after=" inside, and has to go down the flue that stands",
        remedy=flue_fit.smaller(case, None),
        **more,
    )
    return finding if finding.verdict is Verdict.SHORT else None


def _size(case: Case, name: str) -> object:
    """One entry of the flue's size, as a value that can be compared."""
    if name in ("liner", "shape"):
        return case.word("flue", name, needed=False).known
    if name in ("inside", "outside"):
        sides = case.sides("flue", name, needed=False).known
        return sides and tuple(side.value for side in flue_fit.by_size(sides))
    amount = case.number("flue", name, needed=False).known
    return amount and amount.value


@rule("flue.offsets", "Slope of the flue")
def offsets(case: Case) -> Finding:
    """No leg of the flue leans by more than the code allows (IRC R1003.12), nor has it more bends (NHBC 6.8.6)."""
    value, most_bends = case.edition["flue.offsets"], case.edition.get("flue.bends")
    bends = case.listed("flue", "offsets")
    if bends.known == ():
        return case.finding(Verdict.MEETS, "The flue is entered as straight.", basis=basis(value))
    finding = _leans(case, value, bends)
    turns = sum(bend.value != 0 for bend in bends.known or ())
    if most_bends is None or turns <= most_bends.number or finding.verdict is Verdict.SHORT:
        return finding
    return case.judge(
        "<=",
        Reading.exact(turns),
        most_bends.number,
        what="The flue has",
        after=" bends",
        unit="",
        basis=basis(most_bends),
        remedy=("Take it up with fewer bends: an offset and its return are two.",),
    )


def _leans(case: Case, value: Value, bends: Entry[tuple[Amount, ...]]) -> Finding:
    least, most = steepest([bend.value for bend in bends.known or ()])

    def judge(what: str, lean: Fraction) -> Finding:
        return case.judge(
            "<=",
            Reading.exact(lean) if bends.known else _lacking(case),
            value.number,
            what=what,
            unit="deg",
            basis=basis(value),
            build=(f"Build every leg of the flue within {value.shown} of the vertical.",),
        )

    if least == most:
        return judge("The steepest leg of the flue leans", most)
    if most <= value.number:
        return judge("Even where its bends all turn the same way, the flue leans", most)
    if least > value.number:
        return judge("Whichever way its bends turn, a leg of the flue leans at least", least)
    return case.referred(
        judge("Where its bends all turn the same way, the flue leans", most),
        f"Where they turn back it leans {tidy(least)} deg or more. See which way they turn, and enter a turn back with a minus, "
        "as in -30 deg.",
    )


@rule("flue.shared", "Other appliances on this flue")
def shared(case: Case) -> Finding:
    """A fireplace has its flue to itself (IRC M1801.12)."""
    value = case.edition["flue.shared"]
    other = case.word("flue", "shared_with").value.strip()
    if not other:
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
    """A square or rectangular flue has a least side, by the size of the opening (ADJ Table 2.2); or a round one a least diameter."""
    value = case.edition.get("flue.least_side")
    if value is None:
        return _least_diameter(case, state)
    small = case.edition["flue.least_side.small"]
    kinds = _known(case, lambda mine: small_kinds(mine, state))
    flue = _known(case, flue_of)
    if flue and flue.shape == "round":
        return None
    if flue and flue.least_side is None:
        case.sides("flue", "inside")
    limits = [(small if kind else value).number for kind in kinds or (True, False)]
    return case.judge(
        ">=",
        flue.least_side if flue and flue.least_side else _lacking(case),
        limits[0],
        others=limits[1:],
        sure=EITHER_WAY,
        what="The shorter side of the flue is",
        basis=basis(value, small),
        state=state.name,
        counts=state.counts,
    )


def _least_diameter(case: Case, state: State) -> Finding | None:
    """NF DTU 24.1: a round flue of an open fire is no narrower than that."""
    value = case.edition.get("flue.least_diameter")
    if value is None:
        return None
    flue = _known(case, flue_of)
    if flue and flue.shape not in ("", "round"):
        return None
    if flue and not flue.shape:
        case.word("flue", "shape")
    elif flue and flue.least_side is None:
        case.number("flue", "diameter")
    return case.judge(
        ">=",
        flue.least_side if flue and flue.least_side else _lacking(case),
        value.number,
        what="The flue is",
        after=" across",
        basis=basis(value),
        state=state.name,
        counts=state.counts,
        caution=SMOKE,
    )


@rule("flue.least_height", "Least height of the flue", each="state")
def least_height(case: Case, state: State) -> Finding | None:
    """The flue is high enough over the top of the opening (ADJ 2.8), where the edition sets a height."""
    value = case.edition.get("flue.least_height")
    if value is None:
        return None
    high = case.number("flue", "height")
    tops = [case.number(face, "height") for face in faces_open(case, state)]

    def rise() -> Reading:
        return high.value - max((top.value for top in tops), key=lambda top: top.value)

    work: tuple[Step, ...] = ()
    if high.known and all(top.known for top in tops):
        over = rise()
        numbers = f"{case.length(high.value)} - {case.length(high.value - over.value)}"
        made = in_unit(over.value, case.edition.units)
        work = (
            step(
                "height", "flue height - opening height", numbers, made, case.edition.units, case.length(over)
            ),
        )
    return case.judge(
        ">=",
        rise,
        value.number,
        what="The flue rises",
        after=" over the opening",
        working=work,
        basis=basis(value),
        state=state.name,
        counts=state.counts,
        remedy=lambda: (f"Build the chimney up by {case.least(value.number - rise().value)}.",),
    )


@rule("flue.specialist", "Ask a specialist", each="state", kind="advice", asks="flue.specialist.area")
def specialist(case: Case, state: State) -> Finding | None:
    """From some size of flue, or share of the opening, the edition advises to ask a specialist (ADJ 2.7)."""
    area_from = case.edition.get("flue.specialist.area")
    if area_from is None:
        return None
    share_from = case.edition["flue.specialist.share"]
    opened = openings(case, faces_open(case, state))
    flue = _known(case, flue_of)
    total = total_area(opened).value
    largest = max(limit.value for limit, _ in open_face_areas(case, opened))
    if flue:
        largest = max(largest, flue.area.value)
    share = flue.area.value / total if flue else Fraction(0)
    over = [f"a flue of {case.area(largest)}"] if largest > area_from.number else []
    over += [f"{tidy(share * 100)} % of the opening"] if share > share_from.number else []
    if not over:
        case.all_known()
        return None
    return case.finding(
        Verdict.REFER,
        f"With {' and '.join(state.open)} open: {' and '.join(over)}; above {area_from.shown}, or {share_from.shown} of the "
        "opening, ask a specialist.",
        basis=basis(area_from, share_from),
        state=state.name,
    )


def small_kinds(case: Case, state: State) -> tuple[bool, ...]:
    """Is what is open one recess opening within the small size of ADJ Table 2.2: as measured, then what the tape lets in."""
    return _small_kinds(case, openings(case, faces_open(case, state)))


def _small_kinds(case: Case, opened: Sequence[Opening]) -> tuple[bool, ...]:
    wide, high = case.edition["flue.area.small_width"].number, case.edition["flue.area.small_height"].number
    if len(opened) != 1:
        return (False,)
    (one,) = opened
    return tuple(
        dict.fromkeys(
            getattr(one.width, end) <= wide and getattr(one.height, end) <= high
            for end in ("value", "low", "high")
        )
    )


def open_face_areas(case: Case, opened: Sequence[Opening]) -> list[tuple[Reading, Value]]:
    """The flue area by ADJ 2.7 and Table 2.2, and the value it comes from: a fixed one for a small recess, else a share of all faces.

    The one that applies first, then those that the measuring tolerance would bring in.
    """
    small, share = case.edition["flue.area.small"], case.edition["flue.area.share"]
    return [
        (Reading.exact(small.number), small)
        if kind
        else (least_area(total_area(opened), share.number), share)
        for kind in _small_kinds(case, opened)
    ]


def _by_open_faces(case: Case, state: State) -> Finding:
    """ADJ 2.7: one share of the area of all open faces; Table 2.2: a fixed area for a small recess."""
    opened = _known(case, lambda mine: openings(mine, faces_open(mine, state)))
    flue = _known(case, flue_of)
    share = case.edition["flue.area.share"]
    options = Shares((Share(share.number, "all open faces", (share,)),))
    if opened is None:
        carried = (_carries(case, flue, options),) if flue else ()
        return case.missing(tuple(case.asked.missing), state=state.name, counts=state.counts, remedy=carried)
    total = total_area(opened)
    needed = open_face_areas(case, opened)
    steps = [*_open_steps(case, state, opened, total), *([flue.step] if flue else [])]
    for limit, value in needed:
        by_share = value is share
        expression = f"A_open x {share.shown}" if by_share else f"{value.clause}, small recess"
        numbers = f"{case.area(total)} x {share.shown}" if by_share else value.shown
        steps.append(_needed_step(case, expression, numbers, limit))

    def remedy() -> tuple[str, ...]:
        assert flue is not None
        largest = greatest_opening(flue.area.value, share.number)
        return (_carries(case, flue, options), *_lower(case, state, opened, largest))

    limit, *others = (limit for limit, _ in needed)
    return case.judge(
        ">=",
        flue.area if flue else _lacking(case),
        limit,
        others=others,
        what=_what(case, state, flue, total),
        unit="area",
        working=tuple(steps),
        state=state.name,
        counts=state.counts,
        basis=basis(case.edition["flue.area"], *(value for _, value in needed), flue.table if flue else None),
        caution=SMOKE,
        remedy=remedy,
    )


@rule("flue.greatest_size", "Greatest size of the flue", each="state", asks="flue.bands.round")
def greatest_size(case: Case, state: State) -> Finding | None:
    """The flue is no larger than the table allows for the opening and the height (NBC Table 9.21.2.5)."""
    if case.edition["flue.area"].method != "by_opening_and_height":
        return None
    return _by_band(case, state, "most")


def _by_opening_and_height(case: Case, state: State) -> Finding:
    return _by_band(case, state, "least")


def _by_band(case: Case, state: State, end: End) -> Finding:
    opened = _known(case, lambda mine: openings(mine, faces_open(mine, state)))
    return by_band(case, end, opened, state=state.name, counts=state.counts)
