"""The lengths of runs, from a form."""

import re

from server.domain.edits import RouteEntry
from server.domain.model.build import Build, PlugRef, Route, Run
from server.web.forms import Reader
from server.web.views.formats import bare_length
from server.web.views.routes import route_texts


def route_entries(read: Reader, build: Build) -> tuple[dict[str, RouteEntry], tuple[int, ...]]:
    """By run id, the route that the form gives it; runs that the form does not show are left alone.

    Args:
        read: The form's reader; its ``unit`` says what a bare number means.
        build: The build that the form was made from: a field left as shown keeps its exact value.

    Returns:
        The routes, and the numbers of the chains whose one spacing was taken for every gap.

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
    spread = tuple(
        run.number
        for run in build.runs
        if len(run.ends) > 2 and run.id in entries and len(read.lengths(f"runs.{run.id}.spacing", inches=inches)) == 1
    )
    return entries, spread


def _route(read: Reader, run: Run, inches: bool) -> Route:
    """One route: a length, or a range, or nothing.

    What was typed anew takes the place of what stood before: a length that of the range, a range that of the length.
    """
    name, route = f"runs.{run.id}", run.route
    shown = route_texts(route, inches=inches)
    length = _kept(read, f"{name}.length", shown["length"], route.length_mm, inches)
    low = _kept(read, f"{name}.low", shown["low"], route.low_mm, inches)
    high = _kept(read, f"{name}.high", shown["high"], route.high_mm, inches)
    spacing = route.spacing_mm
    if f"{name}.spacing" in read.typed.values and read.word(f"{name}.spacing") != shown["spacing"]:
        spacing = _spacing(read, f"{name}.spacing", len(run.ends) - 1, inches)
    anew = {key for key in ("length", "low", "high") if (text := read.word(f"{name}.{key}")) and text != shown[key]}
    if "length" in anew and len(anew) > 1:
        read.problem(f"{name}.length", "Give either a length, or a shortest and a longest.")
    if length is not None and anew <= {"length"}:
        return Route(length_mm=length, spacing_mm=spacing)
    if low is not None and high is None and not read.word(f"{name}.high"):
        read.problem(f"{name}.high", "Say also how long at most.")
    if high is not None and low is None and not read.word(f"{name}.low"):
        read.problem(f"{name}.low", "Say also how long at least.")
    if low is not None and high is not None and low > high:
        read.problem(f"{name}.high", "The longest must not be shorter than the shortest.")
    return Route(low_mm=low, high_mm=high, spacing_mm=spacing)


def _spacing(read: Reader, name: str, gaps: int, inches: bool) -> tuple[float, ...]:
    """From each plug to the next: one length for each gap, one for all of them, or none yet. [mm]"""
    found = read.lengths(name, inches=inches)
    if len(found) == 1 and gaps > 1:
        if re.search(r"\d,\d{2,}", read.word(name)):
            # 95,95 may be one length with a decimal comma, or two lengths.
            read.problem(name, "One length or several? Write decimals with a point, and a blank between lengths.")
        return found * gaps
    if found and len(found) != gaps:
        each = f"one for each of the {gaps} gaps, or one for all" if gaps > 1 else "one, for the one gap"
        read.problem(name, f"{len(found)} lengths: give {each}.")
    return found


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
