"""The one way in which text that a person or a file gave reaches the screen: as plain characters, never as markup."""

from __future__ import annotations

from unicodedata import category

from textual.content import Content

from hearthcalc_tui.glyphs import GLYPHS

LIMIT = 2000
ELLIPSIS = GLYPHS.more

# Zs is the one separator kept: line and paragraph separators (Zl, Zp) break a row in two as a newline does.
_HIDDEN = {"Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"}
_MARKS_IN_A_ROW = 2


def plain(text: object, limit: int = LIMIT) -> str:
    """Text as it may be shown on one line: control, direction and unassigned characters stripped.

    text: anything; what is not text is shown as str() shows it.  limit: characters kept, an ellipsis standing for the rest.
    """
    given = text if isinstance(text, str) else str(text)
    if len(given) > limit:
        given = given[: limit - 1] + ELLIPSIS
    if given.isascii() and given.isprintable():
        return given
    kept: list[str] = []
    marks = 0
    for character in given:
        kind = category(character)
        marks = marks + 1 if kind in {"Mn", "Me"} else 0
        if character in "\n\r\t\v\f":
            kept.append(" ")
        elif kind not in _HIDDEN and marks <= _MARKS_IN_A_ROW:
            kept.append(character)
    return "".join(kept)


def safe(text: object, style: str = "", limit: int = LIMIT) -> Content:
    """Text as Content that no widget reads as markup.

    style: one of the screen's own style names, never foreign text.
    """
    return Content.styled(plain(text, limit), style) if style else Content(plain(text, limit))
