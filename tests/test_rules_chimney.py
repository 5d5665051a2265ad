"""The chimney at the roof: height over every roof, crickets, framing, changes of size, spark screen and cap."""

import re
from fractions import Fraction
from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.rules.chimney_top import cricket_height, surface_distance

F = Fraction
Document = dict[str, Any]


def told(document: Document, id: str, edition: str = "irc-2021", stage: str = "found") -> list[Finding]:
    head = {"format": "hearthcalc-job", "version": 1, "face": [{"name": "room"}]}
    result = assess(Job.from_document(head | document), reference.load(edition)).stages[stage]
    return [f for f in result.findings if f.id == id]


def one(document: Document, id: str, edition: str = "irc-2021") -> Finding:
    (only,) = told(document, id, edition)
    return only


def roof(measured: bool = False, **entries: Any) -> Document:
    return {"about": {"measured": measured}, "roof": [{"name": "porch", "passes_through": True, **entries}]}


# IRC 2021 R1003.9: 3 ft over the point where it passes the roof, 2 ft over what is within 10 ft. R1003.18, R1003.6: 2 in and 6 in.
ROWS = {
    "chimney.above_roof": ({}, "above_penetration", "36", "35 15/16", "36 1/16"),
    "chimney.within_radius": ({"distance": "10 ft"}, "above_highest", "24", "23 15/16", "24 1/16"),
    "chimney.roof_framing": ({}, "framing_gap", "2", "1 15/16", "2 1/16"),
    "chimney.size_change": ({}, "size_change_gap", "6", "5 15/16", "6 1/16"),
}


@pytest.mark.parametrize(("id", "row"), ROWS.items())
def test_each_distance_at_its_limit_and_on_both_sides(
    id: str, row: tuple[dict[str, str], str, str, str, str]
) -> None:
    given, key, limit, under, over = row
    at = one(roof(**given, **{key: limit}), id)
    assert at.verdict == "MEETS"
    assert at.text.endswith("exactly at the limit.")
    short = one(roof(**given, **{key: under}), id)
    assert short.verdict == "SHORT"
    assert short.remedy
    assert one(roof(**given, **{key: over}), id).verdict == "MEETS"
    assert one(roof(**given), id).missing == (f"roof.porch.{key}",)


def test_what_a_roof_lacks_is_named() -> None:
    bare = {"roof": [{"name": "porch"}]}
    assert one(bare, "chimney.above_roof").missing == (
        "roof.porch.passes_through",
        "roof.porch.above_penetration",
    )
    assert one(bare, "chimney.within_radius").missing == ("roof.porch.distance", "roof.porch.above_highest")
    assert told(bare, "chimney.roof_framing") == []


def test_a_roof_that_the_chimney_does_not_pass_asks_only_for_the_radius() -> None:
    job = {"roof": [{"name": "barn", "passes_through": False, "distance": "4 ft", "above_highest": "20"}]}
    for id in ("chimney.above_roof", "chimney.cricket", "chimney.roof_framing", "chimney.size_change"):
        assert told(job, id) == []
    assert one(job, "chimney.within_radius").verdict == "SHORT"


@pytest.mark.parametrize(
    ("key", "id"), [("above_penetration", "chimney.above_roof"), ("above_highest", "chimney.within_radius")]
)
def test_a_chimney_built_up_as_told_meets(key: str, id: str) -> None:
    short = one(roof(distance="0", **{key: "20"}), id)
    match = re.search(r"up by ([\d/ ]+) in", short.remedy[0])
    assert match
    assert one(roof(distance="0", **{key: str(20 + int(match[1]))}), id).verdict == "MEETS"


# The radius, and the tape at its edge (1/8 in, common practice without a source).
@pytest.mark.parametrize(
    ("distance", "over", "measured", "verdict"),
    [
        ("10 ft", "0", False, "SHORT"),
        ("10 ft 1/16 in", "0", False, "MEETS"),
        ("10 ft", "0", True, "CLOSE"),
        ("9 ft 11 7/8 in", "0", True, "SHORT"),
        ("10 ft 1/8 in", "0", True, "CLOSE"),
        ("10 ft 1/4 in", "0", True, "MEETS"),
        ("10 ft", "24", True, "MEETS"),
        ("5 ft", "23 7/8", True, "CLOSE"),
        ("5 ft", "23 3/4", True, "SHORT"),
    ],
)
def test_only_what_is_within_10_ft_counts(distance: str, over: str, measured: bool, verdict: str) -> None:
    finding = one(roof(measured, distance=distance, above_highest=over), "chimney.within_radius")
    assert finding.verdict == verdict


def test_beyond_the_radius_a_nearer_part_is_told_of() -> None:
    finding = one(roof(distance="12 ft", above_highest="0"), "chimney.within_radius")
    assert "enter that as a roof of its own" in finding.text


# IRC 2021 Table R1003.20; every row is the rise over 24, and between them that is this tool's reading.
@pytest.mark.parametrize(
    ("pitch", "height", "policy"),
    [
        ("12:12", F(22), False),
        ("8:12", F(44, 3), False),
        ("6:12", F(11), False),
        ("4:12", F(22, 3), False),
        ("3:12", F(11, 2), False),
        ("5:12", F(55, 6), True),
        ("10:12", F(55, 3), True),
    ],
)
def test_a_cricket_by_the_slope_of_the_roof(pitch: str, height: F, policy: bool) -> None:
    wide = {"width_along_ridge": "44", "pitch": pitch, "crosses_ridge": False}
    assert cricket_height(F(44), F(int(pitch.split(":")[0]), 12)) == height
    short = one(roof(**wide, cricket_height="0"), "chimney.cricket")
    assert (short.verdict, short.required and short.required.value) == ("SHORT", height)
    built = re.search(r"cricket of ([\d/ ]+) in", short.remedy[0])
    assert built
    finding = one(roof(**wide, cricket_height=built[1]), "chimney.cricket")
    assert finding.verdict == "MEETS"
    assert ("policy" in [b.standing for b in finding.basis]) == policy


@pytest.mark.parametrize(
    ("entries", "verdict"),
    [
        ({"width_along_ridge": "30"}, "MEETS"),
        ({"width_along_ridge": "29 15/16"}, "MEETS"),
        ({"width_along_ridge": "30 1/16"}, "MEASURE"),
        ({"width_along_ridge": "30 1/16", "crosses_ridge": True}, "MEETS"),
        ({"width_along_ridge": "40", "crosses_ridge": False, "pitch": "6:12"}, "MEASURE"),
        (
            {"width_along_ridge": "40", "crosses_ridge": False, "pitch": "2:12", "cricket_height": "9"},
            "REFER",
        ),
        (
            {"width_along_ridge": "40", "crosses_ridge": False, "pitch": "14:12", "cricket_height": "40"},
            "REFER",
        ),
        ({}, "MEASURE"),
    ],
)
def test_when_a_cricket_is_asked_for(entries: dict[str, Any], verdict: str) -> None:
    assert one(roof(**entries), "chimney.cricket").verdict == verdict


def test_the_tape_decides_whether_a_cricket_is_asked_for() -> None:
    job = roof(True, width_along_ridge="30", crosses_ridge=False, pitch="6:12", cricket_height="0")
    finding = one(job, "chimney.cricket")
    assert finding.verdict == "CLOSE"
    assert "0 in" in finding.text and "7 1/2 in" in finding.text


# IRC 2021 R1003.9.2 and R1003.9.3: four times the flue. 13x13 has 127 in2 by Table R1003.14(2).
@pytest.mark.parametrize(
    ("key", "id"), [("arrestor_area", "chimney.arrestor_area"), ("cap_area", "chimney.cap_area")]
)
@pytest.mark.parametrize(
    ("free", "verdict"), [("508 in2", "MEETS"), ("507.9 in2", "SHORT"), ("508.1 in2", "MEETS")]
)
def test_screen_and_cap_leave_four_times_the_flue(key: str, id: str, free: str, verdict: str) -> None:
    finding = one(
        {
            "flue": {"liner": "13x13", "cap": "open", key: free}
            | ({"cap_area": "600 in2"} if key != "cap_area" else {})
        },
        id,
    )
    assert finding.verdict == verdict
    if verdict == "SHORT":
        assert finding.remedy == ("Fit one that leaves 508 in2 free.",)
        assert "507.9 in2 free; at least 508 in2" in finding.text


@pytest.mark.parametrize(
    ("flue", "missing"),
    [
        ({}, ("flue.cap",)),
        ({"cap": "unknown"}, ("flue.cap",)),
        ({"cap": "restrictive"}, ("flue.cap_area",)),
        ({"cap": "open", "cap_area": "600 in2"}, ("flue.liner",)),
    ],
)
def test_what_a_cap_lacks_is_named(flue: dict[str, str], missing: tuple[str, ...]) -> None:
    assert one({"flue": flue}, "chimney.cap_area").missing == missing


def test_without_a_cap_or_a_screen_nothing_is_asked() -> None:
    assert told({"flue": {"cap": "none"}}, "chimney.cap_area") == []
    assert told({"flue": {"cap": "none"}}, "chimney.arrestor_area") == []


def test_every_roof_is_judged_also_a_planned_one() -> None:
    job = roof(above_penetration="38") | {
        "planned": {"roof": [{"name": "terrace", "passes_through": True, "above_penetration": "30"}]}
    }
    assert [(f.item, f.verdict) for f in told(job, "chimney.above_roof")] == [("porch", "MEETS")]
    planned = told(job, "chimney.above_roof", stage="planned")
    assert [(f.item, f.verdict) for f in planned] == [("porch", "MEETS"), ("terrace", "SHORT")]


def test_the_distance_to_a_sloped_roof_is_square_to_it() -> None:
    assert surface_distance(F(50), F(3, 4)) == 40  # 3-4-5
