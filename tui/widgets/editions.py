"""Editions as text for the screen, wherever one is chosen: what they are, where they apply, how much they leave open."""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content

from hearthcalc.assess import answers, doubts
from hearthcalc.reference import Edition
from hearthcalc_tui.safe import safe


def in_a_line(edition: Edition) -> str:
    """Title, and what to doubt."""
    return " ".join((f"{edition.title}.", *doubts(edition)))


def in_full(editions: Iterable[Edition], chosen: str = "") -> Content:
    """Every edition: id, title, where it applies, how many of the questions it answers, what to doubt."""
    return Content("\n\n").join(one(edition, chosen=edition.id == chosen) for edition in editions)


def one(edition: Edition, *, chosen: bool = False) -> Content:
    """An edition in two rows or more."""
    doubtful = doubts(edition)
    answered, asked = answers(edition)
    told = not answered or any("answers" in text for text in doubtful)
    count = "" if told else f" Answers {answered} of {asked} questions."
    rows = [
        Content.assemble(
            safe(edition.id, "bold $ember"), "  ", safe(edition.title, "bold"),
            ("  (the one of this job)" if chosen else "", "$quiet"),
        ),
        safe(f"{edition.applies}.{count}", "$quiet"),
    ]  # fmt: skip
    rows += [safe(f"! {text}", "$verdict-close") for text in doubtful]
    return Content("\n").join(rows)
