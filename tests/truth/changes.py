"""Changes of a house as they happen, each with the ways in which a person states it.

A way names the entries that are stated anew; their values are read off the changed house. The first way is the full one, the others are
lazy: fewer entries than the change takes. FACE is the face in hand. key=value states a word that no tape reads.
"""

import re
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass, replace
from itertools import product
from random import Random
from typing import Any

from truth.house import (
    Document,
    F,
    Face,
    Flue,
    House,
    Roof,
    Thing,
    liner,
    measure,
    near,
    opening,
    roof,
)

from hearthcalc.errors import EntryError
from hearthcalc.job import spec_of

Work = Callable[[Random, House, Face], House | None]
Way = tuple[str, ...]


@dataclass(frozen=True)
class Change:
    """work: the changed house, None where this house cannot be changed so."""

    name: str
    ways: tuple[Way, ...]
    work: Work


CHANGES: dict[str, Change] = {}


def change(name: str, *ways: str) -> Callable[[Work], Work]:
    """Enter a change under its name. ways: addresses parted by spaces."""

    def enter(work: Work) -> Work:
        CHANGES[name] = Change(name, tuple(tuple(way.split()) for way in ways), work)
        return work

    return enter


def step(rng: Random, most: F | int) -> F:
    """How far something moves, on eighths."""
    return F(rng.randint(2, int(most * 8)), 8)


def fresh_gaps(rng: Random, face: Face) -> dict[str, Any]:
    """Doors are fitted anew to an opening that has changed."""
    return {"gaps": F(rng.randint(2, 9))} if face.gaps else {}


# The opening

MOVES = {"left": (1, 0), "right": (0, 1), "both": (F(1, 2), F(1, 2))}


def _jambs(
    rng: Random, house: House, face: Face, by: F, moved: str, *, new_lintel: bool, outside_too: bool
) -> House | None:
    """The jambs move outwards by a width (inwards where it is below zero), and the firebox's sides with them."""
    left, right = (by * share for share in MOVES[moved])
    jambs = {"left": face.left - left, "right": face.right + right}
    sides = {"inside_left": face.inside_left - left, "inside_right": face.inside_right + right}
    bar = face.lintel
    if new_lintel:
        bearing = near(rng, 4, 1)
        bar = replace(bar, left=jambs["left"] - bearing, right=jambs["right"] + bearing)
    elif jambs["left"] - bar.left < 1 or bar.right - jambs["right"] < 1:
        return None
    rise = {"rise": (face.width + by) / 2} if face.arch == "semicircular" else {}
    house = house.with_face(face, lintel=bar, **jambs, **sides, **rise, **fresh_gaps(rng, face))
    if outside_too:
        ends = (left, right) if face.side == "front" else (right, left)
        house = replace(house, left=house.left - ends[0], right=house.right + ends[1])
    return house


def _widen(moved: str, new_lintel: bool, outside_too: bool) -> None:
    lintel = "a new lintel" if new_lintel else "the old lintel"
    wall = "the side wall rebuilt outside" if outside_too else "the side wall cut"
    bearing = " face.FACE.lintel.bearing" if new_lintel else ""

    @change(
        f"wider, {moved}, {lintel}, {wall}",
        f"face.FACE.width face.FACE.jamb_moved={moved}{bearing}",
        f"face.FACE.width face.FACE.jamb_moved={moved}",
        "face.FACE.width",
        "face.FACE.width face.FACE.hearth.left",
        f"face.FACE.width face.FACE.jamb_moved={moved} firebox.wall",
    )
    def wider(rng: Random, house: House, face: Face) -> House | None:
        return _jambs(rng, house, face, step(rng, 5), moved, new_lintel=new_lintel, outside_too=outside_too)


for _moved, _new, _out in product(MOVES, (False, True), (False, True)):
    _widen(_moved, _new, _out)


def _narrow(moved: str, jamb_alone: bool) -> None:
    @change(
        f"narrower, {moved}, {'the jamb alone' if jamb_alone else 'the side of the firebox too'}",
        f"face.FACE.width face.FACE.jamb_moved={moved}",
        "face.FACE.width",
        "face.FACE.width face.FACE.hearth.right",
        f"face.FACE.width face.FACE.jamb_moved={moved} firebox.wall",
    )
    def narrower(rng: Random, house: House, face: Face) -> House | None:
        new = _jambs(rng, house, face, -step(rng, 5), moved, new_lintel=False, outside_too=False)
        if new and jamb_alone:
            new = new.with_face(
                new.face(face.name), inside_left=face.inside_left, inside_right=face.inside_right
            )
        return new


for _moved, _new in product(MOVES, (False, True)):
    _narrow(_moved, _new)


def _lintel(up: bool, new: bool) -> None:
    bearing = " face.FACE.lintel.bearing" if new else ""

    @change(
        f"the lintel {'higher' if up else 'lower'}, {'a new one' if new else 'the old one'}",
        f"face.FACE.height face.FACE.opening_above_hearth{bearing}",
        "face.FACE.height",
        "face.FACE.height face.FACE.opening_above_hearth",
    )
    def moved(rng: Random, house: House, face: Face) -> House | None:
        top = face.top + step(rng, 4) * (1 if up else -1)
        bearing = near(rng, 4, 1)
        bar = (
            replace(face.lintel, left=face.left - bearing, right=face.right + bearing) if new else face.lintel
        )
        if new and face.arch != "flat":
            return None
        return house.with_face(face, top=top, lintel=bar, **fresh_gaps(rng, face))


for _up, _new in product((True, False), (False, True)):
    _lintel(_up, _new)


def _floor(up: bool, slab_too: bool) -> None:
    @change(
        f"the firebox floor {'raised' if up else 'lowered'}, {'slab and all' if slab_too else 'the underside stays'}",
        "face.FACE.height face.FACE.opening_above_hearth",
        "face.FACE.height",
        "face.FACE.opening_above_hearth",
        "face.FACE.height face.FACE.opening_above_hearth firebox.floor_slab",
        "face.FACE.height firebox.throat_height",
    )
    def moved(rng: Random, house: House, face: Face) -> House:
        by = step(rng, 4) * (1 if up else -1)
        return replace(house, floor=house.floor + by, slab=house.slab + by if slab_too else house.slab)


for _up, _new in product((True, False), (False, True)):
    _floor(_up, _new)


@change("an arch put in, its crown where the lintel was", "face.FACE.arch face.FACE.rise", "face.FACE.arch")
def arch_in(rng: Random, house: House, face: Face) -> House | None:
    if face.arch != "flat":
        return None
    return house.with_face(face, arch="segmental", rise=near(rng, 5), **fresh_gaps(rng, face))


@change(
    "an arch put in, its springings where the lintel was",
    "face.FACE.arch face.FACE.rise face.FACE.height face.FACE.opening_above_hearth",
    "face.FACE.arch face.FACE.rise face.FACE.height",
    "face.FACE.arch face.FACE.height",
)
def arch_over(rng: Random, house: House, face: Face) -> House | None:
    new = arch_in(rng, house, face)
    return new and new.with_face(new.face(face.name), top=face.top + new.face(face.name).rise)


@change("an arch made half round, its crown where it was", "face.FACE.arch")
def half_round(rng: Random, house: House, face: Face) -> House | None:
    if face.arch == "semicircular":
        return None
    return house.with_face(face, arch="semicircular", rise=face.width / 2)


@change(
    "an arch taken out for a lintel at its crown",
    "face.FACE.arch face.FACE.lintel.above face.FACE.lintel.span face.FACE.lintel.bearing",
    "face.FACE.arch",
)
def arch_out(rng: Random, house: House, face: Face) -> House | None:
    return (
        house.with_face(face, arch="flat", rise=F(0), **fresh_gaps(rng, face))
        if face.arch != "flat"
        else None
    )


@change("an arch flatter or steeper, its crown where it was", "face.FACE.rise")
def other_rise(rng: Random, house: House, face: Face) -> House | None:
    return house.with_face(face, rise=face.rise + near(rng, 0, 2)) if face.arch == "segmental" else None


# The hearth


def _top_layer(face: Face, by: F) -> tuple[tuple[str, F], ...]:
    (name, thick), *rest = face.layers
    return ((name, thick + by), *rest)


def _bottom_layer(face: Face, by: F) -> tuple[tuple[str, F], ...]:
    *rest, (name, thick) = face.layers
    return (*rest, (name, thick + by))


THICKER = (
    "face.FACE.hearth.thickness face.FACE.hearth.above_floor",
    "face.FACE.hearth.thickness",
    "face.FACE.hearth.above_floor",
    "face.FACE.hearth.layers",
    "face.FACE.hearth.thickness face.FACE.opening_above_hearth",
)


@change("the hearth built up on top", *THICKER)
def built_up(rng: Random, house: House, face: Face) -> House:
    by = step(rng, 2)
    return house.with_face(face, hearth_top=face.hearth_top + by, layers=_top_layer(face, by))


@change("the hearth taken down on top", *THICKER)
def taken_down(rng: Random, house: House, face: Face) -> House | None:
    by = step(rng, F(3, 2))
    if face.layers[0][1] <= by or face.hearth_top - by < face.floor:
        return None
    return house.with_face(face, hearth_top=face.hearth_top - by, layers=_top_layer(face, -by))


@change("the hearth dug out and laid thicker downwards", *THICKER)
def dug_out(rng: Random, house: House, face: Face) -> House:
    return house.with_face(face, layers=_bottom_layer(face, step(rng, 2)))


@change(
    "the hearth laid anew at another height",
    "face.FACE.hearth.thickness face.FACE.hearth.above_floor",
    "face.FACE.hearth.above_floor",
)
def lifted(rng: Random, house: House, face: Face) -> House:
    return house.with_face(face, hearth_top=face.hearth_top + step(rng, 3) * rng.choice([1, -1]))


@change(
    "the floor of the room laid higher",
    "face.FACE.hearth.above_floor face.FACE.opening_above_hearth",
    "face.FACE.hearth.above_floor",
)
def room_floor(rng: Random, house: House, face: Face) -> House:
    return house.with_face(face, floor=face.floor + step(rng, 2))


@change("the hearth longer to the front", "face.FACE.hearth.front")
def longer(rng: Random, house: House, face: Face) -> House:
    return house.with_face(face, hearth_end=face.hearth_end + step(rng, 5))


@change("the hearth longer past the left", "face.FACE.hearth.left")
def past_left(rng: Random, house: House, face: Face) -> House:
    return house.with_face(face, hearth_left=face.hearth_left - step(rng, 5))


@change("the hearth longer past the right", "face.FACE.hearth.right")
def past_right(rng: Random, house: House, face: Face) -> House:
    return house.with_face(face, hearth_right=face.hearth_right + step(rng, 5))


@change("thicker facing over the edge of what hangs there", "face.FACE.hearth.facing")
def facing(rng: Random, house: House, face: Face) -> House:
    return house.with_face(face, facing=face.facing + step(rng, 2))


@change("thicker facing, and what hangs there comes out with it", "face.FACE.hearth.facing")
def facing_out(rng: Random, house: House, face: Face) -> House:
    by = step(rng, 2)
    for thing in house.things:
        if thing.face == face.name:
            house = house.with_thing(thing, front=thing.front + by)
    return house.with_face(face, facing=face.facing + by)


# The firebox, the throat and the smoke chamber


def _throat_deeper(rng: Random, house: House, by: F) -> House:
    depth = max(F(1), house.throat_depth + by)
    return replace(
        house, throat_depth=depth, damper_area=F(round(depth * house.throat_width) - rng.randint(0, 30))
    )


def _deeper(rebuilt: bool, throat_too: bool, deeper: bool = True) -> None:
    @change(
        f"{'deeper' if deeper else 'shallower'}, the back wall {'rebuilt behind' if rebuilt else 'keeps its outside'}"
        f"{', the throat with it' if throat_too else ''}",
        f"firebox.depth firebox.back_wall{' firebox.throat_depth' if throat_too else ''}",
        "firebox.depth",
        "firebox.depth firebox.back_wall",
        "firebox.back_wall",
    )
    def moved(rng: Random, house: House, face: Face) -> House | None:
        if house.two:
            return None
        by = step(rng, 3) * (1 if deeper else -1)
        new = replace(
            house, back=house.back + by, back_out=house.back_out + by if rebuilt else house.back_out
        )
        return _throat_deeper(rng, new, by) if throat_too else new


for _new, _up, _out in product((False, True), (False, True), (False, True)):
    _deeper(_new, _up, _out)


@change("deeper, the face of the back moved out", "firebox.depth", "firebox.depth face.terrace.hearth.front")
def plane_out(rng: Random, house: House, face: Face) -> House | None:
    if not house.two:
        return None
    by, back = step(rng, 3), house.faces[1]
    new = replace(house, back=house.back + by, back_out=house.back_out + by)
    for thing in house.things:
        if thing.face == back.name:
            new = new.with_thing(thing, front=thing.front - by)
    return new.with_face(back, hearth_end=back.hearth_end - by)


@change("the back wall thicker or thinner behind", "firebox.back_wall", "firebox.back_wall firebox.depth")
def back_wall(rng: Random, house: House, face: Face) -> House | None:
    by = step(rng, 3) * rng.choice([1, -1])
    return replace(house, back_out=house.back_out + by) if not house.two else None


@change("the side walls thicker or thinner outside", "firebox.wall")
def side_walls(rng: Random, house: House, face: Face) -> House:
    by = step(rng, 3) * rng.choice([1, -1])
    return replace(house, left=house.left - by, right=house.right + by)


def _throat(chamber_too: bool, new: bool) -> None:
    @change(
        f"the throat moved, {'the smoke chamber with it' if chamber_too else 'the flue begins where it did'}"
        f"{', built anew' if new else ''}",
        f"firebox.throat_height firebox.smoke_chamber_height{' firebox.throat_depth firebox.damper_area' if new else ''}",
        "firebox.throat_height",
        "firebox.throat_height firebox.throat_depth",
    )
    def moved(rng: Random, house: House, face: Face) -> House:
        by = step(rng, 5) * rng.choice([1, -1])
        up = replace(
            house, throat=house.throat + by, chamber_top=house.chamber_top + (by if chamber_too else 0)
        )
        return _throat_deeper(rng, up, near(rng, 0, 1)) if new else up


for _new, _up in product((False, True), (False, True)):
    _throat(_new, _up)


@change(
    "the throat wider and deeper",
    "firebox.throat_depth firebox.throat_width",
    "firebox.throat_depth",
    "firebox.throat_width",
)
def throat_size(rng: Random, house: House, face: Face) -> House:
    return _throat_deeper(
        rng, replace(house, throat_width=house.throat_width + near(rng, 0, 4)), near(rng, 0, 1)
    )


@change("the damper put on top of the flue", "firebox.damper firebox.damper_area", "firebox.damper")
def top_damper(rng: Random, house: House, face: Face) -> House:
    return replace(house, damper="top", damper_area=house.damper_area + rng.randint(-30, 30))


@change(
    "the smoke chamber rebuilt",
    "firebox.smoke_chamber_height firebox.smoke_chamber_slope firebox.smoke_chamber_wall firebox.smoke_chamber_form "
    "firebox.smoke_chamber_parged",
    "firebox.smoke_chamber_height",
    "firebox.smoke_chamber_form",
    "firebox.smoke_chamber_height firebox.smoke_chamber_wall",
)
def chamber(rng: Random, house: House, face: Face) -> House:
    by = step(rng, 5) * rng.choice([1, -1])
    other = "prefabricated" if house.form == "corbelled" else "corbelled"
    return replace(
        house,
        chamber_top=house.chamber_top + by,
        chamber_wall=near(rng, 8),
        form=other,
        parged=rng.choice(["yes", "no"]),
    )


# The flue and the chimney


@change("the chimney built higher or lower", "flue.height", "roof.main.above_penetration", "roof.main.above_highest",
        "flue.height roof.main.above_penetration", "roof.main.above_penetration roof.main.above_highest")  # fmt: skip
def higher(rng: Random, house: House, face: Face) -> House:
    by = step(rng, 12) * rng.choice([1, -1])
    return replace(house, top=house.top + by, flue_top=house.flue_top + by)


@change("a pot on the flue, the masonry as it was", "flue.height")
def pot(rng: Random, house: House, face: Face) -> House:
    return replace(house, flue_top=house.flue_top + step(rng, 18))


RELINED = (
    "flue.SIZE flue.lining flue.condition",
    "flue.SIZE",
    "flue.SIZE flue.lining",
    "flue.lining",
)


@change("relined smaller", *RELINED)
def relined(rng: Random, house: House, face: Face) -> House | None:
    most = min(house.flue.a, house.flue.b)
    fits = [name for name in ("8", "10", "12", "15") if int(name) < most]
    if not fits:
        return None
    told = rng.choice([("liner",), ("diameter",)])
    return replace(house, flue=liner(rng.choice(fits), told=told, lining="listed liner"))


def _rebuilt(cap: str) -> None:
    @change(
        f"the flue rebuilt larger, with {cap}",
        RELINED[0] + (" flue.cap_area flue.arrestor_area" if cap == "a new cap" else ""),
        *RELINED[:3],
    )
    def larger(rng: Random, house: House, face: Face) -> House | None:
        old = house.flue
        bigger = [
            f
            for name in ("13x13", "13x18", "16x16", "18x18", "20x20")
            if (f := liner(name)).a > old.a and f.b > old.b
        ]
        if not bigger:
            return None
        new: Flue = replace(rng.choice(bigger), told=rng.choice([("liner",), ("inside",)]))
        house = replace(
            house,
            flue=new,
            wide=house.wide + new.b - old.b,
            deep=house.deep + new.a - old.a,
            chamber_end=new.b,
        )
        if cap == "a new cap":
            area = 4 * round(new.a * new.b)
            house = replace(
                house, cap_area=F(area + rng.randint(-60, 60)), arrestor_area=F(area + rng.randint(-60, 60))
            )
        for one in house.roofs:
            house = house.with_roof(one, size_change=one.size_change + near(rng, 0, 8))
        return house


_rebuilt("the old cap")
_rebuilt("a new cap")


@change("the chimney's walls thicker outside", "roof.main.width_along_ridge")
def wider_chimney(rng: Random, house: House, face: Face) -> House:
    by = step(rng, 6)
    return replace(house, wide=house.wide + by, deep=house.deep + by)


# What stands near


def _near(house: House, face: Face, name: str) -> Thing:
    return {thing.name.rstrip("2"): thing for thing in house.things if thing.face == face.name}[name]


@change("the mantel moved up or down", "nearby.MANTEL.above")
def mantel(rng: Random, house: House, face: Face) -> House:
    thing = _near(house, face, "mantel")
    return house.with_thing(thing, bottom=thing.bottom + step(rng, 4) * rng.choice([1, -1]))


@change("the mantel cut back", "nearby.MANTEL.projection")
def cut_back(rng: Random, house: House, face: Face) -> House:
    return house.with_thing(_near(house, face, "mantel"), front=face.facing + near(rng, 1, F(1, 2)))


@change("the mantel taken away", "nearby.MANTEL.remove=true")
def mantel_gone(rng: Random, house: House, face: Face) -> House:
    thing = _near(house, face, "mantel")
    return replace(house, things=tuple(t for t in house.things if t is not thing))


@change("the studs moved", "nearby.stud.gap")
def studs(rng: Random, house: House, face: Face) -> House:
    stud = next(thing for thing in house.things if thing.name == "stud")
    return house.with_thing(stud, edge=house.right + near(rng, 2))


# The roofs


def _main(house: House) -> Roof:
    return house.roofs[0]


ABOVE = (
    "roof.main.above_penetration roof.main.above_highest",
    "roof.main.above_penetration",
    "roof.main.above_highest",
)


@change("the main roof raised or lowered", *ABOVE)
def roof_moved(rng: Random, house: House, face: Face) -> House:
    main = _main(house)
    return house.with_roof(
        main, ridge=main.ridge + step(rng, 12) * rng.choice([1, -1]), cricket=main.cricket + near(rng, 0, 1)
    )


def _pitch(eaves: bool) -> None:
    @change(
        f"the main roof's pitch changed, its {'eaves' if eaves else 'ridge'} as it was",
        "roof.main.pitch roof.main.above_penetration roof.main.above_highest",
        "roof.main.pitch",
        "roof.main.pitch roof.main.above_penetration",
        "roof.main.pitch roof.main.above_highest",
    )
    def changed(rng: Random, house: House, face: Face) -> House:
        main = _main(house)
        pitch = F(rng.choice([n for n in (3, 4, 6, 8, 12) if F(n, 12) != main.pitch]), 12)
        up = 100 * (pitch - main.pitch) if eaves else F(0)
        cricket = house.wide * pitch / 2 + near(rng, 0, 1) if pitch > F(1, 4) else F(4)
        return house.with_roof(main, pitch=pitch, ridge=main.ridge + up, cricket=cricket)


_pitch(True)
_pitch(False)


@change(
    "the main roof's ridge moved nearer or farther at its height",
    "roof.main.distance roof.main.above_penetration",
    "roof.main.distance",
)
def ridge_moved(rng: Random, house: House, face: Face) -> House:
    main = _main(house)
    return house.with_roof(main, away=max(F(0), main.away + step(rng, 12) * rng.choice([1, -1])))


@change("the main roof's framing cut back", "roof.main.framing_gap")
def framing(rng: Random, house: House, face: Face) -> House:
    return house.with_roof(_main(house), trimmed=house.wide / 2 + near(rng, 2))


@change(
    "a roof built round the chimney",
    "roof.porch",
    "roof.porch.passes_through roof.porch.above_penetration",
    "roof.porch.passes_through",
)
def roof_added(rng: Random, house: House, face: Face) -> House:
    return replace(house, roofs=(*house.roofs, roof(rng, house, "porch", passes=True)))


@change("the wing's roof taken away", "roof.wing.remove=true")
def roof_gone(rng: Random, house: House, face: Face) -> House | None:
    return replace(house, roofs=house.roofs[:1]) if len(house.roofs) > 1 else None


# Faces

CUT = (
    "firebox.depth firebox.back_wall firebox.throat_height firebox.throat_depth firebox.throat_width firebox.damper firebox.damper_area "
    "firebox.damper_works firebox.smoke_chamber_height firebox.smoke_chamber_wall firebox.smoke_chamber_form firebox.smoke_chamber_slope "
    "firebox.smoke_chamber_parged"
)


@change(
    "the back cut open",
    f"face.terrace firebox.wall {CUT} nearby.sill.remove=true",
    "face.terrace nearby.sill.remove=true",
    "face.terrace",
    "face.terrace.side face.terrace.width face.terrace.height",
    "face.terrace.side",
)
def back_open(rng: Random, house: House, face: Face) -> House | None:
    if house.two:
        return None
    back = opening(rng, "terrace", "back", house.floor, F(-2), (-house.right, -house.left))
    depth = near(rng, 22, 2)
    throat = max(face.top, back.top) + near(rng, 8)
    new = replace(
        house, faces=(*house.faces, back), back=depth, back_out=depth, beside_back=near(rng, 8), throat=throat,
        throat_width=near(rng, 30, 3),
        chamber_top=throat + near(rng, 30, 3), things=tuple(t for t in house.things if t.name != "sill"), chamber_wall=near(rng, 8),
        parged=rng.choice(["yes", "no"]), form=rng.choice(["sloped", "corbelled"]),
    )  # fmt: skip
    return _throat_deeper(rng, new, near(rng, 0, 1))


@change(
    "the back closed up",
    f"face.terrace.remove=true {CUT}",
    "face.terrace.remove=true",
    "face.terrace.remove=true firebox.back_wall",
)
def back_closed(rng: Random, house: House, face: Face) -> House | None:
    if not house.two:
        return None
    wall = near(rng, 8)
    things = tuple(thing for thing in house.things if thing.face != "terrace")
    new = replace(house, faces=house.faces[:1], back=house.back - wall, back_out=house.back, things=things)
    return _throat_deeper(rng, new, near(rng, 0, 1))


# From a house and a change to a document


@dataclass(frozen=True)
class Stated:
    """One change of one house, in one person's words. before: the found document.  plan: its planned part.  after: the house as changed."""

    change: str
    way: Way
    before: Document
    plan: Document
    after: Document

    @property
    def job(self) -> Document:
        return {**self.before, "planned": self.plan}


def state(house: House, *names: str, seed: int, way: int | None = None) -> Stated | None:
    """A house changed by one or more changes, and one way of stating each: the way of that number, else any.

    None where it cannot be: the house has no such part, no tape reads it, one entry is told twice, or what is told changes nothing.
    """
    rng = Random(f"{seed} {names}")
    face = rng.choice(house.faces).name
    mantel = next(thing.name for thing in house.things if thing.face == face and thing.what == "mantel")
    new: House | None = house
    told: list[str] = []
    try:
        for name in names:
            one = CHANGES[name]
            new = new and one.work(rng, new, new.face(face))
            told += one.ways[rng.randrange(len(one.ways)) if way is None else way]
        if new is None:
            return None
        words = {"FACE": face, "MANTEL": mantel, "SIZE": new.flue.told[0]}
        way_told = tuple(
            re.sub("FACE|MANTEL|SIZE", lambda found: words[found[0]], address) for address in told
        )
        before = measure(house)
        # What is planned is exact, and so is this tape: the one that reads what was found has its tolerance.
        after = measure(replace(new, measured=False))
        plan = planned(way_told, after)
    except (ValueError, KeyError):
        return None
    entries = [address.partition("=")[0] for address in way_told]
    if len(set(entries)) < len(entries) or not differs(before, plan):
        return None
    return Stated(" and ".join(names), way_told, before, plan, after)


def differs(before: Any, plan: Any) -> bool:
    """Does a planned part tell of anything that was not found so."""
    if isinstance(plan, dict):
        return not isinstance(before, dict) or any(
            key not in before or differs(before[key], plan[key]) for key in plan
        )
    if isinstance(plan, list) and plan and isinstance(plan[0], dict) and "name" in plan[0]:
        found = {thing["name"]: thing for thing in before}
        return any(thing["name"] not in found or differs(found[thing["name"]], thing) for thing in plan)
    return bool(before != plan)


def planned(told: Way, after: Document) -> Document:
    """The planned part of a document that states these addresses, with what a tape reads after the work."""
    plan: Document = {}
    for address in told:
        address, _, word = address.partition("=")
        if word and not _known(address):
            continue
        parts = address.split(".")
        source: Any = after
        target: Any = plan
        for depth, part in enumerate(parts[:-1]):
            if depth == 1 and parts[0] in ("face", "nearby", "roof"):
                source = None if word else _named(source, part)
                target = _entered(target, part)
            else:
                source = None if source is None else source[part]
                target = target.setdefault(
                    part, [] if depth == 0 and part in ("face", "nearby", "roof") else {}
                )
        if parts[0] in ("face", "nearby", "roof") and len(parts) == 2:
            _entered(target, parts[1]).update(deepcopy(_named(source, parts[1])))
        else:
            target[parts[-1]] = {"true": True}.get(word, word) if word else deepcopy(source[parts[-1]])
    return plan


def _known(address: str) -> bool:
    try:
        spec_of(f"planned.{address}")
    except EntryError:
        return False
    return True


def _named(things: Any, name: str) -> Any:
    found = [thing for thing in things if thing["name"] == name]
    if not found:
        raise KeyError(name)
    return found[0]


def _entered(things: list[Document], name: str) -> Document:
    here = next((thing for thing in things if thing["name"] == name), None)
    if here is None:
        here = {"name": name}
        things.append(here)
    return here
