"""The order of work: only the steps that a plan needs, in an order that holds, and nothing that is not met gets lost."""

import json
from pathlib import Path

import pytest

from hearthcalc import assess, cli, jobfile, reference, steps
from hearthcalc.findings import Assessment, Verdict
from hearthcalc.job import Document, Job, set_entry
from hearthcalc.rules.case import RULES
from hearthcalc_tui.widgets.views import VIEWS, Shown

EDITION = reference.load("irc-2021")
INN = jobfile.parse_text(jobfile.demo("inn"), "inn")
PLANNED_NOTHING: Document = {key: value for key, value in INN.document().items() if key != "planned"}

# Which step comes before which: common practice of the trade, no source. What is hidden by a later step is looked at before it.
BEFORE = (
    ("survey", "permit"), ("camera", "shoring"), ("permit", "shoring"), ("shoring", "lintel"), ("lintel", "cutting"),
    ("cutting", "relaying"), ("relaying", "throat"), ("throat", "liner"), ("liner", "smoke_test"), ("hearth_support", "hearth"),
    ("alarms", "first_fires"), ("smoke_test", "first_fires"), ("doors", "smoke_test"), ("clear", "first_fires"),
)  # fmt: skip


@pytest.fixture(scope="module")
def inn() -> Assessment:
    return assess.assess_models(INN, EDITION, assess.assess(INN, EDITION))


def ordered(document: Document) -> tuple[steps.Step, ...]:
    job = Job.from_document(document)
    return steps.order(job, assess.assess(job, EDITION), EDITION)


def ids(work: tuple[steps.Step, ...]) -> list[str]:
    return [step.id for step in work]


def test_a_second_opening_takes_every_step_of_the_cut_in_order(inn: Assessment) -> None:
    told = ids(steps.order(INN, inn, EDITION))
    assert told == [
        "survey", "camera", "permit", "shoring", "lintel", "cutting", "relaying", "throat", "damper", "hearth_support", "hearth",
        "clear", "doors", "alarms", "smoke_test", "first_fires",
    ]  # fmt: skip


@pytest.mark.parametrize(("first", "then"), BEFORE)
def test_the_order_holds(first: str, then: str) -> None:
    told = [kind.id for kind in steps.ORDER]
    assert told.index(first) < told.index(then)


def test_a_new_hearth_alone_cuts_nothing() -> None:
    job = jobfile.parse_text(jobfile.demo("schoolhouse"), "schoolhouse")
    told = ids(steps.order(job, assess.assess(job, EDITION), EDITION))
    assert told == ["survey", "permit", "hearth_support", "hearth", "alarms", "first_fire"]


@pytest.mark.parametrize(
    ("address", "value", "step"),
    [
        ("planned.flue.liner", "12 round", "liner"),
        ("planned.flue.height", "30 ft", "stack"),
        ("planned.flue.cap", "restrictive", "top"),
        ("planned.firebox.damper", "top", "damper"),
        ("planned.firebox.throat_depth", "6", "throat"),
        ("planned.air.gas_logs", "listed", "gas"),
        ("planned.firebox.lining", "1", "relaying"),
        ("planned.air.exterior_duct", "20 in2", "air"),
        ("planned.face.taproom.width", "60", "shoring"),
        ("planned.face.taproom.lintel.bearing", "8", "lintel"),
        ("planned.face.taproom.closure", "steel doors", "doors"),
        ("planned.face.taproom.hearth.front", "30", "hearth_support"),
        ('planned.nearby."pine mantel".above', "30", "clear"),
    ],
)  # fmt: skip
def test_a_step_is_there_where_the_plan_changes_what_it_builds(address: str, value: str, step: str) -> None:
    told = ids(ordered(set_entry(PLANNED_NOTHING, address, value)))
    assert step in told
    assert {"survey", "permit", "alarms"} <= set(told) and told[-1].startswith("first_")
    unchanged = ids(ordered(set_entry(PLANNED_NOTHING, "planned.site.altitude", "10 ft")))
    assert unchanged == ["survey", "permit", "alarms", "first_fire"]


# What a mason would have on the list, and what not: common practice of the trade, no source.
@pytest.mark.parametrize(
    ("entries", "wanted", "not_wanted"),
    [
        (
            {"flue.liner": "10 round", "flue.lining": "listed liner", "flue.condition": "sound"},
            {"camera", "liner", "top", "smoke_test", "first_fires"},
            {"stack", "cutting", "relaying", "throat", "hearth", "air"},
        ),
        ({"flue.height": "30 ft"}, {"camera", "stack", "top", "first_fires"}, {"liner", "throat", "hearth"}),
        (
            {"air.gas_logs": "unlisted", "air.gas_input": "40000 Btu/h", "firebox.clamp_area": "40 in2"},
            {"camera", "gas", "smoke_test", "first_gas"},
            {"air", "throat", "damper", "relaying", "first_fires", "first_fire"},
        ),
        (
            {"face.taproom.hearth.front": "30"},
            {"hearth_support", "hearth"},
            {"camera", "smoke_test", "first_fires"},
        ),
    ],
)
def test_a_plan_has_its_own_steps_and_no_others(
    entries: dict[str, str], wanted: set[str], not_wanted: set[str]
) -> None:
    document = PLANNED_NOTHING
    for address, value in entries.items():
        document = set_entry(document, f"planned.{address}", value)
    told = ids(ordered(document))
    assert wanted <= set(told) and not_wanted.isdisjoint(told)


def test_an_entry_planned_as_it_was_found_is_no_work() -> None:
    """However it is typed: the flue of the inn is planned at its own height in inches."""
    high = INN.flue.height
    assert high is not None
    same = set_entry(PLANNED_NOTHING, "planned.flue.height", f"{float(high.value)} in")
    assert "top" not in ids(ordered(same))


def test_a_face_that_is_given_up_is_walled_up() -> None:
    planned = INN.document()
    found = [*planned["face"], *[face for face in planned["planned"]["face"] if face["name"] == "dining"]]
    both = {**PLANNED_NOTHING, "face": found, "planned": {"face": [{"name": "dining", "remove": True}]}}
    told = ids(ordered(both))
    assert "closing" in told and "relaying" in told and "cutting" not in told


def test_nothing_that_is_not_met_is_lost(inn: Assessment) -> None:
    work = steps.order(INN, inn, EDITION)
    held = [finding for step in work for finding in step.held_by]
    for finding in inn.deciding.findings:
        open_one = finding.verdict is not Verdict.MEETS and (finding.counts or finding.kind == "advice")
        assert (finding in held) == open_one, finding.id
        if finding in held:
            assert set(finding.missing) <= {address for step in work for address in step.entries}


def test_what_falls_short_holds_up_the_permit_and_the_step_that_builds_it(inn: Assessment) -> None:
    by_id = {step.id: step for step in steps.order(INN, inn, EDITION)}
    short = [f for f in inn.deciding.findings if f.verdict is Verdict.SHORT and f.kind == "rule" and f.counts]
    assert short and all(finding in by_id["permit"].held_by for finding in short)
    elsewhere = [f for name, step in by_id.items() if name != "permit" for f in step.held_by]
    assert all(finding in elsewhere for finding in short)


def test_what_no_step_builds_holds_up_the_first_fires() -> None:
    """A mantel that is too near stays where it is: no step of a higher chimney moves it."""
    work = ordered(set_entry(PLANNED_NOTHING, "planned.flue.height", "30 ft"))
    assert "clear" not in ids(work) and ids(work)[-1] == "first_fires"
    assert "clearance.mantel" in {finding.id for finding in work[-1].held_by}


@pytest.mark.parametrize("kind", steps.ORDER, ids=lambda kind: kind.id)
def test_a_step_waits_for_findings_that_there_are(kind: steps.Kind) -> None:
    for start in kind.of:
        assert any(id.startswith(start) for id in RULES), start


def test_without_a_plan_there_is_no_order(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["steps", "demo:stonehouse"]) == 0
    assert capsys.readouterr().out == f"{steps.NOTHING}\n"
    assert cli.main(["report", "demo:stonehouse", "-o", str(tmp_path / "r.txt")]) in (0, 1, 3)
    assert "THE ORDER OF WORK" not in (tmp_path / "r.txt").read_text()


def test_the_command_the_json_and_the_report_tell_the_same_steps(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], inn: Assessment
) -> None:
    work = steps.order(INN, inn, EDITION)
    assert cli.main(["steps", "demo"]) == 0
    told = capsys.readouterr().out
    assert cli.main(["steps", "demo", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    cli.main(["report", "demo", "-o", str(tmp_path / "r.txt")])
    report = (tmp_path / "r.txt").read_text()
    report = report[report.index("THE ORDER OF WORK") :]
    for number, (step, said) in enumerate(zip(work, record["steps"], strict=True), 1):
        assert f"{number}. {step.title}" in told and f"{number}. {step.title}" in report
        assert (said["id"], said["stop"]) == (step.id, step.stop)
        assert [held["id"] for held in said["held_by"]] == [finding.id for finding in step.held_by]


def test_the_screen_shows_the_same_steps_beside_what_to_buy(inn: Assessment) -> None:
    view = VIEWS["takeoff"]
    planned, found = (Shown(INN, name, inn.stages[name], EDITION, {}, False) for name in ("planned", "found"))
    assert view.parts(planned) == ["as planned", "order of work"] and view.parts(found) == ["as found"]
    told = view.tell(planned, 1, 80, 24).plain
    for number, step in enumerate(steps.order(INN, inn, EDITION), 1):
        assert f"{number}. {step.title}" in told
