"""Setting advisor and test-coupon log; without a command it opens in a browser."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from advisor import __version__
from advisor.commands import backup, exporting, importing, pin, restore, serve, verify
from advisor.commands.speech import chosen_language
from advisor.errors import AdvisorError
from advisor.language import ask

SERVE = "serve"
COMMANDS = {
    "backup": backup,
    "export": exporting,
    "import": importing,
    "pin": pin,
    "restore": restore,
    SERVE: serve,
    "verify": verify,
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Command-line arguments without the program's name.

    Returns
    -------
    int
        Exit status: 0 when all is well, 1 when the command found something wrong, 2 when it could
        not be carried out.
    """
    chosen = _parser().parse_args(_with_command(sys.argv[1:] if arguments is None else arguments))
    if chosen.command != SERVE:  # whoever reads a page chooses there
        ask(chosen_language)
    if chosen.data:
        os.environ["ADVISOR_DATA_DIR"] = chosen.data
    try:
        return int(COMMANDS[chosen.command].run(chosen))
    except AdvisorError as error:
        print(error, file=sys.stderr)
        return 2


def _with_command(arguments: Sequence[str]) -> list[str]:
    named = bool(arguments) and arguments[0] in COMMANDS
    asks = any(each in {"-h", "--help", "--version"} for each in arguments)
    return list(arguments) if named or asks else [SERVE, *arguments]


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m advisor", description=__doc__)
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, command in COMMANDS.items():
        words = (command.__doc__ or "").strip()
        each = commands.add_parser(name, help=words.splitlines()[0], description=words)
        each.add_argument(
            "--data",
            help="folder of the log (default: the user's data folder)",
            metavar="FOLDER",
        )
        command.add(each)
    return parser


if __name__ == "__main__":
    sys.exit(main())
