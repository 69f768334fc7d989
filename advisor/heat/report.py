"""Print what the heat model makes of the published settings: ``python -m advisor.heat.report``.

Every row of ISO 14373:2015 Tables B.1 and B.2 at the middle of its bands: the size over √t, the
hottest place, the resistance late in the weld, expulsion. The contacts were fitted to Table B.1;
Table B.2, the unequal stack and the three sheets are predictions. Then the slopes of the logarithm
of the size, as `advisor.heat.slopes` has found them.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain
from math import sqrt

import numpy as np

from advisor.heat.cases import UNCOATED, ZINC, Case, published_cases, with_zinc
from advisor.heat.history import WeldHistory
from advisor.heat.parameters import Options
from advisor.heat.slopes import SLOPES_FILE, read_slopes
from advisor.heat.weld import simulate
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.published import Schedule, published_start
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, SteelFamily
from advisor.weld.stack import Stack

#: Measured growth of 1.2 mm dual-phase on 0.8 mm interstitial-free steel (open student data, read):
#: current in kA, diameter in mm.
MEASURED_GROWTH = ((5.0, 4.11), (5.5, 4.16), (6.0, 4.89), (6.5, 5.10), (7.0, 5.22))


def current_for_size_kA(
    case: Case, over_root: float = 5.0, options: Options | None = None
) -> float:
    """Return the current that gives k√t at a case's time and force, by halving. [kA].

    Parameters
    ----------
    case : Case
        Stack, time, force and face.
    over_root : float
        The k wanted, in √mm.
    options : Options, optional
        Grid and steps.
    """
    low, high = 0.4 * case.setting.current_kA, 1.8 * case.setting.current_kA
    while high - low > 0.01 * low:
        middle = (low + high) / 2
        tried = replace(case, setting=replace(case.setting, current_kA=middle))
        small = tried.over_root(tried.run(options)) < over_root
        low, high = (middle, high) if small else (low, middle)
    return (low + high) / 2


def growth(
    currents_kA: Sequence[float], schedule: Schedule, options: Options | None = None
) -> list[WeldHistory]:
    """Return welds of the measured growth curve's stack at several currents.

    Parameters
    ----------
    currents_kA : sequence of float
        Currents. [kA]
    schedule : Schedule
        Columns that give time, force and face for the thinner sheet; those of the measurement are
        not known.
    options : Options, optional
        Grid and steps.
    """
    stack = Stack((Sheet(1.2, SteelFamily.DUAL_PHASE), Sheet(0.8)))
    start = published_start(Stack((Sheet(1.2), Sheet(0.8))), schedule)
    cap = Electrode(CapShape.FLAT, start.face_mm)
    return [
        simulate(stack, Setting(current, start.weld_ms, start.force_kN), cap, options or Options())
        for current in currents_kA
    ]


def three_sheets() -> Case:
    """Return the case of 0.7 + 1.1 + 1.1 mm at the middle of the high-force row of 1.1 mm."""
    case = next(c for c in published_cases((Schedule.HIGH_FORCE,)) if c.thickness_mm > 1)
    return replace(case, stack=Stack((Sheet(0.7), Sheet(1.1), Sheet(1.1))))


def _rows(schedules: tuple[Schedule, ...]) -> Iterator[str]:
    yield "  t    I      time  force  face   size/√t  melted  hottest  late    expulsion  heat lost"
    yield "  mm   kA     ms    kN     mm     √mm      share   °C       µΩ      ms         share"
    for schedule in schedules:
        yield schedule.source
        for case in published_cases((schedule,)):
            yield _row(case, case.run())


def _row(case: Case, history: WeldHistory) -> str:
    dialled = case.setting
    thrown = "none" if history.expulsion is None else f"{history.expulsion.time_ms:.0f}"
    return (
        f"  {case.thickness_mm:<5.2f}{dialled.current_kA:<7.2f}{dialled.weld_ms:<6.0f}"
        f"{dialled.force_kN:<7.2f}{case.electrode.face_mm:<7.0f}{case.over_root(history):<9.2f}"
        f"{max(history.penetration):<8.2f}{history.hottest_degC:<9.0f}"
        f"{history.late_resistance_uohm:<8.0f}{thrown:<11}{history.energy.error:.0e}"
    )


def _slope_rows() -> Iterator[str]:
    yield f"Slopes of log size at the middle of the bands, as kept in {SLOPES_FILE}"
    yield "  t     current  time   force  face   thickness"
    for found in read_slopes():
        yield (
            f"  {found.thickness_mm:<6.2f}{found.current:<9.2f}{found.time:<7.2f}"
            f"{found.force:<7.2f}{found.face:<7.2f}{found.thickness:.2f}  {found.schedule.label}"
        )


def _needed_rows() -> Iterator[str]:
    yield "Current for 5√t at the time and force of the row"
    for schedule in (*UNCOATED, *ZINC):
        cases = list(published_cases((schedule,)))
        needed = [current_for_size_kA(case) for case in cases]
        printed = [case.setting.current_kA for case in cases]
        t = [case.thickness_mm for case in cases]
        yield (
            f"  {schedule.label}: {_figures(needed, '.1f')} kA; grows with "
            f"t^{_power(t, needed):.2f}, in the table with t^{_power(t, printed):.2f}"
        )
    yield "  zinc instead of bare, all else equal (published: about +20 %): " + _zinc_needs()


def _power(thickness: Sequence[float], current: Sequence[float]) -> float:
    return float(np.polyfit(np.log(thickness), np.log(current), 1)[0])


def _zinc_needs() -> str:
    cases = list(published_cases((Schedule.HIGH_FORCE,)))
    more = [current_for_size_kA(with_zinc(each)) / current_for_size_kA(each) for each in cases]
    return _figures([100 * (each - 1) for each in more], "+.0f") + " %"


def _figures(values: Sequence[float], form: str) -> str:
    return ", ".join(format(value, form) for value in values)


def _growth_rows() -> Iterator[str]:
    currents, measured = zip(*MEASURED_GROWTH, strict=True)
    yield "1.2 mm dual-phase on 0.8 mm, time, force and face as published for 0.8 mm"
    yield f"  {_figures(currents, 'g')} kA"
    slope = np.polyfit(currents, measured, 1)[0]
    yield f"  {_figures(measured, '.2f')} mm measured: {slope:.2f} mm/kA"
    for schedule in UNCOATED:
        welds = growth(currents, schedule)
        sizes = [weld.diameters_mm[0] for weld in welds]
        slope = np.polyfit(currents, sizes, 1)[0]
        yield f"  {_figures(sizes, '.2f')} mm {schedule.label}: {slope:.2f} mm/kA"


def _stack_rows() -> Iterator[str]:
    case = three_sheets()
    history = case.run()
    roots = [sqrt(each.thinner_mm) for each in case.stack.interfaces]
    sizes = [size / root for size, root in zip(history.diameters_mm, roots, strict=True)]
    yield f"Three sheets {case.stack.title()} at {case.setting.current_kA:g} kA"
    yield f"  {_figures(sizes, '.2f')} √t; melted {_figures(history.penetration, '.2f')}"
    unequal = replace(case, stack=Stack((Sheet(0.8), Sheet(1.6))))
    history = unequal.run()
    yield f"Two sheets {unequal.stack.title()} at {unequal.setting.current_kA:g} kA"
    yield f"  {history.diameters_mm[0]:.2f} mm; melted {_figures(history.penetration, '.2f')}"


def main() -> int:
    """Print the report."""
    parts = (
        _rows((*UNCOATED, *ZINC)),
        _slope_rows(),
        _growth_rows(),
        _stack_rows(),
        _needed_rows(),
    )
    for line in chain.from_iterable(parts):
        print(line, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
