"""What came out of one calculated weld."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from advisor.heat.properties import BOILING_DEGC
from advisor.language import say

Field = NDArray[np.float64]


@dataclass(frozen=True)
class Expulsion:
    """Melt that nothing held any longer.

    Parameters
    ----------
    time_ms : float
        When it was first so, from the start of the current on. [ms]
    interface : int
        At which interface, from the top, from 0 on.
    reason : str
        Why, as a message for `say`.
    """

    time_ms: float
    interface: int
    reason: str


@dataclass(frozen=True)
class EnergyBalance:
    """Where the heat went.

    Parameters
    ----------
    joule_J : float
        Heat made by the current, in J.
    stored_J : float
        Heat in sheets and caps at the end, over that at the start, in J.
    out_J : float
        Heat that left through the cooled backs of the caps, in J.
    """

    joule_J: float
    stored_J: float
    out_J: float

    @property
    def error(self) -> float:
        """Heat that is missing, as a share of the Joule heat."""
        return abs(self.joule_J - self.stored_J - self.out_J) / max(self.joule_J, 1e-300)


@dataclass(frozen=True, eq=False)
class Frames:
    """Pictures of the temperature, for drawing.

    Parameters
    ----------
    times_ms : ndarray of shape (k,)
        When. [ms]
    temperature : ndarray of shape (k, layers, rings)
        Temperature of each cell in °C, as float32; NaN beside the caps, where there is nothing.
    r_edges_mm, z_edges_mm : ndarray
        Edges of the rings from the axis on, and of the layers; z runs down from the upper face of
        the top sheet. [mm]
    """

    times_ms: Field
    temperature: NDArray[np.float32]
    r_edges_mm: Field
    z_edges_mm: Field


@dataclass(frozen=True, eq=False)
class WeldHistory:
    """One calculated weld over time. Interfaces and sheets are counted from the top.

    Parameters
    ----------
    times_ms : ndarray of shape (n,)
        End of each step, from the start of the current on. [ms]
    nugget_mm : ndarray of shape (n, interfaces)
        Diameter of the melt at each interface, so far at its largest. [mm]
    penetration : tuple of float
        Largest share of each sheet's thickness that melted, under the inner half of the face.
    resistance_uohm : ndarray of shape (n,)
        Resistance from back to back of the caps in µΩ; NaN while no current flows.
    peak_degC : ndarray of shape (n,)
        Hottest cell. [degC]
    contact_mm : ndarray of shape (n, contacts)
        Diameter of each contact, the electrodes' own first and last. [mm]
    weld_current_kA : ndarray of shape (n,)
        Current through this weld, without what a neighbour takes. [kA]
    energy : EnergyBalance
        Where the heat went.
    expulsion : Expulsion or None
        When, where and why melt between sheets first was no longer held.
    frames : Frames
        Pictures for drawing.
    without_adhesive : bool
        Whether the stack has wet adhesive that the calculation knows nothing of.
    """

    times_ms: Field
    nugget_mm: Field
    penetration: tuple[float, ...]
    resistance_uohm: Field
    peak_degC: Field
    contact_mm: Field
    weld_current_kA: Field
    energy: EnergyBalance
    expulsion: Expulsion | None
    frames: Frames
    without_adhesive: bool

    @property
    def notes(self) -> tuple[str, ...]:
        """What the model leaves out of this weld, in sentences."""
        found = []
        if self.without_adhesive:
            found.append(
                say(
                    "Calculated as if there were no adhesive: no published figure for wet adhesive "
                    "exists."
                )
            )
        if self.hottest_degC > BOILING_DEGC:
            found.append(
                say(
                    "The calculation reached {reached:.0f} °C and steel boils at {boils:.0f} °C: "
                    "this weld throws metal out before it looks like this.",
                    reached=self.hottest_degC,
                    boils=BOILING_DEGC,
                )
            )
        return tuple(found)

    @property
    def diameters_mm(self) -> tuple[float, ...]:
        """Largest diameter of the melt at each interface. [mm]."""
        return tuple(float(each) for each in self.nugget_mm[-1])

    @property
    def hottest_degC(self) -> float:
        """Hottest that any cell ever was. [degC]."""
        return float(self.peak_degC.max())

    @property
    def late_resistance_uohm(self) -> float:
        """Resistance at the end of the last pulse, in µΩ."""
        return float(self.resistance_uohm[np.isfinite(self.resistance_uohm)][-1])
