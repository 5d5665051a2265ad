"""Names that lead to something else than a file: told, and left as it is.

What each kind is: POSIX.1-2017, <sys/stat.h>; what a read and an open of a pipe does there without a writer: read(), open() of it.
"""

import os
import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from hearthcalc import cli, files, jobfile

NO_FILES: dict[str, Callable[[Path], object]] = {
    "folder": Path.mkdir,
    "pipe": os.mkfifo,
    "device by a link": lambda path: path.symlink_to("/dev/zero"),
}
LONG = "x" * 500


@pytest.fixture(params=NO_FILES)
def odd(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Something by the name of a job that is no file, in the folder that we are in."""
    monkeypatch.chdir(tmp_path)
    path = Path("odd.hearth.toml")
    NO_FILES[request.param](path)
    return path


def test_what_is_no_file_is_not_written_over(odd: Path) -> None:
    before = odd.lstat()
    with pytest.raises(OSError, match="It is a"):
        files.place(odd)
    for name, ending in (("report", ".txt"), ("sheet", ".txt"), ("drawing", ".svg"), ("quick", "")):
        out = odd.rename(f"odd{ending}") if ending else odd
        more = {"report": ["demo"], "drawing": ["demo"], "quick": ["--width", "36"]}.get(name, [])
        assert cli.main([name, *more, "-o", str(out)]) == 4
        out.rename(odd)
    assert (odd.lstat().st_mode, odd.lstat().st_ino) == (before.st_mode, before.st_ino)
    assert [path.name for path in Path().iterdir()] == [odd.name], "nothing is left beside it"


def test_a_link_stays_one_and_what_it_leads_to_is_written(tmp_path: Path) -> None:
    kept = tmp_path / "kept.txt"
    kept.write_text("before")
    link = tmp_path / "link.txt"
    link.symlink_to(kept)
    cli.main(["report", "demo", "-o", str(link), "--short"])
    assert link.is_symlink()
    assert "Heron Inn" in kept.read_text("utf-8")


def test_a_link_laid_under_the_part_is_not_written_through(tmp_path: Path) -> None:
    """In a folder that somebody else has prepared. What is written first has a name that nobody knows before."""
    mine, table = tmp_path / "mine.txt", tmp_path / "t.csv"
    mine.write_text("mine")
    table.write_text("row,face.room.width\n1,30\n")
    for name in ("r.txt", "a.csv"):
        (tmp_path / f".{name}.hearthcalc-part").symlink_to(mine)
    cli.main(["report", "demo", "-o", str(tmp_path / "r.txt"), "--short"])
    cli.main(["batch", str(table), "-o", str(tmp_path / "a.csv"), "--rules-only", "--workers", "1"])
    assert mine.read_text() == "mine"
    assert (tmp_path / "a.csv").read_text().startswith("row,")
    assert not (tmp_path / "r.txt").is_symlink()


def test_a_file_that_is_held_keeps_others_out_until_the_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lock, mine = tmp_path / "lock", tmp_path / "mine"
    with files.held(lock):
        with (
            pytest.raises(BlockingIOError, match=f"Process {os.getpid()} has it in hand"),
            files.held(lock),
        ):
            pass
        assert lock.read_text() == str(os.getpid())
    assert not lock.exists()
    lock.symlink_to(mine)
    with pytest.raises(OSError, match="symbolic link"), files.held(lock):
        pass
    assert lock.is_symlink() and not mine.exists()
    lock.unlink()
    monkeypatch.setattr(files, "lock", lambda handle: lock.unlink())  # by another run, in between
    with pytest.raises(BlockingIOError, match="Another run has it in hand"), files.held(lock):
        pass


def test_what_is_written_over_keeps_its_mode_and_owner(tmp_path: Path) -> None:
    path = tmp_path / "house.txt"
    path.write_text("before")
    path.chmod(0o600)
    owner = (1234, 1234) if os.geteuid() == 0 else (os.getuid(), os.getgid())
    os.chown(path, *owner)
    files.write(path, b"after")
    held = path.stat()
    assert (path.read_bytes(), held.st_mode & 0o7777, held.st_uid, held.st_gid) == (b"after", 0o600, *owner)


@pytest.mark.parametrize("command", ["report", "sheet", "drawing"])
def test_the_job_is_not_written_over_with_what_tells_of_it(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "house.txt"
    job.write_text(jobfile.demo("inn"))
    assert cli.main([command, str(job), "-o", str(job)]) == 4
    assert "The job itself would be lost" in capsys.readouterr().err
    assert job.read_text() == jobfile.demo("inn")


def test_a_table_is_not_written_over_with_its_summary(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "houses.summary.csv"
    table.write_text("row,face.room.width\n1,30\n")
    assert cli.main(["batch", str(table), "-o", str(tmp_path / "houses.csv"), "--workers", "1"]) == 4
    assert "The table itself would be lost" in capsys.readouterr().err
    assert table.read_text() == "row,face.room.width\n1,30\n"


def test_what_is_no_file_is_not_read_and_holds_nothing_up(
    odd: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(files, "WAIT", 0)
    with pytest.raises(OSError, match="It is a"):
        files.read(odd, 10)
    with pytest.raises(OSError, match="It is a"):
        files.look(odd)
    paper = odd.rename("odd.pdf")
    assert cli.main(["verify", "odd.pdf", "demo"]) == 4
    table = paper.rename("odd.csv")
    assert cli.main(["batch", "odd.csv", "-o", "out.csv"]) == 4
    beside = table.rename("hearth-amendments.toml")
    Path("job.hearth.toml").write_text(
        'format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "a"\nside = "front"\n'
    )
    assert cli.main(["check", "job.hearth.toml"]) in (3, 4)
    beside.rename(odd)
    capsys.readouterr()
    assert cli.main(["check", str(odd)]) == 4
    assert re.search(r"It is a (folder|device)|Nothing writes into the pipe\.", capsys.readouterr().err)


def test_a_job_comes_through_a_pipe(tmp_path: Path) -> None:
    """As a shell has it with <( ... )."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    job = 'format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "a"\nside = "front"\n'
    with subprocess.Popen(["sh", "-c", f"printf '%s' '{job}' > {pipe}"]) as writer:
        with pipe.open("rb"):  # the writer goes on once somebody reads
            assert files.read(pipe, 1000, pipes=True).decode() == job
        assert writer.wait() == 0


def test_a_pipe_waits_for_who_writes_into_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    opened = os.fstat
    writers: list[subprocess.Popen[bytes]] = []

    def late(handle: int) -> os.stat_result:
        """The writer begins once the pipe is open and nobody is at its other end."""
        monkeypatch.undo()
        writers.append(subprocess.Popen(["sh", "-c", f"printf job > {pipe}"]))
        return opened(handle)

    monkeypatch.setattr(os, "fstat", late)
    assert files.read(pipe, 1000, pipes=True) == b"job"
    assert writers[0].wait() == 0


def test_who_has_opened_a_pipe_may_take_long_to_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer, blocking = os.open(pipe, os.O_RDWR), os.set_blocking

    def later(handle: int, whether: bool) -> None:
        os.write(writer, b"job")
        os.close(writer)
        blocking(handle, whether)

    monkeypatch.setattr(files, "WAIT", 0)
    monkeypatch.setattr(os, "set_blocking", later)
    assert files.read(pipe, 1000, pipes=True) == b"job"


@pytest.mark.parametrize("name", [LONG, f"{LONG}/{LONG}", ".", "/", "a\0b", "round.toml"])
def test_a_name_that_no_file_can_have_is_told(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("round.toml").symlink_to("round.toml")
    assert cli.main(["check", name]) == 4
    assert cli.main(["quick", "--width", "36", "-o", name]) == 4
    assert cli.main(["batch", name, "-o", "out.csv"]) in (2, 4)
    assert files.there(Path(name)) == (name in (".", "/"))
    assert [path.name for path in tmp_path.iterdir()] == ["round.toml"]
    assert Path("round.toml").is_symlink()
