import type { StartOrder, StartRail } from "../../../shared/record/start-order.ts";
import { sayMs } from "../../../shared/words/amounts.ts";
import { html, type Markup } from "./html-text.ts";

const WIDTH = 640;
const LEFT = 110;
const ROW = 18;
const RIGHT = 60;

/**
 * The start as a picture on one time (SVG, no script): for each rail a bar from its beginning to 90 % of its volts, a thin line up to
 * where it has settled, and a mark at each dip. What is wrong with a rail is marked with ! beside its name and said below.
 */
export function startPicture({ rails, order, about, problems, checks, sampleMs }: StartOrder): Markup {
  const names = [...order, ...Object.keys(rails).filter((name) => !order.includes(name))];
  const times = Object.values(rails).flatMap(({ beginsMs, upAtMs, dips }) => [
    beginsMs,
    upAtMs,
    ...dips.map((dip) => dip.atMs),
  ]);
  const known = times.filter((each) => each !== null);
  const first = known.length === 0 ? 0 : Math.min(...known);
  const long = known.length === 0 ? 1 : Math.max(...known) - first || 1;
  const x = (ms: number): number => LEFT + ((ms - first) / long) * (WIDTH - LEFT - RIGHT);
  const rows = names.map((name, index) => {
    const rail = rails[name];
    return rail === undefined ? null : railRow({ name, rail, isWrong: about.includes(name), y: 6 + index * ROW, x });
  });
  const height = 12 + names.length * ROW;
  return html`<figure><svg viewBox="0 0 ${WIDTH} ${height}" role="img" aria-label="Order of the start">${rows}</svg>
<figcaption>Order of the start; bars from 10 % to 90 %${sampleMs === null ? null : `, a sample every ${sayMs(sampleMs)}`}</figcaption></figure>
${problems.length === 0 ? html`<p>The start shows no fault.</p>` : html`<ul>${problems.map((each) => html`<li>! ${each}</li>`)}</ul>`}
${checks.length === 0 ? null : html`<ul>${checks.map(({ what, ms, expandedMs, leastMs, result }) => html`<li>${what}: ${ms === null ? "not seen" : sayMs(ms, expandedMs)}, at least ${sayMs(leastMs)}: ${result.replace("-", " ")}</li>`)}</ul>`}`;
}

function railRow(of: {
  name: string;
  rail: StartRail;
  isWrong: boolean;
  y: number;
  x: (ms: number) => number;
}): Markup {
  const { name, rail, isWrong, y, x } = of;
  const label = html`<text x="${LEFT - 6}" y="${y + 12}" text-anchor="end">${isWrong ? `! ${name}` : name}</text>`;
  const { beginsMs, upAtMs, riseMs, settlesMs, dips } = rail;
  if (beginsMs === null) return html`${label}<text x="${LEFT}" y="${y + 12}">does not come up in this trace</text>`;
  const endMs = upAtMs ?? beginsMs + (riseMs ?? 0);
  const width = Math.max(1.5, x(endMs) - x(beginsMs));
  // Settling counts from the middle of the edge.
  const settled = settlesMs === null ? x(endMs) : Math.min(WIDTH - RIGHT, x(beginsMs + (riseMs ?? 0) / 2 + settlesMs));
  return html`${label}<rect x="${x(beginsMs).toFixed(1)}" y="${y + 3}" width="${width.toFixed(1)}" height="${ROW - 8}" fill="#555"/>
<path d="M${x(endMs).toFixed(1)} ${y + ROW / 2}H${Math.max(x(endMs), settled).toFixed(1)}" stroke="#555"/>
${dips.slice(0, 50).map((dip) => html`<path d="M${x(dip.atMs).toFixed(1)} ${y}l4 10h-8z" fill="#111"/>`)}
<text x="${(Math.max(x(endMs), settled) + 6).toFixed(1)}" y="${y + 12}" font-size="10">${sayMs(beginsMs)}</text>`;
}
