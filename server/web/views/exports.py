"""Every list of a build as a file: which there are, where they are fetched, and what is in them."""

from collections.abc import Callable
from dataclasses import dataclass

from server.documents.tables import Sheet
from server.services.opened import Opened
from server.web.views import export_bench, export_order, export_plan, export_stock, export_tests, export_wires
from server.web.views.export_bench import Records
from server.web.views.shelf import chosen_lots

BOOK = "build"
"""Name of the workbook that holds every list."""


@dataclass(frozen=True, slots=True)
class ListFile:
    """One list that can be fetched as CSV and as XLSX."""

    id: str
    """Its name in the address."""
    name: str
    """What it is called on screen."""
    file: str
    """Name of the file, before the build's id."""
    make: Callable[[Opened, Records], tuple[Sheet, ...]]
    """Its sheets: CSV holds the first, a workbook all of them."""


def _one(make: Callable[[Opened], Sheet]) -> Callable[[Opened, Records], tuple[Sheet, ...]]:
    return lambda opened, _: (make(opened),)


def _buys(opened: Opened, records: Records) -> tuple[Sheet, ...]:
    return (export_stock.buy_sheet(opened, records.suppliers), export_stock.tools_sheet(opened))


def _money(opened: Opened, _: Records) -> tuple[Sheet, ...]:
    return (export_plan.estimate_sheet(opened), export_plan.labour_sheet(opened))


def _tests(opened: Opened, records: Records) -> tuple[Sheet, ...]:
    return (export_tests.tests_sheet(opened, records), export_tests.checks_sheet(opened))


def _ledger(opened: Opened, records: Records) -> tuple[Sheet, ...]:
    return (export_bench.ledger_sheet(opened, records),)


LISTS: tuple[ListFile, ...] = (
    ListFile("parts", "Parts and their sockets", "parts", _one(export_order.parts_sheet)),
    ListFile("cables", "Cables", "cables", _one(export_wires.cables_sheet)),
    ListFile("wires", "Wire table", "wires", _one(export_wires.wires_sheet)),
    ListFile("order", "Order of work", "order-of-work", _one(export_order.order_sheet)),
    ListFile("cuts", "Cut list", "cut-list", _one(export_stock.cut_sheet)),
    ListFile("waiting", "Cut now or wait", "cut-or-wait", _one(export_bench.waiting_sheet)),
    ListFile("rolls", "Roll plan", "roll-plan", _one(export_stock.roll_sheet)),
    ListFile("buys", "Buy list", "buy-list", _buys),
    ListFile("materials", "Materials by run", "materials", _one(export_stock.materials_sheet)),
    ListFile("tools", "Tools", "tools", _one(export_stock.tools_sheet)),
    ListFile("findings", "Findings", "findings", _one(export_plan.findings_sheet)),
    ListFile("estimate", "Estimate", "estimate", _money),
    ListFile("labour", "Work of the estimate", "labour", _one(export_plan.labour_sheet)),
    ListFile("work", "Work at the bench", "work", _one(export_bench.work_sheet)),
    ListFile("tests", "Test sheets", "test-sheets", _tests),
    ListFile("checks", "Checks of the test sheets", "test-checks", _one(export_tests.checks_sheet)),
    ListFile("changes", "What changed at the bench", "changes", _one(export_bench.changes_sheet)),
    ListFile("ledger", "Ledger", "ledger", _ledger),
)
"""In the order in which they are offered, which is that of the sheets of the workbook."""


def export_links(opened: Opened) -> tuple[tuple[str, str, str], ...]:
    """Every list with the addresses of its CSV and XLSX files, those of the shelf included.

    Args:
        opened: The build as it stands.
    """
    base = f"/builds/{opened.build_id}/export"
    of_build = ((held.name, f"{base}/{held.id}.csv", f"{base}/{held.id}.xlsx") for held in LISTS)
    shelf = ("Shelf", "/shelf/export.csv", "/shelf/export.xlsx")
    return (*of_build, shelf)


def book_href(opened: Opened) -> str:
    """Address of the workbook that holds every list.

    Args:
        opened: The build as it stands.
    """
    return f"/builds/{opened.build_id}/export/{BOOK}.xlsx"


def book_sheets(opened: Opened, records: Records) -> tuple[Sheet, ...]:
    """Every list of a build, and the shelf, each once.

    Args:
        opened: The build as it stands.
        records: Ledger, shelf and suppliers.
    """
    sheets = {sheet.title: sheet for held in LISTS for sheet in held.make(opened, records)}
    lots = chosen_lots(records.bench, "")
    shelf = export_stock.shelf_sheet(lots, opened.catalogue, records.builds, records.bench.entries)
    return (*sheets.values(), shelf)
