"""Papers in a real browser: started, followed by themselves, stopped, saved, and all of it without a script."""

import pypdfium2


def tick(page, *wanted: str) -> None:
    """Only these papers."""
    for box in page.locator("input[name='parts']").all():
        box.set_checked(box.get_attribute("value") in wanted)


def test_papers_are_started_followed_by_themselves_and_saved(page, example, tmp_path):
    build = example("compact")
    page.goto(f"{build}/papers")
    tick(page, "tools", "cuts", "buys", "tests")
    page.select_option("[name=paper]", "A5")
    page.get_by_role("button", name="Set the papers").click()
    bar = page.locator(".papers-job progress")
    bar.wait_for()
    # By hand: cover, three lists, the twelve cables with wires of their own, and the file.
    page.locator(".papers-words", has_text="of 17 done: now").wait_for()
    link = page.get_by_role("link", name="Save the PDF")
    link.wait_for(timeout=180_000)
    assert bar.count() == 0
    assert "Papers are ready" in page.locator("#status").inner_text()
    with page.expect_download() as caught:
        link.click()
    caught.value.save_as(tmp_path / "papers.pdf")
    held = pypdfium2.PdfDocument(tmp_path / "papers.pdf")
    # Published: ISO 216, A5 is 148 by 210 mm.
    assert round(held[0].get_width() * 25.4 / 72) == 148
    # Nobody asks again once it is over.
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.wait_for_timeout(1_600)
    assert asked == []


def test_papers_are_stopped_by_a_button_that_keeps_its_focus(page, example):
    build = example("compact")
    page.goto(f"{build}/papers")
    tick(page, "rolls", "harness", "cards", "tests")
    page.get_by_role("button", name="Set the papers").click()
    stop = page.get_by_role("button", name="Stop setting these papers")
    stop.focus()
    page.wait_for_timeout(1_600)
    assert page.evaluate("document.activeElement.id").endswith("-stop")
    page.keyboard.press("Enter")
    page.locator(".papers-job h3", has_text="stopped").wait_for(timeout=120_000)
    assert page.locator(".papers-job progress").count() == 0


def test_without_a_script_the_page_is_looked_at_again_by_a_link(browser, address, page, example):
    build = example("compact")
    context = browser.new_context(base_url=address, java_script_enabled=False)
    plain = context.new_page()
    plain.goto(f"{build}/papers")
    tick(plain, "tools", "buys")
    plain.get_by_role("button", name="Set the papers").click()
    plain.wait_for_url("**/papers/jobs/*")
    for _ in range(200):
        again = plain.get_by_role("link", name="Look again")
        if not again.count():
            break
        again.click()
        plain.wait_for_timeout(200)
    assert plain.get_by_role("link", name="Save the PDF").count() == 1
    context.close()


def test_the_panel_has_no_trouble_for_people_who_cannot_see_it(page, example, axe_finds):
    page.goto(f"{example('compact')}/papers")
    tick(page, "rolls", "cards")
    page.get_by_role("button", name="Set the papers").click()
    page.locator(".papers-job progress").wait_for()
    assert axe_finds(page) == []
    page.get_by_role("button", name="Stop setting these papers").click()


def test_on_a_phone_the_panel_is_as_wide_as_the_screen(page, example):
    build = example("compact")
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(f"{build}/papers")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
