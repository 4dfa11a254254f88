// @ts-check
// Long work of the server: its progress bar, until it has ended.

const POLL_MS = 500;

/** @typedef {{running: boolean, done: number, total: number, problem: string}} Progress */

/**
 * Show progress in a bar and its label.
 * @param {HTMLElement} field hidden while nothing runs
 * @param {Progress} progress
 * @param {string} label what is counted
 */
export function showProgress(field, { running, done, total }, label) {
  const bar = /** @type {HTMLProgressElement} */ (field.querySelector("progress"));
  field.hidden = !running;
  bar.max = Math.max(1, total);
  bar.value = done;
  const text = /** @type {HTMLElement} */ (field.querySelector("label"));
  text.textContent = `${label}: ${done} of ${total}`;
}

/**
 * Show states until the work has ended; return the last state.
 * @param {any} state with an entry "progress"
 * @param {() => Promise<any>} fetchState
 * @param {(state: any) => void} show
 */
export async function followWork(state, fetchState, show) {
  show(state);
  while (state.progress.running) {
    await new Promise((resolve) => setTimeout(resolve, POLL_MS));
    state = await fetchState();
    show(state);
  }
  return state;
}
