import type { WireQuestion } from "../../shared/wire.ts";
import type { PageState } from "../page/page-state.ts";

/** What something waits for; the safe answer comes first and is the larger one. */
export interface DockQuestion {
  ask: string;
  because: string;
  no: string;
  yes: string;
  mayAnswer: boolean;
}

/** A question of the page itself, with what a yes does. */
export interface OwnQuestion extends DockQuestion {
  onYes: () => void;
}

/** What is asked at the dock: what a run waits for comes before all else. */
export function dockQuestion(state: PageState, own: OwnQuestion | null): DockQuestion | null {
  if (state.phase !== "live") return null;
  if (state.question !== null) return runQuestion(state.question, state.lease === "you");
  if (state.leaseAskedBy !== null && state.lease === "you") {
    return {
      ask: `${state.leaseAskedBy} asks for control. Hand it over?`,
      because: "What is on stays on, and the other page is then responsible for it.",
      no: "No: keep control",
      yes: "Hand it over",
      mayAnswer: true,
    };
  }
  return own;
}

/** A question of the run as the dock asks it. */
function runQuestion({ asks, feed, fromAmps, toAmps, because }: WireQuestion, mayAnswer: boolean): DockQuestion {
  if (asks === "raise-limit") {
    return {
      ask: `Raise the limit of ${feed} from ${fromAmps ?? "?"} A to ${toAmps ?? "?"} A?`,
      because,
      no: "No: leave it off",
      yes: `Raise ${feed} to ${toAmps ?? "?"} A`,
      mayAnswer,
    };
  }
  const wanted = asks === "manual-on" ? "on" : "off";
  return {
    ask: `Switch feed ${feed} ${wanted} by hand, then say so.`,
    because,
    no: "I cannot",
    yes: `${feed} is ${wanted}`,
    mayAnswer,
  };
}

/** Opening a job while another's board is on. */
export const openWhileOn = (of: { wanted: string; on: string; onYes: () => void }): OwnQuestion => ({
  ask: `Something is on. Open ${of.wanted} anyway?`,
  because: `What is on belongs to ${of.on}. It stays on, and what you file goes into the job you open.`,
  no: "No: stay here",
  yes: `Open ${of.wanted}`,
  mayAnswer: true,
  onYes: of.onYes,
});
