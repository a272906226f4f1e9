import { joinMessages } from "../scpi/compound.ts";
import type { Speech } from "./speech.ts";

/** One write of a cut: whole lines without the terminator that frames them, and when, milliseconds from the cut. */
export interface OffWrite {
  afterMs: number;
  text: string;
}

const AGAIN_MS = 50;

/**
 * The bytes that a cut writes: off at once and again 50 ms later, the second time after the remote command, as a person may have
 * taken the front panel back. An instrument that drops what comes too soon gets each line a gap apart, and once more.
 */
export function offWrites(options: {
  speech: Speech;
  outputOff: (channel: number) => string;
  channels: readonly number[];
  terminator: string;
  gapMs: number;
  remote: string | undefined;
}): OffWrite[] {
  const { speech, outputOff, channels, terminator, gapMs, remote } = options;
  const separate = channels.flatMap((channel) => speech.linesFor(outputOff(channel), channel));
  // Lines that follow each other at once would be dropped by an instrument that needs a gap; one line is not.
  const lines = gapMs > 0 && speech.joins ? [joinMessages(separate)] : separate;
  const again = remote === undefined ? lines : [remote, ...lines];
  if (gapMs === 0) {
    return [
      { afterMs: 0, text: lines.join(terminator) },
      { afterMs: AGAIN_MS, text: again.join(terminator) },
    ];
  }
  const stepMs = Math.max(AGAIN_MS, 1.2 * gapMs);
  // The first may come too soon after the last message, and a line that is dropped must not delay the next for good.
  return [...lines, ...again, ...lines].map((text, index) => ({ afterMs: index * stepMs, text }));
}
