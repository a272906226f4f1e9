import type { StageTime } from "../../job/known/stages-of.ts";
import { visibleLine as oneLine } from "../../job/report/visible-text.ts";

const HOUR_MS = 3_600_000;

/** A time as a shop counts it: minutes, hours or days. */
function lasted(ms: number): string {
  if (ms < HOUR_MS) return `${Math.round(ms / 60_000)} min`;
  return ms < 48 * HOUR_MS ? `${(ms / HOUR_MS).toFixed(1)} h` : `${(ms / 24 / HOUR_MS).toFixed(1)} days`;
}

/** The stages of a job, a line each. */
export function stagesText(stages: readonly StageTime[]): string {
  if (stages.length === 0) return "No stage is filed yet.\n";
  return stages
    .map(({ stage, text, since, lastedMs }) => {
      const time = lastedMs === null ? "" : `  ${lasted(lastedMs)}`;
      return `${since.slice(0, 16).replace("T", " ")}  ${stage}${time}${text === null ? "" : `  ${oneLine(text)}`}\n`;
    })
    .join("");
}
