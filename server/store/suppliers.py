"""Where the builder buys each item, in a few words of his or her own."""

import re
from collections.abc import Mapping

from sqlmodel import Session, select

from server.domain.errors import InvalidInputError, Problem
from server.domain.model.catalogue import ItemKind
from server.store.supplier_tables import SupplierRow

SUPPLIER_MOST = 80
_CONTROL = re.compile(r"[\x00-\x1f\x7f\ufffe\uffff]")

Items = Mapping[tuple[ItemKind, str], str]
"""Text by kind and id of an item."""


def suppliers(session: Session) -> dict[tuple[str, str], str]:
    """Every supplier that the builder named, by kind and id of the item.

    Args:
        session: A session from ``reading`` or ``writing``.
    """
    return {(row.kind, row.item): row.text for row in session.exec(select(SupplierRow))}


def set_suppliers(session: Session, named: Items) -> None:
    """Name suppliers, all or none; an empty text takes a name away. Items that are not named keep theirs.

    Args:
        session: A session from ``writing``.
        named: Text by kind and id of the item.

    Raises:
        InvalidInputError: a text is too long or cannot be shown; the problem's field is ``<kind>.<item>``.
    """
    tidy = {key: " ".join(text.split()) for key, text in named.items()}
    wrong = tuple(Problem(f"{kind}.{item}", said) for (kind, item), text in tidy.items() if (said := _wrong(text)))
    if wrong:
        raise InvalidInputError(wrong)
    for (kind, item), text in tidy.items():
        row = session.get(SupplierRow, (kind, item))
        if text:
            session.merge(SupplierRow(kind=kind, item=item, text=text))
        elif row is not None:
            session.delete(row)
    session.flush()


def _wrong(text: str) -> str:
    if len(text) > SUPPLIER_MOST:
        return f"{len(text)} characters; at most {SUPPLIER_MOST}"
    return "it holds a character that cannot be shown" if _CONTROL.search(text) else ""
