"""What burns, and how near to the fire it stands."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any, Literal

from hearthcalc import lengths
from hearthcalc.findings import Finding, Step, Verdict, worst
from hearthcalc.job import Face, Nearby
from hearthcalc.reference import Silent, Table, Value, read_table
from hearthcalc.rules.case import Case, NotKnown, basis, in_unit, of, rule, step
from hearthcalc.rules.hearth import clear_radius, reaches
from hearthcalc.rules.openings import entries, opening_area
from hearthcalc.rules.reading import Reading, at_most, corners, root

AT_FACE = ("mantel", "trim")
NOT_BURNING = "Entered as not burning: the clause speaks of what does."
IN_GAP = ("framing", "sheathing", "siding", "decking", "insulation")


def straight_line(above: Fraction, beside: Fraction) -> Fraction:
    """Distance from the nearest corner of the opening to a thing that is above and beside it."""
    return root(above * above + beside * beside)


def greatest_projection(distance: Fraction, share: Fraction) -> Fraction:
    """How far wood may stand out at a distance from the opening (IRC R1001.11 exception 4)."""
    return distance * share


def nearest_for_projection(projection: Fraction, share: Fraction, zone: Fraction) -> Fraction:
    """The least distance at which wood that stands out so far is allowed: the zone's end at most."""
    return min(projection / share, zone)


def burns(thing: Nearby) -> bool:
    """Does it count as combustible: yes, unless it is entered as not."""
    return thing.combustible is not False


@rule("clearance.mantel", "Mantel", each="nearby")
def mantel(case: Case, thing: Nearby) -> Finding | None:
    """A wood mantel stands far enough from the opening for what it projects (IRC R1001.11 exception 4)."""
    return _on_front(case, thing) if thing.what == "mantel" and _placed(case, thing) else None


@rule("clearance.trim", "Trim on the fireplace front", each="nearby", asks="clearance.mantel")
def trim(case: Case, thing: Nearby) -> Finding | None:
    """Wood trim stands far enough from the opening for what it projects (IRC R1001.11 exception 4)."""
    if thing.what != "trim" or _abuts(case, thing) is Verdict.MEETS or not _placed(case, thing):
        return None
    return _on_front(case, thing)


def _placed(case: Case, thing: Nearby) -> bool:
    """Is it near a face? Raises NotKnown where it is not said where it is."""
    if thing.face is None and thing.at is None:
        raise NotKnown([case.address(*of(thing), "face")])
    return thing.face is not None


def _distance(case: Case, thing: Nearby) -> tuple[Reading, Step]:
    """The straight line from a thing to the nearest edge of the opening, and its working."""
    mine = of(thing)
    above, beside = case.want(mine, "above"), case.want(mine, "beside")
    if above is None and beside is None:
        raise NotKnown([case.address(*mine, "above")])
    if above is None or beside is None or not (above.value and beside.value):
        distance = max((r for r in (above, beside) if r is not None), key=lambda r: r.value)
        way = "above" if distance is above else "beside"
        return distance, _length_step(case, "distance", way, "", distance)
    distance = corners(straight_line, above, beside)
    numbers = f"root of ({case.length(above)})2 + ({case.length(beside)})2"
    return distance, _length_step(case, "distance", "straight line to the nearest corner", numbers, distance)


def _length_step(case: Case, symbol: str, expression: str, numbers: str, value: Reading) -> Step:
    return step(
        symbol,
        expression,
        numbers,
        in_unit(value.value, case.edition.units),
        case.edition.units,
        case.length(value),
    )


def _on_front(case: Case, thing: Nearby) -> Finding:
    method, least = case.edition["clearance.mantel"], case.edition["clearance.mantel.least"]
    context: dict[str, Any] = {"item": thing.name, "face": thing.face}
    if not burns(thing):
        return case.finding(
            Verdict.MEETS,
            NOT_BURNING,
            basis=basis(method),
            **context,
        )
    mine = of(thing)
    if method.method == "by_projection":
        return _by_projection(case, thing, least)
    sliding = method.method == "sliding_projection"
    lacking = [] if case.raw((*mine, "above")) or case.raw((*mine, "beside")) else [(*mine, "above")]
    if sliding and case.raw((*mine, "projection")) is None:
        lacking.append((*mine, "projection"))
    case.require(*lacking)
    distance, line = _distance(case, thing)
    caution = "Wood near an opening dries, chars and takes fire from heat it never seemed to feel."
    near = case.judge(
        ">=",
        distance,
        Reading.exact(least.number),
        what=f"From the opening to the {thing.name} it is",
        working=(line,),
        basis=basis(method, least),
        caution=caution,
        **context,
    )
    if not sliding:
        return (
            near
            if near.verdict is Verdict.MEETS
            else replace(near, remedy=(_move(case, thing, least.number),))
        )
    zone, share = case.edition["clearance.mantel.zone"], case.edition["clearance.mantel.projection"]
    (out,) = case.need(mine, "projection")
    side_from, beside = case.edition.get("clearance.mantel.side_from"), case.want(mine, "beside")
    if side_from and beside and beside.value:
        return _at_side(case, thing, distance, line, out, (method, least, side_from))
    allowed = Reading(
        *(greatest_projection(getattr(distance, end), share.number) for end in ("value", "low", "high"))
    )
    rests = basis(method, least, zone, share)
    if near.verdict is Verdict.SHORT:
        where = _move(
            case, thing, max(least.number, nearest_for_projection(out.value, share.number, zone.number))
        )
        return replace(near, basis=rests, remedy=(where,))
    if distance.low >= zone.number:
        edge = "exactly at the edge of" if distance.value == zone.number else "outside"
        return replace(
            near,
            basis=rests,
            text=f"From the opening to the {thing.name} it is {case.length(distance)}, {edge} the {case.least(zone.number)} "
            "within which its projection is limited.",
        )
    work = (
        line,
        step(
            "allowed",
            f"distance x {share.shown}",
            f"{case.length(distance)} x {share.shown}",
            in_unit(allowed.value, case.edition.units),
            case.edition.units,
            lengths.show_limit(allowed.value, case.unit, op="<=", beside=out.value),
        ),
    )
    outside = distance.value >= zone.number
    finding = case.judge(
        "<=",
        out,
        allowed,
        what=f"At {case.length(distance)} from the opening the projection of the {thing.name} is",
        working=work,
        basis=rests,
        caution=caution,
        **context,
    )
    if outside:
        if at_most(out, allowed).verdict is Verdict.MEETS or distance.low == distance.value:
            return replace(near, basis=rests, working=work)
        return case.finding(
            Verdict.CLOSE,
            f"From the opening to the {thing.name} it is {case.length(distance)}; the measuring tolerance "
            "decides whether that is inside the zone of "
            f"{case.least(zone.number)}, where no more than "
            f"{lengths.show_limit(allowed.value, case.unit, op='<=')} may stand out: measure again.",
            basis=rests,
            working=work,
            caution=caution,
            tolerance=near.tolerance,
            **context,
        )
    if finding.verdict is Verdict.SHORT and distance.high >= zone.number:
        finding = case.finding(
            Verdict.CLOSE,
            f"{finding.text} The measuring tolerance decides whether it is outside the zone of {case.least(zone.number)}: measure again.",
            basis=rests,
            working=work,
            caution=caution,
            required=finding.required,
            found=finding.found,
            tolerance=finding.tolerance,
            **context,
        )
    if near.verdict is Verdict.CLOSE and finding.verdict is not Verdict.SHORT:
        finding = replace(near, basis=rests, working=work)
    if finding.verdict is Verdict.MEETS:
        return finding
    place = max(least.number, nearest_for_projection(out.value, share.number, zone.number))
    shaved = lengths.show_limit(
        greatest_projection(distance.value, share.number), case.unit, op="<=", beside=out.value
    )
    cut = f"Or cut its projection to {shaved} where it is."
    return replace(
        finding, remedy=(_move(case, thing, place), *([cut] if distance.value >= least.number else []))
    )


def _at_side(
    case: Case, thing: Nearby, distance: Reading, line: Step, out: Reading, rests: tuple[Value, Value, Value]
) -> Finding:
    """IBC 2111.12 exception 4: wood beside the opening that stands out far keeps away by as much more as it stands out."""
    _, least, side_from = rests
    near, far = Reading.exact(least.number), out + least.number
    asked, other = (far, near) if out.value > side_from.number else (near, far)
    in_doubt = out.low <= side_from.number < out.high
    return case.judge(
        ">=",
        distance,
        asked,
        others=[other] if in_doubt else [],
        what=f"With a projection of {case.length(out)}, from the opening to the {thing.name} it is",
        working=(line,),
        basis=basis(*rests),
        caution="Wood near an opening dries, chars and takes fire from heat it never seemed to feel.",
        remedy=(_move(case, thing, asked.value),),
        item=thing.name,
        face=thing.face,
    )


def _by_projection(case: Case, thing: Nearby, least: Value) -> Finding:
    """NBC 9.22.9.1: one distance from the opening, and a larger one above it for what stands out further."""
    flat, far = case.edition["clearance.mantel.flat"], case.edition["clearance.mantel.projecting"]
    mine = of(thing)
    lacking = [] if case.raw((*mine, "above")) or case.raw((*mine, "beside")) else [(*mine, "above")]
    case.require(*lacking, (*mine, "projection"))
    distance, line = _distance(case, thing)
    (out,) = case.need(mine, "projection")
    over = bool(case.raw((*mine, "above")))
    near, further = Reading.exact(least.number), Reading.exact(far.number)
    limits = [further, near] if over and out.value > flat.number else [near, further]
    in_doubt = over and out.low <= flat.number < out.high
    asked = limits[0]
    return case.judge(
        ">=",
        distance,
        asked,
        others=limits[1:] if in_doubt else [],
        what=f"The {thing.name}, which stands out {case.length(out)}, is",
        after=" from the opening",
        working=(line,),
        basis=basis(case.edition["clearance.mantel"], least, flat, far),
        caution="Wood near an opening dries, chars and takes fire from heat it never seemed to feel.",
        remedy=(_move(case, thing, asked.value),),
        item=thing.name,
        face=thing.face,
    )


def _move(case: Case, thing: Nearby, distance: Fraction) -> str:
    return (
        f"Move the {thing.name} to {case.least(distance)} or more from the "
        "opening, or make it of what does not burn."
    )


@rule("clearance.framing", "Clear space beside the fireplace", each="nearby", asks="clearance.framing.back")
def framing(case: Case, thing: Nearby) -> Finding | None:
    """Framing and the like keep clear of the fireplace's front, sides and back, the space left empty (IRC R1001.11)."""
    at = thing.at or ""
    if thing.what not in IN_GAP or at == "chimney" or _abuts(case, thing) is Verdict.MEETS:
        return None
    if not at:
        raise NotKnown([case.address(*of(thing), "at")])
    where = at.removeprefix("firebox ")
    in_wall = case.edition.get("clearance.framing.exterior_wall")
    if in_wall and where != "front" and case.raw(("flue", "place")) == "in the outside wall":
        limit = in_wall
    else:
        limit = case.edition[f"clearance.framing.{where}"]
    return _gap(
        case, thing, [limit], case.edition.get("clearance.framing.fill"), f"the {where} of the fireplace"
    )


PLACES = {"inside": "inside", "in the outside wall": "in_wall", "outside": "outside"}


@rule("clearance.chimney", "Clear space beside the chimney", each="nearby", asks="clearance.chimney.inside")
def chimney(case: Case, thing: Nearby) -> Finding | None:
    """Framing and the like keep clear of the chimney, by where the chimney stands (IRC R1003.18)."""
    if thing.what not in IN_GAP or thing.at != "chimney":
        return None
    if _abuts(case, thing) is Verdict.MEETS:
        return None
    place = case.raw(("flue", "place"))
    fill = case.edition.get("clearance.chimney.fill")
    if place is None:
        every = [case.edition[f"clearance.chimney.{name}"] for name in PLACES.values()]
        loosest, *_, strictest = sorted(every, key=lambda value: value.number)
        if burns(thing) and case.raw((*of(thing), "gap")) is None:
            case.require((*of(thing), "gap"), ("flue", "place"))
        gap = case.want(of(thing), "gap") or Reading.exact(0)
        if burns(thing) and loosest.number <= gap.high and gap.value < strictest.number:
            raise NotKnown([case.address("flue", "place")])
        limit = loosest if burns(thing) and gap.high < loosest.number else strictest
        return _gap(case, thing, [limit], fill, "the chimney, wherever that stands,")
    limits = [case.edition[f"clearance.chimney.{PLACES[place]}"]]
    where = {"inside": "the chimney inside the house", "outside": "the chimney outside the house"}.get(
        place, "the chimney in the outside wall"
    )
    finding = _gap(case, thing, limits, fill, where)
    beam = case.edition.get("clearance.chimney.beam")
    if beam and thing.what == "framing" and finding.verdict is Verdict.SHORT:
        (gap,) = case.need(of(thing), "gap")
        if gap.value >= beam.number:
            return case.finding(
                Verdict.REFER,
                f"{finding.text} A single beam needs only {case.least(beam.number)}: whether this is one, a person decides.",
                item=thing.name,
                basis=basis(*limits, beam),
                required=finding.required,
                found=finding.found,
            )
    if place == "outside" and _enclosed(case):
        inside = case.edition["clearance.chimney.inside"]
        (gap,) = case.need(of(thing), "gap")
        if finding.verdict is Verdict.MEETS and gap.value < inside.number:
            return case.finding(
                Verdict.REFER,
                f"{finding.text} But a roof that is to be built round the chimney may put it inside, where {case.least(inside.number)} is "
                "asked for: a chimney that a room encloses is no longer entirely outside. The building official decides.",
                item=thing.name,
                basis=basis(*limits, inside),
                required=finding.required,
                found=finding.found,
            )
    return finding


def _enclosed(case: Case) -> bool:
    """Is a roof planned round the chimney that was not there before?"""
    before = {roof.name for roof in case.found.roof if roof.passes_through}
    return case.planned and any(roof.passes_through and roof.name not in before for roof in case.job.roof)


def _gap(case: Case, thing: Nearby, limits: list[Value], fill: Value | None, where: str) -> Finding:
    context: dict[str, Any] = {"item": thing.name}
    if not burns(thing):
        return case.finding(
            Verdict.MEETS,
            NOT_BURNING,
            basis=basis(*limits),
            **context,
        )
    (gap,) = case.need(of(thing), "gap")
    rests = basis(*limits, fill)
    caution = "Wood against warm masonry takes fire at ever lower temperatures as the years dry it."
    finding = case.judge(
        ">=",
        gap,
        Reading.exact(limits[0].number),
        what=f"From {where} to the {thing.name} it is",
        after=" clear",
        basis=rests,
        caution=caution,
        **context,
    )
    need = case.least(limits[0].number)
    move = "Head the framing off" if thing.what == "framing" else f"Cut the {thing.what} back"
    apart = (
        (f"{move} to {need} clear of the masonry, and keep the space empty.",)
        if finding.verdict is not Verdict.MEETS
        else ()
    )
    if thing.filled and fill is not None:
        if fill.words[0] == "noncombustible":
            return case.finding(
                worst([Verdict.REFER, finding.verdict]) or Verdict.REFER,
                f"{finding.text} The space is filled: with what? Only noncombustible material is allowed there.",
                basis=rests,
                caution=caution,
                required=finding.required,
                found=finding.found,
                **context,
            )
        return case.finding(
            Verdict.SHORT,
            f"{finding.text} The space is filled, and {fill.words[0]} may be in it.",
            basis=rests,
            caution=caution,
            remedy=(
                *apart,
                "Clear the space out, and close it only with fireblocking at the floors and ceilings.",
            ),
            **context,
        )
    if finding.verdict is not Verdict.MEETS:
        return replace(finding, remedy=apart)
    if fill is not None and thing.filled is None:
        return replace(
            finding,
            text=f"{finding.text} Whether that space is empty is not entered: look, and enter it as filled.",
        )
    return finding


@rule("clearance.abutting", "What touches the masonry", each="nearby", asks="clearance.abutting.firebox")
def abutting(case: Case, thing: Nearby) -> Finding | None:
    """What may touch the masonry is named by the code, and only so far from the lining (IRC R1001.11 exception 3, R1003.18 exception 3)."""
    if thing.from_lining is None or (thing.at is None and thing.face is None):
        return None
    at = "chimney" if thing.at == "chimney" else "firebox"
    context: dict[str, Any] = {"item": thing.name, "face": thing.face}
    limit, names = (
        case.edition[f"clearance.abutting.{at}"],
        case.edition.get(f"clearance.abutting.{at}.names"),
    )
    if not burns(thing):
        return case.finding(
            Verdict.MEETS,
            NOT_BURNING,
            basis=basis(limit),
            **context,
        )
    if names is not None and thing.what not in names.words and limit.method == "named_only":
        return case.finding(
            Verdict.REFER,
            f"The clause speaks of {', '.join(names.words)} alone: ask the building official.",
            basis=basis(limit, names),
            **context,
        )
    if names is not None and thing.what not in names.words:
        return case.finding(
            Verdict.SHORT,
            f"Only {', '.join(names.words)} may touch the masonry, and the {thing.name} is entered as "
            f"{thing.what or 'nothing of that kind'}.",
            basis=basis(limit, names),
            caution="Wood against warm masonry takes fire at ever lower temperatures as the years dry it.",
            remedy=(f"Cut the {thing.what} back to the clear space that is asked for beside the {at}.",),
            **context,
        )
    (away,) = case.need(of(thing), "from_lining")
    by_opening = len(limit.steps) > 1
    limits = reaches(_governing(case, thing) if by_opening else Reading.exact(0), limit)
    return case.judge(
        ">=",
        away,
        limits[0],
        others=limits[1:],
        what=f"From the inner face of the {'flue' if at == 'chimney' else 'firebox'} lining to the {thing.name} it is",
        basis=basis(limit, names),
        **context,
    )


def _governing(case: Case, thing: Nearby) -> Reading:
    """The opening area that a thing is judged by: its face's, or the largest of all."""
    faces: list[Face] = [case.face(thing.face)] if thing.face else list(case.job.face)
    case.require(*(path for face in faces for path in entries(face)))
    return max((opening_area(case, face) for face in faces), key=lambda area: area.value)


def _abuts(case: Case, thing: Nearby) -> Verdict | None:
    """The verdict of the rule on what touches the masonry, where that rule speaks of this thing."""
    if thing.from_lining is None:
        return None
    try:
        finding = abutting(case, thing)
    except (NotKnown, Silent):
        return None
    return finding.verdict if isinstance(finding, Finding) else None


def _elsewhere(case: Case, thing: Nearby) -> Finding | None:
    """Walls, floors, ceilings, furniture: by distance from the opening or from the centre of the hearth, where the edition speaks."""
    assert case.rule is not None
    if thing.what is None and case.rule.id == "clearance.other":
        raise NotKnown([case.address(*of(thing), "what")])
    if thing.what != case.rule.id.removeprefix("clearance.") or _abuts(case, thing) is Verdict.MEETS:
        return None
    context: dict[str, Any] = {"item": thing.name, "face": thing.face}
    finish = case.edition.get("clearance.chimney.finish")
    if finish and thing.at == "chimney" and thing.what in ("floor", "ceiling"):
        return _gap(case, thing, [finish], None, "the chimney")
    if case.rule.id not in case.edition.values and thing.protection not in (None, "none"):
        return _behind_protection(case, thing)
    value = case.edition[case.rule.id]
    if not burns(thing):
        return case.finding(
            Verdict.MEETS,
            NOT_BURNING,
            basis=basis(value),
            **context,
        )
    mine = of(thing)
    if value.method == "from_hearth_centre":
        return _from_centre(case, thing, value)
    distance = max(
        (r for r in (case.want(mine, n) for n in ("above", "beside")) if r is not None),
        key=lambda r: r.value,
        default=None,
    )
    if distance is None and case.raw((*mine, "ahead")) is not None:
        return case.finding(
            Verdict.REFER,
            f"The {thing.name} stands ahead of the opening, and the clause speaks of what is above and beside it.",
            basis=basis(value),
            **context,
        )
    if distance is None:
        raise NotKnown([case.address(*mine, "beside")])
    finding = case.judge(
        ">=",
        distance,
        Reading.exact(value.number),
        what=f"From the opening to the {thing.name} it is",
        basis=basis(value),
        remedy=(_move(case, thing, value.number),),
        caution="What stands too near an open fire takes fire from its radiant heat.",
        **context,
    )
    shielded = case.edition.get("clearance.shielded")
    if (
        finding.verdict is Verdict.SHORT
        and shielded
        and thing.protection not in (None, "none")
        and distance.value >= shielded.number
    ):
        return case.finding(
            Verdict.REFER,
            f"{finding.text} With a shield open to air on both sides {case.least(shielded.number)} would "
            "be enough: whether this one is, a person decides.",
            basis=basis(value, shielded),
            required=finding.required,
            found=finding.found,
            **context,
        )
    return finding


def reduced_clearance(
    table: Table, unprotected: int, protection: str, place: Literal["above", "sides"]
) -> Fraction | None:
    """The clearance of an appliance behind a protection, inches; None where the table allows none (IRC Table M1306.2).

    unprotected: 36, 18, 12, 9 or 6 in.  Raises KeyError for a protection or a clearance that is not in the table.
    """
    rows = {row["protection"]: row for row in table.rows}
    cell = rows[protection][f"{unprotected}_{place}"]
    return None if cell == "none" else Fraction(cell)


def _behind_protection(case: Case, thing: Nearby) -> Finding:
    """The table of reduced clearances is for appliances: told beside an open fireplace, but not applied to it."""
    assert case.rule is not None
    value, least = case.edition.get("clearance.reduction"), case.edition.get("clearance.reduction.solid_fuel")
    if value is None or least is None:
        raise Silent(case.rule.id)
    context: dict[str, Any] = {"item": thing.name, "face": thing.face, "basis": basis(value, least)}
    place: Literal["above", "sides"] = "above" if thing.what == "ceiling" else "sides"
    table = read_table(case.edition.folder, value.table)
    known = [row["protection"] for row in table.rows]
    if thing.protection not in known:
        return case.finding(
            Verdict.REFER,
            f"The protection entered is not a row of {value.clause}. Rows: {', '.join(known)}.",
            **context,
        )
    reduced = reduced_clearance(table, 36, thing.protection, place)
    told = (
        "allows no less than 36 in"
        if reduced is None
        else f"would bring 36 in down to {case.length(max(reduced, least.number))}"
    )
    return case.finding(
        Verdict.REFER,
        f"For an appliance such a shield {told} ({value.clause}), and for solid fuel never below "
        f"{case.least(least.number)}. The table is for "
        "appliances: for an open fireplace the code says nothing on this, so ask the building official.",
        **context,
    )


def _from_centre(case: Case, thing: Nearby, value: Value) -> Finding:
    face = case.face(thing.face) if thing.face else case.job.face[0]
    mine = of(thing)
    ahead = case.raw((*mine, "ahead")) is not None
    case.require(("firebox", "depth"), (*mine, "ahead" if ahead else "beside"), *((*of(face), "width"),))
    radius = clear_radius(case, face, value)
    (deep,) = case.need(("firebox",), "depth")
    (width,) = case.need(of(face), "width")
    forward = deep * Fraction(1, 2) + (case.want(mine, "ahead") or Reading.exact(0))
    past = case.want(mine, "beside")
    sideways = width * Fraction(1, 2) + past if past is not None else Reading.exact(0)
    away = corners(straight_line, forward, sideways)
    return case.judge(
        ">=",
        away,
        radius,
        what=f"From the centre of the hearth to the {thing.name} it is",
        basis=basis(value),
        item=thing.name,
        face=thing.face,
        caution="What stands too near an open fire takes fire from its radiant heat.",
    )


for _what, _title in {
    "wall": "Walls",
    "floor": "Floor that burns",
    "ceiling": "Ceiling",
    "furniture": "Furniture",
    "other": "Other things",
}.items():
    rule(f"clearance.{_what}", f"{_title} near the fire", each="nearby")(_elsewhere)
