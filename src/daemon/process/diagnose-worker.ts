/** Diagnoses once and ends; see diagnose-aside.ts. */
import { parentPort, workerData } from "node:worker_threads";
import { type DiagnoseInput, diagnose } from "../../verdict/diagnosis/diagnose.ts";

parentPort?.postMessage(diagnose(workerData as DiagnoseInput));
