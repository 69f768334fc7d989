"""PINs: which are good enough, how they are kept, and how many wrong ones are borne.

A PIN has few digits, so a stolen hash of one is guessed sooner or later whatever the hash costs.
What protects it is that guesses at the door are few and that the database stays where it is.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from threading import BoundedSemaphore, Lock

from argon2 import PasswordHasher, Type
from argon2.exceptions import VerifyMismatchError

from advisor.errors import InputError, RoleError
from advisor.language import msg, say

#: Fewest and most digits of a PIN. Choice of this project: short enough to be typed in gloves; a
#: guess in a million with wrong ones counted.
FEWEST, MOST = 6, 12
#: Wrong tries in a row after which a name is locked. Choice of this project: so many of a million
#: PINs are tried by then.
MOST_WRONG = 8
#: Longest wait between two tries. Choice of this project: no longer than a person waits. [s]
MOST_WAIT_S = 60
#: Names nobody has whose wrong tries are remembered. Choice of this project: they stay in memory.
MOST_STRANGERS = 10_000

# Second recommended option of RFC 9106, section 4: Argon2id, 3 passes, 4 lanes, 64 MiB, 16 bytes of
# salt, 32 bytes of hash. One hash took 80 ms on two cores (median of 7).
_PASSES, _MEMORY_KiB, _LANES, _SALT_BYTES, _HASH_BYTES = 3, 65536, 4, 16, 32
_HASHER = PasswordHasher(
    time_cost=_PASSES,
    memory_cost=_MEMORY_KiB,
    parallelism=_LANES,
    hash_len=_HASH_BYTES,
    salt_len=_SALT_BYTES,
    type=Type.ID,
)
#: Costs as much as any other hash, and no PIN is known that fits it: salt and hash are zeros.
_DUMMY = (
    f"$argon2id$v=19$m={_MEMORY_KiB},t={_PASSES},p={_LANES}"
    f"${'A' * math.ceil(_SALT_BYTES * 8 / 6)}${'A' * math.ceil(_HASH_BYTES * 8 / 6)}"
)
# Many tries at once would otherwise take 64 MiB each.
_AT_ONCE = BoundedSemaphore(2)

NO_FIT = msg(
    "this name and PIN do not fit together; try again, or ask a lead to give you a new PIN"
)
#: Names `MOST_WRONG`.
LOCKED = msg(
    "this name is locked after 8 wrong PINs in a row; a lead unlocks it under Shop set-up, or "
    "whoever runs the server with: python -m advisor pin NAME"
)


def check_pin(pin: str) -> None:
    """Refuse a PIN that is no PIN or too easy to guess.

    Parameters
    ----------
    pin : str
        6 to 12 digits.

    Raises
    ------
    InputError
        Why it cannot be one; the text never holds the PIN itself.
    """
    if not (pin.isascii() and pin.isdigit()):
        raise InputError(
            say(
                "a PIN has digits 0 to 9 only; choose {fewest} to {most} of them",
                fewest=FEWEST,
                most=MOST,
            )
        )
    if not FEWEST <= len(pin) <= MOST:
        raise InputError(
            say(
                "the PIN has {count} digits; it must have {fewest} to {most}",
                count=len(pin),
                fewest=FEWEST,
                most=MOST,
            )
        )
    if reason := _too_easy(pin):
        raise InputError(reason)


def _too_easy(pin: str) -> str:
    steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
    if steps == {0}:
        return say("the PIN is one digit over and over, which is tried first; choose another")
    if steps in ({1}, {9}):
        return say("the PIN runs up or down digit by digit, which is tried first; choose another")
    if any(pin == (pin[:size] * len(pin))[: len(pin)] for size in (2, 3)):
        return say(
            "the PIN repeats its first two or three digits, which is tried first; choose another"
        )
    return ""


def hashed(pin: str) -> str:
    """Return what is kept of a PIN: an Argon2id hash with its parameters and its own salt."""
    check_pin(pin)
    with _AT_ONCE:
        return _HASHER.hash(pin)


def fits(kept: str | None, pin: str) -> bool:
    """Return whether a PIN is the one that was kept, in the same time whether one is kept or not.

    Parameters
    ----------
    kept : str or None
        What `hashed` returned; None for a name that is not known or has no PIN.
    pin : str
        What was typed.
    """
    could_be = pin.isascii() and pin.isdigit() and len(pin) <= MOST
    with _AT_ONCE:
        try:
            same = _HASHER.verify(kept or _DUMMY, pin if could_be else "")
        except VerifyMismatchError:
            return False
    return same and kept is not None


def needs_rehash(kept: str) -> bool:
    """Return whether a kept hash was made with other parameters than today's."""
    return _HASHER.check_needs_rehash(kept)


def wait_s(wrong: int) -> int:
    """Return how long [s] to wait for the next try after so many wrong ones in a row."""
    return 0 if wrong < 3 else min(2 ** (wrong - 2), MOST_WAIT_S)


@dataclass(frozen=True)
class Tries:
    """Tries of one name in a row that were not right.

    Parameters
    ----------
    wrong : int
        How many.
    last : datetime or None
        When the last of them was.
    """

    wrong: int = 0
    last: datetime | None = None

    @property
    def is_spent(self) -> bool:
        """Whether the name is to be locked."""
        return self.wrong >= MOST_WRONG

    def wait_left_s(self, now: datetime) -> int:
        """Return how long [s] the next try still has to wait."""
        if self.last is None:
            return 0
        passed_s = (now - self.last).total_seconds()
        if passed_s < -MOST_WAIT_S:  # the clock was put back
            return 0
        return max(0, math.ceil(wait_s(self.wrong) - passed_s))

    def check(self, now: datetime) -> None:
        """Refuse a try that comes too early, or after too many wrong ones.

        Raises
        ------
        RoleError
            How long to wait, or who unlocks the name.
        """
        if self.is_spent:
            raise RoleError(say(LOCKED))
        left_s = self.wait_left_s(now)
        if left_s:
            raise RoleError(
                say(
                    "{wrong} wrong PINs in a row; try again in {wait} s",
                    wrong=self.wrong,
                    wait=left_s,
                )
            )

    def and_another(self, now: datetime) -> Tries:
        """Return the tries with one more."""
        return replace(self, wrong=self.wrong + 1, last=now)


class Strangers:
    """Tries with names that nobody has, counted as those of known names are."""

    def __init__(self) -> None:
        self._tries: OrderedDict[Hashable, Tries] = OrderedDict()
        self._lock = Lock()

    def count(self, name: Hashable, now: datetime) -> None:
        """Count a try, or refuse it as `Tries.check` does."""
        with self._lock:
            tries = self._tries.get(name, Tries())
            tries.check(now)
            self._tries[name] = tries.and_another(now)
            self._tries.move_to_end(name)
            if len(self._tries) > MOST_STRANGERS:
                self._tries.popitem(last=False)
