"""The published cases: answers printed outside this project, run on whatever copy is installed."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from msgspec import Struct

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Job

CASE_KEYS = {
    "name",
    "source",
    "clause",
    "edition",
    "finding",
    "face",
    "state",
    "item",
    "stage",
    "job",
    "expect",
    "tolerance",
    "why",
}
SIDES = ("required", "found")


class Case(Struct, frozen=True):
    """A printed answer. expect: verdict, and required or found as a quantity.  tolerance: how far off, and why."""

    name: str
    source: str
    clause: str
    edition: str
    finding: str
    job: Mapping[str, Any]
    expect: Mapping[str, str]
    tolerance: str
    why: str
    face: str | None = None
    state: str | None = None
    item: str | None = None
    stage: str = "found"


class Outcome(Struct, frozen=True):
    """What the installed copy says to a case."""

    case: Case
    agrees: bool
    found: str


def cases(folder: Any = None) -> list[Case]:
    """Every published case of reference/cases, in the order of the files."""
    root = (folder or reference.shipped()) / "cases"
    found = []
    for path in sorted(root.iterdir(), key=lambda p: p.name):
        if path.name.endswith(".toml"):
            for entry in tomllib.loads(path.read_text(encoding="utf-8"))["case"]:
                if unknown := entry.keys() - CASE_KEYS:
                    raise ValueError(f"{path.name}: {sorted(unknown)[0]} is not a key of a case")
                found.append(Case(**entry))
    return found


def run(case: Case) -> Outcome:
    """Judge the case's job and compare with what was printed."""
    head = {"format": "hearthcalc-job", "version": 1}
    assessment = assess(Job.from_document(head | dict(case.job)), reference.load(case.edition))
    wanted = (case.finding, case.face, case.state, case.item)
    for finding in assessment.stages[case.stage].findings:
        mine = (finding.id, finding.face, finding.state, finding.item)
        if all(want in (None, have) for want, have in zip(wanted, mine, strict=True)):
            return _compare(case, finding)
    return Outcome(case, False, "no such finding")


def _compare(case: Case, finding: Finding) -> Outcome:
    allowed = reference.read_quantity(case.tolerance).number
    wrong = []
    if finding.verdict != case.expect["verdict"]:
        wrong.append(f"{finding.verdict}, printed {case.expect['verdict']}")
    found = [str(finding.verdict)]
    for side in SIDES:
        if side in case.expect:
            printed = reference.read_quantity(case.expect[side])
            bound = getattr(finding, side)
            mine = (
                None
                if bound is None
                else Fraction(bound.value) * reference.read_quantity(f"1 {bound.unit}").number
            )
            found.append(f"{side} {bound.text if bound else 'nothing'}")
            if mine is None or abs(mine - printed.number) > allowed:
                wrong.append(f"{side} {bound.text if bound else 'nothing'}, printed {printed.text}")
    return Outcome(case, not wrong, "; ".join(wrong) if wrong else ", ".join(found))
