"""Leaving something out makes no answer better: what is absent is unknown."""

import copy
import sys
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import settings

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding, StageResult
from hearthcalc.job import Job, JobError

sys.path.insert(0, str(Path(__file__).parent))

from house import Document, build, measure

EDITION = reference.load("irc-2021")
LONG = settings.get_current_profile_name() == "long"
SEEDS = range(40 if LONG else 4)
PAIRS = 2000 if LONG else 40
Place = tuple[str | int, ...]

# What a verdict may become where less is known.
WORSE = {
    "MEETS": {"MEETS", "CLOSE", "REFER", "MEASURE", "SHORT"},
    "CLOSE": {"CLOSE", "REFER", "MEASURE", "SHORT"},
    "REFER": {"REFER", "MEASURE", "SHORT"},
    "MEASURE": {"MEASURE", "SHORT"},
    "SHORT": {"SHORT", "MEASURE"},
}

# Entries that are not measurements: what the job is called, and what a documented default stands for.
NOT_MEASURED = {"format", "version", "units", "about", "name"}

# Answers that may go or turn when an entry does, and why.
EXCEPTIONS = {
    (
        "heat.resistance",
        "specified_r",
    ): "only a listing asks for an R: without one there is none to hold the layers against",
    ("heat.resistance", "hearth"): "the same: the listing's R is an entry of the hearth",
    ("chimney.arrestor_area", "inside"): "the flue is then sized by its liner, which was entered too",
    ("chimney.cap_area", "inside"): "the same",
}


def places(document: Document) -> Iterator[Place]:
    """Every list, table and entry that can be left out."""

    def under(value: Any, path: Place) -> Iterator[Place]:
        pairs = value.items() if isinstance(value, dict) else enumerate(value)
        for key, below in pairs:
            if key in NOT_MEASURED:
                continue
            if path or isinstance(below, dict | list):
                yield (*path, key)
            if isinstance(below, dict | list):
                yield from under(below, (*path, key))

    yield from under(document, ())


def without(document: Document, *gone: Place) -> Document:
    left = copy.deepcopy(document)
    for path in sorted(gone, key=lambda path: [str(step).zfill(3) for step in path], reverse=True):
        here: Any = left
        try:
            for step in path[:-1]:
                here = here[step]
            del here[path[-1]]
        except (KeyError, IndexError):
            pass  # a longer path of the two took it already
    return left


def judged(document: Document) -> StageResult | None:
    try:
        return assess(Job.from_document(document), EDITION).stages["found"]
    except JobError:
        return None


def better(before: StageResult, after: StageResult, gone: tuple[Place, ...]) -> Iterator[str]:
    """Answers that are better than they were, or that went without another about the same thing that holds it up."""
    new = {finding.key: finding for finding in after.findings}
    keys = {step for path in gone for step in path}
    for finding in before.findings:
        now = new.get(finding.key)
        if finding.kind == "advice" or any((finding.id, str(key)) in EXCEPTIONS for key in keys):
            continue
        if (
            now is None
            and finding.verdict == "SHORT"
            and not finding.state
            and not held_up(finding, after, gone)
        ):
            yield f"{finding.key} went: {finding.text}"
        elif now is not None and now.verdict not in WORSE[finding.verdict]:
            yield f"{finding.key}: {finding.verdict} to {now.verdict}\n   {finding.text}\n   {now.text}"
    if after.overall not in WORSE[before.overall]:
        yield f"the overall: {before.overall} to {after.overall}"


def held_up(finding: Finding, after: StageResult, gone: tuple[Place, ...]) -> bool:
    """Is what a finding was about no longer there at all, or does another answer about it say what is wrong or missing?"""
    if any(len(path) <= 2 and path[0] in ("face", "nearby", "roof") for path in gone):
        return True
    return any(
        (other.item, other.face) == (finding.item, finding.face) and other.subject == finding.subject
        and other.verdict in ("SHORT", "MEASURE", "REFER")
        for other in after.findings
    )  # fmt: skip


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_gets_better_by_being_left_out(seed: int) -> None:
    document = measure(build(seed))
    before = judged(document)
    if before is None or any(finding.id == "record.agreement" for finding in before.findings):
        return  # no house that could stand
    every = list(places(document))
    pairs = list(combinations(every, 2))
    for gone in [*((one,) for one in every), *Random(seed).sample(pairs, PAIRS)]:
        left = without(document, *gone)
        after = judged(left)
        told = list(better(before, after, gone)) if after else []
        assert not told, f"house {seed} without {gone}:\n" + "\n".join(told)
