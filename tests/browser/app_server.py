"""The app as a user starts it, on a free port of this machine."""

import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import pytest

from advisor.store.demo import fill_demo
from advisor.store.log import demo_url, open_log


@contextmanager
def serving(folder, *options, host="127.0.0.1"):
    """Run the app as a user starts it, on a free port, with its log in `folder`.

    `options` go to the command line, `host` is where they let it listen.
    """
    port = free_port(host)
    command = [sys.executable, "-m", "advisor", "--no-browser", "--port", str(port), *options]
    with (
        open(Path(folder) / "server.txt", "w") as output,
        running([*command, "--data", str(folder)], host, port, output),
    ):
        yield f"http://{host}:{port}"


def free_port(host="127.0.0.1"):
    """Return the number of a port that nobody listens at."""
    with socket.socket() as probe:
        probe.bind((host, 0))
        return probe.getsockname()[1]


@contextmanager
def running(command, host, port, output, cwd=None):
    """Run a server of Streamlit's until the block ends, which begins once it answers."""
    server = subprocess.Popen(command, stdout=output, stderr=subprocess.STDOUT, cwd=cwd)
    try:
        _wait(f"http://{host}:{port}/_stcore/health", server)
        yield
    finally:
        server.terminate()
        server.wait(20)


@contextmanager
def serving_demo(folder):
    """Run the app with its demo shop made already: making it takes longer than a page may."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("ADVISOR_DATA_DIR", str(folder))
        log = open_log(demo_url())
    fill_demo(log)
    log.close()
    with serving(folder) as address:
        yield address


def _wait(url, server):
    end = time.monotonic() + 60
    while time.monotonic() < end:
        if server.poll() is not None:
            pytest.fail(f"the server ended with status {server.returncode}")
        try:
            with urllib.request.urlopen(url, timeout=2):  # noqa: S310  (our own loopback server)
                return
        except OSError:
            time.sleep(0.1)
    pytest.fail("the server did not come up in 60 s")
