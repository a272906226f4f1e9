import type { Plan, StageName } from "../../../shared/plan.ts";
import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import { MOST_TOUCH_MS } from "../compile/feed-settings.ts";
import type { Energised, PlanState, Safe } from "./machine-state.ts";
import { onTimeLeftMs } from "./on-time-up.ts";
import { openQuestion } from "./questions.ts";

/** The thing a run waits for, for a person who watches it; `expectedMs` is when it is over at the latest, null unknown. */
export interface StateDescription {
  stage: StageName;
  feed: string | null;
  waitingFor: string;
  /** When this wait began, and how long it may last, milliseconds. */
  sinceMs: number;
  expectedMs: number | null;
  /** Number of the question that waits for an answer; null where none does. */
  question: number | null;
}

/** The thing the machine waits for in this state, in plain words. */
export function describeState(plan: Plan, state: PlanState): StateDescription {
  return { stage: state.ledger.stage, question: openQuestion(state), ...waitOf(plan, state) };
}

function waitOf(plan: Plan, state: PlanState): Wait {
  switch (state.kind) {
    case "preparing":
      return { feed: null, waitingFor: "the supplies to be made ready", sinceMs: 0, expectedMs: null };
    case "safe":
      return safeWait(state);
    case "energised":
      return liveWait(plan, state);
    case "asking-why": {
      const { feed, sinceMs } = state;
      return { feed, waitingFor: `the supply to say why ${feed} went off`, sinceMs, expectedMs: 500 };
    }
    case "cutting": {
      const [byHand] = state.manual;
      const asked = state.output !== null && byHand !== undefined;
      return {
        feed: state.trip?.feed ?? null,
        waitingFor: asked ? `${byHand} to be switched off by hand` : "the proof that everything is off",
        sinceMs: state.sinceMs,
        expectedMs: asked ? null : 500,
      };
    }
    case "ended":
      return { feed: null, waitingFor: "nothing: the run is over", sinceMs: state.ledger.atMs, expectedMs: null };
  }
}

type Wait = Omit<StateDescription, "stage" | "question">;

function safeWait({ step, ledger }: Safe): Wait {
  const { sinceMs } = step;
  switch (step.step) {
    case "clear": {
      const high = ledger.feeds.filter((feed) => Math.abs(step.seen[feed] ?? 0) > 0.3);
      const waitingFor =
        high.length > 0 ? `${high.join(", ")} to discharge` : "a reading of every feed with nothing on";
      return { feed: high[0] ?? null, waitingFor, sinceMs, expectedMs: 3000 };
    }
    case "configure":
      return {
        feed: step.feed,
        waitingFor: `${step.feed} to take ${sayVolts(step.setting.volts)}, ${sayAmps(step.setting.limitAmps)}`,
        sinceMs,
        expectedMs: 1000,
      };
    case "ask-raise":
      return {
        feed: step.feed,
        waitingFor: `a person's word on a limit of ${sayAmps(step.toAmps)}`,
        sinceMs,
        expectedMs: null,
      };
    case "ask-level":
      return {
        feed: step.feed,
        waitingFor: `a person's word on the next limit, ${sayAmps(step.toAmps)}`,
        sinceMs,
        expectedMs: null,
      };
    case "cool":
      return {
        feed: null,
        waitingFor: "the board to cool before the next limit",
        sinceMs,
        expectedMs: step.untilMs - sinceMs,
      };
    case "ask-manual-on":
      return { feed: step.feed, waitingFor: `${step.feed} to be switched on by hand`, sinceMs, expectedMs: null };
  }
}

function liveWait(plan: Plan, state: Energised): Wait {
  const { step, energised } = state;
  const { sinceMs } = step;
  const onTimeLeft = onTimeLeftMs(plan, state, sinceMs);
  switch (step.step) {
    case "switch-on":
      return { feed: step.feed, waitingFor: `${step.feed} to come on`, sinceMs, expectedMs: 500 };
    case "look":
      return { feed: step.feed, waitingFor: `${step.feed} to settle below 1 V`, sinceMs, expectedMs: MOST_TOUCH_MS };
    case "relimit":
      return {
        feed: step.feed,
        waitingFor: `${step.feed} to take a limit of ${sayAmps(step.setting.limitAmps)}`,
        sinceMs,
        expectedMs: 500,
      };
    case "hold":
    case "climb": {
      const setting = energised.find((each) => each.feed === step.feed)?.setting;
      return {
        feed: step.feed,
        waitingFor: `${step.feed} to reach ${sayVolts(setting?.volts ?? 0)}`,
        sinceMs,
        expectedMs: setting?.maxMs ?? null,
      };
    }
    case "read-anew":
      return {
        feed: step.feed,
        waitingFor: `a fresh reading of all that is on, before ${step.feed} comes on`,
        sinceMs,
        expectedMs: 500,
      };
    case "ask-manual-on":
      return { feed: step.feed, waitingFor: `${step.feed} to be switched on by hand`, sinceMs, expectedMs: null };
    case "watch":
      return {
        feed: null,
        waitingFor: "the draw to settle",
        sinceMs,
        expectedMs: Math.min(plan.watch.seconds * 1000, onTimeLeft ?? Number.POSITIVE_INFINITY),
      };
    case "set-volts":
      return {
        feed: step.feed,
        waitingFor: `${step.feed} to take ${sayVolts(step.setting.volts)}`,
        sinceMs,
        expectedMs: 500,
      };
    case "level":
      return {
        feed: step.feed,
        waitingFor: `the draw to settle at ${sayVolts(plan.margin?.stepVolts[step.index] ?? 0)}`,
        sinceMs,
        expectedMs: plan.margin?.stepMs ?? null,
      };
    case "inject": {
      const { levelMs = null, topMs = null, levelsAmps = [] } = plan.inject ?? {};
      const top = step.track.level.limitAmps >= Math.max(...levelsAmps) * 0.999;
      return {
        feed: step.feed,
        waitingFor: "heat to show, or a key to end it",
        sinceMs,
        expectedMs: top ? topMs : levelMs,
      };
    }
    case "holding":
      return { feed: null, waitingFor: "a stop, or the longest on-time", sinceMs, expectedMs: onTimeLeft };
    case "switch-off":
      return { feed: step.feed, waitingFor: `${step.feed} to be proved off`, sinceMs, expectedMs: 500 };
    case "ask-manual-off":
      return { feed: step.feed, waitingFor: `${step.feed} to be switched off by hand`, sinceMs, expectedMs: null };
  }
}
