"""Open the app in a browser; the command that runs when none is named."""

from __future__ import annotations

import argparse

from advisor.resources import home


def add(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("--port", type=int, default=8501, help="port on this machine (8501)")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser")


def run(chosen: argparse.Namespace) -> int:
    """Serve until the program is stopped."""
    from streamlit.web import cli

    command = ["run", str(home() / "app.py"), f"--server.port={chosen.port}"]
    command.append(f"--server.headless={'true' if chosen.no_browser else 'false'}")
    cli.main(command, standalone_mode=False)
    return 0
