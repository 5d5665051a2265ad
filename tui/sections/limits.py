"""Which finding an entry decides: so that its limit stands beside the field, and a finding leads to its field."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from hearthcalc.findings import Finding
from hearthcalc.job import join_address, parse_address
from hearthcalc_tui.field import Note
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.session.document import PATHS

# By the key of an entry: the ids of findings, the first that there is counts; after a colon its item.
DECIDES: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "about.amendments": ("record.amendments",),
    "flue.liner": ("flue.area",),
    "flue.diameter": ("flue.area",),
    "flue.inside": ("flue.area",),
    "flue.area": ("flue.area",),
    "flue.height": ("flue.least_height",),
    "flue.lining": ("flue.lining",),
    "flue.condition": ("flue.condition",),
    "flue.offsets": ("flue.offsets",),
    "flue.shared_with": ("flue.shared",),
    "flue.cap_area": ("chimney.cap_area",),
    "flue.arrestor_area": ("chimney.arrestor_area",),
    "face.closure": ("doors.seal",),
    "face.burning_closed": ("doors.burning_closed",),
    "face.opens_to": ("doors.garage",),
    "face.hearth.front": ("hearth.front",),
    "face.hearth.left": ("hearth.left",),
    "face.hearth.right": ("hearth.right",),
    "face.hearth.thickness": ("hearth.thickness",),
    "face.hearth.below": ("hearth.below",),
    "face.hearth.specified_r": ("heat.resistance",),
    "face.lintel.bearing": ("lintel.bearing",),
    "face.lintel.above": ("lintel.load",),
    "face.lintel.angle": ("lintel.bending",),
    "firebox.depth": ("firebox.depth",),
    "firebox.wall": ("firebox.wall:sides",),
    "firebox.back_wall": ("firebox.wall:back",),
    "firebox.lining": ("firebox.lining",),
    "firebox.joint": ("firebox.joint",),
    "firebox.floor_slab": ("firebox.floor_slab",),
    "firebox.floor_below": ("firebox.floor_below",),
    "firebox.throat_height": ("firebox.throat_height",),
    "firebox.throat_depth": ("firebox.throat_depth",),
    "firebox.throat_width": ("firebox.passageway:throat",),
    "firebox.damper": ("firebox.damper",),
    "firebox.damper_area": ("firebox.passageway:damper",),
    "firebox.smoke_chamber_height": ("smoke_chamber.height",),
    "firebox.smoke_chamber_wall": ("smoke_chamber.wall",),
    "firebox.smoke_chamber_slope": ("smoke_chamber.slope",),
    "firebox.smoke_chamber_parged": ("smoke_chamber.parging",),
    "fireplace.construction": ("firebox.construction",),
    "nearby.above": ("clearance.mantel", "clearance.trim"),
    "nearby.ahead": ("clearance.furniture", "clearance.wall"),
    "nearby.gap": ("clearance.framing", "clearance.chimney"),
    "nearby.from_lining": ("clearance.abutting",),
    "roof.above_penetration": ("chimney.above_roof",),
    "roof.above_highest": ("chimney.within_radius",),
    "roof.cricket_height": ("chimney.cricket",),
    "roof.framing_gap": ("chimney.roof_framing",),
    "roof.size_change_gap": ("chimney.size_change",),
    "air.exterior_duct": ("air.exterior_duct",),
    "air.vent": ("air.vent",),
    "air.makeup": ("air.makeup",),
    "air.gas_input": ("air.gas_room_volume",),
    "air.gas_logs": ("gas_logs.location", "gas_logs.damper_opening"),
    "looked.sides": ("clearance.looked",),
})  # fmt: skip
WITHIN = {">=": "minimum", "<=": "maximum"}


def decided_by(key: str, thing: str, findings: Iterable[Finding]) -> Finding | None:
    """The finding that an entry of this key decides. thing: the face, the thing or the roof it is of."""
    there = [finding for finding in findings if finding.counts or finding.kind == "model"]
    for named in DECIDES.get(key, ()):
        id, _, item = named.partition(":")
        for finding in there:
            mine = finding.item == item if item else thing in (finding.face, finding.item) or not thing
            if finding.id == id and mine:
                return finding
    return None


def limit_note(finding: Finding | None, *, filled: bool) -> Note | None:
    """The limit of an entry as it stands beside its field, with the verdict once there is one."""
    if finding is None or finding.required is None or not finding.required.text:
        return None
    limit = f"{finding.required.text} {WITHIN.get(finding.required.op, 'required')}"
    if finding.missing or not filled:
        return Note("limit", limit)
    return Note(finding.verdict.lower(), f"{GLYPHS.sign(finding.verdict)} {finding.verdict}  {limit}")


def field_of(finding: Finding) -> str:
    """The address of the entry that decides a finding, "" where no one entry does."""
    if finding.missing:
        return finding.missing[0]
    key = next(
        (
            key
            for key, ids in DECIDES.items()
            for named in ids
            if named.partition(":")[0] == finding.id and named.partition(":")[2] in ("", finding.item)
        ),
        "",
    )
    parts = parse_address(key) if key else ()
    if not parts or parts[0] not in PATHS:
        return key
    thing = finding.face if parts[0] == "face" else finding.item
    return join_address((parts[0], thing, *parts[1:])) if thing else ""
