"""Who signed a job, and whether that still holds: it is frozen with the entries and the values it was signed with."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterator, Mapping
from typing import Any
from unicodedata import normalize

from hearthcalc.entry import clean
from hearthcalc.errors import UsageError
from hearthcalc.job.addresses import join_address
from hearthcalc.job.changing import set_entry
from hearthcalc.job.record import Job
from hearthcalc.tables import Document, Signed

ATTESTS = (
    "A sign-off is what a person states: that the measurements are theirs, or that they went over them and the answers. It is frozen "
    "with the entries and values it was made for, and a later change voids it. It is not a qualified electronic signature and "
    "not an approval: nobody has looked up the name or the license. The line for ink is for a signature by hand."
)
ROLES = {"measured": "Measured by", "checked": "Checked by"}


def why_void(job: Job, signed: Signed, values: str) -> str:
    """Why a sign-off does not hold, "" where it holds or was never made. values: fingerprint of the edition it is judged by."""
    if not is_signed(signed):
        return ""
    if signed.role == "checked" and _same(signed.name) in _who_measured(job):
        return "who measured cannot be the one who checks"
    if signed.values != values:
        return "it was signed with other reference values than are used now"
    if signed.fingerprint != _mark(job, signed.document()):
        return "the job or the sign-off itself was changed after that"
    return ""


def is_signed(signed: Signed) -> bool:
    """Has this person signed, for something, and be it long ago."""
    return signed.fingerprint is not None and signed.role is not None


def standing(job: Job, signed: Signed, values: str) -> str:
    """How a sign-off stands, in words."""
    if not is_signed(signed):
        return "Not signed yet."
    why = why_void(job, signed, values)
    return f"Void: {why}." if why else "Holds: nothing was changed since."


def voided(job: Job, values: str) -> Iterator[str]:
    """A caution for each sign-off that does not hold any more."""
    for signed in job.signed:
        if why := why_void(job, signed, values):
            yield f"The sign-off by {signed.name} does not hold: {why}."


def sign(
    document: Mapping[str, Any],
    *,
    name: str,
    role: str,
    values: str,
    date: dt.date,
    trade: str = "",
    license: str = "",
) -> Document:
    """The document of a job, signed by a person; what that person signed before in the same role goes.

    values: fingerprint of the edition it is judged by.  trade, license: kept as they were where they are "".
    Raises UsageError where nobody is named or the one who measured would check, JobError where the document is not a job.
    """
    job = Job.from_document(document)
    given = {"name": clean(name), "role": role, "trade": clean(trade), "license": clean(license)}
    if not _same(name):
        raise UsageError(
            "Nobody signs", "The name is empty.", fix="Give the full name of the person who signs."
        )
    mine = before(job, name)
    if role == "checked" and _same(name) in _who_measured(job):
        raise UsageError(
            "The same person",
            "Who measured cannot be the one who checks.",
            fix="Have somebody else go over it.",
        )
    if mine and is_signed(mine) and mine.role != role:
        raise UsageError(
            "The same person",
            "Who checked cannot be the one who measured.",
            fix="Take that sign-off out of the job first, if it was a mistake.",
        )
    kept = mine.document() if mine else {}
    row = {**kept, **{key: value for key, value in given.items() if value}, "date": date, "values": values}
    row["fingerprint"] = _mark(job, row)
    at = mine.name if mine else given["name"]
    signed = set_entry(document, join_address(("signed", at)), row)
    Job.from_document(signed)
    return signed


def before(job: Job, name: str) -> Signed | None:
    """The line of a job that a person of that name has, signed or not."""
    return next((one for one in job.signed if _same(one.name) == _same(name)), None)


def _mark(job: Job, row: Mapping[str, Any]) -> str:
    """What changes when any entry of a job does, or of the sign-off itself."""
    own = {key: value for key, value in row.items() if key != "fingerprint"}
    text = json.dumps([job.fingerprint, own], sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def _same(name: str) -> str:
    """What is alike in two ways of writing one name."""
    folded = normalize("NFKC", normalize("NFKC", clean(name)).casefold())
    return " ".join(folded.replace(".", " ").split())


def _who_measured(job: Job) -> set[str]:
    names = {_same(one.name) for one in job.signed if one.role == "measured"}
    return names | ({_same(job.about.measured_by)} if job.about.measured_by else set())
