"""All commands, to be found by a few letters of their names."""

from __future__ import annotations

from textual.command import CommandPalette

from hearthcalc_tui.faults import Guarded, Once


class Palette(Guarded, Once, CommandPalette):
    """Textual's own, but that Enter twice in a hurry closes it once."""
