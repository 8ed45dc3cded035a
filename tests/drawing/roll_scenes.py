"""Hand-built roll plans: sheets of one material, without planner or files."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from server.domain.model.catalogue import ItemKind
from server.domain.model.plan import RollLayout, RollPiece, RollSheet

Source = Literal["roll", "lot", "piece"]


def piece(label: str, length_mm: int, *, ready: bool = True) -> RollPiece:
    return RollPiece(f"run/{label}", label, length_mm, ready)


def layout(
    source: Source, stock_mm: int, pieces: Sequence[RollPiece], *, lot: int = 0, loss_mm: int = 0, price: str = "0"
) -> RollLayout:
    """What is left follows from the pieces, each with its loss behind it."""
    left = stock_mm - sum(p.length_mm + loss_mm for p in pieces)
    # The last cut takes no more than is there.
    assert left >= -loss_mm, "the pieces are longer than the roll"
    pack = f"pack-{stock_mm}" if source == "roll" else ""
    return RollLayout(source, lot, pack, stock_mm, Decimal(price), tuple(pieces), max(0, left))


def sheet(
    *layouts: RollLayout, kind: ItemKind = "wire", item: str = "awg16-plain", colour: str = "BK",
    name: str = "16 AWG, plain, black BK", bound: str | None = None,
) -> RollSheet:  # fmt: skip
    cost = sum((held.price for held in layouts), Decimal(0))
    least = cost if bound is None else Decimal(bound)
    return RollSheet(kind, item, colour, name, layouts, cost, least, least == cost)


def numbered(run: int, count: int, length_mm: int, *, ready: bool = True) -> tuple[RollPiece, ...]:
    return tuple(piece(f"{run}-{n:02}", length_mm, ready=ready) for n in range(1, count + 1))


def small_sheet() -> RollSheet:
    """A piece that no longer serves, a lot from the shelf, and a roll to buy with a run that is kept free."""
    return sheet(
        layout("piece", 700, (piece("4-03", 640),), lot=27),
        layout("lot", 3420, (*numbered(1, 4, 655), piece("5-02", 240)), lot=12),
        layout("roll", 10_000, (*numbered(2, 8, 540), *numbered(3, 6, 420, ready=False)), price="10.10"),
    )


def large_sheet() -> RollSheet:
    """Two hundred pieces of several lengths from four rolls."""
    lengths = [(1, 24, 655), (2, 32, 540), (3, 48, 455), (4, 60, 470), (5, 36, 95)]
    pieces = [held for run, count, long in lengths for held in numbered(run, count, long)]
    rolls, rest = [], 25_000
    taken: list[RollPiece] = []
    for held in pieces:
        if held.length_mm > rest:
            rolls.append(layout("roll", 25_000, taken, price="22.60"))
            taken, rest = [], 25_000
        taken.append(held)
        rest -= held.length_mm
    return sheet(*rolls, layout("roll", 25_000, taken, price="22.60"), bound="85.00")


def shrink_sheet() -> RollSheet:
    """Short tubes, whose labels do not fit on them, beside a long one."""
    tubes = [piece(f"{run}-hs{n}", 15) for run in range(1, 5) for n in range(1, 17)]
    return sheet(
        layout("roll", 1000, (piece("9-hs1", 120), *tubes[:40]), price="1.20"),
        layout("roll", 1000, tubes[40:], price="1.20"),
        kind="shrink", item="small", colour="", name="heat-shrink 6.4 mm",
    )  # fmt: skip
