"""What a report of each demo costs to write, in seconds of work: limits are this project's own."""

import datetime as dt
import statistics
import time
from collections.abc import Callable

import pytest

from hearthcalc import jobfile, reference
from hearthcalc.assess import assess, assess_models
from hearthcalc.report import contents, html, pdf

pytestmark = pytest.mark.benchmark

DEMOS = ("inn", "schoolhouse", "stonehouse")
ROUNDS = 5
Within = Callable[[str, float], bool]


@pytest.fixture(scope="module", params=DEMOS)
def gathered(request: pytest.FixtureRequest) -> Callable[[], contents.Report]:
    """A demo judged, with all that its report tells besides: what is left is to compose it."""
    job, edition = jobfile.load(jobfile.demo(request.param).encode()), reference.load("irc-2021")
    assessment = assess_models(job, edition, assess(job, edition))
    given = contents.gather(job, edition, assessment, contents.Choice())
    return lambda: contents.compose(assessment, job, edition, dt.date(2026, 5, 4), None, given)


@pytest.mark.parametrize(("kind", "write"), [("html", html.write), ("pdf", pdf.write)])
def test_a_demo_is_on_paper_within(
    kind: str,
    write: Callable[[contents.Report], str | bytes],
    gathered: Callable[[], contents.Report],
    within: Within,
) -> None:
    """From what was gathered to the bytes, the libraries loaded: seconds of this process, at the median."""
    spent = []
    for _ in range(ROUNDS):
        start = time.process_time()
        assert write(gathered())
        spent.append(time.process_time() - start)
    assert within(kind, statistics.median(spent))
