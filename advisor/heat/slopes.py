"""How the size answers what is dialled, by the heat model: ``python -m advisor.heat.slopes``.

Prints ``reference/heat_slopes.csv`` anew: for the middle of every published row the change of the
logarithm of the size with the logarithm of current, time, force, face and thickness. It takes some
minutes; the table is kept, so that nobody who reads it has to wait.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable
from dataclasses import astuple, dataclass, fields, replace
from math import log

from advisor.heat.cases import UNCOATED, ZINC, Case, published_cases
from advisor.heat.parameters import Options
from advisor.resources import reference
from advisor.weld.published import Schedule
from advisor.weld.stack import Stack

SLOPES_FILE = "heat_slopes.csv"
#: Slopes are taken over a change by this share, down and up.
_CHANGE = 0.05
_USUAL = Options(frames=2)


@dataclass(frozen=True)
class Slopes:
    """Change of the logarithm of the size around the middle of one published row.

    Parameters
    ----------
    schedule : Schedule
        Columns of the table.
    thickness_mm : float
        Of each of both sheets. [mm]
    over_root : float
        Size over √t in the middle, in √mm.
    current, time, force, face : float
        With the logarithm of each, the others unchanged.
    thickness : float
        With the logarithm of the thickness of both sheets, at unchanged setting and face.
    """

    schedule: Schedule
    thickness_mm: float
    over_root: float
    current: float
    time: float
    force: float
    face: float
    thickness: float


def slopes(case: Case, options: Options = _USUAL) -> Slopes:
    """Return the slopes of the size around one case.

    Parameters
    ----------
    case : Case
        Where.
    options : Options
        Grid and steps.
    """

    def slope(changed: Callable[[float], Case]) -> float:
        sizes = [changed(1 + sign * _CHANGE).run(options).diameters_mm[0] for sign in (-1, 1)]
        low, high = (max(size, 0.1) for size in sizes)
        return log(high / low) / log((1 + _CHANGE) / (1 - _CHANGE))

    def dialled(name: str) -> Callable[[float], Case]:
        value = getattr(case.setting, name)
        return lambda by: replace(case, setting=replace(case.setting, **{name: value * by}))

    cap = case.electrode
    return Slopes(
        case.schedule,
        case.thickness_mm,
        case.over_root(case.run(options)),
        slope(dialled("current_kA")),
        slope(dialled("weld_ms")),
        slope(dialled("force_kN")),
        slope(lambda by: replace(case, electrode=replace(cap, face_mm=cap.face_mm * by))),
        slope(lambda by: replace(case, stack=thicker(case.stack, by))),
    )


def thicker(stack: Stack, by: float) -> Stack:
    """Return a stack whose sheets are thicker by a factor."""
    sheets = tuple(replace(sheet, thickness_mm=sheet.thickness_mm * by) for sheet in stack.sheets)
    return Stack(sheets, stack.bonds)


def read_slopes() -> list[Slopes]:
    """Return the slopes that are kept in ``reference/heat_slopes.csv``."""
    with reference(SLOPES_FILE).open(encoding="utf-8", newline="") as opened:
        return [
            Slopes(
                Schedule.of(row["schedule"]),
                *(float(row[each.name]) for each in fields(Slopes) if each.name != "schedule"),
            )
            for row in csv.DictReader(opened)
        ]


def main() -> int:
    """Print the table anew."""
    table = csv.writer(sys.stdout, lineterminator="\n")
    table.writerow(each.name for each in fields(Slopes))
    for case in published_cases((*UNCOATED, *ZINC)):
        found = slopes(case)
        table.writerow((found.schedule.value, *(f"{each:.3g}" for each in astuple(found)[1:])))
        sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
