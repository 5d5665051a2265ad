"""The fireplace as lines and labels in real units; text, SVG and a description are three ways to show it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from textwrap import wrap
from typing import Literal
from unicodedata import category, east_asian_width, normalize
from xml.sax.saxutils import escape
from zlib import crc32

from hearthcalc import lengths
from hearthcalc.entry import Amount, clean
from hearthcalc.errors import EntryError
from hearthcalc.findings import Bound, Finding, Margin, StageResult, Verdict, worst
from hearthcalc.job import FIELDS, Face, Job, Nearby, Stage, join_address
from hearthcalc.lengths import Unit
from hearthcalc.reference import liner_sides

Point = tuple[float, float]
View = Literal["elevation", "section", "plan"]
Stroke = Literal["solid", "dashed", "steel", "asked"]
Fill = Literal["masonry", "hearth", "wood", "plain"]
Place = Literal["above", "below", "left", "right", "inside"]

NOT_KNOWN = "not known"
SHOWN = (Verdict.SHORT, Verdict.MEASURE, Verdict.CLOSE)
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}
# The walls to the left and to the right of a person who looks in through each one.
BESIDE = {
    "front": ("left", "right"),
    "back": ("right", "left"),
    "left": ("back", "front"),
    "right": ("front", "back"),
}


@dataclass(frozen=True, slots=True)
class Area:
    """A filled part of a drawing. points: its outline, inches.  verdict: of the thing that it shows, where that is to be marked."""

    points: tuple[Point, ...]
    fill: Fill
    verdict: Verdict | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a drawing, inches. Dashed where it was not measured; "asked" is an outline that the reference values ask for."""

    points: tuple[Point, ...]
    stroke: Stroke = "solid"


@dataclass(frozen=True, slots=True)
class Dimension:
    """A length with its text, level or upright. start, end: what it spans, inches.  place: beside the drawing, or in it.

    rank: 0 stays longest where there is little room.  asked: what is asked for, where it is not met.
    """

    what: str
    text: str
    start: Point
    end: Point
    place: Place
    rank: int
    verdict: Verdict | None = None
    asked: str = ""

    @property
    def upright(self) -> bool:
        """Does it run up and down."""
        return self.place in ("left", "right") or (self.place == "inside" and self.start[0] == self.end[0])


@dataclass(frozen=True, slots=True)
class Label:
    """The name of a part or a thing. at: the middle of what it names, inches."""

    text: str
    at: Point
    rank: int
    verdict: Verdict | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that is too close, too small, to be measured again or still to be measured."""

    verdict: Verdict
    text: str

    @property
    def line(self) -> str:
        """The mark as a person reads it: sign, word, thing."""
        return f"{self.verdict.sign} {self.verdict} {self.text}"


@dataclass(frozen=True, slots=True)
class Drawing:
    """One view of the fireplace in inches, x to the right and y upward; in a plan, y away from the first face.

    face: whose elevation it is.  notes: what the drawing leaves out or takes as usual.
    """

    title: str
    view: View
    face: str | None
    areas: tuple[Area, ...]
    lines: tuple[Line, ...]
    dimensions: tuple[Dimension, ...]
    labels: tuple[Label, ...]
    notes: tuple[str, ...]

    @property
    def marks(self) -> tuple[Mark, ...]:
        """All that is marked on it."""
        return tuple(mark for item in (*self.labels, *self.dimensions) if (mark := _mark(item)))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of what is drawn, inches."""
        points = [point for part in (*self.areas, *self.lines) for point in part.points]
        across, up = [x for x, _ in points], [y for _, y in points]
        return min(across), min(up), max(across), max(up)


def _mark(item: Label | Dimension) -> Mark | None:
    if item.verdict is None:
        return None
    told = item.text if isinstance(item, Label) else f"{item.what}: {item.text}{item.asked}"
    return Mark(item.verdict, told)


def views(stage: Stage, result: StageResult) -> tuple[Drawing, ...]:
    """The elevation of each face, the section through the firebox and the plan of the hearths, at one stage.

    result: the findings of that stage.
    """
    told = _Told(result)
    when = {"found": "as found", "planned": "as planned"}.get(stage.name, stage.name)
    sheets = [_elevation(told, stage.job, face, when) for face in stage.job.face]
    return tuple(
        sheet.drawing() for sheet in (*sheets, _section(told, stage.job, when), _plan(told, stage.job, when))
    )


class _Told:
    """What the findings of a stage say of an entry or of a thing. Findings that do not count mark nothing."""

    def __init__(self, result: StageResult) -> None:
        self._of: dict[str, list[Finding]] = {}
        self._near: dict[str, list[Finding]] = {}
        missing: set[str] = set()
        for finding in result.findings:
            if finding.counts:
                missing.update(address.removeprefix("planned.") for address in finding.missing)
                self._of.setdefault(finding.id, []).append(finding)
                if finding.item and finding.subject == "clearance":
                    self._near.setdefault(finding.item, []).append(finding)
        self._missing = missing

    def of(self, *ids: str, face: str | None = None, item: str | None = None) -> Finding | None:
        """The worst finding under some ids that is to be marked, of a face and an item where these are given."""
        return _worst(
            finding
            for id in ids
            for finding in self._of.get(id, ())
            if face in (None, finding.face) and item in (None, finding.item)
        )

    def near(self, thing: Nearby) -> Finding | None:
        """The worst finding on the clearance of a thing that is to be marked."""
        return _worst(self._near.get(thing.name or "", ()))

    def waits_for(self, address: str) -> bool:
        """Does a finding wait for this entry."""
        return address in self._missing


def _worst(findings: Iterable[Finding]) -> Finding | None:
    marked = [finding for finding in findings if finding.verdict in SHOWN]
    verdict = worst(finding.verdict for finding in marked)
    return next((finding for finding in marked if finding.verdict is verdict), None)


# Forms that stand in for what was not measured: drawn dashed, never printed, inches
FORM = {
    "width": 36.0, "height": 28.0, "depth": 20.0, "front": 16.0, "side": 10.0, "slab": 4.0, "wall": 8.0, "breast": 4.0,
    "throat": 4.0, "over": 9.0, "chamber": 26.0, "flue": 11.0, "stub": 12.0, "shelf": 3.0, "overhang": 4.0, "thing": 4.0, "tall": 18.0,
    "distance": 10.0, "projection": 6.0, "gap": 3.0, "floor": 8.0, "below": 8.0,
}  # fmt: skip
FARTHEST = 120.0  # what stands further off would make the fireplace too small to see: it goes into the notes


@dataclass(frozen=True, slots=True)
class _Size:
    """A length as it is drawn: measured, or a form that stands in for it."""

    inches: float
    known: bool


def _size(amount: Amount | None, form: str) -> _Size:
    return _Size(FORM[form], False) if amount is None else _Size(float(amount.value), True)


def _or_none(amount: Amount | None) -> _Size:
    """A length that is usually nothing: not known, it is drawn as nothing."""
    return _Size(0.0, False) if amount is None else _Size(float(amount.value), True)


class _Sheet:
    """A drawing while it is made."""

    def __init__(self, told: _Told, unit: Unit, view: View, title: str, face: str | None = None) -> None:
        self.told = told
        self.unit = unit
        self.title = title
        self.view: View = view
        self.face = face
        self.areas: list[Area] = []
        self.lines: list[Line] = []
        self.dimensions: list[Dimension] = []
        self.labels: list[Label] = []
        self.notes: list[str] = []

    def drawing(self) -> Drawing:
        return Drawing(
            self.title, self.view, self.face, tuple(self.areas), tuple(self.lines), tuple(self.dimensions),
            tuple(self.labels), tuple(dict.fromkeys(self.notes)),
        )  # fmt: skip

    def line(self, *points: Point, known: bool = True, stroke: Stroke = "solid") -> None:
        self.lines.append(Line(points, stroke if known else "dashed"))

    def area(self, fill: Fill, *points: Point, verdict: Verdict | None = None) -> None:
        self.areas.append(Area(points, fill, verdict))

    def box(
        self,
        corner: Point,
        other: Point,
        fill: Fill = "plain",
        *,
        known: str = "lrtb",
        verdict: Verdict | None = None,
    ) -> None:
        """A rectangle. known: the edges that were measured, of left, right, top and bottom."""
        (x0, x1), (y0, y1) = sorted((corner[0], other[0])), sorted((corner[1], other[1]))
        self.area(fill, (x0, y0), (x1, y0), (x1, y1), (x0, y1), verdict=verdict)
        for edge, start, end in (
            ("b", (x0, y0), (x1, y0)),
            ("t", (x0, y1), (x1, y1)),
            ("l", (x0, y0), (x0, y1)),
            ("r", (x1, y0), (x1, y1)),
        ):
            self.line(start, end, known=edge in known)

    def label(self, text: str, at: Point, rank: int, finding: Finding | None = None) -> None:
        self.labels.append(Label(text, at, 0 if finding else rank, _verdict(finding)))

    def length(
        self, parts: Sequence[str], amount: Amount | None, start: Point, end: Point, place: Place, rank: int,
        finding: Finding | None = None,
    ) -> None:  # fmt: skip
        """The dimension of an entry. parts: its address.  A finding that waits for another entry does not mark this one."""
        key = ".".join((parts[0], *parts[2:]) if parts[0] in ("face", "nearby") else parts)
        what = FIELDS[key].label
        if parts[0] != "firebox" and parts[1] != self.face:
            what += f", {_name(parts[1])}"
        if amount is not None:
            self.exact(what, amount.value, start, end, place, rank, finding, always=parts[0] != "nearby")
        elif parts[0] != "nearby" and self.told.waits_for(join_address(parts)):
            self._dimension(what, NOT_KNOWN, start, end, place, rank, Verdict.MEASURE)
        else:
            self._dimension(what, NOT_KNOWN, start, end, place, rank + 2)

    def exact(
        self, what: str, value: Fraction, start: Point, end: Point, place: Place, rank: int,
        finding: Finding | None = None, *, always: bool = True,
    ) -> None:  # fmt: skip
        """The dimension of a length that is known. always: the finding marks it also where it judges another length."""
        verdict = finding.verdict if finding and finding.verdict is not Verdict.MEASURE else None
        asked = ""
        if finding and finding.required and finding.found and _inches(finding.found) == value:
            asked = f" ({'needs' if finding.required.op == '>=' else 'at most'} {finding.required.text})"
        elif not always:
            verdict = None
        text = lengths.show(value, self.unit)
        self._dimension(what, text, start, end, place, rank, verdict, asked if verdict else "")

    def _dimension(
        self,
        what: str,
        text: str,
        start: Point,
        end: Point,
        place: Place,
        rank: int,
        verdict: Verdict | None = None,
        asked: str = "",
    ) -> None:
        first, last = sorted((start, end))
        self.dimensions.append(
            Dimension(what, text, first, last, place, 0 if verdict else rank, verdict, asked)
        )


def _inches(of: Bound | Margin) -> Fraction | None:
    """A length of a finding in inches, None where it is no length."""
    if of.value is None or of.unit not in ("in", "mm"):
        return None
    return Fraction(of.value) / (1 if of.unit == "in" else lengths.MM_PER_INCH)


# The elevation of a face


def _elevation(told: _Told, job: Job, face: Face, when: str) -> _Sheet:
    sheet = _Sheet(told, job.units, "elevation", f"{_name(face.name)}: elevation, {when}", face.name)
    me = ("face", face.name)
    wide, high = _size(face.width, "width"), _size(face.height, "height")
    half, top, both = wide.inches / 2, high.inches, wide.known and high.known
    springing = _opening(sheet, face, half, top, both)
    _hearth_edge(sheet, face, half, wide.known)
    sheet.line((-half, 0), (half, 0), known=wide.known)
    sheet.length((*me, "width"), face.width, (-half, 0), (half, 0), "below", 1)
    sheet.length((*me, "height"), face.height, (-half, 0), (-half, top), "left", 1)
    if face.arch == "segmental":
        sheet.length((*me, "rise"), face.rise, (half, springing), (half, top), "right", 3)
    _lintel(sheet, face, half, top, both)
    sheet.label(_name(face.name), (0, top * 0.6), 2)
    closes = {"none": "nothing closes it", None: f"doors: {NOT_KNOWN}"}.get(face.closure, face.closure)
    sheet.label(str(closes), (0, top * 0.35), 4)
    turns = 0
    for thing in job.nearby:
        if thing.face == face.name:
            turns += _on_elevation(sheet, thing, half, high, wide.known, turns)
    return sheet


def _opening(sheet: _Sheet, face: Face, half: float, top: float, known: bool) -> float:
    """Draw jambs and head of an opening; where the head springs from."""
    rise = 0.0
    if face.arch == "semicircular":
        rise = min(half, top)
    elif face.arch == "segmental" and face.rise:
        rise = min(float(face.rise.value), half, top)
    springing = top - rise
    known = known and not (face.arch == "segmental" and face.rise is None)
    for x in (-half, half):
        sheet.line((x, 0), (x, springing), known=known)
    head = tuple(_arch(half, springing, rise)) if rise else ((-half, top), (half, top))
    sheet.line(*head, known=known)
    sheet.area("plain", (-half, 0), *head, (half, 0))
    return springing


def _arch(half: float, springing: float, rise: float) -> Iterator[Point]:
    """A part of a circle over a width, from springing to springing."""
    radius = (half * half + rise * rise) / (2 * rise)
    turn = math.asin(min(1.0, half / radius))
    for step in range(-12, 13):
        angle = turn * step / 12
        yield radius * math.sin(angle), springing + rise - radius * (1 - math.cos(angle))


def _hearth_edge(sheet: _Sheet, face: Face, half: float, known: bool) -> None:
    """Draw the hearth of a face as it is seen from the room, and the floor."""
    told, hearth, me = sheet.told, face.hearth, ("face", face.name, "hearth")
    step, stands = _or_none(face.opening_above_hearth), _or_none(hearth.above_floor)
    thick = _size(hearth.thickness, "slab")
    ends = {side: _size(getattr(hearth, side), "side") for side in ("left", "right")}
    x0, x1, lip = -half - ends["left"].inches, half + ends["right"].inches, -step.inches
    edges = "".join(
        edge
        for edge, sure in (
            ("l", ends["left"].known and known),
            ("r", ends["right"].known and known),
            ("t", step.known),
            ("b", thick.known),
        )
        if sure
    )
    below = told.of("hearth.below", face=face.name)
    sheet.box((x0, lip - thick.inches), (x1, lip), "hearth", known=edges, verdict=_verdict(below))
    floor = lip - stands.inches
    for out, end in ((x0, x0 - FORM["floor"]), (x1, x1 + FORM["floor"])):
        sheet.line((out, floor), (end, floor), known=stands.known)
    for x in (-half, half):
        sheet.line((x, 0), (x, lip), known=known and step.known)
    sheet.length(
        (*me, "left"),
        hearth.left,
        (x0, lip),
        (-half, lip),
        "below",
        2,
        told.of("hearth.left", face=face.name),
    )
    sheet.length(
        (*me, "right"),
        hearth.right,
        (half, lip),
        (x1, lip),
        "below",
        2,
        told.of("hearth.right", face=face.name),
    )
    thin = told.of("hearth.thickness", face=face.name)
    sheet.length((*me, "thickness"), hearth.thickness, (x1, lip - thick.inches), (x1, lip), "right", 2, thin)
    if step.inches or not step.known:
        me_up = ("face", face.name, "opening_above_hearth")
        sheet.length(me_up, face.opening_above_hearth, (-half, lip), (-half, 0), "left", 3)
    if stands.inches or not stands.known:
        sheet.length((*me, "above_floor"), hearth.above_floor, (x0, floor), (x0, lip), "left", 3)
    if below or hearth.below:
        sheet.label(_below_text(hearth.below), (0, lip - thick.inches - 1), 3, below)


def _below_text(below: str | None) -> str:
    words = {
        None: f"below: {NOT_KNOWN}",
        "unknown": f"below: {NOT_KNOWN}",
        "wood, insulated": "on insulated wood",
        "air gap": "over an air gap",
    }
    return words.get(below, f"on {below}")


def _lintel(sheet: _Sheet, face: Face, half: float, top: float, known: bool) -> None:
    lintel = face.lintel
    finding = sheet.told.of("lintel.bearing", face=face.name)
    if not (lintel.span or lintel.bearing or lintel.angle or finding):
        return
    span = float(lintel.span.value) / 2 if lintel.span else half
    rests = _size(lintel.bearing, "throat")
    end = span + rests.inches
    sheet.line((-end, top), (end, top), known=known and rests.known, stroke="steel")
    sheet.length(
        ("face", face.name, "lintel", "bearing"),
        lintel.bearing,
        (-end, top),
        (-span, top),
        "above",
        3,
        finding,
    )
    sheet.label(_name(f"lintel {lintel.angle or ''}"), (half / 2, top + 2), 4)


def _on_elevation(
    sheet: _Sheet, thing: Nearby, half: float, high: _Size, wide_known: bool, turns: int
) -> int:
    """Draw a thing as it stands above or beside an opening; how many things stand beside it more than before."""
    finding, me, top = sheet.told.near(thing), ("nearby", thing.name or ""), high.inches
    above, beside, name = thing.above, thing.beside, _name(thing.name)
    if above is None and beside is None and (thing.what not in ("mantel", "trim") or thing.ahead is not None):
        return 0
    off = [float(distance.value) for distance in (above, beside) if distance]
    if max(off, default=0.0) > FARTHEST:
        _far_away(sheet, thing, finding)
        return 0
    fill, verdict = _burning(thing), _verdict(finding)
    out = float(beside.value) if beside else 0.0
    up = _size(above, "distance")
    if above is None and beside is not None:
        side = -1 if turns % 2 else 1
        x = side * (half + out)
        known = ("l" if side > 0 else "r") if wide_known else ""
        sheet.box((x, 0), (x + side * FORM["thing"], top), fill, known=known, verdict=verdict)
        sheet.length((*me, "beside"), beside, (side * half, top / 2), (x, top / 2), "inside", 2, finding)
        sheet.label(name, (x + side * FORM["thing"] / 2, top * 0.75), 1, finding)
        sheet.notes.append(
            "On which side of the opening a thing stands is not recorded: it is drawn on either."
        )
        return 1
    bottom = top + up.inches
    start, end = (
        (half + out, half + out + 3 * FORM["thing"])
        if out
        else (-half - FORM["overhang"], half + FORM["overhang"])
    )
    known = ("b" if high.known and up.known else "") + ("l" if out and wide_known else "")
    sheet.box((start, bottom), (end, bottom + FORM["shelf"]), fill, known=known, verdict=verdict)
    middle = start if out else -half / 2
    sheet.length((*me, "above"), above, (middle, top), (middle, bottom), "inside", 2, finding)
    if out:
        sheet.length((*me, "beside"), beside, (half, bottom), (start, bottom), "inside", 2, finding)
    sheet.label(name, ((start + end) / 2, bottom + FORM["shelf"] / 2), 1, finding)
    return 0


def _burning(thing: Nearby) -> Fill:
    return "plain" if thing.combustible is False else "wood"


def _far_away(sheet: _Sheet, thing: Nearby, finding: Finding | None) -> None:
    word = f"{finding.verdict.sign} {finding.verdict} " if finding else ""
    sheet.notes.append(f"{word}{_name(thing.name)} stands too far off to be drawn to scale.")


# The section through the firebox, from the first face to the wall across from it


def _side(face: Face, first: Face) -> str | None:
    """The wall that a face opens; the first face is the front where nothing else is said."""
    return face.side or ("front" if face is first else None)


def _across(job: Job) -> tuple[Face, Face | None]:
    """The first face, and the one across from it."""
    near = job.face[0]
    far = next((face for face in job.face[1:] if face.side == OPPOSITE[_side(near, near) or "front"]), None)
    return near, far


def _section(told: _Told, job: Job, when: str) -> _Sheet:
    near, far = _across(job)
    side = _side(near, near) or "front"
    sheet = _Sheet(told, job.units, "section", f"Section, {side} to {OPPOSITE[side]}, {when}")
    box = job.firebox
    deep, slab = _size(box.depth, "depth"), _size(box.floor_slab, "slab")
    depth = deep.inches
    tallest = max(_size(face.height, "height").inches for face in (near, far) if face)
    high = (
        _Size(float(box.throat_height.value), True)
        if box.throat_height
        else _Size(tallest + FORM["over"], False)
    )
    narrow, chamber, flue = (
        _size(box.throat_depth, "throat"),
        _size(box.smoke_chamber_height, "chamber"),
        _flue(job),
    )
    top = high.inches + chamber.inches
    shape = _Shape(
        high,
        top,
        top + FORM["stub"],
        high.known and narrow.known,
        high.known and chamber.known and flue.known,
        flue.known,
    )
    foot = _size(near.lintel.wall_thickness, "breast").inches
    back = depth - _size(far.lintel.wall_thickness, "breast").inches if far else depth
    first = (foot + back - narrow.inches) / 2 if far else foot
    last, middle = first + narrow.inches, (foot + back) / 2
    left, right = middle - flue.inches / 2, middle + flue.inches / 2
    _half_section(sheet, job, near, lambda x, y: (x, y), "left", shape, throat=first, flue=left)
    if far:
        _half_section(
            sheet,
            job,
            far,
            lambda x, y: (depth - x, y),
            "right",
            shape,
            throat=depth - last,
            flue=depth - right,
        )
    else:
        _back(sheet, job, side, deep, slab, shape, throat=last, flue=right)
    under = told.of("firebox.floor_below")
    sheet.box(
        (0, -slab.inches),
        (depth, 0),
        "hearth",
        known="t" * deep.known + "b" * slab.known,
        verdict=_verdict(under),
    )
    _under(sheet, (0, depth), -slab.inches, box.floor_below, under)
    thin = told.of("firebox.floor_slab")
    sheet.length(
        ("firebox", "floor_slab"), box.floor_slab, (middle, -slab.inches), (middle, 0), "inside", 3, thin
    )
    sheet.length(("firebox", "depth"), box.depth, (0, 0), (depth, 0), "below", 1, told.of("firebox.depth"))
    sheet.label("firebox", (middle, tallest * 0.4), 3)
    _throat(sheet, job, (first, last), shape, depth)
    sheet.label(_flue_text(job), (middle, top + FORM["stub"] / 3), 3, told.of("flue.area"))
    sheet.notes.append(
        "Where throat and flue stand front to back, and how the masonry leans, is not recorded: drawn as is usual."
    )
    return sheet


@dataclass(frozen=True, slots=True)
class _Shape:
    """What both halves of a section share. throat: its height.  top, end: of the smoke chamber and of what is drawn of the flue, inches.

    shelf, lean, flue: is what makes the smoke shelf, the walls of the smoke chamber and the flue known.
    """

    throat: _Size
    top: float
    end: float
    shelf: bool
    lean: bool
    flue: bool


def _verdict(finding: Finding | None) -> Verdict | None:
    return finding.verdict if finding else None


def _flue(job: Job) -> _Size:
    """How wide the flue is front to back: known where that is the same across."""
    flue = job.flue
    if flue.diameter:
        return _Size(float(flue.diameter.value), True)
    if flue.inside:
        sides = (flue.inside.a.value, flue.inside.b.value)
        return _Size(float(min(sides)), sides[0] == sides[1])
    try:
        return _Size(float(min(liner_sides(flue.liner or ""))), False)
    except (EntryError, ValueError):
        return _Size(FORM["flue"], False)


def _flue_text(job: Job) -> str:
    """What the flue is called: by what was measured of it, else by its liner."""
    flue, unit = job.flue, job.units
    size = NOT_KNOWN
    if flue.diameter:
        size = f"{lengths.show(flue.diameter.value, unit)} across"
    elif flue.inside:
        size = f"{lengths.show(flue.inside.a.value, unit)} x {lengths.show(flue.inside.b.value, unit)}"
    elif flue.liner:
        size = f"liner {_name(flue.liner)}"
    return f"flue {size}" + (f", top at {lengths.show(flue.height.value, unit)}" if flue.height else "")


At = Callable[[float, float], Point]


def _half_section(
    sheet: _Sheet,
    job: Job,
    face: Face,
    at: At,
    place: Literal["left", "right"],
    shape: _Shape,
    *,
    throat: float,
    flue: float,
) -> None:
    """Draw one open side: opening, breast, smoke shelf and chamber, hearth, floor and what stands before it.

    at: a point from the distance inward of the plane of the opening and the height over the firebox floor.
    throat, flue: how far in these begin.
    """
    told, hearth, me = sheet.told, face.hearth, ("face", face.name)
    high, breast = _size(face.height, "height"), _size(face.lintel.wall_thickness, "breast")
    top, foot, y = high.inches, breast.inches, shape.throat.inches
    sheet.length((*me, "height"), face.height, at(0, 0), at(0, top), place, 1)
    facing = float(hearth.facing.value) if hearth.facing else 0.0
    if facing:
        sheet.box(at(-facing, top), at(0, shape.end), "masonry", known="lrb" if high.known else "")
    inner = [
        (at(foot, top), False), (at(throat, y), breast.known and shape.throat.known and throat == foot), (at(foot, y), shape.shelf),
        (at(flue, shape.top), shape.lean), (at(flue, shape.end), shape.flue),
    ]  # fmt: skip
    _profile(sheet, job, inner, [(at(0, top), high.known), (at(0, y), high.known), (at(0, shape.end), False)])
    sheet.line(at(0, top), at(foot, top), known=high.known and breast.known, stroke="steel")
    over = told.of("firebox.throat_height", face=face.name)
    rise = (
        job.firebox.throat_height.value - face.height.value
        if job.firebox.throat_height and face.height
        else Fraction(0)
    )
    if rise > 0:
        sheet.exact(
            f"Throat over the opening, {_name(face.name)}", rise, at(0, top), at(0, y), place, 2, over
        )
    elif over and over.verdict is not Verdict.MEASURE:
        sheet.label("throat over the opening", at(foot, top), 0, over)
    step, stands = _or_none(face.opening_above_hearth), _or_none(hearth.above_floor)
    front, slab = _size(hearth.front, "front"), _size(hearth.thickness, "slab")
    lip, reach = -step.inches, front.inches
    floor, bottom = lip - stands.inches, lip - slab.inches
    under = told.of("hearth.below", face=face.name)
    known = place[0] * front.known + "t" * step.known + "b" * slab.known
    sheet.box(at(-reach, bottom), at(0, lip), "hearth", known=known, verdict=_verdict(under))
    sheet.line(at(0, lip), at(0, 0), known=step.known)
    sheet.line(at(-reach, floor), at(-reach - FORM["floor"], floor), known=stands.known)
    _under(sheet, (at(-reach, 0)[0], at(0, 0)[0]), bottom, hearth.below, under)
    out, thin = told.of("hearth.front", face=face.name), told.of("hearth.thickness", face=face.name)
    sheet.length((*me, "hearth", "front"), hearth.front, at(-reach, lip), at(0, lip), "below", 2, out)
    sheet.length(
        (*me, "hearth", "thickness"), hearth.thickness, at(-reach, bottom), at(-reach, lip), place, 2, thin
    )
    if stands.inches:
        sheet.length(
            (*me, "hearth", "above_floor"), hearth.above_floor, at(-reach, floor), at(-reach, lip), place, 3
        )
    if step.inches:
        sheet.length((*me, "opening_above_hearth"), face.opening_above_hearth, at(0, lip), at(0, 0), place, 3)
    sheet.label(_name(face.name), at(-reach * 0.6, top * 0.6), 2)
    for thing in job.nearby:
        if thing.face == face.name:
            _before(sheet, thing, at, top, high.known, floor, facing)


def _back(
    sheet: _Sheet, job: Job, side: str, deep: _Size, slab: _Size, shape: _Shape, *, throat: float, flue: float
) -> None:
    """Draw the wall across from the first face, and what stands behind it."""
    box, told = job.firebox, sheet.told
    key = "back_wall" if box.back_wall and side == "front" else "wall"
    amount = getattr(box, key)
    wall = _size(amount, "wall")
    depth, y, bottom = deep.inches, shape.throat.inches, -slab.inches
    outer = depth + wall.inches
    inner = [
        ((depth, 0.0), False), ((depth, y * 0.4), deep.known), ((throat, y), False), ((depth, y), shape.shelf),
        ((flue, shape.top), shape.lean), ((flue, shape.end), shape.flue),
    ]  # fmt: skip
    known = deep.known and wall.known
    _profile(
        sheet,
        job,
        inner,
        [
            ((depth, bottom), False),
            ((outer, bottom), slab.known),
            ((outer, y), known),
            ((outer, shape.end), False),
        ],
    )
    item = "back" if key == "back_wall" else "sides"
    sheet.length(
        ("firebox", key),
        amount,
        (depth, bottom),
        (outer, bottom),
        "below",
        2,
        told.of("firebox.wall", item=item),
    )
    stands = {
        "firebox " + ("side" if side in ("left", "right") else OPPOSITE[side]): (
            y * 0.2,
            wall.known and deep.known,
        )
    }
    stands["chimney"] = (shape.top - FORM["stub"], False)
    for at, (start, sure) in stands.items():
        for number, thing in enumerate(
            thing for thing in job.nearby if thing.at == at and at != "firebox side"
        ):
            _beside(
                sheet,
                thing,
                (outer, start + number * (FORM["tall"] + 4)),
                (1, 0),
                sure,
                depth if at != "chimney" else None,
            )


def _profile(
    sheet: _Sheet, job: Job, inner: list[tuple[Point, bool]], outer: list[tuple[Point, bool]]
) -> None:
    """Draw masonry between an inner and an outer line, each from the bottom up: points, and is the line up to there known."""
    drawn = []
    for (start, _), (end, known) in pairwise(inner):
        stepped = job.firebox.smoke_chamber_form == "corbelled" and end == inner[-2][0]
        points = list(_steps(start, end)) if stepped else [start, end]
        if start != end:
            sheet.line(*points, known=known)
        drawn += points
    for (start, _), (end, known) in pairwise(outer):
        sheet.line(start, end, known=known)
    sheet.area("masonry", *drawn, *(point for point, _ in reversed(outer)))


def _steps(start: Point, end: Point, courses: int = 8) -> Iterator[Point]:
    """A line that leans in course by course."""
    (x0, y0), (x1, y1) = start, end
    for course in range(courses):
        x = x0 + (x1 - x0) * course / (courses - 1)
        yield x, y0 + (y1 - y0) * course / courses
        yield x, y0 + (y1 - y0) * (course + 1) / courses


def _throat(sheet: _Sheet, job: Job, across: tuple[float, float], shape: _Shape, depth: float) -> None:
    """Draw the damper, and say what there is of throat and smoke chamber."""
    told, box = sheet.told, job.firebox
    first, last = across
    y, top = shape.throat.inches, shape.top
    if box.damper == "throat":
        sheet.line((last, y), (last, y + last - first), known=shape.shelf, stroke="steel")
    sheet.length(("firebox", "throat_height"), box.throat_height, (depth, 0), (depth, y), "right", 2)
    high = told.of("smoke_chamber.height")
    sheet.length(
        ("firebox", "smoke_chamber_height"),
        box.smoke_chamber_height,
        (depth, y),
        (depth, top),
        "right",
        3,
        high,
    )
    narrow = told.of("firebox.throat_depth") or told.of("firebox.passageway", item="throat")
    sheet.length(("firebox", "throat_depth"), box.throat_depth, (first, y), (last, y), "inside", 2, narrow)
    words = {"throat": "damper", "top": "damper at the top", "none": "no damper"}
    damper = told.of("firebox.damper") or told.of("firebox.passageway", item="damper")
    middle = depth / 2
    spot = ((first + last) / 2, shape.end - 2 if box.damper == "top" else y + 3)
    sheet.label(words.get(box.damper or "", f"damper: {NOT_KNOWN}"), spot, 3, damper)
    chamber = told.of("smoke_chamber.slope", "smoke_chamber.wall", "smoke_chamber.parging")
    sheet.label("smoke chamber", (middle, (y + top) / 2), 3, chamber)


def _beside(
    sheet: _Sheet, thing: Nearby, face: Point, away: tuple[int, int], known: bool, lining: float | None
) -> None:
    """Draw a thing that stands beside the masonry: clear of it by its gap, or touching it.

    face: where the outer face of the masonry is nearest.  away: the way out from it, along x or y.  lining: the inner face along that way.
    """
    finding, me = sheet.told.near(thing), ("nearby", thing.name or "")
    clear = _size(thing.gap, "gap")
    if clear.inches > FARTHEST:
        _far_away(sheet, thing, finding)
        return
    (x, y), (right, up) = face, away
    touches = thing.gap is None and thing.from_lining is not None
    off = 0.0 if touches else clear.inches
    start = (x + right * off, y + up * off)
    size = (FORM["thing"] if right else FORM["tall"], FORM["tall"] if right else FORM["thing"])
    other = (start[0] + (right or 1) * size[0], start[1] + (up or 1) * size[1])
    near = {(1, 0): "l", (-1, 0): "r", (0, 1): "b", (0, -1): "t"}[away]
    sheet.box(
        start,
        other,
        _burning(thing),
        known=near if known and (clear.known or touches) else "",
        verdict=_verdict(finding),
    )
    middle = (start[0] + other[0]) / 2, (start[1] + other[1]) / 2
    on_face = (x, middle[1]) if right else (middle[0], y)
    if touches and lining is not None:
        inside = (lining, middle[1]) if right else (middle[0], lining)
        sheet.length((*me, "from_lining"), thing.from_lining, inside, on_face, "inside", 2, finding)
    elif not touches:
        reach = (start[0], middle[1]) if right else (middle[0], start[1])
        sheet.length((*me, "gap"), thing.gap, on_face, reach, "inside", 2, finding)
    sheet.label(_name(thing.name), middle, 1, finding)


def _under(
    sheet: _Sheet, across: tuple[float, float], y: float, below: str | None, finding: Finding | None
) -> None:
    """Draw what lies below a slab."""
    start, end = sorted(across)
    fill: Fill = "wood" if below and below.startswith("wood") else "masonry"
    bottom = y - FORM["below"]
    if below not in (None, "unknown", "air gap"):
        sheet.area(fill, (start, bottom), (end, bottom), (end, y), (start, y), verdict=_verdict(finding))
    sheet.label(_below_text(below), ((start + end) / 2, (bottom + y) / 2), 3, finding)


def _before(
    sheet: _Sheet, thing: Nearby, at: At, top: float, known: bool, floor: float, facing: float
) -> None:
    """Draw a thing before a face as it is seen from the side: what stands out over the opening, what stands ahead of it."""
    finding, me, name = sheet.told.near(thing), ("nearby", thing.name or ""), _name(thing.name)
    fill, verdict = _burning(thing), _verdict(finding)
    if thing.ahead is not None and thing.ahead.value:
        ahead = float(thing.ahead.value)
        if ahead > FARTHEST:
            _far_away(sheet, thing, finding)
            return
        inner = "r" if at(1, 0)[0] > at(0, 0)[0] else "l"
        sheet.box(
            at(-ahead, floor),
            at(-ahead - FORM["thing"], floor + FORM["tall"]),
            fill,
            known=inner,
            verdict=verdict,
        )
        sheet.length((*me, "ahead"), thing.ahead, at(-ahead, floor), at(0, floor), "below", 2, finding)
        sheet.label(name, at(-ahead - FORM["thing"] / 2, floor + FORM["tall"] / 2), 1, finding)
        return
    shelf = thing.above is not None or (thing.beside is None and thing.what in ("mantel", "trim"))
    above = _size(thing.above, "distance")
    if not shelf or above.inches > FARTHEST or (thing.beside and thing.beside.value):
        return
    out, bottom = _size(thing.projection, "projection"), top + above.inches
    edge = "l" if at(1, 0)[0] > at(0, 0)[0] else "r"
    edges = "b" * (above.known and known) + edge * out.known
    sheet.box(
        at(-facing - out.inches, bottom),
        at(-facing, bottom + FORM["shelf"]),
        fill,
        known=edges,
        verdict=verdict,
    )
    over = bottom + FORM["shelf"]
    sheet.length(
        (*me, "projection"),
        thing.projection,
        at(-facing - out.inches, over),
        at(-facing, over),
        "inside",
        2,
        finding,
    )
    sheet.label(name, at(-facing - out.inches - 1, bottom + FORM["shelf"] / 2), 1, finding)


# The plan of the hearths, the first face below


def _plan(told: _Told, job: Job, when: str) -> _Sheet:
    near, far = _across(job)
    side = _side(near, near) or "front"
    sheet = _Sheet(told, job.units, "plan", f"Plan of the hearths, {when}")
    box = job.firebox
    wide, deep, wall = _size(near.width, "width"), _size(box.depth, "depth"), _size(box.wall, "wall")
    half, depth, thick = wide.inches / 2, deep.inches, wall.inches
    behind = _size(far.width, "width") if far else wide
    known = wide.known and deep.known and behind.known
    left, right = BESIDE[side]
    faces = {_side(face, near): face for face in reversed(job.face)}
    for sign, which in ((-1, left), (1, right)):
        open_here = faces.get(which)
        x, end = sign * half, sign * behind.inches / 2
        sheet.line((x, 0), (end, depth), known=known)
        if open_here is None:
            sheet.area("masonry", (x, 0), (x + sign * thick, 0), (end + sign * thick, depth), (end, depth))
            sheet.line((x + sign * thick, 0), (end + sign * thick, depth), known=known and wall.known)
            sheet.line((x, 0), (x + sign * thick, 0), known=wide.known and wall.known)
            if sign > 0:
                thin = told.of("firebox.wall", item="sides")
                sheet.length(
                    ("firebox", "wall"), box.wall, (x, depth / 2), (x + thick, depth / 2), "inside", 2, thin
                )
        else:
            _hearth_plan(
                sheet, open_here, _turned(sign, x, depth / 2), "left" if sign < 0 else "right", deep.known
            )
    _hearth_plan(sheet, near, lambda along, out: (along, -out), "below", wide.known)
    outer = depth
    if far:
        _hearth_plan(
            sheet, far, lambda along, out: (-along, depth + out), "above", deep.known and behind.known
        )
    else:
        key = "back_wall" if box.back_wall and side == "front" else "wall"
        back = _size(getattr(box, key), "wall")
        outer = depth + back.inches
        edge = "t" if known and back.known else ""
        sheet.box((-half - thick, depth), (half + thick, outer), "masonry", known=edge)
        sheet.line((-half, depth), (half, depth), known=known)
        if key == "back_wall":
            thin = told.of("firebox.wall", item="back")
            sheet.length(("firebox", key), box.back_wall, (0, depth), (0, outer), "inside", 2, thin)
    sheet.length(
        ("firebox", "depth"), box.depth, (half, 0), (half, depth), "right", 1, told.of("firebox.depth")
    )
    sheet.label("firebox", (0, depth / 2), 2)
    _round_the_plan(sheet, job, side, (half + thick, outer, half, depth), known)
    placed = {id(near), id(far), *(id(faces.get(which)) for which in (left, right))}
    for face in job.face:
        if id(face) not in placed:
            where = NOT_KNOWN if face.side is None else "taken by another face"
            sheet.notes.append(f"{_name(face.name)} is not drawn in plan and section: its side is {where}.")
    sheet.notes.append(
        "The splay of the sides is not recorded: they are drawn straight, and each face in the middle of its wall."
    )
    return sheet


def _turned(sign: int, x: float, middle: float) -> At:
    """The way out through a side wall."""
    return lambda along, out: (x + sign * out, middle + sign * along)


def _hearth_plan(sheet: _Sheet, face: Face, at: At, place: Place, known: bool) -> None:
    """Draw the hearth before a face, and over it the one that is asked for where it is short.

    at: a point from the distance along the face, to the right as one looks in, and out from it.
    """
    told, hearth, me = sheet.told, face.hearth, ("face", face.name, "hearth")
    wide = _size(face.width, "width")
    half, sure = wide.inches / 2, known and wide.known
    front, left, right = _size(hearth.front, "front"), _size(hearth.left, "side"), _size(hearth.right, "side")
    x0, x1, out = -half - left.inches, half + right.inches, front.inches
    found = {key: told.of(f"hearth.{key}", face=face.name) for key in ("front", "left", "right")}
    marked = _worst(finding for finding in found.values() if finding)
    sheet.area("hearth", at(x0, 0), at(x1, 0), at(x1, out), at(x0, out), verdict=_verdict(marked))
    sheet.line(at(x0, 0), at(x0, out), known=sure and left.known)
    sheet.line(at(x1, 0), at(x1, out), known=sure and right.known)
    sheet.line(at(x0, out), at(x1, out), known=known and front.known)
    for start, end in ((x0, -half), (half, x1)):
        sheet.line(at(start, 0), at(end, 0), known=sure)
    sheet.line(at(-half, 0), at(half, 0), known=sure)
    upright = place in ("left", "right")
    along: Place = place
    outward: Place = "below" if upright else "right"
    sheet.length((*me, "left"), hearth.left, at(x0, 0), at(-half, 0), along, 1, found["left"])
    sheet.length((*me, "right"), hearth.right, at(half, 0), at(x1, 0), along, 1, found["right"])
    sheet.length(("face", face.name, "width"), face.width, at(-half, 0), at(half, 0), along, 1)
    sheet.length((*me, "front"), hearth.front, at(x1, 0), at(x1, out), outward, 1, found["front"])
    sheet.label(f"{_name(face.name)} hearth", at(0, out / 2), 2)
    if any(finding and finding.verdict is Verdict.SHORT for finding in found.values()):
        a0, a1 = (
            -half - _asked(found["left"], hearth.left, left),
            half + _asked(found["right"], hearth.right, right),
        )
        far_out = _asked(found["front"], hearth.front, front)
        sheet.line(at(a0, 0), at(a0, far_out), at(a1, far_out), at(a1, 0), stroke="asked")


def _asked(finding: Finding | None, amount: Amount | None, drawn: _Size) -> float:
    """How far a hearth is asked to reach from the same line as it was measured from, at least as far as it does."""
    short = _inches(finding.margin) if finding and finding.margin else None
    if amount is None or short is None or short > 0:
        return drawn.inches
    return float(amount.value - short)


def _round_the_plan(
    sheet: _Sheet, job: Job, side: str, walls: tuple[float, float, float, float], known: bool
) -> None:
    """Draw what stands beside the masonry of the firebox, and ahead of the first face and the one across.

    walls: the outer faces of the side and the back, then the inner ones.
    """
    beyond, behind, half, depth = walls
    across = "firebox side" if side in ("left", "right") else f"firebox {OPPOSITE[side]}"
    rows = {"firebox side": 0, across: 0}
    for thing in job.nearby:
        if thing.at == "firebox side" and side in ("front", "back"):
            row, rows[thing.at] = rows[thing.at], rows[thing.at] + 1
            sign = 1 if row % 2 else -1
            spot = (sign * beyond, row // 2 * (FORM["tall"] + 2))
            _beside(sheet, thing, spot, (sign, 0), known, sign * half)
        elif thing.at == across and behind > depth:
            row, rows[across] = rows[across], rows[across] + 1
            _beside(sheet, thing, (row * (FORM["tall"] + 2) - half, behind), (0, 1), known, depth)


# Foreign text


def _name(text: str | None, most: int = 24) -> str:
    """Text of a person as it may stand in a drawing: what shows, on one line, cut with an ellipsis."""
    return _cut(_plain(text or ""), most)


def _plain(text: str) -> str:
    if text.isascii() and text.isprintable():
        return text.strip()
    kept: list[str] = []
    marks = 0
    for sign in clean(text):
        kind = category(sign)
        marks = marks + 1 if kind in ("Mn", "Me") else 0
        if kind not in ("Cn", "Co") and marks <= 2:
            kept.append(sign)
    return "".join(kept)


def _cut(text: str, most: int) -> str:
    """Text in no more than so many cells."""
    if _cells(text) <= most:
        return text
    kept = ""
    for sign in text:
        if _cells(kept + sign) >= most:
            break
        kept += sign
    return f"{kept.rstrip()}\N{HORIZONTAL ELLIPSIS}" if most > 0 else ""


def _cells(text: str) -> int:
    """How many cells of a terminal a text takes."""
    return len(text) if text.isascii() else sum(map(_cell, text))


def _cell(sign: str) -> int:
    if category(sign) in ("Mn", "Me"):
        return 0
    return 2 if east_asian_width(sign) in "WF" else 1


_ASCII = {"\N{HORIZONTAL ELLIPSIS}": "~", "\N{MULTIPLICATION SIGN}": "x", "\N{DEGREE SIGN}": " deg"}


def _ascii(text: str) -> str:
    """Text in ASCII: letters without their marks, and a question mark for what has no such letter."""
    if text.isascii():
        return text
    written = normalize("NFKD", "".join(_ASCII.get(sign, sign) for sign in text))
    return "".join(sign if sign.isascii() else "?" for sign in written if category(sign) != "Mn")


# Where lines and texts come to stand on a page of cells: the same for text and for SVG

ASPECT = 2.0  # height over width of a cell of a terminal


@dataclass(frozen=True, slots=True)
class _Text:
    """A text on the page."""

    column: int
    row: int
    text: str
    item: Label | Dimension
    lead: str = ""


@dataclass(frozen=True, slots=True)
class _Rule:
    """The line of a dimension on the page: along a row, or along a column where upright; in cells."""

    at: int
    start: float
    end: float
    item: Dimension


@dataclass(slots=True)
class _Page:
    """A drawing laid out in cells. scale: inches to a column.  left, top: the cell of its upper left corner."""

    drawing: Drawing
    width: int
    height: int
    scale: float
    left: float
    top: float
    corner: Point
    ascii: bool
    lines: dict[int, int] = field(default_factory=dict)
    taken: bytearray = field(default_factory=bytearray)
    texts: list[_Text] = field(default_factory=list)
    rules: list[_Rule] = field(default_factory=list)
    unsaid: list[Mark] = field(default_factory=list)

    def column(self, x: float) -> float:
        return self.left + (x - self.corner[0]) / self.scale

    def row(self, y: float) -> float:
        return self.top + (self.corner[1] - y) / (self.scale * ASPECT)

    def cell(self, point: Point) -> tuple[int, int]:
        return math.floor(self.column(point[0]) + 0.5), math.floor(self.row(point[1]) + 0.5)

    def free(self, column: int, row: int, cells: int) -> bool:
        """Is there room for a text, with a blank on either side."""
        if column < 0 or row < 0 or row >= self.height or column + cells > self.width:
            return False
        start = row * self.width
        return not any(self.taken[start + max(column - 1, 0) : start + min(column + cells + 1, self.width)])

    def put(self, column: int, row: int, text: str, item: Label | Dimension, lead: str = "") -> None:
        cells = _cells(lead + text)
        start = row * self.width + column
        self.taken[start : start + cells] = b"\1" * cells
        for cell in range(start, start + cells):
            self.lines.pop(cell, None)
        self.texts.append(_Text(column, row, text, item, lead))
        if (mark := _mark(item)) and (
            str(mark.verdict) not in text or (isinstance(item, Label) and self.ways(item)[0] not in text)
        ):
            self.unsaid.append(mark)

    def drop(self, item: Label | Dimension) -> None:
        """Leave a text out; what it marks is told elsewhere."""
        if mark := _mark(item):
            self.unsaid.append(mark)

    def ways(self, item: Label | Dimension) -> list[str]:
        """The texts of an item, the longest first."""
        text = _ascii(item.text) if self.ascii else item.text
        if item.verdict is None:
            return [text]
        sign = item.verdict.sign
        ways = [f"{sign} {item.verdict} {text}", f"{sign} {item.verdict}", sign]
        if isinstance(item, Dimension):
            ways[2:2] = [f"{sign} {text}"]
            ways[:0] = [f"{ways[0]}{_ascii(item.asked) if self.ascii else item.asked}"] if item.asked else []
        return ways


def _lay_out(drawing: Drawing, width: int, height: int, *, ascii: bool = False) -> _Page:
    """The drawing on a page of so many cells, as large as what is most important beside it leaves room for."""
    page, whole = _framed(drawing, width, height, 1, ascii=ascii)
    if not whole:
        page, _ = _framed(drawing, width, height, 2, ascii=ascii)
    for line in drawing.lines:
        _trace(page, line)
    inside = [item for item in drawing.dimensions if item.place == "inside"]
    for item in sorted(
        [*drawing.labels, *inside], key=lambda item: item.rank
    ):  # labels before dimensions of their rank
        if isinstance(item, Label):
            _set_label(page, item)
        else:
            _set_inside(page, item)
    return page


Tiers = list[list[Dimension]]


def _tiers(drawing: Drawing, place: Place, most: int) -> tuple[Tiers, list[Dimension]]:
    """The dimensions on one side in rows that do not overlap, the most important next to the drawing; and those beyond the last row."""
    tiers: Tiers = []
    left_out = []
    axis = 1 if place in ("left", "right") else 0
    for item in sorted(
        (item for item in drawing.dimensions if item.place == place), key=lambda item: item.rank
    ):
        for tier in tiers:
            if all(
                item.end[axis] <= other.start[axis] or other.end[axis] <= item.start[axis] for other in tier
            ):
                tier.append(item)
                break
        else:
            if len(tiers) < most:
                tiers.append([item])
            else:
                left_out.append(item)
    return tiers, left_out


def _framed(drawing: Drawing, width: int, height: int, rows_each: int, *, ascii: bool) -> tuple[_Page, bool]:
    """A page with the dimensions that stand beside the drawing, and whether all of them have found room.

    rows_each: rows of cells to a row of level dimensions: one, or a second for texts that are wider than what they measure.
    """
    x0, y0, x1, y1 = drawing.bounds
    most = {"above": max(1, height // 12), "below": max(1, height // 9), "left": 2, "right": 2}
    page = _Page(drawing, width, height, 1.0, 0.0, 0.0, (x0, y1), ascii)
    page.taken = bytearray(width * height)
    tiers: dict[Place, Tiers] = {}
    left_out: list[Dimension] = []
    for place in ("above", "below", "left", "right"):
        tiers[place], beyond = _tiers(drawing, place, most[place])
        left_out += beyond
    while True:
        wide = {place: [_widest(page, tier) for tier in tiers[place]] for place in ("left", "right")}
        left, right = (sum(wide[place]) + 3 * len(wide[place]) for place in ("left", "right"))
        columns = width - left - right
        if columns >= max(8, width * 2 // 5) or not (wide["left"] or wide["right"]):
            break
        left_out += tiers["left" if left > right else "right"].pop()
    above, below = (rows_each * len(tiers[place]) for place in ("above", "below"))
    rows = max(height - above - below, 2)
    page.scale = max((x1 - x0) / max(columns - 1, 1), (y1 - y0) / (ASPECT * (rows - 1)), 1e-6)
    page.left = left + (columns - 1 - (x1 - x0) / page.scale) / 2
    page.top = above
    for item in left_out:
        page.drop(item)
    whole = not left_out
    for place, step in (("left", -1), ("right", 1)):
        column = page.cell((x0 if step < 0 else x1, y0))[0]
        for tier, cells in zip(tiers[place], wide[place], strict=True):
            column += 2 * step
            whole &= _set_upright(page, tier, column, step)
            column += step * (cells + 1)
    for place, step in (("above", -1), ("below", 1)):
        row = page.cell((x0, y1 if step < 0 else y0))[1] + step
        for tier in tiers[place]:
            whole &= _set_level(page, tier, row, row + step if rows_each > 1 else None)
            row += step * rows_each
    return page, whole


def _narrow(page: _Page, item: Dimension) -> list[str]:
    """The texts of an upright dimension that leave room for the drawing."""
    ways = page.ways(item)
    most = max(9, page.width * 3 // 10)
    return [way for way in ways if _cells(way) <= most] or ways[-1:]


def _widest(page: _Page, tier: Sequence[Dimension]) -> int:
    return max(_cells(_narrow(page, item)[0]) for item in tier)


SHIFTS = (0, -1, 1, -2, 2, -3, 3)


def _set_upright(page: _Page, tier: Sequence[Dimension], column: int, step: int) -> bool:
    """Set dimensions along a column, texts on the outer side; whether all have found room."""
    whole = True
    for item in tier:
        start, end = page.row(item.end[1]), page.row(item.start[1])
        page.rules.append(_Rule(column, start, end, item))
        _bar(page, column, math.floor(start + 0.5), math.floor(end + 0.5), upright=True)
    for item in tier:
        middle = math.floor((page.row(item.start[1]) + page.row(item.end[1])) / 2 + 0.5)
        for text, shift in ((text, shift) for text in _narrow(page, item) for shift in SHIFTS):
            cells = _cells(text)
            at = column + 2 if step > 0 else column - 1 - cells
            if page.free(at, middle + shift, cells):
                page.put(at, middle + shift, text, item)
                break
        else:
            whole = False
            page.drop(item)
    return whole


def _set_level(page: _Page, tier: Sequence[Dimension], row: int, other_row: int | None) -> bool:
    """Set dimensions along a row, texts in their line where they fit, else beside it or on the other row; whether all have found room."""
    whole = True
    if not 0 <= row < page.height:
        for item in tier:
            page.drop(item)
        return False
    spans = {}
    for item in tier:
        start, end = page.column(item.start[0]), page.column(item.end[0])
        spans[id(item)] = first, last = math.floor(start + 0.5), math.floor(end + 0.5)
        page.rules.append(_Rule(row, start, end, item))
        _bar(page, row, first, last, upright=False)
    for item in tier:
        first, last = spans[id(item)]
        for text in page.ways(item):
            cells = _cells(text)
            if cells + 3 <= last - first:
                page.put((first + last + 1 - cells) // 2 - 1, row, f" {text} ", item)
                break
            spots = [(last + 2, row), (first - 1 - cells, row)]
            if other_row is not None:
                centre = min(max((first + last + 1 - cells) // 2, 0), page.width - cells)
                spots += [(centre, other_row), (first, other_row), (last + 1 - cells, other_row)]
            spot = next((spot for spot in spots if page.free(*spot, cells)), None)
            if spot:
                page.put(*spot, text, item)
                break
        else:
            whole = False
            page.drop(item)
    return whole


UP, RIGHT, DOWN, LEFT = 1, 2, 4, 8
ROUND, RISING, FALLING = 16, 32, 64
RANKS: dict[str, int] = {"asked": 1, "dashed": 2, "solid": 3, "steel": 4, "rule": 5}


def _bar(page: _Page, at: int, first: int, last: int, *, upright: bool) -> None:
    """Draw the line of a dimension with a tick at either end."""
    along, ticks = ((UP | DOWN), (LEFT | RIGHT)) if upright else ((LEFT | RIGHT), (UP | DOWN))
    forward, back = (DOWN, UP) if upright else (RIGHT, LEFT)
    for place in range(first, last + 1):
        bits = along if first < place < last else ticks | forward * (place < last) | back * (place > first)
        _cross(page, *((at, place) if upright else (place, at)), bits, "rule")


def _cross(page: _Page, column: int, row: int, bits: int, stroke: str) -> None:
    """Draw one cell of a line over what is there: what was measured hides what is only asked for."""
    if not (0 <= column < page.width and 0 <= row < page.height):
        return
    cell = row * page.width + column
    rank = RANKS[stroke]
    before = page.lines.get(cell, 0)
    above = before >> 8
    if before and above != rank and 1 in (above, rank):
        page.lines[cell] = before if above > rank else rank << 8 | bits
    else:
        page.lines[cell] = max(above, rank) << 8 | before & 255 | bits
    page.taken[cell] = 1


def _trace(page: _Page, line: Line) -> None:
    """Draw a line from cell to cell."""
    for start, end in pairwise(line.points):
        (c0, r0), (c1, r1) = page.cell(start), page.cell(end)
        if c0 == c1 or r0 == r1:
            _straight(page, c0, r0, c1, r1, line.stroke)
        elif len(line.points) == 2 and abs(c1 - c0) <= 2 * abs(r1 - r0):
            _slope(page, c0, r0, c1, r1, line.stroke)
        else:
            _stairs(page, c0, r0, c1, r1, line.stroke)


def _straight(page: _Page, c0: int, r0: int, c1: int, r1: int, stroke: str, bits: int = 0) -> None:
    upright = c0 == c1
    first, last = sorted((r0, r1) if upright else (c0, c1))
    forward, back = (DOWN, UP) if upright else (RIGHT, LEFT)
    for place in range(first, last + 1):
        way = forward * (place < last) | back * (place > first) | bits
        _cross(page, *((c0, place) if upright else (place, r0)), way, stroke)


def _slope(page: _Page, c0: int, r0: int, c1: int, r1: int, stroke: str) -> None:
    """A steep line: one slanting stroke to a row."""
    bits = RISING if (c1 > c0) == (r1 < r0) else FALLING
    for row in range(min(r0, r1), max(r0, r1) + 1):
        column = math.floor(c0 + (c1 - c0) * (row - r0) / (r1 - r0) + 0.5)
        _cross(page, column, row, bits, stroke)


def _stairs(page: _Page, c0: int, r0: int, c1: int, r1: int, stroke: str) -> None:
    """A shallow line: level runs with rounded steps."""
    column = c0
    down = 1 if r1 > r0 else -1
    for row in range(r0, r1, down):
        turn = math.floor(c0 + (c1 - c0) * (row + down / 2 - r0) / (r1 - r0) + 0.5)
        _straight(page, column, row, turn, row, stroke, ROUND)
        _straight(page, turn, row, turn, row + down, stroke, ROUND)
        column = turn
    _straight(page, column, r1, c1, r1, stroke, ROUND)


FARTHEST_SHIFT = 24


def _set_label(page: _Page, item: Label) -> None:
    """Set a label on what it names, else beside it with an arrow."""
    column, row = page.cell(item.at)
    for text in page.ways(item):
        for at, down, written in _spots(page, text, column, row):
            if page.free(at, row + down, _cells(written)):
                page.put(at, row + down, written, item)
                return
    page.drop(item)


def _spots(page: _Page, text: str, column: int, row: int) -> Iterator[tuple[int, int, str]]:
    """Where a label may stand, the best first: its column, the rows below its anchor, and how it is written there."""
    to_left, to_right = ("<- ", " ->") if page.ascii else ("\N{LEFTWARDS ARROW} ", " \N{RIGHTWARDS ARROW}")
    cells = _cells(text)
    middle = column - cells // 2
    for down in (0, -1, 1):
        for shift in range(cells // 2):
            yield middle - shift, down, text
            yield middle + shift, down, text
    start, end = (0, 0) if not 0 <= row < page.height else _between_rules(page, column, row)
    for shift in range(2, FARTHEST_SHIFT):
        if (at := column - cells - len(to_right) - shift) >= start:
            yield at, 0, text + to_right
        if (at := column + 1 + shift) + cells + len(to_left) <= end:
            yield at, 0, to_left + text


def _between_rules(page: _Page, column: int, row: int) -> tuple[int, int]:
    """The part of a row round a column that no dimension line crosses."""
    rules = [
        rule.at for rule in page.rules if rule.item.upright and rule.start - 0.5 <= row <= rule.end + 0.5
    ]
    return max((at + 1 for at in rules if at < column), default=0), min(
        (at for at in rules if at > column), default=page.width
    )


def _set_inside(page: _Page, item: Dimension) -> None:
    """Set a dimension within the drawing: its text with an arrow, between what it measures or next to it."""
    (c0, r0), (c1, r1) = page.cell(item.start), page.cell(item.end)
    lead = (
        ("| " if page.ascii else "\N{UP DOWN ARROW} ")
        if item.upright
        else ""
        if page.ascii
        else "\N{LEFT RIGHT ARROW} "
    )
    for text in page.ways(item):
        cells = _cells(lead + text)
        if item.upright:
            middle = (r0 + r1) // 2
            spots = [(c0, middle + shift) for shift in SHIFTS if r1 < middle + shift < r0]
        else:
            centre = (c0 + c1 + 1 - cells) // 2
            spots = [
                (centre + right, r0 + down) for down in (0, -1, 1) for right in (0, -cells // 2, cells // 2)
            ]
        spot = next((spot for spot in spots if page.free(*spot, cells)), None)
        if spot:
            page.put(*spot, text, item, lead)
            return
    page.drop(item)


# Text

LIGHT = " │─└││┌├─┘─┴┐┤┬┼"  # by what a cell is joined to: up 1, right 2, down 4, left 8
GLYPHS = {
    1: " ║═╚║║╔╠═╝═╩╗╣╦╬",
    2: " ╎╌└╎╎┌├╌┘╌┴┐┤┬┼",
    3: LIGHT,
    4: " ┃━┗┃┃┏┣━┛━┻┓┫┳╋",
    5: LIGHT,
}
ASCII_LIGHT = " |-+||++-+-+++++"
ASCII_GLYPHS = {
    1: " ***************",
    2: " :.:::::.:.:::::",
    3: ASCII_LIGHT,
    4: " |=+||++=+=+++++",
    5: ASCII_LIGHT,
}
ROUNDED = {RIGHT | DOWN: "╭", DOWN | LEFT: "╮", UP | RIGHT: "╰", UP | LEFT: "╯"}
ASCII_ROUNDED = {RIGHT | DOWN: ".", DOWN | LEFT: ".", UP | RIGHT: "'", UP | LEFT: "'"}
FILLS: dict[Fill, str] = {"plain": " ", "masonry": "░", "hearth": "▒", "wood": "▓"}
ASCII_FILLS: dict[Fill, str] = {"plain": " ", "masonry": " ", "hearth": "%", "wood": "#"}


def as_text(drawing: Drawing, width: int, height: int, *, ascii: bool = False) -> list[str]:
    """The drawing in box-drawing characters, to scale in cells twice as high as wide: at most so many rows of so many cells.

    What does not fit is left out, the least important first; what is marked and finds no room in it stands below it in words.
    """
    title = _cut(_ascii(drawing.title) if ascii else drawing.title, width)
    if width < 20 or height < 8:
        return [title, *(_cut(mark.line, width) for mark in drawing.marks)][:height]
    page = _lay_out(drawing, width, height - 1, ascii=ascii)
    below: list[str] = []
    if page.unsaid:
        room = max(1, height // 6)
        page = _lay_out(drawing, width, height - 1 - min(room, len(page.unsaid)), ascii=ascii)
        below = _footer(page, room)
    return [title, *_with_notes(page, _rows(page)), *below][:height]


def _with_notes(page: _Page, rows: list[str]) -> list[str]:
    """Rows with as many of the notes as fit whole into the blank ones below the drawing."""
    used = len(rows)
    while used and not rows[used - 1]:
        used -= 1
    room = len(rows) - used - 1
    for note in page.drawing.notes:
        lines = wrap(_ascii(note) if page.ascii else note, page.width) if note.isascii() else []
        if lines and len(lines) <= room:
            rows[len(rows) - room : len(rows) - room + len(lines)] = lines
            room -= len(lines)
    return rows


def _footer(page: _Page, room: int) -> list[str]:
    lines = list(
        dict.fromkeys(mark.line for mark in sorted(page.unsaid, key=lambda mark: SHOWN.index(mark.verdict)))
    )
    if len(lines) > room:
        rest = len(lines) - room + 1
        lines[room - 1 :] = [f"and {rest} more marked: see the findings"]
    return [_cut(_ascii(line) if page.ascii else line, page.width) for line in lines]


def _rows(page: _Page) -> list[str]:
    """The page as rows of text."""
    cells = _filled(page)
    glyphs, rounded = (ASCII_GLYPHS, ASCII_ROUNDED) if page.ascii else (GLYPHS, ROUNDED)
    for cell, drawn in page.lines.items():
        bits = drawn & 15
        if bits:
            glyph = rounded.get(bits) if drawn & ROUND else None
            cells[cell] = glyph or glyphs[drawn >> 8][bits]
        else:
            cells[cell] = ("/" if page.ascii else "╱") if drawn & RISING else "\\" if page.ascii else "╲"
    for text in page.texts:
        _write(page, cells, text)
    return ["".join(cells[start : start + page.width]).rstrip() for start in range(0, len(cells), page.width)]


def _filled(page: _Page) -> list[str]:
    """The cells of a page with the fills of its areas."""
    cells = [" "] * (page.width * page.height)
    fills = ASCII_FILLS if page.ascii else FILLS
    for area in page.drawing.areas:
        sign = fills[area.fill]
        corners = [(page.column(x), page.row(y)) for x, y in area.points]
        edges = list(pairwise([*corners, corners[0]]))
        top, bottom = min(y for _, y in corners), max(y for _, y in corners)
        for row in range(max(math.ceil(top), 0), min(math.floor(bottom), page.height - 1) + 1):
            crossings = sorted(
                x0 + (x1 - x0) * (row - y0) / (y1 - y0)
                for (x0, y0), (x1, y1) in edges
                if (y0 <= row) != (y1 <= row)
            )
            for start, end in zip(crossings[::2], crossings[1::2], strict=False):
                first, last = max(math.ceil(start), 0), min(math.floor(end), page.width - 1)
                if first <= last:
                    cells[row * page.width + first : row * page.width + last + 1] = sign * (last + 1 - first)
    return cells


def _write(page: _Page, cells: list[str], text: _Text) -> None:
    at = text.row * page.width + text.column
    edge = text.column + _cells(text.lead + text.text)
    for blank, column in ((at - 1, text.column - 1), (text.row * page.width + edge, edge)):
        if 0 <= column < page.width and blank not in page.lines:
            cells[blank] = " "
    for sign in text.lead + text.text:
        wide = _cell(sign)
        if wide == 0:
            cells[at - 1] += sign
            continue
        cells[at] = sign
        if wide == 2:
            cells[at + 1] = ""
        at += wide


# SVG

CELL = (8.0, 16.0)  # of the page that a drawing is laid out on, px
PAGE = (112, 56)
MARGIN = 16.0
STYLE = """
.hearth-drawing .paper{fill:#fff}
.hearth-drawing line,.hearth-drawing polyline{fill:none;stroke:#1c2126;stroke-width:1.6;stroke-linecap:round;stroke-linejoin:round}
.hearth-drawing .dashed{stroke-width:1.2;stroke-dasharray:5 4}
.hearth-drawing .steel{stroke-width:4;stroke-linecap:butt}
.hearth-drawing .asked{stroke-width:2.4;stroke-dasharray:1.5 5}
.hearth-drawing .measure{stroke-width:.8}
.hearth-drawing .reach{stroke:#767d84;stroke-width:.5}
.hearth-drawing text{font:12px "DejaVu Sans Mono",Menlo,Consolas,monospace;fill:#1c2126;white-space:pre}
.hearth-drawing .title{font-size:15px;font-weight:bold}
.hearth-drawing .note{font-size:11px}
.hearth-drawing .marked{font-weight:bold}
.hearth-drawing .tag{fill:#fff;stroke-width:1.4}
.hearth-drawing .hatch{fill:none;stroke-width:1.2}
.hearth-drawing .masonry{stroke:#a3521f}
.hearth-drawing .hearth{stroke:#59636c;fill:#59636c}
.hearth-drawing .wood{stroke:#6f5a10}
.hearth-drawing .SHORT{stroke:#a01818}
.hearth-drawing .CLOSE{stroke:#7a4d00}
.hearth-drawing .MEASURE{stroke:#14488a}
.hearth-drawing text.SHORT{fill:#a01818;stroke:none}
.hearth-drawing text.CLOSE{fill:#7a4d00;stroke:none}
.hearth-drawing text.MEASURE{fill:#14488a;stroke:none}
"""
# One tile of each pattern, so that parts and marks differ in black and white too
HATCHES = {
    "masonry": '<path class="hatch masonry" d="M0 8 8 0" opacity=".55"/>',
    "hearth": '<circle class="hearth" cx="2" cy="2" r=".5"/><circle class="hearth" cx="6" cy="6" r=".5"/>',
    "wood": '<path class="hatch wood" d="M0 2H8M0 6H8" opacity=".6"/>',
    "SHORT": '<path class="hatch SHORT" d="M0 8 8 0M0 0 8 8"/>',
    "CLOSE": '<path class="hatch CLOSE" d="M4 0V8"/>',
    "MEASURE": '<path class="hatch MEASURE" d="M2 4H6M4 2V6"/>',
}


def as_svg(drawing: Drawing) -> str:
    """The drawing as an SVG document of its own, without scripts; what is marked has sign, word and hatching besides its colour."""
    page = _lay_out(drawing, *PAGE)
    key = f"hearth{crc32(drawing.title.encode()):08x}"
    rows = max(
        [text.row for text in page.texts] + [page.cell(drawing.bounds[:2])[1]]
        + [rule.at if not rule.item.upright else 0 for rule in page.rules]
    ) + 1  # fmt: skip
    told = [mark.line for mark in dict.fromkeys(page.unsaid)] + list(drawing.notes)
    notes = [line for note in told for line in wrap(note, PAGE[0])]
    width, height = PAGE[0] * CELL[0] + 2 * MARGIN, (rows + 2) * CELL[1] + len(notes) * 15 + 2 * MARGIN
    body = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="hearth-drawing" role="img" aria-labelledby="{key}t {key}d" '
        f'viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" height="{height:.0f}">',
        f'<title id="{key}t">{_xml(drawing.title)}</title>',
        f'<desc id="{key}d">{_xml(describe(drawing))}</desc>',
        f"<style>{STYLE}</style>",
        "<defs>",
        *(
            f'<pattern id="{key}{name}" width="8" height="8" patternUnits="userSpaceOnUse">{tile}</pattern>'
            for name, tile in HATCHES.items()
        ),
        "</defs>",
        f'<rect class="paper" width="{width:.0f}" height="{height:.0f}"/>',
        f'<text class="title" x="{MARGIN:.0f}" y="{MARGIN + 8:.0f}">{_xml(drawing.title)}</text>',
        f'<g transform="translate({MARGIN:.0f} {MARGIN + CELL[1]:.0f})">',
        *_svg_parts(page, key),
        "</g>",
        *(
            f'<text class="note" x="{MARGIN:.0f}" y="{height - MARGIN - 15 * (len(notes) - 1 - number):.0f}">{_xml(line)}</text>'
            for number, line in enumerate(notes)
        ),
        "</svg>",
    ]
    return "\n".join(body) + "\n"


def _xml(text: str) -> str:
    return escape(text, {'"': "&quot;"})


def _svg_parts(page: _Page, key: str) -> Iterator[str]:
    def at(point: Point) -> str:
        return f"{(page.column(point[0]) + 0.5) * CELL[0]:.1f},{(page.row(point[1]) + 0.5) * CELL[1]:.1f}"

    for area in page.drawing.areas:
        for fill in (area.fill, area.verdict):
            if fill and fill != "plain":
                yield f'<polygon points="{" ".join(map(at, area.points))}" fill="url(#{key}{fill})"/>'
    for line in page.drawing.lines:
        yield f'<polyline class="{line.stroke}" points="{" ".join(map(at, line.points))}"/>'
    for rule in page.rules:
        yield from _svg_rule(page, rule)
    for text in page.texts:
        if isinstance(text.item, Dimension) and text.item.place == "inside":
            yield from _svg_bar(*_pixels(page, text.item.start), *_pixels(page, text.item.end))
    for text in page.texts:
        yield from _svg_text(text, key)


def _pixels(page: _Page, point: Point) -> tuple[float, float]:
    return (page.column(point[0]) + 0.5) * CELL[0], (page.row(point[1]) + 0.5) * CELL[1]


def _svg_rule(page: _Page, rule: _Rule) -> Iterator[str]:
    """A dimension beside the drawing, with thin lines to what it measures."""
    (x0, y0), (x1, y1) = _pixels(page, rule.item.start), _pixels(page, rule.item.end)
    if rule.item.upright:
        x = (rule.at + 0.5) * CELL[0]
        ends = ((x0, y0, x, y0), (x1, y1, x, y1))
        bar = (x, y0, x, y1)
    else:
        y = (rule.at + 0.5) * CELL[1]
        ends = ((x0, y0, x0, y), (x1, y1, x1, y))
        bar = (x0, y, x1, y)
    for a, b, c, d in ends:
        yield f'<line class="reach" x1="{a:.1f}" y1="{b:.1f}" x2="{c:.1f}" y2="{d:.1f}"/>'
    yield from _svg_bar(*bar)


def _svg_bar(x0: float, y0: float, x1: float, y1: float) -> Iterator[str]:
    yield f'<line class="measure" x1="{x0:.1f}" y1="{y0:.1f}" x2="{x1:.1f}" y2="{y1:.1f}"/>'
    for x, y in ((x0, y0), (x1, y1)):
        yield f'<line x1="{x - 3:.1f}" y1="{y + 3:.1f}" x2="{x + 3:.1f}" y2="{y - 3:.1f}"/>'


def _svg_text(text: _Text, key: str) -> Iterator[str]:
    """A text on a ground of its own; a marked one in a frame, with a hatched end."""
    x, y = text.column * CELL[0], text.row * CELL[1]
    lead = len(text.lead) if isinstance(text.item, Dimension) else 0
    x += lead * CELL[0]
    wide = _cells(text.text) * CELL[0]
    verdict = text.item.verdict
    if verdict:
        yield f'<rect class="tag {verdict}" x="{x - 6:.1f}" y="{y:.1f}" width="{wide + 8:.1f}" height="16"/>'
        yield f'<rect x="{x - 6:.1f}" y="{y:.1f}" width="5" height="16" fill="url(#{key}{verdict})"/>'
        yield f'<text class="marked {verdict}" x="{x:.1f}" y="{y + 12:.1f}">{_xml(text.text)}</text>'
    else:
        yield f'<rect class="paper" x="{x:.1f}" y="{y + 1:.1f}" width="{wide:.1f}" height="14"/>'
        yield f'<text x="{x:.1f}" y="{y + 12:.1f}">{_xml(text.text)}</text>'


# Words


def describe(drawing: Drawing) -> str:
    """The drawing in words, for who does not see it: what is marked, then every dimension, part and note, one a line."""
    marks = [f"  {mark.line}" for mark in dict.fromkeys(drawing.marks)]
    known = [item for item in drawing.dimensions if item.text != NOT_KNOWN]
    lacking = [item.what for item in drawing.dimensions if item.text == NOT_KNOWN]
    parts = [label.text for label in drawing.labels if not label.verdict]
    return "\n".join(
        [
            f"{drawing.title}.",
            *(["Marked:", *marks] if marks else ["Nothing on it is marked."]),
            *(f"{item.what}: {item.text}." for item in known),
            *([f"Not known: {'; '.join(dict.fromkeys(lacking))}."] if lacking else []),
            *([f"Parts: {'; '.join(dict.fromkeys(parts))}."] if parts else []),
            *drawing.notes,
        ]
    )
