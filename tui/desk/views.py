"""Views of the stage in hand, beside the fields and over the whole screen. Each is loaded when it is first opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from hearthcalc_tui.desk.answers import Answers
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.desk.walk import Walk
from hearthcalc_tui.widgets.findings import FindingsPane

if TYPE_CHECKING:
    from hearthcalc_tui.widgets.views import Shown


def shown(place: Place, *, working: bool) -> Shown:
    """What the views are drawn from: the stage in hand, as it is judged."""
    from hearthcalc_tui.widgets.views import Shown

    session, stage = place.session, place.judged_stage
    now, result = session.now, session.assess().stages[stage]
    return Shown(session.judge.readable(now), stage, result, session.edition(), now.unread, working)


class Views(Struct, frozen=True):
    """The same key brings a view beside the fields, then over the whole screen, then the findings again."""

    surface: Surface
    place: Place
    sheet: Sheet
    pane: FindingsPane
    answers: Answers
    entering: Entering
    walk: Walk

    async def do_drawing(self) -> None:
        await self._look("drawing")

    async def do_draft(self) -> None:
        await self._look("draft")

    async def do_heat(self) -> None:
        await self._look("heat")

    async def do_takeoff(self) -> None:
        await self._look("takeoff")

    async def _look(self, view: str) -> None:
        self.entering.keep()
        if self.pane.view is not None and self.pane.view.view == view:
            self.enlarge()
            return
        await self.pane.look(view)
        self.answers.show_view()
        parts = ": Tab picks a part, Enter its field" if view == "drawing" else ""
        self.surface.say(f"The same key again: over the whole screen. F6 goes to it{parts}.")

    def enlarge(self) -> None:
        """The view beside the fields over the whole screen."""
        self.surface.start(self._whole())

    async def _whole(self) -> None:
        from hearthcalc_tui.screens.view import ViewPage

        view = self.pane.view
        if view is not None:
            stage = shown(self.place, working=self.answers.working)
            page = ViewPage(view.view, stage, view.part, view.tried)
            self.answers.whole = page.show
            try:
                entry = await self.surface.ask(page)
            finally:
                self.answers.whole = None
            if entry:
                await self.walk.lead_to(entry)
                return
            await self.pane.look("")
            self.sheet.focus_field()
