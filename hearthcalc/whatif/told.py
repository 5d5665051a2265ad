"""What the answers of this room share where they are told: the head of a record, and lines of CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

from hearthcalc.entry import guarded
from hearthcalc.job import Job
from hearthcalc.reference import Edition


def heading(kind: str, version: int, job: Job, edition: Edition) -> dict[str, Any]:
    """What a record begins with: what it is, and what job and edition it tells of."""
    return {
        "format": kind,
        "version": version,
        "job": {"title": job.about.title or "", "fingerprint": job.fingerprint},
        "edition": {"id": edition.id, "fingerprint": edition.fingerprint},
    }


def lines(columns: Iterable[object], rows: Iterable[Iterable[object]]) -> str:
    """A table as CSV, in which no text is a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([guarded(str(cell)) for cell in row] for row in rows)
    return out.getvalue()
