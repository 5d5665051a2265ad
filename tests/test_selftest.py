"""The published cases: every one agrees, and a case that does not is told."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from hearthcalc import selftest

CASES = selftest.cases()


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_program_says_what_was_printed(case: selftest.Case) -> None:
    outcome = selftest.run(case)
    assert outcome.agrees, outcome.found
    assert case.source and case.clause and case.why


def test_the_worked_examples_of_older_practice_are_among_them() -> None:
    """USDA Farmers' Bulletin 1889 (1941): examples 1 and 2, and the nine rows of its Table 4 that agree with its Table 2."""
    names = " ".join(case.name for case in CASES)
    assert "90 in2" in names and "108 in2" in names
    for opening in (600, 800, 1000, 1200, 1800, 2000, 2400, 2600, 2800):
        assert len([case for case in CASES if f"carries {opening} in2" in case.name]) == 2


def test_names_are_told_once() -> None:
    names = [case.name for case in CASES]
    assert len(names) == len(set(names))


def test_a_case_that_disagrees_is_told_with_both_answers() -> None:
    case = next(case for case in CASES if case.expect.get("required") == "90 in2")
    other = selftest.run(replace(case, expect={"verdict": "SHORT", "required": "91 in2"}))
    assert not other.agrees
    assert "MEETS, printed SHORT" in other.found
    assert "required 90 in2, printed 91 in2" in other.found
    assert selftest.run(
        replace(case, expect={"verdict": "MEETS", "required": "91 in2"}, tolerance="1 in2")
    ).agrees
    missing = selftest.run(replace(case, finding="flue.nothing"))
    assert (missing.agrees, missing.found) == (False, "no such finding")


def test_a_key_that_no_case_has_is_refused(tmp_path: Path) -> None:
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "own.toml").write_text('[[case]]\nname = "x"\nanswer = 3\n')
    with pytest.raises(ValueError, match=r"own\.toml: answer is not a key of a case"):
        selftest.cases(tmp_path)


def test_printed_figures_of_each_country_are_among_them() -> None:
    """Cells of the Canadian tables, outlets of England and France, hearths of Germany and Australia, Sweden's circle."""
    editions = {case.edition for case in CASES}
    assert {
        "canada-nbc",
        "england-adj",
        "france",
        "germany-feuvo",
        "australia-hp",
        "sweden",
        "italy-uni",
        "scotland-th",
        "irc-2021",
    } <= editions
    assert {"1070 mm", "1330 mm", "1930 mm", "1200 mm", "162000 mm2"} <= {
        case.expect.get("required") for case in CASES
    }
    assert {case.expect["verdict"] for case in CASES if case.edition == "canada-nbc"} == {"MEETS", "SHORT"}
