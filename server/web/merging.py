"""Two people at one form: what one of them changed, on top of what the other saved meanwhile.

A form carries all its fields, also those that nobody touched. The fields as they stood at the revision that the form
came from tell the two apart: only what differs from them is somebody's own.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.web.forms import Typed
from server.web.views.fields import Field

FieldsByName = Mapping[str, Field]
_ROW = re.compile(r"(runs\.[^.]+\.steps)\.\d+\.")
"""A field of a list whose rows move: it is one person's or the other's as a whole."""


@dataclass(frozen=True, slots=True)
class Merged:
    """A form brought up to the newest revision."""

    typed: Typed
    mine: tuple[str, ...] = ()
    """In words, each field that the sender changed."""
    lost: tuple[str, ...] = ()
    """In words, changes whose field the newest revision does not have any more."""


def merge(base: FieldsByName, latest: FieldsByName, typed: Typed) -> Merged:
    """What was typed on top of the newest revision.

    Args:
        base: The panel's fields at the revision that the form came from.
        latest: The panel's fields now.
        typed: The form as it was sent.

    Returns:
        The form with the newest values in every field that was left as it stood.
    """
    values = dict(typed.values)
    mine: list[str] = []
    lost: list[str] = []
    lists = {_list_of(name): False for name in _names(typed)}
    for held in filter(None, lists):
        lists[held] = _list_changed(held, base, typed)
    for name in _names(typed):
        if held := _list_of(name):
            if not lists[held]:
                values.pop(name, None)
            elif words := _row_words(name, base, typed):
                mine.append(words)
            continue
        before, now = base.get(name), latest.get(name)
        if before is None:
            # A button's own value, or a field that says how to read the others: it is sent on as it is.
            continue
        sent = typed.values.get(name, ())
        changed = _even(sent) != _even(before.sent) or _edited(typed, name)
        same = now is not None and now.label == before.label
        if changed:
            (mine if same else lost).append(f"{before.about} {before.label}: {_words(before, sent, typed)}".strip())
        if changed and same:
            continue
        values.pop(name, None)
        if now is not None and now.sent:
            values[name] = now.sent
    values.update(
        {name: now.sent for name, now in latest.items() if lists.get(_list_of(name)) is False and _list_of(name)}
    )
    return Merged(Typed(values), tuple(mine), tuple(lost))


def _names(typed: Typed) -> Iterable[str]:
    """Fields that the form showed, in its order: those that it sent, and its empty boxes."""
    return dict.fromkeys((*typed.values, *typed.values.get("shown", ())))


def _list_of(name: str) -> str:
    """The list that a field is in a row of; empty for every other field."""
    match = _ROW.match(name)
    return match[1] if match else ""


def _list_changed(held: str, base: FieldsByName, typed: Typed) -> bool:
    """Whether any row of a list differs from what stood there, or rows were added or taken away."""
    before = {name: _even(field.sent) for name, field in base.items() if _list_of(name) == held}
    sent = {name: _even(texts) for name, texts in typed.values.items() if _list_of(name) == held}
    return before != sent


def _row_words(name: str, base: FieldsByName, typed: Typed) -> str:
    """In words, what was changed in one field of a list; empty where nothing was, or where there is nothing to tell."""
    before, sent = base.get(name), typed.values.get(name, ())
    if before is None:
        text = " ".join(sent).strip()
        _, _, row, part = name.rsplit(".", 3)
        return f"step {int(row) + 1}, {part}: {text}" if text and part != "kind" else ""
    if _even(sent) == _even(before.sent):
        return ""
    return f"{before.about} {before.label}: {_words(before, sent, typed)}".strip()


def _edited(typed: Typed, name: str) -> bool:
    """Whether a button of a pattern's editor was pressed."""
    return bool(typed.first(f"{name}.add") or typed.first(f"{name}.drop"))


def _even(texts: tuple[str, ...]) -> tuple[str, ...]:
    """Texts with blanks and line ends made even, since a browser sends its own."""
    return tuple("\n".join(" ".join(line.split()) for line in text.strip().splitlines()) for text in texts)


def _words(field: Field, sent: tuple[str, ...], typed: Typed) -> str:
    """What was sent, as the screen words it."""
    if field.boxes and not field.options:
        return "yes" if sent else "no"
    names = {option.value: option.text for option in field.options}
    text = ", ".join(names.get(word, word) for word in sent if word) or "empty"
    if added := typed.first(f"{field.name}.add"):
        return f"{text} and {added}"
    if typed.first(f"{field.name}.drop"):
        return f"{text} without one"
    bare = field.unit and text.replace(".", "").replace(" ", "").isdecimal()
    return f"{text} {field.unit}" if bare else text
