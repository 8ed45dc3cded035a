"""Time of the assignment, beside a general solver's time on the same plugs in the same run.

One command: ``.venv/bin/python tests/benchmarks/wiring.py``. It prints; it never fails on a slow machine. The general
solver is the mixed-integer program of ``tests/domain/program_wiring.py`` under HiGHS, with the same latches and orders.
"""

import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from server.documents.build_json import read_build  # noqa: E402
from server.domain.model.catalogue import Catalogue  # noqa: E402
from server.domain.plugs import part_plug, source_plug  # noqa: E402
from server.domain.sockets import every_socket  # noqa: E402
from server.domain.wiring import Demand, PartPlug, SourcePlug, assign  # noqa: E402
from server.store.catalogue_memory import catalogue_from_files  # noqa: E402
from tests.domain.program_wiring import least_cost  # noqa: E402
from tests.domain.scenes import housing, numbered  # noqa: E402

Case = tuple[tuple[SourcePlug, ...], PartPlug]
SECONDS = 20.0
"""No case is repeated for longer than this."""


def seconds(act: Callable[[], object], rounds: int) -> float:
    """Shortest of several rounds; fewer rounds for what takes long. [s]"""
    best, spent = float("inf"), 0.0
    for _ in range(rounds):
        start = time.perf_counter()
        act()
        took = time.perf_counter() - start
        best, spent = min(best, took), spent + took
        if spent > SECONDS:
            break
    return best


def example_cases(catalogue: Catalogue) -> list[Case]:
    """What is assigned first in every run of the large example: its sources to its first part plug."""
    build = read_build((ROOT / "seed_data" / "examples" / "large.json").read_bytes())
    sockets = every_socket(build, catalogue)
    cases = []
    for run in build.runs:
        sources = tuple(source_plug(sockets[ref.part, ref.socket]) for ref in run.sources)
        facts = sockets[run.ends[0].part, run.ends[0].socket]
        carried = {net for plug in sources for _, net in plug.nets}
        pins = facts.wanted_pins(run.optional)
        optional = tuple(p.cavity for p in pins if p.need == "optional" and carried & set(p.accepts))
        if sources and facts.rewired:
            cases.append((sources, part_plug(facts, optional)))
    return cases


def main_worst(catalogue: Catalogue) -> Case:
    """The 24-position main plug from three ports: the slowest of 500 layouts at random.

    Five nets are short of contacts or have some to spare, so that five wires are doubled and yet thirty contacts live.
    """
    pins = [p for p in catalogue.pinouts["main-24"].pins if p.need == "required"]
    demands = tuple(Demand(p.cavity, p.accepts, p.carries_current) for p in pins)
    return _dealt(PartPlug(catalogue.housings["p42-24-plug"], demands, 4.2), Random(283))


def idle_worst() -> Case:
    """Any 24-position plug, six nets of four wires, half of them without load: no inlet of the catalogue is like it."""
    rng = Random(191)
    wanted = [net for net in "ABCDEF" for _ in range(4)]
    rng.shuffle(wanted)
    demands = tuple(Demand(str(i + 1), (net,), rng.random() < 0.5) for i, net in enumerate(wanted))
    return _dealt(PartPlug(housing(24), demands, 4.2), rng)


def _dealt(part: PartPlug, rng: Random) -> Case:
    """Three ports with, of each net, between half as many contacts as wires and three more."""
    nets = [demand.accepts[0] for demand in part.demands]
    for net, wires in Counter(nets).items():
        change = rng.randint(-(wires // 2), 3)
        for _ in range(abs(change)):
            (nets.append if change > 0 else nets.remove)(net)
    nets = [*nets[:30], *[""] * (30 - len(nets))]
    rng.shuffle(nets)
    sizes, plugs = (12, 10, 8), []
    for size in sizes:
        plugs.append(SourcePlug(housing(size), numbered(nets[:size]), 4.2))
        nets = nets[size:]
    return tuple(plugs), part


def compare(name: str, cases: list[Case], rounds: int) -> None:
    """Two lines and their ratio; both must have found the same cost."""
    # Sense lines are a choice of their own, which the general program does not look at.
    plain = [(tuple(_without_sense(plug) for plug in sources), part) for sources, part in cases]
    ours = seconds(lambda: [assign.__wrapped__(*case) for case in plain], rounds)
    general = seconds(lambda: [least_cost(*case) for case in plain], 1)
    same = all(tuple(assign(*case).cost[:3]) == least_cost(*case) for case in plain)
    wires = sum(len(part.demands) for _, part in plain)
    print(f"{name:<44}{len(plain):3} plugs {wires:4} wires {ours * 1000:10.2f} ms")
    print(f"{'  general solver':<64}{general * 1000:10.2f} ms {general / ours:9.1f} x   same cost: {same}")


def _without_sense(plug: SourcePlug) -> SourcePlug:
    nets = tuple((cavity, "" if net.endswith("_SENSE") else net) for cavity, net in plug.nets)
    return SourcePlug(plug.housing, nets, plug.pitch_mm)


def measure_wiring() -> None:
    """Print the report."""
    catalogue = catalogue_from_files(ROOT / "seed_data" / "catalogue")
    cases = example_cases(catalogue)
    whole = seconds(lambda: [assign.__wrapped__(*case) for case in cases], 20)
    print(f"{'assignment, large example, sense lines included':<64}{whole * 1000:10.2f} ms")
    compare("assignment, large example, cold", cases, 20)
    compare("assignment, main 24, worst found", [main_worst(catalogue)], 5)
    compare("assignment, 24 half idle, worst found", [idle_worst()], 1)


if __name__ == "__main__":
    measure_wiring()
