/* The stopwatch's words and buttons, and what they do. */
import { key, showRunning, showWatch } from "./show.js";
import { spoken, summary } from "./watch.js";

export function timing({ watch, queue, data, task, run, act }) {
  const stage = task?.stage ?? "";
  const held = watch.held;
  watch.look();
  // The stopwatch lies below the fold: while it runs, what it counts is told above.
  const name = held && (data.operations[held.stage]?.name ?? held.stage);
  const other = watch.running() && task && (stage !== held.stage || !task.times);
  const clocked = other ? `Stopwatch runs, but this is other work: ${name}` : `Stopwatch: ${name}`;
  showRunning(watch.running() ? `${clocked}, ${spoken(watch.seconds())}` : "");
  if (!held) {
    const operation = task?.times ? data.operations[stage] : null;
    if (!operation) return showWatch("No stopwatch for this.", "", []);
    const start = key(`Start: ${operation.name}`, act(() => watch.start(stage, operation.id, run)));
    const words = "It counts what you tick of this stage, and tells the estimate how long you really take.";
    return showWatch(words, "", [start], run);
  }
  const clock = `${name} ${spoken(watch.seconds())}, ${watch.count()} done${watch.running() ? "" : held.stopped ? ", stopped" : ", paused"}`;
  if (watch.gap()) return showWatch(`Nothing was ticked for ${spoken(watch.gap())}. Did you work all that time?`, clock, [
    key("Yes, count it", act(watch.countGap)),
    key("No, leave it out", act(watch.leaveGapOut)),
  ]);
  const stop = key("Stop", act(watch.stop));
  if (watch.running()) {
    const words = other ? `It times ${name}; the next task is other work: pause it meanwhile.` : "";
    return showWatch(words, clock, [key("Pause", act(watch.pause)), stop]);
  }
  const on = key("Go on", act(watch.resume));
  if (!held.stopped) return showWatch("Paused.", clock, [on, stop]);
  const keep = key("Keep", act(async () => {
    await queue.time(watch.measured());
    await watch.clear();
  }));
  const keys = [on, key("Throw away", act(watch.clear))];
  const { count } = watch.measured();
  return showWatch(summary(name, count, watch.seconds()), clock, count ? [keep, ...keys] : keys);
}
