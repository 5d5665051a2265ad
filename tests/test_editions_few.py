"""Editions that answer few questions: what they answer, and that the rest never reads as met."""

from typing import Any

import pytest
from test_editions import FULL, HELD, Document, around, both_sides, edition, hearth, job, judged, roof, sized

from hearthcalc import jobfile
from hearthcalc.asked import NAMES
from hearthcalc.assess import answers, assess, doubts
from hearthcalc.findings import Verdict
from hearthcalc.job import Job
from hearthcalc.job.record import with_values
from hearthcalc.reference import read_table, shipped
from hearthcalc.rules.case import RULES

FEW = ("france", "iebc-2021", "imc-2021", "ireland-tgdj", "italy-uni", "new-zealand", "scotland-th", "sweden")


@pytest.mark.parametrize("name", FEW)
def test_a_rule_that_an_edition_is_silent_on_is_never_met(name: str) -> None:
    """What FULL holds is enough for the American code; an edition that does not speak of it sends it to a person."""
    code = edition(name)
    findings = assess(Job.from_document(FULL), code).deciding.findings
    silent = [
        f
        for f in findings
        if RULES[f.id].kind == "rule" and RULES[f.id].asks and not code.get(RULES[f.id].asks)
        if f.id != "flue.least_side"  # France has a least diameter in its place
    ]
    assert len(silent) > 10
    assert {f.verdict for f in silent} <= {Verdict.REFER, Verdict.MEASURE}
    assert {f.verdict for f in silent if f.id in ("flue.area", "hearth.front")} == {Verdict.REFER}


MET = ("flue", "hearth", "chimney", "steel", "firebox")  # what the inn as found answers by the American code


@pytest.fixture(scope="module")
def inn() -> dict[str, Job]:
    """The inn, asked each question alone."""
    whole = jobfile.parse_text(jobfile.demo("inn"), "inn")
    asked = {question: with_values(whole.asked, {"questions": (question,)}) for question in NAMES}
    return {question: with_values(whole, {"asked": one}) for question, one in asked.items()}


def test_the_inn_is_met_by_the_american_code(inn: dict[str, Job]) -> None:
    told = {question: assess(inn[question], edition("irc-2021")).stages["found"].overall for question in MET}
    assert set(told.values()) == {Verdict.MEETS}


@pytest.mark.parametrize("name", FEW)
def test_no_overall_is_met_where_an_edition_leaves_a_part_of_the_question_open(
    name: str, inn: dict[str, Job]
) -> None:
    """The same inn, by an edition that speaks of little of it: what is not judged is referred, and the overall with it."""
    for question, asking in inn.items():
        told = assess(asking, edition(name)).stages["found"]
        assert told.overall in (Verdict.REFER, Verdict.SHORT), question
        assert told.covered is not None and told.covered.judged < told.covered.listed


@pytest.mark.parametrize("name", FEW)
def test_it_says_who_decides(name: str) -> None:
    assert "decide" in edition(name).applies


# ---- Italy: UNI 10683:1998, the table of outlets as a maker's manual prints it, m

ITALY = {
    "15 deg": (1.85, 0.5, 1.0),
    "30 deg": (1.5, 0.5, 1.3),
    "45 deg": (1.3, 0.5, 2.0),
    "60 deg": (1.2, 0.5, 2.6),
}


def outlet(**more: Any) -> Document:
    return job("mm", roof=[roof(**more)])


def mm(meters: float, more: int = 0) -> str:
    return str(round(1000 * meters) + more)


def test_the_italian_table_is_the_printed_one() -> None:
    rows = read_table(shipped(), "italy_outlets").rows
    cells = {
        row["pitch"]: tuple(float(row[name].removesuffix(" m")) for name in list(row)[1:]) for row in rows
    }
    assert cells == ITALY


@pytest.mark.parametrize("pitch", ITALY)
def test_every_cell_of_the_italian_table_is_the_limit(pitch: str) -> None:
    within, ridge, high = ITALY[pitch]
    near: Document = {"pitch": pitch, "distance": mm(within, -1)}
    assert (
        both_sides(around(outlet, "above_highest", (mm(ridge), mm(ridge, -1)), **near), "italy-uni", ABOVE)
        == HELD
    )
    far: Document = {"pitch": pitch, "distance": mm(within, 1)}
    assert (
        both_sides(around(outlet, "above_penetration", (mm(high), mm(high, -1)), **far), "italy-uni", ABOVE)
        == HELD
    )


ABOVE = "chimney.above_roof"


@pytest.mark.parametrize(
    ("entries", "verdict"),
    [
        # between the rows for 30 and 45 degrees: 1.3 m and 2.0 m
        ({"pitch": "35 deg", "distance": "1600", "above_penetration": "2000"}, "MEETS"),
        ({"pitch": "35 deg", "distance": "1600", "above_penetration": "1999"}, "REFER"),
        ({"pitch": "35 deg", "distance": "1600", "above_penetration": "1300"}, "REFER"),
        ({"pitch": "35 deg", "distance": "1600", "above_penetration": "1299"}, "SHORT"),
        # 1.4 m away the ridge is near by one row and not by the other
        (
            {"pitch": "35 deg", "distance": "1400", "above_penetration": "2000", "above_highest": "1020"},
            "MEETS",
        ),
        (
            {"pitch": "35 deg", "distance": "1400", "above_penetration": "1999", "above_highest": "1019"},
            "REFER",
        ),
        (
            {"pitch": "35 deg", "distance": "1400", "above_penetration": "1299", "above_highest": "319"},
            "SHORT",
        ),
        # exactly at the printed distance the table says neither
        (
            {"pitch": "30 deg", "distance": "1500", "above_penetration": "1366", "above_highest": "500"},
            "MEETS",
        ),
        (
            {"pitch": "30 deg", "distance": "1500", "above_penetration": "1365", "above_highest": "499"},
            "REFER",
        ),
        # outside the table
        (
            {"pitch": "14 deg", "distance": "1600"},
            "REFER",
        ),
        (
            {"pitch": "61 deg", "distance": "1600"},
            "REFER",
        ),
        # not known
        ({"distance": "1600", "above_penetration": "2000"}, "MEASURE"),
        ({"pitch": "30 deg", "above_penetration": "2000"}, "MEASURE"),
        ({"pitch": "30 deg", "distance": "1600"}, "MEASURE"),
        ({"pitch": "30 deg", "distance": "1400"}, "MEASURE"),
    ],
)
def test_an_italian_outlet_between_the_printed_rows(entries: Document, verdict: str) -> None:
    finding = judged(outlet(**entries), "italy-uni", ABOVE)
    assert str(finding.verdict) == verdict
    assert bool(finding.missing) == (verdict == "MEASURE")
    if verdict == "SHORT":
        assert finding.remedy[0].startswith("Build the chimney up by ")


def test_the_tape_at_the_printed_distance_of_an_italian_outlet() -> None:
    """The tape, 3 mm: common practice, no source."""
    at = outlet(pitch="30 deg", distance="1502", above_highest="463", above_penetration="1330")
    told = judged(at | {"about": {"measured": True}}, "italy-uni", ABOVE)
    assert (str(told.verdict), "measure again" in told.text) == ("CLOSE", True)


# ---- France, Scotland and the mechanical code


def test_the_least_round_flue_of_an_open_fire_in_france() -> None:
    """NF DTU 24.1 as a trade page quotes it: 180 mm round; of other forms nothing is known, and the flue area is referred."""
    opening: Document = {"name": "room", "side": "front", "width": "600", "height": "500"}
    sides = around(sized, "diameter", ("180", "179"), units="mm", opening=opening)
    assert both_sides(sides, "france", "flue.least_side") == HELD
    assert str(judged(sides[0], "france", "flue.area").verdict) == "REFER"
    square = sized("mm", opening, inside="150 x 150")
    ids = {f.id for f in assess(Job.from_document(square), edition("france")).deciding.findings}
    assert "flue.least_side" not in ids and "flue.area" in ids
    unknown = judged(sized("mm", opening), "france", "flue.least_side")
    assert unknown.missing and unknown.required and unknown.required.value == 180
    for told, missing in (({}, "flue.shape"), ({"shape": "round"}, "flue.diameter")):
        by_area = judged(sized("mm", opening, area="20000 mm2", **told), "france", "flue.least_side")
        assert by_area.missing == (missing,)


def test_what_scotland_answers() -> None:
    """NHBC 6.8.6: 4.5 m over the opening, 45 degrees; 6.8.18: 250 mm over what burns; 3.19.5: a hearth of 125 mm."""
    opening: Document = {"name": "room", "side": "front", "width": "500", "height": "550"}
    name = "scotland-th"
    assert (
        both_sides(
            around(sized, "height", ("5050", "5049"), units="mm", opening=opening), name, "flue.least_height"
        )
        == HELD
    )
    assert (
        both_sides(around(hearth, "thickness", ("125", "124"), units="mm"), name, "hearth.thickness") == HELD
    )
    wood = around(hearth, "thickness", ("250", "249"), units="mm", below="wood")
    assert both_sides(wood, name, "hearth.below") == HELD
    leaning = (job(flue={"offsets": ["45 deg"]}), job(flue={"offsets": ["46 deg"]}))
    assert both_sides(leaning, name, "flue.offsets") == HELD


@pytest.mark.parametrize("where", ["room", "house"])
def test_a_fan_anywhere_in_a_scottish_house_is_tested(where: str) -> None:
    """Clause 3.17.8: the fire works whether or not a fan runs, in whichever room it is."""
    fan = {"name": "hood", "flow": "300 cfm", "where": where}
    told = judged(job(air={"fans": [fan]}), "scotland-th", "air.makeup")
    assert str(told.verdict) == "REFER" and "tested" in told.text
    assert str(judged(job(air={"fans": []}), "scotland-th", "air.makeup").verdict) == "MEETS"


def test_what_the_mechanical_code_answers() -> None:
    """IMC 505.4 and 801.11, both from memory: 400 cfm, and a flue of its own."""
    fans = tuple(
        job(air={"fans": [{"name": "hood", "flow": flow, "where": "house"}], "makeup": "0 cfm"})
        for flow in ("400 cfm", "401 cfm")
    )
    assert both_sides(fans, "imc-2021", "air.makeup") == HELD  # type: ignore[arg-type]
    shared = (job(flue={"shared_with": "none"}), job(flue={"shared_with": "a stove"}))
    assert both_sides(shared, "imc-2021", "flue.shared") == HELD


def test_the_existing_building_code_tells_what_may_stay_and_what_is_altered() -> None:
    found = assess(Job.from_document(FULL | {"about": {"measured": True}}), edition("iebc-2021")).stages[
        "found"
    ]
    existing = [f for f in found.findings if f.id == "change.existing"]
    assert [b.clause for f in existing for b in f.basis] == ["302.3"]
    planned = FULL | {"planned": {"face": [{"name": "den", "side": "back", "width": "30", "height": "28"}]}}
    stage = assess(Job.from_document(planned), edition("iebc-2021")).deciding
    permit = [f for f in stage.findings if f.id == "change.permit"]
    assert [b.clause for f in permit for b in f.basis] == ["503.1"]


def test_what_this_tool_settles_itself_is_no_answer_of_an_edition() -> None:
    """Ireland, New Zealand and the existing building code hold no figure that a rule asks for; the mechanical code two, Italy one."""
    told = {name: answers(edition(name))[0] for name in FEW}
    none = ("ireland-tgdj", "new-zealand", "iebc-2021")
    assert {name: told[name] for name in none} == dict.fromkeys(none, 0)
    assert (told["imc-2021"], told["italy-uni"], told["france"]) == (2, 1, 2)
    assert "a figure for none of the" in " ".join(doubts(edition("new-zealand")))
    assert f"answers 2 of {answers(edition('france'))[1]}" in " ".join(doubts(edition("france")))
