"""The command line: ``python -m server`` starts the planner, ``python -m server plan BUILD.json`` prints a plan."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from server.config import DEFAULT_PORT
from server.launch import print_plan, serve


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m server",
        description="Loomwright plans hand-made internal computer cables. Without a command it starts the planner.",
    )
    parser.add_argument("--port", type=_port, help=f"port to listen on (without it {DEFAULT_PORT}, or the next free)")
    parser.add_argument(
        "--data", type=Path, help="folder that keeps your builds (made when missing); plan reads its prices and layouts"
    )
    parser.add_argument("--no-browser", action="store_true", help="do not open the browser")
    commands = parser.add_subparsers(dest="command", title="commands", metavar="")
    plan = commands.add_parser("plan", help="print the plan of a build document as JSON and store nothing")
    plan.add_argument("document", help="a build document, such as BUILD.json; - reads standard input")
    plan.add_argument(
        "--layout", metavar="LAYOUT.json", help="plan with this recorded supply layout in place of the build's own"
    )
    return parser


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text) <= 65535):
        raise argparse.ArgumentTypeError("a port is a whole number from 0 to 65535; 0 takes any free one")
    return int(text)


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command line and returns the exit status: 0 done, 2 refused with the reason on standard error."""
    chosen = _parser().parse_args(arguments)
    if chosen.command == "plan":
        return print_plan(chosen.document, layout=chosen.layout, data=chosen.data)
    return serve(port=chosen.port, data=chosen.data, open_browser=not chosen.no_browser)


if __name__ == "__main__":
    sys.exit(main())
