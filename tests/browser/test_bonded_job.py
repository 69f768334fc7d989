"""From the repair order to released joints and the record for the file, in a real browser."""

import json
import re
from io import BytesIO
from pathlib import Path

from playwright.sync_api import expect
from pypdf import PdfReader
from test_technician import (
    MISSING,
    add_adhesive,
    add_joint,
    fill,
    go_on,
    log_coupon,
    pick,
    set_up_shop,
    settled,
)

WIDTHS = (1280, 820, 390)


def go(page, address):
    page.goto(address)
    settled(page)


def fits(page):
    """See that nothing stands out sideways at any width; the walk goes on at the narrowest."""
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 1000})
        settled(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def release(page, joint):
    card = page.locator(".card", has_text=joint)
    expect(card).to_contain_text("covered")
    button = page.get_by_role("button", name="Release this joint").first
    button.click()
    page.get_by_role("button", name="Release it for welding").first.click()
    expect(page.get_by_text("Joint released.")).to_be_visible()
    settled(page)


def download(page, words):
    with page.expect_download() as found:
        page.get_by_role("button", name=words).click()
    return Path(found.value.path()).read_bytes()


def test_three_joints_two_released_the_cured_one_held(page, app):
    set_up_shop(page, app)
    add_adhesive(page)
    add_joint(page, "roof, bare", "no adhesive", first=True)
    add_joint(page, "sill, wet", "wet", first=False)
    add_joint(page, "pillar, cured", "cured", first=False)
    page.set_viewport_size({"width": WIDTHS[-1], "height": 1000})
    go(page, app)

    # The plan asks for two coupons of each of three kinds: nothing speaks for anything else.
    page.get_by_text("Coupons to weld for this job").click()
    settled(page)
    expect(page.get_by_text(re.compile("6 coupons"))).to_be_visible()
    fits(page)

    # The welder maker's settings for the cured joint, as printed.
    page.get_by_role("button", name="Copy the welder maker's recommendation").click()
    fill(page, "Document", "Handbook 7")
    fill(page, "Page", "31")
    fill(page, "Settings as printed", "program 4")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_text("recommendation, not this tool's: program 4")).to_be_visible()

    for joint in ("roof, bare", "sill, wet"):
        go(page, f"{app}/coupon")
        pick(page, "For which joint?", f"RO-1 · {joint}")
        settled(page)
        if joint == "sill, wet":
            expect(log_coupon(page, 3.2, 3.6)).to_contain_text("FAIL")
            go_on(page)
        for _ in range(2):
            expect(log_coupon(page, 4.6, 5.0)).to_contain_text("PASS")
            go_on(page)
        fits(page)

    go(page, app)
    release(page, "roof, bare")
    release(page, "sill, wet")
    expect(page.get_by_text(re.compile("^Released by Sam Bench"))).to_have_count(2)
    expect(page.locator(".card", has_text="pillar, cured")).to_contain_text(MISSING)
    fits(page)

    page.get_by_text("Job record and labels").click()
    settled(page)
    fill(page, "Shop name on the record", "Test shop")
    page.get_by_role("button", name="Make the record").click()
    settled(page)
    pages = PdfReader(BytesIO(download(page, "Record as PDF"))).pages
    text = " ".join(" ".join(each.extract_text() for each in pages).split())
    for words in (
        "Test shop",
        "RO-1",
        "roof, bare",
        "sill, wet",
        "pillar, cured",
        "Sam Bench",
        "3.4",
        "4.8",
        "Handbook 7",
        "program 4",
    ):
        assert words in text, words
    record = json.loads(download(page, re.compile("JSON")))
    assert len(record["coupons"]) == 5
    assert page.outside == []
