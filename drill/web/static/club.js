// @ts-check
// A club evening: make, save, add and copy sets of items, and compare results.
import { announce } from "./announce.js";
import { get, getBytes, post, postFile } from "./api.js";
import { askTwiceButton } from "./ask_twice.js";
import { byId, element, table } from "./elements.js";
import {
  checkNumbers, clearError, fillSelect, numberValue, showError, showFailure,
} from "./forms.js";
import { followWork, showProgress } from "./long_work.js";
import { saveFile } from "./save_file.js";
import { setInFolder } from "./set_folder.js";

const form = /** @type {HTMLFormElement} */ (byId("make-set"));
const addForm = /** @type {HTMLFormElement} */ (byId("add-set"));
const problem = byId("problem"), addProblem = byId("add-problem");
/** Catalogue entry that lists the choices of each select. @type {Record<string, string>} */
const CHOICE_LISTS = { part: "parts", exchange: "exchanges", conditions: "conditions" };

/** @param {string} name @param {string} rest */
const pathOf = (name, rest) => `/api/sets/${encodeURIComponent(name)}/${rest}`;

/** @param {any} state */
function showState({ sets, folder, progress }) {
  byId("sets-folder").textContent = sets.length ? `In ${folder}` : "None yet.";
  byId("sets").replaceChildren(...sets.map((/** @type {any} */ set) => setEntry(set, progress)));
  const { label } = progress;
  const { count } = sets.find((/** @type {any} */ set) => set.name === label) ?? {};
  showProgress(byId("set-progress"), ...setProgress(progress, count || progress.total));
  byId("cancel-set").hidden = !progress.running;
}

/**
 * Return the progress of the present step and what is counted: the items, or afterwards the items
 * that are in the track for the room.
 * @param {any} progress @param {number} count items of the set
 * @returns {[import("./long_work.js").Progress, string]}
 */
function setProgress(progress, count) {
  const { label, done, total } = progress;
  if (total === count || done < count) return [{ ...progress, total: count }, `Items of ${label}`];
  return [{ ...progress, done: done - count, total: total - count },
    `Items in the track of ${label}`];
}

/** @param {any} set @param {any} progress */
function setEntry(set, progress) {
  const { name, count, finished, complete, sentence, problem: fault } = set;
  const state = complete ? `${count} items` : `${finished} of ${count} items`;
  const busy = progress.running && progress.label === name;
  return element("li", {},
    element("p", {}, element("strong", {}, name), ` ${state}. ${fault || sentence}`),
    element("p", { class: "buttons" }, ...(busy ? [] : setButtons(set))));
}

/** @param {any} set @returns {HTMLElement[]} */
function setButtons({ name, complete, has_sound: hasSound, problem: fault }) {
  const remove = askTwiceButton(`Delete ${name}`, `Delete ${name} for good`, async () => {
    showState(await post(pathOf(name, "delete"), {}));
    announce(`${name} is deleted.`);
  });
  if (fault) return [remove];
  if (!complete) {
    return [action("Continue", name, () => makeSet(pathOf(name, "continue"), {})), remove];
  }
  return [
    action("Type what you hear", name, () => copy(name, "")),
    action("Type what the room plays", name, () => copy(name, "&sound=room")),
    ...(hasSound ? [action("Save as zip", name, () => saveZip(name))] : []),
    action("Compare everybody", name, () => compare(name)),
    remove,
  ];
}

/** @param {string} label @param {string} name @param {() => Promise<void>} act */
function action(label, name, act) {
  const button = element("button", { type: "button", "aria-label": `${label}: ${name}` }, label);
  button.addEventListener("click", () => {
    act().catch((error) => announce(error.message));
  });
  return button;
}

/** @param {string} name @param {string} query added to the address of the session */
async function copy(name, query) {
  const { page, id } = await post(pathOf(name, "copy"), {});
  location.href = `${page}?session=${id}${query}`;
}

/** @param {string} name */
async function saveZip(name) {
  announce(`Packing ${name}.`);
  saveFile(await getBytes(pathOf(name, "zip")), "application/zip", `${name}.zip`);
  announce(`${name} is saved as a zip file.`);
}

/** @param {string} name */
async function compare(name) {
  const { table: data } = await get(pathOf(name, "scores"));
  const heading = element("h3", {}, `Everybody's first result with ${name}`);
  const nobody = element("p", {}, "Nobody on this computer has answered items of this set yet.");
  byId("scores").replaceChildren(heading, data ? table(data) : nobody);
  byId("scores").focus();
}

/** Make or continue a set, and follow it. @param {string} path @param {any} body */
async function makeSet(path, body) {
  const begun = await post(path, body);
  announce("The set is being made. You can leave this page; rendering goes on.");
  await follow(begun);
}

/** @param {any} state */
async function follow(state) {
  const { progress } = await followWork(state, () => get("/api/sets"), showState);
  if (progress.problem) throw new Error(progress.problem);
  announce(progress.cancelled ? `Cancelled. Continue ${progress.label} whenever you like.`
    : `${progress.label} is finished.`);
}

/** Return the form's values as the server takes them. */
function values() {
  const data = /** @type {Record<string, any>} */ ({ name: byId("name").value.trim() });
  for (const name of ["count", "snr_db", "people"]) data[name] = numberValue(byId(name));
  for (const name of ["part", "exchange", "conditions", "format"]) data[name] = byId(name).value;
  if (byId("voices").value) data.voices = [byId("voices").value];
  if (byId("track").checked) data.track_s = numberValue(byId("track_s"));
  return data;
}

/** Show only the fields that the present choices need. */
function showFields() {
  byId("exchange").closest(".field").hidden = byId("part").value === "call";
  byId("track_s").closest(".field").hidden = !byId("track").checked;
}

form.addEventListener("change", showFields);
form.addEventListener("submit", async (event) => {
  event.preventDefault();
  if (!checkNumbers(form, problem)) return;
  if (!byId("name").value.trim()) {
    showError(problem, "Give the set a name, such as november evening.", byId("name"));
    return;
  }
  try {
    await makeSet("/api/sets", values());
  } catch (error) {
    showFailure(problem, error, form);
  }
});
byId("cancel-set").addEventListener("click", () => {
  post("/api/sets/cancel", {}).catch((error) => announce(error.message));
});

/** Offer the file's or folder's name as the name of the set. @param {Event} event */
function offerName(event) {
  const [file] = /** @type {HTMLInputElement} */ (event.target).files ?? [];
  if (!file || byId("added-name").value) return;
  const [folder] = file.webkitRelativePath.split("/");
  byId("added-name").value = folder || file.name.replace(/\.zip$/i, "");
}

byId("set-file").addEventListener("change", offerName);
byId("set-folder").addEventListener("change", offerName);
addForm.addEventListener("submit", async (event) => {
  event.preventDefault();
  clearError(addProblem);
  try {
    const [zip] = byId("set-file").files;
    const [body, type] = zip ? [await zip.arrayBuffer(), "application/zip"]
      : [await setInFolder([...byId("set-folder").files]), "application/jsonl"];
    const query = new URLSearchParams({ name: byId("added-name").value.trim() });
    const { name } = await postFile(`/api/sets/add?${query}`, body, type);
    addForm.reset();
    showState(await get("/api/sets"));
    announce(`${name} is added.`);
  } catch (error) {
    showFailure(addProblem, error, addForm);
  }
});

try {
  const [catalogue, state] = await Promise.all([get("/api/choices"), get("/api/sets")]);
  for (const [name, list] of Object.entries(CHOICE_LISTS)) {
    fillSelect(byId(name), catalogue[list], catalogue.defaults[name]);
  }
  const any = { name: "", says: "All operators that speak by default." };
  fillSelect(byId("voices"), [any, ...catalogue.voices.operators], "", "any");
  showFields();
  if (state.progress.running) await follow(state);
  else showState(state);
} catch (error) {
  showFailure(problem, error);
}
