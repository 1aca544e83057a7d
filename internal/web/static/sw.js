// Keeps pages for when the connection is down. Pages come from the notebook
// while it answers; when it does not, as they were last seen. Nothing that is
// sent passes through here: the queue looks after that.
"use strict";
let sum = 0;
for (const f of FILES) for (const c of f) sum = (sum * 31 + c.charCodeAt(0)) >>> 0;
const FIXED = "railtally-files-" + sum, PAGES = "railtally-pages";
const MOST = 40;

self.addEventListener("install", (e) => {
  e.waitUntil(caches.open(FIXED).then((c) => c.addAll([...FILES, "/offline"])).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (e) => {
  e.waitUntil(caches.keys().then((names) => Promise.all(names.filter((n) => n.startsWith("railtally-files-") && n !== FIXED).map((n) => caches.delete(n)))).then(() => self.clients.claim()));
});

const keep = async (key, answer) => {
  const c = await caches.open(PAGES);
  await c.put(key, answer);
  const keys = await c.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - MOST))) await c.delete(old);
};

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/static/") || /^\/studies\/\d+\/photos\/[0-9a-f]{64}$/.test(url.pathname)) {
    e.respondWith(caches.match(e.request).then((hit) => hit || fetch(e.request).then((a) => {
      if (a.ok && !url.pathname.startsWith("/static/")) { const copy = a.clone(); e.waitUntil(keep(e.request, copy)); }
      return a;
    })));
    return;
  }
  if (e.request.mode !== "navigate") return;
  // A bench is one page whatever it stands at: the script finds the place.
  const key = url.origin + url.pathname;
  e.respondWith(fetch(e.request).then((a) => {
    if (a.ok && !a.redirected && (a.headers.get("Content-Type") || "").startsWith("text/html")) { const copy = a.clone(); e.waitUntil(keep(key, copy)); }
    return a;
  }).catch(async () => (await caches.match(key)) || (await caches.match("/offline"))));
});
