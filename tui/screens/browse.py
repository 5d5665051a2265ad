"""A long list to choose from: letters leave only the rows that have them."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.widgets.options import Options

NOTHING = "Nothing here is called that, so nothing is chosen. Backspace takes a letter back."


class BrowsePage(Page[str]):
    """One list and its rows, by their ids. Esc answers None, which changes nothing."""

    def __init__(self, title: str, rows: Sequence[tuple[str, str]]) -> None:
        """rows: id and text of each."""
        super().__init__(title, "Type letters of a name; Up and Down choose, Enter takes it, Esc leaves it")
        self._all, self._shown = tuple(rows), tuple(rows)
        self._sought = ""

    def body(self) -> ComposeResult:
        yield Static(safe(""), id="browse-sought")
        yield Options(id="page-answers")

    def on_mount(self) -> None:
        self._list()
        self.query_one(OptionList).focus()

    def _list(self) -> None:
        """Show the rows that have all the words typed; none of them is chosen where there are none."""
        words = self._sought.casefold().split()
        self._shown = tuple(row for row in self._all if all(word in row[1].casefold() for word in words))
        rows = self.query_one(OptionList)
        rows.set_options(Option(safe(text)) for _, text in self._shown)
        rows.highlighted = 0 if self._shown else None
        told = f"Search: {plain(self._sought, 60)}" if self._sought else "Search:"
        self.query_one("#browse-sought", Static).update(safe(told if self._shown else f"{told}\n{NOTHING}"))

    def on_key(self, event: events.Key) -> None:
        if event.key == "backspace":
            self._sought = self._sought[:-1]
        elif event.is_printable and event.character:
            self._sought += event.character
        else:
            return
        event.stop()
        event.prevent_default()
        self._list()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self._shown[event.option_index][0])
