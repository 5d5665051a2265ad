"""Pages over the desk: they close once, whatever keys were on their way."""

from pathlib import Path

import pytest
from waiting import opened, running, until

from hearthcalc_tui.app import HearthcalcApp

pytestmark = pytest.mark.usefixtures("own_state")

JOB = """\
format = "hearthcalc-job"
version = 1
[[face]]
name = "study"
"""


@pytest.mark.parametrize("key", ["ctrl+p", "f1"])
async def test_a_page_closes_once(key: str, tmp_path: Path) -> None:
    """All commands, how to measure: closed twice before the first is done, the desk is still there."""
    path = tmp_path / "mill.hearth.toml"
    path.write_text(JOB)
    app = HearthcalcApp(str(path))
    async with running(app) as pilot:
        await opened(pilot, app)
        assert app.desk is not None
        desk = app.desk
        await pilot.press(key)
        await until(pilot, lambda: app.screen is not desk.screen, "the page")
        page = app.screen
        page.dismiss()
        page.dismiss()
        await pilot.pause()
        assert app.screen is desk.screen
        desk.close()
