"""What a line of the buy list puts on the shelf once it is bought."""

from collections.abc import Mapping
from decimal import Decimal

from server.domain.bench_steps import refused
from server.domain.errors import NotFoundError
from server.domain.model.bench import Material, Receive
from server.domain.model.catalogue import ItemKind
from server.services.bench_rules import one_line
from server.services.opened import Opened

PACKS_MOST = 500
"""Packs of a line bought at once; a larger number is taken for a slip."""


def receipts(
    opened: Opened,
    key: tuple[ItemKind, str, str],
    packs: Mapping[str, int] | None = None,
    prices: Mapping[str, Decimal] | None = None,
) -> tuple[Receive, ...]:
    """One lot for each roll or pack of a line, kept for the build, the largest first.

    Args:
        opened: The build as it stands.
        key: Kind, item and colour of the line.
        packs: How many of each pack were bought; those of the line when not told.
        prices: What one pack cost, where it is not the price that the plan counts with.

    Raises:
        InvalidInputError: a number is wrong, or there is no such pack.
        NotFoundError: the buy list has no such line.
    """
    line = next((line for line in opened.plan.buys if (line.kind, line.item, line.colour) == key), None)
    if line is None:
        raise NotFoundError("The buy list has no such line.")
    bought = dict(line.packs) if packs is None else {pack: n for pack, n in packs.items() if n}
    sold = {pack.id: pack for pack in opened.catalogue.packs if (pack.kind, pack.item) == key[:2]}
    if unknown := bought.keys() - sold.keys():
        raise refused("packs", f"it is not sold as '{min(unknown)[:80]}'")
    if not bought or min(bought.values()) < 0:
        raise refused("packs", "say how many were bought")
    if sum(bought.values()) > PACKS_MOST:
        raise refused("packs", f"at most {PACKS_MOST} packs are bought at once")
    usual = {pack.id: opened.build.prices.get(pack.id, pack.price) for pack in sold.values()}
    paid = {**usual, **(prices or {})}
    material, origin = Material(*key), one_line(f"bought for {opened.build.name}")
    return tuple(
        Receive(material, sold[pack].quantity, paid[pack], origin, opened.build_id)
        for pack in sorted(bought, key=lambda pack: (-sold[pack].quantity, pack))
        for _ in range(bought[pack])
    )
