"""From found to planned: an entry or a whole section planned as it was found."""

from __future__ import annotations

from collections.abc import Collection

from msgspec import Struct

from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.desk.walk import Walk
from hearthcalc_tui.session import as_found, as_planned, is_name

EXACT = "Planned entries are compared exactly, without the tolerance of the tape."


class Planning(Struct, frozen=True):
    """Copies what was found to what is planned."""

    surface: Surface
    place: Place
    entering: Entering
    walk: Walk

    async def do_plan_field(self) -> None:
        """Plan the entry in hand as it was found."""
        self.entering.keep()
        field = self.surface.field
        address = as_found(field.address) if field else ""
        if address not in self._plannable():
            self.surface.say("The work cannot change this entry.")
        elif address in self._voided():
            self.surface.say("The plan changes what this was measured from. Type what it will be.", bad=True)
        elif not (found := self.place.session.entry(address)):
            self.surface.say("Nothing was found here that could be copied.")
        else:
            await self._copy([(as_planned(address), found)])

    async def do_plan_section(self) -> None:
        """Plan every entry of the section as it was found, where nothing is planned yet and the plan leaves it."""
        self.entering.keep()
        session, voided = self.place.session, self._voided()
        entries = [
            (as_planned(address), found)
            for address in self._plannable()
            if address not in voided
            and (found := session.entry(address))
            and not session.entry(as_planned(address))
        ]
        if entries:
            await self._copy(entries)
        else:
            self.surface.say("Nothing in this section was found that is not planned already.")

    def _plannable(self) -> list[str]:
        section = self.place.section
        kind = section.kind
        there = not section.thing or section.thing in self.place.session.things(
            kind.each or kind.picks, "found"
        )
        return (
            [a for a in section.addresses if a == as_found(a) and not is_name(a)]
            if kind.planned and there
            else []
        )

    def _voided(self) -> Collection[str]:
        stages = self.place.session.now.stages
        return stages["planned"].voided if "planned" in stages else ()

    async def _copy(self, entries: list[tuple[str, str]]) -> None:
        self.entering.take(entries)
        await self.walk.go_to(entries[0][0])
        count = "1 entry is" if len(entries) == 1 else f"{len(entries)} entries are"
        self.surface.say(f"{count} planned as found. {EXACT}")
