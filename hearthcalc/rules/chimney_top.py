"""The chimney at the roof: height over every roof, crickets, framing, changes of size, and what sits on top."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc.findings import Finding, Verdict
from hearthcalc.quantities import rise_over_run
from hearthcalc.reference import Value, read_quantity, read_table
from hearthcalc.rules.case import MEASURE_FIRST, Case, Entry, Found, Subject, basis, in_unit, rule, step, tidy
from hearthcalc.rules.clearances import by_chimney_place, enclosed, no_longer_outside, standing
from hearthcalc.rules.flue import flue_of
from hearthcalc.rules.reading import Reading, corners, reading, root

LOW = "A chimney too low at a roof draws badly, throws sparks on it, and is blown down by wind that comes over the ridge."
TOP = "The chimney top is"


def cricket_height(width: Fraction, pitch: Fraction) -> Fraction:
    """Height of a cricket behind a chimney that is so wide along the ridge: the rise of the roof over 24, times the width.

    pitch: rise over run.  Source: the rows of IRC Table R1003.20, all of which it reproduces.
    """
    return width * pitch / 2


def rise_over_roof(horizontal: Fraction, pitch: Fraction, least: Fraction) -> Fraction:
    """Height over a pitched roof that puts an outlet so far from its surface, never under a least (ADJ Diagram 17, B)."""
    return max(horizontal * pitch, least)


def over_penetration(radius: Fraction, pitch: Fraction, over: Fraction) -> Fraction:
    """Height over the place where a chimney passes a roof that puts its top so far over all of the roof within a radius.

    radius: level.  pitch: rise over run of a roof that rises on past the radius.  Source: IRC R1003.9 on an even slope.
    """
    return radius * pitch + over


def surface_distance(over: Fraction, pitch: Fraction) -> Fraction:
    """Distance square to a pitched roof of a point that stands so far straight over it."""
    return over / root(1 + pitch * pitch)


def _with_all(case: Case, entry: Entry[Reading]) -> Callable[[], Reading]:
    """An entry as the figure to judge, where all else that the rule has asked for is known too."""

    def found() -> Reading:
        case.all_known()
        return entry.value

    return found


def _raise(case: Case, entry: Entry[Reading], limit: Fraction) -> Callable[[], tuple[str, ...]]:
    """By how much to build the chimney up; worked out only where it falls short."""

    def remedy() -> tuple[str, ...]:
        return (f"Build the chimney up by {case.least(limit - entry.value.value)}, or keep the roof lower.",)

    return remedy


@rule("chimney.above_roof", "Chimney over the roof it passes", each="roof", masonry=True)
def above_roof(case: Case, roof: Subject) -> Finding | None:
    """The chimney's top stands high enough over the highest point where it passes a roof (IRC R1003.9)."""
    if case.flag(roof, "passes_through").known is False:
        return None
    value = case.edition["chimney.above_roof"]
    tell = {
        "by_zone": _by_zone,
        "ridge_or_surface": _ridge_or_surface,
        "ridge_and_surface": _ridge_and_surface,
        "low_roofs": _low_roofs,
        "by_pitch": _by_pitch,
    }.get(value.method, _over_penetration)
    return tell(case, roof, value)


def _low_roofs(case: Case, roof: Subject, value: Value) -> Finding | None:
    """French decree: the outlet stands so far over a flat roof or one of little pitch; a steeper one is held by what is near."""
    if _is_steep(case, roof):
        return None
    case.number(roof, "pitch")  # needed, where it is not known
    finding = _over_penetration(case, roof, value)
    return replace(finding, basis=basis(value, case.edition["chimney.low_roof.below"]))


def _is_steep(case: Case, roof: Subject) -> bool:
    """Is a roof known to be too steep to count as a low one."""
    pitch = case.number(roof, "pitch", needed=False).known
    return pitch is not None and pitch.low >= rise_over_run(case.edition["chimney.low_roof.below"].number)


def _raise_over(
    case: Case, roof: Subject, entry: Entry[Reading], limit: Fraction
) -> Callable[[], tuple[str, ...]]:
    """By how much to build the chimney up so that it is high enough over this roof by both counts, where both are known."""

    def remedy() -> tuple[str, ...]:
        up = max([limit - entry.value.value, *_short_of_roof(case.fresh(), roof)])
        return (f"Build the chimney up by {case.least(up)}, or keep the roof lower.",)

    return remedy


def _short_of_roof(case: Case, roof: Subject) -> Iterator[Fraction]:
    """By how much the top is too low over where it passes a roof, and over what of that roof is near it, as far as it is known."""
    over, high = (
        case.number(roof, name, needed=False).known for name in ("above_penetration", "above_highest")
    )
    away = case.number(roof, "distance", needed=False).known
    passing, near = (case.edition.get(key) for key in ("chimney.above_roof", "chimney.within_radius"))
    radius = case.edition.get("chimney.radius")
    if (
        over
        and passing
        and passing.quantity is not None
        and not (passing.method == "low_roofs" and _is_steep(case, roof))
    ):
        yield passing.number - over.value
    if high and away and near and radius and away.value <= radius.number:
        yield near.number - high.value


def _over_penetration(case: Case, roof: Subject, value: Value) -> Finding:
    over = case.number(roof, "above_penetration")
    return case.judge(
        ">=",
        _with_all(case, over),
        value.number,
        what=TOP,
        over=f"the highest point where it passes the {roof.name}",
        item=roof.name,
        basis=basis(value),
        caution=LOW,
        remedy=_raise_over(case, roof, over, value.number),
    )


def _by_zone(case: Case, roof: Subject, value: Value) -> Finding:
    """ADJ Diagram 17: near the ridge, so much over the ridge; elsewhere so far from the surface, and over it or as high as the ridge."""
    near = case.edition["chimney.zone.near_ridge"]
    away = case.number(roof, "distance")
    if away.known is None:
        return _near_ridge(case, roof, value)
    zones = {getattr(away.known, end) <= near.number for end in ("low", "high")}
    told = [
        (_near_ridge if is_near else _away_from_ridge)(case, roof, value)
        for is_near in sorted(zones, reverse=away.known.value <= near.number)
    ]
    if len({finding.verdict for finding in told}) == 1 or Verdict.MEASURE in {f.verdict for f in told}:
        return told[0]
    return case.finding(
        Verdict.CLOSE,
        f"{told[0].text} The measuring tolerance decides whether the chimney is within {near.shown} of the ridge: measure again.",
        item=roof.name,
        basis=tuple(dict.fromkeys(one for finding in told for one in finding.basis)),
        caution=LOW,
        required=told[0].required,
    )


def _outlet(
    case: Case, roof: Subject, height: Entry[Reading], limit: Reading | Fraction, what: str, **more: Any
) -> Finding:
    """The outlet by its height over a part of a roof. what: where it is, as its sentence begins.  more: over what, on what it rests."""
    return case.judge(
        ">=",
        _with_all(case, height),
        limit,
        what=f"{what} the outlet is",
        item=roof.name,
        caution=LOW,
        remedy=_raise(case, height, reading(limit).value),
        **more,
    )


def _near_ridge(case: Case, roof: Subject, value: Value) -> Finding:
    near, ridge = case.edition["chimney.zone.near_ridge"], case.edition["chimney.zone.over_ridge"]
    over, rests = case.number(roof, "above_highest"), basis(value, near, ridge)
    what = f"Near the ridge of the {roof.name}"
    return _outlet(case, roof, over, ridge.number, what, over="the ridge", basis=rests)


def _passage(roof: Subject) -> str:
    return f"the highest point where it passes the {roof.name}"


def _away_from_ridge(case: Case, roof: Subject, value: Value) -> Finding:
    edition = case.edition
    clear, least = edition["chimney.zone.clear"], edition["chimney.zone.over_surface"]
    rests = basis(value, edition["chimney.zone.near_ridge"], clear, least)
    over_ridge, ridge = case.number(roof, "above_highest"), Fraction(0)
    if over_ridge.known and over_ridge.known.value > ridge and case.flag(roof, "passes_through").known:
        return case.judge(
            ">=",
            over_ridge,
            ridge,
            what=f"Away from the ridge of the {roof.name} the outlet is",
            over="the ridge",
            item=roof.name,
            basis=rests,
        )
    over, pitch = case.number(roof, "above_penetration"), case.number(roof, "pitch")
    limit = corners(lambda p: rise_over_roof(clear.number, p, least.number), pitch.value)
    work = step(
        "over the roof",
        f"{case.least(clear.number)} x pitch, {case.least(least.number)} minimum",
        f"{case.least(clear.number)} x {tidy(pitch.value.value)}",
        in_unit(limit.value, edition.units),
        edition.units,
        case.least(limit.value),
    )
    return _outlet(
        case, roof, over, limit, "Away from the ridge", over=_passage(roof), working=(work,), basis=rests
    )


def _ridge_or_surface(case: Case, roof: Subject, value: Value) -> Finding:
    """German rule: the outlet stands so far over the ridge, or so far from the surface of the roof; the better one counts."""
    ridge, clear = case.edition["chimney.ridge.over"], case.edition["chimney.surface.clear"]
    over_ridge = case.number(roof, "above_highest")
    over, pitch = case.number(roof, "above_penetration"), case.number(roof, "pitch")
    common: dict[str, Any] = {"item": roof.name, "basis": basis(value, ridge, clear), "caution": LOW}

    def raised() -> tuple[str, ...]:
        by_surface = clear.number * root(1 + pitch.value.value**2) - over.value.value
        up = min(ridge.number - over_ridge.value.value, by_surface)
        return (f"Build the chimney up by {case.least(up)}.",)

    def by_ridge(found: Found) -> Finding:
        return case.judge(
            ">=",
            found,
            ridge.number,
            what="The outlet is",
            over=f"the ridge of the {roof.name}",
            build=(
                f"Or build the outlet {clear.shown} from the surface of the roof, measured square to it.",
            ),
            **common,
        )

    told = [by_ridge(over_ridge)] if over_ridge.known else []
    if over.known and pitch.known:
        away = corners(surface_distance, over.known, pitch.known)
        told.append(
            case.judge(
                ">=",
                away,
                clear.number,
                what="The outlet is",
                after=f" from the surface of the {roof.name}",
                remedy=raised if over_ridge.known else (),
                **common,
            )
        )
    best = min(reversed(told), key=lambda finding: list(Verdict).index(finding.verdict), default=None)
    if (
        best is None
        or not case.flag(roof, "passes_through").known
        or (len(told) < 2 and best.verdict is not Verdict.MEETS)
    ):
        return by_ridge(_with_all(case, over_ridge))
    return best


class _Outlet(Struct, frozen=True):
    """A printed row. pitch: rise over run.  within: level distance to the ridge, in.  over_ridge, over_roof: in."""

    printed: str
    pitch: Fraction
    within: Fraction
    over_ridge: Fraction
    over_roof: Fraction


def _outlets(case: Case, value: Value) -> list[_Outlet]:
    """The rows of a table of outlets, the flattest roof first."""
    rows = read_table(case.edition.folder, value.table).rows
    return [
        _Outlet(
            row["pitch"],
            rise_over_run(read_quantity(row["pitch"]).number),
            *(read_quantity(row[name]).number for name in ("ridge_within", "over_ridge", "over_roof")),
        )
        for row in rows
    ]


def _by_pitch(case: Case, roof: Subject, value: Value) -> Finding:
    """Italian standard: by printed pitches, so much over a ridge that is near, else so much over the roof.

    Between two printed pitches both rows count; at a printed distance both heights do. Where they differ a person decides.
    """
    rows = _outlets(case, value)
    pitch, away = case.number(roof, "pitch"), case.number(roof, "distance")
    case.all_known()
    low = [row.pitch for row in rows if row.pitch <= pitch.value.value]
    high = [row.pitch for row in rows if row.pitch >= pitch.value.value]
    if not low or not high:
        return case.finding(
            Verdict.REFER,
            f"The table begins at a pitch of {rows[0].printed} and ends at {rows[-1].printed}: this roof is outside of it.",
            item=roof.name,
            basis=basis(value),
            caution=LOW,
        )
    beside = [row for row in rows if low[-1] <= row.pitch <= high[0]]
    near = [row for row in beside if away.value.low <= row.within]
    far = [row for row in beside if away.value.high >= row.within]
    told = [_over_ridge(case, roof, value, near)] if near else []
    told += [_over_roof(case, roof, value, far)] if far else []
    if len({finding.verdict for finding in told}) == 1:
        return told[-1]
    waiting = [finding for finding in told if finding.verdict is Verdict.MEASURE]
    if waiting:
        return waiting[0]
    by_tape = all(away.value.value < row.within for row in beside) or all(
        away.value.value > row.within for row in beside
    )
    why = (
        "The measuring tolerance decides whether the ridge is near: measure again."
        if by_tape
        else "The table does not say which of the two holds here."
    )
    return case.finding(
        Verdict.CLOSE if by_tape else Verdict.REFER,
        f"{' '.join(finding.text for finding in told)} {why}",
        item=roof.name,
        basis=basis(value),
        caution=LOW,
    )


def _over_ridge(case: Case, roof: Subject, value: Value, rows: list[_Outlet]) -> Finding:
    over, limit = case.number(roof, "above_highest"), max(row.over_ridge for row in rows)
    ridge = f"the ridge of the {roof.name}"
    return _outlet(case, roof, over, limit, "Near the ridge", over=ridge, basis=basis(value))


def _over_roof(case: Case, roof: Subject, value: Value, rows: list[_Outlet]) -> Finding:
    """Away from the ridge. Between two rows that ask for different heights, one over the lesser alone is not settled."""
    over = case.number(roof, "above_penetration")
    least, most = (end(row.over_roof for row in rows) for end in (min, max))
    finding = _outlet(case, roof, over, most, "Away from the ridge", over=_passage(roof), basis=basis(value))
    if finding.verdict is not Verdict.SHORT or over.value.high < least:
        return finding
    pitches = " and ".join(row.printed for row in rows)
    return case.referred(
        finding,
        f"The roof is between the rows of the table for {pitches}: at the flatter, {case.least(least)} would do.",
    )


def _ridge_and_surface(case: Case, roof: Subject, value: Value) -> Finding:
    """Swedish advice: the outlet stands over the ridge, and so far over the covering of the roof."""
    ridge, clear = case.edition["chimney.ridge.over"], case.edition["chimney.surface.clear"]
    over_ridge = case.number(roof, "above_highest")
    common: dict[str, Any] = {"item": roof.name, "basis": basis(value, ridge, clear), "caution": LOW}
    if over_ridge.known and over_ridge.known.value < ridge.number:
        return case.judge(
            ">=",
            _with_all(case, over_ridge),
            ridge.number,
            what="The outlet is",
            over=f"the ridge of the {roof.name}",
            remedy=_raise(case, over_ridge, ridge.number),
            **common,
        )
    if over_ridge.known and over_ridge.known.value == ridge.number:
        return case.finding(
            Verdict.REFER,
            f"The outlet is entered as level with the ridge of the {roof.name}, and it should stand over it: measure how far.",
            **common,
        )
    over = case.number(roof, "above_penetration")
    return case.judge(
        ">=",
        _with_all(case, over),
        clear.number,
        what="The outlet is",
        over=f"the covering of the {roof.name}",
        remedy=_raise(case, over, clear.number),
        **common,
    )


@rule("chimney.within_radius", "Chimney over what is near it", each="roof")
def within_radius(case: Case, roof: Subject) -> Finding | None:
    """The chimney's top stands over any part of the building within a radius (IRC R1003.9).

    Where the highest part of a roof is farther away, a roof that the chimney passes still rises within the radius; of one that it
    stands beside, nobody has said what is within it.
    """
    value, radius = case.edition["chimney.within_radius"], case.edition["chimney.radius"]
    others_only = value.method == "other_parts"
    passes = case.flag(roof, "passes_through", needed=others_only)
    if others_only and passes.known:
        return None
    away = case.number(roof, "distance")
    over = case.number(roof, "above_highest", needed=False)
    beyond = away.known is not None and away.known.value > radius.number
    if beyond and not (over.known and over.known.value >= value.number):
        if passes.known:
            return _slope_within(case, roof, value, radius)
        if passes.known is False and over.known and away.value.low > radius.number:
            return _beside(case, roof, value, radius)
        case.flag(roof, "passes_through")
    if away.known is None and passes.known and (short := _short_anyway(case, roof, value, radius)):
        return short
    return _over_highest(case, roof, value, radius)


def _short_anyway(case: Case, roof: Subject, value: Value, radius: Value) -> Finding | None:
    """A chimney that is too low over a roof it passes wherever the highest part of that is: too low over it, and over its slope."""
    mine = case.fresh()
    over, high, pitch = (mine.number(roof, name) for name in ("above_highest", "above_penetration", "pitch"))
    if over.known is None or high.known is None or pitch.known is None or over.known.high >= value.number:
        return None
    finding = _slope_within(mine, roof, value, radius)
    if finding.verdict is not Verdict.SHORT:
        return None
    case.asked.read |= mine.asked.read
    return case.judge(
        ">=",
        over.known,
        value.number,
        what=TOP,
        over=f"the highest part of the {roof.name}",
        item=roof.name,
        basis=basis(value, radius),
        caution=LOW,
        remedy=(MEASURE_FIRST,),
    )


def _over_highest(case: Case, roof: Subject, value: Value, radius: Value) -> Finding:
    """The highest part of the roof counts: it is within the radius, or the chimney is over it by enough wherever it is."""
    away, over = case.number(roof, "distance"), case.number(roof, "above_highest")
    enough = over.known and over.known.value >= value.number
    finding = case.judge(
        ">=",
        over if enough else _with_all(case, over),
        value.number,
        what=TOP,
        over=f"the highest part of the {roof.name}" + ("" if enough else f" within {radius.shown}"),
        item=roof.name,
        basis=basis(value, radius),
        caution=LOW,
        remedy=_raise_over(case, roof, over, value.number),
    )
    at_the_edge = away.known and away.known.high > radius.number
    if not at_the_edge or finding.verdict in (Verdict.MEETS, Verdict.MEASURE):
        return finding
    if case.flag(roof, "passes_through", needed=False).known:
        return finding
    return case.finding(
        Verdict.CLOSE,
        f"The highest part of the {roof.name} is {case.length(away.value)} away: the measuring tolerance decides whether it is within "
        f"{radius.shown}, where {case.least(value.number)} over it is the minimum. Measure again.",
        item=roof.name,
        basis=finding.basis,
        caution=LOW,
        required=finding.required,
        remedy=finding.remedy,
    )


def _slope_within(case: Case, roof: Subject, value: Value, radius: Value) -> Finding:
    """A roof that the chimney passes and whose highest part is beyond the radius: it rises by its pitch up to there."""
    over, pitch = case.number(roof, "above_penetration"), case.number(roof, "pitch")
    limit = corners(lambda p: over_penetration(radius.number, p, value.number), pitch.value)
    rise = case.least(limit.value - value.number)
    work = step(
        "over the roof",
        f"{radius.shown} x pitch + {value.shown}",
        f"{radius.shown} x {tidy(pitch.value.value)} + {value.shown}",
        in_unit(limit.value, case.edition.units),
        case.edition.units,
        case.least(limit.value),
    )
    return case.judge(
        ">=",
        over,
        limit,
        what=TOP,
        over=f"the highest point where it passes the {roof.name}, which rises {rise} from there within {radius.shown}",
        item=roof.name,
        working=(work,),
        basis=basis(value, radius),
        caution=LOW,
        remedy=_raise_over(case, roof, over, limit.value),
    )


def _beside(case: Case, roof: Subject, value: Value, radius: Value) -> Finding:
    """A roof beside the chimney whose highest part is beyond the radius: what of it is nearer is not entered."""
    away, over = case.number(roof, "distance").value, case.number(roof, "above_highest").value
    by = f"{case.length(abs(over.value))} {'below' if over.value < 0 else 'over'} it"
    return case.finding(
        Verdict.REFER,
        f"The highest part of the {roof.name} is {case.length(away)} away, beyond {radius.shown}, and the chimney top is {by}; "
        f"{case.least(value.number)} minimum over any part within {radius.shown}. Enter the highest part that is within "
        f"{radius.shown}; where no part is, take this roof out of the job.",
        item=roof.name,
        basis=basis(value, radius),
        caution=LOW,
    )


@rule("chimney.cricket", "Cricket behind the chimney", each="roof")
def cricket(case: Case, roof: Subject) -> Finding | None:
    """A wide chimney that does not cross the ridge has a cricket, by the slope of the roof (IRC R1003.20)."""
    if case.flag(roof, "passes_through").known is False:
        return None
    wide_from = case.edition["chimney.cricket.from"]
    wide = case.number(roof, "width_along_ridge")
    if wide.known and wide.known.high <= wide_from.number:
        return case.finding(
            Verdict.MEETS,
            f"Along the ridge the chimney is {case.length(wide.known)} wide; it takes a cricket from more than "
            f"{case.least(wide_from.number)}.",
            item=roof.name,
            basis=basis(wide_from),
        )
    table, crosses = case.edition.get("chimney.cricket"), case.flag(roof, "crosses_ridge")
    if table is None:
        return _cricket_without_table(case, roof, wide_from)
    if crosses.known:
        return case.finding(
            Verdict.MEETS,
            "The chimney crosses the ridge: it takes no cricket.",
            item=roof.name,
            basis=basis(wide_from, table),
        )
    return _cricket_by_table(case, roof, table, wide_from)


def _cricket_without_table(case: Case, roof: Subject, wide_from: Value) -> Finding:
    """Where the code asks for a cricket and gives no height: that there is one."""
    wide, crosses = case.number(roof, "width_along_ridge"), case.flag(roof, "crosses_ridge")
    high = case.number(roof, "cricket_height", needed=not crosses.known)
    case.all_known()
    told = (
        f"Along the ridge the chimney is {case.length(wide.value)} wide; it takes a cricket from more than "
        f"{case.least(wide_from.number)}"
    )
    common: dict[str, Any] = {"item": roof.name, "basis": basis(wide_from)}
    if not crosses.value and high.value.value == 0 and wide.value.low > wide_from.number:
        return case.finding(
            Verdict.SHORT,
            f"{told}, and there is none.",
            remedy=("Build a cricket, flashed and counterflashed; ask the building department how high.",),
            **common,
        )
    asked = "Does it take one where it crosses the ridge" if crosses.value else "How high does it have to be"
    return case.finding(Verdict.REFER, f"{told}. {asked}? Ask the building department.", **common)


def _cricket_by_table(case: Case, roof: Subject, table: Value, wide_from: Value) -> Finding:
    wide, pitch = case.number(roof, "width_along_ridge"), case.number(roof, "pitch")
    high = case.number(roof, "cricket_height")
    rows = _cricket_rows(case, table)
    least, most = min(rows), max(rows)
    if pitch.known and not least <= pitch.known.value <= most:
        return case.finding(
            Verdict.REFER,
            f"A roof of {tidy(pitch.known.value * 12)}:12 is outside the table, {tidy(least * 12)}:12 to {tidy(most * 12)}:12.",
            item=roof.name,
            basis=basis(table),
        )
    limit = corners(cricket_height, wide.value, pitch.value)
    between = None if pitch.value.value in rows else case.edition["chimney.cricket.between"]
    work = step(
        "cricket",
        "width along the ridge x rise / 24",
        f"{case.length(wide.value)} x {tidy(pitch.value.value * 12)} / 24",
        in_unit(limit.value, case.edition.units),
        case.edition.units,
        case.least(limit.value),
    )
    return case.judge(
        ">=",
        _with_all(case, high),
        limit,
        others=[Reading.exact(0)] if wide.value.low <= wide_from.number else [],
        what=f"Behind the chimney on the {roof.name} the cricket is",
        after=" high",
        item=roof.name,
        working=(work,),
        basis=basis(wide_from, table, between),
        build=(f"Build a cricket of {case.least(limit.value)}, flashed and counterflashed.",),
    )


def _cricket_rows(case: Case, table: Value) -> dict[Fraction, Fraction]:
    rows = read_table(case.edition.folder, table.table).rows
    slopes = {row["roof_slope"]: row["H_over_W"] for row in rows if ":" in row["roof_slope"]}
    return {
        Fraction(int(slope.split(":")[0]), int(slope.split(":")[1])): Fraction(share)
        for slope, share in slopes.items()
    }


@rule("chimney.roof_framing", "Roof framing beside the chimney", each="roof", asks="clearance.chimney.inside")
def roof_framing(case: Case, roof: Subject) -> Finding | None:
    """Where a chimney passes a roof, its framing keeps the chimney's clear space (IRC R1003.18)."""
    if case.flag(roof, "passes_through").known is False:
        return None
    by_place = by_chimney_place(case)
    gap = case.number(roof, "framing_gap")
    limits = standing(case, gap.known, by_place)
    finding = case.judge(
        ">=",
        _with_all(case, gap),
        limits[0].number,
        others=[limit.number for limit in limits[1:]],
        what=f"The framing of the {roof.name} is",
        after=" clear of the chimney",
        item=roof.name,
        basis=basis(*limits),
        caution="Wood against a chimney takes fire at ever lower temperatures as the years dry it.",
        build=(
            f"Head the framing off {case.least(limits[0].number)} clear of the masonry; close the space with noncombustible "
            "fireblocking, held by metal.",
        ),
    )
    inside = by_place["inside"].number
    outside_only = finding.verdict is Verdict.MEETS and gap.known is not None and gap.known.value < inside
    return no_longer_outside(case, finding, by_place) if outside_only and enclosed(case) else finding


@rule("chimney.size_change", "Change of the chimney's size near a roof", each="roof")
def size_change(case: Case, roof: Subject) -> Finding | None:
    """A chimney does not change its size or shape near a roof, floor or ceiling that it passes (IRC R1003.6)."""
    if case.flag(roof, "passes_through").known is False:
        return None
    value = case.edition["chimney.size_change"]
    return case.judge(
        ">=",
        _with_all(case, case.number(roof, "size_change_gap")),
        value.number,
        what="The nearest change of the chimney's size is",
        after=f" from the {roof.name}",
        item=roof.name,
        basis=basis(value),
        build=(f"Keep the chimney one size for {case.least(value.number)} above and below the {roof.name}.",),
    )


@rule("chimney.arrestor_area", "Free area of the spark screen")
def arrestor_area(case: Case) -> Finding | None:
    """A spark arrestor, where there is one, leaves free several times the flue's area (IRC R1003.9.2)."""
    free = case.number("flue", "arrestor_area")
    if free.known is None and not case.edition.get("chimney.arrestor_area"):
        return None
    if free.known and not free.known.value:
        return case.finding(Verdict.MEETS, "No spark screen is entered.")
    return _free_area(case, case.edition["chimney.arrestor_area"], free, "The spark screen leaves")


@rule("chimney.cap_area", "Free area under the cap")
def cap_area(case: Case) -> Finding | None:
    """A rain cap leaves free several times the flue's area (IRC R1003.9.3)."""
    cap = case.word("flue", "cap").known
    if cap == "none":
        return None
    free = case.number("flue", "cap_area", needed=cap is not None)
    return _free_area(case, case.edition["chimney.cap_area"], free, "The cap leaves")


def _free_area(case: Case, value: Value, free: Entry[Reading], what: str) -> Finding:
    flue = flue_of(case)
    limit = flue.area * value.number
    work = step(
        "A_free",
        f"{value.shown} x A_flue",
        f"{value.shown} x {case.area(flue.area)}",
        in_unit(limit.value, case.area_unit),
        case.area_unit,
        case.area(limit, ">="),
    )
    return case.judge(
        ">=",
        _with_all(case, free),
        limit,
        what=what,
        after=" free",
        unit="area",
        working=(flue.step, work),
        basis=basis(value, flue.table),
        caution="A screen or cap that is too tight chokes the flue, the more so as soot fills it.",
        build=(f"Fit one that leaves {case.area(limit, '>=')} free.",),
    )
