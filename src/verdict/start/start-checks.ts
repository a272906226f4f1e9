import type { StartCheck } from "../../../shared/record/start-order.ts";

/** An instant with its expanded uncertainty, ms. */
export interface Instant {
  atMs: number;
  expandedMs: number;
}

const CARD = "PCI Express Card Electromechanical Specification 5.1, 2.2 and 2.6.2";

/** Least times of the start of a card, ms. */
const STABLE_SUPPLY_MS = 100;
const STABLE_CLOCK_MS = 0.1;
const RESET_WIDTH_MS = 0.1;

/** The specification's least times between supplies, reference clock and the end of reset, as far as the trace shows them. */
export function startChecks(seen: {
  /** The last supply to come up; null where one of them was not seen to. */
  supplies: Instant | null;
  /** From when on the reference clock runs. */
  clock: Instant | null;
  /** The end of the first reset that was seen. */
  resetEnds: Instant | null;
  /** Lengths of resets that began and ended in the trace. */
  resetWidths: readonly Instant[];
}): StartCheck[] {
  const { supplies, clock, resetEnds, resetWidths } = seen;
  const checks: StartCheck[] = [];
  if (resetEnds !== null && supplies !== null)
    checks.push(
      check("supplies stable before the end of reset (T_PVPERL)", between(supplies, resetEnds), STABLE_SUPPLY_MS),
    );
  if (resetEnds !== null && clock !== null)
    checks.push(
      check("reference clock stable before the end of reset (T_PERST-CLK)", between(clock, resetEnds), STABLE_CLOCK_MS),
    );
  for (const each of resetWidths) checks.push(check("length of reset (T_PERST)", each, RESET_WIDTH_MS));
  return checks;
}

const between = (from: Instant, to: Instant): Instant => ({
  atMs: to.atMs - from.atMs,
  expandedMs: Math.hypot(from.expandedMs, to.expandedMs),
});

function check(what: string, { atMs: ms, expandedMs }: Instant, leastMs: number): StartCheck {
  const result = ms - expandedMs >= leastMs ? "met" : ms + expandedMs < leastMs ? "not-met" : "cannot-tell";
  return { what, ms, expandedMs, leastMs, result, source: CARD };
}
