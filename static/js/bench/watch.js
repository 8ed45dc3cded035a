/* The stopwatch of one stage: how long, and how many ticks of that stage meanwhile. It survives a reload, since what is
   kept is when it was started and what ran before. An hour without a tick is asked about, not counted unseen. */

const CAP_S = 3600;

const now = () => Date.now();

export function spoken(seconds) {
  const whole = Math.max(0, Math.round(seconds));
  const [hours, minutes, rest] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60), whole % 60];
  const parts = [hours && `${hours} h`, minutes && `${minutes} min`, !hours && (rest || !minutes) && `${rest} s`];
  return parts.filter(Boolean).join(" ");
}

export async function openWatch(store, build) {
  const key = `watch/${build}`;
  const watch = { held: null };
  /* A tick that was counted stands by itself: where only its count cannot be kept, a reload alone forgets that. */
  const keep = () => store.put(key, watch.held);

  watch.reload = async () => {
    watch.held = (await store.get(key)) ?? null;
    // What was kept before several of them could be told holds one at most.
    if (watch.held) watch.held.gaps ??= [watch.held.gap].filter(Boolean);
  };
  await watch.reload();
  watch.seconds = () => {
    const held = watch.held;
    if (!held) return 0;
    return Math.max(0, held.before + (held.since ? Math.max(0, now() - held.since) / 1000 : 0));
  };
  watch.running = () => Boolean(watch.held?.since);
  /* Pins down every time without ticks that is long enough to ask about; it ends with the next tick or a pause. */
  watch.look = () => {
    const held = watch.held;
    if (!watch.running() || now() - held.mark <= CAP_S * 1000) return;
    if (held.gaps.at(-1)?.to !== 0) held.gaps.push({ from: held.mark, to: 0 });
  };
  /* All that is not answered yet, together. */
  watch.gap = () => (watch.held?.gaps ?? []).reduce((sum, gap) => sum + ((gap.to || now()) - gap.from) / 1000, 0);
  const ends = () => {
    watch.look();
    const last = watch.held.gaps.at(-1);
    if (last) last.to ||= now();
  };
  watch.start = (stage, operation, run) => {
    watch.held = { stage, operation, run, before: 0, since: now(), mark: now(), gaps: [], stopped: false, ticks: [] };
    return keep();
  };
  watch.pause = () => {
    ends();
    Object.assign(watch.held, { before: watch.seconds(), since: 0 });
    return keep();
  };
  watch.stop = () => {
    ends();
    Object.assign(watch.held, { before: watch.seconds(), since: 0, stopped: true });
    return keep();
  };
  watch.resume = () => {
    Object.assign(watch.held, { since: now(), mark: now(), stopped: false });
    return keep();
  };
  watch.countGap = () => {
    Object.assign(watch.held, { gaps: [], mark: now() });
    return keep();
  };
  watch.leaveGapOut = () => {
    const before = watch.held.before - watch.gap();
    Object.assign(watch.held, { before, gaps: [], mark: now() });
    return keep();
  };
  watch.ticked = (task, id) => {
    if (!watch.running() || watch.held.stage !== task.stage || !task.times) return null;
    ends();
    watch.held.ticks.push({ id, times: task.times });
    watch.held.mark = now();
    return keep().catch(() => null);
  };
  watch.undone = (id) => {
    if (!watch.held?.ticks.some((one) => one.id === id)) return null;
    watch.held.ticks = watch.held.ticks.filter((one) => one.id !== id);
    return keep().catch(() => null);
  };
  watch.count = () => watch.held.ticks.reduce((sum, one) => sum + one.times, 0);
  watch.clear = () => {
    watch.held = null;
    return keep();
  };
  watch.measured = () => ({
    operation: watch.held.operation,
    count: watch.count(),
    seconds: Math.max(1, Math.round(watch.seconds())),
    run: watch.held.run,
  });
  return watch;
}

/* "12 crimps in 8 min 24 s: 0.70 min each", with the planner's own name of the operation. */
export function summary(name, count, seconds) {
  if (!count) return `${name}: ${spoken(seconds)}, and nothing ticked meanwhile.`;
  return `${name}: ${count} in ${spoken(seconds)}, ${(seconds / 60 / count).toFixed(2)} min each.`;
}
