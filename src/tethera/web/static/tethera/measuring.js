/* Counting off a rope. Every tap is kept on the phone at once; what it comes to is worked out from the taps. */
"use strict";

(() => {
  const counter = document.getElementById("counter");
  const kept = window.kept;
  const { store, rope, person, name, url } = counter.dataset;
  const agree = Number(counter.dataset.agree);
  const key = "count:" + store + ":" + rope;
  const worth = { m: 100, d: 10, c: 1 };
  const view = (which) => counter.querySelector("[data-view='" + which + "']");
  const text = (which, values = {}) =>
    counter.querySelector("[data-text='" + which + "']").textContent.replace(/\{(\w+)\}/g, (_, each) => values[each] ?? "");
  const newToken = () => [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
  /* A drop of water or a trembling finger taps twice; nobody pulls a metre of rope in a fifth of a second. */
  const bounceMs = 200;

  const fresh = () => ({ taps: "", once: newToken(), mass: "" });
  let state = kept.read(key) || fresh();
  let lastTap = -Infinity;
  let lock = null;
  let shut = false;
  let justSent = false;

  const metres = (cm) => (cm % 100 ? (cm / 100).toFixed(2).replace(/0$/, "") : String(cm / 100));
  const withUnit = (cm) => metres(cm) + "\u202fm";
  const counts = () => state.taps.split("|").map((taps) => [...taps].reduce((sum, tap) => sum + worth[tap], 0));
  const finished = () => counts().slice(0, -1);

  /* The two nearest decide if they agree, the lower of them counts; the store works it out anew when it records. */
  const settle = (done) => {
    let best = null;
    for (let one = 0; one < done.length; one++) {
      for (let other = one + 1; other < done.length; other++) {
        const apart = Math.abs(done[one] - done[other]);
        const low = Math.min(done[one], done[other]);
        if (!best || apart < best.apart || (apart === best.apart && low < best.low)) best = { one, other, apart, low };
      }
    }
    return best && best.apart <= agree ? best : null;
  };
  const isOver = () => finished().length >= 3 || (finished().length === 2 && settle(finished()) !== null);

  const keep = () => {
    const warned = counter.querySelector("[data-answer]");
    if (!kept.write(key, state) && !shut) {
      shut = true;
      const line = document.createElement("p");
      line.className = "doubt";
      line.setAttribute("role", "alert");
      line.textContent = kept.text("full");
      counter.prepend(line);
    }
    warned.hidden = true;
  };

  const say = (done) => {
    const shown = done.map(withUnit);
    const listed = shown.slice(0, -1).join(", ") + (shown.length > 1 ? " · " : "") + shown[shown.length - 1];
    const found = settle(done);
    if (!found) return text("none", { counts: listed });
    if (done.length === 2) return text("agree", { counts: listed });
    const ordinals = text("ordinals").split(",");
    return text("third", { counts: listed, one: ordinals[found.one], other: ordinals[found.other] });
  };

  const show = () => {
    const waiting = kept.has(kept.prefix + state.once);
    const over = isOver();
    const phase = Math.min(finished().length, 2);
    view("counting").hidden = waiting || over || justSent;
    view("result").hidden = waiting || !over || justSent;
    view("kept").hidden = !waiting;
    view("sent").hidden = waiting || !justSent;
    const counting = !view("counting").hidden && !document.getElementById("written").open;
    document.documentElement.classList.toggle("counting", counting);
    for (const each of counter.querySelectorAll("[data-phase]")) each.hidden = Number(each.dataset.phase) !== phase;
    for (const each of counter.querySelectorAll("[data-done]")) each.hidden = Number(each.dataset.done) !== phase;
    const current = counts()[counts().length - 1];
    const shown = counter.querySelector("[data-count]");
    shown.textContent = metres(current);
    shown.parentElement.classList.toggle("longer", metres(current).length > 4);
    counter.querySelector("[data-op='|']").disabled = current === 0;
    for (const each of counter.querySelectorAll("[data-op='undo']")) each.disabled = !state.taps;
    if (over) {
      const done = finished();
      const found = settle(done);
      counter.querySelector("[data-say]").textContent = say(done);
      counter.querySelector("[data-result]").textContent = withUnit(found ? found.low : Math.min(...done));
    }
  };

  const wake = async () => {
    if (lock || !navigator.wakeLock || document.hidden || !state.taps || isOver()) return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } catch { lock = null; /* a nearly empty battery says no */ }
  };
  const rest = () => { if (lock) lock.release(); };

  const tap = (op) => {
    const wasOver = isOver();
    if (op === "undo") state.taps = state.taps.slice(0, -1);
    else if (wasOver) return;
    else {
      const now = performance.now();
      if (now - lastTap < bounceMs) return;
      lastTap = now;
      state.taps += op;
      if (navigator.vibrate) navigator.vibrate(op === "|" ? [40, 60, 40] : 30);
    }
    keep();
    show();
    if (isOver() && !wasOver) { rest(); view("result").focus(); } else wake();
  };

  const today = () => {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
  };

  const record = async (pressed) => {
    pressed.disabled = true;
    const done = finished();
    const fields = { once: state.once, counted_by: person, happened: today(), mass: state.mass };
    done.forEach((cm, place) => { fields["count_" + (place + 1)] = cm + " cm"; });
    const place = kept.prefix + state.once;
    kept.write(place, { rope, url, name, fields, count: key, counts: done.map(withUnit).join(", ") });
    const answer = await kept.send(place, false);
    pressed.disabled = false;
    if (answer && answer.done) {
      kept.forget(key);
      location.assign(answer.next || counter.dataset.choose);
      return;
    }
    if (answer && answer.wrong) {
      /* The store read it and could not take it as it is: mend it here. */
      kept.forget(place);
      const told = counter.querySelector("[data-answer]");
      told.textContent = answer.told;
      told.hidden = false;
      return;
    }
    kept.show();
    view("kept").focus();
  };

  counter.addEventListener("click", (event) => {
    const pressed = event.target.closest("button");
    if (!pressed) return;
    if (pressed.dataset.op) tap(pressed.dataset.op);
    else if (pressed.hasAttribute("data-record")) record(pressed);
    else if (pressed.hasAttribute("data-once-more")) { justSent = false; show(); }
    else if (pressed.hasAttribute("data-again") && window.confirm(text("sure"))) { state = fresh(); keep(); show(); }
  });

  /* Space, Enter and + count from anywhere on the page that has no use of its own for them. */
  const counts_here = (event) => {
    const on = event.target;
    if (event.ctrlKey || event.metaKey || event.altKey || view("counting").hidden) return false;
    if (![" ", "Enter", "+"].includes(event.key)) return false;
    if (on.closest("input, textarea, select, a, summary")) return false;
    return event.key === "+" || !on.closest("button") || on.closest(".plus") !== null;
  };
  document.addEventListener("keydown", (event) => {
    if (!counts_here(event)) return;
    event.preventDefault();
    if (!event.repeat) tap("m");
  });
  document.addEventListener("keyup", (event) => { if (event.key === " " && counts_here(event)) event.preventDefault(); });

  const mass = document.getElementById("kept_mass");
  mass.addEventListener("input", () => { state.mass = mass.value; keep(); });

  const again = () => {
    state = kept.read(key) || fresh();
    mass.value = state.mass || "";
    show();
    wake();
  };
  document.addEventListener("visibilitychange", () => { if (!document.hidden) wake(); });
  window.addEventListener("pageshow", (event) => { if (event.persisted) again(); });
  window.addEventListener("storage", (event) => { if (event.key === key) again(); });
  /* When kept counts of this rope have gone out, the next count begins from nothing. */
  document.addEventListener("kept-changed", () => {
    if (!view("kept").hidden && !kept.has(kept.prefix + state.once)) {
      justSent = true;
      again();
      view("sent").focus();
    } else show();
  });

  const written = document.getElementById("written");
  if (!written.querySelector("[aria-invalid]")) written.open = false;
  written.addEventListener("toggle", show);
  counter.hidden = false;
  again();
})();
