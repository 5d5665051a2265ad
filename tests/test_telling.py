"""Findings as the list of the screen tells them: one row each at 80 columns, with the figure that decides."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from waiting import opened, running

from hearthcalc import jobfile, reference
from hearthcalc.assess import assess, assess_models
from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.widgets import telling

ROOM = 32  # cells of a row of the list at 80 columns
SOUND = Path(__file__).parent / "jobs" / "sound.hearth.toml"
JOBS = [*jobfile.DEMOS, "sound"]


def job_of(name: str) -> Job:
    return jobfile.load(SOUND) if name == "sound" else jobfile.parse_text(jobfile.demo(name), name)


@pytest.fixture(scope="module", params=JOBS)
def findings(request: pytest.FixtureRequest) -> list[Finding]:
    """Every finding of a job, of rules and models, at each of its stages."""
    job = job_of(request.param)
    edition = reference.load(job.about.edition)
    stages = assess_models(job, edition, assess(job, edition)).stages.values()
    return [finding for stage in stages for finding in stage.findings]


def numbers(finding: Finding) -> Iterator[str]:
    """What decides it: the number found, where there is one, and the limit."""
    for bound in (finding.found, finding.required):
        if bound and bound.text and not (bound is finding.found and finding.missing):
            yield bound.text.removeprefix("about ").partition(" ")[0]


@pytest.mark.parametrize("turned", [False, True])
def test_each_finding_is_one_row_with_the_figure_that_decides(
    findings: list[Finding], *, turned: bool
) -> None:
    assert len(findings) > 30
    for finding in findings:
        row = telling.line(finding, ROOM, turned=turned)
        assert row.cell_length <= ROOM, row.plain
        assert row.plain.split()[1].startswith(finding.verdict)
        if telling.figure_of(finding):
            assert all(number in row.plain for number in numbers(finding)), row.plain


def test_every_measured_limit_has_its_figure(findings: list[Finding]) -> None:
    for finding in findings:
        limit = finding.required
        if (
            limit is not None
            and limit.value is not None
            and limit.unit in ("in", "in2", "mm", "deg", "Pa", "C")
        ):
            assert telling.figure_of(finding) or not (finding.found or finding.missing), finding.id


@pytest.mark.usefixtures("own_state")
async def test_the_list_has_a_row_for_each_finding_at_80_columns() -> None:
    app = HearthcalcApp("demo")
    async with running(app) as pilot:
        await opened(pilot, app)
        assert app.desk is not None
        pane = app.desk.pane
        assert pane._room == ROOM
        assert pane.options.virtual_size.height == pane.options.option_count > 20
        app.desk.close()
