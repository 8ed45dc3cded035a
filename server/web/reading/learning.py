"""A time that was taken by hand, and what was measured, from forms."""

import re
from decimal import Decimal
from typing import get_args

from server.domain.model.bench import Timed
from server.domain.model.build import Spare, SpareOf
from server.web.forms import Reader

SPARES: tuple[SpareOf, ...] = get_args(SpareOf)
COUNT_MOST = 10_000
"""More than one operation is done in a day; a larger number is taken for a slip."""
_TAKEN = re.compile(r"([0-9]{1,4}):([0-5][0-9])")


def time_of(read: Reader, build_id: str) -> tuple[Timed, int]:
    """A time with the ledger's last number as the page knew it.

    Args:
        read: The form's reader.
        build_id: The build that it was taken at.

    Raises:
        InvalidInputError: something cannot be read; each problem stands beside its field.
    """
    operation, count = read.word("time.operation"), read.whole("time.count", 1, COUNT_MOST)
    entry = Timed(build_id, 0, operation, count, _seconds(read))
    base = read.whole("base", 0, 999_999_999)
    read.done()
    return entry, base


def _seconds(read: Reader) -> int:
    """Minutes and seconds as a stopwatch shows them. [s]"""
    match = _TAKEN.fullmatch(read.word("time.taken"))
    if match is None:
        read.problem("time.taken", "Write minutes and seconds, such as 4:30 or 0:45.")
        return 1
    seconds = int(match[1]) * 60 + int(match[2])
    if not seconds:
        read.problem("time.taken", "A time is more than 0:00.")
    return seconds


def minutes_of(read: Reader, name: str) -> Decimal:
    """Measured minutes as a button sends them.

    Raises:
        InvalidInputError: they are no number.
    """
    minutes = read.number(name, Decimal(600))
    read.done()
    return minutes


def spare_of(read: Reader) -> tuple[SpareOf, Spare]:
    """A measured spare as a button sends it.

    Raises:
        InvalidInputError: it cannot be read.
    """
    of = read.one_of("spare.of", SPARES)
    spare = Spare(float(read.number("spare.percent", Decimal(500))), read.whole("spare.least", 0, 1000))
    read.done()
    return of, spare
