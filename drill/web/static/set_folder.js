// @ts-check
// The folder of a set that `faintcall render` wrote, reduced to what the server needs.
import { FaintcallError } from "./api.js";

const NO_SET = "Choose the zip file of a set, or the folder that faintcall render wrote.";

/**
 * Return the plan as one line, and then the manifest. Throws FaintcallError if one is missing.
 * @param {File[]} files of the folder
 */
export async function setInFolder(files) {
  const named = (/** @type {string} */ name) => files.find((file) => file.name === name);
  const plan = named("plan.json"), manifest = named("manifest.jsonl");
  if (!plan || !manifest) throw new FaintcallError(NO_SET);
  const lines = `${oneLine(await plan.text())}\n${await manifest.text()}`;
  return /** @type {ArrayBuffer} */ (new TextEncoder().encode(lines).buffer);
}

/** @param {string} text JSON */
function oneLine(text) {
  try {
    return JSON.stringify(JSON.parse(text));
  } catch {
    throw new FaintcallError(NO_SET);
  }
}
