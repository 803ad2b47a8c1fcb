/* Small helps. Every act works without them. */
"use strict";

/* Going back to a form that could not be taken: what was typed is still there. */
for (const button of document.querySelectorAll("[data-back]")) {
  if (history.length > 1) {
    button.hidden = false;
    button.addEventListener("click", () => history.back());
  }
}

/* What is missing is said beside its field in the page's own words, not by the browser in a bubble. */
for (const form of document.querySelectorAll("form[method=post]")) form.noValidate = true;

/* What is wrong is where one goes on, also where the address names a place on the page. */
if (location.hash) addEventListener("load", () => document.querySelector("[autofocus][aria-invalid=true]")?.focus());

/* The pages, folded away on a phone; Escape folds them again. */
for (const button of document.querySelectorAll("[data-menu]")) {
  const menu = document.getElementById(button.getAttribute("aria-controls"));
  const fold = (open) => {
    menu.classList.toggle("open", open);
    button.setAttribute("aria-expanded", String(open));
  };
  button.addEventListener("click", () => fold(!menu.classList.contains("open")));
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !menu.classList.contains("open")) return;
    fold(false);
    button.focus();
  });
}

/* Drafts: what is typed in a form with data-draft survives a reload and a dead signal, until it was recorded. */
const draftKey = (form) => "draft:" + location.pathname + ":" + form.dataset.draft;
const storage = (() => { try { return window.localStorage; } catch { return null; } })();
const sentKey = "draft-sent";
if (storage) {
  const sent = storage.getItem(sentKey);
  /* A form that was sent and answered with another page has been recorded: its draft has done its work. */
  if (sent && document.querySelector(".told .done")) storage.removeItem(sent);
  storage.removeItem(sentKey);
  for (const form of document.querySelectorAll("form[data-draft]")) {
    const key = draftKey(form);
    const fields = () => [...form.elements].filter((e) => e.name && !["hidden", "password", "file", "submit", "button"].includes(e.type));
    try {
      const kept = JSON.parse(storage.getItem(key) || "null");
      const untouched = !form.querySelector("[aria-invalid]");
      if (kept && untouched) {
        for (const each of fields()) {
          const value = kept[each.name + (each.type === "checkbox" || each.type === "radio" ? "=" + each.value : "")];
          if (value === undefined) continue;
          if (each.type === "checkbox" || each.type === "radio") each.checked = value; else each.value = value;
        }
        form.dispatchEvent(new Event("draft-restored"));
      }
    } catch { storage.removeItem(key); }
    const keep = () => {
      const kept = {};
      for (const each of fields()) {
        if (each.type === "checkbox" || each.type === "radio") kept[each.name + "=" + each.value] = each.checked;
        else kept[each.name] = each.value;
      }
      try { storage.setItem(key, JSON.stringify(kept)); } catch { /* full: nothing to be done */ }
    };
    form.addEventListener("input", keep);
    form.addEventListener("submit", () => { keep(); storage.setItem(sentKey, key); });
  }
}

/* Pick all, and say how many are picked. */
for (const form of document.querySelectorAll("form[data-pick]")) {
  const boxes = () => [...form.querySelectorAll("input[type=checkbox][name=" + form.dataset.pick + "]")];
  const told = form.querySelector("[data-picked]");
  const all = form.querySelector("[data-pick-all]");
  const tell = () => {
    const count = boxes().filter((box) => box.checked).length;
    if (told) told.textContent = count ? String(count) : "";
    for (const box of boxes()) box.closest("tr")?.classList.toggle("picked", box.checked);
  };
  form.addEventListener("change", (event) => {
    if (event.target === all) for (const box of boxes()) box.checked = all.checked;
    tell();
  });
  document.body.addEventListener("htmx:afterSwap", tell);
  tell();
}
