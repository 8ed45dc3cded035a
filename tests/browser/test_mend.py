"""What only a browser can show: typing that is not saved yet, lists on a phone, lists on paper."""

import pypdfium2
import pytest

LONG = "W" * 120


def test_a_link_asks_before_it_drops_what_was_typed(page, example):
    build = example("compact")
    page.goto(f"{build}/routes")
    page.fill('#routes input[name="runs.r1.length"]', "345")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.locator('#rail a[href$="/finish"]').click()
    page.locator("#sheet a.run").first.click()
    assert len(asked) == 2
    assert page.locator('#routes input[name="runs.r1.length"]').input_value() == "345"


def test_a_link_that_was_agreed_to_goes_on(page, example):
    build = example("compact")
    page.goto(f"{build}/routes")
    page.fill('#routes input[name="runs.r1.length"]', "345")
    page.on("dialog", lambda dialog: dialog.accept())
    page.locator('#rail a[href$="/finish"]').click()
    page.wait_for_selector("#finish")


def test_nothing_is_asked_where_nothing_was_typed(page, example):
    build = example("compact")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    for name in ("supply", "parts", "routes", "finish", "buys", "estimate", "details", "runs/r1"):
        page.goto(f"{build}/{name}")
        page.locator('#rail a[href$="/tools"]').click()
        page.wait_for_selector("#tools")
    assert asked == []


def test_closing_the_tab_asks_before_it_drops_what_was_typed(page, example):
    build = example("compact")
    page.goto(f"{build}/details")
    page.fill("#details textarea", "Half a thought")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.goto("/")
    assert asked == ["beforeunload"]


def test_saving_and_going_on_shows_the_next_step_without_a_question(page, example):
    build = example("compact")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.goto(f"{build}/routes")
    page.fill('#routes input[name="runs.r1.length"]', "345")
    page.get_by_role("button", name="Save and go on to finish").click()
    page.wait_for_url(f"**{build}/finish")
    assert "Saved as revision 2" in page.locator("#status").inner_text()
    assert asked == []


def test_saving_one_price_keeps_what_was_typed_beside_another(page, example):
    from playwright.sync_api import expect

    build = example("compact")
    page.goto(f"{build}/buys")
    page.locator("#buys .pack-prices > summary").click()
    prices = page.locator("#buys .prices input[type=text]")
    prices.nth(0).fill("1.50")
    prices.nth(1).fill("2.50")
    page.locator("#buys .prices button").nth(0).click()
    expect(page.locator("#status")).to_contain_text("revision 2")
    assert [prices.nth(0).input_value(), prices.nth(1).input_value()] == ["1.5", "2.50"]


@pytest.mark.parametrize("name", ["parts", "routes", "cuts", "buys", "estimate"])
def test_a_list_is_read_on_a_phone_without_moving_it_sideways(page, example, name):
    build = example("large")
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(f"{build}/{name}")
    cut_off = page.locator("#work .scroll, #work table").evaluate_all(
        "boxes => boxes.filter((box) => box.scrollWidth > box.clientWidth + 1).map((box) => box.outerHTML.slice(0, 80))"
    )
    assert cut_off == []


def test_every_field_of_a_route_stands_below_its_name_on_a_phone(page, example):
    build = example("large")
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(f"{build}/routes")
    row = page.locator("#routes tbody tr").first
    for name, head in (("length", "length"), ("low", "shortest"), ("high", "longest")):
        cell = row.locator(f'td:has(input[name$=".{name}"])')
        box = cell.locator("input").bounding_box()
        assert cell.get_attribute("data-head") == head
        assert box["y"] >= cell.bounding_box()["y"] + 12
        assert box["x"] + box["width"] <= 390


def test_a_name_without_a_blank_stays_on_a_phone(page):
    page.goto("/")
    page.locator('form[action="/builds"] input[name=name]').fill(LONG)
    page.get_by_role("button", name="Start", exact=True).click()
    page.wait_for_url("**/supply*")
    build = page.url.split("/supply")[0]
    page.locator('#supply input[value="one-24"]').check()
    page.wait_for_selector("text=Saved as revision 2")
    page.goto(f"{build}/parts")
    page.select_option("#parts select[name=recipe]", "board-small")
    page.fill("#parts input[name=name]", LONG)
    page.get_by_role("button", name="Add", exact=True).click()
    page.wait_for_selector("text=Saved as revision 3")
    page.set_viewport_size({"width": 390, "height": 800})
    wide = {}
    for where in ("/", *(f"{build}/{name}" for name in ("parts", "routes", "finish", "cards", "cuts", "findings"))):
        page.goto(where)
        boxes = page.evaluate(
            "[document.documentElement, ...document.querySelectorAll('table.stacked')]"
            ".map((box) => [box.scrollWidth, box.clientWidth])"
        )
        if any(held > shown + 1 for held, shown in boxes) or boxes[0][0] > 390:
            wide[where] = boxes
    assert wide == {}


def test_no_block_of_the_printed_cut_list_parts_from_its_heading(page, example):
    build = example("large")
    groups = page.request.get(f"/api{build}/plan").json()["plan"]["cuts"]
    page.goto(f"{build}/cuts")
    parted = []
    # Sheets of many heights, so that the end of a page falls everywhere in the list.
    for height in range(90, 240, 10):
        document = pypdfium2.PdfDocument(page.pdf(width="148mm", height=f"{height}mm", print_background=True))
        texts = [document[i].get_textpage().get_text_bounded() for i in range(len(document))]
        for group in groups:
            heading = next(i for i, text in enumerate(texts) if f"{group['awg']} AWG, " in text)
            if group["lines"][0]["labels"][0] not in texts[heading]:
                parted.append((height, group["awg"]))
    assert parted == []


def test_the_two_halves_of_a_wire_table_on_small_paper_stand_apart(page, example):
    build = example("compact")
    page.set_viewport_size({"width": 500, "height": 800})
    page.emulate_media(media="print")
    page.goto(f"{build}/cards")
    rule, gap = page.locator(".card-long .wires-box").first.evaluate(
        "(box) => [getComputedStyle(box).columnRuleStyle, parseFloat(getComputedStyle(box).columnGap)]"
    )
    # By hand: 3 mm at 96 px to the inch are 11.3 px; a rule stands in the middle of the gap.
    assert rule == "solid"
    assert gap > 11.3


def test_the_drawing_stays_through_the_steps_and_follows_an_edit(page, example):
    from playwright.sync_api import expect

    build = example("compact")
    page.goto(f"{build}/parts")
    sent = []
    page.on("request", lambda request: sent.append(request.headers.get("sheet-shown")))
    before = page.locator("#sheet svg").inner_html()
    page.locator('#rail a[href$="/routes"]').click()
    page.wait_for_selector("#routes")
    assert any(sent)
    assert page.locator("#sheet svg").inner_html() == before
    page.fill('#routes input[name="runs.r1.length"]', "4321 mm")
    page.get_by_role("button", name="Save the routes").click()
    expect(page.locator("#sheet svg")).to_contain_text("4321 mm")
    page.locator('#rail a[href$="/tools"]').click()
    page.wait_for_selector("#tools")
    assert page.locator("#sheet svg").count() == 0
    page.go_back()
    expect(page.locator("#sheet svg")).to_contain_text("4321 mm")


def test_a_length_in_inches_and_a_fraction_is_seen_whole_in_its_field(page, example):
    build = example("large")
    page.goto(f"{build}/routes?unit=in")
    cut = []
    for key in ("length", "low", "likely", "high"):
        field = page.locator(f'#routes input[name$=".{key}"]').nth(1)
        field.fill('12 1/2"')
        held, shown = field.evaluate("(input) => [input.scrollWidth, input.clientWidth]")
        if held > shown:
            cut.append(key)
    page.goto(f"{build}/routes?unit=mm")
    assert cut == []


@pytest.mark.parametrize("name", ["compact", "large"])
def test_nothing_on_a_card_stands_over_its_right_border_on_small_paper(page, example, name):
    build = example(name)
    # A5 is 148 mm wide; less the margins of 7 mm that is 506 px at 96 to the inch.
    page.set_viewport_size({"width": 506, "height": 800})
    page.emulate_media(media="print")
    page.goto(f"{build}/cards")
    over = page.evaluate(
        """() => [...document.querySelectorAll('.card')].filter((card) => {
            const edge = card.getBoundingClientRect().right;
            return [...card.querySelectorAll('th, td, p, li, svg')].some(
                (part) => part.getBoundingClientRect().right > edge + 0.5);
        }).map((card) => card.id)"""
    )
    assert over == []


def test_the_steps_of_a_printed_card_stand_one_below_the_other_with_their_numbers(page, example):
    build = example("compact")
    page.emulate_media(media="print")
    page.goto(f"{build}/cards")
    steps = page.locator("#card-1 .card-method li")
    shown = steps.evaluate_all(
        "(all) => all.map((li) => [getComputedStyle(li).display, getComputedStyle(li, '::before').content])"
    )
    assert len(shown) >= 5
    assert {display for display, _ in shown} <= {"list-item", "block"}
    assert all("counter(step)" in mark for _, mark in shown)
