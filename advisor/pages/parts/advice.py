"""Fetches what the learning rooms need from the log, and asks them."""

from __future__ import annotations

from advisor.coupons.joint import LoggedCoupon
from advisor.learning.model import MachineModel
from advisor.learning.suggestion import Suggestion, suggest
from advisor.pages.parts.joint_choice import Target
from advisor.pages.session import Session
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine


def fitted_model(session: Session, machine: str) -> tuple[MachineModel, list[LoggedCoupon]]:
    """Return the model of one machine, fitted to its own coupons, and those coupons."""
    coupons = session.log.coupons_for_learning(machine)
    return MachineModel(session.log.rules()).fit(coupons), coupons


def advice(session: Session, target: Target, machine: Machine, caps: Electrode) -> Suggestion:
    """Return the next setting to try on a coupon; `NoAdviceError` says why there is none."""
    model, coupons = fitted_model(session, machine.name)
    return suggest(model, target.stack, machine, caps, session.log.rules(), coupons)


def last_coupon(session: Session, target: Target) -> LoggedCoupon | None:
    """Return the newest coupon of this stack on this machine, voided ones left out."""
    coupons = session.log.coupons_for_learning(target.machine)
    same = [c for c in coupons if c.coupon.stack.same_as(target.stack)]
    return max(same, key=lambda c: (c.coupon.made_at, c.number), default=None)
