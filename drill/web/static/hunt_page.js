// @ts-check
// The page of hunts: start or continue one, run it, and go to its end.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { cautionConfirmed } from "./caution.js";
import { explainKeys } from "./contact_view.js";
import { byId } from "./elements.js";
import { showFailure } from "./forms.js";
import { fillHuntForm, huntFormIsValid, huntFormValues, showHunts } from "./hunt_form.js";
import { allHuntKeys } from "./hunt_line.js";
import { HuntScreen } from "./hunt_screen.js";
import { HuntSound } from "./hunt_sound.js";

class HuntPage {
  #sound = new HuntSound();
  #screen = new HuntScreen(this.#sound);
  #busy = false;

  async open() {
    const [{ values }, options] = await Promise.all([get("/api/settings"), get("/api/hunts")]);
    this.#screen.hasMicrophone = options.microphone;
    this.#screen.onLeave = () => this.#task(() => this.#showForm());
    this.#screen.onEnd = (identity) => location.assign(`/hunt-end?hunt=${identity}`);
    this.#sound.side = values.speech_side;
    document.documentElement.dataset.scheme = values.scheme;
    this.#setUpVolume(values.volume);
    byId("options").addEventListener("submit", (/** @type {SubmitEvent} */ event) => {
      event.preventDefault();
      // Enter in a field starts a new hunt with the chosen options.
      const inFields = document.activeElement instanceof HTMLInputElement
        || document.activeElement instanceof HTMLSelectElement;
      this.#task(() => this.#begin(event.submitter === byId("begin") && !inFields));
    });
    byId("end-open").addEventListener("click", () => this.#task(() => this.#end()));
    addEventListener("pagehide", () => this.#screen.stop());
    const identity = new URLSearchParams(location.search).get("session");
    if (identity) await this.#enter(identity);
    else await this.#showForm(options);
  }

  /** Run a task unless another one runs; show its error. @param {() => Promise<void>} task */
  async #task(task) {
    if (this.#busy) return;
    this.#busy = true;
    try {
      await task();
    } catch (error) {
      this.#showPart("setup");
      showFailure(byId("problem"), error, byId("options"));
    } finally {
      this.#busy = false;
    }
  }

  /** @param {any} [known] the server's options for hunts, if they are known already */
  async #showForm(known) {
    const [options, catalogue] = await Promise.all([known ?? get("/api/hunts"), get("/api/choices")]);
    history.replaceState(null, "", location.pathname);
    fillHuntForm(catalogue, options);
    explainKeys("key-list", allHuntKeys());
    showHunts(options.hunts);
    const open = options.hunts.find((/** @type {any} */ { finished }) => !finished);
    byId("begin").dataset.session = open?.id ?? "";
    byId("begin-text").textContent = open ? "Continue the hunt" : "Listen to the band";
    byId("begin-new").hidden = !open;
    byId("end-open-part").hidden = !open;
    byId("sentence").textContent = open ? open.sentence
      : `As ${options.call ?? options.offered_call}, spoken by ${options.voice}. Calls are fictional.`;
    this.#showPart("setup");
    byId("begin").focus();
  }

  /** Start a hunt, or continue the open one. @param {boolean} goesOn */
  async #begin(goesOn) {
    if (!huntFormIsValid(byId("problem"))) return;
    this.#sound.unlock();
    const identity = (goesOn && byId("begin").dataset.session)
      || (await post("/api/hunts", huntFormValues())).id;
    await this.#enter(identity);
    byId("hunt").hidden = true;
    await cautionConfirmed();
    byId("hunt").hidden = false;
    byId("line").focus();
    await this.#screen.start();
  }

  /** End the open hunt; its end is shown when the server has closed the connection. */
  async #end() {
    await this.#enter(byId("begin").dataset.session);
    this.#screen.end();
  }

  /** Show a hunt with the clock stopped until Enter. @param {string} identity */
  async #enter(identity) {
    history.replaceState(null, "", `?session=${identity}`);
    this.#showPart("hunt");
    byId("line").focus();
    await this.#screen.open(identity);
  }

  /** @param {"setup"|"hunt"} part */
  #showPart(part) {
    for (const id of ["setup", "hunt"]) byId(id).hidden = id !== part;
    byId("standing").classList.toggle("small", part === "hunt");
    document.body.classList.remove("sending");
    document.body.classList.toggle("in-drill", part === "hunt");
    byId("ear").textContent = "";
    byId("title").textContent = part === "setup" ? "Hunt" : "The band is being prepared";
  }

  /** @param {number} volume */
  #setUpVolume(volume) {
    const slider = byId("volume");
    slider.value = String(volume);
    this.#sound.volume = volume;
    slider.addEventListener("input", () => this.#sound.setVolume(Number(slider.value)));
    slider.addEventListener("change", () => {
      post("/api/settings", { values: { volume: Number(slider.value) } })
        .catch((error) => announce(error.message));
    });
  }
}

new HuntPage().open().catch((error) => {
  byId("setup").hidden = false;
  showFailure(byId("problem"), error);
});
