"""The job on paper from the screen: looked through, written with its whole path told, found again; and signed."""

import asyncio
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from mill import MILL
from textual.widgets import OptionList
from waiting import at_desk, opened, running, shown, until

from hearthcalc import jobfile
from hearthcalc.report import measuring, stamp
from hearthcalc.whatif import sweep
from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.desk import paper
from hearthcalc_tui.field import Field
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.lettered import LetteredPage
from hearthcalc_tui.screens.path import PathPage
from hearthcalc_tui.screens.report import ReportPage
from hearthcalc_tui.session import Session, open_session
from hearthcalc_tui.session.trial import span_of
from hearthcalc_tui.storage import Memory

pytestmark = pytest.mark.usefixtures("own_state")

JOB = f"""\
{MILL}[[signed]]
name = "Ann Arden"
role = "measured"
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "mill.hearth.toml"
    path.write_text(JOB)
    return path


async def test_the_report_is_looked_through_written_and_found_again(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folders: list[Any] = []
    monkeypatch.setattr(paper.shutil, "which", lambda name: name)
    monkeypatch.setattr(subprocess, "Popen", lambda words, **how: folders.append(words))
    monkeypatch.setattr(asyncio, "to_thread", at_once)
    app = HearthcalcApp(str(job))
    async with running(app, (100, 30)) as pilot:
        await opened(pilot, app)
        await pilot.press("alt+p")
        await until(pilot, lambda: isinstance(app.screen, ChoicePage), "ChoicePage")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, ReportPage) and app.screen.is_mounted, "ReportPage")
        page = app.screen
        assert isinstance(page, ReportPage)
        await pilot.press("pagedown", "right", "pageup")
        assert page.at == 1
        await until(pilot, lambda: f"page 2 of {len(page._parts)}" in shown(app), "the number of the page")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, PathPage), "PathPage")
        await pilot.press("enter")
        out = job.with_name("mill.pdf")
        await until(pilot, lambda: isinstance(app.screen, ChoicePage) and out.exists(), "the file")
        assert stamp.read(out).job == jobfile.load(job).fingerprint
        assert f"Wrote {out}" in app.screen._question  # type: ignore[attr-defined]
        await pilot.press("down", "enter")
        await until(pilot, lambda: folders, "the folder")
        assert folders[0][1] == str(job.parent)
        assert Memory().reports == (out,)
        await pilot.press("alt+p")
        await until(pilot, lambda: isinstance(app.screen, ChoicePage) and app.screen.is_mounted, "ChoicePage")
        answers = app.screen.query_one(OptionList)
        assert str(out) in str(answers.get_option_at_index(answers.option_count - 1).prompt)
        app.desk.close()  # type: ignore[union-attr]


async def test_a_report_tells_what_becomes_of_the_entry_in_hand_over_a_range(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(asyncio, "to_thread", at_once)
    app = HearthcalcApp(str(job))
    async with running(app, (100, 30)) as pilot:
        desk = await at_desk(pilot, app)
        await desk.walk.go_to("face.taproom.width")
        for told, sweeps in (("36:30", False), ("30:42:3", True)):
            await pilot.press("alt+p")
            await until(pilot, lambda: isinstance(app.screen, ChoicePage) and app.screen.is_mounted, "choice")
            await pilot.press("end", "enter")
            await until(pilot, lambda: isinstance(app.screen, PathPage) and app.screen.focused, "the range")
            # 36 in, a quarter of it to each side
            assert app.screen.query_one(Field).text == "27 in : 45 in : 13"
            await pilot.press("end", "ctrl+u", *told, "enter")
            if not sweeps:
                await until(pilot, lambda: "A range is FROM:TO:STEPS" in shown(app), "what is wrong")
        await until(pilot, lambda: isinstance(app.screen, ReportPage), "the report")
        page = app.screen
        assert isinstance(page, ReportPage)
        said = " ".join(" ".join(text.split()) for _, text in page._parts)
        assert "while this runs over a range: Width of the opening (face.taproom.width)" in said
        desk.close()


@pytest.mark.parametrize(
    ("address", "span"),
    [
        ("face.taproom.width", "27 in : 45 in : 13"),
        ("face.taproom.side", ""),  # a word
        ("flue.size", ""),  # two numbers
        ("firebox.depth", ""),  # not entered
        ("nowhere", ""),
    ],
)
def test_a_range_is_offered_round_a_number_that_is_entered(address: str, span: str, session: Session) -> None:
    assert span_of(session.now.job, address) == span


def test_a_range_ends_where_the_entry_does(session: Session) -> None:
    """As one that is refused would be no offer: a slope of more than 90 degrees."""
    session.take([("firebox.smoke_chamber_slope", "80 deg")])
    job = session.now.job
    span = span_of(job, "firebox.smoke_chamber_slope")
    swept = sweep.axis(f"firebox.smoke_chamber_slope={span}", job)
    assert swept.spec.hard is not None
    assert swept.values[-1] == swept.spec.show(swept.spec.hard[1], "in")


async def test_a_measuring_sheet_is_typed_in_by_its_letters(job: Path) -> None:
    app = HearthcalcApp(str(job))
    async with running(app, (100, 30)) as pilot:
        desk = await at_desk(pilot, app)
        letters = measuring.lettered(desk.place.session.now.job)
        depth, opens = letters["firebox.depth"].lower(), letters["face.taproom.opens_to"].lower()
        await pilot.press("alt+t")
        await until(pilot, lambda: isinstance(app.screen, LetteredPage) and app.screen.focused, "the page")
        for line in (f"{depth} 20 1/2", f"{opens} bed", f"{depth} deep"):
            await pilot.press(*line, "enter")
        await until(pilot, lambda: "! Depth of the firebox" in shown(app), "what cannot be read")
        assert "Depth of the firebox: 20 1/2" in shown(app)
        await pilot.press("escape")
        await until(pilot, lambda: not isinstance(app.screen, LetteredPage), "the fields")
        now = desk.place.session.now.job
        assert now.firebox.depth is not None and now.firebox.depth.text == "20 1/2"
        assert now.face[0].opens_to == "bedroom"
        desk.close()


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
    same, words = paper.changed_since(out, session, now)
    assert same.endswith("are those of this job as it stands.")
    assert "somebody may have changed them" in words
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


def test_the_report_is_looked_through_page_by_page_and_no_line_of_it_is_lost(session: Session) -> None:
    report = paper.composed(session, session.now, paper.choice_of("all"))
    pages = list(paper.pages(report))
    assert len(pages) > len(list(paper.parts(report)))
    assert all(len(text.splitlines()) <= paper.LINES for _, text in pages)
    lines = [line for _, text in pages for line in text.splitlines() if line.strip()]
    assert lines == [line for _, text in paper.parts(report) for line in text.splitlines() if line.strip()]


def test_a_folder_that_cannot_be_opened_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(paper.shutil, "which", lambda name: None)
    assert paper.open_folder(tmp_path) == f"Nothing here opens folders. It is {tmp_path}"


async def test_signing_shows_that_it_holds_and_a_later_entry_that_it_is_void(job: Path) -> None:
    app = HearthcalcApp(str(job))
    async with running(app, (100, 30)) as pilot:
        desk = await at_desk(pilot, app)
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
