"""Pages over the desk: they close once, whatever keys were on their way."""

import asyncio
from pathlib import Path

import pytest

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
    async with app.run_test(size=(80, 24)) as pilot:
        while app.desk is None or app.screen.focused is None:
            await asyncio.sleep(0.01)
        await pilot.press(key)
        while app.screen is app.desk.screen:
            await pilot.pause(0.02)
        page = app.screen
        page.dismiss()
        page.dismiss()
        await pilot.pause()
        assert app.screen is app.desk.screen
        app.desk.close()
