"""The user's own settings: keys of commands by their ids. What cannot be taken is told in words and left out; nothing here is fatal."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from hearthcalc import files
from hearthcalc_tui import commands

NAME = "settings.toml"
MAX_BYTES = 1 << 16
# What types, edits or ends: a command on one of these could not be undone by typing.
_PLAIN_KEYS = frozenset(
    {"space", "backspace", "delete", "left", "right", "home", "end", "ctrl+u", "ctrl+m", "ctrl+i", "ctrl+h"}
)
_NAMED = frozenset(
    {"enter", "tab", "escape", "insert", "up", "down", "pageup", "pagedown", *(f"f{n}" for n in range(1, 25))}
)


def file() -> Path:
    """Where the settings stand, also where there are none."""
    from platformdirs import user_config_path

    return user_config_path("hearthcalc") / NAME


def apply() -> list[str]:
    """Give the commands their own keys; returns what is wrong with the settings, in words. Before any widget is loaded."""
    keys, wrong = read(file())
    if keys:
        commands.use(keys)
    return wrong


def read(path: Path) -> tuple[dict[str, tuple[str, ...]], list[str]]:
    """The keys of each command that has its own, and what is wrong with the file, in words."""
    try:
        data = files.read(path, MAX_BYTES)
    except FileNotFoundError:
        return {}, []
    except OSError as error:
        return {}, [f"The settings cannot be read: {error.strerror}."]
    if len(data) > MAX_BYTES:
        return {}, ["The settings are too large; they hold at most 64 KiB."]
    import tomllib

    try:
        held = tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:  # also a number of more digits than Python reads
        return {}, [f"The settings are not valid TOML: {error}."]
    wrong = [f"Settings: {key} is not known; there is [keys]." for key in held if key != "keys"]
    keys = held.get("keys", {})
    if not isinstance(keys, Mapping):
        return {}, [*wrong, "Settings: keys has to be a table, [keys]."]
    return _keys(keys, wrong)


def _keys(keys: Mapping[str, object], wrong: list[str]) -> tuple[dict[str, tuple[str, ...]], list[str]]:
    taken: dict[str, tuple[str, ...]] = {}
    for id, value in keys.items():
        mistake = _mistake(id, value)
        if mistake:
            wrong.append(f"Settings: {mistake}")
        else:
            taken[id] = tuple(_spelt(key) for key in ([value] if isinstance(value, str) else value))  # type: ignore[attr-defined]
    for id in list(taken):
        other = _twice(id, taken)
        if other:
            wrong.append(f"Settings: {id}: {', '.join(taken[id])} is a key of {other} already.")
            del taken[id]
    return taken, wrong


def _mistake(id: str, value: object) -> str:
    """Why a line of [keys] cannot be taken, "" where it can."""
    from difflib import get_close_matches

    if id not in commands.BY_ID:
        near = get_close_matches(id, commands.BY_ID, 1)
        return f"there is no command {id}." + (f" Did you mean {near[0]}?" if near else "")
    names = [value] if isinstance(value, str) else value
    if not isinstance(names, list) or not names or not all(isinstance(name, str) for name in names):
        return f'{id} takes a key or a list of keys, as in "f9" or ["f9", "ctrl+s"].'
    bad = [name for name in names if not _is_key(_spelt(name))]
    return f"{id}: {bad[0]} is not a key that a command can have." if bad else ""


def _spelt(key: str) -> str:
    """A key as Textual names it, however a person writes it: 'Ctrl+S', 'PgDn', 'Esc'."""
    names = {shown.lower(): name for name, shown in commands.KEY_NAMES.items()}
    return "+".join(names.get(part, part) for part in key.strip().lower().replace(" ", "").split("+"))


def _is_key(key: str) -> bool:
    *held, last = key.split("+")
    if key in _PLAIN_KEYS or len(set(held)) != len(held) or not set(held) <= {"ctrl", "alt", "shift"}:
        return False
    letter = len(last) == 1 and last.isascii() and last.isalnum()
    return last in _NAMED or (letter and bool({"ctrl", "alt"} & set(held)))


def _twice(id: str, taken: Mapping[str, tuple[str, ...]]) -> str:
    """Another command that has one of these keys where both would work, "" for none."""
    scope = commands.BY_ID[id].scope
    for other in commands.COMMANDS:
        together = other.scope == scope or "anywhere" in (other.scope, scope)
        if other.id != id and together and set(taken[id]) & set(taken.get(other.id, other.keys)):
            return other.id
    return ""
