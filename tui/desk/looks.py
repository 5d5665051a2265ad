"""How the screen looks, and every command by name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from hearthcalc_tui import themes
from hearthcalc_tui.desk.surface import Surface
from hearthcalc_tui.storage import Memory


@dataclass(frozen=True)
class Looks:
    """The theme and the palette. wear: puts a theme on, by its name; wearing: the one that is on."""

    surface: Surface
    memory: Memory
    wearing: Callable[[], str]
    wear: Callable[[str], None]
    open_palette: Callable[[], None]

    def do_theme(self) -> None:
        names = [theme.name for theme in themes.THEMES]
        name = names[(names.index(self.wearing()) + 1) % len(names)]
        self.wear(name)
        self.memory.remember(theme=name)
        self.surface.say(f"Look: {name}")

    def do_palette(self) -> None:
        self.open_palette()
