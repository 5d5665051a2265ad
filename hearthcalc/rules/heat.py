"""Heat on the hearth, the floor and the mantel: what the layers insulate, and how warm wood gets by this tool's model.

The R of layers against a listing's is a rule. Temperatures are a second opinion beside the code's dimensions: MEETS or REFER, never SHORT.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from typing import Any

from hearthcalc import lengths, quantities
from hearthcalc.findings import Basis, Bound, Finding, Margin, Step, Verdict
from hearthcalc.job import Face, Nearby
from hearthcalc.physics import conduction
from hearthcalc.physics.radiation import Panel, peak
from hearthcalc.reference import Edition, read_table, split_unit
from hearthcalc.rules.case import Case, NotKnown, basis, of, rule
from hearthcalc.rules.clearances import burns
from hearthcalc.rules.hearth import CHARS, WOOD
from hearthcalc.rules.openings import entries, opening_area
from hearthcalc.rules.reading import Reading, at_least, corners

FIRES = ("steady", "hot", "roaring")
METRE = Fraction(254, 10000)  # of an inch
SQUARE_METRE = float(METRE) ** 2
ZERO = 273.15
FAR = 10.0  # m; no fire of a fireplace warms a floor from further off

BELOW = {
    "wood": "open",
    "air gap": "open",
    "wood, insulated": "insulated",
    "masonry": "solid",
    "concrete": "solid",
    "earth": "solid",
    "brick arch": "solid",
}


@dataclass(frozen=True, slots=True)
class Material:
    """A row of the table of materials. conductivity: W/(m.K), None of air; density: kg/m3, None where it is not known."""

    name: str
    title: str
    kind: str
    conductivity: Fraction | None
    density: Fraction | None
    source: str
    clause: str
    standing: str

    def basis(self) -> Basis:
        """This material as a finding quotes it."""
        value = f"{float(self.conductivity):g} W/(m.K)" if self.conductivity else self.title
        return Basis(
            f"material.{self.name}", self.title, value, "W/(m.K)" if self.conductivity else "",
            self.source, self.clause, "materials", self.standing,
        )  # fmt: skip


class NotInTable(NotKnown):
    """A layer names a material that the table does not hold."""

    def __init__(self, address: str, name: str, near: list[str]) -> None:
        super().__init__([address])
        self.name = name
        self.near = near

    def tell(self, case: Case, face: Face) -> Finding:
        hint = f" The nearest names: {', '.join(self.near)}." if self.near else ""
        return case.finding(
            Verdict.MEASURE,
            f"No material {self.name!r} is in the table of materials.{hint}",
            face=face.name,
            missing=self.missing,
        )


@cache
def _materials(folder: Any, name: str) -> Mapping[str, Material]:
    return {
        row["material"]: Material(
            row["material"],
            row["title"],
            row["kind"],
            Fraction(row["conductivity"]) if row["conductivity"] else None,
            Fraction(row["density"]) if row["density"] else None,
            row["source"],
            row["clause"],
            row["standing"],
        )
        for row in read_table(folder, name).rows
    }


def materials(edition: Edition) -> Mapping[str, Material]:
    """Every material that a layer may be of, by name."""
    shipped = _materials(edition.folder, edition["heat.materials"].table)
    return {**shipped, **{row["material"]: _own(row) for row in edition.materials}}


def _own(row: Mapping[str, str]) -> Material:
    """A material that the user added."""
    density = Fraction(row["density"]) if row["density"] else None
    return Material(
        row["material"],
        row["title"],
        "own",
        Fraction(row["conductivity"]),
        density,
        row["source"],
        "own file",
        "edited here",
    )


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a hearth, the top one first."""

    material: Material
    thickness: Reading


def layers_of(case: Case, face: Face) -> list[Layer]:
    """The layers of a face's hearth, from the top down. Raises NotKnown, NotInTable."""
    mine = (*of(face), "hearth", "layers")
    if not face.hearth.layers:
        raise NotKnown([case.address(*mine)])
    known = materials(case.edition)
    missing, layers = [], []
    for number, layer in enumerate(face.hearth.layers, 1):
        place = (*mine, str(number))
        missing += [
            case.address(*place, key) for key in ("material", "thickness") if getattr(layer, key) is None
        ]
        if layer.material is not None and layer.material not in known:
            near = get_close_matches(layer.material, known, n=3, cutoff=0.4)
            raise NotInTable(case.address(*place, "material"), layer.material, near)
        if layer.material is not None and layer.thickness is not None:
            layers.append(Layer(known[layer.material], case.reading(layer.thickness)))
    if missing:
        raise NotKnown(missing)
    return layers


def layer_resistance(thickness: Fraction, conductivity: Fraction) -> Fraction:
    """Resistance of a layer, m2.K/W: thickness, in, over conductivity, W/(m.K). Source: floor-protector rule of several makers' manuals."""
    return thickness * METRE / conductivity


def air_resistance(edition: Edition, thickness: Fraction) -> Fraction:
    """Resistance of a closed air space with heat going down, m2.K/W; thickness: in.

    The row of the table that is not thicker, and below the first row conduction and radiation (ASHRAE Fundamentals 2021, chapter 26).
    """
    emittance = edition["heat.air_space.emittance"].number
    table = read_table(edition.folder, edition["heat.air_space"].table)
    column = min((c for c in list(table.rows[0])[3:] if Fraction(c) >= emittance), key=Fraction)
    rows = [row for row in table.rows if row["direction"] == "down" and row["mean"] == "32.2"]
    fits = [row for row in rows if Fraction(row["thickness"]) <= thickness * METRE * 1000]
    if fits:
        return Fraction(fits[-1][column])
    return _thin_air(edition, thickness, Fraction(rows[0]["mean"]))


def _thin_air(edition: Edition, thickness: Fraction, mean: Fraction) -> Fraction:
    metres = min(float(thickness * METRE), conduction.THIN_AIR_SPACE)
    emittance = float(edition["heat.air_space.emittance"].number)
    return Fraction(conduction.thin_air_resistance(metres, float(mean), emittance)) if metres else Fraction(0)


def resistance_of(edition: Edition, material: Material, thickness: Fraction) -> Fraction:
    """Resistance of so much of a material, m2.K/W; thickness: in. An air space that is open at its edges has none."""
    if material.name == "still_air":
        return air_resistance(edition, thickness)
    if material.conductivity is None:
        return Fraction(0)
    return layer_resistance(thickness, material.conductivity)


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


def _slip_of_specified(case: Case, specified: Fraction, shown: str) -> str:
    least = case.edition["heat.slip.specified_least"].number
    most = case.edition["heat.slip.specified_most"].number
    if least <= specified <= most:
        return ""
    metric = "m2.K/W" in shown or "K.m2/W" in shown
    other = "h.ft2.F/Btu" if metric else "m2.K/W"
    return f" {shown} is {'more' if specified > most else 'less'} than listings ask for: was it printed in {other}?"


@rule("heat.resistance", "R of the hearth's layers", each="face", masonry=False)
def resistance(case: Case, face: Face) -> Finding | None:
    """The layers come to at least the R that a listing asks for: thickness over conductivity, added up."""
    specified = face.hearth.specified_r
    if specified is None:
        return None
    try:
        layers = layers_of(case, face)
    except NotInTable as err:
        return err.tell(case, face)
    unit = quantities.show(specified.value, "resistance", split_unit(specified.text)[1]).split(" ", 1)[1]
    factor = quantities.parse(f"1 {unit}", "resistance")
    parts = [_resistance(case, layer) for layer in layers]
    total = sum(parts, start=Reading.exact(0))
    limit = Reading.exact(specified.value)
    outcome = at_least(total, limit)
    asked = quantities.show(limit.value, "resistance", unit)
    found = quantities.show_limit(total.value, "resistance", unit, op="<=", beside=limit.value)
    text = f"At the {face.name} face the layers come to R {found}; the listing asks for at least {asked}"
    by = quantities.show_limit(abs(outcome.margin), "resistance", unit, op=">=")
    text += {
        Verdict.MEETS: ": exactly at the limit" if outcome.margin == 0 else "",
        Verdict.CLOSE: f": short by {by}, within the measuring tolerance: measure again",
        Verdict.SHORT: f": short by {by}",
    }[outcome.verdict]
    odd = [told for layer in layers if (told := slip(case.edition, layer.material))]
    text += f".{_slip_of_specified(case, specified.value, asked)}{''.join(f' {one}' for one in odd)}"
    steps = [
        _layer_step(case, layer, part, number, unit, factor)
        for number, (layer, part) in enumerate(zip(layers, parts, strict=True), 1)
    ]
    numbers = " + ".join(step.text.split(" ", 1)[0] for step in steps)
    steps.append(Step("R", "sum of the layers", numbers, total.value / factor, unit, found))
    return case.finding(
        outcome.verdict,
        text,
        face=face.name,
        required=Bound(">=", limit.value / factor, unit, asked),
        found=Bound("=", total.value / factor, unit, found),
        tolerance=Margin(outcome.slack / factor, unit, None) if outcome.slack else None,
        working=tuple(steps),
        basis=_rests(case, layers, "heat.listing"),
        remedy=() if outcome.verdict is Verdict.MEETS else _more_board(case, -outcome.margin),
    )


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
        f"{lengths.show_limit(lacking * material.conductivity / METRE, case.unit, op='>=')} of {material.title.lower()}"
        for name in ("calcium_silicate_block_type_I", "cement_board")
        if (material := known.get(name)) and material.conductivity
    ]
    return (f"Add as much as {' or '.join(ways)}, where the listing lets you.",) if ways else ()


def _rests(case: Case, layers: list[Layer], *keys: str) -> tuple[Basis, ...]:
    own = {layer.material.name: layer.material.basis() for layer in layers}
    return (*basis(*(case.edition[key] for key in keys)), *own.values())


# The model


@dataclass(frozen=True, slots=True)
class Fire:
    """A fire as the hearth feels it. power: W.  share: of it that leaves through each open face as radiation."""

    name: str
    power: float
    share: float

    @property
    def words(self) -> str:
        return f"a {self.name} fire of {self.power / 1000:.3g} kW"


def fires(case: Case) -> dict[str, Fire]:
    """The three fires: of the power entered, else by the largest face. Raises NotKnown."""
    case.require(*(path for face in case.job.face for path in entries(face)))
    edition, entered = case.edition, case.job.fire
    times = {name: 1.0 if name == "steady" else float(edition[f"draft.fire.{name}"].number) for name in FIRES}
    if entered.power is not None:
        steady = float(entered.power.value) / times[entered.size or "steady"]
    else:
        largest = max(float(opening_area(case, face).value) for face in case.job.face) * SQUARE_METRE
        steady = float(edition["draft.fire.steady"].number) * 1000 * largest
    return {
        name: Fire(name, steady * times[name], float(edition[f"heat.share.{name}"].number)) for name in FIRES
    }


def burned(case: Case) -> str:
    """The fire that exposed wood is judged by: the one entered, else a steady one."""
    return case.job.fire.size or "steady"


@dataclass(frozen=True, slots=True)
class Site:
    """What surrounds a hearth. air: of its side; below: of what lies under it, indoors; both C.  taken: what was not entered."""

    air: float
    below: float
    taken: str


def site(case: Case, face: Face) -> Site:
    """The temperatures at a face: indoors, outdoors, or halfway behind glass. Raises NotKnown."""
    (opens,) = case.need(of(face), "opens_to")
    taken = []

    def temperature(name: str) -> float:
        entered = getattr(case.job.site, name)
        if entered is None:
            taken.append(f"{name}s {case.edition[f'draft.{name}'].shown}")
        return float(entered.value if entered is not None else case.edition[f"draft.{name}"].number)

    indoor = temperature("indoor")
    air = indoor
    if opens in ("screened", "outdoors"):
        air = temperature("outdoor")
    elif opens == "glazed":
        air = (indoor + temperature("outdoor")) / 2
    return Site(air, indoor, f" Taken, as it is not entered: {', '.join(taken)}." if taken else "")


def panel(case: Case, face: Face, foot: Fraction) -> Panel:
    """The opening of a face as the model sees it, of its width and area. foot: over the level looked at, in. Raises NotKnown."""
    area = opening_area(case, face).value
    (width,) = case.need(of(face), "width")
    return Panel(*(float(length * METRE) for length in (width.value, area / width.value, foot)))


def emitted(case: Case, face: Face, fire: Fire) -> float:
    """What an opening gives off, W/m2: its share of the fire over its area."""
    return fire.share * fire.power / (float(opening_area(case, face).value) * SQUARE_METRE)


def _surface(edition: Edition) -> dict[str, float]:
    return {
        "convection": float(edition["heat.convection"].number),
        "emissivity": float(edition["heat.emissivity"].number),
    }


def _film(edition: Edition, below: str) -> float:
    """Resistance of what is below the stack, m2.K/W."""
    return 1 / float(edition[f"heat.below.{below}"].number)


def _bare_wood(edition: Edition) -> float:
    thickness, k = (edition[f"heat.floor.{name}"].number for name in ("thickness", "conductivity"))
    return float(layer_resistance(thickness, k))


@dataclass(frozen=True, slots=True)
class Profile:
    """Temperatures through a hearth on its centre line, C, from its top down.

    places: what each temperature is of.  fires: the temperatures by fire.  irradiance: W/m2, by fire.
    wood: which of the places is the top of wood, None where none lies there.  limit: of wood, C.
    """

    places: tuple[str, ...]
    fires: Mapping[str, tuple[float, ...]]
    irradiance: Mapping[str, float]
    wood: int | None
    limit: float


def profile(case: Case, face: Face) -> Profile:
    """How warm the layers of a face's hearth get. Raises NotKnown, NotInTable."""
    edition = case.edition
    layers = layers_of(case, face)
    lies, raised = case.need(of(face), "hearth.below", "opening_above_hearth")
    around = site(case, face)
    wood = next((number for number, layer in enumerate(layers) if layer.material.kind == "wood"), None)
    parts = [(layer.material.title, _hot_resistance(edition, layer)) for layer in layers]
    if lies in WOOD and wood is None:
        wood = len(parts)
        parts.append(("Wood of the floor", _bare_wood(edition)))
    resistances = [part for _, part in parts] + [_film(edition, BELOW[lies])]
    view = panel(case, face, raised.value).on_floor(float(edition["heat.point"].number * METRE))
    irradiance = {name: emitted(case, face, fire) * view for name, fire in fires(case).items()}
    temperatures = {}
    for name, falling in irradiance.items():
        top = conduction.surface_temperature(
            falling,
            surroundings=around.air + ZERO,
            below=around.below + ZERO,
            resistance=sum(resistances),
            **_surface(edition),
        )
        through = conduction.interface_temperatures(top, around.below + ZERO, resistances)
        temperatures[name] = tuple(kelvin - ZERO for kelvin in through)
    places = ("top of the hearth", *(f"under {title[0].lower()}{title[1:]}" for title, _ in parts), "below")
    limit = around.air + float(edition["heat.limit.concealed"].number)
    return Profile(
        places, temperatures, irradiance, wood, min(limit, float(edition["heat.limit.contact"].number))
    )


def _hot_resistance(edition: Edition, layer: Layer) -> float:
    """R of a layer under a hot hearth; closed air insulates less there, and a thick space counts as a thin one."""
    if layer.material.name == "still_air":
        return float(_thin_air(edition, layer.thickness.value, edition["heat.air_space.hot"].number))
    if layer.material.conductivity is None:
        return 0.0
    return float(layer_resistance(layer.thickness.value, layer.material.conductivity))


def degrees(celsius: float) -> str:
    """A temperature as it is told."""
    return f"{celsius:.0f} C ({celsius * 1.8 + 32:.0f} F)"


BESIDE = " This stands beside the code's own dimensions, never instead of them."
MODEL = ("heat.panel", "heat.emissivity", "heat.convection", "heat.steady")


def _fire_keys(case: Case, *names: str) -> list[str]:
    power = [] if case.job.fire.power else ["draft.fire.steady"]
    return [*power, *(f"heat.share.{name}" for name in names)]


@rule("heat.wood_temperature", "Wood under the hearth", each="face", kind="model")
def wood_temperature(case: Case, face: Face) -> Finding | None:
    """Wood under the layers stays below its limit with a steady fire."""
    mine = of(face)
    lies = case.raw((*mine, "hearth", "below"))
    if lies is not None and lies not in WOOD:
        return None
    paths = [
        *(path for one in case.job.face for path in entries(one)),
        (*mine, "opens_to"),
        (*mine, "opening_above_hearth"),
        (*mine, "hearth", "below"),
    ]
    try:
        layers = layers_of(case, face)
        case.require(*paths)
    except NotInTable as err:
        return err.tell(case, face)
    except NotKnown as lacking:
        missing = [case.address(*path) for path in paths if case.raw(path) is None]
        raise NotKnown(list(dict.fromkeys((*missing, *lacking.missing)))) from None
    made, around, all_fires = profile(case, face), site(case, face), fires(case)
    assert made.wood is not None
    warm = {name: made.fires[name][made.wood] for name in FIRES}
    met = warm["steady"] <= made.limit
    point = case.edition["heat.point"]
    others = ", ".join(f"{all_fires[name].words} to {degrees(warm[name])}" for name in FIRES[1:])
    return case.finding(
        Verdict.MEETS if met else Verdict.REFER,
        f"By this tool's model the wood under the hearth at the {face.name} face comes to {degrees(warm['steady'])} with "
        f"{all_fires['steady'].words}, {case.length(point.number)} out from the opening, once it has burned for hours; "
        f"{degrees(made.limit)} is taken as the most. If they burned as long, {others}.{around.taken}{BESIDE}",
        face=face.name,
        required=Bound("<=", made.limit, "C", degrees(made.limit)),
        found=Bound("=", warm["steady"], "C", degrees(warm["steady"])),
        working=tuple(_profile_steps(case, face, made, all_fires["steady"])),
        basis=_rests(
            case, layers, *_fire_keys(case, "steady"), "heat.limit.concealed", "heat.limit.contact",
            f"heat.below.{BELOW[case.raw((*mine, 'hearth', 'below'))]}",
            *(["heat.floor.thickness", "heat.floor.conductivity"] if made.wood == len(layers) else []),
            *MODEL, "heat.point",
        ),
        remedy=() if met else (
            "Lay insulating board under the masonry: brick and concrete store heat and hardly hold it back.",
        ),
        caution=None if met else CHARS,
    )  # fmt: skip


def _profile_steps(case: Case, face: Face, made: Profile, fire: Fire) -> Iterator[Step]:
    yield from _radiation_steps(case, face, fire, made.irradiance[fire.name])
    for place, warm in zip(made.places, made.fires[fire.name], strict=True):
        yield Step("T", place, "", warm, "C", degrees(warm))


def _radiation_steps(case: Case, face: Face, fire: Fire, falling: float) -> Iterator[Step]:
    panel_gives = emitted(case, face, fire)
    area = float(opening_area(case, face).value) * SQUARE_METRE
    yield Step(
        "E", "share x power / opening", f"{fire.share:g} x {fire.power / 1000:.3g} kW / {area:.3f} m2",
        panel_gives, "W/m2", f"{panel_gives / 1000:.2f} kW/m2",
    )  # fmt: skip
    yield Step(
        "q", "E x view factor", f"{panel_gives / 1000:.2f} kW/m2 x {falling / panel_gives:.3f}",
        falling, "W/m2", f"{falling / 1000:.2f} kW/m2",
    )  # fmt: skip


def _exposed(case: Case, around: Site, below: str) -> tuple[float, float, float]:
    """Of bare wood: its limit, C; the irradiance that brings it there, W/m2; and its resistance with what is below, m2.K/W."""
    limit = around.air + float(case.edition["heat.limit.exposed"].number)
    through = _bare_wood(case.edition) + _film(case.edition, below)
    falling = conduction.irradiance_at(
        limit + ZERO,
        surroundings=around.air + ZERO,
        below=around.below + ZERO,
        resistance=through,
        **_surface(case.edition),
    )
    return limit, falling, through


@dataclass(frozen=True, slots=True)
class Contour:
    """How far the bare floor is warmer than its limit, m: out from the opening, and past its sides."""

    front: float
    side: float


def contours(case: Case, face: Face) -> dict[str, Contour]:
    """By fire, how far wood that lay bare on the floor would pass its limit. Raises NotKnown."""
    lies, raised, over = case.need(of(face), "hearth.below", "opening_above_hearth", "hearth.above_floor")
    _, most, _ = _exposed(case, site(case, face), BELOW[lies])
    seen = panel(case, face, raised.value + over.value)
    found = {}
    for name, fire in fires(case).items():
        view = most / emitted(case, face, fire)
        found[name] = Contour(seen.reach_in_front(view, FAR), seen.reach_beside(view, FAR))
    return found


@rule("heat.floor_edge", "Bare floor at the edge of the hearth", each="face", kind="model")
def floor_edge(case: Case, face: Face) -> Finding:
    """Where the hearth ends, wood that lies bare on the floor stays below its limit."""
    mine = of(face)
    edges = ("front", "left", "right")
    case.require(
        *(path for one in case.job.face for path in entries(one)),
        (*mine, "opens_to"),
        (*mine, "opening_above_hearth"),
        *((*mine, "hearth", name) for name in (*edges, "above_floor", "below")),
    )
    reach, around, all_fires = contours(case, face), site(case, face), fires(case)
    name = burned(case)
    asked = {edge: reach[name].front if edge == "front" else reach[name].side for edge in edges}
    there = {edge: case.need(mine, f"hearth.{edge}")[0].value for edge in edges}
    tight = min(edges, key=lambda edge: float(there[edge] * METRE) - asked[edge])
    (lies,) = case.need(mine, "hearth.below")
    limit, falling, _ = _exposed(case, around, BELOW[lies])

    def told(contour: Contour) -> str:
        return f"{_rounded(case, contour.front)} out and {_rounded(case, contour.side)} past the sides"

    others = "; ".join(
        f"with {all_fires[other].words} {told(reach[other])}" for other in FIRES if other != name
    )
    where = {"front": "out from the opening", "left": "past its left side", "right": "past its right side"}
    text = (
        f"By this tool's model, with {all_fires[name].words} a floor of bare wood at the {face.name} face would pass "
        f"{degrees(limit)} as far as {told(reach[name])}; the hearth reaches {case.length(there['front'])} out, "
        f"{case.length(there['left'])} to the left and {case.length(there['right'])} to the right. That would be {others}."
    )
    unit = case.edition.units

    def printed(metres: float) -> float:
        return metres / float(METRE) * (25.4 if unit == "mm" else 1.0)

    here, wanted = printed(float(there[tight] * METRE)), printed(asked[tight])
    met = here >= wanted
    view = falling / emitted(case, face, all_fires[name])
    return case.finding(
        Verdict.MEETS if met else Verdict.REFER,
        text + around.taken + BESIDE,
        face=face.name,
        required=Bound(">=", wanted, unit, f"{_rounded(case, asked[tight])} {where[tight]}"),
        found=Bound("=", here, unit, f"{case.length(there[tight])} {where[tight]}"),
        working=(
            *_radiation_steps(case, face, all_fires[name], falling),
            Step("F", "view factor that brings bare wood to its limit", "", view, "", f"{view:.3f}"),
            Step("reach", "out on the centre line", "", printed(reach[name].front), unit, _rounded(case, reach[name].front)),
            Step("reach", "past the side, where it is most", "", printed(reach[name].side), unit, _rounded(case, reach[name].side)),
        ),
        basis=_rests(
            case, [], *_fire_keys(case, *FIRES), "heat.limit.exposed", f"heat.below.{BELOW[lies]}",
            "heat.floor.thickness", "heat.floor.conductivity", *MODEL,
        ),
        remedy=() if met else (
            f"Carry stone, tile or another floor that does not burn on to {_rounded(case, reach[name].front)} out and "
            f"{_rounded(case, reach[name].side)} past the sides, or burn smaller fires.",
        ),
        caution=None if met else "A floor that is too hot to keep a hand on chars in time; rugs and furniture take fire sooner.",
    )  # fmt: skip


def _rounded(case: Case, metres: float) -> str:
    return lengths.show_limit(Fraction(metres) / METRE, case.unit, op=">=")


@rule("heat.mantel", "Underside of the mantel", each="nearby", kind="model")
def mantel(case: Case, thing: Nearby) -> Finding | None:
    """The underside of a wood shelf over an opening stays below its limit."""
    if thing.what != "mantel" or not thing.face or not burns(case, thing):
        return None
    mine = of(thing)
    face = case.face(thing.face)
    if thing.above is None and thing.beside is not None:
        return None
    case.require(
        *(path for one in case.job.face for path in entries(one)),
        (*of(face), "opens_to"),
        (*mine, "above"),
        (*mine, "projection"),
    )
    above, out = case.need(mine, "above", "projection")
    beside = case.want(mine, "beside")
    context: dict[str, Any] = {"item": thing.name, "face": face.name}
    if not out.value:
        return None
    around, all_fires, name = site(case, face), fires(case), burned(case)
    past = float(beside.value * METRE) if beside and beside.value else None
    seen, over, deep = panel(case, face, Fraction(0)), float(above.value * METRE), float(out.value * METRE)

    def view(at: float) -> float:
        factor: float = seen.under_shelf(at, over, past)
        return factor

    most_seen = view(peak(view, deep * 1e-3, deep))
    limit, _, through = _exposed(case, around, "open")
    warm = {}
    for other, fire in all_fires.items():
        kelvin = conduction.surface_temperature(
            emitted(case, face, fire) * most_seen,
            surroundings=around.air + ZERO,
            below=around.air + ZERO,
            resistance=through,
            **_surface(case.edition),
        )
        warm[other] = kelvin - ZERO
    met = warm[name] <= limit
    others = ", ".join(
        f"{all_fires[other].words} to {degrees(warm[other])}" for other in FIRES if other != name
    )
    falling = emitted(case, face, all_fires[name]) * most_seen
    return case.finding(
        Verdict.MEETS if met else Verdict.REFER,
        f"By this tool's model the underside of the {thing.name}, {case.length(above)} over the opening, comes to {degrees(warm[name])} "
        f"with {all_fires[name].words}, from the fire's radiation alone; {degrees(limit)} is taken as the most. "
        f"It would come with {others}.{around.taken}{BESIDE}",
        required=Bound("<=", limit, "C", degrees(limit)),
        found=Bound("=", warm[name], "C", degrees(warm[name])),
        working=(
            *_radiation_steps(case, face, all_fires[name], falling),
            Step("T", "underside of the shelf where it is warmest", "", warm[name], "C", degrees(warm[name])),
        ),
        basis=_rests(
            case, [], *_fire_keys(case, *FIRES), "heat.limit.exposed", "heat.below.open",
            "heat.floor.thickness", "heat.floor.conductivity", *MODEL,
        ),
        remedy=() if met else (
            f"Raise the {thing.name}, cut its projection back, or make it of what does not burn.",
        ),
        caution=None if met else "Wood near an opening dries, chars and takes fire from heat it never seemed to feel.",
        **context,
    )  # fmt: skip
