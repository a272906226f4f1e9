import { css, html, LitElement, nothing } from "lit";
import { DrawClass } from "../../../shared/draw-verdict.ts";
import { StageName } from "../../../shared/plan.ts";
import { type WireShop, WireShopAnswer, type WireShopBench } from "../../../shared/wire-shop.ts";
import { askDaemon } from "../../page/session.ts";
import { say } from "../../words/shop.ts";
import { baseStyle } from "../parts/base-style.ts";
import { className } from "../parts/draw-words.ts";
import { fixed, momentText } from "../parts/figures.ts";
import { hostStack } from "../parts/host-stack.ts";
import { problem } from "../parts/problem.ts";
import { stageName } from "../parts/stage-names.ts";
import { stageName as powerStage } from "../parts/stage-words.ts";

/** The interval at which the daemon is asked while this place is shown. */
const ASK_MS = 2000;
/** From then on a figure is old: benches say that they are there every five seconds. */
const OLD_MS = 12_000;

const MARKS = { on: "●", off: "○", unknown: "?" } as const;

/** The place Shop: every bench with what it does and how old that is, what waits to be sent, and the jobs of all benches. For looking only. */
export class ShopView extends LitElement {
  static override properties = {
    shown: { type: Boolean },
    live: { type: Boolean },
    shop: { state: true },
    askedAtMs: { state: true },
    problem: { state: true },
  };
  declare shown: boolean;
  /** Whether the daemon is heard. */
  declare live: boolean;
  /** null: not asked yet, or this bench belongs to no shop. */
  declare shop: WireShop | null;
  /** When it was told, on this page's clock, which goes on beside it. */
  declare askedAtMs: number;
  declare problem: string;
  #belongs: boolean | null = null;

  static override styles = [
    baseStyle,
    hostStack,
    css`
      .bench {
        display: grid;
        grid-template-columns: 8rem 7rem minmax(0, 1fr) 8rem;
        gap: 0.1rem 0.7rem;
        padding: 0.45rem 0;
        border-top: 1px solid var(--hair);
        align-items: baseline;
      }
      .name,
      .output {
        font-weight: 700;
        overflow-wrap: anywhere;
      }
      .output[data-output="on"] {
        font-size: 1.125rem;
      }
      .age {
        text-align: right;
        font-variant-numeric: tabular-nums;
      }
      .age[data-old="yes"] {
        color: var(--warn);
        font-weight: 700;
      }
      .figures {
        font-variant-numeric: tabular-nums;
        overflow-wrap: anywhere;
      }
      .jobs button {
        display: grid;
        grid-template-columns: minmax(0, 1fr) 8rem 11rem 9rem;
        gap: 0.1rem 0.7rem;
        width: 100%;
        padding-inline: 0;
        min-height: max(2.2rem, var(--touch, 0px));
        border: 0;
        border-top: 1px solid var(--hair);
        border-radius: 0;
        background: transparent;
        text-align: left;
        font-weight: 400;
      }
      .jobs b {
        overflow-wrap: anywhere;
      }
      @media (max-width: 48rem) {
        .bench {
          grid-template-columns: minmax(0, 1fr) auto auto;
        }
        .jobs button {
          grid-template-columns: minmax(0, 1fr) minmax(0, 1fr);
        }
        .bench > :nth-child(3) {
          grid-column: 1 / -1;
        }
        .age {
          grid-area: 1 / 3;
        }
      }
    `,
  ];

  constructor() {
    super();
    this.shown = false;
    this.live = false;
    this.shop = null;
    this.askedAtMs = 0;
    this.problem = "";
  }

  override connectedCallback(): void {
    super.connectedCallback();
    setInterval(() => {
      // Whether there is a shop is asked once; after that only a page that shows it asks.
      // Ages go on, also while nobody answers.
      if (this.shown) this.requestUpdate();
      if (this.live && (this.#belongs === null || (this.#belongs && this.shown))) void this.#ask();
    }, ASK_MS);
  }

  override updated(changed: Map<string, unknown>): void {
    if (this.live && (changed.has("live") || (changed.has("shown") && this.shown)) && this.#belongs !== false)
      void this.#ask();
  }

  async #ask(): Promise<void> {
    const reply = await askDaemon("/api/shop").catch(() => null);
    const told = reply?.ok === true ? WireShopAnswer.safeParse(await reply.json().catch(() => null)) : null;
    if (told?.success !== true) {
      this.problem = say("old");
      return;
    }
    this.problem = "";
    this.shop = told.data.shop;
    if (this.shop === null) {
      this.#belongs = false;
      return;
    }
    this.askedAtMs = performance.now();
    if (this.#belongs !== true) this.dispatchEvent(new CustomEvent("shop-known"));
    this.#belongs = true;
  }

  override render() {
    const { shop } = this;
    if (shop === null || !this.shown) return nothing;
    return html`<section class="card" aria-label=${say("benches")}>
        <h2>${say("heading", { shop: shop.shop })}</h2>
        <p class="small">${say("looking")}</p>
        ${problem(this.problem)}
        <ul>${shop.benches.map((bench) => this.#bench(bench))}</ul>
      </section>
      <section class="card" aria-label=${say("waiting")}>
        <h2>${say("waiting.of", { bench: shop.bench })}</h2>
        ${this.#waiting(shop)}
      </section>
      <section class="card jobs" aria-label=${say("jobs")}>
        <h2>${say("jobs")}</h2>
        ${shop.jobs.length === 0 ? html`<p class="soft">${say("jobs.none")}</p>` : html`<ul>${shop.jobs.map((job) => this.#job(job))}</ul>`}
      </section>`;
  }

  #bench(bench: WireShopBench) {
    const { state } = bench;
    const name = html`<span class="name">${bench.bench}${bench.isThis ? html` <span class="small soft">${say("this")}</span>` : nothing}</span>`;
    if (state === null)
      return html`<li class="bench">${name}<span>—</span><span class="soft">${say("silent")}</span><span></span></li>`;
    if (state.is === "gone")
      return html`<li class="bench">${name}<span>—</span><span>${say("gone")}</span><span></span></li>`;
    const ageMs = state.ageMs + this.#sinceMs();
    const isOld = ageMs > OLD_MS;
    const doing = [
      state.title ?? (state.job === null ? null : say("job", { short: state.job.slice(-8) })),
      state.stage === null ? null : stageWord(state.stage),
    ];
    const said = doing.filter((each) => each !== null).join(" · ");
    const waits =
      state.waitingFor === null ? nothing : html`${said === "" ? "" : " · "}<span lang="en">${state.waitingFor}</span>`;
    return html`<li class="bench" data-bench=${bench.bench}>
      ${name}
      <span class="output" data-output=${state.output}>${isOld ? "? " : ""}${MARKS[state.output]} ${say(state.output)}</span>
      <span>
        ${said === "" && waits === nothing ? html`<span class="soft">${say("no-run")}</span>` : html`${said}${waits}`}
        ${bench.lastClass === null ? nothing : html`<br /><span class="small soft">${say("last-draw", { words: drawName(bench.lastClass) })}</span>`}
        ${bench.feeds.length === 0 ? nothing : html`<br /><span class="figures">${this.#figures(bench)}</span>`}
      </span>
      <span class="age" data-old=${isOld ? "yes" : "no"}>${isOld ? "⚠ " : ""}${say("age", { age: ageText(ageMs) })}</span>
    </li>`;
  }

  #figures({ feeds, feedsAgeMs }: WireShopBench): string {
    const told = feeds.filter(({ volts, amps }) => volts !== null || amps !== null);
    const figures = told.map(
      ({ feed, volts, amps }) =>
        `${feed} ${volts === null ? "?" : fixed(volts, 2)} V ${amps === null ? "?" : fixed(amps, 3)} A`,
    );
    return figures.length === 0
      ? ""
      : `${figures.join(", ")} (${say("age", { age: ageText((feedsAgeMs ?? 0) + this.#sinceMs()) })})`;
  }

  #waiting({ record, live }: WireShop) {
    return html`${
      record === null
        ? html`<p class="soft">${say("no-database")}</p>`
        : html`<p>${record.waiting === 0 ? say("nothing-waits") : html`<b>${say(record.waiting === 1 ? "waits.one" : "waits", { count: record.waiting })}</b>${record.since === null ? nothing : html`, ${say("waits.since", { time: momentText(record.since) })}`}.`}</p>
            <p class="small">${
              record.reachable === null
                ? say("not-asked")
                : record.reachable
                  ? record.lastAt === null
                    ? say("reached")
                    : say("reached.last", { time: momentText(record.lastAt) })
                  : html`<b>⚠ ${say("unusable")}: <span lang="en">${record.because}</span>.</b> ${say("unusable.later")}`
            }</p>`
    }
    ${
      live === null
        ? html`<p class="small soft">${say("no-broker")}</p>`
        : live.reachable
          ? html`<p class="small">${say("broker")}${live.ignored === 0 ? nothing : ` ${say(live.ignored === 1 ? "broker.ignored.one" : "broker.ignored", { count: live.ignored })}`}</p>`
          : html`<p class="small"><b>⚠ ${say("broker.unusable")}${live.because === null ? nothing : html`: <span lang="en">${live.because}</span>`}.</b></p>`
    }`;
  }

  #job({ id, title, bench, stage, result, state, lastEventAt }: WireShop["jobs"][number]) {
    return html`<li><button @click=${() => this.#open(id)}>
      <b>${title}</b><span>${bench ?? "—"}</span><span>${stageName(stage ?? result ?? state)}</span><span class="small soft">${momentText(lastEventAt)}</span>
    </button></li>`;
  }

  #open(job: string): void {
    this.dispatchEvent(new CustomEvent("open-job", { detail: job }));
    this.dispatchEvent(new CustomEvent("pick-place", { detail: "board" }));
  }

  #sinceMs(): number {
    return Math.max(0, performance.now() - this.askedAtMs);
  }
}
customElements.define("shop-view", ShopView);

/** The class of a draw by its name; one this page does not know stays as it is. */
const drawName = (name: string): string => {
  const known = DrawClass.safeParse(name);
  return known.success ? className(known.data) : name;
};

/** A stage of a power-up; one this page does not know stays as it is. */
const stageWord = (name: string): string => {
  const known = StageName.safeParse(name);
  return known.success ? powerStage(known.data) : name;
};

function ageText(ms: number): string {
  if (ms < 90_000) return `${Math.round(ms / 1000)} s`;
  return ms < 90 * 60_000 ? `${Math.round(ms / 60_000)} min` : `${Math.round(ms / 3_600_000)} h`;
}
