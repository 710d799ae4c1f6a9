"use strict";
// Shows the technician's page as it last was where there is no signal.
const page = /^\/talk(\/[^/]+)?$/;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (e) => e.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname.startsWith("/static/")) e.respondWith(once(e.request));
  else if (e.request.mode === "navigate" && page.test(url.pathname)) e.respondWith(newest(e.request));
});

// A file's name changes with it, so one that is kept is the right one.
async function once(request) {
  const kept = await caches.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) (await caches.open("files")).put(request, answer.clone());
  return answer;
}

async function newest(request) {
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected && answer.type === "basic") (await caches.open("pages")).put(request, answer.clone());
    else if (answer.status !== 200) await caches.delete("pages"); // signed out: nobody else reads it here
    return answer;
  } catch (lost) {
    const kept = await caches.match(request);
    if (kept) return kept;
    throw lost;
  }
}
