"""The rules beside a second opinion that was written from the clauses alone, on jobs at random."""

from collections import Counter

import pytest
from hypothesis import settings
from oracle.opinion import at_random, job, opinions

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Verdict
from hearthcalc.job import Job

CODE = reference.load("irc-2021")
JOBS = 100_000 if settings.get_current_profile_name() == "long" else 150


@pytest.fixture(scope="module")
def compared() -> tuple[list[str], Counter[tuple[str, bool]], Counter[str]]:
    """Where the two differ; how often each was judged short or not; what the rules left unjudged."""
    differ: list[str] = []
    judged: Counter[tuple[str, bool]] = Counter()
    left: Counter[str] = Counter()
    for seed in range(JOBS):
        case = at_random(seed)
        found = {
            (f.id, f.item or ""): f
            for f in assess(Job.from_document(job(case)), CODE).stages["found"].findings
        }
        for key, opinion in opinions(case).items():
            finding = found.get(key)
            where = f"job {seed}, {' '.join(key)}, {opinion.clause}: {opinion}"
            if finding is None:
                differ.append(f"{where}: no such finding")
            elif finding.verdict in (Verdict.MEASURE, Verdict.REFER):
                left[f"{key[0]} {finding.verdict}"] += 1
            elif (
                (finding.verdict is not Verdict.CLOSE)
                if opinion.open
                else (finding.verdict is Verdict.SHORT) != opinion.short
            ):
                differ.append(f"{where}: {finding.verdict} {finding.text}")
            elif finding.required is not None and finding.required.value not in (None, *opinion.limits):
                differ.append(f"{where}: another limit, {finding.required.text}")
            else:
                judged[key[0], opinion.short] += 1
    return differ, judged, left


def test_the_rules_say_what_the_clauses_say(
    compared: tuple[list[str], Counter[tuple[str, bool]], Counter[str]],
) -> None:
    differ = compared[0]
    assert not differ, f"{len(differ)} differ\n" + "\n".join(differ[:40])


def test_each_clause_was_tried_on_both_sides(
    compared: tuple[list[str], Counter[tuple[str, bool]], Counter[str]],
) -> None:
    judged = compared[1]
    once = {id for id, _ in judged}
    assert len(once) == 24
    assert once == {id for id in once if judged[id, True] and judged[id, False]}, compared[2]
