import type { Diagnosis } from "../../../shared/diagnosis.ts";
import { inProgram } from "../../system/in-program.ts";
import { type DiagnoseInput, diagnose } from "../../verdict/diagnosis/diagnose.ts";
import { workAside } from "./work-aside.ts";

const diagnoser = inProgram("daemon/process/diagnose-worker.js");

/** A diagnosis worked out beside this thread: it takes longer than a late beat may while outputs are on. */
export async function diagnoseAside(input: DiagnoseInput): Promise<Diagnosis> {
  return (await workAside<DiagnoseInput, Diagnosis>(diagnoser, input)) ?? diagnose(input);
}
