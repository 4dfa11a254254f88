// @ts-check
// The device that the page plays through. Browsers that cannot choose one use the system's.

const STORED_DEVICE = "output device";

/** @typedef {AudioContext & {setSinkId?: (id: string) => Promise<void>}} SinkContext */

/** Return true if this browser lets a page choose the output device. */
export function canChooseOutput() {
  return "setSinkId" in AudioContext.prototype && Boolean(navigator.mediaDevices);
}

/** Return the id of the chosen device, "" for the system's. */
export function chosenOutput() {
  try {
    return localStorage.getItem(STORED_DEVICE) ?? "";
  } catch {
    return "";
  }
}

/** Keep a device in this browser. @param {string} id "" for the system's */
export function keepOutput(id) {
  try {
    localStorage.setItem(STORED_DEVICE, id);
  } catch {
    // without storage, the choice lasts as long as the page
  }
}

/** Let an output play through the chosen device. @param {SinkContext} context */
export async function useChosenOutput(context) {
  const id = chosenOutput();
  if (!id || !context.setSinkId) return;
  try {
    await context.setSinkId(id);
  } catch {
    // the device is not connected: the system's plays
  }
}

/**
 * Return the output devices. Browsers name them only to a page that may use the microphone, so it
 * is opened for a moment if there is no name yet.
 * @returns {Promise<{id: string, label: string}[]>}
 */
export async function listOutputs() {
  let outputs = await namedOutputs();
  if (!outputs.length) {
    const stream = await navigator.mediaDevices.getUserMedia({ audio: true });
    for (const track of stream.getTracks()) track.stop();
    outputs = await namedOutputs();
  }
  return outputs;
}

async function namedOutputs() {
  const devices = await navigator.mediaDevices.enumerateDevices();
  return devices
    .filter(({ kind, deviceId, label }) => kind === "audiooutput" && deviceId && label)
    .map(({ deviceId, label }) => ({ id: deviceId, label }));
}
