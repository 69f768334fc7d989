"""One weld, step by step: force, contacts, current, heat.

In each step the contacts first grow under the force at the temperatures of the step before, then
the current is spread through what touches, and then its heat is carried implicitly. All heat that
leaves does so through the water-cooled backs of the caps; sheets keep their thickness, and nothing
is thrown out: expulsion is the moment when melt reaches the edge of a contact between sheets, or
when the electrode force no longer bears its pressure.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from advisor.errors import InputError, NoAdviceError
from advisor.heat.body import Body, make_body, start_radius, sunk_radii
from advisor.heat.contacts import Contact, make_contact
from advisor.heat.diffusion import Links, given_off, heat_step, links, steady
from advisor.heat.history import WeldHistory
from advisor.heat.nugget import interface_temperature
from advisor.heat.parameters import ContactParameters, Options, fitted
from advisor.heat.properties import ROOM_DEGC, electrode_alloy, steel
from advisor.heat.recording import Recorder
from advisor.heat.schedule import Step, time_steps
from advisor.heat.shunt import added_by_heat, shunt_resistance
from advisor.language import listed, say
from advisor.weld.electrode import Electrode
from advisor.weld.setting import Setting
from advisor.weld.sheet import Surface
from advisor.weld.stack import AdhesiveState, Stack

Field = NDArray[np.float64]
_ZINC = frozenset({Surface.HOT_DIP_ZINC, Surface.ELECTRO_ZINC})
#: Galvannealed layers are iron and zinc and behave nearly as bare steel does (from memory).
_COVERED = _ZINC | {Surface.BARE, Surface.GROUND_BARE, Surface.GALVANNEALED}
_USUAL = Options()
#: Steps between two words on progress. Choice of this project.
_TELLS = 20


def simulate(
    stack: Stack,
    setting: Setting,
    electrode: Electrode,
    options: Options = _USUAL,
    progress: Callable[[float], None] | None = None,
) -> WeldHistory:
    """Return how a weld grows.

    Parameters
    ----------
    stack : Stack
        2 to 4 sheets of 0.4 to 3 mm.
    setting : Setting
        What is dialled in; the squeeze time plays no part.
    electrode : Electrode
        Caps on both sides.
    options : Options
        Neighbour weld, wet adhesive, grid and steps.
    progress : callable, optional
        Is told now and then which share of the steps is done, 0 to 1.

    Raises
    ------
    NoAdviceError
        The model has no figures for a steel, a surface or a cured adhesive of the stack.
    InputError
        The factors for the contacts do not fit the interfaces.
    """
    _refuse_unknown(stack, options)
    weld = _Weld(stack, setting, electrode, options)
    steps = list(time_steps(setting, options.steps))
    for done, step in enumerate(steps):
        if progress is not None and done % _TELLS == 0:
            progress(done / len(steps))
        weld.advance(step)
    return weld.recorder.history(without_adhesive=stack.is_bonded and not options.contact_factors)


class _Weld:
    """The state of a weld while it is calculated."""

    def __init__(
        self, stack: Stack, setting: Setting, electrode: Electrode, options: Options
    ) -> None:
        self.fitted = options.contacts or fitted()
        self.force = setting.force_kN * 1e3
        self.body = make_body(stack, electrode, options.fineness, self.fitted.stirring)
        self.contacts = _contacts(stack, electrode, options, self.body, self.fitted, self.force)
        self.stack, self.neighbour = stack, options.neighbour_mm
        self.beside = shunt_resistance(stack, options.neighbour_pitch_mm, options.neighbour_mm)
        self.warm = np.full(self.body.grid.shape, ROOM_DEGC)
        self.enthalpy = self.body.heat(self.warm)
        self.recorder = Recorder(self.body, self.contacts, setting, options.frames)

    def advance(self, step: Step) -> None:
        """Carry the weld on by one time step."""
        source, current, resistance = np.zeros_like(self.warm), 0.0, float("nan")
        at = [interface_temperature(self.warm, each.layer) for each in self.contacts]
        for each, warm in zip(self.contacts, at, strict=True):
            each.grow(self.body.grid, warm, self.force, self.fitted.yielding)
        if step.current > 0:
            source, current, resistance = self._joule(at, step.current)
        joined = self._heat_links(at)
        self.enthalpy, self.warm, out = heat_step(
            self.body,
            self.body.grid.volumes,
            joined,
            self.enthalpy,
            source,
            step.seconds,
            (ROOM_DEGC, ROOM_DEGC),
        )
        made = float(source.sum()) * step.seconds
        self.recorder.add(step.seconds, self.warm, self.enthalpy, current, resistance, made, out)

    def _joule(self, at: list[Field], current: float) -> tuple[Field, float, float]:
        """Return heat of each cell in W, current of this weld in A, resistance in Ω."""
        grid = self.body.grid
        crossings = [
            (each.layer, each.resists(warm, self.force, current), each.touches(grid))
            for each, warm in zip(self.contacts, at, strict=True)
        ]
        conducts = self.body.conducts_current(self.warm)
        joined = links(grid, conducts, crossings)
        potential = steady(joined, 1.0, 0.0)
        flows = float(np.sum(joined.ends[0] * (1.0 - potential[0])))
        through = current / (1 + self._shunt(potential, conducts) / flows)
        return given_off(joined, potential, 1.0, 0.0) * (through / flows) ** 2, through, 1 / flows

    def _shunt(self, potential: Field, conducts: Field) -> float:
        """Return the current through the neighbour in A, at 1 V from cap to cap."""
        if math.isinf(self.beside):
            return 0.0
        ring = int(np.searchsorted(self.body.grid.r, self.neighbour / 2000))
        first, last = (float(np.mean(potential[self.body.sheets[n], ring])) for n in (0, -1))
        heat = added_by_heat(self.body, self.stack, conducts, self.neighbour)
        return (first - last) / (self.beside + heat)

    def _heat_links(self, at: list[Field]) -> Links:
        grid = self.body.grid
        crossings = [
            (each.layer, each.keeps_heat(warm, self.force), each.touches(grid))
            for each, warm in zip(self.contacts, at, strict=True)
        ]
        return links(grid, self.body.conducts_heat(self.warm), crossings)


def _contacts(
    stack: Stack,
    electrode: Electrode,
    options: Options,
    body: Body,
    parameters: ContactParameters,
    force: float,
) -> list[Contact]:
    """Return all contacts, top to bottom, the electrodes' own first and last."""
    face, start = electrode.face_mm / 2000, start_radius(electrode, force)
    zinc = [face * (each in _ZINC) for each in (stack.sheets[0].upper, stack.sheets[-1].lower)]
    first, last = body.sheets[0].start - 1, body.sheets[-1].stop - 1
    found = []
    sunk = sunk_radii(stack, electrode)
    for layer, sheet, coated in ((first, 0, zinc[0]), (last, -1, zinc[1])):
        metal = steel(stack.sheets[sheet].family, parameters.stirring)
        found.append(
            make_contact(
                body.grid,
                layer,
                metal,
                (metal, electrode_alloy()),
                (start, sunk[sheet]),
                parameters,
                electrode=True,
                zinc=coated,
            )
        )
    between = [
        _between(stack, number, options, body, parameters, (start, face))
        for number in range(len(stack.interfaces))
    ]
    return [found[0], *between, found[1]]


def _between(
    stack: Stack,
    number: int,
    options: Options,
    body: Body,
    parameters: ContactParameters,
    reach: tuple[float, float],
) -> Contact:
    above = sum(stack.thicknesses_mm[: number + 1]) / 1000
    depth = min(above, stack.total_mm / 1000 - above)
    pair = stack.sheets[number : number + 2]
    metals = [steel(sheet.family, parameters.stirring) for sheet in pair]
    softer = min(metals, key=lambda metal: float(metal.flow_stress[0]))
    coated = bool(_ZINC & set(stack.interfaces[number].surfaces))
    start, face = reach
    return make_contact(
        body.grid,
        body.sheets[number].stop - 1,
        softer,
        (metals[0], metals[1]),
        (min(start, 0.5 * face), face + parameters.spread * depth),
        parameters,
        electrode=False,
        zinc=face * coated,
        factor=options.contact_factors[number] if options.contact_factors else 1.0,
    )


def _refuse_unknown(stack: Stack, options: Options) -> None:
    unknown = sorted(face.label for face in stack.surfaces if face not in _COVERED)
    if unknown:
        raise NoAdviceError(
            say(
                "the heat model has no figures for {surfaces}; it covers bare, hot-dip zinc, "
                "electrolytic zinc and galvannealed faces",
                surfaces=listed(unknown),
            )
        )
    if stack.adhesive_state in (AdhesiveState.PART_CURED, AdhesiveState.CURED):
        raise NoAdviceError(
            say(
                "the adhesive is {state}: a cured film insulates and no figure for it exists, so "
                "this weld cannot be calculated; weld coupons",
                state=stack.adhesive_state.label,
            )
        )
    given, needed = len(options.contact_factors), len(stack.interfaces)
    if given not in (0, needed):
        raise InputError(
            say(
                "{given} factors on contacts were given for {needed} interfaces; give one for "
                "each, or none",
                given=given,
                needed=needed,
            )
        )
