// @ts-check
// A button that deletes something, and asks for a second press first.
import { announce } from "./announce.js";
import { element } from "./elements.js";

/**
 * Return a button that acts at the second press.
 * @param {string} label at first
 * @param {string} question label before the second press, such as "Delete it for good"
 * @param {() => Promise<void>} act
 */
export function askTwiceButton(label, question, act) {
  const button = /** @type {HTMLButtonElement} */ (element("button", { type: "button" }, label));
  let asked = false;
  button.addEventListener("click", async () => {
    if (!asked) {
      asked = true;
      button.textContent = question;
      announce(`Press again: ${question}.`, { shownElsewhere: true });
      return;
    }
    button.disabled = true; // in case of a third press
    try {
      await act();
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
    } finally {
      button.disabled = false;
      asked = false;
      button.textContent = label;
    }
  });
  return button;
}
