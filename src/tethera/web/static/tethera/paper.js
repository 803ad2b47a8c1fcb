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

/* Scanners end a number with Enter or with Tab. Tab must not carry the cursor off in the middle of a row of scans: typed
   faster than by any hand, it ends the number as Enter does. */
const FASTEST_HAND_MS = 35, FEWEST_LETTERS = 2;
let lastKey = 0, fastKeys = 0;
document.addEventListener("keydown", (event) => {
  const fast = event.timeStamp - lastKey < FASTEST_HAND_MS;
  lastKey = event.timeStamp;
  const box = event.target;
  if (!box.matches?.("[data-scan]") || event.ctrlKey || event.altKey || event.metaKey) { fastKeys = 0; return; }
  if (event.key === "Shift") return;
  if (event.key.length === 1) { fastKeys = fast ? fastKeys + 1 : 0; return; }
  const scanned = event.key === "Tab" && !event.shiftKey && fast && fastKeys >= FEWEST_LETTERS - 1;
  fastKeys = 0;
  if (!scanned) return;
  event.preventDefault();
  if (box.tagName !== "TEXTAREA") { box.form.requestSubmit(); return; }
  box.setRangeText("\n", box.selectionStart, box.selectionEnd, "end");
  box.dispatchEvent(new InputEvent("input", { bubbles: true, inputType: "insertLineBreak" }));
});

/* A link to the page that reads marks takes along what its form has ticked and typed. */
for (const link of document.querySelectorAll("a[data-carry]")) {
  const plain = link.href;
  link.addEventListener("click", () => {
    const names = link.dataset.carry.split(" ");
    const told = [...link.closest("form").elements].filter((e) => names.includes(e.name) && (e.type !== "checkbox" || (e.checked && !e.disabled)));
    const have = told.map((e) => e.value.trim()).filter(Boolean).join(" ");
    link.href = have ? plain + "&have=" + encodeURIComponent(have) : plain;
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
    /* What the address says is what somebody has just chosen, and goes before what was typed earlier. */
    const told = new Set((form.dataset.told || "").split(" ").filter(Boolean));
    const fields = () => [...form.elements].filter((e) => e.name && !["hidden", "password", "file", "submit", "button"].includes(e.type));
    try {
      const kept = JSON.parse(storage.getItem(key) || "null");
      const untouched = !form.querySelector("[aria-invalid]");
      if (kept && untouched) {
        for (const each of fields()) {
          if (told.has(each.name)) continue;
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
    if (told.size) {
      /* Once: after a reload the draft knows better than the address. */
      keep();
      history.replaceState(null, "", location.pathname + location.hash);
    }
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
