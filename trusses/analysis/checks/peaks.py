"""Where an interaction of bending and axial force (NDS 3.9) is greatest within a segment of a member.

Within a segment N runs straight and M is a parabola, N(x) = n - p x and M(x) = m + v x - q x²/2. So the slope of each
equation is zero where a cubic in x is, and no number of places along the member decides what is found.
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
#: Rounds of the search for the greatest ratio over 1, and the share by which it must grow for another one.
_ROUNDS, _GROWN = 20, 1e-12


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

    def slopes(self, s: Segment, past_one: bool) -> Array:
        """Those of N/(A Ft') ± M/(S Fb*) and of ± M/S - N/A, as coefficients (4, 4, n) of 1, x, x², x³."""
        axial, bent = 1 / (self.area * self.ft_prime), 1 / (self.modulus * self.fb_star)
        pull = np.stack([axial, axial, -1 / self.area, -1 / self.area])
        turn = np.stack([bent, -bent, 1 / self.modulus, -1 / self.modulus])
        none = np.zeros_like(turn)
        return np.stack([turn * s.v - pull * s.p, -turn * s.q, none, none])


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

    def ratio(self, n: Array, m: Array) -> nds.Number:
        upper = m >= 0
        fb_prime, f_be = (np.where(upper, edge[0], edge[1]) for edge in (self.fb_prime, self.f_be))
        fc, fb = np.maximum(-n, 0.0) / self.area, np.abs(m) / self.modulus
        slender = nds.fails_first(self.fc_prime, self.f_ce2, (self.fb_prime / self.f_be).max(axis=0), 1.0)
        return nds.bending_and_compression(
            fc, self.fc_prime, fb, fb_prime, self.f_ce1, f_ce2=self.f_ce2, f_be=f_be, slender=slender
        ).ratio

    def slopes(self, s: Segment, past_one: bool) -> Array:
        """That of eq. 3.9-3, (a C)² ± b M/u, times u², with C = -N and u = 1 - C/(A FcE1), and `past_one` that of
        eq. 3.9-4, too: coefficients (4, 2 or 4, n) of 1, x, x², x³.

        (a C)²' u² = 2 a² p C u², and (M/u)' u² = M' u + M k with k = p/(A FcE1), in which two terms cancel.
        """
        c, k = -s.n, s.p / (self.area * self.f_ce1)
        u = 1 - c / (self.area * self.f_ce1)
        bent = 1 / (self.modulus * self.fb_prime)
        bent[1] *= -1
        first, both = 2 * s.p / (self.area * self.fc_prime) ** 2, u * k
        cubics = np.stack(
            [
                first * c * u * u + bent * (s.v * u + k * s.m),
                first * (s.p * u * u - 2 * c * both) - bent * (s.q * u),
                first * (c * k * k - 2 * s.p * both) + bent * (s.q * k / 2),
                np.broadcast_to(first * s.p * k * k, bent.shape),
            ]
        )
        if not past_one:
            return cubics
        # C/(A FcE2) + (M/(S FbE))²
        twice = 2 / (self.modulus * self.f_be) ** 2
        lateral = [
            s.p / (self.area * self.f_ce2) + twice * (s.m * s.v),
            twice * (s.v**2 - s.m * s.q),
            -1.5 * twice * (s.v * s.q),
            twice * (s.q**2 / 2),
        ]
        return np.concatenate([cubics, lateral], axis=1)


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


def greatest(segment: Segment, of: Pulled | Pressed, known: Array, past_one: bool) -> tuple[Array, Array]:
    """Where in each segment an interaction is greatest, inches from its start, and how large it is there, (n,) each;
    some place and what it is there where that is less than is `known`, which is no less than it is at the ends.

    It is about the part where axial force has the interaction's sign, and its limit where that turns into the other
    one; `past_one` says whether it may be over 1 anywhere. Over 1 a ratio is the factor by which the forces exceed what
    the member carries: it is greatest where the equations are for the forces divided by it, and each round comes nearer
    to that from below.
    """
    low, high = segment.reach(of.sign)
    most, each = known, np.arange(len(known))
    for _ in range(_ROUNDS):
        carried = segment.times(1 / np.maximum(most, 1.0)) if past_one else segment
        x = stationary(of.slopes(carried, past_one), low, high)
        n, _, m = segment.at(x)
        ratio = np.asarray(of.ratio(n, m))
        best, before = ratio.argmax(axis=0), most
        found = ratio[best, each]
        most = np.maximum(found, known)
        if not past_one or not ((most > 1) & (most > before * (1 + _GROWN))).any():
            break
    return x[best, each], found
