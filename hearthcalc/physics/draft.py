"""Natural draft of an open fireplace, solved together with the house, its fans and the wind.

Fire, firebox, flue and house stand in one steady balance.  Air enters each face from the side it opens onto,
mixes in the firebox, takes up its share of the fire's heat and cools on its way up; its buoyancy pays for the
losses.  Where the firebox stands above a side's pressure, gas leaves by that side's faces: it has the
temperature of the mixed inflow and takes that heat along.  Pressures are relative to still outdoor air at the
hearth, temperatures are in K.

Sources: the balance of natural draft as in EN 13384-1 and the ASHRAE Handbook's chimney chapter (both from
memory); house and wind as in ASHRAE Fundamentals 2021, chapter 16.

A fire of fixed power warms the gas the more, the less there is of it, so this balance hardly ever reverses:
judge `no_flow_margin` beside it.

`solve` takes one state, of numbers; `solve_many` takes one in which any number may be an array.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from enum import StrEnum
from functools import lru_cache, reduce
from itertools import combinations

from msgspec import Struct

from .air import GRAVITY, viscosity
from .elementwise import (
    Number,
    Truth,
    anywhere,
    choose,
    everywhere,
    expm1,
    larger,
    signed_root,
    smaller,
    sqrt,
)
from .fireplace import Fireplace, GlazedRoom, Outdoors, conductance
from .leakage import wind_speed
from .losses import friction_factor
from .search import Record, arrays_of, change_numbers, root, roots, with_arrays

_TINY = 1e-300  # keeps a quotient of zeros at zero
_SAME_TEMPERATURE = 1e-8  # K
_PASSES = 40
_KEPT = (
    1024  # states: those of a few jobs, so that an entry that the draft does not depend on costs no search
)


class Reason(StrEnum):
    """Why there is no answer."""

    NO_FIRE = "no fire"
    """The fire has no power: there is no flow of the kind that this model finds."""
    NO_OPENING = "no opening"
    """No face is open and none has gaps: the firebox gets no air."""
    SEALED = "sealed house"
    """The house lets no air in, so there is nothing for fans and fireplace to draw on."""
    NO_DRAFT = "no draft"
    """Suction at the faces or pressure at the top is more than the chimney pulls: gas comes down."""
    BLOCKED = "blocked"
    """Throat, damper or cap leave the gas no way out."""
    STARVED = "too little air"
    """The air that comes in cannot burn the wood: there is no such fire."""


class NoFlow(Struct, frozen=True):
    """A state without a steady upward flow."""

    reason: Reason


class FaceFlow(Struct, frozen=True):
    """What passes a face, positive into the firebox.

    side_pressure: Pa.  mass_flow: kg/s.  volume_flow: m3/s, and velocity (mean over the area): m/s, both at the
    temperature of what passes.
    """

    is_open: bool
    side_pressure: Number
    mass_flow: Number
    volume_flow: Number
    velocity: Number


class Flow(Struct, frozen=True):
    """The steady state of a fireplace.

    faces: by name.  fuel_flow: wood that burns, kg/s.  mass_flow: up the flue, wood included, kg/s.
    air_flow: the air in it, m3/s at mixed_temperature.
    mixed_temperature: of the inflow; foot, mean and top: of the gas in the flue, K.
    draft_pressure: Pa.  losses: Pa, by the part of the flue that takes them.
    foot_pressure, house_pressure: Pa.  house_draw: net flow from house to firebox, m3/s of the house's air.
    """

    faces: Mapping[str, FaceFlow]
    fuel_flow: Number
    mass_flow: Number
    air_flow: Number
    mixed_temperature: Number
    foot_temperature: Number
    mean_temperature: Number
    top_temperature: Number
    draft_pressure: Number
    losses: Mapping[str, Number]
    foot_pressure: Number
    house_pressure: Number
    house_draw: Number

    @property
    def spills(self) -> tuple[str, ...]:
        """Open faces by which gas leaves the firebox; of one state."""
        return tuple(name for name, face in self.faces.items() if face.is_open and face.mass_flow < 0)

    @property
    def door_leaks(self) -> dict[str, Number]:
        """Flow through the gaps of each shut face, m3/s, negative out of the firebox."""
        return {name: face.volume_flow for name, face in self.faces.items() if not face.is_open}


class ManyFlows(Struct, frozen=True):
    """Many states solved together.

    reasons: why there is no answer, None where there is one.
    flow: arrays of those that have one and of no others, in order; None where none has.
    """

    reasons: tuple[Reason | None, ...]
    flow: Flow | None


class Crossflow(Struct, frozen=True):
    """Pressure differences between open faces.

    limits: Pa, by the face that stops drawing there.  limit: the smallest of them, Pa.
    difference: the largest between two faces, Pa.
    wind_speed: that makes the limit by itself, m/s; None where no wind arrives.
    """

    limits: Mapping[str, Number]
    limit: Number
    difference: Number
    wind_speed: Number | None


def draft_pressure(height: Number, outdoor_density: Number, gas_density: Number) -> Number:
    """Theoretical draft of a column of gas.

    height: m.  densities: kg/m3.  Returns Pa.
    """
    return GRAVITY * height * (outdoor_density - gas_density)


def cooled(foot: Number, surroundings: Number, transfer_units: Number) -> tuple[Number, Number]:
    """Mean and top temperature of gas that loses heat to its surroundings on its way up.

    foot, surroundings: K.  transfer_units: U x perimeter x height / (mass flow x specific heat).  Returns K.
    """
    units = larger(transfer_units, 1e-12)
    share_lost = -expm1(-units)
    excess = foot - surroundings
    return surroundings + excess * share_lost / units, foot - excess * share_lost


def no_flow_margin(
    height: Number, outdoor_density: Number, flue_density: Number, pressure: Number, top_pressure: Number
) -> Number:
    """What lifts the gas where only the flue's own wall warms it: below zero it comes down.

    height: m.  densities: of outdoor air, and of air as warm as the flue, kg/m3.
    pressure: of the side that it draws on, without the fire's pull, Pa.  top_pressure: Pa.  Returns Pa.
    """
    return draft_pressure(height, outdoor_density, flue_density) + pressure - top_pressure


def crossflow(place: Fireplace, flow: Flow, *, shelter: Number, wind_coefficient: Number) -> Crossflow:
    """How far the pressures of a fireplace's open faces, two or more, may part before one stops drawing.

    A face stops when the others carry all of the flue's flow: their drop is then its side's whole difference.
    Sides of different temperatures differ in pressure from sill to lintel too, which counts half.

    shelter: share of the wind that arrives, 1.  wind_coefficient: difference of Cp between the
    faces, 1.
    """
    openings = [
        (face, place.density(side.temperature), flow.faces[face.name].side_pressure)
        for side in place.sides
        for face in side.faces
        if face.is_open
    ]
    pulls = {face.name: face.discharge * face.area * sqrt(2 * air) for face, air, _ in openings}
    limits = {
        weak: (flow.mass_flow / sum(pull for name, pull in pulls.items() if name != weak)) ** 2
        for weak in pulls
    }
    limit = reduce(smaller, limits.values())
    differences = [
        abs(pressure_a - pressure_b) + GRAVITY * abs(air_a - air_b) * smaller(a.height, b.height) / 2
        for (a, air_a, pressure_a), (b, air_b, pressure_b) in combinations(openings, 2)
    ]
    outdoor_density = place.density(place.outdoor_temperature)
    return Crossflow(
        limits=limits,
        limit=limit,
        difference=reduce(larger, differences),
        wind_speed=wind_speed(outdoor_density, limit, shelter, wind_coefficient)
        if anywhere(shelter * wind_coefficient > 0)
        else None,
    )


@lru_cache(maxsize=_KEPT)
def solve(place: Fireplace) -> Flow | NoFlow:
    """The steady state of one fireplace, or why it has none. Kept by the fireplace, which holds all that it follows from."""
    for reason, stands in _obstacles(place):
        if stands:
            return NoFlow(reason)
    (rest, low, high), guessed = _range(place), _spill_guess(place)
    ends = _at_ends(place, rest, low, high, guessed)
    if _is_held_down(*ends):
        return NoFlow(Reason.NO_DRAFT)

    def search(spilling: float) -> float:
        nonlocal ends
        if spilling != guessed:
            ends = _at_ends(place, rest, low, high, spilling)
        first, last = (end.excess for end in ends)
        return root(
            lambda guess: _balance(place, rest, guess, spilling).excess, low, high, at_ends=(first, last)
        )

    balance = _settled(place, rest, search)[0]
    if _is_held_down(*ends):
        return NoFlow(Reason.NO_DRAFT)
    if _is_starved(place, balance):
        return NoFlow(Reason.STARVED)
    return _answer(place, balance)


def solve_many(places: Fireplace) -> ManyFlows:
    """The steady states of fireplaces that have the same faces and sides.

    places: at least one number of it is an array.  Raises ValueError unless all arrays are one-dimensional and
    of one length.
    """
    import numpy as np

    shapes = {array.shape for array in arrays_of(places)}
    if len(shapes) != 1 or len(shape := shapes.pop()) != 1:
        raise ValueError("arrays must be one-dimensional and of one length")
    reasons = np.full(shape, None, dtype=object)
    standing = np.arange(len(reasons))

    def full(number: Number) -> Number:
        return np.broadcast_to(number, standing.shape)

    def refuse(record: Record, reason: Reason, refused: Truth) -> Record:
        """Note why some of those that still stand are refused; the record of the others."""
        nonlocal standing
        out = full(refused)
        if not out.any():
            return record
        reasons[standing[out]] = reason
        standing = standing[~out]
        return with_arrays(record, [array[~out] for array in arrays_of(record)])

    for number in range(len(_obstacles(places))):
        places = refuse(places, *_obstacles(places)[number])
    if not standing.size:
        return ManyFlows(tuple(reasons), None)
    places = refuse(
        places, Reason.NO_DRAFT, _is_held_down(*_at_ends(places, *_range(places), _spill_guess(places)))
    )
    if not standing.size:
        return ManyFlows(tuple(reasons), None)
    rest, low, high = _range(places)

    def search(spilling: Number) -> Number:
        searched = (places, rest, spilling)

        def excess(guess: Number, *arrays: Number) -> Number:
            place, rest, spilling = with_arrays(searched, arrays)
            return _balance(place, rest, guess, spilling).excess

        return roots(excess, full(low), full(high), arrays_of(searched))

    balance, spilling = _settled(places, rest, search)
    held = _is_held_down(*_at_ends(places, rest, low, high, spilling))
    places, balance = refuse((places, balance), Reason.NO_DRAFT, held)
    places, balance = refuse((places, balance), Reason.STARVED, _is_starved(places, balance))
    flow = change_numbers(_answer(places, balance), full) if standing.size else None
    return ManyFlows(tuple(reasons), flow)


_LOSSES = ("throat", "friction", "bends", "cap", "exit")


class _Gas(Struct, frozen=True):
    """The gas in the flue: temperatures, K, draft, Pa, and losses in the order of _LOSSES, Pa."""

    foot: Number
    mean: Number
    top: Number
    draft: Number
    losses: tuple[Number, ...]


class _Passage(Struct, frozen=True):
    """What passes all faces of one side, positive inward: root of the drop, Pa^0.5, density and mass flow."""

    root_drop: Number
    density: Number
    mass_flow: Number


class _Balance(Struct, frozen=True):
    """All that follows from one guess.

    lift: what drives the gas up the flue, Pa.  passages: one to a side.
    excess: what the flue would carry at that lift, less what comes in, kg/s: zero at the answer.
    """

    lift: Number
    excess: Number
    passages: tuple[_Passage, ...]
    foot_pressure: Number
    house_pressure: Number
    house_draw: Number
    mixed: Number
    mass_flow: Number
    gas: _Gas


class _Rest(Struct, frozen=True):
    """Pressures while the faces pass nothing, Pa: of the house, and of the strongest of all sides."""

    house: Number
    strongest: Number


def _obstacles(place: Fireplace) -> tuple[tuple[Reason, Truth], ...]:
    """What leaves no answer, as far as it can be seen without a search."""
    leakage = place.house.leakage
    openings = sum((conductance(side.faces) for side in place.sides), 0.0)
    return (
        (Reason.NO_FIRE, place.power <= 0),
        (Reason.NO_OPENING, openings <= 0),
        (Reason.SEALED, leakage is not None and (leakage.coefficient <= 0)),
        (Reason.BLOCKED, place.flue.throat + place.flue.cap == math.inf),
    )


def _range(place: Fireplace) -> tuple[_Rest, Number, Number]:
    """The sides at rest, and the least and largest guess for `_balance`.

    At the least the strongest side still sends nothing in; the largest is beyond what any chimney pulls.
    """
    house = place.house.pressure_drawing(0.0)
    strongest = reduce(
        larger, (side.resting_pressure(place.density(side.temperature)) for side in place.beyond), house
    )
    outdoor_density = place.density(place.outdoor_temperature)
    lowest = place.flue.top_pressure - draft_pressure(place.flue.height, outdoor_density, 0.0)
    lead = strongest - house
    deepest = strongest - smaller(lowest, house)
    return _Rest(house, strongest), -sqrt(lead), sqrt(deepest) + sqrt(deepest - lead)


def _root_drop_from_house(guess: Number, lead: Number) -> Number:
    """Signed root x of the pressure drop from the house, Pa^0.5, where guess = x + y and y^2 = x|x| + lead."""
    level = sqrt(lead)
    leaving = guess - sqrt(larger(2 * lead - guess * guess, 0.0))
    entering = guess - lead / larger(larger(guess, level), _TINY)
    return choose(guess > level, entering, leaving) / 2


def _spill_guess(place: Fireplace) -> Number:
    """Temperature of what may spill into the house, K: the mean beyond the other faces, by their openings."""
    weights = [conductance(side.faces) for side in place.beyond]
    total = sum(weights, 0.0)
    heat = sum((weight * side.temperature for weight, side in zip(weights, place.beyond, strict=True)), 0.0)
    return choose(total > 0, heat / choose(total > 0, total, 1.0), place.house.temperature)


def _passage(
    side: Outdoors | GlazedRoom, passing: Number, foot_pressure: Number, place: Fireplace
) -> _Passage:
    """Through the faces of a side, were it gas of density `passing`, kg/m3, whichever way it goes."""
    root_drop = side.root_drop(place.density(side.temperature), passing, foot_pressure)
    return _Passage(root_drop, passing, conductance(side.faces) * sqrt(2 * passing) * root_drop)


def _balance(place: Fireplace, rest: _Rest, guess: Number, spilling: Number) -> _Balance:
    """What follows from a guess of how far the firebox stands below the strongest side.

    guess: sum of the roots, Pa^0.5, of the drops to the firebox from the strongest side at rest and from the
    house, as if the house kept still: every flow is smooth in it, where one root alone has a kink in the other,
    and what the fireplace's own draw does to the house follows without a search.
    spilling: temperature of what leaves into the house, K.
    """
    house = place.house
    house_air = place.density(house.temperature)
    root_drop = _root_drop_from_house(guess, rest.strongest - rest.house)
    passing = choose(root_drop < 0, place.density(spilling), house_air)
    by_house = _Passage(root_drop, passing, conductance(house.faces) * sqrt(2 * passing) * root_drop)
    house_draw = by_house.mass_flow / house_air
    house_pressure = house.pressure_drawing(house_draw)
    # From the strongest side: through a wide opening its air comes by a drop that is lost in the digits of the house's pressure.
    strong_drop = guess - root_drop
    foot_pressure = rest.strongest - strong_drop * abs(strong_drop) + (house_pressure - rest.house)

    inward = [_passage(side, place.density(side.temperature), foot_pressure, place) for side in place.beyond]
    inflows = [larger(passage.mass_flow, 0.0) for passage in (by_house, *inward)]
    excess_heat = sum(
        flow * (side.temperature - house.temperature)
        for flow, side in zip(inflows[1:], place.beyond, strict=True)
    )
    mixed = house.temperature + excess_heat / larger(sum(inflows), _TINY)

    mixture = place.density(mixed)
    passages = [by_house]
    for side, entering in zip(place.beyond, inward, strict=True):
        leaves = entering.root_drop < 0
        if anywhere(leaves):
            entering = _passage(side, choose(leaves, mixture, entering.density), foot_pressure, place)
        passages.append(entering)
    mass_flow = sum(passage.mass_flow for passage in passages) + place.fuel_flow
    # Less gas than a fire can burn in is no answer; a flow of that much stands for it, so that the search can pass.
    burning = larger(mass_flow, _least_flow(place))
    gas = _gas_in_flue(place, mixed, burning)
    lift = foot_pressure + gas.draft - place.flue.top_pressure
    return _Balance(
        lift=lift,
        excess=signed_root(lift) * (burning / sqrt(sum(gas.losses))) - mass_flow,
        passages=tuple(passages),
        foot_pressure=foot_pressure,
        house_pressure=house_pressure,
        house_draw=house_draw,
        mixed=mixed,
        mass_flow=mass_flow,
        gas=gas,
    )


def _gas_in_flue(place: Fireplace, mixed: Number, mass_flow: Number) -> _Gas:
    """Heat, cooling, draft and losses of a mass flow, kg/s, of air that entered at `mixed`, K."""
    flue, constants = place.flue, place.constants
    capacity = mass_flow * constants.specific_heat
    foot = mixed + constants.share_to_gas * place.power / capacity
    mean, top = cooled(foot, flue.surroundings, flue.heat_loss * flue.perimeter * flue.height / capacity)
    mean_density = place.density(mean)
    draft = draft_pressure(flue.height, place.density(place.outdoor_temperature), mean_density)

    diameter = 4 * flue.area / flue.perimeter
    reynolds = mass_flow * diameter / (flue.area * viscosity(mean))
    friction = friction_factor(reynolds, flue.roughness / diameter) * flue.height / diameter
    momentum = (mass_flow / flue.area) ** 2 / 2
    foot_head, mean_head, top_head = (momentum / place.density(warmth) for warmth in (foot, mean, top))
    losses = (
        flue.throat * foot_head,
        friction * mean_head,
        flue.bends * mean_head,
        flue.cap * top_head,
        constants.exit_coefficient * top_head,
    )
    return _Gas(foot, mean, top, draft, losses)


def _settled(place: Fireplace, rest: _Rest, search: Callable[[Number], Number]) -> tuple[_Balance, Number]:
    """The balance without excess, and the temperature of what spills into the house, K.

    search: the guess that leaves no excess, given the temperature of what spills into the house; it is
    searched again until that is the temperature of the mixture.
    """
    spilling = _spill_guess(place)
    balance = _balance(place, rest, search(spilling), spilling)
    for _ in range(_PASSES):
        if everywhere((balance.house_draw >= 0) | (abs(balance.mixed - spilling) < _SAME_TEMPERATURE)):
            break
        spilling = balance.mixed
        balance = _balance(place, rest, search(spilling), spilling)
    return balance, spilling


def _least_flow(place: Fireplace) -> Number:
    """The wood and the air that it cannot burn without, kg/s."""
    return place.fuel_flow * (1 + place.constants.least_air)


def _is_starved(place: Fireplace, balance: _Balance) -> Truth:
    """Whether the flow up the flue has too little air for the fire."""
    return balance.mass_flow < _least_flow(place)


def _at_ends(
    place: Fireplace, rest: _Rest, low: Number, high: Number, spilling: Number
) -> tuple[_Balance, _Balance]:
    """What follows from the least guess, and from the largest."""
    return _balance(place, rest, low, spilling), _balance(place, rest, high, spilling)


def _is_held_down(least: _Balance, largest: _Balance) -> Truth:
    """Whether no guess between the ends sends gas up the flue.

    Either nothing lifts the gas, even where no side's air comes in yet; or a fan beyond a face takes more out of
    the firebox than the others can bring in, however low its pressure.
    """
    return (least.lift <= 0) | (least.excess <= 0) | (largest.excess >= 0)


def _answer(place: Fireplace, balance: _Balance) -> Flow:
    """The flow that a balance stands for."""
    faces = {}
    for side, passage in zip(place.sides, balance.passages, strict=True):
        speed = sqrt(2 / passage.density) * passage.root_drop
        for face in side.faces:
            volume = face.discharge * face.area * speed
            faces[face.name] = FaceFlow(
                is_open=face.is_open,
                side_pressure=balance.foot_pressure + passage.root_drop * abs(passage.root_drop),
                mass_flow=volume * passage.density,
                volume_flow=volume,
                velocity=face.discharge * speed,
            )
    gas = balance.gas
    return Flow(
        faces=faces,
        fuel_flow=place.fuel_flow,
        mass_flow=balance.mass_flow,
        air_flow=(balance.mass_flow - place.fuel_flow) / place.density(balance.mixed),
        mixed_temperature=balance.mixed,
        foot_temperature=gas.foot,
        mean_temperature=gas.mean,
        top_temperature=gas.top,
        draft_pressure=gas.draft,
        losses=dict(zip(_LOSSES, gas.losses, strict=True)),
        foot_pressure=balance.foot_pressure,
        house_pressure=balance.house_pressure,
        house_draw=balance.house_draw,
    )
