"""The findings beside the measuring: both overalls, the list with the worst first, and the one in hand."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from hearthcalc.findings import Assessment, Finding, Verdict
from hearthcalc_tui.faults import Guarded
from hearthcalc_tui.widgets import telling
from hearthcalc_tui.widgets.options import Options

if TYPE_CHECKING:
    from hearthcalc_tui.widgets.views import ViewBody


class FindingsPane(Guarded, Vertical):
    """One stage's findings; the other stage's overall stands above them too."""

    class Chosen(Message):
        """A finding is to be shown whole."""

        def __init__(self, finding: Finding) -> None:
            super().__init__()
            self.finding = finding

    class Sought(Message):
        """The first finding of a verdict is to be shown, in a stage."""

        def __init__(self, stage: str, verdict: str) -> None:
            super().__init__()
            self.stage = stage
            self.verdict = verdict

    def __init__(self) -> None:
        super().__init__(id="findings")
        self._listed: list[Finding] = []
        self._pending: set[tuple[str, str, str, str]] = set()
        self._stage = ""
        self._verdicts: dict[tuple[str, str, str, str], Verdict] = {}
        self._turned: set[tuple[str, str, str, str]] = set()
        self._of = ""
        self._told = {"#overall": Content(""), "#finding-text": Content("")}
        self._lines: dict[tuple[str, str, str, str], tuple[tuple[object, ...], Content]] = {}
        self.view: ViewBody | None = None

    def compose(self) -> ComposeResult:
        yield Static(id="overall")
        yield Options(id="finding-list")
        with VerticalScroll(id="finding-detail", can_focus=False):
            yield Static(id="finding-text")

    @property
    def options(self) -> OptionList:
        return self.query_one(OptionList)

    @property
    def reader(self) -> OptionList | ViewBody:
        """What the cursor goes to here: the list, or the view in its place."""
        return self.view or self.options

    async def look(self, view: str) -> None:
        """Show a view in the place of the list; "" brings the list back. The overall stays above both.

        It is the view in hand only while all its parts are there: what is judged meanwhile draws it.
        """
        gone, self.view = self.view, None
        if gone is not None:
            await gone.remove()
        if view:
            from hearthcalc_tui.widgets.views import ViewBody

            body = ViewBody(view, id="view-beside")
            await self.mount(body)
            self.view = body
        self.set_class(bool(view), "-viewing")

    @property
    def highlighted(self) -> Finding | None:
        at = self.options.highlighted
        return self._listed[at] if at is not None and at < len(self._listed) else None

    @property
    def keys(self) -> list[tuple[str, str, str, str]]:
        """What tells each listed finding from the others, in the order of the list."""
        return [finding.key for finding in self._listed]

    def pick(self, key: tuple[str, str, str, str]) -> None:
        """Put the cursor on a finding."""
        if key in self.keys:
            self.options.highlighted = self.keys.index(key)

    def pick_first(self, verdict: str) -> None:
        """Put the cursor on the first finding of a verdict, of those that count."""
        at = next((at for at, f in enumerate(self._listed) if f.counts and f.verdict == verdict), None)
        if at is not None:
            self.options.highlighted = at

    def on_click(self, event: events.Click) -> None:
        """On the number of a verdict, to the first of them."""
        told = event.style.meta
        if "verdict" in told:
            self.post_message(self.Sought(told["stage"], told["verdict"]))

    def show(self, assessment: Assessment, stage: str, *, working: bool = False) -> None:
        """Show an assessment; only what changed since the last one is drawn anew.

        working: the models are being run; what they found before stays in its place, without its old numbers.
        """
        tall = self.screen.has_class("-tall")
        overall = telling.overall(assessment, stage, self.size.width - 3, in_words=tall, working=working)
        self._tell("#overall", overall)
        findings = assessment.stages[stage].findings
        stale: list[Finding] = []
        if working and self._stage == stage:
            stale = [finding for finding in self._listed if finding.kind == "model"]
        listed = telling.ordered([*findings, *stale])
        pending = {finding.key for finding in stale}
        before, was_pending, was_turned = self._listed, self._pending, self._turned
        self._mark_turned(assessment, findings, stage)
        self._listed, self._pending, self._stage = listed, pending, stage
        if self.options.option_count and [f.key for f in listed] == [f.key for f in before]:
            room, marked = self._room, (pending ^ was_pending) | (self._turned ^ was_turned)
            for at, (new, old) in enumerate(zip(listed, before, strict=True)):
                if new != old or new.key in marked:
                    self.options.replace_option_prompt_at_index(at, self._line(new, room))
        else:
            self._relist(before)
        self._tell_detail()

    def _mark_turned(self, assessment: Assessment, findings: Iterable[Finding], stage: str) -> None:
        """Which verdicts the last change of the record turned; they stay marked until the next one."""
        verdicts = {finding.key: finding.verdict for finding in findings}
        if self._of != assessment.job_fingerprint:
            self._turned = set()
        if self._stage == stage:
            held = self._verdicts
            self._turned |= {k for k, verdict in verdicts.items() if held.get(k, verdict) is not verdict}
            verdicts = {**held, **verdicts}
        self._verdicts, self._of = verdicts, assessment.job_fingerprint

    def _line(self, finding: Finding, room: int) -> Content:
        """The row of a finding, made anew only where it says something else than last."""
        key = finding.key
        of = finding, room, key in self._pending, key in self._turned
        if key not in self._lines or self._lines[key][0] != of:
            _, _, pending, turned = of
            self._lines[key] = of, telling.line(finding, room, pending=pending, turned=turned)
        return self._lines[key][1]

    def _relist(self, before: list[Finding]) -> None:
        """Fill the list anew, with the same finding in hand where it is still there; the worst on top while the cursor is elsewhere.

        Before it is laid out nothing is known of its width: it is filled as soon as that is.
        """
        if not self.size:
            return
        at = self.options.highlighted if self.options.has_focus else None
        held = before[at].key if at is not None and at < len(before) else None
        keys = [finding.key for finding in self._listed]
        room = self._room
        self.options.set_options(Option(self._line(finding, room)) for finding in self._listed)
        if keys:
            self.options.highlighted = keys.index(held) if held in keys else 0

    @property
    def _room(self) -> int:
        """Cells of a row of the list."""
        return max(24, self.size.width - 3)

    def on_resize(self) -> None:
        if self._listed:
            self._relist(self._listed)

    def _tell_detail(self) -> None:
        detail = self.query_one("#finding-detail", VerticalScroll)
        if detail.display:
            finding = self.highlighted
            held = finding is not None and finding.key not in self._pending
            text = telling.full(finding) if finding and held else Content(telling.WORKING if finding else "")
            self._tell("#finding-text", text)

    def _tell(self, place: str, text: Content) -> None:
        """Show a text, and lay it out, where it is another one than last."""
        if not text.is_same(self._told[place]):
            self._told[place] = text
            self.query_one(place, Static).update(text)

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        event.stop()
        self._tell_detail()
        self.query_one("#finding-detail", VerticalScroll).scroll_home(animate=False)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        finding = self._listed[event.option_index]
        if finding.key not in self._pending:
            self.post_message(self.Chosen(finding))
