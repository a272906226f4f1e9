import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import { sayAmps, sayCoulombs, sayFarads, sayJoules, sayMs, sayOhms } from "../../shared/words/amounts.ts";

/**
 * The figures of a verdict that are known, each in words with its expanded uncertainty (k = 2) where the verdict has one:
 * `plateau 852.3 mA ± 4.9 mA`.
 */
export function figuresInWords({
  features,
  energyJoules,
  uncertainty,
  recorded,
}: Pick<DrawVerdict, "features" | "energyJoules" | "uncertainty" | "recorded">): string[] {
  const perMin = (amps: number, expanded: number | null = null) => `${sayAmps(amps, expanded)} a minute`;
  return [
    known("plateau", features.plateauAmps, sayAmps, uncertainty?.plateauAmps),
    known(recorded?.coversAll === true ? "peak" : "peak at least", features.peakAmps, sayAmps, uncertainty?.peakAmps),
    known("read every", features.sampleIntervalMs, sayMs),
    known("charge", features.chargeCoulombs, sayCoulombs, uncertainty?.chargeCoulombs),
    known("input", features.inputFarads, sayFarads, uncertainty?.inputFarads),
    known("short", features.shortOhms, sayOhms, uncertainty?.shortOhms),
    known("in the limit", features.limitedMs, sayMs, uncertainty?.limitedMs),
    known("period", features.periodMs, sayMs, uncertainty?.periodMs),
    known("drift", features.driftAmpsPerMin, perMin, uncertainty?.driftAmpsPerMin),
    known("energy", energyJoules, sayJoules, uncertainty?.energyJoules),
  ].filter((figure) => figure !== null);
}

function known(
  name: string,
  value: number | null,
  say: (value: number, expanded?: number | null) => string,
  expanded: number | null = null,
): string | null {
  return value === null ? null : `${name} ${say(value, expanded)}`;
}
