// The plot of a trace: moves and zooms at any size by fetching what each view
// shows, and a window whose edges move by mouse, finger and keyboard. Figures
// come from the notebook; nothing is computed here.
(() => {
  "use strict";
  const stage = document.getElementById("trace-stage");
  if (!stage || !window.uPlot) return;
  const d = stage.dataset, begin = +d.begin, end = +d.end;
  const from = document.getElementById("wfrom"), to = document.getElementById("wto"), form = document.getElementById("window-form");
  const colour = (name) => getComputedStyle(document.body).getPropertyValue(name).trim();
  const plain = (t) => String(Math.round(t * 1e6) / 1e6);
  const clamp = (x, lo, hi) => Math.min(Math.max(x, lo), hi);
  let view = [+d.from, +d.to];

  const svg = stage.querySelector(".trace-plain"), box = document.createElement("div");
  const height = () => (stage.clientWidth < 500 ? 240 : 340);
  const axis = () => ({ stroke: colour("--muted"), grid: { stroke: colour("--line"), width: 1 }, ticks: { stroke: colour("--line"), width: 1 }, font: "13px " + getComputedStyle(document.body).fontFamily });
  const options = () => ({
    width: stage.clientWidth, height: height(), legend: { show: false },
    cursor: { drag: { x: false, y: false, setScale: false }, points: { show: false } },
    scales: { x: { time: false } },
    axes: [axis(), { ...axis(), size: 64 }],
    series: [{}, { stroke: colour("--accent"), width: 0.5, points: { show: false } }, { stroke: colour("--accent"), width: 0.5, points: { show: false } },
      { stroke: colour("--accent"), width: 1.5, points: { show: false } }],
    bands: [{ series: [2, 1], fill: colour("--accent-soft") }],
    hooks: { draw: [() => place()] },
  });
  let plot = null;

  // One request at a time; the newest wish wins.
  let busy = false, again = false;
  const load = async () => {
    if (busy) { again = true; return; }
    busy = true;
    try {
      const asked = view.slice(), width = Math.max(100, Math.round(stage.clientWidth * Math.min(devicePixelRatio || 1, 2)));
      const q = new URLSearchParams({ channel: d.channel, factor: d.factor, from: asked[0], to: asked[1], width });
      const answer = await fetch(d.view + "?" + q, { headers: { Accept: "application/json" } });
      if (!answer.ok) return;
      const x = await answer.json(), data = [x.t, x.min, x.max, x.mean];
      if (!plot) {
        plot = new window.uPlot(options(), data, box);
        svg.replaceWith(box);
        ready();
      } else {
        plot.setData(data, false);
      }
      plot.batch(() => { plot.setScale("x", { min: view[0], max: view[1] }); range(x); });
      stage.dataset.shown = plain(asked[0]) + " " + plain(asked[1]);
    } finally {
      busy = false;
      if (again) { again = false; load(); }
    }
  };
  const range = (x) => {
    let lo = Infinity, hi = -Infinity;
    for (const v of x.min) if (v !== null && v < lo) lo = v;
    for (const v of x.max) if (v !== null && v > hi) hi = v;
    if (lo > hi) return;
    const pad = (hi - lo) * 0.05 || Math.abs(hi) * 0.01 || 1;
    plot.setScale("y", { min: lo - pad, max: hi + pad });
  };
  const show = (a, b) => {
    const least = Math.max((end - begin) * 1e-9, 1e-6), span = clamp(b - a, least, Math.max(end - begin, least));
    a = clamp(a, begin, Math.max(end - span, begin));
    view = [a, a + span];
    if (plot) plot.setScale("x", { min: view[0], max: view[1] });
    load();
  };
  const zoom = (factor, at) => {
    if (!factor) return show(begin, end);
    const c = at === undefined ? (view[0] + view[1]) / 2 : at;
    show(c - (c - view[0]) * factor, c + (view[1] - c) * factor);
  };
  const pan = (part) => { const w = (view[1] - view[0]) * part; show(view[0] + w, view[1] + w); };

  // The window.
  const band = document.createElement("div"), edges = [from, to].map((field, i) => {
    const b = document.createElement("button");
    b.type = "button";
    b.className = "win-edge";
    b.setAttribute("role", "slider");
    b.setAttribute("aria-label", i ? "End of the window, seconds" : "Beginning of the window, seconds");
    b.setAttribute("aria-valuemin", plain(begin));
    b.setAttribute("aria-valuemax", plain(end));
    return b;
  });
  band.className = "win";
  const place = () => {
    if (!plot || !band.parentNode) return;
    const a = +from.value, b = +to.value, px = (t) => plot.valToPos(t, "x"), w = plot.over.clientWidth;
    const l = clamp(px(a), 0, w), r = clamp(px(b), 0, w);
    band.style.left = l + "px";
    band.style.width = Math.max(r - l, 0) + "px";
    edges.forEach((e, i) => {
      const t = i ? b : a, x = px(t);
      e.style.left = clamp(x, 0, w) + "px";
      e.hidden = x < -1 || x > w + 1;
      e.setAttribute("aria-valuenow", plain(t));
      e.setAttribute("aria-valuetext", plain(t) + " s");
    });
  };
  let told = 0;
  const tell = () => {
    clearTimeout(told);
    told = setTimeout(() => window.htmx.ajax("GET", d.window + "?" + new URLSearchParams({ channel: d.channel, wfrom: from.value, wto: to.value }),
      { target: "#window-part", swap: "outerHTML" }), 250);
  };
  const move = (i, t) => {
    const least = Math.max((view[1] - view[0]) / 2000, 1e-6);
    t = i ? clamp(t, +from.value + least, end) : clamp(t, begin, +to.value - least);
    (i ? to : from).value = plain(t);
    place();
    tell();
  };

  const ready = () => {
    document.querySelector(".trace-zoom").hidden = false;
    const over = plot.over;
    over.tabIndex = 0;
    over.setAttribute("role", "group");
    over.setAttribute("aria-label", "Plot; arrow keys move it, + and − zoom");
    over.append(band, ...edges);
    const timeAt = (e) => plot.posToVal(e.clientX - over.getBoundingClientRect().left, "x");
    edges.forEach((b, i) => {
      b.addEventListener("pointerdown", (e) => { e.stopPropagation(); e.preventDefault(); b.setPointerCapture(e.pointerId); b.focus({ preventScroll: true }); });
      b.addEventListener("pointermove", (e) => { if (b.hasPointerCapture(e.pointerId)) move(i, timeAt(e)); });
      b.addEventListener("keydown", (e) => {
        const step = (view[1] - view[0]) * (e.shiftKey ? 0.05 : 0.005), now = +(i ? to : from).value;
        const by = { ArrowLeft: -step, ArrowDown: -step, ArrowRight: step, ArrowUp: step }[e.key];
        if (by) move(i, now + by);
        else if (e.key === "Home") move(i, view[0]);
        else if (e.key === "End") move(i, view[1]);
        else return;
        e.preventDefault();
        e.stopPropagation();
      });
    });
    over.addEventListener("keydown", (e) => {
      const act = { ArrowLeft: () => pan(-0.1), ArrowRight: () => pan(0.1), "+": () => zoom(0.5), "-": () => zoom(2), 0: () => zoom(0) }[e.key];
      if (act) { act(); e.preventDefault(); }
    });
    over.addEventListener("wheel", (e) => { e.preventDefault(); zoom(Math.pow(1.0015, e.deltaY), timeAt(e)); }, { passive: false });
    // One pointer moves, two zoom.
    const down = new Map();
    over.addEventListener("pointerdown", (e) => { if (e.target.closest(".win-edge")) return; over.setPointerCapture(e.pointerId); down.set(e.pointerId, e.clientX); });
    for (const gone of ["pointerup", "pointercancel"]) over.addEventListener(gone, (e) => down.delete(e.pointerId));
    over.addEventListener("pointermove", (e) => {
      if (!down.has(e.pointerId)) return;
      const left = over.getBoundingClientRect().left, per = (view[1] - view[0]) / over.clientWidth, was = down.get(e.pointerId);
      if (down.size === 1) show(view[0] - (e.clientX - was) * per, view[1] - (e.clientX - was) * per);
      if (down.size === 2) {
        const other = [...down].find(([id]) => id !== e.pointerId)[1], old = Math.abs(was - other), now = Math.abs(e.clientX - other);
        if (old > 8 && now > 8) zoom(old / now, view[0] + ((e.clientX + other) / 2 - left) * per);
      }
      down.set(e.pointerId, e.clientX);
    });
  };
  for (const b of document.querySelectorAll(".trace-zoom button")) b.addEventListener("click", () => { if (b.dataset.pan) pan(+b.dataset.pan); else zoom(+b.dataset.zoom); });
  form.addEventListener("submit", (e) => { e.preventDefault(); if (+from.value < +to.value) { place(); tell(); } });
  let width = stage.clientWidth;
  new ResizeObserver(() => {
    if (!plot || stage.clientWidth === width) return;
    width = stage.clientWidth;
    plot.setSize({ width, height: height() });
    load();
  }).observe(stage);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => location.reload());
  load();
})();
