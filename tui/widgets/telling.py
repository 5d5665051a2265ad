"""Findings as text for the screen: one line each for the list, and the whole of one with its working and basis."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from rich.cells import cell_len, set_cell_size
from textual.content import Content
from textual.style import Style

from hearthcalc import lengths
from hearthcalc.asked import left_out
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


WORKING = "working it out"


def line(finding: Finding, width: int, *, pending: bool = False, turned: bool = False) -> Content:
    """A finding in one row of so many cells: sign and word, what it is, and the figure that decides, which is never cut.

    pending: it is being worked out anew, so that neither its verdict nor its numbers may stand.  turned: the last key turned it.
    """
    mark = Content.styled(f"{GLYPHS.more} WAIT", "bold $quiet") if pending else verdict_mark(finding.verdict)
    figure = WORKING if pending else plain(figure_of(finding))
    most = width - mark.cell_length - SHORTEST_TITLE - 2
    for shorter in (lambda text: re.sub(" (min|max)$", "", text), lambda text: text.replace("about ", "~")):
        figure = figure if cell_len(figure) <= most else shorter(figure)
    subject = where(finding)
    title = plain(f"{finding.title}, {subject}" if subject else finding.title, 120)
    if cell_len(title) > width - mark.cell_length - cell_len(figure) - 2 and finding.id in IN_SHORT:
        short = IN_SHORT[finding.id]
        title = plain(f"{short}, {subject}" if subject else short, 120)
    if not finding.counts and finding.kind != "advice":
        title = f"({title})"
    if any(basis.standing == EDITED for basis in finding.basis):
        title = f"{EDITED_MARK}{title}"
    room = width - mark.cell_length - cell_len(figure) - 1 - bool(figure)
    if cell_len(title) > room:
        title = set_cell_size(title, room - 1) + GLYPHS.more
    gap = " " * max(1, width - mark.cell_length - 1 - cell_len(title) - cell_len(figure))
    return Content.assemble(
        mark,
        (GLYPHS.here if turned else " ", "bold $ember"),
        safe(title, "bold" if finding.counts else "", 120),
        (f"{gap}{figure}" if figure else "", "$quiet"),
    )


SHORTEST_TITLE = 8
EDITED, EDITED_MARK = "edited here", "*"
IN_SHORT = {
    "flue.area": "Flue area", "flue.lining": "Flue lining", "flue.condition": "Flue condition", "flue.fit": "Liner fits",
    "flue.offsets": "Flue slope", "flue.shared": "Shared flue", "flue.least_side": "Flue side", "flue.least_height": "Flue height",
    "record.agreement": "Disagree", "record.amendments": "Town's values",
    "air.exterior_duct": "Outside air", "air.vent": "Vent", "air.makeup": "Make-up air",
    "air.gas_room_volume": "Gas: room", "gas_logs.damper_opening": "Gas logs: damper", "hearth.front": "Hearth front",
    "hearth.left": "Hearth left", "hearth.right": "Hearth right", "hearth.thickness": "Hearth thick", "hearth.below": "Under hearth",
    "firebox.construction": "Masonry?", "firebox.depth": "Firebox deep", "firebox.wall": "Firebox wall", "firebox.lining": "Firebrick",
    "firebox.joint": "Joints", "firebox.floor_slab": "Floor slab", "firebox.floor_below": "Under firebox",
    "firebox.throat_height": "Throat high", "firebox.throat_depth": "Throat deep", "firebox.passageway": "Narrowest",
    "smoke_chamber.height": "Chamber high", "smoke_chamber.slope": "Chamber slope", "smoke_chamber.wall": "Chamber wall",
    "smoke_chamber.parging": "Parging", "chimney.above_roof": "Over roof", "chimney.within_radius": "Over ridge",
    "chimney.cricket": "Cricket", "chimney.roof_framing": "Roof framing", "chimney.size_change": "Size change",
    "chimney.arrestor_area": "Spark screen", "chimney.cap_area": "Under cap", "clearance.framing": "Framing",
    "clearance.chimney": "At chimney", "clearance.abutting": "Contact", "clearance.trim": "Trim", "clearance.looked": "Not looked",
    "doors.burning_closed": "Doors on a fire", "doors.seal": "Door gaps", "doors.garage": "Garage", "heat.resistance": "Hearth R",
    "heat.wood_temperature": "Wood heat", "heat.floor_edge": "Floor heat", "heat.mantel": "Mantel heat", "lintel.bearing": "Bearing",
    "lintel.load": "Lintel load", "lintel.bending": "Bending", "lintel.deflection": "Deflection", "draft.face_velocity": "Draft",
    "draft.no_flow": "Start-up", "draft.crossflow": "Crossflow", "draft.door_leak": "Door leak", "house.suction": "Suction",
    "air.demand": "Air for fire",
}  # fmt: skip
_WITHIN = {">=": "min", "<=": "max"}


def figure_of(finding: Finding) -> str:
    """The figure that decides: what was found, and the limit; of a measurement that is missing the limit alone."""
    required = finding.required
    if required is None or not any(sign.isdigit() for sign in required.text):
        return ""
    limit = f"{_bare(required.text)} {_WITHIN.get(required.op, '')}".rstrip()
    if finding.missing or not finding.found:
        return limit if finding.missing else ""
    found, unit = _bare(finding.found.text), _bare(required.text).rpartition(" ")[2]
    figure = f"{found.removesuffix(f' {unit}')} / {limit}"
    return figure if cell_len(figure) <= LONGEST_FIGURE else ""


def _bare(text: str) -> str:
    """A figure without the other unit that stands behind it in brackets."""
    return re.sub(r" \([^)]*\)", "", text)


LONGEST_FIGURE = 24


def _label(address: str) -> str:
    try:
        label = spec_of(address).label
    except EntryError:
        return address
    return label[:1].lower() + label[1:]


def overall(assessment: Assessment, stage: str, width: int, *, in_words: bool, working: bool) -> Content:
    """Each stage in one row: the chosen one marked, its worst verdict, and how many of each, in words where they fit.

    Each verdict and its number carry stage and verdict, for the mouse.
    in_words: below them, what the verdict of the chosen one means.  working: the models have still to be heard.
    """
    rows: list[Content] = []
    for name, result in assessment.stages.items():
        chosen = name == stage
        head = Content.assemble(
            (f"{GLYPHS.here if chosen else ' '} ", "bold $ember"),
            (f"{name.upper():<8}", "bold $foreground" if chosen else "$quiet"),
            _leads(verdict_mark(result.overall), name, result.overall),
            (f" {GLYPHS.more}" if working else "", "$quiet"),
        )
        words = [(verdict, f"{number} {verdict}") for verdict, number in result.counts.items()]
        fits = head.cell_length + 2 + cell_len(", ".join(text for _, text in words)) <= width
        between = ", " if fits else " "
        if not fits:
            words = [(v, f"{number}{GLYPHS.sign(v)}") for v, number in result.counts.items()]
        tallies = Content.styled(between, "$quiet").join(
            _leads(Content.styled(text, "$quiet"), name, verdict) for verdict, text in words
        )
        if result.overall is Verdict.MEETS:
            all_of_it = "what was asked" if result.left_out else "in all that was judged"
            tallies = Content.styled(all_of_it, "$quiet")
        rows.append(Content.assemble(head, "  ", tallies))
    if left := assessment.stages[stage].left_out:
        rows.append(safe(f"  Asked only: {', '.join(left_out(left))}", "bold $verdict-close"))
    if in_words:
        meaning = "the models are running" if working else overall_words(assessment.stages[stage])
        rows.append(safe(f"  {meaning}", "italic $quiet"))
    return Content("\n").join(rows)


def _leads(text: Content, stage: str, verdict: str) -> Content:
    """Text that a click may follow to the first finding of a verdict."""
    return text.stylize(Style.from_meta({"stage": stage, "verdict": str(verdict)}))


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
