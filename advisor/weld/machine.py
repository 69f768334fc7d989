"""The squeeze-type spot welding machine: what it can do, and how its dials read."""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.errors import InputError, LimitError
from advisor.language import say
from advisor.units import Calibration
from advisor.weld.setting import CURRENT_STEP_KA, FORCE_STEP_KN, Setting

#: 330 daN is 3.3000000000000003 kN and must fit a machine of 3.3 kN. Choice of this project: far
#: below a step of any dial.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Machine:
    """Limits and calibration of one machine.

    Parameters
    ----------
    name : str
        What the shop calls it.
    largest_current_kA, smallest_current_kA : float
        Range of the weld current; the smallest where nobody says is a choice of this project,
        below every published start. [kA]
    largest_force_kN, smallest_force_kN : float
        Range of the electrode force; the smallest where nobody says is a choice of this project,
        below every published start. [kN]
    mains_hz : float
        Mains frequency: defines a weld cycle; 50 where nobody says is a choice of this project.
        [Hz]
    is_inverter : bool
        Inverter machines set the time in ms; others only in whole cycles.
    force_kN_per_bar : float or None
        Calibration where force is set by air pressure. [kN/bar]
    force_offset_kN : float
        Force of the fitted line at zero gauge pressure. [kN]
    """

    name: str
    largest_current_kA: float
    largest_force_kN: float
    mains_hz: float = 50.0
    is_inverter: bool = True
    smallest_current_kA: float = 2.0
    smallest_force_kN: float = 0.5
    force_kN_per_bar: float | None = None
    force_offset_kN: float = 0.0

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise InputError(say("the machine has no name; give it the name the shop calls it"))
        if not 0.3 <= self.smallest_current_kA < self.largest_current_kA <= 40:
            raise InputError(
                say(
                    "current range is {low:g} to {high:g} kA; the smallest must be below the "
                    "largest, within 0.3 to 40 kA",
                    low=self.smallest_current_kA,
                    high=self.largest_current_kA,
                )
            )
        if not 0.05 <= self.smallest_force_kN < self.largest_force_kN <= 20:
            raise InputError(
                say(
                    "force range is {low:g} to {high:g} kN; the smallest must be below the "
                    "largest, within 0.05 to 20 kN (500 daN = 5 kN)",
                    low=self.smallest_force_kN,
                    high=self.largest_force_kN,
                )
            )
        _ = self.calibration

    @property
    def calibration(self) -> Calibration:
        """What turns this machine's cycles and air pressures into ms and kN."""
        return Calibration(self.mains_hz, self.force_kN_per_bar, self.force_offset_kN)

    @property
    def time_step_ms(self) -> float:
        """Smallest step of the weld time: 10 ms with an inverter, else one cycle. [ms]."""
        return 10.0 if self.is_inverter else 1000.0 / self.mains_hz

    def problems(self, setting: Setting) -> list[str]:
        """Return what of a setting this machine cannot run, in sentences."""
        found = []
        current, force = setting.current_kA, setting.force_kN
        if not _within(current, self.smallest_current_kA, self.largest_current_kA):
            found.append(
                say(
                    "weld current is {current:g} kA; {machine} gives {low:g} to {high:g} kA",
                    current=current,
                    machine=self.name,
                    low=self.smallest_current_kA,
                    high=self.largest_current_kA,
                )
            )
        if not _within(force, self.smallest_force_kN, self.largest_force_kN):
            found.append(
                say(
                    "electrode force is {force:g} kN; {machine} gives {low:g} to {high:g} kN",
                    force=force,
                    machine=self.name,
                    low=self.smallest_force_kN,
                    high=self.largest_force_kN,
                )
            )
        if setting.pre_current_kA > self.largest_current_kA + _ROUNDING:
            found.append(
                say(
                    "pre-pulse current is {current:g} kA; {machine} gives at most {high:g} kA",
                    current=setting.pre_current_kA,
                    machine=self.name,
                    high=self.largest_current_kA,
                )
            )
        return found

    def check(self, setting: Setting) -> None:
        """Raise `LimitError` with every reason why this machine cannot run the setting."""
        found = self.problems(setting)
        if found:
            raise LimitError(
                say(
                    "{problems}: correct the number or choose another machine",
                    problems="; ".join(found),
                )
            )

    def round_current(self, current_kA: float) -> float:
        """Return the nearest current that can be dialled within the limits. [kA].

        Parameters
        ----------
        current_kA : float
            Current wished for. [kA]
        """
        return _to_step(
            current_kA, CURRENT_STEP_KA, self.smallest_current_kA, self.largest_current_kA
        )

    def round_force(self, force_kN: float) -> float:
        """Return the nearest force that can be dialled within the limits. [kN].

        Parameters
        ----------
        force_kN : float
            Force wished for. [kN]
        """
        return _to_step(force_kN, FORCE_STEP_KN, self.smallest_force_kN, self.largest_force_kN)

    def round_time(self, weld_ms: float) -> float:
        """Return the nearest weld time that can be dialled. [ms].

        Parameters
        ----------
        weld_ms : float
            Time wished for. [ms]
        """
        step = self.time_step_ms
        return round(max(1, round(weld_ms / step)) * step, 3)


def _within(value: float, low: float, high: float) -> bool:
    return low - _ROUNDING <= value <= high + _ROUNDING


def _to_step(value: float, step: float, low: float, high: float) -> float:
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    if first > last:
        return min(max(value, low), high)
    return round(min(max(round(value / step), first), last) * step, 6)
