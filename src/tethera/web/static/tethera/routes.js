/* The table of a route: keys as in a spreadsheet, rows added and moved, and what is typed survives a reload. */
"use strict";
(() => {
  const form = document.getElementById("route-form");
  const draftKey = "route:" + location.pathname;
  const storage = (() => { try { return window.localStorage; } catch { return null; } })();
  const sent = storage?.getItem("route-sent");
  if (sent && document.querySelector(".told .done")) storage.removeItem(sent);
  storage?.removeItem("route-sent");
  if (!form) return;
  const table = form.querySelector("[data-pitches]");
  const undo = form.querySelector("[data-undo]");
  let next = table.querySelectorAll("tbody.pitch-row").length, taken = null;
  const redraw = () => form.dispatchEvent(new Event("redraw"));
  const rows = () => [...table.querySelectorAll(":scope > tbody.pitch-row")];

  const fresh = (id, pitch, row) => {
    const made = document.getElementById(id).content.cloneNode(true);
    for (const each of made.querySelectorAll("*")) for (const at of ["id", "name", "for", "value", "data-row"]) {
      const words = each.getAttribute(at);
      if (words?.includes("__")) each.setAttribute(at, words.replaceAll("__P__", pitch).replaceAll("__R__", row));
    }
    return made.querySelector(id === "new-pitch" ? "tbody" : "tr");
  };
  const addPitch = (after) => {
    const row = fresh("new-pitch", String(next++), "");
    (after || rows().at(-1))?.after(row);
    if (!row.isConnected) table.append(row);
    row.querySelector("[data-column=name]").focus();
    return row;
  };
  form.querySelector("[data-add]").addEventListener("click", (event) => { event.preventDefault(); addPitch(); });
  undo.addEventListener("click", () => {
    if (!taken) return;
    const [row, parent, before] = taken;
    parent.insertBefore(row, before?.parentNode === parent ? before : null);
    taken = null;
    undo.hidden = true;
    redraw();
  });
  const takeOut = (row) => {
    taken = [row, row.parentNode, row.nextSibling];
    row.remove();
    undo.hidden = false;
    if (!rows().length) addPitch();
    redraw();
  };
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.matches("[data-out]")) { event.preventDefault(); takeOut(button.closest("tbody.pitch-row")); }
    if (button.matches("[data-out-below]")) { event.preventDefault(); takeOut(button.closest("tr")); }
    if (button.matches("[data-more]")) {
      event.preventDefault();
      const pitch = button.closest("tbody.pitch-row");
      const body = pitch.querySelector(button.dataset.more === "anchor" ? "[data-anchors] tbody" : "[data-editions] tbody");
      const row = fresh("new-" + button.dataset.more, pitch.dataset.row, String(next++));
      body.append(row);
      row.querySelector("select, input").focus();
    }
  });

  /* Enter and the arrows go up and down in the column; Alt and an arrow moves the pitch. */
  form.addEventListener("keydown", (event) => {
    const cell = event.target;
    if (!cell.matches?.("input[data-column]")) {
      if (event.key === "Enter" && cell.matches?.("input:not([type=checkbox])")) event.preventDefault();
      return;
    }
    const up = event.key === "ArrowUp", down = event.key === "ArrowDown" || event.key === "Enter";
    if (!up && !down) return;
    event.preventDefault();
    const pitch = cell.closest("tbody.pitch-row");
    if (event.altKey && event.key !== "Enter") {
      const other = up ? pitch.previousElementSibling : pitch.nextElementSibling;
      if (other?.matches("tbody.pitch-row")) { if (up) other.before(pitch); else other.after(pitch); cell.focus(); redraw(); }
      return;
    }
    const column = [...form.querySelectorAll(`[data-column="${cell.dataset.column}"]`)].filter((one) => one.offsetParent);
    const there = column[column.indexOf(cell) + (up ? -1 : 1)];
    if (there) { there.focus(); there.select(); }
    else if (event.key === "Enter" && !cell.closest("[data-below]")) addPitch();
  });

  /* What was unfolded stays so when what a pitch takes is written anew. */
  const open = new Set();
  form.addEventListener("toggle", (event) => {
    const says = event.target.closest(".says");
    if (says && event.target.matches("[data-why]")) open[event.target.open ? "add" : "delete"](says.id);
  }, true);
  document.body.addEventListener("htmx:oobAfterSwap", (event) => {
    const says = event.detail.target;
    if (open.has(says.id)) says.querySelector("[data-why]")?.setAttribute("open", "");
    const pitch = says.closest("tbody.pitch-row");
    pitch?.querySelectorAll("[aria-invalid]").forEach((one) => one.removeAttribute("aria-invalid"));
    for (const error of says.querySelectorAll(".error")) {
      const { row, number, key } = error.dataset;
      const below = row === "pitch" ? null : [...pitch.querySelectorAll(`[data-${row}s] [data-below]`)][Number(number)];
      (below || pitch).querySelector(`[name$=".${key}"]`)?.setAttribute("aria-invalid", "true");
    }
  });

  /* Kept on this device until it is kept in the record. */
  const typed = () => [...new FormData(form)].filter(([name, value]) => typeof value === "string" && !["csrfmiddlewaretoken", "once"].includes(name));
  const first = JSON.stringify(typed());
  const kept = storage?.getItem(draftKey);
  const offer = document.querySelector("[data-kept-here]");
  if (kept && kept !== first && !document.querySelector("[role=alert]")) {
    offer.hidden = false;
    offer.querySelector("[data-forget]").addEventListener("click", () => { storage.removeItem(draftKey); offer.hidden = true; });
    offer.querySelector("[data-take-up]").addEventListener("click", () => {
      const again = document.createElement("form");
      again.method = "post";
      const more = [["csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value], ["act", "draw"]];
      for (const [name, value] of [...JSON.parse(kept), ...more]) {
        const input = document.createElement("input");
        [input.type, input.name, input.value] = ["hidden", name, value];
        again.append(input);
      }
      document.body.append(again);
      again.submit();
    });
  }
  const keep = () => { try { storage?.setItem(draftKey, JSON.stringify(typed())); } catch { /* full */ } };
  form.addEventListener("input", keep);
  form.addEventListener("redraw", keep);
  form.addEventListener("submit", () => storage?.setItem("route-sent", draftKey));
})();
