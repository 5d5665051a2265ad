"""Between fields and findings: to the list and back, to those that use an entry, and one of them whole."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import Any

from msgspec import Struct, field

from hearthcalc.findings import Finding, Verdict
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.desk.walk import Walk
from hearthcalc_tui.safe import plain
from hearthcalc_tui.screens.page import TextPage
from hearthcalc_tui.sections.limits import field_of
from hearthcalc_tui.sections.table import speaks_of
from hearthcalc_tui.widgets import telling
from hearthcalc_tui.widgets.findings import FindingsPane

Key = tuple[str, str, str, str]


class Pointing(Struct):
    """Leads from a field to its findings and back."""

    surface: Surface
    place: Place
    sheet: Sheet
    pane: FindingsPane
    entering: Entering
    walk: Walk
    cure: Callable[[Finding], Coroutine[Any, Any, None]]  # looks for its smallest change
    _from: str = ""  # the entry that one came from
    _using: list[Key] = field(default_factory=list)  # the findings that use it

    def do_findings(self) -> None:
        """To the findings, and back to the field."""
        reader = self.pane.reader
        if self.surface.focused is reader:
            self.sheet.focus_field()
        else:
            self.entering.keep()
            self.surface.focus(reader)

    async def do_uses(self) -> None:
        """From a field to the first finding that uses its entry, on to the next with the same key, and back after the last."""
        self.entering.keep()
        if self.surface.focused is self.pane.options:
            await self._on_from_finding()
            return
        field, row = self.surface.field, self.sheet.row
        if field is None or row is None:
            self.sheet.focus_field()
            return
        session = self.place.session
        using = session.judge.using(session.now, field.address, self.place.stage)
        keys = [key for key in self.pane.keys if key in using]
        if not keys:
            self.surface.say("No finding uses this entry.")
            return
        await self.pane.look("")
        self._from, self._using = field.address, keys
        self.pane.pick(keys[0])
        self.surface.focus(self.pane.options)
        more = (
            f", {len(keys)} in all; the same key: the next, then back"
            if len(keys) > 1
            else "; the same key: back"
        )
        self.surface.say(f"It uses {plain(field.label, 40)}{more}")

    async def _on_from_finding(self) -> None:
        """On to the next finding that uses the entry one came from, or back; else to the section of the finding in hand."""
        finding, keys = self.pane.highlighted, self._using
        if finding is None:
            self.sheet.focus_field()
        elif finding.key in keys:
            at = keys.index(finding.key) + 1
            if at < len(keys):
                self.pane.pick(keys[at])
                goes_on = "the next" if at + 1 < len(keys) else "back"
                self.surface.say(f"{at + 1} of {len(keys)}; the same key: {goes_on}")
            else:
                self._using = []
                await self.walk.go_to(self._from)
        elif field := field_of(finding):
            await self.walk.lead_to(field)
        else:
            section = next((s for s in self.place.sections if speaks_of(finding, s) and s.addresses), None)
            if section is None:
                self.surface.say("This finding belongs to no one section.")
            else:
                await self.walk.go_to(section.addresses[0])

    async def to_first(self, stage: str, verdict: str) -> None:
        """To the first finding of a verdict in a stage."""
        self.entering.keep()
        if stage != self.place.judged_stage:
            await self.walk.do_stage()
        await self.pane.look("")
        self.pane.pick_first(verdict)
        self.surface.focus(self.pane.options)

    async def show(self, finding: Finding) -> None:
        """A finding whole."""
        at = field_of(finding)
        short = finding.verdict is Verdict.SHORT and finding.kind != "advice"
        page = TextPage(
            f"Finding: {finding.title}", telling.full(finding), goes_on="its field" if at else "",
            cures="what would cure it" if short else "",
        )  # fmt: skip
        answer = await self.surface.ask(page)
        if answer == "cure":
            await self.cure(finding)
        elif answer == "go":
            self._from, self._using = "", []
            await self.walk.lead_to(at)
            self.surface.say("F6 goes back to the finding.")
