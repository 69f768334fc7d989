"""Cards: the same one for a setting, a verdict and a joint on every page. HTML out, no rules."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from html import escape

from advisor.coupons.coverage import BONDED_MISSING, Coverage, CoverState
from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.coupons.verdict import Outcome, Verdict
from advisor.language import figure, msg, say, say_number
from advisor.learning.next_coupon import NextCoupon
from advisor.pages.parts.plain import closed, plain
from advisor.pages.session import Session
from advisor.units import Calibration
from advisor.weld.cautions import FOR_A_COUPON, OUTRANKS_ON_A_CARD
from advisor.weld.published import pitch_caution
from advisor.weld.setting import Setting

#: A message for `say`, as the cautions are.
ONLY_COVERED = msg("Only a covered joint may be welded with it.")

_MARKS = {"good": "✓", "bad": "✕", "doubt": "?", "loud": "!"}
_VERDICT_TONE = {Outcome.PASS: "good", Outcome.FAIL: "bad", Outcome.OPEN: "doubt"}
_COVER_TONE = {
    CoverState.COVERED: "good",
    CoverState.FAILED: "bad",
    CoverState.MISSING: "doubt",
    CoverState.EXPIRED: "doubt",
}


def bullets(lines: Iterable[str]) -> str:
    """Return a list of plain sentences as HTML."""
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<ul>{items}</ul>" if items else ""


def state(tone: str, words: str, sign: str = "") -> str:
    """Return a state in words beside its mark, as HTML; `sign` where it is not the tone's own."""
    sign = sign or _MARKS[tone]
    mark = f'<span class="mark" aria-hidden="true"><span>{sign}</span></span>'
    return f'<div class="state">{mark}<span>{escape(words)}</span></div>'


def _dials(setting: Setting, session: Session, calibration: Calibration) -> str:
    """Return the three numbers of a setting, big, and the rest in a line."""
    units = session.units
    shown = [
        (say("Weld current"), units.split("current", setting.current_kA, calibration)),
        (say("Weld time"), units.split("time", setting.weld_ms, calibration)),
        (say("Electrode force"), units.split("force", setting.force_kN, calibration)),
    ]
    cells = "".join(
        f"<div><span>{escape(name)}</span><b>{number} <i>{escape(unit)}</i></b></div>"
        for name, (number, unit) in shown
    )
    line = f'<div class="small">{escape(" · ".join(_rest(setting, session, calibration)))}</div>'
    return f'<div class="dials">{cells}</div>{line}'


def _rest(setting: Setting, session: Session, calibration: Calibration) -> Iterator[str]:
    """Say what else is dialled, one thing each."""

    def time(value_ms: float) -> str:
        return session.units.show("time", value_ms, calibration)

    yield say("squeeze {time}", time=time(setting.squeeze_ms))
    yield say("hold {time}", time=time(setting.hold_ms))
    if setting.pulses > 1:
        pause = time(setting.pause_ms)
        yield say("{pulses} pulses, pause {pause}", pulses=setting.pulses, pause=pause)
    if setting.pre_ms:
        current = session.units.show("current", setting.pre_current_kA, calibration)
        yield say("before it {current} for {time}", current=current, time=time(setting.pre_ms))


def _trial_tag() -> str:
    words = say("Coupon only")
    return f'<span class="tag">{escape(words)}</span>'


def coupon_setting_card(
    setting: Setting, session: Session, machine: str, lines: Iterable[str] = ()
) -> str:
    """Return the card of a setting to try on a coupon; it says that it is not for the vehicle."""
    dials = _dials(setting, session, session.calibration(machine))
    small = f'<span class="small">{escape(say(FOR_A_COUPON))}</span>'
    return f'<div class="card trial"><div>{_trial_tag()} {small}</div>{dials}{bullets(lines)}</div>'


def next_coupon_card(
    following: NextCoupon, session: Session, machine: str, figures: str, lines: Iterable[str]
) -> str:
    """Return the card of the next coupon, or of the setting that is proven.

    Parameters
    ----------
    following : NextCoupon
        What to weld next, or that it is enough.
    session : Session
        The person's units.
    machine : str
        The machine, whose dials the setting is read on.
    figures : str
        What to expect there, as HTML.
    lines : iterable of str
        Reasons, one sentence each.
    """
    dials = _dials(following.setting, session, session.calibration(machine))
    if following.stop:
        head = state("good", say("Proven: {passes}", passes=passed_in_a_row(following)))
        words, tone = ONLY_COVERED, "good"
    else:
        title = say("Weld this coupon next")
        head = f'<div class="state">{escape(title)}</div>'
        words, tone = FOR_A_COUPON, "trial"
    small = f'<span class="small">{escape(say(words))}</span>'
    return (
        f'<div class="card {tone} next">{head}{dials}<div>{_trial_tag()} {small}</div>{figures}'
        f"{bullets(lines)}</div>"
    )


def passed_in_a_row(following: NextCoupon) -> str:
    """Say how many coupons passed in a row."""
    return say_number(
        "{number} coupon passed", "{number} coupons passed in a row", following.passes
    )


def still_wanted(following: NextCoupon, coverage: Coverage | None) -> str:
    """Say that a proven setting does not cover a joint by itself; empty where that is no matter."""
    if not following.stop or coverage is None or coverage.state is CoverState.COVERED:
        return ""
    return say(
        "This joint has {passes} of the {wanted} coupons it needs: weld the rest with this "
        "setting.",
        passes=coverage.passes,
        wanted=coverage.wanted,
    )


def percent(chance: float, whole: Callable[[float], int] = round) -> str:
    """Write a chance; a model of a few coupons never knows one to be certain."""
    if chance > 0.99:
        return say("over 99 %")
    return say("under 1 %") if chance < 0.01 else f"{whole(100 * chance)} %"


def verdict_card(verdict: Verdict, title: str = "") -> str:
    """Return the card of a verdict: the word, the mark and every reason."""
    tone = _VERDICT_TONE[verdict.outcome]
    head = state(tone, verdict.outcome.label.upper())
    name = f'<div class="small">{escape(title)}</div>' if title else ""
    reasons = bullets(reason.text for reason in verdict.reasons)
    return f'<div class="card {tone}" role="status">{name}{head}{reasons}</div>'


def joint_card(joint: Joint, coverage: Coverage, session: Session) -> str:
    """Return the card of a joint: its state first, and the proven setting when there is one."""
    tone = "loud" if coverage.headline == say(BONDED_MISSING) else _COVER_TONE[coverage.state]
    what = f"{joint.stack.title(session.thickness)} · {joint.machine}"
    parts = [
        state(tone, coverage.headline),
        f'<div class="name">{escape(joint.name)}</div>',
        f'<div class="small">{escape(what)}</div>',
        f"<div>{escape(coverage.detail)}</div>",
    ]
    if coverage.setting is not None:
        parts.append(_dials(coverage.setting, session, session.calibration(joint.machine)))
        parts.append(f'<div class="small">{escape(say(OUTRANKS_ON_A_CARD))}</div>')
    caution = pitch_caution(joint.stack, joint.pitch_mm)
    if caution:
        parts.append(f'<div class="small">{escape(caution)}</div>')
    return f'<div class="card {tone}">{"".join(parts)}</div>'


def latest(coupons: Iterable[LoggedCoupon], session: Session) -> str:
    """Return coupons one below the other: number and verdict first, the rest small."""
    rows = "".join(
        f'<div class="{_tone(each)}"><b>{escape(first)}</b>'
        f"<span>{escape(' · '.join(rest))}</span></div>"
        for each in coupons
        for first, *rest in [_coupon_parts(each, session, closed)]
    )
    return f'<div class="latest">{rows}</div>'


def _tone(logged: LoggedCoupon) -> str:
    return "" if logged.voided else _VERDICT_TONE[logged.verdict.outcome]


def coupon_line(logged: LoggedCoupon, session: Session) -> str:
    """Return one coupon in a line of Markdown, as its own machine reads."""
    return " · ".join(_coupon_parts(logged, session, plain))


def _coupon_parts(logged: LoggedCoupon, session: Session, safe: Callable[[str], str]) -> list[str]:
    """Return what a line says of a coupon; `safe` makes what people wrote fit where it stands."""
    coupon, setting, units = logged.coupon, logged.coupon.setting, session.units
    calibration = session.calibration(coupon.machine)
    sheets = " + ".join(session.thickness(t) for t in coupon.stack.thicknesses_mm)
    bonds = " / ".join(dict.fromkeys(bond.state.label for bond in coupon.stack.bonds))
    sizes = " / ".join(units.show("diameter", r.size_mm) for r in coupon.results)
    state = logged.verdict.outcome.label
    if logged.voided:
        state = say("voided ({why})", why=logged.voided)
    parts = [
        f"#{logged.number} {safe(state)}",
        figure(coupon.made_at.astimezone(), "%d %b %Y %H:%M"),
        safe(coupon.welder),
        safe(coupon.machine),
        f"{sheets}, {bonds}",
        *units.dials(setting, calibration),
        say("button {sizes}", sizes=sizes),
        safe(logged.origin),
    ]
    return [part for part in parts if part]


def note(text: str) -> str:
    """Return a line of plain text in the quiet style of a footer."""
    return f'<div class="fence">{escape(text)}</div>'
