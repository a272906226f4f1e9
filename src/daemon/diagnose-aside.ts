import { fileURLToPath } from "node:url";
import type { Diagnosis } from "../../shared/diagnosis.ts";
import { type DiagnoseInput, diagnose } from "../verdict/diagnosis/diagnose.ts";
import { workAside } from "./work-aside.ts";

const diagnoser = fileURLToPath(new URL("../daemon/diagnose-worker.js", import.meta.url));

/** A diagnosis worked out beside this thread: it takes longer than a late beat may while outputs are on. */
export async function diagnoseAside(input: DiagnoseInput): Promise<Diagnosis> {
  return (await workAside<DiagnoseInput, Diagnosis>(diagnoser, input)) ?? diagnose(input);
}
