"""A bend so tight that the ribbon folds over itself. Expected values: by hand, beside the test."""

from dataclasses import replace

from server.domain.model.build import Route
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep
from server.domain.plan import plan
from tests.domain.test_plan import cpu


def test_a_wire_that_would_come_to_less_than_nothing_has_no_length_and_the_run_is_stopped(catalogue: Catalogue) -> None:
    build, own = cpu(catalogue, 550)
    # A processor plug has four columns: 1.5 x 4.2 = 6.3 mm; (1 - 6.3) x pi = -16.7 mm.
    steps = (RouteStep("leg", 1.0), RouteStep("left", 0.0, 180.0, 1.0))
    bare = replace(build.allowances, depth_mm={}, recrimp_mm=0.0, slack_mm=0.0, step_mm=1.0)
    families = {key: replace(family, insertion_depth_mm=0.0) for key, family in own.families.items()}
    run = replace(build.runs[0], route=Route(steps=steps))
    found = plan(replace(build, runs=(run,), allowances=bare), replace(own, families=families))
    sums = {wire.label: sum(term.mm for term in wire.terms) for wire in found.runs[0].wires}
    folded = {label for label, total in sums.items() if total <= 0}
    assert folded
    assert {wire.label for wire in found.runs[0].wires if wire.cut_mm is None} == folded
    assert any(finding.severity == "stop" and "folds" in finding.text for finding in found.findings)
