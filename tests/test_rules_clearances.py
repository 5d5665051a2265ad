"""What burns, and how near it may come: mantels, trim, framing, what touches the masonry, and the chimney by its place."""

import re
from fractions import Fraction
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace as made

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.tables import At, What

F = Fraction
Document = dict[str, Any]


def told(document: Document, edition: str = "irc-2021", stage: str = "found") -> list[Finding]:
    """The clearance findings of a job."""
    head = {
        "format": "hearthcalc-job",
        "version": 1,
        "asked": {"questions": ["clearances"]},
        "face": [{"name": "room", "width": "36", "height": "30"}],
    }
    result = assess(Job.from_document(head | document), reference.load(edition)).stages[stage]
    return [f for f in result.findings if f.subject == "clearance" and f.id != "clearance.looked"]


def near(measured: bool = False, **thing: Any) -> Document:
    return {"about": {"measured": measured}, "nearby": [{"name": "it", **thing}]}


def one(document: Document, edition: str = "irc-2021", stage: str = "found") -> Finding:
    (only,) = told(document, edition, stage)
    return only


# IRC 2021 R1001.11 exception 4: 6 in from the opening; within 12 in no more than 1/8 in out for each inch of distance.
@pytest.mark.parametrize(
    ("above", "out", "verdict"),
    [
        ("6", "3/4", "MEETS"),
        ("5 15/16", "1/2", "SHORT"),
        ("6 1/16", "3/4", "MEETS"),
        ("6", "13/16", "SHORT"),
        ("6", "11/16", "MEETS"),
        ("8", "1", "MEETS"),
        ("8", "1 1/16", "SHORT"),
        ("11 15/16", "1 1/2", "SHORT"),
        ("11 15/16", "1 31/64", "MEETS"),
        ("12", "10", "MEETS"),
        ("12 1/16", "10", "MEETS"),
    ],
)
@pytest.mark.parametrize(("what", "way"), [("mantel", "above"), ("mantel", "beside"), ("trim", "above")])
def test_wood_on_the_front_by_distance_and_projection(
    what: str, way: str, above: str, out: str, verdict: str
) -> None:
    finding = one(near(what=what, face="room", projection=out, **{way: above}))
    assert (finding.id, finding.verdict) == (f"clearance.{what}", verdict)
    assert finding.basis[0].clause == "R1001.11 exception 4"


def test_the_edge_of_the_zone_is_cleared_by_what_the_tape_may_be_off() -> None:
    at = one(near(True, what="mantel", face="room", above="12", projection="4"))
    assert at.verdict == "CLOSE"
    assert "the measuring tolerance decides whether it is that or 12 1/8 in" in at.text
    assert at.remedy[0].startswith("Move the it to 12 1/8 in or more")


# 12 in by a tape that may be off by 1/8 in: from 12 1/8 in on a thing is outside the zone for sure, and only 12 in is asked of it.
@pytest.mark.parametrize(
    ("above", "limits"), [("12", "12 in or 12 1/8 in"), ("12 1/8", "12 in"), ("12 3/16", "12 in")]
)
def test_what_is_outside_the_zone_for_sure_is_asked_no_more(above: str, limits: str) -> None:
    waiting = one(near(True, what="mantel", above=above, projection="4"))
    assert waiting.missing == ("nearby.it.face",)
    assert waiting.text.startswith(f"{limits} minimum from the opening.")


def test_the_way_to_the_opening_is_worked_out_step_by_step() -> None:
    corner = one(near(what="mantel", face="room", above="8", beside="6", projection="1"))
    assert [line.line() for line in corner.working] == [
        "distance = straight line to the nearest corner = root of (8 in)2 + (6 in)2 = 10 in",
        "least distance = projection / (1/8) = 1 in / (1/8), 6 in to 12 in = 8 in",
    ]
    for way in ("above", "beside"):
        straight = one(
            near(what="mantel", face="room", projection="1", **{"above": "0", "beside": "0", way: "9"})
        )
        assert straight.working[0].line() == f"distance = {way} = 9 in"


def test_trim_before_an_opening_goes_by_its_distance_from_it_where_that_is_entered() -> None:
    """IRC 2021 R1001.11 exceptions 3 and 4."""
    job = near(what="trim", face="room", from_lining="12")
    assert [(f.id, f.verdict) for f in told(job)] == [("clearance.abutting", "MEETS")]
    job["nearby"][0] |= {"above": "5", "projection": "1/2"}
    assert [(f.id, f.verdict) for f in told(job)] == [
        ("clearance.trim", "SHORT"),
        ("clearance.abutting", "MEETS"),
    ]
    near_lining = near(what="trim", face="room", from_lining="11")
    assert [(f.id, f.verdict) for f in told(near_lining)] == [
        ("clearance.trim", "MEASURE"),
        ("clearance.abutting", "SHORT"),
    ]


def test_at_the_edge_of_the_zone_that_is_said() -> None:
    at = one(near(what="mantel", face="room", above="12", projection="10"))
    assert at.text == (
        "The it, standing out 10 in: 12 in from the opening; 12 in minimum: exactly at the limit."
    )
    beyond = one(near(what="mantel", face="room", above="13", projection="10"))
    assert beyond.text == "The it, standing out 10 in: 13 in from the opening; 12 in minimum."


# 3-4-5: the straight line from the corner is 5/4 of the longer leg.
@pytest.mark.parametrize(
    ("above", "beside", "out", "verdict"),
    [
        ("4.8", "3.6", "3/4", "MEETS"),
        ("4.8", "3.5", "1/2", "SHORT"),
        ("9.6", "7.2", "5", "MEETS"),
        ("8", "6", "1 1/4", "MEETS"),
        ("8", "6", "1 5/16", "SHORT"),
        ("8", "0", "1", "MEETS"),
    ],
)
def test_off_the_corner_the_straight_line_counts(above: str, beside: str, out: str, verdict: str) -> None:
    job = near(what="mantel", face="room", above=above, beside=beside, projection=out)
    assert one(job).verdict == verdict


# The tape may be off by 1/8 in, common practice without a source.
@pytest.mark.parametrize(
    ("above", "out", "verdict"),
    [
        ("6", "3/4", "MEETS"),
        ("5 7/8", "1/2", "CLOSE"),
        ("5 3/4", "1/2", "SHORT"),
        ("8", "1 1/8", "CLOSE"),
        ("8", "1 1/4", "SHORT"),
        ("12", "4", "CLOSE"),
        ("11 7/8", "4", "CLOSE"),
        ("12 1/8", "4", "MEETS"),
        ("11 3/4", "4", "SHORT"),
        ("12", "1 1/2", "MEETS"),
    ],
)
def test_a_measured_mantel_is_close_within_the_tolerance(above: str, out: str, verdict: str) -> None:
    assert one(near(True, what="mantel", face="room", above=above, projection=out)).verdict == verdict


@pytest.mark.parametrize(
    ("above", "out"), [("6", "13/16"), ("5", "1/2"), ("4", "1 1/2"), ("8", "1 1/4"), ("8", "4"), ("7", "1")]
)
def test_moving_or_cutting_a_mantel_as_told_cures_it(above: str, out: str) -> None:
    short = one(near(what="mantel", face="room", above=above, projection=out))
    assert short.verdict == "SHORT"
    move = re.search(r"Move the it to ([\d/ ]+) in or more", short.remedy[0])
    assert move
    assert one(near(what="mantel", face="room", above=move[1], projection=out)).verdict == "MEETS"
    for line in short.remedy[1:]:
        cut = re.search(r"cut its projection to ([\d/ ]+) in where it is", line)
        assert cut
        assert one(near(what="mantel", face="room", above=above, projection=cut[1])).verdict == "MEETS"
    assert len(short.remedy) == (2 if float(above) >= 6 else 1)


@pytest.mark.parametrize(
    ("entries", "missing"),
    [
        ({"face": "room"}, ("nearby.it.above", "nearby.it.projection")),
        ({"face": "room", "above": "13"}, ("nearby.it.projection",)),
        ({"face": "room", "projection": "1"}, ("nearby.it.above",)),
        ({"above": "13", "projection": "1"}, ("nearby.it.face",)),
    ],
)
def test_a_mantel_needs_its_distance_its_projection_and_its_face(
    entries: dict[str, str], missing: tuple[str, ...]
) -> None:
    assert one(near(what="mantel", **entries)).missing == missing


def test_what_does_not_burn_keeps_no_distance() -> None:
    stone = near(what="mantel", face="room", combustible=False)
    assert one(stone).verdict == "MEETS"
    unsaid = near(what="mantel", face="room", above="2", projection="4")
    assert one(unsaid).verdict == "SHORT"  # taken as burning where not entered


def test_a_stepped_mantel_is_judged_step_by_step() -> None:
    job = near(what="mantel", face="room", above="8", projection="1")
    job["nearby"].append(
        {"name": "shelf", "what": "mantel", "face": "room", "above": "11", "projection": "3"}
    )
    assert [(f.item, f.verdict) for f in told(job)] == [("it", "MEETS"), ("shelf", "SHORT")]


# USDA Farmers' Bulletin 1889: 8 in, whatever the projection.
@pytest.mark.parametrize(("above", "verdict"), [("8", "MEETS"), ("7 15/16", "SHORT"), ("8 1/16", "MEETS")])
def test_the_old_bulletin_has_one_distance_for_all_wood(above: str, verdict: str) -> None:
    assert one(near(what="mantel", face="room", above=above), "usda-1941").verdict == verdict


# IBC 2021 2111.12 exception 4: beside the opening, wood that stands out over 1 1/2 in keeps away by as much more as it stands out.
@pytest.mark.parametrize(
    ("beside", "out", "verdict"),
    [
        ("6", "1 1/2", "MEETS"),
        ("6", "1 9/16", "SHORT"),
        ("7 9/16", "1 9/16", "MEETS"),
        ("9", "3", "MEETS"),
        ("8 15/16", "3", "SHORT"),
        ("5 15/16", "1", "SHORT"),
    ],
)
def test_the_building_code_has_a_rule_of_its_own_for_the_sides(beside: str, out: str, verdict: str) -> None:
    job = near(what="mantel", face="room", beside=beside, projection=out)
    assert one(job, "ibc-2021").verdict == verdict


def test_wood_straight_above_goes_by_the_zone_in_the_building_code_too() -> None:
    above = near(what="mantel", face="room", above="8", beside="0", projection="2")
    assert one(above, "ibc-2021").verdict == "SHORT"  # 12 in; at the side 8 in would do
    above["nearby"][0]["beside"] = "1"
    assert one(above, "ibc-2021").verdict == "MEETS"


# IBC 2111.12 exception 4, measured to 1/8 in: 1 1/2 in is where the larger distance begins.
@pytest.mark.parametrize(
    ("beside", "out", "verdict"),
    [
        ("7 5/8", "1 5/8", "MEETS"),
        ("7 1/2", "1 5/8", "CLOSE"),
        ("7 1/4", "1 5/8", "CLOSE"),  # 1 1/2 in out, and 6 in would do
        ("7 1/4", "1 3/4", "SHORT"),
        ("6", "1 1/2", "CLOSE"),
        ("7 1/2", "1 1/2", "MEETS"),
        ("7 7/16", "1 1/2", "CLOSE"),
        ("6", "1 3/8", "MEETS"),
        ("5 7/8", "1 3/8", "CLOSE"),
        ("5 3/4", "1 3/8", "SHORT"),
        ("8", "1 3/4", "MEETS"),
    ],
)
def test_the_tape_decides_at_the_sides_in_the_building_code(beside: str, out: str, verdict: str) -> None:
    job = near(True, what="mantel", face="room", beside=beside, projection=out)
    assert one(job, "ibc-2021").verdict == verdict


# IRC 2021 R1001.11: 2 in at front and sides, 4 in at the back.
@pytest.mark.parametrize(
    ("where", "gap", "under"), [("front", "2", "1 15/16"), ("side", "2", "1 15/16"), ("back", "4", "3 15/16")]
)
@pytest.mark.parametrize("what", ["framing", "sheathing", "siding", "decking", "insulation"])
def test_the_clear_space_beside_the_fireplace(where: str, gap: str, under: str, what: str) -> None:
    at = one(near(what=what, at=f"firebox {where}", gap=gap, filled=False))
    assert (at.id, at.verdict) == ("clearance.framing", "MEETS")
    assert "exactly at the limit" in at.text
    short = one(near(what=what, at=f"firebox {where}", gap=under, filled=False))
    assert short.verdict == "SHORT"
    assert f"to {gap} in clear of the masonry" in short.remedy[0]
    over = one(near(what=what, at=f"firebox {where}", gap=f"{gap} 1/16", filled=False))
    assert over.verdict == "MEETS"


def test_the_tape_decides_on_a_measured_gap() -> None:
    assert one(near(True, what="framing", at="firebox side", gap="1 7/8", filled=False)).verdict == "CLOSE"
    assert one(near(True, what="framing", at="firebox side", gap="1 3/4")).verdict == "SHORT"
    assert one(near(True, what="framing", at="firebox side", gap="0")).verdict == "SHORT"


# IRC 2021 R1001.11 and R1003.18: the space stays empty but for fireblocking.
@pytest.mark.parametrize("at", ["firebox side", "chimney"])
def test_a_filled_space_is_short(at: str) -> None:
    job = near(what="framing", at=at, gap="3", filled=True) | {"flue": {"place": "inside"}}
    full = one(job)
    assert full.verdict == "SHORT"
    assert "nothing but fireblocking may be in it" in full.text
    assert full.remedy == (
        "Clear the space out, and close it only with fireblocking at the floors and ceilings.",
    )
    job["nearby"][0]["gap"] = "1"
    assert len(one(job).remedy) == 2
    job["nearby"][0] |= {"gap": "3", "filled": False}
    assert one(job).verdict == "MEETS"


@pytest.mark.parametrize(
    ("gap", "verdict"), [("3", "MEASURE"), ("2", "MEASURE"), ("1 7/8", "MEASURE"), ("1 3/4", "SHORT")]
)
@pytest.mark.parametrize(
    ("edition", "at"), [("irc-2021", "firebox side"), ("irc-2024", "firebox side"), ("irc-2021", "chimney")]
)
def test_whether_a_space_is_empty_is_asked_where_that_decides(
    edition: str, at: str, gap: str, verdict: str
) -> None:
    job = near(True, what="framing", at=at, gap=gap) | {"flue": {"place": "inside"}}
    told = one(job, edition)
    assert told.verdict == verdict
    assert told.required and told.required.text == "2 in"
    if verdict == "MEASURE":
        assert told.missing == ("nearby.it.filled",)
        assert told.text == "2 in minimum clear. Not measured yet: is that space filled (it)."


def test_what_may_be_in_the_space_is_not_asked_where_the_clause_is_silent_on_it() -> None:
    """NBC 9.22.9.3 and Approved Document J 2.18 say nothing of a fill."""
    for edition, gap in (("canada-nbc", "100"), ("england-adj", "40")):
        job = near(what="framing", at="firebox side", gap=gap) | {"units": "mm", "flue": {"place": "inside"}}
        assert one(job, edition).verdict == "MEETS"


def test_a_filled_space_is_short_before_it_is_measured() -> None:
    job = near(what="framing", at="firebox side", filled=True)
    assert one(job).verdict == "SHORT"
    assert "nothing but fireblocking may be in it" in one(job).text
    assert (
        one(job, "irc-2024").verdict == "MEASURE"
    )  # R1001.11 of 2024: it can be filled with what does not burn


def test_a_space_filled_with_who_knows_what_is_for_a_person() -> None:
    """IRC 2024 R1001.11 lets noncombustible material fill it; a space that is too small stays too small."""
    job = near(what="framing", at="firebox side", gap="2", filled=True)
    assert "Only noncombustible material may be in it" in one(job, "irc-2024").text
    assert (one(job, "irc-2024").verdict, one(job, "irc-2024").caution is None) == ("REFER", False)
    job["nearby"][0]["gap"] = "1 15/16"
    assert one(job, "irc-2024").verdict == "SHORT"


# IRC 2021 R1003.18: 2 in inside and in the outside wall, 1 in entirely outside.
@pytest.mark.parametrize(
    ("place", "gap", "verdict"),
    [
        ("inside", "2", "MEETS"),
        ("inside", "1 15/16", "SHORT"),
        ("in the outside wall", "2", "MEETS"),
        ("in the outside wall", "1 15/16", "SHORT"),
        ("outside", "1", "MEETS"),
        ("outside", "15/16", "SHORT"),
        ("outside", "1 1/16", "MEETS"),
        ("unknown", "2", "MEETS"),
        ("unknown", "1 15/16", "MEASURE"),
        ("unknown", "1", "MEASURE"),
        ("unknown", "15/16", "SHORT"),
    ],
)
def test_the_clear_space_beside_the_chimney_by_its_place(place: str, gap: str, verdict: str) -> None:
    finding = one(near(what="framing", at="chimney", gap=gap, filled=False) | {"flue": {"place": place}})
    assert (finding.id, finding.verdict) == ("clearance.chimney", verdict)
    if verdict == "MEASURE":
        assert finding.missing == ("flue.place",)


@pytest.mark.parametrize(("gap", "limit"), [("2", "2 in"), ("15/16", "1 in"), ("5", "2 in")])
def test_wherever_the_chimney_stands_the_limit_that_decides_is_told(gap: str, limit: str) -> None:
    told = one(near(what="framing", at="chimney", gap=gap, filled=False))
    assert told.required and told.required.text == limit


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("inside", "the chimney inside the house"),
        ("outside", "the chimney outside the house"),
        ("in the outside wall", "the chimney in the outside wall"),
        ("unknown", "the chimney, wherever that stands,"),
    ],
)
def test_where_the_chimney_stands_is_told(place: str, words: str) -> None:
    told = one(near(what="framing", at="chimney", gap="3", filled=False) | {"flue": {"place": place}})
    assert told.text.startswith(f"From {words} to the it it is 3 in clear; ")


def test_without_gap_and_place_both_are_asked() -> None:
    told = one(near(what="framing", at="chimney"))
    assert told.missing == ("flue.place", "nearby.it.gap", "nearby.it.filled")
    assert told.text.startswith("2 in or 1 in minimum clear. Not measured yet: ")
    assert told.required and told.required.text == "2 in"
    mid = one(near(what="framing", at="chimney", gap="1 1/2", filled=False))
    assert (mid.missing, mid.text[:27]) == (("flue.place",), "2 in or 1 in minimum clear.")
    assert one(near(what="framing", at="chimney", combustible=False)).verdict == "MEETS"


def test_a_roof_that_is_planned_round_an_outside_chimney_is_for_the_official() -> None:
    job = near(what="framing", at="chimney", gap="1", filled=False) | {
        "flue": {"place": "outside"},
        "planned": {"roof": [{"name": "terrace", "passes_through": True}]},
    }
    assert one(job).verdict == "MEETS"
    enclosed = one(job, stage="planned")
    assert enclosed.verdict == "REFER"
    assert "no longer entirely outside" in enclosed.text
    job["nearby"][0]["gap"] = "2"
    assert one(job, stage="planned").verdict == "MEETS"
    job["planned"] = {"flue": {"place": "inside"}}
    job["nearby"][0]["gap"] = "1"
    assert one(job, stage="planned").verdict == "SHORT"


# IRC R1001.11 exception 3: 12 in to 2021; from 2024 8 in below 6 ft2 (864 in2). The face is 36 x 30 unless given.
@pytest.mark.parametrize(
    ("edition", "height", "away", "verdict"),
    [
        ("irc-2021", "23", "12", "MEETS"),
        ("irc-2021", "23", "11 15/16", "SHORT"),
        ("irc-2024", "23 15/16", "8", "MEETS"),
        ("irc-2024", "23 15/16", "7 15/16", "SHORT"),
        ("irc-2024", "24", "8", "SHORT"),
        ("irc-2024", "24", "12", "MEETS"),
        ("irc-2024", "24", "11 15/16", "SHORT"),
        ("irc-2024", "24", "12 1/16", "MEETS"),
    ],
)
def test_trim_that_touches_the_fireplace(edition: str, height: str, away: str, verdict: str) -> None:
    job = near(what="trim", at="firebox side", from_lining=away)
    job["face"] = [{"name": "room", "width": "36", "height": height}]
    (finding, *rest) = told(job, edition)
    assert (finding.id, finding.verdict) == ("clearance.abutting", verdict)
    assert rest == []


@pytest.mark.parametrize(("away", "verdict"), [("7 15/16", "SHORT"), ("8", "MEASURE"), ("12", "MEASURE")])
def test_trim_too_near_the_lining_for_any_opening_waits_for_none(away: str, verdict: str) -> None:
    """IRC 2024 R1001.11 exception 3: 8 in beside an opening below 6 ft2, 12 in beside a larger one."""
    job = near(what="trim", at="firebox side", from_lining=away)
    job["face"] = [{"name": "room", "width": "36"}]
    (finding,) = told(job, "irc-2024")
    assert (finding.id, finding.verdict) == ("clearance.abutting", verdict)
    assert verdict == "SHORT" or finding.missing == ("face.room.height",)


def test_a_thing_at_the_firebox_goes_by_the_largest_opening() -> None:
    job = near(what="trim", at="firebox side", from_lining="8")
    small, large = ({"name": n, "width": "36", "height": h} for n, h in (("a", "20"), ("b", "30")))
    job["face"] = [small, large]
    assert one(job, "irc-2024").verdict == "SHORT"
    job["face"] = [small]
    assert one(job, "irc-2024").verdict == "MEETS"
    job["face"] = [small, {"name": "b"}]
    assert one(job, "irc-2024").missing == ("face.b.width", "face.b.height")


# IRC 2024 R1001.11 exception 3: 8 in below 6 ft2 (864 in2), 12 in from there; R1001.10: 16 and 20 in of hearth, past which a floor may
# burn. A 36 in opening measured to 1/8 in is that at 24 in, give or take 3/16.
@pytest.mark.parametrize(
    ("height", "verdict"),
    [("23 3/4", "MEETS"), ("23 7/8", "CLOSE"), ("24 1/8", "CLOSE"), ("24 1/4", "SHORT")],
)
@pytest.mark.parametrize(
    "thing",
    [
        {"what": "trim", "at": "firebox side", "from_lining": "8 1/2"},
        {"what": "floor", "face": "room", "ahead": "18"},
    ],
)
def test_the_tape_decides_on_the_opening_that_a_thing_goes_by(
    thing: Document, height: str, verdict: str
) -> None:
    job = near(True, **thing)
    job["face"] = [{"name": "room", "width": "36", "height": height}]
    told = one(job, "irc-2024")
    assert told.verdict == verdict
    assert ("the measuring tolerance decides" in told.text) == (verdict == "CLOSE")


def test_where_one_distance_holds_for_all_the_opening_is_not_asked() -> None:
    job = near(what="trim", at="firebox side", from_lining="12")
    job["face"] = [{"name": "a"}]
    assert one(job).verdict == "MEETS"


# The exception names trim and the edges of sheathing; IRC 2024 R1003.18 exception 3 names all that burns, at the chimney.
@pytest.mark.parametrize(
    ("edition", "at", "what", "verdict"),
    [
        ("irc-2021", "firebox side", "sheathing", "SHORT"),
        ("irc-2021", "firebox side", "framing", "SHORT"),
        ("irc-2021", "firebox side", "insulation", "SHORT"),
        ("irc-2021", "firebox side", "mantel", "SHORT"),
        ("irc-2021", "chimney", "framing", "SHORT"),
        ("irc-2024", "chimney", "framing", "MEETS"),
        ("irc-2024", "firebox side", "framing", "SHORT"),
    ],
)
def test_only_what_the_exception_names_may_touch(edition: str, at: str, what: str, verdict: str) -> None:
    job = near(what=what, at=at, from_lining="11 15/16", gap="0") | {"flue": {"place": "inside"}}
    by_id = {f.id: f for f in told(job, edition)}
    assert by_id["clearance.abutting"].verdict == verdict
    gaps = [f for f in by_id.values() if f.id in ("clearance.framing", "clearance.chimney")]
    assert [f.verdict for f in gaps] == ([] if verdict == "MEETS" else ["SHORT"])


# R1001.11 exception 3 names side walls and hearth extension only; exception 2 is about a fireplace in a masonry wall, 12 in; at the chimney
# R1003.18 exception 2, 12 in and from 2024 8 in. No entry tells of such a wall: a person has to look.
@pytest.mark.parametrize(
    ("edition", "at", "what", "away", "verdict"),
    [
        ("irc-2021", "firebox back", "siding", "12", "REFER"),
        ("irc-2021", "firebox back", "siding", "11 15/16", "SHORT"),
        ("ibc-2021", "firebox back", "siding", "12", "REFER"),
        ("irc-2024", "firebox back", "trim", "12 1/16", "REFER"),
        ("irc-2021", "firebox front", "siding", "11", "SHORT"),
        ("irc-2021", "firebox side", "siding", "12", "MEETS"),
        ("irc-2021", "firebox side", "framing", "12", "REFER"),
        ("irc-2021", "firebox side", "framing", "11 15/16", "SHORT"),
        ("irc-2021", "chimney", "framing", "12", "REFER"),
        ("irc-2021", "chimney", "framing", "11 15/16", "SHORT"),
        ("irc-2024", "chimney", "framing", "8", "MEETS"),
    ],
)
def test_a_joist_pocketed_in_a_masonry_wall_is_for_the_official(
    edition: str, at: str, what: str, away: str, verdict: str
) -> None:
    job = near(what=what, at=at, from_lining=away, gap="0") | {"flue": {"place": "inside"}}
    findings = told(job, edition)
    assert {f.verdict for f in findings} == {verdict}
    if verdict == "REFER":
        assert all("part of a masonry or concrete wall" in f.text for f in findings)
        assert all("exception 2" in f.basis[-1].clause for f in findings)


def test_what_touches_is_told_by_name_and_what_to_do() -> None:
    at_flue = told(
        near(what="siding", at="chimney", gap="0", from_lining="7") | {"flue": {"place": "inside"}}
    )
    assert at_flue[1].text == (
        "The it touches the masonry; to the inside of the flue lining it is 7 in; 8 in minimum: short by 1 in."
    )
    assert at_flue[1].remedy == ("Cut the it back to 8 in or more from the inside of the flue lining.",)
    at_box = one(near(what="trim", at="firebox side", from_lining="11"))
    assert "to the inside of the firebox lining it is 11 in; 12 in minimum" in at_box.text
    framing = told(
        near(what="framing", at="chimney", gap="0", from_lining="7") | {"flue": {"place": "inside"}}
    )
    assert (
        framing[1].text
        == "Only trim, sheathing, siding, floor, wall may touch the chimney; the it is framing."
    )
    assert (
        framing[1].remedy
        == framing[0].remedy
        == ("Head the framing off to 2 in clear of the masonry, and keep the space empty.",)
    )
    before = near(what="insulation", face="room", from_lining="7")
    assert one(before).remedy == ("Cut the it back clear of the masonry.",)
    assert "may touch the fireplace" in one(before).text
    cut = one(near(what="siding", at="firebox side", gap="1"))
    assert cut.remedy == ("Cut the it back to 2 in clear of the masonry, and keep the space empty.",)


def test_a_floor_before_the_opening_is_asked_how_far_ahead_it_begins() -> None:
    for edition in ("irc-2021", "canada-nbc"):
        job = near(what="floor", face="room")
        job["face"] = [{"name": "room", "width": "36", "height": "30", "opening_above_hearth": "8"}]
        assert one(job, edition).missing == ("nearby.it.ahead",)


# IRC 2021 R1001.10: 12 in beside an opening of 6 ft2 or more, which 36 by 30 is.
@pytest.mark.parametrize(("beside", "verdict"), [("12", "MEETS"), ("11 15/16", "SHORT")])
def test_a_floor_beside_the_opening_goes_by_the_side_of_the_hearth(beside: str, verdict: str) -> None:
    finding = one(near(what="floor", face="room", beside=beside))
    assert finding.verdict.name == verdict
    assert finding.missing == ()


@pytest.mark.parametrize(
    ("what", "words"), [("framing", "Head the framing off"), ("siding", "Cut the it back")]
)
def test_framing_is_headed_off_and_the_rest_cut_back(what: str, words: str) -> None:
    assert one(near(what=what, at="firebox side", gap="1")).remedy[0].startswith(f"{words} to 2 in clear")


# IRC 2024 R1001.11 exception 3: below 864 in2 8 in. Under a half round 36 in wide, 27 1/2 in high, 342 in2 and 509 in2 are open; under
# a flatter arch more.
@pytest.mark.parametrize(("away", "verdict"), [("7 15/16", "SHORT"), ("8", "MEASURE"), ("8 1/2", "MEASURE")])
def test_under_an_arch_of_no_known_rise_no_more_is_asked_than_under_a_half_round(
    away: str, verdict: str
) -> None:
    job = near(what="trim", at="firebox side", from_lining=away)
    job["face"] = [{"name": "room", "width": "36", "height": "27 1/2", "arch": "segmental"}]
    told = one(job, "irc-2024")
    assert (told.verdict, told.missing) == (verdict, ("face.room.rise",) if verdict == "MEASURE" else ())


def test_what_touches_somewhere_is_asked_where() -> None:
    somewhere = told(near(what="framing", from_lining="12", gap="0"))
    assert [(f.id, f.missing) for f in somewhere] == [("clearance.framing", ("nearby.it.at",))]


def test_wood_that_touches_is_told_what_to_measure_for_a_masonry_wall() -> None:
    short = one(near(what="framing", at="firebox side", gap="0"))
    assert short.verdict == "SHORT"
    assert "12 in to the inside of the firebox lining counts instead: measure that" in short.text
    apart = one(near(what="framing", at="firebox side", gap="1"))
    assert "masonry or concrete wall" not in apart.text


def test_what_may_touch_and_touches_waits_for_its_distance_to_the_lining() -> None:
    for at, limit in (("firebox side", "12 in"), ("chimney", "8 in")):
        told = one(near(what="trim", at=at, gap="0") | {"flue": {"place": "inside"}})
        assert (told.id, told.missing) == ("clearance.abutting", ("nearby.it.from_lining",))
        assert told.text.startswith(f"{limit} minimum to the inside of the ")
        assert told.required and told.required.text == limit


def test_the_distance_to_the_lining_is_told_by_the_opening_before_it_is_measured() -> None:
    """IRC 2024 R1001.11 exception 3: 8 in below 6 ft2, 12 in from there."""
    job = near(what="trim", at="firebox side", gap="0")
    for height, limit in (("23 15/16", "8 in"), ("24", "12 in")):
        job["face"] = [{"name": "room", "width": "36", "height": height}]
        told = one(job, "irc-2024")
        assert told.missing == ("nearby.it.from_lining",)
        assert told.required and told.required.text == limit
    job["face"] = [{"name": "room", "width": "36"}]
    assert one(job, "irc-2024").missing == ("face.room.height", "nearby.it.from_lining")


def test_what_is_clear_of_the_masonry_is_not_judged_as_touching_it() -> None:
    clear = near(what="framing", at="firebox side", gap="2", filled=False, from_lining="20")
    assert [(f.id, f.verdict) for f in told(clear)] == [("clearance.framing", "MEETS")]
    trim = near(what="trim", at="firebox side", gap="2", filled=False, from_lining="3")
    assert [(f.id, f.verdict) for f in told(trim)] == [("clearance.framing", "MEETS")]
    trim["nearby"][0]["gap"] = "1 15/16"
    assert [(f.id, f.verdict) for f in told(trim)] == [
        ("clearance.framing", "SHORT"),
        ("clearance.abutting", "SHORT"),
    ]
    trim["nearby"][0]["from_lining"] = "12"
    assert [(f.id, f.verdict) for f in told(trim)] == [("clearance.abutting", "MEETS")]


def test_wood_on_the_front_goes_by_its_face_and_its_distance_from_the_opening() -> None:
    for what in ("mantel", "trim"):
        front = one(near(what=what, at="firebox front", gap="0", from_lining="20"))
        assert (front.id, front.verdict) == (f"clearance.{what}", "MEASURE")
        assert "nearby.it.face" in front.missing
        assert front.text.startswith("6 in or 12 in minimum from the opening.")


# IRC 2021 R1001.11 and R1003.18, exceptions 2: 12 in to the lining where fireplace or chimney is part of a masonry wall.
@pytest.mark.parametrize("at", ["firebox side", "chimney"])
@pytest.mark.parametrize(
    ("away", "verdict"),
    [(None, "MEASURE"), ("11 15/16", "SHORT"), ("12", "MEETS"), ("12 1/16", "MEETS")],
)
def test_wood_that_touches_a_masonry_wall_goes_by_how_far_the_lining_is(
    at: str, away: str | None, verdict: str
) -> None:
    more = {"from_lining": away} if away else {}
    findings = told(
        near(what="framing", at=at, gap="0", masonry_wall=True, **more) | {"flue": {"place": "inside"}}
    )
    assert {f.verdict for f in findings} == {verdict}
    if not away:
        assert findings[0].missing == ("nearby.it.from_lining",)


# IRC 2021 R1003.18: too near the chimney is too near, unless how far the lining is lets it touch a masonry wall.
@pytest.mark.parametrize(
    ("away", "plan", "verdict", "missing"),
    [
        ("14", {"liner": "8.5x8.5", "lining": "clay"}, "MEASURE", ("planned.nearby.it.from_lining",)),
        (None, {"liner": "8.5x8.5", "lining": "clay"}, "SHORT", ()),
        ("11", {"cap": "none"}, "SHORT", ()),
        ("14", {"cap": "none"}, "REFER", ()),
    ],
)
def test_a_new_liner_asks_again_how_far_its_lining_is_from_wood_that_goes_by_it(
    away: str | None, plan: Document, verdict: str, missing: tuple[str, ...]
) -> None:
    job = near(what="framing", at="chimney", gap="1", filled=False, **({"from_lining": away} if away else {}))
    job |= {"flue": {"place": "inside", "liner": "13x13"}, "planned": {"flue": plan}}
    (gap,) = [f for f in told(job, stage="planned") if f.id == "clearance.chimney"]
    assert (gap.verdict, gap.missing) == (verdict, missing)


def test_what_the_plan_moves_is_asked_for_once() -> None:
    """A thicker lining leaves no distance to go by until the wall behind it is told."""
    job = near(what="framing", at="firebox side", gap="1", from_lining="14", filled=False)
    job |= {"firebox": {"wall": "8", "lining": "2"}, "planned": {"firebox": {"lining": "4"}}}
    assert {f.missing for f in told(job, stage="planned")} == {("planned.firebox.wall",)}


# NBC 9.21.5.3 names joists and beams that the chimney carries, 290 mm of masonry to the flue; on siding it is silent.
@pytest.mark.parametrize(
    ("what", "away", "verdict"),
    [
        ("framing", "289", "SHORT"),
        ("framing", "290", "MEETS"),
        ("framing", "291", "MEETS"),
        ("siding", "291", "REFER"),
    ],
)
def test_only_a_joist_may_touch_a_canadian_chimney(what: str, away: str, verdict: str) -> None:
    job = near(what=what, at="chimney", gap="0", from_lining=away) | {
        "units": "mm",
        "flue": {"place": "inside"},
    }
    (touching,) = [f for f in told(job, "canada-nbc") if f.id == "clearance.abutting"]
    assert touching.verdict == verdict


def test_what_touches_a_listed_unit_goes_by_its_papers() -> None:
    """IRC 2021 R1001.11 exception 1: fireplaces listed for contact, by their listing."""
    at = near(what="framing", at="firebox side", gap="0", from_lining="3")
    assert {f.verdict for f in told(at)} == {"SHORT"}
    listed = told(at | {"fireplace": {"contact_listed": True}})
    assert [f.id for f in listed] == ["clearance.framing", "clearance.abutting"]
    assert all(f.verdict == "REFER" and "its papers say where" in f.text for f in listed)


# Feuerungsverordnung § 4(9), as Saxony prints it: 80 cm, and 40 behind a shield that air passes on both sides.
@pytest.mark.parametrize(
    ("away", "shield", "verdict"),
    [
        ("399", True, "SHORT"),
        ("400", True, "REFER"),
        ("401", True, "REFER"),
        ("400", False, "SHORT"),
        ("800", True, "MEETS"),
    ],
)
def test_a_german_wall_behind_a_shield(away: str, shield: bool, verdict: str) -> None:
    more = {"protection": "24ga_gap_1in"} if shield else {}
    job = near(what="wall", face="room", beside=away, **more) | {"units": "mm"}
    assert one(job, "germany-feuvo").verdict == verdict


# IRC R1003.18 exception 1: chimneys with a lining listed for contact. Clay is not listed.
@pytest.mark.parametrize(
    ("lining", "verdict"),
    [
        ("listed liner", "REFER"),
        ("poured", "REFER"),
        ("clay", "SHORT"),
        ("unlined", "SHORT"),
        (None, "REFER"),
    ],
)
def test_wood_at_a_chimney_listed_for_contact_goes_by_its_liner(lining: str | None, verdict: str) -> None:
    flue = {"place": "inside"} | ({"lining": lining} if lining else {})
    job = near(what="framing", at="chimney", gap="1") | {"flue": flue, "chimney": {"contact_listed": True}}
    assert one(job).verdict == verdict


# Feuerungsverordnung § 8(2): 5 cm beside a chimney, 2 cm for a beam alone.
@pytest.mark.parametrize(
    ("gap", "verdict"), [("19", "SHORT"), ("20", "REFER"), ("21", "REFER"), ("50", "MEETS")]
)
def test_a_beam_beside_a_german_chimney(gap: str, verdict: str) -> None:
    job = near(what="framing", at="chimney", gap=gap, filled=False) | {"units": "mm"}
    assert one(job | {"flue": {"place": "inside"}}, "germany-feuvo").verdict == verdict


# IRC R1003.18: 2 in inside, 1 in outside. A new roof round the chimney may close it in.
@pytest.mark.parametrize(
    ("gap", "verdict"), [("15/16", "SHORT"), ("1", "REFER"), ("1 15/16", "REFER"), ("2", "MEETS")]
)
def test_framing_beside_a_chimney_that_the_plan_may_close_in(gap: str, verdict: str) -> None:
    job = near(what="framing", at="chimney", gap=gap, filled=False) | {"flue": {"place": "outside"}}
    assert one(job).verdict == ("MEETS" if verdict == "REFER" else verdict)
    planned = job | {"planned": {"roof": [{"name": "porch", "passes_through": True}]}}
    assert one(planned, stage="planned").verdict == verdict


def test_where_a_chimney_stands_is_asked_where_any_of_three_clear_spaces_may_do() -> None:
    """A town that asks for 3 in inside, 2 in the outside wall and 1 outside."""
    code = reference.load("irc-2021")
    inside = code["clearance.chimney.inside"]
    values = {
        **code.values,
        "clearance.chimney.inside": made(inside, quantity=made(inside.quantity, number=F(3))),
    }
    told = {}
    for gap in ("3", "2 15/16", "1 1/2", "1", "15/16"):
        document = {"format": "hearthcalc-job", "version": 1, "face": [{"name": "room"}]}
        job = Job.from_document(document | near(what="framing", at="chimney", gap=gap, filled=False))
        findings = assess(job, made(code, values=values)).stages["found"].findings
        (told[gap],) = [str(f.verdict) for f in findings if f.id == "clearance.chimney"]
    assert told == {"3": "MEETS", "2 15/16": "MEASURE", "1 1/2": "MEASURE", "1": "MEASURE", "15/16": "SHORT"}


def test_what_does_not_burn_may_touch_the_masonry() -> None:
    stone = near(what="trim", at="firebox side", gap="0", from_lining="3", combustible=False)
    assert [(f.id, f.verdict) for f in told(stone)] == [
        ("clearance.framing", "MEETS"),
        ("clearance.abutting", "MEETS"),
    ]


def test_trim_at_the_masonry_keeps_the_clear_space_too() -> None:
    """IRC 2021 R1001.11: whatever burns."""
    for gap, verdict in (("2", "MEETS"), ("1 15/16", "SHORT")):
        told = one(near(what="trim", at="firebox side", gap=gap, filled=False))
        assert (told.id, told.verdict) == ("clearance.framing", verdict)


def test_floorboards_and_mantel_shelves_are_left_out_of_the_english_clause() -> None:
    """NHBC Standards 6.8.22: the 40 mm does not hold for floorboards, skirtings, rails, mantel shelves and architraves."""
    for what, verdict in (("floor", "REFER"), ("trim", "REFER"), ("framing", "SHORT"), ("wall", "SHORT")):
        job = near(what=what, at="firebox side", gap="39") | {"units": "mm"}
        assert one(job, "england-adj").verdict == verdict


# IRC 2012 R1003.18 exception 3: 12 in at the chimney; 8 in from 2015.
@pytest.mark.parametrize(
    ("edition", "away", "verdict"),
    [
        ("irc-2012", "12", "MEETS"),
        ("irc-2012", "11", "SHORT"),
        ("irc-2015", "8", "MEETS"),
        ("irc-2015", "7", "SHORT"),
    ],
)
def test_siding_that_touches_the_chimney(edition: str, away: str, verdict: str) -> None:
    job = near(what="siding", at="chimney", from_lining=away, gap="0") | {"flue": {"place": "outside"}}
    assert told(job, edition)[-1].verdict == verdict
    assert ["clearance.chimney" in f.id for f in told(job, edition)] == (
        [False] if verdict == "MEETS" else [True, False]
    )


def test_an_edition_that_is_silent_refers() -> None:
    assert one(near(what="framing", at="chimney", gap="2"), "australia-hp").verdict == "REFER"
    for what in ("wall", "ceiling", "furniture", "other"):
        finding = one(near(what=what, face="room", ahead="40"))
        assert (finding.id, finding.verdict) == (f"clearance.{what}", "REFER")
        assert "says nothing on this" in finding.text


def test_a_thing_of_no_kind_or_at_no_place_is_asked_about() -> None:
    assert one(near(face="room")).missing == ("nearby.it.what",)
    assert one(near(at="chimney", gap="0", from_lining="3")).missing == ("nearby.it.what",)
    somewhere = one(near(what="framing", gap="2"))
    assert (somewhere.missing, somewhere.text[:28]) == (("nearby.it.at",), "4 in or 2 in minimum clear o")


# A thing never vanishes, whatever is entered of it.
WHATS = [None, *get_args(What)]
SPOTS = [{"face": "room"}, *({"at": at} for at in get_args(At)), {}]
ENTERED: list[Document] = [
    {},
    {"gap": "0"},
    {"gap": "30", "filled": False},
    {"from_lining": "30"},
    {"gap": "0", "from_lining": "2"},
    {"projection": "2"},
    {"ahead": "40"},
    {"combustible": False},
    {"protection": "24ga_gap_1in"},
]


@pytest.mark.parametrize("edition", reference.edition_ids())
@pytest.mark.parametrize("what", WHATS)
def test_whatever_is_entered_near_the_fire_has_an_answer(edition: str, what: str | None) -> None:
    rows = [
        {"name": f"{number}", **({"what": what} if what else {}), **spot, **more}
        for number, (spot, more) in enumerate((s, m) for s in SPOTS for m in ENTERED)
    ]
    findings = told({"about": {"measured": False}, "nearby": rows}, edition)
    answered = {finding.item for finding in findings}
    assert answered == {row["name"] for row in rows}
    for row in rows:
        mine = [finding for finding in findings if finding.item == row["name"]]
        assert all((finding.text and finding.basis) or finding.missing for finding in mine), row
        if not (row.keys() & {"face", "at"}) and row.get("combustible") is not False:
            assert {finding.verdict for finding in mine} <= {"MEASURE", "REFER"}, row


@pytest.mark.parametrize("edition", reference.edition_ids())
def test_what_is_not_said_to_burn_or_not_is_judged_as_what_burns(edition: str) -> None:
    rows = [{"what": what, **spot} for what in get_args(What) for spot in SPOTS]

    def judged(**more: bool) -> list[tuple[Any, ...]]:
        things = [{"name": str(number), **row, **more} for number, row in enumerate(rows)]
        findings = told({"about": {"measured": False}, "nearby": things}, edition)
        return [(f.id, f.item, f.verdict, f.text) for f in findings]

    unsaid = judged()
    assert unsaid == judged(combustible=True)
    assert not any(verdict == "MEETS" for _, _, verdict, _ in unsaid)


# The limit is told before anything is measured.
@pytest.mark.parametrize(
    ("thing", "edition", "limit"),
    [
        ({"what": "mantel", "face": "room"}, "irc-2021", "6 in"),
        ({"what": "mantel", "face": "room", "projection": "1"}, "irc-2021", "8 in"),
        ({"what": "mantel", "face": "room", "projection": "1/2"}, "irc-2021", "6 in"),
        ({"what": "mantel", "face": "room", "projection": "4"}, "irc-2021", "12 in"),
        ({"what": "mantel", "face": "room"}, "usda-1941", "8 in"),
        ({"what": "mantel", "face": "room", "projection": "1"}, "canada-nbc", "5 15/16 in"),
        ({"what": "mantel", "face": "room", "projection": "2"}, "canada-nbc", "11 13/16 in"),
        ({"what": "framing", "at": "firebox back"}, "irc-2021", "4 in"),
        ({"what": "siding", "at": "chimney"}, "usda-1941", "2 in"),
        ({"what": "wall", "face": "room"}, "germany-feuvo", "31 1/2 in"),
    ],
)
def test_the_limit_is_told_while_nothing_is_measured(thing: Document, edition: str, limit: str) -> None:
    waiting = one(near(**thing), edition)
    assert waiting.verdict == "MEASURE"
    assert waiting.required and waiting.found is None
    assert waiting.text.startswith(f"{limit} ")


def test_where_it_is_wood_is_told_how_far_it_may_stand_out() -> None:
    """R1001.11 exception 4: 1/8 in for each inch."""
    assert one(near(what="mantel", face="room", above="10")).remedy == (
        "Where it is, let it stand out no more than 1 1/4 in.",
    )
    assert one(near(what="mantel", face="room", above="12")).remedy == ()  # outside the zone it may stand out
    assert one(near(what="mantel", face="room", above="6")).verdict == "MEASURE"
    assert one(near(what="mantel", face="room", above="5 15/16")).verdict == "SHORT"  # whatever it projects
    side = one(near(what="mantel", face="room", beside="9"), "ibc-2021")  # IBC 2111.12 exception 4: 9 - 6
    assert side.remedy == ("Where it is, let it stand out no more than 3 in.",)


@pytest.mark.parametrize(
    ("place", "gap", "verdict"),
    [
        ("inside", "100", "MEETS"),
        ("inside", "99", "SHORT"),
        ("in the outside wall", "51", "MEETS"),
        ("in the outside wall", "50", "MEETS"),
        ("in the outside wall", "49", "SHORT"),
        ("outside", "99", "SHORT"),
        ("unknown", "99", "MEASURE"),
    ],
)
@pytest.mark.parametrize("at", ["firebox side", "firebox back"])
def test_a_canadian_fireplace_in_an_outside_wall_takes_half_the_clear_space(
    place: str, gap: str, verdict: str, at: str
) -> None:
    """NBC 9.22.9.3: 100 mm behind and beside a fireplace, 50 mm where it stands in an outside wall."""
    job = near(what="framing", at=at, gap=gap) | {"units": "mm", "flue": {"place": place}}
    assert one(job, "canada-nbc").verdict == verdict


# NBC 9.22.9.1: above the opening, what stands out over 38 mm keeps 300 mm away; beside it 150 mm do. Any height is above.
@pytest.mark.parametrize(("above", "verdict"), [("0", "MEETS"), ("0.5", "SHORT"), ("1", "SHORT")])
def test_a_hair_above_the_opening_is_above_it(above: str, verdict: str) -> None:
    job = near(what="mantel", face="room", above=above, beside="200", projection="39") | {"units": "mm"}
    assert one(job, "canada-nbc").verdict == verdict


@pytest.mark.parametrize(("beside", "verdict"), [("150", "MEETS"), ("149", "SHORT")])
def test_beside_the_opening_the_canadian_code_asks_no_projection(beside: str, verdict: str) -> None:
    """NBC 9.22.9.1: 150 mm; the larger distance is for what is above."""
    job = near(what="mantel", face="room", beside=beside, above="0") | {"units": "mm"}
    assert one(job, "canada-nbc").verdict == verdict


@pytest.mark.parametrize(("ahead", "verdict"), [("749", "SHORT"), ("750", "MEASURE"), ("751", "MEASURE")])
def test_a_thing_too_near_a_swedish_hearth_is_so_at_any_width(ahead: str, verdict: str) -> None:
    """1.0 m round the center of the hearth, 250 mm behind the opening; how wide that is can only matter to what is beside it."""
    job = near(what="wall", face="room", ahead=ahead) | {"units": "mm", "firebox": {"depth": "500"}}
    job["face"] = [{"name": "room", "opening_above_hearth": "0", "hearth": {"above_floor": "0"}}]
    told = one(job, "sweden")
    assert (told.verdict, told.missing) == (verdict, ("face.room.width",) if verdict == "MEASURE" else ())


def test_a_swedish_floor_is_told_its_circle_before_it_is_measured() -> None:
    job = near(what="floor", face="room") | {"units": "mm", "firebox": {"depth": "500"}}
    job["face"] = [
        {"name": "room", "width": "800", "opening_above_hearth": "0", "hearth": {"above_floor": "400"}}
    ]
    waiting = one(job, "sweden")
    assert (waiting.missing, waiting.text[:15]) == (("nearby.it.beside",), "1000 mm minimum")


# What is told to do is in sizes that a tape reads, and cures it.


def tape(text: str) -> bool:
    """Is every length in it in 1/16 in at most, or whole mm."""
    inches = re.findall(r"(\S+) in\b", text)
    return all("." not in number for number in [*inches, *re.findall(r"(\S+) mm\b", text)]) and not any(
        int(bottom) > 16 for bottom in re.findall(r"\d/(\d+) in\b", text)
    )


@given(
    above=st.fractions(0, 13, max_denominator=64),
    beside=st.fractions(0, 13, max_denominator=64),
    out=st.fractions(0, 14, max_denominator=64),
    unit=st.sampled_from(["in", "mm"]),
    edition=st.sampled_from(["irc-2021", "ibc-2021", "canada-nbc", "usda-1941", "germany-feuvo"]),
)
def test_a_remedy_for_wood_on_the_front_cures_it(
    above: F, beside: F, out: F, unit: str, edition: str
) -> None:
    scale = F(1) if unit == "in" else F(254, 10)
    typed = {
        k: f"{float(v * scale):.4f}" for k, v in {"above": above, "beside": beside, "projection": out}.items()
    }
    job = near(what="mantel", face="room", **typed) | {"units": unit}
    told = one(job, edition)
    if told.verdict == "MEETS":
        assert told.remedy == ()
        return
    assert told.verdict == "SHORT" and told.remedy
    assert all(tape(line) for line in told.remedy), told.remedy
    move = re.search(r"to ([\d/ ]+) (?:in|mm) or more from the opening", told.remedy[0])
    assert move
    sideways = bool(beside) if edition == "ibc-2021" else edition == "canada-nbc" and not above
    place = {"beside": move[1], "above": "0"} if sideways else {"above": move[1], "beside": "0"}
    moved = near(what="mantel", face="room", **typed | place) | {"units": unit}
    assert one(moved, edition).verdict == "MEETS", told.remedy
    for line in told.remedy[1:]:
        cut = re.search(r"cut its projection to ([\d/ ]+) (?:in|mm) where it is", line)
        assert cut
        shaved = near(what="mantel", face="room", **typed | {"projection": cut[1]}) | {"units": unit}
        assert one(shaved, edition).verdict == "MEETS", line


@pytest.mark.parametrize("edition", reference.edition_ids())
@pytest.mark.parametrize("at", get_args(At))
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_a_remedy_for_the_clear_space_cures_it(edition: str, at: str, unit: str) -> None:
    job = near(what="framing", at=at, gap="0.3") | {"units": unit, "flue": {"place": "inside"}}
    short = one(job, edition)
    if short.verdict != "SHORT":
        assert short.verdict == "REFER" and "says nothing on this" in short.text
        return
    need = re.search(r"to ([\d/ ]+) (?:in|mm) clear", short.remedy[0])
    assert need and tape(short.remedy[0])
    job["nearby"][0] |= {"gap": need[1], "filled": False}
    assert one(job, edition).verdict == "MEETS"


def test_framing_before_a_german_opening_goes_by_the_figure_for_all_that_burns() -> None:
    """Feuerungsverordnung § 4(9), as Saxony prints it: 80 cm for building parts; § 4(7) at the masonry."""
    for beside, verdict in (("800", "MEETS"), ("799", "SHORT")):
        job = near(what="framing", face="room", beside=beside) | {"units": "mm"}
        ids = {f.id: f.verdict for f in told(job, "germany-feuvo")}
        assert ids == {"clearance.framing": "MEASURE", "clearance.other": verdict}
    assert [f.id for f in told(near(what="framing", face="room", beside="40"))] == ["clearance.framing"]
    assert [f.id for f in told(near(what="framing", beside="40"), "germany-feuvo")] == ["clearance.framing"]
    at = near(what="framing", at="firebox side", gap="40")
    assert [f.id for f in told(at, "germany-feuvo")] == ["clearance.framing"]
    wall = near(what="wall", face="room", beside="799") | {"units": "mm"}
    assert [f.id for f in told(wall, "germany-feuvo")] == ["clearance.wall"]


def test_what_a_german_wall_waits_for_is_named() -> None:
    def waits(**thing: str) -> tuple[str, ...]:
        return one(near(what="wall", **thing), "germany-feuvo").missing

    assert waits(face="room") == ("nearby.it.beside",)
    assert waits(above="40") == ("nearby.it.face",)
    assert waits(ahead="40") == ("nearby.it.face",)
    ahead = one(near(what="wall", face="room", ahead="40"), "germany-feuvo")
    assert ahead.verdict == "REFER" and "31 1/2 in above and beside it" in ahead.text


@pytest.mark.parametrize(("away", "verdict"), [("800", "MEETS"), ("799", "SHORT"), ("801", "MEETS")])
def test_a_german_wall_keeps_80_cm_and_is_told_where_to_go(away: str, verdict: str) -> None:
    """Feuerungsverordnung § 4(9), as Saxony prints it."""
    finding = one(near(what="wall", face="room", beside=away) | {"units": "mm"}, "germany-feuvo")
    assert finding.verdict == verdict
    assert ("to 800 mm or more" in "".join(finding.remedy)) == (verdict == "SHORT")


# Swedish guidance: 1.0 m round the center of the hearth. A fire 500 mm deep and 800 mm wide: 250 mm forward, so 968.2 mm sideways from the
# center and 568.2 mm from the opening; with 350 mm ahead, 800 mm sideways and 400 mm from the opening (3-4-5).
@pytest.mark.parametrize(
    ("spot", "verdict"),
    [
        ({"beside": "569"}, "MEETS"),
        ({"beside": "568"}, "SHORT"),
        ({"beside": "400", "ahead": "350"}, "MEETS"),
        ({"beside": "399", "ahead": "350"}, "SHORT"),
        ({"beside": "400", "ahead": "349"}, "SHORT"),
        ({"ahead": "750"}, "MEETS"),
        ({"ahead": "749.8"}, "SHORT"),
    ],
)
def test_what_is_beside_a_swedish_hearth_keeps_out_of_its_circle(spot: Document, verdict: str) -> None:
    job = near(what="wall", face="room", **spot) | {"units": "mm", "firebox": {"depth": "500"}}
    job["face"] = [
        {"name": "room", "width": "800", "opening_above_hearth": "0", "hearth": {"above_floor": "0"}}
    ]
    finding = one(job, "sweden")
    assert finding.verdict == verdict
    assert ("to 1000 mm or more from the center of the hearth" in "".join(finding.remedy)) == (
        verdict == "SHORT"
    )
