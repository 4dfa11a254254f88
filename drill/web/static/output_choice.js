// @ts-check
// The choice of the output device in the settings.
import { announce } from "./announce.js";
import { byId } from "./elements.js";
import { canChooseOutput, chosenOutput, keepOutput, listOutputs } from "./output_device.js";

const NOT_ALLOWED = "The browser names output devices only to a page that may use the microphone. "
  + "Allow it beside the page's address, or change the device in the sound settings of your computer.";

async function showOutputs() {
  let outputs;
  try {
    outputs = await listOutputs();
  } catch {
    announce(NOT_ALLOWED);
    return;
  }
  const chosen = chosenOutput();
  const system = new Option("as the system has chosen", "");
  byId("output").replaceChildren(system, ...outputs.map(({ id, label }) =>
    new Option(label, id, id === chosen, id === chosen)));
  byId("output-field").hidden = false;
  byId("name-outputs").hidden = true;
  byId("output").focus();
}

if (canChooseOutput()) {
  byId("name-outputs").hidden = false;
  byId("name-outputs").addEventListener("click", showOutputs);
  byId("output").addEventListener("change", (/** @type {Event} */ event) => {
    event.stopPropagation(); // it is kept in this browser, not in the record
    keepOutput(byId("output").value);
    announce(`Saved: output device ${byId("output").selectedOptions[0].text}.`);
  });
} else {
  byId("no-output").hidden = false;
}
