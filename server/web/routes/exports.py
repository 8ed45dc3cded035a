"""Lists of a build as files: CSV and XLSX."""

from collections.abc import Sequence

from fastapi import APIRouter
from fastapi.responses import Response

from server.documents.tables import CSV_TYPE, XLSX_TYPE, Sheet, write_csv, write_xlsx
from server.domain.errors import NotFoundError
from server.services.bench import BenchDesk
from server.services.opened import Opened
from server.services.stock import StockDesk
from server.web.screen import Bench, Desk, Stock
from server.web.views.export_bench import Records
from server.web.views.exports import BOOK, LISTS, book_sheets

router = APIRouter(prefix="/builds/{build_id}/export")


@router.get(f"/{BOOK}.xlsx")
def book(desk: Desk, bench: Bench, stock: Stock, build_id: str) -> Response:
    """One workbook with every list."""
    opened = desk.open(build_id)
    return file_of(book_sheets(opened, records_of(opened, bench, stock)), "xlsx", f"build-{build_id}")


@router.get("/{name}.{kind}")
def listed(desk: Desk, bench: Bench, stock: Stock, build_id: str, name: str, kind: str) -> Response:
    """One list."""
    held = next((held for held in LISTS if held.id == name), None)
    if held is None:
        raise NotFoundError("There is no such list.")
    opened = desk.open(build_id)
    return file_of(held.make(opened, records_of(opened, bench, stock)), kind, f"{held.file}-{build_id}")


def records_of(opened: Opened, bench: BenchDesk, stock: StockDesk) -> Records:
    """What the lists of a build read beside its plan.

    Args:
        opened: The build as it stands.
        bench: For ledger and shelf.
        stock: For the builder's own words for suppliers.
    """
    state = bench.state()
    return Records(
        state.bench,
        {stored.number: stored.entry for stored in state.stored},
        bench.entries(opened.build_id),
        bench.build_names(),
        stock.suppliers(),
    )


def file_of(sheets: Sequence[Sheet], kind: str, name: str) -> Response:
    """Lists as a file to download; CSV holds the first of them.

    Args:
        sheets: The lists.
        kind: ``csv`` or ``xlsx``.
        name: Name of the file without its ending.

    Raises:
        NotFoundError: another kind of file.
    """
    if kind not in ("csv", "xlsx"):
        raise NotFoundError("Lists come as .csv and as .xlsx.")
    data = write_csv(sheets[0]) if kind == "csv" else write_xlsx(sheets)
    return file_response(data, CSV_TYPE if kind == "csv" else XLSX_TYPE, f"{name}.{kind}")


def file_response(data: bytes, media_type: str, name: str) -> Response:
    """A file to download.

    Args:
        data: What is in it.
        media_type: What it is.
        name: Its name, of letters, digits, hyphens and points.
    """
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return Response(data, media_type=media_type, headers=headers)
