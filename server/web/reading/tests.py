"""From the form of a test sheet to what was read."""

from collections.abc import Collection

from server.domain.test_sheet import Readings, TestSheet
from server.web.forms import Reader
from server.web.reading.metering import volts_of

JOINED = {"yes": True, "no": False}
GROUNDS = {"joined": True, "open": False}


AGAIN = "It read otherwise last time: read this one again, and say how it reads now."


def readings_of_sheet(
    read: Reader, sheet: TestSheet, *, rest_as_expected: bool, again: Collection[str] = ()
) -> Readings:
    """What a form says was read.

    Args:
        read: The form's reader.
        sheet: The sheet that the form was made from.
        rest_as_expected: Whether all joins and rows that the form says nothing of read as expected.
        again: Keys of the checks that failed last time, of which something has to be said.

    Raises:
        InvalidInputError: nothing is said of a check that failed last time, while the rest is said to be good; or a
            voltage cannot be read, or a choice is none of the list. Every such field is named.
    """
    joined: dict[str, bool] = {}
    for check in sheet.joins:
        value = read.word(check.key)
        if value in JOINED:
            joined[check.key] = JOINED[value]
        elif value:
            read.problem(check.key, "Pick one of the list.")
        elif rest_as_expected and check.key in again:
            read.problem(check.key, AGAIN)
        elif rest_as_expected:
            joined[check.key] = True
    sounds: dict[str, str] = {}
    for row in sheet.rows:
        value = read.word(row.key)
        if not value and rest_as_expected and row.key in again:
            read.problem(row.key, AGAIN)
        elif value == "silent" or (not value and rest_as_expected):
            sounds[row.key] = ""
        elif value in {touch.group for touch in row.touches}:
            sounds[row.key] = value
        elif value:
            read.problem(row.key, "Pick one of the list.")
    volts, grounds = _powered(read, sheet)
    read.done()
    return Readings(joined, sounds, volts, grounds)


def _powered(read: Reader, sheet: TestSheet) -> tuple[dict[str, float], dict[str, bool]]:
    """Voltages and continuity with the cable plugged into the supply."""
    volts: dict[str, float] = {}
    grounds: dict[str, bool] = {}
    for check in sheet.volts:
        if check.kind == "ground":
            value = read.word(check.key)
            if value in GROUNDS:
                grounds[check.key] = GROUNDS[value]
            elif value:
                read.problem(check.key, "Pick one of the list.")
            continue
        volt = volts_of(read.typed.first(check.key))
        if isinstance(volt, str):
            read.problem(check.key, volt)
        elif volt is not None:
            volts[check.key] = volt
    return volts, grounds
