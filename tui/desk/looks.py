"""How the screen looks, and every command by name or by a letter."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from msgspec import Struct

from hearthcalc_tui import themes
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.storage import Memory


class Looks(Struct, frozen=True):
    """The theme and the palette. wear: puts a theme on, by its name; wearing: the one that is on; run: runs a command by its id."""

    surface: Surface
    memory: Memory
    wearing: Callable[[], str]
    wear: Callable[[str], None]
    open_palette: Callable[[], None]
    run: Callable[[str], Awaitable[None]]

    def do_theme(self) -> None:
        names = list(themes.BY_NAME)
        name = names[(names.index(self.wearing()) + 1) % len(names)]
        self.wear(name)
        self.memory.remember(theme=name)
        self.surface.say(f"Look: {name}")

    def do_palette(self) -> None:
        self.open_palette()

    def do_by_letter(self) -> None:
        self.surface.start(self._by_letter())

    async def _by_letter(self) -> None:
        from hearthcalc_tui.screens.by_letter import LettersPage

        answer = await self.surface.ask(LettersPage())
        if answer:
            await self.run(answer)
