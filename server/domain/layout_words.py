"""What changed between two versions of a supply layout, in words."""

from collections.abc import Iterator

from server.domain.model.catalogue import Port, SupplyLayout
from server.domain.output_limits import EDITION_NAMES
from server.domain.reference import USE_NAMES

MOST_LINES = 40


def layout_changes(before: SupplyLayout, after: SupplyLayout) -> tuple[str, ...]:
    """Sentences that tell how ``after`` differs from ``before``; readings and the version's number do not count.

    Args:
        before: The earlier layout.
        after: The later one.

    Returns:
        Empty when the two record the same.
    """
    lines = list(_all(before, after))
    if len(lines) > MOST_LINES:
        lines = [*lines[:MOST_LINES], f"and {len(lines) - MOST_LINES} more changes"]
    return tuple(lines)


def _all(before: SupplyLayout, after: SupplyLayout) -> Iterator[str]:
    if before.name != after.name:
        yield f"renamed from '{before.name}' to '{after.name}'"
    if before.note != after.note:
        yield "notes changed"
    if before.source != after.source:
        yield "source changed"
    if before.edition != after.edition:
        yield f"readings are judged by {EDITION_NAMES[after.edition]}"
    yield from _limits(before, after)
    old = {port.id: port for port in before.ports}
    new = {port.id: port for port in after.ports}
    added = [port.label for ident, port in new.items() if ident not in old]
    removed = [port.label for ident, port in old.items() if ident not in new]
    if added:
        yield f"added {', '.join(added)}"
    if removed:
        yield f"removed {', '.join(removed)}"
    for ident, port in new.items():
        if ident in old and old[ident] != port:
            yield from _port(old[ident], port)
    if [ident for ident in old if ident in new] != [ident for ident in new if ident in old]:
        yield "ports stand in another order"


def _limits(before: SupplyLayout, after: SupplyLayout) -> Iterator[str]:
    for net in sorted(before.limits_a.keys() | after.limits_a.keys()):
        limit = after.limits_a.get(net)
        if before.limits_a.get(net) != limit:
            yield f"{net}: at most {limit:g} A" if limit is not None else f"{net}: greatest current not known"


def _port(before: Port, after: Port) -> Iterator[str]:
    name = after.label
    if before.label != after.label:
        yield f"port '{before.label}' is now '{name}'"
    if before.housing != after.housing:
        yield f"{name} has another socket"
    if before.feeds != after.feeds:
        yield f"{name} feeds {', '.join(USE_NAMES[use] for use in after.feeds) or 'nothing by its legend'}"
    old = {pin.cavity: pin.net for pin in before.pins}
    changed = [
        f"{pin.cavity} {pin.net or 'not connected'} (was {old.get(pin.cavity) or 'not connected'})"
        for pin in after.pins
        if old.get(pin.cavity) != pin.net
    ]
    if changed:
        yield f"{name}, cavit{'y' if len(changed) == 1 else 'ies'} {', '.join(changed)}"
