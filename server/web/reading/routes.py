"""The lengths of runs, from a form."""

from server.domain.edits import RouteEntry
from server.domain.model.build import Build, PlugRef, Route, Run
from server.web.forms import Reader
from server.web.views.formats import bare_length
from server.web.views.routes import route_texts


def route_entries(read: Reader, build: Build) -> dict[str, RouteEntry]:
    """By run id, the route that the form gives it; runs that the form does not show are left alone.

    Args:
        read: The form's reader; its ``unit`` says what a bare number means.
        build: The build that the form was made from: a field left as shown keeps its exact value.

    Raises:
        InvalidInputError: a length cannot be read, or lengths contradict each other.
    """
    inches = read.word("unit") == "in"
    entries = {
        run.id: RouteEntry(
            _route(read, run, inches),
            _extras(read, run, "sources", run.sources, inches),
            _extras(read, run, "ends", run.ends, inches),
        )
        for run in build.runs
        if f"runs.{run.id}.length" in read.typed.values
    }
    read.done()
    return entries


def _route(read: Reader, run: Run, inches: bool) -> Route:
    """One route: a length, or a range, or nothing."""
    name, route = f"runs.{run.id}", run.route
    shown = route_texts(route, inches=inches)
    length = _kept(read, f"{name}.length", shown["length"], route.length_mm, inches)
    low = _kept(read, f"{name}.low", shown["low"], route.low_mm, inches)
    high = _kept(read, f"{name}.high", shown["high"], route.high_mm, inches)
    spacing = route.spacing_mm
    if f"{name}.spacing" in read.typed.values and read.word(f"{name}.spacing") != shown["spacing"]:
        spacing = read.lengths(f"{name}.spacing", inches=inches)
    if length is not None:
        # A length measured now replaces the range that stood before; a range typed beside it is a contradiction.
        if (low, high) != (route.low_mm, route.high_mm):
            read.problem(f"{name}.length", "Give either a length, or a shortest and a longest.")
        return Route(length_mm=length, spacing_mm=spacing)
    if low is not None and high is None and not read.word(f"{name}.high"):
        read.problem(f"{name}.high", "Say also how long at most.")
    if high is not None and low is None and not read.word(f"{name}.low"):
        read.problem(f"{name}.low", "Say also how long at least.")
    if low is not None and high is not None and low > high:
        read.problem(f"{name}.high", "The longest must not be shorter than the shortest.")
    return Route(low_mm=low, high_mm=high, spacing_mm=spacing)


def _kept(read: Reader, name: str, shown: str, current: float | None, inches: bool) -> float | None:
    """A length from its field; text that still stands as shown keeps the exact value behind it."""
    return current if read.word(name) == shown else read.length(name, inches=inches)


def _extras(read: Reader, run: Run, side: str, refs: tuple[PlugRef, ...], inches: bool) -> tuple[float, ...]:
    """Extra reach of each plug of one side; a side that the form does not show keeps its values."""
    found = []
    for index, ref in enumerate(refs):
        name = f"runs.{run.id}.{side}.{index}.extra"
        if name not in read.typed.values or read.word(name) == bare_length(ref.extra_mm, inches=inches):
            found.append(ref.extra_mm)
        else:
            found.append(read.length(name, inches=inches, zero=True) or 0.0)
    return tuple(found)
