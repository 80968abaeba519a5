// Keeps the pages of wet runs and what they load for when there is no signal. The network always comes first for pages.
"use strict";

const VERSION = "{{ version }}";
const FILES = [{% for file in files %}"{{ file|escapejs }}"{% if not forloop.last %}, {% endif %}{% endfor %}];
const WAITING = "{{ nothing|escapejs }}";
const STATIC = `files-${VERSION}`;
const PAGES = "pages-of-";
const PATIENCE_MS = 6000;
const OURS = /^\/(wet-runs\/\d+\/|yard\/waiting\/)/;
const NEVER = /\/(pdf|from-the-yard|second-reading|readings)\/$|^\/yard\/who\/$/;

self.addEventListener("install", (event) => {
  const kept = caches.open(STATIC).then((cache) => cache.addAll(FILES));
  event.waitUntil(kept.then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(names.filter((n) => n.startsWith("files-") && n !== STATIC).map((n) => caches.delete(n))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { pathname, origin } = new URL(request.url);
  if (origin !== self.location.origin) return;
  // Whoever signs out leaves no page of theirs behind; what they typed stays, under their own name.
  if (request.method === "POST" && pathname === "/sign-out/") event.waitUntil(forgetPages());
  if (request.method !== "GET") return;
  if (FILES.includes(pathname)) event.respondWith(fromFiles(request));
  else if (OURS.test(pathname) && !NEVER.test(pathname)) event.respondWith(pageOrKept(request));
  else if (request.mode === "navigate") event.respondWith(fetch(request).catch(() => keptPage(WAITING)));
});

self.addEventListener("message", (event) => {
  if (event.data?.take) event.waitUntil(takeAlong(event.data.take));
});

async function fromFiles(request) {
  return (await (await caches.open(STATIC)).match(request, { ignoreSearch: true })) ?? fetch(request);
}

async function pageOrKept(request) {
  try {
    return await withPatience(fetchedAndKept(request));
  } catch {
    return (await keptPage(new URL(request.url).pathname)) ?? keptPage(WAITING);
  }
}

// A signal that is there and carries nothing is no signal.
function withPatience(answer) {
  return Promise.race([answer, new Promise((_, refuse) => setTimeout(() => refuse(new Error("too slow")), PATIENCE_MS))]);
}

async function fetchedAndKept(request) {
  const answer = await fetch(request);
  const person = answer.headers.get("Wetrun-Person");
  if (answer.ok && !answer.redirected && person) {
    const copy = answer.clone();
    await onlyOf(person);
    await (await caches.open(PAGES + person)).put(new URL(request.url).pathname, copy);
  }
  return answer;
}

// One person's pages at a time: another one who signs in here finds none of them.
async function onlyOf(person) {
  const names = await caches.keys();
  await Promise.all(names.filter((n) => n.startsWith(PAGES) && n !== PAGES + person).map((n) => caches.delete(n)));
}

async function keptPage(pathname) {
  for (const name of await caches.keys()) {
    const found = name.startsWith(PAGES) && (await (await caches.open(name)).match(pathname));
    if (found) return found;
  }
  return Response.error();
}

async function forgetPages() {
  await onlyOf("");
}

async function takeAlong(pathnames) {
  for (const pathname of pathnames) {
    if (!OURS.test(pathname) || NEVER.test(pathname)) continue;
    try {
      await fetchedAndKept(new Request(pathname, { credentials: "same-origin" }));
    } catch {
      return; // the signal is gone: what was taken along so far is there
    }
  }
}
