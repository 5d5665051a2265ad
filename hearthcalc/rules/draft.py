"""Will it smoke: the draft model of this tool, for each state of use, in the weather given and beside it in others.

A second opinion. Its constants are reference values of their own (draft.*), most of them assumptions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from hearthcalc.findings import Bound, Finding, State, Step, Verdict, worst
from hearthcalc.job import Face
from hearthcalc.physics import draft as model
from hearthcalc.physics import fireplace as parts
from hearthcalc.physics.air import standard_pressure
from hearthcalc.physics.leakage import PowerLaw, from_air_changes, stack_pressure, wind_pressure
from hearthcalc.physics.losses import bend_coefficient, throat_coefficient
from hearthcalc.physics.openings import inlet_area, orifice_flow
from hearthcalc.reference import Edition, Value, read_table
from hearthcalc.rules.case import Case, LinerElsewhere, NotKnown, basis, of, rule
from hearthcalc.rules.firebox import OPPOSITE
from hearthcalc.rules.flue import Flue, flue_of
from hearthcalc.rules.openings import entries, opening_area

INCH = 0.0254
SQUARE_INCH = INCH**2
CUBIC_FOOT = 0.3048**3
CFM = CUBIC_FOOT / 60
ZERO = 273.15
IN_HOUSE = ("room", "bedroom", "garage")
CALM = ""

SPILLS = "Gas that spills carries carbon monoxide, which kills without a smell or a sound."


@dataclass(frozen=True, slots=True)
class Weather:
    """What one run of the model is made for. power: W.  outdoor: C.  wind_on: a face, or CALM.  throat, top: the variants beside it."""

    power: float
    outdoor: float
    wind_on: str
    throat: float
    top: float


@dataclass(frozen=True, slots=True)
class Run:
    """One state in one weather: what was solved, and what came out."""

    place: parts.Fireplace
    answer: model.Flow | model.NoFlow

    @property
    def flow(self) -> model.Flow | None:
        return self.answer if isinstance(self.answer, model.Flow) else None


@dataclass(frozen=True, slots=True)
class Study:
    """All runs of one state. main: in the weather given.  also: by name, other fires and weathers.

    assumed: what was not known and was taken from the constants, in words.  never_better: some of it keeps the answer from MEETS.
    """

    main: Run
    also: Mapping[str, Run]
    crossflow: model.Crossflow | None
    light_up: float
    burn_down: float
    suction_at_rest: float | None
    assumed: tuple[str, ...]
    never_better: tuple[str, ...]


def number(edition: Edition, key: str) -> float:
    """A constant of the model in its canonical unit."""
    return float(edition[f"draft.{key}"].number)


def constants(edition: Edition) -> parts.Constants:
    """The constants that the balance takes whole."""
    return parts.Constants(
        gas_constant=number(edition, "gas_constant"),
        specific_heat=number(edition, "specific_heat"),
        fuel_heat=number(edition, "fuel_heat") * 1e6,
        share_to_gas=number(edition, "share_to_gas"),
        exit_coefficient=number(edition, "exit"),
        least_air=number(edition, "least_air"),
    )


def study(case: Case, state: State) -> Study:
    """Solve one state in every weather that is told. Raises NotKnown."""
    faces = case.job.face
    case.require(
        *(path for face in faces for path in entries(face)),
        *((*of(face), "opens_to") for face in faces),
        ("flue", "height"),
    )
    flue = flue_of(case)
    given, assumed, never_better = _given(case, state, flue)
    winds = _winds(case)
    runs = [solve(case, state, flue, replace(given, wind_on=wind)) for wind in winds]
    main = min(runs, key=_how_bad)
    wind = winds[runs.index(main)]
    given = replace(given, wind_on=wind)
    edition = case.edition
    others = {
        "hot fire": replace(given, power=given.power * number(edition, "fire.hot")),
        "roaring fire": replace(given, power=given.power * number(edition, "fire.roaring")),
        "burning down": replace(given, power=number(edition, "fire.burn_down")),
        "mild day": replace(given, outdoor=number(edition, "mild")),
    }
    if case.job.site.top_pressure is None and (speed := _wind_speed(case)):
        air = main.place.density(main.place.outdoor_temperature)
        others["downwash at the top"] = replace(
            given, top=number(edition, "downwash") * wind_pressure(air, speed, _shelter(case), 1.0)
        )
    if case.raw(("firebox", "throat_depth")) is None or case.raw(("firebox", "throat_width")) is None:
        others["poor throat"] = replace(given, throat=number(edition, "throat.poor"))
    also = {name: solve(case, state, flue, weather) for name, weather in others.items()}
    light_up, burn_down = (
        _margin(case, state, main, warm)
        for warm in (_at_light_up(case, given), number(edition, "burn_down_flue") + ZERO)
    )
    house = main.place.house
    at_rest = None if house.leakage is None else float(house.pressure_drawing(0.0))
    return Study(
        main, also, _crossflow(case, state, main), light_up, burn_down, at_rest, assumed, never_better
    )


def _how_bad(run: Run) -> tuple[float, float]:
    """Worse weather sorts first: no flow, then faces that spill, then the slowest face."""
    if run.flow is None:
        return (-2.0, 0.0)
    speeds = [float(face.velocity) for face in run.flow.faces.values() if face.is_open]
    return (-1.0 if run.flow.spills else 0.0, min(speeds, default=0.0))


def _given(case: Case, state: State, flue: Flue) -> tuple[Weather, tuple[str, ...], tuple[str, ...]]:
    """The weather and the fire that the job gives, and what had to be taken from the constants."""
    edition, site = case.edition, case.job.site
    assumed, never_better = [], []
    largest = max(float(opening_area(case, face).value) for face in case.job.face) * SQUARE_INCH
    steady = number(edition, "fire.steady") * 1000 * largest
    power = steady * {"hot": number(edition, "fire.hot"), "roaring": number(edition, "fire.roaring")}.get(
        case.job.fire.size or "steady", 1.0
    )
    if case.job.fire.power is not None:
        power = float(case.job.fire.power.value)
    if not state.open:
        power = number(edition, "fire.burn_down")
    if site.outdoor is None:
        assumed.append(f"outdoors {edition['draft.outdoor'].shown}")
    if site.indoor is None:
        assumed.append(f"indoors {edition['draft.indoor'].shown}")
    deep, wide = case.want(("firebox",), "throat_depth"), case.want(("firebox",), "throat_width")
    throat = number(edition, "throat.equal")
    if deep is not None and wide is not None and deep.value and wide.value:
        ratio = float(deep.value * wide.value / flue.area.value)
        throat = throat_coefficient(ratio, at_equal=throat, at_double=number(edition, "throat.double"))
    else:
        never_better.append("the throat is not known")
    if case.job.air.beyond_gaps is None and any(
        face.opens_to == "glazed" and face.name in state.open for face in case.job.face
    ):
        never_better.append("the gaps of the glazed room are not known, and it is taken as outdoors")
    outdoor = number(edition, "outdoor") if site.outdoor is None else float(site.outdoor.value)
    top = 0.0 if site.top_pressure is None else float(site.top_pressure.value)
    return Weather(power, outdoor, CALM, throat, top), tuple(assumed), tuple(never_better)


def _winds(case: Case) -> Sequence[str]:
    """The faces that the wind may blow on: the one given, or each where it is not known."""
    if not _wind_speed(case):
        return (CALM,)
    return (case.job.site.wind_on,) if case.job.site.wind_on else tuple(face.name for face in case.job.face)


def _wind_speed(case: Case) -> float:
    return 0.0 if case.job.site.wind is None else float(case.job.site.wind.value)


def _shelter(case: Case) -> float:
    return (
        number(case.edition, "shelter")
        if case.job.site.shelter is None
        else float(case.job.site.shelter.value)
    )


def _coefficient(case: Case, face: Face, wind_on: str) -> float:
    """Wind pressure coefficient of the wall that a face stands in, when the wind blows on another's or its own."""
    if wind_on == CALM:
        return 0.0
    if face.name == wind_on:
        return number(case.edition, "cp.windward")
    windward = case.face(wind_on).side
    across = windward and face.side and OPPOSITE[windward] != face.side
    return -number(case.edition, "cp.side" if across else "cp.lee")


def leakage(case: Case) -> PowerLaw | None:
    """The leakage of the house, None where its volume or its airtightness is not known.

    Vents and passages to outdoors add what they let in at the suction that the house may have.
    """
    tight, volume = case.job.air.airtightness, case.job.air.house_volume
    if tight is None or volume is None:
        return None
    changes = number(case.edition, f"ach50.{tight}") if isinstance(tight, str) else float(tight.value)
    law = from_air_changes(changes, float(volume.value) * CUBIC_FOOT, number(case.edition, "leak_exponent"))
    limit = number(case.edition, "house_suction")
    inlets = sum(
        _through(case, float(area.value)) for area in (case.job.air.vent, case.job.air.exterior_duct) if area
    )
    return replace(law, coefficient=law.coefficient + inlets / limit**law.exponent)


def _through(case: Case, area: float) -> float:
    """What an opening to outdoors, in2 free, lets in at the suction that the house may have, m3/s, in air of 0 C at sea level."""
    air = standard_pressure(0.0) / (number(case.edition, "gas_constant") * ZERO)
    limit = number(case.edition, "house_suction")
    return float(
        orifice_flow(area * SQUARE_INCH, number(case.edition, "discharge.door"), air, limit)
    ) / float(air)


def exhaust(case: Case, *where: str) -> float:
    """What the fans of some places take out, m3/s, less the make-up air of the house."""
    fans = case.job.air.fans or ()
    flow = sum(
        float(fan.flow.value) for fan in fans if fan.flow is not None and (fan.where or "house") in where
    )
    if "house" in where and case.job.air.makeup is not None:
        flow -= min(flow, float(case.job.air.makeup.value))
    return flow * CFM


def solve(case: Case, state: State, flue: Flue, weather: Weather) -> Run:
    """Build one fireplace in one weather, and solve it."""
    edition, job = case.edition, case.job
    indoor = (number(edition, "indoor") if job.site.indoor is None else float(job.site.indoor.value)) + ZERO
    outdoor = weather.outdoor + ZERO
    barometer = standard_pressure(0.0 if job.site.altitude is None else float(job.site.altitude.value) * INCH)
    outdoor_air = barometer / (number(edition, "gas_constant") * outdoor)

    def wind(face: Face) -> float:
        coefficient = _coefficient(case, face, weather.wind_on)
        return float(wind_pressure(outdoor_air, _wind_speed(case), _shelter(case), coefficient))

    inside: list[parts.Face] = []
    beyond: list[parts.Outdoors | parts.GlazedRoom] = []
    for face in job.face:
        opening = _model_face(case, face, face.name in state.open)
        if face.opens_to in IN_HOUSE:
            inside.append(opening)
        elif face.opens_to == "glazed" and job.air.beyond_gaps is not None:
            gaps = float(job.air.beyond_gaps.value) * SQUARE_INCH
            discharge = number(edition, "discharge.door")
            beyond.append(
                parts.GlazedRoom(
                    (opening,), (indoor + outdoor) / 2, wind(face), exhaust(case, "beyond"), gaps, discharge
                )
            )
        else:
            beyond.append(
                parts.Outdoors(
                    (opening,), (indoor + outdoor) / 2 if face.opens_to == "glazed" else outdoor, wind(face)
                )
            )
    law = leakage(case)
    rest = 0.0
    if law is not None:
        level = job.air.neutral_level
        storeys = 1.0 if job.air.storeys is None else float(job.air.storeys.value)
        metres = (
            storeys * number(edition, "neutral_per_storey") * INCH
            if level is None
            else float(level.value) * INCH
        )
        rest = stack_pressure(outdoor_air, indoor, outdoor, metres)
    house = parts.House(
        tuple(inside), indoor, rest, exhaust(case, "house", "room") if law is not None else 0.0, law
    )
    place = parts.Fireplace(
        constants(edition),
        house,
        tuple(beyond),
        _model_flue(case, state, flue, weather, outdoor),
        weather.power,
        barometer,
        outdoor,
    )
    return Run(place, model.solve(place))


def _model_face(case: Case, face: Face, is_open: bool) -> parts.Face:
    (height,) = case.need(of(face), "height")
    if is_open:
        area, discharge = opening_area(case, face).value, number(case.edition, "discharge.face")
    else:
        gaps = case.want(of(face), "gap_area")
        area, discharge = (gaps.value if gaps else Fraction(0)), number(case.edition, "discharge.door")
    return parts.Face(face.name, is_open, float(area) * SQUARE_INCH, float(height.value) * INCH, discharge)


def perimeter(flue: Flue) -> float:
    """Perimeter of a flue, in, from its area and its shape; 1 to 1.5 where a rectangular one's sides are not known."""
    area = float(flue.area.value)
    if flue.shape == "round":
        return math.sqrt(4 * math.pi * area)
    aspect = 1.0 if flue.shape == "square" else 1.5 if flue.aspect is None else float(flue.aspect.value)
    short = math.sqrt(area / aspect)
    if flue.shape == "oval":
        a, b = math.sqrt(area * aspect / math.pi), math.sqrt(area / aspect / math.pi)
        return math.pi * (3 * (a + b) - math.sqrt((3 * a + b) * (a + 3 * b)))
    return 2 * short * (1 + aspect)


def _model_flue(case: Case, state: State, flue: Flue, weather: Weather, outdoor: float) -> parts.Flue:
    edition, job = case.edition, case.job
    (height,) = case.need(("flue",), "height")
    counted = [face for face in job.face if face.name in state.open] or list(job.face)
    tallest = max(case.need(of(face), "height")[0].value for face in counted)
    lining = case.raw(("flue", "lining"))
    rough = edition["draft.roughness." + (lining.replace(" ", "_") if lining else "clay")]
    cap = case.raw(("flue", "cap")) or "open"
    bends = [
        (float(row["degrees"]), float(row["coefficient"]))
        for row in read_table(edition.folder, edition["draft.bends"].table).rows
    ]
    return parts.Flue(
        area=float(flue.area.value) * SQUARE_INCH,
        perimeter=perimeter(flue) * INCH,
        height=float(height.value - tallest / 2) * INCH,
        roughness=float(rough.number) * INCH,
        heat_loss=number(
            edition, "heat_loss.inside" if case.raw(("flue", "place")) == "inside" else "heat_loss.outside"
        ),
        surroundings=outdoor,
        throat=weather.throat,
        bends=sum(bend_coefficient(float(lean.value), bends) for lean in job.flue.offsets or ()),
        cap=number(edition, f"cap.{cap}"),
        top_pressure=weather.top,
    )


def _at_light_up(case: Case, weather: Weather) -> float:
    """Temperature of the flue before a fire, K: midway where it stands inside, else outdoors."""
    indoor = (
        number(case.edition, "indoor") if case.job.site.indoor is None else float(case.job.site.indoor.value)
    )
    warm = (indoor + weather.outdoor) / 2 if case.raw(("flue", "place")) == "inside" else weather.outdoor
    return warm + ZERO


def _margin(case: Case, state: State, run: Run, flue_temperature: float) -> float:
    """What lifts the gas without the fire's pull, Pa, from the side of lowest pressure that it draws on."""
    place = run.place
    pressures = []
    for side in place.sides:
        if any(face.is_open or not state.open for face in side.faces):
            rest = (
                side.pressure_drawing(0.0)
                if isinstance(side, parts.House)
                else side.resting_pressure(place.density(side.temperature))
            )
            pressures.append(float(rest))
    return float(
        model.no_flow_margin(
            place.flue.height,
            place.density(place.outdoor_temperature),
            place.density(flue_temperature),
            min(pressures, default=0.0),
            place.flue.top_pressure,
        )
    )


def _crossflow(case: Case, state: State, run: Run) -> model.Crossflow | None:
    """How far the pressures of two open faces may part, where two are open and the state has an answer."""
    if len(state.open) < 2 or run.flow is None:
        return None
    outside = sum(case.face(name).opens_to not in IN_HOUSE for name in state.open)
    cp = number(case.edition, "cp.windward") + (number(case.edition, "cp.lee") if outside > 1 else 0.0)
    return model.crossflow(run.place, run.flow, shelter=_shelter(case), wind_coefficient=cp)


def record(study: Study) -> dict[str, Any]:
    """The `draft` object of a state: SI, pressures against outdoors at the hearth."""
    main = study.main
    told: dict[str, Any] = _run_record(main)
    told["no_flow_margin"] = {"light_up": study.light_up, "burn_down": study.burn_down}
    told["crossflow"] = None
    if study.crossflow is not None:
        cross = study.crossflow
        told["crossflow"] = {
            "limit": float(cross.limit),
            "difference": float(cross.difference),
            "wind_speed": float(cross.wind_speed),
        }
    told["also"] = {name: _run_record(run) for name, run in study.also.items()}
    told["assumed"] = [*study.assumed, *study.never_better]
    return told


def _run_record(run: Run) -> dict[str, Any]:
    flow = run.flow
    if flow is None:
        return {"reason": str(run.answer.reason) if isinstance(run.answer, model.NoFlow) else None}
    return {
        "mass_flow": float(flow.mass_flow),
        "flow": float(flow.air_flow),
        "face_velocity": {name: float(face.velocity) for name, face in flow.faces.items() if face.is_open},
        "gas_temperature": {
            "foot": float(flow.foot_temperature) - ZERO,
            "mean": float(flow.mean_temperature) - ZERO,
            "top": float(flow.top_temperature) - ZERO,
        },
        "draft_pressure": float(flow.draft_pressure),
        "losses": {name: float(loss) for name, loss in flow.losses.items()},
        "foot_pressure": float(flow.foot_pressure),
        "house_pressure": None if run.place.house.leakage is None else float(flow.house_pressure),
        "spills": list(flow.spills),
        "door_leak": {name: float(leak) for name, leak in flow.door_leaks.items()},
    }


REASONS = {
    model.Reason.NO_FIRE: (Verdict.REFER, "there is no fire of any power to draw"),
    model.Reason.NO_OPENING: (Verdict.REFER, "no face is open and none has gaps"),
    model.Reason.SEALED: (Verdict.SHORT, "the house lets no air in"),
    model.Reason.NO_DRAFT: (
        Verdict.SHORT,
        "suction at the faces or pressure at the top is more than the chimney pulls: smoke comes down",
    ),
    model.Reason.STARVED: (Verdict.SHORT, "too little air comes in for the wood to burn"),
}


def _no_answer(run: Run) -> tuple[Verdict, str]:
    """What it means that a run has no steady state."""
    assert isinstance(run.answer, model.NoFlow)
    return REASONS[run.answer.reason]


def _studied(case: Case, state: State) -> Study:
    """The study of a state; where it could not be made, raises what kept it from being made."""
    made = case.studies[state.name]
    if isinstance(made, Exception):
        raise made
    assert isinstance(made, Study)
    return made


def _rests(case: Case, *keys: str) -> tuple[Any, ...]:
    values: list[Value] = [case.edition[f"draft.{key}"] for key in keys]
    return basis(*values)


@rule("draft.face_velocity", "Does it draw at the face", each="state", kind="model")
def face_velocity(case: Case, state: State) -> Iterator[Finding]:
    """Air enters every open face fast enough to carry the smoke off."""
    if not state.open:
        return
    made = _studied(case, state)
    rests = _rests(
        case, "face_velocity.meets", "face_velocity.refer", "share_to_gas", "throat.equal", "discharge.face"
    )
    common: dict[str, Any] = {"state": state.name, "counts": state.counts, "basis": rests}
    flow = made.main.flow
    if flow is None:
        verdict, why = _no_answer(made.main)
        yield case.finding(verdict, f"No steady draft: {why}.", caution=SPILLS, **common)
        return
    enough, least = (number(case.edition, f"face_velocity.{key}") for key in ("meets", "refer"))
    mild = made.also["mild day"].flow
    for name in state.open:
        speed = float(flow.faces[name].velocity)
        verdict = Verdict.MEETS if speed >= enough else Verdict.REFER if speed >= least else Verdict.SHORT
        text = f"Air enters the {name} face at {_speed(speed)}; {case.edition['draft.face_velocity.meets'].shown} is taken as enough."
        if speed < 0:
            text = f"Gas leaves by the {name} face: it smokes there."
        mild_speed = float(mild.faces[name].velocity) if mild else -1.0
        if mild_speed < least:
            told = "no draft" if mild is None else "it smokes" if mild_speed < 0 else _speed(mild_speed)
            text += f" On a mild day: {told}."
            if verdict is Verdict.MEETS:
                verdict = Verdict.REFER
        if made.never_better:
            text += f" But {' and '.join(made.never_better)}."
            verdict = worst([verdict, Verdict.REFER]) or verdict
        context = common | {"face": name, "caution": SPILLS, "working": _working(made.main, flow)}
        context["required"] = Bound(">=", enough, "m/s", case.edition["draft.face_velocity.meets"].shown)
        context["found"] = Bound("=", speed, "m/s", _speed(speed))
        if verdict is not Verdict.MEETS:
            context["remedy"] = tuple(_remedies(case, state, made, name, enough))
        yield case.finding(verdict, text, **context)


def _speed(speed: float) -> str:
    return f"{speed / 0.3048:.2f} ft/s ({speed:.2f} m/s)"


def _working(run: Run, flow: model.Flow) -> tuple[Step, ...]:
    """The balance as lines: what lifts the gas, and what takes it."""
    lines = [
        Step(
            "draft",
            "g L (rho_out - rho_mean)",
            f"gas at {float(flow.mean_temperature) - ZERO:.0f} C over {float(run.place.flue.height):.2f} m",
            float(flow.draft_pressure),
            "Pa",
            f"{float(flow.draft_pressure):.1f} Pa",
        ),
        *(
            Step(f"loss, {name}", "K x head", "", float(loss), "Pa", f"{float(loss):.2f} Pa")
            for name, loss in flow.losses.items()
        ),
        Step(
            "firebox",
            "pressure against outdoors",
            "",
            float(flow.foot_pressure),
            "Pa",
            f"{float(flow.foot_pressure):.2f} Pa",
        ),
        Step(
            "flow",
            "air up the flue",
            "",
            float(flow.air_flow),
            "m3/s",
            f"{float(flow.air_flow) / CFM:.0f} cfm ({float(flow.air_flow) * 1000:.0f} L/s)",
        ),
    ]
    return tuple(lines)


def _remedies(case: Case, state: State, made: Study, name: str, enough: float) -> Iterator[str]:
    shares = _share_that_draws(case, state, made, enough)
    if shares is not None and shares < 1:
        opening = sum(float(opening_area(case, case.face(face)).value) for face in state.open) * shares
        yield f"By this model it draws once no more than {case.area(Fraction(math.floor(opening)))} is open at once."
    if len(state.open) > 1:
        yield "Keep one face shut while there is fire: see the states with one face open."


def _share_that_draws(case: Case, state: State, made: Study, enough: float) -> float | None:
    """The share of the openings at which the slowest face draws enough, by halving; None where none does."""

    def slowest(share: float) -> float:
        place = made.main.place
        smaller = replace(
            place,
            house=_scaled(place.house, share),
            beyond=tuple(_scaled(side, share) for side in place.beyond),
        )
        answer = model.solve(smaller)
        if isinstance(answer, model.NoFlow):
            return -1.0
        return min(float(answer.faces[face].velocity) for face in state.open)

    low, high = 0.1, 1.0
    if slowest(low) < enough:
        return None
    for _ in range(10):
        middle = (low + high) / 2
        low, high = (middle, high) if slowest(middle) >= enough else (low, middle)
    return low


def _scaled(side: Any, share: float) -> Any:
    return replace(
        side,
        faces=tuple(replace(face, area=face.area * share) if face.is_open else face for face in side.faces),
    )


@rule("draft.no_flow", "Does it start, and does it die down upward", each="state", kind="model")
def no_flow(case: Case, state: State) -> Finding:
    """Without a fire's pull something still lifts the gas: at light-up in a cold flue, and while the fire burns down."""
    made = _studied(case, state)
    edition = case.edition
    enough, at_start = number(edition, "no_flow.burn_down"), number(edition, "no_flow.light_up")
    down = (
        Verdict.MEETS if made.burn_down >= enough else Verdict.CLOSE if made.burn_down >= 0 else Verdict.SHORT
    )
    start = Verdict.MEETS if made.light_up >= at_start else Verdict.REFER
    verdict = worst([down, start]) or down
    remedy = []
    if start is Verdict.REFER:
        remedy.append(
            "Before lighting: stop the fans, open a window near the fire, and warm the flue with burning paper until it draws."
        )
    if down is not Verdict.MEETS:
        remedy.append("Let air in while it burns down, stop the fans, and keep the doors to the house shut.")
    unknown = (
        ""
        if made.suction_at_rest is not None
        else " The house's leakage is not known: its pressure is taken as none."
    )
    return case.finding(
        verdict,
        f"At light-up {_lifts(made.light_up)}; while it burns down {_lifts(made.burn_down)}.{unknown}",
        state=state.name,
        counts=state.counts,
        basis=_rests(case, "no_flow.burn_down", "no_flow.light_up", "burn_down_flue"),
        required=Bound(">=", enough, "Pa", f"{enough:g} Pa while it burns down"),
        found=Bound("=", made.burn_down, "Pa", f"{made.burn_down:.1f} Pa"),
        remedy=tuple(remedy),
        caution="A flue that runs backward while embers glow fills the house with carbon monoxide."
        if verdict is not Verdict.MEETS
        else None,
    )


def _lifts(pressure: float) -> str:
    if abs(pressure) < 0.05:
        return "nothing lifts the gas"
    return f"{pressure:.1f} Pa lift the gas" if pressure > 0 else f"{-pressure:.1f} Pa press the gas down"


@rule("draft.crossflow", "A breeze from one side to the other", each="state", kind="model")
def crossflow(case: Case, state: State) -> Finding | None:
    """Two open faces part in pressure by less than it takes to stop one of them drawing."""
    if len(state.open) < 2:
        return None
    made = _studied(case, state)
    cross = made.crossflow
    context: dict[str, Any] = {
        "state": state.name,
        "counts": state.counts,
        "basis": _rests(case, "crossflow.close", "discharge.face", "shelter"),
    }
    if cross is None:
        return case.finding(
            Verdict.SHORT,
            "No steady draft with both faces open: nothing to hold a breeze against.",
            caution=SPILLS,
            **context,
        )
    limit, difference = float(cross.limit), float(cross.difference)
    share = number(case.edition, "crossflow.close")
    verdict = (
        Verdict.SHORT
        if difference >= limit
        else Verdict.CLOSE
        if difference >= share * limit
        else Verdict.MEETS
    )
    outside = any(case.face(name).opens_to not in IN_HOUSE for name in state.open)
    breeze = (
        f" A wind of {float(cross.wind_speed):.1f} m/s ({float(cross.wind_speed) / 0.44704:.1f} mph) makes that by itself,"
        if outside
        else ""
    )
    between = f"Between {' and '.join(state.open)} the pressure differs by {difference:.2f} Pa"
    text = f"{between}; at {limit:.2f} Pa one face stops drawing and smokes."
    if outside:
        text += f"{breeze} or so little suction in the house. No flue size cures that: a side has to be shut."
    return case.finding(
        verdict,
        text,
        required=Bound("<=", limit, "Pa", f"{limit:.2f} Pa"),
        found=Bound("=", difference, "Pa", f"{difference:.2f} Pa"),
        remedy=("Shut one side whenever there is fire.",) if verdict is not Verdict.MEETS or outside else (),
        caution=SPILLS if verdict is not Verdict.MEETS else None,
        **context,
    )


@rule("draft.door_leak", "What leaks through the shut doors", each="state", kind="model")
def door_leak(case: Case, state: State) -> Iterator[Finding]:
    """Gas leaves, or air enters, by the gaps of each shut face."""
    shut = [face for face in case.job.face if face.name not in state.open]
    if not shut or (not state.open and not all(face.closure for face in shut)):
        return
    made = _studied(case, state)
    for face in shut:
        context: dict[str, Any] = {
            "state": state.name,
            "face": face.name,
            "counts": state.counts,
            "basis": _rests(case, "discharge.door"),
        }
        if case.want(of(face), "gap_area") is None:
            yield case.missing([case.address(*of(face), "gap_area")], **context)
            continue
        flow = made.main.flow
        if flow is None:
            yield case.finding(
                Verdict.REFER,
                f"No steady draft to carry gas off: it leaves by the gaps of the {face.name} doors.",
                caution=SPILLS,
                **context,
            )
            continue
        leak = float(flow.faces[face.name].volume_flow)
        told = f"{abs(leak) / CFM:.1f} cfm ({abs(leak) * 1000:.1f} L/s)"
        if leak >= 0:
            yield case.finding(
                Verdict.MEETS, f"Air enters by the gaps of the {face.name} doors, {told}.", **context
            )
            continue
        into = "the house" if face.opens_to in IN_HOUSE else "the side beyond"
        verdict = Verdict.REFER if face.opens_to in (*IN_HOUSE, "glazed") else Verdict.MEETS
        yield case.finding(
            verdict,
            f"Gas leaves by the gaps of the {face.name} doors into {into}, {told}.",
            remedy=("Fit doors with gaskets on that side, and a carbon-monoxide alarm.",)
            if verdict is Verdict.REFER
            else (),
            caution=SPILLS,
            **context,
        )


def _wall(case: Case) -> PowerLaw:
    """The leakage of the house. Raises NotKnown."""
    law = leakage(case)
    if law is None:
        air = case.job.air
        names = [name for name in ("airtightness", "house_volume") if getattr(air, name) is None]
        raise NotKnown([case.address("air", name) for name in names])
    return law


@rule("house.suction", "Suction in the house", each="state", kind="model")
def suction(case: Case, state: State) -> Finding | None:
    """With the fans and the fire the house is not sucked down further than open fires bear."""
    if not any(case.face(name).opens_to in IN_HOUSE for name in state.open):
        return None
    law = _wall(case)
    made = _studied(case, state)
    flow = made.main.flow
    limit = number(case.edition, "house_suction")
    context: dict[str, Any] = {
        "state": state.name,
        "counts": state.counts,
        "basis": _rests(case, "house_suction", "leak_exponent", "neutral_per_storey"),
    }
    if flow is None:
        verdict, why = _no_answer(made.main)
        return case.finding(verdict, f"No steady draft: {why}.", caution=SPILLS, **context)
    pressure = float(flow.house_pressure)
    down = -pressure
    verdict = Verdict.MEETS if down <= limit else Verdict.SHORT
    return case.finding(
        verdict,
        f"With fans and fire the house stands {down:.1f} Pa below outdoors; {limit:g} Pa is taken as the most."
        if down > 0
        else f"With fans and fire the house stands {pressure:.1f} Pa above outdoors.",
        required=Bound("<=", limit, "Pa", f"{limit:g} Pa"),
        found=Bound("=", down, "Pa", f"{down:.1f} Pa"),
        remedy=tuple(_let_in(case, made, law)) if verdict is Verdict.SHORT else (),
        caution=SPILLS if verdict is Verdict.SHORT else None,
        **context,
    )


def _let_in(case: Case, made: Study, law: PowerLaw) -> Iterator[str]:
    """What would keep the house within its limit: an inlet, or a smaller fan; both with what the fire draws at that limit."""
    limit = number(case.edition, "house_suction")
    place = made.main.place
    house = place.house
    held = model.solve(replace(place, house=replace(house, leakage=None, pressure=-limit)))
    if isinstance(held, model.NoFlow):
        return
    draw = float(held.house_draw)
    gives = float(law.flow(limit + float(house.pressure)))
    lacks = draw + float(house.exhaust) - gives
    if lacks > 0:
        air = standard_pressure(0.0) / (number(case.edition, "gas_constant") * ZERO)
        # The model counts an inlet among the leaks of the whole house, which its warm air already sucks on.
        at_limit = lacks * (limit / (limit + float(house.pressure))) ** float(law.exponent)
        free = float(inlet_area(at_limit, number(case.edition, "discharge.door"), air, limit)) / SQUARE_INCH
        metal, wood = (free / number(case.edition, f"louvre.{kind}") for kind in ("metal", "wood"))
        yield (
            f"Let in {lacks / CFM:.0f} cfm: an inlet of {case.area(Fraction(math.ceil(free)))} free, about "
            f"{case.area(Fraction(math.ceil(metal)))} behind a metal louvre or {case.area(Fraction(math.ceil(wood)))} behind a wooden one; "
            "a screen takes more."
        )
    fan = gives - draw
    if float(house.exhaust) > 0 and fan > 0:
        yield f"Or run no more than {fan / CFM:.0f} cfm of fans while there is fire."


def _beside(case: Case) -> str:
    """What the openings that the codes ask for let in, beside what the fire draws."""
    limit = case.edition["draft.house_suction"].shown
    rows = (("outside-air passage", case.job.air.exterior_duct), ("permanent vent", case.job.air.vent))
    told = [
        f"the {name} of {case.area(area.value)} lets in {_through(case, float(area.value)) / CFM:.0f} cfm"
        for name, area in rows
        if area
    ]
    if case.job.air.makeup is not None:
        told.append(f"make-up air brings {case.job.air.makeup.text}")
    return f" Of that, at {limit}, {', '.join(told)}." if told else ""


@rule("air.demand", "Air that the fire draws", each="state", kind="model")
def demand(case: Case, state: State) -> Finding | None:
    """What the fire draws out of the house, beside what the house lets in at the suction it may have."""
    indoors = [name for name in state.open if case.face(name).opens_to in IN_HOUSE]
    if not indoors:
        return None
    made = _studied(case, state)
    flow = made.main.flow
    context: dict[str, Any] = {
        "state": state.name,
        "counts": state.counts,
        "basis": _rests(case, "house_suction", "discharge.door", "louvre.metal", "louvre.wood"),
    }
    if flow is None:
        verdict, why = _no_answer(made.main)
        return case.finding(verdict, f"No steady draft: {why}.", **context)
    law = _wall(case)
    limit = number(case.edition, "house_suction")
    place = made.main.place
    draw = float(flow.house_draw)
    if draw <= 0:
        return case.finding(
            Verdict.MEETS,
            "The fire draws nothing out of the house: what it needs comes from the other side.",
            **context,
        )
    gives = max(0.0, float(law.flow(limit + float(place.house.pressure))) - float(place.house.exhaust))
    enough = gives >= draw
    return case.finding(
        Verdict.MEETS if enough else Verdict.REFER,
        f"The fire draws {draw / CFM:.0f} cfm out of the house; at {limit:g} Pa of suction the house lets in {gives / CFM:.0f} cfm for it."
        f"{_beside(case)}",
        required=Bound(">=", draw, "m3/s", f"{draw / CFM:.0f} cfm"),
        found=Bound("=", gives, "m3/s", f"{gives / CFM:.0f} cfm"),
        remedy=() if enough else tuple(_let_in(case, made, law)),
        **context,
    )


def studies(case: Case, states: Iterable[State]) -> dict[str, Study | Exception]:
    """The study of each state, or what kept it from being made."""
    made: dict[str, Study | Exception] = {}
    for state in states:
        try:
            made[state.name] = study(case, state)
        except (NotKnown, LinerElsewhere) as err:
            made[state.name] = err
    return made
