"""Where nobody has looked: a place is covered by what is entered there, or by somebody's word that there is nothing. Own policy."""

from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.findings import Finding
from hearthcalc.job import Job
from hearthcalc.rules.case import RULES, Case, run

Document = dict[str, Any]
EDITION = reference.load("irc-2021")
BEFORE = ("face.room.looked.above", "face.room.looked.beside", "face.room.looked.before")
ROUND = ("looked.sides", "looked.back", "looked.chimney", "looked.roofs")
WORDS = (
    "above the room opening, beside the room opening, in front of the room opening, at the firebox sides, behind the firebox, "
    "along the chimney, for roofs near the chimney"
)


def looked(unread: dict[str, str] | None = None, **entries: Any) -> Finding:
    document = {"format": "hearthcalc-job", "version": 1, "face": [{"name": "room"}], **entries}
    job = Job.from_document(document)
    case = Case(job.stages()["found"], job, EDITION, unread=unread or {})
    (told,) = run(case, RULES["clearance.looked"]).made
    return told


def test_every_place_is_looked_at() -> None:
    nowhere = looked()
    assert (nowhere.verdict, nowhere.missing) == ("MEASURE", (*BEFORE, *ROUND))
    assert nowhere.text == f"Nobody has looked {WORDS}. Enter what is there, or that there is nothing."
    clear = {key.rpartition(".")[2]: True for key in BEFORE}
    everywhere: Document = {
        "face": [{"name": "room", "looked": clear}],
        "looked": {key.rpartition(".")[2]: True for key in ROUND},
    }
    assert (looked(**everywhere).verdict, looked(**everywhere).missing) == ("MEETS", ())
    for key in ROUND:
        everywhere["looked"][key.rpartition(".")[2]] = False
        assert looked(**everywhere).missing == (key,)
        everywhere["looked"][key.rpartition(".")[2]] = True


# What a thing or a roof covers by being entered; one that is level with an edge of the opening is not past it.
@pytest.mark.parametrize(
    ("thing", "covers"),
    [
        ({}, set()),
        ({"face": "room"}, set()),
        ({"face": "room", "above": "0", "beside": "0"}, set()),
        ({"face": "room", "above": "1/16"}, {BEFORE[0]}),
        ({"face": "room", "beside": "1/16"}, {BEFORE[1]}),
        ({"face": "room", "ahead": "0"}, {BEFORE[2]}),
        ({"face": "room", "above": "8", "beside": "6", "ahead": "4"}, set(BEFORE)),
        ({"at": "firebox front"}, set()),
        ({"at": "firebox side", "above": "8"}, {ROUND[0]}),
        ({"at": "firebox back"}, {ROUND[1]}),
        ({"at": "chimney"}, {ROUND[2]}),
    ],
)
def test_what_is_entered_covers_its_place(thing: Document, covers: set[str]) -> None:
    told = looked(nearby=[{"name": "it", **thing}])
    assert told.missing == tuple(key for key in (*BEFORE, *ROUND) if key not in covers)


def test_a_roof_that_is_entered_is_one_near_the_chimney() -> None:
    assert looked(roof=[{"name": "main"}]).missing == (*BEFORE, *ROUND[:-1])


@pytest.mark.parametrize(
    ("questions", "asked"),
    [(["clearances"], (*BEFORE, *ROUND[:-1])), (["chimney"], ROUND[-1:]), (["hearth"], ())],
)
def test_only_the_places_of_what_is_asked_are_looked_at(questions: list[str], asked: tuple[str, ...]) -> None:
    assert looked(asked={"questions": questions}).missing == asked


@pytest.mark.parametrize(("side", "behind"), [("back", False), ("front", True), ("left", True), (None, True)])
def test_behind_a_fireplace_that_is_open_there_is_nothing(side: str | None, behind: bool) -> None:
    faces = [{"name": "room"}, {"name": "hall", **({"side": side} if side else {})}]
    assert ("looked.back" in looked(face=faces).missing) == behind
    assert "face.hall.side" not in looked(face=faces).missing


def test_a_word_that_cannot_be_read_is_told_instead() -> None:
    assert looked({"looked.chimney": "no yes or no"}).text.startswith("Cannot be read: looked.chimney")
