"""Fetches what the learning rooms need from the log, and asks them; cautions that go with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import streamlit as st

from advisor.bonding.clock import disagreement
from advisor.coupons.coverage import CURED_WITHOUT_TEST, Coverage
from advisor.coupons.foretold import Foretold
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.errors import AdvisorError
from advisor.language import say
from advisor.learning.advice import Advice
from advisor.learning.model import MachineModel
from advisor.pages.parts.cards import joint_card
from advisor.pages.parts.joint_choice import Target
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session
from advisor.store.log import Log
from advisor.weld.cautions import CURED
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.stack import AdhesiveState, Stack

#: Coupons of each other machine that are learned from: enough to know it by, newest first.
_FROM_OTHERS = 300


@dataclass(frozen=True)
class Advised:
    """What is advised for a target, and what it was drawn from.

    Parameters
    ----------
    advice : Advice
        Setting, next coupon and window.
    model : MachineModel
        The model of the machine, fitted to `coupons` and started from the shop's other machines.
    coupons : list of LoggedCoupon
        The machine's coupons that count.
    rules : ShopRules
        The shop's rules.
    machine : str
        Name of the machine.
    """

    advice: Advice
    model: MachineModel
    coupons: list[LoggedCoupon]
    rules: ShopRules
    machine: str


def advice(session: Session, target: Target) -> Advised:
    """Return what to try on a coupon; `NoAdviceError` says why there is nothing."""
    log, rules = session.log, session.log.rules()
    # The newest seal stays as long as no coupon of the shop is added, corrected or voided.
    return _advised(log.last_seal(), target.stack, target.machine, target.caps, rules, log)


@st.cache_resource(max_entries=64, show_spinner=False)
def _advised(
    seal: str, stack: Stack, machine: Machine, caps: Electrode, rules: ShopRules, _log: Log
) -> Advised:
    """Work out the advice once until a coupon of the shop changes."""
    coupons = _log.coupons_for_learning(machine.name)
    others = _other_models(_log, machine.name, rules)
    model = MachineModel(rules).fit(coupons, others)
    found = Advice(model, stack, machine, caps, rules, coupons)
    return Advised(found, model, coupons, rules, machine.name)


def _other_models(log: Log, name: str, rules: ShopRules) -> list[MachineModel]:
    """Return the models of the shop's other machines that have coupons."""
    models = []
    for machine in log.machines():
        if machine.name == name:
            continue
        revisions = log.newest_revisions(machine.name, _FROM_OTHERS)
        if revisions:
            # As text, the revisions are hashed in one go.
            models.append(_own_model(log.url, machine.name, str(revisions), rules, log))
    return models


@st.cache_resource(max_entries=64, show_spinner=False)
def _own_model(url: str, name: str, revisions: str, rules: ShopRules, _log: Log) -> MachineModel:
    """Fit a machine to its own coupons alone; once until one of them changes.

    A revision's number is one of a kind in its database, so it tells shops apart too.
    """
    coupons = _log.recent_coupons(_FROM_OTHERS, machine_name=name)
    return MachineModel(rules).fit([logged for logged in coupons if not logged.voided])


def foretell(session: Session, target: Target, setting: Setting) -> Foretold | None:
    """Return what is to be expected of a coupon before anybody sees it; None where nothing is."""
    try:
        found = advice(session, target)
        expected = found.advice.expected(setting)
    except AdvisorError:
        return None
    return Foretold(expected.chance_sound, expected.chance_expulsion, found.model.n_coupons)


def last_coupon(session: Session, target: Target) -> LoggedCoupon | None:
    """Return the newest coupon of this stack on this machine, voided ones left out."""
    return session.log.newest_of(target.stack, target.machine.name)


def show_joint(session: Session, target: Target) -> Coverage | None:
    """Draw the joint's card, what its adhesive clock says, and the cautions of cured adhesive."""
    coverage = None
    if target.joint is not None:
        coverage = session.log.coverage(target.joint)
        st.html(joint_card(target.joint, coverage, session))
    for text in _clocks_that_differ(session, target):
        st.warning(plain(text))
    if target.stack.adhesive_state is AdhesiveState.CURED:
        if coverage is None:
            st.warning(say(CURED_WITHOUT_TEST))
        st.warning(say(CURED))
    return coverage


def _clocks_that_differ(session: Session, target: Target) -> list[str]:
    now = datetime.now(UTC)
    planned = {bond.adhesive: bond.state for bond in target.stack.bonds if bond.is_bonded}
    texts = [
        disagreement(name, planned[name], clock.state(now))
        for clock in session.log.running_clocks()
        if (name := clock.adhesive.name) in planned
    ]
    return [text for text in dict.fromkeys(texts) if text]
