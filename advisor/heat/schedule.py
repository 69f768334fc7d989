"""A setting as stretches of constant current, and the time steps through them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from advisor.weld.setting import Setting

#: The first steps of a pulse are shorter, because films break down at once.
_SHORT = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
#: Without current a step may grow to so many times its first length.
_LONGEST = 6.0


@dataclass(frozen=True)
class Step:
    """One time step.

    Parameters
    ----------
    seconds : float
        Length, in s.
    current : float
        Current, in A.
    """

    seconds: float
    current: float


def stretches(setting: Setting) -> list[tuple[float, float]]:
    """Return (current in A, length in s) of pre-pulse, pulses, pauses and hold, in order."""
    found = []
    if setting.pre_ms > 0:
        found += [
            (setting.pre_current_kA * 1e3, setting.pre_ms / 1e3),
            (0.0, setting.pause_ms / 1e3),
        ]
    pulse = (setting.current_kA * 1e3, setting.weld_ms / setting.pulses / 1e3)
    for number in range(setting.pulses):
        found += [(0.0, setting.pause_ms / 1e3)] if number else []
        found.append(pulse)
    found.append((0.0, setting.hold_ms / 1e3))
    return [(current, seconds) for current, seconds in found if seconds > 0]


def time_steps(setting: Setting, steps: int) -> Iterator[Step]:
    """Yield the time steps of a setting.

    Parameters
    ----------
    setting : Setting
        What is dialled in.
    steps : int
        About how many steps while current flows.
    """
    usual = (setting.weld_ms + setting.pre_ms) / 1e3 / steps
    for current, seconds in stretches(setting):
        widths = _widths(seconds, usual) if current > 0 else _cooling(seconds, usual)
        for width in widths:
            yield Step(float(width), current)


def _widths(seconds: float, usual: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    full = max(1, round(seconds / usual - sum(_SHORT)))
    shape = np.concatenate((_SHORT, np.ones(full)))
    return np.asarray(shape * seconds / shape.sum())


def _cooling(seconds: float, usual: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    shape = np.minimum(1.1 ** np.arange(2000), _LONGEST)
    count = int(np.searchsorted(np.cumsum(shape) * usual, seconds)) + 1
    return np.asarray(shape[:count] * seconds / shape[:count].sum())
