"""The commands: what they print where, and the exit codes that others script against."""

import datetime as dt
import errno
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any, NamedTuple

import forked
import pytest

from hearthcalc import __version__, amendments, assess, caution, cli, reference
from hearthcalc.findings import STANDINGS

SOUND = (Path(__file__).parent / "jobs" / "sound.hearth.toml").read_text(encoding="utf-8")
UNMEASURED = SOUND.replace('front = "18"\n', "")
SMALL_FLUE = SOUND.replace("13x13", "8x8")
PLANNED_HIGHER = SOUND + '[[planned.face]]\nname = "parlour"\nheight = "48"\n'

FINDING = {
    "id", "title", "kind", "counts", "subject", "face", "state", "item", "verdict", "required", "found", "margin", "tolerance",
    "working", "band", "basis", "remedy", "caution", "missing", "text",
}  # fmt: skip
STATE = {"name", "open", "opening_area", "flue_area", "unit", "ratio", "counts", "overall", "draft"}


class Told(NamedTuple):
    code: int
    out: str
    err: str


Run = Callable[..., Told]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def run(*arguments: str | Path) -> Told:
        code = cli.main([str(argument) for argument in arguments])
        return Told(code, *capsys.readouterr())

    return run


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str | bytes], Path]:
    def write(content: str | bytes) -> Path:
        path = tmp_path / "house.hearth.toml"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


@pytest.fixture(scope="module")
def demo() -> Any:
    """The demo's findings as a program that reads them gets them."""
    told = ran("check", "demo", "--json")
    return json.loads(told.out, parse_constant=lambda word: pytest.fail(f"{word} in the JSON"))


def ran(*arguments: str | Path, input: str = "") -> Told:
    """What the installed command says without a terminal, in a process of its own that has loaded the engine before."""
    code, out, err = forked.run([*map(str, arguments)], input=input.encode())
    return Told(code, out.decode(), err.decode())


def started(*arguments: str | Path, **options: Any) -> Told:
    """What the installed command says, started as a program of its own without a terminal."""
    options.setdefault("stdin", None if "input" in options else subprocess.DEVNULL)
    done = subprocess.run(
        [sys.executable, "-m", "hearthcalc_tui.launch", *map(str, arguments)],
        capture_output=True, timeout=60, encoding="utf-8", **options,
    )  # fmt: skip
    return Told(done.returncode, done.stdout, done.stderr)


@pytest.mark.parametrize(
    ("job", "code", "word"),
    [
        pytest.param(SOUND, 0, "MEETS", id="all meets"),
        pytest.param(SMALL_FLUE, 1, "SHORT", id="something is short"),
        pytest.param(UNMEASURED, 3, "MEASURE", id="something is to be measured"),
        pytest.param(
            SOUND.replace('front = "18"', 'front = "15 15/16"'), 3, "CLOSE", id="within the tolerance"
        ),
        pytest.param(SOUND.replace('"masonry"', '"factory-built"'), 3, "REFER", id="a listing decides"),
        pytest.param(
            SMALL_FLUE.replace('front = "18"\n', ""), 1, "SHORT", id="short outweighs to be measured"
        ),
        pytest.param(PLANNED_HIGHER, 1, "SHORT", id="the planned stage decides"),
    ],
)
def test_the_exit_code_follows_the_verdict(
    job: str, code: int, word: str, run: Run, write: Callable[[str], Path]
) -> None:
    told = run("check", write(job), "--json")
    assert (told.code, told.err) == (code, "")
    assert list(json.loads(told.out)["stages"].values())[-1]["overall"] == word


def test_one_stage_alone_is_told_and_decides(run: Run, write: Callable[[str], Path]) -> None:
    job = write(PLANNED_HIGHER)
    found, planned = (run("check", job, "--stage", stage) for stage in ("found", "planned"))
    assert (found.code, planned.code) == (0, 1)
    assert "AS FOUND" in found.out and "AS PLANNED" not in found.out
    assert "AS PLANNED" in planned.out and "AS FOUND" not in planned.out
    assert set(json.loads(run("check", job, "--stage", "found", "--json").out)["stages"]) == {"found"}


def test_the_text_says_cautions_then_overall_then_findings_then_the_site_list(
    run: Run, write: Callable[[str], Path]
) -> None:
    text = " ".join(run("check", write(UNMEASURED)).out.replace("\n! ", "\n").split())
    places = [text.index(" ".join(sentence.split())) for sentence in caution.FULL]
    places += [text.index(word) for word in ("? MEASURE:", "The flue", "The hearths", "Still to be measured")]
    assert places == sorted(places)
    assert "face.parlour.hearth.front" in text[places[-1] :]


def test_every_finding_is_told_with_its_verdict_and_its_remedies(run: Run, demo: Any) -> None:
    text = " ".join(run("check", "demo").out.split())
    for stage in demo["stages"].values():
        for finding in stage["findings"]:
            assert f"{finding['verdict']} {finding['title']}" in text
            assert " ".join(finding["text"].split()) in text
            assert all(f"Do: {' '.join(remedy.split())}" in text for remedy in finding["remedy"])


def test_explain_adds_the_working_and_every_basis(run: Run, demo: Any) -> None:
    plain, explained = (" ".join(run("check", "demo", *more).out.split()) for more in ((), ("--explain",)))
    assert "Working:" not in plain
    for finding in (finding for stage in demo["stages"].values() for finding in stage["findings"]):
        for step in finding["working"]:
            assert f"Working: {' '.join(step['symbol'].split())}" in explained
        for basis in finding["basis"]:
            assert basis["title"] in explained
            assert known(basis) in explained


def test_a_value_that_is_not_published_says_so_without_being_asked(run: Run, demo: Any) -> None:
    plain = " ".join(run("check", "demo").out.split())
    for finding in (finding for stage in demo["stages"].values() for finding in stage["findings"]):
        for basis in finding["basis"]:
            if finding["kind"] == "model":
                same = sum(other["standing"] == basis["standing"] for other in finding["basis"])
                assert f"{same} {basis['standing']}" in plain
            else:
                assert basis["standing"] == "published" or known(basis) in plain


def known(basis: dict[str, str]) -> str:
    """How far a basis can be trusted, as it is told: the clause, and the standing where the clause does not say it."""
    clause, standing = basis["clause"], basis["standing"]
    return clause if standing in clause else f"{clause}; {standing}"


def test_another_edition_judges_the_same_job(run: Run) -> None:
    told = json.loads(run("check", "demo", "--json", "--edition", "usda-1941").out)
    assert told["edition"]["id"] == "usda-1941"
    keys = {basis["edition"] for f in told["stages"]["found"]["findings"] for basis in f["basis"]}
    assert "usda-1941" in keys and "irc-2021" not in keys


def test_a_job_is_read_from_standard_input(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(SOUND.encode())))
    assert run("check", "-").code == 0


def test_a_bad_job_on_standard_input_is_called_so(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"units = ")))
    told = run("check", "-")
    assert (told.code, told.out) == (4, "")
    assert "standard input" in told.err


def test_demo_is_check_demo_and_its_file_is_never_written_to(run: Run) -> None:
    shipped = files("hearthcalc_reference") / "demos" / "inn.hearth.toml"
    before = shipped.read_bytes()
    assert run("demo") == run("check", "demo")
    assert shipped.read_bytes() == before


def test_a_first_word_that_is_no_command_is_a_job(run: Run, write: Callable[[str], Path]) -> None:
    assert run(write(SOUND)) == run("check", write(SOUND))


def test_a_command_wins_over_a_file_of_that_name(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("check").write_text(SOUND, encoding="utf-8")
    assert run("check").code == 2
    assert run("./check").code == 0


def test_the_json_has_the_keys_that_others_script_against(demo: Any) -> None:
    assert (demo["format"], demo["version"], demo["program"]) == ("hearthcalc-assessment", 1, __version__)
    assert set(demo["job"]) == {"title", "fingerprint"}
    assert {"id", "fingerprint", "edited"} <= set(demo["edition"])
    assert demo["cautions"][0] == caution.LINE
    assert list(demo["stages"]) == ["found", "planned"]
    for stage in demo["stages"].values():
        assert {"overall", "counts", "findings", "states", "measure"} <= set(stage)
        assert sum(stage["counts"].values()) == sum(finding["counts"] for finding in stage["findings"])
        assert all(set(state) == STATE for state in stage["states"])


def test_each_finding_in_the_json_is_whole_and_does_not_contradict_itself(demo: Any) -> None:
    findings = [finding for stage in demo["stages"].values() for finding in stage["findings"]]
    for finding in findings:
        assert set(finding) == FINDING
        assert finding["kind"] in {"rule", "model", "advice"}
        assert finding["verdict"] in {"MEETS", "CLOSE", "SHORT", "MEASURE", "REFER"}
        assert bool(finding["missing"]) == (finding["verdict"] == "MEASURE")
        assert finding["kind"] != "advice" or not finding["counts"]
        for side in ("required", "found"):
            assert finding[side] is None or set(finding[side]) == {"op", "value", "unit", "text"}
        band = finding["band"]
        assert band is None or set(band) == {"low", "high", "unit", "text"}
        assert band is None or band["low"] <= finding["found"]["value"] <= band["high"]
        assert finding["margin"] is None or set(finding["margin"]) == {"value", "unit", "percent"}
        for step in finding["working"]:
            assert {"symbol", "expression", "numbers", "value", "unit"} <= set(step)
        for basis in finding["basis"]:
            assert {"key", "value", "unit", "source", "clause", "edition", "standing"} <= set(basis)
            assert basis["standing"] in STANDINGS


def test_the_overall_is_the_worst_that_counts(demo: Any) -> None:
    order = ["MEETS", "CLOSE", "REFER", "MEASURE", "SHORT"]
    for stage in demo["stages"].values():
        counting = [finding["verdict"] for finding in stage["findings"] if finding["counts"]]
        assert stage["overall"] == max(counting, key=order.index)


def test_the_demo_shows_a_passing_and_a_failing_state_and_what_is_not_known(demo: Any) -> None:
    planned = demo["stages"]["planned"]
    flue = {f["state"]: f["verdict"] for f in planned["findings"] if f["id"] == "flue.area"}
    assert flue == {"all open": "SHORT", "taproom open": "REFER", "dining open": "REFER"}
    assert [state["name"] for state in planned["states"]] == [
        "all open",
        "taproom open",
        "dining open",
        "all shut",
    ]
    short = {(f["id"], f["face"]) for f in planned["findings"] if f["verdict"] == "SHORT"}
    assert {("clearance.mantel", "taproom"), ("hearth.below", "dining")} <= short
    assert [measure["address"] for measure in planned["measure"]] == [
        'nearby."wall studs".gap',
        'nearby."wall studs".filled',
    ]


BAD_FILES = [
    pytest.param("units = \n[about]\n", "line 1", id="not TOML"),
    pytest.param(SOUND.replace("depth =", "dept ="), "depth", id="an unknown key names the nearest"),
    pytest.param(SOUND.replace('"13x13"', '"14x99"'), "flue.liner", id="a liner of no table"),
    pytest.param(
        SOUND.replace('"18"', '"7,5"'), "face.parlour.hearth.front", id="an entry that cannot be read"
    ),
    pytest.param(SOUND.replace('"18"', '"-18"'), "face.parlour.hearth.front", id="a sign"),
    pytest.param(
        SOUND.replace('"masonry"', '"straw"', 1), "fireplace.construction", id="a word that is not a choice"
    ),
    pytest.param('format = "hearthcalc-job"\nversion = 1\n', "face", id="no face"),
    pytest.param(SOUND.replace("version = 1", "version = 99"), "version", id="a version to come"),
    pytest.param(
        SOUND.replace('"Weir House"', '"Weir House"\nedition = "nowhere"'),
        "about.edition",
        id="no such edition",
    ),
    pytest.param(b"\xff\xfe\x00", "UTF-8", id="not text"),
    pytest.param("notes = " + "[" * 5000, "20 deep", id="too deep"),
    pytest.param("#" * (1 << 21), "too large", id="too large"),
]


@pytest.mark.parametrize(("content", "place"), BAD_FILES)
@pytest.mark.parametrize("form", ["text", "json"])
def test_a_bad_file_is_told_on_standard_error_alone(
    content: str | bytes, place: str, form: str, run: Run, write: Callable[[str | bytes], Path]
) -> None:
    path = write(content)
    told = run("check", path, *(["--json"] if form == "json" else []))
    assert (told.code, told.out) == (4, "")
    assert "house.hearth.toml" in told.err
    assert place in told.err
    assert "Traceback" not in told.err
    assert path.read_bytes() == (content if isinstance(content, bytes) else content.encode())


def test_a_file_that_is_not_there(run: Run, tmp_path: Path) -> None:
    told = run("check", tmp_path / "none.hearth.toml")
    assert (told.code, told.out) == (4, "")
    assert "none.hearth.toml" in told.err


def test_a_folder_is_not_a_job(run: Run, tmp_path: Path) -> None:
    told = run("check", tmp_path)
    assert (told.code, told.out) == (4, "")


@pytest.mark.parametrize(
    "arguments",
    [
        "check", "check demo more", "check demo --stage later", "check demo --edition nowhere", "check --jsn demo", "demo --wrong",
        "length", "length 7,5", "length 1200mm --unit ft", "reference", "reference show", "reference show no.such.key",
        "reference list --edition nowhere", "reference tell", "--wrong",
    ],
)  # fmt: skip
def test_wrong_use_is_told_on_standard_error_alone(arguments: str, run: Run) -> None:
    told = run(*arguments.split())
    assert (told.code, told.out) == (2, "")
    assert told.err.startswith("hearthcalc: ")


@pytest.mark.parametrize(
    "words",
    [
        ["check", ""], [""], ["takeoff", ""], ["sheet", "", "-o", "x.txt"], ["verify", "", "demo"], ["report", "demo", "-o", ""],
        ["quick", "--width", "36", "-o", ""], ["batch", "", "-o", "x.csv"], ["batch", "--template", "-o", ""],
    ],
)  # fmt: skip
def test_an_empty_name_is_told(
    words: list[str], run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    told = run(*words)
    assert (told.code, told.out) == (2, "")
    assert "is empty. Give the name of a file." in told.err
    assert not list(tmp_path.iterdir())


def test_a_name_is_shown_without_its_control_characters(run: Run, tmp_path: Path) -> None:
    told = run("report", "demo", "-o", tmp_path / "no\x1b[31m\u202e" / "x.txt")
    assert told.code == 4 and "no[31m/x.txt" in told.err
    assert not {"\x1b", "\u202e"} & set(told.err)


def test_a_stage_that_a_job_does_not_have_is_wrong_use(run: Run, write: Callable[[str], Path]) -> None:
    told = run("check", write(SOUND), "--stage", "planned")
    assert (told.code, told.out) == (2, "")
    assert "planned" in told.err


def test_a_wrong_key_names_the_nearest(run: Run) -> None:
    assert "hearth.front" in run("reference", "show", "hearth.frnt").err


HIDDEN = "\x1b]0;x\x07\x9b31m\u202e\r\x08"
HARMFUL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


@pytest.fixture
def amended(own_folders: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[[str], Path]:
    """Amendments that hold everywhere."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))

    def amended(changes: str) -> Path:
        path = tmp_path / "hearthcalc" / amendments.NAME
        path.parent.mkdir(exist_ok=True)
        head = f'format = "{amendments.FORMAT}"\nversion = 1\n'
        path.write_text(head + changes, encoding="utf-8")
        return path

    return amended


def amendment(**words: str) -> str:
    given = {
        "edition": "irc-2021", "key": "firebox.depth", "value": "22 in", "who": "B. Official", "why": "town rule", **words
    }  # fmt: skip
    return f"[[change]]\nwhen = 2026-05-04\n{''.join(f'{key} = {json.dumps(text)}{chr(10)}' for key, text in given.items())}"


def test_nothing_hidden_in_an_amendment_reaches_the_terminal(
    run: Run, amended: Callable[[str], Path], write: Callable[[str], Path]
) -> None:
    amended(amendment(who=f"B.{HIDDEN} Official\nfake", why=f"town{HIDDEN} rule", value="22 in\u202e\r"))
    shown = run("reference", "show", "firebox.depth")
    assert shown.code == 0 and "town" in shown.out and "\nfake" not in shown.out
    told = [shown, run("reference", "list", "--edition", "irc-2021"), run("check", write(SOUND))]
    told += [run("check", write(SOUND), "--explain"), run("check", write(SOUND), "--json")]
    amended(amendment(place=f"Fern{HIDDEN}hollow"))
    told.append(run("reference", "list", "--edition", "irc-2021", "--place", "Fern"))
    amended(amendment(key=f"x{HIDDEN}"))
    told.append(run("reference", "check"))
    assert [HARMFUL.findall(one.out + one.err) for one in told] == [[]] * len(told)
    assert "Fern" in told[-2].err and "x" in told[-1].err


def test_a_note_that_turns_the_reading_direction_is_escaped_in_json(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cli, "_width", lambda: 80)
    cli._print_json({"note": f"a{HIDDEN}\U000e0041 Mühle"})
    out = run("length", "3").out.removesuffix("3 in = 76.2 mm\n")
    assert not HARMFUL.search(out) and "\U000e0041" not in out and "Mühle" in out
    assert json.loads(out) == {"note": f"a{HIDDEN}\U000e0041 Mühle"}


@pytest.mark.parametrize(
    "words",
    [
        ["check", f"no{HIDDEN}where"],
        ["verify", f"no{HIDDEN}where.pdf", "demo"],
        ["length", "3", f"--wr{HIDDEN}ong"],
        ["check", "demo", "--edition", f"e{HIDDEN}"],
        ["report", "demo", "-o", f"no{HIDDEN}/r.txt"],
        ["report", "demo", "-o", f"r{HIDDEN}.txt", "--short"],
    ],
)
def test_nothing_hidden_in_an_argument_reaches_the_terminal(
    words: list[str], run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    told = run(*words)
    assert told.err and not HARMFUL.search(told.out + told.err)


LONG = "x" * 100_000


@pytest.mark.parametrize(
    "words",
    [
        ["check", LONG],
        ["check", "demo", "--edition", LONG],
        ["check", "demo", "--stage", LONG],
        ["check", "demo", LONG],
        ["length", LONG],
        ["reference", "show", LONG],
        ["reference", "list", "--edition", "irc-2021", "--place", LONG],
        ["report", "demo", "-o", f"{LONG}.txt", "--date", LONG],
        ["report", "demo", "-o", f"r.{LONG}"],
        ["verify", f"{LONG}.pdf", "demo"],
        ["sign", LONG, "--name", LONG, "--role", "measured"],
        ["whatif", "demo", "--sweep", LONG],
    ],
)
def test_no_message_is_as_long_as_what_is_wrong(words: list[str], run: Run) -> None:
    told = run(*words)
    assert told.code in (2, 4) and told.out == ""
    assert 20 < len(told.err) < 1000


@pytest.mark.parametrize(
    ("key", "value", "where", "why"),
    [
        (LONG, "1", f"{'x' * 40}...", f"irc-2021 has no value {'x' * 40}...."),
        ("firebox.depth", LONG, "firebox.depth", "."),
        ("firebox.depth", "5 in", "firebox.depth", "5 in is outside 6 in to 60 in."),
        ("firebox.depth", "22 cfm", "firebox.depth", "22 cfm is not of the kind of 20 in."),
        ("firebox.depth", "deep", "firebox.depth", "This is not a unit that is read here."),
        ("hearth.datum", LONG, "hearth.datum", f'"{"x" * 40}..." is not a value of hearth.datum.'),
        ("hearth.side", f"{LONG}; x", "hearth.side", f'"{"x" * 40}..." is not a step of hearth.side.'),
    ],
)
def test_a_mistake_in_an_amendment_is_told_at_the_amendment(
    key: str, value: str, where: str, why: str, run: Run, amended: Callable[[str], Path], write: Callable[[str], Path]
) -> None:  # fmt: skip
    path = amended(amendment(key=key, value=value))
    for words in (
        ["check", write(SOUND)],
        ["check", write(SOUND), "--edition", "irc-2021"],
        ["reference", "check"],
    ):
        told = run(*words)
        assert told.code == 4
        assert f"{path}, {where}: " in told.err and why in told.err
        assert "about.edition" not in told.err and len(told.err) < 1000


@pytest.mark.parametrize(
    ("number", "fix"),
    [
        (errno.EMFILE, "Too many open files. Close some programs, and run it again."),
        (errno.ENOSPC, "No space left on device. Make room, or choose another place."),
        (errno.EACCES, "Permission denied. Choose another place."),
    ],
)
def test_what_to_do_about_a_file_that_cannot_be_written_follows_from_why(
    number: int, fix: str, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(path: Path, data: bytes) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(cli.files, "write", refused)
    told = run("sheet", "-o", "sheet.txt")
    assert (told.code, told.err) == (4, f"hearthcalc: Cannot write the file. sheet.txt: {fix}\n")


@pytest.mark.parametrize(
    "more",
    [
        f'[[nearby]]\nname = "m"\nface = "{LONG}"\n',
        f'[[face]]\nname = "{LONG}"\n[[face]]\nname = "{LONG}"\n',
        f'[[face]]\nname = "{LONG}"\nfoo = 1\n',
        f'[site]\nwind_on = "{LONG}"\n',
        "".join(f'[[nearby]]\nname = "{LONG[:40_000]}{n}"\nfoo = 1\n' for n in range(3)),
        "".join(f'[[nearby]]\nname = "{"n" * 200}{n}"\n' for n in range(500)) + '[[planned.nearby]]\nname = "a"\nremove = true\n',
    ],
)  # fmt: skip
def test_a_mistake_in_a_job_is_told_short(more: str, run: Run, write: Callable[[str], Path]) -> None:
    told = run("check", write(f'format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "a"\n{more}'))
    assert (told.code, told.out) == (4, "")
    assert 20 < len(told.err) < 2000


def test_a_version_with_a_point_is_told_as_one(run: Run, write: Callable[[str], Path]) -> None:
    told = run("check", write(SOUND.replace("version = 1", "version = 1.0")))
    assert told.code == 4
    assert "A number with a point is not a version that is read here. Write version = 1." in told.err


def test_a_fault_of_the_program_says_so(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr(assess, "assess", broken)
    told = run("check", "demo")
    assert (told.code, told.out) == (70, "")
    assert "fault of the program" in told.err
    assert "by nothing" in told.err and "written" not in told.err


@pytest.mark.parametrize(
    ("arguments", "printed"),
    [
        (["7 1/2"], "7 1/2 in = 190.5 mm"),
        (["7", "1/2"], "7 1/2 in = 190.5 mm"),
        (["2'6"], "30 in = 762 mm"),
        (["190.5", "--unit", "mm"], "190.5 mm = 7 1/2 in"),
    ],
)
def test_length_says_what_it_reads(arguments: list[str], printed: str, run: Run) -> None:
    assert run("length", *arguments) == (0, f"{printed}\n", "")


def test_reference_list_names_the_editions_and_the_values_of_one(run: Run) -> None:
    told = run("reference", "list")
    assert told.code == 0
    assert all(f"{edition.id} " in told.out and edition.title in told.out for edition in reference.editions())
    values = run("reference", "list", "--edition", "irc-2021")
    assert all(key in values.out for key in reference.load("irc-2021").values)


def test_reference_show_gives_a_value_with_its_source_clause_and_standing(run: Run) -> None:
    """IRC 2021 R1001.10: at least 16 in before an opening under 6 ft2, 20 in before a larger one."""
    told = run("reference", "show", "hearth.front")
    assert told.code == 0
    for part in ("16 in", "20 in", "6 ft2", "IRC", "R1001.10", "published"):
        assert part in told.out


def test_reference_show_takes_an_edition(run: Run) -> None:
    assert "silent" in run("reference", "show", "flue.lining", "--edition", "usda-1941").out


def test_the_values_of_a_place_are_listed_and_judge_the_jobs_that_name_it(
    run: Run, write: Callable[[str], Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cli, "_own_folder", lambda: tmp_path)
    day, why = dt.date(2026, 5, 4), "ordinance 12"
    town = amendments.Change("irc-2021", "firebox.depth", "24 in", "Ann", day, why, "Low Weir")
    (tmp_path / amendments.NAME).write_text(amendments.render([town]), encoding="utf-8")
    for place, shown in ((("--place", "low weir"), "24 in"), ((), "20 in")):
        assert f"value        {shown}" in run("reference", "show", "firebox.depth", *place).out
    assert "1 in" in (sound := run("reference", "check").out) and "sound, some for Low Weir alone" in sound
    wrong = run("reference", "list", "--edition", "irc-2021", "--place", "Fernhollow")
    assert wrong.code == 2 and "There are those of: Low Weir." in wrong.err
    for about, required in (("", "20 in"), ('amendments = "Low Weir"\n', "24 in")):
        job = write(SOUND.replace("[about]\n", f"[about]\n{about}"))
        record = json.loads(run("check", job, "--json").out)
        depth = next(f for f in record["stages"]["found"]["findings"] if f["id"] == "firebox.depth")
        assert depth["required"]["text"] == required
        assert record["edition"]["amended_for"] == ("Low Weir" if about else "")


def test_reference_check_finds_the_files_sound(run: Run) -> None:
    told = run("reference", "check")
    assert told.code == 0
    assert all(edition.id in told.out for edition in reference.editions())


def test_schema_is_a_json_schema_that_knows_the_keys_of_the_file(run: Run) -> None:
    told = run("schema")
    schema = json.loads(told.out)
    assert told.code == 0
    assert schema["$schema"].startswith("https://json-schema.org/")
    assert {"about", "fireplace", "face", "firebox", "flue", "nearby", "planned"} <= set(schema["properties"])


def test_paths_are_paths(run: Run) -> None:
    told = run("paths")
    assert told.code == 0
    shown = [line.split("  ")[-1].strip() for line in told.out.splitlines()]
    assert shown and all(Path(path).is_absolute() for path in shown)
    assert Path(shown[0], "sources.toml").is_file()


def test_selftest_runs_every_published_case(run: Run) -> None:
    told = run("selftest")
    assert told.code == 0
    assert "DIFFERS" not in told.out
    *cases, last = told.out.splitlines()
    assert cases
    assert last.startswith(f"{len(cases)} of {len(cases)} ")


def test_help_and_version_are_told_on_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    for option, word in (("--help", "check"), ("--version", __version__)):
        with pytest.raises(SystemExit, match=r"^0$"):
            cli.main([option])
        told = capsys.readouterr()
        assert word in told.out
        assert not told.err


@pytest.mark.parametrize("command", sorted(cli.COMMANDS))
def test_every_command_has_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match=r"^0$"):
        cli.main([command, "--help"])
    assert command in capsys.readouterr().out


# The installed command, as a program of its own


@pytest.mark.parametrize(
    "environment", [{}, {"TERM": "dumb"}, {"TERM": ""}], ids=["no terminal", "dumb", "no TERM"]
)
def test_without_a_terminal_the_installed_command_does_what_check_does(
    environment: dict[str, str], write: Callable[[str], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    job = write(UNMEASURED)
    assert ran("demo") == ran("check", "demo")
    told = ran(job)
    assert told == ran("check", job)
    assert told.code == 3


def test_the_installed_command_passes_exit_codes_on(write: Callable[[str], Path]) -> None:
    codes = [
        started(*arguments).code
        for arguments in (
            ("--version",), ("length", "7 1/2"), ("check", write(SOUND)), ("check", "demo"), ("length", "7,5"), ("nowhere.toml",),
        )
    ]  # fmt: skip
    assert codes == [0, 0, 0, 1, 2, 4]


def test_the_installed_command_reads_standard_input() -> None:
    told = started("check", "-", "--json", input=SOUND)
    assert (told.code, json.loads(told.out)["job"]["title"]) == (0, "Weir House")


def test_a_reader_that_stops_reading_is_no_fault() -> None:
    writer = subprocess.Popen(
        [sys.executable, "-m", "hearthcalc_tui.launch", "check", "demo", "--json"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    assert writer.stdout is not None and writer.stderr is not None
    assert writer.stdout.read(1) == b"{"
    writer.stdout.close()
    assert writer.stderr.read() == b""
    assert writer.wait(timeout=60) in {1, 141}


@pytest.mark.parametrize(
    "words", [["length", "3"], ["takeoff", "demo"], ["check", "demo"], ["check", "demo", "--json"]]
)
def test_an_answer_that_finds_no_room_is_told(words: list[str]) -> None:
    """/dev/full is a disk without room (Linux, full(4)). Exit 0 would say that everything meets."""
    with open("/dev/full", "wb") as full:  # noqa: PTH123  # a stream, not a file of ours
        code, _, said = forked.run(words, stdout=full.fileno())
    assert code == 4
    assert (
        said
        == b"hearthcalc: Cannot write the answer. No space left on device. Make room, and run it again.\n"
    )


@pytest.mark.parametrize("words", [["length", "3"], ["demo", "--plain"]])
def test_an_answer_that_nobody_hears_is_not_said_to_meet(words: list[str]) -> None:
    read, write = os.pipe()
    os.close(read)
    code, _, said = forked.run(words, stdout=write)
    os.close(write)
    assert (code, said) == (141, b"")


@pytest.mark.parametrize(
    ("closed", "words", "code", "said"),
    [
        ("<&-", "check -", 4, "standard input, format: It is empty, so"),
        ("<&-", "quick", 3, "MEASURE: Something asked here was not measured."),
        ("<&-", "", 2, "the following arguments are required: JOB"),
        ("2>&-", "length 3", 0, "3 in = 76.2 mm"),
        ("2>&-", "check nowhere.toml", 4, ""),
        ("2>&-", "", 2, ""),
        (">&-", "length 3", 4, "Cannot write the answer. Standard output is closed."),
        ("<&- >&- 2>&-", "length 3", 4, ""),
    ],
)
def test_a_closed_stream_is_no_fault(closed: str, words: str, code: int, said: str) -> None:
    told = subprocess.run(
        ["sh", "-c", f'"{sys.executable}" -m hearthcalc_tui.launch {words} {closed}'],
        capture_output=True, text=True, timeout=60, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    assert told.returncode == code
    assert said in told.stdout + told.stderr and (said or not told.stdout + told.stderr)


def test_bytes_that_are_no_text_are_told_at_their_question(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    typed = io.TextIOWrapper(io.BytesIO(b"\xff6\n36\n"), encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", typed)
    told = run("quick")
    assert told.code == 3
    assert "1/8 Opening width" in told.err and "2/8" in told.err
    assert re.search(r"\[not measured\]   .*U\+FFFD", told.err), told.err


def test_a_letter_that_cannot_be_printed_here_is_no_fault(write: Callable[[str], Path]) -> None:
    job = write(SOUND.replace("Weir House", "Mühle am Bach"))
    told = started(
        "check", job, env={**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    )
    assert told.code == 0, told.err
    assert not told.err


def test_a_demo_by_a_name_longer_than_any_file_has_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", f"demo:{'x' * 500}"]) == 2
    assert "No such demo" in capsys.readouterr().err
