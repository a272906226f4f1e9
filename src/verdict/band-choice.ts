import type { DrawBaseline } from "../../shared/draw-baseline.ts";
import { type DrawInput, UNNAMED_FEED } from "../../shared/draw-input.ts";
import type { DrawClass } from "../../shared/draw-verdict.ts";
import type { BoardFile, IdleBands } from "../../shared/files/board-file.ts";
import type { FeedFigures } from "./feed-figures.ts";
import { sayNames } from "./say.ts";
import { DEFAULT_BAND_VOLTS, DEFAULT_BANDS } from "./verdict-limits.ts";

export type Bands = Partial<Record<DrawClass, [number, number]>>;

export interface BandChoice {
  /** One set of bands for each way the conditions may have been; empty where nothing is known of such feeds. */
  sets: Bands[];
  /** Feeds whose currents are added up. */
  feeds: FeedFigures[];
  source: "board" | "defaults" | "none";
  /** Feeds the board needs that were not on. */
  missing: string[];
  /** The open conditions that make the answer less sure. */
  remarks: string[];
  host: DrawInput["conditions"]["host"];
  /** The draw of good boards of this kind, where the `normal` of `sets` is theirs. */
  baseline: DrawBaseline | null;
  /** The `normal` that was entered for this kind, which the baseline stands in for. */
  enteredNormal: [number, number] | null;
}

/** Which bands the draw is held against, and over which feeds it is added up. */
export function chooseBands(input: DrawInput, all: readonly FeedFigures[]): BandChoice {
  const choice = choiceOf(input, all);
  const band = input.baseline?.band ?? null;
  const { host } = input.conditions;
  if (input.baseline == null || band === null || choice.sets.length === 0)
    return { ...choice, host, baseline: input.baseline ?? null, enteredNormal: null };
  return {
    ...choice,
    sets: choice.sets.map((bands) => withNormal(bands, band)),
    remarks: choice.source === "defaults" ? [] : choice.remarks,
    host,
    baseline: input.baseline,
    enteredNormal: choice.sets[0]?.normal ?? null,
  };
}

type Choice = Omit<BandChoice, "host" | "baseline" | "enteredNormal">;

/** The bands with `normal` where good boards drew: what was measured comes before what was entered, so others end where it begins. */
function withNormal(bands: Bands, [low, high]: [number, number]): Bands {
  const rest: Bands = {};
  for (const [name, [from, to]] of Object.entries(bands) as [DrawClass, [number, number]][]) {
    if (name === "normal") continue;
    if (from < low && Math.min(to, low) > from) rest[name] = [from, Math.min(to, low)];
    else if (from >= high) rest[name] = [from, to];
    else if (to > high) rest[name] = [high, to];
  }
  return { ...rest, normal: [low, high] };
}

function choiceOf(input: DrawInput, all: readonly FeedFigures[]): Choice {
  const on = all.filter(({ attempts }) => attempts.some(({ reachedAt }) => reachedAt !== null));
  const { board, conditions } = input;
  // A resistor on reset is no host: what a board draws without one is what it is held against.
  const host = conditions.host === "pulled-up" ? "none" : conditions.host;
  if (board !== null && board.idleAmps.length > 0) {
    const fits = board.idleAmps.filter(
      ({ when }) =>
        (when.host === undefined || host === "unknown" || when.host === host) &&
        (when.fans === undefined || conditions.fans === "unknown" || when.fans === conditions.fans),
    );
    const chosen = fits.length > 0 ? boardBands(board, fits, input, on) : null;
    if (chosen !== null) return chosen;
    if (fits.length === 0) {
      const stated = `host ${conditions.host}, fans ${conditions.fans}`;
      return defaultBands(input, on, [
        `The board file has no bands for ${stated}, so the bands of an unknown board were used.`,
      ]);
    }
  }
  const whose = input.shop?.unknownBoardAmps === undefined ? "built-in defaults" : "the shop's defaults";
  const why =
    board === null
      ? `The board is unknown. The bands are ${whose} for a card's 12 V current without host and fans, and they are weak.`
      : `The board file has no bands. ${whose} for a card's 12 V current were used, and they are weak.`;
  return defaultBands(input, on, [why]);
}

/** A feed and those that share its channel: they were on with it, and its current is theirs too. */
const namesOf = ({ view }: FeedFigures): string[] => [view.feed, ...(view.trace.ganged ?? [])];

function boardBands(board: BoardFile, fits: IdleBands[], input: DrawInput, on: readonly FeedFigures[]): Choice | null {
  const names = on.flatMap(namesOf);
  const remarks: string[] = [];
  const unnamed = on.length === 1 ? on.find(({ view }) => view.feed === UNNAMED_FEED) : undefined;
  const covered = ({ of }: IdleBands) =>
    unnamed === undefined ? of.filter((feed) => names.includes(feed)).length : of.length;
  const most = Math.max(...fits.map(covered));
  if (most === 0) return null;
  const best = fits.filter((entry) => covered(entry) === most);
  const fewest = Math.min(...best.map(({ of }) => of.length));
  const sets = best.filter(({ of }) => of.length === fewest);
  const of = sets[0]?.of ?? [];
  const same = sets.filter((entry) => entry.of.every((feed) => of.includes(feed)));
  if (unnamed !== undefined && of.length > 1) {
    remarks.push(`The file names no feed, so its current is taken as the whole draw of ${sayNames(of)}.`);
  }
  for (const key of ["host", "fans"] as const) {
    if (input.conditions[key] === "unknown" && same.some(({ when }) => when[key] !== undefined)) {
      const known = [...new Set(same.map(({ when }) => when[key]).filter((value) => value !== undefined))];
      remarks.push(
        `It was not stated whether ${key === "host" ? "a host was attached" : "the fans ran"}; the bands are for ${key} ${sayNames(known)}.`,
      );
    }
  }
  const missing = unnamed === undefined ? Object.keys(board.feeds).filter((feed) => !names.includes(feed)) : [];
  return {
    sets: same.map(({ bands }) => bands as Bands),
    feeds:
      unnamed === undefined ? on.filter((figures) => namesOf(figures).some((feed) => of.includes(feed))) : [unnamed],
    source: "board",
    missing,
    remarks,
  };
}

/** The defaults hold for 12 V feeds only; for others nothing is known but what needs no band. */
function defaultBands({ shop }: DrawInput, on: readonly FeedFigures[], remarks: string[]): Choice {
  const [low, high] = DEFAULT_BAND_VOLTS;
  const twelve = on.filter(({ attempts }) => {
    const aim = attempts.findLast(({ reachedAt }) => reachedAt !== null)?.aimVolts ?? 0;
    return aim >= low && aim <= high;
  });
  if (twelve.length === 0) {
    const volts = "No 12 V feed was at its nominal voltage, and the normal draw of the other feeds is not known.";
    return { sets: [], feeds: [...on], source: "none", missing: [], remarks: on.length === 0 ? [] : [volts] };
  }
  const bands = (shop?.unknownBoardAmps as Bands | undefined) ?? DEFAULT_BANDS;
  return { sets: [bands], feeds: twelve, source: "defaults", missing: [], remarks };
}
