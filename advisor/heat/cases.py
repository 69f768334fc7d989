"""The settings that the model is held against: middles of published bands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import sqrt

from advisor.heat.history import WeldHistory
from advisor.heat.parameters import Options
from advisor.heat.weld import simulate
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.published import Band, PublishedRow, Schedule, rows
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import Stack

UNCOATED = (Schedule.MEDIUM_FORCE, Schedule.HIGH_FORCE)
ZINC = (Schedule.HOT_DIP, Schedule.ELECTRO)
_SURFACES = {Schedule.HOT_DIP: Surface.HOT_DIP_ZINC, Schedule.ELECTRO: Surface.ELECTRO_ZINC}


@dataclass(frozen=True)
class Case:
    """Two equal sheets in the middle of a published row.

    Parameters
    ----------
    schedule : Schedule
        Columns of the table.
    stack : Stack
        Two sheets as thick as the middle of the row.
    setting : Setting
        Middles of the bands.
    electrode : Electrode
        Flat caps with the row's face.
    """

    schedule: Schedule
    stack: Stack
    setting: Setting
    electrode: Electrode

    @property
    def thickness_mm(self) -> float:
        """Thickness of each sheet. [mm]."""
        return self.stack.thicknesses_mm[0]

    def run(self, options: Options | None = None) -> WeldHistory:
        """Calculate the weld."""
        return simulate(self.stack, self.setting, self.electrode, options or Options())

    def over_root(self, history: WeldHistory) -> float:
        """Return the diameter of a calculated weld over √t, in √mm."""
        return history.diameters_mm[0] / sqrt(self.thickness_mm)


def published_cases(schedules: tuple[Schedule, ...]) -> Iterator[Case]:
    """Yield a case for each printed row of some columns, thinnest first."""
    for schedule in schedules:
        for row in rows(schedule):
            yield middle_case(row)


def middle_case(row: PublishedRow) -> Case:
    """Return the case in the middle of a printed row."""
    surface = _SURFACES.get(row.schedule, Surface.BARE)
    thickness = round((row.over_mm + row.upto_mm) / 2, 6)
    sheet = Sheet(thickness, upper=surface, lower=surface)
    setting = Setting(_middle(row.current_kA), _middle(row.weld_ms), _middle(row.force_kN))
    electrode = Electrode(CapShape.FLAT, row.face_mm)
    return Case(row.schedule, Stack((sheet, sheet)), setting, electrode)


def with_zinc(case: Case, surface: Surface = Surface.HOT_DIP_ZINC) -> Case:
    """Return a case with zinc on every face, all else equal."""
    sheets = tuple(replace(each, upper=surface, lower=surface) for each in case.stack.sheets)
    return replace(case, stack=Stack(sheets, case.stack.bonds))


def _middle(band: Band) -> float:
    return (band.low + band.high) / 2
