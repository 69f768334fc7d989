"""The record of a job and labels for its coupons: made when asked, then offered as files."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta

import streamlit as st

from advisor.bonding.preparation import findings
from advisor.errors import AdvisorError, RecordError
from advisor.language import ENGLISH, language, msg, say, speaking
from advisor.pages.parts.plain import plain
from advisor.pages.session import Session
from advisor.record.entries import ClockRun, CouponEntry, JointEntry, PhotoEntry
from advisor.record.files import to_csv, to_json
from advisor.record.job_record import JobRecord, Printing, make_record
from advisor.record.labels import DEFAULT_GRID, labels_pdf
from advisor.record.pdf import job_pdf
from advisor.record.pictures import print_copy, share_bytes
from advisor.store.log import Log
from advisor.store.photos import KeptPhoto
from advisor.store.releases import JointState

#: A message for `say`.
MAKE = msg("Make the record")
#: More coupons than any job has.
_ALL = 100_000
#: Adhesive mixed for the coupons of a job before somebody entered the job.
_BEFORE_THE_JOB = timedelta(days=1)
SHOP, PLACE = "record_shop", "record_place"


def show(session: Session, job: str) -> None:
    """Ask for what the record needs, and offer it when it is made."""
    known = session.log.preferences(session.who) if session.who else {}
    left, right = st.columns(2)
    with left:
        shop = st.text_input(say("Shop name on the record"), known.get(SHOP, ""), key=SHOP).strip()
    with right:
        place = st.text_input(say("Place"), known.get(PLACE, ""), key=PLACE).strip()
    first = st.number_input(
        say("First free label ({grid})", grid=DEFAULT_GRID.words()),
        min_value=1,
        max_value=DEFAULT_GRID.on_a_sheet,
        value=1,
        key="record_label",
    )
    if not st.button(say(MAKE), key=f"record·{job}"):
        return
    if not shop:
        st.error(say("Whose record is it? Give the shop's name first."))
        return
    try:
        with st.spinner(say("Making the record …")):
            record = gather(session.log, job, shop, place, session.who)
            english = _in_english(session.log, record)
    except AdvisorError as error:
        st.error(plain(error))
        return
    if session.who and (known.get(SHOP), known.get(PLACE)) != (shop, place):
        session.log.save_preferences(session.who, {SHOP: shop, PLACE: place})
    _offer(record, english, int(first))


def gather(
    log: Log, job: str, shop: str, place: str, by: str, now: datetime | None = None
) -> JobRecord:
    """Return the record of a job as the log stands now.

    Parameters
    ----------
    log : Log
        The shop's log.
    job : str
        Repair order.
    shop, place : str
        Whose record it is, and where.
    by : str
        Who makes it.
    now : datetime, optional
        Moment of making, with its time zone; the computer's when left out.
    """
    now = now or datetime.now().astimezone()
    joints = [_joint(log, state) for state in log.joint_states(job, now)]
    return make_record(
        Printing(shop, place, job, now, by, log.is_demo, log.is_copy),
        joints,
        _coupons(log, job, joints),
        log.rules(),
        machines=log.machines(),
        adhesives=log.adhesives(),
        clocks=[
            ClockRun(each.adhesive, each.used_for, each.mixed_at, each.readings, each.stopped_at)
            for each in log.clocks_since(log.job_opened_at(job) - _BEFORE_THE_JOB)
        ],
        # Last of all, so that every entry of the record is older.
        log_seal=log.last_seal(),
    )


def _in_english(log: Log, record: JobRecord) -> JobRecord:
    """Return a record as files that programs read need it: what it says of joints in English."""
    if language() == ENGLISH:
        return record
    with speaking(ENGLISH):
        states = log.joint_states(record.printing.job, record.printing.at)
        return replace(record, joints=tuple(_joint(log, state) for state in states))


def _joint(log: Log, state: JointState) -> JointEntry:
    joint = state.stored.joint
    bonded = joint.stack.is_bonded
    return JointEntry(
        joint,
        state.coverage,
        state.release,
        state.reopened,
        findings(log.checks(state.stored.id)) if bonded else (),
        log.recommendation(joint.machine, joint.stack),
    )


def _coupons(log: Log, job: str, joints: list[JointEntry]) -> list[CouponEntry]:
    numbers = {each.number for each in log.recent_coupons(_ALL, job=job)}
    numbers |= {number for each in joints for number in each.numbers}
    kept = {number: log.photos(number) for number in sorted(numbers)}
    most = share_bytes(sum(map(len, kept.values())))
    found = []
    for number, photos in kept.items():
        newest = log.history(number)[-1]
        said = (newest.logged, newest.by, newest.at, newest.why, newest.rules)
        found.append(CouponEntry(*said, tuple(_photo(log, each, most) for each in photos)))
    return found


def _photo(log: Log, kept: KeptPhoto, most_bytes: int) -> PhotoEntry:
    """Return a photo with its copy for the print; one that is lost does not hold up the record."""
    try:
        copy = print_copy(log.photo_data(kept.sha256), most_bytes)
    except RecordError:
        copy = b""
    return PhotoEntry(kept.sha256, kept.by, kept.at, kept.width_px, kept.height_px, copy)


def _offer(record: JobRecord, english: JobRecord, first: int) -> None:
    printing = record.printing
    name = "record-" + (re.sub(r"[^A-Za-z0-9._-]+", "-", printing.job).strip("-.") or "job")
    columns = st.columns(3)
    for column, (words, data, ending, mime) in zip(
        columns,
        (
            (say("Record as PDF"), job_pdf(record), "pdf", "application/pdf"),
            (say("Record as JSON"), to_json(english), "json", "application/json"),
            (say("Coupons as CSV"), to_csv(english), "csv", "text/csv"),
        ),
        strict=True,
    ):
        with column:
            st.download_button(
                words,
                data=data,
                file_name=f"{name}.{ending}",
                mime=mime,
                on_click="ignore",
            )
    coupons = [each.logged for each in record.coupons if not each.logged.voided]
    if not coupons:
        st.caption(say("No coupon of this job needs a label."))
        return
    st.download_button(
        say("{coupons} coupon labels as PDF", coupons=len(coupons)),
        data=labels_pdf(coupons, printing.at, first=first, mark=printing.mark),
        file_name=f"labels-{name.removeprefix('record-')}.pdf",
        mime="application/pdf",
        on_click="ignore",
    )
