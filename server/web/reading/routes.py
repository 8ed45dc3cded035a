"""The lengths of runs, from a form."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from server.domain.edits import RouteEntry
from server.domain.model.build import PlugRef, Route, Run
from server.services.opened import Opened
from server.web.forms import Reader
from server.web.views.formats import bare_length
from server.web.views.routes import route_texts


@dataclass(frozen=True, slots=True)
class RoutesRead:
    """Routes from a form, and what is to be said of them once they are saved."""

    entries: Mapping[str, RouteEntry]
    """By run id."""
    spread: tuple[int, ...] = ()
    """Numbers of the chains whose one spacing was taken for every gap."""
    replaced: tuple[int, ...] = ()
    """Numbers of the runs whose legs and bends gave way to what was written as their length."""


def routes_read(read: Reader, opened: Opened) -> RoutesRead:
    """The routes that the form gives; runs that the form does not show are left alone.

    Args:
        read: The form's reader; its ``unit`` says what a bare number means.
        opened: The build that the form was made from: a field left as shown keeps its exact value, or the legs and
            bends that gave it.

    Raises:
        InvalidInputError: a length cannot be read, or lengths contradict each other.
    """
    inches = read.word("unit") == "in"
    planned = {run.id: run for run in opened.plan.runs}
    shown = [run for run in opened.build.runs if f"runs.{run.id}.length" in read.typed.values]
    entries = {
        run.id: RouteEntry(
            _route(read, run, planned[run.id].length_mm if run.id in planned else None, inches),
            _extras(read, run, "sources", run.sources, inches),
            _extras(read, run, "ends", run.ends, inches),
        )
        for run in shown
    }
    read.done()
    spread = tuple(
        run.number
        for run in shown
        if len(run.ends) > 2 and len(read.lengths(f"runs.{run.id}.spacing", inches=inches)) == 1
    )
    replaced = tuple(run.number for run in shown if run.route.steps and not entries[run.id].route.steps)
    return RoutesRead(entries, spread, replaced)


def _route(read: Reader, run: Run, middle_mm: float | None, inches: bool) -> Route:
    """One route: a length in the place of legs and bends, and beside it the range that it was expected in."""
    name, route = f"runs.{run.id}", run.route
    shown = route_texts(route, middle_mm, inches=inches)
    stays = _as_shown(read, f"{name}.length", shown["length"])
    length = route.length_mm if stays else read.length(f"{name}.length", inches=inches)
    low = _kept(read, f"{name}.low", shown["low"], route.low_mm, inches)
    likely = _kept(read, f"{name}.likely", shown["likely"], route.likely_mm, inches)
    high = _kept(read, f"{name}.high", shown["high"], route.high_mm, inches)
    spacing = route.spacing_mm
    if not _as_shown(read, f"{name}.spacing", shown["spacing"]):
        spacing = _spacing(read, f"{name}.spacing", len(run.ends) - 1, inches)
    _check_range(read, name, low, likely, high)
    return Route(
        length_mm=length,
        low_mm=low,
        likely_mm=likely,
        high_mm=high,
        steps=route.steps if stays else (),
        spacing_mm=spacing,
    )


def _check_range(read: Reader, name: str, low: float | None, likely: float | None, high: float | None) -> None:
    """Notes what is wrong with a range: an end missing, or its values out of order. [mm]"""
    if high is None and not read.word(f"{name}.high") and (low is not None or likely is not None):
        read.problem(f"{name}.high", "Say also how long at most.")
    if low is None and not read.word(f"{name}.low") and (high is not None or likely is not None):
        read.problem(f"{name}.low", "Say also how long at least.")
    if low is None or high is None:
        return
    if low > high:
        read.problem(f"{name}.high", "The longest must not be shorter than the shortest.")
    elif likely is not None and not low <= likely <= high:
        read.problem(f"{name}.likely", "The most likely lies between the shortest and the longest.")


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


def _as_shown(read: Reader, name: str, shown: str) -> bool:
    """Whether a field still says what it was shown with, or was not shown at all."""
    return name not in read.typed.values or read.word(name) == shown


def _kept(read: Reader, name: str, shown: str, current: float | None, inches: bool) -> float | None:
    """A length from its field; text that still stands as shown keeps the exact value behind it. [mm]"""
    return current if _as_shown(read, name, shown) else read.length(name, inches=inches)


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
