"""What was released when, by whom, on which coupons; what voids, ages or waits; caps to dress."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta
from html import escape

import pandas as pd
import streamlit as st

from advisor.pages.parts.cards import bullets, state
from advisor.pages.parts.chart_files import to_csv
from advisor.pages.parts.plain import closed
from advisor.pages.review.filters import drifts, mark_of, today
from advisor.pages.session import Session
from advisor.store.auditing import MOST_RELEASES, SOON, Released, Waiting, expiring
from advisor.store.lead import dressing, numbered, setting_words

_PERIODS = {"7 days": 7, "30 days": 30, "90 days": 90, "a year": 365}


def show(session: Session) -> None:
    """Draw the view."""
    period = st.segmented_control(
        "Of the last",
        list(_PERIODS),
        default="30 days",
        key="for",
        required=True,
        bind="query-params",
    )
    days = timedelta(days=_PERIODS[period or "30 days"] - 1)
    since = datetime.combine(today() - days, time(), UTC)
    until = datetime.combine(today() + timedelta(days=1), time(), UTC)
    released = session.log.releases_between(since, until)
    _releases(session, released)
    _voided(session, since, until)
    _joints(session.log.waiting())
    _dressing(session)


def _releases(session: Session, released: Sequence[Released]) -> None:
    st.subheader(f"Releases: {len(released)}")
    if not released:
        st.info("No joint was released in this period.")
        return
    for each in released:
        st.html(_release_card(each))
    if len(released) == MOST_RELEASES:
        st.caption(f"The newest {MOST_RELEASES} are shown; choose a shorter period for the rest.")
    st.download_button(
        "Releases as CSV",
        data=lambda: to_csv(_table(released), mark_of(session)),
        file_name="releases.csv",
        mime="text/csv",
        on_click="ignore",
        key="releases-csv",
    )


def _release_card(each: Released) -> str:
    joint, release = each.joint, each.release
    tone, mark, words = "good", "✓", "Released"
    if each.reopened:
        tone, mark, words = "bad", "✕", "Open again"
    elif each.followed_by:
        tone, mark, words = "doubt", "→", f"Released anew: {each.followed_by}"
    was = "proven setting" if each.stands else "no longer to be used; was the proven setting"
    coupons = ", ".join(numbered(release.evidence))
    said = [
        f"By {release.by}, {release.at:%Y-%m-%d %H:%M} UTC, on {joint.machine}",
        f"{was} of {coupons}: {setting_words(release.setting)}",
        *each.reopened,
        *([release.note] if release.note else []),
    ]
    return (
        f'<div class="card {tone}">{state(tone, closed(words), mark)}'
        f'<div class="name">{escape(closed(f"{joint.job} · {joint.name}"))}</div>'
        f"{bullets(map(closed, said))}</div>"
    )


def _table(released: Sequence[Released]) -> pd.DataFrame:
    return pd.DataFrame(
        [
            {
                "job": each.joint.job,
                "joint": each.joint.name,
                "machine": each.joint.machine,
                "released_by": each.release.by,
                "released_at": each.release.at.isoformat(),
                "coupons": ", ".join(numbered(each.release.evidence)),
                "proven_setting": setting_words(each.release.setting),
                "stands": each.stands,
                "why_not": "; ".join(each.reopened) or each.followed_by,
                "note": each.release.note,
            }
            for each in released
        ]
    )


def _voided(session: Session, since: datetime, until: datetime) -> None:
    voided = session.log.voided_between(since, until)
    st.subheader(f"Voided coupons: {len(voided)}")
    lines = [
        f"#{each.number}, {each.at:%Y-%m-%d} by {each.by}: {each.why}"
        + (f" – RELEASED ON IT: {'; '.join(each.releases)}" if each.releases else "")
        for each in voided
    ]
    if lines:
        st.html(f'<div class="card">{bullets(map(closed, lines))}</div>')


def _joints(waiting: Sequence[Waiting]) -> None:
    without = [each for each in waiting if each.lacks_coupons]
    soon = expiring(waiting, datetime.now(UTC))
    st.subheader(f"Joints without their coupons: {len(without)}")
    lines = [
        f"{each.stored.joint.job} · {each.stored.joint.name}: {each.coverage.headline}"
        for each in without
    ]
    if lines:
        st.html(f'<div class="card">{bullets(map(closed, lines))}</div>')
    st.subheader(f"Coverage that ends within {SOON.days} days: {len(soon)}")
    lines = [
        f"{each.stored.joint.job} · {each.stored.joint.name}: until {each.ends_at:%Y-%m-%d %H:%M} "
        "UTC, not released yet"
        for each in soon
    ]
    if lines:
        st.html(f'<div class="card">{bullets(map(closed, lines))}</div>')


def _dressing(session: Session) -> None:
    st.subheader("Dressing of the caps")
    due = dressing(session.log, drifts(session))
    lines = [
        f"{name}: {'OVERDUE, ' if each.is_overdue else ''}{each.words}"
        for name, each in due.items()
    ]
    st.html(f'<div class="card">{bullets(map(closed, lines))}</div>')
    st.caption(
        "The shop's own count of welds between dressings is set under Shop set-up, Rules. The "
        "count of a machine's own coupons comes from the wear of its caps (view Drift)."
    )
