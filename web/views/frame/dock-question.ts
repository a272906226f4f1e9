import type { WireQuestion } from "../../../shared/wire.ts";
import { needsWatch, type PageState } from "../../page/page-state.ts";
import { say } from "../../words/shell.ts";

/** The answers that something waits for; the safe answer comes first and is the larger one. */
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

/** The question at the dock: what a run waits for comes before all else. */
export function dockQuestion(state: PageState, own: OwnQuestion | null): DockQuestion | null {
  if (state.phase !== "live") return null;
  if (state.question !== null) return runQuestion(state.question, state.lease === "you");
  if (state.leaseOfferedBy !== null && state.lease === "other") {
    return {
      ask: say("ask.watch", { page: state.leaseOfferedBy }),
      because: say("ask.watch.why"),
      no: say("ask.watch.no", { page: state.leaseOfferedBy }),
      yes: say("ask.watch.yes"),
      mayAnswer: true,
    };
  }
  if (state.leaseAskedBy !== null && state.lease === "you") {
    return {
      ask: say("ask.hand-over", { page: state.leaseAskedBy }),
      because: say(needsWatch(state) ? "ask.hand-over.why" : "ask.hand-over.off"),
      no: say("ask.hand-over.no"),
      yes: say("ask.hand-over.yes"),
      mayAnswer: true,
    };
  }
  return own;
}

/** A question of the run as the dock asks it. */
function runQuestion({ asks, feed, fromAmps, toAmps, because }: WireQuestion, mayAnswer: boolean): DockQuestion {
  if (asks === "raise-limit") {
    return {
      ask: say("ask.raise", { feed, from: fromAmps ?? "?", to: toAmps ?? "?" }),
      because,
      no: say("ask.raise.no"),
      yes: say("ask.raise.yes", { feed, to: toAmps ?? "?" }),
      mayAnswer,
    };
  }
  const wanted = asks === "manual-on" ? "ask.hand-on" : "ask.hand-off";
  return {
    ask: say(wanted, { feed }),
    because,
    no: say("ask.hand.no"),
    yes: say(`${wanted}.yes`, { feed }),
    mayAnswer,
  };
}

/** Opening a job while another's board is on. */
export const openWhileOn = (of: { wanted: string; on: string; onYes: () => void }): OwnQuestion => ({
  ask: say("ask.open", { job: of.wanted }),
  because: say("ask.open.why", { on: of.on }),
  no: say("ask.open.no"),
  yes: say("ask.open.yes", { job: of.wanted }),
  mayAnswer: true,
  onYes: of.onYes,
});

/** Giving control up while something is on and no page asks for it. */
export const giveUpWhileOn = (onYes: () => void): OwnQuestion => ({
  ask: say("ask.give-up"),
  because: say("ask.give-up.why"),
  no: say("ask.hand-over.no"),
  yes: say("ask.give-up.yes"),
  mayAnswer: true,
  onYes,
});
