"""What cannot both be true, on both sides of where it begins.

Plain geometry, and the tape's 1/8 in either way (common practice, no source).

The house is the shared one in which every answer meets. Two entries are moved apart until a tape could no longer read both.
"""

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from hearthcalc import jobfile, reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import Job, set_entry

CODE = reference.load("irc-2021")
SOUND = jobfile.load(Path(__file__).parent / "jobs" / "sound.hearth.toml").document()
SIDE = {"name": "den", "side": "left", "width": "20", "height": "27"}
FIGURE = "flue.figure_area"


def judged(changes: dict[str, Any], faces: list[dict[str, Any]] | None = None) -> tuple[Finding, ...]:
    document: Any = SOUND
    for address, value in changes.items():
        document = set_entry(document, address, value)
    document = {**document, "face": [*document["face"], *(faces or [])]}
    return assess(Job.from_document(document), CODE).stages["found"].findings


def items(findings: tuple[Finding, ...]) -> list[str | None]:
    return [finding.item for finding in findings if finding.id == "record.agreement"]


def test_nothing_in_the_sound_house_disagrees() -> None:
    assert items(judged({})) == []


def test_a_figure_read_for_an_opening_that_is_not_known_disagrees_with_nothing() -> None:
    wrong = {FIGURE: "4000 in2"}
    assert items(judged(wrong)) == ["figure and opening"]
    assert items(judged(wrong | {"face.parlour.width": None})) == []


AWAY = {"roof.main roof.crosses_ridge": False, "roof.main roof.above_highest": "40"}
ROOF = AWAY | {"roof.main roof.distance": "10 ft"}
LEVEL = AWAY | {"roof.main roof.distance": "2 ft"}


def roof(entries: dict[str, Any]) -> dict[str, Any]:
    return {address.replace("main roof", '"main roof"'): value for address, value in entries.items()}


@pytest.mark.parametrize(
    ("address", "agree", "conflict", "more", "item", "rests"),
    [
        ("face.parlour.lintel.span", "29 3/4", "29 11/16", {}, "parlour: span and width", "flue.area"),
        ("firebox.throat_width", "30 1/4", "30 5/16", {}, "throat and firebox width", "firebox.passageway"),
        ("firebox.throat_depth", "21 1/4", "21 5/16", {}, "throat and firebox depth", "firebox.throat_depth"),
        ("firebox.damper_area", "636 in2", "637 in2", {}, "damper and firebox", "firebox.passageway"),
        ("firebox.throat_height", "26 3/4", "26 11/16", {}, "parlour: throat and lintel", "flue.area"),
        ("flue.height", "61 11/16 in", "61 5/8 in", {}, "smoke chamber and flue", "smoke_chamber.height"),
        ("flue.height", "59 13/16 in", "59 3/4 in",
         {"firebox.throat_height": None, "face.parlour.height": "60", "face.parlour.hearth.front": "24"},
         "parlour: flue and opening", "hearth.front"),
        ("roof.main roof.above_penetration", "115", "115 1/16", ROOF, "main roof: pitch and heights", "chimney.above_roof"),
        ("roof.main roof.above_penetration", "85", "84 15/16", ROOF, "main roof: pitch and heights", "chimney.above_roof"),
        ("roof.main roof.above_penetration", "64", "64 1/16", LEVEL, "main roof: pitch and heights", "chimney.above_roof"),
        ("roof.main roof.above_penetration", "40", "39 15/16", LEVEL, "main roof: pitch and heights", "chimney.above_roof"),
        ("face.parlour.hearth.layers", [{"material": "brick", "thickness": "3 1/2"}],
         [{"material": "brick", "thickness": "3 9/16"}], {}, "parlour: hearth and layers", "hearth.thickness"),
        ("face.parlour.hearth.layers", [{"material": "brick", "thickness": "2 1/2"}],
         [{"material": "brick", "thickness": "1"}, {"material": "granite", "thickness": "1 7/16"}],
         {}, "parlour: hearth and layers", "hearth.thickness"),
    ],
)  # fmt: skip
def test_two_entries_agree_as_far_as_a_tape_reads(
    address: str, agree: Any, conflict: Any, more: dict[str, Any], item: str, rests: str
) -> None:
    """The last reading that can stand with the others, and the next that cannot; what rests on either then waits."""
    entries = roof(more | {address: agree})
    assert items(judged(entries)) == []
    findings = judged(roof(more | {address: conflict}))
    assert items(findings) == [item]
    (told,) = (finding for finding in findings if finding.id == "record.agreement")
    assert told.verdict is Verdict.MEASURE
    assert told.text.startswith("Cannot both be right: ")
    assert roof({address: ""}).keys() <= set(told.missing)
    waiting = [finding for finding in findings if "cannot both be right" in finding.text]
    assert rests in {finding.id for finding in waiting}
    assert {finding.verdict for finding in waiting} == {Verdict.MEASURE}


@pytest.mark.parametrize(("width", "said"), [("21 1/4", []), ("21 5/16", ["den: width and depth"])])
def test_an_opening_in_the_side_is_no_wider_than_the_firebox_is_deep(width: str, said: list[str]) -> None:
    assert items(judged({}, [SIDE | {"width": width}])) == said


def test_an_opening_in_the_side_does_not_make_the_firebox_wider() -> None:
    """A throat 30 1/4 in wide stands over the opening in front, 30 in, whatever stands at the side."""
    assert items(judged({"firebox.throat_width": "30 5/16"}, [SIDE])) == ["throat and firebox width"]


def test_the_widest_of_two_opposite_openings_is_the_firebox() -> None:
    back = SIDE | {"name": "bar", "side": "back", "width": "34"}
    assert items(judged({"firebox.throat_width": "34 1/4"}, [back])) == []
    assert items(judged({"firebox.throat_width": "34 5/16"}, [back])) == ["throat and firebox width"]
    assert (
        items(judged({"firebox.throat_width": "60"}, [{"name": "bar", "side": "back", "height": "27"}])) == []
    )


def test_a_damper_may_open_as_much_as_the_firebox_can_be() -> None:
    """30 1/8 by 21 1/8 in, the most that the tape allows."""
    assert items(judged({"firebox.damper_area": "636.390625 in2"})) == []


@pytest.mark.parametrize("absent", ["pitch", "distance", "above_penetration", "above_highest"])
def test_a_roof_of_which_something_is_not_known_contradicts_nothing(absent: str) -> None:
    entries = ROOF | {"roof.main roof.above_penetration": "200", f"roof.main roof.{absent}": None}
    assert items(judged(roof(entries))) == []


@pytest.mark.parametrize(
    ("entries", "id", "said"),
    [
        ({"face.parlour.lintel.span": "29 11/16"}, "record.agreement", "Cannot both be right: "),
        (
            {"about.amendments": "Tarn Hollow"},
            "record.amendments",
            "The job uses the amendments of Tarn Hollow",
        ),
    ],
)
def test_a_listing_settles_nothing_that_is_wrong_with_the_record(
    entries: dict[str, str], id: str, said: str
) -> None:
    """A maker's instructions stand in the place of rules for masonry, and of no others."""
    for construction in ("masonry", "factory-built"):
        findings = judged(entries | {"fireplace.construction": construction})
        assert [f.text.startswith(said) for f in findings if f.id == id] == [True]


def test_each_side_has_one_face() -> None:
    findings = judged({}, [SIDE | {"side": "front"}])
    assert items(findings) == ["parlour and den"]
    (told,) = (finding for finding in findings if finding.id == "record.agreement")
    assert set(told.missing) == {"face.parlour.side", "face.den.side"}
    assert items(judged({}, [SIDE, {**SIDE, "name": "loft", "side": "right"}])) == []


@pytest.mark.parametrize(
    ("share", "said"),
    [
        ("1.25", []),
        ("1.26", ["liner and inside of the flue"]),
        ("0.75", []),
        ("0.74", ["liner and inside of the flue"]),
    ],
)
def test_a_liner_and_what_is_measured_inside_it_have_about_one_area(share: str, said: list[str]) -> None:
    named = Fraction(127)  # ASTM C315 13x13 in the code's table R1003.17(2)
    measured = named * Fraction(share)
    assert items(judged({"flue.area": f"{float(measured)} in2"})) == said


@pytest.mark.parametrize(
    ("liner", "shape", "agree"),
    [
        ("13x13", "square", True), ("13x13", "rectangular", True), ("13x13", "round", False), ("13x13", "oval", False),
        ("8.5x18", "rectangular", True), ("8.5x18", "square", False), ("12", "round", True), ("12", "square", False),
    ],
)  # fmt: skip
def test_a_liner_is_of_the_shape_that_the_flue_is(liner: str, shape: str, agree: bool) -> None:
    """Else the easier share of IRC R1003.15.1 would decide."""
    said = items(judged({"flue.liner": liner, "flue.shape": shape}))
    assert said == ([] if agree else ["liner and shape of the flue"])


@pytest.mark.parametrize(
    ("shape", "agree"), [("round", True), (None, True), ("square", False), ("oval", False)]
)
def test_only_a_round_flue_has_a_diameter(shape: str | None, agree: bool) -> None:
    """Else the share of a round flue would decide, 1/12 for 1/10 (IRC R1003.15.1)."""
    said = items(
        judged({"flue.liner": None, "flue.inside": None, "flue.diameter": "11", "flue.shape": shape})
    )
    assert said == ([] if agree else ["shape and diameter of the flue"])


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        (
            {"area": "300 in2", "diameter": "10"},
            ["area and diameter of the flue"],
        ),  # 78.5 in2 by the diameter: geometry
        ({"area": "60 in2", "diameter": "10"}, []),
        ({"area": "300 in2", "inside": "14 x 16"}, ["area and inside of the flue"]),
        ({"area": "300 in2", "inside": "15 x 15"}, []),  # a quarter of the larger
        ({"diameter": "10", "inside": "10 x 10"}, []),
        ({"diameter": "10", "inside": "12 x 12"}, ["diameter and inside of the flue"]),
        ({"diameter": "10", "inside": "11 1/2 x 11 1/2", "shape": "round"}, []),
    ],
)
def test_two_measurements_of_one_flue_give_about_one_area(entries: dict[str, str], said: list[str]) -> None:
    """Own policy: within a quarter. The larger one never passes alone."""
    flue = {f"flue.{key}": value for key, value in entries.items()}
    findings = judged({"flue.liner": None, **flue})
    assert items(findings) == said
    (area,) = (finding for finding in findings if finding.id == "flue.area")
    assert (area.verdict == "MEASURE") == bool(said)


@pytest.mark.parametrize(
    ("of", "said"),
    [("2", []), ("0.5", []), ("2.01", ["figure and opening"]), ("0.49", ["figure and opening"])],
)
def test_what_is_read_off_the_figure_is_about_what_the_share_gives(of: str, said: list[str]) -> None:
    """Half to twice a tenth of the opening: 30 by 27 in, a square flue (IRC R1003.15.1)."""
    wanted = Fraction(30 * 27, 10)
    findings = judged({FIGURE: f"{float(wanted * Fraction(of))} in2"})
    assert items(findings) == said


def test_what_is_planned_is_held_together_too() -> None:
    """A wider opening under the lintel that stands: its span is planned anew, or it cannot be right."""
    changes = {"planned.face.parlour.width": "34", "planned.face.parlour.lintel.span": "32",
               "planned.face.parlour.jamb_moved": "both"}  # fmt: skip
    document: Any = SOUND
    for address, value in changes.items():
        document = set_entry(document, address, value)
    stages = assess(Job.from_document(document), CODE).stages
    assert items(stages["found"].findings) == []
    assert "parlour: span and width" in items(stages["planned"].findings)


# From 30 in to 13 in it is 8 1/2 in on each side at the least: over 8 1/2 in of height that is 45 degrees.
@pytest.mark.parametrize(
    ("height", "lean", "conflict"),
    [
        ("8 1/2", "40 deg", False),
        ("8", "42 deg", False),
        ("7", "40 deg", True),
        # 5 degrees are left to whoever reads the lean, and 1/8 in to each tape: 8 7/16 in on a side, over that height.
        ("8 5/16", "40 deg", False),
        ("8 1/4", "40 deg", True),
        # So near to level, a degree is as wide as any throat.
        ("0", "83.9 deg", True),
        ("0", "84 deg", False),
        ("0", "84.1 deg", False),
    ],
)
def test_a_smoke_chamber_cannot_lean_less_than_its_ends_ask(height: str, lean: str, conflict: bool) -> None:
    found = items(judged({"firebox.smoke_chamber_height": height, "firebox.smoke_chamber_slope": lean}))
    assert ("smoke chamber and lean" in found) == conflict


def test_a_job_of_no_place_asks_for_no_amendments() -> None:
    amended = replace(CODE, amended_for="Low Weir")
    for place, told in ((None, []), ("Low Weir", []), ("High Weir", ["REFER"])):
        job = Job.from_document(set_entry(SOUND, "about.amendments", place))
        findings = assess(job, amended).stages["found"].findings
        assert [str(f.verdict) for f in findings if f.id == "record.amendments"] == told


@pytest.mark.parametrize(("away", "conflict"), [("12 1/8", False), ("12 3/16", True)])
def test_a_ridge_that_runs_into_the_chimney_is_not_away_from_it(away: str, conflict: bool) -> None:
    """IRC R1003.20 lets a chimney that crosses the ridge go without a cricket; one that is away from it does not cross it."""
    found = judged(roof({"roof.main roof.distance": away, "roof.main roof.above_highest": "34"}))
    assert ("main roof: ridge and distance" in items(found)) == conflict


@pytest.mark.parametrize(
    ("logs", "gas", "conflict"),
    [
        ("unlisted", "0 Btu/h", True),
        ("vent-free", "0 Btu/h", True),
        ("listed", "20000 Btu/h", False),
        ("none", "0 Btu/h", False),
    ],
)
def test_gas_logs_burn_gas(logs: str, gas: str, conflict: bool) -> None:
    found = judged({"air.gas_logs": logs, "air.gas_input": gas, "firebox.clamp_area": "40 in2"})
    assert ("gas logs and input" in items(found)) == conflict
    if conflict:
        told = [
            f
            for f in found
            if f.id in ("air.gas_room_volume", "gas_logs.damper_opening", "gas_logs.location")
        ]
        assert told and "MEETS" not in {finding.verdict for finding in told}
