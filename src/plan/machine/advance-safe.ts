import type { Plan, PlanEvent, RunOutcome, Trip } from "../../../shared/plan.ts";
import { told } from "../trips/told.ts";
import { advanceClear } from "./clear-step.ts";
import { advanceConfigure, enterConfigure } from "./configure-step.ts";
import { cutUnasked } from "./cut-off.ts";
import { enterClear } from "./enter-clear.ts";
import type { Ledger, Safe } from "./machine-state.ts";
import { answeredManualOn } from "./rise.ts";
import { endAsPlanned, endSafe, type StepResult, stay } from "./step-result.ts";

const RISE = { stage: "rise", index: 0 } as const;

/** Nothing is on. What would cut an energised run cuts and ends this one too; an output that comes on by itself is cut. */
export function advanceSafe(plan: Plan, state: Safe, event: PlanEvent, nowMs: number): StepResult {
  const { ledger, step } = state;
  if (event.event === "output" && event.state === "on") {
    return cutUnasked(
      ledger,
      {
        rule: "front-panel",
        feed: event.feed,
        board: false,
        because: `${event.feed} came on although nobody had asked for it`,
      },
      nowMs,
    );
  }
  const finding = told(event);
  if (finding !== null) {
    // A hand at the panel, or a protection that acted, may mean an output that is on: cut first.
    if (event.event === "front-panel" || event.event === "protection") return cutUnasked(ledger, finding, nowMs);
    // A person may have switched it on just now: it is asked for before the run ends.
    if (step.step === "ask-manual-on") return cutUnasked(ledger, finding, nowMs, [step.feed]);
    // The board was cut for its own trip; what happens while a person thinks does not change that.
    if (step.step === "ask-raise") return declined(ledger, step.trip);
    if (step.step === "ask-level" && finding.rule === "operator") return endAsPlanned(ledger);
    // An output that is off by the plan may be on by a hand that no reading has shown yet: off is said only once it is proved.
    return ledger.rules === 1 ? endSafe(ledger, finding, nowMs) : cutUnasked(ledger, finding, nowMs);
  }
  switch (step.step) {
    case "clear":
      return advanceClear(plan, state, step, event, nowMs);
    case "configure":
      return advanceConfigure(plan, state, step, event, nowMs);
    case "ask-raise":
      if (event.event !== "answered") return stay(state);
      return event.yes ? raised(plan, ledger, step, nowMs) : declined(ledger, step.trip);
    case "ask-level":
      if (event.event !== "answered") return stay(state);
      return event.yes ? nextLevel(ledger, step, nowMs) : endAsPlanned(ledger);
    case "cool":
      if (nowMs < step.untilMs) return stay(state);
      return ledger.rules === 1 ? enterConfigure(plan, ledger, RISE, nowMs) : enterClear(ledger, RISE, nowMs);
    case "ask-manual-on":
      return event.event === "answered"
        ? answeredManualOn(plan, ledger, [], { feed: step.feed, index: step.index, yes: event.yes }, nowMs)
        : stay(state);
  }
}

/** A person said yes: the limit goes up one step, and the board cools before the whole rise is done again. */
function raised(
  plan: Plan,
  ledger: Ledger,
  step: { feed: string; toAmps: number; trip: Trip; sinceMs: number },
  nowMs: number,
): StepResult {
  return stay({
    kind: "safe",
    ledger: {
      ...ledger,
      stage: "rise",
      limits: { ...ledger.limits, [step.feed]: step.toAmps },
      raises: ledger.raises + 1,
      pastTrips: [...ledger.pastTrips, step.trip],
      limitToTry: null,
      nominalSinceMs: null,
    },
    step: { step: "cool", sinceMs: nowMs, untilMs: Math.max(nowMs, step.sinceMs + plan.ladder.offMs) },
  });
}

/** A person said yes to the next level of an injection: the limit goes up and all is looked at again first. */
function nextLevel(ledger: Ledger, { feed, toAmps }: { feed: string; toAmps: number }, nowMs: number): StepResult {
  const limits = { ...ledger.limits, [feed]: toAmps };
  return enterClear({ ...ledger, limits, raises: ledger.raises + 1 }, { stage: "inject", index: 0 }, nowMs);
}

function declined(ledger: Ledger, trip: Trip): StepResult {
  const ended: RunOutcome["ended"] = trip.board ? "board-stopped" : "failed";
  return { state: { kind: "ended", ledger, trip, ended, output: "off" }, effects: [{ effect: "finish" }] };
}
