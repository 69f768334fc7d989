"""Correcting or voiding a coupon: a new revision with its reason; the earlier ones stay."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from advisor.coupons.joint import LoggedCoupon
from advisor.errors import AdvisorError
from advisor.language import say
from advisor.pages.parts.cards import coupon_line
from advisor.pages.parts.drafts import draft, forget, keep_or_show_both, started
from advisor.pages.parts.entry import attempt
from advisor.pages.parts.plain import plain
from advisor.pages.parts.result_entry import FLAGS, ask_flags, ask_results, results_from
from advisor.pages.session import Session


def revise(session: Session, recent: list[LoggedCoupon]) -> None:
    """Draw the entry for the newest coupon, or for any number."""
    number = st.number_input(say("Coupon number"), value=recent[0].number, min_value=1, step=1)
    try:
        logged = session.log.coupon(int(number))
    except AdvisorError as error:
        st.error(plain(error))
        return
    st.markdown(coupon_line(logged, session))
    for revision in session.log.history(logged.number)[1:]:
        st.caption(
            say(
                "Revision {revision}, {at:%Y-%m-%d %H:%M}, {person}: {why}",
                revision=revision.logged.revision,
                at=revision.at.astimezone(),
                person=plain(revision.by),
                why=plain(revision.why),
            )
        )
    if not logged.voided:
        _form(session, logged)


def _form(session: Session, logged: LoggedCoupon) -> None:
    coupon, form = logged.coupon, f"revise·{logged.number}"
    with draft(session, form) as key:
        first = started(key, logged)
        typed = ask_results(session.units, coupon.stack, key, first.coupon.results, logged.number)
        flags = ask_flags(key, {name: getattr(first.coupon, name) for name in FLAGS})
        why = st.text_input(say("Reason for the correction or the void"), key=f"{key}·why")
        left, right = st.columns(2)
        with left:
            corrected = st.button(say("Correct the result"), width="stretch", key=f"correct-{key}")
        with right:
            voided = st.button(say("Void the coupon"), width="stretch", key=f"void-{key}")

    def correct(start: LoggedCoupon) -> None:
        new = replace(
            coupon,
            results=results_from(typed),
            expulsion=flags["expulsion"],
            edge_weld=flags["edge_weld"],
            cracks=flags["cracks"],
        )
        number, who = logged.number, session.who
        session.log.correct_coupon(number, new, who, why, revision=start.revision)

    done = say("Coupon #{coupon} corrected.", coupon=logged.number)
    if keep_or_show_both(session, form, logged, pressed=corrected, action=correct, done=done) or (
        voided
        and attempt(
            lambda: session.log.void_coupon(logged.number, session.who, why),
            say("Coupon #{coupon} voided; it no longer counts.", coupon=logged.number),
        )
    ):
        forget(session, form)
        st.rerun()
