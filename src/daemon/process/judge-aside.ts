import type { DrawInput } from "../../../shared/draw-input.ts";
import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import { inProgram } from "../../system/in-program.ts";
import { verdictOnDraw } from "../../verdict/draw-verdict.ts";
import { workAside } from "./work-aside.ts";

/**
 * The verdict on a draw, worked out beside this thread: while outputs are on, this thread beats to the bench process, and
 * a beat that is late cuts. Where no thread can be had it is worked out in this process instead.
 */
export const judgeAside: (input: DrawInput) => Promise<DrawVerdict> = workAside(
  inProgram("daemon/process/judge-worker.js"),
  verdictOnDraw,
);
