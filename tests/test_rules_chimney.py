"""The chimney at the roof: height over every roof, crickets, framing, changes of size, spark screen and cap."""

import re
from fractions import Fraction
from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Amount, Job
from hearthcalc.job.record import with_values
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
    made = {"name": "porch", "passes_through": True, **entries}
    return {
        "about": {"measured": measured},
        "flue": {"place": "inside"},
        "roof": [{key: value for key, value in made.items() if value is not None}],
    }


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
    bare = one(roof(**given), id)
    assert bare.missing == (f"roof.porch.{key}",)
    assert bare.required and bare.required.value == F(limit)


# IRC R1003.9: 2 ft over whatever is within 10 ft. A tape that may be off by 1/8 in leaves a roof beside it in doubt; one that the chimney
# passes begins at the chimney.
@pytest.mark.parametrize(
    ("passes", "away", "over", "verdict"),
    [
        (True, "10 ft", "23", "SHORT"),
        (False, "10 ft", "23", "CLOSE"),
        (False, "9 ft 11 13/16 in", "23", "SHORT"),
        (False, "10 ft 1/8 in", "23", "CLOSE"),
        (False, "10 ft 1/4 in", "23", "REFER"),
        (False, "10 ft", "24", "MEETS"),
    ],
)
def test_a_roof_at_the_edge_of_ten_feet(passes: bool, away: str, over: str, verdict: str) -> None:
    job = roof(True, passes_through=passes, distance=away, above_highest=over, above_penetration="48")
    assert one(job, "chimney.within_radius").verdict == verdict


# UNI 10683, as makers' manuals reprint its table: pitches of 15 to 60 degrees; away from the ridge 1.0 m over the roof at 15, 1.3 m at 30.
@pytest.mark.parametrize(
    ("pitch", "away", "over", "verdict"),
    [
        ("14 deg", "5000", "3000", "REFER"),
        ("15 deg", "5000", "999", "SHORT"),
        ("15 deg", "5000", "1000", "MEETS"),
        ("20 deg", "5000", "999", "SHORT"),
        ("20 deg", "5000", "1000", "REFER"),
        ("20 deg", "5000", "1299", "REFER"),
        ("20 deg", "5000", "1300", "MEETS"),
        ("30 deg", "5000", "1299", "SHORT"),
        ("60 deg", "5000", "2600", "MEETS"),
        ("61 deg", "5000", "9000", "REFER"),
        ("15 deg", "1851", "1000", "MEETS"),
        (
            "15 deg",
            "1850",
            "1000",
            "MEASURE",
        ),  # both heights count, and nobody measured the one over the ridge
        ("15 deg", "1850", "999", "MEASURE"),
    ],
)
def test_an_italian_outlet_by_the_rows_of_its_table(pitch: str, away: str, over: str, verdict: str) -> None:
    job = roof(pitch=pitch, distance=away, above_penetration=over) | {"units": "mm"}
    told = one(job, "chimney.above_roof", "italy-uni")
    assert told.verdict == verdict
    assert told.missing == (("roof.porch.above_highest",) if verdict == "MEASURE" else ())


# The same table at a printed distance, where both heights count: 500 mm over a ridge, and at 15 degrees 1.0 m over the roof. The tape reads
# 3 mm either way (common practice, no source): it may tell whether the ridge is near.
@pytest.mark.parametrize(
    ("measured", "away", "verdict", "why"),
    [
        (False, "1849", "MEETS", ""),
        (False, "1850", "REFER", "The table does not say which of the two holds here."),
        (False, "1851", "SHORT", ""),
        (True, "1846", "MEETS", ""),
        (True, "1849", "CLOSE", "The measuring tolerance decides"),
        (True, "1850", "REFER", "The table does not say"),
        (True, "1851", "CLOSE", "The measuring tolerance decides"),
        (True, "1854", "SHORT", ""),
    ],
)
def test_an_italian_outlet_at_the_edge_of_a_row(measured: bool, away: str, verdict: str, why: str) -> None:
    job = roof(measured, pitch="15 deg", distance=away, above_penetration="990", above_highest="504")
    told = one(job | {"units": "mm"}, "chimney.above_roof", "italy-uni")
    assert told.verdict == verdict and why in told.text


# Approved Document J, diagram 17: A up to 600 mm from the ridge, 600 mm over it; B further off, and over the ridge it is enough.
@pytest.mark.parametrize(
    ("away", "verdict", "zones"),
    [("597", "SHORT", "A"), ("598", "CLOSE", "AB"), ("602", "CLOSE", "AB"), ("604", "MEETS", "AB")],
)
def test_an_english_outlet_at_the_edge_of_its_zone_rests_on_both(away: str, verdict: str, zones: str) -> None:
    job = roof(True, distance=away, above_highest="500", above_penetration="1100", pitch="45 deg")
    told = one(job | {"units": "mm"}, "chimney.above_roof", "england-adj")
    assert told.verdict == verdict
    assert {b.clause[-1] for b in told.basis if b.clause.startswith("Diagram 17, ")} == set(zones)


def test_an_italian_outlet_near_its_ridge_waits_for_its_height_over_the_roof() -> None:
    near = roof(pitch="15 deg", distance="1850", above_highest="504") | {"units": "mm"}
    told = one(near, "chimney.above_roof", "italy-uni")
    assert (told.verdict, told.missing) == ("MEASURE", ("roof.porch.above_penetration",))


# IRC R1003.9: 3 ft over where it passes the roof, 2 ft over what is within 10 ft; one height cures both.
@pytest.mark.parametrize(("away", "up"), [("9 ft", "4 in"), ("10 ft", "4 in"), ("10 ft 1/16 in", "1 in")])
def test_the_chimney_is_built_up_for_what_is_within_ten_feet_too(away: str, up: str) -> None:
    short = one(roof(above_penetration="35", above_highest="20", distance=away), "chimney.above_roof")
    assert short.remedy == (f"Build the chimney up by {up}, or keep the roof lower.",)


# The same by a tape that may be off by 1/8 in.
@pytest.mark.parametrize(
    ("over", "verdict"), [("23 3/4", "SHORT"), ("23 7/8", "MEASURE"), ("24", "MEETS"), ("24 1/8", "MEETS")]
)
def test_a_ridge_that_the_chimney_may_just_be_over_is_asked_how_far_it_is(over: str, verdict: str) -> None:
    job = roof(True, above_highest=over, above_penetration="60", pitch="6:12")
    assert one(job, "chimney.within_radius").verdict == verdict


@pytest.mark.parametrize(("over", "verdict"), [("83 15/16", "SHORT"), ("84", "MEASURE")])
def test_a_chimney_too_low_wherever_the_ridge_is_waits_for_no_distance(over: str, verdict: str) -> None:
    """IRC R1003.9: 2 ft over the ridge within 10 ft, or over what a roof of 6:12 rises within them, 60 in + 24 in."""
    job = roof(above_highest="96 below", above_penetration=over, pitch="6:12")
    low = one(job, "chimney.within_radius")
    assert (low.verdict, low.missing) == (verdict, () if verdict == "SHORT" else ("roof.porch.distance",))
    assert one(job | {"roof": [job["roof"][0] | {"distance": "30 ft"}]}, "chimney.within_radius").verdict == (
        "SHORT" if verdict == "SHORT" else "MEETS"
    )


def test_two_feet_over_the_highest_part_are_enough_wherever_it_is() -> None:
    """IRC R1003.9, however far that part is away: nothing that is lower asks for more."""
    assert one(roof(above_highest="24"), "chimney.within_radius").verdict == "MEETS"
    assert one(roof(above_highest="23 15/16"), "chimney.within_radius").missing == ("roof.porch.distance",)
    far = one(roof(above_highest="24", distance="40 ft"), "chimney.within_radius")
    assert (far.verdict, "within 10 ft" in far.text) == ("MEETS", False)
    beyond = one(roof(distance="15 ft", pitch="6:12"), "chimney.within_radius")
    assert "roof.porch.above_highest" not in beyond.missing


# IBC 2113.5: a cricket from more than 30 in; how high, its table would say, which is not held. The tape reads 1/8 in either way.
@pytest.mark.parametrize(("wide", "verdict"), [("30 1/8", "REFER"), ("30 3/16", "SHORT")])
def test_a_cricket_is_missing_where_the_chimney_is_too_wide_for_sure(wide: str, verdict: str) -> None:
    job = roof(True, width_along_ridge=wide, crosses_ridge=False, cricket_height="0")
    assert one(job, "chimney.cricket", "ibc-2021").verdict == verdict


# IRC R1003.18: 2 in inside, 1 in outside. A new roof round the chimney may close it in.
@pytest.mark.parametrize(
    ("gap", "verdict"), [("15/16", "SHORT"), ("1", "REFER"), ("1 15/16", "REFER"), ("2", "MEETS")]
)
def test_framing_of_a_new_roof_at_a_chimney_outside(gap: str, verdict: str) -> None:
    new = {"name": "porch", "passes_through": True, "framing_gap": gap}
    job = {"about": {"measured": False}, "flue": {"place": "outside"}, "planned": {"roof": [new]}}
    (told_,) = told(job, "chimney.roof_framing", stage="planned")
    assert told_.verdict == verdict


def test_framing_at_a_chimney_that_stands_nobody_said_where() -> None:
    job = roof(framing_gap="1 1/2") | {"flue": {}}
    told_ = one(job, "chimney.roof_framing")
    assert told_.missing == ("flue.place",) and told_.text.startswith("2 in or 1 in minimum ")


def test_screen_and_cap_are_asked_for_by_what_is_known_of_them() -> None:
    """IRC R1003.9.2 and R1003.9.3: four times the flue, where there is a screen or a cap."""
    liner = {"flue": {"liner": "13x13"}}
    assert one(liner, "chimney.arrestor_area").missing == ("flue.arrestor_area",)
    assert told(liner, "chimney.arrestor_area", "england-adj") == []
    assert one(liner, "chimney.cap_area").missing == ("flue.cap",)
    capped = {"flue": {"liner": "13x13", "cap": "open"}}
    assert one(capped, "chimney.cap_area").missing == ("flue.cap_area",)
    assert told({"flue": {"liner": "13x13", "cap": "none"}}, "chimney.cap_area") == []


def test_a_listed_chimney_goes_by_its_listing() -> None:
    job = roof(above_penetration="40") | {"fireplace": {"construction": "factory-built"}}
    assert one(job, "chimney.above_roof").verdict == "REFER"


def test_what_a_roof_lacks_is_named() -> None:
    bare = {"roof": [{"name": "porch"}], "flue": {"place": "inside"}}
    assert one(bare, "chimney.above_roof").missing == (
        "roof.porch.passes_through",
        "roof.porch.above_penetration",
    )
    assert one(bare, "chimney.within_radius").missing == ("roof.porch.distance", "roof.porch.above_highest")
    for id, entry in (("roof_framing", "framing_gap"), ("size_change", "size_change_gap")):
        assert one(bare, f"chimney.{id}").missing == ("roof.porch.passes_through", f"roof.porch.{entry}")
    assert one(bare, "chimney.cricket").missing[0] == "roof.porch.passes_through"


# The limits stand in ROWS; nothing entered for a roof that the chimney may pass or not is judged before that is known.
@pytest.mark.parametrize(
    ("id", "row"), [(id, row) for id, row in ROWS.items() if id != "chimney.within_radius"]
)
def test_whether_the_chimney_passes_a_roof_is_known_before_it_is_judged(
    id: str, row: tuple[dict[str, str], str, str, str, str]
) -> None:
    given, key, limit, under, over = row
    for high in (limit, under, over):
        finding = one(roof(passes_through=None, **given, **{key: high}), id)
        assert finding.missing == ("roof.porch.passes_through",)
        assert finding.required and finding.required.value == F(limit)
        assert told(roof(passes_through=False, **given, **{key: high}), id) == []


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
        ("10 ft 1/16 in", "0", False, "REFER"),
        ("10 ft", "0", True, "CLOSE"),
        ("9 ft 11 7/8 in", "0", True, "SHORT"),
        ("10 ft 1/8 in", "0", True, "CLOSE"),
        ("10 ft 1/4 in", "0", True, "REFER"),
        ("10 ft", "24", True, "MEETS"),
        ("40 ft", "24", False, "MEETS"),
        ("40 ft", "23 15/16", False, "REFER"),
        ("5 ft", "23 7/8", True, "CLOSE"),
        ("5 ft", "23 3/4", True, "SHORT"),
    ],
)
def test_only_what_is_within_10_ft_counts_of_a_roof_beside_the_chimney(
    distance: str, over: str, measured: bool, verdict: str
) -> None:
    beside = roof(measured, passes_through=False, distance=distance, above_highest=over)
    finding = one(beside, "chimney.within_radius")
    assert finding.verdict == verdict
    if verdict == "REFER":
        assert "Enter the highest part that is within 10 ft" in finding.text


# IRC 2021 R1003.9: 2 ft over any part within 10 ft. A 6:12 roof rises 5 ft in 10 ft (geometry): 7 ft over where it is passed.
@pytest.mark.parametrize(
    ("entries", "verdict", "short"),
    [
        ({"above_penetration": "84"}, "MEETS", 0),
        ({"above_penetration": "83 15/16"}, "SHORT", F(1, 16)),
        ({"above_penetration": "36"}, "SHORT", 48),
        ({"above_penetration": "36", "above_highest": "0"}, "SHORT", 48),
        ({"above_penetration": "24", "pitch": "0:12"}, "MEETS", 0),
        ({"above_penetration": "23 15/16", "pitch": "0:12"}, "SHORT", F(1, 16)),
        ({"distance": "10 ft 1/16 in", "above_penetration": "36"}, "SHORT", 48),
        ({"above_penetration": "36", "above_highest": "24", "distance": "2 ft"}, "MEETS", 0),
    ],
)
def test_a_roof_that_the_chimney_passes_rises_up_to_10_ft_away(
    entries: dict[str, str], verdict: str, short: F | int
) -> None:
    finding = one(roof(**{"distance": "15 ft", "pitch": "6:12"} | entries), "chimney.within_radius")
    assert (finding.verdict, finding.margin and -finding.margin.value) == (verdict, short)
    if short == 48:
        assert "which rises 60 in from there within 10 ft; 84 in minimum: short by 48 in" in finding.text
        assert finding.remedy == ("Build the chimney up by 48 in, or keep the roof lower.",)


def test_such_a_roof_waits_for_its_pitch_and_for_where_it_is_passed() -> None:
    def waits(**entries: Any) -> tuple[str, ...]:
        return one(roof(distance="15 ft", **entries), "chimney.within_radius").missing

    assert waits() == ("roof.porch.above_penetration", "roof.porch.pitch")
    assert waits(pitch="6:12") == ("roof.porch.above_penetration",)
    assert waits(above_penetration="90") == ("roof.porch.pitch",)
    assert "roof.porch.passes_through" in waits(passes_through=None, above_penetration="90", pitch="6:12")
    assert waits(passes_through=False) == ("roof.porch.above_highest",)
    told = one(roof(distance="15 ft", pitch="6:12"), "chimney.within_radius")
    assert told.required and told.required.value == 84


def at_a_height(value: int, key: str, edition: str = "irc-2021", **entries: Any) -> list[Finding]:
    """The findings on a roof with a height that can be below nothing."""
    head = {"format": "hearthcalc-job", "version": 1, "face": [{"name": "room"}]}
    job = Job.from_document(head | roof(**entries))
    high = Amount(F(value), str(value))
    job = with_values(job, {"roof": (with_values(job.roof[0], {key: high}),)})
    return list(assess(job, reference.load(edition)).stages["found"].findings)


@pytest.mark.parametrize(
    ("key", "id", "value", "text", "short"),
    [
        (
            "above_highest", "chimney.within_radius", -54,
            "54 in below the highest part of the porch within 10 ft; 24 in over it minimum: short by 78 in.", 78,
        ),
        (
            "above_penetration", "chimney.above_roof", -2,
            "2 in below the highest point where it passes the porch; 36 in over it minimum: short by 38 in.", 38,
        ),
    ],
)  # fmt: skip
def test_a_top_below_the_roof_is_short_by_all_of_it(
    key: str, id: str, value: int, text: str, short: int
) -> None:
    (finding,) = [f for f in at_a_height(value, key, distance="5 ft") if f.id == id]
    assert (finding.verdict, finding.margin and finding.margin.value) == ("SHORT", -short)
    assert finding.text.endswith(text)
    assert finding.remedy == (f"Build the chimney up by {short} in, or keep the roof lower.",)


def test_a_roof_beside_the_chimney_and_over_its_top_is_told_so() -> None:
    findings = at_a_height(-54, "above_highest", passes_through=False, distance="15 ft")
    (finding,) = [f for f in findings if f.id == "chimney.within_radius"]
    assert finding.verdict == "REFER"
    assert "the chimney top is 54 in below it" in finding.text


# FeuVO 9(1) 1: 400 mm over the ridge or 1 m from the surface; BBR 6:743, second-hand: over the ridge. Heights in inches here.
def test_an_outlet_below_the_ridge_by_edition() -> None:
    for edition, short in (("sweden", F(54)), ("england-adj", 54 + F(6000, 254))):
        findings = at_a_height(
            -54, "above_highest", edition, distance="0", above_penetration="99", pitch="6:12"
        )
        (finding,) = [f for f in findings if f.id == "chimney.above_roof"]
        assert finding.verdict == "SHORT" and "54 in below the ridge" in finding.text
        assert finding.margin and finding.margin.value == -short * F(254, 10)
    findings = at_a_height(-54, "above_highest", "germany-feuvo", above_penetration="20", pitch="9:12")
    (finding,) = [f for f in findings if f.id == "chimney.above_roof"]
    # on a slope of 3:4, 1 m from the surface is 1.25 m straight up: 49 7/32 in, 29 7/32 in more than there is
    assert finding.remedy == ("Build the chimney up by 29 1/4 in.",)


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
        ({"crosses_ridge": True}, "MEETS"),
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


# IRC 2021 Table R1003.20: at 6:12 a quarter of the width, 40 in.
@pytest.mark.parametrize("gone", ["cricket_height", "crosses_ridge", "passes_through"])
def test_a_cricket_is_told_before_there_is_one(gone: str) -> None:
    entries = {"width_along_ridge": "40", "crosses_ridge": False, "pitch": "6:12", "cricket_height": "12"}
    finding = one(roof(**entries | {gone: None}), "chimney.cricket")
    assert finding.missing == (f"roof.porch.{gone}",)
    assert finding.required and finding.required.value == 10
    assert finding.remedy == ("Build a cricket of 10 in, flashed and counterflashed.",)


def test_a_chimney_across_the_ridge_is_exempt_only_where_the_code_exempts_it() -> None:
    # R1003.20; the building code's own rule, from memory, has no such exception and no table
    job = roof(width_along_ridge="40", crosses_ridge=True)
    assert one(job, "chimney.cricket").verdict == "MEETS"
    assert one(job, "chimney.cricket", "ibc-2021").verdict == "REFER"
    assert one(roof(crosses_ridge=True), "chimney.cricket", "ibc-2021").missing == (
        "roof.porch.width_along_ridge",
    )


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
        assert "507.9 in2 free; 508 in2 minimum" in finding.text


@pytest.mark.parametrize(
    ("flue", "missing"),
    [
        ({}, ("flue.liner", "flue.cap")),
        ({"cap": "unknown"}, ("flue.liner", "flue.cap")),
        ({"cap": "restrictive"}, ("flue.liner", "flue.cap_area")),
        ({"cap_area": "600 in2", "liner": "13x13"}, ("flue.cap",)),
        ({"cap": "restrictive", "liner": "13x13"}, ("flue.cap_area",)),
        ({"cap": "open", "cap_area": "600 in2"}, ("flue.liner",)),
    ],
)
def test_what_a_cap_lacks_is_named(flue: dict[str, str], missing: tuple[str, ...]) -> None:
    finding = one({"flue": flue}, "chimney.cap_area")
    assert finding.missing == missing
    if "liner" in flue:  # 127 in2
        assert finding.required and finding.required.value == 508
        assert finding.remedy == ("Fit one that leaves 508 in2 free.",)


def test_no_cap_and_no_screen_are_answers_and_nothing_entered_is_none() -> None:
    assert told({"flue": {"cap": "none"}}, "chimney.cap_area") == []
    assert one({"flue": {}}, "chimney.arrestor_area").missing == ("flue.liner", "flue.arrestor_area")
    assert one({"flue": {"arrestor_area": "0 in2"}}, "chimney.arrestor_area").verdict == "MEETS"


def test_every_roof_is_judged_also_a_planned_one() -> None:
    job = roof(above_penetration="38") | {
        "planned": {"roof": [{"name": "terrace", "passes_through": True, "above_penetration": "30"}]}
    }
    assert [(f.item, f.verdict) for f in told(job, "chimney.above_roof")] == [("porch", "MEETS")]
    planned = told(job, "chimney.above_roof", stage="planned")
    assert [(f.item, f.verdict) for f in planned] == [("porch", "MEETS"), ("terrace", "SHORT")]


def test_the_distance_to_a_sloped_roof_is_square_to_it() -> None:
    assert surface_distance(F(50), F(3, 4)) == 40  # 3-4-5


def above(edition: str, measured: bool = False, **entries: Any) -> Finding:
    document = roof(measured, **entries) | {"units": "mm"}
    return one(document, "chimney.above_roof", edition)


# Approved Document J, Diagram 17: up to 600 mm from the ridge 600 mm over it; elsewhere over the ridge, or 2300 mm clear of the
# slope (1150 mm straight up at 6:12) and 1000 mm over it. The tape, 3 mm: common practice, no source.
@pytest.mark.parametrize(
    ("entries", "measured", "verdict"),
    [
        ({"distance": "601", "above_highest": "1"}, False, "MEETS"),
        ({"distance": "600", "above_highest": "1"}, False, "SHORT"),
        (
            {"distance": "2300", "above_highest": "0", "above_penetration": "1150", "pitch": "6:12"},
            False,
            "MEETS",
        ),
        (
            {"distance": "2300", "above_highest": "0", "above_penetration": "1149", "pitch": "6:12"},
            False,
            "SHORT",
        ),
        (
            {"distance": "12000", "above_highest": "0", "above_penetration": "1000", "pitch": "1:12"},
            False,
            "MEETS",
        ),
        (
            {"distance": "12000", "above_highest": "0", "above_penetration": "999", "pitch": "1:12"},
            False,
            "SHORT",
        ),
        ({"distance": "603", "above_highest": "1"}, True, "CLOSE"),
        ({"distance": "604", "above_highest": "1"}, True, "MEETS"),
        ({"distance": "598", "above_highest": "1"}, True, "CLOSE"),
        ({"distance": "597", "above_highest": "1"}, True, "SHORT"),
        ({"distance": "600", "above_highest": "600"}, True, "MEETS"),
        ({"distance": "601", "above_highest": "0", "above_penetration": "1150"}, False, "MEASURE"),
        ({"above_highest": "600"}, False, "MEASURE"),
        ({"distance": "601", "above_highest": "1", "passes_through": None}, False, "MEASURE"),
    ],
)
def test_an_english_outlet_by_its_distance_from_the_ridge(
    entries: dict[str, Any], measured: bool, verdict: str
) -> None:
    finding = above("england-adj", measured, **entries)
    assert finding.verdict == verdict
    if verdict == "SHORT":
        up = re.search(r"up by (\d+) mm", finding.remedy[0])
        key = "above_penetration" if "above_penetration" in entries else "above_highest"
        assert up
        assert above("england-adj", **entries | {key: str(int(entries[key]) + int(up[1]))}).verdict == "MEETS"


# FeuVO 9(1) 1: 400 mm over the ridge, or 1 m from the surface: 1250 mm straight up on a slope of 3:4.
@pytest.mark.parametrize(
    ("entries", "measured", "verdict"),
    [
        ({"above_highest": "400"}, False, "MEETS"),
        ({"above_penetration": "1250", "pitch": "9:12"}, False, "MEETS"),
        ({"above_highest": "0", "above_penetration": "1249", "pitch": "9:12"}, False, "SHORT"),
        ({"above_highest": "397", "above_penetration": "1000", "pitch": "9:12"}, True, "CLOSE"),
        ({"above_highest": "0", "above_penetration": "1248", "pitch": "9:12"}, True, "CLOSE"),
        ({"above_highest": "399"}, False, "MEASURE"),
        ({"above_highest": "399", "pitch": "9:12"}, False, "MEASURE"),
        ({"above_highest": "399", "above_penetration": "1249"}, False, "MEASURE"),
        ({"above_penetration": "1249", "pitch": "9:12"}, False, "MEASURE"),
        ({"above_highest": "400", "passes_through": None}, False, "MEASURE"),
    ],
)
def test_a_german_outlet_by_the_better_of_two_ways(
    entries: dict[str, Any], measured: bool, verdict: str
) -> None:
    finding = above("germany-feuvo", measured, **entries)
    assert finding.verdict == verdict
    if verdict == "MEASURE":
        assert finding.required and finding.required.value == 400


@pytest.mark.parametrize(
    ("ridge", "surface", "up"), [("0", "1000", "250"), ("399", "1000", "1"), ("0", "700", "400")]
)
def test_a_german_chimney_goes_up_by_the_shorter_way(ridge: str, surface: str, up: str) -> None:
    finding = above("germany-feuvo", above_highest=ridge, above_penetration=surface, pitch="9:12")
    assert finding.remedy == (f"Build the chimney up by {up} mm.",)


def test_a_roof_of_an_edition_that_counts_other_parts_only_says_first_whether_it_is_passed() -> None:
    # ADJ Diagram 17, D
    given = {"distance": "1000", "above_highest": "599"}
    for passes, missing in ((None, ("roof.porch.passes_through",)), (False, ())):
        job = roof(passes_through=passes, **given) | {"units": "mm"}
        assert one(job, "chimney.within_radius", "england-adj").missing == missing
    assert told(roof(**given) | {"units": "mm"}, "chimney.within_radius", "england-adj") == []


def test_a_chimney_that_is_high_enough_over_a_roof_needs_no_distance_to_it() -> None:
    # IRC 2021 R1003.9: 2 ft over anything within 10 ft, wherever it is
    assert one(roof(above_highest="24"), "chimney.within_radius").verdict == "MEETS"
    assert one(roof(above_highest="23 15/16"), "chimney.within_radius").missing == ("roof.porch.distance",)


# BBR 6:743, general advice, second-hand: over the ridge, and 1.0 m over the covering.
@pytest.mark.parametrize(
    ("ridge", "over", "verdict"),
    [
        ("1", "1000", "MEETS"),
        ("1", "999", "SHORT"),
        ("0", "1000", "REFER"),
        (None, "1000", "MEASURE"),
        ("1", None, "MEASURE"),
    ],
)
def test_a_swedish_outlet_is_over_the_ridge_and_the_covering(
    ridge: str | None, over: str | None, verdict: str
) -> None:
    finding = above("sweden", above_highest=ridge, above_penetration=over)
    assert finding.verdict == verdict
    assert "level with the ridge" in finding.text or (finding.required and finding.required.value == 1000)
    if verdict == "SHORT":
        assert finding.remedy == ("Build the chimney up by 1 mm, or keep the roof lower.",)


def test_a_french_outlet_over_a_low_roof_and_over_what_is_near() -> None:
    """Arrêté of 22 October 1969, article 18: 1.20 m over a roof below 15 deg; 0.40 m over anything within 8 m."""
    for over, verdict in (("1200", "MEETS"), ("1199", "SHORT"), (None, "MEASURE")):
        finding = above("france", pitch="14.9 deg", above_penetration=over)
        assert finding.verdict == verdict and finding.required and finding.required.value == 1200
    unknown = above("france", above_penetration="1200")
    assert unknown.verdict == "MEASURE" and "pitch" in str(unknown.missing)
    steep = roof(pitch="15 deg", above_penetration="0") | {"units": "mm"}
    assert told(steep, "chimney.above_roof", "france") == []
    for high, verdict in (("400", "MEETS"), ("399", "SHORT")):
        near = roof(pitch="30 deg", distance="8000", above_highest=high) | {"units": "mm"}
        assert one(near, "chimney.within_radius", "france").verdict == verdict


def test_the_tape_at_the_edges_of_a_zone_and_of_a_cricket() -> None:
    # 600 mm, Approved Document J, Diagram 17; 30 in, IRC 2021 R1003.20; the tape, 3 mm and 1/8 in: common practice, no source
    at = above("england-adj", True, distance="600", above_highest="1")
    assert (at.verdict, at.required and at.required.value) == ("CLOSE", 600)
    given = {"crosses_ridge": False, "pitch": "6:12", "cricket_height": "0"}
    wide = [one(roof(True, width_along_ridge=w, **given), "chimney.cricket") for w in ("30 1/8", "30 1/4")]
    assert [str(finding.verdict) for finding in wide] == ["CLOSE", "SHORT"]


def test_slopes_and_heights_are_told_as_a_mason_says_them() -> None:
    given = {"width_along_ridge": "40", "crosses_ridge": False, "cricket_height": "9"}
    flat = one(roof(pitch="2:12", **given), "chimney.cricket")
    assert flat.text == "A roof of 2:12 is outside the table, 3:12 to 12:12."
    (work,) = one(roof(pitch="6:12", **given), "chimney.cricket").working
    assert work.line().endswith("40 in x 6 / 24 = 10 in")
    level = one(roof(passes_through=False, distance="12 ft", above_highest="0"), "chimney.within_radius")
    assert "the chimney top is 0 in over it" in level.text
