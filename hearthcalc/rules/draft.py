"""Will it smoke: what the draft model's results say of each state of use, and what cures it.

A second opinion: MEETS here never turns a rule. Each figure is a band, and MEETS or SHORT is what the whole of it agrees on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from hearthcalc.findings import Basis, Finding, State, Step, Verdict
from hearthcalc.models.draft import FANS, IN_HOUSE, WARMING, ZERO, number
from hearthcalc.models.results import Draft, Fans, Run, Span, Supply
from hearthcalc.physics.draft import Flow, Reason
from hearthcalc.rules.case import NEVER, Case, Subject, Unsure, basis, flow, more, rule
from hearthcalc.rules.draft_inputs import CFM, KEY, SQUARE_INCH, draft_inputs
from hearthcalc.rules.reading import Reading

SHOWN = 0.05  # Pa: less is 0.0 to the tenth that is told
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
    "cap": "the cap is not known",
    "screen": "whether there is a spark screen, and how open, is not known",
    "bends": "whether the flue bends is not known",
    "garage": "the garage is taken as one body of air with the house, which is not known",
    "house": "the house's leakage is not known, so its pressure is left out",
    "beyond_gaps": "the gaps of the glazed room are not known, and it is taken as outdoors",
}

SETTLES = {
    "throat": "throat, damper, smoke chamber, cap and spark screen, looked at and measured",
    "house": "a blower-door test of the house",
    "fire": "a mason's test fire of this size on such a day, with a smoke stick held along the lintel",
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


def _banded(value: float, *ends: float) -> Reading:
    """A figure with its band, which it is in."""
    every = [Fraction(number) for number in (value, *ends)]
    return Reading(every[0], min(every), max(every))


def _over(value: float, span: Span | None) -> Reading:
    return _banded(value) if span is None else _banded(value, span.low, span.high)


# At the face


@rule("draft.face_velocity", "Does it draw at the face", each="state", kind="model")
def face_velocity(case: Case, state: State) -> Iterator[Finding]:
    """Air enters every open face fast enough to carry the smoke off."""
    made = _drafted(case, state)
    hot = "hot." if case.peek("fire", "size") in ("hot", "roaring") else ""
    throat = "rumford" if case.peek("fireplace", "pattern") == "rumford" else "equal"
    bands = (f"face_velocity.{hot}meets", f"face_velocity.{hot}refer")
    context = _context(
        case, state, *bands, "share_to_gas", f"throat.{throat}", "discharge.face", _loss_of_heat(case)
    )
    if made.main.flow is None:
        yield _unsteady(case, made.main, context)
        return
    for name in state.open:
        yield _at_face(case, state, made, made.main.flow, name, context)


def _loss_of_heat(case: Case) -> str:
    return "heat_loss.inside" if case.peek("flue", "place") == "inside" else "heat_loss.outside"


def _at_face(
    case: Case, state: State, made: Draft, main: Flow, name: str, context: dict[str, Any]
) -> Finding:
    enough, least = (case.edition[value.key].number for value in context["basis"][:2])
    pace = float(main.faces[name].velocity)
    ends = [_pace(run, name) for run in (made.ends.worse, made.ends.better)]
    told = case.judge(
        ">=",
        _banded(pace, *ends),
        enough,
        what=f"Air enters the {name} face at"
        if pace >= 0
        else f"Gas leaves by the {name} face: it smokes there. As air that enters, that is",
        unit="speed",
        unsure=Unsure(
            SETTLES[made.ends.settles], tuple(f"But {UNKNOWN[one]}." for one in made.unknown), least
        ),
        remedy=lambda: tuple(_remedies(case, state, made)),
        caution=SPILLS,
        working=_working(made.main, main),
        face=name,
        **context,
    )
    if made.ends.worse.flow is None:
        told = more(
            told, Verdict.REFER, "At the worst of what is uncertain there is no steady draft.", caution=SPILLS
        )
    mild = _pace(made.also["mild day"], name)
    if mild < least:
        text = f"On a mild day: {_paced(case, made.also['mild day'], name)}."
        told = more(told, Verdict.REFER, text, caution=SPILLS)
    running = made.also.get(FANS)
    if running is not None and pace >= 0 and _pace(running, name) < min(pace, float(enough)):
        text = f"With the fans running: {_paced(case, running, name)}."
        told = more(told, Verdict.REFER, text, remedy=tuple(_keep_off(made)), caution=SPILLS)
    return told


def _pace(run: Run, name: str) -> float:
    """The speed at a face, m/s; none without a steady draft."""
    return 0.0 if run.flow is None else float(run.flow.faces[name].velocity)


def _paced(case: Case, run: Run, name: str) -> str:
    pace = _pace(run, name)
    shown = case.measure("speed").show(Fraction(pace))
    return "no draft" if run.flow is None else "it smokes" if pace < 0 else shown


def _keep_off(made: Draft) -> Iterator[str]:
    takes = made.fans.takes if made.fans else 0.0
    bring = f", or bring in the {flow(takes)} that they take out" if takes > 0 else ""
    yield f"Keep the fans off while there is fire{bring}."


def _working(run: Run, flowing: Flow) -> tuple[Step, ...]:
    """The balance as lines: what lifts the gas, and what takes it."""

    def pascals(symbol: str, expression: str, numbers: str, value: float, digits: int) -> Step:
        return Step(symbol, expression, numbers, value, "Pa", f"{value:.{digits}f} Pa")

    column = f"gas at {float(flowing.mean_temperature) - ZERO:.0f} C over {run.height:.2f} m"
    air = float(flowing.air_flow)
    return (
        pascals("draft", "g L (rho_out - rho_mean)", column, float(flowing.draft_pressure), 1),
        *(pascals(f"loss, {name}", "K x head", "", float(loss), 2) for name, loss in flowing.losses.items()),
        pascals("firebox", "pressure against outdoors", "", float(flowing.foot_pressure), 2),
        Step("flow", "air up the flue", "", air, "m3/s", f"{flow(air)} ({air * 1000:.0f} L/s)"),
    )


def _remedies(case: Case, state: State, made: Draft) -> Iterator[str]:
    if made.draws_open is not None:
        area = case.area(Fraction(math.floor(made.draws_open / SQUARE_INCH)))
        yield f"By this model it draws once no more than {area} is open at once."
    if len(state.open) > 1:
        yield "Keep one face shut while there is fire: see the states with one face open."


# Without a fire's pull

BACKWARD = "A flue that runs backward while embers glow fills the house with carbon monoxide."
LET_AIR_IN = "Let air in while it burns down, stop the fans, and keep the doors to the house shut."


@rule("draft.start", "Starting it", each="state", kind="model")
def start(case: Case, state: State) -> Finding:
    """What lifts the gas in a cold flue, and how it draws in the first quarter of an hour."""
    made = _drafted(case, state)
    keys = ("no_flow.light_up", "warm_up.power", "warm_up.share", "warm_up.heat_loss")
    enough, run = number(case.edition, "no_flow.light_up"), made.also[WARMING]
    text = f"At light-up {_lifts(made.light_up)}. "
    if run.flow is None:
        text += "In the first quarter of an hour, with a fire of kindling, there is no steady draft."
    else:
        paces = ", ".join(f"{_paced(case, run, name)} at {name}" for name in state.open)
        text += f"In the first quarter of an hour, with a fire of kindling: {paces}, and {float(run.flow.draft_pressure):.1f} Pa of draft."
    easy = made.light_up >= enough and run.flow is not None and not run.flow.spills
    todo = "Before lighting: stop the fans, open a window near the fire, and warm the flue with burning paper until it draws."
    return case.finding(
        Verdict.MEETS if easy else Verdict.REFER,
        text,
        kind="advice",
        remedy=() if easy else (todo,),
        caution=None if easy else SPILLS,
        **_context(case, state, *keys) | {"counts": False},
    )


@rule("draft.no_flow", "Does smoke keep rising as it burns down", each="state", kind="model")
def no_flow(case: Case, state: State) -> Finding:
    """Without a fire's pull something still lifts the gas while it burns down."""
    made = _drafted(case, state)
    enough = case.edition["draft.no_flow.burn_down"]
    told = case.judge(
        ">=",
        _over(made.burn_down, made.ends.burn_down),
        enough.number,
        what="While the fire burns down, the pull of the flue is",
        unit="pressure",
        unsure=Unsure(
            "a thermometer in the flue as it burns down, with the house as it is then", fails=Fraction(0)
        ),
        remedy=(LET_AIR_IN,),
        caution=BACKWARD,
        **_context(case, state, "no_flow.burn_down", "burn_down_flue"),
    )
    if not made.main.house_known:
        text = "The house's leakage is not known, so its pressure is left out."
        told = more(told, Verdict.REFER, text, caution=BACKWARD)
    if made.with_fans is not None and made.with_fans < min(float(enough.number), made.burn_down):
        text = f"With the fans running, {_lifts(made.with_fans)} then."
        told = more(told, Verdict.REFER, text, remedy=tuple(_keep_off(made)), caution=BACKWARD)
    return told


@rule("draft.die_down", "Suction of the house as the fire dies down", each="state", kind="model")
def die_down(case: Case, state: State) -> Finding:
    """While the fire burns down, the house does not stand so far below outdoors that the flue turns round."""
    made = _drafted(case, state)
    _need_leakage(case)
    most, spills = (case.edition[f"draft.die_down.{key}"] for key in ("meets", "close"))
    context = _context(case, state, "die_down.meets", "die_down.close", "leak_exponent")
    run = made.also["burning down"]
    if run.flow is None:
        return case.finding(
            Verdict.SHORT,
            "As it burns down, no steady draft is left.",
            remedy=(LET_AIR_IN,), caution=BACKWARD, **context,
        )  # fmt: skip
    suction = -float(run.flow.house_pressure)
    told = case.judge(
        "<=",
        _over(suction, made.ends.dying),
        most.number,
        what="As it burns down, the suction in the house is",
        unit="pressure",
        unsure=Unsure(SETTLES["house"], fails=spills.number),
        remedy=(LET_AIR_IN,),
        caution=BACKWARD,
        **context,
    )
    if made.ends.dying is None:
        text = "At the worst of what is uncertain no steady draft is left then."
        told = more(told, Verdict.REFER, text, caution=BACKWARD)
    return told


def _lifts(pressure: float) -> str:
    if pressure >= SHOWN:
        return f"{pressure:.1f} Pa carries smoke up"
    return f"{-pressure:.1f} Pa pushes smoke down" if pressure <= -SHOWN else "nothing carries smoke up"


# Between two faces


@rule("draft.crossflow", "A breeze from one side to the other", each="state", kind="model")
def crossflow(case: Case, state: State) -> Finding | None:
    """Two open faces part in pressure by less than it takes to stop one of them drawing."""
    if len(state.open) < 2:
        return None
    cross = _drafted(case, state).crossflow
    context = _context(case, state, "crossflow.band", "discharge.face", "shelter")
    if cross is None:
        return case.finding(
            Verdict.SHORT,
            "No steady draft with both faces open: nothing to hold a breeze against.",
            caution=SPILLS,
            **context,
        )
    limit, band = Fraction(float(cross.limit)), case.edition["draft.crossflow.band"].number
    names, shut = " and ".join(state.open), "Shut one side whenever there is fire."
    told = case.judge(
        "<=",
        Reading.exact(Fraction(float(cross.difference))),
        Reading(limit, limit / band, limit * band),
        what=f"Between {names} the pressure differs by",
        unit="slight pressure",
        unsure=Unsure("no gauge reads so little; shut one side"),
        remedy=(shut,),
        caution=SPILLS,
        **context,
    )
    told = more(told, told.verdict, "Beyond that one face stops drawing and smokes.")
    if apart := _apart(case, state):
        text = f"Whether {' and '.join(apart)} are one body of air is not known: a shut door between them makes more."
        told = more(
            told, Verdict.REFER, text, remedy=(shut,) if told.verdict is Verdict.MEETS else (), caution=SPILLS
        )
    if any(case.peek(case.face(name), "opens_to") not in IN_HOUSE for name in state.open):
        wind = None if cross.wind_speed is None else float(cross.wind_speed)
        told = more(told, told.verdict, _breeze(wind), remedy=() if told.remedy else (shut,))
    return told


def _apart(case: Case, state: State) -> list[str]:
    """The rooms of the house that the open faces stand in, where they may not be one body of air."""
    rooms: list[str] = sorted({*IN_HOUSE} & {case.peek(case.face(name), "opens_to") for name in state.open})
    return rooms if len(rooms) > 1 else []


def _breeze(wind: float | None) -> str:
    """What makes so small a difference. wind: m/s that does, None where none arrives."""
    suction = "so little suction in the house"
    if wind is None:
        return f"{suction.capitalize()} makes that. No flue size cures that: a side has to be shut."
    told = f"{wind:.1f} m/s ({wind / 0.44704:.1f} mph)"
    return f"A wind of {told} makes that by itself, or {suction}. No flue size cures that: a side has to be shut."


# Through shut doors


@rule("draft.door_leak", "What leaks through the shut doors", each="state", kind="model")
def door_leak(case: Case, state: State) -> Iterator[Finding]:
    """Gas leaves, or air enters, by the gaps of each shut face."""
    shut = [face for face in case.faces if face.name not in state.open]
    if not shut:
        return
    made = _drafted(case, state)
    for face in shut:
        context = {"face": face.name, **_context(case, state, "discharge.door")}
        gaps = case.fresh().number(face, "gap_area")
        if gaps.known is None:
            yield case.missing(tuple(gaps.asked.missing), **context)
        else:
            yield _leak(case, face, made, context)


def _leak(case: Case, face: Subject, made: Draft, context: dict[str, Any]) -> Finding:
    """The gaps of a shut face, the fans off or running and at the ends of what is uncertain, whichever lets most gas out."""
    every = (made.main, made.ends.worse, made.ends.better, made.also.get(FANS, made.main))
    runs = [run.flow for run in every]
    flows = [one for one in runs if one is not None]
    if len(flows) < len(runs):
        text = f"No steady draft to carry gas off: it leaves by the gaps of the {face.name} doors."
        return case.finding(Verdict.REFER, text, caution=SPILLS, **context)
    leak = min(float(one.faces[face.name].volume_flow) for one in flows)
    told = f"{abs(leak) / CFM:.1f} cfm ({abs(leak) * 1000:.1f} L/s)"
    if leak >= 0:
        return case.finding(
            Verdict.MEETS, f"Air enters by the gaps of the {face.name} doors, at least {told}.", **context
        )
    opens = case.peek(face, "opens_to")
    into = "the house" if opens in IN_HOUSE else "the side beyond"
    referred = opens in (*IN_HOUSE, "glazed")
    return case.finding(
        Verdict.REFER if referred else Verdict.MEETS,
        f"Gas leaves by the gaps of the {face.name} doors into {into}, up to {told}.",
        remedy=("Fit doors with gaskets on that side, and a carbon-monoxide alarm.",) if referred else (),
        caution=SPILLS,
        **context,
    )


# In the house


def _need_leakage(case: Case) -> None:
    """Raise NotKnown where the leakage of the house is not known."""
    case.entered("air", "airtightness")
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
    if not any(case.peek(case.face(name), "opens_to") in IN_HOUSE for name in state.open):
        return None
    _need_fans(case)
    made = _drafted(case, state)
    fans, limit = made.fans, case.edition["draft.house_suction"].number
    assert fans is not None
    told = case.judge(
        "<=",
        _over(fans.suction, made.ends.fans),
        limit,
        what="The suction that the fans make in the house is"
        if fans.takes > 0
        else "No fan sucks the house down:",
        unit="pressure",
        unsure=Unsure(SETTLES["house"]),
        remedy=lambda: tuple(_less_fan(case, made.ends.tightest or fans)),
        caution=SPILLS,
        **_context(case, state, "house_suction", "leak_exponent"),
    )
    if made.main.flow is None:
        return told
    stands = _stands(-float(made.main.flow.house_pressure))
    return more(told, told.verdict, f"With the fire, the fans off, it stands {stands} outdoors.")


def _stands(suction: float) -> str:
    if suction >= SHOWN:
        return f"{suction:.1f} Pa below"
    return f"{-suction:.1f} Pa above" if suction <= -SHOWN else "level with"


def _less_fan(case: Case, fans: Fans) -> Iterator[str]:
    """What keeps the house within its limit: fewer fans, which costs nothing, then an inlet."""
    most = math.floor(fans.most / CFM)
    yield (
        f"Run no more than {most} cfm of fans while there is fire."
        if most > 0
        else "Keep the fans off while there is fire."
    )
    if fans.inlet is not None:
        yield f"Or {_inlet(case, fans.takes - fans.most, fans.inlet)}"


def _inlet(case: Case, flow: float, area: float) -> str:
    free = area / SQUARE_INCH
    shares = (1.0, number(case.edition, "louvre.metal"), number(case.edition, "louvre.wood"))
    plain, metal, wood = (case.area(Fraction(math.ceil(free / share))) for share in shares)
    return (
        f"let in {flow / CFM:.0f} cfm: an inlet of {plain} free, about {metal} behind a metal louver or {wood} "
        "behind a wooden one; a screen takes more."
    )


def _beside(case: Case, made: Draft) -> Iterator[str]:
    """What the openings that the codes ask for let in, beside what the fire draws."""
    rows = (("exterior_duct", "outside-air passage"), ("vent", "permanent vent"))
    passages, makeup = made.supply.passages if made.supply else {}, case.peek("air", "makeup")
    told = [
        f"the {name} of {case.area(case.peek('air', key).value)} lets in {flow(passages[key])}"
        for key, name in rows
        if passages.get(key)
    ]
    if makeup is not None:
        told.append(f"make-up air brings {makeup.text}")
    if told:
        yield f"Of that, {', '.join(told)}."


@rule("air.demand", "Air that the fire draws", each="state", kind="model")
def demand(case: Case, state: State) -> Finding | None:
    """What the fire draws out of the house, beside what the house lets in at the suction it may have."""
    if not any(case.peek(case.face(name), "opens_to") in IN_HOUSE for name in state.open):
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
    told = case.judge(
        ">=",
        _over(gives, made.ends.gives),
        Fraction(draw),
        what=f"At {case.edition['draft.house_suction'].shown} of suction the house lets in",
        after=" for the fire",
        unit="flow",
        unsure=Unsure(SETTLES["house"], fails=-NEVER),
        remedy=lambda: tuple(_let_in(case, made.supply)),
        **context,
    )
    return more(told, told.verdict, *_beside(case, made))


def _let_in(case: Case, supply: Supply | None) -> Iterator[str]:
    if supply is not None and supply.lacks is not None and supply.inlet is not None:
        told = _inlet(case, supply.lacks, supply.inlet)
        yield f"{told[0].upper()}{told[1:]}"
