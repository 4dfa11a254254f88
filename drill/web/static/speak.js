// @ts-check
// The sending drill: a prompt, a take, what was heard of it, and how it arrives.
import { get, post, send } from "./api.js";
import { cautioned } from "./caution.js";
import { apart } from "./figures.js";
import { check, filled, numberIn, plain, wrong } from "./forms.js";
import { Microphone, wav } from "./microphone.js";
import { prepared } from "./prefs.js";
import { say } from "./say.js";
import { Player } from "./sound.js";
import { inShort, showFar, showReview } from "./take.js";

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
const problem = $("problem"), ownProblem = $("own-problem"), farProblem = $("far-problem");
const player = new Player();
const LEVEL_MS = 250;
const LOW_DB = -40;
const FULL = 0.985;
const NOTHING = "No word was heard in ten seconds. Speak up or come closer, look at the gain of the "
  + "microphone, and record again; or give a recording as a file below.";
const SILENT = "The microphone is silent: it may be switched off or turned down. Look at it and "
  + "record again; or give a recording as a file below.";
const GONE = "The microphone went away. What was said until then is kept: review it, or connect the "
  + "microphone and record again.";

/** The prompt at hand. */
let asked = /** @type {any} */ (null);
/** The microphone, while a take is made. */
let microphone = /** @type {Microphone|null} */ (null);
/** The last take, until its review is here. */
let kept = /** @type {{body: ArrayBuffer, kind: string, asked: any}|null} */ (null);
/** The name of the take that was reviewed. */
let taken = "";
let busy = false;

/**
 * Tell what went wrong where it was asked for, beside the field where it is one's.
 * @param {unknown} error
 * @param {HTMLElement} place
 */
function failed(error, place = problem) {
  const { message, field } = /** @type {any} */ (error);
  say("");
  wrong(place, message, field ? $(field) : null);
}

/** Ask for a prompt of the kind chosen. */
async function ask() {
  plain(problem);
  asked = await post("/api/speak/prompts", { kind: $("kind").value || null });
  $("choice").hidden = $("asked").hidden = false;
  $("says").textContent = asked.says;
  $("text").textContent = asked.text;
  $("words").textContent = asked.words.join(" ");
  $("review").hidden = true;
  keep(null);
  $("record").textContent = "Record";
}

/** @param {{body: ArrayBuffer, kind: string, asked: any}|null} take */
function keep(take) {
  kept = take;
  $("again").hidden = true;
}

function sayPrompt() {
  say(`${asked.says} To be sent: ${asked.text.split(" ").map(apart).join(", ")}.`);
}

/** Make a take with the microphone. */
async function record() {
  plain(problem);
  busy = true;
  const mine = asked;
  let shown = 0;
  try {
    await player.rest(); // what plays would be recorded
    keep(null);
    microphone = new Microphone();
    microphone.begun = () => {
      $("record").textContent = "Stop";
      $("record").classList.add("on");
      say("Recording.");
    };
    microphone.level = (db, peak) => {
      if (performance.now() - shown < LEVEL_MS) return;
      shown = performance.now();
      const so = peak >= FULL ? "too high" : db < LOW_DB ? "quiet" : "good";
      $("level").textContent = `Level ${Math.round(db)} dB of full scale: ${so}.`;
    };
    say("Waiting for the microphone.");
    const take = await microphone.take();
    over();
    await judged(take, mine);
  } catch (error) {
    over();
    failed(error);
  } finally {
    busy = false;
  }
}

function over() {
  microphone = null;
  $("record").textContent = "Record again";
  $("record").classList.remove("on");
  $("level").textContent = "";
}

/** @param {import("./microphone.js").Take} take @param {any} mine */
async function judged(take, mine) {
  if (take.peak < 2 ** -15) throw new Error(SILENT);
  if (take.why === "nothing") throw new Error(NOTHING);
  keep({ body: wav(take.samples, take.rate), kind: "audio/wav", asked: mine });
  if (take.why === "gone") {
    $("again").hidden = false;
    throw new Error(GONE);
  }
  await review();
}

/**
 * Offer a take for saving: the trainee decides whether it is kept.
 * @param {any} body @param {string} kind
 */
function saveable(body, kind) {
  const link = $("save");
  URL.revokeObjectURL(link.href);
  link.href = URL.createObjectURL(new Blob([body], { type: kind }));
  link.download = kind === "audio/flac" ? "take.flac" : "take.wav";
}

/** Have the take at hand reviewed; it stays at hand until that went well. */
async function review() {
  if (!kept) return;
  const { body, kind, asked: mine } = kept;
  say("Listening to it.");
  const query = new URLSearchParams({
    kind: mine.kind, seed: mine.seed, call: mine.call, exchange: mine.exchange,
  });
  $("record").setAttribute("aria-busy", "true");
  try {
    const found = await send(`/api/speak/takes?${query}`, body, kind);
    keep(null);
    saveable(body, kind);
    taken = found.take;
    $("far-told").replaceChildren();
    showReview(found);
    say("");
    say(inShort(found));
  } catch (error) {
    $("again").hidden = false;
    throw error;
  } finally {
    $("record").removeAttribute("aria-busy");
  }
}

/**
 * Do something that may fail, one such thing at a time.
 * @param {() => Promise<void>} work
 * @param {HTMLElement} place where it is told what went wrong
 */
async function once(work, place = problem) {
  if (microphone) say("Still recording: press Stop first.");
  if (busy) return;
  busy = true;
  plain(place);
  try {
    await work();
  } catch (error) {
    failed(error, place);
  } finally {
    busy = false;
  }
}

async function giveFile() {
  const [file] = $("file").files;
  if (!file) {
    wrong(problem, "Choose a recording first, WAV or FLAC.", $("file"));
    return;
  }
  const kind = file.name.toLowerCase().endsWith(".flac") ? "audio/flac" : "audio/wav";
  keep({ body: await file.arrayBuffer(), kind, asked });
  await review();
}

/** Hear a sound of the far end. @param {string} url @param {string} what */
async function play(url, what) {
  if (microphone) return;
  player.unlock();
  await once(async () => {
    await cautioned();
    const sound = await player.load(url);
    player.play(sound).then((whole) => { if (whole) say(`That was ${what}.`); },
      (error) => failed(error, farProblem));
  }, farProblem);
}

async function toFarEnd() {
  if (!check($("far"), farProblem)) return;
  say("Sending it through the channel.");
  const far = await post("/api/speak/far", {
    take: taken, conditions: $("conditions").value, path_snr_db: numberIn($("path_snr_db")),
  });
  showFar(far, play);
  say("");
  say("It has arrived. Hear it at 100, 20 and 5 watts.");
}

async function settle() {
  named(await post("/api/speak", { call: $("own-call").value, exchange: $("exchange").value }));
  await ask();
  $("asked-title").focus();
  $("own-part").open = false;
  sayPrompt();
}

/** @param {{call: string|null, exchange: string}} own */
function named({ call, exchange }) {
  $("own").textContent = call ? `: ${call}, ${exchange}` : "";
  if (call) $("own-call").value = call;
}

/** @param {string} id @param {string} event @param {() => void} handle */
function on(id, event, handle) {
  $(id).addEventListener(event, (/** @type {Event} */ one) => {
    one.preventDefault();
    handle();
  });
}

on("station", "submit", () => once(settle, ownProblem));
on("record", "click", () => {
  if (microphone) microphone.stop();
  else if (!busy) record();
});
$("record").addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
  if (event.repeat) event.preventDefault(); // a key held down is no second press
});
on("another", "click", () => once(async () => {
  player.stop();
  await ask();
  sayPrompt();
}));
on("again", "click", () => once(async () => {
  $("record").focus(); // the button goes
  await review();
}));
on("give", "click", () => once(giveFile));
on("far", "submit", () => once(toFarEnd, farProblem));
on("stop", "click", () => player.stop());
addEventListener("pagehide", () => microphone?.close());

try {
  const [known] = await Promise.all([get("/api/speak"), prepared(player)]);
  filled($("exchange"), known.exchanges, known.exchange);
  filled($("kind"), [{ name: "", says: "What was said badly comes back sooner." }, ...known.kinds],
    "", "drawn");
  filled($("conditions"), known.conditions, "plain");
  named(known);
  $("own-part").open = !known.call;
  if (known.call) await ask();
} catch (error) {
  failed(error, ownProblem);
}
