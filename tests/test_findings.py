"""Findings cannot contradict themselves; the worst verdict wins; advice never counts."""

import itertools
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from hearthcalc import many
from hearthcalc.findings import (
    Basis,
    Bound,
    Finding,
    Margin,
    StageResult,
    State,
    Step,
    Verdict,
    side_by_side,
    worst,
)

F = Fraction


def finding(verdict: str = "MEETS", **more: Any) -> Finding:
    values: dict[str, Any] = {
        "id": "flue.area",
        "title": "Flue",
        "kind": "rule",
        "subject": "flue",
        "text": "It is.",
    }
    return Finding(verdict=Verdict(verdict), **values | more)


def test_a_margin_is_told_in_percent_of_the_limit_and_in_its_unit() -> None:
    """10 in under 20: half of it."""
    made = finding("SHORT", **against(">=", 20, 10)).margin
    assert made == Margin(F(-10), "in", -50.0)
    over = finding("SHORT", **against("<=", 8, 10)).margin
    assert over == Margin(F(-2), "in", -25.0)
    assert made and type(made.percent) is float
    none = finding("SHORT", **against("<=", 0, 1)).margin
    assert none == Margin(F(-1), "in", None)  # of nothing there is no share


def test_the_margin_of_many_jobs_keeps_a_share_for_each() -> None:
    """10 and 15 in under 20: half of it and a quarter."""

    def shares(rows: np.ndarray) -> Fraction:
        have = many.of([(F(10), F(15))[row] for row in rows.tolist()])
        made = finding(
            "SHORT", required=Bound(">=", F(20), "in", ""), found=Bound("=", have, "in", "")
        ).margin
        assert made and isinstance(made.percent, Fraction)
        return made.percent

    (outcome,) = many.ways(np.arange(2), shares)
    assert isinstance(outcome.made, many.Many)
    assert outcome.made.fractions() == [-50, -25]


def test_a_finding_of_one_state_is_not_that_of_another() -> None:
    keys = {finding(state=state, item=item, face=face).key
            for state in (None, "all open") for item in (None, "throat") for face in (None, "study")}  # fmt: skip
    assert len(keys) == 8
    assert finding(state="all open", item="throat", face="study").key == (
        "flue.area",
        "study",
        "all open",
        "throat",
    )


def against(op: str, limit: int, have: int) -> dict[str, Any]:
    return {
        "required": Bound(op, F(limit), "in", f"{limit} in"),
        "found": Bound("=", F(have), "in", f"{have} in"),
    }


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({"verdict": "REFER", "kind": "advice"}, "advice never counts"),
        ({"verdict": "MEASURE"}, "MEASURE names what is missing"),
        ({"verdict": "MEETS", "missing": ("flue.liner",)}, "MEASURE names what is missing"),
        ({"verdict": "SHORT", "missing": ("flue.liner",)}, "MEASURE names what is missing"),
        ({"verdict": "MEETS", **against(">=", 20, 19)}, "MEETS with a margin of -1"),
        ({"verdict": "MEETS", **against("<=", 20, 21)}, "MEETS with a margin of -1"),
        ({"verdict": "SHORT", **against(">=", 20, 20)}, "SHORT with a margin of 0"),
        ({"verdict": "SHORT", **against("<=", 20, 19)}, "SHORT with a margin of 1"),
        ({"verdict": "CLOSE", **against(">=", 20, 19)}, "CLOSE with a margin of -1"),
        (
            {"verdict": "CLOSE", **against(">=", 20, 19), "tolerance": Margin(F(1, 2), "in", None)},
            "CLOSE with a margin of -1",
        ),
        (
            {"verdict": "MEASURE", "missing": ("flue.liner",), **against(">=", 20, 19)},
            "MEASURE with a margin of -1",
        ),
    ],
)
def test_a_finding_that_contradicts_itself_is_refused(values: dict[str, Any], why: str) -> None:
    with pytest.raises(ValueError, match=f"flue.area: {why}"):
        finding(**values)


@pytest.mark.parametrize(
    "values",
    [
        {"verdict": "REFER", "kind": "advice", "counts": False},
        {"verdict": "MEASURE", "missing": ("flue.liner",)},
        {"verdict": "MEETS", **against(">=", 20, 20)},
        {"verdict": "MEETS", **against("<=", 20, 20)},
        {"verdict": "SHORT", **against(">=", 20, 19)},
        {"verdict": "CLOSE", **against(">=", 20, 19), "tolerance": Margin(F(1), "in", None)},
        {"verdict": "MEASURE", "missing": ("flue.liner",), "required": Bound(">=", F(20), "in", "20 in")},
    ],
)
def test_a_finding_that_agrees_with_itself_stands(values: dict[str, Any]) -> None:
    assert finding(**values).verdict == values["verdict"]


def test_a_standing_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValueError, match="no such standing: 'sure'"):
        Basis("k", "t", "1", "in", "IRC", "R1", "irc-2021", "sure")


def test_the_worst_verdict_wins() -> None:
    """The order of the contract: SHORT, MEASURE, REFER, CLOSE, MEETS."""
    order = [Verdict(name) for name in ("SHORT", "MEASURE", "REFER", "CLOSE", "MEETS")]
    for count in range(1, 6):
        for some in itertools.combinations(order, count):
            assert worst(reversed(some)) is some[0]
    assert worst([]) is None
    assert len({verdict.sign for verdict in Verdict}) == 5


def stage(*findings: Finding) -> StageResult:
    return StageResult("found", findings, (), ())


def test_what_does_not_count_is_neither_in_the_overall_nor_in_the_counts() -> None:
    told = stage(
        finding(),
        finding("CLOSE"),
        finding("SHORT", counts=False),
        finding("REFER", kind="advice", counts=False),
    )
    assert told.overall == "CLOSE"
    assert told.counts == {"CLOSE": 1, "MEETS": 1}


def test_counts_add_up_with_the_worst_first() -> None:
    told = stage(finding(), finding("SHORT"), finding(), finding("MEASURE", missing=("a",)), finding("REFER"))
    assert list(told.counts.items()) == [("SHORT", 1), ("MEASURE", 1), ("REFER", 1), ("MEETS", 2)]
    assert stage().overall == "MEASURE"


def test_a_ratio_needs_both_areas() -> None:
    assert State("all open", ("a",), F(1080), F(120), True).ratio == 9
    assert State("all open", ("a",), F(1080), None, True).ratio is None
    assert State("all open", ("a",), None, F(120), True).ratio is None


def test_a_step_is_read_as_one_line() -> None:
    full = Step("A", "width x height", "36 in x 30 in", F(1080), "in2", "1080 in2")
    assert full.line() == "A = width x height = 36 in x 30 in = 1080 in2"
    assert Step("reach", "R1001.10", "", F(20), "in", "20 in").line() == "reach = R1001.10 = 20 in"


def test_two_assessments_are_set_side_by_side_with_what_differs_first() -> None:
    left = [finding(id="a.a"), finding(id="b.b"), finding(id="c.c")]
    right = [finding(id="b.b", verdict="SHORT"), finding(id="a.a"), finding(id="d.d")]
    pairs = side_by_side(left, right)
    assert [(pair.either.id, pair.differs) for pair in pairs] == [
        ("b.b", True),
        ("c.c", True),
        ("d.d", True),
        ("a.a", False),
    ]
