import { css, html, LitElement, nothing } from "lit";
import type { Cycle } from "../../../shared/record/cycles.ts";
import type { WireCycles } from "../../../shared/wire.ts";
import { sayAmps, sayMs } from "../../../shared/words/amounts.ts";
import { say } from "../../words/verdict.ts";
import { local } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { className } from "../parts/draw-words.ts";

/** So many rows of the latest starts; the record has all of them. */
const SHOWN = 12;

/** A series of starts: each that was made, and what they say together once they are over. */
export class StartsCard extends LitElement {
  static override properties = { cycles: { attribute: false } };
  declare cycles: WireCycles;

  static override styles = [
    baseStyle,
    css`
      .card {
        margin-bottom: 0.7rem;
      }
      ol {
        display: flex;
        flex-wrap: wrap;
        gap: 0.3rem;
        margin: 0.3rem 0;
      }
      .start {
        min-width: 1.8rem;
        padding: 0.1rem 0.3rem;
        border: 2px solid var(--calm);
        border-radius: 4px;
        background: var(--calm-fill);
        text-align: center;
        font-weight: 700;
      }
      .start[data-clean="no"] {
        border: 3px double var(--stop);
        background: var(--stop-fill);
      }
    `,
  ];

  override render() {
    const { cycles, result } = this.cycles;
    const clean = cycles.filter((each) => each.clean).length;
    const shown = cycles.slice(-SHOWN);
    return html`<section class="card" aria-label=${say("starts.label")}>
      <h2>${result === null ? say("starts.so-far", { made: cycles.length, clean }) : html`<span lang="en">${result}</span>`}</h2>
      ${cycles.length > SHOWN ? html`<p class="small soft">${say("starts.last", { count: SHOWN })}</p>` : nothing}
      <ol aria-label=${say("starts")}>
        ${shown.map((each) => html`<li class="start" data-clean=${each.clean ? "yes" : "no"} title=${told(each)}>${each.clean ? "✓" : "✕"} ${each.cycle}<span class="unseen">: ${told(each)}</span></li>`)}
      </ol>
      ${shown.filter((each) => !each.clean).map((each) => html`<p class="small">✕ ${told(each)}</p>`)}
    </section>`;
  }
}
customElements.define("starts-card", StartsCard);

const told = ({ cycle, start, class: drawn, because, plateauAmps, startMs, host }: Cycle): string =>
  [
    say(`start.${start}`, { number: cycle }),
    drawn === null ? say("start.not-judged") : className(drawn),
    ...(plateauAmps === null ? [] : [local(sayAmps(plateauAmps))]),
    ...(startMs === null ? [] : [say("start.settled", { time: local(sayMs(startMs)) })]),
    ...(host === undefined ? [] : [say(host === null ? "host.no-look" : `host.${host}`)]),
    ...because,
  ].join(", ");
