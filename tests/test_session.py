"""The open job without a screen: typing, steps, undo, names, stages, files, drafts."""

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from signs import SIGNS

from hearthcalc import jobfile
from hearthcalc.errors import FileError, UsageError
from hearthcalc.findings import Verdict
from hearthcalc_tui import storage
from hearthcalc_tui.sections.form import Row
from hearthcalc_tui.sections.rows import rows
from hearthcalc_tui.sections.table import place_of, sections
from hearthcalc_tui.session import Session, open_session, path_for, suggested_name

TEXT = """\
# a house that is made up
format = "hearthcalc-job"
version = 1
units = "in"

[about]
title = "Mill cottage"

[[face]]
name = "study"      # the old one
side = "front"
width = "36"        # at the floor
height = "30"
[face.hearth]
front = "20"

[flue]
liner = "13x13"

[[nearby]]
name = "oak mantel"
what = "mantel"
face = "study"
above = "13"
"""


@pytest.fixture(autouse=True)
def own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(storage, "state_folder", lambda: tmp_path / "state")
    monkeypatch.setattr(storage, "settings_folder", lambda: tmp_path / "settings")
    yield


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "mill.hearth.toml"
    file.write_text(TEXT)
    return file


@pytest.fixture
def session(path: Path) -> Iterator[Session]:
    opened = open_session(str(path))
    yield opened
    opened.file.release()


def enter(session: Session, address: str, text: str) -> None:
    session.type(address, text)
    session.keep()


def row(session: Session, key: str, stage: str = "found", thing: str = "") -> Row:
    for section in sections(session.job(stage), {"nearby": thing or "oak mantel"}):
        for found in rows(session, section, stage):
            if found.key == key:
                return found
    raise AssertionError(key)


def test_typing_is_judged_at_once_and_becomes_one_step(session: Session) -> None:
    for text in ("2", "20", "200", "20"):
        session.type("face.study.width", text)
    assert session.now.job.face[0].width.value == 20  # type: ignore[union-attr]
    assert session.last.job.face[0].width.value == 36  # type: ignore[union-attr]
    assert session.unsaved
    assert session.keep() == ("", "")
    assert session.last.job.face[0].width.value == 20  # type: ignore[union-attr]
    assert session.undo() == "Width of the opening (study)"
    assert session.last.job.face[0].width.value == 36  # type: ignore[union-attr]
    assert not session.unsaved
    assert session.undo() is None
    assert session.redo() == "Width of the opening (study)"
    assert session.redo() is None


def test_the_same_text_again_is_no_step(session: Session) -> None:
    session.type("face.study.width", "3")
    session.type("face.study.width", "36")
    assert session.keep() is None
    assert session.undo() is None


def test_a_change_after_undo_forgets_what_was_undone(session: Session) -> None:
    enter(session, "face.study.width", "30")
    session.undo()
    enter(session, "face.study.height", "24")
    assert session.redo() is None
    assert session.undo() == "Height of the opening (study)"


def test_typing_elsewhere_keeps_what_was_typed_before(session: Session) -> None:
    session.type("face.study.width", "40")
    session.type("face.study.height", "24")
    assert session.last.job.face[0].width.value == 40  # type: ignore[union-attr]


def test_an_entry_that_cannot_be_read_takes_no_old_number_with_it(session: Session) -> None:
    before = {f.id: f for f in session.assess().stages["found"].findings}
    assert before["flue.area"].verdict is Verdict.MEETS
    session.type("face.study.width", "36 [in")
    after = {f.id: f for f in session.assess().stages["found"].findings}
    assert after["flue.area"].verdict is Verdict.MEASURE
    assert "face.study.width" in after["flue.area"].missing
    assert "face.study.width" in session.mistakes()
    found = row(session, "face.width")
    assert found.text == "36 [in"
    assert found.note.kind == "mistake"
    assert session.wanting()[0] == "face.study.width"


def test_what_was_understood_is_told(session: Session) -> None:
    session.type("face.study.width", "7-1/2")
    found = row(session, "face.width")
    assert found.echo == "7 1/2 in = 190.5 mm"
    assert "7-1/2" in found.understood and "190.5 mm" in found.understood


def test_a_slip_of_unit_is_asked_about_and_not_refused(session: Session) -> None:
    session.type("face.study.width", "30 mm")
    found = row(session, "face.width")
    assert found.note.kind == "question"
    assert "30 in?" in found.note.text
    assert found.suggestion == "30 in"
    assert not session.mistakes()


def test_planned_is_written_over_found_and_leaves_it(session: Session) -> None:
    found = row(session, "face.width", "planned")
    assert (found.text, found.placeholder) == ("", "36")
    enter(session, "planned.face.study.width", "42")
    stages = session.now.stages
    assert stages["found"].job.face[0].width.value == 36  # type: ignore[union-attr]
    assert stages["planned"].job.face[0].width.value == 42  # type: ignore[union-attr]
    enter(session, "planned.face.study.width", "")
    assert "planned" not in session.now.stages
    assert "planned" not in session.now.document


def test_faces_are_added_renamed_and_removed_and_undone(session: Session) -> None:
    name = session.add("face", "found")
    assert name == "back"
    assert session.last.job.face[1].side == "back"
    session.type("face.back.name", "east room")
    assert session.keep() == ("back", "east room")
    assert session.things("face", "found") == ("study", "east room")
    session.type("face.study.name", "den")
    assert session.keep() == ("study", "den")
    assert session.last.job.nearby[0].face == "den"
    session.remove("face", "east room", "found")
    assert session.things("face", "found") == ("den",)
    with pytest.raises(UsageError, match="at least one face"):
        session.remove("face", "den", "found")
    for _ in range(4):
        assert session.undo() is not None
    assert session.last.document == open_session(str(session.file.path)).last.document


def test_more_than_four_faces_are_refused(session: Session) -> None:
    names = [session.add("face", "found") for _ in range(3)]
    assert names == ["back", "left", "right"]
    with pytest.raises(UsageError, match="at most 4 faces"):
        session.add("face", "found")


def test_a_name_that_is_taken_or_empty_is_told_and_not_taken(session: Session) -> None:
    session.add("face", "found")
    for text in ("study", "", "  "):
        session.type("face.back.name", text)
        note = row_of(session, "face.back.name").note
        assert note is not None and note.kind == "mistake"
        assert session.keep() is None
    assert session.things("face", "found") == ("study", "back")


def row_of(session: Session, address: str) -> Row:
    section, _ = place_of(session.job("found"), address)  # type: ignore[misc]
    return next(r for r in rows(session, section, "found") if r.address == address)


def test_a_face_has_one_name_found_and_planned(session: Session) -> None:
    name = session.add("face", "planned")
    assert row(session, "face.name", "planned").text == "study"
    enter(session, f"face.{name}.name", "terrace")
    assert session.things("face", "planned") == ("study", "terrace")
    enter(session, "planned.face.study.width", "40")
    enter(session, "face.study.name", "den")
    assert session.things("face", "found") == ("den",)
    assert session.things("face", "planned") == ("den", "terrace")


def test_a_face_starts_from_sizes_alone_and_one_step_takes_it_out(session: Session) -> None:
    given = {
        "width": "36 in", "height": "30", "arch": "segmental", "rise": "3", "opens_to": "bedroom", "closure": "doors", "gap_area": "8 in2",
        "hearth.front": "20", "hearth.below": "wood", "lintel.above": "stack", "lintel.wall_height": "40", "lintel.angle": "L4x4x1/4",
        "looked.above": "yes",
    }  # fmt: skip
    for place, text in given.items():
        enter(session, f"face.study.{place}", text)
    before = session.now.document
    name = session.add("face", "found", "study")
    copied = ("width", "height", "arch", "rise", "hearth.front", "lintel.wall_height", "lintel.angle")
    for place, text in given.items():
        assert session.entry(f"face.{name}.{place}") == (text if place in copied else "")
    assert session.now.job.face[1].lintel.wall_height == session.now.job.face[0].lintel.wall_height
    assert session.undo() == "face added: back, with the sizes of study"
    assert session.now.document == before


def test_a_planned_face_starts_from_the_sizes_that_are_planned(session: Session) -> None:
    enter(session, "face.study.width", "36")
    enter(session, "planned.face.study.width", "32")
    name = session.add("face", "planned", "study")
    assert session.entry(f"planned.face.{name}.width") == "32"
    assert session.things("face", "found") == ("study",)


def test_notes_keep_their_lines(session: Session) -> None:
    enter(session, "about.notes", "one ¶two")
    assert session.last.job.about.notes == "one \ntwo"
    assert row(session, "about.notes").text == "one ¶two"


@pytest.mark.parametrize(
    ("address", "text", "value"),
    [
        ("flue.offsets", "30 deg, 45 deg", ["30 deg", "45 deg"]),
        ("flue.offsets", "none", []),
        ('nearby."oak mantel".combustible', "yes", True),
        ("flue.inside", "11 1/4 x 11 1/4", "11 1/4 x 11 1/4"),
    ],
)
def test_an_entry_comes_back_as_it_was_typed(
    session: Session, address: str, text: str, value: object
) -> None:
    enter(session, address, text)
    assert address not in session.mistakes()
    here: object = session.last.job.document()
    from hearthcalc.job import parse_address

    for part in parse_address(address):
        here = next(t for t in here if t["name"] == part) if isinstance(here, list) else here[part]  # type: ignore[index]
    assert here == value
    assert row_of(session, address).text == text


@pytest.mark.parametrize(
    ("address", "text"),
    [("flue.offsets", "30 deg, bent")],
)
def test_a_list_of_which_a_part_cannot_be_read_stays_as_typed(
    session: Session, address: str, text: str
) -> None:
    enter(session, address, text)
    shown = row_of(session, address)
    assert shown.text == text
    assert shown.note is not None and shown.note.kind == "mistake"


def test_a_planned_face_and_a_planned_removal(session: Session) -> None:
    name = session.add("face", "planned")
    assert session.things("face", "found") == ("study",)
    assert session.things("face", "planned") == ("study", name)
    session.remove("face", name, "planned")
    assert "planned" not in session.now.stages
    session.add("face", "planned")
    session.remove("face", "study", "planned")
    assert session.things("face", "found") == ("study",)
    assert session.things("face", "planned") == ("back",)


@pytest.mark.parametrize("kind", ["nearby", "roof", "fans"])
def test_things_are_added_and_removed(session: Session, kind: str) -> None:
    before = session.things(kind, "found")
    first, second = session.add(kind, "found"), session.add(kind, "found")
    assert session.things(kind, "found") == (*before, first, second)
    session.remove(kind, first, "found")
    assert session.things(kind, "found") == (*before, second)


def test_units_turned_twice_change_no_length(session: Session) -> None:
    before = {f.key: f.verdict for f in session.assess().stages["found"].findings}
    session.turn_units()
    assert session.now.job.units == "mm"
    assert session.now.job.face[0].width.value == 36  # type: ignore[union-attr]
    session.turn_units()
    assert session.now.job.units == "in" and not session.unsaved
    assert {f.key: f.verdict for f in session.assess().stages["found"].findings} == before


def test_units_turned_back_leave_what_was_typed_meanwhile(session: Session) -> None:
    """What a tape reads stands in whole or fine millimeters: 7 1/2 in is 190.5 mm, 1/3 of an inch is none."""
    enter(session, "face.study.hearth.facing", "1/3")
    enter(session, "face.study.hearth.thickness", "7 1/2 in")
    session.turn_units()
    shown = [session.entry(f"face.study.hearth.{name}") for name in ("facing", "thickness")]
    assert shown == ["1/3 in", "7 1/2 in"]
    assert session.entry("face.study.width") == "914.4"
    enter(session, "face.study.hearth.left", "300")
    session.turn_units()
    assert session.entry("face.study.width") == "36" and session.entry("face.study.hearth.facing") == "1/3"
    assert session.entry("face.study.hearth.left") == "300 mm"


def test_every_missing_measurement_has_a_field(session: Session) -> None:
    session.add("face", "planned")
    for address in session.wanting():
        stage = "planned" if address.startswith("planned.") else "found"
        place = place_of(session.job(stage), address)
        assert place is not None, address
        assert address in [r.address for r in rows(session, place[0], stage)]


def test_a_section_has_at_most_a_dozen_fields_and_no_field_stands_twice(session: Session) -> None:
    seen: list[str] = []
    for section in sections(session.job("found"), {"nearby": "oak mantel"}):
        assert len(section.addresses) <= 12
        seen += section.addresses
    assert len(seen) == len(set(seen))


def test_every_entry_of_the_record_has_a_place_on_the_screen() -> None:
    from hearthcalc.job import FIELDS
    from hearthcalc_tui.sections.table import KINDS

    shown = {key for kind in KINDS for key, _ in kind.fields}
    tables = {
        "face",
        "nearby",
        "roof",
        "air.fans",
        "face.hearth.layers",
        "photo",
        "signed",
    }  # lists: sections of their own
    # A command turns the units; nobody types the others.
    elsewhere = {"format", "version", "units"} | {key for key in FIELDS if key.startswith("judged.")}
    elsewhere |= {"signed.fingerprint", "signed.values"}  # a command writes them
    removals = {f"{thing}.remove" for thing in ("face", "nearby", "roof")}  # a command, as planned
    assert set(FIELDS) - shown == (tables | elsewhere | removals) & set(FIELDS)
    assert shown <= set(FIELDS)


# Files


def test_saving_keeps_comments_order_and_mode(session: Session, path: Path) -> None:
    path.chmod(0o600)
    enter(session, "face.study.width", "40")
    assert session.save(path) == f"Saved: {path}"
    assert path.read_text().startswith(TEXT.replace('width = "36" ', 'width = "40" '))
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert not session.unsaved


def test_an_unreadable_entry_is_left_out_of_the_file_and_told(session: Session, path: Path) -> None:
    enter(session, "face.study.width", "wide")
    told = session.save(path)
    assert "1 entry that cannot be read is not in the file: face.study.width" in told
    assert jobfile.load(path).face[0].width is None
    assert row_of(session, "face.study.width").text == "wide"


def test_a_failed_save_loses_nothing(session: Session, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    enter(session, "face.study.width", "40")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="the disk is full"):
        session.save(path)
    assert path.read_text() == TEXT
    assert session.unsaved
    assert session.now.job.face[0].width.value == 40  # type: ignore[union-attr]


def test_a_change_by_another_program_is_noticed(session: Session, path: Path) -> None:
    assert not session.file.changed_on_disk()
    path.write_text(TEXT + "\n# more\n")
    assert session.file.changed_on_disk()


def test_saving_under_another_name_moves_there(session: Session, path: Path, tmp_path: Path) -> None:
    other = path_for(str(tmp_path / "other"))
    assert other.name == "other.hearth.toml"
    session.save(other)
    assert session.file.path == other
    assert path.read_text() == TEXT
    assert not session.file.changed_on_disk()


def test_a_new_job_has_one_face_and_a_name_to_suggest() -> None:
    session = open_session("")
    assert session.things("face", "found") == ("room",)
    assert not session.unsaved
    assert suggested_name(session.now.job.about.title) == "fireplace.hearth.toml"
    enter(session, "about.title", "Größe/../Haus 7")
    assert "/" not in suggested_name(session.now.job.about.title)
    session.file.release()


def test_what_is_no_job_is_refused_with_its_place(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such file"):
        open_session(str(tmp_path / "nowhere"))
    bad = tmp_path / "bad.hearth.toml"
    bad.write_text(TEXT.replace('"36"', '"36 [in"'))
    with pytest.raises(FileError, match=r"face\.study\.width") as caught:
        open_session(str(bad))
    assert caught.value.exit_code == 4


# Drafts


def keep_draft(session: Session) -> None:
    draft = session.draft()
    assert draft is not None
    draft.write()


def test_a_draft_is_offered_with_what_differs_and_taken(session: Session, path: Path) -> None:
    enter(session, "face.study.width", "wide [in]")
    keep_draft(session)
    session.file.release()
    again = open_session(str(path))
    left = again.draft_left()
    assert left is not None
    assert len(left.differs) == 1
    assert left.differs[0] == "Width of the opening (study): 36 → wide [in]"
    assert not left.file_changed
    again.take_draft(left, at_once=True)
    assert row_of(again, "face.study.width").text == "wide [in]"
    assert again.unsaved
    again.undo()
    assert not again.unsaved
    again.file.release()


def test_a_draft_older_than_the_file_says_so(session: Session, path: Path) -> None:
    enter(session, "face.study.width", "40")
    keep_draft(session)
    session.file.release()
    path.write_text(TEXT + "\n# more\n")
    again = open_session(str(path))
    left = again.draft_left()
    assert left is not None and left.file_changed
    again.file.release()


def test_a_draft_that_is_not_taken_can_still_be_reached(session: Session, path: Path) -> None:
    enter(session, "face.study.width", "40")
    keep_draft(session)
    session.file.release()
    again = open_session(str(path))
    left = again.draft_left()
    assert left is not None
    again.take_draft(left, at_once=False)
    assert not again.unsaved
    again.redo()
    assert again.last.document == session.last.document
    again.file.release()


def test_saving_drops_the_draft(session: Session, path: Path) -> None:
    enter(session, "face.study.width", "40")
    keep_draft(session)
    session.save(path)
    assert session.draft_left() is None
    assert not list((storage.state_folder() / "drafts").glob("*.json"))


def test_a_draft_that_says_the_same_is_none(session: Session) -> None:
    draft = session.draft()
    assert draft is not None
    replace(draft, unsaved=True).write()
    assert session.draft_left() is None


def test_the_second_window_keeps_no_draft(session: Session, path: Path) -> None:
    other = open_session(str(path))
    assert other.file.elsewhere
    assert other.draft() is None
    session.file.release()


@given(
    st.lists(
        st.one_of(
            st.tuples(
                st.sampled_from(["face.study.width", "face.study.height", "planned.firebox.depth"]),
                st.text(SIGNS, max_size=8),
            ),
            st.sampled_from(["undo", "redo", "units", "add", "keep"]),
        ),
        max_size=25,
    )
)
@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_walk_of_steps_can_be_undone_to_the_start_and_done_again(steps: list[object]) -> None:
    """A property: edit, undo and redo in any order; undoing all comes back to the file, redoing all to the end."""
    session = Session(jobfile.document(TEXT, "test"))
    start = session.last.document
    for step in steps:
        if isinstance(step, tuple):
            session.type(*step)
        elif step == "undo":
            session.undo()
        elif step == "redo":
            session.keep()
            session.redo()
        elif step == "units":
            session.keep()
            session.turn_units()
        elif step == "add":
            session.keep()
            session.add("nearby", "found")
        else:
            session.keep()
    session.assess()
    session.keep()
    while session.redo() is not None:
        pass
    end = session.last.document
    count = 0
    while session.undo() is not None:
        count += 1
    assert session.last.document == start
    while session.redo() is not None:
        count -= 1
    assert count == 0
    assert session.last.document == end
    session.file.release()


@pytest.mark.parametrize("answer", ["~nobody-of-this-name", "/", ".", "..", "~", "sub/"])
def test_a_name_that_means_no_file_is_a_name_or_told(
    answer: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a folder alone no name is made: "~" was a file beside the home, "sub/" one beside the folder."""
    monkeypatch.chdir(tmp_path)
    if answer == "~nobody-of-this-name":
        assert path_for(answer) == Path("~nobody-of-this-name.hearth.toml")
    else:
        with pytest.raises(FileError, match="names a folder"):
            path_for(answer)
    with pytest.raises(FileError, match=r"no such file|is a folder|Cannot read"):
        open_session(answer)


def test_what_models_found_by_other_values_is_not_heard() -> None:
    """They may have begun before an amendment came, or the job was saved in another town's folder."""
    session = open_session("demo:inn")
    rules = session.assess()
    full = session.judge.with_models(session.now, rules)
    assert not session.hear(session.now, replace(full, edition_fingerprint="other"))
    assert not session.modelled
    assert session.assess() is rules
    assert session.hear(session.now, full)
    assert session.modelled
    assert session.assess() is full
    session.judge.read_amendments(None)
    assert not session.modelled


@pytest.mark.parametrize(("mode", "told"), [(0o644, ""), (0o444, "is read-only")])
def test_a_job_file_that_may_only_be_read_is_asked_about(mode: int, told: str, tmp_path: Path) -> None:
    path = tmp_path / "mill.hearth.toml"
    path.write_text('format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "study"\n')
    path.chmod(mode)
    session = open_session(str(path))
    assert told in session.file.in_the_way(path)[1]
    assert bool(session.file.in_the_way(path)[1]) == bool(told)
    session.file.release()


@pytest.mark.parametrize("now", ["a folder", "no TOML"])
def test_unsaved_work_whose_file_cannot_be_opened_is_gone_on_with_all_the_same(
    now: str, tmp_path: Path
) -> None:
    path = tmp_path / "mill.hearth.toml"
    box = storage.DraftBox(path)
    box.keep({"format": "hearthcalc-job", "version": 1, "about": {"title": "Old mill"}}, "")
    if now == "a folder":
        path.mkdir()
    else:
        path.write_text("[[[")
    session = open_session(f"recovered:{box.name}")
    assert session.now.job.about.title == "Old mill" and session.unsaved
    assert session.file.path is None and str(path) in session.file.lost
    assert box.find() is not None, "until it is saved"
    session.take([("about.title", "Low Weir")])
    draft = session.draft()
    assert draft is not None
    draft.write()
    found = box.find()
    assert found is not None and found.of == str(path), "it is still known whose it is"
    assert "unsaved work" not in session.file.in_the_way(path)[1], "that is the work in hand"
    session.file.release()


def test_what_was_unsaved_of_a_file_goes_when_another_job_is_saved_over_it(tmp_path: Path) -> None:
    """Offered at its next start, one yes would have put it over the job that stands there now."""
    mill, barn = tmp_path / "mill.hearth.toml", tmp_path / "barn.hearth.toml"
    for path in (mill, barn):
        path.write_text('format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "study"\n')
    storage.DraftBox(barn).keep(
        {"format": "hearthcalc-job", "version": 1, "about": {"title": "Old barn"}}, ""
    )
    session = open_session(str(mill))
    assert "Its unsaved work goes too" in session.file.in_the_way(barn)[1]
    session.save(barn)
    assert storage.DraftBox(barn).find() is None
    session.file.release()


@pytest.mark.parametrize("left", [False, True])
def test_a_window_takes_a_draft_over_from_one_that_closes_unless_work_was_left_there(
    left: bool, tmp_path: Path
) -> None:
    path = tmp_path / "mill.hearth.toml"
    path.write_text('format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "study"\n')
    first, second = open_session(str(path)), open_session(str(path))
    assert not second.file.take_over(), "it is still open"
    if left:
        first.take([("about.title", "Old mill")])
        draft = first.draft()
        assert draft is not None
        draft.write()
    first.file.release()
    assert second.file.take_over() != left
    assert second.file.elsewhere == left
    second.file.release()
