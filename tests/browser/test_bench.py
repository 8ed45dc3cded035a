"""The roll plan and the bench in a real browser: tap after tap, a phone, the dark, paper, without a script."""

import re

import pytest

PHONE = {"width": 390, "height": 800}


def number_of(page) -> int:
    """Last number of the ledger, as the forms of the page know it."""
    return int(page.locator("#ledger input[name=base]").first.input_value())


@pytest.fixture(scope="module")
def address(planner):
    return planner[0]


@pytest.fixture
def bench(page, planner) -> str:
    """Address of the small example, opened at its bench, with its wire bought."""
    state = planner[1]
    opened = state.desk.create_example("compact")
    for line in opened.plan.buys:
        if line.kind == "wire":
            state.bench.buy(opened.build_id, opened.revision, (line.kind, line.item, line.colour))
    page.goto(f"/builds/{opened.build_id}/ledger")
    return f"/builds/{opened.build_id}"


def cuts(page):
    return page.locator('.tick-button[value^="cut."]')


def test_quick_taps_on_three_wires_cut_three_wires(page, bench):
    from playwright.sync_api import expect

    before = number_of(page)
    page.evaluate("document.querySelectorAll('.tick-button[value^=\"cut.\"]').forEach((b, n) => n < 3 && b.click())")
    expect(page.locator("#ledger input[name=base]").first).to_have_value(str(before + 3))
    assert page.locator("#ledger .problem").count() == 0


def test_a_run_is_cut_crimped_and_taken_back_by_one_tap_each(page, bench):
    from playwright.sync_api import expect

    page.get_by_role("button", name=re.compile("^Cut all")).click()
    page.get_by_role("button", name=re.compile("^Crimp all")).click()
    expect(page.locator(".batch-written")).to_contain_text("crimped")
    page.locator(".batch-written button").click()
    expect(page.locator(".batch-written")).to_contain_text("undid")
    assert page.get_by_role("button", name=re.compile("^Crimp all")).count() == 1


def test_a_tap_keeps_the_run_that_is_open_and_the_place_on_the_page(page, bench):
    page.get_by_role("link", name=re.compile("^Run 2")).click()
    page.wait_for_url("**of=run*")
    heading = page.locator("#batch-h").inner_text()
    button = cuts(page).last
    button.scroll_into_view_if_needed()
    at = page.evaluate("window.scrollY")
    button.click()
    page.locator(".batch-written").wait_for()
    assert page.locator("#batch-h").inner_text() == heading
    assert abs(page.evaluate("window.scrollY") - at) < 120


def test_what_must_be_pressed_on_a_phone_is_large_and_nothing_is_wider_than_it(page, bench):
    page.set_viewport_size(PHONE)
    page.goto(page.url)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    boxes = [button.bounding_box() for button in page.locator("#ledger button:visible").all()]
    assert boxes
    assert min(box["height"] for box in boxes) >= 44


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("panel", ["ledger", "rolls"])
def test_axe_finds_nothing_on(page, bench, axe_finds, scheme, panel):
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{bench}/ledger")
    page.get_by_role("button", name=re.compile("^Cut all")).click()
    page.locator(".batch-written").wait_for()
    if panel == "rolls":
        page.goto(f"{bench}/rolls")
    page.locator(f"#{panel} details").evaluate_all("folds => folds.forEach(fold => { fold.open = true; })")
    assert axe_finds(page) == []


def test_the_roll_plan_is_not_wider_than_a_phone(page, bench):
    page.set_viewport_size(PHONE)
    page.goto(f"{bench}/rolls")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_printed_roll_plan_holds_every_label_and_no_button(page, bench):
    import pypdfium2

    plan = page.request.get(f"/api{bench}/plan").json()["plan"]
    page.goto(f"{bench}/rolls")
    document = pypdfium2.PdfDocument(page.pdf(format="A4"))
    text = " ".join(sheet.get_textpage().get_text_range() for sheet in document)
    wires = [p["label"] for s in plan["rolls"] if s["kind"] == "wire" for held in s["layouts"] for p in held["pieces"]]
    assert [label for label in wires if label not in text] == []
    assert "Save the settings" not in text


def test_a_wire_is_ticked_without_a_script(browser, address, page, bench):
    context = browser.new_context(base_url=address, java_script_enabled=False)
    plain = context.new_page()
    plain.goto(f"{bench}/ledger")
    before = number_of(plain)
    cuts(plain).first.click()
    assert f"Written as entry {before + 1}" in plain.locator("#status").inner_text()
    assert "cut " in plain.locator(".entry-words").first.inner_text()
    context.close()
