"""The random keys themselves, and what they found; `random_keys` and `typed_keys` look for more."""

from pathlib import Path
from random import Random

import pytest
from faults import random_keys, typed_keys
from faults.random_keys import KEYS, Burst, Run, Trouble, bursts, trouble_of

# What the random keys once brought to light, each as short as it still failed.
FOUND = {
    "all commands, Enter twice": [Burst(b"\x10"), Burst(b"draw\r\r"), Burst(b"1")],
    "all commands, Page Down before the list is drawn": [
        Burst(b"\x10\x1b[6~\x1b[6~k\x1b[6~"),
        Burst(b"\x1b\x1b"),
    ],
    "another job, Page Down and Enter": [
        Burst(b"2\x1b[19~0\x1b[21~"),
        Burst(b"\x1b[B\x1b[19~G\x1a\t\x1a\x1022 m\x1b[5~"),
        Burst(b"o\x1b[A7U\x1aF6\x1b[A\x0f\x1b[6~\r"),
    ],
    "quit, and a command with it": [Burst(b"\x11\x17"), Burst(b"1")],
    "through every section": [Burst(b"\x1b[6~" * 30), Burst(b"\x1b[5~" * 30)],
}


@pytest.mark.parametrize("name", FOUND)
def test_what_was_found_once_does_not_come_back(name: str) -> None:
    assert trouble_of(FOUND[name]) == ""


def test_the_same_seed_types_the_same_and_every_key_has_its_turn() -> None:
    assert bursts(Random(3), 200) == bursts(Random(3), 200)
    sent = b"".join(burst.sent for burst in bursts(Random(3), 20_000))
    assert all(key in sent for key in KEYS)


def test_a_run_that_ends_badly_is_seen(tmp_path: Path) -> None:
    """The attack itself can fail: a program killed from outside is told as such."""
    run = Run(tmp_path / "home")
    run.child.kill(9)
    run.child.wait()
    with pytest.raises(Trouble, match="signal 9"):
        run.give(Burst(b"1"))


def test_a_screen_that_draws_no_more_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(random_keys, "PATIENCE", 0.1)
    run = Run(tmp_path / "home")
    monkeypatch.setattr(run, "_drawn", lambda seconds: False)
    with pytest.raises(Trouble, match="nothing drawn"):
        run.give(Burst(b"1"))
    run.child.close(force=True)


@pytest.mark.parametrize("seed", [11])
def test_a_share_of_the_random_keys(seed: int) -> None:
    assert trouble_of(bursts(Random(seed), 200)) == ""


def test_every_field_holds_what_a_model_of_the_keys_says() -> None:
    """Entries, rubbing out, steps either way and undo, in bursts."""
    assert typed_keys.trouble_of(seed=3, keys=90) == ""


def test_the_model_of_the_keys_can_disagree(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen that lost a key would be seen: here the model hears of one that was never sent."""
    monkeypatch.setattr(typed_keys, "PATIENCE", 0.0)
    monkeypatch.setattr(typed_keys.Run, "busy", lambda run: 0.0)
    monkeypatch.setattr(typed_keys.Model, "entries", lambda model: {"depth": "never typed"})
    assert "the keys say {'depth': 'never typed'}" in typed_keys.trouble_of(seed=3, keys=1)
