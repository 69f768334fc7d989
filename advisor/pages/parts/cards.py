"""Cards: the same one for a setting, a verdict and a joint on every page. HTML in, no rules."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from advisor.coupons.coverage import BONDED_MISSING, Coverage, CoverState
from advisor.coupons.joint import Joint, LoggedCoupon
from advisor.coupons.verdict import Outcome, Verdict
from advisor.pages.parts.units_choice import UnitChoice
from advisor.units import Calibration
from advisor.weld.setting import Setting

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


def _state(tone: str, words: str) -> str:
    mark = f'<span class="mark" aria-hidden="true"><span>{_MARKS[tone]}</span></span>'
    return f'<div class="state">{mark}<span>{escape(words)}</span></div>'


def dials(setting: Setting, units: UnitChoice, calibration: Calibration) -> str:
    """Return the three numbers of a setting, big, and the rest in a line."""
    shown = [
        ("Weld current", units.split("current", setting.current_kA, calibration)),
        ("Weld time", units.split("time", setting.weld_ms, calibration)),
        ("Electrode force", units.split("force", setting.force_kN, calibration)),
    ]
    cells = "".join(
        f"<div><span>{name}</span><b>{number} <i>{escape(unit)}</i></b></div>"
        for name, (number, unit) in shown
    )
    rest = [
        f"squeeze {units.show('time', setting.squeeze_ms, calibration)}",
        f"hold {units.show('time', setting.hold_ms, calibration)}",
    ]
    if setting.pulses > 1:
        pause = units.show("time", setting.pause_ms, calibration)
        rest.append(f"{setting.pulses} pulses, pause {pause}")
    if setting.pre_ms:
        current = units.show("current", setting.pre_current_kA, calibration)
        rest.append(f"before it {current} for {units.show('time', setting.pre_ms, calibration)}")
    line = f'<div class="small">{escape(" · ".join(rest))}</div>'
    return f'<div class="dials">{cells}</div>{line}'


def setting_card(
    title: str,
    setting: Setting,
    units: UnitChoice,
    calibration: Calibration,
    lines: Iterable[str] = (),
) -> str:
    """Return the card of a setting with a title above and sentences below."""
    body = dials(setting, units, calibration) + bullets(lines)
    return f'<div class="card"><div class="name">{escape(title)}</div>{body}</div>'


def verdict_card(verdict: Verdict, title: str = "") -> str:
    """Return the card of a verdict: the word, the mark and every reason."""
    tone = _VERDICT_TONE[verdict.outcome]
    head = _state(tone, verdict.outcome.label.upper())
    name = f'<div class="small">{escape(title)}</div>' if title else ""
    reasons = bullets(reason.text for reason in verdict.reasons)
    return f'<div class="card {tone}" role="status">{name}{head}{reasons}</div>'


def joint_card(
    joint: Joint, coverage: Coverage, units: UnitChoice, calibration: Calibration
) -> str:
    """Return the card of a joint: its state first, and the proven setting when there is one."""
    tone = "loud" if coverage.headline == BONDED_MISSING else _COVER_TONE[coverage.state]
    parts = [
        _state(tone, coverage.headline),
        f'<div class="name">{escape(joint.name)}</div>',
        f'<div class="small">{escape(joint.stack.title())} · {escape(joint.machine)}</div>',
        f"<div>{escape(coverage.detail)}</div>",
    ]
    if coverage.setting is not None:
        parts.append(dials(coverage.setting, units, calibration))
    return f'<div class="card {tone}">{"".join(parts)}</div>'


def coupon_line(logged: LoggedCoupon, units: UnitChoice, calibration: Calibration) -> str:
    """Return one coupon in a line of plain text."""
    coupon, setting = logged.coupon, logged.coupon.setting
    sizes = " / ".join(units.show("diameter", r.size_mm) for r in coupon.results)
    state = f"voided ({logged.voided})" if logged.voided else logged.verdict.outcome.label
    numbers = " · ".join(
        (
            units.show("current", setting.current_kA, calibration),
            units.show("time", setting.weld_ms, calibration),
            units.show("force", setting.force_kN, calibration),
        )
    )
    when = coupon.made_at.astimezone()
    return (
        f"#{logged.number} · {when:%d %b %H:%M} · {coupon.welder} · {numbers} · {sizes} · {state}"
    )


def note(text: str, cls: str = "fence") -> str:
    """Return a line of plain text in one of the quiet styles."""
    return f'<div class="{cls}">{escape(text)}</div>'
