"""What stands where nothing is to be seen yet: what is missing, and the way to it."""

from __future__ import annotations

import streamlit as st

from advisor.language import msg, say
from advisor.pages.session import Session, go_to

_NO_MACHINE = msg("No machine is entered yet: add one under Shop set-up.")


def way(
    session: Session, words: str, button: str, page: str, tab: str = "", *, where: str = ""
) -> None:
    """Say what is missing and offer the page where it is entered.

    Parameters
    ----------
    session : Session
        Who goes there.
    words : str
        What is missing, and what comes of it.
    button : str
        What the button says.
    page : str
        Address of the page it leads to.
    tab : str
        Which tab is open there, where the page has any.
    where : str
        Tells it from another on the same page that says the same.
    """
    st.info(words)
    go_button(session, button, page, tab, where=where)


def go_button(
    session: Session,
    button: str,
    page: str,
    tab: str = "",
    *,
    primary: bool = False,
    where: str = "",
) -> None:
    """Draw a button that leads to another page.

    Parameters
    ----------
    session : Session
        Who goes there.
    button : str
        What it says.
    page : str
        Address of the page it leads to.
    tab : str
        Which tab is open there, where the page has any.
    primary : bool
        Whether it is what to do next.
    where : str
        Tells it from another on the same page that says the same.
    """
    key = f"way·{page}·{tab}·{button}·{where}"
    if st.button(button, type="primary" if primary else "secondary", key=key):
        go_to(page, session, tab=tab)


def nothing_logged(session: Session, words: str) -> bool:
    """Say that no coupon is logged yet, and what comes of it, where that is so; return whether.

    Parameters
    ----------
    session : Session
        The log and who looks at it.
    words : str
        What will be seen here.
    """
    if session.log.counts()["coupons"]:
        return False
    words = say("No coupon is logged yet. {then}", then=words)
    way(session, words, say("Log the first coupon"), "coupon")
    return True


def no_joint_yet(session: Session) -> None:
    """Say in a new shop that a coupon which is to cover a joint needs the joint first."""
    if session.log.joint_names() or session.log.recent_coupons(1):
        return
    words = say(
        "No joint is entered yet. A coupon covers a bonded joint only when it is logged for that "
        "joint's job: add the joint first. For practice, describe any stack here."
    )
    way(session, words, say("Add the first joint"), "before")


def no_machine(session: Session, where: str) -> None:
    """Say that no machine is entered, and offer to enter one.

    Parameters
    ----------
    session : Session
        Who goes there.
    where : str
        Tells this place from another on the same page.
    """
    way(session, say(_NO_MACHINE), say("Enter the machine"), "shop", "machines", where=where)
