"""Faces, things nearby, roofs and fans added, removed and renamed: a snapshot in, a document out."""

from __future__ import annotations

from hearthcalc.errors import UsageError
from hearthcalc.job import MOST_FACES, entries, get, join_address, parse_address, set_entry
from hearthcalc_tui.entries import Document, text_of
from hearthcalc_tui.session.document import FOUND_ONLY, WORDS, address_of
from hearthcalc_tui.session.snapshot import Snapshot

SIDES = ("front", "back", "left", "right")
SHAPES = ("face.arch", "face.lintel.angle")  # sizes in words


def sizes_of(now: Snapshot, face: str, stage: str) -> list[tuple[str, str, str]]:
    """The sizes of a face at a stage: place below the face, label and text of each that is known.

    What stands about it is no size, and another face has its own: room, doors, what lies under the hearth or sits on the lintel.
    """
    sizes = []
    for address, spec, value in entries(now.job_of(stage)):
        parts = parse_address(address)
        if (
            parts[:2] == ("face", face)
            and (spec.kind == "length" or spec.key in SHAPES)
            and value is not None
        ):
            sizes.append((join_address(parts[2:]), spec.label, text_of(value)))
    return sizes


def added(now: Snapshot, kind: str, stage: str, like: str = "") -> tuple[Document, str]:
    """The document with one thing more, and the name it was given. UsageError where no more fit.

    like: a face whose sizes a new one starts from, entered as a person would.
    """
    planned = stage == "planned" and kind not in FOUND_ONLY
    taken = {*now.things(kind, "found"), *now.things(kind, "planned")}
    base, side = WORDS[kind], ""
    if kind == "face":
        if len(taken) >= MOST_FACES:
            raise UsageError(
                "No more faces", f"A fireplace has at most {MOST_FACES} faces.", fix="Remove one first."
            )
        sides = {face.side for face in now.job_of(stage).face}
        side = next((side for side in SIDES if side not in sides), "")
        base = side or base
    name = next(n for n in (base, *(f"{base} {number}" for number in range(2, 10_000))) if n not in taken)
    thing = {"name": name, **({"side": side} if side else {})}
    address = address_of(kind, name, planned=planned)
    document = set_entry(now.document, address, thing)
    for place, _, text in sizes_of(now, like, stage) if like else ():
        document = set_entry(document, f"{address}.{place}", text)
    return document, name


def removed(now: Snapshot, kind: str, name: str, stage: str) -> Document:
    """The document without a thing; as planned, the work takes away what was found. UsageError for the last face."""
    if kind == "face" and len(now.things(kind, stage)) == 1:
        raise UsageError(
            "The last face", "A fireplace has at least one face.", fix="Add the other one first."
        )
    planned = address_of(kind, name, planned=True)
    document = now.document
    if get(now.job, planned) is not None:
        document = set_entry(document, planned, None)
    if stage == "found" or kind in FOUND_ONLY:
        return set_entry(document, address_of(kind, name), None)
    if name in now.things(kind, "found"):
        return set_entry(document, f"{planned}.remove", True)
    return document


def name_mistake(now: Snapshot, address: str, text: str) -> str:
    """Why a thing cannot bear this name, "" where it can. address: of its name."""
    parts = parse_address(address)
    kind = parts[-3]
    if not text.strip():
        return "Each has a name. Type one; until then it keeps the old."
    others = {*now.things(kind, "found"), *now.things(kind, "planned")} - {parts[-2]}
    return (
        "Another has this name. Type another; until then it keeps the old." if text.strip() in others else ""
    )
