"""Air through openings: faces, gaps round doors, inlets."""

from __future__ import annotations

from .elementwise import Number, choose, larger, signed_root, sqrt


def orifice_flow(area: Number, discharge: Number, density: Number, drop: Number) -> Number:
    """Mass flow through an opening, with the sign of the pressure drop.

    area: m2.  discharge: coefficient, 1.  density: kg/m3, of the air that flows.  drop: Pa.  Returns kg/s.
    Source: Bernoulli's equation with a discharge coefficient.
    """
    return discharge * area * sqrt(2 * density) * signed_root(drop)


def orifice_drop(area: Number, discharge: Number, density: Number, mass_flow: Number) -> Number:
    """Pressure drop that drives a mass flow through an opening, with its sign: `orifice_flow` turned round.

    area: m2.  discharge: coefficient, 1.  density: kg/m3.  mass_flow: kg/s.  Returns Pa.
    """
    return mass_flow * abs(mass_flow) / (2 * density * (discharge * area) ** 2)


def inlet_area(volume_flow: Number, discharge: Number, density: Number, drop: Number) -> Number:
    """Free area that lets a volume flow in at a pressure drop.

    volume_flow: m3/s.  discharge: coefficient, 1.  density: kg/m3.  drop: Pa, above zero.  Returns m2.
    """
    return volume_flow / (discharge * sqrt(2 * drop / density))


def root_drop_beyond_gaps(gaps: Number, opening: Number, exhaust: Number, drop: Number) -> Number:
    """How hard the air of a gappy room with a fan presses through a further opening of that room.

    The room stands between outdoors and a place whose pressure is lower by `drop` (Pa).  With w and y the
    signed roots of the pressure drops over its gaps and over the opening, air in is air out,
    gaps x w = exhaust + opening x y, and the drops add up, w|w| + y|y| = drop: a quadratic in y, once both
    signs are known.

    gaps, opening: flow at a drop of 1 Pa, m3/(s.Pa^0.5).  exhaust: m3/s.
    Returns y, Pa^0.5, above zero where air leaves the room by the opening.
    """
    thrust = exhaust * abs(exhaust)
    sign_w = choose(opening**2 * drop + thrust < 0, -1.0, 1.0)
    sign_y = choose(gaps**2 * drop - thrust < 0, -1.0, 1.0)
    a = sign_w * opening**2 + sign_y * gaps**2
    b = sign_w * exhaust * opening
    c = sign_w * exhaust**2 - gaps**2 * drop
    root = sqrt(larger(b**2 - a * c, 0.0))
    # Two forms of one root: each is exact where the other takes the difference of two near numbers.
    direct = b > 0
    return choose(direct, -c / choose(direct, b + root, 1.0), (root - b) / choose(direct | (a == 0), 1.0, a))
