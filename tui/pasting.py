"""A pasted list of measurements, one a line: which fields it falls into, and what would be understood of each line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.content import Content

from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.screens.agree import AgreePage
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.rows import rows
from hearthcalc_tui.session import Session, is_name

if TYPE_CHECKING:
    from hearthcalc_tui.desk import Desk

Place = tuple[str, Row]


@dataclass(frozen=True, slots=True)
class Fall:
    """Where each line falls. entries: address and text; left: lines for which there is no field any more."""

    entries: tuple[tuple[str, str], ...]
    left: int


def places(desk: Desk, start: str) -> Iterator[Place]:
    """Section and row of each field from an address on, in the order of the walk. Names are not filled by a list."""
    session, begun = desk.session, False
    for section in desk.sections_from_here():
        for row in rows(session, section, desk.stage):
            begun = begun or row.address == start
            if begun and row.key and not is_name(row.address):
                yield section.title, row


def fall(here: Sequence[Place], lines: Sequence[str]) -> Fall:
    """Let lines fall into fields, one each; an empty line leaves its field as it is."""
    entries = [(row.address, _answer(row, line)) for (_, row), line in zip(here, lines, strict=False) if line]
    return Fall(tuple(entries), max(0, len(lines) - len(here)))


def _answer(row: Row, line: str) -> str:
    """A line as its field takes it: a choice goes by its beginning, as by typing."""
    begun = [choice for choice in row.choices if choice.lower().startswith(line.lower())]
    return begun[0] if begun and line not in row.choices else line


def told(session: Session, here: Sequence[Place], fallen: Fall, desk: Desk) -> Content:
    """The list as it would be taken: section, field, and what was understood or why it cannot be."""
    with session.trying(fallen.entries):
        after = {row.address: row for _, row in places(desk, here[0][1].address)}
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
    elif row.note is not None:
        yield safe(f"    ? {row.note.text}", "$verdict-close", 400)


async def paste(desk: Desk, start: str, lines: Sequence[str]) -> None:
    """Show what a pasted list would fill, and fill it where that is agreed to."""
    desk.keep()
    here = list(places(desk, start))[: len(lines)]
    if not here:
        desk.hearth.say("There is no field for a list from here on.")
        return
    fallen = fall(here, [plain(line.strip()) for line in lines])
    title = f"Paste {len(fallen.entries)} entries, as {desk.stage}"
    if not await desk.app.push_screen_wait(AgreePage(title, told(desk.session, here, fallen, desk))):
        desk.hearth.say("Nothing was pasted.")
        return
    desk.keep()
    desk.session.take(fallen.entries)
    desk.write_draft()
    await desk.go_to(fallen.entries[-1][0])
    desk.hearth.say(f"{len(fallen.entries)} entries taken. Ctrl+Z takes them all back.")
