// Keeps the page's own files, so that a reload with a dead link still shows the page. The site puts
// before this the `VERSION` of its page and the `FILES` that belong to it; an address of a file
// carries its version, so a page is never made of files of two versions.

/* global VERSION, FILES */
const CACHE = `pullcall-${VERSION}`;
const START = new URL("./", self.location).pathname;
const DOCUMENTS = [START, `${START}logbook`];
const PATIENCE_MS = 1500;
const KEPT_VERSIONS = 2; // a page of the version before may still be open

self.addEventListener("install", (event) => event.waitUntil(takeIn()));
self.addEventListener("activate", (event) => event.waitUntil(takeOver()));
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== self.location.origin) return;
  if (DOCUMENTS.includes(pathname) && event.request.mode === "navigate") event.respondWith(document(pathname));
  else if (pathname.startsWith(`${START}page/`)) event.respondWith(file(event.request));
});

/** All files of this version, or none. */
async function takeIn() {
  const cache = await caches.open(CACHE);
  await cache.addAll(FILES);
  await Promise.all(DOCUMENTS.map((path) => takeDocument(cache, path)));
  await self.skipWaiting();
}

async function takeDocument(cache, path) {
  const answer = await fetch(path, { cache: "no-store" });
  if (!answer.ok || !(await answer.clone().text()).includes(VERSION)) throw new Error("the site has another version by now");
  await cache.put(path, answer);
}

async function takeOver() {
  const versions = (await caches.keys()).filter((name) => name.startsWith("pullcall-"));
  const old = versions.filter((name) => name !== CACHE).slice(0, -(KEPT_VERSIONS - 1));
  await Promise.all(old.map((name) => caches.delete(name)));
}

/** A page as the site has it now, or as it was kept where the link is dead or too slow. */
async function document(path) {
  const kept = (await caches.open(CACHE)).match(path);
  const patience = new Promise((done) => setTimeout(done, PATIENCE_MS, null));
  const asked = fetch(path, { cache: "no-store" }).catch(() => null);
  const answer = await Promise.race([asked, patience]);
  return answer?.ok ? answer : (await kept) ?? (await asked) ?? Response.error();
}

const file = async (request) => (await caches.match(request)) ?? fetch(request);
