"""Jobs at random over the whole hard range of every entry: the models always have an answer, or a reason, and their balances close.

Some jobs, each of its own seed; `--hypothesis-profile=long` takes 20,000.
"""

import json
import math
import random
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import settings
from msgspec.structs import replace

from hearthcalc import reference
from hearthcalc.assess import assess, assess_models
from hearthcalc.entry import FieldSpec
from hearthcalc.job import FIELDS, Job
from hearthcalc.models.draft import Face, Fan, Inputs, Model, draft
from hearthcalc.physics.draft import Flow, solve
from hearthcalc.physics.fireplace import Fireplace, GlazedRoom
from hearthcalc.physics.openings import orifice_flow
from hearthcalc.report.record import to_record
from hearthcalc.rules.case import Case
from hearthcalc.rules.draft_inputs import draft_inputs

EDITION = reference.load("irc-2021")
COUNT = 20_000 if settings().max_examples > 1000 else 100
BATCHES = 20
TABLES = {
    "face": ("study", "porch", "hall", "yard"),
    "nearby": ("shelf", "post"),
    "air.fans": ("hood", "bath", "dryer"),
}
ELSEWHERE = (
    "remove",
    "at",
    "arch",
    "rise",
)  # of a plan, of another wall, and of arches that do not go with any size
ALWAYS = ("width", "height", "inside", "throat_depth", "throat_width")
OPENS = ("room", "bedroom", "garage", "screened", "outdoors", "glazed")
MATERIALS = (
    "still_air",
    "ventilated_air",
    "cement_board",
    "brick_fired_clay_1760",
    "oak",
    "granite",
    "no such",
)
ANGLES = ("L3x3x1/4", "L5x3-1/2x5/16", "L9x9x1")


def entered(spec: FieldSpec, dice: random.Random) -> Any:
    """A value of an entry, from anywhere in its hard range: its ends, or even, or even in digits."""
    if spec.kind == "bool":
        return dice.random() < 0.5
    if spec.choices and (not spec.hard or dice.random() < 0.5):
        return dice.choice(spec.choices)
    low, high = (float(end) for end in spec.hard or (0, 50_000))
    how = dice.random()
    if how < 0.1:
        number = dice.choice((low, high))
    elif how < 0.5 and low >= 0:
        least = max(low, high * 1e-5)
        number = least * (high / least) ** dice.random()
    else:
        number = dice.uniform(low, high)
    value = Fraction(round(number, 4)).limit_denominator(10_000)
    value = min(max(value, Fraction(low)), Fraction(high))
    return round(value) if spec.kind == "count" else spec.show(value, "in")


def table(name: str, dice: random.Random, often: float) -> dict[str, Any]:
    """What is entered of one table: each entry often, but not always."""
    found: dict[str, Any] = {}
    for key, spec in FIELDS.items():
        if key == "face.jamb_moved":  # asked of a plan alone
            continue
        head, _, last = key.rpartition(".")
        if head != name or last in ELSEWHERE or not (spec.hard or spec.choices or spec.kind == "bool"):
            continue
        if last not in ALWAYS and dice.random() > often:
            continue
        found[last] = (
            f"{entered(spec, dice)} x {entered(spec, dice)}" if spec.kind == "size" else entered(spec, dice)
        )
    return found


def document(seed: int) -> dict[str, Any]:
    """A job at random."""
    dice = random.Random(seed)
    often = dice.choice((0.6, 0.95, 1.0))
    faces = []
    for side, name in zip(
        ("front", "back", "left", "right"), TABLES["face"][: dice.choice((1, 1, 2, 2, 3, 4))], strict=False
    ):
        face = table("face", dice, often) | {"name": name, "side": side, "opens_to": dice.choice(OPENS)}
        face["hearth"] = table("face.hearth", dice, often)
        face["hearth"]["layers"] = [
            {"material": dice.choice(MATERIALS), "thickness": entered(FIELDS["face.hearth.layers.thickness"], dice)}
            for _ in range(dice.randint(0, 4))
        ]  # fmt: skip
        face["lintel"] = table("face.lintel", dice, often) | {"angle": dice.choice(ANGLES)}
        faces.append(face)
    air = table("air", dice, often)
    air["fans"] = [
        table("air.fans", dice, often) | {"name": name} for name in TABLES["air.fans"][: dice.randint(0, 3)]
    ]
    flue = table("flue", dice, often)
    flue["offsets"] = [f"{dice.uniform(0, 90):.3f} deg" for _ in range(dice.randint(0, 3))]
    site = table("site", dice, often)
    if dice.random() < 0.5:
        site["wind_on"] = dice.choice(faces)["name"]
    return {
        "format": "hearthcalc-job", "version": 1, "face": faces, "air": air, "flue": flue, "site": site,
        "fire": table("fire", dice, often),
        "firebox": {
            key: entry for key, entry in table("firebox", dice, often).items() if key in (*ALWAYS, "damper_area")
        },
        "nearby": [
            table("nearby", dice, often) | {"name": name, "what": "mantel", "face": faces[0]["name"], "combustible": True}
            for name in TABLES["nearby"]
        ],
    }  # fmt: skip


@pytest.mark.parametrize("batch", range(BATCHES))
def test_any_job_within_the_hard_ranges_has_answers_that_close(batch: int) -> None:
    """No exception, no NaN, no infinity; and a reason wherever there is no steady flow."""
    for seed in range(batch, COUNT, BATCHES):
        job = Job.from_document(document(seed))
        stage = assess_models(job, EDITION, assess(job, EDITION))
        assert json.dumps(to_record(stage), allow_nan=False)
        for state in stage.stages["found"].states:
            assert state.draft is not None, seed
            for run in (state.draft.main, *state.draft.also.values()):
                assert (run.flow is None) is (run.reason is not None), seed
        case = Case(job.stages()["found"], job, EDITION)
        inputs = draft_inputs(case)
        for state in stage.stages["found"].states:
            model = Model(inputs, state.open, EDITION)
            for wind, fans in ((wind, fans) for wind in model.winds() for fans in (False, True)):
                place = model.place(replace(model.given(), wind_on=wind, fans=fans))
                flow = solve(place)
                if isinstance(flow, Flow):
                    left = unbalanced(place, flow)
                    assert max(left.values()) <= 1e-9, f"job {seed}, {state.name}: {left}"


def unbalanced(place: Fireplace, flow: Flow) -> dict[str, float]:
    """What is left over in each balance, as a share of the flow, worked out anew from the answer alone.

    A pressure holds sixteen digits: what the last of them moves through the openings is nobody's fault.
    """
    passing = [(side, flow.faces[face.name], face) for side in place.sides for face in side.faces]
    at_rest = [place.house.pressure_drawing(0.0), *(side.pressure for side in place.beyond)]
    digit = 4e-16 * max(abs(pressure) for pressure in (flow.foot_pressure, flow.house_pressure, *at_rest))

    def through(area: float, discharge: float, air: float, drop: float) -> float:
        return float(orifice_flow(area, discharge, air, drop))

    unsure = sum(
        through(face.area, face.discharge, place.density(side.temperature), digit)
        for side, _, face in passing
    )
    inflow = sum(f.mass_flow for _, f, _ in passing if f.mass_flow > 0)
    outflow = -sum(f.mass_flow for _, f, _ in passing if f.mass_flow < 0)
    total = inflow + outflow + flow.mass_flow
    heat = sum(f.mass_flow * side.temperature for side, f, _ in passing if f.mass_flow > 0)
    lost = sum(flow.losses.values())
    lift = flow.foot_pressure + flow.draft_pressure - place.flue.top_pressure
    left = {
        "mass": abs(inflow + flow.fuel_flow - outflow - flow.mass_flow) / total,
        "heat": abs(heat / flow.mixed_temperature - inflow) / total,
        "pressure": max(0.0, flow.mass_flow * max(0.0, abs(lift - lost) - digit) / (2 * lost) - unsure)
        / total,
    }
    for side, found, face in passing:
        warmth = side.temperature if found.mass_flow > 0 else flow.mixed_temperature
        air, drop = place.density(warmth), found.side_pressure - flow.foot_pressure
        more = abs(through(face.area, face.discharge, air, drop) - found.mass_flow)
        left[face.name] = max(0.0, more - through(face.area, face.discharge, air, digit)) / total
    if place.house.leakage is not None:
        drawn = place.house.exhaust + flow.house_draw
        scale = abs(place.house.exhaust) + abs(flow.house_draw) + place.house.leakage.coefficient
        last = place.house.leakage.flow(digit) + place.house.inlet * math.sqrt(digit)
        more = abs(place.house.lets_in(flow.house_pressure) - drawn)
        left["house"] = max(0.0, more - last) / (scale + place.house.inlet)
    for side in place.beyond:
        if isinstance(side, GlazedRoom):
            left["glazed room"] = _unbalanced_room(place, flow, side, digit, unsure)
    return left


def _unbalanced_room(place: Fireplace, flow: Flow, side: GlazedRoom, digit: float, unsure: float) -> float:
    if not side.gap_area and not any(face.area for face in side.faces):
        return 0.0  # shut on all sides: its fan turns and moves nothing
    air = place.density(side.temperature)
    drop = side.pressure - flow.faces[side.faces[0].name].side_pressure
    gaps, last = (float(orifice_flow(side.gap_area, side.gap_discharge, air, d)) for d in (drop, digit))
    drawn = sum(flow.faces[face.name].mass_flow for face in side.faces)
    scale = abs(gaps) + abs(side.exhaust * air) + abs(drawn) + 1e-9
    return max(0.0, abs(gaps - side.exhaust * air - drawn) - last - unsure) / scale


# By hand


def one_face(**changes: Any) -> Inputs:
    """A face of 36 x 30 in, a clay flue of 11 x 11 in inside, 20 ft high, in a house of 16,000 ft3."""
    usual = Inputs(
        faces=(Face("study", "front", "room", 0.6968, 0.762, 0.003),),
        flue_area=0.0781,
        flue_perimeter=1.118,
        flue_height=6.5,
        throat=0.0781,
        power=22e3,
        indoor=20.0,
        outdoor=0.0,
        airtightness=7.0,
        volume=453.0,
        storeys=2,
        fans=(Fan(0.05, "room"),),
    )
    return replace(usual, **changes)


def speed(inputs: Inputs) -> float:
    """How fast air enters the face, m/s; less than any where nothing draws."""
    model = Model(inputs, ("study",), EDITION)
    flow = solve(model.place(replace(model.given(), fans=True)))
    return float(flow.faces["study"].velocity) if isinstance(flow, Flow) else -math.inf


@pytest.mark.parametrize("storeys", [1, 2, 3, 5, 20])
@pytest.mark.parametrize("outdoor", [-60.0, -12.2, 0.0, 15.0])
def test_a_tall_house_in_the_cold_is_told_what_to_let_in(storeys: int, outdoor: float) -> None:
    """The stack alone of three storeys at 10 F sucks harder than 5 Pa: what is asked for is a number, and it does what it says."""
    inputs = one_face(storeys=storeys, outdoor=outdoor, airtightness=4.0, fans=(Fan(0.2, "room"),))
    supply = draft(inputs, ("study",), EDITION).supply
    assert supply is not None
    assert supply.inlet is not None and supply.inlet > 0
    with_it = draft(replace(inputs, vent=supply.inlet), ("study",), EDITION).main.flow
    assert with_it is not None
    assert with_it.house_pressure == pytest.approx(-5, rel=1e-9)


@pytest.mark.parametrize("vent", [0.0, 0.02])
def test_the_fans_that_are_allowed_suck_as_far_as_is_allowed(vent: float) -> None:
    for airtightness in (0.5, 4.0, 15.0):
        inputs = one_face(airtightness=airtightness, vent=vent, fans=(Fan(1.5, "room"),))
        fans = draft(inputs, ("study",), EDITION).fans
        assert fans is not None and fans.inlet is not None and fans.suction > 5
        for kept in (
            replace(inputs, fans=(Fan(fans.most, "room"),)), replace(inputs, vent=vent + fans.inlet)
        ):  # fmt: skip
            after = draft(kept, ("study",), EDITION).fans
            assert after is not None and after.suction == pytest.approx(5, rel=1e-9)


def test_make_up_air_is_taken_off_the_fans_and_no_further() -> None:
    """600 L/s of hood with 250 of make-up is a hood of 350; with 700 it is none, and blows nothing into the house."""
    with_some, plain = one_face(fans=(Fan(0.6, "room"),), makeup=0.25), one_face(fans=(Fan(0.35, "room"),))
    assert speed(with_some) == pytest.approx(speed(plain), rel=1e-12)
    with_all, none = one_face(fans=(Fan(0.6, "room"),), makeup=0.7), one_face(fans=())
    assert speed(with_all) == pytest.approx(speed(none), rel=1e-12)
    beyond = one_face(fans=(Fan(0.6, "beyond"),), makeup=0.25)
    assert speed(beyond) == pytest.approx(speed(none), rel=1e-12)


FACTORS = (1.02, 1.1, 1.3, 1.6)


def usual(seed: int) -> Inputs:
    """A fireplace of usual size in usual weather."""
    dice = random.Random(seed)
    area = dice.uniform(0.3, 1.5)
    flue = area / dice.uniform(6, 14)
    return one_face(
        faces=(Face("study", "front", "room", area, dice.uniform(0.5, 1.0), 0.003),),
        flue_area=flue,
        flue_perimeter=4 * math.sqrt(flue) * dice.uniform(0.9, 1.2),
        flue_height=dice.uniform(3.5, 10),
        place=dice.choice(("inside", "outside")),
        throat=flue * dice.uniform(0.3, 2),
        power=dice.uniform(5e3, 80e3),
        outdoor=dice.uniform(-30, 18),
        airtightness=dice.uniform(2, 20),
        storeys=dice.choice((1, 2, 3)),
        fans=(Fan(dice.uniform(0, 0.2), "room"),),
        vent=dice.choice((0.0, 0.01, 0.05)),
    )


def better(inputs: Inputs, what: str, factor: float) -> Inputs:
    """The same with something changed that lets it draw better."""
    (face,), (fan,), throat, vent = inputs.faces, inputs.fans, inputs.throat or 0.0, inputs.vent or 0.0
    changed: dict[str, Inputs] = {
        "a higher flue": replace(inputs, flue_height=min(inputs.flue_height * factor, 12.0)),
        "a wider throat": replace(inputs, throat=throat * factor),
        "a smaller opening": replace(inputs, faces=(replace(face, area=face.area / factor),)),
        "weaker fans": replace(inputs, fans=(replace(fan, flow=fan.flow / factor),)),
        "a larger vent": replace(inputs, vent=vent + 0.02 * (factor - 1)),
        "colder air outdoors": replace(inputs, outdoor=(inputs.outdoor or 0.0) - 20 * (factor - 1)),
    }
    return changed[what]


@pytest.mark.parametrize(
    "what",
    [
        "a higher flue",
        "a wider throat",
        "a smaller opening",
        "weaker fans",
        "a larger vent",
        "colder air outdoors",
    ],
)
def test_what_helps_a_usual_fireplace_never_slows_it(what: str) -> None:
    """Cold air helps where the house lets it in freely: see below."""
    for seed in range(COUNT // 5):
        inputs = usual(seed)
        if what == "colder air outdoors":
            inputs = replace(inputs, airtightness=None)
        speeds = [speed(better(inputs, what, factor)) for factor in (1.0, *FACTORS)]
        assert speeds == sorted(speeds), f"{what}, fireplace {seed}: {speeds}"


def test_where_helping_does_not_help() -> None:
    """The reasons: a flue far taller than it is wide is all friction; a tall house outpulls a low chimney in the cold."""
    little = (Face("study", "front", "room", 0.09, 0.3, 0.0),)
    thin = one_face(
        faces=little, flue_area=0.01, flue_perimeter=0.4, throat=0.02, power=1e3, airtightness=None
    )
    assert speed(replace(thin, flue_height=40.0)) < speed(replace(thin, flue_height=15.0))
    low = one_face(flue_height=3.6, storeys=3, airtightness=2.0)
    assert speed(replace(low, outdoor=-20.0)) < speed(low)
