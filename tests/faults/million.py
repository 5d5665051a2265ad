"""A table of many fireplaces, 1 percent of them bad: judged whole, then killed twice and gone on with. The answers must be the same bytes.

`python -m faults.million --rows 1000000 --workers 2`, from tests/. Not collected as a test: the whole of it takes minutes.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import os
import random
import re
import resource
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HEADING = (
    "row", "asked.questions", "flue.liner", "flue.height", "face.room.width", "face.room.height", "face.room.closure",
    "firebox.depth",
)  # fmt: skip
BAD = 0.01  # of the rows
KILLS = 2
_ROWS = re.compile(r"([\d,]+) rows judged")


def table(path: Path, rows: int, seed: int) -> None:
    """Fireplaces with sizes by chance; now and then a width that is no length."""
    rng = random.Random(seed)
    with path.open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(HEADING)
        for number in range(rows):
            liner = "13x13" if rng.random() < 0.7 else "12x12"
            height = f"{rng.randint(160, 400) / 8} ft"
            width = "wide" if rng.random() < BAD else rng.randint(240, 480) / 8
            sizes = (rng.randint(200, 320) / 8, "none", rng.randint(120, 220) / 8)
            writer.writerow((number, "flue", liner, height, width, *sizes))


def command(source: Path, out: Path, workers: int, *more: str) -> list[str]:
    words = ["batch", str(source), "-o", str(out), "--figures", "--workers", str(workers), *more]
    return [str(Path(sys.executable).with_name("hearthcalc")), *words]


def killed(words: list[str], after: int) -> int:
    """Start a run and kill it with all its processes once so many rows are judged. Returns how many were.

    Raises SystemExit where the run ends before.
    """
    with subprocess.Popen(words, stderr=subprocess.PIPE, text=True, start_new_session=True) as run:
        assert run.stderr is not None
        judged = 0
        for line in run.stderr:
            found = _ROWS.search(line)
            judged = int(found[1].replace(",", "")) if found else judged
            if judged >= after:
                os.killpg(run.pid, signal.SIGKILL)
                return judged
    raise SystemExit(f"The run ended by itself after {judged:,} rows.")


def tell(words: str) -> None:
    sys.stdout.write(f"{words}\n")
    sys.stdout.flush()


def digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--rows", type=int, default=100_000)
    words.add_argument("--workers", type=int, default=2)
    words.add_argument("--seed", type=int, default=1)
    asked = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        source, whole, parts = (Path(folder, name) for name in ("houses.csv", "whole.csv", "parts.csv"))
        table(source, asked.rows, asked.seed)
        begin = time.monotonic()
        told = subprocess.run(
            command(source, whole, asked.workers), capture_output=True, text=True, check=True
        ).stderr
        spent = time.monotonic() - begin
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        tell(told.strip())
        tell(
            f"{asked.rows:,} rows in {spent:.1f} s, {asked.rows / spent:,.0f} a second; {used.ru_utime:.1f} s of processor, "
            f"the largest process {used.ru_maxrss / 1024:.0f} MB"
        )
        for number in range(1, KILLS + 1):
            resumed = ["--resume"] if number > 1 else []
            after = asked.rows * number // (KILLS + 2)
            tell(f"killed after {killed(command(source, parts, asked.workers, *resumed), after):,} rows")
        subprocess.run(command(source, parts, asked.workers, "--resume"), capture_output=True, check=True)
        same = all(
            digest(one) == digest(other)
            for one, other in (
                (whole, parts),
                (whole.with_suffix(".summary.csv"), parts.with_suffix(".summary.csv")),
            )
        )
        tell("The same bytes." if same else "OTHER BYTES.")
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main())
