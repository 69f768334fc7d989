"""The first minutes on a phone, from a server without data: the tour, and a shop of its own."""

import re

import pytest
from playwright.sync_api import expect
from test_technician import fill, log_coupon, set_up_shop, settled, type_joint

#: Making the invented shop takes its time. [ms]
_MADE_MS = 90_000


@pytest.fixture
def phone(page):
    page.set_viewport_size({"width": 390, "height": 844})
    return page


def fits(page):
    settled(page)
    assert page.locator('[data-testid="stException"]').count() == 0
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def on(page, number, words, title):
    """Go on to a step of the tour; its page is there, and the card on it."""
    page.get_by_role("button", name=words, exact=True).click()
    expect(page.get_by_role("heading", name=title, level=1)).to_be_visible()
    expect(page.locator(".tour-step")).to_contain_text(f"Step {number} of 6")
    expect(page.locator(".tour-do")).to_be_visible()
    fits(page)


def test_the_tour_from_the_welcome_page_to_its_end(phone, app):
    phone.goto(app)
    phone.get_by_role("button", name="Open the demo shop").click()
    expect(phone.locator(".tour-step")).to_contain_text("Step 1 of 6", timeout=_MADE_MS)
    named = re.search("“(.+)”", phone.locator(".tour-do").inner_text())[1]
    missing = phone.locator(".card.loud", has=phone.get_by_text(named, exact=True))
    expect(missing).to_contain_text("bonded-joint test missing")
    fits(phone)

    on(phone, 2, "Next: Next setting", "Next setting for a coupon")
    expect(phone.locator(".card.loud")).to_contain_text(named)
    expect(phone.locator(".card.next")).to_contain_text("Chance of a sound weld")

    on(phone, 3, "Next: Log a coupon", "Log a coupon")
    small, large = re.findall(r"[\d.]+(?= mm)", phone.locator(".tour-do").inner_text())
    for _ in range(3):
        expect(log_coupon(phone, small, large)).to_contain_text("PASS")
        phone.get_by_role("button", name="Same setting again").click()
        expect(phone.get_by_role("dialog")).to_have_count(0)
        settled(phone)
        if phone.locator(".card.good").count():
            break
    expect(phone.locator(".tour-done")).to_contain_text("is judged")
    fits(phone)

    on(phone, 4, "Next: Before welding", "Before welding")
    expect(phone.locator(".card.good", has=phone.get_by_text(named, exact=True))).to_be_visible()
    phone.get_by_role("button", name="Release this joint").last.click()
    phone.get_by_role("button", name="Release it for welding").click()
    expect(phone.locator(".tour-done")).to_contain_text("the joint is released")

    on(phone, 5, "Next: Review", "Review")
    phone.reload()
    expect(phone.locator(".tour-step")).to_contain_text("Step 5 of 6")
    on(phone, 6, "Next: Class", "Class")
    phone.get_by_role("button", name="On to your own shop").click()
    expect(phone.get_by_role("heading", name="Prove the setting")).to_be_visible()
    expect(phone.locator(".tour")).to_have_count(0)
    assert phone.outside == []


def test_a_shop_of_one_s_own_from_the_first_form_to_a_judged_coupon(phone, app):
    set_up_shop(phone, app)
    steps = phone.locator(".st-key-first-steps")
    expect(steps.locator("li")).to_have_count(5)
    expect(steps.locator("li.done")).to_have_count(0)
    fits(phone)

    phone.get_by_role("button", name="Enter the adhesive").click()
    expect(phone.get_by_role("tab", name="Adhesives", selected=True)).to_be_visible()
    expect(phone.get_by_text("No adhesive is entered yet")).to_be_visible()
    fits(phone)
    fill(phone, "Name on the cartridge", "Test epoxy")
    for words, low, high in (("Work", 40, 50), ("Clamps", 90, 120), ("Full cure", 24, 24)):
        fill(phone, words, low, nth=0)
        fill(phone, words, high, nth=1)
    phone.get_by_role("button", name="Keep the adhesive").click()
    expect(phone.get_by_text("Adhesive kept.")).to_be_visible()

    phone.get_by_role("link", name="Joints").click()
    expect(steps.locator("li.done")).to_have_count(1)
    settled(phone)
    type_joint(phone, "sill", "wet", "RO-1")
    expect(steps.locator("li.done")).to_have_count(2)
    phone.get_by_role("button", name="Log the first coupon").click()
    expect(phone.get_by_role("heading", name="Log a coupon", level=1)).to_be_visible()
    settled(phone)
    expect(log_coupon(phone, 4.4, 4.8)).to_contain_text("PASS")
    phone.get_by_role("button", name="Same setting again").click()
    expect(phone.get_by_role("dialog")).to_have_count(0)
    phone.get_by_role("link", name="Joints").click()
    expect(phone.get_by_role("heading", name="Before welding")).to_be_visible()
    settled(phone)
    expect(steps).to_have_count(0)
    fits(phone)
    assert phone.outside == []


def test_the_first_form_names_all_that_is_missing_and_keeps_what_was_typed(phone, app):
    phone.goto(app)
    fill(phone, "Your name", "Sam Bench")
    phone.get_by_role("button", name="Start the log").click()
    expect(
        phone.get_by_text(
            "Please give the machine's name, its largest current, its largest force, the mains "
            "frequency, the face diameter of the caps."
        )
    ).to_be_in_viewport()
    expect(phone.get_by_label("Your name")).to_have_value("Sam Bench")
    fits(phone)
