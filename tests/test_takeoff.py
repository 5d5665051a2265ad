"""What to buy: the rates against printed ones, and the list of a job as text, JSON and CSV."""

from __future__ import annotations

import csv
import io
import json
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hearthcalc import cli, reference, takeoff
from hearthcalc.job import Job
from hearthcalc.takeoff import lines, rebuilt
from hearthcalc.takeoff.lines import Item

EDITION = reference.load("irc-2021")

JOB: dict[str, Any] = {
    "format": "hearthcalc-job",
    "version": 1,
    "about": {"title": "Weir House", "measured": False},
    "face": [
        {
            "name": "parlour",
            "side": "front",
            "width": "36",
            "height": "30",
            "hearth": {"front": "20", "left": "12", "right": "12", "thickness": "4", "below": "wood"},
            "lintel": {
                "span": "36", "bearing": "4", "wall_height": "48", "wall_thickness": "4", "angle": "L3-1/2x3-1/2x1/4",
            },
        }
    ],
    "firebox": {
        "depth": "20", "wall": "8", "back_wall": "8", "lining": "2 1/2", "joint": "1/8", "throat_height": "36",
        "smoke_chamber_height": "30",
    },
    "flue": {"liner": "13x13", "height": "20 ft", "lining": "clay"},
}  # fmt: skip


def changed(**tables: dict[str, Any]) -> dict[str, Any]:
    """The job with entries of its tables changed; face, hearth and lintel are those of its one face. None leaves a key out."""
    doc: dict[str, Any] = json.loads(json.dumps(JOB))
    face = doc["face"][0]
    places = {"face": face, "hearth": face["hearth"], "lintel": face["lintel"]}
    for name, entries in tables.items():
        table = places.get(name) if name in places else doc.setdefault(name, {})
        assert table is not None
        table.update(entries)
        for key in [key for key, value in entries.items() if value is None]:
            del table[key]
    return doc


def items(doc: dict[str, Any] | None = None, stage: str | None = None) -> dict[str, Item]:
    return {item.name: item for item in takeoff.take_off(Job.from_document(doc or JOB), EDITION, stage)}


# The rates


def test_brickwork_takes_the_bricks_that_are_printed() -> None:
    """USDA Farmers' Bulletin 1889: 269 ft3 at 22.5 are 6053; 135 courses of 15.5 are 2092, a half brick dropped."""
    assert lines.bricks(Fraction(269), EDITION["takeoff.brick_per_volume"].number) == 6053
    assert abs(lines.bricks(Fraction(135), Fraction("15.5")) - 2092) <= 1


@pytest.mark.parametrize(
    ("joint", "on_edge", "flat"),
    [("0", "3.56", "6.40"), ("1/8", "3.41", "6.01"), ("3/16", "3.34", "5.83"), ("1/4", "3.28", "5.66")],
)
def test_firebrick_for_a_square_foot(joint: str, on_edge: str, flat: str) -> None:
    """Computed by an independent program for bricks of 9 x 4 1/2 x 2 1/2 in, to the two places given."""
    for height, printed in (("4.5", on_edge), ("2.5", flat)):
        rate = lines.per_square_foot(Fraction(9), Fraction(height), Fraction(joint))
        assert float(rate) == pytest.approx(float(printed), abs=0.005)


def test_the_joint_takes_what_the_bricks_leave() -> None:
    """A wall is brick and joints and nothing else."""
    size = Fraction(9), Fraction(9, 2)
    joint, depth = Fraction(1, 4), Fraction(5, 2)
    count = lines.per_square_foot(*size, joint)
    mortar = lines.joint_volume(*size, depth, joint)
    assert count * (mortar + size[0] * size[1] * depth) == 144 * depth


def test_a_slab_weighs_its_thickness_times_its_density() -> None:
    """Reinforced concrete, 150 lb/ft3 (ASCE 7, from memory): 4 in weigh 50 lb/ft2."""
    assert lines.slab_weight(Fraction(4), EDITION["takeoff.concrete"].number) == 50


@pytest.mark.parametrize(("inches", "count"), [(24, 1), (25, 2), (47, 2), (48, 2), (49, 3)])
def test_liner_sections_are_whole(inches: int, count: int) -> None:
    assert lines.sections(Fraction(inches), Fraction(24)) == count


# The list


def test_firebrick_by_area_and_joint() -> None:
    """5 ft2 of floor, 9 of back, 10 of sides; 144 / (9.125 x 4.625) to the ft2; 10 % of waste for cut splays (common practice)."""
    item = items()["Firebrick"]
    assert item.quantity == -(-24 * 144 * Fraction("1.10") // (Fraction("9.125") * Fraction("4.625")))
    assert item.text.endswith("laid on edge, the wide side to the fire")
    assert [step.symbol for step in item.working] == [
        "A_floor",
        "A_back",
        "A_left",
        "A_right",
        "A",
        "rate",
        "count",
    ]
    wide = items(changed(firebox={"joint": "1/4"}))["Firebrick"].quantity
    flat = items(changed(firebox={"lining": "4 1/2"}))["Firebrick"]
    assert wide is not None and flat.quantity is not None and item.quantity is not None
    assert wide < item.quantity < flat.quantity
    assert "laid flat" in flat.text


def test_a_firebox_open_on_two_sides_has_no_back_to_line() -> None:
    second = {"name": "dining", "side": "back", "width": "36", "height": "30"}
    doc = changed()
    doc["face"].append(second)
    both = items(doc)["Firebrick"]
    assert [step.symbol for step in both.working][:3] == ["A_floor", "A_left", "A_right"]
    assert both.quantity is not None and items()["Firebrick"].quantity is not None
    assert both.quantity < (items()["Firebrick"].quantity or 0)


def test_unlined_and_factory_built_fireboxes_take_no_firebrick() -> None:
    assert (
        not {"Firebrick", "Refractory mortar"} & items(changed(firebox={"lining": "0", "joint": None})).keys()
    )
    listed = items(changed(fireplace={"construction": "factory-built"}))
    assert not {"Firebrick", "Brick of the firebox walls", "Flue liner"} & listed.keys()
    assert "Hearth slab, parlour" in listed


def test_brick_behind_the_lining() -> None:
    """19 ft2 of walls, 5 1/2 in behind the firebrick, at 22.5 to the ft3 with 5 % of waste."""
    item = items()["Brick of the firebox walls"]
    assert item.quantity == -(-19 * Fraction(11, 24) * Fraction("22.5") * Fraction("1.05") // 1)
    assert "sacks of cement" in item.text
    assert "Brick of the firebox walls" not in items(changed(firebox={"wall": "2 1/2", "back_wall": "2 1/2"}))


def test_face_brick_by_the_table() -> None:
    """US brick trade table, joint 3/8 in: 680 brick and 6.56 ft3 of mortar for 100 ft2; 12 ft2 over the opening, 5 % of waste."""
    item = items()["Face brick over the opening, parlour"]
    assert item.quantity == -(-12 * Fraction("6.8") * Fraction("1.05") // 1)
    assert "0.79 ft3 of mortar" in item.text  # 12 x 0.0656, rounded up


def test_the_slab_with_its_weight_and_a_word_on_the_joists() -> None:
    """60 x 20 x 4 in are 2.78 ft3, 10 % of waste; 50 lb/ft2 on joists laid for 40 (IRC R301.5, from memory)."""
    found = items()
    assert found["Hearth slab, parlour"].quantity == Fraction(60 * 20 * 4, 1728) * Fraction("1.1")
    weight = found["Weight of the hearth, parlour"]
    assert weight.quantity == Fraction(60 * 20, 144) * 50
    assert "50 lb/ft2" in weight.caution and "40 lb/ft2" in weight.caution and "structure" in weight.caution
    assert items(changed(hearth={"below": "concrete"}))["Weight of the hearth, parlour"].caution == ""


def test_layers_are_bought_by_what_they_are() -> None:
    layers = [
        {"material": "slate", "thickness": "1/2"},
        {"material": "mortar_cement_lime_1920", "thickness": "1/2"},
        {"material": "cement_board", "thickness": "1/2"},
        {"material": "still_air", "thickness": "1/2"},
        {"material": "calcium_silicate_block_type_I", "thickness": "1"},
        {"material": "oak", "thickness": "3/4"},
    ]
    found = items(changed(hearth={"layers": layers}))
    area = Fraction(60 * 20, 144)
    assert found["Board, parlour: cement board"].quantity == area * Fraction("1.1")
    assert found["Hearth, parlour: slate"].unit == "ft2"
    assert found["Hearth, parlour: cement-lime mortar, 1920 kg/m3"].unit == "ft3"
    assert "Hearth slab, parlour" not in found and not any("oak" in name or "air" in name for name in found)
    weight = found["Weight of the hearth, parlour"]
    assert "calcium silicate block" in weight.note
    by_hand = sum(
        inch * 0.0254 * density for inch, density in ((0.5, 2400), (0.5, 1920), (0.5, 1150), (0.75, 705))
    )
    assert weight.quantity is not None
    assert float(weight.quantity) == pytest.approx(by_hand * 60 * 20 * 0.0254**2 / 0.45359237)


def test_liner_by_its_kind() -> None:
    """20 ft less throat and smoke chamber are 174 in: 8 sections of 2 ft (common practice, no source)."""
    assert items()["Flue liner"].text == "8 sections of 13x13, 2 ft each"
    metal = items(changed(flue={"lining": "listed liner"}))["Flue liner"]
    assert (metal.quantity, metal.unit) == (174, "in") and "its maker says" in metal.text
    assert "Flue liner" not in items(changed(flue={"lining": "unlined"}))
    upside_down = items(changed(firebox={"smoke_chamber_height": "18 ft"}))["Flue liner"]
    assert upside_down.quantity is None and "measure again" in upside_down.text


def test_the_lintel_with_its_bearings() -> None:
    """5.8 lb/ft (AISC) over 44 in: 21.3 lb."""
    item = items()["Lintel, parlour"]
    assert item.text == "1 of L3-1/2x3-1/2x1/4, 44 in long, 21.3 lb"
    assert items(changed(lintel={"wall_thickness": "8"}))["Lintel, parlour"].quantity == 2


def test_what_is_missing_is_told_with_each_item() -> None:
    bare = {"format": "hearthcalc-job", "version": 1, "face": [{"name": "parlour"}]}
    found = items(bare)
    assert all(item.quantity is None and item.missing for item in found.values())
    assert set(found["Firebrick"].missing) == {
        "face.parlour.width", "firebox.depth", "firebox.throat_height", "firebox.lining", "firebox.joint",
    }  # fmt: skip
    assert found["Firebrick"].text.startswith("Not figured yet. Still needed: ")
    wrong = items(changed(hearth={"layers": [{"material": "cementboard", "thickness": "1"}]}))[
        "Hearth, parlour"
    ]
    assert "No material 'cementboard'" in wrong.text and wrong.missing


def test_a_plan_lists_what_it_builds_and_nothing_else() -> None:
    """A mason buys for the work, not for what stands: common practice of the trade, no source."""
    doc = changed() | {
        "planned": {"face": [{"name": "parlour", "hearth": {"front": "24", "thickness": "4"}}]}
    }
    planned, found = items(doc), items(doc, "found")
    assert set(planned) == {
        "Hearth slab, parlour",
        "Weight of the hearth, parlour",
        "Steel of the hearth slab, parlour",
    }
    assert (
        "Firebrick" in found
        and found["Hearth slab, parlour"].quantity != planned["Hearth slab, parlour"].quantity
    )
    assert "what stays needs none" in planned["Hearth slab, parlour"].note
    with pytest.raises(KeyError, match="planned"):
        takeoff.take_off(Job.from_document(JOB), EDITION, "planned")


@pytest.mark.parametrize(
    ("plan", "names"),
    [
        ({"flue": {"liner": "10 round", "lining": "listed liner"}}, {"Flue liner", "Cap of the chimney"}),
        ({"flue": {"height": "23 ft"}}, {"Brick of the chimney", "Flue liner", "Cap of the chimney"}),
        ({"air": {"gas_logs": "listed"}}, {"Gas logs", "Damper stop"}),
        ({"air": {"gas_logs": "vent-free"}}, {"Gas logs"}),
        ({"face": [{"name": "parlour", "closure": "glass doors"}]}, {"Doors, parlour"}),
        ({"firebox": {"damper": "top", "damper_area": "140 in2"}}, {"Damper"}),
        ({"flue": {"cap": "open", "cap_area": "600 in2"}}, {"Cap of the flue", "Cap of the chimney"}),
        ({"use": {"open_together": False}}, set()),
    ],
)
def test_what_each_plan_takes(plan: dict[str, Any], names: set[str]) -> None:
    doc = changed(chimney={"wall": "4", "flues": 1}) | {"planned": plan}
    assert set(items(doc)) == names
    assert (takeoff.text(tuple(items(doc).values())).strip() == takeoff.NOTHING) == (not names)


def test_a_chimney_is_built_up_by_what_is_added() -> None:
    """36 in of 21 x 21 in around 13 x 13 in: 272 in2, 5.67 ft3 at 22.5 brick (FB1889) and 5 % of waste; 36 in of liner 2 ft long."""
    doc = changed(chimney={"wall": "4", "flues": 1}, structure={"bars": 4}) | {
        "planned": {"flue": {"height": "23 ft"}}
    }
    built = items(doc)
    assert built["Brick of the chimney"].quantity == 134
    assert built["Flue liner"].quantity == 2
    assert "36 in more of chimney" in built["Upright bars of the chimney"].text
    doc["structure"]["width"] = "36"
    wider = items(doc)["Brick of the chimney"]  # 36 x 21 - 169 = 587 in2, 12.23 ft3
    assert wider.quantity == 289


def planned(**tables: Any) -> dict[str, Any]:
    return changed() | {"planned": tables}


def test_a_count_that_is_the_same_for_another_size_is_not_the_same_as_found() -> None:
    other = items(planned(flue={"liner": "8.5x13", "lining": "clay"}))["Flue liner"]
    assert other.quantity == items()["Flue liner"].quantity
    assert "8.5x13" in other.text


def test_what_the_plan_takes_the_ground_from_is_not_bought() -> None:
    """A hearth that is made larger lies on floor nobody looked at: how thick it is has to be said again."""
    wider = items(planned(face=[{"name": "parlour", "hearth": {"front": "24"}}]))["Hearth, parlour"]
    assert wider.quantity is None
    assert wider.missing == ("planned.face.parlour.hearth.thickness",)
    doc = changed()
    doc["face"].append({"name": "dining", "side": "back", "width": "36", "height": "30"})
    closed = items(doc | {"planned": {"face": [{"name": "dining", "remove": True}]}})
    assert closed["Brick of the firebox walls"].quantity is None
    assert "planned.firebox.back_wall" in closed["Brick of the firebox walls"].missing


def test_what_the_plan_moves_is_told_in_the_working() -> None:
    """A left jamb that is cut back by 4 in takes 4 in off the hearth past it, whose end stays: 40 + 8 + 12 in are still 60 in."""
    new = {"name": "parlour", "width": "40", "jamb_moved": "left", "hearth": {"below": "concrete"}}
    moved, plain = items(planned(face=[new]))["Hearth slab, parlour"], items()["Hearth slab, parlour"]
    assert moved.quantity == plain.quantity
    assert "12 in as found - 4 in" in moved.working[0].numbers
    assert "40 in + 8 in + 12 in" in moved.working[1].numbers


def test_entries_that_cannot_both_be_right_buy_nothing() -> None:
    found = items(changed(lintel={"span": "30"}))
    for name in ("Face brick over the opening, parlour", "Lintel, parlour"):
        assert found[name].quantity is None and "measure again" in found[name].text
        assert set(found[name].missing) == {"face.parlour.lintel.span", "face.parlour.width"}
    assert found["Flue liner"].quantity == 8
    thin = items(changed(hearth={"layers": [{"material": "slate", "thickness": "1"}]}))
    assert thin["Hearth, parlour"].quantity is None


@pytest.mark.parametrize(("back", "thin"), [("2 1/4", True), ("2 1/2", False), ("2 3/4", False)])
def test_a_wall_thinner_than_its_firebrick_is_measured_again(back: str, thin: bool) -> None:
    item = items(changed(firebox={"back_wall": back}))["Brick of the firebox walls"]
    assert (item.quantity is None) == thin
    if thin:
        assert item.missing == ("firebox.back_wall", "firebox.lining")
        assert "2 1/4 in of wall is less than the 2 1/2 in of firebrick" in item.text
    whole = [step.value for step in items()["Brick of the firebox walls"].working][1:3]
    assert thin or [step.value for step in item.working][1:3] == whole


def test_the_back_is_as_thick_as_the_sides_where_it_is_not_given_and_that_is_said() -> None:
    """As the entry of the side walls says."""
    given, stands_in = (
        items(changed(firebox={"back_wall": back, "wall": "8"}))["Brick of the firebox walls"]
        for back in ("8", None)
    )
    assert given.quantity == stands_in.quantity
    assert "figured as thick as the sides" in stands_in.note
    assert "figured as thick as the sides" not in given.note
    thicker = items(changed(firebox={"back_wall": "12"}))["Brick of the firebox walls"]
    assert thicker.quantity and given.quantity and thicker.quantity > given.quantity


def two_faces(**second: str) -> dict[str, Any]:
    doc = changed()
    doc["face"].append({"name": "dining", "height": "30"} | second)
    return doc


def test_a_face_that_does_not_say_its_side_leaves_the_firebox_unfigured() -> None:
    assert items(two_faces(width="30"))["Firebrick"].missing == ("face.dining.side",)


def test_a_firebox_is_as_wide_as_its_widest_opening() -> None:
    """Floor 44 x 20 in, sides 20 x 36 in twice."""
    item = items(two_faces(side="back", width="44"))["Firebrick"]
    assert item.working[3].value == Fraction(44 * 20 + 2 * 20 * 36, 144)
    assert items(two_faces(side="back"))["Firebrick"].missing == ("face.dining.width",)


def test_a_corner_fireplace_has_one_side_less() -> None:
    """Floor and back 36 in wide, one side 20 in; how wide the side opening is does not matter."""
    item = items(two_faces(side="left"))["Firebrick"]
    assert [step.symbol for step in item.working][:3] == ["A_floor", "A_back", "A_right"]
    assert item.working[3].value == Fraction(36 * 20 + 36 * 36 + 20 * 36, 144)
    alone = items(changed(face={"side": "left", "width": "18"}))["Firebrick"]
    assert [step.symbol for step in alone.working][:4] == ["A_floor", "A_back", "A_front", "A_right"]
    assert alone.working[4].value == Fraction(18 * 20 + 2 * 20 * 36 + 18 * 36, 144)


def test_what_a_liner_is_asked_for_by() -> None:
    unknown = items(changed(flue={"liner": None}))["Flue liner"]
    assert unknown.text == "8 sections of a size that is not entered, 2 ft each"
    assert unknown.missing == ("flue.liner",)
    across = items(changed(flue={"liner": None, "diameter": "8", "lining": "poured"}))["Flue liner"]
    assert (
        across.text == "174 in of 8 in inside, cast in place around a form: its maker says what goes with it"
    )
    inside = items(changed(flue={"liner": None, "inside": "8 x 12"}))["Flue liner"]
    assert "of 8 in x 12 in inside" in inside.text and inside.missing == ()
    short = items(changed(flue={"height": "90"}))["Flue liner"]
    assert short.text == "1 section of 13x13, 2 ft each"


@pytest.mark.parametrize(
    ("bends", "told"), [(None, "is not entered"), ([], ""), (["30 deg", "30 deg"], "Offsets take extra")]
)
def test_offsets_take_more_than_a_straight_flue(bends: list[str] | None, told: str) -> None:
    note = items(changed(flue={"offsets": bends}))["Flue liner"].note
    assert told in note and bool(note) == bool(told)


def test_an_arch_is_not_figured_and_needs_no_steel() -> None:
    arch = changed(face={"arch": "semicircular", "lintel": None})
    del arch["face"][0]["arch"]
    arch["face"][0]["arch"] = "semicircular"
    found = items(arch)
    assert found["Face brick over the opening, parlour"].quantity is None
    assert "over an arch" in found["Face brick over the opening, parlour"].text
    assert "Lintel, parlour" not in found


def test_an_angle_that_is_in_no_table_has_no_weight() -> None:
    item = items(changed(lintel={"angle": "L9x9x2"}))["Lintel, parlour"]
    assert item.text == "1 of L9x9x2, 44 in long, its weight is not in the table"


def test_a_weight_without_a_density_is_more_than_is_told() -> None:
    layers = [
        {"material": "slate", "thickness": "1"},
        {"material": "calcium_silicate_block_type_I", "thickness": "3"},
    ]
    item = items(changed(hearth={"layers": layers}))["Weight of the hearth, parlour"]
    assert item.text.startswith("More than ") and item.caution.startswith("More than ")
    whole = items(changed(hearth={"layers": layers[:1], "thickness": "1"}))["Weight of the hearth, parlour"]
    assert item.quantity == whole.quantity and not whole.text.startswith("More than")


def test_no_working_of_a_metric_job_is_in_feet_or_inches() -> None:
    faces = metric_faces()
    faces[0]["lintel"] = {
        "span": "900", "bearing": "100", "wall_height": "1200", "wall_thickness": "100", "angle": "L3-1/2x3-1/2x1/4",
    }  # fmt: skip
    layers = changed()
    layers["face"] = json.loads(json.dumps(faces))
    layers["face"][0]["hearth"]["layers"] = [{"material": "slate", "thickness": "100"}]
    box = metric_firebox() | {
        "smoke_chamber_height": "700", "smoke_chamber_wall": "200", "floor_slab": "150", "damper": "throat", "throat_width": "850",
        "throat_depth": "120",
    }  # fmt: skip
    flues = (
        {"lining": "clay", "height": "6000", "liner": "200x200"},
        {"lining": "listed liner", "height": "6000", "diameter": "200"},
    )
    for doc, flue in ((changed() | {"face": faces}, flues[0]), (layers, flues[1])):
        found = items(
            doc | {"units": "mm", "firebox": box, "flue": flue, "chimney": {"wall": "100", "flues": 1}}
        )
        assert all(item.quantity is not None for item in found.values())
        for item in found.values():
            lines = (item.text, item.note, item.caution, *(step.line() for step in item.working))
            units = {item.unit, *(step.unit for step in item.working)}
            assert not {"in", "ft", "in2", "ft2", "in3", "ft3", "lb", "lb/ft2"} & units, item
            assert not re.search(r"\d (in|ft|lb)|/ft|/in", " ".join(lines)), item
    assert found["Flue liner"].quantity == 4400 and found["Flue liner"].unit == "mm"


def test_the_rates_are_the_same_in_both_systems() -> None:
    """22.5 brick/ft3 are 794.6 brick/m3; 150 lb/ft3 are 2403 kg/m3; 40 lb/ft2 are 195.3 kg/m2.

    By the foot of 0.3048 m and the pound of 0.45359237 kg.
    """
    found = items(changed() | {"units": "mm"} | {"face": metric_faces(), "firebox": metric_firebox()})
    walls, weight = found["Brick of the firebox walls"], found["Weight of the hearth, parlour"]
    assert "794.6 brick/m3" in walls.working[-2].numbers
    assert "0.51 m3 of sand" in walls.working[-1].numbers  # 18 ft3 = 0.5097 m3, rounded up
    assert "2403 kg/m3" in weight.working[0].numbers and "195.3 kg/m2" in weight.caution
    assert float(found["Firebrick"].working[-2].value or 0) == pytest.approx(1 / (0.2316 * 0.1173), rel=1e-9)


def test_a_metric_job_buys_in_metric() -> None:
    found = items(changed() | {"units": "mm"} | {"face": metric_faces(), "firebox": metric_firebox()})
    assert found["Refractory mortar"].unit == "L"
    slab, weight = found["Hearth slab, parlour"], found["Weight of the hearth, parlour"]
    assert (slab.unit, weight.unit) == ("m3", "kg")
    assert slab.quantity == Fraction("1.5") * Fraction("0.5") * Fraction("0.1") * Fraction("1.1")
    assert weight.quantity is not None
    assert float(weight.quantity) == pytest.approx(1.5 * 0.5 * 0.1 * 2402.77, rel=1e-4)  # 150 lb/ft3


def metric_faces() -> list[dict[str, Any]]:
    hearth = {"front": "500", "left": "300", "right": "300", "thickness": "100", "below": "wood"}
    return [{"name": "parlour", "side": "front", "width": "900", "height": "750", "hearth": hearth}]


def metric_firebox() -> dict[str, Any]:
    return {"depth": "500", "wall": "200", "lining": "64", "joint": "3", "throat_height": "900"}


sizes = st.integers(12, 60)


@given(sizes, sizes, sizes, st.sampled_from(["1/16", "1/8", "1/4"]))
def test_a_larger_firebox_never_takes_less(width: int, depth: int, throat: int, joint: str) -> None:
    def counts(more: int) -> list[Fraction]:
        doc = changed(
            face={"width": str(width + more), "height": "12"},
            lintel={"span": str(width + more)},
            firebox={"depth": str(depth), "throat_height": str(throat), "joint": joint},
        )
        found = items(doc)
        return [
            found[name].quantity or Fraction(0)
            for name in ("Firebrick", "Refractory mortar", "Hearth slab, parlour")
        ]

    assert all(small <= large for small, large in zip(counts(0), counts(3), strict=True))


# What a change builds anew


def test_a_smoke_chamber_is_a_frustum() -> None:
    """Mensuration of the handbooks (from memory): a frustum of a pyramid holds h/3 (A + a + root of A x a); a box, its three sides."""
    big, small, height = Fraction(36), Fraction(12), Fraction(30)
    by_handbook = (
        height / 3 * (big * 24 + small * 8 + big * 8)
    )  # 36 x 24 over 12 x 8: the root of A x a is 36 x 8
    assert rebuilt.prismoid((big, Fraction(24)), (small, Fraction(8)), height) == by_handbook
    assert rebuilt.prismoid((big, small), (big, small), height) == big * small * height
    # Sides 30 high that come in by 40 are 50 long, a triangle 3-4-5: four of a mean width of 50.
    assert (
        rebuilt.slopes((Fraction(90), Fraction(90)), (Fraction(10), Fraction(10)), Fraction(30))
        == 4 * 50 * 50
    )


REBUILT: dict[str, dict[str, Any]] = {
    "firebox": {"smoke_chamber_wall": "8", "smoke_chamber_parged": "yes", "damper": "throat", "throat_width": "34",
                "throat_depth": "5", "floor_slab": "6 1/2"},
    "chimney": {"wall": "4", "flues": 1},
}  # fmt: skip


def test_brick_and_parging_of_the_smoke_chamber() -> None:
    """22.5 brick/ft3 and 1/2 in of plaster (USDA Farmers' Bulletin 1889); 34 x 20 in up to a 13 x 13 in liner in 30 in, walls of 8 in."""
    found = items(changed(**REBUILT))
    inside = 5 * (34 * 20 + 4 * Fraction(47, 2) * Fraction(33, 2) + 13 * 13)
    outside = 5 * (50 * 36 + 4 * Fraction(79, 2) * Fraction(65, 2) + 29 * 29)
    expected = -(-(outside - inside) / 1728 * Fraction("22.5") * Fraction("1.05") // 1)
    brick = found["Brick of the smoke chamber"]
    assert brick.quantity == expected and brick.text.startswith(f"about {expected} brick")
    assert "from the throat, as deep as the firebox, to the outside of the liner" in brick.note
    area = 2 * 23.5 * (30**2 + 3.5**2) ** 0.5 + 2 * 16.5 * (30**2 + 10.5**2) ** 0.5
    parging = found["Parging of the smoke chamber"]
    assert float(parging.quantity or 0) == pytest.approx(area * 0.5 * 1.2 / 1728)
    assert "1/2 in thick" in parging.text


def test_a_smoke_chamber_whose_ends_are_both_entered_is_counted_by_hand() -> None:
    """A square pyramid cut off: height / 3 x (A + a + root of A x a), of the textbooks.

    20 in square below, 10 in inside a round liner above, 30 in high: 10 x (400 + 100 + 200) = 7000 in3; with walls of 8 in all round 36 and
    26 in square: 10 x (1296 + 676 + 936) = 29080 in3. 22080 in3 are 12.78 ft3, at 22.5 brick and 5 % of waste 301.9 brick.
    """
    firebox = REBUILT["firebox"] | {"throat_width": "20"}
    brick = items(changed(**REBUILT | {"firebox": firebox, "flue": {"liner": None, "diameter": "10"}}))[
        "Brick of the smoke chamber"
    ]
    assert brick.quantity == 302 and brick.text.startswith("302 brick around the smoke chamber")
    assert "to the inside of the liner" in brick.note and "closer" not in brick.note


def test_without_the_width_of_the_throat_the_smoke_chamber_is_as_wide_as_the_firebox() -> None:
    """36 x 20 in up to 13 x 13 in: more than it takes, and told to be about it."""
    firebox = REBUILT["firebox"] | {"throat_width": None, "damper": "top"}
    brick = items(changed(**REBUILT | {"firebox": firebox}))["Brick of the smoke chamber"]
    inside = 5 * (36 * 20 + 4 * Fraction(49, 2) * Fraction(33, 2) + 13 * 13)
    outside = 5 * (52 * 36 + 4 * Fraction(81, 2) * Fraction(65, 2) + 29 * 29)
    assert brick.quantity == -(-(outside - inside) / 1728 * Fraction("22.5") * Fraction("1.05") // 1)
    assert brick.text.startswith("about ") and "from the floor plan of the firebox" in brick.note
    assert "Enter the width of the throat" in brick.note


@pytest.mark.parametrize(
    ("firebox", "told", "gone"),
    [
        ({"smoke_chamber_form": "prefabricated"}, "Smoke chamber", "Brick of the smoke chamber"),
        ({"smoke_chamber_parged": "no"}, "Brick of the smoke chamber", "Parging of the smoke chamber"),
        ({"damper": "none"}, "Inner hearth slab", "Damper"),
        ({"floor_slab": "2 1/2"}, "Damper", "Inner hearth slab"),
    ],
)
def test_what_is_not_built_is_not_bought(firebox: dict[str, str], told: str, gone: str) -> None:
    found = items(changed(**REBUILT | {"firebox": REBUILT["firebox"] | firebox}))
    assert told in found and gone not in found


def test_a_damper_by_the_throat_or_by_the_flue() -> None:
    assert items(changed(**REBUILT))["Damper"].text == "1 of metal, over a throat 34 in x 5 in"
    top = items(changed(firebox={"damper": "top"}))["Damper"]
    assert top.text == "1 on top of a flue of 13x13, with its cable"
    assert items(changed(firebox={"damper": "unknown"}))["Damper"].missing == ("firebox.damper",)


def test_the_inner_hearth_with_its_steel() -> None:
    """36 x 20 in, 6 1/2 in less 2 1/2 in of firebrick: 4 in (IRC R1001.9.1), 10 % of waste; bars 6 in apart (common practice)."""
    found = items(changed(**REBUILT))
    assert found["Inner hearth slab"].quantity == Fraction(36 * 20 * 4, 1728) * Fraction("1.1")
    # 5 bars of 36 in over 20 in, 7 of 20 in over 36 in: 320 in, 352 with waste, 29.3 ft.
    steel = found["Steel of the inner hearth slab"]
    assert (steel.quantity, steel.unit) == (
        30,
        "ft",
    ) and "3/8 in bar: 5 the long way and 7 across" in steel.text
    thin = items(changed(**REBUILT | {"firebox": REBUILT["firebox"] | {"floor_slab": "2"}}))[
        "Inner hearth slab"
    ]
    assert thin.quantity is None and thin.missing == ("firebox.floor_slab", "firebox.lining")
    # 5 bars of 60 in over 20 in, 11 of 20 in over 60 in: 520 in, 572 with waste, 47.7 ft.
    assert found["Steel of the hearth slab, parlour"].quantity == 48
    tiled = changed(hearth={"layers": [{"material": "slate", "thickness": "4"}]})
    assert "Steel of the hearth slab, parlour" not in items(tiled)


def test_the_cap_of_the_chimney() -> None:
    """A 13 in liner in walls of 4 in (IRC R1003.10): 21 in, 2 in past it, 3 in thick (common practice), less the liner; 10 % of waste."""
    found = items(changed(**REBUILT))["Cap of the chimney"]
    assert found.quantity == Fraction((25 * 25 - 13 * 13) * 3, 1728) * Fraction("1.1")
    assert "against the liner" in found.note
    wide = items(changed(**REBUILT | {"structure": {"width": "40"}}))["Cap of the chimney"]
    assert wide.quantity == Fraction((44 * 25 - 13 * 13) * 3, 1728) * Fraction("1.1") and wide.note == ""
    several = items(changed(**REBUILT | {"chimney": {"wall": "4", "flues": 2}}))["Cap of the chimney"]
    assert several.quantity is None and "measure the top of the masonry" in several.text
    assert set(items()["Cap of the chimney"].missing) == {"chimney.wall", "chimney.flues"}


def test_upright_bars_are_counted_and_their_length_is_measured() -> None:
    """IRC R1001.3.1: four No. 4 bars."""
    assert "Upright bars of the chimney" not in items()
    bars = items(changed(structure={"bars": 4, "ties": "18"}))["Upright bars of the chimney"]
    assert bars.quantity == 4 and "tied every 18 in: measure how far" in bars.text


@pytest.mark.parametrize(("width", "needles"), [("35", 2), ("36", 2), ("36 1/4", 3), ("72", 3)])
def test_needles_and_props_of_a_cut(width: str, needles: int) -> None:
    """Common practice, no source: a needle at each end, none farther than 3 ft from the next, 2 ft past the wall on both sides."""
    lintel = {
        "span": width,
        "bearing": "4",
        "wall_height": "48",
        "wall_thickness": "8",
        "angle": "L4x3-1/2x1/4",
    }
    new = {"name": "dining", "side": "back", "width": width, "height": "30", "lintel": lintel}
    found = items(planned(face=[new]))
    assert found["Needles, dining"].quantity == needles and "56 in long" in found["Needles, dining"].text
    assert found["Props, dining"].quantity == 2 * needles and "measure" in found["Props, dining"].text
    assert "qualified" in found["Needles, dining"].caution
    assert not any(name.startswith("Needles") for name in items(planned(use={"open_together": False})))
    del lintel["wall_thickness"]
    assert items(planned(face=[new]))["Shoring"].missing == ("planned.face.dining.lintel.wall_thickness",)


# In the units and the brick of the country


@pytest.mark.parametrize(
    ("edition", "on_a_square_metre"),
    [
        ("england-adj", (59, 60)),
        ("germany-feuvo", (47, 50)),
        ("australia-hp", (48, 50)),
        ("canada-nbc", (74, 76)),
    ],
)
def test_brick_of_the_country(edition: str, on_a_square_metre: tuple[int, int]) -> None:
    """What handbooks there print for a wall one brick wide (from memory): 60, 48 to 50 of the normal format, 48.5, 75 to the m2."""
    code = reference.load(edition)
    length, height, width, joint = (
        code[f"takeoff.brick.{name}"].number for name in ("length", "height", "width", "joint")
    )
    each = float(lines.per_square_foot(length, height, joint)) / 0.3048**2
    assert on_a_square_metre[0] <= each <= on_a_square_metre[1]
    rate, joints = lines.laid_brick(length, height, width, joint)
    assert rate * length * height * width == 1728 * (1 - joints)


def test_a_job_in_england_buys_its_brick_by_the_bag_of_25_kg() -> None:
    """Brick of 215 x 65 x 102.5 mm with joints of 10 mm; sand as much as mortar, 3.5 sacks of cement to 18 ft3 of it (bulletin 1889)."""
    doc = changed() | {"units": "mm", "about": {"edition": "england-adj", "measured": False}}
    doc |= {
        "face": metric_faces(),
        "firebox": metric_firebox() | {"wall": "314"},
        "flue": {"lining": "clay", "height": "6000"},
    }
    doc["firebox"]["smoke_chamber_height"] = "700"
    listed = takeoff.take_off(Job.from_document(doc), reference.load("england-adj"))
    found = {item.name: item for item in listed}
    volume = (
        0.25 * 0.9 * (2 * 0.5 + 0.9)
    )  # 314 mm less 64 mm of firebrick, 900 mm high, on two sides and the back
    assert found["Brick of the firebox walls"].quantity == -(-volume * 1.05 / (0.225 * 0.075 * 0.1125) // 1)
    joints = 1 - 0.215 * 0.065 * 0.1025 / (0.225 * 0.075 * 0.1125)
    sand = volume * joints * 1.2 / 0.3048**3
    bags = sand * 3.5 / 18 * 94 * 0.45359237 / 25
    assert (
        f"{-(-bags * 100 // 1) / 100:.2f} bags of 25 kg of cement" in found["Brick of the firebox walls"].text
    )
    assert found["Firebrick"].text.split(" firebrick ")[1].startswith("230 mm x 114 mm x 64 mm")
    assert found["Flue liner"].quantity == 15 and "300 mm each" in found["Flue liner"].text  # 4400 mm


# What is laid in each country, from memory: brick, firebrick, and the sections of a clay liner, mm; a sack holds 25 kg (own policy).
UK = ("215 mm x 65 mm x 102.5 mm", "230 mm x 114 mm x 64 mm", "300 mm")
LAID = {
    "england-adj": UK, "ireland-tgdj": UK, "scotland-th": UK,
    "germany-feuvo": ("240 mm x 71 mm x 115 mm", "250 mm x 124 mm x 64 mm", "330 mm"),
    "france": ("220 mm x 60 mm x 105 mm", "220 mm x 110 mm x 60 mm", "330 mm"),
    "italy-uni": ("250 mm x 55 mm x 120 mm", "230 mm x 114 mm x 64 mm", ""),
    "sweden": ("250 mm x 62 mm x 120 mm", "250 mm x 124 mm x 64 mm", ""),
    "canada-nbc": ("190 mm x 57 mm x 90 mm", "229 mm x 114 mm x 64 mm", "600 mm"),
    "australia-hp": ("230 mm x 76 mm x 110 mm", "230 mm x 114 mm x 64 mm", ""),
    "new-zealand": ("230 mm x 76 mm x 70 mm", "230 mm x 114 mm x 64 mm", ""),
}  # fmt: skip


def test_every_metric_edition_has_the_brick_of_its_country() -> None:
    metric = {id for id in reference.edition_ids() if reference.load(id).units == "mm"}
    assert metric == LAID.keys()


@pytest.mark.parametrize("edition", LAID)
def test_a_metric_job_is_bought_in_the_brick_bags_liners_and_shoring_of_its_country(edition: str) -> None:
    """A cut of 900 mm through a wall of 230 mm: needles at both ends, 914 mm apart at most, 610 mm past the wall (common practice)."""
    brick, firebrick, section = LAID[edition]
    lintel = {
        "span": "900",
        "bearing": "100",
        "wall_height": "1200",
        "wall_thickness": "230",
        "angle": "L4x3-1/2x1/4",
    }
    second = {"name": "dining", "side": "back", "width": "900", "height": "750", "lintel": lintel}
    lining = firebrick.split(" x ")[2].removesuffix(" mm")
    box = metric_firebox() | {
        "lining": lining, "wall": "314",
        "smoke_chamber_height": "700", "smoke_chamber_wall": "200", "floor_slab": "150", "damper": "throat", "throat_width": "850",
        "throat_depth": "120",
    }  # fmt: skip
    doc = changed() | {
        "units": "mm", "face": metric_faces(), "firebox": box, "chimney": {"wall": "100", "flues": 1},
        "flue": {"lining": "clay", "height": "6000", "diameter": "250"},
        "planned": {"face": [second], "firebox": box, "flue": {"lining": "clay", "diameter": "300"}},
    }  # fmt: skip
    job = Job.from_document(doc | {"about": {"edition": edition, "measured": False}})
    listed = takeoff.take_off(job, reference.load(edition))
    found = {item.name: item for item in listed}
    rate = next(step for step in found["Brick of the firebox walls"].working if step.symbol == "rate")
    assert brick in rate.numbers
    assert f" firebrick {firebrick}" in found["Firebrick"].text
    assert "bags of 25 kg of cement" in found["Brick of the firebox walls"].text
    assert f"{section or '610 mm'} each" in found["Flue liner"].text
    needles, props = found["Needles, dining"], found["Props, dining"]
    assert (needles.quantity, props.quantity, needles.trade) == (2, 4, "Shoring")
    assert needles.text == "2 needles through the wall, 1450 mm long"
    told = " ".join(f"{item.text} {item.note} {step.line()}" for item in listed for step in item.working)
    assert not re.search(r"\d (in|ft)[23]?\b", told)


# Written out


def test_the_list_stands_first_by_trade_and_the_working_after() -> None:
    listed = takeoff.take_off(Job.from_document(changed(**REBUILT)), EDITION)
    told = takeoff.text(listed).splitlines()
    heads = [line for line in told if line and not line.startswith(" ")]
    assert heads == [
        "Brick and mortar",
        "Concrete and hearth",
        "Steel and iron",
        "Flue and chimney top",
        "How each is figured",
    ]
    assert not any(" = " in line for line in told[: told.index("How each is figured")])
    assert [item.trade for item in listed] == sorted(
        (item.trade for item in listed), key=takeoff.TRADES.index
    )


def test_the_record_can_be_read_back() -> None:
    job = Job.from_document(JOB)
    listed = takeoff.take_off(job, EDITION)
    record = json.loads(json.dumps(takeoff.to_record(listed, job, EDITION, "found"), allow_nan=False))
    assert (record["format"], record["version"], record["stage"]) == ("hearthcalc-takeoff", 1, "found")
    assert record["job"] == {"title": "Weir House", "fingerprint": job.fingerprint}
    assert [item["name"] for item in record["items"]] == [item.name for item in listed]
    assert record["items"][0]["quantity"] == float(listed[0].quantity or 0)
    assert {"name", "quantity", "unit", "text", "note", "caution", "missing", "working", "trade"} == record[
        "items"
    ][0].keys()


def test_the_csv_has_a_line_for_each_item() -> None:
    listed = takeoff.take_off(Job.from_document(changed(firebox={"joint": None})), EDITION)
    rows = list(csv.DictReader(io.StringIO(takeoff.to_csv(listed))))
    assert [row["item"] for row in rows] == [item.name for item in listed]
    assert rows[0]["quantity"] == "" and rows[0]["missing"] == "firebox.joint"
    assert all(float(row["quantity"]) > 0 for row in rows if row["quantity"])


def test_no_line_of_the_text_is_wider_than_asked() -> None:
    told = takeoff.text(takeoff.take_off(Job.from_document(JOB), EDITION), 60).splitlines()
    assert told and max(map(len, told)) <= 60
    assert any(line.startswith("    ! 50 lb/ft2") for line in told)


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = cli.main(list(words))
    out, err = capsys.readouterr()
    return code, out, err


def test_the_command_writes_each_form(capsys: pytest.CaptureFixture[str]) -> None:
    code, text, _ = run(capsys, "takeoff", "demo")
    assert code == 0 and text.startswith("Shoring\n  Needles, dining: ")
    code, text, _ = run(capsys, "takeoff", "demo", "--json")
    assert code == 0 and json.loads(text)["stage"] == "planned"
    code, text, _ = run(capsys, "takeoff", "demo", "--csv", "--stage", "found")
    assert code == 0 and text.startswith("trade,item,quantity,unit,")


def test_the_command_says_what_is_wrong(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "one.hearth.toml"
    file.write_text('format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "parlour"\n')
    assert run(capsys, "takeoff", str(file), "--stage", "planned")[0] == 2
    assert run(capsys, "takeoff", str(tmp_path / "none.toml"))[0] == 4
    code, _, err = run(capsys, "takeoff", "demo", "--json", "--csv")
    assert code == 2 and "not allowed with" in err
    assert run(capsys, "takeoff", str(file))[0] == 0


def test_the_list_belongs_to_an_explained_check(capsys: pytest.CaptureFixture[str]) -> None:
    _, plain, _ = run(capsys, "check", "demo")
    _, explained, _ = run(capsys, "check", "demo", "--explain")
    assert "WHAT TO BUY" in explained and "Refractory mortar" in explained
    assert "WHAT TO BUY" not in plain
