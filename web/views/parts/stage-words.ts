import type { StageName } from "../../../shared/plan.ts";
import type { StageState } from "../../../shared/wire.ts";
import { say } from "../../words/shell.ts";

/** A stage by its name. */
export const stageName = (stage: StageName): string => say(`stage.${stage}`);

/** The work of a stage, in as few words as fit under its name. */
export const stageDoes = (stage: StageName): string => say(`stage.${stage}.does`);

export const STAGE_ORDER: StageName[] = ["check", "touch", "hold-low", "rise", "watch", "off"];

const STATE_MARKS: Record<StageState, string> = { waiting: "", running: "▶", clean: "✓", skipped: "–", stopped: "✕" };

/** A state is told by a shape and a word, never by colour alone. */
export const stageState = (state: StageState): { mark: string; word: string } => ({
  mark: STATE_MARKS[state],
  word: say(`stage.${state}`),
});
