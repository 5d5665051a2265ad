"""Local amendments: read strictly, folded over an edition, told on every result, taken back. Invented changes."""

from __future__ import annotations

import datetime as dt
import os
import re
from fractions import Fraction
from pathlib import Path

import pytest

from hearthcalc import amendments, cli, jobfile, reference
from hearthcalc.amendments import Change
from hearthcalc.assess import assess, since_judged, verdict_lines
from hearthcalc.errors import EntryError, FileError
from hearthcalc.findings import Verdict
from hearthcalc.job import Job
from hearthcalc.models import heat
from hearthcalc.report.model import judged_by

DAY = dt.date(2026, 5, 4)
HEAD = 'format = "hearthcalc-amendments"\nversion = 1\n'
GOOD = 'edition = "a"\nkey = "b"\nvalue = "1"\nwho = "c"\nwhy = "d"\n'


def change(
    key: str = "hearth.side",
    value: str = "below 6 ft2: 8 in; otherwise: 16 in",
    edition: str = "irc-2021",
    place: str = "",
) -> Change:
    return Change(edition, key, value, "B. Official", DAY, "town ordinance 12", place)


def test_a_change_survives_its_file(tmp_path: Path) -> None:
    path = tmp_path / amendments.NAME
    changes = (change(), change("firebox.depth", "22 in"))
    path.write_text(amendments.render(changes), encoding="utf-8")
    assert amendments.read(path) == changes


def test_a_job_that_is_opened_by_a_link_has_the_amendments_of_both_places(tmp_path: Path) -> None:
    """A town's stricter figure lies beside the file itself."""
    there, here, own = (tmp_path / name for name in ("there", "here", "own"))
    for folder in (there, here, own):
        folder.mkdir()
    job = there / "house.hearth.toml"
    job.touch()
    (here / "house.hearth.toml").symlink_to(job)
    (tmp_path / "folder").symlink_to(there)
    names = (own / amendments.NAME, there / amendments.NAME, here / amendments.NAME)
    assert amendments.files_for(here / "house.hearth.toml", own) == names
    assert amendments.files_for(job, own) == names[:2]
    by_folder = tmp_path / "folder/house.hearth.toml"
    assert amendments.files_for(by_folder, own) == (names[0], by_folder.with_name(amendments.NAME))


def test_no_file_is_no_change(tmp_path: Path) -> None:
    assert amendments.read(tmp_path / "none.toml") == ()


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("format = 1", "Write both at the top"),
        ("not toml at all", "line 1, column 5.*A key has no = after it"),
        (f"{HEAD}extra = 1", "extra.? is not a key"),
        (f'{HEAD}[[change]]\nkey = "a"', "line 3, change 1.*edition is missing"),
        (f'{HEAD}[[change]]\n{GOOD}when = "x"', "when is missing or is not a date"),
        (f"{HEAD}[[change]]\n{GOOD}when = 2026-01-01T10:00:00", "when is missing or is not a date"),
        (f"{HEAD}[[change]]\n{GOOD}when = 2026-01-01\nodd = 1", "odd.? is not a key of a change"),
        (f"{HEAD}change = 1", "change is not a list of tables"),
        (f"{HEAD}change = [1]", "change is not a list of tables"),
        (f"{HEAD}change = [{{}}, {{}}]", "line 3, change 1.*edition is missing"),
        (f"{HEAD}{'a.' * 30}b = 1", "more than 20 deep"),
        (
            f"{HEAD}[[change]]\n{GOOD}when = 2026-01-01",
            "line 3, change 1.*There is no edition .?a.?, so this",
        ),
        (f"{HEAD}[[change]]\n{GOOD}when = 2026-01-01\nplace = ' '", "place is not the name of a town"),
    ],
)
def test_a_bad_file_is_refused_with_its_place(tmp_path: Path, text: str, match: str) -> None:
    path = tmp_path / amendments.NAME
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=f"amendments.*{match}"):
        amendments.read(path)


@pytest.mark.parametrize(
    ("key", "value", "match"),
    [
        ("firebox.depth", "22 cfm", "not of the kind of 20 in"),
        ("firebox.depth", "5 in", "outside 6 in to 60 in"),
        ("firebox.depth", "deep", "."),
        ("hearth.side", "12 in", "has 2 steps"),
        ("hearth.side", "below 6 ft2: 8 in; 12 in", "is not a step"),
        ("hearth.datum", "lintel", "is not a value of hearth.datum"),
        ("chimney.cricket", "anything", "holds a table"),
        ("no.such.key", "1", "has no value no.such.key"),
    ],
)
def test_what_a_value_cannot_be_is_refused(key: str, value: str, match: str) -> None:
    with pytest.raises(EntryError, match=match):
        amendments.amend(reference.load(), [change(key, value)])


def test_every_finding_that_uses_an_edited_value_says_so() -> None:
    doc = {
        "format": "hearthcalc-job",
        "version": 1,
        "face": [
            {
                "name": "study",
                "width": "36",
                "height": "30",
                "hearth": {"front": "20", "left": "12", "right": "12"},
            }
        ],
    }
    job = Job.from_document(doc)
    before = assess(job, reference.load())
    edition = amendments.amend(reference.load(), [change()])
    after = assess(job, edition)
    assert after.edited == ("hearth.side",)
    assert before.edition_fingerprint != after.edition_fingerprint
    changed = {
        new.id
        for old, new in zip(before.stages["found"].findings, after.stages["found"].findings, strict=True)
        if old.verdict != new.verdict
    }
    assert changed == {"hearth.left", "hearth.right"}
    left = next(f for f in after.stages["found"].findings if f.id == "hearth.left")
    assert left.verdict is Verdict.SHORT
    used = next(b for b in left.basis if b.key == "hearth.side")
    assert used.standing == "edited here"
    assert "B. Official" in used.note and "town ordinance 12" in used.note and "12 in" in used.note


def test_a_change_to_another_edition_does_nothing_here() -> None:
    edition = reference.load()
    assert amendments.amend(edition, [change(edition="usda-1941")]).fingerprint == edition.fingerprint


def test_a_second_change_keeps_what_was_published() -> None:
    twice = amendments.amend(
        reference.load(), [change("firebox.depth", "22 in"), change("firebox.depth", "24 in")]
    )
    value = twice["firebox.depth"]
    assert value.shown == "24 in"
    assert "published: 20 in" in value.note
    assert "22 in" not in value.note


def test_a_newer_change_takes_the_place_of_the_one_of_the_same_value_and_place() -> None:
    changes = (change(), change("firebox.depth", "22 in"), change("firebox.depth", "23 in", place="Low Weir"))
    newer = change("firebox.depth", "24 in")
    assert amendments.with_change(changes, newer) == (changes[0], changes[2], newer)
    there = change("firebox.depth", "26 in", place=" low weir")
    assert amendments.with_change(changes, there) == (changes[0], changes[1], there)


# Places

LOW_WEIR = "Low Weir"


def test_an_amendment_of_a_place_holds_for_the_jobs_that_use_it_alone() -> None:
    changes = [change("firebox.depth", "23 in", place=LOW_WEIR), change("firebox.depth", "22 in")]
    for place, shown in (
        ("", "22 in"),
        ("Fernhollow", "22 in"),
        (LOW_WEIR, "23 in"),
        (" low weir ", "23 in"),
    ):
        edition = amendments.amend(reference.load(), changes, place)
        assert edition["firebox.depth"].shown == shown, place
        assert edition.amended_for == (LOW_WEIR if shown == "23 in" else "")
    note = amendments.amend(reference.load(), changes, LOW_WEIR)["firebox.depth"].note
    assert (
        "published: 20 in" in note and "changed for Low Weir by B. Official" in note and "22 in" not in note
    )
    assert amendments.places(changes, "irc-2021") == (LOW_WEIR,)
    assert amendments.places(changes, "irc-2018") == ()


def test_a_file_without_places_reads_as_before(tmp_path: Path) -> None:
    file = tmp_path / amendments.NAME
    text = amendments.render([change()])
    assert "place" not in text
    file.write_text(text, encoding="utf-8")
    assert amendments.read(file) == (change(),)
    file.write_text(amendments.render([change(place=LOW_WEIR)]), encoding="utf-8")
    assert amendments.read(file)[0].place == LOW_WEIR


def stone_house(**about: str) -> Job:
    document = jobfile.document(jobfile.demo("stonehouse"), "a demo")
    return Job.from_document({**document, "about": {**document["about"], **about}})


def test_a_job_says_whose_amendments_it_uses_and_its_findings_say_so() -> None:
    job, there = stone_house(), stone_house(amendments=LOW_WEIR)
    changes = [change("hearth.front", "below 6 ft2: 24 in; otherwise: 24 in", place=LOW_WEIR)]
    for of, place, verdict in ((job, "", Verdict.MEETS), (there, LOW_WEIR, Verdict.SHORT)):
        assessment = assess(of, amendments.amend(reference.load(), changes, place))
        front = next(f for f in assessment.stages["found"].findings if f.id == "hearth.front")
        assert front.verdict is verdict
        assert assessment.amended_for == place
        assert ("with the amendments of Low Weir" in judged_by(assessment)) is bool(place)
        assert any("changed for Low Weir" in basis.note for basis in front.basis) is bool(place)


def test_a_job_of_a_place_whose_amendments_are_not_kept_here_never_meets() -> None:
    job, there = stone_house(), stone_house(amendments=LOW_WEIR)
    told = {f.id: f for f in assess(there, reference.load()).stages["found"].findings}["record.amendments"]
    assert told.verdict is Verdict.REFER and told.counts and "Low Weir" in told.text
    assert "record.amendments" not in {f.id for f in assess(job, reference.load()).stages["found"].findings}
    kept = amendments.amend(reference.load(), [change(place=LOW_WEIR)], LOW_WEIR)
    assert "record.amendments" not in {f.id for f in assess(there, kept).stages["found"].findings}


def test_the_log_keeps_the_old_value_on_one_line() -> None:
    line = amendments.log_line(change("firebox.depth", "22 in"), "20 in", "22 in")
    assert line == "2026-05-04  irc-2021  firebox.depth: 20 in -> 22 in  by B. Official: town ordinance 12\n"


def test_an_unusual_value_is_said_on_every_result() -> None:
    edition = amendments.amend(reference.load(), [change("firebox.depth", "50 in")])
    assert "outside the usual" in edition["firebox.depth"].basis().note


def test_a_job_tells_when_values_have_changed_since_it_was_judged() -> None:
    doc = {
        "format": "hearthcalc-job",
        "version": 1,
        "face": [
            {
                "name": "study",
                "width": "36",
                "height": "30",
                "hearth": {"front": "20", "left": "12", "right": "12"},
            }
        ],
    }
    shipped = reference.load()
    job = Job.from_document(doc)
    first = assess(job, shipped)
    assert since_judged(job, shipped) is None
    saved = Job.from_document(
        doc
        | {
            "judged": {
                "edition": shipped.id,
                "fingerprint": shipped.fingerprint,
                "verdicts": verdict_lines(first),
            }
        }
    )
    assert saved.fingerprint == job.fingerprint
    same = since_judged(saved, shipped)
    assert same is not None and not same.values and not same.changed
    later = since_judged(saved, amendments.amend(shipped, [change()]))
    assert later is not None and later.values and not later.edition
    assert [now.split(" | ")[1] for _, now in later.changed] == ["hearth.left", "hearth.right"]
    assert all(then.endswith("MEETS") and now.endswith("SHORT") for then, now in later.changed)


def test_lines_of_a_hand_edited_job_that_say_nothing_are_passed_over() -> None:
    doc = {
        "format": "hearthcalc-job",
        "version": 1,
        "face": [{"name": "study"}],
        "judged": {"fingerprint": "then", "verdicts": ["nonsense"]},
    }
    job = Job.from_document(doc)
    since = since_judged(job, reference.load())
    assert since is not None and since.values


def test_a_constant_of_a_model_is_amended_with_or_without_its_unit() -> None:
    edition = reference.load()
    for text in ("3.5 W/(m2.K)", "3.5"):
        value = amendments.amend(edition, [change("draft.heat_loss.inside", text)])["draft.heat_loss.inside"]
        assert (value.shown, float(value.number)) == ("3.5 W/(m2.K)", 3.5)


OWN = "material,title,conductivity,density,source\nboard_x,Board X,0.12,700,maker's sheet\n"


def test_a_users_own_material_is_a_layer_like_any_other(tmp_path: Path) -> None:
    (tmp_path / amendments.MATERIALS).write_text(OWN, encoding="utf-8")
    rows = amendments.read_materials(tmp_path / amendments.NAME)
    edition = amendments.with_materials(reference.load(), rows)
    assert edition.fingerprint != reference.load().fingerprint
    layers = [{"material": "board_x", "thickness": "1"}]
    doc = {
        "format": "hearthcalc-job",
        "version": 1,
        "face": [
            {
                "name": "study",
                "width": "36",
                "height": "30",
                "hearth": {"specified_r": "0.2 m2.K/W", "layers": layers},
            }
        ],
    }
    job = Job.from_document(doc)
    told = next(f for f in assess(job, edition).stages["found"].findings if f.id == "heat.resistance")
    assert told.verdict is Verdict.MEETS  # 0.0254 m / 0.12 W/(m.K) = 0.2117 m2.K/W
    assert any(basis.standing == "edited here" and "Board X" in basis.title for basis in told.basis)
    without = next(
        f for f in assess(job, reference.load()).stages["found"].findings if f.id == "heat.resistance"
    )
    assert without.verdict is Verdict.MEASURE


def test_no_file_is_no_material(tmp_path: Path) -> None:
    assert amendments.read_materials(tmp_path / amendments.NAME) == ()


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("material,k\n", "line 1: The first line names other columns"),
        ("", "line 1: The first line names other columns"),
        (OWN + "b,B,0.1\n", "line 3: A cell is missing"),
        (OWN + "b,B,0.1,5,s,more\n", "line 3: A cell is missing"),
        (OWN + '\nb,"B,0.1,5,s\nc,C",0.1,5,s\n', "line 4: A quotation mark is not closed"),
        (OWN.replace("Board X", "B" * 200_000), "line 2: .*a cell is far too long"),
        (OWN.replace("Board X", "B" * 501), "line 2, title: It has more than 500"),
        (OWN.replace("Board X", "\u202e"), "line 2, title: It is empty"),
        (OWN.replace("maker's sheet", ""), "line 2, source: It is empty"),
        *(
            (OWN.replace("0.12", k), f"line 2, conductivity: {re.escape(why)}")
            for k, why in (
                ("", "It is empty. Write a number alone, as in 0.12. It is in W/(m.K)."),
                ("wood", '"wood" is not a plain number. Write a number alone'),
                ("1 1/2", '"1 1/2" is not a plain number'),
                ("1 ft2", '"1 ft2" is not a plain number'),
                ("20 C", '"20 C" is not a plain number'),
                ("0.12 W/(m.K)", '"0.12 W/(m.K)" is not'),
                ("50 %", '"50 %" is not'),
                ("nan", '"nan" is not'),
                ("inf", '"inf" is not'),
                ("1e9", '"1e9" is not'),
                ("-0.1", '"-0.1" is not'),
                ("\u0661", '"\u0661" is not'),
                ("1/0", '"1/0" is not a plain number'),
                ("1" * 400, "A number has more than 15 digits"),
                ("w" * 100_000, f'"{"w" * 40}..." is not'),
                ("0", "0 W/(m.K) is outside 0.01 to 500 W/(m.K). Is it in W/(m.K)?"),
                ("6000", "6000 W/(m.K) is outside 0.01 to 500"),
            )
        ),
        *(
            (OWN.replace("700", rho), f"line 2, density: {re.escape(why)}")
            for rho, why in (
                ("5 mph", '"5 mph" is not a plain number. Write a number alone, as in 0.12. It is in kg/m3.'),
                ("1 1/2", '"1 1/2" is not a plain number'),
                ("0", "0 kg/m3 is outside 5 to 23000 kg/m3"),
                ("-700", '"-700" is not'),
                ("inf", '"inf" is not'),
                ("700000", "700000 kg/m3 is outside"),
            )
        ),
    ],
)
def test_a_bad_file_of_materials_is_refused_with_its_line(tmp_path: Path, text: str, match: str) -> None:
    (tmp_path / amendments.MATERIALS).write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=f"materials.csv, {match}"):
        amendments.read_materials(tmp_path / amendments.NAME)


@pytest.mark.parametrize("odd", ["pipe", "folder", "device", "large", "bytes"])
def test_what_is_no_file_of_materials_is_refused_and_holds_nothing_up(
    odd: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "house.hearth.toml").write_text(jobfile.demo("inn"), encoding="utf-8")
    path = tmp_path / amendments.MATERIALS
    if odd == "pipe":
        os.mkfifo(path)
    elif odd == "folder":
        path.mkdir()
    elif odd == "device":
        path.symlink_to("/dev/zero")
    else:
        path.write_bytes(b"\xff" if odd == "bytes" else b"#" * (reference.MAX_BYTES + 1))
    assert cli.main(["check", str(tmp_path / "house.hearth.toml")]) == 4
    told = capsys.readouterr()
    why = {
        "pipe": "It is a device or a pipe, not a file. Look",
        "folder": "It is a folder. Look",
        "device": "It is a device or a pipe, not a file. Look",
        "large": "The file has more than 1,048,576 bytes. Is it",
        "bytes": "Byte 1 is not UTF-8 text. Save it",
    }
    assert told.out == "" and f"materials.csv: {why[odd]}" in told.err


def test_figures_of_materials_are_read_once_and_kept_exactly(tmp_path: Path) -> None:
    text = OWN.replace("0.12", ".125").replace("700", "") + "\r\n"
    (tmp_path / amendments.MATERIALS).write_bytes(b"\xef\xbb\xbf" + text.encode())
    (own,) = amendments.read_materials(tmp_path / amendments.NAME)
    assert (own.conductivity, own.density) == (Fraction(1, 8), None)
    edition = amendments.with_materials(reference.load(), [own])
    assert heat.materials(edition)["board_x"].conductivity == Fraction(1, 8)
