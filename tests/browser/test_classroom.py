"""A lesson from the question to the reveal, as a trainer gives it, in a real browser."""

import io

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

LESSON = "class?shop=demo&lesson=Worn+caps"


@pytest.fixture
def demo(seen_demo):
    return seen_demo


def fits(page):
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert page.locator('[data-testid="stException"]').count() == 0


def size_words(page, nth):
    return page.locator("svg.weld-section").nth(nth).get_attribute("aria-label")


@pytest.mark.parametrize("width", [390, 820])
def test_a_lesson_from_question_to_reveal(page, demo, width):
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"{demo}/{LESSON}")
    expect(page.get_by_text("How large is the weld now?")).to_be_visible()
    expect(page.locator("svg.weld-section")).to_have_count(0)
    fits(page)
    page.get_by_label("The class says: size").fill("7")
    page.keyboard.press("Enter")
    page.get_by_text("Reveal", exact=True).click()
    # A section is there at once, refined while one looks at it.
    expect(page.locator("svg.weld-section").first).to_be_visible(timeout=5_000)
    expect(page.get_by_text("too large", exact=False)).to_be_visible(timeout=30_000)
    expect(page.get_by_text("The point", exact=True)).to_be_visible()
    expect(page.locator("svg.weld-section")).to_have_count(2)
    # What is drawn came through the browser's cleaning: shapes, words, the style of the ground.
    drawn = page.locator("svg.weld-section").first
    assert drawn.locator("path").count() > 8
    assert drawn.locator("text").count() == 3
    fits(page)
    # The slider moves both sections, by key alone.
    late = [size_words(page, n) for n in (0, 1)]
    slider = page.get_by_role("slider")
    slider.focus()
    page.keyboard.press("Home")
    expect(drawn).to_have_attribute(
        "aria-label", "Section through A at 0 ms, no melt", timeout=9_000
    )
    assert [size_words(page, n) for n in (0, 1)] != late
    page.keyboard.press("End")
    page.get_by_text("Play", exact=True).click()
    moving = page.locator("svg.weld-section:has(g.f)")
    expect(moving).to_have_count(2)
    assert moving.first.locator("g.f").count() > 30
    named = "each => getComputedStyle(each).animationName"
    assert moving.first.locator("g.f").first.evaluate(named) != "none"
    fits(page)
    with page.expect_download() as found:
        page.get_by_role("button", name="Hand-out as PDF").click()
    read = PdfReader(io.BytesIO(found.value.path().read_bytes()))
    printed = " ".join(" ".join(each.extract_text() for each in read.pages).split())
    assert "How large is the weld now?" in printed
    assert "DEMO" in printed.upper()
    assert sum(len(each.images) for each in read.pages) == 2
    assert page.outside == []


def test_the_figures_of_two_welds_of_two_interfaces_fit_a_phone(page, demo):
    page.set_viewport_size({"width": 390, "height": 900})
    page.goto(f"{demo}/class?shop=demo&view=Side+by+side")
    for stack in ("A", "B"):
        three = page.locator(f".st-key-beside-{stack}-count").get_by_role("radio", name="3")
        three.click()
    heads = page.locator(".weld-figures th")
    expect(heads).to_have_text(["Weld, interface", "A 1", "A 2", "B 1", "B 2"], timeout=30_000)
    shown = page.locator(".weld-figures .figures")
    assert shown.evaluate("each => each.scrollWidth <= each.clientWidth")
    assert shown.evaluate("each => each.scrollHeight <= each.clientHeight")
    fits(page)
    # Figures are not torn from line to line.
    heights = (
        page.locator(".weld-figures tbody tr")
        .first.locator("td")
        .evaluate_all("all => all.map(each => each.clientHeight)")
    )
    assert max(heights) < 45
