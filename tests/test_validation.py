"""The models held against what was published: every row is within its scatter, or a miss that is told."""

import json
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import scipy
from msgspec.structs import replace

from hearthcalc import cli, reference, validation
from hearthcalc.report.contents import validated
from hearthcalc_tui.screens.validation import text

EDITION = reference.load("irc-2021")
ROWS = validation.rows()
HELD = validation.hold_all(EDITION)


@pytest.mark.parametrize("held", HELD, ids=lambda held: held.row.name)
def test_the_models_are_within_what_was_published_or_say_that_they_miss(held: validation.Held) -> None:
    assert held.outcome == ("known miss" if held.row.miss else "within"), held.shown
    assert held.row.source and held.row.clause and held.row.scatter


def test_the_fireplaces_of_physics_that_were_checked_by_an_independent_program() -> None:
    """An independent program, printed nowhere: 0.36 to 0.48 and 0.71 to 0.96 ft/s (12 to 30 ft); 405 cfm; 48 and 10 Pa."""
    told = {held.row.name: held.model for held in HELD}
    assert 0.36 < told["See-through, two faces of 34 x 30 in on a 13x13 liner, both open"] < 0.48
    assert 0.71 < told["The same with one side sealed"] < 0.96
    assert told["Air drawn by a roaring fire"] == pytest.approx(405, abs=3)
    assert told["Suction of the house that stops a flue as the fire dies down"] == pytest.approx(9.9, abs=0.1)


def test_the_house_is_held_against_its_leaks_added_up_by_scipy() -> None:
    """The same integral by quadrature and Brent's search: ASHRAE Fundamentals 2021, chapter 16, power law; 20 C over 0 C, 1.292 kg/m3."""
    leak, level, slope = 8 * 450 / 3600 / 50**0.65, 2.6, 1.292 * 9.80665 * 20 / 293.15

    def inflow(pressure: float) -> float:
        def through(height: float) -> float:
            drop = -(pressure + slope * height)
            return float(np.sign(drop) * abs(drop) ** 0.65)

        zero = min(max(-pressure / slope, 0.0), 2 * level)
        parts = (scipy.integrate.quad(through, 0, zero)[0], scipy.integrate.quad(through, zero, 2 * level)[0])
        return leak * sum(parts) / (2 * level)

    offs = []
    for cfm in range(0, 401, 40):
        flow = cfm * 0.3048**3 / 60
        added_up = scipy.optimize.brentq(lambda pressure, flow=flow: inflow(pressure) - flow, -100, 0)
        offs.append(added_up - (-slope * level - (flow / leak) ** (1 / 0.65)))
    held = next(held for held in HELD if held.row.figure == "superposition")
    assert held.model == pytest.approx(max(offs, key=abs), abs=1e-3)


def test_the_squares_are_those_that_integrating_gives() -> None:
    """Both squares, place to place: cos a cos b / (pi r2)."""

    def seen(out: float, beside: float) -> float:
        return float(
            scipy.integrate.dblquad(
                lambda up, y: out * up / np.pi / (out**2 + up**2 + (y - beside) ** 2) ** 2, 0, 1, 0, 1
            )[0]
        )

    at = (0.3, 0.7)
    assert validation.Panel(1.0, 1.0, 0.0).on_floor(at[0], -at[1]) == pytest.approx(seen(*at), rel=1e-6)


def test_a_figure_outside_its_scatter_is_a_miss_and_ends_with_exit_code_1(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    row = next(row for row in ROWS if row.figure == "to_room")
    for change, outcome, off in (
        ({}, "within", "in the range"),
        ({"low": 40.0}, "within", "in the range"),
        ({"low": 41.0}, "miss", "-1.00 %"),
        ({"high": 39.0, "low": None}, "miss", "+1.00 %"),
        ({"high": 39.0, "miss": "It is so."}, "known miss", "+1.00 %"),
        ({"at": 50.0}, "within", "-20 %"),
    ):
        held = validation.hold(replace(row, **change), EDITION)  # type: ignore[arg-type]
        assert (held.outcome, held.off) == (outcome, off)
    missed = validation.hold(replace(row, low=41.0), EDITION)
    monkeypatch.setattr(validation, "rows", lambda: [missed.row])
    assert cli.main(["validation"]) == 1
    told = capsys.readouterr().out
    assert "MISS" in told and "Why: not known" in told and "1 are not explained" in told


def test_the_command_prints_the_table_and_its_misses(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["validation", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)["rows"]
    assert [row["name"] for row in record] == [row.name for row in ROWS]
    misses = [row for row in record if row["outcome"] != "within"]
    assert misses and all(row["miss"] for row in misses)
    screen = text(HELD).plain
    report = validated(HELD)
    assert len(report.rows) == len(ROWS)
    for held, row in zip(HELD, report.rows, strict=True):
        assert held.row.name in screen and held.row.name == row[0]
        assert not held.row.miss or (held.row.miss in screen and held.row.miss in str(row[-1]))
    assert validation.LEVEL in screen and validation.summary(HELD) in screen


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("answer = 3", "answer is not a key of a row"),
        ('figure = "luck"', "luck is no figure that is worked out here"),
        ('standing = "sure"', "no such standing: sure"),
        ("", "nothing says what counts as within"),
    ],
)
def test_a_row_that_is_not_sound_is_refused(line: str, why: str, tmp_path: Path) -> None:
    folder = tmp_path / "cases" / "models"
    folder.mkdir(parents=True)
    usual = {
        "figure": '"mark"',
        "standing": '"published"',
        "published": '""',
        "unit": '""',
        "source": '""',
        "clause": '""',
    }
    rest = "\n".join(f"{key} = {value}" for key, value in usual.items() if not line.startswith(key))
    (folder / "own.toml").write_text(f'[[row]]\nname = "x"\nscatter = ""\n{rest}\n{line}\n')
    with pytest.raises(ValueError, match=rf"own\.toml, x: {why}"):
        validation.rows(tmp_path)


def test_a_row_that_asks_for_an_angle_of_no_table_is_refused() -> None:
    row = next(row for row in ROWS if row.figure == "moment")
    with pytest.raises(ValueError, match="L9x9x9 is in no table"):
        validation.hold(replace(row, given={**row.given, "angle": "L9x9x9"}), EDITION)


def test_the_printed_beam_is_the_one_of_the_hand_calculation() -> None:
    """w L2 / 8 with 213.33 lb/ft over 10 ft: 32,000 lb.in."""
    held = next(held for held in HELD if held.row.figure == "moment")
    assert held.model == pytest.approx(float(Fraction("213.33") * 100 / 8 * 12))


# The page for a building scientist

PAGE = (Path(__file__).parents[1] / "reference/MODELS.md").read_text(encoding="utf-8")


def test_the_page_on_the_models_has_the_table_as_it_is_worked_out() -> None:
    for held in HELD:
        row = held.row
        line = (
            f"| {row.name} | {row.published} | {held.shown} | {held.off} | {held.outcome} | {row.standing} |"
        )
        assert line in PAGE.splitlines()
        assert not row.miss or f"- *{row.name}*: {row.miss}" in PAGE.splitlines()


def test_the_page_on_the_models_has_every_constant_as_it_is_shipped() -> None:
    told = {line.split("`")[1]: line for line in PAGE.splitlines() if line.startswith("| `")}
    constants = {
        key: value for key, value in EDITION.values.items()
        if key.split(".")[0] in ("draft", "heat", "steel") and value.quantity
    }  # fmt: skip
    assert told.keys() == constants.keys()
    for key, value in constants.items():
        usual = " to ".join(end.text for end in value.usual or ())
        where = f"{value.source}, {value.clause}"
        assert told[key] == f"| `{key}` | {value.shown} | {usual} | {where} | {value.standing} |"
