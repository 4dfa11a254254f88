// @ts-check
// The page of contacts: start or continue a session, the contacts, the session's figures.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { cautionConfirmed } from "./caution.js";
import { contactFormIsValid, contactFormValues, fillContactForm } from "./contact_form.js";
import { allKeys } from "./contact_line.js";
import { ContactScreen } from "./contact_screen.js";
import { contactSentence, showSession, showSessions } from "./contact_session.js";
import { explainKeys } from "./contact_view.js";
import { byId } from "./elements.js";
import { showFailure } from "./forms.js";
import { LiveContact } from "./live_contact.js";
import { Player } from "./player.js";
import { loadPreferences } from "./preferences.js";

class ContactPage {
  #player = new Player();
  #contact = new LiveContact(this.#player);
  #screen = new ContactScreen(this.#player, this.#contact);
  #busy = false;

  async open() {
    const [values, options] = await Promise.all(
      [loadPreferences(this.#player), get("/api/contacts")]);
    this.#player.quietMs = 0; // the screen waits before it lets time go on
    this.#screen.hasMicrophone = options.microphone;
    this.#screen.onLeave = () => this.#showResult();
    this.#setUpVolume(values.volume);
    byId("options").addEventListener("submit", (/** @type {SubmitEvent} */ event) => {
      event.preventDefault();
      // Enter in a field starts a new session with the chosen options.
      const inFields = byId("choose").contains(document.activeElement);
      this.#task(() => this.#begin(event.submitter === byId("begin") && !inFields));
    });
    byId("more").addEventListener("click", () => this.#task(() => this.#goOn()));
    addEventListener("pagehide", () => this.#screen.stop());
    const id = new URLSearchParams(location.search).get("session");
    if (id) this.#enter(await LiveContact.fetch(id, this.#contact.window));
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

  /** @param {any} options the server's options for contacts */
  async #showForm(options) {
    fillContactForm(await get("/api/choices"), options);
    explainKeys("key-list", allKeys());
    showSessions(options.sessions);
    const open = options.sessions.find((/** @type {any} */ { done, count }) => done < count);
    byId("begin").dataset.session = open?.id ?? "";
    byId("begin-text").textContent = `Listen for station ${open ? open.done + 1 : 1}`;
    byId("begin-new").hidden = !open;
    byId("own-station-text").textContent = contactSentence(options, open);
    this.#showPart("setup");
    if (document.activeElement === document.body) byId("begin").focus();
  }

  /** Start a session, or continue the open one. @param {boolean} goesOn */
  async #begin(goesOn) {
    if (!contactFormIsValid(byId("problem"))) return;
    this.#player.unlock();
    const id = goesOn && byId("begin").dataset.session;
    const { window } = this.#contact;
    this.#enter(id ? await LiveContact.fetch(id, window)
      : await post("/api/contacts", { ...contactFormValues(), window }));
    this.#showPart("contact");
    await this.#start();
  }

  /** Show a session with the clock stopped until Enter. @param {any} reply */
  #enter(reply) {
    history.replaceState(null, "", `?session=${reply.session.id}`);
    this.#showPart("contact");
    this.#screen.open(reply);
    if (reply.session.finished) this.#showResult();
  }

  async #start() {
    byId("contact").hidden = true;
    await cautionConfirmed();
    byId("contact").hidden = false;
    byId("line").focus();
    await this.#screen.start();
  }

  #showResult() {
    const { session } = this.#screen;
    this.#showPart("result");
    showSession(session, (number) => this.#task(async () => {
      const { ending } = await get(`/api/contacts/${session.id}?station=${number}`);
      this.#showPart("contact");
      this.#screen.review(number, ending);
    }));
    byId("more").focus();
  }

  /** Continue the session, or return to the form. */
  async #goOn() {
    const { id, finished } = this.#screen.session;
    if (finished) {
      history.replaceState(null, "", location.pathname);
      await this.#showForm(await get("/api/contacts"));
      byId("begin").focus();
      return;
    }
    this.#player.unlock();
    this.#enter(await LiveContact.fetch(id, this.#contact.window));
    await this.#start();
  }

  /** @param {"setup"|"contact"|"result"} part */
  #showPart(part) {
    for (const id of ["setup", "contact", "result"]) byId(id).hidden = id !== part;
    byId("review").hidden = true;
    byId("standing").classList.toggle("small", part === "contact");
    document.body.classList.remove("sending", "in-drill");
    if (part === "setup") byId("title").textContent = "Contact";
  }

  /** @param {number} volume */
  #setUpVolume(volume) {
    const slider = byId("volume");
    slider.value = String(volume);
    slider.addEventListener("input", () => { this.#player.volume = slider.value; });
    slider.addEventListener("change", () => {
      post("/api/settings", { values: { volume: Number(slider.value) } })
        .catch((error) => announce(error.message));
    });
  }
}

new ContactPage().open().catch((error) => {
  byId("setup").hidden = false;
  showFailure(byId("problem"), error);
});
