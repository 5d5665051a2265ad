"""The models held against what others have published: each figure beside the model's, within its scatter or not.

Rows are data, in reference/cases/models. A row that the model misses for a known reason says so; it is shown, never tuned away.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Literal

from msgspec import Struct, field
from msgspec.structs import fields, replace

from hearthcalc import reference
from hearthcalc.findings import STANDINGS
from hearthcalc.models import heat, lintel
from hearthcalc.models.draft import ZERO, Face, Inputs, Model, number
from hearthcalc.models.results import Angle
from hearthcalc.physics import beams
from hearthcalc.physics import draft as balance
from hearthcalc.physics.fireplace import Fireplace
from hearthcalc.physics.leakage import PowerLaw
from hearthcalc.physics.losses import throat_coefficient
from hearthcalc.physics.radiation import Panel
from hearthcalc.physics.search import root
from hearthcalc.reference import Edition, read_quantity

FOOT = 0.3048
INCH = 0.0254
CFM = FOOT**3 / 60
BTU = 1055.05585262 / 3600  # W, of one an hour
RISE = 300 / 1.8  # K, of the gas, that gas logs are tabulated for
MILD = (60 - 32) / 1.8  # C, outdoors
GAS_SHARE = 0.75  # of a gas fire's heat that stays in the gas
STEPS = 6  # to the power that makes a rise
CASES = ("cases", "models")

Outcome = Literal["within", "known miss", "miss"]


class Row(Struct, frozen=True):
    """One published figure.

    figure: what is worked out, a name of FIGURES.  published: as it is told.  unit: of at, low and high.
    at: the one figure, where there is one.  low, high: what counts as within; None where that side is open.
    scatter: what it may be off, and why.  miss: why the model is known to miss it, "" where it does not.  given: of the run.
    """

    name: str
    figure: str
    published: str
    unit: str
    source: str
    clause: str
    standing: str
    scatter: str
    at: float | None = None
    low: float | None = None
    high: float | None = None
    miss: str = ""
    given: Mapping[str, Any] = field(default_factory=dict)


class Held(Struct, frozen=True):
    """A row beside what the model gives, in the row's unit."""

    row: Row
    model: float

    @property
    def within(self) -> bool:
        row = self.row
        return (row.low is None or self.model >= row.low) and (row.high is None or self.model <= row.high)

    @property
    def outcome(self) -> Outcome:
        return "within" if self.within else "known miss" if self.row.miss else "miss"

    @property
    def difference(self) -> float | None:
        """From the one figure printed; where none is, from the nearer end of the range, and None inside it."""
        row = self.row
        if row.at is not None:
            return self.model - row.at
        if self.within:
            return None
        ends = [end for end in (row.low, row.high) if end is not None]
        return min((self.model - end for end in ends), key=abs)

    @property
    def shown(self) -> str:
        """The model's figure as it is told."""
        return _shown(self.model, self.row.unit)

    @property
    def off(self) -> str:
        """The difference as it is told."""
        if self.difference is None:
            return "in the range"
        if self.row.at:
            return f"{self.difference / self.row.at * 100:+.0f} %"
        return _shown(self.difference, self.row.unit, sign=True)


def _shown(value: float, unit: str, *, sign: bool = False) -> str:
    size = abs(value)
    places = 0 if size >= 100 else 1 if size >= 10 else 2 if size >= 0.3 or not value else 4
    text = f"{value:{'+' if sign else ''},.{places}f}"
    return f"{text} {unit}".strip()


KEYS = {each.name for each in fields(Row)}


def rows(folder: Any = None) -> list[Row]:
    """Every row of reference/cases/models, in the order of the files. Raises ValueError for one that is not sound."""
    place = folder or reference.shipped()
    for part in CASES:
        place = place / part
    found = []
    for path in sorted(place.iterdir(), key=lambda p: p.name):
        for entry in tomllib.loads(path.read_text(encoding="utf-8"))["row"]:
            where = f"{path.name}, {entry.get('name', 'a row without a name')}"
            if unknown := entry.keys() - KEYS:
                raise ValueError(f"{where}: {sorted(unknown)[0]} is not a key of a row")
            if entry["figure"] not in FIGURES:
                raise ValueError(f"{where}: {entry['figure']} is no figure that is worked out here")
            if entry["standing"] not in STANDINGS:
                raise ValueError(f"{where}: no such standing: {entry['standing']}")
            if "low" not in entry and "high" not in entry:
                raise ValueError(f"{where}: nothing says what counts as within")
            found.append(Row(**entry))
    return found


def hold(row: Row, edition: Edition) -> Held:
    """Work a row out."""
    return Held(row, float(FIGURES[row.figure](row.given, edition)))


def hold_all(edition: Edition) -> tuple[Held, ...]:
    """Every row, worked out by the values of an edition: a third of a second."""
    return tuple(hold(row, edition) for row in rows())


def settled(held: Iterable[Held]) -> bool:
    """Whether every row is within, or a miss that is known."""
    return all(one.outcome != "miss" for one in held)


LEVEL = (
    "Figures marked second-hand were seen as others quote them. A constant that a row was set by proves nothing there. "
    "No measurement of a hearth, a floor or a mantel with the power of its fire was found: the heat model compares layouts, "
    "and its level is unproven."
)


def summary(held: Iterable[Held]) -> str:
    """How many rows are within, in one sentence."""
    outcomes = [one.outcome for one in held]
    known, missed = (outcomes.count(kind) for kind in ("known miss", "miss"))
    text = f"{outcomes.count('within')} of {len(outcomes)} published figures are within their scatter; {known} misses are known"
    return f"{text}, {missed} are not explained." if missed else f"{text}."


def to_record(held: Iterable[Held]) -> list[dict[str, Any]]:
    """The table as plain data."""
    return [
        {
            "name": one.row.name, "figure": one.row.figure, "published": one.row.published, "at": one.row.at,
            "low": one.row.low, "high": one.row.high, "unit": one.row.unit, "model": one.model,
            "difference": one.difference, "outcome": one.outcome, "miss": one.row.miss, "scatter": one.row.scatter,
            "source": one.row.source, "clause": one.row.clause, "standing": one.row.standing,
        }
        for one in held
    ]  # fmt: skip


# What a run is made of

Given = Mapping[str, Any]


def _number(text: str) -> float:
    return float(read_quantity(text).number)


def _model(given: Given, edition: Edition) -> Model:
    """The fireplace of a row: a house whose leakage is not known, 20 C in it and 0 C outdoors unless said."""
    wide, high, flue = (_number(given[key]) for key in ("width", "height", "flue"))
    area = wide * high * INCH**2
    around = math.sqrt(4 * math.pi * flue) if given.get("round") else 4 * math.sqrt(flue)
    if "perimeter" in given:
        around = _number(given["perimeter"])
    faces = tuple(
        Face(name, side, "room", area, high * INCH, 0.0)
        for name, side in (("one", "front"), ("other", "back"))[: given.get("faces", 1)]
    )
    inputs = Inputs(
        faces=faces,
        flue_area=flue * INCH**2,
        flue_perimeter=around * INCH,
        flue_height=_number(given["high"]) * INCH,
        cap=given.get("cap", "open"),
        throat=_number(given["throat"]) * INCH**2 if "throat" in given else None,
        rumford=given.get("rumford", False),
        has_damper=False,
        fire=given.get("fire"),
        power=_number(given["power"]) if "power" in given else None,
        wind=_number(given["wind"]) if "wind" in given else None,
        indoor=20.0,
        outdoor=0.0,
    )
    return Model(inputs, tuple(face.name for face in faces), edition)


def _place(given: Given, edition: Edition) -> Fireplace:
    model = _model(given, edition)
    place = model.place(model.given())
    if "house" in given:
        place = replace(place, house=replace(place.house, pressure=_number(given["house"])))
    return place


def _solved(place: Fireplace) -> balance.Flow:
    answer = balance.solve(place)
    if isinstance(answer, balance.NoFlow):
        raise ValueError(f"a row of published fireplaces has no draft: {answer.reason}")
    return answer


def _rising(place: Fireplace, rise: float) -> balance.Flow:
    """The fireplace with the fire that warms its gas so far, K."""

    place = replace(place, constants=replace(place.constants, least_air=0.0))  # no wood that needs it

    def warms(power: float) -> float:
        flow = _solved(replace(place, power=power))
        return rise - float(flow.foot_temperature - flow.mixed_temperature)

    return _solved(replace(place, power=root(warms, 1e3, 2e5, within=1.0)))


# The figures


def _slowest(flow: balance.Flow) -> float:
    return min(float(face.velocity) for face in flow.faces.values()) / FOOT


def _face_velocity(given: Given, edition: Edition) -> float:
    return _slowest(_solved(_place(given, edition)))


def _mark(given: Given, edition: Edition) -> float:
    return float(number(edition, "face_velocity.meets")) / FOOT


def _flatness(given: Given, edition: Edition) -> float:
    place = _place(given, edition)
    hotter, hot = (_slowest(_rising(place, degrees / 1.8)) for degrees in (500, 300))
    return hotter - hot


def _height_for(given: Given, edition: Edition) -> float:
    place = _place(given, edition)

    def lacks(height: float) -> float:
        return 0.8 - _slowest(_rising(replace(place, flue=replace(place.flue, height=height)), RISE))

    column = root(lacks, 2.0, 15.0, within=0.01)
    return column / FOOT + _number(given["height"]) / 12 / 2


def _air(given: Given, edition: Edition) -> float:
    return float(_solved(_place(given, edition)).air_flow) / CFM


def _air_per_flue(given: Given, edition: Edition) -> float:
    return _air(given, edition) / _number(given["flue"])


def _gas_speed(given: Given, edition: Edition) -> float:
    place = _place(given, edition)
    flow = _solved(place)
    return float(flow.mass_flow / (place.density(flow.mean_temperature) * place.flue.area)) / FOOT


def _excess_air(given: Given, edition: Edition) -> float:
    flow = _solved(_place(given, edition))
    return float((flow.mass_flow - flow.fuel_flow) / (flow.fuel_flow * number(edition, "least_air")))


def _wood(given: Given, edition: Edition) -> float:
    power: float = _place(given, edition).power
    return power * 3600 / (float(given["dry_heat"]) * 1e6)


def _to_room(given: Given, edition: Edition) -> float:
    return 100 * (1 - float(number(edition, "share_to_gas")))


def _dying_lift(given: Given, edition: Edition) -> float:
    model = _model(given, edition)
    return float(model.margin(model.place(model.given()), number(edition, "burn_down_flue") + ZERO))


def _reversal(given: Given, edition: Edition) -> float:
    """The suction at which the steady balance has no answer, to 0.1 Pa, up to 200."""
    place = _place(given, edition)

    def draws(suction: float) -> bool:
        answer = balance.solve(replace(place, house=replace(place.house, pressure=-suction)))
        return isinstance(answer, balance.Flow)

    low, high = 0.0, 200.0
    while high - low > 0.1:
        middle = (low + high) / 2
        low, high = (middle, high) if draws(middle) else (low, middle)
    return low


def _downwash(given: Given, edition: Edition) -> float:
    model = _model(given, edition)
    weather = model.given()
    return model.others(weather, model.place(weather))["downwash at the top"].top


# Gas logs: the power whose gas rises so far, for every cell at once


def _ratios(edition: Edition) -> tuple[float, ...]:
    """Model over table, by cell."""
    table = reference.read_table(edition.folder, "us_gas_log_damper").rows
    model = _model({"width": "36 in", "height": "30 in", "flue": "121 in2", "high": "20 ft"}, edition)
    model = replace(model, inputs=replace(model.inputs, outdoor=MILD))
    place = model.place(model.given())
    place = replace(place, constants=replace(place.constants, share_to_gas=GAS_SHARE, least_air=0.0))
    equal, double = (number(edition, f"throat.{key}") for key in ("equal", "double"))

    def digits(text: str) -> float:
        return float(re.sub(r"\D", "", text.removesuffix("in2")))

    def ratio(feet: float, opening: float, printed: float) -> float:
        throat = throat_coefficient(opening / 121, at_equal=equal, at_double=double)
        here = replace(place, flue=replace(place.flue, height=feet * FOOT, throat=throat))
        power = printed * BTU
        for _ in range(STEPS):
            flow = _solved(replace(here, power=power))
            power *= float(RISE / (flow.foot_temperature - flow.mixed_temperature)) ** 1.4
        return power / BTU / printed

    return tuple(
        ratio(digits(row["chimney_height"]), digits(key), float(printed))
        for row in table for key, printed in row.items() if key != "chimney_height"
    )  # fmt: skip


def _gas_logs_mean(given: Given, edition: Edition) -> float:
    found = _ratios(edition)
    return sum(found) / len(found)


def _gas_logs_rms(given: Given, edition: Edition) -> float:
    found = _ratios(edition)
    return 100 * math.sqrt(sum((ratio - 1) ** 2 for ratio in found) / len(found))


def _gas_logs_worst(given: Given, edition: Edition) -> float:
    return 100 * max((ratio - 1 for ratio in _ratios(edition)), key=abs)


# House, steel, heat


def _superposition(given: Given, edition: Edition) -> float:
    """How far the house's pressure is off, Pa, at most, from no flow to 400 cfm: two stories, 8 ACH50, 20 C over 0 C."""
    outdoor_air, level = 1.292, 2.6
    exponent = number(edition, "leak_exponent")
    law = PowerLaw(8 * 450 / 3600 / 50**exponent, exponent)
    slope = outdoor_air * 9.80665 * 20 / (20 + ZERO)

    def primitive(drop: float) -> float:
        return float(abs(drop) ** (exponent + 1) / (exponent + 1))

    def added_up(flow: float) -> float:
        """The pressure at the hearth at which leaks spread over the height bring in a flow."""

        def lacks(pressure: float) -> float:
            top = -(pressure + slope * 2 * level)
            return (
                float(law.coefficient) * (primitive(-pressure) - primitive(top)) / (slope * 2 * level) - flow
            )

        return root(lacks, -100.0, 0.0, within=1e-6)

    at_rest = -slope * level
    offs = (added_up(cfm * CFM) - (at_rest - law.drop(cfm * CFM)) for cfm in range(0, 401, 40))
    return max((float(off) for off in offs), key=abs)


def _beam(given: Given, edition: Edition) -> tuple[Angle, dict[str, float]]:
    angle = lintel.find_angle(edition, given["angle"])
    if angle is None:
        raise ValueError(f"{given['angle']} is in no table of angles")
    return angle, {"span": _number(given["span"]), "triangle": 0.0, "even": given["even"] / 12}


def _moment(given: Given, edition: Edition) -> float:
    _, loaded = _beam(given, edition)
    return float(beams.moment(**loaded))


def _deflection(given: Given, edition: Edition) -> float:
    angle, loaded = _beam(given, edition)
    modulus = float(edition["steel.modulus"].number) * 1000
    return float(beams.deflection(**loaded, modulus=modulus, inertia=float(angle.inertia)))


def _stress(given: Given, edition: Edition) -> float:
    angle, loaded = _beam(given, edition)
    own = float(angle.weight) / 12
    return float(beams.moment(**{**loaded, "even": loaded["even"] + own}) / float(angle.modulus)) / 1000


def _squares(given: Given, edition: Edition) -> float:
    """Added up over the one of them, place by place."""
    panel, count = Panel(1.0, 1.0, 0.0), 40
    places = [(number + 0.5) / count for number in range(count)]
    seen = [float(panel.on_floor(out, -beside)) for out in places for beside in places]
    return sum(seen) / len(seen)


def _floor_reach(given: Given, edition: Edition) -> float:
    wide, high = (_number(given[key]) * INCH for key in ("width", "height"))
    area = wide * high
    inputs = heat.Inputs(wide, area, "room", area, None, _number(given["power"]), 20.0, 0.0)
    made = heat.floor(inputs, below="wood", foot=0.0, edition=edition)
    return made.reach["steady"].front / INCH


FIGURES: Mapping[str, Callable[[Given, Edition], float]] = {
    "face_velocity": _face_velocity,
    "mark": _mark,
    "flatness": _flatness,
    "height_for": _height_for,
    "air": _air,
    "air_per_flue": _air_per_flue,
    "gas_speed": _gas_speed,
    "excess_air": _excess_air,
    "wood": _wood,
    "to_room": _to_room,
    "dying_lift": _dying_lift,
    "reversal": _reversal,
    "downwash": _downwash,
    "gas_logs_mean": _gas_logs_mean,
    "gas_logs_rms": _gas_logs_rms,
    "gas_logs_worst": _gas_logs_worst,
    "superposition": _superposition,
    "moment": _moment,
    "deflection": _deflection,
    "stress": _stress,
    "squares_at_right_angles": _squares,
    "floor_reach": _floor_reach,
}
