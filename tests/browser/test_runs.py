"""One run in a real browser: follow a wire, pin one and clear it, build it another way; small, dark and on paper."""

import re

import pytest


def saved_as(page, number: int) -> None:
    from playwright.sync_api import expect

    # Not by a script: the page's content security policy refuses evaluated text, as it should.
    expect(page.locator("#status")).to_contain_text(f"revision {number}")


def plan_of(page, build: str) -> dict:
    return page.request.get(f"/api{build}/plan").json()["plan"]


@pytest.fixture
def run(page, example) -> str:
    """Address of a processor cable of the small example, opened."""
    build = example("compact")
    wanted = next(run for run in plan_of(page, build)["runs"] if run["use"] == "cpu")
    page.goto(f"{build}/runs/{wanted['id']}")
    return wanted["id"]


def open_everything(page) -> None:
    for summary in page.locator("#run details > summary").all():
        summary.click()


def build_of(page) -> str:
    return re.search(r"/builds/\w+", page.url).group()


def test_a_wire_can_be_pinned_its_cost_seen_and_the_pin_cleared(page, run):
    page.locator("#run-pins summary").click()
    field = page.locator(f'select[name="runs.{run}.pins.8"]')
    values = field.locator("option").evaluate_all("options => options.map(option => option.value)")
    # Cavity 8 lies at the ribbon's edge and 2 does not: whichever way the latch lies, some wire of the same column as 8
    # or beyond 2 is crossed.
    other = next(value for value in values if value.endswith("/2"))
    field.select_option(other)
    page.get_by_role("button", name="Save the pins").click()
    saved_as(page, 2)
    fed = next(w for w in run_plan(page, run)["wires"] if w["target"]["cavity"] == "8")
    assert fed["source"]["cavity"] == other.rpartition("/")[2]
    assert re.search(r"pinned, [1-9]\d* crossings? more, 0 doubles more", page.locator(".row-pinned").inner_text())
    assert page.locator('.crossing [data-mark="pin"]').count() == 1
    page.get_by_role("button", name="Clear all pins").click()
    saved_as(page, 3)
    assert page.locator(".row-pinned").count() == 0
    assert page.locator('.crossing [data-mark="pin"]').count() == 0


def run_plan(page, run_id: str) -> dict:
    return next(run for run in plan_of(page, build_of(page))["runs"] if run["id"] == run_id)


def test_a_run_is_built_another_way_and_back(page, run):
    page.locator(f'input[name="runs.{run}.method"][value="rework"]').check()
    page.fill(f'input[name="runs.{run}.own_cable"]', "15 in")
    page.get_by_role("button", name="Build it this way").click()
    saved_as(page, 2)
    assert run_plan(page, run)["method"] == "rework"
    page.locator(f'input[name="runs.{run}.method"][value="scratch"]').check()
    page.get_by_role("button", name="Build it this way").click()
    saved_as(page, 3)
    assert run_plan(page, run)["method"] == "scratch"


def opacities(page) -> list[float]:
    ways = page.locator(".diagram").last.locator("g.way")
    return ways.evaluate_all("ways => ways.map(way => Number(getComputedStyle(way).opacity))")


def test_a_wire_that_is_tabbed_to_stands_out_from_all_others(page, run):
    # A diagram of eight wires at rest, and with its first wire focused: that one stays, seven fade.
    assert opacities(page) == [1.0] * 8
    page.locator(".diagram").last.locator("g.way").first.focus()
    seen = opacities(page)
    assert (seen[0], all(value < 0.5 for value in seen[1:])) == (1.0, True)


def test_a_wire_that_is_pointed_at_stands_out_from_all_others(page, run):
    way = page.locator(".diagram").last.locator("g.way").nth(2)
    way.locator("text").first.hover()
    seen = opacities(page)
    assert (seen[2], sorted(value < 0.5 for value in seen)) == (1.0, [False] + [True] * 7)


def test_the_diagrams_can_be_skipped_by_keyboard(page, run):
    page.locator(".skip-past").focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "run-wiring-words"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_a_run_with_everything_open(page, run, scheme, axe_finds):
    page.emulate_media(color_scheme=scheme)
    page.goto(page.url)
    open_everything(page)
    assert axe_finds(page) == []


def test_axe_finds_nothing_where_contacts_are_shared(page, example, axe_finds):
    build = example("large")
    shared = next(run for run in plan_of(page, build)["runs"] if run["offers"])
    page.goto(f"{build}/runs/{shared['id']}")
    assert page.locator(".offer").count() == len(shared["offers"])
    assert axe_finds(page) == []


def test_a_run_with_everything_open_is_not_wider_than_a_phone(page, run):
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(page.url)
    open_everything(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_pins_work_without_a_script(browser, address):
    context = browser.new_context(base_url=address, java_script_enabled=False)
    page = context.new_page()
    page.goto("/")
    page.locator('form[action="/examples/compact"] button').click()
    build = build_of(page)
    run_id = next(run for run in plan_of(page, build)["runs"] if run["use"] == "cpu")["id"]
    page.goto(f"{build}/runs/{run_id}")
    page.locator("#run-pins summary").click()
    page.locator(f'select[name="runs.{run_id}.pins.8"]').select_option(index=1)
    page.get_by_role("button", name="Save the pins").click()
    assert "revision 2" in page.locator("#status").inner_text()
    assert page.locator(".row-pinned").count() == 1
    context.close()
