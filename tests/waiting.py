"""Waiting in the tests of the screen: for what is to come, as long as it takes, and never for a while."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

import pytest
from textual import events
from textual._context import visible_screen_stack
from textual.app import App
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.css.types import CSSLocation
from textual.keys import _character_to_key, key_to_character
from textual.pilot import Pilot
from textual.screen import Screen

if TYPE_CHECKING:
    from hearthcalc_tui.app import HearthcalcApp
    from hearthcalc_tui.desk.desk import Desk

PATIENCE = 30.0  # seconds, on a machine that does much else
LOOK_AGAIN = 0.005  # seconds, where only a clock or a thread can bring what is to come


class Hand(Pilot[None]):
    """Textual's pilot, but it knows when all is done: its own asks each widget, then watches how busy the processor is.

    A key is a character, or the name of a key.
    """

    async def press(self, *keys: str) -> None:
        for key in keys:
            self._send(key)
            await self.pause()

    async def type(self, text: str) -> None:
        """Keys that come faster than the screen follows."""
        for character in text:
            self._send(character)
        await self.pause()

    def _send(self, key: str) -> None:
        one = len(key) == 1
        event = events.Key(_character_to_key(key), key) if one else events.Key(key, key_to_character(key))
        self.app.post_message(event)

    async def click(self, *given: Any, **named: Any) -> bool:
        """A click goes by what is drawn."""
        draw(self.app)
        await settled(self.app)
        return await super().click(*given, **named)

    async def pause(self, delay: float | None = None) -> None:
        assert delay is None, "no test waits for a while"
        await settled(self.app)

    async def _wait_for_screen(self, timeout: float = PATIENCE) -> bool:
        await settled(self.app)
        return True


@asynccontextmanager
async def running(
    app: App[None], size: tuple[int, int] = (80, 24), *, always_drawn: bool = False
) -> AsyncIterator[Hand]:
    """The program without a terminal, and a hand at its keyboard. It is laid out after each key, and drawn when a test looks.

    always_drawn: after each key, as a terminal has it; a list knows how far it scrolls only when it is drawn.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Stylesheet, "_parse_rules", _parsed_once)
        patch.setattr(Screen, "_compositor_refresh", _drawn_anew if always_drawn else _laid_out)
        async with app.run_test(size=size):
            yield Hand(app)


_parsed = Stylesheet._parse_rules
_rules: dict[tuple[Any, ...], list[RuleSet]] = {}


def _parsed_once(
    sheet: Stylesheet, css: str, read_from: CSSLocation, *how: Any, **named: Any
) -> list[RuleSet]:
    """Each style sheet is parsed once for all the tests: nothing changes its rules."""
    key = (css, read_from, how, *named.values(), *sheet._variables.items())
    if key not in _rules:
        _rules[key] = _parsed(sheet, css, read_from, *how, **named)
    return _rules[key]


_drawn = Screen._compositor_refresh


def _laid_out(screen: Screen[Any]) -> None:
    screen._dirty_widgets.clear()
    screen.app._update_mouse_over(screen)


def _drawn_anew(screen: Screen[Any]) -> None:
    _looks.pop(screen.app, None)
    _drawn(screen)


def draw(app: App[None]) -> None:
    """All that has changed since the last look."""
    for screen in (*app._background_screens, app.screen):
        _drawn_anew(screen)


async def settled(app: App[None]) -> None:
    """Wait until every message has been heard and what it changed is drawn. What a clock or a thread will bring is not waited for."""
    end = time.monotonic() + PATIENCE
    while app.is_running and app.screen_stack:
        if time.monotonic() > end:
            pytest.fail(f"the screen does not come to rest:\n{shown(app)}")  # type: ignore[arg-type]
        await at_rest()
        # A burst of keys is over, a new size is taken and a page has scrolled by clocks of a few milliseconds.
        if app._batch_count or app._resize_event or not app.animator._complete_event.is_set():
            await asyncio.sleep(LOOK_AGAIN)
        elif app.screen_stack and _undrawn(app):
            app.screen._on_timer_update()
        else:
            return


async def at_rest() -> None:
    """Wait until every task waits for something that is not there yet: for two turns of the loop, as one may bring what has come in."""
    ready = asyncio.get_running_loop()._ready  # type: ignore[attr-defined]
    quiet = 0
    while quiet < 2:
        await asyncio.sleep(0)
        quiet = 0 if ready else quiet + 1


def _undrawn(app: App[None]) -> bool:
    screen = app.screen
    return screen.is_current and bool(
        screen._layout_required
        or screen._scroll_required
        or screen._repaint_required
        or screen._recompose_required
        or screen._dirty_widgets
        or screen._callbacks
    )


_looks: WeakKeyDictionary[App[None], tuple[list[Screen[Any]], str]] = WeakKeyDictionary()


def shown(app: HearthcalcApp) -> str:
    """What is on the screen, row by row; what the last look saw, where nothing is to be drawn since."""
    for screen in app._background_screens:
        _drawn(screen)
    screen, stack = app.screen, [*app.screen_stack]
    before, text = _looks.get(app, ([], ""))
    if before == stack and not (_undrawn(app) or screen._compositor._dirty_regions):
        return text
    visible_screen_stack.set(app._background_screens)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(app, "_filters", [])  # they put one color in the place of another
        strips = screen._compositor.render_strips()
    text = "\n".join("".join(segment.text for segment in strip) for strip in strips)
    screen._compositor._dirty_regions.clear()
    _laid_out(screen)
    _looks[app] = stack, text
    return text


async def until(pilot: Pilot[None], holds: Callable[[], object], what: str) -> None:
    """Wait until something holds; fail with what it was and the screen where it never does."""
    end = time.monotonic() + PATIENCE
    while not holds():
        if time.monotonic() > end:
            pytest.fail(f"{what} did not come:\n{shown(pilot.app)}")  # type: ignore[arg-type]
        await pilot.pause()
        if not holds():
            await asyncio.sleep(LOOK_AGAIN)


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
