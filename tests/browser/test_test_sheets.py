"""Test sheets in a real browser, at a laptop and on a phone: a fault is marked, its cause is read, with and without a
script."""

import pytest

PHONE = {"width": 390, "height": 800}


@pytest.fixture
def build(page) -> str:
    """Address of the small example."""
    page.goto("/")
    page.locator('form[action="/examples/compact"] button').click()
    page.wait_for_url("**/builds/*/supply*")
    return page.url.split("/supply")[0]


def fails(page, build: str) -> None:
    """Two wires of the first fan are silent, and the one sounds at the other's cavity."""
    page.goto(f"{build}/runs/r6/test")
    page.select_option("[name='c:6-03']", "no")
    page.select_option("[name='c:6-02']", "no")
    page.select_option("[name='o:6-03']", "6-02")
    page.get_by_role("button", name="All reads as expected").click()
    page.locator("#test-result-h").wait_for()


def test_two_exchanged_wires_are_named_with_the_plug_to_look_at(page, build):
    fails(page, build)
    assert "6-03 and 6-02 are exchanged" in page.locator(".test-causes > li").first.inner_text()
    assert page.locator(".test-faces svg").count() >= 1
    assert "Run 6 has failed" in page.locator("#status").inner_text()


def test_on_a_phone_the_form_is_as_wide_as_the_screen_and_its_targets_are_large(page, build):
    page.set_viewport_size(PHONE)
    fails(page, build)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    heights = page.eval_on_selector_all(
        ".test-form select, .test-form button", "found => found.map(e => e.getBoundingClientRect().height)"
    )
    assert min(heights) >= 44


def test_without_a_script_a_failed_test_names_its_cause_too(browser, address, page, build):
    context = browser.new_context(base_url=address, java_script_enabled=False)
    plain = context.new_page()
    fails(plain, build)
    assert "6-03 and 6-02 are exchanged" in plain.locator(".test-causes").inner_text()
    context.close()


def test_the_sheet_has_no_trouble_for_people_who_cannot_see_it(page, build, axe_finds):
    fails(page, build)
    assert axe_finds(page) == []


def test_printed_the_panel_is_the_sheet_to_fill_in_with_a_pen(page, build):
    page.goto(f"{build}/runs/r6/test")
    page.emulate_media(media="print")
    assert page.locator(".tsheet").is_visible()
    assert not page.locator(".test-form").is_visible()
