"""Keeps what is asked of a weld while it is calculated."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from advisor.heat.body import Body
from advisor.heat.contacts import Contact
from advisor.heat.history import EnergyBalance, Expulsion, Frames, WeldHistory
from advisor.heat.nugget import melt_diameter_mm, molten_share
from advisor.heat.schedule import stretches
from advisor.language import msg
from advisor.weld.setting import Setting

Field = NDArray[np.float64]
#: What the melt presses with, in Pa: the force has to bear it over the area of the melt, as in the
#: balance of Senkara, Zhang and Hu (Weld. J. 83, 2004; from memory). Its size is from memory too,
#: and such that the force holds the melt in the middle of every band of ISO 14373:2015 Table B.1
#: with a third to spare.
MELT_PRESSURE = 45e6
_AT_EDGE = msg("the melt reached the edge of the contact")
_TOO_WEAK = msg("the electrode force no longer bore the pressure of the melt")


class Recorder:
    """A weld's history in the making.

    Parameters
    ----------
    body : Body
        The cells.
    contacts : list of Contact
        All contacts, top to bottom.
    setting : Setting
        What is dialled in.
    frames : int
        About how many pictures are kept.
    """

    def __init__(self, body: Body, contacts: list[Contact], setting: Setting, frames: int) -> None:
        self.body, self.contacts = body, contacts
        self.time = self.joule = self.out = 0.0
        self.force = setting.force_kN * 1e3
        self.every = sum(seconds for _, seconds in stretches(setting)) / frames
        self.hottest = np.full(body.grid.shape, -np.inf)
        self.enthalpy = self.start = np.zeros(body.grid.shape)
        self.rows: list[tuple[float, float, float, float]] = []
        self.nuggets: list[list[float]] = []
        self.radii: list[list[float]] = []
        self.pictures: list[tuple[float, NDArray[np.float32]]] = []
        self.expulsion: Expulsion | None = None

    def add(
        self,
        seconds: float,
        warm: Field,
        enthalpy: Field,
        current: float,
        resistance: float,
        made: float,
        out: float,
    ) -> None:
        """Keep one time step; SI units, temperature in °C, heat made and gone in J."""
        self.time += seconds
        self.joule += made
        self.out += out
        self.enthalpy = enthalpy
        np.maximum(self.hottest, warm, out=self.hottest)
        self.rows.append((self.time, current, resistance, float(warm.max())))
        self.radii.append([each.radius for each in self.contacts])
        between = self.contacts[1:-1]
        self.nuggets.append([melt_diameter_mm(self.body.grid, warm, c.layer) for c in between])
        self._look_for_expulsion()
        if self.time >= self.every * len(self.pictures) * (1 - 1e-9):
            self.pictures.append((self.time, warm.astype(np.float32)))

    def _look_for_expulsion(self) -> None:
        if self.expulsion is not None:
            return
        for number, (melt, contact) in enumerate(
            zip(self.nuggets[-1], self.contacts[1:-1], strict=True)
        ):
            at_edge = melt >= 2000 * contact.radius
            if at_edge or np.pi / 4 * (melt / 1000) ** 2 * MELT_PRESSURE > self.force:
                reason = _AT_EDGE if at_edge else _TOO_WEAK
                self.expulsion = Expulsion(self.time * 1e3, number, reason)
                return

    def history(self, *, without_adhesive: bool) -> WeldHistory:
        """Return what was kept, and whether an adhesive that is there was left out."""
        times, current, resistance, peak = np.array(self.rows).T
        grid = self.body.grid
        near = self.contacts[0].limit / 2
        stored = float(np.sum(grid.volumes * (self.enthalpy - self.start)))
        return WeldHistory(
            times * 1e3,
            np.maximum.accumulate(np.array(self.nuggets), axis=0),
            tuple(molten_share(grid, self.hottest, each, near) for each in self.body.sheets),
            resistance * 1e6,
            peak,
            np.array(self.radii) * 2000,
            current / 1e3,
            EnergyBalance(self.joule, stored, self.out),
            self.expulsion,
            self._frames(),
            without_adhesive,
        )

    def _frames(self) -> Frames:
        grid = self.body.grid
        times, pictures = zip(*self.pictures, strict=True)
        fields = np.stack(pictures)
        if grid.filled is not None:
            fields[:, grid.filled < 0.5] = np.nan
        return Frames(np.array(times) * 1e3, fields, grid.r_faces * 1e3, grid.z_faces * 1e3)
