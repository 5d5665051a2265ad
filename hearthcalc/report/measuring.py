"""The measuring sheet: what is still to be measured, in the order of the walk, with room to write it in."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from hearthcalc import caution
from hearthcalc.assess import walk_order
from hearthcalc.drawing import Drawing, views
from hearthcalc.entry import FieldSpec
from hearthcalc.errors import UsageError
from hearthcalc.findings import Assessment, Measure
from hearthcalc.job import Job, join_address, names, spec_of
from hearthcalc.report import stamp
from hearthcalc.report.model import Blank, Block, Box, Figures, Paragraph, Report, Rows, figures
from hearthcalc.rules.case import label
from hearthcalc.tables import Table

NOT_LETTERED = {"format", "version", "units", "judged", "about", "asked", "photo", "signed", "name", "remove"}
_LINE = re.compile(r"\[?([A-Za-z]{1,3})\]?(?:\s*[:=.)]\s*|\s+)(\S.*)", re.DOTALL)
ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
THING = ("Thing", "Made of", "Over the opening", "Beside or before it", "How far it stands out")
NOTES, THINGS = 8, 6  # lines to write on
# What is written behind the number, where the entry takes one
UNITS = {
    "area": "{0}2", "length": "{0}", "size": "{0} x {0}", "volume": "ft3 or m3", "flow": "cfm or L/s", "power": "Btu/h or kW",
    "temperature": "F or C", "speed": "mph or m/s", "pressure": "Pa", "area_load": "lb/ft2 or kg/m2", "line_load": "lb/ft or kg/m",
    "resistance": "h.ft2.F/Btu", "leakage": "ACH50 or cfm50", "angle": "degrees", "pitch": "in 12",
}  # fmt: skip


def compose(assessment: Assessment, job: Job, date: dt.date) -> Report:
    """The measuring sheet of a job."""
    every = lettered(job)
    lines = _missing(assessment, every)
    letters = {address: every[address] for address in lines}
    title = f"Measuring sheet: {assessment.title}" if assessment.title else "Measuring sheet"
    blocks: list[Block] = [
        Paragraph(title, "title"),
        Paragraph(" · ".join(_facts(job)), "note"),
        Paragraph(caution.LINE, "caution"),
    ]
    if lines:
        blocks.append(
            Paragraph(
                "Walk around the fireplace in this order and write down what the tape says, with its unit. "
                "Leave a box empty where you cannot see it: never guess."
            )
        )
        blocks.append(
            Paragraph(
                f"Sheet {mark(job)}. Type it in as you like, in any order: the letter, a blank, what you wrote, as in: "
                f"{letters[next(iter(lines))].lower()} 36 1/2. A letter stays with its measurement; what is known already has no box.",
                "note",
            )
        )
        blocks += _drawings(assessment, job, letters)
        blocks.append(Paragraph("To measure", "heading"))
        blocks += [_box(letters[address], line, assessment, job) for address, line in lines.items()]
    else:
        blocks.append(Paragraph("Nothing is missing."))
    blocks += [
        Paragraph("What else stands near the fire", "heading"),
        Paragraph(
            "Wood, trim, floors, furniture, framing behind plaster: everything that burns. Write none where you looked and found none."
        ),
        Rows(THING, (("",) * len(THING),) * THINGS, (3, 2, 2, 2, 2)),
        Paragraph("Notes", "heading"),
        Blank(NOTES),
    ]
    return Report(title, tuple(blocks), stamp.of(job, assessment, date))


def _facts(job: Job) -> Iterator[str]:
    about = job.about
    yield f"Place: {about.place or '_' * 30}"
    yield f"Measured by: {about.measured_by or '_' * 24}"
    yield f"Date: {'_' * 14}"


def letter(number: int) -> str:
    """A, B, ... Z, AA, AB, ... for 0, 1, ..."""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, len(ALPHABET))
        name = ALPHABET[rest] + name
    return name


def lettered(job: Job) -> dict[str, str]:
    """The letter of each entry that a job has room for, by its address, in the order of the walk, what is planned last.

    It hangs on the faces and things of the job alone, so that it stays the same while they are filled in.
    """
    there = list(_places(job, type(job), ()))
    place = walk_order(job)
    there.sort(key=lambda address: (address.startswith("planned."), place(address)))
    return {address: letter(number) for number, address in enumerate(there)}


def mark(job: Job) -> str:
    """Four signs that tell whether two sheets have the same letters."""
    return hashlib.sha256("\n".join(lettered(job)).encode()).hexdigest()[:4]


def read_back(job: Job, line: str) -> tuple[str, str]:
    """The address and the reading of a line as it is typed off a sheet: "b 36 1/2". Raises UsageError where it is none."""
    found = _LINE.fullmatch(line.strip())
    if found is None:
        raise UsageError(
            "Not a line of the sheet",
            "There is no letter with a reading.",
            fix="Write both, as in: a 36 1/2.",
        )
    wanted = found[1].upper()
    address = next((address for address, letter in lettered(job).items() if letter == wanted), None)
    if address is None:
        raise UsageError(
            "No such letter",
            f"No box has the letter {wanted}.",
            fix=f"Check that the paper says: Sheet {mark(job)}.",
        )
    return address, found[2]


def _places(table: Any, kind: type[Table], parts: tuple[str, ...]) -> Iterator[str]:
    """The address of every entry that a table has room for. table: None where nothing of it is entered."""
    for key, node in kind.fields.items():
        value = getattr(table, key, None)
        if key in NOT_LETTERED or (key == "planned" and not (value and value.document())):
            continue
        if isinstance(node, FieldSpec):
            yield join_address((*parts, key))
        elif not node.many:
            yield from _places(value, node.table, (*parts, key))
        else:
            yield join_address((*parts, key))
            for thing, name in _things(value or (), node.table):
                yield from _places(thing, node.table, (*parts, key, name))


def _things(things: Sequence[Any], kind: type[Table]) -> Iterator[tuple[Any, str]]:
    return zip(things, names(things, kind), strict=True)


def _missing(assessment: Assessment, letters: Mapping[str, str]) -> dict[str, Measure]:
    """What is missing in any stage, by address, in the order of the letters."""
    lines: dict[str, Measure] = {}
    for result in assessment.stages.values():
        for line in result.measure:
            lines.setdefault(line.address, line)
    return {address: lines[address] for address in letters if address in lines}


def _drawings(assessment: Assessment, job: Job, letters: Mapping[str, str]) -> Iterator[Block]:
    stage = job.stages()[assessment.deciding.name]
    drawn = views(stage, assessment.deciding)
    lettered = [_lettered(drawing, letters) for drawing in drawn]
    shown = tuple(new for new, old in zip(lettered, drawn, strict=True) if new.dimensions != old.dimensions)
    if chosen := shown or tuple(lettered):
        yield Figures(chosen)


def _lettered(drawing: Drawing, letters: Mapping[str, str]) -> Drawing:
    """The drawing with letters where something is missing, and without what the findings mark."""
    dimensions = []
    for item in drawing.dimensions:
        mark = letters.get(item.address) or letters.get(f"planned.{item.address}")
        if mark:
            dimensions.append(replace(item, text=f"[{mark}]", verdict=None, rank=0))
        elif not item.address:
            dimensions.append(replace(item, verdict=None, asked=""))
    return replace(
        drawing,
        areas=tuple(replace(area, verdict=None) for area in drawing.areas),
        labels=tuple(replace(item, verdict=None) for item in drawing.labels),
        dimensions=tuple(dimensions),
        apart=(),
    )


def _box(mark: str, line: Measure, assessment: Assessment, job: Job) -> Box:
    spec = spec_of(line.address)
    name = label(line.address)
    return Box(
        mark,
        name[:1].upper() + name[1:],
        f"{line.how} {line.unread}".strip(),
        tuple(_limits(line, assessment)),
        _choices(spec),
        UNITS.get(spec.kind, "").format(job.units),
    )


def _choices(spec: FieldSpec) -> tuple[str, ...]:
    if spec.kind == "bool":
        return ("yes", "no")
    return spec.choices if spec.kind == "choice" else ()


def _limits(line: Measure, assessment: Assessment) -> Iterator[str]:
    """What is asked of a measurement, by the findings that wait for it and know."""
    limits: dict[str, None] = {}
    for result in assessment.stages.values():
        for finding in result.findings:
            if line.address in finding.missing and finding.required:
                limits[f"{finding.title}: {figures(finding)[0]}."] = None
    yield from limits
    if line.waits and not limits:
        yield f"Needed for: {'; '.join(line.waits)}."
