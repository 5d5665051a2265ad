"""What "Will it draw" shows of a job, as text: the way of the fire, what a person can do, and entries that disagree."""

from typing import Any

import pytest
from msgspec.structs import replace

from hearthcalc import reference
from hearthcalc.assess import assess, assess_models
from hearthcalc.findings import StageResult, State
from hearthcalc.job import Job
from hearthcalc.report.record import draft_record
from hearthcalc_tui.widgets import draft

EDITION = reference.load("irc-2021")
FACE = {"width": "36", "height": "30", "opens_to": "room", "closure": "steel doors", "gap_area": "4 in2"}


def job(**changes: Any) -> Job:
    """Two faces onto a house with a hood."""
    doc: dict[str, Any] = {
        "format": "hearthcalc-job", "version": 1,
        "face": [FACE | {"name": "study", "side": "front"}, FACE | {"name": "hall", "side": "back"}],
        "flue": {"inside": "13 x 13", "height": "22 ft", "place": "inside"},
        "air": {
            "airtightness": "8 ACH50", "house_volume": "16000 ft3", "storeys": 1,
            "fans": [{"name": "hood", "flow": "500 cfm", "where": "room"}],
        },
    }  # fmt: skip
    return Job.from_document(doc | changes)


def heard(made: Job) -> StageResult:
    return assess_models(made, EDITION, assess(made, EDITION)).stages["found"]


def shown(made: Job, result: StageResult, state: State, width: int = 90) -> str:
    return draft.draft(result, state, made, width).plain


JOB = job()
RESULT = heard(JOB)
BOTH = next(state for state in RESULT.states if state.name == "all open")


def test_the_chart_goes_from_light_up_to_embers_with_the_fans_off_and_on() -> None:
    assert BOTH.draft is not None and BOTH.draft.with_fans is not None
    rows = {name: (off, running) for name, off, running in draft.lifts(BOTH.draft)}
    assert list(rows) == ["light-up", "first 15 min", "fire burns", "embers"]
    taken = BOTH.draft.with_fans - BOTH.draft.burn_down
    assert taken < 0
    assert rows["light-up"] == (BOTH.draft.light_up, pytest.approx(BOTH.draft.light_up + taken))
    assert rows["embers"] == (BOTH.draft.burn_down, BOTH.draft.with_fans)
    also = BOTH.draft.also
    for label, still, sucking in (
        ("first 15 min", also["warming up"], also["warming up, fans on"]),
        ("fire burns", BOTH.draft.main, also["fans running"]),
    ):
        main, running = still.flow, sucking.flow
        assert main is not None and running is not None
        assert rows[label] == (
            pytest.approx(main.draft_pressure + main.house_pressure),
            pytest.approx(running.draft_pressure + running.house_pressure),
        )
    assert rows["light-up"][0] < rows["first 15 min"][0] < rows["fire burns"][0]
    text = shown(JOB, RESULT, BOTH)
    chart = text.partition("What you can do")[0]
    assert chart.count("fans off ") == 4 and chart.count("fans on ") == 4
    assert text.count("presses it down") == sum(value < -0.005 for pair in rows.values() for value in pair)
    quiet = job(air={"airtightness": "8 ACH50", "house_volume": "16000 ft3", "storeys": 1, "fans": []})
    still = heard(quiet)
    assert "fans on " not in shown(quiet, still, still.states[0])


def test_what_a_person_can_do_is_told_with_what_it_does() -> None:
    text = shown(JOB, RESULT, BOTH)
    assert BOTH.draft is not None
    for words, run in (
        ("hood and fans running", BOTH.draft.also["fans running"]),
        ("hood and fans off", BOTH.draft.main),
        ("a window open, fans running", BOTH.draft.also["a window open"]),
    ):
        assert run.flow is not None
        slowest = min(face.velocity for face in run.flow.faces.values() if face.is_open)
        assert f"{words}: {slowest / 0.3048:.2f} ft/s at the slowest face" in text
    assert "hall shut: " in text and "study shut: " in text
    window, running = (BOTH.draft.also[name].flow for name in ("a window open", "fans running"))
    assert window is not None and running is not None
    assert running.house_pressure < window.house_pressure < 0


def test_the_buttons_try_what_the_model_has_an_answer_to() -> None:
    """Each shows the run in which it is done; sides are shut and opened by going to that state."""
    at, nothing = RESULT.states.index(BOTH), frozenset[str]()
    made = draft.buttons(RESULT, at, nothing, JOB)
    assert [(one.label, one.on) for one in made] == [
        (draft.HOOD, False), (draft.AIR, False), ("study shut", False), ("hall shut", False),
    ]  # fmt: skip
    assert BOTH.draft is not None
    also, main = BOTH.draft.also, BOTH.draft.main
    for tried, run in (
        (nothing, main),
        ({draft.HOOD}, also["fans running"]),
        ({draft.AIR}, also["a window open, fans off"]),
        ({draft.HOOD, draft.AIR}, also["a window open"]),
    ):
        assert draft.run_of(BOTH.draft, frozenset(tried)) is run
        text = draft.draft(RESULT, BOTH, JOB, 90, frozenset(tried)).plain
        assert run.flow is not None
        for face in run.flow.faces.values():
            assert f"{abs(face.velocity) / 0.3048:.2f} ft/s  air goes in" in text
        assert ("Trying " in text) is bool(tried) is ("as tried" in text)
    pressed = draft.buttons(RESULT, at, made[0].tried, JOB)
    assert pressed[0].on and pressed[0].tried == nothing
    alone = RESULT.states[made[3].part]
    assert alone.open == ("study",)
    back = draft.buttons(RESULT, made[3].part, made[0].tried, JOB)
    assert [(one.label, one.on) for one in back[2:]] == [("hall shut", True)]
    assert (back[2].part, back[2].tried) == (at, {draft.HOOD})


def test_nothing_is_offered_that_the_model_cannot_answer() -> None:
    """A house of unknown leakage and no fan: neither a hood nor a window has an answer, and what was tried elsewhere is not done."""
    bare = job(air={"fans": []})
    result = heard(bare)
    at = [state.name for state in result.states].index("all open")
    tried = frozenset({draft.HOOD, draft.AIR})
    assert [one.label for one in draft.buttons(result, at, tried, bare)] == ["study shut", "hall shut"]
    made = result.states[at].draft
    assert made is not None and draft.run_of(made, tried) is made.main
    unheard = replace(result, states=tuple(replace(one, draft=None) for one in result.states))
    assert draft.buttons(unheard, at, tried, bare) == ()


def test_a_fire_that_does_not_draw_still_shows_what_can_be_done() -> None:
    blocked = job(firebox={"throat_depth": "0", "throat_width": "20"})
    result = heard(blocked)
    text = shown(blocked, result, result.states[0])
    assert "hood and fans off: no steady draft" in text
    rows = [line.strip() for line in text.splitlines()]
    assert not any(row.startswith("fire burns") for row in rows) and "embers" in text
    assert "Pressures, to scale" not in text


def test_entries_that_disagree_are_named_above_the_picture() -> None:
    """A liner 8x8 is not 13 x 13 in inside."""
    odd = job(flue={"liner": "8x8", "inside": "13 x 13", "height": "22 ft", "place": "inside"})
    result = heard(odd)
    told = [finding for finding in result.findings if finding.id == "record.agreement"]
    assert told
    for state in result.states:
        text = shown(odd, result, state)
        assert "Nothing here is to be relied on." in text
        assert told[0].text in text
    assert "Nothing here is to be relied on." not in shown(JOB, RESULT, BOTH)


def test_a_state_without_an_answer_says_where_it_is_told_what_is_missing() -> None:
    unheard = replace(BOTH, draft=None, name="other")
    assert "The model waits for entries" in shown(JOB, RESULT, unheard)


def test_the_record_has_the_fans_the_air_and_the_ends() -> None:
    assert BOTH.draft is not None and BOTH.draft.fans is not None and BOTH.draft.supply is not None
    record = draft_record(BOTH.draft)
    assert record["fans"]["takes"] == pytest.approx(500 * 0.3048**3 / 60)
    assert record["fans"]["suction"] == BOTH.draft.fans.suction > 0
    assert record["supply"]["gives"] == BOTH.draft.supply.gives
    assert record["no_flow_margin"]["burn_down_fans_running"] == BOTH.draft.with_fans
    worse, better = (min(record["ends"][end]["face_velocity"].values()) for end in ("worse", "better"))
    assert worse < min(record["face_velocity"].values()) < better
    assert record["ends"]["settles"] in ("throat", "house", "fire")
