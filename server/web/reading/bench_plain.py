"""The one button of the plain bench list that was pressed, as the tick that it stands for."""

import json
import re
from uuid import UUID

from server.domain.errors import InvalidInputError, Problem
from server.services.bench_tick_types import Tick
from server.web.forms import Typed
from server.web.views.bench_plain import tick_id

_SENT_MOST = 4000
_NONCE = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def plain_tick(typed: Typed) -> tuple[str, Tick]:
    """The page's own mark, which stands for the device, and the tick.

    Args:
        typed: The form as it was sent: ``nonce``, and ``do`` or ``undo`` with what the page put into its button.

    Raises:
        InvalidInputError: the form is not one that a page of the planner made.
    """
    nonce = typed.first("nonce")
    kind = "undo" if typed.first("undo") else "do"
    sent = typed.first(kind)
    if not _NONCE.fullmatch(nonce) or not sent or len(sent) > _SENT_MOST:
        raise _refused()
    try:
        read = json.loads(sent)
    except (ValueError, RecursionError):
        raise _refused() from None
    task, entry, tick = _field(read, "task"), _field(read, "entry"), _field(read, "tick")
    if not isinstance(task, str):
        raise _refused()
    ident = tick_id(UUID(nonce), f"{kind} {sent}")
    if kind == "undo":
        if not isinstance(entry, int) or isinstance(entry, bool) or entry < 1:
            raise _refused()
        return nonce, Tick(ident, 1, "undo", task, entry=entry)
    if not isinstance(tick, dict) or not all(isinstance(value, int | str) for value in tick.values()):
        raise _refused()
    return nonce, Tick(ident, 1, "do", task, tick)


def _field(read: object, name: str) -> object:
    return read.get(name) if isinstance(read, dict) else None


def _refused() -> InvalidInputError:
    return InvalidInputError((Problem("do", "press one of the buttons of the list"),))
