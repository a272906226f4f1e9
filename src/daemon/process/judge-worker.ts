/** Judges draws, one after the other; see judge-aside.ts. */
import type { DrawInput } from "../../../shared/draw-input.ts";
import { answerAsked } from "../../system/answer-asked.ts";
import { verdictOnDraw } from "../../verdict/draw-verdict.ts";

answerAsked(async (input: DrawInput) => verdictOnDraw(input));
