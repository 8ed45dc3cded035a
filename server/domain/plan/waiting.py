"""Runs that cannot be cut yet, and what it costs to wait for their length."""

from dataclasses import replace
from decimal import Decimal

from server.domain.model.build import Build, Route
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Waiting
from server.domain.plan.buying import price_of
from server.domain.plan.lists import used_by
from server.domain.plan.runs import PlannedRun, run_plan


def waiting_of(planned: PlannedRun, build: Build, catalogue: Catalogue) -> Waiting | None:
    """What waiting for one run's length costs: what is bought for its high end beyond what it most likely takes.

    Args:
        planned: The run.
        build: For its allowances and price overrides.
        catalogue: For packs.

    Returns:
        The cost, by the millimetre and the piece of the cheapest pack; ``None`` for a run that is measured.
    """
    plan, run = planned.plan, planned.resolved.run
    if plan.state == "measured":
        return None
    bought = sum(wire.buy_mm for wire in plan.wires)
    waiting = Waiting(plan.number, plan.low_mm, plan.likely_mm, plan.high_mm, len(plan.wires), bought, 0, Decimal(0))
    if plan.state == "unmeasured" or plan.likely_mm is None:
        return waiting
    expected = replace(run, route=Route(length_mm=plan.likely_mm, spacing_mm=run.route.spacing_mm))
    likely = run_plan(replace(planned.resolved, run=expected), build, catalogue)
    held, taken = (price_of(used_by(entry.plan, catalogue), build, catalogue) for entry in (planned, likely))
    likely_mm = sum(wire.buy_mm for wire in likely.plan.wires)
    return replace(waiting, likely_buy_mm=likely_mm, wait_price=max(held - taken, Decimal(0)))
