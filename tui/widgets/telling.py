"""Findings as text for the screen: one line each for the list, and the whole of one with its working and basis."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from hearthcalc import lengths
from hearthcalc.errors import EntryError
from hearthcalc.findings import Assessment, Basis, Finding, Margin, Verdict
from hearthcalc.job import spec_of
from hearthcalc.report.model import basis_line, overall_words, where
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe

Part = Content | str | tuple[str, str]

DOUBTFUL = {"second-hand", "from memory", "disputed", "assumption", "edited here"}


def verdict_style(verdict: Verdict) -> str:
    """The style name of a verdict: its colour comes third, after its sign and its word."""
    return f"bold $verdict-{verdict.lower()}"


def verdict_mark(verdict: Verdict | None) -> Content:
    """Sign and word of a verdict."""
    if verdict is None:
        return Content("")
    return Content.styled(f"{GLYPHS.sign(verdict)} {verdict}", verdict_style(verdict))


def ordered(findings: Iterable[Finding]) -> list[Finding]:
    """The worst first; what does not count after what does, and advice last."""
    rank = {verdict: number for number, verdict in enumerate(reversed(Verdict))}
    return sorted(findings, key=lambda f: (f.kind == "advice", not f.counts, rank[f.verdict]))


WORKING = "Being computed anew ..."


def line(finding: Finding, width: int, *, pending: bool = False) -> Content:
    """A finding in the list: sign and word, title and subject, and in one row of so many cells why.

    pending: it is being computed anew, so that neither its verdict nor its numbers may stand.
    """
    mark = Content.styled(f"{GLYPHS.more} WAIT", "bold $quiet") if pending else verdict_mark(finding.verdict)
    parts: list[Part] = [mark, "  ", safe(finding.title, "bold", 120)]
    subject = where(finding)
    if subject:
        parts += ["  ", safe(subject, "$quiet", 120)]
    if not finding.counts and finding.kind != "advice":
        parts.append(("  (does not count)", "$quiet"))
    why = WORKING if pending else plain(_short(finding))
    if cell_len(why) > width:
        why = set_cell_size(why, max(1, width - 1)) + GLYPHS.more
    return Content.assemble(*parts, "\n", (why, "$quiet"))


_AT = {">=": "at least ", "<=": "at most ", "=": ""}


def _short(finding: Finding) -> str:
    """Why, in few words: what was found beside what is asked, or what is missing, or the first sentence."""
    if finding.missing:
        return "needs " + ", ".join(dict.fromkeys(_label(address) for address in finding.missing))
    if finding.found and finding.required and finding.required.text:
        return f"{finding.found.text}; {_AT.get(finding.required.op, '')}{finding.required.text}"
    return finding.text.partition(". ")[0].rstrip(".")


def _label(address: str) -> str:
    try:
        label = spec_of(address).label
    except EntryError:
        return address
    return label[:1].lower() + label[1:]


def overall(assessment: Assessment, stage: str, width: int, *, in_words: bool, working: bool) -> Content:
    """Each stage in one row: the chosen one marked, its worst verdict, and how many of each, in words where they fit.

    in_words: below them, what the verdict of the chosen one means.  working: the models have still to be heard.
    """
    rows: list[Content] = []
    for name, result in assessment.stages.items():
        chosen = name == stage
        head = Content.assemble(
            (f"{GLYPHS.here if chosen else ' '} ", "bold $ember"),
            (f"{name.upper():<8}", "bold $foreground" if chosen else "$quiet"),
            verdict_mark(result.overall),
            (f" {GLYPHS.more}" if working else "", "$quiet"),
        )
        words = ", ".join(f"{number} {verdict}" for verdict, number in result.counts.items())
        signs = " ".join(f"{number}{GLYPHS.sign(verdict)}" for verdict, number in result.counts.items())
        if result.overall is Verdict.MEETS:
            words = signs = "the reference values used"
        fits = head.cell_length + 2 + cell_len(words) <= width
        rows.append(Content.assemble(head, ("  " + (words if fits else signs), "$quiet")))
    if in_words:
        words = "the models are running" if working else overall_words(assessment.stages[stage])
        rows.append(safe(f"  {words}", "italic $quiet"))
    return Content("\n").join(rows)


def full(finding: Finding) -> Content:
    """All that a finding carries."""
    rows: list[Content] = []

    def add(*parts: Part) -> None:
        rows.append(Content.assemble(*parts))

    def heading(text: str) -> None:
        rows.append(Content(""))
        rows.append(Content.styled(text, "bold $brick"))

    add(verdict_mark(finding.verdict), "  ", safe(finding.title, "bold"))
    subject = where(finding)
    if subject:
        add(safe(subject, "$quiet"))
    if finding.kind == "model":
        add(("A computed second opinion, not a rule.", "italic $quiet"))
    elif finding.kind == "advice":
        add(("Advice: something for a person to do. It does not count in the overall.", "italic $quiet"))
    elif not finding.counts:
        add(("Shown, but it does not count in the overall.", "italic $quiet"))
    add("")
    add(safe(finding.text))
    if finding.caution and finding.verdict is not Verdict.MEETS:
        add("")
        add((" CAUTION ", "bold $caution-ink on $caution-ground"), " ", safe(finding.caution, "bold"))
    numbers = [
        (label, text)
        for label, text in (
            ("required", finding.required and f"{finding.required.op} {finding.required.text}"),
            ("found", finding.found and finding.found.text),
            ("margin", _margin(finding)),
            (
                "tolerance",
                finding.tolerance and _signed(finding.tolerance).lstrip("+"),
            ),
        )
        if text
    ]
    if numbers:
        heading("In numbers")
        for label, text in numbers:
            add((f"{label:<10} ", "$quiet"), safe(text))
    if finding.missing:
        heading("Still to be measured")
        for address in finding.missing:
            add((f"{GLYPHS.dot} ", "$quiet"), safe(_label(address)), "  ", safe(address, "$quiet"))
    if finding.remedy:
        heading("Remedy")
        for remedy in finding.remedy:
            add((f"{GLYPHS.dot} ", "$quiet"), safe(remedy))
    if finding.working:
        heading("Working")
        for step in finding.working:
            add(safe(step.line()))
    if finding.basis:
        heading("Basis")
        for basis in finding.basis:
            rows.extend(_basis(basis))
    add("")
    add(safe(f"finding {finding.id}", "$quiet"))
    return Content("\n").join(rows)


def _basis(basis: Basis) -> Iterable[Content]:
    yield Content.assemble((f"{GLYPHS.dot} ", "$quiet"), safe(basis_line(basis)))
    if basis.standing in DOUBTFUL:
        yield Content.assemble(
            ("  ", ""), (f"{basis.standing}: check it before you rely on it", "bold $verdict-close")
        )
    if basis.edition:
        yield safe(f"  stated in {basis.edition}", "$quiet")


def _margin(finding: Finding) -> str:
    margin = finding.margin
    if margin is None:
        return ""
    percent = "" if margin.percent is None else f" ({margin.percent:+.0f} %)"
    return f"{_signed(margin)}{percent}"


def _signed(margin: Margin) -> str:
    """A margin with its sign: inches as on a tape, the rest to four digits."""
    inches = margin.unit == "in"
    text = (
        lengths.show(Fraction(margin.value), "in")
        if inches
        else f"{float(margin.value):.4g} {margin.unit}".rstrip()
    )
    return f"+{text}" if margin.value > 0 else text
