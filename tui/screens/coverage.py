"""The clauses of the job's edition: which are judged in this job, and why the others are not."""

from __future__ import annotations

from textual.content import Content

from hearthcalc import coverage
from hearthcalc.coverage import Coverage
from hearthcalc.findings import StageResult
from hearthcalc.report.model import covered_words
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import safe


def text(listed: Coverage | None, result: StageResult) -> Content:
    """Every clause in its order, as it stands in one stage of the job."""
    words = covered_words(result)
    lines = [safe(f"{words[:1].upper()}{words[1:]}.", "bold")]
    if listed is None:
        return lines[0]
    lines += [safe(listed.told, "$quiet"), Content("")]
    for clause, why in coverage.in_job(listed, result.findings, result.left_out):
        style = "$quiet" if not clause.bears else "$verdict-close" if why else "$verdict-meets"
        lines.append(
            Content.assemble(
                (f"{GLYPHS.dot} ", f"bold {style}"), safe(clause.clause, "bold"), "  ", safe(clause.asks)
            )
        )
        if not clause.bears:
            lines.append(safe(f"  {why}"))
        elif why:
            lines.append(safe(f"  Not judged. {why}"))
        else:
            lines.append(safe(f"  Judged: {', '.join(coverage.titles(clause))}. {clause.why}".rstrip()))
        lines.append(safe(f"  {clause.standing}", "$quiet"))
    return Content("\n").join(lines)
