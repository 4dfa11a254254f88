// @ts-check
// The link budget: a form and its result.
import { announce } from "./announce.js";
import { post } from "./api.js";
import { byId, paragraphs, table } from "./elements.js";
import { checkNumbers, numberValue, showChosenFields, showFailure } from "./forms.js";

const form = /** @type {HTMLFormElement} */ (byId("budget"));

/** Return the values of all fields in use, in the form that the server expects. */
function formValues() {
  const values = /** @type {Record<string, any>} */ ({});
  for (const input of form.querySelectorAll("input[type=number], input[type=text], select")) {
    const field = /** @type {HTMLInputElement} */ (input);
    if (field.closest("[hidden]")) continue;
    const value = field.type === "number" ? numberValue(field) : field.value.trim();
    if (value !== null) values[field.name] = value;
  }
  return values;
}

async function calculate() {
  if (!checkNumbers(form, byId("problem"))) return;
  try {
    const { tables, sentences } = await post("/api/budget", formValues());
    byId("result-content").replaceChildren(
      ...tables.map(table), ...paragraphs(sentences.slice(1)));
    byId("result").hidden = false;
    announce(sentences[0]);
  } catch (error) {
    showFailure(byId("problem"), error, form);
  }
}

form.addEventListener("change", () => showChosenFields(form));
form.addEventListener("submit", (event) => {
  event.preventDefault();
  calculate();
});
showChosenFields(form);
