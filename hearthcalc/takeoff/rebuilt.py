"""What a change builds anew besides firebox and hearth: smoke chamber, damper, slab, steel, cap and shoring."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from hearthcalc import quantities
from hearthcalc.findings import Step
from hearthcalc.reference import liner_sides
from hearthcalc.rules.case import Case, Subject, in_unit
from hearthcalc.rules.firebox import cut_faces
from hearthcalc.rules.inputs import layers_of
from hearthcalc.rules.reading import root
from hearthcalc.takeoff.lines import (
    Item,
    as_area,
    as_volume,
    brickwork,
    length_step,
    printed,
    sections,
    size_text,
    whole,
)
from hearthcalc.takeoff.masonry import NEW, across_and_deep, liner_size

Plan = tuple[Fraction, Fraction]

SHORING = (
    "How strong they are, what they stand on and where they bear is settled by someone qualified to judge the structure, "
    "before the first brick comes out."
)


# Arithmetic


def prismoid(base: Plan, top: Plan, height: Fraction) -> Fraction:
    """Volume between two rectangles, one over the other, by the prismoidal formula: the middle section counts four times."""
    middle = (base[0] + top[0]) / 2, (base[1] + top[1]) / 2
    return height / 6 * (base[0] * base[1] + 4 * middle[0] * middle[1] + top[0] * top[1])


def slopes(base: Plan, top: Plan, height: Fraction) -> Fraction:
    """Area of the four sloping sides between two rectangles, one over the middle of the other."""
    halves = [(below - above) / 2 for below, above in zip(base, top, strict=True)]
    wide, deep = ((below + above) / 2 for below, above in zip(base, top, strict=True))
    return 2 * wide * root(height**2 + halves[1] ** 2) + 2 * deep * root(height**2 + halves[0] ** 2)


def bars_across(length: Fraction, spacing: Fraction) -> int:
    """Bars side by side over a length, one at each end and none farther from the next than the spacing."""
    return math.ceil(length / spacing) + 1


# The smoke chamber


def _liner_outside(case: Case) -> Plan:
    """How far the liner reaches: by the size it is ordered by, a round one as the square round it, else as entered. Raises NotKnown."""
    outside = case.sides("flue", "outside", needed=False).known
    inside = case.sides("flue", "inside", needed=False).known
    across = case.number("flue", "diameter", needed=False).known
    if outside:
        return outside[0].value, outside[1].value
    named = case.word("flue", "liner", needed=not (inside or across)).known
    if named:
        sides = liner_sides(named)
        return sides[-1], sides[0]
    if inside:
        return max(side.value for side in inside), min(side.value for side in inside)
    case.all_known()
    return (across.value, across.value) if across else (Fraction(0), Fraction(0))


def _liner_inside(case: Case) -> Plan | None:
    """The passage of the liner, a round one as the square round it; None where only its outside or its nominal size is entered."""
    inside = case.sides("flue", "inside", needed=False).known
    across = case.number("flue", "diameter", needed=False).known
    if inside:
        return max(side.value for side in inside), min(side.value for side in inside)
    return (across.value, across.value) if across else None


def _funnel(case: Case) -> tuple[Plan, Plan, bool, str]:
    """The hollow of a smoke chamber: its plan below and above, whether both are entered, and how it is taken. Raises NotKnown.

    Below it is as wide as the throat and as deep as throat and smoke shelf, which is the depth of the firebox.
    """
    width, depth = across_and_deep(case)[:2]
    throat = case.number("firebox", "throat_width", needed=False).known
    inside, outside = _liner_inside(case), _liner_outside(case)
    below = "the throat, as deep as the firebox," if throat else "the floor plan of the firebox"
    above = "inside" if inside else "outside"
    more = (
        ""
        if throat and inside
        else " Enter the width of the throat and the inside of the flue to have it closer."
    )
    return (
        (throat.value if throat else width, depth),
        inside or outside,
        not more,
        f"Figured as a funnel from {below} to the {above} of the liner.{more}",
    )


def smoke_chamber(case: Case) -> Iterator[Item]:
    form = case.word("firebox", "smoke_chamber_form", needed=False).known
    high, thick = case.number("firebox", "smoke_chamber_height"), case.number("firebox", "smoke_chamber_wall")
    parged = case.word("firebox", "smoke_chamber_parged", needed=False).known
    base, top, exact, taken = _funnel(case)
    height = high.value.value
    case.all_known()
    if form == "prefabricated":
        plan = size_text(case, *across_and_deep(case)[:2])
        text = f"1 prefabricated, over a firebox {plan}, {case.length(height)} high: its maker says what goes with it"
        yield Item("Smoke chamber", Fraction(1), "smoke chamber", text)
        return
    wall = thick.value.value
    outer = [(plan[0] + 2 * wall, plan[1] + 2 * wall) for plan in (base, top)]
    inner_volume, outer_volume = prismoid(base, top, height), prismoid(outer[0], outer[1], height)
    told = f"{size_text(case, *base)} below, {size_text(case, *top)} above, {case.length(height)} high"
    formula = "height / 6 x (below + 4 x middle + above)"
    parts = [
        Step("V_out", formula, f"{told}, walls of {case.length(wall)} added", *as_volume(case, outer_volume)),
        Step("V_in", formula, told, *as_volume(case, inner_volume)),
        Step("V", "V_out - V_in", "", *as_volume(case, outer_volume - inner_volume)),
    ]
    shaped = "Corbels are cut from whole brick. " if form == "corbelled" else ""
    yield brickwork(
        case, "Brick of the smoke chamber", "around the smoke chamber", outer_volume - inner_volume, parts,
        f"{taken} {shaped}{NEW}", about=not exact,
    )  # fmt: skip
    if parged != "no":
        yield _parging(case, told, slopes(base, top, height))


def _parging(case: Case, told: str, area: Fraction) -> Item:
    coat, waste = case.edition["takeoff.parging"], case.edition["takeoff.waste.mortar"]
    value, unit, text = as_volume(case, area * coat.number * (1 + waste.number), small=True)
    shown = as_area(case, area)
    return Item(
        "Parging of the smoke chamber", value, unit, f"{text} of refractory mortar, {printed(case, coat)} thick over {shown[2]}",
        working=(
            Step("A", "the four sloping sides", told, *shown),
            Step("V", "A x thickness x (1 + waste)", f"{shown[2]} x {printed(case, coat)} x (1 + {waste.shown})", value, unit, text),
        ),
    )  # fmt: skip


def damper(case: Case) -> Iterator[Item]:
    kind = case.word("firebox", "damper")
    if kind.value == "none":
        return
    if kind.value == "top":
        size, missing = liner_size(case)
        yield Item(
            "Damper", Fraction(1), "damper", f"1 on top of a flue{size}, with its cable", missing=missing
        )
        return
    wide, deep = case.number("firebox", "throat_width"), case.number("firebox", "throat_depth")
    case.all_known()
    yield Item(
        "Damper", Fraction(1), "damper", f"1 of metal, over a throat {size_text(case, wide.value.value, deep.value.value)}",
        note="Its free area, open, is in the findings.",
    )  # fmt: skip


# Slabs and their steel


def inner_hearth(case: Case) -> Iterator[Item]:
    lining, slab = case.number("firebox", "lining"), case.number("firebox", "floor_slab")
    plan = across_and_deep(case)[:2]
    case.all_known()
    thick = slab.value.value - lining.value.value
    if thick < 0:
        text = (
            f"Not figured: {case.length(slab.value)} of floor is less than the {case.length(lining.value)} of firebrick on it; "
            "measure again."
        )
        missing = tuple(case.address("firebox", key) for key in ("floor_slab", "lining"))
        yield Item("Inner hearth slab", None, "", text, missing=missing)
        return
    if not thick:
        return
    waste, area = case.edition["takeoff.waste.concrete"], plan[0] * plan[1]
    value, unit, text = as_volume(case, area * thick * (1 + waste.number))
    shown = as_area(case, area)
    yield Item(
        "Inner hearth slab", value, unit, f"{text} of reinforced concrete, {case.length(thick)} thick over {shown[2]}",
        working=(
            Step("A", "width x depth", size_text(case, *plan), *shown),
            length_step(case, "thickness", "floor - firebrick", f"{case.length(slab.value)} - {case.length(lining.value)}", thick),
            Step("V", "A x thickness x (1 + waste)", f"{shown[2]} x {case.length(thick)} x (1 + {waste.shown})", value, unit, text),
        ),
        note=f"Figured as if all of it were concrete, inside the walls alone: add what runs under them. {NEW}",
    )  # fmt: skip
    yield _slab_steel(case, "Steel of the inner hearth slab", *plan)


def hearth_steel(case: Case, face: Subject) -> Iterator[Item]:
    layered = bool(case.listed(face, "hearth.layers", needed=False).known)
    if layered and all(layer.material.kind != "concrete" for layer in layers_of(case, face)):
        return
    width, front, left, right = (
        case.number(face, name) for name in ("width", "hearth.front", "hearth.left", "hearth.right")
    )
    case.all_known()
    across, deep = width.value.value + left.value.value + right.value.value, front.value.value
    if across * deep:
        yield _slab_steel(case, f"Steel of the hearth slab, {face.name}", across, deep)


def _slab_steel(case: Case, name: str, wide: Fraction, deep: Fraction) -> Item:
    bar, spacing, waste = (case.edition[f"takeoff.slab.{key}"] for key in ("bar", "spacing", "waste"))
    counts = bars_across(deep, spacing.number), bars_across(wide, spacing.number)
    length = (counts[0] * wide + counts[1] * deep) * (1 + waste.number)
    shown = _running(case, length)
    numbers = f"({counts[0]} x {case.length(wide)} + {counts[1]} x {case.length(deep)}) x (1 + {waste.shown})"
    return Item(
        name, shown[0], shown[1], f"{shown[2]} of {printed(case, bar)} bar: {counts[0]} the long way and {counts[1]} across it",
        working=(Step("length", f"bars both ways, {printed(case, spacing)} apart, x (1 + waste)", numbers, *shown),),
        note="Where a drawing says otherwise, the drawing holds.",
    )  # fmt: skip


def _running(case: Case, length: Fraction) -> tuple[Fraction, str, str]:
    """A length of bar or timber as it is bought."""
    value, unit = (in_unit(length, "mm") / 1000, "m") if case.unit == "mm" else (length / 12, "ft")
    whole_ones = math.ceil(value)
    return Fraction(whole_ones), unit, f"{whole_ones} {unit}"


def upright_bars(case: Case) -> Iterator[Item]:
    bars = case.number("structure", "bars", needed=False).known
    if bars is None or not bars.value:
        return
    ties = case.number("structure", "ties", needed=False).known
    apart = f", tied every {case.length(ties)}" if ties else ""
    text = f"{bars.value} No. 4 bars from the footing to the top{apart}: measure how far that is, and add the laps"
    old = case.before().peek("flue", "height") if case.planned else None
    new = case.number("flue", "height", needed=False).known
    if old and new and new.value > old.value:
        more = case.length(new.value - old.value)
        text = f"{bars.value} No. 4 bars lapped on those that stand, for {more} more of chimney{apart}: add the laps"
    yield Item("Upright bars of the chimney", bars.value, "bars", text)


# The chimney above what stands


def _added(case: Case) -> tuple[Fraction, Step]:
    """How much higher the flue gets, in, with its line of working. Raises NotKnown."""
    new, old = case.number("flue", "height"), case.before().peek("flue", "height")
    more = new.value.value - old.value
    return more, length_step(
        case, "height", "planned - as found", f"{case.length(new.value)} - {case.length(old.value)}", more
    )


def _masonry(case: Case) -> tuple[Plan, Plan, bool]:
    """Outside of the chimney, the longer side first, the space in it, and whether either is entered as such. Raises NotKnown."""
    wall = case.number("chimney", "wall")
    shaft = case.sides("flue", "shaft", needed=False).known
    wide = case.number("structure", "width", needed=False).known
    space = (shaft[0].value, shaft[1].value) if shaft else _liner_outside(case)
    case.all_known()
    long, short = sorted((side + 2 * wall.value.value for side in space), reverse=True)
    return (max(wide.value, short) if wide else long, short), space, bool(shaft or wide)


def raised_chimney(case: Case) -> Iterator[Item]:
    flues = case.number("chimney", "flues")
    if flues.known is not None and flues.known.value > 1:
        yield Item(
            "Brick of the chimney", None, "",
            "Not figured where several flues stand in one chimney: measure the masonry, length and width.",
        )  # fmt: skip
        return
    more, step = _added(case)
    around, space, sure = _masonry(case)
    area = around[0] * around[1] - space[0] * space[1]
    shown = as_area(case, area)
    numbers = f"{size_text(case, *around)} - {size_text(case, *space)}"
    parts = [
        step,
        Step("A", "outside of the masonry - space for the liner", numbers, *shown),
        Step("V", "A x height", f"{shown[2]} x {case.length(more)}", *as_volume(case, area * more)),
    ]
    note = "" if sure else "Figured as if the masonry stood against the liner; a wider space takes more."
    yield brickwork(
        case, "Brick of the chimney", f"for {case.length(more)} more of chimney", area * more, parts, note
    )


def raised_liner(case: Case) -> Iterator[Item]:
    lining = case.before().peek("flue", "lining")
    if lining == "unlined":
        return
    more, step = _added(case)
    size, missing = liner_size(case)
    if lining != "clay":
        text = f"{case.length(more)} more{size}, as the liner that stands: its maker says how it is joined"
        yield Item("Flue liner", in_unit(more, case.unit), case.unit, text, (step,), missing=missing)
        return
    section = case.edition["takeoff.liner.section"]
    count, each = sections(more, section.number), printed(case, section)
    unit = "sections" if count > 1 else "section"
    yield Item(
        "Flue liner", Fraction(count), "sections", f"{count} {unit}{size}, {each} each, on top of those that stand",
        working=(step, whole("height / section, rounded up", f"{case.length(more)} / {each}", count, unit)), missing=missing,
    )  # fmt: skip


# What closes the openings and the flue, and gas logs


def doors(case: Case, face: Subject) -> Iterator[Item]:
    kind, width, height = case.word(face, "closure"), case.number(face, "width"), case.number(face, "height")
    case.all_known()
    listed = (
        ", listed for closing over a fire"
        if case.word(face, "burning_closed", needed=False).known == "yes"
        else ""
    )
    size = size_text(case, width.value.value, height.value.value)
    yield Item(
        f"Doors, {face.name}", Fraction(1), "set", f"1 set of {kind.value} for an opening of {size}{listed}"
    )


def gas_logs(case: Case) -> Iterator[Item]:
    kind, power = case.word("air", "gas_logs"), case.number("air", "gas_input", needed=False).known
    rated = f", {quantities.show(power.value, 'power', 'Btu/h')}" if power else ""
    yield Item(
        "Gas logs",
        Fraction(1),
        "set",
        f"1 set, {kind.value}{rated}; its maker says what valve and pipe go with it",
    )
    if kind.value == "vent-free":
        return
    free = case.number("firebox", "clamp_area", needed=False).known
    far = (
        f"{case.area(free)} open"
        if free and free.value
        else "open, as far as the findings and the papers of the logs say"
    )
    yield Item("Damper stop", Fraction(1), "stop", f"1 that keeps the damper {far}")


def flue_cap(case: Case) -> Iterator[Item]:
    cap, screen = (
        case.word("flue", "cap", needed=False).known,
        case.number("flue", "arrestor_area", needed=False).known,
    )
    size, missing = liner_size(case)
    under = case.number("flue", "cap_area", needed=False).known
    parts = [f"{case.area(under)} free under it"] if under else []
    parts += [f"a screen with {case.area(screen)} free"] if screen and screen.value else []
    if cap in (None, "none") and not parts:
        return
    told = f": {', '.join(parts)}" if parts else ""
    yield Item("Cap of the flue", Fraction(1), "cap", f"1 for a flue{size}{told}", missing=missing)


# The top, and what holds the wall up meanwhile


def crown(case: Case) -> Iterator[Item]:
    flues = case.number("chimney", "flues")
    if flues.known is not None and flues.known.value > 1:
        yield Item(
            "Cap of the chimney", None, "",
            "Not figured where several flues stand in one chimney: measure the top of the masonry, length and width.",
        )  # fmt: skip
        return
    liner = _liner_outside(case)
    (long, short), _, sure = _masonry(case)
    beyond, thick, waste = (
        case.edition[key]
        for key in ("takeoff.crown.beyond", "takeoff.crown.thickness", "takeoff.waste.concrete")
    )
    sides = long + 2 * beyond.number, short + 2 * beyond.number
    area = sides[0] * sides[1] - liner[0] * liner[1]
    value, unit, text = as_volume(case, area * thick.number * (1 + waste.number))
    shown, deep = as_area(case, area), printed(case, thick)
    yield Item(
        "Cap of the chimney", value, unit,
        f"{text} of concrete over masonry {size_text(case, long, short)}, standing out {printed(case, beyond)} all around",
        working=(
            Step("A", "outside of the cap - outside of the liner", f"{size_text(case, *sides)} - {size_text(case, *liner)}", *shown),
            Step("V", "A x mean thickness x (1 + waste)", f"{shown[2]} x {deep} x (1 + {waste.shown})", value, unit, text),
        ),
        note="" if sure else "Figured as if the masonry stood against the liner: measure the top where there is space between.",
    )  # fmt: skip


def shoring(case: Case) -> Iterator[Item]:
    for face in cut_faces(case):
        width, thick = case.number(face, "width"), case.number(face, "lintel.wall_thickness")
        case.all_known()
        spacing, beyond = (case.edition[f"takeoff.shoring.{name}"] for name in ("spacing", "beyond"))
        count = bars_across(width.value.value, spacing.number)
        length = thick.value.value + 2 * beyond.number
        shown = case.least(length)
        told = f"one at each end, at most {printed(case, spacing)} apart"
        needles = whole(told, f"over {case.length(width.value)}", count, "needles")
        yield Item(
            f"Needles, {face.name}", Fraction(count), "needles", f"{count} needles through the wall, {shown} long",
            working=(
                needles,
                length_step(
                    case, "length", "wall + 2 x room to work", f"{case.length(thick.value)} + 2 x {printed(case, beyond)}", length
                ),
            ),
            caution=SHORING,
        )  # fmt: skip
        yield Item(
            f"Props, {face.name}", Fraction(2 * count), "props",
            f"{2 * count} props under the needles: measure from firm ground up to the needles, on both sides of the wall",
            working=(needles, whole("one at each end of a needle", f"2 x {count}", 2 * count, "props")),
        )  # fmt: skip
