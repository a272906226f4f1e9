import type { WireAnswer } from "../../../shared/wire.ts";
import { sayOhms } from "../../../shared/words/amounts.ts";
import { say } from "../../words/shell.ts";
import { local } from "../../words/words.ts";

/** The outcome of nulling the leads, as a sentence; empty for an answer that is none. */
export function nulledText(answer: WireAnswer): string {
  if (answer.result === "refused") return `✕ ${answer.because}`;
  if (answer.result !== "lead-null") return "";
  return say("leads.nulled", { ohms: local(sayOhms(answer.ohms)), remark: answer.remark ?? "" });
}
