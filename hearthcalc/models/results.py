"""What the models say of a stage: frozen plain results, which rules judge, reports print and the screen shows.

Lengths in m, areas in m2, flows in m3/s, pressures in Pa against still outdoor air at the hearth, temperatures in C, unless said otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec import Struct, field

if TYPE_CHECKING:  # the first answers are shown without the equations behind these
    from hearthcalc.physics.draft import Crossflow, Flow, Reason


class Run(Struct, frozen=True):
    """One state of use in one weather. reason: why there is no steady flow.  house_known: is the house's leakage known.

    top: pressure of the wind on the chimney's top.
    """

    flow: Flow | None
    reason: Reason | None
    house_known: bool
    height: float
    top: float


class Supply(Struct, frozen=True):
    """Air for the fire, at the suction that the house may have, its fans off.

    draw: what the fire takes out of the house as it burns, None where it has no steady flow.  gives: what the house lets in for it.
    passages: what the entered openings to outdoors let in, by the last word of their address.
    lacks, inlet: what would have to come in besides, and its free area; None where the house gives enough.
    """

    draw: float | None
    gives: float
    passages: Mapping[str, float]
    lacks: float | None
    inlet: float | None


class Fans(Struct, frozen=True):
    """What the fans do to the house by themselves: no fire, and no warm air that rises.

    takes: out of the house, less its make-up air.  suction: that they make.  most: what they may take at the suction the house may have.
    inlet: free area that would keep it there, None where it is kept.
    """

    takes: float
    suction: float
    most: float
    inlet: float | None


class Span(Struct, frozen=True):
    """The least and the most that the uncertain constants of a model make of a figure."""

    low: float
    high: float


class Ends(Struct, frozen=True):
    """The draft of a state with its uncertain constants at the ends that make it worse, and at those that make it better.

    worse, better: runs in the weather given.  burn_down: what lifts the gas then.  dying: suction of the house then; None without
    a steady draft, or where the leakage is not known.  fans: suction that they make.  gives: what the house lets in; both None
    where the leakage is not known.
    tightest: the fans in the house as tight as it may be.
    settles: the group of constants that moves it most and could be known better: "throat", "house" or "fire".
    """

    worse: Run
    better: Run
    burn_down: Span
    dying: Span | None
    fans: Span | None
    gives: Span | None
    tightest: Fans | None
    settles: str


class Draft(Struct, frozen=True):
    """What the draft model makes of one state of use.

    main: in the weather given, all fans off.
    also: by name, other fires and weathers, with the fans running, and with a window open besides where the house is known.
    ends: what the uncertain constants make of it.
    light_up, burn_down: what lifts the gas then, without a fire's pull; with_fans: as it burns down with the fans running.
    supply, fans: None where the house's leakage is not known.
    draws_open: the area open at once at which every face draws, where it is less than what is open now; else None.
    assumed: what was not entered, by name, as its reference value is printed.  unknown: what keeps the answer from MEETS.
    """

    main: Run
    also: Mapping[str, Run]
    ends: Ends
    crossflow: Crossflow | None
    light_up: float
    burn_down: float
    with_fans: float | None
    supply: Supply | None
    fans: Fans | None
    draws_open: float | None
    assumed: Mapping[str, str]
    unknown: tuple[str, ...]


class Lacking(Struct, frozen=True):
    """What keeps a model from an answer. missing: addresses.  material: one that no table holds, "" where none is so named."""

    missing: tuple[str, ...]
    material: str = ""


class Fire(Struct, frozen=True):
    """A fire as the hearth feels it. power: W.  share: of it that leaves through an open face as radiation.  emits: W/m2 there."""

    name: str
    power: float
    share: float
    emits: float


class Around(Struct, frozen=True):
    """What surrounds a hearth. air: of its side.  below: of what lies under it, indoors.  assumed: as in Draft."""

    air: float
    below: float
    assumed: Mapping[str, str]


class Profile(Struct, frozen=True):
    """Temperatures through a hearth on its centre line, from its top down.

    places: what each temperature is under; the first is the top, the last what lies below.
    temperatures: by fire.  irradiance: W/m2, by fire.
    wood: which of the temperatures is the top of wood, None where none lies there.  own: that wood is the floor's, not a layer.
    limit: of wood.  band: of that wood with a steady fire, None where there is none.
    """

    places: tuple[str, ...]
    temperatures: Mapping[str, tuple[float, ...]]
    irradiance: Mapping[str, float]
    wood: int | None
    own: bool
    limit: float
    band: Span | None
    fires: Mapping[str, Fire]
    around: Around


class Contour(Struct, frozen=True):
    """How far the bare floor is warmer than its limit: out from the opening, and past its sides."""

    front: float
    side: float


class Floor(Struct, frozen=True):
    """How far bare wood on the floor would get too warm. reach: by fire.  irradiance: W/m2 that brings it to its limit.

    least, most: what the uncertain constants make of the reach, by fire.
    """

    reach: Mapping[str, Contour]
    least: Mapping[str, Contour]
    most: Mapping[str, Contour]
    limit: float
    irradiance: float
    fires: Mapping[str, Fire]
    around: Around


class Shelf(Struct, frozen=True):
    """The underside of a wood shelf over an opening, where it is warmest: temperatures, their bands and irradiance, W/m2, by fire."""

    temperatures: Mapping[str, float]
    bands: Mapping[str, Span]
    irradiance: Mapping[str, float]
    limit: float
    fires: Mapping[str, Fire]
    around: Around


class Angle(Struct, frozen=True):
    """A steel angle, its long leg upright. legs, thickness: in.  weight: lb/ft.  inertia: in4.  modulus: section modulus, in3."""

    name: str
    long_leg: Fraction
    short_leg: Fraction
    thickness: Fraction
    weight: Fraction
    inertia: Fraction
    modulus: Fraction


class Load(Struct, frozen=True):
    """What one angle carries over a span, lb and in. triangle: weight of the triangle under an arch; even: per length, without its own."""

    span: Fraction
    triangle: Fraction
    even: Fraction


class Strain(Struct, frozen=True):
    """What a load does to the angle entered, at each end of what the tape and the uncertain constants may be off, the nominal first.

    stress: ksi.  sag: in.  moment: lb.ft, of the nominal load.
    """

    angle: Angle
    stress: tuple[Fraction, ...]
    sag: tuple[Fraction, ...]
    moment: Fraction


class Lintel(Struct, frozen=True):
    """The load over a face as a lintel of one angle under each wythe shares it, and the angles that carry it.

    load: nominal; loads: at each end of what the tape and the uncertain constants may be off, the nominal first.
    count: how many angles share it.
    high_enough: there is wall enough to arch.  needed: how much that takes, in.  arched: it arches.  flips: an end decides that.
    stress: allowed, ksi.  sag: allowed, in.  lightest: the angles that do, the lightest first.
    strain: of the angle entered; None where none is, or no table holds it.  grows: room at the ends for hot steel, in.
    settles: which uncertain constant alone strains it most: "weight", "span" or "arch".
    """

    load: Load
    loads: tuple[Load, ...]
    high_enough: bool
    needed: Fraction
    arched: bool
    flips: bool
    count: int
    stress: Fraction
    sag: Fraction
    lightest: tuple[Angle, ...]
    strain: Strain | None
    grows: Fraction
    settles: str


class Models(Struct, frozen=True):
    """What the models of heat and steel say, by face, by thing, by face; a face or thing that raises no question is left out."""

    hearths: Mapping[str, Profile | Lacking] = field(default_factory=dict)
    floors: Mapping[str, Floor | Lacking] = field(default_factory=dict)
    shelves: Mapping[str, Shelf | Lacking] = field(default_factory=dict)
    lintels: Mapping[str, Lintel | Lacking] = field(default_factory=dict)
