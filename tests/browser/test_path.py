"""The editor of legs and bends in a real browser: drawn as it is typed, by keyboard, without a script, on a phone."""

import re

import pytest


@pytest.fixture
def path(page, example) -> str:
    """Address of the path of the small example's broadest run that has no legs and bends yet, opened."""
    build = example("compact")
    runs = page.request.get(f"/api{build}/plan").json()["plan"]["runs"]
    run = max((run for run in runs if not run.get("steps")), key=lambda run: len(run["wires"]))["id"]
    page.goto(f"{build}/runs/{run}/path")
    return f"{build}/runs/{run}/path"


def cell(page, row: int, part: str):
    return page.locator(f'#path [name$=".steps.{row}.{part}"]')


def write_corner(page) -> None:
    cell(page, 0, "length").fill("220")
    cell(page, 1, "kind").select_option("right")
    cell(page, 1, "angle").fill("90")
    cell(page, 2, "length").fill("310")


def test_the_ribbon_is_drawn_while_it_is_typed_and_the_focus_stays(page, path):
    from playwright.sync_api import expect

    write_corner(page)
    cell(page, 1, "radius").fill("60")
    # 220, 310 and a quarter turn of radius 60.
    expect(page.locator("#path-live .facts")).to_contain_text("624.2 mm")
    expect(page.locator("#path-live svg.route-shape")).to_be_visible()
    assert cell(page, 1, "radius").evaluate("field => field === document.activeElement")
    assert page.locator("#status").inner_text() == ""


def test_a_bad_entry_elsewhere_does_not_take_the_focus_while_it_is_mended(page, path):
    from playwright.sync_api import expect

    write_corner(page)
    cell(page, 0, "length").fill("abc")
    cell(page, 2, "length").fill("xyz")
    page.get_by_role("button", name="Save the path", exact=True).click()
    expect(page.locator("#status")).to_contain_text("Not saved")
    # A refused answer is a failed request in the browser's eyes; the page itself has no fault.
    page.faults.clear()
    cell(page, 2, "length").fill("310")
    expect(page.locator("#path-live")).not_to_contain_text("Row 3")
    assert cell(page, 2, "length").evaluate("field => field === document.activeElement")


def test_rows_are_added_and_moved_by_keyboard_with_the_focus_on_the_row(page, path):
    from playwright.sync_api import expect

    write_corner(page)
    page.get_by_role("button", name="Add a row").focus()
    page.keyboard.press("Enter")
    expect(cell(page, 3, "kind")).to_be_focused()
    page.get_by_role("button", name="move up step 3").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="move up step 2")).to_be_focused()
    expect(cell(page, 1, "length")).to_have_value("310")
    expect(page.locator(".path-draft")).to_be_visible()


def test_rows_that_are_not_saved_are_asked_about_before_they_are_left(page, path):
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.get_by_role("button", name="Add a row").click()
    page.locator(".path-draft").wait_for()
    page.get_by_role("link", name="All routes").click()
    assert len(asked) == 1
    assert page.url.endswith(path)


def test_the_editor_works_without_a_script(browser, address, page, path):
    context = browser.new_context(base_url=address, java_script_enabled=False)
    plain = context.new_page()
    plain.goto(path)
    write_corner(plain)
    plain.get_by_role("button", name="Draw", exact=True).click()
    assert plain.locator("#path-live svg.route-shape").count() == 1
    plain.get_by_role("button", name="Add a row").click()
    assert cell(plain, 0, "length").input_value() == "220"
    plain.get_by_role("button", name="Save the path", exact=True).click()
    assert "saved=2" in plain.url
    assert re.search(r"Step 2: radius \d+ mm taken", plain.locator("#status").inner_text())
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_on_a_phone_nothing_runs_off_the_side_and_every_button_can_be_hit(page, path, scheme):
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": 390, "height": 844})
    page.locator('select[name="start"]').select_option("main-behind-tray")
    page.get_by_role("button", name="Start from it").click()
    page.locator(".path-draft").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    boxes = [button.bounding_box() for button in page.locator("#path .path-act").all()]
    assert all(box["width"] >= 36 and box["height"] >= 44 for box in boxes)
    drawing, table = page.locator(".path-picture").bounding_box(), page.locator(".path-rows").bounding_box()
    assert drawing["y"] < table["y"]
