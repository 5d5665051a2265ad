"""The commands that have a letter, for a terminal that keeps Alt and Shift+F keys to itself."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from hearthcalc_tui import commands
from hearthcalc_tui.screens.page import Page
from hearthcalc_tui.widgets.options import Options


class LettersPage(Page[str]):
    """Answers the id of the command whose letter is pressed; None where it was left."""

    def __init__(self) -> None:
        super().__init__("Commands by a letter", "Press the letter, or Up, Down and Enter; Esc leaves")
        self._commands = sorted((c for c in commands.COMMANDS if c.letter), key=lambda c: c.letter)

    def body(self) -> ComposeResult:
        yield Options(*(Option(_line(command)) for command in self._commands), id="page-answers")

    def on_mount(self) -> None:
        self.query_one(OptionList).focus()

    def on_key(self, event: events.Key) -> None:
        command = next((c for c in self._commands if c.letter == event.key.lower()), None)
        if command is not None:
            event.stop()
            self.dismiss(command.id)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self._commands[event.option_index].id)


def _line(command: commands.Command) -> Content:
    return Content.assemble((f"{command.letter.upper()}  ", "bold $ember"), command.title)
