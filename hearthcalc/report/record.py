"""The assessment as the JSON that others script against."""

from __future__ import annotations

import math
from fractions import Fraction
from textwrap import wrap
from typing import Any

from msgspec import Struct
from msgspec.structs import asdict

from hearthcalc import __version__, caution
from hearthcalc.findings import Assessment, StageResult, State
from hearthcalc.models.draft import ZERO
from hearthcalc.models.results import Draft, Run
from hearthcalc.quick import NOT_LOOKED_AT, Quick
from hearthcalc.reference import Edition
from hearthcalc.rules.draft import taken

FORMAT = "hearthcalc-assessment"
VERSION = 1


def to_record(assessment: Assessment) -> dict[str, Any]:
    """The assessment as plain data, ready for json.dumps. Never NaN, never an infinity: ValueError instead."""
    record: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "program": __version__,
        "job": {"title": assessment.title, "fingerprint": assessment.job_fingerprint},
        "edition": {
            "id": assessment.edition_id,
            "title": assessment.edition_title,
            "fingerprint": assessment.edition_fingerprint,
            "edited": list(assessment.edited),
            "amended_for": assessment.amended_for,
        },
        "cautions": list(assessment.cautions),
        "stages": {name: _stage(result) for name, result in assessment.stages.items()},
    }
    plain: dict[str, Any] = _plain(record)
    return plain


def _stage(result: StageResult) -> dict[str, Any]:
    return {
        "overall": str(result.overall),
        "counts": result.counts,
        "findings": [asdict(finding) for finding in result.findings],
        "states": [_state(state) for state in result.states],
        "measure": [asdict(measure) for measure in result.measure],
        "left_out": list(result.left_out),
        "clauses": None
        if result.covered is None
        else {"listed": result.covered.listed, "judged": result.covered.judged},
    }


def _state(state: State) -> dict[str, Any]:
    return {
        "name": state.name,
        "open": list(state.open),
        "opening_area": state.opening_area,
        "flue_area": state.flue_area,
        "unit": "in2",
        "ratio": state.ratio,
        "counts": state.counts,
        "overall": None if state.overall is None else str(state.overall),
        "draft": None if state.draft is None else draft_record(state.draft),
    }


def quick_record(told: Quick, edition: Edition) -> dict[str, Any]:
    """The answer to a quick check as plain data."""
    record: dict[str, Any] = {
        "format": "hearthcalc-quick",
        "version": 1,
        "program": __version__,
        "edition": {"id": edition.id, "title": edition.title, "fingerprint": edition.fingerprint},
        "cautions": [caution.LINE],
        "overall": str(told.overall),
        "findings": [asdict(finding) for finding in told.findings],
        "not_measured": list(told.unmeasured),
        "not_looked_at": list(NOT_LOOKED_AT),
        "job": told.document,
    }
    plain: dict[str, Any] = _plain(record)
    return plain


def quick_lines(told: Quick, edition: Edition, width: int) -> list[str]:
    """The answer to a quick check in lines: each verdict, and beside them what was not measured and not looked at."""
    lines = [*wrap(caution.LINE, width), f"Judged by: {edition.title} ({edition.id})", ""]
    for finding in told.findings:
        lines += wrap(
            f"{finding.verdict.sign} {finding.verdict:<8}{finding.text}", width, subsequent_indent=" " * 10
        )
    if told.unmeasured:
        lines += ["", *wrap(f"Not measured: {', '.join(told.unmeasured)}.", width)]
    lines += ["", *wrap(f"Not looked at: {', '.join(NOT_LOOKED_AT)}.", width)]
    return [*lines, "", f"{told.overall.sign} {told.overall}: {told.words()}."]


def draft_record(made: Draft) -> dict[str, Any]:
    """What the draft model makes of a state: SI, temperatures in C; pressures against outdoors at the hearth."""
    cross = made.crossflow
    return _run(made.main) | {
        "no_flow_margin": {
            "light_up": made.light_up,
            "burn_down": made.burn_down,
            "burn_down_fans_running": made.with_fans,
        },
        "ends": {
            "worse": _run(made.ends.worse),
            "better": _run(made.ends.better),
            "burn_down": asdict(made.ends.burn_down),
            "settles": made.ends.settles,
        },
        "fans": None if made.fans is None else asdict(made.fans),
        "supply": None
        if made.supply is None
        else {**asdict(made.supply), "passages": dict(made.supply.passages)},
        "draws_open": made.draws_open,
        "crossflow": None
        if cross is None
        else {"limit": cross.limit, "difference": cross.difference, "wind_speed": cross.wind_speed},
        "also": {name: _run(run) for name, run in made.also.items()},
        "assumed": list(taken(made)),
    }


def _run(run: Run) -> dict[str, Any]:
    flow = run.flow
    if flow is None:
        return {"reason": str(run.reason)}
    return {
        "mass_flow": flow.mass_flow,
        "flow": flow.air_flow,
        "face_velocity": {name: face.velocity for name, face in flow.faces.items() if face.is_open},
        "gas_temperature": {
            "foot": flow.foot_temperature - ZERO,
            "mean": flow.mean_temperature - ZERO,
            "top": flow.top_temperature - ZERO,
        },
        "draft_pressure": flow.draft_pressure,
        "losses": dict(flow.losses),
        "foot_pressure": flow.foot_pressure,
        "house_pressure": flow.house_pressure if run.house_known else None,
        "spills": list(flow.spills),
        "door_leak": flow.door_leaks,
    }


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, Struct):
        value = asdict(value)
    if isinstance(value, Fraction):
        value = float(value)
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError("a finding holds a number that is not finite")
    if isinstance(value, dict):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value
