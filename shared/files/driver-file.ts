import { z } from "zod";
import { messageOf } from "../words/message-of.ts";
import { Accuracy, SerialSettings } from "./bench-file.ts";
import { readPattern } from "./pattern.ts";
import { RecorderWords } from "./recorder-driver.ts";

/** A pattern (shared/files/pattern.ts), tried without regard to case against one field of the answer to `*IDN?`. */
const Pattern = z
  .string()
  .min(1)
  .max(200)
  .superRefine((text, context) => {
    try {
      readPattern(text);
    } catch (cause) {
      context.addIssue({
        code: "custom",
        message: `should be a pattern (docs/drivers.md); it has ${messageOf(cause)}`,
      });
    }
  });

/** A message to the instrument, without terminator. `{channel}` and `{value}` are filled in; nothing else in braces. */
const Tell = z
  .string()
  .regex(/^[\x20-\x7e]{1,120}$/, "should be 1 to 120 printable ASCII characters, without a line end")
  .refine((text) => text.replace(/\{(?:channel|value)\}/g, "").match(/[{}]/) === null, {
    message: "may contain {channel} and {value}, and no other braces",
  });
const Ask = Tell.refine((text) => text.includes("?"), { message: "should be a query, with a question mark" });
const TellValue = Tell.refine((text) => text.includes("{value}"), { message: "should contain {value}" });

/** The bytes on the wire around every message. */
export const DriverWire = z.strictObject({
  /** Written after each message. Replies may end in any of LF, CR, CR LF, LF CR. Default LF. */
  terminator: z.enum(["\n", "\r\n", "\r"]).default("\n"),
  /** Least pause before each message, counted from the last byte either way, ms. Default 0. */
  gapMs: z.number().min(0).max(2000).default(0),
  /** True: it echoes each message. Left out: found out at connect. */
  echo: z.boolean().optional(),
  /** Sent once after connecting, on serial lines or on every link. */
  remote: z.strictObject({ command: Tell, on: z.enum(["serial", "always"]).default("serial") }).optional(),
  /** Sent before the link is closed, where `remote` was. */
  local: Tell.optional(),
  /** Sent first at connect where old state must go, as `*CLS`. */
  clear: Tell.optional(),
  /** Serial settings of this family; those of the bench file come before them. */
  serial: SerialSettings.optional(),
  /** True: numbers come as `12,34`. Default false: a comma is refused. */
  decimalComma: z.boolean().default(false),
  /** Units that may be glued to numbers. Left out: a unit is refused. */
  units: z
    .strictObject({ volts: z.string().optional(), amps: z.string().optional(), ohms: z.string().optional() })
    .default({}),
  /** False: never put two messages on a line with `;`. Default true, and tried at connect. */
  joins: z.boolean().default(true),
  /** The longest line it takes, characters; joined queries are split to fit. Default 120. */
  longestLine: z.number().int().min(16).max(1000).default(120),
  /** The longest time an answer may take while nothing is energised, ms. Default 500. */
  replyMs: z.number().min(50).max(30_000).default(500),
});
export type DriverWire = z.infer<typeof DriverWire>;

/** The way this family is known when no driver claims the identity: queries that energise nothing, all of which must fit. */
const Probe = z.strictObject({
  /** Lower is tried first. Numbered headers 10, selection 20, selection by name 25, channel list 30, plain 90. */
  order: z.number().int().min(0).max(1000),
  asks: z
    .array(
      z.strictObject({
        ask: Ask,
        answers: z.enum(["number", "integer", "boolean", "text"]),
        matches: Pattern.optional(),
      }),
    )
    .min(1),
});

const base = {
  $schema: z.string().optional(),
  version: z.literal(1),
  /** As the file is called without `.json`. */
  name: z.string().regex(/^[a-z][a-z0-9-]{0,39}$/, "lower-case letters, digits and -, beginning with a letter"),
  /** One sentence for people: which instruments this is for. */
  describes: z.string().min(1).max(300),
  /** Claims instruments by maker and model of `*IDN?`; each given must match. Left out: claims none, is found by probing. */
  identity: z
    .strictObject({ maker: Pattern.optional(), model: Pattern.optional() })
    .refine((claim) => claim.maker !== undefined || claim.model !== undefined, {
      message: "should give maker or model",
    })
    .optional(),
  probe: Probe,
  wire: DriverWire.default({
    terminator: "\n",
    gapMs: 0,
    decimalComma: false,
    units: {},
    joins: true,
    longestLine: 120,
    replyMs: 500,
  }),
  /** Takes the oldest entry from the error queue; null where there is no queue. Default `SYST:ERR?`. */
  askError: Ask.nullable().default("SYST:ERR?"),
  /** Half-width of readings; the bench file's comes before it. */
  accuracy: Accuracy.optional(),
};

/** Says the instrument has it; tried by `ask` at connect, and taken as absent where that brings an error or silence. */
const OverVoltage = z.strictObject({
  set: TellValue,
  ask: Ask,
  /** The commands for protection that has a switch of its own. */
  on: Tell.optional(),
  askOn: Ask.optional(),
  askTripped: Ask.optional(),
  clear: Tell.optional(),
  /** Step of the setting, volts. Left out: that of the voltage setting, at least 50 mV. */
  resolution: z.number().positive().optional(),
});

const OverCurrent = z.strictObject({
  on: Tell,
  off: Tell,
  askOn: Ask,
  /** The level, where it is not the current limit itself. */
  set: TellValue.optional(),
  ask: Ask.optional(),
  askDelay: Ask.optional(),
  setDelay: TellValue.optional(),
  delayUnit: z.enum(["s", "ms"]).default("s"),
  askTripped: Ask.optional(),
  clear: Tell.optional(),
});

/** Switches the output off when the computer goes silent. `{value}` is seconds. */
const Watchdog = z.strictObject({ set: TellValue, on: Tell, off: Tell, askOn: Ask });

/** Tells constant voltage from constant current: bits of a register, or words. */
const Mode = z.discriminatedUnion("by", [
  z.strictObject({ by: z.literal("bits"), ask: Ask, cv: z.number().int().positive(), cc: z.number().int().positive() }),
  z.strictObject({ by: z.literal("words"), ask: Ask, cv: z.array(z.string()).min(1), cc: z.array(z.string()).min(1) }),
]);

/** A family of supplies. */
export const SupplyDriver = z
  .strictObject({
    ...base,
    kind: z.literal("supply"),
    channels: z
      .strictObject({
        /** Left out: not known; a channel that is not there is found by its error. */
        count: z.number().int().min(1).max(32).optional(),
        /** For dialects whose commands reach the channel selected before. Sent on the same line as each command. */
        select: z
          .strictObject({
            tell: Tell,
            ask: Ask,
            /** The answer of `ask` for a channel, as `{channel}` or `CH{channel}`. Default `{channel}`. */
            answer: z.string().default("{channel}"),
            /** False: the selection goes on a line of its own, just before. Default true. */
            sameLine: z.boolean().default(true),
          })
          .optional(),
      })
      .default({}),
    operations: z.strictObject({
      setVolts: TellValue,
      askSetVolts: Ask,
      askMaxVolts: Ask.optional(),
      setAmps: TellValue,
      askSetAmps: Ask,
      askMaxAmps: Ask.optional(),
      outputOn: Tell,
      outputOff: Tell,
      askOutput: Ask,
      measureVolts: Ask,
      measureAmps: Ask,
      /** Volts and amps by one message of this family, `volts,amps`; left out, the two queries are joined where it joins. */
      measureBoth: Ask.optional(),
    }),
    overVoltage: OverVoltage.optional(),
    overCurrent: OverCurrent.optional(),
    watchdog: Watchdog.optional(),
    mode: Mode.optional(),
    /** Steps of setting and reading. Left out: taken from the digits of the answers. */
    resolution: z.strictObject({ volts: z.number().positive(), amps: z.number().positive() }).optional(),
    /** Longest time from zero to the set voltage without a load, ms. Left out: not known. */
    riseMs: z.number().min(0).max(5000).optional(),
  })
  .superRefine((driver, context) => {
    const { operations, overVoltage, overCurrent, mode } = driver;
    // The watchdog is one for the whole instrument; everything else is said to one channel.
    const groups = {
      operations,
      overVoltage,
      overCurrent: { ...overCurrent, delayUnit: undefined },
      mode: { ask: mode?.ask },
    };
    const given: [string, string][] = [];
    for (const [group, words] of Object.entries(groups))
      for (const [key, text] of Object.entries<unknown>(words ?? {}))
        if (typeof text === "string") given.push([`${group}.${key}`, text]);
    const named = given.filter(([, text]) => text.includes("{channel}"));
    // A command that forgets its channel reaches another board.
    if (named.length !== 0 && named.length !== given.length) {
      for (const [path] of given.filter((each) => !named.includes(each))) {
        context.addIssue({
          code: "custom",
          path: path.split("."),
          message: "has no {channel}, although others have; it should name the channel too",
        });
      }
    }
    if (named.length !== 0 && driver.channels.select !== undefined) {
      context.addIssue({
        code: "custom",
        path: ["channels", "select"],
        message: "is given although the operations name their {channel}; use one of the two",
      });
    }
    const hasSeveral = (named.length !== 0 || driver.channels.select !== undefined) && driver.channels.count !== 1;
    if (hasSeveral && driver.wire.gapMs > 0 && !driver.wire.joins) {
      context.addIssue({
        code: "custom",
        path: ["wire", "joins"],
        message:
          "is false, but with a gap and several channels they could not be cut at once; it should be true, or channels.count 1",
      });
    }
    if (driver.channels.select?.sameLine === false && driver.wire.gapMs > 0) {
      context.addIssue({
        code: "custom",
        path: ["channels", "select", "sameLine"],
        message: "is false, but with a gap off would have to wait between selection and command; it should be true",
      });
    }
    if (driver.channels.select !== undefined && !driver.channels.select.tell.includes("{channel}")) {
      context.addIssue({
        code: "custom",
        path: ["channels", "select", "tell"],
        message: "should contain {channel}",
      });
    }
  });
export type SupplyDriver = z.infer<typeof SupplyDriver>;

/** A range: its full scale, and the half-width "share of the reading + offset" on it. */
export const MeterRange = z.strictObject({
  upTo: z.number().positive(),
  share: z.number().min(0).max(0.2),
  offset: z.number().min(0),
});
export type MeterRange = z.infer<typeof MeterRange>;

const MeterFunction = z.strictObject({
  /** Chooses the function with ranging by itself. */
  configure: Tell,
  /** Chooses the function and the range that holds `{value}`. */
  configureRange: TellValue.optional(),
  /** Sets the integration time, `{value}` in power line cycles. */
  integration: TellValue.optional(),
  /** Measures one channel of the scanner, `{channel}`, in this function and answers with it. */
  readChannel: Ask.refine((text) => text.includes("{channel}"), { message: "should contain {channel}" }).optional(),
  /** Ranges, smallest first. */
  ranges: z.array(MeterRange).optional(),
});

/** A family of meters. */
export const MeterDriver = z.strictObject({
  ...base,
  kind: z.literal("meter"),
  functions: z.strictObject({
    volts: MeterFunction,
    ohms: MeterFunction,
    fourWireOhms: MeterFunction.optional(),
    diode: MeterFunction.optional(),
  }),
  /** Starts a measurement and answers with it, as `READ?`. */
  read: Ask,
});
export type MeterDriver = z.infer<typeof MeterDriver>;

/** A family of recorders: oscilloscopes and instruments with a buffer. */
export const RecorderDriver = z.strictObject({ ...base, kind: z.literal("recorder"), recorder: RecorderWords });
export type RecorderDriver = z.infer<typeof RecorderDriver>;

/** A driver: how one family of instruments says each operation. Data only; `docs/drivers.md` is the guide. */
export const DriverFile = z.discriminatedUnion("kind", [SupplyDriver, MeterDriver, RecorderDriver]);
export type DriverFile = z.infer<typeof DriverFile>;

/** Drivers that did not come with the program: their files by their names. Only an instrument that names one gets it. */
export const OwnDrivers = z.record(z.string(), z.string());
export type OwnDrivers = z.infer<typeof OwnDrivers>;
