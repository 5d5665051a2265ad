"""Keys of one's own: taken by the id of a command, told in words where they cannot be, never fatal."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from hearthcalc_tui import commands, settings


@pytest.fixture
def held(tmp_path: Path) -> Path:
    return tmp_path / settings.NAME


def test_no_file_is_no_mistake(held: Path) -> None:
    assert settings.read(held) == ({}, [])


def test_keys_are_taken_as_a_person_writes_them(held: Path) -> None:
    held.write_text(
        '[keys]\ntheme = "F20"\nsave = ["Ctrl+S", "Alt + W"]\nrevert = "Esc"\nnext_section = ["PgDn"]\n'
    )
    keys, wrong = settings.read(held)
    assert wrong == []
    assert keys == {
        "theme": ("f20",), "save": ("ctrl+s", "alt+w"), "revert": ("escape",), "next_section": ("pagedown",),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('thme = "f20"', "there is no command thme. Did you mean theme?"),
        ('zzzzzz = "f20"', "there is no command zzzzzz."),
        ('theme = "f99"', "theme: f99 is not a key that a command can have."),
        ('theme = "a"', "theme: a is not a key that a command can have."),
        ('theme = "backspace"', "theme: backspace is not a key"),
        ('theme = "ctrl+ctrl+k"', "not a key that a command can have."),
        ('theme = "\\u001b[2J"', "not a key that a command can have."),
        ("theme = 5", "theme takes a key or a list of keys"),
        ("theme = []", "theme takes a key or a list of keys"),
        ('theme = "ctrl+s"', "theme: ctrl+s is a key of save already."),
        ('theme = "tab"', "theme: tab is a key of next already."),
    ],
)
def test_a_key_that_cannot_be_is_told_and_the_others_are_taken(held: Path, line: str, told: str) -> None:
    held.write_text(f'[keys]\n{line}\nundo = "f21"\n')
    keys, wrong = settings.read(held)
    assert keys == {"undo": ("f21",)}
    assert len(wrong) == 1
    assert told in wrong[0]


def test_two_commands_may_change_places(held: Path) -> None:
    held.write_text('[keys]\nundo = "ctrl+y"\nredo = "ctrl+z"\n')
    assert settings.read(held) == ({"undo": ("ctrl+y",), "redo": ("ctrl+z",)}, [])


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"keys = [", "The settings are not valid TOML"),
        (b"\xff\xfe", "The settings are not valid TOML"),
        (b"a = " + b"[" * 5000, "The settings are not valid TOML"),
        (b"a = " + b"1" * 5000, "The settings are not valid TOML"),
        (b"#" * 70_000, "The settings are too large"),
        (b'keys = "f1"', "keys has to be a table"),
        (b'colour = "red"', "colour is not known; there is [keys]."),
    ],
)
def test_a_file_that_cannot_be_read_is_told(held: Path, data: bytes, told: str) -> None:
    held.write_bytes(data)
    keys, wrong = settings.read(held)
    assert keys == {}
    assert told in wrong[0]


def test_a_folder_in_its_place_is_told(held: Path) -> None:
    held.mkdir()
    assert "cannot be read" in settings.read(held)[1][0]


def test_every_key_of_the_program_is_one_that_settings_take(held: Path) -> None:
    rows = (f"{command.id} = {json.dumps(command.keys)}" for command in commands.COMMANDS)
    held.write_text("[keys]\n" + "\n".join(rows))
    keys, wrong = settings.read(held)
    assert wrong == []
    assert keys == {command.id: command.keys for command in commands.COMMANDS}


def test_bindings_palette_key_line_and_help_follow(tmp_path: Path) -> None:
    """In a program of its own, because bindings are made once, when the widgets are loaded."""
    code = (
        "from hearthcalc_tui import settings; from pathlib import Path; import sys; "
        "settings.file = lambda: Path(sys.argv[1]); print(settings.apply()); "
        "from hearthcalc_tui.app import HearthcalcApp; from hearthcalc_tui.field import Field; "
        "print([b.key for b in HearthcalcApp.BINDINGS if 'theme' in b.action]); "
        "print([b.key for b in Field.BINDINGS if 'revert' in b.action]); "
        "from hearthcalc_tui import commands; print('| F20 | Next look |' in commands.table())"
    )
    held = tmp_path / settings.NAME
    held.write_text('[keys]\ntheme = "f20"\nrevert = "alt+e"\nnone = "f1"\n')
    done = subprocess.run([sys.executable, "-c", code, str(held)], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[1:] == ["['f20']", "['alt+e']", "True"]
    assert "there is no command none" in done.stdout
