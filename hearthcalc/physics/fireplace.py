"""A fireplace as the draft model sees it: its faces, what lies beyond them, its flue and its fire, in SI units.

Pressures are relative to still outdoor air at the hearth.  Any number may be an array.
"""

from __future__ import annotations

from msgspec import Struct

from .air import density
from .elementwise import Number, larger, signed_root, sqrt
from .leakage import PowerLaw, root_suction
from .openings import orifice_drop, root_drop_beyond_gaps

_LEAST_GAPS = 1e-4  # m2; tighter ones would only widen the range that is searched


class Constants(Struct, frozen=True):
    """The numbers of the model that an authority or a user could change.

    gas_constant: of air and of the diluted flue gas, J/(kg.K).  specific_heat: J/(kg.K).
    fuel_heat: of the wood as burned, J/kg.  share_to_gas: share of the fire's power that heats the gas, 1.
    exit_coefficient: of the velocity head lost at the top, counted once, 1.
    least_air: air without which a kilogram of the wood cannot burn, kg/kg.
    """

    gas_constant: Number
    specific_heat: Number
    fuel_heat: Number
    share_to_gas: Number
    exit_coefficient: Number
    least_air: Number


class Face(Struct, frozen=True):
    """One face of the firebox: its opening, or the gaps round its shut doors.

    area: of the opening or of the gaps, m2.  height: of the opening, m.  discharge: coefficient, 1.
    """

    name: str
    is_open: bool
    area: Number
    height: Number
    discharge: Number


def conductance(faces: tuple[Face, ...]) -> Number:
    """Sum of discharge coefficient times area, m2."""
    return sum((face.discharge * face.area for face in faces), 0.0)


class House(Struct, frozen=True):
    """The house, of one pressure, with the faces that open onto its rooms; there may be none.

    temperature: K.  pressure: without fans and fireplace (of the stack effect), Pa.
    exhaust: of all its fans, inward ones negative, m3/s.
    leakage: None where it is not known: then neither fans nor fireplace move its pressure.
    inlet: flow by openings to outdoors near the hearth at a drop of 1 Pa, m3/(s.Pa^0.5).
    """

    faces: tuple[Face, ...]
    temperature: Number
    pressure: Number
    exhaust: Number
    leakage: PowerLaw | None
    inlet: Number = 0.0

    def pressure_drawing(self, flow: Number) -> Number:
        """Pressure, Pa, while the fireplace draws a volume flow, m3/s, out of the house."""
        if self.leakage is None:
            return self.pressure
        drawn = self.exhaust + flow
        root = root_suction(self.leakage, rest=self.pressure, inlet=self.inlet, flow=drawn)
        return -root * abs(root)

    def lets_in(self, pressure: Number) -> Number:
        """What its leaks and its openings let in at a pressure, m3/s; its leakage must be known."""
        assert self.leakage is not None
        return self.leakage.flow(self.pressure - pressure) - self.inlet * signed_root(pressure)


class Outdoors(Struct, frozen=True):
    """A side that keeps its pressure whatever the fire draws: outdoors, or a screened room.

    temperature: K.  pressure: of the wind on this side, Pa.
    """

    faces: tuple[Face, ...]
    temperature: Number
    pressure: Number

    def resting_pressure(self, air: Number) -> Number:
        """Pressure while its faces pass nothing, Pa.  air: density, kg/m3."""
        return self.pressure

    def root_drop(self, air: Number, passing: Number, foot_pressure: Number) -> Number:
        """Signed root of the pressure drop into the firebox, Pa^0.5, as in GlazedRoom."""
        return signed_root(self.pressure - foot_pressure)


class GlazedRoom(Struct, frozen=True):
    """A side that is closed but for its gaps.

    temperature: K.  pressure: outside its gaps, Pa.  exhaust: of its fans, inward ones negative, m3/s.
    gap_area: m2.  gap_discharge: coefficient, 1.
    """

    faces: tuple[Face, ...]
    temperature: Number
    pressure: Number
    exhaust: Number
    gap_area: Number
    gap_discharge: Number

    def resting_pressure(self, air: Number) -> Number:
        """Pressure while its faces pass nothing, Pa.  air: density, kg/m3."""
        gaps = larger(self.gap_area, _LEAST_GAPS)
        return self.pressure - orifice_drop(gaps, self.gap_discharge, air, self.exhaust * air)

    def root_drop(self, air: Number, passing: Number, foot_pressure: Number) -> Number:
        """Signed root of the pressure drop into the firebox, Pa^0.5.

        air, passing: density of the room's air and of what passes its faces, kg/m3.  foot_pressure: Pa.
        """
        gaps = self.gap_discharge * self.gap_area * sqrt(2 / air)
        opening = conductance(self.faces) * sqrt(2 * passing) / air
        return root_drop_beyond_gaps(gaps, opening, self.exhaust, self.pressure - foot_pressure)


class Flue(Struct, frozen=True):
    """The flue from the throat to the top.

    area: m2.  perimeter: m.  height: of the gas column, m.  roughness: m.
    heat_loss: overall U of the wall, W/(m2.K).  surroundings: temperature around it, K.
    throat, bends, cap: loss coefficients on its velocity head at the density of foot, mean and top, 1.
    top_pressure: of the wind at its top, Pa.
    """

    area: Number
    perimeter: Number
    height: Number
    roughness: Number
    heat_loss: Number
    surroundings: Number
    throat: Number
    bends: Number
    cap: Number
    top_pressure: Number


class Fireplace(Struct, frozen=True):
    """A fireplace in one state of use, weather and fire.

    beyond: the sides that are not the house.  power: of the fire, W.
    barometric_pressure: Pa.  outdoor_temperature: K.
    """

    constants: Constants
    house: House
    beyond: tuple[Outdoors | GlazedRoom, ...]
    flue: Flue
    power: Number
    barometric_pressure: Number
    outdoor_temperature: Number

    @property
    def sides(self) -> tuple[House | Outdoors | GlazedRoom, ...]:
        """The house, then what lies beyond the other faces."""
        return (self.house, *self.beyond)

    @property
    def fuel_flow(self) -> Number:
        """Wood that burns, kg/s."""
        return self.power / self.constants.fuel_heat

    def density(self, temperature: Number) -> Number:
        """Of air or flue gas, kg/m3, at a temperature, K."""
        return density(self.barometric_pressure, temperature, self.constants.gas_constant)
