"""The practice bench in a real browser: from the choice of an exercise to a covered joint."""

import re
from datetime import UTC, datetime

import pytest
from app_server import serving
from playwright.sync_api import expect
from test_technician import fill, settled

from advisor.store.log import open_log
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.machine import Machine

VIEW = "class?view=Practice+bench"
RIBBON = "PRACTICE BENCH – a virtual machine; nothing here reaches the shop's log"
#: On this machine the published start is sound nearly always.
GENTLE = 7
MOST = 8


@pytest.fixture
def shop(tmp_path):
    """Address of a shop with one person and one machine."""
    log = open_log(f"sqlite:///{tmp_path}/log.sqlite")
    log.add_welder("Sam", "Sam")
    log.save_machine(Machine("Bay gun", 13, 5), "Sam")
    log.fit_caps("Bay gun", Electrode(CapShape.DOME, 6), datetime.now(UTC), "Sam")
    log.close()
    with serving(tmp_path) as address:
        yield address


def fits(page):
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert page.locator('[data-testid="stException"]').count() == 0


def begin(page, shop):
    page.goto(f"{shop}/{VIEW}")
    fill(page, "Machine number", GENTLE)
    settled(page)
    fits(page)
    page.get_by_role("button", name="Begin this exercise").click()
    expect(page.get_by_text(RIBBON)).to_be_visible()
    expect(page.get_by_text("Virtual machine 7.")).to_be_visible()
    settled(page)


def weld(page, number):
    page.get_by_role("button", name="Weld a coupon").click()
    expect(page.get_by_text(re.compile(f"· {number} welds? on these caps"))).to_be_visible()
    settled(page)
    for way in ("longest", "shortest"):
        expect(page.get_by_role("img", name=f"{way} way across, between the jaws")).to_be_visible()


def read_off(page):
    """What the page reads for who asks: smallest and largest."""
    page.get_by_text("Read it for me").click()
    line = page.get_by_text(re.compile(r"^smallest .* mm, largest .* mm: button"))
    expect(line).to_be_visible()
    return re.findall(r"([\d.]+) mm", line.inner_text())


def log_it(page, smallest, largest):
    page.get_by_role("button", name="Log this coupon").click()
    expect(page.get_by_role("heading", name="Log a coupon", level=1)).to_be_visible()
    settled(page)
    expect(page.get_by_label("Current [kA]", exact=True)).to_have_value("9.0")
    fill(page, "Smallest ⌀ [mm]", smallest)
    fill(page, "Largest ⌀ [mm]", largest)
    page.get_by_role("radio", name="button pulled").first.click()
    page.get_by_role("button", name="Judge and keep").click()
    page.get_by_role("button", name="Same setting again").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    settled(page)


def test_from_an_exercise_to_a_covered_joint(page, shop):
    begin(page, shop)
    page.get_by_role("button", name="Set the machine to it").click()
    set_to = page.locator('input[aria-label="Current [kA]"]')
    expect(set_to.and_(page.locator('[value="9.0"]'))).to_be_visible()
    settled(page)
    expect(set_to).to_have_count(1)
    covered = page.get_by_text(re.compile(r"^Covered after \d coupons welded and \d logged\."))
    for number in range(1, MOST):
        weld(page, number)
        log_it(page, *read_off(page))
        page.get_by_role("button", name="To the practice bench").click()
        expect(page.get_by_text(f"Logged as #{number}: ")).to_be_visible()
        expect(page.get_by_text("Read and written down as it was.")).to_be_visible()
        settled(page)
        if covered.count():
            break
    expect(covered).to_be_visible()
    expect(page.get_by_text("a true rate as low as")).to_be_visible()
    page.get_by_text("Show the true window").click()
    expect(page.locator('[data-testid="stVegaLiteChart"] svg.marks')).to_be_visible()
    expect(page.locator(".shades")).to_contain_text("□ published start")
    settled(page)
    fits(page)

    # A reload of the page brings the same coupon back, and a phone holds it.
    drawn = page.locator(".peel").inner_html()
    page.set_viewport_size({"width": 390, "height": 844})
    page.reload()
    expect(page.get_by_text(f"Logged as #{number}: ")).to_be_visible()
    settled(page)
    assert page.locator(".peel").inner_html() == drawn
    jaws = page.get_by_role("img", name="between the jaws").evaluate_all(
        "all => all.map(e => e.getBoundingClientRect()).map(b => [b.left >= 0, b.right <= 390])"
    )
    assert jaws == [[True, True]] * 2
    fits(page)
    page.get_by_role("button", name="Back to the shop").click()
    expect(page.get_by_text(RIBBON)).to_have_count(0)
    expect(page.get_by_text("You have begun: ")).to_be_visible()
    assert page.outside == []
