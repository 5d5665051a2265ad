"""Which clauses of an edition are judged, by which findings, and which are not: data beside the edition, and what it comes to in a job."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import cache, lru_cache
from typing import Any, Literal

import tomli
from msgspec import Struct
from msgspec.structs import replace

from hearthcalc import rules  # noqa: F401 - enters the rules that a clause may name
from hearthcalc.errors import FileError
from hearthcalc.findings import STANDINGS, Covered, Finding, Verdict, worst
from hearthcalc.job import FIELDS
from hearthcalc.reference import Edition, Misshapen, Part, Text, shaped
from hearthcalc.rules.case import RULES

How = Literal["judged", "advice", "asked", "not judged", "outside this program"]
HOW: tuple[How, ...] = ("judged", "advice", "asked", "not judged", "outside this program")
NOBODY: tuple[How, ...] = ("not judged", "outside this program")  # answered by no finding and by no entry

NOT_ARISEN = "Nothing is entered in this job that it applies to."
NOT_ASKED = "This job does not ask for it."
WAITS = "It waits for a measurement: see what is still to be measured."
UNLISTED = "Its clauses are not listed here, so what it asks beyond the findings is not known."
FOR_A_PERSON = "It is for a person to decide: see the findings."


class _Row(Part):
    clause: Text
    asks: Text
    how: How
    standing: Text
    by: tuple[Text, ...] = ()
    why: str = ""


class _Table(Part):
    edition: Text
    extends: str | None = None
    without: tuple[Text, ...] = ()
    told: str = ""
    clause: tuple[dict[str, Any], ...] = ()


class Clause(Struct, frozen=True):
    """One clause, or a part of one that is answered apart.

    asks: what it asks, in a few words.  by: ids of the findings that judge it or advise on it, or the entry that a person answers.
    why: why it is not judged, or what of it is not.  edition: whose table states it.
    """

    clause: str
    asks: str
    how: How
    by: tuple[str, ...]
    why: str
    standing: str
    edition: str

    @property
    def bears(self) -> bool:
        """Does it bear on a site-built masonry fireplace, and not on heaters, factory-built units or appliances alone?"""
        return self.how != "outside this program"


class Coverage(Struct, frozen=True):
    """The clauses of an edition in its order. told: what is listed, and what is not."""

    edition: str
    told: str
    clauses: tuple[Clause, ...]

    @property
    def counts(self) -> dict[How, int]:
        """How many clauses there are of each kind."""
        tally = Counter(clause.how for clause in self.clauses)
        return {how: tally[how] for how in HOW}


def load(edition: Edition) -> Coverage | None:
    """The clauses of an edition with those it takes over; None where no table lists them. Raises FileError."""
    return _load(edition.id, edition.folder)


@cache
def _load(edition_id: str, folder: Any) -> Coverage | None:
    path = folder / "coverage" / f"{edition_id}.toml"
    if not path.is_file():
        return None
    table = _read(path)
    if table.edition != edition_id:
        raise _wrong(path, f"It says edition {table.edition!r}.", "Let its edition and its name agree.")
    before: Coverage | None = None
    if table.extends:
        before = _load(table.extends, folder)
        if before is None:
            raise _wrong(path, f"It extends {table.extends!r}, which has no table.", "Name one that has.")
    rows = {clause.clause: clause for clause in (before.clauses if before else ())}
    for gone in table.without:
        if rows.pop(gone, None) is None:
            raise _wrong(path, f"It leaves out {gone}, which is not there.", "Take it out of without.")
    seen: set[str] = set()
    for row in _rows(path, table):
        if fault := _fault(row, seen):
            raise _wrong(path, f"{row.clause} {fault}.", "Correct that line.")
        seen.add(row.clause)
        rows[row.clause] = Clause(row.clause, row.asks, row.how, row.by, row.why, row.standing, edition_id)
    return Coverage(edition_id, table.told or (before.told if before else ""), tuple(rows.values()))


def _rows(path: Any, table: _Table) -> Iterator[_Row]:
    for number, row in enumerate(table.clause, 1):
        try:
            yield shaped(_Row, row)
        except Misshapen as err:
            raise _wrong(path, f"Clause {number}: {err}.", "Correct that line.") from None


def _read(path: Any) -> _Table:
    try:
        return shaped(_Table, tomli.loads(path.read_bytes().decode()))
    except OSError as err:
        raise _wrong(path, f"{err.strerror or err}.", "Install the program again.") from err
    except (tomli.TOMLDecodeError, UnicodeDecodeError) as err:
        raise _wrong(path, f"It is not valid TOML: {err}.", "Correct that line.") from err
    except Misshapen as err:
        raise _wrong(path, f"{err}.", "Correct that line.") from None


def _fault(row: _Row, seen: set[str]) -> str:
    """What is wrong with a row, or ""."""
    if row.clause in seen:
        return "is listed twice"
    if row.standing not in STANDINGS:
        return f"cannot have the standing {row.standing!r}"
    if row.how in NOBODY:
        return "" if row.why and not row.by else f"is {row.how}: it says why, and names nothing in by"
    if not row.by:
        return "names nothing in by"
    known = FIELDS.keys() if row.how == "asked" else _ids("advice" if row.how == "advice" else "rule")
    strange = [name for name in row.by if name not in known]
    return f"names {strange[0]!r}, and there is none" if strange else ""


def _ids(kind: str) -> set[str]:
    return {rule.id for rule in tuple(RULES.values()) if rule.kind == kind}


def _wrong(path: Any, what: str, fix: str) -> FileError:
    return FileError("A table of clauses is not sound", what, where=f"coverage/{path.name}", fix=fix)


def in_job(
    coverage: Coverage, findings: Sequence[Finding], left_out: Sequence[str]
) -> Iterator[tuple[Clause, str]]:
    """Each clause with why it was not judged in a stage of a job, "" where it was.

    A clause is judged where its findings that count leave nothing to be measured and nothing for a person to decide.
    """
    counted = ((finding.id, finding.verdict) for finding in findings if finding.counts)
    return _in_job(coverage, counted, left_out)


def _in_job(
    coverage: Coverage, counted: Iterable[tuple[str, Verdict]], left_out: Sequence[str]
) -> Iterator[tuple[Clause, str]]:
    verdicts: dict[str, list[Verdict]] = {}
    for name, verdict in counted:
        verdicts.setdefault(name, []).append(verdict)
    for clause in coverage.clauses:
        if clause.how == "judged":
            told = [verdict for name in clause.by for verdict in verdicts.get(name, ())]
            yield clause, _of_verdict(worst(told), left_out)
        else:
            yield clause, reason(clause)


def _of_verdict(verdict: Verdict | None, left_out: Sequence[str]) -> str:
    if verdict is None:
        return NOT_ASKED if left_out else NOT_ARISEN
    return {Verdict.MEASURE: WAITS, Verdict.REFER: FOR_A_PERSON}.get(verdict, "")


def reason(clause: Clause) -> str:
    """Why a clause is not judged in any job; of one that is judged, what of it is not."""
    if clause.how == "advice":
        return f"Advice alone: {', '.join(titles(clause))}. {clause.why}".strip()
    if clause.how == "asked":
        return f"A person answers it: {', '.join(titles(clause))}. {clause.why}".strip()
    return clause.why if clause.bears else f"Outside this program. {clause.why}"


def titles(clause: Clause) -> list[str]:
    """What a clause is judged, advised on or answered by, in words."""
    if clause.how == "asked":
        return [FIELDS[name].label for name in clause.by]
    return [RULES[name].title for name in clause.by]


def covered(edition: Edition, findings: Sequence[Finding]) -> Covered | None:
    """How many of the clauses that bear on a masonry fireplace a stage was judged by; None where no table lists them."""
    counted = frozenset((finding.id, finding.verdict) for finding in findings if finding.counts)
    return _covered(edition.id, edition.folder, counted)


@lru_cache(maxsize=64)
def _covered(edition_id: str, folder: Any, counted: frozenset[tuple[str, Verdict]]) -> Covered | None:
    if (bearing := _bearing(edition_id, folder)) is None:
        return None
    judged, others = bearing
    told = [why for _, why in _in_job(judged, counted, ())]
    return Covered(listed=len(told) + others, judged=told.count(""))


@cache
def _bearing(edition_id: str, folder: Any) -> tuple[Coverage, int] | None:
    """The clauses that findings judge, and how many others bear on a masonry fireplace: of those none is judged in any job."""
    coverage = _load(edition_id, folder)
    if coverage is None:
        return None
    judged = tuple(clause for clause in coverage.clauses if clause.how == "judged")
    others = sum(1 for clause in coverage.clauses if clause.bears and clause.how != "judged")
    return replace(coverage, clauses=judged), others


def by_reason(rows: Iterable[tuple[Clause, str]]) -> dict[str, list[str]]:
    """The clauses that were not judged, by why not."""
    told: dict[str, list[str]] = {}
    for clause, why in rows:
        if why:
            told.setdefault(why, []).append(clause.clause)
    return told


def to_record(coverage: Coverage | None, edition: Edition) -> dict[str, Any]:
    """The clauses of an edition as plain data. listed: false where no table lists them."""
    return {
        "format": "hearthcalc-coverage",
        "version": 1,
        "edition": {"id": edition.id, "title": edition.title},
        "listed": coverage is not None,
        "told": coverage.told if coverage else "",
        "counts": dict(coverage.counts) if coverage else {},
        "clauses": [
            {
                "clause": one.clause, "asks": one.asks, "how": one.how, "by": list(one.by), "why": one.why,
                "standing": one.standing, "stated_in": one.edition,
            }
            for one in (coverage.clauses if coverage else ())
        ],
    }  # fmt: skip
