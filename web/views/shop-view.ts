import { css, html, LitElement, nothing } from "lit";
import { type WireShop, WireShopAnswer, type WireShopBench } from "../../shared/wire-shop.ts";
import { askDaemon } from "../page/session.ts";
import { baseStyle } from "./base-style.ts";
import { momentText } from "./figures.ts";
import { hostStack } from "./host-stack.ts";

/** The interval at which the daemon is asked while this place is shown. */
const ASK_MS = 2000;
/** From then on a figure is old: benches say that they are there every five seconds. */
const OLD_MS = 12_000;

const OUTPUTS = { on: "● ON", off: "○ OFF", unknown: "? not known" } as const;

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
        min-height: 2.2rem;
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
        .bench,
        .jobs button {
          grid-template-columns: minmax(0, 1fr) minmax(0, 1fr);
        }
        .age {
          text-align: left;
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
      this.problem = "The daemon does not answer about the shop. The figures below are old.";
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
    return html`<section class="card" aria-label="Benches">
        <h2>Shop ${shop.shop}</h2>
        <p class="small">This place only shows what the benches send. It cannot energise, answer or change anything.</p>
        ${this.problem === "" ? nothing : html`<p class="problem" role="alert">✕ ${this.problem}</p>`}
        <ul>${shop.benches.map((bench) => this.#bench(bench))}</ul>
      </section>
      <section class="card" aria-label="What is waiting">
        <h2>What waits to be sent from ${shop.bench}</h2>
        ${this.#waiting(shop)}
      </section>
      <section class="card jobs" aria-label="Jobs of all benches">
        <h2>Jobs of all benches</h2>
        ${shop.jobs.length === 0 ? html`<p class="soft">None yet.</p>` : html`<ul>${shop.jobs.map((job) => this.#job(job))}</ul>`}
      </section>`;
  }

  #bench(bench: WireShopBench) {
    const { state } = bench;
    const name = html`<span class="name">${bench.bench}${bench.isThis ? html` <span class="small soft">this one</span>` : nothing}</span>`;
    if (state === null)
      return html`<li class="bench">${name}<span>—</span><span class="soft">no live data</span><span></span></li>`;
    if (state.is === "gone")
      return html`<li class="bench">${name}<span>—</span><span>not connected now</span><span></span></li>`;
    const ageMs = state.ageMs + this.#sinceMs();
    const isOld = ageMs > OLD_MS;
    const doing = [
      state.title ?? (state.job === null ? null : `job ${state.job.slice(-8)}`),
      state.stage,
      state.waitingFor,
    ];
    const said = doing.filter((each) => each !== null).join(" · ");
    return html`<li class="bench" data-bench=${bench.bench}>
      ${name}
      <span class="output" data-output=${state.output}>${isOld ? "? " : ""}${OUTPUTS[state.output]}</span>
      <span>
        ${said === "" ? html`<span class="soft">no run</span>` : said}
        ${bench.lastClass === null ? nothing : html`<br /><span class="small soft">last draw: ${bench.lastClass}</span>`}
        ${bench.feeds.length === 0 ? nothing : html`<br /><span class="figures">${this.#figures(bench)}</span>`}
      </span>
      <span class="age" data-old=${isOld ? "yes" : "no"}>${isOld ? "⚠ " : ""}${ageText(ageMs)} old</span>
    </li>`;
  }

  #figures({ feeds, feedsAgeMs }: WireShopBench): string {
    const told = feeds.filter(({ volts, amps }) => volts !== null || amps !== null);
    const figures = told.map(
      ({ feed, volts, amps }) => `${feed} ${volts?.toFixed(2) ?? "?"} V ${amps?.toFixed(3) ?? "?"} A`,
    );
    return figures.length === 0 ? "" : `${figures.join(", ")} (${ageText((feedsAgeMs ?? 0) + this.#sinceMs())} old)`;
  }

  #waiting({ record, live }: WireShop) {
    return html`${
      record === null
        ? html`<p class="soft">shop.json names no database.</p>`
        : html`<p>${record.waiting === 0 ? "Nothing waits." : html`<b>${record.waiting} events and files wait</b>${record.since === null ? nothing : html`, the oldest event since ${momentText(record.since)}`}.`}</p>
            <p class="small">${
              record.reachable === null
                ? "The database has not been asked yet."
                : record.reachable
                  ? `The database is reached${record.lastAt === null ? "" : `; exchanged last at ${momentText(record.lastAt)}`}.`
                  : html`<b>⚠ The database cannot be used: ${record.because}.</b> What is filed here waits and is sent later.`
            }</p>`
    }
    ${
      live === null
        ? html`<p class="small soft">shop.json names no broker: nothing is live.</p>`
        : live.reachable
          ? html`<p class="small">The broker is reached.${live.ignored === 0 ? nothing : ` ${live.ignored} messages did not come from a bench and are not shown.`}</p>`
          : html`<p class="small"><b>⚠ The broker cannot be used${live.because === null ? "" : `: ${live.because}`}.</b></p>`
    }`;
  }

  #job({ id, title, bench, stage, result, state, lastEventAt }: WireShop["jobs"][number]) {
    return html`<li><button @click=${() => this.#open(id)}>
      <b>${title}</b><span>${bench ?? "—"}</span><span>${stage ?? result ?? state}</span><span class="small soft">${momentText(lastEventAt)}</span>
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

function ageText(ms: number): string {
  if (ms < 90_000) return `${Math.round(ms / 1000)} s`;
  return ms < 90 * 60_000 ? `${Math.round(ms / 60_000)} min` : `${Math.round(ms / 3_600_000)} h`;
}
