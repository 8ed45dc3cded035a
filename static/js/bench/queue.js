/* Ticks made on this device: an id that nobody else has, their order, and taking the last of them back. */

const HISTORY = 200;

export const naming = (task) => `${task.label} ${task.kind}`.trim();

/* Random ids by crypto.getRandomValues, since randomUUID is kept from pages that came over plain http. */
function freshId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

export async function deviceOf(store) {
  const known = await store.get("device");
  if (known) return known;
  const made = freshId();
  await store.put("device", made);
  return made;
}

export async function openQueue(store, build) {
  const acts = (await store.get(`acts/${build}`)) ?? [];
  const queue = { waiting: await store.ticks(build), acts };
  const keep = () => store.put(`acts/${build}`, (queue.acts = queue.acts.slice(-HISTORY)));

  async function add(tick) {
    const empty = { task: "", tick: null, of: "", entry: 0, operation: "", count: 0, seconds: 0, run: "" };
    const added = { ...empty, ...tick, id: freshId(), build, at: new Date().toISOString(), sent: false };
    const kept = await store.add(added);
    // An answer or another page may have changed the queue meanwhile, and may have brought this very tick.
    queue.waiting = [...queue.waiting.filter((tick) => tick.id !== kept.id), kept];
    return kept.id;
  }

  queue.reload = async () => {
    queue.waiting = await store.ticks(build);
    queue.acts = (await store.get(`acts/${build}`)) ?? [];
  };

  queue.done = async (task) => {
    const id = await add({ kind: "do", task: task.id, tick: task.tick });
    queue.acts.push({ id, task: task.id, words: naming(task), entry: 0 });
    // The tick itself is kept by now: without this a reload alone would forget how it is taken back.
    await keep().catch(() => null);
    return id;
  };

  queue.changed = async (before, words) => {
    queue.acts.push({ id: "", tool: before, words });
    await keep().catch(() => null);
  };

  /* The last act undone: gone from the queue where it never left this device, a tick of its own otherwise. */
  queue.undo = async (act) => {
    if (act.task) {
      if (act.id && (await store.drop(act.id))) queue.waiting = queue.waiting.filter((tick) => tick.id !== act.id);
      else await add({ kind: "undo", task: act.task, of: act.id, entry: act.id ? 0 : act.entry });
    }
    // Only now, so that one that could not be kept can be tried again; by its id, since another page may have reloaded.
    queue.acts = queue.acts.filter((one) => one !== act && !(act.id && one.id === act.id));
    await keep().catch(() => null);
  };

  queue.time = (measured) => add({ kind: "time", ...measured });

  /* What the planner answered: out of the queue, and known by its entries, or no act at all where it was refused. */
  queue.settled = async (results) => {
    const answers = new Map(results.map((result) => [result.id, result]));
    await store.settle(new Set(answers.keys()));
    queue.waiting = queue.waiting.filter((tick) => !answers.has(tick.id));
    queue.acts = queue.acts.filter((act) => answers.get(act.id)?.state !== "refused");
    await keep();
  };
  return queue;
}
