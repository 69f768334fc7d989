"""The record of a job on paper."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.coupons.verdict import Outcome
from advisor.language import figure, msg, say
from advisor.record import wording
from advisor.record.entries import CouponEntry, InterfaceLine, JointEntry
from advisor.record.job_record import JobRecord
from advisor.record.paper import Paper
from advisor.record.photo_pages import photo_pages
from advisor.record.rules_words import rules_version, rules_words
from advisor.record.text import LOSSY
from advisor.weld.stack import Stack

_SUMMARY = (
    msg("Coupon"),
    msg("Welded"),
    msg("Welder"),
    msg("Machine"),
    msg("Sizes [mm]"),
    msg("Verdict"),
    msg("Evidence for"),
)
_SUMMARY_WIDTHS = (13, 26, 26, 32, 22, 20, 41)
_SIZES = (
    msg("Interface"),
    msg("Smallest"),
    msg("Largest"),
    msg("Mean"),
    msg("Minimum"),
    msg("Failure"),
)
_SIZES_WIDTHS = (36, 20, 20, 20, 34, 50)
_RULES = msg("Rules of the shop, version {version}")
_EARLIER_RULES = msg("Rules of the shop, version {version}, no longer in force")
#: A name longer than this may be cut in a heading and is written out below it.
_LONG = 40
#: About the height of a coupon's block without notes. [mm]
_COUPON_MM = 76.0


def job_pdf(record: JobRecord) -> bytes:
    """Return a record as a PDF document of A4 pages.

    Parameters
    ----------
    record : JobRecord
        The record.

    Returns
    -------
    bytes
        Every page names shop, job, time and page n of m; letters the print cannot show are
        replaced visibly, see `text.printable`.
    """
    printing = record.printing
    at = f"{printing.moment(printing.at)} {printing.zone}"
    paper = Paper(
        printing.shop,
        say("Job {job}", job=printing.job),
        say("Printed {moment} · {software}", moment=at, software=printing.software),
        printing.at,
        mark=printing.mark,
    )
    paper.add_page()
    _opening(paper, record)
    paper.heading(say("Joints of the job"))
    for place, joint in enumerate(record.joints, start=1):
        _joint(paper, record, place, joint)
    if not record.joints:
        paper.paragraph(say("No joint is entered for this job."))
    _coupons(paper, record)
    photo_pages(paper, record)
    _background(paper, record)
    return bytes(paper.output())


def _opening(paper: Paper, record: JobRecord) -> None:
    printing = record.printing
    paper.title_line(say("Weld test and release record"))
    paper.pair(say("Job"), printing.job)
    places = [text for text in (printing.shop, printing.place) if text.strip()]
    paper.pair(say("Shop, place"), ", ".join(places))
    paper.pair(say("Printed"), wording.printed_words(printing))
    paper.pair(say("Software"), printing.software)
    version = rules_version(record.rules)
    paper.pair(say("Rules"), say("version {version}, written out at the end", version=version))
    released = sum(each.is_released for each in record.joints)
    held = len(record.joints) - released
    counts = say("{released} released, {held} held", released=released, held=held)
    paper.pair(say("Joints of the job"), counts, bold=True)
    paper.pair(say("Coupons"), _counts(record.coupons))


def _counts(coupons: Sequence[CouponEntry]) -> str:
    found = [each.logged.verdict.outcome for each in coupons if not each.logged.voided]
    return say(
        "{passed} pass, {failed} fail, {open} not yet judged, {voided} voided",
        passed=found.count(Outcome.PASS),
        failed=found.count(Outcome.FAIL),
        open=found.count(Outcome.OPEN),
        voided=len(coupons) - len(found),
    )


def _joint(paper: Paper, record: JobRecord, place: int, entry: JointEntry) -> None:
    joint, printing = entry.joint, record.printing
    state = wording.state_words(entry)
    paper.band(f"{place}. {joint.name}", state, bad=not entry.is_released)
    if len(joint.name) > _LONG:
        paper.pair(say("Joint"), joint.name)
    _stack(paper, joint.stack)
    paper.pair(say("Machine"), joint.machine)
    setting = entry.release.setting if entry.is_released and entry.release else joint.setting
    label = say("Setting released") if entry.is_released else say("Setting planned")
    paper.pair(label, wording.setting_words(setting) if setting else say("left to the coupons"))
    paper.pair(say("Original welds"), _original_welds(entry))
    paper.pair(say("Coverage"), wording.coverage_words(entry))
    paper.pair(say("Held because"), wording.held_words(entry), bold=True)
    paper.pair(say("Release"), wording.release_words(entry, printing))
    paper.pair(say("Cured adhesive"), wording.maker_words(entry, printing), bold=True)
    paper.pair(say("Preparation"), wording.checks_words(entry, printing))


def _original_welds(entry: JointEntry) -> str:
    joint = entry.joint
    count = say(wording.NOT_SAID) if joint.welds is None else str(joint.welds)
    if joint.pitch_mm is None:
        return say("{count}; pitch not written down", count=count)
    return say("{count}, pitch {pitch:g} mm", count=count, pitch=joint.pitch_mm)


def _stack(paper: Paper, stack: Stack) -> None:
    paper.pair(say("Sheets"), wording.sheets_words(stack))
    paper.pair(say("Adhesive"), wording.bonds_words(stack))


def _coupons(paper: Paper, record: JobRecord) -> None:
    paper.heading(say("Coupons"))
    if not record.coupons:
        paper.paragraph(say("No coupon was welded for this job."))
        return
    head = [say(each) for each in _SUMMARY]
    paper.grid(head, [_summary(each, record) for each in record.coupons], _SUMMARY_WIDTHS)
    for each in record.coupons:
        _coupon(paper, record, each)


def _summary(entry: CouponEntry, record: JobRecord) -> tuple[str, ...]:
    logged, coupon = entry.logged, entry.logged.coupon
    joints = [j.joint.name for j in record.joints_of(logged.number)]
    return (
        f"#{logged.number}",
        record.printing.moment(coupon.made_at),
        coupon.welder,
        coupon.machine,
        " / ".join(wording.number(result.size_mm) for result in coupon.results),
        say("VOIDED") if logged.voided else logged.verdict.outcome.label.upper(),
        "; ".join(joints) or "–",
    )


def _coupon(paper: Paper, record: JobRecord, entry: CouponEntry) -> None:
    logged, coupon, printing = entry.logged, entry.logged.coupon, record.printing
    passes = logged.verdict.outcome is Outcome.PASS and not logged.voided
    words = wording.outcome_words(entry)
    title = say("Coupon #{number}", number=logged.number)
    paper.band(title, words, bad=not passes, room_mm=_COUPON_MM)
    paper.pair(say("Welded, tested"), wording.welded_words(coupon, printing))
    caps = wording.electrode_words(coupon.electrode, coupon.welds_since_dressing)
    paper.pair(say("Machine, caps"), f"{coupon.machine}; {caps}")
    paper.pair(say("Setting"), wording.setting_words(coupon.setting))
    _stack(paper, coupon.stack)
    paper.ln(1)
    head = [say(each) for each in _SIZES]
    paper.grid(head, [_sizes(line) for line in entry.interfaces(record.rules)], _SIZES_WIDTHS)
    paper.pair(say("Seen"), wording.seen_words(coupon))
    judged = wording.judged_words(entry, record.rules)
    paper.pair(say("Verdict"), f"{words}, {judged}", bold=True)
    paper.pair(say("Reasons"), [reason.text for reason in logged.verdict.reasons])
    joints = [each.joint.name for each in record.joints_of(logged.number)]
    paper.pair(say("Evidence for"), "; ".join(joints) or say("no joint of this job"))
    paper.pair(say("Deviations, notes"), coupon.notes or say("none written down"))
    paper.pair(say("Written down"), wording.recorded_words(entry, printing))
    paper.pair(say("Photos"), [wording.photo_words(photo, printing) for photo in entry.photos])


def _sizes(line: InterfaceLine) -> tuple[str, ...]:
    minimum = say("see reasons")
    if line.minimum_mm is not None:
        minimum = f"{figure(line.minimum_mm, '.2f')} mm = {line.formula}"
    diameters = (line.smallest_mm, line.largest_mm, line.mean_mm)
    return (
        say(
            "{place}: {upper:g} on {lower:g} mm",
            place=line.number,
            upper=line.upper_mm,
            lower=line.lower_mm,
        ),
        *(f"{wording.number(d)} mm" if d is not None else "–" for d in diameters),
        minimum,
        line.failure or say(wording.NOT_SAID),
    )


def _background(paper: Paper, record: JobRecord) -> None:
    for rules in record.rules_used():
        now = rules == record.rules
        title = say(_RULES if now else _EARLIER_RULES, version=rules_version(rules))
        _list(paper, title, rules_words(rules))
    _list(paper, say("Machines"), [wording.machine_words(each) for each in record.machines])
    clocks = [
        say("Clock: {clock}", clock=wording.clock_words(each, record.printing))
        for each in record.clocks
    ]
    adhesives = [wording.adhesive_words(each) for each in record.adhesives]
    if adhesives:
        adhesives += clocks or [say("No clock of these adhesives runs.")]
    _list(paper, say("Adhesives and their clocks"), adhesives)
    _list(paper, say("About this print"), [say(LOSSY)] if paper.is_lossy else [])
    _list(paper, say("State of the log"), wording.log_seal_words(record.log_seal))


def _list(paper: Paper, heading: str, lines: Sequence[str]) -> None:
    if lines:
        paper.heading(heading)
    for each in lines:
        paper.paragraph(each)
