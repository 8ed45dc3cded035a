"""The harness in a real browser: closer, farther, the whole, by button, wheel, key, drag and two fingers."""

import re

import pytest

SHEET = "#sheet svg.drawing"


@pytest.fixture
def routes(page, example) -> str:
    build = example("compact")
    page.goto(f"{build}/routes")
    return build


def wide(page) -> float:
    return page.locator(SHEET).bounding_box()["width"]


def percent(page) -> int:
    return int(re.search(r"\d+", page.locator(".zoom output").inner_text()).group())


def wider_than(page, before: float) -> None:
    from playwright.sync_api import expect

    expect(page.locator(".zoom output")).not_to_have_text(f"{round(before)} %")


def test_the_buttons_bring_the_drawing_closer_and_take_it_back(page, routes):
    before = wide(page)
    page.get_by_role("button", name="closer").click()
    closer = wide(page)
    page.get_by_role("button", name="farther").click()
    # Property: one step closer is a quarter more, and one step back undoes it.
    assert closer == pytest.approx(before * 1.25, rel=0.01)
    assert wide(page) == pytest.approx(before, rel=0.01)


def test_the_whole_drawing_fits_into_its_frame(page, routes):
    page.get_by_role("button", name="closer").click()
    page.get_by_role("button", name="whole").click()
    frame, drawing = page.locator("#sheet").bounding_box(), page.locator(SHEET).bounding_box()
    assert drawing["width"] <= frame["width"]
    assert drawing["height"] <= frame["height"]
    assert drawing["y"] >= frame["y"] - 1


def test_the_keys_zoom_while_the_drawing_has_the_focus(page, routes):
    before = wide(page)
    page.locator("#sheet").focus()
    page.keyboard.press("+")
    closer = wide(page)
    page.keyboard.press("-")
    page.keyboard.press("0")
    frame = page.locator("#sheet").bounding_box()
    assert closer > before
    assert page.locator(SHEET).bounding_box()["height"] <= frame["height"]


def test_the_arrows_move_the_drawing(page, routes):
    from playwright.sync_api import expect

    page.emulate_media(reduced_motion="reduce")
    for _ in range(4):
        page.get_by_role("button", name="closer").click()
    page.locator("#sheet").focus()
    before = page.locator(SHEET).bounding_box()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#sheet")).to_be_focused()
    after = page.locator(SHEET).bounding_box()
    assert (after["x"] < before["x"], after["y"] < before["y"]) == (True, True)


def test_the_wheel_zooms_only_with_the_control_key_and_around_the_pointer(page, routes):
    box = page.locator("#sheet").bounding_box()
    balloon = page.locator(f"{SHEET} .balloon").first
    at = balloon.bounding_box()
    page.mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
    before = percent(page)
    page.mouse.wheel(0, 10)
    assert percent(page) == before
    page.keyboard.down("Control")
    page.mouse.wheel(0, -120)
    page.keyboard.up("Control")
    wider_than(page, before)
    now = balloon.bounding_box()
    assert percent(page) > before
    # The drawing cannot be scrolled beyond its own upper edge, so that the point may move a little there.
    assert now["x"] + now["width"] / 2 == pytest.approx(at["x"] + at["width"] / 2, abs=6)
    assert box["y"] <= now["y"] <= box["y"] + box["height"]


def test_dragging_moves_the_drawing_and_opens_no_run(page, routes):
    for _ in range(4):
        page.get_by_role("button", name="closer").click()
    frame = page.locator("#sheet").bounding_box()
    before = page.locator(SHEET).bounding_box()
    middle = (frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2)
    page.mouse.move(*middle)
    page.mouse.down()
    page.mouse.move(middle[0] - 90, middle[1] - 40, steps=4)
    page.mouse.up()
    after = page.locator(SHEET).bounding_box()
    assert (after["x"] - before["x"], after["y"] - before["y"]) == pytest.approx((-90, -40), abs=2)
    assert page.url.endswith("/routes")


def test_the_scale_stays_when_a_run_is_opened(page, routes):
    from playwright.sync_api import expect

    page.get_by_role("button", name="closer").click()
    before = wide(page)
    page.locator("#sheet a.run .balloon").first.click()
    expect(page.locator("#run")).to_be_visible()
    expect(page.locator("#sheet a.selected").first).to_be_visible()
    assert wide(page) == pytest.approx(before, rel=0.01)


def test_the_length_of_a_run_leads_to_its_card(page, routes):
    from playwright.sync_api import expect

    page.locator('#sheet a.card-link[data-card="2"] text').click()
    page.wait_for_url("**/cards#card-2")
    expect(page.locator("#card-2")).to_be_in_viewport()


def test_every_run_and_every_card_is_reached_by_the_keyboard(page, routes):
    runs = page.locator("#sheet a.run").count()
    assert page.locator("#sheet a.card-link").count() == runs > 0
    page.locator("#sheet a.card-link").first.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/cards#card-*")


def test_a_taller_sheet_shows_more_of_the_drawing(page, routes):
    from playwright.sync_api import expect

    low = page.locator("#sheet").bounding_box()["height"]
    taller = page.get_by_role("button", name="taller")
    taller.click()
    expect(taller).to_have_attribute("aria-pressed", "true")
    assert page.locator("#sheet").bounding_box()["height"] >= low


def test_on_a_phone_the_buttons_are_44_px_high_and_two_fingers_zoom(browser, address, page, routes):
    held = browser.new_context(base_url=address, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    phone = held.new_page()
    phone.goto(f"{routes}/routes")
    for button in phone.locator(".zoom button").all():
        size = button.bounding_box()
        assert min(size["width"], size["height"]) >= 44
    before = percent(phone)
    session = held.new_cdp_session(phone)
    frame = phone.locator("#sheet").bounding_box()
    middle = (frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2)
    for kind, apart in (("touchStart", 30), ("touchMove", 60), ("touchMove", 90)):
        points = [{"x": middle[0] - apart, "y": middle[1]}, {"x": middle[0] + apart, "y": middle[1]}]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    wider_than(phone, before)
    # By hand: the fingers end three times as far apart as they began.
    assert percent(phone) == pytest.approx(3 * before, rel=0.05)
    held.close()


def test_without_a_script_the_drawing_scrolls_and_there_are_no_buttons(browser, address, page, routes):
    held = browser.new_context(base_url=address, java_script_enabled=False, viewport={"width": 1366, "height": 900})
    plain = held.new_page()
    plain.goto(f"{routes}/routes")
    assert plain.locator(".zoom").count() == 0
    assert plain.locator("#sheet a.card-link").count() > 0
    held.close()
