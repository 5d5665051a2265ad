"""Many jobs judged at once: every verdict and figure is that of the job judged by itself. Own requirement, no outside source."""

import tomllib
from collections import Counter
from fractions import Fraction
from random import Random
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import settings
from msgspec.structs import replace
from truth.changes import CHANGES, state
from truth.house import build, measure

from hearthcalc import alike, figures, jobfile, reference, table
from hearthcalc.assess import Judge
from hearthcalc.findings import Bound, Margin
from hearthcalc.job import Amount, Job, Size, entries, parse_address, stands, with_amounts
from hearthcalc.many import Many
from hearthcalc.rules import case

ROWS = 20
HOUSES = 10 if settings.get_current_profile_name() != "long" else 400
DEMOS = {name: tomllib.loads(jobfile.demo(name)) for name in ("inn", "schoolhouse", "stonehouse")}
NOT_THERE = (figures.NONE, False, *[float("nan")] * 4)


def columns(job: Job, rng: Random, most: int, count: int = ROWS) -> dict[tuple[str, ...], figures.Column]:
    """The quantities of a job as they would be by steps more or less, row by row: lengths by 1/8 in, others by parts; some stay."""
    made: dict[tuple[str, ...], figures.Column] = {}

    def add(path: tuple[str, ...], amount: Amount, low: Fraction, high: Fraction) -> None:
        values = [amount.value + Fraction(step, 8) for step in range(-most, most + 1)]
        amounts = tuple(replace(amount, value=value) for value in values if low <= value <= high)
        if amounts and rng.random() < 0.7:
            which = np.array([rng.randrange(len(amounts)) for _ in range(count)])
            made[path] = figures.Column(amounts, which)

    for address, spec, value in entries(job):
        low, high = spec.hard or (Fraction(0), Fraction(10**6))
        if isinstance(value, Size) and spec.key.endswith("inside"):
            add((*parse_address(address), "a"), value.a, Fraction(1), high)
            add((*parse_address(address), "b"), value.b, Fraction(1), high)
        elif isinstance(value, Amount) and spec.kind == "length":
            add(parse_address(address), value, low, high)
        elif isinstance(value, Amount) and rng.random() < 0.5:
            steps = (Fraction(step) if spec.kind == "count" else value.value * step / 4 for step in range(9))
            amounts = tuple(replace(value, value=step) for step in steps if low <= step <= high)
            which = np.array([rng.randrange(len(amounts)) for _ in range(count)])
            made[parse_address(address)] = figures.Column(amounts, which)
    return made


def told(figure: Bound | Margin | None) -> float:
    return float("nan") if figure is None or figure.value is None else float(figure.value)


def differences(job: Job, many: dict[tuple[str, ...], figures.Column], edition: str) -> list[Any]:
    """Where the answers of the rows together are not those of each row."""
    by = reference.load(edition)
    answers = figures.judge(job, many, ROWS, by)
    judge = Judge(by)
    wrong: list[Any] = []
    for row in range(ROWS):
        here = with_amounts(job, {path: one.amounts[one.which[row]] for path, one in many.items()})
        if bool(answers.stands[row]) != stands(here):
            wrong.append((row, "stands"))
        if not answers.stands[row]:
            continue
        for name, result in judge.assess(here).stages.items():
            mine = answers.stages[name]
            if figures.RANKS[result.overall] != answers.overall(name)[row]:
                wrong.append((row, name, "overall"))
            expected: dict[figures.Key, tuple[Any, ...]] = {}
            numbers = Counter[tuple[str, ...]]()
            for finding in result.findings:
                numbers[finding.key] += 1
                percent = finding.margin.percent if finding.margin else None
                expected[(*finding.key, numbers[finding.key])] = (
                    figures.RANKS[finding.verdict], finding.counts, told(finding.required), told(finding.found), told(finding.margin),
                    float("nan") if percent is None else float(percent),
                )  # fmt: skip
            for key in {*mine, *expected}:
                one = mine.get(key)
                found = (
                    (one.verdict[row], one.counts[row], one.required[row], one.found[row], one.margin[row], one.percent[row])
                    if one and one.verdict[row] != figures.NONE
                    else NOT_THERE
                )  # fmt: skip
                if not np.array_equal(found, expected.get(key, NOT_THERE), equal_nan=True):
                    wrong.append((row, name, key, found, expected.get(key)))
    return wrong


@pytest.mark.parametrize("most", [1, 40], ids=["a little", "a lot"])
@pytest.mark.parametrize("name", DEMOS)
def test_rows_of_a_demo_are_answered_as_each_is_by_itself(name: str, most: int) -> None:
    job = Job.from_document(DEMOS[name])
    assert differences(job, columns(job, Random(most), most), job.about.edition) == []


@pytest.mark.parametrize("seed", range(HOUSES))
def test_rows_of_a_house_and_its_plan_are_answered_as_each_is_by_itself(seed: int) -> None:
    rng, house = Random(seed), build(seed)
    stated = state(house, rng.choice([*CHANGES]), seed=seed)
    job = Job.from_document(stated.job if stated else measure(house))
    edition = rng.choice(
        ("irc-2021", "irc-2024", "canada-nbc", "england-adj", "germany-feuvo", "usda-1941", "sweden")
    )
    assert differences(job, columns(job, rng, rng.choice((1, 6, 60))), edition) == []


def test_a_rule_that_wants_one_row_at_a_time_is_asked_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only for the rows that want it, and with the same answers."""
    job = Job.from_document(DEMOS["inn"])
    rule = case.RULES["firebox.depth"]

    def alone(mine: case.Case, *subject: Any) -> Any:
        deep = mine.number("firebox", "depth").value.value
        return float(deep) if deep > 20 and isinstance(deep, Many) else rule.tell(mine, *subject)

    monkeypatch.setitem(case.RULES, rule.id, replace(rule, tell=alone))
    depth = job.firebox.depth
    assert depth is not None
    amounts = tuple(replace(depth, value=Fraction(30 + row, 2)) for row in range(ROWS))
    many = {("firebox", "depth"): figures.Column(amounts, np.arange(ROWS))}
    answers = figures.judge(job, many, ROWS, reference.load(job.about.edition))
    assert 0 < answers.singly <= sum(amount.value > 20 for amount in amounts)
    assert differences(job, many, job.about.edition) == []


def test_few_rows_are_judged_one_by_one() -> None:
    job = Job.from_document(DEMOS["stonehouse"])
    answers = figures.judge(job, {}, figures.FEW - 1, reference.load(job.about.edition))
    assert answers.singly == figures.FEW - 1
    assert set(answers.overall("found")) == {answers.overall("found")[0]} != {figures.NONE}


# Tables


def plain(answers: pd.DataFrame) -> pd.DataFrame:
    """Answers of any kind, in one order and without words."""
    lines = answers[list(alike.COLUMNS)].copy()
    for name in (*alike.WORDS, "row"):
        lines[name] = lines[name].astype(str)
    lines.loc[lines["verdict"] != table.NOT_READ, "message"] = ""
    keys = ["row", "edition", "stage", "finding", "face", "state", "item"]
    lines["number"] = lines.groupby(keys).cumcount()
    return lines.sort_values([*keys, "number"]).reset_index(drop=True)


def test_a_fault_of_the_program_costs_one_row(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rows that are alike are then told one by one, and the one that fails says so."""
    rule = case.RULES["firebox.depth"]

    def faulty(mine: case.Case, *subject: Any) -> Any:
        if mine.number("firebox", "depth").value.value == 17:
            raise ZeroDivisionError("by chance")
        return rule.tell(mine, *subject)

    monkeypatch.setitem(case.RULES, rule.id, replace(rule, tell=faulty))
    rows = [[36, 29, 10 + number] for number in range(20)]
    frame = pd.DataFrame(rows, columns=["face.room.width", "face.room.height", "firebox.depth"])
    answers = alike.judge(frame)
    told = answers[answers["verdict"] == table.NOT_READ]
    assert told["row"].tolist() == ["7"] and "ZeroDivisionError" in told["message"].iloc[0]
    assert answers["row"].nunique() == 20


def test_a_table_is_answered_as_with_words() -> None:
    """Numbers of both units, other words and editions, blanks, notes, names, and cells and rows that cannot be read."""
    rng = Random(11)
    heading = [
        "row", "units", "about.edition", "about.title", "flue.liner", "flue.height [ft]", "face.room.width", "face.room.height",
        "firebox.depth", "firebox.wall", "firebox.lining", "face.room.hearth.front", "nearby.shelf.what", "nearby.shelf.face",
        "nearby.shelf.above", "nearby.shelf.combustible",
    ]  # fmt: skip
    rows = []
    for number in range(60):
        metric = number % 5 == 0
        inch = 25 if metric else 1
        rows.append([
            "#" if number == 7 else f"no. {number}", "mm" if metric else rng.choice(["in", ""]), rng.choice(["irc-2021", "canada-nbc"]),
            f"house {number}", rng.choice(["13x13", "13x13", "8x13", "9x99" if number == 30 else "13x13"]), rng.randint(8, 40),
            rng.choice([36 * inch, 40 * inch, "wide" if number == 31 else f"{rng.randint(24, 50) * inch}"]), rng.randint(24, 36) * inch,
            rng.randint(14, 26) * inch, 9 * inch, rng.choice([4, 4, 4, 12]) * inch, rng.choice(["", rng.randint(8, 30) * inch]),
            "mantel", "room" if number != 33 else "hall", rng.randint(2, 20) * inch, rng.choice(["yes", "no", ""]),
        ])  # fmt: skip
    frame = pd.DataFrame(rows, columns=heading, dtype=object)
    frame[table.SPOILED] = ["The row is spoiled." if number == 34 else "" for number in range(len(frame))]
    answers = alike.judge(frame)
    fast, slow = plain(answers), plain(table.judge(frame, models=False))
    pd.testing.assert_frame_equal(fast, slow, check_dtype=False, check_exact=True)
    assert (slow["verdict"] == table.NOT_READ).sum() > 3
    assert {"MEETS", "SHORT", "MEASURE"} <= set(slow["verdict"])
    assert answers["row"].tolist() == sorted(answers["row"], key=lambda row: int(row[4:]))
