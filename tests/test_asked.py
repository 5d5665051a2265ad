"""What a job asks: only that is judged, the rest is said to be left out, and nothing left out reads as passed."""

import json
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest

from hearthcalc import asked, assess, cli, jobfile, reference
from hearthcalc.findings import Assessment, Verdict
from hearthcalc.job import Job, JobError, blank, set_entry
from hearthcalc.report import model
from hearthcalc.report import text as text_report
from hearthcalc.rules.case import RULES
from hearthcalc_tui.sections.rows import rows
from hearthcalc_tui.sections.table import place_of
from hearthcalc_tui.session import Session

INN = jobfile.document(jobfile.demo("inn"), "inn")
ALONE = tuple(asked.NAMES)


def asking(document: dict[str, Any], *questions: str) -> dict[str, Any]:
    return set_entry(document, "asked.questions", list(questions) or None)


@cache
def judged(*questions: str) -> Assessment:
    job, edition = Job.from_document(asking(INN, *questions)), reference.load("irc-2021")
    return assess.assess_models(job, edition, assess.assess(job, edition))


def ids(assessment: Assessment) -> set[str]:
    return {finding.id for stage in assessment.stages.values() for finding in stage.findings}


def test_a_job_that_asks_nothing_in_particular_asks_everything() -> None:
    assert judged("everything").stages == judged().stages
    assert judged().deciding.left_out == ()
    assert judged("flue", "everything").deciding.left_out == ()


def test_each_question_has_its_own_findings_and_together_they_are_all() -> None:
    every = ids(judged())
    each = {question: ids(judged(question)) for question in ALONE}
    assert set().union(*each.values()) == every
    for question, mine in each.items():
        others = {
            rule.id for rule in RULES.values() if question not in (asked.of_rule(rule.id) or (question,))
        }
        assert mine and not mine & others


def test_whether_it_is_masonry_at_all_is_in_every_answer() -> None:
    """A factory-built unit follows its listing, whatever is asked (IRC R1004.1)."""
    document = set_entry(INN, "fireplace.construction", "factory-built")
    edition = reference.load("irc-2021")
    for question in ALONE:
        stage = assess.assess(Job.from_document(asking(document, question)), edition).stages["found"]
        told = {finding.verdict for finding in stage.findings if RULES[finding.id].masonry and finding.counts}
        assert told <= {Verdict.REFER}, question


@pytest.mark.parametrize("question", ALONE)
def test_what_is_left_out_is_said_and_never_reads_as_passed(
    question: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    result = judged(question).stages["found"]
    assert set(result.left_out) == set(ALONE) - {question}
    words = model.overall_words(result)
    assert words.endswith(f"; this covers only: {asked.NAMES[question]}")
    text = " ".join(
        text_report.write(model.build(judged(question), Job.from_document(asking(INN, question)))).split()
    )
    assert f"Left out, so not judged: {asked.in_words(result.left_out)}." in text


def test_the_json_says_what_is_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    cli.main(["demo", "schoolhouse", "--json"])
    told = json.loads(capsys.readouterr().out)
    assert told["stages"]["planned"]["left_out"] == ["flue", "chimney", "draft", "steel", "firebox"]
    cli.main(["demo", "--json"])
    assert json.loads(capsys.readouterr().out)["stages"]["planned"]["left_out"] == []


def test_a_chimney_without_a_roof_entered_waits_for_somebody_to_look() -> None:
    """Else the question would be answered by what is not there."""
    document = {**asking(INN, "chimney"), "roof": []}
    job = Job.from_document(document)
    found = assess.assess(job, reference.load("irc-2021")).stages["found"]
    looked = next(f for f in found.findings if f.id == "clearance.looked")
    assert looked.verdict is Verdict.MEASURE and looked.missing == ("looked.roofs",)
    assert found.overall is Verdict.MEASURE


def test_an_unknown_question_is_refused_and_read_as_everything_until_it_is_mended() -> None:
    with pytest.raises(JobError, match='"smoke" is not'):
        Job.from_document(asking(INN, "flue", "smoke"))
    session = Session(asking(INN, "flue", "smoke"))
    assert session.assess().deciding.left_out == ()


# The screen asks for what the answers need


def stripped() -> Iterator[dict[str, Any]]:
    """Jobs with much still to be measured."""
    yield blank()
    for name in jobfile.DEMOS:
        document = jobfile.document(jobfile.demo(name), name)
        yield document
        for table in ("flue", "firebox", "air", "looked", "fireplace"):
            yield {key: held for key, held in document.items() if key != table}
        for key in ("closure", "arch", "opens_to", "hearth"):
            yield {
                **document,
                "face": [{k: v for k, v in face.items() if k != key} for face in document["face"]],
            }


@pytest.mark.parametrize("question", ALONE)
def test_whatever_an_answer_waits_for_has_a_field(question: str) -> None:
    for document in stripped():
        session = Session(asking(document, question))
        try:
            for stage, result in session.assess().stages.items():
                for measure in result.measure:
                    address = measure.address + ".1.material" * measure.address.endswith(".layers")
                    place = place_of(session.job(stage), address)
                    assert place, (stage, address)
                    there = [row.address for row in rows(session, place[0], stage)]
                    other = address.removeprefix("planned.")
                    assert address in there or f"planned.{other}" in there, (stage, address, there)
        finally:
            session.file.release()


@pytest.mark.parametrize(
    ("address", "decided_by", "there", "gone"),
    [
        ("face.taproom.rise", "face.taproom.arch", "segmental", "flat"),
        ("face.taproom.gap_area", "face.taproom.closure", "glass doors", "none"),
        ("face.taproom.burning_closed", "face.taproom.closure", "steel doors", "none"),
        ("flue.diameter", "flue.shape", "round", "square"),
        ("flue.inside", "flue.shape", "rectangular", "round"),
        ('roof."main roof".cricket_height', 'roof."main roof".passes_through', True, False),
        ("firebox.damper_area", "firebox.damper", "throat", "none"),
        ("flue.cap_area", "flue.cap", "open", "none"),
        ('nearby."pine mantel".gap', 'nearby."pine mantel".face', None, "taproom"),
    ],
)
def test_a_field_that_does_not_apply_is_not_there_and_not_counted(
    address: str, decided_by: str, there: object, gone: object
) -> None:
    from hearthcalc_tui.sections.rows import filled

    counts = []
    for value in (there, gone):
        session = Session(set_entry(set_entry(INN, address, None), decided_by, value))
        place = place_of(session.job("found"), address)
        assert place
        shown = address in [row.address for row in rows(session, place[0], "found")]
        assert shown == (value == there)
        counts.append(filled(session, place[0], "found")[1])
        session.file.release()
    assert counts[0] > counts[1] or decided_by == "flue.shape"  # one size in the place of another


def test_an_entry_that_is_there_keeps_its_field_though_nothing_asks_for_it() -> None:
    session = Session(set_entry(INN, "face.taproom.rise", "3"))
    place = place_of(session.job("found"), "face.taproom.rise")
    assert place and "face.taproom.rise" in [row.address for row in rows(session, place[0], "found")]
    session.file.release()
