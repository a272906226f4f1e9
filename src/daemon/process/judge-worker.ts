/** Judges one draw and ends; see judge-aside.ts. */
import { parentPort, workerData } from "node:worker_threads";
import type { DrawInput } from "../../../shared/draw-input.ts";
import { verdictOnDraw } from "../../verdict/draw-verdict.ts";

parentPort?.postMessage(verdictOnDraw(workerData as DrawInput));
