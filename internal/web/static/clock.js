// The clock of the bench: how old the zero is, and how long the state on the desk
// has been set.
(() => {
  "use strict";

  let desk = null; // what is to be read now
  const ARRIVED = "railtally-arrived";
  // When a state came onto the desk: from then on it settles, whatever was read.
  const arrived = (v) => {
    let all = {};
    try { all = JSON.parse(sessionStorage.getItem(ARRIVED) || "{}"); } catch { /* begun anew */ }
    if (!all[v.visit]) {
      all[v.visit] = Date.now();
      try { sessionStorage.setItem(ARRIVED, JSON.stringify(all)); } catch { /* a reload then begins anew */ }
    }
    return all[v.visit];
  };
  const ago = (t) => (t ? (Date.now() - new Date(t).getTime()) / 1000 : NaN);
  const said = (s) => (s < 90 ? `${Math.round(s)} s` : s < 5400 ? `${Math.round(s / 60)} min` : s < 172800 ? `${Math.round(s / 3600)} h` : `${Math.round(s / 86400)} days`);

  const tick = () => {
    const c = document.querySelector("[data-clock]");
    if (!c) return;
    const zero = ago(c.dataset.zero), stale = Number(c.dataset.stale), settle = Number(c.dataset.settle);
    const begun = ago(c.dataset.step), here = desk && desk.state ? (Date.now() - arrived(desk)) / 1000 : NaN;
    const step = here >= 0 && begun >= 0 ? Math.max(begun, here) : here >= 0 ? here : begun;
    const parts = [];
    c.classList.remove("warn");
    if (zero >= 0) {
      parts.push(`Zero ${said(zero)} old`);
      if (zero > stale) { parts[0] += ": take a fresh one before you read on"; c.classList.add("warn"); }
      else if (zero > 0.8 * stale) { parts[0] += `; fresh until ${said(stale)}`; c.classList.add("warn"); }
    } else if (stale > 0 && c.dataset.text) parts.push(c.dataset.text.replace(/\.$/, ""));
    if (step >= 0 && step < settle) parts.push(`${desk && desk.state ? desk.state : "state"} set ${said(step)} ago: give it ${said(settle)} to settle`);
    else if (step >= 0) parts.push(`state set ${said(step)} ago`);
    if (parts.length) c.textContent = parts.join(" · ");
  };

  document.addEventListener("railtally:refreshed", tick);
  document.addEventListener("railtally:desk", (e) => { desk = e.detail; tick(); });
  tick();
  setInterval(tick, 5000);
})();
