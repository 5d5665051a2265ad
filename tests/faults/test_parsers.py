"""A share of the texts at random; `parsers.py` runs as many as one likes. And all of the corpus."""

from fractions import Fraction
from pathlib import Path

import pytest
from faults import parsers
from faults.parsers import CORPUS, Trouble, run, tried

from hearthcalc import lengths
from hearthcalc.errors import FileError


def test_a_share_of_texts_at_random_brings_nothing_to_light() -> None:
    taken, inputs = run(1600, 5)
    assert inputs == 1600 and min(taken.values()) > 10


@pytest.mark.parametrize("target", sorted(parsers.TARGETS))
def test_the_corpus_brings_nothing_to_light(target: str) -> None:
    files = sorted((CORPUS / target).iterdir())
    assert [tried(target, path.read_bytes()) for path in files].count(True) >= 2


def test_the_attack_sees_a_wrong_value_a_crash_and_a_mistake_without_its_line(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(lengths, "parse", lambda text, unit: Fraction(7))
    with pytest.raises(Trouble, match="'36' as in is read as 7, by the grammar it is 36"):
        tried("length", b"36")
    monkeypatch.setattr(lengths, "parse", lambda text, unit: 1 / 0)
    with pytest.raises(Trouble, match="ZeroDivisionError"):
        tried("length", b"36")

    def nowhere(data: bytes, name: str) -> None:
        raise FileError("Not a job", "It is not one.", where=name)

    monkeypatch.setattr(parsers.jobfile, "load", nowhere)
    with pytest.raises(Trouble, match="no line in"):
        tried("job", b"width =\n")


def test_the_corpus_is_small() -> None:
    kept = [path for path in Path(CORPUS).rglob("*") if path.is_file()]
    assert sum(path.stat().st_size for path in kept) < 20_000
