"""Values of the domain as JSON text that is the same, to the byte, in any process."""

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Any


def document_text(name: str, version: int, **content: Any) -> str:
    """A document: its format's name and version, then its content; two spaces a level, a newline at the end.

    Args:
        name: Name of the format.
        version: Version of the format.
        content: Dataclasses, tuples, maps, decimals and plain values by key.

    Raises:
        ValueError: a float is not finite; no document holds such a number.
    """
    document = {"format": name, "version": version, **{key: plain(value) for key, value in content.items()}}
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def plain(value: Any) -> Any:
    """Dataclasses, tuples, maps and decimals as what JSON can hold.

    Whole floats are written without a point, so that 350 and 350.0 mm, which are equal, are written alike; decimals
    become text in plain notation, so that no reader rounds them.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {entry.name: plain(getattr(value, entry.name)) for entry in fields(value)}
    if isinstance(value, Mapping):
        return {key: plain(value[key]) for key in sorted(value)}
    if isinstance(value, tuple | list):
        return [plain(entry) for entry in value]
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, float) and value.is_integer() and abs(value) < 2**53:
        return int(value)
    return value
