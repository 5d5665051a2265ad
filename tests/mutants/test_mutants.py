"""What survives a change is explained line by line; and the runner tells what is found out from what cannot be."""

import sys
from collections import Counter
from pathlib import Path

from mutants.change import mutants
from mutants.run import FOLDER, Aim, justified, learn, tried

REASONS = justified()

# Where the two are alike, either may be given: >= says the same as >.
SMALL = """\
MOST = 8


def within(width):
    return width <= MOST


def larger(first, second):
    return first if first > second else second
"""
TESTS = """\
import small


def test_within():
    assert small.within(8)
    assert not small.within(9)


def test_larger():
    assert [small.larger(1, 2), small.larger(2, 1), small.larger(2, 2)] == [2, 2, 2]
"""


def test_each_change_that_is_explained_still_stands_in_its_module() -> None:
    known = {
        name: {
            (mutant.function, mutant.line, mutant.becomes)
            for mutant in mutants((FOLDER / f"{name.replace('.', '/')}.py").read_text("utf-8"))
        }
        for name in {reason.module for reason in REASONS}
    }
    assert [r for r in REASONS if (r.function, r.line, r.becomes) not in known[r.module]] == []


def test_each_is_explained_once_and_in_a_sentence() -> None:
    listed = Counter((r.module, r.function, r.line, r.becomes) for r in REASONS)
    assert [where for where, times in listed.items() if times > 1] == []
    assert [r for r in REASONS if len(r.why.split()) < 4 or not r.why.endswith(".")] == []


def test_a_change_that_matters_is_found_out_and_one_that_does_not_survives(tmp_path: Path) -> None:
    (tmp_path / "small.py").write_text(SMALL, "utf-8")
    (tmp_path / "test_small.py").write_text(TESTS, "utf-8")
    (tmp_path / "pytest.ini").write_text("[pytest]\npythonpath = .\n", "utf-8")
    aim = Aim(
        "small",
        tmp_path / "small.py",
        (tmp_path / "test_small.py",),
        tmp_path,
        # No search for what was never raised: it looks through all that other tests left.
        ("-c", str(tmp_path / "pytest.ini"), "-p", "no:unraisableexception"),
    )
    ran = learn([aim], tmp_path / "kept")["small"]
    found = {
        (r.mutant.line, r.mutant.becomes): (r.killed, r.by, r.tests) for r in tried(aim, mutants(SMALL), ran)
    }
    assert found == {
        ("MOST = «8»", "9"): (True, "test_small.py::test_within", 2),
        ("return width «<=» MOST", "<"): (True, "test_small.py::test_within", 1),
        ("return first if first «>» second else second", ">="): (False, "", 1),
    }
    assert "small" not in sys.modules
    assert (tmp_path / "small.py").read_text("utf-8") == SMALL
