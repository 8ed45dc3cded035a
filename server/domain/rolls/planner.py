"""Which rolls to buy and what to cut from each: one-dimensional cutting stock with remnants.

Least money first. Quick packings are held against a bound that follows from the length alone; where they meet, the plan
is proved and no solver is asked. Otherwise the linear relaxation over all patterns gives a sharper bound, and
whole-number programs look for a cheaper plan until the deadline.
"""

from collections.abc import Sequence
from time import monotonic

from server.domain.rolls.job import Clock, Found, Job
from server.domain.rolls.ladder import Ladder
from server.domain.rolls.quick import quick_plan, tidied
from server.domain.rolls.units import NotEnoughError, Number, Question, RollPlan


def plan_rolls(
    pieces: Sequence[tuple[Number, int]],
    rolls: Sequence[tuple[Number, Number]],
    remnants: Sequence[Number],
    *,
    cut_loss_mm: Number = 0,
    deadline_s: float = 2.0,
) -> RollPlan:
    """The cheapest rolls from which, with the remnants on hand, all pieces can be cut.

    Least money first; of plans that cost the same, one after which few lengths lie on the shelf, untouched remnants
    counted, and long ones (this second wish is not proved).

    Args:
        pieces: (length, count); lengths that stand twice are added up. [mm]
        rolls: (length, price) of what can be bought, as many of each as one likes. [mm]
        remnants: Lengths on hand, each once, free. [mm]
        cut_loss_mm: Lost at every cut; the last cut of a stock that is used up to its end is spared. [mm]
        deadline_s: Time after which the best plan found so far is answered, with its bound. [s]

    Returns:
        The plan. An answer given within half of the deadline, or for a deadline of 0, is the same in any process.

    Raises:
        PieceTooLongError: a piece fits into nothing.
        NotEnoughError: pieces fit only into remnants, and no room was found for all of them.
        ValueError: a length is not greater than zero, a count or price is negative, or a number is not finite.

    Source:
        Linear relaxation over patterns: Gilmore and Gomory, 1961. Bound: Farley, 1990.

    Example:
        >>> plan = plan_rolls([(600, 5), (450, 4)], [(2000, 3), (5000, 7)], [1300])
        >>> plan.cost, plan.proved, len(plan.layouts)
        (6, True, 3)
    """
    started = monotonic()
    question = Question(pieces, rolls, remnants, cut_loss_mm)
    found, bound = _solved(question.job, lambda: deadline_s - (monotonic() - started))
    return question.answer(found, bound)


def _solved(job: Job, remaining_s: Clock) -> tuple[Found, int]:
    """The best plan within the time, and a price that no plan is below."""
    if not job.sizes:
        return Found((), [[] for _ in job.held]), 0
    ladder = Ladder(job.rolls, job.missing)
    found, bound = quick_plan(job, ladder, remaining_s)
    if found is None:
        raise NotEnoughError("the pieces find no room")
    if found.price > bound and remaining_s() > 0:
        # Loading the solver takes longer than most questions do, and most do not need it.
        from server.domain.rolls.search import searched  # noqa: PLC0415

        found, bound = searched(job, ladder, found, bound, remaining_s)
    return tidied(job, found, remaining_s), bound
