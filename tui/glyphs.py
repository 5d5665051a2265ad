"""The signs that the screen draws, and their ASCII stand-ins where the terminal lacks them."""

from __future__ import annotations

import os
import sys
from typing import NamedTuple


class Glyphs(NamedTuple):
    """One set of signs. verdicts: by verdict word."""

    ascii: bool
    here: str
    left: str
    right: str
    arrow: str
    dot: str
    unsaved: str
    more: str
    verdicts: dict[str, str]

    def sign(self, verdict: str) -> str:
        """The sign of a verdict."""
        return self.verdicts[verdict]


UNICODE = Glyphs(
    ascii=False, here="▸", left="‹", right="›", arrow="→", dot="·", unsaved="●", more="…",
    verdicts={"MEETS": "✓", "CLOSE": "≈", "REFER": "→", "MEASURE": "?", "SHORT": "✗"},
)  # fmt: skip
ASCII = Glyphs(
    ascii=True, here=">", left="<", right=">", arrow="->", dot="-", unsaved="*", more="~",
    verdicts={"MEETS": "+", "CLOSE": "~", "REFER": ">", "MEASURE": "?", "SHORT": "-"},
)  # fmt: skip


def choose(term: str, encoding: str) -> Glyphs:
    """The set for a terminal; the console of Linux has a font without most signs."""
    wide = encoding.lower().replace("-", "").startswith("utf") and term not in {
        "linux",
        "dumb",
        "vt100",
        "vt220",
    }
    return UNICODE if wide else ASCII


GLYPHS = choose(os.environ.get("TERM", ""), getattr(sys.__stdout__, "encoding", None) or "utf-8")
