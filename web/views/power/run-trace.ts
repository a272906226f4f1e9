import { css, html, LitElement, nothing } from "lit";
import type { Trip } from "../../../shared/plan.ts";
import type { WireRun } from "../../../shared/wire.ts";
import type { WireCapturePoints } from "../../../shared/wire-job.ts";
import type { TraceStore } from "../../page/trace-store.ts";
import type { PlotMark } from "../../plot/plot-series.ts";
import type { Span } from "../../plot/plot-span.ts";
import { runPanes } from "../../plot/run-panes.ts";
import { say } from "../../words/plot.ts";
import { say as sayOfRun } from "../../words/verdict.ts";
import { baseStyle } from "../parts/base-style.ts";
import { fixed } from "../parts/figures.ts";
import { stageName } from "../parts/stage-words.ts";
import "../../plot/time-plot.ts";

/** A note of a run, with its moment. */
export interface RunNote {
  atMs: number;
  text: string;
}

/** Amps above, volts below, over the same seconds, of one feed or of all, each with the limits that were in force drawn against it. */
export class RunTrace extends LitElement {
  static override properties = {
    store: { attribute: false },
    run: { attribute: false },
    feed: { type: String },
    // The page hands a new list with every beat; to draw again for the same names is wasted.
    feeds: { attribute: false, hasChanged: (now: string[], before?: string[]) => now.join() !== before?.join() },
    version: { type: Number },
    frozen: { type: Boolean },
    points: { attribute: false },
    notes: { attribute: false },
    mayNote: { type: Boolean },
    noteAt: { state: true },
  };
  declare store: TraceStore;
  declare run: WireRun | null;
  /** The feed that is drawn; "all": each in a look of its own. */
  declare feed: string;
  declare feeds: string[];
  /** The store's own count of its changes. */
  declare version: number;
  /** True while the daemon is out of hearing: the trace ends where it was heard last. */
  declare frozen: boolean;
  /** Of the window that is looked at, where the record has more readings than the store; null: the store's are drawn. */
  declare points: WireCapturePoints | null;
  declare notes: readonly RunNote[];
  declare mayNote: boolean;
  /** The moment that a note is written for, seconds; null: none is. */
  declare noteAt: number | null;

  static override styles = [
    baseStyle,
    css`
      :host {
        height: 100%;
        min-height: 19rem;
      }
      .card {
        height: 100%;
        display: flex;
        flex-direction: column;
        padding: 0.5rem 0.8rem;
      }
      time-plot {
        flex: 1;
        min-height: 0;
      }
      fieldset {
        display: flex;
        gap: 0.2rem 1rem;
        flex-wrap: wrap;
      }
      fieldset label {
        display: flex;
        gap: 0.35rem;
        align-items: center;
        min-height: max(1.6rem, var(--touch, 0px));
      }
      input[type="radio"] {
        width: 1.5rem;
        height: 1.5rem;
        margin: 0;
        accent-color: var(--calm);
      }
      form {
        margin-top: 0.4rem;
      }
      form label {
        flex: 1;
      }
    `,
  ];

  constructor() {
    super();
    this.run = null;
    this.feed = "";
    this.feeds = [];
    this.version = 0;
    this.frozen = false;
    this.points = null;
    this.notes = [];
    this.mayNote = false;
    this.noteAt = null;
  }

  override render() {
    const feeds = this.feed === "all" ? this.feeds : [this.feed];
    const { panes, whole } = runPanes({ store: this.store, run: this.run, feeds, points: this.points });
    const choices = this.feeds.length > 1 ? [...this.feeds, "all"] : this.feeds;
    return html`<section class="card" aria-label=${say("trace")}>
      <time-plot
        .panes=${panes}
        .marks=${this.#marks()}
        .whole=${whole}
        .caption=${this.#caption()}
        .empty=${this.version === 0 ? say("trace.empty") : ""}
        .mayNote=${this.mayNote}
        ?frozen=${this.frozen}
        @note-at=${(event: CustomEvent<number>) => {
          this.noteAt = event.detail;
        }}
        @look-at=${(event: CustomEvent<Span | null>) => this.dispatchEvent(new CustomEvent("look-at", { detail: event.detail }))}
      >
        <fieldset>
          <legend class="unseen">${say("trace.feed")}</legend>
          ${choices.map(
            (feed) => html`<label
              ><input type="radio" name="feed" .checked=${feed === this.feed} @change=${() => this.#pick(feed)} />${feed === "all" ? say("trace.all") : feed}</label
            >`,
          )}
        </fieldset>
        <slot name="tools" slot="tools"></slot>
      </time-plot>
      ${this.noteAt === null ? nothing : this.#noteForm(this.noteAt)}
    </section>`;
  }

  #noteForm(at: number) {
    return html`<form class="row" @submit=${(event: SubmitEvent) => this.#note(event, at)}>
      <label class="row"><span class="label">${say("trace.note", { time: `${fixed(at, 3)} s` })}</span><input type="text" name="note" maxlength="200" required autocomplete="off" /></label>
      <button class="main" type="submit">${say("trace.note.file")}</button>
      <button type="button" @click=${() => {
        this.noteAt = null;
      }}>${say("trace.note.no")}</button>
    </form>`;
  }

  #note(event: SubmitEvent, at: number): void {
    event.preventDefault();
    const text = String(new FormData(event.target as HTMLFormElement).get("note") ?? "").trim();
    if (text === "") return;
    this.noteAt = null;
    const detail: RunNote = { atMs: Math.round(at * 1000), text };
    this.dispatchEvent(new CustomEvent("note-run", { detail }));
  }

  /** The beginnings of the stages, the cut, and a person's notes. */
  #marks(): PlotMark[] {
    const { run } = this;
    const isDrawn = (feed: string): boolean => this.feed === "all" || feed === this.feed;
    const stages = (run?.stages ?? []).flatMap(({ stage, feeds }): PlotMark[] => {
      const began = feeds.flatMap((each) =>
        isDrawn(each.feed) && each.startedAtMs !== null ? [each.startedAtMs] : [],
      );
      if (stage === "check" || began.length === 0) return [];
      return [{ seconds: Math.min(...began) / 1000, name: stageName(stage), kind: "stage" }];
    });
    const trip = run?.outcome?.trip ?? null;
    const cut: PlotMark[] =
      trip === null || (trip.feed !== null && !isDrawn(trip.feed))
        ? []
        : [
            {
              seconds: trip.atMs / 1000,
              name: cutName(trip),
              kind: "cut",
            },
          ];
    const notes = this.notes.map(
      ({ atMs, text }): PlotMark => ({ seconds: atMs / 1000, name: text.slice(0, 40), kind: "note" }),
    );
    return [...cut, ...stages, ...notes];
  }

  #caption(): string {
    const feeds = this.feed === "all" ? say("caption.all") : this.feed || say("caption.none");
    // It stands on a saved picture, which is looked at in other time zones too.
    const time = this.run?.startedAt.slice(0, 16).replace("T", " ");
    return time === undefined ? feeds : say("caption.run", { feeds, time });
  }

  #pick(feed: string): void {
    this.dispatchEvent(new CustomEvent("pick-feed", { detail: feed }));
  }
}
customElements.define("run-trace", RunTrace);

/** Why it was cut, in so few words that they have room beside the curve; the verdict has the whole sentence. */
function cutName({ feed, rule }: Trip): string {
  const cause = sayOfRun(`cause.${rule}`);
  return feed === null ? say("trace.cut", { cause }) : say("trace.cut.feed", { feed, cause });
}
