"""Fetches what the learning rooms need from the log, and asks them; cautions that go with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import streamlit as st

from advisor.bonding.clock import disagreement
from advisor.coupons.coverage import CURED_WITHOUT_TEST, Coverage, CoverState
from advisor.coupons.joint import LoggedCoupon
from advisor.coupons.rules import ShopRules
from advisor.learning.model import MachineModel
from advisor.learning.suggestion import Suggestion, suggest
from advisor.pages.parts.cards import joint_card
from advisor.pages.parts.joint_choice import Target
from advisor.pages.session import Session
from advisor.weld.cautions import CURED
from advisor.weld.stack import AdhesiveState


@dataclass(frozen=True)
class Advice:
    """A suggestion, and what it was drawn from.

    Parameters
    ----------
    suggestion : Suggestion
        The next setting to try on a coupon.
    model : MachineModel
        The model of the machine, fitted to `coupons`.
    coupons : list of LoggedCoupon
        The machine's coupons that count.
    rules : ShopRules
        The shop's rules.
    """

    suggestion: Suggestion
    model: MachineModel
    coupons: list[LoggedCoupon]
    rules: ShopRules


def advice(session: Session, target: Target) -> Advice:
    """Return the next setting to try on a coupon; `NoAdviceError` says why there is none."""
    coupons, rules = session.log.coupons_for_learning(target.machine.name), session.log.rules()
    model = MachineModel(rules).fit(coupons)
    found = suggest(model, target.stack, target.machine, target.caps, rules, coupons)
    return Advice(found, model, coupons, rules)


def last_coupon(session: Session, target: Target) -> LoggedCoupon | None:
    """Return the newest coupon of this stack on this machine, voided ones left out."""
    coupons = session.log.coupons_for_learning(target.machine.name)
    same = [c for c in coupons if c.coupon.stack.same_as(target.stack)]
    return max(same, key=lambda c: (c.coupon.made_at, c.number), default=None)


def show_joint(session: Session, target: Target) -> Coverage | None:
    """Draw the joint's card, what its adhesive clock says, and the cautions of cured adhesive."""
    coverage = None
    if target.joint is not None:
        coverage = session.log.coverage(target.joint)
        st.html(joint_card(target.joint, coverage, session))
    for text in _clocks_that_differ(session, target):
        st.warning(text)
    if target.stack.adhesive_state is AdhesiveState.CURED:
        if coverage is None:
            st.warning(CURED_WITHOUT_TEST)
        if coverage is None or coverage.state is not CoverState.COVERED:
            st.warning(CURED)
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
