"""Measure start and reruns on the demo shop; run with ``python tests/benchmarks/pages.py``.

Server side: a whole rerun of each page, against a page that holds one line of text, in one run.
Browser side, where there is a Chromium: from starting the server to the first usable page; from the
key that asks for a rerun to its end, on each page and view against a page of bare Streamlit that
holds one line; and from the click on a page's name to its heading.
"""

import os
import shutil
import statistics
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "browser"))

PAGES = ("before", "coupon", "setting", "layout", "review", "class", "shop", "files")
VIEWS = (
    *PAGES,
    *(f"review?view={view}" for view in ("Pass rates", "Drift", "Failures", "Evidence")),
    "review?view=Week on paper",
    *(f"class?view={view}" for view in ("Side by side", "Practice bench", "Published starts")),
)
RUNS = 20
STARTS = 5
EMPTY = "import streamlit as st\nst.write('one line')\n"
#: Milliseconds from the key R until Streamlit says that it has nothing more to do.
RERUN = """() => new Promise(done => {
  const app = document.querySelector('[data-test-script-state]');
  const begin = performance.now();
  let ran = false;
  new MutationObserver((_, watch) => {
    const state = app.getAttribute('data-test-script-state');
    ran = ran || state === 'running' || state === 'rerunRequested';
    if (!ran || state !== 'notRunning') return;
    watch.disconnect();
    requestAnimationFrame(() => done(performance.now() - begin));
  }).observe(app, {attributes: true, attributeFilter: ['data-test-script-state']});
  for (const type of ['keydown', 'keyup'])
    document.dispatchEvent(new KeyboardEvent(type, {key: 'r', code: 'KeyR', bubbles: true}));
})"""


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


def heading(tab):
    from playwright.sync_api import expect

    expect(tab.get_by_role("heading", level=1)).to_be_visible(timeout=60_000)


def start(browser, folder):
    """Seconds from the command to a server that answers, and to a page that can be used."""
    from app_server import serving

    tab = browser.new_page(viewport={"width": 820, "height": 1180})
    begin = time.perf_counter()
    with serving(folder) as address:
        up = time.perf_counter() - begin
        tab.goto(f"{address}/?shop=demo")
        heading(tab)
        usable = time.perf_counter() - begin
    tab.close()
    return up, usable


@contextmanager
def bare(folder):
    """Serve a page of bare Streamlit, from a folder without settings of ours."""
    from app_server import free_port, running

    script, port = folder / "bare.py", free_port()
    script.write_text(EMPTY)
    command = [sys.executable, "-m", "streamlit", "run", str(script), "--server.headless=true"]
    options = [f"--server.port={port}", "--browser.gatherUsageStats=false"]
    with (
        open(folder / "bare.txt", "w") as output,
        running([*command, *options], "127.0.0.1", port, output, cwd=folder),
    ):
        yield f"http://127.0.0.1:{port}"


def rerun_seen_ms(tab, address):
    """Milliseconds from asking for a rerun to its end."""
    tab.goto(address)
    tab.locator('[data-testid="stApp"][data-test-script-state="notRunning"]').wait_for()
    tab.wait_for_timeout(1500)
    return statistics.median(tab.evaluate(RERUN) for _ in range(RUNS // 2))


def reruns_in_the_browser(tab, address, empty):
    print(f"{'page':32}{'asked to end [ms]':>18}{'times bare Streamlit':>22}")
    without = rerun_seen_ms(tab, empty)
    print(f"{'(bare)':32}{without:18.0f}{1:22.2f}")
    for view in VIEWS:
        taken = rerun_seen_ms(tab, f"{address}/{view}{'&' if '?' in view else '?'}shop=demo")
        print(f"{view:32}{taken:18.0f}{taken / without:22.2f}")


def walk(tab, address):
    """Milliseconds from the click on a page's name to its heading."""
    from playwright.sync_api import expect
    from test_demo_pages import PAGES as ADDRESSES

    for name, title in [*list(ADDRESSES.items())[1:], ("", "Before welding")]:
        taken = []
        for _ in range(3):
            tab.goto(f"{address}/{'review' if name != 'review' else 'class'}?shop=demo")
            heading(tab)
            link = tab.get_by_role("link", name=title.split(" for ")[0].split(":")[0])
            begin = time.perf_counter()
            link.first.click()
            found = tab.get_by_role("heading", name=title, level=1)
            expect(found).to_be_visible(timeout=60_000)
            taken.append(1000 * (time.perf_counter() - begin))
        print(f"click to heading of {title!r}: {statistics.median(taken):.0f} ms")


def in_the_browser(folder):
    from app_server import serving
    from conftest import FLAGS, NAMES
    from playwright.sync_api import sync_playwright

    chromium = next(filter(None, map(shutil.which, NAMES)), None)
    if chromium is None:
        print("no Chromium found: nothing measured in a browser")
        return
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        start(browser, folder)  # makes the demo shop
        starts = [start(browser, folder) for _ in range(STARTS)]
        for what, taken in zip(
            ("server up", "first usable page"), zip(*starts, strict=True), strict=True
        ):
            shown = ", ".join(f"{each:.2f}" for each in sorted(taken))
            print(f"{what}: median {statistics.median(taken):.2f} s of {shown}")
        tab = browser.new_page(viewport={"width": 820, "height": 1180})
        with serving(folder) as address, bare(folder) as empty:
            reruns_in_the_browser(tab, address, empty)
            walk(tab, address)
        browser.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        os.environ["ADVISOR_DATA_DIR"] = folder
        reruns()
        in_the_browser(Path(folder))
