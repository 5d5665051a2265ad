"""Which entries a job needs: those that its questions rest on, and of those the ones that apply to what it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from types import MappingProxyType

from hearthcalc.asked import asked_of
from hearthcalc.job import Face, Job, Nearby, Roof
from hearthcalc.rules.doors import DOORS, FIXED

FLUE_SIZE = ("flue", "draft", "firebox", "chimney")
THROAT = ("firebox", "draft")

# The questions that an entry is needed for, by its key or the beginning of it; () where it always is.
_FOR: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "fireplace.pattern": THROAT,
    "use": ("flue", "hearth", "draft", "firebox"),
    "face.opens_to": ("hearth", "clearances", "draft"),
    "face.closure": ("flue", "draft"),
    "face.gap_area": ("flue", "draft"),
    "face.burning_closed": ("flue", "draft"),
    "face.opening_above_hearth": ("hearth", "clearances", "draft"),
    "face.hearth": ("hearth",),
    "face.lintel": ("steel",),
    "face.looked": ("clearances",),
    "firebox": ("firebox",),
    "firebox.depth": ("firebox", "hearth", "clearances", "draft"),
    "firebox.throat_height": THROAT,
    "firebox.throat_depth": THROAT,
    "firebox.throat_width": THROAT,
    "firebox.damper": THROAT,
    "firebox.damper_area": THROAT,
    "firebox.clamp_area": ("draft",),
    "firebox.damper_works": THROAT,
    "firebox.smoke_chamber_height": THROAT,
    "firebox.smoke_chamber_wall": THROAT,
    "firebox.smoke_chamber_form": THROAT,
    "firebox.smoke_chamber_slope": THROAT,
    "firebox.smoke_chamber_parged": THROAT,
    "flue": ("flue",),
    "flue.liner": FLUE_SIZE,
    "flue.shape": FLUE_SIZE,
    "flue.diameter": FLUE_SIZE,
    "flue.inside": FLUE_SIZE,
    "flue.area": FLUE_SIZE,
    "flue.height": ("flue", "draft"),
    "flue.lining": ("flue", "draft"),
    "flue.offsets": ("flue", "draft"),
    "flue.place": ("clearances", "draft"),
    "flue.cap": ("chimney", "draft"),
    "flue.cap_area": ("chimney", "draft"),
    "flue.arrestor_area": ("chimney", "draft"),
    "nearby": ("clearances",),
    "looked": ("clearances",),
    "looked.roofs": ("chimney",),
    "roof": ("chimney",),
    "air": ("draft",),
    "site": ("draft",),
    "site.indoor": ("draft", "hearth", "clearances"),
    "fire": ("draft", "hearth", "clearances"),
    "chimney": ("chimney",),
    "chimney.contact_listed": ("clearances",),
    "fireplace.contact_listed": ("clearances",),
    "structure": ("firebox",),
    "structure.chamber_lining": THROAT,
})  # fmt: skip


def asked_for(job: Job, key: str) -> bool:
    """Does what the job asks rest on an entry of this key."""
    needed = _questions(key)
    return needed is None or not asked_of(job.asked.questions).isdisjoint(needed)


@cache
def _questions(key: str) -> tuple[str, ...] | None:
    """The questions that the row of a key names, or of what the key begins with; None where none does."""
    parts = key.split(".")
    beginnings = (".".join(parts[:end]) for end in range(len(parts), 0, -1))
    return next((_FOR[one] for one in beginnings if one in _FOR), None)


def applies(job: Job, key: str, thing: str, stage: str) -> bool:
    """Does an entry of this key mean anything here. thing: the face, the thing or the roof it is of."""
    if test := _OF_THE_JOB.get(key):
        return test(job, stage)
    table, _, name = key.partition(".")
    held = {"face": job.face, "nearby": job.nearby, "roof": job.roof}.get(table, ())
    mine = next((one for one in held if getattr(one, "name", None) == thing), None)
    if isinstance(mine, Face):
        return _of_a_face(mine, name)
    if isinstance(mine, Nearby):
        return _of_a_thing(mine, name)
    if isinstance(mine, Roof) and mine.passes_through is False:
        return name not in WHERE_IT_PASSES
    return True


WHERE_IT_PASSES = (
    "above_penetration", "width_along_ridge", "crosses_ridge", "cricket_height", "framing_gap", "size_change_gap",
)  # fmt: skip
AT_AN_OPENING = ("face", "above", "beside", "ahead", "projection")
AT_THE_MASONRY = ("at", "gap", "filled", "from_lining", "masonry_wall")


def _of_a_face(face: Face, name: str) -> bool:
    if name == "rise":
        return face.arch == "segmental"
    return name not in ("gap_area", "burning_closed") or face.closure in (*DOORS, FIXED)


def _of_a_thing(thing: Nearby, name: str) -> bool:
    return not (thing.at and name in AT_AN_OPENING) and not (thing.face and name in AT_THE_MASONRY)


def _several_faces(job: Job, stage: str) -> bool:
    return len({face.name for face in (*job.face, *job.planned.face)}) > 1


def _duct(job: Job, stage: str) -> bool:
    return bool(job.air.exterior_duct and job.air.exterior_duct.value)


def _steel_unit(job: Job, stage: str) -> bool:
    return job.fireplace.construction == "steel-lined masonry"


_OF_THE_JOB: Mapping[str, Callable[[Job, str], bool]] = MappingProxyType({
    "use.open_together": _several_faces,
    "site.wind_on": _several_faces,
    "firebox.damper_area": lambda job, stage: job.firebox.damper != "none",
    "firebox.damper_works": lambda job, stage: job.firebox.damper != "none",
    "firebox.clamp_area": lambda job, stage: job.air.gas_logs == "unlisted",
    "firebox.front_wall": lambda job, stage: bool(job.face) and all(face.side not in (None, "front") for face in job.face),
    "fireplace.contact_listed": lambda job, stage: job.fireplace.construction != "masonry",
    "flue.diameter": lambda job, stage: job.flue.shape == "round",
    "flue.inside": lambda job, stage: job.flue.shape in ("square", "rectangular", "oval"),
    "flue.outside": lambda job, stage: stage == "planned",
    "flue.shaft": lambda job, stage: stage == "planned",
    "flue.cap_area": lambda job, stage: job.flue.cap != "none",
    "air.duct_from": _duct,
    "air.duct_above": _duct,
    "air.duct_screened": _duct,
    "air.duct_outlet": _duct,
    "air.duct_clear": _duct,
    "chimney.wythe": lambda job, stage: job.chimney.flues is None or job.chimney.flues.value > 1,
    "chimney.cleanout_height": lambda job, stage: job.chimney.cleanout == "door",
    **dict.fromkeys(
        (f"chimney.{name}" for name in ("corbel_alike", "corbel_course", "unit_height", "bed_depth")),
        lambda job, stage: bool(job.chimney.corbel and job.chimney.corbel.value),
    ),
    "chimney.offset_carried": lambda job, stage: bool(job.flue.offsets),
    "chimney.arrestor_mesh": lambda job, stage: bool(job.flue.arrestor_area and job.flue.arrestor_area.value),
    "structure.unit_steel": _steel_unit,
    "structure.unit_masonry": _steel_unit,
    "air.beyond_gaps": lambda job, stage: any(face.opens_to == "glazed" for face in job.face),
})  # fmt: skip
