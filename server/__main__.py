"""The command line: ``python -m server`` starts the planner, ``python -m server plan BUILD.json`` prints a plan."""

import argparse
import re
import sys
from collections.abc import Sequence
from pathlib import Path

from server.config import DEFAULT_PORT, Settings
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
    parser.add_argument(
        "--phones", action="store_true", help="let paired devices in the workshop's network use the planner"
    )
    parser.add_argument(
        "--address",
        type=_address,
        metavar="http://NAME:PORT",
        help="with --phones: where the devices reach this computer (without it, its address in the network)",
    )
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


def _address(text: str) -> str:
    """An address that other devices can be given; plain http, since the planner itself speaks nothing else."""
    found = re.fullmatch(r"http://([a-z0-9](?:[a-z0-9.-]{0,251}[a-z0-9])?)(?::([0-9]{1,5}))?/?", text.strip().lower())
    if found is None or int(found[2] or 1) not in range(1, 65536):
        raise argparse.ArgumentTypeError("an address is written as http://bench.local:8765 or http://192.168.1.20:8765")
    if found[1] == "localhost" or found[1].startswith(("127.", "0.")):
        raise argparse.ArgumentTypeError("other devices cannot reach this computer by that address")
    return text.strip().lower().rstrip("/")


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command line and returns the exit status: 0 done, 2 refused with the reason on standard error."""
    parser = _parser()
    chosen = parser.parse_args(arguments)
    if chosen.command == "plan":
        return print_plan(chosen.document, layout=chosen.layout, data=chosen.data)
    if chosen.address and not chosen.phones:
        parser.error("--address needs --phones")
    settings = Settings(phones=chosen.phones, address=chosen.address or "")
    return serve(port=chosen.port, data=chosen.data, open_browser=not chosen.no_browser, settings=settings)


if __name__ == "__main__":
    sys.exit(main())
