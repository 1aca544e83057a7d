// Sliders and live figures of the cooling page. The form works without this: it
// is sent, and the page comes back. With it, the answer follows each movement and
// the address with it, so that it can be copied and the back button takes a step
// back.
(() => {
  "use strict";

  const box = document.querySelector("[data-cooling]");
  const form = document.getElementById("cooling-form");
  if (!box || !form) return;
  const sliderOf = (field) => field.parentElement.querySelector(".cool-slide");
  const fieldOf = (slider) => slider.parentElement.querySelector("[name]");

  for (const s of form.querySelectorAll(".cool-slide")) s.hidden = false;

  // The address that says what the form says; empty fields are left out.
  const address = () => {
    const q = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (value.trim() !== "") q.append(name, value.trim());
    return `${box.dataset.cooling}?${q}`;
  };

  let running = null;
  const show = async (url) => {
    if (running) running.abort();
    const mine = running = new AbortController();
    box.classList.add("busy");
    try {
      const answer = await fetch(url, { headers: { "HX-Request": "true" }, cache: "no-store", signal: mine.signal });
      if (!answer.ok) { location.assign(url); return; }
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (mine.signal.aborted) return;
      for (const id of ["cooling-now", "cooling-live"]) {
        const next = fresh.getElementById(id);
        if (next) document.getElementById(id).replaceChildren(...next.childNodes);
      }
      for (const p of fresh.querySelectorAll(".said-of")) {
        const old = document.getElementById(p.id);
        if (!old) continue;
        if (old.innerHTML !== p.innerHTML || old.className !== p.className) { old.className = p.className; old.replaceChildren(...p.childNodes); }
        const field = old.parentElement.querySelector("[name]");
        const wrong = p.classList.contains("fault");
        old.parentElement.classList.toggle("wrong", wrong);
        if (wrong) field.setAttribute("aria-invalid", "true"); else field.removeAttribute("aria-invalid");
      }
      if (running === mine) box.classList.remove("busy");
      document.dispatchEvent(new CustomEvent("railtally:cooling"));
    } catch (e) {
      if (e.name === "AbortError") return;
      box.classList.remove("busy");
      document.dispatchEvent(new CustomEvent("railtally:online", { detail: false }));
    }
  };

  // One request at a time: while one runs, the latest wish waits.
  let timer = 0;
  const soon = (delay) => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      const url = address();
      history.replaceState(null, "", url);
      show(url);
    }, delay);
  };

  // The first movement of a gesture begins a new step of the history, the rest
  // of it stays in that step.
  let gesture = false;
  const step = () => {
    if (gesture) return;
    gesture = true;
    history.pushState(null, "", address());
  };

  const clear = (field) => {
    for (const name of (field.dataset.clears || "").split(" ").filter(Boolean)) {
      const other = form.elements.namedItem(name);
      if (other && other.value !== "") { other.value = ""; settle(other); }
    }
  };

  // A slider stands where its field says, or where things are when it is empty.
  const settle = (field) => {
    const s = sliderOf(field);
    if (!s) return;
    const text = field.value.trim();
    if (text === "") { s.value = s.dataset.now; return; }
    const m = text.replace(",", ".").replace("−", "-").match(/^([-+]?[0-9.]+)\s*(.*)$/);
    if (m && (m[2] === "" || m[2] === s.dataset.unit)) s.value = m[1];
  };

  form.addEventListener("input", (e) => {
    const el = e.target;
    step();
    if (el.classList.contains("cool-slide")) {
      const field = fieldOf(el);
      field.value = el.dataset.unit ? `${el.value} ${el.dataset.unit}` : el.value;
      clear(field);
      soon(30);
    } else {
      settle(el);
      if (el.value.trim() !== "") clear(el);
      soon(el.tagName === "SELECT" ? 0 : 250);
    }
  });
  form.addEventListener("change", () => { gesture = false; });
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    gesture = false;
    soon(0);
  });

  const set = (url) => {
    const q = new URL(url, location.href).searchParams;
    for (const field of form.querySelectorAll("[name]")) {
      if (field.type === "hidden") continue;
      field.value = q.get(field.name) || "";
      settle(field);
    }
  };
  window.addEventListener("popstate", () => { gesture = false; set(location.href); show(location.href); });

  // A candidate, or "As it is", fills the form; another board is another page.
  box.addEventListener("click", (e) => {
    const a = e.target.closest(".cool-table th a, a[data-reset]");
    if (!a || e.defaultPrevented || e.button !== 0 || e.metaKey || e.ctrlKey || e.shiftKey || e.altKey) return;
    e.preventDefault();
    history.pushState(null, "", a.href);
    set(a.href);
    show(a.href);
  });
})();
