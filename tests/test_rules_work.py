"""What a plan does to a fireplace: what is cut, closed, laid anew, relined, built up. Common practice of the trade, no source."""

from fractions import Fraction
from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.job import Job
from hearthcalc.rules.work import Work, work_of

Document = dict[str, Any]
EDITION = reference.load("irc-2021")
STANDS: Document = {
    "format": "hearthcalc-job",
    "version": 1,
    "face": [
        {"name": "study", "side": "front", "width": "36", "height": "30", "closure": "glass doors"},
        {"name": "hall", "side": "back", "width": "36", "height": "30"},
    ],
    "flue": {"height": "20 ft"},
    "air": {"gas_logs": "none"},
}
TERRACE: Document = {"name": "terrace", "side": "left", "width": "36", "height": "30"}
PARTS = ("firebox", "floor", "throat", "damper", "liner", "stack", "top", "fire")


def work(planned: Document, **more: Any) -> Work:
    return work_of(Job.from_document(STANDS | more | {"planned": planned}), EDITION)


def face(**entries: Any) -> Document:
    return {"face": [{"name": "study", **entries}]}


@pytest.mark.parametrize(
    ("planned", "parts"),
    [
        ({"face": [TERRACE]}, {"firebox", "floor", "throat", "damper", "fire"}),
        (face(remove=True), {"firebox", "fire"}),
        (face(width="40"), {"firebox", "floor", "throat", "damper", "fire"}),
        (face(width="30"), {"firebox", "floor", "fire"}),
        (face(height="28"), {"firebox", "fire"}),
        ({"firebox": {"depth": "18"}}, {"firebox", "floor", "fire"}),
        ({"firebox": {"lining": "2"}}, {"firebox", "fire"}),
        ({"firebox": {"floor_slab": "4"}}, {"firebox", "floor", "fire"}),
        ({"firebox": {"throat_depth": "4"}}, {"throat", "damper", "fire"}),
        ({"firebox": {"smoke_chamber_height": "30"}}, {"throat", "damper", "fire"}),
        ({"firebox": {"damper": "top"}}, {"damper", "fire"}),
        ({"flue": {"liner": "12 round"}}, {"liner", "top", "fire"}),
        ({"flue": {"height": "25 ft"}}, {"stack", "top", "fire"}),
        ({"flue": {"cap": "none"}}, {"top", "fire"}),
        ({"roof": [{"name": "porch"}]}, {"stack", "fire"}),
        ({"chimney": {"crown": "yes"}}, {"top", "fire"}),
        (face(hearth={"front": "30"}), set()),
        ({"site": {"altitude": "10 ft"}}, set()),
    ],
)
def test_what_a_plan_builds_anew(planned: Document, parts: set[str]) -> None:
    assert {part for part in PARTS if getattr(work(planned), part)} == parts


@pytest.mark.parametrize(
    ("planned", "told"),
    [
        ({"face": [TERRACE]}, {"cut": ("terrace",), "hearths": ("terrace",), "lintels": ("terrace",)}),
        (face(width="40"), {"cut": ("study",), "lintels": ("study",)}),
        (face(lintel={"bearing": "8"}), {"lintels": ("study",)}),
        (face(hearth={"front": "30"}), {"hearths": ("study",)}),
        (face(remove=True), {"gone": ("study",)}),
        (face(closure="glass doors"), {}),
        (face(closure="steel doors"), {"doors": ("study",)}),
        (face(closure="none"), {}),
        (
            {"face": [TERRACE | {"closure": "glass doors"}]},
            {"cut": ("terrace",), "doors": ("terrace",), "hearths": ("terrace",), "lintels": ("terrace",)},
        ),
        ({"air": {"gas_logs": "listed"}}, {"gas": True}),
        ({"air": {"gas_logs": "none"}}, {}),
        ({"flue": {"height": "25 ft"}}, {"raised": Fraction(60)}),
        ({"flue": {"height": "240 in"}}, {}),
        ({"flue": {"height": "15 ft"}}, {}),
    ],
)
def test_what_a_plan_does_to_each_face(planned: Document, told: Document) -> None:
    nothing = dict.fromkeys(("cut", "gone", "doors", "hearths", "lintels"), ())
    expected = nothing | {"gas": False, "raised": Fraction(0)} | told
    made = work(planned)
    assert {name: getattr(made, name) for name in expected} == expected


def test_gas_logs_that_are_there_are_not_set() -> None:
    assert not work({"flue": {"cap": "none"}}, air={"gas_logs": "listed"}).gas


def test_a_flue_of_no_known_height_is_not_raised() -> None:
    assert work({"flue": {"height": "25 ft"}}, flue={}).raised == 0


def test_without_a_plan_there_is_no_work() -> None:
    with pytest.raises(KeyError, match="planned"):
        work_of(Job.from_document(STANDS), EDITION)
