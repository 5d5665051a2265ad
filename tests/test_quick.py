"""The quick check: what eight measurements decide, what it says it did not look at, and how it grows into a job.

Expected answers are of the Residential Code 2021: R1001.10 (hearth 20 and 12 in from 6 ft2), R1003.9 (36 in over the roof),
R1001.11 (12 in to a mantel that stands out more than 1 1/2 in), R1003.15.1 and Table R1003.14(2).
"""

import io
import json
from pathlib import Path

import pytest

from hearthcalc import cli, jobfile, quick, reference
from hearthcalc.errors import EntryError
from hearthcalc.findings import Verdict

EDITION = reference.load("irc-2021")
LOOK = {
    "width": "32", "height": "28", "flue": "13x13", "hearth_front": "20", "hearth_side": "12", "wood_above": "14", "wood_out": "6",
    "chimney_top": "38",
}  # fmt: skip


def check(**changes: str | None) -> quick.Quick:
    answers = {id: text for id, text in {**LOOK, **changes}.items() if text is not None}
    return quick.check(answers, "in", EDITION)


def verdicts(told: quick.Quick) -> dict[str, str]:
    return {finding.id: str(finding.verdict) for finding in told.findings}


def test_there_are_eight_measurements_at_most() -> None:
    assert len(quick.ASKS) == 8


def test_what_is_measured_is_judged_and_nothing_else() -> None:
    told = check()
    assert verdicts(told) == dict.fromkeys(
        (
            "flue.area",
            "hearth.front",
            "hearth.left",
            "hearth.right",
            "clearance.mantel",
            "chimney.above_roof",
        ),
        "MEETS",
    )
    assert (told.overall, told.unmeasured) == (Verdict.MEETS, ())


@pytest.mark.parametrize(
    ("id", "text", "finding"),
    [
        ("flue", "8x12", "flue.area"), ("hearth_front", "19", "hearth.front"), ("hearth_side", "11", "hearth.left"),
        ("wood_above", "11", "clearance.mantel"), ("chimney_top", "35", "chimney.above_roof"), ("hearth_front", "", "hearth.front"),
        ("hearth_side", "none", "hearth.right"),
    ],
)  # fmt: skip
def test_each_measurement_decides_its_verdict_and_the_worst_decides_all(
    id: str, text: str, finding: str
) -> None:
    told = check(**{id: text})
    assert verdicts(told)[finding] == "SHORT" and told.overall is Verdict.SHORT
    assert told.findings[0].verdict is Verdict.SHORT, "the worst stands first"


@pytest.mark.parametrize("id", [ask.id for ask in quick.ASKS])
def test_what_is_not_measured_never_passes(id: str) -> None:
    told = check(**{id: None})
    assert told.overall is Verdict.MEASURE
    assert quick.BY_ID[id].label in told.unmeasured


def test_no_wood_is_an_answer_and_no_measurement_is_none() -> None:
    told = check(wood_above="none", wood_out=None)
    assert (told.overall, told.unmeasured) == (Verdict.MEETS, ())
    assert "nearby" not in told.document and told.document["face"][0]["looked"] == {"above": True}
    assert check(wood_above=None, wood_out=None).document["face"][0].get("looked") is None


@pytest.mark.parametrize(
    ("text", "entry"),
    [
        ("13x13", {"liner": "13x13"}), ("13 X 13", {"liner": "13x13"}), ("10 round", {"shape": "round", "diameter": "10"}),
        ("11 1/4 x 11 1/4 inside", {"shape": "square", "inside": "11 1/4 x 11 1/4"}),
        ("7 x 11 1/2 inside", {"shape": "rectangular", "inside": "7 x 11 1/2"}),
    ],
)  # fmt: skip
def test_a_flue_is_taken_as_people_tell_it(text: str, entry: dict[str, str]) -> None:
    assert check(flue=text).document["flue"] == entry


def test_a_size_that_no_table_holds_is_not_guessed_at() -> None:
    with pytest.raises(EntryError, match="No table holds a liner 9x99"):
        check(flue="9x99")


# The command


def test_flags_answer_and_the_json_says_what_was_not_looked_at(capsys: pytest.CaptureFixture[str]) -> None:
    flags = [part for id, text in LOOK.items() for part in (quick.BY_ID[id].flag, text)]
    assert cli.main(["quick", *flags, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["format"], told["version"], told["overall"]) == ("hearthcalc-quick", 1, "MEETS")
    assert told["not_looked_at"] == list(quick.NOT_LOOKED_AT) and told["not_measured"] == []
    assert cli.main(["quick", "--width", "32", "--hearth-front", "20"]) == 3
    text = " ".join(capsys.readouterr().out.split())
    assert (
        "Not measured: Opening height, Flue size," in text
        and "Not looked at: masonry or factory-built," in text
    )


def test_prompts_ask_again_where_an_answer_cannot_be_read_and_enter_takes_none(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    typed = "32\n28\n9x99\n13x13\n\n12\n\n38\n"
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    out = tmp_path / "look.hearth.toml"
    assert cli.main(["quick", "-o", str(out)]) == 1
    said = capsys.readouterr()
    assert "No table holds a liner 9x99." in said.err and "[none]" in said.err and "SHORT" in said.out
    job = jobfile.load(out)
    assert job.face[0].hearth.front is not None and job.face[0].hearth.front.value == 0
    assert job.face[0].looked.above is True and not job.nearby, "no wood: nothing more is asked of it"
    assert len(typed) < 60, "keys, Enter among them"


def test_a_kept_look_opens_as_a_job_with_nothing_to_type_again(tmp_path: Path) -> None:
    out = tmp_path / "look.hearth.toml"
    flags = [part for id, text in LOOK.items() for part in (quick.BY_ID[id].flag, text)]
    cli.main(["quick", *flags, "-o", str(out)])
    job = jobfile.load(out)
    assert str(job.flue.liner) == "13x13" and job.roof[0].above_penetration is not None
    assert cli.main(["check", str(out), "--json"]) == 3, "a whole job asks for more"


def test_a_flag_that_cannot_be_read_is_told_by_its_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["quick", "--width", "wide"]) == 2
    assert "--width" in capsys.readouterr().err


def test_a_look_is_not_kept_over_a_file_that_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Told before the first question."""
    out = tmp_path / "look.hearth.toml"
    out.write_text("mine")
    typed = io.StringIO("32\n")
    monkeypatch.setattr("sys.stdin", typed)
    assert cli.main(["quick", "-o", str(out)]) == 4
    said = capsys.readouterr()
    assert f"{out}: It is there already. Choose another name." in said.err
    assert (said.out, typed.read(), out.read_text()) == ("", "32\n", "mine")
