"""What the draft model tells of a job: its own check case, its limits, and what it refuses to say.

The constants, the verdict bands and the check case are those this project fixed for its model; the check case was computed by an
independent program, not printed anywhere. What rests on published measurements is named beside the check.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Any

import pytest
from msgspec.structs import replace
from scipy.special import ellipe

from hearthcalc import reference
from hearthcalc.assess import assess, assess_models, states_of
from hearthcalc.findings import Finding, StageResult, State, Verdict
from hearthcalc.job import Job
from hearthcalc.models.results import Fans, Run, Span, Supply
from hearthcalc.physics.draft import Reason
from hearthcalc.report.record import draft_record
from hearthcalc.rules.case import RULES, Case, run, step
from hearthcalc.rules.draft import SETTLES
from hearthcalc.rules.draft_inputs import CFM, perimeter
from hearthcalc.rules.flue import Flue
from hearthcalc.rules.reading import Reading

EDITION = reference.load("irc-2021")
INCH = 0.0254


OPEN_HOUSE: dict[str, Any] = {"airtightness": "60 ACH50", "house_volume": "100000 ft3", "neutral_level": "0"}
"""A house that lets in all that the fire takes: 0.01 Pa."""


def document(**changes: Any) -> dict[str, Any]:
    """One face 36 x 30 in, flue 11 x 11 in inside, gas column 20 ft, 22 kW, 0 C outside: the model's check case."""
    face = {
        "name": "study",
        "side": "front",
        "width": "36",
        "height": "30",
        "opens_to": "room",
        "closure": "steel doors",
        "gap_area": "4 in2",
    }
    base: dict[str, Any] = {
        "format": "hearthcalc-job",
        "version": 1,
        "face": [face],
        "firebox": {
            "throat_depth": "11",
            "throat_width": "11",
            "damper": "none",
            "smoke_chamber_form": "prefabricated",
        },
        "flue": {
            "inside": "11 x 11",
            "height": "255",
            "lining": "clay",
            "place": "outside",
            "cap": "open",
            "arrestor_area": "0 in2",
            "offsets": [],
        },
        "site": {"outdoor": "0 C", "indoor": "20 C", "altitude": "0 ft"},
        "fire": {"power": "22 kW"},
        "air": OPEN_HOUSE,
    }
    return base | changes


def second_face(**changes: Any) -> dict[str, Any]:
    return {
        "name": "workshop", "side": "back", "width": "36", "height": "30", "opens_to": "screened", "closure": "steel doors",
        "gap_area": "4 in2",
    } | changes  # fmt: skip


def result(doc: dict[str, Any]) -> StageResult:
    job = Job.from_document(doc)
    return assess_models(job, EDITION, assess(job, EDITION)).stages["found"]


def finding(stage: StageResult, id: str, state: str = "all open", face: str | None = None) -> Finding:
    return next(
        f for f in stage.findings if f.id == id and f.state == state and (face is None or f.face == face)
    )


def draft(stage: StageResult, state: str = "all open") -> dict[str, Any]:
    """The draft of a state as `check --json` prints it."""
    made = next(s for s in stage.states if s.name == state).draft
    assert made is not None
    return draft_record(made)


def test_the_check_case() -> None:
    """Computed by an independent program: 742 kg/h, 82, 77 and 72 C, 17.0 Pa, 0.244 m/s; half a unit of the last digit."""
    told = draft(result(document()))
    assert told["mass_flow"] * 3600 == pytest.approx(742, abs=1)
    temperatures = [told["gas_temperature"][place] for place in ("foot", "mean", "top")]
    assert temperatures == pytest.approx([82, 77, 72], abs=0.6)
    assert told["draft_pressure"] == pytest.approx(17.0, abs=0.06)
    assert told["face_velocity"]["study"] == pytest.approx(0.244, abs=0.0006)


def test_two_faces_at_equal_pressure_halve_the_velocity() -> None:
    """Same source: 0.122 m/s each, and one side lower by 0.057 Pa stops drawing."""
    told = draft(result(document(face=[document()["face"][0], second_face(opens_to="room")])))
    assert list(told["face_velocity"].values()) == pytest.approx([0.122, 0.122], abs=0.0006)
    assert told["crossflow"]["limit"] == pytest.approx(0.057, abs=0.0006)
    assert told["crossflow"]["difference"] == pytest.approx(0.0, abs=1e-6)


def test_losses_and_the_firebox_pressure_add_up_to_the_draft() -> None:
    told = draft(result(document()))
    assert sum(told["losses"].values()) == pytest.approx(
        told["draft_pressure"] + told["foot_pressure"], rel=1e-6
    )
    assert set(told["losses"]) == {"throat", "friction", "bends", "cap", "exit"}


@pytest.mark.parametrize(
    ("width", "size", "verdict"),
    [
        ("36", "steady", Verdict.MEETS), ("42", "steady", Verdict.REFER), ("50", "steady", Verdict.REFER),
        ("84", "steady", Verdict.SHORT), ("28", "hot", Verdict.MEETS), ("36", "hot", Verdict.REFER),
        ("72", "roaring", Verdict.SHORT),
    ],
)  # fmt: skip
def test_bands_of_the_face_velocity(width: str, size: str, verdict: Verdict) -> None:
    """Steady: 0.66 and 0.50 ft/s, calibrated by this model on size tables and on reports of smoke; hot: 0.8 ft/s is attributed
    to ASHRAE, from memory, with gas as hot as no open fire's of usual size; 0.55 below it is judgement. The whole band decides."""
    doc = document(fire={"power": "22 kW", "size": size})
    doc["face"][0]["width"] = width
    doc["site"]["outdoor"] = "-5 C"
    told = finding(result(doc), "draft.face_velocity")
    enough, least = (0.66, 0.50) if size == "steady" else (0.8, 0.55)
    assert told.found is not None and told.band is not None
    assert told.found.value is not None
    assert told.band.low < told.found.value < told.band.high
    assert (told.band.low >= enough * 0.3048, told.band.high >= least * 0.3048) == {
        Verdict.MEETS: (True, True), Verdict.REFER: (False, True), Verdict.SHORT: (False, False),
    }[verdict]  # fmt: skip
    assert told.verdict is verdict
    assert told.required is not None and told.required.text == f"{enough:g} ft/s"
    if verdict is Verdict.REFER:
        assert told.text.endswith(f"What would: {SETTLES['fire']}.")


@pytest.mark.parametrize("damper", [None, "throat", "top", "unknown"])
def test_a_damper_whose_opening_is_not_known_never_meets(damper: str | None) -> None:
    doc = document()
    doc["face"][0]["width"] = "24"
    assert finding(result(doc), "draft.face_velocity").verdict is Verdict.MEETS
    doc["firebox"] = {"throat_depth": "11", "throat_width": "11"} | ({"damper": damper} if damper else {})
    told = finding(result(doc), "draft.face_velocity")
    assert told.verdict is Verdict.REFER
    assert "the free area of the damper is not known" in told.text
    doc["firebox"]["damper_area"] = "121 in2"
    assert finding(result(doc), "draft.face_velocity").verdict is Verdict.MEETS


def test_a_half_shut_damper_under_a_tight_cap_smokes() -> None:
    """29 in2 of damper under 60 in2 of cap: it never "draws"."""
    doc = document()
    doc["firebox"] |= {"damper": "throat", "damper_area": "29 in2"}
    doc["flue"] |= {"cap_area": "60 in2"}
    assert finding(result(doc), "draft.face_velocity").verdict is Verdict.SHORT


def test_a_throat_that_is_not_known_never_meets() -> None:
    doc = document(firebox={"damper": "none"})
    doc["face"][0]["width"] = "24"
    stage = result(doc)
    told = finding(stage, "draft.face_velocity")
    assert told.verdict is Verdict.REFER
    assert "the throat is not known" in told.text
    assert "poor throat" in draft(stage)["also"]


def test_a_breeze_through_the_workshop_smokes_the_study() -> None:
    doc = document(face=[document()["face"][0], second_face()])
    doc["site"] |= {"wind": "5 mph", "wind_on": "workshop"}
    stage = result(doc)
    assert draft(stage)["spills"] == ["study"]
    assert finding(stage, "draft.crossflow").verdict is Verdict.SHORT
    smoking = finding(stage, "draft.face_velocity", face="study")
    assert smoking.verdict is Verdict.SHORT
    assert "smokes" in smoking.text
    assert "No flue size cures that" in finding(stage, "draft.crossflow").text


def test_crossflow_is_told_as_a_band_of_one_digit() -> None:
    """0.057 Pa by the check case: about 0.06 (0.02 to 0.1), as nothing published checks it."""
    doc = document(face=[document()["face"][0], second_face(opens_to="room")])
    told = finding(result(doc), "draft.crossflow")
    assert (
        "about 0.06 Pa (0.02 to 0.1 Pa) maximum. Beyond that one face stops drawing and smokes" in told.text
    )
    assert told.verdict is Verdict.MEETS


@pytest.mark.parametrize("other", ["bedroom", "garage"])
def test_rooms_that_may_not_be_one_body_of_air_are_referred(other: str) -> None:
    doc = document(face=[document()["face"][0], second_face(opens_to=other)])
    told = finding(result(doc), "draft.crossflow")
    assert told.verdict is Verdict.REFER
    assert f"Whether {' and '.join(sorted(('room', other)))} are one body of air is not known" in told.text
    if other == "garage":
        assert (
            "the garage is taken as one body of air"
            in finding(result(doc), "draft.face_velocity", "workshop open").text
        )


@pytest.mark.parametrize(("closure", "share"), [("none", "0.2"), ("glass doors", "0.25")])
def test_a_face_that_nothing_shuts_takes_its_share_of_the_glow(closure: str, share: str) -> None:
    doc = document(
        face=[document()["face"][0], second_face(opens_to="room", closure=closure)], fire={"size": "hot"}
    )
    hearth = {"front": "20", "left": "12", "right": "12", "above_floor": "0", "below": "concrete"}
    doc["face"][0] |= {"opening_above_hearth": "0", "hearth": hearth}
    edge = next(f for f in result(doc).findings if f.id == "heat.floor_edge" and f.face == "study")
    assert edge.working[0].numbers.startswith(f"{share} x ")


def test_an_unknown_wind_side_is_the_worst_one() -> None:
    doc = document(face=[document()["face"][0], second_face()])
    doc["site"] |= {"wind": "5 mph"}
    speeds = []
    for side in ("study", "workshop"):
        given = document(face=doc["face"], site=doc["site"] | {"wind_on": side})
        speeds.append(min(draft(result(given))["face_velocity"].values()))
    assert min(draft(result(doc))["face_velocity"].values()) == pytest.approx(min(speeds))


def test_a_face_shut_leaves_a_fireplace_of_one_face_and_a_leak() -> None:
    doc = document(face=[document()["face"][0], second_face()], use={"open_together": False})
    stage = result(doc)
    assert draft(stage, "study open")["face_velocity"].keys() == {"study"}
    assert draft(stage, "study open")["door_leak"].keys() == {"workshop"}
    assert draft(stage, "all shut")["face_velocity"] == {}


def test_gas_that_leaks_into_the_house_is_referred() -> None:
    doc = document(face=[document()["face"][0], second_face()])
    doc["air"] = {
        "airtightness": "3 ACH50", "house_volume": "16000 ft3", "storeys": 2,
        "fans": [{"name": "hood", "flow": "600 cfm", "where": "room"}],
    }  # fmt: skip
    told = finding(result(doc), "draft.door_leak", "workshop open")
    assert told.verdict is Verdict.REFER
    assert "into the house" in told.text
    assert told.caution is not None


def test_a_hood_in_the_room_of_the_fire() -> None:
    """A 600 cfm hood in a house of 7 ACH50 sucks it well past 5 Pa (limit second-hand); the remedies put it right."""
    doc = document()
    air = {"airtightness": "7 ACH50", "house_volume": "16000 ft3", "storeys": 1}
    doc["air"] = air | {"fans": [{"name": "hood", "flow": "600 cfm", "where": "room"}]}
    told = finding(result(doc), "house.suction")
    assert told.verdict is Verdict.SHORT
    assert told.remedy and "inlet" in told.remedy[1]
    doc["air"] = air | {"airtightness": "60 ACH50", "fans": []}
    assert finding(result(doc), "house.suction").verdict is Verdict.MEETS


def test_leakage_that_is_not_known_is_said_and_asked_for() -> None:
    doc = document(air={})
    doc["face"][0]["width"] = "24"
    stage = result(doc)
    pace = finding(stage, "draft.face_velocity")
    assert pace.verdict is Verdict.REFER
    assert "But the house's leakage is not known" in pace.text
    told = finding(stage, "house.suction")
    assert told.verdict is Verdict.MEASURE
    assert set(told.missing) == {"air.airtightness", "air.house_volume", "air.fans"}
    assert draft(stage)["house_pressure"] is None
    assert "its pressure is left out" in finding(stage, "draft.no_flow").text


@pytest.mark.parametrize(("place", "lifts"), [("inside", "2.7 Pa carries"), ("outside", "nothing carries")])
def test_starting_it_is_advice_with_the_first_quarter_of_an_hour(place: str, lifts: str) -> None:
    """A chimney as cold as outdoors lifts nothing at light-up: arithmetic of densities, 10 C over 0 C and 20 ft for the other."""
    doc = document()
    doc["flue"]["place"] = place
    stage = result(doc)
    told = finding(stage, "draft.start")
    lifting = 9.80665 * 240 * 0.0254 * 101325 / 287.05 * (1 / 273.15 - 1 / 283.15)
    assert lifts == "nothing carries" or lifts.startswith(f"{lifting:.1f}")
    assert f"At light-up {lifts} smoke up" in told.text
    assert (told.kind, told.counts, bool(told.remedy)) == ("advice", False, place == "outside")
    warming = draft(stage)["also"]["warming up"]
    steady = draft(stage)
    assert f"{warming['face_velocity']['study'] / 0.3048:.2f} ft/s at study" in told.text
    assert warming["draft_pressure"] < steady["draft_pressure"] * 0.6
    doc["firebox"]["throat_depth"] = "0"
    assert "there is no steady draft" in finding(result(doc), "draft.start").text


@pytest.mark.parametrize(
    ("entry", "why"),
    [
        ("cap", "the cap is not known"), ("arrestor_area", "whether there is a spark screen"),
        ("offsets", "whether the flue bends is not known"),
    ],
)  # fmt: skip
def test_what_is_not_known_of_the_flue_never_meets(entry: str, why: str) -> None:
    doc = document()
    doc["face"][0]["width"] = "24"
    assert finding(result(doc), "draft.face_velocity").verdict is Verdict.MEETS
    del doc["flue"][entry]
    told = finding(result(doc), "draft.face_velocity")
    assert told.verdict is Verdict.REFER
    assert f"But {why}" in told.text


KNOWN: dict[str, dict[str, Any]] = {
    "flue": {
        "lining": "listed liner", "place": "inside", "cap": "open", "arrestor_area": "600 in2", "cap_area": "900 in2",
        "offsets": ["20 deg"],
    },
    "firebox": {
        "throat_depth": "8", "throat_width": "20", "damper": "throat", "damper_area": "130 in2", "smoke_chamber_form": "sloped",
        "smoke_chamber_parged": "yes",
    },
    "air": {
        "airtightness": "leaky", "house_volume": "16000 ft3", "storeys": 1,
        "fans": [{"name": "hood", "flow": "100 cfm", "where": "room"}], "vent": "30 in2",
    },
}  # fmt: skip
JUDGED = ("draft.face_velocity", "draft.no_flow", "draft.die_down", "house.suction", "air.demand")
TO_LEAVE_OUT = [
    (table, key) for table, entries in KNOWN.items() for key in entries if (table, key) != ("air", "vent")
]


@pytest.mark.parametrize(("width", "high"), [("22", "300"), ("34", "240")])
def test_what_is_left_out_never_helps(width: str, high: str) -> None:
    """Whatever entry of flue, firebox or house is missing, no figure of the draft gets a better verdict than with it."""
    doc = document()
    doc["face"][0]["width"] = width
    for table, entries in KNOWN.items():
        doc[table] = doc.get(table, {}) | entries if table != "air" else entries
    doc["flue"]["height"] = high
    order = [Verdict.MEETS, Verdict.CLOSE, Verdict.REFER, Verdict.MEASURE, Verdict.SHORT]
    before = {name: finding(result(doc), name).verdict for name in JUDGED}
    for table, key in TO_LEAVE_OUT:
        less = doc | {table: {name: entry for name, entry in doc[table].items() if name != key}}
        stage = result(less)
        for name in JUDGED:
            after = finding(stage, name).verdict
            unknown = before[name] is Verdict.SHORT and after in (Verdict.REFER, Verdict.MEASURE)
            assert unknown or order.index(after) >= order.index(before[name]), f"{name} without {table}.{key}"


def test_a_chamber_that_nobody_looked_into_may_be_the_worst_of_its_kind() -> None:
    """Loss 6 heads instead of 3.5 at the worse end: a corbelled, bare chamber can exceed 6 (ASHRAE's 2.5 from memory)."""
    doc = document()
    sloped = doc["firebox"] | {"smoke_chamber_form": "sloped"}
    known, bare, parged = (
        finding(result(document(firebox=firebox)), "draft.face_velocity")
        for firebox in (doc["firebox"], sloped, sloped | {"smoke_chamber_parged": "yes"})
    )
    assert known.band is not None and bare.band is not None
    assert bare.band.low < known.band.low
    assert (bare.band.high, parged.band) == (known.band.high, known.band)
    assert (known.verdict, bare.verdict) == (Verdict.MEETS, Verdict.REFER)
    assert f"What would: {SETTLES['throat']}" in bare.text


def test_a_house_that_lets_nothing_in_is_short_with_the_reason() -> None:
    doc = document()
    doc["air"] = {
        "airtightness": "0.05 ACH50",
        "house_volume": "1000 ft3",
        "storeys": 3,
        "fans": [{"name": "hood", "flow": "900 cfm", "where": "room"}],
    }
    told = finding(result(doc), "draft.face_velocity")
    assert told.verdict is Verdict.SHORT
    assert "No steady draft" in told.text


def test_a_missing_height_is_measured_not_guessed() -> None:
    doc = document()
    del doc["flue"]["height"]
    told = finding(result(doc), "draft.face_velocity")
    assert told.verdict is Verdict.MEASURE
    assert "flue.height" in told.missing


def test_a_glazed_room_with_unknown_gaps_is_referred() -> None:
    doc = document(face=[document()["face"][0], second_face(opens_to="glazed")])
    told = finding(result(doc), "draft.face_velocity", "workshop open")
    assert told.verdict in (Verdict.REFER, Verdict.SHORT)
    assert "gaps of the glazed room" in told.text


def test_a_fan_beyond_a_glazed_room_pulls_smoke_there() -> None:
    doc = document(face=[document()["face"][0], second_face(opens_to="glazed")])
    doc["air"] = {
        "beyond_gaps": "60 in2",
        "fans": [{"name": "workshop fan", "flow": "800 cfm", "where": "beyond"}],
    }
    stage = result(doc)
    assert "workshop" not in draft(stage)["spills"]
    assert "workshop" in draft(stage)["also"]["fans running"]["spills"]
    told = finding(stage, "draft.face_velocity", face="workshop")
    assert told.verdict is not Verdict.MEETS
    assert "With the fans running: it smokes" in told.text
    assert told.remedy[0] == "Keep the fans off while there is fire."


def test_model_findings_come_in_a_second_step_and_never_before() -> None:
    job = Job.from_document(document())
    first = assess(job, EDITION)
    assert not [f for f in first.stages["found"].findings if f.kind == "model"]
    second = assess_models(job, EDITION, first)
    assert not [f for f in first.stages["found"].findings if f.id == "draft.start"]
    rules = [f for f in second.stages["found"].findings if f.kind != "model" and f.id != "draft.start"]
    assert tuple(rules) == first.stages["found"].findings


def test_order_of_the_faces_does_not_matter() -> None:
    faces = [document()["face"][0], second_face()]
    site = document()["site"] | {"wind": "3 mph"}
    one, other = (draft(result(document(face=f, site=site))) for f in (faces, faces[::-1]))
    assert one["face_velocity"]["study"] == pytest.approx(other["face_velocity"]["study"], rel=1e-9)
    assert one["mass_flow"] == pytest.approx(other["mass_flow"], rel=1e-9)


def with_hood(tight: str, flow: str, **air: str) -> dict[str, Any]:
    house = {"airtightness": tight, "house_volume": "16000 ft3", "storeys": 1}
    return document(air=house | {"fans": [{"name": "hood", "flow": flow, "where": "room"}]} | air)


def test_the_inlet_that_is_asked_for_keeps_the_house_within_its_limit() -> None:
    """The remedy, entered as a vent, is what it says it is: the fans suck 5 Pa at most, within a rounding of the inlet."""
    stage = result(with_hood("4 ACH50", "600 cfm"))
    assert finding(stage, "house.suction").verdict is Verdict.SHORT
    fans = next(state.draft for state in stage.states if state.draft).ends.tightest
    assert fans is not None and fans.inlet is not None
    free = math.ceil(fans.inlet / 0.0254**2)
    assert f"an inlet of {free} in2 free" in finding(stage, "house.suction").remedy[1]
    after = finding(result(with_hood("4 ACH50", "600 cfm", vent=f"{free} in2")), "house.suction")
    assert after.verdict is Verdict.MEETS
    assert after.band is not None and after.band.high == pytest.approx(5, abs=0.05)
    most = math.floor(fans.most / CFM)
    assert finding(result(with_hood("4 ACH50", f"{most} cfm")), "house.suction").verdict is Verdict.MEETS
    more = finding(result(with_hood("4 ACH50", f"{most + 1} cfm")), "house.suction")
    assert more.verdict is Verdict.REFER
    assert "What would: a blower-door test of the house" in more.text


def test_a_tall_house_in_the_cold_is_not_the_fans_fault() -> None:
    """Three storeys at 10 F suck more than 5 Pa by the warm air alone: that belongs to the draft and to dying down."""
    doc = with_hood("8 ACH50", "0 cfm")
    doc["air"]["storeys"] = 3
    doc["site"]["outdoor"] = "10 F"
    stage = result(doc)
    assert finding(stage, "house.suction").verdict is Verdict.MEETS
    assert "No fan sucks the house down" in finding(stage, "house.suction").text
    dying = finding(stage, "draft.die_down")
    assert "the suction in the house is" in dying.text and "5 Pa maximum" in dying.text
    assert dying.verdict is not Verdict.MEETS


def test_a_hood_that_is_off_is_not_held_against_the_fire_and_one_that_runs_is_told() -> None:
    """Fans off and on are two conditions: where only the second fails it is a person's to keep them off."""
    doc = with_hood("4 ACH50", "600 cfm")
    doc["face"][0]["width"] = "24"
    told = finding(result(doc), "draft.face_velocity")
    assert told.verdict is Verdict.REFER
    assert "With the fans running: " in told.text
    assert (
        told.remedy[0] == "Keep the fans off while there is fire, or bring in the 600 cfm that they take out."
    )
    doc["air"]["makeup"] = "600 cfm"
    assert finding(result(doc), "draft.face_velocity").verdict is Verdict.MEETS


@pytest.mark.parametrize("fans", [None, [{"name": "hood", "where": "room"}]])
def test_fans_that_are_not_known_are_measured(fans: list[dict[str, str]] | None) -> None:
    air: dict[str, Any] = {"airtightness": "8 ACH50", "house_volume": "16000 ft3", "storeys": 1}
    told = finding(result(document(air=air | ({} if fans is None else {"fans": fans}))), "house.suction")
    assert told.verdict is Verdict.MEASURE
    assert told.missing == (("air.fans",) if fans is None else ("air.fans.hood.flow",))


def test_a_house_that_sucks_at_ten_pascals_as_the_fire_dies_is_short() -> None:
    """CMHC and ORTECH 1989, as reported: five factory-built fireplaces spilled near 10 Pa as they died down; that work's limit is 5 Pa."""
    seen = set()
    for storeys, outdoor in ((1, "10 C"), (3, "0 C"), (5, "-20 C")):
        doc = with_hood("8 ACH50", "0 cfm")
        doc["air"]["storeys"], doc["site"]["outdoor"] = storeys, outdoor
        doc["flue"]["height"] = "480"
        told = finding(result(doc), "draft.die_down")
        assert told.found is not None and told.found.value is not None
        ends = (told.band.low, told.band.high) if told.band else (told.found.value,) * 2
        agreed = Verdict.MEETS if ends[1] <= 5 else Verdict.SHORT if ends[0] > 10 else Verdict.REFER
        assert told.verdict is agreed
        seen.add(agreed)
    assert seen == {Verdict.MEETS, Verdict.REFER, Verdict.SHORT}


def test_a_passage_of_the_codes_size_feeds_a_small_part_of_an_open_fire() -> None:
    """IRC R1006.4 asks for 6 to 55 in2; free area 417 cm2 for 100 cfm at 2 Pa is the printed rule of thumb (physics notes, computed)."""
    doc = document()
    doc["air"] = {
        "airtightness": "8 ACH50",
        "house_volume": "16000 ft3",
        "storeys": 1,
        "fans": [],
        "exterior_duct": "20 in2",
    }
    told = finding(result(doc), "air.demand")
    assert "the outside-air passage of 20 in2 lets in" in told.text
    demand, passage = (
        int(part.split(" cfm")[0].split()[-1]) for part in (told.text, told.text.split("lets in ", 2)[2])
    )
    assert passage < demand / 4


def test_a_house_that_may_let_in_too_little_is_told_so() -> None:
    """0.1 air changes at 50 Pa in 8000 ft3 feed a fire or none, by how the leaks take to a low pressure."""
    tight = {"airtightness": "0.1 ACH50", "house_volume": "8000 ft3", "storeys": 1}
    told = finding(result(document(air=tight)), "draft.face_velocity")
    assert told.verdict is Verdict.SHORT
    assert "At the worst of what is uncertain there is no steady draft." in told.text


def test_two_open_faces_without_a_draft_hold_no_breeze() -> None:
    doc = document(face=[document()["face"][0], second_face()])
    doc["firebox"]["throat_depth"] = "0"
    told = finding(result(doc), "draft.crossflow")
    assert told.verdict is Verdict.SHORT and "nothing to hold a breeze against" in told.text


def test_where_no_wind_arrives_none_is_told() -> None:
    doc = document(face=[document()["face"][0], second_face()])
    doc["site"]["shelter"] = "0"
    text = finding(result(doc), "draft.crossflow").text
    assert "So little suction in the house makes that." in text and "A wind of" not in text


def test_gaps_of_a_shut_face_that_nobody_measured_are_asked_for() -> None:
    doc = document(face=[document()["face"][0], second_face()])
    del doc["face"][1]["gap_area"]
    told = finding(result(doc), "draft.door_leak", "study open")
    assert (told.verdict, told.missing) == (Verdict.MEASURE, ("face.workshop.gap_area",))


def test_a_rule_that_is_run_before_its_model_says_so() -> None:
    job = Job.from_document(document())
    case = Case(job.stages()["found"], job, EDITION, every_state=states_of(job))
    with pytest.raises(ValueError, match="all open was never put to the draft model"):
        run(case, RULES["draft.face_velocity"], case.every_state[0])


# What a rule makes of a result of the model: the figures are set, not computed.


@pytest.fixture(scope="module")
def drafted() -> dict[int, tuple[Job, State]]:
    """A job of one face and one of two, each with all of them open, as the model has it."""
    faces = [document()["face"][0], second_face()]
    made = {}
    for count in (1, 2):
        job = Job.from_document(document(face=faces[:count], air=OPEN_HOUSE | {"fans": []}))
        states = assess_models(job, EDITION, assess(job, EDITION)).stages["found"].states
        made[count] = job, next(state for state in states if state.name == "all open")
    return made


def set_to(
    drafted: tuple[Job, State], id: str, /, edition: reference.Edition = EDITION, **changes: Any
) -> list[Finding]:
    job, state = drafted
    assert state.draft is not None
    mine = replace(state, draft=replace(state.draft, **changes))
    return list(run(Case(job.stages()["found"], job, edition, every_state=(mine,)), RULES[id], mine).made)


def blowing(run: Run, name: str, velocity: float) -> Run:
    """The same run with another speed at a face."""
    assert run.flow is not None
    face = replace(run.flow.faces[name], velocity=velocity, volume_flow=velocity)
    return replace(run, flow=replace(run.flow, faces={**run.flow.faces, name: face}))


def at_face(drafted: tuple[Job, State], pace: float, **also: float) -> Finding:
    """What is told of the study's face where it draws at a speed, m/s, and in other runs at others."""
    made = drafted[1].draft
    assert made is not None
    main = blowing(made.main, "study", pace)
    runs = {
        name: blowing(made.main, "study", also.get(name.split()[0], pace))
        for name in ("mild day", "fans running")
    }
    ends = replace(made.ends, worse=main, better=main)
    told = set_to(
        drafted, "draft.face_velocity", main=main, ends=ends, also={**made.also, **runs}, unknown=()
    )
    return next(finding for finding in told if finding.face == "study")


FOOT = 0.3048


# 0.66 ft/s and 0.50 ft/s (reference values).
@pytest.mark.parametrize(
    ("pace", "also", "verdict", "words"),
    [
        (0.7 * FOOT, {}, "MEETS", "Air enters the study face at 0.70 ft/s"),
        (0.6 * FOOT, {}, "REFER", "Air enters the study face at 0.60 ft/s"),
        (0.0, {}, "SHORT", "Air enters the study face at 0.00 ft/s"),
        (-0.1 * FOOT, {}, "SHORT", "Gas leaves by the study face: it smokes there"),
        (0.7 * FOOT, {"mild": 0.51 * FOOT}, "MEETS", "Air enters"),
        (0.7 * FOOT, {"mild": 0.49 * FOOT}, "REFER", "On a mild day: 0.49 ft/s."),
        (0.7 * FOOT, {"mild": 0.0}, "REFER", "On a mild day: 0.00 ft/s."),
        (0.7 * FOOT, {"mild": -0.1}, "REFER", "On a mild day: it smokes."),
        (0.7 * FOOT, {"fans": 0.67 * FOOT}, "MEETS", "Air enters"),
        (0.7 * FOOT, {"fans": 0.65 * FOOT}, "REFER", "With the fans running: 0.65 ft/s."),
        (0.0, {"fans": -0.1}, "SHORT", "With the fans running: it smokes."),
    ],
)
def test_what_is_told_of_a_face_goes_by_its_speed(
    drafted: dict[int, tuple[Job, State]], pace: float, also: dict[str, float], verdict: str, words: str
) -> None:
    told = at_face(drafted[1], pace, **also)
    assert told.verdict == verdict
    assert words in told.text
    assert ("With the fans running" in told.text) == ("With the fans" in words)


def test_a_speed_that_the_fans_leave_as_it_is_is_not_told_again(
    drafted: dict[int, tuple[Job, State]],
) -> None:
    for pace in (0.6 * FOOT, -0.1):
        assert "With the fans running" not in at_face(drafted[1], pace, fans=pace).text
    assert "With the fans running" not in at_face(drafted[1], -0.1, fans=-0.2).text  # it smokes as it is


def test_a_mild_day_at_just_the_least_is_not_told(drafted: dict[int, tuple[Job, State]]) -> None:
    """A least of 1/8 m/s, which a float holds exactly."""
    least, made = EDITION["draft.face_velocity.refer"], drafted[1][1].draft
    assert made is not None and least.quantity
    eighth = replace(least, quantity=replace(least.quantity, number=Fraction(1, 8)))
    edition = replace(EDITION, values={**EDITION.values, least.key: eighth})
    for mild, told in ((0.125, False), (0.124, True)):
        also = {**made.also, "mild day": blowing(made.main, "study", mild)}
        (finding,) = set_to(drafted[1], "draft.face_velocity", edition, also=also)
        assert ("On a mild day" in finding.text) is told


def test_the_balance_is_told_line_by_line(drafted: dict[int, tuple[Job, State]]) -> None:
    """The draft of the check case to the tenth, 17.0 Pa; what takes it to the hundredth."""
    state = drafted[1][1]
    (told,) = set_to(drafted[1], "draft.face_velocity")
    lines = {line.symbol: line.text for line in told.working}
    assert lines["draft"] == "17.0 Pa"
    assert state.draft is not None and state.draft.main.flow is not None
    for name, loss in state.draft.main.flow.losses.items():
        assert lines[f"loss, {name}"] == f"{round(float(loss), 2):.2f} Pa"
    assert re.fullmatch(r"-?\d+\.\d\d Pa", lines["firebox"])


@pytest.mark.parametrize("count", [1, 2])
def test_what_makes_it_draw_is_told(drafted: dict[int, tuple[Job, State]], count: int) -> None:
    made = drafted[count][1].draft
    assert made is not None
    slow = blowing(made.main, "study", 0.1)
    told = set_to(
        drafted[count], "draft.face_velocity",
        main=slow, ends=replace(made.ends, worse=slow, better=slow), draws_open=800.5 * INCH**2,
    )[0]  # fmt: skip
    assert told.remedy[0] == "By this model it draws once no more than 800 in2 is open at once."
    assert [line.startswith("Keep one face shut") for line in told.remedy[1:]] == [True] * (count - 1)


def test_the_constants_that_a_speed_rests_on_are_those_of_this_fireplace() -> None:
    for entries, keys in (
        ({}, {"draft.throat.equal", "draft.heat_loss.outside"}),
        ({"fireplace": {"pattern": "rumford"}}, {"draft.throat.rumford", "draft.heat_loss.outside"}),
        (
            {"flue": document()["flue"] | {"place": "inside"}},
            {"draft.throat.equal", "draft.heat_loss.inside"},
        ),
    ):
        told = finding(result(document(**entries)), "draft.face_velocity")
        rests = {basis.key for basis in told.basis}
        assert {key for key in rests if key.startswith(("draft.throat", "draft.heat_loss"))} == keys


def without_flow(run: Run) -> Run:
    return replace(run, flow=None, reason=Reason.SEALED)


def test_without_a_steady_draft_each_answer_says_so(drafted: dict[int, tuple[Job, State]]) -> None:
    """Of the air that the fire draws it is no warning: nothing burns."""
    made = drafted[1][1].draft
    assert made is not None
    for id, warns in (("draft.face_velocity", True), ("air.demand", False)):
        (told,) = set_to(drafted[1], id, main=without_flow(made.main))
        assert (told.verdict, told.caution is not None) == ("SHORT", warns)
        assert told.text == "No steady draft: the house lets no air in."


# At light-up 1 Pa is enough (reference value); what is told has one decimal.
@pytest.mark.parametrize(
    ("lifts", "verdict", "words"),
    [
        (1.0, "MEETS", "1.0 Pa carries smoke up"),
        (0.99, "REFER", "1.0 Pa carries smoke up"),
        (0.05, "REFER", "0.1 Pa carries smoke up"),
        (0.04, "REFER", "nothing carries smoke up"),
        (0.0, "REFER", "nothing carries smoke up"),
        (-0.04, "REFER", "nothing carries smoke up"),
        (-0.05, "REFER", "0.1 Pa pushes smoke down"),
        (-2.0, "REFER", "2.0 Pa pushes smoke down"),
    ],
)
def test_starting_it_goes_by_what_lifts_the_gas(
    drafted: dict[int, tuple[Job, State]], lifts: float, verdict: str, words: str
) -> None:
    (told,) = set_to(drafted[1], "draft.start", light_up=lifts)
    assert told.verdict == verdict
    assert told.text.startswith(f"At light-up {words}. In the first quarter of an hour")


# 2 Pa is enough (reference value); SHORT only where the flue turns round.
@pytest.mark.parametrize(
    ("low", "pull", "high", "verdict"),
    [
        (2.0, 2.1, 2.2, "MEETS"),
        (1.9, 2.1, 2.2, "REFER"),
        (-0.2, -0.1, 0.0, "REFER"),
        (-0.2, -0.1, -0.01, "SHORT"),
        (0.1, 0.2, 0.3, "REFER"),
    ],
)
def test_as_it_burns_down_the_whole_band_decides(
    drafted: dict[int, tuple[Job, State]], low: float, pull: float, high: float, verdict: str
) -> None:
    made = drafted[1][1].draft
    assert made is not None
    ends = replace(made.ends, burn_down=Span(low, high))
    (told,) = set_to(drafted[1], "draft.no_flow", burn_down=pull, ends=ends, with_fans=None)
    assert told.verdict == verdict


@pytest.mark.parametrize(
    ("pull", "fans", "told"), [(3.0, 2.0, False), (3.0, 1.9, True), (1.5, 1.5, False), (1.5, 1.4, True)]
)
def test_the_fans_are_told_where_they_take_from_the_pull(
    drafted: dict[int, tuple[Job, State]], pull: float, fans: float, told: bool
) -> None:
    (finding,) = set_to(drafted[1], "draft.no_flow", burn_down=pull, with_fans=fans)
    assert ("With the fans running" in finding.text) is told


def test_a_breeze_is_told_only_where_a_face_is_out_of_the_house() -> None:
    shut = "Shut one side whenever there is fire."
    for opens, breeze, apart in (("room", False, False), ("bedroom", False, True), ("screened", True, False)):
        doc = document(face=[document()["face"][0], second_face(opens_to=opens)])
        told = finding(result(doc), "draft.crossflow")
        assert ("No flue size cures that" in told.text) is breeze
        assert told.remedy == ((shut,) if breeze or apart else ())


# By the gaps of a shut face: what enters is no harm, what leaves is told to a tenth of a cfm.
@pytest.mark.parametrize(
    ("leak", "verdict", "words"),
    [
        (0.0, "MEETS", "Air enters by the gaps of the workshop doors, at least 0.0 cfm"),
        (0.01, "MEETS", "Air enters by the gaps of the workshop doors, at least 21.2 cfm (10.0 L/s)"),
        (
            -0.01,
            "MEETS",
            "Gas leaves by the gaps of the workshop doors into the side beyond, up to 21.2 cfm (10.0 L/s)",
        ),
    ],
)
def test_what_leaks_by_a_shut_face(
    drafted: dict[int, tuple[Job, State]], leak: float, verdict: str, words: str
) -> None:
    job, state = drafted[2]
    made = state.draft
    assert made is not None
    leaking = blowing(made.main, "workshop", leak)
    one_open = job, replace(state, open=("study",))
    (told,) = set_to(
        one_open,
        "draft.door_leak",
        main=leaking,
        ends=replace(made.ends, worse=leaking, better=leaking),
        also={},
    )
    assert told.verdict == verdict and words in told.text


# The house beside the outdoors, to the tenth that is told.
@pytest.mark.parametrize(
    ("pressure", "words"),
    [
        (-3.2, "3.2 Pa below"),
        (-0.05, "0.1 Pa below"),
        (-0.04, "level with"),
        (0.0, "level with"),
        (0.04, "level with"),
        (0.05, "0.1 Pa above"),
        (3.2, "3.2 Pa above"),
    ],
)
def test_how_the_house_stands_is_told(
    drafted: dict[int, tuple[Job, State]], pressure: float, words: str
) -> None:
    made = drafted[1][1].draft
    assert made is not None and made.main.flow is not None
    stands = replace(made.main, flow=replace(made.main.flow, house_pressure=pressure))
    (told,) = set_to(drafted[1], "house.suction", main=stands)
    assert told.text.endswith(f"With the fire, the fans off, it stands {words} outdoors.")


# 5 Pa (second-hand). A louver of metal is three quarters open, one of wood a quarter (NFPA 54 9.3.7.1): 100 in2 take 134 and 400.
INLET = "an inlet of 100 in2 free, about 134 in2 behind a metal louver or 400 in2 behind a wooden one"


@pytest.mark.parametrize(
    ("takes", "most", "words"),
    [
        (400.5, 300.5, "Run no more than 300 cfm of fans while there is fire."),
        (101.5, 1.5, "Run no more than 1 cfm of fans while there is fire."),
        (100.5, 0.5, "Keep the fans off while there is fire."),
    ],
)
def test_fewer_fans_or_an_inlet_cure_the_suction(
    drafted: dict[int, tuple[Job, State]], takes: float, most: float, words: str
) -> None:
    made = drafted[1][1].draft
    assert made is not None
    strong = Fans(takes * CFM, 6.0, most * CFM, 99.9 * INCH**2)
    ends = replace(made.ends, fans=Span(5.5, 6.5), tightest=strong)
    (told,) = set_to(drafted[1], "house.suction", fans=strong, ends=ends)
    assert told.text.startswith("The suction that the fans make in the house is 6.0 Pa")
    assert told.remedy == (words, f"Or let in 100 cfm: {INLET}; a screen takes more.")
    shut = replace(strong, inlet=None)
    (told,) = set_to(drafted[1], "house.suction", fans=shut, ends=replace(ends, tightest=shut))
    assert told.remedy == (words,)


@pytest.mark.parametrize(
    ("draw", "verdict", "remedies"), [(0.0, "MEETS", 0), (-0.1, "MEETS", 0), (0.1, "REFER", 1)]
)
def test_the_air_that_the_fire_draws_is_let_in(
    drafted: dict[int, tuple[Job, State]], draw: float, verdict: str, remedies: int
) -> None:
    made = drafted[1][1].draft
    assert made is not None
    supply = Supply(draw, 0.05, {}, 100 * CFM, 99.9 * INCH**2)
    ends = replace(made.ends, gives=Span(0.04, 0.06))
    (told,) = set_to(drafted[1], "air.demand", supply=supply, ends=ends)
    assert told.verdict == verdict
    assert told.remedy == (f"Let in 100 cfm: {INLET}; a screen takes more.",) * remedies
    assert ("draws nothing out of the house" in told.text) == (draw <= 0)


# The perimeter of an ellipse, by the elliptic integral of a general library.
@pytest.mark.parametrize("aspect", [1.0, 1.5, 2.0, 3.0])
def test_the_perimeter_of_a_flue(aspect: float) -> None:
    long = 12.0
    short = long / aspect
    area = math.pi / 4 * long * short
    row = step("A", "", "", Fraction(1), "in2", "")

    def flue(shape: str, area: float, aspect: float | None) -> Flue:
        sides = None if aspect is None else Reading.exact(Fraction(aspect))
        return Flue(Reading.exact(Fraction(area)), shape, "", row, aspect=sides)

    exact = 2 * long * ellipe(1 - 1 / aspect**2)
    assert perimeter(flue("oval", area, aspect)) == pytest.approx(exact, rel=1e-4)
    assert perimeter(flue("rectangular", long * short, aspect)) == pytest.approx(2 * (long + short))
    assert perimeter(flue("round", math.pi * 36, None)) == pytest.approx(math.pi * 12)
    assert perimeter(flue("square", 144, None)) == pytest.approx(48)
