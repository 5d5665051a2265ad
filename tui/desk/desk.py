"""The desk: rail, form and findings of one job, and the concerns that work on them."""

from __future__ import annotations

import asyncio
import inspect
from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import OptionList

from hearthcalc_tui.desk.answers import Answers
from hearthcalc_tui.desk.compare import Compare
from hearthcalc_tui.desk.drafts import Drafts
from hearthcalc_tui.desk.entering import Entering
from hearthcalc_tui.desk.files import Files
from hearthcalc_tui.desk.lettered import Lettered
from hearthcalc_tui.desk.looks import Looks
from hearthcalc_tui.desk.pages import Pages
from hearthcalc_tui.desk.paper import Paper
from hearthcalc_tui.desk.pasting import Pasting
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.planning import Planning
from hearthcalc_tui.desk.pointing import Pointing
from hearthcalc_tui.desk.sheet import Sheet
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.desk.things import Things
from hearthcalc_tui.desk.trying import Trying
from hearthcalc_tui.desk.views import Views
from hearthcalc_tui.desk.walk import Walk
from hearthcalc_tui.faults import Guarded
from hearthcalc_tui.field import Field
from hearthcalc_tui.sections.form import Form
from hearthcalc_tui.session import Session
from hearthcalc_tui.widgets.findings import FindingsPane
from hearthcalc_tui.widgets.rail import Rail, RailLine

if TYPE_CHECKING:
    from hearthcalc_tui.app import HearthcalcApp
    from hearthcalc_tui.widgets.views import ViewBody


STEPS = ("next", "previous", "next_section", "previous_section")  # they look at nothing but the fields


class Desk(Guarded, Vertical):
    """Where the work is done. It puts the concerns together, and hands them what happens."""

    def __init__(self, app: HearthcalcApp, session: Session) -> None:
        super().__init__(id="desk")
        self._stands = app.desk_stands
        self.place = place = Place(session)
        self.form, self.pane = form, pane = Form(), FindingsPane()
        self._rail, self._rail_line = Rail(), RailLine()
        self._surface = surface = Surface(self)
        self._drafts = drafts = Drafts(surface, place)
        self.answers = answers = Answers(surface, place, pane, self._models_heard)
        self._sheet = sheet = Sheet(surface, place, form, (self._rail, self._rail_line), answers)
        self._entering = entering = Entering(
            surface, place, sheet, drafts, app.copy_to_clipboard, lambda: app.clipboard
        )
        self.walk = walk = Walk(surface, place, sheet, entering, pane)
        self._views = Views(surface, place, sheet, pane, answers, entering, walk)
        trying = Trying(surface, place, sheet, pane, entering)
        self._pointing = Pointing(surface, place, sheet, pane, entering, walk, trying.cure)
        self._pasting = Pasting(surface, place, entering, walk)
        self.files = Files(surface, place, sheet, entering, drafts, app.memory, self._put, app.leave)
        concerns = (
            entering,
            walk,
            Things(surface, place, sheet, entering),
            Planning(surface, place, entering, walk),
            Lettered(surface, place, sheet, entering),
            self._pointing,
            self._views,
            trying,
            Compare(surface, place, entering),
            Pages(surface, place, sheet, answers, entering, walk, app.memory),
            self.files,
            Paper(surface, place, sheet, entering, app.memory),
            Looks(surface, app.memory, lambda: app.theme, app.wear, app.action_command_palette, self.run),
        )
        self.actions = actions_of(concerns)
        form.owner = entering

    def compose(self) -> ComposeResult:
        yield self._rail_line
        with Horizontal(id="panes"):
            yield self._rail
            yield self.form
            yield self.pane

    def on_mount(self) -> None:
        # The findings are drawn before the fields are made, which takes as long again.
        self._sheet.show_round()
        self.call_after_refresh(self._begin)

    async def _begin(self) -> None:
        await self._sheet.show(focus=True)
        self._stands()

    async def run(self, id: str) -> None:
        """Run a command, after every key before it has done its work."""
        focused = self._surface.field
        if focused is not None:
            done = asyncio.Event()
            focused.call_later(done.set)
            await done.wait()
        self._surface.say("")
        if id not in STEPS:
            self._sheet.settle()
        outcome = self.actions[id]()
        if inspect.isawaitable(outcome):
            await outcome

    async def _put(self, session: Session) -> None:
        """Show another job in the place of this one."""
        self.place.open(session)
        await self._sheet.show(focus=True)

    @property
    def in_field(self) -> bool:
        """Is the cursor in a field: it takes keys as fast as they come."""
        return self._surface.field is not None

    def keep_all(self) -> None:
        """Keep the record with what is being typed in the draft, from any thread. HearthError where that fails."""
        self._drafts.keep_all()

    def close(self) -> None:
        """Wait for the last draft; called once, when the program ends."""
        self._drafts.close()
        self.place.session.file.release()

    # What happens on the screen

    def _models_heard(self) -> None:
        self._sheet.refresh(but=self._surface.field)

    def on_descendant_focus(self) -> None:
        self._sheet.focused()

    def on_field_list_pasted(self, event: Field.ListPasted) -> None:
        event.stop()
        self._pasting.paste(event.field, event.rows)

    async def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        if event.option_list is self._rail:
            await self.walk.turn_to(event.option_index)

    async def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        if event.option_list is self._rail and self._rail.has_focus:
            await self.walk.turn_to(event.option_index, focus=False)

    def on_findings_pane_chosen(self, event: FindingsPane.Chosen) -> None:
        self._surface.start(self._pointing.show(event.finding))

    async def on_findings_pane_sought(self, event: FindingsPane.Sought) -> None:
        await self._pointing.to_first(event.stage, event.verdict)

    def on_view_body_chosen(self) -> None:
        """Enter on the view beside the fields."""
        self._views.enlarge()

    async def on_view_body_sought(self, event: ViewBody.Sought) -> None:
        await self.walk.lead_to(event.entry)


def actions_of(concerns: tuple[object, ...]) -> dict[str, Callable[[], object]]:
    """What each command does, by its id: the method do_<id> of one concern."""
    return {
        name.removeprefix("do_"): getattr(concern, name)
        for concern in concerns
        for name in dir(concern)
        if name.startswith("do_")
    }
