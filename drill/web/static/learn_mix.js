// @ts-check
// Learns from a contest log which calls to compose.
import { announce } from "./announce.js";
import { postFile } from "./api.js";
import { byId, paragraphs } from "./elements.js";
import { clearError, showError, showFailure } from "./forms.js";

const form = /** @type {HTMLFormElement} */ (byId("learn-mix"));
const problem = byId("mix-problem");

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  clearError(problem);
  const [file] = byId("log-file").files;
  if (!file) {
    showError(problem, "Choose your log first: an ADIF or a Cabrillo file.", byId("log-file"));
    return;
  }
  const query = new URLSearchParams({
    name: byId("mix-name").value.trim(), replace: byId("replace-mix").checked ? "yes" : "no",
  });
  try {
    const path = `/api/mixes?${query}`;
    const { says } = await postFile(path, await file.arrayBuffer(), "application/octet-stream");
    byId("mix-says").replaceChildren(...paragraphs(says));
    announce(`The mix is learned. ${says[0]}`, { shownElsewhere: true });
  } catch (error) {
    showFailure(problem, error, form);
  }
});
