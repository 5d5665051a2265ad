"""A judge that keeps what a change leaves as it was finds what one finds that remembers nothing: own requirement, no outside source."""

import ast
import tomllib
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import settings
from truth.changes import CHANGES, state
from truth.every_entry import SAMPLE
from truth.house import build, measure

import hearthcalc
from hearthcalc import job as record
from hearthcalc import jobfile, reference
from hearthcalc.assess import Judge, assess
from hearthcalc.errors import EntryError
from hearthcalc.job import FIELDS, set_entry, spec_of

Document = dict[str, Any]
EDITIONS = ("irc-2021", "canada-nbc", "germany-feuvo")
CODE = reference.load("irc-2021")
DEMOS = [tomllib.loads(jobfile.demo(name)) for name in ("inn", "schoolhouse", "stonehouse")]
ODD = ("unknown", "none", "x9", "0", "1", "12", "36 1/2", "400", "yes", "no", True, False, 3, None, None)
"""Answers that many entries take and others do not, and an entry that is taken out."""


def addresses(document: Document) -> list[str]:
    """Where something can be typed: each entry of each thing, found and planned, and of a thing that is not there yet."""
    lists = {
        key: [thing["name"] for thing in document.get(key, ())] + ["new one"]
        for key in ("face", "nearby", "roof", "photo", "signed")
    }
    told = []
    for key, spec in FIELDS.items():
        first, *rest = key.split(".")
        if first in ("format", "version", "about", "judged", "planned") or spec.kind == "name":
            continue
        for name in lists.get(first, [""]):
            parts = [first, name, *rest] if name else [first, *rest]
            if "fans" in parts:
                parts.insert(parts.index("fans") + 1, "range hood")
            if "layers" in parts:
                parts.insert(parts.index("layers") + 1, "1")
            told += [record.join_address(parts), record.join_address(["planned", *parts])]
    return told


def answers(document: Document) -> dict[str, list[Any]]:
    """What entries of each kind are answered with here: what an entry of the same key is elsewhere too."""
    held: dict[str, list[Any]] = {}
    for address, spec, _ in record.entries(record.read(document)[0]):
        held.setdefault(spec.key.removeprefix("planned."), []).append(record.typed(document, address))
    return held


def walks(count: int, steps: int) -> Iterator[tuple[str, list[Document]]]:
    """Jobs that are changed entry by entry, at random, some of them back again."""
    known: dict[str, list[Any]] = {}
    for document in (SAMPLE, *DEMOS):
        for key, values in answers(document).items():
            known.setdefault(key, []).extend(values)
    for seed in range(count):
        rng = Random(seed)
        here: Document = deepcopy(rng.choice([SAMPLE, *DEMOS, measure(build(seed))]))
        walk = [here]
        while len(walk) < steps:
            address = rng.choice(addresses(here))
            try:
                spec = spec_of(address)
                pool = [*known.get(spec.key.removeprefix("planned."), ()), *spec.choices, *ODD]
                here = set_entry(here, address, rng.choice(pool))
            except EntryError:
                continue
            walk.append(rng.choice(walk) if rng.random() < 0.1 else here)
            here = walk[-1]
        yield f"walk {seed}", walk


def long() -> bool:
    return settings.get_current_profile_name() == "long"


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_is_kept_is_what_is_found_anew(edition: str) -> None:
    """Any entry, found or planned, typed, taken out, or not to be read: the same findings in the same order, with every word."""
    code = reference.load(edition)
    kept = 0
    for name, walk in walks(60 if long() else 2, 60 if long() else 20):
        judge = Judge(code)
        for number, document in enumerate(walk):
            job, problems = record.read(document)
            unread = {address: problem.what for address, problem in problems.items()}
            before = judge.kept
            assert judge.assess(job, unread) == assess(job, code, unread), f"{name}, step {number}"
            kept += judge.kept - before
    assert kept > 400, "nothing was kept, so nothing was compared"


def test_one_rule_alone_finds_what_it_finds_among_all() -> None:
    """Asked of one judge after another document: every rule that finds something, of the stage that decides."""
    judge, told = Judge(CODE), 0
    for _, walk in walks(8 if long() else 2, 6):
        for document in walk:
            job, problems = record.read(document)
            if problems:
                continue
            found = assess(job, CODE).deciding.findings
            for rule in dict.fromkeys(finding.id for finding in found):
                assert judge.of_rule(job, rule) == tuple(one for one in found if one.id == rule), rule
                told += 1
    assert told > 100 and judge.kept > 0


def test_a_change_of_a_house_is_judged_as_if_it_stood_alone() -> None:
    """Whole changes of measured houses, one after another to the same judge."""
    judge, names = Judge(CODE), list(CHANGES)
    for seed in range(200 if long() else 12):
        stated = state(build(seed), names[seed % len(names)], seed=seed)
        for document in (stated.job, stated.after) if stated else ():
            job = record.from_document(document)
            assert judge.assess(job) == assess(job, CODE), f"house {seed}, {names[seed % len(names)]}"


def test_a_key_leaves_most_findings_as_they_were() -> None:
    """The height of the flue has no say on the hearth: of a change of it few rules hear."""
    document = DEMOS[0]
    judge = Judge(CODE)
    judge.assess(record.from_document(document))
    before = judge.kept
    judge.assess(record.from_document(set_entry(document, "flue.height", "31 ft")))
    assert judge.kept - before > 200


RULES = Path(hearthcalc.__file__).parent / "rules"
RECORDS = {"stage", "found", "job", "conflicts", "every_state", "shared", "entries", "unread"}


@pytest.mark.parametrize(
    "module", sorted(path.name for path in RULES.glob("*.py") if path.name not in ("case.py",))
)
def test_a_rule_reads_the_job_through_its_case_alone(module: str) -> None:
    """What a run looked at is known only where nothing goes round the case: its records, and what it keeps, are not read."""
    tree = ast.parse((RULES / module).read_text())
    read = {
        f"line {node.lineno}: {node.value.id}.{node.attr}"
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id in ("case", "mine", "before", "standing", "old", "new")
        and node.attr in RECORDS
    }
    allowed = {"shared"} if module in ("draft_inputs.py", "inputs.py") else set()
    assert not {told for told in read if told.rpartition(".")[2] not in allowed}, read
