// Globals of the audio worklet scope, which TypeScript's DOM library lacks (recorder.js, hunt_processor.js).
// Source: Web Audio API 1.1, AudioWorkletGlobalScope.
declare const sampleRate: number;

declare abstract class AudioWorkletProcessor {
  readonly port: MessagePort;
  abstract process(
    inputs: Float32Array<ArrayBuffer>[][], outputs: Float32Array<ArrayBuffer>[][],
  ): boolean;
}

declare function registerProcessor(name: string, processor: new () => AudioWorkletProcessor): void;
