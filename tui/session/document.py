"""A job's document under edit, as pure functions: a document in, a document out. Also what an address is of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from hearthcalc.job import join_address, parse_address, set_entry, spec_of, typed
from hearthcalc.lengths import Unit
from hearthcalc_tui.entries import Document, value_of

STAGES = {"found": "as found", "planned": "as planned"}
PATHS = {
    "face": ("face",), "nearby": ("nearby",), "roof": ("roof",), "fans": ("air", "fans"),
    "photo": ("photo",), "signed": ("signed",),
}  # fmt: skip
WORDS = {
    "face": "face",
    "nearby": "item",
    "roof": "roof",
    "fans": "fan",
    "photo": "photo",
    "signed": "signer",
}
WHOLE_LISTS = ("fans",)  # planned, such a list would replace the found one whole
FOUND_ONLY = (*WHOLE_LISTS, "photo", "signed")  # lists of which no thing is planned by itself
PLANNED = "planned."
LAYERS = ".hearth.layers"


# Addresses


def stage_of(address: str) -> str:
    """The stage that an address writes to."""
    return "planned" if address.startswith(PLANNED) else "found"


def as_found(address: str) -> str:
    """The same entry as found."""
    return address.removeprefix(PLANNED)


def as_planned(address: str) -> str:
    """The same entry as planned."""
    return f"{PLANNED}{as_found(address)}"


def address_of(kind: str, name: str, *, planned: bool = False) -> str:
    """Where a face, a thing nearby, a roof or a fan stands."""
    return join_address((*(("planned",) if planned else ()), *PATHS[kind], name))


def is_name(address: str) -> bool:
    """Is this the name of a thing, which is one for both stages and changes wherever it is used."""
    return address.endswith(".name")


def whole_list(address: str) -> str:
    """The address of the layers that an entry is a part of, "" where it is none."""
    if f"{LAYERS}." not in address:
        return ""
    parts = parse_address(address)
    return join_address(parts[:-2]) if parts[-4:-2] == ("hearth", "layers") else ""


def layer_number(address: str) -> int:
    """Which layer an entry is of, from the top; 0 where it is of none."""
    return int(parse_address(address)[-2]) if whole_list(address) else 0


# Changes


def entered(document: Document, address: str, text: str) -> Document:
    """A document with one entry changed. Planned layers replace the found ones whole: the first planned one takes those over."""
    unit: Unit = "mm" if document.get("units") == "mm" else "in"
    value, whole = value_of(spec_of(address), text, unit), whole_list(address)
    if not whole.startswith(PLANNED):
        return set_entry(document, address, value)
    found = layers(document, as_found(whole))
    if typed(document, whole) is None and value is None:
        return document
    if typed(document, whole) is None and found:
        document = set_entry(document, whole, found)
    document = set_entry(document, address, value)
    return set_entry(document, whole, []) if found and typed(document, whole) is None else document


def all_entered(document: Document, entries: Sequence[tuple[str, str]]) -> Document:
    """A document with several entries changed. entries: address and text of each."""
    for address, text in entries:
        document = entered(document, address, text)
    return document


def as_typed(now: Any, made: Any, before: Any, after: Any) -> Any:
    """A document, or a part of one, whose units are turned back: what has not changed meanwhile, as it was before.

    now: it is turned from.  made: what turning makes of it.  before, after: the other way.
    """
    if now == after:
        return before
    if isinstance(made, Mapping) and isinstance(before, Mapping):
        return {
            key: as_typed(now[key], value, before[key], after[key]) if key in before and key in now else value
            for key, value in made.items()
        }
    if isinstance(made, list) and isinstance(before, list) and len(made) == len(before):
        return [as_typed(*each) for each in zip(now, made, before, after, strict=True)]
    return made


def layers(document: Document, whole: str) -> list[Any]:
    """The layers of a hearth as typed, from the top down; as planned those found, where none are planned.

    whole: the address of the list.
    """
    own = typed(document, whole)
    own = typed(document, as_found(whole)) if own is None else own
    return list(own) if isinstance(own, list | tuple) else []


def with_layers(document: Document, whole: str, given: Sequence[Any]) -> Document:
    """A document with all the layers of a hearth given anew."""
    value: list[Any] | None = list(given)
    if not given and not (whole.startswith(PLANNED) and layers(document, as_found(whole))):
        value = None  # planned, an empty list says that those found go
    return set_entry(document, whole, value)
