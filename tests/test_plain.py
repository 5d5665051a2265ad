"""Plain mode: questions and answers in lines, over a pipe and on a terminal that can show nothing else."""

import io
import sys
from collections.abc import Callable
from pathlib import Path

import forked
import pexpect
import pytest
from mill import keep_in

from hearthcalc import caution, jobfile
from hearthcalc.errors import FileError
from hearthcalc.job import get
from hearthcalc.report import measuring
from hearthcalc_tui import launch, plain, storage
from hearthcalc_tui.session import open_session

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
opens_to = "room"
closure = "none"
opening_above_hearth = "0"
[face.hearth]
front = "20"
[flue]
liner = "13x13"
"""

Talk = Callable[..., list[str]]


@pytest.fixture(autouse=True)
def own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keep_in(tmp_path, monkeypatch)
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "mill.hearth.toml"
    path.write_text(JOB)
    return path


@pytest.fixture
def talk(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Talk:
    """Answer in lines until they end; returns what was said, without the report at the end."""

    def say(wanted: object, *answers: str) -> list[str]:
        monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{answer}\n" for answer in answers)))
        say.code = plain.run_plain(str(wanted))  # type: ignore[attr-defined]
        said = capsys.readouterr().out.splitlines()
        ends = [at for at, line in enumerate(said) if line and set(line) == {"="}]
        say.report = said[ends[-1] - 1 :]  # type: ignore[attr-defined]
        return said[: ends[-1] - 1]

    return say


def questions(said: list[str]) -> list[str]:
    return [line for line in said if line.endswith("?") and ". " in line]


def after(said: list[str], words: str) -> str:
    return said[next(at for at, line in enumerate(said) if line.startswith(words)) + 1]


def entry(path: Path, address: str) -> object:
    value = get(jobfile.load(path), address)
    return getattr(value, "text", value)


def test_it_begins_with_the_caution_and_ends_with_the_findings(talk: Talk, job: Path) -> None:
    said = talk(job)
    assert said[0] == caution.LINE
    report = talk.report  # type: ignore[attr-defined]
    assert report[0] == "Mill cottage"
    assert any("MEASURE: Something is still to be measured" in line for line in report)
    assert talk.code == 3  # type: ignore[attr-defined]


def test_only_what_is_missing_is_asked_in_the_order_of_the_walk(talk: Talk, job: Path) -> None:
    asked = questions(talk(job, *[""] * 60))
    assert asked[0] == "taproom: hearth. Hearth, past the left jamb, in inches?"
    assert asked[1] == "taproom: hearth. Hearth, past the right jamb, in inches?"
    assert len(asked) == len(set(asked)) > 10
    assert not any("Width of the opening" in line for line in asked)
    at = [
        next(n for n, line in enumerate(asked) if word in line) for word in ("hearth", "Firebox", "chimney")
    ]
    assert at == sorted(at)


def test_a_question_tells_unit_and_usual_range_and_how_to_measure(talk: Talk, job: Path) -> None:
    said = talk(job, "?", "")
    assert said.count("taproom: hearth. Hearth, past the left jamb, in inches?") == 2
    assert after(said, "taproom: hearth. Hearth, past the left").startswith("Usual: ")
    assert any(line.startswith("From the jamb") or "jamb" in line for line in said[7:9])


def test_what_was_understood_is_said_with_the_verdicts_that_changed(talk: Talk, job: Path) -> None:
    said = talk(job, "12 1/2")
    assert "Understood: 12 1/2 in = 317.5 mm." in said
    assert "Hearth past the left side, taproom: MEETS, was MEASURE" in said
    assert "Overall as found: MEASURE." in said


def test_a_mistake_is_told_in_words_and_asked_again_and_changes_nothing(talk: Talk, job: Path) -> None:
    said = talk(job, "12 furlongs", "12")
    assert "Not understood: furlongs is not a unit of length that is read here." in " ".join(said)
    assert questions(said)[:2] == ["taproom: hearth. Hearth, past the left jamb, in inches?"] * 2
    assert any(line.startswith("Understood: 12 in") for line in said)


def test_a_slip_of_unit_is_asked_about(talk: Talk, job: Path) -> None:
    said = talk(job, "12 mm", "yes", "save", "quit")
    assert "Did you mean 12 in? Answer yes; an empty line keeps it." in said
    assert "Taken: 12 in." in said
    assert entry(job, "face.taproom.hearth.left") == "12 in"


def test_a_choice_goes_by_its_beginning_and_another_word_is_told(talk: Talk, job: Path) -> None:
    said = talk(job, "go taproom: hearth", "", "", "", "", "", "", "marble", "conc", "save", "quit")
    assert any(line.startswith("marble is none of the answers. Answers: masonry") for line in said)
    assert entry(job, "face.taproom.hearth.below") == "concrete"


def test_of_a_long_list_only_what_begins_so_is_told(talk: Talk, job: Path) -> None:
    said = talk(job, "go The job", "", "", "", "", "ir", "irc-2024", "save", "quit")
    told = next(line for line in said if line.startswith("More than one answer begins like that: "))
    assert "irc-2021" in told and "england-adj" not in told
    assert entry(job, "about.edition") == "irc-2024"


def test_back_is_an_answer_where_it_is_a_side_and_else_goes_back(talk: Talk, job: Path) -> None:
    said = talk(job, "go taproom: opening", "", "back", "", "back", "38", "", "save", "quit")
    assert entry(job, "face.taproom.side") == "back"
    assert questions(said)[-1] != questions(said)[0]
    assert entry(job, "face.taproom.width") == "38"


def test_planned_is_written_over_found_and_told_apart(talk: Talk, job: Path) -> None:
    said = talk(job, "go taproom: opening", "", "", "planned", "40", "save", "quit")
    assert "taproom: opening. Width of the opening, in inches, as planned?" in said
    assert "As found: 36. An empty line keeps it." in said
    assert entry(job, "face.taproom.width") == "36"
    assert entry(job, "planned.face.taproom.width") == "40"
    assert any(line.startswith("Overall as planned: ") for line in said)


def test_a_face_is_added_as_planned_named_asked_about_and_taken_away(talk: Talk, job: Path) -> None:
    said = talk(job, "planned", "add face", "dining", "", "36", "save", "go dining: opening", "remove", "undo",
                "save", "quit")  # fmt: skip
    assert "Added, as planned: back. Its entries:" in said
    assert entry(job, "planned.face.dining.width") == "36"
    assert "Removed: dining. undo brings it back." in said


def test_a_face_starts_from_the_sizes_of_another_where_that_is_said(talk: Talk, job: Path) -> None:
    said = talk(job, "planned", "add face like attic", "add face like taproom", "dining", "save", "quit")
    assert "There is no face attic with sizes to start from. Nothing was added." in said
    assert "Added, as planned: back, with the sizes of taproom. Its entries:" in said
    assert entry(job, "planned.face.dining.width") == "36"


def test_things_that_cannot_be_are_told(talk: Talk, job: Path) -> None:
    said = talk(job, "add stove", "go attic", "remove", "clear it", "quit")
    assert "Add what: face, item, roof, fan, photo, signer?" in said
    assert "There is no section of that name." in said
    assert "A fireplace has at least one face." in " ".join(said)
    assert any(line.startswith("Not understood: ") for line in said)


def test_undo_redo_clear_and_units(talk: Talk, job: Path) -> None:
    said = talk(
        job, "12", "undo", "undo", "redo", "redo", "units", "go taproom: hearth", "clear", "save", "quit"
    )
    steps = [line for line in said if line.startswith(("Undone: ", "Done again: "))]
    assert [line.partition(": ")[0] for line in steps] == ["Undone", "Done again"]
    assert steps[0].removeprefix("Undone") == steps[1].removeprefix("Done again"), "each names what it was"
    assert "There is nothing to undo." in said and "There is nothing to redo." in said
    assert "Not known." in said
    assert entry(job, "face.taproom.hearth.left") == "304.8"
    assert entry(job, "face.taproom.hearth.front") is None
    assert jobfile.load(job).units == "mm"


def test_comments_survive_a_save_and_another_file_is_asked_about(
    talk: Talk, job: Path, tmp_path: Path
) -> None:
    (tmp_path / "other.hearth.toml").write_text("mine")
    said = talk(job, "12", "save other", "no", "save", "quit")
    assert "Nothing was written." in said
    assert (tmp_path / "other.hearth.toml").read_text() == "mine"
    assert "# at the floor" in job.read_text()
    said = talk(job, "12", "save other", "yes", "quit")
    assert entry(tmp_path / "other.hearth.toml", "face.taproom.hearth.right") == "12"


def test_a_full_disk_is_told_and_loses_nothing(
    talk: Talk, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, text: str) -> str:
        raise storage.FileError("Not saved", "It cannot be written: the disk is full.", fix="Free some room.")

    monkeypatch.setattr(storage, "write", full)
    monkeypatch.setattr(storage, "append", full)
    said = talk(job, "12", "save", "quit", "quit")
    assert any(line.startswith("Unsaved work is not kept.") for line in said)
    assert "It cannot be written: the disk is full. Free some room. Nothing that you typed is lost." in said
    assert job.read_text() == JOB


def test_a_new_job_has_to_be_given_a_name(talk: Talk, tmp_path: Path) -> None:
    said = talk("", "masonry", "save", "save mine", "quit")
    assert "Save it as what? For example: save fireplace.hearth.toml" in said
    assert entry(tmp_path / "mine.hearth.toml", "fireplace.construction") == "masonry"


def test_the_demo_is_never_written_to_and_gives_its_verdict(talk: Talk) -> None:
    said = talk("demo", "save", "quit")
    assert any(line.startswith("Save it as what?") for line in said)
    assert talk.code == 1  # type: ignore[attr-defined]


def test_quitting_asks_about_what_is_not_saved(talk: Talk, job: Path) -> None:
    said = talk(job, "12", "quit", "no", "quit", "quit")
    assert said.count("Not left.") == 1
    assert job.read_text() == JOB
    assert not any("Unsaved work" in line for line in talk(job))


def test_an_end_of_the_input_keeps_the_draft_and_offers_it(talk: Talk, job: Path) -> None:
    said = talk(job, "12")
    assert "The input has ended. What is not saved is kept, and offered at the next start." in said
    assert job.read_text() == JOB
    said = talk(job, "yes", "save", "quit")
    assert any(line.startswith("Hearth, past the left jamb (taproom): nothing") for line in said)
    assert entry(job, "face.taproom.hearth.left") == "12"


def test_a_second_window_is_told(talk: Talk, job: Path) -> None:
    other = open_session(str(job))
    said = talk(job)
    other.file.release()
    assert any("Another window has this job open" in line for line in said)


def test_everything_can_be_asked_and_skipped(talk: Talk, job: Path) -> None:
    asked = questions(talk(job, "all", *[""] * 400))
    assert asked[1] == "The job. Title?"
    assert any("Heat of the fire" in line or "Power" in line for line in asked)


def test_every_command_that_help_names_is_one(talk: Talk, job: Path) -> None:
    said = talk(job, "help", "findings", "explain", "sections", "missing", "found")
    for word, meaning in plain.HELP:
        assert f"{word}: {meaning}." in said or any(line.startswith(f"{word}: ") for line in said)
        for name in word.split(", "):
            if name.isalpha():
                assert hasattr(plain.Conversation, f"_do_{name}")
    assert any("Working: " in line for line in said)
    assert any(line.startswith("The job; Fireplace; taproom: opening; ") for line in said)


def test_hostile_text_is_said_as_text(talk: Talk, job: Path) -> None:
    job.write_text(JOB.replace('"Mill cottage"', '"\\u001b]0;owned\\u0007 [bold]x[/] \\u202eabc"'))
    said = talk(
        job, "\x1b[A\x1b[31m\x00\u202e9" + "9" * 5000, "go The job", "=save \x1b[2J it", "save", "quit"
    )
    heard = "\n".join([*said, *talk.report])  # type: ignore[attr-defined]
    assert not set("\x1b\x07\x00\u202e\x9b") & set(heard)
    assert "[bold]x[/]" in heard
    assert entry(job, "about.title") == "save [2J it"


@pytest.mark.parametrize("arguments", [["mill.hearth.toml", "--plain"], ["--plain", "mill.hearth.toml"]])
def test_over_a_pipe_it_asks_in_lines_without_escapes(
    job: Path, arguments: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(job.parent)
    code, told, err = forked.run(arguments, input=b"12\n\xff\xfe\n")
    assert code == 3
    assert err == b""
    assert b"\x1b" not in told
    assert told.startswith(caution.LINE.encode())
    assert b"Understood: 12 in" in told
    assert job.read_text() == JOB


@pytest.mark.parametrize("term", ["dumb", "xterm-256color"])
def test_on_a_terminal_there_is_a_prompt_and_no_escape(job: Path, term: str) -> None:
    child = forked.Program(
        ["mill.hearth.toml", "--plain"],
        env={"TERM": term, "HOME": str(job.parent)}, cwd=str(job.parent), dimensions=(24, 80), timeout=20,
    )  # fmt: skip
    told = b""
    for answer in (b"12 1/2", b"save", b"quit"):
        child.expect_exact(b"> ")
        told += child.before or b""
        child.sendline(answer)
    child.expect(pexpect.EOF)
    told += child.before or b""
    child.close()
    assert child.exitstatus == 3
    assert b"\x1b" not in told
    assert b"Saved: mill.hearth.toml" in told
    assert entry(job, "face.taproom.hearth.left") == "12 1/2"


def test_what_is_no_job_is_told_and_no_command_takes_it(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, said = forked.run(["nowhere.hearth.toml", "--plain"])
    assert code == 4
    assert b"no such file" in said
    assert launch.run(["paths", "--plain"]) == 2
    assert "--plain" in capsys.readouterr().err


def test_what_is_told_at_the_end_holds_nothing_hidden_and_is_short(
    capsys: pytest.CaptureFixture[str],
) -> None:
    harmful = "a\x1b[31m\u202e\r\n" + "b" * 100_000
    error = FileError("Not a job file", "It holds \x1b[2J.", where=f"{harmful}, line 3", fix="Look.")
    assert launch.tell(error) == 4
    told = capsys.readouterr().err
    assert "where: a[31m bbb" in told and "bbb, line 3\n  what:  It holds [2J.\n" in told and len(told) < 1000
    assert launch.tell(RuntimeError(harmful)) == 70
    fault = capsys.readouterr().err
    assert "RuntimeError: a[31m bbb" in fault and len(fault) < 1000
    assert not {"\x1b", "\u202e", "\r"} & {*told, *fault}


def test_a_measuring_sheet_is_typed_in_by_its_letters(talk: Talk, job: Path) -> None:
    letters = measuring.lettered(jobfile.load(job))
    depth = letters["firebox.depth"].lower()
    said = talk(
        job, "sheet", f"{depth} 20 1/2", "zzz 3", f"{letters['flue.height']} 20 ft", "", "save", "quit"
    )
    assert entry(job, "firebox.depth") == "20 1/2" and entry(job, "flue.height") == "20 ft"
    assert any("No box has the letter ZZZ" in line for line in said)
    assert any(measuring.mark(jobfile.load(job)) in line for line in said)
