"""Air: the outside passage, make-up air beside fans, room volume and openings for gas, and the damper of gas logs."""

import re
from fractions import Fraction
from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.rules.air import largest_input

F = Fraction
Document = dict[str, Any]


def told(air: Document, id: str, edition: str = "irc-2021", **more: Any) -> list[Finding]:
    job = {"format": "hearthcalc-job", "version": 1, "face": [{"name": "room"}], "air": air, **more}
    result = assess(Job.from_document(job), reference.load(edition)).stages["found"]
    return [f for f in result.findings if f.id == id]


def one(air: Document, id: str, edition: str = "irc-2021", **more: Any) -> Finding:
    (only,) = told(air, id, edition, **more)
    return only


# IRC 2021 R1006.4: 6 to 55 in2.
@pytest.mark.parametrize(
    ("duct", "verdict"),
    [
        ("5.9 in2", "SHORT"),
        ("6 in2", "MEETS"),
        ("6.1 in2", "MEETS"),
        ("55 in2", "MEETS"),
        ("55.1 in2", "SHORT"),
        ("0 in2", "SHORT"),
    ],
)
def test_the_outside_air_passage_lies_between_two_areas(duct: str, verdict: str) -> None:
    finding = one({"exterior_duct": duct}, "air.exterior_duct")
    assert finding.verdict == verdict
    assert (finding.remedy != ()) == (verdict == "SHORT")
    assert one({}, "air.exterior_duct").missing == ("air.exterior_duct",)


def test_a_passage_of_the_codes_size_is_said_not_to_feed_the_fire() -> None:
    assert "does not feed an open fire" in one({"exterior_duct": "20 in2"}, "air.exterior_duct").text


def fans(*flows: str | None, makeup: str | None = None) -> Document:
    rows = [{"name": f"fan {n}", **({"flow": f} if f else {})} for n, f in enumerate(flows, 1)]
    return {"fans": rows} | ({"makeup": makeup} if makeup else {})


# IRC 2021 M1503.6: any one exhaust system above 400 cfm; exactly 400 does not, nor do two of 250.
@pytest.mark.parametrize(
    ("flow", "makeup", "verdict"),
    [
        ("399 cfm", None, "MEETS"),
        ("400 cfm", None, "MEETS"),
        ("401 cfm", None, "MEASURE"),
        ("401 cfm", "400 cfm", "SHORT"),
        ("401 cfm", "401 cfm", "MEETS"),
        ("401 cfm", "402 cfm", "MEETS"),
        ("1200 cfm", "0 cfm", "SHORT"),
    ],
)
def test_a_strong_fan_has_make_up_air(flow: str, makeup: str | None, verdict: str) -> None:
    finding = one(fans(flow, makeup=makeup), "air.makeup")
    assert finding.verdict == verdict
    if flow == "400 cfm":
        assert "exactly at the limit" in finding.text
    if verdict == "MEASURE":
        assert finding.missing == ("air.makeup",)
    if verdict == "SHORT":
        assert finding.caution and finding.remedy


def test_fans_are_judged_one_by_one() -> None:
    assert [f.verdict for f in told(fans("250 cfm", "250 cfm"), "air.makeup")] == ["MEETS", "MEETS"]
    lacking = told(fans("250 cfm", None), "air.makeup")
    assert [f.verdict for f in lacking] == ["MEETS", "MEASURE"]
    assert lacking[1].missing == ('air.fans."fan 2".flow',)
    assert "(fan 2)" in lacking[1].text


def test_two_strong_fans_share_their_make_up_air() -> None:
    assert {f.verdict for f in told(fans("500 cfm", "600 cfm", makeup="600 cfm"), "air.makeup")} == {"SHORT"}
    enough = told(fans("500 cfm", "600 cfm", makeup="1100 cfm"), "air.makeup")
    assert {f.verdict for f in enough} == {"MEETS"}
    assert "for all such fans together" in enough[0].text


def test_a_fan_that_draws_from_beyond_does_not_pull_on_the_house() -> None:
    air = {"fans": [{"name": "porch", "flow": "900 cfm", "where": "beyond"}]}
    assert one(air, "air.makeup").text == "No exhaust fan is entered in the house."
    assert one({"fans": []}, "air.makeup").verdict == "MEETS"
    assert one({}, "air.makeup").missing == ("air.fans",)


# NFPA 54 9.3.2.1 (as the 2013 California Mechanical Code reprints it): 50 ft3 for each 1000 Btu/h.
@pytest.mark.parametrize(
    ("volume", "verdict"), [("2999 ft3", "SHORT"), ("3000 ft3", "MEETS"), ("3001 ft3", "MEETS")]
)
def test_the_room_of_a_gas_fire_is_large_enough(volume: str, verdict: str) -> None:
    finding = one({"gas_input": "60000 Btu/h", "room_volume": volume}, "air.gas_room_volume")
    assert finding.verdict == verdict
    assert finding.required and float(finding.required.value or 0) == pytest.approx(3000)


def test_the_openings_that_make_up_for_a_small_room_are_told() -> None:
    """NFPA 54 9.3.2.3 and 9.3.3: 1 in2 per 1000 and at least 100 in2 each; 1 per 4000, 2000 and 3000 Btu/h."""
    finding = one({"gas_input": "60000 Btu/h", "room_volume": "1000 ft3"}, "air.gas_room_volume")
    areas = [re.search(r"of ([\d.]+) in2 free", line) for line in finding.remedy]
    assert [match and match[1] for match in areas] == ["100", "15", "30", "20"]
    assert finding.remedy[0].startswith("Make two openings")
    assert all(line.startswith("Or ") for line in finding.remedy[1:])
    large = one({"gas_input": "150000 Btu/h", "room_volume": "1000 ft3"}, "air.gas_room_volume")
    assert "150 in2" in large.remedy[0]


@pytest.mark.parametrize(
    ("vent", "verdict"), [("20 in2", "REFER"), ("19.9 in2", "SHORT"), ("0 in2", "SHORT")]
)
def test_a_vent_large_enough_for_the_gas_is_for_a_person_to_look_at(vent: str, verdict: str) -> None:
    air = {"gas_input": "60000 Btu/h", "room_volume": "1000 ft3", "vent": vent}
    assert one(air, "air.gas_room_volume").verdict == verdict


@pytest.mark.parametrize(
    ("air", "verdicts"),
    [
        ({}, []),
        ({"gas_input": "0 Btu/h", "gas_logs": "none"}, []),
        ({"gas_logs": "listed"}, ["MEASURE"]),
        ({"gas_logs": "listed", "gas_input": "0 Btu/h", "room_volume": "100 ft3"}, ["MEETS"]),
        ({"gas_input": "5 kW"}, ["MEASURE"]),
    ],
)
def test_room_volume_is_asked_only_where_gas_burns(air: Document, verdicts: list[str]) -> None:
    assert [f.verdict for f in told(air, "air.gas_room_volume")] == verdicts


# NFPA 54 Table 10.6.2.3: at 20 ft and 29 in2 50400 Btu/h; between cells the smaller capacity holds (own reading), beyond none.
def logs(power: str, height: str, free: str) -> Finding:
    return one(
        {"gas_logs": "unlisted", "gas_input": power},
        "gas_logs.damper_opening",
        flue={"height": height},
        firebox={"damper_area": free},
    )


@pytest.mark.parametrize(
    ("power", "height", "free", "verdict"),
    [
        ("50400 Btu/h", "20 ft", "29 in2", "MEETS"),
        ("50500 Btu/h", "20 ft", "29 in2", "SHORT"),
        ("50300 Btu/h", "20 ft", "29 in2", "MEETS"),
        ("50400 Btu/h", "25 ft", "35 in2", "MEETS"),  # the cell of 20 ft and 29 in2 still
        ("50500 Btu/h", "25 ft", "35 in2", "SHORT"),
        ("7800 Btu/h", "6 ft", "8 in2", "MEETS"),
        ("138600 Btu/h", "30 ft", "64 in2", "MEETS"),
        ("5000 Btu/h", "5 ft 11 in", "29 in2", "REFER"),
        ("5000 Btu/h", "30 ft 1 in", "29 in2", "REFER"),
        ("5000 Btu/h", "20 ft", "7.9 in2", "REFER"),
        ("5000 Btu/h", "20 ft", "64.1 in2", "REFER"),
    ],
)
def test_the_damper_stays_open_enough_for_gas_logs(power: str, height: str, free: str, verdict: str) -> None:
    finding = logs(power, height, free)
    assert finding.verdict == verdict
    assert ("outside the table" in finding.text) == (verdict == "REFER")
    assert (finding.caution is not None) == (verdict == "SHORT")


def test_between_cells_the_smaller_capacity_holds() -> None:
    rows = {F(10): {F(1): 100, F(2): 200}, F(20): {F(1): 150, F(2): 300}}
    assert largest_input(rows, F(19), F(3, 2)) == 100
    assert largest_input(rows, F(20), F(2)) == 300
    assert largest_input(rows, F(9), F(1)) is None
    assert largest_input(rows, F(20), F(5, 2)) is None


@pytest.mark.parametrize(("kind", "caution"), [("listed", False), ("vent-free", True)])
def test_listed_logs_follow_their_listing(kind: str, caution: bool) -> None:
    finding = one({"gas_logs": kind}, "gas_logs.damper_opening")
    assert finding.verdict == "REFER"
    assert (finding.caution is not None) == caution


def test_what_unlisted_logs_lack_is_named() -> None:
    missing = one({"gas_logs": "unlisted"}, "gas_logs.damper_opening").missing
    assert missing == ("air.gas_input", "flue.height", "firebox.damper_area")
    assert told({"gas_logs": "none"}, "gas_logs.damper_opening") == []
