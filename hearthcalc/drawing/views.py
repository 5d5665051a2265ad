"""The views of a fireplace: the elevation of each face, the section through the firebox, the plan of the hearths."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any, Literal

from msgspec import Struct

from hearthcalc import lengths
from hearthcalc.drawing.parts import (
    DASHED,
    NOT_KNOWN,
    Area,
    Dimension,
    Drawing,
    Fill,
    Label,
    Line,
    Mark,
    Place,
    Point,
    Stroke,
    View,
    named,
)
from hearthcalc.entry import Amount
from hearthcalc.errors import EntryError
from hearthcalc.findings import Bound, Finding, Margin, StageResult, Verdict, worst
from hearthcalc.job import FIELDS, Face, Job, Nearby, Stage, join_address
from hearthcalc.reference import liner_sides
from hearthcalc.rules.firebox import OPPOSITE

At = Callable[[float, float], Point]
Parts = Sequence[str]

MARKED = (Verdict.SHORT, Verdict.MEASURE, Verdict.CLOSE)
# The walls to the left and to the right of a person who looks in through each one
BESIDE = {
    "front": ("left", "right"),
    "back": ("right", "left"),
    "left": ("back", "front"),
    "right": ("front", "back"),
}
# Forms that stand in for what was not measured, inches: drawn dashed, never printed
FORM = {
    "width": 36.0, "height": 28.0, "depth": 20.0, "front": 16.0, "side": 10.0, "slab": 4.0, "wall": 8.0, "breast": 4.0, "bearing": 4.0,
    "throat": 4.0, "over": 9.0, "chamber": 26.0, "flue": 11.0, "distance": 10.0, "projection": 6.0, "gap": 3.0,
}  # fmt: skip
# How large things are drawn whose size is not asked, inches
STUB, FLOOR, GROUND, SHELF, OVERHANG, STUD, TALL = 12.0, 8.0, 8.0, 3.0, 4.0, 4.0, 18.0
FARTHEST = 120.0  # what stands further off would make the fireplace too small to see


def views(stage: Stage, result: StageResult) -> tuple[Drawing, ...]:
    """The elevation of each face, then the section, then the plan, at one stage.

    result: the findings of that stage, which mark what is too close or too small.  None where no face was entered.
    """
    if not stage.job.face:
        return ()
    findings = _Findings(result)
    when = {"found": "as found", "planned": "as planned"}.get(stage.name, stage.name)
    sheets = [_elevation(_Sheet(stage.job, findings), face) for face in stage.job.face]
    sheets += [_section(_Sheet(stage.job, findings)), _plan(_Sheet(stage.job, findings))]
    shown = {label.text for sheet in sheets for label in sheet.labels}
    for thing in stage.job.nearby:
        if named(thing.name) not in shown:
            sheets[-1].note(thing, "is not drawn: too far off, or where it stands was not entered")
    return tuple(sheet.drawing(when) for sheet in sheets)


class _Findings:
    """What the findings of a stage say of an entry or of a thing. Those that do not count mark nothing."""

    def __init__(self, result: StageResult) -> None:
        self._of: dict[str, list[Finding]] = {}
        self._near: dict[str, list[Finding]] = {}
        self._missing: set[str] = set()
        for finding in result.findings:
            if finding.counts:
                self._missing.update(as_found(address) for address in finding.missing)
                self._of.setdefault(finding.id, []).append(finding)
                if finding.item and finding.subject == "clearance":
                    self._near.setdefault(finding.item, []).append(finding)

    def of(self, *ids: str, face: str | None = None, item: str | None = None) -> Finding | None:
        """The worst finding to be marked under some ids, of a face and an item where these are given."""
        return _worst(
            finding
            for id in ids
            for finding in self._of.get(id, ())
            if face in (None, finding.face) and item in (None, finding.item)
        )

    def near(self, thing: str) -> Finding | None:
        """The worst finding to be marked on the clearance of a thing."""
        return _worst(self._near.get(thing, ()))

    def waits_for(self, address: str) -> bool:
        """Does a finding wait for this entry."""
        return address in self._missing


def _worst(findings: Iterable[Finding | None]) -> Finding | None:
    marked = [finding for finding in findings if finding and finding.verdict in MARKED]
    verdict = worst(finding.verdict for finding in marked)
    return next((finding for finding in marked if finding.verdict is verdict), None)


def as_found(address: str) -> str:
    """The address of an entry as found, also where it is that of the plan."""
    return address.removeprefix("planned.")


def _verdict(finding: Finding | None) -> Verdict | None:
    return finding.verdict if finding else None


class _Size(Struct, frozen=True):
    """A length as it is drawn: measured, or a form that stands in for it."""

    inches: float
    known: bool


def _size(amount: Amount | None, form: str | None) -> _Size:
    """A length of the record, else a form; without one, nothing is drawn for it."""
    if amount is None:
        return _Size(FORM[form] if form else 0.0, False)
    return _Size(float(amount.value), True)


def _edges(**known: bool) -> str:
    """The edges of a box that are known, of l, r, t and b."""
    return "".join(edge for edge, sure in known.items() if sure)


class _Sheet:
    """A drawing while it is made."""

    def __init__(self, job: Job, findings: _Findings) -> None:
        self.job = job
        self.findings = findings
        self.title = ""
        self.view: View = "elevation"
        self.face: str | None = None
        self.areas: list[Area] = []
        self.lines: list[Line] = []
        self.dimensions: list[Dimension] = []
        self.labels: list[Label] = []
        self.apart: list[Mark] = []
        self.notes: list[str] = []

    def drawing(self, when: str) -> Drawing:
        if any(line.stroke == "dashed" for line in self.lines):
            self.notes.insert(0, DASHED)
        return Drawing(
            f"{self.title}, {when}", self.view, self.face, tuple(self.areas), tuple(self.lines), tuple(self.dimensions),
            tuple(self.labels), tuple(self.apart), tuple(dict.fromkeys(self.notes)),
        )  # fmt: skip

    def line(self, *points: Point, known: bool = True, stroke: Stroke = "solid") -> None:
        self.lines.append(Line(points, stroke if known else "dashed"))

    def area(self, fill: Fill, *points: Point, entry: Parts, verdict: Verdict | None = None) -> None:
        self.areas.append(Area(points, fill, verdict, join_address(entry)))

    def box(
        self, start: Point, end: Point, fill: Fill, known: str, entry: Parts, verdict: Verdict | None = None
    ) -> None:
        """A rectangle between two corners. known: its edges that are, of l, r, t and b.  entry: parts of the address it is told by."""
        (x0, x1), (y0, y1) = sorted((start[0], end[0])), sorted((start[1], end[1]))
        a, b, c, d = (x0, y0), (x1, y0), (x1, y1), (x0, y1)
        self.area(fill, a, b, c, d, entry=entry, verdict=verdict)
        for edge, first, last in (("b", a, b), ("r", b, c), ("t", d, c), ("l", a, d)):
            self.line(first, last, known=edge in known)

    def label(
        self, text: str, at: Point, rank: int, entry: Parts, finding: Finding | None = None, part: str = ""
    ) -> None:
        """The name of a part. entry: parts of the address it is told by; where its finding waits for another, that one."""
        address = finding.missing[0] if finding and finding.missing else join_address(entry)
        self.labels.append(
            Label(text, at, 0 if finding else rank, _verdict(finding), part, as_found(address))
        )

    def note(self, thing: Nearby, what: str) -> None:
        """Tell of a thing in words, with its mark."""
        finding, words = self.findings.near(str(thing.name)), f"{named(thing.name)} {what}"
        if finding:
            self.apart.append(Mark(finding.verdict, words))
        else:
            self.notes.append(words)

    def value(self, parts: Sequence[str]) -> Amount | None:
        """The length of the record at an address."""
        here: Any = self.job
        for part in parts:
            listed = isinstance(here, tuple)
            here = next(thing for thing in here if thing.name == part) if listed else getattr(here, part)
        amount: Amount | None = here
        return amount

    def length(
        self,
        parts: Sequence[str],
        start: Point,
        end: Point,
        place: Place,
        rank: int,
        finding: Finding | None = None,
    ) -> None:
        """The dimension of an entry. parts: its address.  finding: on it, where that does not bear its name."""
        thing = parts[1] if parts[0] in ("face", "nearby") else None
        key = ".".join(parts if thing is None else (parts[0], *parts[2:]))
        what = FIELDS[key].label
        if thing not in (None, self.face):
            what += f", {named(thing)}"
        if parts[0] == "nearby":
            near = self.findings.near(parts[1])
            judged = (
                "<=" if parts[2] == "projection" else ">="
            )  # how far out it may stand, or how near it may be
            finding = near if near and near.required and near.required.op == judged else None
        elif finding is None:
            id = key.removeprefix("face.").replace("firebox.smoke_chamber_", "smoke_chamber.")
            finding = self.findings.of(id, face=thing)
        amount, address = self.value(parts), join_address(parts)
        if amount is not None:
            self.exact(
                what,
                amount.value,
                start,
                end,
                place,
                rank,
                finding,
                address,
                only_its_own=parts[0] == "nearby",
            )
        elif parts[0] != "nearby" and self.findings.waits_for(address):
            self._dimension(what, NOT_KNOWN, start, end, place, rank, address, Verdict.MEASURE)
        else:
            self._dimension(what, NOT_KNOWN, start, end, place, rank + 2, address)

    def exact(
        self, what: str, value: Fraction, start: Point, end: Point, place: Place, rank: int,
        finding: Finding | None, entry: str, *, only_its_own: bool = False,
    ) -> None:  # fmt: skip
        """The dimension of a length that is known. entry: the address that tells it.

        only_its_own: a finding that judges another length leaves it unmarked.

        A finding that waits for another entry marks that one, not this.
        """
        verdict = finding.verdict if finding and finding.verdict is not Verdict.MEASURE else None
        asked = ""
        if finding and verdict and finding.required and finding.found and _inches(finding.found) == value:
            asked = f" ({'needs' if finding.required.op == '>=' else 'at most'} {finding.required.text})"
        elif only_its_own:
            verdict = None
        shown = lengths.show(value, self.job.units)
        self._dimension(what, shown, start, end, place, rank, entry, verdict, asked)

    def _dimension(
        self, what: str, text: str, start: Point, end: Point, place: Place, rank: int,
        entry: str, verdict: Verdict | None = None, asked: str = "",
    ) -> None:  # fmt: skip
        first, last = sorted((start, end))
        rank = 0 if verdict else rank
        waits = entry if text == NOT_KNOWN else ""
        self.dimensions.append(Dimension(what, text, first, last, place, rank, verdict, asked, waits, entry))


def _inches(of: Bound | Margin) -> Fraction | None:
    """A length of a finding in inches, None where it is no length."""
    if of.value is None or of.unit not in ("in", "mm"):
        return None
    return Fraction(of.value) / (1 if of.unit == "in" else lengths.MM_PER_INCH)


class _Seen:
    """The sizes of a face as they are drawn. Heights from the firebox floor: lip, the top of the hearth; bottom, its underside; floor."""

    def __init__(self, face: Face) -> None:
        hearth = face.hearth
        self.face = face
        self.wide, self.high = _size(face.width, "width"), _size(face.height, "height")
        self.breast = _size(face.lintel.wall_thickness, "breast")
        self.front, self.left, self.right = (
            _size(amount, form)
            for amount, form in ((hearth.front, "front"), (hearth.left, "side"), (hearth.right, "side"))
        )
        self.thick, self.step = _size(hearth.thickness, "slab"), _size(face.opening_above_hearth, None)
        self.stands, self.facing = _size(hearth.above_floor, None), _size(hearth.facing, None)
        self.half, self.top = self.wide.inches / 2, self.high.inches
        self.lip = -self.step.inches
        self.bottom = self.lip - self.thick.inches
        self.floor = self.lip - self.stands.inches


def _closure(face: Face) -> str:
    return {"none": "nothing closes it", None: f"doors: {NOT_KNOWN}"}.get(face.closure, str(face.closure))


def _below(below: str | None) -> str:
    words = {"wood, insulated": "on insulated wood", "air gap": "over an air gap"}
    return f"below: {NOT_KNOWN}" if below in (None, "unknown") else words.get(str(below), f"on {below}")


def _thing_fill(thing: Nearby) -> Fill:
    return "plain" if thing.combustible is False else "wood"


# The elevation of a face


def _elevation(sheet: _Sheet, face: Face) -> _Sheet:
    sheet.title, sheet.face = f"{named(face.name)}: elevation", face.name
    seen, me = _Seen(face), ("face", face.name)
    half, top = seen.half, seen.top
    springing = _opening(sheet, seen)
    _hearth_edge(sheet, seen)
    sheet.length((*me, "width"), (-half, 0), (half, 0), "below", 1)
    sheet.length((*me, "height"), (-half, 0), (-half, top), "left", 1)
    if face.arch == "segmental":
        sheet.length((*me, "rise"), (half, springing), (half, top), "right", 3)
    _lintel(sheet, seen)
    sheet.label(named(face.name), (0, top * 0.6), 2, (*me, "width"))
    sheet.label(_closure(face), (0, top * 0.35), 4, (*me, "closure"))
    beside = 0
    for thing in sheet.job.nearby:
        if thing.face != face.name or not _in_elevation(thing):
            continue
        if max(_size(thing.above, None).inches, _size(thing.beside, None).inches) > FARTHEST:
            continue
        if thing.above is None and thing.beside is not None:
            _upright(sheet, seen, thing, -1 if beside % 2 else 1)
            beside += 1
        else:
            _shelf(sheet, seen, thing)
    return sheet


def _opening(sheet: _Sheet, seen: _Seen) -> float:
    """Draw floor, jambs and head of an opening; how high its head springs."""
    face, half, top = seen.face, seen.half, seen.top
    rise = 0.0
    if face.arch == "semicircular":
        rise = min(half, top)
    elif face.arch == "segmental" and face.rise:
        rise = min(float(face.rise.value), half, top)
    springing = top - rise
    known = seen.wide.known and seen.high.known and not (face.arch == "segmental" and face.rise is None)
    head = tuple(_arch(half, springing, rise)) if rise else ((-half, top), (half, top))
    sheet.line(*head, known=known)
    for x in (-half, half):
        sheet.line((x, 0), (x, springing), known=known)
        sheet.line((x, 0), (x, seen.lip), known=seen.wide.known and seen.step.known)
    sheet.line((-half, 0), (half, 0), known=seen.wide.known)
    return springing


def _arch(half: float, springing: float, rise: float) -> Iterator[Point]:
    """A part of a circle over a width, from springing to springing."""
    radius = (half * half + rise * rise) / (2 * rise)
    turn = math.asin(min(1.0, half / radius))
    for step in range(-12, 13):
        angle = turn * step / 12
        yield radius * math.sin(angle), springing + rise - radius * (1 - math.cos(angle))


def _hearth_edge(sheet: _Sheet, seen: _Seen) -> None:
    """Draw the edge of a hearth, and the floor on either side of it."""
    face, half, lip, floor = seen.face, seen.half, seen.lip, seen.floor
    me, sure = ("face", face.name, "hearth"), seen.wide.known
    x0, x1 = -half - seen.left.inches, half + seen.right.inches
    under = sheet.findings.of("hearth.below", face=face.name)
    known = _edges(
        l=seen.left.known and sure, r=seen.right.known and sure, t=seen.step.known, b=seen.thick.known
    )
    sheet.box((x0, seen.bottom), (x1, lip), "hearth", known, (*me, "thickness"), _verdict(under))
    sheet.line((x0 - FLOOR, floor), (x0, floor), known=seen.stands.known)
    sheet.line((x1, floor), (x1 + FLOOR, floor), known=seen.stands.known)
    sheet.length((*me, "left"), (x0, lip), (-half, lip), "below", 2)
    sheet.length((*me, "right"), (half, lip), (x1, lip), "below", 2)
    sheet.length((*me, "thickness"), (x1, seen.bottom), (x1, lip), "right", 2)
    if seen.step.inches or not seen.step.known:
        sheet.length(("face", face.name, "opening_above_hearth"), (-half, lip), (-half, 0), "left", 3)
    if seen.stands.inches or not seen.stands.known:
        sheet.length((*me, "above_floor"), (x0, floor), (x0, lip), "left", 3)
    if under or face.hearth.below:
        at = (0, seen.bottom + seen.thick.inches / 4)
        sheet.label(_below(face.hearth.below), at, 3, (*me, "below"), under, "hearth")


def _lintel(sheet: _Sheet, seen: _Seen) -> None:
    """Draw what carries the wall over an opening, where anything was entered of it."""
    lintel, top = seen.face.lintel, seen.top
    if not (lintel.span or lintel.bearing or lintel.angle):
        return
    span = float(lintel.span.value) / 2 if lintel.span else seen.half
    rests = _size(lintel.bearing, "bearing")
    end = span + rests.inches
    sheet.line(
        (-end, top), (end, top), known=seen.wide.known and seen.high.known and rests.known, stroke="steel"
    )
    me = ("face", seen.face.name, "lintel")
    sheet.length((*me, "bearing"), (-end, top), (-span, top), "inside", 3)
    sheet.label(named(f"lintel {lintel.angle or ''}"), (seen.half / 2, top + 2), 4, (*me, "angle"))


def _in_elevation(thing: Nearby) -> bool:
    """Does a thing show beside or above an opening, as seen from the room."""
    if thing.above is None and thing.beside is None:
        return thing.what in ("mantel", "trim") and thing.ahead is None
    return True


def _upright(sheet: _Sheet, seen: _Seen, thing: Nearby, side: int) -> None:
    """Draw a thing that stands beside an opening."""
    finding, top, half = sheet.findings.near(str(thing.name)), seen.top, seen.half
    x = side * (half + _size(thing.beside, None).inches)
    end = x + side * STUD
    known = _edges(l=side > 0 and seen.wide.known, r=side < 0 and seen.wide.known)
    me = ("nearby", str(thing.name), "beside")
    sheet.box((x, 0), (end, top), _thing_fill(thing), known, me, _verdict(finding))
    sheet.length(me, (side * half, top / 2), (x, top / 2), "inside", 2)
    sheet.label(named(thing.name), ((x + end) / 2, top * 0.75), 1, me, finding)
    sheet.notes.append("On which side of the opening a thing stands is not recorded: it is drawn on either.")


def _shelf(sheet: _Sheet, seen: _Seen, thing: Nearby) -> None:
    """Draw a thing that stands over an opening, or off its corner."""
    finding, me = sheet.findings.near(str(thing.name)), ("nearby", str(thing.name))
    half, top, up, past = (
        seen.half,
        seen.top,
        _size(thing.above, "distance"),
        _size(thing.beside, None).inches,
    )
    bottom = top + up.inches
    start, end = (half + past, half + past + 3 * STUD) if past else (-half - OVERHANG, half + OVERHANG)
    known = _edges(b=seen.high.known and up.known, l=bool(past) and seen.wide.known)
    fill, above = _thing_fill(thing), (*me, "above")
    sheet.box((start, bottom), (end, bottom + SHELF), fill, known, above, _verdict(finding))
    foot = start if past else -half / 2
    sheet.length(above, (foot, top), (foot, bottom), "inside", 2)
    if past:
        sheet.length((*me, "beside"), (half, bottom), (start, bottom), "inside", 2)
    sheet.label(named(thing.name), ((start + end) / 2, bottom + SHELF / 2), 1, above, finding)


# The section, from the first face to the wall across from it


def _side(job: Job) -> str:
    """The wall that the first face opens: the front, where nothing else is said."""
    return job.face[0].side or "front"


def _across(job: Job) -> Face | None:
    """The face across from the first one."""
    return next((face for face in job.face[1:] if face.side == OPPOSITE[_side(job)]), None)


def _wall_key(sheet: _Sheet, side: str) -> str:
    """The entry that says how thick a wall of the firebox is: the sides stand for the back where that is not asked for."""
    own = sheet.job.firebox.back_wall or sheet.findings.waits_for(join_address(("firebox", "back_wall")))
    return "back_wall" if side == "back" and own else "wall"


def _wall_finding(sheet: _Sheet, side: str) -> Finding | None:
    """What is found of a wall of the firebox."""
    return sheet.findings.of("firebox.wall", item="back" if side == "back" else "sides")


class _Shaft(Struct, frozen=True):
    """What stands over the firebox, heights and places across from the plane of the first face.

    top, end: of the smoke chamber and of what is drawn of the flue.  throat, flue: from where to where.
    """

    high: _Size
    top: float
    end: float
    throat: tuple[float, float]
    flue: tuple[float, float]
    throat_known: bool
    chamber_known: bool
    flue_known: bool


def _shaft(job: Job, tallest: float, inner: tuple[float, float], *, central: bool) -> _Shaft:
    """inner: faces of the masonry below the throat.  central: the throat stands in the middle, not at the first face."""
    box = job.firebox
    high = _size(box.throat_height, None)
    if not high.known:
        high = _Size(tallest + FORM["over"], False)
    deep, chamber, wide = (
        _size(box.throat_depth, "throat"),
        _size(box.smoke_chamber_height, "chamber"),
        _flue(job),
    )
    top, middle = high.inches + chamber.inches, sum(inner) / 2
    start = middle - deep.inches / 2 if central else inner[0]
    return _Shaft(
        high, top, top + STUB, (start, start + deep.inches), (middle - wide.inches / 2, middle + wide.inches / 2),
        high.known and deep.known, high.known and chamber.known and wide.known, wide.known,
    )  # fmt: skip


def _flue(job: Job) -> _Size:
    """How wide the flue is front to back: known where it was measured and is the same across."""
    flue = job.flue
    if flue.diameter:
        return _size(flue.diameter, None)
    if flue.inside:
        a, b = flue.inside.a.value, flue.inside.b.value
        return _Size(float(min(a, b)), a == b)
    try:
        return _Size(float(min(liner_sides(flue.liner))) if flue.liner else FORM["flue"], False)
    except EntryError:
        return _Size(FORM["flue"], False)


def _flue_text(job: Job) -> str:
    """The flue by what was measured of it, else by its liner."""
    flue, unit = job.flue, job.units
    size = f"liner {named(flue.liner)}" if flue.liner else NOT_KNOWN
    if flue.inside:
        size = f"{lengths.show(flue.inside.a.value, unit)} x {lengths.show(flue.inside.b.value, unit)}"
    if flue.diameter:
        size = f"{lengths.show(flue.diameter.value, unit)} across"
    return f"flue {size}" + (f", top at {lengths.show(flue.height.value, unit)}" if flue.height else "")


def _section(sheet: _Sheet) -> _Sheet:
    job, findings, box = sheet.job, sheet.findings, sheet.job.firebox
    side, across = _side(job), _across(job)
    sheet.view, sheet.title = "section", f"Section, {side} to {OPPOSITE[side]}"
    near, far = _Seen(job.face[0]), _Seen(across) if across else None
    deep, slab = _size(box.depth, "depth"), _size(box.floor_slab, "slab")
    depth, middle = deep.inches, deep.inches / 2
    inner = (near.breast.inches, depth - far.breast.inches if far else depth)
    shaft = _shaft(job, max(seen.top for seen in (near, far) if seen), inner, central=far is not None)
    _half_section(sheet, near, shaft, lambda x, y: (x, y), "left")
    if far:
        ends = [tuple(depth - x for x in reversed(pair)) for pair in (shaft.throat, shaft.flue)]
        turned = _Shaft(
            shaft.high, shaft.top, shaft.end, (ends[0][0], ends[0][1]), (ends[1][0], ends[1][1]),
            shaft.throat_known, shaft.chamber_known, shaft.flue_known,
        )  # fmt: skip
        _half_section(sheet, far, turned, lambda x, y: (depth - x, y), "right")
    else:
        _back(sheet, deep, slab, shaft)
    under = findings.of("firebox.floor_below")
    floor, known = ("firebox", "floor_slab"), _edges(t=deep.known, b=slab.known)
    sheet.box((0, -slab.inches), (depth, 0), "hearth", known, floor, _verdict(under))
    _ground(sheet, (0, depth), -slab.inches, box.floor_below, under, "firebox", ("firebox", "floor_below"))
    sheet.length(floor, (middle, -slab.inches), (middle, 0), "inside", 3)
    sheet.length(("firebox", "depth"), (0, 0), (depth, 0), "below", 1)
    sheet.label("firebox", (middle, near.top * 0.4), 3, ("firebox", "depth"))
    _throat(sheet, shaft, depth)
    edge = max(x for area in sheet.areas if area.fill == "masonry" for x, y in area.points if y == shaft.end)
    for number, thing in enumerate(thing for thing in job.nearby if thing.at == "chimney"):
        _beside(sheet, thing, (edge, shaft.top - STUB + number * (TALL + 4)), (1, 0), None, known=False)
    sheet.notes.append(
        "Where throat and flue stand front to back, and how the masonry leans, is not recorded: drawn as is usual."
    )
    return sheet


def _half_section(sheet: _Sheet, seen: _Seen, shaft: _Shaft, at: At, place: Literal["left", "right"]) -> None:
    """Draw one open side: breast, smoke shelf and chamber, hearth, floor, and what stands before it.

    at: a point from how far it lies inward of the plane of the opening, and its height over the firebox floor.
    """
    face, findings, top, throat = seen.face, sheet.findings, seen.top, sheet.job.firebox.throat_height
    me, foot, y, lip, reach = (
        ("face", face.name),
        seen.breast.inches,
        shaft.high.inches,
        seen.lip,
        seen.front.inches,
    )
    if seen.facing.inches:
        known = "lrb" if seen.high.known else ""
        start = at(-seen.facing.inches, top)
        sheet.box(start, at(0, shaft.end), "masonry", known, (*me, "hearth", "facing"))
    upright = shaft.throat[0] == foot and shaft.high.known and seen.breast.known
    inner = [
        (at(foot, top), False), (at(shaft.throat[0], y), upright), (at(foot, y), shaft.throat_known),
        (at(shaft.flue[0], shaft.top), shaft.chamber_known), (at(shaft.flue[0], shaft.end), shaft.flue_known),
    ]  # fmt: skip
    _masonry(sheet, inner, [(at(0, top), False), (at(0, y), seen.high.known), (at(0, shaft.end), False)])
    sheet.line(at(0, top), at(foot, top), known=seen.high.known and seen.breast.known, stroke="steel")
    sheet.length((*me, "height"), at(0, 0), at(0, top), place, 1)
    over = findings.of("firebox.throat_height", face=face.name)
    if throat and face.height and throat.value > face.height.value:
        rise = throat.value - face.height.value
        what = f"Throat over the opening, {named(face.name)}"
        sheet.exact(what, rise, at(0, top), at(0, y), place, 2, over, "firebox.throat_height")
    elif over and over.verdict is not Verdict.MEASURE:
        throat_at = ("firebox", "throat_height")
        sheet.label("throat over the opening", at(foot, top), 0, throat_at, over, named(face.name))
    under = findings.of("hearth.below", face=face.name)
    known = place[0] * seen.front.known + _edges(t=seen.step.known, b=seen.thick.known)
    thick = (*me, "hearth", "thickness")
    sheet.box(at(-reach, seen.bottom), at(0, lip), "hearth", known, thick, _verdict(under))
    sheet.line(at(0, lip), at(0, 0), known=seen.step.known)
    sheet.line(at(-reach, seen.floor), at(-reach - FLOOR, seen.floor), known=seen.stands.known)
    _ground(
        sheet,
        (at(-reach, 0)[0], at(0, 0)[0]),
        seen.bottom,
        face.hearth.below,
        under,
        f"hearth, {named(face.name)}",
        (*me, "hearth", "below"),
    )
    sheet.length((*me, "hearth", "front"), at(-reach, lip), at(0, lip), "below", 2)
    sheet.length(thick, at(-reach, seen.bottom), at(-reach, lip), place, 3)
    if seen.stands.inches:
        sheet.length((*me, "hearth", "above_floor"), at(-reach, seen.floor), at(-reach, lip), place, 3)
    if seen.step.inches:
        sheet.length((*me, "opening_above_hearth"), at(0, lip), at(0, 0), place, 3)
    sheet.label(named(face.name), at(-reach * 0.6, top * 0.6), 2, (*me, "height"))
    inward = "r" if place == "left" else "l"
    for thing in sheet.job.nearby:
        if thing.face == face.name:
            _before(sheet, seen, thing, at, inward)


def _masonry(sheet: _Sheet, inner: Sequence[tuple[Point, bool]], outer: Sequence[tuple[Point, bool]]) -> None:
    """Draw masonry between two lines that run upward: points, and whether the line up to each is known."""
    drawn = [inner[0][0]]
    for (start, _), (end, known) in pairwise(inner):
        chamber = end == inner[-2][0] and sheet.job.firebox.smoke_chamber_form == "corbelled"
        points = [start, *_courses(start, end)] if chamber else [start, end]
        if start != end:
            sheet.line(*points, known=known)
        drawn += points[1:]
    for (start, _), (end, known) in pairwise(outer):
        sheet.line(start, end, known=known)
    rest = (point for point, _ in reversed(outer))
    sheet.area("masonry", *drawn, *rest, entry=("firebox", "smoke_chamber_wall"))


def _courses(start: Point, end: Point, courses: int = 8) -> Iterator[Point]:
    """A line that leans course by course: so many are drawn, not counted."""
    (x0, y0), (x1, y1) = start, end
    for course in range(courses):
        x = x0 + (x1 - x0) * course / (courses - 1)
        yield x, y0 + (y1 - y0) * course / courses
        yield x, y0 + (y1 - y0) * (course + 1) / courses


def _back(sheet: _Sheet, deep: _Size, slab: _Size, shaft: _Shaft) -> None:
    """Draw the wall across from the first face, and what stands behind it."""
    job, across = sheet.job, OPPOSITE[_side(sheet.job)]
    key = _wall_key(sheet, across)
    wall = _size(getattr(job.firebox, key), "wall")
    depth, y, bottom, known = deep.inches, shaft.high.inches, -slab.inches, deep.known and wall.known
    outer = depth + wall.inches
    inner = [
        ((depth, 0.0), False), ((depth, y * 0.4), deep.known), ((shaft.throat[1], y), False), ((depth, y), shaft.throat_known),
        ((shaft.flue[1], shaft.top), shaft.chamber_known), ((shaft.flue[1], shaft.end), shaft.flue_known),
    ]  # fmt: skip
    _masonry(
        sheet,
        inner,
        [
            ((depth, bottom), False),
            ((outer, bottom), slab.known and known),
            ((outer, y), known),
            ((outer, shaft.end), False),
        ],
    )
    finding = _wall_finding(sheet, across)
    sheet.length(("firebox", key), (depth, bottom), (outer, bottom), "below", 2, finding)
    for number, thing in enumerate(thing for thing in job.nearby if thing.at == f"firebox {across}"):
        _beside(sheet, thing, (outer, y * 0.2 + number * (TALL + 4)), (1, 0), depth, known=known)


def _throat(sheet: _Sheet, shaft: _Shaft, depth: float) -> None:
    """Draw the damper, and say what there is of throat, smoke chamber and flue."""
    findings, box = sheet.findings, sheet.job.firebox
    (first, last), y, top, middle = shaft.throat, shaft.high.inches, shaft.top, sum(shaft.flue) / 2
    if box.damper == "throat":
        sheet.line((last, y), (last, y + last - first), known=shaft.throat_known, stroke="steel")
    sheet.length(("firebox", "throat_height"), (depth, 0), (depth, y), "right", 2)
    sheet.length(("firebox", "smoke_chamber_height"), (depth, y), (depth, top), "right", 3)
    narrow = findings.of("firebox.throat_depth") or findings.of("firebox.passageway", item="throat")
    sheet.length(("firebox", "throat_depth"), (first, y), (last, y), "inside", 2, narrow)
    words = {"throat": "damper", "top": "damper at the top", "none": "no damper"}
    damper = findings.of("firebox.damper") or findings.of("firebox.passageway", item="damper")
    spot = (middle, shaft.end - 2) if box.damper == "top" else ((first + last) / 2, y + 3)
    which = words.get(str(box.damper), f"damper: {NOT_KNOWN}")
    sheet.label(which, spot, 3, ("firebox", "damper"), damper)
    chamber = findings.of("smoke_chamber.slope", "smoke_chamber.wall", "smoke_chamber.parging")
    at = ("firebox", "smoke_chamber_height")
    sheet.label("smoke chamber", (middle, (y + top) / 2), 3, at, chamber)
    flue = findings.of("flue.area")
    sheet.label(_flue_text(sheet.job), (middle, top + STUB / 3), 3, ("flue", "liner"), flue)


def _ground(
    sheet: _Sheet,
    across: tuple[float, float],
    y: float,
    below: str | None,
    finding: Finding | None,
    part: str,
    entry: Parts,
) -> None:
    """Draw what lies below a slab. part: the slab.  entry: what tells what lies there."""
    start, end, bottom = min(across), max(across), y - GROUND
    fill: Fill = (
        "plain" if below in (None, "unknown", "air gap") else "wood" if "wood" in str(below) else "masonry"
    )
    corners = (start, bottom), (end, bottom), (end, y), (start, y)
    sheet.area(fill, *corners, entry=entry, verdict=_verdict(finding))
    sheet.label(_below(below), ((start + end) / 2, (bottom + y) / 2), 3, entry, finding, part)


def _before(sheet: _Sheet, seen: _Seen, thing: Nearby, at: At, inward: str) -> None:
    """Draw a thing before a face, seen from the side: over the opening, or ahead of it. inward: the edge towards the fire."""
    finding, me, fill = sheet.findings.near(str(thing.name)), ("nearby", str(thing.name)), _thing_fill(thing)
    ahead, above, out = (
        _size(thing.ahead, None),
        _size(thing.above, "distance"),
        _size(thing.projection, "projection"),
    )
    face, foot, bottom = -seen.facing.inches, seen.floor, seen.top + above.inches
    if max(ahead.inches, above.inches, out.inches) > FARTHEST:
        return
    if ahead.inches:
        start, end = at(-ahead.inches, foot), at(-ahead.inches - STUD, foot + TALL)
        sheet.box(start, end, fill, inward, (*me, "ahead"), _verdict(finding))
        sheet.length((*me, "ahead"), start, at(0, foot), "below", 2)
        sheet.label(named(thing.name), ((start[0] + end[0]) / 2, end[1]), 1, (*me, "ahead"), finding)
    elif _in_elevation(thing) and not (thing.beside and (thing.above is None or thing.beside.value)):
        start, end = at(face - out.inches, bottom), at(face, bottom + SHELF)
        outward = "l" if inward == "r" else "r"
        known = outward * out.known + _edges(b=above.known and seen.high.known)
        sheet.box(start, end, fill, known, (*me, "projection"), _verdict(finding))
        sheet.length((*me, "projection"), (start[0], end[1]), end, "inside", 2)
        middle = (start[0] + end[0]) / 2
        sheet.label(named(thing.name), (middle, bottom + SHELF / 2), 1, (*me, "above"), finding)


def _beside(
    sheet: _Sheet, thing: Nearby, face: Point, away: tuple[int, int], lining: float | None, *, known: bool
) -> None:
    """Draw a thing beside the masonry, clear of it by its gap or touching it.

    face: a point of the outer face of the masonry.  away: the way out from it, along x or along y.
    lining: the inner face along that way.  known: is where the outer face is.
    """
    finding, me = sheet.findings.near(str(thing.name)), ("nearby", str(thing.name))
    gap, through = _size(thing.gap, "gap"), _size(thing.from_lining, None)
    if max(gap.inches, through.inches) > FARTHEST:
        return
    upright, sign = away[0] != 0, sum(away)
    (outer, along) = face if upright else (face[1], face[0])

    def at(out: float, up: float) -> Point:
        return (out, up) if upright else (up, out)

    touches = thing.gap is None and through.known
    near = outer + sign * (0 if touches else gap.inches)
    if touches and lining is not None:
        near = lining + sign * through.inches
    inward = {(1, 0): "l", (-1, 0): "r", (0, 1): "b"}[away] * (known and (gap.known or touches))
    start, end = at(near, along), at(near + sign * STUD, along + TALL)
    entry = (*me, "from_lining" if touches else "gap")
    sheet.box(start, end, _thing_fill(thing), inward, entry, _verdict(finding))
    before = along - 1  # past the thing, where a text has room
    if not touches:
        sheet.length((*me, "gap"), at(outer, before), at(near, before), "inside", 2)
    elif lining is not None:
        sheet.length((*me, "from_lining"), at(lining, before), at(near, before), "inside", 2)
    top = along + (TALL if upright else TALL / 2)
    sheet.label(named(thing.name), at(near + sign * STUD / 2, top), 1, entry, finding)


# The plan, the first face below


def _plan(sheet: _Sheet) -> _Sheet:
    job, box, findings = sheet.job, sheet.job.firebox, sheet.findings
    side, across = _side(job), _across(job)
    sheet.view, sheet.title = "plan", "Plan of the hearths"
    near, far, deep = _Seen(job.face[0]), _Seen(across) if across else None, _size(box.depth, "depth")
    half, depth, end = near.half, deep.inches, far.half if far else near.half
    known = near.wide.known and deep.known and (far is None or far.wide.known)
    drawn = [job.face[0], *([across] if across else [])]
    thick = 0.0
    for sign, which in zip((-1, 1), BESIDE[side], strict=True):
        x, key = sign * half, _wall_key(sheet, which)
        wall = _size(getattr(box, key), "wall")
        thick = max(thick, wall.inches)
        outer, outer_end = x + sign * wall.inches, sign * (end + wall.inches)
        sheet.line((x, 0), (sign * end, depth), known=known)
        opened = next((face for face in job.face[1:] if face.side == which), None)
        if opened:
            drawn.append(opened)
            _hearth_plan(
                sheet,
                _Seen(opened),
                _through(x, depth / 2, sign),
                "left" if sign < 0 else "right",
                deep.known,
            )
            continue
        corners = (x, 0), (outer, 0), (outer_end, depth), (sign * end, depth)
        sheet.area("masonry", *corners, entry=("firebox", key))
        sheet.line((outer, 0), (outer_end, depth), known=known and wall.known)
        sheet.line((x, 0), (outer, 0), known=near.wide.known and wall.known)
        if sign > 0:
            at = (x, depth / 2), (outer, depth / 2)
            sheet.length(("firebox", key), *at, "inside", 2, _wall_finding(sheet, which))
    _hearth_plan(sheet, near, lambda along, out: (along, -out), "below", near.wide.known)
    behind = depth
    if far:
        _hearth_plan(sheet, far, lambda along, out: (-along, depth + out), "above", known)
        left = findings.of("firebox.wall", item="beside the back opening")
        if left:
            wall_at, of = ("firebox", "wall"), named(far.face.name)
            sheet.label("masonry beside the opening", (end, depth), 0, wall_at, left, of)
    else:
        behind = _back_in_plan(sheet, half, thick, depth, known)
    sheet.length(("firebox", "depth"), (half, 0), (half, depth), "right", 1)
    sheet.label("firebox", (0, depth / 2), 2, ("firebox", "depth"))
    _round_the_plan(sheet, half, half + thick, depth, behind, known=known)
    for face in job.face:
        if face not in drawn:
            where = "not known" if face.side is None else "that of another face"
            sheet.notes.append(f"{named(face.name)} is not drawn in plan and section: its side is {where}.")
    sheet.notes.append(
        "The splay of the sides is not recorded: they are drawn straight, each face in the middle of its wall."
    )
    return sheet


def _through(x: float, middle: float, sign: int) -> At:
    """The way out through a side wall. sign: -1 to the left, 1 to the right."""
    return lambda along, out: (x + sign * out, middle + sign * along)


def _back_in_plan(sheet: _Sheet, half: float, thick: float, depth: float, known: bool) -> float:
    """Draw the wall across from the first face; how far back its outer face lies."""
    across = OPPOSITE[_side(sheet.job)]
    key = _wall_key(sheet, across)
    wall = _size(getattr(sheet.job.firebox, key), "wall")
    outer, x = depth + wall.inches, half + thick
    corners = (-x, depth), (x, depth), (x, outer), (-x, outer)
    sheet.area("masonry", *corners, entry=("firebox", key))
    sheet.line((-half, depth), (half, depth), known=known)
    for start, end in (((-x, depth), (-x, outer)), ((x, depth), (x, outer)), ((-x, outer), (x, outer))):
        sheet.line(start, end, known=known and wall.known)
    finding = _wall_finding(sheet, across)
    sheet.length(("firebox", key), (0, depth), (0, outer), "inside", 2, finding)
    return outer


def _hearth_plan(
    sheet: _Sheet, seen: _Seen, at: At, place: Literal["left", "right", "above", "below"], known: bool
) -> None:
    """Draw the hearth before a face, and round it the one that is required where it is too small.

    at: a point from how far it lies along the face, to the right as one looks in, and how far out from it.
    """
    face, half, out = seen.face, seen.half, seen.front.inches
    me, sure = ("face", face.name, "hearth"), known and seen.wide.known
    x0, x1 = -half - seen.left.inches, half + seen.right.inches
    found = {key: sheet.findings.of(f"hearth.{key}", face=face.name) for key in ("front", "left", "right")}
    corners, verdict = (at(x0, 0), at(x1, 0), at(x1, out), at(x0, out)), _verdict(_worst(found.values()))
    sheet.area("hearth", *corners, entry=(*me, "front"), verdict=verdict)
    sheet.line(at(x0, 0), at(x0, out), known=sure and seen.left.known)
    sheet.line(at(x1, 0), at(x1, out), known=sure and seen.right.known)
    sheet.line(at(x0, out), at(x1, out), known=known and seen.front.known)
    sheet.line(at(x0, 0), at(x1, 0), known=sure)
    sheet.length((*me, "left"), at(x0, 0), at(-half, 0), place, 1)
    sheet.length((*me, "right"), at(half, 0), at(x1, 0), place, 1)
    sheet.length(("face", face.name, "width"), at(-half, 0), at(half, 0), place, 1)
    sheet.length(
        (*me, "front"), at(x1, 0), at(x1, out), "below" if place in ("left", "right") else "right", 1
    )
    sheet.label(named(face.name), at(0, out / 2), 2, (*me, "front"), part="hearth")
    if any(finding and finding.verdict is Verdict.SHORT for finding in found.values()):
        far = _asked(found["front"], seen.front)
        a0, a1 = -half - _asked(found["left"], seen.left), half + _asked(found["right"], seen.right)
        sheet.line(at(a0, 0), at(a0, far), at(a1, far), at(a1, 0), stroke="asked")


def _asked(finding: Finding | None, drawn: _Size) -> float:
    """How far a hearth is asked to reach, from the same line as it was measured from; as far as it does where that is enough."""
    short = _inches(finding.margin) if finding and finding.margin else None
    return drawn.inches if short is None or short > 0 or not drawn.known else drawn.inches - float(short)


def _round_the_plan(
    sheet: _Sheet, half: float, beyond: float, depth: float, behind: float, *, known: bool
) -> None:
    """Draw what stands beside the masonry of the firebox. half, depth: its inner faces.  beyond, behind: its outer ones."""
    side = _side(sheet.job)
    sides = back = 0
    for thing in sheet.job.nearby:
        if thing.at == "firebox side" and side in ("front", "back"):
            sign = 1 if sides % 2 else -1
            _beside(
                sheet,
                thing,
                (sign * beyond, 3 + sides // 2 * (TALL + 4)),
                (sign, 0),
                sign * half,
                known=known,
            )
            sides += 1
        elif thing.at == f"firebox {OPPOSITE[side]}" and behind > depth:
            _beside(sheet, thing, (back * (TALL + 4) - half + 2, behind), (0, 1), depth, known=known)
            back += 1
