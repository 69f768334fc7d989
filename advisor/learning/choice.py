"""Choosing the next setting for a coupon among those that may be tried."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.learning.features import Floats
from advisor.learning.model import as_frame
from advisor.learning.reach import Ground, Question, Reach
from advisor.learning.sound import Outlook

#: Chances of a sound weld this near the best count as equal; the one nearest the table, or nearest
#: what passed on the ground, wins. Choice of this project: less than the chances are known to.
EQUAL = 0.02
#: Chance of a sound weld that makes a current part of the window. Choice of this project: nine
#: welds in ten, as for the target of the pass rates.
WINDOW = 0.9
#: Chance of a sound weld that is enough: no coupon is needed to make it higher. Choice of this
#: project: the level that intervals have here too.
ENOUGH = 0.95
#: Below this slope of log size over log current, more current is no remedy. Choice of this project:
#: a tenth more current would bring a hundredth more size.
FLAT = 0.1
#: Smallest size that such a slope is taken from. [mm]
_LEAST_MM = 0.1


@dataclass(frozen=True)
class Choice:
    """A setting chosen, what it should give, and what held it back.

    Parameters
    ----------
    current_kA, weld_ms, force_kN : float
        The setting, as the machine can dial it. [kA], [ms], [kN]
    size_mm, low_mm, high_mm, minimum_mm, chance : float
        As `MachineModel.predict` gives them. [mm]
    chance_expulsion, chance_sound : float
        As `Outlook.chances` gives them.
    window_kA : tuple of float or None
        Lowest and highest current in reach, at this time and force, where the chance of a sound
        weld is at least `WINDOW`; None where it is nowhere. [kA]
    reach : Reach
        Currents that could be tried.
    is_flat : bool
        Size hardly follows current in these coupons, so the published current was kept.
    wants_more, wants_less : bool
        The chance is not yet `ENOUGH` and still rises at the top or bottom of the reach.
    """

    current_kA: float
    weld_ms: float
    force_kN: float
    size_mm: float
    low_mm: float
    high_mm: float
    minimum_mm: float
    chance: float
    chance_expulsion: float
    chance_sound: float
    window_kA: tuple[float, float] | None
    reach: Reach
    is_flat: bool
    wants_more: bool
    wants_less: bool


def choose(outlook: Outlook, asked: Question, allowed: Sequence[Reach]) -> Choice:
    """Choose the setting with the highest chance of a sound weld, set-point error included.

    On each ground its weld time and force are kept; only where the chance still rises at the
    machine's largest current is the time lengthened, as little as serves. The first ground as good
    as the best wins.

    Parameters
    ----------
    outlook : Outlook
        Models of the machine.
    asked : Question
        What a setting is wanted for.
    allowed : sequence of Reach
        Currents that may be tried, ground by ground.

    Returns
    -------
    Choice
        The setting and its prediction.
    """
    choices = [_choose_on(outlook, asked, each) for each in allowed]
    best = max(steady for steady, _ in choices)
    return next(choice for steady, choice in choices if steady >= best - EQUAL)


def _choose_on(outlook: Outlook, asked: Question, allowed: Reach) -> tuple[float, Choice]:
    """Return the best choice on one ground and its chance, set-point error included."""
    settings = at_time(allowed, allowed.ground.weld_ms)
    steady = _steady(outlook, asked, settings)
    flat = _slope(outlook, asked, settings) < FLAT
    best = _nearest_home(allowed.ground, settings, steady, everywhere=flat)
    ends = {best} if flat else {best, int(np.argmax(steady))}
    chance = float(steady[best])
    if allowed.stop == "machine" and best == len(settings) - 1:
        settings = at_time(allowed, _longer(outlook, asked, settings[-1], float(steady[-1])))
    return chance, _choice(outlook, asked, allowed, settings, best, ends, flat)


def at_time(allowed: Reach, weld_ms: float) -> Floats:
    """Return every current in reach at one weld time and the ground's force.

    Parameters
    ----------
    allowed : Reach
        Currents that may be tried.
    weld_ms : float
        Weld time. [ms]

    Returns
    -------
    ndarray of shape (n_currents, 3)
        Current, weld time and force, lowest current first. [kA], [ms], [kN]
    """
    currents = np.array(allowed.currents_kA)
    rest = np.ones_like(currents)
    return np.column_stack([currents, weld_ms * rest, allowed.ground.force_kN * rest])


def _nearest_home(ground: Ground, settings: Floats, steady: Floats, *, everywhere: bool) -> int:
    """Return the index of the current nearest the ground's among those as good as the best."""
    best = float(steady.max())
    # Where every chance is small, two hundredths are no longer a small difference.
    good = np.ones_like(steady, bool) if everywhere else steady >= best - EQUAL * min(1, 2 * best)
    away = np.abs(np.log(settings[:, 0] / ground.current_kA))
    return int(np.argmin(np.where(good, away, np.inf)))


def _steady(outlook: Outlook, asked: Question, settings: Floats) -> Floats:
    return outlook.steady_sound(asked.stack, asked.electrode, settings)


def _longer(outlook: Outlook, asked: Question, last: Floats, steady: float) -> float:
    """Return the shortest weld time as good as the best at the largest current. [ms]."""
    step = asked.machine.time_step_ms
    count = math.floor((asked.longest_ms - last[1]) / step + 1e-9)
    times = [asked.machine.round_time(last[1] + i * step) for i in range(1, count + 1)]
    if not times:
        return float(last[1])
    settings = np.array([[last[0], weld_ms, last[2]] for weld_ms in times])
    chances = _steady(outlook, asked, settings)
    if chances.max() <= steady + EQUAL:
        return float(last[1])
    return times[int(np.argmax(chances >= chances.max() - EQUAL))]


def _choice(
    outlook: Outlook,
    asked: Question,
    allowed: Reach,
    settings: Floats,
    best: int,
    ends: set[int],
    flat: bool,
) -> Choice:
    current, weld_ms, force = settings[best].tolist()
    frame = as_frame(settings[best : best + 1])
    found = outlook.size.predict(asked.stack, asked.electrode, frame).iloc[0]
    chances = outlook.chances(asked.stack, asked.electrode, settings)
    sound = chances.sound
    return Choice(
        current_kA=current,
        weld_ms=weld_ms,
        force_kN=force,
        chance_expulsion=float(chances.expulsion[best]),
        chance_sound=float(sound[best]),
        window_kA=_window(settings[:, 0], sound),
        reach=allowed,
        is_flat=flat,
        wants_more=bool(len(sound) - 1 in ends and sound[best] < ENOUGH),
        wants_less=bool(0 in ends and sound[best] < ENOUGH),
        **{
            name: float(found[name])
            for name in ("size_mm", "low_mm", "high_mm", "minimum_mm", "chance")
        },
    )


def _window(currents: Floats, sound: Floats) -> tuple[float, float] | None:
    """Return the unbroken run of good currents around the best one."""
    best = int(np.argmax(sound))
    if sound[best] < WINDOW:
        return None
    bad = np.flatnonzero(sound < WINDOW)
    below, above = bad[bad < best], bad[bad > best]
    first = int(below[-1]) + 1 if below.size else 0
    last = int(above[0]) - 1 if above.size else len(sound) - 1
    return float(currents[first]), float(currents[last])


def is_lengthened(choice: Choice) -> bool:
    """Whether the weld is longer than its ground's because the machine gives no more current."""
    return choice.weld_ms > choice.reach.ground.weld_ms


def _slope(outlook: Outlook, asked: Question, settings: Floats) -> float:
    """Return the slope of log size over log current across the reach."""
    if len(settings) < 2:
        return math.inf
    ends = as_frame(settings[[0, -1]])
    sizes = outlook.size.predict(asked.stack, asked.electrode, ends)["size_mm"]
    low, high = np.maximum(sizes, _LEAST_MM)
    return math.log(high / low) / math.log(settings[-1, 0] / settings[0, 0])
