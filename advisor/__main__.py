"""The command line: ``python -m advisor`` opens the app in a browser."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from advisor import __version__
from advisor.resources import home


def main(arguments: Sequence[str] | None = None) -> int:
    """Start the app.

    Parameters
    ----------
    arguments : sequence of str, optional
        Command-line arguments without the program's name.

    Returns
    -------
    int
        Exit status.
    """
    parser = argparse.ArgumentParser(prog="python -m advisor", description=__doc__)
    parser.add_argument("--version", action="version", version=__version__)
    parser.add_argument("--port", type=int, default=8501, help="port on this machine (8501)")
    parser.add_argument(
        "--data", help="folder for the log (default: the user's data folder)", metavar="FOLDER"
    )
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser")
    chosen = parser.parse_args(arguments)
    if chosen.data:
        os.environ["ADVISOR_DATA_DIR"] = chosen.data
    return _serve(chosen.port, open_browser=not chosen.no_browser)


def _serve(port: int, *, open_browser: bool) -> int:
    from streamlit.web import cli

    command = ["run", str(home() / "app.py"), f"--server.port={port}"]
    command.append(f"--server.headless={'false' if open_browser else 'true'}")
    cli.main(command, standalone_mode=False)
    return 0


if __name__ == "__main__":
    sys.exit(main())
