"""Time and saving of the roll plan, beside first-fit and best-fit decreasing on the same pieces in the same run.

One command: ``.venv/bin/python tests/benchmarks/rolls.py``. It prints; it never fails on a slow machine. First-fit and
best-fit decreasing open, for a piece that fits into nothing begun, the cheapest roll that takes it, or they use one
kind of roll only; the cheapest of these ways is shown.
"""

import sys
import time
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from server.domain.rolls import RollPlan, plan_rolls  # noqa: E402
from tests.domain.brute_rolls import decreasing  # noqa: E402

SIZES = (50, 200, 500, 1500)
DEADLINE_S = 2.0
Rolls = list[tuple[int, int]]
Case = tuple[str, list[int], Rolls, list[int]]


def easy(count: int, draw: Random) -> Case:
    """Short wires from long rolls, with remnants; prices in cents. [mm]"""
    pieces = [draw.randrange(250, 900, 5) for _ in range(count)]
    remnants = [draw.randrange(300, 4000) for _ in range(10)]
    return "easy", pieces, [(5000, 550), (10000, 1010), (25000, 2260)], remnants


def hard(count: int, draw: Random) -> Case:
    """Long pieces of many lengths, two to seven from a roll; prices in cents. [mm]"""
    return "hard", [draw.randrange(700, 2400, 5) for _ in range(count)], [(5000, 550), (3000, 360)], []


def thirds(count: int, draw: Random) -> Case:
    """Three pieces to a roll or not quite: the kind on which nothing but search helps. [mm]"""
    return "thirds", [draw.randrange(251, 500) for _ in range(count)], [(1000, 100)], []


def seconds(pieces: list[int], rolls: Rolls, remnants: list[int]) -> tuple[RollPlan, float]:
    """The plan and the time it took. [s]"""
    start = time.perf_counter()
    plan = plan_rolls([(piece, 1) for piece in pieces], rolls, remnants, cut_loss_mm=1, deadline_s=DEADLINE_S)
    return plan, time.perf_counter() - start


def cheapest_decreasing(pieces: list[int], rolls: Rolls, remnants: list[int], *, best: bool) -> int:
    """The cheapest way of first-fit or best-fit decreasing: any roll, or one kind only."""
    ways = [rolls, *([roll] for roll in rolls if roll[0] >= max(pieces))]
    return min(decreasing(pieces, way, remnants, 1, best=best) for way in ways)


def compare(name: str, pieces: list[int], rolls: Rolls, remnants: list[int]) -> None:
    """One line: time, cost, proof or gap, and how much dearer the simple ways are."""
    plan, took = seconds(pieces, rolls, remnants)
    cost, bound = int(plan.cost), int(plan.bound)
    told = "proved" if plan.proved else f"gap {100 * (cost - bound) / cost:.2f} %"
    fits = [cheapest_decreasing(pieces, rolls, remnants, best=best) for best in (False, True)]
    more = [f"{100 * (fit - cost) / max(cost, 1):6.1f} %" for fit in fits]
    print(f"{name:<8}{len(pieces):5} pieces {took * 1000:9.1f} ms {cost / 100:10.2f}  {told:<12}", *more)


def measure_rolls() -> None:
    """Print the report."""
    # The first question that needs the solver loads it, which is told apart.
    start = time.perf_counter()
    plan_rolls([(20, 48), (45, 35), (50, 24), (55, 10), (75, 8)], [(110, 1)], [], deadline_s=DEADLINE_S)
    print(f"a small question, solver loaded first, as once a process: {(time.perf_counter() - start) * 1000:.0f} ms")
    print(f"deadline {DEADLINE_S} s; last two columns: how much dearer first-fit and best-fit decreasing are")
    for kind in (easy, hard, thirds):
        for count in SIZES:
            compare(*kind(count, Random(count)))


if __name__ == "__main__":
    measure_rolls()
