"""Job files: what is refused, with file and line; what a save keeps; saved and loaded are one."""

import json
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from signs import SIGNS
from tomlkit.exceptions import NonExistentKey

from hearthcalc import job as record
from hearthcalc import jobfile
from hearthcalc.errors import EntryError, FileError
from hearthcalc.job import FIELDS, Job

DEMO = files("hearthcalc_reference").joinpath("demos/inn.hearth.toml").read_text("utf-8")

HEAD = 'format = "hearthcalc-job"\nversion = 1\n'
FACE = '[[face]]\nname = "taproom"\n'


def refusal(text: str | bytes) -> FileError:
    with pytest.raises(FileError, match=r"^house\.toml") as caught:
        jobfile.load(text if isinstance(text, bytes) else text.encode(), "house.toml")
    assert caught.value.exit_code == 4 and caught.value.fix
    return caught.value


# Reading


def test_the_shipped_demo_is_a_job() -> None:
    job = jobfile.parse_text(DEMO, "demo")
    assert [face.name for face in job.face] == ["taproom"]
    assert record.unusual(job) == {}
    planned = job.stages()["planned"]
    assert [face.name for face in planned.job.face] == ["taproom", "dining"]
    assert not [address for address in planned.voided if record.get(job, address) is not None]


def test_a_file_is_read_by_path_and_by_bytes(tmp_path: Path) -> None:
    path = tmp_path / "a.hearth.toml"
    path.write_text(DEMO, "utf-8")
    job = jobfile.load(path)
    assert job == jobfile.load(str(path)) == jobfile.load(DEMO.encode()) == jobfile.load(path, "my job")


def test_a_byte_order_mark_and_line_ends_of_windows_are_read() -> None:
    text = HEAD + FACE + 'width = "36"\n'
    assert jobfile.load(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode()) == jobfile.load(text.encode())


def test_decimals_are_exact() -> None:
    job = jobfile.parse_text(HEAD + 'units = "mm"\n' + FACE + "width = 914.4\nheight = 762\n", "x")
    assert job.face[0].width is not None and job.face[0].width.value == 36
    assert job.face[0].height is not None and job.face[0].height.value == 30


@pytest.mark.parametrize(
    ("text", "where", "says"),
    [
        (b"\xff\xfe" + HEAD.encode(), "house.toml", "Byte 1 is not UTF-8"),
        (HEAD.encode() + b'title = "\xe9"', "house.toml", "Byte 48 is not UTF-8"),
        (HEAD + "a\0b", "house.toml", "Byte 40 is zero"),
        ("#" * (1 << 20) + "x", "house.toml", "larger than 1,048,576 bytes"),
        ("", "house.toml, format", "does not say that it is a job"),
        ('format = "other"\n', "house.toml, format", '"other" is another format'),
        ('format = 3\nversion = "x"\n', "house.toml, format", "3 is another format"),
        ('format = "hearthcalc-job"\nversion = 2\n', "house.toml, version", "written as version 2, and this program reads version 1"),
        ('format = "hearthcalc-job"\nversion = 0\n' + FACE, "house.toml, line 2, version", "0 is not a version"),
        ('format = "hearthcalc-job"\n' + FACE, "house.toml, version", "The file has no version"),
        (HEAD + "a = \n", "house.toml, line 3, column 5", "not a value"),
        (HEAD + "width = 3 ft\n", "house.toml, line 3", "Something follows the value."),
        (HEAD + "[flue\n", "house.toml, line 3", "heading is not closed"),
        (HEAD + "[[face]\n", "house.toml, line 3", "heading of a list is not closed"),
        (HEAD + "version = 1\n", "house.toml, line 3", "A key stands twice"),
        (HEAD + "[flue]\n[flue]\n", "house.toml, line 4", "A table stands twice"),
        (HEAD + FACE + "[face]\n", "house.toml, line 5", "A table stands twice"),
        (HEAD + "a = [1, 2", "house.toml, at its end", "Unclosed array"),
        (HEAD + 'a = "x\n', "house.toml, line 3", "."),
        (HEAD + 'a = "\x1b"\n', "house.toml, line 3", "."),
        (HEAD + "a = " + "9" * 5000, "house.toml", "thousands of digits"),
        (HEAD + "a = " + "[" * 25 + "]" * 25, "house.toml", "more than 20 deep"),
        (HEAD + "a = " + "[" * 5000 + "]" * 5000, "house.toml", "more than 20 deep"),
        (HEAD + ".".join("a" * 25) + " = 1\n", "house.toml", "more than 20 deep"),
        (HEAD + ".".join("a" * 400_000) + " = 1\n", "house.toml", "more than 20 deep"),
        (HEAD + FACE + "width = nan\n", "house.toml, line 5, face.taproom.width", "nan is not a length"),
        (HEAD + FACE + "width = -inf\n", "house.toml, line 5, face.taproom.width", "-inf is not a length"),
        (HEAD + FACE + "width = 1e999999999\n", "house.toml, line 5, face.taproom.width", "1e999999999 is not a length"),
        (HEAD + FACE + f"width = 0.{'1' * 50}\n", "house.toml, line 5, face.taproom.width", "is not a length"),
        (HEAD + FACE + "width = true\n", "house.toml, line 5, face.taproom.width", "true is not a length"),
        (HEAD + FACE + "width = 0x" + "f" * 2000 + "\n", "house.toml, line 5, face.taproom.width", "too large"),
        (HEAD + FACE + 'wdth = "36"\n', "house.toml, line 5, face.taproom.wdth", "not a key"),
        (HEAD + FACE + '[face.hearth]\nfront = "20"\ncloser = "1"\n', "house.toml, line 7, face.taproom.hearth.closer", "not a key"),
        (HEAD + FACE + '[face.hearth]\nclosure = "none"\n', "house.toml, line 6, face.taproom.hearth.closure", "a key of [[face]]"),
        (HEAD + FACE + '[[face]]\nwidth = "3"\n', "house.toml, line 5, face.face", "A face has no name"),
        (HEAD + FACE + FACE, "house.toml, line 5, face.taproom.name", "are called taproom"),
        (HEAD + "".join(f'[[face]]\nname = "{n}"\n' for n in "abcde"), "house.toml, line 11, face.e", "more than 4 faces"),
        (HEAD + "face = []\n", "house.toml, face", "There is no face"),
        (HEAD + FACE + '"a\\u001b[31m\\u202e" = 1\n', 'house.toml, line 5, face.taproom."a[31m"', "a[31m is not a key"),
        (HEAD + FACE + "[fluke]\n", "house.toml, line 5, fluke", "fluke is not a key of the top of the file"),
        (HEAD + FACE + 'hearth.layers = [\n{},\n{ thickness = 0.0 } ]\n', "house.toml, line 5, face.taproom.hearth.layers.2", "0 in is"),
        (HEAD + '[about]\nnotes = """\nwidth = "x"\n[flue]\n"""\n' + FACE
         + 'width = "x"\n', "house.toml, line 10, face.taproom.width", "."),
        (HEAD + FACE + 'side = "east"\n[planned.firebox]\ndepth = "x"\n',
         "house.toml, line 5, face.taproom.side", '"east" is not a valid choice'),
        (HEAD + FACE + '[[nearby]]\nname = "m"\nface = "attic"\n', "house.toml, line 7, nearby.m.face", "no face called attic"),
    ],
    ids=lambda value: repr(value)[-30:],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_place(text: str | bytes, where: str, says: str) -> None:
    error = refusal(text)
    assert error.where.startswith(where)
    assert says in error.what
    assert "\x1b" not in str(error)


def test_each_mistake_is_told_with_its_line() -> None:
    error = refusal(HEAD + FACE + 'width = "wide"\nheigth = "30"\n[firebox]\ndepth = true\n')
    assert error.title == "The job file has 3 mistakes"
    assert error.where == "house.toml, line 5, face.taproom.width"
    _, second, third = error.fix.split("\n")
    assert second.startswith("line 6, face.taproom.heigth: ") and second.endswith("Did you mean height?")
    assert third.startswith("line 8, firebox.depth: ")


def test_a_file_full_of_mistakes_is_told_in_short() -> None:
    error = refusal(HEAD + FACE + "".join(f"x{number} = 1\n" for number in range(5000)))
    assert error.fix.split("\n")[-1] == "And more." and len(error.fix.split("\n")) == 21


@pytest.mark.parametrize("name", ["missing.toml", ".", "a\0b"])
def test_a_file_that_cannot_be_opened(name: str, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="Look at the name and whether you may read it") as caught:
        jobfile.load(f"{tmp_path}/{name}", "house.toml")
    assert caught.value.where == "house.toml"


def test_a_file_that_is_too_large_is_refused_by_path(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    path.write_bytes(b"#" * (2 << 20))
    with pytest.raises(FileError, match="larger than 1,048,576 bytes"):
        jobfile.load(path)


def test_a_document_that_is_not_yet_a_job_can_be_opened() -> None:
    raw = jobfile.document(HEAD + FACE + 'width = "wide"\n', "x")
    job, told = record.read(raw)
    assert list(told) == ["face.taproom.width"] and job.face[0].width is None


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reading(data: bytes) -> None:
    assert refusal(data).what


@given(st.text(alphabet=st.sampled_from("[]{}=\"'#\n., abxface123"), max_size=80))
@settings(max_examples=300)
def test_no_text_breaks_the_reading(text: str) -> None:
    try:
        job = jobfile.parse_text(HEAD + FACE + text, "house.toml")
        assert job.face
    except FileError as err:
        assert err.what and err.where.startswith("house.toml")


# Files as earlier states of the program wrote and read them


@pytest.mark.parametrize(
    "path", sorted((Path(__file__).parent / "jobs/earlier").iterdir()), ids=lambda path: path.name
)
def test_every_earlier_file_is_read_and_saved_with_all_its_entries(path: Path) -> None:
    text = path.read_text("utf-8")
    job = jobfile.load(path)
    assert job.face and not record.read(job.document())[1]
    rendered = jobfile.render(job, text)
    assert jobfile.parse_text(rendered, "x") == job
    gone = {line for line in text.splitlines() if line not in rendered.splitlines()}
    assert gone <= {'liner_installed = "yes"'}


def test_a_key_that_no_rule_asks_for_any_more_answers_nothing_in_its_place() -> None:
    job = jobfile.parse_text(
        f'{HEAD}{FACE}[chimney]\nliner_installed = "yes"\n[planned.chimney]\nliner_installed = "yes"\n', "x"
    )
    assert job.chimney is None or {
        job.chimney.liner_runs,
        job.chimney.liner_mortar,
        job.chimney.liner_space,
    } == {None}


# Writing


def test_a_job_written_anew_reads_the_same() -> None:
    job = jobfile.parse_text(DEMO, "demo")
    text = jobfile.render(job)
    assert jobfile.parse_text(text, "x") == job
    assert list(tomllib.loads(text)) == list(job.document())


def test_a_job_that_did_not_change_is_written_as_it_was() -> None:
    assert jobfile.render(jobfile.parse_text(DEMO, "demo"), DEMO) == DEMO


def edited(text: str, *changes: tuple[str, Any]) -> str:
    document = jobfile.document(text, "x")
    for address, value in changes:
        document = record.set_entry(document, address, value)
    return jobfile.render(Job.from_document(document), text)


def test_comments_and_order_survive_a_change() -> None:
    text = edited(DEMO, ("face.taproom.width", "37"), ("firebox.joint", None), ("flue.diameter", "12"))
    lines, before = text.splitlines(), DEMO.splitlines()
    assert 'width = "37"                          # between the jambs, at the plane of the opening' in lines
    assert 'joint = "1/8"' not in lines
    flue = lines.index("[flue]")
    assert lines[flue + 1].startswith("liner = ") and lines[flue + 2] == 'diameter = "12"'
    assert len(lines) == len(before)
    assert [line for line in before if "#" in line and "width" not in line] == [
        line for line in lines if "#" in line and "width" not in line
    ]


def test_new_tables_stand_in_the_order_of_the_format() -> None:
    text = HEAD + FACE + '\n[fire]\nsize = "hot"\n'
    text = edited(
        text,
        ("flue.lining", "clay"),
        ("about.title", "A"),
        ("planned.firebox.depth", "24"),
        ("nearby.sill.gap", "2"),
    )
    tables = [line for line in text.splitlines() if line.startswith("[")]
    assert tables == ["[about]", "[[face]]", "[flue]", "[[nearby]]", "[fire]", "[planned.firebox]"]


def test_entries_stand_before_the_tables_below_them() -> None:
    text = edited(
        HEAD + FACE + '[face.hearth]\nfront = "20"\n',
        ("face.taproom.width", "36"),
        ("face.taproom.hearth.left", "9"),
    )
    assert text == HEAD + FACE + 'width = "36"\n[face.hearth]\nfront = "20"\nleft = "9"\n'


def test_things_keep_their_comments_when_others_come_go_and_move() -> None:
    text = (
        HEAD
        + FACE
        + '\n# first\n[[nearby]]\nname = "a" # one\n\n[[nearby]]\nname = "b" # two\ngap = "2"\n\n[[nearby]]\nname = "c" # three\n'
    )
    less = edited(text, ("nearby.b", None))
    assert "# one" in less and "# three" in less and "# two" not in less
    document = jobfile.document(text, "x")
    document["nearby"] = [document["nearby"][2], {"name": "d"}, document["nearby"][0]]
    moved = jobfile.render(document, text)
    assert [thing["name"] for thing in tomllib.loads(moved)["nearby"]] == ["c", "d", "a"]
    assert "# three" in moved and "# one" in moved


def test_a_new_name_keeps_the_comments_of_the_thing() -> None:
    text = edited(DEMO, ("face.taproom.name", "library"))
    assert 'name = "library"' in text and text.count("#") == DEMO.count("#")


@pytest.mark.parametrize(
    "layout",
    [
        'about = { title = "A", notes = "n" }\nface = [ { name = "taproom", width = 36, hearth = { front = "20" } } ]\n',
        FACE + 'hearth.front = "20"\nhearth.left = "8" # dotted\n',
        '[planned.firebox]\ndepth = "24"\n[[face]]\nname = "taproom"\n[planned.flue]\nheight = "20 ft" # apart\n',
        '[flue]\nheight = "20 ft"\n[[nearby]]\nname = "x"\n[[face]]\nname = "taproom"\n[[nearby]]\nname = "y"\n',
        '[face]\n',
    ],
)  # fmt: skip
def test_any_layout_takes_any_change(layout: str) -> None:
    text = HEAD + layout
    if layout == "[face]\n":
        with pytest.raises(FileError, match="A table is not a list"):
            jobfile.parse_text(text, "x")
        return
    for address, value in (
        ("face.taproom.width", "40"), ("face.taproom.hearth.left", "9"), ("about.notes", "a\nb"), ("planned.flue.height", None),
        ("planned.face.porch.side", "back"), ("nearby.x", None), ("nearby.z.gap", "2"), ("face.taproom.hearth.front", None),
        ("face.hall.width", "20"), ("planned.firebox.depth", "25"),
    ):  # fmt: skip
        document = record.set_entry(jobfile.document(text, "x"), address, value)
        job = Job.from_document(document)
        text = jobfile.render(job, text)
        assert jobfile.parse_text(text, "x") == job


@pytest.mark.parametrize("before", ["", '[judged]\nverdicts = ["one: MEETS"] # then\n'])
def test_each_verdict_stands_on_a_line_of_its_own(before: str) -> None:
    verdicts = [
        "found hearth.front taproom: MEETS",
        "found flue.area: SHORT",
        'found clearance.mantel "oak": CLOSE',
    ]
    text = HEAD + FACE + before
    start = jobfile.document(text, "house")
    for lines in (verdicts, verdicts[:1], []):
        document = {**start, "judged": {"edition": "irc-2021", "verdicts": lines}}
        for saved in (jobfile.render(document, text), jobfile.render(document)):
            assert tomllib.loads(saved)["judged"]["verdicts"] == lines
            rows = [row.strip() for row in saved.splitlines()]
            assert [row for row in rows if row.endswith((': MEETS",', ': SHORT",', ': CLOSE",'))] == [
                f"{json.dumps(line)}," for line in lines
            ]
            assert jobfile.render(tomllib.loads(saved), saved) == saved


def test_a_document_that_is_not_yet_a_job_is_saved_as_it_stands() -> None:
    text = HEAD + FACE + 'width = "wide" # look again\nshelf = 1.50\nodd = nan\n'
    document = record.set_entry(jobfile.document(text, "x"), "face.taproom.height", "30")
    saved = jobfile.render(document, text)
    assert saved == HEAD + FACE + 'width = "wide" # look again\nheight = "30"\nshelf = 1.50\nodd = nan\n'
    assert tomllib.loads(jobfile.render(document))["face"][0]["shelf"] == 1.5


def test_a_file_that_is_not_toml_is_not_written_over() -> None:
    with pytest.raises(FileError, match="the file as it was"):
        jobfile.render(jobfile.parse_text(DEMO, "demo"), "a = ")


# Saved and loaded are one

SAMPLES: dict[str, list[Any]] = {
    "length": ["0", "1/4", "8", "7 1/2 in", "2' 6\"", "190.5 mm", 12, 3.5],
    "area": ["0 in2", "127 in2", "1 ft2"],
    "size": ["11 x 11", "8.5 x 13"],
    "bool": [True, False],
    "date": ["2026-05-04"],
    "count": [2, "3"],
    "ratio": [0.5, "0.70", 1],
}
TEXTS = st.text(SIGNS, max_size=12) | st.sampled_from(
    ["", "a\nb", '"""', "'''", "\\", "# x", "[x]", "\u202e", "\x1b[2J", "½"]
)
NAMES = st.sampled_from(["taproom", "east room", 'a"b', "x.y", "große", "#1", "[z]"])


@st.composite
def changes(draw: st.DrawFn) -> tuple[str, Any]:
    key = draw(
        st.sampled_from(
            [
                key
                for key, spec in FIELDS.items()
                if spec.kind not in ("list", "version") and key not in ("format", "units")
            ]
        )
    )
    spec = FIELDS[key]
    parts = key.split(".")
    if parts[0] in ("face", "nearby", "roof"):
        parts.insert(1, draw(NAMES))
    if parts[:2] == ["air", "fans"]:
        parts.insert(2, draw(NAMES))
    if "layers" in parts:
        parts.insert(parts.index("layers") + 1, draw(st.sampled_from(["1", "2"])))
    if parts[0] != "about" and (draw(st.booleans()) or parts[-1] == "remove"):
        parts.insert(0, "planned")
    value: Any = None
    if draw(st.integers(0, 4)):
        if spec.choices:
            value = draw(st.sampled_from(spec.choices))
        elif spec.kind == "text":
            value = draw(NAMES if spec.form == "name" else TEXTS)
        else:
            value = draw(st.sampled_from(SAMPLES.get(spec.kind, [""])))
            if value == "" and spec.usual:
                value = spec.show(spec.usual[1], "in")
    return record.join_address(parts), value


@given(st.lists(changes(), max_size=12), st.sampled_from([DEMO, HEAD + FACE]))
@settings(deadline=None)
def test_saved_and_loaded_are_one(edits: list[tuple[str, Any]], start: str) -> None:
    text = start
    document = jobfile.document(text, "x")
    for address, value in edits:
        try:
            document = record.set_entry(document, address, value)
        except EntryError:
            continue
    job, _ = record.read(document)
    if not job.face:
        return
    saved = jobfile.render(job, text)
    assert jobfile.parse_text(saved, "x") == job
    assert jobfile.render(job, saved) == saved
    assert jobfile.parse_text(jobfile.render(job), "x") == job


def told(job: Job) -> list[object]:
    """All of a job: its entries, those that count as entered, and its names."""
    return [job, job.document(), [thing.name for thing in (*job.nearby, *job.roof)]]


@given(st.lists(changes(), max_size=6), st.sampled_from([DEMO, HEAD + FACE]))
def test_a_job_read_beside_another_is_the_same(edits: list[tuple[str, Any]], start: str) -> None:
    document = jobfile.document(start, "x")
    job, problems = record.read(document)
    for address, value in edits:
        try:
            changed = record.set_entry(document, address, value)
        except EntryError:
            continue
        beside, wrong = record.read(changed, None if problems else (document, job))
        job, problems = record.read(changed)
        assert (told(beside), wrong) == (told(job), problems)
        document = changed


def test_a_thing_that_is_called_by_what_it_is_is_read_anew_beside_others() -> None:
    two = [{"what": "mantel", "gap": "1"}, {"what": "mantel", "gap": "2"}]
    before = {**jobfile.document(HEAD + FACE, "x"), "nearby": two}
    job, _ = record.read(before)
    assert [thing.name for thing in job.nearby] == ["mantel", "mantel 2"]
    after, _ = record.read({**before, "nearby": two[1:]}, (before, job))
    assert [thing.name for thing in after.nearby] == ["mantel"]
    metric, _ = record.read({**before, "units": "mm"}, (before, job))
    assert metric.nearby[0].gap != job.nearby[0].gap


def test_a_layout_that_cannot_be_edited_is_written_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    job = Job.from_document(record.set_entry(jobfile.document(DEMO, "x"), "face.taproom.width", "40"))
    update = jobfile._update

    def fails_on_the_original(table: Any, kind: Any, new: Any, old: Any) -> None:
        if old:
            raise NonExistentKey("width")
        update(table, kind, new, old)

    monkeypatch.setattr(jobfile, "_update", fails_on_the_original)
    text = jobfile.render(job, DEMO)
    assert "#" not in text and jobfile.parse_text(text, "x") == job
