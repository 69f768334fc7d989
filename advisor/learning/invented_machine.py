"""Invented machines to try the advice on. Every number here is made up; none is a measurement.

The law is deliberately not the one the models fit, which is a line in logarithms and a logistic
curve. Here heat grows with current, time and the inverse of force and face; below a threshold
nothing fuses; above it size saturates like 1 − exp; past an edge metal is thrown out and the weld
shrinks. What flows is not what is dialled, caps differ and wear, and no two welds are alike.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.coupons.verdict import judge
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.published import PublishedStart, published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

_FIRST = datetime(2026, 1, 5, 8, tzinfo=UTC)
_STRONG_KA, _STRONG_KN = 30.0, 9.0
#: Smallest size that leaves anything to measure, as a factor on √t. [mm^0.5]
_LEAST_ROOT = 1.5
_PASTE = Bond("Invented epoxy", AdhesiveState.WET)


def _stack(*thicknesses_mm: float, surface: Surface, bond: Bond | None = None) -> Stack:
    sheets = tuple(Sheet(t, upper=surface, lower=surface) for t in thicknesses_mm)
    return Stack(sheets, (bond or Bond(),) * (len(sheets) - 1))


#: What the shops of the simulation weld.
STACKS: tuple[Stack, ...] = (
    _stack(0.8, 0.8, surface=Surface.BARE),
    _stack(1.2, 1.0, surface=Surface.GROUND_BARE),
    _stack(1.5, 1.5, surface=Surface.BARE),
    _stack(0.8, 1.2, 1.0, surface=Surface.GROUND_BARE),
    _stack(1.2, 1.2, surface=Surface.GROUND_BARE, bond=_PASTE),
    _stack(0.8, 1.0, surface=Surface.GALVANNEALED),
    _stack(0.7, 0.7, surface=Surface.ELECTRO_ZINC),
    _stack(1.2, 1.2, surface=Surface.HOT_DIP_ZINC),
)


@dataclass(frozen=True)
class Scenario:
    """A kind of machine, by how it differs from what the handbooks say.

    Parameters
    ----------
    name : str
        What the report calls it.
    dial : float
        Current that flows over current dialled, before the machine's own error.
    dial_sd : float
        Spread of that ratio between machines, on a log scale.
    onset : float
        Heat at which fusion starts, over the heat of the published start.
    at_start : float
        Size over √t at the heat of the published start. [mm^0.5]
    edge : float
        Heat at which every second weld throws metal out.
    scatter : float
        Weld-to-weld scatter of the size, on a log scale.
    answer : float
        Power of the current ratio in the heat; below 1 the machine hardly answers its dial.
    wear : float
        Most that a weld widens the face, as a share of it.
    """

    name: str
    dial: float = 1.0
    dial_sd: float = 0.06
    onset: float = 0.68
    at_start: float = 5.0
    edge: float = 1.2
    scatter: float = 0.075
    answer: float = 1.0
    wear: float = 2e-4


#: Taken in turn, so every run holds as many of each.
SCENARIOS: tuple[Scenario, ...] = (
    Scenario("by the handbook"),
    Scenario("dial reads 12 % high", dial=0.88),
    Scenario("dial reads 10 % low", dial=1.1),
    Scenario("narrow window", onset=0.74, edge=1.12),
    Scenario("late and slow", onset=0.6, at_start=4.6, edge=1.3),
    Scenario("large scatter", scatter=0.11),
    Scenario("hardly answers current", answer=0.4),
    Scenario("worn caps", wear=1e-3),
)


@dataclass
class InventedMachine:
    """One machine with one stack to weld; it keeps the truth to itself.

    Parameters
    ----------
    scenario : Scenario
        What kind of machine it is.
    stack : Stack
        What is welded.
    rules : ShopRules
        Rules its coupons are judged by.
    rng : Generator
        Source of everything that differs between machines and between welds.
    """

    scenario: Scenario
    stack: Stack
    rules: ShopRules
    rng: np.random.Generator
    coupons: list[LoggedCoupon] = field(default_factory=list)

    def __post_init__(self) -> None:
        draw, kind = self.rng, self.scenario
        self.start: PublishedStart = published_start(self.stack, self.rules.bare_schedule)
        self.machine = Machine(
            "Invented", _STRONG_KA, _STRONG_KN, smallest_current_kA=2.0, smallest_force_kN=0.5
        )
        self.electrode = Electrode(CapShape.DOME, self.start.face_mm)
        self._dial = kind.dial * np.exp(draw.normal(0, kind.dial_sd))
        self._fit_up = np.exp(draw.normal(0, 0.04))
        self._onset = kind.onset + draw.uniform(-0.04, 0.04)
        self._largest = draw.uniform(5.7, 6.5)
        at_start = min(draw.normal(kind.at_start, 0.2), 0.95 * self._largest)
        # From size(1) = largest · (1 − exp(−(1 − onset) / width)).
        self._width = -(1 - self._onset) / np.log(1 - at_start / self._largest)
        self._edge = kind.edge * np.exp(draw.normal(0, 0.04))
        self._edge_width = draw.uniform(0.015, 0.035)
        self._shrunk = draw.uniform(0.8, 0.95)
        self._worn_welds = float(draw.integers(0, 150))
        self._wear = draw.uniform(0.0, kind.wear)

    def weld(self, setting: Setting) -> LoggedCoupon:
        """Weld a coupon, test it and log it.

        Parameters
        ----------
        setting : Setting
            What is dialled.

        Returns
        -------
        LoggedCoupon
            The coupon, judged.
        """
        sizes, expelled = self._outcomes(setting, 1)
        number = len(self.coupons) + 1
        results = tuple(_result(size, t) for size, t in zip(sizes[:, 0], self._thin, strict=True))
        coupon = Coupon(
            made_at=_FIRST + timedelta(minutes=10 * number),
            welder="Nobody",
            machine=self.machine.name,
            electrode=self.electrode,
            stack=self.stack,
            setting=setting,
            results=results,
            expulsion=bool(expelled[0]),
            welds_since_dressing=int(self._worn_welds),
        )
        logged = LoggedCoupon(number, coupon, judge(coupon, self.rules.judging))
        self.coupons.append(logged)
        self._worn_welds += 1
        return logged

    def true_chance(self, setting: Setting, welds: int = 2000) -> float:
        """Return the share of sound welds at a setting, by welding many without wear.

        Parameters
        ----------
        setting : Setting
            What is dialled.
        welds : int
            How many to weld; the share is good to 0.011 with 2000 at one half.
        """
        sizes, expelled = self._outcomes(setting, welds)
        rule = self.rules.judging.size
        minimum = [rule.minimum_mm(self.stack, i) for i in range(len(sizes))]
        return float(np.mean(np.all(sizes >= np.array(minimum)[:, None], axis=0) & ~expelled))

    @property
    def _thin(self) -> list[float]:
        return [interface.thinner_mm for interface in self.stack.interfaces]

    def _outcomes(self, setting: Setting, welds: int) -> tuple[np.ndarray, np.ndarray]:
        """Return sizes [mm] of shape (n_interfaces, welds), and who threw metal out."""
        heat = self._heat(setting) * np.exp(self.rng.normal(0, 0.015, welds))
        edge = self._edge * (setting.force_kN / self.start.force_kN) ** 0.4
        expelled = self.rng.normal(0, self._edge_width, welds) < np.log(heat / edge)
        fused = np.maximum(0, 1 - np.exp(-(heat - self._onset) / self._width))
        scatter = self.rng.normal(0, self.scenario.scatter, (len(self._thin), welds))
        size = self._largest * np.sqrt(self._thin)[:, None] * fused * np.exp(scatter)
        return np.where(expelled, self._shrunk, 1.0) * size, expelled

    def _heat(self, setting: Setting) -> float:
        start = self.start
        face = self.electrode.face_mm / start.face_mm * (1 + self._wear * self._worn_welds)
        return float(
            self._dial
            * self._fit_up
            * (setting.current_kA / start.current_kA) ** self.scenario.answer
            * (setting.weld_ms / start.weld_ms) ** 0.3
            * (setting.force_kN / start.force_kN) ** -0.25
            * face**-0.6
        )


def _result(size_mm: float, thin_mm: float) -> InterfaceResult:
    if size_mm < _LEAST_ROOT * np.sqrt(thin_mm):
        return InterfaceResult(failure=FailureType.NO_FUSION)
    read = round(float(size_mm), 1)  # to 0.1 mm, as a caliper is read on a torn button
    return InterfaceResult(read, read, FailureType.BUTTON)
