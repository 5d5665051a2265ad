"""What the models of heat and steel are given of a case: the entries that each needs, as plain numbers, and what is missing of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from difflib import get_close_matches
from fractions import Fraction
from typing import Any, TypeVar

from msgspec import Struct

from hearthcalc.many import floats_of
from hearthcalc.models import heat, lintel
from hearthcalc.models.results import Floor, Lacking, Lintel, Models, Profile, Shelf
from hearthcalc.rules.case import Case, NotKnown, Shared, Subject, Whose, of
from hearthcalc.rules.clearances import burns
from hearthcalc.rules.doors import DOORS
from hearthcalc.rules.openings import openings
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


class Layer(Struct, frozen=True):
    """One layer of a hearth as measured, the top one first."""

    material: heat.Material
    thickness: Reading


def layers_of(case: Case, face: Subject) -> list[Layer]:
    """The layers of a face's hearth, from the top down. Raises NotKnown, NotInTable."""
    listed = case.listed(face, "hearth.layers")
    if not listed.known:
        case.wants(face, "hearth.layers")
        case.all_known()
    known = heat.materials(case.edition)
    missing, layers = [], []
    for number, layer in enumerate(listed.value, 1):
        place = (*of(face), "hearth", "layers", str(number))
        missing += [
            case.address(*place, key) for key in ("material", "thickness") if getattr(layer, key) is None
        ]
        if layer.material is not None and layer.material not in known:
            near = get_close_matches(layer.material, known, n=3, cutoff=0.4)
            raise NotInTable(case.address(*place, "material"), layer.material, near)
        if layer.material is not None and layer.thickness is not None:
            layers.append(Layer(known[layer.material], case.reading(layer.thickness)))
    case.asked.missing |= dict.fromkeys(missing)
    if missing:
        case.all_known()
    return layers


def resistances(case: Case, face: Subject) -> tuple[Fraction | None, ...]:
    """R of each layer of a face's hearth, m2.K/W, from the top down; None of one that is not known."""
    known = heat.materials(case.edition)
    return tuple(
        heat.resistance_of(case.edition, known[layer.material], layer.thickness.value)
        if layer.thickness is not None and layer.material is not None and layer.material in known
        else None
        for layer in case.peek(face, "hearth.layers") or ()
    )


def heat_inputs(case: Case, face: Subject) -> heat.Inputs:
    """What the heat model needs of a face. Raises NotKnown."""
    opens = case.word(face, "opens_to")
    made = dict(zip((one.name for one in case.faces), openings(case, case.faces), strict=True))
    areas = {name: float(one.area.value) * METRE**2 for name, one in made.items()}
    return heat.Inputs(
        width=float(made[face.name].width.value) * METRE,
        area=areas[face.name],
        opens_to=opens.value,
        largest=max(areas.values()),
        fire=case.word("fire", "size", needed=False).known,
        power=optional(case, "fire", "power"),
        indoor=optional(case, "site", "indoor"),
        outdoor=optional(case, "site", "outdoor"),
        with_it=1
        + sum(
            case.word(one, "closure", needed=False).known not in SHUTS for one in case.faces if one != face
        ),
    )


def profile(case: Case, face: Subject) -> Profile:
    """How warm the layers of a face's hearth get. Raises NotKnown, NotInTable."""
    raised, below = case.number(face, "opening_above_hearth"), case.word(face, "hearth.below")
    with suppress(NotKnown):  # what it lacks is named below, with what the layers lack
        heat_inputs(case, face)
    layers = layers_of(case, face)
    case.all_known()
    return heat.profile(
        heat_inputs(case, face),
        [heat.Layer(layer.material, layer.thickness.value) for layer in layers],
        below=below.value,
        raised=float(raised.value.value) * METRE,
        edition=case.edition,
    )


def floor(case: Case, face: Subject) -> Floor:
    """How far the bare floor before a face gets too warm. Raises NotKnown."""
    raised, over = case.number(face, "opening_above_hearth"), case.number(face, "hearth.above_floor")
    below = case.word(face, "hearth.below")
    inputs = heat_inputs(case, face)
    foot = float((raised.value + over.value).value) * METRE
    return heat.floor(inputs, below=below.value, foot=foot, edition=case.edition)


def is_wood_shelf(case: Case, thing: Subject) -> bool:
    """Whether a thing is a mantel of wood over an opening, and not one that hangs beside it."""
    mine = case.fresh()
    what, face = (mine.word(thing, name).known for name in ("what", "face"))
    above, beside = (mine.number(thing, name).known for name in ("above", "beside"))
    beside_alone = above is None and beside is not None
    return what == "mantel" and bool(face) and burns(mine, thing) and not beside_alone


def shelf(case: Case, thing: Subject) -> Shelf | None:
    """How warm the underside of a wood shelf over an opening gets; None of one that does not stand out. Raises NotKnown."""
    face = case.face(case.word(thing, "face").value)
    over, stands = case.number(thing, "above"), case.number(thing, "projection")
    inputs = heat_inputs(case, face)
    above, out = over.value, stands.value
    if not out.value:
        return None
    beside = optional(case, thing, "beside", METRE)
    return heat.shelf(
        inputs,
        above=float(above.value) * METRE,
        out=float(out.value) * METRE,
        beside=beside or None,
        edition=case.edition,
    )


def optional(case: Case, whose: Whose, name: str, unit: float = 1.0) -> float | None:
    """An entry as a number, times what one of its unit is; None where it is not known, which the model has an answer for."""
    known = case.number(whose, name, needed=False).known
    return None if known is None else floats_of(known.value) * unit


# Steel


def is_an_arch(case: Case, face: Subject) -> bool:
    """A masonry arch, and no lintel entered with it."""
    return case.peek(face, "arch") in ("segmental", "semicircular") and not case.says(face, "lintel")


def lintel_result(case: Case, face: Subject) -> Lintel:
    """What comes on the steel over a face, and what carries it. Raises NotKnown."""
    case.word(face, "lintel.above", needed=case.peek(face, "lintel.above") != "unknown")
    names = ("span", "wall_thickness", "wall_height", "wall_weight", "other_load")
    ask = [case.number(face, f"lintel.{name}") for name in names]
    case.all_known()
    span, thick, height, weight, other = (entry.value for entry in ask)
    spans, heights = ((r.value, r.low, r.high) for r in (span, height))
    could_arch = lintel.could_arch(spans, heights, case.edition)
    beside = case.flag(face, "lintel.sound_beside", needed=could_arch)
    case.all_known()
    rests = case.number(face, "lintel.bearing").known
    inputs = lintel.Inputs(
        spans=spans,
        heights=heights,
        thickness=thick.value,
        weight=weight.value,
        other=other.value,
        beside=beside.known is True,
        angle=case.word(face, "lintel.angle").known,
        bearing=rests.value if rests else None,
    )
    return lintel.lintel(inputs, case.edition)


# All of them


def models_of(case: Case) -> Models:
    """What the models of heat and steel say of a stage."""
    faces, things = case.faces, [thing for thing in case.things if is_wood_shelf(case, thing)]
    return Models(
        hearths=_each(case, "hearths", faces, profile),
        floors=_each(case, "floors", faces, floor),
        shelves=_each(case, "shelves", things, shelf),
        lintels=_each(case, "lintels", [face for face in faces if not is_an_arch(case, face)], lintel_result),
    )


def _each(
    case: Case, kind: str, things: Iterable[Any], make: Callable[[Case, Any], T | None]
) -> dict[str, T | Lacking]:
    """A result for each thing by its name, or what keeps it from one; what was asked for it is kept among what rules share."""
    found: dict[str, T | Lacking] = {}
    for thing in things:
        mine = case.fresh()
        case.shared[kind, thing.name] = Shared(None, None, mine.asked)
        try:
            made = make(mine, thing)
        except NotInTable as lacking:
            found[thing.name] = Lacking(lacking.missing, lacking.name)
        except NotKnown as lacking:
            found[thing.name] = Lacking(lacking.missing)
        else:
            if made is not None:
                found[thing.name] = made
    return found


def known(case: Case, kind: str, name: str, made: T | Lacking | None) -> T:
    """A result that a model has, on whose entries the rule then rests; raises NotKnown with what it lacks."""
    case.rests_on((kind, name))
    if made is None or isinstance(made, Lacking):
        raise NotKnown(made.missing if made else ())
    return made
