"""The program killed at any moment, and what is lost then.

    cd tests && python -m faults.kills --saves 1000 --bursts 20 --seed 1

Saves: one file written over and over, killed within the write; it has to be whole each time, and the next start leaves nothing beside it.
Bursts: entries sent in one write to a real terminal; what stands in the draft has to be the first of them, without a gap.
"""

from __future__ import annotations

import argparse
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from random import Random

from faults.random_keys import Burst, Run, draft_of
from faults.typed_keys import FIELDS, TO_FIREBOX

from hearthcalc_tui import storage

VERSIONS = ("old\n" * 20_000, "new\n" * 30_000)
SAVING = """\
import sys
from pathlib import Path
from hearthcalc_tui import storage
path = Path(sys.argv[1])
print("ready", flush=True)
while True:
    for text in ("old\\n" * 20_000, "new\\n" * 30_000):
        storage.write(path, text)
"""


@dataclass
class Figures:
    """What came of the kills."""

    kills: int = 0
    broken: int = 0
    left_over: int = 0
    sent: int = 0
    on_disk: int = 0
    gaps: int = 0

    def __str__(self) -> str:
        return (
            f"{self.kills} kills: {self.broken} files lost or half-written, {self.left_over} left over after the next start; "
            f"{self.sent} entries sent, {self.on_disk} on disk, {self.gaps} drafts with a gap or a wrong entry"
        )


def while_saving(times: int, rng: Random, figures: Figures) -> None:
    """Kill a program that saves, somewhere in its first fiftieth of a second."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mill.hearth.toml"
        storage.write(path, VERSIONS[0])
        for _ in range(times):
            saving = subprocess.Popen([sys.executable, "-c", SAVING, str(path)], stdout=subprocess.PIPE)
            assert saving.stdout is not None
            saving.stdout.readline()
            try:
                saving.wait(rng.uniform(0, 0.02))
            except subprocess.TimeoutExpired:
                saving.send_signal(signal.SIGKILL)
            saving.wait()
            saving.stdout.close()
            figures.kills += 1
            figures.broken += path.read_text() not in VERSIONS
            storage.sweep(path.parent, path.name)
            figures.left_over += len(list(path.parent.iterdir())) - 1


def in_a_burst(rng: Random, figures: Figures) -> None:
    """Kill the screen within a second of a burst of entries."""
    entries = [str(rng.randint(2, 60)) for _ in FIELDS]
    with tempfile.TemporaryDirectory() as folder:
        run = Run(Path(folder) / "home")
        try:
            run.started()
            run.give(Burst(TO_FIREBOX))
            run.send(b"".join(entry.encode() + b"\t" for entry in entries))
            end = time.monotonic() + rng.uniform(0, 1)
            while time.monotonic() < end:
                run.look()
            run.child.kill(signal.SIGKILL)
            run.child.wait()
        finally:
            run.child.close(force=True)
        held = dict(draft_of(run.home).get("firebox", {}))
        figures.kills += 1
        figures.sent += len(entries)
        figures.on_disk += len(held)
        figures.gaps += held != dict(zip(FIELDS[: len(held)], entries, strict=False))


def main() -> int:
    parser = argparse.ArgumentParser(description="Kills at any moment, and what is lost then.")
    parser.add_argument("--saves", type=int, default=1000)
    parser.add_argument("--bursts", type=int, default=20)
    parser.add_argument("--seed", type=int, default=0)
    arguments = parser.parse_args()
    rng, figures = Random(arguments.seed), Figures()
    while_saving(arguments.saves, rng, figures)
    for _ in range(arguments.bursts):
        in_a_burst(rng, figures)
    sys.stdout.write(f"{figures}\n")
    return int(figures.broken + figures.left_over + figures.gaps > 0)


if __name__ == "__main__":
    sys.exit(main())
