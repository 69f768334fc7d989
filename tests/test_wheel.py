"""An installed wheel works by itself: the tables, the app script and its settings travel in it."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent
PROBE = """
import sys; sys.path.insert(0, sys.argv[1])
from advisor.resources import home
from advisor.store.log import open_log
from advisor.weld.published import published_start
from advisor.weld.sheet import Sheet
from advisor.weld.stack import Stack
assert home().name == "_install", home()
assert (home() / "app.py").is_file()
assert "gatherUsageStats = false" in (home() / ".streamlit" / "config.toml").read_text()
print(round(published_start(Stack((Sheet(1.0), Sheet(1.0)))).current_kA, 2))
print(open_log().is_empty())
"""


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, TOP]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder / "site")
    return folder / "site"


def test_every_reference_file_travels(unpacked):
    there = {f.name for f in (TOP / "reference").iterdir()}
    assert {f.name for f in (unpacked / "advisor/_install/reference").iterdir()} == there


def test_it_reads_its_tables_and_makes_its_log_outside_the_checkout(unpacked, tmp_path):
    done = subprocess.run(
        [sys.executable, "-P", "-c", PROBE, unpacked],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
        env=os.environ | {"ADVISOR_DATA_DIR": str(tmp_path)},
    )
    assert done.returncode == 0, done.stderr
    # 9.0 kA is the middle of what the rows up to and over 1.0 mm share (B.1, high force: 8 to 10).
    assert done.stdout.split() == ["9.0", "True"]
