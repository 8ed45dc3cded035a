"""What one revision costs beyond another, in words."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from server.domain.differences import Difference
from server.services.revisions import Since
from server.web.views import formats

LABELS_SHOWN = 60
"""Labels of one list that are written out."""


@dataclass(frozen=True, slots=True)
class WireList:
    """Wires that changed alike."""

    name: str
    count: str
    labels: str


@dataclass(frozen=True, slots=True)
class Effect:
    """What a change came to, a line each for wires, money and hours."""

    lines: tuple[str, ...]
    wires: tuple[WireList, ...]
    incomplete: str
    """Says so where some length or price is missing; empty otherwise."""


def effect(found: Difference) -> Effect:
    """A difference in short lines.

    Args:
        found: The difference.
    """
    lists = tuple(_lists(found))
    if found.nothing:
        return Effect(("no wires, no money, no hours",), lists, "")
    wires = formats.listed(f"{held.count} {held.name}" for held in lists)
    length = _signed(formats.metres(abs(found.wire_mm)), found.wire_mm) if abs(found.wire_mm) >= 50 else ""
    lines = (
        _runs(found),
        f"wires: {wires}" if wires else "",
        f"{length} of wire" if length else "",
        _money(found),
        _hours(found.minutes),
    )
    return Effect(tuple(line for line in lines if line), lists, _incomplete(found))


def since_words(since: Since | None) -> str:
    """What a change costs, in one line that a client can read.

    Args:
        since: What the build costs beyond its newest named revision, if one has a name.

    Returns:
        The line, without a full stop; empty where no revision has a name.
    """
    if since is None:
        return ""
    found = since.difference
    if since.number == since.now:
        return _as_named(since)
    begin = f"Since revision {since.number} ‘{since.name}’"
    if found.nothing:
        return f"{begin}: nothing that changes wires, price or hours"
    changed = len({*found.longer, *found.shorter, *found.recoloured, *found.regauged})
    parts = (
        _runs(found),
        _wires(found),
        f"{formats.count(changed, 'wire')} changed" if changed else "",
        _money(found),
        _hours(found.minutes),
    )
    note = _incomplete(found)
    return f"{begin}: {formats.listed(part for part in parts if part)}{f' ({note})' if note else ''}"


def _as_named(since: Since) -> str:
    """The named revision itself: what it costs as it is made, beyond what it cost when nothing was bought yet."""
    named = f"This is revision {since.number} ‘{since.name}’"
    beyond = formats.listed(part for part in (_money(since.difference), _hours(since.difference.minutes)) if part)
    return f"{named}; with what is bought and cut so far {beyond}" if beyond else named


def _lists(found: Difference) -> Iterable[WireList]:
    for name, labels in (
        ("new", found.new),
        ("gone", found.gone),
        ("longer", found.longer),
        ("shorter", found.shorter),
        ("of another colour", found.recoloured),
        ("of another gauge or insulation", found.regauged),
    ):
        if labels:
            more = len(labels) - LABELS_SHOWN
            shown = formats.listed(labels[:LABELS_SHOWN]) + (f" and {more} more" if more > 0 else "")
            yield WireList(name, str(len(labels)), shown)


def _runs(found: Difference) -> str:
    added, gone = len(found.runs_added), len(found.runs_gone)
    if added and gone:
        return f"{formats.count(added, 'new run')}, {formats.count(gone, 'run')} gone"
    return _more(added - gone, "run", "runs")


def _wires(found: Difference) -> str:
    new, gone = len(found.new), len(found.gone)
    if new and gone:
        return f"{formats.count(new, 'new wire')}, {formats.count(gone, 'wire')} gone"
    return _more(new - gone, "wire", "wires")


def _more(number: int, one: str, many: str) -> str:
    """So many more, or fewer; empty for none."""
    if not number:
        return ""
    noun = one if abs(number) == 1 else many
    return f"{number} more {noun}" if number > 0 else f"{-number} {noun} fewer"


def _signed(text: str, amount: Decimal | int) -> str:
    return f"{text} {'more' if amount > 0 else 'less'}"


def _money(found: Difference) -> str:
    """The price, and the parts in it."""
    if found.total is None or found.materials is None:
        return f"the price is in {found.currency} now"
    if not found.total and not found.materials:
        return ""
    parts = _amount(found.materials, found.currency) if found.materials else "the same"
    return f"{_amount(found.total, found.currency)} (parts {parts})"


def _amount(amount: Decimal, currency: str) -> str:
    if not amount:
        return "price the same"
    return _signed(formats.money(abs(amount), currency), amount)


def _hours(minutes: Decimal) -> str:
    # Less than half a minute would be told as 0 min.
    return _signed(formats.hours(abs(minutes)), minutes) if abs(minutes) >= Decimal("0.5") else ""


def _incomplete(found: Difference) -> str:
    return "" if found.complete else "some length or price is still missing"
