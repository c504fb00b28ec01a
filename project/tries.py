"""How often a password may be tried: at the front door, at the office's, and for a program's token, counted together.

What is wrong is counted, so an office whose people all sign in at nine behind one address keeps nobody out. Where a
person has signed in from an address before, others' wrong tries don't count against that person there.
"""

from __future__ import annotations

import hashlib
import math
import time
from dataclasses import dataclass
from ipaddress import IPv6Address, IPv6Network, ip_address

from django.core.cache import cache
from django.http import HttpRequest
from rest_framework.throttling import SimpleRateThrottle

KNOWN_S = 30 * 24 * 3600
"""For how long an address is known to be a person's after a sign-in from there."""


class _Rate(SimpleRateThrottle):
    num_requests: int
    duration: int


class _ByAddress(_Rate):
    scope = "sign-in"


class _ByAccount(_Rate):
    scope = "account"


@dataclass(frozen=True)
class _Count:
    """Wrong tries of one kind, their times in seconds, the newest first."""

    key: str
    most: int
    within_s: int

    def times(self) -> list[float]:
        since = time.time() - self.within_s
        return [at for at in cache.get(self.key, ()) if at > since]

    def wait_s(self) -> float:
        times = self.times()
        return times[self.most - 1] + self.within_s - time.time() if len(times) >= self.most else 0.0

    def add(self, at: float) -> None:
        cache.set(self.key, [at, *self.times()][: 4 * self.most], self.within_s)

    def take_back(self, at: float) -> None:
        cache.set(self.key, [other for other in self.times() if other != at], self.within_s)


def _line(address: str) -> str:
    """What one line of the network tries from: an IPv4 address, or the /64 that one network is given of IPv6 (RFC 4291,
    2.5.1, from memory), in which whoever has it picks addresses at will."""
    try:
        read = ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if not isinstance(read, IPv6Address):
        return str(read)
    return str(read.ipv4_mapped or IPv6Network((read, 64), strict=False))


class Tries:
    """The tries for one account from one address. Begin one before the password is looked at; say if it was right."""

    def __init__(self, request: HttpRequest, account: str) -> None:
        rate, slow = _ByAddress(), _ByAccount()
        address = _line(rate.get_ident(request))  # type: ignore[arg-type]
        name = hashlib.sha256(account.casefold().encode()).hexdigest()
        self._known = f"signed-in_{name}_{address}"
        self._here = _Count(f"throttle_sign-in_{address}_{name}", rate.num_requests, rate.duration)
        self._address = _Count(f"throttle_sign-in_{address}", rate.num_requests, rate.duration)
        self._account = _Count(f"throttle_account_{name}", slow.num_requests, slow.duration)
        self._began = 0.0

    def begin(self) -> int:
        """Seconds to wait; 0 where the password may be looked at, and then the try counts as wrong until it is right.

        It counts at once, so that a hundred tries sent together are a hundred."""
        known = cache.get(self._known) is not None
        asked = [self._here] if known else [self._here, self._address, self._account]
        if wait := max(count.wait_s() for count in asked):
            return math.ceil(wait)
        self._began = time.time()
        for count in (self._here, self._address, self._account):
            count.add(self._began)
        return 0

    def right(self) -> None:
        cache.set(self._known, True, KNOWN_S)
        cache.delete(self._here.key)
        for count in (self._address, self._account):
            count.take_back(self._began)
