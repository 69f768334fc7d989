"""Published starting settings, from the tables in ``reference/``.

A table gives bands: for thicknesses over one value up to another, a lowest and a highest current,
time and force. A start between them must not jump where a sheet measures 1.20 or 1.21 mm, so each
quantity follows a monotone curve (PCHIP) through the middle of every band and the middle of what
neighbouring bands share. Both ends of each piece lie inside its band and the curve never overshoots
them, so the start is inside the published band at every thickness. Where two neighbouring bands
share nothing, nothing is published in between: the start steps there, from the top of one band to
the foot of the next.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
import scipy

from advisor.language import msg, say
from advisor.resources import reference
from advisor.units import Calibration, to_inner
from advisor.weld.published_words import WHY, basis_words, outside, refuse_unpublished
from advisor.weld.sheet import Surface
from advisor.weld.stack import Stack
from advisor.weld.words import TradeWord

B1_FILE = "iso14373_2015_table_B1_uncoated.csv"
B2_FILE = "iso14373_2015_table_B2_zinc.csv"
INCH_FILE = "low_carbon_single_impulse_from_memory.csv"
#: The cycles printed in ISO 14373:2015 Annex B are periods of 50 Hz mains.
_TABLE_MAINS = Calibration(mains_hz=50.0)
#: Galvannealed "needs only slightly more current" than bare (Steels: Metallurgy and Applications,
#: 3rd ed., p. 104, read); that 5 % is meant by it is from memory.
GALVANNEALED_CURRENT_FACTOR = 1.05
_ZINC = (Surface.HOT_DIP_ZINC, Surface.ELECTRO_ZINC)


class Schedule(TradeWord):
    """One group of columns of a published table."""

    MEDIUM_FORCE = "medium_force", msg("uncoated, medium force, long time")
    HIGH_FORCE = "high_force", msg("uncoated, high force, short time")
    HOT_DIP = "hot_dip", msg("hot-dip zinc")
    ELECTRO = "electro", msg("electrolytic zinc")

    @classmethod
    def what(cls) -> str:
        """Return what the list is called in a sentence."""
        return say("schedule")

    @property
    def source_id(self) -> str:
        """Entry of ``reference/SOURCES.md`` the columns come from."""
        zinc = self in (Schedule.HOT_DIP, Schedule.ELECTRO)
        return "iso14373-2015-b2" if zinc else "iso14373-2015-b1"

    @property
    def source(self) -> str:
        """Table the columns come from, in words."""
        table = "B.2" if self.source_id.endswith("b2") else "B.1"
        return say("ISO 14373:2015 Table {table}, {columns}", table=table, columns=self.label)


#: Of which a shop picks one for uncoated steel; zinc has its own.
UNCOATED = (Schedule.HIGH_FORCE, Schedule.MEDIUM_FORCE)
_COLUMNS = {
    Schedule.MEDIUM_FORCE: (B1_FILE, "mf"),
    Schedule.HIGH_FORCE: (B1_FILE, "hf"),
    Schedule.HOT_DIP: (B2_FILE, "hdg"),
    Schedule.ELECTRO: (B2_FILE, "ez"),
}
_QUANTITIES = {"current_kA": "current_kA", "weld_ms": "cycles50", "force_kN": "force_kN"}


@dataclass(frozen=True)
class Band:
    """Lowest and highest published value of one quantity."""

    low: float
    high: float

    def holds(self, value: float) -> bool:
        """Whether `value` lies in the band, its ends included."""
        return self.low - 1e-9 <= value <= self.high + 1e-9


@dataclass(frozen=True)
class PublishedRow:
    """One printed row, its cycles turned into ms.

    Parameters
    ----------
    schedule : Schedule
        Group of columns.
    over_mm, upto_mm : float
        Thickness range: over the first, up to and including the second. [mm]
    face_mm : float
        Electrode face diameter. [mm]
    current_kA, weld_ms, force_kN : Band
        Printed bands. [kA], [ms], [kN]
    doubt : str
        Why a figure of the row is doubtful; empty for the others.
    """

    schedule: Schedule
    over_mm: float
    upto_mm: float
    face_mm: float
    current_kA: Band
    weld_ms: Band
    force_kN: Band
    doubt: str = ""


@dataclass(frozen=True)
class PublishedStart:
    """Where the published table says to begin for one stack.

    Parameters
    ----------
    thickness_mm : float
        Thickness the table was entered with. [mm]
    current_kA, weld_ms, force_kN : float
        Start inside the bands of `row`. [kA], [ms], [kN]
    row : PublishedRow
        The printed row it lies in.
    why : str
        Why the table is entered with this thickness, as a message for `say`.
    is_galvannealed : bool
        Whether the current is raised for galvannealed faces.
    """

    thickness_mm: float
    current_kA: float
    weld_ms: float
    force_kN: float
    row: PublishedRow
    why: str
    is_galvannealed: bool = False

    @property
    def basis(self) -> str:
        """Which table and thickness, and why, in one sentence."""
        source, thickness = self.row.schedule.source, self.thickness_mm
        return basis_words(source, thickness, self.why, is_galvannealed=self.is_galvannealed)

    @property
    def face_mm(self) -> float:
        """Electrode face diameter of the row. [mm]."""
        return self.row.face_mm


@cache
def rows(schedule: Schedule) -> tuple[PublishedRow, ...]:
    """Return the printed rows of a schedule, thinnest first."""
    file, prefix = _COLUMNS[schedule]
    table = pd.read_csv(reference(file), keep_default_na=False)
    found = []
    for record in table.to_dict("records"):
        bands = {
            name: _band(name, record[f"{prefix}_{column}_lo"], record[f"{prefix}_{column}_hi"])
            for name, column in _QUANTITIES.items()
        }
        doubt = str(record.get("note", ""))
        found.append(
            PublishedRow(
                schedule,
                float(record["t_over_mm"]),
                float(record["t_upto_mm"]),
                float(record["tip_dia_mm"]),
                doubt=doubt if f"{prefix} " in doubt.partition("differs")[0] else "",
                **bands,
            )
        )
    return tuple(found)


def _band(name: str, low: float, high: float) -> Band:
    if name != "weld_ms":
        return Band(float(low), float(high))
    return Band(*(to_inner("time", float(v), "cycle", _TABLE_MAINS) for v in (low, high)))


def row_for(schedule: Schedule, thickness_mm: float) -> PublishedRow:
    """Return the printed row for a thickness; the thinnest row also holds its lower end.

    Parameters
    ----------
    schedule : Schedule
        Group of columns.
    thickness_mm : float
        Thickness the table is entered with, 0.4 to 3.0. [mm]

    Raises
    ------
    NoAdviceError
        The thickness is outside the table.
    """
    table = rows(schedule)
    if table[0].over_mm - 1e-9 <= thickness_mm <= table[-1].upto_mm + 1e-9:
        return next(row for row in table if thickness_mm <= row.upto_mm + 1e-9)
    raise outside(thickness_mm, schedule.source, table[0].over_mm, table[-1].upto_mm)


@cache
def _pieces(
    schedule: Schedule, quantity: str
) -> tuple[tuple[float, scipy.interpolate.PchipInterpolator], ...]:
    """Return (last thickness, curve) of each unbroken piece of one quantity."""
    table = rows(schedule)
    bands: list[Band] = [getattr(row, quantity) for row in table]
    middles = [(band.low + band.high) / 2 for band in bands]
    first = (max(bands[0].low, middles[0] - (_shared(bands[0], bands[1])[0] - middles[0])),)
    pieces = []
    t, value = [table[0].over_mm], [first[0]]
    for i, row in enumerate(table):
        t.append((row.over_mm + row.upto_mm) / 2)
        value.append(middles[i])
        if i + 1 == len(table):
            left = min(bands[i].high, 2 * middles[i] - value[-2])
            right = left
        else:
            left, right = _shared(bands[i], bands[i + 1])
        t.append(row.upto_mm)
        value.append(left)
        if left != right or i + 1 == len(table):
            curve = scipy.interpolate.PchipInterpolator(np.array(t), np.array(value))
            pieces.append((row.upto_mm, curve))
            t, value = [row.upto_mm], [right]
    return tuple(pieces)


def _shared(lower: Band, upper: Band) -> tuple[float, float]:
    """Return the knot at a boundary from the left and from the right."""
    if upper.low <= lower.high:
        middle = (upper.low + lower.high) / 2
        return middle, middle
    return lower.high, upper.low


def start_value(schedule: Schedule, quantity: str, thickness_mm: float) -> float:
    """Return the start of one quantity at one thickness.

    Parameters
    ----------
    schedule : Schedule
        Group of columns.
    quantity : str
        ``current_kA``, ``weld_ms`` or ``force_kN``.
    thickness_mm : float
        Thickness the table is entered with, 0.4 to 3.0. [mm]

    Returns
    -------
    float
        Value inside the printed band, in the unit the name ends in.
    """
    row_for(schedule, thickness_mm)
    curve = next(
        curve for last, curve in _pieces(schedule, quantity) if thickness_mm <= last + 1e-9
    )
    return float(curve(thickness_mm))


def entry_thickness_mm(stack: Stack) -> tuple[float, str]:
    """Return the thickness a table is entered with for this stack, and why, for `say`.

    Two sheets: the thinner; three: the second thickest (governing metal thickness of AWS
    D8.1M:2013, cl. 3). Four: likewise, common practice, no source.
    """
    return sorted(stack.thicknesses_mm, reverse=True)[1], WHY[len(stack.sheets)]


def schedule_for(stack: Stack, bare: Schedule = Schedule.HIGH_FORCE) -> Schedule:
    """Return the group of columns that speaks for a stack's surfaces.

    Any zinc, at an interface or under an electrode, takes the zinc table; hot-dip before
    electrolytic, whose currents are lower.

    Parameters
    ----------
    stack : Stack
        The stack.
    bare : Schedule
        Columns the shop uses for uncoated steel.

    Raises
    ------
    NoAdviceError
        No published start for a surface or a steel family of the stack.
    """
    refuse_unpublished(stack)
    if Surface.HOT_DIP_ZINC in stack.surfaces:
        return Schedule.HOT_DIP
    return Schedule.ELECTRO if Surface.ELECTRO_ZINC in stack.surfaces else bare


def published_start(stack: Stack, bare: Schedule = Schedule.HIGH_FORCE) -> PublishedStart:
    """Return the published start for a stack, without any coupon.

    Parameters
    ----------
    stack : Stack
        The stack. Adhesive moves nothing here: no published figure for it exists.
    bare : Schedule
        Columns the shop uses for uncoated steel.

    Returns
    -------
    PublishedStart
        Start inside the published bands.

    Raises
    ------
    NoAdviceError
        Nothing published for this family, surface or thickness.
    """
    schedule = schedule_for(stack, bare)
    thickness, why = entry_thickness_mm(stack)
    row = row_for(schedule, thickness)
    current = start_value(schedule, "current_kA", thickness)
    is_galvannealed = schedule is bare and Surface.GALVANNEALED in stack.surfaces
    if is_galvannealed:
        current = min(current * GALVANNEALED_CURRENT_FACTOR, row.current_kA.high)
    return PublishedStart(
        thickness,
        current,
        start_value(schedule, "weld_ms", thickness),
        start_value(schedule, "force_kN", thickness),
        row,
        why,
        is_galvannealed,
    )


@cache
def low_carbon_table() -> pd.DataFrame:
    """Return the classic inch table for low-carbon steel in the program's units.

    Returns
    -------
    DataFrame of shape (10, 9)
        ``thickness_mm``, ``face_mm``, ``force_kN``, ``weld_ms``, ``current_kA``, ``overlap_mm``,
        ``spacing_mm``, ``fused_mm``, ``shear_kN``. From memory, 60 Hz.
    """
    raw = pd.read_csv(reference(INCH_FILE))
    inch, pound = to_inner("length", 1, "in"), to_inner("force", 1, "lbf")
    cycle = to_inner("time", 1, "cycle", Calibration(mains_hz=60.0))
    return pd.DataFrame(
        {
            "thickness_mm": raw["thickness_in"] * inch,
            "face_mm": raw["electrode_face_in"] * inch,
            "force_kN": raw["force_lb"] * pound,
            "weld_ms": raw["weld_cycles60"] * cycle,
            "current_kA": raw["current_A"] / 1000,
            "overlap_mm": raw["min_overlap_in"] * inch,
            "spacing_mm": raw["min_spacing_in"] * inch,
            "fused_mm": raw["fused_dia_in"] * inch,
            "shear_kN": raw["min_shear_lb_UTS_below_70ksi"] * pound,
        }
    )


def pitch_caution(stack: Stack, pitch_mm: float | None) -> str:
    """Return what to mind where a pitch [mm] is below `spacing_mm`; empty where it is not."""
    if pitch_mm is None or pitch_mm >= spacing_mm(stack):
        return ""
    return say(
        "The original pitch is below the smallest that needs no shunt compensation: neighbouring "
        "welds take part of the current. Weld the coupon with the same pitch, two welds in one "
        "coupon."
    )


def spacing_mm(stack: Stack) -> float:
    """Return the smallest weld pitch that needs no shunt compensation.

    Interpolated in the low-carbon inch table (from memory) at the thinnest outside sheet; three or
    more sheets 30 % more (note printed with the table, read).

    Returns
    -------
    float
        Pitch, centre to centre. [mm]
    """
    table = low_carbon_table()
    outside = min(stack.thicknesses_mm[0], stack.thicknesses_mm[-1])
    pitch = float(np.interp(outside, table["thickness_mm"], table["spacing_mm"]))
    return pitch * (1.3 if len(stack.sheets) > 2 else 1.0)
