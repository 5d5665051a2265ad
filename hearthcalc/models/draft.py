"""Will it smoke: each state of use in the weather given, and beside it in others.

A second opinion. Its constants are reference values of their own (draft.*), most of them assumptions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cache, lru_cache, reduce
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from hearthcalc.models.ends import End, at_ends, end_of, turned
from hearthcalc.models.results import Draft, Ends, Fans, Run, Span, Supply
from hearthcalc.physics import draft as balance
from hearthcalc.physics import fireplace as parts
from hearthcalc.physics.air import standard_pressure
from hearthcalc.physics.elementwise import Number, anywhere, choose, larger, smaller
from hearthcalc.physics.leakage import PowerLaw, from_air_changes, stack_pressure, wind_pressure
from hearthcalc.physics.losses import bend_coefficient, throat_coefficient
from hearthcalc.physics.openings import inlet_area, orifice_flow
from hearthcalc.physics.search import root
from hearthcalc.reference import Edition, read_table

INCH = 0.0254
ZERO = 273.15
IN_HOUSE = ("room", "bedroom", "garage")
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}
CALM = ""
LEAST_SHARE, STEPS = 0.1, 1024  # of the area that is open, as far as it is looked how much of it draws
_KEPT = 64  # editions, at their ends too: those of a few jobs
SQUARE_INCH = INCH**2
WARMING, WARMING_FANS = "warming up", "warming up, fans on"
FANS, WINDOW, WINDOW_FANS_OFF = "fans running", "a window open", "a window open, fans off"

WORSE: Mapping[str, Mapping[str, End]] = {
    "throat": {
        "throat.equal": "high",
        "throat.double": "high",
        "throat.rumford": "high",
        "cap.open": "high",
        "cap.restrictive": "high",
    },
    "house": {"leak_exponent": "high", "neutral_per_storey": "high"},
    "fire": {
        "share_to_gas": "low",
        "heat_loss.inside": "high",
        "heat_loss.outside": "high",
        "discharge.face": "low",
        "burn_down_flue": "low",
    },
}
"""The uncertain constants, by what would settle them, and the end of each at which the fireplace draws worse."""


class Face(Struct, frozen=True):
    """A face as entered, m and m2. gaps: round its shut doors, None where they are not known."""

    name: str
    side: str | None
    opens_to: str
    area: Number
    height: Number
    gaps: Number | None


class Fan(Struct, frozen=True):
    """A fan that takes air out, m3/s. where: "house", "room" or "beyond"."""

    flow: float
    where: str


class Inputs(Struct, frozen=True):
    """The numbers of a record that the model needs; None where one is not known. Any length, area or weather may be an array.

    flue_height: firebox floor to top.  bends: deg.  lining, cap, place: as entered.
    throat, vent, duct, beyond_gaps: m2.  damper, cap_area, screen: free areas, m2; a screen of 0 is none.
    has_damper: None where that is not known.
    rumford: has the throat rounded edges.  smooth: is the smoke chamber known to be sloped and smooth.
    power: W.  indoor, outdoor: C.  wind: m/s.  top_pressure: Pa.  airtightness: ACH50, or a class.  volume: m3.
    """

    faces: tuple[Face, ...]
    flue_area: Number
    flue_perimeter: Number
    flue_height: Number
    lining: str | None = None
    cap: str | None = None
    place: str | None = None
    bends: tuple[float, ...] | None = ()
    throat: Number | None = None
    rumford: bool = False
    smooth: bool = False
    has_damper: bool | None = None
    damper: float | None = None
    cap_area: float | None = None
    screen: float | None = None
    fire: str | None = None
    power: float | None = None
    indoor: float | None = None
    outdoor: Number | None = None
    altitude: float | None = None
    wind: Number | None = None
    wind_on: str | None = None
    shelter: float | None = None
    top_pressure: float | None = None
    airtightness: float | str | None = None
    volume: float | None = None
    storeys: float | None = None
    neutral_level: Number | None = None
    vent: float | None = None
    duct: float | None = None
    beyond_gaps: float | None = None
    makeup: float | None = None
    fans: tuple[Fan, ...] = ()

    def face(self, name: str) -> Face:
        return next(face for face in self.faces if face.name == name)


class Weather(Struct, frozen=True):
    """What one run is made for. power: W.  outdoor: C.  wind_on: a face, or CALM.  throat, top, fans: the variants beside it."""

    power: Number
    outdoor: Number
    wind_on: str
    throat: Number
    top: float
    fans: bool = False


def number(edition: Edition, key: str) -> Number:
    """A constant of the model in its canonical unit."""
    made: Number = edition[f"draft.{key}"].floats
    return made


def face_bands(fire: str | None, edition: Edition) -> tuple[Number, Number]:
    """The velocities at a face, m/s, from which a fire draws, and from which a person decides. fire: its size, as entered."""
    hot = "hot." if fire in ("hot", "roaring") else ""
    return number(edition, f"face_velocity.{hot}meets"), number(edition, f"face_velocity.{hot}refer")


def draft(inputs: Inputs, is_open: Sequence[str], edition: Edition) -> Draft:
    """What the model makes of one state of use: the faces that are open, by name."""
    model = Model(inputs, tuple(is_open), edition)
    given = model.given()
    winds = model.winds()
    places = [model.place(replace(given, wind_on=wind)) for wind in winds]
    answers = [balance.solve(place) for place in places]
    worst = min(range(len(winds)), key=lambda turn: _draws(answers[turn]))
    place, answer, given = places[worst], answers[worst], replace(given, wind_on=winds[worst])
    flow = answer if isinstance(answer, balance.Flow) else None
    also = {name: _run(model.place(weather)) for name, weather in model.others(given, place).items()}
    embers = number(edition, "burn_down_flue") + ZERO
    running = model.place(replace(given, fans=True)) if model.has_fans() else None
    if place.house.leakage is not None and place.house.faces:
        also[WINDOW] = _run(model.aired().place(replace(given, fans=model.has_fans())))
        if model.has_fans():
            also[WINDOW_FANS_OFF] = _run(model.aired().place(given))
    young = replace(given, power=model.number("warm_up.power"))
    also[WARMING] = _run(model.warming().place(young))
    if model.has_fans():
        also[WARMING_FANS] = _run(model.warming().place(replace(young, fans=True)))
    return Draft(
        main=_made(place, answer),
        also=also,
        ends=model.ends(given, _made(place, answer)),
        crossflow=model.crossflow(place, flow),
        light_up=model.margin(place, model.at_light_up(given)),
        burn_down=model.margin(place, embers),
        with_fans=None if running is None else model.margin(running, embers),
        supply=model.supply(place, flow),
        fans=model.fans(place),
        draws_open=model.draws_open(place, flow),
        assumed=_assumed(inputs, edition),
        unknown=model.unknown(),
    )


def _run(place: parts.Fireplace) -> Run:
    return _made(place, balance.solve(place))


def _made(place: parts.Fireplace, answer: balance.Flow | balance.NoFlow) -> Run:
    known, height, top = place.house.leakage is not None, place.flue.height, place.flue.top_pressure
    if isinstance(answer, balance.NoFlow):
        return Run(None, answer.reason, known, height, top)
    return Run(answer, None, known, height, top)


def _draws(answer: balance.Flow | balance.NoFlow) -> float:
    """How well a state draws: by its slowest face, which is below zero where gas leaves by it; without a flow, worst of all."""
    return -math.inf if isinstance(answer, balance.NoFlow) else _slowest(answer)


def _span(values: Iterable[float | None]) -> Span | None:
    """The ends of some figures; None where one is missing."""
    found = list(values)
    known = [float(value) for value in found if value is not None]
    return Span(min(known), max(known)) if len(known) == len(found) else None


def _slowest(flow: balance.Flow) -> float:
    return min((float(face.velocity) for face in flow.faces.values() if face.is_open), default=0.0)


def _assumed(inputs: Inputs, edition: Edition) -> Mapping[str, str]:
    names = [name for name in ("outdoor", "indoor") if getattr(inputs, name) is None]
    values = {name: edition[f"draft.{name}"] for name in names}
    if edition.units == "mm":
        return {f"{name}s": value.shown for name, value in values.items()}
    return {f"{n}s": f"{float(v.number) * 1.8 + 32:.0f} F ({v.shown})" for n, v in values.items()}


@lru_cache(maxsize=_KEPT)
def _constants(edition: Edition) -> parts.Constants:
    return parts.Constants(
        gas_constant=number(edition, "gas_constant"),
        specific_heat=number(edition, "specific_heat"),
        fuel_heat=number(edition, "fuel_heat") * 1e6,
        share_to_gas=number(edition, "share_to_gas"),
        exit_coefficient=number(edition, "exit"),
        least_air=number(edition, "least_air"),
    )


@lru_cache(maxsize=_KEPT)
def _warming(edition: Edition) -> Edition:
    values = {
        "draft.share_to_gas": edition["draft.warm_up.share"],
        "draft.heat_loss.inside": edition["draft.warm_up.heat_loss"],
        "draft.heat_loss.outside": edition["draft.warm_up.heat_loss"],
    }
    return replace(edition, values={**edition.values, **values})


@cache
def _bends(folder: Any, name: str) -> tuple[tuple[float, float], ...]:
    """Loss coefficients of bends, by their degrees."""
    return tuple((float(row["degrees"]), float(row["coefficient"])) for row in read_table(folder, name).rows)


class Model(Struct, frozen=True):
    """One state of one record by one edition. worst: of what is not known, the worst is taken."""

    inputs: Inputs
    open: tuple[str, ...]
    edition: Edition
    worst: bool = False

    def number(self, key: str) -> Number:
        return number(self.edition, key)

    def or_usual(self, name: str) -> Number:
        """What was entered under a name, else the reference value of that name."""
        entered: Number | None = getattr(self.inputs, name)
        return self.number(name) if entered is None else entered

    # What the record gives, and what else is looked at

    def given(self) -> Weather:
        """The weather and the fire that the record gives."""
        top = self.inputs.top_pressure or 0.0
        return Weather(self.power(), self.or_usual("outdoor"), CALM, self.throat(), top)

    def power(self) -> Number:
        """The fire's, W: embers where every face is shut, else as entered, else by the largest face."""
        entered = self.inputs
        if not self.open:
            return self.number("fire.burn_down")
        if entered.power is not None:
            return entered.power
        largest = reduce(larger, (face.area for face in entered.faces))
        times = self.number(f"fire.{entered.fire}") if entered.fire in ("hot", "roaring") else 1.0
        return self.number("fire.steady") * 1000 * largest * times

    def throat(self) -> Number:
        """The loss of throat, damper and smoke chamber, in heads of the flue: the narrowest of them counts."""
        loss = self._throat()
        return larger(loss, self._high("throat.poor")) if self.worst and not self._throat_is_known() else loss

    def _throat(self) -> Number:
        inputs, equal = self.inputs, self.number("throat.equal")
        passages = [area for area in (inputs.throat, inputs.damper) if area is not None]
        if not passages:
            return equal
        ratio = reduce(smaller, passages) / inputs.flue_area
        if inputs.rumford and inputs.throat is not None and anywhere(inputs.throat > 0):
            return _by_square(self.number("throat.rumford"), ratio)
        double = self.number("throat.double") if inputs.throat is not None else equal
        return throat_coefficient(ratio, at_equal=equal, at_double=double)

    def _throat_is_known(self) -> bool:
        return self.inputs.throat is not None and self._damper_is_known() and self.inputs.smooth

    def _damper_is_known(self) -> bool:
        return self.inputs.has_damper is False or self.inputs.damper is not None

    def _high(self, key: str) -> float:
        return float(end_of(self.edition[f"draft.{key}"], "high"))

    def cap(self) -> Number:
        """The loss of the cap and the spark screen, in heads of the flue: by their kind, and no less than their free areas make.

        Where they are not known, they are open; at the worst the cap is close to the flue, and there is a screen.
        """
        inputs, kind = self.inputs, self.inputs.cap or ("restrictive" if self.worst else "open")
        usual = self.number(f"cap.{kind}")
        round_it = 0.0 if kind == "none" else self._opening(inputs.cap_area)
        screen = self._opening(inputs.screen) if inputs.screen else 0.0
        if self.worst and inputs.screen is None:
            screen = self._high("screen")
        return larger(usual, round_it) + screen

    def _opening(self, area: Number | None) -> Number:
        """The loss of a free area on the gas's way, in heads of the flue."""
        if area is None:
            return 0.0
        return _by_square(1.0, self.number("discharge.door") * area / self.inputs.flue_area)

    def winds(self) -> Sequence[str]:
        """The faces that the wind may blow on: the one given, or each where it is not known."""
        if self.inputs.wind is None or not anywhere(self.inputs.wind > 0):
            return (CALM,)
        return (
            (self.inputs.wind_on,) if self.inputs.wind_on else tuple(face.name for face in self.inputs.faces)
        )

    def others(self, given: Weather, place: parts.Fireplace) -> Mapping[str, Weather]:
        """Other fires and weathers, by name."""
        found = {
            "hot fire": replace(given, power=given.power * self.number("fire.hot")),
            "roaring fire": replace(given, power=given.power * self.number("fire.roaring")),
            "burning down": self.dying(given),
            "mild day": replace(given, outdoor=self.number("mild")),
        }
        if self.has_fans():
            found[FANS] = replace(given, fans=True)
        if self.inputs.top_pressure is None and self.winds() != (CALM,):
            air = place.density(place.outdoor_temperature)
            pressure = wind_pressure(air, self.inputs.wind, 1.0, 1.0)
            found["downwash at the top"] = replace(given, top=self.number("downwash") * pressure)
        if self.inputs.throat is None:
            found["poor throat"] = replace(given, throat=max(given.throat, self.number("throat.poor")))
        return found

    def unknown(self) -> tuple[str, ...]:
        """What is not known and keeps the answer from MEETS."""
        inputs = self.inputs
        found = ["throat"] if inputs.throat is None else []
        if not self._damper_is_known():
            found.append("damper")
        unset = {"cap": inputs.cap, "screen": inputs.screen, "bends": inputs.bends}
        found += [name for name, entered in unset.items() if entered is None]
        onto = {face.opens_to for face in self.inputs.faces if face.name in self.open}
        if "garage" in onto:
            found.append("garage")
        if "glazed" in onto and self.inputs.beyond_gaps is None:
            found.append("beyond_gaps")
        if onto & {*IN_HOUSE} and self.leakage() is None:
            found.append("house")
        return tuple(found)

    def dying(self, given: Weather) -> Weather:
        """The same while the fire burns down."""
        return replace(given, power=self.number("fire.burn_down"))

    def aired(self) -> Model:
        """The same with a window open near the fire."""
        window = self.number("window") * SQUARE_INCH
        return replace(self, inputs=replace(self.inputs, vent=(self.inputs.vent or 0.0) + window))

    # What is not sure

    def warming(self) -> Model:
        """The same in its first quarter of an hour: less of the fire heats the gas, and the cold flue takes more of it."""
        return replace(self, edition=_warming(self.edition))

    def at_worst(self, *groups: str) -> Model:
        """The same with the uncertain constants of some groups at their worse ends."""
        return replace(self, edition=at_ends(self.edition, self._ends(*groups)), worst="throat" in groups)

    def at_best(self) -> Model:
        """The same with all of them at their better ends."""
        return replace(self, edition=at_ends(self.edition, turned(self._ends(*WORSE))))

    def _ends(self, *groups: str) -> dict[str, End]:
        found: dict[str, End] = {f"draft.{key}": end for group in groups for key, end in WORSE[group].items()}
        tight = self.inputs.airtightness
        if "house" in groups and isinstance(tight, str):
            found[f"draft.ach50.{tight}"] = "low"
        return found

    def ends(self, given: Weather, main: Run) -> Ends:
        """What the uncertain constants make of a state. main: as it is judged."""
        worse, better = self.at_worst(*WORSE), self.at_best()
        places = [model.place(replace(given, throat=model.throat())) for model in (worse, better)]
        runs = [_run(place) for place in places]
        embers = number(self.edition, "fire.burn_down")
        dying = [
            _run(model.place(replace(given, throat=model.throat(), power=embers)))
            for model in (worse, better)
        ]
        margins = [
            model.margin(place, model.number("burn_down_flue") + ZERO)
            for model, place in zip((worse, better), places, strict=True)
        ]
        fans = [model.fans(place) for model, place in zip((worse, better), places, strict=True)]
        return Ends(
            worse=runs[0],
            better=runs[1],
            burn_down=Span(min(margins), max(margins)),
            dying=_span(
                None if run.flow is None or not run.house_known else -run.flow.house_pressure for run in dying
            ),
            fans=_span(None if made is None else made.suction for made in fans),
            gives=_span(
                None if place.house.leakage is None else model.gives(place)
                for model, place in zip((worse, better), places, strict=True)
            ),
            tightest=fans[0],
            settles=self._settles(given, main),
        )

    def _settles(self, given: Weather, main: Run) -> str:
        """The group of constants that alone takes most off the slowest face."""

        def left(group: str) -> float:
            model = self.at_worst(group)
            flow = _run(model.place(replace(given, throat=model.throat()))).flow
            return -math.inf if flow is None else _slowest(flow)

        inputs = self.inputs
        looked_at = self._throat_is_known() and inputs.cap is not None and inputs.screen is not None
        left_out = {"house": not main.house_known, "throat": looked_at}
        return min((group for group in WORSE if not left_out.get(group)), key=left)

    # The fireplace in one weather

    def place(self, weather: Weather) -> parts.Fireplace:
        """The fireplace as the balance takes it."""
        inputs = self.inputs
        indoor, outdoor = self.or_usual("indoor") + ZERO, weather.outdoor + ZERO
        barometer = standard_pressure(inputs.altitude or 0.0)
        outdoor_air = barometer / (self.number("gas_constant") * outdoor)
        inside: list[parts.Face] = []
        beyond: list[parts.Outdoors | parts.GlazedRoom] = []
        for face in inputs.faces:
            if face.opens_to in IN_HOUSE:
                inside.append(self._face(face))
            else:
                coefficient = self._wind_coefficient(face, weather.wind_on)
                wind = wind_pressure(outdoor_air, inputs.wind or 0.0, self.or_usual("shelter"), coefficient)
                beyond.append(self._beyond(face, indoor, outdoor, wind, weather.fans))
        return parts.Fireplace(
            _constants(self.edition),
            self._house(tuple(inside), indoor, outdoor, outdoor_air, weather.fans),
            tuple(beyond),
            self._flue(weather, outdoor),
            weather.power,
            barometer,
            outdoor,
        )

    def _face(self, face: Face) -> parts.Face:
        is_open = face.name in self.open
        area = face.area if is_open else face.gaps or 0.0
        discharge = self.number("discharge.face" if is_open else "discharge.door")
        return parts.Face(face.name, is_open, area, face.height, discharge)

    def _beyond(
        self, face: Face, indoor: Number, outdoor: Number, wind: Number, fans: bool
    ) -> parts.Outdoors | parts.GlazedRoom:
        gaps = self.inputs.beyond_gaps
        if face.opens_to != "glazed":
            return parts.Outdoors((self._face(face),), outdoor, wind)
        halfway = (indoor + outdoor) / 2
        if gaps is None:
            return parts.Outdoors((self._face(face),), halfway, wind)
        takes = self.exhaust("beyond") if fans else 0.0
        return parts.GlazedRoom(
            (self._face(face),), halfway, wind, takes, gaps, self.number("discharge.door")
        )

    def _wind_coefficient(self, face: Face, wind_on: str) -> Number:
        """Wind pressure coefficient of the wall that a face stands in, when the wind blows on another's or its own.

        A wall that is not known to be the one away from the wind takes the stronger suction of a side wall.
        """
        if wind_on == CALM:
            return 0.0
        if face.name == wind_on:
            return self.number("cp.windward")
        windward = self.inputs.face(wind_on).side
        away = windward is not None and OPPOSITE[windward] == face.side
        return -self.number("cp.lee" if away else "cp.side")

    def _house(
        self, faces: tuple[parts.Face, ...], indoor: Number, outdoor: Number, outdoor_air: Number, fans: bool
    ) -> parts.House:
        law = self.leakage()
        if law is None:
            return parts.House(faces, indoor, 0.0, 0.0, None)
        storeys, level = self.inputs.storeys, self.inputs.neutral_level
        if level is None:
            level = (1.0 if storeys is None else storeys) * self.number("neutral_per_storey") * INCH
        rest = stack_pressure(outdoor_air, indoor, outdoor, level)
        inlet = sum(self.inlets(outdoor_air).values())
        takes = self.exhaust("house", "room") if fans else 0.0
        return parts.House(faces, indoor, rest, takes, law, inlet)

    def leakage(self) -> PowerLaw | None:
        """The leakage of the house, None where its volume or its airtightness is not known."""
        tight, volume = self.inputs.airtightness, self.inputs.volume
        if tight is None or volume is None:
            return None
        changes = self.number(f"ach50.{tight}") if isinstance(tight, str) else tight
        return from_air_changes(changes, volume, self.number("leak_exponent"))

    def inlets(self, outdoor_air: Number) -> Mapping[str, Number]:
        """Flow by the entered openings to outdoors at a drop of 1 Pa, m3/(s.Pa^0.5)."""
        areas = {"exterior_duct": self.inputs.duct, "vent": self.inputs.vent}
        discharge = self.number("discharge.door")
        return {
            name: orifice_flow(area, discharge, outdoor_air, 1.0) / outdoor_air
            for name, area in areas.items()
            if area is not None
        }

    def has_fans(self) -> bool:
        """Whether any fan takes air out."""
        return any(fan.flow > 0 for fan in self.inputs.fans)

    def exhaust(self, *where: str) -> float:
        """What the fans of some places take out, less the make-up air of the house."""
        flow = sum(fan.flow for fan in self.inputs.fans if fan.where in where)
        if "house" in where and self.inputs.makeup is not None:
            flow -= min(flow, self.inputs.makeup)
        return flow

    def _flue(self, weather: Weather, outdoor: Number) -> parts.Flue:
        inputs = self.inputs
        counted = [face for face in inputs.faces if face.name in self.open] or list(inputs.faces)
        lining = inputs.lining or ("unlined" if self.worst else "clay")
        rough = self.number(f"roughness.{lining.replace(' ', '_')}") * INCH
        table = _bends(self.edition.folder, self.edition["draft.bends"].table)
        return parts.Flue(
            area=inputs.flue_area,
            perimeter=inputs.flue_perimeter,
            height=larger(0.0, inputs.flue_height - reduce(larger, (face.height for face in counted)) / 2),
            roughness=rough,
            heat_loss=self.number("heat_loss.inside" if inputs.place == "inside" else "heat_loss.outside"),
            surroundings=outdoor,
            throat=weather.throat,
            bends=sum(bend_coefficient(angle, table) for angle in inputs.bends or ()),
            cap=self.cap(),
            top_pressure=weather.top,
        )

    # What is read off a fireplace

    def at_light_up(self, weather: Weather) -> Number:
        """Temperature of the flue before a fire, K: midway where it stands inside, else outdoors."""
        inside = self.inputs.place == "inside"
        return ((self.or_usual("indoor") + weather.outdoor) / 2 if inside else weather.outdoor) + ZERO

    def margin(self, place: parts.Fireplace, flue_temperature: Number) -> Number:
        """What lifts the gas without the fire's pull, from the side of lowest pressure that it draws on."""
        pressures = [
            _at_rest(place, side)
            for side in place.sides
            if any(face.is_open or not self.open for face in side.faces)
        ]
        return balance.no_flow_margin(
            place.flue.height,
            place.density(place.outdoor_temperature),
            place.density(flue_temperature),
            reduce(smaller, pressures) if pressures else 0.0,
            place.flue.top_pressure,
        )

    def crossflow(self, place: parts.Fireplace, flow: balance.Flow | None) -> balance.Crossflow | None:
        """How far the pressures of two open faces may part, where two are open and the state has an answer."""
        if len(self.open) < 2 or flow is None:
            return None
        outside = sum(self.inputs.face(name).opens_to not in IN_HOUSE for name in self.open)
        cp = self.number("cp.windward") + (self.number("cp.lee") if outside > 1 else 0.0)
        return balance.crossflow(place, flow, shelter=self.or_usual("shelter"), wind_coefficient=cp)

    def draws_open(self, place: parts.Fireplace, flow: balance.Flow | None) -> float | None:
        """The area open at once at which the slowest face draws enough, in steps of its share of what is open now."""
        enough = float(face_bands(self.inputs.fire, self.edition)[0])
        if flow is None or not self.open or (slowest := _slowest(flow)) >= enough:
            return None

        def spare(share: float) -> float:
            return max(_draws(balance.solve(_scaled(place, share))), slowest) - enough

        least, step = LEAST_SHARE, (1.0 - LEAST_SHARE) / STEPS
        at_least = spare(least)
        if at_least < 0:
            return None
        share = root(spare, least, 1.0, at_ends=(at_least, slowest - enough), within=step / 100)
        whole = sum(float(face.area) for face in self.inputs.faces if face.name in self.open)
        return (least + (share - least) // step * step) * whole

    def supply(self, place: parts.Fireplace, flow: balance.Flow | None) -> Supply | None:
        """The air that the house gives the fire, and what it lacks: solved with the house held at its limit."""
        house, limit = place.house, self.number("house_suction")
        if house.leakage is None:
            return None
        outdoor_air = place.density(place.outdoor_temperature)
        gives = self.gives(place)
        passages = {name: each * limit**0.5 for name, each in self.inlets(outdoor_air).items()}
        held = balance.solve(replace(place, house=replace(house, leakage=None, pressure=-limit)))
        lacks = held.house_draw - house.lets_in(-limit) if isinstance(held, balance.Flow) else 0.0
        drawn = None if flow is None else float(flow.house_draw)
        if lacks <= 0:
            return Supply(drawn, gives, passages, None, None)
        return Supply(drawn, gives, passages, lacks, self._inlet(lacks, outdoor_air))

    def gives(self, place: parts.Fireplace) -> Number:
        """What the house lets in at the suction it may have, m3/s; its leakage must be known."""
        return larger(0.0, place.house.lets_in(-self.number("house_suction")))

    def fans(self, place: parts.Fireplace) -> Fans | None:
        """What the fans do to the house by themselves."""
        if place.house.leakage is None:
            return None
        limit, takes = self.number("house_suction"), self.exhaust("house", "room")
        alone = self.fans_alone(place)
        most = float(alone.lets_in(-limit))
        outdoor_air = place.density(place.outdoor_temperature)
        inlet = self._inlet(takes - most, outdoor_air) if takes > most else None
        return Fans(takes, -float(alone.pressure_drawing(0.0)), most, inlet)

    def fans_alone(self, place: parts.Fireplace) -> parts.House:
        """The house with its fans, without fire and without warm air that rises."""
        return replace(place.house, pressure=0.0, exhaust=self.exhaust("house", "room"))

    def _inlet(self, flow: float, outdoor_air: float) -> float:
        """Free area that lets a flow in at the suction that the house may have."""
        limit, discharge = self.number("house_suction"), self.number("discharge.door")
        return float(inlet_area(flow, discharge, outdoor_air, limit))


def _by_square(loss: Number, share: Number) -> Number:
    """A loss of a narrower place in heads of the flue, which it is a share of; infinite where nothing is left of it."""
    passes = share > 0
    return choose(passes, loss / choose(passes, share, 1.0) ** 2, math.inf)


def _at_rest(place: parts.Fireplace, side: parts.House | parts.Outdoors | parts.GlazedRoom) -> Number:
    if isinstance(side, parts.House):
        return side.pressure_drawing(0.0)
    return side.resting_pressure(place.density(side.temperature))


def _scaled(place: parts.Fireplace, share: float) -> parts.Fireplace:
    """The same with every open face cut down to a share of its area."""

    def cut(side: Any) -> Any:
        faces = (replace(face, area=face.area * share) if face.is_open else face for face in side.faces)
        return replace(side, faces=tuple(faces))

    return replace(place, house=cut(place.house), beyond=tuple(cut(side) for side in place.beyond))
