// @ts-check
// The pages Practise, Measure and Compare: choose options or continue, the session, its result.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { cautionConfirmed } from "./caution.js";
import { deleteSessionButton } from "./delete_session.js";
import { byId } from "./elements.js";
import { showError, showFailure } from "./forms.js";
import { listOpenSessions } from "./open_sessions.js";
import { OptionsForm } from "./options_form.js";
import { dropPlayCount } from "./play_count.js";
import { Player } from "./player.js";
import { loadPreferences } from "./preferences.js";
import { RoomPlayer } from "./room_player.js";
import { ResultView } from "./result_view.js";
import { Session } from "./session.js";
import { offerSnrSounds } from "./snr_sounds.js";

/** Number of items of a short training. */
const SHORT_TRAINING = 12;

/** True if, by the address, a loudspeaker in the room plays the items. */
const SOUND_IN_ROOM = new URLSearchParams(location.search).get("sound") === "room";

/** The part of the page that is shown. @typedef {"options"|"caution"|"session"|"result"} Part */

class SessionPage {
  #player = SOUND_IN_ROOM ? new RoomPlayer() : new Player();
  #session = new Session(this.#player, (state) => this.#showResult(state));
  #result = new ResultView(this.#player);
  #form = new OptionsForm(byId("options"));
  /** @type {any} state of the current session */ #state = null;
  /** @type {any} options of the current session if it began on this page */ #options = null;
  #starting = false;

  async open() {
    const [catalogue, values] = await Promise.all(
      [get("/api/choices"), loadPreferences(this.#player)]);
    this.#session.autoNextS = values.auto_next_s;
    this.#form.fill(catalogue, values);
    this.#setUpVolume(values.volume);
    byId("options").addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      if (this.#form.check(byId("problem"))) this.#start(this.#form.values());
    });
    if (byId("snr-sounds")) {
      offerSnrSounds(this.#player, () => this.#form.values())
        .catch((error) => announce(error.message));
    }
    const id = new URLSearchParams(location.search).get("session");
    if (id) {
      await this.#enter(await get(`/api/sessions/${encodeURIComponent(id)}`));
      return;
    }
    await this.#listOpenSessions();
    // Enter in the first field starts a session; the user may have moved on while the page loaded.
    if (document.activeElement === document.body) this.#form.focusFirst();
  }

  /** Start a session. @param {any} options */
  async #start(options) {
    if (this.#starting) return; // Enter was pressed twice
    this.#starting = true;
    this.#player.unlock();
    try {
      // Another session with the same options has other calls, so the seed is left out.
      const { seed: _, ...repeatable } = options;
      this.#options = repeatable;
      await this.#enter(await post("/api/sessions", options));
    } catch (error) {
      await this.#showOptions();
      showFailure(byId("problem"), error, byId("options"));
    } finally {
      this.#starting = false;
    }
  }

  /** Show a session, after the caution. @param {any} state */
  async #enter(state) {
    this.#state = state;
    this.#show("caution");
    const cautionShown = await cautionConfirmed();
    history.replaceState(null, "", `?session=${state.id}${SOUND_IN_ROOM ? "&sound=room" : ""}`);
    if (!state.finished) this.#show("session");
    if (SOUND_IN_ROOM) byId("ear").textContent = "In the room";
    // A trainee who has just confirmed the caution expects the sound.
    this.#session.open(state, { playNow: cautionShown });
  }

  /** @param {Part} part */
  #show(part) {
    const options = part === "options", session = part === "session";
    byId("options").hidden = !options;
    byId("about").hidden = !options;
    byId("open-sessions").hidden = !options || !byId("open-session-list").children.length;
    byId("session-description").hidden = !session;
    byId("session").hidden = !session;
    byId("volume-controls").hidden = !session;
    document.body.classList.toggle("in-drill", session);
    document.body.classList.toggle("in-result", part === "result");
    byId("result").hidden = part !== "result";
    if (!session) byId("verdict").hidden = true;
  }

  async #showOptions() {
    history.replaceState(null, "", location.pathname);
    this.#show("options");
    await this.#listOpenSessions();
    this.#form.focusFirst();
  }

  /** List the open sessions that continue on this page. */
  #listOpenSessions() {
    return listOpenSessions(({ page }) => page === location.pathname);
  }

  /** Show the result of a session that is finished or was stopped. @param {any} state */
  #showResult(state) {
    this.#state = state;
    this.#show("result");
    byId("answered").hidden = true;
    if (state.finished) dropPlayCount(state.id);
    byId("discard").replaceChildren(...(state.finished ? [] : [deleteSessionButton(
      state.id, "Discard this session", () => { location.href = location.pathname; })]));
    const options = this.#options;
    void this.#result.show(state, {
      proceed: () => void this.#enter(this.#state),
      practise: () => void this.#start({ kind: "training", count: SHORT_TRAINING }),
      repeat: options ? () => void this.#start(options) : null,
      change: () => void this.#showOptions(),
    });
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
    byId("stop-sound").addEventListener("click", () => {
      this.#player.stop();
      byId("answer-line").focus();
    });
  }
}

if (byId("session")) {
  new SessionPage().open().catch((error) => showError(byId("problem"), error.message));
}
