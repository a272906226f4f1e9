import type { MeterFunction } from "../../shared/meter-reading.ts";

/** The value to read, and the abilities of the meter. Values in the function's own unit. */
export interface MeterWish {
  function: MeterFunction;
  /** The range of good values; null on a side that is not known. */
  low: number | null;
  high: number | null;
  /** The highest volts a probe can meet on this board, for a slip to another rail; null not known. */
  mayMeetVolts: number | null;
  /** Ranges of this function as the driver has them, smallest first; empty where it has none. */
  ranges: readonly { upTo: number; share: number; offset: number }[];
}

export interface ChosenSetting {
  rangeUpTo: number | null;
  powerLineCycles: number | null;
  /** The reasons, in sentences. */
  because: string[];
}

/** The meter should be this much finer than the tolerance it is to judge (common practice, no source: 4 to 1). */
const FINER = 4;
/** Room above the limit, so that a rail that is too high is still a number. */
const ROOM = 1.2;
/** One cycle of the mains is 20 ms, or 40 ms with the meter's own zero taken each time: 20 readings a second or more. */
const FAST_CYCLES = 1;
const SLOW_CYCLES = 10;
/** Below this a reading of two wires is leads and contact as much as the board (common practice, no source). */
const LOW_OHMS = 10;

/**
 * Range and integration time for a reading, with the reasons. Volts: one range for any rail of the board where that is
 * fine enough for this one's tolerance, so that a slip shows as its number; else the smallest that holds its limits. Ohms
 * range by themselves, because an overload then means open. Integration is one mains cycle, ten where the tolerance or
 * low ohms want it.
 */
export function chooseMeterSetting(wish: MeterWish): ChosenSetting {
  if (wish.function === "diode")
    return { rangeUpTo: null, powerLineCycles: null, because: ["diode mode has one range and one speed"] };
  return wish.function === "volts" ? voltsSetting(wish) : ohmsSetting(wish);
}

function voltsSetting({ low, high, mayMeetVolts, ranges }: MeterWish): ChosenSetting {
  if (low === null || high === null) {
    const because = ["the limits of this point are not known, so the meter chooses its range"];
    return { rangeUpTo: null, powerLineCycles: FAST_CYCLES, because };
  }
  const most = Math.max(Math.abs(low), Math.abs(high));
  const needs = most * ROOM;
  const any = Math.max(needs, (mayMeetVolts ?? 0) * ROOM);
  if (ranges.length === 0) {
    const because = [`the driver lists no ranges, so a range that holds ${round(needs)} V is requested`];
    return { rangeUpTo: needs, powerLineCycles: FAST_CYCLES, because };
  }
  const wanted = (high - low) / 2 / FINER;
  const halfWidth = (range: MeterWish["ranges"][number]): number => range.share * most + range.offset;
  const holding = (volts: number) => ranges.find((range) => range.upTo >= volts) ?? ranges.at(-1);
  const [wide, narrow] = [holding(any), holding(needs)];
  if (wide === undefined || narrow === undefined) throw new RangeError("a list of ranges that is not empty has one");
  if (halfWidth(wide) <= wanted) {
    const because = [
      `an error of ±${round(halfWidth(wide))} V on the ${wide.upTo} V range is small enough for a tolerance of ±${round(wanted * FINER)} V, and the range holds every rail of the board`,
    ];
    return { rangeUpTo: wide.upTo, powerLineCycles: FAST_CYCLES, because };
  }
  const isFine = halfWidth(narrow) <= wanted;
  const because = [
    `the ${narrow.upTo} V range, because a wider one is too coarse for a tolerance of ±${round(wanted * FINER)} V`,
    ...(isFine
      ? []
      : [
          `its error of ±${round(halfWidth(narrow))} V is more than a quarter of the tolerance: ten mains cycles per reading, and verdicts near a limit stay conditional`,
        ]),
  ];
  return { rangeUpTo: narrow.upTo, powerLineCycles: isFine ? FAST_CYCLES : SLOW_CYCLES, because };
}

function ohmsSetting({ function: name, low }: MeterWish): ChosenSetting {
  const because = ["the meter chooses its range, so that an overload means open"];
  if (low === null || low >= LOW_OHMS) return { rangeUpTo: null, powerLineCycles: FAST_CYCLES, because };
  because.push(`below ${LOW_OHMS} Ω a reading is tenths of a millivolt: ten mains cycles per reading`);
  if (name === "ohms")
    because.push("two wires also measure the leads and the contact: null the leads, or use four wires");
  return { rangeUpTo: null, powerLineCycles: SLOW_CYCLES, because };
}

const round = (value: number): string => String(Number(value.toPrecision(2)));
