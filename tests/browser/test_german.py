"""German, chosen by a person at the bench: titles, links that open in either language, commas."""

import re

import pytest
from playwright.sync_api import expect
from test_accessibility import settled

TITLES = {
    "": "Vor dem Schweißen",
    "coupon": "Probe erfassen",
    "setting": "Nächste Einstellung für eine Probe",
    "layout": "Lage der Schweißpunkte",
    "review": "Auswertung",
    "class": "Unterricht",
    "shop": "Betrieb einrichten",
    "files": "Dateien",
}


@pytest.fixture
def demo(seen_demo):
    return seen_demo


@pytest.fixture(scope="module")
def german(browser):
    """Return the page of a browser that asks for German, one for all who only look."""
    context = browser.new_context(locale="de-DE")
    yield context.new_page()
    context.close()


def shown(page, address, who="Ilka+Brandvik"):
    page.goto(f"{address}{'&' if '?' in address else '?'}shop=demo&who={who}")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    settled(page)


def pressed(page, name):
    return page.get_by_role("radio", name=name, exact=True)


def on_axes(page):
    """Return the figures that the charts of a page write by themselves."""
    expect(page.locator("svg.marks").first).to_be_visible()
    texts = page.locator("svg.marks text").all_text_contents()
    return " ".join(each for each in texts if re.fullmatch(r"[\d.,]+", each))


def test_german_is_chosen_beside_the_units_and_kept(page, demo):
    shown(page, f"{demo}/review?view=Pass+rates", "Noor+Adeyemi")
    page.get_by_role("button", name="Units · EN").click()
    page.get_by_role("radio", name="Deutsch").click()
    expect(page.get_by_role("heading", name="Auswertung", level=1)).to_be_visible()
    settled(page)
    # The same view, and the address says it as before.
    expect(pressed(page, "Bestehensquoten")).to_be_checked()
    assert "view=Pass+rates" in page.url
    page.get_by_role("link", name="Probe erfassen").first.click()
    expect(page.get_by_role("heading", name="Probe erfassen", level=1)).to_be_visible()
    page.get_by_role("button", name="Maße · DE").click()
    page.get_by_role("radio", name="English").click()
    expect(page.get_by_role("heading", name="Log a coupon", level=1)).to_be_visible()


@pytest.mark.parametrize(("address", "title"), TITLES.items())
def test_a_browser_that_asks_for_german_gets_every_page_in_german(german, demo, address, title):
    shown(german, f"{demo}/{address}")
    expect(german.get_by_role("heading", name=title, level=1, exact=True)).to_be_visible()


def test_a_link_of_a_german_reader_opens_the_same_view_in_english(page, german, demo):
    shown(german, f"{demo}/review")
    pressed(german, "Bestehensquoten").click()
    settled(german)
    pressed(german, "Monat").click()
    settled(german)
    expect(pressed(german, "Monat")).to_be_checked()
    page.goto(german.url)
    settled(page)
    expect(pressed(page, "Pass rates")).to_be_checked()
    expect(pressed(page, "Month")).to_be_checked()


def test_a_lesson_is_found_in_either_language_and_back_goes_back(page, german, demo):
    shown(page, f"{demo}/class")
    page.get_by_role("combobox", name="Lesson").click()
    page.get_by_role("option", name="Worn caps").click()
    expect(page.get_by_role("heading", name="Worn caps")).to_be_visible()
    settled(page)
    german.goto(page.url)
    expect(german.get_by_role("heading", name="Abgenutzte Kappen")).to_be_visible()
    page.go_back()
    expect(page.get_by_role("heading", name="Worn caps")).to_have_count(0)


def test_figures_on_axes_have_a_decimal_comma(german, page, demo):
    for each in (german, page):
        shown(each, f"{demo}/review?view=Drift")
    there, here = on_axes(german), on_axes(page)
    assert re.search(r"\b\d,\d", there)
    assert "." not in there
    assert re.search(r"\b\d\.\d", here)
    assert "," not in here
