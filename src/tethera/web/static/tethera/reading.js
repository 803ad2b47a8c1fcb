/* Reads marks by the camera where the browser can; a photograph works everywhere. */
"use strict";

/* The photograph is sent as soon as it is taken. */
for (const form of document.querySelectorAll("form.photograph")) {
  const button = form.querySelector("button");
  form.querySelector("input[type=file]").addEventListener("change", (event) => {
    if (event.target.files.length) form.requestSubmit(button);
  });
  const waiting = button.textContent;
  form.addEventListener("submit", () => { button.textContent = button.dataset.sending; });
  /* Back from where it led, the page may still be as it was left. */
  addEventListener("pageshow", () => { button.textContent = waiting; });
}

(() => {
  const camera = document.getElementById("camera");
  const none = document.getElementById("no-camera");
  if (!camera) return;
  if (!window.isSecureContext || !navigator.mediaDevices?.getUserMedia) {
    none.textContent = none.dataset.address;
    none.hidden = false;
    return;
  }
  if (!("BarcodeDetector" in window)) {
    none.textContent = none.dataset.browser;
    none.hidden = false;
    return;
  }
  camera.hidden = false;
  const video = camera.querySelector("video");
  const said = camera.querySelector("[data-said]");
  const [start, stop, light, go] = ["start", "stop", "light", "go"].map((name) => camera.querySelector(`[data-${name}]`));
  const several = "several" in camera.dataset;
  const have = camera.dataset.have.split(" ").filter(Boolean);
  /* A code that was answered is not asked for again while it stays in sight; one that left may come back. */
  const AGAIN_MS = 3000, LOOK_MS = 120, ANSWER_MS = 10000;
  const answered = new Map();
  let detector = null, stream = null, run = 0;

  const end = () => {
    run += 1;
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    video.srcObject = null;
    video.hidden = stop.hidden = light.hidden = true;
    start.hidden = false;
  };

  const ask = async (text) => {
    const query = new URLSearchParams({ code: text, have: have.join(" ") });
    const answer = await fetch(`${camera.dataset.ask}&${query}`, { signal: AbortSignal.timeout(ANSWER_MS) });
    if (answer.redirected) location.reload(); /* signed out meanwhile: the page asks to sign in */
    if (!answer.ok) throw new Error(String(answer.status));
    return answer.json();
  };

  const take = async (text, mine) => {
    said.textContent = text;
    let told;
    try {
      told = await ask(text);
    } catch {
      answered.delete(text);
      if (mine === run) said.textContent = camera.dataset.noSignal.replace("NUMBER", text);
      return;
    }
    if (mine !== run) return;
    if (!told.rope) { said.textContent = told.told; return; }
    navigator.vibrate?.(60);
    if (!several) { end(); location.assign(told.next); return; }
    if (!have.includes(told.rope)) have.push(told.rope);
    go.href = told.next;
    go.hidden = false;
    said.textContent = camera.dataset.read.replace("NUMBERS", have.join(", "));
    /* Whoever takes a photograph or types after that loses none of them. */
    for (const field of document.querySelectorAll("input[name=have]")) field.value = have.join(" ");
  };

  const look = async (mine) => {
    while (mine === run) {
      let found = [];
      try {
        found = await detector.detect(video);
      } catch { /* no frame yet */ }
      const now = Date.now();
      for (const text of found.map((one) => one.rawValue).filter(Boolean)) {
        const before = answered.get(text);
        answered.set(text, now);
        if ((before === undefined || now - before > AGAIN_MS) && mine === run) await take(text, mine);
      }
      await new Promise((done) => setTimeout(done, LOOK_MS));
    }
  };

  const torch = (track) => {
    if (!track.getCapabilities?.().torch) return;
    light.hidden = false;
    light.setAttribute("aria-pressed", "false");
    light.onclick = async () => {
      const lit = light.getAttribute("aria-pressed") !== "true";
      try {
        await track.applyConstraints({ advanced: [{ torch: lit }] });
        light.setAttribute("aria-pressed", String(lit));
      } catch { light.hidden = true; }
    };
  };

  const begin = async () => {
    const mine = (run += 1);
    start.hidden = true;
    said.textContent = "";
    try {
      detector ||= new BarcodeDetector({ formats: ["qr_code", "code_128"] });
      const opened = await navigator.mediaDevices.getUserMedia({
        video: { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 } },
      });
      /* The page was left, or stopped, while the browser asked. */
      if (mine !== run) { opened.getTracks().forEach((track) => track.stop()); return; }
      stream = opened;
      video.srcObject = stream;
      video.hidden = stop.hidden = false;
      await video.play();
    } catch (error) {
      if (mine !== run) return;
      end();
      said.textContent = error.name === "NotAllowedError" ? camera.dataset.denied : camera.dataset.busy;
      return;
    }
    said.textContent = camera.dataset.looking;
    torch(stream.getVideoTracks()[0]);
    look(mine);
  };

  start.addEventListener("click", begin);
  stop.addEventListener("click", () => { end(); said.textContent = ""; start.focus(); });
  addEventListener("pagehide", end);
  document.addEventListener("visibilitychange", () => { if (document.hidden && stream) end(); });
  /* Allowed before: it looks at once. */
  navigator.permissions?.query({ name: "camera" }).then((allowed) => {
    if (allowed.state === "granted" && !document.hidden && !stream) begin();
  }).catch(() => {});
})();
