/* A number written or scanned ticks its rope; what was ticked outlives a dead signal. Without this file the ticks and
   the numbers are sent all the same. */
"use strict";

for (const form of document.querySelectorAll("form.walk")) {
  const numbers = form.querySelector("textarea[name=numbers]");
  const said = form.querySelector("[data-said]");
  const boxes = new Map([...form.querySelectorAll("input[name=rope]")].map((box) => [box.value, box]));

  const boxOf = (word) => {
    /* A scanner may say first which kind of code it read: ]Q1UG41. */
    const plain = word.replace(/^\][A-Za-z]\d/, "").replace(/^.*\/ropes\/([A-Za-z0-9]+).*$/, "$1").replace(/[^A-Za-z0-9]/g, "").toUpperCase();
    return boxes.get(plain) || boxes.get(form.dataset.code + plain.replace(/^0+/, ""));
  };

  const tick = () => {
    const left = [], ticked = [];
    for (const word of numbers.value.replace(/\b([A-Za-z]{1,5})[ -]+(?=\d)/g, "$1").split(/[\s,;]+/).filter(Boolean)) {
      const box = boxOf(word);
      if (!box) { left.push(word); continue; }
      box.checked = true;
      ticked.push(box.value);
    }
    if (!ticked.length) return;
    numbers.value = left.length ? left.join(" ") + " " : "";
    said.textContent = form.dataset.ticked + " " + ticked.join(", ");
    /* So that the count is told and the draft is kept. */
    boxes.get(ticked[0]).dispatchEvent(new Event("change", { bubbles: true }));
    form.dispatchEvent(new Event("input"));
  };

  numbers.addEventListener("input", (event) => {
    if (event.inputType === "insertLineBreak" || /[\s,;]$/.test(numbers.value)) tick();
  });
  numbers.addEventListener("change", tick);
  if (form.dataset.told) tick();

  form.addEventListener("submit", (event) => {
    if (navigator.onLine) return;
    event.preventDefault();
    said.textContent = form.dataset.noSignal;
    said.classList.add("hand");
    said.scrollIntoView({ block: "center" });
  });
}

/* The page that records is another form than the one whose draft it answers. */
for (const form of document.querySelectorAll("form[data-draft-of]")) {
  form.addEventListener("submit", (event) => {
    if (event.submitter?.value !== "record") return;
    try {
      localStorage.setItem("draft-sent", "draft:" + location.pathname + ":" + form.dataset.draftOf);
    } catch { /* nothing was kept, so nothing need be forgotten */ }
  });
}
