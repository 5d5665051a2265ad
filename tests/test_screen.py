"""The screen by keyboard alone, at 80 x 24 and at other sizes, driven without a terminal."""

import asyncio
import errno
import re
import shutil
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from rich.style import Style
from textual import events
from textual.color import Color
from textual.content import Content
from textual.css.query import NoMatches
from textual.dom import NoScreen
from textual.geometry import Size
from textual.pilot import Pilot
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import OptionList, Static
from waiting import at_rest, opened, running, shown, until

from hearthcalc import caution, jobfile
from hearthcalc.findings import Verdict
from hearthcalc_tui import commands, journal, storage, themes
from hearthcalc_tui import desk as desk_room
from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.desk.desk import Desk
from hearthcalc_tui.field import Field
from hearthcalc_tui.glyphs import ASCII, GLYPHS, UNICODE, choose
from hearthcalc_tui.screens.page import TextPage
from hearthcalc_tui.screens.palette import ByAnyName
from hearthcalc_tui.screens.start import QuestionsPage
from hearthcalc_tui.session import open_session
from hearthcalc_tui.storage import Memory

JOB = """\
format = "hearthcalc-job"
version = 1
units = "in"
[about]
title = "Mill cottage"
[fireplace]
construction = "masonry"
[[face]]
name = "taproom"
side = "front"
width = "36"    # at the floor
height = "30"
[face.hearth]
front = "20"
[flue]
liner = "13x13"
[[nearby]]
name = "oak mantel"
what = "mantel"
face = "taproom"
above = "9"
projection = "6"
"""

HOSTILE = "[/] [bold]x[/bold] [@click=app.quit]q[/] \x1b[31m\x9b2J\x07 \u202eabc\u2066 \u200b\u0301\u0301\u0301\u0301 end"


pytestmark = pytest.mark.usefixtures("own_state")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "mill.hearth.toml"
    path.write_text(JOB)
    return path


class Walk:
    """A person at the keyboard."""

    def __init__(self, app: HearthcalcApp, pilot: Pilot[None]) -> None:
        self.app = app
        self.pilot = pilot

    @property
    def desk(self) -> Desk:
        assert self.app.desk is not None
        return self.app.desk

    @property
    def field(self) -> Field:
        assert isinstance(self.app.focused, Field)
        return self.app.focused

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)

    async def type(self, text: str) -> None:
        for character in text:
            self.app.screen.focused.post_message(_key(character))  # type: ignore[union-attr]
        await self.pilot.pause()

    async def replace(self, text: str) -> None:
        """Type over what stands in the field."""
        await self.press("end", "ctrl+u")
        await self.type(text)

    async def click(self, words: str, *, after: str = "") -> None:
        """Click on words in the first row that has them, where they stay. after: other words of that row, to their left."""
        await self.until(lambda: not self.desk.answers.working, "what the models say")
        for y, row in enumerate(self.text().split("\n")):
            at = row.find(words, row.find(after) + len(after)) if after in row else -1
            if at >= 0:
                await self.pilot.click(offset=(at, y))
                await self.pilot.pause()
                return
        raise AssertionError(f"no {words} on the screen:\n{self.text()}")

    async def until(self, holds: Callable[[], object], what: str) -> None:
        await until(self.pilot, holds, what)

    async def open(self, name: str) -> None:
        """Ask for another job by its name."""
        await self.press("ctrl+o")
        await self.until(lambda: len(self.app.screen_stack) > 1, "what to open")
        await self.replace(name)
        await self.press("enter")

    async def shows(self, words: str) -> None:
        """Wait for words on the screen."""
        await self.until(lambda: words in self.words(), words)

    async def section(self, kind: str, thing: str = "") -> None:
        """Go straight to a section, as from the list of them."""
        self.desk.walk.entering.keep()
        at = [section.id for section in self.desk.place.sections].index((kind, thing))
        await self.desk.walk.turn_to(at)
        await self.pilot.pause()

    async def to(self, key: str) -> None:
        """Go down to a field of the section."""
        for _ in range(20):
            row = self.desk.form.row_of(self.field)
            if row is not None and row.key == key:
                return
            await self.press("down")
        raise AssertionError(f"no field {key}")

    def rows(self) -> list[str]:
        """What is on the screen, row by row."""
        return shown(self.app).split("\n")

    def text(self) -> str:
        return "\n".join(self.rows())

    def words(self) -> str:
        """What is on the screen as running text."""
        return self._running(self.rows())

    def page(self) -> str:
        """What is on the page over the desk, as running text."""
        return self._running([row.split("│")[1] for row in self.rows() if row.count("│") > 1])

    @staticmethod
    def _running(rows: list[str]) -> str:
        return " ".join("\n".join(rows).translate(str.maketrans("│▌▁▂▃▄▅▆▇█", " " * 10)).split())

    def verdict(self, id: str, stage: str = "found") -> Verdict:
        return next(f.verdict for f in self.desk.place.session.assess().stages[stage].findings if f.id == id)


def _key(character: str):  # type: ignore[no-untyped-def]
    from textual import events

    return events.Key(character, character)


@asynccontextmanager
async def walk(wanted: object = "", size: tuple[int, int] = (80, 24)) -> AsyncIterator[Walk]:
    app = HearthcalcApp(str(wanted))
    async with running(app, size) as pilot:
        await opened(pilot, app)
        await pilot.pause()
        yield Walk(app, pilot)
    if app.desk is not None:
        app.desk.close()


def cautions(page: Walk) -> bool:
    """Does the caution stand on the screen: on one row once it was read, and never gone?"""
    return any(caution.SHORT in row for row in page.rows()) or (
        page.app.size.width < 80 and caution.SHORT in page.words()
    )


# The frame


@pytest.mark.parametrize("size", [(60, 18), (80, 24), (120, 40), (200, 60)])
async def test_the_caution_is_there_in_full_and_stays(job: Path, size: tuple[int, int]) -> None:
    async with walk(job, size) as page:
        assert cautions(page), page.text()
        for key in (
            "pagedown",
            "f2",
            "f6",
            "end",
            "f4",
            "escape",
            "f1",
            "pagedown",
            "escape",
            "ctrl+l",
            "escape",
            "f6",
            "ctrl+p",
        ):
            await page.press(key)
            assert cautions(page), page.text()


async def test_the_cautions_in_full_stand_before_a_first_opening_and_go_by_a_key(
    job: Path, tmp_path: Path
) -> None:
    (tmp_path / "state" / "screen.json").unlink()
    async with walk(job, (100, 40)) as page:
        await page.until(lambda: caution.FULL[-1] in page.page(), "the caution in full")
        for line in caution.FULL:
            assert line in page.page()
        assert caution.LINE in page.words()
        await page.press("enter")
        assert len(page.app.screen_stack) == 1
        assert cautions(page), page.text()
        await page.press("tab")
    assert Memory().caution_read
    async with walk(job) as page:
        assert len(page.app.screen_stack) == 1


async def test_below_the_smallest_size_it_says_what_it_needs_and_loses_nothing(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        await page.type("41")
        for size in ((59, 24), (80, 17), (20, 5)):
            await page.pilot.resize_terminal(*size)
            await page.pilot.pause()
            assert "This" in page.words()
            assert "Width" not in page.text()
        for size in ((60, 18), (120, 40), (80, 24)):
            await page.pilot.resize_terminal(*size)
            await page.pilot.pause()
            assert cautions(page), page.text()
            assert page.field.text == "41"
            assert "41" in page.text()


async def test_three_columns_where_there_is_room(job: Path) -> None:
    async with walk(job, (120, 40)) as page:
        assert page.desk.query_one("#rail").display
        assert page.desk.query_one("#finding-detail").display
        await page.pilot.resize_terminal(80, 24)
        await page.pilot.pause()
        assert not page.desk.query_one("#rail").display
        assert page.desk.query_one("#rail-line").display


# Measuring


async def test_a_stranger_types_in_a_fireplace_and_reads_what_the_flue_carries() -> None:
    async with walk() as page:
        await page.type("Mill cottage")
        await page.section("fireplace")
        await page.type("m")
        await page.section("opening", "room")
        await page.to("face.width")
        await page.type("36")
        await page.press("tab")
        await page.type("2' 6")
        await page.press("enter")
        await page.type("fl")
        await page.section("hearth", "room")
        await page.type("20")
        await page.press("down", "down")
        await page.type("12")
        await page.press("tab")
        await page.type("12")
        await page.section("flue")
        await page.type("13x13")
        assert page.verdict("flue.area") is Verdict.MEETS
        assert page.verdict("hearth.front") is Verdict.MEETS
        assert page.desk.place.session.now.job.fireplace.construction == "masonry"
        await page.press("f6")
        assert "MEASURE" in page.text()
        found = next(
            number
            for number, finding in enumerate(page.desk.pane._listed)
            if finding.id == "flue.area" and finding.verdict is Verdict.MEETS
        )
        page.desk.pane.options.highlighted = found
        await page.press("enter")
        assert "Flue area" in page.text()
        await page.press("end")
        assert "Basis" in page.text() or "R1003.15" in page.text()


async def test_findings_follow_each_key_and_never_keep_an_old_number(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        seen = []
        for character in "60 [":
            await page.type(character)
            seen.append((page.field.text, str(page.verdict("flue.area"))))
        assert seen[1] == ("60", "SHORT")
        assert seen[3] == ("60 [", "MEASURE")
        assert page.field.note is not None and page.field.note.kind == "mistake"
        assert "!" in page.text()
        await page.press("escape")
        assert (page.field.text, page.verdict("flue.area")) == ("36", Verdict.MEETS)


async def test_what_was_understood_stands_under_the_fields(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        await page.type("7-1/2")
        assert f"7-1/2 {UNICODE.arrow} 7 1/2 in = 190.5 mm" in page.text()
        assert "Usual: 18 in to 72 in" in page.text()


async def test_a_mistake_never_stops_one_from_going_on(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        await page.type("wide")
        await page.press("tab")
        await page.type("31")
        await page.press("tab")
        assert page.desk.place.session.now.job.face[0].width is None
        assert page.desk.place.session.now.job.face[0].height.value == 31  # type: ignore[union-attr]
        assert "wide" in page.text()
        await page.press("f3")
        assert page.field.address == "face.taproom.width"


async def test_a_slip_of_unit_is_asked_and_taken_by_a_key(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        await page.type("30 mm")
        assert "Did you mean 30 in?" in page.words()
        await page.press("f5")
        assert page.field.text == "30 in"
        await page.press("f5")
        assert "nothing to suggest" in page.words()


async def test_choices_go_by_letters_arrows_and_space_and_can_be_taken_back(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.closure")
        for keys, text in (
            (("s",), "steel doors"),
            (("right",), "fixed glass"),
            (("left",), "steel doors"),
            (("space",), "fixed glass"),
            (("delete",), ""),
        ):
            await page.press(*keys)
            assert page.field.text == text
        await page.type("gla")
        assert page.field.text == "glass doors"
        await page.press("tab")
        assert page.desk.place.session.now.job.face[0].closure == "glass doors"


async def test_editing_keys_in_a_field(job: Path) -> None:
    async with walk(job) as page:
        await page.type("Old mill")
        assert page.field.text == "Old mill"
        await page.press("home", "delete", "end", "backspace", "left", "backspace")
        assert page.field.text == "ld ml"
        await page.press("ctrl+left", "ctrl+u")
        assert page.field.text == "ml"
        await page.press("escape")
        assert page.field.text == "Mill cottage"


async def test_the_walk_goes_through_every_section_and_back(job: Path) -> None:
    async with walk(job) as page:
        there, seen = [], set()
        while len(there) < 2 or there[-1] != there[-2]:
            there.append((page.desk.place.section.id, page.field.address))
            seen.add(page.desk.place.section.kind.id)
            await page.press("tab")
        assert "last section" in page.words()
        from hearthcalc_tui.sections.table import KINDS

        assert seen == {kind.id for kind in KINDS} - {"duct"}  # this house has none
        back = []
        while len(back) < 2 or back[-1] != back[-2]:
            back.append((page.desk.place.section.id, page.field.address))
            await page.press("shift+tab")
        assert "first section" in page.words()
        assert back[:-1] == list(dict.fromkeys(there))[::-1]


async def test_found_and_planned(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        await page.press("f2")
        assert "AS PLANNED" in page.text()
        assert page.field.address == "planned.face.taproom.width"
        assert (page.field.text, page.field.placeholder) == ("", "36")
        await page.type("60")
        assert page.verdict("flue.area", "planned") is Verdict.SHORT
        assert page.verdict("flue.area", "found") is Verdict.MEETS
        assert "PLANNED" in page.text()
        await page.press("f2")
        assert page.field.text == "36"
        assert "AS FOUND" in page.text()


async def test_faces_are_added_named_removed_and_come_back(job: Path) -> None:
    async with walk(job) as page:
        await page.press("f7", "enter")  # empty
        assert page.desk.place.section.id == ("opening", "back")
        assert page.desk.place.session.last.job.face[1].width is None
        await page.type("east room")
        await page.press("tab")
        assert page.desk.place.section.id == ("opening", "east room")
        assert page.field.address == 'face."east room".side'
        await page.press("f8")
        assert page.desk.place.session.things("face", "found") == ("taproom",)
        await page.press("ctrl+z")
        assert page.desk.place.session.things("face", "found") == ("taproom", "east room")
        await page.press("ctrl+z", "ctrl+z")
        assert page.desk.place.session.things("face", "found") == ("taproom",)
        await page.press("ctrl+y")
        assert page.desk.place.session.things("face", "found") == ("taproom", "back")


async def test_a_new_face_starts_from_the_sizes_of_another_where_that_is_chosen(job: Path) -> None:
    async with walk(job) as page:
        session = page.desk.place.session
        before = session.now
        await page.press("f7")
        assert "Width of the opening: 36; Height of the opening: 30" in page.page()
        assert "counts as measured" in page.page()
        await page.press("escape")
        assert session.now is before
        await page.press("f7", "down", "enter")
        await page.shows("back, with the sizes of taproom")
        new = session.last.job.face[1]
        assert (new.name, new.side, new.opens_to) == ("back", "back", None)
        assert [new.width.text, new.height.text, new.hearth.front.text] == ["36", "30", "20"]  # type: ignore[union-attr]
        await page.press("tab", "tab")
        await page.replace("40")
        await page.press("tab", "ctrl+z", "ctrl+z")
        assert session.now.document == before.document


async def test_a_list_of_things_nearby(job: Path) -> None:
    async with walk(job) as page:
        await page.section("nearby")
        await page.press("f7")
        await page.type("joist")
        await page.press("tab")
        await page.type("fr")
        await page.press("tab", "shift+tab")
        assert page.desk.place.session.things("nearby", "found") == ("oak mantel", "joist")
        await page.press("up", "up")
        assert page.field.text == "joist"
        await page.press("left")
        assert page.field.text == "oak mantel"
        await page.to("nearby.above")
        assert page.field.text == "9"
        await page.section("gaps")
        assert page.field.text == "oak mantel"
        await page.press("f8")
        assert page.desk.place.session.things("nearby", "found") == ("joist",)


async def test_nothing_is_added_where_it_does_not_belong(job: Path) -> None:
    async with walk(job) as page:
        await page.section("firebox")
        before = page.desk.place.session.now
        await page.press("f7")
        assert page.desk.place.session.now is before and "F7 adds a face, an item" in page.words()


async def test_adding_from_any_section_leads_to_the_new_name(job: Path) -> None:
    """Also from the gaps of a thing nearby, a section that has no field for the name."""
    async with walk(job) as page:
        for kind, things in (("fireplace", "face"), ("gaps", "nearby"), ("roof", "roof"), ("fans", "fans")):
            await page.section(kind)
            f7 = ("f7", "enter") if things == "face" else ("f7",)
            await page.press(*f7)
            assert page.field.address.endswith(".name") and "Added, as found: " in page.words()
            names = page.desk.place.session.things(things, "found")
            assert page.field.text == names[-1]
            await page.pilot.press("f8", *f7, "ctrl+z", *f7, "ctrl+z", "ctrl+y", *f7)
            assert page.app.fault is None
            assert page.field.address.endswith(".name")


async def test_what_was_put_off_is_shown_where_a_clock_of_textual_is_left_out(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where the machine does something else just as it sets out."""
    runs = Timer._run

    async def left_out(timer: Timer) -> None:
        if timer._repeat != 0:
            await runs(timer)

    monkeypatch.setattr(Timer, "_run", left_out)
    async with walk(job) as page:
        await page.until(lambda: not page.desk.answers.working, "what the models say")
        assert not page.app._batch_count


async def test_an_empty_list_is_walked_through_and_none_can_be_said(job: Path) -> None:
    async with walk(job) as page:
        await page.section("roof")
        assert "no roof yet" in page.text()
        await page.section("fans")
        await page.press("right")
        assert page.desk.place.session.now.job.air.fans == ()
        await page.press("f7")
        assert page.desk.place.session.things("fans", "found") == ("fan",)


async def test_units_are_turned_and_lengths_stay(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.press("ctrl+t")
        await page.to("face.width")
        assert page.field.text == "914.4" and page.field.echo == "914.4 mm = 36 in"
        assert page.field.unit == "mm"
        await page.press("ctrl+t")
        assert page.field.text == "36" and not page.desk.place.session.unsaved


async def test_undo_first_takes_back_what_is_being_typed(job: Path) -> None:
    async with walk(job) as page:
        await page.type("Old mill")
        await page.press("ctrl+z")
        assert page.field.text == "Mill cottage"
        await page.press("ctrl+z")
        assert "nothing to undo" in page.words()
        await page.type("Old mill")
        await page.press("tab", "ctrl+z")
        assert page.desk.place.session.title == "Mill cottage"
        assert page.field.address == "about.place"
        await page.press("ctrl+y")
        assert page.desk.place.session.title == "Old mill"


# Findings


async def test_a_finding_in_full_and_on_to_what_it_waits_for(job: Path) -> None:
    async with walk(job) as page:
        await page.press("f6")
        assert page.app.focused is page.desk.pane.options
        shown = [finding.verdict for finding in page.desk.pane._listed if finding.counts]
        assert shown == sorted(shown, key=["SHORT", "MEASURE", "REFER", "CLOSE", "MEETS"].index)
        await page.press("home", "enter")
        first = page.desk.pane._listed[0]
        assert first.title in page.page()
        assert first.text[:30] in page.page()
        await page.press("escape")
        waiting = next(n for n, finding in enumerate(page.desk.pane._listed) if finding.missing)
        page.desk.pane.options.highlighted = waiting
        address = page.desk.pane._listed[waiting].missing[0]
        await page.press("f3")
        assert page.field.address == address


async def test_the_site_list_leads_to_the_field(job: Path) -> None:
    async with walk(job) as page:
        measure = page.desk.place.session.assess().stages["found"].measure[0]
        await page.press("ctrl+l")
        assert measure.label in page.page()
        await page.press("enter")
        assert page.field.address == measure.address


async def test_help_tells_how_to_measure_and_every_key(job: Path) -> None:
    async with walk(job, (100, 90)) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        await page.press("f1")
        assert "From jamb to jamb" in page.page()
        for command in commands.COMMANDS:
            assert command.title in page.page()
        await page.press("escape")
        assert page.field.address == "face.taproom.width"


async def test_sections_are_chosen_from_a_page(job: Path) -> None:
    async with walk(job) as page:
        await page.press("f4", "down", "down", "enter")
        assert page.desk.place.section.id == ("opening", "taproom")


# Commands


async def test_found_is_copied_to_planned_and_stands_beside_it_where_they_differ(job: Path) -> None:
    async with walk(job, (120, 40)) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        await page.press("alt+c")
        assert page.desk.place.stage == "planned"
        assert page.field.address == "planned.face.taproom.width"
        assert page.field.text == "36"
        assert page.field.note is None
        assert "compared exactly" in page.words()
        await page.replace("36.0 in")
        assert page.field.note is None
        await page.replace("40")
        row = next(row for row in page.rows() if f"{GLYPHS.right} Width" in row)
        assert re.search(r"Width\s+36\s+40\s+in", row), row  # found, then planned
        head = next(row for row in page.rows() if re.search(r"found\s+planned\s", row))
        assert (head.index("found"), head.index("planned")) == (row.index("36"), row.index("40"))
        assert page.desk.place.session.entry("face.taproom.width") == "36"
        await page.pilot.resize_terminal(80, 24)
        await page.pilot.pause()
        assert "As found: 36" in page.words() or "as found: 36" in page.words()
        await page.press("f2")
        assert "s planned: 40" in page.words()
        await page.press("f2", "shift+f3")
        assert "As found beside as planned" in page.page() and "The answers differ" in page.page()
        await page.press("escape")
        await page.press("ctrl+z", "ctrl+z", "ctrl+z")
        assert page.desk.place.session.entry("planned.face.taproom.width") == ""


async def test_a_section_is_planned_as_found_but_for_what_is_planned_or_cut_away(job: Path) -> None:
    job.write_text(
        JOB + '[firebox]\ndepth = "20"\nwall = "8"\nback_wall = "8"\nlining = "2"\n'
        '[planned.firebox]\nlining = "4"\n[[planned.face]]\nname = "dining"\nside = "back"\n'
    )
    async with walk(job) as page:
        await page.section("firebox")
        await page.press("alt+a")
        session = page.desk.place.session
        planned = {
            key: session.entry(f"planned.firebox.{key}") for key in ("depth", "wall", "back_wall", "lining")
        }
        assert planned == {"depth": "", "wall": "", "back_wall": "", "lining": "4"}
        await page.to("firebox.back_wall")
        await page.press("alt+c")
        assert "The plan changes what this was measured from" in page.words()
        assert session.entry("planned.firebox.back_wall") == ""
        await page.section("site")
        await page.press("alt+c")
        assert "Nothing was found here" in page.words()


async def test_what_the_work_cannot_change_is_not_planned_and_nothing_twice(job: Path) -> None:
    async with walk(job) as page:
        await page.press("alt+c")
        assert "The work cannot change this entry." in page.words()
        await page.section("fireplace")
        await page.press("alt+a")
        assert page.desk.place.session.entry("planned.fireplace.construction") == "masonry"
        await page.press("alt+a")
        assert "Nothing in this section was found that is not planned already." in page.words()


async def test_from_a_field_to_the_findings_that_use_it_and_back(job: Path) -> None:
    async with walk(job) as page:
        await page.press("alt+j")
        assert "No finding uses this entry." in page.words()
        await page.section("hearth", "taproom")
        await page.press("alt+j")
        seen = []
        while page.app.focused is page.desk.pane.options:
            assert page.desk.pane.highlighted is not None
            seen.append(page.desk.pane.highlighted.id)
            await page.press("f11")
        assert "hearth.front" in seen
        assert len(seen) == len(set(seen))
        assert page.field.address == "face.taproom.hearth.front"
        await page.section("flue")
        await page.press("alt+j")
        assert page.desk.pane.highlighted is not None
        assert page.desk.pane.highlighted.subject in {"flue", "draft", "firebox"}


async def test_from_a_finding_to_what_it_waits_for_or_its_section(job: Path) -> None:
    async with walk(job) as page:
        await page.press("f6")
        pane = page.desk.pane
        for id, address in (
            ("hearth.left", "face.taproom.hearth.left"),
            ("hearth.front", "face.taproom.hearth.front"),
        ):
            pane.pick((id, "taproom", "", ""))
            page.app.screen.set_focus(pane.options)
            await page.press("f11")
            assert page.field.address == address


def test_the_table_of_commands_is_sound() -> None:
    by_scope: dict[str, list[str]] = {"anywhere": [], "field": [], "list": []}
    for command in commands.COMMANDS:
        by_scope[command.scope] += command.keys
        assert command.group in commands.GROUPS
    inside = by_scope["anywhere"] + by_scope["field"]
    assert len(inside) == len(set(inside))
    assert len(commands.BY_ID) == len(commands.COMMANDS), "two commands share a name"
    # Tab, Enter, Backspace as the terminal sends them, and the keys that hold a terminal multiplexer.
    eaten = {"ctrl+i", "ctrl+m", "ctrl+h", "ctrl+b", "ctrl+a"}
    assert not eaten & set(inside)
    assert commands.table().count("\n") == len(commands.COMMANDS) + 1


async def test_each_command_is_done_by_one_method_of_one_concern(job: Path) -> None:
    folder = Path(desk_room.__path__[0])
    methods = [name for file in folder.glob("*.py") for name in re.findall(r"def do_(\w+)", file.read_text())]
    assert sorted(methods) == sorted(c.id for c in commands.COMMANDS if c.scope != "list")
    async with walk(job) as page:
        assert set(page.desk.actions) == set(methods)


def broken(*given: object) -> None:
    raise ZeroDivisionError("on purpose")


async def broken_work(*given: object) -> None:
    broken()


async def test_a_fault_in_a_page_in_work_and_in_a_field_costs_only_that_key(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from hearthcalc_tui.desk.entering import Entering
    from hearthcalc_tui.desk.pages import Pages
    from hearthcalc_tui.screens.reference import ReferencePage

    async with walk(job) as page:
        monkeypatch.setattr(ReferencePage, "action_subject", broken)
        monkeypatch.setattr(Pages, "_show_site_list", broken_work)
        await page.press("ctrl+f")
        await page.press("tab")
        await page.press("a", "escape")
        await page.press("ctrl+l")
        assert "a fault of the program" in page.words()
        await page.type("Old mill")
        await page.press("tab")
        assert page.desk.place.session.last.job.about.title == "Old mill"
        with monkeypatch.context() as patch:
            patch.setattr(Entering, "edited", broken)
            await page.type("x")
            assert page.app.fault is None
        await page.type("y")
        await page.press("shift+tab")
        assert page.field.text == "Old mill"
        assert page.app.fault is None
        log = (storage.state_folder() / "faults.log").read_text()
        assert log.count("ZeroDivisionError: on purpose") == 3


async def test_a_fault_in_work_beside_the_screen_is_told_and_written_down(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the thread that computes, in what hears it, and in a page that waits."""
    from hearthcalc_tui.desk.answers import Answers
    from hearthcalc_tui.screens.howsure import SurePage
    from hearthcalc_tui.screens.reference import ReferencePage

    log = storage.state_folder() / "faults.log"

    def times() -> int:
        return log.read_text().count("ZeroDivisionError: on purpose") if log.exists() else 0

    async with walk(job) as page:
        await page.type("Old mil")
        await page.until(lambda: not page.desk.answers.working, "what the models say")
        with monkeypatch.context() as patch:
            patch.setattr(Answers, "_hear", broken)
            await page.type("l")
            await page.until(lambda: times() == 1, "the fault of what hears the models")
        await page.press("tab")
        await page.type("Ann Ash")
        assert page.app.fault is None
        monkeypatch.setattr(SurePage, "look", broken)
        await page.press("alt+y")
        await page.until(lambda: times() == 2, "the fault of the search")
        await page.press("escape")
        await page.press("tab")
        monkeypatch.setattr(ReferencePage, "_amend", broken_work)
        await page.press("ctrl+f")
        await page.press("enter")
        await page.until(lambda: times() == 3, "the fault of the page")
        assert page.app.fault is None


async def test_a_fault_in_what_was_put_off_is_told_and_work_goes_on(job: Path) -> None:
    """As where parts of the screen have gone before others."""
    done: list[str] = []

    def without_a_screen() -> None:
        done.append("tried")
        raise NoScreen("node has no screen")

    async with walk(job) as page:
        page.desk.after(0, without_a_screen)
        page.desk.after(0, lambda: done.append("after it"))
        await page.until(lambda: "after it" in done, "what was put off")
        assert done == ["tried", "after it"]
        assert page.app.fault is None


async def test_a_form_whose_parts_have_gone_heads_no_columns(job: Path) -> None:
    """As where it is called after a refresh, and the screen goes meanwhile."""
    async with walk(job) as page:
        form = page.desk.form
        await form.query_one("#form-columns").remove()
        form.on_resize()
        await page.pilot.pause()
        assert not (storage.state_folder() / "faults.log").exists()


async def test_what_a_thread_brings_when_its_page_has_gone_is_not_heard(job: Path) -> None:
    heard: list[str] = []
    async with walk(job) as page:
        gone, from_elsewhere = page.desk.form, asyncio.get_running_loop().run_in_executor
        await from_elsewhere(None, gone.from_thread, heard.append, "there")
        await gone.remove()
        await from_elsewhere(None, gone.from_thread, heard.append, "gone")
        assert gone.parent is None
        assert heard == ["there"]


async def test_told_to_end_it_takes_no_key_and_misses_nothing_that_has_gone(job: Path) -> None:
    log = storage.state_folder() / "faults.log"
    async with walk(job) as page:
        page.app.leave()
        await page.press("ctrl+w")
        assert page.desk.pane.view is None
        page.app.faults.met(NoMatches("a list that was not made any more"))
        assert not log.exists()
        page.app.faults.met(ZeroDivisionError("on purpose"))
        assert "on purpose" in log.read_text()


async def test_a_page_beneath_another_is_not_closed_by_a_key_on_its_way(job: Path) -> None:
    async with walk(job) as page:
        await page.press("ctrl+g")
        beneath = page.app.screen
        above = TextPage("Above", Content("It lies above."))
        await page.app.push_screen(above)
        beneath.post_message(_key("s"))
        await page.pilot.pause()
        assert page.app.screen_stack[1:] == [beneath, above]
        await page.press("escape", "escape")
        assert page.app.screen_stack[1:] == []
        assert page.app.fault is None


async def test_a_key_again_before_its_page_stands_opens_it_once(job: Path) -> None:
    async with walk(job) as page:
        for _ in range(2):
            page.app.post_message(events.Key("ctrl+g", None))
        await page.pilot.pause()
        assert len(page.app.screen_stack) == 2


async def test_enter_twice_on_a_finding_opens_it_and_closes_it(job: Path) -> None:
    async with walk(job) as page:
        await page.press("f6")
        opened: list[str] = []
        push = page.app.push_screen
        page.app.push_screen = lambda *given, **named: (opened.append("a page"), push(*given, **named))[1]  # type: ignore[method-assign]
        for _ in range(2):
            page.app.post_message(events.Key("enter", "\r"))
        await page.pilot.pause()
        assert opened == ["a page"]
        assert len(page.app.screen_stack) == 1


async def test_a_key_from_before_a_page_stood_does_not_close_it(job: Path) -> None:
    """It comes up from a field, late, when the page is there and its text is not: a first look at the text would be a fault."""
    async with walk(job) as page:
        over = TextPage("Over", Content("It lies over the desk."))
        page.app.push_screen(over)
        await page.app._check_bindings("escape")
        await page.pilot.pause()
        assert page.app.screen is over
        assert not (storage.state_folder() / "faults.log").exists()
        await page.press("escape")
        assert len(page.app.screen_stack) == 1


@pytest.mark.parametrize("over", ["", "f1", "ctrl+p"])
async def test_a_window_of_few_columns_costs_nothing(job: Path, over: str) -> None:
    """A list cannot be laid out in as many columns as its edges take: the desk under the cover keeps its width."""
    async with walk(job) as page:
        if over:
            await page.press(over)
        for width in (20, 10, 9, 8, 4, 3, 2, 1, 80):
            await page.pilot.resize_terminal(width, 24)
            await page.pilot.pause()
        assert page.app.is_running and page.app.fault is None
        assert not (storage.state_folder() / "faults.log").exists()


@pytest.mark.parametrize("over", ["", "f1", "ctrl+p"])
async def test_two_sizes_on_their_way_end_with_that_of_the_window(
    job: Path, over: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A screen tells itself of each size that it took, so that two of them made it change from one to the other without end."""
    laid_out: list[Size] = []
    as_before = Screen._screen_resized

    def counted(screen: Screen[object], size: Size) -> None:
        laid_out.append(size)
        assert len(laid_out) < 50, "it does not come to rest"
        as_before(screen, size)

    async with walk(job) as page:
        if over:
            await page.press(over)
            await page.until(lambda: len(page.app.screen_stack) > 1, "a page")
        monkeypatch.setattr(Screen, "_screen_resized", counted)
        with page.app.batch_update():  # in a burst of keys
            for width in (100, 80):
                for screen in page.app.screen_stack:
                    screen.post_message(events.Resize(Size(width, 24), Size(width, 24)))
                    screen.call_later(lambda: None)
            await at_rest()
        await page.pilot.pause()
        assert page.app.screen.size == page.app.size == (80, 24)
        assert page.app.is_running and page.app.fault is None
        assert not (storage.state_folder() / "faults.log").exists()


async def test_a_name_longer_than_any_file_has_is_told_and_nothing_lost(job: Path) -> None:
    async with walk(job) as page:
        await page.type("x")
        await page.press("f12")
        await page.until(lambda: len(page.app.screen_stack) > 1, "where to save it")
        await page.replace("y" * 500)
        await page.press("enter")
        await page.shows("cannot be written")
        assert page.desk.place.session.unsaved
        assert not (storage.state_folder() / "faults.log").exists()


async def test_the_folder_it_was_started_in_may_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A stick that is pulled: it is told as often as it is tried, and work goes on."""
    stick = tmp_path / "stick"
    stick.mkdir()
    (stick / "mill.hearth.toml").write_text(JOB)
    monkeypatch.chdir(stick)
    async with walk(Path("mill.hearth.toml")) as page:
        await page.type("x")
        shutil.rmtree(stick)
        for keys in (["ctrl+s"], ["ctrl+s"], ["f12", "enter"]):
            await page.press(*keys)
            await page.shows("cannot be written")
        await page.press("ctrl+o", "escape", "f12")
        await page.until(lambda: len(page.app.screen_stack) > 1, "where to save it")
        await page.replace(str(tmp_path / "kept"))
        await page.press("enter")
        await page.shows("Saved")
        assert 'title = "x"' in (tmp_path / "kept.hearth.toml").read_text()
        assert not (storage.state_folder() / "faults.log").exists()


class Listening(QuestionsPage):
    def on_key(self) -> None:
        self.query_one(OptionList)


async def test_a_page_heeds_no_key_before_its_text_is_there_or_after_it_closed(job: Path) -> None:
    async with walk(job) as page:
        questions = Listening(["flue"])
        opening = page.app.push_screen(questions)
        assert not questions.is_mounted
        assert not await page.app.run_action("mark", questions)
        await opening
        assert await page.app.run_action("mark", questions)
        closing = questions.dismiss(None)
        assert not await page.app.run_action("mark", questions)
        await closing
        await questions._dispatch_message(events.Key("x", "x"))
        await asyncio.to_thread(questions.from_thread, questions.on_key)
        assert not (storage.state_folder() / "faults.log").exists()


async def test_a_press_on_what_has_gone_but_is_still_drawn_does_nothing(job: Path) -> None:
    async with walk(job) as page:
        told = Static("gone")
        await page.app.screen.mount(told)
        await page.pilot.pause()
        x, y = told.region.offset
        await told.remove()
        assert page.app.get_widget_at(x, y)[0] is told and not told.is_attached
        page.app.post_message(events.MouseDown(page.app.screen, x, y, 0, 0, 1, False, False, False, x, y))
        await page.pilot.pause()
        assert not (storage.state_folder() / "faults.log").exists()


async def test_a_section_that_goes_while_it_is_asked_for_leads_to_the_first(job: Path) -> None:
    async with walk(job) as page:
        await page.press("f4")
        await page.until(lambda: len(page.app.screen_stack) > 1, "the sections")
        place = page.desk.place
        asked = place.sections[9]
        place.sections = tuple(section for section in place.sections if section != asked)
        page.app.screen.query_one(OptionList).highlighted = 9
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(place, "lay_out", lambda: None)
            await page.press("enter")
            await page.until(lambda: len(page.app.screen_stack) == 1, "the desk")
            assert place.number == 0
            await page.desk.walk.turn_to(999)
            assert place.number == 0
        assert not (storage.state_folder() / "faults.log").exists()


async def test_a_click_beside_the_screen_leaves_the_cursor_in_its_field(job: Path) -> None:
    async with walk(job) as page:
        field = page.app.focused
        assert field is not None
        away = events.MouseDown(None, 9_000, 5, 0, 0, 1, False, False, False, 9_000, 5)
        page.app.post_message(away)
        await page.pilot.pause()
        assert page.app.focused is field


@pytest.mark.parametrize("keys", ["", "ctrl+p", "f4", "ctrl+o", "ctrl+g"])
async def test_a_click_on_a_row_that_has_gone_but_is_still_drawn_does_nothing(job: Path, keys: str) -> None:
    async with walk(job) as page:
        if keys:
            await page.press(keys)
            await page.until(lambda: len(page.app.screen_stack) > 1, "the page")
        for rows in page.app.screen.query(OptionList):
            click = events.Click(rows, 1, 1, 0, 0, 1, False, False, False)
            click.style = Style.from_meta({"option": rows.option_count})
            rows.post_message(click)
        await page.pilot.pause()
        assert page.app.screen.query(OptionList)
        assert not (storage.state_folder() / "faults.log").exists()
        assert page.app.is_running


async def test_every_command_stands_in_the_palette_and_nothing_else(job: Path) -> None:
    async with walk(job) as page:
        offered = [command.title for command in page.app.get_system_commands(page.app.screen)]
        wanted = [c for c in commands.COMMANDS if c.scope == "anywhere" and c.id != "palette"]
        assert len(offered) == len(wanted)
        assert all(title.startswith(command.title) for title, command in zip(offered, wanted, strict=True))
        await page.press("ctrl+p")
        await page.until(lambda: len(page.app.screen_stack) > 1, "all commands")
        await page.pilot.press(*"planned")
        await page.until(lambda: "As found / as planned" in page.words(), "the one that is named")
        await page.until(lambda: "Save" not in page.words(), "the others gone")
        await page.pilot.press("enter")
        await page.shows("AS PLANNED")
        assert page.desk.place.stage == "planned"


async def test_the_line_of_sections_takes_the_mouse(job: Path) -> None:
    async with walk(job) as page:
        await page.section("fireplace")
        await page.pilot.click("#rail-line", offset=(78, 0))
        await page.until(lambda: page.desk.place.section.kind.id != "fireplace", "another section")
        assert page.desk.place.section.id == ("opening", "taproom")
        await page.pilot.click("#rail-line", offset=(8, 0))
        await page.until(lambda: page.desk.place.section.kind.id != "opening", "another section")
        assert page.desk.place.section.kind.id == "fireplace"
        await page.pilot.click("#rail-line", offset=(26, 0))
        await page.until(lambda: len(page.app.screen_stack) > 1, "a page")
        assert "Flue size" in page.page() and page.desk.place.section.kind.id == "fireplace"


async def test_a_click_on_a_tally_leads_to_the_first_such_finding(job: Path) -> None:
    planned = "[[planned.face]]\nname = 'taproom'\nwidth = '60'\n"
    job.write_text(job.read_text() + planned)
    async with walk(job) as page:
        for stage, sign in (("FOUND", "MEETS"), ("PLANNED", "SHORT"), ("PLANNED", "MEASURE")):
            await page.click(GLYPHS.sign(Verdict[sign]), after=f"{stage:<8}{GLYPHS.sign(Verdict.SHORT)}")
            await page.until(lambda: page.desk.pane.options.has_focus, "the list of findings")
            finding, listed = page.desk.pane.highlighted, page.desk.pane
            assert page.desk.place.stage == stage.lower()
            assert finding is not None and finding.verdict == sign and finding.counts
            first = next(f for f in listed._listed if f.counts and f.verdict == sign)
            assert finding.key == first.key


async def test_a_click_on_the_key_line_does_what_the_key_does(job: Path) -> None:
    async with walk(job) as page:
        await page.click("found/planned")
        await page.until(lambda: page.desk.place.stage == "planned", "the planned stage")
        await page.press("pagedown")  # the message in the line gives way to the keys
        await page.click("F1")
        await page.until(lambda: len(page.app.screen_stack) > 1, "a page")
        assert "How to measure, and the keys" in page.page()


async def test_a_click_on_a_choice_takes_it(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.side")
        await page.click("left", after="[front]")
        assert page.desk.place.session.entry("face.taproom.side") == "left"
        assert page.field.text == "left" and "[left]" in page.text()
        await page.press("f4")
        await page.click("Firebox")
        await page.until(lambda: page.desk.place.section.kind.id == "firebox", "the firebox")


def test_each_command_has_a_way_in_every_terminal() -> None:
    """Common practice, no source: tmux, editors and Macs keep F10, F11, Alt, Ctrl with arrows and Shift with F keys to themselves."""
    kept = re.compile(r"f1[01]|alt\+.+|ctrl\+(up|down)|shift\+f\d+")
    for command in commands.COMMANDS:
        assert command.letter or not all(kept.fullmatch(key) for key in command.keys), command.id
    letters = [command.letter for command in commands.COMMANDS if command.letter]
    assert len(letters) == len(set(letters))
    assert not kept.fullmatch(commands.BY_ID["by_letter"].keys[0])


async def test_a_letter_after_ctrl_g_runs_its_command(job: Path) -> None:
    async with walk(job) as page:
        await page.press("ctrl+g")
        assert "P On paper" in page.page()
        await page.press("q")
        await page.until(lambda: "What do you want to know?" in page.text(), "what is asked")
        await page.press("escape", "ctrl+g", "g")
        await page.until(lambda: "How to measure, and the keys" in page.text(), "how to measure")
        await page.press("escape", "ctrl+g", "escape")
        assert len(page.app.screen_stack) == 1


async def test_commands_rest_while_a_page_is_open(job: Path) -> None:
    async with walk(job) as page:
        await page.press("f4", "f2", "f7", "ctrl+s")
        assert len(page.app.screen_stack) == 2
        await page.press("escape")
        assert page.desk.place.stage == "found"
        assert page.desk.place.session.things("face", "found") == ("taproom",)


# Files


async def test_save_as_asks_before_it_writes_over_another_file(job: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.hearth.toml"
    other.write_text("mine")
    async with walk(job) as page:
        await page.press("f12")
        await page.replace("other")
        await page.press("enter")
        assert "There is a file of that name" in page.text()
        await page.press("enter")
        assert other.read_text() == "mine"
        await page.press("f12")
        await page.replace("other")
        await page.press("enter", "down", "enter")
        assert jobfile.load(other).about.title == "Mill cottage"
        assert job.read_text() == JOB


async def test_keys_that_come_while_it_is_saved_under_another_name_go_with_it(
    job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A kill at any moment leaves them with the job: with the one there was until the other is written, with the other from then on."""
    boxes = [storage.DraftBox(path).name for path in (job, tmp_path / "other.hearth.toml")]
    write = storage.write
    found: list[list[tuple[tuple[str, str], ...]]] = []

    def left() -> None:
        folder = storage.state_folder() / "drafts"
        found.append(
            [journal.read(path.read_bytes()).keys for box in boxes for path in folder.glob(f"{box}.*.keys")]
        )

    async with walk(job) as page:

        def interrupted(path: Path, text: str) -> str:
            if path.name != "other.hearth.toml":
                return write(path, text)
            page.app.journal.came("sign", "7")
            left()
            mark = write(path, text)
            left()
            return mark

        monkeypatch.setattr(storage, "write", interrupted)
        await page.press("f12")
        await page.replace("other")
        await page.press("enter")
        await page.shows("Saved")
        left()
        seven = (("sign", "7"),)
        assert found == [[seven, seven], [seven, seven], [()]], "entered by then"
        assert not list((storage.state_folder() / "drafts").glob(f"{boxes[0]}.*.keys"))


async def test_save_keeps_comments_and_says_so_in_words(job: Path) -> None:
    async with walk(job) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        await page.type("40")
        await page.press("ctrl+s")
        await page.shows("Saved")
        assert job.read_text().startswith(JOB.replace('"36"', '"40"'))
        assert not page.desk.place.session.unsaved


async def test_a_file_that_changed_beneath_is_asked_about(job: Path) -> None:
    async with walk(job) as page:
        await page.type("Old mill")
        job.write_text(JOB + "# by another\n")
        await page.press("ctrl+s")
        await page.shows("The file has changed")
        await page.press("escape")
        assert job.read_text().endswith("# by another\n")
        await page.press("ctrl+s")
        await page.shows("The file has changed")
        await page.press("down", "enter")
        await page.shows("Saved")
        assert jobfile.load(job).about.title == "Old mill"


async def test_that_unsaved_work_is_not_kept_stays_on_the_screen_until_it_is(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The message gave way to the next one, and nothing told of it any more."""
    from hearthcalc.errors import FileError

    def full(path: Path, text: str) -> int:
        raise FileError("Not saved", "It cannot be written: the disk is full.", fix="Free some room.")

    async with walk(job) as page:
        with monkeypatch.context() as disk:
            disk.setattr(storage, "append", full)
            await page.type("Old mill")
            await page.press("tab")
            await page.shows("Unsaved work is not kept")
            await page.press("ctrl+c")
            await page.shows("not saved, not kept")
            assert "Unsaved work is not kept" not in page.words()
        await page.type("Low Weir")
        await page.press("tab")
        await page.until(lambda: "not kept" not in page.words(), "it is kept again")
        assert "not saved" in page.words()


async def test_a_full_disk_is_told_and_loses_nothing(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async with walk(job) as page:
        await page.type("Old mill")

        def full(path: Path, text: str) -> str:
            from hearthcalc.errors import FileError

            raise FileError("Not saved", "It cannot be written: the disk is full.", fix="Free some room.")

        monkeypatch.setattr(storage, "write", full)
        await page.press("ctrl+s")
        await page.shows("the disk is full")
        assert page.desk.place.session.unsaved
        assert job.read_text() == JOB
        assert page.desk.place.session.title == "Old mill"


async def test_a_folder_that_can_only_be_read_is_told(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make = tempfile.mkstemp

    def refuse(*, dir: Path, **names: str) -> tuple[int, str]:
        if dir == job.parent:
            raise PermissionError(errno.EACCES, "Permission denied")
        return make(dir=dir, **names)

    async with walk(job) as page:
        await page.type("Old mill")
        monkeypatch.setattr(tempfile, "mkstemp", refuse)
        await page.press("ctrl+s")
        await page.shows("may not write there")
        assert job.read_text() == JOB


async def test_quitting_asks_about_what_is_not_saved(job: Path) -> None:
    async with walk(job) as page:
        await page.type("Old mill")
        await page.press("ctrl+q")
        assert "Not saved" in page.text()
        await page.press("escape")
        assert page.app.is_running and page.field.text == "Old mill"
        await page.press("ctrl+q", "enter")
        await page.until(lambda: not page.app.is_running, "the end")
    assert jobfile.load(job).about.title == "Old mill"
    assert page.app.return_code == 0


async def test_open_and_new(job: Path, tmp_path: Path) -> None:
    (tmp_path / "second.hearth.toml").write_text(JOB.replace("Mill cottage", "Second house"))
    async with walk(job) as page:
        await page.press("ctrl+o")
        assert "second.hearth.toml" in page.text()
        await page.type("second.hearth.toml")
        await page.press("enter")
        await page.shows("HEARTHCALC Second house")
        await page.press("ctrl+o")
        await page.type("nowhere")
        await page.press("enter")
        await page.shows("no such file")
        assert page.desk.place.session.title == "Second house"
        await page.press("ctrl+n")
        await page.until(lambda: page.desk.place.session.title == "new job", "a new job")
        assert page.desk.place.session.now.job.face[0].width is None


async def test_a_file_that_is_no_job_ends_with_its_mistake(tmp_path: Path) -> None:
    bad = tmp_path / "bad.hearth.toml"
    bad.write_text("width = 3")
    async with walk(bad) as page:
        assert page.app.fault is not None
        assert page.app.return_code == 4


async def test_a_draft_is_offered_at_the_next_start(job: Path) -> None:
    async with walk(job) as page:
        await page.type("Old mill")
        await page.press("tab")
        page.desk.place.session.file.release()
    assert job.read_text() == JOB
    async with walk(job) as page:
        await page.shows("Unsaved work found")
        assert "Title: Mill cottage" in page.words() and "about.title" not in page.text()
        await page.press("enter")
        assert page.desk.place.session.title == "Mill cottage", "nothing is chosen before a person chooses"
        await page.press("down", "enter")
        await page.shows("HEARTHCALC Old mill")
        await page.press("ctrl+z")
        assert page.desk.place.session.title == "Mill cottage"


async def test_ended_while_a_draft_is_asked_about_it_keeps_the_draft(job: Path) -> None:
    async with walk(job) as page:
        await page.type("Old mill")
        await page.press("tab")
        page.desk.place.session.file.release()
    async with walk(job) as page:
        await page.shows("Unsaved work found")
        page.desk.keep_all()
        page.desk.place.session.file.release()
    left = storage.DraftBox(job).find()
    assert left is not None
    assert left.document["about"]["title"] == "Old mill"


async def test_left_for_a_job_that_cannot_be_read_it_is_kept(job: Path) -> None:
    async with walk(job) as page:
        await page.type("Old mill")
        await page.press("tab")
        await page.open("typo.hearth.toml")
        await page.shows("Leave without them")
        await page.press("down", "down", "enter")
        await page.shows("cannot be read")
        assert storage.DraftBox(job).find() is not None


async def test_a_draft_not_decided_about_outlives_an_opening_that_fails(job: Path) -> None:
    storage.DraftBox(job).keep({"about": {"title": "Old mill"}}, "")
    async with walk(job) as page:
        await page.shows("Unsaved work found")
        await page.press("escape")
        await page.open("typo.hearth.toml")
        await page.shows("cannot be read")
    assert storage.DraftBox(job).find() is not None


async def test_unsaved_work_of_a_job_that_is_written_over_is_told(job: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.hearth.toml"
    storage.DraftBox(other).keep({"about": {"title": "Old mill"}}, "")
    async with walk(job) as page:
        await page.press("f12")
        await page.replace("other")
        await page.press("enter")
        await page.shows("but not what was unsaved of it")
        await page.press("enter")
    assert not other.exists()
    assert storage.DraftBox(other).find() is not None


async def test_ended_while_a_page_is_typed_into_its_keys_are_kept(job: Path) -> None:
    async with walk(job) as page:
        await page.press("f12")
        await page.until(lambda: len(page.app.screen_stack) > 1, "where to save it")
        page.app.journal.came("sign", "7")
        page.desk.keep_all()
        (left,) = (storage.state_folder() / "drafts").glob("*.keys")
        assert ("sign", "7") in journal.read(left.read_bytes()).keys


async def test_work_that_has_no_file_is_kept_when_it_is_gone_on_with(tmp_path: Path) -> None:
    box = storage.DraftBox(None)
    assert box.claim()
    box.keep({"format": "hearthcalc-job", "version": 1, "about": {"title": "Old mill"}}, "")
    box.release()
    async with walk(f"recovered:{box.name}") as page:
        await page.shows("HEARTHCALC Old mill")
        page.desk.place.session.file.release()
    assert [draft.box for draft in storage.drafts_left()] == [box.name], "until it is saved"


async def test_saved_under_another_name_it_is_judged_by_the_amendments_there(
    job: Path, tmp_path: Path
) -> None:
    there = tmp_path / "town"
    there.mkdir()
    (there / "amendments.toml").write_text(
        'format = "hearthcalc-amendments"\nversion = 1\n[[change]]\nedition = "irc-2021"\nkey = "hearth.side"\n'
        'value = "below 6 ft2: 30 in; otherwise: 40 in"\nwho = "M. Arden"\nwhen = 2026-05-04\nwhy = "ordinance"\n'
    )
    async with walk(job) as page:
        values = page.desk.place.session.edition().fingerprint
        await page.press("f12")
        await page.replace("town/two")
        await page.press("enter")
        await page.shows("Saved")
        session = page.desk.place.session
        assert session.edition().fingerprint != values
        assert session.file.judged["fingerprint"] == session.edition().fingerprint
        await page.until(
            lambda: "model" in {finding.kind for finding in session.assess().deciding.findings},
            "what the models say by them",
        )


async def test_saved_over_the_job_of_another_window_it_says_that_nothing_is_kept(
    job: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.hearth.toml"
    other.write_text(JOB)
    async with walk(other), walk(job) as page:
        await page.press("f12")
        await page.replace("other")
        await page.press("enter", "down", "enter")
        await page.shows("Another window has it open")
        assert page.desk.place.session.draft() is None


async def test_a_second_window_is_told(job: Path) -> None:
    async with walk(job) as first:
        async with walk(job) as second:
            await second.shows("Another window has this job open")
        assert first.desk.place.session.draft() is not None


async def test_it_keeps_unsaved_work_from_when_the_other_window_has_closed(job: Path) -> None:
    other = open_session(str(job))
    async with walk(job) as page:
        await page.shows("Another window has this job open")
        await page.type("Old mill")
        await page.press("tab")
        await page.shows("not saved, not kept")
        other.file.release()
        await page.type("Low Weir")
        await page.press("tab")
        await page.shows("Unsaved work is kept from here on")
        assert "not kept" not in page.words()
        (left,) = (storage.state_folder() / "drafts").glob("*.json")
        assert "Low Weir" in left.read_text() and "Old mill" in left.read_text()
        assert len(list(left.parent.glob(f"{left.stem}.*.keys"))) == 1


async def test_the_demo_is_never_written_to(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    async with walk("demo") as page:
        await page.type("Mine")
        await page.press("ctrl+s")
        assert "Save the job as" in page.text()
        await page.replace("mine")
        await page.press("enter")
        await page.shows("Saved")
        assert (tmp_path / "mine.hearth.toml").exists()
        assert not page.desk.place.session.file.demo


# Foreign text


async def test_hostile_text_is_shown_as_text_everywhere(tmp_path: Path) -> None:
    """Markup, controls, direction marks in a title, a name and notes, and in a file's name, through every page."""
    import json

    title = json.dumps(HOSTILE).replace("\x9b", "\\u009b")
    path = tmp_path / "[bold]x[@click=q].hearth.toml"
    path.write_text(
        JOB.replace('"Mill cottage"', title)
        .replace('"oak mantel"', '"[/] [b]oak"')
        .replace('"taproom"', '"stu[/]dy"')
        .replace("[fireplace]", f"notes = {title}\n[fireplace]")
    )
    async with walk(path, (120, 40)) as page:
        for keys in (
            *(("pagedown",) for _ in range(18)),
            ("f2",),
            *(("pageup",) for _ in range(18)),
            ("f1",), ("escape",), ("f4",), ("escape",), ("ctrl+l",), ("escape",), ("ctrl+o",), ("escape",),
            ("f12",), ("escape",), ("f6",), ("home",), ("enter",), ("escape",), ("down",), ("enter",), ("escape",),
            ("f6",), ("f7",), ("f8",), ("ctrl+z",),
        ):  # fmt: skip
            await page.press(*keys)
            shown = page.text()
            assert (
                "\x1b" not in shown and "\x9b" not in shown and "\u202e" not in shown and "\x07" not in shown
            )
            assert "[bold]x[/bold]" in shown or len(page.app.screen_stack) > 1
        assert page.app.is_running
        await page.section("about")
        await page.type("[/] [x")
        await page.press("tab", "f3")
        assert page.app.is_running


async def test_hostile_text_through_the_widgets_that_show_what_was_typed(job: Path) -> None:
    """Typed and pasted: preview of a list, jump messages, what was found beside what is planned, a name of 5000 letters."""
    from textual import events

    hostile = f"{HOSTILE}\x00{'9' * 5000}"
    async with walk(job, (120, 40)) as page:
        await page.section("opening", "taproom")
        await page.to("face.width")
        page.field.post_message(events.Paste("\n".join([hostile] * 30)))
        await page.shows("Paste 30 entries")
        assert "[bold]x[/bold]" in page.text()
        await page.press("enter")
        for keys in (
            "f11",
            "f6",
            "f3",
            "alt+c",
            "alt+a",
            "f2",
            "f4",
            "escape",
            "ctrl+l",
            "escape",
            "f1",
            "escape",
            "pageup",
        ):
            await page.press(keys)
            shown = page.text()
            assert not set("\x1b\x9b\x07\x00\u202e\u2066") & set(shown)
            assert page.app.is_running


async def test_a_paste_is_one_line_of_plain_text(job: Path) -> None:
    from textual import events

    async with walk(job) as page:
        page.field.post_message(events.Paste("\x1b[31mA\x00 b\n"))
        await page.pilot.pause()
        assert page.field.text == "[31mA b"
        await page.to("about.notes")
        page.field.post_message(events.Paste("one\r\ntwo\x1b[2J\n"))
        await page.pilot.pause()
        assert page.field.text == "one¶two[2J"
        await page.press("tab")
        assert page.desk.place.session.now.job.about.notes == "one\ntwo[2J"


# The palette

# Words that a first user tried, and common ones of other programs: common practice, no source.
TRIED = {
    "metric": "units", "smoke": "draft", "print": "site_list", "brick": "takeoff", "dark": "theme", "exit": "quit",
    "delete": "remove", "sketch": "drawing", "town": "reference", "report": "report", "pdf": "report", "signature": "sign",
    "cure": "smallest",
}  # fmt: skip


async def test_the_palette_knows_the_words_people_try(job: Path) -> None:
    async with walk(job) as page:
        provider = ByAnyName(page.app.screen)
        for typed, id in TRIED.items():
            found = [getattr(hit.command, "args", ()) async for hit in provider.search(typed)]  # type: ignore[union-attr]
            assert (id,) in found, typed
        assert [hit async for hit in provider.search("zzyzx")] == []


# The look


def _ratio(one: str, other: str) -> float:
    """Contrast by WCAG 2.1, relative luminance."""

    def luminance(colour: str) -> float:
        parts = [c / 255 for c in Color.parse(colour).rgb]
        red, green, blue = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", themes.BY_NAME.values(), ids=lambda theme: theme.name)
def test_every_text_reads_against_every_ground_it_stands_on(theme) -> None:  # type: ignore[no-untyped-def]
    """4.5 to 1 for text (WCAG 2.1, 1.4.3); 7 to 1 for the caution and, in daylight, for all (1.4.6)."""
    variables = theme.variables
    grounds = [theme.background, theme.surface, theme.panel, variables["entry"]]
    inks = [theme.foreground, variables["quiet"], variables["brick"], variables["ember"]]
    inks += [variables[f"verdict-{verdict}"] for verdict in themes.VERDICTS]
    least = 7 if theme.name == "daylight" else 4.5
    for ink in inks:
        for ground in grounds:
            assert _ratio(ink, ground) >= least, (ink, ground)
    assert _ratio(variables["caution-ink"], variables["caution-ground"]) >= 7
    assert _ratio(variables["cursor-ink"], variables["cursor-ground"]) >= least
    assert _ratio(variables["cursor-ink"], variables["brick"]) >= least


@pytest.mark.parametrize("theme", themes.BY_NAME.values(), ids=lambda theme: theme.name)
def test_boxes_selection_and_scrollbars_stand_out(theme) -> None:  # type: ignore[no-untyped-def]
    """3 to 1 for what shows where a control is and which one is in hand (WCAG 2.1, 1.4.11)."""
    variables = theme.variables
    field = Field("about.title", "Title")
    for text in ("", "36"):
        field.fill(text)
        ((_, style),) = field._entry(9, focused=False)
        assert "underline" in style.split()  # the line under an empty or filled box is what shows it
        ink = next(word for word in style.split() if word in ("$quiet", "$foreground"))
        line = variables["quiet"] if ink == "$quiet" else theme.foreground
        for ground in (theme.background, theme.surface, variables["entry"]):
            assert _ratio(line, ground) >= 3, (text, ground)
    for ground in (theme.background, theme.surface, theme.panel, variables["entry"]):
        assert _ratio(variables["cursor-ground"], ground) >= 3, ground
    for bar in ("", "-hover", "-active"):
        ground = variables[f"scrollbar-background{bar}"]
        assert _ratio(variables[f"scrollbar{bar}"], ground) >= 3, bar
    # The row of a list in hand is underlined in the ink of the text on it.
    style = re.search(
        r"OptionList:focus > \.option-list--option-highlighted \{([^}]*)\}",
        (Path(commands.__file__).parent / "app.tcss").read_text(),
    )
    assert style is not None and "text-style: underline" in style[1] and "background: $panel" in style[1]
    assert _ratio(theme.foreground, theme.panel) >= 3


async def test_the_look_is_turned_and_remembered(job: Path) -> None:
    first, *others = themes.BY_NAME.values()
    async with walk(job) as page:
        for theme in (*others, first, others[0]):
            await page.press("ctrl+k")
            assert page.app.theme == theme.name
            assert cautions(page), page.text()
    async with walk(job) as page:
        assert page.app.theme == others[0].name


def test_signs_fall_back_to_ascii() -> None:
    assert choose("xterm-256color", "utf-8") is UNICODE
    assert choose("xterm-256color", "UTF8") is UNICODE
    assert choose("linux", "utf-8") is ASCII
    assert choose("xterm", "ISO-8859-1") is ASCII
    assert set(ASCII.verdicts) == set(UNICODE.verdicts) == {str(verdict) for verdict in Verdict}
    assert len(set(ASCII.verdicts.values())) == 5
    assert "".join(ASCII.verdicts.values()).isascii()
    assert {verdict: verdict.sign for verdict in Verdict} == ASCII.verdicts
