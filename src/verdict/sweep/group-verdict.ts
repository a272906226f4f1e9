import type { AlikePoint, AlikeResult, AlikeWord } from "../../../shared/record/alike.ts";
import { sayAmount, sayShare } from "../../../shared/words/amounts.ts";
import { counted } from "../../../shared/words/counted.ts";
import { discoveryRates } from "../../analysis/benjamini-hochberg.ts";
import { medianOf } from "../../analysis/quantile.ts";
import { robustDeviations } from "../../analysis/robust-deviation.ts";

/** False-discovery rate: of the points that are called different, so many may be good ones. */
const RATE = 0.05;
/** Fewer have no middle that one bad point could not move. */
const LEAST_POINTS = 4;
/** Points of a good board are alike within 2 to 5 % (common practice, no source): what is under 1 % of spread means nothing. */
const LEAST_SPREAD = 0.01;
/** And this far from a good board's own value is more than any good board is. */
const MOST_SPREAD = 0.05;

/** One point as it was read. `standardError` is the scatter of its mean, in the quantity's unit; null not known. */
export interface GroupReading {
  point: string;
  value: number | "open" | null;
  standardError: number | null;
}

/** The readings of good boards at a point, and the number of boards. */
export interface GoodValue {
  value: number;
  boards: number;
}

/**
 * Holds the points of a group against each other, as shares of their middle: an error that is common to all, as the meter's, does not
 * count. Where every point has a good board's value, each is taken as a share of its own good value first, so that points that differ on
 * good boards as well are not called different. An open among points that read something stands out by itself.
 */
export function groupVerdict(
  group: { group: string; quantity: AlikeResult["quantity"] },
  readings: readonly GroupReading[],
  good: ReadonlyMap<string, GoodValue>,
): AlikeResult {
  const read = readings.filter((each) => each.value !== null);
  const numbers = read.flatMap((each) => (typeof each.value === "number" ? [{ ...each, value: each.value }] : []));
  const opens = read.length - numbers.length;
  const hasGood = numbers.length > 0 && numbers.every(({ point }) => (good.get(point)?.value ?? 0) > 0);
  const median = numbers.length === 0 ? null : medianOf(numbers.map((each) => each.value));
  const of = (word: AlikeWord, points: AlikePoint[], because: string[]): AlikeResult => ({
    ...group,
    word,
    median,
    goodBoards: hasGood ? Math.min(...numbers.map(({ point }) => good.get(point)?.boards ?? 0)) : 0,
    points,
    because,
  });
  const plain = readings.map(
    ({ point, value }): AlikePoint => ({
      point,
      value,
      good: good.get(point)?.value ?? null,
      off: null,
      rate: null,
      differs: false,
    }),
  );
  if (opens > numbers.length)
    return of("cannot-tell", plain, [
      `${opens} of ${read.length} points read open: is the other probe on ground, and this one on the chip's side of the capacitors?`,
    ]);
  const known = hasGood ? "a good board's values" : null;
  if (numbers.length < LEAST_POINTS && known === null)
    return of("too-few", plain, [
      `${counted(numbers.length, "point was", "points were")} read; without a good board, ${LEAST_POINTS} are needed to compare them with each other.`,
    ]);
  const judged = judgedNumbers(numbers, hasGood ? good : null, median ?? 0);
  const points = plain.map((each): AlikePoint => {
    if (each.value === "open") return { ...each, rate: 0, differs: true };
    return { ...each, ...judged.get(each.point) };
  });
  const different = points.filter((each) => each.differs);
  const word = different.length === 0 ? "alike" : different.length === 1 ? "one-differs" : "several-differ";
  const unit = group.quantity === "ohms" ? "Ω" : "V";
  const middle = median === null ? "" : `, the middle is ${sayAmount(median, unit)}`;
  const left = readings.length - read.length;
  return of(word, points, [
    different.length === 0
      ? `The ${read.length} points of ${group.group} read alike${middle}.`
      : `${different.length} of ${read.length} points of ${group.group} stand out${middle}: ${different.map((each) => wordsOf(each, unit, hasGood)).join("; ")}.`,
    ...(known === null
      ? ["They are only compared with each other, because the record has no good board of this kind."]
      : []),
    ...(left === 0 ? [] : [`${counted(left, "point was", "points were")} not read.`]),
  ]);
}

/** Deviation, rate and whether it stands out, of each point that read a number. */
function judgedNumbers(
  numbers: readonly (GroupReading & { value: number })[],
  good: ReadonlyMap<string, GoodValue> | null,
  median: number,
): Map<string, Pick<AlikePoint, "off" | "rate" | "differs">> {
  const shares = numbers.map(({ point, value }) => value / (good?.get(point)?.value ?? (median === 0 ? 1 : median)));
  const scatter = medianOf(numbers.map((each) => (each.standardError ?? 0) / Math.abs(median === 0 ? 1 : median)));
  if (numbers.length < LEAST_POINTS) {
    // Too few for a middle: each against the good board alone.
    const offs = shares.map((share) => share - 1);
    return new Map(
      numbers.map(({ point }, index) => {
        const off = offs[index] ?? 0;
        return [point, { off, rate: null, differs: Math.abs(off) > MOST_SPREAD + 3 * scatter }];
      }),
    );
  }
  const { median: middle, pValues } = robustDeviations(shares, Math.hypot(LEAST_SPREAD, scatter));
  const rates = discoveryRates(pValues);
  return new Map(
    numbers.map(({ point }, index) => {
      const rate = rates[index] ?? 1;
      return [point, { off: (shares[index] ?? middle) - middle, rate, differs: rate <= RATE }];
    }),
  );
}

function wordsOf({ point, value, off }: AlikePoint, unit: string, hasGood: boolean): string {
  if (value === "open" || value === null) return `${point} is open`;
  const share = off === null ? "" : ` (${sayShare(Math.abs(off))} ${off < 0 ? "under" : "over"} the others)`;
  const than = hasGood && off !== null ? share.replace("the others", "a good board's, next to the others") : share;
  return `${point} reads ${sayAmount(value, unit)}${than}`;
}
