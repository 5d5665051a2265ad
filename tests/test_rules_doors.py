"""The doors: may they be closed over a fire, do they seal, and a face to a garage. Common practice, no source, but for the garage."""

from typing import Any

import pytest

from hearthcalc import reference
from hearthcalc.assess import assess
from hearthcalc.findings import Finding
from hearthcalc.job import Job

Document = dict[str, Any]
FACE = {"name": "study", "side": "front", "width": "36", "height": "30"}


def told(faces: list[Document], id: str, edition: str = "irc-2021", **more: Any) -> list[Finding]:
    job = {"format": "hearthcalc-job", "version": 1, "face": faces, **more}
    findings = assess(Job.from_document(job), reference.load(edition)).stages["found"].findings
    return [finding for finding in findings if finding.id == id]


def one(id: str, edition: str = "irc-2021", **face: str) -> Finding:
    (only,) = told([FACE | face], id, edition)
    return only


@pytest.mark.parametrize(
    ("closure", "entries", "burning", "seal"),
    [
        ("glass doors", {"burning_closed": "yes", "gap_area": "0 in2"}, "MEETS", "MEETS"),
        ("steel doors", {"burning_closed": "no", "gap_area": "6 in2"}, "REFER", "REFER"),
        ("panel", {"burning_closed": "unknown"}, "MEASURE", "MEASURE"),
        ("panel", {}, "MEASURE", "MEASURE"),
        ("fixed glass", {"gap_area": "1 in2"}, "MEASURE", "REFER"),
        ("fixed glass", {"burning_closed": "yes"}, "MEETS", "MEASURE"),
        ("fixed glass", {"burning_closed": "no"}, "SHORT", "MEASURE"),
        (None, {"burning_closed": "yes", "gap_area": "0 in2"}, "MEASURE", "MEASURE"),
        ("none", {}, None, None),
    ],
)
def test_the_doors(
    closure: str | None, entries: dict[str, str], burning: str | None, seal: str | None
) -> None:
    face = FACE | ({"closure": closure} if closure else {}) | entries
    for id, verdict in (("doors.burning_closed", burning), ("doors.seal", seal)):
        assert [f.verdict for f in told([face], id)] == ([verdict] if verdict else [])


def test_what_is_not_known_of_the_doors_is_named() -> None:
    for id in ("doors.burning_closed", "doors.seal"):
        assert one(id).missing == ("face.study.closure",)
    assert one("doors.burning_closed", closure="panel").missing == ("face.study.burning_closed",)
    assert one("doors.seal", closure="panel").missing == ("face.study.gap_area",)


def test_doors_that_one_side_relies_on_are_short() -> None:
    doors = FACE | {"closure": "glass doors", "burning_closed": "no"}
    both = told([doors, {"name": "hall", "closure": "none"}], "doors.burning_closed")
    assert [(f.face, f.verdict) for f in both] == [("study", "SHORT")]
    assert "leave this side open while the fire burns for another" in both[0].text
    assert both[0].remedy == ("Fit doors listed for closing over a fire.",)


def test_the_doors_are_told_in_plain_grammar() -> None:
    panel = one("doors.burning_closed", closure="panel", burning_closed="no")
    assert panel.text == (
        "The panel of the study face is entered as not rated for closing over a fire: close it only when the fire is out."
    )
    assert panel.caution is None
    glass = one("doors.burning_closed", closure="glass doors", burning_closed="yes")
    assert glass.text == "The glass doors of the study face are entered as rated for closing over a fire."
    assert one("doors.burning_closed", closure="glass doors", burning_closed="no").caution


@pytest.mark.parametrize(
    ("room", "words"), [("bedroom", "People sleep"), ("garage", "Fuel vapor"), ("room", "")]
)
def test_what_is_behind_leaking_doors_is_told(room: str, words: str) -> None:
    finding = one("doors.seal", closure="steel doors", gap_area="6 in2", opens_to=room)
    assert words in finding.text
    assert ("behind it" in finding.text) == bool(words)


# IRC R302.5.1: no opening from a garage straight into a room for sleeping; R302.6 the separation, M1307.3 and G2408.2 a flame 18 in above
# the floor, none of which speaks of a fireplace.
@pytest.mark.parametrize(
    ("rooms", "verdicts"),
    [
        (["garage"], ["REFER"]),
        (["garage", "room"], ["REFER"]),
        (["room", "garage"], ["REFER"]),
        (["garage", "bedroom"], ["SHORT"]),
        (["garage", "garage"], ["REFER", "REFER"]),
        (["room", "bedroom"], []),
        ([None], ["MEASURE"]),
        (["garage", None], ["REFER", "MEASURE"]),
    ],
)
@pytest.mark.parametrize("closure", ["none", "fixed glass"])
def test_a_face_to_a_garage_is_never_better_than_referred(
    closure: str, rooms: list[str | None], verdicts: list[str]
) -> None:
    faces = [
        {"name": f"face {number}", "closure": closure, **({"opens_to": room} if room else {})}
        for number, room in enumerate(rooms)
    ]
    findings = told(faces, "doors.garage")
    assert [f.verdict for f in findings] == verdicts
    for finding in findings:
        if finding.missing:
            assert finding.missing[0].endswith(".opens_to")
        else:
            assert "R302.5.1" in finding.basis[0].clause and finding.remedy


@pytest.mark.parametrize("edition", reference.edition_ids())
def test_a_garage_is_referred_in_every_edition(edition: str) -> None:
    assert one("doors.garage", edition, opens_to="garage").verdict == "REFER"


def test_a_garage_is_a_garage_beside_a_listed_unit_too() -> None:
    """IRC R302.5.1 is about the house; R1004.1 leaves only the unit to its listing."""
    faces = [FACE | {"opens_to": "garage"}, {"name": "hall", "opens_to": "bedroom"}]
    (found,) = told(faces, "doors.garage", fireplace={"construction": "factory-built"})
    assert (found.verdict, found.basis[0].clause) == (
        "SHORT",
        one("doors.garage", opens_to="garage").basis[0].clause,
    )
