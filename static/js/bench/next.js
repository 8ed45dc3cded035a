/* What is to be done next, worked out from the tasks, the ticks that wait and where this person has got to. */
import { ahead, byId, held, lastDone, progress, sequence, standing } from "./tasks.js";

const DONE = { take: "Taken", cut: "Cut", crimp: "Crimped", sleeve: "Sleeved", fit: "Fitted", test: "Tested" };
const FOLLOWING = 6;

/* Everything that the screen shows, from the state of this page. */
export function picture(state) {
  const { data, order, run } = state;
  const states = standing(data, state.queue.waiting);
  const ids = sequence(data, order, run);
  const line = ahead(data, states, ids, state.later);
  const task = line[0] ?? null;
  const chosen = data.runs.find((one) => one.id === run) ?? null;
  const step = stepOf(state, task);
  return {
    step,
    task,
    chosen,
    states,
    following: following(step === "change" ? line : line.slice(1), state.hand, step === "change" ? "" : task?.tool),
    more: Math.max(0, line.length - FOLLOWING - 1),
    held: held(data, states, ids),
    waitsFor: chosen && chosen.state !== "ready" ? chosen.why : "",
    count: progress(states, ids),
    stage: task && order === "byStage" ? stageCount(data, states, ids, task.stage) : null,
    undo: state.queue.acts.at(-1) ?? lastDone(data, states),
    canPutOff: line.length > 1,
    press: pressOf(step, task, data.build.metered),
    card: titles(step, task, data),
    run: task ? data.runs.find((one) => one.id === task.run) : chosen,
    nextRun: nextRun(data, states, run),
  };
}

function stepOf(state, task) {
  if (!task) return "end";
  if (!state.begun) return "begin";
  if (task.tool && task.tool !== state.hand) return "change";
  return task.tick ? "task" : "away";
}

function pressOf(step, task, metered) {
  const begin = metered ? "Read: begin" : "Begin without metering";
  const words = { begin, change: task?.stage === "cut" ? "In hand: go on" : "Changed: go on", end: "", away: "" };
  return words[step] ?? `${DONE[task.kind]} ${task.label}`.trim();
}

/* A roll is taken up and a table is set up; only of a tool it is said that it is changed. */
const CHANGE = { cut: "Take up", sleeve: "Set up for this" };

const UNMETERED = "NOT METERED: nobody has measured what this supply's sockets carry. No wire should be cut before that.";

function titles(step, task, { build, cautions }) {
  if (step === "begin") {
    return { title: "Before you begin", big: "", lines: build.metered ? cautions : [UNMETERED, ...cautions] };
  }
  if (step === "end") return { title: "", big: "", lines: [] };
  if (step !== "change") return { title: task.title, big: task.big, lines: linesOf(task) };
  return { title: CHANGE[task.stage] ?? "Change to", big: task.toolWords, lines: [`for: ${task.title}`] };
}

/* What stands elsewhere already is not said twice: the tool above, places beside their plugs. */
function linesOf(task) {
  const told = new Set([task.toolWords, ...task.plugs.map((plug) => plug.seen)]);
  return task.lines.filter((line) => !told.has(line));
}

/* The tasks behind the next one, with the tool where it has to be changed before one of them. */
function following(line, hand, tool) {
  let before = tool || hand;
  return line.slice(0, FOLLOWING).map((task) => {
    const change = task.tool && task.tool !== before ? task.toolWords : "";
    before = task.tool || before;
    return { title: task.title, change, colour: task.colour };
  });
}

function stageCount(data, states, ids, stage) {
  const tasks = byId(data);
  return { name: stage, ...progress(states, ids.filter((id) => tasks.get(id).stage === stage)) };
}

/* The first other run with something open, in the order run by run. */
function nextRun(data, states, run) {
  if (!run) return null;
  const tasks = byId(data);
  const open = data.byRun.find((id) => tasks.get(id).run !== run && states.get(id) === "open");
  return open ? data.runs.find((one) => one.id === tasks.get(open).run) : null;
}
