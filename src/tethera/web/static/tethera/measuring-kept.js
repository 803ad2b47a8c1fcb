/* Counts that wait on the phone until they are recorded: they are sent when there is a signal, and count once. */
"use strict";

window.kept = (() => {
  const section = document.getElementById("kept");
  const sent = document.getElementById("sent");
  const store = section.dataset.store;
  const prefix = "kept:" + store + ":";
  const text = (name, values = {}) =>
    section.querySelector("[data-text='" + name + "']").textContent.replace(/\{(\w+)\}/g, (_, key) => values[key] ?? "");
  let storage = null;
  try { storage = window.localStorage; } catch { /* shut: said where something should be kept */ }
  /* Without storage the counts live as long as the page. */
  const memory = new Map();
  const troubles = new Map();
  const sending = new Set();

  const read = (key) => {
    try { return JSON.parse(memory.get(key) ?? (storage && storage.getItem(key)) ?? "null"); } catch { return null; }
  };
  const write = (key, value) => {
    const words = JSON.stringify(value);
    try { storage.setItem(key, words); memory.delete(key); return true; } catch { memory.set(key, words); return false; }
  };
  const forget = (key) => {
    memory.delete(key);
    try { storage.removeItem(key); } catch { /* nothing there */ }
  };
  const keys = () => {
    const found = new Set([...memory.keys()].filter((key) => key.startsWith(prefix)));
    try { for (let i = 0; i < storage.length; i++) if (storage.key(i).startsWith(prefix)) found.add(storage.key(i)); } catch { /* none */ }
    return [...found].filter((key) => read(key));
  };

  const cookie = () => (document.cookie.match(/(?:^|; )(?:__Host-)?csrftoken=([^;]+)/) || [])[1] || "";

  /* One answer: {done, next, told} when it is recorded, else {told, signIn} and it stays kept. */
  const post = async (entry, later) => {
    const body = new URLSearchParams(entry.fields);
    if (later) body.set("later", "1");
    let answer;
    try {
      answer = await fetch(entry.url, {
        method: "POST", body, redirect: "manual", credentials: "same-origin",
        headers: { "X-CSRFToken": cookie(), "X-Kept": "phone", Accept: "application/json" },
      });
    } catch { return { told: text("waiting") }; }
    if (answer.type === "opaqueredirect") return { told: text("signed-out"), signIn: true };
    if (answer.status >= 500) return { told: text("trouble") };
    const isJson = (answer.headers.get("content-type") || "").includes("json");
    if (!isJson) return { told: text("refused"), signIn: true };
    let said;
    try { said = await answer.json(); } catch { return { told: text("waiting") }; }
    return answer.ok ? { done: true, next: said.next, told: said.told, doubts: said.doubts || [] } : { told: said.told, wrong: true };
  };

  const send = async (key, later) => {
    const entry = read(key);
    if (!entry || sending.has(key)) return null;
    if (entry.fields.counted_by !== section.dataset.person) {
      troubles.set(key, { told: text("other", { name: entry.name }) });
      return null;
    }
    sending.add(key);
    try {
      const answer = await post(entry, later);
      if (answer.done) { forget(key); forget(entry.count); troubles.delete(key); } else troubles.set(key, answer);
      return answer;
    } finally { sending.delete(key); }
  };

  const sendAll = async () => {
    for (const key of keys()) {
      const answer = await send(key, true);
      if (answer && answer.done && answer.told) {
        for (const [kind, words] of [["done", answer.told], ...answer.doubts.map((each) => ["doubt", each])]) {
          const line = document.createElement("p");
          line.className = kind;
          line.textContent = words;
          sent.append(line);
        }
      }
    }
    show();
  };

  const button = (words, act) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "quiet";
    made.textContent = words;
    made.addEventListener("click", act);
    return made;
  };

  const show = () => {
    const list = section.querySelector("[data-kept-list]");
    list.replaceChildren(...keys().map((key) => {
      const entry = read(key);
      const trouble = troubles.get(key) || { told: text("waiting") };
      const line = document.createElement("li");
      const words = document.createElement("span");
      words.textContent = text("counted", entry) + " " + trouble.told;
      line.append(words);
      if (trouble.signIn) {
        const link = document.createElement("a");
        link.className = "act";
        link.href = "/sign-in?next=" + encodeURIComponent(location.pathname);
        link.textContent = text("sign-in");
        line.append(link);
      }
      line.append(button(text("throw"), () => {
        if (!window.confirm(text("sure", entry))) return;
        forget(key);
        troubles.delete(key);
        show();
      }));
      return line;
    }));
    section.hidden = !list.children.length;
    document.dispatchEvent(new Event("kept-changed"));
  };

  section.querySelector("[data-send]").addEventListener("click", sendAll);
  window.addEventListener("online", sendAll);
  window.addEventListener("pageshow", () => { show(); sendAll(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) sendAll(); });
  window.addEventListener("storage", (event) => { if (!event.key || event.key.startsWith(prefix)) show(); });
  /* A phone does not always say that the signal is back. */
  window.setInterval(() => { if (keys().length && !document.hidden) sendAll(); }, 15000);
  return { prefix, read, write, forget, send, show, text, has: (key) => Boolean(read(key)) };
})();
