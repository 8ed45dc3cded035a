/* Keeps the bench screen itself on this device, so that it opens without the connection. The planner puts KEPT before
   these lines: a version that follows from the files, and their addresses. What the planner answers always wins; what
   is kept is shown only where no answer comes. No other page is ever kept. */

const FILES = `bench-files-${KEPT.version}`;
const PAGES = "bench-pages";
const PATIENCE_MS = 4000;
const isScreen = (url) => /^\/bench\/[^/]+$/.test(url.pathname) && !url.pathname.endsWith(".js");

self.addEventListener("install", (event) => {
  const fetched = async () => {
    const files = await caches.open(FILES);
    await files.addAll(KEPT.files.map((file) => new Request(file, { cache: "reload" })));
    await self.skipWaiting();
  };
  event.waitUntil(fetched());
});

self.addEventListener("activate", (event) => {
  const taken = async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("bench-files-") && name !== FILES) await caches.delete(name);
    }
    await self.clients.claim();
    // The page that brought this worker along was loaded before it: it is asked for once more, to be kept.
    for (const open of await self.clients.matchAll({ type: "window", includeUncontrolled: true })) {
      const url = new URL(open.url);
      if (isScreen(url)) await freshest(new Request(url.pathname), PAGES, url.pathname).catch(() => null);
    }
  };
  event.waitUntil(taken());
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  const screen = event.request.mode === "navigate" && isScreen(url);
  if (!screen && !KEPT.files.includes(url.pathname)) return;
  event.respondWith(freshest(event.request, screen ? PAGES : FILES, url.pathname, event));
});

async function freshest(request, name, key, event) {
  const cache = await caches.open(name);
  const answer = fetch(request).then(async (got) => {
    // A device without room shows what came all the same.
    if (got.ok && !got.redirected) await cache.put(key, got.clone()).catch(() => null);
    else if (got.status === 403 || got.status === 404) await cache.delete(key);
    return got;
  });
  event?.waitUntil(answer.catch(() => null));
  const kept = await cache.match(key, { ignoreVary: true });
  if (!kept) return answer;
  const late = new Promise((resolve) => setTimeout(() => resolve(kept), PATIENCE_MS));
  return Promise.race([answer.catch(() => kept), late]);
}
