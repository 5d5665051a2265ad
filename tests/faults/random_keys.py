"""Any keys, pastes, clicks and window sizes, at random, into the program in a real terminal.

    cd tests && python -m faults.random_keys --keys 100000 --seed 1

Every burst has to be drawn within two seconds, no fault may reach the log, and what ends the program has to end it cleanly. A run that
fails is made as short as it can be and still fails, and printed so that it can be repeated.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import sys
import tempfile
import termios
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

import pexpect
from forked import Program

PATIENCE = 2.0  # seconds to draw the window anew; thrice that is a fault, of its own work or at rest
A_BYTE = 0.05  # seconds of work that each byte before it may take: a section to draw, at most
STARTING = 30.0
ENDS = (0, 1, 3)  # the exit codes of a verdict: the keys may well have asked it to end
KEYS = [
    *(chr(code).encode() for code in range(32, 127)), b"\t", b"\r", b"\n", b"\x7f", b"\x1b", b"\x1b[A", b"\x1b[B", b"\x1b[C",
    b"\x1b[D", b"\x1b[H", b"\x1b[F", b"\x1b[5~", b"\x1b[6~", b"\x1b[3~", b"\x1b[Z", b"\x1b[2~", b"\x1b[1;5A", b"\x1b[1;5B",
    b"\x1b[1;3A", b"\x1b[1;3B", b"\x1bOP", b"\x1bOQ", b"\x1bOR", b"\x1bOS", b"\x1b[15~", b"\x1b[17~", b"\x1b[18~", b"\x1b[19~",
    b"\x1b[20~", b"\x1b[21~", b"\x1b[23~", b"\x1b[24~", "½".encode(), "″".encode(), "é".encode(),
    b"\xff", b"\x1b[99999999999u", b"\x1b[48;9000;9000;1;1t", b"\x1b[48;0;0;0;0t", b"\x1b[<0;9000;5M", b"\x1b[<0;9000;5m",  # garbled
    *(bytes([code]) for code in range(1, 27) if code not in (3, 17, 26, 28)),  # all but leaving and stopping
]  # fmt: skip
OFTEN = [
    b"\t",
    b"\r",
    b"\x1b[B",
    b"\x1b[A",
    b"\x1b[6~",
    b"\x1b[5~",
    b"\x1b[18~",
    b"\x1b[19~",
    b"\x1a",
    b"1",
    b"2",
    b" ",
    b"/",
]
PASTES = [
    "36", "7 1/2", "none", "unknown", "1e999", "-5", "12\n13\n14\n15", "[/] [bold]x[/bold]", "=1+2", "\u202eabc", "x" * 500,
    "\x1b]0;owned\x07", "36\t30\t4", "", "\n\n\n", "fire/wood\r\n8",
]  # fmt: skip
JOB = """\
format = "hearthcalc-job"
version = 1
[[face]]
name = "study"
side = "front"
width = "36"
[[face]]
name = "porch"
side = "back"
[[roof]]
name = "main"
"""
OPENED = ([FILE := "mill.hearth.toml"], [], ["demo"])  # a job, the first page, the demo


@dataclass(frozen=True)
class Burst:
    """What is sent in one write, or the size that the window takes."""

    sent: bytes = b""
    size: tuple[int, int] | None = None


class Trouble(Exception):  # noqa: N818 - what was found, not a mistake of ours
    """What a run of bursts brought to light."""


def bursts(rng: Random, keys: int) -> list[Burst]:
    """So many keys in bursts of one to twelve, now and then of a hundred, with pastes, clicks and sizes between them."""
    made: list[Burst] = []
    while keys > 0:
        chance = rng.random()
        if chance < 0.03:
            made.append(Burst(size=(rng.randint(1, 140), rng.randint(1, 50))))
        elif chance < 0.07:
            made.append(Burst(b"\x1b[200~" + rng.choice(PASTES).encode() + b"\x1b[201~"))
        elif chance < 0.12:
            column, row, button = rng.randint(1, 100), rng.randint(1, 30), rng.choice([0, 0, 0, 64, 65])
            made.append(Burst(f"\x1b[<{button};{column};{row}M\x1b[<{button};{column};{row}m".encode()))
        else:
            count = rng.randint(1, 12 if rng.random() < 0.8 else 120)
            made.append(
                Burst(b"".join(rng.choice(OFTEN if rng.random() < 0.5 else KEYS) for _ in range(count)))
            )
            keys -= count
            continue
        keys -= 1
    return made


class Run:
    """One program in its own home, given bursts."""

    def __init__(self, home: Path, opened: Sequence[str] = (FILE,)) -> None:
        self.home = home
        self.opened = opened
        state = home / "hearthcalc"
        state.mkdir(parents=True)
        (state / "screen.json").write_text('{"caution_read": true}')
        (home / FILE).write_text(JOB)
        self.width = 80
        self._open()

    def _open(self) -> None:
        environment = {**os.environ, "TERM": "xterm-256color", "HOME": str(self.home), "PYTHONUTF8": "1"}
        environment |= {name: str(self.home) for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME")}
        self.child = Program(
            self.opened, env=environment, cwd=str(self.home), dimensions=(24, 80), timeout=STARTING
        )
        self.child.delaybeforesend = None
        if not self._drawn(STARTING):
            raise Trouble("it did not start")

    def give(self, burst: Burst) -> None:
        """Send a burst, and wait until the window is drawn anew. Raises Trouble."""
        if not self.child.isalive():
            self._ended()
            self._open()
        if burst.size:
            self.width = burst.size[0]
            self.child.setwinsize(burst.size[1], burst.size[0])
        try:
            self.send(burst.sent)
        except OSError:
            return  # it has ended: the next burst looks how
        self._drain()
        if self._log():
            raise Trouble(f"a fault in the log:\n{self._log()[-2000:]}")
        self.width += 1 if self.width < 120 else -1
        self.child.setwinsize(24, self.width)
        given = used = self._used()
        still = time.monotonic()
        while not self._drawn(PATIENCE / 10):
            if not self.child.isalive():
                return
            self._go_on()
            before, used, now = used, self._used(), time.monotonic()
            still = now if used > before else still
            if used - given > PATIENCE * 3 + len(burst.sent) * A_BYTE or now - still > PATIENCE * 3:
                raise Trouble(f"nothing drawn: {used - given:.1f} s at work, {now - still:.1f} s at rest")

    def _go_on(self) -> None:
        """A Ctrl+Z or Ctrl+S that comes as it leaves, when the terminal is the shell's again, stops it as it does any program."""
        if self._state() == "T":
            self.child.kill(signal.SIGCONT)
        if termios.tcgetattr(self.child.child_fd)[3] & termios.ICANON:
            self.send(b"\x11")

    def _stat(self) -> list[str]:
        """What the system tells of the program, from its state on; nothing where it has gone."""
        try:
            return Path(f"/proc/{self.child.pid}/stat").read_text().rpartition(")")[2].split()
        except OSError:
            return []

    def _state(self) -> str:
        return next(iter(self._stat()), "")

    def _used(self) -> float:
        """Seconds that a processor has worked for it: what else the machine does is not its doing."""
        return sum(map(int, self._stat()[11:13])) / os.sysconf("SC_CLK_TCK")

    def busy(self) -> float:
        """How much longer a loaded machine may take: seconds for each process that waits for a processor."""
        return PATIENCE * os.getloadavg()[0]

    def look(self) -> None:
        """Take in what is drawn next."""
        self._read(0.02)

    def send(self, keys: bytes) -> None:
        """All of them, as they come from a meter."""
        sent = memoryview(keys)
        while sent:
            sent = sent[os.write(self.child.child_fd, sent) :]

    def started(self) -> None:
        """Wait for the first field. Raises Trouble where it does not come."""
        drawn, end = b"", time.monotonic() + STARTING
        while b"Title" not in drawn:
            if time.monotonic() > end:
                raise Trouble("the first field did not come")
            drawn += self._read(0.02)

    def _drain(self) -> None:
        while self._read(0.02):
            pass

    def _read(self, seconds: float) -> bytes:
        try:
            data: bytes = self.child.read_nonblocking(65536, seconds)
        except (pexpect.TIMEOUT, pexpect.EOF, OSError):
            return b""
        return data

    def _drawn(self, seconds: float) -> bool:
        return bool(self._read(seconds))

    def _log(self) -> str:
        path = self.home / "hearthcalc" / "faults.log"
        return path.read_text(errors="replace") if path.exists() else ""

    def _ended(self) -> None:
        self.child.close()
        if self.child.exitstatus not in ENDS:
            raise Trouble(f"it ended with {self.child.exitstatus}, signal {self.child.signalstatus}")

    def close(self) -> None:
        """Ask it to end, as a window that is closed does. Raises Trouble where it stays."""
        if self.child.isalive():
            self.child.kill(signal.SIGTERM)
            end = time.monotonic() + STARTING
            while self.child.isalive():
                self._read(0.05)
                if time.monotonic() > end:
                    self.child.kill(signal.SIGKILL)
                    raise Trouble("it did not end when it was asked to")
        self.child.close(force=True)


def draft_of(home: Path) -> dict[str, Any]:
    """The job in the one draft on disk: the last of its lines that is whole; without a draft, nothing."""
    for file in (home / "hearthcalc" / "drafts").glob("*.json"):
        for line in reversed(file.read_text().splitlines()):
            with suppress(json.JSONDecodeError):
                return dict(json.loads(line)["job"])
    return {}


def trouble_of(given: Sequence[Burst], opened: Sequence[str] = (FILE,)) -> str:
    """What a run of bursts brings to light, "" where nothing."""
    with tempfile.TemporaryDirectory() as folder:
        run = Run(Path(folder) / "home", opened)
        try:
            for burst in given:
                run.give(burst)
            run.close()
        except Trouble as trouble:
            return str(trouble)
        finally:
            run.child.close(force=True)
    return ""


def shortest(given: list[Burst], opened: Sequence[str]) -> list[Burst]:
    """The same trouble from as few bursts as leaving out halves, quarters and so on finds."""
    size = len(given) // 2
    while size:
        start = 0
        while start < len(given):
            less = given[:start] + given[start + size :]
            if less and trouble_of(less, opened):
                given = less
            else:
                start += size
        size //= 2
    return given


def main() -> int:
    parser = argparse.ArgumentParser(description="Random keys into the screen.")
    parser.add_argument("--keys", type=int, default=10_000, help="how many; 10000 unless given")
    parser.add_argument("--seed", type=int, default=0)
    arguments = parser.parse_args()
    began, left, seed = time.monotonic(), arguments.keys, arguments.seed
    while left > 0:
        given = bursts(Random(seed), min(left, 2000))
        opened = OPENED[seed % len(OPENED)]
        if trouble := trouble_of(given, opened):
            sys.stderr.write(f"seed {seed}: {trouble}\n")
            few = shortest(given, opened)
            sys.stdout.write(
                f"seed {seed}, opened with {opened}: {trouble}\nthe shortest that still fails: {few}\n"
            )
            return 1
        left, seed = left - 2000, seed + 1
        if seed % 25 == 0 and left > 0:
            sys.stderr.write(f"{arguments.keys - left} keys in {time.monotonic() - began:.0f} s\n")
    sys.stdout.write(f"{arguments.keys} keys in {time.monotonic() - began:.0f} s: nothing found\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
