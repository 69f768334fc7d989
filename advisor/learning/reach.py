"""What a setting is wanted for, and which settings may be tried at all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import Outcome
from advisor.errors import NoAdviceError
from advisor.language import msg, say
from advisor.learning.starts import start_or_none
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.published import PublishedStart, published_start
from advisor.weld.setting import CURRENT_STEP_KA, FORCE_STEP_KN, Setting
from advisor.weld.stack import Stack

#: How far a coupon may go beyond every published and tested current (common practice, no source).
#: Upwards only once a coupon of this kind of stack has been tested; until then the published band
#: is the top, whatever the prior says about caps and adhesive.
BEYOND = 0.15
#: How far to stay below a current that threw metal out (common practice, no source).
BELOW_EXPULSION = 0.05
#: An expulsion sets that limit unless so many times as many coupons, at its current or above, kept
#: the metal in: one of many is scatter, not the edge of the window (common practice, no source).
OUTVOTED = 5
#: Coupons within this share of a weld time and of a force count as made there, and the most such
#: places that are looked at besides the table's (common practice, no source).
NEAR, GROUNDS = 0.2, 4
#: Longest weld time tried, over the published start (zinc needs up to 50 % more time than bare
#: steel: Steels: Metallurgy and Applications, 3rd ed., p. 104); the published band may allow more.
LONGEST = 1.5
#: Why a machine's smallest current is too much, by what ends the reach.
_ENDS = {
    "band": msg("the published band for this stack ends at {high:g} kA"),
    "beyond": msg("{high:.1f} kA is 15 % past anything published or tested for this stack"),
    "expulsion": msg("a coupon of this kind of stack threw metal out at {expelled:.1f} kA"),
}


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
    # Coupons of one log often share the very same stack, so each is looked at once.
    stacks = {id(c.coupon.stack): c.coupon.stack for c in own}
    akin = {key for key, other in stacks.items() if _is_kin(other, stack, start, rules)}
    kin = tuple(c for c in own if id(c.coupon.stack) in akin)
    return Question(stack, machine, electrode, rules, start, own, kin)


def _is_kin(other: Stack, stack: Stack, start: PublishedStart, rules: ShopRules) -> bool:
    if len(other.sheets) != len(stack.sheets) or other.adhesive_state is not stack.adhesive_state:
        return False
    theirs = start_or_none(other, rules.bare_schedule)
    return theirs is not None and theirs.row == start.row


@dataclass(frozen=True)
class Ground:
    """Weld time and force that are kept while the current is chosen.

    Parameters
    ----------
    weld_ms, force_kN : float
        As the machine can dial them. [ms], [kN]
    current_kA : float
        Current to stay near where several are as good: the table's, or the middle one of those that
        passed here. [kA]
    is_table : bool
        Whether time and force are the published ones.
    tested : tuple of LoggedCoupon
        Coupons of this kind of stack made near this time and force, oldest first.
    """

    weld_ms: float
    force_kN: float
    current_kA: float
    is_table: bool
    tested: tuple[LoggedCoupon, ...]


def grounds(asked: Question) -> list[Ground]:
    """Return the grounds worth trying, the ones tested last first.

    Once a coupon of this kind of stack has passed away from the table's time and force, the ground
    it passed on is tried too; and the table's is left out where nothing near it was tested, for
    evidence from this machine outweighs a table.
    """
    table = _table(asked)
    found: list[Ground] = []
    for logged in reversed(asked.kin):
        if logged.verdict.outcome is Outcome.PASS and len(found) < GROUNDS:
            found += _new_ground(asked, logged, [*found, table])
    return [*found, table] if table.tested or not found else found


def _table(asked: Question) -> Ground:
    weld_ms, force_kN = asked.machine.round_time(asked.start.weld_ms), asked.force_kN
    tested = _near(asked, weld_ms, force_kN)
    return Ground(weld_ms, force_kN, asked.start.current_kA, True, tested)


def _new_ground(asked: Question, logged: LoggedCoupon, known: list[Ground]) -> list[Ground]:
    setting = logged.coupon.setting
    if any(_is_near(setting, each.weld_ms, each.force_kN) for each in known):
        return []
    weld_ms = asked.machine.round_time(setting.weld_ms)
    force_kN = asked.machine.round_force(setting.force_kN)
    tested = _near(asked, weld_ms, force_kN)
    passed = [c.coupon.setting.current_kA for c in tested if c.verdict.outcome is Outcome.PASS]
    if not passed:
        return []
    return [Ground(weld_ms, force_kN, sorted(passed)[len(passed) // 2], False, tested)]


def _near(asked: Question, weld_ms: float, force_kN: float) -> tuple[LoggedCoupon, ...]:
    return tuple(c for c in asked.kin if _is_near(c.coupon.setting, weld_ms, force_kN))


def _is_near(setting: Setting, weld_ms: float, force_kN: float) -> bool:
    away = (math.log(setting.weld_ms / weld_ms), math.log(setting.force_kN / force_kN))
    return max(map(abs, away)) <= math.log1p(NEAR)


@dataclass(frozen=True)
class Reach:
    """The currents that may be tried on a ground, and what ends them at the top.

    Parameters
    ----------
    low_kA, high_kA : float
        Ends, both inside the machine's limits. [kA]
    stop : str
        ``machine``, ``band`` (published, nothing tested yet), ``beyond`` (15 % past anything
        published or tested) or ``expulsion``.
    expelled_kA : float or None
        Lowest current that threw metal out of such a stack at this force or more. [kA]
    ground : Ground
        Weld time and force.
    """

    low_kA: float
    high_kA: float
    stop: str
    expelled_kA: float | None
    ground: Ground

    @property
    def currents_kA(self) -> list[float]:
        """Currents on the dial, lowest first; the top end where no step falls inside. [kA]."""
        first = math.ceil(self.low_kA / CURRENT_STEP_KA - 1e-9)
        last = math.floor(self.high_kA / CURRENT_STEP_KA + 1e-9)
        steps = [round(step * CURRENT_STEP_KA, 6) for step in range(first, last + 1)]
        return steps or [self.high_kA]

    def holds(self, setting: Setting) -> bool:
        """Whether a setting may be tried here.

        Parameters
        ----------
        setting : Setting
            The setting.
        """
        low, high = self.low_kA - 1e-9, self.high_kA + 1e-9
        is_here = _is_near(setting, self.ground.weld_ms, self.ground.force_kN)
        return is_here and low <= setting.current_kA <= high


def reaches(asked: Question) -> list[Reach]:
    """Return the currents that may be tried on each ground.

    Raises
    ------
    NoAdviceError
        The machine has no current in any of these ranges.
    """
    found = []
    for ground in grounds(asked):
        with suppress(NoAdviceError):
            found.append(_reach(asked, ground))
    return found or [_reach(asked, _table(asked))]


def _reach(asked: Question, ground: Ground) -> Reach:
    tested = [c.coupon.setting.current_kA for c in ground.tested]
    expelled = _expelled_kA(asked, ground)
    band, machine = asked.start.row.current_kA, asked.machine
    bands = [(band.low, band.high)] if ground.is_table else []
    hot = [] if expelled is None else [expelled]
    low = (1 - BEYOND) * min([*(low for low, _ in bands), *tested, *hot])
    tops = [(machine.largest_current_kA, "machine")]
    if tested:
        tops.append(((1 + BEYOND) * max([*(high for _, high in bands), *tested]), "beyond"))
    else:
        tops.append((band.high, "band"))
    if expelled is not None:
        tops.append(((1 - BELOW_EXPULSION) * expelled, "expulsion"))
    high, stop = min(tops)
    if machine.largest_current_kA < low:
        raise too_weak(asked)
    if machine.smallest_current_kA > high:
        raise NoAdviceError(_too_strong(machine, high, stop, expelled))
    return Reach(max(low, machine.smallest_current_kA), high, stop, expelled, ground)


def _expelled_kA(asked: Question, ground: Ground) -> float | None:
    """Return the lowest current that threw metal out and was not outvoted since."""
    longest_ms = max(asked.longest_ms, ground.weld_ms)
    hot = [
        c.coupon
        for c in asked.kin
        if c.coupon.setting.force_kN >= ground.force_kN - FORCE_STEP_KN
        and c.coupon.setting.weld_ms <= longest_ms
    ]
    for current in sorted({c.setting.current_kA for c in hot if c.expulsion}):
        as_hot = [c.expulsion for c in hot if c.setting.current_kA >= current]
        if sum(as_hot) * OUTVOTED >= len(as_hot):
            return current
    return None


def too_weak(asked: Question) -> NoAdviceError:
    """Return the refusal that says which number is missing by how much."""
    band, most = asked.start.row.current_kA, asked.machine.largest_current_kA
    return NoAdviceError(
        say(
            "{machine} gives at most {most:g} kA; the published band for this stack is {low:g} to "
            "{high:g} kA, so {missing:.1f} kA are missing ({source}): use a stronger machine, or "
            "ask the vehicle maker for another joining method",
            machine=asked.machine.name,
            most=most,
            low=band.low,
            high=band.high,
            missing=band.low - most,
            source=asked.start.row.schedule.source,
        )
    )


def _too_strong(machine: Machine, high_kA: float, stop: str, expelled_kA: float | None) -> str:
    least = machine.smallest_current_kA
    return say(
        "{machine} gives at least {least:g} kA, {over:.1f} kA too much: {why}; use a machine with "
        "a smaller current",
        machine=machine.name,
        least=least,
        over=least - high_kA,
        why=say(_ENDS[stop], high=high_kA, expelled=expelled_kA or 0),
    )
