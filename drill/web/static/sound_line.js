// @ts-check
// Shows that sound plays: a word, and a line that fills as the sound progresses.
import { byId } from "./elements.js";

const STEP_MS = 100;

/** Follow the sounds of the page. The elements are those of _session.html. */
export function followSounds() {
  let timer = 0;
  document.addEventListener("sound-waits", () => { byId("ear").textContent = "Soon"; });
  document.addEventListener("sound", (event) => {
    const seconds = Number((/** @type {CustomEvent} */ (event)).detail);
    const line = byId("sound-line");
    clearInterval(timer);
    line.classList.toggle("idle", !seconds);
    byId("ear").classList.toggle("sounding", seconds > 0);
    byId("ear").textContent = seconds ? "Sounding" : "Silent";
    line.style.setProperty("--heard", "0%");
    if (!seconds) return;
    const started = performance.now();
    timer = setInterval(() => {
      const share = Math.min(1, (performance.now() - started) / 1000 / seconds);
      line.style.setProperty("--heard", `${Math.round(100 * share)}%`);
    }, STEP_MS);
  });
}
