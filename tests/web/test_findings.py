"""The findings panel: what is wrong, and under it one way out."""

from tests.web.conftest import Bench
from tests.web.reading import all_of, page, words


def test_every_finding_shows_its_way_out_under_its_text(bench: Bench) -> None:
    shown = [
        words(line) for line in all_of(page(bench.look("findings").text), "li") if "finding" in str(line.get("class"))
    ]
    told = bench.desk.open(bench.id).plan.findings
    assert told
    for finding in told:
        assert any(finding.text in line and line.index(finding.text) < line.index(finding.way_out) for line in shown)
