// @ts-check
// A button that deletes a session of any kind with everything that belongs to it.
import { post } from "./api.js";
import { askTwiceButton } from "./ask_twice.js";

/**
 * Return a button that deletes a session at the second press.
 * @param {string} id of the session
 * @param {string} label
 * @param {() => void} after called when it is deleted
 */
export function deleteSessionButton(id, label, after) {
  const button = askTwiceButton(label, "Delete it with its answers, for good", async () => {
    await post(`/api/history/${id}/delete`, {});
    after();
  });
  button.classList.add("quiet");
  return button;
}
