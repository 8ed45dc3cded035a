"""A page that says what happened and where to go on."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.errors import Problem
from server.web.views.fields import sentence

_UNITS = {"mm": "mm", "percent": "per cent"}


@dataclass(frozen=True, slots=True)
class Place:
    """One thing wrong with a file: where it stands, in words and as the file writes it, and what it is."""

    words: str
    path: str
    text: str


@dataclass(frozen=True, slots=True)
class Notice:
    """A heading, one sentence, what is wrong place by place, and the way on."""

    heading: str
    text: str
    href: str
    way: str = "Go on from here"
    places: tuple[Place, ...] = ()


def import_refused(problems: Iterable[Problem]) -> Notice:
    """The page that says why a build file was not taken, with every problem at its place.

    Args:
        problems: What is wrong, each with the path of its value in the file.
    """
    places = tuple(Place(place_words(problem.field), problem.field, sentence(problem.message)) for problem in problems)
    text = "Nothing was saved. Mend the file at the places below, or export the build once more where it came from."
    return Notice("This file was not imported", text, "/#import-h", "Back to the builds, to choose a file", places)


def place_words(path: str) -> str:
    """Where in a build file a value stands: ``runs.2.route.length_mm`` is “runs, entry 3, route, length (mm)”.

    Args:
        path: Keys and places from the outside in, with points between them; empty for the whole file.
    """
    return ", ".join(_step(step) for step in path.split(".")) if path else "the file as a whole"


def _step(step: str) -> str:
    if re.fullmatch(r"[0-9]{1,6}", step):
        return f"entry {int(step) + 1}"
    name, _, unit = step.rpartition("_")
    if name and unit in _UNITS:
        return f"{name.replace('_', ' ')} ({_UNITS[unit]})"
    return step.replace("_", " ").replace("awg", "gauge")
