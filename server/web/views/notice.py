"""A page that says what happened and where to go on."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Notice:
    """A heading, one sentence, and the way on."""

    heading: str
    text: str
    href: str
