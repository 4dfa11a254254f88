// @ts-check
// Saves the record as a file, and adds a file from another computer.
import { announce } from "./announce.js";
import { getBytes, postFile } from "./api.js";
import { byId } from "./elements.js";
import { MEDIA_TYPES } from "./record_types.js";
import { saveFile } from "./save_file.js";

/** Save the record. @param {string} format */
async function save(format) {
  const content = await getBytes(`/api/export/${format}`);
  saveFile(content, MEDIA_TYPES[format], `faintcall-attempts.${format}`);
  announce("The record is saved as a file.");
}

/** Add the attempts in a file. @param {File} file */
async function add(file) {
  const type = MEDIA_TYPES[file.name.split(".").pop()?.toLowerCase() ?? ""];
  if (!type) {
    announce("Choose a file saved by faintcall, with the extension .csv or .jsonl.");
    return;
  }
  announce("Adding the file.");
  const { read, added } = await postFile("/api/import", await file.arrayBuffer(), type);
  announce(`Added ${added} of ${read} answers; the others were already in your record.`);
}

/** Report an error in an action. @param {Promise<void>} action */
function reporting(action) {
  action.catch((error) => announce(error.message));
}

for (const button of document.querySelectorAll("[data-format]")) {
  const { format = "" } = /** @type {HTMLElement} */ (button).dataset;
  button.addEventListener("click", () => reporting(save(format)));
}
byId("record-file").addEventListener("change", () => {
  const [file] = byId("record-file").files;
  if (file) reporting(add(file));
});
