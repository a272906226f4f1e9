import type { NextState } from "./idle-points.ts";
import type { Measurement } from "./measurements.ts";
import { slipped } from "./weigh.ts";

/** The bit of a rail or signal that is well, among `VOLTS`. */
const NORMAL = 2;

/**
 * Bringing the board to its next state of power, as a measurement: does what should come up with it come up? Null where nothing is known
 * of what comes up. `measurements` are those of the board, with the volts of its points.
 */
export function nextStateMeasurement(
  next: NextState | null,
  measurements: readonly Measurement[],
  data: { slip: number; costs: { signal: { minutes: number; risk: number } } },
): Measurement | null {
  if (next === null) return null;
  const looks = measurements.filter(
    ({ slot, points }) =>
      (slot.in === "volts" || slot.in === "signals") && points.some((point) => next.up.includes(point)),
  );
  const [first] = looks;
  if (first === undefined) return null;
  const chance = first.chance.map((_, hypothesis) => {
    const comes = Math.min(...looks.map(({ look }) => look?.states[hypothesis]?.[NORMAL] ?? 1));
    return slipped([comes, 1 - comes], data.slip);
  });
  const measure = `state ${next.name}`;
  return {
    id: measure,
    measure,
    ask: `Bring the board to its state "${next.name}" (${next.after}), then measure what comes up with it: ${next.up.join(", ")}`,
    slot: { in: "state", point: null },
    points: [],
    outcomes: ["comes-up", "stays-down"],
    energises: true,
    ...data.costs.signal,
    chance,
    whereShort: null,
    proof: measure,
    look: null,
    chip: null,
    signal: null,
    needsHost: false,
    after: new Map(),
  };
}
