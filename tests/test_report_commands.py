"""The commands that put a job on paper: kinds by ending, exit by verdict, fingerprints that tell a report of another job."""

import builtins
import datetime as dt
import re
import subprocess
import sys
import zipfile
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from printed import pages

from hearthcalc import cli
from hearthcalc.report import stamp

DEMO = files("hearthcalc_reference").joinpath("demos/inn.hearth.toml").read_text("utf-8")
KINDS = [".txt", ".md", ".html", ".pdf", ".xlsx"]
DAY = "2026-05-04"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "house.hearth.toml"
    path.write_text(DEMO, encoding="utf-8")
    return path


@pytest.mark.parametrize("kind", KINDS)
def test_a_report_is_written_and_tells_of_its_job(
    kind: str, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / f"report{kind}"
    assert cli.main(["report", str(job), "-o", str(out), "--date", DAY]) == 1, (
        "something of the demo is short"
    )
    told = capsys.readouterr()
    assert told.out == "" and f"Wrote {out}" in told.err
    assert out.stat().st_size > 10_000
    assert cli.main(["verify", str(out), str(job)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        f"The fingerprints of the report of {DAY} are those of this job as it stands.",
        "The words of the report were not read: somebody may have changed them. Where that matters, make the report anew.",
    ]
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


@pytest.mark.parametrize("kind", KINDS)
def test_a_report_of_a_job_that_has_changed_since_is_told(
    kind: str, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / f"report{kind}"
    cli.main(["report", str(job), "-o", str(out), "--short"])
    job.write_text(
        DEMO.replace('depth = "21"', 'depth = "22"').replace('pitch = "8:12"', 'pitch = "9:12"'),
        encoding="utf-8",
    )
    capsys.readouterr()
    assert cli.main(["verify", str(out), str(job)]) == 1
    assert capsys.readouterr().out == "The entries of the job have changed in: firebox, roof.\n"


def test_a_report_of_values_that_have_changed_since_is_told(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "report.txt"
    cli.main(["report", str(job), "-o", str(out)])
    (tmp_path / "amendments.toml").write_text(
        'format = "hearthcalc-amendments"\nversion = 1\n[[change]]\nedition = "irc-2021"\nkey = "hearth.front"\n'
        'value = "below 6 ft2: 18 in; otherwise: 24 in"\nwho = "M. Arden"\nwhen = 2026-05-04\nwhy = "town rule 12"\n'
    )
    capsys.readouterr()
    assert cli.main(["verify", str(out), str(job)]) == 1
    assert capsys.readouterr().out == "The reference values of irc-2021 have changed.\n"
    (tmp_path / "amendments.toml").unlink()
    assert cli.main(["verify", str(out), str(job), "--edition", "irc-2018"]) == 1
    assert capsys.readouterr().out == "The report was judged by irc-2021, the job is judged by irc-2018.\n"


def test_answers_that_another_version_gives_are_told() -> None:
    then = stamp.Stamp(
        "0.9", dt.date(2026, 5, 4), "irc-2021", "a" * 64, "b" * 64, "c" * 64, {"face": "d" * 8}
    )
    now = stamp.Stamp("1.0", dt.date(2026, 5, 4), "irc-2021", "a" * 64, "b" * 64, "e" * 64, {"face": "d" * 8})
    assert list(stamp.changes(then, then)) == []
    assert list(stamp.changes(then, now)) == [
        "The answers are different: version 0.9 made the report, this is 1.0."
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_a_forged_line_of_fingerprints_in_a_job_is_not_taken_for_those_of_the_report(
    kind: str, tmp_path: Path
) -> None:
    forged = f"hearthcalc-report=1 program=9 date={DAY} edition=e values=v job=j answers=a"
    words = f'x" data-hearthcalc="{forged}" /Keywords ({forged})>{forged}<'.replace('"', '\\"')
    job = tmp_path / "job.toml"
    job.write_text(re.sub(r'title = "[^"]*"', lambda _: f'title = "{words}"', DEMO), encoding="utf-8")
    out = tmp_path / f"report{kind}"
    assert cli.main(["report", str(job), "-o", str(out)]) == 1
    assert stamp.read(out).job == cli._job(str(job)).fingerprint
    assert cli.main(["verify", str(out), str(job)]) == 0


@pytest.mark.parametrize(
    ("name", "data", "what"),
    [
        ("a.txt", b"hello", "It holds no fingerprints"),
        ("a.xlsx", b"PK", "It is not a workbook, or it is damaged"),
        ("a.doc", b"x", "Reports end in"),
        (
            "a.pdf",
            b"%PDF-1.4 /Keywords (hearthcalc-report=1 date=2026-99-99)",
            "Its fingerprints are damaged",
        ),
        ("missing.pdf", None, "No such file"),
        ("a\0.pdf", None, "No file can have that name"),
    ],
)
def test_what_is_no_report_is_told(
    name: str, data: bytes | None, what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if data is not None:
        (tmp_path / name).write_bytes(data)
    assert cli.main(["verify", str(tmp_path / name), "demo"]) == 4
    assert f": {what}" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("offset", "value"),
    [(6, 1), (8, 99), (8, 12), (8, 14), (41, 255)],
    ids=["encrypted", "no such compression", "bzip2", "lzma", "far away"],
)
def test_a_workbook_that_is_damaged_is_told(
    offset: int, value: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each byte of the heads in the file and in its list, as the format has them (APPNOTE 4.3.7, 4.3.12)."""
    path = tmp_path / "a.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("docProps/core.xml", "x" * 1000)
    data = bytearray(path.read_bytes())
    listed = data.index(b"PK\1\2")
    data[listed + offset + 2] = value
    if offset < 30:
        data[offset] = value
    path.write_bytes(data)
    assert cli.main(["verify", str(path), "demo"]) == 4
    told = "Cannot read the report. a.xlsx: It is not a workbook, or it is damaged. Give the file as hearthcalc report wrote it."
    assert capsys.readouterr().err == f"hearthcalc: {told}\n"


def test_bytes_that_cannot_be_unpacked_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("docProps/core.xml", "x" * 1000)
    data = bytearray(path.read_bytes())
    data[30 + len("docProps/core.xml")] = 255
    path.write_bytes(data)
    assert cli.main(["verify", str(path), "demo"]) == 4
    assert "It is not a workbook, or it is damaged." in capsys.readouterr().err


def test_what_a_forged_report_says_of_itself_is_told_short(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "a.txt"
    long = "e" * 100_000
    path.write_text(
        f"hearthcalc-report=1 program={long} date={DAY} edition={long} values=v job=j answers=a of.{long}=1\n"
    )
    assert cli.main(["verify", str(path), "demo"]) == 1
    out = capsys.readouterr().out
    assert f"judged by {'e' * 40}..., the job" in out and len(out) < 1000


@pytest.mark.parametrize(
    ("words", "code", "what"),
    [
        (["report", "demo", "-o", "x.doc"], 2, "Use one of: .pdf .html .md .txt .xlsx"),
        (["report", "demo", "-o", "x.txt", "--sweep", "face=1:2:3"], 2, "has no range"),
        (["report", "demo", "-o", "x.txt", "--finding", "flue.area"], 2, "--finding belongs to --sweep"),
        (["report", "demo"], 2, "the following arguments are required: -o"),
        (["report", "demo", "-o", "x.txt", "--date", "tomorrow"], 2, "Write it as 2026-05-04"),
        (["report", "demo", "-o", "no/such/folder/x.txt"], 4, "No such file or directory"),
        (["report", "nowhere.toml", "-o", "x.txt"], 4, "nowhere.toml"),
        (["sheet", "demo", "-o", "x.xlsx"], 2, "Use one of: .pdf .html .txt"),
        (["drawing", "demo", "-o", "x.html"], 2, "Use one of: .pdf .svg .dxf .txt"),
    ],
)
def test_wrong_use_is_told_and_writes_nothing(
    words: list[str], code: int, what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert cli.main(words) == code
    assert what in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("words", "package"),
    [
        (["report", "demo", "-o", "x.pdf"], "reportlab"),
        (["report", "demo", "-o", "x.xlsx"], "xlsxwriter"),
        (["drawing", "demo", "-o", "x.dxf"], "ezdxf"),
    ],
)
def test_without_a_library_the_message_says_what_to_install(
    words: list[str], package: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    real = builtins.__import__

    def without(name: str, *rest: Any) -> Any:
        if name.split(".")[0] == package:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return real(name, *rest)

    from hearthcalc.report import paper

    paper.load_fonts.cache_clear()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(builtins, "__import__", without)
    assert cli.main(words) == 2
    told = capsys.readouterr().err
    assert package in told and "'hearthcalc[report]'" in told
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    "words",
    [["--short"], ["--for", "homeowner"], ["--for", "permit"], ["--for", "inspection"], ["--no-working"]],
)
def test_a_report_can_be_asked_for_by_reader_and_length(words: list[str], tmp_path: Path) -> None:
    whole, less = tmp_path / "whole.txt", tmp_path / "less.txt"
    assert cli.main(["report", "demo", "-o", str(whole)]) == cli.main(
        ["report", "demo", "-o", str(less), *words]
    )
    assert less.stat().st_size < whole.stat().st_size


def test_a_metric_job_goes_on_a4_and_one_in_inches_on_letter(tmp_path: Path) -> None:
    job = tmp_path / "metric.toml"
    job.write_text(
        'format = "hearthcalc-job"\nversion = 1\nunits = "mm"\n[[face]]\nname = "room"\nside = "front"\nwidth = "900"\n'
    )
    for words, wide in ((["demo"], 612), ([str(job)], 595), ([str(job), "--paper", "letter"], 612)):
        out = tmp_path / "r.pdf"
        cli.main(["report", *words, "-o", str(out), "--short"])
        assert round(pages(out.read_bytes())[0].wide) == wide


def test_text_and_html_load_none_of_the_libraries_for_paper(tmp_path: Path) -> None:
    code = (
        "import sys; from hearthcalc import cli; "
        f"cli.main(['report', 'demo', '-o', {str(tmp_path / 'r.html')!r}]); cli.main(['sheet', '-o', {str(tmp_path / 's.txt')!r}]); "
        "print(sorted({name.split('.')[0] for name in sys.modules} & {'reportlab', 'xlsxwriter', 'ezdxf', 'PIL', 'numpy', 'textual'}))"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert told.stdout.strip() == "[]", told.stderr


def test_a_pdf_from_a_folder_that_has_gone_is_told(job: Path, tmp_path: Path) -> None:
    """The library asks for the folder as it loads."""
    code = (
        "import os, shutil, sys; from pathlib import Path; gone = Path('stick'); gone.mkdir(); os.chdir(gone); gone = Path.cwd(); "
        "shutil.rmtree(gone); from hearthcalc import cli; "
        f"sys.exit(cli.main(['report', {str(job)!r}, '-o', {str(tmp_path / 'r.pdf')!r}]))"
    )
    told = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, cwd=tmp_path
    )
    assert told.returncode == 4
    assert "The folder that this was started in has gone. Go to a folder that is there" in told.stderr
    assert not (tmp_path / "r.pdf").exists()


def test_a_job_may_come_from_standard_input(tmp_path: Path) -> None:
    out = tmp_path / "r.md"
    told = subprocess.run(
        [sys.executable, "-m", "hearthcalc_tui.launch", "report", "-", "-o", str(out), "--date", DAY],
        input=DEMO, capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert told.returncode == 1, told.stderr
    assert stamp.read(out).date == dt.date(2026, 5, 4)


def test_a_report_takes_a_map_along(tmp_path: Path) -> None:
    """A 13x13 flue of 127 in2 at 1/10 takes 1270 in2 (IRC R1003.15.1, Table R1003.14(2), published): 27 in by 47.04 in."""
    sound = Path(__file__).parent / "jobs/sound.hearth.toml"
    house = tmp_path / "house.hearth.toml"
    house.write_text(
        sound.read_text("utf-8").replace("[about]", "[about]\nmeasured = false"), encoding="utf-8"
    )
    words = [
        "--sweep",
        "face.parlour.height=27:28:2",
        "--sweep",
        "face.parlour.width=46:48:3",
        "--finding",
        "flue.area",
    ]
    told = {}
    for kind in KINDS:
        out = tmp_path / f"report{kind}"
        cli.main(["report", str(house), "-o", str(out), "--short", *words])
        told[kind] = out
    for kind in (".txt", ".md"):
        assert "27 in  + +|x" in told[kind].read_text("utf-8")
    drawn = next(part for part in told[".html"].read_text("utf-8").split("<svg ") if 'class="turns"' in part)
    assert [fill == "ffffff" for fill in re.findall(r'fill="#([0-9a-f]{6})"', drawn)[:3]] == [
        True,
        False,
        False,
    ]
    page = next(one.words for one in pages(told[".pdf"].read_bytes()) if "What if" in one.words)
    assert page.count("+") >= 2 and "To the right: Width of the opening; down: Height of the opening" in page
    with zipfile.ZipFile(told[".xlsx"]) as book:
        strings = book.read("xl/sharedStrings.xml").decode()
    assert "Width of the opening (face.parlour.width)" in strings and "47 in" in strings
