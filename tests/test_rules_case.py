"""What a rule is given: how it asks for entries, and how figures, temperatures and names are told."""

from fractions import Fraction
from typing import Any

import pytest
from msgspec.structs import replace

from hearthcalc import lengths, reference
from hearthcalc.job import Job
from hearthcalc.rules.case import (
    CFM,
    FOOT,
    NEVER,
    RULES,
    Case,
    NotKnown,
    change,
    degrees,
    flow,
    from_to,
    in_unit,
    label,
    tidy,
)
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


def test_a_rule_speaks_of_masonry_unless_it_says_otherwise() -> None:
    """IRC R1004.1: a listing overrides the rules for masonry, and not those for the house."""
    assert RULES["hearth.front"].masonry and not RULES["air.makeup"].masonry


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
    mine = case.fresh()
    mine.sides("flue", "inside")
    mine.entered("air", "airtightness")
    assert list(mine.asked.missing) == ["flue.inside", "air.airtightness"]
    with pytest.raises(NotKnown, match=r"flue\.inside, air\.airtightness"):
        mine.all_known()


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
        ("face.study.width", "opening width (study)"),
        ("planned.face.study.width", "opening width (study)"),
        ("air.fans.hood.flow", "flow (hood)"),
        ("roof.main.pitch", "pitch (main)"),
    ],
)
def test_an_entry_is_called_by_its_name_and_whose_it_is(address: str, told: str) -> None:
    assert label(address).endswith(told.partition(" (")[2]) and label(address)[0].islower()


def test_a_planned_entry_is_told_as_the_change_that_it_makes() -> None:
    assert change("planned.face.hall.side") == "new opening hall"
    assert change("planned.face.hall.remove") == "hall taken out"
    assert change("planned.face.hall.width") == label("face.hall.width")
