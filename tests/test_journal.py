"""Keys that came and were not entered: on disk at once, shown at the next start, typed in by nobody."""

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from test_start import walk

from hearthcalc_tui import journal, storage
from hearthcalc_tui.journal import Journal, Left
from hearthcalc_tui.session import open_session
from hearthcalc_tui.storage import DraftBox

pytestmark = pytest.mark.usefixtures("own_state")

JOB = 'format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "room"\nside = "front"\n'
BURST = [("sign", "3"), ("sign", "6"), ("key", "tab"), ("sign", "4"), ("sign", "0"), ("key", "tab")]


@pytest.fixture
def kept() -> Iterator[Journal]:
    """The journal of a program that has a draft in hand."""
    made = Journal()
    made.open("mill")
    yield made
    made.close(keep=False)


def came(book: Journal, keys: list[tuple[str, str]]) -> None:
    for kind, text in keys:
        book.came(kind, text)


def on_disk() -> Left:
    """What would be read if the program were killed now."""
    (path,) = (storage.state_folder() / "drafts").glob("*.keys")
    return journal.read(path.read_bytes())


def killed(box: str, keys: list[tuple[str, str]], after: str = "") -> None:
    """A program that was killed with these keys not entered."""
    gone = Journal()
    gone.open(box)
    gone.entered(0, after)
    came(gone, keys)
    gone.close(keep=True)


def test_keys_are_on_disk_as_they_come_and_leave_it_as_they_are_entered(kept: Journal) -> None:
    came(kept, BURST)
    assert on_disk() == Left(tuple(BURST), "")
    kept.entered(3, "firebox.depth")
    assert on_disk() == Left(tuple(BURST[3:]), "firebox.depth")
    kept.entered(6)
    assert on_disk() == Left((), "firebox.depth")


def test_keys_that_came_before_the_job_was_open_are_on_disk_when_it_is() -> None:
    early = Journal()
    came(early, BURST[:3])
    early.open("mill")
    assert on_disk().keys == tuple(BURST[:3])
    early.open("barn")
    assert on_disk().keys == tuple(BURST[:3]), "of one job alone"
    early.close(keep=False)
    assert not list((storage.state_folder() / "drafts").iterdir())


def test_only_who_writes_it_may_read_it(kept: Journal) -> None:
    (path,) = (storage.state_folder() / "drafts").glob("*.keys")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_it_stays_as_large_as_it_is_and_keeps_the_newest(kept: Journal) -> None:
    for number in range(20_000):
        kept.came("sign", str(number % 10))
        if number % 7 == 0:
            kept.entered(number - 300)
    assert [text for _, text in on_disk().keys] == [str(n % 10) for n in range(19_999 - 305, 20_000)][
        -len(on_disk().keys) :
    ]
    assert 300 <= len(on_disk().keys) <= 310
    for number in range(20_000):
        kept.came("paste", f"{number} " + "\U0001f525" * journal.LONGEST)
    (path,) = (storage.state_folder() / "drafts").glob("*.keys")
    assert path.stat().st_size == journal.SIZE
    assert on_disk().keys[-1][1].startswith("19999 ")


def test_a_paste_that_a_page_asks_about_is_not_entered_yet(kept: Journal) -> None:
    came(kept, [*BURST, ("paste", "36\n30"), ("key", "enter")])
    with kept.paste_waits():
        kept.entered(8)
        assert on_disk().keys == (("paste", "36\n30"), ("key", "enter"))
    kept.entered(8)
    assert on_disk().keys == ()


def test_an_address_that_is_too_long_is_left_out(kept: Journal) -> None:
    for length in (journal.LONGEST_ADDRESS, journal.LONGEST_ADDRESS + 1):
        kept.entered(0, "x" * length)
        assert on_disk().after == ("x" * length if length == journal.LONGEST_ADDRESS else "")


def test_a_folder_that_can_only_be_read_is_no_fault(kept: Journal, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(path: Path, missing_ok: bool = False) -> None:
        raise PermissionError(path)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "unlink", refused)
        kept.open("barn")
    assert list((storage.state_folder() / "drafts").glob("barn.*.keys"))


def test_keys_in_words_and_as_a_list() -> None:
    keys = [
        *BURST,
        ("key", "tab"),
        ("sign", "1"),
        ("sign", "2"),
        ("key", "backspace"),
        ("key", "f2"),
        ("paste", "7 1/2\n8"),
    ]
    left = Left(tuple(keys), "")
    assert left.words == "36 Tab 40 Tab Tab 12 Backspace F2 7 1/2 8"
    assert left.lines == ("36", "40", "", "1", "7 1/2", "8")


def test_a_file_that_is_no_journal_is_swept(tmp_path: Path) -> None:
    folder = storage.state_folder() / "drafts"
    folder.mkdir(parents=True)
    for name, data in (
        ("mill.1.keys", b""),
        ("mill.2.keys", os.urandom(500)),
        ("mill.3.keys", bytes(journal.SIZE)),
    ):
        (folder / name).write_bytes(data)
    assert storage.journals_left() == {}
    assert not list(folder.iterdir())


def test_a_program_that_still_runs_has_its_keys_to_itself(kept: Journal) -> None:
    came(kept, BURST)
    assert storage.journals_left() == {}
    assert on_disk().keys == tuple(BURST)


async def test_they_are_shown_at_the_next_start_and_not_typed_in(tmp_path: Path) -> None:
    path = tmp_path / "mill.hearth.toml"
    path.write_text(JOB)
    killed(DraftBox(path).name, BURST, "firebox.wall")
    async with walk(str(path), start=False) as page:
        for words in (
            "Typed but not yet entered",
            "36 Tab 40 Tab",
            "The entry before them: Thickness of the side walls.",
        ):
            await page.shows(words)
        await page.press("down", "enter")
        await page.shows("Side wall")
        assert not page.session.unsaved, "none was typed in"
        await page.press("tab", "ctrl+v")
        await page.shows("Paste 2 entries")
        await page.press("enter")
        await page.shows("2 entries taken")
        assert (page.session.entry("firebox.back_wall"), page.session.entry("firebox.lining")) == ("36", "40")
        assert storage.journals_left(), "there until it is saved"
        await page.press("ctrl+s")
        await page.shows("Saved:")
        assert storage.journals_left() == {}


async def test_thrown_away_they_are_gone_and_left_alone_they_stay(tmp_path: Path) -> None:
    path = tmp_path / "mill.hearth.toml"
    path.write_text(JOB)
    killed(DraftBox(path).name, BURST)
    for keys, stay in (("escape",), True), (("down", "down", "enter"), False):
        async with walk(str(path), start=False) as page:
            await page.shows("Typed but not yet entered")
            await page.shows("Throw them away")
            await page.press(*keys)
            await page.shows("Title")
        assert bool(storage.journals_left()) == stay


async def test_they_are_offered_in_no_other_house(tmp_path: Path) -> None:
    mill, barn = tmp_path / "mill.hearth.toml", tmp_path / "barn.hearth.toml"
    for path in (mill, barn):
        path.write_text(JOB)
    killed(DraftBox(mill).name, BURST)
    killed("new", BURST)
    for wanted in (str(barn), ""):
        async with walk(wanted, start=False) as page:
            await page.pilot.pause()
            assert "not yet entered" not in page.words()
    assert [draft.box for draft in storage.drafts_left()] == ["new"], "on the first page, as unsaved work"
    session = open_session("recovered:new")
    assert session.file.keys_left() == Left(tuple(BURST), "")
    session.file.release()


def test_keys_that_wrote_nothing_are_no_unsaved_work_of_a_new_job(tmp_path: Path) -> None:
    """Down and Down on the first page, then a kill."""
    killed("new", [("key", "down"), ("key", "down")])
    assert storage.drafts_left() == []
    assert not list((storage.state_folder() / "drafts").glob("*.keys"))
    box = DraftBox(tmp_path / "mill.hearth.toml").name
    killed(box, [("key", "down")])
    assert len(storage.journals_left(box)) == 1, "in a job that has a file they may have chosen something"
