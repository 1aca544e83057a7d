// A log may be dropped on the form instead of chosen.
(() => {
  "use strict";
  const form = document.querySelector("[data-drop]");
  if (!form) return;
  const input = form.querySelector("input[type=file]"), said = form.querySelector("[data-drop-said]");
  const over = (on) => (e) => { e.preventDefault(); form.classList.toggle("over", on); };
  form.addEventListener("dragover", over(true));
  form.addEventListener("dragleave", over(false));
  form.addEventListener("drop", (e) => {
    over(false)(e);
    if (!e.dataTransfer.files.length) return;
    input.files = e.dataTransfer.files;
    form.requestSubmit();
  });
  form.addEventListener("submit", () => {
    said.textContent = "Being sent to the notebook …";
    form.querySelector("button").disabled = true;
  });
})();
