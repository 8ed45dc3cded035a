"""What the two commands do: listen and serve until stopped, or print one plan."""

import errno
import gc
import os
import signal
import socket
import sys
import threading
import webbrowser
from dataclasses import replace
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from server.config import DEFAULT_PORT, Settings
from server.domain.errors import InvalidInputError, LoomwrightError

if TYPE_CHECKING:
    from starlette.types import ASGIApp

DONE = 0
REFUSED = 2
_PORTS_TRIED = 20
_EVERY_ADDRESS = "0.0.0.0"
_ELSEWHERE = ("192.0.2.1", 9)
"""An address that RFC 5737 keeps for documentation: asking the way to it sends nothing."""


class _RefusedError(Exception):
    """The command cannot go on; the text says why."""


def serve(port: int | None, data: Path | None, open_browser: bool, settings: Settings | None = None) -> int:
    """Serves the planner until it is stopped.

    Args:
        port: Port to listen on; ``None`` takes the usual one or the next that is free.
        data: Folder of the person's builds; ``None`` takes the operating system's place for it.
        open_browser: Whether to open the planner in the browser.
        settings: What is not said above.

    Returns:
        Exit status.
    """
    settings = replace(settings or Settings(), open_browser=open_browser)
    if data is not None:
        settings = replace(settings, data=data.expanduser().resolve())
    try:
        # The socket is bound here and handed on, so that no other program can take the port in between.
        with _listen(_EVERY_ADDRESS if settings.phones else settings.host, port) as listener:
            if settings.phones:
                settings = replace(settings, address=_reached_at(settings.address, listener.getsockname()[1]))
            _serve_on(listener, settings)
    except _RefusedError as refusal:
        return _refuse(str(refusal))
    except KeyboardInterrupt:
        pass
    return DONE


def _serve_on(listener: socket.socket, settings: Settings) -> None:
    signal.signal(signal.SIGTERM, _stop)
    import uvicorn  # noqa: PLC0415  # The web server is not loaded to print a plan.

    application = _application(settings)
    # What was loaded so far stays; the collector need not look at it again on every pass.
    gc.collect()
    gc.freeze()
    address = f"http://{settings.host}:{listener.getsockname()[1]}/"
    print(f"Loomwright is at {address}  (Ctrl-C stops it; your builds are in {settings.data})", flush=True)
    if settings.phones:
        print(
            f"Phones in this network reach it at {settings.address} once they are paired: see {address}phones\n"
            "The connection to them is not encrypted: use this only in a network that you trust.",
            flush=True,
        )
    if settings.open_browser and _has_screen():
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    config = uvicorn.Config(
        application,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=3,
        # A header must never say where a request comes from: the socket alone tells this computer from others.
        proxy_headers=False,
    )
    uvicorn.Server(config).run(sockets=[listener])


def _application(settings: Settings) -> "ASGIApp":
    from server.app import create_app  # noqa: PLC0415  # Loads every room; not needed to say that a port is taken.

    try:
        return create_app(settings)
    except LoomwrightError as error:
        raise _RefusedError(str(error)) from error
    except OSError as error:
        place = error.filename or settings.data
        raise _RefusedError(f"The data folder cannot be used: {place}: {error.strerror or error}.") from error


def _listen(host: str, port: int | None) -> socket.socket:
    tried = range(DEFAULT_PORT, DEFAULT_PORT + _PORTS_TRIED) if port is None else (port,)
    for candidate in tried:
        listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name == "posix":
            # A planner stopped a moment ago must not block its own port; elsewhere this flag would share a live one.
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((host, candidate))
            listener.listen(128)
        except OSError as error:
            listener.close()
            if error.errno == errno.EADDRINUSE and port is None:
                continue
            raise _RefusedError(_port_message(candidate, error)) from error
        if port is None and candidate != DEFAULT_PORT:
            print(f"Port {DEFAULT_PORT} is taken; using {candidate}.", flush=True)
        return listener
    raise _RefusedError(f"Ports {tried[0]} to {tried[-1]} are all taken. Name a free one with --port.")


def _reached_at(named: str, port: int) -> str:
    """Where other devices reach the planner: as the person named it, or this computer's address in the network."""
    if named:
        return named if urlsplit(named).port else f"{named}:{port}"
    host = network_address()
    if not host:
        raise _RefusedError(
            "This computer has no address in a network. Connect it to the workshop's network, or name its address: "
            "--phones --address http://bench.local:8765"
        )
    return f"http://{host}:{port}"


def network_address() -> str:
    """The IPv4 address of this computer in the network that it is connected to; empty when there is none.

    The system is asked which of its addresses it would send from. Nothing is sent: connecting a datagram socket only
    looks the way up.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(_ELSEWHERE)
            host = str(asked.getsockname()[0])
        except OSError:
            return ""
    return "" if host.startswith(("127.", "0.")) else host


def _port_message(port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is taken by another program. Name another with --port, or leave --port out."
    return f"Port {port} cannot be used: {error.strerror}."


def _has_screen() -> bool:
    # Without a screen, the browser module may start a text browser in the terminal that the planner prints to.
    return os.name != "posix" or sys.platform == "darwin" or bool({"DISPLAY", "WAYLAND_DISPLAY"} & set(os.environ))


def _stop(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def print_plan(
    document: str, settings: Settings | None = None, layout: str | None = None, data: Path | None = None
) -> int:
    """Prints the plan of a build document on standard output; makes no data folder, and reads one only when told to.

    Args:
        document: Path of the document; ``-`` reads standard input.
        settings: Where the catalogue lies.
        layout: Path of a layout document to plan with in place of the build's own supply; ``-`` reads standard input.
        data: Data folder whose prices, measurements and layouts hold; the shipped catalogue without it.

    Returns:
        Exit status.
    """
    if document == layout == "-":
        return _refuse("Only one of the two documents can come from standard input.")
    try:
        text = _plan(document, layout, (settings or Settings()).catalogue_folder, data)
    except _RefusedError as refusal:
        return _refuse(str(refusal))
    except LoomwrightError as error:
        return _refuse(str(error))
    except OSError as error:
        return _refuse(f"{error.filename or document}: {error.strerror or error}.")
    try:
        sys.stdout.buffer.write(text.encode())
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        # The reader has enough; without this, Python would complain again while it closes standard output.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return DONE


def _plan(document: str, layout: str | None, catalogue_folder: Path, data: Path | None) -> str:
    """The plan's text; a document that cannot be accepted is named with what is wrong with it."""
    from server.services import offline  # noqa: PLC0415  # Loads the planner only when it is asked for.

    if data is None:
        catalogue = offline.shipped_catalogue(catalogue_folder)
    else:
        database = Settings(data=data).database
        if not database.is_file():
            raise _RefusedError(f"{data}: no planner has kept its data there.")
        catalogue = offline.kept_catalogue(database, catalogue_folder)
    recorded, reading = None, layout or document
    try:
        if layout is not None:
            recorded = offline.layout_of_document(_read(layout), catalogue)
        reading, sent = document, _read(document)
        text = offline.plan_text(sent, catalogue, recorded)
        # On standard error, so that the plan alone is on standard output.
        if recorded is not None and (note := offline.layout_note(sent, recorded)):
            print(f"Loomwright: {note}", file=sys.stderr, flush=True)
        return text
    except InvalidInputError as error:
        raise _RefusedError(f"{reading}: {error}") from error


def _read(document: str) -> bytes:
    from server.documents.strict_json import MOST_BYTES  # noqa: PLC0415  # As above.

    # One byte more than is allowed shows that there is too much, without reading a whole disk.
    if document == "-":
        return sys.stdin.buffer.read(MOST_BYTES + 1)
    with Path(document).open("rb") as file:
        return file.read(MOST_BYTES + 1)


def _refuse(reason: str) -> int:
    print(f"Loomwright: {reason}", file=sys.stderr, flush=True)
    return REFUSED
