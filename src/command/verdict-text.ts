import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import { sayAmps, sayCoulombs, sayJoules, sayMs, sayOhms } from "../verdict/say.ts";

/** A verdict as a person reads it on a terminal: the class, why, its rivals, the figures that are known. */
export function verdictText(title: string, verdict: DrawVerdict): string {
  const { features } = verdict;
  const sub = verdict.sub === undefined ? "" : ` (${verdict.sub})`;
  const rivals = verdict.candidates.map((each) => `${each.class} ${Math.round(each.probability * 100)} %`);
  const figures = [
    known("plateau", features.plateauAmps, sayAmps),
    known("peak at least", features.peakAmps, sayAmps),
    known("read every", features.sampleIntervalMs, sayMs),
    known("charge", features.chargeCoulombs, sayCoulombs),
    features.inputFarads === null ? null : `input ${(features.inputFarads * 1000).toPrecision(3)} mF`,
    known("short", features.shortOhms, sayOhms),
    known("in the limit", features.limitedMs, sayMs),
    known("period", features.periodMs, sayMs),
    known("energy", verdict.energyJoules, sayJoules),
  ].filter((figure) => figure !== null);
  return [
    `${title}: ${verdict.class}${sub}`,
    ...verdict.because.map((sentence) => `  ${sentence}`),
    `  Candidates: ${rivals.length === 0 ? "none" : rivals.join(", ")}`,
    `  ${figures.length === 0 ? "No figures." : `Figures: ${figures.join(", ")}`}`,
    "",
  ].join("\n");
}

const known = (name: string, value: number | null, say: (value: number) => string): string | null =>
  value === null ? null : `${name} ${say(value)}`;
