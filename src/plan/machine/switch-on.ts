import type { Plan, PlanEvent, StageSetting } from "../../../shared/plan.ts";
import { commandFailed, waitForOutput } from "./command-failed.ts";
import { cutOff } from "./cut-off.ts";
import { FRESH_TRACK } from "./feed-track.ts";
import { freshInjection } from "./inject-track.ts";
import type { Energised, Ledger, LiveFeed, LiveStep, Target } from "./machine-state.ts";
import { inStage, type StepResult, stay } from "./step-result.ts";

/** An output that is not read back as on within this is cut: nobody knows what it does. */
const MOST_MS = 1500;

/** Switches one feed on, besides those that are on already; from here on its current may flow. */
export function switchOn(
  ledger: Ledger,
  others: readonly LiveFeed[],
  what: { feed: string; setting: StageSetting; target: Target },
  nowMs: number,
): StepResult {
  const { feed, setting, target } = what;
  const live: LiveFeed = {
    feed,
    manual: false,
    setting,
    askedMs: nowMs,
    onMs: null,
    leaving: false,
    track: FRESH_TRACK,
  };
  const { [feed]: _gone, ...offVolts } = ledger.offVolts;
  const atNominal = target.stage === "rise";
  return {
    state: {
      kind: "energised",
      ledger: {
        ...inStage(ledger, target.stage),
        offVolts,
        appliedVolts: { ...ledger.appliedVolts, [feed]: setting.volts },
        nominalSinceMs: atNominal ? (ledger.nominalSinceMs ?? nowMs) : null,
      },
      energised: [live, ...others],
      step: { step: "switch-on", feed, target, sinceMs: nowMs },
    },
    effects: [{ effect: "output-on", feed }],
  };
}

const STEP_OF = { touch: "look", "hold-low": "hold", rise: "climb", inject: "inject" } as const;

/** Waits for the output to be read back as on. Null: this event was not decided here. */
export function advanceSwitchOn(plan: Plan, state: Energised, event: PlanEvent, nowMs: number): StepResult | null {
  const { step } = state;
  if (step.step !== "switch-on") return null;
  const { feed, sinceMs } = step;
  const waited = waitForOutput(
    plan,
    state,
    event,
    { feed, sinceMs, mostMs: MOST_MS, missing: "read back as on" },
    nowMs,
  );
  if (waited !== null) return waited;
  if (event.event !== "output" || event.feed !== step.feed) return null;
  if (event.state === "off") {
    return cutOff(plan, state, commandFailed(feed, `${feed} was switched on but reads back as off`), nowMs);
  }
  const [first, ...rest] = state.energised.map((each) => (each.feed === step.feed ? { ...each, onMs: nowMs } : each));
  if (first === undefined) return null;
  const base = { feed: step.feed, target: step.target, sinceMs: nowMs };
  const name = STEP_OF[step.target.stage];
  if (name === "inject") return stay(beginLevel({ ...state, energised: [first, ...rest] }, step, nowMs));
  const next: LiveStep = name === "look" ? { step: name, ...base, points: [], rest: [] } : { step: name, ...base };
  return stay({ ...state, energised: [first, ...rest], step: next });
}

/** A level of an injection begins; its energy counts from when on was asked for. */
function beginLevel(state: Energised, { feed, target }: { feed: string; target: Target }, nowMs: number): Energised {
  const live = state.energised.find((each) => each.feed === feed);
  const track = freshInjection(live?.setting.limitAmps ?? 0, live?.askedMs ?? nowMs);
  return {
    ...state,
    ledger: { ...state.ledger, levels: [...state.ledger.levels, track.level] },
    step: { step: "inject", feed, target, sinceMs: nowMs, track },
  };
}
