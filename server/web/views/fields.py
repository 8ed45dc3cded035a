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
    boxes: bool = False
    """Whether it is ticked rather than filled in."""
    about: str = ""
    """What the label speaks of, where several of the kind stand on one panel; read out but not shown."""

    @property
    def sent(self) -> tuple[str, ...]:
        """What a form sends of the field as it stands."""
        if not self.boxes:
            return (self.value,)
        chosen = tuple(option.value for option in self.options if option.chosen)
        return ("yes",) if self.ticked else chosen


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
        self.made: dict[str, Field] = {}
        """Every field made so far, by name."""

    def text(self, name: str, label: str, current: str, hint: str = "", unit: str = "", about: str = "") -> Field:
        """A field for text or a number."""
        value, problem = self.typed(name, current), self._problems.get(name, "")
        return self._keep(Field(name, field_id(name), label, value, problem, hint, unit, about=about))

    def choice(self, name: str, label: str, current: str, options: Iterable[tuple[str, str]], hint: str = "") -> Field:
        """A list to pick one from; ``options`` are values with their texts."""
        value = self.typed(name, current)
        made = tuple(Option(key, text, key == value) for key, text in options)
        return self._keep(Field(name, field_id(name), label, value, self._problems.get(name, ""), hint, options=made))

    def choices(
        self, name: str, label: str, current: Iterable[str], options: Iterable[tuple[str, str]], hint: str = ""
    ) -> Field:
        """A list to tick several from; the form names the lists it showed, since one without a tick sends nothing."""
        told = name in self._typed.values or self._was_shown(name)
        chosen = self._typed.values.get(name, ()) if told else tuple(current)
        made = tuple(Option(key, text, key in chosen) for key, text in options)
        problem = self._problems.get(name, "")
        return self._keep(Field(name, field_id(name), label, "", problem, hint, options=made, boxes=True))

    def tick(self, name: str, label: str, current: bool, hint: str = "") -> Field:
        """A box to tick; the form names the boxes it showed, since an empty box sends nothing."""
        ticked = name in self._typed.values if self._was_shown(name) else current
        problem = self._problems.get(name, "")
        return self._keep(Field(name, field_id(name), label, "", problem, hint, ticked=ticked, boxes=True))

    def typed(self, name: str, current: str) -> str:
        """What a field will show: the text typed last, or what stands now."""
        return self._typed.first(name, current) if name in self._typed.values else current

    @property
    def sent(self) -> Typed:
        """The form that was typed last."""
        return self._typed

    def troubles(self) -> tuple[Trouble, ...]:
        """Every problem, to stand on top of the panel; asked for once all fields are made.

        Where there are several, each says which field it is about.
        """
        several = len(self._typed.problems) > 1
        return tuple(
            Trouble(
                self._naming(problem.field) * several + sentence(problem.message),
                field_id(problem.field) if problem.field in self.made else "",
            )
            for problem in self._typed.problems
        )

    def _naming(self, name: str) -> str:
        """A field's words before its problem; empty for what is no field of the panel."""
        made = self.made.get(name)
        return f"{made.about} {made.label}: ".lstrip() if made and made.label else ""

    def _was_shown(self, name: str) -> bool:
        return name in self._typed.values.get("shown", ())

    def _keep(self, field: Field) -> Field:
        self.made[field.name] = field
        return field
