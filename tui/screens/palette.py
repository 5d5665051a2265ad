"""All commands, to be found by a few letters of their names."""

from __future__ import annotations

from contextlib import suppress

from textual.command import CommandPalette, Hit, Hits
from textual.system_commands import SystemCommandsProvider

from hearthcalc_tui import commands
from hearthcalc_tui.faults import Guarded, Once


class ByAnyName(SystemCommandsProvider):
    """Finds a command by its title, or by another word that people use for it."""

    async def search(self, query: str) -> Hits:
        """What a query finds; a title before another word."""
        async for hit in super().search(query):
            yield hit
        matcher = self.matcher(query)
        also = {commands.entitled(command): command.also.split() for command in commands.COMMANDS}
        for title, words, run, *_ in self.app.get_system_commands(self.screen):
            score = max((matcher.match(word) for word in also[title]), default=0)
            if score and not matcher.match(title):
                yield Hit(score / 2, title, run, help=words)


class Palette(Guarded, Once, CommandPalette):
    """Textual's own, but that Enter twice in a hurry closes it once, and keys may come before the list is drawn."""

    def _action_command_list(self, action: str) -> None:
        with suppress(KeyError):  # Page Down into a list that has become shorter and is not laid out yet
            super()._action_command_list(action)
