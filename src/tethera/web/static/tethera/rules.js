/* A link is copied with one touch where the browser lets us; without this it is selected by hand. */
"use strict";
for (const button of document.querySelectorAll("[data-copy]")) {
  const field = document.getElementById(button.dataset.copy);
  field.addEventListener("focus", () => field.select?.());
  if (!navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    field.select?.();
    try { await navigator.clipboard.writeText(field.value); } catch { /* it is selected: copied by hand */ }
  });
}
