// @ts-check
// The people of a club: their records are added under their names, compared and removed.
import { announce } from "./announce.js";
import { get, post, postFile } from "./api.js";
import { askTwiceButton } from "./ask_twice.js";
import { byId, element, table } from "./elements.js";
import { clearError, showFailure } from "./forms.js";
import { MEDIA_TYPES } from "./record_types.js";

const form = /** @type {HTMLFormElement} */ (byId("add-people"));
const problem = byId("people-problem");

/** @param {{table: any, names: string[]}} comparison */
function showPeople({ table: data, names }) {
  const nobody = element("p", {}, "Nobody has a record on this computer yet.");
  byId("people-table").replaceChildren(data ? table(data) : nobody);
  byId("remove-people").replaceChildren(...(names.length ? [element("details", {},
    element("summary", {}, "Remove somebody"),
    element("p", { class: "buttons" }, ...names.map(removeButton)))] : []));
}

/** @param {string} name */
function removeButton(name) {
  const question = `Delete everything that ${name} has answered, for good`;
  return askTwiceButton(`Remove ${name}`, question, async () => {
    showPeople(await post("/api/people/delete", { name }));
    announce(`The record of ${name} is deleted.`);
  });
}

/** Return the name that a file's own name suggests: "anna.jsonl" is of Anna. @param {File} file */
function suggestedName({ name }) {
  const stem = name.replace(/\.[^.]*$/, "").replace(/[_-]+/g, " ").trim();
  return stem.slice(0, 1).toUpperCase() + stem.slice(1);
}

/** Ask for a name for each chosen file. */
function askForNames() {
  const files = [...byId("people-files").files];
  byId("people-names").replaceChildren(...files.map((file, index) => {
    const id = `person-${index}`;
    const input = element("input", { type: "text", id, maxlength: "40", autocomplete: "off" });
    /** @type {HTMLInputElement} */ (input).value = suggestedName(file);
    return element("p", { class: "field" },
      element("label", { for: id }, `Whose record is ${file.name}?`), input);
  }));
  byId("add-people-button").hidden = !files.length;
}

/** Add the chosen files; return a sentence about each. */
async function addFiles() {
  const says = [];
  for (const [index, file] of [...byId("people-files").files].entries()) {
    const person = byId(`person-${index}`).value.trim();
    const type = MEDIA_TYPES[file.name.split(".").pop()?.toLowerCase() ?? ""] ?? "";
    const query = new URLSearchParams({ person });
    const { added } = await postFile(`/api/import?${query}`, await file.arrayBuffer(), type);
    says.push(`${person}: ${added} answers added.`);
  }
  return says;
}

byId("people-files").addEventListener("change", askForNames);
form.addEventListener("submit", async (event) => {
  event.preventDefault();
  clearError(problem);
  try {
    const says = await addFiles();
    form.reset();
    askForNames();
    announce(says.join(" "));
  } catch (error) {
    showFailure(problem, error, form);
  } finally {
    await load();
  }
});

async function load() {
  try {
    showPeople(await get("/api/people/comparison"));
  } catch (error) {
    showFailure(problem, error);
  }
}

await load();
