"""The words that people read are those of an American job site: stiff and literal turns do not come back."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FOLDERS = ("hearthcalc", "tui", "reference")
# Each with what a mason would say.
TURNS = {
    r"\btorch\b": "flashlight",
    r"\bglasses\b": "binoculars",
    r"\b[Mm]end\b": "fix",
    r"\bis asked for\b": "minimum, required, needed",
    r"\bas the most\b": "limit used",
    r"\b[Rr]eckon": "figure, count",
    r"\bdraught": "draft",
    r"\blouvre[sd]?\b(?!\.)": "louver",
    r"\bmoulding": "molding",
    r"\bmillimetres\b": "millimeters",
    r"\bcolour blind": "color blind",
    r"\bWhich thing\b": "Item",
    r"\bOut from opening\b": "Hearth depth in front",
    r"\bFacing in front\b": "Facing sticks out",
    r"\bTo highest part\b": "Level distance to ridge",
    r"\bTo size change\b": "To next change in chimney size",
    r"\bOpenings beyond\b": "Open area, glazed porch",
    r"\bsilent on \d": "no value for",
    r"\b(?:a|one|two|three) storeys?\b": "story, stories",
    r"\bDoes it burn\b": "Combustible?",
    r"\bThere is a draft\b": "Unsaved work found",
    r"\bShared with\b": "Other appliances on this flue",
    r"\bSound beside it\b": "Solid masonry each side",
    r"\bBears on it\b": "What sits on the lintel",
    r"\bAcross the ridge\b": "Ridge runs into the chimney",
    r"\bone of its words\b": "a valid choice",
    r"\bpress the gas down\b": "pushes smoke down",
    r"\bdies? down upward\b": "burn-down",
    r"\bMay (?:they )?be shut on a burning fire\b": "Doors rated for closing over a fire",
    r"\basked about away\b": "takes away",
    r"\bis a form, not a size\b": "position is schematic",
    r"\bPa lift the gas\b": "carries smoke up",
    r"\bpush smoke down\b": "pushes smoke down",
    r"\bnothing lifts the gas\b(?!,)": "nothing carries smoke up",
    r"\bpressure is taken as none\b": "its pressure is left out",
}  # fmt: skip
# A unit that people may type.
ALLOWED = {
    "hearthcalc/lengths.py": {"millimetres"},
}
OWN_TERMS = (
    "england-adj",
    "canada-nbc",
    "australia-hp",
    "sweden",
    "germany-feuvo",
)  # metric editions keep theirs


def files() -> list[Path]:
    found = [
        path
        for folder in FOLDERS
        for path in (ROOT / folder).rglob("*")
        if path.suffix in (".py", ".toml", ".md", ".tcss") and path.stem not in OWN_TERMS
    ]
    return [*found, ROOT / "README.md", ROOT / "DEVELOPERS.md"]


@pytest.fixture(scope="module")
def texts() -> dict[str, str]:
    """Those that hold any of the turns: one look for all of them together takes a fifteenth of the time."""
    any_of_them = re.compile("|".join(f"(?:{turn})" for turn in TURNS))
    read = ((path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")) for path in files())
    return {name: text for name, text in read if any_of_them.search(text)}


@pytest.mark.parametrize("turn", TURNS)
def test_a_stiff_turn_does_not_come_back(turn: str, texts: dict[str, str]) -> None:
    told = []
    for name, text in texts.items():
        for match in re.finditer(turn, text):
            if match[0] not in ALLOWED.get(name, ()) and "CHANGES" not in name:
                number = text.count("\n", 0, match.start()) + 1
                told.append(f"{name}:{number}: {match[0]!r}, say {TURNS[turn]!r}")
    assert not told, "\n".join(told)
