"""The checks before a bonded joint is closed: how they stand, and the answer to the next one."""

from __future__ import annotations

from html import escape

import streamlit as st

from advisor.bonding.preparation import CHECKS, MARK, Answer, Check, Finding, findings
from advisor.language import say
from advisor.pages.parts.entry import attempt, choice
from advisor.pages.session import Session


def show(session: Session, joint_id: int) -> None:
    """Draw the checks of a joint and the form for an answer."""
    found = findings(session.log.checks(joint_id))
    st.markdown(
        say(
            "**Before it is closed** ({source}): {summary}",
            source=say(MARK),
            summary=summary(found),
        )
    )
    st.html(f"<ul class='checks'>{''.join(map(_line, found))}</ul>")
    waiting = [each.check for each in found if not each.is_right] or list(CHECKS)
    check = st.selectbox(
        say("Check"),
        list(CHECKS),
        index=CHECKS.index(waiting[0]),
        format_func=lambda each: each.text,
        # The next open one comes up by itself once this one is answered.
        key=f"check·{joint_id}·{sum(each.checked is not None for each in found)}",
    )
    _answer(session, joint_id, check)


def summary(found: tuple[Finding, ...]) -> str:
    """Say how many checks are right."""
    right = sum(each.is_right for each in found)
    if right == len(found):
        return say("all right")
    return say("{right} of {checks} right", right=right, checks=len(found))


def _line(finding: Finding) -> str:
    mark = "✓" if finding.is_right else "!"
    who = f" ({escape(finding.checked.by)})" if finding.checked else ""
    return (
        f"<li><strong>{mark}</strong> {escape(finding.check.text)} "
        f"<em>{escape(finding.text)}{who}</em></li>"
    )


def _answer(session: Session, joint_id: int, check: Check) -> None:
    key = f"check·{joint_id}·{check.key}"
    answer = choice(say("Found"), list(Answer), f"{key}·answer", Answer.DONE)
    measured = None
    if check.is_measured and answer is Answer.DONE:
        words = f"{check.quantity[0].upper()}{check.quantity[1:]} [{check.unit}]"
        measured = st.number_input(words, value=None, step=1.0, format="%.1f", key=f"{key}·value")
    if (
        st.button(say("Write it down"), key=f"{key}·write")
        and answer is not None
        and attempt(
            lambda: session.log.add_check(joint_id, check.key, answer, measured, session.who),
            say("Check written down."),
        )
    ):
        st.rerun()
