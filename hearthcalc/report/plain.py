"""Text of people as it may stand on any page: on one line, nothing hidden in it, nothing that turns the reading direction."""

from __future__ import annotations

from unicodedata import category

HIDDEN = {"Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"}
PARTING = "\n\r\t\v\f\x85\u2028\u2029"
MARKS, FIRST_MARK = {"Mn", "Me"}, "\u0300"  # what stands over or under another letter
MARKS_IN_A_ROW = 2
MOST = 4000  # characters of one run: more is no answer to any question


def plain(text: object, most: int = MOST) -> str:
    """Text without control, direction and unassigned characters, line breaks as blanks, an ellipsis for what is beyond most."""
    given = text if isinstance(text, str) else str(text)
    if len(given) > most:
        given = given[: most - 1] + "…"
    if given.isprintable() and (
        given.isascii() or not any(category(sign) in MARKS for sign in set(given) if sign >= FIRST_MARK)
    ):
        return given
    kept: list[str] = []
    marks = 0
    for sign in given:
        kind = category(sign)
        marks = marks + 1 if kind in MARKS else 0
        if sign in PARTING:
            kept.append(" ")
        elif kind not in HIDDEN and marks <= MARKS_IN_A_ROW:
            kept.append(sign)
    return "".join(kept)
