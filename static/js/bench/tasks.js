/* The tasks as they stand: what the planner last said, with what is ticked here and not sent yet on top. */
import { naming } from "./queue.js";

export function byId(data) {
  return new Map(data.tasks.map((task) => [task.id, task]));
}

/* State of every task by its id. */
export function standing(data, waiting) {
  const states = new Map(data.tasks.map((task) => [task.id, task.state]));
  for (const tick of waiting) {
    if (!states.has(tick.task)) continue;
    if (tick.kind === "do") states.set(tick.task, "done");
    if (tick.kind === "undo") states.set(tick.task, "open");
  }
  return states;
}

/* Ids in the order asked for; one that the order does not know was taken back meanwhile, and comes first. */
export function sequence(data, order, run) {
  const wanted = data.tasks.filter((task) => !run || task.run === run).map((task) => task.id);
  const known = new Map(data[order].map((id, place) => [id, place]));
  const place = (id) => known.get(id) ?? -1;
  return wanted.sort((one, other) => place(one) - place(other));
}

/* Tasks that can be done now or later on from here, in their order: those put off come last. */
export function ahead(data, states, ids, later) {
  const tasks = byId(data);
  const open = ids.filter((id) => states.get(id) === "open");
  const ready = new Set();
  const reachable = (id) => {
    const before = tasks.get(id).after.filter((other) => states.has(other) && states.get(other) !== "done");
    return before.every((other) => ready.has(other));
  };
  const line = [];
  const take = (from) => {
    let left = from;
    let before = -1;
    // What has to come before it may stand further down, or was put off: such a task waits for another round.
    while (left.length !== before) {
      before = left.length;
      left = left.filter((id) => {
        if (!reachable(id)) return true;
        ready.add(id);
        line.push(tasks.get(id));
        return false;
      });
    }
    return left;
  };
  const rest = take(open.filter((id) => !later.has(id)));
  take(open.filter((id) => later.has(id) || rest.includes(id)));
  return line;
}

/* What cannot be done from here, by its reason. */
export function held(data, states, ids) {
  const tasks = byId(data);
  const reasons = new Map();
  for (const id of ids) {
    const task = tasks.get(id);
    if (states.get(id) !== "blocked") continue;
    const found = reasons.get(task.why) ?? { why: task.why, href: task.href, count: 0 };
    found.count += 1;
    reasons.set(task.why, found);
  }
  return [...reasons.values()];
}

export function progress(states, ids) {
  return { done: ids.filter((id) => states.get(id) === "done").length, all: ids.length };
}

/* The last thing done by anybody, where this device did nothing that it could take back. */
export function lastDone(data, states) {
  const done = data.tasks.filter((task) => states.get(task.id) === "done" && task.entry > 0);
  const last = done.reduce((one, other) => (one && one.entry > other.entry ? one : other), null);
  if (!last || last.kind === "test") return null;
  return { id: "", task: last.id, words: naming(last), entry: last.entry };
}

/* An answer of the planner worked into the tasks, until they are loaded again. */
export function settle(data, ticks, results) {
  const tasks = byId(data);
  const sent = new Map(ticks.map((tick) => [tick.id, tick]));
  for (const result of results) {
    const tick = sent.get(result.id);
    const task = tasks.get(tick?.task);
    if (!task || result.state === "refused") continue;
    task.state = tick.kind === "do" ? "done" : "open";
    task.entry = tick.kind === "do" ? result.entries.at(-1) ?? 0 : 0;
  }
}
