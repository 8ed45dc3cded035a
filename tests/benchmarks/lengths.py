"""Time of the lengths along a route, beside a plain loop over every wire and every step in the same run.

One command: ``.venv/bin/python tests/benchmarks/lengths.py``. It prints; it never fails on a slow machine. The plain
loop turns each wire's place at each step, as one would do it with pencil and paper.
"""

import math
import sys
from collections.abc import Sequence
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from server.domain.lengths import Place, bend_terms_mm, cut_lengths_mm, middle_mm, tight_bends  # noqa: E402
from server.domain.model.route import RouteStep  # noqa: E402
from server.domain.route_shape import curve  # noqa: E402
from tests.benchmarks.wiring import seconds  # noqa: E402


def plain_terms_mm(steps: Sequence[RouteStep], places: Sequence[Place]) -> tuple[float, ...]:
    """Terms of all wires, wire by wire and step by step. [mm]"""
    terms = []
    for offset, height in places:
        roll, total = 0.0, 0.0
        for step in steps:
            x = offset * math.cos(roll) + height * math.sin(roll)
            z = height * math.cos(roll) - offset * math.sin(roll)
            turn = math.radians(step.angle_deg)
            if step.kind == "twist":
                roll += turn
                total += math.hypot(step.length_mm, math.hypot(offset, height) * turn) - step.length_mm
            else:
                total += {"leg": 0.0, "left": x, "right": -x, "up": -z, "down": z}[step.kind] * turn
        terms.append(total)
    return tuple(terms)


def ribbon(wires: int) -> list[Place]:
    """Places of a ribbon of two rows at 4.2 mm, as wide as it takes."""
    columns = (wires + 1) // 2
    return [((i // 2 - (columns - 1) / 2) * 4.2, 2.1 - i % 2 * 4.2) for i in range(wires)]


def ribbons(wires: int) -> list[Place]:
    """Places of so many wires in ribbons of 24."""
    return [ribbon(24)[i % 24] for i in range(wires)]


def route(bends: int, rng: Random) -> list[RouteStep]:
    """Legs and bends in turns, every fifth bend a twist."""
    steps = []
    for i in range(bends):
        steps.append(RouteStep("leg", rng.uniform(10, 200)))
        if i % 5 == 4:
            steps.append(RouteStep("twist", rng.uniform(40, 120), rng.choice((90.0, 180.0, -90.0, 45.0))))
        else:
            kind = rng.choice(("left", "right", "up", "down"))
            steps.append(RouteStep(kind, 0.0, rng.uniform(5, 180), rng.uniform(30, 90)))
    return steps


def compare(name: str, steps: list[RouteStep], places: list[Place]) -> None:
    """Two lines and their ratio; both must have found the same lengths."""
    ours = seconds(lambda: bend_terms_mm(steps, places), 10)
    plain = seconds(lambda: plain_terms_mm(steps, places), 3)
    apart = max(abs(a - b) for a, b in zip(bend_terms_mm(steps, places), plain_terms_mm(steps, places), strict=True))
    print(f"{name:<44}{len(steps):5} steps {len(places):6} wires {ours * 1000:8.2f} ms")
    print(f"{'  wire by wire, step by step':<64}{plain * 1000:10.2f} ms {plain / ours:9.1f} x   same: {apart < 1e-6}")


def measure_lengths() -> None:
    """Print the report."""
    rng = Random(4)
    usual, long = route(20, rng), route(1000, rng)
    compare("lengths, 10,000 wires in ribbons of 24", usual, ribbons(10_000))
    compare("lengths, 10,000 wires in one ribbon", usual, ribbon(10_000))
    compare("lengths, a thousand bends", long, ribbon(24))
    legs = [RouteStep("leg", 10.0)] * len(long)
    empty = seconds(lambda: middle_mm(legs), 10)
    acts = {
        "length of the middle": lambda: middle_mm(long),
        "bends that are too tight": lambda: tight_bends(long, ribbon(24), 2.3),
        "curve of one edge to draw": lambda: curve(long, 23.1, 2.1),
    }
    print(f"{'a thousand bends: as many straight legs':<64}{empty * 1000:10.2f} ms")
    for name, act in acts.items():
        took = seconds(act, 10)
        print(f"{'a thousand bends: ' + name:<64}{took * 1000:10.2f} ms {took / empty:9.1f} x")
    needed = [rng.uniform(300, 900) for _ in range(10_000)]
    cut, sort = seconds(lambda: cut_lengths_mm(needed, 5.0), 10), seconds(lambda: sorted(needed), 10)
    print(f"{'10,000 wires into groups of one cut length':<64}{cut * 1000:10.2f} ms {cut / sort:9.1f} x sorting them")


if __name__ == "__main__":
    measure_lengths()
