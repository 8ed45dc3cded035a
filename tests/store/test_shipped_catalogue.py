"""Properties of the shipped catalogue that the planner rests on. No value here is published: see tests/published."""

from collections import Counter
from itertools import combinations, pairwise
from math import asin, ceil, cos, radians, sin

import pytest

from server.store.catalogue_read import read_catalogue
from server.store.database import reading

LAYOUTS = (
    "one-24",
    "split-18-10",
    "split-14-10",
    "shared-8",
    "wide-10-12",
    "six-peripheral",
    "remote-sense",
    "native-12-4",
)


@pytest.fixture
def catalogue(loaded):
    with reading(loaded) as session:
        return read_catalogue(session)


def nets_feeding(supply, use):
    return Counter(pin.net for port in supply.ports if use in port.feeds for pin in port.pins if pin.net)


def wanted(catalogue, pinout):
    return Counter(pin.net for pin in catalogue.pinouts[pinout].pins if pin.need == "required")


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_layout_feeds_all_that_the_main_socket_requires_with_at_most_two_wires_in_a_contact(catalogue, layout):
    supplied = nets_feeding(catalogue.supplies[layout], "main")

    short = {net: n for net, n in wanted(catalogue, "main-24").items() if supplied[net] < ceil(n / 2)}

    assert short == {}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_shortage_and_surplus_of_the_main_sockets_stay_modest(catalogue, layout):
    supplied, need = nets_feeding(catalogue.supplies[layout], "main"), wanted(catalogue, "main-24")

    assert all(-1 <= supplied[net] - n <= 2 for net, n in need.items())


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize(("use", "pinout"), [("cpu", "cpu-8"), ("drive", "sata-15"), ("drive", "peripheral-4")])
def test_one_socket_of_every_layout_feeds_a_whole_plug(catalogue, layout, use, pinout):
    need = {net: ceil(n / 2) for net, n in wanted(catalogue, pinout).items()}

    for port in catalogue.supplies[layout].ports:
        if use in port.feeds:
            carried = Counter(pin.net for pin in port.pins)
            assert all(carried[net] >= n for net, n in need.items()), port.id


def test_layouts_with_the_same_main_sockets_carry_different_nets(catalogue):
    def main_ports(supply):
        return [port for port in supply.ports if "main" in port.feeds]

    twins = [
        (a, b)
        for a, b in combinations(catalogue.supplies.values(), 2)
        if [port.housing for port in main_ports(a)] == [port.housing for port in main_ports(b)]
    ]

    # One-24 with native-12-4; 14+10 twice; 18+10 three times: 1 + 1 + 3 pairs.
    assert len(twins) == 5
    for a, b in twins:
        assert [port.pins for port in main_ports(a)] != [port.pins for port in main_ports(b)]


def test_two_layouts_have_every_socket_alike_and_not_one_net_map_in_the_main(catalogue):
    a, b = catalogue.supplies["split-18-10"], catalogue.supplies["remote-sense"]

    assert [(port.id, port.housing) for port in a.ports] == [(port.id, port.housing) for port in b.ports]
    assert all(x.pins != y.pins for x, y in zip(a.ports, b.ports, strict=True) if "main" in x.feeds)


def test_no_shipped_layout_claims_to_be_metered(catalogue):
    assert [supply.id for supply in catalogue.supplies.values() if supply.own or supply.readings] == []


def test_every_cavity_of_a_port_has_its_line(catalogue):
    for supply in catalogue.supplies.values():
        for port in supply.ports:
            assert len(port.pins) == catalogue.housings[port.housing].positions, (supply.id, port.id)


@pytest.mark.parametrize("layout", ["split-18-10", "remote-sense"])
def test_a_large_layout_has_sockets_for_a_large_build(catalogue, layout):
    ports = catalogue.supplies[layout].ports
    uses = Counter(port.feeds[0] for port in ports)

    assert uses["cpu"] >= 2
    assert uses["graphics"] >= 7
    assert uses["drive"] >= 4


def test_every_thing_that_is_bought_has_a_pack(catalogue):
    moulded = {family.id for family in catalogue.families.values() if family.termination == "moulded"}
    things = {("wire", wire) for wire in catalogue.wires}
    things |= {("sleeve", sleeve) for sleeve in catalogue.sleeves}
    things |= {("shrink", shrink) for shrink in catalogue.shrinks}
    things |= {("comb", comb) for comb in catalogue.combs}
    things |= {("cap", cap) for cap in catalogue.caps}
    # A blade is part of its housing, and a moulded plug is part of its cable.
    things |= {("contact", contact.id) for contact in catalogue.contacts.values() if contact.gender != "blade"}
    things |= {("housing", housing.id) for housing in catalogue.housings.values() if housing.family not in moulded}

    assert things - {(pack.kind, pack.item) for pack in catalogue.packs} == set()


def test_every_housing_whose_wires_end_in_contacts_has_a_fitting_contact(catalogue):
    kinds = {(contact.family, contact.gender) for contact in catalogue.contacts.values()}

    homeless = [
        housing.id
        for housing in catalogue.housings.values()
        if housing.gender != "none" and (housing.family, housing.gender) not in kinds
    ]

    assert homeless == []


def test_every_contact_has_a_rating_for_the_wires_it_takes_that_are_sold(catalogue):
    rated = {(rating.family, rating.awg, rating.signal) for rating in catalogue.ratings}
    gauges = {wire.awg for wire in catalogue.wires.values()}

    unrated = [
        (contact.id, awg)
        for contact in catalogue.contacts.values()
        for awg in sorted(gauges)
        if contact.awg_thickest <= awg <= contact.awg_thinnest and (contact.family, awg, contact.signal) not in rated
    ]

    assert unrated == []


def test_every_contact_says_how_each_wire_it_takes_is_crimped(catalogue):
    sold = {wire.awg for wire in catalogue.wires.values()}
    known = {(crimp.contact, crimp.awg) for crimp in catalogue.crimps}

    missing = [
        (contact.id, awg)
        for contact in catalogue.contacts.values()
        for awg in sorted(sold)
        if contact.awg_thickest <= awg <= contact.awg_thinnest and (contact.id, awg) not in known
    ]

    assert missing == []


def test_the_stripped_end_of_a_wire_lies_inside_its_housing(catalogue):
    # A strip longer than the insertion depth would leave bare copper behind the housing.
    for crimp in catalogue.crimps:
        depth = catalogue.families[catalogue.contacts[crimp.contact].family].insertion_depth_mm
        assert crimp.strip_mm <= depth, crimp


def test_a_contact_that_takes_two_wires_says_how_its_largest_pair_is_crimped(catalogue):
    # Two wires are judged by the gauge of their common copper, at most the contact's thickest.
    known = {(crimp.contact, crimp.awg) for crimp in catalogue.crimps}
    doubles = [contact for contact in catalogue.contacts.values() if contact.wires_max > 1]

    assert [contact.id for contact in doubles if (contact.id, contact.awg_thickest) not in known] == []


def test_no_bend_of_a_shipped_shape_is_tighter_than_ten_diameters_for_a_ribbon_of_24(catalogue):
    # NASA-STD-8739.4: 10 x outside diameter. 12 columns and 2 rows of 4.2 mm: the outermost wire lies 5.5 x 4.2 =
    # 23.1 mm to the side and 2.1 mm up; 18 AWG plain is 2.1 mm thick. A twist turns the ribbon before later bends.
    sides, heights, wanted = (-23.1, 23.1), (-2.1, 2.1), 10 * 2.1
    for shape in catalogue.shapes.values():
        roll = 0.0
        for step in shape.steps:
            if step.kind == "twist":
                roll += radians(step.angle_deg)
            elif step.kind in ("left", "right"):
                inner = max(abs(x * cos(roll) + z * sin(roll)) for x in sides for z in heights)
                assert step.radius_mm - inner >= wanted - 1e-9, shape.id
            elif step.kind in ("up", "down"):
                inner = max(abs(z * cos(roll) - x * sin(roll)) for x in sides for z in heights)
                assert step.radius_mm - inner >= wanted - 1e-9, shape.id


def test_shipped_shapes_are_none_of_the_builders(catalogue):
    assert [shape.id for shape in catalogue.shapes.values() if shape.own] == []


def test_shipped_shapes_are_about_as_long_as_cables_in_a_case(catalogue):
    # common practice: from a short hop of 15 cm to a metre behind the tray.
    for shape in catalogue.shapes.values():
        middle = sum(step.length_mm + step.radius_mm * radians(step.angle_deg) for step in shape.steps)
        assert 150 <= middle <= 1000, shape.id


def test_ratings_of_a_family_cover_every_number_of_circuits_without_a_gap(catalogue):
    ranges: dict[tuple[str, int, bool], list[tuple[int, int]]] = {}
    for rating in catalogue.ratings:
        key = (rating.family, rating.awg, rating.signal)
        ranges.setdefault(key, []).append((rating.loaded_from, rating.loaded_to))

    for key, found in ranges.items():
        found.sort()
        assert found[0][0] == 1, key
        assert all(a[1] + 1 == b[0] for a, b in pairwise(found)), key


def test_mating_housings_name_each_other(catalogue):
    for housing in catalogue.housings.values():
        if housing.mates_with:
            other = catalogue.housings[housing.mates_with]
            assert (other.positions, other.half) == (housing.positions, "mate" if housing.half == "plug" else "plug")


def test_each_gauge_of_each_insulation_comes_in_a_colour(catalogue):
    for insulation in {wire.insulation for wire in catalogue.wires.values()}:
        assert any(insulation in colour.insulations for colour in catalogue.colours.values()), insulation


def test_sleeves_leave_no_diameter_uncovered(catalogue):
    spans = sorted((sleeve.least_mm, sleeve.greatest_mm) for sleeve in catalogue.sleeves.values())

    assert all(later[0] <= earlier[1] for earlier, later in pairwise(spans))


def test_the_small_sleeve_takes_every_wire_sold(catalogue):
    small = catalogue.sleeves["small"]

    assert [w.id for w in catalogue.wires.values() if not small.least_mm <= w.outside_mm <= small.greatest_mm] == []


def test_every_sleeve_can_open_to_its_greatest_diameter(catalogue):
    # Inextensible strands: sin a1 = (D1/D0) sin a0 must stay below 1 (the design's own formula).
    for sleeve in catalogue.sleeves.values():
        opened = sleeve.greatest_mm / sleeve.relaxed_mm * sin(radians(sleeve.braid_angle_deg))
        assert 0 < asin(opened) < radians(75), sleeve.id
