"""Heat on the hearth, the floor and the mantel: what the layers insulate, and what the heat model's results say of wood.

The R of layers against a listing's is a rule. Temperatures are a second opinion beside the code's dimensions: MEETS or REFER, never SHORT.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec.structs import replace

from hearthcalc import lengths, quantities
from hearthcalc.findings import Basis, Finding, Step, Verdict
from hearthcalc.models.heat import BELOW, FIRES, METRE, WOOD, Material, materials, resistance_of
from hearthcalc.models.results import Around, Contour, Fire, Floor, Lacking, Profile, Span
from hearthcalc.reference import Edition
from hearthcalc.rules.case import NEVER, Case, Subject, Unsure, basis, degrees, rule
from hearthcalc.rules.hearth import CHARS
from hearthcalc.rules.inputs import Layer, NotInTable, known, layers_of
from hearthcalc.rules.openings import opening
from hearthcalc.rules.reading import Reading, corners


def material_basis(material: Material) -> Basis:
    """A material as a finding quotes it."""
    value = f"{float(material.conductivity):g} W/(m.K)" if material.conductivity else material.title
    return Basis(
        f"material.{material.name}", material.title, value, "W/(m.K)" if material.conductivity else "",
        material.source, material.clause, "materials", material.standing,
    )  # fmt: skip


def _not_in_table(case: Case, face: Subject, lacking: NotInTable) -> Finding:
    hint = f" The nearest names: {', '.join(lacking.near)}." if lacking.near else ""
    text = f"No material {lacking.name!r} is in the table of materials.{hint}"
    return case.finding(Verdict.MEASURE, text, face=face.name, missing=lacking.missing)


def slip(edition: Edition, material: Material) -> str:
    """What is odd about a conductivity, where it looks like a slip of unit; "" where nothing is.

    Printed lists give k in Btu.in, Btu.ft or W, and R per inch of one for the other: twelve or seven times off.
    """
    if material.conductivity is None:
        return ""
    k, density = material.conductivity, material.density
    number = {
        key: edition[f"heat.slip.{key}"].number
        for key in ("least", "most", "dense", "dense_least", "light_most")
    }
    dense = density is not None and density >= number["dense"]
    light = density is not None and not dense
    if k < number["least"]:
        why = "insulates better than still air"
    elif k > number["most"]:
        why = "conducts better than any stone"
    elif dense and k < number["dense_least"]:
        why = "is as dense as masonry and insulates like wool"
    elif light and k > number["light_most"]:
        why = "is light and conducts like stone"
    else:
        return ""
    return (
        f"{material.title}, k {float(k):g} W/(m.K), {why}: is that figure in another unit? "
        "Some lists print Btu.ft for Btu.in, twelve times off."
    )


def _slip_of_specified(case: Case, specified: Fraction, shown: str, unit: str) -> str:
    least = case.edition["heat.slip.specified_least"].number
    most = case.edition["heat.slip.specified_most"].number
    if least <= specified <= most:
        return ""
    other = "h.ft2.F/Btu" if unit == "m2.K/W" else "m2.K/W"
    return f" {shown} is {'more' if specified > most else 'less'} than listings ask for: was it printed in {other}?"


@rule("heat.resistance", "R of the hearth's layers", each="face", masonry=False)
def resistance(case: Case, face: Subject) -> Finding | None:
    """The layers come to at least the R that a listing asks for: thickness over conductivity, added up."""
    specified = case.peek(face, "hearth.specified_r")
    if specified is None:
        return None
    try:
        layers = layers_of(case, face)
    except NotInTable as err:
        return _not_in_table(case, face, err)
    unit = specified.unit
    factor = quantities.parse(f"1 {unit}", "resistance")
    parts = [_resistance(case, layer) for layer in layers]
    total = sum(parts, start=Reading.exact(0))
    steps = [
        _layer_step(case, layer, part, number, unit, factor)
        for number, (layer, part) in enumerate(zip(layers, parts, strict=True), 1)
    ]
    numbers = " + ".join(f"R_{number}" for number in range(1, len(parts) + 1))
    shown = quantities.show_limit(total.value, "resistance", unit, op="<=", beside=specified.value)
    steps.append(Step("R", "sum of the layers", numbers, total.value / factor, unit, shown))
    told = case.judge(
        ">=",
        total,
        specified.value,
        what=f"At the {face.name} face the layers come to R",
        unit=unit,
        face=face.name,
        working=tuple(steps),
        basis=_rests(case, layers, "heat.listing"),
        remedy=lambda: _more_board(case, specified.value - total.value),
    )
    odd = [text for layer in layers if (text := slip(case.edition, layer.material))]
    asked = quantities.show_limit(specified.value, "resistance", unit, op=">=")
    slipped = _slip_of_specified(case, specified.value, asked, unit)
    return replace(told, text=" ".join((f"{told.text}{slipped}", *odd)))


def _resistance(case: Case, layer: Layer) -> Reading:
    """R of a layer, m2.K/W, with what the tape may be off."""
    return corners(lambda thickness: resistance_of(case.edition, layer.material, thickness), layer.thickness)


def _layer_step(case: Case, layer: Layer, part: Reading, number: int, unit: str, factor: Fraction) -> Step:
    thick, k = case.length(layer.thickness), layer.material.conductivity
    expression, numbers = f"{layer.material.title}: thickness / k", ""
    if k is None:
        expression, numbers = layer.material.title, thick
    elif unit == "m2.K/W":
        numbers = f"{thick} / {float(k):g} W/(m.K)"
    else:
        numbers = f"{thick} / {float(k * factor / METRE):.3g} Btu.in/(h.ft2.F)"
    shown = quantities.show_limit(part.value, "resistance", unit, op="<=")
    return Step(f"R_{number}", expression, numbers, part.value / factor, unit, shown)


def _more_board(case: Case, lacking: Fraction) -> tuple[str, ...]:
    """How much of one board or another would make up for it."""
    known = materials(case.edition)
    ways = [
        f"{lengths.show_limit(lacking * material.conductivity / METRE, case.unit, op='>=')} of {_small(material.title)}"
        for name in ("calcium_silicate_block_type_I", "cement_board")
        if (material := known.get(name)) and material.conductivity
    ]
    return (f"Add as much as {' or '.join(ways)}, where the listing lets you.",) if ways else ()


def _small(title: str) -> str:
    """A title within a sentence."""
    return f"{title[0].lower()}{title[1:]}"


def _rests(case: Case, layers: list[Layer], *keys: str) -> tuple[Basis, ...]:
    own = {layer.material.name: material_basis(layer.material) for layer in layers}
    return (*basis(*(case.edition[key] for key in keys)), *own.values())


# The model


BESIDE = "No measurement checks its level: it compares layouts. It stands beside the code's own dimensions, never instead of them."
UNSURE = Unsure("a thermometer on the wood through a long fire, with a person beside it", fails=NEVER)
MODEL = ("heat.panel", "heat.emissivity", "heat.convection", "heat.steady")


def _words(fire: Fire) -> str:
    return f"a {fire.name} fire of {fire.power / 1000:.3g} kW"


def _taken(around: Around) -> str:
    """What of the weather was not entered, as a sentence, "" where nothing was taken."""
    taken = ", ".join(f"{name} {shown}" for name, shown in around.assumed.items())
    return f"Taken, as it is not entered: {taken}. " if taken else ""


def burned(case: Case) -> str:
    """The fire that exposed wood is judged by: the one entered, else a steady one."""
    return case.peek("fire", "size") or "steady"


def _warm(value: float, span: Span) -> Reading:
    """A temperature with its band, which it is in."""
    every = [Fraction(number) for number in (value, span.low, span.high)]
    return Reading(every[0], min(every), max(every))


def _fire_keys(case: Case, *names: str) -> list[str]:
    power = [] if case.peek("fire", "power") else ["draft.fire.steady"]
    several = ["draft.share_to_gas"] if len(case.faces) > 1 else []
    return [*power, *(f"heat.share.{name}" for name in names), *several]


@rule("heat.wood_temperature", "Wood under the hearth", each="face", kind="model")
def wood_temperature(case: Case, face: Subject) -> Finding | None:
    """Wood under the layers stays below its limit with a steady fire."""
    lies = case.word(face, "hearth.below").known
    if lies is not None and lies not in WOOD:
        return None
    result = case.models.hearths.get(face.name)
    if isinstance(result, Lacking) and result.material:
        try:
            layers_of(case, face)
        except NotInTable as err:
            return _not_in_table(case, face, err)
    made = known(case, "hearths", face.name, result)
    assert made.wood is not None and made.band is not None
    warm = {name: made.temperatures[name][made.wood] for name in FIRES}
    others = ", ".join(
        f"{_words(made.fires[name])} to {degrees(warm[name], case.unit)}" for name in FIRES[1:]
    )
    told = case.judge(
        "<=",
        _warm(warm["steady"], made.band),
        Fraction(made.limit),
        what=f"By this tool's model the wood under the hearth at the {face.name} face comes to",
        after=f" with {_words(made.fires['steady'])}, {case.length(case.edition['heat.point'].number)} out from the opening, "
        "once it has burned for hours",
        unit="temperature",
        unsure=UNSURE,
        face=face.name,
        working=tuple(_profile_steps(case, face, made, made.fires["steady"])),
        basis=_rests(
            case, layers_of(case, face), *_fire_keys(case, "steady"), "heat.limit.concealed", "heat.limit.contact",
            f"heat.below.{BELOW[lies or '']}",
            *(["heat.floor.thickness", "heat.floor.conductivity"] if made.own else []),
            *MODEL, "heat.point",
        ),
        remedy=(
            "Lay insulating board under the masonry: brick and concrete store heat and hardly hold it back.",
        ),
        caution=CHARS,
    )  # fmt: skip
    return replace(told, text=f"{told.text} If they burned as long, {others}. {_taken(made.around)}{BESIDE}")


def places(made: Profile) -> tuple[str, ...]:
    """What each temperature through a hearth is of, in words."""
    inner = (f"under {_small(title)}" for title in made.places[1:-1])
    return ("top of the hearth", *inner, "below")


def _profile_steps(case: Case, face: Subject, made: Profile, fire: Fire) -> Iterator[Step]:
    yield from _radiation_steps(case, face, fire, made.irradiance[fire.name])
    for place, warm in zip(places(made), made.temperatures[fire.name], strict=True):
        yield Step("T", place, "", warm, "C", degrees(warm, case.unit))


def _radiation_steps(case: Case, face: Subject, fire: Fire, falling: float) -> Iterator[Step]:
    area = float(opening(case, face).area.value) * float(METRE) ** 2
    gives = f"{fire.emits / 1000:.2f} kW/m2"
    yield Step(
        "E", "share x power / opening", f"{fire.share:g} x {fire.power / 1000:.3g} kW / {area:.3f} m2", fire.emits, "W/m2", gives,
    )  # fmt: skip
    yield Step(
        "q", "E x view factor", f"{gives} x {falling / fire.emits:.3f}", falling, "W/m2", f"{falling / 1000:.2f} kW/m2",
    )  # fmt: skip


EDGES = {
    "front": "out from the opening",
    "left": "past its left side",
    "right": "past its right side",
}


@rule("heat.floor_edge", "Bare floor at the edge of the hearth", each="face", kind="model")
def floor_edge(case: Case, face: Subject) -> Finding:
    """Where the hearth ends, wood that lies bare on the floor stays below its limit."""
    ends = {edge: case.number(face, f"hearth.{edge}") for edge in EDGES}
    lies = case.word(face, "hearth.below")
    result = case.models.floors.get(face.name)
    if isinstance(result, Lacking):
        case.asked.missing |= dict.fromkeys(result.missing)
    case.all_known()
    made, name = known(case, "floors", face.name, result), burned(case)
    reach, fire = made.reach[name], made.fires[name]
    there = {edge: entry.value.value for edge, entry in ends.items()}
    bands = {edge: _edge(made, name, edge) for edge in EDGES}
    tight = min(EDGES, key=lambda edge: there[edge] - bands[edge].high)
    view = made.irradiance / fire.emits
    others = "; ".join(
        f"with {_words(made.fires[other])} {_far(case, made.reach[other])}"
        for other in FIRES
        if other != name
    )
    told = case.judge(
        ">=",
        Reading.exact(there[tight]),
        bands[tight],
        what=f"By this tool's model, with {_words(fire)}, at the {face.name} face: the hearth reaches",
        after=f" {EDGES[tight]}",
        unit="length",
        unsure=replace(UNSURE, fails=-NEVER),
        face=face.name,
        working=(
            *_radiation_steps(case, face, fire, made.irradiance),
            Step("F", "view factor that brings bare wood to its limit", "", view, "", f"{view:.3f}"),
            Step("reach", "out on the centre line", "", reach.front / float(METRE), "in", _rounded(case, reach.front)),
            Step("reach", "past the side, where it is most", "", reach.side / float(METRE), "in", _rounded(case, reach.side)),
        ),
        basis=_rests(
            case, [], *_fire_keys(case, *FIRES), "heat.limit.exposed",
            f"heat.below.{BELOW[lies.value]}",
            "heat.floor.thickness", "heat.floor.conductivity", *MODEL,
        ),
        remedy=(
            f"Carry stone, tile or another floor that does not burn on to {_far(case, made.most[name])}, or burn smaller fires.",
        ),
        caution="A floor that is too hot to keep a hand on chars in time; rugs and furniture take fire sooner.",
    )  # fmt: skip
    text = (
        f"Bare wood would pass {degrees(made.limit, case.unit)} as far as {_far(case, reach)}; "
        f"the hearth reaches {case.length(there['front'])} out, {case.length(there['left'])} to the left and "
        f"{case.length(there['right'])} to the right. That would be {others}. {_taken(made.around)}{BESIDE}"
    )
    return replace(told, text=f"{told.text} {text}")


def _edge(made: Floor, fire: str, edge: str) -> Reading:
    """How far bare wood gets too warm on one side of a hearth, in, with its band."""
    side = "front" if edge == "front" else "side"
    every = [Fraction(getattr(by[fire], side)) / METRE for by in (made.reach, made.least, made.most)]
    return Reading(every[0], min(every), max(every))


def _far(case: Case, contour: Contour) -> str:
    return f"{_rounded(case, contour.front)} out and {_rounded(case, contour.side)} past the sides"


def _rounded(case: Case, metres: float) -> str:
    return lengths.show_limit(Fraction(metres) / METRE, case.unit, op=">=")


@rule("heat.mantel", "Underside of the mantel", each="nearby", kind="model")
def mantel(case: Case, thing: Subject) -> Finding | None:
    """The underside of a wood shelf over an opening stays below its limit."""
    result = case.models.shelves.get(thing.name or "")
    if result is None:
        return None
    face = case.face(case.peek(thing, "face") or "")
    made, name = known(case, "shelves", thing.name or "", result), burned(case)
    warm = made.temperatures
    others = ", ".join(
        f"{_words(made.fires[other])} to {degrees(warm[other], case.unit)}"
        for other in FIRES
        if other != name
    )
    above = case.number(thing, "above").value
    told = case.judge(
        "<=",
        _warm(warm[name], made.bands[name]),
        Fraction(made.limit),
        what=f"By this tool's model the underside of the {thing.name}, {case.length(above)} over the opening, comes to",
        after=f" with {_words(made.fires[name])}, from the fire's radiation alone",
        unit="temperature",
        unsure=UNSURE,
        working=(
            *_radiation_steps(case, face, made.fires[name], made.irradiance[name]),
            Step("T", "underside of the shelf where it is warmest", "", warm[name], "C", degrees(warm[name], case.unit)),
        ),
        basis=_rests(
            case, [], *_fire_keys(case, *FIRES), "heat.limit.exposed", "heat.below.open",
            "heat.floor.thickness", "heat.floor.conductivity", *MODEL,
        ),
        remedy=(
            f"Raise the {thing.name}, cut its projection back, or make it of what does not burn.",
        ),
        caution="Wood near an opening dries, chars and takes fire from heat it never seemed to feel.",
        item=thing.name,
        face=face.name,
    )  # fmt: skip
    return replace(told, text=f"{told.text} It would come with {others}. {_taken(made.around)}{BESIDE}")
