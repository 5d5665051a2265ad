"""The desk: rail, form and findings of one job, and what each command does to them."""

from __future__ import annotations

import asyncio
import inspect
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.timer import Timer
from textual.widgets import OptionList

from hearthcalc import caution, reference
from hearthcalc.errors import HearthError
from hearthcalc.findings import Assessment, Finding
from hearthcalc.job import spec_of
from hearthcalc_tui import between, commands, files, layering, looking, pasting, storage
from hearthcalc_tui.entries import NEW_LINE
from hearthcalc_tui.field import Field
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.screens.choice import ChoicePage
from hearthcalc_tui.screens.page import TextPage
from hearthcalc_tui.sections.form import Form, Row
from hearthcalc_tui.sections.rows import PICK, filled, rows
from hearthcalc_tui.sections.table import Section, verdict_of
from hearthcalc_tui.session import Session, Snapshot
from hearthcalc_tui.widgets import telling
from hearthcalc_tui.widgets.editions import in_full
from hearthcalc_tui.widgets.findings import FindingsPane
from hearthcalc_tui.widgets.rail import Rail, RailLine, Stop

if TYPE_CHECKING:
    from hearthcalc_tui.app import HearthcalcApp

STAGES = {"found": "as found", "planned": "as planned"}
Key = tuple[str, str, str, str]
MODELS_WAIT = 0.05  # seconds without a key before the models run, so that they do not run for each digit
IN_FINDINGS = Row(
    "",
    "",
    "",
    understood="Enter shows the whole finding: working, basis, remedy.",
    range="F3 goes to the entry it waits for, F6 back to the field.",
)


class Desk(Vertical):
    """Where the work is done. Owner of the fields: told of each key in order."""

    def __init__(self, session: Session) -> None:
        super().__init__(id="desk")
        self.session = session
        self.stage = "found"
        self._at: tuple[str, str] = ("about", "")
        self._picked: dict[str, str] = {}
        self._sections: tuple[Section, ...] = ()
        self._last_field: Field | None = None
        self.used: tuple[str, list[Key]] = (
            "",
            [],
        )  # the entry one came from to the findings, and those that use it
        self._showing = asyncio.Lock()
        self._modelled: Snapshot | None = None
        self.working = False
        self._waiting: Timer | None = None
        self._writer = ThreadPoolExecutor(max_workers=1, thread_name_prefix="draft")

    def compose(self) -> ComposeResult:
        yield RailLine()
        with Horizontal(id="panes"):
            yield Rail()
            yield Form(self)
            yield FindingsPane()

    def on_mount(self) -> None:
        # The findings are drawn before the fields are made, which takes as long again.
        self._lay_out()
        self._show_findings()
        self.call_after_refresh(self.show_section, focus=True)

    @property
    def hearth(self) -> HearthcalcApp:
        return cast("HearthcalcApp", self.app)

    @property
    def form(self) -> Form:
        return self.query_one(Form)

    @property
    def pane(self) -> FindingsPane:
        return self.query_one(FindingsPane)

    @property
    def section(self) -> Section:
        """The section shown; the first where the one shown before is gone."""
        return next((s for s in self._sections if s.id == self._at), self._sections[0])

    @property
    def sections(self) -> tuple[Section, ...]:
        return self._sections

    def sections_from_here(self) -> tuple[Section, ...]:
        """The section shown and all after it."""
        return self._sections[self._sections.index(self.section) :]

    # What fields tell

    def edited(self, field: Field) -> None:
        """Every key that changes an entry: judged anew at once."""
        if field.address.startswith(PICK):
            self._picked[field.address.removeprefix(PICK)] = field.text
        else:
            self.session.type(field.address, field.text)
        self.refresh_all(but=field)

    def left(self, field: Field) -> None:
        """The entry is meant: one step of undo, and into the draft."""
        self.keep()

    def on_field_list_pasted(self, event: Field.ListPasted) -> None:
        """A list falls into the fields from this one on; notes take it whole."""
        event.stop()
        field = event.field
        if field.address == "about.notes":
            field.insert(NEW_LINE.join(plain(row.strip()) for row in event.rows))
        else:
            self.run_worker(pasting.paste(self, field.address, event.rows))

    def keep(self) -> None:
        """Take what is being typed into the record."""
        renamed = self.session.keep()
        if renamed is None:
            return
        old, new = renamed
        if old:
            self._at = (self._at[0], new if self._at[1] == old else self._at[1])
            self._picked = {kind: new if name == old else name for kind, name in self._picked.items()}
        self.write_draft()
        self.refresh_all()

    def write_draft(self) -> None:
        """Keep the draft, in the order of the changes, off the thread that draws."""
        self._writer.submit(self._write_draft, self.session.draft())

    def _write_draft(self, draft: tuple[storage.DraftBox | None, dict[str, object], str, bool]) -> None:
        box, document, base, unsaved = draft
        if box is None:
            return
        try:
            if unsaved:
                box.keep(document, base)
            else:
                box.drop()
        except HearthError as error:
            self.app.call_from_thread(self.hearth.say, f"The draft is not kept. {error}", bad=True)

    def drop_draft(self) -> None:
        """Forget the draft, after the last change was written to it."""
        self._writer.submit(self.session.forget)

    def close(self) -> None:
        """Wait for the last draft; called once, when the program ends."""
        self._writer.shutdown(wait=True)
        self.session.release()

    # What is shown

    async def show_section(self, *, focus: bool = False, last: bool = False, address: str = "") -> None:
        """Show the section in hand. focus: put the cursor in its first field, its last, or the one at an address."""
        async with self._showing:
            self._lay_out()
            await self.form.show(rows(self.session, self.section, self.stage))
        self.refresh_all()
        fields = self.form.fields
        if focus:
            self.screen.set_focus(self.form.field_at(address) or fields[-1 if last else 0])
        self._explain()

    def _lay_out(self) -> None:
        """The sections of the job as it stands, and for each list a thing that is there."""
        for kind in ("nearby", "roof", "fans"):
            names = self.session.things(kind, self.stage)
            if self._picked.get(kind) not in names:
                self._picked[kind] = names[0] if names else ""
        self._sections = self.session.sections(self.stage, self._picked)
        if all(section.id != self._at for section in self._sections):
            self._at = self._sections[0].id

    def refresh_all(self, but: Field | None = None) -> None:
        """Bring everything shown up to date with the record. but: the field being typed in."""
        self._lay_out()
        shown = rows(self.session, self.section, self.stage)
        if [row.key for row in shown] == [row.key for row in self.form.rows]:
            self.form.fill(shown, but=but)
        elif self.form.stretch(shown, but=but):
            pass
        else:
            self.call_later(self.show_section, focus=True)
        self._show_findings()
        self._explain()

    def _show_findings(self) -> None:
        """The findings, and what of them the rail shows."""
        assessment = self.session.assess()
        stage = self.stage if self.stage in assessment.stages else "found"
        self.working = self._run_models()
        self.pane.show(assessment, stage, working=self.working)
        self.show_view()
        stops = self._stops()
        at = self._sections.index(self.section)
        self.query_one(Rail).show(stops, at)
        self.query_one(RailLine).show(stops, at)
        self._entitle(stops[at])

    def show_view(self) -> None:
        """The view beside the fields, where there is one, as the record stands."""
        if self.pane.view is not None:
            self.pane.view.show(looking.shown(self, working=self.working))

    def values_changed(self) -> None:
        """Reference values are others now: judge anew."""
        self._modelled = None
        self.refresh_all()

    def _run_models(self) -> bool:
        """Have the models judge the record as it stands, away from the thread that draws. False where they have."""
        if self._modelled is self.session.now:
            return False
        if self._waiting is not None:
            self._waiting.stop()
        self._waiting = self.set_timer(MODELS_WAIT, self._start_models)
        return True

    def _start_models(self) -> None:
        if self._modelled is self.session.now:  # heard meanwhile: what they say must not stand twice
            return
        snapshot, rules = self.session.now, self.session.assess()
        self.run_worker(lambda: self._models(snapshot, rules), thread=True, group="models", exclusive=True)

    def _models(self, snapshot: Snapshot, rules: Assessment) -> None:
        """In a thread of its own: a fault in a model costs its findings, and is told; the rules stand."""
        try:
            full = self.session.with_models(snapshot, rules)
        except Exception as error:
            self.app.call_from_thread(
                self.hearth.say, f"The models failed: {type(error).__name__}: {error}", bad=True
            )
            full = rules
        self.app.call_from_thread(self._take_models, snapshot, full)

    def _take_models(self, snapshot: Snapshot, full: Assessment) -> None:
        if self.session.take_models(snapshot, full):
            self._modelled = snapshot
            self.refresh_all(but=self.hearth.focused if isinstance(self.hearth.focused, Field) else None)

    def _stops(self) -> list[Stop]:
        """Every section as the rail shows it."""
        stages = self.session.assess().stages
        findings = (stages.get(self.stage) or stages["found"]).findings
        stops = []
        for section in self._sections:
            known, unread = filled(self.session, section, self.stage)
            stops.append(
                Stop(section.title, known, len(section.addresses), verdict_of(section, findings), unread)
            )
        return stops

    def _entitle(self, stop: Stop) -> None:
        stage = STAGES[self.stage] if self.section.kind.planned else "the job itself"
        self.form.entitle(
            Content.assemble(
                safe(stop.title, "bold $brick", 60), (f"  {stop.filled} of {stop.fields}  ", "$quiet"),
                telling.verdict_mark(stop.verdict), (f"  {stage}", "$quiet"),
            )
        )  # fmt: skip
        now = self.session.now.job
        tail = f"{STAGES[self.stage].upper()} {GLYPHS.dot} {now.about.edition} {GLYPHS.dot} {now.units}"
        self.hearth.masthead.show(self.session.title, unsaved=self.session.unsaved, tail=tail)

    def _explain(self) -> None:
        field = self.hearth.focused
        if field is self.pane.options:
            self.form.explain(IN_FINDINGS)
        else:
            self.form.explain(self.form.row_of(field) if isinstance(field, Field) else None)

    def on_descendant_focus(self) -> None:
        focused = self.hearth.focused
        if isinstance(focused, Field):
            self._last_field = focused
        self._explain()

    async def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        if isinstance(event.option_list, Rail):
            self._at = self._sections[event.option_index].id
            await self.show_section(focus=True)

    async def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        if isinstance(event.option_list, Rail) and event.option_list.has_focus:
            self._at = self._sections[event.option_index].id
            await self.show_section()

    def on_findings_pane_chosen(self, event: FindingsPane.Chosen) -> None:
        self.run_worker(self._show_finding(event.finding))

    # What commands do

    async def run(self, id: str) -> None:
        """Run a command, after every key before it has done its work."""
        focused = self.hearth.focused
        if isinstance(focused, Field):
            done = asyncio.Event()
            focused.call_later(done.set)
            await done.wait()
        self.hearth.say("")
        outcome = getattr(self, f"do_{id}")()
        if inspect.isawaitable(outcome):
            await outcome

    async def do_next(self) -> None:
        await self._step(1)

    async def do_previous(self) -> None:
        await self._step(-1)

    async def _step(self, by: int) -> None:
        """On to the field after this one or before it, also into the next section."""
        fields, focused = self.form.fields, self.hearth.focused
        at = fields.index(focused) + by if isinstance(focused, Field) and focused in fields else 0
        if 0 <= at < len(fields):
            self.screen.set_focus(fields[at])
        else:
            await self._turn(by, last=by < 0)

    async def _turn(self, by: int, *, last: bool = False) -> None:
        """On to the section after this one or before it; at an end it stays."""
        self.keep()
        at = self._sections.index(self.section) + by
        if not 0 <= at < len(self._sections):
            self.hearth.say(
                "That was the last section. F3 goes to what is still missing."
                if by > 0
                else "This is the first section."
            )
            return
        self._at = self._sections[at].id
        await self.show_section(focus=True, last=last)

    async def do_next_section(self) -> None:
        await self._turn(1)

    async def do_previous_section(self) -> None:
        await self._turn(-1)

    def do_revert(self) -> None:
        focused = self.hearth.focused
        if isinstance(focused, Field):
            focused.revert()

    async def do_stage(self) -> None:
        """Turn between as found and as planned."""
        self.keep()
        self.stage = "planned" if self.stage == "found" else "found"
        address = self._last_field.address if self._last_field else ""
        other = address.removeprefix("planned.") if self.stage == "found" else f"planned.{address}"
        await self.show_section(
            focus=isinstance(self.hearth.focused, Field) or not self.hearth.focused, address=other
        )
        if self.stage == "planned":
            self.hearth.say(
                "As planned: what stands in italics is as found; type over it what the work will make of it."
            )

    async def do_missing(self) -> None:
        """To the next entry that cannot be read, else the next that a finding waits for."""
        self.keep()
        finding = self.pane.highlighted if self.pane.options.has_focus else None
        addresses = list(finding.missing) if finding and finding.missing else self.session.wanting()
        if not addresses:
            self.hearth.say("Nothing is missing that a finding waits for.")
            return
        here = self._last_field.address if self._last_field else ""
        at = (addresses.index(here) + 1) % len(addresses) if here in addresses else 0
        await self.go_to(addresses[at])

    async def go_to(self, address: str) -> None:
        """Put the cursor in the field of an entry."""
        self.stage = "planned" if address.startswith("planned.") else "found"
        place = self.session.place(address, self.stage)
        if place is None:
            self.hearth.say(f"{plain(address, 60)} has no field here; it stands in the file.")
            return
        section, pick = place
        self._at = section.id
        self._picked.update(pick)
        await self.show_section(focus=True, address=address)

    async def do_uses(self) -> None:
        await between.turn(self)

    async def do_plan_field(self) -> None:
        await between.copy_field(self)

    async def do_plan_section(self) -> None:
        await between.copy_section(self)

    async def do_sections(self) -> None:
        """Ask for a section."""
        self.keep()
        self.run_worker(self._ask_section())

    async def _ask_section(self) -> None:
        answers: list[tuple[str, str | Content]] = [
            (str(at), stop.line(36)) for at, stop in enumerate(self._stops())
        ]
        first = str(self._sections.index(self.section))
        answer = await self.app.push_screen_wait(ChoicePage("Sections", "", answers, first=first))
        if answer is not None:
            self._at = self._sections[int(answer)].id
            await self.show_section(focus=True)

    def do_suggestion(self) -> None:
        """Take the unit that is asked about."""
        field = self.hearth.focused
        row = self.form.row_of(field) if isinstance(field, Field) else None
        if isinstance(field, Field) and row and row.suggestion:
            field.put(row.suggestion)
        else:
            self.hearth.say("There is nothing to suggest for this entry.")

    async def do_add(self) -> None:
        """Another face; in a list, another thing of it."""
        self.keep()
        if self.section.kind.repeats:
            await layering.insert(self)
            return
        things = self.section.kind.picks or "face"
        try:
            name = self.session.add(things, self.stage)
        except HearthError as error:
            self.hearth.say(str(error), bad=True)
            return
        self.write_draft()
        if things == "face":
            self._at = ("opening", name)
        else:
            self._picked[things] = name
        await self.show_section(focus=True)
        self.screen.set_focus(
            next(
                f
                for f, row in zip(self.form.fields, self.form.rows, strict=True)
                if row.key.endswith(".name")
            )
        )

    async def do_remove(self) -> None:
        """Take away the face or the thing shown. Undo brings it back, so nothing is asked."""
        self.keep()
        section = self.section
        if section.kind.repeats:
            await layering.remove(self)
            return
        things = section.kind.each or section.kind.picks
        if not things or not section.thing:
            self.hearth.say("This section shows no face and no thing that could be removed.")
            return
        try:
            self.session.remove(things, section.thing, self.stage)
        except HearthError as error:
            self.hearth.say(str(error), bad=True)
            return
        self.write_draft()
        await self.show_section(focus=True)
        self.hearth.say(f"Removed: {plain(section.thing, 40)}. Ctrl+Z brings it back.")

    async def do_layer_up(self) -> None:
        await layering.move(self, -1)

    async def do_layer_down(self) -> None:
        await layering.move(self, 1)

    async def do_units(self) -> None:
        self.keep()
        self.session.turn_units()
        self.write_draft()
        self.refresh_all()

    def do_findings(self) -> None:
        """To the findings, and back to the field."""
        reader = self.pane.reader
        if self.hearth.focused is reader:
            self.focus_field()
        else:
            self.keep()
            self.screen.set_focus(reader)

    def focus_field(self) -> None:
        """Back to the field that the cursor was in."""
        fields = self.form.fields
        self.screen.set_focus(self._last_field if self._last_field in fields else fields[0])

    async def do_drawing(self) -> None:
        await looking.look(self, "drawing")

    async def do_draft(self) -> None:
        await looking.look(self, "draft")

    async def do_heat(self) -> None:
        await looking.look(self, "heat")

    async def do_takeoff(self) -> None:
        await looking.look(self, "takeoff")

    async def on_view_body_chosen(self) -> None:
        """Enter on the view beside the fields."""
        if self.pane.view is not None:
            await looking.look(self, self.pane.view.view)

    def do_compare(self) -> None:
        self.keep()
        self.run_worker(looking.compare(self))

    def do_reference(self) -> None:
        self.keep()
        looking.open_reference(self)

    async def _show_finding(self, finding: Finding) -> None:
        goes_on = "to what is missing" if finding.missing else ""
        page = TextPage(f"Finding: {finding.title}", telling.full(finding), goes_on=goes_on)
        if await self.app.push_screen_wait(page) == "go":
            await self.go_to(finding.missing[0])

    def do_site_list(self) -> None:
        self.keep()
        self.run_worker(self._show_site_list())

    async def _show_site_list(self) -> None:
        assessment = self.session.assess()
        seen: dict[str, Content] = {}
        for stage in assessment.stages.values():
            for measure in stage.measure:
                waits = ", ".join(measure.waits[:3])
                seen[measure.address] = Content.assemble(
                    safe(measure.label, "bold"), "  ", safe(measure.address, "$quiet"), "\n",
                    safe(measure.unread or measure.how, "$verdict-short" if measure.unread else ""), "\n",
                    safe(f"{waits} waits for it." if waits else "", "$quiet"),
                )  # fmt: skip
        if not seen:
            self.hearth.say("Nothing is left to measure for what is judged here.")
            return
        page = ChoicePage("Site list: still to be measured, in the order of the walk", "", list(seen.items()))
        answer = await self.app.push_screen_wait(page)
        if answer is not None:
            await self.go_to(answer)

    def do_how(self) -> None:
        field = self.hearth.focused
        row = self.form.row_of(field) if isinstance(field, Field) else None
        self.run_worker(self._show_how(row))

    async def _show_how(self, row: Row | None) -> None:
        if (
            row is not None and row.key == "about.edition"
        ):  # it tells of all of them: a third of a second to read
            await asyncio.to_thread(reference.editions)
        await self.app.push_screen_wait(TextPage("How to measure, and the keys", self._how(row)))

    @staticmethod
    def _how(row: Row | None) -> Content:
        rows: list[Content] = []
        if row is not None and row.how:
            rows += [
                safe(row.full_label, "bold $brick"),
                safe(row.how),
                safe(row.range, "$quiet"),
                safe(f"In the file: {row.address}", "$quiet"),
                Content(""),
            ]
            if row.unit:
                rows += [
                    Content("Type it as you read it off the tape: 7 1/2, 7-1/2, 2' 6, 2 ft 6 1/2 in, 190.5 mm, 19 cm, 1.2 m."), Content("")
                ]  # fmt: skip
        if row is not None and row.key == "about.edition":
            rows += [in_full(reference.editions(), row.text), Content("")]
        for group in commands.GROUPS:
            rows.append(Content.styled(group, "bold $brick"))
            rows += [
                Content.assemble((f"{commands.keys_of(command):<18} ", "bold $ember"), command.title)
                for command in commands.COMMANDS
                if command.group == group
            ]
            rows.append(Content(""))
        return Content("\n").join(rows)

    def do_caution(self) -> None:
        self.app.push_screen(caution_page())

    async def do_undo(self) -> None:
        field = self.hearth.focused
        if isinstance(field, Field) and field.revert():
            return
        await self._go_back(self.session.undo(), "Undone", "There is nothing to undo.")

    async def do_redo(self) -> None:
        self.keep()
        await self._go_back(self.session.redo(), "Done again", "There is nothing to redo.")

    async def _go_back(self, what: str | None, done: str, nothing: str) -> None:
        if what is None:
            self.hearth.say(nothing)
            return
        self.write_draft()
        if what and (
            place := self.session.place(what, "planned" if what.startswith("planned.") else "found")
        ):
            self.stage = "planned" if what.startswith("planned.") else self.stage
            self._at = place[0].id
            self._picked.update(place[1])
        await self.show_section(focus=True, address=what)
        self.hearth.say(f"{done}: {spec_of(what).label if what else 'the change'}.")

    # Files

    def do_save(self) -> None:
        self.keep()
        self.run_worker(files.save(self))

    def do_save_as(self) -> None:
        self.keep()
        self.run_worker(files.save(self, ask=True))

    def do_open(self) -> None:
        self.keep()
        self.run_worker(files.open_other(self))

    def do_new(self) -> None:
        self.keep()
        self.run_worker(files.new(self))

    async def put(self, session: Session) -> None:
        """Show another job in the place of this one."""
        self.session = session
        self.stage, self._at, self._picked, self._last_field = "found", ("about", ""), {}, None
        await self.show_section(focus=True)

    def do_palette(self) -> None:
        self.app.action_command_palette()

    def do_theme(self) -> None:
        self.hearth.next_theme()

    def do_quit(self) -> None:
        self.keep()
        self.run_worker(files.leave(self))

    def do_copy(self) -> None:
        field = self.hearth.focused
        if isinstance(field, Field) and field.text:
            self.app.copy_to_clipboard(field.text)
            self.hearth.say("The entry is copied. Ctrl+Q quits.")
        else:
            self.hearth.say("Ctrl+Q quits.")


def caution_page() -> TextPage:
    """The cautions in full; the line itself stands above every page."""
    lines = [Content.assemble((f"{GLYPHS.dot} ", "bold $verdict-close"), line) for line in caution.FULL]
    return TextPage("Before you rely on this", Content("\n\n").join(lines))
