"""A repeat coupon with gloves on: two numbers and a handful of taps from opening the page."""

from datetime import UTC, datetime

import pytest
from app_server import serving
from playwright.sync_api import expect

from advisor.coupons.coupon import Coupon, InterfaceResult
from advisor.coupons.joint import Joint
from advisor.store.log import open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.failure import FailureType
from advisor.weld.machine import Machine
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import Stack

MOST_TAPS = 6
SHEET = Sheet(1.0, upper=Surface.GROUND_BARE, lower=Surface.GROUND_BARE)


@pytest.fixture
def shop(tmp_path):
    """Address of a shop in which one coupon is logged already."""
    log = open_log(f"sqlite:///{tmp_path}/log.sqlite")
    caps, now = Electrode(CapShape.DOME, 6), datetime.now(UTC)
    log.add_welder("Sam", "Sam")
    log.save_machine(Machine("Bay gun", 13, 5), "Sam")
    log.fit_caps("Bay gun", caps, now, "Sam")
    button = InterfaceResult(4.8, 5.2, FailureType.BUTTON)
    stack, setting = Stack((SHEET, SHEET)), Setting(9.0, 180, 2.5)
    log.save_joint(Joint("sill", "RO-1", stack, "Bay gun"), "Sam")
    log.add_coupon(Coupon(now, "Sam", "Bay gun", caps, stack, setting, (button,)), "Sam", now)
    log.close()
    with serving(tmp_path) as address:
        yield address


class Hand:
    """Taps and types, and counts both."""

    def __init__(self, page):
        self.page, self.taps, self.numbers = page, 0, 0

    def tap(self, found):
        found.tap()
        self.taps += 1

    def number(self, label, value):
        self.tap(self.page.get_by_label(label))
        self.page.keyboard.type(str(value))
        self.numbers += 1


@pytest.mark.parametrize("width", [390, 820])
def test_a_repeat_coupon_takes_two_numbers_and_at_most_six_taps(browser, shop, width):
    context = browser.new_context(
        viewport={"width": width, "height": 844}, has_touch=True, locale="en-GB"
    )
    context.set_default_timeout(20_000)
    page = context.new_page()
    page.goto(f"{shop}/coupon")
    hand = Hand(page)
    expect(page.get_by_label("Smallest ⌀ [mm]")).to_be_visible()
    expect(page.get_by_label("Current [kA]", exact=True)).to_have_value("9.0")
    hand.number("Smallest ⌀ [mm]", 4.6)
    hand.number("Largest ⌀ [mm]", 5.0)
    hand.tap(page.get_by_role("radio", name="button pulled").first)
    hand.tap(page.get_by_role("button", name="Judge and keep"))
    verdict = page.get_by_role("dialog")
    expect(verdict).to_contain_text("PASS")
    expect(verdict).to_contain_text("4.8 mm against 4.00 mm")
    assert (hand.numbers, hand.taps <= MOST_TAPS) == (2, True)
    context.close()


def judged(page, shop, smallest, largest):
    page.goto(f"{shop}/coupon")
    page.get_by_label("Smallest ⌀ [mm]").fill(smallest)
    page.get_by_label("Largest ⌀ [mm]").fill(largest)
    page.get_by_role("radio", name="button pulled").first.click()
    page.get_by_role("button", name="Judge and keep").click()
    return page.get_by_role("dialog")


def test_the_last_entry_is_taken_back_with_one_tap_and_stays_in_the_log(page, shop):
    verdict = judged(page, shop, "2.6", "3.0")
    expect(verdict).to_contain_text("FAIL")
    verdict.get_by_role("button", name="Undo: this entry was wrong").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(page.get_by_text("Coupon #2 undone; its row stays in the log.")).to_be_visible()
    expect(page.get_by_text("#2 voided").first).to_be_visible()


def test_the_second_tap_of_a_double_tap_undoes_nothing(page, shop):
    undo = judged(page, shop, "4.6", "5.0").get_by_role("button", name="Undo: this entry was wrong")
    # For a moment after it has come up under the finger nothing there can be pressed.
    frames = undo.evaluate("button => button.getAnimations()[0].effect.getKeyframes()")
    assert frames[0]["pointerEvents"] == "none"
    undo.evaluate("button => button.getAnimations()[0].finish()")
    assert undo.evaluate("button => getComputedStyle(button).pointerEvents") == "auto"
