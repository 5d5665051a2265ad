"""The findings beside the fields: rules at once, models from a worker, and the view that may stand in their place."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import TYPE_CHECKING

from hearthcalc.findings import Assessment
from hearthcalc_tui.desk.place import Place
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.session import Session, Snapshot
from hearthcalc_tui.widgets.findings import FindingsPane

if TYPE_CHECKING:
    from hearthcalc_tui.widgets.views import Shown

MODELS_WAIT = 0.05  # seconds without a key before the models run, so that they do not run for each digit


class Answers:
    """Shows what the record is judged to be.

    working: the models have still to be heard.  whole: shows a view on the page that has the whole screen, while there is one.
    """

    def __init__(self, surface: Surface, place: Place, pane: FindingsPane, heard: Callable[[], None]) -> None:
        """heard: called when the models have been heard."""
        self._surface = surface
        self._place = place
        self._pane = pane
        self._heard = heard
        self._waiting: asyncio.TimerHandle | None = None
        self.working = False
        self.whole: Callable[[Shown], None] | None = None

    @property
    def in_hand(self) -> bool:
        """Is the cursor in the list of findings."""
        return self._surface.focused is self._pane.options

    def show(self) -> None:
        """Show the findings of the record as it stands, and have the models judge it."""
        self.working = self._run_models()
        self._pane.show(self._place.session.assess(), self._place.judged_stage, working=self.working)
        self.show_view()

    def show_view(self) -> None:
        """The view beside the fields, where there is one, as the record stands."""
        if self._pane.view is not None:
            from hearthcalc_tui.desk.views import shown

            made = shown(self._place, working=self.working)
            self._pane.view.show(made)
            if self.whole is not None:
                self.whole(made)

    def _run_models(self) -> bool:
        """Have the models judge the record, away from the thread that draws. False where they have."""
        if self._place.session.modelled:
            return False
        if self._waiting is not None:
            self._waiting.cancel()
        self._waiting = self._surface.after(MODELS_WAIT, self._start_models)
        return True

    def _start_models(self) -> None:
        session = self._place.session
        if session.modelled:  # heard meanwhile: what they say must not stand twice
            return
        snapshot, rules = session.now, session.assess()
        self._surface.start_thread(lambda: self._models(session, snapshot, rules), group="models")

    def _models(self, session: Session, snapshot: Snapshot, rules: Assessment) -> None:
        """In a thread of its own: a fault in a model costs its findings, and is told; the rules stand."""
        try:
            full = session.judge.with_models(snapshot, rules)
        except Exception as error:
            self._surface.from_thread(
                self._surface.say, f"The models failed: {type(error).__name__}: {error}", bad=True
            )
            full = rules
        self._surface.from_thread(self._hear, session, snapshot, full)

    def _hear(self, session: Session, snapshot: Snapshot, full: Assessment) -> None:
        if session is self._place.session and session.hear(snapshot, full):
            self._heard()
