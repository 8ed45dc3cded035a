"""The panel of papers: started, followed, stopped and fetched, with and without the page's script."""

import time
from collections.abc import Callable, Iterator

import pytest

from server.documents import pdf
from server.services.papers import PaperDesk
from tests.web import paper_reading
from tests.web.conftest import PANEL, Bench
from tests.web.reading import all_of, beside, by_id, fragments, page, words


@pytest.fixture
def desk(bench: Bench) -> Iterator[PaperDesk]:
    """The papers of this application; nothing is left being set."""
    held: PaperDesk = bench.client.app.state.papers  # type: ignore[attr-defined]
    yield held
    for job in held.jobs(bench.id):
        held.stop(bench.id, job.id)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Papers that are made at once, where what is in them is no matter; others start a process and set pages."""

    def made(work: object, *handed: object) -> Callable[[Callable[[int, str], None]], bytes]:
        return lambda tell: b"%PDF"

    monkeypatch.setattr("server.web.routes.papers.apart", made)


def over(bench: Bench, desk: PaperDesk):
    """The newest job once nothing more comes of it."""
    for _ in range(3000):
        job = desk.jobs(bench.id)[0]
        if job.over:
            return job
        time.sleep(0.02)
    raise AssertionError(f"still {job}")


def test_the_rail_leads_to_the_panel_which_offers_every_paper_on_a4_first(bench: Bench) -> None:
    tree = page(bench.look("papers").text)
    assert "Papers as PDF" in words(by_id(tree, "rail-papers"))
    paper = by_id(tree, "f-paper")
    assert [option.get("value") for option in all_of(paper, "option")] == ["A4", "A5", "Letter"]
    ticks = [e for e in all_of(tree, "input") if e.get("name") == "parts"]
    assert [e.get("value") for e in ticks] == ["harness", "cuts", "rolls", "buys", "tools", "cards", "tests"]
    assert all(e.get("checked") is not None for e in ticks)
    assert "revision" in words(by_id(tree, "papers"))


def test_what_is_ticked_is_set_at_the_revision_asked_and_can_be_saved(bench: Bench, desk: PaperDesk) -> None:
    asked = bench.revision
    sent = bench.send("papers", paper="Letter", parts=["tools"])
    assert sent.status_code == 303
    bench.desk.rename(bench.id, bench.revision, "Renamed meanwhile", "", "")
    job = over(bench, desk)
    assert (job.state, job.revision) == ("done", asked)
    shown = page(bench.client.get(sent.headers["location"]).text)
    (link,) = [
        a for a in all_of(shown, "a") if (a.get("href") or "").endswith(".pdf") and "/jobs/" in a.get("href", "")
    ]
    got = bench.client.get(link.get("href") or "")
    assert got.headers["content-type"] == "application/pdf"
    assert f'filename="papers-letter-{bench.id}-r{asked}.pdf"' in got.headers["content-disposition"]
    held = paper_reading.opened(got.content)
    # Published: ANSI/ASME Y14.1, size A, 8.5 by 11 inches.
    assert {paper_reading.size_mm(sheet) for sheet in held} == {(215.9, 279.4)}
    assert "Walnut desk case" in paper_reading.text(held[0])
    assert "Renamed meanwhile" not in paper_reading.text(held[0])


def test_nothing_ticked_is_told_beside_the_list_and_an_unknown_paper_beside_its_own(bench: Bench) -> None:
    tree = page(bench.send("papers", paper="A0", shown="parts", swap=False).text)
    assert "Tick at least one" in words(by_id(tree, "f-parts"))
    assert "Pick one of the list" in beside(tree, "paper")


def test_a_second_set_waits_until_the_first_is_over_or_stopped(bench: Bench, desk: PaperDesk) -> None:
    bench.send("papers", paper="A4", parts=["tools", "buys", "cuts", "tests"])
    refused = bench.send("papers", paper="A4", parts=["tools"])
    assert refused.status_code == 422
    assert "being set" in words(by_id(page(refused.text), "f-parts"))
    job = desk.jobs(bench.id)[0]
    stopped = bench.client.post(f"/builds/{bench.id}/papers/jobs/{job.id}/stop", data={})
    assert stopped.status_code == 303
    assert over(bench, desk).state == "stopped"
    assert bench.client.get(f"/builds/{bench.id}/papers/jobs/{job.id}.pdf").status_code == 404
    assert bench.send("papers", paper="A4", parts=["tools"]).status_code == 303


def test_the_script_gets_the_bar_alone_while_it_works_and_all_of_it_once_it_is_over(
    bench: Bench, desk: PaperDesk
) -> None:
    sent = bench.send("papers", swap=True, paper="A4", parts=["tools"])
    job = desk.jobs(bench.id)[0]
    href = f"/builds/{bench.id}/papers/jobs/{job.id}"
    live = [e for top in fragments(sent.text) for e in top.iter() if e.get("hx-trigger") == "every 700ms"]
    assert [e.get("hx-get") for e in live] == [href]
    moved = bench.client.get(href, headers=PANEL)
    if not desk.look(bench.id, job.id).over:
        assert [e.tag for e in fragments(moved.text)] == ["progress", "p"]
        assert "HX-Retarget" not in moved.headers
    over(bench, desk)
    last = bench.client.get(href, headers=PANEL)
    assert (last.headers["HX-Retarget"], last.headers["HX-Reswap"]) == (f"#job-{job.id}", "outerHTML")
    assert "every 700ms" not in last.text
    assert f"{href}.pdf" in last.text


@pytest.mark.usefixtures("quick")
def test_without_a_script_the_page_has_a_link_to_look_again(bench: Bench, desk: PaperDesk) -> None:
    sent = bench.send("papers", paper="A4", parts=["tools", "buys", "cuts"])
    text = bench.client.get(sent.headers["location"]).text
    assert over(bench, desk).state == "done"
    assert sent.headers["location"].startswith(f"/builds/{bench.id}/papers/jobs/")
    assert "Look again" in text or "Save the PDF" in text


def test_papers_that_are_gone_are_told_to_the_script_and_asked_for_no_more(bench: Bench) -> None:
    gone = bench.client.get(f"/builds/{bench.id}/papers/jobs/0123", headers=PANEL)
    assert "Set them again" in gone.text
    assert gone.headers["HX-Retarget"] == "#job-0123"
    assert bench.client.get(f"/builds/{bench.id}/papers/jobs/0123").status_code == 404


@pytest.mark.parametrize("odd", ["%C5%82", "0%0D%0ASet-Cookie:%20a=b", "a%20b", "0,body"])
def test_an_id_that_no_job_has_never_gets_into_a_header(bench: Bench, odd: str) -> None:
    answer = bench.client.get(f"/builds/{bench.id}/papers/jobs/{odd}", headers=PANEL)
    assert answer.status_code == 404
    assert not {"HX-Retarget", "Set-Cookie"} & set(answer.headers)


@pytest.mark.usefixtures("quick")
def test_papers_of_one_build_cannot_be_had_through_another(bench: Bench, desk: PaperDesk) -> None:
    bench.send("papers", paper="A4", parts=["tools"])
    job = over(bench, desk)
    other = bench.desk.create("Another").build_id
    assert bench.client.get(f"/builds/{other}/papers/jobs/{job.id}.pdf").status_code == 404


def refusing(tell: object, *handed: object) -> bytes:
    """What the process does where a library is missing."""
    raise pdf.PapersError(pdf.MISSING.format(what="the library Pango"))


def test_a_missing_pango_is_told_on_the_panel_with_what_to_install(
    bench: Bench, desk: PaperDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def missing(name: str) -> object:
        raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(pdf, "import_module", missing)
    monkeypatch.setattr("server.web.routes.papers.bound", refusing)
    bench.send("papers", paper="A4", parts=["tools"])
    assert over(bench, desk).state == "failed"
    assert "Pango is missing" in words(by_id(page(bench.look("papers").text), "papers"))
    alone = bench.client.get(f"/builds/{bench.id}/runs/{bench.run}/papers.pdf")
    assert alone.status_code == 422
    assert "Pango is missing" in alone.text


def test_the_papers_of_one_run_come_at_once_on_the_paper_asked_for(bench: Bench) -> None:
    links = [
        a.get("href") for a in all_of(page(bench.look("papers").text), "a") if "papers.pdf" in (a.get("href") or "")
    ]
    assert f"/builds/{bench.id}/runs/{bench.run}/papers.pdf?paper=A5" in links
    got = bench.client.get(f"/builds/{bench.id}/runs/{bench.run}/papers.pdf?paper=A4")
    held = paper_reading.opened(got.content)
    # Published: ISO 216.
    assert {tuple(sorted(paper_reading.size_mm(sheet))) for sheet in held} == {(210.0, 297.0)}
    assert bench.client.get(f"/builds/{bench.id}/runs/{bench.run}/papers.pdf?paper=A0").status_code == 404
    assert bench.client.get(f"/builds/{bench.id}/runs/none/papers.pdf").status_code == 404
