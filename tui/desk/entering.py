"""Taking what is typed: into the record, into the draft, back out of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct

from hearthcalc.models.heat import TradeName, materials, trade_names
from hearthcalc_tui.desk.drafts import Drafts
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.field import Field
from hearthcalc_tui.safe import plain
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.rows import MATERIAL, PICK

SOLD = "sold:"  # before a trade name in the list of materials
MANY = 15  # choices, beyond which a list is shown on a page of its own


class Entering(Struct, frozen=True):
    """Owner of the fields: hears of each key in order. copy: puts a text on the clipboard; copied: what is on it."""

    surface: Surface
    place: Place
    sheet: Sheet
    drafts: Drafts
    copy: Callable[[str], None]
    copied: Callable[[], str]

    def edited(self, field: Field) -> None:
        """Every key that changes an entry: judged anew at once."""
        if field.address.startswith(PICK):
            self.place.pick(field.address.removeprefix(PICK), field.text)
        else:
            self.place.session.type(field.address, field.text)
        self.sheet.refresh(but=field)

    def left(self, field: Field) -> None:
        """The entry is meant: one step of undo, and into the draft. A key may have come to the next field before this is heard."""
        if self.place.session.being_typed(field.address):
            self.keep()

    def keep(self) -> None:
        """Take what is being typed into the record."""
        session = self.place.session
        taken, address = session.taken, session.typed_at
        names = session.keep()
        if names is None:
            self.surface.entered(address)
            return
        if taken:
            self.surface.say(f"Taken as {taken}. Ctrl+Z takes it back.")
        if names[0]:
            self.place.renamed(*names)
        self.drafts.write(address)
        self.sheet.refresh()

    def take(self, entries: Sequence[tuple[str, str]]) -> None:
        """Enter several texts, by their addresses, as one step."""
        self.place.session.take(entries)
        self.drafts.write()

    async def changed(self, address: str = "") -> None:
        """A command has changed the record: into the draft, and show it. address: where the cursor goes."""
        self.drafts.write()
        await self.sheet.show(focus=True, address=address)

    # What commands do

    def do_revert(self) -> None:
        field = self.surface.field
        if field:
            field.revert()

    def do_suggestion(self) -> None:
        """Take the unit that is asked about."""
        field, row = self.surface.field, self.sheet.row
        if field and row and row.suggestion:
            field.put(row.suggestion)
        elif field and row and len(row.choices) > MANY:
            self.surface.start(self._browse(field, row))
        else:
            self.surface.say("There is nothing to suggest for this entry.")

    async def _browse(self, field: Field, row: Row) -> None:
        """A long list to choose from, each by its title; of materials, those that the trade has a name for first."""
        from hearthcalc_tui.screens.browse import BrowsePage

        session = self.place.session
        known = materials(session.edition()) if row.key == MATERIAL else {}
        sold = trade_names(session.edition(), session.now.job.units) if known else ()
        rows = [
            (SOLD + each.name, f"{each.name}: {known[each.material].title}, {each.thickness}")
            for each in sold
        ]
        rows += sorted(((id, known[id].title if id in known else id) for id in row.choices), key=_by_title)
        answer = await self.surface.ask(BrowsePage(row.full_label, rows))
        if answer is None:
            return
        self.surface.focus(field)
        chosen = next((each for each in sold if SOLD + each.name == answer), None)
        if chosen is None:
            field.put(answer)
        else:
            await self._lay(row.address, chosen)

    async def _lay(self, address: str, chosen: TradeName) -> None:
        """A layer as it is sold: material and usual thickness in one step, but a thickness that was entered stays."""
        thickness = f"{address.rpartition('.')[0]}.thickness"
        measured = self.place.session.entry(thickness)
        self.place.session.take_back()
        self.take([(address, chosen.material), *([] if measured else [(thickness, chosen.thickness)])])
        await self.sheet.show(focus=True, address=thickness)
        usual = (
            f"The thickness entered, {plain(measured, 20)}, stays."
            if measured
            else f"{chosen.thickness} is usual: measure it. Ctrl+Z takes it back."
        )
        self.surface.say(f"{chosen.name}. {usual}")

    async def do_undo(self) -> None:
        field = self.surface.field
        if field is None or not field.revert():
            await self._go_back(self.place.session.undo(), "Undone", "There is nothing to undo.")

    async def do_redo(self) -> None:
        self.keep()
        await self._go_back(self.place.session.redo(), "Done again", "There is nothing to redo.")

    async def _go_back(self, what: str | None, done: str, nothing: str) -> None:
        if what is None:
            self.surface.say(nothing)
            return
        field = self.surface.field
        await self.changed(field.address if field else self.sheet.address)
        self.surface.say(f"{done}: {plain(what, 120)}.")

    def do_units(self) -> None:
        self.keep()
        self.place.session.turn_units()
        self.drafts.write()
        self.sheet.refresh()

    def do_copy(self) -> None:
        field = self.surface.field
        if field and field.text:
            self.copy(field.text)
            self.surface.say("The entry is copied. Ctrl+Q quits.")
        else:
            self.surface.say("Ctrl+Q quits.")

    def do_cut(self) -> None:
        field = self.surface.field
        if field and field.text and (field.optional or not field.choices):
            self.copy(field.text)
            field.put("")
            self.surface.say("The entry is cut. Ctrl+V puts it in, Ctrl+Z brings it back.")
        else:
            self.surface.say("There is nothing here to cut.")

    def do_paste(self) -> None:
        field = self.surface.field
        if field and (text := self.copied()):
            field.paste(text)


def _by_title(row: tuple[str, str]) -> str:
    return row[1].casefold()
