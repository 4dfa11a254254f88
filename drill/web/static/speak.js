// @ts-check
// The sending drill: a prompt, a take, its review, and the take at the far end.
import { announce, clearAnnouncements } from "./announce.js";
import { FaintcallError, get, post, postFile } from "./api.js";
import { cautionConfirmed } from "./caution.js";
import { byId, spaced } from "./elements.js";
import {
  checkNumbers, clearError, fillSelect, numberValue, showError, showFailure,
} from "./forms.js";
import { Microphone } from "./microphone.js";
import { LevelDisplay, SILENT_PEAK, tryLevel } from "./microphone_level.js";
import { Player } from "./player.js";
import { loadPreferences } from "./preferences.js";
import { reviewSummary, showFarEnd, showReview } from "./review_view.js";
import { encodeWav } from "./wav.js";

const problem = byId("problem"), stationProblem = byId("station-problem");
const farProblem = byId("far-problem");
const player = new Player();
const display = new LevelDisplay(byId("level"));
const OR_FILE = "or open a recording as a file below.";
const NO_SPEECH = "No word was recognised in ten seconds. Speak louder or move closer, check the "
  + `gain of the microphone and record again, ${OR_FILE}`;
const SILENT = "The microphone is silent: it may be switched off or turned down. Check it and "
  + `record again, ${OR_FILE}`;
const DISCONNECTED = "The microphone was disconnected. The recording up to then is kept: review "
  + "it, or connect the microphone and record again.";

/** The prompt that is shown. */
let prompt = /** @type {any} */ (null);
/** The microphone during a take. */
let microphone = /** @type {Microphone|null} */ (null);
/** A recording that was not reviewed yet. */
let pending = /** @type {{audio: ArrayBuffer, type: string, prompt: any}|null} */ (null);
/** Name of the take that was reviewed last. */
let reviewedTake = "";
let busy = false;
/** Resolves when the prompt that was asked for is shown. */
let promptShown = Promise.resolve();

/** Fetch a prompt of the chosen kind and show it. */
async function showNewPrompt() {
  clearError(problem);
  prompt = await post("/api/speak/prompts", { kind: byId("kind").value || null });
  byId("kind-field").hidden = byId("prompt").hidden = false;
  byId("instruction").textContent = prompt.says;
  byId("text").textContent = prompt.text;
  byId("words").textContent = prompt.words.join(" ");
  byId("review").hidden = true;
  setPending(null);
  byId("record").textContent = "Record";
}

/** @param {typeof pending} recording */
function setPending(recording) {
  pending = recording;
  byId("review-again").hidden = true;
}

function announcePrompt() {
  announce(`${prompt.says} To be sent: ${prompt.text.split(" ").map(spaced).join(", ")}.`);
}

/** Record a take and have it reviewed. */
async function record() {
  clearError(problem);
  busy = true;
  const takePrompt = prompt;
  try {
    await player.close(); // the microphone would record what plays
    setPending(null);
    microphone = new Microphone();
    microphone.onReady = () => {
      byId("record").textContent = "Stop";
      byId("record").classList.add("recording");
      announce("Recording.");
    };
    microphone.onLevel = (db, peak) => display.show(db, peak);
    announce("Waiting for the microphone.");
    const take = await microphone.record();
    showRecordingEnded();
    await reviewRecording(take, takePrompt);
  } catch (error) {
    showRecordingEnded();
    showProblem(error);
  } finally {
    busy = false;
  }
}

/** Say the level of the take, or, between takes, of three seconds. */
async function sayLevel() {
  if (microphone) announce(display.sentence);
  else {
    await runTask(async () => {
      await player.close(); // the microphone would hear what plays
      announce("Say a few words for three seconds.");
      announce(await tryLevel(display));
    });
  }
}

function showRecordingEnded() {
  microphone = null;
  byId("record").textContent = "Record again";
  byId("record").classList.remove("recording");
  display.clear();
}

/** @param {import("./microphone.js").Take} take @param {any} takePrompt */
async function reviewRecording({ peak, reason, samples, rateHz }, takePrompt) {
  if (peak < SILENT_PEAK) throw new FaintcallError(SILENT);
  if (reason === "no-speech") throw new FaintcallError(NO_SPEECH);
  setPending({ audio: encodeWav(samples, rateHz), type: "audio/wav", prompt: takePrompt });
  if (reason === "disconnected") {
    byId("review-again").hidden = false;
    throw new FaintcallError(DISCONNECTED);
  }
  await reviewPending();
}

/** Review the pending recording. If that fails, it stays pending and can be reviewed again. */
async function reviewPending() {
  if (!pending) return;
  const { audio, type, prompt: { kind, seed, call, exchange } } = pending;
  announce("Reviewing the recording.");
  const query = new URLSearchParams({ kind, seed, call, exchange });
  byId("record").setAttribute("aria-busy", "true");
  try {
    const review = await postFile(`/api/speak/takes?${query}`, audio, type);
    setPending(null);
    offerDownload(audio, type);
    reviewedTake = review.take;
    byId("far-result").replaceChildren();
    showReview(review);
    clearAnnouncements();
    announce(reviewSummary(review));
  } catch (error) {
    byId("review-again").hidden = false;
    throw error;
  } finally {
    byId("record").removeAttribute("aria-busy");
  }
}

/**
 * Offer a recording for download, because the program does not save it.
 * @param {ArrayBuffer} audio
 * @param {string} type
 */
function offerDownload(audio, type) {
  const link = byId("save");
  URL.revokeObjectURL(link.href);
  link.href = URL.createObjectURL(new Blob([audio], { type }));
  link.download = type === "audio/flac" ? "take.flac" : "take.wav";
}

async function reviewFile() {
  const [file] = byId("file").files;
  if (!file) {
    showError(problem, "Choose a recording first: WAV or FLAC.", byId("file"));
    return;
  }
  const type = file.name.toLowerCase().endsWith(".flac") ? "audio/flac" : "audio/wav";
  setPending({ audio: await file.arrayBuffer(), type, prompt });
  await reviewPending();
}

/** @param {unknown} error @param {HTMLElement} place @param {HTMLFormElement} [form] */
function showProblem(error, place = problem, form) {
  clearAnnouncements();
  showFailure(place, error, form);
}

/**
 * Run a task unless another one is running; show its error.
 * @param {() => Promise<void>} task
 * @param {HTMLElement} place where the error is shown
 * @param {HTMLFormElement} [form] whose field the error may name
 */
async function runTask(task, place = problem, form) {
  if (microphone) announce("Still recording: press Stop first.");
  if (busy) return;
  busy = true;
  clearError(place);
  try {
    await task();
  } catch (error) {
    showProblem(error, place, form);
  } finally {
    busy = false;
  }
}

/** Play a sound of the far end. @param {string} url @param {string} description */
async function playFarEnd(url, description) {
  if (microphone) return;
  player.unlock();
  await runTask(async () => {
    await cautionConfirmed();
    const sound = await player.load(url);
    player.play(sound).then((whole) => { if (whole) announce(`That was ${description}.`); },
      (error) => showProblem(error, farProblem));
  }, farProblem);
}

async function simulateFarEnd() {
  if (!checkNumbers(byId("far-end"), farProblem)) return;
  announce("Simulating the far end.");
  const far = await post("/api/speak/far", {
    take: reviewedTake, conditions: byId("conditions").value,
    path_snr_db: numberValue(byId("path_snr_db")),
  });
  showFarEnd(far, playFarEnd);
  clearAnnouncements();
  announce("The far end is ready. Listen to it at 100, 20 and 5 watts.");
}

async function saveStation() {
  const station = { call: byId("call").value, exchange: byId("exchange").value };
  showStation(await post("/api/speak", station));
  await showNewPrompt();
  byId("prompt-title").focus();
  byId("own-station").open = false;
  announcePrompt();
}

/** @param {{call: string|null, exchange: string}} station */
function showStation({ call, exchange }) {
  byId("own-station-text").textContent = call ? `: ${call}, ${exchange}` : "";
  if (call) byId("call").value = call;
}

/** @param {string} id @param {string} type @param {() => void} handle */
function listen(id, type, handle) {
  byId(id).addEventListener(type, (/** @type {Event} */ event) => {
    event.preventDefault();
    handle();
  });
}

listen("station", "submit", () => runTask(saveStation, stationProblem, byId("station")));
listen("record", "click", async () => {
  if (microphone) {
    microphone.stop();
    return;
  }
  await promptShown;
  if (!busy) record();
});
byId("record").addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
  if (event.repeat) event.preventDefault(); // holding the key down must not stop the recording
});
listen("new-prompt", "click", () => {
  promptShown = runTask(async () => {
    player.stop();
    await showNewPrompt();
    announcePrompt();
  });
});
listen("review-again", "click", () => runTask(async () => {
  byId("record").focus(); // the button that has the focus disappears
  await reviewPending();
}));
listen("say-level", "click", sayLevel);
listen("review-file", "click", () => runTask(reviewFile));
listen("far-end", "submit", () => runTask(simulateFarEnd, farProblem, byId("far-end")));
listen("stop-sound", "click", () => player.stop());
addEventListener("pagehide", () => microphone?.close());

try {
  const [options] = await Promise.all([get("/api/speak"), loadPreferences(player)]);
  fillSelect(byId("exchange"), options.exchanges, options.exchange);
  const drawn = { name: "", says: "What you sent badly comes back sooner." };
  fillSelect(byId("kind"), [drawn, ...options.kinds], "", "drawn");
  fillSelect(byId("conditions"), options.conditions, "plain");
  showStation(options);
  byId("own-station").open = !options.call;
  if (options.call) await showNewPrompt();
} catch (error) {
  showProblem(error, stationProblem);
}
