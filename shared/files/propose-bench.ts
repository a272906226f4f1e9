import type { BenchFile } from "./bench-file.ts";
import type { FoundLink } from "./setup.ts";

/** The source of a feed's power: an instrument of the bench and its channel. */
export interface ProposedFeed {
  feed: string;
  supply: string;
  channel: number;
}

type Known = Pick<FoundLink, "address" | "kind" | "driver" | "serialNumber">;

/** A serial number that says nothing: several makers answer with zero where there is none (common practice, no source). */
const NO_SERIAL = /^0*$/;

/**
 * Names for what was found, in the order of finding: `psu`, `psu2`, `dmm`, `dmm2`. What is no instrument has none, nor has a
 * recorder: a bench file says what each of its channels is on, which nobody can find out by asking.
 */
export function namesFor<Found extends Pick<FoundLink, "kind">>(
  found: readonly Found[],
): (Found & { name: string; kind: "supply" | "meter" })[] {
  const count = { supply: 0, meter: 0 };
  return found.flatMap((each) => {
    if (each.kind === null || each.kind === "recorder") return [];
    count[each.kind] += 1;
    const stem = each.kind === "supply" ? "psu" : "dmm";
    return [{ ...each, kind: each.kind, name: count[each.kind] === 1 ? stem : `${stem}${count[each.kind]}` }];
  });
}

/** A feed for each supply, by the board's names where it has some; a board nobody knows begins with `aux`. */
export function proposedFeeds(supplies: readonly string[], boardFeeds: readonly string[] = []): ProposedFeed[] {
  return supplies.map((supply, index) => ({
    feed: boardFeeds[index] ?? (index === 0 ? "aux" : `feed${index + 1}`),
    supply,
    channel: 1,
  }));
}

/**
 * The bench file of what was found. Each instrument is pinned by its serial number where it has one, so that another one at
 * its address is refused. Leads and sense are not known and left out; the first meter is the bench's.
 */
export function proposeBench(found: readonly Known[], feeds: readonly ProposedFeed[]): BenchFile {
  const named = namesFor(found);
  const meter = named.find((each) => each.kind === "meter");
  return {
    version: 1,
    instruments: Object.fromEntries(
      named.map(({ name, kind, address, driver, serialNumber }) => [
        name,
        {
          kind,
          address,
          driver: driver ?? "auto",
          ...(serialNumber === null || NO_SERIAL.test(serialNumber) ? {} : { serialNumber }),
        },
      ]),
    ),
    feeds: Object.fromEntries(
      feeds.map(({ feed, supply, channel }) => [
        feed,
        { supply, channel, sense: "unknown" as const, readsAtSense: "unknown" as const },
      ]),
    ),
    ...(meter === undefined ? {} : { meter: meter.name }),
  };
}
