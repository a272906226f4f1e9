import { html, LitElement, nothing, type PropertyValues } from "lit";
import { baseStyle } from "../views/parts/base-style.ts";
import { say } from "../words/plot.ts";
import { axisEnds, drawPane, type PlotColours } from "./draw-pane.ts";
import { PlotPointer } from "./plot-pointer.ts";
import type { PlotMark, PlotPane } from "./plot-series.ts";
import { isWhole, moved, type Span, within, zoomed } from "./plot-span.ts";
import { cursorWords, differenceWords, momentOf } from "./plot-words.ts";
import { savePicture } from "./save-picture.ts";
import { timePlotStyle } from "./time-plot-style.ts";

const STEPS = 120;

/** Quantities over one time axis: closer and wider, along it, a cursor with what is read there, a second one for differences. */
export class TimePlot extends LitElement {
  static override properties = {
    panes: { attribute: false },
    marks: { attribute: false },
    whole: { attribute: false },
    caption: { type: String },
    empty: { type: String },
    frozen: { type: Boolean, reflect: true },
    mayNote: { type: Boolean },
    span: { state: true },
    at: { state: true },
    base: { state: true },
  };
  declare panes: readonly PlotPane[];
  declare marks: readonly PlotMark[];
  /** All there is, seconds. */
  declare whole: Span;
  /** The title of the drawing, in a few words: it stands on a saved picture. */
  declare caption: string;
  /** The words where nothing is drawn; empty where something is. */
  declare empty: string;
  declare frozen: boolean;
  /** True where a note with the cursor's moment can be filed. */
  declare mayNote: boolean;
  /** The part that is looked at; null: all, also while it grows. */
  declare span: Span | null;
  /** The place of the cursor, and the one that differences count from, seconds. */
  declare at: number | null;
  declare base: number | null;
  /** The place at which the cursor was put down; a mouse that only passes leaves it there. */
  #put: number | null = null;
  #watching: ResizeObserver | null = null;
  #isSeen = true;
  /** True while the picture is older than what there is to draw: nobody saw it meanwhile. */
  #isDue = false;
  readonly #seeing = new IntersectionObserver((entries) => {
    this.#isSeen = entries.at(-1)?.isIntersecting ?? true;
    if (this.#isSeen && this.#isDue) this.#draw();
  });
  readonly #dark = matchMedia("(prefers-color-scheme: dark)");
  readonly #redraw = (): void => this.#draw();
  readonly #print = (): void => {
    if (this.#isDue) this.#draw(true);
  };
  readonly #pointer = new PlotPointer({
    secondsAt: (clientX) => this.#secondsAt(clientX),
    span: () => this.shown,
    isZoomed: () => this.span !== null,
    hover: (at) => {
      this.at = at ?? this.#put;
    },
    cursor: (at) => {
      this.#put = at;
      this.at = at;
    },
    base: (at) => {
      this.base = at;
    },
    look: (span) => this.#look(span),
    whole: () => this.whole,
  });

  static override styles = [baseStyle, timePlotStyle];

  constructor() {
    super();
    this.panes = [];
    this.marks = [];
    this.whole = { from: 0, to: 1 };
    this.caption = "";
    this.empty = "";
    this.frozen = false;
    this.mayNote = false;
    this.span = null;
    this.at = null;
    this.base = null;
  }

  get shown(): Span {
    return this.span === null ? this.whole : within(this.span, this.whole);
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#dark.addEventListener("change", this.#redraw);
    this.#seeing.observe(this);
    window.addEventListener("beforeprint", this.#print);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#dark.removeEventListener("change", this.#redraw);
    this.#watching?.disconnect();
    this.#seeing.disconnect();
    window.removeEventListener("beforeprint", this.#print);
  }

  override render() {
    const { at, base, panes } = this;
    const { from, to } = this.shown;
    const width = to - from;
    const words = at === null ? "" : cursorWords(panes, at, width);
    return html`<div class="top"><slot></slot>${this.#key()}</div>
      <div class="charts" tabindex="0" role="slider" aria-label=${say("cursor", { caption: this.caption })} aria-valuemin=${from} aria-valuemax=${to} aria-valuenow=${at ?? to}
        aria-valuetext=${words === "" ? this.#inWords() : words}
        @keydown=${this.#onKey} @wheel=${this.#wheel} @dblclick=${() => this.#look(null)}
        @pointerdown=${this.#pointer.down} @pointermove=${this.#pointer.move} @pointerup=${this.#pointer.up} @pointercancel=${this.#pointer.up} @pointerleave=${this.#pointer.leave}>
        ${panes.map((pane) => html`<div class="pane" id=${pane.id}><canvas></canvas></div>`)}
        <div class="cursor base" ?hidden=${base === null}></div><div class="cursor now" ?hidden=${at === null}></div>
        ${this.empty === "" ? nothing : html`<p class="empty soft">${this.empty}</p>`}
      </div>
      <p class="read small">${words === "" ? (this.empty === "" ? html`<span class="soft">${this.#inWords()}</span>` : nothing) : words}${at === null || base === null ? nothing : html`<br /><b>${differenceWords(panes, [base, at], width)}</b>`}</p>
      <div class="tools small" role="group" aria-label=${say("tools")}>
        <button @click=${() => this.#zoom(0.5)} aria-label=${say("closer")}>+</button>
        <button @click=${() => this.#zoom(2)} aria-label=${say("wider")} ?disabled=${this.span === null}>−</button>
        <button @click=${() => this.#move(-0.5)} aria-label=${say("earlier")} ?disabled=${this.span === null}>◀</button>
        <button @click=${() => this.#move(0.5)} aria-label=${say("later")} ?disabled=${this.span === null}>▶</button>
        <button @click=${() => this.#look(null)} ?disabled=${this.span === null}>${say("all")}</button>
        <button @click=${() => this.#setBase()} ?disabled=${at === null && base === null}>${say(base === null ? "measure" : "measure.clear")}</button>
        ${this.mayNote ? html`<button ?disabled=${at === null} @click=${() => this.dispatchEvent(new CustomEvent("note-at", { detail: at }))}>${say("note")}</button>` : nothing}
        <button @click=${this.#save}>${say("save")}</button>
        <slot name="tools"></slot>
      </div>`;
  }

  #key() {
    const names = new Map(this.panes.flatMap((pane) => pane.series.map((each) => [each.name, each.look] as const)));
    const has = (of: (pane: PlotPane) => boolean): boolean => this.panes.some(of);
    return html`<p class="key small" aria-hidden="true">
      ${[...names].map(([name, look]) => html`<span class="look${look % 4}">${name}</span>`)}
      ${has((pane) => pane.bounds.some((each) => each.most !== null)) ? html`<span class="limit">${say("key.limit")}</span>` : nothing}
      ${has((pane) => pane.bounds.some((each) => each.set !== null)) ? html`<span class="set">${say("key.set")}</span>` : nothing}
      ${has((pane) => pane.band !== null) ? html`<span class="band">${say("key.band")}</span>` : nothing}
    </p>`;
  }

  override firstUpdated(): void {
    this.#watching = new ResizeObserver(() => this.#draw());
    const charts = this.renderRoot.querySelector(".charts");
    if (charts !== null) this.#watching.observe(charts);
  }

  override updated(changed: PropertyValues): void {
    const isCursor = changed.size > 0 && [...changed.keys()].every((key) => key === "at" || key === "base");
    if (isCursor) this.#place();
    else this.#draw();
  }

  /** Where nobody looks it waits until somebody does. */
  #draw(always = false): void {
    this.#isDue = !this.#isSeen && !always;
    if (this.#isDue) return;
    const { colours, rem } = this.#colours();
    this.renderRoot.querySelectorAll<HTMLCanvasElement>(".pane canvas").forEach((canvas, index) => {
      const pane = this.panes[index];
      if (pane === undefined) return;
      sizeToPlace(canvas);
      // Names stand in the first pane; the lines go through all of them.
      const marks = index === 0 ? this.marks : this.marks.map((each) => ({ ...each, name: "" }));
      drawPane(canvas, { pane, span: this.shown, whole: this.whole, marks }, colours, { rem, ratio: devicePixelRatio });
    });
    this.#place();
  }

  #colours(): { colours: PlotColours; rem: number } {
    const styles = getComputedStyle(this);
    const colour = (name: string): string => styles.getPropertyValue(name).trim();
    const colours = {
      lines: [colour("--trace"), colour("--other"), colour("--focus"), colour("--ink")],
      limit: colour("--limit"),
      set: colour("--set"),
      band: colour("--calm-fill"),
      ink: colour("--ink"),
      soft: colour("--ink-soft"),
      hair: colour("--hair"),
      line: colour("--line"),
    };
    return { colours, rem: remOf() };
  }

  /** Puts the cursors where their moments are now. */
  #place(): void {
    const charts = this.#charts();
    if (charts === null) return;
    const { left, right } = axisEnds(charts.clientWidth, remOf());
    const { from, to } = this.shown;
    for (const [name, at] of [["now", this.at] as const, ["base", this.base] as const]) {
      const line = this.renderRoot.querySelector<HTMLElement>(`.cursor.${name}`);
      if (line === null) continue;
      line.hidden = at === null || at < from || at > to;
      if (at !== null) line.style.left = `${left + ((at - from) / (to - from)) * (right - left) - 1}px`;
    }
  }

  #charts(): HTMLElement | null {
    return this.renderRoot.querySelector<HTMLElement>(".charts");
  }

  #secondsAt(clientX: number): number {
    const box = this.#charts()?.getBoundingClientRect();
    if (box === undefined) return 0;
    const { left, right } = axisEnds(box.width, remOf());
    const { from, to } = this.shown;
    const share = Math.min(1, Math.max(0, (clientX - box.left - left) / Math.max(1, right - left)));
    return from + share * (to - from);
  }

  /** Looks at a window, or at all of it; told, so that whoever has more readings can bring them. */
  #look(span: Span | null): void {
    this.span = span === null || isWhole(span, this.whole) ? null : within(span, this.whole);
    this.dispatchEvent(new CustomEvent("look-at", { detail: this.span }));
  }

  #zoom(factor: number, at: number | null = this.at): void {
    const { from, to } = this.shown;
    const middle = at !== null && at >= from && at <= to ? at : (from + to) / 2;
    this.#look(zoomed(this.shown, this.whole, { at: middle, factor }));
  }

  #move(share: number): void {
    const { from, to } = this.shown;
    this.#look(moved(this.shown, this.whole, share * (to - from)));
  }

  #setBase(): void {
    this.base = this.base === null ? this.#put : null;
  }

  readonly #onKey = (event: KeyboardEvent): void => {
    const { from, to } = this.shown;
    const step = ((to - from) / STEPS) * (event.shiftKey ? 10 : 1);
    const walk = (by: number): void => {
      this.at = Math.min(this.whole.to, Math.max(this.whole.from, (this.at ?? to) + by));
      this.#put = this.at;
      if (this.at < from || this.at > to)
        this.#look(moved(this.shown, this.whole, this.at < from ? this.at - from : this.at - to));
    };
    const keys: Record<string, () => void> = {
      ArrowLeft: () => walk(-step),
      ArrowRight: () => walk(step),
      Home: () => walk(from - (this.at ?? to)),
      End: () => walk(to - (this.at ?? to)),
      PageUp: () => this.#move(-0.5),
      PageDown: () => this.#move(0.5),
      "+": () => this.#zoom(0.5),
      "-": () => this.#zoom(2),
      "0": () => this.#look(null),
      Enter: () => this.#setBase(),
    };
    const act = keys[event.key];
    if (act === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  };

  /** A page is scrolled by the wheel: the plot takes it only once it has the focus, or with Ctrl. */
  readonly #wheel = (event: WheelEvent): void => {
    const isMine = event.ctrlKey || (this.renderRoot as ShadowRoot).activeElement === this.#charts();
    if (!isMine) return;
    event.preventDefault();
    if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY))
      this.#move(Math.sign(event.deltaX + event.deltaY) * 0.1);
    else this.#zoom(event.deltaY > 0 ? 1.25 : 0.8, this.#secondsAt(event.clientX));
  };

  readonly #save = (): void => {
    const canvases = [...this.renderRoot.querySelectorAll<HTMLCanvasElement>(".pane canvas")];
    const { colours } = this.#colours();
    const ground = getComputedStyle(this).getPropertyValue("--sheet").trim();
    const { from, to } = this.shown;
    const window = { from: momentOf(from, to - from), to: momentOf(to, to - from) };
    const caption = say("window", { caption: this.caption, ...window });
    savePicture(canvases, { caption, ground, ink: colours.ink });
  };

  #inWords(): string {
    const { from, to } = this.shown;
    if (this.empty !== "") return this.empty;
    const window = { from: momentOf(from, to - from), to: momentOf(to, to - from) };
    return say("how", { caption: this.caption, ...window });
  }
}
customElements.define("time-plot", TimePlot);

const remOf = (): number => Number.parseFloat(getComputedStyle(document.documentElement).fontSize);

/** As many pixels as it has room for on the screen, and no more. */
function sizeToPlace(canvas: HTMLCanvasElement): void {
  const place = canvas.parentElement;
  if (place === null) return;
  const width = Math.round(place.clientWidth * devicePixelRatio);
  const height = Math.round(place.clientHeight * devicePixelRatio);
  if (width === 0 || height === 0 || (canvas.width === width && canvas.height === height)) return;
  canvas.width = width;
  canvas.height = height;
}
