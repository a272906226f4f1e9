import { slipped, weigh } from "./weigh.ts";

/** A check as a look at whether the chip runs. Several checks see this one thing; together they are one proof. */
export interface ChipLook {
  /** Share of boards on which the chip runs, by hypothesis, after what such checks have shown so far. */
  runs: readonly number[];
  /** Shares of the answers on boards whose chip runs, and on those whose chip does not; slips counted in. */
  running: readonly number[];
  waiting: readonly number[];
  /** By hypothesis: the answers of a fault that shows in this check itself, whether the chip runs or not; null elsewhere. */
  own: readonly (readonly number[] | null)[];
}

/** Chance of each answer under each hypothesis. */
export const chipChance = ({ runs, running, waiting, own }: ChipLook): number[][] =>
  runs.map((share, hypothesis) => [
    ...(own[hypothesis] ?? running.map((each, answer) => share * each + (1 - share) * (waiting[answer] ?? 0))),
  ]);

/** A look at the chip from shares without slips. */
export function chipLook(look: ChipLook, slip: number): ChipLook {
  const { runs, running, waiting, own } = look;
  return {
    runs,
    running: slipped(running, slip),
    waiting: slipped(waiting, slip),
    own: own.map((each) => each && slipped(each, slip)),
  };
}

/** Part of a measurement that this is about. */
interface Looking {
  chip: ChipLook | null;
  chance: readonly (readonly number[])[];
}

/**
 * The same measurements once `seen` was answered, `weights` being the shares of its answers: the other looks at the chip follow from it.
 */
export function afterChipLook<M extends Looking>(measurements: readonly M[], seen: M, weights: readonly number[]): M[] {
  const { chip } = seen;
  if (chip === null) return [...measurements];
  const [ifRuns = 0, ifWaits = 0] = weigh([chip.running, chip.waiting], weights);
  const runs = chip.runs.map((share, hypothesis) => {
    if (chip.own[hypothesis] !== null) return share;
    const both = share * ifRuns + (1 - share) * ifWaits;
    return both > 0 ? (share * ifRuns) / both : share;
  });
  return measurements.map((each) => {
    if (each.chip === null) return each;
    const next = { ...each.chip, runs };
    return { ...each, chip: next, chance: chipChance(next) };
  });
}
