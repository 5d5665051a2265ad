"""What a rule is given: how it asks for entries, and how figures, temperatures and names are told."""

from fractions import Fraction
from typing import Any

import pytest
from msgspec.structs import replace

from hearthcalc import lengths, reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding, Kind, Verdict
from hearthcalc.job import Job
from hearthcalc.rules.case import (
    CFM,
    FOOT,
    NEVER,
    RULES,
    Case,
    Conflict,
    NotKnown,
    Rule,
    Subject,
    Unsure,
    change,
    degrees,
    flow,
    from_to,
    in_unit,
    label,
    more,
    run,
    tidy,
)
from hearthcalc.rules.flue import EITHER_WAY
from hearthcalc.rules.reading import Reading, agreed

F = Fraction
Document = dict[str, Any]
EDITION = reference.load("irc-2021")
JOB: Document = {
    "format": "hearthcalc-job",
    "version": 1,
    "face": [{"name": "study", "side": "front", "width": "36 in", "height": "30 in"}],
    "firebox": {"depth": "20 in"},
}


def case_of(stage: str = "found", **entries: Any) -> Case:
    job = Job.from_document(JOB | entries)
    return Case(job.stages()[stage], job, EDITION)


@pytest.mark.parametrize(
    ("id", "asks", "masonry"),
    [
        ("firebox.depth", "firebox.depth", True),
        ("chimney.arrestor_mesh", "chimney.arrestor_mesh.most", True),
        ("air.makeup", "air.makeup", False),
        ("clearance.looked", "", True),
    ],
)
def test_a_rule_speaks_of_masonry_and_asks_for_its_own_value_unless_it_says_otherwise(
    id: str, asks: str, masonry: bool
) -> None:
    """IRC R1004.1: a listing overrides the rules for masonry, and not those for the house."""
    told = run(
        case_of(fireplace={"construction": "factory-built"}, flue={"arrestor_area": "500 in2"}), RULES[id]
    ).made
    assert [finding.text.startswith("A factory-built fireplace follows its listing") for finding in told] == [
        masonry
    ]
    assert (RULES[id].asks, RULES[id].subject, told[0].subject) == (asks, *(id.partition(".")[0],) * 2)


def test_what_is_asked_for_is_named_as_missing_unless_it_is_not_needed() -> None:
    case = case_of()
    for ask, name in (
        (case.number, "width"), (case.word, "opens_to"), (case.flag, "looked.above"), (case.listed, "hearth.layers"),
    ):  # fmt: skip
        for needed in (False, True):
            mine = case.fresh()
            getattr(mine, ask.__name__)(mine.faces[0], name, needed=needed)
            known = name == "width"
            assert list(mine.asked.missing) == ([f"face.study.{name}"] if needed and not known else [])
            getattr(mine, ask.__name__)(mine.faces[0], name)
            assert list(mine.asked.missing) == ([] if known else [f"face.study.{name}"])
    mine = case.fresh()
    mine.sides("flue", "inside")
    mine.entered("air", "airtightness")
    assert list(mine.asked.missing) == ["flue.inside", "air.airtightness"]
    with pytest.raises(NotKnown, match=r"flue\.inside, air\.airtightness"):
        mine.all_known()


def test_of_what_is_not_there_nothing_is_known() -> None:
    mine = case_of()
    assert mine.number(Subject("face", "kitchen"), "width").known is None
    assert list(mine.asked.missing) == ["face.kitchen.width"]


def test_what_the_plan_takes_the_ground_from_is_told_apart() -> None:
    """A cut through the back leaves no firebox depth to go by."""
    planned = case_of("planned", planned={"face": [{"name": "terrace", "side": "back"}]})
    assert planned.is_voided("firebox", "depth") and not planned.is_voided("flue", "height")
    assert not case_of().is_voided("firebox", "depth")


def test_the_address_of_an_entry_is_where_it_is_to_be_entered() -> None:
    """In the planned part where only that holds it, has to restate it or cannot be read there."""
    plan = {"face": [{"name": "terrace", "side": "back"}], "flue": {"height": "25 ft"}}
    found, planned = case_of(planned=plan), case_of("planned", planned=plan)
    for path, there in (
        (("face", "study", "width"), False),
        (("face", "terrace", "width"), True),
        (("firebox", "depth"), True),
        (("air", "vent"), False),
    ):
        here = ".".join(path)
        assert found.address(*path) == here
        assert planned.address(*path) == (f"planned.{here}" if there else here)
    unread = replace(planned, unread={"planned.air.vent": "what?"})
    assert unread.address("air", "vent") == "planned.air.vent"
    assert (found.planned, planned.planned) == (False, True)


def test_a_shared_figure_is_worked_out_once_and_all_that_it_asked_is_asked_again() -> None:
    case, times = case_of(), []

    def work(mine: Case) -> Fraction:
        times.append(mine)
        mine.word("flue", "lining", needed=False)
        return mine.number("firebox", "depth").value.value

    for _ in range(2):
        mine = case.apart()
        mine.number("flue", "height", needed=False)
        assert mine.once("deep", work) == 20
        assert list(mine.asked.read) == ["flue.height", "flue.lining", "firebox.depth"]
        assert mine.asked.looked == {"flue.height", "flue.lining", "firebox.depth"}
    assert len(times) == 1


def test_what_a_shared_figure_lacks_is_lacked_by_each_that_asks() -> None:
    case = case_of()
    for _ in range(2):
        mine = case.apart()
        mine.number("flue", "height")
        with pytest.raises(NotKnown, match=r"^flue\.height, firebox\.throat_depth$"):
            mine.once("throat", lambda own: own.number("firebox", "throat_depth").value)


def test_what_rests_on_a_shared_figure_rests_on_what_that_read() -> None:
    case = case_of()
    case.apart().once("deep", lambda mine: mine.number("firebox", "depth").value)
    mine = case.apart()
    mine.number("flue", "height")
    mine.rests_on("nothing that was worked out")
    mine.rests_on("deep")
    assert list(mine.asked.read) == ["flue.height", "firebox.depth"]
    assert mine.asked.looked == {"flue.height", "firebox.depth"}


# A third of 100 in2, and a figure within a hundredth of it: told to more digits, else both would read the same.
@pytest.mark.parametrize(
    ("off", "near"),
    [(F(0), True), (F(2, 201), True), (F(1, 100), False), (F(-1, 100), False), (F(1, 2), False)],
)
def test_an_area_near_its_limit_is_told_to_more_digits(off: Fraction, near: bool) -> None:
    case, limit = replace(case_of(), rule=RULES["flue.area"]), F(100, 3)
    have = limit * (1 + off)
    for unit, shown in (("area", case.area(have)), ("ft3", f"{tidy(have)} ft3")):
        told = case.judge(">=", Reading.exact(have), limit, what="It is", unit=unit)
        assert told.text.startswith(f"It is {shown};") is not (near and unit == "area")


# Masonry sold by a whole size is up to 3/8 in under it (common practice, no source).
@pytest.mark.parametrize(
    ("have", "limit", "verdict"),
    [
        (F(37, 8), F(5), "CLOSE"),
        (F(37, 8) - F(1, 64), F(5), "SHORT"),
        (F(29, 8), F(4), "CLOSE"),
        (F(5), F(5), "MEETS"),
        (F(17, 4), F(9, 2), "SHORT"),
    ],
)
def test_only_a_whole_size_is_nominal(have: Fraction, limit: Fraction, verdict: str) -> None:
    case = replace(case_of(), rule=RULES["firebox.wall"])
    told = case.judge(
        ">=", Reading.exact(have), limit, what="It is", allowance=EDITION["tolerance.nominal_masonry"]
    )
    assert told.verdict == verdict
    assert ("it may be the nominal size" in told.text) == (verdict == "CLOSE")


def test_a_height_under_what_it_is_taken_over_is_told_as_below_it() -> None:
    case = replace(case_of(), rule=RULES["chimney.above_roof"])
    for have, words in (
        (F(-1), "It is 1 in below the ridge; 2 in over it minimum: short by 3 in."),
        (F(0), "It is 0 in over the ridge; 2 in minimum: short by 2 in."),
        (F(1, 2), "It is 1/2 in over the ridge; 2 in minimum: short by 1 1/2 in."),
    ):
        assert case.judge(">=", Reading.exact(have), F(2), what="It is", over="the ridge").text == words
        beside = case.judge(">=", Reading.exact(have), F(2), what="It is").text
        assert "over it" not in beside


def test_lengths_and_areas_in_the_units_that_are_printed() -> None:
    """An inch is 25.4 mm, by definition."""
    assert [in_unit(F(2), unit) for unit in ("in", "in2", "mm", "mm2")] == [2, 2, F("50.8"), 2 * F("645.16")]


# Exact where few digits do, else rounded: a least up, a most down.
@pytest.mark.parametrize(
    ("value", "op", "told"),
    [
        (F(0), "", "0"),
        (F(7), "", "7"),
        (F(-7, 2), "", "-3.5"),
        (F(1, 8), "", "0.125"),
        (F(-1, 8), "", "-0.125"),
        (F(1, 16), "", "0.0625"),
        (F(1, 16), ">=", "0.0625"),
        (F(2, 3), "", "0.6667"),
        (F(2, 3), "<=", "0.6666"),
        (F(2, 3), ">=", "0.6667"),
        (F(-2, 3), "", "-0.6667"),
        (F(1) + F(1, 3), "", "1.33"),
        (F(1) + F(1, 3), ">=", "1.34"),
        (F(1) + F(1, 3), "<=", "1.33"),
        (F(10) + F(1, 3), "", "10.3"),
        (F(10) + F(1, 3), ">=", "10.4"),
        (F(999) + F(2, 3), "", "999.7"),
        (F(1000) + F(2, 3), "", "1001"),
        (F(1000) + F(2, 3), "<=", "1000"),
        (F(9999) + F(1, 8), "", "9999.125"),
        (F(10000) + F(1, 8), "", "10000"),
        (F(10000) + F(1, 8), ">=", "10001"),
        (F(1000) + F(1, 1000), "", "1000.001"),
        (F(1, 10000), "", "0.0001"),
        (F(1, 32), "", "0.0312"),
        (F(1, 2) + F(1, 10000), "", "0.5001"),
        (F(10000) + F(1, 2), "", "10000"),
        (F(17, 16), "", "1.06"),
        (F(17, 16), ">=", "1.07"),
        (F(-2, 3), "<=", "-0.6667"),
        (F(-2, 3), ">=", "-0.6666"),
        (F(1, 30000), "", "0"),
        (F(1, 30000), ">=", "0.0001"),
        (0.5, "", "0.5"),
    ],
)
def test_a_number_is_told_as_a_person_reads_it(value: Fraction, op: str, told: str) -> None:
    assert tidy(value, op) == told


@pytest.mark.parametrize(
    ("celsius", "unit", "apart", "told"),
    [
        (0, "in", False, "32 F (0 C)"),
        (100, "in", False, "212 F (100 C)"),
        (-40, "mm", False, "-40 C (-40 F)"),
        (100, "mm", False, "100 C (212 F)"),
        (50, "in", True, "90 F (50 C)"),
        (50, "mm", True, "50 C (90 F)"),
    ],
)
def test_a_temperature_and_a_difference_of_two(
    celsius: int, unit: lengths.Unit, apart: bool, told: str
) -> None:
    """Water freezes and boils at 32 and 212 F; 40 below is the same in both; 50 K are 90 degrees Fahrenheit."""
    assert degrees(Fraction(celsius), unit, apart=apart) == told
    if not apart:
        assert degrees(Fraction(celsius), unit) == told


def test_feet_and_cubic_feet_a_minute_are_those_of_the_standard() -> None:
    """NIST SP 811: a foot is 0.3048 m; so 1 ft3/min is 0.000 471 947 4432 m3/s."""
    assert F("0.3048") == FOOT
    assert pytest.approx(4.719474432e-4, rel=1e-12) == float(CFM)
    assert flow(CFM * 250) == "250 cfm"


# Each kind of figure, how it is told, and how a limit on it is: a least no less, a most no more.
@pytest.mark.parametrize(
    ("kind", "units", "value", "told", "least", "most"),
    [
        ("speed", "in", F("0.1524"), "0.50 ft/s", "0.5 ft/s", "0.5 ft/s"),
        ("speed", "mm", F("0.1524"), "0.15 m/s", "0.152 m/s", "0.152 m/s"),
        ("flow", "in", CFM * 100, "100 cfm", "100 cfm", "100 cfm"),
        ("pressure", "in", F("5.04"), "5.0 Pa", "5.1 Pa", "5 Pa"),
        ("pressure", "in", F("-5.04"), "-5.0 Pa", "-5 Pa", "-5.1 Pa"),
        ("slight pressure", "in", F("0.057"), "0.06 Pa", "0.06 Pa", "0.06 Pa"),
        ("slight pressure", "in", F("0.0057"), "0.01 Pa", "0.006 Pa", "0.006 Pa"),
        ("slight pressure", "in", F("5.7"), "5.70 Pa", "6 Pa", "6 Pa"),
        ("slight pressure", "in", F(0), "0.00 Pa", "0 Pa", "0 Pa"),
        ("temperature", "in", F(70), "158 F (70 C)", "158 F (70 C)", "158 F (70 C)"),
        ("temperature", "mm", F(70), "70 C (158 F)", "70 C (158 F)", "70 C (158 F)"),
        ("stress", "in", F(22), "22.0 ksi", "22.0 ksi", "22.0 ksi"),
        ("load", "in", F(1001) + F(1, 3), "1002 lb", "1002 lb", "1001 lb"),
        ("sag", "in", F(1, 15), "0.067 in", "0.067 in", "0.067 in"),
        ("m2.K/W", "in", F(1, 10), "0.1 m2.K/W", "0.1 m2.K/W", "0.1 m2.K/W"),
        ("ft3", "in", F(3000), "3000 ft3", "3000 ft3", "3000 ft3"),
        ("", "in", F(4), "4", "4", "4"),
        ("length", "in", F(4), "4 in", "4 in", "4 in"),
        ("length", "mm", F(4), "101.6 mm", "102 mm", "101 mm"),
        ("area", "in", F(90), "90 in2", "90 in2", "90 in2"),
    ],
)
def test_each_kind_of_figure_is_told_in_its_unit(
    kind: str, units: str, value: Fraction, told: str, least: str, most: str
) -> None:
    measure = case_of(units=units).measure(kind)
    assert measure.show(value) == told
    assert (measure.limit(value, ">=", None), measure.limit(value, "<=", None)) == (least, most)


def test_a_model_that_is_never_short_is_not_so_at_any_figure() -> None:
    far, limit = Reading.exact(10**15), Reading.exact(70)
    assert (agreed("<=", far, limit), agreed("<=", far, limit, NEVER)) == ("SHORT", "REFER")
    assert (agreed(">=", limit, far), agreed(">=", limit, far, -NEVER)) == ("SHORT", "REFER")


def test_a_range_tells_its_unit_once() -> None:
    assert from_to("100 lb", "120 lb") == "100 to 120 lb"
    assert from_to("100 lb", "120 kg") == "100 lb to 120 kg"
    assert from_to("158 F (70 C)", "176 F (80 C)") == "158 F (70 C) to 176 F (80 C)"


@pytest.mark.parametrize(
    ("address", "told"),
    [
        ("face.study.width", "width of the opening (study)"),
        ("planned.face.study.width", "width of the opening (study)"),
        ("face.study.hearth.specified_r", "R required by a listing (study)"),
        ("face.study.hearth.layers.1.thickness", "thickness of the layer (study)"),
        ("nearby.beam.gap", "clear space to the masonry (beam)"),
        ("roof.main.pitch", "pitch (main)"),
        ("air.fans.hood.flow", "air it takes out (hood)"),
        ("air.fans", "fans"),
        ("firebox.depth", "depth of the firebox"),
    ],
)
def test_an_entry_is_called_by_its_name_and_whose_it_is(address: str, told: str) -> None:
    assert label(address) == told


def test_what_is_missing_is_named_in_the_order_of_the_file() -> None:
    """Layer by layer in a hearth."""
    layers = "face.study.hearth.layers"
    order = (
        "face.study.width", layers, f"{layers}.1.material", f"{layers}.1.thickness", f"{layers}.2.material",
        f"{layers}.10.material", "flue.height", "air.fans.hood.flow",
    )  # fmt: skip
    case = replace(case_of(), rule=RULES["hearth.front"])
    for missing in (order, order[::-1], sorted(order)):
        assert case.missing(missing).missing == order


def test_a_second_opinion_that_waits_holds_up_no_overall() -> None:
    for kind, counts in (("rule", True), ("model", False), ("advice", False)):
        case = replace(case_of(), rule=replace(RULES["firebox.depth"], kind=kind))
        assert case.missing(["flue.height"]).counts is counts
        assert case.finding(Verdict.REFER, "So.").counts is (kind != "advice")


def told_by(
    case: Case, kind: Kind, verdict: Verdict, *entries: tuple[str, str], needed: bool = False
) -> Finding:
    """What comes of a rule that reads some entries and has its answer by itself."""

    def tell(mine: Case) -> Finding:
        for table, name in entries:
            mine.number(table, name, needed=needed)
        return mine.finding(verdict, "So.", found=None)

    (finding,) = run(case, Rule("own.rule", "Own", "own", "job", kind, False, "", tell)).made
    return finding


# A cut through the back takes the ground from the depth that was found: an answer that rests on it waits, unless it falls short
# whatever that is.
@pytest.mark.parametrize(
    ("kind", "verdict", "needed", "expected"),
    [
        ("rule", Verdict.MEETS, False, "MEASURE"),
        ("rule", Verdict.REFER, True, "MEASURE"),
        ("rule", Verdict.SHORT, False, "MEASURE"),
        ("rule", Verdict.SHORT, True, "SHORT"),
        ("model", Verdict.MEETS, False, "MEASURE"),
        ("advice", Verdict.REFER, False, "REFER"),
    ],
)
def test_what_rests_on_what_the_plan_moved_waits(
    kind: Kind, verdict: Verdict, needed: bool, expected: str
) -> None:
    cut: Document = {"face": [{"name": "terrace", "side": "back"}]}
    told = told_by(case_of("planned", planned=cut), kind, verdict, ("firebox", "depth"), needed=needed)
    assert told.verdict == expected
    assert told.missing == (("planned.firebox.depth",) if expected == "MEASURE" else ())
    assert (told.text == "So.") == (expected != "MEASURE")
    elsewhere = told_by(case_of("planned", planned=cut), kind, verdict, ("flue", "height"), needed=needed)
    assert elsewhere.verdict == verdict


@pytest.mark.parametrize(
    ("kind", "verdict", "expected"),
    [
        ("rule", Verdict.MEETS, "MEASURE"),
        ("rule", Verdict.CLOSE, "MEASURE"),
        ("rule", Verdict.REFER, "MEASURE"),
        ("rule", Verdict.SHORT, "SHORT"),
        ("model", Verdict.MEETS, "MEASURE"),
        ("advice", Verdict.REFER, "REFER"),
    ],
)
def test_what_rests_on_entries_that_cannot_both_be_right_is_not_judged(
    kind: Kind, verdict: Verdict, expected: str
) -> None:
    wrong = Conflict("height", "the heights differ.", ("flue.height",), ("flue.height", "roof.main.pitch"))
    case = replace(case_of(), conflicts={"flue.height": (wrong,)})
    told = told_by(case, kind, verdict, ("flue", "height"))
    assert told.verdict == expected
    why = "Not judged, because entries cannot both be right. The heights differ. Measure them again."
    assert (told.text, told.missing) == ((why, wrong.addresses) if expected == "MEASURE" else ("So.", ()))
    assert told.counts is (kind == "rule")
    assert told_by(case, kind, verdict, ("firebox", "depth")).text == "So."


def test_a_rule_that_says_nothing_for_want_of_what_the_plan_moved_waits_for_it() -> None:
    """A new liner without its lining: whether it bears a label waits for that. A thing whose face goes is asked where it is elsewhere."""
    liner = case_of(
        "planned", flue={"lining": "poured", "liner": "13x13"}, planned={"flue": {"liner": "8.5x8.5"}}
    )
    (told,) = run(liner, RULES["chimney.label"]).made
    assert (told.verdict, told.missing) == ("MEASURE", ("planned.flue.lining",))
    gone = case_of(
        "planned",
        nearby=[{"name": "it", "what": "trim", "face": "study"}],
        planned={"face": [{"name": "study", "remove": True}, {"name": "hall", "side": "left"}]},
    )
    assert gone.is_voided(gone.things[0], "face")
    assert run(gone, RULES["clearance.abutting"], gone.things[0]).made == ()


@pytest.mark.parametrize(("missing", "limit"), [(1, True), (2, False), (3, False)])
def test_a_limit_at_its_best_is_told_only_while_nothing_of_it_is_missing(missing: int, limit: bool) -> None:
    case = replace(case_of(), rule=RULES["firebox.depth"])

    def found() -> Reading:
        raise NotKnown(("flue.height", "flue.lining", "flue.place")[:missing])

    told = case.judge(">=", found, F(4), what="It is", at_best=True, build=("Build it.",))
    assert (told.required is not None, told.remedy) == (limit, ("Build it.",) if limit else ())


@pytest.mark.parametrize(
    ("best", "have", "verdict"),
    [(False, 4, "MEETS"), (False, 3, "SHORT"), (True, 4, "MEASURE"), (True, 3, "SHORT")],
)
def test_what_is_still_to_be_measured_matters_only_where_the_limit_goes_by_it(
    best: bool, have: int, verdict: str
) -> None:
    case = replace(case_of(), rule=RULES["firebox.depth"])
    case.number("flue", "height")
    more: Document = {"at_best": True} if best else {}
    told = case.judge(">=", Reading.exact(have), F(4), what="It is", **more)
    assert (told.verdict, told.missing) == (verdict, ("flue.height",) if verdict == "MEASURE" else ())


def test_that_an_edition_says_nothing_is_told_of_what_the_rule_asks_about() -> None:
    job = Job.from_document(
        JOB | {"nearby": [{"name": "it", "what": "trim", "face": "study", "above": "5 in"}]}
    )
    findings = assess(job, reference.load("australia-hp")).stages["found"].findings
    quiet = {f.id: (f.face, f.item) for f in findings if "says nothing on this here" in f.text}
    assert quiet["flue.area"] == (None, None)
    assert quiet["hearth.thickness"] == ("study", None)
    assert quiet["clearance.trim"] == ("study", "it")


@pytest.mark.parametrize(
    ("more", "open_still", "have", "told"),
    [
        ({"at_best": True}, True, 3, "4 in minimum at least: short by 1 in or more."),
        ({"at_best": True}, False, 3, "4 in minimum: short by 1 in."),
        ({"sure": EITHER_WAY}, True, 3, "4 in minimum at least: short by 1 in or more."),
        ({"sure": EITHER_WAY}, False, 3, "4 in minimum: short by 1 in."),
        ({"sure": EITHER_WAY}, True, 5, "4 in minimum."),
        ({}, True, 3, "4 in minimum: short by 1 in."),
    ],
)
def test_a_limit_that_may_be_higher_is_told_as_the_least_where_the_figure_falls_short_of_that(
    more: Document, open_still: bool, have: int, told: str
) -> None:
    case = replace(case_of(), rule=RULES["firebox.depth"])
    if open_still:
        case.number("flue", "height")
    assert (
        case.judge(">=", Reading.exact(have), F(4), what="It is", **more).text == f"It is {have} in; {told}"
    )


# To twelve digits, then as any other.
@pytest.mark.parametrize(
    ("have", "shown"),
    [
        (F(3000), "3000 ft3"),
        (F(9001, 3), "3000.3 ft3"),
        (F(3000) + F(1, 30), "3000.03 ft3"),
        (F(3000) - F(1, 30), "2999.97 ft3"),
        (F(3000) + F(3, 10**12), "3000.000000000003 ft3"),
        (F(3000) + F(3, 10**13), "3000 ft3"),
        (F(4000) + F(1, 3), "4000 ft3"),
    ],
)
def test_a_figure_off_its_limit_never_reads_like_it(have: Fraction, shown: str) -> None:
    case = replace(case_of(), rule=RULES["air.gas_room_volume"])
    told = case.judge(">=", Reading.exact(have), F(3000), what="It is", unit="ft3")
    assert told.text.startswith(f"It is {shown}; 3000 ft3 minimum")
    assert ("exactly at the limit" in told.text) == (have == 3000)


# What a model says of a figure: MEETS or SHORT where its whole band agrees, else REFER with what would settle it.
@pytest.mark.parametrize(
    ("op", "found", "limit", "more", "unit", "verdict", "told"),
    [
        (">=", (4, 5, 6), (3, 3, 3), {}, "pressure", "MEETS", "5.0 Pa (4.0 to 6.0 Pa by what is uncertain); 3 Pa minimum."),
        (">=", (3, 3, 3), (3, 3, 3), {}, "pressure", "MEETS", "3.0 Pa; 3 Pa minimum."),
        (">=", (F("4.99"), 5, F("5.01")), (5, 5, 5), {}, "pressure", "REFER", "5.0 Pa; 5 Pa minimum. The range does not settle it."),
        (">=", (5, 5, 5), (3, 4, 6), {}, "pressure", "REFER", "5.0 Pa; about 4 Pa (3 to 6 Pa) minimum. The range does not settle it."),
        (">=", (4, 5, 6), (8, 8, 8), {}, "pressure", "SHORT", "(4.0 to 6.0 Pa by what is uncertain); 8 Pa minimum: short by 3.0 Pa."),
        ("<=", (4, 5, 6), (8, 8, 8), {}, "pressure", "MEETS", "(4.0 to 6.0 Pa by what is uncertain); 8 Pa maximum."),
        ("<=", (100, 100, 100), (70, 70, 70), {}, "temperature", "SHORT", "212 F (100 C); 158 F (70 C) maximum: over by 54 F (30 C)."),
        (">=", (4, 5, 6), (8, 8, 8), {"fails": F(0)}, "pressure", "REFER", "8 Pa minimum: short by 3.0 Pa."),
        (">=", (4, 5, 6), (3, 3, 3), {"held": ("But it is cold.",)}, "pressure", "REFER", "3 Pa minimum. But it is cold."),
    ],
)  # fmt: skip
def test_what_a_model_says_of_a_figure(
    op: lengths.Op,
    found: tuple[Any, Any, Any],
    limit: tuple[Any, Any, Any],
    more: Document,
    unit: str,
    verdict: str,
    told: str,
) -> None:
    case = replace(case_of(), rule=replace(RULES["firebox.depth"], kind="model"))
    have, most = (Reading(F(one[1]), F(one[0]), F(one[2])) for one in (found, limit))
    made = case.judge(
        op,
        have,
        most,
        what="It is",
        unit=unit,
        unsure=Unsure("a look", **more),
        remedy=("Wait.",),
        caution="Hot.",
    )
    assert made.verdict == verdict and told in made.text
    assert made.text.endswith(" What would: a look.") == ("does not settle" in told)
    assert (made.remedy, made.caution) == (((), None) if verdict == "MEETS" else (("Wait.",), "Hot."))
    assert (made.band is None) == (found[0] == found[2])


def test_what_the_tape_may_decide_is_told_as_close() -> None:
    case = replace(case_of(), rule=RULES["firebox.depth"])
    for have, words in (
        (F(4), "exactly at the limit"),
        (F(31, 8), "short by 1/8 in, within the measuring tolerance"),
    ):
        assert words in case.judge(">=", Reading.measured(have, F(1, 8)), F(4), what="It is").text
    short = case.judge(">=", Reading.measured(F(15, 4), F(1, 8)), F(4), what="It is").text
    assert short == "It is 3 3/4 in; 4 in minimum: short by 1/4 in."
    over = case.judge("<=", Reading.exact(5), F(4), what="It is").text
    assert over == "It is 5 in; 4 in maximum: over by 1 in."


def test_a_finding_with_more_to_say_keeps_its_own_warning_and_never_gets_better() -> None:
    case = replace(case_of(), rule=RULES["firebox.depth"])
    warned, plain = (
        case.finding(Verdict.REFER, "So.", caution=caution, remedy=("Rest.",)) for caution in ("Hot.", None)
    )
    told = [
        more(one, verdict, "And so.", remedy=("Wait.",), caution="Cold.")
        for one in (warned, plain)
        for verdict in (Verdict.MEETS, Verdict.SHORT)
    ]
    assert [(one.verdict, one.caution) for one in told] == [
        ("REFER", "Hot."), ("SHORT", "Hot."), ("REFER", "Cold."), ("SHORT", "Cold."),
    ]  # fmt: skip
    assert {(one.text, one.remedy) for one in told} == {("So. And so.", ("Wait.", "Rest."))}


def test_a_planned_entry_is_told_as_the_change_that_it_makes() -> None:
    assert change("planned.face.hall.side") == "new opening hall"
    assert change("planned.face.hall.remove") == "hall taken out"
    assert change("planned.face.hall.width") == label("face.hall.width")
