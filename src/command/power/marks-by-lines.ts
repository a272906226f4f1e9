import type { ActiveRun } from "../../daemon/run/active-run.ts";
import { sayMark } from "../../daemon/run/say-mark.ts";
import { mayReadInput } from "../../system/in-foreground.ts";
import { say } from "../text/people.ts";
import { markOf } from "../text/sweep-words.ts";

/** No line is longer; what comes without a line end is not kept without bound. */
const LONGEST_LINE = 1000;

/**
 * Files what a person says on standard input that they did to the board while it is watched or held: "key" for its power key, which
 * brings it to its next state of power, or "mark" and words. Listens from the moment the board is at nominal, since questions come
 * before that. `isAsking` is true while a question has the input. Answers with what ends it.
 */
export function marksByLines(run: ActiveRun, isAsking: () => boolean): () => void {
  const input = process.stdin;
  let begun = "";
  let isListening = false;
  const take = (line: string): void => {
    const did = markOf(line.trim());
    if (did === null) {
      if (line.trim() !== "")
        say(`${JSON.stringify(line.trim())} is not understood; type key, or mark and what you did`);
      return;
    }
    const answer = sayMark(run, did.text);
    say("filed" in answer ? `Filed: ${answer.filed}.` : `note: ${answer.refused}`);
  };
  const onData = (piece: Buffer | string): void => {
    if (isAsking()) return;
    const parts = String(piece).split(/\r?\n/);
    parts.forEach((part, index) => {
      begun = (begun + part).slice(0, LONGEST_LINE);
      if (index === parts.length - 1) return;
      take(begun);
      begun = "";
    });
  };
  const listen: Parameters<typeof run.on<"progress">>[1] = (_, { stage }) => {
    if (stage !== "watch" || isListening) return;
    run.off("progress", listen);
    if (!mayReadInput()) return;
    isListening = true;
    const next = Object.values(run.header.board?.states ?? {})[1]?.after;
    if (next !== undefined) say(`When you do it, type "key" and press Enter: ${next}.`);
    input.on("data", onData).resume();
    // Whoever started this may keep the input open for ever; it must not keep the program.
    if ("unref" in input) input.unref();
  };
  run.on("progress", listen);
  return () => {
    run.off("progress", listen);
    if (!isListening) return;
    input.off("data", onData);
    input.pause();
  };
}
