"""The hearth before each face: how far, how thick, on what; the 6 ft2 step, tolerance in both units, and the plan to lay out."""

import re
from fractions import Fraction
from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.rules.hearth import beside_radius

F = Fraction
Document = dict[str, Any]


def told(document: Document, id: str, edition: str = "irc-2021") -> list[Finding]:
    head = {"format": "hearthcalc-job", "version": 1}
    stage = assess(Job.from_document(head | document), reference.load(edition)).stages["found"]
    return [f for f in stage.findings if f.id == id]


def finding(document: Document, id: str, edition: str = "irc-2021") -> Finding:
    (only,) = told(document, id, edition)
    return only


def hearth(width: str, height: str, measured: bool = False, units: str = "in", **entries: Any) -> Document:
    """A face with a hearth; opening_above_hearth and arch belong to the face, the rest to its hearth."""
    own = {key: entries.pop(key) for key in ("opening_above_hearth", "arch", "rise") if key in entries}
    face = {"name": "room", "width": width, "height": height, **own, "hearth": entries}
    return {"units": units, "about": {"measured": measured}, "face": [face]}


# IRC 2021 R1001.10: below 6 ft2 (864 in2) 16 in and 8 in, from there 20 in and 12 in.
@pytest.mark.parametrize(
    ("height", "front", "side"), [("23 15/16", 16, 8), ("24", 20, 12), ("24 1/16", 20, 12)]
)
def test_the_reach_steps_up_at_exactly_6_ft2(height: str, front: int, side: int) -> None:
    at = hearth("36", height, front=str(front), left=str(side), right=str(side))
    under = hearth(
        "36", height, front=f"{front - 1} 15/16", left=f"{side - 1} 15/16", right=f"{side - 1} 15/16"
    )
    over = hearth("36", height, front=f"{front} 1/16", left=f"{side} 1/16", right=f"{side} 1/16")
    for id in ("hearth.front", "hearth.left", "hearth.right"):
        exactly = finding(at, id)
        assert exactly.verdict == "MEETS"
        assert "exactly at the limit" in exactly.text
        assert exactly.required and exactly.required.value == (front if id == "hearth.front" else side)
        assert finding(under, id).verdict == "SHORT"
        assert finding(over, id).verdict == "MEETS"


def test_the_working_says_on_which_side_of_6_ft2_the_opening_is() -> None:
    """24 in2 in 36 in of width is two thirds of an inch: 23 15/16 in makes 861 3/4 in2, and 6 ft2 are 864."""
    for height, sign in (("23 15/16", "<"), ("24", ">="), ("24 1/16", ">=")):
        symbols = [row.symbol for row in finding(hearth("36", height, front="20"), "hearth.front").working]
        assert f"A_opening {sign} 6 ft2 (864 in2)" in symbols


# A circle of 1 m round the centre of the hearth, by Pythagoras: half the hearth's depth is one leg, and half of the chord the other.
# 600 and 800 mm with 1000; the opening takes half its width off the chord. From 2 m of depth on, the circle does not reach the opening.
@pytest.mark.parametrize(
    ("depth", "width", "front", "side"),
    [
        ("1200 mm", "600 mm", "400 mm", "500 mm"),
        ("1600 mm", "600 mm", "200 mm", "300 mm"),
        ("1600 mm", "1200 mm", "200 mm", "0 mm"),
        ("1600 mm", "1400 mm", "200 mm", "0 mm"),
        ("2000 mm", "600 mm", "0 mm", "0 mm"),
        ("2400 mm", "600 mm", "0 mm", "0 mm"),
    ],
)
def test_a_circle_round_the_centre_of_the_hearth(depth: str, width: str, front: str, side: str) -> None:
    job = hearth(width, "600 mm", above_floor="400 mm", opening_above_hearth="0 mm")
    job |= {"units": "mm", "firebox": {"depth": depth}}
    for id, limit in (("hearth.front", front), ("hearth.left", side), ("hearth.right", side)):
        required = finding(job, id, "sweden").required
        assert required and required.text == limit


# Triangles of 3, 4 and 5: a circle of 1 1/4 in, a hearth 1 1/2 in deep, and 1 in to either side of the centre.
@pytest.mark.parametrize(
    ("radius", "depth", "width", "beyond"),
    [(F(5, 4), F(3, 2), F(1), F(1, 2)), (F(5), F(6), F(2), F(3)), (F(5), F(8), F(2), F(2))],
)
def test_how_far_a_circle_reaches_past_an_opening(
    radius: Fraction, depth: Fraction, width: Fraction, beyond: Fraction
) -> None:
    assert beside_radius(radius, depth, width) == beyond


def test_a_circle_grows_with_the_height_of_the_fire_over_the_floor() -> None:
    """Swedish guidance, its printed example: 1.2 m for a hearth 0.8 m up; here 0.5 m of floor and 0.3 m of step."""
    job = hearth("600 mm", "600 mm", above_floor="500 mm", opening_above_hearth="300 mm")
    required = finding(
        job | {"units": "mm", "firebox": {"depth": "1200 mm"}}, "hearth.front", "sweden"
    ).required
    assert required and required.text == "600 mm"


# NBC 9.22.5.1: 400 mm up to 150 mm of rise, 450 mm above; the tape reads 3 mm either way.
@pytest.mark.parametrize(
    ("raised", "limit", "inches"), [("150 mm", 400, "15 3/4 in"), ("152 mm", 450, "17 3/4 in")]
)
def test_the_working_gives_the_reach_that_applies_not_one_that_the_tape_lets_in(
    raised: str, limit: int, inches: str
) -> None:
    told = finding(
        hearth("600 mm", "600 mm", measured=True, opening_above_hearth=raised), "hearth.front", "canada-nbc"
    )
    assert [row.text for row in told.working] == [inches]
    assert told.required and told.required.value == limit


def test_the_step_goes_by_the_true_area_of_an_arch() -> None:
    flat = hearth("36", "25", front="16")
    assert finding(flat, "hearth.front").verdict == "SHORT"  # 900 in2
    arched = hearth("36", "25", front="16", arch="segmental", rise="8")
    assert finding(arched, "hearth.front").verdict == "MEETS"  # 900 in2 less the corners, 93.5 in2


# The measuring tolerance, 1/8 in or 3 mm, is common practice without a source.
@pytest.mark.parametrize(
    ("reach", "units", "verdict"),
    [
        ("20", "in", "MEETS"),
        ("19 7/8", "in", "CLOSE"),
        ("19 13/16", "in", "SHORT"),
        ("508", "mm", "MEETS"),
        ("505", "mm", "CLOSE"),
        ("504.9", "mm", "SHORT"),
    ],
)
def test_measured_reach_is_close_within_the_tolerance_of_its_unit(
    reach: str, units: str, verdict: str
) -> None:
    opening = ("36", "30") if units == "in" else ("914", "762")
    assert (
        finding(hearth(*opening, measured=True, units=units, front=reach), "hearth.front").verdict == verdict
    )
    if verdict == "CLOSE":
        exact = hearth(*opening, units=units, front=reach)
        assert finding(exact, "hearth.front").verdict == "SHORT"


def test_16_in_typed_as_millimeters_meets_the_limit() -> None:
    assert finding(hearth("24", "24", front="406.4 mm"), "hearth.front").verdict == "MEETS"
    assert finding(hearth("24", "24", front="406.3 mm"), "hearth.front").verdict == "SHORT"


# 36 x 24 in measured to 1/8 in: 856.5 to 871.5 in2, on both sides of 864 in2.
@pytest.mark.parametrize(
    ("height", "reach", "verdict"),
    [
        ("24", "20", "MEETS"),
        ("24", "18", "CLOSE"),
        ("24", "16", "CLOSE"),
        ("24", "15 3/4", "SHORT"),
        ("23 7/8", "20", "MEETS"),
        ("23 7/8", "16", "CLOSE"),
        ("23 7/8", "15 3/4", "SHORT"),
        ("23 1/2", "16", "MEETS"),
        ("24 1/2", "16", "SHORT"),
    ],
)
def test_where_tolerance_decides_the_step_both_reaches_are_shown(
    height: str, reach: str, verdict: str
) -> None:
    one = finding(hearth("36", height, measured=True, front=reach), "hearth.front")
    assert one.verdict == verdict
    if verdict == "CLOSE":
        assert "16 in" in one.text and "20 in" in one.text
        assert "measuring tolerance decides" in one.text


def test_where_tolerance_decides_the_step_it_decides_for_the_sides() -> None:
    for past, verdict in (("12", "MEETS"), ("10", "CLOSE"), ("7 3/4", "SHORT")):
        job = hearth("36", "24", measured=True, left=past, right=past)
        assert {str(finding(job, id).verdict) for id in ("hearth.left", "hearth.right")} == {verdict}


def test_what_is_missing_is_named_together() -> None:
    bare = {"face": [{"name": "east room"}]}
    assert finding(bare, "hearth.front").missing == (
        'face."east room".width',
        'face."east room".height',
        'face."east room".hearth.front',
    )
    assert finding(bare, "hearth.left").missing[-1] == 'face."east room".hearth.left'
    assert finding(bare, "hearth.thickness").missing == ('face."east room".hearth.thickness',)
    assert finding(bare, "hearth.below").missing == ('face."east room".hearth.below',)


@pytest.mark.parametrize("lost", ["width", "height"])
def test_a_hearth_too_small_for_any_opening_waits_for_none(lost: str) -> None:
    """IRC R1001.10: 16 in and 8 in below 6 ft2, more from there."""
    for reach, verdict in (
        (("15 7/8", "7 7/8"), "SHORT"),
        (("16", "8"), "MEASURE"),
        (("20", "12"), "MEASURE"),
    ):
        job = hearth("36", "30", front=reach[0], left=reach[1], right=reach[1])
        del job["face"][0][lost]
        for side, limit in {"front": "16 in", "left": "8 in", "right": "8 in"}.items():
            made = finding(job, f"hearth.{side}")
            assert made.verdict == verdict
            assert (made.required and made.required.text) == (limit if verdict == "SHORT" else None)
            assert not any("Lay out" in line or "Lay it" in line for line in made.remedy)


@pytest.mark.parametrize(("reach", "verdict"), [("15 7/8", "SHORT"), ("16", "MEASURE")])
def test_a_hearth_too_small_for_any_opening_waits_for_no_plan(reach: str, verdict: str) -> None:
    """A height planned anew, by the lintel or by the floor: the opening is below 6 ft2 or not (IRC R1001.10)."""
    job = hearth("36", "30", front=reach) | {"planned": {"face": [{"name": "room", "height": "22"}]}}
    head = {"format": "hearthcalc-job", "version": 1}
    job["face"].append({"name": "den", "width": "36", "height": "30", "hearth": {"front": reach}})
    stage = assess(Job.from_document(head | job), reference.load("irc-2021")).stages["planned"]
    den = next(f for f in stage.findings if (f.id, f.face) == ("hearth.front", "den"))
    assert (den.verdict, den.missing) == (
        verdict,
        () if verdict == "SHORT" else ("planned.face.room.opening_above_hearth",),
    )


@pytest.mark.parametrize(("side", "verdict"), [("11 7/8", "SHORT"), ("12", "MEASURE")])
def test_an_arch_whose_rise_is_not_measured_is_open_by_a_half_round_at_least(side: str, verdict: str) -> None:
    """36 x 30 in under a half round of 18 in is 941 in2, more than 6 ft2 (864 in2): geometry."""
    job = hearth("36", "30", left=side, arch="segmental")
    made = finding(job, "hearth.left")
    assert (made.verdict, made.missing) == (verdict, () if verdict == "SHORT" else ("face.room.rise",))
    assert finding(hearth("36", "27", left=side, arch="segmental"), "hearth.left").verdict == "MEASURE"


def test_a_raised_fire_only_asks_for_more_hearth() -> None:
    """NBC 9.22.5.1: 400 mm in front, more where the floor of the firebox is raised; the Swedish circle grows with it too."""
    for front, verdict in (("399 mm", "SHORT"), ("400 mm", "MEASURE"), ("2 m", "MEASURE")):
        job = hearth("36", "30", front=front)
        assert finding(job, "hearth.front", "canada-nbc").verdict == verdict
    job = hearth("36", "30", front="10") | {"firebox": {"depth": "20"}}
    assert finding(job, "hearth.front", "sweden").verdict == "SHORT"


def test_the_plan_to_lay_out_cures_what_is_short() -> None:
    short = finding(hearth("36", "30", front="16", left="8", right="8"), "hearth.front")
    (plan,) = short.remedy
    assert plan == (
        "Lay out a hearth at the room face 60 in along the wall (12 in past each side of the opening) "
        "and 20 in out from the opening."
    )
    along, side, out = re.findall(r"([\d/ ]+) in", plan)[:3]
    assert F(along) == 36 + 2 * F(side)
    laid = hearth("36", "30", front=out.strip(), left=side.strip(), right=side.strip())
    for id in ("hearth.front", "hearth.left", "hearth.right"):
        assert finding(laid, id).verdict == "MEETS"
        assert finding(laid, id).remedy == ()


# NBC 9.22.5.1: 400 mm from the facing, 450 from 150 mm of rise on; by a tape that may be off by 3 mm.
@pytest.mark.parametrize(
    ("front", "entries", "verdict", "missing"),
    [
        ("396 mm", {}, "SHORT", ()),
        ("397 mm", {}, "MEASURE", ("facing", "opening_above_hearth")),
        ("500 mm", {"facing": "0"}, "MEASURE", ("opening_above_hearth",)),
        ("396 mm", {"opening_above_hearth": "151 mm"}, "SHORT", ()),
        ("420 mm", {"opening_above_hearth": "151 mm"}, "MEASURE", ("facing",)),
        ("420 mm", {"opening_above_hearth": "154 mm"}, "SHORT", ()),
    ],
)
def test_a_hearth_too_short_from_the_opening_is_too_short_from_any_facing(
    front: str, entries: Document, verdict: str, missing: tuple[str, ...]
) -> None:
    one = finding(
        hearth("600 mm", "600 mm", measured=True, units="mm", front=front, **entries),
        "hearth.front",
        "canada-nbc",
    )
    assert one.verdict == verdict
    assert {address.rpartition(".")[2] for address in one.missing} == set(missing)


# Swedish guidance: 1 m round the center of the hearth, or more by how high it is.
@pytest.mark.parametrize(("front", "verdict"), [("740 mm", "SHORT"), ("750 mm", "MEASURE")])
@pytest.mark.parametrize("entries", [{}, {"opening_above_hearth": "0"}, {"above_floor": "400 mm"}])
def test_a_swedish_hearth_too_short_for_any_height_is_short(
    front: str, verdict: str, entries: Document
) -> None:
    job = hearth("600 mm", "600 mm", front=front, **entries) | {"firebox": {"depth": "500 mm"}}
    assert finding(job, "hearth.front", "sweden").verdict == verdict


def test_a_reach_from_the_facing_gives_the_facing_away() -> None:
    """NBC 9.22.5.1 measures from the facing; the IRC from the opening (us.md 9, point 4)."""
    job = hearth("600 mm", "600 mm", front="450 mm", facing="60 mm", opening_above_hearth="0")
    canada = finding(job, "hearth.front", "canada-nbc")
    assert canada.found and canada.found.value == 390
    assert canada.verdict == "SHORT"
    assert "450 mm" not in canada.text
    assert canada.remedy[0].endswith("and 18 1/8 in out from the opening.")  # 400 mm and the facing's 60 mm
    assert finding(job, "hearth.front").verdict == "MEETS"


# IRC 2021 R1001.9.2: 2 in, or 3/8 in where the bottom of the opening is 8 in or more above the extension.
@pytest.mark.parametrize(
    ("thick", "raised", "verdict"),
    [
        ("2", None, "MEETS"),
        ("2 1/16", None, "MEETS"),
        ("1 15/16", "0", "SHORT"),
        ("1 15/16", None, "MEASURE"),
        ("3/8", "8", "MEETS"),
        ("3/8", "8 1/16", "MEETS"),
        ("3/8", "7 15/16", "SHORT"),
        ("7/16", "8", "MEETS"),
        ("5/16", "8", "SHORT"),
        ("5/16", None, "SHORT"),
    ],
)
def test_thickness_and_the_thin_hearth_below_a_raised_opening(
    thick: str, raised: str | None, verdict: str
) -> None:
    entries = {"thickness": thick} | ({"opening_above_hearth": raised} if raised else {})
    one = finding(hearth("36", "30", **entries), "hearth.thickness")
    assert one.verdict == verdict
    if verdict == "MEASURE":
        assert one.missing == ("face.room.opening_above_hearth",)
    if verdict == "SHORT":
        assert one.remedy[0].startswith(f"Thicken it to {'3/8' if raised == '8' else '2'} in")


@pytest.mark.parametrize(
    ("thick", "raised", "verdict"), [("1", "8", "CLOSE"), ("1", "7 7/8", "CLOSE"), ("1", "7 3/4", "SHORT")]
)
def test_where_tolerance_decides_the_thin_hearth_it_is_close(thick: str, raised: str, verdict: str) -> None:
    job = hearth("36", "30", measured=True, thickness=thick, opening_above_hearth=raised)
    assert finding(job, "hearth.thickness").verdict == verdict


# 3/8 in is the least anywhere (IRC 2021 R1001.9.2), and the tape reads 1/8 in either way: 1/4 in may just be enough, by the rise.
@pytest.mark.parametrize(("thick", "verdict"), [("3/16", "SHORT"), ("1/4", "MEASURE"), ("5/16", "MEASURE")])
def test_a_hearth_too_thin_under_any_opening_waits_for_no_rise(thick: str, verdict: str) -> None:
    one = finding(hearth("36", "30", measured=True, thickness=thick), "hearth.thickness")
    assert one.verdict == verdict
    assert one.missing == (("face.room.opening_above_hearth",) if verdict == "MEASURE" else ())


# IRC 2021 R1001.9: noncombustible support, nothing that burns left against the underside.
@pytest.mark.parametrize(
    ("below", "verdict"),
    [
        ("masonry", "MEETS"),
        ("concrete", "MEETS"),
        ("earth", "MEETS"),
        ("brick arch", "MEETS"),
        ("air gap", "REFER"),
        ("wood", "SHORT"),
        ("wood, insulated", "SHORT"),
        ("unknown", "MEASURE"),
    ],
)
def test_what_lies_below(below: str, verdict: str) -> None:
    one = finding(hearth("36", "30", below=below, thickness="4"), "hearth.below")
    assert one.verdict == verdict
    assert (one.caution is not None) == (verdict == "SHORT")
    if verdict == "SHORT":
        words = " ".join(one.remedy)
        assert all(cure in words for cure in ("cantilever", "trimmer arch", "form boards", "listed units"))


@pytest.mark.parametrize(
    ("thick", "raised", "verdict"),
    [("1", "8", "REFER"), ("1", "7", "SHORT"), ("2", "8", "SHORT"), ("1", None, "SHORT")],
)
def test_wood_below_a_thin_hearth_under_a_raised_opening_is_for_the_official(
    thick: str, raised: str | None, verdict: str
) -> None:
    entries = {"thickness": thick} | ({"opening_above_hearth": raised} if raised else {})
    assert finding(hearth("36", "30", below="wood", **entries), "hearth.below").verdict == verdict


# Approved Document J, diagram 25, as NHBC 6.8.18 gives it: nothing that burns nearer than 250 mm below the top, or an air gap of 50 mm.
@pytest.mark.parametrize(
    ("below", "thickness", "verdict"),
    [
        ("wood", "250 mm", "MEETS"),
        ("wood", "249 mm", "SHORT"),
        ("wood, insulated", "249 mm", "SHORT"),
        ("air gap", "125 mm", "REFER"),
        ("masonry", "125 mm", "MEETS"),
        ("concrete", "125 mm", "MEETS"),
    ],
)
def test_what_burns_below_an_english_hearth_keeps_its_distance(
    below: str, thickness: str, verdict: str
) -> None:
    one = finding(hearth("36", "30", below=below, thickness=thickness), "hearth.below", "england-adj")
    assert one.verdict == verdict
    assert ("an air gap" in one.text and "of at least 50 mm" in one.text) == (below == "air gap")
    if verdict == "SHORT":  # an insulation that is listed does not make the distance
        assert one.caution and len(one.remedy) == 3 and "insulation" not in " ".join(one.remedy)


# NBC 9.22.5.2.(2): over a floor that burns from 200 mm up, then as CSA A405 has it, which is not at hand.
@pytest.mark.parametrize(
    ("raised", "verdict"), [("199 mm", "SHORT"), ("200 mm", "REFER"), ("201 mm", "REFER"), (None, "MEASURE")]
)
def test_a_floor_that_burns_carries_a_hearth_in_canada_only_under_a_raised_opening(
    raised: str | None, verdict: str
) -> None:
    entries = {"opening_above_hearth": raised} if raised else {}
    one = finding(hearth("36", "30", below="wood", **entries), "hearth.below", "canada-nbc")
    assert one.verdict == verdict
    if verdict == "SHORT":  # an insulation that is listed does not raise the opening
        assert one.caution and len(one.remedy) == 3 and "insulation" not in " ".join(one.remedy)


# FeuVO 4(8) asks for a covering and is silent on what is under it. That wood chars there is told all the same.
@pytest.mark.parametrize(("below", "verdict"), [("wood", "REFER"), ("concrete", "MEETS")])
def test_what_lies_below_a_german_covering(below: str, verdict: str) -> None:
    one = finding(hearth("36", "30", below=below), "hearth.below", "germany-feuvo")
    assert one.verdict == verdict
    assert (one.caution is not None) == (below == "wood")


def two_faces(front: str, side: str, **use: Any) -> Document:
    reach = {"front": front, "left": side, "right": side}
    faces = [
        {"name": name, "side": at, "width": "24", "height": "24", "closure": "steel doors", "hearth": reach}
        for name, at in (("study", "front"), ("terrace", "back"))
    ]
    return {"about": {"measured": False}, "face": faces, "use": use}


def test_faces_that_pass_6_ft2_only_in_sum_ask_the_official() -> None:
    """Two faces of 4 ft2 each; that openings are added up for the hearth stands in no US code (us.md 6g)."""
    both = told(two_faces("16", "8"), "hearth.front")
    assert [(f.face, f.state, f.verdict) for f in both] == [
        ("study", None, "MEETS"),
        ("study", "all open", "REFER"),
        ("terrace", None, "MEETS"),
        ("terrace", "all open", "REFER"),
    ]
    assert "1152 in2 is open; added up, that takes 20 in in front" in both[1].text
    sides = told(two_faces("16", "8"), "hearth.left")
    assert [f.verdict for f in sides] == ["MEETS", "REFER", "MEETS", "REFER"]
    assert "that takes 12 in past the left side" in sides[1].text


def test_a_face_that_cannot_open_adds_no_opening_and_is_not_asked() -> None:
    job = two_faces("16", "8")
    fixed = {
        "name": "porch",
        "side": "left",
        "width": "24",
        "height": "24",
        "closure": "fixed glass",
        "burning_closed": "yes",
    }
    job["face"].append(fixed | {"hearth": job["face"][0]["hearth"]})
    both = told(job, "hearth.front")
    assert [(f.face, f.state) for f in both if f.state] == [("study", "all open"), ("terrace", "all open")]
    assert all("1152 in2 is open" in f.text for f in both if f.state)


def test_the_larger_hearth_answers_that_question() -> None:
    both = told(two_faces("20", "12"), "hearth.front")
    assert {f.verdict for f in both} == {"MEETS"}
    assert "this one meets that too" in both[1].text


def test_one_face_at_a_time_does_not_count_the_sum() -> None:
    both = told(two_faces("16", "8", open_together=False), "hearth.front")
    assert [f.counts for f in both] == [True, False, True, False]


def test_faces_that_pass_the_step_alone_are_not_asked_twice() -> None:
    job = two_faces("20", "12")
    for face in job["face"]:
        face["width"] = "36"
    assert [f.state for f in told(job, "hearth.front")] == [None, None]


# The limit is told before there is a hearth: the opening and the edition are enough.


@pytest.mark.parametrize(
    ("height", "front", "side"), [("23 15/16", "16 in", "8 in"), ("24", "20 in", "12 in")]
)
def test_how_far_it_must_reach_is_told_before_there_is_a_hearth(height: str, front: str, side: str) -> None:
    bare = {"face": [{"name": "room", "width": "36", "height": height}], "about": {"measured": False}}
    for id, limit in (("hearth.front", front), ("hearth.left", side), ("hearth.right", side)):
        asked = finding(bare, id)
        assert asked.verdict == "MEASURE" and asked.missing == (f"face.room.{id}",)
        assert asked.required and asked.required.text == limit and asked.found is None
        assert asked.text.startswith(f"{limit} minimum ")
        assert asked.remedy[0].startswith("Lay out a hearth at the room face")
        assert asked.working and asked.basis
    thick = finding(bare, "hearth.thickness")
    assert (
        thick.required and thick.required.text == "2 in" and thick.missing == ("face.room.hearth.thickness",)
    )


def test_near_6_ft2_both_reaches_are_told() -> None:
    bare = {"face": [{"name": "room", "width": "36", "height": "24"}]}
    assert finding(bare, "hearth.front").text.startswith("20 in or 16 in minimum out from the opening.")
