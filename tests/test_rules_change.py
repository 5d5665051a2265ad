"""What is advised where a fireplace is changed. Common practice, no source, but where a clause is named."""

from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.rules.case import RULES, Case, run

Document = dict[str, Any]
STANDS: Document = {
    "format": "hearthcalc-job",
    "version": 1,
    "about": {"measured": True},
    "face": [{"name": "study", "side": "front", "width": "36", "height": "30", "closure": "none"}],
    "flue": {"liner": "13x13", "height": "20 ft"},
}
CUT: Document = {"face": [{"name": "terrace", "side": "back", "width": "36", "height": "30"}]}


def advised(
    name: str, planned: Document, stage: str = "planned", edition: str = "irc-2021", **more: Any
) -> Finding | None:
    """What one rule on the work advises. more: what else stands."""
    job = Job.from_document(STANDS | more | ({"planned": planned} if planned else {}))
    told = run(Case(job.stages()[stage], job, reference.load(edition)), RULES[f"change.{name}"]).made
    assert len(told) < 2
    return next(iter(told), None)


WORK = ("inspection", "permit", "hold_points", "alarms", "shoring", "envelope", "structure")


@pytest.mark.parametrize("name", WORK)
@pytest.mark.parametrize("construction", ["masonry", "factory-built"])
def test_a_cut_is_advised_on_whatever_it_is_cut_into(name: str, construction: str) -> None:
    """IRC R1004.1 leaves a factory-built unit to its listing, not the work on the house and its permit."""
    told = advised(name, CUT, fireplace={"construction": construction})
    assert told is not None and told.verdict == "REFER" and not told.counts
    assert not told.text.startswith("A factory-built fireplace")


@pytest.mark.parametrize("name", WORK)
def test_what_stands_gets_no_advice_on_work(name: str) -> None:
    assert advised(name, CUT, "found") is None
    assert advised(name, {}, "found") is None


@pytest.mark.parametrize("construction", ["masonry", "factory-built"])
def test_what_stands_may_stay(construction: str) -> None:
    """IRC R102.7: of what is measured; a drawing and the work are new."""
    told = advised("existing", CUT, "found", fireplace={"construction": construction})
    assert told is not None and told.text.startswith("What was lawfully built")
    assert advised("existing", CUT) is None
    assert advised("existing", CUT, "found", about={"measured": False}) is None
    assert advised("existing", CUT, "found", edition="germany-feuvo") is None


# Masonry that is cut away is shored first.
@pytest.mark.parametrize(
    ("found", "planned", "cut"),
    [
        ({}, {"height": "32"}, True),
        ({}, {"height": "28"}, False),
        ({}, {"width": "37"}, True),
        ({}, {"width": "36", "height": "30"}, False),
        ({"arch": "segmental", "rise": "6"}, {"rise": "5"}, True),
        ({"arch": "segmental", "rise": "3"}, {"rise": "4"}, False),
        ({"arch": "semicircular"}, {"arch": "flat"}, True),
        ({"arch": "flat"}, {"arch": "flat"}, False),
    ],
)
def test_an_opening_made_larger_is_shored(found: Document, planned: Document, cut: bool) -> None:
    face = STANDS["face"][0] | found
    told = advised("shoring", {"face": [{"name": "study"} | planned]}, face=[face])
    assert (told is not None) == cut
    if told:
        assert "the opening of the study face takes" in told.text and told.caution


# What changes the fire, its smoke or its flue calls for a camera; a hearth alone, a fan or a wall that is moved does not (NFPA 211).
@pytest.mark.parametrize(
    ("planned", "inspected"),
    [
        ({"flue": {"height": "25 ft"}}, True),
        ({"firebox": {"depth": "18"}}, True),
        ({"fire": {"size": "roaring"}}, True),
        ({"chimney": {"wall": "8"}}, True),
        ({"fireplace": {"construction": "masonry"}}, True),
        ({"air": {"gas_logs": "listed"}}, True),
        ({"air": {"exterior_duct": "20 in2"}}, False),
        ({"roof": [{"name": "porch"}]}, True),
        ({"face": [{"name": "study", "closure": "glass doors"}]}, True),
        ({"face": [{"name": "study", "width": "35"}]}, True),
        ({"face": [{"name": "study", "hearth": {"front": "30"}}]}, False),
        ({"use": {"open_together": False}}, False),
    ],
)
def test_the_flue_is_inspected_before_what_changes_it(planned: Document, inspected: bool) -> None:
    told = advised("inspection", planned)
    assert (told is not None) == inspected


# Work stops where the next step would hide it.
@pytest.mark.parametrize(
    ("planned", "stops"),
    [
        ({"flue": {"liner": "12x12", "lining": "clay"}}, ("the liner from both ends",)),
        ({"flue": {"height": "25 ft"}}, ()),
        ({"firebox": {"throat_depth": "4"}}, ("the smoke chamber before the liner",)),
        ({"firebox": {"smoke_chamber_height": "30"}}, ("the smoke chamber before the liner",)),
        ({"firebox": {"depth": "18"}}, ()),
        (
            {"face": [{"name": "study", "hearth": {"front": "30"}}]},
            ("what carries the hearth before it is covered",),
        ),
        ({"use": {"open_together": False}}, ()),
        (
            CUT,
            (
                "before the cut",
                "with the lintel in",
                "the smoke chamber before the liner",
                "what carries the hearth before it is covered",
            ),
        ),
    ],
)
def test_work_stops_where_this_plan_has_something_to_look_at(
    planned: Document, stops: tuple[str, ...]
) -> None:
    told = advised("hold_points", planned)
    assert told and told.text.endswith(f": {'; '.join((*stops, 'the finished work before any fire'))}.")


def test_an_opening_on_a_second_side_is_for_the_official() -> None:
    one, two = advised("permit", {"use": {"open_together": False}}), advised("permit", CUT)
    assert one and two
    assert ("open on two sides" in one.text, "open on two sides" in two.text) == (False, True)


# What a cut lets in, and what it may bury.
@pytest.mark.parametrize(
    ("places", "words"),
    [
        (["room"], None),
        (["screened"], "The terrace face makes the fireplace a hole"),
        (["glazed"], "The terrace face makes the fireplace a hole"),
        (["outdoors", "outdoors"], "The terrace and porch faces make the fireplace a hole"),
        ([None], "If the terrace face opens to a porch or outdoors, it makes the fireplace a hole"),
        (
            [None, None],
            "If the terrace and porch faces open to a porch or outdoors, they make the fireplace a hole",
        ),
    ],
)
def test_a_cut_to_the_weather_is_told(places: list[str | None], words: str | None) -> None:
    new = [
        {"name": name, "side": side} | ({"opens_to": place} if place else {})
        for (name, side), place in zip((("terrace", "back"), ("porch", "left")), places, strict=False)
    ]
    told = advised("envelope", {"face": new})
    assert told and "ash dump" in told.text
    assert told.text.count("a hole in the house wall") == (words is not None)
    assert words is None or words in told.text


# A floor is looked at for the weight that the work adds to it.
@pytest.mark.parametrize(
    ("hearth", "told"),
    [
        ({"front": "60"}, True),
        ({"front": "20 1/16"}, True),
        ({"front": "20"}, False),
        ({"front": "6"}, False),
        ({"left": "0"}, False),
        ({"left": "1"}, True),
        ({"thickness": "20"}, True),
        ({"thickness": "20", "below": "wood, insulated"}, True),
        ({"thickness": "20", "below": "air gap"}, True),
        ({"thickness": "20", "below": "concrete"}, False),
        ({"thickness": "20", "below": "unknown"}, True),
        ({"layers": [{"material": "brick", "thickness": "4"}]}, True),
        ({"layers": [{"material": "slate", "thickness": "1"}]}, False),
    ],
)
def test_a_hearth_that_grows_no_heavier_needs_no_other_floor(hearth: Document, told: bool) -> None:
    layers = [{"material": "slate", "thickness": "1"}]
    stands = {"front": "20", "thickness": "4", "below": "wood", "layers": layers}
    face = STANDS["face"][0] | {"hearth": stands}
    finding = advised("structure", {"face": [{"name": "study", "hearth": hearth}]}, face=[face])
    assert (finding is not None) == told
    assert finding is None or "what carries the hearth at the study face" in finding.text


def test_every_new_hearth_is_a_weight() -> None:
    new = [{"name": name, "side": side} for name, side in (("terrace", "back"), ("porch", "left"))]
    both = advised("structure", {"face": new})
    assert both and "what carries the hearths at the terrace and porch faces" in both.text
    solid = advised("structure", {"face": [new[0] | {"hearth": {"below": "masonry"}}]})
    assert solid is None
