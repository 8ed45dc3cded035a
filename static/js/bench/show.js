/* Puts what was worked out onto the page. The large buttons are never made anew, so that the focus stays on them. */
import { facesOf, fillBand } from "./faces.js";

const at = (id) => document.getElementById(`live-${id}`);

function put(id, words) {
  const element = at(id);
  if (element.textContent !== words) element.textContent = words;
  element.hidden = !words;
}

function item(words, ...inside) {
  const line = document.createElement("li");
  line.append(words, ...inside);
  return line;
}

function mark(words) {
  const made = document.createElement("small");
  made.textContent = words;
  return made;
}

function link(words, href) {
  const made = document.createElement("a");
  made.className = "live-key";
  made.href = href;
  made.textContent = words;
  return made;
}

export function key(words, act) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "live-key";
  made.textContent = words;
  made.addEventListener("click", act);
  return made;
}

export const counted = (number, word) => `${number} ${word}${number === 1 ? "" : "s"}`;

export function showTask(view, data, goRun) {
  const { step, task, card } = view;
  const told = step === "task" || step === "away";
  at("task").dataset.step = step;
  const colour = told || step === "change" ? task?.colour : null;
  at("colour").hidden = !colour;
  if (colour) {
    fillBand(at("band"), colour);
    at("code").textContent = colour.code;
    at("colour-name").textContent = colour.name;
  }
  at("change").hidden = step !== "change";
  put("title", step === "end" ? endWords(view) : card.title);
  put("big", card.big);
  at("big").classList.toggle("live-big-mid", card.big.length > 7 && card.big.length <= 11);
  at("big").classList.toggle("live-big-long", card.big.length > 11);
  at("big").classList.toggle("live-big-words", card.big.length > 24);
  put("tool", told && task.toolWords ? task.toolWords : "");
  const lines = step === "end" ? endLines(view) : card.lines;
  at("lines").replaceChildren(...lines.map((words) => item(words)));
  at("faces").replaceChildren(...(told ? facesOf(task, data.plugs) : []));
  at("actions").replaceChildren(...actions(view, data, goRun));
  at("actions").hidden = !at("actions").childElementCount;
}

function endWords({ chosen, count, held }) {
  const what = chosen ? `Run ${chosen.number}` : "Everything";
  if (count.all === 0) return "There is nothing to make here.";
  if (count.done === count.all) return `${what} is done.`;
  return held.length ? "Nothing can be done here now." : `${what}: nothing is open.`;
}

function endLines({ chosen, count, waitsFor }) {
  if (waitsFor) return [waitsFor];
  if (count.all === 0 || count.done < count.all) return [];
  return [chosen ? "Every task of it is ticked." : "Every task of every run is ticked.", "Proof is the test sheet."];
}

function actions(view, data, goRun) {
  const { step, chosen, nextRun, count } = view;
  const made = [];
  if (step !== "end") return made;
  if (nextRun) made.push(key(`Go on with run ${nextRun.number}`, () => goRun(nextRun.id)));
  const runs = chosen ? [chosen] : data.runs;
  if (count.done > 0) {
    for (const run of runs.filter((one) => one.test)) {
      made.push(link(`${run.tested ? "✓ tested: " : ""}Test sheet of run ${run.number}`, run.test));
    }
  }
  return made;
}

export function showAround(view, data, state) {
  const { count, stage, run } = view;
  const parts = [`${count.done} of ${count.all} done`];
  if (stage) parts.push(`${stage.name} ${stage.done} of ${stage.all}`);
  if (run) parts.push(`run ${run.number} ${run.title}`);
  at("count").textContent = parts.join(" · ");
  at("part").value = count.all ? count.done / count.all : 0;
  for (const button of document.querySelectorAll("[data-order]")) {
    button.setAttribute("aria-pressed", String(button.dataset.order === state.order));
  }
  showRuns(data, state.run);
  at("ahead").replaceChildren(...view.following.map(ahead));
  at("then").hidden = !view.following.length;
  put("more", view.more ? `and ${view.more} more` : "");
  at("held").hidden = !view.held.length;
  at("reasons").replaceChildren(...view.held.map(reason));
  const { byRun, byStage, atLeast, proved } = data.changes;
  const least = proved ? "no order has fewer" : `no order has fewer than ${atLeast}`;
  put("changes-words", `Tool changes still to come: ${byStage} by stage (${least}), ${byRun} by run.`);
}

function ahead({ title, change, colour }) {
  const words = `${title}${colour ? `, ${colour.name}` : ""}`;
  return change ? item(words, mark(`⟳ ${change}`)) : item(words);
}

function reason({ why, href, count }) {
  const words = document.createElement("span");
  words.textContent = `${counted(count, "task")}: ${why}`;
  return href ? item(words, link("Open", href)) : item(words);
}

function showRuns(data, chosen) {
  const pick = at("run");
  const marks = { ready: "", waits: " (waits)", stopped: " (stopped)" };
  const options = [["", "All runs"], ...data.runs.map((run) => [run.id, `${run.number} ${run.title}${marks[run.state]}`])];
  if (pick.dataset.shown !== JSON.stringify(options)) {
    pick.dataset.shown = JSON.stringify(options);
    pick.replaceChildren(...options.map(([value, words]) => new Option(words, value)));
  }
  pick.value = chosen;
}

export function showHands(view) {
  const { undo, press, canPutOff, step, task } = view;
  at("away").hidden = step !== "away";
  if (step === "away") {
    at("away").href = task.href;
    at("away").textContent = task.kind === "test" ? "Open the test sheet" : "Open";
  }
  at("tick").hidden = !press;
  at("tick").textContent = step === "begin" || step === "change" ? press : `✓ ${press}`;
  at("undo").setAttribute("aria-disabled", String(!undo));
  at("undo-words").textContent = undo ? undo.words : "nothing yet";
  at("later").setAttribute("aria-disabled", String(!canPutOff || step === "begin"));
}

/* What stands between this device and the planner, in words. */
export function showLink({ state, status }, waiting, lasting) {
  const words = [];
  if (state === "lost") {
    words.push(`Not connected: ${waiting ? `${counted(waiting, "tick")} ${waiting === 1 ? "waits" : "wait"} here` : "nothing waits here"}.`);
    if (!lasting) words.push("This browser keeps nothing: leave this page open until they are sent.");
    else if (!reopens()) words.push("Leave this page open: without the connection it cannot be opened again. Ticks are kept.");
  } else if (state === "refused") {
    const reasons = { 403: "This device is not paired with the planner any more.", 404: "The planner does not know this build any more." };
    words.push(`${reasons[status] ?? "The planner does not take these ticks."} ${counted(waiting, "tick")} kept here.`);
  }
  at("link").dataset.state = state;
  put("link", words.join(" "));
}

/* Whether the page itself is kept on this device, which only a secure connection allows. */
const reopens = () => window.isSecureContext && Boolean(navigator.serviceWorker?.controller);

export function showRefused(refused, putAway) {
  at("refused").hidden = !refused.length;
  at("refused").replaceChildren(
    ...refused.map((one) => {
      const line = document.createElement("p");
      line.append(`■ Not written: ${one.words}. ${one.message}`, key("Put away", () => putAway(one)));
      return line;
    }),
  );
}

export const showRunning = (words) => put("running", words);

export function showWatch(words, clock, keys, run = "") {
  put("watch-words", words);
  at("clock").textContent = clock;
  const names = [...keys.map((one) => one.textContent), run].join();
  // Made anew only when they change, so that the focus stays on the one that was pressed.
  if (at("watch-keys").dataset.names === names) return;
  at("watch-keys").dataset.names = names;
  at("watch-keys").replaceChildren(...keys);
}

export function say(words) {
  at("said").textContent = words;
}
