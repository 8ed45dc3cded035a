"""Settings of the roll plan, from a form."""

import math
from dataclasses import replace

from server.domain.model.build import Allowances
from server.web.forms import Reader


def roll_settings_of(read: Reader, held: Allowances) -> Allowances:
    """The allowances with what a cut costs and which leftover is worth keeping.

    Args:
        read: The form's reader; lengths are in millimetres unless they name their unit.
        held: What the build holds; everything else stays.

    Raises:
        InvalidInputError: a length cannot be read or is left out.
    """
    loss, least = (_length(read, f"allowances.{name}") for name in ("cut_loss", "remnant_least"))
    read.done()
    return replace(held, cut_loss_mm=math.ceil(loss), remnant_least_mm=round(least))


def _length(read: Reader, name: str) -> float:
    value = read.length(name, zero=True)
    if value is None and not read.word(name):
        read.problem(name, "Write a length, such as 2 mm.")
    return value or 0.0
