"""From a metering form to readings: only what was typed anew, so that two forms never undo each other."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from server.domain.layout_rules import reading_problem
from server.domain.model.catalogue import Port, Reading
from server.domain.output_limits import SUPPLY_NETS
from server.web.forms import Reader
from server.web.views.formats import volts

_NUMBER = re.compile(r"([+-]?)([0-9]{1,7}(?:[.,][0-9]{0,6})?|[.,][0-9]{1,6})(mv|v)?(?:dc)?")
GROUND = {"": None, "yes": True, "no": False}
_HELP = "Write volts in figures, such as 12.05 or 12,05; leave it empty where you have not measured."


def volts_of(text: str) -> float | str | None:
    """A voltage as typed.

    Args:
        text: Such as ``12.05``, ``12,05 V`` or ``-11.9``.

    Returns:
        The voltage [V], ``None`` for an empty text, or the words that say why it is none.
    """
    cleaned = "".join(text.replace("\u00a0", " ").replace("−", "-").replace("–", "-").split()).casefold()
    if not cleaned:
        return None
    if cleaned in ("ol", "o.l", "0l", "overload", "over"):
        return "The meter ran over its range: set it to DC volts, 20 V or automatic, and measure again."
    found = _NUMBER.fullmatch(cleaned)
    if found is None:
        return _HELP
    value = float(found[1] + found[2].replace(",", ".")) / (1000 if found[3] == "mv" else 1)
    wrong = reading_problem(value)
    return wrong[:1].upper() + wrong[1:] if wrong else round(value, 6) + 0.0


def readings_of(
    read: Reader,
    ports: Iterable[Port],
    shown: Mapping[tuple[str, str], Reading],
    now: Mapping[tuple[str, str], Reading],
) -> tuple[Reading, ...]:
    """Readings that the form changes; a field left as it was shown changes nothing.

    Args:
        read: The form's reader.
        ports: The ports that the form is about.
        shown: The readings that the form was made from.
        now: The readings as they are by now; fields not touched keep these.

    Raises:
        InvalidInputError: a voltage cannot be read; every such field is named.
    """
    found = []
    for place in ((port.id, pin.cavity) for port in ports for pin in port.pins):
        before = shown.get(place, Reading(*place))
        current = now.get(place, Reading(*place))
        found.append(_reading(read, f"readings.{place[0]}.{place[1]}", before, current))
    read.done()
    return tuple(found)


def _reading(read: Reader, name: str, before: Reading, current: Reading) -> Reading:
    on_v = _volts(read, f"{name}.on", before.on_v, current.on_v)
    standby_v = _volts(read, f"{name}.standby", before.standby_v, current.standby_v)
    changed = replace(current, on_v=on_v, standby_v=standby_v)
    ground, settled = read.word(f"{name}.ground"), read.word(f"{name}.settled")
    if f"{name}.ground" in read.typed.values and GROUND.get(ground, before.to_ground) != before.to_ground:
        changed = replace(changed, to_ground=GROUND[ground])
    if f"{name}.settled" in read.typed.values and settled != before.settled:
        if settled and settled not in SUPPLY_NETS:
            read.problem(f"{name}.settled", "Pick one of the list.")
        changed = replace(changed, settled=settled)
    return changed


def _volts(read: Reader, name: str, before: float | None, current: float | None) -> float | None:
    if name not in read.typed.values or read.word(name) == volts(before):
        return current
    value = volts_of(read.typed.first(name))
    if isinstance(value, str):
        read.problem(name, value)
        return current
    return value
