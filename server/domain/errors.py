"""Failures that a person can be told about."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with what was entered.

    ``field`` is the path of the value in the build document, such as ``runs.3.route.length_mm``; forms map it to the
    field beside which ``message`` is shown.
    """

    field: str
    message: str


class LoomwrightError(Exception):
    """Base of every failure that is told to the person rather than logged as a fault."""


class InvalidInputError(LoomwrightError):
    """What was entered cannot be accepted; every problem is listed."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(f"{p.field}: {p.message}" if p.field else p.message for p in problems))
        self.problems = problems


class NotFoundError(LoomwrightError):
    """No such build, run, part, layout or share link."""


class ConflictError(LoomwrightError):
    """Somebody saved a newer revision; ``changes`` says in words what it changed."""

    def __init__(self, latest: int, changes: tuple[str, ...]) -> None:
        super().__init__(f"revision {latest} was saved meanwhile: " + "; ".join(changes))
        self.latest = latest
        self.changes = changes


class CatalogueError(LoomwrightError):
    """A catalogue file cannot be loaded: names file, line, column and rule."""

    def __init__(self, file: str, line: int, column: str, rule: str) -> None:
        super().__init__(f"{file}, line {line}, column {column}: {rule}")
        self.file, self.line, self.column, self.rule = file, line, column, rule
