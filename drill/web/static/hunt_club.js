// @ts-check
// Hunts of a club: save one's own as a file, and compare several files.
import { announce } from "./announce.js";
import { getBytes, post } from "./api.js";
import { byId, element, paragraphs, table } from "./elements.js";
import { saveFile } from "./save_file.js";

/** Number of hunts of each file that are compared, the newest. */
const MOST_HUNTS = 10;

/** Return the newest hunts of a file, with the heading of a CSV file. @param {File} file */
async function newestHunts(file) {
  const lines = (await file.text()).split("\n").filter((line) => line);
  const heading = file.name.endsWith(".csv") ? lines.splice(0, 1) : [];
  return { name: file.name, text: [...heading, ...lines.slice(-MOST_HUNTS)].join("\n") };
}

async function saveHunts() {
  try {
    const own = byId("own-call").checked ? "?own_call=1" : "";
    saveFile(await getBytes(`/api/hunt-files/csv${own}`), "text/csv", "hunts.csv");
  } catch (error) {
    announce(/** @type {Error} */ (error).message);
  }
}

/** @param {any} passage */
function bandSection({ title, table: rows, sentences }) {
  return element("section", {}, element("h3", {}, title), table(rows), ...paragraphs(sentences));
}

async function compare() {
  try {
    const files = await Promise.all([...byId("club-files").files].map(newestHunts));
    const { bands } = await post("/api/hunt-files/comparison", { files });
    byId("club").replaceChildren(...bands.map(bandSection));
    announce(bands.length ? "The comparison is below." : "No two files have a hunt on the same band.");
  } catch (error) {
    announce(/** @type {Error} */ (error).message);
  }
}

/** Handle the buttons of the section. */
export function listenForClub() {
  byId("save-hunts").addEventListener("click", saveHunts);
  byId("club-files").addEventListener("change", compare);
}
