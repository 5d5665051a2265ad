"""Texts at random into whatever reads what people type or keep in a file.

    cd tests && python -m faults.parsers --inputs 1000000 --seed 1

Each input is one of the corpus in `faults/corpus/`, or is made of pieces of its kind, and is changed in up to four places. Nothing but a
mistake told in words may come of it, within 50 ms; a length and a quantity have to be what the grammar of `oracle/grammar.py` says; a
mistake in a file names its line; a job that is read is the same when it was written and is read again.
"""

from __future__ import annotations

import argparse
import sys
import time
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from random import Random

from oracle import grammar

from hearthcalc import amendments, jobfile, lengths, quantities
from hearthcalc.errors import EntryError, FileError, HearthError

CORPUS = Path(__file__).parent / "corpus"
LONGEST_TIME = 0.05  # seconds of the processor
SHORT = 4096  # bytes; what is longer may take longer
KINDS = (*grammar.UNITS, "pitch")
SIGNS = "0123456789/.-'\"′″½⅛⁄ x+−²³ftinmchedg°:%wbKCFPa\u00a0\u202e\u0661\x00\n#=[]{},_eE\U0001f525"


class Trouble(Exception):  # noqa: N818 - what was found, not a mistake of ours
    """What an input brought to light."""


def length(data: bytes) -> bool:
    text = data.decode("utf-8", "replace")
    for unit in ("in", "mm"):
        _agree(text, unit, _value(lengths.parse, text, unit), grammar.length(text, unit))
    return grammar.length(text, "in") is not None


def quantity(data: bytes) -> bool:
    """The kind of quantity, a colon, and the text; without a kind, one that the text decides."""
    kind, _, text = data.decode("utf-8", "replace").partition(":")
    if kind not in KINDS:
        kind, text = KINDS[len(data) % len(KINDS)], data.decode("utf-8", "replace")
    said = grammar.pitch(text) if kind == "pitch" else grammar.quantity(text, kind)
    _agree(text, kind, _value(quantities.parse, text, kind), said)
    return said is not None


def job(data: bytes) -> bool:
    try:
        read = jobfile.load(data, "house.toml")
    except FileError as error:
        _names_the_line(error, data)
        return False
    if jobfile.load(jobfile.render(read).encode(), "again") != read:
        raise Trouble("it is another job when it was written and is read again")
    return True


def amendment(data: bytes) -> bool:
    try:
        read = amendments.changes_in(data, "house.toml")
    except FileError as error:
        _names_the_line(error, data)
        return False
    if amendments.changes_in(amendments.render(read).encode(), "again") != read:
        raise Trouble("they are other changes when they were written and are read again")
    return True


TARGETS: Mapping[str, Callable[[bytes], bool]] = {
    "length": length,
    "quantity": quantity,
    "job": job,
    "amendment": amendment,
}


def _value(read: Callable[[str, str], Fraction], text: str, kind: str) -> Fraction | None:
    try:
        return read(text, kind)
    except EntryError as error:
        if not (error.title and error.what and error.fix and str(error).isprintable()):
            raise Trouble(f"a mistake that is told badly: {error}") from None
        return None


def _agree(text: str, kind: str, read: Fraction | None, said: Fraction | None) -> None:
    if read != said:
        raise Trouble(f"{text!r} as {kind} is read as {read}, by the grammar it is {said}")


def _names_the_line(error: FileError, data: bytes) -> None:
    """Where Python's reader of TOML names a line, so does what is told."""
    if not (error.what and error.where.startswith("house.toml") and len(str(error)) < 20_000):
        raise Trouble(f"a mistake that is told badly: {error}")
    try:
        tomllib.loads(data.decode("utf-8-sig"))
    except ValueError as plain:
        line = str(plain).partition("at line ")[2].partition(",")[0]
        if line.isdecimal() and "line" not in error.where and "deep" not in error.what and b"\0" not in data:
            raise Trouble(f"no line in {error}, and {plain}") from None
    except RecursionError:
        return


def tried(target: str, data: bytes) -> bool:
    """Give an input to what reads it. True where it was taken. Raises Trouble."""
    least = LONGEST_TIME
    for _ in range(3):  # what else the machine does may fall into one of them
        begin = time.thread_time()
        try:
            taken = TARGETS[target](data)
        except (HearthError, Trouble):
            raise
        except Exception as error:
            raise Trouble(f"{type(error).__name__}: {error}") from error
        least = time.thread_time() - begin
        if least <= LONGEST_TIME or len(data) > SHORT:
            return taken
    raise Trouble(f"it took {least * 1000:.0f} ms")


@dataclass(frozen=True)
class Pieces:
    """What inputs of a kind are made of."""

    numbers: tuple[str, ...] = (
        "7", "36", "0", "12", "11", "7.5", ".5", "1/2", "7 1/2", "7-1/2", "½", "7½", "7 ½", "7-⅜", "100", "5/4", "1/0", "00012",
        "1234567890123456", "↉", "2 3/4", "19999", "20001",
    )  # fmt: skip
    parted: tuple[str, ...] = ("", "", " ", "-", " - ", "  ", "\u00a0", "–", " x ")
    signs: tuple[str, ...] = ("", "", "", "-", "+", "− ")
    units: tuple[str, ...] = (*grammar.LENGTHS, "", "", "′", "″", "''", "IN", "yd", "ft2", "m²")
    others: tuple[str, ...] = (
        *sorted({name for units in grammar.UNITS.values() for names in units for name in names.split()}),
        "sq ft", "ft²", "in w.c.", "m2·K/W", "h.ft2.F/Btu", "° C", "deg. F", "cu ft/min", "º", ":12", " in 12", "/12",
    )  # fmt: skip


PIECES = Pieces()


def made(rng: Random, target: str) -> bytes:
    """An input at random: of pieces, or one of the corpus, changed in some places."""
    if target in ("job", "amendment") or rng.random() < 0.1:
        data = rng.choice(corpus(target))
        return _changed(rng, data, 4)
    number, unit, part = (
        lambda these=these: rng.choice(these) for these in (PIECES.numbers, PIECES.units, PIECES.parted)
    )
    text = number() + part()
    if target == "quantity":
        kind = rng.choice(KINDS)
        own = [name for names in grammar.UNITS.get(kind, {}) for name in names.split()]
        named = rng.choice(own if own and rng.random() < 0.7 else PIECES.others)
        return f"{kind}:".encode() + _changed(rng, f"{rng.choice(PIECES.signs)}{text}{named}".encode(), 3)
    text += unit()
    if rng.random() < 0.4:
        text += part() + number() + part() + unit()
    return _changed(rng, text.encode(), 3)


def _changed(rng: Random, data: bytes, most: int) -> bytes:
    text = list(data.decode("utf-8", "replace"))
    lines = len(text) > 100
    for _ in range(rng.choice((0, 1, 1, 2, most))):
        at, chance = rng.randint(0, len(text)), rng.random()
        if chance < 0.35:
            text.insert(at, rng.choice(SIGNS))
        elif chance < 0.6:
            del text[at : at + 1]
        elif chance < 0.8 or not lines:
            text[at : at + 1] = rng.choice(SIGNS)
        else:  # a stretch is doubled, moved or left out
            stretch = text[at : at + rng.randint(1, 120)]
            if rng.random() < 0.5:
                del text[at : at + len(stretch)]
            to = rng.randint(0, len(text))
            text[to:to] = stretch * rng.choice((0, 1, 1, 40))
    return "".join(text).encode()


@cache
def corpus(target: str) -> Sequence[bytes]:
    """What is kept of a kind: what it begins with, and what was found once."""
    return [path.read_bytes() for path in sorted((CORPUS / target).iterdir())]


def run(
    inputs: int,
    seed: int,
    targets: Sequence[str] = tuple(TARGETS),
    tell: Callable[[int], object] | None = None,
) -> tuple[dict[str, int], int]:
    """So many inputs, for each kind in turn. How many of each were taken, and how many there were. Raises Trouble, with the input.

    tell: hears every ten thousand inputs how many there were.
    """
    rng, taken = Random(seed), dict.fromkeys(targets, 0)
    for number in range(inputs):
        if tell and number % 10_000 == 0:
            tell(number)
        target = targets[number % len(targets)]
        data = made(rng, target)
        try:
            taken[target] += tried(target, data)
        except Trouble as trouble:
            raise Trouble(f"{target} {data!r}: {trouble}") from trouble
    return taken, inputs


def main() -> int:
    parser = argparse.ArgumentParser(description="Texts at random into what reads them.")
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=0)
    arguments = parser.parse_args()
    begin = time.monotonic()
    try:
        taken, inputs = run(
            arguments.inputs, arguments.seed, tell=lambda count: sys.stderr.write(f"\r{count} inputs")
        )
    except Trouble as trouble:
        sys.stdout.write(f"{trouble}\n")
        return 1
    each = ", ".join(f"{count} {target}s" for target, count in taken.items())
    sys.stdout.write(
        f"{inputs} inputs in {time.monotonic() - begin:.0f} s: nothing found; taken were {each}\n"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
