"""The section on the screen and all that stands round it, brought up to date with the record."""

from __future__ import annotations

import asyncio
from contextlib import ExitStack
from time import monotonic

from textual.content import Content

from hearthcalc.job import signing
from hearthcalc_tui.desk.answers import Answers
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.field import Field
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.sections.form import Form, Row
from hearthcalc_tui.sections.rows import filled
from hearthcalc_tui.sections.table import Section, verdicts_of
from hearthcalc_tui.session import STAGES
from hearthcalc_tui.widgets import telling
from hearthcalc_tui.widgets.rail import Rail, RailLine, Stop

LOOK_AGAIN = 0.01  # seconds
MOST_HELD = 0.4
IN_FINDINGS = Row(
    "",
    "",
    "",
    understood="Enter shows the whole finding: working, basis, remedy.",
    range="F3 goes to the entry it waits for, F6 back to the field.",
)


class Sheet:
    """Shows the section in hand: fields, findings, rail, headings."""

    def __init__(
        self, surface: Surface, place: Place, form: Form, rails: tuple[Rail, RailLine], answers: Answers
    ) -> None:
        self._surface = surface
        self._place = place
        self._form = form
        self._rails = rails
        self._answers = answers
        self._showing = asyncio.Lock()
        self._last: Field | None = None
        self._shown: Section | None = None
        self._held: ExitStack | None = None
        self._late = 0.0
        self._counted: tuple[object, ...] = ()
        self._stops: list[Stop] = []

    # Fields

    @property
    def address(self) -> str:
        """The entry that the cursor was in last, "" for none."""
        return self._last.address if self._last else ""

    @property
    def row(self) -> Row | None:
        """The row of the field that the cursor is in."""
        field = self._surface.field
        return self._form.row_of(field) if field else None

    def focused(self) -> None:
        """The cursor has come to something else."""
        self._last = self._surface.field or self._last
        self._explain()

    def focus_field(self) -> None:
        """Back to the field that the cursor was in."""
        fields = self._form.fields
        self._surface.focus(self._last if self._last in fields else fields[0])

    def step(self, by: int) -> bool:
        """On to the field after this one, or with -1 before it. False at either end of the section."""
        fields, field = self._form.fields, self._surface.field
        at = fields.index(field) + by if field in fields else 0
        if not 0 <= at < len(fields):
            return False
        self._surface.focus(fields[at])
        return True

    # Showing

    async def show(self, *, focus: bool = False, last: bool = False, address: str = "") -> None:
        """Show the section in hand. focus: put the cursor in its first field, its last, or the one at an address."""
        async with self._showing:
            self._place.lay_out()
            self._shown = self._place.section
            await self._form.show(self._place.rows())
        self.refresh()
        if focus:
            self._surface.focus(self._form.field_at(address) or self._form.fields[-1 if last else 0])
        self._explain()

    def refresh(self, but: Field | None = None) -> None:
        """Bring everything shown up to date with the record. but: the field being typed in."""
        if not self._surface.keys_wait:
            self.catch_up(but)
            return
        self._put_off()
        self._place.lay_out()
        if self._place.section != self._shown:  # the next key must find the fields at their new addresses
            self._show_fields(but)

    # Keys are taken before what is shown follows, and nothing is drawn meanwhile: no old number stands beside a new entry.

    def _put_off(self) -> None:
        """Show what has changed later: more keys wait."""
        if self._held is None:
            self._held = self._surface.hold()
            self._late = monotonic() + MOST_HELD
            self._surface.after(LOOK_AGAIN, self._look_again)

    def _look_again(self) -> None:
        if self._held is not None and self._surface.keys_come and monotonic() < self._late:
            self._surface.after(LOOK_AGAIN, self._look_again)
        else:
            self.catch_up(self._surface.field)

    def catch_up(self, but: Field | None = None) -> None:
        """Show all as the record stands, and draw again. but: the field being typed in."""
        held, self._held = self._held, None
        try:
            self._show_fields(but)
            self.show_round()
            self._explain()
        finally:
            if held is not None:
                held.close()

    def settle(self) -> None:
        """Show what was put off: a command is going to look at it."""
        if self._held is not None:
            self.catch_up(self._surface.field)

    def _show_fields(self, but: Field | None) -> None:
        """The fields of the section, where they are the same; else the section is shown anew."""
        self._place.lay_out()
        before, shown, self._shown = self._shown, self._place.rows(), self._place.section
        same = before is not None and before.id == self._shown.id
        if [row.key for row in shown] == [row.key for row in self._form.rows]:
            self._form.fill(shown, but=but)
        elif not (same and self._form.adjust(shown, but=but)) and not self._showing.locked():
            self._surface.later(self.show, focus=True, address=self.address)

    def show_round(self) -> None:
        """The findings, and what of them the rail and the headings show."""
        self._answers.show()
        at, every = self._place.number, self.stops()
        for rail in self._rails:
            rail.show(every, at)
        self._entitle(every[at])

    def stops(self) -> list[Stop]:
        """Every section as the rail shows it. They are counted anew only where the record, its findings or the sections have changed."""
        place, session = self._place, self._place.session
        of = session.now, session.assess(), session.typed_at, place.stage, place.sections
        if of != self._counted:
            findings = session.assess().stages[place.judged_stage].findings
            verdicts = verdicts_of(place.sections, findings)
            self._stops = []
            for section, verdict in zip(place.sections, verdicts, strict=True):
                known, fields, unread = filled(session, section, place.stage)
                self._stops.append(Stop(section.title, known, fields, verdict, unread))
            self._counted = of
        return self._stops

    def _entitle(self, stop: Stop) -> None:
        session, stage = self._place.session, STAGES[self._place.stage]
        whose = stage if self._place.section.kind.planned else "the job itself"
        self._form.entitle(
            Content.assemble(
                safe(stop.title, "bold $brick", 60), (f"  {stop.filled} of {stop.fields}  ", "$quiet"),
                telling.verdict_mark(stop.verdict), (f"  {whose}", "$quiet"),
            )
        )  # fmt: skip
        now = session.now.job
        edited = len(session.edition().edited)
        town = plain(now.about.amendments or "", 16)
        of = ", ".join(part for part in (town, f"{edited} edited" if edited else "") if part)
        by = f"{now.about.edition}{f' ({of})' if of else ''}"
        void = (
            f"sign-off void {GLYPHS.dot} " if any(signing.voided(now, session.edition().fingerprint)) else ""
        )
        tail = f"{void}{stage.upper()} {GLYPHS.dot} {by} {GLYPHS.dot} {now.units}"
        self._surface.head(session.title, unsaved=session.unsaved, kept=session.file.kept, tail=tail)

    def _explain(self) -> None:
        """Say under the fields what was understood of the one in hand."""
        self._form.explain(IN_FINDINGS if self._answers.in_hand else self.row)
