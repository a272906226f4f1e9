import { css, html, LitElement, nothing, type PropertyValues, svg } from "lit";
import type { WireBoardPhoto } from "../../../shared/wire-board.ts";
import { askDaemon } from "../../page/session.ts";
import { jobRecord } from "../../record/job-record.ts";
import { say } from "../../words/probe.ts";
import { baseStyle } from "../parts/base-style.ts";

/** A photograph of the board with the points that are marked on it; the one that is wanted now has a ring and its name. */
export class BoardPicture extends LitElement {
  static override properties = {
    photos: { attribute: false },
    at: { type: String },
    points: { attribute: false },
    marking: { state: true },
    shown: { state: true },
    url: { state: true },
    size: { state: true },
    problem: { state: true },
  };
  declare photos: readonly WireBoardPhoto[];
  /** The point that is wanted; empty: all of them are shown. */
  declare at: string;
  /** The points that may be marked; empty: none may be. */
  declare points: readonly string[];
  /** The point that the next click marks; empty: none. */
  declare marking: string;
  declare shown: number;
  declare url: string;
  declare size: { wide: number; high: number } | null;
  declare problem: string;
  readonly #urls = new Map<number, string>();

  static override styles = [
    baseStyle,
    css`
      .frame {
        position: relative;
        margin: 0;
      }
      .frame[data-marking="yes"] {
        cursor: crosshair;
      }
      button,
      select {
        min-height: max(1.9rem, var(--touch, 0px));
        width: auto;
      }
      button[aria-pressed="true"] {
        border-width: 3px;
      }
      img,
      svg {
        display: block;
        width: 100%;
        border-radius: 8px;
      }
      svg {
        position: absolute;
        inset: 0;
        height: 100%;
      }
      .under {
        fill: none;
        stroke: #000;
        stroke-width: 9;
      }
      .ring {
        fill: none;
        stroke: #ffe14d;
        stroke-width: 5;
      }
      text {
        font-weight: 800;
        fill: #ffe14d;
        stroke: #000;
        stroke-width: 6;
        stroke-linejoin: round;
        paint-order: stroke;
      }
    `,
  ];

  constructor() {
    super();
    this.photos = [];
    this.at = "";
    this.points = [];
    this.marking = "";
    this.shown = -1;
    this.url = "";
    this.size = null;
    this.problem = "";
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    for (const url of this.#urls.values()) URL.revokeObjectURL(url);
    this.#urls.clear();
    this.shown = -1;
    this.url = "";
  }

  override willUpdate(changed: PropertyValues): void {
    if (!changed.has("photos") && !changed.has("at") && this.shown >= 0) return;
    const marked = this.photos.findIndex((each) => Object.hasOwn(each.points, this.at));
    const wanted = marked >= 0 ? marked : Math.max(0, this.shown);
    if (this.photos.length > 0 && wanted !== this.shown) void this.#show(wanted);
  }

  override render() {
    const photo = this.photos[this.shown];
    if (photo === undefined) return nothing;
    const named =
      this.at === ""
        ? Object.entries(photo.points)
        : Object.entries(photo.points).filter(([point]) => point === this.at);
    const words =
      this.at === ""
        ? say(named.length === 1 ? "photo.points.one" : "photo.points", { count: named.length })
        : named.length === 0
          ? say("photo.unmarked", { point: this.at })
          : say("photo.marked", { point: this.at });
    return html`${this.problem === "" ? nothing : html`<p class="problem small" role="alert">✕ ${this.problem}</p>`}<figure class="frame" data-marking=${this.marking === "" ? "no" : "yes"} @click=${this.#onClick}>
      ${this.url === "" ? nothing : html`<img src=${this.url} alt=${photo.caption === null ? say("photo.alt", { words }) : say("photo.alt.of", { caption: photo.caption, words })} @load=${this.#measure} />`}
      ${this.size === null || this.url === "" ? nothing : this.#marks(named, this.size)}
    </figure>
    ${this.#choices(photo)}`;
  }

  /** Another photograph, and the points to be marked by a click or by keys. */
  #choices(photo: WireBoardPhoto) {
    const isMarked = Object.hasOwn(photo.points, this.marking);
    return html`<div class="row small">
      ${this.photos.length < 2 ? nothing : this.photos.map(({ caption }, index) => html`<button aria-pressed=${index === this.shown} @click=${() => void this.#show(index)}>${caption ?? say("photo.number", { number: index + 1 })}</button>`)}
      ${
        this.points.length === 0
          ? nothing
          : html`<label class="row"><span class="label" aria-hidden="true">${say("photo.mark")}</span><select aria-label=${say("photo.point")} @change=${(
              event: Event,
            ) => {
              this.marking = (event.target as HTMLSelectElement).value;
            }}><option value="">${say("photo.nothing")}</option>${this.points.map((point) => html`<option value=${point} ?selected=${point === this.marking}>${point}${Object.hasOwn(photo.points, point) ? " ✓" : ""}</option>`)}</select></label>
            ${this.marking === "" ? nothing : html`<span role="status">${say("photo.click", { point: this.marking })}</span>`}
            ${isMarked ? html`<button @click=${() => void this.#mark(this.marking, null)}>${say("photo.take-away")}</button>` : nothing}`
      }
    </div>`;
  }

  readonly #onClick = (event: MouseEvent): void => {
    if (this.marking === "") return;
    const box = (event.currentTarget as Element).getBoundingClientRect();
    void this.#mark(this.marking, {
      x: Math.min(1, Math.max(0, (event.clientX - box.left) / box.width)),
      y: Math.min(1, Math.max(0, (event.clientY - box.top) / box.height)),
    });
  };

  async #mark(point: string, at: { x: number; y: number } | null): Promise<void> {
    const marked = await jobRecord.mark(this.shown, point, at);
    this.problem = marked.ok ? "" : marked.because;
    // The next one that has no mark yet.
    const photo = this.photos[this.shown];
    if (marked.ok && at !== null)
      this.marking = this.points.find((each) => each !== point && !Object.hasOwn(photo?.points ?? {}, each)) ?? "";
  }

  #marks(points: [name: string, at: { x: number; y: number }][], { wide, high }: { wide: number; high: number }) {
    const unit = Math.max(wide, high) / 100;
    return html`<svg viewBox="0 0 ${wide} ${high}" preserveAspectRatio="none" aria-hidden="true">
      ${points.map(([name, at]) => {
        const [x, y, r] = [at.x * wide, at.y * high, (this.at === "" ? 1.2 : 3) * unit];
        // Near the right edge the name stands at the left of its point.
        const anchor = at.x > 0.75 ? "end" : "start";
        return svg`<g vector-effect="non-scaling-stroke"><circle class="under" cx=${x} cy=${y} r=${r} stroke-width=${0.9 * unit}></circle><circle class="ring" cx=${x} cy=${y} r=${r}></circle>
          <text x=${x + (anchor === "end" ? -1 : 1) * (r + unit)} y=${y + unit} text-anchor=${anchor} font-size=${(this.at === "" ? 2.2 : 4) * unit}>${name}</text></g>`;
      })}
    </svg>`;
  }

  readonly #measure = (event: Event): void => {
    const { naturalWidth: wide, naturalHeight: high } = event.target as HTMLImageElement;
    this.size = { wide, high };
  };

  async #show(index: number): Promise<void> {
    this.shown = index;
    this.problem = "";
    const known = this.#urls.get(index);
    if (known !== undefined) {
      this.url = known;
      return;
    }
    const reply = await askDaemon(`/api/board/photos/${index}`).catch(() => null);
    if (reply === null || !reply.ok) {
      this.problem = say("photo.unreadable");
      return;
    }
    const url = URL.createObjectURL(await reply.blob());
    this.#urls.set(index, url);
    if (this.shown === index) this.url = url;
  }
}
customElements.define("board-picture", BoardPicture);
