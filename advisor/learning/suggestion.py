"""The next setting to weld a coupon with, how sure it is, and what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.errors import InputError
from advisor.learning import wording
from advisor.learning.choice import Choice, choose
from advisor.learning.model import MachineModel
from advisor.learning.reach import Question, question, reach, too_weak
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.stack import Stack

#: Squeeze and hold where the last coupon of the stack says nothing (common practice, no source).
SQUEEZE_MS, HOLD_MS = 300.0, 200.0


@dataclass(frozen=True)
class Suggestion:
    """A setting to weld the next coupon with. It is for a coupon only, never for the vehicle.

    Parameters
    ----------
    setting : Setting
        Inside the machine's limits and on its dials.
    size_mm, low_mm, high_mm : float
        Predicted size of a weld without expulsion at the weakest interface: median and 90 %
        interval of one new coupon. [mm]
    minimum_mm : float
        The shop's minimum there. [mm]
    chance : float
        Chance of reaching it, 0 to 1.
    basis : str
        The table alone, or how many coupons, and which table.
    explanation : str
        How far the current is from the table's, and why.
    distance : str
        How far the setting is from anything tested.
    notes : tuple of str
        Reservations, one sentence each.
    """

    setting: Setting
    size_mm: float
    low_mm: float
    high_mm: float
    minimum_mm: float
    chance: float
    basis: str
    explanation: str
    distance: str
    notes: tuple[str, ...]


def suggest(
    model: MachineModel,
    stack: Stack,
    machine: Machine,
    electrode: Electrode,
    rules: ShopRules,
    coupons: Sequence[LoggedCoupon],
) -> Suggestion:
    """Suggest the setting of the next coupon.

    Parameters
    ----------
    model : MachineModel
        Model of the machine, fitted to `coupons`.
    stack : Stack
        The stack, either way up.
    machine : Machine
        Its limits and dials.
    electrode : Electrode
        Caps as dressed.
    rules : ShopRules
        The shop's rules.
    coupons : sequence of LoggedCoupon
        Coupons of the machine, in any order.

    Returns
    -------
    Suggestion
        Published weld time and force, and the current whose predicted size is nearest the aim: 5√t,
        the published set-up target, or 10 % over the shop's minimum where that is more.

    Raises
    ------
    NoAdviceError
        Nothing published for this stack, or the machine is too weak or too strong for it.
    InputError
        The model is of another machine, or the shop's size rule says nothing about this number of
        sheets.
    """
    if model.machine not in ("", machine.name):
        raise InputError(
            f"the model learned from {model.machine}, the setting is for {machine.name}; fit one "
            "to the coupons of that machine"
        )
    asked = question(stack, machine, electrode, rules, coupons)
    allowed = reach(asked)
    choice = choose(model, asked, allowed)
    if choice.chance < 0.5 and asked.start.row.current_kA.low > machine.largest_current_kA:
        raise too_weak(asked)
    without = choose(MachineModel(rules, model.prior), asked, allowed)
    setting = _setting(asked, choice)
    return Suggestion(
        setting,
        choice.size_mm,
        choice.low_mm,
        choice.high_mm,
        choice.minimum_mm,
        choice.chance,
        wording.basis(model, asked),
        wording.explanation(model, asked, choice, without),
        wording.distance(asked, setting),
        wording.notes(model, asked, choice),
    )


def _setting(asked: Question, choice: Choice) -> Setting:
    last = asked.kin[-1].coupon.setting if asked.kin else None
    return Setting(
        choice.current_kA,
        choice.weld_ms,
        choice.force_kN,
        squeeze_ms=(last.squeeze_ms if last else 0.0) or SQUEEZE_MS,
        hold_ms=(last.hold_ms if last else 0.0) or HOLD_MS,
    )
