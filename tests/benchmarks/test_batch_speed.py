"""What many jobs cost: as shares of what one job costs, measured side by side in one run. Run with `pytest -m benchmark`."""

import random
import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from hearthcalc import alike, assess, batch, jobfile, reference, table
from hearthcalc.job import Job, set_entry
from hearthcalc.many import Many, ways

pytestmark = pytest.mark.benchmark

ROOT = Path(__file__).parents[2]
Within = Callable[[str, float], bool]


HEADING = [
    "flue.liner",
    "flue.height",
    "face.room.width",
    "face.room.height",
    "face.room.closure",
    "firebox.depth",
]


def rows(count: int) -> pd.DataFrame:
    cells = [["13x13", f"{180 + n / 8} in", "36", "30", "none", "20"] for n in range(count)]
    return pd.DataFrame(cells, columns=HEADING)


def seconds(work: Callable[[], object]) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def tell(words: str) -> None:
    sys.stderr.write(f"{words}\n")


def test_a_row_costs_what_its_job_costs(within: Within) -> None:
    """Reading and judging by the rules, against the same by hand; and the rate that comes to."""
    edition = reference.load("irc-2021")
    frame = rows(60)
    columns = table.columns_of(HEADING)

    def by_hand() -> None:
        for cells in frame.itertuples(index=False, name=None):
            assess.assess(Job.from_document(table.document_of(columns.values(), cells)), edition)

    by_hand()
    pairs = []
    for _ in range(5):
        table._judged.cache_clear()
        pairs.append((seconds(by_hand), seconds(lambda: table.judge(frame, models=False))))
    ratio = statistics.median(mine / hand for hand, mine in pairs)
    rate = len(frame) / statistics.median(mine for _, mine in pairs)
    tell(f"a row of a table {ratio:.2f} times its job; {rate:.0f} rows a second on one processor, by rules")
    assert within("row", ratio)


def test_rows_that_say_the_same_are_judged_once(within: Within) -> None:
    frame = rows(60)
    table._judged.cache_clear()
    new = seconds(lambda: table.judge(frame, models=False))
    again = statistics.median(seconds(lambda: table.judge(frame, models=False)) for _ in range(5))
    tell(f"a row again {again / new:.3f} of a new one")
    assert within("row_again", again / new)


def test_time_a_row_and_memory_stay_flat(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, within: Within
) -> None:
    """A table four times as long, with few answers kept for rows that say the same: as long a row, and no more memory."""
    monkeypatch.setattr(table, "_judged", lru_cache(maxsize=8)(table._judged.__wrapped__))
    costs = []
    for count in (100, 400):
        source = tmp_path / f"{count}.csv"
        rows(count).to_csv(source, index=False)
        task = batch.Task(source, tmp_path / "out.csv", "", (), models=False)
        table._judged.cache_clear()
        spent = seconds(lambda task=task: batch.run(task, lambda progress: None, workers=1))  # type: ignore[misc]
        table._judged.cache_clear()
        tracemalloc.start()
        batch.run(task, lambda progress: None, workers=1)
        costs.append((spent / count, tracemalloc.get_traced_memory()[1]))
        tracemalloc.stop()
    (short, small), (long, large) = costs
    tell(f"four times the rows: {long / short:.2f} of the time a row, {large / small:.2f} of the memory")
    assert within("row_of_more", long / short)
    assert within("memory_of_more", large / small)


def test_a_point_of_a_sweep_costs_a_part_of_a_check(within: Within) -> None:
    """A rule's margin over two hundred widths, less what the first judgment with its models costs, against as many checks of the rules."""
    from hearthcalc.whatif import sweep

    edition = reference.load("irc-2021")
    job = jobfile.load(ROOT / "tests/jobs/sound.hearth.toml")
    document = job.document()
    axis = sweep.axis("face.parlour.width=30:40:200", job)

    def checks() -> None:
        for value in axis.values:
            assess.assess(Job.from_document(set_entry(document, axis.address, value)), edition)

    checks()
    one = seconds(lambda: assess.assess_models(job, edition, assess.assess(job, edition)))
    pairs = [
        (seconds(checks), seconds(lambda: sweep.sweep(job, edition, [axis], "flue.area")) - one)
        for _ in range(3)
    ]
    ratio = statistics.median(mine / hand for hand, mine in pairs)
    tell(f"a point of a sweep {ratio:.2f} times a check of the rules")
    assert within("point", ratio)


def test_a_row_of_figures_costs_a_part_of_a_row_of_words(within: Within) -> None:
    """Twenty thousand rows at once, each a little other in five measurements, over sixty with words."""
    frame = different(20_000)
    alike.judge(frame.head(100))
    table._judged.cache_clear()
    worded = seconds(lambda: table.judge(frame.head(60), models=False)) / 60
    ratios = [seconds(lambda: alike.judge(frame)) / len(frame) / worded for _ in range(3)]
    tell(
        f"a row of figures {statistics.median(ratios):.4f} of one with words; {1 / statistics.median(ratios) / worded:,.0f} a second"
    )
    assert within("row_of_figures", statistics.median(ratios))


def test_a_row_of_figures_is_no_dearer_in_a_longer_table(within: Within) -> None:
    short, long = (different(count) for count in (5_000, 40_000))
    alike.judge(short)
    ratio = (
        seconds(lambda: alike.judge(long)) / len(long) / (seconds(lambda: alike.judge(short)) / len(short))
    )
    tell(f"eight times the rows: {ratio:.2f} of the time a row")
    assert within("row_of_many_figures", ratio)


def different(count: int) -> pd.DataFrame:
    rng = random.Random(7)
    cells = [
        ["13x13", f"{rng.randint(160, 400) / 8} ft", f"{rng.randint(240, 480) / 8}", f"{rng.randint(200, 320) / 8}", "none",
         f"{rng.randint(120, 220) / 8}", f"{rng.randint(80, 220) / 8}"]
        for _ in range(count)
    ]  # fmt: skip
    return pd.DataFrame(cells, columns=[*HEADING, "face.room.hearth.front"])


def test_a_map_of_40000_points_costs_few_checks(within: Within) -> None:
    """Over checks of the rules one after the other: 200 by 200 points of one finding."""
    from hearthcalc.whatif import sweep

    edition = reference.load("irc-2021")
    job = jobfile.load(ROOT / "tests/jobs/sound.hearth.toml")
    axes = [sweep.axis(f"face.parlour.{side}:200", job) for side in ("width=24:40", "height=20:34")]
    assess.assess(job, edition)
    check = statistics.median(seconds(lambda: assess.assess(job, edition)) for _ in range(9))
    spent = seconds(lambda: sweep.sweep(job, edition, axes, "flue.area"))
    tell(f"a map of 40,000 points takes as long as {spent / check:.0f} checks, {spent:.2f} s")
    assert within("map", spent / check)


def test_figures_of_many_rows_cost_little_more_than_plain_arrays(within: Within) -> None:
    """The area of an opening with its tolerance, a tenth of it, and how that stands to a flue; by numpy alone the same sums of floats."""
    count = 200_000
    rng = np.random.default_rng(3)
    wide, high, flue = (rng.integers(200, 700, count) for _ in range(3))
    sixteenth, tolerance, share = Fraction(1, 16), Fraction(1, 8), Fraction(1, 10)

    def exact() -> int:
        def work(rows: Any) -> bool:
            width, height, area = (Many(sides[rows], sixteenth, None, 700) for sides in (wide, high, flue))
            limits = [(width + off) * (height + off) * share for off in (-tolerance, Fraction(0), tolerance)]
            return all(area >= limit for limit in limits)

        return sum(len(outcome.rows) for outcome in ways(np.arange(count), work) if outcome.made)

    def plain() -> int:
        width, height, area = (sides / 16 for sides in (wide, high, flue))
        met = np.ones(count, bool)
        for off in (-0.125, 0.0, 0.125):
            met &= area >= (width + off) * (height + off) * 0.1
        return int(met.sum())

    exact()
    plain()
    ratio = statistics.median(seconds(exact) / seconds(plain) for _ in range(7))
    tell(f"exact figures of {count:,} rows {ratio:.1f} times plain arrays")
    assert within("arrays", ratio)
