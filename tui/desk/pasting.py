"""A pasted list of measurements, one a line: which fields it falls into, and what would be understood of each line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct
from textual.content import Content

from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.desk.walk import Walk
from hearthcalc_tui.entries import NEW_LINE
from hearthcalc_tui.field import Field
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.screens.agree import AgreePage
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.rows import rows
from hearthcalc_tui.session import is_name

NOTES = "about.notes"
Target = tuple[str, Row]


class Fall(Struct, frozen=True):
    """Where each line falls. entries: address and text; left: lines for which there is no field any more."""

    entries: tuple[tuple[str, str], ...]
    left: int


def targets(place: Place, start: str) -> Iterator[Target]:
    """Section and row of each field from an address on, in the order of the walk. Names are not filled by a list."""
    begun = False
    for section in place.sections[place.number :]:
        for row in rows(place.session, section, place.stage):
            begun = begun or row.address == start
            if begun and row.key and not is_name(row.address):
                yield section.title, row


def fall(here: Sequence[Target], lines: Sequence[str]) -> Fall:
    """Let lines fall into fields, one each; an empty line leaves its field as it is."""
    entries = [
        (row.address, as_chosen(row, line)) for (_, row), line in zip(here, lines, strict=False) if line
    ]
    return Fall(tuple(entries), max(0, len(lines) - len(here)))


def as_chosen(row: Row, line: str) -> str:
    """A line as its field takes it: a choice goes by its beginning, as by typing."""
    begun = [choice for choice in row.choices if choice.lower().startswith(line.lower())]
    return begun[0] if begun and line not in row.choices else line


def preview(place: Place, here: Sequence[Target], fallen: Fall) -> Content:
    """The list as it would be taken: section, field, and what was understood or why it cannot be."""
    with place.session.trying(fallen.entries):
        after = {row.address: row for _, row in targets(place, here[0][1].address)}
    entries = dict(fallen.entries)
    lines: list[Content] = []
    section = ""
    for title, row in here:
        if row.address not in entries:
            continue
        if title != section:
            section = title
            lines.append(safe(title, "bold $brick", 60))
        lines += _line(after.get(row.address, row), entries[row.address], row.text)
    if fallen.left:
        lines.append(safe(f"{fallen.left} more have no field and are left out.", "bold $verdict-short"))
    return Content("\n").join(lines)


def _line(row: Row, text: str, before: str) -> Iterator[Content]:
    """One field: its label and what was understood of its line; below it a mistake or a question."""
    understood = row.echo if row.echo and row.echo != text else ""
    was = f"   (was {plain(before, 40)})" if before and before != text else ""
    yield Content.assemble(
        safe(f"  {row.label}: ", limit=60), safe(text, "bold", 80),
        safe(f" {GLYPHS.arrow} {understood}" if understood else "", limit=80), safe(was, "$quiet"),
    )  # fmt: skip
    if row.note is not None and row.note.kind == "mistake":
        yield safe(f"    ! {row.note.text}", "$verdict-short", 400)
    elif row.note is not None and row.note.kind == "question":
        yield safe(f"    ? {row.note.text}", "$verdict-close", 400)


class Pasting(Struct, frozen=True):
    """Takes a pasted list into the fields."""

    surface: Surface
    place: Place
    entering: Entering
    walk: Walk

    def paste(self, field: Field, lines: Sequence[str]) -> None:
        """A list falls into the fields from this one on; notes take it whole."""
        if field.address == NOTES:
            field.insert(NEW_LINE.join(plain(line.strip()) for line in lines))
        else:
            self.surface.start(self._paste(field.address, lines))

    async def _paste(self, start: str, lines: Sequence[str]) -> None:
        """Show what the list would fill, and fill it where that is agreed to."""
        with self.surface.paste_waits():
            self.entering.keep()
            here = list(targets(self.place, start))[: len(lines)]
            if not here:
                self.surface.say("There is no field for a list from here on.")
                return
            fallen = fall(here, [plain(line.strip()) for line in lines])
            title = f"Paste {len(fallen.entries)} entries, as {self.place.stage}"
            agreed = await self.surface.ask(AgreePage(title, preview(self.place, here, fallen)))
        if not agreed:
            self.surface.say("Nothing was pasted.")
            return
        self.entering.keep()
        self.entering.take(fallen.entries)
        await self.walk.go_to(fallen.entries[-1][0])
        self.surface.say(f"{len(fallen.entries)} entries taken. Ctrl+Z takes them all back.")
