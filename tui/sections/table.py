"""Which sections a job has, in the order in which a person walks round a fireplace."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from hearthcalc.findings import Finding, Verdict, worst
from hearthcalc.job import Job, get, join_address, parse_address
from hearthcalc_tui.sections.needed import applies, asked_for
from hearthcalc_tui.session.document import PATHS, as_found, as_planned

Things = Literal["", "face", "nearby", "roof", "fans", "photo", "signed"]
MOST_FIELDS = 12
ASKED_OF_A_PLAN = ("face.jamb_moved",)


class Kind(Struct, frozen=True):
    """One kind of section. fields: keys of the record, each with a label short enough for its row; at most a dozen.

    subjects: whose findings it shows the worst of.  each: the section stands once for each of these.
    picks: its fields belong to the one chosen of these.  planned: can the work change it.
    repeats: its fields stand once for each layer, from the top down.
    """

    id: str
    title: str
    fields: tuple[tuple[str, str], ...]
    subjects: tuple[str, ...] = ()
    each: Things = ""
    picks: Things = ""
    planned: bool = True
    repeats: bool = False


def _of(table: str, **labels: str) -> tuple[tuple[str, str], ...]:
    return tuple((f"{table}.{key}", label) for key, label in labels.items())


KINDS = (
    Kind(
        "about",
        "The job",
        _of(
            "about",
            title="Title",
            place="Place",
            measured_by="Measured by",
            date="Date",
            edition="Judged by",
            amendments="Amendments of",
            measured="Measured on site",
            notes="Notes",
        )
        + _of("asked", questions="What is asked"),
        ("record.amendments",),
        planned=False,
    ),
    Kind(
        "fireplace",
        "Fireplace",
        _of("fireplace", construction="Construction", pattern="Pattern", contact_listed="Listed for contact")
        + _of("use", open_together="Open together"),
        ("firebox.construction",),
    ),
    Kind(
        "opening",
        "opening",
        _of(
            "face",
            name="Name of the face",
            side="Side",
            width="Width",
            jamb_moved="Which jamb moves",
            height="Height",
            arch="Top",
            rise="Rise of the arch",
            opens_to="Opens to",
            closure="What closes it",
            gap_area="Gaps of the doors",
            burning_closed="Rated for closing",
            opening_above_hearth="Floor over hearth",
        ),
        ("doors",),
        each="face",
    ),
    Kind(
        "hearth",
        "hearth",
        _of(
            "face.hearth",
            front="Depth in front",
            facing="Facing sticks out",
            left="Past the left jamb",
            right="Past right jamb",
            thickness="Thickness",
            above_floor="Top above floor",
            below="What is below",
            specified_r="R of a listing",
        ),
        ("hearth",),
        each="face",
    ),
    Kind(
        "layers",
        "layers",
        _of("face.hearth.layers", material="Layer {}", thickness="Its thickness"),
        ("heat.resistance", "heat.wood_temperature"),
        each="face",
        repeats=True,
    ),
    Kind(
        "lintel",
        "lintel",
        _of(
            "face.lintel",
            above="Sits on lintel",
            behind="Behind the wall",
            span="Clear span",
            wall_thickness="Wall thickness",
            wall_height="Wall height",
            wall_weight="Weight of wall",
            sound_beside="Solid each side?",
            other_load="Other load",
            angle="Steel angle",
            bearing="Bearing",
        ),
        ("lintel",),
        each="face",
    ),
    Kind(
        "looked",
        "looked",
        _of("face.looked", above="Nothing above", beside="Nothing beside", before="Nothing in front"),
        ("clearance.looked",),
        each="face",
    ),
    Kind(
        "firebox",
        "Firebox",
        _of(
            "firebox",
            depth="Depth",
            wall="Side walls",
            back_wall="Back wall",
            lining="Firebrick",
            joint="Firebrick joints",
            floor_slab="Floor slab",
            floor_below="Below the floor",
            front_wall="Front wall",
        ),
        ("firebox",),
    ),
    Kind(
        "throat",
        "Throat, chamber",
        _of(
            "firebox",
            throat_height="Throat height",
            throat_depth="Throat depth",
            throat_width="Throat width",
            damper="Damper",
            damper_area="Damper, open area",
            clamp_area="Area with clamp",
            damper_works="Damper works",
            smoke_chamber_height="Chamber height",
            smoke_chamber_wall="Chamber wall",
            smoke_chamber_form="Chamber form",
            smoke_chamber_slope="Chamber lean",
            smoke_chamber_parged="Chamber parged",
        ),
        ("smoke_chamber",),
    ),
    Kind(
        "flue",
        "Flue size",
        _of(
            "flue",
            liner="Nominal liner",
            shape="Shape",
            diameter="Inside diameter",
            inside="Inside sides",
            outside="Outside of liner",
            shaft="Chimney inside",
            area="Measured area",
            figure_area="Area by figure",
            height="Height",
        ),
        (
            "flue.area",
            "flue.fit",
            "flue.least_side",
            "flue.greatest_size",
            "flue.least_height",
            "flue.specialist",
            "record",
        ),
    ),
    Kind(
        "chimney",
        "Flue, chimney",
        _of(
            "flue",
            lining="Lining",
            condition="Condition",
            place="Chimney stands",
            offsets="Bends",
            shared_with="Other appliances",
            cap="Cap",
            cap_area="Area under cap",
            arrestor_area="Spark screen area",
        ),
        ("flue.lining", "flue.condition", "flue.offsets", "flue.shared"),
    ),
    Kind(
        "nearby",
        "Near the fire",
        _of(
            "nearby",
            name="Name",
            what="What it is",
            combustible="Combustible?",
            face="Near which face",
            at="Against masonry",
            above="Above opening",
            beside="Beside opening",
            ahead="In front",
            projection="Projection",
        ),
        ("clearance",),
        picks="nearby",
    ),
    Kind(
        "gaps",
        "Gaps to masonry",
        _of(
            "nearby",
            gap="Clear space",
            filled="Space filled",
            from_lining="From the lining",
            masonry_wall="In a masonry wall",
            protection="Protection",
        ),
        picks="nearby",
    ),
    Kind(
        "clear",
        "Looked and clear",
        _of(
            "looked",
            sides="No wood at sides",
            back="No wood behind",
            chimney="No wood at chimney",
            roofs="No roof near",
        ),
        ("clearance.looked",),
    ),
    Kind(
        "roof",
        "Roofs",
        _of(
            "roof",
            name="Name of the roof",
            passes_through="Passes through it",
            above_penetration="Top above roof",
            distance="Level to ridge",
            above_highest="Top above ridge",
            pitch="Pitch",
            width_along_ridge="Width along ridge",
            crosses_ridge="Ridge into chimney",
            cricket_height="Cricket height",
            framing_gap="Framing gap",
            size_change_gap="To next size",
        ),
        (
            "chimney.above_roof",
            "chimney.within_radius",
            "chimney.cricket",
            "chimney.roof_framing",
            "chimney.size_change",
            "chimney.arrestor_area",
            "chimney.cap_area",
        ),
        picks="roof",
    ),
    Kind(
        "air",
        "House and air",
        _of(
            "air",
            house_volume="House volume",
            room_volume="Room volume",
            airtightness="Airtightness",
            exterior_duct="Outdoor-air duct",
            vent="Permanent vent",
            beyond_gaps="Open area, glazed",
            makeup="Make-up air",
            gas_input="Gas appliances",
            gas_logs="Gas logs",
            storeys="Heated stories",
            neutral_level="Neutral level",
        ),
        ("air", "house", "gas_logs"),
    ),
    Kind(
        "duct",
        "Outdoor-air duct",
        _of(
            "air",
            duct_from="Starts in",
            duct_above="Above the firebox",
            duct_screened="Screened",
            duct_outlet="Outlet to opening",
            duct_clear="Space to wood",
        ),
        ("air.intake", "air.intake_height", "air.intake_screen", "air.intake_outlet", "air.duct_clear"),
    ),
    Kind(
        "fans",
        "Fans",
        _of("air.fans", name="Name of the fan", flow="Air it takes", where="Draws from"),
        picks="fans",
        planned=False,
    ),
    Kind(
        "site",
        "Weather and fire",
        _of(
            "site",
            altitude="Altitude",
            outdoor="Outdoors",
            indoor="Indoors",
            wind="Wind",
            wind_on="Wind blows on",
            shelter="Shelter",
            top_pressure="Pressure at top",
        )
        + _of("fire", size="Size of the fire", power="Heat of the fire"),
        ("draft", "heat"),
    ),
    Kind(
        "stack",
        "Chimney masonry",
        _of(
            "chimney",
            wall="Chimney wall",
            flues="Flues in it",
            wythe="Between flues",
            crown="Sound cap",
            cleanout="Cleanout",
            cleanout_height="Cleanout height",
            arrestor_mesh="Screen openings",
            offset_carried="Offsets carried",
            fireblocking="Fireblocking",
            contact_listed="Listed for contact",
        ),
        (
            "chimney.wall",
            "chimney.wythe",
            "chimney.crown",
            "chimney.cleanout",
            "chimney.arrestor_mesh",
            "chimney.offset",
            "chimney.fireblocking",
        ),
    ),
    Kind(
        "built",
        "Built in",
        _of(
            "structure",
            footing_thickness="Footing thickness",
            footing_beyond="Footing past wall",
            footing_depth="Footing below ground",
            frost_depth="Frost depth",
            seismic="Seismic category",
            width="Chimney width",
            bars="Upright bars",
            ties="Between the ties",
            anchored="Anchored",
            ash_dump="Ash dump",
            unit_steel="Steel of the unit",
            unit_masonry="Masonry around it",
        ),
        ("structure",),
    ),
    Kind(
        "linings",
        "Linings, corbels",
        _of(
            "chimney",
            liner_runs="Liner all the way",
            liner_mortar="Refractory mortar",
            liner_space="Space around it",
            label="Lining labelled",
            corbel="Corbel",
            corbel_alike="On both sides",
            corbel_course="Corbel of a course",
            unit_height="Height of its brick",
            bed_depth="Bed of its brick",
        )
        + _of(
            "structure", chamber_lining="Chamber lining", tight="Tight damper", slab_steel="Slab reinforced"
        ),
        (
            "chimney.liner_installed",
            "chimney.label",
            "chimney.corbel",
            "firebox.tight",
            "structure.slab_steel",
        ),
    ),
    Kind(
        "photo",
        "Photographs",
        _of("photo", name="Name", file="File", caption="Caption", shows="Face or item"),
        picks="photo",
        planned=False,
    ),
    Kind(
        "signed",
        "Sign-off",
        _of(
            "signed",
            name="Name",
            role="Signs for",
            trade="Trade",
            license="License",
            date="Signed on",
        ),
        picks="signed",
        planned=False,
    ),
)


class Section(Struct, frozen=True):
    """One section of one job: its kind, whose it is, and the addresses of its entries in the order of its fields.

    whole: the address of the list, where its entries are parts of one.  spare: addresses of one more of that list.
    """

    kind: Kind
    title: str
    thing: str
    addresses: tuple[str, ...]
    whole: str = ""
    spare: tuple[str, ...] = ()

    @property
    def shown(self) -> tuple[str, ...]:
        """The addresses that have a field: all, or of a long list the first, which leave a row to say how many more there are."""
        every = self.addresses + self.spare
        return every if len(every) <= MOST_FIELDS else every[: MOST_FIELDS - len(self.kind.fields)]

    def holds(self, address: str) -> bool:
        """Does an entry of the found stage belong here."""
        return (
            address in self.addresses or address in self.spare or (self.whole != "" and address == self.whole)
        )

    @property
    def id(self) -> tuple[str, str]:
        """What stays the same while the job changes."""
        return (self.kind.id, self.thing if self.kind.each else "")


def sections(
    job: Job, chosen: Mapping[str, str], waited_for: Iterable[str] = (), stage: str = "found"
) -> tuple[Section, ...]:
    """The sections of a stage's job that what it asks needs, and of which something applies or is known.

    chosen: for each kind of thing that a section picks from, the name of the one shown.
    waited_for: addresses that findings wait for; whatever section holds one is there too.
    """
    waited = [as_found(address) for address in waited_for]
    return tuple(
        section
        for section in every_section(job, chosen)
        if any(
            asked_for(job, key) and applies(job, key, section.thing, stage) for key, _ in section.kind.fields
        )
        or any(section.holds(address) for address in waited)
        or any(get(job, address) is not None for address in section.addresses)
    )


def every_section(job: Job, chosen: Mapping[str, str]) -> tuple[Section, ...]:
    """The sections of a stage's job, whatever it asks."""
    made: list[Section] = []
    for kind in KINDS:
        if kind.each:
            continue
        if kind.id == "firebox":
            for face in job.face:
                count = len(face.hearth.layers or ())
                made += [
                    (
                        _layers(each, face.name, count)
                        if each.repeats
                        else _section(each, f"{face.name}: {each.title}", face.name)
                    )
                    for each in KINDS
                    if each.each
                ]
        made.append(_section(kind, kind.title, chosen.get(kind.picks, "")))
    return tuple(made)


@lru_cache(maxsize=1024)
def _section(kind: Kind, title: str, thing: str) -> Section:
    things = kind.each or kind.picks
    if things and not thing:
        return Section(kind, title, thing, ())
    return Section(kind, title, thing, tuple(_address(key, things, thing) for key, _ in kind.fields))


def _layers(kind: Kind, face: str, count: int) -> Section:
    """The layers of a hearth, and one to add where there is room for it."""
    whole = _address("face.hearth.layers", "face", face)
    keys = [field.rpartition(".")[2] for field, _ in kind.fields]
    addresses = [f"{whole}.{number}.{key}" for number in range(1, max(count, 1) + 1) for key in keys]
    more = 0 < count < MOST_FIELDS // len(keys)
    spare = tuple(f"{whole}.{count + 1}.{key}" for key in keys) if more else ()
    return Section(kind, f"{face}: {kind.title}", face, tuple(addresses), whole, spare)


def place_of(job: Job, address: str) -> tuple[Section, dict[str, str]] | None:
    """The section of a stage's job that has the field of an address, and what has to be picked there; None for none."""
    parts = parse_address(as_found(address))
    thing = {
        kind: parts[len(at)] for kind, at in PATHS.items() if parts[: len(at)] == at and len(parts) > len(at)
    }
    whole = next((kind for kind, at in PATHS.items() if parts == at), "")
    for section in every_section(job, thing):
        if section.holds(join_address(parts)) or (whole and whole == section.kind.picks):
            return section, {kind: name for kind, name in thing.items() if kind != "face"}
    return None


def _address(field: str, things: Things, thing: str) -> str:
    """The address of a field of a thing: "face.hearth.front" of "study" is "face.study.hearth.front"."""
    parts = field.split(".")
    if things:
        at = parts.index(things) + 1
        parts.insert(at, thing)
    return join_address(("planned", *parts) if field in ASKED_OF_A_PLAN else parts)


def verdicts_of(sections: Sequence[Section], findings: Iterable[Finding]) -> list[Verdict | None]:
    """For each section the worst verdict among its findings, or MEASURE where one waits for an entry of it."""
    by_subject: dict[str, list[Finding]] = {}
    waited_for: set[str] = set()
    for finding in findings:
        if finding.counts:
            waited_for.update(finding.missing)
            for name in {finding.id, finding.subject}:
                by_subject.setdefault(name, []).append(finding)
    made = []
    for section in sections:
        own = _own(section.addresses, section.whole)
        here = {
            finding.verdict
            for subject in section.kind.subjects
            for finding in by_subject.get(subject, ())
            if speaks_of(finding, section)
            and finding.verdict is not Verdict.MEASURE
            and own.isdisjoint(finding.missing)
        }
        made.append(worst(here if own.isdisjoint(waited_for) else {*here, Verdict.MEASURE}))
    return made


@lru_cache(maxsize=256)
def _own(addresses: tuple[str, ...], whole: str) -> frozenset[str]:
    """The addresses of a section, as found and as planned."""
    return frozenset(address for bare in (*addresses, whole) for address in (bare, as_planned(bare)))


def speaks_of(finding: Finding, section: Section) -> bool:
    """Is a finding one of those whose worst verdict a section shows."""
    if finding.id not in section.kind.subjects and finding.subject not in section.kind.subjects:
        return False
    if finding.id == "firebox.construction" and section.kind.id == "firebox":
        return False
    return not (section.kind.each == "face" and finding.face is not None and finding.face != section.thing)
