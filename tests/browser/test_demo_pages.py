"""Every page of the demo shop opens, says that it is a demo, and fits a phone and a tablet."""

import pytest
from playwright.sync_api import expect
from test_technician import settled

PAGES = {
    "": "Before welding",
    "coupon": "Log a coupon",
    "setting": "Next setting for a coupon",
    "layout": "Weld layout",
    "review": "Review",
    "class": "Class",
    "shop": "Shop set-up",
    "files": "Files",
}


@pytest.fixture
def demo(seen_demo):
    return seen_demo


@pytest.mark.parametrize(("address", "title"), PAGES.items())
def test_page_opens_fits_and_is_marked(same_page, demo, address, title):
    same_page.goto(f"{demo}/{address}?shop=demo")
    expect(same_page.get_by_role("heading", name=title, level=1)).to_be_visible()
    expect(same_page.get_by_text("DEMO – an invented shop")).to_be_visible()
    expect(same_page.get_by_text("The vehicle maker's repair procedure")).to_be_visible()
    for width in (820, 390):
        same_page.set_viewport_size({"width": width, "height": 900})
        settled(same_page)
        assert same_page.locator('[data-testid="stException"]').count() == 0
        assert same_page.evaluate("document.documentElement.scrollWidth") <= width
    assert same_page.outside == []


@pytest.mark.parametrize("width", [390, 820])
def test_a_setting_and_its_reasons_fit(same_page, demo, width):
    same_page.set_viewport_size({"width": width, "height": 900})
    same_page.goto(f"{demo}/setting?shop=demo")
    card = same_page.locator(".card.next")
    expect(card).to_contain_text("Weld this coupon next")
    numbers = card.locator(".dials b")
    expect(numbers).to_have_count(3)
    # Each number stays inside its own part of the card.
    inside = "every => every.map(b => b.scrollWidth <= b.parentElement.clientWidth)"
    assert numbers.evaluate_all(inside) == [True, True, True]
    bar = card.get_by_role("img", name="Expected size")
    expect(bar).to_be_visible()
    assert bar.evaluate("each => each.scrollWidth <= each.clientWidth")
    same_page.get_by_text("Why this setting").click()
    # Both maps and the size chart are drawn.
    expect(same_page.locator('[data-testid="stVegaLiteChart"] svg.marks')).to_have_count(3)
    expect(same_page.get_by_text("not tested", exact=True)).to_be_visible()
    assert same_page.locator('[data-testid="stException"]').count() == 0
    assert same_page.evaluate("document.documentElement.scrollWidth") <= width
    assert same_page.outside == []


def test_the_demo_never_reaches_the_shop_s_own_log(page, demo):
    page.goto(demo)
    page.get_by_role("button", name="Open the demo shop").click()
    expect(page.get_by_text("DEMO – an invented shop")).to_be_visible()
    page.get_by_role("button", name="Leave the demo").click()
    expect(page.get_by_role("button", name="Open the demo shop")).to_be_visible()
    expect(page.get_by_text("DEMO – an invented shop")).to_have_count(0)
