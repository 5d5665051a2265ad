"""The tables of a job file: every key, what it takes, and how to measure it."""

import datetime as dt
from collections.abc import Iterator, Mapping, Set
from fractions import Fraction
from types import MappingProxyType
from typing import Annotated, Any, ClassVar, Literal, Self, TypedDict, Unpack, get_args, get_origin

from msgspec import Struct

from hearthcalc.asked import QUESTIONS
from hearthcalc.entry import NO_WORDS, Amount, Between, FieldSpec, Form, Kind, Size

Bounds = tuple[int | Fraction, int | Fraction]
Document = dict[str, Any]
NO_VALUES: Mapping[str, Any] = MappingProxyType({})

# The words that entries take

YesNo = Literal["yes", "no", "unknown"]
Construction = Literal["masonry", "steel-lined masonry", "factory-built", "unknown"]
Pattern = Literal["conventional", "rumford"]
Side = Literal["front", "back", "left", "right"]
Arch = Literal["flat", "segmental", "semicircular"]
OpensTo = Literal["room", "bedroom", "garage", "screened", "glazed", "outdoors"]
Closure = Literal["none", "glass doors", "steel doors", "fixed glass", "panel"]
Below = Literal["masonry", "concrete", "earth", "brick arch", "air gap", "wood", "wood, insulated", "unknown"]
AboveLintel = Literal["wall", "smoke chamber", "stack", "unknown"]
BehindLintel = Literal["nothing", "smoke chamber", "flue", "unknown"]
Damper = Literal["throat", "top", "none", "unknown"]
ChamberForm = Literal["sloped", "corbelled", "prefabricated", "unknown"]
Shape = Literal["round", "square", "rectangular", "oval"]
FlueLining = Literal["clay", "listed liner", "poured", "unlined", "unknown"]
Condition = Literal["sound", "cracked", "gaps", "glazed", "unknown"]
Place = Literal["inside", "in the outside wall", "outside", "unknown"]
Cap = Literal["none", "open", "restrictive", "unknown"]
What = Literal[
    "mantel",
    "trim",
    "framing",
    "sheathing",
    "siding",
    "decking",
    "insulation",
    "wall",
    "floor",
    "ceiling",
    "furniture",
    "other",
]
At = Literal["firebox front", "firebox side", "firebox back", "chimney"]
Where = Literal["house", "room", "beyond"]
GasLogs = Literal["none", "listed", "unlisted", "vent-free"]
Airtightness = Literal["tight", "average", "leaky"]
FireSize = Literal["steady", "hot", "roaring"]
Jamb = Literal["left", "right", "both"]
Signing = Literal["measured", "checked"]
Question = Literal["flue", "hearth", "clearances", "chimney", "draft", "steel", "firebox", "everything"]
Cleanout = Literal["through the fireplace", "door", "none", "unknown"]
SeismicClass = Literal["A", "B", "C", "D0", "D1", "D2", "E", "unknown"]
AshDump = Literal["none", "metal or masonry door", "other", "unknown"]
ChamberLining = Literal["none", "firebrick", "vitrified clay", "unknown"]
DuctFrom = Literal[
    "outdoors",
    "ventilated attic",
    "ventilated crawl space",
    "attic",
    "crawl space",
    "garage",
    "basement",
    "unknown",
]


class Table:
    """A table of the job file. It cannot be changed.

    entered: the keys that were entered; the others hold what they are without an entry, which is blank.  fields: what each key of the
    file takes: an entry, or a table below it.  needed: those without which it is no table of its kind.
    """

    __slots__ = ("__dict__", "entered")
    DEFAULT_NAME: ClassVar[str] = ""
    _takes: ClassVar[Mapping[str, Any]] = {}
    fields: ClassVar[Mapping[str, "FieldSpec | Sub"]] = {}
    blank: ClassVar[Mapping[str, Any]] = {}
    needed: ClassVar[Set[str]] = frozenset()
    entered: Set[str]

    def __init_subclass__(cls) -> None:
        own = {
            key: kind for key, kind in cls.__annotations__.items() if ClassVar not in (kind, get_origin(kind))
        }
        cls._takes = {**cls._takes, **own}
        cls.fields = {**cls.fields, **{key: _field(kind) for key, kind in own.items()}}
        cls.blank = {key: getattr(cls, key, None) for key in cls.fields}
        cls.needed = frozenset(key for key in cls.fields if not hasattr(cls, key))

    def __init__(self, entered: Set[str] = frozenset(), values: Mapping[str, Any] = NO_VALUES) -> None:
        """values: as they have been read, by key; some may be of keys that were not entered."""
        object.__setattr__(self, "entered", entered)
        self.__dict__.update(self.blank)
        self.__dict__.update(values)

    def __setattr__(self, key: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} cannot be changed: {key}")

    def __delattr__(self, key: str) -> None:
        raise AttributeError(f"{type(self).__name__} cannot be changed: {key}")

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self.__dict__ == other.__dict__

    def __hash__(self) -> int:
        return hash((type(self), *self.__dict__.values()))

    def __repr__(self) -> str:
        entered = (f"{key}={self.__dict__[key]!r}" for key in self.fields if key in self.entered)
        return f"{type(self).__name__}({', '.join(entered)})"

    def __reduce__(self) -> tuple[type[Self], tuple[Set[str], Mapping[str, Any]]]:
        return type(self), (self.entered, self.__dict__)

    def document(self) -> Document:
        """What was entered, as it was typed, in the order of the file."""
        document = {}
        for key, node in type(self).fields.items() if self.entered else ():
            if key in self.entered and (value := getattr(self, key)) is not None:
                written = value if type(value) is str else _written(value, node)
                if written != {}:
                    document[key] = written
        return document


class Sub(Struct, frozen=True):
    """A table in a table; with a spec, a list of such."""

    table: type[Table]
    spec: FieldSpec | None

    @property
    def many(self) -> bool:
        return self.spec is not None

    @property
    def named(self) -> bool:
        return "name" in self.table.fields


def _written(value: Any, node: FieldSpec | Sub) -> Any:
    if isinstance(value, Table):
        return value.document()
    if isinstance(value, tuple):
        return [_written(item, node) for item in value]
    if not isinstance(value, (Amount, Size)):
        return value
    if isinstance(node, FieldSpec) and node.kind in ("ratio", "count"):
        for number in (int, float):
            try:
                if str(number(value.text)) == value.text:
                    return number(value.text)
            except ValueError:
                continue
    return value.text


def _field(takes: Any) -> FieldSpec | Sub:
    """What a key takes, from its annotation."""
    spec = spec_of(takes)
    sub = next((kind for kind in _types(takes) if issubclass(kind, Table)), None)
    if sub is not None:
        return Sub(sub, spec)
    assert spec is not None
    return spec


def item_of(table: type[Table], key: str) -> FieldSpec | None:
    """What each value of a list takes; None where the key holds no list of values."""
    for part in get_args(get_args(table._takes[key])[0]):
        if get_origin(part) is tuple:
            return spec_of(get_args(part)[0])
    return None


def spec_of(takes: Any) -> FieldSpec | None:
    """What there is to know of an entry, where its annotation says so."""
    return next((item for item in getattr(takes, "__metadata__", ()) if isinstance(item, FieldSpec)), None)


def _types(annotation: Any) -> Iterator[type]:
    if isinstance(annotation, type):
        yield annotation
    for part in get_args(annotation):
        yield from _types(part)


class Links(TypedDict, total=False):
    """What an entry was taken from: see FieldSpec."""

    between: Between
    rests_on: tuple[str, ...]
    changes: tuple[str, ...]


def amount(
    kind: Kind, label: str, how: str, hard: Bounds, usual: Bounds, *choices: str, **links: Unpack[Links]
) -> FieldSpec:
    """An entry that takes a quantity; hard, usual: least and most, canonical.  choices: words it takes as well."""
    low, high = (Fraction(bound) for bound in hard)
    least, most = (Fraction(bound) for bound in usual)
    return FieldSpec(label, kind, how, (low, high), (least, most), choices, **links)


def length(label: str, how: str, hard: Bounds, usual: Bounds, **links: Unpack[Links]) -> FieldSpec:
    return amount("length", label, how, hard, usual, **links)


def choice(
    literal: object, label: str, how: str, words: Mapping[str, str] = NO_WORDS, **links: Unpack[Links]
) -> FieldSpec:
    return FieldSpec(label, "choice", how, choices=get_args(literal), words=words, **links)


def yes_no(label: str, how: str, **links: Unpack[Links]) -> FieldSpec:
    return FieldSpec(label, "bool", how, **links)


def words(form: Form, label: str, how: str, **links: Unpack[Links]) -> FieldSpec:
    return FieldSpec(label, "text", how, form=form, **links)


def listing(label: str, how: str, **links: Unpack[Links]) -> FieldSpec:
    return FieldSpec(label, "list", how, **links)


# The parts of the house that measurements run between, and what each belongs to: the whole fireplace (""), a face, a thing
# nearby or a roof. A part may stand for others: "the masonry" beside a thing is the side, back or chimney that the thing is at.
PARTS: Mapping[str, str] = MappingProxyType({
    "room floor": "face", "hearth top": "face", "hearth underside": "face", "hearth build-up": "face",
    "hearth front end": "face", "hearth left end": "face", "hearth right end": "face", "floor under the hearth": "face",
    "opening plane": "face", "facing": "face", "left jamb": "face", "right jamb": "face", "lintel": "face",
    "shape of the opening": "face", "top of the wall": "face", "steel": "face", "doors": "face",
    "firebox floor": "", "firebox back": "", "firebox sides": "", "firebox floor underside": "", "openings": "", "cut": "",
    "jambs of the cut": "",
    "outside of the back": "", "outside of the sides": "", "outside of the front": "", "outside of the chimney": "",
    "throat": "", "throat opening": "", "damper": "", "smoke chamber": "", "start of the flue": "", "flue lining": "",
    "size of the flue": "",
    "flue top": "", "top of the masonry": "",
    "new flue on top": "", "cap": "", "neutral level": "", "fire": "",
    "nearest jamb": "nearby", "the thing": "nearby", "front of the thing": "nearby", "place of the thing": "nearby",
    "face of the thing": "nearby", "the masonry": "nearby", "the lining": "nearby",
    "roof at the chimney": "roof", "highest part of the roof": "roof", "ridge, level": "roof", "slope of the roof": "roof",
})  # fmt: skip
OPENING = ("left jamb", "right jamb", "lintel", "firebox floor", "shape of the opening")
LINTEL = ("left jamb", "right jamb", "lintel", "shape of the opening")
# What goes with a fireplace that is taken out for one of another kind.
BUILT = (
    "firebox floor",
    "firebox back",
    "firebox sides",
    "firebox floor underside",
    "outside of the back",
    "outside of the sides",
    "throat",
    "throat opening",
    "damper",
    "smoke chamber",
    "start of the flue",
    "flue lining",
)
THROAT = ("throat", "throat opening", "firebox back", "firebox sides")
BESIDE = ("the masonry", "place of the thing")


# The tables of the file, keys in the order of the file. A missing key is None: not known, never zero.
# Keys with a default: units (in), about.edition (irc-2021), about.measured (true).
# One key, one short block:
# fmt: off


class About(Table):
    """What the job is, and what it is judged by."""

    title: Annotated[str | None, words("prose", "Title",
        "What you would write on the folder: the house and the chimney.",
    )] = None
    place: Annotated[str | None, words("prose", "Place",
        "Town, street or lot; it goes on the report and decides nothing.",
    )] = None
    measured_by: Annotated[str | None, words("prose", "Measured by", "Who held the tape.")] = None
    date: Annotated[dt.date | None, FieldSpec("Date", "date",
        "The day it was measured, as year-month-day: 2026-05-04.",
    )] = None
    edition: Annotated[str, words("code", "Judged by",
        "The code or handbook that the building department goes by. Ask them, and for their amendments.",
    )] = "irc-2021"
    amendments: Annotated[str | None, words("prose", "Amendments of",
        "The town or county whose amendments this house is judged with, as they name it. Amendments without a place hold for "
        "every job.",
    )] = None
    measured: Annotated[bool, yes_no("Measured on site",
        "Yes where a tape was held to it. No for a drawing or an intention: then lengths are compared "
        "exactly, without a tolerance.",
    )] = True
    notes: Annotated[str | None, words("notes", "Notes",
        "Anything the next person should know: soot marks, cracks, what could not be reached.",
    )] = None


QUESTION = choice(Question, "Question", "One thing the job asks.", QUESTIONS)


class Asked(Table):
    """What the job asks. What is left out is not judged, and said to be left out."""

    questions: Annotated[tuple[Annotated[Question, QUESTION], ...] | None, listing("What is asked",
        "Name what you want to know: flue, hearth, clearances, chimney, draft, steel, firebox, with commas between "
        "them. Only what those need is measured and judged; the rest is listed as left out. Leave it empty for everything.",
    )] = None


class Fireplace(Table):
    """What kind of fireplace it is."""

    construction: Annotated[Construction | None, choice(Construction, "Construction",
        "Look inside with a flashlight. Brick or stone all around and a clay or masonry throat: masonry. A metal "
        "firebox, a rating plate, louvers or a metal chimney: factory-built, even where brick is laid in "
        "front of it.",
        {
            "masonry": "laid up on the site, brick or stone",
            "steel-lined masonry": "a steel firebox set into masonry",
        },
        changes=BUILT,
    )] = None
    pattern: Annotated[Pattern | None, choice(Pattern, "Pattern",
        "Rumford where the firebox is shallow, with widely splayed sides and a rounded throat; else "
        "conventional.",
        {"rumford": "shallow, tall, splayed"},
    )] = None
    contact_listed: Annotated[bool | None, yes_no("Unit listed for contact",
        "Yes only where the papers of a listed masonry fireplace unit say that wood may touch it.",
    )] = None


class Layer(Table):
    """One layer of a hearth."""

    material: Annotated[str | None, words("code", "Material",
        "Its name in the table of materials, the layer you stand on first.",
    )] = None
    thickness: Annotated[Amount | None, length("Thickness of the layer",
        "Measure it at an edge or a cut; else take it from the product.",
        (Fraction(1, 64), 48), (Fraction(1, 8), 12),
    )] = None


class Hearth(Table):
    """The hearth extension before one face."""

    front: Annotated[Amount | None, length("Hearth depth in front",
        "Hook the tape at the plane of the opening, not at the facing, and run it straight out to where the "
        "noncombustible hearth ends. Do not count the firebox floor.",
        (0, 240), (12, 48),
        between=Between("opening plane", "hearth front end"),
    )] = None
    facing: Annotated[Amount | None, length("Facing sticks out",
        "How far stone, tile or brick facing stands out in front of the opening. Some codes measure the "
        "hearth from there. 0 where there is none.",
        (0, 24), (0, 6),
        between=Between("opening plane", "facing", moves="neither"), changes=("facing",),
    )] = None
    left: Annotated[Amount | None, length("Hearth, past the left jamb",
        "Stand facing the fire. From the inner edge of the left jamb along the wall to the left end of the "
        "hearth.",
        (0, 240), (6, 48),
        between=Between("hearth left end", "left jamb", moves="start", past_zero=True),
    )] = None
    right: Annotated[Amount | None, length("Hearth, past the right jamb",
        "Stand facing the fire. From the inner edge of the right jamb along the wall to the right end of "
        "the hearth.",
        (0, 240), (6, 48),
        between=Between("right jamb", "hearth right end", past_zero=True),
    )] = None
    thickness: Annotated[Amount | None, length("Thickness of the hearth",
        "All of what does not burn, from the top of the hearth down to what carries it. Look at an open "
        "edge, or from the room below.",
        (0, 48), (Fraction(3, 8), 12),
        between=Between("hearth underside", "hearth top", moves="start", told_by="hearth.above_floor", follows=True),
        rests_on=("floor under the hearth", "hearth build-up"),
    )] = None
    above_floor: Annotated[Amount | None, length("Top of the hearth above the floor",
        "From the finished floor up to the top of the hearth. 0 where they are flush.",
        (0, 48), (0, 18),
        between=Between("room floor", "hearth top", told_by="hearth.thickness"),
    )] = None
    below: Annotated[Below | None, choice(Below, "Below the hearth",
        "Look from the room or crawl space below, with a flashlight and a probe. Form boards left under the "
        "hearth are wood. If you cannot see it, it is unknown.",
        {
            "brick arch": "a trimmer arch that springs from the masonry",
            "air gap": "nothing touches the underside", "wood": "joists, boards or form boards",
            "wood, insulated": "wood under a layer of insulation",
        },
        rests_on=("hearth underside", "floor under the hearth"),
    )] = None
    specified_r: Annotated[Amount | None, amount("resistance", "R required by a listing",
        "Only where the papers of a listed unit ask for an R value of the hearth: copy it with its unit, as "
        "in 1.0 h.ft2.F/Btu.",
        (0, 20), (Fraction(1, 20), 1),
    )] = None
    layers: Annotated[tuple[Layer, ...] | None, listing("Layers of the hearth",
        "What the hearth is laid of, from the top down to the floor's structure, each with its thickness.",
        rests_on=("hearth top", "hearth underside", "floor under the hearth"), changes=("hearth build-up",),
    )] = None


class Lintel(Table):
    """What carries the masonry over one face."""

    above: Annotated[AboveLintel | None, choice(AboveLintel, "What sits on the lintel",
        "Look up inside past the lintel and at the wall above. Only plain wall over the opening is wall; "
        "where the throat or chimney sits on it, say so.",
        {
            "wall": "plain wall alone", "smoke chamber": "the smoke chamber rests on it",
            "stack": "the chimney stack rests on it",
        },
        rests_on=LINTEL,
    )] = None
    behind: Annotated[BehindLintel | None, choice(BehindLintel, "What stands behind the wall over it",
        "Over a back or side opening the smoke chamber or the flue often stands right behind the wall. Look up inside, and "
        "compare the outside of the masonry. Nothing: only where the wall over the opening stands by itself.",
        {"nothing": "the wall stands by itself"},
        rests_on=LINTEL,
    )] = None
    span: Annotated[Amount | None, length("Clear span",
        "Between the faces of the two supports, along the underside of the lintel.",
        (1, 240), (18, 84),
        between=Between("left jamb", "right jamb", moves="neither"),
    )] = None
    wall_thickness: Annotated[Amount | None, length("Thickness of the wall it carries",
        "Front to back of the masonry that rests on the lintel, without plaster.",
        (1, 60), (3, 16),
    )] = None
    wall_height: Annotated[Amount | None, length("Height of the wall over the opening",
        "From the top of the lintel to the top of the masonry, or to the next beam that carries it.",
        (0, 1200), (6, 240),
        between=Between("lintel", "top of the wall", moves="neither"),
    )] = None
    wall_weight: Annotated[Amount | None, amount("area_load", "Weight of that wall",
        "Per area of its face, from the table of masonry weights: brick weighs about 10 lb/ft2 per inch.",
        (0, 1000), (20, 180),
    )] = None
    sound_beside: Annotated[bool | None, yes_no("Solid masonry each side",
        "Is there enough sound masonry on both sides to take the thrust of an arch: no opening, no corner, "
        "no crack within about half the span?",
        rests_on=LINTEL,
    )] = None
    other_load: Annotated[Amount | None, amount("line_load", "Other load on it",
        "What joists, beams or roof put on the lintel, per length. 0 lb/ft where nothing does.",
        (0, 20000), (0, 2000),
        rests_on=LINTEL,
    )] = None
    angle: Annotated[str | None, words("code", "Steel angle",
        "Its size as the table writes it: long leg, short leg, thickness, as in L3-1/2x3-1/2x1/4.",
        rests_on=LINTEL, changes=("steel",),
    )] = None
    bearing: Annotated[Amount | None, length("Bearing of the lintel",
        "How far it lies on the masonry at each end; enter the shorter end.",
        (0, 36), (3, 12),
        rests_on=(*LINTEL, "steel"),
    )] = None


class LookedFace(Table):
    """Round one opening, where a person looked and there is nothing that could burn."""

    above: Annotated[bool | None, yes_no("Nothing above it that burns",
        "Yes where you looked up the wall over the opening, to the ceiling, and there is no mantel, trim, beam or other wood.",
        rests_on=("lintel",),
    )] = None
    beside: Annotated[bool | None, yes_no("Nothing beside it that burns",
        "Yes where you looked along the wall on both sides and there is no trim, bookcase, door casing or other wood.",
        rests_on=("left jamb", "right jamb"),
    )] = None
    before: Annotated[bool | None, yes_no("Nothing in front that burns",
        "Yes where nothing that burns stands or hangs in front of the opening, past the hearth.",
        rests_on=("opening plane",),
    )] = None


class Looked(Table):
    """Where a person looked round the masonry, and there is nothing that could burn, or no roof."""

    sides: Annotated[bool | None, yes_no("No wood at the firebox sides",
        "Yes where you could see, from the attic, the cellar or a hole, that no framing or other wood is near the firebox sides.",
        rests_on=("outside of the sides",),
    )] = None
    back: Annotated[bool | None, yes_no("No wood behind the firebox",
        "Yes where you could see that no framing, siding or other wood is near the back of the firebox.",
        rests_on=("outside of the back",),
    )] = None
    chimney: Annotated[bool | None, yes_no("No wood at the chimney",
        "Yes where you followed the chimney through every floor and the attic and no wood is near it.",
        rests_on=("outside of the chimney",),
    )] = None
    roofs: Annotated[bool | None, yes_no("No roof near the chimney",
        "Yes only where the chimney stands free, with no roof or other part of a building within 10 ft of it.",
    )] = None


class Face(Table):
    """One face of the fireplace: an opening and its hearth."""

    DEFAULT_NAME: ClassVar[str] = "face"

    name: Annotated[str, words("name", "Name of the face",
        "The room it opens to is a good name. No two faces share one.",
    )]
    side: Annotated[Side | None, choice(Side, "Side",
        "Which wall of the firebox it opens. The first face is the front; the opposite wall is the back.",
        {"left": "as you stand facing the front", "right": "as you stand facing the front"},
    )] = None
    width: Annotated[Amount | None, length("Width of the opening",
        "From jamb to jamb at the plane of the opening. Measure at the floor, the middle and the top, and "
        "enter the largest.",
        (1, 240), (18, 72),
        between=Between("left jamb", "right jamb", moves="neither"),
    )] = None
    height: Annotated[Amount | None, length("Height of the opening",
        "From the firebox floor, not the hearth, straight up to the underside of the lintel; under an arch, "
        "to the crown.",
        (1, 240), (18, 54),
        between=Between("firebox floor", "lintel", told_by="opening_above_hearth"),
    )] = None
    arch: Annotated[Arch | None, choice(Arch, "Top of the opening",
        "Straight across is flat. A part of a circle is segmental; a full half circle is semicircular.",
        {"flat": "a straight lintel", "segmental": "less than a half circle"},
        changes=("shape of the opening",),
    )] = None
    rise: Annotated[Amount | None, length("Rise of the arch",
        "Stretch a string between the two springings; measure from it up to the underside of the crown.",
        (Fraction(1, 8), 120), (2, 18),
        rests_on=LINTEL,
    )] = None
    opens_to: Annotated[OpensTo | None, choice(OpensTo, "Opens to",
        "What lies on the other side of this opening, once the work is done.",
        {
            "room": "a room of the house", "bedroom": "a room where people sleep",
            "screened": "a porch with insect screens", "glazed": "a porch behind glass",
            "outdoors": "open to the weather",
        },
    )] = None
    closure: Annotated[Closure | None, choice(Closure, "What closes it",
        "What can shut this opening, if anything. A mesh curtain closes nothing.",
        {
            "none": "open, or a mesh curtain", "fixed glass": "a pane that never opens",
            "panel": "a plate set in by hand",
        },
        rests_on=OPENING, changes=("doors",),
    )] = None
    gap_area: Annotated[Amount | None, amount("area", "Gaps around the closed doors",
        "Shut the doors; add up length times width of every gap, also under them and between them.",
        (0, 1000), (1, 60),
        rests_on=(*OPENING, "doors"),
    )] = None
    burning_closed: Annotated[YesNo | None, choice(YesNo, "Doors rated for closing over a fire",
        "Read the maker's label or papers. Many glass doors may be shut only on dying embers. Without "
        "papers it is unknown.",
        rests_on=(*OPENING, "doors"),
    )] = None
    opening_above_hearth: Annotated[Amount | None, length("Firebox floor above the hearth",
        "From the top of the hearth extension up to the firebox floor at the opening. 0 where they are "
        "level.",
        (0, 96), (0, 20),
        between=Between("hearth top", "firebox floor"),
    )] = None
    hearth: Hearth = Hearth()
    lintel: Lintel = Lintel()
    looked: LookedFace = LookedFace()


class Firebox(Table):
    """The firebox, and the throat and smoke chamber above it."""

    depth: Annotated[Amount | None, length("Depth of the firebox",
        "At the floor, from the plane of the opening straight back to the face of the back wall. With two "
        "opposite faces, from plane to plane.",
        (1, 120), (12, 36),
        between=Between("opening plane", "firebox back"), rests_on=("cut",),
    )] = None
    wall: Annotated[Amount | None, length("Thickness of the side walls",
        "Solid masonry from the inside of the firebox to the outside of its wall, firebrick included, air "
        "spaces not.",
        (0, 60), (4, 16),
        between=Between("firebox sides", "outside of the sides", moves="neither", follows=True),
        rests_on=("jambs of the cut",),
        changes=("outside of the sides",),
    )] = None
    back_wall: Annotated[Amount | None, length("Thickness of the back wall",
        "Solid masonry from the inside of the firebox to the outside of the back, firebrick included.",
        (0, 60), (4, 16),
        between=Between("firebox back", "outside of the back", told_by="firebox.depth", follows=True),
    )] = None
    front_wall: Annotated[Amount | None, length("Thickness of the front wall",
        "Only where the firebox is closed in front and open at a side or the back: solid masonry from the inside of the firebox "
        "to the outside of the front, firebrick included.",
        (0, 60), (4, 16),
        rests_on=("outside of the front", "firebox sides"),
    )] = None
    lining: Annotated[Amount | None, length("Thickness of the firebrick",
        "Look at a joint or a broken edge at the jamb. A split is 1 1/4 in, a full brick on edge 2 1/2 in. "
        "0 where there is no lining.",
        (0, 12), (0, 5),
        changes=("firebox sides", "firebox back"),
    )] = None
    joint: Annotated[Amount | None, length("Joints of the firebrick",
        "The widest joint between firebricks, with a rule or a feeler.",
        (0, 2), (Fraction(1, 16), Fraction(3, 8)),
    )] = None
    floor_slab: Annotated[Amount | None, length("Thickness of the firebox floor",
        "Masonry and concrete together, from the top of the firebox floor down. Look from the ash pit or "
        "the cellar.",
        (0, 60), (2, 16),
        between=Between("firebox floor underside", "firebox floor", moves="start", follows=True),
    )] = None
    floor_below: Annotated[Below | None, choice(Below, "Below the firebox floor",
        "Look from below or down the ash dump. If you cannot see it, it is unknown.",
        {
            "brick arch": "a trimmer arch that springs from the masonry",
            "air gap": "nothing touches the underside", "wood": "joists, boards or form boards",
            "wood, insulated": "wood under a layer of insulation",
        },
        rests_on=("firebox floor underside",),
    )] = None
    throat_height: Annotated[Amount | None, length("Height of the throat",
        "From the firebox floor up to the narrowest place above the opening, where the damper sits.",
        (1, 300), (24, 66),
        between=Between("firebox floor", "throat"),
    )] = None
    throat_depth: Annotated[Amount | None, length("Depth of the throat",
        "Front to back at its narrowest, with the damper plate out of the way.",
        (0, 60), (3, 16),
        rests_on=THROAT, changes=("throat opening",),
    )] = None
    throat_width: Annotated[Amount | None, length("Width of the throat",
        "From side to side at its narrowest.",
        (0, 240), (12, 72),
        rests_on=THROAT, changes=("throat opening",),
    )] = None
    damper: Annotated[Damper | None, choice(Damper, "Damper",
        "Feel above the lintel for a plate; look for a chain or cable to the top of the flue.",
        {"throat": "a plate above the opening", "top": "a lid on the flue, worked by a cable"},
        rests_on=("throat",), changes=("damper",),
    )] = None
    damper_area: Annotated[Amount | None, amount("area", "Free area of the open damper",
        "Open it fully; width times the clear space beside the plate, as seen along the way of the smoke.",
        (0, 5000), (30, 500),
        rests_on=(*THROAT, "damper"),
    )] = None
    clamp_area: Annotated[Amount | None, amount("area", "Free area with the clamp on",
        "Gas logs need a stop on the damper that keeps it from shutting. Shut it against the stop, and measure what stays open. "
        "0 in2 where there is no stop.",
        (0, 5000), (8, 80),
        rests_on=(*THROAT, "damper"),
    )] = None
    damper_works: Annotated[YesNo | None, choice(YesNo, "Does the damper work",
        "From the room: open it, shut it, and see that it stays open by itself.",
        rests_on=(*THROAT, "damper"),
    )] = None
    smoke_chamber_height: Annotated[Amount | None, length("Height of the smoke chamber",
        "From the throat up to where the flue begins with its own straight sides. Use a rod or a laser "
        "through the throat.",
        (0, 240), (10, 48),
        between=Between("throat", "start of the flue"), rests_on=("smoke chamber",),
    )] = None
    smoke_chamber_wall: Annotated[Amount | None, length("Wall of the smoke chamber",
        "Solid masonry from inside to outside, parging not counted. Where you cannot get at it, leave it "
        "out.",
        (0, 60), (4, 16),
        rests_on=("throat", "start of the flue", "smoke chamber"),
    )] = None
    smoke_chamber_form: Annotated[ChamberForm | None, choice(ChamberForm, "Form of the smoke chamber",
        "Look up through the throat: bricks stepped in like stairs are corbelled, whatever is smeared over "
        "them.",
        {"sloped": "smooth courses or rolled", "corbelled": "stepped in, course by course"},
        rests_on=("throat", "start of the flue"), changes=("smoke chamber",),
    )] = None
    smoke_chamber_slope: Annotated[Amount | None, amount("angle", "Lean of the smoke chamber",
        "Of its steepest-leaning wall, from the vertical: lay a bevel or an angle gauge on it. With a unit, "
        "as in 45 deg.",
        (0, 89), (10, 60),
        rests_on=("throat", "start of the flue", "smoke chamber"),
    )] = None
    smoke_chamber_parged: Annotated[YesNo | None, choice(YesNo, "Smoke chamber parged",
        "Is the inside smeared smooth with mortar, without open joints or bare steps?",
        rests_on=("throat", "start of the flue", "smoke chamber"),
    )] = None


BEND = amount(
    "angle", "Bend of the flue",
    "From the run before it, as in 30 deg; the way back with a minus, as in -30 deg.", (-90, 90), (-45, 45),
)


class Flue(Table):
    """The flue and its chimney. Where several sizes stand, area goes before inside, and diameter before liner."""

    liner: Annotated[str | None, words("liner", "Nominal liner size",
        "The size a supplier would call it, by the outside, as in 8.5x13; one number for a round one. "
        "Measure the inside if in doubt.",
        rests_on=("size of the flue",), changes=("flue lining",),
    )] = None
    shape: Annotated[Shape | None, choice(Shape, "Shape of the flue",
        "As seen from the top. It goes with an inside size or an area that you measured; only a round flue has a diameter.",
        rests_on=("size of the flue",), changes=("flue lining",),
    )] = None
    diameter: Annotated[Amount | None, length("Inside diameter",
        "Across the inside of a round flue, at the top, in two directions; enter the smaller.",
        (1, 72), (6, 24),
        rests_on=("size of the flue",), changes=("flue lining",),
    )] = None
    inside: Annotated[Size | None, amount("size", "Inside of the flue",
        "Both inside sides, wall to wall at the narrowest you can reach, as in 11 1/4 x 11 1/4.",
        (1, 120), (4, 30),
        rests_on=("size of the flue",), changes=("flue lining",),
    )] = None
    outside: Annotated[Size | None, amount("size", "Outside of the liner",
        "Both outside sides of the new liner, or one size twice for a round one: what has to go down the chimney.",
        (1, 120), (4, 36),
    )] = None
    shaft: Annotated[Size | None, amount("size", "Inside of the chimney it goes into",
        "The clear space the liner has to go down, both ways, at its narrowest.",
        (1, 120), (4, 48),
    )] = None
    area: Annotated[Amount | None, amount("area", "Inside area, measured",
        "Only where it was measured or is printed by the maker: the clear area inside, rounded corners "
        "taken off.",
        (1, 20000), (28, 600),
        rests_on=("size of the flue",), changes=("flue lining",),
    )] = None
    figure_area: Annotated[Amount | None, amount("area",
        "Flue area read off the code's figure",
        "Find this opening's area and this chimney's height in the code's own figure, and enter the flue area "
        "that it asks for. All faces that are open together count.",
        (1, 20000), (28, 600),
        rests_on=("flue lining", "flue top", "openings"),
    )] = None
    height: Annotated[Amount | None, length("Height of the flue",
        "From the firebox floor to the very top of the flue, where the smoke leaves. Drop a weighted tape, "
        "or add up the stories.",
        (48, 2400), (144, 540),
        between=Between("firebox floor", "flue top"),
    )] = None
    lining: Annotated[FlueLining | None, choice(FlueLining, "Lining of the flue",
        "Look down from the top: clay tiles show joints every two feet or so; bare brick is unlined.",
        {
            "listed liner": "a metal liner with a listing label", "poured": "cast in place around a form",
            "unlined": "bare brick or parging alone",
        },
        rests_on=("flue lining", "new flue on top"), changes=("flue lining",),
    )] = None
    condition: Annotated[Condition | None, choice(Condition, "Condition of the flue",
        "Only a camera through the whole flue can call it sound. A look from below or above does not.",
        {
            "sound": "seen by camera, whole length", "cracked": "broken or cracked tiles",
            "gaps": "mortar missing between tiles", "glazed": "hard shiny creosote",
        },
        rests_on=("flue lining", "new flue on top"),
    )] = None
    place: Annotated[Place | None, choice(Place, "Where the chimney stands",
        "Inside where the house is on all sides of it up to the roof; outside where it touches no more than "
        "the outer face of the wall.",
        {"outside": "entirely outside the wall"},
    )] = None
    offsets: Annotated[tuple[Annotated[Amount, BEND], ...] | None, listing("Bends of the flue",
        "Each change of direction from bottom to top, by how many degrees it turns. An offset and its return "
        "are two. An empty list where it is straight.",
    )] = None
    cap: Annotated[Cap | None, choice(Cap, "Cap",
        "Look from the ground with binoculars: a plate well clear of the flue is open; one close to it, or "
        "with fine mesh, is restrictive.",
        changes=("cap",),
    )] = None
    cap_area: Annotated[Amount | None, amount("area", "Free area under the cap",
        "Around the cap: length of its open sides times their clear height.",
        (0, 50000), (50, 4000),
        rests_on=("cap", "outside of the chimney"),
    )] = None
    arrestor_area: Annotated[Amount | None, amount("area", "Free area of the spark screen",
        "The holes alone: face of the screen times its open share, from the maker. 0 in2 where there is no screen.",
        (0, 50000), (50, 4000),
        rests_on=("outside of the chimney",),
    )] = None
    shared_with: Annotated[str | None, FieldSpec("Other appliances on this flue", "text",
        "Any furnace, heater or stove whose pipe enters this flue, also from another floor. Write none where you "
        "looked and there is none.",
        form="prose", none_is_empty=True,
    )] = None


class Chimney(Table):
    """The masonry of the chimney, and what is built into it."""

    wall: Annotated[Amount | None, length("Thickness of the chimney wall",
        "The masonry around the liner, liner and air space not counted: at the top, or where it can be seen in the attic.",
        (0, 60), (3, 16),
        rests_on=("outside of the chimney",),
    )] = None
    flues: Annotated[Amount | None, amount("count", "Flues in the chimney",
        "All flues that come out at the top, that of a furnace included.",
        (1, 20), (1, 4),
    )] = None
    wythe: Annotated[Amount | None, length("Masonry between the flues",
        "The thinnest masonry between two flues. 0 where the liners touch.",
        (0, 60), (0, 8),
        rests_on=("outside of the chimney", "flue lining"),
    )] = None
    crown: Annotated[YesNo | None, choice(YesNo, "Sound cap on the masonry",
        "On top: a slab of concrete, metal or stone that slopes away from the flue, stands out with a drip edge, and has a "
        "caulked joint around the liner. A wash of mortar is not one.",
        rests_on=("outside of the chimney", "top of the masonry", "flue lining"),
    )] = None
    cleanout: Annotated[Cleanout | None, choice(Cleanout, "Cleanout of the flue",
        "How soot is taken out at the bottom of the flue.",
        {"through the fireplace": "from the firebox, through the throat", "door": "a door of its own in the chimney"},
    )] = None
    cleanout_height: Annotated[Amount | None, length("Height of the cleanout door",
        "The clear opening, from bottom to top.", (0, 60), (4, 16),
    )] = None
    arrestor_mesh: Annotated[Amount | None, length("Openings of the spark screen",
        "One hole of the mesh, clear, from wire to wire.", (0, 4), (Fraction(1, 4), 1),
        rests_on=("cap", "outside of the chimney"),
    )] = None
    offset_carried: Annotated[YesNo | None, choice(YesNo, "Offsets stand on masonry",
        "At each offset: yes where the middle of the flue above stays inside the middle of the wall below, or where masonry "
        "carries what leans out.",
        rests_on=("outside of the chimney",),
    )] = None
    corbel: Annotated[Amount | None, length("Corbel of the chimney",
        "How far the chimney leans out in all from the wall it starts from, course upon course. 0 where it goes straight up.",
        (0, 120), (0, 12),
        rests_on=("outside of the chimney",),
    )] = None
    corbel_alike: Annotated[bool | None, yes_no("Corbelled alike on both sides",
        "Yes where it leans out by the same on the other side of the wall.",
        rests_on=("outside of the chimney",),
    )] = None
    corbel_course: Annotated[Amount | None, length("Corbel of one course",
        "How far the course that stands out most stands out past the one below it.",
        (0, 24), (0, 3),
        rests_on=("outside of the chimney",),
    )] = None
    unit_height: Annotated[Amount | None, length("Height of a brick there",
        "Of the brick that is corbelled, as it lies, joint not counted.", (Fraction(1, 2), 24), (2, 8),
    )] = None
    bed_depth: Annotated[Amount | None, length("Bed of a brick there",
        "How deep the same brick lies into the wall, from its face to its back.", (Fraction(1, 2), 24), (3, 8),
    )] = None
    liner_runs: Annotated[YesNo | None, choice(YesNo, "Clay liner all the way",
        "It starts at the top of the smoke chamber and ends above the masonry. Look from below and on top.",
        rests_on=("flue lining", "top of the masonry"),
    )] = None
    liner_mortar: Annotated[YesNo | None, choice(YesNo, "Liner laid in refractory mortar",
        "Full joints of medium-duty refractory mortar that water does not dissolve, wiped smooth inside. Ask the mason, or read the "
        "bag while it is laid.",
        rests_on=("flue lining",),
    )] = None
    liner_space: Annotated[YesNo | None, choice(YesNo, "Narrow space around the liner",
        "The space between liner and masonry is no wider than the liner is thick, and is not filled. Look while it is laid, or on top.",
        rests_on=("flue lining", "outside of the chimney"),
    )] = None
    label: Annotated[YesNo | None, choice(YesNo, "Label of the new lining",
        "A lasting label at the fireplace or the chimney that says with what it was relined.",
        rests_on=("flue lining",),
    )] = None
    fireblocking: Annotated[YesNo | None, choice(YesNo, "Fireblocking around the chimney",
        "At each floor and ceiling the space around the chimney is closed with sheet metal or another thing that does not burn, "
        "fastened.",
        rests_on=("outside of the chimney",),
    )] = None
    contact_listed: Annotated[bool | None, yes_no("Liner listed for contact",
        "Yes only where the papers of a listed liner say that wood may touch the chimney.",
        rests_on=("flue lining",),
    )] = None


class Structure(Table):
    """What is built in and hardly seen afterwards: footing, steel, slabs."""

    footing_thickness: Annotated[Amount | None, length("Thickness of the footing",
        "From the drawing, or where it is dug free.", (0, 120), (8, 36),
        rests_on=("outside of the chimney", "outside of the back", "outside of the sides"),
    )] = None
    footing_beyond: Annotated[Amount | None, length("Footing past the masonry",
        "How far it stands out past the face of the masonry, at the side with least.", (0, 120), (0, 24),
        rests_on=("outside of the chimney", "outside of the back", "outside of the sides"),
    )] = None
    footing_depth: Annotated[Amount | None, length("Footing below the ground",
        "From the finished ground outside down to the underside of the footing, at the side with least.", (0, 360), (0, 72),
        rests_on=("outside of the chimney", "outside of the back", "outside of the sides"),
    )] = None
    frost_depth: Annotated[Amount | None, length("Frost depth of the place",
        "Ask the building department: it goes by the place. 0 where the ground does not freeze.", (0, 180), (0, 60),
    )] = None
    seismic: Annotated[SeismicClass | None, choice(SeismicClass, "Seismic design category",
        "Ask the building department: it goes by the place.",
    )] = None
    width: Annotated[Amount | None, length("Width of the chimney",
        "The longer outside of the masonry, level.", (4, 600), (16, 96),
        rests_on=("outside of the chimney",),
    )] = None
    bars: Annotated[Amount | None, amount("count", "Upright bars in the chimney",
        "No. 4 bars from the footing to the top, from the drawing or before they are grouted.", (0, 100), (4, 12),
        rests_on=("outside of the chimney",),
    )] = None
    ties: Annotated[Amount | None, length("Height between the ties",
        "From one tie around the bars to the next.", (0, 240), (8, 24),
        rests_on=("outside of the chimney",),
    )] = None
    anchored: Annotated[YesNo | None, choice(YesNo, "Anchored to the floors",
        "At each floor, ceiling and roof more than 6 ft above the ground: two steel straps into the masonry, bolted to four "
        "joists or more.",
        rests_on=("outside of the chimney",),
    )] = None
    ash_dump: Annotated[AshDump | None, choice(AshDump, "Ash dump",
        "A hole in the firebox floor, and a pit below with a door. Look at that door.",
        {"metal or masonry door": "iron, steel or masonry, shuts tight"},
    )] = None
    unit_steel: Annotated[Amount | None, length("Steel of the fireplace unit",
        "Only of a steel unit set in masonry: the thickness of its plate, from its papers or at an edge.",
        (0, 4), (Fraction(1, 8), Fraction(1, 2)),
    )] = None
    unit_masonry: Annotated[Amount | None, length("Masonry around the steel unit",
        "Solid masonry or concrete behind and beside it, air spaces not counted.", (0, 60), (3, 12),
        rests_on=("outside of the back", "outside of the sides"),
    )] = None
    slab_steel: Annotated[YesNo | None, choice(YesNo, "Hearth slab reinforced",
        "Steel in the slab under the firebox and the hearth in front of it: from the drawing, or before it is poured.",
        rests_on=("hearth build-up", "hearth front end", "hearth left end", "hearth right end"),
    )] = None
    chamber_lining: Annotated[ChamberLining | None, choice(ChamberLining, "Lining of the smoke chamber",
        "Look up through the throat. None where parging lies on common brick.",
        {"firebrick": "2 in or more", "vitrified clay": "5/8 in or more"},
        rests_on=("throat", "start of the flue", "smoke chamber"),
    )] = None
    tight: Annotated[YesNo | None, choice(YesNo, "Tight damper or doors",
        "A flue damper with a seal, or doors that shut tight.",
        rests_on=("damper",),
    )] = None


class Nearby(Table):
    """A thing near the fire. One without a name is called by what it is."""

    DEFAULT_NAME: ClassVar[str] = "thing"

    name: Annotated[str | None, words("name", "Name",
        "What you would call it on the site. No two things share one.",
    )] = None
    what: Annotated[What | None, choice(What, "What it is",
        "Pick the nearest word; stepped mantels are entered as several things.",
        {
            "mantel": "shelf, beam or surround over the opening",
            "trim": "flat boards and moldings on the fireplace front",
            "framing": "studs, joists, headers, beams", "decking": "floor boards of a porch or deck",
            "furniture": "built in or standing",
        },
    )] = None
    combustible: Annotated[bool | None, yes_no("Combustible?",
        "Wood, paper-faced gypsum board, plastics and foam burn; stone, brick, steel and cement board do "
        "not. Taken as burning where not entered.",
    )] = None
    face: Annotated[str | None, words("name", "Near which face",
        "The face whose opening it is near. For a thing against the masonry itself, say at which wall "
        "instead.",
        rests_on=("face of the thing",), changes=("place of the thing",),
    )] = None
    at: Annotated[At | None, choice(At, "Against which masonry",
        "For a thing beside the masonry rather than before an opening: which part it is beside.",
        {
            "firebox front": "the front of the fireplace", "firebox side": "left or right of the firebox",
            "firebox back": "behind the firebox", "chimney": "anywhere along the chimney",
        },
        changes=("place of the thing",),
    )] = None
    above: Annotated[Amount | None, length("Above the opening",
        "From the top of the opening straight up to its lowest point.",
        (0, 600), (0, 72),
        between=Between("lintel", "the thing", moves="neither", past_zero=True), rests_on=BESIDE,
    )] = None
    beside: Annotated[Amount | None, length("Beside the opening",
        "From the side of the opening straight sideways to its nearest edge. Give both this and above for a "
        "thing off the corner.",
        (0, 600), (0, 72),
        between=Between("nearest jamb", "the thing", moves="neither", past_zero=True), rests_on=BESIDE,
    )] = None
    ahead: Annotated[Amount | None, length("In front of the opening",
        "From the plane of the opening straight out to its nearest point.",
        (0, 1200), (0, 144),
        between=Between("opening plane", "the thing", moves="neither"), rests_on=BESIDE,
    )] = None
    projection: Annotated[Amount | None, length("Projection",
        "How far it stands out from the face of the fireplace at its deepest, moldings and shelf included.",
        (0, 120), (0, 16),
        between=Between("facing", "front of the thing", moves="neither"), rests_on=BESIDE,
    )] = None
    gap: Annotated[Amount | None, length("Clear space to the masonry",
        "The air between it and the masonry at the closest place. 0 where they touch.",
        (0, 120), (0, 12),
        rests_on=BESIDE,
    )] = None
    filled: Annotated[bool | None, yes_no("Is that space filled",
        "Yes where insulation, mortar or anything else is in it, but for fireblocking at floors and "
        "ceilings.",
        rests_on=BESIDE,
    )] = None
    from_lining: Annotated[Amount | None, length("Distance to the inside of the lining",
        "For a thing that touches the masonry: from it, straight through, to the inside face of the "
        "firebrick or of the flue liner.",
        (0, 240), (4, 48),
        rests_on=(*BESIDE, "the lining"),
    )] = None
    masonry_wall: Annotated[bool | None, yes_no("Pocketed in a masonry wall",
        "Yes where what it touches is a masonry or concrete wall that the fireplace or chimney is built into. No where it "
        "touches the fireplace's or chimney's own masonry.",
        rests_on=BESIDE,
    )] = None
    protection: Annotated[str | None, words("code", "Protection in front of it",
        "none, or the row of the clearance-reduction table that describes the shield, as in 24ga_gap_1in.",
    )] = None


class Use(Table):
    """How the fireplace is used."""

    open_together: Annotated[bool | None, yes_no("Faces open together",
        "No only where the people of the house keep to one open face at a time. Taken as yes where not "
        "entered.",
    )] = None


class Fan(Table):
    """A fan that takes air out. One without a name is called fan."""

    DEFAULT_NAME: ClassVar[str] = "fan"

    name: Annotated[str | None, words("name", "Name of the fan",
        "Range hood, bath fan, dryer: each on its own.",
    )] = None
    flow: Annotated[Amount | None, amount("flow", "Air it takes out",
        "At its highest setting, from the label or the maker's papers, with the unit, as in 400 cfm.",
        (0, 20000), (20, 2000),
    )] = None
    where: Annotated[Where | None, choice(Where, "Where it draws from",
        "The room of the fireplace, the rest of the house, or the porch beyond the other face.",
        {"beyond": "the space beyond the other face"},
    )] = None


class Air(Table):
    """Where the fire's air comes from, and what takes it away."""

    house_volume: Annotated[Amount | None, amount("volume", "Volume of the house",
        "Heated floor area times ceiling height, all floors, as in 16000 ft3.",
        (100, 2000000), (4000, 60000),
    )] = None
    room_volume: Annotated[Amount | None, amount("volume", "Volume of the room",
        "Length times width times height of the room, with rooms joined to it by openings that cannot be "
        "shut.",
        (50, 500000), (600, 12000),
    )] = None
    airtightness: Annotated[Amount | Airtightness | None, amount("leakage", "Airtightness of the house",
        "From a blower-door test, as in 7 ACH50. Without one: tight for new and well sealed, average, or "
        "leaky for old with drafts.",
        (Fraction(1, 20), 100), (1, 20), *get_args(Airtightness),
    )] = None
    exterior_duct: Annotated[Amount | None, amount("area",
        "Outdoor-air duct to the fireplace",
        "Clear area of the duct that brings outdoor air to the firebox. 0 in2 where there is none.",
        (0, 5000), (0, 120),
    )] = None
    vent: Annotated[Amount | None, amount("area", "Permanent vent in the room",
        "Clear area of openings to outdoors that nobody can shut. 0 in2 where there is none.",
        (0, 5000), (0, 120),
    )] = None
    duct_from: Annotated[DuctFrom | None, choice(DuctFrom, "Where the air duct starts",
        "Follow the duct from the fireplace to its other end.",
        {
            "ventilated attic": "outdoor air comes in by itself", "ventilated crawl space": "outdoor air comes in by itself",
            "attic": "closed, or not known to be ventilated", "crawl space": "closed, or not known to be ventilated",
        },
    )] = None
    duct_above: Annotated[YesNo | None, choice(YesNo, "Air taken from above the firebox",
        "Yes where the duct starts higher than the firebox.",
    )] = None
    duct_screened: Annotated[YesNo | None, choice(YesNo, "Screen on the air duct",
        "A mesh of 1/4 in over its outer end, of metal that does not rust.",
    )] = None
    duct_outlet: Annotated[Amount | None, length("Air outlet to the opening",
        "From where the air comes out to the opening. 0 where it comes out in the back or side of the firebox.",
        (0, 600), (0, 48),
        rests_on=("firebox back", "firebox sides", "openings"),
    )] = None
    duct_clear: Annotated[Amount | None, length("Air duct to what burns",
        "Within 5 ft of where the air comes out: the least space between the duct and wood.",
        (0, 120), (0, 12),
        rests_on=("firebox back", "firebox sides", "openings"),
    )] = None
    beyond_gaps: Annotated[Amount | None, amount("area",
        "Open area of the glazed porch",
        "Area of what stands open to outdoors in the glazed room beyond the other face. 0 in2 where all is shut.",
        (0, 200000), (0, 4000),
    )] = None
    makeup: Annotated[Amount | None, amount("flow", "Make-up air supplied",
        "What a fan or an opening damper brings in while the exhaust runs. 0 cfm where nothing does.",
        (0, 20000), (0, 2000),
    )] = None
    fans: Annotated[tuple[Fan, ...] | None, listing("Fans",
        "Every fan that takes air out of the house: hood, bath, dryer, central vacuum. An empty list where "
        "there is none.",
    )] = None
    gas_input: Annotated[Amount | None, amount("power", "Input of gas appliances",
        "Of all gas appliances that take their air from the room, added up from their plates, as in 60000 "
        "Btu/h.",
        (0, 500000), (0, 60000),
    )] = None
    gas_logs: Annotated[GasLogs | None, choice(GasLogs, "Gas logs",
        "Look for a burner, and for its label.",
        {"listed": "with a listing label", "vent-free": "sold to burn without a flue"},
    )] = None
    storeys: Annotated[Amount | None, amount("count", "Heated stories, counting this one",
        "Heated stories above the floor of the fireplace, that floor included.",
        (1, 20), (1, 4),
    )] = None
    neutral_level: Annotated[Amount | None, length("Neutral level above the hearth",
        "Where air leaks neither in nor out of the house in winter; about the middle of the heated height. "
        "Leave it out unless it was found by test.",
        (0, 2400), (24, 240),
        between=Between("firebox floor", "neutral level", moves="neither"),
    )] = None


class Site(Table):
    """Weather and place."""

    altitude: Annotated[Amount | None, length("Altitude",
        "Of the site above the sea, from a map, with its unit, as in 600 ft.",
        (0, 240000), (0, 120000),
    )] = None
    outdoor: Annotated[Amount | None, amount("temperature", "Outdoor temperature",
        "On a usual day of burning, as in 32 F or 0 C.",
        (-60, 60), (-30, 30),
    )] = None
    indoor: Annotated[Amount | None, amount("temperature", "Indoor temperature",
        "In the room while a fire burns, as in 68 F or 20 C.",
        (-20, 50), (10, 28),
    )] = None
    wind: Annotated[Amount | None, amount("speed", "Wind",
        "The mean wind of the season at the nearest weather station, as in 8 mph.",
        (0, 80), (0, 15),
    )] = None
    wind_on: Annotated[str | None, words("name", "Face the wind blows on",
        "The name of the face on the windward side. Left out, the worst face is taken.",
    )] = None
    shelter: Annotated[Amount | None, amount("ratio", "Shelter",
        "Share of the open wind that reaches the wall: 1 on an open hill, 0.7 among scattered houses, 0.3 "
        "in a dense town.",
        (0, 1), (Fraction(3, 10), 1),
    )] = None
    top_pressure: Annotated[Amount | None, amount("pressure",
        "Wind pressure at the chimney top",
        "Only where it was measured or calculated; positive pushes down the flue, as in 2 Pa.",
        (-1000, 1000), (-20, 20),
    )] = None


class Fire(Table):
    """The fire that is burned."""

    size: Annotated[FireSize | None, choice(FireSize, "Size of the fire",
        "How they burn it on a usual evening.",
        {"steady": "two or three logs", "hot": "a full grate", "roaring": "flames over the top of the logs"},
        changes=("fire",),
    )] = None
    power: Annotated[Amount | None, amount("power", "Heat of the fire",
        "Only where it is known, as in 22 kW; left out, it goes by the size of the fire.",
        (100, 1000000), (5000, 120000),
        rests_on=("fire",),
    )] = None


class Roof(Table):
    """A roof that the chimney stands in or near. One without a name is called roof."""

    DEFAULT_NAME: ClassVar[str] = "roof"

    name: Annotated[str | None, words("name", "Name of the roof",
        "Main roof, porch roof: each on its own. No two share one.",
    )] = None
    passes_through: Annotated[bool | None, yes_no("Chimney passes through it",
        "Yes where the chimney comes up through this roof; no where it stands beside it.",
    )] = None
    above_penetration: Annotated[Amount | None, length("Top above the roof it comes through",
        "From the highest point where the roof meets the chimney up to the top of the chimney's masonry.",
        (0, 1200), (24, 240),
        between=Between("roof at the chimney", "top of the masonry", moves="start", told_by="flue.height"),
        rests_on=("slope of the roof", "outside of the chimney"),
    )] = None
    distance: Annotated[Amount | None, length("Level distance to the ridge",
        "Level, from the nearest face of the chimney to the highest part of this roof. 0 where the chimney "
        "stands at it.",
        (0, 12000), (0, 600),
        between=Between("outside of the chimney", "ridge, level", moves="neither"), rests_on=("slope of the roof",),
        changes=("roof at the chimney",),
    )] = None
    above_highest: Annotated[Amount | None, length("Top above the ridge",
        "How much higher the chimney top is than that part of the roof. Sight it with a level from the "
        "ladder. Where the top is lower, write so: 54 below, or -54.",
        (-1200, 1200), (0, 240),
        between=Between("highest part of the roof", "top of the masonry", moves="start", told_by="flue.height"),
        rests_on=("slope of the roof",),
    )] = None
    pitch: Annotated[Amount | None, amount("pitch", "Pitch",
        "Rise over run of the roof, as in 6:12, or in degrees.",
        (0, 10), (0, 2),
        changes=("slope of the roof",),
    )] = None
    width_along_ridge: Annotated[Amount | None, length("Chimney width along the ridge",
        "Width of the chimney, parallel to the ridge, where it passes the roof.",
        (1, 600), (12, 120),
        rests_on=("outside of the chimney",), changes=("outside of the chimney",),
    )] = None
    crosses_ridge: Annotated[bool | None, yes_no("Ridge runs into the chimney",
        "Yes where the ridge runs into the chimney, so that no water comes down on it.",
        rests_on=("slope of the roof", "outside of the chimney"),
    )] = None
    cricket_height: Annotated[Amount | None, length("Height of the cricket",
        "Of the small ridge behind the chimney that turns the water, from the roof surface up. 0 where "
        "there is none.",
        (0, 240), (0, 48),
        rests_on=("outside of the chimney", "roof at the chimney", "slope of the roof"),
    )] = None
    framing_gap: Annotated[Amount | None, length("Roof framing to the chimney",
        "The clear space between rafters, headers or sheathing and the masonry, at the closest.",
        (0, 240), (1, 12),
        rests_on=("outside of the chimney", "roof at the chimney", "slope of the roof"),
    )] = None
    size_change_gap: Annotated[Amount | None, length("To next change in chimney size",
        "Along the chimney, from this roof or ceiling to where the chimney next gets wider or narrower.",
        (0, 1200), (0, 240),
        rests_on=("outside of the chimney", "roof at the chimney", "slope of the roof"),
    )] = None


_REMOVE = yes_no("Taken away", "Yes where the work takes it away.")


class PlannedFace(Face):
    """A face that the work changes, adds or takes away."""

    remove: Annotated[bool | None, _REMOVE] = None
    jamb_moved: Annotated[Jamb | None, choice(Jamb, "Which jamb moves",
        "Stand facing the fire. The jamb that is cut back or built out to make the new width.",
        {"both": "half of the change on each side"},
    )] = None


class PlannedNearby(Nearby):
    """A thing that the work moves, adds or takes away."""

    remove: Annotated[bool | None, _REMOVE] = None


class PlannedRoof(Roof):
    """A roof that the work changes, adds or takes away."""

    remove: Annotated[bool | None, _REMOVE] = None


FACES = listing("Faces", "Each opening of the fireplace, one to four.")
NEARBY = listing("Things nearby", "Everything that could burn near an opening or against the masonry.")
ROOFS = listing("Roofs", "Each roof that the chimney stands in or near.")


class Planned(Table):
    """What the work changes, over what was found."""

    fireplace: Fireplace = Fireplace()
    face: Annotated[tuple[PlannedFace, ...], FACES] = ()
    firebox: Firebox = Firebox()
    flue: Flue = Flue()
    nearby: Annotated[tuple[PlannedNearby, ...], NEARBY] = ()
    looked: Looked = Looked()
    use: Use = Use()
    air: Air = Air()
    site: Site = Site()
    fire: Fire = Fire()
    roof: Annotated[tuple[PlannedRoof, ...], ROOFS] = ()
    chimney: Chimney = Chimney()
    structure: Structure = Structure()


class Photo(Table):
    """A picture in the job's folder that goes into the report. One without a name is called photo."""

    DEFAULT_NAME: ClassVar[str] = "photo"

    name: Annotated[str | None, words("name", "Name of the picture",
        "A short name for the list. No two share one.",
    )] = None
    file: Annotated[str | None, words("prose", "File",
        "Where the picture is, from the job's own folder on, as in photos/mantel.jpg. It has to lie in that folder or below it.",
    )] = None
    caption: Annotated[str | None, words("prose", "Caption",
        "One line on what the picture shows: the crack over the left jamb, soot on the mantel.",
    )] = None
    shows: Annotated[str | None, words("prose", "Face or item shown",
        "The name of the face, the item or the roof that is in it. Leave it out for the whole fireplace.",
    )] = None


class Signed(Table):
    """A person who answers for the job. The two marks are written on signing; a change of the job voids it."""

    name: Annotated[str, words("name", "Name",
        "Who signs, by full name. The one who checks is another person than the one who measured.",
    )]
    role: Annotated[Signing | None, choice(Signing, "Signs for",
        "What the person did.",
        {"measured": "held the tape and wrote it down", "checked": "went over the measurements and the answers"},
    )] = None
    trade: Annotated[str | None, words("prose", "Trade",
        "What the person does: mason, chimney sweep, home inspector.",
    )] = None
    license: Annotated[str | None, words("prose", "License or certificate",
        "Its number, and who gave it. It is written down as given; nobody looks it up.",
    )] = None
    date: Annotated[dt.date | None, FieldSpec("Signed on", "date", "The day of signing, as year-month-day: 2026-05-04.")] = None
    fingerprint: Annotated[str | None, words("code", "Entries signed",
        "Written on signing: a mark that changes when any entry of the job or of this sign-off does.",
    )] = None
    values: Annotated[str | None, words("code", "Values signed",
        "Written on signing: a mark that changes when any reference value does.",
    )] = None


PHOTOS = listing("Photographs", "Pictures in the job's folder that go into the report.")
SIGNED = listing("Signatures", "Who measured, and who checked.")

VERDICT = FieldSpec("Verdict", "text", "One answer as it was then.")


class Judged(Table):
    """What the job was judged by when it was last saved, and what came out."""

    edition: Annotated[str | None, words("code", "Judged by", "Written on saving: the edition.")] = None
    fingerprint: Annotated[str | None, words("code", "Values at that time",
        "Written on saving: a mark that changes when any reference value does.",
    )] = None
    verdicts: Annotated[tuple[Annotated[str, VERDICT], ...] | None, listing("Answers at that time",
        "Written on saving: each answer of then, so that a change of values can be told.",
    )] = None
