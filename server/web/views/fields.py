"""Form fields as a template needs them: what to show, what was typed, and what is wrong with it."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from server.web.forms import Typed


@dataclass(frozen=True, slots=True)
class Option:
    """One choice of a list."""

    value: str
    text: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its name in the form, its id on the page, its label, value, message and choices."""

    name: str
    id: str
    label: str
    value: str
    problem: str = ""
    hint: str = ""
    unit: str = ""
    ticked: bool = False
    options: tuple[Option, ...] = ()


@dataclass(frozen=True, slots=True)
class Trouble:
    """One message of the summary on top of a refused form, with the field it speaks of."""

    text: str
    target: str
    """Id of the field, empty when it is not on the panel."""


def field_id(name: str) -> str:
    """The id of a field on the page, from its name in the form."""
    return "f-" + re.sub(r"[^A-Za-z0-9]+", "-", name)


def sentence(message: str) -> str:
    """A message as a sentence, however it was written."""
    text = message[:1].upper() + message[1:]
    return text if text.endswith((".", "!", "?", ":")) else f"{text}."


class Fields:
    """Makes the fields of one panel, each with what was typed last and the problem found with it."""

    def __init__(self, typed: Typed | None = None) -> None:
        self._typed = typed or Typed()
        self._problems = {problem.field: sentence(problem.message) for problem in self._typed.problems}
        self._made: set[str] = set()

    def text(self, name: str, label: str, current: str, hint: str = "", unit: str = "") -> Field:
        """A field for text or a number."""
        self._made.add(name)
        value = self.typed(name, current)
        return Field(name, field_id(name), label, value, self._problems.get(name, ""), hint, unit)

    def choice(self, name: str, label: str, current: str, options: Iterable[tuple[str, str]], hint: str = "") -> Field:
        """A list to pick one from; ``options`` are values with their texts."""
        self._made.add(name)
        value = self.typed(name, current)
        made = tuple(Option(key, text, key == value) for key, text in options)
        return Field(name, field_id(name), label, value, self._problems.get(name, ""), hint, options=made)

    def choices(
        self, name: str, label: str, current: Iterable[str], options: Iterable[tuple[str, str]], hint: str = ""
    ) -> Field:
        """A list to tick several from."""
        self._made.add(name)
        chosen = self._typed.values[name] if name in self._typed.values else tuple(current)
        made = tuple(Option(key, text, key in chosen) for key, text in options)
        return Field(name, field_id(name), label, "", self._problems.get(name, ""), hint, options=made)

    def tick(self, name: str, label: str, current: bool, hint: str = "") -> Field:
        """A box to tick; the form names the boxes it showed, since an empty box sends nothing."""
        self._made.add(name)
        shown = name in self._typed.values.get("shown", ())
        ticked = name in self._typed.values if shown else current
        return Field(name, field_id(name), label, "", self._problems.get(name, ""), hint, ticked=ticked)

    def typed(self, name: str, current: str) -> str:
        """What a field will show: the text typed last, or what stands now."""
        return self._typed.first(name, current) if name in self._typed.values else current

    def troubles(self) -> tuple[Trouble, ...]:
        """Every problem, to stand on top of the panel; asked for once all fields are made."""
        return tuple(
            Trouble(sentence(problem.message), field_id(problem.field) if problem.field in self._made else "")
            for problem in self._typed.problems
        )
