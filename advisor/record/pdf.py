"""The record of a job on paper."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.coupons.verdict import Outcome
from advisor.record import wording
from advisor.record.entries import CouponEntry, InterfaceLine, JointEntry
from advisor.record.job_record import JobRecord
from advisor.record.paper import Paper
from advisor.record.photo_pages import photo_pages
from advisor.record.rules_words import rules_version, rules_words
from advisor.record.text import LOSSY
from advisor.weld.stack import Stack

_SUMMARY = ("Coupon", "Welded", "Welder", "Machine", "Sizes [mm]", "Verdict", "Evidence for")
_SUMMARY_WIDTHS = (13, 26, 26, 32, 22, 20, 41)
_SIZES = ("Interface", "Smallest", "Largest", "Mean", "Minimum", "Failure")
_SIZES_WIDTHS = (36, 20, 20, 20, 34, 50)
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
        f"Job {printing.job}",
        f"Printed {at} · {printing.software}",
        printing.at,
        mark=printing.mark,
    )
    paper.add_page()
    _opening(paper, record)
    paper.heading("Joints")
    for place, joint in enumerate(record.joints, start=1):
        _joint(paper, record, place, joint)
    if not record.joints:
        paper.paragraph("No joint is entered for this job.")
    _coupons(paper, record)
    photo_pages(paper, record)
    _background(paper, record)
    return bytes(paper.output())


def _opening(paper: Paper, record: JobRecord) -> None:
    printing = record.printing
    paper.title_line("Weld test and release record")
    paper.pair("Job", printing.job)
    paper.pair("Shop, place", ", ".join(t for t in (printing.shop, printing.place) if t.strip()))
    made = f"{printing.moment(printing.at)} by {printing.by or wording.NOT_SAID}"
    paper.pair("Printed", f"{made}; all times {printing.zone}")
    paper.pair("Software", printing.software)
    paper.pair("Rules", f"version {rules_version(record.rules)}, written out at the end")
    released = sum(each.is_released for each in record.joints)
    held = len(record.joints) - released
    paper.pair("Joints", f"{released} released, {held} held", bold=True)
    paper.pair("Coupons", _counts(record.coupons))


def _counts(coupons: Sequence[CouponEntry]) -> str:
    counting = [each.logged for each in coupons if not each.logged.voided]
    parts = [
        f"{sum(each.verdict.outcome is outcome for each in counting)} {outcome.label}"
        for outcome in Outcome
    ]
    return ", ".join((*parts, f"{len(coupons) - len(counting)} voided"))


def _joint(paper: Paper, record: JobRecord, place: int, entry: JointEntry) -> None:
    joint, printing = entry.joint, record.printing
    state = wording.state_words(entry)
    paper.band(f"{place}. {joint.name}", state, bad=not entry.is_released)
    if len(joint.name) > _LONG:
        paper.pair("Joint", joint.name)
    _stack(paper, joint.stack)
    paper.pair("Machine", joint.machine)
    setting = entry.release.setting if entry.is_released and entry.release else joint.setting
    label = "Setting released" if entry.is_released else "Setting planned"
    paper.pair(label, wording.setting_words(setting) if setting else "left to the coupons")
    paper.pair("Original welds", _original_welds(entry))
    paper.pair("Coverage", wording.coverage_words(entry))
    paper.pair("Held because", wording.held_words(entry), bold=True)
    paper.pair("Release", wording.release_words(entry, printing))
    paper.pair("Cured adhesive", wording.maker_words(entry, printing), bold=True)
    paper.pair("Preparation", wording.checks_words(entry, printing))


def _original_welds(entry: JointEntry) -> str:
    joint = entry.joint
    count = wording.NOT_SAID if joint.welds is None else str(joint.welds)
    if joint.pitch_mm is None:
        return f"{count}; pitch {wording.NOT_SAID}"
    return f"{count}, pitch {joint.pitch_mm:g} mm"


def _stack(paper: Paper, stack: Stack) -> None:
    paper.pair("Sheets", wording.sheets_words(stack))
    paper.pair("Adhesive", wording.bonds_words(stack))


def _coupons(paper: Paper, record: JobRecord) -> None:
    paper.heading("Coupons")
    if not record.coupons:
        paper.paragraph("No coupon was welded for this job.")
        return
    paper.grid(_SUMMARY, [_summary(each, record) for each in record.coupons], _SUMMARY_WIDTHS)
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
        "VOIDED" if logged.voided else logged.verdict.outcome.label.upper(),
        "; ".join(joints) or "–",
    )


def _coupon(paper: Paper, record: JobRecord, entry: CouponEntry) -> None:
    logged, coupon, printing = entry.logged, entry.logged.coupon, record.printing
    passes = logged.verdict.outcome is Outcome.PASS and not logged.voided
    words = wording.outcome_words(entry)
    paper.band(f"Coupon #{logged.number}", words, bad=not passes, room_mm=_COUPON_MM)
    made = f"{printing.moment(coupon.made_at)} by {coupon.welder}, {coupon.test.label} test"
    paper.pair("Welded, tested", f"{made}; for {f'job {coupon.job}' if coupon.job else 'no job'}")
    caps = wording.electrode_words(coupon.electrode, coupon.welds_since_dressing)
    paper.pair("Machine, caps", f"{coupon.machine}; {caps}")
    paper.pair("Setting", wording.setting_words(coupon.setting))
    _stack(paper, coupon.stack)
    paper.ln(1)
    paper.grid(_SIZES, [_sizes(line) for line in entry.interfaces(record.rules)], _SIZES_WIDTHS)
    flags = (
        ("expulsion", coupon.expulsion),
        ("edge weld", coupon.edge_weld),
        ("crack", coupon.cracks),
    )
    paper.pair("Seen", ", ".join(f"{name}: {'YES' if seen else 'no'}" for name, seen in flags))
    judged = wording.judged_words(entry, record.rules)
    paper.pair("Verdict", f"{words}, {judged}", bold=True)
    paper.pair("Reasons", [reason.text for reason in logged.verdict.reasons])
    joints = [each.joint.name for each in record.joints_of(logged.number)]
    paper.pair("Evidence for", "; ".join(joints) or "no joint of this job")
    paper.pair("Deviations, notes", coupon.notes or "none written down")
    paper.pair("Written down", wording.recorded_words(entry, printing))
    paper.pair("Photos", [wording.photo_words(photo, printing) for photo in entry.photos])


def _sizes(line: InterfaceLine) -> tuple[str, ...]:
    minimum = "see reasons"
    if line.minimum_mm is not None:
        minimum = f"{line.minimum_mm:.2f} mm = {line.formula}"
    diameters = (line.smallest_mm, line.largest_mm, line.mean_mm)
    return (
        f"{line.number}: {line.upper_mm:g} on {line.lower_mm:g} mm",
        *(f"{wording.number(d)} mm" if d is not None else "–" for d in diameters),
        minimum,
        line.failure or wording.NOT_SAID,
    )


def _background(paper: Paper, record: JobRecord) -> None:
    for rules in record.rules_used():
        when = "" if rules == record.rules else ", no longer in force"
        title = f"Rules of the shop, version {rules_version(rules)}{when}"
        _list(paper, title, rules_words(rules))
    _list(paper, "Machines", [wording.machine_words(each) for each in record.machines])
    clocks = [f"Clock: {wording.clock_words(c, record.printing)}" for c in record.clocks]
    adhesives = [wording.adhesive_words(each) for each in record.adhesives]
    if adhesives:
        adhesives += clocks or ["No clock of these adhesives runs."]
    _list(paper, "Adhesives and their clocks", adhesives)
    _list(paper, "About this print", [LOSSY] if paper.is_lossy else [])
    _list(paper, "State of the log", wording.log_seal_words(record.log_seal))


def _list(paper: Paper, heading: str, lines: Sequence[str]) -> None:
    if lines:
        paper.heading(heading)
    for each in lines:
        paper.paragraph(each)
