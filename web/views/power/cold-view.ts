import { css, html, LitElement, nothing, type PropertyValues } from "lit";
import type { ColdReadings } from "../../../shared/permit.ts";
import type { WireBoard, WireColdPoint } from "../../../shared/wire-board.ts";
import type { WireJobSheet } from "../../../shared/wire-job.ts";
import type { SweepHow } from "../../../shared/wire-request.ts";
import { sayOhms } from "../../../shared/words/amounts.ts";
import { numberIn } from "../../../shared/words/number-in.ts";
import { OHMS_EXAMPLES, ohmsIn } from "../../../shared/words/ohms-text.ts";
import { jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/job.ts";
import { local } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { duration } from "../parts/figures.ts";
import { problem } from "../parts/problem.ts";
import { limitsText } from "../parts/rail-words.ts";
import { withHelp } from "../parts/with-help.ts";
import { type ColdParse, parseCold } from "./cold-text.ts";

/** Cold readings point by point, as they are read off a meter; Enter goes to the next. They are used by the permit. */
export class ColdView extends LitElement {
  static override properties = {
    board: { attribute: false },
    sheet: { attribute: false },
    mayWrite: { type: Boolean },
    clockMs: { type: Number },
    scope: { type: String },
    mayMeasure: { type: Boolean },
    nullLeads: { attribute: false },
    nulling: { state: true },
    nulled: { state: true },
    problem: { state: true },
    said: { state: true },
    cold: { state: true },
  };
  declare board: WireBoard | null;
  declare sheet: WireJobSheet | null;
  declare mayWrite: boolean;
  declare clockMs: number;
  /** Which job and round the readings are for; with another, what was typed is forgotten. */
  declare scope: string;
  /** True where a cold sweep may begin. */
  declare mayMeasure: boolean;
  /** Nulls the leads; answers with what came of it, in words. */
  declare nullLeads: () => Promise<string>;
  declare nulling: boolean;
  declare nulled: string;
  declare problem: string;
  declare said: string;
  declare cold: ColdReadings;

  static override styles = [
    baseStyle,
    css`
      .card {
        max-width: 64rem;
      }
      td:first-child {
        font-weight: 600;
      }
      td:not(:first-child) {
        white-space: nowrap;
      }
      :is(th, td):last-child {
        width: 11rem;
      }
      td input[type="text"],
      input.short[name="celsius"] {
        text-align: right;
        font-family: ui-monospace, monospace;
        font-size: 1.125rem;
      }
      .where {
        display: block;
        white-space: normal;
        font-weight: 400;
        overflow-wrap: anywhere;
      }
      .high,
      .low {
        display: block;
      }
      .high {
        font-weight: 700;
        color: var(--warn);
      }
      .low {
        font-weight: 700;
        color: var(--stop);
      }
      @media (max-width: 40rem) {
        thead {
          display: none;
        }
        tr {
          display: grid;
          grid-template-columns: repeat(2, minmax(0, 1fr));
          gap: 0.2rem 0.8rem;
          padding: 0.6rem 0;
          border-bottom: 1px solid var(--hair);
        }
        tr td:is(*, :last-child) {
          width: auto;
          padding: 0;
          border: 0;
          text-align: left;
          overflow-wrap: anywhere;
        }
        /* The heads of the columns are gone: each cell says its own. */
        td[data-head]::before {
          content: attr(data-head);
          display: block;
          font-size: 0.875rem;
          color: var(--ink-soft);
        }
      }
      input.short[type="text"] {
        width: 10rem;
        font-size: 1rem;
      }
      textarea {
        font-family: ui-monospace, monospace;
      }
    `,
  ];

  constructor() {
    super();
    this.board = null;
    this.sheet = null;
    this.mayWrite = false;
    this.clockMs = 0;
    this.scope = "";
    this.mayMeasure = false;
    this.nullLeads = async () => "";
    this.nulling = false;
    this.nulled = "";
    this.problem = "";
    this.said = "";
    this.cold = {};
  }

  override updated(changed: PropertyValues): void {
    if (changed.has("scope") && changed.get("scope") !== undefined) this.reset();
  }

  override render() {
    const points = this.board?.cold ?? [];
    return html`<section class="card" aria-label=${say("cold.label")}>
      <form class="stack" @submit=${this.#file} @input=${this.#read}>
        <h2>${say("cold.heading")}</h2>
        ${withHelp("cold", html`<p class="small">${say("cold.how", { examples: local(EXAMPLES) })}</p>`)}
        ${
          points.length === 0
            ? nothing
            : html`<table>
                <thead>
                  <tr><th scope="col">${say("cold.point")}</th><th scope="col">${say("cold.healthy")}</th><th scope="col">${say("cold.filed")}</th><th scope="col">${say("cold.reading")}</th></tr>
                </thead>
                <tbody>
                  ${points.map((point) => this.#row(point))}
                </tbody>
              </table>`
        }
        ${withHelp(
          "others",
          html`<label><span class="label">${say("cold.others")}</span>
            <textarea name="others" rows="2" spellcheck="false" placeholder=${local(OTHERS_SUCH)}></textarea></label>`,
        )}
        ${problem(this.problem)}
        <div class="row">
          <button type="submit" ?disabled=${!this.mayWrite}>${this.sheet === null ? say("cold.file") : say("cold.file.in", { job: jobName(this.sheet) })}</button>
          <button class="main" type="button" @click=${() => this.dispatchEvent(new CustomEvent("pick-place", { detail: "power" }))}>${say("cold.on")}</button>
          <span class="small" role="status">${this.said}</span>
        </div>
        <fieldset>
          <legend>${say("cold.meter")}</legend>
          <div class="row">
            <label class="check"><input type="checkbox" name="diode" />${say("cold.diode")}</label>
            <label class="check"><input type="checkbox" name="fourWire" />${say("cold.four")}</label>
            <button type="button" ?disabled=${!this.mayMeasure} @click=${this.#measure}>${say("cold.measure")}</button>
            <button type="button" ?disabled=${!this.mayMeasure || this.nulling} @click=${this.#null}>${say("cold.null")}</button>
          </div>
          ${this.mayMeasure ? nothing : html`<p class="small soft">${say("cold.not-now")}</p>`}
          <p class="small" role="status">${this.nulling ? say("cold.nulling") : this.nulled}</p>
        </fieldset>
        <label class="row"><span class="label">${say("cold.warmth")}</span><input type="text" name="celsius" inputmode="numeric" class="short" placeholder=${say("cold.unknown")} autocomplete="off" /></label>
        <label class="row"><span class="label">${say("cold.four.points")}</span><input type="text" name="fourWirePoints" class="short" placeholder=${POINTS_SUCH} autocomplete="off" spellcheck="false" /></label>
      </form>
    </section>`;
  }

  #row({ point, where, least, most }: WireColdPoint) {
    // A pair is one point, whichever end was named first.
    const filed = this.sheet?.cold[point] ?? this.sheet?.cold[point.split(":").reverse().join(":")];
    const typed = this.cold[point];
    const isPair = point.includes(":");
    return html`<tr>
      <td>${isPair ? pairText(point) : html`${point}<span class="soft where small">${say("cold.ground")}</span>`}${where === null ? nothing : html`<span class="where small soft">${where}</span>`}</td>
      <td data-head=${say("cold.healthy")}>${healthy(least, most)}</td>
      <td data-head=${say("cold.filed")}>${
        filed === undefined
          ? "–"
          : html`${filed.expired === null ? ohmsText(filed.ohms) : html`<s>${ohmsText(filed.ohms)}</s>`}${mark(filed.ohms, least, most)}<span class="where small soft"
              >${say("cold.ago", { age: duration(Math.max(0, this.clockMs - Date.parse(filed.at))) })}${
                filed.expired === null
                  ? nothing
                  : html`, <b>${say("cold.expired")}</b>: <span lang="en">${filed.expired}</span>`
              }</span>`
      }</td>
      <td data-head=${say("cold.reading")}>
        <input type="text" name=${`at:${point}`} aria-label=${say("cold.at", { point })} autocomplete="off" spellcheck="false" @keydown=${this.#onEnter} />
        ${typed === undefined ? nothing : mark(typed, least, most)}
      </td>
    </tr>`;
  }

  /** Forgets what was typed: it was read before the board was changed. */
  reset(): void {
    this.#form()?.reset();
    this.#read();
  }

  readonly #onEnter = (event: KeyboardEvent): void => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    const all = [...this.renderRoot.querySelectorAll<HTMLElement>('input, textarea, button[type="submit"]')];
    all[all.indexOf(event.currentTarget as HTMLElement) + 1]?.focus();
  };

  readonly #read = (): void => {
    const form = this.#form();
    const parsed = form === null ? ({ ok: true, cold: {} } as const) : readingsOf(new FormData(form));
    const known = new Set(this.board?.cold.flatMap(({ point }) => [point, point.split(":").reverse().join(":")]) ?? []);
    const strange = parsed.ok ? Object.keys(parsed.cold).filter((point) => !known.has(point)) : [];
    this.problem = parsed.ok ? "" : parsed.because;
    // An unknown board has no points of its own.
    this.said = strange.length > 0 && known.size > 0 ? `⚠ ${say("cold.strange", { points: strange.join(", ") })}` : "";
    this.cold = parsed.ok ? parsed.cold : this.cold;
    this.dispatchEvent(new CustomEvent("cold-changed", { detail: parsed }));
  };

  readonly #measure = (): void => {
    const form = this.#form();
    const data = form === null ? null : new FormData(form);
    const how: SweepHow = {
      diode: data?.get("diode") != null,
      fourWire: data?.get("fourWire") != null,
      blackAt: "board",
    };
    this.dispatchEvent(new CustomEvent("ask-cold-sweep", { detail: how }));
  };

  readonly #null = async (): Promise<void> => {
    this.nulling = true;
    this.nulled = await this.nullLeads();
    this.nulling = false;
  };

  readonly #file = async (event: SubmitEvent): Promise<void> => {
    event.preventDefault();
    this.#read();
    if (this.problem !== "" || Object.keys(this.cold).length === 0) {
      this.said = this.problem === "" ? say("cold.nothing") : "";
      return;
    }
    const job = await this.#job();
    if (job === null) return;
    const filed = await jobRecord.file(job, {
      kind: "cold-readings",
      ohms: this.cold,
      by: "hand",
      ...takenHow(this.#form(), this.cold),
    });
    if (!filed.ok) {
      this.problem = filed.because;
      return;
    }
    // From now on they count with their age, out of the record; left here they would stay fresh for ever.
    this.reset();
    this.said = say("filed");
  };

  /** The job on the bench; one is opened where there is none, so that no reading is lost. */
  async #job(): Promise<string | null> {
    if (this.sheet !== null) return this.sheet.id;
    const opened = await jobRecord.newJob("");
    if (opened.ok) this.dispatchEvent(new CustomEvent("open-job", { detail: opened.value }));
    else this.problem = opened.because;
    return opened.ok ? opened.value : null;
  }

  #form(): HTMLFormElement | null {
    return this.renderRoot.querySelector("form");
  }
}
customElements.define("cold-view", ColdView);

function readingsOf(data: FormData): ColdParse {
  const others = parseCold(String(data.get("others") ?? ""));
  if (!others.ok) return others;
  const cold: ColdReadings = { ...others.cold };
  for (const [name, value] of data) {
    const text = String(value).trim();
    if (!name.startsWith("at:") || text === "") continue;
    const point = name.slice(3);
    const ohms = ohmsIn(text);
    if (ohms === null) return { ok: false, because: say("cold.wrong", { text, point, examples: OHMS_EXAMPLES }) };
    if (Object.hasOwn(cold, point)) return { ok: false, because: say("cold.twice", { point }) };
    cold[point] = ohms;
  }
  return { ok: true, cold };
}

/** The temperature of the board, and which of the readings were taken with four wires. */
function takenHow(
  form: HTMLFormElement | null,
  cold: ColdReadings,
): { boardCelsius: number | null; fourWire?: string[] } {
  const data = form === null ? null : new FormData(form);
  const celsius = numberIn(String(data?.get("celsius") ?? ""));
  const points = String(data?.get("fourWirePoints") ?? "")
    .split(/[,\s]+/)
    .filter((point) => Object.hasOwn(cold, point));
  return {
    boardCelsius: celsius !== null && celsius >= -40 && celsius <= 150 ? celsius : null,
    ...(points.length === 0 ? {} : { fourWire: points }),
  };
}

const ohmsText = (ohms: number | "open"): string => (ohms === "open" ? say("cold.open") : local(sayOhms(ohms)));

/** Whether ohms lie outside of what is healthy, by a shape and words. */
function mark(ohms: number | "open", least: number | null, most: number | null) {
  if (ohms !== "open" && least !== null && ohms < least)
    return html`<span class="low small"> ▼ ${say("cold.low")}</span>`;
  const above = most !== null && (ohms === "open" || ohms > most);
  return above ? html`<span class="high small"> ▲ ${say("cold.high")}</span>` : nothing;
}

const OTHERS_SUCH = "aux = 12.4k\naux:core = 3.1k";
const POINTS_SUCH = ["core", "soc"].join(", ");
const EXAMPLES = ["12.4k", "12k4", "0.35", "4R7", "2M"].join(", ");

/** A pair by both of its ends. */
function pairText(pair: string): string {
  const [one = "", other = ""] = pair.split(":");
  return say("cold.pair", { one, other });
}

const jobName = ({ title, short }: WireJobSheet): string => (title === null ? short : title.slice(0, 40));

function healthy(least: number | null, most: number | null): string {
  return least === null && most === null ? say("cold.unknown") : limitsText([least, most], "Ω");
}
