"""Choosing what a coupon is for: a joint of a job, or a stack that belongs to none."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from advisor.coupons.joint import Joint
from advisor.pages.parts.stack_entry import ask_stack
from advisor.pages.session import Session
from advisor.weld.stack import Stack

FREE = "another stack …"


@dataclass(frozen=True)
class Target:
    """What is to be tested on which machine.

    Parameters
    ----------
    stack : Stack
        The stack.
    machine : str
        Machine.
    joint : Joint or None
        The joint it is for, if any.
    key : str
        Part of widget keys: another target starts with fresh fields.
    """

    stack: Stack
    machine: str
    joint: Joint | None
    key: str


def ask_target(session: Session) -> Target | None:
    """Ask for a joint of an open job, or for a free stack and a machine."""
    stored = {
        f"{each.joint.job} · {each.joint.name}": (each.id, each.joint)
        for job in session.log.jobs()
        for each in session.log.joints(job)
    }
    options = [*stored, FREE]
    before = st.session_state.get("target")
    chosen = st.selectbox(
        "For which joint?",
        options,
        index=options.index(before) if before in options else 0,
        key=f"target-box·{len(options)}",
    )
    st.session_state["target"] = chosen
    if chosen in stored:
        number, joint = stored[chosen]
        return Target(joint.stack, joint.machine, joint, f"joint{number}")
    return _free_target(session)


def _free_target(session: Session) -> Target | None:
    names = [machine.name for machine in session.log.machines()]
    if not names:
        st.info("No machine is entered yet: add one under Shop set-up.")
        return None
    machine = st.selectbox("Machine", names, key="free·machine")
    adhesives = [adhesive.name for adhesive in session.log.adhesives()]
    stack = ask_stack("free", session.units, adhesives)
    if stack is None:
        return None
    return Target(stack, machine, None, f"free{stack.title()}{machine}")
