"""Which supply cavity feeds which part cavity.

``words`` holds the types, ``frame`` the common view of both ends, ``sweep`` the exact search, ``solve`` the questions.
"""

from server.domain.wiring.frame import ribbon_position
from server.domain.wiring.solve import assign, crossings_of, pin_problems, plain_wiring, shortages
from server.domain.wiring.words import (
    WIRES_PER_CONTACT,
    Assignment,
    Cost,
    Demand,
    Link,
    PartPlug,
    Shortage,
    SourcePlug,
    Way,
)

__all__ = [
    "WIRES_PER_CONTACT",
    "Assignment",
    "Cost",
    "Demand",
    "Link",
    "PartPlug",
    "Shortage",
    "SourcePlug",
    "Way",
    "assign",
    "crossings_of",
    "pin_problems",
    "plain_wiring",
    "ribbon_position",
    "shortages",
]
