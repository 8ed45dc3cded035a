"""What one cable takes, counted and measured, as its card lists it: what the plan takes, without spares and cuts."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from server.domain.model.catalogue import Catalogue, ItemKind
from server.domain.model.plan import RunPlan
from server.domain.plan.lists import Item, used_by
from server.web.views import formats
from server.web.views.pieces import Swatch, swatch

ORDER: tuple[ItemKind, ...] = ("housing", "cap", "contact", "wire", "sleeve", "shrink", "comb")


class _Named(Protocol):
    """Anything of the catalogue that has a name."""

    @property
    def name(self) -> str:
        """What it is called."""


@dataclass(frozen=True, slots=True)
class MaterialLine:
    """One material of a cable."""

    name: str
    colour: Swatch | None
    """``None`` for what has no colour."""
    braid: bool
    """Whether its colour is that of a sleeve."""
    amount: str
    """How many pieces, such as ``8 ×``."""
    length: str
    """Their lengths added up in mm; empty for what is counted."""


def material_lines(run: RunPlan, catalogue: Catalogue) -> tuple[MaterialLine, ...]:
    """Everything that goes into one cable: what is counted, then what is cut, colour by colour.

    Args:
        run: The planned run; at the longest while its route is a range.
        catalogue: Reference data with names.
    """
    used = used_by(run, catalogue)
    counts: Counter[Item] = Counter(used.counts)
    counts.update({item: len(pieces) for item, pieces in used.pieces.items()})
    known = sorted(counts, key=lambda item: ORDER.index(item[0]) if item[0] in ORDER else len(ORDER))
    return tuple(_line(item, counts[item], used.pieces.get(item, []), catalogue) for item in known)


def _line(item: Item, count: int, pieces: list[int], catalogue: Catalogue) -> MaterialLine:
    kind, ident, code = item
    total = f"{sum(pieces)} mm" if pieces else ""
    if pieces and len(set(pieces)) == 1 and count > 1:
        total = f"of {pieces[0]}: {sum(pieces)} mm"
    colour = swatch(catalogue, code) if code else None
    return MaterialLine(_name(kind, ident, catalogue), colour, kind == "sleeve", f"{count} ×", total)


def _name(kind: ItemKind, ident: str, catalogue: Catalogue) -> str:
    """What the catalogue calls a material, with the word for its kind where its name does not say it."""
    named: dict[ItemKind, Mapping[str, _Named]] = {
        "housing": catalogue.housings,
        "cap": catalogue.caps,
        "contact": catalogue.contacts,
        "wire": catalogue.wires,
        "sleeve": catalogue.sleeves,
        "shrink": catalogue.shrinks,
        "comb": catalogue.combs,
    }
    name = named[kind][ident].name
    return f"wire, {name}" if kind == "wire" else name


def materials_note(run: RunPlan) -> str:
    """What the amounts leave out, and that they are those of the longest route while it is a range.

    Args:
        run: The planned run.
    """
    longest = ", at the longest of its range" if run.state == "range" else ""
    return f"without spares and cut losses{longest}; {formats.count(len(run.wires), 'wire')}"
