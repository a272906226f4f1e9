import type { StageName } from "../../shared/plan.ts";
import type { StageState } from "../../shared/wire.ts";

/** What each stage does, in as few words as fit under its name. */
export const STAGE_WORDS: Record<StageName, { name: string; does: string }> = {
  check: { name: "Check", does: "permit and settings" },
  touch: { name: "Touch", does: "below 1 V: shorts show" },
  "hold-low": { name: "Hold low", does: "regulators still locked out" },
  rise: { name: "Rise", does: "straight to nominal" },
  watch: { name: "Watch", does: "until the draw has settled" },
  off: { name: "Off", does: "and confirmed off" },
  margin: { name: "Margin", does: "voltage stepped within the tolerance" },
  inject: { name: "Inject", does: "a small voltage into a shorted rail" },
};

export const STAGE_ORDER: StageName[] = ["check", "touch", "hold-low", "rise", "watch", "off"];

/** A state is told by a shape and a word, never by colour alone. */
export const STATE_WORDS: Record<StageState, { mark: string; word: string }> = {
  waiting: { mark: "", word: "to come" },
  running: { mark: "▶", word: "now" },
  clean: { mark: "✓", word: "clean" },
  skipped: { mark: "–", word: "not needed" },
  stopped: { mark: "✕", word: "stopped here" },
};
