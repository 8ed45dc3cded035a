"""The screen at the bench in a real browser: phone and tablet, gloves, a lost connection, two pages, no script."""

import re
from itertools import pairwise

import pytest

PHONE, TABLET = {"width": 390, "height": 844}, {"width": 820, "height": 1180}
DOUBLE_TAP_MS = 400


@pytest.fixture(scope="module")
def address(planner):
    return planner[0]


@pytest.fixture
def build(planner) -> str:
    """Id of the small example, with everything bought that it needs."""
    state = planner[1]
    opened = state.desk.create_example("compact")
    for line in opened.plan.buys:
        state.bench.buy(opened.build_id, opened.revision, (line.kind, line.item, line.colour))
    return opened.build_id


@pytest.fixture
def phone(browser, address, build):
    """The screen of the build on a phone, at its first task. A lost connection is said in the console, and no fault."""
    yield from _device(browser, address, build)


def _device(browser, address, build, **more):
    context = browser.new_context(**{"base_url": address, "viewport": PHONE, **more})
    page = context.new_page()
    faults = []
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    begin(page, build)
    yield page
    context.close()
    assert [fault for fault in faults if "Failed to load resource: net::ERR_" not in fault] == []


def begin(page, build, where="") -> None:
    page.goto(f"/bench/{build}{where}")
    page.locator("#live-tick:visible").wait_for()
    if page.locator("#live-task").get_attribute("data-step") == "begin":
        page.locator("#live-tick").click()
    to_task(page)


def to_task(page) -> None:
    """Change tools until a task is next."""
    from playwright.sync_api import expect

    for _ in range(4):
        if page.locator("#live-task").get_attribute("data-step") != "change":
            break
        page.wait_for_timeout(DOUBLE_TAP_MS + 50)
        page.locator("#live-tick").click()
        expect(page.locator("#live-task")).not_to_have_attribute("data-step", "change")
    expect(page.locator("#live-task")).to_have_attribute("data-step", "task")


def tap(page) -> str:
    """Tick the task that is next, as a person does who looks at what comes; gives its title."""
    to_task(page)
    title = page.locator("#live-title").inner_text()
    before = done(page)
    page.wait_for_timeout(DOUBLE_TAP_MS + 50)
    page.locator("#live-tick").click()
    counted(page, before + 1)
    return title


def done(page) -> int:
    return int(re.match(r"(\d+) of", page.locator("#live-count").inner_text())[1])


def counted(page, number: int) -> None:
    from playwright.sync_api import expect

    expect(page.locator("#live-count")).to_contain_text(re.compile(rf"^{number} of"))


def known(page, build) -> dict:
    """What the planner itself says of the build."""
    return page.request.get(f"/bench/{build}/tasks.json").json()


def done_titles(page, build) -> list[str]:
    """Titles of what the planner knows as done, in the order of the ledger."""
    found = [task for task in known(page, build)["tasks"] if task["state"] == "done"]
    return [task["title"] for task in sorted(found, key=lambda task: task["entry"])]


def until_written(page, build, number: int) -> list[str]:
    for _ in range(60):
        titles = done_titles(page, build)
        if len(titles) >= number:
            break
        page.wait_for_timeout(100)
    return titles


@pytest.mark.parametrize("size", [PHONE, TABLET], ids=["phone", "tablet"])
def test_the_next_task_is_large_and_everything_to_press_fits_a_glove(phone, build, size):
    phone.set_viewport_size(size)
    task = next(
        one for one in known(phone, build)["tasks"] if one["state"] == "open" and not one["after"] and one["tick"]
    )
    assert phone.locator("#live-title").inner_text() == task["title"]
    big = phone.locator("#live-big")
    assert big.inner_text() == task["big"]
    assert float(big.evaluate("e => getComputedStyle(e).fontSize").removesuffix("px")) >= 34
    tick, undo = phone.locator("#live-tick").bounding_box(), phone.locator("#live-undo").bounding_box()
    assert tick["height"] >= 88
    assert tick["width"] >= min(size["width"], 900) - 40
    assert size["height"] - 40 <= tick["y"] + tick["height"] <= size["height"]
    assert undo["y"] + undo["height"] <= tick["y"]
    boxes = [key.bounding_box() for key in phone.locator("#live :is(button, a, select, summary):visible").all()]
    assert min(box["height"] for box in boxes) >= 64
    assert phone.evaluate("document.documentElement.scrollWidth") <= size["width"]


def test_cautions_come_before_the_first_task_of_a_session_and_then_no_more(browser, address, build):
    context = browser.new_context(base_url=address, viewport=PHONE)
    page = context.new_page()
    page.goto(f"/bench/{build}")
    page.locator("#live-tick:visible").wait_for()
    assert "Never open the supply" in page.locator("#live-lines").inner_text()
    # The supply of the example is a sample that nobody has metered: whoever begins is told, and says so.
    assert page.locator(".bench-stamp", has_text="NOT METERED").is_visible()
    assert "No wire should be cut before that" in page.locator("#live-lines").inner_text()
    assert page.locator("#live-tick").inner_text().endswith("Begin without metering")
    page.locator("#live-tick").click()
    page.reload()
    page.locator("#live-tick:visible").wait_for()
    assert page.locator("#live-task").get_attribute("data-step") != "begin"
    context.close()


def test_one_tap_writes_the_task_and_undo_takes_it_back(phone, build):
    before = done(phone)
    title = tap(phone)
    assert until_written(phone, build, before + 1) == [title]
    assert phone.locator("#live-title").inner_text() != title
    assert title in phone.locator("#live-said").inner_text()
    phone.locator("#live-undo").click()
    counted(phone, before)
    assert phone.locator("#live-title").inner_text() == title
    for _ in range(50):
        if not done_titles(phone, build):
            break
        phone.wait_for_timeout(100)
    assert done_titles(phone, build) == []


def test_the_order_by_stage_is_the_planners_and_changes_tools_less_often(phone, build):
    told = known(phone, build)
    open_ = {task["id"]: task for task in told["tasks"] if task["state"] == "open"}
    phone.get_by_role("button", name="By stage").click()
    first = next(open_[ident] for ident in told["byStage"] if ident in open_)
    to_task(phone)
    assert phone.locator("#live-title").inner_text() == first["title"]
    rest = [open_[ident]["title"] for ident in told["byStage"] if ident in open_][1:5]
    shown = phone.locator("#live-ahead li").all_inner_texts()
    assert [line.startswith(title) for line, title in zip(shown, rest, strict=False)] == [True] * 4
    assert told["changes"]["byStage"] < told["changes"]["byRun"]


def test_one_run_is_chosen_by_its_address_or_its_list_and_stays_through_a_reload(phone, build):
    one, other = known(phone, build)["runs"][1:3]
    begin(phone, build, f"?run={one['id']}")
    assert phone.locator("#live-run").input_value() == one["id"]
    assert f"run {one['number']} " in phone.locator("#live-count").inner_text()
    phone.locator("#live-run").select_option(other["id"])
    phone.reload()
    phone.locator("#live-tick:visible").wait_for()
    assert phone.locator("#live-run").input_value() == other["id"]


def test_what_is_put_off_comes_later_and_not_at_once(phone):
    title = phone.locator("#live-title").inner_text()
    phone.locator("#live-later").click()
    assert phone.locator("#live-title").inner_text() != title


def test_two_taps_within_a_moment_are_one(phone, build):
    before = done(phone)
    phone.wait_for_timeout(DOUBLE_TAP_MS + 50)
    phone.locator("#live-tick").evaluate("e => { e.click(); e.click(); e.click(); }")
    counted(phone, before + 1)
    phone.wait_for_timeout(300)
    counted(phone, before + 1)


def test_with_a_keyboard_the_focus_stays_on_the_button(phone):
    before = done(phone)
    phone.wait_for_timeout(DOUBLE_TAP_MS + 50)
    phone.locator("#live-tick").focus()
    phone.keyboard.press("Enter")
    counted(phone, before + 1)
    assert phone.evaluate("document.activeElement.id") == "live-tick"
    to_task(phone)
    phone.locator("#live-undo").focus()
    phone.keyboard.press("Enter")
    phone.wait_for_timeout(100)
    assert phone.evaluate("document.activeElement.id") == "live-undo"


def test_ticks_wait_without_a_connection_survive_a_reload_and_are_sent_in_order(phone, build):
    from playwright.sync_api import expect

    before = done_titles(phone, build)
    kept(phone, build)
    phone.context.set_offline(True)
    ticked = [tap(phone), tap(phone), tap(phone)]
    expect(phone.locator("#live-link")).to_contain_text("Not connected: 3 ticks wait here.")
    phone.reload()
    expect(phone.locator("#live-link")).to_contain_text("Not connected: 3 ticks wait here.")
    counted(phone, len(before) + 3)
    assert done_titles_without(phone, build) == before
    phone.context.set_offline(False)
    assert until_written(phone, build, len(before) + 3) == [*before, *ticked]
    expect(phone.locator("#live-link")).to_be_hidden()


def kept(page, build) -> None:
    """Wait until the page itself is kept on the device."""
    look = "async (path) => Boolean(await (await caches.open('bench-pages')).match(path))"
    for _ in range(80):
        if page.evaluate(look, f"/bench/{build}"):
            return
        page.wait_for_timeout(100)
    raise AssertionError("the page was never kept")


def done_titles_without(page, build) -> list[str]:
    """The same asked around the connection of the device."""
    with page.context.browser.new_context(base_url=page.url.split("/bench/")[0]) as other:
        return done_titles(other, build)


def test_a_tick_whose_answer_is_lost_counts_once(phone, build):
    lost = []

    def loses(route) -> None:
        if lost:
            route.continue_()
            return
        answer = route.fetch()
        lost.append(answer.json())
        route.abort()

    phone.route("**/ticks", loses)
    title = tap(phone)
    phone.wait_for_timeout(2500)
    assert lost[0]["results"][0]["state"] == "written"
    assert done_titles(phone, build) == [title]
    assert known(phone, build)["ledger"] == lost[0]["ledger"]
    assert phone.locator("#live-refused").is_hidden()
    assert phone.locator("#live-link").is_hidden()


def test_undoing_what_was_never_sent_sends_nothing(phone, build):
    sent, held = [], []

    def holds(route) -> None:
        sent.extend(tick["kind"] for tick in route.request.post_data_json["ticks"])
        held.append(route) if not held else route.continue_()

    phone.route("**/ticks", holds)
    first = tap(phone)
    tap(phone)
    phone.locator("#live-undo").click()
    counted(phone, 1)
    held[0].continue_()
    assert until_written(phone, build, 1) == [first]
    phone.wait_for_timeout(1000)
    assert (sent, done_titles(phone, build)) == (["do"], [first])


def test_undoing_what_may_have_been_sent_is_a_tick_of_its_own(phone, build):
    from playwright.sync_api import expect

    before = known(phone, build)["ledger"]
    phone.route("**/ticks", lambda route: route.abort())
    tap(phone)
    expect(phone.locator("#live-link")).to_contain_text("1 tick waits")
    phone.locator("#live-undo").click()
    expect(phone.locator("#live-link")).to_contain_text("2 ticks wait")
    counted(phone, 0)
    phone.unroute("**/ticks")
    for _ in range(60):
        if known(phone, build)["ledger"] >= before + 2:
            break
        phone.wait_for_timeout(100)
    assert (done_titles(phone, build), phone.locator("#live-refused").is_hidden()) == ([], True)


def other_device(build, task) -> dict:
    """What another device sends that ticks a task."""
    tick = {
        "id": "7d6c4f0e-5f0b-4a44-9a52-1f6f6f6f6f6f",
        "n": 1,
        "kind": "do",
        "task": task["id"],
        "tick": task["tick"],
    }
    more = {"of": "", "entry": 0, "operation": "", "count": 0, "seconds": 0, "run": "", "at": "2026-01-01T10:00:00Z"}
    return {"device": "another", "ticks": [{**tick, **more}]}


def test_what_somebody_else_ticked_meanwhile_is_shown_and_put_away(phone, build, axe_finds):
    from playwright.sync_api import expect

    title = phone.locator("#live-title").inner_text()
    task = next(task for task in known(phone, build)["tasks"] if task["title"] == title)
    phone.context.set_offline(True)
    tap(phone)
    with phone.context.browser.new_context(base_url=phone.url.split("/bench/")[0]) as other:
        origin = {"Origin": phone.url.split("/bench/")[0]}
        answer = other.request.post(f"/bench/{build}/ticks", data=other_device(build, task), headers=origin)
        assert answer.json()["results"][0]["state"] == "written"
    ledger = known(phone.context.browser.new_context(base_url=phone.url.split("/bench/")[0]), build)["ledger"]
    phone.context.set_offline(False)
    expect(phone.locator("#live-refused")).to_contain_text(f"Not written: {title}")
    assert known(phone, build)["ledger"] == ledger
    assert axe_finds(phone) == []
    phone.locator("#live-refused button").click()
    expect(phone.locator("#live-refused")).to_be_hidden()


def test_two_pages_of_one_device_send_once(phone, build):
    from playwright.sync_api import expect

    second = phone.context.new_page()
    begin(second, build)
    phone.context.set_offline(True)
    ticked = [tap(phone), tap(phone)]
    expect(second.locator("#live-link")).to_contain_text("2 ticks wait here")
    phone.context.set_offline(False)
    assert until_written(phone, build, 2) == ticked
    phone.wait_for_timeout(1500)
    assert done_titles(phone, build) == ticked
    assert (phone.locator("#live-refused").is_hidden(), second.locator("#live-refused").is_hidden()) == (True, True)


def to_cutting(page, build) -> None:
    """To the first wire of a run; what is taken from the shelf before it is timed by no operation."""
    begin(page, build, "?run=r2")
    while not page.locator("#live-title").inner_text().startswith("Cut"):
        tap(page)
        to_task(page)


def test_the_stopwatch_counts_ticks_of_its_stage_and_is_kept_by_a_tap(phone, build):
    from playwright.sync_api import expect

    sent = []
    phone.on("request", lambda asked: sent.append(asked.post_data_json) if asked.url.endswith("/ticks") else None)
    phone.clock.install()
    to_cutting(phone, build)
    phone.locator("#live-watch summary").click()
    phone.get_by_role("button", name=re.compile("^Start")).click()
    tap(phone)
    tap(phone)
    phone.clock.fast_forward("08:00")
    phone.reload()
    phone.locator("#live-watch summary").click()
    phone.get_by_role("button", name="Stop").click()
    # By hand: two in eight minutes and less than one minute of this test are four to four and a half minutes each.
    words = re.compile(r".+: 2 in 8 min( \d+ s)?, 4\.[0-4]\d min each\.$")
    expect(phone.locator("#live-watch-words")).to_have_text(words)
    # A glove taps twice: it is kept once, and the button that takes the place of the first is not pressed.
    phone.wait_for_timeout(DOUBLE_TAP_MS + 50)
    phone.get_by_role("button", name="Keep").dblclick()
    expect(phone.locator("#live-watch-keys button")).to_have_text([re.compile("^Start")])
    phone.wait_for_timeout(800)
    times = [tick for body in sent for tick in body["ticks"] if tick["kind"] == "time"]
    assert [time["count"] for time in times] == [2]
    assert 480 <= times[0]["seconds"] < 540
    assert times[0]["operation"] in {held["id"] for held in known(phone, build)["operations"].values()}


def test_later_goes_round_and_round_what_is_open(phone, build):
    begin(phone, build, "?run=r12")
    titles = []
    # By hand: the front lead's taking and its nine cuts can be put off; two rounds of them show each one twice.
    for _ in range(2 * 10):
        titles.append(phone.locator("#live-task").inner_text())
        phone.wait_for_timeout(DOUBLE_TAP_MS + 50)
        phone.locator("#live-later").click()
    assert all(one != other for one, other in pairwise(titles))


def test_a_lost_connection_stays_told_while_nothing_is_sent(phone, build):
    begin(phone, build, "?run=r2")
    title = tap(phone)
    until_written(phone, build, 1)
    assert title.startswith("Take")
    phone.locator("#live-task[data-step=change]").wait_for()
    phone.context.set_offline(True)
    phone.locator("#live-link", has_text="Not connected").wait_for()
    # A change of tool is kept here and sends nothing, so it says nothing of the way to the planner.
    phone.wait_for_timeout(DOUBLE_TAP_MS + 50)
    phone.locator("#live-tick").click()
    phone.locator("#live-task[data-step=task]").wait_for()
    # Less than the second after which the way is tried again.
    phone.wait_for_timeout(500)
    assert phone.locator("#live-link", has_text="Not connected").is_visible()
    phone.context.set_offline(False)


def test_an_hour_without_a_tick_is_asked_about(phone, build):
    phone.clock.install()
    to_cutting(phone, build)
    phone.locator("#live-watch summary").click()
    phone.get_by_role("button", name=re.compile("^Start")).click()
    phone.clock.fast_forward("02:00:00")
    phone.get_by_role("button", name="No, leave it out").click()
    phone.get_by_role("button", name="Stop").click()
    assert not re.search(r"\d h", phone.locator("#live-clock").inner_text())


def test_a_second_hour_without_a_tick_is_asked_about_too_before_the_first_is_answered(phone, build):
    phone.clock.install()
    to_cutting(phone, build)
    phone.locator("#live-watch summary").click()
    phone.get_by_role("button", name=re.compile("^Start")).click()
    for _ in range(2):
        phone.clock.fast_forward("02:00:00")
        tap(phone)
    # By hand: two breaks of two hours each, and what little was worked besides.
    assert "Nothing was ticked for 4 h" in phone.locator("#live-watch-words").inner_text()
    phone.get_by_role("button", name="No, leave it out").click()
    phone.get_by_role("button", name="Stop").click()
    assert not re.search(r"\d h", phone.locator("#live-clock").inner_text())


def test_the_planners_answer_wins_over_what_is_kept(phone, build):
    kept(phone, build)
    plant = "async (p) => { const c = await caches.open('bench-pages'); await c.put(p, new Response('an old page')); }"
    phone.evaluate(plant, f"/bench/{build}")
    phone.reload()
    phone.locator("#live-tick:visible").wait_for()
    names = phone.evaluate("async () => (await (await caches.open('bench-pages')).keys()).map(one => one.url)")
    assert [name.split("/", 3)[3] for name in names] == [f"bench/{build}"]


def test_a_device_with_no_room_to_keep_the_page_still_opens_it(phone, build):
    kept(phone, build)
    (worker,) = phone.context.service_workers
    worker.evaluate(
        """async () => {
            Cache.prototype.put = () => Promise.reject(new DOMException("full", "QuotaExceededError"));
            await caches.delete("bench-pages");
        }"""
    )
    phone.reload()
    phone.locator("#live-tick:visible").wait_for()


def test_no_other_page_is_kept_on_the_device(phone, build):
    from playwright.sync_api import Error

    kept(phone, build)
    phone.goto(f"/builds/{build}/ledger")
    phone.context.set_offline(True)
    with pytest.raises(Error, match="ERR_INTERNET_DISCONNECTED"):
        phone.goto(f"/builds/{build}/ledger")


def test_where_the_browser_allows_little_it_says_so_and_still_keeps_ticks(browser, address, build):
    from playwright.sync_api import expect

    context = browser.new_context(base_url=address, viewport=PHONE)
    # As a phone sees a page over plain http: no secure context, and here no IndexedDB either.
    context.add_init_script(
        "for (const [of, name] of [[window, 'isSecureContext'], [window, 'indexedDB'], [navigator, 'locks']])"
        " Object.defineProperty(of, name, { value: undefined });"
        "delete Navigator.prototype.wakeLock; delete Navigator.prototype.serviceWorker;"
    )
    page = context.new_page()
    begin(page, build)
    assert "may go dark" in page.locator("#live-awake").inner_text()
    page.get_by_text("This screen", exact=False).first.click()
    assert "without the network it cannot be opened again" in page.locator("#live-kept-words").inner_text()
    page.route("**/ticks", lambda route: route.abort())
    tap(page)
    expect(page.locator("#live-link")).to_contain_text("Leave this page open")
    page.reload()
    expect(page.locator("#live-link")).to_contain_text("1 tick waits here")
    page.unroute("**/ticks")
    assert len(until_written(page, build, 1)) == 1
    context.close()


def test_ticks_that_a_full_device_holds_in_memory_alone_are_sent_all_the_same(browser, address, build):
    context = browser.new_context(base_url=address, viewport=PHONE)
    context.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined });")
    page = context.new_page()
    begin(page, build)
    page.route("**/ticks", lambda route: route.abort())
    first = tap(page)
    page.evaluate("() => { Storage.prototype.setItem = () => { throw new Error('full'); }; }")
    second = tap(page)
    page.locator("#live-link", has_text="This browser keeps nothing").wait_for()
    page.unroute("**/ticks")
    assert until_written(page, build, 2) == [first, second]
    context.close()


@pytest.mark.parametrize("meanwhile", ["settled", "reload"])
def test_a_tick_is_shown_as_done_once_though_an_answer_came_while_it_was_being_kept(phone, meanwhile):
    # What is slow here is the store: the tick lies in it already, and the page has not heard so.
    waiting = phone.evaluate(
        """async (meanwhile) => {
            const { openQueue } = await import("/static/js/bench/queue.js");
            const held = [];
            let heard;
            const queue = await openQueue({
                get: async () => null, put: async () => null, settle: async () => null, ticks: async () => [...held],
                add: (tick) => new Promise((resolve) => {
                    held.push({ ...tick, n: 1 });
                    heard = () => resolve({ ...tick, n: 1 });
                }),
            }, "b");
            const adding = queue.done({ id: "cut/1", tick: {}, label: "1", kind: "cut" });
            await queue[meanwhile]([{ id: "another", state: "written" }]);
            heard();
            await adding;
            return queue.waiting.map((tick) => tick.task);
        }""",
        meanwhile,
    )
    assert waiting == ["cut/1"]


def jam(page, *names: str) -> None:
    """Nothing can be kept under these names until ``mend`` is called in the page."""
    page.evaluate(
        """names => {
            const real = IDBDatabase.prototype.transaction;
            window.mend = () => { IDBDatabase.prototype.transaction = real; };
            IDBDatabase.prototype.transaction = function (name, ...more) {
                if (names.includes(name) && more[0] === "readwrite") throw new Error("jammed");
                return real.call(this, name, ...more);
            };
        }""",
        names,
    )


@pytest.fixture
def jammed(browser, address, build):
    """The screen on a device whose store may be jammed, which is a fault in the console and meant to be one."""
    context = browser.new_context(base_url=address, viewport=PHONE)
    page = context.new_page()
    begin(page, build)
    yield page
    context.close()


def test_an_undo_that_cannot_be_kept_is_not_told_as_one_and_can_be_tried_again(jammed, build):
    from playwright.sync_api import expect

    tap(jammed)
    title = tap(jammed)
    assert title in until_written(jammed, build, 2)
    words = jammed.locator("#live-undo-words").inner_text()
    jam(jammed, "ticks", "kept")
    jammed.locator("#live-undo").click()
    expect(jammed.locator("#live-refused")).to_contain_text(f"taking back {words}")
    assert "Taken back" not in jammed.locator("#live-said").inner_text()
    assert jammed.locator("#live-undo-words").inner_text() == words
    jammed.evaluate("window.mend()")
    jammed.wait_for_timeout(DOUBLE_TAP_MS + 50)
    jammed.locator("#live-undo").click()
    expect(jammed.locator("#live-said")).to_contain_text(f"Taken back: {words}")
    for _ in range(50):
        if title not in done_titles(jammed, build):
            break
        jammed.wait_for_timeout(100)
    assert len(done_titles(jammed, build)) == 1


def test_a_tick_that_is_kept_is_not_told_as_lost_when_only_its_undo_is(jammed, build):
    jam(jammed, "kept")
    # Between the two the tool is changed, which this device remembers likewise.
    titles = [tap(jammed), tap(jammed)]
    assert jammed.locator("#live-refused").is_hidden()
    jammed.evaluate("window.mend()")
    assert until_written(jammed, build, 2) == titles


def test_a_tick_that_is_kept_is_not_told_as_lost_when_only_the_stopwatch_is(jammed, build):
    to_cutting(jammed, build)
    jammed.locator("#live-watch summary").click()
    jammed.get_by_role("button", name=re.compile("^Start")).click()
    jammed.get_by_role("button", name="Pause").wait_for()
    jam(jammed, "kept")
    title = tap(jammed)
    assert jammed.locator("#live-refused").is_hidden()
    assert ", 1 done" in jammed.locator("#live-clock").inner_text()
    jammed.evaluate("window.mend()")
    assert title in until_written(jammed, build, len(done_titles(jammed, build)) + 1)


def test_sending_goes_on_by_itself_after_the_store_was_jammed_for_a_moment(jammed, build):
    jammed.route("**/ticks", lambda route: route.abort())
    title = tap(jammed)
    jam(jammed, "ticks")
    jammed.unroute("**/ticks")
    # By hand: after a lost call the next one follows in at most 1 + 2 + 4 s.
    jammed.wait_for_timeout(7_000)
    jammed.evaluate("window.mend()")
    assert until_written(jammed, build, 1) == [title]


def test_a_finished_run_says_so_and_leads_to_its_test_sheet(phone, build, axe_finds):
    told = known(phone, build)
    work = {run["id"]: [task for task in told["tasks"] if task["run"] == run["id"]] for run in told["runs"]}
    whole = [run for run in told["runs"] if all(task["state"] == "open" for task in work[run["id"]]) and run["test"]]
    run = min(whole, key=lambda run: len(work[run["id"]]))
    begin(phone, build, f"?run={run['id']}")
    for _ in range(200):
        step = phone.locator("#live-task").get_attribute("data-step")
        if step in ("end", "away"):
            break
        tap(phone) if step == "task" else to_task(phone)
    assert phone.locator("#live a:visible", has_text="est sheet").get_attribute("href") == run["test"]
    assert phone.locator("#live-undo").is_visible()
    assert axe_finds(phone) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(phone, axe_finds, scheme):
    phone.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    phone.locator("details").evaluate_all("folds => folds.forEach(fold => { fold.open = true; })")
    assert axe_finds(phone) == []
    phone.context.set_offline(True)
    tap(phone)
    phone.locator("#live-link").wait_for()
    assert axe_finds(phone) == []
    phone.get_by_role("button", name="White on black" if scheme == "light" else "Black on white").click()
    assert axe_finds(phone) == []


def test_without_a_script_every_task_is_a_button_that_counts(browser, address, build):
    context = browser.new_context(base_url=address, viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"/bench/{build}")
    assert page.locator("#live").is_hidden()
    button = page.locator("button[name=do]").first
    title = button.inner_text().partition(": ")[2] or button.text_content().partition(": ")[2]
    button.click()
    assert page.get_by_role("status").inner_text().endswith(f"Ticked: {title}.")
    assert done_titles(page, build) == [title]
    page.locator("button[name=undo]").first.click()
    assert page.get_by_role("status").inner_text().endswith(f"Taken back: {title}.")
    assert done_titles(page, build) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    context.close()
