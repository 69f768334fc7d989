"""Measure start and reruns on the demo shop; run with ``python tests/benchmarks/pages.py``.

Server side: a whole rerun of each page, against a page that holds one line of text, in one run.
Browser side, where there is a Chromium: from starting the server to the first usable page, and from
the click on a page's name to its heading.
"""

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "browser"))

PAGES = ("before", "coupon", "setting", "review", "class", "shop", "files")
RUNS = 20


def rerun_ms(script):
    from streamlit.testing.v1 import AppTest

    app = AppTest.from_string(script, default_timeout=60)
    app.query_params["shop"] = "demo"
    for _ in range(2):
        app.run()
    taken = []
    for _ in range(RUNS):
        start = time.perf_counter()
        app.run()
        taken.append(1000 * (time.perf_counter() - start))
    assert not app.exception
    return statistics.median(taken)


def reruns():
    empty = rerun_ms("import streamlit as st\nst.write('one line')")
    print(f"{'page':10}{'rerun [ms]':>12}{'times an empty page':>22}")
    print(f"{'(empty)':10}{empty:12.1f}{1:22.1f}")
    for page in PAGES:
        taken = rerun_ms(f"from advisor.pages.shell import run\nrun({page!r})")
        print(f"{page:10}{taken:12.1f}{taken / empty:22.1f}")


def in_the_browser(folder):
    import shutil

    from app_server import serving
    from conftest import FLAGS, NAMES
    from playwright.sync_api import expect, sync_playwright
    from test_demo_pages import PAGES as ADDRESSES

    chromium = next(filter(None, map(shutil.which, NAMES)), None)
    if chromium is None:
        print("no Chromium found: nothing measured in a browser")
        return
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        tab = browser.new_page(viewport={"width": 820, "height": 1180})
        start = time.perf_counter()
        with serving(folder) as address:
            up = time.perf_counter() - start
            tab.goto(f"{address}/?shop=demo")
            expect(tab.get_by_role("heading", level=1)).to_be_visible(timeout=60_000)
            usable = time.perf_counter() - start
            print(f"server up after {up:.2f} s, first usable page after {usable:.2f} s")
            for name, title in [*list(ADDRESSES.items())[1:], ("", "Before welding")]:
                taken = []
                for _ in range(3):
                    tab.goto(f"{address}/{'review' if name != 'review' else 'class'}?shop=demo")
                    expect(tab.get_by_role("heading", level=1)).to_be_visible(timeout=60_000)
                    link = tab.get_by_role("link", name=title.split(" for ")[0].split(":")[0])
                    begin = time.perf_counter()
                    link.first.click()
                    heading = tab.get_by_role("heading", name=title, level=1)
                    expect(heading).to_be_visible(timeout=60_000)
                    taken.append(1000 * (time.perf_counter() - begin))
                print(f"click to heading of {title!r}: {statistics.median(taken):.0f} ms")
        browser.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["ADVISOR_DATA_DIR"] = folder
        reruns()
        in_the_browser(Path(folder))
