"""The order of work that a plan calls for: its steps, where work stops to be looked at, and what still holds each step up."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from hearthcalc import __version__
from hearthcalc.findings import Assessment, Finding, Verdict
from hearthcalc.job import Job, spec_of
from hearthcalc.reference import Edition
from hearthcalc.rules.work import Work, work_of

FORMAT = "hearthcalc-steps"
VERSION = 1
NOTHING = "Nothing is planned in this job, so there is no work to put in order."


class Kind(Struct, frozen=True):
    """One step that work may have. stop: what has to be seen before it goes on, "" where it goes on.

    of: the findings that can hold it up, by id or by its beginning.  needed: does this work have it.
    """

    id: str
    title: str
    text: str
    stop: str
    of: tuple[str, ...]
    needed: Callable[[Work], bool]


class Step(Struct, frozen=True):
    """One step of a job's work. held_by: findings that are not met.  entries: addresses that have to be entered first."""

    id: str
    title: str
    text: str
    stop: str
    held_by: tuple[Finding, ...]
    entries: tuple[str, ...]


def _always(work: Work) -> bool:
    return True


def _cuts(work: Work) -> bool:
    return bool(work.cut)


def _fires(work: Work) -> bool:
    return work.fire


def _wet(work: Work) -> bool:
    """Is masonry laid that the first fires dry."""
    return work.firebox or work.throat or work.liner or work.stack


_NEAR = (
    "clearance.mantel", "clearance.trim", "clearance.framing", "clearance.chimney", "clearance.abutting", "clearance.wall",
    "clearance.floor", "clearance.ceiling", "clearance.furniture", "clearance.other", "heat.mantel",
)  # fmt: skip

# The order is common practice of the trade, no source; where work stops follows change.hold_points.
ORDER: tuple[Kind, ...] = (
    Kind(
        "survey", "Survey", "Measure what is still missing, look in every place, and look for what the work would cut or bury.", "",
        ("record.agreement", "clearance.looked", "firebox.construction", "change.envelope"), _always,
    ),
    Kind(
        "camera", "Inspection of the flue by camera", "Have the inside of the flue looked at by camera: lining, size, bends.",
        "No work before the flue has been seen from end to end.",
        ("flue.condition", "flue.lining", "flue.shared", "flue.offsets", "change.inspection"), _fires,
    ),
    Kind(
        "permit", "Permit", "Hand in drawings and figures. What falls short is changed on paper, not on the wall.",
        "Work waits for the permit.", ("change.permit", "change.hold_points", "change.existing", "flue.specialist"), _always,
    ),
    Kind(
        "shoring", "Shoring", "Needle and shore what stands over the cut, down to something that carries it.",
        "The shoring is looked at before the first brick comes out.", ("change.shoring", "lintel.load"), _cuts,
    ),
    Kind(
        "lintel", "Lintel", "Cut the pockets for the bearings, and set and bed the lintel.",
        "The lintel is looked at while it can be seen.", ("lintel.",), lambda w: _cuts(w) or w.touches("face.lintel."),
    ),
    Kind(
        "cutting", "Cutting", "Cut the opening from the top down. The shoring stays until lintel and mortar have their strength.", "",
        ("flue.area", "flue.least_side", "flue.least_height", "flue.greatest_size"), _cuts,
    ),
    Kind(
        "closing", "Closing an opening", "Wall up the opening that is given up, bonded to the rest and as thick as the other walls.", "",
        ("firebox.wall",), lambda w: bool(w.gone),
    ),
    Kind(
        "relaying", "Relaying the firebox", "Lay jambs, back and floor again, and line them with firebrick in refractory mortar.", "",
        ("firebox.wall", "firebox.lining", "firebox.joint", "firebox.depth", "firebox.floor"), lambda w: w.firebox,
    ),
    Kind(
        "throat", "Throat and smoke chamber", "Build throat, damper and smoke chamber, and parge the chamber smooth.",
        "The smoke chamber is looked at before the liner goes in.",
        ("firebox.throat", "firebox.passageway", "smoke_chamber."), lambda w: w.throat,
    ),
    Kind(
        "damper", "Damper", "Fit the damper, and see that it opens all the way and stays open by itself.", "",
        ("firebox.damper", "firebox.passageway", "firebox.tight"), lambda w: w.damper,
    ),
    Kind(
        "stack", "Chimney", "Build the chimney to its height, with its liner, and flash it to the roof.",
        "What keeps clear of it, and the fireblocking, are looked at before roof and ceilings are closed.",
        (
            "chimney.above", "chimney.within", "chimney.wall", "chimney.wythe", "chimney.corbel", "chimney.offset", "chimney.size",
            "chimney.cricket", "chimney.roof", "chimney.fireblocking", "chimney.liner", "chimney.label", "flue.least_height",
            "structure.seismic",
        ),
        lambda w: w.stack,
    ),
    Kind(
        "liner", "Liner", "Put in the liner, from the smoke chamber to over the top, and close the space around it as its papers say.",
        "The liner is looked at from both ends.",
        (
            "flue.area", "flue.fit", "flue.lining", "flue.offsets", "flue.least_side", "flue.greatest_size", "chimney.liner",
            "chimney.label",
        ),
        lambda w: w.liner,
    ),
    Kind(
        "top", "Chimney top", "Cap the masonry around the liner so that it sheds water, and fit cap and spark screen.", "",
        ("chimney.crown", "chimney.cap", "chimney.arrestor"), lambda w: w.top,
    ),
    Kind(
        "hearth_support", "What carries the hearth", "Build what carries the hearth, and take out the wood that may not stay under it.",
        "It is looked at before it is covered.",
        ("hearth.below", "firebox.floor", "change.structure", "structure.slab_steel", "heat.resistance", "heat.wood", "heat.floor"),
        lambda w: bool(w.hearths),
    ),
    Kind(
        "hearth", "Hearth", "Lay the hearth to its thickness and to its ends.", "",
        ("hearth.front", "hearth.left", "hearth.right", "hearth.thickness"), lambda w: bool(w.hearths),
    ),
    Kind(
        "clear", "What burns near the fire", "Move or take away what is too near, and leave the air space empty.",
        "The air space is looked at before it is closed.", _NEAR, lambda w: bool(w.cut) or w.touches("nearby."),
    ),
    Kind(
        "doors", "Doors", "Hang the doors, and see that they open, shut and close tight.", "",
        ("doors.",), lambda w: bool(w.doors),
    ),
    Kind(
        "air", "Air", "Open the air inlet, and see that it cannot be blocked.", "",
        ("air.",), lambda w: w.touches("air.exterior_duct", "air.duct", "air.vent", "air.makeup"),
    ),
    Kind(
        "gas", "Gas logs",
        "Fix the stop on the damper so that it cannot shut. Have the gas line run and the logs set by their papers, by a licensed "
        "installer.",
        "The gas line is tested for leaks before a burner is lit.", ("gas_logs.", "air.gas_room_volume"), lambda w: w.gas,
    ),
    Kind(
        "alarms", "Alarms", "Put up carbon-monoxide and smoke alarms, and try each.", "", ("change.alarms",), _always,
    ),
    Kind(
        "smoke_test", "Smoke test",
        "With all mortar dry, fill the flue with smoke from a cartridge and shut its top: look for leaks all the way "
        "up. Then see that it draws, with the fans of the house running.",
        "No fire before it is tight, and before the building department has seen the finished work.",
        ("draft.", "house.", "air.demand"), _fires,
    ),
    Kind(
        "first_fires", "First small fires", "Small fires first, days apart, so that the masonry dries slowly. Stay until each is out.",
        "", (), lambda w: _wet(w) and not w.gas,
    ),
    Kind(
        "first_fire", "First fire", "Keep the first fire small, watch along the top of the opening for smoke, and stay until it is out.",
        "", (), lambda w: not _wet(w) and not w.gas,
    ),
    Kind(
        "first_gas", "First fire of the logs",
        "With doors and windows shut and the fans running, hold a smoking match along the top of the opening for ten minutes: "
        "all of its smoke has to go up.",
        "If any comes out, shut the gas off and find out why.", (), lambda w: w.gas,
    ),
)  # fmt: skip


def order(job: Job, assessment: Assessment, edition: Edition) -> tuple[Step, ...]:
    """The steps that the plan of a job needs, in their order; none where nothing is planned.

    A finding that no step names holds up the first fire. What falls short holds up the permit as well.
    """
    result = assessment.stages.get("planned")
    return of_findings(job, result.findings, edition) if result else ()


def of_findings(job: Job, findings: Sequence[Finding], edition: Edition) -> tuple[Step, ...]:
    """The same, from the findings of the planned stage. Raises KeyError where nothing is planned."""
    work = work_of(job, edition)
    open_ones = [
        finding for finding in findings
        if finding.verdict is not Verdict.MEETS and (finding.counts or finding.kind == "advice")
    ]  # fmt: skip
    needed = [kind for kind in ORDER if kind.needed(work)]
    held = {kind.id: [f for f in open_ones if f.id.startswith(kind.of)] if kind.of else [] for kind in needed}
    short = [f for f in open_ones if f.verdict is Verdict.SHORT and f.kind == "rule"]
    held["permit"] += [f for f in short if f not in held["permit"]]
    named = [f for findings in held.values() for f in findings]
    held[needed[-1].id] = [
        f for f in open_ones if f not in named or (f in short and _only_at_permit(f, held))
    ]
    return tuple(
        Step(kind.id, kind.title, kind.text, kind.stop, tuple(held[kind.id]), _entries(held[kind.id]))
        for kind in needed
    )


def _only_at_permit(finding: Finding, held: Mapping[str, Sequence[Finding]]) -> bool:
    return not any(finding in findings for name, findings in held.items() if name != "permit")


def _entries(held: Sequence[Finding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(address for finding in held for address in finding.missing))


def held_line(finding: Finding) -> str:
    """What holds a step up, in one line."""
    place = ", ".join(part for part in (finding.item, finding.face, finding.state) if part)
    return f"{finding.verdict} {finding.title}{f' ({place})' if place else ''}"


def text(steps: Sequence[Step], width: int = 80) -> str:
    """The order of work as plain text."""
    if not steps:
        return f"{NOTHING}\n"
    lines: list[str] = []
    for number, step in enumerate(steps, 1):
        lines += textwrap.wrap(f"{number}. {step.title}: {step.text}", width, subsequent_indent="    ")
        if step.stop:
            lines += textwrap.wrap(
                f"STOP. {step.stop}", width, initial_indent="    ", subsequent_indent="    "
            )
        for line in _holding(step):
            lines += textwrap.wrap(line, width, initial_indent="    - ", subsequent_indent="      ")
        lines.append("")
    return "\n".join(lines)


def _holding(step: Step) -> Iterator[str]:
    for finding in step.held_by:
        yield held_line(finding)
    for address in step.entries:
        yield f"Enter {spec_of(address).label}: {address}"


def to_record(steps: Sequence[Step], job: Job, edition: Edition) -> dict[str, Any]:
    """The order of work as plain data."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": __version__,
        "job": {"title": job.about.title or "", "fingerprint": job.fingerprint},
        "edition": {"id": edition.id, "title": edition.title, "fingerprint": edition.fingerprint},
        "steps": [
            {
                "number": number,
                "id": step.id,
                "title": step.title,
                "text": step.text,
                "stop": step.stop,
                "held_by": [
                    {
                        "id": f.id, "title": f.title, "verdict": str(f.verdict), "item": f.item, "face": f.face,
                        "state": f.state,
                    }
                    for f in step.held_by
                ],
                "entries": list(step.entries),
            }
            for number, step in enumerate(steps, 1)
        ],
    }  # fmt: skip
