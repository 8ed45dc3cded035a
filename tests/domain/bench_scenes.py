"""Short ledgers for tests."""

from decimal import Decimal

import pytest

from server.domain.errors import InvalidInputError
from server.domain.ledger import after, bench_of
from server.domain.model.bench import Bench, Cut, Entry, Material, Receive

WIRE = Material("wire", "awg18-plain", "BK")
CONTACT = Material("contact", "power-female")


def roll(quantity: int = 1000, price: str = "5.00", build: str = "") -> Receive:
    return Receive(WIRE, quantity, Decimal(price), "a roll", build)


def bag(quantity: int = 100, price: str = "8.00", build: str = "") -> Receive:
    return Receive(CONTACT, quantity, Decimal(price), "a bag", build)


def cut(lot: int = 1, length: int = 300, build: str = "a", loss: int = 0, label: str = "1-1") -> Cut:
    return Cut(lot, build, f"r1/p1.main/{label}", label, 1, length, loss)


def bench_after(*entries: Entry) -> Bench:
    """The bench after entries that were written one after the other, each checked."""
    bench = Bench()
    for n, entry in enumerate(entries):
        bench = after(entries[:n], bench, entry)
    assert bench == bench_of(entries)
    return bench


def refusal(*entries: Entry, names: dict[str, str] | None = None) -> str:
    """Why the last of some entries may not be written, all others being fine."""
    bench = bench_after(*entries[:-1])
    with pytest.raises(InvalidInputError) as error:
        after(entries[:-1], bench, entries[-1], names or {})
    return error.value.problems[0].message
