"""All commands, to be found by a few letters of their names."""

from __future__ import annotations

from contextlib import suppress

from textual.command import CommandPalette

from hearthcalc_tui.faults import Guarded, Once


class Palette(Guarded, Once, CommandPalette):
    """Textual's own, but that Enter twice in a hurry closes it once, and keys may come before the list is drawn."""

    def _action_command_list(self, action: str) -> None:
        with suppress(KeyError):  # Page Down into a list that has become shorter and is not laid out yet
            super()._action_command_list(action)
