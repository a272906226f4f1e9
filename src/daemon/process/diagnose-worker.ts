/** Diagnoses, one board after the other; see diagnose-aside.ts. */
import { answerAsked } from "../../system/answer-asked.ts";
import { type DiagnoseInput, diagnose } from "../../verdict/diagnosis/diagnose.ts";

answerAsked(async (input: DiagnoseInput) => diagnose(input));
