// @ts-check
// The state of a session on the server.
import { FaintcallError, get } from "./api.js";

/**
 * Return the state of a session after a failed request, null if it is unknown.
 * @param {unknown} error
 * @param {string} id
 */
export async function stateAfterError(error, id) {
  if (!(error instanceof FaintcallError)) return null;
  if (error.state) return error.state;
  if (error.status !== 404) return null;
  try {
    return await get(`/api/sessions/${id}`);
  } catch {
    return null; // the first error is the one to show
  }
}
