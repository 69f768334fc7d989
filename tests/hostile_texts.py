"""Texts that a database, a page, a print or a spreadsheet might run, and a shop full of them."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from advisor.bonding.adhesive import Adhesive, Span
from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.coupons.recommendation import MakerRecommendation
from advisor.coupons.rules import CoverageRules, ShopRules
from advisor.people.roles import Role
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet
from advisor.weld.stack import AdhesiveState, Bond, Stack

SQL = ("'; DROP TABLE coupon; --", '" OR 1=1 --', "%_\\", "$1 :name ? %s {0} %(x)s")
HTML = (
    "<script>window.hacked=1</script>",
    "<img src=x onerror=window.hacked=1>",
    '"><svg onload=window.hacked=1>',
    "javascript:window.hacked=1",
    "{{7*7}} ${7*7}",
    "&lt;b&gt; &amp; &#60;i&#62;",
)
MARKDOWN = (
    "**bold** [link](http://example.invalid) :red[x]",
    "$x^2$ ~~s~~ `code` | a | b |",
    ":material/delete: :smile: :streamlit:",
    ":blue-badge[y] :small[z] :red ::x :::y",
    "# heading",
    "heading\n===",
    "| a | b |\n|---|---|\n| c | d |",
    "![](http://example.invalid/x.png)",
    "http://example.invalid www.example.invalid",
    "someone@example.invalid mailto:a@example.invalid",
    "<http://example.invalid>",
    "a -- b -> c <- d >= e <= f ~= g <-> h",
    "1. one _two_ __three__",
    "- item\n\n    indented\n> quoted",
    "[r]: http://example.invalid",
)
FORMULAS = (
    '=HYPERLINK("http://example.invalid","x")',
    "+1+x",
    "@SUM(A1)",
    "-2+3",
    "\t=2+2",
    "\r=3+3",
    "'=4+4",
)
LETTERS = (
    "\u202egnp.live",
    "zero\u200bwidth\u200d\ufeffletters",
    "🔥 hot 👩‍🔧",
    "it's “so” 'or' \"so\"",
)
TEXTS = (*SQL, *HTML, *MARKDOWN, *FORMULAS, *LETTERS)

BY = "Lead"
MADE = datetime(2026, 6, 1, 10, 0, tzinfo=UTC)
CAPS = Electrode(CapShape.DOME, 6)
_RESULT = InterfaceResult(4.6, 5.0, FailureType.BUTTON)


def as_name(text):
    """Return a text as the log writes names: blanks and line breaks as one blank each."""
    return " ".join(text.split())


def glue(text):
    return Adhesive(as_name(text), Span(40, 50), Span(90, 120), Span(1440, 1440), note=text)


def stack_of(text, state=AdhesiveState.WET):
    return Stack((Sheet(1.2, grade=text), Sheet(1.5, grade=text)), (Bond(as_name(text), state),))


def coupon_of(text, at=MADE, job=None):
    name, stack, caps = as_name(text), stack_of(text), replace(CAPS, material=text)
    setting, job = Setting(9.5, 200, 3.0), job or name
    return Coupon(at, name, name, caps, stack, setting, (_RESULT,), job=job, notes=text)


def start(log):
    """Enter a lead and rules by which one coupon speaks for a joint."""
    log.add_welder(BY, BY)
    log.save_rules(ShopRules(coverage=CoverageRules(passes_in_a_row=1)), BY)
    return log


def enter(log, text, now=None, job=None):
    """Write a text into every field of the log that takes one, perhaps in one job with others."""
    job = job or text
    now = now or MADE + timedelta(hours=1)
    log.add_welder(text, BY, Role.LEAD)
    log.save_machine(Machine(text, 40, 20, 50, True, 0.3, 0.05), BY)
    caps = replace(CAPS, material=text)
    log.fit_caps(text, caps, now - timedelta(days=9), text)
    log.repair(text, now - timedelta(days=8), text, text)
    log.save_adhesive(replace(glue(text), name=text), text)
    joint = log.save_joint(Joint(text, job, stack_of(text), text, None, 20, 30.0), text)
    cured = stack_of(text, AdhesiveState.CURED)
    log.save_joint(Joint(f"{text} c", job, cured, text), text)
    log.save_template(text, Joint(text, "usual", stack_of(text), text), text)
    log.add_recommendation(MakerRecommendation(as_name(text), cured, text, text, text, text, now))
    at = now - timedelta(minutes=30)
    numbers = [
        log.add_coupon(coupon_of(text, at + timedelta(minutes=n), as_name(job)), text, now).number
        for n in range(3)
    ]
    log.void_coupon(numbers[0], text, text, now)
    log.correct_coupon(
        numbers[1], replace(coupon_of(text, at, as_name(job)), cracks=True), text, text, now
    )
    log.release(joint, text, text, now)
    log.start_clock(text, text, at, 21.5, text)
