"""Packs that the builder added to the catalogue."""

from pydantic import ValidationError
from sqlmodel import Session, select

from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.domain.model.catalogue import ItemKind, Pack
from server.store.catalogue_overlay import catalogue_ids, edited_packs
from server.store.catalogue_rules import PACK_TABLES
from server.store.plain_rules import first_broken_rule
from server.store.records import PackRecord
from server.store.tables import CatalogueEditRow, OwnPackRow


def refuse(field: str, message: str) -> InvalidInputError:
    """One problem as a failure to raise.

    Args:
        field: The column it belongs to.
        message: The rule in plain words.

    Returns:
        The failure.
    """
    return InvalidInputError((Problem(field, message),))


def refuse_same_pack(session: Session, pack: PackRecord, field: str) -> None:
    """Refuse a second pack of the same item in the same quantity.

    Args:
        session: A session from ``writing``.
        pack: The pack as it would become.
        field: The column to which the problem belongs.

    Raises:
        InvalidInputError: another pack holds the same.
    """
    for other in edited_packs(session):
        same = (other.kind, other.item, other.quantity) == (pack.kind, pack.item, pack.quantity)
        if same and other.id != pack.id:
            raise refuse(field, f"{pack.item} is already sold in packs of {pack.quantity}")


def add_pack(session: Session, *, kind: ItemKind, item: str, quantity: str, price: str, source: str = "") -> Pack:
    """Add a pack that the builder can buy.

    Args:
        session: A session from ``writing``.
        kind: What kind of thing it holds.
        item: Id of the thing.
        quantity: How much as typed. [mm for wire, sleeve and shrink; pieces otherwise]
        price: Price of the pack as typed, without currency.
        source: Where the price comes from; ``set by the builder`` when empty.

    Returns:
        The new pack.

    Raises:
        InvalidInputError: a value breaks a rule, the item is unknown, or the pack is there already.
    """
    values = {
        "id": f"own-{kind}-{item}-{quantity.strip()}",
        "kind": kind,
        "item": item,
        "quantity": quantity.strip(),
        "unit": "mm" if kind in ("wire", "sleeve", "shrink") else "piece",
        "price": price.strip(),
        "source": source.strip() or "set by the builder",
    }
    try:
        pack = PackRecord.model_validate(values)
    except ValidationError as failure:
        broken, rule = first_broken_rule(failure, ("kind", "item", "quantity", "price", "source"))
        raise refuse(broken, rule) from None
    if pack.item not in catalogue_ids(session, PACK_TABLES[pack.kind]):
        raise refuse("item", f"the catalogue has no {kind} {item}")
    refuse_same_pack(session, pack, "quantity")
    if session.get(OwnPackRow, pack.id) is not None:
        raise refuse("quantity", f"{item} is already sold in packs of {pack.quantity}")
    session.add(OwnPackRow(**pack.model_dump()))
    session.flush()
    return Pack(**pack.model_dump())


def remove_own_pack(session: Session, pack_id: str) -> None:
    """Remove a pack that the builder added, with the edits made to it.

    Args:
        session: A session from ``writing``.
        pack_id: Id of the pack.

    Raises:
        NotFoundError: the builder has added no such pack.
    """
    pack = session.get(OwnPackRow, pack_id)
    if pack is None:
        raise NotFoundError(f"no pack of your own is called {pack_id}")
    for edit in session.exec(select(CatalogueEditRow).where(CatalogueEditRow.row_id == pack_id)):
        session.delete(edit)
    session.delete(pack)
    session.flush()


def own_pack_ids(session: Session) -> frozenset[str]:
    """Ids of the packs that the builder added.

    Args:
        session: A session from ``reading`` or ``writing``.

    Returns:
        The ids.
    """
    return frozenset(session.exec(select(OwnPackRow.id)))
