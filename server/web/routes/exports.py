"""Lists of a build as files: CSV and XLSX."""

from collections.abc import Sequence

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.documents.tables import CSV_TYPE, XLSX_TYPE, Sheet, write_csv, write_xlsx
from server.domain.errors import NotFoundError
from server.web.screen import Desk
from server.web.views.exports import buy_sheet, cut_sheet, roll_sheet, tools_sheet

router = APIRouter(prefix="/builds/{build_id}/export")


@router.get("/buys.{kind}")
def buys(request: Request, desk: Desk, build_id: str, kind: str) -> Response:
    """The buy list; the workbook has the tools on a sheet of their own."""
    opened = desk.open(build_id)
    sheets = [buy_sheet(opened, request.app.state.stock.suppliers()), tools_sheet(opened)]
    return file_of(sheets, kind, f"buy-list-{build_id}")


@router.get("/cuts.{kind}")
def cuts(desk: Desk, build_id: str, kind: str) -> Response:
    """The cut list."""
    return file_of([cut_sheet(desk.open(build_id))], kind, f"cut-list-{build_id}")


@router.get("/rolls.{kind}")
def rolls(desk: Desk, build_id: str, kind: str) -> Response:
    """The roll plan as a list in cutting order."""
    return file_of([roll_sheet(desk.open(build_id))], kind, f"roll-plan-{build_id}")


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
    headers = {"Content-Disposition": f'attachment; filename="{name}.{kind}"', "Cache-Control": "no-store"}
    return Response(data, media_type=CSV_TYPE if kind == "csv" else XLSX_TYPE, headers=headers)
