"""The shop's rules: when a coupon passes, when it speaks for a joint, where a setting starts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

import streamlit as st

from advisor.coupons.rules import (
    CoverageRules,
    ExpulsionRule,
    InterfaceFailureRule,
    JudgingRules,
    ShopRules,
)
from advisor.language import msg, say
from advisor.pages.parts.drafts import draft, keep_or_show_both, started
from advisor.pages.session import Session
from advisor.weld.published import UNCOATED, Schedule
from advisor.weld.size import GoverningRule, SizeRule

_FORM = "rules"


def rules_tab(session: Session) -> None:
    """Draw the rules that hold for the shop."""
    now = session.log.rules()
    with draft(session, _FORM) as key:
        build = _ask_rules(key, started(key, now))
        pressed = st.button(say("Keep the rules"), type="primary", key=f"keep-{key}")
    st.caption(say("Verdicts already given keep the rules they were given by."))

    def save(start: ShopRules) -> None:
        session.log.save_rules(build(), session.who, started_from=start)

    done = say("Rules kept; they hold from the next coupon on.")
    if keep_or_show_both(session, _FORM, now, pressed=pressed, action=save, done=done):
        st.rerun()


def _ask_rules(key: str, rules: ShopRules) -> Callable[[], ShopRules]:
    """Ask for the rules; what is returned builds them, or says what cannot be."""
    judging = _ask_judging(key, rules.judging)
    coverage = _ask_coverage(key, rules.coverage)
    st.markdown(say("**Where a first setting comes from**"))
    bare = _pick_rule(key, msg("Uncoated steel"), UNCOATED, rules.bare_schedule)
    st.markdown(say("**When caps are dressed**"))
    welds = st.number_input(
        say("Dress the caps after so many welds (empty: not set)"),
        value=rules.dress_after_welds,
        step=10,
        key=f"{key}·dress",
    )
    return lambda: ShopRules(judging(), coverage(), bare, welds)


def _ask_judging(key: str, now: JudgingRules) -> Callable[[], JudgingRules]:
    st.caption(
        say(
            "Filled in is what holds now. Where nobody has changed it, that is where this tool "
            "begins; the reason stands beside it."
        )
    )
    st.markdown(say("**When a coupon passes**"))
    k = st.number_input(
        say("k in k√t [√mm]"), value=now.size.k, step=0.5, format="%g", key=f"{key}·k"
    )
    st.caption(say("Minimum size 4√t: AWS D8.1M / D8.9M, from memory."))
    governing = _pick_rule(
        key, msg("Which thickness is t"), list(GoverningRule), now.size.governing
    )
    failure = _pick_rule(
        key,
        msg("Failure through the interface"),
        list(InterfaceFailureRule),
        now.interface_failure,
    )
    expulsion = _pick_rule(key, msg("Expulsion"), list(ExpulsionRule), now.expulsion)
    aspect = st.number_input(
        say("Largest diameter ratio (limit from memory)"),
        value=now.largest_aspect,
        format="%g",
        key=f"{key}·aspect",
    )
    return lambda: JudgingRules(SizeRule(k, governing), failure, expulsion, aspect)


def _ask_coverage(key: str, now: CoverageRules) -> Callable[[], CoverageRules]:
    st.markdown(say("**When coupons speak for a joint** (common practice, no source)"))
    left, right = st.columns(2)
    with left:
        passes = st.number_input(
            say("Passes in a row"), value=now.passes_in_a_row, step=1, key=f"{key}·passes"
        )
        tolerance = st.number_input(
            say("Thickness tolerance [mm]"),
            value=now.thickness_tolerance_mm,
            step=0.01,
            key=f"{key}·tolerance",
        )
    with right:
        unbonded = st.number_input(
            say("Coupons count for [days], unbonded"),
            value=now.unbonded_days,
            step=1,
            key=f"{key}·unbonded",
        )
        bonded = st.number_input(
            say("Coupons count for [days], bonded, same job"),
            value=now.bonded_days,
            step=1,
            key=f"{key}·bonded",
        )
    return lambda: CoverageRules(passes, tolerance, unbonded, bonded)


R = TypeVar("R", GoverningRule, InterfaceFailureRule, ExpulsionRule, Schedule)


def _pick_rule(key: str, words: str, options: Sequence[R], now: R) -> R:
    """Ask for a rule; the field is named after the English words, which drafts are kept by."""
    chosen = st.selectbox(
        say(words),
        options,
        index=options.index(now),
        format_func=lambda rule: rule.label,
        key=f"{key}·{words}",
    )
    st.caption(chosen.source)
    return chosen
