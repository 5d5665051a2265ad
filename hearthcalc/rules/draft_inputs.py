"""What the draft model is given of a case: the entries that it needs, as plain numbers, and what is missing of them."""

from __future__ import annotations

import math
from collections.abc import Mapping

from hearthcalc.job import Face
from hearthcalc.models import draft
from hearthcalc.models.results import Draft
from hearthcalc.rules.case import Case, LinerElsewhere, NotKnown, of
from hearthcalc.rules.flue import Flue, flue_of
from hearthcalc.rules.inputs import number_in
from hearthcalc.rules.openings import entries, opening_area

INCH = 0.0254
SQUARE_INCH = INCH**2
CUBIC_FOOT = 0.3048**3
CFM = CUBIC_FOOT / 60


def draft_inputs(case: Case) -> draft.Inputs:
    """What the draft model needs, of every state alike. Raises NotKnown, LinerElsewhere."""
    job = case.job
    case.require(
        *(path for face in job.face for path in entries(face)),
        *((*of(face), "opens_to") for face in job.face),
        ("flue", "height"),
    )
    flue = flue_of(case)
    (height,) = case.need(("flue",), "height")
    deep, wide = case.want(("firebox",), "throat_depth"), case.want(("firebox",), "throat_width")
    airtightness, damper = job.air.airtightness, case.raw(("firebox", "damper"))
    return draft.Inputs(
        faces=tuple(_draft_face(case, face) for face in job.face),
        flue_area=float(flue.area.value) * SQUARE_INCH,
        flue_perimeter=perimeter(flue) * INCH,
        flue_height=float(height.value) * INCH,
        lining=case.raw(("flue", "lining")),
        cap=case.raw(("flue", "cap")),
        place=case.raw(("flue", "place")),
        bends=tuple(float(lean.value) for lean in job.flue.offsets or ()),
        throat=None if deep is None or wide is None else float(deep.value * wide.value) * SQUARE_INCH,
        rumford=job.fireplace.pattern == "rumford",
        has_damper=None if damper is None else damper != "none",
        damper=number_in(job.firebox.damper_area, SQUARE_INCH),
        cap_area=number_in(job.flue.cap_area, SQUARE_INCH),
        screen=number_in(job.flue.arrestor_area, SQUARE_INCH),
        fire=job.fire.size,
        power=number_in(job.fire.power),
        indoor=number_in(job.site.indoor),
        outdoor=number_in(job.site.outdoor),
        altitude=number_in(job.site.altitude, INCH),
        wind=number_in(job.site.wind),
        wind_on=job.site.wind_on,
        shelter=number_in(job.site.shelter),
        top_pressure=number_in(job.site.top_pressure),
        airtightness=airtightness if isinstance(airtightness, str) else number_in(airtightness),
        volume=number_in(job.air.house_volume, CUBIC_FOOT),
        storeys=number_in(job.air.storeys),
        neutral_level=number_in(job.air.neutral_level, INCH),
        vent=number_in(job.air.vent, SQUARE_INCH),
        duct=number_in(job.air.exterior_duct, SQUARE_INCH),
        beyond_gaps=number_in(job.air.beyond_gaps, SQUARE_INCH),
        makeup=number_in(job.air.makeup, CFM),
        fans=tuple(
            draft.Fan(float(fan.flow.value) * CFM, fan.where or "house")
            for fan in job.air.fans or ()
            if fan.flow is not None
        ),
    )


def _draft_face(case: Case, face: Face) -> draft.Face:
    (opens, height), gaps = case.need(of(face), "opens_to", "height"), case.want(of(face), "gap_area")
    return draft.Face(
        name=face.name,
        side=face.side,
        opens_to=opens,
        area=float(opening_area(case, face).value) * SQUARE_INCH,
        height=float(height.value) * INCH,
        gaps=None if gaps is None else float(gaps.value) * SQUARE_INCH,
    )


def perimeter(flue: Flue) -> float:
    """Perimeter of a flue, in, from its area and its shape; 1 to 1.5 where a rectangular one's sides are not known."""
    area = float(flue.area.value)
    if flue.shape == "round":
        return math.sqrt(4 * math.pi * area)
    aspect = 1.0 if flue.shape == "square" else 1.5 if flue.aspect is None else float(flue.aspect.value)
    short = math.sqrt(area / aspect)
    if flue.shape == "oval":
        a, b = math.sqrt(area * aspect / math.pi), math.sqrt(area / aspect / math.pi)
        return math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))
    return 2 * short * (1 + aspect)


def drafts(case: Case) -> Mapping[str, Draft]:
    """What the draft model makes of each state of a case; nothing where an entry is missing."""
    try:
        inputs = draft_inputs(case)
    except (NotKnown, LinerElsewhere):
        return {}
    return {state.name: draft.draft(inputs, state.open, case.edition) for state in case.states}
