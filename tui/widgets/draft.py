"""What the draft model says of one state, as text: plain words first, then the balance of pressures as bars, flows, weathers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct
from rich.cells import cell_len, set_cell_size
from textual.content import Content

from hearthcalc.findings import Finding, StageResult, State, Verdict
from hearthcalc.job import Job
from hearthcalc.models.draft import FANS, WARMING, WARMING_FANS, WINDOW, WINDOW_FANS_OFF, ZERO
from hearthcalc.models.results import Draft, Run
from hearthcalc.physics.draft import Flow
from hearthcalc.rules.draft import taken
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.widgets import telling

FOOT = 0.3048
CFM = FOOT**3 / 60
HOUR = 3600
EIGHTHS = " ▏▎▍▌▋▊▉"
SUBJECTS = ("draft", "house")
NAMES = {
    "throat": "throat",
    "friction": "flue wall",
    "bends": "bends",
    "cap": "cap",
    "exit": "leaving the top",
}
LEAST_SHOWN = 0.005  # Pa: below, a pressure rounds to nothing
ROOM_FOR_A_TABLE = 62
HOOD, AIR = "hood and fans on", "a window open"


class Button(Struct, frozen=True):
    """What a person can do about a state. tried, part: what is tried, and the state shown, once it is pressed."""

    label: str
    on: bool
    tried: frozenset[str]
    part: int


def buttons(result: StageResult, part: int, tried: frozenset[str], job: Job) -> Sequence[Button]:
    """What can be tried on a state, each with an answer that the model has; nothing where it has none.

    part: of the state in the result.  tried: of HOOD and AIR.
    """
    state = result.states[part]
    if state.draft is None:
        return ()
    made = [Button(name, name in tried, tried ^ {name}, part) for name in _tryable(state.draft)]
    answered = {frozenset(one.open): at for at, one in enumerate(result.states) if one.draft and one.open}
    for face in job.face:
        at = answered.get(frozenset(state.open) ^ {face.name})
        if at is not None and state.open:
            made.append(Button(f"{face.name} shut", face.name not in state.open, tried, at))
    return made


def _tryable(made: Draft) -> list[str]:
    return [name for name, needs in ((HOOD, FANS), (AIR, WINDOW)) if needs in made.also]


def run_of(made: Draft, tried: frozenset[str]) -> Run:
    """The run in which what is tried is done; of it only what the state has an answer to."""
    done = tried & {*_tryable(made)}
    if AIR in done:
        still = made.also.get(WINDOW_FANS_OFF, made.also[WINDOW])
        return made.also[WINDOW] if HOOD in done else still
    return made.also[FANS] if HOOD in done else made.main


def draft(
    result: StageResult, state: State, job: Job, width: int, tried: frozenset[str] = frozenset()
) -> Content:
    """The draft of a state in rows of so many cells. tried: of HOOD and AIR, what is done about it."""
    findings = [
        f for f in result.findings if f.kind == "model" and f.state == state.name and f.subject in SUBJECTS
    ]
    rows = [_open(state), Content(""), *_words(findings)]
    made = state.draft
    rows += _disagreement(result)
    if made is None:
        if not findings:
            rows.append(
                Content("The model waits for entries: the findings of the states with a face open name them.")
            )
        return Content("\n").join(rows)
    run, done = run_of(made, tried), [name for name in _tryable(made) if name in tried]
    if done:
        rows.append(_trial(run, done, job))
    rows += [_heading("Pull of the flue, in Pa, from light-up to embers"), *_stages(made, run, width)]
    rows += [_heading("What you can do about it"), *_choices(result, state, job)]
    if run.flow is None:
        return Content("\n").join(rows)
    rows += [_heading("Pressures, to scale, in Pa"), *_balance(run.flow, run.top, width)]
    rows += [_heading("Air and gas at each face"), *_faces(run.flow, job)]
    rows += [_heading("In numbers"), *_numbers(made, run, run.flow, job)]
    rows += [_heading("Other fires and weathers"), *_weathers(made, job, width)]
    if assumed := taken(made):
        rows += [_heading("Taken, as it is not known"), *(_point(text) for text in assumed)]
    return Content("\n").join(rows)


def _open(state: State) -> Content:
    words = f"Open: {', '.join(state.open)}" if state.open else "Every face shut, the fire burning down"
    aside = "" if state.counts else "  Not how it is to be used, so it does not count."
    return Content.assemble(safe(words), (aside, "$quiet"))


def _trial(run: Run, done: Sequence[str], job: Job) -> Content:
    """What is tried and what comes of it, apart from the findings, which are of the job as it is entered."""
    told, bad = _outcome(run, job)
    return Content.assemble(
        "\n",
        (f"Trying {' and '.join(done)}: ", "bold"),
        (told, "bold $verdict-short" if bad else "bold"),
        (". Nothing is written, and the findings above stay.", "$quiet"),
    )


def _words(findings: Iterable[Finding]) -> Iterable[Content]:
    """The findings of the model in its own words, the worst first, and what could kill."""
    cautions: list[str] = []
    for finding in telling.ordered(findings):
        meets = finding.verdict is Verdict.MEETS
        yield Content.assemble(
            telling.verdict_mark(finding.verdict), "  ", safe(finding.text, "$quiet" if meets else "")
        )
        if finding.caution and finding.verdict is not Verdict.MEETS and finding.caution not in cautions:
            cautions.append(finding.caution)
    for text in cautions:
        yield Content.assemble((" CAUTION ", "bold $caution-ink on $caution-ground"), " ", safe(text, "bold"))


def _disagreement(result: StageResult) -> Iterable[Content]:
    """Entries that cannot both be right: what is drawn below rests on one of them."""
    for finding in result.findings:
        if finding.id == "record.agreement" and finding.verdict is Verdict.MEASURE:
            yield Content.assemble(
                ("Nothing here is to be relied on. ", "bold $verdict-short"), safe(finding.text)
            )


def lifts(made: Draft) -> list[tuple[str, float, float | None]]:
    """What lifts the gas as the fire goes, Pa: when, with the fans off, with them running (None where there are none).

    Below zero it is pressed down. With a fire: the draft and the pressure of the house, where there is a steady flow.
    """
    fans = None if made.with_fans is None else made.with_fans - made.burn_down
    rows = [("light-up", made.light_up, None if fans is None else made.light_up + fans)]
    burning = (
        ("first 15 min", made.also[WARMING], made.also.get(WARMING_FANS)),
        ("fire burns", made.main, made.also.get(FANS)),
    )
    for label, off, running in burning:
        if off.flow is not None:
            on = None if running is None or running.flow is None else _lift(running.flow)
            rows.append((label, _lift(off.flow), on))
    rows.append(("embers", made.burn_down, made.with_fans))
    return rows


def _lift(flow: Flow) -> float:
    return float(flow.draft_pressure + flow.house_pressure)


def _stages(made: Draft, run: Run, width: int) -> Iterable[Content]:
    rows: list[tuple[str, Sequence[tuple[str, float | None]]]] = [
        (label, (("fans off", off), ("fans on", running))) for label, off, running in lifts(made)
    ]
    if run is not made.main and run.flow is not None:
        rows.append(("as tried", (("", _lift(run.flow)),)))
    most = max(abs(value) for _, values in rows for _, value in values if value is not None)
    room = max(5, min(40, width - 32))
    for label, values in rows:
        for at, (name, value) in enumerate(values):
            if value is not None:
                down = value < -LEAST_SHOWN
                yield Content.assemble(
                    f" {'' if at else label:<13}",
                    (f"{name:<9}", "$quiet"),
                    (bar(abs(value), most, room), "$verdict-short" if down else "$ember"),
                    f"{_pascal(value):>9}",
                    (" presses it down" if down else "", "bold $verdict-short"),
                )


def _choices(result: StageResult, state: State, job: Job) -> Iterable[Content]:
    """The slowest face as it stands, and after what a person can do; nothing is written."""
    made = state.draft
    assert made is not None
    rows: list[tuple[str, Run]] = []
    if FANS in made.also:
        rows += [("hood and fans running", made.also[FANS]), ("hood and fans off", made.main)]
    else:
        rows.append(("as it stands", made.main))
    if WINDOW in made.also:
        words = "a window open, fans running" if FANS in made.also else "a window open"
        rows.append((words, made.also[WINDOW]))
    for other in result.states:
        if other.draft is not None and other.open and len(other.open) < len(state.open):
            rows.append(
                (f"{', '.join(name for name in state.open if name not in other.open)} shut", other.draft.main)
            )
    for label, run in rows:
        told, bad = _outcome(run, job)
        yield Content.assemble(
            (f"{GLYPHS.dot} ", "$quiet"), safe(f"{label}: "), (told, "bold $verdict-short" if bad else "bold")
        )


def _outcome(run: Run, job: Job) -> tuple[str, bool]:
    """What a run does at its slowest face, and whether it smokes there."""
    if run.flow is None:
        return "no steady draft", True
    slowest = min((face.velocity for face in run.flow.faces.values() if face.is_open), default=None)
    if slowest is None:
        return "every face shut", False
    return ("it smokes", True) if slowest < 0 else (f"{speed(slowest, job)} at the slowest face", False)


def _heading(text: str) -> Content:
    return Content.assemble("\n", (text, "bold $brick"))


def _point(text: str) -> Content:
    return Content.assemble((f"{GLYPHS.dot} ", "$quiet"), safe(text))


# The balance


def balance(flow: Flow, top: float) -> tuple[list[tuple[str, float]], list[tuple[str, float]]]:
    """What lifts the gas and what holds it back, Pa, each side with the same sum.

    top: of the wind at the chimney's top, Pa; it presses down where it is above zero.
    """
    lifts = [("draft of the flue", flow.draft_pressure)]
    holds = [(NAMES.get(name, name), loss) for name, loss in flow.losses.items()]
    foot = flow.foot_pressure
    for name, pressure in (("push at the faces", foot), ("wind sucks at top", -top)):
        if pressure > LEAST_SHOWN:
            lifts.append((name, pressure))
    for name, pressure in (("wind on the top", top), ("suction at faces", -foot)):
        if pressure > LEAST_SHOWN:
            holds.insert(0, (name, pressure))
    return lifts, [(name, pressure) for name, pressure in holds if pressure > LEAST_SHOWN]


def _balance(flow: Flow, top: float, width: int) -> Iterable[Content]:
    lifts, holds = balance(flow, top)
    scale = max(pressure for _, pressure in [*lifts, *holds])
    label = 19
    room = max(5, min(48, width - label - 8))
    for heading, side, style in (("pulls smoke up", lifts, "$ember"), ("holds it back", holds, "$brick")):
        total = sum(pressure for _, pressure in side)
        yield Content.assemble((f"{heading}", "bold"), (f"  {total:.1f} in all", "$quiet"))
        for name, pressure in side:
            yield Content.assemble(
                set_cell_size(f" {name}", label),
                " ",
                (bar(pressure, scale, room), style),
                f"{pressure:>6.1f}",
            )


def bar(value: float, scale: float, room: int) -> str:
    """A bar as long as its value is of the scale, filled up to so many cells; what is above nothing is seen."""
    eighths = max(1, round(value / scale * room * 8)) if scale > 0 and value > 0 else 0
    if GLYPHS.ascii:
        return ("#" * max(1, round(eighths / 8)) if eighths else "").ljust(room)
    whole, rest = divmod(eighths, 8)
    return ("█" * whole + EIGHTHS[rest].strip()).ljust(room)


# Faces, numbers, weathers


def speed(value: float, job: Job) -> str:
    """m/s as this job prints it."""
    return f"{value / FOOT:.2f} ft/s" if job.units == "in" else f"{value:.2f} m/s"


def air(value: float, job: Job) -> str:
    """m3/s as this job prints it."""
    return f"{value / CFM:.0f} cfm" if job.units == "in" else f"{value * HOUR:.0f} m3/h"


def temperature(value: float, job: Job) -> str:
    """Degrees C as this job prints it."""
    return f"{value * 1.8 + 32:.0f} F" if job.units == "in" else f"{value:.0f} C"


def _faces(flow: Flow, job: Job) -> Iterable[Content]:
    """Which way it goes at each face: an arrow and words, and only then a colour."""
    arrow_in, arrow_out = ("-->", "<--") if GLYPHS.ascii else ("──▶", "◀──")
    velocities = {name: face.velocity for name, face in flow.faces.items() if face.is_open}
    leaks = flow.door_leaks
    width = min(20, max(cell_len(plain(name)) for name in [*velocities, *leaks, ""]))
    for name, velocity in velocities.items():
        out = velocity < 0
        words = f"{speed(abs(velocity), job)}  " + ("GAS COMES OUT: it smokes here" if out else "air goes in")
        yield _arrow(name, width, arrow_out if out else arrow_in, words, bad=out)
    for name, leak in leaks.items():
        out = leak < 0
        words = f"{air(abs(leak), job)}  " + (
            "GAS LEAKS OUT around the shut doors" if out else "air leaks in around the shut doors"
        )
        yield _arrow(name, width, arrow_out if out else arrow_in, words, bad=out)
    yield Content.assemble(
        ("up the flue ", "$quiet"), air(flow.air_flow, job), (f"  {flow.mass_flow:.3f} kg/s", "$quiet")
    )


def _arrow(name: str, width: int, arrow: str, words: str, *, bad: bool) -> Content:
    style = "bold $verdict-short" if bad else "$verdict-meets"
    return Content.assemble(
        set_cell_size(plain(name), width), " ", (arrow, style), " ", (words, style if bad else "")
    )


def _numbers(made: Draft, run: Run, flow: Flow, job: Job) -> Iterable[Content]:
    gas = {"foot": flow.foot_temperature, "mean": flow.mean_temperature, "top": flow.top_temperature}
    rows = [
        (
            "gas in the flue",
            ", ".join(f"{place} {temperature(kelvin - ZERO, job)}" for place, kelvin in gas.items()),
        ),
        (
            "house",
            f"{_pascal(flow.house_pressure)} to outdoors" if run.house_known else "not known: left out",
        ),
    ]
    if run is made.main:
        rows += [
            ("lifts at light-up", f"{_pascal(made.light_up)}, in a cold flue"),
            ("lifts on embers", f"{_pascal(made.burn_down)}, while it burns down"),
        ]
    if made.fans is not None and made.fans.takes > 0:
        rows.append(("fans by themselves", f"{_pascal(-made.fans.suction)} to outdoors"))
    cross = made.crossflow if run is made.main else None
    if cross:
        rows.append(
            ("between faces", f"{cross.difference:.2f} Pa; at {cross.limit:.2f} Pa one stops drawing")
        )
    if cross and cross.wind_speed is not None:
        wind = cross.wind_speed
        shown = f"{wind / 0.44704:.1f} mph" if job.units == "in" else f"{wind:.1f} m/s"
        rows.append(("a breeze does it", f"a wind of {shown} makes that limit by itself"))
    for label, text in rows:
        yield Content.assemble((f"{label:<18} ", "$quiet"), text)


def _pascal(pressure: float) -> str:
    """With its sign, but for one that rounds to nothing."""
    shown = round(pressure, 1)
    return f"{shown:+.1f} Pa" if shown else "0.0 Pa"


def _weathers(made: Draft, job: Job, width: int) -> Iterable[Content]:
    """The state as entered, and the same in other fires and weathers."""
    if width >= ROOM_FOR_A_TABLE:
        yield Content.styled(
            f"{'':<20} {'slowest face':>12} {'draft Pa':>9} {'house Pa':>9}  smokes at", "$quiet"
        )
    for name, run in {"as entered": made.main, **made.also}.items():
        yield _weather(name, run, job, width)


def _weather(name: str, run: Run, job: Job, width: int) -> Content:
    flow = run.flow
    if flow is None:
        return Content.assemble(f"{name:<20} ", ("no steady draft", "bold $verdict-short"))
    slowest = min((face.velocity for face in flow.faces.values() if face.is_open), default=None)
    pace = "all shut" if slowest is None else speed(slowest, job)
    house = f"{flow.house_pressure:.1f}" if run.house_known else "not known"
    spills = ", ".join(plain(face) for face in flow.spills)
    ends = (spills or "none", "bold $verdict-short" if spills else "$quiet")
    if width >= ROOM_FOR_A_TABLE:
        return Content.assemble(f"{name:<20} {pace:>12} {flow.draft_pressure:>9.1f} {house:>9}  ", ends)
    return Content.assemble(
        (f"{name}: ", "bold"),
        f"slowest face {pace}, draft {flow.draft_pressure:.1f}, house {house} Pa, smokes at ",
        ends,
    )
