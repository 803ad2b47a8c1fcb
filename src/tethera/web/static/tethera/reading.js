/* Reads marks by the camera where the browser can; a photograph works everywhere. */
"use strict";
(() => {
  const camera = document.getElementById("camera");
  const none = document.getElementById("no-camera");
  if (!camera) return;
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices?.getUserMedia) {
    none.hidden = false;
    return;
  }
  camera.hidden = false;
  const video = camera.querySelector("video");
  const said = camera.querySelector("[data-said]");
  const [start, stop, light] = ["start", "stop", "light"].map((name) => camera.querySelector(`[data-${name}]`));
  const detector = new BarcodeDetector({ formats: ["qr_code", "code_128"] });
  let stream = null, tried = "", lit = false;
  video.hidden = true;
  const end = () => {
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    video.hidden = stop.hidden = light.hidden = true;
    start.hidden = false;
  };
  const look = async () => {
    if (!stream) return;
    let text = "";
    try {
      const found = await detector.detect(video);
      text = found.map((one) => one.rawValue).find((one) => one && one !== tried) || "";
    } catch { /* not a frame yet */ }
    if (text) {
      tried = text;
      said.textContent = text;
      const answer = await fetch(camera.dataset.ask + encodeURIComponent(text), { redirect: "follow" }).catch(() => null);
      if (answer?.ok && answer.redirected) {
        end();
        location.assign(answer.url);
        return;
      }
      const page = answer ? new DOMParser().parseFromString(await answer.text(), "text/html") : null;
      said.textContent = page?.querySelector("[role=alert]")?.textContent || text;
    }
    setTimeout(look, 150);
  };
  start.addEventListener("click", async () => {
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1920 } } });
    } catch {
      said.textContent = camera.dataset.denied;
      return;
    }
    video.srcObject = stream;
    video.hidden = stop.hidden = false;
    start.hidden = true;
    await video.play();
    said.textContent = camera.dataset.looking;
    const track = stream.getVideoTracks()[0];
    if (track.getCapabilities?.().torch) {
      light.hidden = false;
      light.onclick = () => { lit = !lit; track.applyConstraints({ advanced: [{ torch: lit }] }); };
    }
    look();
  });
  stop.addEventListener("click", end);
  addEventListener("pagehide", end);
})();
