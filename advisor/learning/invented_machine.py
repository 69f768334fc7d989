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
from numpy.typing import ArrayLike, NDArray

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
#: Smallest size that leaves anything to measure, as a factor on √t. Invented. [mm^0.5]
_LEAST_ROOT = 1.5
#: Scatter of the heat from weld to weld, on a log scale. Invented.
HEAT_SCATTER = 0.015
_PASTE = Bond("Invented epoxy", AdhesiveState.WET)


def _stack(*thicknesses_mm: float, surface: Surface, bond: Bond | None = None) -> Stack:
    sheets = tuple(Sheet(t, upper=surface, lower=surface) for t in thicknesses_mm)
    return Stack(sheets, (bond or Bond(),) * (len(sheets) - 1))


#: What the shops of the simulation weld. Invented.
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
    """A kind of machine, by how it differs from what the handbooks say (all invented).

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


#: Taken in turn, so every run holds as many of each. Invented.
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


Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Law:
    """What one invented machine does with one stack; it is hidden from whoever welds.

    Parameters
    ----------
    scenario : Scenario
        What kind of machine it is.
    stack : Stack
        What is welded, with caps of the published face.
    start : PublishedStart
        Published start, to which heat is relative.
    dial : float
        Heat that arises over heat dialled.
    onset, width : float
        Heat at which fusion starts, and how slowly size grows beyond it.
    largest : float
        Size over √t that no heat exceeds. [mm^0.5]
    edge, edge_width : float
        Heat at which every second weld throws metal out, and how sharp that edge is.
    shrunk : float
        Size of a weld that threw metal out, over its size without.
    first_worn : float
        Welds that the caps had when the machine was found.
    wear : float
        How much a weld widens the face, as a share of it.
    """

    scenario: Scenario
    stack: Stack
    start: PublishedStart
    dial: float
    onset: float
    width: float
    largest: float
    edge: float
    edge_width: float
    shrunk: float
    first_worn: float
    wear: float

    @classmethod
    def drawn(
        cls, kind: Scenario, stack: Stack, start: PublishedStart, draw: np.random.Generator
    ) -> Law:
        """Draw one machine of a kind.

        Parameters
        ----------
        kind : Scenario
            The kind.
        stack : Stack
            What is welded.
        start : PublishedStart
            Its published start.
        draw : Generator
            Source of everything that differs between machines.
        """
        dial = kind.dial * np.exp(draw.normal(0, kind.dial_sd))
        fit_up = np.exp(draw.normal(0, 0.04))
        onset = kind.onset + draw.uniform(-0.04, 0.04)
        largest = draw.uniform(5.7, 6.5)
        at_start = min(draw.normal(kind.at_start, 0.2), 0.95 * largest)
        # From size(1) = largest · (1 − exp(−(1 − onset) / width)).
        width = -(1 - onset) / np.log(1 - at_start / largest)
        edge = kind.edge * np.exp(draw.normal(0, 0.04))
        sharpness, shrunk = draw.uniform(0.015, 0.035), draw.uniform(0.8, 0.95)
        worn, wear = float(draw.integers(0, 150)), draw.uniform(0.0, kind.wear)
        heat = (dial * fit_up, onset, width, largest)
        return cls(kind, stack, start, *heat, edge, sharpness, shrunk, worn, wear)

    @property
    def thin_mm(self) -> list[float]:
        """Thickness of the thinner sheet at each interface. [mm]."""
        return [interface.thinner_mm for interface in self.stack.interfaces]

    def heat(self, current_kA: ArrayLike, weld_ms: ArrayLike, force_kN: ArrayLike) -> Floats:
        """Return the heat with new caps, over that of the published start.

        Parameters
        ----------
        current_kA, weld_ms, force_kN : array_like
            What is dialled; they broadcast. [kA], [ms], [kN]
        """
        current, weld, force = map(np.asarray, (current_kA, weld_ms, force_kN))
        heat: Floats = (
            self.dial
            * (current / self.start.current_kA) ** self.scenario.answer
            * (weld / self.start.weld_ms) ** 0.3
            * (force / self.start.force_kN) ** -0.25
        )
        return heat

    def worn(self, welds: float) -> float:
        """Return what is left of the heat once the caps have made some welds."""
        return float((1 + self.wear * welds) ** -0.6)

    def edge_at(self, force_kN: ArrayLike) -> Floats:
        """Return the heat at which every second weld throws metal out.

        Parameters
        ----------
        force_kN : array_like
            Electrode force. [kN]
        """
        found: Floats = self.edge * (np.asarray(force_kN) / self.start.force_kN) ** 0.4
        return found

    def size_mm(self, heat: Floats) -> Floats:
        """Return the mean size at each interface, one axis in front. [mm].

        Parameters
        ----------
        heat : ndarray
            Heat of the weld.
        """
        fused = np.maximum(0, 1 - np.exp(-(heat - self.onset) / self.width))
        thin = np.sqrt(self.thin_mm).reshape((-1,) + (1,) * np.ndim(heat))
        found: Floats = self.largest * thin * fused
        return found

    def outcomes(
        self, setting: Setting, worn_welds: float, welds: int, rng: np.random.Generator
    ) -> tuple[Floats, NDArray[np.bool_]]:
        """Weld many times with caps that stay as they are.

        Parameters
        ----------
        setting : Setting
            What is dialled.
        worn_welds : float
            Welds that the caps have made.
        welds : int
            How many welds.
        rng : Generator
            Source of what differs between welds.

        Returns
        -------
        sizes : ndarray of shape (n_interfaces, welds)
            Size at each interface. [mm]
        expelled : ndarray of shape (welds,)
            Who threw metal out.
        """
        dialled = self.heat(setting.current_kA, setting.weld_ms, setting.force_kN)
        heat = dialled * self.worn(worn_welds) * np.exp(rng.normal(0, HEAT_SCATTER, welds))
        edge = self.edge_at(setting.force_kN)
        expelled = rng.normal(0, self.edge_width, welds) < np.log(heat / edge)
        scatter = rng.normal(0, self.scenario.scatter, (len(self.thin_mm), welds))
        size = self.size_mm(heat) * np.exp(scatter)
        return np.where(expelled, self.shrunk, 1.0) * size, expelled


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
        self.start: PublishedStart = published_start(self.stack, self.rules.bare_schedule)
        self.machine = Machine(
            "Invented", _STRONG_KA, _STRONG_KN, smallest_current_kA=2.0, smallest_force_kN=0.5
        )
        self.electrode = Electrode(CapShape.DOME, self.start.face_mm)
        self._law = Law.drawn(self.scenario, self.stack, self.start, self.rng)
        self._worn_welds = self._law.first_worn

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
        return self._law.thin_mm

    def _outcomes(self, setting: Setting, welds: int) -> tuple[Floats, NDArray[np.bool_]]:
        """Return sizes [mm] of shape (n_interfaces, welds), and who threw metal out."""
        return self._law.outcomes(setting, self._worn_welds, welds, self.rng)


def _result(size_mm: float, thin_mm: float) -> InterfaceResult:
    if size_mm < _LEAST_ROOT * np.sqrt(thin_mm):
        return InterfaceResult(failure=FailureType.NO_FUSION)
    read = round(float(size_mm), 1)  # to 0.1 mm, as a caliper is read on a torn button
    return InterfaceResult(read, read, FailureType.BUTTON)
