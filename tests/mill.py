"""A small job in an invented house, and a place of their own for what the program keeps, for the tests of screen and session."""

from pathlib import Path

import pytest

MILL = """\
format = "hearthcalc-job"
version = 1
units = "in"
[about]
title = "Mill cottage"
[[face]]
name = "taproom"
side = "front"
width = "36"
height = "30"
[flue]
liner = "13x13"
"""


def keep_in(folder: Path, patch: pytest.MonkeyPatch) -> None:
    """Drafts, settings and what was opened before lie in a folder, as long as the patch holds."""
    from hearthcalc_tui import storage

    patch.setattr(storage, "state_folder", lambda: folder / "state")
    patch.setattr(storage, "settings_folder", lambda: folder / "settings")
