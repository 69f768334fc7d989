"""First run: look round the demo shop, or set up this shop in one form."""

from __future__ import annotations

from datetime import UTC, datetime

import streamlit as st

from advisor.errors import AdvisorError
from advisor.language import say
from advisor.pages.parts import tour
from advisor.pages.parts.entry import pick, quantity
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session, change_person
from advisor.store.rows import name_key
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine


def show(session: Session) -> None:
    """Draw the page."""
    st.title(say("Prove the setting on a coupon first"))
    st.write(
        say(
            "Weld coupons from the same sheets, surfaces and adhesive as the joint, peel them, "
            "measure the button. This tool keeps the coupons, judges them, proposes the next "
            "setting and says which joint has no test yet."
        )
    )
    left, right = st.columns(2)
    with left, st.container(border=True):
        st.subheader(say("Look round first"))
        st.write(say("An invented shop with three machines, a few welders and some 400 coupons."))
        st.write(say("A guide leads you round it in five minutes."))
        if st.button(say("Open the demo shop"), type="primary", width="stretch"):
            tour.begin()
        st.caption(say("It is a database of its own: nothing in it can mix with your records."))
    with right, st.container(border=True):
        st.subheader(say("Set up this shop"))
        _first_form(session)


def _first_form(session: Session) -> None:
    with st.form("first", border=False, enter_to_submit=False):
        st.caption(
            say(
                "Current, force and mains: from the machine's plate or manual. Caps: those fitted "
                "now. Inverter and dome are filled in as the most usual (common practice, no "
                "source)."
            )
        )
        who = st.text_input(say("Your name"), value=session.who, disabled=session.visit is not None)
        name = st.text_input(say("Machine"), placeholder=say("what you call it"))
        current = quantity(say("Largest current"), "current", "first·current", session.units)
        force = quantity(say("Largest force"), "force", "first·force", session.units)
        mains = st.segmented_control(say("Mains [Hz]"), [50, 60], key="first·mains")
        is_inverter = st.toggle(say("Inverter (time in ms)"), value=True)
        shape = pick(say("Cap shape"), list(CapShape), "first·shape")
        face = quantity(say("Cap face diameter"), "diameter", "first·face", session.units)
        ready = st.form_submit_button(say("Start the log"), type="primary", width="stretch")
    if not ready:
        return
    missing = [
        words
        for words, value in (
            (say("your name"), who.strip()),
            (say("the machine's name"), name.strip()),
            (say("its largest current"), current),
            (say("its largest force"), force),
            (say("the mains frequency"), mains),
            (say("the face diameter of the caps"), face),
        )
        if not value
    ]
    if missing or current is None or force is None or mains is None or face is None:
        st.error(say("Please give {missing}.", missing=", ".join(missing)))
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
    st.session_state["said"] = say("The log is ready. Add the first joint.")
    st.rerun()
