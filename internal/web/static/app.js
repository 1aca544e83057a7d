// Behaviour that every page shares. Pages are complete without it; with it they
// stay true by themselves. Nothing here computes a figure.
(() => {
  "use strict";

  const body = document.body;
  const offline = document.querySelector("[data-offline]");
  const show = (el, on) => { if (el) el.hidden = !on; };

  // Says whether the notebook answers. Others may listen: "railtally:online" with
  // detail true or false.
  const online = (on) => {
    show(offline, !on);
    document.dispatchEvent(new CustomEvent("railtally:online", { detail: on }));
  };
  window.addEventListener("offline", () => online(false));
  window.addEventListener("online", () => online(true));

  // Refreshes the parts of the page marked data-live from the page's own address.
  // What opened stays open, what was typed stays, and what has the keyboard keeps it.
  let refreshing = false, again = false;
  const refresh = async () => {
    if (refreshing) { again = true; return; }
    refreshing = true;
    try {
      const answer = await fetch(location.href, { headers: { Accept: "text/html" }, cache: "no-store" });
      if (!answer.ok) return;
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      for (const part of document.querySelectorAll("[data-live]")) {
        const next = part.id && fresh.getElementById(part.id);
        if (!next || next.innerHTML === part.innerHTML) continue;
        const focused = part.contains(document.activeElement) ? document.activeElement : null;
        const where = focused && (focused.id ? "#" + CSS.escape(focused.id) : focused.getAttribute("href") ? `[href="${CSS.escape(focused.getAttribute("href"))}"]` : "");
        const typed = [...part.querySelectorAll("input[id]:not([type=hidden]), textarea[id]")].filter((f) => f.value !== f.defaultValue).map((f) => [f.id, f.value]);
        const opened = new Set([...part.querySelectorAll("details[open][id]")].map((d) => d.id));
        part.replaceChildren(...next.childNodes);
        for (const d of part.querySelectorAll("details[id]")) if (opened.has(d.id)) d.open = true;
        for (const [id, text] of typed) { const f = document.getElementById(id); if (f && part.contains(f)) f.value = text; }
        if (where) { const back = part.querySelector(where); if (back) back.focus({ preventScroll: true }); }
        if (window.htmx) window.htmx.process(part);
        document.dispatchEvent(new CustomEvent("railtally:refreshed", { detail: part }));
      }
      online(true);
    } catch {
      online(false);
    } finally {
      refreshing = false;
      if (again) { again = false; refresh(); }
    }
  };

  // The study's events. Any page may listen: "railtally:change" with the change.
  // Where there is no such stream, the page looks again every few seconds. A page
  // that nobody sees lets go: a browser keeps only six connections to a server.
  const study = body.dataset.liveStudy;
  if (study) {
    let source = null, timer = 0, poll = 0, lost = 0;
    const soon = () => { clearTimeout(timer); timer = setTimeout(refresh, 150); };
    const look = () => { if (!poll) poll = setInterval(refresh, 5000); };
    const leave = () => {
      if (source) source.close();
      source = null;
      clearInterval(poll);
      clearTimeout(lost);
      poll = 0;
    };
    const listen = () => {
      if (source || document.hidden) return;
      source = new EventSource(`/studies/${study}/events?after=${body.dataset.seen || 0}`);
      source.addEventListener("change", (e) => {
        if (e.lastEventId) body.dataset.seen = e.lastEventId;
        document.dispatchEvent(new CustomEvent("railtally:change", { detail: e.data }));
        soon();
      });
      source.addEventListener("open", () => { clearTimeout(lost); clearInterval(poll); poll = 0; online(true); });
      source.addEventListener("error", () => {
        if (source && source.readyState === EventSource.CLOSED) { look(); return; }
        clearTimeout(lost);
        lost = setTimeout(() => online(false), 1500); // it tries again by itself
      });
    };
    document.addEventListener("visibilitychange", () => { if (document.hidden) leave(); else listen(); });
    window.addEventListener("pagehide", leave);
    window.addEventListener("pageshow", (e) => { if (e.persisted) { refresh(); listen(); } });
    listen();
  }

  // Answers that are no success are shown where the form is.
  document.addEventListener("htmx:sendError", () => online(false));

  // A wide table moves sideways by keyboard; only then is it a stop.
  for (const box of document.querySelectorAll(".scroll[tabindex]")) {
    if (box.scrollWidth <= box.clientWidth) box.removeAttribute("tabindex");
  }

  // Fields that another kind of instrument has are put away, unless something
  // stands in them.
  const kind = document.querySelector("#f-kind");
  if (kind) {
    const sort = () => {
      for (const part of document.querySelectorAll("[data-kinds]")) {
        const filled = [...part.querySelectorAll("input, textarea")].some((f) => f.value.trim() !== "");
        part.hidden = kind.value !== "" && !filled && !part.dataset.kinds.split(" ").includes(kind.value);
      }
    };
    kind.addEventListener("change", sort);
    sort();
  }

  // The first field that is wrong gets the keyboard.
  const wrong = document.querySelector("[aria-invalid=true]");
  if (wrong) wrong.focus();
})();
