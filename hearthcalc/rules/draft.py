"""Will it smoke: what the draft model's results say of each state of use, and what cures it.

A second opinion: MEETS here never turns a rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from hearthcalc.findings import Basis, Bound, Finding, State, Step, Verdict, worst
from hearthcalc.job import Face
from hearthcalc.models.draft import IN_HOUSE, ZERO, face_bands, number
from hearthcalc.models.results import Draft, Fans, Run
from hearthcalc.physics.draft import Flow, Reason
from hearthcalc.rules.case import Case, basis, rule
from hearthcalc.rules.draft_inputs import CFM, KEY, SQUARE_INCH, draft_inputs

SPILLS = "Gas that spills carries carbon monoxide, which kills without a smell or a sound."

NO_ANSWER = {
    Reason.NO_FIRE: (Verdict.REFER, "there is no fire of any power to draw"),
    Reason.NO_OPENING: (Verdict.REFER, "no face is open and none has gaps"),
    Reason.SEALED: (Verdict.SHORT, "the house lets no air in"),
    Reason.NO_DRAFT: (
        Verdict.SHORT,
        "suction at the faces or pressure at the top is more than the chimney pulls: smoke comes down",
    ),
    Reason.BLOCKED: (Verdict.SHORT, "throat, damper or cap leave the smoke no way out"),
    Reason.STARVED: (Verdict.SHORT, "too little air comes in for the wood to burn"),
}

UNKNOWN = {
    "throat": "the throat is not known",
    "damper": "the free area of the damper is not known",
    "garage": "the garage is taken as one body of air with the house, which is not known",
    "beyond_gaps": "the gaps of the glazed room are not known, and it is taken as outdoors",
}


def taken(made: Draft) -> tuple[str, ...]:
    """What was taken, as it is not known, in words."""
    return (
        *(f"{name} {shown}" for name, shown in made.assumed.items()),
        *(UNKNOWN[name] for name in made.unknown),
    )


def _drafted(case: Case, state: State) -> Draft:
    """The draft of a state; where the model could not make one, raises what kept it from it."""
    case.rests_on(KEY)
    if state.draft is None:
        draft_inputs(case)
        raise ValueError(f"{state.name} was never put to the draft model")
    return state.draft


def _context(case: Case, state: State, *keys: str) -> dict[str, Any]:
    return {"state": state.name, "counts": state.counts, "basis": _rests(case, *keys)}


def _rests(case: Case, *keys: str) -> tuple[Basis, ...]:
    return basis(*(case.edition[f"draft.{key}"] for key in keys))


def _unsteady(case: Case, run: Run, context: dict[str, Any], *, caution: bool = True) -> Finding:
    """A run that has no steady flow."""
    assert run.reason is not None
    verdict, why = NO_ANSWER[run.reason]
    more = {"caution": SPILLS} if caution else {}
    return case.finding(verdict, f"No steady draft: {why}.", **more, **context)


# At the face


def face_verdict(speed: float, mild: float, enough: float, least: float, *, held: bool) -> Verdict:
    """Speeds, m/s, at a face and there on a mild day against two bands. held: something unknown keeps it from MEETS."""
    verdict = Verdict.MEETS if speed >= enough else Verdict.REFER if speed >= least else Verdict.SHORT
    if verdict is Verdict.MEETS and (held or mild < least):
        return Verdict.REFER
    return verdict


@rule("draft.face_velocity", "Does it draw at the face", each="state", kind="model")
def face_velocity(case: Case, state: State) -> Iterator[Finding]:
    """Air enters every open face fast enough to carry the smoke off."""
    if not state.open:
        return
    made = _drafted(case, state)
    hot = "hot." if case.job.fire.size in ("hot", "roaring") else ""
    throat = "rumford" if case.job.fireplace.pattern == "rumford" else "equal"
    bands = (f"face_velocity.{hot}meets", f"face_velocity.{hot}refer")
    context = _context(case, state, *bands, "share_to_gas", f"throat.{throat}", "discharge.face")
    if made.main.flow is None:
        yield _unsteady(case, made.main, context)
        return
    for name in state.open:
        yield _at_face(case, state, made, made.main.flow, name, context)


def _at_face(
    case: Case, state: State, made: Draft, flow: Flow, name: str, context: dict[str, Any]
) -> Finding:
    enough, least = face_bands(case.job.fire.size, case.edition)
    asked = context["basis"][0].value
    speed, mild = float(flow.faces[name].velocity), _mild_speed(made, name)
    verdict = face_verdict(speed, mild or -1.0, enough, least, held=bool(made.unknown))
    running = _running_speed(made, name)
    fails = speed >= 0 and running < min(speed, enough)
    text = f"Air enters the {name} face at {_speed(speed)}; {asked} is taken as enough."
    if speed < 0:
        text = f"Gas leaves by the {name} face: it smokes there."
    if mild is None or mild < least:
        text += (
            f" On a mild day: {'no draft' if mild is None else 'it smokes' if mild < 0 else _speed(mild)}."
        )
    if made.unknown:
        text += f" But {' and '.join(UNKNOWN[one] for one in made.unknown)}."
    more: dict[str, Any] = {}
    if fails:
        text += f" With the fans running: {'no draft' if running == NONE else 'it smokes' if running < 0 else _speed(running)}."
        verdict = Verdict.REFER if verdict is Verdict.MEETS else verdict
    if verdict is not Verdict.MEETS:
        more["remedy"] = (*_keep_off(made, fails), *_remedies(case, state, made))
    return case.finding(
        verdict,
        text,
        face=name,
        caution=SPILLS,
        working=_working(made.main, flow),
        required=Bound(">=", enough, "m/s", asked),
        found=Bound("=", speed, "m/s", _speed(speed)),
        **context,
        **more,
    )


NONE = -math.inf  # of a speed: there is no steady draft


def _running_speed(made: Draft, name: str) -> float:
    """The speed at a face with the fans running, NONE without a draft; where there are no fans, as it stands."""
    run = made.also.get("fans running", made.main)
    return NONE if run.flow is None else float(run.flow.faces[name].velocity)


def _keep_off(made: Draft, fails: bool) -> Iterator[str]:
    if fails:
        takes = made.fans.takes if made.fans else 0.0
        bring = f", or bring in the {takes / CFM:.0f} cfm that they take out" if takes > 0 else ""
        yield f"Keep the fans off while there is fire{bring}."


def _mild_speed(made: Draft, name: str) -> float | None:
    mild = made.also["mild day"].flow
    return None if mild is None else float(mild.faces[name].velocity)


def _speed(speed: float) -> str:
    return f"{speed / 0.3048:.2f} ft/s ({speed:.2f} m/s)"


def _working(run: Run, flow: Flow) -> tuple[Step, ...]:
    """The balance as lines: what lifts the gas, and what takes it."""

    def pascals(symbol: str, expression: str, numbers: str, value: float, digits: int) -> Step:
        return Step(symbol, expression, numbers, value, "Pa", f"{value:.{digits}f} Pa")

    column = f"gas at {float(flow.mean_temperature) - ZERO:.0f} C over {run.height:.2f} m"
    air = float(flow.air_flow)
    return (
        pascals("draft", "g L (rho_out - rho_mean)", column, float(flow.draft_pressure), 1),
        *(pascals(f"loss, {name}", "K x head", "", float(loss), 2) for name, loss in flow.losses.items()),
        pascals("firebox", "pressure against outdoors", "", float(flow.foot_pressure), 2),
        Step("flow", "air up the flue", "", air, "m3/s", f"{air / CFM:.0f} cfm ({air * 1000:.0f} L/s)"),
    )


def _remedies(case: Case, state: State, made: Draft) -> Iterator[str]:
    if made.draws_open is not None:
        area = case.area(Fraction(math.floor(made.draws_open / SQUARE_INCH)))
        yield f"By this model it draws once no more than {area} is open at once."
    if len(state.open) > 1:
        yield "Keep one face shut while there is fire: see the states with one face open."


# Without a fire's pull


def burn_down_verdict(lift: float, enough: float) -> Verdict:
    """What lifts the gas while the fire burns down, Pa, against what is enough."""
    return Verdict.MEETS if lift >= enough else Verdict.CLOSE if lift >= 0 else Verdict.SHORT


def die_down_verdict(suction: float, meets: float, close: float) -> Verdict:
    """The suction of the house while the fire burns down, Pa, against two limits."""
    return Verdict.MEETS if suction <= meets else Verdict.CLOSE if suction <= close else Verdict.SHORT


@rule("draft.no_flow", "Does it start, and does it die down upward", each="state", kind="model")
def no_flow(case: Case, state: State) -> Finding:
    """Without a fire's pull something still lifts the gas: at light-up in a cold flue, and while the fire burns down."""
    made = _drafted(case, state)
    enough, at_start = (number(case.edition, f"no_flow.{when}") for when in ("burn_down", "light_up"))
    down, sucks = burn_down_verdict(made.burn_down, enough), _dies_down(case, made)
    start = Verdict.MEETS if made.light_up >= at_start else Verdict.REFER
    text = f"At light-up {_lifts(made.light_up)}; while it burns down {_lifts(made.burn_down)}."
    dying = [down]
    if sucks is None:
        text += " The house's leakage is not known: its pressure is taken as none."
    else:
        dying.append(sucks[0])
        text += f" {sucks[1]}"
    fails = made.with_fans is not None and made.with_fans < min(enough, made.burn_down)
    if fails:
        text += f" With the fans running, {_lifts(made.with_fans or 0.0)} then."
        dying.append(Verdict.REFER)
    verdict = worst([*dying, start]) or down
    remedy = list(_keep_off(made, fails))
    if start is Verdict.REFER:
        remedy.append(
            "Before lighting: stop the fans, open a window near the fire, and warm the flue with burning paper until it draws."
        )
    if worst(dying[:2]) is not Verdict.MEETS:
        remedy.append("Let air in while it burns down, stop the fans, and keep the doors to the house shut.")
    keys = ("no_flow.burn_down", "no_flow.light_up", "burn_down_flue", "die_down.meets", "die_down.close")
    return case.finding(
        verdict,
        text,
        required=Bound(">=", enough, "Pa", f"{enough:g} Pa while it burns down"),
        found=Bound("=", made.burn_down, "Pa", f"{made.burn_down:.1f} Pa")
        if verdict is down or verdict is Verdict.REFER
        else None,  # the house decides, not the flue's own lift
        remedy=tuple(remedy),
        caution="A flue that runs backward while embers glow fills the house with carbon monoxide."
        if verdict is not Verdict.MEETS
        else None,
        **_context(case, state, *keys),
    )


def _dies_down(case: Case, made: Draft) -> tuple[Verdict, str] | None:
    """How the house sucks on a fire that burns down, judged and in words; None where its leakage is not known."""
    if not made.main.house_known:
        return None
    flow = made.also["burning down"].flow
    if flow is None:
        return Verdict.SHORT, "As it burns down, no steady draft is left."
    meets, close = (number(case.edition, f"die_down.{key}") for key in ("meets", "close"))
    suction = -float(flow.house_pressure)
    return (
        die_down_verdict(suction, meets, close),
        f"The house then stands {_stands(suction)} outdoors; {meets:g} Pa below is taken as the most.",
    )


def _lifts(pressure: float) -> str:
    if abs(pressure) < 0.05:
        return "nothing lifts the gas"
    return f"{pressure:.1f} Pa lift the gas" if pressure > 0 else f"{-pressure:.1f} Pa press the gas down"


# Between two faces


def crossflow_verdict(difference: float, limit: float, close: float) -> Verdict:
    """A difference of pressure, Pa, against its limit. close: share of the limit from which it is close."""
    if difference >= limit:
        return Verdict.SHORT
    return Verdict.CLOSE if difference >= close * limit else Verdict.MEETS


@rule("draft.crossflow", "A breeze from one side to the other", each="state", kind="model")
def crossflow(case: Case, state: State) -> Finding | None:
    """Two open faces part in pressure by less than it takes to stop one of them drawing."""
    if len(state.open) < 2:
        return None
    cross = _drafted(case, state).crossflow
    context = _context(case, state, "crossflow.close", "crossflow.band", "discharge.face", "shelter")
    if cross is None:
        return case.finding(
            Verdict.SHORT,
            "No steady draft with both faces open: nothing to hold a breeze against.",
            caution=SPILLS,
            **context,
        )
    limit, difference = float(cross.limit), float(cross.difference)
    verdict = crossflow_verdict(difference, limit, number(case.edition, "crossflow.close"))
    outside = any(case.face(name).opens_to not in IN_HOUSE for name in state.open)
    band, names = number(case.edition, "crossflow.band"), " and ".join(state.open)
    about = f"about {_digit(limit)} Pa ({_digit(limit / band)} to {_digit(limit * band)})"
    text = f"Between {names} the pressure differs by {difference:.2f} Pa; at {about} one face stops drawing and smokes."
    if apart := _apart(case, state):
        text += f" Whether {' and '.join(apart)} are one body of air is not known: a shut door between them makes more."
        verdict = worst([verdict, Verdict.REFER]) or verdict
    if outside:
        text += _breeze(cross.wind_speed)
    return case.finding(
        verdict,
        text,
        required=Bound("<=", limit, "Pa", about),
        found=Bound("=", difference, "Pa", f"{difference:.2f} Pa"),
        remedy=("Shut one side whenever there is fire.",) if verdict is not Verdict.MEETS or outside else (),
        caution=SPILLS if verdict is not Verdict.MEETS else None,
        **context,
    )


def _apart(case: Case, state: State) -> list[str]:
    """The rooms of the house that the open faces stand in, where they may not be one body of air."""
    rooms: list[str] = sorted({*IN_HOUSE} & {case.face(name).opens_to for name in state.open})
    return rooms if len(rooms) > 1 else []


def _digit(pressure: float) -> str:
    """A pressure to the one digit that can be said of it."""
    places = max(0, -math.floor(math.log10(pressure))) if pressure > 0 else 0
    return f"{round(pressure, places):.{places}f}"


def _breeze(wind: float | None) -> str:
    """What makes so small a difference. wind: m/s that does, None where none arrives."""
    suction = "so little suction in the house"
    if wind is None:
        return f" {suction.capitalize()} makes that. No flue size cures that: a side has to be shut."
    speed = f"{wind:.1f} m/s ({wind / 0.44704:.1f} mph)"
    return f" A wind of {speed} makes that by itself, or {suction}. No flue size cures that: a side has to be shut."


# Through shut doors


@rule("draft.door_leak", "What leaks through the shut doors", each="state", kind="model")
def door_leak(case: Case, state: State) -> Iterator[Finding]:
    """Gas leaves, or air enters, by the gaps of each shut face."""
    shut = [face for face in case.job.face if face.name not in state.open]
    if not shut or (not state.open and not all(face.closure for face in shut)):
        return
    made = _drafted(case, state)
    for face in shut:
        context = {"face": face.name, **_context(case, state, "discharge.door")}
        gaps = case.fresh().number(face, "gap_area")
        if gaps.known is None:
            yield case.missing(tuple(gaps.asked.missing), **context)
        else:
            yield _leak(case, face, made, context)


def _leak(case: Case, face: Face, made: Draft, context: dict[str, Any]) -> Finding:
    """The gaps of a shut face, the fans off or running, whichever lets more gas out."""
    runs = [made.main.flow, *(run.flow for name, run in made.also.items() if name == "fans running")]
    flows = [flow for flow in runs if flow is not None]
    if len(flows) < len(runs):
        text = f"No steady draft to carry gas off: it leaves by the gaps of the {face.name} doors."
        return case.finding(Verdict.REFER, text, caution=SPILLS, **context)
    leak = min(float(flow.faces[face.name].volume_flow) for flow in flows)
    told = f"{abs(leak) / CFM:.1f} cfm ({abs(leak) * 1000:.1f} L/s)"
    if leak >= 0:
        return case.finding(
            Verdict.MEETS, f"Air enters by the gaps of the {face.name} doors, {told}.", **context
        )
    into = "the house" if face.opens_to in IN_HOUSE else "the side beyond"
    referred = face.opens_to in (*IN_HOUSE, "glazed")
    return case.finding(
        Verdict.REFER if referred else Verdict.MEETS,
        f"Gas leaves by the gaps of the {face.name} doors into {into}, {told}.",
        remedy=("Fit doors with gaskets on that side, and a carbon-monoxide alarm.",) if referred else (),
        caution=SPILLS,
        **context,
    )


# In the house


def _need_leakage(case: Case) -> None:
    """Raise NotKnown where the leakage of the house is not known."""
    case.entered("air", "airtightness", needed=True)
    case.number("air", "house_volume")
    case.all_known()


def _need_fans(case: Case) -> None:
    """Raise NotKnown where the leakage of the house, its fans or the flow of one of them is not known."""
    for fan in case.listed("air", "fans").known or ():
        case.number(fan, "flow")
    _need_leakage(case)


@rule("house.suction", "Suction in the house", each="state", kind="model")
def suction(case: Case, state: State) -> Finding | None:
    """The fans, without fire and rising warm air, do not suck the house down further than open fires bear."""
    if not any(case.face(name).opens_to in IN_HOUSE for name in state.open):
        return None
    _need_fans(case)
    made = _drafted(case, state)
    fans, limit = made.fans, number(case.edition, "house_suction")
    assert fans is not None
    verdict = Verdict.MEETS if fans.suction <= limit else Verdict.SHORT
    text = f"The fans suck the house {fans.suction:.1f} Pa down; {limit:g} Pa is taken as the most."
    if fans.takes <= 0:
        text = "No fan sucks the house down."
    if made.main.flow is not None:
        text += f" With the fire, the fans off, it stands {_stands(-float(made.main.flow.house_pressure))} outdoors."
    return case.finding(
        verdict,
        text,
        required=Bound("<=", limit, "Pa", f"{limit:g} Pa"),
        found=Bound("=", fans.suction, "Pa", f"{fans.suction:.1f} Pa"),
        remedy=tuple(_less_fan(case, fans)) if verdict is Verdict.SHORT else (),
        caution=SPILLS if verdict is Verdict.SHORT else None,
        **_context(case, state, "house_suction", "leak_exponent"),
    )


def _stands(suction: float) -> str:
    return f"{suction:.1f} Pa below" if suction > 0 else f"{-suction:.1f} Pa above"


def _less_fan(case: Case, fans: Fans) -> Iterator[str]:
    """What keeps the house within its limit: an inlet, or a smaller fan."""
    if fans.inlet is not None:
        yield _inlet(case, fans.takes - fans.most, fans.inlet)
    yield f"Or run no more than {fans.most / CFM:.0f} cfm of fans while there is fire."


def _inlet(case: Case, flow: float, area: float) -> str:
    free = area / SQUARE_INCH
    shares = (1.0, number(case.edition, "louvre.metal"), number(case.edition, "louvre.wood"))
    plain, metal, wood = (case.area(Fraction(math.ceil(free / share))) for share in shares)
    return (
        f"Let in {flow / CFM:.0f} cfm: an inlet of {plain} free, about {metal} behind a metal louvre or {wood} "
        "behind a wooden one; a screen takes more."
    )


def _beside(case: Case, made: Draft) -> str:
    """What the openings that the codes ask for let in, beside what the fire draws."""
    rows = (("exterior_duct", "outside-air passage"), ("vent", "permanent vent"))
    air, passages = case.job.air, made.supply.passages if made.supply else {}
    told = [
        f"the {name} of {case.area(getattr(air, key).value)} lets in {passages[key] / CFM:.0f} cfm"
        for key, name in rows
        if passages.get(key)
    ]
    if air.makeup is not None:
        told.append(f"make-up air brings {air.makeup.text}")
    return f" Of that, at {case.edition['draft.house_suction'].shown}, {', '.join(told)}." if told else ""


@rule("air.demand", "Air that the fire draws", each="state", kind="model")
def demand(case: Case, state: State) -> Finding | None:
    """What the fire draws out of the house, beside what the house lets in at the suction it may have."""
    if not any(case.face(name).opens_to in IN_HOUSE for name in state.open):
        return None
    made = _drafted(case, state)
    context = _context(case, state, "house_suction", "discharge.door", "louvre.metal", "louvre.wood")
    if made.main.flow is None:
        return _unsteady(case, made.main, context, caution=False)
    _need_leakage(case)
    assert made.supply is not None and made.supply.draw is not None
    draw, gives = made.supply.draw, made.supply.gives
    if draw <= 0:
        text = "The fire draws nothing out of the house: what it needs comes from the other side."
        return case.finding(Verdict.MEETS, text, **context)
    limit, enough = number(case.edition, "house_suction"), gives >= draw
    return case.finding(
        Verdict.MEETS if enough else Verdict.REFER,
        f"The fire draws {draw / CFM:.0f} cfm out of the house; at {limit:g} Pa of suction the house lets in {gives / CFM:.0f} cfm for it."
        f"{_beside(case, made)}",
        required=Bound(">=", draw, "m3/s", f"{draw / CFM:.0f} cfm"),
        found=Bound("=", gives, "m3/s", f"{gives / CFM:.0f} cfm"),
        remedy=(_inlet(case, made.supply.lacks, made.supply.inlet),)
        if not enough and made.supply.lacks is not None and made.supply.inlet is not None
        else (),
        **context,
    )
