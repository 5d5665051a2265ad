"""Ways between what belongs together: an entry as found and as planned, a field and the findings that use it."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from hearthcalc_tui.field import Field
from hearthcalc_tui.safe import plain
from hearthcalc_tui.sections.table import speaks_of
from hearthcalc_tui.session import is_name

if TYPE_CHECKING:
    from hearthcalc_tui.desk import Desk

EXACT = "Planned entries are compared exactly, without the tolerance of the tape."
PLANNED = "planned."


# From found to planned


async def copy_field(desk: Desk) -> None:
    """Plan the entry in hand as it was found."""
    desk.keep()
    field = desk.hearth.focused
    address = field.address.removeprefix(PLANNED) if isinstance(field, Field) else ""
    if address not in _plannable(desk):
        desk.hearth.say("This is no entry that the work can change.")
    elif address in _voided(desk):
        desk.hearth.say("The cut destroys what was found here. Type what is to be built instead.", bad=True)
    elif not (found := desk.session.entry(address)):
        desk.hearth.say("Nothing was found here that could be copied.")
    else:
        await _copy(desk, [(f"{PLANNED}{address}", found)])


async def copy_section(desk: Desk) -> None:
    """Plan every entry of the section as it was found, where nothing is planned yet and the cut leaves it."""
    desk.keep()
    session, voided = desk.session, _voided(desk)
    entries = [
        (f"{PLANNED}{address}", found)
        for address in _plannable(desk)
        if address not in voided
        and (found := session.entry(address))
        and not session.entry(f"{PLANNED}{address}")
    ]
    if entries:
        await _copy(desk, entries)
    else:
        desk.hearth.say("Nothing in this section was found that is not planned already.")


def _plannable(desk: Desk) -> list[str]:
    section = desk.section
    there = not section.thing or section.thing in desk.session.things(
        section.kind.each or section.kind.picks, "found"
    )
    return [a for a in section.addresses if not is_name(a)] if section.kind.planned and there else []


def _voided(desk: Desk) -> Collection[str]:
    stages = desk.session.now.stages
    return stages["planned"].voided if "planned" in stages else ()


async def _copy(desk: Desk, entries: list[tuple[str, str]]) -> None:
    desk.session.take(entries)
    desk.write_draft()
    await desk.go_to(entries[0][0])
    count = "1 entry is" if len(entries) == 1 else f"{len(entries)} entries are"
    desk.hearth.say(f"{count} planned as found. {EXACT}")


# From a field to its findings


async def turn(desk: Desk) -> None:
    """From a field to the first finding that uses its entry, on to the next with the same key, and back after the last."""
    desk.keep()
    pane = desk.pane
    if desk.hearth.focused is pane.options:
        await _from_finding(desk)
        return
    field = desk.hearth.focused
    if not isinstance(field, Field) or field not in desk.form.fields:
        desk.focus_field()
        return
    using = desk.session.using(field.address, desk.stage)
    keys = [key for key in pane.keys if key in using]
    if not keys:
        desk.hearth.say("No finding uses this entry.")
        return
    await pane.look("")
    desk.used = (field.address, keys)
    pane.pick(keys[0])
    desk.screen.set_focus(pane.options)
    more = (
        f", {len(keys)} in all; the same key: the next, then back"
        if len(keys) > 1
        else "; the same key: back"
    )
    desk.hearth.say(f"It uses {plain(field.label, 40)}{more}")


async def _from_finding(desk: Desk) -> None:
    """On to the next finding that uses the entry one came from, or back; else to the section of the finding in hand."""
    finding = desk.pane.highlighted
    address, keys = desk.used
    if finding is None:
        desk.focus_field()
    elif finding.key in keys:
        at = keys.index(finding.key) + 1
        if at < len(keys):
            desk.pane.pick(keys[at])
            desk.hearth.say(
                f"{at + 1} of {len(keys)}; the same key: {'the next' if at + 1 < len(keys) else 'back'}"
            )
        else:
            desk.used = ("", [])
            await desk.go_to(address)
    elif finding.missing:
        await desk.go_to(finding.missing[0])
    else:
        section = next((s for s in desk.sections if speaks_of(finding, s) and s.addresses), None)
        if section is None:
            desk.hearth.say("This finding is about no one section.")
        else:
            await desk.go_to(section.addresses[0])
