"""Air: what the codes ask for the fire, beside exhaust fans, and for gas."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Any

from hearthcalc.findings import Bound, Finding, Step, Verdict
from hearthcalc.job import Fan
from hearthcalc.reference import Value, read_table
from hearthcalc.rules.case import Case, NotKnown, basis, in_unit, rule, step, tidy
from hearthcalc.rules.flue import flue_of
from hearthcalc.rules.openings import entries, opening_area
from hearthcalc.rules.reading import Reading, at_least

AIR = ("air",)
BTU_PER_W = Fraction(3600) / Fraction("1055.05585262")


def gas_input_btu(power: Fraction) -> Fraction:
    """A gas input in Btu/h, from W. Source: NIST SP 811, 1 Btu(IT)/h = 0.293 071 070 172 W."""
    return power * BTU_PER_W


@rule("air.exterior_duct", "Outside air for the fire", asks="air.exterior_duct.least")
def exterior_duct(case: Case) -> Finding:
    """A passage brings outside air to the fire, of an area between two limits (IRC R1006.4)."""
    least, most = case.edition["air.exterior_duct.least"], case.edition["air.exterior_duct.most"]
    (duct,) = case.need(AIR, "exterior_duct")
    common: dict[str, Any] = {
        "what": "The outside air passage is",
        "unit": "area",
        "basis": basis(least, most),
        "remedy": (
            f"Bring in a passage of {case.area(least.number)} to {case.area(most.number)}, unless the room "
            "is ventilated to neutral or positive pressure.",
        ),
    }
    if duct.value > most.number:
        return case.judge("<=", duct, Reading.exact(most.number), **common)
    finding = case.judge(">=", duct, Reading.exact(least.number), **common)
    note = "A passage within the code's sizes does not feed an open fire, which draws hundreds of cfm."
    return replace(finding, text=f"{finding.text} {note}")


@rule("air.vent", "Permanent vent in the room")
def vent(case: Case) -> Finding | None:
    """A permanent vent feeds the room: a share of the throat, the flue or the openings, or a fixed area (ADJ Table 2.1)."""
    value = case.edition.get("air.vent")
    if value is None:
        return None
    (free,) = case.need(AIR, "vent")
    asked, work = _asked_vent(case, value)
    return case.judge(
        ">=",
        free,
        asked,
        what="Permanent vents to outdoors leave",
        after=" free",
        unit="area",
        working=work,
        basis=basis(value),
    )


def _asked_vent(case: Case, value: Value) -> tuple[Reading, tuple[Step, ...]]:
    if value.method == "fixed":
        return Reading.exact(value.number), ()
    if value.method == "share_of_throat":
        deep, wide = case.need(("firebox",), "throat_depth", "throat_width")
        of, symbol = deep * wide, "A_throat"
    elif value.method == "share_of_flue":
        of, symbol = flue_of(case).area, "A_flue"
    else:
        case.require(*(path for face in case.job.face for path in entries(face)))
        of, symbol = (
            sum((opening_area(case, face) for face in case.job.face), start=Reading.exact(0)),
            "A_open",
        )
    asked = of * value.number
    work = step(
        "A_vent",
        f"{value.shown} x {symbol}",
        f"{value.shown} x {case.area(of)}",
        in_unit(asked.value, case.area_unit),
        case.area_unit,
        case.area(asked, ">="),
    )
    return asked, (work,)


@rule("air.makeup", "Make-up air for exhaust fans", masonry=False)
def makeup(case: Case) -> Iterator[Finding]:
    """Each exhaust system above a flow has make-up air of about its own rate, where an open fire shares the house (IRC M1503.6)."""
    value = case.edition["air.makeup"]
    fans = case.job.air.fans
    if fans is None:
        raise NotKnown([case.address("air", "fans")])
    indoors = [fan for fan in fans if fan.where != "beyond"]
    if not indoors:
        yield case.finding(Verdict.MEETS, "No exhaust fan is entered in the house.", basis=basis(value))
    if value.method in ("not_in_room", "interlocked"):
        yield from _fans_beside_a_fire(case, value, indoors)
        return
    flows = {fan.name: case.want(("air", "fans", fan.name or ""), "flow") for fan in indoors}
    strong = [flow.value for flow in flows.values() if flow and flow.value > value.number]
    for fan in indoors:
        if flows[fan.name] is None:
            yield case.missing([case.address("air", "fans", fan.name or "", "flow")], item=fan.name)
            continue
        flow = flows[fan.name].value
        rate = f"{tidy(flow)} cfm"
        if flow <= value.number:
            edge = ", exactly at the limit" if flow == value.number else ""
            yield case.finding(
                Verdict.MEETS,
                f"The {fan.name} moves {rate}{edge}; make-up air is asked for above {value.shown}.",
                item=fan.name,
                basis=basis(value),
            )
            continue
        supply = case.want(AIR, "makeup")
        if supply is None:
            yield case.missing([case.address("air", "makeup")], item=fan.name)
            continue
        every = [one if value.method == "whole_rate" else one - value.number for one in strong]
        asked = sum(every, start=Fraction(0))
        sharing = ", for all such fans together," if len(every) > 1 else ""
        met = supply.value >= asked
        yield case.finding(
            Verdict.MEETS if met else Verdict.SHORT,
            f"The {fan.name} moves {rate}; make-up air of about {tidy(asked)} cfm{sharing} is asked for, "
            f"and {tidy(supply.value)} cfm is entered.",
            item=fan.name,
            basis=basis(value),
            required=Bound(">=", asked, "cfm", f"{tidy(asked)} cfm"),
            found=Bound("=", supply.value, "cfm", f"{tidy(supply.value)} cfm"),
            remedy=()
            if met
            else (
                "Give the fan make-up air of its own, that opens with it, in the same room or joined to it; or fit a smaller fan.",
            ),
            caution=None
            if met
            else "A strong fan pulls the fire's smoke and carbon monoxide back into the house.",
        )


def _fans_beside_a_fire(case: Case, value: Value, fans: list[Fan]) -> Iterator[Finding]:
    """ADJ 1.20: no extract fan in the room of the fire. German FeuVO 4(2): fans and fire never at once, or watched."""
    for fan in fans:
        if value.method == "not_in_room" and fan.where == "room":
            yield case.finding(
                Verdict.SHORT,
                f"The {fan.name} draws from the room of the fire; no extract fan may stand there.",
                item=fan.name,
                basis=basis(value),
                remedy=("Take the fan out of that room.",),
                caution="A fan in the room pulls the fire's smoke and carbon monoxide into it.",
            )
            continue
        told = {
            "not_in_room": "it may not make the fire spill: have that tested with the fan at its highest setting",
            "interlocked": "it may not run while the fire burns, or both are watched by a device made for it",
        }[value.method]
        yield case.finding(
            Verdict.REFER, f"The {fan.name} draws from the house: {told}.", item=fan.name, basis=basis(value)
        )


@rule("air.gas_room_volume", "Room volume for a gas fire", masonry=False)
def gas_room_volume(case: Case) -> Finding | None:
    """A room that feeds a gas fire with its own air is large enough for it (NFPA 54 9.3.2.1)."""
    if not _gas(case):
        return None
    value = case.edition["air.gas_room_volume"]
    case.require((*AIR, "gas_input"), (*AIR, "room_volume"))
    power, volume = case.need(AIR, "gas_input", "room_volume")
    btu = gas_input_btu(power.value)
    asked = btu / 1000 * value.number
    work = step(
        "V",
        f"{value.shown} for each 1000 Btu/h",
        f"{value.shown} x {tidy(btu / 1000)}",
        asked,
        "ft3",
        f"{tidy(asked, '>=')} ft3",
    )
    met = at_least(volume, Reading.exact(asked)).verdict
    context: dict[str, Any] = {
        "working": (work,),
        "basis": basis(value, case.edition.get("air.gas_one_opening")),
        "required": Bound(">=", asked, "ft3", f"{tidy(asked, '>=')} ft3"),
        "found": Bound("=", volume.value, "ft3", f"{tidy(volume.value)} ft3"),
    }
    if met is Verdict.MEETS:
        return case.finding(
            Verdict.MEETS, f"The room has {tidy(volume.value)} ft3 for {tidy(btu)} Btu/h.", **context
        )
    small = f"The room has {tidy(volume.value)} ft3 for {tidy(btu)} Btu/h; {tidy(asked, '>=')} ft3 are asked for without openings."
    opening, free = case.edition.get("air.gas_one_opening"), case.want(AIR, "vent")
    if opening and free and free.value >= btu * opening.number:
        return case.finding(
            Verdict.REFER,
            f"{small} The vent of {case.area(free)} makes up for that where it is high in the room and opens straight to "
            "outdoors: look whether it does.",
            **context,
        )
    return case.finding(
        Verdict.SHORT,
        small,
        remedy=tuple(_gas_openings(case, btu)),
        caution="A gas fire short of air makes carbon monoxide.",
        **context,
    )


def _gas(case: Case) -> bool:
    return bool(case.raw((*AIR, "gas_input")) and case.raw((*AIR, "gas_input")).value) or case.raw(
        (*AIR, "gas_logs")
    ) not in (None, "none")


def _gas_openings(case: Case, btu: Fraction) -> Iterator[str]:
    """The openings that make up for a small room (NFPA 54 9.3.2.3, 9.3.3)."""
    rows = (
        (
            "air.gas_joined_rooms",
            "Make two openings to a larger room on the same storey, one high and one low, each of",
        ),
        ("air.gas_two_openings", "Or two openings straight to outdoors, one high and one low, each of"),
        ("air.gas_two_horizontal", "Or the same by horizontal ducts, each of"),
        ("air.gas_one_opening", "Or one opening to outdoors, high in the room, of"),
    )
    floor = case.edition.get("air.gas_joined_rooms.least")
    for key, words in rows:
        value = case.edition.get(key)
        if value is None:
            continue
        asked = btu * value.number / (1000 if key == "air.gas_joined_rooms" else 1)
        if key == "air.gas_joined_rooms" and floor:
            asked = max(asked, floor.number)
        yield f"{words} {case.area(asked, '>=')} free."


@rule("gas_logs.damper_opening", "Opening of the damper for gas logs", masonry=False)
def damper_opening(case: Case) -> Finding | None:
    """The damper leaves a permanent opening for an unlisted gas log set, by its input and the chimney's height (NFPA 54 Table 10.6.2.3)."""
    kind = case.raw((*AIR, "gas_logs"))
    if kind in (None, "none"):
        return None
    value = case.edition["gas_logs.damper_opening"]
    if kind != "unlisted":
        return case.finding(
            Verdict.REFER,
            f"Gas logs that are {kind} follow their listing and the maker's instructions, not this table.",
            basis=basis(value),
            caution="Vent-free logs send all they burn into the room." if kind == "vent-free" else None,
        )
    case.require((*AIR, "gas_input"), ("flue", "height"), ("firebox", "damper_area"))
    power, height, opening = (
        case.need(AIR, "gas_input")[0],
        case.need(("flue",), "height")[0],
        case.need(("firebox",), "damper_area")[0],
    )
    btu = gas_input_btu(power.value)
    most = largest_input(_damper_rows(case, value.table), height.value, opening.value)
    shown = f"{tidy(btu)} Btu/h at {case.area(opening)} free and a chimney of {case.length(height)}"
    if most is None:
        return case.finding(Verdict.REFER, f"{shown} is outside the table.", basis=basis(value))
    context: dict[str, Any] = {
        "basis": basis(value),
        "required": Bound("<=", most, "Btu/h", f"{tidy(most)} Btu/h"),
        "found": Bound("=", btu, "Btu/h", f"{tidy(btu)} Btu/h"),
    }
    if btu <= most:
        return case.finding(Verdict.MEETS, f"{shown}: the table allows {tidy(most)} Btu/h.", **context)
    return case.finding(
        Verdict.SHORT,
        f"{shown}: the table allows only {tidy(most)} Btu/h.",
        caution="A damper closed too far spills the gas fire's fumes into the room.",
        remedy=("Fix the damper open further, or fit a smaller set.",),
        **context,
    )


def largest_input(
    rows: dict[Fraction, dict[Fraction, int]], height: Fraction, opening: Fraction
) -> int | None:
    """The largest gas input for a chimney height, inches, and a free opening, in2; Btu/h, None outside the table.

    Between printed cells the smaller capacity holds.
    """
    heights = [h for h in rows if h <= height]
    if not heights or height > max(rows):
        return None
    row = rows[max(heights)]
    openings = [a for a in row if a <= opening]
    if not openings or opening > max(row):
        return None
    return row[max(openings)]


def _damper_rows(case: Case, name: str) -> dict[Fraction, dict[Fraction, int]]:
    rows = {}
    for row in read_table(case.edition.folder, name).rows:
        height = Fraction(row["chimney_height"].removeprefix("chimney_").removesuffix("ft")) * 12
        rows[height] = {
            Fraction(column.removeprefix("opening_").removesuffix("in2")): int(cell)
            for column, cell in row.items()
            if column.startswith("opening_")
        }
    return rows
