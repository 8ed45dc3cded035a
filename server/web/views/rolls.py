"""The roll plan: what is cut from which roll or remnant, as a picture and as a list in the same order."""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.build import Allowances
from server.domain.model.catalogue import ItemKind
from server.domain.model.plan import RollLayout, RollPiece, RollSheet
from server.drawing.rolls import leftover_words, roll_svgs
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.pieces import Swatch, swatch


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A piece in cutting order, or neighbours that are cut alike and not told apart."""

    number: str
    length: str
    label: str
    state: str
    """What is to be said of it, such as that it is only kept free; empty for most."""


@dataclass(frozen=True, slots=True)
class RollView:
    """One roll, remnant or piece with what is cut from it."""

    id: str
    there: bool
    """False for what is to be bought."""
    mark: str
    word: str
    name: str
    price: str
    left: str
    svg: str
    rows: tuple[PieceRow, ...]
    count: str


@dataclass(frozen=True, slots=True)
class SheetView:
    """Everything of one material and colour."""

    id: str
    kind: str
    name: str
    colour: Swatch | None
    sums: str
    verdict: str
    proved: bool
    rolls: tuple[RollView, ...]


@dataclass(frozen=True, slots=True)
class RollsPanel:
    """The roll plan."""

    base: int
    href: str
    buys_href: str
    bench_href: str
    exports: str
    """Address of the list as a file, without its ending."""
    headline: str
    verdict: str
    proved: bool
    metered: bool
    sheets: tuple[SheetView, ...]
    materials: str
    """How many there are, where that is enough to need an index."""
    loss: Field
    least: Field


INDEX_FROM = 3
"""Materials up to which the panel needs no index of them."""
MARKS = {"roll": ("○", "to buy"), "lot": ("■", "on hand"), "piece": ("◆", "on hand")}
"""Mark and word of what a piece is cut from."""


def rolls_panel(opened: Opened, base: int, fields: Fields) -> RollsPanel:
    """The view of the roll plan.

    Args:
        opened: The build as it stands.
        base: Revision that the settings change.
        fields: Makes the fields with what was typed last.
    """
    sheets, held = opened.plan.rolls, opened.build.allowances
    cost = sum((sheet.cost for sheet in sheets), Decimal(0))
    bound = sum((sheet.bound for sheet in sheets), Decimal(0))
    proved = all(sheet.proved for sheet in sheets)
    currency = opened.build.rates.currency
    return RollsPanel(
        base=base,
        href=f"/builds/{opened.build_id}/rolls",
        buys_href=f"/builds/{opened.build_id}/buys",
        bench_href=f"/builds/{opened.build_id}/ledger",
        exports=f"/builds/{opened.build_id}/export/rolls",
        headline=_bought_words(sheets, cost, currency),
        verdict=verdict_words(cost, bound, currency, proved=proved),
        proved=proved,
        metered=opened.plan.metered,
        sheets=_sheets(opened),
        materials=formats.count(len(sheets), "material") if len(sheets) > INDEX_FROM else "",
        loss=fields.text(
            "allowances.cut_loss", "Lost at each cut", str(held.cut_loss_mm), "What your cutter eats.", "mm"
        ),
        least=fields.text(
            "allowances.remnant_least",
            "Shortest remnant worth keeping",
            str(held.remnant_least_mm),
            "A shorter leftover is scrap.",
            "mm",
        ),
    )


def verdict_words(cost: Decimal, bound: Decimal, currency: str, *, proved: bool) -> str:
    """Whether a cost is proved to be the least, and if not, how far from it it may be.

    Args:
        cost: What the rolls cost.
        bound: No way to cut costs less.
        currency: Of both.
        proved: Whether it is proved that nothing is cheaper.
    """
    if proved:
        return "proved the least" if cost else "nothing has to be bought"
    return (
        f"at most {formats.money(cost - bound, currency)} more than the least (bound {formats.money(bound, currency)})"
    )


def rolls_line(opened: Opened) -> str:
    """The roll plan in one line, for the rail.

    Args:
        opened: The build as it stands.
    """
    sheets = opened.plan.rolls
    if not sheets:
        return "nothing to cut"
    bought = sum(1 for sheet in sheets for layout in sheet.layouts if layout.source == "roll")
    cost = formats.money(sum((sheet.cost for sheet in sheets), Decimal(0)), opened.build.rates.currency)
    return f"{formats.count(bought, 'roll')} to buy, {cost}" if bought else "all from the shelf"


def _bought_words(sheets: tuple[RollSheet, ...], cost: Decimal, currency: str) -> str:
    sources = Counter(layout.source for sheet in sheets for layout in sheet.layouts)
    there = sources["lot"] + sources["piece"]
    words = [formats.count(sources["roll"], "roll") + " to buy"] if sources["roll"] else []
    words += [f"{there} from the shelf"] if there else []
    return f"{formats.money(cost, currency)} for {formats.listed(words)}" if words else "Nothing to cut."


def _sheets(opened: Opened) -> tuple[SheetView, ...]:
    """The sheets with their pictures, drawn once for a plan."""
    return opened.once(
        "roll sheets",
        lambda: tuple(_sheet(number, sheet, opened) for number, sheet in enumerate(opened.plan.rolls, start=1)),
    )


def _sheet(number: int, sheet: RollSheet, opened: Opened) -> SheetView:
    allowances, currency = opened.build.allowances, opened.build.rates.currency
    pictures = roll_svgs(
        sheet,
        opened.catalogue,
        f"roll-{number}",
        loss_mm=allowances.cut_loss_mm,
        least_mm=allowances.remnant_least_mm,
    )
    rolls = tuple(
        _roll(f"roll-{number}-{place}", layout, sheet.kind, picture, allowances, currency)
        for place, (layout, picture) in enumerate(zip(sheet.layouts, pictures, strict=True), start=1)
    )
    pieces = [piece for layout in sheet.layouts for piece in layout.pieces]
    total = formats.metres(sum(piece.length_mm for piece in pieces))
    return SheetView(
        f"rolls-{number}",
        formats.ITEMS[sheet.kind],
        sheet.name,
        swatch(opened.catalogue, sheet.colour) if sheet.colour else None,
        f"{formats.count(len(pieces), 'piece')}, {total}"
        + (f"; {formats.money(sheet.cost, currency)}" if sheet.cost else ""),
        verdict_words(sheet.cost, sheet.bound, currency, proved=sheet.proved),
        sheet.proved,
        rolls,
    )


def _rows(layout: RollLayout, kind: ItemKind) -> tuple[PieceRow, ...]:
    """Every wire on its own; sleeves and tubes side by side that are cut alike in one row."""
    made: list[list[tuple[int, RollPiece]]] = []
    for number, piece in enumerate(layout.pieces, start=1):
        before = made[-1][-1][1] if made and kind != "wire" else None
        if before and (before.length_mm, before.ready) == (piece.length_mm, piece.ready):
            made[-1].append((number, piece))
        else:
            made.append([(number, piece)])
    return tuple(
        PieceRow(
            str(held[0][0]) if len(held) == 1 else f"{held[0][0]}–{held[-1][0]}",
            (f"{len(held)} × " if len(held) > 1 else "") + str(held[0][1].length_mm),
            formats.spans(piece.label for _, piece in held),
            "" if held[0][1].ready else "kept free",
        )
        for held in made
    )


def _roll(
    ident: str, layout: RollLayout, kind: ItemKind, picture: str, allowances: Allowances, currency: str
) -> RollView:
    mark, word = MARKS[layout.source]
    return RollView(
        ident,
        layout.source != "roll",
        mark,
        word,
        stock_words(layout),
        formats.money(layout.price, currency) if layout.source == "roll" else "",
        leftover_words(layout.left_mm, allowances.remnant_least_mm),
        picture,
        _rows(layout, kind),
        formats.count(len(layout.pieces), "piece"),
    )


def stock_words(layout: RollLayout) -> str:
    """What a layout is cut from, in words.

    Args:
        layout: The roll, lot or piece.
    """
    if layout.source == "roll":
        return f"roll of {formats.number(layout.stock_mm / 1000, 2)} m"
    long = f"{layout.stock_mm} mm"
    return f"lot {layout.lot}, {long}" if layout.source == "lot" else f"piece {layout.lot}, {long}, cut before"
