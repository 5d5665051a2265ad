"""What a report of the demo costs to write, in seconds of work: limits are this project's own."""

import datetime as dt
import statistics
import time
from collections.abc import Callable
from importlib.resources import files

import pytest

from hearthcalc import jobfile, reference, takeoff
from hearthcalc.assess import assess, assess_models
from hearthcalc.report import contents, html, pdf
from hearthcalc.report.contents import Given

pytestmark = pytest.mark.benchmark

DEMO = files("hearthcalc_reference").joinpath("demos/inn.hearth.toml").read_bytes()
ROUNDS = 5


@pytest.mark.parametrize(("write", "most"), [(html.write, 0.3), (pdf.write, 1.5)], ids=["html", "pdf"])
def test_the_demo_is_on_paper_within(write: Callable[[contents.Report], str | bytes], most: float) -> None:
    """From the assessment to the bytes, the libraries loaded: seconds of this process, at the median."""
    job = jobfile.load(DEMO)
    edition = reference.load("irc-2021")
    assessment = assess_models(job, edition, assess(job, edition))
    spent = []
    for _ in range(ROUNDS):
        start = time.process_time()
        given = Given(items=takeoff.take_off(job, edition))
        assert write(contents.compose(assessment, job, edition, dt.date(2026, 5, 4), None, given))
        spent.append(time.process_time() - start)
    assert statistics.median(spent) < most
