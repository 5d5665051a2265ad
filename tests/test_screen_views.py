"""The views, the columns side by side and the reference values, by keyboard alone at 80 x 24 and larger."""

import asyncio
import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual.color import Color
from waiting import Hand, opened, running, shown, until

from hearthcalc import amendments, caution, jobfile, reference
from hearthcalc.drawing import views
from hearthcalc.findings import Verdict
from hearthcalc.job import Job
from hearthcalc.physics.draft import Flow
from hearthcalc_tui import amending
from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.desk.desk import Desk
from hearthcalc_tui.field import Field
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.sections.table import place_of
from hearthcalc_tui.session import open_session
from hearthcalc_tui.storage import Memory
from hearthcalc_tui.widgets import draft
from hearthcalc_tui.widgets.views import VIEWS, TryButton, ViewBody

SIZES = [(80, 24), (120, 40)]
HOSTILE = "[/] [b]x[/b] [@click=app.quit]q[/] \x1b[31m\u202eabc"


pytestmark = pytest.mark.usefixtures("own_state")


class Walk:
    """A person at the keyboard."""

    def __init__(self, app: HearthcalcApp, pilot: Hand) -> None:
        self.app = app
        self.pilot = pilot

    @property
    def desk(self) -> Desk:
        assert self.app.desk is not None
        return self.app.desk

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)

    async def type(self, text: str) -> None:
        """Type over what stands there, faster than the screen follows."""
        await self.press("end", "ctrl+u")
        await self.pilot.type(text)

    async def until(self, words: str) -> None:
        """Wait for words, as for what a worker brings."""
        await until(self.pilot, lambda: words in self.words(), words)

    async def speed(self) -> float:
        """How fast air enters the taproom face, ft/s, once the model has been heard."""
        told = re.compile(r"Air enters the taproom face at (\d+\.\d+) ft/s")
        await until(self.pilot, lambda: told.search(self.beside()), "the speed of the air")
        return float(told.findall(self.beside())[0])

    def beside(self) -> str:
        """What stands beside the fields, as running text."""
        left = self.desk.pane.region.x + 1
        return _bare("\n".join(row[left:] for row in self.text().splitlines()))

    def text(self) -> str:
        return shown(self.app)

    def words(self) -> str:
        return _bare(self.text())


def _bare(text: str) -> str:
    """Text without frames, bars and scroll marks, as running words."""
    return " ".join(re.sub(r"[│▌▁▂▃▄▅▆▇█╭╮╰╯─]", " ", text).split())


@asynccontextmanager
async def walk(wanted: object = "demo", size: tuple[int, int] = (80, 24)) -> AsyncIterator[Walk]:
    app = HearthcalcApp(str(wanted))
    async with running(app, size) as pilot:
        await opened(pilot, app)
        await until(pilot, lambda: app.desk is None or not app.desk.answers.working, "the models")
        await pilot.pause()
        yield Walk(app, pilot)
    if app.desk is not None:
        app.desk.close()


# Views


@pytest.mark.parametrize("size", SIZES)
async def test_a_key_shows_a_view_beside_then_over_all_then_the_findings_again(size: tuple[int, int]) -> None:
    async with walk(size=size) as page:
        for key, told in (
            ("ctrl+e", "elevation"),
            ("ctrl+d", "all open"),
            ("shift+f12", "Down through the hearth"),
            ("ctrl+w", "Firebrick"),
        ):
            await page.press(key)
            assert page.desk.pane.view is not None, key
            await page.until(told)
            assert "FOUND" in page.words(), key
            assert isinstance(page.app.focused, Field), key
            await page.press(key)
            assert len(page.app.screen_stack) == 2, key
            await page.until(told)
            assert caution.SHORT in page.words(), key
            await page.press(key)
            assert len(page.app.screen_stack) == 1, key
            assert page.desk.pane.view is None, key
            assert isinstance(page.app.focused, Field), key


@pytest.mark.parametrize("beside", [True, False], ids=["beside", "whole"])
async def test_a_part_of_the_drawing_leads_to_its_field_by_keys(beside: bool) -> None:
    async with walk() as page:
        await page.press("f2", "ctrl+e", *(["f6"] if beside else ["ctrl+e"]), "tab")
        assert "1/10 Above the opening, pine man" in page.words()
        await page.press("tab", "tab", "shift+tab", "enter")
        assert len(page.app.screen_stack) == 1
        assert isinstance(page.app.focused, Field)
        assert page.app.focused.address == "planned.face.taproom.width"
        assert page.desk.pane.view is not None, "the drawing stays beside the field"


@pytest.mark.parametrize(
    ("words", "address"),
    [("30 in", "face.taproom.height"), ("SHORT pine mantel", 'nearby."pine mantel".above')],
)
async def test_a_click_on_a_part_of_the_drawing_leads_to_its_field(words: str, address: str) -> None:
    async with walk(size=(120, 40)) as page:
        await page.press("ctrl+e")
        left = page.desk.pane.region.x
        row = next(row for row in page.text().splitlines() if words in row[left:])
        await page.pilot.click(offset=(row.rindex(words), page.text().splitlines().index(row)))
        await until(page.pilot, lambda: len(page.app.screen_stack) == 1 and page.app.focused, "the field")
        assert isinstance(page.app.focused, Field) and page.app.focused.address == address


async def test_what_is_judged_while_a_view_comes_or_goes_does_not_draw_it() -> None:
    async with walk(size=(120, 40)) as page:
        pane, answers = page.desk.pane, page.desk.answers
        for view in ("drawing", "draft", ""):
            turned = asyncio.ensure_future(pane.look(view))
            while not turned.done():
                answers.show_view()
                await asyncio.sleep(0)
            await turned
            answers.show_view()
            await page.pilot.pause()
            assert (pane.view.view if pane.view else "") == view


async def test_what_is_short_on_the_drawing_has_its_color_sign_and_word() -> None:
    async with walk(size=(120, 40)) as page:
        await page.press("ctrl+e", "ctrl+e")
        await page.until("SHORT pine mantel")
        short = Color.parse(page.app.theme_variables["verdict-short"])
        strips = page.app.screen._compositor.render_strips()
        segment = next(s for strip in strips for s in strip if "SHORT pine mantel" in s.text)
        assert segment.text == f"{GLYPHS.sign(Verdict.SHORT)} SHORT pine mantel"
        assert segment.style is not None and segment.style.color is not None
        assert Color.from_rich_color(segment.style.color) == short


@pytest.mark.parametrize("name", jobfile.DEMOS)
def test_every_part_of_a_drawing_has_a_field(name: str) -> None:
    session = open_session(f"demo:{name}")
    for stage, result in session.assess().stages.items():
        entries = [entry for drawn in views(session.now.stages[stage], result) for entry, _ in drawn.shown]
        assert len(entries) > 5
        for entry in entries:
            assert place_of(session.job(stage), entry) is not None, entry


async def test_the_views_follow_what_is_typed() -> None:
    async with walk(size=(120, 60)) as page:
        await page.press("pagedown", "pagedown", "ctrl+e")
        await page.until("36 in")
        await page.press("down", "down", "down")
        await page.type("34")
        await page.until("34 in")
        await page.press("ctrl+d")
        slow = await page.speed()
        await page.type("17")
        for _ in range(300):
            if await page.speed() > 1.5 * slow:
                break
        assert await page.speed() > 1.5 * slow


async def test_an_entry_that_cannot_be_read_leaves_no_old_number_in_a_view() -> None:
    async with walk(size=(120, 40)) as page:
        await page.press("f2")
        await page.desk.walk.go_to("planned.firebox.depth")
        await page.press("ctrl+e", "f6", "right", "right")
        await page.until("24 in")
        await page.press("f6")
        await page.type("2 4 4 in")
        view = page.desk.pane.view
        assert view is not None and view._shown is not None
        assert view._shown.stage.job.firebox.depth is None


async def test_states_and_faces_are_a_key_apart() -> None:
    async with walk() as page:
        await page.press("f2", "ctrl+d", "f6")
        assert isinstance(page.app.focused, ViewBody)
        await page.press("right")
        await page.until("2/4 ‹ taproom open ›")
        await page.press("left", "left")
        await page.until("4/4 ‹ all shut ›")
        await page.press("enter")
        await page.until("Will it draw 4/4")
        await page.press("escape", "shift+f12", "shift+f12", "right")
        await page.until("Heat in the hearth 2/2 ‹ dining ›")
        assert re.search(r"\d F!", page.words())


async def test_the_drawing_is_told_in_words_too() -> None:
    async with walk() as page:
        await page.press("ctrl+e", "ctrl+e")
        await page.until("Drawing 1/3")
        await page.press("w")
        await page.until("Marked: - SHORT pine mantel")
        await page.press("w")
        assert "Marked:" not in page.words()


async def test_a_draft_tells_flows_by_arrow_and_word_and_the_sums_agree() -> None:
    """The balance of facts/draft_model: what lifts is what holds back, to a tenth of a pascal."""
    async with walk(size=(120, 90)) as page:
        assert page.app.desk is not None
        windy = [("planned.face.dining.opens_to", "outdoors"), ("planned.site.wind_on", "dining")]
        page.app.desk.place.session.take(windy)
        await page.press("f2", "ctrl+d", "ctrl+d")  # over the whole screen before the models are heard
        await page.until("Other fires and weathers")
        words = page.words()
        assert re.search(r"taproom ◀ \d\.\d\d ft/s GAS COMES OUT: it smokes here", words)
        assert re.search(r"dining ▶ \d\.\d\d ft/s air goes in", words)
        sums = re.findall(r"(\d+\.\d) in all", words)
        assert len(sums) == 2
        assert sums[0] == sums[1]
        for name in ("mild day", "burning down", "roaring fire", "downwash at the top"):
            assert name in words


async def test_the_buttons_of_a_draft_change_the_picture_by_key_and_by_mouse_and_write_nothing() -> None:
    async with walk(size=(120, 60)) as page:
        assert page.app.desk is not None
        before = page.app.desk.place.session.now
        await page.press("f2", "ctrl+d", "f6")
        await page.until("[ ] a window open")
        view = page.app.desk.pane.view
        assert isinstance(view, ViewBody) and page.app.focused is view
        number = next(n for n, one in enumerate(view._buttons, 1) if one.label == draft.AIR)
        await page.press(str(number))
        await page.until("[x] a window open")
        assert "Trying a window open" in page.words()
        await page.press("ctrl+d")
        await page.until("1 to 9: try it")
        await page.until("Trying a window open")
        button = page.app.screen.query(TryButton)[number - 1]
        await page.pilot.click(button)
        await page.until("[ ] a window open")
        assert "Trying" not in page.words()
        assert page.app.desk.place.session.now is before


def test_a_balance_has_the_wind_on_the_top_on_the_side_it_works_on() -> None:
    def flow(foot: float) -> Flow:
        told = dict.fromkeys(Flow.__struct_fields__, 0.0) | {
            "draft_pressure": 10.0, "losses": {"throat": 6.0, "exit": 1.0}, "foot_pressure": foot,
        }  # fmt: skip
        return Flow(**told)

    lifts, holds = draft.balance(flow(-1.0), 2.0)
    assert lifts == [("draft of the flue", 10.0)]
    assert dict(holds) == {
        "suction at faces": 1.0,
        "wind on the top": 2.0,
        "throat": 6.0,
        "leaving the top": 1.0,
    }
    lifts, holds = draft.balance(flow(1.0), -2.0)
    assert dict(lifts) == {"draft of the flue": 10.0, "push at the faces": 1.0, "wind sucks at top": 2.0}
    assert len(holds) == 2


@pytest.mark.parametrize(("value", "cells"), [(0.0, 0), (0.001, 1), (5.0, 5), (10.0, 10)])
def test_a_bar_is_to_scale_and_what_is_above_nothing_is_seen(value: float, cells: int) -> None:
    made = draft.bar(value, 10.0, 10)
    assert len(made) == 10
    assert len(made.strip()) == cells


async def test_a_new_job_has_every_view_and_says_what_it_waits_for() -> None:
    async with walk("") as page:
        for key in ("ctrl+e", "ctrl+d", "shift+f12", "ctrl+w"):
            await page.press(key, key)
            assert len(page.app.screen_stack) == 2
            assert caution.SHORT in page.words()
            await page.press("escape")
    assert set(VIEWS) == {"drawing", "draft", "heat", "takeoff"}


async def test_hostile_names_reach_no_view_as_markup(tmp_path: Path) -> None:
    job = tmp_path / "odd.hearth.toml"
    name = HOSTILE.replace("\x1b", "\\u001b").replace("\u202e", "\\u202e")
    job.write_text(
        f'format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "{name}"\nwidth = "36"\nheight = "30"\n'
        f'[[nearby]]\nname = "{name}"\nwhat = "mantel"\nface = "{name}"\nabove = "9"\n'
    )
    async with walk(job, (120, 40)) as page:
        for key in ("ctrl+e", "ctrl+d", "shift+f12", "ctrl+w"):
            await page.press(key, key)
            assert "\x1b" not in page.text() and "\u202e" not in page.text()
            await page.press("w", "escape")
        await page.press("shift+f5")
        await page.until("Which edition do you want beside it?")
        await page.press("enter")
        await page.until("irc-2021 beside")
        assert page.app.fault is None


# Side by side


@pytest.mark.parametrize("size", SIZES)
async def test_found_beside_planned_tells_what_differs_first(size: tuple[int, int]) -> None:
    async with walk(size=size) as page:
        await page.press("shift+f5")
        await page.until("As found beside as planned")
        await page.press("enter")
        await page.until("The answers differ")
        assert "✓ MEETS ✗ SHORT Flue area for the opening all open" in page.words()
        assert caution.SHORT in page.words()
        await page.press("tab", "pagedown", "tab", "down", "enter")
        await page.until("Depth of the firebox")
        await page.press("escape", "escape")
        assert len(page.app.screen_stack) == 1


async def test_another_edition_is_chosen_by_what_it_is_and_compared() -> None:
    async with walk(size=(120, 40)) as page:
        await page.press("shift+f5")
        await page.until("! australia-hp answers")
        await page.press("down", "down", "down", "enter")
        await page.until("irc-2021 beside england-adj, as found")
        assert "The answers differ" in page.words()
        assert "england-adj answers" in page.words()


async def test_the_edition_field_tells_what_is_chosen() -> None:
    async with walk() as page:
        await page.desk.walk.go_to("about.edition")
        await page.until("International Residential Code 2021,")
        await page.press("right", "right")
        await page.until("(few parts seen). ireland-tgdj holds")
        await page.press("right", "right", "right", "right")
        await page.until("Swedish building rules")
        await page.press("right")
        await page.until("History: how")
        await page.press("f1")
        await page.until("canada-nbc National Building Code of Canada")
        assert "answers" in page.words()


# Since the job was saved


async def test_a_saved_job_tells_which_answers_a_change_of_values_turned(tmp_path: Path) -> None:
    job = tmp_path / "saved.hearth.toml"
    session = open_session("demo")
    session.save(job)
    session.file.release()
    saved = open_session(str(job))
    since = saved.since()
    assert since is not None
    assert not since.values
    assert not saved.unsaved
    saved.file.release()
    job.write_text(
        re.sub(r'fingerprint = "\w+"', 'fingerprint = "then"', job.read_text()).replace(
            "found | hearth.front | taproom |  |  | MEETS", "found | hearth.front | taproom |  |  | SHORT"
        )
    )
    async with walk(job) as page:
        await page.until("Values have changed since this job was saved: 1 answer is another.")
        await page.press("shift+f5")
        await page.until("What changed since the job was saved")
        await page.press("down", "enter")
        await page.until("✗ SHORT → ✓ MEETS")
        assert "Hearth in front of the opening as found, taproom" in page.words()
        await page.press("escape", "ctrl+s")
        await page.until("Saved:")
        since = page.desk.place.session.since()
        assert since is not None
        assert since.changed == ()


def test_what_a_job_was_judged_by_is_no_change_of_the_job(tmp_path: Path) -> None:
    job = tmp_path / "saved.hearth.toml"
    session = open_session("demo")
    before = session.last.job
    session.save(job)
    session.file.release()
    again = open_session(str(job))
    assert again.last.job == before
    assert "judged" not in again.last.document
    kept = Job.from_document(again.last.document | {"judged": again.file.judged}).judged
    assert kept.edition == "irc-2021"
    assert kept.verdicts
    again.file.release()


# Reference values


async def test_the_values_are_found_as_one_types_and_by_subject() -> None:
    async with walk() as page:
        await page.press("ctrl+f")
        count = len(reference.load("irc-2021").values)
        await page.until(f"{count} of {count} values")
        await page.press(*"mantel zone")
        await page.until(f"1 of {count} values")
        assert "R1001.11" in page.words()
        await page.type("from memory")
        assert "? from memory" in page.words()
        await page.type("")
        await page.press("shift+tab")
        await page.until("‹ takeoff ›")
        await page.press("tab", "tab")
        await page.until("irc-2021.toml, line")
        await page.type("no such thing")
        await page.until("No value has these words.")
        assert caution.SHORT in page.words()


@pytest.mark.parametrize("size", SIZES)
async def test_a_value_is_amended_judged_anew_and_taken_back(size: tuple[int, int]) -> None:
    async with walk(size=size) as page:
        await page.press("ctrl+f")
        await page.type("hearth.front")
        await page.press("enter")
        await page.until("Amend a value")
        await page.type("below 6 ft2: 16 in; otherwise: 61 in")
        await page.until("61 in is outside 0 in to 60 in")
        await page.type("below 6 ft2: 16 in; otherwise: 31 in")
        await page.until("outside the usual 12 in to 30 in")
        await page.type("below 6 ft2: 16 in; otherwise: 24 in")
        await page.press("enter", "enter", "enter", "enter")
        await page.until("Who says so?")
        await page.type("Ann")
        await page.press("enter", "enter")
        await page.type("ordinance 12")
        await page.press("enter")
        await page.until("3 findings changed")
        assert "✓ MEETS ✗ SHORT Hearth in front of the opening taproom" in page.words()
        assert Memory().who == "Ann"
        (kept,) = amending.own_changes("irc-2021")
        assert (kept.key, kept.who, kept.why) == ("hearth.front", "Ann", "ordinance 12")
        await page.press("escape")
        await page.until("* edited here")
        assert "changed by Ann" in page.words()
        stages = page.desk.place.session.assess().stages
        assert next(f for f in stages["found"].findings if f.id == "hearth.front").verdict is Verdict.SHORT
        await page.press("f8", "down", "enter")
        await page.until("3 findings changed")
        await page.press("escape")
        await page.until("as published again")
        assert amending.own_changes("irc-2021") == ()
        await page.press("escape")
        assert len(page.app.screen_stack) == 1


async def test_an_amendment_of_a_town_holds_where_the_job_names_the_town() -> None:
    async with walk("demo:stonehouse") as page:
        session = page.desk.place.session

        def front() -> Verdict:
            found = session.assess().stages["found"].findings
            return next(f for f in found if f.id == "hearth.front").verdict

        await page.press("ctrl+f")
        await page.type("hearth.front")
        await page.press("enter")
        await page.until("Amend a value")
        for text in ("below 6 ft2: 24 in; otherwise: 24 in", "Ann", "Low Weir", "ordinance 12"):
            await page.type(text)
            await page.press("enter")
        await page.until("This job does not use the amendments of Low Weir")
        assert front() is Verdict.MEETS
        await page.press("escape")
        while page.desk.form.row_of(page.app.focused).key != "about.amendments":  # type: ignore[union-attr,arg-type]
            await page.press("down")
        await page.press("right")
        await page.until("(Low Weir, 1 edited)")
        assert front() is Verdict.SHORT
        page.desk.pane.pick(next(key for key in page.desk.pane.keys if key[0] == "hearth.front"))
        await page.press("f6")
        at = page.desk.pane.highlighted
        assert at is not None and any("changed for Low Weir by Ann" in basis.note for basis in at.basis)


async def test_a_table_is_not_amended_here_and_nothing_taken_back_where_nothing_is() -> None:
    async with walk() as page:
        await page.press("ctrl+f")
        await page.type("flue.liners.round")
        await page.press("enter")
        await page.until("This holds a table")
        await page.press("f8")
        await page.until("Nothing of irc-2021 is edited")
        assert amending.own_changes("irc-2021") == ()


async def test_broken_amendments_are_told_and_left_alone(tmp_path: Path) -> None:
    async with walk() as page:
        file = tmp_path / "settings" / amendments.NAME
        file.parent.mkdir()
        file.write_text("[[change]\n")
        await page.press("ctrl+f")
        await page.type("hearth.front")
        await page.press("enter")
        await page.until("The file is not valid TOML")
        await page.press("f8")
        await page.until("The file is not valid TOML")
        assert file.read_text() == "[[change]\n"
