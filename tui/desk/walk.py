"""Moving: between fields, sections and stages, and to what is missing."""

from __future__ import annotations

from msgspec import Struct, field
from textual.content import Content

from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.entries import name_of
from hearthcalc_tui.safe import plain
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.session import as_found, as_planned, stage_of
from hearthcalc_tui.widgets.findings import FindingsPane


class Walk(Struct, frozen=True):
    """The way round the fireplace. pane: the finding in hand there may name what it waits for."""

    surface: Surface
    place: Place
    sheet: Sheet
    entering: Entering
    pane: FindingsPane
    _led: list[str] = field(default_factory=list)  # where F3 led last

    async def go_to(self, address: str) -> None:
        """Put the cursor in the field of an entry."""
        if self.place.go_to(address):
            await self.sheet.show(focus=True, address=address)
        else:
            self.surface.say(f"{plain(address, 60)} has no field here; it stands in the file.")

    async def lead_to(self, address: str) -> None:
        """To an entry as it is written in the stage in hand. address: also as found."""
        await self.go_to(as_planned(address) if self.place.stage == "planned" else address)
        field = self.surface.field
        if field is None or as_found(field.address) != as_found(address):
            self.surface.say(f"What is asked does not need this: {plain(name_of(address), 60)}.")

    async def turn_to(self, number: int, *, focus: bool = True) -> None:
        """To a section by its number, where there still are so many. focus: with the cursor."""
        if number < len(self.place.sections):
            self.place.turn_to(self.place.sections[number])
            await self.sheet.show(focus=focus)

    async def _turn(self, by: int, *, last: bool = False) -> None:
        """On to the section after this one or before it; at an end it stays. last: into its last field."""
        self.entering.keep()
        at = self.place.number + by
        if 0 <= at < len(self.place.sections):
            self.place.turn_to(self.place.sections[at])
            await self.sheet.show(focus=True, last=last)
        elif by > 0:
            self.surface.say("That was the last section. F3 goes to what is still missing.")
        else:
            self.surface.say("This is the first section.")

    # What commands do

    async def do_next(self) -> None:
        self.entering.keep()
        if not self.sheet.step(1):
            await self._turn(1)

    async def do_previous(self) -> None:
        self.entering.keep()
        if not self.sheet.step(-1):
            await self._turn(-1, last=True)

    async def do_next_section(self) -> None:
        await self._turn(1)

    async def do_previous_section(self) -> None:
        await self._turn(-1)

    async def do_stage(self) -> None:
        """Turn between as found and as planned."""
        self.entering.keep()
        place, address = self.place, self.sheet.address
        place.turn_stage()
        in_field = self.surface.field is not None or self.surface.focused is None
        other = as_found(address) if place.stage == "found" else as_planned(address)
        await self.sheet.show(focus=in_field, address=other)
        if place.stage == "planned":
            self.surface.say(
                "As planned: italics show what was found; type over it what the work will make of it."
            )

    async def do_missing(self) -> None:
        """To the next entry that cannot be read, else the next that a finding waits for."""
        self.entering.keep()
        finding = self.pane.highlighted if self.pane.options.has_focus else None
        wanting = self.place.session.wanting()
        stage, other = self.place.stage, "found" if self.place.stage == "planned" else "planned"
        addresses = (
            list(finding.missing)
            if finding and finding.missing
            else [a for a in wanting if stage_of(a) == stage]
        )
        if not addresses and wanting:
            count = "1 entry waits" if len(wanting) == 1 else f"{len(wanting)} entries wait"
            self.surface.say(f"Nothing is missing as {stage}. As {other}, {count}: F2 goes there.")
            return
        if not addresses:
            self.surface.say("Nothing is missing that a finding waits for.")
            return
        here = self.sheet.address
        on_it = here in addresses and (here in self._led or self.surface.field is None)
        at = (addresses.index(here) + on_it) % len(addresses) if here in addresses else 0
        self._led[:] = [addresses[at]]
        await self.go_to(addresses[at])

    def do_sections(self) -> None:
        """Ask for a section."""
        self.entering.keep()
        self.surface.start(self._ask_section())

    async def _ask_section(self) -> None:
        here = self.place.sections
        answers: list[tuple[str, str | Content]] = [
            (str(at), stop.line(36)) for at, stop in enumerate(self.sheet.stops())
        ]
        answer = await self.surface.ask(ChoicePage("Sections", "", answers, first=str(self.place.number)))
        if answer is not None:
            self.place.turn_to(here[int(answer)])
            await self.sheet.show(focus=True)
