"""The draft of many draws at once: how far each figure of a state is on the right side of what its finding holds it against."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from hearthcalc.many import Array, arrays
from hearthcalc.models.draft import IN_HOUSE, ZERO, Inputs, Model, Weather, face_bands
from hearthcalc.physics import draft as balance
from hearthcalc.physics import fireplace as parts
from hearthcalc.physics.search import arrays_of, with_arrays
from hearthcalc.reference import Edition

Margins = Mapping[tuple[str, str], Array]

HELD_AGAINST = (
    "draft.face_velocity.meets", "draft.face_velocity.refer", "draft.face_velocity.hot.meets", "draft.face_velocity.hot.refer",
    "draft.no_flow.burn_down", "draft.die_down.meets", "draft.house_suction",
)  # fmt: skip
"""What figures are held against: a bar that is set, and no constant of the model that may be off."""


def margins(inputs: Inputs, is_open: Sequence[str], edition: Edition, count: int) -> Margins:
    """The margins of one state by the ids of their findings and the face, "" for the whole: m/s, Pa and m3/s, below 0 where not met.

    inputs, edition: of which any length, weather or constant may be an array, of so many draws.  NaN where there is no steady draft.
    Each draw has the wind on the face that it is worst on, where that is not entered, as `draft` has it.
    """
    np = arrays()
    model = Model(inputs, tuple(is_open), edition)
    given = model.given()
    given = replace(given, outdoor=np.broadcast_to(given.outdoor, count))
    found = [_in_wind(model, replace(given, wind_on=wind), count) for wind in model.winds()]
    worst = np.argmin([slowest for slowest, _ in found], axis=0)
    return {key: np.choose(worst, [made[key] for _, made in found]) for key in found[0][1]}


def _in_wind(model: Model, weather: Weather, count: int) -> tuple[Array, Margins]:
    """The speed at the slowest face, m/s, and the margins, with the wind from one side."""
    np = arrays()
    place = model.place(weather)
    flows = _Flows(place)
    paces = {name: flows.of(_pace_at(name)) for name in model.open}
    enough, _ = face_bands(model.inputs.fire, model.edition)
    made: dict[tuple[str, str], Any] = {
        ("draft.face_velocity", name): pace - enough for name, pace in paces.items()
    }
    embers = model.number("burn_down_flue") + ZERO
    made["draft.no_flow", ""] = model.margin(place, embers) - model.number("no_flow.burn_down")
    if place.house.leakage is not None:
        dying = _Flows(model.place(model.dying(weather))).of(lambda flow: flow.house_pressure)
        made["draft.die_down", ""] = model.number("die_down.meets") + dying
        if any(model.inputs.face(name).opens_to in IN_HOUSE for name in model.open):
            suction = -model.fans_alone(place).pressure_drawing(0.0)
            made["house.suction", ""] = model.number("house_suction") - suction
            made["air.demand", ""] = model.gives(place) - flows.of(lambda flow: flow.house_draw)
    if len(model.open) > 1:
        made["draft.crossflow", ""] = flows.of(flows.apart)
    slowest = np.min([np.where(np.isnan(pace), -np.inf, pace) for pace in paces.values()], axis=0)
    return slowest, {key: np.broadcast_to(margin, count) for key, margin in made.items()}


def _pace_at(name: str) -> Callable[[balance.Flow], Array]:
    return lambda flow: flow.faces[name].velocity


class _Flows:
    """The steady flows of many draws."""

    def __init__(self, place: parts.Fireplace) -> None:
        np = arrays()
        solved = balance.solve_many(place)
        self.flow = solved.flow
        self.there = np.array([reason is None for reason in solved.reasons])
        self.place = place

    def of(self, figure: Callable[[balance.Flow], Array]) -> Array:
        """A figure of each draw, NaN where there is no flow."""
        np = arrays()
        made = np.full(len(self.there), np.nan)
        if self.flow is not None:
            made[self.there] = figure(self.flow)
        return made

    def apart(self, flow: balance.Flow) -> Array:
        """How much less the pressures of two open faces differ by than stops one of them, Pa."""
        standing = with_arrays(self.place, [array[self.there] for array in arrays_of(self.place)])
        cross = balance.crossflow(standing, flow, shelter=0.0, wind_coefficient=0.0)
        return cross.limit - cross.difference
