// What a tap does not need is put away, and what is struck out looks so. The
// form says the same without it.
(() => {
  "use strict";
  const needs = {
    clamp: ["turns", "loop", "meter", "reversed"],
    shunt: ["loop", "resistor", "meter", "reversed"],
    "sense resistor": ["resistor", "meter", "reversed"],
    inductor: ["resistor", "resistorref", "winding", "meter", "reversed"],
    "series meter": ["loop", "reversed"],
    "not opened": ["bound"],
  };
  for (const tap of document.querySelectorAll("[data-tap]")) {
    const way = tap.querySelector("select[name^='way.']");
    if (!way) continue;
    const show = () => {
      let kind = way.value, named = false;
      try { const parts = JSON.parse(way.value); kind = parts[0]; named = parts[1] !== ""; } catch { /* it is plain text */ }
      const shown = needs[kind] || [];
      for (const field of tap.querySelectorAll(".field")) {
        const input = field.querySelector("[name]"), name = input.name.split(".")[0];
        if (name === "way" || name === "phase") continue;
        field.hidden = !shown.includes(name) || (name === "resistor" && named);
      }
    };
    way.addEventListener("change", show);
    show();
  }
  for (const box of document.querySelectorAll(".states-grid input[type=checkbox]")) {
    box.addEventListener("change", () => box.closest("tr").classList.toggle("struck", !box.checked));
  }
})();
