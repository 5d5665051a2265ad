"""What to buy for a fireplace, by trade, each line with its working."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from msgspec import Struct, to_builtins
from msgspec.structs import replace

from hearthcalc import __version__
from hearthcalc.assess import readable
from hearthcalc.entry import guarded
from hearthcalc.job import Job
from hearthcalc.reference import Edition
from hearthcalc.rules.agreement import with_conflicts
from hearthcalc.rules.case import Case, NotKnown, Subject, label
from hearthcalc.rules.inputs import NotInTable
from hearthcalc.rules.work import Work, work_of
from hearthcalc.takeoff import masonry, rebuilt
from hearthcalc.takeoff.lines import Item

FORMAT = "hearthcalc-takeoff"
VERSION = 1

SHORING, BRICK, CONCRETE, STEEL, FLUE = (
    "Shoring",
    "Brick and mortar",
    "Concrete and hearth",
    "Steel and iron",
    "Flue and chimney top",
)
TRADES = (SHORING, BRICK, CONCRETE, STEEL, FLUE)  # in the order of the work

Tell = Callable[..., Iterator[Item]]
Built = Callable[[Work, str], bool]  # does the plan build it, at this face; "" of what is of no face


class Kind(Struct, frozen=True):
    """A kind of line. each: is it told of each face.  built: does a plan build it.  standing: is it told of what stands, without a plan."""

    trade: str
    name: str
    tell: Tell
    built: Built
    each: bool = False
    standing: bool = True


KINDS = (
    Kind(SHORING, "Shoring", rebuilt.shoring, lambda work, _: bool(work.cut)),
    Kind(BRICK, "Firebrick", masonry.firebrick, lambda work, _: work.firebox),
    Kind(BRICK, "Refractory mortar", masonry.refractory_mortar, lambda work, _: work.firebox),
    Kind(BRICK, "Brick of the firebox walls", masonry.walls_brick, lambda work, _: work.firebox),
    Kind(BRICK, "Brick of the smoke chamber", rebuilt.smoke_chamber, lambda work, _: work.throat),
    Kind(BRICK, "Face brick over the opening", masonry.face_brick, lambda work, face: face in work.lintels, each=True),
    Kind(BRICK, "Brick of the chimney", rebuilt.raised_chimney, lambda work, _: work.raised > 0, standing=False),
    Kind(CONCRETE, "Inner hearth slab", rebuilt.inner_hearth, lambda work, _: work.floor),
    Kind(CONCRETE, "Hearth", masonry.hearth, lambda work, face: face in work.hearths, each=True),
    Kind(CONCRETE, "Steel of the hearth slab", rebuilt.hearth_steel, lambda work, face: face in work.hearths, each=True),
    Kind(STEEL, "Damper", rebuilt.damper, lambda work, _: work.damper),
    Kind(STEEL, "Upright bars of the chimney", rebuilt.upright_bars, lambda work, _: work.raised > 0 or work.touches("structure.bars")),
    Kind(STEEL, "Lintel", masonry.lintel, lambda work, face: face in work.lintels, each=True),
    Kind(STEEL, "Doors", rebuilt.doors, lambda work, face: face in work.doors, each=True, standing=False),
    Kind(STEEL, "Gas logs", rebuilt.gas_logs, lambda work, _: work.gas, standing=False),
    Kind(FLUE, "Flue liner", masonry.liner, lambda work, _: work.liner),
    Kind(FLUE, "Flue liner", rebuilt.raised_liner, lambda work, _: work.raised > 0 and not work.liner, standing=False),
    Kind(FLUE, "Cap of the chimney", rebuilt.crown, lambda work, _: work.top),
    Kind(FLUE, "Cap of the flue", rebuilt.flue_cap, lambda work, _: work.touches("flue.cap", "flue.arrestor"), standing=False),
)  # fmt: skip
NOTHING = "The plan builds nothing of masonry, steel or liner: there is nothing to buy here."


# Telling


def take_off(job: Job, edition: Edition, stage: str | None = None) -> tuple[Item, ...]:
    """The shopping list of a stage, of the planned one where there is one: what the plan builds, or all that is built in as found.

    Raises KeyError where the job has no such stage.
    """
    job = readable(job, edition)
    stages = job.stages()
    chosen = stages[stage] if stage else stages.get("planned") or stages["found"]
    work = None if chosen.name == "found" else work_of(job, edition)
    case = with_conflicts(Case(chosen, stages["found"].job, edition))
    factory = case.word("fireplace", "construction", needed=False).known == "factory-built"
    items: list[Item] = []
    for kind in KINDS:
        if factory and not kind.each:
            continue
        for face in case.faces if kind.each else (None,):
            if kind.built(work, face.name if face else "") if work else kind.standing:
                items += _of_kind(kind, case, face)
    return tuple(sorted(items, key=lambda item: TRADES.index(item.trade)))


def _of_kind(kind: Kind, case: Case, face: Subject | None) -> list[Item]:
    if face is None:
        return _told(kind.trade, kind.name, kind.tell, case)
    return _told(kind.trade, f"{kind.name}, {face.name}", kind.tell, case, face)


def _told(trade: str, name: str, tell: Tell, case: Case, *subject: Subject) -> list[Item]:
    """The items of one kind; one that says why, where a measure is missing or cannot be right together with another."""
    return [replace(item, trade=trade) for item in _figured(name, tell, case, *subject)]


def _figured(name: str, tell: Tell, case: Case, *subject: Subject) -> list[Item]:
    mine = case.fresh()
    try:
        items = list(tell(mine, *subject))
    except NotInTable as err:
        text = f"No material {err.name!r} is in the table of materials."
        return [Item(name, None, "", text, missing=err.missing)]
    except NotKnown as lacking:
        told = "; ".join(dict.fromkeys(label(address) for address in lacking.missing))
        return [Item(name, None, "", f"Not figured yet. Still needed: {told}.", missing=lacking.missing)]
    wrong = dict.fromkeys(one for here in mine.asked.read for one in mine.conflicts.get(here, ()))
    if wrong and items:
        text = f"Not figured, because entries cannot both be right; measure again: {' '.join(one.what for one in wrong)}"
        both = dict.fromkeys(address for one in wrong for address in one.addresses)
        return [Item(name, None, "", text, missing=tuple(both))]
    moved = tuple(case.stage.moved[here] for here in mine.asked.read if here in case.stage.moved)
    return [replace(item, working=(*moved, *item.working)) for item in items]


# Writing


COLUMNS = ("Trade", "Item", "Quantity", "Note", "Working")


def rows(items: Sequence[Item]) -> tuple[tuple[str, ...], ...]:
    """The list as rows under COLUMNS."""
    return tuple(
        (
            item.trade,
            item.name,
            item.text,
            " ".join(part for part in (item.caution, item.note) if part),
            "; ".join(step.line() for step in item.working),
        )
        for item in items
    )


def text(items: Sequence[Item], width: int = 80) -> str:
    """The list as plain text: what to buy by trade, then how each is figured."""
    lines: list[str] = [] if items else [NOTHING]
    for trade in TRADES:
        mine = [item for item in items if item.trade == trade]
        lines += [trade] if mine else []
        for item in mine:
            lines += textwrap.wrap(
                f"{item.name}: {item.text}", width, initial_indent="  ", subsequent_indent="      "
            )
            for word, told in (("! ", item.caution), ("  ", item.note)):
                if told:
                    lines += textwrap.wrap(
                        told, width, initial_indent=f"    {word}", subsequent_indent="      "
                    )
        lines += [""] if mine else []
    lines += ["How each is figured"] if any(item.working for item in items) else []
    for item in items:
        if item.working:
            lines += textwrap.wrap(item.name, width, initial_indent="  ", subsequent_indent="    ")
        for step in item.working:
            lines += textwrap.wrap(step.line(), width, initial_indent="    - ", subsequent_indent="      ")
    return "\n".join([*lines, ""])


def to_record(items: Sequence[Item], job: Job, edition: Edition, stage: str) -> dict[str, Any]:
    """The list as plain data, ready for json.dumps."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": __version__,
        "job": {"title": job.about.title or "", "fingerprint": job.fingerprint},
        "edition": {"id": edition.id, "fingerprint": edition.fingerprint},
        "stage": stage,
        "items": to_builtins(items, enc_hook=float),
    }


def to_csv(items: Sequence[Item]) -> str:
    """The list as CSV: one line for each item, missing entries parted by spaces."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["trade", "item", "quantity", "unit", "text", "note", "caution", "working", "missing"])
    for item in items:
        number = "" if item.quantity is None else f"{float(item.quantity):.6g}"
        working = "; ".join(step.line() for step in item.working)
        told = (
            item.trade,
            item.name,
            number,
            item.unit,
            item.text,
            item.note,
            item.caution,
            working,
            " ".join(item.missing),
        )
        writer.writerow(map(guarded, told))
    return out.getvalue()
