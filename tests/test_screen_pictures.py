"""The main screens as plain text, to be read in a diff: `tests/pictures/`. Write them anew with HEARTHCALC_PICTURES=write."""

import os
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList
from waiting import at_desk, running, shown, until

from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.screens.whatif import EVERY, WhatIfPage

PICTURES = Path(__file__).parent / "pictures"

WALKS = {
    "hearth_80x24": ((80, 24), "planned", "planned.face.dining.hearth.below", ("up", "down")),
    "flue_120x40": ((120, 40), "found", "flue.liner", ()),
    "near_the_fire_80x24": ((80, 24), "found", 'nearby."pine mantel".above', ()),
    "site_list_80x24": ((80, 24), "found", "about.title", ("ctrl+l",)),
    "draft_80x24": ((80, 24), "planned", "planned.firebox.depth", ("ctrl+d", "ctrl+d")),
    "drawing_80x24": ((80, 24), "found", "about.title", ("ctrl+e", "ctrl+e")),
    "how_to_measure_80x24": ((80, 24), "found", "firebox.throat_height", ("f1",)),
}


pytestmark = pytest.mark.usefixtures("own_state")


def _text(app: HearthcalcApp) -> str:
    return "".join(f"{row.rstrip()}\n" for row in shown(app).split("\n"))


async def _settled(app: HearthcalcApp, pilot: Pilot[None]) -> str:
    """What is shown once the models have been heard and nothing is computed any more."""

    def ready() -> bool:
        page, desk = app.screen, app.desk
        heard = desk is not None and not desk.answers.working and not getattr(page, "working", False)
        return (
            heard
            and page.focused is not None
            and not any(work._thread_worker and work.is_running for work in app.workers)
        )

    await until(pilot, ready, "all that is worked out")
    await pilot.pause()
    return _text(app)


@pytest.mark.parametrize("name", WALKS)
async def test_a_screen_looks_as_it_did(name: str) -> None:
    size, stage, address, keys = WALKS[name]
    app = HearthcalcApp("demo")
    async with running(app, size, always_drawn=True) as pilot:
        await _settled(app, pilot)
        assert app.desk is not None
        if stage == "planned":
            await pilot.press("f2")
            await _settled(app, pilot)
        await app.desk.walk.go_to(address)
        for key in keys:
            await _settled(app, pilot)
            await pilot.press(key)
        picture = await _settled(app, pilot)
    _compare(name, picture)


async def test_the_page_of_what_if_looks_as_it_did() -> None:
    """The sound house with its opening one step wider, and the chart of a model's finding in all of its columns."""
    app = HearthcalcApp(str(Path(__file__).parent / "jobs/sound.hearth.toml"))
    async with running(app, (80, 24), always_drawn=True) as pilot:
        desk = await at_desk(pilot, app)
        await desk.walk.go_to("face.parlour.width")
        await pilot.press("alt+m")
        await until(pilot, lambda: isinstance(app.screen, WhatIfPage), "the page")
        page = app.screen
        assert isinstance(page, WhatIfPage)
        await pilot.press("right")
        await until(pilot, lambda: not page.working and 1 in page._modelled, "the models")
        speed = next(place for place, key in enumerate(page._order) if key[0] == "draft.face_velocity")
        page.query_one(OptionList).highlighted = speed
        columns = {EVERY * n for n in range(-(page._half // EVERY), page._half // EVERY + 1)}
        await until(pilot, lambda: columns <= page._modelled.keys(), "the chart")
        await until(pilot, lambda: "Does it draw at the face: margin" in _text(app), "its title")
        picture = await _settled(app, pilot)
        turned = [page._modelled[n][page._order[speed]] for n in sorted(columns)]
        margins = [margin for _, margin in turned if margin is not None]
        assert margins == sorted(margins, reverse=True) and margins[0] > 0 > margins[-1]
    _compare("what_if_80x24", picture)


def _compare(name: str, picture: str) -> None:
    kept = PICTURES / f"{name}.txt"
    if os.environ.get("HEARTHCALC_PICTURES") == "write":
        kept.write_text(picture, encoding="utf-8")
    assert picture == kept.read_text(encoding="utf-8")
