// @ts-check
// Recording one's own voice: word after word, each saved at once.
import { announce, clearAnnouncements } from "./announce.js";
import { get, post, postFile } from "./api.js";
import { askTwiceButton } from "./ask_twice.js";
import { BankWords } from "./bank_words.js";
import { cautionConfirmed } from "./caution.js";
import { byId, element } from "./elements.js";
import { clearError, showFailure } from "./forms.js";
import { showLearntVoices } from "./learnt_voices.js";
import { Microphone } from "./microphone.js";
import { LevelDisplay, SILENT_PEAK, tryLevel } from "./microphone_level.js";
import { Player } from "./player.js";
import { loadPreferences } from "./preferences.js";
import { encodeWav } from "./wav.js";

const ROOM_S = 2, WORD_S = 5;
/** Silence that ends a word. */
const END_SILENCE_S = 0.6;
const NO_WORD = "No word was heard. Move closer, or raise the input level, and record it again.";
const SILENT = "The microphone is silent: it may be switched off or turned down.";
const problem = byId("problem"), wordProblem = byId("word-problem");
const form = /** @type {HTMLFormElement} */ (byId("new-bank"));
const player = new Player();
const display = new LevelDisplay(byId("level-text"), byId("level"));

/** The voice that is recorded. @type {any} */
let bank = null;
/** @type {BankWords|null} */
let words = null;
/** Level of the room in dB, null until it was measured. @type {number|null} */
let noiseDb = null;
/** The last recording, until it is saved or the word changes. @type {ArrayBuffer|null} */
let take = null;
/** @type {Microphone|null} */
let microphone = null;
let busy = false;

/** @param {{banks: any[], folder: string}} state */
function showBanks({ banks, folder }) {
  byId("banks-folder").textContent = folder;
  const none = element("li", {}, "None yet.");
  byId("banks").replaceChildren(...(banks.length ? banks.map(bankEntry) : [none]));
  showLearntVoices(banks).catch((error) => announce(error.message));
}

/** @param {any} entry */
function bankEntry({ name, speaker, says, usable, operator }) {
  const go = element("button", { type: "button" }, `Record words of ${name}`);
  go.addEventListener("click", () => run(async () => open(await get(`/api/word-banks/${name}`))));
  const remove = askTwiceButton(`Delete ${name}`, `Delete the recordings of ${name} for good`,
    async () => {
      showBanks(await post(`/api/word-banks/${name}/delete`, {}));
      announce(`The voice ${name} is deleted.`);
    });
  const use = usable ? ` Choose ${operator} as the operator to hear it.` : "";
  return element("li", {}, element("p", {}, element("strong", {}, name), ` ${speaker}. ${says}${use}`),
    element("p", { class: "buttons" }, go, remove));
}

/** Show the screen that records a voice. @param {any} opened */
function open(opened) {
  bank = opened;
  words = new BankWords(opened);
  noiseDb = null;
  byId("about").hidden = true;
  byId("recording").hidden = false;
  showWord();
  byId("record").focus();
  announce(`${byId("word-title").textContent}. ${byId("instruction").textContent}`,
    { shownElsewhere: true });
}

/** Show what to record next: the room, or a word. */
function showWord() {
  const list = /** @type {BankWords} */ (words);
  const room = noiseDb === null;
  byId("word-title").textContent = room ? "The room" : list.current.word;
  byId("place").textContent = room ? bank.says : list.place;
  byId("instruction").textContent = room
    ? `Press Enter, then stay quiet for ${ROOM_S} seconds.`
    : "Press Enter, wait for \"Now\", and say the word once.";
  byId("record").textContent = room ? "Measure the room" : "Record";
  for (const id of ["back", "skip", "skip-group"]) byId(id).hidden = room;
  showTake(null);
}

/** @param {ArrayBuffer|null} recording @param {boolean} faulty */
function showTake(recording, faulty = false) {
  take = recording;
  byId("play").hidden = !recording;
  byId("keep").hidden = !faulty;
}

/** @param {string[]} sentences */
function showVerdict(...sentences) {
  byId("verdict").replaceChildren(...sentences.map((text) => element("p", {}, text)));
}

/** Record for a while and return a WAV file. @param {any} options of the microphone */
async function recordTake(options) {
  await player.close(); // the microphone would record what plays
  microphone = new Microphone(options);
  microphone.onReady = () => {
    byId("record").textContent = "Stop";
    announce("Now.");
  };
  microphone.onLevel = (db, peak) => display.show(db, peak);
  try {
    const { samples, rateHz, peak, reason } = await microphone.record();
    if (peak < SILENT_PEAK) throw new Error(SILENT);
    if (reason === "no-speech") throw new Error(NO_WORD);
    return encodeWav(samples, rateHz);
  } finally {
    microphone = null;
    display.clear("Level");
  }
}

async function measureRoom() {
  const audio = await recordTake({ longestS: ROOM_S, silenceS: ROOM_S, marginS: ROOM_S });
  if (!words) return; // stopped meanwhile
  const { says, noise_db: level, rating } = await postFile("/api/word-banks/room", audio, "audio/wav");
  if (rating === "silent") throw new Error(says);
  noiseDb = level;
  showWord();
  const again = rating === "noisy" ? " You can go on, or press Stop for now and begin again." : "";
  showVerdict(`${says}${again}`);
  announce(`${says}${again} The first word: ${byId("word-title").textContent}.`,
    { shownElsewhere: true });
}

async function recordWord() {
  showVerdict();
  const audio = await recordTake({ longestS: WORD_S, silenceS: END_SILENCE_S });
  if (!words) return; // stopped meanwhile
  showTake(audio);
  await sendTake(audio, "no");
}

/** @param {ArrayBuffer} audio @param {"yes"|"no"} keep */
async function sendTake(audio, keep) {
  const list = /** @type {BankWords} */ (words);
  const { word } = list.current;
  const query = new URLSearchParams({
    bank: bank.name, word, noise_db: String(noiseDb), keep,
  });
  const reply = await postFile(`/api/word-banks/words?${query}`, audio, "audio/wav");
  clearAnnouncements();
  if (!reply.saved) {
    showTake(audio, true);
    showVerdict(`Not saved: ${word}.`, ...reply.faults, reply.says);
    announce(`Not saved. ${reply.faults.join(" ")} Record it again, or keep it.`);
    return;
  }
  const becameUsable = reply.bank.usable && !bank.usable;
  bank = { ...bank, ...reply.bank };
  list.saved();
  showWord();
  showTake(audio); // the saved word can still be heard
  showVerdict(`Saved: ${word}. ${reply.says}`);
  const usable = becameUsable
    ? ` The voice can speak now: choose ${bank.operator} as the operator. The rest is optional.` : "";
  announce(`Saved.${usable} Next: ${list.current.word}.`);
}

/** Run a task unless one runs; show its error. @param {() => Promise<void>} task */
async function run(task) {
  if (busy) return;
  busy = true;
  clearError(bank ? wordProblem : problem);
  try {
    await task();
  } catch (error) {
    clearAnnouncements();
    showFailure(bank ? wordProblem : problem, error, bank ? undefined : form);
  } finally {
    busy = false;
    if (bank) byId("record").textContent = noiseDb === null ? "Measure the room" : "Record";
  }
}

async function sayLevel() {
  if (microphone) announce(display.sentence);
  else {
    await run(async () => {
      await player.close(); // the microphone would hear what plays
      announce(await tryLevel(display));
      display.clear("Level");
    });
  }
}

async function playTake() {
  player.unlock();
  await cautionConfirmed();
  const sound = { bytes: /** @type {ArrayBuffer} */ (take), buffer: null };
  await player.play(sound);
}

/** Go to another word. @param {(list: BankWords) => void} move */
function goTo(move) {
  const list = /** @type {BankWords} */ (words);
  move(list);
  showWord();
  showVerdict();
  announce(`${list.current.word}. ${list.place}`, { shownElsewhere: true });
  byId("record").focus();
}

async function stop() {
  microphone?.stop();
  bank = words = null;
  byId("recording").hidden = true;
  byId("about").hidden = false;
  showBanks(await get("/api/word-banks"));
  announce("Every word that was saved is kept.");
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  const data = {
    name: byId("name").value.trim(), speaker: byId("speaker").value.trim(),
    consent: byId("consent").checked,
  };
  run(async () => open(await post("/api/word-banks", data)));
});
byId("record").addEventListener("click", () => {
  if (microphone) microphone.stop();
  else run(noiseDb === null ? measureRoom : recordWord);
});
byId("record").addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
  if (event.repeat) event.preventDefault(); // holding the key down must not stop the recording
});
byId("keep").addEventListener("click", () => {
  byId("record").focus();
  run(() => sendTake(/** @type {ArrayBuffer} */ (take), "yes"));
});
byId("play").addEventListener("click", () => {
  playTake().catch((error) => showFailure(wordProblem, error));
});
byId("say-level").addEventListener("click", sayLevel);
byId("back").addEventListener("click", () => goTo((list) => list.back()));
byId("skip").addEventListener("click", () => goTo((list) => list.next()));
byId("skip-group").addEventListener("click", () => goTo((list) => list.skipGroup()));
byId("stop").addEventListener("click", () => stop().catch((error) => announce(error.message)));
addEventListener("pagehide", () => microphone?.close());

try {
  const [state] = await Promise.all([get("/api/word-banks"), loadPreferences(player)]);
  showBanks(state);
} catch (error) {
  showFailure(problem, error);
}
