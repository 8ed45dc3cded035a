"""How the API tells a failure: one JSON shape, ``{"detail", "problems": [{"field", "message"}]}``, for every status."""

from collections.abc import Mapping
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from server.domain.errors import ConflictError, InvalidInputError, LoomwrightError, NotFoundError, Problem
from server.web.api_schema import PROBLEM_TYPE


def install(api: FastAPI) -> None:
    """Gives the API its failure handlers."""
    api.add_exception_handler(InvalidInputError, _invalid)
    api.add_exception_handler(RequestValidationError, _invalid_parameter)
    api.add_exception_handler(ConflictError, _conflict)
    api.add_exception_handler(NotFoundError, _not_found)
    api.add_exception_handler(LoomwrightError, _other)
    api.add_exception_handler(HTTPException, _http)
    api.add_exception_handler(Exception, _fault)


def _answer(
    status: int, detail: str, problems: tuple[Problem, ...] = (), more: Mapping[str, Any] | None = None
) -> JSONResponse:
    content: dict[str, Any] = {
        "detail": detail,
        "problems": [{"field": problem.field, "message": problem.message} for problem in problems],
        **(more or {}),
    }
    return JSONResponse(content, status_code=status, media_type=PROBLEM_TYPE)


def _invalid(request: Request, error: Exception) -> JSONResponse:
    problems = error.problems if isinstance(error, InvalidInputError) else ()
    return _answer(422, "What was sent cannot be accepted.", problems)


def _invalid_parameter(request: Request, error: Exception) -> JSONResponse:
    found = error.errors() if isinstance(error, RequestValidationError) else ()
    problems = tuple(Problem(".".join(str(step) for step in each["loc"][1:]), f"{each['msg']}.") for each in found)
    return _answer(422, "A parameter of the address cannot be accepted.", problems)


def _conflict(request: Request, error: Exception) -> JSONResponse:
    # A request that named the revision it builds on had a precondition, and that is what failed.
    status = 412 if "if-match" in request.headers else 409
    latest, changes = (error.latest, error.changes) if isinstance(error, ConflictError) else (0, ())
    problems = tuple(Problem("", change) for change in changes)
    response = _answer(status, str(error), problems, {"latest": latest, "changes": list(changes)})
    response.headers["ETag"] = f'"rev-{latest}"'
    return response


def _not_found(request: Request, error: Exception) -> JSONResponse:
    return _answer(404, str(error) or "There is no such thing here.")


def _other(request: Request, error: Exception) -> JSONResponse:
    return _answer(409, str(error))


def _http(request: Request, error: Exception) -> JSONResponse:
    status, detail = (error.status_code, error.detail) if isinstance(error, HTTPException) else (500, str(error))
    response = _answer(status, "There is no such address here." if str(detail) == "Not Found" else str(detail))
    if isinstance(error, HTTPException) and error.headers:
        response.headers.update(error.headers)
    return response


def _fault(request: Request, error: Exception) -> JSONResponse:
    return _answer(500, "The planner failed at this. The terminal it runs in says where.")
