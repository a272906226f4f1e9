import { sayAmps, sayMs } from "../../../shared/words/amounts.ts";
import { html, type Markup } from "./html-text.ts";

/** Current of one feed over time; NaN where there was no number. */
export interface TraceLine {
  label: string;
  atMs: readonly number[];
  amps: readonly number[];
}

const WIDTH = 640;
const HEIGHT = 160;
const LEFT = 48;
const BOTTOM = 22;
const COLUMNS = WIDTH - LEFT - 8;
const DASHES = ["none", "6 3", "2 3", "8 3 2 3"];

/**
 * Currents over time as a picture that stands by itself (SVG, no script). Each column of the picture shows the least and
 * the greatest reading that fall on it, so no peak is lost; a gap stays a gap. `mostAmps` and `longestMs` fix the scales, so
 * that two pictures can be compared; `marks` are what else happened, and when.
 */
export function tracePicture(
  title: string,
  lines: readonly TraceLine[],
  scale: { mostAmps: number; longestMs: number; marks?: readonly { atMs: number; text: string }[] },
): Markup {
  const top = scale.mostAmps > 0 ? scale.mostAmps : 1;
  const long = scale.longestMs > 0 ? scale.longestMs : 1;
  const x = (atMs: number) => LEFT + Math.max(0, Math.min(1, atMs / long)) * COLUMNS;
  const y = (amps: number) => 6 + (HEIGHT - BOTTOM - 6) * (1 - Math.max(0, Math.min(1, amps / top)));
  const paths = lines.map((line, index) => {
    const path = envelope(line, x, y);
    return html`<path d="${path}" fill="none" stroke="#111" stroke-width="1.2" stroke-dasharray="${DASHES[index % DASHES.length]}"><title>${line.label}</title></path>`;
  });
  const legend =
    lines.length > 1
      ? ` (${lines.map((line, index) => `${line.label} ${["solid", "dashed", "dotted", "dash-dotted"][index % 4]}`).join(", ")})`
      : "";
  return html`<figure><svg viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="${title}">
<path d="M${LEFT} 6V${HEIGHT - BOTTOM}H${WIDTH - 8}" fill="none" stroke="#777"/>
<text x="${LEFT - 4}" y="14" text-anchor="end">${sayAmps(top)}</text><text x="${LEFT - 4}" y="${HEIGHT - BOTTOM}" text-anchor="end">0</text>
<text x="${WIDTH - 8}" y="${HEIGHT - 6}" text-anchor="end">${sayMs(long)}</text>
${paths}${(scale.marks ?? []).map(
  ({ atMs, text }) =>
    html`<path d="M${x(atMs).toFixed(1)} 6V${HEIGHT - BOTTOM}" stroke="#111" stroke-dasharray="1 3"/><text x="${(x(atMs) + 3).toFixed(1)}" y="24">${text}</text>`,
)}</svg><figcaption>${title}${legend}</figcaption></figure>`;
}

function envelope(line: TraceLine, x: (atMs: number) => number, y: (amps: number) => number): string {
  let path = "";
  let pen = "M";
  let column = -1;
  let low = Number.NaN;
  let high = Number.NaN;
  const flush = () => {
    if (column < 0 || Number.isNaN(low)) return;
    path += `${pen}${column} ${y(low).toFixed(1)}${high > low ? `V${y(high).toFixed(1)}` : ""}`;
    pen = "L";
  };
  line.atMs.forEach((atMs, index) => {
    const amps = line.amps[index] ?? Number.NaN;
    const at = Math.round(x(atMs));
    if (at !== column || Number.isNaN(amps)) {
      flush();
      column = at;
      low = high = amps;
      if (Number.isNaN(amps)) pen = "M";
    } else {
      low = Number.isNaN(low) ? amps : Math.min(low, amps);
      high = Number.isNaN(high) ? amps : Math.max(high, amps);
    }
  });
  flush();
  return path;
}
