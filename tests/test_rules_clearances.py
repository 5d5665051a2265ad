"""What burns, and how near it may come: mantels, trim, framing, what touches the masonry, and the chimney by its place."""

import re
from fractions import Fraction
from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Job

F = Fraction
Document = dict[str, Any]


def told(document: Document, edition: str = "irc-2021", stage: str = "found") -> list[Finding]:
    """The clearance findings of a job."""
    head = {
        "format": "hearthcalc-job",
        "version": 1,
        "face": [{"name": "room", "width": "36", "height": "30"}],
    }
    result = assess(Job.from_document(head | document), reference.load(edition)).stages[stage]
    return [f for f in result.findings if f.subject == "clearance"]


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


def test_at_the_edge_of_the_zone_that_is_said() -> None:
    at = one(near(what="mantel", face="room", above="12", projection="10"))
    assert "exactly at the edge of the 12 in within which its projection is limited" in at.text
    beyond = one(near(what="mantel", face="room", above="13", projection="10"))
    assert "outside the 12 in" in beyond.text


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
    ("above", "out"), [("5", "1/2"), ("4", "1 1/2"), ("8", "1 1/4"), ("8", "4"), ("7", "1")]
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
    assert one(near(True, what="framing", at="firebox side", gap="1 7/8")).verdict == "CLOSE"
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


def test_whether_a_space_is_empty_is_asked() -> None:
    assert "enter it as filled" in one(near(what="framing", at="firebox side", gap="3")).text


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


def test_without_gap_and_place_both_are_asked() -> None:
    assert one(near(what="framing", at="chimney")).missing == ("nearby.it.gap", "flue.place")
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


def test_a_thing_at_the_firebox_goes_by_the_largest_opening() -> None:
    job = near(what="trim", at="firebox side", from_lining="8")
    small, large = ({"name": n, "width": "36", "height": h} for n, h in (("a", "20"), ("b", "30")))
    job["face"] = [small, large]
    assert one(job, "irc-2024").verdict == "SHORT"
    job["face"] = [small]
    assert one(job, "irc-2024").verdict == "MEETS"
    job["face"] = [small, {"name": "b"}]
    assert one(job, "irc-2024").missing == ("face.b.width", "face.b.height")


def test_where_one_distance_holds_for_all_the_opening_is_not_asked() -> None:
    job = near(what="trim", at="firebox side", from_lining="12")
    job["face"] = [{"name": "a"}]
    assert one(job).verdict == "MEETS"


# The exception names trim and the edges of sheathing; IRC 2024 R1003.18 exception 3 names all that burns, at the chimney.
@pytest.mark.parametrize(
    ("edition", "at", "what", "verdict"),
    [
        ("irc-2021", "firebox side", "sheathing", "MEETS"),
        ("irc-2021", "firebox side", "framing", "SHORT"),
        ("irc-2021", "firebox side", "insulation", "SHORT"),
        ("irc-2021", "chimney", "framing", "SHORT"),
        ("irc-2024", "chimney", "framing", "MEETS"),
        ("irc-2024", "firebox side", "framing", "SHORT"),
    ],
)
def test_only_what_the_exception_names_may_touch(edition: str, at: str, what: str, verdict: str) -> None:
    job = near(what=what, at=at, from_lining="20", gap="0") | {"flue": {"place": "inside"}}
    by_id = {f.id: f for f in told(job, edition)}
    assert by_id["clearance.abutting"].verdict == verdict
    gaps = [f for f in by_id.values() if f.id in ("clearance.framing", "clearance.chimney")]
    assert [f.verdict for f in gaps] == ([] if verdict == "MEETS" else ["SHORT"])


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
    for what in ("wall", "floor", "ceiling", "furniture", "other"):
        finding = one(near(what=what, face="room", ahead="40"))
        assert (finding.id, finding.verdict) == (f"clearance.{what}", "REFER")
        assert "says nothing on this" in finding.text


def test_a_thing_of_no_kind_or_at_no_place_is_asked_about() -> None:
    assert one(near(face="room")).missing == ("nearby.it.what",)
    assert one(near(what="framing", gap="2")).missing == ("nearby.it.at",)


@pytest.mark.parametrize(("away", "verdict"), [("800", "MEETS"), ("799", "SHORT"), ("801", "MEETS")])
def test_a_german_wall_keeps_80_cm_and_is_told_where_to_go(away: str, verdict: str) -> None:
    """Feuerungsverordnung § 4(9), as Saxony prints it."""
    finding = one(near(what="wall", face="room", beside=away) | {"units": "mm"}, "germany-feuvo")
    assert finding.verdict == verdict
    assert ("to 800 mm or more" in "".join(finding.remedy)) == (verdict == "SHORT")
