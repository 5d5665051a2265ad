"""The README says what the program does: its two commands, its picture, its worked result, its tables."""

import io
import re
from contextlib import redirect_stdout, suppress
from pathlib import Path

import pytest

from hearthcalc import amendments, caution, cli, reference
from hearthcalc_tui import commands, launch

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)


def printed(*arguments: str) -> str:
    """What the command prints on a page of 80 columns."""
    page = io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(page), suppress(SystemExit):
        patch.setenv("COLUMNS", "80")
        patch.setattr(launch, "has_terminal", lambda: False)
        launch.run(list(arguments))
    return page.getvalue()


def commands_told() -> list[list[str]]:
    """The rows of the command table: for each, the ways of calling it, and the rest of the row."""
    rows = [row.split(" | ") for row in README.splitlines() if row.startswith("| `hearthcalc")]
    return [[", ".join(re.findall(r"`([^`]*)`", row[0])), " | ".join(row[1:])] for row in rows]


def test_two_commands_stand_alone_in_their_blocks_and_need_nothing_before_them() -> None:
    first, second = blocks("sh")
    for command in (first, second):
        assert len(command.splitlines()) == 1
        assert command.startswith(
            "python3 -m venv --without-pip .venv && python3 -m pip --python .venv/bin/python install"
        )
    assert first.rstrip().endswith("hearthcalc demo")
    assert second.rstrip().endswith("-m pytest -n auto")


def test_the_picture_is_that_of_the_screen() -> None:
    picture = (ROOT / "tests/pictures/hearth_80x24.txt").read_text(encoding="utf-8")
    assert picture in blocks("text")


def test_the_run_of_every_change_calls_the_test_command_of_this_page() -> None:
    script = (ROOT / ".ci/run").read_text(encoding="utf-8")
    assert "README.md" in script and 'sh -c "$tests"' in script
    assert "-m pytest" not in script


def test_the_picture_is_of_a_screen_of_80_by_24_with_the_caution_in_it() -> None:
    picture = blocks("text")[0]
    lines = picture.splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    assert caution.SHORT in picture
    for command in commands.COMMANDS:
        if 0 < command.rank <= 6:
            assert command.short in lines[-1]


def test_the_worked_results_are_what_the_program_prints() -> None:
    _, result, model = blocks("text")
    assert "Working:" in result and "Basis:" in result
    assert "by what is uncertain" in " ".join(model.split())
    told = printed("check", "demo", "--stage", "planned", "--explain")
    assert result in told and model in told


def test_the_table_of_commands_names_every_command_and_no_other() -> None:
    told = [row[0] for row in commands_told()]
    words = {words[1] for row in told if len(words := row.split()) > 1 and words[1].isalpha()}
    assert words == set(cli.COMMANDS)
    assert set(cli.COMMANDS) - {"demo"} <= launch.COMMANDS


@pytest.mark.parametrize("row", commands_told(), ids=lambda row: row[0])
def test_every_option_in_the_table_of_commands_is_one(row: list[str]) -> None:
    words = [
        word for word in row[0].split(", ")[0].split()[1:] if word.islower() and not word.startswith("-")
    ]
    helped = printed(*words, "--help")
    assert helped.startswith("usage: ")
    for option in re.findall(r"--\w+", " ".join(row)):
        assert option in helped


def test_the_table_of_keys_is_that_of_the_screen() -> None:
    assert commands.table() in README


def test_the_amendment_in_the_readme_is_one_that_is_taken(tmp_path: Path) -> None:
    (example,) = blocks("toml")
    path = tmp_path / amendments.NAME
    path.write_text(example, encoding="utf-8")
    edition = amendments.amend(reference.load("irc-2021"), amendments.read(path))
    assert edition.edited == ("hearth.front",)
    assert edition["hearth.front"].standing == "edited here"
    assert "16 in" in edition["hearth.front"].note


def test_what_developers_md_names_is_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = {
        path.name
        for folder in ("hearthcalc", "tui", "reference", "tests")
        for path in (ROOT / folder).rglob("*")
    }
    for name in re.findall(r"`((?:[\w./-]+/)*[\w.-]+\.(?:py|toml))`", text):
        assert Path(name).name in rooms | {"pyproject.toml"}, name
