import type { BenchFile, InstrumentEntry } from "../../../shared/files/bench-file.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/files/driver-file.ts";
import type { FoundLink } from "../../../shared/files/setup.ts";
import { type LookedAtLink, lookAtLink } from "../../instrument/look-at-link.ts";
import { visibleLine } from "../../job/report/visible-text.ts";
import { listLinks } from "../../link/list-links.ts";
import { openLink } from "../../link/open-link.ts";
import { formatVisaAddress, parseVisaAddress } from "../../link/visa-address.ts";
import { realClock } from "../../system/real-clock.ts";

/** An address to look at, with what the system or a bench file says of it. */
export interface Candidate {
  address: string;
  words: string;
  entry?: InstrumentEntry;
}

/**
 * The addresses to look at, each once: those a person gave, those of a bench file, and, unless `only`, this machine's own
 * ports. Opens nothing. Throws BenchError "bad-address" for one that is none.
 */
export async function candidatesFor(
  addresses: readonly string[],
  options: { bench: BenchFile | null; only?: boolean },
): Promise<Candidate[]> {
  const candidates = new Map<string, Candidate>();
  const add = (candidate: Candidate): void => {
    const address = formatVisaAddress(parseVisaAddress(candidate.address));
    candidates.set(address, { ...candidates.get(address), ...candidate, address });
  };
  for (const address of addresses) add({ address, words: "" });
  for (const [name, entry] of Object.entries(options.bench?.instruments ?? {}))
    add({ address: entry.address, words: `"${name}" of the bench file`, entry });
  if (options.only !== true) {
    for (const { address, words } of await listLinks()) if (!candidates.has(address)) add({ address, words });
  }
  return [...candidates.values()];
}

/**
 * Opens one address, asks what is there and which driver fits, and closes it. It only asks: nothing is set and nothing is
 * switched on. Never throws.
 */
export function lookAt(
  { address, entry }: Candidate,
  { drivers, own }: { drivers: readonly DriverFile[]; own: OwnDrivers },
): Promise<LookedAtLink> {
  return lookAtLink({
    address,
    // A driver of one's own is tried on the instrument that names it.
    drivers: drivers.filter((each) => !Object.hasOwn(own, each.name) || each.name === entry?.driver),
    clock: realClock,
    openLink,
    ...(entry === undefined ? {} : { kind: entry.kind }),
    ...(entry?.serial === undefined ? {} : { serial: entry.serial }),
  });
}

/** The instruments found, for a page or a bench file; texts of the instrument are made visible. */
export function foundLink(link: LookedAtLink, words: string, drivers: readonly DriverFile[]): FoundLink {
  const { identity } = link;
  return {
    address: link.address,
    words: visibleLine(words),
    identity: identity === null ? null : visibleLine(identity.raw),
    // Kept as it came: a bench file pins it, and the instrument is compared with it.
    serialNumber: identity?.serialNumber || null,
    kind: link.kind,
    driver: link.driver,
    describes: drivers.find((each) => each.name === link.driver)?.describes ?? null,
    why: link.why.map(visibleLine),
    problem: link.problem === null ? null : visibleLine(link.problem),
  };
}
