"""The planned job: what is planned over what was found.

A measurement runs between two parts of the house, or rests on some; a plan moves parts. What ran to a part that moved is worked
out anew where geometry has one answer, and is not known any more where it has not. What is not planned stays where it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cache
from typing import Any

from msgspec import Struct

from hearthcalc import lengths
from hearthcalc.entry import Amount, Between, FieldSpec, Size
from hearthcalc.findings import Step
from hearthcalc.job.addresses import FIELDS, join_address
from hearthcalc.job.record import Job, Stage, T, Voided, intended, made, present, says, with_values, without
from hearthcalc.tables import (
    PARTS,
    Face,
    Flue,
    Nearby,
    Planned,
    PlannedFace,
    Sub,
    Table,
)

NO_PLAN = Planned()
SIZES = ("liner", "shape", "diameter", "inside", "area", "outside")
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}
WALLS: Mapping[str, tuple[str, ...]] = {
    "front": ("outside of the front",),
    "back": ("outside of the back",),
    "left": ("firebox sides", "outside of the sides"),
    "right": ("firebox sides", "outside of the sides"),
}
MASONRY = {
    "firebox front": ("outside of the front", "firebox sides"),
    "firebox side": ("outside of the sides", "firebox sides"),
    "firebox back": ("outside of the back", "firebox back"),
    "chimney": ("outside of the chimney", "flue lining"),
}
LISTS = ("face", "nearby", "roof")


class Move(Struct, frozen=True):
    """How far a part moves: up, out or to the right, inches; None where that is not known.

    why: the planned entries that move it.  ask: the entry that would tell how far.
    """

    by: Fraction | None
    why: tuple[str, ...] = ()
    ask: str = ""

    @property
    def still(self) -> bool:
        return self.by == 0


STILL = Move(Fraction(0))
GONE = object()  # what an entry becomes that the plan takes the ground from


class Restated(Struct, frozen=True):
    """An entry that is planned over what was found. by: how much more it is, None where one of the two is not known."""

    key: str
    owner: str
    address: str
    by: Fraction | None
    before: Any
    after: Any
    ask: str = ""

    @property
    def same(self) -> bool:
        """Is it planned as it was found."""
        return _plain(self.before) == _plain(self.after) and self.before not in (None, "unknown")


_last: tuple[Job | None, dict[str, Stage]] = (None, {})


def stages(job: Job) -> Mapping[str, Stage]:
    """The job as found and, where anything is planned, as planned.

    A thing near a face that is yet to be made is not part of the found stage. The last job asked for is kept with its stages: a
    job is read, then judged. By itself, never by its values or inside it, where a changed copy would carry it along.
    """
    global _last
    kept = _last  # once: the models ask from a thread of their own
    if kept[0] is not job:
        _last = kept = (job, _stages(job))
    return kept[1]


def _stages(job: Job) -> dict[str, Stage]:
    found = job if job.about.measured else intended(job)
    both = {"found": Stage("found", present(found), {}, {})}
    if says(job.planned):
        both["planned"] = _plan(found, job.planned)
    return both


@cache
def _laid(kind: type[Table], key: str) -> tuple[tuple[str, FieldSpec | None], ...]:
    """The entries of a table that a plan can move or take the ground from, and the tables below it, which have no spec here."""
    below: list[tuple[str, FieldSpec | None]] = []
    for name, node in kind.fields.items():
        if isinstance(node, Sub) and not node.many:
            below.append((name, None))
        elif (spec := FIELDS[f"{key}.{name}"]).between or spec.rests_on:
            below.append((name, spec))
    return tuple(below)


def _plan(found: Job, planned: Planned) -> Stage:
    overlay = _Overlay(found, planned)
    values: dict[str, Any] = {"planned": NO_PLAN}
    for key, node in type(planned).fields.items():
        if isinstance(node, Sub) and node.many:
            values[key] = overlay.listed(key, node.table)
        else:
            table = overlay.kept(getattr(found, key), getattr(planned, key), (key,))
            values[key] = _merge(table, getattr(planned, key))
    job = Job(found.entered | set(values), found.__dict__ | values)
    return Stage("planned", present(job), overlay.voided, overlay.moved)


class _Overlay:
    """What is planned over what was found: where the parts go, what of the found entries that leaves."""

    def __init__(self, found: Job, planned: Planned) -> None:
        self.found = found
        self.planned = planned
        self.voided: dict[str, Voided] = {}
        self.moved: dict[str, Step] = {}
        self._moves: dict[tuple[str, str], Move] = {}
        self._restated = {(one.key, one.owner): one for one in _restated(found, planned)}
        self._changed = self._changes()

    def listed(self, key: str, kind: type[Table]) -> tuple[Any, ...]:
        """A list as planned: found things, what is planned over them, and new ones; by name."""
        planned = {thing.name: thing for thing in getattr(self.planned, key)}
        things: dict[str, Table] = {}
        for thing in getattr(self.found, key):
            over = planned.get(thing.name)
            if over is not None and over.remove:
                continue
            kept = self.kept(_placed(thing, over), over, (key, thing.name), thing)
            things[thing.name] = _merge(kept, over) if over is not None else kept
        for name, over in planned.items():
            if name not in things and not over.remove:
                things[name] = _merge(kind(), over)
        return tuple(things.values())

    def kept(self, table: T, over: Table | None, path: tuple[str, ...], thing: Any = None) -> T:
        """A found table, with what the plan moves worked out anew or taken out, but for what is planned anew itself.

        path: its place, with the name of its thing.  thing: the face, thing or roof that it belongs to.
        """
        if not (self._restated or self._changed or self.planned.face):
            return table
        again = over.entered if over is not None else frozenset()
        key = ".".join(part for number, part in enumerate(path) if number != 1 or path[0] not in LISTS)
        values: dict[str, Any] = {}
        for name, spec in _laid(type(table), key):  # type: ignore[arg-type]
            value = getattr(table, name)
            if spec is None:
                below = getattr(over, name) if over is not None else None
                stays = self.kept(value, below, (*path, name), thing)
            elif name not in again:
                stays = self._kept(value, spec, (*path, name), thing)
            else:
                continue
            if stays is not value:
                values[name] = stays
        if not values:
            return table
        gone = {name for name, value in values.items() if value is GONE}
        moved = {name: value for name, value in values.items() if value is not GONE}
        return with_values(without(table, gone), moved)

    def _kept(self, value: Any, spec: FieldSpec, path: tuple[str, ...], thing: Any) -> Any:
        """What becomes of one found entry: itself where it stays, else its new value, GONE where it is not known."""
        for part in spec.rests_on:
            move = self._of(part, thing)
            if not (move is STILL or move.still):
                return self._void(path, move, value)
        if spec.between is None:
            return value
        start, end = self._of(spec.between.start, thing), self._of(spec.between.end, thing)
        if start.by == end.by and start.by is not None:
            return value
        anew = None
        if start.by is not None and end.by is not None and isinstance(value, Amount):
            anew = _anew(value.value, end.by - start.by, spec.between)
        if anew is None or (spec.hard and not spec.hard[0] <= anew <= spec.hard[1]):
            return self._void(path, start if start.by is None or end.still else end, value)
        if anew == value.value:
            return value
        step = _worked(spec, value.value, anew, (*start.why, *end.why), self.found.units)
        self.moved[join_address(path)] = step
        return Amount(anew, lengths.show(anew, "in"), value.intended)

    def _void(self, path: tuple[str, ...], move: Move, value: Any) -> object:
        """A found entry is not known any more, because a part moves."""
        self.voided[join_address(path)] = Voided(move.why, move.ask, value not in (None, "unknown"))
        return GONE

    # Where the parts go

    def _of(self, part: str, thing: Any) -> Move:
        """How far a part moves, as seen from a face, a thing or a roof, or from the fireplace (None)."""
        owner = ""
        if PARTS[part] == "nearby":
            return self._of_thing(part, thing)
        if PARTS[part] == "face":
            if isinstance(thing, Face):
                owner = thing.name
            elif isinstance(thing, Nearby):
                owner = thing.face or ""
            else:
                owner = self._front()
        elif PARTS[part] == "roof":
            owner = thing.name
        return self._move(part, owner)

    def _of_thing(self, part: str, thing: Nearby) -> Move:
        mine = str(thing.name)
        if part == "place of the thing":
            again = (self._restated.get((f"nearby.{key}", mine)) for key in ("face", "at"))
            change = next((one for one in again if one and not one.same), None)
            return Move(None, (change.address,)) if change else self._of_thing("face of the thing", thing)
        if part == "face of the thing":
            gone = thing.face in self._removed()
            return (
                Move(None, (join_address(("planned", "face", str(thing.face), "remove")),)) if gone else STILL
            )
        if part in ("the masonry", "the lining"):
            outside, lining = MASONRY[thing.at or "firebox front"]
            cut = self._move("jambs of the cut", "")
            if part == "the lining" and lining == "firebox sides" and not cut.still:
                return cut
            return self._move(outside if part == "the masonry" else lining, "")
        if part == "nearest jamb":
            return self._nearest_jamb(thing)
        return STILL

    def _nearest_jamb(self, thing: Nearby) -> Move:
        """Outward; one answer only where both jambs go out, or in, by as much."""
        left, right = (self._move(part, thing.face or "") for part in ("left jamb", "right jamb"))
        if left.by is None or right.by is None:
            return left if left.by is None else right
        if -left.by == right.by:
            return right
        return Move(
            None, (*left.why, *right.why), join_address(("planned", "nearby", str(thing.name), "beside"))
        )

    def _move(self, part: str, owner: str) -> Move:
        place = (part, owner)
        if place not in self._moves:
            self._moves[place] = STILL  # while it is worked out: no part is moved by itself
            self._moves[place] = self._worked_out(part, owner)
        return self._moves[place]

    def _worked_out(self, part: str, owner: str) -> Move:
        if place := self._changed.get((part, owner)):
            return Move(None, place)
        if (special := _SPECIAL.get(part)) and not (move := special(self, part, owner)).still:
            return move
        return self._by_entries(part, owner)

    def _by_entries(self, part: str, owner: str) -> Move:
        """How far a part moves by the entries that run to it."""
        moves: list[Move] = []
        for key, between in _runs(part):
            for one_owner in self._owners(key, owner, part):
                moves += self._by_entry(part, key, one_owner, between)
        if any(move.by != moves[0].by for move in moves):
            return Move(None, tuple(why for move in moves for why in move.why))
        return moves[0] if moves else STILL

    def _by_entry(self, part: str, key: str, owner: str, between: Between) -> Iterator[Move]:
        """What one entry that runs to a part says of where it goes: nothing, where it is not planned anew and its other end stays."""
        other = between.start if part == between.end else between.end
        mover = between.start if between.moves == "start" else between.end
        one = self._restated.get((key, owner))
        if one is None or between.moves == "neither":
            if between.follows and part == mover:
                before = self._move(other, self._owner_of(other, owner))
                if not before.still:
                    yield Move(None, before.why, self._planned_address(key, owner))
            return
        if one.by != 0 and between.told_by and not self._told(between.told_by, owner):
            yield Move(None, (one.address,), self._planned_address(between.told_by, owner))
        elif part == mover and one.by is None:
            yield Move(None, (one.address,), one.ask)
        elif part == mover:
            before = self._move(other, self._owner_of(other, owner))
            by = one.by or Fraction(0)
            sign = 1 if part == between.end else -1
            why = (one.address,) if by else ()
            after = None if before.by is None else before.by + sign * by
            yield Move(after, (*before.why, *why) if after != 0 else (), before.ask)

    def _owners(self, key: str, owner: str, part: str) -> Sequence[str]:
        """The faces, things or roofs whose entry may tell of a part."""
        table = key.split(".")[0]
        if table not in LISTS:
            return ("",)
        return (owner,) if PARTS[part] else [thing.name for thing in getattr(self.found, table)]

    def _owner_of(self, part: str, owner: str) -> str:
        return (owner or self._front()) if PARTS[part] else ""

    def _told(self, key: str, owner: str) -> bool:
        """Is the entry that tells where the other end is planned too: of any face, where that end belongs to the fireplace."""
        full = f"face.{key}" if f"face.{key}" in FIELDS else key
        return any(
            one == full and (not whose or whose == owner or "hearth." not in full)
            for one, whose in self._restated
        )

    def _planned_address(self, key: str, owner: str) -> str:
        full = f"face.{key}" if f"face.{key}" in FIELDS else key
        table, *rest = full.split(".")
        return join_address(("planned", table, *([owner] if table in LISTS else []), *rest))

    # What has no one entry that moves it

    def _front(self) -> str:
        faces = sorted(self.found.face, key=lambda face: face.side != "front")
        return faces[0].name if faces else ""

    def _removed(self) -> set[str]:
        return {face.name for face in self.planned.face if face.remove}

    def _jamb(self, part: str, owner: str) -> Move:
        width = self._restated.get(("face.width", owner))
        if width is None or width.by == 0:
            return STILL
        if width.by is None:
            return Move(None, (width.address,), width.ask)
        over = next(face for face in self.planned.face if face.name == owner)
        if over.jamb_moved is None:
            return Move(None, (width.address,), join_address(("planned", "face", owner, "jamb_moved")))
        mine = {"both": width.by / 2, part.removesuffix(" jamb"): width.by}.get(over.jamb_moved, Fraction(0))
        return Move(-mine if part == "left jamb" else mine, (width.address,)) if mine else STILL

    def _plane(self, part: str, owner: str) -> Move:
        """The planes of two opposite faces: a depth planned anew does not say which of them moves."""
        sides = {face.name: face.side for face in self.found.face}
        depth = self._restated.get(("firebox.depth", ""))
        facing = OPPOSITE.get(sides.get(owner) or "") in sides.values()
        if depth is None or depth.by == 0 or not facing:
            return STILL
        return Move(None, (depth.address,), join_address(("planned", "face", owner, "hearth", "front")))

    def _sides(self, part: str, owner: str) -> Move:
        """The inside of the firebox goes with its openings, and makes room for one cut in front or back that is wider."""
        across = [
            face.width.value for face in self.found.face if face.side in ("front", "back") and face.width
        ]
        new = {face.name: face for face in self.planned.face}
        for side, name in _cut_sides(self.found, self.planned.face):
            width = new[name].width
            if side in ("front", "back") and not (width and across and width.value <= min(across)):
                key = "width" if width else "side"
                return Move(None, (join_address(("planned", "face", name, key)),))
        for face in self.found.face:
            for jamb in ("left jamb", "right jamb"):
                move = self._move(jamb, face.name)
                if not move.still:
                    return Move(None, move.why, move.ask or join_address(("planned", "firebox", "wall")))
        return STILL

    def _jambs_of_cut(self, part: str, owner: str) -> Move:
        """An opening cut in front or back, however narrow, may stand off the middle: how near its jambs come to a side is not known."""
        for side, name in _cut_sides(self.found, self.planned.face):
            if side in ("front", "back"):
                return Move(None, (join_address(("planned", "face", name, "side")),))
        return STILL

    def _under_hearth(self, part: str, owner: str) -> Move:
        """A hearth that is made larger lies on other floor than what was looked at."""
        ends = (("hearth front end", 1), ("hearth right end", 1), ("hearth left end", -1))
        for end, out in ends:
            move = self._move(end, owner)
            if move.by is None or move.by * out > 0:
                return Move(None, move.why, "")
        return STILL

    def _chimney(self, part: str, owner: str) -> Move:
        """A flue that grows, or whose size was not known, makes the chimney round it another; a liner that goes into it does not."""
        lining = self._changed.get(("flue lining", ""))
        if lining is None or _no_larger(self.found.flue, self.planned.flue):
            return STILL
        return Move(None, lining, self._move("size of the flue", "").ask)

    def _size_of_flue(self, part: str, owner: str) -> Move:
        """A lining planned anew has a size of its own, which is not known before it is told."""
        lining = self._restated.get(("flue.lining", ""))
        if lining is None or lining.same or self.planned.flue.entered & set(SIZES):
            return STILL
        return Move(None, (lining.address,), join_address(("planned", "flue", "liner")))

    def _start_of_flue(self, part: str, owner: str) -> Move:
        """Where the throat moves, the smoke chamber may go with it: its height tells whether it does."""
        throat = self._move("throat", "")
        if throat.still or ("firebox.smoke_chamber_height", "") in self._restated:
            return STILL
        return Move(None, throat.why, throat.ask)

    def _roof(self, part: str, owner: str) -> Move:
        """A roof goes up as a whole, or gets steeper: of its two heights, the one that is not planned anew is not known then."""
        key, other = _ROOF[part]
        if (f"roof.{key}", owner) in self._restated:
            return STILL
        mate = self._by_entries(other, owner)
        return STILL if mate.still else Move(None, mate.why, mate.ask)

    def _facing(self, part: str, owner: str) -> Move:
        """What faces the masonry comes out with it."""
        plane = self._move("opening plane", owner)
        return STILL if plane.still else Move(None, plane.why, plane.ask)

    def _top_of_masonry(self, part: str, owner: str) -> Move:
        """A lower flue takes the masonry down with it; a higher one may be a pot."""
        top = self._restated.get(("flue.height", ""))
        flue = self._move("flue top", "")
        if flue.by is None or flue.by <= 0 or top is None:
            return flue
        return Move(None, flue.why)

    def _flue_top(self, part: str, owner: str) -> Move:
        """Where a roof's heights are planned anew and the flue is not, the roof may be another, or the chimney."""
        if ("flue.height", "") in self._restated:
            return STILL
        for key in ("above_penetration", "above_highest"):
            for roof in self.found.roof:
                one = self._restated.get((f"roof.{key}", str(roof.name)))
                if one and one.by != 0:
                    return Move(None, (one.address,), join_address(("planned", "flue", "height")))
        return STILL

    def _new_top(self, part: str, owner: str) -> Move:
        """A flue that is built up has a part that nobody has looked at."""
        top = self._move("flue top", "")
        return STILL if top.by is not None and top.by <= 0 else Move(None, top.why, top.ask)

    def _openings(self, part: str, owner: str) -> Move:
        """All that is open on all faces."""
        known = {face.name for face in self.found.face}
        for over in self.planned.face:
            if over.remove or over.name not in known:
                why = "remove" if over.remove else "side"
                return Move(None, (join_address(("planned", "face", over.name, why)),))
        for face in self.found.face:
            for one in ("left jamb", "right jamb", "lintel", "firebox floor", "shape of the opening"):
                move = self._move(one, face.name if PARTS[one] else "")
                if not move.still:
                    return Move(None, move.why)
        return STILL

    def _changes(self) -> dict[tuple[str, str], tuple[str, ...]]:
        """Parts that are others than were found, with what changes them: by an entry, by a new opening, or by one that is closed."""
        changed: dict[tuple[str, str], tuple[str, ...]] = {}
        for one in self._restated.values():
            if not one.same:
                for part in FIELDS[one.key].changes:
                    changed.setdefault((part, one.owner if PARTS[part] else ""), (one.address,))
        for side, name in _cut_sides(self.found, self.planned.face):
            why = (join_address(("planned", "face", name, "side")),)
            for part in ("cut", "throat", *WALLS[side]):
                changed.setdefault((part, ""), why)
        for face in self.found.face:
            if face.name in self._removed():
                why = (join_address(("planned", "face", face.name, "remove")),)
                for part in ("firebox back", "firebox sides"):
                    changed.setdefault((part, ""), why)
        return changed


_SPECIAL = {
    "left jamb": _Overlay._jamb,
    "right jamb": _Overlay._jamb,
    "opening plane": _Overlay._plane,
    "firebox sides": _Overlay._sides,
    "jambs of the cut": _Overlay._jambs_of_cut,
    "floor under the hearth": _Overlay._under_hearth,
    "outside of the chimney": _Overlay._chimney,
    "facing": _Overlay._facing,
    "top of the masonry": _Overlay._top_of_masonry,
    "flue top": _Overlay._flue_top,
    "new flue on top": _Overlay._new_top,
    "openings": _Overlay._openings,
    "size of the flue": _Overlay._size_of_flue,
    "start of the flue": _Overlay._start_of_flue,
    "roof at the chimney": _Overlay._roof,
    "highest part of the roof": _Overlay._roof,
}
_ROOF = {
    "roof at the chimney": ("above_penetration", "highest part of the roof"),
    "highest part of the roof": ("above_highest", "roof at the chimney"),
}


@cache
def _runs(part: str) -> tuple[tuple[str, Between], ...]:
    """The entries that run to a part."""
    return tuple(
        (key, spec.between)
        for key, spec in FIELDS.items()
        if spec.between and part in (spec.between.start, spec.between.end)
    )


def _anew(value: Fraction, by: Fraction, between: Between) -> Fraction | None:
    """A measurement whose end moved away from its start by so much; None where that has no one answer."""
    if between.past_zero and value == 0 and by > 0:
        return None
    return max(value + by, Fraction(0)) if between.past_zero else value + by


def _worked(
    spec: FieldSpec, before: Fraction, after: Fraction, why: Iterable[str], unit: lengths.Unit
) -> Step:
    """The line of working of an entry that the plan moved."""
    by = after - before
    sign = "+" if by > 0 else "-"
    causes = ", ".join(dict.fromkeys(why))
    numbers = f"{spec.show(before, unit)} as found {sign} {lengths.show(abs(by), unit)} ({causes})"
    return Step(spec.label, "", numbers, after, "in", spec.show(after, unit))


def _restated(found: Job, planned: Planned) -> Iterator[Restated]:
    """The entries that are planned over found ones."""
    for key, node in type(planned).fields.items():
        over = getattr(planned, key)
        if isinstance(node, Sub) and node.many:
            before = {thing.name: thing for thing in getattr(found, key)}
            for thing in over:
                if thing.name in before:
                    yield from _restated_in(before[thing.name], thing, (key, thing.name), key, thing.name)
        else:
            yield from _restated_in(getattr(found, key), over, (key,), key, "")


def _restated_in(
    found: Table, over: Table, path: tuple[str, ...], key: str, owner: str
) -> Iterator[Restated]:
    for name in over.entered - {"name", "remove", "jamb_moved"}:
        before, after = getattr(found, name), getattr(over, name)
        here = (*path, name)
        if isinstance(after, Table):
            yield from _restated_in(before, after, here, f"{key}.{name}", owner)
            continue
        planned = join_address(("planned", *here))
        by = after.value - before.value if isinstance(before, Amount) and isinstance(after, Amount) else None
        ask = join_address(here) if before is None else planned
        yield Restated(f"{key}.{name}", owner, planned, by, before, after, ask)


def _plain(value: Any) -> Any:
    """A value as it compares: numbers by what they are, not by how they were typed."""
    if isinstance(value, Amount):
        return value.value
    if isinstance(value, Size):
        return tuple(sorted((value.a.value, value.b.value)))
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    return {k: _plain(v) for k, v in value.__dict__.items()} if isinstance(value, Table) else value


def _no_larger(found: Flue, planned: Flue) -> bool:
    """Is a planned flue certainly no larger than the one that stands: told in the same way, or its outside goes into the chimney."""
    around, space = _across(planned.outside), _across(planned.shaft or found.shaft) or _nominal(found.liner)
    if around and space and all(a <= b for a, b in zip(around, space, strict=True)):
        return True
    for key in ("area", "diameter", "inside", "liner"):
        before, after = (_across(getattr(flue, key)) for flue in (found, planned))
        if after:
            return len(before) == len(after) and all(a <= b for a, b in zip(after, before, strict=True))
    return False


def _nominal(liner: str | None) -> tuple[Fraction, ...]:
    """The outside of a liner that is sold by it; nothing of a round one, which is sold by its inside."""
    return _across(liner) if liner and "x" in liner else ()


def _across(size: Any) -> tuple[Fraction, ...]:
    """What a flue is across, the smaller side first; nothing where it is not known."""
    if isinstance(size, str):
        try:
            return tuple(sorted(Fraction(side) for side in size.split("x")))
        except ValueError:
            return ()
    plain = _plain(size)
    return plain if isinstance(plain, tuple) else () if plain is None else (plain,)


def _cut_sides(found: Job, planned: Iterable[PlannedFace]) -> Iterator[tuple[str, str]]:
    """The sides of the firebox that the work opens, each with its face: all of them where a new face does not say its side."""
    known = {face.name: face for face in found.face}
    open_before = {face.side for face in found.face}
    for face in planned:
        before = known.get(face.name)
        if face.remove or (before and (before.side is None or face.side is None)):
            continue
        if face.side is None:
            yield from ((side, face.name) for side in WALLS)
        elif face.side not in open_before:
            yield face.side, face.name


def _placed(thing: T, over: Table | None) -> T:
    """A thing that is put near a face is no longer at a wall, and the other way round."""
    if not isinstance(thing, Nearby) or not isinstance(over, Nearby):
        return thing
    gone = [key for key, other in (("face", over.at), ("at", over.face)) if other]
    return without(thing, gone)


def _merge(found: T, planned: Table) -> T:
    """A found table with what is planned laid over it, key by key."""
    entered = planned.entered - {"remove", "jamb_moved"}
    if isinstance(planned, Flue) and entered & set(SIZES):
        found = without(found, SIZES)
    if not entered:
        return found
    values = dict(found.__dict__)
    for key in entered:
        value = getattr(planned, key)
        values[key] = _merge(getattr(found, key), value) if isinstance(value, Table) else intended(value)
    return made(found, found.entered | entered, values)
