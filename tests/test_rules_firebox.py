"""The firebox: is it masonry at all, how deep and thick, the throat over each face, the smoke chamber."""

import re
from fractions import Fraction
from typing import Any

import pytest

from hearthcalc import job as record
from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.rules import firebox as firebox_rules

Document = dict[str, Any]
FACE = {"name": "study", "side": "front", "width": "36", "height": "30"}


def told(document: Document, id: str, edition: str = "irc-2021", stage: str = "found") -> list[Finding]:
    head = {"format": "hearthcalc-job", "version": 1, "face": [FACE]}
    result = assess(Job.from_document(head | document), reference.load(edition)).stages[stage]
    return [f for f in result.findings if f.id == id]


def one(document: Document, id: str, edition: str = "irc-2021", stage: str = "found") -> Finding:
    (only,) = told(document, id, edition, stage)
    return only


def firebox(measured: bool = False, **entries: Any) -> Document:
    return {"about": {"measured": measured}, "firebox": entries}


def see_through(**entries: Any) -> Document:
    back = {"name": "terrace", "side": "back", "width": "40", "height": "28"}
    return firebox(**entries) | {"face": [FACE, back]}


# IRC 2021: R1001.5 joint, R1001.6 depth and throat, R1001.8 and R1001.8.1 smoke chamber, R1001.9.1 floor, R1001.7 bearing.
AT_LEAST = {
    "firebox.depth": ("depth", "20", "19 15/16"),
    "firebox.floor_slab": ("floor_slab", "4", "3 1/2"),
    "firebox.throat_height": ("throat_height", "38", "37 15/16"),
    "firebox.throat_depth": ("throat_depth", "4", "3 15/16"),
}
AT_MOST = {
    "firebox.joint": ("joint", "1/4", "5/16"),
    "smoke_chamber.height": ("smoke_chamber_height", "36", "36 1/16"),
}


@pytest.mark.parametrize(("id", "row"), [*AT_LEAST.items(), *AT_MOST.items()])
def test_each_measure_at_its_limit_and_on_both_sides(id: str, row: tuple[str, str, str]) -> None:
    key, limit, wrong = row
    at = one(firebox(**{key: limit}), id)
    assert at.verdict == "MEETS"
    assert "exactly at the limit" in at.text
    assert one(firebox(**{key: wrong}), id).verdict == "SHORT"
    right = "1/8" if key == "joint" else "30" if id in AT_MOST else f"{limit} 1/16"
    beyond = one(firebox(**{key: right}), id)
    assert beyond.verdict == "MEETS"
    assert "exactly" not in beyond.text
    assert one(firebox(), id).missing == (f"firebox.{key}",)


@pytest.mark.parametrize(
    ("key", "id", "close", "short"),
    [
        ("depth", "firebox.depth", "19 7/8", "19 3/4"),
        ("throat_height", "firebox.throat_height", "37 3/4", "37 5/8"),  # two readings, 1/8 in each
        ("joint", "firebox.joint", "3/8", "7/16"),
        ("smoke_chamber_height", "smoke_chamber.height", "36 1/4", "36 3/8"),
    ],
)
def test_the_tape_decides_within_its_tolerance(key: str, id: str, close: str, short: str) -> None:
    assert one(firebox(True, **{key: close}), id).verdict == "CLOSE"
    assert one(firebox(True, **{key: short}), id).verdict == "SHORT"


# IRC 2021 R1001.5: 8 in with a lining of 2 in or more, else 10 in. Nominal sizes 3/8 in under: own policy.
@pytest.mark.parametrize(
    ("wall", "lining", "verdict"),
    [
        ("8", "2", "MEETS"),
        ("8 1/16", "2", "MEETS"),
        ("7 15/16", "2", "CLOSE"),
        ("7 5/8", "2", "CLOSE"),
        ("7 9/16", "2", "SHORT"),
        ("10", "0", "MEETS"),
        ("9 5/8", "0", "CLOSE"),
        ("9 1/2", "0", "SHORT"),
        ("9", "1 15/16", "SHORT"),
        ("10", "1 15/16", "MEETS"),
    ],
)
def test_the_walls_by_their_lining_and_their_nominal_size(wall: str, lining: str, verdict: str) -> None:
    sides, back = told(firebox(wall=wall, lining=lining), "firebox.wall")
    assert (sides.item, sides.verdict) == ("sides", verdict)
    assert (back.item, back.missing) == ("back", ("firebox.back_wall",))
    if verdict == "CLOSE":
        assert "nominal size" in sides.text
        assert sides.basis[-1].standing == "policy"


@pytest.mark.parametrize(("limit", "nominal"), [("floor_slab", "3 5/8"), ("smoke_chamber_wall", "7 5/8")])
def test_floor_and_smoke_chamber_go_by_nominal_sizes_too(limit: str, nominal: str) -> None:
    id = "firebox.floor_slab" if limit == "floor_slab" else "smoke_chamber.wall"
    assert one(firebox(**{limit: nominal}), id).verdict == "CLOSE"
    thinner = one(firebox(**{limit: nominal.replace("5/8", "9/16")}), id)
    # 6 in is enough for a chamber that is lined, which nobody has told of yet
    assert thinner.verdict == ("SHORT" if limit == "floor_slab" else "MEASURE")


def test_back_and_sides_are_judged_one_by_one() -> None:
    walls = told(firebox(wall="8", back_wall="6", lining="2 1/2"), "firebox.wall")
    assert [(f.item, f.verdict) for f in walls] == [("sides", "MEETS"), ("back", "SHORT")]
    open_back = told(see_through(wall="8", lining="2 1/2"), "firebox.wall")
    assert [(f.item, f.verdict) for f in open_back] == [
        ("sides", "MEETS"),
        ("beside the back opening", "MEASURE"),
    ]
    for key, bare in zip(("wall", "back_wall"), told(firebox(), "firebox.wall"), strict=True):
        assert set(bare.missing) == {"firebox.lining", f"firebox.{key}"}
    for key, lined in zip(("wall", "back_wall"), told(firebox(lining="2 1/2"), "firebox.wall"), strict=True):
        assert lined.missing == (f"firebox.{key}",)
        assert lined.required and lined.required.text == "8 in"


# IRC 2021 R1001.5.1: a steel unit in masonry, 8 in round it whatever the lining.
def test_walls_round_a_steel_unit() -> None:
    job = firebox(wall="8", back_wall="8") | {"fireplace": {"construction": "steel-lined masonry"}}
    assert {f.verdict for f in told(job, "firebox.wall")} == {"MEETS"}
    job["firebox"] |= {"wall": "7 1/2", "back_wall": "7 1/2"}
    assert {f.verdict for f in told(job, "firebox.wall")} == {"SHORT"}


@pytest.mark.parametrize(
    ("lining", "wall", "verdict"),
    [
        ("2", "8", "MEETS"),
        ("2 1/16", "8", "MEETS"),
        ("1 15/16", "8", "SHORT"),
        ("1 1/4", "9 9/16", "SHORT"),
        ("1 1/4", "9 5/8", "CLOSE"),  # sold as 10 in
        ("1 1/4", "10", "MEETS"),
        ("1 1/4", None, "MEASURE"),  # thicker walls could make up for it
        ("0", "10", "MEETS"),
        ("0", "8", "SHORT"),
        ("0", None, "MEASURE"),
    ],
)
def test_the_lining_or_thicker_walls_without_one(lining: str, wall: str | None, verdict: str) -> None:
    """IRC 2021 R1001.5; a split of 1 1/4 in does not count (us.md 8, computed)."""
    finding = one(firebox(lining=lining, **({"wall": wall} if wall else {})), "firebox.lining")
    assert finding.verdict == verdict
    if lining == "1 1/4" and verdict == "SHORT":
        assert "1 1/4 in is too thin" in (finding.caution or "")
        assert "2 in or more" in finding.remedy[0]
    if lining == "1 1/4" and verdict == "MEETS":
        assert "does not count as a lining" in finding.text


@pytest.mark.parametrize(
    ("lining", "wall", "verdict"),
    [
        ("50 mm", "190 mm", "MEETS"),
        ("49 mm", "900 mm", "SHORT"),
        ("0", "900 mm", "SHORT"),
        ("49 mm", None, "SHORT"),
    ],
)
def test_where_firebrick_is_required_no_wall_makes_up_for_it(
    lining: str, wall: str | None, verdict: str
) -> None:
    """NBC 2015 9.22.2.1 and 9.22.2.2: every firebox has firebrick of 50 mm at its sides and back."""
    box = firebox(lining=lining, **({"wall": wall} if wall else {}))
    finding = one(box, "firebox.lining", "canada-nbc")
    assert finding.verdict == verdict
    assert not any("unlined" in line for line in finding.remedy)
    assert not [value for value in finding.basis if "less firebrick" in value.title]


def test_without_a_lining_there_are_no_joints_to_judge() -> None:
    assert told(firebox(lining="0"), "firebox.joint") == []


# IRC 2021 R1001.6 exception: a Rumford is 12 in deep and a third of its width; throat 12 in up, a twentieth of the opening.
@pytest.mark.parametrize(
    ("width", "depth", "verdict"),
    [
        ("36", "12", "MEETS"),
        ("36", "11 15/16", "SHORT"),
        ("30", "12", "MEETS"),
        ("30", "11", "SHORT"),
        ("48", "16", "MEETS"),
        ("48", "15 15/16", "SHORT"),
        ("48", "16 1/16", "MEETS"),
    ],
)
def test_a_rumford_is_shallower(width: str, depth: str, verdict: str) -> None:
    job = firebox(depth=depth) | {"fireplace": {"pattern": "rumford"}, "face": [FACE | {"width": width}]}
    assert one(job, "firebox.depth").verdict == verdict


@pytest.mark.parametrize(
    ("throat", "verdict"), [("42", "MEETS"), ("41 15/16", "SHORT"), ("42 1/16", "MEETS")]
)
def test_the_throat_of_a_rumford_is_higher(throat: str, verdict: str) -> None:
    job = firebox(throat_height=throat) | {"fireplace": {"pattern": "rumford"}}
    assert one(job, "firebox.throat_height").verdict == verdict


@pytest.mark.parametrize(("deep", "verdict"), [("1 1/2", "MEETS"), ("1 7/16", "SHORT")])
def test_the_throat_of_a_rumford_is_a_twentieth_of_the_opening(deep: str, verdict: str) -> None:
    job = firebox(throat_depth=deep, throat_width="36", damper="none") | {
        "fireplace": {"pattern": "rumford"},
        "flue": {"liner": "13x13"},
    }
    assert one(job, "firebox.passageway").verdict == verdict  # 1080 in2 / 20 = 54 in2 = 1 1/2 x 36


def test_two_opposite_faces_have_no_back() -> None:
    finding = one(see_through(depth="24"), "firebox.depth")
    assert finding.verdict == "REFER"
    assert "no back" in finding.text
    assert "roll out on either side" in (finding.caution or "")
    assert one(see_through(), "firebox.depth").verdict == "MEASURE"
    corner = see_through(depth="24")
    corner["face"] = [FACE, corner["face"][1] | {"side": "left", "width": "22"}]
    assert one(corner, "firebox.depth").verdict == "MEETS"


def test_the_throat_stands_over_each_face() -> None:
    """IRC 2021 R1001.6 and R1001.7, for the lintel of every opening."""
    job = see_through(throat_height="37")
    assert [(f.face, f.verdict) for f in told(job, "firebox.throat_height")] == [
        ("study", "SHORT"),
        ("terrace", "MEETS"),
    ]


@pytest.mark.parametrize("throat", ["37", "30", "28"])
def test_a_lintel_brought_down_as_told_meets(throat: str) -> None:
    short = one(firebox(throat_height=throat), "firebox.throat_height")
    assert short.verdict == "SHORT"
    assert short.caution
    down = re.search(r"down to ([\d/ ]+) in above the firebox floor", short.remedy[0])
    assert down
    cured = firebox(throat_height=throat) | {"face": [FACE | {"height": down[1]}]}
    assert one(cured, "firebox.throat_height").verdict == "MEETS"


def test_a_throat_below_the_lintel_lets_smoke_out() -> None:
    finding = one(firebox(throat_height="28"), "firebox.throat_height")
    assert finding.verdict == "SHORT"
    assert (
        finding.text == "The throat is 2 in below the top of the study opening; 8 in minimum: short by 10 in."
    )
    assert finding.margin and finding.margin.value == -10


# IRC 2021 R1001.6: nowhere smaller than the flue; 13x13 has 127 in2 by Table R1003.14(2).
@pytest.mark.parametrize(
    ("deep", "wide", "damper", "verdicts"),
    [
        ("4", "31 3/4", "127 in2", ["MEETS", "MEETS"]),
        ("4", "31 11/16", "127 in2", ["SHORT", "MEETS"]),
        ("4", "32", "126.9 in2", ["MEETS", "SHORT"]),
        ("4", "32", "127.1 in2", ["MEETS", "MEETS"]),
    ],
)
def test_the_way_above_the_fire_is_nowhere_smaller_than_the_flue(
    deep: str, wide: str, damper: str, verdicts: list[str]
) -> None:
    job = firebox(throat_depth=deep, throat_width=wide, damper="throat", damper_area=damper)
    findings = told(job | {"flue": {"liner": "13x13"}}, "firebox.passageway")
    assert [(f.item, f.verdict) for f in findings] == list(zip(("throat", "damper"), verdicts, strict=True))


def test_all_that_the_passageway_lacks_is_named() -> None:
    lacking = {f.item: f.missing for f in told(firebox(), "firebox.passageway")}
    assert lacking == {
        "throat": ("firebox.throat_depth", "firebox.throat_width", "flue.liner"),
        "damper": ("firebox.damper", "firebox.damper_area", "flue.liner"),
    }
    job = firebox(damper="none", throat_depth="4", throat_width="36") | {"flue": {"liner": "13x13"}}
    assert [f.item for f in told(job, "firebox.passageway")] == ["throat"]


def test_a_flue_of_another_edition_refers_its_passageway() -> None:
    job = firebox(throat_depth="4", throat_width="36") | {"flue": {"liner": "7.5x7.5"}}
    assert {f.verdict for f in told(job, "firebox.passageway")} == {"REFER"}


# IRC 2021 R1001.7.1.
@pytest.mark.parametrize(
    ("entries", "verdict"),
    [
        ({"damper": "throat", "damper_works": "yes"}, "MEETS"),
        ({"damper": "top", "damper_works": "yes"}, "MEETS"),
        ({"damper": "throat", "damper_works": "no"}, "SHORT"),
        ({"damper": "throat", "damper_works": "unknown"}, "MEASURE"),
        ({"damper": "throat"}, "MEASURE"),
        ({"damper": "none"}, "SHORT"),
        ({"damper": "unknown"}, "MEASURE"),
        ({}, "MEASURE"),
    ],
)
def test_there_is_a_damper_and_it_works(entries: dict[str, str], verdict: str) -> None:
    finding = one(firebox(**entries), "firebox.damper")
    assert finding.verdict == verdict
    assert bool(finding.remedy) == (verdict == "SHORT")


@pytest.mark.parametrize(
    ("below", "verdict"),
    [
        ("concrete", "MEETS"),
        ("brick arch", "MEETS"),
        ("wood", "SHORT"),
        ("wood, insulated", "SHORT"),
        ("air gap", "REFER"),
        ("unknown", "MEASURE"),
    ],
)
def test_what_lies_below_the_firebox_floor(below: str, verdict: str) -> None:
    """IRC 2021 R1001.9."""
    finding = one(firebox(floor_below=below), "firebox.floor_below")
    assert finding.verdict == verdict
    assert (finding.caution is not None) == (verdict == "SHORT")


def test_the_smoke_chamber_is_no_higher_than_the_narrower_face_is_wide() -> None:
    job = see_through(smoke_chamber_height="38")
    assert one(job, "smoke_chamber.height").verdict == "SHORT"  # 36 and 40 in wide
    job["firebox"]["smoke_chamber_height"] = "36"
    assert one(job, "smoke_chamber.height").verdict == "MEETS"
    job["face"][1] = {"name": "terrace"}
    assert one(job, "smoke_chamber.height").missing == ("face.terrace.width",)
    job["firebox"]["smoke_chamber_height"] = "38"
    short = one(job, "smoke_chamber.height")  # over the one of 36 in, however wide the other is
    assert (short.verdict, short.required and short.required.text) == ("SHORT", "36 in")


# IRC 2021 R1001.8.1: 45 degrees if rolled, sloped or prefabricated, 30 if corbelled.
@pytest.mark.parametrize(
    ("form", "lean", "verdict"),
    [
        ("sloped", "45 deg", "MEETS"),
        ("sloped", "45.1 deg", "SHORT"),
        ("prefabricated", "44.9 deg", "MEETS"),
        ("corbelled", "30 deg", "MEETS"),
        ("corbelled", "30.1 deg", "SHORT"),
        ("corbelled", "29.9 deg", "MEETS"),
        ("unknown", "30 deg", "MEETS"),
        ("unknown", "30.1 deg", "MEASURE"),
        ("unknown", "45.1 deg", "SHORT"),
    ],
)
def test_the_lean_of_the_smoke_chamber_by_its_form(form: str, lean: str, verdict: str) -> None:
    job = firebox(smoke_chamber_form=form, smoke_chamber_slope=lean)
    assert one(job, "smoke_chamber.slope").verdict == verdict


# IRC 2021 R1001.8: 8 in; 6 in where it is lined, which a person has to see.
@pytest.mark.parametrize(
    ("wall", "verdict"),
    [("8", "MEETS"), ("7 5/8", "CLOSE"), ("7 1/2", "MEASURE"), ("6", "MEASURE"), ("5 15/16", "SHORT")],
)
def test_the_walls_of_the_smoke_chamber(wall: str, verdict: str) -> None:
    assert one(firebox(smoke_chamber_wall=wall), "smoke_chamber.wall").verdict == verdict


@pytest.mark.parametrize(("parged", "verdict"), [("yes", "MEETS"), ("no", "SHORT"), ("unknown", "MEASURE")])
def test_the_smoke_chamber_is_parged(parged: str, verdict: str) -> None:
    assert one(firebox(smoke_chamber_parged=parged), "smoke_chamber.parging").verdict == verdict


# What it is built of. That a listed unit is not altered: its listing (IRC 2021 R1004.1, UL 127).

CUT = {"face": [{"name": "terrace", "side": "back", "width": "30"}]}
WIDER = {"face": [{"name": "study", "width": "40"}]}
LOWER = {"face": [{"name": "study", "height": "24"}]}


@pytest.mark.parametrize(
    ("kind", "found", "cut", "wider", "lower"),
    [
        ("masonry", "MEETS", "MEETS", "MEETS", "MEETS"),
        ("steel-lined masonry", "REFER", "SHORT", "SHORT", "REFER"),
        ("factory-built", "REFER", "SHORT", "SHORT", "REFER"),
        ("unknown", "MEASURE", "MEASURE", "MEASURE", "MEASURE"),
    ],
)
def test_cutting_what_is_listed_is_short(kind: str, found: str, cut: str, wider: str, lower: str) -> None:
    job = {"fireplace": {"construction": kind}}
    assert one(job, "firebox.construction").verdict == found
    for planned, verdict in ((CUT, cut), (WIDER, wider), (LOWER, lower)):
        finding = one(job | {"planned": planned}, "firebox.construction", stage="planned")
        assert finding.verdict == verdict
        if verdict == "SHORT":
            assert "Do not cut" in finding.text
            assert finding.caution and finding.remedy


@pytest.mark.parametrize(
    ("lining", "key"), [("2 1/8", "lined"), ("2", "lined"), ("1 15/16", "unlined"), ("1", "unlined")]
)
def test_a_wall_rests_on_the_value_of_its_lining_as_measured(lining: str, key: str) -> None:
    """IRC 2021 R1001.5: 8 in with 2 in of lining or more, else 10 in; what the tape may be off changes no basis."""
    sides = told(firebox(measured=True, lining=lining, wall="12"), "firebox.wall")[0]
    assert sides.basis[0].key == f"firebox.wall.{key}"


# IRC 2021 R1001.8.1: 45 degrees where it is smooth, 30 where it is corbelled; between them the form has to be known.
@pytest.mark.parametrize(
    ("lean", "verdict"),
    [("30 deg", "MEETS"), ("30.1 deg", "MEASURE"), ("45 deg", "MEASURE"), ("45.1 deg", "SHORT")],
)
def test_the_lean_of_a_smoke_chamber_of_any_form(lean: str, verdict: str) -> None:
    assert one(firebox(smoke_chamber_slope=lean), "smoke_chamber.slope").verdict == verdict


def test_what_lines_a_smoke_chamber_is_asked_only_where_its_walls_are_thin() -> None:
    """IRC 2021 R1001.8: 8 in, or 6 where it is lined with firebrick or vitrified clay."""
    for wall, missing in (
        (None, "firebox.smoke_chamber_wall"),
        ("6", "structure.chamber_lining"),
        ("8", None),
        ("5", None),
    ):
        told_ = one(firebox(**({"smoke_chamber_wall": wall} if wall else {})), "smoke_chamber.wall")
        assert told_.missing == ((missing,) if missing else ())


# Approved Document J, diagram 28: 200 mm behind a recess, 100 where two stand back to back, as a leaf of a cavity wall, or outdoors.
@pytest.mark.parametrize(
    ("back", "verdict"), [("99", "SHORT"), ("100", "REFER"), ("199", "REFER"), ("200", "MEETS")]
)
def test_the_back_of_an_english_recess(back: str, verdict: str) -> None:
    job = firebox(back_wall=f"{back} mm", wall="300 mm", lining="0") | {"units": "mm"}
    told_ = {f.item: f.verdict for f in told(job, "firebox.wall", "england-adj")}
    assert told_["back"] == verdict


# A listed unit 36 in wide: its corners come 18 in down from the crown of a half circle, by the rise from a flatter arch, and not at all
# from a straight top. Less of that is more opening.
@pytest.mark.parametrize(
    ("found", "planned", "cut"),
    [
        (("semicircular", None), ("segmental", "17"), True),
        (("semicircular", None), ("segmental", "18"), False),
        (("segmental", "17"), ("semicircular", None), False),
        (("segmental", "14"), ("semicircular", None), False),
        (("flat", None), ("segmental", "1/2"), False),
        (("segmental", "1"), ("flat", None), True),
        (("segmental", "1"), ("segmental", "1"), False),
        (("segmental", "1"), ("segmental", "15/16"), True),
    ],
)
def test_another_arch_over_a_listed_unit_is_a_cut_where_it_opens_more(
    found: tuple[str, str | None], planned: tuple[str, str | None], cut: bool
) -> None:
    before, after = ({"arch": arch} | ({"rise": rise} if rise else {}) for arch, rise in (found, planned))
    job = {"fireplace": {"construction": "factory-built"}, "face": [FACE | before]}
    told = one(
        job | {"planned": {"face": [{"name": "study", **after}]}}, "firebox.construction", stage="planned"
    )
    assert ("Do not cut" in told.text) == cut


def test_the_listing_of_a_factory_built_unit_overrides_the_masonry_rules() -> None:
    job = firebox(depth="12", wall="2", lining="0") | {
        "fireplace": {"construction": "factory-built"},
        "nearby": [{"name": "oak", "what": "mantel", "face": "study", "above": "2", "projection": "5"}],
    }
    for id in ("firebox.depth", "firebox.wall", "hearth.front", "clearance.mantel", "flue.area"):
        assert one(job, id).verdict == "REFER"
    assert told(job, "clearance.trim") == []  # a rule that has nothing to say still says nothing
    assert one(job, "flue.condition").verdict == "MEASURE"


def test_what_kind_of_fireplace_it_is_cannot_be_read() -> None:
    head = {"format": "hearthcalc-job", "version": 1, "face": [FACE], "fireplace": {"construction": "brick"}}
    job, problems = record.read(head)
    said = {address: problem.what for address, problem in problems.items()}
    findings = assess(job, reference.load("irc-2021"), said).stages["found"].findings
    (finding,) = [f for f in findings if f.id == "firebox.construction"]
    assert finding.verdict == "MEASURE"
    assert finding.text.startswith("Cannot be read: fireplace.construction: ")
    assert "Cutting a listed unit" in (finding.caution or "")


def test_without_a_face_a_smoke_chamber_has_no_opening_to_go_by() -> None:
    """IRC 2021 R1001.8.1: no higher than the opening is wide."""
    job, _ = record.read(
        {"format": "hearthcalc-job", "version": 1, "firebox": {"smoke_chamber_height": "20"}}
    )
    findings = assess(job, reference.load("irc-2021")).stages["found"].findings
    assert [f for f in findings if f.id == "smoke_chamber.height"] == []


def test_a_rumford_goes_by_its_exception_alone() -> None:
    """IRC 2021 R1001.6, exception: a throat of a twentieth of the opening, 54 in2 for 1080, also where it is under 4 in deep."""
    job = firebox(throat_depth="1 1/2", throat_width="36", damper="top", damper_area="54 in2")
    job |= {"fireplace": {"pattern": "rumford"}, "flue": {"liner": "13x13"}}
    assert told(job, "firebox.throat_depth") == []
    assert {f.item: f.verdict for f in told(job, "firebox.passageway")} == {
        "throat": "MEETS",
        "damper": "MEETS",
    }
    small = job | {"firebox": job["firebox"] | {"damper_area": "53.9 in2"}}
    assert {f.item: f.verdict for f in told(small, "firebox.passageway")}["damper"] == "SHORT"


@pytest.mark.parametrize(
    ("id", "limit"),
    [
        ("firebox.depth", "20 in"),
        ("firebox.lining", "2 in"),
        ("firebox.joint", "1/4 in"),
        ("firebox.floor_slab", "4 in"),
        ("firebox.throat_height", "8 in"),
        ("firebox.throat_depth", "4 in"),
        ("smoke_chamber.height", "36 in"),
        ("smoke_chamber.wall", "8 in"),
    ],
)
def test_the_limit_is_told_before_anything_is_measured(id: str, limit: str) -> None:
    finding = one(firebox(), id)
    assert finding.verdict == "MEASURE" and finding.required and finding.required.text == limit
    assert finding.text.startswith(limit)


def test_a_chamber_of_prefabricated_clay_is_not_called_short_for_being_bare() -> None:
    bare = {"smoke_chamber_parged": "no"}
    assert (
        one(firebox(smoke_chamber_form="prefabricated", **bare), "smoke_chamber.parging").verdict == "REFER"
    )
    assert one(firebox(smoke_chamber_form="corbelled", **bare), "smoke_chamber.parging").verdict == "SHORT"


@pytest.mark.parametrize("side", [None, "left", "back"])
def test_a_second_face_that_does_not_say_its_side_may_open_the_back(side: str | None) -> None:
    """A back that may not be there meets nothing; the limit is told all the same."""
    second = {"name": "hall", "width": "18", "height": "28"} | ({"side": side} if side else {})
    job = firebox(depth="20", wall="8", back_wall="8", lining="2") | {"face": [FACE, second]}
    deep, walls = one(job, "firebox.depth"), told(job, "firebox.wall")
    if side is None:
        assert deep.missing == walls[1].missing == ("face.hall.side",)
        assert deep.text.startswith("20 in minimum") and walls[1].text.startswith("8 in minimum")
    assert deep.verdict == {None: "MEASURE", "left": "MEETS", "back": "REFER"}[side]
    assert walls[0].verdict == "MEETS" and walls[0].item == "sides"
    assert walls[1].verdict == {None: "MEASURE", "left": "MEETS", "back": "MEETS"}[side]


def test_each_of_several_faces_says_its_side() -> None:
    unsaid = {"name": "study", "width": "36", "height": "30"}
    job = firebox(depth="20") | {"face": [unsaid, {"name": "terrace", "side": "back", "width": "36"}]}
    assert one(job, "firebox.depth").missing == ("face.study.side",)
    assert one(firebox(depth="20") | {"face": [unsaid]}, "firebox.depth").verdict == "MEETS"


def test_the_limit_of_a_wall_before_its_lining_is_known() -> None:
    """IRC 2021 R1001.5: 8 in with 2 in of firebrick, 10 in without; NBC 9.22.3.1: 190 mm either way, so the lining decides nothing."""
    for wall in ({}, {"wall": "12"}, {"wall": "8"}, {"wall": "7 3/4"}):
        finding = told(firebox(**wall), "firebox.wall")[0]
        assert finding.verdict == "MEASURE" and "firebox.lining" in finding.missing
        assert finding.required and finding.required.text == "10 in"
        assert finding.text.startswith("10 in or 8 in minimum thick.")
    thin = told(firebox(wall="6"), "firebox.wall")[0]
    assert (thin.verdict, thin.required and thin.required.text) == ("SHORT", "8 in")
    canada = told(firebox(wall="190 mm", back_wall="190 mm"), "firebox.wall", "canada-nbc")
    assert [(f.item, f.verdict) for f in canada] == [("sides", "MEETS"), ("back", "MEETS")]
    assert told(firebox(wall="189 mm"), "firebox.wall", "canada-nbc")[0].verdict == "SHORT"


def test_where_the_tape_decides_whether_the_lining_counts_both_walls_are_told() -> None:
    """A lining of 2 in and 1/8 in less or more."""
    for lining, wall, verdict in (
        ("2", "8", "CLOSE"),
        ("2", "10", "MEETS"),
        ("1 7/8", "8", "CLOSE"),
        ("1 13/16", "8", "SHORT"),
        ("2 1/8", "8", "MEETS"),
    ):
        sides = told(firebox(True, lining=lining, wall=wall), "firebox.wall")[0]
        assert sides.verdict == verdict
        if verdict == "CLOSE":
            assert "8 in" in sides.text and "10 in" in sides.text


def test_a_wall_is_judged_without_its_lining_where_the_edition_says_so() -> None:
    """ADJ Diagram 28: 200 mm of the recess itself, without the fireback."""
    for wall, verdict in (("264 mm", "MEETS"), ("263 mm", "SHORT")):
        sides = told(firebox(wall=wall, lining="64 mm"), "firebox.wall", "england-adj")[0]
        assert sides.verdict == verdict and "without the lining" in sides.text
    assert told(firebox(wall="264 mm"), "firebox.wall", "england-adj")[0].missing == ("firebox.lining",)


def test_a_steel_unit_takes_the_place_of_the_firebrick() -> None:
    """IRC 2021 R1001.5.1: 8 in round the unit, and no firebrick; its listing governs the unit."""
    job = firebox(wall="8", back_wall="8", lining="0") | {
        "fireplace": {"construction": "steel-lined masonry"}
    }
    assert [f.verdict for f in told(job, "firebox.wall")] == ["MEETS", "MEETS"]
    assert one(job, "firebox.lining").verdict == "REFER"
    assert told(job, "firebox.joint") == []
    job["firebox"]["joint"] = "5/16"
    assert one(job, "firebox.joint").verdict == "SHORT"


def test_a_joint_that_was_measured_is_judged_whatever_the_lining() -> None:
    assert one(firebox(lining="0", joint="5/16"), "firebox.joint").verdict == "SHORT"


def test_an_unlined_firebox_is_told_what_cures_it() -> None:
    (cure,) = one(firebox(lining="0", wall="8"), "firebox.lining").remedy
    assert cure == "Line the firebox with firebrick of 2 in or more."
    assert one(firebox(lining="2", wall="8"), "firebox.lining").verdict == "MEETS"


def test_the_slope_is_told_for_both_forms_until_the_form_is_known() -> None:
    """IRC 2021 R1001.8.1: 45 and 30 degrees; NBC 9.22.7.1: 45 whatever the form, which then is not asked."""
    finding = one(firebox(smoke_chamber_slope="40 deg"), "smoke_chamber.slope")
    assert finding.text.startswith("30 deg or 45 deg maximum.")
    assert finding.missing == ("firebox.smoke_chamber_form",)
    sloped = one(firebox(smoke_chamber_form="sloped"), "smoke_chamber.slope")
    assert sloped.required and sloped.required.text == "45 deg"
    canada = [
        one(firebox(smoke_chamber_slope=lean), "smoke_chamber.slope", "canada-nbc").verdict
        for lean in ("45 deg", "45.1 deg")
    ]
    assert canada == ["MEETS", "SHORT"]


def test_the_passageway_tells_the_flue_area_it_needs() -> None:
    """Table R1003.14(2): 127 in2 in a 13x13."""
    for finding in told(firebox() | {"flue": {"liner": "13x13"}}, "firebox.passageway"):
        assert finding.verdict == "MEASURE" and finding.text.startswith("127 in2 minimum")
    rumford = firebox() | {"fireplace": {"pattern": "rumford"}}
    for finding in told(rumford, "firebox.passageway"):  # 1080 in2 / 20
        assert finding.text.startswith("54 in2 minimum")


def test_a_damper_whose_kind_is_not_known_meets_nothing() -> None:
    job = firebox(damper_area="500 in2") | {"flue": {"liner": "13x13"}}
    last = told(job, "firebox.passageway")[-1]
    assert (last.item, last.missing) == ("damper", ("firebox.damper",))


def test_what_is_asked_in_words_is_told_first() -> None:
    assert one(firebox(), "firebox.damper").text.startswith(
        "A damper at the throat or at the top of the flue"
    )
    assert one(firebox(), "firebox.damper", "canada-nbc").text.startswith("A damper at the throat, worked")
    assert one(firebox(), "firebox.floor_below").text.startswith(
        "Noncombustible support: masonry, concrete, earth or brick arch."
    )
    assert one(firebox(), "smoke_chamber.parging").text.startswith("The inside of the smoke chamber parged")
    clear = one(firebox(), "firebox.floor_below", "england-adj")
    assert clear.text.startswith("9 7/8 in from any wood up")  # ADJ Diagram 25: 250 mm, rounded up
    for id in ("firebox.damper", "firebox.floor_below", "smoke_chamber.parging"):
        assert one(firebox(), id).required


def test_an_answer_that_cannot_be_read_is_told_before_the_limit() -> None:
    job = Job.from_document({"format": "hearthcalc-job", "version": 1, "face": [FACE]})
    found = assess(job, reference.load(), {"firebox.damper": "it is no word"}).stages["found"].findings
    text = next(f.text for f in found if f.id == "firebox.damper")
    assert text.startswith("Cannot be read: ") and text.endswith("worked from the room.")


def test_a_damper_that_is_elsewhere_than_the_edition_allows() -> None:
    """NBC 9.22.6.1: it covers the throat."""
    top = firebox(damper="top", damper_works="yes")
    finding = one(top, "firebox.damper", "canada-nbc")
    assert finding.verdict == "SHORT" and finding.remedy == ("Fit one at the throat.",)
    assert finding.text == "The damper is at the top of the flue; it belongs at the throat."
    assert one(top, "firebox.damper").text == "There is a damper at the top of the flue, entered as working."
    assert one(firebox(damper="top"), "firebox.damper", "canada-nbc").verdict == "SHORT"


def test_the_depth_of_a_rumford_goes_by_its_widest_opening() -> None:
    """IRC 2021 R1001.6, exception: a third of the width, 16 in for 48."""
    faces = [FACE, {"name": "hall", "side": "left", "width": "12"}, {"name": "den", "side": "right"}]
    job = firebox(depth="11 7/8") | {"fireplace": {"pattern": "rumford"}, "face": faces[:2]}
    assert one(job, "firebox.depth").verdict == "SHORT"
    wide = job | {"face": [FACE | {"width": "48"}, faces[1]]}
    assert (
        one(wide, "firebox.depth").required
        == one(job | {"face": [FACE | {"width": "48"}]}, "firebox.depth").required
    )
    assert one(job | {"face": faces}, "firebox.depth").missing == ("face.den.width",)
    two = {"face": [FACE | {"side": "front"}, {"name": "hall", "side": "left"}]}
    assert one(job | two, "firebox.depth").verdict == "SHORT"  # however wide the hall's is
    deep = job | two | {"firebox": {"depth": "12"}}
    assert one(deep, "firebox.depth").missing == ("face.hall.width",)


@pytest.mark.parametrize(("width", "expected"), [("30", "12"), ("36", "12"), ("37", "37/3"), ("48", "16")])
def test_the_arithmetic_of_a_rumford_can_be_called_alone(width: str, expected: str) -> None:
    deep = firebox_rules.rumford_depth(Fraction(width), Fraction(12), Fraction(1, 3))
    assert deep == Fraction(expected)


@pytest.mark.parametrize(("lining", "expected"), [("0", 10), ("63/32", 10), ("2", 8), ("5/2", 8)])
def test_the_arithmetic_of_the_walls_can_be_called_alone(lining: str, expected: int) -> None:
    assert firebox_rules.wall_thickness(Fraction(lining), Fraction(2), Fraction(8), Fraction(10)) == expected


def test_a_measured_rumford_carries_the_tolerance_of_its_width() -> None:
    """36 in to 1/8 in: a third is 11 23/24 to 12 1/24 in, and never under 12."""
    job = firebox(True, depth="11 7/8") | {"fireplace": {"pattern": "rumford"}}
    assert one(job, "firebox.depth").verdict == "CLOSE"
    job["firebox"]["depth"] = "11 13/16"
    assert one(job, "firebox.depth").verdict == "SHORT"
    wider = job | {"face": [FACE | {"width": "39"}], "firebox": {"depth": "12 7/8"}}
    assert one(wider, "firebox.depth").verdict == "CLOSE"  # 13 in less 1/24 in, from 12 7/8 and 1/8 more
    wider["firebox"] = {"depth": "12 13/16"}
    assert one(wider, "firebox.depth").verdict == "SHORT"


def test_the_height_of_the_chamber_is_told_against_the_narrowest_opening() -> None:
    finding = one(firebox(smoke_chamber_height="38"), "smoke_chamber.height")
    assert (
        finding.text
        == "Over an opening 36 in wide, the smoke chamber is 38 in high; 36 in maximum: over by 2 in."
    )
    both = one(see_through(smoke_chamber_height="38"), "smoke_chamber.height")
    assert both.text.startswith("Over the narrowest opening, 36 in wide, ")


def test_only_a_clause_that_knows_lined_chambers_leaves_one_bare() -> None:
    """FB1889: the inside plastered, without a word on linings."""
    bare = firebox(smoke_chamber_form="prefabricated", smoke_chamber_parged="no")
    assert one(bare, "smoke_chamber.parging", "usda-1941").verdict == "SHORT"
    assert one(bare, "smoke_chamber.parging", "ibc-2021").verdict == "REFER"


def test_a_thinner_wall_waits_for_the_lining_of_the_chamber() -> None:
    """IRC 2021 R1001.8: 6 in, lining included."""
    finding = one(firebox(smoke_chamber_wall="6"), "smoke_chamber.wall")
    assert finding.missing == ("structure.chamber_lining",)
    assert one(firebox(smoke_chamber_wall="190 mm"), "smoke_chamber.wall", "canada-nbc").verdict == "MEETS"
    assert one(firebox(smoke_chamber_wall="152 mm"), "smoke_chamber.wall", "canada-nbc").verdict == "SHORT"


@pytest.mark.parametrize(
    ("kind", "start", "rests"),
    [
        ("masonry", "Entered as site-built masonry", ()),
        ("steel-lined masonry", "A steel unit inside masonry", ("firebox.wall.steel_lined",)),
        ("factory-built", "Factory-built: its listing", ()),
    ],
)
def test_each_construction_is_told_what_governs_it(kind: str, start: str, rests: tuple[str, ...]) -> None:
    finding = one({"fireplace": {"construction": kind}}, "firebox.construction")
    assert finding.text.startswith(start)
    assert tuple(basis.key for basis in finding.basis) == rests


def test_an_air_gap_under_the_firebox_floor_is_told_as_one() -> None:
    assert one(firebox(floor_below="air gap"), "firebox.floor_below").text.startswith(
        "There is an air gap under"
    )
    earth = one(firebox(floor_below="earth"), "firebox.floor_below", "canada-nbc")
    assert earth.text == "Under the firebox floor: earth."
    arch = one(firebox(floor_below="brick arch"), "firebox.floor_below", "canada-nbc")
    assert arch.verdict == "REFER" and arch.text.startswith("Under the firebox floor: brick arch.")


def test_only_the_plan_cuts() -> None:
    """A listed unit as it was found is cut by nobody, whatever else is planned."""
    job = {"fireplace": {"construction": "factory-built"}, "planned": CUT}
    assert one(job, "firebox.construction").verdict == "REFER"
    same = job | {"planned": {"face": [{"name": "study", "width": "36", "height": "30"}]}}
    assert one(same, "firebox.construction", stage="planned").verdict == "REFER"
    unmeasured = {
        "face": [{"name": "study", "side": "front"}],
        "fireplace": {"construction": "factory-built"},
    }
    widened = unmeasured | {"planned": {"face": [{"name": "study", "width": "36"}]}}
    assert one(widened, "firebox.construction", stage="planned").verdict == "SHORT"


def test_only_an_unlined_firebox_asks_its_lining_rule_for_the_walls() -> None:
    assert one(firebox(), "firebox.lining").missing == ("firebox.lining",)
    assert one(firebox(lining="0"), "firebox.lining").missing == ("firebox.wall",)
    canada = one(firebox(lining="0"), "firebox.lining", "canada-nbc")  # NBC 9.22.2.1: never without
    assert canada.verdict == "SHORT" and canada.remedy == (
        "Line the firebox with firebrick of 2 in or more.",
    )


@pytest.mark.parametrize("wall", ["10", "12"])
def test_walls_thick_enough_without_a_lining_make_a_split_no_matter(wall: str) -> None:
    finding = one(firebox(lining="1 1/4", wall=wall), "firebox.lining")
    assert finding.verdict == "MEETS" and "does not count as a lining" in finding.text


@pytest.mark.parametrize(
    ("lining", "rests"),
    [
        ("2", ["firebox.wall.lined", "firebox.lining"]),
        ("1 15/16", ["firebox.wall.unlined", "firebox.lining"]),
    ],
)
def test_a_wall_rests_on_the_limit_that_applies(lining: str, rests: list[str]) -> None:
    sides = told(firebox(lining=lining, wall="12"), "firebox.wall")[0]
    assert [basis.key for basis in sides.basis] == rests


@pytest.mark.parametrize(
    ("throat", "cure"),
    [
        ("8", "Rebuild the throat higher."),
        ("7", "Rebuild the throat higher."),
        (
            "8 1/16",
            "Bring the top of the study opening down to 1/16 in above the firebox floor, or rebuild the throat higher.",
        ),
    ],
)
def test_a_throat_that_leaves_no_opening_is_rebuilt(throat: str, cure: str) -> None:
    assert one(firebox(throat_height=throat), "firebox.throat_height").remedy == (cure,)


@pytest.mark.parametrize(
    ("below", "slab", "verdict"),
    [
        ("wood", "250 mm", "MEETS"),
        ("wood", "249 mm", "SHORT"),
        ("wood, insulated", None, "MEASURE"),
        ("concrete", None, "MEETS"),
        ("air gap", None, "REFER"),
    ],
)
def test_wood_under_the_firebox_floor_by_its_distance(below: str, slab: str | None, verdict: str) -> None:
    """ADJ Diagram 25: 250 mm from the top of the hearth."""
    entries = {"floor_below": below} | ({"floor_slab": slab} if slab else {})
    assert one(firebox(**entries), "firebox.floor_below", "england-adj").verdict == verdict


def test_an_opening_is_brought_down_far_enough_in_millimeters() -> None:
    """965 mm less 8 in are 761.8 mm, so down to 761."""
    face = FACE | {"width": "914", "height": "770"}
    job = firebox(throat_height="965") | {"units": "mm", "face": [face]}
    finding = one(job, "firebox.throat_height")
    assert finding.verdict == "SHORT" and "down to 761 mm above" in finding.remedy[0]


def test_parging_does_not_wait_for_the_form_of_the_chamber() -> None:
    assert one(firebox(), "smoke_chamber.parging").missing == ("firebox.smoke_chamber_parged",)


def test_a_throat_level_with_the_opening_is_not_below_it() -> None:
    finding = one(firebox(throat_height="30"), "firebox.throat_height")
    assert finding.text.startswith(
        "The throat is 0 in above the top of the study opening; 8 in minimum: short by 8"
    )


def test_the_lean_is_told_with_the_form_where_that_is_known() -> None:
    steep = firebox(smoke_chamber_form="corbelled", smoke_chamber_slope="46 deg")
    text = "The corbelled smoke chamber leans 46 deg; 45 deg maximum: over by 1 deg."
    assert one(steep, "smoke_chamber.slope", "canada-nbc").text == text
    bare = one(firebox(smoke_chamber_slope="46 deg"), "smoke_chamber.slope", "canada-nbc")
    assert bare.text == "The smoke chamber leans 46 deg; 45 deg maximum: over by 1 deg."
