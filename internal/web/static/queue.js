// The way of an entry from the page to the notebook. What was typed is first
// written into the browser's own store, then sent; it leaves the store when the
// notebook says that it is on disk. While the connection is down entries wait
// there and are sent later, in order. Each has a key of its own, so one that is
// sent twice is kept once.
(() => {
  "use strict";

  const NAME = "railtally-queue";
  let memory = [], stored = true;

  const read = () => {
    if (!stored) return memory;
    try { return JSON.parse(localStorage.getItem(NAME) || "[]"); } catch { return memory; }
  };
  const write = (list) => {
    memory = list;
    try { localStorage.setItem(NAME, JSON.stringify(list)); stored = true; } catch { stored = false; }
    tell("railtally:queue", list);
  };
  const tell = (name, detail) => document.dispatchEvent(new CustomEvent(name, { detail }));

  // crypto.randomUUID is missing on pages that come from the local network
  // without TLS; random bytes are there.
  const newKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");

  const push = (entry) => { write([...read(), { ...entry, state: "waiting" }]); return flush(); };
  const drop = (key) => write(read().filter((e) => e.key !== key));
  const mark = (key, more) => write(read().map((e) => (e.key === key ? { ...e, ...more } : e)));

  let pause = 0, timer = 0, running = null;
  const later = () => {
    pause = Math.min(pause ? pause * 2 : 1000, 20000);
    clearTimeout(timer);
    timer = setTimeout(flush, pause);
  };

  // Sends one entry. True: go on with the next one.
  const send = async (entry) => {
    let answer;
    const limit = new AbortController();
    const bell = setTimeout(() => limit.abort(), 15000);
    try {
      const body = new URLSearchParams(entry.body);
      answer = await fetch(entry.url, { method: "POST", body, headers: { Accept: "application/json" }, signal: limit.signal, redirect: "error" });
    } catch {
      tell("railtally:sending", { ok: false, message: "The notebook does not answer." });
      later();
      return false;
    } finally { clearTimeout(bell); }
    let said = {};
    try { said = await answer.json(); } catch { said = {}; }
    if (answer.ok && said.ok) {
      pause = 0;
      drop(entry.key);
      tell("railtally:sending", { ok: true });
      tell("railtally:kept", { entry, said });
      return true;
    }
    // Wrong in itself: sending it again would not help. It stays, with the reason.
    if ([400, 404, 409, 413, 422].includes(answer.status)) {
      mark(entry.key, { state: "refused", error: said.error || "It was not accepted.", accept: said.accept || "" });
      tell("railtally:refused", { entry, said });
      return true;
    }
    const message = answer.status === 401 || answer.status === 403 ? "This device is not let in; pair it again. What you typed is kept here." : said.error || `The notebook answered ${answer.status}.`;
    tell("railtally:sending", { ok: false, message });
    later();
    return false;
  };

  const run = async () => {
    for (;;) {
      const next = read().find((e) => e.state === "waiting");
      if (!next || !(await send(next))) return;
    }
  };
  // One tab sends at a time where the browser can tell; keys guard the rest.
  const flush = () => {
    if (!running) {
      const work = navigator.locks ? navigator.locks.request(NAME, run) : run();
      running = Promise.resolve(work).finally(() => { running = null; if (read().some((e) => e.state === "waiting") && !pause) flush(); });
    }
    return running;
  };

  window.addEventListener("online", () => { pause = 0; flush(); });
  window.addEventListener("storage", (e) => { if (e.key === NAME) tell("railtally:queue", read()); });
  document.addEventListener("railtally:online", (e) => { if (e.detail && read().length) { pause = 0; flush(); } });
  document.addEventListener("visibilitychange", () => { if (!document.hidden && read().length) flush(); });

  window.railtallyQueue = { push, drop, list: read, flush, newKey, lasting: () => stored };
  if (read().length) flush();

  // Where the browser allows it (on this computer, or over TLS), pages open
  // without a connection too.
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => {});
})();
