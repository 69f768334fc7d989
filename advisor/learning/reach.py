"""What a setting is wanted for, and which settings may be tried at all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.errors import NoAdviceError
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.published import PublishedStart, published_start
from advisor.weld.setting import CURRENT_STEP_KA, FORCE_STEP_KN
from advisor.weld.stack import Stack

#: How far a coupon may go beyond every published and tested current (common practice, no source).
#: Upwards only once a coupon of this kind of stack has been tested; until then the published band
#: is the top, whatever the prior says about caps and adhesive.
BEYOND = 0.15
#: How far to stay below a current that threw metal out (common practice, no source).
BELOW_EXPULSION = 0.05
#: Longest weld time tried, over the published start (zinc needs up to 50 % more time than bare
#: steel: Steels: Metallurgy and Applications, 3rd ed., p. 104); the published band may allow more.
LONGEST = 1.5


@dataclass(frozen=True)
class Question:
    """What a setting is wanted for.

    Parameters
    ----------
    stack, machine, electrode, rules
        The stack, the machine, its caps, the shop's rules.
    start : PublishedStart
        Published start for the stack.
    coupons : tuple of LoggedCoupon
        Coupons of this machine that are not voided, oldest first.
    kin : tuple of LoggedCoupon
        Those of this kind of stack: same printed row, number of sheets and adhesive state.
    """

    stack: Stack
    machine: Machine
    electrode: Electrode
    rules: ShopRules
    start: PublishedStart
    coupons: tuple[LoggedCoupon, ...]
    kin: tuple[LoggedCoupon, ...]

    @property
    def force_kN(self) -> float:
        """Published force as the machine can dial it. [kN]."""
        return self.machine.round_force(self.start.force_kN)

    @property
    def force_is_capped(self) -> bool:
        """Whether the machine cannot give the published force."""
        return abs(self.force_kN - self.start.force_kN) > FORCE_STEP_KN

    @property
    def longest_ms(self) -> float:
        """Longest weld time that may be tried. [ms]."""
        return max(self.start.row.weld_ms.high, LONGEST * self.start.weld_ms)


def question(
    stack: Stack,
    machine: Machine,
    electrode: Electrode,
    rules: ShopRules,
    coupons: Sequence[LoggedCoupon],
) -> Question:
    """Put a question together; coupons of other machines and voided ones are left aside.

    Raises
    ------
    NoAdviceError
        Nothing published for this stack.
    """
    start = published_start(stack, rules.bare_schedule)
    own = tuple(
        sorted(
            (c for c in coupons if c.coupon.machine == machine.name and not c.voided),
            key=lambda c: (c.coupon.made_at.timestamp(), c.number),
        )
    )
    kin = tuple(c for c in own if _is_kin(c.coupon.stack, stack, start, rules))
    return Question(stack, machine, electrode, rules, start, own, kin)


def _is_kin(other: Stack, stack: Stack, start: PublishedStart, rules: ShopRules) -> bool:
    if len(other.sheets) != len(stack.sheets) or other.adhesive_state is not stack.adhesive_state:
        return False
    try:
        return published_start(other, rules.bare_schedule).row == start.row
    except NoAdviceError:
        return False


@dataclass(frozen=True)
class Reach:
    """The currents that may be tried, and what ends them at the top.

    Parameters
    ----------
    low_kA, high_kA : float
        Ends, both inside the machine's limits. [kA]
    stop : str
        ``machine``, ``band`` (published, nothing tested yet), ``beyond`` (15 % past anything
        published or tested) or ``expulsion``.
    expelled_kA : float or None
        Lowest current that threw metal out of such a stack at this force or more. [kA]
    """

    low_kA: float
    high_kA: float
    stop: str
    expelled_kA: float | None

    @property
    def currents_kA(self) -> list[float]:
        """Currents on the dial, lowest first; the top end where no step falls inside. [kA]."""
        first = math.ceil(self.low_kA / CURRENT_STEP_KA - 1e-9)
        last = math.floor(self.high_kA / CURRENT_STEP_KA + 1e-9)
        steps = [round(step * CURRENT_STEP_KA, 6) for step in range(first, last + 1)]
        return steps or [self.high_kA]

    def ends_at(self, current_kA: float) -> bool:
        """Say whether there is no step above a current.

        Parameters
        ----------
        current_kA : float
            The current. [kA]
        """
        return current_kA >= self.currents_kA[-1]


def reach(asked: Question) -> Reach:
    """Return the currents that may be tried.

    Raises
    ------
    NoAdviceError
        The machine has no current in that range.
    """
    tested = [c.coupon.setting.current_kA for c in asked.kin]
    band, machine = asked.start.row.current_kA, asked.machine
    low = (1 - BEYOND) * min([band.low, *tested])
    expelled = _expelled_kA(asked)
    tops = [(machine.largest_current_kA, "machine")]
    if tested:
        tops.append(((1 + BEYOND) * max(band.high, *tested), "beyond"))
    else:
        tops.append((band.high, "band"))
    if expelled is not None:
        tops.append(((1 - BELOW_EXPULSION) * expelled, "expulsion"))
    high, stop = min(tops)
    if machine.largest_current_kA < low:
        raise too_weak(asked)
    if machine.smallest_current_kA > high:
        raise NoAdviceError(_too_strong(machine, high, stop, expelled))
    return Reach(max(low, machine.smallest_current_kA), high, stop, expelled)


def _expelled_kA(asked: Question) -> float | None:
    currents = [
        c.coupon.setting.current_kA
        for c in asked.kin
        if c.coupon.expulsion
        and c.coupon.setting.force_kN >= asked.force_kN - FORCE_STEP_KN
        and c.coupon.setting.weld_ms <= asked.longest_ms
    ]
    return min(currents, default=None)


def too_weak(asked: Question) -> NoAdviceError:
    """Return the refusal that says which number is missing by how much."""
    band, most = asked.start.row.current_kA, asked.machine.largest_current_kA
    return NoAdviceError(
        f"{asked.machine.name} gives at most {most:g} kA; the published band for this stack is "
        f"{band.low:g} to {band.high:g} kA, so {band.low - most:.1f} kA are missing "
        f"({asked.start.row.schedule.source}): use a stronger machine, or ask the vehicle maker "
        "for another joining method"
    )


def _too_strong(machine: Machine, high_kA: float, stop: str, expelled_kA: float | None) -> str:
    least = machine.smallest_current_kA
    why = {
        "band": f"the published band for this stack ends at {high_kA:g} kA",
        "beyond": f"{high_kA:.1f} kA is 15 % past anything published or tested for this stack",
        "expulsion": f"a coupon of this kind of stack threw metal out at {expelled_kA or 0:g} kA",
    }[stop]
    return (
        f"{machine.name} gives at least {least:g} kA, {least - high_kA:.1f} kA too much: {why}; "
        "use a machine with a smaller current"
    )
