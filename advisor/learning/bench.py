"""What is known when a setting is chosen: models, reach, the best setting and the doubt."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from advisor.errors import InputError
from advisor.language import say
from advisor.learning.choice import Choice, at_time, choose
from advisor.learning.doubt import Doubt
from advisor.learning.features import Floats
from advisor.learning.model import MachineModel
from advisor.learning.reach import Question, Reach, reaches, too_weak
from advisor.learning.sound import Outlook, as_row
from advisor.weld.setting import Setting

#: Squeeze and hold where the last coupon of the stack says nothing (common practice, no source).
SQUEEZE_MS, HOLD_MS = 300.0, 200.0
#: How much less likely to be sound than the best a current may be and still count in the doubt.
#: Choice of this project: what is less likely is not welded.
WORTH_USING = 0.1


class Bench:
    """What is known about one stack on one machine.

    Parameters
    ----------
    asked : Question
        What a setting is wanted for.
    model : MachineModel
        Model of the machine, fitted to its coupons.

    Raises
    ------
    InputError
        The model is of another machine.
    NoAdviceError
        The machine is too weak or too strong for the stack.
    """

    def __init__(self, asked: Question, model: MachineModel) -> None:
        if model.machine not in ("", asked.machine.name):
            raise InputError(
                say(
                    "the model learned from {learned}, the setting is for {machine}; fit one to "
                    "the coupons of that machine",
                    learned=model.machine,
                    machine=asked.machine.name,
                )
            )
        self.asked = asked
        self.model = model
        self.reaches = reaches(asked)
        self.outlook = Outlook(model, asked.coupons)
        self.choice = choose(self.outlook, asked, self.reaches)
        band, largest = asked.start.row.current_kA, asked.machine.largest_current_kA
        if self.choice.chance < 0.5 and band.low > largest and self.reach.ground.is_table:
            raise too_weak(asked)

    @property
    def reach(self) -> Reach:
        """Currents that may be tried at the weld time and force chosen."""
        return self.choice.reach

    @cached_property
    def untaught(self) -> Choice:
        """What would be chosen at that time and force without any coupon."""
        return choose(
            Outlook(MachineModel(self.asked.rules, self.model.prior)), self.asked, [self.reach]
        )

    @cached_property
    def best(self) -> Setting:
        """The setting chosen, with squeeze and hold of the last coupon of such a stack."""
        last = self.asked.kin[-1].coupon.setting if self.asked.kin else None
        return Setting(
            self.choice.current_kA,
            self.choice.weld_ms,
            self.choice.force_kN,
            squeeze_ms=(last.squeeze_ms if last else 0.0) or SQUEEZE_MS,
            hold_ms=(last.hold_ms if last else 0.0) or HOLD_MS,
        )

    @cached_property
    def settings(self) -> Floats:
        """Every current in reach at the time and force chosen, shape (n_currents, 3)."""
        return at_time(self.reach, self.choice.weld_ms)

    @cached_property
    def _sound(self) -> Floats:
        return self._chances(self.settings)

    def _chances(self, settings: Floats) -> Floats:
        return self.outlook.chances(self.asked.stack, self.asked.electrode, settings).sound

    @cached_property
    def doubt(self) -> Doubt:
        """Doubt about the currents worth using."""
        return Doubt(self.outlook, self.asked, self.within(WORTH_USING))

    def within(self, less: float) -> Floats:
        """Return the settings that are at most so much less likely to be sound than the best."""
        return np.asarray(self.settings[self._sound >= self._sound.max() - less])

    def sound(self, setting: Setting) -> float:
        """Return the chance of a sound weld, 0 to 1."""
        return float(self._chances(as_row(setting))[0])
