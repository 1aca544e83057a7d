// Pins on a photograph: put, dragged, moved by keyboard; the picture zooms under
// wheel and two fingers. A pin is kept as it is let go.
(() => {
  "use strict";

  const stage = document.getElementById("photo-stage");
  if (!stage) return;
  const W = Number(stage.dataset.width), H = Number(stage.dataset.height);
  let view = { x: 0, y: 0, w: W, h: H };
  const svg = () => stage.querySelector("[data-stage]");
  const say = (text) => { document.querySelector("[data-kept]").textContent = text; };
  const key = () => [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
  const clamp = (v, lo, hi) => Math.min(Math.max(v, lo), hi);

  // A pin keeps its size on the screen whatever the zoom: 22 px for the finger.
  const size = () => {
    const s = svg(), px = view.w / (s.clientWidth || W);
    s.setAttribute("viewBox", `${view.x} ${view.y} ${view.w} ${view.h}`);
    for (const g of s.querySelectorAll(".pin")) {
      g.querySelector(".grip").setAttribute("r", 23 * px);
      g.querySelector(".dot").setAttribute("r", 13 * px);
      g.querySelector("text").setAttribute("font-size", 14 * px);
    }
  };
  const at = (e) => {
    const r = svg().getBoundingClientRect();
    return { x: view.x + ((e.clientX - r.left) / r.width) * view.w, y: view.y + ((e.clientY - r.top) / r.height) * view.h };
  };
  const zoom = (factor, around = { x: view.x + view.w / 2, y: view.y + view.h / 2 }) => {
    const w = clamp(view.w / factor, W / 12, W), f = w / view.w;
    view = { x: clamp(around.x - (around.x - view.x) * f, 0, W - w), y: clamp(around.y - (around.y - view.y) * f, 0, H - view.h * f), w, h: view.h * f };
    size();
  };

  const place = (g, x, y) => {
    g.dataset.x = clamp(x / W, 0, 1);
    g.dataset.y = clamp(y / H, 0, 1);
    g.setAttribute("transform", `translate(${g.dataset.x * W} ${g.dataset.y * H})`);
  };
  // What the pin says besides its place stands in its form.
  const keep = async (g) => {
    const form = document.querySelector(`[data-pin-form="${g.dataset.pin}"]`);
    if (!form) return;
    const body = new URLSearchParams(new FormData(form));
    body.set("x", g.dataset.x);
    body.set("y", g.dataset.y);
    body.set("key", key());
    try {
      const said = await (await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } })).json();
      if (said.error) { say(`${said.error}. ${said.accept || "Load the page again."}`); return; }
      form.action = form.action.replace(/\d+$/, said.id);
      form.dataset.pinForm = g.dataset.pin = said.id;
      say(`${g.getAttribute("aria-label").split(";")[0]}: kept.`);
    } catch { say("The notebook does not answer; the pin was not kept. Move it again."); }
  };

  const touches = new Map();
  let drag = null, pan = null, spread = 0, waiting = 0;
  stage.addEventListener("pointerdown", (e) => {
    if (e.button > 0) return;
    touches.set(e.pointerId, e);
    const g = e.target.closest(".pin");
    if (touches.size === 2) { drag = pan = null; const [a, b] = [...touches.values()]; spread = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY); return; }
    svg().setPointerCapture(e.pointerId);
    if (g) { const p = at(e); drag = { g, dx: p.x - g.dataset.x * W, dy: p.y - g.dataset.y * H, moved: false }; g.focus({ preventScroll: true }); e.preventDefault(); }
    else pan = { x: e.clientX, y: e.clientY, from: { ...view }, moved: false };
  });
  stage.addEventListener("pointermove", (e) => {
    if (!touches.has(e.pointerId)) return;
    touches.set(e.pointerId, e);
    if (touches.size === 2) {
      const [a, b] = [...touches.values()], now = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
      if (spread > 0) zoom(now / spread, at({ clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2 }));
      spread = now;
    } else if (drag) {
      const p = at(e);
      drag.moved = true;
      place(drag.g, p.x - drag.dx, p.y - drag.dy);
    } else if (pan && Math.hypot(e.clientX - pan.x, e.clientY - pan.y) > 6) {
      pan.moved = true;
      const px = view.w / svg().clientWidth;
      view.x = clamp(pan.from.x - (e.clientX - pan.x) * px, 0, W - view.w);
      view.y = clamp(pan.from.y - (e.clientY - pan.y) * px, 0, H - view.h);
      size();
    }
  });
  const up = (e) => {
    if (!touches.delete(e.pointerId)) return;
    if (drag && drag.moved && e.type === "pointerup") keep(drag.g);
    else if (pan && !pan.moved && e.type === "pointerup") add(at(e));
    drag = pan = null;
  };
  stage.addEventListener("pointerup", up);
  stage.addEventListener("pointercancel", up);
  stage.addEventListener("wheel", (e) => { e.preventDefault(); zoom(e.deltaY < 0 ? 1.2 : 1 / 1.2, at(e)); }, { passive: false });
  for (const b of document.querySelectorAll("[data-zoom]")) b.addEventListener("click", () => { const f = Number(b.dataset.zoom); if (f) zoom(f); else { view = { x: 0, y: 0, w: W, h: H }; size(); } });

  stage.addEventListener("keydown", (e) => {
    const g = e.target.closest(".pin");
    if (e.key === "+" || e.key === "=") { zoom(1.5); return; }
    if (e.key === "-") { zoom(1 / 1.5); return; }
    const to = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (!g || !to) return;
    e.preventDefault();
    const step = (view.w / 200) * (e.shiftKey ? 10 : 1);
    place(g, g.dataset.x * W + to[0] * step, g.dataset.y * H + to[1] * step);
    clearTimeout(waiting);
    waiting = setTimeout(() => keep(g), 500);
  });

  const add = async (p) => {
    const form = document.querySelector("[data-new-pin]"), body = new URLSearchParams(new FormData(form));
    body.set("x", clamp(p.x / W, 0, 1));
    body.set("y", clamp(p.y / H, 0, 1));
    body.set("key", key());
    try {
      const answer = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } });
      if (!answer.ok) { say("The pin was not kept."); return; }
      sessionStorage.setItem(MEMO, JSON.stringify(view));
      location.reload();
    } catch { say("The notebook does not answer; no pin was put."); }
  };
  const MEMO = "railtally-view" + location.pathname;
  try { view = JSON.parse(sessionStorage.getItem(MEMO)) || view; } catch { /* the whole picture then */ }
  document.addEventListener("railtally:refreshed", size);
  window.addEventListener("resize", size);
  size();
  stage.dataset.ready = "yes";
})();
