"""Choosing what a coupon is for: a joint of a job, or a stack that belongs to none."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from advisor.coupons.joint import Joint
from advisor.language import ENGLISH, say, speaking
from advisor.pages.parts.plain import plain
from advisor.pages.parts.stack_entry import ask_stack
from advisor.pages.parts.ways import go_button, no_machine
from advisor.pages.session import Session
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.stack import Stack

_FREE = 0
#: Digits that no number of a joint has.
_LONGEST_NUMBER = 19
_LOOKED_AT = "joint·looked-at"


@dataclass(frozen=True)
class Target:
    """What is to be tested, on which machine, with which caps.

    Parameters
    ----------
    stack : Stack
        The stack.
    machine : Machine
        Machine.
    caps : Electrode
        Caps fitted on it now.
    joint : Joint or None
        The joint it is for, if any.
    key : str
        Part of widget keys: another target starts with fresh fields.
    """

    stack: Stack
    machine: Machine
    caps: Electrode
    joint: Joint | None
    key: str


def ask_target(session: Session) -> Target | None:
    """Ask for a joint of an open job, or for a free stack and a machine."""
    names = session.log.joint_names()
    options = [*sorted(names, reverse=True), _FREE]
    before = int(st.query_params.get("joint", "-1")) if _is_number() else -1

    # Set once, and not named after the address: that changes with the choice, and a widget of
    # another name or start would forget it.
    key = f"target·{len(options)}"
    if key not in st.session_state:
        asked = (before, st.session_state.get(_LOOKED_AT), options[0])
        st.session_state[key] = next(each for each in asked if each in options)
    chosen = st.selectbox(
        say("For which joint?"),
        options,
        format_func=lambda n: names.get(n) or say("another stack …"),
        key=key,
    )
    if chosen != before:
        # In the address, so that a reload comes back to the same joint.
        st.query_params["joint"] = str(chosen)
    if chosen != _FREE:
        joint = session.log.joint(chosen).joint
        return _with_caps(session, joint.stack, joint.machine, joint, f"joint{chosen}")
    return _free_target(session)


def remember_joint(number: int) -> None:
    """Let the next choice of a joint begin with the one that was looked at last.

    Parameters
    ----------
    number : int
        Number of the joint in the log.
    """
    st.session_state[_LOOKED_AT] = number


def _is_number() -> bool:
    asked = st.query_params.get("joint", "")
    return asked.isdecimal() and len(asked) < _LONGEST_NUMBER


def _free_target(session: Session) -> Target | None:
    names = [machine.name for machine in session.log.machines()]
    if not names:
        no_machine(session, "stack")
        return None
    machine = st.selectbox(say("Machine"), names, key="free·machine")
    adhesives = [adhesive.name for adhesive in session.log.adhesives()]
    stack = ask_stack(session, "free", adhesives)
    if stack is None:
        return None
    with speaking(ENGLISH):  # drafts are kept under it
        key = f"free{stack.title()}{machine}"
    return _with_caps(session, stack, machine, None, key)


def _with_caps(
    session: Session, stack: Stack, machine: str, joint: Joint | None, key: str
) -> Target | None:
    caps = session.log.bench(machine).electrode
    if caps is None:
        st.warning(
            say(
                "Say which caps are fitted on {machine} first: Shop set-up, Machines.",
                machine=plain(machine),
            )
        )
        go_button(session, say("Note the caps"), "shop", "machines", where="stack")
        return None
    return Target(stack, session.log.machine(machine), caps, joint, key)
