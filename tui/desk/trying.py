"""What if: entries moved on a page of their own, the smallest change that cures a finding, and how sure the findings are.

The record changes where it is kept.
"""

from __future__ import annotations

from msgspec import Struct

from hearthcalc.findings import Finding, Verdict
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.session import as_found
from hearthcalc_tui.widgets.findings import FindingsPane


class Trying(Struct, frozen=True):
    """Opens the pages; they are loaded when they are first opened."""

    surface: Surface
    place: Place
    sheet: Sheet
    pane: FindingsPane
    entering: Entering

    def do_whatif(self) -> None:
        """From the entry in hand and the finding in hand."""
        self.entering.keep()
        self.surface.start(self._move())

    async def _move(self) -> None:
        from hearthcalc_tui.screens.whatif import WhatIfPage
        from hearthcalc_tui.session.trial import Trial

        session, stage, row = self.place.session, self.place.judged_stage, self.sheet.row
        trial = Trial(session.now, stage)
        if not trial.entries:
            self.surface.say("Nothing is entered yet that can be moved.")
            return
        finding = self.pane.highlighted
        page = WhatIfPage(
            trial,
            session.edition(),
            stage,
            session.assess(),
            as_found(row.address) if row else "",
            finding.key if finding else None,
            modelled=session.modelled,
        )
        document = await self.surface.ask(page)
        if document is not None:
            session.start_with(document)
            await self.entering.changed()
            self.surface.say("Kept. Ctrl+Z takes it back.")

    def do_smallest(self) -> None:
        """Of the finding in hand."""
        self.entering.keep()
        finding = self.pane.highlighted
        if finding is None:
            self.surface.say("No finding is in hand. F6 goes to them.")
        else:
            self.surface.start(self.cure(finding))

    def do_sure(self) -> None:
        """Of what decides, as it stands in the record."""
        self.entering.keep()
        self.surface.start(self._sure())

    async def _sure(self) -> None:
        from hearthcalc_tui.screens.howsure import SurePage

        session = self.place.session
        await self.surface.ask(SurePage(session.judge.readable(session.now), session.edition()))

    async def cure(self, finding: Finding) -> None:
        """Look for what cures a finding, and plan what is chosen."""
        from hearthcalc.whatif.levers import planned
        from hearthcalc_tui.screens.cures import CuresPage

        session = self.place.session
        deciding = session.assess().deciding
        now = next((one for one in deciding.findings if one.key == finding.key), None)
        if now is None or now.verdict is not Verdict.SHORT or now.kind == "advice":
            self.surface.say(
                f"{finding.title} does not fall short{'' if deciding.name == 'found' else ' as planned'}."
            )
            return
        plan = await self.surface.ask(CuresPage(now, session.judge.readable(session.now), session.edition()))
        if plan is not None:
            session.start_with(planned(session.now.document, plan))
            await self.entering.changed()
            self.surface.say("It is in the plan. Ctrl+Z takes it back.")
