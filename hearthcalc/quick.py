"""The quick check: eight measurements at most, and only the verdicts that they decide."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from hearthcalc.assess import assess
from hearthcalc.errors import EntryError
from hearthcalc.findings import Finding, Verdict, worst
from hearthcalc.job import Document, Job, blank, set_entry, spec_of
from hearthcalc.lengths import Unit
from hearthcalc.reference import Edition, find_liner

FACE, WOOD, ROOF = "opening", "wood over the opening", "roof"
NONE = ("none", "no", "-")
DECIDES = (
    "flue.area", "flue.least_side", "flue.greatest_size", "hearth.front", "hearth.left", "hearth.right", "clearance.mantel",
    "chimney.above_roof",
)  # fmt: skip
NOT_LOOKED_AT = (
    "masonry or factory-built", "lining and condition of the flue", "under the hearth", "wood beside and behind", "the ridge",
    "firebox and damper", "draft and air", "steel",
)  # fmt: skip


class Ask(Struct, frozen=True):
    """One measurement. id: its name and, with dashes, its flag.  nothing: what an empty answer stands for, "" for not measured."""

    id: str
    label: str
    how: str
    nothing: str = ""

    @property
    def flag(self) -> str:
        return f"--{self.id.replace('_', '-')}"

    @property
    def default(self) -> str:
        """What Enter takes, in words."""
        return "none" if self.nothing else "not measured"


ASKS = (
    Ask("width", "Opening width", "From jamb to jamb, at the widest."),
    Ask("height", "Opening height", "From the firebox floor up to the underside of the lintel."),
    Ask(
        "flue", "Flue size",
        "As sold: 13x13. Or the inside: 11 1/4 x 11 1/4 inside, 10 round.",
    ),
    Ask("hearth_front", "Hearth in front", "From the opening straight out to the end of the hearth.", "0"),
    Ask("hearth_side", "Hearth to the side", "Past the opening, on the shorter side.", "0"),
    Ask("wood_above", "Wood above opening", "From the opening up to the lowest mantel, beam or trim.", "none"),
    Ask("wood_out", "Wood sticks out", "How far from the face of the fireplace.", "0"),
    Ask("chimney_top", "Chimney over roof", "From the roof, on the high side, up to its top."),
)  # fmt: skip
BY_ID: Mapping[str, Ask] = {ask.id: ask for ask in ASKS}


class Quick(Struct, frozen=True):
    """The answer to a quick check. findings: those that the measurements decide, or would: then MEASURE.

    document: the job that was entered.  unmeasured: labels of what was asked and not measured.
    """

    document: Document
    findings: tuple[Finding, ...]
    unmeasured: tuple[str, ...]

    @property
    def overall(self) -> Verdict:
        """The worst of them; MEASURE where there is none."""
        verdicts = [finding.verdict for finding in self.findings]
        return (
            worst([*verdicts, *[Verdict.MEASURE] * bool(self.unmeasured or not verdicts)]) or Verdict.MEASURE
        )

    def words(self) -> str:
        """The overall in words: it speaks of what was measured alone."""
        return {
            Verdict.MEETS: "What was measured meets the reference values used",
            Verdict.CLOSE: "Something is close to a limit: measure again",
            Verdict.REFER: "Something is for a person to decide",
            Verdict.MEASURE: "Something asked here was not measured",
            Verdict.SHORT: "Something falls short of the reference values used",
        }[self.overall]


def entries(id: str, text: str, unit: Unit, edition: Edition) -> dict[str, str]:
    """What one answer enters, by address; {} where it was not measured. Raises EntryError where it cannot be read."""
    ask, typed = BY_ID[id], text.strip()
    if not typed or typed.lower() in NONE:
        typed = ask.nothing
    if not typed or (id == "wood_above" and typed == "none"):
        return {}
    made = _flue(typed, unit, edition) if id == "flue" else dict.fromkeys(ADDRESSES[id], typed)
    for address, value in made.items():
        spec_of(address).read(value, unit)
    return made


ADDRESSES: Mapping[str, tuple[str, ...]] = {
    "width": (f"face.{FACE}.width",),
    "height": (f"face.{FACE}.height",),
    "hearth_front": (f"face.{FACE}.hearth.front",),
    "hearth_side": (f"face.{FACE}.hearth.left", f"face.{FACE}.hearth.right"),
    "wood_above": (f'nearby."{WOOD}".above',),
    "wood_out": (f'nearby."{WOOD}".projection',),
    "chimney_top": (f"roof.{ROOF}.above_penetration",),
}


def _flue(text: str, unit: Unit, edition: Edition) -> dict[str, str]:
    """A flue as people tell it. Raises EntryError where no table holds the size and it is not said to be the inside."""
    size, _, word = text.rpartition(" ")
    if word.lower() == "round":
        return {"flue.shape": "round", "flue.diameter": size}
    if word.lower() == "inside":
        sides = spec_of("flue.inside").read(size, unit)
        shape = "square" if sides.a.value == sides.b.value else "rectangular"
        return {"flue.shape": shape, "flue.inside": size}
    liner = spec_of("flue.liner").read(text, unit)
    inside = "If it is the inside as measured, write: 11 1/4 x 11 1/4 inside, or 10 round."
    try:
        here, elsewhere = find_liner(edition, liner)
    except EntryError as err:
        raise EntryError(err.title, err.what, fix=inside) from None
    if here is None and not elsewhere:
        raise EntryError("No such liner", f"No table holds a liner {liner}.", fix=inside)
    return {"flue.liner": liner}


def document(answers: Mapping[str, str], unit: Unit, edition: Edition) -> Document:
    """The job that the answers make, by the id of each; what has no answer is not known. Raises EntryError."""
    given = {id: entries(id, answers[id], unit, edition) for id in BY_ID if id in answers}
    if not given.get("wood_above"):
        given.pop("wood_out", None)
    made = blank(unit)
    values: list[tuple[str, object]] = [
        ("face.room.name", FACE), ("about.title", "Quick check"), ("about.edition", edition.id),
    ]  # fmt: skip
    if given.get("wood_above"):
        thing = {"what": "mantel", "combustible": True, "face": FACE, "beside": "0"}
        values += [(f'nearby."{WOOD}".{key}', value) for key, value in thing.items()]
    elif "wood_above" in given:
        values.append((f"face.{FACE}.looked.above", True))
    if given.get("chimney_top"):
        values.append((f"roof.{ROOF}.passes_through", True))
    for address, value in (*values, *((a, v) for held in given.values() for a, v in held.items())):
        made = set_entry(made, address, value)
    return made


def check(answers: Mapping[str, str], unit: Unit, edition: Edition) -> Quick:
    """What some answers decide. Raises EntryError where one cannot be read."""
    made = document(answers, unit, edition)
    found = assess(Job.from_document(made), edition).stages["found"].findings
    no_wood = "wood_above" in answers and not entries("wood_above", answers["wood_above"], unit, edition)
    unmeasured = tuple(
        ask.label
        for ask in ASKS
        if (ask.id not in answers or (not answers[ask.id].strip() and not ask.nothing))
        and not (ask.id == "wood_out" and no_wood)
    )
    rank = {verdict: number for number, verdict in enumerate(reversed(Verdict))}
    decided = sorted((f for f in found if f.id in DECIDES), key=lambda f: rank[f.verdict])
    return Quick(made, tuple(decided), unmeasured)
