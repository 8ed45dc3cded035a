"""What the sheets for files have in common: kinds of columns, and words in cells."""

from typing import Literal

from server.documents.tables import Column
from server.domain.model.catalogue import Catalogue

WHOLE: Literal["whole"] = "whole"
NUMBER: Literal["number"] = "number"
AMOUNT: Literal["amount"] = "amount"
MOMENT: Literal["moment"] = "moment"


def money(name: str, currency: str) -> Column:
    """A column of amounts, its currency behind a comma.

    Args:
        name: What the amounts are.
        currency: Code of three letters.
    """
    return Column(f"{name}, {currency}", AMOUNT, currency=currency)


def colour_words(code: str, catalogue: Catalogue) -> str:
    """A colour as code and name; empty for none.

    Args:
        code: Its code.
        catalogue: For its name.
    """
    colour = catalogue.colours.get(code)
    return f"{code} {colour.name}" if colour else code


def colour_name(code: str, catalogue: Catalogue) -> str:
    """The plain name of a colour; empty for none, and for one that the catalogue does not know.

    Args:
        code: Its code.
        catalogue: For its name.
    """
    colour = catalogue.colours.get(code)
    return colour.name if colour else ""


def yes(value: bool) -> str:
    """A yes or no as a cell that sorts and filters."""
    return "yes" if value else "no"
