import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { BoardPart } from "../../../shared/files/board-groups.ts";
import type { RailAmps } from "../../../shared/record/alike.ts";
import type { SweepRail } from "../../../shared/sweep.ts";
import { sayAmps } from "../../../shared/words/amounts.ts";
import { copperShare } from "../../analysis/copper.ts";

/** The stated ohms of a part are this sure where the board file does not say (common practice, no source). */
const USUAL_TOLERANCE = 0.1;
/** Temperature of a part that carries current, if not stated: anything from cool to hot (common practice, no source). */
const UNKNOWN_CELSIUS = { middle: 50, halfWidth: 30 };

/**
 * The current through a part from the volts over it, amps with the expanded uncertainty (k = 2): of the volts, of the part's ohms and, for
 * copper, of its temperature. `celsius` is the part's own temperature; null: not known, 20 to 80 °C is reckoned with.
 */
export function partAmps(
  part: BoardPart,
  { volts, expandedVolts }: { volts: number; expandedVolts: number },
  celsius: number | null,
): { amps: number; expandedAmps: number } {
  const { ohms, tolerance = USUAL_TOLERANCE, copper = false, celsius: statedAt = 20 } = part;
  const warm = celsius ?? UNKNOWN_CELSIUS.middle;
  const share = copper ? copperShare(warm) / copperShare(statedAt) : 1;
  const amps = volts / (ohms * share);
  const ofWarmth =
    copper && celsius === null ? copperShare(warm + UNKNOWN_CELSIUS.halfWidth) / copperShare(warm) - 1 : 0;
  // Tolerance and temperature are bounds: rectangular (JCGM 100:2008, 4.3.7).
  const u = Math.hypot(
    expandedVolts / 2 / (ohms * share),
    (amps * tolerance) / Math.sqrt(3),
    (amps * ofWarmth) / Math.sqrt(3),
  );
  return { amps, expandedAmps: 2 * u };
}

/** A part's reading with its current: through an inductor the volts are small, so that their sign is kept. */
export function withAmps(board: Pick<BoardFile, "across">, rail: SweepRail, celsius: number | null): SweepRail {
  const part = board.across?.[rail.rail];
  if (part === undefined) return rail;
  const { volts = null, expandedVolts, because } = rail;
  if (volts === null) return { ...rail, across: { rail: part.rail, amps: null, expandedAmps: null } };
  const current = partAmps(part, { volts, expandedVolts: expandedVolts ?? 0 }, celsius);
  const [reads = rail.rail, ...notes] = because;
  const warm =
    part.copper !== true
      ? []
      : celsius === null
        ? ["its temperature is not known; the uncertainty covers 20 to 80 °C"]
        : [`copper at ${celsius} °C`];
  const says = `${reads}: ${sayAmps(current.amps, current.expandedAmps)} of ${part.rail}`;
  return { ...rail, across: { rail: part.rail, ...current }, because: [says, ...warm, ...notes] };
}

/** The current of each rail whose parts were read, summed over them; uncertainties as unrelated. */
export function railAmps(board: Pick<BoardFile, "across">, rails: readonly SweepRail[]): RailAmps[] {
  const read = new Map(
    rails.flatMap(({ rail, across }) =>
      across === undefined || across.amps === null
        ? []
        : [[rail, { amps: across.amps, expandedAmps: across.expandedAmps ?? 0 }] as const],
    ),
  );
  const parts = Object.entries(board.across ?? {});
  const named = [...new Set(parts.map(([, part]) => part.rail))];
  return named.flatMap((rail) => {
    const own = parts.filter(([, part]) => part.rail === rail).map(([name]) => name);
    const taken = own.flatMap((name) => read.get(name) ?? []);
    if (taken.length === 0) return [];
    return [
      {
        rail,
        amps: taken.reduce((sum, each) => sum + each.amps, 0),
        expandedAmps: Math.hypot(...taken.map((each) => each.expandedAmps)),
        parts: own.filter((name) => read.has(name)),
        missing: own.filter((name) => !read.has(name)),
      },
    ];
  });
}

/** A rail's current in words. */
export function railAmpsText({ rail, amps, expandedAmps, parts, missing }: RailAmps): string {
  const over = `over ${parts.join(", ")}`;
  if (missing.length === 0) return `${rail} draws ${sayAmps(amps, expandedAmps)}, ${over}`;
  return `${rail} draws at least ${sayAmps(amps, expandedAmps)}, ${over}; ${missing.join(", ")} not read`;
}
