"""What was released when, by whom, on which coupons; what voids, ages or waits; caps to dress."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta
from html import escape

import pandas as pd
import streamlit as st

from advisor.language import ENGLISH, msg, say, speaking
from advisor.pages.parts import addressed
from advisor.pages.parts.cards import bullets, state
from advisor.pages.parts.chart_files import to_csv
from advisor.pages.parts.plain import closed
from advisor.pages.parts.ways import way
from advisor.pages.review.filters import PERIODS, drifts, mark_of, today
from advisor.pages.review.remedies import to_caps, to_jobs
from advisor.pages.session import Session
from advisor.store.auditing import MOST_RELEASES, SOON, Released, Voided, Waiting, expiring
from advisor.store.lead import dressing, in_order, lacking_words, numbered, setting_words


def show(session: Session) -> None:
    """Draw the view."""
    period = addressed.choose(
        st.segmented_control,
        say("Of the last"),
        list(PERIODS),
        say,
        key="for",
        first="30 days",
        required=True,
    )
    days = timedelta(days=PERIODS[period] - 1)
    since = datetime.combine(today() - days, time(), UTC)
    until = datetime.combine(today() + timedelta(days=1), time(), UTC)
    _releases(session, since, until)
    _voided(session, since, until)
    _joints(session)
    _dressing(session)


def _releases(session: Session, since: datetime, until: datetime) -> None:
    released = session.log.releases_between(since, until)
    st.subheader(say("Releases: {count}", count=len(released)))
    if not released:
        words = say(
            "No joint was released in this period. A covered joint is released on its card, on the "
            "page Before welding."
        )
        way(session, words, say("Before welding"), "before")
        return
    for each in released:
        st.html(_release_card(session, each))
    if len(released) == MOST_RELEASES:
        st.caption(
            say(
                "The newest {count} are shown; choose a shorter period for the rest.",
                count=MOST_RELEASES,
            )
        )

    def make() -> bytes:
        with speaking(ENGLISH):
            again = session.log.releases_between(since, until)
            return to_csv(_table(again), mark_of(session))

    st.download_button(
        say("Releases as CSV"),
        data=make,
        file_name="releases.csv",
        mime="text/csv",
        on_click="ignore",
        key="releases-csv",
    )


def _release_card(session: Session, each: Released) -> str:
    joint, release = each.joint, each.release
    tone, mark, words = "good", "✓", say("Released")
    if each.reopened:
        tone, mark, words = "bad", "✕", say("Open again")
    elif each.followed_by:
        tone, mark = "doubt", "→"
        words = say("Released anew: {by}", by=each.followed_by)
    dials = session.units.dials(release.setting, session.calibration(joint.machine))
    said = [
        say(
            "By {person}, {moment:%d %b %Y %H:%M}, on {machine}",
            person=release.by,
            moment=release.at.astimezone(),
            machine=joint.machine,
        ),
        say(
            _PROVEN[each.stands],
            coupons=", ".join(numbered(release.evidence)),
            setting=", ".join(dials),
        ),
        *each.reopened,
        *([release.note] if release.note else []),
    ]
    return (
        f'<div class="card {tone}">{state(tone, closed(words), mark)}'
        f'<div class="name">{escape(closed(f"{joint.job} · {joint.name}"))}</div>'
        f"{bullets(map(closed, said))}</div>"
    )


#: What the setting of a release is, by whether it stands.
_PROVEN = {
    True: msg("proven setting of {coupons}: {setting}"),
    False: msg("no longer to be used; was the proven setting of {coupons}: {setting}"),
}


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
    st.subheader(say("Voided coupons: {count}", count=len(voided)))
    _card([_voided_words(each) for each in voided])


def _voided_words(each: Voided) -> str:
    return say(
        _VOIDED_AND_RELEASED if each.releases else _VOIDED,
        number=each.number,
        day=each.at.astimezone(),
        person=each.by,
        reason=each.why,
        releases="; ".join(each.releases),
    )


_VOIDED = msg("#{number}, {day:%d %b %Y} by {person}: {reason}")
_VOIDED_AND_RELEASED = msg(
    "#{number}, {day:%d %b %Y} by {person}: {reason} – RELEASED ON IT: {releases}"
)


def _card(lines: Sequence[str]) -> None:
    if lines:
        st.html(f'<div class="card">{bullets(map(closed, lines))}</div>')


def _joints(session: Session) -> None:
    waiting = in_order(session.log.waiting())
    without = [each for each in waiting if each.lacks_coupons]
    soon = expiring(waiting, datetime.now(UTC))
    st.subheader(say("Joints without their coupons: {count}", count=len(without)))
    _card([_lacking(each) for each in without])
    with st.container(key="ways-without", horizontal=True):
        to_jobs(session, (each.stored.joint.job for each in without), "without")
    st.subheader(
        say("Coverage that ends within {days} days: {count}", days=SOON.days, count=len(soon))
    )
    _card(
        [
            say(
                "{joint}: until {moment:%d %b %Y %H:%M}, not released yet",
                joint=_name(each),
                moment=each.ends_at.astimezone(),
            )
            for each in soon
            if each.ends_at is not None
        ]
    )


def _lacking(each: Waiting) -> str:
    return say(
        "{joint}: {headline}; {what}",
        joint=_name(each),
        headline=each.coverage.headline,
        what=lacking_words(each.coverage),
    )


def _name(each: Waiting) -> str:
    return f"{each.stored.joint.job} · {each.stored.joint.name}"


def _dressing(session: Session) -> None:
    st.subheader(say("Dressing of the caps"))
    due = dressing(session.log, drifts(session))
    lines = [
        say("{machine}: OVERDUE, {due}", machine=name, due=each.words)
        if each.is_overdue
        else f"{name}: {each.words}"
        for name, each in due.items()
    ]
    _card(lines)
    if any(each.is_overdue for each in due.values()):
        to_caps(session, "evidence")
    st.caption(
        say(
            "The shop's own count of welds between dressings is set under Shop set-up, Rules. The "
            "count of a machine's own coupons comes from the wear of its caps (view Drift)."
        )
    )
