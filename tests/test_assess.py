"""From a job to its verdict: operating states, what counts, the planned stage and what a cut destroys, unread entries, the site list."""

from fractions import Fraction
from typing import Any

import pytest

from hearthcalc import assess as assessing
from hearthcalc import job as record
from hearthcalc import reference
from hearthcalc.assess import assess, states_of
from hearthcalc.findings import Assessment, Finding, StageResult
from hearthcalc.job import Job
from hearthcalc.rules.case import RULES

Document = dict[str, Any]
HEAD = {"format": "hearthcalc-job", "version": 1}


def assessed(
    document: Document, unread: dict[str, str] | None = None, edition: str = "irc-2021"
) -> Assessment:
    return assess(Job.from_document(HEAD | document), reference.load(edition), unread)


def result(document: Document, stage: str = "found") -> StageResult:
    return assessed(document).stages[stage]


def of(stage: StageResult, id: str, face: str | None = None, item: str | None = None) -> Finding:
    (only,) = [f for f in stage.findings if f.id == id and (face, item) in ((f.face, f.item), (None, None))]
    return only


# The states, from the contract of the program: all open, each alone with the others shut, all shut.


RATED = ", rated"


def faces(*closures: str | None) -> Document:
    names = ("study", "terrace", "hall", "court")
    rows = [{"name": n, **({"closure": c} if c else {})} for n, c in zip(names, closures, strict=False)]
    for row in rows:
        if row.get("closure", "").endswith(RATED):
            row |= {"closure": row["closure"].removesuffix(RATED), "burning_closed": "yes"}
    return {"face": rows}


@pytest.mark.parametrize(
    ("closures", "states"),
    [
        ((None,), {"all open": ("study",)}),
        (("glass doors",), {"all open": ("study",)}),
        ((None, None), {"all open": ("study", "terrace")}),
        ((None, "steel doors"), {"all open": ("study", "terrace"), "study open": ("study",)}),
        (("none", "panel, rated"), {"all open": ("study", "terrace"), "study open": ("study",)}),
        (
            ("glass doors", "steel doors"),
            {
                "all open": ("study", "terrace"),
                "study open": ("study",),
                "terrace open": ("terrace",),
                "all shut": (),
            },
        ),
        (("none", "fixed glass, rated"), {"all open": ("study",), "study open": ("study",)}),
        (
            ("glass doors", "fixed glass, rated"),
            {"all open": ("study",), "study open": ("study",), "all shut": ()},
        ),
        (
            ("panel, rated", "panel, rated", None),
            {"all open": ("study", "terrace", "hall"), "hall open": ("hall",)},
        ),
        # A pane or a panel that nobody has rated for it closes nothing while a fire burns.
        (("fixed glass",), {"all open": ("study",)}),
        (("fixed glass, rated",), {"all open": ("study",)}),
        (("none", "fixed glass"), {"all open": ("study", "terrace")}),
        (("glass doors", "panel"), {"all open": ("study", "terrace"), "terrace open": ("terrace",)}),
    ],
)
def test_the_states_in_which_a_fireplace_can_be_used(
    closures: tuple[str | None, ...], states: dict[str, tuple[str, ...]]
) -> None:
    told = states_of(Job.from_document(HEAD | faces(*closures)))
    assert {state.name: state.open for state in told} == states
    assert all(state.counts for state in told)


@pytest.mark.parametrize(
    ("closures", "together", "counts"),
    [
        (("glass doors", "steel doors"), False, False),
        (("glass doors", "steel doors"), True, True),
        (("glass doors", "steel doors"), None, True),
        (("glass doors", None), False, True),
        (("glass doors",), False, True),
    ],
)
def test_all_open_does_not_count_where_the_house_rule_is_one_face_at_a_time(
    closures: tuple[str | None, ...], together: bool | None, counts: bool
) -> None:
    use = {} if together is None else {"use": {"open_together": together}}
    states = states_of(Job.from_document(HEAD | faces(*closures) | use))
    assert states[0].counts == counts
    assert all(state.counts for state in states[1:])


def test_a_state_that_does_not_count_leaves_the_overall_alone() -> None:
    job = {
        "about": {"measured": False},
        "flue": {"liner": "13x13"},
        "face": [
            {"name": n, "width": "36", "height": "30", "closure": "steel doors"} for n in ("study", "terrace")
        ],
        "use": {"open_together": False},
    }
    areas = {f.state: f for f in result(job).findings if f.id == "flue.area"}
    assert {state: (str(f.verdict), f.counts) for state, f in areas.items()} == {
        "all open": ("SHORT", False),
        "study open": ("REFER", True),
        "terrace open": ("REFER", True),
    }
    states = {state.name: state for state in result(job).states}
    assert (states["all open"].overall, states["all open"].ratio) == ("SHORT", Fraction(2160, 127))
    assert states["study open"].opening_area == 1080
    assert (states["all shut"].opening_area, states["all shut"].flue_area) == (0, 127)
    assert "SHORT" not in result(job).counts


def test_a_missing_closure_is_taken_as_none_and_asked_for() -> None:
    (line,) = [m for m in result({"face": [{"name": "study"}]}).measure if m.address.endswith("closure")]
    assert line.address == "face.study.closure"
    assert line.waits == ("Doors rated for closing over a fire", "Gaps around the closed doors")


# The planned stage.

FULL = {
    "about": {"measured": True},
    "fireplace": {"construction": "masonry"},
    "face": [{"name": "study", "side": "front", "width": "36", "height": "30", "closure": "none"}],
    "firebox": {
        "depth": "20", "wall": "8", "back_wall": "8", "lining": "2 1/2", "joint": "1/8", "floor_slab": "4", "floor_below": "concrete",
        "throat_height": "38", "throat_depth": "4", "throat_width": "36", "damper": "throat", "damper_area": "140 in2",
        "damper_works": "yes", "smoke_chamber_height": "30", "smoke_chamber_wall": "8", "smoke_chamber_form": "sloped",
        "smoke_chamber_slope": "45 deg", "smoke_chamber_parged": "yes",
    },
    "flue": {"liner": "13x13", "height": "20 ft"},
    "nearby": [
        {"name": "stud", "what": "framing", "at": "firebox back", "gap": "4", "filled": False},
        {"name": "post", "what": "framing", "at": "firebox side", "gap": "2", "filled": False},
    ],
}  # fmt: skip
CUT = {"face": [{"name": "terrace", "side": "back", "width": "36", "height": "30"}]}

# What a cut through the back destroys, and the finding that waits for it.
VOIDED = {
    "firebox.depth": "firebox.depth",
    "firebox.throat_height": "firebox.throat_height",
    "firebox.throat_depth": "firebox.throat_depth",
    "firebox.damper": "firebox.damper",
    "firebox.smoke_chamber_height": "smoke_chamber.height",
    "firebox.smoke_chamber_slope": "smoke_chamber.slope",
    "firebox.smoke_chamber_wall": "smoke_chamber.wall",
    "firebox.smoke_chamber_parged": "smoke_chamber.parging",
}


@pytest.mark.parametrize(("address", "id"), VOIDED.items())
def test_a_cut_destroys_what_was_measured_there(address: str, id: str) -> None:
    job = FULL | {"planned": CUT}
    assert {f.verdict for f in result(job).findings if f.id == id} == {"MEETS"}
    planned = [f for f in result(job, "planned").findings if f.id == id]
    assert {f.verdict for f in planned} == {"MEASURE"}
    assert all(f"planned.{address}" in f.missing for f in planned)
    assert all("measured from (new opening terrace)" in f.text for f in planned)
    assert f"planned.{address}" in {m.address for m in result(job, "planned").measure}


def test_a_cut_takes_the_wall_and_what_stands_at_it() -> None:
    planned = result(FULL | {"planned": CUT}, "planned")
    assert of(planned, "firebox.wall", item="beside the back opening").missing == (
        "planned.firebox.back_wall",
    )
    assert of(planned, "firebox.wall", item="sides").missing == ("planned.firebox.wall",)
    assert of(planned, "clearance.framing", item="stud").missing == (
        "planned.nearby.stud.gap",
        "planned.nearby.stud.filled",
    )
    assert of(planned, "clearance.framing", item="post").verdict == "MEETS"
    for kept in ("firebox.joint", "firebox.floor_slab", "firebox.floor_below"):
        assert of(planned, kept).verdict == "MEETS"


def test_the_side_wall_goes_with_a_cut_through_the_side() -> None:
    cut = {"face": [{"name": "hall", "side": "left", "width": "30", "height": "30"}]}
    planned = result(FULL | {"planned": cut}, "planned")
    assert of(planned, "firebox.wall", item="sides").missing == ("planned.firebox.wall",)
    assert of(planned, "firebox.wall", item="back").verdict == "MEETS"


def test_what_is_planned_again_is_judged_as_an_intention() -> None:
    again = CUT | {"firebox": {"throat_height": "38", "smoke_chamber_height": "37"}}
    planned = result(FULL | {"planned": again}, "planned")
    assert {f.verdict for f in planned.findings if f.id == "firebox.throat_height"} == {"MEETS"}
    assert of(planned, "smoke_chamber.height").verdict == "SHORT"  # found width 36 in, but 1 in over it


def test_the_found_stage_is_not_touched_by_what_is_planned() -> None:
    assert result(FULL | {"planned": CUT}) == result(FULL)
    assert list(assessed(FULL).stages) == ["found"]


def test_found_values_keep_their_tolerance_in_the_planned_stage_and_planned_ones_have_none() -> None:
    near = {"hearth": {"front": "19 15/16", "left": "12", "right": "12"}}
    job = {
        "face": [{"name": "study", "width": "36", "height": "30"} | near],
        "planned": {"flue": {"cap": "none"}},
    }
    assert of(result(job, "planned"), "hearth.front").verdict == "CLOSE"
    job["planned"] = {"face": [{"name": "study", "hearth": {"front": "19 15/16"}}]}
    assert of(result(job), "hearth.front").verdict == "CLOSE"
    assert of(result(job, "planned"), "hearth.front").verdict == "SHORT"


def test_a_new_face_is_asked_for_in_the_planned_part() -> None:
    planned = result(FULL | {"planned": {"face": [{"name": "terrace", "side": "back"}]}}, "planned")
    area = next(f for f in planned.findings if f.id == "flue.area")
    assert area.missing == ("planned.face.terrace.width", "planned.face.terrace.height")


def test_advice_is_given_for_planned_work_and_never_counts() -> None:
    job = FULL | {"planned": CUT}
    assert [f.id for f in result(job).findings if f.kind == "advice"] == ["change.existing"]
    advice = {f.id: f for f in result(job, "planned").findings if f.kind == "advice"}
    assert {
        "change.inspection",
        "change.permit",
        "change.hold_points",
        "change.alarms",
        "change.shoring",
        "change.envelope",
    } <= set(advice)
    assert not any(f.counts for f in advice.values())
    assert "terrace" in advice["change.shoring"].text
    assert advice["change.shoring"].caution


# Entries that cannot be read.


def unread(document: Document, edition: str = "irc-2021") -> Assessment:
    job, problems = record.read(HEAD | document)
    return assess(job, reference.load(edition), {address: p.what for address, p in problems.items()})


@pytest.mark.parametrize(
    ("table", "key", "bad", "id"),
    [
        ("firebox", "depth", "7,5", "firebox.depth"),
        ("flue", "liner", "1 x 2 x 3", "flue.area"),
        ("flue", "offsets", ["30 deg", "askew"], "flue.offsets"),
    ],
)
def test_an_entry_that_cannot_be_read_says_so(table: str, key: str, bad: Any, id: str) -> None:
    job = FULL | {table: FULL[table] | {key: bad}}
    told = unread(job).stages["found"]
    finding = of(told, id)
    assert finding.verdict == "MEASURE"
    assert finding.text.startswith(f"Cannot be read: {table}.{key}: ")
    (line,) = [m for m in told.measure if m.address == f"{table}.{key}"]
    assert line.unread


def test_a_planned_entry_that_cannot_be_read_hides_the_found_one() -> None:
    job = FULL | {
        "planned": {
            "firebox": {"depth": "7,5", "joint": "1/4"},
            "face": [{"name": "study", "width": "about 40"}],
        }
    }
    stages = unread(job).stages
    assert of(stages["found"], "firebox.depth").verdict == "MEETS"
    for id, address in (
        ("firebox.depth", "planned.firebox.depth"),
        ("flue.area", "planned.face.study.width"),
    ):
        finding = of(stages["planned"], id)
        assert finding.missing == (address,)
        assert finding.text.startswith(f"Cannot be read: {address}: ")


def test_an_unread_fan_waits_alone() -> None:
    air = {"fans": [{"name": "hood", "flow": "lots"}, {"name": "bath", "flow": "80 cfm"}]}
    told = {f.item: f for f in unread(FULL | {"air": air}).stages["found"].findings if f.id == "air.makeup"}
    assert "Cannot be read: air.fans.hood.flow: " in told["hood"].text
    assert told["hood"].missing == ("air.fans.hood.flow",)
    assert told["bath"].verdict == "MEETS"


def test_an_unread_name_or_key_breaks_nothing() -> None:
    for broken in (
        {"surprise": 1},
        {"face": [*FULL["face"], {"name": ""}]},
        {"planned": {"face": [{"width": "3"}]}},
    ):
        assert unread(FULL | broken).stages["found"].findings


# The overall, the counts, the site list.


def test_a_job_of_one_bare_face_says_what_to_measure() -> None:
    told = result({"face": [{"name": "study"}]})
    assert told.overall == "MEASURE"
    assert "SHORT" not in told.counts
    addresses = [m.address for m in told.measure]
    assert {"face.study.width", "flue.liner", "firebox.depth", "fireplace.construction", "air.fans"} <= set(
        addresses
    )
    assert len(addresses) == len(set(addresses))
    assert all(m.label and m.how and m.waits for m in told.measure)


def test_the_site_list_goes_round_the_fireplace_face_by_face() -> None:
    addresses = [m.address for m in result({"face": [{"name": "b"}, {"name": "a"}]}).measure]
    sections = [address.split(".")[0] for address in addresses]
    assert [s for n, s in enumerate(sections) if n == 0 or sections[n - 1] != s] == [
        "fireplace",
        "face",
        "firebox",
        "flue",
        "looked",
        "air",
        "chimney",
        "structure",
    ]
    names = [address.split(".")[1] for address in addresses if address.startswith("face.")]
    assert names == sorted(names, reverse=True)


def test_every_missing_entry_of_a_finding_is_on_the_site_list() -> None:
    for stage in assessed(FULL | {"planned": CUT}).stages.values():
        listed = {m.address for m in stage.measure}
        assert {address for f in stage.findings for address in f.missing} <= listed


@pytest.mark.parametrize("name", ["planned", "face", "east room", 'a "b"', "{0}", "[/]", "ünï"])
def test_a_face_may_have_any_name(name: str) -> None:
    job = {
        "face": [{"name": name}, {"name": "terrace"}],
        "planned": {"face": [{"name": f"{name} 2", "side": "left"}]},
    }
    stages = assessed(job).stages
    assert name in {f.face for f in stages["found"].findings}
    assert any(name in f.text for f in stages["found"].findings if f.face == name)
    assert stages["planned"].measure


def test_the_deciding_stage_is_the_planned_one_where_there_is_one() -> None:
    assert assessed(FULL).deciding.name == "found"
    assert assessed(FULL | {"planned": CUT}).deciding.name == "planned"


def test_every_finding_stands_once_and_names_its_subject() -> None:
    for stage in assessed(FULL | {"planned": CUT}).stages.values():
        keys = [f.key for f in stage.findings]
        assert len(keys) == len(set(keys))
        assert all(f.id.startswith(f"{f.subject}.") for f in stage.findings)


def test_an_old_edition_says_that_it_is_history() -> None:
    assert any("is history" in text for text in assessed(FULL, edition="usda-1941").cautions)
    assert not any("is history" in text for text in assessed(FULL).cautions)


def test_rules_may_enter_while_others_are_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Those of the models are loaded in a thread of the screen, while keys have the others judged."""
    entered = dict(RULES)
    last = entered[next(reversed(entered))]

    def meanwhile(id: str, asked: object) -> bool:
        entered[f"late.{len(entered)}"] = last
        return id in RULES and RULES[id].kind != "model"

    expected = result(faces("none"))
    monkeypatch.setattr(assessing, "RULES", entered)
    monkeypatch.setattr(assessing, "is_asked", meanwhile)
    assert result(faces("none")) == expected
    assert len(entered) > len(RULES)
