import type { Accuracy } from "../../shared/files/bench-file.ts";
import type { MeterDriver } from "../../shared/files/driver-file.ts";
import type { MeterFunctionName } from "./meter.ts";

/**
 * Half-width "share of the reading + offset" of one reading, in its own unit, to be taken as rectangular (JCGM 100:2008,
 * 4.3.7). What the bench file says of the quantity comes before the driver's range, that before the driver's general
 * figure; null where none says. `rangeUpTo` is the range set; left out, the smallest that holds the value.
 */
export function meterAccuracy(
  reading: { function: MeterFunctionName; value: number; rangeUpTo?: number | undefined },
  sources: { entry: Accuracy | undefined; driver: MeterDriver },
): number | null {
  const size = Math.abs(reading.value);
  const isOhms = reading.function === "ohms" || reading.function === "fourWireOhms";
  const general = (accuracy: Accuracy | undefined): number | undefined => {
    const share = isOhms ? accuracy?.ohmsShare : accuracy?.voltsShare;
    const offset = isOhms ? accuracy?.ohmsOffset : accuracy?.voltsOffset;
    return share === undefined && offset === undefined ? undefined : size * (share ?? 0) + (offset ?? 0);
  };
  const ranges = sources.driver.functions[reading.function]?.ranges ?? [];
  const holds = Math.max(size, reading.rangeUpTo ?? 0);
  const range = ranges.find((each) => each.upTo >= holds) ?? ranges.at(-1);
  const ofRange = range === undefined ? undefined : size * range.share + range.offset;
  return general(sources.entry) ?? ofRange ?? general(sources.driver.accuracy) ?? null;
}
