import { createInterface } from "node:readline";
import { SweepWord } from "../../../shared/sweep.ts";
import type { GuidedSweep } from "../../daemon/sweep/guided-sweep.ts";
import { say } from "./people.ts";

const MULTIPLES: Record<string, number> = { "": 1, m: 1e-3, k: 1e3, K: 1e3, M: 1e6 };

type Steers = Pick<GuidedSweep, "say" | "type">;

/**
 * Steers a sweep by the lines of standard input; a line that means nothing is answered with what would. `answers` is
 * asked first: true where the line was the answer to a question.
 */
export function steerByLines(desk: Steers, answers: (line: string) => boolean): () => void {
  const input = process.stdin;
  const lines = createInterface({ input });
  lines.on("line", (line) => {
    if (!answers(line)) steerBy(desk, line);
  });
  // On a terminal readline takes Ctrl-C for itself; it goes on as the signal it is.
  lines.on("SIGINT", () => void process.emit("SIGINT"));
  return () => {
    lines.close();
    // An input that is listened to would keep the program.
    input.destroy();
  };
}

/** One line: a word, or `volts 1.81`, `ohms 4.7k`, `ohms open`, `diode 0.45`. */
function steerBy(desk: Steers, line: string): void {
  const text = line.trim();
  if (text === "") return;
  const word = SweepWord.safeParse(text);
  if (word.success) return desk.say(word.data);
  const typed =
    /^(volts|ohms|diode)\s+(?:(open|OL)|(-?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][-+]?\d+)?)\s*([mkKM]?)(?:V|Ω|ohms?)?)$/.exec(
      text,
    );
  const [, quantity, open, digits, multiple = ""] = typed ?? [];
  const isTyped = quantity === "volts" || quantity === "ohms" || quantity === "diode";
  const value = Number(digits) * (MULTIPLES[multiple] ?? 1);
  if (isTyped && open !== undefined && quantity !== "volts") return desk.type(quantity, null);
  if (isTyped && digits !== undefined && (quantity !== "ohms" || value >= 0)) return desk.type(quantity, value);
  say(
    `${JSON.stringify(text)} means nothing here; say ${SweepWord.options.join(", ")}, or a value: volts 1.81, ohms 4.7k, ohms open`,
  );
}
