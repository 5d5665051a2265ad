"""A day of work on one job, without a screen: entries, undo, sections shown, saves. Memory and time are measured along the way.

    cd tests && python -m faults.long_day --edits 50000 --saves 2000 --turns 500 --seed 1

Neither may grow: a day does not end slower or heavier than it began.
"""

from __future__ import annotations

import argparse
import gc
import os
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from hearthcalc import jobfile
from hearthcalc_tui import storage
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.session import Session, open_session

LOOKS = 10  # how often a day is measured
PAGE = os.sysconf("SC_PAGE_SIZE")


@dataclass
class Day:
    """What was measured. memory: bytes; entry, turn, save: seconds, each the median of a stretch of the day."""

    memory: list[int] = field(default_factory=list)
    entry: list[float] = field(default_factory=list)
    turn: list[float] = field(default_factory=list)
    save: list[float] = field(default_factory=list)

    def __str__(self) -> str:
        return "\n".join(
            f"{name:<7} {' '.join(f'{value * scale:7.1f}' for value in values)} {unit}"
            for name, values, scale, unit in (
                ("memory", self.memory, 1 / (1 << 20), "MiB"),
                ("entry", self.entry, 1000, "ms"),
                ("turn", self.turn, 1000, "ms"),
                ("save", self.save, 1000, "ms"),
            )
        )


def day(edits: int, saves: int, turns: int, seed: int, path: Path) -> Day:
    """Work through a day on a job of its own. path: where that is kept."""
    path.write_text(jobfile.demo("inn"))
    rng, measured = Random(seed), Day()
    session = open_session(str(path))
    place = Place(session)
    rows = _numbers(place)
    entry, turn, save = list[float](), list[float](), list[float]()
    stretch = edits // LOOKS
    for number in range(1, edits + 1):
        with _timed(entry):
            _enter(session, rng, rng.choice(rows))
        if number * saves // edits > (number - 1) * saves // edits:
            with _timed(save):
                session.save(path)
        if number * turns // edits > (number - 1) * turns // edits:
            with _timed(turn):
                _turn(place, rng)
        if number % stretch == 0:
            gc.collect()
            measured.memory.append(_resident())
            for times, kept in ((measured.entry, entry), (measured.turn, turn), (measured.save, save)):
                times.append(statistics.median(kept))
                kept.clear()
    session.file.release()
    return measured


def _numbers(place: Place) -> list[str]:
    """The addresses of the entries that hold a length or another number now."""
    found = []
    for section in place.sections:
        place.turn_to(section)
        found += [row.address for row in place.rows() if row.unit and row.text]
    return found


def _enter(session: Session, rng: Random, address: str) -> None:
    """One entry as the desk takes it: typed, judged, into the draft; now and then it is taken back, or cannot be read."""
    session.type(address, rng.choice((f"{rng.randint(2, 60)}", f"{rng.randint(2, 60)} 1/2", "1/2 [in")))
    session.assess()
    session.keep()
    if rng.random() < 0.2:
        session.undo()
    if (draft := session.draft()) is not None:
        draft.write()


def _turn(place: Place, rng: Random) -> None:
    """To another section and stage, with all that its fields show."""
    if rng.random() < 0.2:
        place.turn_stage()
    place.lay_out()
    place.turn_to(rng.choice(place.sections))
    assert place.rows()


class _timed:  # noqa: N801 - reads as what it does
    def __init__(self, times: list[float]) -> None:
        self._times = times

    def __enter__(self) -> None:
        self._begin = time.thread_time()

    def __exit__(self, *_: object) -> None:
        self._times.append(time.thread_time() - self._begin)


def _resident() -> int:
    return int(Path("/proc/self/statm").read_text().split()[1]) * PAGE


def main() -> int:
    parser = argparse.ArgumentParser(description="A day of work on one job.")
    parser.add_argument("--edits", type=int, default=50_000)
    parser.add_argument("--saves", type=int, default=2000)
    parser.add_argument("--turns", type=int, default=500)
    parser.add_argument("--seed", type=int, default=0)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        storage.state_folder = lambda: Path(folder) / "state"  # type: ignore[assignment]
        storage.settings_folder = lambda: Path(folder) / "settings"  # type: ignore[assignment]
        begin = time.monotonic()
        measured = day(
            arguments.edits,
            arguments.saves,
            arguments.turns,
            arguments.seed,
            Path(folder) / "inn.hearth.toml",
        )
    sys.stdout.write(f"{arguments.edits} edits in {time.monotonic() - begin:.0f} s\n{measured}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
