"""An invented shop to look round in: every name, machine, product and number here is made up.

The growth law below is invented too, and is deliberately not the one the model fits: size rises
with current and saturates, metal is thrown out above an upper edge, and below a lower edge nothing
fuses. It serves to fill pages, not to teach welding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.store.base import Trust
from advisor.store.log import Log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

BY = "Demo"
WELDERS = ("Ilka Brandvik", "Tomas Reyes", "Noor Adeyemi", "Piet Hallas")
#: Set-point errors of the invented welders in per cent: why their pass rates differ. [%]
_CARE = {"Ilka Brandvik": 0.0, "Tomas Reyes": -3.5, "Noor Adeyemi": 1.0, "Piet Hallas": -6.0}
INVERTER = Machine(
    "North bay inverter",
    largest_current_kA=13.0,
    largest_force_kN=5.0,
    mains_hz=50.0,
    is_inverter=True,
    smallest_force_kN=1.0,
    force_kN_per_bar=0.62,
    force_offset_kN=-0.1,
)
TRANSFORMER = Machine(
    "South bay transformer",
    largest_current_kA=9.0,
    largest_force_kN=3.5,
    mains_hz=50.0,
    is_inverter=False,
)
SLOW, FAST = "Invented slow epoxy", "Invented fast epoxy"
_NOTE = "invented; times are common practice, no source"
_CAPS = {
    INVERTER.name: Electrode(CapShape.DOME, 6.0),
    TRANSFORMER.name: Electrode(CapShape.CONE, 5.0),
}


def _pair(thick: float, thin: float, surface: Surface, bond: Bond) -> Stack:
    sheets = tuple(Sheet(t, SteelFamily.LOW_CARBON, surface, surface) for t in (thick, thin))
    return Stack(sheets, (bond,))


_NO, _WET, _CURED = (
    Bond(),
    Bond(SLOW, AdhesiveState.WET),
    Bond(SLOW, AdhesiveState.CURED),
)
PILLAR = _pair(1.2, 1.0, Surface.GROUND_BARE, _WET)
SILL = _pair(1.0, 0.8, Surface.GROUND_BARE, _NO)
QUARTER = _pair(0.8, 0.8, Surface.GROUND_BARE, Bond(FAST, AdhesiveState.WET))
ZINC = _pair(0.8, 0.8, Surface.HOT_DIP_ZINC, _NO)
THREE = Stack(
    tuple(
        Sheet(t, SteelFamily.LOW_CARBON, Surface.GROUND_BARE, Surface.GROUND_BARE)
        for t in (0.8, 1.2, 1.0)
    ),
    (_WET, _NO),
)


def fill_demo(log: Log, now: datetime | None = None) -> None:
    """Fill an empty log with the invented shop.

    Parameters
    ----------
    log : Log
        An empty log; it is marked as a demo for good.
    now : datetime, optional
        Moment the shop is seen at; its records reach five weeks back.
    """
    now = now or datetime.now(UTC)
    log = log.used_by(Trust.OPERATOR)
    log.mark_demo(BY)
    for name in WELDERS:
        log.add_welder(name, BY)
    for machine in (INVERTER, TRANSFORMER):
        log.save_machine(machine, BY)
        log.fit_caps(machine.name, _CAPS[machine.name], now - timedelta(days=40), BY)
        log.dress(machine.name, now - timedelta(days=6), BY)
    log.save_adhesive(Adhesive(SLOW, Span(40, 50), Span(90, 120), Span(1440, 1440), note=_NOTE), BY)
    log.save_adhesive(Adhesive(FAST, Span(5, 8), Span(20, 30), Span(240, 360), note=_NOTE), BY)
    for joint in (
        Joint("Sill flange, outer", "D-1041", SILL, INVERTER.name, None, 24, 35.0),
        Joint(
            "Centre pillar to sill, after cure",
            "D-1041",
            replace(PILLAR, bonds=(_CURED,)),
            INVERTER.name,
            None,
            16,
            30.0,
        ),
        Joint("Quarter panel, wheel arch", "D-1038", QUARTER, INVERTER.name, None, 30, 30.0),
        Joint("Rear sill, three sheets", "D-1035", THREE, INVERTER.name, None, 12, 40.0),
        Joint("Floor seam", "D-1035", ZINC, TRANSFORMER.name, None, 20, 25.0),
        # Last, so that a bonded joint whose test is missing is what a visitor meets first.
        Joint("Centre pillar to sill", "D-1041", PILLAR, INVERTER.name, None, 16, 30.0),
    ):
        log.save_joint(joint, BY)
    log.import_coupons(_coupons(now), BY, now, origin="invented")


@dataclass(frozen=True)
class _Batch:
    """Coupons of one stack, spread over some days."""

    stack: Stack
    machine: Machine
    job: str
    count: int
    first_day: float
    last_day: float
    factor: float = 1.0


_BATCHES = (
    _Batch(SILL, INVERTER, "", 14, 35, 8, 1.0),
    _Batch(ZINC, TRANSFORMER, "", 12, 33, 4, 0.99),
    _Batch(PILLAR, INVERTER, "D-1022", 12, 30, 12, 0.99),
    _Batch(QUARTER, INVERTER, "D-1027", 10, 26, 10, 1.0),
    _Batch(THREE, INVERTER, "D-1031", 6, 20, 14, 1.0),
)
#: The newest coupons, chosen by hand so that the demo's joints show every state.
_PROOFS = (
    _Batch(SILL, INVERTER, "D-1041", 3, 1.2, 1.0, 1.05),
    _Batch(QUARTER, INVERTER, "D-1038", 3, 2.2, 2.0, 1.05),
    _Batch(PILLAR, INVERTER, "D-1041", 1, 0.3, 0.3, 1.05),
)


def _coupons(now: datetime) -> list[Coupon]:
    chance = np.random.default_rng(7)
    made = []
    for batch in _BATCHES:
        days = np.linspace(batch.first_day, batch.last_day, batch.count)
        for n, day in enumerate(days):
            welder = WELDERS[int(chance.integers(len(WELDERS)))]
            care = 1 + _CARE[welder] / 100 + 0.02 * float(chance.standard_normal())
            when = now - timedelta(days=float(day), minutes=13 * n)
            made.append(_coupon(batch, welder, when, batch.factor * care, chance))
    for batch in _PROOFS:
        for n, day in enumerate(np.linspace(batch.first_day, batch.last_day, batch.count)):
            when = now - timedelta(days=float(day), minutes=7 * n)
            coupon = _coupon(batch, WELDERS[0], when, batch.factor, None)
            made.append(coupon)
    return sorted((_at_work(coupon) for coupon in made), key=lambda coupon: coupon.made_at)


def _at_work(coupon: Coupon) -> Coupon:
    """Move a coupon into the working day before, 8 to 16 o'clock."""
    day = coupon.made_at - timedelta(days=1)
    return replace(coupon, made_at=day.replace(hour=8 + day.hour // 3))


def _coupon(
    batch: _Batch,
    welder: str,
    when: datetime,
    factor: float,
    chance: np.random.Generator | None,
) -> Coupon:
    start, machine = published_start(batch.stack), batch.machine
    setting = Setting(
        machine.round_current(min(factor * start.current_kA, machine.largest_current_kA)),
        machine.round_time(start.weld_ms),
        machine.round_force(min(start.force_kN, machine.largest_force_kN)),
        squeeze_ms=300.0,
        hold_ms=200.0,
    )
    heat = setting.current_kA / start.current_kA
    spits = chance is not None and heat > 1.02 and bool(chance.random() < 3 * (heat - 1.02))
    results = tuple(
        _result(interface.thinner_mm, heat, spits, chance) for interface in batch.stack.interfaces
    )
    return Coupon(
        made_at=when,
        welder=welder,
        machine=machine.name,
        electrode=_CAPS[machine.name],
        stack=batch.stack,
        setting=setting,
        results=results,
        expulsion=spits,
        job=batch.job,
        welds_since_dressing=None,
    )


def _result(
    thinner_mm: float, heat: float, spits: bool, chance: np.random.Generator | None
) -> InterfaceResult:
    scatter = 0.30 * float(chance.standard_normal()) if chance is not None else 0.1
    saturating = 5.6 * (1 - math.exp(-4.5 * (heat - 0.62)))
    size = saturating * math.sqrt(thinner_mm) + scatter - (0.5 if spits else 0.0)
    if size < 2.0:
        return InterfaceResult(None, None, FailureType.NO_FUSION)
    uneven = 0.2 if chance is None else abs(0.2 * float(chance.standard_normal()))
    small, large = round(size - uneven / 2, 1), round(size + uneven / 2, 1)
    poor = size < 3.4 * math.sqrt(thinner_mm)
    failure = FailureType.INTERFACE_WITH_BUTTON if poor else FailureType.BUTTON
    return InterfaceResult(small, large, failure)
