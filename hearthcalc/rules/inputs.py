"""What the models of heat and steel are given of a case: the entries that each needs, as plain numbers, and what is missing of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import Any, TypeVar

from hearthcalc.job import Amount, Face, Nearby
from hearthcalc.models import heat, lintel
from hearthcalc.models.results import Floor, Lacking, Lintel, Models, Profile, Shelf
from hearthcalc.rules.case import Case, NotKnown, Path, of
from hearthcalc.rules.clearances import burns
from hearthcalc.rules.doors import DOORS
from hearthcalc.rules.openings import entries, opening_area
from hearthcalc.rules.reading import Reading

METRE = float(heat.METRE)  # of an inch
OTHERS_DECIDE = ("smoke chamber", "stack", "unknown")  # what rests on a lintel that is no plain wall

SHUTS = (*DOORS, "fixed glass")

T = TypeVar("T")


class NotInTable(NotKnown):
    """A layer names a material that the table does not hold. near: names like it."""

    def __init__(self, address: str, name: str, near: list[str]) -> None:
        super().__init__([address])
        self.name = name
        self.near = near


# Heat


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a hearth as measured, the top one first."""

    material: heat.Material
    thickness: Reading


def layers_of(case: Case, face: Face) -> list[Layer]:
    """The layers of a face's hearth, from the top down. Raises NotKnown, NotInTable."""
    mine = (*of(face), "hearth", "layers")
    if not face.hearth.layers:
        raise NotKnown([case.address(*mine)])
    known = heat.materials(case.edition)
    missing, layers = [], []
    for number, layer in enumerate(face.hearth.layers, 1):
        place = (*mine, str(number))
        missing += [
            case.address(*place, key) for key in ("material", "thickness") if getattr(layer, key) is None
        ]
        if layer.material is not None and layer.material not in known:
            near = get_close_matches(layer.material, known, n=3, cutoff=0.4)
            raise NotInTable(case.address(*place, "material"), layer.material, near)
        if layer.material is not None and layer.thickness is not None:
            layers.append(Layer(known[layer.material], case.reading(layer.thickness)))
    if missing:
        raise NotKnown(missing)
    return layers


def resistances(case: Case, face: Face) -> tuple[Fraction | None, ...]:
    """R of each layer of a face's hearth, m2.K/W, from the top down; None of one that is not known."""
    known = heat.materials(case.edition)
    return tuple(
        heat.resistance_of(case.edition, known[layer.material], layer.thickness.value)
        if layer.thickness is not None and layer.material is not None and layer.material in known
        else None
        for layer in face.hearth.layers or ()
    )


def _radiates(case: Case, face: Face) -> list[Path]:
    """The entries that the radiation onto a face's surroundings needs."""
    return [*(path for one in case.job.face for path in entries(one)), (*of(face), "opens_to")]


def heat_inputs(case: Case, face: Face) -> heat.Inputs:
    """What the heat model needs of a face. Raises NotKnown."""
    case.require(*_radiates(case, face))
    width, opens = case.need(of(face), "width", "opens_to")
    areas = {one.name: float(opening_area(case, one).value) * METRE**2 for one in case.job.face}
    return heat.Inputs(
        width=float(width.value) * METRE,
        area=areas[face.name],
        opens_to=opens,
        largest=max(areas.values()),
        fire=case.job.fire.size,
        power=number_in(case.job.fire.power),
        indoor=number_in(case.job.site.indoor),
        outdoor=number_in(case.job.site.outdoor),
        with_it=1 + sum(one.closure not in SHUTS for one in case.job.face if one is not face),
    )


def profile(case: Case, face: Face) -> Profile:
    """How warm the layers of a face's hearth get. Raises NotKnown, NotInTable."""
    mine = of(face)
    paths = [*_radiates(case, face), (*mine, "opening_above_hearth"), (*mine, "hearth", "below")]
    missing = [case.address(*path) for path in paths if case.raw(path) is None]
    try:
        layers = layers_of(case, face)
    except NotInTable:
        raise
    except NotKnown as lacking:
        raise NotKnown(list(dict.fromkeys((*missing, *lacking.missing)))) from None
    if missing:
        raise NotKnown(missing)
    below, raised = case.need(mine, "hearth.below", "opening_above_hearth")
    return heat.profile(
        heat_inputs(case, face),
        [heat.Layer(layer.material, layer.thickness.value) for layer in layers],
        below=below,
        raised=float(raised.value) * METRE,
        edition=case.edition,
    )


def floor(case: Case, face: Face) -> Floor:
    """How far the bare floor before a face gets too warm. Raises NotKnown."""
    names = ("opening_above_hearth", "hearth.above_floor", "hearth.below")
    case.require(*_radiates(case, face), *((*of(face), *name.split(".")) for name in names))
    raised, over, below = case.need(of(face), *names)
    foot = float(raised.value + over.value) * METRE
    return heat.floor(heat_inputs(case, face), below=below, foot=foot, edition=case.edition)


def is_wood_shelf(thing: Nearby) -> bool:
    """Whether a thing is a mantel of wood over an opening, and not one that hangs beside it."""
    beside_alone = thing.above is None and thing.beside is not None
    return thing.what == "mantel" and bool(thing.face) and burns(thing) and not beside_alone


def shelf(case: Case, thing: Nearby) -> Shelf | None:
    """How warm the underside of a wood shelf over an opening gets; None of one that does not stand out. Raises NotKnown."""
    face = case.face(thing.face or "")
    case.require(*_radiates(case, face), (*of(thing), "above"), (*of(thing), "projection"))
    above, out = case.need(of(thing), "above", "projection")
    if not out.value:
        return None
    beside = case.want(of(thing), "beside")
    return heat.shelf(
        heat_inputs(case, face),
        above=float(above.value) * METRE,
        out=float(out.value) * METRE,
        beside=float(beside.value) * METRE if beside and beside.value else None,
        edition=case.edition,
    )


def number_in(amount: Amount | None, unit: float = 1.0) -> float | None:
    """An entry as a number, times what one of its unit is; None where it is not known."""
    return None if amount is None else float(amount.value) * unit


# Steel


def is_an_arch(face: Face) -> bool:
    """A masonry arch, and no lintel entered with it."""
    return face.arch in ("segmental", "semicircular") and not face.lintel.document()


def lintel_result(case: Case, face: Face) -> Lintel:
    """What comes on the steel over a face, and what carries it. Raises NotKnown."""
    mine = of(face)
    names = ["above", "span", "wall_thickness", "wall_height", "wall_weight", "other_load"]
    if face.lintel.above == "unknown":
        names.remove("above")
    case.require(*((*mine, "lintel", name) for name in names))
    span, thick, height, weight, other = case.need(mine, *(f"lintel.{name}" for name in names[-5:]))
    spans, heights = ((r.value, r.low, r.high) for r in (span, height))
    beside = face.lintel.sound_beside
    if beside is None and lintel.could_arch(spans, heights, case.edition):
        raise NotKnown([case.address(*mine, "lintel", "sound_beside")])
    rests = case.want(mine, "lintel.bearing")
    inputs = lintel.Inputs(
        spans=spans,
        heights=heights,
        thickness=thick.value,
        weight=weight.value,
        other=other.value,
        beside=beside is True,
        angle=face.lintel.angle,
        bearing=rests.value if rests else None,
    )
    return lintel.lintel(inputs, case.edition)


# All of them


def models_of(case: Case) -> Models:
    """What the models of heat and steel say of a stage."""
    faces, things = case.job.face, [thing for thing in case.job.nearby if is_wood_shelf(thing)]
    return Models(
        hearths=_each(faces, lambda face: profile(case, face)),
        floors=_each(faces, lambda face: floor(case, face)),
        shelves=_each(things, lambda thing: shelf(case, thing)),
        lintels=_each(
            [face for face in faces if not is_an_arch(face)], lambda face: lintel_result(case, face)
        ),
    )


def _each(things: Iterable[Any], make: Callable[[Any], T | None]) -> dict[str, T | Lacking]:
    """A result for each thing by its name, or what keeps it from one."""
    found: dict[str, T | Lacking] = {}
    for thing in things:
        try:
            made = make(thing)
        except NotInTable as lacking:
            found[thing.name] = Lacking(lacking.missing, lacking.name)
        except NotKnown as lacking:
            found[thing.name] = Lacking(lacking.missing)
        else:
            if made is not None:
                found[thing.name] = made
    return found


def known(made: T | Lacking | None) -> T:
    """A result that a model has; raises NotKnown with what it lacks."""
    if made is None or isinstance(made, Lacking):
        raise NotKnown(made.missing if made else ())
    return made


Fraction  # noqa: B018
