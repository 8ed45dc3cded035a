"""Ticks of the bench screen from JSON, read strictly: a body that no screen of the planner made is refused whole."""

import re
from collections.abc import Collection

from server.documents.strict_json import decode, parse_object, refuse
from server.services.bench_rules import WIRING_MOST
from server.services.bench_tick_types import TICK_KINDS, TICKS_MOST, Tick, TickKind

BODY_MOST = 500_000
"""Greatest body: of the hundred ticks that the screen sends at once, each may have five thousand bytes. [byte]"""
NUMBER_MOST = 999_999_999
_ID = re.compile(r"[0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")
_CONTROL = re.compile("[\\x00-\\x1f\\x7f\\ud800-\\udfff]")
_FIELDS = frozenset({"id", "n", "kind", "task", "tick", "of", "entry", "operation", "count", "seconds", "run", "at"})
_PARTS_MOST = 12
"""Values that a task gives to be sent back."""


def read_ticks(body: bytes) -> tuple[str, tuple[Tick, ...]]:
    """The device and its ticks.

    Args:
        body: The request's body.

    Raises:
        InvalidInputError: it is not of the form that is sent, with the place and what is wrong there.
    """
    if len(body) > BODY_MOST:
        raise refuse("", f"The body is larger than {BODY_MOST // 1000} kB: send fewer ticks at a time.")
    sent = parse_object(decode(body))
    _check_names(sent, {"device", "ticks"}, "")
    device, ticks = _text(sent, "device", "", most=64), sent.get("ticks")
    if not device:
        raise refuse("device", "Say which device this is.")
    if not isinstance(ticks, list):
        raise refuse("ticks", "Must be a list.")
    if len(ticks) > TICKS_MOST:
        raise refuse("ticks", f"At most {TICKS_MOST} ticks are sent at once, and these are {len(ticks)}.")
    return device, tuple(tick_of(value, f"ticks.{at}") for at, value in enumerate(ticks))


def tick_of(value: object, where: str) -> Tick:
    """One tick.

    Args:
        value: As it came.
        where: Its place, for what is said of it.

    Raises:
        InvalidInputError: it is not of the form that is sent, with the place and what is wrong there.
    """
    if not isinstance(value, dict):
        raise refuse(where, "Must be an object.")
    _check_names(value, _FIELDS, f"{where}.")
    at = f"{where}."
    ident = _id(_text(value, "id", at), f"{at}id")
    of = value.get("of", "")
    # 0 stands for no tick, as for an entry.
    named = "" if of in ("", 0, None) and not isinstance(of, bool) else _id(_text(value, "of", at), f"{at}of")
    tick = Tick(
        id=ident,
        n=_number(value, "n", at),
        kind=_kind(value.get("kind"), f"{at}kind"),
        task=_text(value, "task", at),
        tick=_parts(value.get("tick"), f"{at}tick"),
        of=named,
        entry=_number(value, "entry", at),
        operation=_text(value, "operation", at, most=40),
        count=_number(value, "count", at),
        seconds=_number(value, "seconds", at),
        run=_text(value, "run", at, most=64),
        at=_text(value, "at", at, most=40),
    )
    _check_whole(tick, at)
    return tick


def _check_whole(tick: Tick, at: str) -> None:
    """Refuse a tick without what its kind needs."""
    if tick.kind == "do" and not (tick.task and tick.tick is not None):
        raise refuse(f"{at}task", "Say which task was done, and send its tick back.")
    if tick.kind == "undo" and bool(tick.of) == bool(tick.entry):
        raise refuse(f"{at}of", "Name either the tick or the entry that is taken back.")
    if tick.kind == "time" and not tick.operation:
        raise refuse(f"{at}operation", "Say what was timed.")


def _check_names(value: dict[str, object], known: Collection[str], where: str) -> None:
    if unknown := sorted(set(value) - set(known)):
        raise refuse(f"{where}{unknown[0][:80]}", "There is no such field.")


def _kind(value: object, where: str) -> TickKind:
    kind = next((kind for kind in TICK_KINDS if kind == value), None)
    if kind is None:
        raise refuse(where, "Must be do, undo or time.")
    return kind


def _id(text: str, where: str) -> str:
    """An id as it is kept: small letters, so that the same one is found however it was written."""
    if not _ID.fullmatch(text):
        raise refuse(where, "Must be a UUID.")
    return text.lower()


def _text(value: dict[str, object], name: str, where: str, *, most: int = 200) -> str:
    found = value.get(name, "")
    if not isinstance(found, str):
        raise refuse(f"{where}{name}", "Must be text.")
    if len(found) > most or _CONTROL.search(found):
        raise refuse(f"{where}{name}", f"Must be one line of at most {most} characters.")
    return found


def _number(value: dict[str, object], name: str, where: str) -> int:
    found = value.get(name, 0)
    if not isinstance(found, int) or isinstance(found, bool):
        raise refuse(f"{where}{name}", "Must be a whole number.")
    if not 0 <= found <= NUMBER_MOST:
        raise refuse(f"{where}{name}", f"Must be between 0 and {NUMBER_MOST}.")
    return found


def _parts(value: object, where: str) -> dict[str, int | str] | None:
    """What a task gave to be sent back: a few words and whole numbers."""
    if value is None:
        return None
    if not isinstance(value, dict) or len(value) > _PARTS_MOST:
        raise refuse(where, "Must be what the task gave to be sent back.")
    made: dict[str, int | str] = {}
    for name in value:
        if not isinstance(name, str) or len(name) > 20:
            raise refuse(where, "Must be what the task gave to be sent back.")
        # A refused body keeps every tick of its device waiting, so that the longest wiring must pass.
        if isinstance(value[name], str):
            made[name] = _text(value, name, f"{where}.", most=WIRING_MOST)
        else:
            made[name] = _number(value, name, f"{where}.")
    return made
