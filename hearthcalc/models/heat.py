"""How warm wood gets under a hearth, on the floor before it and under a shelf, and what layers insulate.

A second opinion beside the code's dimensions. Its constants are reference values of their own (heat.*), most of them assumptions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import cache
from typing import Any

from msgspec import Struct

from hearthcalc.entry import shown
from hearthcalc.errors import EntryError, FileError
from hearthcalc.models.ends import End, at_ends, turned
from hearthcalc.models.results import Around, Contour, Fire, Floor, Profile, Shelf, Span
from hearthcalc.physics import conduction
from hearthcalc.physics.radiation import Panel
from hearthcalc.reference import Edition, OwnMaterial, read_figure, read_table

FIRES = ("steady", "hot", "roaring")
METRE = Fraction(254, 10000)  # of an inch
ZERO = 273.15
FAR = 10.0  # m; no fire of a fireplace warms a floor from further off
WOOD = ("wood", "wood, insulated")

HOTTER: Mapping[str, End] = {
    "heat.share.steady": "high",
    "heat.share.hot": "high",
    "heat.share.roaring": "high",
    "heat.emissivity": "high",
    "heat.convection": "low",
    "heat.below.open": "low",
    "heat.below.insulated": "low",
    "heat.below.solid": "low",
    "heat.floor.thickness": "high",
    "heat.floor.conductivity": "low",
}
"""The uncertain constants, and the end of each at which wood gets hotter."""

BELOW = {
    "wood": "open",
    "air gap": "open",
    "wood, insulated": "insulated",
    "masonry": "solid",
    "concrete": "solid",
    "earth": "solid",
    "brick arch": "solid",
}


class Material(Struct, frozen=True):
    """A row of the table of materials. conductivity: W/(m.K), None of air; density: kg/m3, None where it is not known."""

    name: str
    title: str
    kind: str
    conductivity: Fraction | None
    density: Fraction | None
    source: str
    clause: str
    standing: str


@cache
def _materials(folder: Any, name: str) -> Mapping[str, Material]:
    def figure(row: Mapping[str, str], key: str) -> Fraction | None:
        try:
            return read_figure(row[key]) if row[key] else None
        except EntryError as err:
            where = f"{name}.csv, {shown(row['material'])}, {key}"
            raise FileError("A table is not sound", err.what, where=where, fix=err.fix) from err

    return {
        row["material"]: Material(
            row["material"],
            row["title"],
            row["kind"],
            figure(row, "conductivity"),
            figure(row, "density"),
            row["source"],
            row["clause"],
            row["standing"],
        )
        for row in read_table(folder, name).rows
    }


def materials(edition: Edition) -> Mapping[str, Material]:
    """Every material that a layer may be of, by name."""
    shipped = _materials(edition.folder, edition["heat.materials"].table)
    return {**shipped, **{own.cells["material"]: _own(own) for own in edition.materials}}


def _own(own: OwnMaterial) -> Material:
    """A material that the user added."""
    cells = own.cells
    return Material(
        cells["material"],
        cells["title"],
        "own",
        own.conductivity,
        own.density,
        cells["source"],
        "own file",
        "edited here",
    )


class TradeName(Struct, frozen=True):
    """A material as it is sold. thickness: usual, as one types it; material: its row in the table of materials."""

    name: str
    thickness: str
    material: str


def trade_names(edition: Edition, units: str) -> tuple[TradeName, ...]:
    """What the trade calls the materials of layers, with usual thicknesses. units: "in" or "mm", of the job."""
    table = read_table(edition.folder, edition["heat.trade_names"].table)
    return tuple(
        TradeName(row["name"], row["thickness"], row["material"])
        for row in table.rows
        if row["units"] == units
    )


# What layers insulate


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


# The inputs


class Inputs(Struct, frozen=True):
    """The numbers of a record that the model needs at one face; None where one is not known.

    width: of the opening, m; area: m2.  opens_to, fire: as entered.  power: W.  largest: area of the largest face, m2.
    indoor, outdoor: C.  with_it: how many faces are open whenever this one is, itself among them.
    """

    width: float
    area: float
    opens_to: str
    largest: float
    fire: str | None
    power: float | None
    indoor: float | None
    outdoor: float | None
    with_it: int = 1


class Layer(Struct, frozen=True):
    """One layer of a hearth. thickness: in."""

    material: Material
    thickness: Fraction


def fires(inputs: Inputs, edition: Edition) -> dict[str, Fire]:
    """The three fires: of the power entered, else by the largest face.

    What does not heat the gas is all that the faces can give off: those that are always open together share it out.
    """
    times = {name: 1.0 if name == "steady" else float(edition[f"draft.fire.{name}"].number) for name in FIRES}
    if inputs.power is not None:
        steady = inputs.power / times[inputs.fire or "steady"]
    else:
        steady = float(edition["draft.fire.steady"].number) * 1000 * inputs.largest

    left = (1 - float(edition["draft.share_to_gas"].number)) / inputs.with_it

    def fire(name: str) -> Fire:
        share, power = min(float(edition[f"heat.share.{name}"].number), left), steady * times[name]
        return Fire(name, power, share, share * power / inputs.area)

    return {name: fire(name) for name in FIRES}


def around(inputs: Inputs, edition: Edition) -> Around:
    """The temperatures at a face: indoors, outdoors, or halfway behind glass."""
    needed = (
        ["indoor"] if inputs.opens_to not in ("screened", "outdoors", "glazed") else ["indoor", "outdoor"]
    )
    taken = {f"{name}s": edition[f"draft.{name}"].shown for name in needed if getattr(inputs, name) is None}

    def temperature(name: str) -> float:
        entered: float | None = getattr(inputs, name)
        return float(edition[f"draft.{name}"].number) if entered is None else entered

    indoor, outdoor = temperature("indoor"), temperature("outdoor")
    air = {"screened": outdoor, "outdoors": outdoor, "glazed": (indoor + outdoor) / 2}
    return Around(air.get(inputs.opens_to, indoor), indoor, taken)


def _panel(inputs: Inputs, foot: float) -> Panel:
    """The opening as the model sees it, of its width and area. foot: over the level looked at, m."""
    return Panel(inputs.width, inputs.area / inputs.width, foot)


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


def _hot_resistance(edition: Edition, layer: Layer) -> float:
    """R of a layer under a hot hearth; closed air insulates less there, and a thick space counts as a thin one."""
    if layer.material.name == "still_air":
        return float(_thin_air(edition, layer.thickness, edition["heat.air_space.hot"].number))
    if layer.material.conductivity is None:
        return 0.0
    return float(layer_resistance(layer.thickness, layer.material.conductivity))


# The results


def ends(edition: Edition) -> tuple[Edition, Edition]:
    """The edition with the uncertain constants where wood stays coolest, and where it gets hottest."""
    return at_ends(edition, turned(HOTTER)), at_ends(edition, HOTTER)


def profile(
    inputs: Inputs, layers: Sequence[Layer], *, below: str, raised: float, edition: Edition
) -> Profile:
    """How warm the layers of a hearth get. below: as entered.  raised: opening above the hearth, m."""
    site, all_fires = around(inputs, edition), fires(inputs, edition)
    wood = next((number for number, layer in enumerate(layers) if layer.material.kind == "wood"), None)
    own = below in WOOD and wood is None
    if own:
        wood = len(layers)
    titles = ("", *(layer.material.title for layer in layers), *(["Wood of the floor"] if own else []), "")
    irradiance, temperatures = _through(inputs, layers, FIRES, own, below, raised, edition)
    limit = min(
        site.air + float(edition["heat.limit.concealed"].number), float(edition["heat.limit.contact"].number)
    )
    band = None
    if wood is not None:
        cool, hot = (
            _through(inputs, layers, FIRES[:1], own, below, raised, end)[1][FIRES[0]][wood]
            for end in ends(edition)
        )
        band = Span(cool, hot)
    return Profile(titles, temperatures, irradiance, wood, own, limit, band, all_fires, site)


def _through(
    inputs: Inputs,
    layers: Sequence[Layer],
    names: Sequence[str],
    own: bool,
    below: str,
    raised: float,
    edition: Edition,
) -> tuple[dict[str, float], dict[str, tuple[float, ...]]]:
    """Irradiance, W/m2, and temperatures through a hearth, C, by fire. own: the floor's own wood lies under the layers."""
    site, all_fires = around(inputs, edition), fires(inputs, edition)
    resistances = [_hot_resistance(edition, layer) for layer in layers]
    resistances += [_bare_wood(edition)] if own else []
    resistances.append(_film(edition, BELOW[below]))
    view = _panel(inputs, raised).on_floor(float(edition["heat.point"].number * METRE))
    irradiance = {name: all_fires[name].emits * view for name in names}
    temperatures = {}
    for name, falling in irradiance.items():
        top = conduction.surface_temperature(
            falling,
            surroundings=site.air + ZERO,
            below=site.below + ZERO,
            resistance=sum(resistances),
            **_surface(edition),
        )
        through = conduction.interface_temperatures(top, site.below + ZERO, resistances)
        temperatures[name] = tuple(kelvin - ZERO for kelvin in through)
    return irradiance, temperatures


def _exposed(edition: Edition, site: Around, below: str) -> tuple[float, float]:
    """Of bare wood: its limit, C, and its resistance with what is below, m2.K/W."""
    limit = site.air + float(edition["heat.limit.exposed"].number)
    return limit, _bare_wood(edition) + _film(edition, below)


def floor(inputs: Inputs, *, below: str, foot: float, edition: Edition) -> Floor:
    """How far wood that lay bare on the floor would pass its limit. below: as entered.  foot: opening above the floor, m."""
    site, judged = around(inputs, edition), (inputs.fire or FIRES[0],)
    limit, _ = _exposed(edition, site, BELOW[below])
    cool, hot = ends(edition)
    falling, reach = _reach(inputs, FIRES, below, foot, edition)
    return Floor(
        reach=reach,
        least=_reach(inputs, judged, below, foot, cool)[1],
        most=_reach(inputs, judged, below, foot, hot)[1],
        limit=limit,
        irradiance=falling,
        fires=fires(inputs, edition),
        around=site,
    )


def _reach(
    inputs: Inputs, names: Sequence[str], below: str, foot: float, edition: Edition
) -> tuple[float, dict[str, Contour]]:
    """What must fall on bare wood to bring it to its limit, W/m2, and how far out it does, by fire."""
    site, all_fires = around(inputs, edition), fires(inputs, edition)
    limit, through = _exposed(edition, site, BELOW[below])
    falling = conduction.irradiance_at(
        limit + ZERO,
        surroundings=site.air + ZERO,
        below=site.below + ZERO,
        resistance=through,
        **_surface(edition),
    )
    seen = _panel(inputs, foot)
    reach = {}
    for name in names:
        view = falling / all_fires[name].emits
        reach[name] = Contour(seen.reach_in_front(view, FAR), seen.reach_beside(view, FAR))
    return falling, reach


def shelf(inputs: Inputs, *, above: float, out: float, beside: float | None, edition: Edition) -> Shelf:
    """How warm the underside of a wood shelf gets.

    above: over the opening, m.  out: its projection, m, above 0.  beside: past the jamb, m, None where it is over the opening.
    """
    site, all_fires = around(inputs, edition), fires(inputs, edition)
    most_seen = _panel(inputs, 0.0).most_under_shelf(out, above, beside)
    limit, _ = _exposed(edition, site, "open")
    warm = _underside(inputs, most_seen, edition)
    cool, hot = (_underside(inputs, most_seen, end) for end in ends(edition))
    bands = {name: Span(cool[name], hot[name]) for name in FIRES}
    irradiance = {name: fire.emits * most_seen for name, fire in all_fires.items()}
    return Shelf(warm, bands, irradiance, limit, all_fires, site)


def _underside(inputs: Inputs, view: float, edition: Edition) -> dict[str, float]:
    """Temperature of the underside of a shelf, C, by fire. view: the factor from its warmest place to the opening."""
    site = around(inputs, edition)
    _, through = _exposed(edition, site, "open")
    return {
        name: conduction.surface_temperature(
            fire.emits * view,
            surroundings=site.air + ZERO,
            below=site.air + ZERO,
            resistance=through,
            **_surface(edition),
        )
        - ZERO
        for name, fire in fires(inputs, edition).items()
    }
