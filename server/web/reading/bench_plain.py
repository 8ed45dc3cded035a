"""The one button of the plain bench list that was pressed, as the tick that it stands for."""

import json
import re
from uuid import UUID

from server.domain.errors import InvalidInputError, Problem
from server.services.bench_tick_types import Tick
from server.web.forms import Typed
from server.web.reading.ticks import tick_of
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
    if not isinstance(read, dict):
        raise _refused()
    told = {name: read[name] for name in ("task", "entry" if kind == "undo" else "tick") if name in read}
    try:
        return nonce, tick_of({**told, "kind": kind, "n": 1, "id": tick_id(UUID(nonce), f"{kind} {sent}")}, kind)
    except InvalidInputError:
        raise _refused() from None


def _refused() -> InvalidInputError:
    return InvalidInputError((Problem("do", "press one of the buttons of the list"),))
