/* Between this device and the planner: ticks go out in their order, one call at a time, and the tasks come in. A call
   whose answer is lost is made again with the same ids, which the planner counts once. */

const MOST = 100;
const PATIENCE_MS = 15_000;
const FIRST_MS = 1_000;
const LONGEST_MS = 30_000;
const SETTLE_MS = 4_000;

class Lost extends Error {}
class Refused extends Error {
  constructor(status) {
    super(`refused with ${status}`);
    this.status = status;
  }
}

export function startSending({ store, build, device, addresses, onTicks, onTasks, onLink }) {
  let wait = FIRST_MS;
  let timer = 0;
  let running = null;
  let again = false;
  let stale = true;
  let known = 0;

  async function call(address, options) {
    const { status, body } = await asked(address, options);
    if (!body) throw new Refused(status);
    return body;
  }

  async function asked(address, options = {}) {
    const stop = new AbortController();
    const patience = window.setTimeout(() => stop.abort(), PATIENCE_MS);
    try {
      const answer = await fetch(address, { cache: "no-store", signal: stop.signal, ...options });
      if (answer.status >= 500) throw new Lost("failed");
      // Read here, within the patience: an answer that breaks off half way is a lost one.
      return { status: answer.status, body: answer.ok ? await answer.json() : null };
    } catch {
      throw new Lost(address);
    } finally {
      window.clearTimeout(patience);
    }
  }

  async function sendSome() {
    const ticks = await store.claim(build, MOST);
    if (!ticks.length) return false;
    const bare = ticks.map(({ build: _build, sent: _sent, ...tick }) => tick);
    const body = await call(addresses.ticks, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ device, ticks: bare }),
    });
    known = Math.max(known, body.ledger);
    stale = true;
    await onTicks(ticks, body.results);
    return true;
  }

  async function fetchTasks() {
    const data = await call(addresses.tasks);
    // Made before the last tick was written: it would show that tick as open again.
    if (data.ledger < known) return;
    stale = false;
    await onTasks(data);
  }

  async function round(withTasks) {
    try {
      let reached = false;
      while (await sendSome()) reached = true;
      if (withTasks && stale) {
        await fetchTasks();
        reached = true;
      }
      // Where nothing was asked of the planner, nothing is known of the way to it.
      if (!reached) return;
      wait = FIRST_MS;
      onLink({ state: "connected" });
      if (stale) later(SETTLE_MS, true);
    } catch (fault) {
      if (fault instanceof Refused) {
        onLink({ state: "refused", status: fault.status });
        return;
      }
      // Whatever it was, it is tried again: a store that was locked for a moment leaves no tick lying.
      later(wait, true);
      wait = Math.min(wait * 2, LONGEST_MS);
      if (!(fault instanceof Lost)) throw fault;
      onLink({ state: "lost" });
    }
  }

  const later = (ms, withTasks) => {
    window.clearTimeout(timer);
    timer = window.setTimeout(() => nudge(withTasks), ms);
  };

  /* Two pages of one device take turns, where the browser lets them; the planner counts each id once in any case. */
  const alone = (act) => (navigator.locks ? navigator.locks.request(`loomwright-bench-${build}`, act) : act());

  function nudge(withTasks = false) {
    window.clearTimeout(timer);
    again ||= running !== null;
    running ??= alone(() => round(withTasks)).finally(() => {
      running = null;
      if (again) later(0, withTasks);
      again = false;
    });
    return running;
  }

  const fresh = () => {
    stale = true;
    wait = FIRST_MS;
    return nudge(true);
  };
  window.addEventListener("online", fresh);
  window.addEventListener("offline", () => onLink({ state: "lost" }));
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && fresh());
  return { nudge, fresh };
}
