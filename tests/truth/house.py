"""A masonry fireplace in coordinates, and what a tape reads on it.

All in inches, exact. z runs up. At a face x runs to the right as you stand facing the fire, and y out of the plane of the opening into
the room; into the masonry runs "inward", from the plane of the first face. How a reading is taken is told by each entry's how-to.
"""

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from typing import Any

F = Fraction
NOTHING = F(0)
BAR = F(1, 4)
Document = dict[str, Any]

# Liners of the US tables: nominal name, inside, outside.
LINERS = {
    "8.5x13": ("7 1/4", "11 1/2", "13"), "8.5x18": ("7", "16 1/4", "18"), "12x12": ("9 1/2", "9 1/2", "11 1/2"),
    "13x13": ("11 1/4", "11 1/4", "13"), "13x18": ("11 1/4", "15 3/4", "18"), "16x16": ("13 1/2", "13 1/2", "15 1/2"),
    "16x20": ("13", "17", "20"), "18x18": ("15 3/4", "15 3/4", "18"), "20x20": ("17", "17", "20"),
}  # fmt: skip
ROUND = ("8", "10", "10.75", "12", "15", "18")


@dataclass(frozen=True)
class Lintel:
    """left, right: x of its ends.  depth: of the bar, underside to top."""

    left: F
    right: F
    depth: F = BAR
    angle: str = "L3-1/2x3-1/2x1/4"


@dataclass(frozen=True)
class Face:
    """One opening. floor: z of the room's floor.  left, right: jambs.  top: z of the lintel's underside or the crown.

    inside_left, inside_right: the firebox's side walls just behind the plane.  sound_left, sound_right: where sound masonry ends.
    layers: of the hearth, from its top down.  hearth_end, facing: y.
    """

    name: str
    side: str
    floor: F
    left: F
    right: F
    top: F
    inside_left: F
    inside_right: F
    sound_left: F
    sound_right: F
    hearth_top: F
    layers: tuple[tuple[str, F], ...]
    hearth_left: F
    hearth_right: F
    hearth_end: F
    facing: F
    lintel: Lintel
    wall_top: F
    below: str = "concrete"
    arch: str = "flat"
    rise: F = NOTHING
    opens_to: str = "room"
    closure: str = "glass doors"
    gaps: F = NOTHING
    may_shut: str = "yes"

    @property
    def width(self) -> F:
        return self.right - self.left

    @property
    def thickness(self) -> F:
        return sum((thick for _, thick in self.layers), start=F(0))


@dataclass(frozen=True)
class Thing:
    """Something near the fire. Before a face: x from left to right, z of its bottom, y of its front. At the masonry: where its edge is.

    edge: x of the side it is on; inward behind the back; from the axis of the chimney. Where masonry comes to stand it is cut back.
    touching: it is told how far the lining is.
    """

    name: str
    what: str
    face: str = ""
    at: str = ""
    left: F = NOTHING
    right: F = NOTHING
    bottom: F = NOTHING
    front: F = NOTHING
    edge: F = NOTHING
    touching: bool = False


@dataclass(frozen=True)
class Roof:
    """away: level from the chimney's axis to the highest part.  ridge: z of that part.  trimmed: from the axis to the framing.

    size_change: z of the chimney's change of size.
    """

    name: str
    passes: bool
    away: F
    ridge: F
    pitch: F
    cricket: F = NOTHING
    trimmed: F = NOTHING
    size_change: F = NOTHING


@dataclass(frozen=True)
class Flue:
    """liner: nominal, "" where only its inside is known.  a, b: inside; one number twice is square or, with round, across.

    told: the entries that a person reads off it.
    """

    a: F
    b: F
    liner: str = ""
    round: bool = False
    told: tuple[str, ...] = ("liner",)
    lining: str = "clay"
    condition: str = "sound"


@dataclass(frozen=True)
class House:
    """left, right: x of the masonry's outside at the first face.  floor, slab: z of the firebox floor's top and underside.

    back, back_out: inward, the inside and the outside of the back wall; with two opposite faces the inward of the second plane.
    beside_back: what stands beside an opening in the back.  throat, chamber_top, top, flue_top: z; top is of the masonry.
    chamber_end: width where the flue begins.  wide, deep: outside of the chimney along and across the ridge.
    """

    seed: int
    faces: tuple[Face, ...]
    left: F
    right: F
    floor: F
    slab: F
    back: F
    back_out: F
    beside_back: F
    lining: F
    joint: F
    throat: F
    throat_depth: F
    throat_width: F
    damper_area: F
    chamber_top: F
    chamber_end: F
    chamber_wall: F
    flue: Flue
    top: F
    flue_top: F
    wide: F
    deep: F
    cap_area: F
    arrestor_area: F
    things: tuple[Thing, ...]
    roofs: tuple[Roof, ...]
    damper: str = "throat"
    form: str = "sloped"
    parged: str = "yes"
    place: str = "outside"
    measured: bool = True
    together: bool = False

    @property
    def two(self) -> bool:
        return len(self.faces) > 1

    def face(self, name: str) -> Face:
        return {face.name: face for face in self.faces}[name]

    def outside(self, face: Face) -> tuple[F, F]:
        """x of the masonry's outside as seen at a face."""
        return (self.left, self.right) if face.side == "front" else (-self.right, -self.left)

    def with_face(self, face: Face, **changes: Any) -> "House":
        new = replace(face, **changes)
        return replace(self, faces=tuple(new if f.name == face.name else f for f in self.faces))

    def with_thing(self, thing: Thing, **changes: Any) -> "House":
        new = replace(thing, **changes)
        return replace(self, things=tuple(new if t.name == thing.name else t for t in self.things))

    def with_roof(self, roof: Roof, **changes: Any) -> "House":
        new = replace(roof, **changes)
        return replace(self, roofs=tuple(new if r.name == roof.name else r for r in self.roofs))


# The tape


def inches(value: F) -> str:
    """A length as it is typed. A tape reads no negative length."""
    if value < 0:
        raise ValueError(f"no tape reads {value}")
    whole, rest = divmod(value, 1)
    return f"{whole} {rest}" if whole and rest else str(rest or whole)


LINER = F(3, 4)  # thickness of a clay liner, and the joint round it


def measure(house: House) -> Document:
    """The job document that a tape reads on a house. Raises ValueError where a length is below zero: no such house stands."""
    return {
        "format": "hearthcalc-job", "version": 1, "units": "in",
        "about": {"title": f"House {house.seed}", "edition": "irc-2021", "measured": house.measured},
        "fireplace": {"construction": "masonry", "pattern": "conventional"},
        "face": [_face(house, face) for face in house.faces],
        "firebox": _firebox(house),
        "flue": _flue(house),
        "nearby": [_thing(house, thing) for thing in house.things],
        "use": {"open_together": house.together},
        "air": {
            "house_volume": "15200 ft3", "room_volume": "2100 ft3", "airtightness": "6 ACH50", "exterior_duct": "12 in2",
            "vent": "0 in2", "makeup": "0 cfm", "fans": [{"name": "hood", "flow": "390 cfm", "where": "house"}],
            "gas_input": "0 Btu/h", "gas_logs": "none", "storeys": 2, "duct_from": "outdoors", "duct_above": "no",
            "duct_screened": "yes", "duct_outlet": "0", "duct_clear": "2",
        },
        "chimney": {
            "wall": inches((min(house.wide - house.flue.b, house.deep - house.flue.a)) / 2 - LINER), "flues": 1, "crown": "yes",
            "cleanout": "through the fireplace", "arrestor_mesh": "1/2",
        },
        "structure": {"ash_dump": "none"},
        "site": {"altitude": "850 ft", "outdoor": "30 F", "indoor": "68 F", "wind": "7 mph", "shelter": 0.7},
        "fire": {"size": "steady"},
        "roof": [_roof(house, roof) for roof in house.roofs],
        **looked(house),
    }  # fmt: skip


def looked(house: House) -> Document:
    """The places round the masonry where a person looked and found nothing; what is there is entered."""
    at = {thing.at for thing in house.things}
    places = {
        "sides": "firebox side",
        "chimney": "chimney",
        **({} if house.two else {"back": "firebox back"}),
    }
    clear = {name: True for name, place in places.items() if place not in at}
    return {"looked": clear | ({} if house.roofs else {"roofs": True})}


def _looked_at(house: House, face: Face) -> Document:
    there = {thing.what for thing in house.things if thing.face == face.name}
    clear = {name: True for name, what in (("above", "mantel"), ("beside", "trim")) if what not in there}
    return {**clear, "before": True}


def _face(house: House, face: Face) -> Document:
    if face.arch != "flat" and face.rise > face.top - house.floor:
        raise ValueError("the springings would lie below the floor")
    hearth = {
        "front": inches(face.hearth_end),
        "facing": inches(face.facing),
        "left": inches(face.left - face.hearth_left),
        "right": inches(face.hearth_right - face.right),
        "thickness": inches(face.thickness),
        "above_floor": inches(face.hearth_top - face.floor),
        "below": face.below,
        "specified_r": "1/4 h.ft2.F/Btu",
        "layers": [{"material": name, "thickness": inches(thick)} for name, thick in face.layers],
    }
    document = {
        "name": face.name, "side": face.side, "width": inches(face.width), "height": inches(face.top - house.floor),
        "arch": face.arch, "opens_to": face.opens_to, "closure": face.closure, "gap_area": f"{face.gaps} in2",
        "burning_closed": face.may_shut, "opening_above_hearth": inches(house.floor - face.hearth_top),
        "looked": _looked_at(house, face), "hearth": hearth,
    }  # fmt: skip
    if face.arch != "flat":
        return document | ({"rise": inches(face.rise)} if face.arch == "segmental" else {})
    beside = min(face.left - face.sound_left, face.sound_right - face.right)
    document["lintel"] = {
        "above": "wall", "span": inches(face.width), "wall_thickness": "4",
        "wall_height": inches(face.wall_top - face.top - face.lintel.depth), "wall_weight": "40 lb/ft2",
        "sound_beside": beside >= face.width / 2, "other_load": "0 lb/ft", "angle": face.lintel.angle,
        "bearing": inches(min(face.left - face.lintel.left, face.lintel.right - face.right)),
    }  # fmt: skip
    return document


def _walls(house: House, face: Face) -> tuple[F, F]:
    left, right = house.outside(face)
    return face.inside_left - left, right - face.inside_right


def _firebox(house: House) -> Document:
    height = house.chamber_top - house.throat
    lean = math.degrees(math.atan2(max(F(0), house.throat_width - house.chamber_end) / 2, height))
    return {
        "depth": inches(house.back),
        "wall": inches(min(side for face in house.faces for side in _walls(house, face))),
        "back_wall": inches(house.beside_back if house.two else house.back_out - house.back),
        "lining": inches(house.lining), "joint": inches(house.joint), "floor_slab": inches(house.floor - house.slab),
        "floor_below": "masonry", "throat_height": inches(house.throat - house.floor),
        "throat_depth": inches(house.throat_depth), "throat_width": inches(house.throat_width), "damper": house.damper,
        "damper_area": f"{house.damper_area} in2", "damper_works": "yes", "smoke_chamber_height": inches(height),
        "smoke_chamber_wall": inches(house.chamber_wall), "smoke_chamber_form": house.form,
        "smoke_chamber_slope": f"{lean:.2f} deg", "smoke_chamber_parged": house.parged,
    }  # fmt: skip


def _flue(house: House) -> Document:
    flue = house.flue
    shape = "round" if flue.round else "square" if flue.a == flue.b else "rectangular"
    sizes = {
        "liner": flue.liner, "diameter": inches(flue.a), "inside": f"{inches(flue.a)} x {inches(flue.b)}",
        "area": f"{inches(flue.a * flue.b)} in2", "shape": shape,
    }  # fmt: skip
    return {
        **{key: sizes[key] for key in flue.told},
        "height": inches(house.flue_top - house.floor), "lining": flue.lining, "condition": flue.condition,
        "place": house.place, "offsets": [], "cap": "open", "cap_area": f"{house.cap_area} in2",
        "arrestor_area": f"{house.arrestor_area} in2", "shared_with": "",
    }  # fmt: skip


def _thing(house: House, thing: Thing) -> Document:
    document: Document = {"name": thing.name, "what": thing.what, "combustible": True}
    if thing.face:
        face = house.face(thing.face)
        return document | {
            "face": thing.face,
            "above": inches(max(F(0), thing.bottom - face.top)),
            "beside": inches(max(F(0), face.left - thing.right, thing.left - face.right)),
            "projection": inches(max(F(0), thing.front - face.facing)),
        }
    first = house.faces[0]
    if thing.at == "firebox side":
        number = 0 if thing.edge < 0 else 1
        gap = abs(thing.edge) - abs(house.outside(first)[number])
        wall = min(
            sides[number if f.side == "front" else 1 - number]
            for f in house.faces
            for sides in [_walls(house, f)]
        )
    elif thing.at == "firebox back":
        gap, wall = thing.edge - house.back_out, house.back_out - house.back
    else:
        gap, wall = thing.edge - house.wide / 2, (house.wide - house.flue.b) / 2
    document |= {"at": thing.at, "gap": inches(max(F(0), gap)), "filled": False}
    return document | ({"from_lining": inches(max(F(0), gap) + wall)} if thing.touching else {})


def _roof(house: House, roof: Roof) -> Document:
    distance = max(F(0), roof.away - house.deep / 2)
    document = {
        "name": roof.name, "passes_through": roof.passes, "distance": inches(distance),
        "above_highest": inches(max(F(0), house.top - roof.ridge)), "pitch": f"{roof.pitch * 12}:12",
    }  # fmt: skip
    if not roof.passes:
        return document
    meets = roof.ridge - roof.pitch * distance
    return document | {
        "above_penetration": inches(max(F(0), house.top - meets)), "width_along_ridge": inches(house.wide),
        "crosses_ridge": distance == 0, "cricket_height": inches(roof.cricket), "framing_gap": inches(roof.trimmed - house.wide / 2),
        "size_change_gap": inches(abs(roof.size_change - meets)),
    }  # fmt: skip


# Houses at random, their lengths on sixteenths and near the limits of irc-2021


def near(rng: Random, middle: F | int, spread: F | int = 1) -> F:
    """A length on sixteenths, so much about another."""
    steps = int(spread * 16)
    return F(middle) + F(rng.randint(-steps, steps), 16)


def liner(name: str, **changes: Any) -> Flue:
    """A flue of a nominal liner."""
    if name in ROUND:
        return Flue(F(name), F(name), name, round=True, **changes)
    a, b = (F(sum(F(part) for part in side.split())) for side in LINERS[name][:2])
    return Flue(a, b, name, **changes)


def opening(rng: Random, name: str, side: str, floor: F, room: F, outside: tuple[F, F]) -> Face:
    """An opening with its hearth, between the outsides of the masonry as seen at it."""
    left, right = (
        edge + sign * rng.choice([near(rng, 9), near(rng, 12)])
        for edge, sign in zip(outside, (1, -1), strict=True)
    )
    top = floor + near(rng, F(864, right - left), 3)
    hearth_top = min(floor, floor - rng.choice([F(0), F(0), near(rng, 8)]))
    thick = rng.choice([near(rng, 2, F(1, 2)), near(rng, 4), F(1)])
    bearing = near(rng, 4, F(1, 2))
    gaps = F(rng.choice([0, 6]))
    return Face(
        name=name, side=side, floor=min(room, hearth_top), left=left, right=right, top=top, inside_left=left, inside_right=right,
        sound_left=left - near(rng, 18, 4), sound_right=right + near(rng, 18, 4), hearth_top=hearth_top,
        layers=(("brick_fired_clay_1920", thick - F(1, 2)), ("mortar_cement_lime_1920", F(1, 2))),
        hearth_left=left - near(rng, 11, 4), hearth_right=right + near(rng, 11, 4), hearth_end=near(rng, 19, 4),
        facing=rng.choice([F(0), near(rng, 1, F(1, 2))]), lintel=Lintel(left - bearing, right + bearing + near(rng, F(1, 4), F(1, 4))),
        wall_top=top + near(rng, 24, 12), below=rng.choice(["concrete", "concrete", "masonry", "wood"]),
        opens_to="room" if side == "front" else "screened", closure=rng.choice(["glass doors", "steel doors"]), gaps=gaps,
        may_shut=rng.choice(["yes", "yes", "no"]), **arched(rng, right - left),
    )  # fmt: skip


def arched(rng: Random, width: F) -> dict[str, Any]:
    kind = rng.choice(["flat", "flat", "flat", "segmental", "semicircular"])
    return {
        "arch": kind,
        "rise": near(rng, 5) if kind == "segmental" else width / 2 if kind == "semicircular" else F(0),
    }


def build(seed: int) -> House:
    """The house of a seed: every length is drawn about what irc-2021 asks for, so that about half of them fall short."""
    rng = Random(seed)
    two = rng.random() < 0.5
    half = near(rng, 25, 3)
    left, right = -half - near(rng, 0, F(1, 4)), half
    floor = rng.choice([F(0), near(rng, 9, 2), near(rng, 4, 2)])
    faces = [opening(rng, "study", "front", floor, F(0), (left, right))]
    if two:
        faces.append(opening(rng, "terrace", "back", floor, F(-2), (-right, -left)))
    name = rng.choice(
        ["13x13", "13x18", "13x18", "16x16", "15"]
        if two
        else ["8.5x13", "8.5x13", "8.5x18", "12x12", "13x13", "10", "10.75"]
    )
    ways = (
        [("liner",), ("diameter", "shape")]
        if name in ROUND
        else [("liner",), ("inside",), ("liner", "inside"), ("area", "shape")]
    )
    flue = liner(name, told=rng.choice(ways), condition=rng.choice(["sound", "sound", "cracked"]))
    area = int(flue.a * flue.b)
    high = max(face.top for face in faces)
    throat = high + near(rng, 8)
    throat_width = near(rng, 30, 3)
    back = near(rng, 20, 2)
    wide = near(rng, flue.b + 16, 4)
    deep = near(rng, flue.a + 14, 2)
    top = floor + near(rng, 260, 30)
    house = House(
        seed=seed, faces=tuple(faces), left=left, right=right, floor=floor, slab=floor - near(rng, 4), back=back,
        back_out=back if two else back + near(rng, 8), beside_back=near(rng, 8), lining=rng.choice([F(5, 2), F(5, 2), F(5, 4)]),
        joint=near(rng, F(1, 4), F(1, 16)), throat=throat, throat_depth=round(area / throat_width) + near(rng, 0, F(1, 2)),
        throat_width=throat_width, damper_area=F(area + rng.randint(-20, 20)), chamber_top=throat + near(rng, 30, 3),
        chamber_end=flue.b, chamber_wall=near(rng, 8), flue=flue, top=top, flue_top=top + near(rng, 3, 2), wide=wide, deep=deep,
        cap_area=F(4 * area + rng.randint(-60, 60)), arrestor_area=F(4 * area + rng.randint(-60, 60)), things=(), roofs=(),
        parged=rng.choice(["yes", "yes", "no"]), form=rng.choice(["sloped", "corbelled"]), place=rng.choice(["inside", "outside"]),
        measured=rng.random() < 0.7, together=two and rng.random() < 0.5,
    )  # fmt: skip
    return replace(house, things=_things(rng, house), roofs=_roofs(rng, house))


def _things(rng: Random, house: House) -> tuple[Thing, ...]:
    things = []
    for face, suffix in zip(house.faces, ("", "2"), strict=False):
        over = face.top + near(rng, 10, 4)
        things += [
            Thing("mantel" + suffix, "mantel", face=face.name, left=face.left - 4, right=face.right + 4, bottom=over,
                  front=face.facing + near(rng, F(9, 8), F(1, 2))),
            Thing("trim" + suffix, "trim", face=face.name, left=face.left - 14, right=face.left - near(rng, 8, 3),
                  bottom=face.floor, front=face.facing + near(rng, 1, F(1, 2))),
            Thing("post" + suffix, "trim", face=face.name, left=face.right + near(rng, 6, 2), right=face.right + 12,
                  bottom=face.top + near(rng, 6, 2), front=face.facing + near(rng, 1, F(1, 2))),
        ]  # fmt: skip
    things += [
        Thing("stud", "framing", at="firebox side", edge=house.right + near(rng, 2)),
        Thing("plate", "framing", at="firebox side", edge=house.left - near(rng, 2)),
        Thing("sheathing", "sheathing", at="firebox side", edge=house.right, touching=True),
        Thing("header", "framing", at="chimney", edge=house.wide / 2 + near(rng, 2)),
        Thing("siding", "siding", at="chimney", edge=house.wide / 2, touching=True),
    ]
    if not house.two:
        things.append(Thing("sill", "framing", at="firebox back", edge=house.back_out + near(rng, 4)))
    return tuple(things)


def roof(rng: Random, house: House, name: str, *, passes: bool) -> Roof:
    """A roof that the chimney's top clears by about what is needed."""
    pitch = F(rng.choice([3, 4, 6, 8, 12]), 12)
    away = house.deep / 2 + (near(rng, 20, 20) if passes else near(rng, 118, 6))
    away = max(away, F(0))
    distance = max(F(0), away - house.deep / 2)
    ridge = house.top - near(rng, 24, 4)
    if passes and rng.random() < 0.5:
        ridge = house.top - near(rng, 36, 4) + pitch * distance
    meets = ridge - pitch * distance
    return Roof(
        name, passes, away, ridge, pitch, cricket=house.wide * pitch / 2 + near(rng, 0, 1) if pitch > F(1, 4) else F(4),
        trimmed=house.wide / 2 + near(rng, 2), size_change=meets - near(rng, 6, 2),
    )  # fmt: skip


def _roofs(rng: Random, house: House) -> tuple[Roof, ...]:
    roofs = [roof(rng, house, "main", passes=True), roof(rng, house, "wing", passes=False)]
    return tuple(roofs[: rng.randint(1, 2)])


def sound() -> House:
    """A house of one face in which all that irc-2021 asks of it is met, with something to spare."""
    left, right = F(-15), F(15)
    face = Face(
        name="study", side="front", floor=F(0), left=left, right=right, top=F(28), inside_left=left, inside_right=right,
        sound_left=F(-40), sound_right=F(40), hearth_top=F(0), layers=(("brick_fired_clay_1920", F(4)),), hearth_left=F(-30),
        hearth_right=F(30), hearth_end=F(24), facing=F(1), lintel=Lintel(F(-20), F(20)), wall_top=F(70), closure="none",
    )  # fmt: skip
    things = (
        Thing("mantel", "mantel", face="study", left=left, right=right, bottom=F(43), front=F(4)),
        Thing("stud", "framing", at="firebox side", edge=F(28)),
        Thing("sill", "framing", at="firebox back", edge=F(39)),
        Thing("header", "framing", at="chimney", edge=F(17)),
    )
    roofs = (
        Roof("main", True, away=F(12), ridge=F(260), pitch=F(1, 2), trimmed=F(17), size_change=F(240)),
        Roof("wing", False, away=F(100), ridge=F(240), pitch=F(1, 2)),
    )
    return House(
        seed=-1, faces=(face,), left=F(-25), right=F(25), floor=F(0), slab=F(-6), back=F(22), back_out=F(32), beside_back=F(0),
        lining=F(5, 2), joint=F(1, 8), throat=F(38), throat_depth=F(6), throat_width=F(30), damper_area=F(150), chamber_top=F(64),
        chamber_end=F(12), chamber_wall=F(9), flue=liner("13x13"), top=F(300), flue_top=F(303), wide=F(28), deep=F(26),
        cap_area=F(600), arrestor_area=F(600), things=things, roofs=roofs, place="inside",
    )  # fmt: skip
