"""Pages as trees: what a person or a screen reader finds on them."""

from collections.abc import Iterator
from xml.etree.ElementTree import Element

import html5lib

CONTROLS = ("input", "select", "textarea")


def page(text: str) -> Element:
    """The tree of a whole page."""
    return html5lib.parse(text, namespaceHTMLElements=False)


def fragments(text: str) -> list[Element]:
    """The top elements of an answer that is swapped in."""
    return list(html5lib.parseFragment(text, namespaceHTMLElements=False))


def all_of(tree: Element, tag: str) -> list[Element]:
    return list(tree.iter(tag))


def by_id(tree: Element, wanted: str) -> Element:
    found = [element for element in tree.iter() if element.get("id") == wanted]
    assert len(found) == 1, f"{len(found)} elements with the id {wanted}"
    return found[0]


def words(element: Element) -> str:
    """What an element says, blanks made even."""
    return " ".join("".join(element.itertext()).split())


def field(tree: Element, name: str) -> Element:
    found = [e for tag in CONTROLS for e in tree.iter(tag) if e.get("name") == name and e.get("type") != "hidden"]
    assert len(found) == 1, f"{len(found)} fields named {name}"
    return found[0]


def beside(tree: Element, name: str) -> str:
    """What the texts say that a field names as its description."""
    ids = (field(tree, name).get("aria-describedby") or "").split()
    return " ".join(words(by_id(tree, wanted)) for wanted in ids)


def forms(tree: Element) -> Iterator[Element]:
    return tree.iter("form")
