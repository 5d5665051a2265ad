"""What the usual ranges tell of an entry."""

from __future__ import annotations

import re

from msgspec import Struct

from hearthcalc import lengths
from hearthcalc.entry import Amount, FieldSpec, Size
from hearthcalc.errors import EntryError
from hearthcalc.job.addresses import entries
from hearthcalc.job.record import Job
from hearthcalc.lengths import Unit


def unusual(job: Job) -> dict[str, str]:
    """Entries outside their usual range, by address, with what to say about them."""
    unusual = {}
    for address, spec, value in entries(job):
        amounts = (
            (value,) if isinstance(value, Amount) else (value.a, value.b) if isinstance(value, Size) else ()
        )
        if spec.usual is None:
            continue
        low, high = spec.usual
        for amount in amounts:
            if not low <= amount.value <= high:
                range_text = f"{spec.show(low, job.units)} to {spec.show(high, job.units)}"
                unusual[address] = (
                    f"{spec.show(amount.value, job.units)} is outside the usual {range_text}: is it right?"
                )
    return unusual


_TYPED = re.compile(r"""(.*?)\s*(in|inch|inches|"|″|mm)?""")


class Slip(Struct, frozen=True):
    """A length that looks typed in the wrong unit. typed: as it is read.  meant: as it would be usual."""

    typed: str
    meant: str

    @property
    def question(self) -> str:
        return f"{self.typed}? Did you mean {self.meant}?"


def slip_of_unit(spec: FieldSpec, text: str, unit: Unit) -> Slip | None:
    """What to ask where inches and millimeters look mixed up, else None.

    text: as typed.  unit: of a bare number.  Asked where the length is unusual, and would be usual in the other unit.
    """
    match = _TYPED.fullmatch(text.strip())
    if spec.kind != "length" or spec.usual is None or match is None:
        return None
    number, typed = match.groups()
    mine: Unit = unit if typed is None else "mm" if typed == "mm" else "in"
    other: Unit = "in" if mine == "mm" else "mm"
    low, high = spec.usual
    if lengths.with_unit(number, mine) == number:
        return None
    try:
        here, there = lengths.parse(number, mine), lengths.parse(number, other)
    except EntryError:
        return None
    if low <= here <= high or not low <= there <= high:
        return None
    return Slip(f"{number} {mine}", f"{number} {other}")
