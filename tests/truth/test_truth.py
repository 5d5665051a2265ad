"""No answer to a plan that the finished house, measured again, would contradict.

A house stands in coordinates; it is changed as it would be; a tape reads it before and after. Written from geometry alone.
`--hypothesis-profile=long` takes 2,000 houses. `-s` prints how many answers were held against one another.
"""

import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from hypothesis import settings

from hearthcalc import reference
from hearthcalc.assess import assess, assess_models
from hearthcalc.findings import Finding, StageResult
from hearthcalc.job import Job, JobError

sys.path.insert(0, str(Path(__file__).parent))

from changes import Change, changes, planned
from house import build, measure

EDITION = reference.load("irc-2021")
HOUSES = 2000 if settings.get_current_profile_name() == "long" else 8
WITH_MODELS = 200 if HOUSES > 100 else 3
OPPOSITE = {("MEETS", "SHORT"), ("SHORT", "MEETS")}


def stands(change: Change) -> bool:
    """Can a house be so: has every length a tape could read, and does no part of the masonry stand where another does."""
    house = change.house
    try:
        measure(house)
    except ValueError:
        return False
    throat_over = all(house.throat > face.top for face in house.faces)
    wide = max(face.width for face in house.faces)
    return (
        throat_over
        and house.chamber_top > house.throat
        and house.throat_width <= wide
        and house.back > house.throat_depth
    )


def told(stage: StageResult) -> dict[tuple[str, str, str, str], Finding]:
    return {finding.key: finding for finding in stage.findings if finding.kind != "advice"}


def held(seed: int, *, models: bool) -> Iterator[tuple[Change, Finding, Finding]]:
    """Each answer to each plan of a house, beside that of the finished house."""
    before = build(seed)
    if not stands(Change("as built", before, ())):
        return
    found = measure(before)
    for change in changes(Random(seed), before):
        if not stands(change):
            continue
        try:
            job = Job.from_document({**found, "planned": planned(change)})
            after = Job.from_document(measure(change.house))
        except JobError:
            continue  # refused in words, which tells nobody that anything meets
        plan, truth = assess(job, EDITION), assess(after, EDITION)
        if models:
            plan, truth = assess_models(job, EDITION, plan), assess_models(after, EDITION, truth)
        real = told(truth.stages["found"])
        for key, finding in told(plan.stages["planned"]).items():
            if key in real:
                yield change, finding, real[key]


@pytest.mark.parametrize("first", range(0, HOUSES, 8))
def test_no_plan_is_told_what_the_finished_house_would_deny(first: int) -> None:
    pairs: Counter[tuple[str, str]] = Counter()
    wrong = []
    for seed in range(first, min(first + 8, HOUSES)):
        for change, plan, truth in held(seed, models=seed < WITH_MODELS):
            pairs[plan.verdict, truth.verdict] += 1
            if (plan.verdict, truth.verdict) in OPPOSITE:
                wrong.append(
                    f"house {seed}, {change.name}: {plan.key}\n   planned: {plan.text}\n   truth:   {truth.text}"
                )
    sys.stdout.write(f"houses {first} to {first + 7}: {sum(pairs.values())} answers, {dict(pairs)}\n")
    assert not wrong, f"{len(wrong)} contradictions:\n" + "\n".join(wrong[:12])
    assert pairs["MEETS", "MEETS"] > 100 and pairs["SHORT", "SHORT"] > 10
