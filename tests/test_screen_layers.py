"""The layers of a hearth on the screen, by keyboard alone at 80 x 24: entered, put in, taken out, moved, as found and as planned."""

import io
import sys
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from waiting import opened, running, shown, until

from hearthcalc import jobfile
from hearthcalc_tui import plain
from hearthcalc_tui.app import HearthcalcApp
from hearthcalc_tui.desk.desk import Desk
from hearthcalc_tui.field import Field
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.rows import rows
from hearthcalc_tui.sections.table import sections
from hearthcalc_tui.session import Session, open_session

HEAD = """\
format = "hearthcalc-job"
version = 1
units = "in"
[[face]]
name = "study"
side = "front"
[face.hearth]
specified_r = "1 h.ft2.F/Btu"
"""
GRANITE = '{ material = "granite", thickness = "1 1/4" }'
BOARD = '{ material = "cement_board", thickness = "1/2" }'
HOSTILE = "[/] [bold]x[/bold] [@click=app.quit]q[/]"
AT = "face.study.hearth.layers"


pytestmark = pytest.mark.usefixtures("own_state")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "mill.hearth.toml"


class Walk:
    """A person at the keyboard, in the layers of the study."""

    def __init__(self, app: HearthcalcApp, pilot: Any) -> None:
        self.app, self.pilot = app, pilot

    @property
    def desk(self) -> Desk:
        assert self.app.desk is not None
        return self.app.desk

    @property
    def field(self) -> Field:
        assert isinstance(self.app.focused, Field)
        return self.app.focused

    @property
    def row(self) -> Row:
        row = self.desk.form.row_of(self.field)
        assert row is not None
        return row

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)

    async def shows(self, words: str) -> None:
        """Words are on the screen, at the latest when it has had time to draw them."""
        await until(self.pilot, lambda: words in self.words(), words)

    async def type(self, text: str) -> None:
        await self.press(*text)

    async def to(self, address: str) -> None:
        """Up to the first field, then down to an address."""
        for key in ("up", "down"):
            for _ in range(14):
                if self.field.address == address or (key == "up" and self.field is self.desk.form.fields[0]):
                    break
                await self.press(key)
        assert self.field.address == address

    def shown(self) -> list[str]:
        return [field.text for field in self.desk.form.fields]

    def words(self) -> str:
        return " ".join(shown(self.app).split())

    def layers(self, stage: str = "found") -> list[tuple[str | None, str | None]]:
        held = self.desk.place.session.job(stage).face[0].hearth.layers or ()
        return [(layer.material, layer.thickness.text if layer.thickness else None) for layer in held]


@asynccontextmanager
async def walk(path: Path, *layers: str) -> Any:
    path.write_text(HEAD + (f"layers = [{', '.join(layers)}]\n" if layers else ""))
    app = HearthcalcApp(str(path))
    async with running(app) as pilot:
        page = Walk(app, pilot)
        await opened(pilot, app)
        for _ in range(10):
            if page.desk.place.section.id == ("layers", "study"):
                break
            await page.press("pagedown")
        assert page.desk.place.section.title == "study: layers"
        yield page
    page.desk.close()


def of(path: Path, *layers: str) -> Session:
    path.write_text(HEAD + f"layers = [{', '.join(layers)}]\n")
    return open_session(str(path))


def section_rows(session: Session, stage: str = "found") -> tuple[Row, ...]:
    section = next(s for s in sections(session.job(stage), {}) if s.kind.id == "layers")
    return rows(session, section, stage)


async def test_layers_are_typed_in_one_after_the_other_without_a_stop(path: Path) -> None:
    async with walk(path) as page:
        assert len(page.desk.form.fields) == 2
        await page.type("gran")
        assert page.field.text == "granite"
        assert len(page.desk.form.fields) == 4  # an empty row stands ready, and the cursor stays
        await page.press("enter")
        await page.type("1 1/4")
        await page.press("enter")
        await page.type("wool")  # a word within the name
        await page.press("enter")
        await page.type("2")
        await page.press("enter")
        assert page.layers() == [("granite", "1 1/4"), ("mineral_wool_felted_100", "2")]
        assert page.field.address == f"{AT}.3.material"
        assert page.desk.place.section.id == ("layers", "study")
        await page.press("pagedown")
        assert page.desk.place.section.id == ("lintel", "study")
        assert page.layers() == [("granite", "1 1/4"), ("mineral_wool_felted_100", "2")]


async def test_a_burst_of_keys_lands_in_the_layers_in_order(path: Path) -> None:
    async with walk(path) as page:
        await page.pilot.press(
            *"granite", "tab", "1", "tab", *"slate", "tab", "2", "tab", *"oak", "tab", "3", "tab"
        )
        await page.pilot.pause()
        assert page.layers() == [("granite", "1"), ("slate", "2"), ("oak", "3")]


async def test_an_r_stands_beside_each_thickness(path: Path) -> None:
    """1/2 in of cement board, k 0.25 W/(m.K) (ASHRAE Fundamentals): 0.0127 / 0.25 x 5.678 = 0.288 h.ft2.F/Btu."""
    async with walk(path, BOARD) as page:
        await page.press("down")
        await page.shows("R 0.288")
        await page.shows("12.7 mm, R 0.2884")
        await page.press("end", "ctrl+u")
        assert "R 0.288" not in page.words()


async def test_a_row_that_is_emptied_again_adds_nothing(path: Path) -> None:
    async with walk(path, GRANITE) as page:
        await page.to(f"{AT}.2.material")
        await page.type("oak")
        assert len(page.desk.form.fields) == 6
        await page.press("escape")
        assert len(page.desk.form.fields) == 4
        assert page.field.address == f"{AT}.2.material"
        await page.press("up")
        assert page.layers() == [("granite", "1 1/4")]
        assert not page.desk.place.session.unsaved


async def test_f7_inserts_above_and_f8_removes_and_undo_brings_back(path: Path) -> None:
    async with walk(path, GRANITE, BOARD) as page:
        await page.to(f"{AT}.2.thickness")
        await page.press("f7")
        assert page.field.address == f"{AT}.2.material"
        assert page.layers() == [("granite", "1 1/4"), (None, None), ("cement_board", "1/2")]
        await page.type("slate")
        await page.press("enter")
        assert page.layers() == [("granite", "1 1/4"), ("slate", None), ("cement_board", "1/2")]
        await page.press("f8")
        assert page.layers() == [("granite", "1 1/4"), ("cement_board", "1/2")]
        assert page.desk.place.session.things("face", "found") == ("study",)
        await page.press("ctrl+z")
        assert page.layers()[1] == ("slate", None)
        await page.press("ctrl+z", "ctrl+z")
        assert page.layers() == [("granite", "1 1/4"), ("cement_board", "1/2")]
        assert page.desk.place.section.id == ("layers", "study")
        await page.press("ctrl+y")
        assert page.layers()[1] == (None, None)


async def test_in_the_empty_row_nothing_is_inserted_removed_or_moved(path: Path) -> None:
    async with walk(path, GRANITE) as page:
        await page.to(f"{AT}.2.material")
        for key, told in (("f7", "adds a layer"), ("f8", "no layer here"), ("alt+up", "no layer here")):
            await page.press(key)
            assert told in page.words()
            assert page.layers() == [("granite", "1 1/4")]
            assert page.desk.place.session.things("face", "found") == ("study",)


async def test_the_last_layer_can_go(path: Path) -> None:
    async with walk(path, GRANITE) as page:
        await page.press("f8")
        assert page.layers() == []
        assert page.field.address == f"{AT}.1.material"
        await page.press("f8")
        assert "no layer here" in page.words()


async def test_a_layer_is_moved_and_the_cursor_goes_along(path: Path) -> None:
    async with walk(path, GRANITE, BOARD) as page:
        await page.press("alt+down")
        assert page.layers() == [("cement_board", "1/2"), ("granite", "1 1/4")]
        assert page.field.address == f"{AT}.2.material"
        await page.press("alt+down")
        assert "no layer here that could be moved" in page.words()
        await page.press("alt+up")
        assert page.layers() == [("granite", "1 1/4"), ("cement_board", "1/2")]
        assert page.field.address == f"{AT}.1.material"


async def test_planned_layers_begin_as_those_found_and_leave_them_alone(path: Path) -> None:
    async with walk(path, GRANITE, BOARD) as page:
        await page.press("f2")
        assert [f.placeholder for f in page.desk.form.fields[:4]] == [
            "granite",
            "1 1/4",
            "cement_board",
            "1/2",
        ]
        await page.to(f"planned.{AT}.2.thickness")
        await page.type("2")
        await page.press("escape")
        await page.press("up", "down")
        assert not page.desk.place.session.unsaved
        await page.type("2")
        await page.press("enter")
        assert page.layers("planned") == [("granite", "1 1/4"), ("cement_board", "2")]
        assert page.layers() == [("granite", "1 1/4"), ("cement_board", "1/2")]
        assert page.shown()[:4] == ["granite", "1 1/4", "cement_board", "2"]
        await page.to(f"planned.{AT}.1.material")
        await page.press("f8")
        assert page.layers("planned") == [("cement_board", "2")]
        await page.press("f8")
        assert page.layers("planned") == []  # those found do not come back
        await page.type("slate")
        await page.press("enter")
        assert page.layers("planned") == [("slate", None)]
        assert page.layers() == [("granite", "1 1/4"), ("cement_board", "1/2")]


async def test_f8_as_planned_takes_a_found_layer_out_of_the_plan_alone(path: Path) -> None:
    async with walk(path, GRANITE, BOARD) as page:
        await page.press("f2", "f8")
        assert page.layers("planned") == [("cement_board", "1/2")]
        assert page.layers() == [("granite", "1 1/4"), ("cement_board", "1/2")]
        await page.press("ctrl+z")
        assert page.layers("planned") == page.layers()


async def test_what_a_stranger_wrote_for_a_material_is_shown_as_it_is_and_told(path: Path) -> None:
    async with walk(path, f'{{ material = "{HOSTILE}", thickness = "1" }}') as page:
        assert "[/] [bold]x[/bold] [@c" in page.words()
        assert "No material of the table is called so" in page.words()
        assert page.app.is_running
        await page.press("down", "up")
        assert page.layers() == [(HOSTILE, "1")]


async def test_more_layers_than_have_room_are_kept_and_told(path: Path) -> None:
    many = [f'{{ material = "slate", thickness = "{n}/8" }}' for n in range(1, 8)]
    async with walk(path, *many) as page:
        assert len(page.desk.form.fields) == 11
        assert page.desk.form.rows[-1].label == "and 2 more"
        await page.to("@layers")
        assert "slate 6/8; slate 7/8" in page.row.understood
        for key in ("left", "x", "backspace", "f7", "f8"):
            await page.press(key)
        assert page.layers() == [("slate", f"{n}/8") for n in range(1, 8)]
        await page.to(f"{AT}.1.material")
        await page.press("f7")
        assert "no room" in page.words()
        await page.press("f8")
        assert len(page.layers()) == 6
        assert len(page.desk.form.fields) == 12
        await page.press("ctrl+s")
        await page.pilot.pause()
    saved = jobfile.load(path).face[0].hearth.layers
    assert saved is not None
    assert [layer.thickness.text for layer in saved if layer.thickness] == [f"{n}/8" for n in range(2, 8)]


async def test_what_waits_for_layers_leads_to_the_first(path: Path) -> None:
    async with walk(path) as page:
        await page.desk.walk.go_to(AT)
        await page.pilot.pause()
        assert page.field.address == f"{AT}.1.material"
        assert f"{AT}.1.material" in page.desk.place.session.wanting()


@pytest.mark.parametrize("count", range(1, 12))
def test_at_most_a_dozen_rows(path: Path, count: int) -> None:
    session = of(path, *[GRANITE] * count)
    made = section_rows(session)
    assert len(made) == {6: 12}.get(count, 2 * count + 2 if count < 6 else 11)
    section = next(s for s in sections(session.job("found"), {}) if s.kind.id == "layers")
    assert len(section.addresses) == 2 * count


def test_several_planned_entries_at_once_are_one_step(path: Path) -> None:
    session = of(path, GRANITE, BOARD)
    session.take([(f"planned.{AT}.2.thickness", "1"), (f"planned.{AT}.3.material", "slate")])
    held = session.job("planned").face[0].hearth.layers
    assert held is not None and [layer.material for layer in held] == ["granite", "cement_board", "slate"]
    assert held[1].thickness is not None and held[1].thickness.text == "1"
    session.undo()
    assert "planned" not in session.now.stages


def test_a_thickness_that_cannot_be_read_goes_along_into_the_plan_as_typed(path: Path) -> None:
    session = of(path, GRANITE, BOARD)
    session.take([(f"{AT}.1.thickness", "thick")])
    session.take([(f"planned.{AT}.2.material", "slate")])
    found, planned = section_rows(session)[1], section_rows(session, "planned")[1]
    assert (found.text, planned.text) == ("thick", "thick")
    assert found.note is not None and found.note.kind == "mistake"
    assert planned.note is not None and planned.note.kind == "mistake"


def test_an_emptied_planned_entry_does_not_show_what_was_found(path: Path) -> None:
    session = of(path, GRANITE, BOARD)
    session.take([(f"planned.{AT}.1.material", "slate"), (f"planned.{AT}.2.material", "")])
    third = section_rows(session, "planned")[2]
    assert (third.text, third.placeholder) == ("", "")


@pytest.mark.parametrize("material", ["still_air", "ventilated_air"])
def test_an_air_space_has_the_r_of_the_table_or_none(path: Path, material: str) -> None:
    """A closed air space with heat going down resists (ASHRAE Fundamentals 2021, chapter 26); one open at its edges counts as nothing."""
    session = of(path, f'{{ material = "{material}", thickness = "3/4" }}')
    understood = section_rows(session)[1].understood
    assert (", R 0 " in understood) is (material == "ventilated_air")


def test_plain_mode_asks_for_each_layer_and_removes_one_without_its_face(
    path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path.write_text(HEAD)
    answers = ["go study: layers", "granite", "1 1/4", "slate", "1", "remove", "found", "save", "quit"]
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join([*answers, ""])))
    plain.run_plain(str(path))
    said = capsys.readouterr().out
    assert "study: layers. Layer 2 from the top: material?" in said
    assert "Understood: 1 1/4 in = 31.75 mm = R" in said
    assert "There is no such layer yet." in said
    job = jobfile.load(path)
    assert [layer.material for layer in job.face[0].hearth.layers or ()] == ["granite", "slate"]
    monkeypatch.setattr(sys, "stdin", io.StringIO("go study: layers\nremove\nsave\nquit\n"))
    plain.run_plain(str(path))
    assert "Removed: layer 1. undo brings it back." in capsys.readouterr().out
    job = jobfile.load(path)
    assert [layer.material for layer in job.face[0].hearth.layers or ()] == ["slate"]
    assert [face.name for face in job.face] == ["study"]
