"""Clauses of the National Design Specification for Wood Construction, sawn lumber, allowable stress design.

Section numbers are those of the 2015 and 2018 editions. One pure function a clause, over numbers or numpy arrays that
broadcast together; inches, pounds, psi, inch-pounds. Forces and stresses enter as magnitudes, positive for the kind
that the clause is about. The symbols are the specification's: fc a stress, Fc a reference value, Fc* one with every
factor but CP, Fc' with all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Number = float | Array

#: le/d of a member in compression (3.7.1.4), and RB of a member in bending (3.3.3.7).
SLENDERNESS_LIMIT = 50.0
#: 3.7.1: c of sawn lumber; 3.3.3: the 0.95 and 1.9 = 2 × 0.95 of eq. 3.3-6.
C_COLUMN = 0.8
C_BEAM = 0.95
#: 15.3.2: a nailed built-up column about its weak axis. Bolted ones have 0.75; the smaller is taken for any fastening.
KF_NAILED = 0.6
#: 15.3.1: built-up columns have 2 to 5 laminations; there is no Kf for more. From memory.
KF_PLIES = range(2, 6)
#: 4.4.2: KM of CT, for lumber of 19 percent moisture or less when it was sheathed, and for wetter lumber; the length
#: from which CT grows no more, inches; KT = 1 - 1.645 COVE by how the lumber was graded, COVE 0.25 and 0.11.
KM = (2300, 1200)
CT_LONGEST = 96.0
KT: Mapping[str, float] = {"visual": 0.59, "southern pine": 0.59, "msr": 0.82}
#: 4.3.9: members not over 24 in. apart, three or more, joined by sheathing.
REPETITIVE = 1.15
#: A ratio that fails however little it is over: a condition that reads "less than 1" isn't met by 1.
_JUST_OVER = 1 + 2e-9
#: Newton's steps until they are this share of what they change, and the most of them. Each doubles the distance from a
#: pole at least, and near the root the digits that are right: sixty cross all the digits of a float, and what is left
#: after a step is of the size of its square.
_CLOSE, _STEPS = 1e-8, 60
#: 3.5.2: creep of seasoned lumber in dry service, and of unseasoned or wet lumber.
KCR_DRY = 1.5
KCR_GREEN = 2.0


class Clause(NamedTuple):
    """What a clause gives, elementwise: demand and capacity in the clause's unit, their ratio, what went into them."""

    demand: Number
    capacity: Number
    ratio: Number
    factors: Mapping[str, Number]


@dataclass(frozen=True, slots=True)
class SizeFactor:
    """CF of Fb, Ft and Fc (NDS Supplement Tables 4A to 4C)."""

    fb: float
    ft: float
    fc: float


_NONE = SizeFactor(1.0, 1.0, 1.0)
#: Table 4A, 2 in. thick: nominal width up to which a row holds -> CF. A step table on nominal sizes, not interpolated.
_SIZE = (
    (4, SizeFactor(1.5, 1.5, 1.15)),
    (5, SizeFactor(1.4, 1.4, 1.1)),
    (6, SizeFactor(1.3, 1.3, 1.1)),
    (8, SizeFactor(1.2, 1.2, 1.05)),
    (10, SizeFactor(1.1, 1.1, 1.0)),
    (12, SizeFactor(1.0, 1.0, 1.0)),
)
_SIZE_OVER = SizeFactor(0.9, 0.9, 0.9)
_SIZE_STUD = ((4, SizeFactor(1.1, 1.1, 1.05)), (6, _NONE))
_FLAT_USE = ((3, 1.0), (5, 1.10), (8, 1.15))
_FLAT_USE_OVER = 1.20


def size_factor(
    rule: Literal["visual", "southern pine", "msr"], nominal_width: int, *, stud: bool = False
) -> SizeFactor:
    """CF of lumber 2 in. thick, by nominal width in inches.

    Southern Pine's values are by width already and machine-rated values hold for every width: neither takes a CF.
    ValueError for Stud wider than 6 in., which takes the values of No.3 (Table 4A).
    """
    if rule != "visual":
        return _NONE
    for up_to, factor in _SIZE_STUD if stud else _SIZE:
        if nominal_width <= up_to:
            return factor
    if stud:
        raise ValueError("Stud wider than 6 in. takes the values and size factors of No.3")
    return _SIZE_OVER


def flat_use_factor(nominal_width: int) -> float:
    """Cfu of lumber 2 in. thick bent about its weak axis, by nominal width in inches (Tables 4A to 4C)."""
    return next((factor for up_to, factor in _FLAT_USE if nominal_width <= up_to), _FLAT_USE_OVER)


def _stability(inverse: Number, c: float) -> Array:
    """The smaller root that eq. 3.7-1 and eq. 3.3-6 share, from F*/F_E: written so that 0 (fully held) gives 1."""
    half = (1 + np.asarray(inverse)) / (2 * c)
    return (1 / c) / (half + np.sqrt(half**2 - np.asarray(inverse) / c))


def critical_buckling(e_min: Number, slenderness: Number) -> Array:
    """FcE = 0.822 Emin' / (le/d)², psi (3.7.1); infinite where nothing can buckle (le = 0)."""
    with np.errstate(divide="ignore"):
        return 0.822 * np.asarray(e_min) / np.asarray(slenderness, dtype=float) ** 2


def buckling_stiffness(l_e: Number, e: Number, km: Number, kt: Number) -> Array:
    """CT of a sheathed compression chord of a truss (eq. 4.4-1), which multiplies Emin in CP; see `KM` and `KT`.

    For sawn lumber 2x4 or smaller in bending and compression together, dry, with panels of 3/8 in. or more nailed to
    its narrow face, and buckling across its depth alone.
    """
    return 1 + km * np.minimum(l_e, CT_LONGEST) / (np.asarray(kt) * e)


def column_stability(fc_star: Number, f_ce: Number) -> Array:
    """CP of one axis (eq. 3.7-1), c = 0.8."""
    return _stability(np.asarray(fc_star) / np.asarray(f_ce, dtype=float), C_COLUMN)


def built_up_buckling(e_min: Number, l_e: Number, ply: Number, breadth: Number) -> Array:
    """FcE of plies side by side about their weak axis, psi.

    `ply` is the breadth of one, `breadth` of what is fastened together, the same where nothing is. Fastened plies take
    Kf of their joint value, and never less than each by itself (15.3.2).
    """
    return _fastened(ply, breadth, lambda b: critical_buckling(e_min, np.asarray(l_e) / b))


def built_up_stability(fc_star: Number, e_min: Number, l_e: Number, ply: Number, breadth: Number) -> Array:
    """CP of plies side by side about their weak axis (15.3.2); see `built_up_buckling`."""
    return _fastened(ply, breadth, lambda b: column_stability(fc_star, critical_buckling(e_min, np.asarray(l_e) / b)))


def _fastened(ply: Number, breadth: Number, of_breadth: Callable[[Number], Array]) -> Array:
    alone, fastened = of_breadth(ply), np.asarray(breadth) > ply
    if not np.any(fastened):
        return alone
    return np.where(fastened, np.maximum(KF_NAILED * of_breadth(breadth), alone), alone)


def effective_length(l_u: Number, depth: Number) -> Array:
    """le of a member whose loads are none of Table 3.3.3's, inches (its footnote 1): 2.06 lu, from lu/d = 7 on
    1.63 lu + 3 d, which are those of a single span under uniform load, and over 14.3 1.84 lu, which is more.

    A chord's moments are mostly greatest over its panel points, so it is none of the table's simple spans.
    """
    l_u, depth = np.asarray(l_u, dtype=float), np.asarray(depth, dtype=float)
    slender = np.where(l_u > 14.3 * depth, 1.84 * l_u, 1.63 * l_u + 3 * depth)
    return np.where(l_u < 7 * depth, 2.06 * l_u, slender)


def beam_slenderness(l_e: Number, depth: Number, breadth: Number) -> Array:
    """RB (eq. 3.3-5)."""
    return np.sqrt(np.asarray(l_e) * depth / np.asarray(breadth) ** 2)


def beam_buckling(e_min: Number, r_b: Number) -> Array:
    """FbE = 1.20 Emin' / RB², psi (3.3.3.8); infinite where the compression edge is held throughout."""
    with np.errstate(divide="ignore"):
        return 1.2 * np.asarray(e_min) / np.asarray(r_b, dtype=float) ** 2


def beam_stability(fb_star: Number, f_be: Number) -> Array:
    """CL (eq. 3.3-6). `fb_star` is Fb with every factor but Cfu, CV and CL."""
    return _stability(np.asarray(fb_star) / np.asarray(f_be, dtype=float), C_BEAM)


def tension(ft: Number, ft_prime: Number) -> Clause:
    """3.8.1, tension along the grain: ft <= Ft' = Ft CD CF, psi, on the gross section (nothing is cut out)."""
    return Clause(ft, ft_prime, np.asarray(ft) / ft_prime, {"ft": ft})


def compression(fc: Number, fc_star: Number, cp: Number) -> Clause:
    """3.6.3 with 3.7.1, compression along the grain: fc <= Fc' = Fc* CP, psi."""
    capacity = np.asarray(fc_star) * cp
    return Clause(fc, capacity, fc / capacity, {"CP": cp, "fc": fc, "Fc*": fc_star})


def slenderness(in_plane: Number, out_of_plane: Number) -> Clause:
    """3.7.1.4: the larger le/d of a member in compression is at most 50."""
    demand = np.maximum(in_plane, out_of_plane)
    return Clause(
        demand,
        SLENDERNESS_LIMIT,
        demand / SLENDERNESS_LIMIT,
        {"le/d in plane": in_plane, "le/d out of plane": out_of_plane},
    )


def bending(fb: Number, fb_all_but_cl: Number, cl: Number, r_b: Number = 0.0) -> Clause:
    """3.3.1: fb <= Fb' = Fb CD CF Cr Cfu CL, psi; `fb_all_but_cl` has every factor but CL.

    RB over 50 is not allowed (3.3.3.7): the ratio is then at least RB/50.
    """
    capacity = np.asarray(fb_all_but_cl) * cl
    ratio = fb / capacity
    too_slender = np.asarray(r_b) > SLENDERNESS_LIMIT
    if np.any(too_slender):
        ratio = np.where(too_slender, np.maximum(ratio, np.asarray(r_b) / SLENDERNESS_LIMIT), ratio)
    return Clause(fb, capacity, ratio, {"CL": cl, "RB": r_b, "fb": fb})


def shear(v: Number, area: Number, fv_prime: Number) -> Clause:
    """3.4.2, rectangular: fv = 3 V / 2 A <= Fv' = Fv CD, psi. No load near a support is left out of V."""
    fv = 1.5 * np.asarray(v) / area
    return Clause(fv, fv_prime, fv / fv_prime, {"fv": fv, "V": v})


def bearing(reaction: Number, area: Number, fc_perp: Number) -> Clause:
    """3.10.2, compression across the grain: fc⊥ = R / A <= Fc⊥', psi. No CD; Cb = 1, as at a truss's end."""
    stress = np.asarray(reaction) / area
    return Clause(stress, fc_perp, stress / fc_perp, {"R": reaction, "area": area, "Cb": 1.0})


def bearing_at_angle(force: Number, area: Number, fc_star: Number, fc_perp: Number, sine: Number) -> Clause:
    """3.10.3, bearing at an angle to the grain: fθ <= Fθ' = Fc* Fc⊥' / (Fc* sin²θ + Fc⊥' cos²θ), psi (eq. 3.10-1).

    `sine` of the angle between the force and the grain: at 1 it is compression across the grain, 3.10.2. `area` is
    square to the force. Cb = 1. The equation is from memory.
    """
    across = np.asarray(sine) ** 2
    capacity = np.asarray(fc_star) * fc_perp / (fc_star * across + np.asarray(fc_perp) * (1 - across))
    stress = np.asarray(force) / area
    return Clause(
        stress, capacity, stress / capacity, {"R": force, "area": area, "Cb": 1.0, "Fc*": fc_star, "Fc-perp'": fc_perp}
    )


def bending_and_tension(ft: Number, ft_prime: Number, fb: Number, fb_all_but_cl: Number, fb_prime: Number) -> Clause:
    """3.9.1: ft/Ft' + fb/Fb* <= 1 (eq. 3.9-1, Fb* without CL) and (fb - ft)/Fb** <= 1 (eq. 3.9-2, Fb** with CL)."""
    together = ft / np.asarray(ft_prime) + fb / np.asarray(fb_all_but_cl)
    compressed_edge = (fb - np.asarray(ft)) / fb_prime
    ratio = np.maximum(together, compressed_edge)
    factors = {"ft": ft, "fb": fb, "Ft'": ft_prime, "Fb*": fb_all_but_cl, "Fb**": fb_prime}
    return Clause(ratio, 1.0, ratio, factors | {"eq. 3.9-1": together, "eq. 3.9-2": compressed_edge})


def bending_and_compression(
    fc: Number,
    fc_prime: Number,
    fb1: Number,
    fb1_prime: Number,
    f_ce1: Number,
    *,
    fb2: Number = 0.0,
    fb2_prime: Number = np.inf,
    f_ce2: Number = np.inf,
    f_be: Number = np.inf,
    slender: npt.NDArray[np.bool_] | None = None,
) -> Clause:
    """3.9.2: eq. 3.9-3, and eq. 3.9-4 with its conditions, bending about one axis or both.

    Axis 1 is bending in the truss's plane, `f_ce1` its FcE; axis 2 is the other, `f_ce2` its FcE, `f_be` the FbE of
    axis 1. The ratio is eq. 3.9-3 up to 1. Over 1 it is the factor by which the stresses exceed what the member carries
    (see `_overload`): eq. 3.9-3 has no value where fc reaches FcE, and beyond that pole it would fall with the load.
    Eq. 3.9-4 and fc < FcE are conditions: where they aren't met the ratio is over 1. A member so slender that one of
    them can fail while eq. 3.9-3 is under 1 takes the larger of its values on the way there, so that no ratio leaps;
    `slender` says of which eq. 3.9-4 can, by default by `fails_first`. "eq. 3.9-3" among the factors is that equation's
    plain value, infinite where it has none.
    """
    fc, fb1, fb2 = np.asarray(fc, dtype=float), np.asarray(fb1, dtype=float), np.asarray(fb2, dtype=float)
    in_plane, across = fc / f_ce1, fc / f_ce2
    shares = fc / fc_prime, fb1 / fb1_prime, fb2 / fb2_prime, in_plane, across, fb1 / f_be
    condition = across + shares[-1] ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        equation = shares[0] ** 2 + fb1 / (fb1_prime * (1 - in_plane))
        if fb2.any():
            equation = equation + np.where(fb2 > 0, fb2 / (fb2_prime * (1 - condition)), 0.0)
    ratio = equation
    slender = fails_first(fc_prime, f_ce2, fb1_prime, f_be) if slender is None else slender
    if slender.any():
        ratio = np.fmax(ratio, np.where(slender, condition, 0.0))
    in_plane_first = np.asarray(fc_prime >= np.asarray(f_ce1))
    if in_plane_first.any():
        ratio = np.fmax(ratio, np.where(in_plane_first, in_plane, 0.0))
    # no column is near its buckling in most trusses: then the equation is all there is
    unmet = (in_plane >= 1) | (condition >= 1)
    over = unmet | (equation > 1)
    places = np.flatnonzero(over)
    if len(places):
        ratio = np.array(np.broadcast_to(ratio, np.shape(over)), order="C")
        ratio.reshape(-1)[places] = _overload(*(_at(places, share, np.shape(over)) for share in shares))
        if np.any(unmet):
            ratio = np.where(unmet, np.maximum(ratio, _JUST_OVER), ratio)
            has_value = (in_plane < 1) & (across < 1) & ((condition < 1) | (fb2 == 0))
            equation = np.where(has_value, equation, np.inf)
    return Clause(
        ratio,
        1.0,
        ratio,
        {"fc": fc, "fb": fb1, "Fc'": fc_prime, "Fb'": fb1_prime, "eq. 3.9-3": equation, "eq. 3.9-4": condition},
    )


def fails_first(fc_prime: Number, f_ce2: Number, fb1_prime: Number, f_be: Number) -> npt.NDArray[np.bool_]:
    """Whether eq. 3.9-4 can fail while eq. 3.9-3, which lets no stress exceed its capacity, is at most 1."""
    return np.asarray(np.asarray(fc_prime) / f_ce2 + (np.asarray(fb1_prime) / f_be) ** 2 >= 1)


def _at(places: npt.NDArray[np.int64], values: Array, shape: tuple[int, ...]) -> Array:
    """Values at places of a flat array of that shape."""
    if values.shape != shape:
        if not values.ndim:
            return np.full(len(places), values)
        values = np.broadcast_to(values, shape)
    return values.take(places)


def _overload(axial: Array, bent1: Array, bent2: Array, in_plane: Array, across: Array, twisted: Array) -> Array:
    """By how much stresses (n,) exceed what eq. 3.9-3, eq. 3.9-4 and fc < FcE allow: the s for which all stresses
    divided by s just meet them.

    The shares are fc/Fc', fb1/Fb1', fb2/Fb2', fc/FcE1, fc/FcE2 and fb1/FbE. Divided by s, eq. 3.9-3 reads

        H(s) = (axial / s)² + bent1 / (s - in_plane) + bent2 / (s - across - twisted² / s) = 1

    and H falls and is convex beyond its poles. The largest s at which its terms alone, or the first two without their
    pole, are 1 lies before the root, and from there Newton's steps come nearer without ever passing it. Where H is less
    than 1 there already, a condition governs: that s is the pole itself.
    """
    # of s² - bent1 s - axial² = 0 and s² - (across + bent2) s - twisted² = 0; without bent2 this is eq. 3.9-4
    bow, half, sideways = bent1 / 2, (across + bent2) / 2, bent2.any()
    s = np.maximum(bow + np.sqrt(bow * bow + axial * axial), half + np.sqrt(half * half + twisted * twisted))
    s = np.maximum(s, in_plane + bent1)
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(_STEPS):
            a, beyond = np.square(axial / s), s - in_plane
            b = bent1 / beyond
            excess, slope = a + b - 1, 2 * a / s + b / beyond
            if sideways:
                beyond = s - across - twisted * twisted / s
                b = np.where(bent2 > 0, bent2 / beyond, 0.0)
                excess, slope = excess + b, slope + b * (1 + (twisted / s) ** 2) / beyond
            # at a pole a term without stress is no number, and one that rounding leaves there has no slope
            step = np.fmax(excess / slope, 0.0)
            s = s + step
            if not (step > _CLOSE * s).any():
                break
    return s
