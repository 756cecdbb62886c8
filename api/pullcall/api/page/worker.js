// Keeps the page's own files, so that a reload with a dead link still shows the page. The site puts
// before this the `VERSION` of its page and the `FILES` that belong to it; an address of a file
// carries its version, so a page is never made of files of two versions.

/* global VERSION, FILES */
const CACHE = `pullcall-${VERSION}`;
const START = new URL("./", self.location).pathname;
const PATIENCE_MS = 1500;
const KEPT_VERSIONS = 2; // a page of the version before may still be open

self.addEventListener("install", (event) => event.waitUntil(takeIn()));
self.addEventListener("activate", (event) => event.waitUntil(takeOver()));
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== self.location.origin) return;
  if (pathname === START && event.request.mode === "navigate") event.respondWith(start());
  else if (pathname.startsWith(`${START}page/`)) event.respondWith(file(event.request));
});

/** All files of this version, or none. */
async function takeIn() {
  const cache = await caches.open(CACHE);
  await cache.addAll(FILES);
  const index = await fetch(START, { cache: "no-store" });
  if (!index.ok || !(await index.clone().text()).includes(VERSION)) throw new Error("the site has another version by now");
  await cache.put(START, index);
  await self.skipWaiting();
}

async function takeOver() {
  const versions = (await caches.keys()).filter((name) => name.startsWith("pullcall-"));
  const old = versions.filter((name) => name !== CACHE).slice(0, -(KEPT_VERSIONS - 1));
  await Promise.all(old.map((name) => caches.delete(name)));
}

/** The page as the site has it now, or as it was kept where the link is dead or too slow. */
async function start() {
  const kept = (await caches.open(CACHE)).match(START);
  const patience = new Promise((done) => setTimeout(done, PATIENCE_MS, null));
  const asked = fetch(START, { cache: "no-store" }).catch(() => null);
  const answer = await Promise.race([asked, patience]);
  return answer?.ok ? answer : (await kept) ?? (await asked) ?? Response.error();
}

const file = async (request) => (await caches.match(request)) ?? fetch(request);
