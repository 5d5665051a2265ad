"""What a job asks: its questions, and which rules answer each. A rule that is of none of them always runs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from types import MappingProxyType

EVERYTHING = "everything"
QUESTIONS: Mapping[str, str] = MappingProxyType({
    "flue": "Does the flue carry the opening?",
    "hearth": "Is the hearth large enough, and what is under it?",
    "clearances": "What is too close to the fire?",
    "chimney": "Is the chimney high enough over the roof?",
    "draft": "Will it smoke, and where does its air come from?",
    "steel": "What carries the masonry over the opening?",
    "firebox": "Are the firebox and smoke chamber built right?",
    EVERYTHING: "All of it",
})  # fmt: skip
NAMES: Mapping[str, str] = MappingProxyType({
    "flue": "flue", "hearth": "hearth and floor", "clearances": "clearances", "chimney": "chimney over the roof",
    "draft": "draft and air", "steel": "steel over the opening", "firebox": "firebox and smoke chamber",
})  # fmt: skip

# By the id of a rule, or by its first word.
_OF: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "flue": ("flue",),
    "hearth": ("hearth",),
    "heat": ("hearth",),
    "heat.mantel": ("clearances",),
    "change.structure": ("hearth",),
    "clearance": ("clearances",),
    "clearance.looked": ("clearances", "chimney"),
    "chimney": ("chimney",),
    "draft": ("draft",),
    "air": ("draft",),
    "house": ("draft",),
    "gas_logs": ("draft",),
    "doors": ("draft",),
    "change.envelope": ("draft",),
    "lintel": ("steel",),
    "firebox": ("firebox",),
    "smoke_chamber": ("firebox", "draft"),
    "firebox.throat_height": ("firebox", "draft"),
    "firebox.throat_depth": ("firebox", "draft"),
    "firebox.passageway": ("firebox", "draft"),
    "firebox.damper": ("firebox", "draft"),
    "firebox.construction": (),
    "structure": ("firebox",),
})  # fmt: skip


def asked_of(questions: Iterable[str] | None) -> frozenset[str]:
    """The questions that are asked, by id; all of them where a job names none, or everything."""
    named = frozenset(questions or (EVERYTHING,))
    return frozenset(NAMES) if EVERYTHING in named else named.intersection(NAMES)


def left_out(questions: Iterable[str] | None) -> tuple[str, ...]:
    """The questions that are not asked, in their order."""
    asked = asked_of(questions)
    return tuple(question for question in NAMES if question not in asked)


def of_rule(id: str) -> tuple[str, ...]:
    """The questions that a rule answers, () where it always runs."""
    return _OF.get(id, _OF.get(id.partition(".")[0], ()))


@lru_cache(maxsize=1 << 12)
def runs(id: str, asked: frozenset[str]) -> bool:
    """Does a rule run where these questions are asked."""
    mine = of_rule(id)
    return not mine or not asked.isdisjoint(mine)


def in_words(questions: Iterable[str]) -> str:
    """Some questions as a list in a sentence."""
    return ", ".join(NAMES[question] for question in NAMES if question in set(questions))
