"""Lists to choose from, by key or mouse."""

from __future__ import annotations

from textual import events
from textual.widgets import OptionList

from hearthcalc_tui.faults import Guarded


class Options(Guarded, OptionList):
    """Textual's own, but that it may hold less by now than is drawn of it: a click on what it holds no more does nothing."""

    async def _on_click(self, event: events.Click) -> None:
        if event.style.meta.get("option", -1) >= self.option_count:
            event.prevent_default()
