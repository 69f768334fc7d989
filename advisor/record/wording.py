"""The sentences of a record, the same on paper and in its files."""

from __future__ import annotations

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coverage import CURED_WITHOUT_TEST, CoverState
from advisor.coupons.rules import ShopRules
from advisor.record.entries import ClockRun, CouponEntry, JointEntry, PhotoEntry
from advisor.record.job_record import Printing
from advisor.record.rules_words import rules_version
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack

MAKERS_OWN = "Welder maker's recommendation, the welder maker's and not this tool's"
NO_RECOMMENDATION = "No recommendation of the welder maker is written down for this joint."
NOT_SAID = "not written down"
LOST_PHOTO = "The file of this photo is missing or was changed."


def number(value: float | None) -> str:
    """Write a number with the figures it has, at most three decimals; a dash for none.

    Parameters
    ----------
    value : float or None
        The number, in any unit.
    """
    if value is None:
        return "–"
    return f"{value:.3f}".rstrip("0").rstrip(".")


def setting_words(setting: Setting) -> str:
    """Return a setting in one line, every value with its unit."""
    parts = [
        f"{number(setting.current_kA)} kA",
        f"{number(setting.weld_ms)} ms",
        f"{number(setting.force_kN)} kN",
        f"squeeze {number(setting.squeeze_ms)} ms",
        f"hold {number(setting.hold_ms)} ms",
    ]
    pulses = "1 pulse" if setting.pulses == 1 else f"{setting.pulses} pulses"
    if setting.pulses > 1:
        pulses += f" with pauses of {number(setting.pause_ms)} ms"
    parts.append(pulses)
    if setting.pre_ms:
        pre = f"pre-pulse {number(setting.pre_current_kA)} kA for {number(setting.pre_ms)} ms"
        parts.append(pre)
    return ", ".join(parts)


def sheet_words(place: int, sheet: Sheet) -> str:
    """Return a sheet in one line: thickness, family, grade, and both faces as welded."""
    grade = f", grade {sheet.grade}" if sheet.grade else f", grade {NOT_SAID}"
    return (
        f"{place}: {sheet.thickness_mm:g} mm {sheet.family.label}{grade}; upper face "
        f"{sheet.upper.label}, lower face {sheet.lower.label}"
    )


def sheets_words(stack: Stack) -> list[str]:
    """Return the sheets of a stack, top to bottom."""
    return [sheet_words(place, sheet) for place, sheet in enumerate(stack.sheets, start=1)]


def bonds_words(stack: Stack) -> list[str]:
    """Return what lies at each interface of a stack, top to bottom."""
    if len(stack.bonds) == 1:
        return [str(stack.bonds[0])]
    return [f"interface {place}: {bond}" for place, bond in enumerate(stack.bonds, start=1)]


def electrode_words(electrode: Electrode, welds_since_dressing: int | None) -> str:
    """Return the caps in one line, with the welds made since they were dressed."""
    welds = NOT_SAID if welds_since_dressing is None else str(welds_since_dressing)
    caps = f"{electrode.shape.label}, face {electrode.face_mm:g} mm"
    material = f", {electrode.material}" if electrode.material else ""
    return f"{caps}{material}; welds since dressing: {welds}"


def state_words(entry: JointEntry) -> str:
    """Return where a joint stands in capitals: released, open again, or held."""
    if entry.is_released:
        return "RELEASED"
    return "HELD, OPEN AGAIN" if entry.release else "HELD"


def coverage_words(entry: JointEntry) -> str:
    """Return what the coupons say about a joint, without the sentence for cured adhesive."""
    coverage = entry.coverage
    detail = coverage.detail.replace(CURED_WITHOUT_TEST, "").strip()
    headline = coverage.headline[:1].upper() + coverage.headline[1:]
    if coverage.state.label not in coverage.headline:
        headline += f" ({coverage.state.label})"
    return f"{headline}. {detail}"


def held_words(entry: JointEntry) -> list[str]:
    """Return every condition that keeps a joint from being welded; nothing when it is released."""
    if entry.is_released:
        return []
    coverage = entry.coverage
    found = [f"{why[:1].upper()}{why[1:].rstrip('.')}." for why in entry.reopened]
    if coverage.state is CoverState.COVERED:
        again = " again" if entry.release else ""
        return [*found, f"Covered, but nobody has released it{again}."]
    found.append(f"{coverage.passes} of {coverage.wanted} passing coupons in a row.")
    if coverage.nearest is not None:
        nearest = f"Nearest coupon #{coverage.nearest.number}"
        found += [f"{nearest}, {d.condition.label}: {d.text}." for d in coverage.differences]
    return found


def release_words(entry: JointEntry, printing: Printing) -> str:
    """Return who released a joint, when, and on what evidence."""
    release = entry.release
    if release is None:
        return "Not released."
    evidence = ", ".join(f"#{e.number} (revision {e.revision})" for e in release.evidence)
    note = f" Note: {release.note}" if release.note else ""
    setting = "" if entry.is_released else f" Setting: {setting_words(release.setting)}."
    when = printing.moment(release.at)
    return f"By {release.by}, {when}, on coupons {evidence}.{setting}{note}"


def maker_words(entry: JointEntry, printing: Printing) -> list[str]:
    """Return what stands in for a test through cured adhesive; nothing for any other joint."""
    found = [CURED_WITHOUT_TEST] if entry.is_cured_without_test else []
    maker = entry.maker
    if maker is not None:
        copied = f"typed by {maker.by}, {printing.moment(maker.at)}"
        found.append(
            f"{MAKERS_OWN}: {maker.settings} ({maker.document}, page {maker.page}; {copied})"
        )
    elif found:
        found.append(NO_RECOMMENDATION)
    return found


def checks_words(entry: JointEntry, printing: Printing) -> list[str]:
    """Return how each preparation check of a joint stands, and who looked."""
    found, not_looked_at = [], []
    for each in entry.checks:
        if each.checked is None:
            not_looked_at.append(each.check.text)
            continue
        mark = "ok" if each.is_right else "NOT OK"
        who = f"{each.checked.by}, {printing.moment(each.checked.at)}"
        found.append(f"{mark}: {each.check.text} {each.text} ({who})")
    if not_looked_at:
        found.append("Not looked at: " + " ".join(not_looked_at))
    return found


def outcome_words(entry: CouponEntry) -> str:
    """Return the verdict of a coupon in capitals; a voided one says that it does not count."""
    outcome = entry.logged.verdict.outcome.label.upper()
    return f"VOIDED, does not count (was {outcome})" if entry.logged.voided else outcome


def judged_words(entry: CouponEntry, rules: ShopRules) -> str:
    """Return by which rules a coupon was judged."""
    used = entry.judged_by(rules)
    if used is not None:
        return f"by the rules of version {rules_version(used)}"
    return "by earlier rules of the shop; the reasons hold their numbers"


def recorded_words(entry: CouponEntry, printing: Printing) -> str:
    """Return who wrote a coupon down, when, and what was changed since."""
    when = printing.moment(entry.recorded_at) if entry.recorded_at else f"time {NOT_SAID}"
    parts = [f"by {entry.recorded_by or NOT_SAID}, {when}, revision {entry.logged.revision}"]
    if entry.logged.origin:
        parts.append(f"origin: {entry.logged.origin}")
    if entry.logged.voided:
        parts.append(f"voided: {entry.logged.voided}")
    elif entry.why:
        parts.append(f"corrected: {entry.why}")
    return "; ".join(parts)


def photo_words(entry: PhotoEntry, printing: Printing) -> str:
    """Return what a photo is known by, who added it and when; and whether it is lost."""
    words = f"{entry.short_hash}, {printing.moment(entry.at)} by {entry.by}"
    return f"{words}. {LOST_PHOTO}" if entry.is_lost else words


def log_seal_words(seal: str) -> list[str]:
    """Return the state of the log, and what it is good for; nothing for a log without coupons."""
    if not seal:
        return []
    return [
        f"State of the log: {seal}",
        "This is the seal of the newest entry of any coupon when the record was made. The seals "
        "hang together: as long as this one is in the log and the log is sound, nothing that was "
        "entered up to then has been changed or removed. To check it, on the computer with the "
        "log: python -m advisor verify --holds, followed by the 64 digits.",
    ]


def machine_words(machine: Machine) -> str:
    """Return a machine in one line."""
    kind = "inverter" if machine.is_inverter else "set in mains cycles"
    return (
        f"{machine.name}: {kind}, {machine.mains_hz:g} Hz mains, "
        f"{machine.smallest_current_kA:g} to {machine.largest_current_kA:g} kA, "
        f"{machine.smallest_force_kN:g} to {machine.largest_force_kN:g} kN"
    )


def adhesive_words(adhesive: Adhesive) -> str:
    """Return an adhesive with its label times in one line."""
    note = f"; {adhesive.note}" if adhesive.note else ""
    if adhesive.bead_mm is not None:
        note = f"; bead {adhesive.bead_mm:g} mm{note}"
    if adhesive.bond_line_mm is not None:
        note = f"; bond-line beads {adhesive.bond_line_mm:g} mm{note}"
    return (
        f"{adhesive.name}: label times at {adhesive.label_degC:g} °C: work {_span(adhesive.work)}, "
        f"clamp {_span(adhesive.clamp)}, full cure {_span(adhesive.cure)}{note}"
    )


def _span(span: Span) -> str:
    low, high = number(span.low_min), number(span.high_min)
    return f"{low} min" if low == high else f"{low}–{high} min"


def clock_words(clock: ClockRun, printing: Printing) -> str:
    """Return an adhesive clock with its times and what it says when the record is made."""
    state = clock.state(printing.at)
    read = "; ".join(f"{printing.moment(r.at)} {number(r.degC)} °C" for r in clock.readings)
    until = f"stopped {printing.moment(clock.stopped_at)}" if clock.stopped_at else "running"
    return (
        f"{clock.adhesive.name}, for {clock.used_for or NOT_SAID}: mixed "
        f"{printing.moment(clock.mixed_at)}, {until}; panel temperature {read}; by the clock "
        f"{state.state.label}, work time left {state.work_left_min:.0f} min, fully cured "
        f"{printing.moment(state.cured_at)}"
    )
