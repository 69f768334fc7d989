"""The coupons of the invented shop: who welded what, when, and what went wrong.

Which coupons fail is written down below one by one, so that the shop looks the same every time;
only sizes scatter by chance, from a fixed seed. The growth law is invented and deliberately not
the one the model fits: size rises with current and saturates, and metal is thrown out above an
upper edge. Nothing of this teaches welding.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

import numpy as np

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.published import published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

SEED = 5
#: Names behind the letters of `SERIES`; the last two have just begun.
WELDERS = {
    "I": "Ilka Brandvik",
    "T": "Tomas Reyes",
    "N": "Noor Adeyemi",
    "P": "Piet Hallas",
    "L": "Lenka Duras",
    "A": "Aron Wibe",
}
NORTH = Machine(
    "North bay inverter",
    largest_current_kA=13.0,
    largest_force_kN=5.0,
    mains_hz=50.0,
    is_inverter=True,
    smallest_force_kN=1.0,
    force_kN_per_bar=0.62,
    force_offset_kN=-0.1,
)
SOUTH = Machine(
    "South bay transformer",
    largest_current_kA=10.0,
    largest_force_kN=3.5,
    mains_hz=50.0,
    is_inverter=False,
)
EAST = Machine(
    "East bay inverter",
    largest_current_kA=11.5,
    largest_force_kN=4.5,
    mains_hz=50.0,
    is_inverter=True,
    smallest_force_kN=1.0,
)
MACHINES = (NORTH, SOUTH, EAST)
CAPS = {
    NORTH.name: Electrode(CapShape.DOME, 6.0),
    SOUTH.name: Electrode(CapShape.CONE, 5.0),
    EAST.name: Electrode(CapShape.DOME, 6.0),
}
#: Days ago on which new caps were fitted, and all on which caps were fitted or dressed. [days]
FITTED = {NORTH.name: (75, 41), SOUTH.name: (75, 40), EAST.name: (75,)}
DRESSED: dict[str, tuple[int, ...]] = {
    NORTH.name: (75, 70, 65, 60, 55, 50, 45, 41, 36, 31, 26, 21, 16, 11, 6),
    SOUTH.name: (75, 69, 63, 57, 51, 45, 40, 34, 28, 22, 16, 10, 4),
    EAST.name: (*range(75, 4, -5), 3),
}
#: Welds a day, on vehicles and coupons. [1/day]
_WELDS_A_DAY = {NORTH.name: 40, SOUTH.name: 38, EAST.name: 30}
#: Size above what the law gives, on fresh caps. [mm per root mm]
_ABOVE = {NORTH.name: 0.0, SOUTH.name: 0.45, EAST.name: 0.3}
#: The one machine whose caps wear: size lost with each weld. [mm per root mm]
_WEAR = {NORTH.name: 0.0, SOUTH.name: 0.004, EAST.name: 0.0}
#: The one machine that drifts: size lost by the newest day, and since how many days.
DRIFTING, _DRIFT, _DRIFT_DAYS = EAST.name, 0.7, 22.0
_SCATTER, _UNCOUNTED = 0.2, 0.12
SLOW, FAST = "Invented slow epoxy", "Invented fast epoxy"


def _stack(thicknesses_mm: tuple[float, ...], surface: Surface, *bonds: Bond) -> Stack:
    sheets = (Sheet(t, SteelFamily.LOW_CARBON, surface, surface) for t in thicknesses_mm)
    return Stack(tuple(sheets), bonds)


_NO, _WET = Bond(), Bond(SLOW, AdhesiveState.WET)
_BARE, _ZINC = Surface.GROUND_BARE, Surface.HOT_DIP_ZINC
PILLAR = _stack((1.2, 1.0), _BARE, _WET)
SILL = _stack((1.0, 0.8), _BARE, _NO)
QUARTER = _stack((0.8, 0.8), _BARE, Bond(FAST, AdhesiveState.WET))
THREE = _stack((0.8, 1.2, 1.0), _BARE, _WET, _NO)
ZINC = _stack((0.8, 0.8), _ZINC, _NO)
ROOF = _stack((0.7, 0.7), _ZINC, _NO)
FENDER = _stack((0.8, 0.8), _BARE, _NO)
DOOR = _stack((1.0, 1.0), _BARE, _NO)
HATCH = _stack((1.0, 0.8), _BARE, _WET)


@dataclass(frozen=True)
class Series:
    """Coupons of one job and stack on one machine.

    Parameters
    ----------
    machine : Machine
        The machine.
    stack : Stack
        What was welded.
    job : str
        Repair order.
    first_day, last_day : float
        How long ago the first and the last were welded. [days]
    heat : float
        Current over the published start.
    welds : str
        A coupon a word: the letter of its welder, and of what went wrong, if anything did. *s* too
        small, *x* metal thrown out, *u* uneven, *i* sheared, *n* no fusion, *e* edge weld; *c* a
        first try far too cold and *h* one far too hot.
    is_steady : bool
        Whether sizes do not scatter.
    """

    machine: Machine
    stack: Stack
    job: str
    first_day: float
    last_day: float
    heat: float
    welds: str
    is_steady: bool = False


SERIES = (
    Series(NORTH, SILL, "D-0969", 73, 70, 0.98, "Tc I I Ps I N I"),
    Series(NORTH, SILL, "D-0981", 62, 59, 1.01, "Tc I I P I T"),
    Series(NORTH, SILL, "D-0993", 51, 48, 0.99, "I I P I T I N"),
    Series(NORTH, SILL, "D-1004", 40, 37, 1.00, "Th T I Ps I I"),
    Series(NORTH, SILL, "D-1014", 34, 31.2, 1.02, "I I T P I N"),
    Series(NORTH, SILL, "D-1026", 19, 17, 0.98, "I P T"),
    Series(NORTH, SILL, "D-1034", 9, 6, 1.01, "Tc T I L I As I"),
    Series(NORTH, PILLAR, "D-0970", 72, 69, 0.99, "I N I T I I"),
    Series(NORTH, PILLAR, "D-0985", 59, 56, 1.00, "T I Px I P I N"),
    Series(NORTH, PILLAR, "D-0997", 47, 44, 1.01, "Ih I I T I P I"),
    Series(NORTH, PILLAR, "D-1009", 35, 32, 1.00, "I T I Ps T I N"),
    Series(NORTH, PILLAR, "D-1022", 22, 20, 0.98, "Tc T I P I Ps I I"),
    Series(NORTH, PILLAR, "D-1030", 13, 10, 1.02, "I T I P I N"),
    Series(NORTH, QUARTER, "D-0974", 70, 67, 1.02, "Th P I I I N"),
    Series(NORTH, QUARTER, "D-0988", 55, 52, 1.01, "I I P T I P I"),
    Series(NORTH, QUARTER, "D-1001", 43, 40, 0.99, "Ti T I I N I"),
    Series(NORTH, QUARTER, "D-1013", 28.9, 28.1, 1.03, "I I T I"),
    Series(NORTH, QUARTER, "D-1019", 25, 22, 1.00, "I Px P I T I N"),
    Series(NORTH, QUARTER, "D-1027", 16, 13, 0.98, "I T P I I N"),
    Series(NORTH, QUARTER, "D-1033", 8, 5, 1.01, "N I L I Ps N I"),
    Series(NORTH, THREE, "D-0973", 71, 67, 1.00, "N N Ns N N I N"),
    Series(NORTH, THREE, "D-0984", 60, 57, 1.01, "N N Ns N Is N N"),
    Series(NORTH, THREE, "D-0996", 48, 45, 1.00, "Nc N N N I Ni N"),
    Series(NORTH, THREE, "D-1008", 37, 34, 0.99, "N Nn I N N N I"),
    Series(NORTH, THREE, "D-1020", 25, 22, 1.02, "N N Nx T N Is N"),
    Series(NORTH, THREE, "D-1031", 15, 12, 1.01, "I N T N I Ns N N"),
    Series(SOUTH, ZINC, "D-0967", 73, 70, 1.00, "T T I P T Pi T"),
    Series(SOUTH, ZINC, "D-0980", 62, 58, 0.99, "Th T I P T I P T"),
    Series(SOUTH, ZINC, "D-0992", 50, 46, 1.01, "T I Pe T T N"),
    Series(SOUTH, ZINC, "D-1005", 38, 34, 1.00, "T T I Ps T I P"),
    Series(SOUTH, ZINC, "D-1018", 26, 22, 0.99, "Tc T Pu T I P T"),
    Series(SOUTH, ZINC, "D-1029", 14, 10, 1.00, "T I N P T T T I"),
    Series(SOUTH, ZINC, "D-1035", 7, 4, 1.01, "Ph T I T T"),
    Series(SOUTH, FENDER, "D-0971", 72, 68, 1.00, "T I P T I T N"),
    Series(SOUTH, FENDER, "D-0986", 58, 54, 1.01, "T T P I T Ps I"),
    Series(SOUTH, FENDER, "D-0999", 45, 41, 0.99, "I T Px T T I"),
    Series(SOUTH, FENDER, "D-1012", 34, 30.2, 1.00, "T I P P T I N"),
    Series(SOUTH, FENDER, "D-1024", 20, 16, 1.02, "Tc T I N"),
    Series(SOUTH, FENDER, "D-1036", 6, 3, 0.98, "Th T T T T"),
    Series(SOUTH, ROOF, "D-0975", 70, 66, 1.00, "T P I T Tu T"),
    Series(SOUTH, ROOF, "D-0990", 54, 50, 0.99, "I T P T I N T"),
    Series(SOUTH, ROOF, "D-1015", 30, 26, 1.01, "Ti T P I T T"),
    Series(SOUTH, ROOF, "D-1032", 12, 8, 1.00, "I T Px T I N P"),
    Series(SOUTH, ROOF, "D-1040", 4, 1.2, 1.01, "T I P T N T"),
    Series(EAST, DOOR, "D-0966", 73, 69, 1.00, "T T I P T I N"),
    Series(EAST, HATCH, "D-0976", 71, 67, 1.00, "T I Px T T I T"),
    Series(EAST, DOOR, "D-0979", 64, 60, 1.01, "Th T I T T Pe I"),
    Series(EAST, HATCH, "D-0983", 61, 57, 0.99, "I T T P I T"),
    Series(EAST, DOOR, "D-0989", 54, 50, 0.99, "T Tu I T P T I"),
    Series(EAST, HATCH, "D-0994", 50, 46, 1.01, "T I T P T I T"),
    Series(EAST, DOOR, "D-1002", 43, 39, 1.00, "T T I T Px I"),
    Series(EAST, HATCH, "D-1006", 39, 35, 1.00, "I T T I T N P"),
    Series(EAST, DOOR, "D-1011", 33, 29, 1.02, "T I T P T I T"),
    Series(EAST, HATCH, "D-1016", 29, 25, 0.99, "T T I P T I"),
    Series(EAST, DOOR, "D-1021", 23, 19, 1.00, "I T T I P T T"),
    Series(EAST, HATCH, "D-1025", 19, 15, 1.01, "T I T P T I"),
    Series(EAST, DOOR, "D-1028", 14, 10, 0.99, "T T I T P T"),
    Series(EAST, HATCH, "D-1034", 10, 6, 1.00, "T I T Ps T I T"),
    Series(EAST, DOOR, "D-1037", 7, 3, 1.01, "T I T T P I"),
    Series(EAST, HATCH, "D-1039", 4, 1, 1.00, "T I T T Ps I T"),
    # The newest coupons of the demo's joints, by which these are covered or still want one.
    Series(NORTH, QUARTER, "D-1038", 3.9, 3.1, 1.05, "I I I", is_steady=True),
    Series(NORTH, SILL, "D-1041", 2.9, 2.1, 1.05, "I I I", is_steady=True),
    Series(NORTH, PILLAR, "D-1041", 1.5, 1.5, 1.05, "I", is_steady=True),
)


def start_of_work(now: datetime, days_ago: int) -> datetime:
    """Return 8 o'clock (UTC) so many days before today."""
    return datetime.combine(now.astimezone(UTC).date(), time(8), UTC) - timedelta(days=days_ago)


def demo_coupons(now: datetime, seed: int = SEED) -> list[Coupon]:
    """Return all coupons of the shop, oldest first.

    Parameters
    ----------
    now : datetime
        Moment the shop is seen at; the newest coupon is of the day before.
    seed : int
        Of the scatter.
    """
    chance = np.random.default_rng(seed)
    made = [coupon for series in SERIES for coupon in _coupons(series, now, chance)]
    return sorted(made, key=lambda coupon: coupon.made_at)


def _moment(now: datetime, days_ago: float) -> datetime:
    """Return a moment in the eight hours of work of a day."""
    whole = math.floor(days_ago)
    into_work = timedelta(minutes=round(480 * (whole + 1 - days_ago)))
    return start_of_work(now, whole) + into_work


def _coupons(series: Series, now: datetime, chance: np.random.Generator) -> Iterator[Coupon]:
    welds = series.welds.split()
    for days_ago, word in zip(
        np.linspace(series.first_day, series.last_day, len(welds)), welds, strict=True
    ):
        yield _coupon(series, now, float(days_ago), word, chance)


def _coupon(
    series: Series, now: datetime, days_ago: float, word: str, chance: np.random.Generator
) -> Coupon:
    wrong, gun = word[1:], series.machine.name
    heat = {"c": 0.82, "h": 1.09}.get(wrong, series.heat)
    count = _welds_since_dressing(gun, days_ago)
    extra = _ABOVE[gun] - _WEAR[gun] * count - _drifted(gun, days_ago)
    results = tuple(
        _result(interface.thinner_mm, _value(heat, wrong, extra, series, chance), wrong, chance)
        for interface in series.stack.interfaces
    )
    is_counted = chance.random() > _UNCOUNTED or days_ago < 3
    return Coupon(
        made_at=_moment(now, days_ago),
        welder=WELDERS[word[0]],
        machine=gun,
        electrode=CAPS[gun],
        stack=series.stack,
        setting=_setting(series, heat),
        results=results,
        expulsion=wrong in ("x", "h"),
        edge_weld=wrong == "e",
        job=series.job,
        welds_since_dressing=count if is_counted else None,
    )


def _setting(series: Series, heat: float) -> Setting:
    start, machine = published_start(series.stack), series.machine
    return Setting(
        machine.round_current(min(heat * start.current_kA, machine.largest_current_kA)),
        machine.round_time(start.weld_ms),
        machine.round_force(min(start.force_kN, machine.largest_force_kN)),
        squeeze_ms=300.0,
        hold_ms=200.0,
    )


def _welds_since_dressing(machine_name: str, days_ago: float) -> int:
    whole = math.floor(days_ago)
    dressed = min(day for day in DRESSED[machine_name] if day >= whole)
    return 1 + round(_WELDS_A_DAY[machine_name] * (dressed + 1 - days_ago))


def _drifted(machine_name: str, days_ago: float) -> float:
    """Return what a machine has lost by drift. [mm per root mm]."""
    if machine_name != DRIFTING:
        return 0.0
    return _DRIFT * max(0.0, 1 - (days_ago - 1) / _DRIFT_DAYS)


def _value(
    heat: float, wrong: str, extra: float, series: Series, chance: np.random.Generator
) -> float:
    """Return size over root thickness. [mm per root mm]."""
    noise = float(chance.standard_normal())
    if wrong == "s":
        return 3.6 + 0.1 * max(-2.0, min(2.0, noise))
    saturating = 5.8 * (1 - math.exp(-4.5 * (heat - 0.62)))
    scatter = 0.1 if series.is_steady else _SCATTER * noise
    return saturating + extra + scatter - (0.4 if wrong in ("x", "h") else 0.0)


def _result(
    thinner_mm: float, value: float, wrong: str, chance: np.random.Generator
) -> InterfaceResult:
    size, uneven = value * math.sqrt(thinner_mm), abs(0.2 * float(chance.standard_normal()))
    if wrong == "n":
        return InterfaceResult(None, None, FailureType.NO_FUSION)
    if wrong == "u":
        uneven = 0.8 * size
    failure = FailureType.INTERFACE_WITH_BUTTON if value < 3.4 else FailureType.BUTTON
    if wrong == "i":
        failure = FailureType.INTERFACE
    return InterfaceResult(round(size - uneven / 2, 1), round(size + uneven / 2, 1), failure)
