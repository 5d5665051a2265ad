"""The measuring sheet typed back in by its letters, in any order."""

from __future__ import annotations

from msgspec import Struct
from textual.content import Content

from hearthcalc.errors import HearthError
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.pasting import as_chosen
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.rows import rows
from hearthcalc_tui.sections.table import place_of
from hearthcalc_tui.session import stage_of


class Lettered(Struct, frozen=True):
    """Takes "b 36 1/2" into the entry that has the letter B on the sheet."""

    surface: Surface
    place: Place
    sheet: Sheet
    entering: Entering

    def do_from_paper(self) -> None:
        self.entering.keep()
        self.surface.start(self._letters())

    async def _letters(self) -> None:
        from hearthcalc.report import measuring
        from hearthcalc_tui.screens.lettered import LetteredPage

        mark = measuring.mark(self.place.session.now.job)
        question = f"For the paper that says Sheet {mark}; on another the letters mean other things. A line: a 36 1/2"
        await self.surface.ask(LetteredPage("From the measuring sheet", question, self.take))
        await self.sheet.show(focus=True)

    def take(self, line: str) -> tuple[bool, Content]:
        """Enter one line. Returns whether it was taken, and what there is to say of it."""
        from hearthcalc.report import measuring

        session = self.place.session
        try:
            address, text = measuring.read_back(session.now.job, line)
        except HearthError as error:
            return False, safe(f"! {error}", "$verdict-short", 400)
        row = self._row(address)
        if row is None:
            return False, safe(
                "! That entry is made of several: enter it in its own section.", "$verdict-short"
            )
        session.type(address, as_chosen(row, text))
        now = self._row(address) or row
        if now.note is not None and now.note.kind == "mistake":
            session.take_back()
            return False, safe(f"! {row.full_label}: {now.note.text}", "$verdict-short", 400)
        self.entering.keep()
        told = f"{row.full_label}: {now.text}" + (f" {GLYPHS.arrow} {now.echo}" if now.echo else "")
        asks = f"  ? {now.note.text}" if now.note is not None and now.note.kind == "question" else ""
        return True, Content.assemble(safe(told, limit=200), safe(asks, "$verdict-close", 300))

    def _row(self, address: str) -> Row | None:
        """What the screen shows of an entry, whatever section stands before the fields."""
        session, stage = self.place.session, stage_of(address)
        there = place_of(session.job(stage), address)
        if there is None:
            return None
        return next(
            (row for row in rows(session, there[0], stage) if row.address == address and row.key), None
        )
