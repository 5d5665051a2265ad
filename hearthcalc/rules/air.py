"""Air: what the codes ask for the fire, beside exhaust fans, and for gas."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from math import ceil
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc.findings import Finding, Step, Verdict
from hearthcalc.job import Fan
from hearthcalc.reference import Value, read_table
from hearthcalc.rules.case import Case, Entry, Found, basis, in_unit, rule, step, tidy
from hearthcalc.rules.flue import flue_of
from hearthcalc.rules.openings import openings
from hearthcalc.rules.reading import Reading

BTU_PER_W = Fraction(3600) / Fraction("1055.05585262")
SPILLS = "A strong fan pulls the fire's smoke and carbon monoxide back into the house."
STARVED = "A gas fire short of air makes carbon monoxide."

Rows = Mapping[Fraction, Mapping[Fraction, int]]


def gas_input_btu(power: Fraction) -> Fraction:
    """A gas input in Btu/h, from W. Source: NIST SP 811, 1 Btu(IT)/h = 0.293 071 070 172 W."""
    return power * BTU_PER_W


def standard_volume(btu: Fraction, each: Fraction) -> Fraction:
    """The room volume that feeds a gas input, ft3. btu: Btu/h.  each: ft3 for 1000 Btu/h (NFPA 54 9.3.2.1)."""
    return btu / 1000 * each


def known_rate_volume(btu: Fraction, changes: Fraction, each: Fraction, most: Fraction) -> Fraction:
    """The room volume that feeds a gas input where the air changes are known, ft3 (NFPA 54 9.3.2.2).

    btu: Btu/h.  changes: air changes an hour, above 0; no more than `most` of them count.  each: ft3 for 1000 Btu/h at one change.
    """
    return btu / 1000 * each / min(changes, most)


def outdoor_share(volume: Fraction, required: Fraction) -> Fraction:
    """The share of the full outdoor opening that is left where a room has part of the volume it needs (NFPA 54 9.3.4)."""
    return max(Fraction(0), 1 - volume / required)


@rule("air.exterior_duct", "Outdoor air for the fire", asks="air.exterior_duct.least")
def exterior_duct(case: Case) -> Finding:
    """A passage brings outdoor air to the fire, of an area between two limits (IRC R1006.4)."""
    least, most = case.edition["air.exterior_duct.least"], case.edition["air.exterior_duct.most"]
    duct = case.number("air", "exterior_duct")
    large = duct.known is not None and duct.known.value >= most.number
    finding = case.judge(
        "<=" if large else ">=",
        duct,
        most.number if large else least.number,
        what="The outdoor air passage is",
        after="" if duct.known else f" for the outdoor air passage, {case.area(most.number)} maximum",
        unit="area",
        basis=basis(least, most),
        build=(
            f"Run a passage of {case.area(least.number)} to {case.area(most.number)}, unless a fan keeps the room at neutral "
            "or positive pressure.",
        ),
    )
    if finding.verdict is not Verdict.MEETS:
        return finding
    note = "A passage of the code's size does not feed an open fire, which draws hundreds of cfm."
    return replace(finding, text=f"{finding.text} {note}")


@rule("air.vent", "Permanent vent in the room")
def vent(case: Case) -> Finding | None:
    """A permanent vent feeds the room: a share of the throat, the flue or the openings, or a fixed area (ADJ Table 2.1)."""
    value = case.edition.get("air.vent")
    if value is None:
        return None
    free = case.number("air", "vent")
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
        build=(f"Put in permanent vents with {case.area(asked, '>=')} free between them.",),
    )


def _asked_vent(case: Case, value: Value) -> tuple[Reading, tuple[Step, ...]]:
    if value.method == "fixed":
        return Reading.exact(value.number), ()
    if value.method == "share_of_throat":
        deep, wide = case.number("firebox", "throat_depth"), case.number("firebox", "throat_width")
        of, symbol = deep.value * wide.value, "A_throat"
    elif value.method == "share_of_flue":
        of, symbol = flue_of(case).area, "A_flue"
    else:
        faces = openings(case, case.faces)
        of, symbol = sum((made.area for made in faces), start=Reading.exact(0)), "A_open"
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
    fans: Entry[tuple[Fan, ...]] = case.listed("air", "fans")
    beside = value.method in ("not_in_room", "interlocked", "tested")

    def strongest() -> Reading:
        return max((case.number(fan, "flow").value for fan in fans.value), key=lambda flow: flow.value)

    if fans.known is None and not beside:
        yield _weak(case, value, strongest, "The strongest fan")
        return
    where = {fan.name: case.word(fan, "where").known for fan in fans.value}
    indoors = [fan for fan in fans.value if where[fan.name] != "beyond"]
    if not indoors:
        yield case.finding(Verdict.MEETS, "No exhaust fan is entered in the house.", basis=basis(value))
    for fan in indoors:
        mine = case.fresh()  # what one fan waits for holds up no other
        finding = (
            _beside_a_fire(mine, value, fan, where[fan.name])
            if beside
            else _if_indoors(mine, value, fan, indoors, where)
        )
        case.asked.read.update(mine.asked.read)
        yield finding


def _weak(case: Case, value: Value, flow: Found, what: str, **more: Any) -> Finding:
    """A fan that needs no make-up air, or whose flow is not known."""
    return case.judge(
        "<=",
        flow,
        value.number,
        what=f"{what} moves",
        after=" for a fan without make-up air",
        unit="cfm",
        basis=basis(value),
        caution=SPILLS,
        **more,
    )


def _if_indoors(
    case: Case, value: Value, fan: Fan, fans: list[Fan], where: Mapping[str | None, str | None]
) -> Finding:
    """A fan that nobody has said draws from the house takes make-up air only if it does.

    fans: those that may draw from the house.  where: what is entered of each. Those that surely do can be too much by themselves.
    """
    mine = case.number(fan, "flow")
    if mine.known is None or mine.known.value <= value.number:
        return _weak(case, value, mine, f"The {fan.name}", item=fan.name)
    surely = _with_makeup(case, value, fan, [one for one in fans if one is fan or where[one.name]])
    unsaid = [
        one
        for one in fans
        if where[one.name] is None and (flow := case.number(one, "flow").known) and flow.value > value.number
    ]
    if where[fan.name] and surely.verdict is Verdict.SHORT:
        names = " and ".join(str(one.name) for one in unsaid)
        more = f" It is more with {names}, which may draw from the house too." if unsaid else ""
        return replace(surely, text=f"{surely.text}{more}")
    finding = _with_makeup(case, value, fan, fans)
    if finding.verdict is not Verdict.SHORT or not unsaid:
        return finding
    missing = case.missing(
        [case.address("air", "fans", one.name or "", "where") for one in unsaid],
        item=finding.item,
        basis=finding.basis,
        caution=finding.caution,
    )
    return replace(missing, required=finding.required)


def _with_makeup(case: Case, value: Value, fan: Fan, fans: list[Fan]) -> Finding:
    """IRC M1503.6: make-up air for a fan above the limit, shared with all such fans."""
    flows = {one.name: case.number(one, "flow", needed=one is fan) for one in fans}
    strong = [flow.known.value for flow in flows.values() if flow.known and flow.known.value > value.number]
    rates = [rate if value.method == "whole_rate" else rate - value.number for rate in strong]
    asked = sum(rates, start=Fraction(0))
    supply = case.number("air", "makeup")
    if supply.known is None or supply.known.value >= asked:
        flows = {one.name: case.number(one, "flow") for one in fans}

    def supplied() -> Reading:
        case.all_known()
        return supply.value

    sharing = " for all such fans together" if len(strong) > 1 else ""
    return case.judge(
        ">=",
        supplied,
        asked,
        what=f"The {fan.name} moves {tidy(flows[fan.name].value.value)} cfm, and more than {value.shown} needs make-up air; "
        "there is",
        after=f" of it{sharing}" if supply.known else f" of make-up air{sharing}",
        unit="cfm",
        basis=basis(value),
        caution=SPILLS,
        build=(
            "Give the fan make-up air of its own that opens with it, in the same room or joined to it, or fit a smaller fan.",
        ),
        item=fan.name,
    )


def _beside_a_fire(case: Case, value: Value, fan: Fan, where: str | None) -> Finding:
    """ADJ 1.20: no extract fan in the room of the fire. German FeuVO 4(2): fans and fire never at once, or watched.

    Scottish handbook 3.17.8: the fire works as it should with the fan on, wherever the fan is.
    """
    common: dict[str, Any] = {"item": fan.name, "basis": basis(value)}
    if value.method == "not_in_room" and where is None:
        return case.missing([case.address("air", "fans", fan.name or "", "where")], **common)
    if where == "room" and value.method == "not_in_room":
        return case.finding(
            Verdict.SHORT,
            f"The {fan.name} draws from the room of the fire; no extract fan may be there.",
            remedy=("Take the fan out of that room.",),
            caution="A fan in the room pulls the fire's smoke and carbon monoxide into it.",
            **common,
        )
    spill = "it must not make the fire spill. Have that tested with the fan at its highest setting"
    told = {
        "not_in_room": spill,
        "tested": spill,
        "interlocked": "it must not run while the fire burns, or a device made for it has to watch both",
    }[value.method]
    return case.finding(Verdict.REFER, f"The {fan.name} draws from the house: {told}.", **common)


# Gas


class Gas(Struct, frozen=True):
    """What burns gas. input: Btu/h.  logs: the word of the entry, None where it is not known."""

    input: Entry[Reading]
    logs: str | None

    @property
    def btu(self) -> Fraction:
        return gas_input_btu(self.input.value.value)


def _gas(case: Case) -> Gas:
    power = case.number("air", "gas_input")
    return Gas(power, case.word("air", "gas_logs", needed=False).known)


@rule("air.gas_room_volume", "Room volume for gas", masonry=False)
def gas_room_volume(case: Case) -> Finding | None:
    """A room that feeds gas appliances with its own air is large enough for them, or has openings (NFPA 54 9.3.2 to 9.3.4)."""
    gas = _gas(case)
    if gas.input.known and gas.input.known.value == 0 and gas.logs in (None, "none"):
        return None
    if gas.input.known is None and gas.logs in (None, "none"):
        case.all_known()
    value = case.edition["air.gas_room_volume"]
    volume = case.number("air", "room_volume")
    asked = standard_volume(gas.btu, value.number)
    finding = _judge_volume(case, volume, asked, value, gas.btu)
    if volume.known is None:
        return finding
    below = case.edition["air.known_rate.below"]
    known = _by_known_rate(case, finding, gas, volume.known.value, below)
    if known or finding.verdict is not Verdict.SHORT:
        return known or finding
    estimate = _air_changes(case)
    tight = estimate is not None and estimate[0] < below.number
    share = Fraction(1) if tight else outdoor_share(volume.known.value, asked)
    return _with_openings(case, finding, gas, share, tight)


def _judge_volume(
    case: Case, volume: Entry[Reading], asked: Fraction, value: Value, btu: Fraction, **more: Any
) -> Finding:
    work = step(
        "V",
        f"{value.shown} for each 1000 Btu/h",
        f"{value.shown} x {tidy(btu / 1000)}",
        asked,
        "ft3",
        f"{tidy(asked, '>=')} ft3",
    )
    return case.judge(
        ">=",
        volume,
        asked,
        what=f"For {tidy(btu)} Btu/h of gas the room has",
        after="" if volume.known else f" of room for {tidy(btu)} Btu/h of gas",
        unit="ft3",
        working=(work,),
        basis=basis(value),
        caution=STARVED,
        **more,
    )


def _air_changes(case: Case) -> tuple[Fraction, Value, Value | None] | None:
    """Air changes an hour, estimated from the airtightness of the house, and what that rests on; None where it is not known."""
    divisor = case.edition["air.blower_door"]
    tight: object = case.number("air", "airtightness").known
    if isinstance(tight, Reading):
        return tight.value / divisor.number, divisor, None
    if tight is None:
        return None
    word = case.edition[f"draft.ach50.{tight}"]
    return word.number / divisor.number, divisor, word


def _by_known_rate(case: Case, finding: Finding, gas: Gas, volume: Fraction, below: Value) -> Finding | None:
    """NFPA 54 9.3.2.2: what the air changes of the house make of the standard volume, which presumes a house that leaks.

    They are an estimate here: a person decides. None where they change nothing.
    """
    estimate = _air_changes(case)
    if estimate is None:
        return None
    changes, *rests = estimate
    each, most = case.edition["air.known_rate.volume"], case.edition["air.known_rate.most"]
    needed = known_rate_volume(gas.btu, changes, each.number, most.number)
    met, tight = finding.verdict is Verdict.MEETS, changes < below.number
    if met != tight or (not met and (volume < needed or gas.logs == "vent-free")):
        return None
    counted = tidy(min(changes, most.number))
    shown = f"{tidy(needed, '>=')} ft3"
    line = step(
        "V at the known rate",
        f"{each.shown} / air changes x input",
        f"{each.shown} / {counted} x {tidy(gas.btu / 1000)}",
        needed,
        "ft3",
        shown,
    )
    why = f"The standard volume presumes {below.shown} air changes an hour; the airtightness of this house stands for about"
    return case.referred(
        finding,
        f"{why} {tidy(changes)}, and by that it takes {shown}. Have the air changes measured"
        f"{', or bring in outdoor air' if met else ''}.",
        working=(*finding.working, line),
        basis=(*finding.basis, *basis(below, each, most, *rests)),
        remedy=tuple(_gas_openings(case, gas.btu, Fraction(1), tight=True)) if met else (),
        caution=STARVED,
    )


def _with_openings(case: Case, finding: Finding, gas: Gas, share: Fraction, tight: bool) -> Finding:
    """A room that is too small: openings make up for it, unless what burns vents into the room."""
    if gas.logs == "vent-free":
        why = "Vent-free logs go by the volume of the room; openings do not make up for it."
        return replace(
            finding,
            text=f"{finding.text} {why}",
            remedy=("Fit a smaller set, or vented logs, or take the logs out.",),
        )
    opening = case.edition.get("air.gas_one_opening")
    free = case.number("air", "vent").known
    if opening and free and free.value >= gas.btu * opening.number * share:
        least = whole_area(case, gas.btu * opening.number * share)
        return case.referred(
            finding,
            f"An opening to outdoors of {least} makes up for that, and the vent has {case.area(free)}: does it open straight "
            "outdoors, within 12 in of the ceiling?",
            basis=(*finding.basis, opening.basis()),
        )
    return replace(finding, remedy=tuple(_gas_openings(case, gas.btu, share, tight)))


def whole_area(case: Case, area: Fraction) -> str:
    """A free area to cut or to buy, rounded up to a whole in2 or 100 mm2."""
    grid = Fraction(1) if case.unit == "in" else in_unit(Fraction(1), "mm2") ** -1 * 100
    return case.area(ceil(area / grid) * grid)


def _gas_openings(case: Case, btu: Fraction, share: Fraction, tight: bool) -> Iterator[str]:
    """The openings that make up for a small room (NFPA 54 9.3.2.3, 9.3.3), those to outdoors by the share that is left (9.3.4).

    tight: a house that does not leak enough for air from its other rooms.
    """
    joined = case.edition.get("air.gas_joined_rooms")
    start = "Make"
    if joined and not tight:
        asked = max(btu / 1000 * joined.number, case.edition["air.gas_joined_rooms.least"].number)
        yield (
            "Make two openings to a larger room on the same story, one high and one low, each of "
            f"{whole_area(case, asked)} free."
        )
        start = "Or"
    for key, words in (
        ("air.gas_two_openings", "two openings straight outdoors, one high and one low, each of"),
        ("air.gas_two_horizontal", "the same by horizontal ducts, each of"),
        ("air.gas_one_opening", "one opening outdoors, high in the room, of"),
    ):
        value = case.edition.get(key)
        if value:
            yield f"{start} {words} {whole_area(case, btu * value.number * share)} free."
            start = "Or"


@rule("gas_logs.location", "Gas logs in a bedroom", masonry=False)
def location(case: Case) -> Finding | None:
    """In a bedroom only listed, vented logs burn, in a room that is large enough by itself (NFPA 54 10.6.1)."""
    kind = case.word("air", "gas_logs").known
    if kind in (None, "none"):
        return None  # where it is not known, the rule on the damper asks
    value = case.edition["gas_logs.location"]
    rooms = {face.name: case.word(face, "opens_to") for face in case.faces}
    bedrooms = [name for name, room in rooms.items() if room.known == "bedroom"]
    if not bedrooms:
        case.all_known()
        return None
    names = " and ".join(bedrooms)
    if kind != "listed":
        return case.finding(
            Verdict.SHORT,
            f"The {names} face opens to a bedroom, where only vented logs listed for it may burn; these are {kind}.",
            basis=basis(value),
            remedy=("Take the logs out, or fit a vented set listed for a bedroom.",),
            caution="People asleep do not notice carbon monoxide.",
        )
    each = case.edition["air.gas_room_volume"]
    volume, power = case.number("air", "room_volume"), case.number("air", "gas_input")
    btu = gas_input_btu(power.value.value)
    finding = _judge_volume(case, volume, standard_volume(btu, each.number), each, btu)
    if finding.verdict in (Verdict.SHORT, Verdict.MEASURE):
        return replace(finding, basis=(*finding.basis, value.basis()))
    return case.referred(
        finding,
        f"The {names} face opens to a bedroom: do the papers of the logs allow that?",
        basis=(*finding.basis, value.basis()),
    )


@rule("gas_logs.damper_opening", "Damper opening for gas logs", masonry=False)
def damper_opening(case: Case) -> Finding | None:
    """The damper leaves a permanent opening for an unlisted gas log set, by its input and the chimney's height (NFPA 54 Table 10.6.2.3)."""
    kind = case.word("air", "gas_logs").value
    if kind == "none":
        return None
    value = case.edition["gas_logs.damper_opening"]
    if kind != "unlisted":
        return case.finding(
            Verdict.REFER,
            f"Gas logs that are {kind} go by their listing and the maker's instructions, not by this table.",
            basis=basis(value),
            caution="Vent-free logs send everything they burn into the room."
            if kind == "vent-free"
            else None,
        )
    power = case.number("air", "gas_input")
    height, opening = case.number("flue", "height"), case.number("firebox", "clamp_area")
    rows = _damper_rows(case, value.table)
    high, free = height.value.value, opening.value.value
    carried, most = carried_input(rows, high, free), greatest_input(rows, high, free)
    shown = f"{case.area(free)} free with the damper against its stop and a chimney of {case.length(high)}"
    beyond = case.finding(
        Verdict.REFER,
        f"The table does not tell for {shown}: {_ends(case, rows)}. Ask the maker, or have an unlisted set taken out.",
        basis=basis(value),
    )
    limit = most if carried is None else carried
    if limit is None:
        return beyond

    def btu() -> Reading:
        return Reading.exact(gas_input_btu(power.value.value))

    finding = case.judge(
        "<=",
        btu,
        Fraction(limit),
        what=f"With {shown} the gas input is",
        after="" if power.known else f" of gas with {shown}",
        unit="Btu/h",
        basis=basis(value),
        caution="A damper closed too far spills the fumes of the gas into the room.",
        remedy=lambda: tuple(_open_further(case, rows, high, btu().value, carried)),
    )
    # below the table only a cell above it can tell that it is too much, beyond it only the last cell that it is not
    tells = {
        Verdict.MEETS: carried is not None,
        Verdict.SHORT: carried is None or (high <= max(rows) and free <= max(rows[max(rows)])),
    }
    return finding if tells.get(finding.verdict, True) else beyond


def carried_input(rows: Rows, height: Fraction, opening: Fraction) -> int | None:
    """The gas input that is carried for sure at a chimney height, inches, and a free opening, in2; Btu/h.

    The cell at or next below both, the last one beyond the table; None below its first row or column.
    """
    heights = [h for h in rows if h <= height]
    openings = [a for a in rows[min(rows)] if a <= opening]
    return rows[max(heights)][max(openings)] if heights and openings else None


def greatest_input(rows: Rows, height: Fraction, opening: Fraction) -> int | None:
    """The gas input above which it is too much for sure; Btu/h. The cell at or next above both; None beyond the last row or column."""
    heights = [h for h in rows if h >= height]
    openings = [a for a in rows[min(rows)] if a >= opening]
    return rows[min(heights)][min(openings)] if heights and openings else None


def _ends(case: Case, rows: Rows) -> str:
    row = rows[min(rows)]
    return (
        f"it runs from {case.area(min(row))} to {case.area(max(row))} and from {case.length(min(rows))} "
        f"to {case.length(max(rows))}"
    )


def _open_further(
    case: Case, rows: Rows, height: Fraction, btu: Fraction, carried: int | None
) -> Iterator[str]:
    heights = [h for h in rows if h <= height]
    row = rows[max(heights)] if heights else {}
    enough = [opening for opening, most in row.items() if most >= btu]
    if enough:
        yield f"Fix the damper open to {case.area(min(enough))} free or more."
    if carried is not None:
        yield f"{'Or fit' if enough else 'Fit'} a set of {carried} Btu/h or less."
    elif not enough:
        yield "Take the set out, or fit a listed one."


def _damper_rows(case: Case, name: str) -> Rows:
    rows = {}
    for row in read_table(case.edition.folder, name).rows:
        height = Fraction(row["chimney_height"].removeprefix("chimney_").removesuffix("ft")) * 12
        rows[height] = {
            Fraction(column.removeprefix("opening_").removesuffix("in2")): int(cell)
            for column, cell in row.items()
            if column.startswith("opening_")
        }
    return rows
