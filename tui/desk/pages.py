"""Pages opened over the desk: how to measure, what is still to be measured, the cautions, the reference values."""

from __future__ import annotations

import asyncio

from msgspec import Struct
from textual.content import Content

from hearthcalc import caution, reference
from hearthcalc_tui import commands
from hearthcalc_tui.desk.answers import Answers
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.desk.walk import Walk
from hearthcalc_tui.entries import name_of
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.page import TextPage
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.storage import Memory
from hearthcalc_tui.widgets.editions import in_full

EDITION = "about.edition"


class Pages(Struct, frozen=True):
    """Opens them, and goes where their answer leads."""

    surface: Surface
    place: Place
    sheet: Sheet
    answers: Answers
    entering: Entering
    walk: Walk
    memory: Memory

    def do_how(self) -> None:
        self.surface.start(self._show_how(self.sheet.row))

    async def _show_how(self, row: Row | None) -> None:
        if row is not None and row.key == EDITION:  # it tells of all of them: a third of a second to read
            await asyncio.to_thread(reference.editions)
        await self.surface.ask(TextPage("How to measure, and the keys", how_text(row)))

    def do_site_list(self) -> None:
        self.entering.keep()
        self.surface.start(self._show_site_list())

    async def _show_site_list(self) -> None:
        seen: dict[str, Content] = {}
        for stage in self.place.session.assess().stages.values():
            for measure in stage.measure:
                waits = ", ".join(measure.waits[:3])
                seen[measure.address] = Content.assemble(
                    safe(name_of(measure.address), "bold"), "\n",
                    safe(measure.unread or measure.how, "$verdict-short" if measure.unread else ""), "\n",
                    safe(f"{waits} waits for it." if waits else "", "$quiet"),
                )  # fmt: skip
        if not seen:
            self.surface.say("Nothing is left to measure for what is judged here.")
            return
        page = ChoicePage("Site list: still to be measured, in the order of the walk", "", list(seen.items()))
        answer = await self.surface.ask(page)
        if answer is not None:
            await self.walk.go_to(answer)

    def do_caution(self) -> None:
        self.surface.open(caution_page())

    def do_reference(self) -> None:
        """Browse, search and amend the values of the job's edition."""
        from hearthcalc_tui.screens.reference import ReferencePage

        self.entering.keep()
        self.surface.open(ReferencePage(self.place.session, self.memory, self._values_changed))

    def do_validation(self) -> None:
        """The models held against what was published, by the values of the job's edition."""
        self.entering.keep()
        self.surface.start(self._show_validation())

    async def _show_validation(self) -> None:
        from hearthcalc import validation
        from hearthcalc_tui.screens.validation import text

        held = await asyncio.to_thread(validation.hold_all, self.place.session.edition())
        await self.surface.ask(TextPage("How far the models can be trusted", text(held)))

    def do_coverage(self) -> None:
        """The clauses of the job's edition, with what of them this stage is judged by."""
        self.entering.keep()
        self.surface.start(self._show_coverage())

    async def _show_coverage(self) -> None:
        from hearthcalc import coverage
        from hearthcalc_tui.screens.coverage import text

        session = self.place.session
        assessment = session.assess()
        result = assessment.stages.get(self.place.stage, assessment.deciding)
        shown = text(coverage.load(session.edition()), result)
        await self.surface.ask(TextPage("What was judged, and what was not", shown))

    def _values_changed(self) -> None:
        """Reference values are others now: judge anew."""
        self.sheet.refresh()


def how_text(row: Row | None) -> Content:
    """How to measure what a field asks for, and every key."""
    rows: list[Content] = []
    if row is not None and row.how:
        rows += [
            safe(row.full_label, "bold $brick"),
            safe(row.how),
            safe(row.range, "$quiet"),
            safe(f"In the file: {row.address}", "$quiet"),
            Content(""),
        ]
        if row.unit:
            rows += [
                Content("Type it as you read it off the tape: 7 1/2, 7-1/2, 2' 6, 2 ft 6 1/2 in, 190.5 mm, 19 cm, 1.2 m."), Content("")
            ]  # fmt: skip
    if row is not None and row.key == EDITION:
        rows += [in_full(reference.editions(), row.text), Content("")]
    for group in commands.GROUPS:
        rows.append(Content.styled(group, "bold $brick"))
        rows += [
            Content.assemble((f"{commands.keys_of(command):<18} ", "bold $ember"), command.title)
            for command in commands.COMMANDS
            if command.group == group
        ]
        rows.append(Content(""))
    return Content("\n").join(rows)


def caution_page() -> TextPage:
    """The cautions in full; the line itself stands above every page."""
    lines = [Content.assemble((f"{GLYPHS.dot} ", "bold $verdict-close"), line) for line in caution.FULL]
    return TextPage("Before you rely on this", Content("\n\n").join(lines))
