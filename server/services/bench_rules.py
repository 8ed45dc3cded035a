"""What an entry of the bench ledger must keep to beside the ledger itself: builds, items and words that exist."""

import re
from collections.abc import Collection
from dataclasses import fields

from server.domain.bench_steps import refused
from server.domain.model.bench import Cut, Entry, Material, Receive, Reserve, Take
from server.domain.model.catalogue import Catalogue

WORDS_MOST = 200
"""Characters of an origin or a reason."""
WIRING_MOST = 2000
"""Characters of a wiring: a source and the longest chain, with the longest ids, make a little over 1700."""
_CONTROL = re.compile("[\\x00-\\x1f\\x7f\\ud800-\\udfff]")
COLOURED = frozenset({"wire", "sleeve"})
"""Kinds that come in colours."""


def check_entry(entry: Entry, builds: Collection[str], catalogue: Catalogue) -> None:
    """Refuse an entry that speaks of what there is not.

    Args:
        entry: The entry.
        builds: Ids of the builds that are not put away.
        catalogue: For items and colours.

    Raises:
        InvalidInputError: with the value, and what is wrong with it.
    """
    if isinstance(entry, Receive | Reserve | Cut | Take):
        optional = isinstance(entry, Receive) and not entry.build
        if not optional and entry.build not in builds:
            raise refused("build", "there is no such build")
    for item in fields(entry):
        value = getattr(entry, item.name)
        if not isinstance(value, str):
            continue
        most = WIRING_MOST if item.name == "wiring" else WORDS_MOST
        if len(value) > most:
            raise refused(item.name, f"at most {most} characters, and this has {len(value)}")
        if _CONTROL.search(value):
            raise refused(item.name, "it holds a character that cannot be shown")
    if isinstance(entry, Receive):
        _check_material(entry.material, catalogue)
        if not entry.origin.strip():
            raise refused("origin", "say where it came from")


def one_line(text: str) -> str:
    """Words that may be kept as an origin or a reason: in one line, and no longer than those are."""
    return " ".join(_CONTROL.sub(" ", text).split())[:WORDS_MOST]


def _check_material(material: Material, catalogue: Catalogue) -> None:
    tables: dict[str, Collection[str]] = {
        "wire": catalogue.wires,
        "sleeve": catalogue.sleeves,
        "shrink": catalogue.shrinks,
        "contact": catalogue.contacts,
        "housing": catalogue.housings,
        "comb": catalogue.combs,
        "cap": catalogue.caps,
    }
    if material.item not in tables.get(material.kind, ()):
        raise refused("item", f"the catalogue has no {material.kind[:20]} '{material.item[:80]}'")
    if material.kind in COLOURED and material.colour not in catalogue.colours:
        raise refused("colour", f"the catalogue has no colour '{material.colour[:20]}'")
    if material.kind not in COLOURED and material.colour:
        raise refused("colour", f"a {material.kind} has no colour")
