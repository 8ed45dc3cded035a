"""Plans of small builds worked out by hand. Expected values: the design guide's counts, and sums shown beside each."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pytest

from server.domain import edits
from server.domain.limits import problems
from server.domain.model.build import (
    SUPPLY,
    Allowances,
    Build,
    Finish,
    PlugRef,
    Rates,
    Route,
    Run,
    RunFinish,
    SharedChoice,
    Spare,
)
from server.domain.model.catalogue import Catalogue, Port
from server.domain.model.plan import BuyLine, Plan, RunPlan
from server.domain.plan import plan
from server.domain.reference import sensed_net
from tests.domain.scenes import built, codes, ends_at_all, layout, measured, port, run_id_to, run_to, with_layout

CPU_NETS = ["COM"] * 4 + ["+12V"] * 4
EIGHTS = ["+12V"] * 4 + ["COM"] * 4
DRIVE_NETS = ["+12V", "COM", "+5V", "COM", "", ""]


def one_run(
    catalogue: Catalogue,
    recipe: str,
    ports: list[Port],
    *,
    count: int = 1,
    route: Route | None = None,
    **fields: object,
) -> tuple[Build, Catalogue]:
    """Parts of one recipe on a metered layout of a few ports; the given route and fields on the first run."""
    own = with_layout(catalogue, layout(*ports))
    build = built(own, "test", [(recipe, count)])
    run = build.runs[0]
    return edits.change_run(build, run.id, route=route or run.route, **fields), own


def cpu(catalogue: Catalogue, length_mm: float = 450) -> tuple[Build, Catalogue]:
    """A board of which only the CPU inlet is looked at, on one CPU port."""
    own = with_layout(catalogue, layout(port("C1", "p42-8c-plug", ["cpu"], CPU_NETS)))
    build = edits.add_custom_part(Build(name="Test", supply="test"), own, "board", "Board", ("cpu-8",), "")
    return edits.change_run(build, "r1", route=Route(length_mm=length_mm)), own


def first(found: Plan) -> RunPlan:
    return found.runs[0]


def line(found: Plan, item: str) -> BuyLine:
    return next(buy for buy in found.buys if buy.item == item)


# ---- lengths --------------------------------------------------------------------------------------------------------


def test_a_cpu_wire_is_route_both_depths_and_allowance_up_to_the_step(catalogue: Catalogue) -> None:
    # By hand: 450 + 8 + 8 + 10 = 476 mm, up to 480 mm; eight wires alike.
    found = first(plan(*cpu(catalogue)))
    assert [wire.cut_mm for wire in found.wires] == [480] * 8


def test_a_reach_beyond_the_route_is_added_at_the_part_end(catalogue: Catalogue) -> None:
    # By hand: 450 + 12 + 8 + 8 + 10 = 488 mm, up to 490 mm.
    build, own = cpu(catalogue)
    end = replace(build.runs[0].ends[0], extra_mm=12.0)
    found = first(plan(edits.change_run(build, "r1", ends=(end,)), own))
    assert {wire.cut_mm for wire in found.wires} == {490}


def test_two_source_plugs_have_each_their_own_extra_reach(catalogue: Catalogue) -> None:
    # By hand: 400 + 8 + 8 + 10 = 426, up to 430 from Main A; with 30 mm more 456, up to 460 from Main B.
    build = built(catalogue, "split-14-10", [("board-small", 1)])
    run_id = run_id_to(build, "p1", "main")
    sources = (PlugRef(SUPPLY, "M1"), PlugRef(SUPPLY, "M2", 30.0))
    build = edits.change_run(build, run_id, sources=sources, route=Route(length_mm=400))
    run = run_to(plan(build, catalogue), "p1", "main")
    cut = {(run.sources[wire.source.plug].ref.socket, wire.cut_mm) for wire in run.wires}
    assert cut == {("M1", 430), ("M2", 460)}


def test_the_order_in_which_source_plugs_are_entered_changes_no_wire_of_them(catalogue: Catalogue) -> None:
    build = built(catalogue, "split-14-10", [("board-small", 1)])
    run_id = run_id_to(build, "p1", "main")
    one, two = PlugRef(SUPPLY, "M1"), PlugRef(SUPPLY, "M2", 30.0)
    wires = []
    for sources in ((one, two), (two, one)):
        entered = edits.change_run(build, run_id, sources=sources, route=Route(length_mm=400))
        run = run_to(plan(entered, catalogue), "p1", "main")
        wires.append({(w.id, run.sources[w.source.plug].ref.socket, w.source.cavity, w.cut_mm) for w in run.wires})
    assert wires[0] == wires[1]


def test_a_range_is_bought_for_at_its_high_end(catalogue: Catalogue) -> None:
    # By hand: 500 + 8 + 8 + 10 = 526, up to 530 mm; eight wires, four of each colour: 2120 mm a colour.
    build, own = cpu(catalogue)
    found = plan(edits.change_run(build, "r1", route=Route(low_mm=400, high_mm=500)), own)
    assert {buy.colour: buy.needed for buy in found.buys if buy.kind == "wire"} == {"YE": 2120, "BK": 2120}


def test_a_range_is_not_on_the_cut_list(catalogue: Catalogue) -> None:
    build, own = cpu(catalogue)
    assert plan(edits.change_run(build, "r1", route=Route(low_mm=400, high_mm=500)), own).cuts == ()


def test_a_run_without_a_length_needs_no_wire_yet(catalogue: Catalogue) -> None:
    build, own = cpu(catalogue)
    found = plan(edits.change_run(build, "r1", route=Route()), own)
    assert [buy for buy in found.buys if buy.kind == "wire"] == []


def test_an_estimate_with_a_length_missing_is_not_complete(catalogue: Catalogue) -> None:
    build, own = cpu(catalogue)
    assert plan(edits.change_run(build, "r1", route=Route()), own).estimate.complete is False


def test_a_piece_longer_than_any_roll_stops_the_work(catalogue: Catalogue) -> None:
    # By hand: a chain of 12 plugs 4900 mm apart is 54 000 mm and more in one piece; the longest roll holds 25 000 mm.
    build, own = sata_chain(catalogue, 12)
    build = edits.change_run(build, "r1", route=Route(length_mm=400, spacing_mm=(4900.0,) * 11))
    assert ("stop", "piece_too_long") in codes(plan(build, own))


# ---- wires ----------------------------------------------------------------------------------------------------------


def test_the_main_inlet_takes_23_wires_from_a_layout_without_sense_lines(catalogue: Catalogue) -> None:
    # Design guide: 24 positions, position 20 reserved.
    found = plan(built(catalogue, "split-14-10", [("board-small", 1)]), catalogue)
    assert len(run_to(found, "p1", "main").wires) == 23


@pytest.mark.parametrize(("supply", "senses"), [("split-14-10", 0), ("remote-sense", 4)])
def test_every_sense_line_of_the_ports_is_a_wire_more(catalogue: Catalogue, supply: str, senses: int) -> None:
    # Counted by hand in the layout's own table of cavities.
    found = plan(built(catalogue, supply, [("board-small", 1)]), catalogue)
    assert len(run_to(found, "p1", "main").wires) == 23 + senses


@pytest.mark.parametrize(
    "supply", ["split-18-10", "split-14-10", "shared-8", "wide-10-12", "six-peripheral", "remote-sense"]
)
def test_a_split_main_is_fed_whole_from_its_two_ports(catalogue: Catalogue, supply: str) -> None:
    run = run_to(plan(built(catalogue, supply, [("board-small", 1)]), catalogue), "p1", "main")
    fed = Counter(wire.target.cavity for wire in run.wires if not sensed_net(wire.net))
    assert sorted(plug.ref.socket for plug in run.sources) == ["M1", "M2"]
    assert fed == {str(cavity): 1 for cavity in range(1, 25) if cavity != 20}


def test_a_main_with_one_com_too_few_takes_exactly_one_double(catalogue: Catalogue) -> None:
    # By hand, layout table: Main A and B carry seven COM between them, the board wants eight.
    run = run_to(plan(built(catalogue, "wide-10-12", [("board-small", 1)]), catalogue), "p1", "main")
    assert run.doubles == 1


def test_a_600_w_inlet_is_fed_from_two_8_position_ports(catalogue: Catalogue) -> None:
    # By hand: six +12V, six COM and two sense wires into COM, from eight and eight contacts: 14 wires, no double.
    run = run_to(plan(built(catalogue, "shared-8", [("graphics-12-4", 1)]), catalogue), "p1", "power1")
    assert (len(run.sources), len(run.wires), run.doubles) == (2, 14, 0)


def test_a_600_w_inlet_from_ports_without_sideband_leaves_the_two_status_lines_out(catalogue: Catalogue) -> None:
    run = run_to(plan(built(catalogue, "shared-8", [("graphics-12-4", 1)]), catalogue), "p1", "power1")
    assert {wire.target.cavity for wire in run.wires} == {*(str(n) for n in range(1, 13)), "S3", "S4"}


def test_a_native_600_w_port_brings_all_sixteen_wires(catalogue: Catalogue) -> None:
    run = run_to(plan(built(catalogue, "native-12-4", [("graphics-12-4", 1)]), catalogue), "p1", "power1")
    assert (len(run.sources), len(run.wires)) == (1, 16)


def test_sideband_wires_are_as_thin_as_their_contacts_want(catalogue: Catalogue) -> None:
    # Contact table: the four sideband cavities take 22 to 30 AWG; the run's 16 AWG is for the twelve others.
    run = run_to(plan(built(catalogue, "native-12-4", [("graphics-12-4", 1)]), catalogue), "p1", "power1")
    gauges = {wire.target.cavity.startswith("S"): wire.awg for wire in run.wires}
    assert gauges == {False: 16, True: 22}


def test_a_label_is_the_runs_number_and_the_part_cavity(catalogue: Catalogue) -> None:
    labels = {wire.target.cavity: wire.label for wire in first(plan(*cpu(catalogue))).wires}
    assert labels == {str(n): f"1-0{n}" for n in range(1, 9)}


def test_a_wires_identity_is_its_run_its_plug_and_its_cavity(catalogue: Catalogue) -> None:
    wire = next(w for w in first(plan(*cpu(catalogue))).wires if w.target.cavity == "5")
    assert wire.id == "r1/p1.s1/5"


def test_two_sense_lines_into_one_cavity_are_two_wires_with_identities_of_their_own(catalogue: Catalogue) -> None:
    # A layout one may meet: both main ports bring a +3.3V sense line, and the board's cavity 13 takes it.
    nets = [pin.net for pin in catalogue.pinouts["main-24"].pins]
    ports = [
        port("M1", "p42-14-plug", ["main"], [*nets[:12], "+3.3V_SENSE", ""]),
        port("M2", "p42-14-plug", ["main"], [*nets[12:], "+3.3V_SENSE", ""]),
    ]
    own = with_layout(catalogue, layout(*ports))
    run = run_to(plan(built(own, "test", [("board-small", 1)]), own), "p1", "main")
    assert len({wire.id for wire in run.wires}) == len(run.wires)


def test_an_optional_cavity_is_wired_only_where_the_source_carries_its_net(catalogue: Catalogue) -> None:
    ports = [port("P1", "p42-6-plug", ["drive"], DRIVE_NETS)]
    build, own = one_run(catalogue, "drive-sata", ports, optional=("5",))
    assert {wire.target.cavity for wire in first(plan(build, own)).wires} == {"1", "2", "3", "4"}


def test_a_drives_3_3_v_is_left_out_unless_it_is_asked_for(catalogue: Catalogue) -> None:
    # SATA 3.3: P3 is power-disable; +3.3V there keeps a newer drive off.
    ports = [port("P1", "p42-6-plug", ["drive"], ["+12V", "COM", "+5V", "COM", "+3.3V", ""])]
    build, own = one_run(catalogue, "drive-sata", ports)
    assert "5" not in {wire.target.cavity for wire in first(plan(build, own)).wires}


def test_clear_wire_has_one_colour(catalogue: Catalogue) -> None:
    build, own = cpu(catalogue)
    found = first(plan(replace(build, finish=Finish(insulation="clear")), own))
    assert {wire.colour for wire in found.wires} == {"SR"}


# ---- chains ---------------------------------------------------------------------------------------------------------


def sata_chain(catalogue: Catalogue, plugs: int) -> tuple[Build, Catalogue]:
    """SATA drives on one chain from one port, whatever their number."""
    own = with_layout(catalogue, layout(port("P1", "p42-6-plug", ["drive"], DRIVE_NETS)))
    build = Build(name="Test", supply="test")
    for _ in range(plugs):
        build = edits.add_custom_part(build, own, "drive", "Drive", ("sata-15",), "")
    ends = tuple(PlugRef(part.id, "s1") for part in build.parts)
    return replace(build, runs=(Run("r1", 1, (PlugRef(SUPPLY, "P1"),), ends),), next_number=2), own


def test_a_displacement_chain_is_one_piece_through_every_plug(catalogue: Catalogue) -> None:
    build, own = sata_chain(catalogue, 3)
    found = first(plan(build, own))
    assert [(len(wire.taps), wire.target.plug) for wire in found.wires] == [(2, 2)] * 4


def test_a_piece_keeps_its_cavity_from_plug_to_plug(catalogue: Catalogue) -> None:
    build, own = sata_chain(catalogue, 3)
    for wire in first(plan(build, own)).wires:
        assert {end.cavity for end in (*wire.taps, wire.target)} == {wire.target.cavity}


def test_a_displacement_piece_is_cut_for_the_whole_chain(catalogue: Catalogue) -> None:
    # By hand: 400 + 100 + 150 + 8 at the supply + 0 at a pressed plug + 10 = 668 mm, up to 670 mm.
    build, own = sata_chain(catalogue, 3)
    build = edits.change_run(build, "r1", route=Route(length_mm=400, spacing_mm=(100, 150)))
    assert {wire.cut_mm for wire in first(plan(build, own)).wires} == {670}


def test_all_but_the_last_plug_of_a_chain_take_a_through_cap(catalogue: Catalogue) -> None:
    build, own = sata_chain(catalogue, 3)
    caps = [own.caps[plug.cap].position for plug in first(plan(build, own)).ends]
    assert caps == ["through", "through", "end"]


def test_drives_are_wired_in_18_awg_unless_told_otherwise(catalogue: Catalogue) -> None:
    # Common practice: 16 AWG does not go into a displacement plug.
    build, own = sata_chain(catalogue, 2)
    assert {wire.awg for wire in first(plan(build, own)).wires} == {18}


def test_16_awg_in_a_displacement_plug_stops_the_work(catalogue: Catalogue) -> None:
    build, own = sata_chain(catalogue, 2)
    build = edits.change_run(build, "r1", finish=RunFinish(awg=16))
    assert codes(plan(build, own)).count(("stop", "gauge_contact")) == 1


def test_a_crimped_chain_has_a_wire_from_plug_to_plug(catalogue: Catalogue) -> None:
    # By hand: three plugs of four cavities: twelve wires, eight of them from the plug before.
    build, own = peripheral_chain(catalogue)
    wires = first(plan(build, own)).wires
    assert (len(wires), sum(wire.source_at_end for wire in wires)) == (12, 8)


def test_a_crimped_chains_stretches_are_cut_one_by_one(catalogue: Catalogue) -> None:
    # By hand: 400 + 8 + 9 + 10 = 427, up to 430; 100 + 9 + 9 + 10 = 128, up to 130; 150 + 28 = 178, up to 180.
    build, own = peripheral_chain(catalogue)
    build = edits.change_run(build, "r1", route=Route(length_mm=400, spacing_mm=(100, 150)))
    cut = Counter(wire.cut_mm for wire in first(plan(build, own)).wires)
    assert cut == {430: 4, 130: 4, 180: 4}


def test_later_stretches_of_a_chain_carry_the_plugs_letter(catalogue: Catalogue) -> None:
    build, own = peripheral_chain(catalogue)
    labels = {wire.label for wire in first(plan(build, own)).wires if wire.target.cavity == "1"}
    assert labels == {"1-01", "1b-01", "1c-01"}


def test_a_contact_that_hands_a_chain_on_is_bought_once(catalogue: Catalogue) -> None:
    # By hand: four cavities at each of three plugs, whether or not two wires meet there: twelve contacts.
    build, own = peripheral_chain(catalogue)
    bought = line(plan(build, own), "p508-socket")
    assert bought.needed - bought.spare == 12


def peripheral_chain(catalogue: Catalogue) -> tuple[Build, Catalogue]:
    ports = [port("P1", "p42-6-plug", ["drive"], DRIVE_NETS)]
    return one_run(catalogue, "drive-peripheral", ports, count=3)


# ---- what is bought and done ----------------------------------------------------------------------------------------


def test_a_double_saves_a_contact(catalogue: Catalogue) -> None:
    # By hand: eight wires, eight contacts at the card, seven at a port of four +12V and four COM: fifteen.
    ports = [port("G1", "p42-8g-plug", ["graphics"], EIGHTS)]
    build, own = one_run(catalogue, "graphics-8", ports)
    contacts = [buy for buy in plan(build, own).buys if buy.kind == "contact"]
    assert sum(buy.needed - buy.spare for buy in contacts) == 15


def test_the_operations_of_a_cpu_run_are_counted_by_hand(catalogue: Catalogue) -> None:
    # Eight wires with two ends each; 450 mm: 225 mm visible, three combs.
    expected = {
        "cut": 8, "strip": 16, "crimp": 16, "sleeve_end": 16, "shrink": 16, "insert": 16, "comb": 3, "test": 8,
    }  # fmt: skip
    assert {row.operation: row.count for row in plan(*cpu(catalogue)).estimate.labour} == expected


def test_the_minutes_of_a_cpu_run_are_summed_by_hand(catalogue: Catalogue) -> None:
    # 8x0.3 + 16x0.3 + 16x0.6 + 16x0.8 + 16x0.5 + 16x0.3 + 3x1.0 + 8x0.3 = 47.8 min.
    assert plan(*cpu(catalogue)).estimate.minutes == Decimal("47.8")


def test_spare_contacts_are_the_share_or_the_least_whichever_is_more(catalogue: Catalogue) -> None:
    # By hand: 16 contacts; 10 % is 1.6, up to 2, and the least is 2; 40 % is 6.4, up to 7.
    build, own = cpu(catalogue)
    asked = [replace(build, allowances=Allowances(spares={"contacts": Spare(share, 2)})) for share in (0.0, 10.0, 40.0)]
    spares = [line(plan(entry, own), "p42-socket-16").spare for entry in asked]
    assert spares == [2, 2, 7]


def test_spare_combs_are_bought_but_not_fitted(catalogue: Catalogue) -> None:
    # By hand: three fitted, two spare.
    bought = line(plan(*cpu(catalogue)), "comb-8")
    assert (bought.needed, bought.spare) == (5, 2)


def test_a_price_of_ones_own_is_what_the_list_adds_up(catalogue: Catalogue) -> None:
    # By hand: both plugs of the cable are the CPU-keyed one; two at 9.99 unless a larger pack is cheaper.
    build, own = cpu(catalogue)
    packs = [pack for pack in own.packs if pack.item == "p42-8c-plug"]
    dear = {pack.id: Decimal("9.99") * pack.quantity for pack in packs}
    assert line(plan(replace(build, prices=dear), own), "p42-8c-plug").price == Decimal("19.98")


def test_packs_that_cost_nothing_do_not_keep_a_plan_from_ending(catalogue: Catalogue) -> None:
    # One 4990 mm route wants pieces of 5016 mm and more; the 5000 mm roll is a present, yet no piece comes out of it.
    build, own = cpu(catalogue, 4990)
    gift = {"wire-awg16-plain-5000": Decimal(0), "wire-awg16-plain-10000": Decimal("10.10")}
    with ends_at_all():
        found = plan(replace(build, prices=gift), own)
    assert all(packs for buy in found.buys if buy.kind == "wire" for packs in buy.packs)


def test_a_moulded_cable_is_sleeved_and_takes_no_plug_or_contact(catalogue: Catalogue) -> None:
    build = edits.add_parts(Build(name="Test"), catalogue, "sata-data", 1, "")
    build = edits.change_run(build, "r1", route=Route(length_mm=500))
    assert {buy.kind for buy in plan(build, catalogue).buys} <= {"sleeve", "shrink"}


def test_yen_have_no_smaller_unit(catalogue: Catalogue) -> None:
    # ISO 4217: JPY has no decimal places, KWD three.
    build, own = cpu(catalogue)
    exponents = [
        plan(replace(build, rates=Rates(currency=code)), own).estimate.total.as_tuple().exponent
        for code in ("JPY", "EUR", "KWD")
    ]
    assert exponents == [0, -2, -3]


# ---- findings -------------------------------------------------------------------------------------------------------


def test_a_clean_metered_cable_has_no_finding_but_how_hard_its_insulation_is(catalogue: Catalogue) -> None:
    assert codes(plan(*cpu(catalogue))) == [("note", "insulation_hardness")]


def test_an_unmetered_layout_stops_the_work(catalogue: Catalogue) -> None:
    found = plan(Build(name="Test", supply="one-24"), catalogue)
    assert ("stop", "not_metered") in codes(found)


def test_a_build_without_a_supply_is_warned_of(catalogue: Catalogue) -> None:
    assert codes(plan(Build(name="Test"), catalogue)) == [("warn", "no_supply")]


def test_a_run_without_a_source_stops_the_work(catalogue: Catalogue) -> None:
    build, own = cpu(catalogue)
    assert ("stop", "no_source") in codes(plan(edits.change_run(build, "r1", sources=()), own), 1)


def test_a_port_that_carries_too_little_stops_the_work_and_wires_nothing(catalogue: Catalogue) -> None:
    # By hand: four +12V wanted, one contact holds two.
    build, own = cpu(catalogue)
    poor = layout(port("C1", "p42-8c-plug", ["cpu"], ["COM"] * 7 + ["+12V"]))
    found = plan(build, with_layout(own, poor))
    assert (("stop", "net_short") in codes(found, 1), first(found).wires) == (True, ())


def test_a_port_not_meant_for_the_use_is_warned_of(catalogue: Catalogue) -> None:
    build, own = cpu(catalogue)
    other = with_layout(own, layout(port("C1", "p42-8c-plug", ["graphics"], CPU_NETS)))
    assert ("warn", "other_use") in codes(plan(build, other), 1)


def test_a_supply_contact_that_carries_a_whole_chain_is_warned_of(catalogue: Catalogue) -> None:
    # By hand: five drives of 2 A are 10 A on the one +12V contact; four loaded circuits of 18 AWG are rated 8 A.
    build, own = sata_chain(catalogue, 5)
    texts = [f.text for f in plan(build, own).findings if f.code == "contact_current"]
    assert [("+12V" in t, "10.0 A" in t, "8.0 A" in t, "25 %" in t) for t in texts] == [(True, True, True, True)]


def test_a_chain_at_the_contacts_rating_is_no_finding(catalogue: Catalogue) -> None:
    # By hand: four drives of 2 A are 8 A, and 8 A is the rating.
    build, own = sata_chain(catalogue, 4)
    assert ("warn", "contact_current") not in codes(plan(build, own))


def test_two_wires_that_fill_a_contact_to_its_limit_are_noted_and_not_warned_of(catalogue: Catalogue) -> None:
    # By hand: 20 and 22 AWG are 0.53 + 0.34 = 0.87 mm2, exactly what the smaller contact takes.
    ports = [port("G1", "p42-8g-plug", ["graphics"], EIGHTS)]
    build, own = one_run(catalogue, "graphics-8", ports, finish=RunFinish(awg=20))
    shared = [(f.severity, "0.87 of 0.87 mm2" in f.text) for f in plan(build, own).findings if "double" in f.code]
    assert shared == [("note", True)]


def test_two_wires_far_too_many_for_a_contacts_copper_stop_the_work(catalogue: Catalogue) -> None:
    # By hand: 16 and 22 AWG are 1.32 + 0.34 = 1.66 mm2 where the largest contact takes 1.32 mm2, a quarter less.
    ports = [port("G1", "p42-8g-plug", ["graphics"], EIGHTS)]
    build, own = one_run(catalogue, "graphics-8", ports)
    cavity = plan(build, own).runs[0].offers[0].cavity
    build = edits.change_run(build, "r1", shared=(SharedChoice(SUPPLY, "G1", cavity, "thinner"),))
    assert ("stop", "double_tight") in codes(plan(build, own), 1)


def test_insulation_too_thin_for_a_displacement_plug_stops_the_work(catalogue: Catalogue) -> None:
    # By hand: high-temperature 18 AWG is 1.8 mm, the blade grips 2.0 to 2.5 mm.
    build, own = sata_chain(catalogue, 1)
    build = edits.change_run(build, "r1", finish=RunFinish(insulation="high_temperature"))
    assert ("stop", "insulation_contact") in codes(plan(build, own), 1)


def test_both_sense_lines_in_com_tell_the_card_600_w_and_are_warned_of(catalogue: Catalogue) -> None:
    found = plan(built(catalogue, "shared-8", [("graphics-12-4", 1)]), catalogue)
    assert ("warn", "full_power_told") in codes(found)


def test_a_sense_line_that_finds_no_contact_is_warned_of(catalogue: Catalogue) -> None:
    ports = [port("C1", "p42-10-plug", ["cpu"], [*CPU_NETS, "+5V_SENSE", ""])]
    build = edits.add_custom_part(
        Build(name="Test", supply="test"), with_layout(catalogue, layout(*ports)), "board", "Board", ("cpu-8",), ""
    )
    assert ("warn", "sense_unused") in codes(plan(build, with_layout(catalogue, layout(*ports))), 1)


def test_two_runs_on_one_port_are_refused_or_stop_the_work(catalogue: Catalogue) -> None:
    # A rule, not a value: a port holds one plug. An imported document that says otherwise must be refused or told of.
    own = with_layout(catalogue, layout(port("G1", "p42-8g-plug", ["graphics"], EIGHTS)))
    build = built(own, "test", [("graphics-8", 1)])
    card = edits.add_parts(build, own, "graphics-8", 1, "")
    run = Run("r2", 2, (PlugRef(SUPPLY, "G1"),), (PlugRef("p2", "power1"),))
    twice = replace(card, runs=(*build.runs, run), next_number=3)
    assert problems(twice, own) or "stop" in [severity for severity, _ in codes(plan(twice, own))]


def test_stops_stand_before_warnings_and_notes(catalogue: Catalogue) -> None:
    found = plan(built(catalogue, "shared-8", [("board-small", 1), ("graphics-12-4", 1)]), catalogue)
    order = [("stop", "warn", "note").index(f.severity) for f in found.findings]
    assert order == sorted(order)


def test_the_ports_list_names_the_run_that_uses_each(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("graphics-8", 1)])
    used = {use.socket: use.run for use in plan(build, catalogue).ports}
    assert used == {
        "M1": None,
        "C1": None,
        "C2": None,
        "G1": 1,
        "G2": None,
        "G3": None,
        "P1": None,
        "P2": None,
        "P3": None,
    }


def test_a_measured_build_waits_for_nothing(catalogue: Catalogue) -> None:
    found = plan(measured(built(catalogue, "one-24", [("board-small", 1), ("drive-sata", 3)])), catalogue)
    assert (found.summary.waiting, found.estimate.complete) == (0, True)


@pytest.mark.parametrize(("limit", "told"), [(24.9, True), (25.0, False)])
def test_what_all_parts_may_draw_is_held_against_the_supplys_own_limit(
    catalogue: Catalogue, limit: float, told: bool
) -> None:
    # By hand: two 150 W inlets at 12 V are 2 x 12.5 = 25 A.
    ports = [port(f"G{i}", "p42-8g-plug", ["graphics"], EIGHTS) for i in (1, 2)]
    own = with_layout(catalogue, replace(layout(*ports), limits_a={"+12V": limit}))
    found = plan(built(own, "test", [("graphics-2x8", 1)]), own)
    assert ("supply_limit" in {finding.code for finding in found.findings}) == told
