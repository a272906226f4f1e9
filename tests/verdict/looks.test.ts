import fc from "fast-check";
import { expect, test } from "vitest";
import { firstLook, type LookKind, nextLook } from "../../src/verdict/diagnosis/looks.ts";

const NORMAL = 2;

/** A truth about a point that holds for all looks at it, with its chance; a look that is no slip has the outcomes of `shows`. */
interface World {
  chance: number;
  shows: readonly number[];
}

/** A point with a fault shows it at every look; a healthy one reads oddly at times, by the shares of odd readings that pass. */
function worlds(states: readonly number[], passing: readonly number[]): World[] {
  const passes = states.map((share, state) => (state === NORMAL ? share : share * (passing[state] ?? 0)));
  const healthy = passes.reduce((sum, each) => sum + each, 0);
  const faulty = states.flatMap((share, state) =>
    state === NORMAL
      ? []
      : [{ chance: share * (1 - (passing[state] ?? 0)), shows: states.map((_, at) => Number(at === state)) }],
  );
  return [...faulty, { chance: healthy, shows: passes.map((each) => each / healthy) }];
}

/** The chance that looks come to these outcomes, over every world and every choice of which looks were slips. */
function chanceOf(looks: readonly number[], all: readonly World[], kind: LookKind): number {
  let sum = 0;
  for (const { chance, shows } of all)
    for (let slips = 0; slips < 2 ** looks.length; slips++)
      sum += looks.reduce((product, outcome, place) => {
        const isSlip = (slips >> place) % 2 === 1;
        return (
          product * (isSlip ? kind.slip * (kind.slipShows[outcome] ?? 0) : (1 - kind.slip) * (shows[outcome] ?? 0))
        );
      }, chance);
  return sum;
}

const shares = fc
  .array(fc.integer({ min: 1, max: 100 }), { minLength: 4, maxLength: 4 })
  .map((weights) => weights.map((each) => each / weights.reduce((sum, other) => sum + other, 0)));
const outcome = fc.nat(3);

test.each([
  { isOddAtTimes: false, passing: [0, 0, 0, 0] },
  // Every short reading of a healthy point passes, and half of its low and open ones (common practice, no source).
  { isOddAtTimes: true, passing: [1, 0.5, 0, 0.5] },
])("a next look is what Bayes' rule says, with oddness $isOddAtTimes", ({ isOddAtTimes, passing }) => {
  fc.assert(
    fc.property(
      shares,
      shares,
      fc.array(outcome, { minLength: 1, maxLength: 3 }),
      fc.integer({ min: 1, max: 30 }),
      (base, slipShows, seen, slip) => {
        const kind = { slip: slip / 100, slipShows, isOddAtTimes };
        // A healthy point by far, since only such a one reads oddly at times.
        const states = base.map((each, state) => 0.1 * each + (state === NORMAL ? 0.9 : 0));
        const earlier = seen.map((each) => [0, 1, 2, 3].map((at) => Number(at === each)));
        const next = nextLook(states, kind, earlier);
        expect(next.reduce((sum, each) => sum + each, 0)).toBeCloseTo(1, 9);
        const all = worlds(states, passing);
        for (const each of [0, 1, 2, 3])
          expect(next[each]).toBeCloseTo(chanceOf([...seen, each], all, kind) / chanceOf(seen, all, kind), 9);
      },
    ),
  );
});

test("the first look is the state, but for slips", () => {
  const kind = { slip: 0.1, slipShows: [1, 0, 0, 0], isOddAtTimes: false };
  expect(firstLook([0, 0, 1, 0], kind)).toEqual([0.1, 0, 0.9, 0]);
});
