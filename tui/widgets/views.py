"""The views of a stage: its drawing, its draft, the heat in its hearths, what to buy. Beside the fields, or over the whole screen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import ClassVar

from msgspec import Struct
from msgspec.structs import replace
from rich.cells import set_cell_size
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.style import Style
from textual.widgets import Static

from hearthcalc import drawing, steps, takeoff
from hearthcalc.drawing.text import Ink, Run, as_rows
from hearthcalc.findings import StageResult
from hearthcalc.job import Face, Job, Stage
from hearthcalc.models.results import Floor, Lacking, Profile
from hearthcalc.reference import Edition
from hearthcalc.rules.case import label
from hearthcalc.rules.heat import places
from hearthcalc_tui.glyphs import GLYPHS
from hearthcalc_tui.safe import plain, safe
from hearthcalc_tui.widgets import telling
from hearthcalc_tui.widgets.draft import Button, bar, buttons, draft, temperature

METRE_IN_INCHES = 1 / 0.0254
ROOM_FOR_A_TITLE = 60
ASIDE = "A computed second opinion, for a fire that burns for hours; it never replaces the code's dimensions."


class Shown(Struct, frozen=True, dict=True):
    """What a view is drawn from: one stage of a job as it is judged. working: the models have still to be heard.

    tried: what a person tries on it, which is written nowhere.
    picked: the address of the entry that is picked on a drawing, "" for none.
    """

    job: Job
    name: str
    result: StageResult
    edition: Edition
    unread: Mapping[str, str]
    working: bool
    tried: frozenset[str] = frozenset()
    picked: str = ""

    @cached_property
    def stages(self) -> Mapping[str, Stage]:
        return self.job.stages()

    @property
    def stage(self) -> Stage:
        return self.stages[self.name]


class View(Struct, frozen=True):
    """One kind of view. parts: the names of what it can show, one at a time.  tell: part, columns and rows to text.

    words: the same in words, where it is a picture.  entries: those that one part shows, by address, with what it says of each.
    buttons: what can be tried on a part of it.
    """

    title: str
    parts: Callable[[Shown], Sequence[str]]
    tell: Callable[[Shown, int, int, int], Content]
    words: Callable[[Shown, int], Content] | None = None
    entries: Callable[[Shown, int], Sequence[tuple[str, str]]] = lambda shown, part: ()
    buttons: Callable[[Shown, int], Sequence[Button]] | None = None


def _drawings(shown: Shown) -> Sequence[drawing.Drawing]:
    return drawing.views(shown.stage, shown.result)


INKS: Mapping[Ink, str] = {
    "plain": "", "words": "", "solid": "", "steel": "bold", "dashed": "$quiet", "dimension": "$quiet",
    "asked": "$verdict-close", "masonry": "$brick", "hearth": "$quiet", "wood": "$ember",
}  # fmt: skip


def _draw(shown: Shown, part: int, width: int, height: int) -> Content:
    """The drawing. What is marked has its sign, its word and its color; each part carries its entry, for the mouse."""
    rows = as_rows(_drawings(shown)[part], width, height, ascii=GLYPHS.ascii)
    return Content("\n").join(Content("").join(_run(run, shown.picked) for run in row) for row in rows[1:])


def _run(run: Run, picked: str) -> Content:
    """Cells of a drawing that are drawn alike. picked: the entry in hand."""
    style, text = INKS[run.ink], run.text
    if run.verdict:
        style = telling.verdict_style(run.verdict)
        text = text.replace(f"{run.verdict.sign} {run.verdict}", f"{GLYPHS.sign(run.verdict)} {run.verdict}")
        text = GLYPHS.sign(run.verdict) if text.strip() == run.verdict.sign else text
    if picked and run.entry == picked and run.ink == "words":
        style = "bold $cursor-ink on $cursor-ground"
    told = safe(text, style)
    return told.stylize(Style.from_meta({"entry": run.entry})) if run.entry else told


def _in_words(shown: Shown, part: int) -> Content:
    lines = drawing.describe(_drawings(shown)[part]).splitlines()
    return Content("\n").join(safe(line) for line in lines[1:])


def _draft(shown: Shown, part: int, width: int, height: int) -> Content:
    if shown.working:
        return Content(telling.WORKING)
    return draft(shown.result, shown.result.states[part], shown.stage.job, width, shown.tried)


def _buttons(shown: Shown, part: int) -> Sequence[Button]:
    return () if shown.working else buttons(shown.result, part, shown.tried, shown.stage.job)


# Heat


def _heat(shown: Shown, part: int, width: int, height: int) -> Content:
    """Temperatures through the layers of a hearth, and how far the bare floor is too warm."""
    face, models = shown.stage.job.face[part], shown.result.models
    if models is None:
        return Content(telling.WORKING)
    job = shown.stage.job
    findings = telling.ordered(
        f for f in shown.result.findings if f.subject == "heat" and f.face in (face.name, None)
    )
    rows = [Content.assemble(telling.verdict_mark(f.verdict), "  ", safe(f.title, "bold")) for f in findings]
    profile, floor = models.hearths[face.name], models.floors[face.name]
    rows += [Content(""), _heading("Down through the hearth")]
    rows += [_waits(shown, profile)] if isinstance(profile, Lacking) else [*_profile(profile, job, width)]
    rows += [Content(""), _heading("How far bare wood on the floor would get too warm")]
    rows += [_waits(shown, floor)] if isinstance(floor, Lacking) else [*_reach(floor, job, face)]
    if findings:
        rows += [Content(""), _heading("In words"), *(safe(finding.text) for finding in findings)]
    rows += [Content(""), Content.styled(ASIDE, "italic $quiet")]
    return Content("\n").join(rows)


def _heading(text: str) -> Content:
    return Content.styled(text, "bold $brick")


def _waits(shown: Shown, lacking: Lacking) -> Content:
    if lacking.material:
        return safe(f"No material {lacking.material!r} is in the table of materials.")
    words = [
        f"{label(address)}, which cannot be read" if address in shown.unread else label(address)
        for address in lacking.missing
    ]
    return safe(f"Waits for: {'; '.join(dict.fromkeys(words))}.")


def _profile(made: Profile, job: Job, width: int) -> Iterator[Content]:
    names, titles = list(made.temperatures), [plain(text) for text in places(made)]
    room = max(14, min(38, width - 8 * len(names) - 2))
    yield Content.styled(f"{'':<{room}}" + "".join(f"{name:>8}" for name in names), "$quiet")
    for number, text in enumerate(titles):
        title = text if len(text) <= room - 1 else set_cell_size(text, room - 2) + GLYPHS.more
        yield Content.assemble(
            set_cell_size(title, room),
            *(
                _degrees(made.temperatures[name][number], job, wood=number == made.wood, limit=made.limit)
                for name in names
            ),
        )
    if width - room - 2 >= 20:
        yield from _to_scale(made, job, titles, room, width - room - 2)
    limit = f"Wood: {temperature(made.limit, job)} is the limit used."
    yield safe(limit if made.wood is not None else "No wood lies in it or under it.")
    if made.wood is not None:
        yield Content.styled("! marks where wood passes it.", "$quiet")


def _degrees(celsius: float, job: Job, *, wood: bool, limit: float) -> Content:
    passes = wood and celsius > limit
    style = "bold $verdict-short" if passes else "bold"
    return Content.styled(f"{temperature(celsius, job):>7}{'!' if passes else ' '}", style)


def _to_scale(made: Profile, job: Job, titles: Sequence[str], place: int, room: int) -> Iterator[Content]:
    """The temperatures of the first fire as bars, to the scale of the last."""
    first, *_, last = made.temperatures
    yield Content("")
    yield Content.styled(f"a {first} fire, to scale", "$quiet")
    for number, (text, celsius) in enumerate(zip(titles, made.temperatures[first], strict=True)):
        yield Content.assemble(
            set_cell_size(text, place - 1),
            " ",
            (bar(celsius, max(made.temperatures[last]), room - 13), "$ember"),
            f"{temperature(celsius, job):>6}",
            ("  wood" if number == made.wood else "", "bold"),
        )


def _reach(made: Floor, job: Job, face: Face) -> Iterator[Content]:
    unit, hearth = job.units, face.hearth
    yield Content.styled(f"{'':<10}{'out from it':>14}{'past its sides':>17}", "$quiet")
    for name, contour in made.reach.items():
        yield Content(f"{name:<10}{_distance(contour.front, unit):>14}{_distance(contour.side, unit):>17}")
    entered = [
        f"{what} {amount.text}"
        for what, amount in (("out", hearth.front), ("left", hearth.left), ("right", hearth.right))
        if amount
    ]
    yield safe(
        f"The hearth: {', '.join(entered)}." if entered else "The hearth is not measured yet.", "$quiet"
    )


def _distance(metres: float, unit: str) -> str:
    return f"{metres * METRE_IN_INCHES:.1f} in" if unit == "in" else f"{metres * 1000:.0f} mm"


def _lists(shown: Shown) -> list[str]:
    return [f"as {shown.name}", *(["order of work"] if shown.name == "planned" else [])]


def _buy(shown: Shown, part: int, width: int, height: int) -> Content:
    """What to buy, with its working; of a plan, then the order of its work."""
    if part:
        ordered = steps.of_findings(shown.job, shown.result.findings, shown.edition)
        lines = steps.text(ordered, width).splitlines()
    else:
        lines = takeoff.text(takeoff.take_off(shown.job, shown.edition, shown.name), width).splitlines()
    return Content("\n").join(
        safe(line, "bold" if line and not line.startswith(" ") else "") for line in lines
    )


VIEWS: Mapping[str, View] = {
    "drawing": View(
        "Drawing",
        lambda shown: [d.title for d in _drawings(shown)],
        _draw,
        _in_words,
        lambda shown, part: _drawings(shown)[part].shown,
    ),
    "draft": View(
        "Will it draw", lambda shown: [state.name for state in shown.result.states], _draft, buttons=_buttons
    ),
    "heat": View(
        "Heat in the hearth", lambda shown: [face.name or "" for face in shown.stage.job.face], _heat
    ),
    "takeoff": View("What to buy", _lists, _buy),
}


class TryButton(Static):
    """Something to try: its key, whether it is on, and what it is."""

    class Pressed(Message):
        """It was clicked."""

        def __init__(self, number: int) -> None:
            super().__init__()
            self.number = number

    def __init__(self, number: int, button: Button) -> None:
        mark = "[x]" if button.on else "[ ]"
        super().__init__(Content.assemble((f" {number} ", "bold"), f"{mark} ", safe(button.label)))
        self._number = number

    def on_click(self) -> None:
        self.post_message(self.Pressed(self._number))


class ViewBody(VerticalScroll):
    """One view and its parts, in the room it is given."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,p", "step(-1)", "The one before", show=False),
        Binding("right,n", "step(1)", "The next one", show=False),
        Binding("w", "turn", "Picture or words", show=False),
        Binding("tab", "pick(1)", "The next part of a drawing", show=False),
        Binding("shift+tab", "pick(-1)", "The part before", show=False),
        Binding(
            "enter",
            "chosen",
            "The field of the part picked; else over the whole screen, and back",
            show=False,
        ),
        *(Binding(str(n), f"press({n})", "Try it, and take it back", show=False) for n in range(1, 10)),
    ]

    class Chosen(Message):
        """Enter was pressed on a view."""

    class Sought(Message):
        """A part of a drawing leads to its field. entry: its address as found."""

        def __init__(self, entry: str) -> None:
            super().__init__()
            self.entry = entry

    def __init__(self, view: str, part: int = 0, tried: frozenset[str] = frozenset(), *, id: str) -> None:
        super().__init__(id=id)
        self.view = view
        self.part = part
        self.in_words = False
        self.tried = tried
        self._picked = ""
        self._shown: Shown | None = None
        self._buttons: Sequence[Button] = ()

    def compose(self) -> ComposeResult:
        yield Static(id="view-text")
        yield Vertical(id="view-buttons")

    def show(self, shown: Shown) -> None:
        self._shown = shown
        self.draw()

    def action_step(self, by: int) -> None:
        """On to another part."""
        if self._shown is not None:
            self.part = (self.part + by) % len(VIEWS[self.view].parts(self._shown))
            self._picked = ""
            self.scroll_home(animate=False)
            self.draw()

    def action_press(self, number: int) -> None:
        """Try what a button stands for, or take it back."""
        if number <= len(self._buttons):
            button = self._buttons[number - 1]
            self.tried, self.part = button.tried, button.part
            self.draw()

    def on_try_button_pressed(self, message: TryButton.Pressed) -> None:
        self.action_press(message.number)

    def action_turn(self) -> None:
        """Between picture and words, where there is a picture."""
        self.in_words = not self.in_words
        self.scroll_home(animate=False)
        self.draw()

    def action_pick(self, by: int) -> None:
        """On to another part of a drawing."""
        addresses = [address for address, _ in self._entries()]
        if addresses:
            at = addresses.index(self._picked) + by if self._picked in addresses else min(by, 0)
            self._picked = addresses[at % len(addresses)]
            self.draw()

    def _entries(self) -> Sequence[tuple[str, str]]:
        return VIEWS[self.view].entries(self._shown, self.part) if self._shown is not None else ()

    def action_chosen(self) -> None:
        self.post_message(self.Sought(self._picked) if self._picked else self.Chosen())

    def on_click(self, event: events.Click) -> None:
        """On a part of a drawing, to its field."""
        if entry := event.style.meta.get("entry"):
            self.post_message(self.Sought(entry))

    def on_resize(self) -> None:
        self.draw()

    def draw(self) -> None:
        view = VIEWS[self.view]
        if self._shown is None or not self.size.width:
            return
        shown = replace(self._shown, tried=self.tried) if self.tried else self._shown
        parts = view.parts(shown)
        self.part = min(self.part, len(parts) - 1)
        width, height = self.scrollable_content_region.width, self.size.height
        words = view.words if self.in_words else None
        said = dict(self._entries())
        self._picked = self._picked if self._picked in said else ""
        if self._picked:
            shown = replace(shown, picked=self._picked)
        text = words(shown, self.part) if words else view.tell(shown, self.part, width, max(8, height))
        body = self.query_one("#view-text", Static)
        picture = view.words is not None and words is None
        body.styles.text_wrap = "nowrap" if picture else "wrap"
        body.styles.text_overflow = "clip" if picture else "fold"
        head = _head(view.title, parts, self.part, width)
        if self._picked:
            at = f"{list(said).index(self._picked) + 1}/{len(said)} "
            head = Content.assemble((at, "$quiet"), safe(said[self._picked], "bold", width - len(at)))
        body.update(Content.assemble(head, "\n", text))
        self._show_buttons(view.buttons(shown, self.part)[:9] if view.buttons else ())

    def _show_buttons(self, made: Sequence[Button]) -> None:
        if made == self._buttons:
            return
        self._buttons = made
        row = self.query_one("#view-buttons", Vertical)
        row.remove_children()
        row.mount(*(TryButton(number, button) for number, button in enumerate(made, 1)))


def _head(title: str, parts: Sequence[str], part: int, width: int) -> Content:
    """Which view, and which of its parts; the name of the part alone where there is little room."""
    several = len(parts) > 1
    count = f"{part + 1}/{len(parts)}  " if several else ""
    name = f"{GLYPHS.left} {parts[part]} {GLYPHS.right}" if several else parts[part]
    lead = f"{title}  " if width >= ROOM_FOR_A_TITLE or not several else ""
    return Content.assemble((lead, "bold $brick"), (count, "$quiet"), safe(name, "bold", 80))
