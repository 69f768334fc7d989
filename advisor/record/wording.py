"""The sentences of a record, the same on paper and in its files."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from advisor.bonding.adhesive import Adhesive, Span
from advisor.bonding.preparation import Checked, Finding
from advisor.coupons.coupon import Coupon
from advisor.coupons.coverage import CURED_WITHOUT_TEST, Coverage, CoverState
from advisor.coupons.rules import ShopRules
from advisor.language import figure, msg, say
from advisor.record.entries import ClockRun, CouponEntry, JointEntry, PhotoEntry
from advisor.record.job_record import Printing
from advisor.record.rules_words import rules_version
from advisor.weld.cautions import CURED
from advisor.weld.electrode import Electrode
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import AdhesiveState, Stack

MAKERS_OWN = msg("Welder maker's recommendation, the welder maker's and not this tool's")
NO_RECOMMENDATION = msg("No recommendation of the welder maker is written down for this joint.")
NOT_SAID = msg("not written down")
LOST_PHOTO = msg("The file of this photo is missing or was changed.")
_FOUND_RIGHT = msg("ok: {check} {found} ({by}, {moment})")
_FOUND_WRONG = msg("NOT OK: {check} {found} ({by}, {moment})")
#: What a coupon may show besides its sizes, where it was seen and where not.
_SEEN = {
    "expulsion": (msg("expulsion: YES"), msg("expulsion: no")),
    "edge_weld": (msg("edge weld: YES"), msg("edge weld: no")),
    "cracks": (msg("crack: YES"), msg("crack: no")),
}


def number(value: float | None) -> str:
    """Write a number with the figures it has, at most three decimals; a dash for none.

    Parameters
    ----------
    value : float or None
        The number, in any unit.
    """
    if value is None:
        return "–"
    return figure(Decimal(f"{value:.3f}".rstrip("0").rstrip(".")))


def moment_by(printing: Printing, at: datetime, by: str) -> str:
    """Return when something was done, in the record's time zone, and by whom."""
    return say("{moment} by {by}", moment=printing.moment(at), by=by)


def printed_words(printing: Printing) -> str:
    """Return when a record was made, by whom, and in which time zone its times are."""
    return say(
        "{moment} by {by}; all times {zone}",
        moment=printing.moment(printing.at),
        by=printing.by or say(NOT_SAID),
        zone=printing.zone,
    )


def setting_words(setting: Setting) -> str:
    """Return a setting in one line, every value with its unit."""
    parts = [
        f"{number(setting.current_kA)} kA",
        f"{number(setting.weld_ms)} ms",
        f"{number(setting.force_kN)} kN",
        say("squeeze {time} ms", time=number(setting.squeeze_ms)),
        say("hold {time} ms", time=number(setting.hold_ms)),
        _pulses(setting),
    ]
    if setting.pre_ms:
        current, time = number(setting.pre_current_kA), number(setting.pre_ms)
        parts.append(say("pre-pulse {current} kA for {time} ms", current=current, time=time))
    return ", ".join(parts)


def _pulses(setting: Setting) -> str:
    if setting.pulses == 1:
        return say("1 pulse")
    return say(
        "{count} pulses with pauses of {time} ms",
        count=setting.pulses,
        time=number(setting.pause_ms),
    )


def sheet_words(place: int, sheet: Sheet) -> str:
    """Return a sheet in one line: thickness, family, grade, and both faces as welded."""
    return say(
        "{place}: {thickness:g} mm {family}, grade {grade}; upper face {upper}, lower face {lower}",
        place=place,
        thickness=sheet.thickness_mm,
        family=sheet.family.label,
        grade=sheet.grade or say(NOT_SAID),
        upper=sheet.upper.label,
        lower=sheet.lower.label,
    )


def sheets_words(stack: Stack) -> list[str]:
    """Return the sheets of a stack, top to bottom."""
    return [sheet_words(place, sheet) for place, sheet in enumerate(stack.sheets, start=1)]


def bonds_words(stack: Stack) -> list[str]:
    """Return what lies at each interface of a stack, top to bottom."""
    if len(stack.bonds) == 1:
        return [str(stack.bonds[0])]
    return [
        say("interface {place}: {bond}", place=place, bond=str(bond))
        for place, bond in enumerate(stack.bonds, start=1)
    ]


def electrode_words(electrode: Electrode, welds_since_dressing: int | None) -> str:
    """Return the caps in one line, with the welds made since they were dressed."""
    caps = say("{shape}, face {face:g} mm", shape=electrode.shape.label, face=electrode.face_mm)
    if electrode.material:
        caps = f"{caps}, {electrode.material}"
    welds = say(NOT_SAID) if welds_since_dressing is None else str(welds_since_dressing)
    return say("{caps}; welds since dressing: {welds}", caps=caps, welds=welds)


def welded_words(coupon: Coupon, printing: Printing) -> str:
    """Return when a coupon was welded, by whom, how it was tested and for which job."""
    made = say(
        "{moment} by {welder}, {test} test",
        moment=printing.moment(coupon.made_at),
        welder=coupon.welder,
        test=coupon.test.label,
    )
    if coupon.job:
        return say("{made}; for job {job}", made=made, job=coupon.job)
    return say("{made}; for no job", made=made)


def seen_words(coupon: Coupon) -> str:
    """Return what the eye found on a coupon, in one line."""
    found = (yes if getattr(coupon, name) else no for name, (yes, no) in _SEEN.items())
    return ", ".join(say(each) for each in found)


def state_words(entry: JointEntry) -> str:
    """Return where a joint stands in capitals: released, open again, or held."""
    if entry.is_released:
        return say("RELEASED")
    return say("HELD, OPEN AGAIN") if entry.release else say("HELD")


def coverage_words(entry: JointEntry) -> str:
    """Return what the coupons say about a joint, without the sentence for cured adhesive."""
    coverage = entry.coverage
    detail = coverage.detail.replace(say(CURED_WITHOUT_TEST), "").strip()
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
        if entry.release:
            return [*found, say("Covered, but nobody has released it again.")]
        return [*found, say("Covered, but nobody has released it.")]
    found.append(
        say(
            "{passes} of {wanted} passing coupons in a row.",
            passes=coverage.passes,
            wanted=coverage.wanted,
        )
    )
    return found + _nearest_words(coverage)


def _nearest_words(coverage: Coverage) -> list[str]:
    if coverage.nearest is None:
        return []
    return [
        say(
            "Nearest coupon #{number}, {condition}: {text}.",
            number=coverage.nearest.number,
            condition=each.condition.label,
            text=each.text,
        )
        for each in coverage.differences
    ]


def release_words(entry: JointEntry, printing: Printing) -> str:
    """Return who released a joint, when, and on what evidence."""
    release = entry.release
    if release is None:
        return say("Not released.")
    evidence = ", ".join(
        say("#{number} (revision {revision})", number=each.number, revision=each.revision)
        for each in release.evidence
    )
    moment = printing.moment(release.at)
    found = [
        say(
            "By {by}, {moment}, on coupons {evidence}.",
            by=release.by,
            moment=moment,
            evidence=evidence,
        )
    ]
    if not entry.is_released:
        found.append(say("Setting: {setting}.", setting=setting_words(release.setting)))
    if release.note:
        found.append(say("Note: {note}", note=release.note))
    return " ".join(found)


def maker_words(entry: JointEntry, printing: Printing) -> list[str]:
    """Return what is said of cured adhesive: what stands in for a test, and the caution."""
    found = [say(CURED_WITHOUT_TEST)] if entry.is_cured_without_test else []
    maker = entry.maker
    if maker is not None:
        found.append(
            say(
                "{whose}: {settings} ({document}, page {page}; typed by {by}, {moment})",
                whose=say(MAKERS_OWN),
                settings=maker.settings,
                document=maker.document,
                page=maker.page,
                by=maker.by,
                moment=printing.moment(maker.at),
            )
        )
    elif found:
        found.append(say(NO_RECOMMENDATION))
    if entry.joint.stack.adhesive_state is AdhesiveState.CURED:
        found.append(say(CURED))
    return found


def checks_words(entry: JointEntry, printing: Printing) -> list[str]:
    """Return how each preparation check of a joint stands, and who looked."""
    found, not_looked_at = [], []
    for each in entry.checks:
        if each.checked is None:
            not_looked_at.append(each.check.text)
        else:
            found.append(_check_words(each, each.checked, printing))
    if not_looked_at:
        found.append(say("Not looked at: {checks}", checks=" ".join(not_looked_at)))
    return found


def _check_words(finding: Finding, checked: Checked, printing: Printing) -> str:
    return say(
        _FOUND_RIGHT if finding.is_right else _FOUND_WRONG,
        check=finding.check.text,
        found=finding.text,
        by=checked.by,
        moment=printing.moment(checked.at),
    )


def outcome_words(entry: CouponEntry) -> str:
    """Return the verdict of a coupon in capitals; a voided one says that it does not count."""
    outcome = entry.logged.verdict.outcome.label.upper()
    if entry.logged.voided:
        return say("VOIDED, does not count (was {outcome})", outcome=outcome)
    return outcome


def judged_words(entry: CouponEntry, rules: ShopRules) -> str:
    """Return by which rules a coupon was judged."""
    used = entry.judged_by(rules)
    if used is not None:
        return say("by the rules of version {version}", version=rules_version(used))
    return say("by earlier rules of the shop; the reasons hold their numbers")


def recorded_words(entry: CouponEntry, printing: Printing) -> str:
    """Return who wrote a coupon down, when, and what was changed since."""
    at = entry.recorded_at
    parts = [
        say(
            "by {by}, {moment}, revision {revision}",
            by=entry.recorded_by or say(NOT_SAID),
            moment=printing.moment(at) if at else say("time not written down"),
            revision=entry.logged.revision,
        )
    ]
    if entry.logged.origin:
        parts.append(say("origin: {origin}", origin=entry.logged.origin))
    if entry.logged.voided:
        parts.append(say("voided: {why}", why=entry.logged.voided))
    elif entry.why:
        parts.append(say("corrected: {why}", why=entry.why))
    return "; ".join(parts)


def photo_words(entry: PhotoEntry, printing: Printing) -> str:
    """Return what a photo is known by, who added it and when; and whether it is lost."""
    words = f"{entry.short_hash}, {moment_by(printing, entry.at, entry.by)}"
    return f"{words}. {say(LOST_PHOTO)}" if entry.is_lost else words


def log_seal_words(seal: str) -> list[str]:
    """Return the state of the log, and what it is good for; nothing for a log without coupons."""
    if not seal:
        return []
    return [
        say("State of the log: {seal}", seal=seal),
        say(
            "This is the seal of the newest entry of any coupon when the record was made. The "
            "seals hang together: as long as this one is in the log and the log is sound, nothing "
            "that was entered up to then has been changed or removed. To check it, on the computer "
            "with the log: python -m advisor verify --holds, followed by the 64 digits."
        ),
    ]


def machine_words(machine: Machine) -> str:
    """Return a machine in one line."""
    return say(
        "{name}: {kind}, {mains:g} Hz mains, {low_current:g} to {high_current:g} kA, {low_force:g} "
        "to {high_force:g} kN",
        name=machine.name,
        kind=say("inverter") if machine.is_inverter else say("set in mains cycles"),
        mains=machine.mains_hz,
        low_current=machine.smallest_current_kA,
        high_current=machine.largest_current_kA,
        low_force=machine.smallest_force_kN,
        high_force=machine.largest_force_kN,
    )


def adhesive_words(adhesive: Adhesive) -> str:
    """Return an adhesive with its label times in one line."""
    parts = [
        say(
            "{name}: label times at {label:g} °C: work {work}, clamp {clamp}, full cure {cure}",
            name=adhesive.name,
            label=adhesive.label_degC,
            work=_span(adhesive.work),
            clamp=_span(adhesive.clamp),
            cure=_span(adhesive.cure),
        )
    ]
    if adhesive.bond_line_mm is not None:
        parts.append(say("bond-line beads {size:g} mm", size=adhesive.bond_line_mm))
    if adhesive.bead_mm is not None:
        parts.append(say("bead {size:g} mm", size=adhesive.bead_mm))
    return "; ".join([*parts, *([adhesive.note] if adhesive.note else [])])


def _span(span: Span) -> str:
    low, high = number(span.low_min), number(span.high_min)
    return f"{low} min" if low == high else f"{low}–{high} min"


def clock_words(clock: ClockRun, printing: Printing) -> str:
    """Return an adhesive clock with its times and what it says when the record is made."""
    state = clock.state(printing.at)
    read = "; ".join(f"{printing.moment(r.at)} {number(r.degC)} °C" for r in clock.readings)
    until = (
        say("stopped {moment}", moment=printing.moment(clock.stopped_at))
        if clock.stopped_at
        else say("running")
    )
    return say(
        "{adhesive}, for {used_for}: mixed {mixed}, {until}; panel temperature {read}; by the "
        "clock {state}, work time left {left:.0f} min, fully cured {cured}",
        adhesive=clock.adhesive.name,
        used_for=clock.used_for or say(NOT_SAID),
        mixed=printing.moment(clock.mixed_at),
        until=until,
        read=read,
        state=state.state.label,
        left=state.work_left_min,
        cured=printing.moment(state.cured_at),
    )
