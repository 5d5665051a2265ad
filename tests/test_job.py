"""The record of a job: what it accepts and refuses, what is planned over it, its addresses and its schema."""

import datetime as dt
from copy import deepcopy
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from signs import SIGNS
from truth.every_entry import EVERY as FULL

from hearthcalc import job as record
from hearthcalc.errors import EntryError
from hearthcalc.job import FIELDS, Amount, Job, JobError, Problem
from hearthcalc.job.planning import SIZES
from hearthcalc.job.record import with_values


def minimal(**more: Any) -> dict[str, Any]:
    return {"format": "hearthcalc-job", "version": 1, "face": [{"name": "study", "side": "front"}], **more}


def changed(address: str, value: Any) -> dict[str, Any]:
    """The full document with one entry changed."""
    return record.set_entry(FULL, address, value)


def problems(document: dict[str, Any]) -> tuple[Problem, ...]:
    with pytest.raises(JobError, match=r".") as caught:
        Job.from_document(document)
    return caught.value.problems


def planned(document: dict[str, Any], **tables: Any) -> record.Stage:
    return Job.from_document({**document, "planned": tables}).stages()["planned"]


# What the record holds


def test_every_key_of_the_file_is_read_and_written_back() -> None:
    job = Job.from_document(FULL)
    assert job.document() == FULL
    assert list(job.document()) == list(FULL)
    assert Job.from_document(job.document()) == job
    assert record.read(job.document()) == (job, {})


def test_values_are_canonical_exact_and_keep_their_text() -> None:
    job = Job.from_document(FULL)
    assert job.face[0].hearth.thickness == Amount(Fraction(11, 4), "2 3/4")
    assert job.flue.height == Amount(Fraction(240), "20 ft")
    assert job.flue.inside is not None
    assert (job.flue.inside.a.value, job.flue.inside.text) == (Fraction(47, 4), "11 3/4 x 11 3/4")
    assert job.site.outdoor is not None and job.site.outdoor.value == 0
    assert job.roof[0].pitch is not None and job.roof[0].pitch.value == Fraction(1, 2)
    assert job.air.storeys is not None and job.air.storeys.value == 2
    assert job.flue.offsets is not None and [bend.value for bend in job.flue.offsets] == [30, 30]
    assert job.flue.shared_with == ""
    assert job.about.date == dt.date(2026, 5, 4)


def test_what_is_missing_is_not_known_and_never_zero() -> None:
    job = Job.from_document(minimal())
    defaults = {"format", "version", "units", "about.edition", "about.measured", "face.name", "face.side"}
    for key in FIELDS:
        parts = key.split(".")
        path = ["face", "study", *parts[1:]] if parts[0] == "face" else parts
        known = record.get(job, record.join_address(path))
        assert (known is not None) == (
            key in defaults or key in ("face", "nearby", "roof", "photo", "signed")
        ), key
    assert (job.units, job.about.edition, job.about.measured) == ("in", "irc-2021", True)
    assert job.air.fans is None and job.flue.offsets is None and job.face[0].hearth.layers is None


def test_an_empty_list_says_that_there_is_none() -> None:
    job = Job.from_document(minimal(air={"fans": []}, flue={"offsets": []}))
    assert job.air.fans == () and job.flue.offsets == ()
    assert job.document()["air"] == {"fans": []}


def test_lengths_are_text_or_numbers_in_units() -> None:
    for number in (36, 36.0, Fraction(36), "36", "3 ft", "914.4 mm"):
        job = Job.from_document(changed("face.study.width", number))
        assert job.face[0].width is not None and job.face[0].width.value == 36, number
    metric = Job.from_document(minimal(units="mm", face=[{"name": "study", "width": 914.4}]))
    assert metric.face[0].width == Amount(Fraction(36), "914.4")


def test_airtightness_is_a_test_result_or_a_word() -> None:
    assert Job.from_document(changed("air.airtightness", "leaky")).air.airtightness == "leaky"
    assert Job.from_document(FULL).air.airtightness == Amount(Fraction(7), "7 ACH50", unit="ACH50")


@pytest.mark.parametrize("typed", ["13x13", "13 x 13", "13 X 13", "13×13", "13 by 13"])
def test_liner_sizes_are_written_one_way(typed: str) -> None:
    assert Job.from_document(changed("flue.liner", typed)).flue.liner == "13x13"


def test_a_round_liner_may_be_a_number() -> None:
    assert Job.from_document(changed("flue.liner", 12)).flue.liner == "12"


def test_the_record_is_frozen() -> None:
    job = Job.from_document(FULL)
    with pytest.raises(AttributeError, match="cannot be changed"):
        job.firebox.depth = None
    with pytest.raises(AttributeError, match="cannot be changed"):
        del job.firebox.depth


@pytest.mark.parametrize(
    "address",
    ["about.title", "about.place", "about.notes", "about.measured_by", "flue.shared_with", "face.study.name"],
)
def test_control_and_direction_characters_are_stripped_from_what_is_only_read(address: str) -> None:
    hostile = "a\x1b[31m\u202eb\u2066\x00\tc\u2028d"
    key = address.split(".")[-1]
    document = deepcopy(FULL)
    target = document["face"][0] if key == "name" else document[address.split(".")[0]]
    target[key] = hostile
    for thing in document["nearby"]:
        thing.pop("face", None)
    job, told = record.read(document)
    assert told == {}
    text = job.face[0].name if key == "name" else record.get(job, address)
    assert text == "a[31mb c d"


def test_notes_keep_their_lines() -> None:
    assert Job.from_document(changed("about.notes", "one\r\ntwo\x07\n")).about.notes == "one\ntwo"


# What it refuses


REFUSED: list[tuple[str, Any, str]] = [
    ("face.study.width", "wide", "."),
    ("face.study.width", "7,5", "comma"),
    ("face.study.width", True, "true is not a length"),
    ("face.study.width", float("nan"), "nan is not a measurement"),
    ("face.study.width", float("inf"), "inf is not a measurement"),
    ("face.study.width", -3, "sign"),
    ("face.study.width", [36], "A list is not a length"),
    ("face.study.width", {"value": 36}, "A table is not a length"),
    ("face.study.width", 10**400, "too large"),
    ("face.study.width", "21 ft", "252 in is outside 1 in to 240 in"),
    ("face.study.width", "3\u202e6", "does not show"),
    ("flue.height", "20", "20 in is outside 48 in to 2400 in"),
    ("flue.area", 127, "127 is not text with a unit"),
    ("flue.area", "127", "no unit"),
    ("flue.area", "127 cfm", "unit of a flow"),
    ("flue.inside", "11 1/4", "Only one length was typed"),
    ("flue.inside", 11, "11 is not a size"),
    ("flue.offsets", "30 deg", "is not a list"),
    ("flue.offsets", ["30 deg", "120 deg"], "Number 2: 120 deg is outside -90 deg to 90 deg"),
    ("flue.liner", "", "empty"),
    ("flue.liner", "13x\x1b13", "does not show"),
    ("flue.damper", "top", "damper is not a key of"),
    ("firebox.damper", "tp", '"tp" is not a valid choice'),
    ("firebox.smoke_chamber_slope", "45", "no unit"),
    ("site.shelter", 7, "outside"),
    ("site.shelter", "half", "."),
    ("air.storeys", 1.5, "not a whole number"),
    ("air.storeys", "two", "not a whole number"),
    ("air.airtightness", "drafty", "."),
    ("air.airtightness", 7, "not text with a unit"),
    ("use.open_together", "no", "neither true nor false"),
    ("use.open_together", 0, "neither true nor false"),
    ("about.title", 7, "is not text"),
    ("about.date", "May 4", "is not a day"),
    ("about.date", "2026-02-30", "is not a day"),
    ("about.date", dt.datetime(2026, 5, 4, 12), "is not a day"),
    ("about.edition", "irc\u20662021", "does not show"),
    ("face.study.lintel.angle", "L3\x07", "does not show"),
    ("nearby.oak mantel.protection", "a\nb", "does not show"),
    ("firebox", "brick", "is not a table"),
    ("face", {"name": "study"}, "A table is not a list"),
    ("roof", [{}] * 1001, "1001 entries stand in one list"),
    ("version", True, "true is not a version"),
    ("version", "1", "is not a version"),
    ("format", "other", "is not a valid choice"),
    ("units", "cm", "is not a valid choice"),
]


@pytest.mark.parametrize(("address", "value", "says"), REFUSED)
def test_what_cannot_be_read_is_refused_and_told_by_address(address: str, value: Any, says: str) -> None:
    document = deepcopy(FULL)
    *above, key = address.split(".")
    table: Any = document
    for part in above:
        table = table[part] if isinstance(table, dict) else next(t for t in table if t["name"] == part)
    table[key] = value
    document["planned"] = {}
    if address == "face":
        document |= {"nearby": [], "site": {}}
    document.get("site", {}).pop("wind_on", None)
    with pytest.raises(JobError, match=says):
        Job.from_document(document)
    job, told = record.read(document)
    quoted = record.join_address([*above, key])
    assert quoted in told and told[quoted].fix
    assert record.get(job, quoted) in (None, (), "in", "irc-2021", 1, "hearthcalc-job", record.Firebox())


def test_each_mistake_is_listed() -> None:
    document = changed("face.study.width", "wide")
    document = record.set_entry(document, "firebox.depth", "deep")
    document["flue"] = {**document["flue"], "linr": "13x13"}
    told = problems(document)
    assert [problem.address for problem in told] == ["face.study.width", "firebox.depth", "flue.linr"]
    assert told[2].fix == "Did you mean liner?"


def test_the_rest_of_a_job_stays_readable() -> None:
    job, told = record.read(changed("face.study.width", "wide"))
    assert list(told) == ["face.study.width"]
    assert job.face[0].width is None and job.face[0].height == Amount(Fraction(30), "30")


def test_bare_numbers_are_not_guessed_where_units_cannot_be_read() -> None:
    job, told = record.read({**minimal(firebox={"depth": "20", "wall": "8 in"}), "units": "ft"})
    assert set(told) == {"units", "firebox.depth"}
    assert job.firebox.wall is not None


@pytest.mark.parametrize(
    ("table", "key", "what", "fix"),
    [
        ((), "unit", "unit is not a key of the top of the file", "Did you mean units?"),
        (("firebox",), "throat_heigth", "not a key of [firebox]", "Did you mean throat_height?"),
        (
            ("face", 0, "hearth"),
            "closure",
            "a key of [[face]], but it stands in [face.hearth]",
            "Move it up, above the line [face.hearth]",
        ),
        (
            ("about",),
            "units",
            "a key of the top of the file, but it stands in [about]",
            "above the line [about]",
        ),
        (("face", 0), "bearing", "not a key of [[face]]", "Move it below [face.lintel]"),
        (("planned", "firebox"), "depht", "not a key of [planned.firebox]", "Did you mean depth?"),
        (("face", 0, "hearth"), "frnt", "not a key of [face.hearth]", "Did you mean front?"),
        (("flue",), "zzz", "not a key of [flue]", "Its keys are: liner, shape"),
        (("flue",), "zz\x1bz", "zzz is not a key", "Its keys are"),
    ],
)
def test_unknown_keys_are_refused_with_the_nearest_known(
    table: tuple[str | int, ...], key: str, what: str, fix: str
) -> None:
    document = deepcopy(FULL)
    place: Any = document
    for step in table:
        place = place[step]
    place[key] = "1"
    (problem,) = problems(document)
    assert what in problem.what and fix in problem.fix
    assert problem.path == (*table, key)


@pytest.mark.parametrize(
    ("place", "fix"),
    [
        ({"face": ["brick"]}, "Write [[face]] and"), ({"air": {"fans": [3]}}, "Write [[air.fans]] and"),
        ({"firebox": "brick"}, "Write [firebox] and"), ({"planned": {"roof": [3]}}, "Write [[planned.roof]] and"),
    ],
)  # fmt: skip
def test_what_is_no_table_is_told_with_the_line_that_begins_one(place: dict[str, Any], fix: str) -> None:
    (problem,) = problems(minimal(**place))
    assert "is not a table" in problem.what and fix in problem.fix


def test_a_job_says_that_it_is_one() -> None:
    told = problems({"face": [{"name": "study"}]})
    assert [problem.what for problem in told] == ["The file has no format.", "The file has no version."]


def test_faces_have_names_of_their_own_and_are_one_to_four() -> None:
    assert problems({**minimal(), "face": []})[0].what == "There is no face."
    assert problems({**minimal(), "face": [{"width": "36"}]})[0].what == "A face has no name."
    assert (
        "Two entries of [[face]] are called a"
        in problems({**minimal(), "face": [{"name": "a"}, {"name": "a"}]})[0].what
    )
    four = [{"name": name} for name in "abcd"]
    assert len(Job.from_document({**minimal(), "face": four}).face) == 4
    five = {**minimal(), "face": [*four, {"name": "e"}]}
    assert "more than 4 faces" in problems(five)[0].what
    assert [face.name for face in record.read(five)[0].face] == ["a", "b", "c", "d"]


def test_a_job_without_a_face_can_still_be_shown() -> None:
    job, told = record.read({**minimal(), "face": [{"width": "36"}]})
    assert job.face == ()
    assert {problem.what for problem in told.values()} == {"A face has no name.", "There is no face."}


def test_things_without_a_name_are_called_by_what_they_are() -> None:
    things = [
        {"what": "mantel"},
        {"above": "5"},
        {"what": "mantel"},
        {"name": "mantel 2"},
        {"what": "mantel"},
    ]
    job = Job.from_document(
        minimal(nearby=things, roof=[{"pitch": "6:12"}], air={"fans": [{"flow": "80 cfm"}]})
    )
    assert [thing.name for thing in job.nearby] == ["mantel", "thing", "mantel 3", "mantel 2", "mantel 4"]
    assert job.roof[0].name == "roof" and job.air.fans and job.air.fans[0].name == "fan"
    assert job.document()["nearby"] == things
    assert record.get(job, "nearby.thing.above") == Amount(Fraction(5), "5")
    assert record.get(job, "air.fans.fan.flow") == Amount(Fraction(80), "80 cfm", unit="cfm")


CONTRADICTIONS = [
    ({"face": [{"name": "a", "arch": "flat", "rise": "4"}]}, "face.a.rise", "A flat opening has no rise"),
    ({"face": [{"name": "a", "arch": "segmental", "width": "36", "rise": "18 1/8"}]}, "face.a.rise", "more than half the width"),
    ({"face": [{"name": "a", "arch": "segmental", "height": "12", "rise": "12"}]}, "face.a.rise", "not less than the whole height"),
    ({"face": [{"name": "a", "arch": "semicircular", "width": "60 1/4", "height": "30"}]}, "face.a.height", "half circle"),
    ({"firebox": {"wall": "2", "lining": "2 1/2"}}, "firebox.lining", "thicker than the wall"),
    ({"firebox": {"throat_height": "48"}, "flue": {"height": "48"}}, "flue.height", "end below the throat"),
    ({"nearby": [{"name": "m", "face": "study", "at": "chimney"}]}, "nearby.m.at", "near a face and at a wall"),
    ({"nearby": [{"name": "m", "face": "attic"}]}, "nearby.m.face", "no face called attic"),
    ({"site": {"wind_on": "attic"}}, "site.wind_on", "no face called attic"),
    ({"planned": {"face": [{"name": "x", "remove": True}]}}, "planned.face.x", "was not found"),
    ({"planned": {"face": [{"name": "study", "remove": True, "width": "3"}]}}, "planned.face.study.remove", "yet more is planned"),
    ({"planned": {"face": [{"name": "study", "remove": True}]}}, "planned.face.study", "No face is left"),
    ({"planned": {"face": [{"name": n} for n in "abcd"]}}, "planned.face.d", "more than 4 faces"),
    ({"planned": {"nearby": [{"what": "trim"}]}}, "planned.nearby", "has no name"),
    ({"nearby": [{"what": "trim"}], "planned": {"nearby": [{"name": "trim"}]}}, "planned.nearby.trim", "it has no name"),
    ({"planned": {"nearby": [{"name": "m", "face": "attic"}]}}, "planned.nearby.m.face", "no face called attic"),
    ({"planned": {"site": {"wind_on": "attic"}}}, "planned.site.wind_on", "no face called attic"),
    ({"planned": {"firebox": {"wall": "8", "lining": "9"}}}, "planned.firebox.lining", "As planned: The lining"),
    (
        {"face": [{"name": "a", "arch": "segmental", "width": "36", "rise": "12"}],
         "planned": {"face": [{"name": "a", "width": "20", "rise": "12"}]}},
        "planned.face.a.rise", "As planned: The rise is more than half",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("more", "address", "says"), CONTRADICTIONS)
def test_what_is_certainly_a_mistake_is_told(more: dict[str, Any], address: str, says: str) -> None:
    document = {**minimal(), **more}
    (problem,) = problems(document)
    assert problem.address == address and says in problem.what and problem.fix
    assert record.read(document)[1] == {address: problem}


def test_what_may_be_right_is_not_told() -> None:
    face = {"name": "a", "arch": "segmental", "width": "36", "height": "30", "rise": "18"}
    half_round = {"name": "b", "arch": "semicircular", "width": "60", "height": "30"}
    assert Job.from_document(minimal(face=[face, half_round])).face[0].rise is not None


# Ranges


def test_usual_ranges_are_told_and_do_not_refuse() -> None:
    job = Job.from_document(minimal(firebox={"depth": "40"}, planned={"flue": {"inside": "31 x 8"}}))
    assert record.unusual(job) == {
        "firebox.depth": "40 in is outside the usual 12 in to 36 in: is it right?",
        "planned.flue.inside": "31 in is outside the usual 4 in to 30 in: is it right?",
    }
    assert record.unusual(Job.from_document(minimal(firebox={"depth": "36"}))) == {}


@pytest.mark.parametrize(
    ("text", "unit", "question"),
    [
        ("30", "mm", "30 mm? Did you mean 30 in?"),
        ("30 mm", "in", "30 mm? Did you mean 30 in?"),
        ("762 in", "mm", "762 in? Did you mean 762 mm?"),
        ("30", "in", None),
        ("762", "mm", None),
        ("2 ft 6 in", "mm", None),
        ("5", "mm", None),
        ("x", "mm", None),
        ("", "mm", None),
    ],
)
def test_a_slip_of_unit_is_asked_about(text: str, unit: Any, question: str | None) -> None:
    slip = record.slip_of_unit(FIELDS["face.width"], text, unit)
    assert (slip.question if slip else None) == question


def test_only_lengths_can_slip() -> None:
    assert record.slip_of_unit(FIELDS["flue.area"], "30", "mm") is None


def test_every_field_says_what_it_is_and_how_to_measure_it() -> None:
    for key, spec in FIELDS.items():
        assert spec.key == key and spec.label and spec.how.endswith((".", "?", "one")), key
        assert len(spec.label) <= 40, key
        if spec.hard and spec.usual:
            assert spec.hard[0] <= spec.usual[0] < spec.usual[1] <= spec.hard[1], key
        else:
            assert spec.kind in ("choice", "bool", "text", "date", "version", "list"), key
        assert set(spec.words) <= set(spec.choices), key
    assert (
        FIELDS["face.width"].unit == "in"
        and FIELDS["site.outdoor"].unit == "C"
        and FIELDS["fire.size"].unit == ""
    )


# Stages


def test_a_changed_copy_of_a_job_has_stages_of_its_own() -> None:
    """Stages are kept for the last job asked for, and are never another one's."""
    job = Job.from_document(
        {"format": "hearthcalc-job", "version": 1, "face": [{"name": "study", "width": "30"}]}
    )
    assert job.stages() is job.stages()
    wider = with_values(job.face[0], {"width": Amount(Fraction(40), "40")})
    other = with_values(job, {"face": (wider,)})
    assert other.stages()["found"].job.face[0].width == Amount(Fraction(40), "40")
    assert job.stages()["found"].job.face[0].width == Amount(Fraction(30), "30")


def test_a_job_with_nothing_planned_has_one_stage() -> None:
    job = Job.from_document({**FULL, "planned": {}, "site": {}})
    assert list(job.stages()) == ["found"]
    assert job.stages()["found"].job == job


def test_planned_values_are_intentions_and_found_ones_stay_measured() -> None:
    stage = Job.from_document(FULL).stages()["planned"]
    assert [face.name for face in stage.job.face] == ["study", "workshop"]
    study, workshop = stage.job.face
    assert study.width == Amount(Fraction(36), "36") and workshop.width == Amount(
        Fraction(36), "36", intended=True
    )
    assert workshop.hearth.front == Amount(Fraction(20), "20", intended=True)
    assert stage.job.firebox.depth == Amount(Fraction(24), "24", intended=True)
    assert stage.job.firebox.lining == Amount(Fraction(5, 2), "2 1/2")
    assert stage.job.planned == record.Planned()


def test_a_job_that_is_not_measured_is_all_intentions() -> None:
    found = Job.from_document(changed("about.measured", False)).stages()["found"].job
    assert found.firebox.wall is not None and found.firebox.wall.intended
    assert found.flue.inside is not None and found.flue.inside.b.intended
    assert found.flue.offsets is not None and found.flue.offsets[1].intended
    layers = found.face[0].hearth.layers
    assert layers is not None and layers[0].thickness is not None and layers[0].thickness.intended


def test_tables_merge_key_by_key_and_lists_replace() -> None:
    stage = planned(
        {**FULL, "site": {}},
        air={"fans": [], "makeup": "90 cfm"},
        face=[
            {"name": "study", "hearth": {"front": "24", "layers": [{"material": "slate", "thickness": "1"}]}}
        ],
        flue={"offsets": ["15 deg"]},
    )
    assert stage.job.air.fans == () and stage.job.air.vent == Amount(Fraction(0), "0 in2", unit="in2")
    hearth = stage.job.face[0].hearth
    assert hearth.front == Amount(Fraction(24), "24", intended=True) and hearth.left == Amount(
        Fraction(12), "12"
    )
    assert hearth.layers is not None
    assert [layer.material for layer in hearth.layers] == ["slate"]
    assert stage.job.flue.offsets == (Amount(Fraction(15), "15 deg", True, "deg"),)
    under = (
        "thickness",
        "below",
        "layers",
    )  # a hearth that reaches further lies on other floor, of another build-up
    assert stage.voided.keys() == {f"face.study.hearth.{key}" for key in under[:2]} | {"structure.slab_steel"}


def test_things_merge_by_name_are_added_and_taken_away() -> None:
    stage = planned(
        {**FULL, "site": {}},
        nearby=[
            {"name": "oak mantel", "above": "18"},
            {"name": "rear sill", "remove": True},
            {"name": "rafter", "at": "chimney"},
        ],
        roof=[{"name": "main", "pitch": "8:12"}],
    )
    assert [thing.name for thing in stage.job.nearby] == ["oak mantel", "side stud", "rafter"]
    mantel = stage.job.nearby[0]
    assert mantel.above == Amount(Fraction(18), "18", intended=True) and mantel.projection == Amount(
        Fraction(3, 2), "1 1/2"
    )
    assert [roof.name for roof in stage.job.roof] == ["workshop roof", "main"]


@pytest.mark.parametrize(
    "size",
    [{"liner": "16x20"}, {"area": "200 in2"}, {"inside": "12 x 12"}, {"diameter": "15"}, {"shape": "square"}],
)
def test_any_planned_flue_size_drops_every_found_one(size: dict[str, str]) -> None:
    flue = planned({**FULL, "site": {}}, flue=size).job.flue
    left = {key for key in (*SIZES, "figure_area") if getattr(flue, key) is not None}
    assert left == set(size)
    assert flue.height is not None and flue.lining is None


CUT = {
    f"firebox.{key}"
    for key in (
        "throat_height", "throat_depth", "throat_width", "damper", "damper_area", "clamp_area", "damper_works",
        "smoke_chamber_height", "smoke_chamber_wall", "smoke_chamber_form", "smoke_chamber_slope", "smoke_chamber_parged",
    )
} | {"flue.figure_area", "structure.chamber_lining"}  # fmt: skip
DUCT = {"air.duct_outlet", "air.duct_clear"}
OUTSIDE = {
    f"structure.{key}" for key in ("footing_thickness", "footing_beyond", "footing_depth", "unit_masonry")
}
GAP = {"above", "beside", "ahead", "projection", "gap", "filled", "from_lining", "masonry_wall"}


def things(name: str) -> set[str]:
    return {record.join_address(("nearby", name, key)) for key in GAP}


def test_a_face_on_a_new_side_voids_what_the_cut_destroys() -> None:
    stage = Job.from_document(FULL).stages()["planned"]
    sides = {"firebox.wall", 'nearby."side stud".from_lining', 'nearby."oak mantel".from_lining'}
    taken = CUT | sides | {"firebox.back_wall", "looked.back"} | things("rear sill") | DUCT | OUTSIDE
    assert stage.voided.keys() == taken
    box = stage.job.firebox
    assert (
        box.back_wall is None
        and box.throat_height is None
        and box.damper is None
        and box.smoke_chamber_form is None
    )
    assert (
        box.depth is not None
        and box.wall is None  # the cut may stand off the middle
        and box.lining is not None
        and box.floor_slab is not None
    )
    sill, stud = stage.job.nearby[1:]
    assert sill.gap is None and sill.filled is None and sill.at == "firebox back" and stud.gap is not None
    assert stage.job.flue.figure_area is None and stage.job.flue.liner == "12"


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_face_in_a_side_voids_the_side_walls(side: str) -> None:
    stage = planned({**FULL, "site": {}}, face=[{"name": "workshop", "side": side}])
    assert (
        stage.voided.keys()
        == CUT
        | {
            "firebox.depth",
            "firebox.wall",
            "firebox.front_wall",
            "looked.sides",
            'nearby."oak mantel".from_lining',
        }
        | things("side stud")
        | DUCT
        | OUTSIDE
    )
    assert stage.job.firebox.wall is None and stage.job.firebox.back_wall is not None


def test_a_new_face_that_does_not_say_its_side_voids_every_wall() -> None:
    stage = planned({**FULL, "site": {}}, face=[{"name": "workshop"}])
    assert {"firebox.wall", "firebox.back_wall", "firebox.depth"} <= stage.voided.keys()
    assert things("side stud") | things("rear sill") <= stage.voided.keys()


def test_what_is_planned_again_is_not_voided() -> None:
    stage = planned(
        {**FULL, "site": {}},
        face=[{"name": "workshop", "side": "back"}],
        firebox={"depth": "24", "throat_height": "38"},
        nearby=[{"name": "rear sill", "gap": "5"}],
        flue={"figure_area": "200 in2"},
    )
    assert not stage.voided.keys() & {
        "firebox.depth",
        "firebox.throat_height",
        'nearby."rear sill".gap',
        "flue.figure_area",
    }
    assert stage.job.nearby[1].gap == Amount(Fraction(5), "5", intended=True)
    assert {'nearby."rear sill".filled', "firebox.throat_depth"} <= stage.voided.keys()


def test_a_thing_that_is_taken_away_or_moved_from_the_wall_that_is_cut() -> None:
    gone = planned(
        FULL, face=[{"name": "workshop", "side": "back"}], nearby=[{"name": "rear sill", "remove": True}]
    )
    assert not any("rear sill" in address for address in gone.voided)
    moved = planned(
        FULL, face=[{"name": "workshop", "side": "back"}], nearby=[{"name": "rear sill", "at": "chimney"}]
    )
    assert things("rear sill") <= moved.voided.keys() and moved.job.nearby[1].at == "chimney"


def test_a_face_that_was_open_before_voids_nothing() -> None:
    same = planned({**FULL, "site": {}}, face=[{"name": "study", "side": "front", "opens_to": "bedroom"}])
    assert not same.voided and same.job.flue.figure_area is not None
    second = planned({**FULL, "site": {}}, face=[{"name": "niche", "side": "front"}])
    assert second.voided.keys() == {"flue.figure_area"} | DUCT


def test_a_face_moved_to_another_side_cuts_that_side() -> None:
    """One that was found without its side may stand there already; one of a known side does not."""
    moved = planned({**FULL, "site": {}}, face=[{"name": "study", "side": "back"}])
    assert "firebox.back_wall" in moved.voided
    faces = [{key: value for key, value in face.items() if key != "side"} for face in FULL["face"]]
    unknown = planned({**FULL, "site": {}, "face": faces}, face=[{"name": "study", "side": "back"}])
    assert "firebox.back_wall" not in unknown.voided


@pytest.mark.parametrize(("height", "voided"), [("22 ft", False), ("22 ft 1/2 in", True), ("21 ft", False)])
def test_what_is_built_onto_a_flue_was_never_looked_at(height: str, voided: bool) -> None:
    """However little it is; what is taken off takes nothing from what was seen of the rest."""
    found = {
        **FULL,
        "site": {},
        "flue": {**FULL["flue"], "height": "22 ft", "condition": "sound", "lining": "clay"},
    }
    stage = planned(found, flue={"height": height})
    assert ("flue.condition" in stage.voided, "flue.lining" in stage.voided) == (voided, voided)


STANDING = {
    **FULL,
    "site": {},
    "planned": {},
    "flue": {"liner": "13x13", "lining": "clay", "condition": "sound", "height": "25 ft"},
}


def test_another_lining_has_a_size_of_its_own_that_is_not_known_before_it_is_told() -> None:
    stage = planned(STANDING, flue={"lining": "listed liner"})
    assert stage.job.flue.liner is None and stage.job.flue.condition is None
    assert stage.voided["flue.liner"].ask == "planned.flue.liner"
    told = planned(STANDING, flue={"lining": "listed liner", "liner": "8"})
    assert told.job.flue.liner == "8" and told.job.flue.condition is None
    same = planned(STANDING, flue={"lining": "clay"})
    assert same.job.flue.liner == "13x13" and same.job.flue.condition == "sound"


@pytest.mark.parametrize(("den", "throat"), [("2", Fraction(36)), ("3", None), ("0", None)])
def test_a_floor_that_two_faces_raise_otherwise_is_nowhere(den: str, throat: Fraction | None) -> None:
    """Geometry: from the firebox floor, which rises 2 in at the study, to a throat 38 in over it."""
    faces = [{"name": "study", "side": "front"}, {"name": "den", "side": "back"}]
    found = {
        **minimal(firebox={"throat_height": "38"}),
        "face": [{**face, "opening_above_hearth": "0"} for face in faces],
    }
    raised = [
        {"name": "study", "opening_above_hearth": "2"},
        {"name": "den", "opening_above_hearth": den},
    ]
    height = planned(found, face=raised).job.firebox.throat_height
    assert (height and height.value) == throat


def test_a_throat_that_moves_may_take_its_smoke_chamber_with_it() -> None:
    stage = planned(STANDING, firebox={"throat_height": "42"})
    assert stage.job.firebox.smoke_chamber_height is None
    assert stage.voided["firebox.smoke_chamber_height"].why == ("planned.firebox.throat_height",)
    both = planned(STANDING, firebox={"throat_height": "42", "smoke_chamber_height": "24"})
    assert "firebox.smoke_chamber_height" not in both.voided
    other = planned(STANDING, firebox={"smoke_chamber_form": "sloped"})
    found = STANDING["firebox"]["smoke_chamber_form"]
    assert ("firebox.smoke_chamber_height" in other.voided) == (found != "sloped")


ROOF = {
    "name": "main", "passes_through": True, "above_penetration": "60", "distance": "8 ft", "above_highest": "30", "pitch": "6:12",
    "width_along_ridge": "36", "crosses_ridge": False, "cricket_height": "9", "framing_gap": "2", "size_change_gap": "24",
}  # fmt: skip
ON_IT = {f"roof.main.{key}" for key in ("cricket_height", "framing_gap", "size_change_gap")}


@pytest.mark.parametrize(
    ("flue", "roof", "lost"),
    [
        ({}, {"above_highest": "36"}, ON_IT | {"roof.main.above_penetration"}),
        ({}, {"above_penetration": "66"}, ON_IT | {"roof.main.above_highest"}),
        ({}, {"above_highest": "31"}, ON_IT | {"roof.main.above_penetration"}),
        ({}, {"above_penetration": "61"}, ON_IT | {"roof.main.above_highest"}),
        ({}, {"above_highest": "30", "above_penetration": "60"}, set()),
        ({"height": "25 ft 1 in"}, {"above_highest": "31", "above_penetration": "61"}, ON_IT),
        ({"height": "24 ft 11 in"}, {"above_highest": "29", "above_penetration": "59"}, set()),
        # A chimney taken down by 6 in, and both heights with it: the roof stays. One built up may end in a pot.
        ({"height": "24 ft 6 in"}, {"above_highest": "24", "above_penetration": "54"}, set()),
        ({"height": "25 ft 6 in"}, {"above_highest": "36", "above_penetration": "66"}, ON_IT),
        ({"height": "25 ft"}, {"above_highest": "36"}, ON_IT | {"roof.main.above_penetration"}),
        ({"height": "25 ft"}, {"above_penetration": "66"}, ON_IT | {"roof.main.above_highest"}),
        ({"height": "25 ft"}, {"above_highest": "36", "above_penetration": "66"}, ON_IT),
        ({"height": "25 ft"}, {"above_highest": "30"}, set()),
    ],
)
def test_a_roof_at_another_height_takes_what_lies_on_it_along(
    flue: dict[str, str], roof: dict[str, str], lost: set[str]
) -> None:
    stage = planned({**STANDING, "roof": [ROOF]}, flue=flue, roof=[{"name": "main", **roof}])
    watched = ON_IT | {"roof.main.above_penetration", "roof.main.above_highest"}
    assert stage.voided.keys() & watched == lost


@pytest.mark.parametrize(("width", "kept"), [("36", True), ("30", True), ("36 1/16", False), (None, False)])
def test_a_wider_opening_in_the_back_takes_the_side_walls(width: str | None, kept: bool) -> None:
    front = [{**FULL["face"][0], "width": "36"}]
    new = {"name": "workshop", "side": "back"} | ({"width": width} if width else {})
    stage = planned({**STANDING, "face": front}, face=[new])
    assert "firebox.wall" in stage.voided  # however narrow, it may stand off the middle
    assert (stage.voided.keys() & things("side stud") == {'nearby."side stud".from_lining'}) == kept


# A thing 3 in off either jamb: 2 in more of opening on each side leave 1 in, 2 in less leave 5. Where the jambs do not move alike, or
# nobody says which does, it has to be measured; and what lies over the opening stays over a wider one.
@pytest.mark.parametrize(
    ("beside", "width", "jamb", "after", "ask"),
    [
        ("3", "40", "both", 1, None),
        ("3", "37", "both", Fraction(5, 2), None),
        ("2", "40", "both", 0, None),
        ("0", "40", "both", 0, None),
        ("3", "32", "both", 5, None),
        ("0", "32", "both", None, ""),
        ("3", "38", "left", None, "planned.nearby.shelf.beside"),
        ("3", "38", "right", None, "planned.nearby.shelf.beside"),
        ("3", "40", None, None, "planned.face.study.jamb_moved"),
    ],
)
def test_how_near_a_thing_is_to_an_opening_made_wider_or_narrower(
    beside: str, width: str, jamb: str | None, after: Fraction | int | None, ask: str | None
) -> None:
    face, address = {"name": "study", "side": "front", "width": "36"}, "nearby.shelf.beside"
    near = [{"name": "shelf", "what": "mantel", "face": "study", "beside": beside}]
    over = {"name": "study", "width": width} | ({"jamb_moved": jamb} if jamb else {})
    stage = planned(minimal(face=[face], nearby=near), face=[over])
    kept = stage.job.nearby[0].beside
    assert (kept and kept.value) == after
    assert (stage.voided[address].ask if address in stage.voided else None) == ask
    assert (address in stage.moved) == (after is not None and beside != "0")


# A shelf 12 in over an opening 30 in high, whose floor lies on the hearth: it stays where it is. A new height moves the top of the opening,
# or its floor: only where the floor is planned too is it known which.
@pytest.mark.parametrize(
    ("found", "height", "floor", "above", "why"),
    [
        ("30", "30", {}, 12, ()),
        ("30", "31", {}, None, ("height",)),
        ("30", "32", {}, None, ("height",)),
        ("30", "31", {"study": "0"}, 11, ("height",)),
        ("30", "32", {"study": "0"}, 10, ("height",)),
        ("30", "29", {"study": "0"}, 13, ("height",)),
        ("30", "31", {"court": "0"}, 11, ("height",)),  # one fireplace has one floor
        ("30", "31", {"study": "2"}, 9, ("opening_above_hearth", "height")),
        ("30", "30", {"study": "1"}, 11, ("opening_above_hearth",)),
        (None, "31", {"study": "0"}, None, ("height",)),
    ],
)
def test_how_high_a_shelf_is_over_an_opening_of_another_height(
    found: str | None, height: str, floor: dict[str, str], above: int | None, why: tuple[str, ...]
) -> None:
    faces = [
        {"name": name, "side": side, "opening_above_hearth": "0"} | ({"height": found} if found else {})
        for name, side in (("study", "front"), ("court", "back"))
    ]
    near = [{"name": "shelf", "what": "mantel", "face": "study", "above": "12"}]
    over: dict[str, dict[str, str]] = {"study": {"height": height}}
    for name, to in floor.items():
        over.setdefault(name, {})["opening_above_hearth"] = to
    stage = planned(
        minimal(face=faces, nearby=near), face=[{"name": name, **entries} for name, entries in over.items()]
    )
    kept, address = stage.job.nearby[0].above, "nearby.shelf.above"
    causes = [f"planned.face.study.{key}" for key in why]
    assert (kept and kept.value) == above
    if above is None:
        assert stage.voided[address].why == tuple(causes)
        asked = "planned.face.study.opening_above_hearth" if found else "face.study.height"
        assert stage.voided[address].ask == asked
    else:
        assert address not in stage.voided
        assert (address in stage.moved) == bool(why)
        by = f"{'-' if above < 12 else '+'} {abs(above - 12)} in ({', '.join(causes)})"
        assert not why or stage.moved[address].numbers == f"12 in as found {by}"


def test_a_floor_that_comes_up_takes_as_much_off_throat_and_flue() -> None:
    """Both are measured from the firebox floor: 2 in more of it are 2 in less of them."""
    face = {"name": "study", "side": "front", "height": "30", "opening_above_hearth": "0"}
    found = minimal(face=[face], firebox={"throat_height": "38"}, flue={"height": "300 in"})
    over = {"name": "study", "height": "28", "opening_above_hearth": "2"}
    job = planned(found, face=[over]).job
    assert job.firebox.throat_height and job.flue.height
    assert (job.firebox.throat_height.value, job.flue.height.value) == (36, 298)


# A hearth made an inch thicker comes up, or goes down: its height over the floor tells, and each hearth has its own.
@pytest.mark.parametrize(("told", "kept"), [({}, False), ({"study": "4"}, True), ({"court": "4"}, False)])
def test_a_thicker_hearth_takes_the_step_up_to_the_opening_along(told: dict[str, str], kept: bool) -> None:
    hearth = {"thickness": "2", "above_floor": "4"}
    names = {"study": "front", "court": "back"}
    faces = [
        {"name": name, "side": side, "opening_above_hearth": "6", "hearth": hearth}
        for name, side in names.items()
    ]
    over: dict[str, dict[str, str]] = {"study": {"thickness": "3"}}
    for name, high in told.items():
        over.setdefault(name, {})["above_floor"] = high
    stage = planned(
        minimal(face=faces), face=[{"name": name, "hearth": entries} for name, entries in over.items()]
    )
    assert (stage.job.face[0].opening_above_hearth is not None) == kept
    assert ("face.study.opening_above_hearth" in stage.voided) == (not kept)


# What lies under a hearth was looked at as far as the hearth went: a larger one lies on more.
@pytest.mark.parametrize(
    ("end", "to", "kept"),
    [
        *(
            (side, to, kept)
            for side in ("left", "right")
            for to, kept in (("10", True), ("12", True), ("12 1/16", False), ("14", False))
        ),
        *(
            ("front", to, kept)
            for to, kept in (("18", True), ("20", True), ("20 1/16", False), ("22", False))
        ),
    ],
)
def test_a_larger_hearth_lies_on_what_nobody_has_looked_at(end: str, to: str, kept: bool) -> None:
    hearth = {"left": "12", "right": "12", "front": "20", "below": "concrete"}
    face = {"name": "study", "side": "front", "width": "36", "hearth": hearth}
    stage = planned(minimal(face=[face]), face=[{"name": "study", "hearth": {end: to}}])
    assert (stage.job.face[0].hearth.below == "concrete") == kept
    assert ("face.study.hearth.below" in stage.voided) == (not kept)


@pytest.mark.parametrize(
    ("jamb", "ask"),
    [({"jamb_moved": "both"}, "planned.firebox.wall"), ({}, "planned.face.study.jamb_moved")],
)
def test_the_side_walls_of_a_wider_firebox_are_asked_for(jamb: dict[str, str], ask: str) -> None:
    face = {"name": "study", "side": "front", "width": "36"}
    over = [{"name": "study", "width": "38", **jamb}]
    assert planned(minimal(face=[face], firebox={"wall": "8"}), face=over).voided["firebox.wall"].ask == ask


def test_a_measure_that_the_plan_moves_past_what_a_tape_reads_is_measured_again() -> None:
    """The entry goes up to 600 in; 2 in less of opening on each side add 2 in."""
    face, over = {"name": "study", "side": "front", "width": "36"}, {"width": "32", "jamb_moved": "both"}

    def moved(**beside: str) -> tuple[Fraction | None, record.Voided | None]:
        near = [{"name": "shelf", "what": "mantel", "face": "study", **beside}]
        stage = planned(minimal(face=[face], nearby=near), face=[{"name": "study", **over}])
        kept = stage.job.nearby[0].beside
        return kept and kept.value, stage.voided.get("nearby.shelf.beside")

    assert moved(beside="598") == (600, None)
    value, voided = moved(beside="598 1/16")
    assert value is None and voided and voided.why == ("planned.face.study.width",) and voided.known


def test_what_was_never_measured_is_not_lost_to_a_plan() -> None:
    face = {"name": "study", "side": "front", "width": "36"}
    near = [{"name": "shelf", "what": "mantel", "face": "study"}]
    over = [{"name": "study", "width": "38", "jamb_moved": "left"}]
    voided = planned(minimal(face=[face], nearby=near), face=over).voided
    assert not voided["nearby.shelf.beside"].known


@pytest.mark.parametrize(("at", "kept"), [("firebox side", True), ("chimney", False)])
def test_the_gap_of_a_thing_is_kept_where_it_stays(at: str, kept: bool) -> None:
    near = {"name": "stud", "what": "framing", "at": "firebox side", "gap": "2"}
    stage = planned(minimal(nearby=[near]), nearby=[{"name": "stud", "at": at}])
    assert (stage.job.nearby[0].gap is not None) == kept


def test_a_planned_job_is_written_with_what_stays() -> None:
    found = minimal(units="mm", site={"shelter": 0.5}, flue={"height": "300 in"}, about={"measured": False})
    written = planned(found, flue={"liner": "8x8"}).job.document()
    assert (written["units"], written["site"], written["about"]["measured"]) == (
        "mm",
        {"shelter": 0.5},
        False,
    )
    assert written["flue"] == {"height": "300 in", "liner": "8x8"}


# A hearth that ends 12 in past either jamb stays; the jamb that moves comes nearer to its end, or goes off from it.
@pytest.mark.parametrize(
    ("width", "jamb", "left", "right"),
    [
        ("38", "left", 10, 12),
        ("38", "right", 12, 10),
        ("38", "both", 11, 11),
        ("37", "left", 11, 12),
        ("35", "right", 12, 13),
    ],
)
def test_a_hearth_goes_past_a_jamb_by_less_where_that_moves_out(
    width: str, jamb: str, left: int, right: int
) -> None:
    face = {"name": "study", "side": "front", "width": "36", "hearth": {"left": "12", "right": "12"}}
    stage = planned(minimal(face=[face]), face=[{"name": "study", "width": width, "jamb_moved": jamb}])
    hearth = stage.job.face[0].hearth
    assert hearth.left and hearth.right and (hearth.left.value, hearth.right.value) == (left, right)


@pytest.mark.parametrize("names", [{"study": "front", "court": "back"}, {"court": "back", "study": "front"}])
def test_which_of_two_opposite_faces_a_new_depth_moves_is_not_known(names: dict[str, str]) -> None:
    """A firebox open in front and back goes deeper by either of its openings: no hearth keeps what was measured from them."""
    faces = [{"name": name, "side": side, "hearth": {"front": "20"}} for name, side in names.items()]
    stage = planned(minimal(face=faces, firebox={"depth": "20"}), firebox={"depth": "24"})
    for name in names:
        address = f"face.{name}.hearth.front"
        assert stage.voided[address].ask == f"planned.{address}"
    assert stage.voided["firebox.back_wall"].ask == "planned.face.study.hearth.front"
    same = planned(minimal(face=faces, firebox={"depth": "20"}), firebox={"depth": "20"})
    assert not same.voided


def test_a_hearth_that_ended_at_the_jamb_may_end_anywhere_once_the_jamb_moves_off() -> None:
    """Nothing past the jamb says no more than that: half an inch the other way is not half an inch of hearth."""
    face = {**FULL["face"][0], "hearth": {**FULL["face"][0]["hearth"], "left": "0"}}
    found = {**FULL, "site": {}, "face": [face]}
    narrower = planned(found, face=[{"name": "study", "width": "35 1/2", "jamb_moved": "left"}])
    assert "face.study.hearth.left" in narrower.voided and narrower.job.face[0].hearth.left is None


def test_a_figure_read_for_another_opening_or_height_is_voided() -> None:
    for tables in ({"face": [{"name": "study", "height": "28"}]}, {"flue": {"height": "24 ft"}}):
        stage = planned({**FULL, "site": {}}, **tables)
        assert "flue.figure_area" in stage.voided and stage.job.flue.figure_area is None


def test_another_arch_voids_the_rise() -> None:
    stage = planned({**FULL, "site": {}}, face=[{"name": "study", "arch": "flat"}])
    assert {"face.study.rise", "flue.figure_area"} <= stage.voided.keys() and stage.job.face[0].rise is None


def test_a_thing_near_a_face_that_goes_has_to_be_placed_again() -> None:
    found = {**FULL, "site": {"wind_on": "study"}}
    stage = planned(found, face=[{"name": "study", "remove": True}, {"name": "hall", "side": "front"}])
    mantel = stage.job.nearby[0]
    assert mantel.face is None and mantel.above is None and mantel.projection is None
    assert 'nearby."oak mantel".face' in stage.voided
    assert stage.job.site.wind_on is None


def test_a_thing_is_near_a_face_or_at_a_wall_never_both() -> None:
    stage = planned(
        {**FULL, "site": {}},
        nearby=[{"name": "oak mantel", "at": "chimney"}, {"name": "side stud", "face": "study"}],
    )
    assert (stage.job.nearby[0].face, stage.job.nearby[0].at) == (None, "chimney")
    assert (stage.job.nearby[2].face, stage.job.nearby[2].at) == ("study", None)


def test_what_is_near_a_face_yet_to_be_made_is_not_part_of_the_found_stage() -> None:
    document = changed("nearby.joist.face", "workshop")
    stages = Job.from_document(document).stages()
    assert "joist" not in [thing.name for thing in stages["found"].job.nearby]
    assert "joist" in [thing.name for thing in stages["planned"].job.nearby]
    assert stages["found"].job.site.wind_on is None and stages["planned"].job.site.wind_on == "workshop"


# Addresses


@pytest.mark.parametrize(
    ("address", "parts"),
    [
        ("firebox.depth", ("firebox", "depth")),
        ('face."east room".width', ("face", "east room", "width")),
        ('face."a.b".width', ("face", "a.b", "width")),
        ('face."say \\"hi\\" \\\\".width', ("face", 'say "hi" \\', "width")),
        ('face."große Stube".width', ("face", "große Stube", "width")),
    ],
)
def test_addresses_and_their_parts(address: str, parts: tuple[str, ...]) -> None:
    assert record.join_address(parts) == address
    assert record.parse_address(address) == parts


@given(st.lists(st.text(SIGNS), min_size=1))
def test_every_name_can_stand_in_an_address(parts: list[str]) -> None:
    assert record.parse_address(record.join_address(parts)) == tuple(parts)


@pytest.mark.parametrize("text", ["", ".", "a.", "a..b", 'a."b', "a b", "a[0]"])
def test_what_is_not_an_address(text: str) -> None:
    with pytest.raises(EntryError, match="is not an address"):
        record.parse_address(text)


@pytest.mark.parametrize(
    ("address", "key"),
    [
        ("face.study.width", "face.width"),
        ("planned.face.x.hearth.front", "face.hearth.front"),
        ("planned.firebox.depth", "firebox.depth"),
        ("air.fans.hood.flow", "air.fans.flow"),
        ("face.a.hearth.layers.1.thickness", "face.hearth.layers.thickness"),
        ("face.a.hearth.layers", "face.hearth.layers"),
        ("planned.nearby.x.remove", "nearby.remove"),
    ],
)
def test_what_stands_at_an_address(address: str, key: str) -> None:
    assert record.spec_of(address) is FIELDS[key]


@pytest.mark.parametrize(
    "address", ["face.study", "firebox", "firebox.dept", "firebox.depth.x", "face.width", "nearby.x.remove"]
)
def test_there_is_no_such_entry(address: str) -> None:
    with pytest.raises(EntryError, match="is not an entry of a job"):
        record.spec_of(address)


def test_every_known_entry_has_its_address() -> None:
    job = Job.from_document(FULL)
    seen = list(record.entries(job))
    assert all(
        record.get(job, address) == value and record.spec_of(address) is spec for address, spec, value in seen
    )
    assert 'nearby."oak mantel".above' in [address for address, _, _ in seen]
    keys = {spec.key for _, spec, _ in seen}
    lists = {"face", "nearby", "roof", "air.fans", "face.hearth.layers", "photo", "signed"}
    asked_of_a_plan = {"face.remove", "nearby.remove", "roof.remove", "face.jamb_moved"}
    written_on_saving = {"judged.edition", "judged.fingerprint", "judged.verdicts"}
    left_out = {"asked.questions"}  # without it everything is asked
    assert set(FIELDS) - keys == lists | written_on_saving | asked_of_a_plan | left_out


def test_what_is_not_there_is_not_known() -> None:
    job = Job.from_document(FULL)
    assert record.get(job, "face.nobody.width") is None and record.get(job, "planned.flue.height") is None


# Changing a document


def test_an_entry_is_changed_in_a_new_document() -> None:
    before = deepcopy(FULL)
    after = record.set_entry(FULL, "planned.face.workshop.hearth.front", "24")
    assert before == FULL and after["planned"]["face"][0]["hearth"]["front"] == "24"


def test_tables_on_the_way_are_made_and_go_when_empty() -> None:
    start = minimal()
    made = record.set_entry(start, 'planned.nearby."new shelf".above', "18")
    assert made["planned"] == {"nearby": [{"name": "new shelf", "above": "18"}]}
    deep = record.set_entry(start, "face.study.hearth.layers.1.material", "slate")
    assert deep["face"][0]["hearth"] == {"layers": [{"material": "slate"}]}
    box = record.set_entry(start, "planned.firebox.depth", "24")
    assert record.set_entry(box, "planned.firebox.depth", None) == start
    assert record.set_entry(start, "firebox.depth", None) == start
    assert record.set_entry(start, "planned.nearby.nobody.above", None) == start


def test_a_planned_thing_that_says_nothing_goes() -> None:
    start = minimal()
    over = record.set_entry(start, "planned.face.study.width", "40")
    assert record.set_entry(over, "planned.face.study.width", None) == start
    new = record.set_entry(start, "planned.face.workshop.width", "40")
    assert record.set_entry(new, "planned.face.workshop.width", None)["planned"] == {
        "face": [{"name": "workshop"}]
    }


def test_a_thing_is_taken_out_whole() -> None:
    less = record.set_entry(FULL, 'nearby."oak mantel"', None)
    assert [thing["name"] for thing in less["nearby"]] == ["rear sill", "side stud"]
    assert "planned" not in record.set_entry(
        minimal(planned={"nearby": [{"name": "x"}]}), "planned.nearby.x", None
    )


LAYERS = "face.study.hearth.layers"


def layered(*materials: str) -> dict[str, Any]:
    return record.set_entry(minimal(), LAYERS, [{"material": name, "thickness": "1"} for name in materials])


def materials_of(document: dict[str, Any]) -> list[str]:
    return [layer.get("material", "") for layer in record.typed(document, LAYERS) or []]


def test_layers_go_by_number_and_keep_their_order() -> None:
    start = layered("slate", "oak", "granite")
    before = deepcopy(start)
    assert materials_of(record.set_entry(start, f"{LAYERS}.2.material", "marble")) == [
        "slate",
        "marble",
        "granite",
    ]
    assert materials_of(record.set_entry(start, f"{LAYERS}.2", None)) == ["slate", "granite"]
    assert materials_of(record.set_entry(start, f"{LAYERS}.4.material", "OSB")) == [
        "slate",
        "oak",
        "granite",
        "OSB",
    ]
    assert materials_of(record.set_entry(start, f"{LAYERS}.9.material", "OSB")) == [
        "slate",
        "oak",
        "granite",
        "OSB",
    ]
    assert record.set_entry(start, f"{LAYERS}.4.material", None) == start
    assert record.set_entry(start, f"{LAYERS}.4", None) == start
    assert start == before


def test_an_emptied_layer_keeps_its_place_but_for_the_last_which_goes() -> None:
    start = layered("slate", "oak")
    for key in ("material", "thickness"):
        start = record.set_entry(start, f"{LAYERS}.1.{key}", None)
    assert record.typed(start, LAYERS) == [{}, {"material": "oak", "thickness": "1"}]
    assert Job.from_document(start).face[0].hearth.layers is not None
    assert materials_of(record.set_entry(start, f"{LAYERS}.1.material", "marble")) == ["marble", "oak"]
    half = record.set_entry(start, f"{LAYERS}.2.material", None)
    assert record.typed(half, LAYERS) == [{}, {"thickness": "1"}]
    assert record.typed(record.set_entry(half, f"{LAYERS}.2.thickness", None), LAYERS) == [{}]
    only = record.set_entry(minimal(), f"{LAYERS}.1.material", "slate")
    assert record.set_entry(only, f"{LAYERS}.1.material", None) == minimal()


@pytest.mark.parametrize("number", ["0", "01", "top", "-1", "1e3", "9999999"])
def test_a_layer_is_counted_from_the_top(number: str) -> None:
    with pytest.raises(EntryError, match="is not the number of a layer"):
        record.set_entry(layered("slate"), f"{LAYERS}.{number}.material", "oak")


def test_what_was_typed_is_read_back_also_where_it_is_no_entry() -> None:
    start = record.set_entry(layered("slate"), f"{LAYERS}.1.thickness", "thick")
    assert record.typed(start, f"{LAYERS}.1.thickness") == "thick"
    assert record.typed(start, f"{LAYERS}.2.thickness") is None
    assert record.typed(start, f"planned.{LAYERS}") is None
    assert record.typed(FULL, 'nearby."oak mantel".name') == "oak mantel"


@pytest.mark.parametrize("address", ["firebox.dept", "nowhere", "firebox.depth.x"])
def test_an_entry_that_there_is_not_cannot_be_changed(address: str) -> None:
    with pytest.raises(EntryError, match="is not an entry of a job"):
        record.set_entry(FULL, address, "1")


def test_a_face_is_renamed_wherever_it_is_named() -> None:
    start = changed("planned.face.study.opens_to", "bedroom")
    start = record.set_entry(start, "planned.nearby.shelf.face", "study")
    start = record.set_entry(start, "site.wind_on", "study")
    after = record.set_entry(start, "face.study.name", "library")
    assert Job.from_document(after).nearby[0].face == "library"
    assert "study" not in repr(after)
    assert repr(after).count("library") == repr(start).count("'study'")


def test_a_planned_face_is_renamed_where_it_is_named() -> None:
    after = record.set_entry(FULL, "planned.face.workshop.name", "kiln room")
    assert after["site"]["wind_on"] == "kiln room" and after["planned"]["face"][0]["name"] == "kiln room"


def test_a_thing_and_a_roof_are_renamed() -> None:
    start = changed('planned.nearby."oak mantel".above', "20")
    after = record.set_entry(start, 'nearby."oak mantel".name', "beam")
    assert after["nearby"][0]["name"] == after["planned"]["nearby"][0]["name"] == "beam"
    nameless = minimal(nearby=[{"what": "trim"}])
    assert record.set_entry(nameless, "nearby.trim.name", "casing")["nearby"] == [
        {"what": "trim", "name": "casing"}
    ]
    assert record.set_entry(FULL, 'roof."workshop roof".name', "lean-to")["roof"][0]["name"] == "lean-to"


def test_a_name_is_not_taken_twice_nor_left_empty() -> None:
    with pytest.raises(EntryError, match="Another face is called"):
        record.set_entry(FULL, "face.study.name", "workshop")
    with pytest.raises(EntryError, match="The entry is empty"):
        record.set_entry(FULL, "face.study.name", None)
    with pytest.raises(EntryError, match="is not an entry"):
        record.set_entry(FULL, "face.nobody.name", "hall")
    assert record.set_entry(FULL, "face.study.name", "study") == FULL


def test_a_fan_is_renamed_in_its_place() -> None:
    after = record.set_entry(FULL, 'air.fans."range hood".name', "hood")
    assert after["air"]["fans"][0]["name"] == "hood"


def test_units_toggled_change_nothing_but_what_is_printed() -> None:
    document = changed("firebox.depth", 20)
    metric = record.with_units(document, "mm")
    assert (
        metric["units"] == "mm" and metric["firebox"]["depth"] == "20 in" and metric["flue"]["liner"] == "12"
    )
    assert (
        metric["flue"]["inside"] == "11 3/4 in x 11 3/4 in"
        and metric["face"][0]["hearth"]["layers"][1]["thickness"] == "1/2 in"
    )
    assert metric["planned"]["firebox"]["depth"] == "24 in"
    back = record.with_units(metric, "in")
    assert record.with_units(back, "mm") == metric

    def values(document: dict[str, Any]) -> list[Any]:
        job = Job.from_document(document)
        return [value.value for _, _, value in record.entries(job) if isinstance(value, Amount)]

    assert values(document) == values(metric) == values(back)


def test_units_toggled_leave_what_cannot_be_read() -> None:
    document = minimal(firebox={"depth": "deep", "wall": True}, flue="x", nearby=["y"])
    assert record.with_units(document, "mm") == {**document, "units": "mm"}


def test_a_blank_job_is_a_job() -> None:
    assert Job.from_document(record.blank("mm")).units == "mm"


# Fingerprint and schema


def test_the_fingerprint_changes_with_any_entry() -> None:
    job = Job.from_document(FULL)
    assert job.fingerprint == Job.from_document(deepcopy(FULL)).fingerprint and len(job.fingerprint) == 64
    for address, value in (
        ("about.notes", "other"),
        ("firebox.depth", "20 1/16"),
        ("planned.face.workshop.width", "35"),
    ):
        assert Job.from_document(changed(address, value)).fingerprint != job.fingerprint


def accepts(schema: dict[str, Any], value: Any, root: dict[str, Any]) -> bool:
    """As much of JSON Schema as the job's uses."""
    if "$ref" in schema:
        return accepts(root["$defs"][schema["$ref"].split("/")[-1]], value, root)
    if "anyOf" in schema:
        return any(accepts(one, value, root) for one in schema["anyOf"])
    kinds = {
        "object": dict,
        "array": list,
        "string": str,
        "boolean": bool,
        "integer": int,
        "number": int | float,
    }
    names = schema.get("type", [])
    fits = [name for name in ([names] if isinstance(names, str) else names) if isinstance(value, kinds[name])]
    if not fits or (isinstance(value, bool) and fits != ["boolean"]):
        return False
    if isinstance(value, dict):
        known = schema["properties"]
        return (
            schema["additionalProperties"] is False
            and set(schema.get("required", ())) <= value.keys() <= known.keys()
            and all(accepts(known[key], item, root) for key, item in value.items())
        )
    if isinstance(value, list):
        return schema.get("minItems", 0) <= len(value) and all(
            accepts(schema["items"], item, root) for item in value
        )
    return value in schema.get("enum", [value]) and value == schema.get("const", value)


def test_the_schema_tells_of_every_key() -> None:
    schema = record.job_schema()
    assert schema["$schema"].endswith("2020-12/schema") and schema["required"] == [
        "format",
        "version",
        "face",
    ]
    document = deepcopy(FULL)
    document["about"]["date"] = document["signed"][0]["date"] = "2026-05-04"
    assert accepts(schema, document, schema)
    assert accepts(schema, {**document, "air": {"airtightness": "tight"}}, schema)
    for wrong in ({"linr": "x"}, {"lining": "brick"}, {"height": True}):
        assert not accepts(schema, {**document, "flue": wrong}, schema)
    assert not accepts(schema, {**document, "planned": {"nearby": [{"what": "trim"}]}}, schema)
    assert (
        "Refused outside 1 in to 240 in; usually 18 in to 72 in"
        in schema["$defs"]["Face"]["properties"]["width"]["description"]
    )


def test_every_table_of_the_schema_is_closed_and_told() -> None:
    schema = record.job_schema()
    for table in schema["$defs"].values():
        assert table["additionalProperties"] is False and table["description"]
        assert all("$ref" in item or item["description"] for item in table["properties"].values())


# Hostile text


@given(st.text(SIGNS))
def test_no_text_breaks_the_reading_of_any_kind(text: str) -> None:
    for spec in {spec.kind: spec for spec in FIELDS.values() if spec.kind != "list"}.values():
        try:
            spec.read(text, "in")
        except EntryError as err:
            assert err.what and err.fix


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(SIGNS, max_size=5) | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from([*FULL, "name", "width", "x"]), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(st.dictionaries(st.sampled_from(list(FULL)), values, max_size=5))
def test_any_document_is_read_without_what_cannot_be_read(document: dict[str, Any]) -> None:
    job, told = record.read(document)
    assert all(problem.what and problem.fix for problem in told.values())
    clean = job.document()
    again, problems = record.read(clean)
    assert again == job and {problem.what for problem in problems.values()} <= {
        "There is no face.",
        "The file has no format.",
        "The file has no version.",
    }


@given(
    st.dictionaries(st.sampled_from(list(FULL)), values, max_size=5),
    st.sampled_from(list(FIELDS)),
    st.booleans(),
    st.booleans(),
)
def test_any_document_can_be_changed(document: dict[str, Any], key: str, planned: bool, out: bool) -> None:
    before = deepcopy(document)
    parts = key.split(".")
    if parts[0] in ("face", "nearby", "roof") and len(parts) > 1:
        parts.insert(1, "name")
    try:
        after = record.set_entry(
            document, record.join_address(["planned"] * planned + parts), None if out else "8"
        )
    except EntryError as err:
        assert err.what
    else:
        assert record.read(record.with_units(after, "mm"))[0].units == "mm"
    assert repr(document) == repr(before)


# Common practice, no source: a liner that goes into the chimney that stands leaves its outside as it was.
@pytest.mark.parametrize(
    ("planned", "kept"),
    [
        ({"liner": "10 round", "outside": "10 1/2 x 10 1/2", "shaft": "11 1/4 x 11 1/4"}, True),
        ({"liner": "10 round", "outside": "10 1/2 x 10 1/2"}, True),  # into 13x13, outside to outside
        ({"liner": "10 round", "outside": "12 x 12", "shaft": "11 1/4 x 11 1/4"}, False),
        ({"liner": "10 round", "outside": "13 x 13"}, True),
        ({"liner": "10 round", "outside": "13 x 13 1/16"}, False),
        ({"liner": "10 round"}, False),
        ({"liner": "18x18"}, False),
        ({"lining": "poured", "liner": "13x13"}, True),
        ({"lining": "poured", "liner": "12x12"}, True),
        ({"lining": "poured", "liner": "13x18"}, False),
    ],
)
def test_a_liner_that_goes_into_the_chimney_leaves_the_chimney(planned: dict[str, str], kept: bool) -> None:
    document = {
        "format": "hearthcalc-job",
        "version": 1,
        "face": [{"name": "study"}],
        "flue": {"liner": "13x13"},
        "chimney": {"wall": "4"},
        "planned": {"flue": planned},
    }
    wall = Job.from_document(document).stages()["planned"].job.chimney.wall
    assert (wall is not None) == kept
