import type { Diagnosis } from "../../../shared/record/diagnosis.ts";
import { inProgram } from "../../system/in-program.ts";
import { type DiagnoseInput, diagnose } from "../../verdict/diagnosis/diagnose.ts";
import { workAside } from "./work-aside.ts";

/**
 * A diagnosis worked out beside this thread: it takes longer than a late beat may while outputs are on. However many are asked for, one
 * is worked out at a time. Where no thread can be had it is worked out in this process instead.
 */
export const diagnoseAside: (input: DiagnoseInput) => Promise<Diagnosis> = workAside(
  inProgram("daemon/process/diagnose-worker.js"),
  diagnose,
);
