"""A table of jobs: read like a job file, judged like `check`, and the same however it is cut, stopped or shared out.

What is expected is `check` itself, row by row; pandas, pyarrow and Dask do the cutting.
"""

import csv
import errno
import importlib.util
import io
import json
import os
import random
import re
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from msgspec.structs import replace

from hearthcalc import alike, assess, batch, cli, entry, jobfile, reference, table
from hearthcalc import workers as workers_module
from hearthcalc.entry import Amount, Size
from hearthcalc.errors import EntryError, FileError
from hearthcalc.findings import StageResult
from hearthcalc.job import Job, entries
from hearthcalc.table import NOT_READ, OVERALL

ROOT = Path(__file__).parents[1]
Row = dict[str, str]


def row_of(job: Job) -> Row:
    """A job as the cells of a row, by their columns."""

    def cell(value: Any) -> str:
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, tuple):
            return "; ".join(map(cell, value)) or "none"
        return value.text if isinstance(value, Amount | Size) else str(value) or "none"

    cells = {
        address: cell(value)
        for address, spec, value in entries(job)
        if address not in ("format", "version") and not spec.key.endswith(".name")
    }
    return {**cells, "air.fans": "none"} if job.air.fans == () else cells


@pytest.fixture(scope="module")
def sound() -> Row:
    return row_of(jobfile.load(ROOT / "tests/jobs/sound.hearth.toml"))


@pytest.fixture(scope="module")
def demo() -> Row:
    return row_of(jobfile.parse_text(jobfile.demo("inn"), "inn"))


def frame(*rows: Row) -> pd.DataFrame:
    return pd.DataFrame(list(rows), dtype="string").fillna("")


def verdicts(answers: pd.DataFrame) -> dict[Any, list[str]]:
    """The overall verdicts of each row."""
    overall = answers[answers.finding == OVERALL]
    return {row: list(group.verdict) for row, group in overall.groupby("row", sort=False)}


def lines(stage: StageResult) -> list[tuple[Any, ...]]:
    """What a line says of each finding of an assessment."""
    return [
        (
            stage.name, f.id, f.kind, f.counts, f.face or "", f.state or "", f.item or "", str(f.verdict),
            f.required.text if f.required else "", float(f.margin.value) if f.margin else None, f.text,
        )
        for f in stage.findings
    ]  # fmt: skip


def told(answers: pd.DataFrame) -> list[tuple[Any, ...]]:
    """What is told of each finding, but for the overall."""
    names = [
        "stage",
        "finding",
        "kind",
        "counts",
        "face",
        "state",
        "item",
        "verdict",
        "required",
        "margin",
        "message",
    ]
    rows = answers.loc[answers.finding != OVERALL, names].itertuples(index=False, name=None)
    return [tuple(None if value != value else value for value in row) for row in rows]


def test_a_row_has_the_answers_that_check_has(demo: Row, sound: Row) -> None:
    """Both shipped houses, found and planned, by rules and models, with every entry through a cell."""
    edition = reference.load("irc-2021")
    answers = table.judge(frame(demo, sound))
    inn, weir = (
        jobfile.parse_text(jobfile.demo("inn"), "inn"),
        jobfile.load(ROOT / "tests/jobs/sound.hearth.toml"),
    )
    for row, job in (("0", inn), ("1", weir)):
        assessed = assess.assess_models(job, edition, assess.assess(job, edition))
        mine = answers[answers.row == row]
        expected = [line for stage in assessed.stages.values() for line in lines(stage)]
        assert sorted(told(mine), key=str) == sorted(expected, key=str)
        assert list(mine[mine.finding == OVERALL].verdict) == [
            str(s.overall) for s in assessed.stages.values()
        ]
        assert list(mine[mine.finding == OVERALL].stage) == list(assessed.stages)


def test_rows_differ_in_what_their_cells_say(sound: Row) -> None:
    """Every edition and many heights: against a job of the same entries, set one by one."""
    base = jobfile.load(ROOT / "tests/jobs/sound.hearth.toml").document()
    ids = reference.edition_ids()
    rows = [
        sound
        | {
            "flue.height": f"{12 + n} ft",
            "face.parlour.width": f"{20 + n}",
            "about.edition": ids[n % len(ids)],
        }
        for n in range(len(ids))
    ]
    answers = table.judge(frame(*rows), models=False)
    for n, row in enumerate(rows):
        face = {**base["face"][0], "width": row["face.parlour.width"]}
        job = Job.from_document(
            {
                **base,
                "face": [face],
                "flue": {**base["flue"], "height": row["flue.height"]},
                "about": {"edition": ids[n]},
            }
        )
        stage = assess.assess(job, reference.load(ids[n])).deciding
        mine = answers[answers.row == str(n)]
        assert told(mine) == lines(stage)
        assert set(mine.edition) == {ids[n]}


@pytest.mark.parametrize(
    ("heading", "cell", "expected"),
    [
        ("flue.height [ft]", "20", "240"), ("flue.height [ft]", "19 1/2", "234"), ("flue.height [mm]", "6096", "240"),
        ("flue.height [ft]", "240 in", "240"), ("flue.height [ft]", "20 ft 6 in", "246"), ("flue.height", "240", "240"),
        (" flue.height  [ m ] ", "2.54", "100"), ("flue.height", 240, "240"), ("flue.height [ft]", 20.5, "246"),
    ],
)  # fmt: skip
def test_a_unit_stands_in_the_heading_or_in_the_cell(heading: str, cell: object, expected: str) -> None:
    """By the foot of 12 in and the inch of 25.4 mm."""
    columns = table.columns_of([heading])
    document = table.document_of(columns.values(), [cell])
    unit = "in"
    amount = columns[0].spec.read(document["flue"]["height"], unit)
    assert amount.value == int(expected)


@pytest.mark.parametrize(
    ("heading", "cell", "entry"),
    [
        ("air.fans.hood.flow [cfm]", "400", "400 cfm"), ("flue.inside [mm]", "300 x 300", "300 x 300 mm"),
        ("air.airtightness [ACH50]", "tight", "tight"), ("roof.main roof.pitch [deg]", "30", "30 deg"),
        ("site.outdoor [F]", "-4", "-4 F"), ("use.open_together", "No", False), ("use.open_together", True, True),
        ("flue.offsets [deg]", "30; -30", ["30 deg", "-30 deg"]), ("flue.offsets", "none", []), ("air.fans", "none", []),
        ("flue.shared_with", "none", ""), ("air.storeys", 2.0, "2"),
    ],
)  # fmt: skip
def test_cells_of_other_kinds(heading: str, cell: object, entry: object) -> None:
    columns = table.columns_of([heading])
    here: Any = table.document_of(columns.values(), [cell])
    for part in columns[0].parts:
        here = here[0] if isinstance(here, list) and part != columns[0].parts[-1] else here
        if isinstance(here, dict) and part in here:
            here = here[part]
    assert (
        here[0][columns[0].parts[-1]]
        if isinstance(here, list) and here and isinstance(here[0], dict)
        else here
    ) == entry


@pytest.mark.parametrize("blank", ["", "  ", None, float("nan"), pd.NA, pd.NaT])
def test_a_blank_cell_is_not_known(blank: object, sound: Row) -> None:
    """Never zero, never none: the finding asks for it."""
    row: dict[str, object] = {**sound, "flue.liner": blank}
    answers = table.judge(pd.DataFrame([row], dtype=object), models=False)
    area = answers[answers.finding == "flue.area"].iloc[0]
    assert (area.verdict, area.missing.split()[0]) == ("MEASURE", "flue.liner")
    assert verdicts(answers) == {"0": ["MEASURE"]}


@pytest.mark.parametrize(
    ("heading", "near"),
    [
        (["flue.hieght"], "Did you mean flue.height?"), (["face.den.widht"], "Did you mean face.den.width?"),
        (["height of flue"], "See hearthcalc batch --template"), (["flue.height [kg]"], "Correct the heading"),
        (["flue.cap [in]"], "Correct the heading"), (["flue.height", "flue.height [mm]"], "stands twice"),
        (["face.den.name"], "A name stands in the heading"), (["judged.edition"], "Did you mean"), (["nearby.x"], "Did you mean"),
        (["planned.flue.linear"], "Did you mean planned.flue.liner?"), (["row", "row"], "stands twice"), ([""], "batch --template"),
    ],
)  # fmt: skip
def test_a_heading_that_is_not_read_is_refused_with_the_nearest(heading: list[str], near: str) -> None:
    with pytest.raises(FileError, match=re.escape(near)):
        table.columns_of(heading)


def test_every_column_of_the_template_is_read_and_its_notes_are_not_judged() -> None:
    rows = list(csv.reader(io.StringIO(table.template("mm"))))
    assert len({len(row) for row in rows}) == 1
    columns = table.columns_of(rows[0])
    asked = {column.spec.key for column in columns.values()}
    assert {
        "flue.height",
        "face.hearth.layers.material",
        "nearby.gap",
        "roof.pitch",
        "air.fans.flow",
    } <= asked
    assert all(column.unit == "mm" for column in columns.values() if column.spec.kind == "length")
    assert table.judge(pd.DataFrame(rows[1:], columns=rows[0])).empty


def test_a_bad_row_is_told_in_its_row_and_stops_no_other(sound: Row) -> None:
    bad = {
        "not a length": {"flue.height": "tall"},
        "nothing at all": dict.fromkeys(sound, ""),
        "unknown edition": {"about.edition": "nowhere"},
        "no such liner": {"flue.liner": "7x7"},
        "two in one": {"flue.height": "NaN", "flue.cap": "hat"},
        "layer": {"face.parlour.hearth.layers.first.material": "brick_fired_clay_1920"},
        "yes or no": {"looked.back": "maybe"},
    }
    rows = [
        sound | {"row": "before"},
        *(sound | cells | {"row": name} for name, cells in bad.items()),
        sound | {"row": "after"},
    ]
    answers = table.judge(frame(*rows), models=False)
    assert verdicts(answers) == {
        "before": ["MEETS"],
        **{name: [NOT_READ] for name in bad},
        "after": ["MEETS"],
    }
    assert set(answers[answers.row.isin(bad.keys())].finding) == {OVERALL}
    messages = dict(answers[answers.verdict == NOT_READ].set_index("row").message)
    for name, word in (
        ("not a length", "flue.height"), ("nothing at all", "no face"), ("unknown edition", "nowhere"), ("no such liner", "7x7"),
        ("two in one", "flue.cap"), ("layer", "number"), ("yes or no", "looked.back"),
    ):  # fmt: skip
        assert word in messages[name]


def test_a_fault_of_the_program_costs_one_row(sound: Row, monkeypatch: pytest.MonkeyPatch) -> None:
    real = table.Job.from_document

    def broken(document: Any) -> Job:
        if document["flue"]["height"] == "222":
            raise ZeroDivisionError("by nothing")
        return real(document)

    monkeypatch.setattr(table.Job, "from_document", broken)
    answers = table.judge(frame(sound, sound | {"flue.height": "222"}, sound), models=False)
    assert verdicts(answers) == {"0": ["MEETS"], "1": [NOT_READ], "2": ["MEETS"]}
    assert "ZeroDivisionError" in answers[answers.row == "1"].message.iloc[0]


def test_columns_stand_in_any_order_and_rows_are_cut_anywhere(demo: Row, sound: Row) -> None:
    rows = [demo, sound, demo | {"flue.height": "19 ft"}, sound | {"face.parlour.height": "22"}]
    whole = frame(*rows)
    whole["row"] = [f"house {n}" for n in range(len(rows))]
    expected = table.judge(whole, models=False)
    names = list(whole.columns)
    random.Random(4).shuffle(names)
    pd.testing.assert_frame_equal(table.judge(whole[names], models=False), expected)
    parts = [table.judge(whole.iloc[n : n + 1], models=False) for n in range(len(rows))]
    pd.testing.assert_frame_equal(pd.concat(parts, ignore_index=True), expected)
    assert {name: str(kind) for name, kind in table.judge(whole.iloc[:0]).dtypes.items()} == dict(
        table.COLUMNS
    )


def test_things_go_by_name_and_the_front_first(demo: Row) -> None:
    columns = table.columns_of(
        [
            "face.yard.side",
            "face.den.side",
            "nearby.b.what",
            "nearby.a.what",
            "face.den.hearth.layers.2.material",
        ]
    )
    document = table.document_of(columns.values(), ["front", "back", "mantel", "trim", "air"])
    assert [face["name"] for face in document["face"]] == ["yard", "den"]
    assert [thing["name"] for thing in document["nearby"]] == ["a", "b"]
    assert document["face"][1]["hearth"]["layers"] == [{}, {"material": "air"}]
    with pytest.raises(EntryError, match="says that there is none"):
        table.document_of(table.columns_of(["air.fans", "air.fans.hood.flow"]).values(), ["none", "400 cfm"])


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "|calc", "＝1"])
def test_no_text_of_the_answers_is_a_formula(text: str, sound: Row) -> None:
    """The characters that spreadsheets take for the beginning of a formula, as OWASP lists them."""
    answers = table.judge(frame(sound | {"row": f"{text}\n"}), models=False)
    cells = [cell for row in csv.reader(io.StringIO(table.to_csv(answers))) for cell in row]
    begun = [cell for cell in cells if cell[:1] in "=+@\t\r|＝-" and cell]
    assert [
        cell for cell in begun if not cell.lstrip("-").replace(".", "", 1).replace("e-", "").isdigit()
    ] == []


@pytest.mark.parametrize("words", [True, False])
def test_a_row_is_named_without_control_characters_and_only_a_plain_mark_makes_a_note(
    words: bool, sound: Row
) -> None:
    """A terminal that is shown the answers does nothing on their account, and no row is lost to a character that nobody sees."""
    rows = frame(*(sound | {"row": name} for name in ("\x1b[31m\u202e\ntop", "#\x1b", "#", "\x1b=1+1")))
    answers = table.judge(rows, models=False) if words else alike.judge(rows)
    assert list(verdicts(answers)) == ["[31m top", "#", "=1+1"]
    text = table.to_csv(answers)
    assert "'=1+1," in text and not {"\x1b", "\u202e"} & set(text)


# From file to file


def quiet(progress: batch.Progress) -> None:
    pass


@pytest.fixture
def task(tmp_path: Path, sound: Row) -> Callable[[int], batch.Task]:
    """A table of so many houses, one in nine of them not readable, and where its answers go."""

    def made(count: int) -> batch.Task:
        rows = [
            sound | {"row": f"house {n}", "flue.height": "tall" if n % 9 == 4 else f"{15 + n % 7} ft"}
            for n in range(count)
        ]
        frame(*rows).to_csv(tmp_path / "houses.csv", index=False)
        return batch.Task(tmp_path / "houses.csv", tmp_path / "answers.csv", "", (), models=False)

    return made


def test_a_file_is_answered_without_pandas_as_a_table_of_it_is(demo: Row, sound: Row, tmp_path: Path) -> None:
    """The same bytes and the same counts, with rows that are notes, formulas, blank, or cannot be read."""
    names = ("=1+1", "#", "", 'a "b", c', "x\x1b", "-3", "tall")
    rows = [(sound if number % 3 else demo) | {"row": name} for number, name in enumerate(names)]
    rows[-1]["flue.height"] = "tall"
    source = tmp_path / "houses.csv"
    frame(*rows).to_csv(source, index=False)
    (part,) = [part for part in table.parts(source, 10) if part.rows]
    expected = table.judge(part.frame(), models=False)
    for guard in (True, False):
        count, lines, counted = table.answered(part, "", (), False, guard)
        assert (count, lines.decode()) == (len(names), table.to_csv(expected, guard=guard))
        assert counted == table.tally(expected)


def test_a_run_that_is_stopped_goes_on_to_the_same_bytes(
    task: Callable[[int], batch.Task], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batch, "CHUNK", 4)
    work = task(22)
    summary = batch.summary_of(work.out)
    done = batch.run(work, quiet, workers=1)
    assert (done.rows, done.judged) == (22, 22)
    expected = work.out.read_bytes(), summary.read_bytes()
    assert b"house 4,,,overall,Overall,mistake,True,,,,NOT READ" in expected[0]
    work.out.unlink()
    summary.unlink()

    for after in (2, 1):  # killed twice, and each time in the middle of a chunk

        def killed(progress: batch.Progress, left: list[int] = [after]) -> None:  # noqa: B006 - counts down
            left[0] -= 1
            if not left[0]:
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt, match=r"^$"):
            batch.run(work, killed, resume=True, workers=1)
        assert not work.out.exists()
        with work.out.with_name(f".{work.out.name}.hearthcalc-part").open("ab") as part:
            part.write(b"half a line of a chunk that was")
    done = batch.run(work, quiet, resume=True, workers=1)
    assert (done.rows, done.judged) == (22, 22 - 12)
    assert (work.out.read_bytes(), summary.read_bytes()) == expected
    assert sorted(path.name for path in work.out.parent.iterdir()) == [
        "answers.csv",
        "answers.summary.csv",
        "houses.csv",
    ]


def test_what_has_changed_since_is_not_gone_on_with(
    task: Callable[[int], batch.Task], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batch, "CHUNK", 1)
    work = task(3)

    def killed(progress: batch.Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        batch.run(work, killed, workers=1)
    work.source.write_text(work.source.read_text().replace("house 2", "house two"))
    with pytest.raises(FileError, match="has changed since"):
        batch.run(work, quiet, resume=True, workers=1)
    assert batch.run(work, quiet, workers=1).judged == 3


def test_a_second_run_to_the_same_answers_is_refused_at_once(
    task: Callable[[int], batch.Task], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second begins in the middle of the first, which ends as if there had been none; a lock that was left behind holds nobody up."""
    monkeypatch.setattr(batch, "CHUNK", 2)
    work = task(4)
    batch.run(work, quiet, workers=1)
    expected = work.out.read_bytes()
    left = work.out.with_name(".answers.summary.csv.hearthcalc-lock")
    left.write_text("999999999")
    refused = []

    def second(progress: batch.Progress) -> None:
        for resume, out in ((False, work.out), (True, work.out), (False, work.out.with_suffix(".parquet"))):
            with pytest.raises(FileError, match=f"Process {os.getpid()} has it in hand. Wait until") as told:
                batch.run(replace(work, out=out), quiet, resume=resume, workers=1)
            refused.append(told.value.exit_code)

    assert batch.run(work, second, workers=1).rows == 4
    assert refused == [4] * 6, "of both kinds, which have one summary"
    assert work.out.read_bytes() == expected
    assert sorted(path.name for path in work.out.parent.iterdir()) == [
        "answers.csv",
        "answers.summary.csv",
        "houses.csv",
    ]


def test_a_killed_process_is_told_with_the_rows_it_was_at(
    task: Callable[[int], batch.Task], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(batch, "CHUNK", 2)
    work = task(6)
    words = ["batch", str(work.source), "-o", str(work.out), "--rules-only", "--workers", "2"]

    def lost(after: int) -> Callable[..., Iterator[object]]:
        def each(judge: Callable[[Any], object], frames: Iterator[Any], workers: int) -> Iterator[object]:
            for _ in range(after):
                yield judge(next(frames))
            yield from workers_module.each_of(os._exit, [9], workers)  # a process that is gone without a word

        return each

    monkeypatch.setattr(batch, "each_of", lost(0))
    assert cli.main(words) == 70
    err = capsys.readouterr().err
    assert "at row 1 of the table, or at one of the 11 after it" in err and "No answers are kept." in err
    assert "--resume" not in err and "--workers 2 if memory is short" in err
    assert [path.name for path in work.out.parent.iterdir()] == ["houses.csv"]
    monkeypatch.setattr(batch, "each_of", lost(2))
    assert cli.main(words) == 70
    err = capsys.readouterr().err
    assert "It was at row 5 of the table" in err and "None of those is judged." in err
    assert "The answers of 4 rows are kept." in err and "With --resume it goes on after row 4." in err
    assert "Nothing was written" not in err and not work.out.exists()
    monkeypatch.setattr(batch, "each_of", workers_module.each_of)
    assert cli.main([*words[:-1], "1", "--resume"]) == 0
    assert "6 rows judged, 2 of them now" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("mark", "why"),
    [
        ("[" * 100_000, "The note of how far it had come cannot be read"), ("{", "cannot be read"), ("[]", "cannot be read"),
        ('{"mark": "x", "size": -1}', "cannot be read"), ('{"mark": "x", "rows": "many"}', "cannot be read"),
        ('{"mark": "x"}', "has changed since"),
    ],
)  # fmt: skip
def test_a_note_that_is_spoiled_is_not_gone_on_from(
    mark: str, why: str, task: Callable[[int], batch.Task], capsys: pytest.CaptureFixture[str]
) -> None:
    work = task(1)
    for kind, text in (("part", "row\n"), ("mark", mark)):
        work.out.with_name(f".{work.out.name}.hearthcalc-{kind}").write_text(text)
    words = ["batch", str(work.source), "-o", str(work.out), "--rules-only", "--workers", "1"]
    assert cli.main([*words, "--resume"]) == 4
    assert why in capsys.readouterr().err
    assert cli.main(words) == 0
    assert "1 row judged, 1 of them now" in capsys.readouterr().err


def test_a_table_that_turns_out_unreadable_leaves_nothing_behind(
    task: Callable[[int], batch.Task], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(batch, "CHUNK", 1)
    work = task(3)
    with work.source.open("a") as source:
        source.write('"house 3\n')
    assert cli.main(["batch", str(work.source), "-o", str(work.out), "--rules-only", "--workers", "1"]) == 4
    err = capsys.readouterr().err
    assert "3 rows judged" in err and "line 5: In the row that begins there" in err
    assert [path.name for path in work.out.parent.iterdir()] == ["houses.csv"]


def test_a_table_whose_disk_goes_leaves_what_is_judged(
    task: Callable[[int], batch.Task], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batch, "CHUNK", 1)
    work, real = task(3), table._csv
    batch.run(work, quiet, workers=1)
    expected = work.out.read_bytes()

    def pulled(path: Path, size: int) -> Iterator[Any]:
        rows = real(path, size)
        yield next(rows)
        yield next(rows)
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as stick:
        stick.setattr(table, "_csv", pulled)
        with pytest.raises(FileError, match="Input/output error"):
            batch.run(work, quiet, workers=1)
    assert batch.is_begun(work)
    assert batch.run(work, quiet, resume=True, workers=1).rows == 3
    assert work.out.read_bytes() == expected


def test_a_name_as_long_as_its_summary_allows_is_written(
    task: Callable[[int], batch.Task], capsys: pytest.CaptureFixture[str]
) -> None:
    """255 bytes is the longest name there is (Linux, limits.h)."""
    work = task(1)
    longest = work.out.with_name("x" * 243 + ".csv")
    batch.run(replace(work, out=longest), quiet, workers=1)
    assert {len(path.name) for path in work.out.parent.iterdir()} == {247, 255, 10}
    with pytest.raises(FileError, match="summary is longer still"):
        batch.run(replace(work, out=longest.with_name("x" * 244 + ".csv")), quiet, workers=1)


@pytest.mark.parametrize("how", ["SIGTERM", "SIGHUP", "closed pipe", "nohup"])
def test_a_run_that_is_ended_from_outside_can_be_gone_on_with(
    how: str, task: Callable[[int], batch.Task], sound: Row
) -> None:
    work = task(0)
    rows = [sound | {"flue.height": f"{180 + n / 8}"} for n in range(80 if how == "nohup" else 400)]
    frame(*rows).to_csv(work.source, index=False)
    heed = "SIG_IGN" if how == "nohup" else "SIG_DFL"  # whichever way these tests were started
    begin = f"import signal; signal.signal(signal.SIGHUP, signal.{heed}); "
    code = f"{begin}import sys; from hearthcalc import cli; sys.exit(cli.main(sys.argv[1:]))"
    call = [sys.executable, "-c", code, "batch", str(work.source), "-o", str(work.out), "--rules-only"]
    with subprocess.Popen([*call, "--workers", "2"], stderr=subprocess.PIPE, text=True) as child:
        assert child.stderr is not None
        assert "32 rows judged" in child.stderr.readline()
        if how == "closed pipe":
            child.stderr.close()
            told = ""
        else:
            child.send_signal(signal.SIGTERM if how == "SIGTERM" else signal.SIGHUP)
            told = child.stderr.read()
        code_of = {"SIGTERM": 143, "SIGHUP": 129, "closed pipe": 141, "nohup": 0}
        assert child.wait(timeout=60) == code_of[how]
    if how == "nohup":
        assert "80 rows judged" in told and work.out.exists()
    else:
        assert ("go on with --resume" in told) == (how != "closed pipe")
        assert "leaked" not in told and "Traceback" not in told
        names = {path.name for path in work.out.parent.iterdir()}
        assert names == {"houses.csv", ".answers.csv.hearthcalc-part", ".answers.csv.hearthcalc-mark"}
        kept = json.loads((work.out.parent / ".answers.csv.hearthcalc-mark").read_text())
        assert 32 <= kept["rows"] < 400
        assert (work.out.parent / ".answers.csv.hearthcalc-part").stat().st_size >= kept["size"] > 0


HALF = """\
import os, struct, sys
from pathlib import Path
from threading import Event
from hearthcalc.workers import each_of

def work(place):
    folder, name, _ = place
    if name == "late":
        Event().wait()  # until it is ended
    if name == "half":
        frame = sys._getframe()
        while "result_queue" not in frame.f_locals:
            frame = frame.f_back
        (folder / "go").read_text()
        os.write(frame.f_locals["result_queue"]._writer.fileno(), struct.pack("!i", 1000))  # and none of the thousand bytes
        (folder / "written").write_text("")
        Event().wait()
    return name

if __name__ == "__main__":
    folder = Path(sys.argv[1])
    for name in ("go", "written"):
        os.mkfifo(folder / name)  # who opens one waits for the other
    more = bytes(1 << 20)  # than a pipe holds: the next piece is on its way when all ends
    names = each_of(work, [(folder, "whole", b""), (folder, "half", b""), *[(folder, "late", more)] * 9], 2)
    print(next(names), flush=True)
    (folder / "go").write_text("")
    (folder / "written").read_text()
    names.close()
    print("ended")
"""


def test_processes_that_are_ended_in_the_middle_of_an_answer_and_of_a_piece_hold_up_nothing(
    tmp_path: Path,
) -> None:
    script = tmp_path / "half.py"
    script.write_text(HALF, "utf-8")
    done = subprocess.run([sys.executable, script, tmp_path], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, "whole\nended\n", "")


def test_two_processes_give_the_bytes_of_one_and_a_killed_command_goes_on(
    task: Callable[[int], batch.Task],
) -> None:
    """The command itself, killed while it works."""
    work = task(40)
    batch.run(work, quiet, workers=1)
    expected = work.out.read_bytes(), batch.summary_of(work.out).read_bytes()
    work.out.unlink()
    call = [
        sys.executable,
        "-m",
        "hearthcalc_tui.launch",
        "batch",
        str(work.source),
        "-o",
        str(work.out),
        "--rules-only",
    ]
    with subprocess.Popen(
        [*call, "--workers", "1"], stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as child:
        assert child.stderr is not None
        assert "rows judged" in child.stderr.readline()
        os.killpg(child.pid, signal.SIGKILL)
    assert not work.out.exists()
    again = subprocess.run([*call, "--workers", "2", "--resume"], capture_output=True, text=True, timeout=120)
    assert again.returncode == 0, again.stderr
    assert "40 rows judged" in again.stderr and "4 NOT READ" in again.stderr
    assert (work.out.read_bytes(), batch.summary_of(work.out).read_bytes()) == expected


def test_figures_alone_are_written_and_counted_as_with_words(
    task: Callable[[int], batch.Task], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stopped and gone on with too, by a process of its own, and as Parquet."""
    monkeypatch.setattr(batch, "CHUNK_OF_FIGURES", 20)
    work = task(50)
    batch.run(work, quiet, workers=1)
    summary, worded = batch.summary_of(work.out).read_bytes(), pd.read_csv(work.out, dtype=str)
    figures = replace(work, words=False)
    batch.run(figures, quiet, workers=1)
    lines, whole = pd.read_csv(figures.out, dtype=str), figures.out.read_bytes()
    assert sorted(batch.summary_of(figures.out).read_bytes().splitlines()) == sorted(summary.splitlines())
    assert list(lines.columns) == list(alike.COLUMNS)
    named = ["row", "finding", "state", "verdict", "required_value", "margin"]
    assert set(map(tuple, lines[named].fillna("").to_numpy())) == set(
        map(tuple, worded[named].fillna("").to_numpy())
    )
    stopped: list[batch.Progress] = []

    def stop(progress: batch.Progress) -> None:
        stopped.append(progress)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        batch.run(figures, stop, workers=1)
    batch.run(figures, quiet, resume=True, workers=2)
    assert stopped[0].rows == 20 and figures.out.read_bytes() == whole
    out = figures.out.with_suffix(".parquet")
    batch.run(replace(figures, out=out), quiet, workers=1)
    assert pd.read_parquet(out)["verdict"].tolist() == lines["verdict"].tolist()


def test_a_table_of_columns_is_read_and_written(task: Callable[[int], batch.Task]) -> None:
    """Parquet, by pyarrow, with numbers as numbers."""
    work = task(5)
    batch.run(work, quiet, workers=1)
    numbers = {name: [""] for name, kind in table.COLUMNS.items() if kind == "float64"}
    in_csv = pd.read_csv(work.out, dtype=dict(table.COLUMNS), keep_default_na=False, na_values=numbers)
    whole = pd.read_csv(work.source, dtype="string", keep_default_na=False)
    whole["face.parlour.width"] = 30.0
    source, out = work.source.with_suffix(".parquet"), work.out.with_suffix(".parquet")
    whole.to_parquet(source)
    batch.run(batch.Task(source, out, "", (), models=False), quiet, workers=1)
    in_parquet = pd.read_parquet(out).astype(dict(table.COLUMNS))
    assert (in_parquet.verdict == "MEETS").any()
    pd.testing.assert_frame_equal(in_parquet, in_csv)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "has no heading"), ("flue.hieght\n1\n", "Did you mean flue.height"), ('flue.height\n"' + "x" * 200_000, "not closed"),
    ],
)  # fmt: skip
def test_a_table_that_cannot_be_read_says_why(
    text: str, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = tmp_path / "houses.csv"
    source.write_text(text)
    assert cli.main(["batch", str(source), "-o", str(tmp_path / "out.csv"), "--workers", "1"]) == 4
    assert message in capsys.readouterr().err
    assert not (tmp_path / "out.csv").exists()


HEADING = "row,about.notes,flue.height,flue.cap\n"
NOT_CLOSED = "Look for a quotation mark that is not closed"


@pytest.mark.parametrize(
    ("rows", "line"),
    [
        ('1,"abc,240,none\n2,x,250,none\n3,y,260,none\n', 2),  # to the end of the file
        ('1,x,240,none\n2,"abc,250,none\n3,"y",260,none\n', 3),  # to the quotes of the next row
        ('1,x,240,none\n2,"abc" 5,250,none\n3,y,260,none\n', 3),
        ('1,"two\nlines",240,none\n', 2),
        (
            '1,"brick,240,none\n2,stone\n3,36",250,none\n',
            2,
        ),  # over a short row, with as many cells as the heading
        ('1,"brick,240,none\n# a remark\n3,36",250,none\n', 2),
        (
            '1,"abc,240,none\n2,36",250,none\n3,y,260,none\n',
            2,
        ),  # to the inch mark of the next row: four cells
        ('1,"abc,240,none\n\n2,36",250,none\n', 2),
        ('1,"abc,240,none\n2,y,36",none\n', 2),  # three
        ('1,x,"240,none\n2,36",250,none\n', 2),  # five
        ('1,x,"240,none\n2,36",250,\n', 2),  # five, the last of them blank
        ("1,x,240,none\n2," + "y" * 131_073 + ",250,none\n", 3),
    ],
)
def test_a_quotation_mark_that_is_not_closed_takes_in_no_other_row(
    rows: str, line: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = tmp_path / "houses.csv"
    source.write_text(HEADING + rows)
    assert cli.main(["batch", str(source), "-o", str(tmp_path / "out.csv"), "--workers", "1"]) == 4
    err = capsys.readouterr().err
    assert f"houses.csv, line {line}: In the row that begins there" in err and NOT_CLOSED in err
    assert not (tmp_path / "out.csv").exists()


@pytest.mark.parametrize("more", ["", ",,"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_cell_may_have_quotes_and_a_file_any_line_ends(end: str, more: str, tmp_path: Path) -> None:
    """more: of cells, as a spreadsheet writes them whose sheet is wider than the table."""
    source = tmp_path / "houses.csv"
    lines = [HEADING[:-1], '1,"a 36"" face, tall",240,none', "", "2,36,250,none", '3,,36",none']
    source.write_bytes("".join(f"{line}{more if line else ''}{end}" for line in lines).encode())
    (rows,) = [part.frame() for part in table.parts(source, 10) if part.rows]
    assert rows["about.notes"].tolist() == ['a 36" face, tall', "36", ""]
    assert rows["flue.height"].tolist() == ["240", "250", '36"']


@pytest.mark.parametrize(
    ("begin", "kind"),
    [
        (b"PK\x03\x04\x14\x00", "a spreadsheet or an archive"), (b"\xd0\xcf\x11\xe0\xa1", "a spreadsheet or a document"),
        (b"PAR1\x15", "a Parquet file"), ("row,flue.height\n".encode("utf-16"), "text in UTF-16"),
    ],
)  # fmt: skip
def test_a_file_of_another_kind_is_called_by_its_kind(
    begin: bytes, kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = tmp_path / "houses.csv"
    source.write_bytes(begin + bytes(range(256)))
    assert cli.main(["batch", str(source), "-o", str(tmp_path / "out.csv"), "--workers", "1"]) == 4
    err = capsys.readouterr().err
    assert f"It is {kind}" in err and "Save the table as CSV, UTF-8." in err and err[:-1].isprintable()


@pytest.mark.parametrize(
    "heading",
    [
        'face."\x1b[31mden".width,face."\x1b[31mden".width',
        'face."\x1b[31mden".widht',
        'flue."\x1b[31m".height [kg]',
    ],
)
def test_a_heading_is_quoted_without_its_control_characters(heading: str) -> None:
    with pytest.raises(FileError, match="heading") as refused:
        table.columns_of(heading.split(","))
    assert "\x1b" not in str(refused.value)


def test_odd_files_are_read_as_far_as_they_go(
    tmp_path: Path, sound: Row, capsys: pytest.CaptureFixture[str]
) -> None:
    """A byte order mark, blank lines, a short row, one with too many cells, bytes that are not text, an inch mark."""
    names = ["row", *sound]
    cells = ["", *sound.values()]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(names)
    for name in ("good", "many"):
        writer.writerow([name, *cells[1:], *(["", "x"] if name == "many" else [])])
    writer.writerow(["short"])
    writer.writerow(["inch", *('240"' if key == "flue.height" else value for key, value in sound.items())])
    source, target = tmp_path / "houses.csv", tmp_path / "answers.csv"
    source.write_bytes(b"\xef\xbb\xbf" + out.getvalue().encode() + b"\r\n,,,\r\nbytes\xff,\xff\xfe\r\n")
    assert cli.main(["batch", str(source), "-o", str(target), "--rules-only", "--workers", "1"]) == 0
    answers = pd.read_csv(target, keep_default_na=False)
    assert verdicts(answers) == {
        "good": ["MEETS"], "many": [NOT_READ], "short": [NOT_READ], "inch": ["MEETS"], "bytes\ufffd": [NOT_READ],
    }  # fmt: skip
    err = capsys.readouterr().err
    assert "5 rows judged" in err and "3 NOT READ" in err


def test_the_summary_counts_rows_by_their_worst(tmp_path: Path, demo: Row) -> None:
    answers = table.judge(frame(demo, demo, {"flue.height": "tall"}), models=False)
    tally = table.tally(answers)
    assert tally["\t\toverall\tOverall"] == {NOT_READ: 1}
    assert tally["irc-2021\tplanned\tflue.area\tFlue area for the opening"] == {"SHORT": 2}
    for key, counts in tally.items():
        if "planned" in key:
            assert sum(counts.values()) == 2, key


def test_the_command_refuses_what_it_cannot_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = tmp_path / "houses.csv"
    source.write_text("row,flue.height\n1,240\n")
    for words, code in (
        (["batch"], 2), (["batch", str(source)], 2), (["batch", str(source), "-o", "x.doc"], 2),
        (["batch", str(source), "-o", str(source)], 4), (["batch", "nowhere.csv", "-o", "x.csv"], 4),
        (["batch", str(source), "-o", str(tmp_path / "o.csv"), "--edition", "nowhere"], 2),
        (["batch", str(source), "-o", str(tmp_path / "o.csv"), "--workers", "0"], 2),
    ):  # fmt: skip
        assert cli.main(words) == code, words
    assert source.read_text() == "row,flue.height\n1,240\n"
    capsys.readouterr()
    assert cli.main(["batch", "--template", "--unit", "mm"]) == 0
    assert capsys.readouterr().out == table.template("mm")
    assert cli.main(["batch", "--template", "-o", str(tmp_path / "new.csv")]) == 0
    assert (tmp_path / "new.csv").read_text() == table.template("in")
    assert cli.main(["batch", "--template", "-o", str(source)]) == 4
    assert "It is there already. Choose another name." in capsys.readouterr().err
    assert source.read_text() == "row,flue.height\n1,240\n"


def test_without_a_library_the_message_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    source, out = tmp_path / "houses.csv", tmp_path / "out"
    source.write_text("flue.height\n240\n")
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    assert cli.main(["batch", str(source), "-o", f"{out}.parquet"]) == 2
    assert "pyarrow" in capsys.readouterr().err
    monkeypatch.setitem(sys.modules, "pandas", None)
    assert cli.main(["batch", str(source), "-o", f"{out}.csv", "--figures"]) == 2
    assert "'hearthcalc[tables]'" in capsys.readouterr().err
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: name)
    assert cli.main(["batch", str(source), "-o", f"{out}.parquet"]) == 2
    assert "'hearthcalc[tables]'" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["houses.csv"]


def test_dask_maps_the_table_and_does_a_lost_part_again(sound: Row, tmp_path: Path) -> None:
    """A local cluster of two workers; the first part fails on the worker that has it first, and is done again."""
    import dask.dataframe as dd
    from distributed import Client, LocalCluster

    rows = frame(*(sound | {"row": f"house {n}", "flue.height": f"{14 + n} ft"} for n in range(4)))
    expected = table.judge(rows, models=False)
    tried = tmp_path / "tried"

    def part(some: pd.DataFrame) -> pd.DataFrame:
        answers = table.judge(some, models=False)
        if "house 0" in set(some.row) and not tried.exists():
            tried.touch()
            raise MemoryError("this worker is lost")
        return answers

    cluster = LocalCluster(n_workers=2, threads_per_worker=1, processes=False, dashboard_address=None)
    with cluster, Client(cluster):
        parts = dd.from_pandas(rows, npartitions=2, sort=False)
        answers = parts.map_partitions(part, meta=table.judge(rows.iloc[:0])).compute(retries=1)
    assert tried.exists()
    pd.testing.assert_frame_equal(answers.reset_index(drop=True).astype(dict(table.COLUMNS)), expected)


def test_questions_stand_in_one_cell(sound: Row) -> None:
    """As the job lists them: the findings of the house with the same questions in its file."""
    document = jobfile.load(Path(__file__).parent / "jobs/sound.hearth.toml").document()
    job = Job.from_document({**document, "asked": {"questions": ["flue", "hearth"]}})
    expected = assess.assess(job, reference.load(job.about.edition)).deciding.findings
    told = table.judge(pd.DataFrame([{**sound, "asked.questions": "flue; hearth"}]), models=False)
    assert list(told["finding"])[1:] == [finding.id for finding in expected]


def test_cells_are_those_of_the_library() -> None:
    """Python's own csv, on texts that it quotes, formulas, numbers and blanks."""
    texts = ["plain", "", "a, b", 'a "b"', "two\nlines", "=1+1", "-5", "\rback", "ende"]
    numbers = [1.0, -0.5, float("nan"), 1e-9, 2 / 3, 1e22, 0.1, 3.0, 7.25]
    answers = pd.DataFrame(
        {
            "row": pd.array(texts, dtype="string"),
            "counts": [True, False] * 4 + [True],
            "margin": numbers,
            "message": pd.Categorical(texts[::-1]),
        }
    )
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(
        [entry.guarded(one), counts, "" if margin != margin else margin, entry.guarded(said)]
        for one, counts, margin, said in zip(texts, answers["counts"], numbers, texts[::-1], strict=True)
    )
    assert table.to_csv(answers) == out.getvalue()
    many = pd.concat([answers] * 50, ignore_index=True)
    assert table.to_csv(many) == out.getvalue() * 50
