"""The wiring at its largest against a general solver, and every small inlet of the catalogue against brute force.

Expected values: the least cost that HiGHS proves for the same plugs (``program_wiring``), and the least cost over every
wiring there is (``brute_wiring``). Both are written from the rules alone, with a frame of their own.
"""

from collections import Counter
from dataclasses import replace
from random import Random

import pytest

from server.domain.model.catalogue import Catalogue
from server.domain.wiring import Demand, PartPlug, SourcePlug, assign, pin_problems, shortages
from tests.domain.brute_wiring import cheapest, cost_of_links
from tests.domain.program_wiring import least_cost
from tests.domain.scenes import housing, numbered, shipped_catalogue

Case = tuple[tuple[SourcePlug, ...], PartPlug]
SMALL = sorted(
    pinout.id
    for pinout in shipped_catalogue().pinouts.values()
    if pinout.role == "inlet" and pinout.rewired and shipped_catalogue().housings[pinout.housing].positions <= 8
)
"""Inlets of up to eight positions."""


def main_plug(catalogue: Catalogue) -> PartPlug:
    """The board's 24-position plug: 23 wires. Its sense line ends where the pinout says and leaves no choice."""
    pins = catalogue.pinouts["main-24"].pins
    demands = tuple(Demand(p.cavity, p.accepts, p.carries_current) for p in pins if p.need == "required")
    return PartPlug(catalogue.housings["p42-24-plug"], demands, 4.2)


def dealt(nets: list[str], sizes: tuple[int, ...], rng: Random) -> tuple[SourcePlug, ...]:
    """Plugs of these sizes with the nets dealt over them at random."""
    nets = nets + [""] * (sum(sizes) - len(nets))
    rng.shuffle(nets)
    plugs = []
    for size in sizes:
        plugs.append(SourcePlug(housing(size), numbered(nets[:size]), 4.2))
        nets = nets[size:]
    return tuple(plugs)


def main_case(catalogue: Catalogue, seed: int, *, short: int) -> Case:
    """The main plug from up to 28 live contacts: ``short`` of its own missing, five more of four nets."""
    rng = Random(seed)
    part = main_plug(catalogue)
    nets = [demand.accepts[0] for demand in part.demands]
    wanted = Counter(nets)
    for _ in range(short):
        nets.remove(rng.choice([net for net, count in Counter(nets).items() if 2 * (count - 1) >= wanted[net]]))
    nets += rng.choices(("COM", "+5V", "+3.3V", "+12V"), k=5)
    sizes = rng.choice([(28,), (28,), (14, 14), (18, 10)])
    return dealt(nets, sizes, rng), part


def mixed_case(seed: int) -> Case:
    """A 24-position plug with wires of five nets, a third of them without load, from as many contacts or fewer."""
    rng = Random(seed)
    wanted = rng.choices(("A", "B", "C", "D", "E"), k=24)
    demands = tuple(Demand(str(i + 1), (net,), rng.random() < 0.7) for i, net in enumerate(wanted))
    nets = [net for net, count in Counter(wanted).items() for _ in range(rng.randint(-(-count // 2), count + 2))]
    sizes = (24,) if len(nets) <= 24 else (16, 16)
    return dealt(nets, sizes, rng), PartPlug(housing(24), demands, 4.2)


def pinned(case: Case, rng: Random, most: int) -> Case:
    """The same with up to so many wires pinned into contacts of their net, never three into one."""
    sources, part = case
    demands = list(part.demands)
    for index in rng.sample(range(len(demands)), min(most, len(demands))):
        carried = {net for plug in sources for _, net in plug.nets}
        wanted = next(net for net in demands[index].accepts if net in carried)
        taken = Counter(demand.pinned for demand in demands)
        contacts = [(i, c) for i, plug in enumerate(sources) for c, net in plug.nets if net == wanted]
        demands[index] = replace(demands[index], pinned=rng.choice([c for c in contacts if taken[c] < 2]))
    return sources, replace(part, demands=tuple(demands))


def with_forbidden(case: Case, rng: Random) -> Case:
    """The same with contacts forbidden here and there, where the net can do without: the planner sees no net there."""
    sources, part = case
    left = Counter(net for plug in sources for _, net in plug.nets)
    wanted = Counter(demand.accepts[0] for demand in part.demands)
    kept = []
    for plug in sources:
        nets = []
        for cavity, net in plug.nets:
            forbid = net and 2 * (left[net] - 1) >= wanted[net] and rng.random() < 0.3
            left[net] -= bool(forbid)
            nets.append((cavity, "" if forbid else net))
        kept.append(replace(plug, nets=tuple(nets)))
    return tuple(kept), part


# ---- against a general solver ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_no_main_cable_from_28_contacts_costs_less_by_integer_programming(seed: int, catalogue: Catalogue) -> None:
    sources, part = main_case(catalogue, seed, short=0)
    assert tuple(assign(sources, part).cost[:3]) == least_cost(sources, part)


@pytest.mark.parametrize("seed", range(6))
def test_no_main_cable_with_doubles_costs_less_by_integer_programming(seed: int, catalogue: Catalogue) -> None:
    sources, part = main_case(catalogue, 100 + seed, short=5)
    assert tuple(assign(sources, part).cost[:3]) == least_cost(sources, part)


@pytest.mark.parametrize("seed", range(6))
def test_no_large_plug_with_idle_wires_costs_less_by_integer_programming(seed: int) -> None:
    sources, part = mixed_case(seed)
    assert tuple(assign(sources, part).cost[:3]) == least_cost(sources, part)


@pytest.mark.parametrize("seed", range(10))
def test_no_large_plug_with_pins_costs_less_by_integer_programming(seed: int, catalogue: Catalogue) -> None:
    rng = Random(200 + seed)
    case = mixed_case(seed) if seed % 2 else main_case(catalogue, seed, short=rng.randint(0, 4))
    sources, part = pinned(case, rng, most=rng.randint(1, 8))
    assert tuple(assign(sources, part).cost[:3]) == least_cost(sources, part)


@pytest.mark.parametrize("seed", range(6))
def test_no_large_plug_with_forbidden_cavities_costs_less_by_integer_programming(
    seed: int, catalogue: Catalogue
) -> None:
    rng = Random(300 + seed)
    sources, part = with_forbidden(main_case(catalogue, seed, short=0), rng)
    sources, part = pinned((sources, part), rng, most=rng.randint(0, 3))
    assert tuple(assign(sources, part).cost[:3]) == least_cost(sources, part)


@pytest.mark.parametrize("seed", range(4))
def test_holding_equal_wires_in_order_costs_nothing_by_integer_programming(seed: int, catalogue: Catalogue) -> None:
    # The short cut of both solvers, taken away: every wire may go to every contact of its net.
    rng = Random(400 + seed)
    wanted = rng.choices(("A", "B", "C"), k=12)
    demands = tuple(Demand(str(i + 1), (net,), rng.random() < 0.7) for i, net in enumerate(wanted))
    nets = [net for net, count in Counter(wanted).items() for _ in range(rng.randint(-(-count // 2), count + 1))]
    sources, part = dealt(nets, (16,), rng), PartPlug(housing(12), demands, 4.2)
    assert tuple(assign(sources, part).cost[:3]) == least_cost(sources, part, in_order=False)


# ---- every small inlet against every wiring -------------------------------------------------------------------------


def small_case(catalogue: Catalogue, inlet_id: str, rng: Random) -> Case:
    """An inlet of the catalogue from one or two random ports that carry enough of what it wants."""
    inlet = catalogue.pinouts[inlet_id]
    shell = catalogue.housings[inlet.housing]
    chosen = [p for p in inlet.pins if p.need == "required" or (p.need == "optional" and rng.random() < 0.5)]
    demands = tuple(Demand(p.cavity, p.accepts, p.carries_current, p.sensed_by) for p in chosen)
    count = Counter(rng.choice(demand.accepts) for demand in demands)
    nets = [net for net, wires in count.items() for _ in range(rng.randint(-(-wires // 2), wires + 1))]
    nets += rng.choices(("-12V", ""), k=rng.randint(0, 2))
    sensed = [net for net in count if net in ("+12V", "+5V", "+3.3V", "COM")]
    if sensed and rng.random() < 0.2:
        nets.append(f"{rng.choice(sensed)}_SENSE")
    sizes = (max(4, len(nets) + len(nets) % 2),)
    if rng.random() < 0.3:
        sizes = (4, max(4, len(nets) - 4 + len(nets) % 2))
    part = PartPlug(shell, demands, catalogue.families[shell.family].pitch_mm)
    return dealt(nets, sizes, rng), part


@pytest.mark.parametrize("inlet", SMALL)
def test_no_wiring_of_a_small_inlet_is_cheaper_by_brute_force(inlet: str, catalogue: Catalogue) -> None:
    rng = Random(inlet)
    for _ in range(15):
        sources, part = small_case(catalogue, inlet, rng)
        assert assign(sources, part).cost[:4] == cheapest(sources, part), (sources, part)


@pytest.mark.parametrize("inlet", SMALL)
def test_no_wiring_of_a_small_inlet_with_pins_is_cheaper_by_brute_force(inlet: str, catalogue: Catalogue) -> None:
    rng = Random(f"{inlet} pinned")
    for _ in range(15):
        sources, part = pinned(small_case(catalogue, inlet, rng), rng, most=3)
        assert assign(sources, part).cost[:4] == cheapest(sources, part), (sources, part)


@pytest.mark.parametrize("inlet", SMALL)
def test_every_pin_is_kept_and_its_cost_told(inlet: str, catalogue: Catalogue) -> None:
    rng = Random(f"{inlet} kept")
    for _ in range(15):
        sources, part = pinned(small_case(catalogue, inlet, rng), rng, most=3)
        found = assign(sources, part)
        fed = {link.cavity: (link.source, link.source_cavity) for link in found.links if not link.sense}
        assert {d.cavity: fed[d.cavity] for d in part.demands if d.pinned} == {
            d.cavity: d.pinned for d in part.demands if d.pinned
        }
        assert tuple(found.cost) == cost_of_links(sources, part, found)


# ---- at the edge of what can be wired -------------------------------------------------------------------------------


def test_a_pin_to_the_second_choice_of_net_counts_against_that_nets_contacts() -> None:
    # By hand: one COM contact holds two wires. Cavities 1 and 2 want COM, 3 takes SENSE0 or COM and is pinned to COM:
    # the contact would hold three, so that a shortage or an impossible pin must be told.
    port = SourcePlug(housing(4), numbered(["COM", "SENSE0", "", ""]), 4.2)
    demands = (
        Demand("1", ("COM",)),
        Demand("2", ("COM",)),
        Demand("3", ("SENSE0", "COM"), False, pinned=(0, "1")),
    )
    part = PartPlug(housing(4), demands, 4.2)
    assert shortages((port,), part) or pin_problems((port,), part)


def test_a_pin_to_the_second_choice_of_net_leaves_the_first_choice_free() -> None:
    # By hand: SENSE0 is carried, but the builder pins the sense cavity to COM; one contact each, nothing is doubled.
    port = SourcePlug(housing(4), numbered(["COM", "SENSE0", "COM", ""]), 4.2)
    demands = (Demand("1", ("COM",)), Demand("3", ("SENSE0", "COM"), False, pinned=(0, "3")))
    found = assign((port,), PartPlug(housing(4), demands, 4.2))
    fed = {link.cavity: (link.source_cavity, link.net) for link in found.links}
    assert (fed, found.cost.doubles) == ({"1": ("1", "COM"), "3": ("3", "COM")}, 0)
