"""A supply layout of one's own in a real browser: copied, changed by hand and by palette, metered, printed."""

import re

import pypdfium2
import pytest

# Nominal outputs: standby, then with the supply on; ``None`` is measured by continuity to ground alone.
READS = {
    "+12V": ("0", "12.05"),
    "+5V": ("0", "5.02"),
    "+3.3V": ("0", "3.31"),
    "-12V": ("0", "-11,9"),
    "+5VSB": ("5.03", "5.03"),
    "PS_ON#": ("4.9", "0.01"),
    "PWR_OK": ("0", "4.9"),
}


@pytest.fixture
def own(page):
    """A copy of the sample with one 24-position main, made by its button; gives its address."""
    page.goto("/layouts")
    page.locator('form[action="/layouts/one-24/copy"] button').click()
    page.wait_for_url("**/layouts/own-*")
    return re.search(r"/layouts/own-\w+", page.url).group()


def layout_of(page, own: str) -> dict:
    return page.request.get(f"/api{own}").json()["layout"]


def meter(page, port: dict) -> None:
    """Write nominal readings of one port into the worksheet, save it, and settle what is left to the eye."""
    here = page.locator(f"#port-{port['id']}")
    for pin in port["pins"]:
        name = f"readings.{port['id']}.{pin['cavity']}"
        if pin["net"] == "COM":
            page.select_option(f'[name="{name}.ground"]', "yes")
        elif not pin["net"]:
            page.select_option(f'[name="{name}.ground"]', "no")
            page.fill(f'[name="{name}.on"]', "0")
        else:
            standby, on = READS[pin["net"]]
            page.fill(f'[name="{name}.standby"]', standby)
            page.fill(f'[name="{name}.on"]', on)
    with page.expect_navigation():
        here.get_by_role("button", name="Save all readings").click()
    settle = here.locator('button[value="settle"]')
    if settle.count():
        with page.expect_navigation():
            settle.click()


def test_a_build_on_a_metered_layout_prints_no_warning(page):
    page.goto("/")
    page.locator('form[action="/builds"] input[name=name]').fill("Metered build")
    page.get_by_role("button", name="Start", exact=True).click()
    page.wait_for_url("**/supply*")
    build = re.search(r"/builds/\w+", page.url).group()
    page.locator('#supply input[value="one-24"]').check()
    page.get_by_role("button", name="Make it my own, and meter it").click()
    page.wait_for_url("**/metering*")
    own = re.search(r"/layouts/own-\w+", page.url).group()
    page.goto(f"{build}/parts")
    page.select_option("#parts select[name=recipe]", "board-small")
    page.get_by_role("button", name="Add", exact=True).click()
    page.wait_for_selector("#status >> text=Saved as revision")
    page.goto(f"{build}/cards")
    assert "NOT METERED" in page.locator("#cards").inner_text()
    page.goto(f"{own}/metering")
    for port in layout_of(page, own)["ports"][:3]:
        meter(page, port)
    page.goto(f"{build}/supply")
    said = re.search(r"(\d+) of (\d+) cavities that this build uses", page.locator("#supply-state").inner_text())
    assert said.group(1) == said.group(2)
    page.goto(f"{build}/cards")
    assert "NOT METERED" not in page.locator("#cards").inner_text()


def test_the_palette_puts_one_net_into_many_cavities(page, own):
    # Cavities 12 and 24 of the sample's main are not connected and -12V.
    page.locator('#palette button[data-net="PWR_OK"]').click()
    for cavity in ("12", "24"):
        page.locator(f'label[for="f-ports-M1-{cavity}"]').click()
    page.locator("#port-M1").get_by_role("button", name="Save the page").click()
    page.wait_for_url("**saved=2*")
    nets = {pin["cavity"]: pin["net"] for pin in layout_of(page, own)["ports"][0]["pins"]}
    assert (nets["12"], nets["24"]) == ("PWR_OK", "PWR_OK")


def test_arrow_keys_walk_over_the_socket_while_a_net_is_picked(page, own):
    page.locator('#palette button[data-net="+5V"]').click()
    page.locator("#f-ports-C1-2").focus()
    # Cavity 1 is at the right of 2 in the row away from the latch, and 5 stands above it.
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    assert page.locator("#f-ports-C1-5").input_value() == "+5V"


def test_a_tab_leads_from_a_cavity_to_the_next_number(page, own):
    page.locator("#f-ports-C1-1").focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "f-ports-C1-2"


def test_a_slip_of_the_point_is_told_beside_its_field(page, own):
    page.goto(f"{own}/metering")
    page.fill('[name="readings.M1.1.on"]', "1205")
    page.locator("#port-M1").get_by_role("button", name="Save all readings").click()
    page.wait_for_selector("[aria-invalid=true]")
    field = page.locator('[name="readings.M1.1.on"]')
    assert field.input_value() == "1205"
    assert "12.05" in page.locator(f"#{field.get_attribute('aria-describedby').split()[0]}").inner_text()
    page.faults.clear()  # Chromium reports the refused answer, 422, as a console error.


def leave(page, link) -> list[str]:
    """Press a link that leaves the page and stay where a question comes; gives the kinds of questions asked."""
    asked = []
    page.once("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    link.click(no_wait_after=True)
    page.wait_for_timeout(400)
    return asked


@pytest.mark.parametrize(
    ("where", "field", "text"),
    [("/metering", '[name="readings.M1.1.on"]', "12.05"), ("", '[name="new.label"]', "Spare")],
)
def test_leaving_a_page_with_something_typed_is_asked_about(page, own, where, field, text):
    page.goto(own + where)
    page.fill(field, text)
    assert leave(page, page.locator("#rail-layout_versions")) == ["beforeunload"]
    assert page.locator(field).input_value() == text


@pytest.mark.parametrize("where", ["/metering", ""])
def test_leaving_a_page_with_nothing_typed_is_not_asked_about(page, own, where):
    page.goto(own + where)
    page.locator("h1").click()
    assert leave(page, page.locator("#rail-layout_versions")) == []
    assert page.url.endswith("/versions")


def test_saving_at_one_port_keeps_what_was_picked_at_another_and_asks_nothing(page, own):
    page.select_option('[name="ports.M1.12"]', "PWR_OK")
    page.select_option('[name="ports.C1.1"]', "+12V")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    with page.expect_navigation():
        page.locator("#port-M1").get_by_role("button", name="Save the page").click()
    assert (asked, page.locator('[name="ports.C1.1"]').input_value()) == ([], "+12V")


def test_a_refused_worksheet_is_still_asked_about_and_then_saved_without_a_question(page, own):
    page.goto(f"{own}/metering")
    page.fill('[name="readings.M1.1.on"]', "1205")
    page.get_by_role("button", name="Save all readings").first.click()
    page.wait_for_selector("[aria-invalid=true]")
    page.faults.clear()  # Chromium reports the refused answer, 422, as a console error.
    page.locator("h1").click()
    assert leave(page, page.locator("#rail-layout_versions")) == ["beforeunload"]
    page.fill('[name="readings.M1.1.on"]', "12.05")
    with page.expect_navigation():
        page.get_by_role("button", name="Save all readings").first.click()
    assert "1 of 24 cavities metered" in page.locator("#port-M1").inner_text()


def test_an_imported_layout_counts_its_readings_only_after_the_builders_word(page, own):
    page.request.post(f"/api{own}/readings", data={"readings": [{"port": "M1", "cavity": "1", "on_v": 12.05}]})
    text = page.request.get(f"/api{own}").body()
    page.goto("/layouts")
    assert page.locator('[name="readings_of"][value="other"]').is_checked()
    page.set_input_files('[name="file"]', {"name": "layout.json", "mimeType": "application/json", "buffer": text})
    page.get_by_role("button", name="Import").click()
    page.get_by_role("link", name="Look at them").click()
    assert "0 of 24 cavities metered" in page.locator("#port-M1").inner_text()
    page.get_by_label("These readings were taken on this very supply").check()
    page.get_by_role("button", name="Count these readings").click()
    page.wait_for_url("**counted=1*")
    assert "1 of 24 cavities metered" in page.locator("#port-M1").inner_text()


def test_axe_finds_nothing_on_the_pages_of_a_layout(page, own, axe_finds):
    found = {}
    sent = page.request.get(f"/api{own}").json()
    sent["layout"]["readings"] = [{"port": "M1", "cavity": "1", "on_v": 12.05}]
    taken = page.request.post("/api/layouts", data=sent).headers["location"].removeprefix("/api")
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for where in ("/layouts", own, f"{own}/metering", f"{own}/versions", taken, f"{taken}/metering"):
            page.goto(where)
            if broken := axe_finds(page):
                found[scheme, where] = broken
    assert found == {}


def test_nothing_of_a_layout_is_wider_than_a_phone(page, own):
    page.set_viewport_size({"width": 390, "height": 800})
    wide = {}
    for where in ("/layouts", own, f"{own}/metering", f"{own}/versions"):
        page.goto(where)
        width = page.evaluate("document.documentElement.scrollWidth")
        if width > 390:
            wide[where] = width
    assert wide == {}


def test_the_printed_worksheet_starts_with_the_cautions_and_holds_every_cavity(page, own):
    page.goto(f"{own}/metering")
    document = pypdfium2.PdfDocument(page.pdf(format="A4", print_background=True))
    texts = [document[i].get_textpage().get_text_bounded() for i in range(len(document))]
    assert "Never open the supply" in texts[0]
    whole = " ".join(texts)
    assert all(port["label"] in whole for port in layout_of(page, own)["ports"])
    # Each of the 82 cavities has its expected range: 24 + 5 x 8 + 3 x 6 by the sample's sockets.
    assert len(re.findall(r"standby\s+(?:about|below|\d)", whole)) == 82


def test_a_layout_is_recorded_and_metered_without_a_script(browser, address):
    from playwright.sync_api import expect

    context = browser.new_context(base_url=address, java_script_enabled=False)
    page = context.new_page()
    page.goto("/layouts")
    page.locator('form[action="/layouts"] input[name=name]').fill("By hand")
    page.get_by_role("button", name="Start", exact=True).click()
    page.fill('[name="new.label"]', "Drives")
    page.select_option('[name="new.housing"]', "p42-4-plug")
    page.get_by_role("button", name="Add the port").click()
    # The new page may be there a moment before its style sheets are.
    expect(page.locator("#palette")).to_be_hidden()
    page.select_option('[name="ports.D1.1"]', "COM")
    page.select_option('[name="ports.D1.3"]', "+12V")
    page.locator("#port-D1").get_by_role("button", name="Save the page").click()
    page.locator("#rail-metering").click()
    page.select_option('[name="readings.D1.1.ground"]', "yes")
    page.fill('[name="readings.D1.3.on"]', "12,05")
    page.locator("#port-D1").get_by_role("button", name="Save all readings").click()
    assert "2 of 4 cavities metered" in page.locator("#port-D1").inner_text()
    context.close()
