// Live digits: what the meters show, as it comes (server-sent events), and
// readings taken from them. Nothing here computes a figure.
(() => {
  "use strict";

  const $ = (sel, root = document) => root.querySelector(sel);
  const $$ = (sel, root = document) => [...root.querySelectorAll(sel)];

  // One stream for the meters that the page shows at the moment. A page that
  // nobody sees lets go, so that meters are not asked for nothing.
  let source = null, wanted = [];
  const leave = () => { if (source) source.close(); source = null; };
  const listen = () => {
    if (source || document.hidden || !wanted.length) return;
    source = new EventSource("/meters/live?" + wanted.map((m) => "meter=" + encodeURIComponent(m)).join("&"));
    source.addEventListener("digits", (e) => { for (const d of JSON.parse(e.data)) show(d); });
    source.addEventListener("error", () => { for (const m of wanted) show({ meter: m, mark: "silent", number: "", unit: "", trouble: "the notebook does not answer" }); });
  };
  const want = (meters) => {
    if (meters.join("\n") === wanted.join("\n")) return;
    wanted = meters;
    leave();
    listen();
  };
  document.addEventListener("visibilitychange", () => { if (document.hidden) leave(); else listen(); });
  window.addEventListener("pagehide", leave);
  window.addEventListener("pageshow", (e) => { if (e.persisted) listen(); });

  const put = (el, text) => { if (el && el.textContent !== text) el.textContent = text; };
  const show = (d) => {
    for (const line of $$("[data-live-meter]")) {
      if (line.dataset.liveMeter !== d.meter) continue;
      const box = line.parentElement;
      box.dataset.mark = d.mark;
      put($("[data-live=number]", box), d.number);
      put($("[data-live=unit]", box), d.unit);
      put($("[data-live=mark]", box), d.mark + (d.trouble ? ": " + d.trouble : ""));
      put($("[data-live=more]", box), d.taking || [d.mean, d.trend, d.rate].filter(Boolean).join(" · "));
      line.dataset.count = d.count || 0;
      line.dataset.arrived = d.arrived || 0;
    }
  };

  const desk = $("[data-live-box]");
  const all = () => $$("[data-live-meter]").map((x) => x.dataset.liveMeter).filter(Boolean);
  want([...new Set(all())]);
  if (!desk) return;

  // The desk: another thing to be read may have another meter, or none.
  // The button's form is not the entry's: Enter keeps what was typed.
  const form = desk.closest("form"), line = $("[data-live-meter]", desk), button = $("[data-take]", desk), input = $("#entry");
  const idle = button.textContent;
  let asking = null;
  const stop = () => { if (asking) asking.abort(); asking = null; button.textContent = idle; };
  document.addEventListener("railtally:desk", (e) => {
    const v = e.detail;
    stop();
    form.elements.take.value = "";
    desk.hidden = !v.live;
    if (line.dataset.liveMeter !== (v.live ? v.meter : "")) for (const x of $$("[data-live]", desk)) x.textContent = "";
    line.dataset.liveMeter = v.live ? v.meter : "";
    $(".live-name", line).textContent = v.meter;
    want(v.live ? [v.meter] : []);
  });

  // What was taken goes into the field, where it is looked at and kept as
  // anything that is typed.
  const take = async () => {
    if (desk.hidden) return;
    if (asking) { stop(); return; }
    const mine = new AbortController(), at = form.elements.at.value, more = $("[data-live=more]", desk);
    asking = mine;
    button.textContent = "Stop averaging";
    try {
      const body = new URLSearchParams({ at, takefor: $("#takefor").value });
      const said = await (await fetch(button.form.action, { method: "POST", body, headers: { Accept: "application/json" }, signal: mine.signal })).json();
      if (form.elements.at.value !== at) return;
      if (!said.ok) { $("[data-kept]").textContent = said.error || "No reading was taken."; return; }
      input.value = said.text;
      form.elements.take.value = said.take || "";
      input.dispatchEvent(new Event("input", { bubbles: true }));
      input.focus();
      $("[data-kept]").textContent = said.said;
      put(more, "");
    } catch (e) {
      if (e.name !== "AbortError") $("[data-kept]").textContent = "The notebook does not answer; no reading was taken.";
    } finally {
      if (asking === mine) stop();
    }
  };
  button.addEventListener("click", (e) => { e.preventDefault(); take(); });
  document.addEventListener("railtally:take", take);
})();
