"""What the bench screen sends, and what it is answered."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

TickKind = Literal["do", "undo", "time"]
TICK_KINDS: tuple[TickKind, ...] = ("do", "undo", "time")
TickState = Literal["written", "known", "refused"]
"""Written this moment; written before under the same id; not written, for the reason told."""
TICKS_MOST = 500
"""Ticks of one call."""


@dataclass(frozen=True, slots=True)
class Tick:
    """One thing told at the bench, with an id of its own, so that it counts once however often it comes."""

    id: str
    """UUID that the device made."""
    n: int
    """Place in the order of that device."""
    kind: TickKind
    task: str = ""
    """Id of the task, of ``do``."""
    tick: Mapping[str, int | str] | None = None
    """What the task gave to be sent back, of ``do``."""
    of: str = ""
    """Id of the tick to take back, of ``undo``."""
    entry: int = 0
    """Number of the entry to take back, of ``undo``, where it is no tick's."""
    operation: str = ""
    """Of the labour table, of ``time``."""
    count: int = 0
    seconds: int = 0
    run: str = ""
    """Id of the run, of ``time``; empty where it was for several."""
    at: str = ""
    """Moment on the device's clock, as it told it; nothing follows from it."""


@dataclass(frozen=True, slots=True)
class TickResult:
    """What became of one tick."""

    id: str
    state: TickState
    message: str = ""
    """In words for a person; why, where it is refused."""
    entries: tuple[int, ...] = ()
    """Entries of the ledger that it wrote."""
