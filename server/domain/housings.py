"""Where each cavity of a housing sits, seen from the wire side.

The view is always the wire side with the latch row drawn on the side that ``Housing.latch`` names. Columns count from
the left, rows from the top. Seen from there the numbering of two-row power plugs runs from right to left: cavity 1 sits
at the right end of the row away from the latch. A mating half shows the mirror image of its plug.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

from server.domain.model.catalogue import Housing


@dataclass(frozen=True, slots=True)
class Cavity:
    """One cavity: its name, its place in the grid and whether it is one of the small signal cavities."""

    name: str
    column: float
    """Counted from 0 at the left; the signal cavities of 12+4 fall between whole columns."""
    row: int
    signal: bool = False


@lru_cache(maxsize=512)
def cavities(housing: Housing) -> tuple[Cavity, ...]:
    """Places of a housing's cavities in numbering order, seen from the wire side.

    Args:
        housing: A catalogue housing.

    Returns:
        One ``Cavity`` per position, in the order of the published numbering.

    Raises:
        ValueError: the numbering does not go with the number of positions, rows and columns.

    Source:
        Two-row power: the design guide's numbering, direction as seen on the moulded marks (from memory). Headers: odd
        numbers in one row, even in the other (front-panel connectivity guide).
    """
    if housing.half == "mate":
        # Cavity 1 of a mating half meets cavity 1 of the plug face to face, so its wire side shows the mirror image.
        return tuple(replace(cavity, column=housing.columns - 1 - cavity.column) for cavity in _numbered(housing))
    return _numbered(housing)


def _numbered(housing: Housing) -> tuple[Cavity, ...]:
    """Places of the plug's cavities, as its wire side shows them."""
    numbering, columns = housing.numbering, housing.columns
    if numbering == "twelve_plus_four":
        if housing.positions != 16:
            raise ValueError(f"{housing.id}: twelve_plus_four needs 16 positions, not {housing.positions}")
        power = _two_row(12, 6)
        signal = tuple(Cavity(f"S{i + 1}", 4.0 - i, 2, signal=True) for i in range(4))
        return power + signal
    if housing.positions != housing.rows * columns:
        raise ValueError(f"{housing.id}: {housing.rows} rows of {columns} are not {housing.positions} positions")
    if numbering == "single_row":
        if housing.rows != 1:
            raise ValueError(f"{housing.id}: single_row needs one row, not {housing.rows}")
        return tuple(Cavity(str(i + 1), float(i), 0) for i in range(columns))
    if housing.rows != 2:
        raise ValueError(f"{housing.id}: {numbering} needs two rows, not {housing.rows}")
    if numbering == "odd_even":
        return tuple(Cavity(str(i + 1), float(i // 2), i % 2) for i in range(housing.positions))
    return _two_row(housing.positions, columns)


def _two_row(positions: int, columns: int) -> tuple[Cavity, ...]:
    """Rows numbered one after the other from the right; the latch row, with the higher numbers, on top."""
    return tuple(
        Cavity(str(i + 1), float(columns - 1 - i % columns), 1 if i < columns else 0) for i in range(positions)
    )


@lru_cache(maxsize=512)
def signal_cavities(housing: Housing) -> frozenset[str]:
    """Names of the small signal cavities of a housing; empty for most."""
    return frozenset(cavity.name for cavity in cavities(housing) if cavity.signal)
