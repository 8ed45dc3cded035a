"""What to buy: rolls for pieces that are cut, packs for things that are counted."""

from server.domain.rolls.packs import Offer, Purchase, cheapest_packs
from server.domain.rolls.planner import plan_rolls
from server.domain.rolls.units import Layout, NotEnoughError, PieceTooLongError, RollPlan

__all__ = [
    "Layout",
    "NotEnoughError",
    "Offer",
    "PieceTooLongError",
    "Purchase",
    "RollPlan",
    "cheapest_packs",
    "plan_rolls",
]
