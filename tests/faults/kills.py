"""The program killed at any moment, and what is lost then.

    cd tests && python -m faults.kills --saves 1000 --bursts 20 --seed 1

Saves: one file written over and over, killed within the write; it has to be whole each time, and the next start leaves nothing beside it.
Bursts: forty readings sent in one write to a real terminal. What stands in the draft has to be the first of them, without a gap, and the
keys after them have to stand in the journal beside it, to the last that the program had read.
"""

from __future__ import annotations

import argparse
import fcntl
import os
import signal
import sys
import tempfile
import termios
import time
from dataclasses import dataclass
from pathlib import Path
from random import Random

from faults.random_keys import Run, draft_of
from faults.typed_keys import FIELDS, SECTIONS, TO_NEXT_SECTION, Model
from forked import Program

from hearthcalc_tui import journal, storage

DOWN, UP = b"\t", b"\x1b[A"
TOLD = {DOWN: ("key", "tab"), UP: ("key", "up"), TO_NEXT_SECTION: ("key", "pagedown")}

VERSIONS = ("old\n" * 20_000, "new\n" * 30_000)
SAVING = """\
import signal, sys
from pathlib import Path
from hearthcalc_tui import storage
path = Path(sys.argv[1])
signal.setitimer(signal.ITIMER_REAL, {moment})
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
    read: int = 0
    waited: int = 0
    lost: int = 0
    gaps: int = 0

    def __str__(self) -> str:
        return (
            f"{self.kills} kills: {self.broken} files lost or half-written, {self.left_over} left over after the next start; "
            f"{self.read} keys read in bursts, {self.waited} of them not entered and written down, {self.lost} lost; "
            f"{self.gaps} drafts with a gap or a wrong entry"
        )


def while_saving(times: int, rng: Random, figures: Figures) -> None:
    """Let the system's clock end a program that saves, somewhere in its first fiftieth of a second; it hears nothing of it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mill.hearth.toml"
        storage.write(path, VERSIONS[0])
        for _ in range(times):
            code = SAVING.format(moment=rng.uniform(1e-6, 0.02))
            saving = Program([str(path)], os.environ, folder, (24, 80), timeout=20, changed=code)
            saving.wait()
            assert saving.signalstatus == signal.SIGALRM
            saving.close()
            figures.kills += 1
            figures.broken += path.read_text() not in VERSIONS
            storage.sweep(path.parent, path.name)
            figures.left_over += len(list(path.parent.iterdir())) - 1


def readings(rng: Random, count: int) -> tuple[list[bytes], list[dict[str, str]]]:
    """Keys to the firebox and of so many readings, up and down its fields; and what is entered after each key, by a model of the keys."""
    model, keys, by = Model(), [TO_NEXT_SECTION] * SECTIONS, 1
    entered: list[dict[str, str]] = [{}] * (SECTIONS + 1)
    for _ in range(count):
        for sign in str(rng.randint(2, 60)):
            model.type(sign)
            keys.append(sign.encode())
            entered.append(model.entries())
        if not 0 <= model.at + by < len(FIELDS):
            by = -by
        model.move(by)
        keys.append(DOWN if by > 0 else UP)
        entered.append(model.entries())
    return keys, entered


def in_a_burst(rng: Random, figures: Figures, count: int = 40) -> None:
    """Kill the screen within a second and a half of a burst of readings. Each key that it read has to be entered or written down."""
    keys, entered = readings(rng, count)
    with tempfile.TemporaryDirectory() as folder:
        run = Run(Path(folder) / "home")
        try:
            run.started()
            run.send(b"".join(keys))
            end = time.monotonic() + rng.uniform(0, 1.5)
            while time.monotonic() < end:
                run.look()
            unread = kill(run)
        finally:
            run.child.close(force=True)
        waits = keys_left(run.home)
        held = dict(draft_of(run.home).get("firebox", {}))
    if unread:  # a byte of what was read last may be half of a key
        keys = whole(keys, unread)
    told = [TOLD.get(key, ("sign", key.decode())) for key in keys]
    # Readings follow one another as the model says: what is written down begins behind the entries that the draft holds.
    ends = [at for at in range(len(told) + 1) if told[max(0, at - len(waits)) : at] == list(waits)]
    end = max(ends, default=0)
    begins = end - len(waits) if waits else max(at for at in range(len(told) + 1) if entered[at] == held)
    figures.kills += 1
    figures.read += len(told)
    figures.waited += len(waits)
    figures.lost += len(told) - (end if waits else begins)
    # The draft is written first, and then the keys of that entry are crossed out.
    figures.gaps += held not in entered[begins : begins + 4]


def whole(keys: list[bytes], unread: int) -> list[bytes]:
    """The keys that were read to their end."""
    read = sum(map(len, keys)) - unread
    kept = list[bytes]()
    for key in keys:
        read -= len(key)
        if read < 0:
            break
        kept.append(key)
    return kept


def kill(run: Run) -> int:
    """Kill -9 the program, and tell how many bytes of its keys it had not read: it is stopped first, to look."""
    os.kill(run.child.pid, signal.SIGSTOP)
    os.waitpid(run.child.pid, os.WUNTRACED)
    terminal = os.open(f"/proc/{run.child.pid}/fd/0", os.O_RDONLY | os.O_NOCTTY)
    unread = int.from_bytes(fcntl.ioctl(terminal, termios.FIONREAD, bytes(4)), sys.byteorder)
    os.close(terminal)
    run.child.kill(signal.SIGKILL)
    run.child.wait()
    return unread


def keys_left(home: Path) -> tuple[tuple[str, str], ...]:
    """The keys in the journal of the program that was killed."""
    (path,) = (home / "hearthcalc" / "drafts").glob("*.keys")
    return journal.read(path.read_bytes()).keys


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
    return int(figures.broken + figures.left_over + figures.lost + figures.gaps > 0)


if __name__ == "__main__":
    sys.exit(main())
