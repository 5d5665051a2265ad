"""A share of a long day; `long_day.py` runs a whole one."""

import gc
from pathlib import Path

import pytest
from faults.long_day import LOOKS, day

from hearthcalc_tui.session import Snapshot, session

STEPS = 8  # of undo, in the place of hundreds


@pytest.mark.usefixtures("own_state")
def test_a_day_does_not_grow_heavier(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(session, "MOST_STEPS", STEPS)
    gc.freeze()  # what other tests have left is not looked through for each of its figures
    measured = day(60, 10, 10, 5, tmp_path / "inn.hearth.toml")
    assert len(measured.memory) == len(measured.entry) == len(measured.turn) == len(measured.save) == LOOKS
    held = [thing for thing in gc.get_objects() if type(thing) is Snapshot]
    assert len(held) <= STEPS + 4, "of the steps, the entry in hand and the last that was judged"
    assert measured.memory[-1] - measured.memory[2] < 8 << 20
