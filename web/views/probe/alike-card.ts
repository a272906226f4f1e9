import { css, html, LitElement, nothing } from "lit";
import type { AlikePoint, AlikeResult, RailAmps } from "../../../shared/record/alike.ts";
import { sayAmount, sayAmps, sayOhms, sayShare } from "../../../shared/words/amounts.ts";
import { say } from "../../words/probe.ts";
import { local } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";

/** A deviation under this is told as none. */
const LEAST_OFF = 0.0005;

/** The findings of a sweep beside the rails: the points of a group held against each other, and the currents of rails over their parts. */
export class AlikeCard extends LitElement {
  static override properties = { alike: { attribute: false }, railAmps: { attribute: false } };
  declare alike: AlikeResult | null;
  declare railAmps: readonly RailAmps[];

  static override styles = [
    baseStyle,
    css`
      tr[data-differs="yes"] > * {
        background: var(--stop-fill);
        border-top: 3px double var(--stop);
        border-bottom: 3px double var(--stop);
        font-weight: 700;
      }
      td {
        font-variant-numeric: tabular-nums;
      }
      th:first-child,
      td:not(:last-child) {
        white-space: nowrap;
      }
    `,
  ];

  constructor() {
    super();
    this.alike = null;
    this.railAmps = [];
  }

  override render() {
    return html`${this.alike === null ? nothing : this.#group(this.alike)}
      ${this.railAmps.length === 0 ? nothing : this.#amps()}`;
  }

  #group(alike: AlikeResult) {
    const { group, word, points, goodBoards, because } = alike;
    const isJudged = points.some((each) => each.differs || each.off !== null);
    return html`<section class="card stack" aria-label=${say("alike.label", { group })}>
      <h2>${say("alike.title", { group, word: say(`alike.${word}`) })}</h2>
      ${because.map((sentence) => html`<p lang="en">${sentence}</p>`)}
      <table>
        <thead>
          <tr><th scope="col">${say("alike.point")}</th><th scope="col">${say("alike.reads")}</th><th scope="col">${say("alike.good")}</th><th scope="col">${say("alike.off")}</th><th scope="col">${say("alike.found")}</th></tr>
        </thead>
        <tbody>${points.map((point) => this.#row(point, alike))}</tbody>
      </table>
      ${isJudged ? html`<p class="small">${say(goodBoards > 0 ? "alike.how.good" : "alike.how.self", { boards: goodBoards })} ${say("alike.chance")}</p>` : nothing}
    </section>`;
  }

  #row({ point, value, good, off, differs }: AlikePoint, { quantity }: AlikeResult) {
    const amount = (of: number | "open" | null): string =>
      of === null ? "–" : of === "open" ? say("open") : local(quantity === "ohms" ? sayOhms(of) : sayAmount(of, "V"));
    const found =
      value === null
        ? say("alike.not-read")
        : differs
          ? `✕ ${say("alike.differs")}`
          : off === null
            ? say("alike.read")
            : `✓ ${say("alike.same")}`;
    const sign = off === null || Math.abs(off) < LEAST_OFF ? "" : off < 0 ? "−" : "+";
    const share = off === null ? "–" : local(`${sign}${sayShare(sign === "" ? 0 : Math.abs(off))}`);
    return html`<tr data-differs=${differs ? "yes" : "no"}>
      <th scope="row">${point}</th><td>${amount(value)}</td><td>${amount(good)}</td><td>${share}</td><td>${found}</td>
    </tr>`;
  }

  #amps() {
    return html`<section class="card stack" aria-label=${say("amps.title")}>
      <h2>${say("amps.title")}</h2>
      <table>
        <thead>
          <tr><th scope="col">${say("amps.rail")}</th><th scope="col">${say("amps.draws")}</th><th scope="col">${say("amps.over")}</th></tr>
        </thead>
        <tbody>
          ${this.railAmps.map(({ rail, amps, expandedAmps, parts, missing }) => {
            const current = local(sayAmps(amps, expandedAmps));
            return html`<tr><th scope="row">${rail}</th>
              <td>${missing.length === 0 ? current : say("at-least", { least: current })}</td>
              <td>${parts.join(", ")}${missing.length === 0 ? "" : `; ${say("amps.missing", { parts: missing.join(", ") })}`}</td></tr>`;
          })}
        </tbody>
      </table>
      <p class="small">${say("amps.how")}</p>
    </section>`;
  }
}
customElements.define("alike-card", AlikeCard);
