"""Where nobody has looked: places that neither a thing entered nor a look that found none covers."""

from __future__ import annotations

from collections.abc import Iterator

from hearthcalc.findings import Finding, Verdict
from hearthcalc.job import Nearby
from hearthcalc.rules.case import Case, Whose, rule

MASONRY = {"firebox side": "sides", "firebox back": "back", "chimney": "chimney"}


@rule("clearance.looked", "Every place looked at", asks="")
def looked(case: Case) -> Finding:
    """Above, beside and in front of each opening, beside the masonry and on the roof, something is entered or somebody looked."""
    covered = set(_covered(case))
    for whose, name in _places(case):
        if (whose if isinstance(whose, str) else whose.name, name) not in covered:
            answer = case.flag(whose, name if isinstance(whose, str) else f"looked.{name}")
            if answer.known is False:
                case.wants(whose, name if isinstance(whose, str) else f"looked.{name}")
    case.all_known()
    return case.finding(
        Verdict.MEETS, "Every place round the fireplace has something entered, or was looked at and is clear."
    )


def _places(case: Case) -> Iterator[tuple[Whose, str]]:
    for face in case.job.face:
        yield from ((face, name) for name in ("above", "beside", "before"))
    yield "looked", "sides"
    if all(case.word(face, "side", needed=False).known != "back" for face in case.job.face):
        yield "looked", "back"
    yield from (("looked", name) for name in ("chimney", "roofs"))


def _covered(case: Case) -> Iterator[tuple[str, str]]:
    """The places that a thing or a roof is entered for."""
    for thing in case.job.nearby:
        face, at = (case.word(thing, name, needed=False).known for name in ("face", "at"))
        if face:
            yield from ((face, name) for name in _before_face(case, thing))
        if at in MASONRY:
            yield "looked", MASONRY[at]
    if case.job.roof:
        yield "looked", "roofs"


def _before_face(case: Case, thing: Nearby) -> Iterator[str]:
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
