"""The first page and what it leads to: the ways in, unsaved work, the questions and the quick check."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from fractions import Fraction
from pathlib import Path

import pytest
from textual.pilot import Pilot
from waiting import opened, running, shown, until

from hearthcalc import caution, jobfile, lengths, reference
from hearthcalc.models.heat import materials, trade_names
from hearthcalc_tui import storage
from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.session import RECOVERED, Session, open_session

pytestmark = pytest.mark.usefixtures("own_state")


class Walk:
    """A person at the keyboard."""

    def __init__(self, app: HearthcalcApp, pilot: Pilot[None]) -> None:
        self.app, self.pilot = app, pilot

    def words(self) -> str:
        return " ".join(shown(self.app).split())

    async def press(self, *keys: str) -> None:
        for key in keys:
            await self.pilot.press(key)

    async def enter(self, *texts: str) -> None:
        """Type each text and Enter after it."""
        for text in texts:
            await self.press(*text, "enter")

    async def shows(self, words: str) -> str:
        """Wait for words on the screen, and return all that is there then."""
        await until(self.pilot, lambda: words in self.words(), words)
        return self.words()

    @property
    def session(self) -> Session:
        assert self.app.desk is not None
        return self.app.desk.place.session


@asynccontextmanager
async def walk(
    wanted: str = "", *, size: tuple[int, int] = (80, 24), start: bool = True
) -> AsyncIterator[Walk]:
    app = HearthcalcApp(wanted, start=start)
    async with running(app, size) as pilot:
        await opened(pilot, app)
        await until(
            pilot, lambda: app.screen.focused and (len(app.screen_stack) > 1 or not start), "the first page"
        )
        yield Walk(app, pilot)
    if app.desk is not None:
        app.desk.close()


def left_behind(title: str) -> None:
    """A new job that was never saved, its window gone."""
    session = Session({"format": "hearthcalc-job", "version": 1, "face": [{"name": "room", "side": "front"}]})
    session.type("about.title", title)
    session.keep()
    draft = session.draft()
    assert draft is not None
    draft.write()
    session.file.release()


async def test_the_first_page_has_every_way_in(tmp_path: Path) -> None:
    mine = tmp_path / "mill.hearth.toml"
    mine.write_text(
        jobfile.demo("inn").replace("Heron Inn, fireplace between taproom and dining", "Old mill")
    )
    storage.Memory().opened(mine)
    left_behind("Gatehouse")
    async with walk() as page:
        told = await page.shows("stone house")
    for words in (
        "Quick check",
        "New job",
        "Unsaved work Gatehouse",
        "Recent Old mill · Low Weir (invented) · 2026-04-18",
        "Open another job file",
        "inn's fireplace",
        "raised hearth on an oak floor",
    ):
        assert words in told, words


@pytest.mark.parametrize(
    ("downs", "title"), [(3, "Heron Inn"), (4, "Old schoolhouse"), (5, "Small stone house")]
)
async def test_each_demo_opens_from_the_first_page(downs: int, title: str) -> None:
    async with walk() as page:
        await page.press(*["down"] * downs, "enter")
        await page.shows(f"HEARTHCALC {title}")
        assert page.session.file.demo and page.session.title.startswith(title)


async def test_unsaved_work_is_taken_up_from_the_list_and_offered_to_no_other_house() -> None:
    left_behind("Gatehouse")
    left_behind("Mill")
    assert len(storage.drafts_left()) == 2, "the second did not write over the first"
    async with walk(start=False) as page:
        await page.pilot.pause()
        assert "Gatehouse" not in page.words() and page.session.draft_left() is None
    async with walk() as page:
        await page.shows("Unsaved work Gatehouse")
        at = next(
            n
            for n, draft in enumerate(storage.drafts_left())
            if draft.document["about"]["title"] == "Gatehouse"
        )
        await page.press("down", "down", *["down"] * at, "enter")
        await page.shows("HEARTHCALC Gatehouse ● not saved")
    session = open_session(RECOVERED + storage.drafts_left()[0].box)
    assert session.unsaved and session.undo() is not None
    session.file.release()


async def test_a_new_job_asks_what_is_asked_and_it_can_be_changed() -> None:
    async with walk() as page:
        await page.press("down", "enter")
        await page.shows("What do you want to know?")
        await page.press("down", "space", "down", "space", "enter")
        await page.shows("Left out: clearances, chimney over the roof")
        assert page.session.now.job.asked.questions == ("flue", "hearth")
        await page.shows("Asked only: flue, hearth")
        await page.press("shift+f1")
        await page.shows("[x] hearth")
        await page.press("home", "enter")
        await page.shows("Everything is asked.")
        assert page.session.now.job.asked.questions is None
        await page.press("ctrl+z")
        assert page.session.now.job.asked.questions == ("flue", "hearth")


async def test_a_quick_look_grows_into_a_job() -> None:
    async with walk() as page:
        await page.press("enter")
        await page.shows("Quick check.")
        await page.enter("32", "28", "13x13", "20", "12", "14", "6", "38")
        await page.shows("✓ MEETS What was measured meets the reference values used.")
        for words in (
            "Flue area",
            "127 / 89.6 in2 min",
            "Hearth in front",
            "20 / 20 in min",
            "Not looked at: masonry or factory-built",
        ):
            assert words in page.words(), words
        await page.press("f9", "enter")
        await page.shows("Written to ")
        paper = Path("quick-check.txt").read_text("utf-8")
        assert (
            caution.LINE[:40] in paper
            and "+ MEETS: What was measured meets the reference values used." in paper
        )
        await page.press("f9", "enter")
        await page.shows("Nothing was written")
        await page.press("f2")
        await page.shows("A full job now")
        assert str(page.session.now.job.flue.liner) == "13x13" and page.session.unsaved


async def test_enter_takes_none_and_what_is_not_measured_does_not_pass() -> None:
    async with walk() as page:
        await page.press("enter")
        await page.enter("32", "28", "13x13", "", "", "")
        await page.shows("✗ SHORT Hearth in front of the opening, opening")
        assert "0 / 20 in min" in page.words()
        await page.press("up", "up", "up", *"20", "down", *"12", "enter")
        await page.shows("? MEASURE Something asked here was not measured.")


# Entries as people give them


def typed(session: Session, address: str, text: str) -> str:
    """What stands in the record after an entry was typed and left."""
    session.type(address, text)
    session.keep()
    return session.entry(address)


@pytest.mark.parametrize(
    ("units", "address", "text", "taken"),
    [
        ("in", "flue.height", "22", "22 ft"), ("mm", "flue.height", "6.7", "6.7 m"), ("in", "flue.height", "264", "264"),
        ("in", "flue.offsets", "no", "none"), ("in", "firebox.smoke_chamber_slope", "40", "40 deg"),
        ("in", "firebox.damper_area", "200", "200 in2"),
        ("in", "air.house_volume", "12000", "12000 ft3"), ("mm", "air.house_volume", "340", "340 m3"), ("in", "site.outdoor", "30", "30 F"),
        ("in", "site.wind", "7", "7 mph"), ("in", "site.altitude", "850", "850 ft"), ("in", "about.date", "5/14/2026", "2026-05-14"),
        ("mm", "firebox.damper_area", "200", "200"), ("in", "flue.shared_with", "none", "none"), ("in", "air.vent", "0", "0"),
        ("in", "flue.shared_with", "-", "none"), ("in", "face.room.hearth.facing", "none", "none"),
    ],
)  # fmt: skip
def test_a_bare_entry_takes_the_unit_people_mean_where_only_one_makes_sense(
    units: str, address: str, text: str, taken: str
) -> None:
    session = Session({
        "format": "hearthcalc-job", "version": 1, "units": units, "face": [{"name": "room", "side": "front"}],
    })  # fmt: skip
    assert typed(session, address, text) == taken
    wrong = address in session.mistakes()
    assert wrong == (units == "mm" and taken == "200"), (
        "in millimeters an area may be mm2 or cm2: it is asked for"
    )
    session.undo()
    assert session.entry(address) == "", "one key takes it back"
    session.file.release()


def test_no_other_appliance_is_not_an_appliance() -> None:
    session = Session({"format": "hearthcalc-job", "version": 1, "face": [{"name": "room", "side": "front"}]})
    for text, verdict in (("none", "MEETS"), ("no", "MEETS"), ("a gas boiler", "SHORT")):
        typed(session, "flue.shared_with", text)
        told = next(f for f in session.assess().stages["found"].findings if f.id == "flue.shared")
        assert told.verdict == verdict, text
    session.file.release()


async def test_a_date_that_may_be_two_asks_which() -> None:
    async with walk(start=False) as page:
        await page.press("down", "down", "down", *"5/4/2026")
        await page.shows("F5 takes the first.")
        await page.press("f5", "enter")
        assert str(page.session.now.job.about.date) == "2026-05-04"


async def test_a_search_that_finds_nothing_chooses_nothing_and_the_list_can_be_browsed() -> None:
    async with walk("demo:schoolhouse", start=False) as page:
        assert page.app.desk is not None
        await page.app.desk.walk.go_to("face.loft.hearth.layers.1.material")
        before = page.session.entry("face.loft.hearth.layers.1.material")
        await page.press(*"wood", *"oak")
        await page.shows("woodoak: not found")
        assert page.session.entry("face.loft.hearth.layers.1.material") == before
        await page.press("f5")
        await page.shows("1/2 in drywall: Gypsum board, 1/2 in")
        await page.press(*"firebrick", "space", *"xyz")
        await page.shows("Nothing here is called that")
        await page.press("enter")
        await page.shows("Search: firebrick xyz")
        await page.press(*["backspace"] * 4)
        await page.shows("Firebrick split: Firebrick, fireclay, 1 1/4 in")
        await page.press("escape")
        assert page.session.entry("face.loft.hearth.layers.1.material") == before


async def test_a_layer_by_its_trade_name_brings_its_usual_thickness_and_keeps_a_measured_one() -> None:
    async with walk("demo:schoolhouse", start=False) as page:
        assert page.app.desk is not None
        layer = "face.loft.hearth.layers.1"
        measured = page.session.entry(f"{layer}.thickness")
        assert measured
        await page.app.desk.walk.go_to(f"{layer}.material")
        await page.press("f5", *"oak", "space", *"strip", "enter")
        await page.shows(f"The thickness entered, {measured}, stays.")
        assert page.session.entry(f"{layer}.material") == "oak"
        await page.press("ctrl+u", "tab", "shift+tab", "shift+tab", "f5", *"oak", "space", *"strip", "enter")
        await page.shows("3/4 in is usual: measure it.")
        assert page.session.entry(f"{layer}.thickness") == "3/4 in"


@pytest.mark.parametrize("units", ["in", "mm"])
def test_every_trade_name_is_a_material_of_the_table_and_a_thickness(units: str) -> None:
    edition = reference.load("irc-2021")
    names = trade_names(edition, units)
    assert names and {name.material for name in names} <= materials(edition).keys()
    for name in names:
        assert lengths.parse(name.thickness, "in") > 0


# Thicknesses as sold, from outside the project: softwood lumber and wood panels of the American standards PS 20 and PS 1
# (1 1/2 in for nominal 2, 23/32 in for 3/4), remembered; a straight firebrick is 9 x 4 1/2 x 2 1/2 in, common practice, no source.
@pytest.mark.parametrize(
    ("name", "thickness"),
    [
        ("2x framing lumber, laid flat", Fraction(3, 2)),
        ("3/4 in plywood subfloor", Fraction(23, 32)),
        ("Firebrick laid flat", Fraction(5, 2)),
    ],
)
def test_thicknesses_as_sold(name: str, thickness: Fraction) -> None:
    sold = {each.name: each for each in trade_names(reference.load("irc-2021"), "in")}
    assert lengths.parse(sold[name].thickness, "in") == thickness
