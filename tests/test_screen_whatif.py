"""What if on the screen: what is moved is judged as if it had been typed, and nothing is written until it is kept.

What is expected is the engine's own answer to the job with the same entry typed in.
"""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from fractions import Fraction
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList
from waiting import opened, running, shown, until

from hearthcalc import assess
from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import spec_of
from hearthcalc.whatif import sure
from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.desk import answers
from hearthcalc_tui.desk.desk import Desk
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.screens import howsure
from hearthcalc_tui.screens.cures import CuresPage
from hearthcalc_tui.screens.whatif import FAR, WhatIfPage, drawn
from hearthcalc_tui.session import Session, open_session
from hearthcalc_tui.session.trial import Trial, step_of
from hearthcalc_tui.widgets import telling

pytestmark = pytest.mark.usefixtures("own_state")

WIDTH = "face.taproom.width"  # 36 in the demo
PARLOUR = "face.parlour.width"
SOUND = Path(__file__).parent / "jobs/sound.hearth.toml"
CURED = ("clearance.mantel", "taproom")


@pytest.fixture
def demo() -> Session:
    return open_session("demo")


def desk_of(app: HearthcalcApp) -> Desk:
    assert app.desk is not None
    return app.desk


def test_a_move_as_found_is_the_entry_typed(demo: Session) -> None:
    before = demo.now.document
    trial = Trial(demo.now, "found")
    entry = trial.entries[WIDTH]
    assert trial.move(entry, 3)
    text = trial.at(entry, 3)
    assert text is not None
    demo.take([(WIDTH, text)])
    assert trial.snapshot.document == demo.now.document != before
    trial.put(entry, 0)
    assert trial.snapshot.document == before


def test_a_move_as_planned_is_in_the_plan_alone(demo: Session) -> None:
    """A width in the plan says which jamb moves, as a person who plans it has to."""
    trial = Trial(demo.now, "planned")
    trial.move(trial.entries[WIDTH], -4)
    document = trial.snapshot.document
    assert document["face"] == demo.now.document["face"]
    planned = next(face for face in document["planned"]["face"] if face["name"] == "taproom")
    assert planned["width"] == "34 in"
    assert planned["jamb_moved"]


def test_an_entry_goes_as_far_as_it_can_be_read(demo: Session) -> None:
    """36 in falls by steps of half an inch to the inch that an opening has at the least."""
    trial = Trial(demo.now, "found")
    entry = trial.entries[WIDTH]
    assert trial.move(entry, -1000)
    assert trial.at(entry, trial.steps[WIDTH]) == "1 in"
    assert not trial.move(entry, -1)
    closure = trial.entries["face.taproom.closure"]
    assert trial.move(closure, 1)
    assert trial.at(closure, 1) in spec_of("face.taproom.closure").choices
    assert trial.snapshot.problems == {}


@pytest.mark.parametrize(
    ("address", "metric", "step"),
    [
        (WIDTH, False, Fraction(1, 2)),
        ("firebox.depth", True, 5 * Fraction(10, 254)),
        ("air.fans.hood.flow", False, Fraction(10)),
    ],
)
def test_steps_are_round(address: str, metric: bool, step: Fraction) -> None:
    """A hundredth of the usual range or less: halves of an inch, else 1, 2 or 5 of ten."""
    spec = spec_of(address)
    assert spec.usual is not None
    made = step_of(spec, Fraction(1), metric=metric)
    assert made <= (spec.usual[1] - spec.usual[0]) / 100 < made * Fraction(5, 2)
    assert made == step


def test_the_chart_has_what_is_met_above_its_line() -> None:
    columns = [
        (Verdict.MEETS, 4.0),
        (Verdict.MEETS, 2.0),
        None,
        (Verdict.MEASURE, None),
        (Verdict.SHORT, -4.0),
    ]
    rows = [row.plain for row in drawn(columns, 1, 5)]
    places = {place: next(n for n, row in enumerate(rows) if row[place] not in " ─-") for place in (0, 1, 3)}
    assert places == {0: 0, 1: 1, 3: 2}
    assert rows[4][4] == GLYPHS.sign(Verdict.SHORT)
    assert rows[5].strip() in ("▲", "^")
    assert rows[5].index(rows[5].strip()) == 1


@asynccontextmanager
async def at_desk(
    wanted: str, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[tuple[Pilot[None], HearthcalcApp, Desk]]:
    """A job open on the screen."""
    app = HearthcalcApp(wanted)
    async with running(app, size) as pilot:
        await opened(pilot, app)
        yield pilot, app, desk_of(app)
        desk_of(app).close()


def short_one(session: Session) -> Finding:
    """The finding of the demo that falls short as planned and has a cure."""
    short = next(f for f in session.assess().deciding.findings if (f.id, f.face) == CURED)
    assert short.verdict is Verdict.SHORT
    return short


async def moving(pilot: Pilot[None], app: HearthcalcApp) -> WhatIfPage:
    """The page, with the width in hand."""
    await desk_of(app).walk.go_to(PARLOUR)
    await pilot.press("alt+m")
    await until(pilot, lambda: isinstance(app.screen, WhatIfPage), "the page")
    page = app.screen
    assert isinstance(page, WhatIfPage)
    await until(pilot, lambda: page.entry.address == PARLOUR and "What if" in shown(app), "the entry")
    return page


async def test_all_findings_follow_and_nothing_is_written() -> None:
    async with at_desk(str(SOUND), (120, 40)) as (pilot, app, desk):
        session = desk.place.session
        before = session.now.document
        page = await moving(pilot, app)
        await pilot.press("right", "right")
        await until(pilot, lambda: "31 in" in shown(app), "the moved entry")
        moved = page._trial.snapshot
        told = assess.assess(moved.job, session.edition(), moved.unread)
        full = assess.assess_models(moved.job, session.edition(), told, moved.unread).stages["found"]
        await until(pilot, lambda: list(page._now.values()) == list(full.findings), "the models")
        assert not page.working
        await until(pilot, lambda: 2 in page._columns, "the chart")
        here = {f.key: f.verdict for f in told.stages["found"].findings}
        assert {key: verdict for key, (verdict, _) in page._columns[2].items()} == here
        assert "▲" in shown(app) or "^" in shown(app)
        await pilot.press("escape")
        await until(pilot, lambda: app.screen is desk.screen, "the desk")
        assert session.now.document == before


@pytest.mark.parametrize("by", [0, 20])
async def test_before_the_models_are_heard_none_of_them_is_said_to_have_turned(
    monkeypatch: pytest.MonkeyPatch, by: int
) -> None:
    """Opened as soon as a field is left: the page has the models judge the record itself, and marks what the move turned."""
    monkeypatch.setattr(answers, "MODELS_WAIT", 3600)
    async with at_desk(str(SOUND)) as (pilot, app, desk):
        session = desk.place.session
        page = await moving(pilot, app)
        assert not session.modelled
        await pilot.press(*["shift+right"] * (by // FAR))
        await until(pilot, lambda: not page.working, "the models")
        moved = page._trial.snapshot
        was, now = (
            {f.key: f for f in session.judge.with_models(of, judged).stages["found"].findings}
            for of, judged in (
                (session.now, session.assess()),
                (moved, assess.assess(moved.job, session.edition(), moved.unread)),
            )
        )
        assert page._was == was and page._now == now
        assert page._order == [f.key for f in telling.ordered(was.values())]
        turned = {k for k in now if GLYPHS.here in page._row(k, 76).plain}
        assert turned == {k for k, f in now.items() if f.verdict is not was[k].verdict}
        assert bool(turned) is (by > 0)


async def test_what_is_kept_is_one_step() -> None:
    async with at_desk(str(SOUND)) as (pilot, app, desk):
        session = desk.place.session
        before = session.now.document
        await moving(pilot, app)
        assert "Enter keeps; Esc" in shown(app)
        await pilot.press("right", "enter")
        await until(pilot, lambda: app.screen is desk.screen, "the desk")
        await until(pilot, lambda: session.entry(PARLOUR) == "30 1/2 in", "the entry kept")
        session.undo()
        assert session.now.document == before


async def test_from_a_finding_to_what_cures_it() -> None:
    """F4 on the mantel that is SHORT; what is chosen stands in the plan, and the finding meets."""
    async with at_desk("demo") as (pilot, app, desk):
        session = desk.place.session
        await desk.actions["stage"]()  # type: ignore[misc]
        short = short_one(session)
        desk._surface.start(desk._pointing.show(short))
        await until(pilot, lambda: "F4" in shown(app), "the finding")
        await pilot.press("f4")
        await until(pilot, lambda: isinstance(app.screen, CuresPage) and app.screen._answers, "the answers")
        assert session.now.document["planned"] == open_session("demo").now.document["planned"]
        await pilot.press("enter")
        await until(pilot, lambda: app.screen is desk.screen, "the desk")
        after = next(f for f in session.assess().deciding.findings if f.key == short.key)
        assert after.verdict is Verdict.MEETS


async def test_a_search_is_stopped() -> None:
    """Esc while it works: the page is gone, the record as it was, and the program goes on."""
    async with at_desk("demo") as (pilot, app, desk):
        session = desk.place.session
        short = short_one(session)
        before = session.now.document
        desk._surface.start(desk._pointing.cure(short))
        await until(pilot, lambda: "changes tried" in shown(app), "the progress")
        await pilot.press("escape")
        await until(pilot, lambda: app.screen is desk.screen, "the desk")
        await until(pilot, lambda: not app.workers or all(w.is_finished for w in app.workers), "the end")
        assert session.now.document == before
        assert app.fault is None


def test_only_what_a_person_can_move_is_moved(demo: Session) -> None:
    """Marks of the file are no entries to play with; a job names its units, title and edition elsewhere."""
    moved = Trial(demo.now, "found").entries
    assert WIDTH in moved and "firebox.depth" in moved
    assert not {"format", "version", "units"} & moved.keys()


async def test_how_sure_lists_what_does_not_always_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    """The page says of each finding what the engine says with as many draws."""
    monkeypatch.setattr(howsure, "DRAWS", 40)
    monkeypatch.setattr(sure, "DRAWS_BY_ONE", 2)
    async with at_desk(str(SOUND), (120, 40)) as (pilot, app, desk):
        session = desk.place.session
        expected = sure.how_sure(session.now.job, session.edition(), 40, workers=1)
        await pilot.press("alt+y")
        await until(pilot, lambda: isinstance(app.screen, howsure.SurePage), "the page")
        await until(pilot, lambda: "Up, Down choose" in shown(app), "the draws")
        least = [one for one in expected.findings if one.holds < one.draws]
        assert least
        options = app.screen.query_one(OptionList)
        assert options.option_count == len(least) + len(expected.untold)
        assert sure.often(least[0].holds, 40) in shown(app)
        await pilot.press("escape")
        await until(pilot, lambda: app.screen is desk.screen, "the desk")
