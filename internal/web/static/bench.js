// The bench: one thing after the other, by keyboard alone. What is read next
// comes from the order of work that the page brought along, so the hand never
// waits for an answer, and none is needed to go on.
(() => {
  "use strict";

  const queue = window.railtallyQueue;
  const $ = (sel, root = document) => root.querySelector(sel);
  const $$ = (sel, root = document) => [...root.querySelectorAll(sel)];

  // The clock on the wall with its offset: 2026-03-14T15:20:05+01:00.
  const stamp = () => {
    const d = new Date(), p = (n) => String(Math.trunc(Math.abs(n))).padStart(2, "0"), z = -d.getTimezoneOffset();
    return `${d.getFullYear()}-${p(d.getMonth() + 1)}-${p(d.getDate())}T${p(d.getHours())}:${p(d.getMinutes())}:${p(d.getSeconds())}${z < 0 ? "-" : "+"}${p(z / 60)}:${p(z % 60)}`;
  };

  // Figures without a unit are in the row's; beyond what the meter or the rail
  // can be, in thousandths of it. The server says the same while it answers.
  const bareOf = (text, bare, limit, milli) => {
    if (!milli || /[a-zµΩ°%]/i.test(text)) return bare;
    const m = text.replace(",", ".").match(/-?\d+(\.\d+)?/);
    return m && Math.abs(Number(m[0])) > Number(limit) ? milli : bare;
  };
  const el = (tag, text, cls) => { const x = document.createElement(tag); if (text) x.textContent = text; if (cls) x.className = cls; return x; };

  // What a typed reading means, below its field.
  const showEcho = (box, e, typed) => {
    box.replaceChildren();
    if (!typed) return;
    if (e.error) {
      const p = el("p", "", "said-of fault");
      p.append(el("strong", e.error));
      if (e.accept) p.append(" Accepted: " + e.accept);
      box.append(p);
      return;
    }
    const line = el("p", "", "echo-line");
    if (e.reads) line.append(el("span", e.reads, "reads"));
    if (e.current) line.append(el("strong", e.current));
    if (e.power) line.append(el("strong", e.power));
    if (e.proviso) line.append(el("span", e.proviso, "aside"));
    box.append(line);
    if (e.change) box.append(el("p", e.change, "echo-change"));
    for (const t of e.trials || []) {
      const p = el("p", "", "finding " + (t.holds ? "sound" : "wrong"));
      p.append(el("strong", t.verdict), " " + t.text);
      box.append(p);
    }
    for (const f of e.findings || []) {
      const p = el("p", "", "finding " + f.severity);
      p.append(el("span", f.severity + ": ", "vh"), f.text + " ", el("span", f.do, "do"));
      box.append(p);
    }
  };

  let trouble = ""; // why the first of what waits was not kept
  const outbox = () => {
    const box = $("[data-outbox]");
    if (!box) return;
    const list = queue.list();
    box.hidden = !list.length;
    $("ul", box).replaceChildren(...list.map((e, i) => {
      const li = el("li");
      li.append(el("strong", `${e.label}: ${e.text}`), " ", el("span", e.state === "refused" ? `was not accepted. ${e.error} ${e.accept}` : (queue.lasting() ? "waits in this browser" : "waits in this page; do not close it") + (trouble && i === 0 && !$("[data-kept]") ? `. ${trouble}` : ""), "aside"));
      if (e.state === "refused") {
        const again = el("a", "Correct it"), away = el("button", "Discard");
        again.href = `${e.page}?at=${encodeURIComponent(e.at)}`;
        away.type = "button";
        away.addEventListener("click", () => queue.drop(e.key));
        li.append(" ", again, " ", away);
      }
      return li;
    }));
  };
  document.addEventListener("railtally:queue", outbox);
  document.addEventListener("railtally:sending", (e) => { trouble = e.detail.ok ? "" : e.detail.message; outbox(); });
  outbox();

  const kept = (text) => { const k = $("[data-kept]"); if (k) k.textContent = text; };
  const page = location.pathname;

  const bodyOf = (form, more) => {
    const data = new URLSearchParams(new FormData(form));
    for (const [k, v] of Object.entries(more)) data.set(k, v);
    return data.toString();
  };

  // The sheet: each cell is kept as it is left.
  for (const form of $$("[data-cell]")) {
    const input = $("input[name=text]", form), said = $(".cell-said", form);
    const label = input.getAttribute("aria-label");
    const keep = () => {
      const text = input.value.trim();
      if (!text || text === input.dataset.was) return;
      const key = queue.newKey();
      const bare = bareOf(text, form.elements.bare.value, form.dataset.limit, form.dataset.milli);
      const body = bodyOf(form, { key, taken: stamp(), bare });
      input.dataset.was = text;
      said.textContent = "…";
      queue.push({ key, url: form.action, body, label, text, at: form.elements.at.value, page: page.replace(/\/sheet$/, "") });
    };
    form.addEventListener("submit", (e) => {
      e.preventDefault();
      keep();
      const all = $$("[data-cell] input[name=text]"), col = input.closest("td").cellIndex;
      const down = input.closest("tr").nextElementSibling;
      const to = down ? $("input[name=text]", down.cells[col]) : all[all.indexOf(input) + 1];
      if (to) { to.focus(); to.select(); }
    });
    input.addEventListener("change", keep);
    input.addEventListener("keydown", (e) => {
      const step = { ArrowDown: "nextElementSibling", ArrowUp: "previousElementSibling" }[e.key];
      if (!step) return;
      const row = input.closest("tr")[step], to = row && $("input[name=text]", row.cells[input.closest("td").cellIndex]);
      if (to) { e.preventDefault(); to.focus(); to.select(); }
    });
    document.addEventListener("railtally:kept", (e) => {
      if (e.detail.entry.at !== form.elements.at.value) return;
      const s = e.detail.said;
      said.textContent = s.aside ? `set aside; ${s.text} stands` : "kept";
      if (!s.aside) form.elements.based.value = s.id;
    });
    document.addEventListener("railtally:refused", (e) => { if (e.detail.entry.at === form.elements.at.value) said.textContent = `${e.detail.said.error} ${e.detail.said.accept || ""}`; });
  }
  if ($("[data-sheet]")) {
    // Others' entries appear in cells that nobody is typing into.
    let timer = 0;
    const refresh = async () => {
      const answer = await fetch(location.href, { cache: "no-store" }).catch(() => null);
      if (!answer || !answer.ok) return;
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      const now = new Map($$("[data-cell]", fresh).map((f) => [f.elements.at.value, f]));
      for (const form of $$("[data-cell]")) {
        const input = $("input[name=text]", form), next = now.get(form.elements.at.value);
        if (!next || input === document.activeElement || input.value !== input.dataset.was) continue;
        input.value = input.dataset.was = next.elements.text.value;
        form.elements.based.value = next.elements.based.value;
      }
    };
    document.addEventListener("railtally:change", () => { clearTimeout(timer); timer = setTimeout(refresh, 200); });
  }

  const form = $("[data-desk]");
  if (!form) return;

  const input = $("#entry"), box = $("[data-echo-box]"), ranges = $("[data-ranges]"), feed = $("[data-feed]"), why = $("[data-why]"), meanwhile = $("[data-meanwhile]");
  const hint = box.innerHTML;
  let order = [], now = null, last = 0, lastAt = "", reached = true;

  const load = () => {
    order = JSON.parse($("#bench-order").textContent || "[]");
    // What waits to be sent counts as read.
    for (const e of queue.list()) {
      const v = order.find((x) => x.id === e.at);
      if (v && e.state === "waiting" && e.url === form.action) { v.text = e.text; v.waiting = true; }
    }
  };
  const done = (v) => v.entry > 0 || v.waiting;
  const next = (from, skip) => {
    const i = order.indexOf(from), open = (v) => !done(v) && !v.aside && v !== from;
    const same = order.filter((v) => v.visit === from.visit);
    const after = same.slice(same.indexOf(from) + 1).find(open);
    if (after) return after;
    if (!skip) { const skipped = same.find(open); if (skipped) return skipped; }
    return order.slice(i + 1).find((v) => v.visit !== from.visit && open(v)) || order.find(open) || null;
  };
  const before = (from) => order.slice(0, order.indexOf(from)).reverse().find((v) => !v.aside || done(v)) || null;

  const set = (name, text) => { const x = $(`[data-f="${name}"]`, form); if (x) x.textContent = text; };
  const svg = (tag, attrs) => { const x = document.createElementNS("http://www.w3.org/2000/svg", tag); for (const [k, v] of Object.entries(attrs)) x.setAttribute(k, v); return x; };
  const pins = (v) => {
    const fig = $("[data-pins]");
    fig.hidden = !v.pins.length;
    fig.replaceChildren();
    for (const p of v.pins) {
      const s = svg("svg", { viewBox: p.box, role: "img", "aria-label": `${p.label}${p.number ? ", pin " + p.number : ""} on the ${p.alt}` });
      s.append(svg("image", { href: p.photo, width: p.width, height: p.height }), svg("circle", { cx: p.cx, cy: p.cy, r: p.r }));
      if (p.number) { const t = svg("text", { x: p.cx, y: p.cy, dy: ".35em", "font-size": p.r }); t.textContent = p.number; s.append(t); }
      fig.append(s, el("figcaption", p.label + (p.note ? ": " + p.note : "")));
    }
  };

  // Puts a thing to be read on the desk.
  const finished = $("[data-done]");
  const put = (v, focus = true) => {
    now = v;
    form.hidden = false;
    finished.hidden = true;
    for (const name of ["visit", "kind", "rail", "tap", "instrument", "range", "name", "unit", "bare"]) form.elements[name].value = v[name];
    form.elements.at.value = v.id;
    form.elements.back.value = v.back ? "yes" : "";
    form.elements.based.value = v.entry || "";
    form.elements.why.value = "";
    form.elements.feedside.checked = v.feedSide;
    for (const name of ["visitTitle", "settings", "todo", "trial", "title", "what", "how", "bare"]) set(name, v[name]);
    set("prompt", v.kind === "note" ? "Note" : "Reading");
    set("meterText", [v.meter, v.expect].filter(Boolean).join(", "));
    why.hidden = !v.entry;
    feed.hidden = !v.feed;
    ranges.hidden = !v.ranges.length;
    const select = form.elements.meterrange;
    select.replaceChildren(new Option("by itself" + (v.expect ? ", likely " + v.expect : ""), ""), ...v.ranges.map((r) => new Option(r, r)));
    select.value = v.meterSet || "";
    input.value = v.text || "";
    input.inputMode = v.kind === "note" ? "text" : "decimal";
    input.removeAttribute("aria-invalid");
    box.replaceChildren();
    if (v.waiting) box.append(el("p", "Waits to be sent.", "hint"));
    else if (v.entry) box.append(el("p", `Entered: ${v.text}${v.by ? ", by " + v.by : ""}. What you type corrects it; the old reading stays in the log.`, "hint"));
    else box.append(el("p", v.kind === "note" ? "Free text." : "511, 511 mV, 0,511 V; several values for repeats; 10..50 for a band.", "hint"));
    meanwhile.hidden = true;
    document.dispatchEvent(new CustomEvent("railtally:desk", { detail: v }));
    pins(v);
    document.dispatchEvent(new CustomEvent("railtally:desk", { detail: v }));
    links();
    document.title = `${v.title} ${v.what}, ${v.visitTitle} · railtally`;
    history.replaceState(null, "", `${page}?at=${encodeURIComponent(v.id)}`);
    for (const a of $$("[data-at]")) if (a.closest(".steps-list")) {
      const here = order.find((x) => x.id === a.dataset.at);
      if (here && here.visit === v.visit) a.setAttribute("aria-current", "step"); else a.removeAttribute("aria-current");
    }
    if (focus) { input.focus({ preventScroll: false }); if (input.value) input.select(); }
  };
  const links = () => {
    const to = next(now, true), back = before(now);
    const s = $("[data-skip]"), p = $("[data-prev]");
    if (to) s.href = `${page}?at=${encodeURIComponent(to.id)}`;
    if (back) p.href = `${page}?at=${encodeURIComponent(back.id)}`;
    s.classList.toggle("off", !to);
    p.classList.toggle("off", !back);
  };
  const go = (v) => { if (v) put(v); };

  let waiting = 0, asking = null, wrong = ""; // wrong: the text that was last found to be none
  const ask = () => {
    clearTimeout(waiting);
    if (asking) asking.abort();
    const text = input.value.trim();
    if (!text) { showEcho(box, {}, ""); return; }
    asking = new AbortController();
    const q = new URLSearchParams({ at: now.id, text, taken: stamp() });
    if (form.elements.meterrange.value) q.set("meterrange", form.elements.meterrange.value);
    if (form.elements.feedside.checked) q.set("feedside", "yes");
    fetch(`${form.dataset.echo}?${q}`, { signal: asking.signal, headers: { Accept: "application/json" } })
      .then((r) => r.json())
      .then((e) => { if (input.value.trim() !== text) return; showEcho(box, e, text); wrong = e.error ? text : ""; if (e.error) input.setAttribute("aria-invalid", "true"); else input.removeAttribute("aria-invalid"); })
      .catch((e) => { if (e.name !== "AbortError") { box.replaceChildren(el("p", "The notebook does not answer. What you keep waits in this browser and is sent later.", "hint")); } });
  };
  input.addEventListener("input", () => { input.removeAttribute("aria-invalid"); clearTimeout(waiting); waiting = setTimeout(ask, 90); });
  form.elements.meterrange.addEventListener("change", ask);
  form.elements.feedside.addEventListener("change", ask);

  // A first look at the text, so that a slip is not queued: the server decides.
  const plausible = (text) => now.kind === "note" || /\d/.test(text);

  form.addEventListener("submit", (e) => {
    e.preventDefault();
    const text = input.value.trim();
    if (!text) { go(next(now, true)); return; }
    if (now.entry && text === now.text && form.elements.meterrange.value === (now.meterSet || "") && form.elements.feedside.checked === now.feedSide) { go(next(now, false)); return; }
    if (!plausible(text) || text === wrong) { ask(); input.focus(); return; }
    const key = queue.newKey();
    const label = [now.title, now.what].filter(Boolean).join(" ") + ", " + now.visitTitle;
    const body = bodyOf(form, { key, taken: stamp(), bare: now.kind === "note" ? "" : bareOf(text, now.bare, now.limit, now.milli) });
    now.text = text;
    now.waiting = true;
    const entry = { key, url: form.action, body, label, text, at: now.id, page };
    const to = next(now, false);
    kept("");
    queue.push(entry);
    if (to) put(to);
    else { form.hidden = true; $("[data-pins]").hidden = true; finished.hidden = false; finished.focus(); document.title = "Everything was read · railtally"; }
  });

  document.addEventListener("railtally:kept", (e) => {
    const { entry, said } = e.detail;
    if (entry.url !== form.action) return;
    const v = order.find((x) => x.id === entry.at);
    if (v && !said.aside) { v.entry = said.id; v.waiting = false; v.text = entry.text; }
    last = said.id; lastAt = entry.at;
    undoable();
    kept(said.aside ? `${entry.label}: ${said.by || "somebody"} had entered ${said.text}. Both are kept; choose in the list below.` : `Kept: ${entry.label}, ${entry.text}.${said.warning ? " " + said.warning : ""}`);
  });
  document.addEventListener("railtally:refused", (e) => {
    const v = order.find((x) => x.id === e.detail.entry.at);
    if (v) v.waiting = false;
    kept(`${e.detail.entry.label}: ${e.detail.said.error || "it was not accepted"}`);
  });
  document.addEventListener("railtally:sending", (e) => { reached = e.detail.ok; if (!e.detail.ok) kept(e.detail.message + " Your entries wait here."); });

  // Undo: what still waits is taken out of the queue; what was kept is undone in
  // the notebook, where both stay to be seen.
  const undoForm = $("[data-undo]"), undoButton = $("[data-undo-button]");
  const undoable = () => {
    undoForm.elements.id.value = last || "";
    undoForm.elements.at.value = lastAt;
    undoButton.disabled = !last && !queue.list().some((x) => x.state === "waiting" && x.url === form.action);
  };
  const undo = async () => {
    const waits = queue.list().filter((x) => x.state === "waiting" && x.url === form.action);
    if (waits.length && !reached) {
      const e = waits[waits.length - 1], v = order.find((x) => x.id === e.at);
      queue.drop(e.key);
      if (v) { v.waiting = false; v.text = ""; put(v); }
      kept(`Taken out again: ${e.label}, ${e.text}.`);
      return;
    }
    await queue.flush();
    if (!last) return;
    const body = new URLSearchParams({ id: last, key: queue.newKey(), taken: stamp() });
    try {
      const said = await (await fetch(undoForm.action, { method: "POST", body, headers: { Accept: "application/json" } })).json();
      if (said.error) { kept(said.error); return; }
      const v = order.find((x) => x.id === lastAt);
      last = 0;
      if (v) { v.entry = 0; v.waiting = false; v.text = ""; put(v); }
      kept("Undone. It stays in the list of what was entered.");
    } catch { kept("The notebook does not answer; nothing was undone."); }
    undoable();
  };
  undoForm.addEventListener("submit", (e) => { e.preventDefault(); undo(); });

  input.addEventListener("keydown", (e) => {
    if (e.key === "Enter" && (e.ctrlKey || e.metaKey)) { e.preventDefault(); document.dispatchEvent(new CustomEvent("railtally:take")); }
    else if (e.key === "ArrowDown") { e.preventDefault(); go(next(now, true)); }
    else if (e.key === "ArrowUp") { e.preventDefault(); go(before(now)); }
    else if (e.key === "Escape") { input.value = ""; ask(); }
    else if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "z" && !input.value) { e.preventDefault(); undo(); }
  });
  document.addEventListener("click", (e) => {
    const a = e.target.closest("a");
    if (!a || e.ctrlKey || e.metaKey || e.shiftKey || !a.href) return;
    if (!a.matches("[data-skip], [data-prev], [data-at]")) return;
    const at = new URL(a.href).searchParams.get("at"), v = order.find((x) => x.id === at);
    if (v) { e.preventDefault(); put(v); }
  });

  // The signs that a phone's keyboard for figures hides.
  const keys = $("[data-keys]");
  keys.hidden = !window.matchMedia("(pointer: coarse)").matches;
  for (const b of $$("[data-key]", keys)) b.addEventListener("click", () => { input.setRangeText(b.dataset.key, input.selectionStart, input.selectionEnd, "end"); input.focus(); ask(); });

  // What others entered comes with the refreshed order of work.
  const fromLog = () => {
    const log = $("#bench-log");
    const fresh = $("#bench-log").parentElement;
    if (log && fresh && log.dataset.last) { last = last || Number(log.dataset.last); lastAt = lastAt || log.dataset.lastAt; }
  };
  document.addEventListener("railtally:refreshed", (e) => {
    if (e.detail.id !== "bench-order") return;
    const was = now;
    load();
    const v = order.find((x) => x.id === was.id);
    if (!v) { order.push(was); return; }
    now = v;
    links();
    if (v.entry && v.entry !== was.entry && !was.waiting) {
      if (input.value.trim() && input.value.trim() !== was.text) {
        meanwhile.hidden = false;
        meanwhile.textContent = `${v.by || "Somebody"} entered ${v.text} here meanwhile. If you keep yours, both stay and you can choose.`;
      } else put(v, document.activeElement === input);
    }
  });

  load();
  now = order.find((v) => v.id === form.elements.at.value) || null;
  document.dispatchEvent(new CustomEvent("railtally:desk", { detail: now }));
  fromLog();
  undoable();
  form.dataset.ready = "yes";
  if (now) { links(); if (input.value && !box.querySelector(".fault")) input.select(); }
})();
