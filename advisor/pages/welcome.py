"""First run: look round the demo shop, or set up this shop in one form."""

from __future__ import annotations

from datetime import UTC, datetime

import streamlit as st

from advisor.errors import AdvisorError
from advisor.pages.parts.entry import pick, quantity
from advisor.pages.parts.plain import plain
from advisor.pages.session import DEMO, Session, change_person, enter
from advisor.store.rows import name_key
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine


def show(session: Session) -> None:
    """Draw the page."""
    st.title("Prove the setting on a coupon first")
    st.write(
        "Weld coupons from the same sheets, surfaces and adhesive as the joint, peel them, measure "
        "the button. This tool keeps the coupons, judges them, proposes the next setting and says "
        "which joint has no test yet."
    )
    left, right = st.columns(2)
    with left, st.container(border=True):
        st.subheader("Look round first")
        st.write("An invented shop with two machines, four welders and some 60 coupons.")
        if st.button("Open the demo shop", type="primary", width="stretch"):
            enter(DEMO)
            st.rerun()
        st.caption("It is a database of its own: nothing in it can mix with your records.")
    with right, st.container(border=True):
        st.subheader("Set up this shop")
        _first_form(session)


def _first_form(session: Session) -> None:
    with st.form("first", border=False):
        who = st.text_input("Your name", value=session.who, disabled=session.visit is not None)
        name = st.text_input("Machine", placeholder="what you call it")
        current = quantity("Largest current", "current", "first·current", session.units)
        force = quantity("Largest force", "force", "first·force", session.units)
        mains = st.segmented_control("Mains [Hz]", [50, 60], key="first·mains")
        is_inverter = st.toggle("Inverter (time in ms)", value=True)
        shape = pick("Cap shape", list(CapShape), "first·shape")
        face = quantity("Cap face diameter", "diameter", "first·face", session.units)
        ready = st.form_submit_button("Start the log", type="primary", width="stretch")
    if not ready:
        return
    missing = [
        words
        for words, value in (
            ("your name", who.strip()),
            ("the machine's name", name.strip()),
            ("its largest current", current),
            ("its largest force", force),
            ("the mains frequency", mains),
            ("the face diameter of the caps", face),
        )
        if not value
    ]
    if missing or current is None or force is None or mains is None or face is None:
        st.error("Please give " + ", ".join(missing) + ".")
        return
    try:
        machine = Machine(name.strip(), current, force, float(mains), is_inverter)
        caps = Electrode(shape, face)
        if name_key(who) not in map(name_key, session.log.welders()):
            session.log.add_welder(who, who)
        session.log.save_machine(machine, who)
        session.log.fit_caps(machine.name, caps, datetime.now(UTC), who)
    except AdvisorError as error:
        st.error(plain(error))
        return
    change_person(who.strip())
    st.session_state["said"] = "The log is ready. Add the first joint."
    st.rerun()
