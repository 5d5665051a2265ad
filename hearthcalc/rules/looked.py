"""Where nobody has looked: places that neither a thing entered nor a look that found none covers."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from hearthcalc.findings import Finding, Verdict
from hearthcalc.rules.case import Case, Subject, Whose, rule

MASONRY = {"firebox side": "sides", "firebox back": "back", "chimney": "chimney"}


@rule("clearance.looked", "Every place looked at", asks="")
def looked(case: Case) -> Finding:
    """Above, beside and in front of each opening, beside the masonry and on the roof, something is entered or somebody looked."""
    covered = set(_covered(case))
    open_places = []
    for whose, name, words in _places(case):
        if (whose if isinstance(whose, str) else whose.name, name) in covered:
            continue
        key = name if isinstance(whose, str) else f"looked.{name}"
        if case.flag(whose, key).known is not True:
            case.wants(whose, key)
            open_places.append(words)
    if not open_places:
        text = (
            "Something is entered for every place around the fireplace, or someone looked and found it clear."
        )
        return case.finding(Verdict.MEETS, text)
    finding = case.missing(tuple(case.asked.missing))
    text = f"Nobody has looked {', '.join(open_places)}. Enter what is there, or that there is nothing."
    return finding if case.unread_among(finding.missing) else replace(finding, text=text)


def _places(case: Case) -> Iterator[tuple[Whose, str, str]]:
    """The places that what is asked goes by: round the fire for its clearances, the roofs for the chimney."""
    asked = case.questions
    if "clearances" in asked:
        for face in case.faces:
            yield face, "above", f"above the {face.name} opening"
            yield face, "beside", f"beside the {face.name} opening"
            yield face, "before", f"in front of the {face.name} opening"
        yield "looked", "sides", "at the firebox sides"
        if all(case.word(face, "side", needed=False).known != "back" for face in case.faces):
            yield "looked", "back", "behind the firebox"
        yield "looked", "chimney", "along the chimney"
    if "chimney" in asked:
        yield "looked", "roofs", "for roofs near the chimney"


def _covered(case: Case) -> Iterator[tuple[str, str]]:
    """The places that a thing or a roof is entered for."""
    for thing in case.things:
        face, at = (case.word(thing, name, needed=False).known for name in ("face", "at"))
        if face:
            yield from ((face, name) for name in _before_face(case, thing))
        if at in MASONRY:
            yield "looked", MASONRY[at]
    if case.roofs:
        yield "looked", "roofs"


def _before_face(case: Case, thing: Subject) -> Iterator[str]:
    """Where a thing is as seen from its opening."""
    above, beside, ahead = (
        case.number(thing, name, needed=False).known for name in ("above", "beside", "ahead")
    )
    if above and above.value:
        yield "above"
    if beside and beside.value:
        yield "beside"
    if ahead:
        yield "before"
