"""Where an interaction of bending and axial force (NDS 3.9) is greatest within a segment of a member.

Within a segment N runs straight and M is a parabola, N(x) = n - p x and M(x) = m + v x - q x²/2. So each equation is
exceeded where a polynomial in x is over zero, and no number of places along the member decides what is found.
Everything here is an array over segments (n,), or broadcasts to that.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from trusses.analysis.checks import nds

Array = npt.NDArray[np.float64]

#: Steps of the search for a root, and the share of a segment to which it is found.
_STEPS, _CLOSE = 100, 1e-12
#: Rounds of the search for the greatest ratio, and the share by which it must grow for another one. What is left to
#: grow after a round is of the size of the square of what it grew by.
_ROUNDS, _GROWN = 60, 1e-8


class Segment(NamedTuple):
    """Forces along segments of `h` inches (n,): N(x) = n - p x, tension positive, and M(x) = m + v x - q x²/2."""

    h: Array
    n: Array
    v: Array
    m: Array
    p: Array
    q: Array

    def at(self, x: Array) -> tuple[Array, Array, Array]:
        """N, V and M at x inches from the start."""
        return self.n - self.p * x, self.v - self.q * x, self.m + (self.v - self.q * x / 2) * x

    def times(self, factor: Array) -> Segment:
        """The same segments under so many times their forces."""
        return Segment(self.h, *(factor * values for values in self[1:]))

    def those(self, which: npt.NDArray[np.bool_]) -> Segment:
        """Some of them."""
        return Segment(*(values[which] for values in self))

    def reach(self, sign: int) -> tuple[Array, Array]:
        """From where to where the axial force is tension (`sign` 1) or compression (-1), inches from the start; the
        whole segment where it is so nowhere."""
        with np.errstate(divide="ignore", invalid="ignore"):
            zero = self.n / self.p
        crosses = (zero > 0) & (zero < self.h)
        if not crosses.any():
            return np.zeros_like(self.h), self.h
        begins = crosses & (sign * self.n < 0)
        return np.where(begins, zero, 0.0), np.where(crosses & ~begins, zero, self.h)


class Pulled(NamedTuple):
    """What NDS 3.9.1 takes of members in tension (n,), `fb_prime` (2, n) with the upper and the lower edge pressed."""

    area: Array
    modulus: Array
    ft_prime: Array
    fb_star: Array
    fb_prime: Array

    @property
    def sign(self) -> int:
        """That of the axial force that counts."""
        return 1

    def ratio(self, n: Array, m: Array) -> nds.Number:
        fb_prime = np.where(m >= 0, self.fb_prime[0], self.fb_prime[1])
        ft, fb = np.maximum(n, 0.0) / self.area, np.abs(m) / self.modulus
        return nds.bending_and_tension(ft, self.ft_prime, fb, self.fb_star, fb_prime).ratio

    def greatest(self, s: Segment, low: Array, high: Array, known: Array) -> tuple[Array, Array]:
        """See `greatest`. N/(A Ft') ± M/(S Fb*) and ± M/S - N/A are parabolas, level where V is so many times p."""
        share = s.p * np.stack([self.modulus * self.fb_star / (self.area * self.ft_prime), self.modulus / self.area])
        with np.errstate(divide="ignore", invalid="ignore"):
            level = (s.v + np.concatenate([share, -share])) / s.q
        # what is no number lies nowhere between the two
        x = np.stack([low, high, *np.where((level > low) & (level < high), level, low)])
        n, _, m = s.at(x)
        ratio, each = np.asarray(self.ratio(n, m)), np.arange(len(known))
        best = ratio.argmax(axis=0)
        return x[best, each], ratio[best, each]


class Pressed(NamedTuple):
    """What NDS 3.9.2 takes of members in compression (n,), `fb_prime` and `f_be` (2, n) with the upper and the lower
    edge pressed."""

    area: Array
    modulus: Array
    fc_prime: Array
    f_ce1: Array
    f_ce2: Array
    fb_prime: Array
    f_be: Array

    @property
    def sign(self) -> int:
        return -1

    @property
    def slender(self) -> npt.NDArray[np.bool_]:
        """Whether eq. 3.9-4 can fail first, with either edge pressed."""
        return nds.fails_first(self.fc_prime, self.f_ce2, (self.fb_prime / self.f_be).max(axis=0), 1.0)

    def ratio(self, n: Array, m: Array) -> nds.Number:
        upper = m >= 0
        fb_prime, f_be = (np.where(upper, edge[0], edge[1]) for edge in (self.fb_prime, self.f_be))
        fc, fb = np.maximum(-n, 0.0) / self.area, np.abs(m) / self.modulus
        return nds.bending_and_compression(
            fc, self.fc_prime, fb, fb_prime, self.f_ce1, f_ce2=self.f_ce2, f_be=f_be, slender=self.slender
        ).ratio

    def greatest(self, s: Segment, low: Array, high: Array, known: Array) -> tuple[Array, Array]:
        """See `greatest`. With C = -N, a = 1/(A Fc'), b = 1/(S Fb'), φ = 1/(A FcE1) and the forces divided by d, eq.
        3.9-3 is over k where a cubic in x is over zero:

            G(x) = ((a C / d)² - k) (d - φ C) ± b M

        Of the ratio, d is what is over 1 and k what isn't; the other one is 1. G is greatest at an end or
        where its slope, of which the roots are known, changes from + to -. There eq. 3.9-3 gives the next ratio: a
        step of Newton's, from below.
        """
        c, p, q, v = -s.n, s.p, s.q, s.v
        square, phi = (self.area * self.fc_prime) ** -2.0, 1 / (self.area * self.f_ce1)
        b = _EDGES / (self.modulus * self.fb_prime)
        b_v, b_q, c_3, phi_p = b * v, b * q, 3 * phi * c, phi * p
        x, each, most = low, np.arange(len(known)), known
        places = np.empty((4, len(known)))
        places[0], places[1] = low, high
        for _ in range(_ROUNDS):
            d, k = np.maximum(most, 1.0), np.minimum(most, 1.0)
            e = square / (d * d)
            p_e = p * e
            beyond = d - c_3
            g1 = p_e * c * (d + beyond) + phi_p * k + b_v
            g2 = 2 * p * p_e * beyond - b_q
            g3 = -3 * p * p_e * phi_p
            with np.errstate(divide="ignore", invalid="ignore"):
                root = np.sqrt(g2 * g2 - 4 * g3 * g1)
                level = np.where(g2 > 0, (g2 + root) / (-2 * g3), 2 * g1 / (root - g2))
            # what is no number is low
            places[2:] = np.fmin(np.fmax(level, low), high)
            pressed = c + p * places
            bent = (b[:, None] * (s.m + (v - q / 2 * places) * places)).max(axis=0)
            excess = (e * pressed * pressed - k) * (d - phi * pressed) + bent
            if not (excess > 0).any():
                break
            best = excess.argmax(axis=0), each
            excess, pressed, bent = excess[best], pressed[best], bent[best]
            more = excess > 0
            beyond = d - phi * pressed
            with np.errstate(divide="ignore", invalid="ignore"):
                step = excess / beyond
                newton = step / (2 * e * pressed * pressed / d + bent / (beyond * beyond))
            grown = np.where(more, np.where(most < 1, np.minimum(step, 1 - most), newton), 0.0)
            x, most = np.where(more, places[best], x), most + grown
            if not (grown > _GROWN * most).any():
                break
        return self._sideways(s, low, high, x, most)

    def _sideways(self, s: Segment, low: Array, high: Array, x: Array, known: Array) -> tuple[Array, Array]:
        """Places x (n,) and the ratios `known` there, or others where eq. 3.9-4 makes them more.

        It counts for no member whose Fc'/FcE2 + (Fb'/FbE)² is under 1; see `nds.bending_and_compression`.
        """
        slender = self.slender
        if not slender.any():
            return x, known
        clause = Pressed(*(values[..., slender] for values in self))
        s, low, high, most = s.those(slender), low[slender], high[slender], known[slender]
        x, known, each, at = x.copy(), known.copy(), np.arange(len(low)), x[slender]
        # C/(A FcE2) + (M/(S FbE))²
        twice = 2 / np.square(clause.modulus * clause.f_be)
        for _ in range(_ROUNDS):
            _, n, v, m, p, q = s.times(1 / np.maximum(most, 1.0))
            slopes = [
                p / (clause.area * clause.f_ce2) + twice * (m * v),
                twice * (v * v - m * q),
                -1.5 * twice * (v * q),
                twice * (q * q / 2),
            ]
            places = stationary(np.stack(slopes), low, high)
            n, _, m = s.at(places)
            ratio = np.asarray(clause.ratio(n, m))
            best = ratio.argmax(axis=0), each
            more = ratio[best] > most * (1 + _GROWN)
            at, most = np.where(more, places[best], at), np.where(more, ratio[best], most)
            if not (more & (most > 1)).any():
                break
        x[slender], known[slender] = at, most
        return x, known


def stationary(cubics: Array, low: Array, high: Array) -> Array:
    """Every place from `low` to `high` (n,) where one of the cubics, coefficients (4, c, n), can be zero, (7 c, n): its
    roots, and the ends of the pieces, between its own extremes, that have one root each at most."""
    d0, d1, d2, d3 = cubics
    with np.errstate(divide="ignore", invalid="ignore"):
        far = -(d2 + np.copysign(np.sqrt(d2 * d2 - 3 * d3 * d1), d2))
        turns = np.stack([far / (3 * d3), d1 / far])
    # what is no number lies nowhere between the two
    turns = np.where((turns > low) & (turns < high), turns, low)
    turns.sort(axis=0)
    ends = np.empty((4, *d0.shape))
    ends[0], ends[1:3], ends[3] = low, turns, high

    def value(x: Array) -> Array:
        return ((d3 * x + d2) * x + d1) * x + d0

    above = value(ends) > 0
    rising = above[1:]
    has_root = above[:-1] != rising
    left, right = ends[:-1], ends[1:]
    x = np.where(has_root, (left + right) / 2, left)
    for _ in range(_STEPS):
        y = value(x)
        beyond = (y > 0) == rising
        left, right = np.where(beyond, left, x), np.where(beyond, x, right)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = x - y / ((3 * d3 * x + 2 * d2) * x + d1)
        step = np.where((step >= left) & (step <= right), step, (left + right) / 2)
        moved = has_root & (np.abs(step - x) > _CLOSE * high)
        x = np.where(has_root, step, x)
        if not moved.any():
            break
    return np.concatenate([ends, x]).reshape(-1, len(low))


def greatest(segment: Segment, clause: Pulled | Pressed, known: Array) -> tuple[Array, Array]:
    """Where in each segment an interaction is greatest, inches from its start, and how large it is there, (n,) each;
    some place and no more than is `known` where nothing is more than that, which is no less than it is at the ends.

    It is about the part where axial force has the interaction's sign, and its limit where that turns into the other
    one. Over 1 a ratio is the factor by which the forces exceed what the member carries.
    """
    return clause.greatest(segment, *segment.reach(clause.sign), known)


#: The sign of a moment that presses the upper edge, and of one that presses the lower edge.
_EDGES = np.array([[1.0], [-1.0]])
