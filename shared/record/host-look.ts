import { z } from "zod";

const PCI_ADDRESS = /^[0-9a-f]{4,8}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]$/;
/** A device as Linux names it: domain, bus, device, function: "0000:01:00.0". */
export const PciAddress = z.string().regex(PCI_ADDRESS, "an address such as 0000:01:00.0");
const hex = (digits: number) =>
  z.string().regex(new RegExp(`^[0-9a-f]{${digits}}$`), `${digits} hexadecimal digits, lower case, without 0x`);
const count = z.number().int().min(0).nullable();
const line = z.string().max(200);

/** Speed in gigatransfers a second, width in lanes; 0 lanes: no link. null: the host does not say. */
export const HostLink = z.strictObject({
  speedGt: z.number().min(0).max(1000).nullable(),
  width: z.number().int().min(0).max(64).nullable(),
  maxSpeedGt: z.number().min(0).max(1000).nullable(),
  maxWidth: z.number().int().min(0).max(64).nullable(),
});
export type HostLink = z.infer<typeof HostLink>;

/** A bridge towards a slot: what it says of the slot itself. */
export const HostPort = z.strictObject({
  /** The bus behind it. */
  secondaryBus: z.number().int().min(0).max(255).nullable(),
  /** Presence detect state of the slot; null where the port has no slot register or it was not read. */
  presence: z.enum(["present", "absent"]).nullable(),
  /** Data link layer active; null where the port does not report it or it was not read. */
  linkActive: z.boolean().nullable(),
});
export type HostPort = z.infer<typeof HostPort>;

export const HostDevice = z.strictObject({
  address: PciAddress,
  vendor: hex(4),
  device: hex(4),
  class: hex(6),
  revision: hex(2).nullable().default(null),
  subsystemVendor: hex(4).nullable(),
  subsystemDevice: hex(4).nullable(),
  driver: line.nullable(),
  link: HostLink,
  /** Totals of errors since the host was started. */
  aer: z.strictObject({ correctable: count, nonfatal: count, fatal: count }),
  /** Error bits that stand in the status registers, by the names lspci gives them; null: not read. */
  errorBits: z.array(line).max(100).nullable().default(null),
  /** Whether the device has an option ROM. */
  optionRom: z.boolean().nullable().default(null),
  /** Memory or port regions that the host could give no address to. */
  unassignedRegions: count.default(null),
  /** The slot by the word of its bridge; null for what is no bridge. */
  port: HostPort.nullable().default(null),
});
export type HostDevice = z.infer<typeof HostDevice>;

/** The changes that a watch saw, with their times by the clock of the test host. */
export const HostChange = z.strictObject({
  event: z.literal("change"),
  at: z.iso.datetime({ precision: 3 }),
  address: PciAddress,
  what: z.enum(["appeared", "gone", "link", "errors", "driver", "presence"]),
  from: line.nullable(),
  to: line.nullable(),
});
export type HostChange = z.infer<typeof HostChange>;

/** A test host's view of its PCI devices: the document of `host-look`. */
export const HostLook = z.strictObject({
  format: z.literal("firstamp-host-look"),
  version: z.literal(1),
  /** Wall clock of the test host; null for a text that does not say it. */
  lookedAt: z.iso.datetime({ precision: 3 }).nullable(),
  source: z.enum(["sysfs", "lspci"]),
  /** Of the operating system; null where it was not read. */
  kernel: line.nullable(),
  /** Whether the bus was scanned anew before the look. */
  rescanned: z.boolean(),
  /** The things that could not be read, in sentences. */
  notes: z.array(z.string().max(500)).max(100),
  devices: z.array(HostDevice).max(4096),
});
export type HostLook = z.infer<typeof HostLook>;

/** The meaning of the host's word for the board in one port. */
export const HostWord = z.enum([
  "enumerated",
  "narrow-or-slow",
  "errors-growing",
  "firmware-doubtful",
  "driver-not-bound",
  "not-listed",
  "link-but-not-listed",
  "no-link",
  "presence-not-asserted",
  "fell-off",
  "cannot-tell",
]);
export type HostWord = z.infer<typeof HostWord>;

export const HostVerdict = z.strictObject({
  word: HostWord,
  /** Everything that holds, the word first. */
  also: z.array(HostWord),
  because: z.array(z.string()),
  /** The things that were not tried, so that the word is not taken for more than it is. */
  notTried: z.array(z.string()),
  /** The port the board is in, and the board's first function; null where not known or not listed. */
  port: PciAddress.nullable(),
  device: PciAddress.nullable(),
});
export type HostVerdict = z.infer<typeof HostVerdict>;
