"""What the draft model is given of a case: the entries that it needs, as plain numbers, and what is missing of them."""

from __future__ import annotations

import math
from collections.abc import Mapping

from hearthcalc.many import floats_of
from hearthcalc.models import draft
from hearthcalc.models.results import Draft
from hearthcalc.physics.elementwise import Number, sqrt
from hearthcalc.rules.case import Case, LinerElsewhere, NotKnown, Shared, Subject
from hearthcalc.rules.flue import Flue, flue_of
from hearthcalc.rules.inputs import optional
from hearthcalc.rules.openings import Opening, openings

INCH = 0.0254
SQUARE_INCH = INCH**2
CUBIC_FOOT = 0.3048**3
CFM = CUBIC_FOOT / 60
KEY = "draft"  # what was asked for it, among what rules share


def draft_inputs(case: Case) -> draft.Inputs:
    """What the draft model needs, of every state alike. Raises NotKnown, LinerElsewhere."""
    high = case.number("flue", "height")
    beyond = [case.word(face, "opens_to") for face in case.faces]
    made = openings(case, case.faces)
    flue = flue_of(case)
    height, opens = high.value, [entry.value for entry in beyond]
    deep, wide = (optional(case, "firebox", name, INCH) for name in ("throat_depth", "throat_width"))
    airtightness = case.entered("air", "airtightness").known
    damper = case.word("firebox", "damper").known
    leans = case.listed("flue", "offsets").known
    form, parged = (case.word("firebox", f"smoke_chamber_{name}").known for name in ("form", "parged"))

    def amount(whose: str, name: str, unit: float = 1.0) -> float | None:
        return optional(case, whose, name, unit)

    return draft.Inputs(
        faces=tuple(
            _draft_face(case, face, where, one)
            for face, where, one in zip(case.faces, opens, made, strict=True)
        ),
        flue_area=floats_of(flue.area.value) * SQUARE_INCH,
        flue_perimeter=perimeter(flue) * INCH,
        flue_height=floats_of(height.value) * INCH,
        lining=case.word("flue", "lining").known,
        cap=case.word("flue", "cap").known,
        place=case.word("flue", "place").known,
        bends=None if leans is None else tuple(abs(float(lean.value)) for lean in leans),
        throat=None if deep is None or wide is None else deep * wide,
        rumford=case.word("fireplace", "pattern").known == "rumford",
        smooth=form == "prefabricated" or (form is not None and parged == "yes"),
        has_damper=None if damper is None else damper != "none",
        damper=amount("firebox", "damper_area", SQUARE_INCH),
        cap_area=amount("flue", "cap_area", SQUARE_INCH),
        screen=amount("flue", "arrestor_area", SQUARE_INCH),
        fire=case.word("fire", "size").known,
        power=amount("fire", "power"),
        indoor=amount("site", "indoor"),
        outdoor=amount("site", "outdoor"),
        altitude=amount("site", "altitude", INCH),
        wind=amount("site", "wind"),
        wind_on=case.word("site", "wind_on").known,
        shelter=amount("site", "shelter"),
        top_pressure=amount("site", "top_pressure"),
        airtightness=airtightness if isinstance(airtightness, str) else amount("air", "airtightness"),
        volume=amount("air", "house_volume", CUBIC_FOOT),
        storeys=amount("air", "storeys"),
        neutral_level=amount("air", "neutral_level", INCH),
        vent=amount("air", "vent", SQUARE_INCH),
        duct=amount("air", "exterior_duct", SQUARE_INCH),
        beyond_gaps=amount("air", "beyond_gaps", SQUARE_INCH),
        makeup=amount("air", "makeup", CFM),
        fans=tuple(
            draft.Fan(float(fan.flow.value) * CFM, fan.where or "house")
            for fan in case.listed("air", "fans").known or ()
            if fan.flow is not None
        ),
    )


def _draft_face(case: Case, face: Subject, opens: str, made: Opening) -> draft.Face:
    return draft.Face(
        name=face.name,
        side=case.word(face, "side").known,
        opens_to=opens,
        area=floats_of(made.area.value) * SQUARE_INCH,
        height=floats_of(made.height.value) * INCH,
        gaps=optional(case, face, "gap_area", SQUARE_INCH),
    )


def perimeter(flue: Flue) -> Number:
    """Perimeter of a flue, in, from its area and its shape; 1 to 1.5 where a rectangular one's sides are not known."""
    area = floats_of(flue.area.value)
    if flue.shape == "round":
        return sqrt(4 * math.pi * area)
    aspect = 1.0 if flue.shape == "square" else 1.5 if flue.aspect is None else floats_of(flue.aspect.value)
    short = sqrt(area / aspect)
    if flue.shape == "oval":
        a, b = sqrt(area * aspect / math.pi), sqrt(area / aspect / math.pi)
        return math.pi * (3 * (a + b) - sqrt((3 * a + b) * (a + 3 * b)))
    return 2 * short * (1 + aspect)


def drafts(case: Case) -> Mapping[str, Draft]:
    """What the draft model makes of each state of a case; nothing where an entry is missing."""
    mine = case.fresh()
    case.shared[KEY] = Shared(None, None, mine.asked)
    try:
        inputs = draft_inputs(mine)
    except (NotKnown, LinerElsewhere):
        return {}
    return {state.name: draft.draft(inputs, state.open, case.edition) for state in case.states}
