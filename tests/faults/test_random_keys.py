"""A short share of the random keys in every run; `python tests/faults/random_keys.py --keys 1000000` is the long one."""

from random import Random

import pytest
from faults.random_keys import KEYS, Burst, bursts, shortest, trouble_of

SEEDS = (1, 2)


@pytest.mark.parametrize("seed", SEEDS)
def test_any_keys_in_any_order_neither_stop_nor_end_it(seed: int) -> None:
    given = bursts(Random(seed), 250)
    trouble = trouble_of(given)
    assert not trouble, f"{trouble}\nthe shortest that still fails: {shortest(given)}"


def test_the_same_seed_types_the_same_and_every_key_has_its_turn() -> None:
    assert bursts(Random(3), 200) == bursts(Random(3), 200)
    sent = b"".join(burst.sent for burst in bursts(Random(3), 20_000))
    assert all(key in sent for key in KEYS)


def test_a_run_that_ends_badly_is_seen() -> None:
    """The attack itself can fail: a program killed from outside is told as such."""
    import tempfile
    from pathlib import Path

    from faults.random_keys import Run, Trouble

    with tempfile.TemporaryDirectory() as folder:
        run = Run(Path(folder) / "home")
        run.child.kill(9)
        run.child.wait()
        with pytest.raises(Trouble, match="signal 9"):
            run.give(Burst(b"1"))
