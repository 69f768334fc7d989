"""What is read off calculated welds: figures side by side, and the window."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from advisor.heat.history import WeldHistory
from advisor.heat.parameters import Options
from advisor.teaching.lesson import Shown

#: Grid of the window: currents and times, and how finely each weld is calculated. Choice of this
#: project: calculated while a class waits.
CURRENTS, TIMES = 9, 6
_ROUGH = Options(fineness=0.5, steps=60, frames=2)
_SPAN = 0.35


@dataclass(frozen=True)
class Figures:
    """One interface of one weld.

    Parameters
    ----------
    size_mm, minimum_mm : float
        Diameter of the melt, and 4√t of the thinner sheet. [mm]
    first_melt_ms : float or None
        When it first melted there; None for never. [ms]
    """

    size_mm: float
    minimum_mm: float
    first_melt_ms: float | None

    @property
    def is_large_enough(self) -> bool:
        """Whether the size reaches the minimum."""
        return self.size_mm >= self.minimum_mm


def figures(shown: Shown, history: WeldHistory) -> list[Figures]:
    """Return the figures of each interface, top to bottom."""
    found = []
    for number, (size, minimum) in enumerate(
        zip(history.diameters_mm, shown.minima_mm, strict=True)
    ):
        melted = np.flatnonzero(history.nugget_mm[:, number] > 0)
        first = float(history.times_ms[melted[0]]) if melted.size else None
        found.append(Figures(size, minimum, first))
    return found


@dataclass(frozen=True)
class Cell:
    """One weld of the window.

    Parameters
    ----------
    current_kA, weld_ms : float
        What is dialled. [kA], [ms]
    size_mm : float
        Of the interface that is shortest of its minimum. [mm]
    is_large_enough, throws_out : bool
        Whether every interface reaches its minimum, and whether metal is thrown out.
    """

    current_kA: float
    weld_ms: float
    size_mm: float
    is_large_enough: bool
    throws_out: bool


def window(shown: Shown, progress: Callable[[float], None] | None = None) -> list[Cell]:
    """Return what becomes of a stack over current and time, at its force and face.

    Parameters
    ----------
    shown : Shown
        Its setting is the middle.
    progress : callable, optional
        Is told which share is done.
    """
    currents, times = axes(shown)
    places = [(current, time) for time in times for current in currents]
    found = []
    for done, (current, time) in enumerate(places):
        if progress:
            progress(done / len(places))
        found.append(_cell(shown, float(current), float(time)))
    return found


@dataclass(frozen=True)
class Room:
    """What one weld time leaves between too small and expulsion.

    Parameters
    ----------
    weld_ms : float
        The weld time. [ms]
    lowest_kA, highest_kA : float or None
        Least and largest current, without a gap between them, at which every interface is large
        enough; all of them below `out_kA`. None where there is none. [kA]
    out_kA : float or None
        Least current that throws metal out; None where none of those tried does. [kA]
    """

    weld_ms: float
    lowest_kA: float | None
    highest_kA: float | None
    out_kA: float | None


def rooms(cells: Sequence[Cell]) -> list[Room]:
    """Return what each weld time of a window leaves, shortest first."""
    times = sorted({each.weld_ms for each in cells})
    return [_room(time, [each for each in cells if each.weld_ms == time]) for time in times]


def _room(weld_ms: float, cells: Sequence[Cell]) -> Room:
    row = sorted(cells, key=lambda each: each.current_kA)
    whole = itertools.takewhile(lambda each: not each.throws_out, row)
    after = itertools.dropwhile(lambda each: not each.is_large_enough, whole)
    run = itertools.takewhile(lambda each: each.is_large_enough, after)
    sound = [each.current_kA for each in run]
    out = next((each.current_kA for each in row if each.throws_out), None)
    return Room(weld_ms, sound[0] if sound else None, sound[-1] if sound else None, out)


def axes(shown: Shown) -> tuple[np.ndarray, np.ndarray]:
    """Return the currents [kA] and times [ms] of a window."""
    around = (1 - _SPAN, 1 + _SPAN)
    currents = shown.setting.current_kA * np.linspace(*around, CURRENTS)
    times = shown.setting.weld_ms * np.geomspace(0.5, 1.8, TIMES)
    return np.minimum(currents, 40.0), np.clip(times, 20.0, 3000.0)


def _cell(shown: Shown, current_kA: float, weld_ms: float) -> Cell:
    setting = replace(
        shown.setting, current_kA=current_kA, weld_ms=weld_ms, pulses=1, hold_ms=0.0, pre_ms=0.0
    )
    tried = replace(shown, setting=setting)
    history = tried.run(_ROUGH)
    each = figures(tried, history)
    shortest = min(each, key=lambda one: one.size_mm / one.minimum_mm)
    enough = all(one.is_large_enough for one in each)
    return Cell(current_kA, weld_ms, shortest.size_mm, enough, history.expulsion is not None)


def growth(names: Sequence[str], welds: Sequence[WeldHistory]) -> list[dict[str, float | str]]:
    """Return size against time, one row a moment and interface.

    Parameters
    ----------
    names : sequence of str
        Of the welds.
    welds : sequence of WeldHistory
        The welds.

    Returns
    -------
    list of dict
        ``weld``, ``interface`` (from 1 on), ``time_ms``, ``size_mm``, ``resistance_uohm``.
    """
    rows: list[dict[str, float | str]] = []
    for name, weld in zip(names, welds, strict=True):
        for row in _moments(len(weld.times_ms)):
            for interface, size in enumerate(weld.nugget_mm[row]):
                rows.append(
                    {
                        "weld": name,
                        "interface": interface + 1,
                        "time_ms": float(weld.times_ms[row]),
                        "size_mm": float(size),
                        "resistance_uohm": float(weld.resistance_uohm[row]),
                    }
                )
    return rows


def _moments(count: int) -> list[int]:
    """Return at most about 80 rows, close together at first, where the contact changes fast."""
    close = range(min(20, count))
    return sorted({*close, *range(0, count, max(1, count // 50)), count - 1})
