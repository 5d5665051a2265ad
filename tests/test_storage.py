"""Files of the user's own: written whole or not at all, and failures told in words."""

import errno
import os
import stat
import subprocess
import sys
import time
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from hearthcalc import files
from hearthcalc.errors import FileError
from hearthcalc_tui import storage
from hearthcalc_tui.session import open_session
from hearthcalc_tui.storage import DraftBox, Memory


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "state"
    monkeypatch.setattr(storage, "state_folder", lambda: folder)
    return folder


def test_a_write_replaces_the_file_and_keeps_its_mode(tmp_path: Path) -> None:
    path = tmp_path / "a.hearth.toml"
    path.write_text("old")
    path.chmod(0o640)
    mark = storage.write(path, "new é")
    assert path.read_bytes() == "new é".encode()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert mark == storage.mark_on_disk(path)
    assert [p.name for p in tmp_path.iterdir()] == ["a.hearth.toml"]


def test_a_new_file_has_the_mode_of_any_new_file(tmp_path: Path) -> None:
    path = tmp_path / "a"
    old = os.umask(0o027)
    try:
        storage.write(path, "x")
    finally:
        os.umask(old)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    real = tmp_path / "real"
    real.write_text("old")
    link = tmp_path / "link"
    link.symlink_to(real)
    storage.write(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk is full"),
        (errno.EROFS, "can only be read"),
        (errno.EACCES, "may not write"),
        (errno.EIO, "reports a fault"),
    ],
)
def test_a_failed_write_leaves_the_old_file_and_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    path = tmp_path / "a"
    path.write_text("old")

    def fail(handle: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(FileError, match=words):
        storage.write(path, "new")
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file or folder"):
        storage.write(tmp_path / "nowhere" / "a", "x")


def test_what_cannot_be_read_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        storage.read(tmp_path / "nowhere")
    with pytest.raises(FileError, match="it is a folder"):
        storage.read(tmp_path)


def test_the_size_limit_and_both_neighbours(tmp_path: Path) -> None:
    path = tmp_path / "a"
    for size in (storage.MAX_BYTES - 1, storage.MAX_BYTES):
        path.write_bytes(b"x" * size)
        assert len(storage.read(path)) == size
    path.write_bytes(b"x" * (storage.MAX_BYTES + 1))
    with pytest.raises(FileError, match="at most 1 MiB"):
        storage.read(path)


def test_a_draft_comes_back_as_it_was(tmp_path: Path) -> None:
    box = DraftBox(tmp_path / "a.hearth.toml")
    document = {
        "about": {"date": date(2026, 5, 4)},
        "face": [{"name": "study", "width": Fraction(7, 2), "height": "30 [in]"}],
        "n": 3,
    }
    box.keep(document, "mark")
    draft = DraftBox(tmp_path / "a.hearth.toml").find()
    assert draft is not None
    assert draft.document == document
    assert draft.base == "mark"
    box.drop()
    assert box.find() is None


@pytest.mark.parametrize(
    "text", ["", "[]", "{", '{"job": 3, "base": ""}', '{"job": {"$date": "no"}}', "[" * 100_000]
)
def test_a_broken_draft_is_no_draft(own_folder: Path, tmp_path: Path, text: str) -> None:
    box = DraftBox(tmp_path / "a")
    box.keep({}, "")
    for file in (own_folder / "drafts").glob("*.json"):
        file.write_text(text)
    assert box.find() is None


def test_a_draft_torn_off_while_it_was_written_leaves_the_one_before(
    own_folder: Path, tmp_path: Path
) -> None:
    box = DraftBox(tmp_path / "a")
    box.keep({"n": 1}, "")
    box.keep({"n": 2}, "mark")
    (file,) = (own_folder / "drafts").glob("*.json")
    whole = file.read_bytes()
    for end in range(len(whole) - 1, len(whole) - 30, -1):
        file.write_bytes(whole[:end])
        draft = box.find()
        assert draft is not None and draft.document == {"n": 1}
    box.keep({"n": 3}, "")
    draft = box.find()
    assert draft is not None and draft.document == {"n": 3}


def test_a_draft_does_not_grow_without_end(own_folder: Path, tmp_path: Path) -> None:
    box = DraftBox(tmp_path / "a")
    for number in range(12):
        box.keep({"n": number, "notes": "x" * 100_000}, "")
        draft = box.find()
        assert draft is not None and draft.document["n"] == number
    (file,) = (own_folder / "drafts").glob("*.json")
    assert file.stat().st_size <= storage.DRAFT_GROWS_TO


def test_parts_of_a_program_that_is_gone_are_swept(tmp_path: Path) -> None:
    gone = subprocess.Popen([sys.executable, "-c", "pass"])
    gone.wait()
    left = tmp_path / f".a.toml.{gone.pid}.x1y2.part"
    mine = tmp_path / f".a.toml.{os.getpid()}.x1y2.part"
    other = tmp_path / f".b.toml.{gone.pid}.x1y2.part"
    fresh, old = tmp_path / ".a.toml.x1y2.part", tmp_path / ".a.toml.x3y4.part"
    for part in (left, mine, other, fresh, old):
        part.write_text("half")
    os.utime(old, (0, 0))
    storage.sweep(tmp_path, "a.toml")
    assert {path.name for path in tmp_path.glob(".*.part")} == {mine.name, other.name, fresh.name}
    storage.sweep(tmp_path)
    assert {path.name for path in tmp_path.glob(".*.part")} == {mine.name, fresh.name}
    storage.sweep(tmp_path / "nowhere")


def test_a_kill_while_a_file_is_written_leaves_a_part_that_the_next_start_sweeps(tmp_path: Path) -> None:
    path = tmp_path / "a.hearth.toml"
    code = (
        "import os, signal, sys; from pathlib import Path; from hearthcalc_tui import storage; "
        "os.fsync = lambda handle: os.kill(os.getpid(), signal.SIGKILL); storage.write(Path(sys.argv[1]), 'x')"
    )
    run = subprocess.run([sys.executable, "-c", code, str(path)], check=False)
    assert run.returncode == -9
    assert len(list(tmp_path.glob(".*.part"))) == 1
    path.write_text('format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "study"\n')
    open_session(str(path)).file.release()
    assert not list(tmp_path.glob(".*.part"))


def test_a_second_window_is_told_and_the_claim_ends_with_its_process(
    own_folder: Path, tmp_path: Path
) -> None:
    box = DraftBox(tmp_path / "a")
    assert box.claim()
    other = (
        "import sys; from pathlib import Path; from hearthcalc_tui import storage; "
        "storage.state_folder = lambda: Path(sys.argv[1]); "
        "print(storage.DraftBox(Path(sys.argv[2])).claim())"
    )
    run = [sys.executable, "-c", other, str(own_folder), str(tmp_path / "a")]
    assert subprocess.run(run, capture_output=True, text=True, check=True).stdout == "False\n"
    box.release()
    assert subprocess.run(run, capture_output=True, text=True, check=True).stdout == "True\n"
    assert box.claim()
    box.release()


def test_claims_leave_no_file_behind(own_folder: Path, tmp_path: Path) -> None:
    """Each job ever opened left an empty one; what a killed program leaves goes at the next start."""
    box = DraftBox(tmp_path / "a")
    assert box.claim()
    (own_folder / "drafts" / "killed.lock").touch()
    storage.sweep_locks()
    assert [path.stem for path in (own_folder / "drafts").iterdir()] == [box.name], "that which is held stays"
    box.release()
    assert not list((own_folder / "drafts").iterdir())


def test_a_claim_on_a_file_that_goes_meanwhile_is_none(
    own_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between opening it and locking it the window before gives it back, and removes it: a third would make it anew."""
    first, second, third = (DraftBox(tmp_path / "a") for _ in range(3))
    assert first.claim()
    lock = files.lock

    def later(handle: int) -> None:
        monkeypatch.setattr(files, "lock", lock)
        first.release()
        lock(handle)

    monkeypatch.setattr(files, "lock", later)
    assert second.claim(patient=True)
    assert not third.claim()
    second.release()


def test_a_claim_outlasts_a_look_through_all_of_them(
    own_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that starts has each claim for a moment: nobody is told of another window for that."""
    box, looking = DraftBox(tmp_path / "a"), DraftBox(tmp_path / "a")
    assert looking.claim()
    monkeypatch.setattr(time, "sleep", lambda seconds: looking.release())
    assert not box.claim()
    assert box.claim(patient=True)
    box.release()


@pytest.mark.parametrize(
    ("name", "own"), [("demo", ""), ("demo:inn", ""), ("demolition.hearth.toml", "draft")]
)
def test_only_a_demo_has_no_draft_while_it_opens(name: str, own: str) -> None:
    assert bool(storage.box_of(name)) == bool(own)


def test_two_names_of_one_file_share_a_draft(tmp_path: Path) -> None:
    real = tmp_path / "a"
    real.write_text("")
    (tmp_path / "b").symlink_to(real)
    DraftBox(real).keep({"a": 1}, "")
    draft = DraftBox(tmp_path / "b").find()
    assert draft is not None and draft.document == {"a": 1}


def test_what_is_remembered_and_what_is_broken(own_folder: Path, tmp_path: Path) -> None:
    memory = Memory()
    assert not memory.caution_read
    memory.remember(caution_read=True, theme="soot")
    for number in range(12):
        memory.opened(tmp_path / f"{number}")
    again = Memory()
    assert again.caution_read
    assert again.theme == "soot"
    assert [path.name for path in again.recent] == ["11", "10", "9", "8", "7", "6", "5", "4"]
    (own_folder / "screen.json").write_text("[1")
    assert not Memory().caution_read


def test_forgetting_is_no_fault_where_nothing_can_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    monkeypatch.setattr(storage, "state_folder", lambda: blocked / "state")
    memory = Memory()
    memory.remember(caution_read=True)
    assert memory.caution_read
    with pytest.raises(FileError, match="folder cannot be made"):
        DraftBox(tmp_path / "a").keep({}, "")
    assert DraftBox(tmp_path / "a").claim()


def test_what_is_written_over_is_kept_ten_times_over(tmp_path: Path, own_folder: Path) -> None:
    path = tmp_path / "a.hearth.toml"
    assert storage.back_up(path) is None
    for number in range(14):
        path.write_text(f"version {number}")
        storage.back_up(path)
    kept = sorted((own_folder / "backups").iterdir())
    assert [file.read_text() for file in kept] == [f"version {number}" for number in range(4, 14)]
    assert storage.back_up(path) == kept[-1]
    assert len(list((own_folder / "backups").iterdir())) == 10


def test_files_of_one_name_in_two_folders_are_kept_apart(tmp_path: Path, own_folder: Path) -> None:
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "a.toml").write_text(folder)
        storage.back_up(tmp_path / folder / "a.toml")
    assert sorted(file.read_text() for file in (own_folder / "backups").iterdir()) == ["one", "two"]


def test_a_copy_that_cannot_be_made_holds_up_nothing(tmp_path: Path, own_folder: Path) -> None:
    own_folder.write_text("a file where the folder should be")
    path = tmp_path / "a.toml"
    path.write_text("x")
    assert storage.back_up(path) is None
    storage.write(path, "y")
    assert path.read_text() == "y"


def test_a_draft_of_an_earlier_state_is_read(tmp_path: Path, own_folder: Path) -> None:
    """One line that says neither what it is of nor in which box it lies."""
    path = tmp_path / "mill.hearth.toml"
    box = DraftBox(path)
    (own_folder / "drafts").mkdir(parents=True)
    (own_folder / "drafts" / f"{box.name}.json").write_text(
        '{"format": "hearthcalc-draft", "version": 1, "base": "ab", '
        '"job": {"about": {"title": "Mill"}, "face": [{"width": {"$number": "36"}}]}}'
    )
    draft = box.find()
    assert draft is not None
    assert (draft.document["about"], draft.document["face"], draft.base) == (
        {"title": "Mill"},
        [{"width": Fraction(36)}],
        "ab",
    )


def test_what_is_written_over_is_kept_whole_however_large(tmp_path: Path) -> None:
    path = tmp_path / "large"
    path.write_bytes(data := os.urandom(storage.MAX_BYTES + 100))
    kept = storage.back_up(path)
    assert kept is not None
    assert kept.read_bytes() == data


def test_a_pipe_is_neither_saved_over_nor_waited_for(tmp_path: Path) -> None:
    """A pipe by the name of a job, as POSIX.1-2017 has it: to open one without a writer waits for one."""
    pipe = tmp_path / "pipe.hearth.toml"
    os.mkfifo(pipe)
    for what in (lambda: storage.write(pipe, "x"), lambda: storage.read(pipe)):
        with pytest.raises(FileError, match="a device or a pipe, not a file"):
            what()
    assert storage.mark_on_disk(pipe) == ""
    assert storage.back_up(pipe) is None
    assert pipe.is_fifo()
    assert list(tmp_path.iterdir()) == [pipe]


def test_a_name_that_is_not_of_this_encoding_has_a_draft_and_a_copy(own_folder: Path, tmp_path: Path) -> None:
    path = tmp_path / os.fsdecode(b"h\xe9.hearth.toml")
    path.write_text("mine")
    assert DraftBox(path).name != DraftBox(tmp_path / "h.hearth.toml").name
    assert storage.back_up(path) is not None
