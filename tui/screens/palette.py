"""All commands, to be found by a few letters of their names."""

from __future__ import annotations

from contextlib import suppress

from textual.app import ComposeResult
from textual.command import CommandList, CommandPalette, Hit, Hits
from textual.system_commands import SystemCommandsProvider

from hearthcalc_tui import commands
from hearthcalc_tui.faults import Fits, Guarded, Once
from hearthcalc_tui.widgets.options import Options


class Commands(CommandList, Options, can_focus=False):
    """Those that are found, fewer with each letter."""


class Palette(Guarded, Once, Fits, CommandPalette):
    """Textual's own, but that Enter twice in a hurry closes it once, and keys and clicks may come before the list is drawn."""

    def compose(self) -> ComposeResult:
        for part in super().compose():
            yield Commands() if isinstance(part, CommandList) else part

    def _action_command_list(self, action: str) -> None:
        with suppress(KeyError):  # Page Down into a list that has become shorter and is not laid out yet
            super()._action_command_list(action)


class ByAnyName(SystemCommandsProvider):
    """The commands by their names, and by the other words people know them by."""

    async def search(self, query: str) -> Hits:
        matcher, meant = self.matcher(query), query.strip().casefold()
        offered = list(self.app.get_system_commands(self.screen))
        for command, shown in zip(commands.in_palette(), offered, strict=True):
            if (score := matcher.match(shown.title)) > 0:
                yield Hit(score, matcher.highlight(shown.title), shown.callback, help=shown.help)
            elif meant and any(word.startswith(meant) for word in command.also):
                yield Hit(1.0, shown.title, shown.callback, help=shown.help)
