import { SweepWord } from "../../../shared/sweep.ts";
import { ohmsIn } from "../../../shared/words/ohms-text.ts";
import { voltsIn } from "../../../shared/words/volts-text.ts";
import type { GuidedSweep } from "../../daemon/sweep/guided-sweep.ts";
import { say } from "./people.ts";

type Steers = Pick<GuidedSweep, "say" | "type" | "mark">;

/** No word or value is longer; what comes without a line end is not kept without bound. */
const LONGEST_LINE = 1000;

/** Lines of standard input that steer a sweep, until `silence` is called. */
export interface Steering {
  /** Ends the line that was begun, so that an answer begins with its own first key. */
  beginLine(): void;
  silence(): void;
}

/**
 * Steers a sweep by the lines of standard input; a line that means nothing is answered with what would. `answers` is
 * asked first, with the moment the line was begun: true where the line was the answer to a question.
 */
export function steerByLines(desk: Steers, answers: (line: string, begunAtMs: number) => boolean): Steering {
  const input = process.stdin;
  let begun = "";
  let begunAtMs = 0;
  const take = (line: string): void => {
    begun = "";
    if (!answers(line, begunAtMs)) steerBy(desk, line);
  };
  input.on("end", () => {
    if (begun !== "") take(begun);
  });
  input.setEncoding("utf8").on("data", (piece: string) => {
    const parts = piece.split(/\r?\n/);
    parts.forEach((part, index) => {
      if (begun === "") begunAtMs = performance.now();
      begun = (begun + part).slice(0, LONGEST_LINE);
      if (index < parts.length - 1) take(begun);
    });
  });
  return {
    beginLine: () => {
      // A terminal keeps half a line until its Enter. Changed over and back, it hands out what it has now.
      if (!input.isTTY) return;
      input.setRawMode(true);
      input.setRawMode(false);
    },
    // An input that is listened to would keep the program.
    silence: () => void input.destroy(),
  };
}

/** "key", or "mark freeze spray on L4"; null for a line that is neither. `text` null is the key. */
export function markOf(line: string): { text: string | null } | null {
  if (line === "key") return { text: null };
  const text = /^mark\s+(\S.*)$/.exec(line)?.[1];
  return text === undefined ? null : { text };
}

/** One line: a word, or `volts 1.81`, `ohms 4.7k`, `ohms open`, `diode 0.45`. */
function steerBy(desk: Steers, line: string): void {
  const text = line.trim();
  if (text === "") return;
  const word = SweepWord.safeParse(text);
  if (word.success) return desk.say(word.data);
  const did = markOf(text);
  if (did !== null) {
    const refusal = desk.mark(did.text);
    if (refusal !== null) say(refusal);
    return;
  }
  const [, quantity, written = ""] = /^(volts|ohms|diode)\s+(.+)$/.exec(text) ?? [];
  if (quantity === "ohms") {
    const ohms = ohmsIn(written);
    if (ohms !== null) return desk.type("ohms", ohms === "open" ? null : ohms);
  } else if (quantity === "volts" || quantity === "diode") {
    if (quantity === "diode" && ohmsIn(written) === "open") return desk.type("diode", null);
    const volts = voltsIn(written);
    if (volts !== null) return desk.type(quantity, volts);
  }
  say(
    `${JSON.stringify(text)} is not understood; type ${SweepWord.options.join(", ")}, or a value: volts 1.81, ohms 4.7k, ohms open; "key" when you press the board's power key, "mark" and what you did`,
  );
}
