"""Waiting in the tests of the screen: for what is to come, as long as it takes, and never for a while."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from textual.pilot import Pilot

if TYPE_CHECKING:
    from hearthcalc_tui.app import HearthcalcApp
    from hearthcalc_tui.desk.desk import Desk

PATIENCE = 30.0  # seconds, on a machine that does much else


def shown(app: HearthcalcApp) -> str:
    """What is on the screen, row by row."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in strips)


async def until(pilot: Pilot[None], holds: Callable[[], object], what: str) -> None:
    """Wait until something holds; fail with what it was and the screen where it never does."""
    end = time.monotonic() + PATIENCE
    while not holds():
        if time.monotonic() > end:
            pytest.fail(f"{what} did not come:\n{shown(pilot.app)}")  # type: ignore[arg-type]
        await pilot.pause()


async def at_desk(pilot: Pilot[None], app: HearthcalcApp) -> Desk:
    """The desk, once the job is on the screen with the cursor in its first field."""
    await opened(pilot, app)
    assert app.desk is not None
    return app.desk


async def opened(pilot: Pilot[None], app: HearthcalcApp) -> None:
    """Wait until the job is on the screen with the cursor in its first field, or the program has ended without it."""
    await until(
        pilot, lambda: app.fault or (app.desk is not None and app.screen_stack[0].focused), "the first field"
    )
