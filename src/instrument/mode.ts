import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import type { RegulationMode } from "../../shared/reading.ts";

/**
 * Reads what regulates the output from the answer to a driver's mode question; "unknown" where it names neither, as with
 * the output off; undefined where the text is no answer to it.
 */
export function modeFrom(text: string, mode: SupplyDriver["mode"]): RegulationMode | undefined {
  if (mode === undefined) return undefined;
  if (mode.by === "words") {
    const word = text.trim().toUpperCase();
    if (word === "") return undefined;
    if (mode.cc.some((each) => each.toUpperCase() === word)) return "cc";
    if (mode.cv.some((each) => each.toUpperCase() === word)) return "cv";
    return "unknown";
  }
  if (!/^\s*\+?\d{1,10}\s*$/.test(text)) return undefined;
  const bits = Number(text);
  const has = (mask: number): boolean => Math.floor(bits / mask) % 2 === 1;
  // Both at once is a register caught in the middle of a change.
  if (has(mode.cc) === has(mode.cv)) return "unknown";
  return has(mode.cc) ? "cc" : "cv";
}
