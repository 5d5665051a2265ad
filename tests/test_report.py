"""The report as a document and as text, and the record as JSON: cautions first, nothing approved, every line printable."""

import json
import re
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from msgspec.structs import replace

from hearthcalc import caution, reference
from hearthcalc.assess import assess
from hearthcalc.findings import Assessment, Basis, Finding, Margin, Verdict
from hearthcalc.job import Job, with_units
from hearthcalc.report import model, record, text

Document = dict[str, Any]

# A job with every kind of answer: a see-through conversion, a mantel too near, wood under a hearth, gas logs, fans, roofs.
JOB: Document = {
    "format": "hearthcalc-job", "version": 1, "units": "in",
    "about": {"title": "Gatehouse", "place": "Low Weir", "measured_by": "A. Mason"},
    "fireplace": {"construction": "masonry", "pattern": "conventional"},
    "face": [
        {
            "name": "study", "side": "front", "width": "36", "height": "30", "closure": "glass doors", "gap_area": "6 in2",
            "burning_closed": "no", "opening_above_hearth": "0", "opens_to": "bedroom",
            "hearth": {"front": "19 7/8", "facing": "1", "left": "12", "right": "8", "thickness": "1", "above_floor": "0", "below": "wood"},
            "lintel": {"bearing": "3"},
        },
    ],
    "firebox": {
        "depth": "20", "wall": "7 5/8", "back_wall": "8", "lining": "1 1/4", "joint": "3/8", "floor_slab": "4", "floor_below": "air gap",
        "throat_height": "37", "throat_depth": "4", "throat_width": "30", "damper": "throat", "damper_area": "126.9 in2",
        "damper_works": "no", "smoke_chamber_height": "38", "smoke_chamber_wall": "6", "smoke_chamber_form": "corbelled",
        "smoke_chamber_slope": "35 deg", "smoke_chamber_parged": "no",
    },
    "flue": {
        "liner": "13x13", "inside": "11 1/4 x 11", "height": "20 ft", "lining": "clay", "condition": "gaps", "place": "outside",
        "offsets": ["35 deg"], "cap": "restrictive", "cap_area": "300 in2", "arrestor_area": "300 in2", "shared_with": "a furnace",
    },
    "nearby": [
        {"name": "oak mantel", "what": "mantel", "face": "study", "above": "8", "beside": "3", "projection": "4"},
        {"name": "joist", "what": "framing", "at": "chimney", "gap": "1 1/2", "filled": True},
        {"name": "stud", "what": "framing", "at": "firebox back", "gap": "1"},
        {"name": "casing", "what": "trim", "at": "firebox side", "from_lining": "9"},
        {"name": "chair", "what": "furniture", "face": "study", "ahead": "30"},
    ],
    "use": {"open_together": False},
    "air": {
        "room_volume": "1500 ft3", "exterior_duct": "4 in2", "fans": [{"name": "range hood", "flow": "900 cfm"}, {"name": "bath"}],
        "makeup": "100 cfm", "gas_input": "60000 Btu/h", "gas_logs": "unlisted",
    },
    "roof": [
        {
            "name": "shed roof", "passes_through": True, "above_penetration": "30", "distance": "6 ft", "above_highest": "12",
            "pitch": "5:12", "width_along_ridge": "44", "crosses_ridge": False, "cricket_height": "2", "framing_gap": "1",
            "size_change_gap": "3",
        },
    ],
    "planned": {
        "face": [
            {"name": "terrace", "side": "back", "width": "40", "height": "32", "opens_to": "screened", "closure": "panel",
             "burning_closed": "yes"},
        ],
        "firebox": {"depth": "24"},
    },
}  # fmt: skip
GONE = {"firebox": {}, "flue": {}, "air": {}, "roof": [], "nearby": []}


@cache
def assessed(edition: str = "irc-2021", units: str = "in", bare: bool = False) -> tuple[Assessment, Job]:
    document = JOB | GONE if bare else JOB
    job = Job.from_document(with_units(document, "mm") if units == "mm" else document)
    return assess(job, reference.load(edition)), job


def written(edition: str = "irc-2021", units: str = "in", width: int = 80, **how: Any) -> str:
    return text.write(model.build(*assessed(edition, units), **how), width)


def findings(edition: str = "irc-2021", units: str = "in", bare: bool = False) -> Iterator[Finding]:
    for stage in assessed(edition, units, bare)[0].stages.values():
        yield from stage.findings


EVERY = [
    (name, units, bare)
    for name in reference.edition_ids()
    for units in ("in", "mm")
    for bare in (False, True)
]


def sentences(finding: Finding) -> list[str]:
    return [finding.text, *finding.remedy, *([finding.caution] if finding.caution else [])]


@pytest.mark.parametrize(("edition", "units", "bare"), EVERY)
def test_no_finding_says_that_anything_is_safe_or_approved(edition: str, units: str, bare: bool) -> None:
    for finding in findings(edition, units, bare):
        for sentence in (finding.title, *sentences(finding)):
            sentence = sentence.replace("Approved Document J", "")  # what England calls its guidance
            assert not re.search(
                r"\b(un)?safe(ly|ty)?\b|\bapproved\b|\bcompl(y|iant|iance|ies)\b", sentence, re.I
            ), sentence


@pytest.mark.parametrize(("edition", "units", "bare"), EVERY)
def test_every_sentence_is_whole(edition: str, units: str, bare: bool) -> None:
    for finding in findings(edition, units, bare):
        for sentence in sentences(finding):
            assert sentence[0].isupper() or sentence[0].isdigit(), sentence
            assert sentence[-1] in ".?", sentence
            assert ".." not in sentence and "  " not in sentence and " ." not in sentence, sentence
            assert not re.search(
                r"\bNone\b|[{}]|Fraction|\b[a-z]+_[a-z_]+\b(?<!flue\.figure_area)",
                sentence.replace("flue.figure_area", ""),
            ), sentence


@pytest.mark.parametrize(("edition", "units"), [(name, units) for name, units, bare in EVERY if not bare])
def test_a_remedy_or_a_measure_again_stands_beside_what_is_not_met(edition: str, units: str) -> None:
    for finding in findings(edition, units):
        if finding.verdict is Verdict.MEETS:
            assert finding.remedy == (), finding.id
        if finding.required and finding.found and finding.required.value is not None:
            assert finding.required.unit == finding.found.unit
            assert finding.required.text in finding.text
            assert finding.found.text in finding.text


def test_the_cautions_come_first_and_in_full() -> None:
    report = model.build(*assessed())
    styles = [block.style for block in report.blocks if isinstance(block, model.Paragraph)]
    assert styles.index("caution") < styles.index("heading")
    told = " ".join(written().split("AS FOUND")[0].replace("!", "").split())
    for line in caution.FULL:
        assert line in told
    assert assessed()[0].cautions[0] == caution.LINE


def test_the_overall_is_told_in_words_and_never_as_an_approval() -> None:
    found, planned = (stage for stage in assessed()[0].stages.values())
    assert model.overall_words(found) == "Something falls short of the reference values used"
    assert model.overall_words(planned).endswith(", with one face open at a time")
    assert set(model.WORDS) == set(Verdict)


def test_stages_and_states_can_be_told_apart() -> None:
    both = written()
    assert both.index("AS FOUND") < both.index("AS PLANNED")
    assert "AS PLANNED" not in written(stage="found")
    assert "AS FOUND" not in written(stage="planned")
    assert re.search(r"all open +2360 in2 +124 in2 .* SHORT \(does not count\)", both)
    assert re.search(r"all shut +0 in2 +", both)
    assert re.search(r"all open +1522578 mm2", written(units="mm", width=120))


def test_working_and_basis_are_told_where_asked_for() -> None:
    assert "Working:" not in written()
    told = " ".join(written(explain=True).split())
    assert "Working: A_study = width x height = 36 in x 30 in = 1080 in2" in told
    assert "IRC, R1003.15.1; published" in told


def test_what_is_not_published_is_told_without_being_asked_for() -> None:
    told = " ".join(written().split())
    assert "M1801.12; from memory" in told
    assert "own policy" in told
    assert "project," not in told and "trade," not in told


@pytest.mark.parametrize("value", ["by_flue_shape", "us_cricket"])
def test_names_of_methods_and_tables_are_not_printed(value: str) -> None:
    line = model.basis_line(
        Basis("k", "The title", value, "", "IRC", "R1", "irc-2021", "published", "a note")
    )
    assert line == "The title. IRC, R1; published (a note)."


def test_a_value_is_printed_with_where_it_stands() -> None:
    line = model.basis_line(Basis("k", "The title", "8 in", "in", "IRC", "R1", "irc-2021", "from memory"))
    assert line == "The title: 8 in. IRC, R1; from memory."
    own = model.basis_line(
        Basis("k", "The title", "3/8 in", "in", "project", "own policy", "policy", "policy")
    )
    assert own == "The title: 3/8 in. own policy."


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_lines_keep_to_their_width(width: int) -> None:
    for line in written(width=width, explain=True).splitlines():
        assert len(line) <= width or not line.strip().rsplit(" ", 1)[1:]
    assert written(width=10) == written(width=40)


def test_a_narrow_table_names_its_columns() -> None:
    told = " ".join(written(width=40).split())
    assert "all open: Open 2360 in2; Flue" in told


def test_the_text_says_what_the_findings_say() -> None:
    told = " ".join(written().split())
    for finding in findings():
        assert " ".join(finding.text.split()) in told
        assert finding.title in told


def test_the_site_list_is_told_with_its_addresses() -> None:
    assessment, _ = assessed()
    told = " ".join(written().split())
    for stage in assessment.stages.values():
        for line in stage.measure:
            assert line.address in told


def test_the_same_job_reads_the_same() -> None:
    job = Job.from_document(JOB)
    assert text.write(model.build(assess(job, reference.load("irc-2021")), job), 80) == written()


# The record that others script against.


def walk(value: Any) -> Iterator[Any]:
    yield value
    if isinstance(value, dict):
        for inner in value.values():
            yield from walk(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from walk(inner)


@pytest.mark.parametrize(("edition", "units", "bare"), EVERY)
def test_the_record_is_json_without_nan(edition: str, units: str, bare: bool) -> None:
    told = record.to_record(assessed(edition, units, bare)[0])
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert not any(isinstance(value, Fraction | tuple) for value in walk(told))


def test_the_record_has_the_keys_of_the_contract() -> None:
    told = record.to_record(assessed()[0])
    assert (told["format"], told["version"]) == ("hearthcalc-assessment", 1)
    assert set(told["job"]) == {"title", "fingerprint"}
    assert {"id", "fingerprint", "edited"} <= set(told["edition"])
    assert list(told["stages"]) == ["found", "planned"]
    stage = told["stages"]["planned"]
    assert {"overall", "counts", "findings", "states", "measure"} <= set(stage)
    keys = {
        "id", "title", "kind", "counts", "subject", "face", "state", "item", "verdict", "required", "found", "margin", "tolerance",
        "working", "basis", "remedy", "caution", "missing",
    }  # fmt: skip
    assert all(keys <= set(finding) for finding in stage["findings"])
    area = next(f for f in stage["findings"] if f["id"] == "flue.area")
    assert area["required"] == {"op": ">=", "value": 236.0, "unit": "in2", "text": "236 in2"}
    assert {"symbol", "expression", "numbers", "value", "unit"} <= set(area["working"][0])
    assert {"key", "value", "unit", "source", "clause", "edition", "standing"} <= set(area["basis"][0])
    assert {"name", "open", "opening_area", "flue_area", "ratio", "overall", "draft"} <= set(
        stage["states"][0]
    )
    assert sum(stage["counts"].values()) == sum(finding["counts"] for finding in stage["findings"])


def test_numbers_stand_in_the_unit_of_the_source() -> None:
    metric = record.to_record(assessed("england-adj", "in")[0])["stages"]["found"]["findings"]
    front = next(f for f in metric if f["id"] == "hearth.front")
    assert (front["required"]["value"], front["required"]["unit"]) == (500.0, "mm")


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_number_that_is_not_finite_is_refused(bad: float) -> None:
    (first, *rest) = assessed()[0].stages["found"].findings
    stage = assessed()[0].stages["found"]
    wrong = replace(first, verdict=Verdict.REFER, tolerance=Margin(bad, "in", None), missing=())
    broken = replace(stage, findings=(wrong, *rest))
    assessment = Assessment("", "", "", "", "", (), (), {"found": broken})
    with pytest.raises(ValueError, match="not finite"):
        record.to_record(assessment)
