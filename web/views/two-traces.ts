import { css, html, LitElement, svg } from "lit";
import { sayAmount } from "../../shared/amounts.ts";
import type { WireStoredRun } from "../../shared/wire-job.ts";
import { baseStyle } from "./base-style.ts";

const [WIDE, HIGH, LEFT, BOTTOM] = [960, 300, 64, 26];

/** The currents of two runs over the same seconds: one a thin broken line, the other a full one. */
export class TwoTraces extends LitElement {
  static override properties = { a: { attribute: false }, b: { attribute: false }, feed: { state: true } };
  declare a: WireStoredRun;
  declare b: WireStoredRun;
  declare feed: string;

  static override styles = [
    baseStyle,
    css`
      svg {
        display: block;
        width: 100%;
        height: auto;
        font-size: 15px;
      }
      .one,
      .other {
        fill: none;
        stroke: var(--other);
        stroke-width: 2;
        stroke-dasharray: 7 4;
      }
      .other {
        stroke: var(--trace);
        stroke-width: 2.5;
        stroke-dasharray: none;
      }
      .grid {
        stroke: var(--hair);
        stroke-dasharray: 1 5;
      }
      text {
        fill: var(--ink-soft);
      }
      .key svg {
        display: inline-block;
        width: 2.4rem;
        height: 0.6rem;
        vertical-align: middle;
      }
    `,
  ];

  constructor() {
    super();
    this.feed = "";
  }

  override render() {
    const feeds = [...new Set([...this.a.trace, ...this.b.trace].map((each) => each.feed))];
    const feed = feeds.includes(this.feed) ? this.feed : (busiest(this.b) ?? feeds[0] ?? "");
    const [one, other] = [pointsOf(this.a, feed), pointsOf(this.b, feed)];
    const all = [...one, ...other];
    const most = {
      seconds: Math.max(1, ...all.map((each) => each.seconds)),
      amps: Math.max(0.01, ...all.map((each) => each.amps)) * 1.1,
    };
    const path = (points: Point[]): string =>
      points
        .map(({ seconds, amps }, index) => {
          const x = LEFT + (seconds / most.seconds) * (WIDE - LEFT);
          const y = (1 - Math.max(0, amps) / most.amps) * (HIGH - BOTTOM);
          return `${index === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`;
        })
        .join("");
    return html`<div class="row small">
        <label class="row"><span class="label">Feed</span><select @change=${(event: Event) => {
          this.feed = (event.target as HTMLSelectElement).value;
        }}>${feeds.map((each) => html`<option ?selected=${each === feed}>${each}</option>`)}</select></label>
        <span class="key"><svg viewBox="0 0 40 10" aria-hidden="true"><path class="one" d="M0 5H40"></path></svg> one</span>
        <span class="key"><svg viewBox="0 0 40 10" aria-hidden="true"><path class="other" d="M0 5H40"></path></svg> the other</span>
      </div>
      <svg viewBox="0 0 ${WIDE} ${HIGH}" role="img" aria-label="Currents of both runs on ${feed}: at most ${sayAmount(Math.max(0, ...one.map((each) => each.amps)), "A")} and ${sayAmount(Math.max(0, ...other.map((each) => each.amps)), "A")}">
        ${[0, 0.25, 0.5, 0.75, 1].map((share) => {
          const y = (1 - share) * (HIGH - BOTTOM);
          return svg`<path class="grid" d="M${LEFT} ${y}H${WIDE}"></path><text x=${LEFT - 8} y=${Math.max(13, y + 5)} text-anchor="end">${sayAmount(share * most.amps, "A")}</text>`;
        })}
        ${[0, 0.25, 0.5, 0.75, 1].map((share) => svg`<text x=${LEFT + share * (WIDE - LEFT)} y=${HIGH - 6} text-anchor=${share === 0 ? "start" : share === 1 ? "end" : "middle"}>${(share * most.seconds).toFixed(1)} s</text>`)}
        <path class="one" d=${path(one)}></path>
        <path class="other" d=${path(other)}></path>
      </svg>`;
  }
}
customElements.define("two-traces", TwoTraces);

interface Point {
  seconds: number;
  amps: number;
}

const pointsOf = (stored: WireStoredRun, feed: string): Point[] =>
  (stored.trace.find((each) => each.feed === feed)?.readings ?? []).flatMap(({ atMs, amps }) =>
    amps.kind === "value" ? [{ seconds: atMs / 1000, amps: amps.amps }] : [],
  );

function busiest(stored: WireStoredRun): string | null {
  const most = stored.trace.map(({ feed }) => ({
    feed,
    amps: Math.max(0, ...pointsOf(stored, feed).map((each) => each.amps)),
  }));
  return most.toSorted((a, b) => b.amps - a.amps)[0]?.feed ?? null;
}
