// @ts-check
// The last choices in a form, kept in this browser.

/** Return the last choices by field, {} without any. @param {string} form @returns {Record<string, string>} */
export function lastChoices(form) {
  try {
    return JSON.parse(localStorage.getItem(form) ?? "{}");
  } catch {
    return {};
  }
}

/** Keep choices for the next time. @param {string} form @param {string[][]} choices field and value */
export function keepChoices(form, choices) {
  try {
    localStorage.setItem(form, JSON.stringify(Object.fromEntries(choices)));
  } catch {
    // Without storage, the form starts from its defaults.
  }
}
