"""A second opinion on a masonry fireplace, from the clauses alone: IRC 2021, chapter 10, sections R1001 and R1003.

Written from the figures of the published code (2012-2024 alike, unless said otherwise), not from the program. Lengths in inches, areas in
square inches, exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import Any

F = Fraction

# Table R1003.14(2): net area by the nominal outside size.
TILES = {
    "8.5x13": 76, "8.5x18": 101, "12x12": 102, "13x13": 127, "12x16": 131, "13x18": 173, "16x16": 181, "16x20": 222,
    "18x18": 233, "20x20": 298, "20x24": 335, "24x24": 431,
}  # fmt: skip
ROUNDS = {
    "8": 50,
    "10": 78,
    "10.75": 90,
    "12": 113,
    "15": 176,
    "18": 254,
}  # Table R1003.14(1), by the inside diameter
SIX_SQUARE_FEET = 6 * 144


@dataclass(frozen=True)
class Case:
    """What a tape reads, all in inches. liner: nominal; round where it is one number."""

    liner: str
    width: F
    height: F
    hearth: tuple[F, F, F]  # in front, past the left jamb, past the right one
    thickness: F
    raised: F  # the opening over the hearth
    depth: F
    walls: tuple[F, F]  # sides, back
    lining: F
    joint: F
    slab: F
    throat_up: F  # over the top of the opening
    throat: tuple[F, F]  # front to back, width
    damper: F  # in2
    chamber: F
    chamber_wall: F
    slope: int
    form: str
    bearing: F
    mantel: tuple[F, F]  # over the opening, out of the wall
    trim: tuple[F, F]  # beside the opening, out of the wall
    stack_wall: F
    over_roof: F
    over_ridge: F
    away: F  # of the ridge, level
    pitch: int  # in 12
    along: F  # the ridge
    cricket: F
    cap: F  # in2
    screen: F  # in2


@dataclass(frozen=True)
class Opinion:
    """A clause on a case: found has to be at least, or at most, the limit.

    nominal: masonry, sold by sizes that hold one joint.  general: the limit without the exception that gave this one; both may be told
    where they give one answer.
    """

    clause: str
    op: str
    limit: F
    found: F
    nominal: bool = False
    general: F | None = None

    @property
    def limits(self) -> tuple[F | None, ...]:
        """Those that may be told."""
        if self.general is None or (self.found < self.general) != (self.found < self.limit):
            return (self.limit,)
        return (self.limit, self.general)

    @property
    def open(self) -> bool:
        """Short by no more than a joint, so that it may be the nominal size: 3/8 in, common practice, no source."""
        return self.nominal and self.limit - F(3, 8) <= self.found < self.limit

    @property
    def short(self) -> bool:
        return self.found < self.limit if self.op == ">=" else self.found > self.limit


def opinions(case: Case) -> dict[tuple[str, str], Opinion]:
    """What each clause says, by the finding that answers it and what that is about."""
    opening = case.width * case.height
    large = opening >= SIX_SQUARE_FEET
    flue = F(ROUNDS.get(case.liner) or TILES[case.liner])
    share = 12 if case.liner in ROUNDS else 8 if _slender(case.liner) else 10
    lined = case.lining >= 2
    thin = case.raised >= 8
    told: dict[tuple[str, str], Opinion] = {}

    def ask(
        id: str, clause: str, op: str, limit: F | int, found: F | int, item: str = "", nominal: bool = False
    ) -> None:
        told[id, item] = Opinion(clause, op, F(limit), F(found), nominal)

    ask("flue.area", "R1003.15.1", ">=", opening / share, flue)
    ask("hearth.front", "R1001.10", ">=", 20 if large else 16, case.hearth[0])
    ask("hearth.left", "R1001.10", ">=", 12 if large else 8, case.hearth[1])
    ask("hearth.right", "R1001.10", ">=", 12 if large else 8, case.hearth[2])
    told["hearth.thickness", ""] = Opinion(
        "R1001.9.2", ">=", F(3, 8) if thin else F(2), case.thickness, general=F(2)
    )
    ask("firebox.depth", "R1001.6", ">=", 20, case.depth)
    ask("firebox.wall", "R1001.5", ">=", 8 if lined else 10, case.walls[0], "sides", nominal=True)
    ask("firebox.wall", "R1001.5", ">=", 8 if lined else 10, case.walls[1], "back", nominal=True)
    ask("firebox.joint", "R1001.5", "<=", F(1, 4), case.joint)
    ask("firebox.floor_slab", "R1001.9.1", ">=", 4, case.slab, nominal=True)
    ask("firebox.throat_height", "R1001.6", ">=", 8, case.throat_up)
    ask("firebox.throat_depth", "R1001.6", ">=", 4, case.throat[0])
    ask("firebox.passageway", "R1001.6", ">=", flue, case.throat[0] * case.throat[1], "throat")
    ask("firebox.passageway", "R1001.6", ">=", flue, case.damper, "damper")
    ask("smoke_chamber.height", "R1001.8.1", "<=", case.width, case.chamber)
    ask("smoke_chamber.slope", "R1001.8.1", "<=", 30 if case.form == "corbelled" else 45, case.slope)
    ask("smoke_chamber.wall", "R1001.8", ">=", 8, case.chamber_wall, nominal=True)
    ask("lintel.bearing", "R1001.7", ">=", 4, case.bearing)
    for what, (off, out) in (("mantel", case.mantel), ("trim", case.trim)):
        # Six inches off in any case; within twelve no more than an eighth of an inch out for each inch off.
        ask(f"clearance.{what}", "R1001.11 (4)", ">=", min(F(12), max(F(6), out * 8)), off, what)
    ask("chimney.wall", "R1003.10", ">=", 4, case.stack_wall, nominal=True)
    ask("chimney.above_roof", "R1003.9", ">=", 36, case.over_roof, "main")
    if case.away <= 120:
        ask("chimney.within_radius", "R1003.9", ">=", 24, case.over_ridge, "main")
    if case.along > 30:
        ask("chimney.cricket", "Table R1003.20", ">=", case.along * F(case.pitch, 24), case.cricket, "main")
    ask("chimney.cap_area", "R1003.9.3", ">=", 4 * flue, case.cap)
    ask("chimney.arrestor_area", "R1003.9.2", ">=", 4 * flue, case.screen)
    return told


def _slender(tile: str) -> bool:
    """Twice as long as wide, or more."""
    short, long = map(F, tile.split("x"))
    return long >= 2 * short


def at_random(seed: int) -> Case:
    """A case with each length near what its clause asks, on sixteenths."""
    rng = Random(seed)

    def near(middle: F | int, spread: int = 2) -> F:
        return max(F(0), F(middle) + F(rng.randint(-16 * spread, 16 * spread), 16))

    width, height = near(30, 8), near(28, 6)
    large = width * height >= SIX_SQUARE_FEET
    liner = rng.choice([*TILES, *ROUNDS])
    flue = ROUNDS.get(liner) or TILES[liner]
    out = near(1, 1)
    pitch, along = rng.choice([3, 4, 6, 8, 12]), near(30, 6)
    return Case(
        liner=liner, width=width, height=height,
        hearth=(near(20 if large else 16), near(12 if large else 8), near(12 if large else 8)),
        thickness=rng.choice([F(1, 4), F(3, 8), F(1, 2), near(2, 1)]), raised=near(8, 3), depth=near(21),
        walls=(near(9), near(9)), lining=rng.choice([F(1), F(15, 8), F(2), F(5, 2)]), joint=F(rng.randint(1, 6), 16),
        slab=near(4), throat_up=near(8), throat=(near(5), near(30, 6)), damper=near(flue, 30), chamber=near(width, 3),
        chamber_wall=near(8, 1), slope=rng.choice([25, 30, 31, 40, 45, 46]), form=rng.choice(["corbelled", "sloped"]),
        bearing=near(4, 1), mantel=(near(9, 4), out), trim=(near(9, 4), near(1, 1)), stack_wall=near(4, 1), over_roof=near(36, 3),
        over_ridge=near(24, 3), away=near(90, 20), pitch=pitch, along=along, cricket=near(along * F(pitch, 24), 2),
        cap=near(4 * flue, 60), screen=near(4 * flue, 60),
    )  # fmt: skip


def job(case: Case) -> dict[str, Any]:
    """The case as a job file says it."""

    def text(value: F) -> str:
        whole, rest = divmod(value, 1)
        return f"{whole} {rest}" if whole and rest else str(rest or whole)

    front, left, right = map(text, case.hearth)
    near = {"combustible": True, "face": "room"}
    return {
        "format": "hearthcalc-job", "version": 1, "units": "in", "about": {"edition": "irc-2021", "measured": False},
        "fireplace": {"construction": "masonry", "pattern": "conventional"},
        "face": [{
            "name": "room", "side": "front", "width": text(case.width), "height": text(case.height), "arch": "flat", "opens_to": "room",
            "closure": "none", "opening_above_hearth": text(case.raised), "looked": {"before": True},
            "hearth": {
                "front": front, "facing": "0", "left": left, "right": right, "thickness": text(case.thickness),
                "above_floor": "0", "below": "concrete", "layers": [{"material": "granite", "thickness": text(case.thickness)}],
            },
            "lintel": {"above": "wall", "span": text(case.width), "bearing": text(case.bearing)},
        }],
        "firebox": {
            "depth": text(case.depth), "wall": text(case.walls[0]), "back_wall": text(case.walls[1]), "lining": text(case.lining),
            "joint": text(case.joint), "floor_slab": text(case.slab), "floor_below": "masonry",
            "throat_height": text(case.height + case.throat_up), "throat_depth": text(case.throat[0]),
            "throat_width": text(case.throat[1]), "damper": "throat", "damper_area": f"{text(case.damper)} in2", "damper_works": "yes",
            "smoke_chamber_height": text(case.chamber), "smoke_chamber_wall": text(case.chamber_wall),
            "smoke_chamber_form": case.form, "smoke_chamber_slope": f"{case.slope} deg", "smoke_chamber_parged": "yes",
        },
        "structure": {"chamber_lining": "none"},
        "flue": {
            "liner": case.liner, "lining": "clay", "condition": "sound", "offsets": [], "place": "outside", "cap": "open",
            "cap_area": f"{text(case.cap)} in2", "arrestor_area": f"{text(case.screen)} in2", "shared_with": "",
        },
        "chimney": {"wall": text(case.stack_wall), "flues": 1},
        "nearby": [
            {"name": "mantel", "what": "mantel", "above": text(case.mantel[0]), "beside": "0", "projection": text(case.mantel[1]), **near},
            {"name": "trim", "what": "trim", "above": "0", "beside": text(case.trim[0]), "projection": text(case.trim[1]), **near},
        ],
        "roof": [{
            "name": "main", "passes_through": True, "distance": text(case.away), "above_highest": text(case.over_ridge),
            "above_penetration": text(case.over_roof), "pitch": f"{case.pitch}:12", "width_along_ridge": text(case.along),
            "crosses_ridge": False, "cricket_height": text(case.cricket),
        }],
    }  # fmt: skip
