"""Names of items and contacts as lists and drawings show them."""

from collections.abc import Mapping

from server.domain.model.catalogue import Catalogue, ItemKind


def item_name(kind: ItemKind, ident: str, colour: str, catalogue: Catalogue) -> str:
    """Name of an item as a list shows it, with its colour where it has one."""
    tables: dict[ItemKind, Mapping[str, object]] = {
        "wire": catalogue.wires,
        "sleeve": catalogue.sleeves,
        "shrink": catalogue.shrinks,
        "contact": catalogue.contacts,
        "housing": catalogue.housings,
        "comb": catalogue.combs,
        "cap": catalogue.caps,
    }
    name = str(getattr(tables[kind].get(ident), "name", ident))
    if not colour:
        return name
    shown = catalogue.colours.get(colour)
    return f"{name}, {shown.name if shown else colour} {colour}"


def beyond_net(net: str, function: str) -> str:
    """What a contact's function says beyond its net, which stands beside it: ``to P13-P15`` of ``+12V to P13-P15``."""
    return "" if function == net else function.removeprefix(f"{net} ")
