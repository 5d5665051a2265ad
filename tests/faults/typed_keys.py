"""Entries typed at random into the fields of the firebox in a real terminal, beside a plain model of what the keys say.

    cd tests && python -m faults.typed_keys --keys 10000 --seed 1

The draft on disk has to hold what the model says, within two seconds of the last key.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from faults.random_keys import PATIENCE, Burst, Run, Trouble, draft_of

FIELDS = ("depth", "wall", "back_wall", "lining", "joint", "floor_slab")  # as they stand one below the other
TO_NEXT_SECTION = b"\x1b[6~"  # Page Down
SECTIONS = 12  # before the firebox: the job, the fireplace, five to each of two faces
TO_FIREBOX = TO_NEXT_SECTION * SECTIONS
NEXT, BACK, UNDO, RUBOUT = (b"\t", b"\r", b"\n", b"\x1b[B"), (b"\x1b[Z", b"\x1b[A"), b"\x1a", b"\x7f"


@dataclass
class Model:
    """What stands in the fields. held: what was meant; text: of the field in hand; fresh: typing replaces it."""

    held: list[str] = field(default_factory=lambda: [""] * len(FIELDS))
    at: int = 0
    text: str = ""
    fresh: bool = False
    undone: list[tuple[int, str]] = field(default_factory=list)

    def type(self, sign: str) -> None:
        self.text = sign if self.fresh else self.text + sign
        self.fresh = False

    def rub_out(self) -> None:
        self.text = "" if self.fresh else self.text[:-1]
        self.fresh = False

    def move(self, by: int) -> None:
        if self.text != self.held[self.at]:
            self.undone.append((self.at, self.held[self.at]))
            self.held[self.at] = self.text
        self._enter(self.at + by)

    def undo(self) -> None:
        """What was typed here, else the last entry that was meant, wherever that is: the cursor stays."""
        if self.text != self.held[self.at]:
            self._enter(self.at)
        elif self.undone:
            at, self.held[at] = self.undone.pop()
            self._enter(self.at)

    def _enter(self, at: int) -> None:
        self.at, self.text = at, self.held[at]
        self.fresh = bool(self.text)

    def entries(self) -> dict[str, str]:
        return {key: text for key, text in zip(FIELDS, self.held, strict=True) if text}


def typed(rng: Random, model: Model, keys: int) -> bytes:
    """So many keys, and a step on after them; the model goes along."""
    sent = b""
    undoing = 0
    for _ in range(keys):
        chance = rng.random()
        if undoing:  # the entry in hand is left before anything is typed
            undoing -= 1
            chance = 0.9
        if chance < 0.5:
            sign = rng.choice("0123456789./")
            model.type(sign)
            sent += sign.encode()
        elif chance < 0.6:
            model.rub_out()
            sent += RUBOUT
        elif chance < 0.65:
            model.undo()
            sent += UNDO
            undoing = 1
        else:
            sent += _step(rng, model)
    return sent + _step(rng, model)


def _step(rng: Random, model: Model) -> bytes:
    back = model.at == len(FIELDS) - 1 or (model.at > 0 and rng.random() < 0.3)
    model.move(-1 if back else 1)
    return rng.choice(BACK if back else NEXT)


def trouble_of(seed: int, keys: int) -> str:
    """Type so many keys in bursts; what comes to light, "" where nothing."""
    rng, model = Random(seed), Model()
    with tempfile.TemporaryDirectory() as folder:
        run = Run(Path(folder) / "home")
        try:
            run.started()
            run.give(Burst(TO_FIREBOX))
            while keys > 0:
                count = rng.randint(1, 30)
                keys -= count
                burst = typed(rng, model, count)
                run.give(Burst(burst))
                _held(run, model, burst)
            run.close()
        except Trouble as trouble:
            return f"seed {seed}: {trouble}"
        finally:
            run.child.close(force=True)
    return ""


def _held(run: Run, model: Model, burst: bytes) -> None:
    """Wait until the draft says what the model says. Raises Trouble where it does not in time."""
    end = time.monotonic() + PATIENCE + run.busy()
    while (held := dict(draft_of(run.home).get("firebox", {}))) != model.entries():
        if time.monotonic() > end:
            raise Trouble(f"after {burst!r} the draft holds {held}, the keys say {model.entries()}")
        run.look()


def main() -> int:
    parser = argparse.ArgumentParser(
        description="Entries at random into the fields, beside a model of the keys."
    )
    parser.add_argument("--keys", type=int, default=10_000, help="how many; 10000 unless given")
    parser.add_argument("--seed", type=int, default=0)
    arguments = parser.parse_args()
    began = time.monotonic()
    for at in range(0, arguments.keys, 2000):
        if trouble := trouble_of(arguments.seed + at // 2000, min(2000, arguments.keys - at)):
            sys.stdout.write(f"{trouble}\n")
            return 1
    sys.stdout.write(f"{arguments.keys} keys in {time.monotonic() - began:.0f} s: every entry as typed\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
