"""Drawings of a build as SVG files to save."""

import re
import xml.etree.ElementTree as ET

import pytest

from server.web.views.drawings import drawing_links, run_links

SVG = "{http://www.w3.org/2000/svg}svg"


def opened(bench):
    return bench.desk.open(bench.id)


def test_every_drawing_that_is_listed_is_a_well_formed_svg_file(bench):
    links = drawing_links(opened(bench))
    answers = [bench.client.get(link.href) for link in links]
    assert {answer.status_code for answer in answers} == {200}
    assert {answer.headers["content-type"] for answer in answers} == {"image/svg+xml; charset=utf-8"}
    assert {ET.fromstring(answer.content).tag for answer in answers} == {SVG}


def test_a_saved_drawing_is_named_after_the_build_and_the_run(bench):
    run = bench.run
    names = [
        re.search('filename="([^"]+)"', bench.client.get(f"/builds/{bench.id}/drawings/{path}.svg").headers[
            "content-disposition"]).group(1)
        for path in ("harness", f"{run}/ribbon", f"{run}/face-e0-mating")
    ]  # fmt: skip
    # By hand: the build of the scene is called Walnut desk case; its first run is number 1.
    assert names == [
        "walnut-desk-case-harness.svg",
        "walnut-desk-case-run-1-ribbon.svg",
        "walnut-desk-case-run-1-face-e0-mating.svg",
    ]


def test_every_plug_of_a_run_can_be_saved_from_both_sides(bench):
    run = opened(bench).plan.runs[0]
    faces = [link.href.rsplit("/", 1)[1] for link in run_links(opened(bench), run) if "/face-" in link.href]
    wanted = [f"face-s{i}-{v}.svg" for i in range(len(run.sources)) for v in ("wire", "mating")]
    wanted += [f"face-e{i}-{v}.svg" for i in range(len(run.ends)) for v in ("wire", "mating")]
    assert faces == wanted


@pytest.mark.parametrize("path", ["nothing", "rolls-0", "rolls-999", "r1/nothing", "r999/ribbon", "r1/face-e9-wire"])
def test_a_drawing_that_there_is_not_is_not_found(bench, path):
    assert bench.client.get(f"/builds/{bench.id}/drawings/{path}.svg").status_code == 404


def test_the_run_shows_both_sides_of_its_plugs_and_leads_to_its_card_and_its_drawings(bench):
    page = bench.look(f"runs/{bench.run}").text
    assert page.count("WIRE SIDE") == page.count("MATING SIDE") > 0
    assert f'href="/builds/{bench.id}/cards#card-1"' in page
    assert all(f'href="{link.href}"' in page for link in run_links(opened(bench), opened(bench).plan.runs[0]))


def test_every_run_of_the_sheet_leads_to_its_card_on_the_page_of_cards(bench):
    sheet = bench.look("routes").text
    numbers = [run.number for run in opened(bench).plan.runs]
    assert re.findall(r'/cards#card-(\d+)"', sheet) == [str(n) for n in numbers]
    cards = bench.look("cards").text
    assert all(f'id="card-{number}"' in cards for number in numbers)


def test_the_drawing_for_a_client_has_no_way_to_the_cards(bench):
    token = bench.desk.share(bench.id)
    page = bench.client.get(f"/share/{token}").text
    assert ("<svg" in page, "#card-" in page) == (True, False)
