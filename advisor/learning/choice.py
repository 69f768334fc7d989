"""Choosing the next setting for a coupon among those that may be tried."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from advisor.learning.features import Floats
from advisor.learning.model import MachineModel
from advisor.learning.reach import Question, Reach

#: Size aimed at: 5√t is the published set-up target (TWI FAQ). A shop whose minimum comes near it
#: or above still wants about one weld-to-weld scatter (10 %) of margin. Not more: the window ends
#: where metal is thrown out.
TARGET_K, LEAST_MARGIN = 5.0, 1.1
#: Share of the aim that counts as reached: a step of the dial moves the size by about 1 %.
REACHED = 0.98
#: Below this slope of log size over log current, more current is no remedy.
FLAT = 0.1


@dataclass(frozen=True)
class Choice:
    """A setting chosen, what it should give, and what held it back.

    Parameters
    ----------
    current_kA, weld_ms, force_kN : float
        The setting, as the machine can dial it. [kA], [ms], [kN]
    size_mm, low_mm, high_mm, minimum_mm, chance : float
        As `MachineModel.predict` gives them. [mm]
    reach : Reach
        Currents that could be tried.
    is_flat : bool
        Size hardly follows current in these coupons, so the published current was kept.
    """

    current_kA: float
    weld_ms: float
    force_kN: float
    size_mm: float
    low_mm: float
    high_mm: float
    minimum_mm: float
    chance: float
    reach: Reach
    is_flat: bool


def choose(model: MachineModel, asked: Question, allowed: Reach) -> Choice:
    """Choose the current whose predicted size at the weakest interface is nearest the aim.

    Published weld time and force are kept; only where the machine's largest current still falls
    short is the time lengthened, as little as reaches the aim.

    Parameters
    ----------
    model : MachineModel
        Model of the machine.
    asked : Question
        What a setting is wanted for.
    allowed : Reach
        Currents that may be tried.

    Returns
    -------
    Choice
        The setting and its prediction.
    """
    first = asked.machine.round_time(asked.start.weld_ms)
    best = _at_time(model, asked, allowed, first, allowed.currents_kA)
    if allowed.stop != "machine" or not allowed.ends_at(best.current_kA):
        return best
    for weld_ms in _longer(asked, first):
        if not falls_short(asked, best):
            break
        longer = _at_time(model, asked, allowed, weld_ms, allowed.currents_kA[-1:])
        if longer.size_mm > best.size_mm:
            best = replace(longer, is_flat=best.is_flat)
    return best


def falls_short(asked: Question, choice: Choice) -> bool:
    """Whether the predicted size does not reach the aim."""
    return choice.size_mm < REACHED * aim_mm(asked, choice.minimum_mm)


def overshoots(asked: Question, choice: Choice) -> bool:
    """Whether the predicted size is past the aim."""
    return choice.size_mm > aim_mm(asked, choice.minimum_mm) / REACHED


def _longer(asked: Question, first_ms: float) -> Iterator[float]:
    step = asked.machine.time_step_ms
    count = math.floor((asked.longest_ms - first_ms) / step + 1e-9)
    return (asked.machine.round_time(first_ms + i * step) for i in range(1, count + 1))


def aim_mm(asked: Question, minimum_mm: float) -> float:
    """Return the size aimed at, from the minimum at the same interface. [mm]."""
    return minimum_mm * max(TARGET_K / asked.rules.judging.size.k, LEAST_MARGIN)


def is_lengthened(asked: Question, choice: Choice) -> bool:
    """Whether the weld is longer than published because the machine gives no more current."""
    return choice.weld_ms > asked.machine.round_time(asked.start.weld_ms)


def _at_time(
    model: MachineModel,
    asked: Question,
    allowed: Reach,
    weld_ms: float,
    currents_kA: Sequence[float],
) -> Choice:
    settings = pd.DataFrame({"current_kA": currents_kA})
    settings["weld_ms"], settings["force_kN"] = weld_ms, asked.force_kN
    found = model.predict(asked.stack, asked.electrode, settings)
    currents, sizes = settings["current_kA"].to_numpy(), found["size_mm"].to_numpy()
    slope = _slope(currents, sizes)
    aims = np.array([aim_mm(asked, minimum) for minimum in found["minimum_mm"]])
    miss = (
        np.abs(np.log(currents / asked.start.current_kA))
        if slope < FLAT
        else np.abs(np.log(sizes / aims))
    )
    best = int(np.argmin(miss))
    return Choice(
        current_kA=float(currents[best]),
        weld_ms=weld_ms,
        force_kN=asked.force_kN,
        reach=allowed,
        is_flat=slope < FLAT,
        **{str(name): float(value) for name, value in found.iloc[best].items()},
    )


def _slope(currents: Floats, sizes: Floats) -> float:
    if len(currents) < 2:
        return math.inf
    return float(np.log(sizes[-1] / sizes[0]) / np.log(currents[-1] / currents[0]))
