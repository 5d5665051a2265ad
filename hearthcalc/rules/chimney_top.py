"""The chimney at the roof: height over every roof, crickets, framing, changes of size, and what sits on top."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import Roof
from hearthcalc.reference import Value, read_table
from hearthcalc.rules.case import Case, NotKnown, basis, in_unit, of, rule, step, tidy
from hearthcalc.rules.flue import flue_of
from hearthcalc.rules.reading import Reading, corners, root

LOW = "A chimney too low at a roof draws badly, throws sparks on it, and is blown down by wind that comes over the ridge."


def cricket_height(width: Fraction, pitch: Fraction) -> Fraction:
    """Height of a cricket behind a chimney that is so wide along the ridge: the rise of the roof over 24, times the width.

    pitch: rise over run.  Source: the rows of IRC Table R1003.20, all of which it reproduces.
    """
    return width * pitch / 2


def rise_over_roof(horizontal: Fraction, pitch: Fraction, least: Fraction) -> Fraction:
    """Height over a pitched roof that puts an outlet so far from its surface, never under a least (ADJ Diagram 17, B)."""
    return max(horizontal * pitch, least)


@rule("chimney.above_roof", "Chimney over the roof it passes", each="roof", masonry=True)
def above_roof(case: Case, roof: Roof) -> Finding | None:
    """The chimney's top stands high enough over the highest point where it passes a roof (IRC R1003.9)."""
    if roof.passes_through is False:
        return None
    value = case.edition["chimney.above_roof"]
    if value.method == "by_zone":
        return _by_zone(case, roof, value)
    if value.method == "ridge_or_surface":
        return _ridge_or_surface(case, roof, value)
    if value.method == "ridge_and_surface":
        return _ridge_and_surface(case, roof, value)
    mine = of(roof)
    case.require((*mine, "passes_through"), (*mine, "above_penetration"))
    (over,) = case.need(mine, "above_penetration")
    return case.judge(
        ">=",
        over,
        Reading.exact(value.number),
        what="The chimney stands",
        after=f" over the highest point where it passes the {roof.name}",
        item=roof.name,
        basis=basis(value),
        caution=LOW,
        remedy=_raise(case, over, value.number),
    )


def _raise(case: Case, over: Reading, limit: Fraction) -> tuple[str, ...]:
    lacks = limit - over.value
    return (f"Build the chimney up by {case.least(lacks)}, or keep the roof lower.",) if lacks > 0 else ()


def _by_zone(case: Case, roof: Roof, value: Value) -> Finding:
    """ADJ Diagram 17: near the ridge, so much over the ridge; elsewhere so far from the surface, and over it or as high as the ridge."""
    edition = case.edition
    near, ridge = edition["chimney.zone.near_ridge"], edition["chimney.zone.over_ridge"]
    mine = of(roof)
    away, over_ridge = case.need(mine, "distance", "above_highest")
    if away.value <= near.number:
        others = [] if away.high <= near.number else [Reading.exact(Fraction(0))]
        return case.judge(
            ">=",
            over_ridge,
            Reading.exact(ridge.number),
            others=others,
            what=f"Near the ridge of the {roof.name} the outlet stands",
            after=" over it",
            item=roof.name,
            basis=basis(value, near, ridge),
            caution=LOW,
            remedy=_raise(case, over_ridge, ridge.number),
        )
    clear, least = edition["chimney.zone.clear"], edition["chimney.zone.over_surface"]
    case.require((*mine, "above_penetration"), (*mine, "pitch"))
    over, pitch = case.need(mine, "above_penetration", "pitch")
    asked = corners(lambda p: rise_over_roof(clear.number, p, least.number), pitch)
    work = step(
        "over the roof",
        f"{case.least(clear.number)} x pitch, at least {case.least(least.number)}",
        f"{case.least(clear.number)} x {tidy(pitch.value)}",
        in_unit(asked.value, edition.units),
        edition.units,
        case.least(asked.value),
    )
    if over_ridge.value > 0:
        return case.finding(
            Verdict.MEETS,
            f"Away from the ridge of the {roof.name} the outlet stands {case.length(over_ridge)} over the ridge.",
            item=roof.name,
            basis=basis(value, near, clear, least),
        )
    return case.judge(
        ">=",
        over,
        asked,
        what="Away from the ridge the outlet stands",
        after=f" over the {roof.name}",
        item=roof.name,
        working=(work,),
        basis=basis(value, near, clear, least),
        caution=LOW,
        remedy=_raise(case, over, asked.value),
    )


def _ridge_or_surface(case: Case, roof: Roof, value: Value) -> Finding:
    """German rule: the outlet stands so far over the ridge, or so far from the surface of the roof."""
    ridge, clear = case.edition["chimney.ridge.over"], case.edition["chimney.surface.clear"]
    mine = of(roof)
    rests = basis(value, ridge, clear)
    over_ridge = case.want(mine, "above_highest")
    if over_ridge is not None and over_ridge.value >= ridge.number:
        return case.judge(
            ">=",
            over_ridge,
            Reading.exact(ridge.number),
            what="The outlet stands",
            after=f" over the ridge of the {roof.name}",
            item=roof.name,
            basis=rests,
        )
    case.require((*mine, "above_highest"), (*mine, "above_penetration"), (*mine, "pitch"))
    over, pitch = case.need(mine, "above_penetration", "pitch")
    away = corners(surface_distance, over, pitch)
    return case.judge(
        ">=",
        away,
        Reading.exact(clear.number),
        what=f"The outlet is not {case.least(ridge.number)} over the ridge; it is",
        after=f" from the surface of the {roof.name}",
        item=roof.name,
        basis=rests,
        caution=LOW,
    )


def _ridge_and_surface(case: Case, roof: Roof, value: Value) -> Finding:
    """Swedish advice: the outlet stands over the ridge, and so far over the covering of the roof."""
    ridge, clear = case.edition["chimney.ridge.over"], case.edition["chimney.surface.clear"]
    mine = of(roof)
    case.require((*mine, "above_highest"), (*mine, "above_penetration"))
    over_ridge, over = case.need(mine, "above_highest", "above_penetration")
    rests = basis(value, ridge, clear)
    if over_ridge.value <= ridge.number:
        return case.finding(
            Verdict.REFER,
            f"The outlet is entered as no higher than the ridge of the {roof.name}, and it should stand over it: measure how far.",
            item=roof.name,
            basis=rests,
            caution=LOW,
        )
    return case.judge(
        ">=",
        over,
        Reading.exact(clear.number),
        what="The outlet stands",
        after=f" over the covering of the {roof.name}",
        item=roof.name,
        basis=rests,
        caution=LOW,
        remedy=_raise(case, over, clear.number),
    )


def surface_distance(over: Fraction, pitch: Fraction) -> Fraction:
    """Distance square to a pitched roof of a point that stands so far straight over it."""
    return over / root(1 + pitch * pitch)


@rule("chimney.within_radius", "Chimney over what is near it", each="roof")
def within_radius(case: Case, roof: Roof) -> Finding | None:
    """The chimney's top stands over any part of the building within a radius (IRC R1003.9)."""
    value, radius = case.edition["chimney.within_radius"], case.edition["chimney.radius"]
    if value.method == "other_parts" and roof.passes_through:
        return None
    mine = of(roof)
    case.require((*mine, "distance"), (*mine, "above_highest"))
    away, over = case.need(mine, "distance", "above_highest")
    rests = basis(value, radius)
    if away.low > radius.number:
        return case.finding(
            Verdict.MEETS,
            f"The highest part of the {roof.name} is {case.length(away)} away, beyond {case.least(radius.number)}; a nearer part of "
            "it may still count: enter that as a roof of its own.",
            item=roof.name,
            basis=rests,
        )
    finding = case.judge(
        ">=",
        over,
        Reading.exact(value.number),
        what="The chimney stands",
        after=f" over the highest part of the {roof.name} within {case.least(radius.number)}",
        item=roof.name,
        basis=rests,
        caution=LOW,
        remedy=_raise(case, over, value.number),
    )
    if away.high > radius.number and finding.verdict is not Verdict.MEETS:
        return case.finding(
            Verdict.CLOSE,
            f"{finding.text} The measuring tolerance decides whether that part is within {case.least(radius.number)}: measure again.",
            item=roof.name,
            basis=rests,
            required=finding.required,
            found=finding.found,
        )
    return finding


@rule("chimney.cricket", "Cricket behind the chimney", each="roof")
def cricket(case: Case, roof: Roof) -> Finding | None:
    """A wide chimney that does not cross the ridge has a cricket, by the slope of the roof (IRC R1003.20)."""
    if roof.passes_through is False:
        return None
    wide_from = case.edition["chimney.cricket.from"]
    mine = of(roof)
    (wide,) = case.need(mine, "width_along_ridge")
    context: dict[str, Any] = {"item": roof.name}
    if wide.high <= wide_from.number:
        return case.finding(
            Verdict.MEETS,
            f"Along the ridge the chimney is {case.length(wide)} wide; a cricket is asked for above {case.least(wide_from.number)}.",
            basis=basis(wide_from),
            **context,
        )
    if roof.crosses_ridge:
        return case.finding(
            Verdict.MEETS,
            "The chimney crosses the ridge: no cricket is asked for.",
            basis=basis(wide_from),
            **context,
        )
    case.require((*mine, "crosses_ridge"), (*mine, "pitch"), (*mine, "cricket_height"))
    pitch, high = case.need(mine, "pitch", "cricket_height")
    table = case.edition["chimney.cricket"]
    rows = _cricket_rows(case, table)
    least, most = min(rows), max(rows)
    if not least <= pitch.value <= most:
        return case.finding(
            Verdict.REFER,
            f"A roof of {tidy(pitch.value * 12)}:12 is outside the table, {tidy(least * 12)}:12 to {tidy(most * 12)}:12.",
            basis=basis(table),
            **context,
        )
    asked = corners(cricket_height, wide, pitch)
    rests = [wide_from, table, *([] if pitch.value in rows else [case.edition["chimney.cricket.between"]])]
    work = step(
        "cricket",
        "width along the ridge x rise / 24",
        f"{case.length(wide)} x {tidy(pitch.value * 12)} / 24",
        in_unit(asked.value, case.edition.units),
        case.edition.units,
        case.least(asked.value),
    )
    others = [Reading.exact(0)] if wide.low <= wide_from.number else []
    return case.judge(
        ">=",
        high,
        asked,
        others=others,
        what=f"Behind the chimney on the {roof.name} the cricket is",
        after=" high",
        working=(work,),
        basis=basis(*rests),
        remedy=(f"Build a cricket of {case.least(asked.value)}, flashed and counterflashed.",),
        **context,
    )


def _cricket_rows(case: Case, table: Value) -> dict[Fraction, Fraction]:
    rows = read_table(case.edition.folder, table.table).rows
    slopes = {row["roof_slope"]: row["H_over_W"] for row in rows if ":" in row["roof_slope"]}
    return {
        Fraction(int(slope.split(":")[0]), int(slope.split(":")[1])): Fraction(share)
        for slope, share in slopes.items()
    }


@rule("chimney.roof_framing", "Roof framing beside the chimney", each="roof", asks="clearance.chimney.inside")
def roof_framing(case: Case, roof: Roof) -> Finding | None:
    """Where a chimney passes a roof, its framing keeps the chimney's clear space (IRC R1003.18)."""
    if not roof.passes_through:
        return None
    value = case.edition["clearance.chimney.inside"]
    (gap,) = case.need(of(roof), "framing_gap")
    need = case.least(value.number)
    return case.judge(
        ">=",
        gap,
        Reading.exact(value.number),
        what=f"The framing of the {roof.name} is",
        after=" clear of the chimney",
        item=roof.name,
        basis=basis(value),
        caution="Wood against a chimney takes fire at ever lower temperatures as the years dry it.",
        remedy=(
            f"Head the framing off {need} clear of the masonry; close the space with noncombustible fireblocking, held by metal.",
        ),
    )


@rule("chimney.size_change", "Change of the chimney's size near a roof", each="roof")
def size_change(case: Case, roof: Roof) -> Finding | None:
    """A chimney does not change its size or shape near a roof, floor or ceiling that it passes (IRC R1003.6)."""
    if not roof.passes_through:
        return None
    value = case.edition["chimney.size_change"]
    (gap,) = case.need(of(roof), "size_change_gap")
    return case.judge(
        ">=",
        gap,
        Reading.exact(value.number),
        what="The nearest change of the chimney's size is",
        after=f" from the {roof.name}",
        item=roof.name,
        basis=basis(value),
        remedy=(
            f"Keep the chimney one size for {case.least(value.number)} above and below the {roof.name}.",
        ),
    )


@rule("chimney.arrestor_area", "Free area of the spark screen")
def arrestor_area(case: Case) -> Finding | None:
    """A spark arrestor leaves free several times the flue's area (IRC R1003.9.2)."""
    return _free_area(case, "chimney.arrestor_area", "arrestor_area", "The spark screen leaves")


@rule("chimney.cap_area", "Free area under the cap")
def cap_area(case: Case) -> Finding | None:
    """A rain cap leaves free several times the flue's area (IRC R1003.9.3)."""
    if case.raw(("flue", "cap")) == "none":
        return None
    if case.raw(("flue", "cap")) is None:
        raise NotKnown([case.address("flue", "cap")])
    value = case.edition["chimney.cap_area"]
    if case.raw(("flue", "cap_area")) is None and value:
        raise NotKnown([case.address("flue", "cap_area")])
    return _free_area(case, "chimney.cap_area", "cap_area", "The cap leaves")


def _free_area(case: Case, key: str, entry: str, what: str) -> Finding | None:
    free = case.want(("flue",), entry)
    if free is None:
        return None
    value = case.edition[key]
    flue = flue_of(case)
    asked = flue.area * value.number
    work = step(
        "A_free",
        f"{value.shown} x A_flue",
        f"{value.shown} x {case.area(flue.area)}",
        in_unit(asked.value, case.area_unit),
        case.area_unit,
        case.area(asked, ">="),
    )
    return case.judge(
        ">=",
        free,
        asked,
        what=what,
        after=" free",
        unit="area",
        working=(flue.step, work),
        basis=basis(value, flue.table),
        caution="A screen or cap that is too tight chokes the flue, the more so as soot fills it.",
        remedy=(f"Fit one that leaves {case.area(asked, '>=')} free.",),
    )
