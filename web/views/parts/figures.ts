import type { AmpsReading, VoltsReading } from "../../../shared/reading.ts";
import { say } from "../../words/shell.ts";
import { local, locale } from "../../words/words.ts";

const MINUS = "−";

/** A number with a fixed count of decimals, a true minus sign and the decimal mark of the language; never "−0.00". */
export function fixed(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals);
  return local(value < 0 && Number(text) !== 0 ? MINUS + text : text);
}

/** Decimals that a reading in steps of `step` deserves; `usual` where the step is not known. */
export function decimalsOf(step: number | null, usual: number): number {
  if (step === null || step <= 0) return usual;
  return Math.min(4, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)));
}

export function voltsText(reading: VoltsReading): string {
  if (reading.kind === "value") return fixed(reading.volts, Math.abs(reading.volts) < 9.995 ? 3 : 2);
  return reading.kind === "overload" ? say("reading.over") : say("reading.none");
}

export function ampsText(reading: AmpsReading, stepAmps: number | null): string {
  if (reading.kind === "value") {
    // A negative reading within one step is the meter's zero.
    const amps = reading.amps < 0 && stepAmps !== null && reading.amps >= -stepAmps ? 0 : reading.amps;
    return fixed(amps, decimalsOf(stepAmps, 3));
  }
  return reading.kind === "overload" ? say("reading.over") : say("reading.none");
}

const TWO_HOURS_S = 7_200;
const TWO_DAYS_S = 172_800;

/** Milliseconds as a person says them: "340 ms", "1.2 s", "2 min 05 s", "3 h 20 min", "5 d 9 h". */
export function duration(ms: number): string {
  if (ms < 1000) return `${Math.round(ms)} ms`;
  if (ms < 59_950) return local(`${(ms / 1000).toFixed(1)} s`);
  const seconds = Math.round(ms / 1000);
  if (seconds >= TWO_DAYS_S) {
    const hours = Math.round(seconds / 3600);
    return `${Math.floor(hours / 24)} d ${hours % 24} h`;
  }
  if (seconds >= TWO_HOURS_S) {
    const minutes = Math.round(seconds / 60);
    return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
  }
  return `${Math.floor(seconds / 60)} min ${String(seconds % 60).padStart(2, "0")} s`;
}

/** The wall clock of a moment, to the second: "11:49:03". */
export const clockTime = (iso: string): string => new Date(iso).toLocaleTimeString(locale(), { hourCycle: "h23" });

/** A moment as a log names it: the day and the time to the minute. */
export const momentText = (iso: string): string =>
  new Date(iso).toLocaleString(locale(), { dateStyle: "medium", timeStyle: "short", hourCycle: "h23" });
