"""Changes of a house as they happen, each with the entries by which a person states it.

A change gives the house as it then stands, and the addresses that are planned over what was found: their values are what the tape
reads on the finished house. Some are stated with fewer entries than they take: then an answer may be missing, but not wrong.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from typing import Any

from house import Document, Face, House, Roof, Thing, liner, measure, near, roof

F = Fraction


@dataclass(frozen=True)
class Change:
    """house: as it stands after.  stated: addresses planned.  also: planned entries that only a plan has."""

    name: str
    house: House
    stated: tuple[str, ...]
    also: tuple[tuple[str, Any], ...] = ()


def changes(rng: Random, house: House) -> Iterator[Change]:
    """Every change of one house, and some pairs of them."""
    every = [change for make in MAKERS for change in make(rng, house)]
    yield from every
    for _ in range(6):
        first = rng.choice(every)
        for second in rng.sample([c for make in MAKERS for c in make(rng, first.house)], 3):
            if not set(dict(first.also)) & set(dict(second.also)):
                name = f"{first.name}, then {second.name}"
                stated = tuple(dict.fromkeys((*first.stated, *second.stated)))
                yield Change(name, second.house, stated, (*first.also, *second.also))


def planned(change: Change) -> Document:
    """The planned part of the job: the stated entries as they read on the finished house."""
    after = measure(change.house)
    plan: Document = {}
    for address in change.stated:
        _put(plan, address, _get(after, address))
    for address, value in change.also:
        _put(plan, address, value)
    return plan


def _get(document: Document, address: str) -> Any:
    value: Any = document
    for part in address.split("."):
        value = next(t for t in value if t["name"] == part) if isinstance(value, list) else value[part]
    return value


def _put(document: Document, address: str, value: Any) -> None:
    table, *rest = address.split(".")
    here: Any = document
    if table in ("face", "nearby", "roof"):
        name = rest.pop(0)
        things = document.setdefault(table, [])
        here = next((t for t in things if t["name"] == name), None)
        if here is None:
            things.append(here := {"name": name})
        if not rest:
            here.update(value)
            return
    else:
        here = document.setdefault(table, {})
    for part in rest[:-1]:
        here = here.setdefault(part, {})
    here[rest[-1]] = value


# Openings


def some(rng: Random, least: int = 1, most: int = 12) -> F:
    return F(rng.randint(least * 16, most * 16), 16)


def relintel(rng: Random, face: Face, left: F, right: F) -> dict[str, Any]:
    """Another lintel over a new width, of any bearing, in whatever masonry is there."""
    bearing = near(rng, 3, 2)
    lintel = replace(face.lintel, left=left - bearing, right=right + bearing)
    return {"left": left, "right": right, "inside_left": left, "inside_right": right, "lintel": lintel}


def width(rng: Random, house: House) -> Iterator[Change]:
    for face in house.faces:
        for by in (some(rng, 1, 6), -some(rng, 1, 4)):
            for jamb, (left, right) in {
                "left": (by, F(0)),
                "right": (F(0), by),
                "both": (by / 2, by / 2),
            }.items():
                moved = relintel(rng, face, face.left - left, face.right + right)
                arch = {"rise": moved["right"] / 2 - moved["left"] / 2} if face.arch == "semicircular" else {}
                after = house.with_face(face, **moved, **arch)
                key = f"face.{face.name}"
                yield Change(
                    f"{key} {by} wider {jamb}", after, (f"{key}.width",), ((f"{key}.jamb_moved", jamb),)
                )
                yield Change(f"{key} {by} wider {jamb}, jamb not said", after, (f"{key}.width",))


def height(rng: Random, house: House) -> Iterator[Change]:
    for face in house.faces:
        for by in (some(rng, 1, 8), -some(rng, 1, 8)):
            after = house.with_face(face, top=face.top + by)
            key = f"face.{face.name}"
            yield Change(f"{key} lintel {by} up", after, (f"{key}.height", f"{key}.opening_above_hearth"))
            yield Change(f"{key} lintel {by} up, only the height said", after, (f"{key}.height",))


def floor(rng: Random, house: House) -> Iterator[Change]:
    lowest = max(face.hearth_top for face in house.faces)
    for by in (some(rng, 1, 8), -min(some(rng, 1, 8), house.floor - lowest)):
        if by:
            after = replace(house, floor=house.floor + by)
            first, *_ = (f"face.{face.name}" for face in house.faces)
            said = f"{first}.opening_above_hearth"
            yield Change(f"firebox floor {by} up", after, (said,))
            yield Change(f"firebox floor {by} up, with the height", after, (said, f"{first}.height"))
            yield Change(f"firebox floor {by} up, only the height said", after, (f"{first}.height",))


def arch(rng: Random, house: House) -> Iterator[Change]:
    for face in house.faces:
        key = f"face.{face.name}"
        if face.arch == "flat":
            after = house.with_face(face, arch="segmental", rise=near(rng, 4))
            yield Change(f"{key} arched", after, (f"{key}.arch", f"{key}.rise"))
            yield Change(f"{key} arched, rise not said", after, (f"{key}.arch",))
        elif face.arch == "segmental":
            yield Change(f"{key} flat", house.with_face(face, arch="flat", rise=F(0)), (f"{key}.arch",))


# Hearths


def hearth(rng: Random, house: House) -> Iterator[Change]:
    for face in house.faces:
        key, by = f"face.{face.name}.hearth", some(rng, 1, 6)
        up = min(some(rng, 1, 3), house.floor - face.hearth_top)
        if up:
            layers = (("brick_fired_clay_1920", up), *face.layers)
            after = house.with_face(face, layers=layers, hearth_top=face.hearth_top + up)
            yield Change(f"{key} built up {up}", after, (f"{key}.thickness", f"{key}.above_floor"))
            yield Change(f"{key} built up {up}, only thickness said", after, (f"{key}.thickness",))
            yield Change(f"{key} built up {up}, only the top said", after, (f"{key}.above_floor",))
        deeper = house.with_face(face, layers=(*face.layers, ("mortar_cement_lime_1920", by)), below="wood")
        yield Change(f"{key} dug {by}", deeper, (f"{key}.thickness", f"{key}.above_floor"))
        yield Change(f"{key} dug {by}, only thickness said", deeper, (f"{key}.thickness",))
        thin = (("brick_fired_clay_1920", F(1, 2)),)
        for name, over in {
            "front": {"hearth_end": face.hearth_end + by},
            "left": {"hearth_left": face.hearth_left - by},
            "right": {"hearth_right": face.hearth_right + by},
        }.items():
            longer = house.with_face(face, **over, below="wood", layers=thin, hearth_top=face.hearth_top)
            yield Change(f"{key} {by} further {name}", longer, (f"{key}.{name}",))
        shorter = house.with_face(face, hearth_end=max(F(0), face.hearth_end - by))
        yield Change(f"{key} {by} shorter", shorter, (f"{key}.front",))
        yield Change(f"{key} facing {by}", house.with_face(face, facing=face.facing + by), (f"{key}.facing",))


# Firebox, throat and chamber


def depth(rng: Random, house: House) -> Iterator[Change]:
    for by in (some(rng, 1, 5), -some(rng, 1, 5)):
        if house.two:
            front, back = house.faces
            for face in (front, back):
                moved = replace(house, back=house.back + by, back_out=house.back + by)
                after = moved.with_face(face, hearth_end=face.hearth_end - by)
                yield Change(f"{by} deeper towards {face.name}", after, ("firebox.depth",))
            continue
        into = replace(house, back=house.back + by)
        out = replace(house, back=house.back + by, back_out=house.back_out + by)
        for name, after in (("into the back", into), ("back rebuilt", out)):
            yield Change(f"{by} deeper, {name}", after, ("firebox.depth", "firebox.back_wall"))
            yield Change(f"{by} deeper, {name}, wall not said", after, ("firebox.depth",))
        yield Change(f"{by} deeper into the back, only the wall said", into, ("firebox.back_wall",))


def throat(rng: Random, house: House) -> Iterator[Change]:
    for by in (some(rng, 1, 6), -some(rng, 1, 6)):
        moved = replace(house, throat=house.throat + by, throat_depth=house.throat_depth + near(rng, 0))
        yield Change(f"throat {by} up", moved, ("firebox.throat_height",))
        taller = replace(house, chamber_top=house.chamber_top + by, chamber_wall=near(rng, 8), parged="no")
        yield Change(f"chamber {by} taller", taller, ("firebox.smoke_chamber_height",))
    thicker = replace(house, left=house.left - 2, right=house.right + 2)
    yield Change("side walls 2 thicker outside", thicker, ("firebox.wall",))


# Flue and roofs


def chimney(rng: Random, house: House) -> Iterator[Change]:
    for by in (some(rng, 12, 60), -some(rng, 6, 60)):
        after = replace(house, top=house.top + by, flue_top=house.flue_top + by)
        yield Change(f"chimney {by} up", after, ("flue.height",))
        if house.roofs[0].passes:
            key = f"roof.{house.roofs[0].name}"
            yield Change(f"chimney {by} up, told at a roof", after, (f"{key}.above_penetration",))
            yield Change(f"chimney {by} up, told at both", after, (f"{key}.above_penetration", "flue.height"))


def reline(rng: Random, house: House) -> Iterator[Change]:
    for name in ("8.5x13", "8", "18x18", "20x20"):
        flue = liner(name, condition=rng.choice(["sound", "cracked"]), lining=rng.choice(["clay", "unlined"]))
        grown = max(F(0), flue.b - house.flue.b)
        after = replace(house, flue=flue, wide=house.wide + grown, deep=house.deep + grown)
        yield Change(f"flue {name}", after, ("flue.liner",))


def roofs(rng: Random, house: House) -> Iterator[Change]:
    one = house.roofs[0]
    key, names = f"roof.{one.name}", ["above_highest", *(["above_penetration"] if one.passes else [])]
    for by in (some(rng, 6, 40), -some(rng, 6, 40)):
        after = house.with_roof(one, ridge=one.ridge + by)
        stated = tuple(f"{key}.{name}" for name in names)
        yield Change(f"{key} {by} up", after, (*stated, "flue.height"))
        yield Change(f"{key} {by} up, flue not said", after, stated)
        yield Change(f"{key} {by} up, one height said", after, stated[:1])
    steeper = house.with_roof(one, pitch=F(rng.choice([2, 5, 10]), 12))
    yield Change(f"{key} pitched anew", steeper, (f"{key}.pitch",))
    yield Change(
        f"{key} pitched anew, heights said", steeper, (*(f"{key}.{n}" for n in names), f"{key}.pitch")
    )
    new: Roof = roof(rng, house, "porch", passes=False)
    yield Change("roof added", replace(house, roofs=(*house.roofs, new)), ("roof.porch",))


# Things near the fire


def things(rng: Random, house: House) -> Iterator[Change]:
    thing: Thing = house.things[0]
    key = f"nearby.{thing.name}"
    for by in (some(rng), -some(rng, 1, 4)):
        yield Change(f"{key} {by} up", house.with_thing(thing, bottom=thing.bottom + by), (f"{key}.above",))
        out = house.with_thing(thing, front=max(F(0), thing.front + by))
        yield Change(f"{key} {by} out", out, (f"{key}.projection",))
    new = Thing(
        "shelf",
        "mantel",
        face=thing.face,
        left=thing.left,
        right=thing.right,
        bottom=thing.bottom + 1,
        front=F(2),
    )
    yield Change("a shelf is hung", replace(house, things=(*house.things, new)), ("nearby.shelf",))


MAKERS: tuple[Callable[[Random, House], Iterator[Change]], ...] = (
    width, height, floor, arch, hearth, depth, throat, chimney, reline, roofs, things,
)  # fmt: skip
