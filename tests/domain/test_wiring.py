"""Which supply cavity feeds which part cavity, against every other way there is.

Expected values: brute force over all wirings (``brute_wiring``), a mixed-integer program, hand-worked cases, and
properties that hold for any right wiring.
"""

from collections import Counter
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from server.domain.model.catalogue import Catalogue
from server.domain.plugs import part_plug, source_plug
from server.domain.sockets import every_socket
from server.domain.wiring import Demand, PartPlug, SourcePlug, assign, ribbon_position, shortages
from tests.domain.brute_wiring import Spot, cheapest, cost_of_links, part_spots, source_spots
from tests.domain.scenes import built, examples, housing, numbered

NETS = ("+12V", "COM", "+5V")


@st.composite
def wirings(draw: st.DrawFn, most_inlet: int = 8, most_sources: int = 2) -> tuple[tuple[SourcePlug, ...], PartPlug]:
    """Source plugs and an inlet that they can feed: odd nets, idle cavities, sense lines, doubles where needed."""
    count = draw(st.integers(1, most_sources))
    sources = []
    senses = list(draw(st.sets(st.sampled_from(("+12V_SENSE", "COM_SENSE")), max_size=1)))
    for _ in range(count):
        positions = 2 * draw(st.integers(2, 6 if count == 1 else 4))
        nets = [draw(st.sampled_from((*NETS, "+12V", "COM", ""))) for _ in range(positions)]
        if senses and draw(st.booleans()):
            nets[draw(st.integers(0, positions - 1))] = senses.pop()
        sources.append(SourcePlug(housing(positions), numbered(nets), 4.2))
    carried = Counter(net for plug in sources for _, net in plug.nets if net and not net.endswith("_SENSE"))
    room = [net for net, number in carried.items() for _ in range(2 * number)]
    positions = 2 * draw(st.integers(1, most_inlet // 2))
    demands = []
    for cavity in range(1, positions + 1):
        if room and draw(st.integers(0, 7)):
            net = room.pop(draw(st.integers(0, len(room) - 1)))
            accepts = ("NOWHERE", net) if draw(st.integers(0, 9)) == 0 else (net,)
            sensed = f"{net}_SENSE" if draw(st.integers(0, 3)) == 0 else ""
            demands.append(Demand(str(cavity), accepts, draw(st.integers(0, 3)) > 0, sensed))
    pitch = draw(st.sampled_from((4.2, 3.0)))
    return tuple(sources), PartPlug(housing(positions), tuple(demands), pitch)


def graphics_150_w() -> tuple[tuple[SourcePlug, ...], PartPlug]:
    """The 150 W inlet (design guide, table 5-5) from an 8-position port with +12V in 1 to 4 and COM in 5 to 8."""
    port = SourcePlug(housing(8), numbered(["+12V"] * 4 + ["COM"] * 4), 4.2)
    functions = ["+12V", "+12V", "+12V", "SENSE1", "COM", "SENSE0", "COM", "COM"]
    demands = tuple(
        Demand(str(i + 1), ("+12V",) if name == "+12V" else ("COM",), not name.startswith("SENSE"))
        for i, name in enumerate(functions)
    )
    return (port,), PartPlug(housing(8), demands, 4.2)


# ---- against every wiring there is ----------------------------------------------------------------------------------


@examples(150)
@given(wirings())
def test_no_wiring_is_cheaper_than_the_one_chosen(case: tuple[tuple[SourcePlug, ...], PartPlug]) -> None:
    sources, part = case
    assert assign(sources, part).cost[:4] == cheapest(sources, part)


@examples(40)
@given(wirings(most_inlet=4, most_sources=3))
def test_no_order_of_three_plugs_side_by_side_is_cheaper(case: tuple[tuple[SourcePlug, ...], PartPlug]) -> None:
    sources, part = case
    assert assign(sources, part).cost[:4] == cheapest(sources, part)


@examples(150)
@given(wirings())
def test_the_cost_told_is_the_cost_of_the_wires_told(case: tuple[tuple[SourcePlug, ...], PartPlug]) -> None:
    sources, part = case
    found = assign(sources, part)
    assert tuple(found.cost) == cost_of_links(sources, part, found)


# ---- what holds for every right wiring ------------------------------------------------------------------------------


@examples(100)
@given(wirings())
def test_every_wanted_cavity_gets_exactly_one_wire(case: tuple[tuple[SourcePlug, ...], PartPlug]) -> None:
    sources, part = case
    fed = Counter(link.cavity for link in assign(sources, part).links if not link.sense)
    assert fed == {demand.cavity: 1 for demand in part.demands}


@examples(100)
@given(wirings())
def test_no_contact_holds_more_than_two_wires(case: tuple[tuple[SourcePlug, ...], PartPlug]) -> None:
    sources, part = case
    links = assign(sources, part).links
    at_source = Counter((link.source, link.source_cavity) for link in links)
    at_part = Counter(link.cavity for link in links)
    assert max((*at_source.values(), *at_part.values()), default=0) <= 2


@examples(100)
@given(wirings())
def test_a_wire_only_joins_equal_nets(case: tuple[tuple[SourcePlug, ...], PartPlug]) -> None:
    sources, part = case
    accepts = {demand.cavity: demand.accepts for demand in part.demands}
    for link in assign(sources, part).links:
        carried = dict(sources[link.source].nets)[link.source_cavity]
        wanted = {f"{net}_SENSE" for net in accepts[link.cavity]} if link.sense else set(accepts[link.cavity])
        assert link.net == carried
        assert carried in wanted


@examples(100)
@given(wirings())
def test_doubles_are_no_more_than_the_contacts_that_are_missing(
    case: tuple[tuple[SourcePlug, ...], PartPlug],
) -> None:
    sources, part = case
    links = assign(sources, part).links
    carried = Counter(net for plug in sources for _, net in plug.nets)
    wanted = Counter(link.net for link in links if not link.sense)
    missing = sum(max(0, number - carried[net]) for net, number in wanted.items())
    senses = sum(link.sense for link in links)
    assert assign(sources, part).cost.doubles == missing + senses


@examples(100)
@given(wirings())
def test_the_same_plugs_are_wired_the_same_way_again(case: tuple[tuple[SourcePlug, ...], PartPlug]) -> None:
    sources, part = case
    assert assign.__wrapped__(sources, part) == assign.__wrapped__(sources, part)


@examples(100)
@given(wirings())
def test_links_stand_in_ribbon_order_at_the_part(case: tuple[tuple[SourcePlug, ...], PartPlug]) -> None:
    sources, part = case
    spots = part_spots(part)
    across = [spots[link.cavity][0] for link in assign(sources, part).links]
    assert across == sorted(across)


@examples(100)
@given(wirings(most_sources=2), st.data())
def test_turning_the_list_of_source_plugs_round_changes_no_cost(
    case: tuple[tuple[SourcePlug, ...], PartPlug], data: st.DataObject
) -> None:
    sources, part = case
    turned = tuple(data.draw(st.permutations(sources)))
    assert assign(turned, part).cost[:4] == assign(sources, part).cost[:4]


# ---- shortages ------------------------------------------------------------------------------------------------------


def test_a_net_short_of_contacts_is_named_with_its_numbers() -> None:
    # By hand: five COM wires, two COM contacts of two wires each hold four.
    port = SourcePlug(housing(4), numbered(["COM", "COM", "+12V", ""]), 4.2)
    part = PartPlug(housing(6), tuple(Demand(str(i), ("COM",)) for i in range(1, 6)), 4.2)
    assert [(s.net, s.wanted, s.contacts) for s in shortages((port,), part)] == [("COM", 5, 2)]


def test_two_wires_to_a_contact_are_no_shortage_yet() -> None:
    port = SourcePlug(housing(4), numbered(["COM", "COM", "+12V", ""]), 4.2)
    part = PartPlug(housing(4), tuple(Demand(str(i), ("COM",)) for i in range(1, 5)), 4.2)
    assert shortages((port,), part) == ()


def test_wiring_across_a_shortage_is_refused_by_the_nets_name() -> None:
    port = SourcePlug(housing(4), numbered(["COM", "", "", ""]), 4.2)
    part = PartPlug(housing(2), (Demand("1", ("+12V",)),), 4.2)
    with pytest.raises(ValueError, match=r"\+12V"):
        assign((port,), part)


def test_the_most_wanted_net_is_taken_where_a_source_carries_it() -> None:
    port = SourcePlug(housing(4), numbered(["COM", "SENSE0", "COM", ""]), 4.2)
    part = PartPlug(housing(2), (Demand("1", ("SENSE0", "COM"), False),), 4.2)
    assert [link.net for link in assign((port,), part).links] == ["SENSE0"]


def test_the_next_accepted_net_is_taken_where_no_source_carries_the_first() -> None:
    port = SourcePlug(housing(4), numbered(["COM", "", "COM", ""]), 4.2)
    part = PartPlug(housing(2), (Demand("1", ("SENSE0", "COM"), False),), 4.2)
    assert [link.net for link in assign((port,), part).links] == ["COM"]


# ---- worked by hand -------------------------------------------------------------------------------------------------


def test_the_150_w_inlet_takes_exactly_one_double_from_four_and_four() -> None:
    # By hand: three +12V and five COM wires (three loaded, two sense) from four +12V and four COM contacts: 5 - 4 = 1.
    sources, part = graphics_150_w()
    assert assign(sources, part).cost.doubles == 1


def test_the_double_of_the_150_w_inlet_never_joins_two_loaded_wires() -> None:
    # By hand: six loaded wires, each in a contact of its own, is the most even: 6 x 1 squared.
    sources, part = graphics_150_w()
    assert assign(sources, part).cost.unevenness == 6


def test_equal_plugs_with_mirrored_nets_lie_flat_with_both_latches_up() -> None:
    # By hand: both latches up, the source's cavity 2 (wire side left) faces the part's cavity 1 (wire side right).
    port = SourcePlug(housing(4), numbered(["B", "A", "D", "C"]), 4.2)
    part = PartPlug(housing(4), tuple(Demand(str(i + 1), (net,)) for i, net in enumerate("ABCD")), 4.2)
    found = assign((port,), part)
    assert (found.latch_down, found.cost[2:]) == (False, (0, 0, 0))


def test_equal_plugs_with_equal_nets_lie_flat_with_the_supply_latch_down() -> None:
    # By hand: turned over, columns are no longer mirrored, but the two rows change places: four row changes.
    nets = numbered(["A", "B", "C", "D"])
    part = PartPlug(housing(4), tuple(Demand(cavity, (net,)) for cavity, net in nets), 4.2)
    found = assign((SourcePlug(housing(4), nets, 4.2),), part)
    assert (found.latch_down, found.cost[2:]) == (True, (0, 0, 4))


def test_two_plugs_are_laid_side_by_side_in_the_order_that_crosses_least() -> None:
    # By hand: part, wire side, from the left: 4 3 2 1 above is row 2; nets A A on the left half, B B on the right half.
    part = PartPlug(housing(4, 1, "single_row"), tuple(Demand(str(i + 1), (n,)) for i, n in enumerate("AABB")), 4.2)
    give_b = SourcePlug(housing(2, 1, "single_row"), numbered("BB"), 4.2)
    give_a = SourcePlug(housing(2, 1, "single_row"), numbered("AA"), 4.2)
    found = assign((give_b, give_a), part)
    assert (found.order, found.cost.crossings, found.cost.shift) == ((1, 0), 0, 0)


def test_a_sense_line_ends_in_the_contact_that_names_it() -> None:
    port = SourcePlug(housing(6), numbered(["+3.3V", "+3.3V", "+3.3V", "+3.3V_SENSE", "", ""]), 4.2)
    demands = tuple(Demand(str(i), ("+3.3V",), sensed_by="+3.3V_SENSE" if i == 3 else "") for i in (1, 2, 3))
    links = assign((port,), PartPlug(housing(6), demands, 4.2)).links
    assert [link.cavity for link in links if link.sense] == ["3"]


def test_a_sense_line_ends_in_some_contact_of_the_net_it_senses_where_none_names_it() -> None:
    port = SourcePlug(housing(4), numbered(["+12V", "COM", "COM", "+12V_SENSE"]), 4.2)
    part = PartPlug(housing(4), (Demand("1", ("COM",)), Demand("2", ("+12V",)), Demand("3", ("COM",))), 4.2)
    assert [link.cavity for link in assign((port,), part).links if link.sense] == ["2"]


def test_a_sense_line_without_its_net_at_the_part_stays_unwired() -> None:
    port = SourcePlug(housing(4), numbered(["+12V", "COM", "+5V_SENSE", ""]), 4.2)
    part = PartPlug(housing(2), (Demand("1", ("COM",)), Demand("2", ("+12V",))), 4.2)
    assert [link for link in assign((port,), part).links if link.sense] == []


def test_two_sense_lines_of_one_net_never_make_three_wires_of_a_contact() -> None:
    # A rule, not a value: a contact holds two wires. Two ports that both bring +3.3V_SENSE are a layout one may meet.
    port = SourcePlug(housing(4), numbered(["+3.3V", "+3.3V", "+3.3V_SENSE", ""]), 4.2)
    demands = tuple(Demand(str(i), ("+3.3V",), sensed_by="+3.3V_SENSE" if i == 4 else "") for i in (1, 2, 3, 4))
    links = assign((port, port), PartPlug(housing(4), demands, 4.2)).links
    assert max(Counter(link.cavity for link in links).values()) <= 2


def test_the_sideband_cavities_lie_in_the_middle_of_the_12_4_plug(catalogue: Catalogue) -> None:
    # By hand: four cavities centred on six columns 0..5 stand at 1 to 4; seen from the wire side S1 is the rightmost.
    plug = catalogue.housings["p30-16-plug"]
    columns = [ribbon_position(plug, f"S{i}", at_source=False, latch_down=False)[0] for i in (1, 2, 3, 4)]
    assert columns == [4.0, 3.0, 2.0, 1.0]


@pytest.mark.parametrize(
    ("at_source", "latch_down", "expected"),
    [
        # Wire side of a 24-position plug: cavity 1 is the lower right one (column 11, row 1).
        pytest.param(False, False, (11, 1), id="part plug, as seen from its wire side"),
        pytest.param(True, False, (0, 1), id="supply plug, latch up, faces the part plug: mirrored"),
        pytest.param(True, True, (11, 0), id="supply plug turned over: not mirrored, rows changed"),
    ],
)
def test_cavity_1_is_where_the_turned_plug_puts_it(
    at_source: bool, latch_down: bool, expected: tuple[float, int]
) -> None:
    place = ribbon_position(housing(24), "1", at_source=at_source, latch_down=latch_down)
    assert place == expected


def test_a_cavity_that_the_housing_lacks_has_no_place() -> None:
    with pytest.raises(KeyError):
        ribbon_position(housing(4), "5", at_source=False, latch_down=False)


# ---- large plugs, against a mixed-integer program -------------------------------------------------------------------


def least_crossings(start: dict[tuple[int, str], Spot], nets: dict[tuple[int, str], str], part: PartPlug) -> int:
    """Fewest crossings of a plug without sense lines, by HiGHS, for one way to turn and order the source plugs.

    ``u[d, k]`` is 1 when demand d starts in source column k or further left; a pair crosses when the right one of two
    targets has started and the left one has not. Wires of one net and load meet their targets in order (undoing a
    crossing of two equal wires never adds one), which keeps the search short.
    """
    ends = part_spots(part)
    demands = sorted(part.demands, key=lambda d: ends[d.cavity])
    columns = sorted({x for x, _ in start.values()})
    contacts = list(start)
    supplied, wanted = Counter(nets.values()), Counter(d.accepts[0] for d in demands)
    x_of = {(i, c): i * len(contacts) + c for i in range(len(demands)) for c in range(len(contacts))}
    pairs = [
        (i, j)
        for i in range(len(demands))
        for j in range(len(demands))
        if ends[demands[i].cavity][0] < ends[demands[j].cavity][0]
        and (demands[i].accepts, demands[i].carries_current) != (demands[j].accepts, demands[j].carries_current)
    ]
    width = len(x_of) + len(pairs)
    rows: list[tuple[dict[int, float], float, float]] = []

    def started(i: int, k: int) -> dict[int, float]:
        return {x_of[i, c]: 1.0 for c, contact in enumerate(contacts) if start[contact][0] <= columns[k]}

    for i in range(len(demands)):
        rows.append(({x_of[i, c]: 1.0 for c in range(len(contacts))}, 1, 1))
    for c, contact in enumerate(contacts):
        spare = supplied[nets[contact]] >= wanted[nets[contact]]
        holds = {x_of[i, c]: 1.0 for i in range(len(demands))}
        rows.append((holds, 0 if spare else 1, 1 if spare else 2))
    for i in range(len(demands)):
        for j in range(i + 1, len(demands)):
            same = demands[i].accepts == demands[j].accepts and demands[i].carries_current == demands[j].carries_current
            for k in range(len(columns)) if same else ():
                rows.append(({**started(i, k), **dict.fromkeys(started(j, k), -1.0)}, 0, np.inf))
    for p, (i, j) in enumerate(pairs):
        for k in range(len(columns)):
            row = {**started(i, k), **dict.fromkeys(started(j, k), -1.0), len(x_of) + p: 1.0}
            rows.append((row, 0, np.inf))
    matrix = lil_array((len(rows), width))
    for r, (row, _, _) in enumerate(rows):
        for v, factor in row.items():
            matrix[r, v] = factor
    upper = np.ones(width)
    for i, demand in enumerate(demands):
        for c, contact in enumerate(contacts):
            if nets[contact] != demand.accepts[0]:
                upper[x_of[i, c]] = 0
    objective = np.concatenate([np.zeros(len(x_of)), np.ones(len(pairs))])
    integrality = np.concatenate([np.ones(len(x_of)), np.zeros(len(pairs))])
    solved = milp(
        objective,
        integrality=integrality,
        bounds=Bounds(np.zeros(width), upper),
        constraints=LinearConstraint(matrix.tocsr(), [low for _, low, _ in rows], [high for _, _, high in rows]),
    )
    assert solved.status == 0, solved.message
    return round(solved.fun)


@pytest.mark.parametrize("layout", ["split-14-10", "wide-10-12", "one-24"])
def test_no_main_cable_crosses_less_by_integer_programming(catalogue: Catalogue, layout: str) -> None:
    # Without its sense line, whose target is a choice of its own; main-24 is the board's 24-position plug.
    build = built(catalogue, layout, [("board-small", 1)])
    sockets = every_socket(build, catalogue)
    run = next(run for run in build.runs if run.ends[0].socket == "main")
    plugs = tuple(source_plug(sockets[source.part, source.socket]) for source in run.sources)
    plain = tuple(
        replace(plug, nets=tuple((c, "" if n.endswith("_SENSE") else n) for c, n in plug.nets)) for plug in plugs
    )
    part = part_plug(sockets["p1", "main"])
    nets = {(i, cavity): net for i, plug in enumerate(plain) for cavity, net in plug.nets if net}
    fewest = min(
        least_crossings(source_spots(plain, order, latch_down=latch_down), nets, part)
        for order in permutations(range(len(plain)))
        for latch_down in (False, True)
    )
    assert assign(plain, part).cost.crossings == fewest
