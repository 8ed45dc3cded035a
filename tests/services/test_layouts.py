"""What a builder can do with layouts of their own."""

from dataclasses import replace
from itertools import count

import pytest
from sqlalchemy import Engine

from server.documents.layout_json import read_layout
from server.domain.errors import ConflictError, InvalidInputError, NotFoundError
from server.domain.model.catalogue import Reading
from server.services.builds import BuildDesk
from server.services.layouts import LayoutDesk, OpenedLayout
from server.services.supply_state import supply_state


@pytest.fixture
def layouts(engine: Engine) -> LayoutDesk:
    seconds = count()
    return LayoutDesk(engine, lambda: f"2025-01-02T00:{next(seconds):02d}:00+00:00")


@pytest.fixture
def own(layouts: LayoutDesk) -> OpenedLayout:
    """A copy of the sample with one 24-position main."""
    return layouts.copy("one-24", "Bench supply")


def with_net(layouts: LayoutDesk, opened: OpenedLayout, cavity: str, net: str) -> OpenedLayout:
    return layouts.change_port(opened.layout.id, opened.latest, "M1", nets={cavity: net})


def test_a_copied_sample_has_its_sockets_and_is_ones_own(layouts: LayoutDesk, own: OpenedLayout) -> None:
    sample = own.catalogue.supplies["one-24"]
    assert own.layout.ports == sample.ports
    assert (own.layout.own, own.layout.version, own.layout.name) == (True, 1, "Bench supply")


def test_the_list_holds_samples_first_and_then_ones_own(layouts: LayoutDesk, own: OpenedLayout) -> None:
    listed = layouts.list()
    assert [entry.layout.id for entry in listed if entry.layout.own] == [own.layout.id]
    assert listed[0].layout.id == "one-24"


def test_a_sample_cannot_be_changed(layouts: LayoutDesk) -> None:
    with pytest.raises(NotFoundError):
        layouts.remove_port("one-24", 1, "M1")


def test_a_layout_from_scratch_gets_its_first_port(layouts: LayoutDesk) -> None:
    made = layouts.start("From nothing")
    after = layouts.add_port(made.layout.id, 1, label="Main", housing="p42-24-plug", feeds=("main",))
    # A 24-position housing has 24 cavities, none of them recorded yet.
    assert [pin.net for pin in after.layout.ports[0].pins] == [""] * 24


def test_every_change_is_a_version_with_its_words(layouts: LayoutDesk, own: OpenedLayout) -> None:
    with_net(layouts, own, "12", "PWR_OK")
    newest = layouts.versions(own.layout.id)[0]
    assert (newest.number, newest.words) == (2, ("Main, cavity 12 PWR_OK (was not connected)",))


def test_a_change_that_changes_nothing_makes_no_version(layouts: LayoutDesk, own: OpenedLayout) -> None:
    assert with_net(layouts, own, "1", "+12V").latest == 1


def test_an_earlier_version_opens_as_it_was(layouts: LayoutDesk, own: OpenedLayout) -> None:
    with_net(layouts, own, "12", "PWR_OK")
    assert layouts.open(own.layout.id, 1).layout == own.layout


def test_a_stale_change_is_refused_with_what_changed(layouts: LayoutDesk, own: OpenedLayout) -> None:
    with_net(layouts, own, "12", "PWR_OK")
    with pytest.raises(ConflictError) as refused:
        layouts.remove_port(own.layout.id, 1, "P3")
    assert refused.value.changes == ("Main, cavity 12 PWR_OK (was not connected)",)


def test_a_layout_without_a_ground_is_not_saved(layouts: LayoutDesk, own: OpenedLayout) -> None:
    def without_ground(now, _):
        ports = (replace(p, pins=tuple(replace(q, net=q.net.replace("COM", "")) for q in p.pins)) for p in now.ports)
        return replace(now, ports=tuple(ports))

    with pytest.raises(InvalidInputError, match="ground"):
        layouts.save(own.layout.id, 1, without_ground)
    assert layouts.open(own.layout.id).latest == 1


def test_two_builds_keep_the_versions_they_were_planned_with(
    layouts: LayoutDesk, own: OpenedLayout, desk: BuildDesk
) -> None:
    old = desk.create("Old")
    desk.choose_supply(old.build_id, 1, own.layout.id)
    with_net(layouts, own, "12", "PWR_OK")
    new = desk.create("New")
    desk.choose_supply(new.build_id, 1, own.layout.id)
    first, second = supply_state(desk.open(old.build_id)), supply_state(desk.open(new.build_id))
    assert first is not None
    assert second is not None
    assert (first.layout.version, first.newest) == (1, 2)
    assert first.changes == ("Main, cavity 12 PWR_OK (was not connected)",)
    assert (second.layout.version, second.changes) == (2, ())


def test_a_build_takes_the_newest_version_when_it_is_told_to(
    layouts: LayoutDesk, own: OpenedLayout, desk: BuildDesk
) -> None:
    build = desk.create("Old")
    desk.choose_supply(build.build_id, 1, own.layout.id)
    with_net(layouts, own, "12", "PWR_OK")
    taken = desk.choose_supply(build.build_id, 2, own.layout.id)
    assert taken.build.supply_version == 2


def test_a_build_keeps_working_when_its_layout_is_put_away(
    layouts: LayoutDesk, own: OpenedLayout, desk: BuildDesk
) -> None:
    build = desk.create("Old")
    desk.choose_supply(build.build_id, 1, own.layout.id)
    layouts.delete(own.layout.id)
    after = desk.add_parts(build.build_id, 2, "board-small", 1)
    assert after.plan.runs[0].sources[0].socket == "Main"


def test_a_layout_put_away_comes_back_with_its_readings(layouts: LayoutDesk, own: OpenedLayout) -> None:
    layouts.record(own.layout.id, [Reading("M1", "1", 12.05)])
    layouts.delete(own.layout.id)
    assert layouts.restore(own.layout.id).layout.readings == (Reading("M1", "1", 12.05),)


def test_readings_meter_the_cavities_they_bear_out(layouts: LayoutDesk, own: OpenedLayout) -> None:
    layouts.record(own.layout.id, [Reading("M1", "1", 12.05), Reading("M1", "5", to_ground=True)])
    opened = layouts.open(own.layout.id)
    assert opened.progress.metered == 2


def test_a_reading_that_says_the_same_adds_no_entry(layouts: LayoutDesk, own: OpenedLayout) -> None:
    layouts.record(own.layout.id, [Reading("M1", "1", 12.05)])
    assert layouts.record(own.layout.id, [Reading("M1", "1", 12.05), Reading("M1", "2")]) == 0


def test_a_reading_that_cannot_be_one_writes_nothing(layouts: LayoutDesk, own: OpenedLayout) -> None:
    with pytest.raises(InvalidInputError) as refused:
        layouts.record(own.layout.id, [Reading("M1", "1", 12.05), Reading("M1", "2", 1200.0)])
    assert [problem.field for problem in refused.value.problems] == ["readings.M1.2.on"]
    assert layouts.open(own.layout.id).layout.readings == ()


def test_readings_of_one_port_are_cleared_alone(layouts: LayoutDesk, own: OpenedLayout) -> None:
    layouts.record(own.layout.id, [Reading("M1", "1", 12.05), Reading("C1", "1", 12.03)])
    assert layouts.clear(own.layout.id, "M1") == 1
    assert layouts.open(own.layout.id).layout.readings == (Reading("C1", "1", 12.03),)


def test_a_new_port_never_inherits_the_readings_of_a_removed_one(layouts: LayoutDesk, own: OpenedLayout) -> None:
    ident = own.layout.id
    layouts.record(ident, [Reading("P3", "1", 12.05)])
    layouts.remove_port(ident, 1, "P3")
    layouts.add_port(ident, 2, label="P", housing="p42-6-plug", feeds=("drive",))
    again = replace(own.layout.ports[-1], id="P3", label="P again")
    opened = layouts.save(ident, 3, lambda now, _: replace(now, ports=(*now.ports, again)))
    assert opened.layout.readings == ()


def test_a_socket_of_another_housing_loses_its_readings(layouts: LayoutDesk, own: OpenedLayout) -> None:
    layouts.record(own.layout.id, [Reading("C1", "1", 12.05)])
    other = next(p for p in own.layout.ports if p.id == "C1")
    changed = replace(other, housing="p42-8g-plug")
    opened = layouts.save(
        own.layout.id,
        1,
        lambda now, _: replace(now, ports=tuple(changed if p.id == "C1" else p for p in now.ports)),
    )
    assert opened.layout.readings == ()


def test_a_copy_of_ones_own_layout_has_to_be_metered_anew(layouts: LayoutDesk, own: OpenedLayout) -> None:
    layouts.record(own.layout.id, [Reading("M1", "1", 12.05)])
    assert layouts.copy(own.layout.id).layout.readings == ()


def test_an_exported_layout_comes_back_with_its_readings(layouts: LayoutDesk, own: OpenedLayout) -> None:
    layouts.record(own.layout.id, [Reading("M1", "1", 12.05, 0.0, False, "+12V")])
    text = layouts.export_json(own.layout.id)
    back = layouts.import_json(text).layout
    assert replace(back, id=own.layout.id) == read_layout(text)


def test_a_document_saved_over_a_layout_is_its_next_version(layouts: LayoutDesk, own: OpenedLayout) -> None:
    text = layouts.export_json(own.layout.id).replace('"Bench supply"', '"Bench supply 2"')
    opened = layouts.put_document(own.layout.id, 1, text)
    assert (opened.latest, opened.layout.name, opened.layout.id) == (2, "Bench supply 2", own.layout.id)


def test_the_cavities_that_a_build_uses_are_counted(layouts: LayoutDesk, own: OpenedLayout, desk: BuildDesk) -> None:
    build = desk.create("Board")
    desk.choose_supply(build.build_id, 1, own.layout.id)
    desk.add_parts(build.build_id, 2, "fan-3", 1)
    before = supply_state(desk.open(build.build_id))
    assert before is not None
    # A fan takes +12V and ground; its tach line goes to no supply.
    assert before.used.metered == 0
    layouts.record(own.layout.id, [Reading("P1", str(n), 12.05) for n in range(1, 7)])
    after = supply_state(desk.open(build.build_id))
    assert after is not None
    assert after.used.cavities == before.used.cavities
    assert after.used.metered >= 1
