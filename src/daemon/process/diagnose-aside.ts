import type { Diagnosis } from "../../../shared/diagnosis.ts";
import { AskedThread } from "../../system/asked-thread.ts";
import { inProgram } from "../../system/in-program.ts";
import { LastingThread } from "../../system/lasting-thread.ts";
import { type DiagnoseInput, diagnose } from "../../verdict/diagnosis/diagnose.ts";

const diagnoser = inProgram("daemon/process/diagnose-worker.js");
const thread = new LastingThread(diagnoser, null);

/**
 * A diagnosis worked out beside this thread: it takes longer than a late beat may while outputs are on. However many are asked for, one
 * is worked out at a time. Where no thread can be had it is worked out in this process instead.
 */
export async function diagnoseAside(input: DiagnoseInput): Promise<Diagnosis> {
  return AskedThread.canRun(diagnoser) ? ((await thread.ask(input)) as Diagnosis) : diagnose(input);
}
