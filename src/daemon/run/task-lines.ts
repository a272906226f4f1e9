import type { DrawTrace } from "../../../shared/draw-input.ts";
import type { InjectLevel, MarginStep, RunOutcome } from "../../../shared/plan.ts";
import type { RunHeader } from "../../../shared/record/run-record.ts";
import { sayAmps, sayJoules, sayOhms, sayVolts, sayWatts } from "../../../shared/words/amounts.ts";
import { currentExponentOf } from "../../analysis/current-exponent.ts";
import { type SoakFigures, soakFigures } from "../../verdict/soak-figures.ts";
import type { RailAtStep } from "./rail-watch.ts";

/** The findings of a run of another kind than a power-up beside its verdict, in sentences; empty for a power-up. */
export function taskLines(
  { purpose, plan }: Pick<RunHeader, "purpose" | "plan">,
  { steps = [], levels = [] }: RunOutcome,
  traces: () => readonly DrawTrace[],
  rails: readonly Record<string, RailAtStep>[] = [],
): string[] {
  if (purpose === "soak") return soakLines(soakFigures([...traces()], { askedSeconds: plan.watch.seconds }));
  if (purpose === "margin") return [...steps.map((step, at) => stepText(step, rails[at])), exponentLine(steps)];
  return purpose === "inject" ? levels.map(levelText) : [];
}

/** The time it was held, and the drift of each feed's current. */
export const soakLines = ({ askedSeconds, heldSeconds, feeds }: SoakFigures): string[] => [
  `Held ${Math.round(heldSeconds)} s of ${Math.round(askedSeconds)} s`,
  ...Object.entries(feeds).map(([feed, each]) => {
    if (each === null) return `${feed}: too few readings to tell its drift`;
    const share = each.sharePerMin === null ? "" : ` (${(100 * each.sharePerMin).toFixed(2)} % a minute)`;
    return `${feed}: from ${sayAmps(each.startAmps)} to ${sayAmps(each.endAmps)}, ${sayAmps(each.driftAmpsPerMin)} a minute${share}`;
  }),
];

/** The values that a step of a margin run settled at. */
export const stepText = (
  { setVolts, volts, amps, settled }: MarginStep,
  rails: Record<string, RailAtStep> = {},
): string =>
  [
    `${sayVolts(setVolts)} set: ${sayVolts(volts)}`,
    sayAmps(amps),
    ...(settled ? [] : ["not settled"]),
    ...Object.entries(rails).map(([name, at]) =>
      at.volts === null
        ? `${name} not read`
        : `${name} ${sayVolts(at.volts)}${at.verdict === "not-measured" ? "" : ` (${at.verdict})`}`,
    ),
  ].join(", ");

/** The exponent of current against voltage over the steps, with its standard uncertainty; null where there is none. */
export function exponentOf(steps: readonly MarginStep[]): {
  exponent: number | null;
  exponentStandardU: number | null;
} {
  const found = currentExponentOf(
    steps.map(({ volts, amps, standardAmps }) => ({ volts, amps, standardU: standardAmps })),
  );
  return { exponent: found?.exponent ?? null, exponentStandardU: found?.standardU ?? null };
}

/** The kind of draw by the exponent. */
export function exponentLine(steps: readonly MarginStep[]): string {
  const { exponent, exponentStandardU } = exponentOf(steps);
  if (exponent === null) return "No exponent: there were too few steps, or no current.";
  return `Exponent of current against voltage: ${exponent.toFixed(2)} ± ${(2 * (exponentStandardU ?? 0)).toFixed(2)}, ${meaningOf(exponent)}`;
}

function meaningOf(exponent: number): string {
  if (exponent > 0.5) return "like converters that hold their power";
  return exponent < -0.5 ? "like a resistor" : "like a constant current, or a mix of converters and resistors";
}

/** The values that a level of an injection came to. */
export const levelText = ({ limitAmps, volts, amps, ohms, watts, joules, seconds, limited }: InjectLevel): string =>
  `${sayAmps(limitAmps)} for ${seconds.toFixed(0)} s: ${sayVolts(volts)} at ${sayAmps(amps)}${limited ? ", at its limit" : ", held by the cap"}; ${ohms === null ? "no current" : sayOhms(ohms)}, at most ${sayWatts(watts)}, ${sayJoules(joules)}`;
