"""How often one address may try to sign in."""

from __future__ import annotations

import ipaddress
import time
from collections import deque
from collections.abc import Callable

#: Tries that were not right, of one address, within `PER_S`.
MOST, PER_S = 10, 60.0
#: Addresses that are remembered at most.
_MOST_ADDRESSES = 10_000


class Throttle:
    """Tries of each address, in memory; forgotten when the program starts again.

    Parameters
    ----------
    clock : callable
        Seconds that only run forward. [s]
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._tries: dict[str, deque[float]] = {}

    def begin(self, address: str) -> float:
        """Count a try before it is looked at.

        Returns
        -------
        float
            How long this address has to wait instead; zero when the try may be made. [s]
        """
        now, key = self._clock(), _block(address)
        tries = self._tries.pop(key, deque())
        while tries and tries[0] <= now - PER_S:
            tries.popleft()
        self._tries[key] = tries  # the newest last
        while len(self._tries) > _MOST_ADDRESSES:
            del self._tries[next(iter(self._tries))]
        if len(tries) >= MOST:
            return tries[0] + PER_S - now
        tries.append(now)
        return 0.0

    def take_back(self, address: str) -> None:
        """Take back the last try: it was right."""
        tries = self._tries.get(_block(address))
        if tries:
            tries.pop()


def _block(address: str) -> str:
    """Return what one device has of the network: an IPv6 device changes the lower half at will."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address[:64]
    if found.version == 6 and found.ipv4_mapped is None:
        return str(ipaddress.ip_network((int(found) >> 64 << 64, 64)))
    return str(found)
