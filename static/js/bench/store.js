/* What this device holds until the planner has it: ticks in their order, and a few things kept under a name. Kept in
   IndexedDB, so that a reload, a closed page or an empty battery loses no tick; in the plainer store of the browser
   where that is missing; in memory alone where neither is allowed, which the page then says.

   A tick that was handed to the network once is marked as sent, for its answer may have been lost: it is sent again
   under the same id and never taken out of the queue by hand. Each act below is one transaction, so that two pages of
   one device never step on each other. */

const NAME = "loomwright-bench";

export async function openStore() {
  try {
    return database(await opened());
  } catch {
    return plain();
  }
}

function opened() {
  return new Promise((resolve, reject) => {
    const asked = window.indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("ticks", { keyPath: "n", autoIncrement: true });
      asked.result.createObjectStore("kept");
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("blocked"));
  });
}

function database(held) {
  const within = (name, mode, act) =>
    new Promise((resolve, reject) => {
      const work = held.transaction(name, mode, { durability: "strict" });
      let answer;
      work.oncomplete = () => resolve(answer);
      work.onabort = () => reject(work.error ?? new Error("not kept"));
      act(work.objectStore(name), (value) => {
        answer = value;
      });
    });
  const every = (ticks, then) => {
    const asked = ticks.getAll();
    asked.onsuccess = () => then(asked.result);
  };
  return {
    lasting: true,
    add: (tick) =>
      within("ticks", "readwrite", (ticks, answer) => {
        const asked = ticks.add(tick);
        asked.onsuccess = () => answer({ ...tick, n: asked.result });
      }),
    ticks: (build) =>
      within("ticks", "readonly", (ticks, answer) => every(ticks, (found) => answer(found.filter(of(build))))),
    claim: (build, most) =>
      within("ticks", "readwrite", (ticks, answer) =>
        every(ticks, (found) => {
          const claimed = found.filter(of(build)).slice(0, most).map((tick) => ({ ...tick, sent: true }));
          for (const tick of claimed) ticks.put(tick);
          answer(claimed);
        }),
      ),
    settle: (ids) =>
      within("ticks", "readwrite", (ticks) =>
        every(ticks, (found) => found.filter((tick) => ids.has(tick.id)).forEach((tick) => ticks.delete(tick.n))),
      ),
    drop: (id) =>
      within("ticks", "readwrite", (ticks, answer) =>
        every(ticks, (found) => {
          const tick = found.find((one) => one.id === id && !one.sent);
          if (tick) ticks.delete(tick.n);
          answer(tick !== undefined);
        }),
      ),
    get: (key) =>
      within("kept", "readonly", (kept, answer) => {
        const asked = kept.get(key);
        asked.onsuccess = () => answer(asked.result);
      }),
    put: (key, value) => within("kept", "readwrite", (kept) => kept.put(value, key)),
  };
}

/* The same acts on one text of the plainer store. Nothing in it waits, so each act is one step by itself. Once it takes
   no more, memory alone counts: what it still holds is older. */
function plain() {
  let memory = { next: 1, ticks: [], kept: {} };
  let lasting = true;
  const read = () => {
    if (!lasting) return memory;
    try {
      memory = JSON.parse(window.localStorage.getItem(NAME)) ?? memory;
    } catch {
      lasting = false;
    }
    return memory;
  };
  const write = (value) => {
    memory = value;
    if (!lasting) return;
    try {
      window.localStorage.setItem(NAME, JSON.stringify(value));
    } catch {
      lasting = false;
    }
  };
  write(read());
  const change = async (act) => {
    const value = read();
    const answer = act(value);
    write(value);
    return answer;
  };
  return {
    get lasting() {
      return lasting;
    },
    add: (tick) =>
      change((value) => {
        const added = { ...tick, n: value.next++ };
        value.ticks.push(added);
        return added;
      }),
    ticks: async (build) => read().ticks.filter(of(build)),
    claim: (build, most) =>
      change((value) => {
        const claimed = value.ticks.filter(of(build)).slice(0, most);
        for (const tick of claimed) tick.sent = true;
        return claimed;
      }),
    settle: (ids) =>
      change((value) => {
        value.ticks = value.ticks.filter((tick) => !ids.has(tick.id));
      }),
    drop: (id) =>
      change((value) => {
        const before = value.ticks.length;
        value.ticks = value.ticks.filter((tick) => tick.id !== id || tick.sent);
        return value.ticks.length < before;
      }),
    get: async (key) => read().kept[key],
    put: (key, value) =>
      change((held) => {
        held.kept[key] = value;
      }),
  };
}

const of = (build) => (tick) => tick.build === build;
