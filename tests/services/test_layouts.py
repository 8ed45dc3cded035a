"""What a builder can do with layouts of their own."""

from dataclasses import replace
from itertools import count

import pytest
from sqlalchemy import Engine

from server.documents.layout_json import read_layout
from server.domain.errors import ConflictError, InvalidInputError, NotFoundError
from server.domain.model.catalogue import Reading
from server.services.builds import BuildDesk
from server.services.layouts import LayoutDesk, NewPort, OpenedLayout, PortEntry
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
    return layouts.change(opened.layout.id, opened.latest, ports={"M1": PortEntry(nets={cavity: net})})


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
        layouts.change("one-24", 1, without="M1")


def test_a_layout_from_scratch_gets_its_first_port(layouts: LayoutDesk) -> None:
    made = layouts.start("From nothing")
    after = layouts.change(made.layout.id, 1, new=NewPort("Main", "p42-24-plug", ("main",)))
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
        layouts.change(own.layout.id, 1, without="P3")
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
    layouts.change(ident, 1, without="P3")
    layouts.change(ident, 2, new=NewPort("P", "p42-6-plug", ("drive",)))
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


# ---- a layout that comes from a file: its readings count only for the very supply that they were taken on ----------


def measured(layouts: LayoutDesk, own: OpenedLayout) -> str:
    """The document of a layout with one cavity metered."""
    layouts.record(own.layout.id, [Reading("M1", "1", 12.05, 0.0, False, "+12V")])
    return layouts.export_json(own.layout.id)


def test_readings_of_an_imported_layout_do_not_count(layouts: LayoutDesk, own: OpenedLayout) -> None:
    back = layouts.import_json(measured(layouts, own))
    assert (back.layout.readings, back.progress.metered) == ((), 0)


def test_readings_that_do_not_count_are_kept_and_told(layouts: LayoutDesk, own: OpenedLayout) -> None:
    back = layouts.import_json(measured(layouts, own))
    assert list(back.imported.values()) == [Reading("M1", "1", 12.05, 0.0, False, "+12V")]
    assert back.words == ("imported with 1 reading kept for comparison, not counted",)


@pytest.mark.parametrize("same_supply", [False, True])
def test_a_build_on_an_imported_layout_is_metered_only_for_the_very_same_supply(
    layouts: LayoutDesk, own: OpenedLayout, desk: BuildDesk, same_supply: bool
) -> None:
    # A 3-pin fan takes +12V and ground from the first peripheral port, where every cavity is measured.
    pins = next(port.pins for port in own.layout.ports if port.id == "P1")
    taken = [Reading("P1", p.cavity, None if p.net == "COM" else 12.05, None, p.net == "COM") for p in pins]
    layouts.record(own.layout.id, taken)
    back = layouts.import_json(layouts.export_json(own.layout.id), same_supply=same_supply)
    build = desk.create("Fan")
    desk.choose_supply(build.build_id, 1, back.layout.id)
    opened = desk.add_parts(build.build_id, 2, "fan-3", 1)
    stops = [finding.code for finding in opened.plan.findings if finding.severity == "stop"]
    assert ("not_metered" in stops) is not same_supply


def test_an_exported_layout_comes_back_with_its_readings_to_the_very_same_supply(
    layouts: LayoutDesk, own: OpenedLayout
) -> None:
    text = measured(layouts, own)
    back = layouts.import_json(text, same_supply=True).layout
    assert replace(back, id=own.layout.id) == read_layout(text)


def test_a_file_cannot_say_of_itself_that_it_is_of_this_supply(layouts: LayoutDesk, own: OpenedLayout) -> None:
    text = measured(layouts, own).replace('"layout": {', '"same_supply": true, "layout": {', 1)
    with pytest.raises(InvalidInputError):
        layouts.import_json(text)


def test_imported_readings_count_once_the_supply_is_said_to_be_the_same(layouts: LayoutDesk, own: OpenedLayout) -> None:
    ident = layouts.import_json(measured(layouts, own)).layout.id
    done = layouts.adopt_imported(ident, same_supply=True)
    opened = layouts.open(ident)
    assert (done.counted, opened.progress.metered, len(opened.imported)) == (1, 1, 0)


def test_imported_readings_do_not_count_without_that_word(layouts: LayoutDesk, own: OpenedLayout) -> None:
    ident = layouts.import_json(measured(layouts, own)).layout.id
    with pytest.raises(InvalidInputError, match="this very supply"):
        layouts.adopt_imported(ident, same_supply=False)
    assert len(layouts.open(ident).imported) == 1


def test_what_was_measured_here_stays_when_imported_readings_are_counted(
    layouts: LayoutDesk, own: OpenedLayout
) -> None:
    ident = layouts.import_json(measured(layouts, own)).layout.id
    layouts.record(ident, [Reading("M1", "1", 11.98)])
    assert layouts.adopt_imported(ident, same_supply=True).measured_here == 1
    assert layouts.open(ident).layout.readings == (Reading("M1", "1", 11.98),)


def test_imported_readings_can_be_dropped(layouts: LayoutDesk, own: OpenedLayout) -> None:
    ident = layouts.import_json(measured(layouts, own)).layout.id
    assert layouts.drop_imported(ident) == 1
    assert layouts.open(ident).imported == {}


def test_imported_readings_stay_over_a_restart(layouts: LayoutDesk, own: OpenedLayout, engine: Engine) -> None:
    ident = layouts.import_json(measured(layouts, own)).layout.id
    assert len(LayoutDesk(engine).open(ident).imported) == 1


def test_a_socket_of_another_housing_loses_its_imported_readings_and_the_version_says_so(
    layouts: LayoutDesk, own: OpenedLayout
) -> None:
    layouts.record(own.layout.id, [Reading("C1", "1", 12.05)])
    back = layouts.import_json(layouts.export_json(own.layout.id))
    other = replace(next(p for p in back.layout.ports if p.id == "C1"), housing="p42-8g-plug")
    opened = layouts.save(
        back.layout.id, 1, lambda now, _: replace(now, ports=tuple(other if p.id == "C1" else p for p in now.ports))
    )
    assert opened.imported == {}
    assert opened.words[-1] == f"readings of {other.label} cleared: it is another socket"


def test_an_imported_reading_that_cannot_be_one_is_refused_with_its_port_and_cavity(
    layouts: LayoutDesk, own: OpenedLayout
) -> None:
    text = measured(layouts, own).replace("12.05", "1205.0")
    with pytest.raises(InvalidInputError) as refused:
        layouts.import_json(text)
    assert refused.value.problems[0].message.startswith("Main, cavity 1, on: 1205 V")


def test_a_copy_says_that_readings_stay_with_the_supply_they_were_taken_from(
    layouts: LayoutDesk, own: OpenedLayout
) -> None:
    measured(layouts, own)
    assert "readings stay" in " ".join(layouts.copy(own.layout.id).words)


# ---- going back ----------------------------------------------------------------------------------------------------


def test_going_back_makes_the_earlier_version_the_newest(layouts: LayoutDesk, own: OpenedLayout) -> None:
    with_net(layouts, own, "12", "PWR_OK")
    back = layouts.go_back(own.layout.id, 2, 1)
    assert (back.latest, back.layout.ports) == (3, own.layout.ports)
    assert back.words == ("went back to version 1", "Main, cavity 12 not connected (was PWR_OK)")


def test_going_back_keeps_the_readings_of_a_port_that_comes_back(layouts: LayoutDesk, own: OpenedLayout) -> None:
    layouts.record(own.layout.id, [Reading("P3", "1", 12.05)])
    layouts.change(own.layout.id, 1, without="P3")
    assert layouts.go_back(own.layout.id, 2, 1).layout.readings == (Reading("P3", "1", 12.05),)


def test_going_back_from_a_stale_page_is_refused(layouts: LayoutDesk, own: OpenedLayout) -> None:
    with_net(layouts, own, "12", "PWR_OK")
    with pytest.raises(ConflictError):
        layouts.go_back(own.layout.id, 1, 1)


def test_several_ports_changed_at_once_are_one_version(layouts: LayoutDesk, own: OpenedLayout) -> None:
    entries = {"M1": PortEntry(nets={"12": "PWR_OK"}), "C1": PortEntry(label="Board")}
    opened = layouts.change(own.layout.id, 1, ports=entries, without="P3")
    assert opened.latest == 2
    assert opened.words == (
        "removed Peripheral 3",
        "Main, cavity 12 PWR_OK (was not connected)",
        "port 'CPU 1' is now 'Board'",
    )


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
