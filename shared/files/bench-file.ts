import { z } from "zod";
import { atMost } from "./at-most.ts";
import { Recording } from "./recorder-entry.ts";

/** No bench of one person has more. */
const MOST_INSTRUMENTS = 32;
const MOST_FEEDS = 64;

const name = z
  .string()
  .regex(/^[A-Za-z][A-Za-z0-9_-]{0,31}$/, "a name: a letter, then letters, digits, _ or -")
  // Every object has these, so that a look-up by such a name would find something where nothing is.
  .refine((text) => !(text in {}), "a name that JavaScript objects already have; choose another one");

/** "±(share of the reading + offset)" as a half-width; the offset in the quantity's own unit. */
export const Accuracy = z.strictObject({
  voltsShare: z.number().min(0).max(0.2).optional(),
  voltsOffset: z.number().min(0).max(5).optional(),
  ampsShare: z.number().min(0).max(0.2).optional(),
  ampsOffset: z.number().min(0).max(5).optional(),
  ohmsShare: z.number().min(0).max(0.2).optional(),
  ohmsOffset: z.number().min(0).max(5).optional(),
});
export type Accuracy = z.infer<typeof Accuracy>;

/** Serial settings; each left out means the driver's, and failing that 9600 8N1 with modem lines untouched. */
export const SerialSettings = z.strictObject({
  baudRate: z.number().int().min(50).max(4_000_000).optional(),
  dataBits: z.union([z.literal(7), z.literal(8)]).optional(),
  parity: z.enum(["none", "even", "odd"]).optional(),
  stopBits: z.union([z.literal(1), z.literal(2)]).optional(),
  flowControl: z.enum(["none", "hardware", "software"]).optional(),
  dtr: z.boolean().optional(),
  rts: z.boolean().optional(),
  hangUpOnClose: z.boolean().optional(),
});
export type SerialSettings = z.infer<typeof SerialSettings>;

const InstrumentEntry = z.strictObject({
  kind: z.enum(["supply", "meter", "recorder"]),
  address: z.string().min(1).max(300),
  driver: z.string().min(1).max(120).default("auto"),
  serial: SerialSettings.optional(),
  accuracy: Accuracy.optional(),
  /** The serial number the instrument must answer with; pinned, anything else is refused. */
  serialNumber: z.string().min(1).max(120).optional(),
  /** A meter's scanner: the point each channel is wired to, "POINT" or "A:B" to the channel's number. */
  scanner: z
    .record(z.string().regex(/^[^:]+(:[^:]+)?$/, 'a point is "POINT" or "A:B"'), z.number().int().min(0).max(99_999))
    .optional(),
  /** The channels and times that a recorder takes down; only of a recorder. */
  record: Recording.optional(),
});
export type InstrumentEntry = z.infer<typeof InstrumentEntry>;

const FeedEntry = z.union([
  z.strictObject({
    supply: name,
    channel: z.number().int().min(1).max(32).default(1),
    /** Resistance of the lead pair, and its expanded uncertainty (k = 2), as `firstamp lead-ohms` measures them. */
    leadOhms: z.number().min(0).max(10).optional(),
    leadExpandedOhms: z.number().min(0).max(1).optional(),
    sense: z.enum(["local", "remote", "unknown"]).default("unknown"),
    readsAtSense: z.union([z.boolean(), z.literal("unknown")]).default("unknown"),
  }),
  /** A feed a person switches: the tool asks for it, and cannot cut it. */
  z.strictObject({ manual: z.literal(true), leadOhms: z.number().min(0).max(10).optional() }),
]);
export type FeedEntry = z.infer<typeof FeedEntry>;

/**
 * The supply or meter that a recorder is the buffer of: the one at the recorder's own address. Null: the recorder is an instrument of its own, or
 * no recorder.
 */
export function hostOfRecorder(
  instruments: Readonly<Record<string, InstrumentEntry>>,
  recorder: string,
): string | null {
  const own = instruments[recorder];
  if (own?.kind !== "recorder") return null;
  const place = placeOf(own.address);
  const host = Object.entries(instruments).find(
    ([, { kind, address }]) => kind !== "recorder" && placeOf(address) === place,
  );
  return host?.[0] ?? null;
}

/** Two addresses with the same place lead to the same instrument; a path's case counts, a host's does not. */
const placeOf = (address: string): string =>
  address.startsWith("ASRL") ? address : address.toUpperCase().replace(/^TCPIP::/, "TCPIP0::");

function scannerProblems(name: string, { kind, scanner }: InstrumentEntry, context: z.RefinementCtx): void {
  if (scanner === undefined) return;
  const path = ["instruments", name, "scanner"];
  if (kind !== "meter")
    context.addIssue({ code: "custom", path, message: "belongs to a meter; a supply has no scanner" });
  const points = new Map<number, string>();
  for (const [point, channel] of Object.entries(scanner)) {
    const other = points.get(channel);
    points.set(channel, point);
    if (other === undefined) continue;
    const message = `is channel ${channel}, which ${JSON.stringify(other)} already has; each point needs its own channel`;
    context.addIssue({ code: "custom", path: [...path, point], message });
  }
}

/** The faults of a recorder's channels: each lacks something, or has too much; `host` is the kind of instrument whose buffer it is, null none. */
function channelProblems(
  { channels }: Recording,
  host: InstrumentEntry["kind"] | null,
): [channel: string, message: string][] {
  return Object.entries(channels).flatMap(([channel, { reads, shuntOhms, voltsPerAmp, output, probe }]) => {
    const factor = shuntOhms ?? voltsPerAmp;
    const said: [string, string][] = [];
    if (host !== "supply" && reads === "amps" && factor === undefined)
      said.push([channel, 'reads amps, so it should have one of "shuntOhms" and "voltsPerAmp"']);
    if (host === "supply" && (factor !== undefined || probe !== 1))
      said.push([channel, 'is a supply\'s own reading, so it has no "shuntOhms", "voltsPerAmp" or "probe"']);
    if (host !== "supply" && output !== undefined)
      said.push([channel, 'has "output", which only the buffer of a supply has']);
    return said;
  });
}

function recorderProblems(bench: Record<string, InstrumentEntry>, context: z.RefinementCtx): void {
  const say = (path: string[], message: string): void =>
    context.addIssue({ code: "custom", path: ["instruments", ...path], message });
  const recorders = Object.entries(bench).filter(([, { kind }]) => kind === "recorder");
  for (const [second] of recorders.slice(1)) say([second, "kind"], "is a second recorder; a bench has one at most");
  for (const [name, { kind, record }] of Object.entries(bench)) {
    if (kind !== "recorder" && record !== undefined) say([name, "record"], "belongs to a recorder");
    if (kind !== "recorder") continue;
    const host = hostOfRecorder(bench, name);
    for (const key of ["serial", "serialNumber", "accuracy"] as const)
      if (host !== null && bench[name]?.[key] !== undefined)
        say([name, key], `belongs to ${JSON.stringify(host)}, whose buffer this is`);
    if (record === undefined) say([name, "record"], "is missing; a recorder needs its channels");
    if (record === undefined) continue;
    const inside = host === null ? null : (bench[host]?.kind ?? null);
    for (const [channel, message] of channelProblems(record, inside))
      say([name, "record", "channels", channel], message);
    if (record.trigger !== undefined && record.channels[String(record.trigger.channel)] === undefined)
      say([name, "record", "trigger", "channel"], "is not a channel of this recorder");
  }
}

/** Addresses that a simulated instrument can have: a socket of this machine, or a pseudo terminal. */
const SIMULATED_PLACE = /^(?:TCPIP\d*::(?:127\.0\.0\.1|localhost|::1|\[::1\])::|ASRL\/(?!dev\/(?!pts\/)))/i;

/** Nobody may take a real bench for a simulated one because of a key that was left in its file. */
function simulationProblems(instruments: Record<string, InstrumentEntry>, context: z.RefinementCtx): void {
  for (const [instrument, { address }] of Object.entries(instruments))
    if (!SIMULATED_PLACE.test(address))
      context.addIssue({
        code: "custom",
        path: ["simulated"],
        message: `is true, but ${JSON.stringify(instrument)} is at ${JSON.stringify(address)}, where a real instrument is; leave "simulated" out`,
      });
}

/** The bench file: instruments, and which supply channel each feed's leads come from. */
export const BenchFile = z
  .strictObject({
    $schema: z.string().optional(),
    version: z.literal(1),
    instruments: atMost(MOST_INSTRUMENTS, z.record(name, InstrumentEntry)),
    feeds: atMost(MOST_FEEDS, z.record(name, FeedEntry)),
    meter: name.optional(),
    /** Of the simulator: its instruments are on this machine and nothing real is energised. Said on the page all the time. */
    simulated: z.literal(true).optional(),
  })
  .superRefine((bench, context) => {
    if (bench.simulated === true) simulationProblems(bench.instruments, context);
    for (const [name, entry] of Object.entries(bench.instruments)) scannerProblems(name, entry, context);
    recorderProblems(bench.instruments, context);
    const at = new Map<string, string>();
    for (const [instrument, { address }] of Object.entries(bench.instruments)) {
      // A recorder at the address of a supply or a meter is its buffer.
      const isBuffer = hostOfRecorder(bench.instruments, instrument) !== null;
      const other = isBuffer ? undefined : at.get(placeOf(address));
      if (other !== undefined) {
        context.addIssue({
          code: "custom",
          path: ["instruments", instrument, "address"],
          message: `is also the address of ${JSON.stringify(other)}; each instrument needs its own address`,
        });
      }
      if (!isBuffer) at.set(placeOf(address), instrument);
    }
    for (const [feed, entry] of Object.entries(bench.feeds)) {
      if ("manual" in entry) continue;
      const instrument = bench.instruments[entry.supply];
      if (instrument?.kind !== "supply") {
        context.addIssue({
          code: "custom",
          path: ["feeds", feed, "supply"],
          message: `names ${JSON.stringify(entry.supply)}; it should name a supply of "instruments" (${
            Object.entries(bench.instruments)
              .filter(([, each]) => each.kind === "supply")
              .map(([each]) => each)
              .join(", ") || "none"
          })`,
        });
      }
    }
    if (bench.meter !== undefined && bench.instruments[bench.meter]?.kind !== "meter") {
      context.addIssue({
        code: "custom",
        path: ["meter"],
        message: `names ${JSON.stringify(bench.meter)}; it should name a meter of "instruments"`,
      });
    }
    if (Object.keys(bench.feeds).length === 0) {
      context.addIssue({ code: "custom", path: ["feeds"], message: "is empty; it should name at least one feed" });
    }
  });
export type BenchFile = z.infer<typeof BenchFile>;
