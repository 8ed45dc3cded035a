"""Pins, shared contacts, how its plugs hang on a run and the way it is built, from a form."""

from typing import get_args

from server.domain.model.build import Branching, Forbidden, Method, Pinned, Remedy, Run
from server.web.forms import Reader
from server.web.views.formats import bare_length

REMEDY_WORDS: tuple[Remedy, ...] = get_args(Remedy)
METHOD_WORDS: tuple[Method, ...] = get_args(Method)
BRANCHING_WORDS: tuple[Branching, ...] = get_args(Branching)


def pins_of(read: Reader, run_id: str) -> tuple[tuple[Pinned, ...], tuple[Forbidden, ...]]:
    """Wires put by hand and cavities that none may use; the button that clears leaves no pins.

    Args:
        read: The form's reader.
        run_id: The run.

    Raises:
        InvalidInputError: a field does not name a source cavity.
    """
    prefix = f"runs.{run_id}.pins."
    pins = []
    for name in read.typed.values:
        text = read.word(name)
        if not name.startswith(prefix) or not text or read.word("clear"):
            continue
        if place := _cavity(read, name, text):
            pins.append(Pinned(name.removeprefix(prefix), *place))
    forbidden = f"runs.{run_id}.forbidden"
    shut = [place for text in read.chosen(forbidden) if (place := _cavity(read, forbidden, text))]
    read.done()
    return tuple(pins), tuple(Forbidden(*place) for place in shut)


def shared_of(read: Reader, run_id: str) -> tuple[str, str, str, Remedy]:
    """The contact and what is done with it, from the button that was pressed.

    Args:
        read: The form's reader.
        run_id: The run.

    Raises:
        InvalidInputError: the button names no contact or no known remedy.
    """
    name = f"runs.{run_id}.shared"
    place, _, word = read.word(name).rpartition("/")
    remedy = next((known for known in REMEDY_WORDS if known == word), None)
    if remedy is None:
        read.problem(name, "Pick one of the ways offered.")
    found = _cavity(read, name, place) if remedy else None
    read.done()
    assert found is not None
    assert remedy is not None
    return (*found, remedy)


def method_of(read: Reader, run: Run) -> tuple[Method, float | None]:
    """The way a run is built and the length of the supply's own cable. [mm]

    Args:
        read: The form's reader; its ``unit`` says what a bare number means.
        run: The run as it stands: a length left as shown keeps its exact value.

    Raises:
        InvalidInputError: a choice is not among those offered, or the length cannot be read.
    """
    inches = read.word("unit") == "in"
    method = read.one_of(f"runs.{run.id}.method", METHOD_WORDS)
    name, own = f"runs.{run.id}.own_cable", run.own_cable_mm
    shown = "" if own is None else bare_length(own, inches=inches)
    if read.word(name) != shown:
        own = read.length(name, inches=inches)
    read.done()
    return method, own


def branching_of(read: Reader, name: str) -> Branching:
    """How several part plugs hang on a run; a chain where the form does not say.

    Args:
        read: The form's reader, which notes a choice that is not among those offered.
        name: Name of the field.
    """
    return read.one_of(name, BRANCHING_WORDS) if read.word(name) else "chain"


def _cavity(read: Reader, name: str, text: str) -> tuple[str, str, str] | None:
    """Part, socket and cavity of a source, as a form names them."""
    part, _, rest = text.partition("/")
    socket, _, cavity = rest.partition("/")
    if not (part and socket and cavity) or "/" in cavity:
        read.problem(name, "Pick a source cavity of the list.")
        return None
    return part, socket, cavity
