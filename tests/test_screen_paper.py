"""The job on paper from the screen: looked through, written with its whole path told, found again; and signed."""

import asyncio
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual.widgets import OptionList

from hearthcalc import jobfile
from hearthcalc.report import stamp
from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.desk import paper
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.path import PathPage
from hearthcalc_tui.screens.report import ReportPage
from hearthcalc_tui.session import Session, open_session
from hearthcalc_tui.storage import Memory

pytestmark = pytest.mark.usefixtures("own_state")

JOB = """\
format = "hearthcalc-job"
version = 1
[about]
title = "Mill cottage"
[[face]]
name = "taproom"
side = "front"
width = "36"
height = "30"
[flue]
liner = "13x13"
[[signed]]
name = "Ann Arden"
role = "measured"
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "mill.hearth.toml"
    path.write_text(JOB)
    return path


async def until(seen: Callable[[], bool]) -> None:
    """Wait for what is to come, a turn of the loop at a time."""
    for _ in range(20_000):
        if seen():
            return
        await asyncio.sleep(0)
    raise AssertionError("it never came")


async def test_the_report_is_looked_through_written_and_found_again(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Any] = []
    monkeypatch.setattr(paper.shutil, "which", lambda name: name)
    monkeypatch.setattr(subprocess, "Popen", lambda words, **how: opened.append(words))
    monkeypatch.setattr(asyncio, "to_thread", at_once)
    app = HearthcalcApp(str(job))
    async with app.run_test(size=(100, 30)) as pilot:
        await until(lambda: app.desk is not None and app.screen.focused is not None)
        await pilot.press("alt+p")
        await until(lambda: isinstance(app.screen, ChoicePage))
        await pilot.press("enter")
        await until(lambda: isinstance(app.screen, ReportPage) and app.screen.is_mounted)
        page = app.screen
        assert isinstance(page, ReportPage)
        await pilot.press("right", "right", "left")
        assert page.at == 1
        await pilot.press("enter")
        await until(lambda: isinstance(app.screen, PathPage))
        await pilot.press("enter")
        out = job.with_name("mill.pdf")
        await until(lambda: isinstance(app.screen, ChoicePage) and out.exists())
        assert stamp.read(out).job == jobfile.load(job).fingerprint
        assert f"Wrote {out}" in app.screen._question  # type: ignore[attr-defined]
        await pilot.press("down", "enter")
        await until(lambda: bool(opened))
        assert opened[0][1] == str(job.parent)
        assert Memory().reports == (out,)
        await pilot.press("alt+p")
        await until(lambda: isinstance(app.screen, ChoicePage) and app.screen.is_mounted)
        answers = app.screen.query_one(OptionList)
        assert str(out) in str(answers.get_option_at_index(answers.option_count - 1).prompt)
        app.desk.close()  # type: ignore[union-attr]


async def at_once(work: Callable[..., Any], *given: Any) -> Any:
    """Work that runs where it is asked for, so that nothing is waited for."""
    return work(*given)


@pytest.fixture
def session(job: Path) -> Session:
    return open_session(str(job))


def test_a_report_written_before_tells_what_has_changed(session: Session, job: Path) -> None:
    out = job.with_name("x.md")
    now = session.now
    paper.put(paper.composed(session, now, paper.choice_of("short")), out, now)
    assert paper.changed_since(out, session, now)[0].endswith("tells of this job as it stands.")
    session.take([("face.taproom.width", "40")])
    assert paper.changed_since(out, session, session.now) == ["The entries of the job have changed in: face."]


@pytest.mark.parametrize(("wanted", "heading"), [("site-list", "SITE LIST"), ("take-off", "WHAT TO BUY")])
def test_the_site_list_and_what_to_buy_stand_alone_under_the_cautions(
    wanted: str, heading: str, session: Session
) -> None:
    first, part = paper.parts(paper.composed(session, session.now, paper.choice_of(wanted)))
    assert "carbon monoxide" in first[1] and "What was asked" not in first[1]
    assert part[1].startswith(heading) and "Fingerprints" in part[1]
    assert paper.suggested(session, session.now, wanted).name == f"mill-{wanted}.pdf"


def test_a_folder_that_cannot_be_opened_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(paper.shutil, "which", lambda name: None)
    assert paper.open_folder(tmp_path) == f"Nothing here opens folders. It is {tmp_path}"


async def test_signing_shows_that_it_holds_and_a_later_entry_that_it_is_void(job: Path) -> None:
    app = HearthcalcApp(str(job))
    async with app.run_test(size=(100, 30)) as pilot:
        await until(lambda: app.desk is not None and app.screen.focused is not None)
        desk = app.desk
        assert desk is not None
        await pilot.press("alt+s")
        assert desk.place.section.id == ("signed", "")
        assert desk.form.rows[-1].text == "Not signed yet."
        await pilot.press("alt+s")
        assert desk.form.rows[-1].text == "Holds: nothing was changed since."
        assert "void" not in str(app.masthead.render())
        desk.place.session.take([("face.taproom.width", "40")])
        await desk._sheet.show()
        assert desk.form.rows[-1].text.startswith("Void: ")
        assert "sign-off void" in str(app.masthead.render())
        await pilot.press("ctrl+z")
        assert desk.form.rows[-1].text == "Holds: nothing was changed since."
        desk.close()


def test_signing_without_saying_for_what_is_refused(session: Session) -> None:
    import datetime as dt

    from hearthcalc.errors import UsageError

    session.take([("signed.Ann Arden.role".replace("Ann Arden", '"Ann Arden"'), "")])
    with pytest.raises(UsageError, match="Say first what this person signs for"):
        session.sign("Ann Arden", dt.date(2026, 5, 4))
