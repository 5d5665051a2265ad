"""What to buy: the rates against printed ones, and the list of a job as text, JSON and CSV."""

from __future__ import annotations

import csv
import io
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hearthcalc import cli, reference, takeoff
from hearthcalc.job import Job
from hearthcalc.takeoff import Item

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
    assert takeoff.bricks(Fraction(269), EDITION["takeoff.brick_per_volume"].number) == 6053
    assert abs(takeoff.bricks(Fraction(135), Fraction("15.5")) - 2092) <= 1


@pytest.mark.parametrize(
    ("joint", "on_edge", "flat"),
    [("0", "3.56", "6.40"), ("1/8", "3.41", "6.01"), ("3/16", "3.34", "5.83"), ("1/4", "3.28", "5.66")],
)
def test_firebrick_for_a_square_foot(joint: str, on_edge: str, flat: str) -> None:
    """Computed by an independent program for bricks of 9 x 4 1/2 x 2 1/2 in, to the two places given."""
    for height, printed in (("4.5", on_edge), ("2.5", flat)):
        rate = takeoff.per_square_foot(Fraction(9), Fraction(height), Fraction(joint))
        assert float(rate) == pytest.approx(float(printed), abs=0.005)


def test_the_joint_takes_what_the_bricks_leave() -> None:
    """A wall is brick and joints and nothing else."""
    size = Fraction(9), Fraction(9, 2)
    joint, depth = Fraction(1, 4), Fraction(5, 2)
    count = takeoff.per_square_foot(*size, joint)
    mortar = takeoff.joint_volume(*size, depth, joint)
    assert count * (mortar + size[0] * size[1] * depth) == 144 * depth


def test_a_slab_weighs_its_thickness_times_its_density() -> None:
    """Reinforced concrete, 150 lb/ft3 (ASCE 7, from memory): 4 in weigh 50 lb/ft2."""
    assert takeoff.slab_weight(Fraction(4), EDITION["takeoff.concrete"].number) == 50


@pytest.mark.parametrize(("inches", "count"), [(24, 1), (25, 2), (47, 2), (48, 2), (49, 3)])
def test_liner_sections_are_whole(inches: int, count: int) -> None:
    assert takeoff.sections(Fraction(inches), Fraction(24)) == count


# The list


def test_firebrick_by_area_and_joint() -> None:
    """5 ft2 of floor, 9 of back, 10 of sides; 144 / (9.125 x 4.625) to the ft2, and 5 % of waste (common practice, no source)."""
    item = items()["Firebrick"]
    assert item.quantity == -(-24 * 144 * Fraction("1.05") // (Fraction("9.125") * Fraction("4.625")))
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
    second = {"name": "terrace", "side": "back", "width": "36", "height": "30"}
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
    assert found["Firebrick"].text.startswith("Not figured: ")
    wrong = items(changed(hearth={"layers": [{"material": "cementboard", "thickness": "1"}]}))[
        "Hearth, parlour"
    ]
    assert "No material 'cementboard'" in wrong.text and wrong.missing


def test_what_stands_already_is_said() -> None:
    doc = changed() | {
        "planned": {"face": [{"name": "parlour", "hearth": {"front": "24", "thickness": "4"}}]}
    }
    planned, found = items(doc), items(doc, "found")
    same = "It is the same as found: buy only what is replaced."
    assert same in planned["Firebrick"].note and same not in planned["Hearth slab, parlour"].note
    assert not any(same in item.note for item in found.values())
    assert found["Hearth slab, parlour"].quantity != planned["Hearth slab, parlour"].quantity
    with pytest.raises(KeyError, match="planned"):
        takeoff.take_off(Job.from_document(JOB), EDITION, "planned")


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
            face={"width": str(width + more)},
            firebox={"depth": str(depth), "throat_height": str(throat), "joint": joint},
        )
        found = items(doc)
        return [
            found[name].quantity or Fraction(0)
            for name in ("Firebrick", "Refractory mortar", "Hearth slab, parlour")
        ]

    assert all(small <= large for small, large in zip(counts(0), counts(3), strict=True))


# Written out


def test_the_record_can_be_read_back() -> None:
    job = Job.from_document(JOB)
    listed = takeoff.take_off(job, EDITION)
    record = json.loads(json.dumps(takeoff.to_record(listed, job, EDITION, "found"), allow_nan=False))
    assert (record["format"], record["version"], record["stage"]) == ("hearthcalc-takeoff", 1, "found")
    assert record["job"] == {"title": "Weir House", "fingerprint": job.fingerprint}
    assert [item["name"] for item in record["items"]] == [item.name for item in listed]
    assert record["items"][0]["quantity"] == float(listed[0].quantity or 0)
    assert {"name", "quantity", "unit", "text", "note", "caution", "missing", "working"} == record["items"][
        0
    ].keys()


def test_the_csv_has_a_line_for_each_item() -> None:
    listed = takeoff.take_off(Job.from_document(changed(firebox={"joint": None})), EDITION)
    rows = list(csv.DictReader(io.StringIO(takeoff.to_csv(listed))))
    assert [row["item"] for row in rows] == [item.name for item in listed]
    assert rows[0]["quantity"] == "" and rows[0]["missing"] == "firebox.joint"
    assert all(float(row["quantity"]) > 0 for row in rows if row["quantity"])


def test_no_line_of_the_text_is_wider_than_asked() -> None:
    lines = takeoff.text(takeoff.take_off(Job.from_document(JOB), EDITION), 60).splitlines()
    assert lines and max(map(len, lines)) <= 60
    assert any(line.startswith("  ! 50 lb/ft2") for line in lines)


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = cli.main(list(words))
    out, err = capsys.readouterr()
    return code, out, err


def test_the_command_writes_each_form(capsys: pytest.CaptureFixture[str]) -> None:
    code, text, _ = run(capsys, "takeoff", "demo")
    assert code == 0 and text.startswith("Firebrick: ")
    code, text, _ = run(capsys, "takeoff", "demo", "--json")
    assert code == 0 and json.loads(text)["stage"] == "planned"
    code, text, _ = run(capsys, "takeoff", "demo", "--csv", "--stage", "found")
    assert code == 0 and text.startswith("item,quantity,unit,")


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
