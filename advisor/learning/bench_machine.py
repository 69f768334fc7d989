"""A virtual machine to practise on: from a number, a kind and a stack always the same machine.

Everything in it is invented. It follows the law of `advisor.learning.invented_machine`, so what it
hides is not what the models of the advice assume. Weld number n at a setting comes out the same
whenever it is asked for, so a page or a server that starts anew shows the same coupons.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy.special import ndtr

from advisor.coupons.coupon import InterfaceResult
from advisor.coupons.rules import JudgingRules, ShopRules
from advisor.errors import InputError, LimitError
from advisor.language import say
from advisor.learning.invented_machine import HEAT_SCATTER, Floats, Law, Scenario
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.published import PublishedStart, published_start
from advisor.weld.setting import Setting
from advisor.weld.stack import Stack

#: What the virtual machine is called.
MACHINE = "Practice gun"
#: A machine is told by a number up to here. Choice of this project: a number that can be called out
#: in class.
MOST_SEED = 999_999
#: Size over √t below which nothing is fused, all is sheared, a small button stands. Invented, like
#: the machine. [mm^0.5]
_FUSED, _SHEARED, _SMALL = 1.5, 2.6, 3.3
#: Share of full-sized buttons that tear within the thickness, from this thinner sheet on. Invented,
#: like the machine. [mm]
_TORN_SHARE, _TORN_FROM_MM = 0.12, 0.9
#: Spread of how far a button is off round, and the most, as shares of its size.
_OFF_ROUND, _MOST_OFF_ROUND = 0.04, 0.15
#: Part of the published current and time that the window is shown over, and points a side.
_CURRENTS, _TIMES = (0.65, 1.5), (0.5, 2.0)
#: Nodes of the average over what differs from weld to weld.
_NODES = 21


@dataclass(frozen=True)
class Torn:
    """One interface of a peeled coupon.

    Parameters
    ----------
    result : InterfaceResult
        What a calliper and the eye would find, to 0.1 mm.
    look : int
        Number that the ragged edge of its drawing is made from.
    """

    result: InterfaceResult
    look: int


@dataclass(frozen=True)
class Peeled:
    """A coupon that was welded and peeled on the virtual machine.

    Parameters
    ----------
    number : int
        Which weld of the machine it was, from 1.
    setting : Setting
        What was dialled.
    torn : tuple of Torn
        One an interface, in the stack's order.
    expulsion : bool
        Whether metal was thrown out.
    """

    number: int
    setting: Setting
    torn: tuple[Torn, ...]
    expulsion: bool

    @property
    def results(self) -> tuple[InterfaceResult, ...]:
        """What a calliper and the eye would find at each interface."""
        return tuple(each.result for each in self.torn)


@dataclass(frozen=True)
class BenchMachine:
    """One virtual machine with new caps, and one stack to weld.

    Parameters
    ----------
    seed : int
        Number of the machine, 0 to 999,999: the same number is the same machine.
    kind : Scenario
        What kind of machine it is.
    stack : Stack
        What is welded.

    Raises
    ------
    InputError
        A number that no machine has.
    """

    seed: int
    kind: Scenario
    stack: Stack

    def __post_init__(self) -> None:
        if not 0 <= self.seed <= MOST_SEED:
            raise InputError(
                say(
                    "no virtual machine has number {seed}; give 0 to {most:,}",
                    seed=self.seed,
                    most=MOST_SEED,
                )
            )

    @property
    def machine(self) -> Machine:
        """Limits and dials, as they are entered in a log."""
        return Machine(MACHINE, 18.0, 6.0, smallest_current_kA=3.0, smallest_force_kN=1.0)

    @cached_property
    def start(self) -> PublishedStart:
        """The published start for the stack."""
        return published_start(self.stack, ShopRules().bare_schedule)

    @property
    def caps(self) -> Electrode:
        """Caps that are fitted new."""
        return Electrode(CapShape.DOME, self.start.face_mm)

    @cached_property
    def _law(self) -> Law:
        return Law.drawn(self.kind, self.stack, self.start, np.random.default_rng([self.seed, 0]))

    def dialled(self, setting: Setting) -> Setting:
        """Return a setting as the dials can take it.

        Parameters
        ----------
        setting : Setting
            What is wished for.

        Raises
        ------
        LimitError
            The machine cannot run it; the text says why.
        """
        machine = self.machine
        machine.check(setting)
        if setting.pulses > 1 or setting.pre_ms:
            raise LimitError(
                say(
                    "the virtual machine gives one pulse and no pre-pulse; {pulses} pulses with "
                    "{pre:g} ms before them were asked for: set 1 pulse, 0 before it",
                    pulses=setting.pulses,
                    pre=setting.pre_ms,
                )
            )
        return Setting(
            machine.round_current(setting.current_kA),
            machine.round_time(setting.weld_ms),
            machine.round_force(setting.force_kN),
            setting.squeeze_ms,
            setting.hold_ms,
        )

    def weld(self, number: int, setting: Setting) -> Peeled:
        """Weld a coupon and peel it; the same number and setting give the same coupon.

        Parameters
        ----------
        number : int
            Which weld of the machine it is, from 1; those before it have worn the caps.
        setting : Setting
            What is dialled; it is welded as the dials can take it.

        Raises
        ------
        LimitError
            The machine cannot run it; the text says why.
        """
        setting = self.dialled(setting)
        rng = np.random.default_rng([self.seed, number, *_steps(setting)])
        sizes, expelled = self._law.outcomes(setting, number - 1, 1, rng)
        torn = tuple(
            _torn(float(size), thin, rng)
            for size, thin in zip(sizes[:, 0], self._law.thin_mm, strict=True)
        )
        return Peeled(number, setting, torn, bool(expelled[0]))

    def true_chance(self, setting: Setting, judging: JudgingRules, welds_before: int = 0) -> float:
        """Return the true chance of a sound weld: large enough everywhere, nothing thrown out.

        Parameters
        ----------
        setting : Setting
            What is dialled.
        judging : JudgingRules
            Whose smallest size counts.
        welds_before : int
            Welds that the caps have made.
        """
        at = (setting.current_kA, setting.weld_ms, setting.force_kN)
        return float(self._chances(*at, judging, welds_before))

    def true_window(
        self,
        force_kN: float,
        judging: JudgingRules,
        welds_before: int = 0,
        shape: tuple[int, int] = (24, 16),
    ) -> pd.DataFrame:
        """Return the true chance of a sound weld over current and time.

        Parameters
        ----------
        force_kN : float
            Electrode force that is held. [kN]
        judging : JudgingRules
            Whose smallest size counts.
        welds_before : int
            Welds that the caps have made.
        shape : tuple of int
            Number of currents and of times.

        Returns
        -------
        DataFrame of shape (currents · times, 3)
            ``current_kA``, ``weld_ms`` and ``chance_sound`` (0 to 1) on an even grid round the
            published start, within the machine's limits.
        """
        start, limits = self.start, self.machine
        low, high = (share * start.current_kA for share in _CURRENTS)
        low, high = max(low, limits.smallest_current_kA), min(high, limits.largest_current_kA)
        current = np.linspace(low, high, shape[0])
        weld = np.linspace(_TIMES[0] * start.weld_ms, _TIMES[1] * start.weld_ms, shape[1])
        across, up = (each.ravel() for each in np.meshgrid(current, weld))
        chance = self._chances(across, up, force_kN, judging, welds_before)
        return pd.DataFrame({"current_kA": across, "weld_ms": up, "chance_sound": chance})

    def _chances(
        self,
        current_kA: ArrayLike,
        weld_ms: ArrayLike,
        force_kN: float,
        judging: JudgingRules,
        welds_before: int,
    ) -> Floats:
        """Average over the heat's scatter; at one heat the interfaces are independent."""
        law, (nodes, weights) = self._law, np.polynomial.hermite_e.hermegauss(_NODES)
        heat = law.heat(current_kA, weld_ms, force_kN) * law.worn(welds_before)
        heat = heat[..., None] * np.exp(HEAT_SCATTER * nodes)
        kept = ndtr(-np.log(heat / law.edge_at(force_kN)) / law.edge_width)
        minimum = [judging.size.minimum_mm(self.stack, i) for i in range(len(law.thin_mm))]
        size = np.maximum(law.size_mm(heat), 1e-6)
        least = np.reshape(minimum, (-1,) + (1,) * heat.ndim)
        reached = ndtr(np.log(size / least) / self.kind.scatter).prod(axis=0)
        found: Floats = (reached * kept) @ (weights / weights.sum())
        return found


def _steps(setting: Setting) -> tuple[int, int, int]:
    """Return a dialled setting in whole steps, which repeat exactly."""
    return (
        round(10 * setting.current_kA),
        round(setting.weld_ms),
        round(10 * setting.force_kN),
    )


def _torn(size_mm: float, thin_mm: float, rng: np.random.Generator) -> Torn:
    """Return what is found at an interface whose weld has a size."""
    share = float(np.clip(abs(rng.normal(0, _OFF_ROUND)), 0, _MOST_OFF_ROUND))
    tears, look = rng.random() < _TORN_SHARE, int(rng.integers(1_000_000))
    failure = _failure(size_mm / np.sqrt(thin_mm), tears=tears and thin_mm >= _TORN_FROM_MM)
    if failure is FailureType.NO_FUSION:
        return Torn(InterfaceResult(failure=failure), look)
    smallest, largest = (round(size_mm * (1 + sign * share), 1) for sign in (-1, 1))
    return Torn(InterfaceResult(smallest, largest, failure), look)


def _failure(root_size: float, *, tears: bool) -> FailureType:
    if root_size < _FUSED:
        return FailureType.NO_FUSION
    if root_size < _SHEARED:
        return FailureType.INTERFACE
    if root_size < _SMALL:
        return FailureType.INTERFACE_WITH_BUTTON
    return FailureType.PART_BUTTON if tears else FailureType.BUTTON
