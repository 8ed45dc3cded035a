/* The screen at the bench: joins what is asked of the planner, what is kept here and what is shown. */
import { picture } from "./next.js";
import { deviceOf, openQueue } from "./queue.js";
import { startSending } from "./send.js";
import { counted, say, showAround, showHands, showLink, showRefused, showTask } from "./show.js";
import { openStore } from "./store.js";
import { settle } from "./tasks.js";
import { timing } from "./timing.js";
import { followLight } from "./light.js";
import { keepAwake } from "./wake.js";
import { openWatch } from "./watch.js";

const DOUBLE_TAP_MS = 400;
const SECOND_MS = 1000;
const { build, tasks: tasksAddress, ticks: ticksAddress, worker } = document.getElementById("bench").dataset;
// Of the address and not of the page, which may be one kept from another visit.
const wantedRun = new URLSearchParams(window.location.search).get("run");
const at = (id) => document.getElementById(`live-${id}`);
/* The cautions are read once for a working day, not at every look at the page. */
const SHIFT_MS = 12 * 3600 * 1000;
const begunKey = `bench begun ${build}`;

const store = await openStore();
const [device, queue, watch] = [await deviceOf(store), await openQueue(store, build), await openWatch(store, build)];
const wish = (await store.get(`wish/${build}`)) ?? { order: "byRun", hand: "" };
const state = { data: null, queue, later: new Set(), order: wish.order, run: wantedRun ?? "", hand: wish.hand };
state.begun = begun();
let refused = (await store.get(`refused/${build}`)) ?? [];
let link = { state: "connecting" };
let view = null;
const tapped = new Map();
let busy = false;

function begun(now = false) {
  try {
    if (now) localStorage.setItem(begunKey, String(Date.now()));
    return now || Date.now() - Number(localStorage.getItem(begunKey)) < SHIFT_MS;
  } catch {
    return now;
  }
}

const others = "BroadcastChannel" in window ? new BroadcastChannel(`loomwright-bench-${build}`) : null;
const tellOthers = () => others?.postMessage("changed");
if (others) others.onmessage = async () => {
  await Promise.all([queue.reload(), watch.reload()]);
  refused = (await store.get(`refused/${build}`)) ?? [];
  sending.fresh();
  show();
};

/* Order and tool: where they cannot be kept, a reload alone forgets them. */
const keepWish = () => store.put(`wish/${build}`, { order: state.order, hand: state.hand }).catch(() => null);

function show() {
  showLink(link, queue.waiting.length, store.lasting);
  showRefused(refused, putAway);
  if (!state.data) return;
  if (state.run && !state.data.runs.some((run) => run.id === state.run)) state.run = "";
  view = picture(state);
  showTask(view, state.data, chooseRun);
  showAround(view, state.data, state);
  showHands(view);
  showTime();
}

function showTime() {
  if (!state.data || !view) return;
  timing({ watch, queue, data: state.data, task: view.task, run: state.run, act: timed });
}

/* A button of the stopwatch. They change under the finger, so a second tap within a moment is the same one for all. */
const timed = (act) => async ({ timeStamp }) => {
  if (isDouble({ currentTarget: at("watch-keys"), timeStamp }) || busy) return;
  await alone(act, "the stopwatch");
  acted();
};

function acted() {
  tellOthers();
  show();
  sending.nudge();
}

async function putAway(one) {
  refused = refused.filter((other) => other !== one);
  await store.put(`refused/${build}`, refused);
  acted();
}

function chooseRun(id) {
  state.run = id;
  state.later.clear();
  // In the address, so that a reload shows the same; the screen opened afresh shows all runs.
  window.history.replaceState(null, "", id ? `?run=${encodeURIComponent(id)}` : window.location.pathname);
  show();
}

/* One tap, one act: a second tap within a moment, or a key held down, is the same one. */
function isDouble(event) {
  const before = tapped.get(event.currentTarget) ?? -DOUBLE_TAP_MS;
  tapped.set(event.currentTarget, event.timeStamp);
  return event.timeStamp - before < DOUBLE_TAP_MS;
}

const acts = {
  begin: async () => {
    state.begun = begun(true);
    return "";
  },
  change: async (task) => {
    await queue.changed(state.hand, "change of tool");
    state.hand = task.tool;
    await keepWish();
    return "Tool changed.";
  },
  task: async (task) => {
    state.later.delete(task.id);
    const id = await queue.done(task);
    await watch.ticked(task, id);
    return `Ticked: ${task.title}.`;
  },
};

/* While one act is being kept the next task is not shown yet: a tap meanwhile would be one more of the same. */
async function alone(act, words = view.task?.title ?? "a tick") {
  busy = true;
  try {
    return await act();
  } catch {
    // A full or locked store: what was tapped is not done, and the task stays where it is.
    refused = [...refused, { id: "", words, message: "This device could not keep it." }];
    return "Not kept.";
  } finally {
    busy = false;
  }
}

async function tick(event) {
  if (isDouble(event) || !view?.press || busy) return;
  navigator.vibrate?.(30);
  const words = await alone(() => acts[view.step](view.task));
  acted();
  say([words, spokenNext()].filter(Boolean).join(" "));
  window.scrollTo({ top: 0 });
}

async function undo(event) {
  if (isDouble(event)) return null;
  const act = view?.undo;
  if (!act) return say("Nothing to take back.");
  if (busy) return null;
  const words = await alone(async () => {
    await queue.undo(act);
    if ("tool" in act) {
      state.hand = act.tool;
      await keepWish();
    }
    await watch.undone(act.id);
    return `Taken back: ${act.words}.`;
  }, `taking back ${act.words}`);
  acted();
  window.scrollTo({ top: 0 });
  return say(`${words} ${spokenNext()}`);
}

const spokenNext = () => (view?.card.title ? `Next: ${view.card.title}.` : "Nothing is open here.");

function later(event) {
  if (isDouble(event) || !view?.canPutOff || !view.task || view.step === "begin") return;
  const { id, title } = view.task;
  const words = `Put off: ${title}.`;
  // Everything was put off once: another round begins.
  if (state.later.has(id)) state.later.clear();
  state.later.add(id);
  show();
  say(`${words} ${spokenNext()}`);
}

const sending = startSending({
  store, build, device,
  addresses: { tasks: tasksAddress, ticks: ticksAddress },
  onTicks: async (ticks, results) => {
    const before = new Map(ticks.map((tick) => [tick.id, tick]));
    if (state.data) settle(state.data, ticks, results);
    const against = results.filter((result) => result.state === "refused");
    refused = [...refused, ...against.map((result) => told(result, before.get(result.id)))];
    await queue.settled(results);
    await store.put(`refused/${build}`, refused);
    if (state.data) await store.put(`tasks/${build}`, state.data);
    if (against.length) sending.fresh();
    tellOthers();
    show();
  },
  onTasks: async (data) => {
    state.data = data;
    await store.put(`tasks/${build}`, data);
    show();
  },
  onLink: (now) => {
    const back = link.state === "lost" && now.state === "connected";
    link = now;
    show();
    if (back) say("Connected again.");
  },
});

/* What was not written, in the words of the task that it was about. */
function told(result, tick) {
  const task = state.data?.tasks.find((one) => one.id === tick?.task);
  const words = tick?.kind === "time" ? "the stopwatch" : (task?.title ?? "a tick");
  return { id: result.id, words: tick?.kind === "undo" ? `taking back ${words}` : words, message: result.message };
}

at("tick").addEventListener("click", tick);
at("undo").addEventListener("click", undo);
at("later").addEventListener("click", later);
at("run").addEventListener("change", () => chooseRun(at("run").value));
for (const button of document.querySelectorAll("[data-order]")) {
  button.addEventListener("click", () => {
    state.order = button.dataset.order;
    state.later.clear();
    keepWish();
    show();
  });
}
window.setInterval(showTime, SECOND_MS);

followLight();
keepAwake((on, words) => {
  at("awake").textContent = on === "on" ? "stays on" : "may go dark";
  at("awake-words").textContent = words;
});
navigator.serviceWorker?.register(worker, { scope: "/bench/", updateViaCache: "none" }).catch(() => null).finally(show);
at("kept-words").textContent = window.isSecureContext
  ? "Ticks and this page are kept on this device until they are sent."
  : "Ticks are kept on this device until they are sent. Over this connection (http) the page itself is not: without the network it cannot be opened again, so leave it open.";

state.data = (await store.get(`tasks/${build}`)) ?? null;
document.getElementById("plain")?.remove();
document.getElementById("live").hidden = false;
if (queue.waiting.length) say(`${counted(queue.waiting.length, "tick")} from before wait to be sent.`);
show();
sending.fresh();
