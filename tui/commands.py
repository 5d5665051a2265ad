"""The one table of commands: key bindings, palette, key line, help and the README's table all come from it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal, NamedTuple

Scope = Literal["anywhere", "field", "list"]

GROUPS = ("Measuring", "Findings", "The job", "The screen")


class Command(NamedTuple):
    """One thing that can be done.

    keys: as Textual names them, the first is the one shown.  short: its word in the key line, which has room for those
    of low rank first; 0 where it never stands there.
    scope: "anywhere" is bound for the whole program and stands in the palette; "field" and "list" work inside one only.
    also: other words by which people look for it in the palette.
    """

    id: str
    title: str
    keys: tuple[str, ...]
    help: str
    group: str
    short: str = ""
    rank: int = 0
    scope: Scope = "anywhere"
    also: tuple[str, ...] = ()

    @property
    def letter(self) -> str:
        """The letter that it has with Alt, and after Ctrl+G; "" for none."""
        return next((key[4:] for key in self.keys if key.startswith("alt+") and len(key) == 5), "")


COMMANDS: tuple[Command, ...] = (
    Command(
        "how", "How to measure this, and the keys", ("f1", "alt+g"),
        "What the field asks for, how to measure it, every key", "Measuring", short="how", rank=1,
        also=("help", "keys", "shortcuts", "instructions", "tape"),
    ),
    Command(
        "stage", "As found / as planned", ("f2",),
        "Turn between what is there and what the work will change", "Measuring", short="found/planned", rank=2,
        also=("existing", "proposed", "before", "after", "new work"),
    ),
    Command(
        "missing", "Next mistake or missing measurement", ("f3",),
        "Go to the next entry that cannot be read, else the next one a finding waits for", "Measuring", short="missing", rank=3,
        also=("todo", "empty", "blank", "mistake", "error"),
    ),
    Command(
        "sections", "Go to a section", ("f4",),
        "Every section with how much is filled and its worst verdict", "Measuring", short="go to", rank=4,
        also=("jump", "pages", "tabs", "list"),
    ),
    Command(
        "next_section", "Next section", ("pagedown", "ctrl+down"),
        "On to the next part of the walk", "Measuring", scope="field",
    ),
    Command(
        "previous_section", "Section before", ("pageup", "ctrl+up"),
        "Back to the part before", "Measuring", scope="field",
    ),
    Command(
        "next", "Next field", ("tab", "enter", "down", "ctrl+j"),
        "Keep the entry and go on; after the last field, on to the next section", "Measuring", scope="field",
    ),
    Command(
        "previous", "Field before", ("shift+tab", "up"),
        "Keep the entry and go back", "Measuring", scope="field",
    ),
    Command(
        "revert", "Take back what was typed", ("escape",),
        "The entry as it was before", "Measuring", scope="field",
    ),
    Command(
        "suggestion", "Take the suggested unit", ("f5",),
        "Where an entry looks like the wrong unit, take what is suggested", "Measuring",
        also=("fix unit", "materials", "browse", "choose"),
    ),
    Command(
        "add", "Add a face, item or layer", ("f7", "insert"),
        "Another face, empty or with the sizes of one that is there; in a list another item near the fire, roof, fan or layer", "Measuring",
        short="add", rank=10,
        also=("insert", "new face", "new roof", "another"),
    ),
    Command(
        "remove", "Remove this face, item or layer", ("f8",),
        "Takes away what the section shows; undo brings it back", "Measuring",
        also=("delete", "erase"),
    ),
    Command(
        "plan_field", "Plan this as found", ("shift+f2", "alt+c"),
        "Copy what was found in this field to what is planned", "Measuring",
        also=("duplicate", "same"),
    ),
    Command(
        "plan_section", "Plan this section as found", ("shift+f4", "alt+a"),
        "Copy every entry of the section to what is planned, where nothing is planned yet", "Measuring",
        also=("duplicate", "same"),
    ),
    Command(
        "layer_up", "Move this layer up", ("shift+f7", "alt+up", "alt+u"),
        "In the layers of a hearth, over the one above it", "Measuring",
    ),
    Command(
        "layer_down", "Move this layer down", ("shift+f8", "alt+down", "alt+n"),
        "In the layers of a hearth, below the one under it", "Measuring",
    ),
    Command(
        "from_paper", "From the measuring sheet", ("alt+t",),
        "Type what was written on paper by its letters, in any order: b 36 1/2", "Measuring",
        also=("paper", "letters", "transcribe", "type in"),
    ),
    Command(
        "units", "Inches / millimeters", ("ctrl+t",),
        "Turns every length, exactly; turned back, each stands as it was typed", "Measuring",
        also=("metric", "imperial", "mm", "feet", "centimeters", "convert"),
    ),
    Command(
        "findings", "Between measuring and findings", ("f6",),
        "Move to the findings, and back to the field", "Findings", short="findings", rank=5,
        also=("results", "verdict", "problems", "warnings"),
    ),
    Command(
        "uses", "From a field to its findings, and back", ("shift+f6", "f11", "alt+j"),
        "To the findings that use the entry, one after the other; in the findings, to the field", "Findings",
        also=("why", "affects"),
    ),
    Command(
        "open_finding", "Show the finding", ("enter",),
        "Its working, what it rests on, the remedy", "Findings", scope="list",
    ),
    Command(
        "site_list", "Site list", ("ctrl+l",),
        "What is still to be measured, in the order of the walk", "Findings", short="site list", rank=9,
        also=("print", "punch list", "checklist", "to do", "tape list"),
    ),
    Command(
        "drawing", "The drawing", ("ctrl+e",),
        "Elevations, section and plan to scale, beside the fields; again: over the whole screen", "Findings", short="drawing", rank=11,
        also=("sketch", "plan", "picture", "elevation", "diagram"),
    ),
    Command(
        "draft", "Will it draw", ("ctrl+d",),
        "Pressures, flow at each face and other weathers, for each way of using it", "Findings", short="draft", rank=12,
        also=("smoke", "smoking", "chimney pulls", "wind", "backdraft"),
    ),
    Command(
        "heat", "Heat in the hearth", ("shift+f12", "alt+h"),
        "Temperatures through the layers for three fires, and how far the bare floor gets too warm", "Findings",
        also=("temperature", "wood", "char", "fire"),
    ),
    Command(
        "takeoff", "What to buy", ("ctrl+w",),
        "Brick, mortar, slab, steel and liner by trade, with the working; of a plan, the order of work too", "Findings",
        also=("materials", "brick", "shopping", "order", "cost", "quantities"),
    ),
    Command(
        "beside", "Found beside planned", ("shift+f3", "alt+b"),
        "Every finding as found and as planned, those that differ first", "Findings", short="side by side", rank=13,
        also=("before and after", "existing", "proposed"),
    ),
    Command(
        "compare", "Side by side", ("shift+f5", "alt+d"),
        "As found beside as planned, this job by two editions, what changed since it was saved", "Findings", short="compare", rank=15,
        also=("difference", "codes", "editions", "before and after"),
    ),
    Command(
        "whatif", "What if", ("alt+m",),
        "Move any entry by keys while all findings follow; nothing is written until you keep it", "Findings",
        also=("try", "suppose", "compare"),
    ),
    Command(
        "smallest", "Smallest change that cures", ("alt+l",),
        "What would cure the finding in hand, with what else that does; Enter plans it", "Findings",
        also=("cure", "solve", "remedy"),
    ),
    Command(
        "sure", "How sure", ("alt+y",),
        "How often each finding holds with sizes, weather and constants off by chance, and what to measure again", "Findings",
        also=("chance", "uncertain", "tolerance", "weather"),
    ),
    Command(
        "reference", "Reference values", ("ctrl+f",),
        "Browse, search and amend the values of the edition, with who and why", "Findings", short="values", rank=14,
        also=("code", "tables", "limits", "town", "amendments", "irc"),
    ),
    Command(
        "validation", "How far the models can be trusted", ("alt+v",),
        "Published figures beside what the models give, with what they are known to miss", "Findings",
        also=("proof", "accuracy", "trust"),
    ),
    Command(
        "coverage", "What was judged, and what was not", ("alt+k",),
        "Every clause listed for the edition: judged, advice, or not judged and why", "Findings",
        also=("clauses", "code", "scope", "left out"),
    ),
    Command(
        "save", "Save", ("ctrl+s", "f9"),
        "Write the job to its file, comments kept", "The job", short="save", rank=6,
        also=("write", "keep", "store"),
    ),
    Command(
        "save_as", "Save under another name", ("f12",),
        "Write the job to another file", "The job",
        also=("copy file", "rename"),
    ),
    Command(
        "open", "Open a job", ("ctrl+o",),
        "Another job file", "The job",
        also=("load", "file", "recent"),
    ),
    Command(
        "questions", "What is asked", ("shift+f1", "alt+q"),
        "Flue, hearth, clearances, chimney, draft, steel, firebox, or everything; the rest is left out", "The job",
        also=("scope", "what to check"),
    ),
    Command(
        "start", "First page", ("shift+f9", "alt+f"),
        "Quick check, new job, recent jobs, demos, unsaved work", "The job",
        also=("home", "menu", "demo", "quick check"),
    ),
    Command(
        "new", "New job", ("ctrl+n",),
        "Start with an empty record", "The job",
        also=("create", "blank"),
    ),
    Command(
        "report", "On paper", ("alt+p",),
        "Look through the report, write it, and find those written before; site list and what to buy alone", "The job",
        also=("report", "pdf", "hand over", "homeowner", "permit"),
    ),
    Command(
        "sign", "Sign off", ("alt+s",),
        "Who measured or checked signs for the job as it stands; a later change voids it", "The job",
        also=("signature", "initials"),
    ),
    Command(
        "undo", "Undo", ("ctrl+z",),
        "Take back the last change of the job", "The job",
        also=("back", "mistake"),
    ),
    Command(
        "redo", "Redo", ("ctrl+y",),
        "Do it again", "The job",
        also=("again", "forward"),
    ),
    Command(
        "copy", "Copy the entry", ("ctrl+c",),
        "To the clipboard; Ctrl+Q quits", "The screen",
    ),
    Command(
        "cut", "Cut the entry", ("ctrl+x",),
        "To the clipboard, and out of the field", "The screen",
    ),
    Command(
        "paste", "Paste", ("ctrl+v",),
        "What was copied or cut here; your terminal has a key of its own for what was copied elsewhere", "The screen",
    ),
    Command(
        "palette", "Every command by name", ("ctrl+p",),
        "Type a few letters of what you want", "The screen", short="more", rank=7,
    ),
    Command(
        "by_letter", "Commands by a letter", ("ctrl+g",),
        "Then the letter that stands with Alt here: for a terminal or a Mac that keeps Alt and Shift+F keys to itself", "The screen",
        also=("alt", "option", "meta", "tmux", "mac"),
    ),
    Command(
        "caution", "Read the cautions in full", ("ctrl+r",),
        "What these checks are and are not", "The screen",
        also=("danger", "warning", "carbon monoxide", "liability"),
    ),
    Command(
        "theme", "Next look", ("ctrl+k",),
        "Soot, daylight with high contrast, or safe for color blindness", "The screen",
        also=("color", "dark", "light", "contrast", "daylight"),
    ),
    Command(
        "quit", "Quit", ("ctrl+q", "f10"),
        "Asks first where something is not saved", "The screen", short="quit", rank=8,
        also=("exit", "close", "leave", "end"),
    ),
)  # fmt: skip

BY_ID = {command.id: command for command in COMMANDS}

KEY_NAMES = {
    "pagedown": "PgDn",
    "pageup": "PgUp",
    "escape": "Esc",
    "tab": "Tab",
    "enter": "Enter",
    "up": "Up",
    "down": "Down",
}


def use(keys: Mapping[str, tuple[str, ...]]) -> None:
    """Give commands other keys, by their ids; before any widget is loaded, which takes its bindings from here."""
    global COMMANDS, BY_ID
    COMMANDS = tuple(c._replace(keys=keys.get(c.id, c.keys)) for c in COMMANDS)
    BY_ID = {command.id: command for command in COMMANDS}


def key_name(key: str) -> str:
    """A key as it is printed on a keyboard: 'f1' -> 'F1', 'ctrl+s' -> 'Ctrl+S'."""
    parts = [KEY_NAMES.get(part, part.capitalize()) for part in key.split("+")]
    return "+".join(parts)


def keys_of(command: Command) -> str:
    """The keys of a command, joined for a person."""
    return ", ".join(key_name(key) for key in command.keys)


def bindings(scope: Scope) -> Iterator[tuple[str, str, str]]:
    """Every binding of a scope as keys, action and title."""
    for command in COMMANDS:
        if command.scope == scope:
            yield ",".join(command.keys), f"command('{command.id}')", command.title


def in_palette() -> list[Command]:
    """What the palette offers."""
    return [command for command in COMMANDS if command.scope == "anywhere" and command.id != "palette"]


def table() -> str:
    """The commands as a Markdown table, for the README."""
    rows = [
        f"| {keys_of(c)} | {c.title} | {c.help} |" for group in GROUPS for c in COMMANDS if c.group == group
    ]
    return "\n".join(["| key | does | in words |", "|---|---|---|", *rows])
