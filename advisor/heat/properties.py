"""What steel and electrode copper do when they get hot.

Steel: density, specific heat and conductivity of carbon steel by EN 1993-1-2:2005 (read), which
ends at 1200 °C; above that its last values are kept to the solidus, and the liquid's specific heat
is from memory. Resistivity, solidus, liquidus, latent heat, flow stress and everything of the
electrode alloy are from memory. Inside the heat model lengths are metres, so that the figures stay
in the units of their sources: W/mK, Ωm, J/m³, Pa; temperatures are °C.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from advisor.errors import NoAdviceError
from advisor.language import say
from advisor.weld.sheet import SteelFamily

Field = NDArray[np.float64]
#: Room, coolant and start. Choice of this project. [degC]
ROOM_DEGC = 20.0
#: From memory. [degC]
SOLIDUS_DEGC, LIQUIDUS_DEGC, BOILING_DEGC = 1490.0, 1530.0, 2860.0
#: From memory: middle of 247 to 272 kJ/kg, in J/kg; liquid, in J/kgK.
_LATENT, _LIQUID_HEAT = 260e3, 820.0
#: EN 1993-1-2:2005, in kg/m³.
_DENSITY = 7850.0
#: Tables reach from -100 to 6000 °C in steps of one degree, so that nothing is clipped in silence.
_TABLE = np.arange(-100.0, 6001.0)


@dataclass(frozen=True, eq=False)
class Material:
    """A material as tables over temperature.

    Parameters
    ----------
    temperature_degC : ndarray of shape (n,)
        Rising temperatures. [degC]
    enthalpy : ndarray of shape (n,)
        Heat in a volume from room temperature on, strictly rising, in J/m³.
    conductivity, resistivity : ndarray of shape (n,)
        In W/mK and in Ωm.
    flow_stress : ndarray of shape (n,)
        Stress at which it flows, in Pa.
    """

    temperature_degC: Field
    enthalpy: Field
    conductivity: Field
    resistivity: Field
    flow_stress: Field

    def temperature(self, enthalpy: Field) -> Field:
        """Return the temperature that holds so much heat, in °C."""
        return np.interp(enthalpy, self.enthalpy, self.temperature_degC)

    def heat(self, temperature_degC: Field) -> Field:
        """Return the heat at a temperature [degC], in J/m³."""
        return np.interp(temperature_degC, self.temperature_degC, self.enthalpy)

    def slope(self, temperature_degC: Field) -> Field:
        """Return dH/dT at a temperature [degC], latent heat included, in J/m³K."""
        table = self.temperature_degC
        place = np.clip(np.searchsorted(table, temperature_degC, "right") - 1, 0, len(table) - 2)
        return np.asarray(self._slopes[place])

    @cached_property
    def _slopes(self) -> Field:
        return np.diff(self.enthalpy) / np.diff(self.temperature_degC)

    def conducts_heat(self, temperature_degC: Field) -> Field:
        """Return the thermal conductivity at a temperature [degC], in W/mK."""
        return np.interp(temperature_degC, self.temperature_degC, self.conductivity)

    def resists(self, temperature_degC: Field) -> Field:
        """Return the resistivity at a temperature [degC], in Ωm."""
        return np.interp(temperature_degC, self.temperature_degC, self.resistivity)

    def flows_at(self, temperature_degC: Field) -> Field:
        """Return the flow stress at a temperature [degC], in Pa."""
        return np.interp(temperature_degC, self.temperature_degC, self.flow_stress)


def specific_heat(temperature_degC: Field) -> Field:
    """Return the specific heat of carbon steel without latent heat, in J/kgK.

    Parameters
    ----------
    temperature_degC : ndarray
        Temperature; EN 1993-1-2:2005 covers 20 to 1200. [degC]
    """
    t = np.maximum(temperature_degC, ROOM_DEGC)
    with np.errstate(divide="ignore"):
        pieces = [
            425 + 0.773 * t - 1.69e-3 * t**2 + 2.22e-6 * t**3,
            666 + 13002 / (738 - t),
            545 + 17820 / (t - 731),
            np.full_like(t, 650.0),
        ]
    below = np.select([t < 600, t < 735, t < 900, t <= LIQUIDUS_DEGC], pieces, _LIQUID_HEAT)
    return np.asarray(below)


def conductivity(temperature_degC: Field) -> Field:
    """Return the conductivity of carbon steel, in W/mK.

    Parameters
    ----------
    temperature_degC : ndarray
        Temperature; EN 1993-1-2:2005 covers 20 to 1200. [degC]
    """
    return np.where(temperature_degC < 800, 54 - 0.0333 * temperature_degC, 27.3)


@dataclass(frozen=True)
class _Family:
    """How a steel differs from low-carbon steel when cold, from memory."""

    added_resistivity: float
    strength: float


#: Alloying adds resistivity that is lost towards 1000 °C, and strength; both from memory.
_FAMILIES = {
    SteelFamily.LOW_CARBON: _Family(0.0, 1.0),
    SteelFamily.HIGH_STRENGTH: _Family(5e-8, 1.4),
    SteelFamily.DUAL_PHASE: _Family(9e-8, 1.8),
}
#: Resistivity of low-carbon steel in µΩcm, from memory.
_RESISTIVITY = (
    (20, 200, 400, 600, 800, 1000, 1200, 1300, 1490, 1530, 3000),
    (13.5, 25, 45, 72, 107, 116, 122, 124, 127, 137, 140),
)
#: Flow stress of low-carbon steel at the rates of a weld in MPa, from memory. A melt that is shut
#: in by solid metal still carries a little.
_FLOW = (
    (20, 200, 400, 500, 600, 700, 800, 1000, 1200, 1400, 1490, 1530),
    (280, 270, 250, 210, 160, 115, 85, 60, 35, 18, 10, 4),
)


@cache
def steel(family: SteelFamily = SteelFamily.LOW_CARBON, stirring: float = 1.0) -> Material:
    """Return a steel.

    Parameters
    ----------
    family : SteelFamily
        Low-carbon, high-strength low-alloy or dual-phase.
    stirring : float
        How many times better the melt conducts heat because it is stirred.

    Raises
    ------
    NoAdviceError
        No figures for this family.
    """
    if family not in _FAMILIES:
        raise NoAdviceError(
            say(
                "the heat model has no figures for {family} steel; it covers {covered}",
                family=family.label,
                covered=", ".join(each.label for each in _FAMILIES),
            )
        )
    differs = _FAMILIES[family]
    melted = np.clip((_TABLE - SOLIDUS_DEGC) / (LIQUIDUS_DEGC - SOLIDUS_DEGC), 0, 1)
    added = differs.added_resistivity * np.clip((1000 - _TABLE) / 980, 0, 1)
    strength = 1 + (differs.strength - 1) * np.clip((1000 - _TABLE) / 600, 0, 1)
    return Material(
        _TABLE,
        _heat_table(lambda t: _DENSITY * specific_heat(t)) + _DENSITY * _LATENT * melted,
        conductivity(_TABLE) * (1 + (stirring - 1) * melted),
        np.interp(_TABLE, *_RESISTIVITY) * 1e-8 + added,
        np.interp(_TABLE, *_FLOW) * 1e6 * strength,
    )


@cache
def electrode_alloy() -> Material:
    """Return the copper alloy of the electrodes (CuCrZr; every figure from memory)."""
    return Material(
        _TABLE,
        _heat_table(lambda t: np.full_like(t, 8890.0 * 385.0)),
        np.full_like(_TABLE, 330.0),
        np.maximum(2.15e-8 * (1 + 0.0038 * (_TABLE - 20)), 1e-8),
        np.interp(_TABLE, (20, 500, 1000), (4e8, 2e8, 5e7)),
    )


def _heat_table(heat_of: Callable[[Field], Field]) -> Field:
    """Integrate a volume's specific heat from room temperature on, ten steps a degree."""
    inside = (np.arange(10) + 0.5) / 10
    fine = heat_of((_TABLE[:-1, None] + inside).ravel()).reshape(-1, 10).mean(axis=1)
    summed = np.concatenate(([0.0], np.cumsum(fine * np.diff(_TABLE))))
    return np.asarray(summed - np.interp(ROOM_DEGC, _TABLE, summed))
