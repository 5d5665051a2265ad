"""The user's own amendments as the screen keeps them: whole or not at all, told in a log, taken back."""

import datetime as dt
import errno
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace

from hearthcalc import amendments, reference
from hearthcalc.amendments import Change
from hearthcalc.errors import EntryError, FileError
from hearthcalc_tui import amending, storage

DAY = dt.date(2026, 5, 4)
KEY = "hearth.front"
VALUE = "below 6 ft2: 16 in; otherwise: 24 in"


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    folder = tmp_path / "not yet" / "settings"
    monkeypatch.setattr(storage, "settings_folder", lambda: folder)
    yield folder


def change(value: str = VALUE, key: str = KEY) -> Change:
    return Change("irc-2021", key, value, "Ann", DAY, "ordinance 12")


def test_a_change_is_kept_and_told_in_the_log(own_folder: Path) -> None:
    edition = reference.load("irc-2021")
    amending.put(edition, change())
    assert amending.own_changes("irc-2021") == (change(),)
    assert amending.own_changes("irc-2018") == ()
    log = (own_folder / amendments.LOG).read_text()
    assert (
        log == f"2026-05-04  irc-2021  {KEY}: {edition.values[KEY].shown} -> {VALUE}  by Ann: ordinance 12\n"
    )


def test_a_second_change_of_a_value_takes_the_place_of_the_first_and_the_log_keeps_both() -> None:
    edition = reference.load("irc-2021")
    amending.put(edition, change())
    amended = amendments.amend(edition, amending.own_changes("irc-2021"))
    amending.put(amended, change("below 6 ft2: 18 in; otherwise: 24 in"))
    assert [c.value for c in amending.own_changes("irc-2021")] == ["below 6 ft2: 18 in; otherwise: 24 in"]
    lines = amending.log_file().read_text().splitlines()
    assert len(lines) == 2
    assert f"{VALUE} -> below 6 ft2: 18 in" in lines[1]


def test_one_is_taken_back_or_all_of_an_edition(own_folder: Path) -> None:
    edition = reference.load("irc-2021")
    amending.put(edition, change())
    amending.put(edition, change("7 in", "clearance.mantel.least"))
    assert amending.take_back([change()], who="Bo", when=DAY) == 1
    assert [c.key for c in amending.own_changes("irc-2021")] == ["clearance.mantel.least"]
    last = amending.log_file().read_text().splitlines()[-1]
    assert last == f"2026-05-04  irc-2021  {KEY}: {VALUE} -> {edition.values[KEY].shown}  by Bo: taken back"
    assert amending.take_back(amending.own_changes("irc-2021"), who="Bo", when=DAY) == 1
    assert amending.own_changes("irc-2021") == ()
    before = amending.log_file().read_text()
    assert amending.take_back([change()], who="Bo", when=DAY) == 0
    assert amending.log_file().read_text() == before


def test_a_change_of_a_place_is_kept_beside_the_one_for_every_job_and_taken_back_alone() -> None:
    edition = reference.load("irc-2021")
    everywhere, there = change(), replace(change("below 6 ft2: 18 in; otherwise: 30 in"), place="Low Weir")
    amending.put(edition, everywhere)
    amending.put(edition, there)
    assert amending.own_changes("irc-2021") == (everywhere,)
    assert amending.own_changes("irc-2021", "low weir") == (everywhere, there)
    assert "  irc-2021  for Low Weir  hearth.front: " in amending.log_file().read_text().splitlines()[-1]
    amending.take_back([there], who="Bo", when=DAY)
    assert amending.own_changes("irc-2021", "Low Weir") == (everywhere,)
    assert (
        amending.log_file()
        .read_text()
        .splitlines()[-1]
        .endswith(f"{there.value} -> {VALUE}  by Bo: taken back")
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "Type a value"),
        ("16 in", "has 2 steps"),
        ("below 6 ft2: 16 in; otherwise: 61 in", "outside 0 in to 60 in"),
        ("below 6 ft2: 16 in; otherwise: 5 Pa", "not of the kind"),
        ("below 6 ft2: 16 in; otherwise: 60 in", ""),
    ],
)
def test_what_is_typed_is_checked_in_words(text: str, told: str) -> None:
    wrong, _ = amending.check(reference.load("irc-2021").values[KEY], text)
    assert told in wrong
    assert bool(wrong) == bool(told)


@pytest.mark.parametrize(("most", "odd"), [("30 in", False), ("30 1/16 in", True)])
def test_outside_the_usual_range_is_said_and_allowed(most: str, odd: bool) -> None:
    wrong, question = amending.check(
        reference.load("irc-2021").values[KEY], f"below 6 ft2: 16 in; otherwise: {most}"
    )
    assert wrong == ""
    assert ("outside the usual 12 in to 30 in" in question) is odd


def test_a_value_that_cannot_stand_is_not_written(own_folder: Path) -> None:
    with pytest.raises(EntryError, match="outside 0 in to 60 in"):
        amending.put(reference.load("irc-2021"), change("below 6 ft2: 16 in; otherwise: 61 in"))
    assert not own_folder.exists()


def test_a_broken_file_is_never_written_over(own_folder: Path) -> None:
    own_folder.mkdir(parents=True)
    file = own_folder / amendments.NAME
    file.write_text("format = \n")
    with pytest.raises(FileError, match="What stands after = is not a value"):
        amending.put(reference.load("irc-2021"), change())
    with pytest.raises(FileError, match="What stands after = is not a value"):
        amending.take_back([change()], who="Bo", when=DAY)
    assert file.read_text() == "format = \n"
    assert not (own_folder / amendments.LOG).exists()


def test_the_file_beside_the_job_comes_last(tmp_path: Path) -> None:
    job = tmp_path / "mill.hearth.toml"
    assert amending.beside_the_job(job, "irc-2021", KEY) is None
    file = tmp_path / amendments.NAME
    file.write_text(amendments.render([change()]))
    assert amending.beside_the_job(job, "irc-2021", KEY) == file
    assert amending.beside_the_job(job, "irc-2018", KEY) is None
    assert amending.beside_the_job(None, "irc-2021", KEY) is None


@pytest.mark.parametrize("broken", ["log", "amendments"])
def test_a_change_is_kept_and_logged_or_neither(
    broken: str, own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kept and not logged, it was told as failed, held at the next start, and nobody could look up who made it."""
    edition = reference.load("irc-2021")
    amending.put(edition, change())
    told, held = amending.log_file().read_text(), amending.own_file().read_bytes()
    if broken == "log":
        amending.log_file().unlink()
        amending.log_file().mkdir()
    else:
        monkeypatch.setattr(storage, "write", fails)
    with pytest.raises(FileError, match=r"is full|is a folder|device"):
        amending.put(edition, change("7 in", "clearance.mantel.least"))
    with pytest.raises(FileError, match=r"is full|is a folder|device"):
        amending.take_back([change()], who="Bo", when=DAY)
    assert amending.own_file().read_bytes() == held
    assert broken == "log" or amending.log_file().read_text() == told


def fails(path: Path, text: str) -> str:
    raise FileError("Not saved", "The disk is full.", where=str(path))


def test_a_log_of_many_years_holds_no_amendment_up(own_folder: Path) -> None:
    amending.put(reference.load("irc-2021"), change())
    with amending.log_file().open("a") as log:
        log.write("told before\n" * 100_000)
    assert amending.take_back([change()], who="Bo", when=DAY) == 1
    assert amending.log_file().read_text().endswith("by Bo: taken back\n")


def test_a_disk_that_fills_in_the_midst_of_a_line_leaves_none_of_it(
    own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    edition = reference.load("irc-2021")
    amending.put(edition, change())
    told, write = amending.log_file().read_bytes(), os.write

    def fill(handle: int, data: bytes) -> int:
        monkeypatch.setattr(os, "write", full)
        return write(handle, data[:7])

    def full(handle: int, data: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", fill)
    with pytest.raises(FileError, match="the disk is full"):
        amending.take_back([change()], who="Bo", when=DAY)
    assert amending.log_file().read_bytes() == told
    assert amending.own_changes("irc-2021") == (change(),)


def test_what_another_window_has_logged_meanwhile_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    edition = reference.load("irc-2021")
    amending.put(edition, change())

    def fails_late(path: Path, text: str) -> str:
        with amending.log_file().open("a") as log:
            log.write("another window\n")
        return fails(path, text)

    monkeypatch.setattr(storage, "write", fails_late)
    with pytest.raises(FileError, match="is full"):
        amending.take_back([change()], who="Bo", when=DAY)
    assert amending.log_file().read_text().endswith("another window\n")
